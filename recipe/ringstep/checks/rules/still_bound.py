"""A ring that is tied or held and never let go.

A recipe that says 'untie' or 'let go' tells when a tie or a hold ends. Where it ends some of them
and not others, the others may be forgotten. A recipe that uses neither word is not asked.

Wrong:

    weave "Chain with its beginning marked"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
      tie A
    unit:
      add A through prev A
    piece:
      chain 30 units
    finish:
      hold last A
      untie first A

Right:

    weave "Chain with its beginning marked"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
      tie A
    unit:
      add A through prev A
    piece:
      chain 30 units
    finish:
      hold last A
      untie first A
      let go last A
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import listed

RULE = Rule("still-bound", "note")
_ENDS = {"tie": ("tied", "untie"), "hold": ("held", "let go")}


def check(view: View) -> Iterator[Finding]:
    """Ties and holds that nothing ends, in a recipe that ends some."""
    kinds = {s.kind for s in view.recipe.steps()}
    if view.lying is None or not kinds & {"untie", "let go"}:
        return
    for step in dict.fromkeys(a.step for a in view.lying.bound):
        done, undo = _ENDS[step.kind]
        rings = listed(list(map(str, step.refs)))
        yield Finding(
            RULE,
            step.span,
            f"step {step.number} leaves {rings} {done} to the end",
            help=(f"write '{undo} …' where it ends",),
        )
