"""A length that a chain hardly has.

More than a metre and a half, written in cm or inches, is mostly a length in mm with the wrong unit
behind it (common practice, no source: the longest necklaces measure some 1.2 m). It is only asked:
a long chain may be meant.

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
      chain 190 cm
      sample 10 units = 50 mm

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
      chain 190 mm
      sample 10 units = 50 mm
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.measures import text_mm

RULE = Rule("long-piece", "note")

#: In mm; common practice, no source.
_LONG, _SHORT = 1500, 40


def check(view: View) -> Iterator[Finding]:
    """A length in cm or inches that would be a usual one in mm."""
    length = view.recipe.piece.length if view.recipe.piece else None
    if length is None or length.unit is None or length.unit.casefold() == "mm":
        return
    mm = length.mm
    if mm and mm > _LONG and _SHORT <= length.number <= _LONG and view.recipe.piece:
        number = length.text.split()[0]
        yield Finding(
            RULE,
            length.span,
            f"is the {view.recipe.piece.kind} meant to be {text_mm(round(mm / 1000, 2))} m long?",
            help=(f"if mm are meant, write '{view.recipe.piece.kind} {number} mm'",),
        )
