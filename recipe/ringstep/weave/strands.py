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


@dataclass(frozen=True)
class Strands:
    """Where the strands of a piece stand.

    spans: the places of each by its name, from 1 on. placed: the roles that its units place.
    """

    spans: dict[str, range]
    placed: dict[str, frozenset[str]]

    def __hash__(self) -> int:
        return hash(tuple(self.spans))

    @cached_property
    def behind(self) -> int:
        """The place behind all strands, where the finish is worked."""
        return 1 + max((span[-1] for span in self.spans.values()), default=0)

    def name_of(self, unit: int) -> str:
        """The strand in which a place stands; "" for start and finish."""
        return next((name for name, span in self.spans.items() if unit in span), "")

    def placing(self, role: str) -> list[str]:
        """The strands whose units place rings of a role."""
        return [name for name, roles in self.placed.items() if role in roles]

    def sole(self, role: str) -> range | None:
        """The places of the one strand that places a role; None where none does, or several."""
        found = self.placing(role)
        return self.spans[found[0]] if len(found) == 1 else None

    def on(self, unit: int, by: int, role: str) -> int | None:
        """The place so many units on (below 0: back) along its strand; None for one off the piece.

        role: what is looked for there, which says to which strand start and finish belong.
        """
        if not by:
            return unit
        if unit in (0, self.behind):
            found = self.placing(role)
            if len(found) != 1:
                return None
            span = self.spans[found[0]]
            return self.at(found[0], by + (span.start - 1 if unit == 0 else span.stop), role)
        return self.at(self.name_of(unit), unit + by, role)

    def at(self, name: str, unit: int, role: str) -> int | None:
        """The same for a place counted along one strand, beyond both its ends."""
        span = self.spans[name]
        if unit == span.stop:
            return self.behind if self.sole(role) == span else None
        return 0 if unit == span.start - 1 else unit if unit in span else None


def strand_counts(piece: Piece) -> list[int]:
    """A number of units for each strand. Raises `NoRuns`."""
    return [_count(piece, strand) for strand in piece.strands]


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
