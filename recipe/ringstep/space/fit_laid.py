"""One cycle of a recipe made ready to lay out in space, with what ties it back to the recipe."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from ringstep.space.cell import Cell, Shift
from ringstep.weave.layout import PieceKind
from ringstep.weave.piece import Weave
from ringstep.weave.ring_graph import Class


class Handled(NamedTuple):
    """A step that moves rings already there: its number in the recipe, after which of the cell's
    steps it comes, its kind and the rings."""

    number: int
    after: int
    kind: str
    rings: tuple[tuple[int, Shift], ...]


class Turn(NamedTuple):
    """When a ring of the cycle is placed: its row and unit in the cycle, the pass along the row,
    which way the row is worked (+1 or -1), and the step in the cell."""

    row: int
    unit: int
    again: int
    way: int
    step: int


@dataclass(frozen=True, slots=True)
class Laid:
    """One cycle made ready to lay out.

    cycle: (rows, units) of the recipe in the cell. rings: the recipe's ring for each of the cell.
    turns: when each is placed. steps: for each step of the recipe that places rings, by its number,
    the number of the cell's step. handled: the steps that fold and spread. notes: what is left
    out, in a maker's words. origin: the unit of the work with which the cycle begins.
    weave: the recipe, to carry its steps out.
    """

    cell: Cell
    kind: PieceKind
    cycle: tuple[int, int]
    rings: tuple[Class, ...]
    turns: tuple[Turn, ...]
    steps: tuple[tuple[int, int], ...]
    notes: tuple[str, ...]
    handled: tuple[Handled, ...] = ()
    origin: int = 0
    weave: Weave | None = field(default=None, compare=False, repr=False)

    @property
    def roles(self) -> tuple[str, ...]:
        """Each ring's role."""
        return tuple(c.role for c in self.rings)

    def order(self, ring: int, shift: Shift) -> tuple[int, ...]:
        """Sorts the copies of the cell's rings as they are placed one after another."""
        turn = self.turns[ring]
        rows, units = (0, *shift)[-2:] if shift else (0, 0)
        unit = turn.way * (turn.unit + units * self.cycle[1])
        return turn.row + rows * self.cycle[0], turn.again, unit, turn.step
