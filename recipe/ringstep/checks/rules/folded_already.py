"""A ring that is folded back and lies folded already.

A ring folds back once. A second 'fold back' means that the line was copied twice, or that it names
the wrong ring.

Wrong:

    weave "Box chain"
    rings:
      all  wire 1.2 mm, inside 4.2 mm, copper
    expect:
      A meets 4 B
      B meets 4 A
    start:
      close 2 A
      add 2 B through A picks 2
      fold back B
      spread A
    unit:
      add 2 A through prev B
      add 2 B through A
      fold back B
      fold back B1, B2
      spread A
    piece:
      chain 30 units

Right:

    weave "Box chain"
    rings:
      all  wire 1.2 mm, inside 4.2 mm, copper
    expect:
      A meets 4 B
      B meets 4 A
    start:
      close 2 A
      add 2 B through A picks 2
      fold back B
      spread A
    unit:
      add 2 A through prev B
      add 2 B through A
      fold back B
      spread A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.move_mends import roles_phrase, tried_mends
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule

RULE = Rule("folded-already", "warning")


def check(view: View) -> Iterator[Finding]:
    """Folds of rings that lie folded."""
    for slip in view.lying.slips if view.lying else ():
        if slip.kind == "folded already":
            step = slip.act.step
            offer = tried_mends(view, slip)
            yield Finding(
                RULE,
                step.span,
                f"step {step.number} folds {roles_phrase(slip.rings)} back, folded back already",
                help=offer.help,
                mends=offer.mends,
            )
