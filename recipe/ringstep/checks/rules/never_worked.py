"""A section or a step that is worked nowhere in the piece.

Units or rows that take turns must all stand in 'order left, right'. A plain 'unit:' or 'row:' fills
every place that is not written out, and leaves no turn to named ones. A unit written out by its
number must lie within the piece. A step with 'skip at edge' or 'if there' must find its rings at
least somewhere.

Wrong:

    weave "Striped sheet"
    rings:
      all  wire 1.6 mm, inside 7 mm, copper
    expect:
      all meets 4
    first row:
      close A
    row light:
      add A through above A, above next A if there picks 2
    row dark:
      add A through above A, above next A if there picks 2
    piece:
      sheet 8 rows of 12 units
      rows back and forth
      order light

Right:

    weave "Striped sheet"
    rings:
      all  wire 1.6 mm, inside 7 mm, copper
    expect:
      all meets 4
    first row:
      close A
    row light:
      add A through above A, above next A if there picks 2
    row dark:
      add A through above A, above next A if there picks 2
    piece:
      sheet 8 rows of 12 units
      rows back and forth
      order dark, light
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.syntax import ROUND_BLOCKS, Block, Step
from ringstep.language.words import plural

RULE = Rule("never-worked", "error")


def check(view: View) -> Iterator[Finding]:
    """Blocks and steps without a place.

    A word of 'piece:' that is wrong itself explains it, and is told elsewhere.
    """
    recipe, piece = view.recipe, view.recipe.piece
    if (
        piece is None
        or not (piece.units or piece.length or piece.runs or piece.strands)
        or 0 in (piece.rows, *piece.runs, *(s.units for s in piece.strands))
    ):
        return
    labels = {b.label for b in recipe.blocks}
    lost = any(s.value not in labels for s in piece.order)
    lost &= not (piece.strands and None in {b.label for b in recipe.blocks if b.kind == "unit"})
    if view.mixed or "piece" in recipe.unread or lost:
        return
    yield from _left_out(view)
    for block in view.idle:
        if block.label == 0 or (block.kind in ROUND_BLOCKS and _shape_told(view)):
            continue  # told where it is read
        message, help = _words(view, block)
        named = "strands" if piece.strands else "turns"
        order = piece.order[0].span if piece.order and isinstance(block.label, str) else None
        yield Finding(
            RULE,
            block.span,
            f"'{block}:' is never worked: {message}",
            labels=(Label(order, f"the {named} are named here"),) if order else (),
            help=(*help, f"{'or ' * bool(help)}take the section '{block}:' out"),
        )


def _left_out(view: View) -> Iterator[Finding]:
    """Steps that link rings, and find nothing to go through at any place they are worked."""
    if view.diagnosis.faults or not view.fits:
        return
    works: set[int] = set()
    never: dict[int, Step] = {}
    patterns = (act for pattern in view.weave.patterns.values() for act in pattern.acts)
    for act in (*view.weave.work.acts, *patterns):
        step = act.step
        if act.through or act.held or not step.through:
            works.add(step.number)
        elif act.dropped or act.skipped:
            never[step.number] = step
    for number, step in never.items():
        if number in works:
            continue
        what = "its place" if len(step.through) == 1 else "each place in its list"
        yield Finding(
            RULE,
            step.span,
            f"step {number} is left out everywhere: {what} is off the piece",
            help=("name rings that are there, or take the step out",),
        )


def _shape_told(view: View) -> bool:
    """True where something is said of the shape already, from which its odd places follow."""
    shape = view.weave.layout.shape
    return "shape" in view.recipe.unread or bool(shape and shape.misfits)


def _words(view: View, block: Block) -> tuple[str, tuple[str, ...]]:
    """Why a block has no place, and what to write for it to get one."""
    layout, piece = view.weave.layout, view.recipe.piece
    assert piece is not None
    size = plural(layout.rows, "row") if layout.flat else plural(layout.units, "unit")
    kind = "row" if layout.flat else "unit"
    if piece.strands and block.kind == "unit":
        if isinstance(block.label, int):
            return "of strands, no unit is told by its number", ("make a strand of what differs",)
        if isinstance(block.label, str):
            return "no strand has its name", (
                f"add to the strands, such as '{block.label} 6 units'",
            )
        return "every strand has a unit of its own name", ()
    if block.kind in ROUND_BLOCKS:
        if layout.kind == "sheet":
            return "only rounds of a tube have such places", ()
        many = "more" if block.kind == "extra place" else "fewer"
        help = "write under 'shape:' how many places a round has, as in 'row 3  12 places'"
        return f"no round of the row it belongs to has {many} places than the one above", (help,)
    if isinstance(block.label, int):
        grown = f"write '{piece.kind} {block.label} units'"
        return f"the {piece.kind} has only {size}", (grown,)
    if isinstance(block.label, str):
        if layout.block(block.kind):
            help = f"give '{kind}:' a name of its own, and write 'order …' with all names"
            return f"'{kind}:' fills every {kind}", (help,)
        if all(s.value != block.label for s in piece.order):
            if piece.runs:
                return f"the {piece.kind} leaves it out", (f"name '{block.label}' among its runs",)
            turns = ", ".join([*(s.value for s in piece.order), block.label])
            return "'order' leaves it out", (f"write 'order {turns}'",)
        return f"the {piece.kind} has only {size}", ("make it longer, so that its turn comes",)
    if block.kind == "unit":
        return f"the {piece.kind} has {size}, and all are written out", ("make it longer",)
    return f"the {piece.kind} has only {size}", ("make it longer",)
