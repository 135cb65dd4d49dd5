"""What it costs to carry a recipe out, told from its text alone: counted work, never seconds."""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.language.syntax import Block, Recipe, Step
from ringstep.weave.layout import refs_of
from ringstep.weave.steps import role_indexes


def moves(recipe: Recipe) -> Iterator[tuple[Block, Step, int]]:
    """Each step with its work at one place: rings placed, rings named, and links between them."""
    per_role = {role: len(have) for role, have in role_indexes(recipe.blocks).items()}
    for block in recipe.blocks:
        for step in block.steps:
            new = sum(item.count or 1 for item in step.new)
            named = sum(1 if r.name.index else per_role.get(r.name.role, 1) for r in refs_of(step))
            yield block, step, 1 + new + named + new * named
