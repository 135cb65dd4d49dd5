"""A picture that has not one letter for each place of the piece.

A row that is a letter short moves every colour behind it to the wrong ring, and nothing in the
links shows that. So the lines of 'picture:' are counted against 'sheet 9 rows of 14 units'; a
picture of a chain or a loop, which has no rows, has no places at all.

Wrong:

    weave "European 4-in-1 sheet"
    rings:
      A  wire 1.2 mm, inside 5.2 mm, aluminium
    expect:
      A meets 4
    first row:
      close A
    row:
      add A through above A, above next A if there
    piece:
      sheet 4 rows of 6 units
      rows back and forth
    picture:
      g = grey
      r = red
      gggggg
      grrg
      ggrrgg
      gggggg

Right:

    weave "European 4-in-1 sheet"
    rings:
      A  wire 1.2 mm, inside 5.2 mm, aluminium
    expect:
      A meets 4
    first row:
      close A
    row:
      add A through above A, above next A if there
    piece:
      sheet 4 rows of 6 units
      rows back and forth
    picture:
      g = grey
      r = red
      gggggg
      grrrrg
      ggrrgg
      gggggg
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import takewhile

from ringstep.checks.view import View, comes_right
from ringstep.language.findings import Finding, Label, Mend, Rule, instead
from ringstep.language.tree import Picture, PictureRow, Piece
from ringstep.language.words import listed, plural

RULE = Rule("picture-size", "error")


def check(view: View) -> Iterator[Finding]:
    """The lines of the picture, and their letters, against rows and units of the piece."""
    picture, piece = view.recipe.picture, view.recipe.piece
    if picture is None or piece is None or {"picture", "shape"} & view.recipe.unread:
        return
    if piece.units == 0 or piece.rows == 0:
        return  # there is no piece, which is told
    if piece.units is None or piece.rows is None:
        yield Finding(
            RULE,
            picture.span,
            f"a {piece.kind} has no rows, so there is nothing to draw a picture on",
            labels=(Label(piece.span, "what is made"),),
            help=("make it a sheet or a tube, 'sheet 9 rows of 14 units', or take 'picture:' out",),
        )
        return
    if not picture.rows or not picture.key:
        lacks = "no rows" if picture.key else "no key" if picture.rows else "neither key nor rows"
        yield Finding(
            RULE,
            picture.span,
            f"the picture has {lacks}",
            help=(
                "write a line for each row, a letter for each place, as in 'ggrrgg',"
                if picture.key
                else "write a line for each colour, as in 'g = grey',",
                "or take 'picture:' out",
                *_hidden(view, picture),
            ),
        )
        return
    layout = view.weave.layout
    if layout.shape and layout.shape.misfits:
        return  # how wide the rows are is not known
    if layout.shape:
        if len(picture.rows) != piece.rows:
            off = _off_row(picture, [layout.width(n) for n in range(1, piece.rows + 1)])
            yield _against_piece(view, picture, piece, piece.units, off)
            if off:
                return
        for number, row in enumerate(picture.rows[: piece.rows], 1):
            wide = layout.width(number)
            others = f"row {number} of the piece has {plural(wide, 'place')}"
            yield from _row(view, number, row, wide, others)
        return
    often = Counter(row.places for row in picture.rows)
    wide = piece.units if piece.units in often else often.most_common(1)[0][0]
    if (wide, len(picture.rows)) != (piece.units, piece.rows):
        yield _against_piece(view, picture, piece, wide)
    others = f"most rows have {wide:,}" if wide != piece.units else ""
    for number, row in enumerate(picture.rows, 1):
        yield from _row(view, number, row, wide, others or f"a row has {plural(wide, 'place')}")


def _off_row(picture: Picture, wide: list[int]) -> tuple[int, ...]:
    """The rows of which one alone was left out, or drawn too many, for the others fit; none where
    no such row makes all fit. wide: the places of each row of the piece."""
    drawn = [row.places for row in picture.rows]
    longer, shorter = (wide, drawn) if len(drawn) < len(wide) else (drawn, wide)
    if len(longer) != len(shorter) + 1:
        return ()
    return tuple(n + 1 for n in range(len(longer)) if longer[:n] + longer[n + 1 :] == shorter)


def _row(view: View, number: int, row: PictureRow, wide: int, others: str) -> Iterator[Finding]:
    """A row of the picture that has not a letter for each of so many places.

    others: how many there should be, in words.
    """
    if by := row.places - wide:
        what = plural(abs(by), "letter") + (" too many" if by > 0 else " short")
        more = f"take out {plural(by, 'letter')}" if by > 0 else f"write {-by:,} more"
        behind = view.recipe.source.lines[row.span.line - 1][row.span.end - 1 :]
        cut = ("what stands behind '#' is a comment; colours are letters",)
        yield Finding(
            RULE,
            row.span,
            f"row {number} of the picture {'has' if by > 0 else 'is'} {what}: it has"
            f" {row.places:,}, and {others}",
            here=what,
            help=(f"{more}, so that every place has one", *(cut if "#" in behind else ())),
        )


def _against_piece(
    view: View, picture: Picture, piece: Piece, wide: int, off: tuple[int, ...] = ()
) -> Finding:
    """The picture is not as large as the piece. off: rows of which one is at fault."""
    high, rows, units = len(picture.rows), piece.rows or 0, piece.units or 0
    size = f"{piece.kind} {plural(high, 'row')} of {plural(wide, 'unit')}".replace(",", "")
    there = [plural(high, "row")] if high != rows else []
    there += [f"{plural(wide, 'letter')} in a row"] if wide != units else []
    here = [plural(rows, "row")] if high != rows else []
    here += [f"{plural(units, 'unit')} in a row"] if wide != units else []
    even = all(row.places == wide for row in picture.rows)
    hidden = _hidden(view, picture)
    mends = _mends(view, piece, size) if even and not hidden else ()
    more = (
        f"{'draw' if rows > high else 'take out'} {plural(abs(rows - high), 'row')}"
        f"{' more' if rows > high else ''}"
        if high != rows
        else f"give every row {plural(units, 'letter')}"
    )
    if off:
        which = listed([f"row {n}" for n in off], "or")
        what = "of the piece is missing from it" if rows > high else "of it is one too many"
        more += f"; most likely {which} {what}, for the others fit"
    return Finding(
        RULE,
        picture.span,
        f"the picture has {' of '.join(there)}, and the {piece.kind} has {' of '.join(here)}",
        labels=(Label(piece.span, f"{plural(rows, 'row')} of {plural(units, 'unit')}"),),
        help=(more, *(f"or {mend.says}" for mend in mends), *hidden),
        mends=mends,
    )


def _mends(view: View, piece: Piece, size: str) -> tuple[Mend, ...]:
    """The piece made as large as the picture, where nothing is wrong with that."""
    mend = Mend(f"write '{size}'", (instead(piece.span, size),))
    return (mend,) if comes_right(view, mend.edits, check) else ()


def _hidden(view: View, picture: Picture) -> tuple[str, ...]:
    """A word on lines that begin with '#', where rows are missing."""
    raw = view.recipe.source.lines[picture.span.line :]
    under = takewhile(lambda line: not line.rstrip().endswith(":"), raw)
    lost = sum(line.lstrip().startswith("#") for line in under)
    told = f"{plural(lost, 'line')} under 'picture:' begin{'s' * (lost == 1)} with '#', which makes"
    return (f"{told} a comment; colours are letters",) if lost else ()
