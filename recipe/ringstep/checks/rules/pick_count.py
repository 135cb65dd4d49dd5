"""A stated pick-up count that the list does not come to.

Teachers say aloud how many rings a step picks up. Where a step states it, as in 'picks 2', the list
after 'through' must come to that number: a role alone counts all its rings.

Wrong:

    weave "Doubled chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit:
      add 2 A through prev A picks 3
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
      add 2 A through prev A picks 2
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ringstep.checks.diagnosis import Cause
from ringstep.checks.faults import Miscounted, each_fault
from ringstep.checks.view import View
from ringstep.checks.wording import likely_offer
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.syntax import ROUND_BLOCKS, Step
from ringstep.weave.phrases import (
    list_span,
    number_word,
    piece_phrase,
    place_phrase,
    rings_phrase,
    rings_word,
)
from ringstep.weave.work import Ring

if TYPE_CHECKING:
    from ringstep.checks.edits import ChangePicks

RULE = Rule("pick-count", "error")


def check(view: View) -> Iterator[Finding]:
    """Steps whose list comes to more or fewer rings than they state."""
    from ringstep.checks.edits import ChangePicks

    for fault, cause in view.diagnosis.voiced(Miscounted):
        step = fault.step
        if step.picks is None:
            continue
        stated, found = fault.stated, fault.count
        names = _gone_through(view, step, fault.rings)
        here = Label(
            list_span(step),
            f"{number_word(found)} {'ring' if found == 1 else 'rings'}"
            + (f": {names}" if names else ""),
        )
        what = "name the missing ring after 'through'"
        if found > stated:
            what = "take the ring too many out"
        help: tuple[str, ...] = (f"{what}, or change the count",)
        recount = ChangePicks(step, found)
        only = cause is not None and cause.cleared == {fault.key}
        if cause is not None and only and not _recounts(cause) and _comes_to(view, recount):
            cause = replace(cause, rivals=(*cause.rivals, recount))
        offer = likely_offer(view.recipe, cause, step)
        if cause is not None and isinstance(cause.edit, ChangePicks) and not cause.rivals:
            help = ()
            kept = cause.whole and view.recipe.meets
            why = "every finished ring keeps its promise with this list, so " if kept else ""
            offer = replace(offer, help=(f"{why}write 'picks {found}'",))
        shape = view.weave.layout.shape
        end = view.weave.layout.block("row end")
        if odd := _odd_place(view, step):
            help = (
                f"at {odd}s it goes through another number: write a section '{odd}:' behind the"
                " steps of this row,",
                "with steps and 'picks' of its own",
            )
            offer = replace(offer, help=(), mends=())
        gathers = end and step in end.steps and any(ref.every for ref in step.through)
        if gathers and shape and len(set(shape.widths)) > 1:
            help = (f"the rows are not all as wide, so take 'picks {stated}' out",)
        yield Finding(
            RULE,
            step.picks.span,
            f"step {step.number} says it picks up {rings_word(stated)} but goes through {found:,}",
            f"{number_word(stated)} stated here",
            (here,),
            (*help, *offer.help),
            offer.mends,
        )


def _comes_to(view: View, recount: ChangePicks) -> bool:
    """True where the list comes to the count wherever the step is worked."""
    mended = view.weave.changed(recount.apply(view.recipe))
    faults = (f for f in each_fault(mended) if isinstance(f, Miscounted))
    return all(f.step.number != recount.step.number for f in faults)


def _odd_place(view: View, step: Step) -> str:
    """Which kind of place it is of a round that grows or shrinks where a step goes through another
    number than at its ordinary places; nothing where that is not so."""
    rounds, picks = view.weave.layout.rounds, step.picks
    if rounds is None or picks is None:
        return ""
    acts = [a for a in view.weave.work.acts if a.step is step and not a.dropped and not a.skipped]
    stands = any(a.picks == picks.number for a in acts)
    if not stands or any(a.block.kind in ROUND_BLOCKS for a in acts):
        return ""
    kinds = {rounds.place_kind(a.row, a.unit) for a in acts if a.picks != picks.number}
    return next(iter(kinds)) if len(kinds) == 1 else ""


def _recounts(cause: Cause) -> bool:
    """True where the change of the count is among what is offered."""
    from ringstep.checks.edits import ChangePicks

    return any(isinstance(e, ChangePicks) for e in (cause.edit, *cause.rivals))


def _gone_through(view: View, step: Step, rings: tuple[Ring, ...]) -> str:
    """The rings of a list with their places; they stand in its order, those of an item together."""
    found: list[tuple[str, str]] = []
    rest = list(rings)
    for ref in step.through:
        own = [
            r
            for r in rest
            if r.role == ref.name.role
            and (r.row, r.unit) == (rest[0].row, rest[0].unit)
            and ref.name.index in (None, r.index)
        ]
        rest = rest[len(own) :]
        where = piece_phrase(ref) if ref.of else place_phrase(ref.places)
        found += [(view.weave.name(r), where) for r in own]
    return rings_phrase(found)
