"""One small change to a recipe: a ring added to a list, taken out, changed; a step gone or moved.

Comes in: a recipe. Goes out: the same recipe with one place changed, and what was changed. Blame
tries such changes as mends; the slip tests make slips of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from ringstep.language.syntax import OPENING, PLACING, Block, Name, Recipe, Ref, Step
from ringstep.weave.layout import refs_of

EditKind = Literal[
    "add", "remove", "replace", "picks", "drop step", "swap steps", "swap names", "swap placed"
]


@dataclass(frozen=True)
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
                replace(b, steps=tuple(s for s in b.steps if s.number != step.number))
                for b in recipe.blocks
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
        case "swap names":
            assert edit.ref is not None
            assert edit.new is not None
            turned = {
                id(edit.ref): replace(edit.ref, name=edit.new.name),
                id(edit.new): replace(edit.new, name=edit.ref.name),
            }
            for changed in (step, edit.other or step):
                lists = tuple(turned.get(id(r), r) for r in changed.through)
                recipe = with_step(recipe, replace(changed, through=lists))
            return recipe
        case "swap placed":
            assert edit.other is not None
            recipe = with_step(recipe, replace(step, new=edit.other.new))
            return with_step(recipe, replace(edit.other, new=step.new))
        case _:
            return with_step(recipe, replace(step, picks=None))


#: Places every maker would try, whether or not the recipe speaks of them.
_PLAIN_PLACES = {
    "unit": (("prev",), ("prev", "prev")),
    "row": (("prev",), ("above",), ("above", "next"), ("above", "prev")),
    "again": (("prev",), ("next",), ("above",)),
    "finish": (("last",), ("first",), ("last", "prev"), ("first", "next")),
    "row end": (("last",), ("first",), ("last", "prev"), ("first", "next")),
}


def used_places(recipe: Recipe, block: Block) -> dict[tuple[str, ...], bool]:
    """Words of place a step of that block could use, nearest first; True where the recipe itself
    uses them in such a block."""
    found: dict[tuple[str, ...], bool] = {(): True}
    ends = ("start", "finish", "row end")
    for other in recipe.blocks:
        same = other.kind == block.kind if block.kind in ends else other.kind not in ends
        for step in other.steps if same else ():
            for ref in refs_of(step):
                found[ref.places] = True
    deepest = max(p.count("prev") for p in found)
    further = (("prev",) * (deepest + 1),) if block.kind == "unit" else ()
    for places in (*_PLAIN_PLACES.get(block.kind, ()), *further):
        found.setdefault(places, False)
    return dict(sorted(found.items(), key=lambda p: (len(p[0]), p[0])))


def _may_be_off(recipe: Recipe, block: Block, places: tuple[str, ...]) -> bool:
    """True where a place can lie off the piece, so that a list item owes an 'if there'."""
    kinds = {b.kind for b in recipe.blocks}
    along = [p for p in places if p != "above"]
    if block.kind in ("start", "finish", "row end") or "first" in places or "last" in places:
        return False
    if "above" in places:
        tube = recipe.piece is not None and recipe.piece.kind == "tube"
        return bool(along and not tube) or not kinds & {"first row", "start"}
    if not along:
        return False
    return block.kind != "unit" or len(along) > 1 or "start" not in kinds


def candidate_refs(recipe: Recipe, block: Block) -> list[tuple[Ref, bool]]:
    """Rings a step of that block could also go through: every role and ring of the recipe at
    every place one could speak of; with whether the recipe uses that place."""
    roles: dict[str, set[int]] = {}
    for other in recipe.blocks:
        for step in other.steps:
            if step.kind in PLACING:
                for item in step.new:
                    roles.setdefault(item.name.role, set()).update(item.indexes)
    for part in recipe.parts:
        roles.setdefault(part.name.role, set())
    found = []
    for places, used in used_places(recipe, block).items():
        optional = _may_be_off(recipe, block, places)
        for role, indexes in roles.items():
            names: list[int | None] = [None]
            if 1 < len(indexes) <= 12:
                names += sorted(indexes)
            for index in names:
                name = Name(role, index, block.span)
                found.append((Ref(places, name, optional, block.span), used))
    return found


def _key(ref: Ref) -> tuple[tuple[str, ...], str, int | None]:
    return (ref.places, ref.name.role, ref.name.index)


@lru_cache(4096)
def _apart(one: tuple[str, ...], other: tuple[str, ...]) -> int:
    """How far two places are apart in words of place; another row counts most."""
    a, b = Counter(one), Counter(other)
    return ((a - b) + (b - a)).total() + 10 * abs(a["above"] - b["above"])


def _twin_lists(recipe: Recipe, step: Step) -> set[tuple[object, ...]]:
    """What the steps that place the same roles elsewhere in the recipe go through."""
    roles = {i.name.role for i in step.new}
    return {
        _key(ref)
        for other in recipe.steps()
        if other.number != step.number and roles & {i.name.role for i in other.new}
        for ref in other.through
    }


def list_edits(recipe: Recipe) -> Iterator[Edit]:
    """Every way to mend one list by one item: added, taken out, or a stated count left off."""
    for block in recipe.blocks:
        candidates = candidate_refs(recipe, block)
        guarded = block.kind not in ("start", "finish")
        for step in block.steps:
            if step.kind not in OPENING:
                continue
            have = {_key(r) for r in step.through}
            twins = _twin_lists(recipe, step)
            if step.through and step.picks:
                # At the ends nothing but the count guards the list, so the list is doubted first.
                yield Edit("picks", step, rank=(0, 0, 0) if guarded else (9, 0, 0))
            for ref, used in candidates:
                key = _key(ref)
                if key in have or (ref.places, ref.name.role, None) in have:
                    continue
                new = replace(ref, if_there=ref.if_there and not step.skip_at_edge)
                near = 0 if {key, (ref.places, ref.name.role, None)} & twins else 2 - used
                if ref.name.index is not None and any(
                    k[:2] == key[:2] and k[2] is not None for k in have
                ):
                    near = -1  # the list names the other rings of that role and place
                single = int(ref.name.index is not None)
                kin = min((_apart(ref.places, r.places) for r in step.through), default=0)
                rank = (1, near, kin * (near > 1), len(ref.places), single)
                yield Edit("add", step, new=new, rank=rank)
            for ref in step.through:
                yield Edit("remove", step, ref=ref, rank=(1, 0, 0, 0))


def replace_edits(recipe: Recipe) -> Iterator[Edit]:
    """Every way to change one list item for another."""
    for block in recipe.blocks:
        candidates = candidate_refs(recipe, block)
        for step in block.steps:
            for ref in step.through if step.kind in OPENING else ():
                for new, used in candidates:
                    if _key(new) != _key(ref):
                        near = abs(len(new.places) - len(ref.places)) + 2 * (not used)
                        other = int(new.name.role != ref.name.role)
                        if sorted(new.places) == sorted(ref.places) and len(new.places) > 1:
                            near = -1  # the same words of place in another order
                        yield Edit(
                            "replace",
                            step,
                            ref=ref,
                            new=replace(new, if_there=new.if_there and not step.skip_at_edge),
                            rank=(2, near + other, len(new.places)),
                        )


def step_edits(recipe: Recipe) -> Iterator[Edit]:
    """A step too many, two neighbours in the wrong order, two names that changed places."""
    for block in recipe.blocks:
        for at, step in enumerate(block.steps):
            if len(block.steps) > 1:
                yield Edit("drop step", step, rank=(3, 0))
            if at + 1 < len(block.steps):
                yield Edit("swap steps", step, other=block.steps[at + 1], rank=(2, 0))
            for far, other in enumerate(block.steps[at:]):
                if step.kind in OPENING and other.kind in OPENING:
                    yield from _name_swaps(step, other, far)


def _name_swaps(step: Step, other: Step, far: int) -> Iterator[Edit]:
    """Names that changed places within one list, between two lists, or where rings are placed."""
    if far and [str(i.name) for i in step.new] != [str(i.name) for i in other.new]:
        yield Edit("swap placed", step, other=other, rank=(2, 1, far))
    for at, ref in enumerate(step.through):
        for new in other.through[at + 1 :] if far == 0 else other.through:
            if str(ref.name) != str(new.name):
                pair = other if far else None
                yield Edit("swap names", step, ref=ref, new=new, other=pair, rank=(2, 0, far))
