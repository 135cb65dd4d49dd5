"""A 'turn over' that changes the lays, and no promise after how many units the piece repeats.

'front' is the side that faces the worker, so one turn more or less makes another piece of the same
links. 'repeats every 2 units' under 'expect:' guards the turns as the counts guard the links.

Wrong:

    weave "Spiral, turned over every unit"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
    start:
      close A
    unit:
      add A through prev A, prev prev A if there lay front
      turn over
    piece:
      chain 60 units

Right:

    weave "Spiral, turned over every unit"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
      repeats every 2 units
    start:
      close A
    unit:
      add A through prev A, prev prev A if there lay front
      turn over
    piece:
      chain 60 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.weave.repeats import period_of

RULE = Rule("turn-unpromised", "note")


def check(view: View) -> Iterator[Finding]:
    """Turns among lays in a recipe that promises no period."""
    recipe = view.recipe
    if recipe.periods or "expect" in recipe.unread or view.lying is None:
        return
    blocks = [b for b in recipe.blocks if b.kind in ("unit", "row", "again", "row end")]
    turns = [s for b in blocks for s in b.steps if s.kind == "turn over"]
    if not turns or not any(a.toward or (a.owes_lay and a.side) for a in view.weave.work.acts):
        return
    found = period_of(view.weave)
    every = f"{found.piece} unit{'s' if found.piece > 1 else ''}" if found else "… units"
    yield Finding(
        RULE,
        turns[0].span,
        f"step {turns[0].number} turns the work over, and nothing is promised that a turn too many"
        " would break",
        help=(f"if that is what you mean, add to 'expect:': repeats every {every}",),
    )
