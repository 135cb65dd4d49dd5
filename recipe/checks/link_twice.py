"""A ring that goes through another one twice, or through itself.

Two rings are linked or they are not; a second passage would be another weave. A ring never links
itself. Mostly a name stands twice in a list, once alone and once within its role.

Wrong:

    weave "Doubled chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit:
      add 2 A through prev A, prev A1
    piece:
      chain 30 units

Right:

    weave "Doubled chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit:
      add 2 A through prev A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator

from recipe.findings import Finding, Rule
from recipe.phrases import list_span
from recipe.view import View
from recipe.wording import most_likely

RULE = Rule("link-twice", "error")


def check(view: View) -> Iterator[Finding]:
    """Links made twice and rings through themselves."""
    for fault, cause in view.diagnosis.voiced("snag"):
        snag = fault.snag
        if snag is None or snag.ring is None:
            continue
        span = snag.ref.span if snag.ref else list_span(snag.step)
        name, step = view.model.name(snag.ring), snag.step.number
        if snag.kind == "linked twice":
            yield Finding(
                RULE,
                span,
                f"step {step} goes through {name} twice",
                help=(f"name {name} once in this step", *most_likely(cause)),
            )
        elif snag.kind == "through itself":
            help = [
                f"name the other rings by number, or write 'prev {snag.ring.role}'"
                " for those of the unit before"
            ]
            yield Finding(
                RULE,
                span,
                f"step {step} takes {name} through itself",
                help=(*help, *most_likely(cause)),
            )
