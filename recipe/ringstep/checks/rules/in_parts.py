"""A piece that falls apart into two or more.

Everything in a piece hangs together: by links, or because a ring is held around or inside others.
A repeat in which every unit only reaches the one before the last makes two chains side by side.

Wrong:

    weave "Two chains by mistake"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
      B meets 2
    start:
      close A
      close B
    unit:
      add A through prev A
      add B through prev B
    piece:
      chain 30 units

Right:

    weave "Ladder"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2 A, 1 B
      B meets 2 B, 1 A
    start:
      close A
      add B through A
    unit:
      add A through prev A
      add B through prev B, A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import FallsApart
from ringstep.checks.view import View
from ringstep.checks.wording import likely_offer
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import listed
from ringstep.weave.joined import Joined
from ringstep.weave.phrases import number_word

RULE = Rule("separate-pieces", "error")


def check(view: View) -> Iterator[Finding]:
    """Pieces that do not hang together, finite or endless."""
    for fault, cause in view.diagnosis.voiced(FallsApart):
        offer = likely_offer(view.recipe, cause, fault.step)
        if isinstance(layout := view.weave.layout, Joined):
            if layout.joining:
                yield _not_joined(view, layout, fault)
            continue
        # A window that is smaller than the piece has fewer parts to fall into.
        whole = view.weave.layout == view.weave.work.layout
        count = f" into {number_word(fault.parts)}" if whole else ""
        yield Finding(
            RULE,
            fault.step.span,
            f"the piece falls apart{count}: nothing joins {view.weave.name(fault.ring)}, placed in"
            f" step {fault.step.number}, to the rest",
            help=("name a ring of the other part in the list of one step", *offer.help),
            mends=offer.mends,
        )


def _not_joined(view: View, layout: Joined, fault: FallsApart) -> Finding:
    """Pieces made first that no step joins to the others."""
    rest = max(view.weave.parts_apart, key=len)
    held = {copy.called for r in rest if (copy := layout.copy_at(r.row, r.unit))}
    loose = [copy.called for copy in layout.copies if copy.called not in held]
    names = listed(loose) or f"{view.weave.name(fault.ring)} of step {fault.step.number}"
    block = layout.block_of_joining
    return Finding(
        RULE,
        block.span if block and loose else fault.step.span,
        f"the piece falls apart into {number_word(fault.parts)}: nothing joins {names} to the rest",
        help=(
            f"add a step under 'join:' that goes through a ring of {listed(loose, 'or')}"
            " and one of another piece"
            if loose
            else "name a ring of the other part in the list of one step",
        ),
    )
