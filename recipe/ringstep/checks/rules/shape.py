"""A line of 'shape:' that the piece cannot have.

The lines are carried out row by row against 'sheet 6 rows of 6 units': a row must be there and be
named once, at least one place of it must be left, a wider row must find its places within the
units, and places that are written out must come to as many as the sheet has units. In a tube they
say how many places each round has, and a round has no edges or empty places. Chains and loops have
no shape.

Wrong:

    weave "Lantern earring"
    rings:
      all  wire 1 mm, inside 4 mm, copper
    expect:
      A meets 4
    first row:
      close A
    row:
      add A through above A, above next A
    piece:
      sheet 6 rows of 5 units
    shape:
      rows 2 to 6  each 1 less

Right:

    weave "Lantern earring"
    rings:
      all  wire 1 mm, inside 4 mm, copper
    expect:
      A meets 4
    first row:
      close A
    row:
      add A through above A, above next A
    piece:
      sheet 6 rows of 6 units
    shape:
      rows 2 to 6  each 1 less
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from ringstep.checks.view import View, comes_right
from ringstep.language.findings import Finding, Label, Mend, Rule, instead
from ringstep.language.read_shape import line_words, row_words, runs_words
from ringstep.language.source import Span
from ringstep.language.tree import Piece
from ringstep.language.words import plural
from ringstep.weave.shape import Misfit

RULE = Rule("sheet-shape", "error")
#: So many ways to set a row in from the side are tried.
MOST_TRIED = 12


def check(view: View) -> Iterator[Finding]:
    """The lines of the shape against rows and units of the sheet."""
    recipe, piece = view.recipe, view.recipe.piece
    if "shape" not in recipe.headings or "shape" in recipe.unread or piece is None:
        return
    if not recipe.shape:
        help = "write which rows are narrower, as in 'rows 2 to 6  each 1 less', or take it out"
        at = recipe.source.heading_span("shape")
        yield Finding(RULE, at, "the section 'shape:' is empty", help=(help,))
        return
    if piece.kind not in ("sheet", "tube"):
        yield Finding(
            RULE,
            recipe.shape[0].span,
            f"a {piece.kind} has no rows, so 'shape:' has nothing to say of it",
            labels=(Label(piece.span, "what is made"),),
            help=("make it a sheet, 'sheet 6 rows of 6 units', or take 'shape:' out",),
        )
        return
    if piece.kind == "tube" and piece.back_and_forth and view.weave.layout.rounds:
        yield Finding(
            RULE,
            recipe.shape[0].span,
            "rounds that grow or shrink are worked one way round, and this tube back and forth",
            labels=(Label(piece.span, "what is made"),),
            help=("take 'rows back and forth' out",),
        )
        return
    if shape := view.weave.layout.shape:
        for misfit in shape.misfits:
            yield _finding(view, piece, misfit)


def _finding(view: View, piece: Piece, misfit: Misfit) -> Finding:
    line, row = misfit.line, misfit.row
    first, last = line.rows
    rows, units, kind = piece.rows or 0, piece.units or 0, piece.kind
    taken, help, else_help = abs(line.change or 0), "", ""
    tries: list[Mend] = []
    labels = (Label(piece.span, f"{plural(rows, 'row')} of {plural(units, 'unit')}"),)
    match misfit.kind:
        case "no such row":
            message = f"there is no row {last}: the {kind} has {plural(rows, 'row')}"
            if first <= rows:
                tries.append(_typed(line.span, line_words(line, (first, rows))))
            tries.append(_typed(piece.span, f"{kind} {last} rows of {plural(units, 'unit')}"))
            help = f"name rows that the {kind} has"
        case "named twice":
            assert misfit.other is not None
            message = f"row {row} is named by line {misfit.other.span.line} already"
            labels = (Label(misfit.other.span, f"{row_words(*misfit.other.rows)}, here"),)
            low, high = misfit.other.rows
            if first < low:
                tries.append(_typed(line.span, line_words(line, (first, low - 1))))
            if last > high:
                tries.append(_typed(line.span, line_words(line, (high + 1, last))))
            help = "name each row in one line"
        case "nothing left":
            before = f"the {kind} has {units}" if row == 1 else f"row {row - 1} has {misfit.width}"
            message = f"no place is left in row {row}: {before}, and it gets {taken} less"
            if first == 1 < last:
                tries.append(_typed(line.span, line_words(line, (2, last))))
            if row > first:
                tries.append(_typed(line.span, line_words(line, (first, row - 1))))
            wide = units + (last - row + 1) * taken - misfit.width + 1
            if kind == "tube" and first == last:
                tries.append(_typed(line.span, f"row {row}  1 place"))
            tries.append(_typed(piece.span, f"{kind} {plural(rows, 'row')} of {wide} units"))
            most = (misfit.width + (row - first) * taken - 1) // (last - first + 1)
            help = f"take fewer places off: {most} at most" if most else ""
            else_help = f"make the {kind} wider" + (", or end a row earlier" if row > first else "")
        case "too wide":
            message = (
                f"row {row} has no room for {taken} more: it would begin outside the"
                f" {plural(units, 'unit')} of the sheet"
            )
            tries += _set_in(view, piece, misfit)
            if row > first:
                tries.append(_typed(line.span, line_words(line, (first, row - 1))))
            help = (
                "a wider row begins before the first place of the row above; leave places empty"
                " there, as in 'row 1  2 empty, 1 worked, 3 empty'"
            )
        case "places":
            said = plural(line.places, "place")
            message = f"the line comes to {said}, and a row of the sheet has {units}"
            if (lack := units - line.places) > 0:
                *kept, (count, worked) = line.runs
                more = (*line.runs, (lack, False)) if worked else (*kept, (count + lack, False))
                tries.append(_typed(line.span, line_words(line, line.rows, more)))
            if line.places > 1:  # one place wide it is no sheet
                size = f"sheet {plural(rows, 'row')} of {line.places} units"
                tries.append(_typed(piece.span, size))
            much = f"write {plural(abs(lack), 'place')} {'more' if lack > 0 else 'less'}"
            help = f"{much}, so that worked and empty together come to {units}"
        case "not round":
            message = "a round of a tube goes round, so it has no edge and no place left empty"
            if places := sum(number for number, on in line.runs if on):
                tries.append(_typed(line.span, line_words(replace(line, count=places), line.rows)))
            else_help = f"write how many places it has, as in 'row {first}  12 places'"
        case "not flat":
            assert line.count is not None
            message = "a number of places is said of the rounds of a tube, and this is a sheet"
            if line.count != misfit.width:
                change = replace(line, count=None, change=line.count - misfit.width)
                tries.append(_typed(line.span, line_words(change, (first, first))))
            size = f"tube {plural(rows, 'row')} of {plural(units, 'unit')}"
            tries.append(_typed(piece.span, size))
            help = "write how many less or more a row has, as in 'rows 2 to 6  each 1 less'"
        case "all empty":
            message = f"no place of {row_words(first, last)} is worked"
            help = "let one place at least be worked; a sheet that ends there has fewer rows"
    mends = tuple(_sound(view, tries))
    told = [help] if help else []
    told += [f"{'or ' if at or help else ''}{mend.says}" for at, mend in enumerate(mends)]
    # Where no mend leaves the rest right, what is to be done is said in general.
    return Finding(
        RULE, line.span, message, labels=labels, help=tuple(told or [else_help]), mends=mends
    )


def _typed(span: Span, text: str) -> Mend:
    """One line written otherwise."""
    return Mend(f"write '{text}'", (instead(span, text),))


def _set_in(view: View, piece: Piece, misfit: Misfit) -> Iterator[Mend]:
    """The places that the wider rows grow from set in from the sides, every way there is: the line
    that writes them out otherwise, or one for the first row, in a sheet as wide as they come to."""
    line, units = misfit.line, piece.units or 0
    written = [x for x in view.recipe.shape if x.runs and x.rows[1] < misfit.row]
    if written and (above := max(written, key=lambda x: x.rows)).places == units:
        runs = list(above.runs)
        while not runs[0][1]:
            del runs[0]
        while not runs[-1][1]:
            del runs[-1]
        for told in _places_in(runs, units):
            yield _typed(above.span, line_words(above, above.rows, told))
    elif line is view.recipe.shape[0] and line.rows[0] > 1:
        wide = units + (line.change or 0) * (line.rows[1] - line.rows[0] + 1)
        size = f"sheet {plural(piece.rows or 0, 'row')} of {wide} units"
        indent = " " * (line.span.column - 1)
        for told in _places_in([(units, True)], wide):
            first = f"row 1  {runs_words(told)}"
            at = Span(line.span.line, 1, 1)
            yield Mend(
                f"write '{size}', and '{first}' above this line",
                (instead(piece.span, size), instead(at, f"{indent}{first}\n")),
            )


def _places_in(runs: list[tuple[int, bool]], wide: int) -> Iterator[tuple[tuple[int, bool], ...]]:
    """Some places in a row that is so wide, with the empty ones left and right of them."""
    free = wide - sum(count for count, _ in runs)
    for ahead in range(min(free, MOST_TRIED) + 1):
        each = [(ahead, False), *runs, (free - ahead, False)]
        yield tuple(run for run in each if run[0])


def _sound(view: View, tries: Iterable[Mend]) -> Iterator[Mend]:
    """Those changes after which the sheet has its shape and nothing else is wrong with it."""
    seen = set()
    for mend in tries:
        if mend.says not in seen and comes_right(view, mend.edits, check):
            seen.add(mend.says)
            yield mend
