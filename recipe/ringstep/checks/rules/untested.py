"""A promise that no ring of the piece is held to.

A ring is judged once everything that can reach it is placed. Rings of the start and the finish, of
the first row and of row ends never are: ends have fewer neighbours by nature. A promise for them
guards nothing; 'picks 2' in their steps does.

Wrong:

    weave "Simple chain with an end ring"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
      E meets 3
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 30 units
    finish:
      add E through last A picks 1

Right:

    weave "Simple chain with an end ring"
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
    finish:
      add E through last A picks 1
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule

RULE = Rule("promise-untested", "warning")

_INNER = ("unit", "row", "again")


def check(view: View) -> Iterator[Finding]:
    """Promises for roles that are placed, and of which no ring is ever finished."""
    if view.diagnosis.faults or not view.steps_read or not view.fits or not view.recipe.piece:
        return
    finished = {role for role, _, _ in view.weave.neighbourhoods}
    for meets in view.recipe.meets:
        role = meets.name.role
        if role in finished or role not in view.weave.roles:
            continue
        inner = any(
            b.kind in _INNER and b.label != "first row" and role in b.placed
            for b in view.recipe.blocks
        )
        yield Finding(
            RULE,
            meets.span,
            f"no ring is held to this promise: no {meets.name} of this piece is ever finished",
            help=(
                "the piece is too short for one; make it longer"
                if inner
                else "all of them are at the ends or edges; state 'picks' in the steps that link"
                " them, and take the promise out",
            ),
        )
