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

from ringstep.checks.faults import Snagged
from ringstep.checks.view import View
from ringstep.checks.wording import likely_offer
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.words import listed
from ringstep.weave.phrases import list_span, new_phrase, place_phrase, stands_phrase
from ringstep.weave.work import Snag

RULE = Rule("link-twice", "error")


def check(view: View) -> Iterator[Finding]:
    """Links made twice and rings through themselves."""
    told: set[tuple[int, str]] = set()
    for fault, cause in view.diagnosis.voiced(Snagged):
        snag = fault.snag
        if snag.ring is None:
            continue
        span = snag.ref.span if snag.ref else list_span(snag.step)
        offer = likely_offer(view.recipe, cause, snag.step)
        ring, step = snag.ring, snag.step.number
        if snag.ref and {"first", "last"}.intersection(snag.ref.places):
            where = place_phrase(snag.ref.places)  # how far off that is says nothing at an end
        else:
            where = stands_phrase(view.weave.work.layout, snag.place, ring)
        name = f"{view.weave.name(ring)} {where}".strip()
        if snag.kind == "linked twice" and snag.ref is None:
            yield _again(view, snag, name)
        elif snag.kind == "linked twice" and (step, name) not in told:
            told.add((step, name))
            yield Finding(
                RULE,
                span,
                f"step {step} goes through {name} twice",
                help=(
                    f"name {name} once in this step",
                    *offer.help,
                ),
                mends=offer.mends,
            )
        elif snag.kind == "through itself":
            yield Finding(
                RULE,
                span,
                f"step {step} takes {name} through itself",
                help=(
                    f"name the other rings by number, or write 'prev {ring.role}' for those of"
                    " the unit before",
                    *offer.help,
                ),
                mends=offer.mends,
            )


def _again(view: View, snag: Snag, name: str) -> Finding:
    """A ring opened again and taken through one that it is linked with already."""
    ring, step = snag.ring, snag.step
    assert ring is not None
    movers = listed([str(r) for r in step.refs]) or new_phrase(step)
    work = view.weave.work
    act = next(a for a in work.acts if a.step is step and (a.row, a.unit) == snag.place)
    made = [work.links[m][ring] for m in (*act.handled, *act.new) if ring in work.links.get(m, {})]
    first = work.acts[made[0]].step if made else None
    return Finding(
        RULE,
        list_span(step),
        f"step {step.number} links {movers} with {name} a second time",
        labels=(Label(first.span, "linked here already"),) if first else (),
        help=(f"take step {step.number} out, or name another ring",),
    )
