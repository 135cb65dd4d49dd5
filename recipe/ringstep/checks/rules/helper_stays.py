"""A helper that is promised to come out, and is still in the piece at the end.

Some work begins on rings that only give you something to hold. 'H comes out' under 'expect:' says
that every H is taken out again, so that a forgotten 'take out' is told.

Wrong:

    weave "Chain begun on a helper"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
      H comes out
    start:
      close H
      add A through H picks 1
    unit:
      add A through prev A
    piece:
      chain 30 units
    finish:
      tighten last A

Right:

    weave "Chain begun on a helper"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
      H comes out
    start:
      close H
      add A through H picks 1
    unit:
      add A through prev A
    piece:
      chain 30 units
    finish:
      tighten last A
      take out first H
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import plural

RULE = Rule("helper-stays", "error")


def check(view: View) -> Iterator[Finding]:
    """Promises 'H comes out' that are not kept."""
    if not view.steps_read or view.weave.snags:
        return
    weave = view.weave
    for promise in view.recipe.coming_out:
        name = promise.name
        stay = [
            r for r in weave.work.links if r.role == name.role and name.index in (None, r.index)
        ]
        if stay:
            count = sum(weave.work.layout.stands_for(r.row, r.unit) for r in stay)
            yield Finding(
                RULE,
                promise.span,
                f"{name} is promised to come out, and {plural(count, 'ring')} of it"
                f" {'stays' if count == 1 else 'stay'} in the piece",
                help=(f"write 'take out …' for {name} where it comes out",),
            )
