"""What a recipe promises, as plain data: how many rings each meets, how it lies, how it repeats."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from ringstep.language.source import Span
from ringstep.language.syntax import Name


@dataclass(frozen=True)
class CountOf:
    """Rings of one role in a promise: `6 S`, `2 prev bottom`.

    places: the words of place in the order written.
    """

    count: int
    role: str
    places: tuple[str, ...] = ()

    def __str__(self) -> str:
        return " ".join((str(self.count), *self.places, self.role))


@dataclass(frozen=True)
class InAll:
    """So many rings, whatever they are called: `4`."""

    count: int

    def __str__(self) -> str:
        return str(self.count)


@dataclass(frozen=True)
class ByRole:
    """So many rings of each role, wherever they stand, and no others: `1 M, 6 S`."""

    counts: tuple[CountOf, ...]

    def __str__(self) -> str:
        return ", ".join(map(str, self.counts))


@dataclass(frozen=True)
class ByPlace:
    """So many rings of each role at each place, and no others: `2 S, 2 prev S`.

    A count without a word of place means rings of the same unit.
    """

    counts: tuple[CountOf, ...]

    def __str__(self) -> str:
        return ", ".join(map(str, self.counts))


Wanted = InAll | ByRole | ByPlace


@dataclass(frozen=True)
class _Counting:
    """A promise that counts rings.

    choices: what may be found, one at least; each ring keeps one of them.
    """

    name: Name
    choices: tuple[Wanted, ...]
    span: Span

    @property
    def roles(self) -> frozenset[str]:
        """Every role that it counts."""
        counted = (wanted for wanted in self.choices if not isinstance(wanted, InAll))
        return frozenset(c.role for wanted in counted for c in wanted.counts)


@dataclass(frozen=True)
class Meets(_Counting):
    """A promise: each finished ring of a name is linked with so many rings."""

    @property
    def plain(self) -> dict[str, int] | None:
        """Rings by role where just that is promised: no total, no choice, no place."""
        match self.choices:
            case (ByRole(counts),):
                return {c.role: c.count for c in counts}
        return None


@dataclass(frozen=True)
class Lies(_Counting):
    """A promise: each ring of a name lies around, or inside, so many rings without being linked."""

    how: Literal["around", "inside"]


@dataclass(frozen=True)
class UnitSize:
    """A promise: so many rings a unit."""

    count: int
    span: Span


@dataclass(frozen=True)
class Period:
    """A promise: the piece (or one variant of it) repeats every so many units."""

    variant: str | None
    units: int
    span: Span


@dataclass(frozen=True)
class ComesOut:
    """A promise: the rings of that name, helpers, are out again when the work ends."""

    name: Name
    span: Span


@dataclass(frozen=True)
class LiesFolded:
    """A promise: every finished ring of that name lies folded back."""

    name: Name
    span: Span


@dataclass(frozen=True)
class WorkingRange:
    """The AR range in which the weave is good to make, with where that comes from.

    name: whose rings, None for all; variant: where it holds in one variant only.
    high: None where only a lower end is known.
    """

    name: Name | None
    low: Fraction
    high: Fraction | None
    origin: str
    span: Span
    variant: str | None = None
