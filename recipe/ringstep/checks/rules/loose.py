"""A ring that is linked with nothing.

Every ring is linked with another one, or held: it lies 'around' or 'inside' others, and its step
says so.

Wrong:

    weave "Chain with a caught ring"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
      C    wire 0.8 mm, inside 2.5 mm, brass
    expect:
      A meets 2
      C meets 0
    start:
      close A
    unit:
      add A through prev A
      close C
    piece:
      chain 30 units

Right:

    weave "Chain with a caught ring"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
      C    wire 0.8 mm, inside 2.5 mm, brass
    expect:
      A meets 2
      C meets 0
    start:
      close A
    unit:
      add A through prev A
      close C around A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import LooseRings
from ringstep.checks.view import View
from ringstep.checks.wording import likely_offer
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import listed

RULE = Rule("loose-ring", "error")


def check(view: View) -> Iterator[Finding]:
    """Rings with no link and no word that holds them."""
    from ringstep.checks.edits import DropStep

    for fault, cause in view.diagnosis.voiced(LooseRings):
        if cause is not None and isinstance(cause.edit, DropStep):
            cause = None  # taking the ring out always helps, and is seldom what was meant
        names = listed(sorted({view.weave.name(r) for r in fault.rings}))
        is_are = "is" if " and " not in names else "are"
        offer = likely_offer(view.recipe, cause, fault.step)
        yield Finding(
            RULE,
            fault.step.span,
            f"{names}, placed in step {fault.step.number}, {is_are} linked with nothing",
            help=(
                "let a step go through it, or say what holds it: 'around …' or 'inside …'",
                *offer.help,
            ),
            mends=offer.mends,
        )
