"""One cycle of a recipe made ready to lay out in space, with what ties it back to the recipe."""

from __future__ import annotations

from dataclasses import dataclass, field

from ringstep.space.cell import Cell
from ringstep.weave.layout import PieceKind
from ringstep.weave.piece import Weave
from ringstep.weave.ring_graph import Class


@dataclass(frozen=True, slots=True)
class Laid:
    """One cycle made ready to lay out.

    cycle: (rows, units) of the recipe in the cell. rings: the recipe's ring for each of the cell.
    notes: what is left out, in a maker's words. origin: the unit of the work with which the cycle
    begins. weave: the recipe, to carry its steps out.
    """

    cell: Cell
    kind: PieceKind
    cycle: tuple[int, int]
    rings: tuple[Class, ...]
    notes: tuple[str, ...]
    origin: int = 0
    weave: Weave | None = field(default=None, compare=False, repr=False)

    @property
    def roles(self) -> tuple[str, ...]:
        """Each ring's role."""
        return tuple(c.role for c in self.rings)
