"""A closed ring linked with closed rings.

For two rings to be linked, one of them is open while it goes through the other. 'close' lays
loose closed rings ready; 'add' opens a ring, takes it through others and closes it; 'reopen' does
so with a ring already in the work. A part such as a clasp is closed unless its line says 'opens'.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      close A through prev A
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
from ringstep.language.findings import Finding, Rule
from ringstep.language.source import Span
from ringstep.language.words import listed
from ringstep.weave.phrases import new_phrase, places_one

RULE = Rule("closed-with-closed", "error")


def check(view: View) -> Iterator[Finding]:
    """Steps in which nothing is open."""
    for fault, _ in view.diagnosis.voiced(Snagged):
        snag = fault.snag
        if snag.kind != "closed through":
            continue
        step = snag.step
        names = new_phrase(step)
        through = [str(r) for r in step.through]
        others, typed = listed(through), ", ".join(through)
        if step.kind == "close":
            goes = "it goes" if places_one(step) else "they go"
            verb = Span(step.span.line, step.span.column, step.span.column + len("close"))
            yield Finding(
                RULE,
                verb,
                f"step {step.number} closes {names} before {goes} through {others}, which is"
                " closed too",
                help=("write 'add' instead of 'close': a ring is open while it goes in",),
            )
        else:
            yield Finding(
                RULE,
                step.span,
                f"step {step.number} takes {names} through {others}, but {names} does not open",
                help=(
                    f"let a ring pick it up: 'add A through {typed}, {names}'",
                    f"or say in 'parts:' that it opens: '{names}  brass, opens'",
                ),
            )
