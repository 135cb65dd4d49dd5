"""A step of start or finish that goes through several rings and does not say how many.

The ends of a piece have fewer neighbours by nature, so no neighbour count guards them. What guards
them is the count said aloud: 'picks 3'. In units it is welcome too, but the promises do the work.

Wrong:

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
    finish:
      add A through last A

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
    finish:
      add A through last A picks 2
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import STATED
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Mend, Rule, instead
from ringstep.language.source import Span
from ringstep.weave.phrases import list_span, number_word

RULE = Rule("count-unstated", "error")


def check(view: View) -> Iterator[Finding]:
    """Steps at the ends of a piece through two or more rings, without 'picks'."""
    if not view.recipe.blocks or not view.steps_read:
        return
    seen: set[int] = set()
    blamed = view.diagnosis.blamed
    shape = view.weave.layout.shape
    unlike = shape is not None and len(set(shape.widths)) > 1
    for act in view.weave.work.acts:
        step = act.step
        if act.every and act.block.kind == "row end" and unlike:
            continue  # it goes through another number in every row
        if act.block.kind not in STATED or step.number in seen:
            continue
        if any(ref.number is not None for ref in step.through):
            continue  # 'through 2 H' is told by 'ring-not-there', with the count to write
        if step.number in blamed:
            continue  # the mend of its list states the count
        if step.picks is None and act.picks > 1:
            seen.add(step.number)
            count = act.picks
            span = list_span(step)
            at = Span(span.line, span.end, span.end)
            where = "the joining" if act.block.kind == "join" else f"the {act.block.kind}"
            where = "the row's end" if act.block.kind == "row end" else where
            yield Finding(
                RULE,
                span,
                f"step {step.number} of {where} goes through {number_word(count)} rings and does"
                " not say so",
                help=(f"if that is right, add 'picks {count}' to the step",),
                mends=(Mend(f"add 'picks {count}'", (instead(at, f" picks {count}"),)),),
            )
