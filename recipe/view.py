"""What every check may look at: one recipe, read, carried out and diagnosed once."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from recipe.diagnosis import Diagnosis
from recipe.faults import Model, find_faults
from recipe.findings import Trouble
from recipe.record import record
from recipe.syntax import ROW_BLOCKS, Block, Recipe, RingKind, Variant, joined, split_name
from recipe.words import listed, nearest

if TYPE_CHECKING:
    from recipe.counting import RingCounts

_STEP_SECTIONS = frozenset(
    {"start", "unit", "first row", "row", "again", "row end", "finish", "?", ""}
)


@record
class View:
    """A recipe and all that was worked out about it; everything is worked out on first use.

    troubles: lines that could not be read.
    """

    recipe: Recipe
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
    def model(self) -> Model:
        """The recipe carried out in its chosen variant."""
        return Model(self.recipe, self.chosen)

    @cached_property
    def models(self) -> tuple[Model, ...]:
        """The recipe carried out in each of its variants."""
        others = {v.name: Model(self.recipe, v) for v in self.recipe.variants}
        if self.chosen:
            others[self.chosen.name] = self.model
        return tuple(others.values()) or (self.model,)

    @cached_property
    def steps_read(self) -> bool:
        """True where every step line was read, so that what the links lack is the author's."""
        return not self.recipe.unread & _STEP_SECTIONS

    @cached_property
    def diagnosis(self) -> Diagnosis:
        """The faults in the links and what explains them; empty where steps could not be read."""
        if not self.steps_read or not self.recipe.blocks or not self.fits:
            return Diagnosis((), ())
        faults = find_faults(self.model)
        if not faults:
            return Diagnosis((), ())
        from recipe.blame import diagnose

        return diagnose(self.model, faults)

    @cached_property
    def idle(self) -> tuple[Block, ...]:
        """The blocks that no place of the piece is worked by."""
        return self.model.layout.idle if self.recipe.piece else ()

    @property
    def mixed(self) -> bool:
        """True where a chain or loop is worked in rows, or a sheet or tube in units."""
        flat = self.model.layout.flat
        return any(
            (b.kind == "unit" and flat) or (b.kind in ROW_BLOCKS and not flat)
            for b in self.recipe.blocks
        )

    @property
    def fits(self) -> bool:
        """True where the sections go with the piece and each has a place in it."""
        return not self.mixed and not self.idle

    @cached_property
    def forgotten(self) -> frozenset[str]:
        """Roles whose step seems to be forgotten; what else is wrong with them follows from it."""
        found = [n for f in self.diagnosis.faults if f.kind == "forgotten" for n in f.names]
        return frozenset(split_name(name.replace(" ", ""))[0] for name in found)

    @cached_property
    def mended(self) -> Model | None:
        """The recipe with every fault in its links mended; None where some have no known cause.

        What follows from a fault (a lay owed because a ring is missing) is gone here.
        """
        if not self.steps_read or not self.recipe.blocks:
            return None
        if not self.diagnosis.faults:
            return self.model
        if not self.diagnosis.causes or not self.diagnosis.causes[-1].whole:
            return None
        from recipe.edits import apply

        recipe = self.recipe
        for cause in self.diagnosis.causes:
            recipe = apply(recipe, cause.edit)
        return Model(recipe, self.chosen)

    def kind_of(self, role: str, index: int) -> RingKind | None:
        """The line of `rings:` that says what size a ring has: its own, its role's, or `all`."""
        kinds = self._kinds
        return kinds.get((role, index)) or kinds.get((role, None)) or kinds.get(("all", None))

    def bought_name(self, role: str, index: int) -> str:
        """What a ring is called where rings are laid ready: 'A2' if an A of its own kind has a
        line, or else 'A' for all of them."""
        lines = {id(self.kind_of(role, i)) for i in self.roles.get(role, ())}
        return joined(role, index) if len(lines) > 1 else role

    @cached_property
    def _kinds(self) -> dict[tuple[str, int | None], RingKind]:
        """The lines of `rings:` by name, the first of each; `all` in lower case."""
        return {
            ("all" if (role := k.name.role).casefold() == "all" else role, k.name.index): k
            for k in reversed(self.recipe.rings)
        }

    @cached_property
    def counts(self) -> RingCounts:
        """The rings of the whole piece, counted."""
        from recipe.counting import ring_counts

        return ring_counts(self.model.layout)

    @cached_property
    def roles(self) -> dict[str, tuple[int, ...]]:
        """Every role the steps place, with the numbers of its rings."""
        from recipe.steps import role_indexes

        return role_indexes(self.recipe.blocks)


class NoVariant(Exception):
    """The variant asked for is not in the recipe."""


def with_variant(view: View, name: str | None) -> View:
    """The view with a variant chosen by name. Raises `NoVariant`."""
    if name is None:
        return view
    variants = {v.name: v for v in view.recipe.variants}
    if name not in variants:
        near = nearest(name, list(variants))
        known = listed(list(variants)) or "none"
        raise NoVariant(
            f"the recipe has no variant '{name}'"
            + (f"; the nearest is '{near}'" if near else f"; it has {known}")
        )
    other = View(view.recipe, view.troubles)
    other.__dict__["chosen"] = variants[name]
    return other
