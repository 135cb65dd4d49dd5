"""One small change to a recipe: a ring added to a list, taken out, changed; a step gone or moved.

Comes in: a recipe. Goes out: the same recipe with one place changed, and what was changed. Blame
tries such changes as mends; the slip tests make slips of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from recipe.layout import refs_of
from recipe.steps import new_indexes
from recipe.syntax import OPENING, PLACING, Block, Name, Recipe, Ref, Stated, Step

EditKind = Literal["add", "remove", "replace", "picks", "drop step", "swap steps", "move lay"]


@dataclass(frozen=True, slots=True)
class Edit:
    """One change. step: the step changed; ref: the item that goes out; new: the one that comes in.

    other: the second step of a swap. rank: how far-fetched it is, smaller first.
    """

    kind: EditKind
    step: Step
    ref: Ref | None = None
    new: Ref | None = None
    other: Step | None = None
    rank: tuple[int, ...] = ()


def with_step(recipe: Recipe, changed: Step) -> Recipe:
    """The recipe with the step of that number replaced."""
    blocks = tuple(
        replace(b, steps=tuple(changed if s.number == changed.number else s for s in b.steps))
        if any(s.number == changed.number for s in b.steps)
        else b
        for b in recipe.blocks
    )
    return replace(recipe, blocks=blocks)


def apply(recipe: Recipe, edit: Edit) -> Recipe:
    """The recipe after an edit; step numbers stay, so that what changed can be found again."""
    step = edit.step
    match edit.kind:
        case "add":
            assert edit.new is not None
            return with_step(recipe, replace(step, through=(*step.through, edit.new)))
        case "remove":
            return with_step(
                recipe, replace(step, through=tuple(r for r in step.through if r is not edit.ref))
            )
        case "replace":
            assert edit.new is not None
            return with_step(
                recipe,
                replace(
                    step, through=tuple(edit.new if r is edit.ref else r for r in step.through)
                ),
            )
        case "drop step":
            blocks = tuple(
                replace(b, steps=tuple(s for s in b.steps if s is not step)) for b in recipe.blocks
            )
            return replace(recipe, blocks=blocks)
        case "swap steps":
            assert edit.other is not None
            order = {step.number: edit.other, edit.other.number: step}
            blocks = tuple(
                replace(b, steps=tuple(order.get(s.number, s) for s in b.steps))
                for b in recipe.blocks
            )
            return replace(recipe, blocks=blocks)
        case _:
            return with_step(recipe, replace(step, picks=None))


def block_of(recipe: Recipe, step: Step) -> Block:
    """The block a step stands in."""
    return next(b for b in recipe.blocks if any(s.number == step.number for s in b.steps))


def used_places(recipe: Recipe, block: Block) -> list[tuple[str, ...]]:
    """Words of place that the recipe itself uses in blocks of that kind, nearest first, and the
    plain ones every maker would try."""
    found: dict[tuple[str, ...], int] = {(): 0}
    kind = {"start": ("start",), "finish": ("finish",)}.get(block.kind)
    for other in recipe.blocks:
        if (kind is None and other.kind in ("start", "finish")) or (
            kind and other.kind not in kind
        ):
            continue
        for step in other.steps:
            for ref in refs_of(step):
                found.setdefault(ref.places, len(ref.places))
    if block.kind == "unit":
        found.setdefault(("prev",), 1)
    return sorted(found, key=lambda p: (len(p), p))


def candidate_refs(recipe: Recipe, block: Block) -> list[Ref]:
    """Rings a step of that block could also go through: every role and ring of the recipe at
    every place the recipe speaks of."""
    roles: dict[str, set[int]] = {}
    for other in recipe.blocks:
        for step in other.steps:
            if step.kind in PLACING:
                for item in step.new:
                    roles.setdefault(item.name.role, set()).update(
                        new_indexes(item.name.index, item.count)
                    )
    for part in recipe.parts:
        roles.setdefault(part.name.role, set())
    found = []
    for places in used_places(recipe, block):
        for role, indexes in roles.items():
            names: list[int | None] = [None]
            if len(indexes) > 1 and len(indexes) <= 12:
                names += sorted(indexes)
            for index in names:
                found.append(Ref(places, Name(role, index, block.span), False, block.span))
    return found


def _reach(places: tuple[str, ...]) -> int:
    return len(places)


def list_edits(recipe: Recipe) -> Iterator[Edit]:
    """Every way to mend one list by one item: added, taken out, or a stated count left off."""
    for block in recipe.blocks:
        candidates = candidate_refs(recipe, block)
        for step in block.steps:
            if step.kind not in OPENING:
                continue
            have = {(r.places, r.name.role, r.name.index) for r in step.through}
            if step.through and step.picks:
                yield Edit("picks", step, rank=(0, 0, 0))
            for ref in candidates:
                key = (ref.places, ref.name.role, ref.name.index)
                if key in have or (ref.places, ref.name.role, None) in have:
                    continue
                optional = any(r.if_there and r.places == ref.places for r in _all_refs(recipe))
                new = replace(ref, if_there=optional)
                single = 0 if ref.name.index is None else 1
                yield Edit("add", step, new=new, rank=(1, _reach(ref.places), single))
            for ref in step.through:
                yield Edit("remove", step, ref=ref, rank=(1, 0, 0))


def replace_edits(recipe: Recipe) -> Iterator[Edit]:
    """Every way to change one list item for another."""
    for block in recipe.blocks:
        candidates = candidate_refs(recipe, block)
        for step in block.steps:
            for ref in step.through if step.kind in OPENING else ():
                for new in candidates:
                    if (new.places, str(new.name)) != (ref.places, str(ref.name)):
                        near = abs(len(new.places) - len(ref.places))
                        other = int(new.name.role != ref.name.role)
                        yield Edit(
                            "replace",
                            step,
                            ref=ref,
                            new=replace(new, if_there=ref.if_there),
                            rank=(2, near + other, _reach(new.places)),
                        )


def step_edits(recipe: Recipe) -> Iterator[Edit]:
    """A step too many, or two neighbours in the wrong order."""
    for block in recipe.blocks:
        for at, step in enumerate(block.steps):
            if len(block.steps) > 1:
                yield Edit("drop step", step, rank=(3, 0))
            if at + 1 < len(block.steps):
                yield Edit("swap steps", step, other=block.steps[at + 1], rank=(2, 0))


def _all_refs(recipe: Recipe) -> Iterator[Ref]:
    for step in recipe.steps():
        yield from step.through


def mistyped(step: Step, picks: int) -> Step:
    """The step with another stated count."""
    assert step.picks is not None
    return replace(step, picks=Stated(str(picks), step.picks.span))
