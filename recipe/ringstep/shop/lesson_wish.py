"""What is wanted of a lesson, read from what was typed: pace, breaks, the clock, work, margin."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import get_args

from ringstep.language.screen import safe
from ringstep.language.syntax import PLACING, StepKind
from ringstep.language.words import listed, or_nearest
from ringstep.shop.wish import NoKit, Reader

#: Minutes: of a day, by which the clock goes round; the most that one time typed may be.
DAY = 24 * 60
_READ = Reader("--", " ")
_KINDS: tuple[str, ...] = get_args(StepKind)


@dataclass(frozen=True, slots=True)
class Pace:
    """Seconds, all of them the teacher's own.

    ring: for each ring that a step places, None where not given. kinds: for steps of one kind
    instead: for each ring that such a step places or moves.
    """

    ring: Decimal | None = None
    kinds: Mapping[str, Decimal] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return self.ring is not None or bool(self.kinds)

    def seconds(self, kind: str, placed: int, moved: int) -> Decimal | None:
        """What a step takes once; None where no pace was given for it.

        placed, moved: its rings. A step that moves what is no ring counts as one; parts that are
        only picked up take no time.
        """
        if kind in self.kinds:
            return self.kinds[kind] * (placed or moved or int(kind not in PLACING))
        return self.ring * placed if placed and self.ring is not None else None


@dataclass(frozen=True, slots=True)
class LessonWish:
    """Times in whole minutes. rest, every: a break of so many after each so many of work; for 0
    one break, in the middle of the work.

    begin: minutes after midnight. half_days: the clock is read in am and pm.
    """

    pace: Pace = Pace()
    rest: int = 0
    every: int = 0
    set_up: int = 0
    closing: int = 0
    begin: int | None = None
    half_days: bool = False


@dataclass(frozen=True, slots=True)
class Worth:
    """What makes the price beside the material.

    hours, rate: the teacher's own, for all kits together. margin: percent, of the price or on top
    of the cost. step: the price is a multiple of it. Each None where it was not given.
    """

    hours: Decimal | None = None
    rate: Decimal | None = None
    margin: Decimal | None = None
    of_price: bool = False
    step: Decimal | None = None


def read_students(text: str) -> str:
    """How many students, as the count of kits is typed. Raises `NoKit`."""
    if not re.fullmatch(r"[0-9]{1,4}", text.strip()) or not int(text):
        told = f"'{safe(text[:24])}' is no count; write a whole number from 1 to 9999"
        raise _READ.refusal("students", f"{told}, as in --students 8")
    return text


def read_scale(text: str) -> Decimal:
    """The smallest step of a scale in grams, from '0.1' or '0.1 g'. Raises `NoKit`."""
    return _READ.number("scale", text.strip().removesuffix("g"), "0.001", "10", "0.1", ", in grams")


def read_pace(texts: Sequence[str]) -> Pace:
    """A pace from texts such as '20' and 'fold back=5'. Raises `NoKit`."""
    ring: Decimal | None = None
    kinds: dict[str, Decimal] = {}
    for text in texts:
        kind, given, number = (part.strip() for part in text.rpartition("="))
        kind = " ".join(kind.casefold().split())
        if given and kind not in _KINDS:
            near = or_nearest(kind, _KINDS, f"write one of {listed(_KINDS, 'or')}")
            raise _READ.refusal("pace", f"there are no steps '{safe(kind)}'{near}")
        seconds = _READ.number("pace", number, "0.1", "3600", "20", ", in seconds a ring")
        if kind in kinds or (not given and ring is not None):
            raise _READ.refusal("pace", f"{kind or 'the pace of a ring'} is given twice; keep one")
        if given:
            kinds[kind] = seconds
        else:
            ring = seconds
    return Pace(ring, kinds)


def read_minutes(option: str, text: str, example: str = "15 min") -> int:
    """Whole minutes from '15 min', '1 h', '1 h 30 min'. Raises `NoKit`."""
    found = re.fullmatch(
        r"(?:([0-9]{1,3}) ?(?:h|hours?))? ?(?:([0-9]{1,4}) ?(?:min|minutes?))?",
        text.strip().casefold(),
    )
    if not found or not any(found.groups()):
        told = f"'{safe(text[:24])}' is no time; write whole minutes or hours as in"
        raise _READ.refusal(option, f"{told} {_READ.example(option, repr(example))}")
    hours, minutes = (int(number or 0) for number in found.groups())
    if not 1 <= (total := 60 * hours + minutes) <= DAY:
        raise _READ.refusal(option, f"{safe(text)} is out of bounds; it goes from 1 min to 24 h")
    return total


def read_break(text: str) -> tuple[int, int]:
    """How long a break is and after how much work, from '10 min every 60 min'; after 0 minutes
    for one break in the middle, from '10 min' or '10 min in the middle'. Raises `NoKit`."""
    example = "10 min every 60 min"
    words = " ".join(text.casefold().split())
    rest, every, work = words.removesuffix(" in the middle").partition(" every ")
    if not every:
        return read_minutes("break", rest, "10 min in the middle"), 0
    return read_minutes("break", rest, example), read_minutes("break", work, example)


def read_clock(text: str) -> tuple[int, bool]:
    """Minutes after midnight from '18:30' or '6:30 pm', and whether it has am or pm.

    Raises `NoKit`.
    """
    found = re.fullmatch(r"([0-9]{1,2})[:.]([0-9]{2})(?: ?(am|pm))?", text.strip().casefold())
    if found:
        hour, minute, half = int(found[1]), int(found[2]), found[3]
        if minute < 60 and half and 1 <= hour <= 12:
            return (hour % 12 + 12 * (half == "pm")) * 60 + minute, True
        if minute < 60 and not half and hour < 24:
            return hour * 60 + minute, False
    raise _READ.refusal(
        "begin", f"'{safe(text[:24])}' is no time of the day; write it as in --begin 18:30"
    )


def read_lesson(
    pace: Sequence[str] = (),
    pause: str | None = None,
    set_up: str | None = None,
    closing: str | None = None,
    begin: str | None = None,
) -> LessonWish:
    """What was typed of the time of a lesson. Raises `NoKit`."""
    read = read_pace(pace)
    timed = (("break", pause), ("set-up", set_up), ("closing", closing), ("begin", begin))
    for option, text in timed:
        if text is not None and not read:
            raise NoKit(
                f"--{option}: without a pace there are no times; time yourself over some rings and"
                " add your own seconds a ring, as in --pace 20"
            )
    rest, every = read_break(pause) if pause is not None else (0, 0)
    clock, half_days = read_clock(begin) if begin is not None else (None, False)
    return LessonWish(
        read,
        rest,
        every,
        read_minutes("set-up", set_up) if set_up is not None else 0,
        read_minutes("closing", closing) if closing is not None else 0,
        clock,
        half_days,
    )


def read_worth(
    hours: str | None = None,
    rate: str | None = None,
    margin: str | None = None,
    step: str | None = None,
    listed_prices: bool = True,
) -> Worth:
    """What was typed of work and price. listed_prices: there is a price list. Raises `NoKit`."""
    typed = (("hours", hours), ("rate", rate), ("margin", margin), ("round", step))
    for option, text in typed:
        if text is not None and not listed_prices:
            raise NoKit(f"--{option}: money needs a price list; add --prices FILE.csv")
    if (hours is None) != (rate is None):
        given, other = ("hours", "rate") if rate is None else ("rate", "hours")
        raise _READ.refusal(given, f"your work costs hours times rate; add --{other} too")
    if step is not None and margin is None:
        raise _READ.refusal("round", "it rounds the price, which needs a margin; add --margin")
    percent, of_price = _margin(margin) if margin is not None else (None, False)
    return Worth(
        None if hours is None else _READ.number("hours", hours, "0", "10000", "3.5"),
        None if rate is None else _READ.number("rate", rate, "0", "1000000", "25"),
        percent,
        of_price,
        None if step is None else _READ.number("round", step, "0.001", "1000000", "0.50"),
    )


def _margin(text: str) -> tuple[Decimal, bool]:
    """Percent, and whether they are of the price, from '40 % of the price' or '60 % on top'."""
    found = re.fullmatch(r"(.*?) ?%? (of the price|of price|on top)", text.strip().casefold())
    if not found:
        raise _READ.refusal(
            "margin",
            f"'{safe(text[:24])}' does not say of what; write '40 % of the price', or '60 % on top'"
            " of the cost",
        )
    of_price = found[2] != "on top"
    most = "95" if of_price else "1000"
    return _READ.number("margin", found[1], "0", most, "'40 % of the price'"), of_price
