"""As many rings at each place of a row as the whole row has places.

The steps of a row are worked at each of its places. A step that places six rings in a row of six
places lays thirty-six; mostly one a place was meant. Where promises say so too, the step is told as
the cause of what is wrong; else it is only asked, and not where every step of the rows does it.

Wrong:

    weave "Sheet with a fringe"
    rings:
      all  wire 1 mm, inside 12 mm, copper
    expect:
      A meets 4 A or 2 A, 3 T
      T meets 1
    first row:
      close A
      add 3 T through A picks 1
    row:
      add A through above A, above next A if there
    piece:
      sheet 5 rows of 3 units
      rows back and forth

Right:

    weave "Sheet with a fringe"
    rings:
      all  wire 1 mm, inside 12 mm, copper
    expect:
      A meets 4 A or 2 A, 2 T
      T meets 1
    first row:
      close A
      add 2 T through A picks 1
    row:
      add A through above A, above next A if there
    piece:
      sheet 5 rows of 3 units
      rows back and forth
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.forgotten import ROWS, whole_rows
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule

RULE = Rule("whole-row", "note")


def check(view: View) -> Iterator[Finding]:
    """Steps of a row whose number is that of the places of the row."""
    if view.diagnosis.whole_rows:
        return
    wide, whole = view.weave.layout.units, [*whole_rows(view.weave)]
    placing = [s for b in view.recipe.blocks if b.kind in ROWS for s in b.steps if s.new]
    for step in whole if whole != placing else ():
        from ringstep.checks.wording import ONE_A_PLACE  # wanted only where there is such a step

        item = step.new[0]
        yield Finding(
            RULE,
            item.span,
            f"step {step.number} places {wide} {item.name} at each of the {wide} places of the"
            f" row, {wide * wide:,} in all",
            help=(f"if one a place is meant, write '{item.name}'; {ONE_A_PLACE}",),
        )
