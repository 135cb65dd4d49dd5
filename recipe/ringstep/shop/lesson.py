"""A lesson in which everyone works one piece: how long each step takes, and a timetable.

Comes in: a clean `View`, the kit for all students and a `LessonWish`. Goes out: a frozen `Lesson`.
Times are `Decimal` seconds and exact; only the whole of the work is rounded, up to the minute.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Literal

from ringstep.checks.view import View
from ringstep.shop.kit import Kit
from ringstep.shop.lesson_wish import LessonWish
from ringstep.shop.wish import NoKit
from ringstep.weave.piece import Weave
from ringstep.weave.work import Act

#: Rings of one piece, which are all placed one by one; breaks of one lesson.
MOST_RINGS, MOST_BREAKS = 20_000, 50


@dataclass(frozen=True, slots=True)
class StepTime:
    """One step of the recipe in one piece: how often it is worked, and the rings it places.

    seconds: of all times together; None where there is no pace for it.
    """

    number: int
    kind: str
    times: int
    rings: int
    seconds: Decimal | None


@dataclass(frozen=True, slots=True)
class Slot:
    """A stretch of the timetable. first, last: minutes after the lesson begins.

    rings: of the work, the first and the last ring that a student finishes in it; the last is one
    less than the first where none is.
    """

    what: Literal["set-up", "work", "break", "closing"]
    first: int
    last: int
    rings: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Lesson:
    """kit: of all students. seconds: one piece takes, None without a pace. untimed: kinds of steps
    for which no pace was given and which take no time here."""

    kit: Kit
    wish: LessonWish
    steps: tuple[StepTime, ...]
    seconds: Decimal | None
    untimed: tuple[str, ...]
    timetable: tuple[Slot, ...]


def lesson_of(view: View, kit: Kit, wish: LessonWish) -> Lesson:
    """Work out a lesson. view: of as many units as the kit is for. Raises `NoKit`."""
    if kit.rings > MOST_RINGS:
        raise NoKit(
            f"the piece has {kit.rings:,} rings, and a lesson is worked out for at most"
            f" {MOST_RINGS:,}; 'ringstep kit' packs pieces of any size"
        )
    weave = Weave(view.weave.recipe, view.weave.variant, whole=True)
    parts = frozenset(view.recipe.part_roles)
    worked = [(act, *_rings(act, parts)) for act in weave.work.acts if not act.skipped]
    steps: dict[int, StepTime] = {}
    ends: list[Decimal] = []  # of each ring, in seconds
    now = Decimal(0)
    for act, placed, moved in worked:
        kind, number = act.step.kind, act.step.number
        takes = wish.pace.seconds(kind, placed, moved)
        if wish.pace and placed and takes is None:
            raise NoKit(f"--pace: '{kind}' steps place rings and have no pace; add --pace 20")
        one = steps.get(number, StepTime(number, kind, 0, 0, None))
        seconds = one.seconds if takes is None else (one.seconds or 0) + takes
        steps[number] = replace(
            one, times=one.times + act.last, rings=one.rings + placed, seconds=seconds
        )
        takes = takes or Decimal(0)
        ends += [now + takes * at / placed for at in range(1, placed + 1)]
        now += takes
    told = tuple(step for _, step in sorted(steps.items()))
    untimed = dict.fromkeys(s.kind for s in told if s.seconds is None) if wish.pace else ()
    slots = tuple(_timetable(ends, now, wish)) if wish.pace else ()
    return Lesson(kit, wish, told, now if wish.pace else None, tuple(untimed), slots)


def _rings(act: Act, parts: frozenset[str]) -> tuple[int, int]:
    """How many rings a step places at one place, and how many it moves; parts are no rings."""
    placed, moved = ([r for r in rings if r.role not in parts] for rings in (act.new, act.handled))
    return len(placed), len(moved)


def _timetable(ends: list[Decimal], seconds: Decimal, wish: LessonWish) -> Iterator[Slot]:
    """Set-up, the work with a break after every stretch of it, and closing time."""
    work = ceil(Fraction(seconds) / 60)
    now = 0
    if wish.set_up:
        yield Slot("set-up", 0, now := wish.set_up)
    stretch = wish.every or (-(-work // 2) if wish.rest else work)
    if stretch and -(-work // stretch) - 1 > MOST_BREAKS:
        raise NoKit(
            f"the work takes {work:,} minutes; with a break every {wish.every} there are more than"
            f" {MOST_BREAKS} breaks, so give fewer or divide the piece among several lessons"
        )
    done = 0
    for start in range(0, work, stretch or 1):
        if start and wish.rest:
            yield Slot("break", now, now := now + wish.rest)
        stop = min(start + stretch, work)
        last = bisect_right(ends, Decimal(60 * stop))
        yield Slot("work", now, now := now + stop - start, (done + 1, last))
        done = last
    if wish.closing:
        yield Slot("closing", now, now + wish.closing)


def clock(wish: LessonWish, minute: int) -> str:
    """A minute of the lesson by the clock; past midnight with the day, without a clock as it is.

    >>> clock(LessonWish(begin=18 * 60 + 30), 90), clock(LessonWish(begin=1410), 40)
    ('20:00', '00:10 on day 2')
    >>> clock(LessonWish(begin=0, half_days=True), 750), clock(LessonWish(), 90)
    ('12:30 pm', '1:30')
    """
    if wish.begin is None:
        return f"{minute // 60}:{minute % 60:02}"
    days, minute = divmod(wish.begin + minute, 24 * 60)
    hour, minute = divmod(minute, 60)
    told = f"{hour:02}:{minute:02}"
    if wish.half_days:
        told = f"{hour % 12 or 12}:{minute:02} {'pm' if hour >= 12 else 'am'}"
    return f"{told} on day {days + 1}" if days else told
