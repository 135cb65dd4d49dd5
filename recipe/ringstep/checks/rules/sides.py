"""Rings folded to another side than they were laid to.

Left and right are as the worker sees them, the start end down. A ring laid on the left folds back
on the left, and rings laid to one side do not fold one to each; nor does a single ring.

Wrong:

    weave "Persian 6-in-1 chain"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      M meets 6 S
      S meets 6 M
    start:
      close 2 M
      add 2 S one to each side through M picks 2
      fold back S one to each side
    unit:
      spread prev M
      add 2 M through prev S
      add 2 S on the left through M then prev M
      fold back S one to each side
    piece:
      chain 24 units

Right:

    weave "Persian 6-in-1 chain"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      M meets 6 S
      S meets 6 M
    start:
      close 2 M
      add 2 S one to each side through M picks 2
      fold back S one to each side
    unit:
      spread prev M
      add 2 M through prev S
      add 2 S one to each side through M then prev M
      fold back S one to each side
    piece:
      chain 24 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.move_mends import roles_phrase
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.weave.lie import Slip

RULE = Rule("sides-differ", "warning")


def check(view: View) -> Iterator[Finding]:
    """Folds that do not go with the sides the rings were laid to."""
    for slip in view.lying.slips if view.lying else ():
        if slip.kind == "other side":
            yield _other_side(view, slip)
    told: set[int] = set()
    for act in view.weave.work.acts if view.lying else ():
        said = act.step.toward
        one = len(act.handled) == 1 and act.step.kind == "fold back"
        if said and said.value == "each side" and one and act.step.number not in told:
            told.add(act.step.number)
            yield Finding(
                RULE,
                said.span,
                f"step {act.step.number} folds one ring, and says 'one to each side'",
                help=("write 'on the left' or 'on the right', or fold two rings",),
            )


def _other_side(view: View, slip: Slip) -> Finding:
    """A fold to one side of rings that lie on the other."""
    work, step = view.lying.weave.work, slip.act.step  # type: ignore[union-attr]
    laid = work.acts[work.placed_by[slip.rings[0]]].step
    said = step.toward
    assert said is not None
    assert laid.toward is not None
    even = sum(len(item.indexes) for item in laid.new) % 2 == 0
    other = f", or '{_words(said.value)}' in step {laid.number}"
    other = other if even or said.value != "each side" else ""  # one ring lies to one side
    return Finding(
        RULE,
        said.span,
        f"step {step.number} folds {roles_phrase(slip.rings)} back {_words(said.value)}, and step"
        f" {laid.number} laid it {_words(laid.toward.value)}",
        labels=(Label(laid.toward.span, "laid here"),),
        help=(f"write '{_words(laid.toward.value)}' in step {step.number}{other}",),
    )


def _words(side: str) -> str:
    return "one to each side" if side == "each side" else f"on the {side}"
