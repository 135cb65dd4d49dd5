"""A ring that is opened and goes through nothing.

'add' opens a ring, takes it through others and closes it again. A ring that only lies ready is
closed: 'close A'. One that lies around or inside others says so.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A
    piece:
      chain 30 units

Right:

    weave "Simple chain"
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
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import Snagged
from ringstep.checks.view import View
from ringstep.checks.wording import likely_offer
from ringstep.language.findings import Finding, Rule
from ringstep.weave.phrases import new_phrase, new_words

RULE = Rule("through-nothing", "error")


def check(view: View) -> Iterator[Finding]:
    """Steps that add a ring without a list."""
    for fault, cause in view.diagnosis.voiced(Snagged):
        snag = fault.snag
        if snag.kind != "through nothing":
            continue
        help = [
            "name the rings it goes through: 'through …'; a ring that only lies ready is"
            f" 'close {', '.join(new_words(snag.step))}'"
        ]
        offer = likely_offer(view.recipe, cause, snag.step)
        yield Finding(
            RULE,
            snag.step.span,
            f"step {snag.step.number} adds {new_phrase(snag.step)} through nothing",
            help=(*help, *offer.help),
            mends=offer.mends,
        )
