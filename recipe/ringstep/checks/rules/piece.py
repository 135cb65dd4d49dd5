"""A piece that does not say, or cannot be, what is made of the units.

A repeated unit needs a number of units, 'chain 24 units', or a length with a measured sample,
'sample 10 units = 41 mm'; units or rows that take turns need their order, 'order left, right'; a
sheet or tube needs rows, 'sheet 8 rows of 12 units'.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 0 units

Right:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 30 units
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ringstep.checks.view import View, comes_right
from ringstep.language.findings import Finding, Rule, instead
from ringstep.language.source import Span
from ringstep.language.syntax import ROW_BLOCKS
from ringstep.language.tree import Piece
from ringstep.language.words import listed, nearest, plural
from ringstep.weave.runs import NoRuns, run_counts
from ringstep.weave.strands import strand_counts

RULE = Rule("piece-size", "error")


def check(view: View) -> Iterator[Finding]:
    """Counts of zero, written units that do not fill the piece, blocks without an order."""
    recipe = view.recipe
    piece, layout = recipe.piece, view.weave.layout
    blocks = recipe.blocks
    kind = "row" if layout.flat else "unit"
    named = [b for b in blocks if b.kind == kind and isinstance(b.label, str)]
    rows = [b for b in blocks if b.kind in ROW_BLOCKS]
    if piece is None:
        return
    if piece.units == 0 or piece.rows == 0:
        yield Finding(
            RULE,
            piece.span,
            "the piece has nothing in it",
            help=("write how many units, and how many rows, it has",),
        )
        return
    for sample in (s for s in piece.samples if s.units == 0):
        yield Finding(
            RULE,
            _sampled(view, sample.size.span),
            "the sample measures no units",
            help=("measure some units of your own work: 'sample 10 units = 41 mm'",),
        )
    yield from _labels(view, piece)
    if piece.strands:
        yield from _strands(view, piece)
    if piece.runs and all(layout.block("unit", s.value) for s in piece.order):
        yield from _runs(view, piece)
    flat = piece.kind in ("sheet", "tube")
    units = [b for b in blocks if b.kind == "unit"]
    if flat and (units or not rows):
        yield Finding(
            RULE,
            piece.span,
            f"a {piece.kind} is worked in rows, and the recipe has {'units' if units else 'none'}",
            help=(
                "head its steps 'first row:' and 'row:'",
                f"or make it a chain: 'chain {piece.units or 24} units'",
            ),
        )
    if not flat and rows:
        yield Finding(
            RULE,
            piece.span,
            f"a {piece.kind} is worked in units, and the recipe has rows",
            help=("head its steps 'unit:'", "or make it a sheet: 'sheet 8 rows of 12 units'"),
        )
    ordered = piece.order or "piece" in recipe.unread
    turns = [b for b in layout.order or rows if b.steps and b.kind != "row end"]
    if turns and not any(s.new for b in turns for s in b.steps):
        yield Finding(
            RULE,
            turns[0].span,
            f"the {turns[0]} places no ring, so there is nothing to repeat",
            help=("add the step that places one, such as 'add A through prev A'",),
        )
    if len(named) > 1 and not ordered and layout.block(named[0].kind) is None:
        labels = [str(b.label) for b in named]
        yield Finding(
            RULE,
            piece.span,
            f"nothing says in which order the {kind}s {listed(labels)} take turns",
            help=(
                f"add to 'piece:' the line 'order {', '.join(labels)}'",
                *_in_runs(view, piece, labels),
            ),
        )
    written = plural(layout.written, "unit")
    if (
        layout.written
        and not layout.order
        and piece.units is not None
        and (piece.units != layout.written)
    ):
        yield Finding(
            RULE,
            piece.span,
            f"{written} {'is' if layout.written == 1 else 'are'} written out, and the piece has"
            f" {plural(piece.units, 'unit')}",
            help=(
                f"write '{piece.kind} {written}',",
                "or add a block 'unit:' for the units that are not written out",
            ),
        )


def _in_runs(view: View, piece: Piece, labels: list[str]) -> tuple[str, ...]:
    """The piece with one of its two units once in the middle, where nothing is wrong with that."""
    if len(labels) != 2 or piece.kind not in ("chain", "loop"):
        return ()
    measured = {s.label.value: s.units for s in piece.samples if s.label}
    many, once = sorted(labels, key=lambda label: -measured.get(label, 0))
    line = f"{piece.kind} of {many}, {once}, {many}"
    if piece.length:
        line = f"{piece.kind} {piece.length.text} of {many}, {once}, {many}"
    elif piece.units and piece.units > 2:
        half = piece.units // 2
        line = f"{piece.kind} of {half} {many}, {once}, {piece.units - 1 - half} {many}"
    good = comes_right(view, (instead(piece.span, line),), check)
    return (f"or work one of them once: '{line}'",) if good else ()


def _labels(view: View, piece: Piece) -> Iterator[Finding]:
    """Samples of units that the piece has not."""
    names = list(dict.fromkeys(s.value for s in piece.order)) if piece.runs else []
    names = names or [s.name.value for s in piece.strands]
    blocks = [b.label for b in view.recipe.blocks if b.kind == "unit"]
    names = names or [label for label in blocks if isinstance(label, str)]
    for sample in piece.samples:
        if sample.label is None or sample.label.value in names or "piece" in view.recipe.unread:
            continue
        label, size = sample.label.value, sample.size.text
        near = nearest(label, names)
        kinds = listed([f"'{name}'" for name in names], "or")
        yield Finding(
            RULE,
            sample.label.span,
            f"the sample measures '{label}', and no {'strand' if piece.strands else 'unit'} of the"
            " piece has that name",
            help=(
                f"write 'sample {sample.units} {near} = {size}'"
                if near
                else f"write {kinds} in its place"
                if names
                else f"write 'sample {plural(sample.units, 'unit')} = {size}'",
            ),
        )


def _strands(view: View, piece: Piece) -> Iterator[Finding]:
    """Strands of no unit, and strands whose length does not come to a number of units."""
    for strand in piece.strands:
        if strand.units == 0 or (strand.length and strand.length.number == 0):
            yield Finding(
                RULE,
                strand.name.span,
                f"strand {strand.name.value} has no unit",
                help=("write how many it has, or take it out of the line",),
            )
            return
        if strand.length and not strand.length.mm:
            return  # told by 'ring-size' and 'gauge'
    try:
        strand_counts(piece)
    except NoRuns as fault:
        if _misread(view, piece):
            return
        yield Finding(RULE, piece.span, str(fault), help=fault.help)


def _runs(view: View, piece: Piece) -> Iterator[Finding]:
    """Runs that do not come to numbers of units."""
    if piece.length and not piece.length.mm:
        return  # told by 'ring-size' and 'gauge'
    if 0 in piece.runs:
        yield Finding(RULE, piece.span, "a run has no unit", help=("take it out of the line",))
        return
    try:
        run_counts(piece)
    except NoRuns as fault:
        if _misread(view, piece):
            return
        yield Finding(RULE, piece.span, str(fault), help=fault.help)


def _misread(view: View, piece: Piece) -> bool:
    """True where a sample is there and is told of by itself: that one is lacking follows."""
    return "piece" in view.recipe.unread or any(_labels(view, piece))


def _sampled(view: View, size: Span) -> Span:
    """Where a line of 'piece:' says how many units were measured; `size` is what they came to."""
    text = view.recipe.source.plain[size.line - 1][: size.column - 1]
    found = re.search(r"\d+\s*units?", text, re.I)
    return Span(size.line, found.start() + 1, found.end() + 1) if found else size
