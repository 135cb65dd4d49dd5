"""What it costs to carry a recipe out, told from its text alone: counted work, never seconds."""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.language.source import Refused
from ringstep.language.syntax import MOST_AT_ONCE, Block, Step
from ringstep.language.tree import Tree
from ringstep.weave.layout import lay_out, refs_of
from ringstep.weave.resolved import Resolved
from ringstep.weave.shape import MOST_SHAPED
from ringstep.weave.work import role_indexes

#: Steps of one recipe.
MOST_STEPS = 2_000
#: Names of rings and parts in one recipe, described, promised, placed or named.
MOST_NAMES = 300
#: Rings placed, gone through and named in all pieces that are made first and joined.
MOST_PIECES = 200_000
#: Places of a picture; all its colours are counted one by one.
MOST_PLACES = 250_000
#: Steps times the rings of the largest section: what is laid out anew for every picture.
MOST_DRAWN = 40_000
#: From here on it takes some seconds, so somebody who waits is told.
LONG_DRAWN = 5_000
#: Rings placed, gone through and named, and links made, in the part of the piece that is worked
#: out; some 15 seconds. Counted, not timed, so that a recipe is taken or refused everywhere alike.
MOST_WORK = 1_000_000


def moves(recipe: Tree) -> Iterator[tuple[Block, Step, int]]:
    """Each step with its work at one place: rings placed, rings named, and links between them."""
    per_role = {role: len(have) for role, have in role_indexes(recipe.blocks).items()}
    for block in recipe.blocks:
        for step in block.steps:
            new = sum(item.count or 1 for item in step.new)
            named = sum(1 if r.name.index else per_role.get(r.name.role, 1) for r in refs_of(step))
            each_other = new * (new - 1) // 2 if step.one_another else 0
            yield block, step, 1 + new + named + new * named + each_other


def within_bounds(seen: Resolved) -> None:
    """Raises `Refused` where working the recipe out takes more than `MOST_WORK`, or a bound above.

    Only the layout is looked at, so the answer comes before any ring is placed.
    """
    recipe = seen.recipe
    name = recipe.source.name
    for step in recipe.every_step():
        for item in step.new:
            if item.count is not None and item.count > MOST_AT_ONCE:
                raise Refused(
                    f"{name}, line {item.span.line}: step {step.number} places {item.count:,} rings"
                    f" at once; at most {MOST_AT_ONCE} are worked out. Make several steps of it."
                )
    if (names := _names(recipe)) > MOST_NAMES:
        raise Refused(
            f"{name} has {names:,} names of rings and parts, and a recipe has at most {MOST_NAMES}."
            " Give rings of one kind one name with numbers: 'A1, A2'."
        )
    piece = recipe.piece
    if recipe.picture and piece and (piece.rows or 0) * (piece.units or 0) > MOST_PLACES:
        raise Refused(
            f"{name}, line {recipe.picture.span.line}: the picture has more than {MOST_PLACES:,}"
            " places, so its colours are not worked out. Make several panels of it."
        )
    sized = piece and piece.kind in ("sheet", "tube") and piece.rows and piece.units
    if recipe.shape and sized and seen.weave.layout.shape is None:
        raise Refused(
            f"{name}, line {recipe.shape[0].span.line}: a piece with a shape is worked out place by"
            f" place, and this one has more than {MOST_SHAPED:,}. Make several panels of it."
        )
    if not recipe.every_block:
        return
    if (steps := len(recipe.every_step())) > MOST_STEPS:
        raise Refused(
            f"{name} has {steps:,} steps, and a recipe has at most {MOST_STEPS:,}. Repeat a unit"
            " with 'chain … units' instead of writing every unit out."
        )
    if recipe.made:
        return _of_pieces(recipe)
    layout = seen.weave.layout
    window = layout.window()
    dearest: tuple[int, int, int] = (0, 0, 0)
    total = 0
    for block, step, work in moves(recipe):
        if isinstance(block.label, int) or block.kind in ("start", "finish"):
            places = 1
        elif block.kind == "row end":
            places = window.rows
        else:
            places = window.places if layout.flat else window.units + 1
        total += places * work
        dearest = max(dearest, (places * work, step.span.line, step.number))
    total = total * (1 + len(recipe.variants)) + window.units + window.rows
    if total > MOST_WORK:
        raise Refused(_too_much(seen, dearest))


def _of_pieces(recipe: Tree) -> None:
    """The same for pieces that are made first, each of which is carried out whole."""
    total = 0
    for made in recipe.made:
        layout = lay_out(made.tree)
        cost = sum(work for _, _, work in moves(made.tree))
        total += made.times * (layout.rows * (layout.units + 1) * cost + 1)
        if total > MOST_PIECES:
            raise Refused(
                f"{recipe.source.name}, line {made.name.span.line}: pieces that are joined are"
                f" worked out ring by ring, and these take more than {MOST_PIECES:,} single"
                " moves. Make them smaller, or fewer."
            )


def _names(recipe: Tree) -> int:
    """How many names of rings and parts stand in a recipe."""
    told = {x.name.role for group in (recipe.rings, recipe.parts, recipe.promises) for x in group}
    for promise in recipe.promises:
        told.update(promise.roles)
    for step in recipe.every_step():
        told.update(item.name.role for item in step.new)
        told.update(ref.name.role for ref in refs_of(step))
    return len(told)


def _too_much(seen: Resolved, dearest: tuple[int, int, int]) -> str:
    """Why a recipe is not worked out, with what asks for most of the work."""
    layout, name = seen.weave.layout, seen.recipe.source.name
    told = f"{name}: to work this out takes more than {MOST_WORK:,} single moves, so it is not done"
    few = 1000
    if layout.written > few:
        last = max((b for b in seen.recipe.blocks if isinstance(b.label, int)), key=_label)
        return f"{told}. The heading on line {last.span.line} has the highest number of a unit."
    if layout.cycle > few and seen.recipe.variants:
        return (
            f"{told}. The patterns of the variants come round together only after more than"
            f" {few:,} units; give them the same number of sides, or put them in several recipes."
        )
    if max(layout.cycle, layout.row_cycle) > few:
        return f"{told}. The blocks come round only after more than {few:,} turns; shorten 'order'."
    return (
        f"{told}. Most of it is asked for by step {dearest[2]}, line {dearest[1]}; name fewer rings"
        " in it, or split the recipe in two."
    )


def _label(block: Block) -> int:
    return block.label if isinstance(block.label, int) else 0


def drawable(recipe: Tree, instead: str) -> bool:
    """True where all pictures of a recipe are made at once, False where that takes some seconds.

    instead: what else can be done, for the message. Raises `Refused` where it would take minutes.
    """
    steps = len(recipe.every_step())
    rings = max((sum(map(len, b.placed.values())) for b in recipe.every_block), default=0)
    if steps * rings > MOST_DRAWN:
        raise Refused(
            f"{recipe.source.name} has a section of {rings:,} rings, too many to draw after each of"
            f" {steps:,} steps; {instead}, or split the section in two"
        )
    return steps * rings <= LONG_DRAWN
