"""A start that is laid back for good, where the units vary.

Variants lay the units each in their own way. A start that says 'lay back' keeps its side in every
one of them and breaks the pattern of some; 'lay varies' lets it follow the variant.

Wrong:

    weave "Persian chain with linked middle pairs"
    rings:
      all  wire 1.2 mm, inside 7.0 mm, aluminium
    expect:
      M meets 1 M, 6 S
      S meets 6 M
      H meets 2 M
    variants:
      calm    lay front
      mirror  lay back
    start:
      close 2 H
      add M1 through H picks 2
      add M2 through H, M1 picks 3 lay back
      add 2 S through M picks 2
      fold back S
    unit:
      spread prev M
      add M1 through prev S
      add M2 through prev S, M1 lay varies
      add 2 S through M, prev M
      fold back S
    piece:
      chain 24 units

Right:

    weave "Persian chain with linked middle pairs"
    rings:
      all  wire 1.2 mm, inside 7.0 mm, aluminium
    expect:
      M meets 1 M, 6 S
      S meets 6 M
      H meets 2 M
    variants:
      calm    lay front
      mirror  lay back
    start:
      close 2 H
      add M1 through H picks 2
      add M2 through H, M1 picks 3 lay varies
      add 2 S through M picks 2
      fold back S
    unit:
      spread prev M
      add M1 through prev S
      add M2 through prev S, M1 lay varies
      add 2 S through M, prev M
      fold back S
    piece:
      chain 24 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule

RULE = Rule("start-lay-fixed", "warning")


def check(view: View) -> Iterator[Finding]:
    """Steps of the start laid back that place what the units lay as the variant says."""
    if view.lying is None or not view.recipe.variants:
        return
    varying = {
        i.name.role
        for b in view.recipe.blocks
        if b.kind in ("unit", "row", "again")
        for s in b.steps
        if s.lay and s.lay.value == "varies"
        for i in s.new
    }
    for block in view.recipe.blocks:
        for step in block.steps if block.kind in ("start", "first row") else ():
            if step.lay is None or step.lay.value != "back":
                continue
            if roles := [i.name.role for i in step.new if i.name.role in varying]:
                yield Finding(
                    RULE,
                    step.lay.span,
                    f"step {step.number} lays {roles[0]} back in every variant, and the units lay"
                    " it as the variant says",
                    help=("write 'lay varies'",),
                )
