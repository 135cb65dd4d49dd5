"""A letter of the picture that the key does not explain.

Every letter of a row stands for a colour of the key. One that does not is mostly a slip of the
finger or the wrong case, and the ring at its place has no colour.

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
      gggggg
      ggrRgg
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

from ringstep.checks.view import View, with_typed
from ringstep.language.findings import Finding, Mend, Rule, instead
from ringstep.language.source import Span
from ringstep.language.words import listed, plural

RULE = Rule("unknown-letter", "error")
#: Letters of a key that are listed in a message.
_MOST = 12


def check(view: View) -> Iterator[Finding]:
    """Letters of the rows against those of the key; a letter that lacks is told once."""
    picture = view.recipe.picture
    if picture is None or not picture.key or "picture" in view.recipe.unread:
        return
    key = {line.letter: line for line in picture.key}
    seen: dict[str, tuple[Span, int, int]] = {}
    for number, row in enumerate(picture.rows, 1):
        for count, letter in row.runs:
            if letter not in key:
                span, first, before = seen.get(letter, (row.span, number, 0))
                seen[letter] = span, first, before + count
    for letter, (span, number, count) in seen.items():
        text = view.recipe.source.plain[span.line - 1]
        at = text.index(letter, span.column - 1) + 1
        other = next((line for k, line in key.items() if k.casefold() == letter.casefold()), None)
        mends = _mends(view, letter, other.letter) if other else ()
        known = [f"'{k}'" for k in key][:_MOST]
        yield Finding(
            RULE,
            Span(span.line, at, at + 1),
            f"the key has no letter '{letter}', which stands at {plural(count, 'place')} of the"
            f" picture, first in row {number}",
            help=(
                f"write '{other.letter}', which is {other.words},"
                if other and mends
                else f"write a letter of the key, which has {listed(known)},",
                f"or add a line such as '{letter} = blue' to the key",
            ),
            mends=mends,
        )


def _mends(view: View, letter: str, other: str) -> tuple[Mend, ...]:
    """Another letter in the place of one, in every row, where that one is then gone."""
    recipe = view.recipe
    edits = []
    for row in recipe.picture.rows if recipe.picture else ():
        text = recipe.source.lines[row.span.line - 1][row.span.column - 1 : row.span.end - 1]
        if letter in text:
            edits.append(instead(row.span, text.replace(letter, other)))
    after = with_typed(view, tuple(edits))
    tried = after.recipe.picture if after else None
    gone = tried and all(letter != each for row in tried.rows for _, each in row.runs)
    return (Mend(f"write '{other}' for '{letter}'", tuple(edits)),) if gone else ()
