"""One recipe and what it comes to, worked out once: its piece, its rings, its links."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from ringstep.language.findings import Trouble
from ringstep.language.syntax import ROUND_BLOCKS, ROW_BLOCKS, Block
from ringstep.language.tree import Tree, Variant
from ringstep.weave.piece import Weave

_STEP_SECTIONS = frozenset(
    {"start", "unit", "first row", "row", "again", "last row", "row end", "finish", "shape"}
    | {"join"}
    | ROUND_BLOCKS
    | {"?", ""}
)


@dataclass(frozen=True)
class Resolved:
    """A recipe and what it comes to; everything is worked out on first use.

    troubles: lines that could not be read.
    """

    recipe: Tree
    troubles: tuple[Trouble, ...]

    @cached_property
    def chosen(self) -> Variant | None:
        """The variant the piece is made in: the one it names, or the first."""
        variants = self.recipe.variants
        piece = self.recipe.piece
        if piece and piece.variant:
            named = next((v for v in variants if v.name == piece.variant.value), None)
            if named:
                return named
        return variants[0] if variants else None

    @cached_property
    def weave(self) -> Weave:
        """The recipe carried out in its chosen variant."""
        return Weave(self.recipe, self.chosen)

    @cached_property
    def weaves(self) -> tuple[Weave, ...]:
        """The recipe carried out in each of its variants."""
        others = {v.name: Weave(self.recipe, v) for v in self.recipe.variants}
        if self.chosen:
            others[self.chosen.name] = self.weave
        return tuple(others.values()) or (self.weave,)

    @cached_property
    def steps_read(self) -> bool:
        """True where every step line was read, so that what the links lack is the author's."""
        unsized = bool(self.recipe.made) and "piece" in self.recipe.unread
        return not self.recipe.unread & _STEP_SECTIONS and not unsized

    @cached_property
    def idle(self) -> tuple[Block, ...]:
        """The blocks that no place of the piece is worked by."""
        return self.weave.layout.idle if self.recipe.piece else ()

    @property
    def mixed(self) -> bool:
        """True where a chain or loop is worked in rows, or a sheet or tube in units."""
        flat = self.weave.layout.flat
        return any(
            (b.kind == "unit" and flat) or (b.kind in ROW_BLOCKS and not flat)
            for b in self.recipe.blocks
        )

    @property
    def fits(self) -> bool:
        """True where the sections go with the piece, its shape too, and each has a place in it."""
        shape = self.weave.layout.shape
        return not self.mixed and not self.idle and not (shape and shape.misfits)
