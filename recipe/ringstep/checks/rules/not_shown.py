"""A step that goes through a folded ring which nothing was spread to show.

A ring that lies folded back is hidden behind the rings it hangs on. Before the next ring goes
through it, these are pushed apart with 'spread'. In the finish the hand finds its own way.

Wrong:

    weave "Persian chain"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      M meets 6 S
      S meets 6 M
      H meets 2 M
    start:
      close 2 H
      add 2 M through H picks 2
      add 2 S through M picks 2
      fold back S
    unit:
      add 2 M through prev S
      add 2 S through M, prev M
      fold back S
    piece:
      chain 24 units

Right:

    weave "Persian chain"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      M meets 6 S
      S meets 6 M
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

from ringstep.checks.move_mends import roles_phrase, tried_mends
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule

RULE = Rule("folded-not-shown", "warning")


def check(view: View) -> Iterator[Finding]:
    """Steps through rings that do not show."""
    told = set()
    for slip in view.lying.slips if view.lying else ():
        if slip.kind == "not shown":
            step = slip.act.step
            offer = tried_mends(view, slip)
            if offer.mends in told:
                continue  # one move forgotten is told once, at the first step that misses it
            told |= {offer.mends} if offer.mends else set()
            yield Finding(
                RULE,
                step.span,
                f"step {step.number} goes through {roles_phrase(slip.rings)}, folded back and not"
                " shown by a spread",
                help=offer.help,
                mends=offer.mends,
            )
