"""A letter of the key that the picture does not use.

A colour that stands in the key and nowhere in the rows is laid ready by nobody. Mostly a row was
forgotten, or its letters are those of another colour.

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
      sheet 3 rows of 6 units
      rows back and forth
    picture:
      g = grey
      r = red
      b = blue
      gggggg
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
      sheet 3 rows of 6 units
      rows back and forth
    picture:
      g = grey
      r = red
      gggggg
      ggrrgg
      gggggg
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule

RULE = Rule("unused-letter", "warning")


def check(view: View) -> Iterator[Finding]:
    """Letters of the key that stand in no row."""
    picture = view.recipe.picture
    if picture is None or not picture.rows or "picture" in view.recipe.unread:
        return
    # A row may have the letter in the other case, which 'unknown-letter' tells.
    used = {letter.casefold() for row in picture.rows for count, letter in row.runs if count}
    for line in picture.key:
        if line.letter.casefold() not in used:
            yield Finding(
                RULE,
                line.span,
                f"no row of the picture has the letter '{line.letter}', {line.words}",
                help=("use it in a row, or take the line out",),
            )
