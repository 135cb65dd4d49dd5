"""Rings gone through at one place or one after the other, which a step leaves open.

The links are the same, and the piece is not: a ring through two others at one place hangs from
both, and one that takes the second further along stands between them. A comma says that the rings
lie together; where nothing else tells that they do, write 'then' before those further along the
new ring, or 'at one place'. It is asked with 'ringstep check --rings' only.

Wrong:

    weave "Persian 6-in-1 chain"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      M meets 6 S
      S meets 6 M
    start:
      close 2 M
      add 2 S through M picks 2
      fold back S
    unit:
      spread prev M
      add 2 M through prev S
      add 2 S through M, prev M
      fold back S
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
      add 2 S through M picks 2
      fold back S
    unit:
      spread prev M
      add 2 M through prev S
      add 2 S through M then prev M
      fold back S
    piece:
      chain 24 units
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Mend, Rule, instead
from ringstep.language.source import Span
from ringstep.language.syntax import Ref, Step
from ringstep.language.words import listed
from ringstep.weave.phrases import list_span, ref_phrase
from ringstep.weave.together import groups_of
from ringstep.weave.work import Ring

RULE = Rule("places-unsaid", "note")


def check(view: View) -> Iterator[Finding]:
    """Lists of rings that are not known to lie together, each list asked about once."""
    from ringstep.checks.edits import listed_refs

    if not view.steps_read or not view.fits or view.diagnosis.faults:
        return
    asked: dict[str, list[tuple[Step, tuple[Ref, ...]]]] = {}
    done: set[int] = set()
    for number, act in enumerate(view.weave.work.acts):
        step = act.step
        if act.stops or step.number in done or len(step.through) < 2 or act.dropped:
            continue
        groups = groups_of(view.weave.work, number)
        if len(groups) > 1:
            done.add(step.number)
            parted = _parted(view, number, groups)
            asked.setdefault(listed_refs(parted), []).append((step, parted))
    for told in asked.values():
        yield _asked(told)


def _parted(view: View, number: int, groups: tuple[frozenset[Ring], ...]) -> tuple[Ref, ...]:
    """The list with `then` wherever it goes on to another group; what lies loose stays with what
    stands before it."""
    work, found = view.weave.work, list[Ref]()
    before: frozenset[Ring] | None = None
    for ref in work.acts[number].step.through:
        named = work.acts[number].named_by(ref, work.layout)
        group = next((g for g in groups if not g.isdisjoint(named)), None)
        found.append(replace(ref, then=None not in (group, before) and group != before))
        before = group or before
    return tuple(found)


def _asked(told: list[tuple[Step, tuple[Ref, ...]]]) -> Finding:
    from ringstep.checks.edits import listed_refs

    (step, parted), *others = told
    rings = listed([ref_phrase(ref) for ref in parted])
    then = tuple(instead(list_span(s), listed_refs(refs)) for s, refs in told)
    ends = [Span(s.span.line, list_span(s).end, list_span(s).end) for s, _ in told]
    at_one = tuple(instead(end, " at one place") for end in ends)
    through = listed_refs(step.through)
    return Finding(
        RULE,
        list_span(step),
        f"step {step.number} goes through {rings}: at one place, or one after the other?",
        labels=tuple(Label(list_span(s), "and here") for s, _ in others),
        help=(
            f"write 'through {listed_refs(parted)}' if they lie one after the other along the new"
            " ring",
            f"or 'through {through} at one place' if the new ring hangs from them together",
        ),
        mends=(
            Mend(f"write 'through {listed_refs(parted)}'", then),
            Mend(f"write 'through {through} at one place'", at_one),
        ),
    )
