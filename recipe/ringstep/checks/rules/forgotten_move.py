"""A fold or a spread that seems to be forgotten in the start or in the unit.

A step of the unit finds its rings in the first unit as the start left them, and in later units as
the unit left them. Where they lie folded back or spread in one case only, a move is missing.

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
    unit:
      spread prev M
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
      fold back S1, S2
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

from ringstep.checks.move_mends import last_placing, roles_phrase, tried_mends
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule

RULE = Rule("move-forgotten", "warning")


def check(view: View) -> Iterator[Finding]:
    """Moves that start or unit lacks."""
    if view.lying is None:
        return
    for slip in view.lying.slips:
        if slip.kind != "forgotten" or slip.where is None:
            continue
        step, start = slip.act.step, slip.where.kind == "start"
        placing = last_placing(view.lying, slip, slip.rings[0].role)
        roles, where = roles_phrase(slip.rings), str(slip.where)
        where = where if " " in where else f"the {where}"
        folds = slip.move == "fold back"
        # What is spread is named by the mend; here stand the rings that do not show.
        move = f"'fold back {roles}'" if folds else "a spread"
        lies = ("hanging" if folds else "not shown") if start else ("folded" if folds else "shown")
        offer = tried_mends(view, slip)
        yield Finding(
            RULE,
            placing.span,
            f"{move} seems to be forgotten in {where}: step"
            f" {step.number} finds {roles} {lies} in the first unit only",
            labels=(Label(step.span, "this step finds it otherwise in later units"),),
            help=offer.help,
            mends=offer.mends,
        )
