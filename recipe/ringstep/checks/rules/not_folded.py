"""A ring that is promised to lie folded back, and does not.

'S folded' under 'expect:' says that every finished S lies folded back. It finds the 'fold back'
that was forgotten in start and unit alike, which no comparison of the two can tell.

Wrong:

    weave "Persian chain"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      M meets 6 S
      S meets 6 M
      S folded
      H meets 2 M
    start:
      close 2 H
      add 2 M through H picks 2
      add 2 S through M picks 2
    unit:
      spread prev M
      add 2 M through prev S
      add 2 S through M, prev M
    piece:
      chain 24 units

Right:

    weave "Persian chain"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      M meets 6 S
      S meets 6 M
      S folded
      H meets 2 M
    start:
      close 2 H
      add 2 M through H picks 2
      add 2 S through M picks 2
      fold back S
    unit:
      spread prev M
      add 2 M through prev S
      add 2 S through M, prev M
      fold back S
    piece:
      chain 24 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.words import listed

RULE = Rule("not-folded", "error")


def check(view: View) -> Iterator[Finding]:
    """Promises 'S folded' that a finished ring breaks."""
    if view.lying is None:
        return
    weave = view.lying.weave
    for promise in view.recipe.folded:
        name = promise.name
        rings = [
            r
            for r in weave.finished
            if r.role == name.role and name.index in (None, r.index) and r not in view.lying.ways
        ]
        if rings:
            acts = [weave.work.acts[weave.work.placed_by[r]] for r in rings]
            blocks = list(dict.fromkeys(a.block.called for a in acts))
            where = listed(blocks) if len(blocks) < 3 else f"{blocks[0]} and others"
            yield Finding(
                RULE,
                promise.span,
                f"{name} is promised to lie folded back, and {where}"
                f" {'does' if len(blocks) == 1 else 'do'} not fold it",
                labels=(Label(acts[0].step.span, f"{weave.name(rings[0])} is placed here"),),
                help=(f"write 'fold back {name}' where it folds, or take the promise out",),
            )
