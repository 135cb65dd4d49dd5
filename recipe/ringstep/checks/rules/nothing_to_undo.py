"""An 'untie' or 'let go' of rings that are not tied or held.

Such a step undoes an earlier 'tie' or 'hold'. Where there was none, it names the wrong ring, or the
earlier step is forgotten.

Wrong:

    weave "Chain with its beginning marked"
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
      hold last A
      untie first A
      let go last A

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
from ringstep.weave.lie import UNDOES

RULE = Rule("nothing-to-undo", "warning")


def check(view: View) -> Iterator[Finding]:
    """Steps that undo what was not done."""
    for step in dict.fromkeys(a.step for a in view.lying.unbound) if view.lying else ():
        rings = listed(list(map(str, step.refs)))
        is_are, bound = ("are" if len(step.refs) > 1 else "is"), UNDOES[step.kind]
        done = "tied" if bound == "tie" else "held"
        yield Finding(
            RULE,
            step.span,
            f"step {step.number} says '{step.kind} {rings}', and {rings} {is_are} not {done}",
            help=(f"write '{bound} …' before it, or take step {step.number} out",),
        )
