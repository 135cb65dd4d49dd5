"""Every single change that could mend a recipe, for when its faults point to none.

Comes in: a recipe. Goes out: edits, each with its rank. Also what the changes that faults do point
to are made of (`suspects.py`): places one could speak of, ranks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from ringstep.checks.edits import (
    AddRing,
    DropStep,
    Edit,
    RemoveRing,
    ReplaceRing,
    SwapNames,
    SwapPlaced,
    SwapSteps,
    words_apart,
)
from ringstep.language.syntax import OPENING, PLACING, Block, Name, Ref, Step
from ringstep.language.tree import Tree
from ringstep.weave.layout import refs_of

#: Places every maker would try, whether or not the recipe speaks of them.
_OF_ROWS = (("prev",), ("above",), ("above", "next"), ("above", "prev"))
_PLAIN_PLACES = {
    "unit": (("prev",), ("prev", "prev")),
    "row": _OF_ROWS,
    "last row": _OF_ROWS,
    "extra place": _OF_ROWS,
    "shared place": _OF_ROWS,
    "again": (("prev",), ("next",), ("above",)),
    "finish": (("last",), ("first",), ("last", "prev"), ("first", "next")),
    "row end": (("last",), ("first",), ("last", "prev"), ("first", "next")),
}
_ENDS = (("first",), ("last",))


def used_places(recipe: Tree, block: Block) -> dict[tuple[str, ...], bool]:
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
    further = [("prev",) * (deepest + 1)] if block.kind == "unit" else []
    for places in [p for p in found if p[:1] in _ENDS and len(p) > 1]:
        further += [places[:at] for at in range(2, len(places))] + [(*places, places[-1])]
    if recipe.shape and block.kind not in ends:  # the first and the last that a place shares
        further += [("above", "prev", "next"), ("above", "next", "prev")]
    strands = recipe.piece.strands if recipe.piece and block.kind == "finish" else ()
    found |= {("last", s.name.value): True for s in strands}  # one end is as likely as another
    of_strands = [("first", s.name.value) for s in strands]
    for places in (*_PLAIN_PLACES.get(block.kind, ()), *further, *of_strands):
        found.setdefault(places, False)
    return dict(sorted(found.items(), key=lambda p: (len(p[0]), p[0])))


def may_be_off(recipe: Tree, block: Block, places: tuple[str, ...]) -> bool:
    """True where a place can lie off the piece, so that a list item owes an 'if there'."""
    kinds = {b.kind for b in recipe.blocks}
    along = [p for p in places if p != "above"]
    if block.kind in ("start", "finish", "row end") or "first" in places or "last" in places:
        return False
    tube = recipe.piece is not None and recipe.piece.kind == "tube"
    if recipe.shape and places and not tube:
        return True
    if "above" in places:
        return bool(along and not tube) or not kinds & {"first row", "start"}
    if not along:
        return False
    return block.kind != "unit" or len(along) > 1 or "start" not in kinds


def candidate_refs(recipe: Tree, block: Block) -> list[tuple[Ref, bool]]:
    """Rings a step of that block could also go through: every role and ring of the recipe at
    every place one could speak of; with whether the recipe uses that place."""
    roles: dict[str, set[int]] = {}
    for other in recipe.blocks:
        for step in other.steps:
            if step.kind in PLACING:
                for item in step.new:
                    roles.setdefault(item.name.role, set()).update(item.indexes)
    named = {r.name.role for step in block.steps for r in refs_of(step)}
    for part in recipe.parts:
        # A bar that the first row hangs from is far away from those below.
        if block.kind not in ("row", "last row") or part.name.role in named:
            roles.setdefault(part.name.role, set())
    found = []
    for places, used in used_places(recipe, block).items():
        optional = may_be_off(recipe, block, places)
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
    return sum(words_apart(one, other)) + 10 * abs(one.count("above") - other.count("above"))


def twin_lists(recipe: Tree, step: Step) -> set[tuple[object, ...]]:
    """What the steps that place the same roles elsewhere in the recipe go through, and the parts
    that the steps beside it do."""
    roles = {i.name.role for i in step.new}
    return {
        _key(ref)
        for block in recipe.blocks
        for other in block.steps
        if other.number != step.number
        for ref in other.through
        if roles & {i.name.role for i in other.new}
        or (ref.name.role in recipe.part_roles and step in block.steps)
    }


def adding(step: Step, ref: Ref, used: bool, twins: set[tuple[object, ...]]) -> AddRing:
    """A ring added to a list, with how far-fetched that is.

    used: True where the recipe speaks of that place; twins: what like steps go through.
    """
    key, whole = _key(ref), (ref.places, ref.name.role, None)
    near = 0 if {key, whole} & twins else 2 - used
    if ref.name.index is not None and any(
        _key(r)[:2] == key[:2] and r.name.index is not None for r in step.through
    ):
        near = -1  # the list names the other rings of that role and place
    single = int(ref.name.index is not None)
    kin = min((_apart(ref.places, r.places) for r in step.through), default=0)
    new = replace(ref, if_there=ref.if_there and not step.skip_at_edge)
    return AddRing(
        step, new, rank=(1, max(near, 0), near, kin * (near > 1), len(ref.places), single)
    )


def replacing(step: Step, ref: Ref, new: Ref, used: bool) -> ReplaceRing:
    """A list item changed for another, with how far-fetched that is."""
    near = max(words_apart(new.places, ref.places))
    near += new.places.count("above") != ref.places.count("above")  # seldom is the row mistaken
    kind = int(not used)
    if sorted(new.places) == sorted(ref.places) and len(new.places) > 1:
        kind = near = -1  # the same words of place in another order
    rank = (2, kind, near + int(new.name.role != ref.name.role), len(new.places))
    new = replace(new, if_there=new.if_there and not step.skip_at_edge)
    return ReplaceRing(step, ref, new, rank=rank)


def list_edits(recipe: Tree) -> Iterator[Edit]:
    """Every way to mend one list by one item, added or taken out."""
    for block in recipe.blocks:
        candidates = candidate_refs(recipe, block)
        for step in block.steps:
            if step.kind not in OPENING:
                continue
            have = {_key(r) for r in step.through}
            twins = twin_lists(recipe, step)
            for ref, used in candidates:
                if _key(ref) not in have and (ref.places, ref.name.role, None) not in have:
                    yield adding(step, ref, used, twins)
            for ref in step.through[: len(step.through) * (len(step.through) > 1)]:
                yield RemoveRing(step, ref, rank=(1, 0))


def replace_edits(recipe: Tree) -> Iterator[Edit]:
    """Every way to change one list item for another."""
    for block in recipe.blocks:
        candidates = candidate_refs(recipe, block)
        for step in block.steps:
            for ref in step.through if step.kind in OPENING else ():
                for new, used in candidates:
                    if _key(new) != _key(ref):
                        yield replacing(step, ref, new, used)


def step_edits(recipe: Tree) -> Iterator[Edit]:
    """A step too many, two neighbours in the wrong order, two names that changed places."""
    for block in recipe.blocks:
        for at, step in enumerate(block.steps):
            if len(block.steps) > 1:
                yield DropStep(step, rank=(3, 0))
            if at + 1 < len(block.steps):
                yield SwapSteps(step, block.steps[at + 1], rank=(2, 0))
            for far, other in enumerate(block.steps[at:]):
                if step.kind in OPENING and other.kind in OPENING:
                    yield from _name_swaps(step, other, far)


def _name_swaps(step: Step, other: Step, far: int) -> Iterator[Edit]:
    """Names that changed places within one list, between two lists, or where rings are placed."""
    placed, by_other = ([str(i.name) for i in s.new] for s in (step, other))
    if far and placed and by_other and placed != by_other:
        yield SwapPlaced(step, other, rank=(2, 1, far))
    for at, ref in enumerate(step.through):
        for new in other.through[at + 1 :] if far == 0 else other.through:
            if str(ref.name) != str(new.name):
                pair = other if far else None
                yield SwapNames(step, ref, new, pair, rank=(2, 0, far))
