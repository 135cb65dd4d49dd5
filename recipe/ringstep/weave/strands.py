"""Strands: several chains that hang on one start, worked one after the other.

Comes in: the `Piece` as written, and the places that its strands fill, one strand behind the
other. Goes out: how many units each strand has, or `NoRuns`; and `Strands`, which says where the
unit before and the next unit of a place are. The start is the unit before the first of every
strand; the finish stands behind a strand for the rings that no other strand places.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import ceil

from ringstep.language.tree import Piece, Strand
from ringstep.weave.runs import NoRuns

#: The role and the number of a ring.
Named = tuple[str, int]


@dataclass(frozen=True)
class Strands:
    """Where the strands of a piece stand.

    spans: the places of each by its name, from 1 on. placed: the rings that its units place, by
    role and number.
    """

    spans: dict[str, range]
    placed: dict[str, frozenset[Named]]

    def __hash__(self) -> int:
        return hash(tuple(self.spans))

    @cached_property
    def behind(self) -> int:
        """The place behind all strands, where the finish is worked."""
        return 1 + max((span[-1] for span in self.spans.values()), default=0)

    def name_of(self, unit: int) -> str:
        """The strand in which a place stands; "" for start and finish."""
        return next((name for name, span in self.spans.items() if unit in span), "")

    def placing(self, role: str, index: int | None = None) -> list[str]:
        """The strands whose units place a ring, or any of its role where no number is given."""
        return [
            name
            for name, rings in self.placed.items()
            if any(r == role and index in (None, i) for r, i in rings)
        ]

    def sole(self, role: str, index: int | None = None) -> str:
        """The one strand that places a ring; "" where none does, or several."""
        found = self.placing(role, index)
        return found[0] if len(found) == 1 else ""

    def on(self, unit: int, by: int, role: str, index: int | None = None) -> int | None:
        """The place so many units on (below 0: back) along its strand; None for one off the piece.

        role, index: what is looked for there, which says to which strand start and finish belong.
        """
        if not by:
            return unit
        name = self.name_of(unit)
        if unit in (0, self.behind):
            name = self.sole(role, index)
            if not name:
                return None
            unit = self.spans[name].start - 1 if unit == 0 else self.spans[name].stop
        return self.at(name, unit + by, role, index)

    def apart(self, unit: int, other: int) -> int:
        """How many units on another place stands along the strand of one of the two; of two strands
        farther than any step reaches."""
        name = self.name_of(unit) or self.name_of(other)
        span = self.spans.get(name, range(1, self.behind))
        ends = {0: span.start - 1, self.behind: span.stop}
        a, b = ends.get(unit, unit), ends.get(other, other)
        beside = self.name_of(unit) and self.name_of(other) not in ("", name)
        return b - a + (self.behind if b > a else -self.behind) if beside else b - a

    def at(self, name: str, unit: int, role: str, index: int | None = None) -> int | None:
        """The same for a place counted along one strand, beyond both its ends."""
        span = self.spans[name]
        if unit == span.stop:
            return self.behind if self.sole(role, index) == name else None
        return 0 if unit == span.start - 1 else unit if unit in span else None


def strand_counts(piece: Piece) -> list[int]:
    """A number of units for each strand. Raises `NoRuns`."""
    return [_count(piece, strand) for strand in piece.strands]


def strand_mm(piece: Piece, name: str, units: int) -> float | None:
    """How long so many units of a strand are by its sample, in mm; None where none tells."""
    sample = piece.sample_of(name) or piece.sample
    mm = sample.size.mm if sample else None
    return units * mm / sample.units if sample and mm and sample.units else None


def _count(piece: Piece, strand: Strand) -> int:
    if strand.units is not None:
        return strand.units
    name = strand.name.value
    sample = piece.sample_of(name) or piece.sample
    mm = sample.size.mm if sample else None
    wanted = (strand.length.mm if strand.length else None) or 0.0
    if sample is None or not mm or not sample.units:
        raise NoRuns(
            f"strand {name} is given by its length, and none of its units are measured",
            f"work some, measure them, and add to 'piece:': 'sample 10 {name} = … mm'",
        )
    return max(1, ceil(wanted / mm * sample.units - 1e-9))
