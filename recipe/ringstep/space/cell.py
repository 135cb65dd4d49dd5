"""The input of the fit: one repeating unit of a chain or sheet, as plain frozen data.

A shift says how many units on another ring lies: () for a single piece that does not repeat,
(k,) along a chain, (row, place) in a sheet. All lengths are mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Shift = tuple[int, ...]
Side = Literal["front", "back"]


class CellError(ValueError):
    """The cell contradicts itself; the text says how, in a maker's words."""


@dataclass(frozen=True, slots=True)
class CellRing:
    """One ring of the unit."""

    name: str  # as the recipe calls it, e.g. 'M1'
    inside: float  # inside diameter, mm
    wire: float  # wire diameter, mm

    @property
    def mean_radius(self) -> float:
        """Radius of the wire's centre line, mm."""
        return (self.inside + self.wire) / 2

    @property
    def aspect(self) -> float:
        """Inside diameter over wire diameter."""
        return self.inside / self.wire


@dataclass(frozen=True, slots=True)
class CellLink:
    """Ring `a` of a unit is linked with ring `b` of the unit `shift` further on."""

    a: int
    b: int
    shift: Shift
    sign: int = 0  # +1 or -1 where the lay fixes it, up to turning single rings over; 0 unknown


@dataclass(frozen=True, slots=True)
class CellStep:
    """One placing step: `new` rings go through `through`, a list of (ring, shift)."""

    new: tuple[int, ...]
    through: tuple[tuple[int, Shift], ...] = ()
    side: Side | None = None
    fold: tuple[int, ...] = ()  # rings folded back once this step is done
    spread: tuple[tuple[int, Shift], ...] = ()  # rings spread apart just before this step


@dataclass(frozen=True, slots=True)
class Cell:
    """A repeating unit: its rings, its links, in how many directions it repeats, its steps."""

    rings: tuple[CellRing, ...]
    links: tuple[CellLink, ...]
    dims: int  # 0 single piece, 1 chain, 2 sheet
    steps: tuple[CellStep, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a cell that contradicts itself (raises CellError)."""
        if self.dims not in (0, 1, 2):
            raise CellError(f"a unit repeats in 0, 1 or 2 directions, not {self.dims}")
        if not self.rings:
            raise CellError("the unit has no rings")
        for ring in self.rings:
            if not (0 < ring.wire <= ring.inside):
                raise CellError(f"ring {ring.name}: the inside must be at least the wire")
        seen: set[tuple[int, int, Shift]] = set()
        for link in self.links:
            for index in (link.a, link.b):
                if not 0 <= index < len(self.rings):
                    raise CellError(f"a link names ring number {index}, which is not in the unit")
            if len(link.shift) != self.dims:
                raise CellError(f"a link's shift {link.shift} does not have {self.dims} numbers")
            key = canonical(link.a, link.b, link.shift)
            if key[0] == key[1] and not any(key[2]):
                raise CellError(f"ring {self.rings[link.a].name} is linked with itself")
            if key in seen:
                names = f"{self.rings[link.a].name} and {self.rings[link.b].name}"
                raise CellError(f"{names} are linked twice over the same shift {link.shift}")
            if link.sign not in (-1, 0, 1):
                raise CellError(f"a link's sign is +1, -1 or 0, not {link.sign}")
            seen.add(key)

    def pairs(self) -> tuple[tuple[int, int, Shift], ...]:
        """The links in the order given, each turned the one way round `canonical` does."""
        return tuple(canonical(link.a, link.b, link.shift) for link in self.links)


def canonical(a: int, b: int, shift: Shift) -> tuple[int, int, Shift]:
    """The same pair seen from its lower-numbered ring (or, for copies of one ring, forwards).

    >>> canonical(2, 1, (1,))
    (1, 2, (-1,))
    """
    back = tuple(-k for k in shift)
    if a > b or (a == b and shift < back):
        return b, a, back
    return a, b, shift
