"""A unit that does not place as many rings as promised.

'4 rings a unit' guards against a step forgotten whole: every neighbour count can be right and a
ring still be missing that nothing else needs.

Wrong:

    weave "Chain with a caught ring"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
      2 rings a unit
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 30 units

Right:

    weave "Chain with a caught ring"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
      1 ring a unit
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import UnitOff
from ringstep.checks.view import View
from ringstep.checks.wording import likely_offer
from ringstep.language.findings import Finding, Label, Mend, Rule, instead
from ringstep.weave.phrases import rings_word

RULE = Rule("unit-count", "error")


def check(view: View) -> Iterator[Finding]:
    """Rings a unit against the promise."""
    for fault, cause in view.diagnosis.voiced(UnitOff):
        name, promise = fault.name, fault.promise
        what = (
            "add the step that is missing"
            if fault.found < promise.count
            else ("take out the step too many")
        )
        offer = likely_offer(view.recipe, cause, None)
        mends = offer.mends
        if not mends and all(isinstance(f, UnitOff) for f in view.diagnosis.faults):
            line = f"{rings_word(fault.found)} a unit"
            mends = (Mend(f"write '{line}'", (instead(promise.span, line),)),)
        block = next((b for b in view.recipe.blocks if str(b) == name), None)
        yield Finding(
            RULE,
            block.span if block else promise.span,
            f"{block.called if block else name} places"
            f" {rings_word(fault.found)}, {promise.count} promised",
            labels=(Label(promise.span, "promised here"),) if block else (),
            help=(f"{what}, or write '{rings_word(fault.found)} a unit'", *offer.help),
            mends=mends,
        )
