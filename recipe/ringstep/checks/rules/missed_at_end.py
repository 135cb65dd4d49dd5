"""An end of the piece that leaves out a link which every unit makes.

Start, first and last row, the end of a row and the finish stand in for the unit or row beside them:
where both rings of a link of the repeating pattern stand on the piece, they are linked there too.
A list that is one ring short at an end shows at no other ring, and its count may be right.

Wrong:

    weave "Three strands side by side"
    rings:
      all  wire 1.2 mm, inside 8 mm, copper
    expect:
      A meets 2 A, 1 B, 1 C
      B meets 1 A, 2 B, 1 C
      C meets 1 A, 1 B, 2 C
    start:
      close A
      add B through A
      add C through B
    unit:
      add A through prev A
      add B through prev B, A
      add C through prev C, A, B lay front
    piece:
      chain 24 units

Right:

    weave "Three strands side by side"
    rings:
      all  wire 1.2 mm, inside 8 mm, copper
    expect:
      A meets 2 A, 1 B, 1 C
      B meets 1 A, 2 B, 1 C
      C meets 1 A, 1 B, 2 C
    start:
      close A
      add B through A
      add C through A, B picks 2 lay front
    unit:
      add A through prev A
      add B through prev B, A
      add C through prev C, A, B lay front
    piece:
      chain 24 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import MissedLink, OffPromise
from ringstep.checks.view import View
from ringstep.checks.wording import headline, mend_offer, open_loop, place_of
from ringstep.language.findings import Finding, Rule
from ringstep.weave.phrases import list_span, seen_phrase

RULE = Rule("missed-at-end", "error")


def check(view: View) -> Iterator[Finding]:
    """Links of the repeating pattern that an end owes and does not make."""
    loop, finish = view.weave.layout.kind == "loop", view.weave.layout.block("finish")
    closing = finish.steps if finish else ()
    apart: list[MissedLink] = []
    for fault, cause in view.diagnosis.voiced(MissedLink):
        step, ring, other = fault.step, fault.ring, fault.other
        near = abs(ring.unit - other.unit) <= view.weave.layout.reach
        if loop and not near and not cause and step not in closing:
            apart.append(fault)
            continue
        along = (ring.unit - other.unit) * view.weave.work.layout.way(ring.row)
        where = seen_phrase(ring.row - other.row, along) if near else ""
        missed = f"{view.weave.name(ring)} lacks {view.weave.name(other)} {where}".strip()
        offer = mend_offer(view.recipe, cause, step)
        lead = f"{headline(cause)}: " if cause else f"step {step.number} leaves out a link: "
        yield Finding(
            RULE,
            place_of(cause.edit) if cause else list_span(step),
            f"{lead}{missed}, and every unit links the two",
            help=offer.help or ("make the link, or give the rings names of their own",),
            mends=offer.mends,
        )
    if apart and not _told_by_counts(view, apart[0]):  # once, not ring by ring
        last, first = sorted((apart[0].ring, apart[0].other), key=lambda ring: -ring.unit)
        shows = (
            f"{view.weave.name(last)} at its end lacks {view.weave.name(first)} at its beginning,"
            " and every unit links the two"
        )
        yield open_loop(RULE, view.weave, shows)


def _told_by_counts(view: View, fault: MissedLink) -> bool:
    """True where it is said of one of the two rings that it meets too few."""
    roles = {fault.ring.role, fault.other.role}
    return any(isinstance(f, OffPromise) and f.count.role in roles for f in view.diagnosis.faults)
