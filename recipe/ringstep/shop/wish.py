"""What is wanted of a kit, read from what was typed: lengths, kits, spares, the saw, the pace."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from ringstep.language.screen import safe
from ringstep.language.source import Refused
from ringstep.language.typed_size import BadSize, Measure, read_length, read_size

_MOST_PIECES = 10_000


class NoKit(Refused):
    """A kit that cannot be worked out; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wanted.

    length: of the finished piece, None for the piece as the recipe has it. strands: of strands by
    name, for a piece in strands.
    clasp, ease: taken off and added to the length. pieces: how many kits.
    spares: percent of each kind. saw_cut: mm of wire lost at each ring.
    pace: seconds a ring, None where the time is not wanted.
    """

    length: Measure | None = None
    clasp: Measure | None = None
    ease: Measure | None = None
    pieces: int = 1
    spares: Decimal = Decimal(0)
    saw_cut: float = 0.0
    pace: Decimal | None = None
    strands: tuple[tuple[str, Measure], ...] = ()


def read_wish(
    length: str | None = None,
    clasp: str | None = None,
    ease: str | None = None,
    pieces: str = "1",
    spares: str = "0",
    saw_cut: str | None = None,
    pace: str | None = None,
    typed: bool = False,
) -> Wish:
    """What is wanted, from texts such as '19 cm', '8', '5'.

    typed: True where the texts were typed as options, which the messages then name as such. Raises
    `NoKit` where one cannot be read or is out of bounds.
    """
    read = _Reader("--" if typed else "", " " if typed else "=")
    many = read.number("pieces", pieces, "1", str(_MOST_PIECES), "8")
    if many != int(many):
        raise read.refusal(
            "pieces",
            f"{pieces} is not a whole number; write it as in {read.example('pieces', '8')}",
        )
    cut = read.size("saw-cut", saw_cut)
    named = (
        [part.partition("=") for part in (length or "").split(",")] if "=" in (length or "") else []
    )
    strands = [(name.strip(), read.size("length", size.strip())) for name, _, size in named]
    return Wish(
        length=None if named else read.size("length", length, read_length),
        strands=tuple((name, size) for name, size in strands if size),
        clasp=read.size("clasp", clasp),
        ease=read.size("ease", ease),
        pieces=int(many),
        spares=read.number("spares", spares, "0", "200", "5"),
        saw_cut=cut.mm if cut else 0.0,
        pace=None
        if pace is None
        else read.number("pace", pace, "0.1", "3600", "20", ", in seconds a ring"),
    )


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads one text after the other; its messages name each as it was given."""

    mark: str
    between: str

    def example(self, option: str, value: str) -> str:
        """How an option is written with its value."""
        return f"{self.mark}{option}{self.between}{value}"

    def refusal(self, option: str, why: str) -> NoKit:
        """What is said of an option that is not taken."""
        return NoKit(f"{self.mark}{option}: {why}")

    def size(
        self, option: str, text: str | None, reader: Callable[[str], Measure] = read_size
    ) -> Measure | None:
        """A length, None where none is wanted. Raises `NoKit`."""
        if text is None:
            return None
        try:
            return reader(text)
        except BadSize as fault:
            raise self.refusal(option, str(fault)) from None

    def number(
        self, option: str, text: str, least: str, most: str, example: str, unit: str = ""
    ) -> Decimal:
        """A plain number from `least` to `most`. Raises `NoKit`."""
        plain = text.strip().removesuffix("%").strip() if option == "spares" else text.strip()
        if re.fullmatch(r"[0-9]+,[0-9]+", plain):
            raise self.refusal(
                option, f"'{plain}' has a decimal comma; write {plain.replace(',', '.')}"
            )
        if not re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,6})?", plain):
            told = f"{self.example(option, example)}{unit}"
            raise self.refusal(
                option, f"'{safe(text[:24])}' is not a plain number; write it as in {told}"
            )
        number = Decimal(plain)
        if not Decimal(least) <= number <= Decimal(most):
            raise self.refusal(option, f"{plain} is out of bounds; it goes from {least} to {most}")
        return number
