"""A spread that shows no folded ring.

Rings are spread so that what hangs on them and lies folded back shows between them. Where nothing
that hangs on them is folded, a 'fold back' is missing, comes too late, or the spread is made twice.

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
      spread B
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

from ringstep.checks.move_mends import tried_mends
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import listed

RULE = Rule("spread-shows-nothing", "warning")


def check(view: View) -> Iterator[Finding]:
    """Spreads with nothing to show."""
    for slip in view.lying.slips if view.lying else ():
        if slip.kind in ("shows nothing", "spread already"):
            step = slip.act.step
            offer = tried_mends(view, slip)
            yield Finding(
                RULE,
                step.span,
                f"step {step.number} spreads {listed(list(map(str, step.refs)))}, "
                + (
                    "spread already"
                    if slip.kind == "spread already"
                    else "and no ring that hangs there lies folded back"
                ),
                help=offer.help,
                mends=offer.mends,
            )
