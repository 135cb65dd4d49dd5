"""A role for which nothing is promised.

A promise under 'expect:', such as 'A meets 2', says how many rings each finished ring of a role
meets. It is what finds a missed ring, so a role without one is checked by nothing; where only some
rings of a role are promised something, as in 'tail 3 meets 2', the others are told. The tool says
what it measured and the line to add; look whether it is what you mean before you add it.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    start:
      close A
    unit:
      add A through prev A
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

from collections import Counter
from collections.abc import Iterator
from operator import itemgetter

from ringstep.checks.faults import OffPromise
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.syntax import NewItem, joined
from ringstep.language.words import listed
from ringstep.weave.phrases import meets_phrase, promise_line
from ringstep.weave.promises import held_alike

RULE = Rule("nothing-promised", "warning")

#: What a ring of a faulty piece meets is no promise to make.
_LATER = "mend the errors first; then this says what the rings meet"


def check(view: View) -> Iterator[Finding]:
    """Rings that no promise speaks of, role by role."""
    if not view.steps_read or view.diagnosis.snagged:
        return
    if not view.fits and view.weave.snags:
        return  # what is measured of a piece that cannot be worked is no promise to make
    if view.recipe.of:
        return  # what is joined is judged as joined
    if "expect" in view.recipe.unread:
        return  # the promise may stand in a line that could not be read
    weave = view.weave
    parts = view.recipe.part_roles
    faults = any(f.weight for f in view.diagnosis.faults)
    faulty = {f.count.role for f in view.diagnosis.faults if isinstance(f, OffPromise)}
    measured: dict[str, dict[int, list[Counter[str]]]] = {}
    for role, index, met in weave.neighbourhoods:
        guarded = weave.promise(role, index) or (not met and weave.lies(role, index))
        if role in parts or guarded:
            continue
        have = measured.setdefault(role, {}).setdefault(index, [])
        if met not in have:
            have.append(met)
    for role, rings in measured.items():
        if role in {p.name.role for p in view.recipe.coming_out}:
            continue
        some = any(m.name.role == role for m in view.recipe.promises)
        if some and role in faulty:
            continue  # what is wrong with its like is told first
        item = _first_of(view, role, set(rings) if some else None)
        who = listed([joined(role, index) for index in rings]) if some else role
        them = "them" if some and len(rings) > 1 else "it"
        yield Finding(
            RULE,
            item.span,
            f"nothing is promised for {who}, so no check guards {them}",
            help=_help(view, role, rings, some) if not faults else (_LATER,),
        )


def _first_of(view: View, role: str, indexes: set[int] | None) -> NewItem:
    """Where a role, or one of its rings, is placed first: in a repeating block, if one does."""
    items = [
        (b.kind in ("start", "finish"), item)
        for b in view.recipe.every_block
        for s in b.steps
        for item in s.new
        if item.name.role == role and (indexes is None or indexes.intersection(item.indexes))
    ]
    return min(items, key=itemgetter(0))[1]


def _help(
    view: View, role: str, rings: dict[int, list[Counter[str]]], some: bool
) -> tuple[str, ...]:
    """What was measured of the rings of a role, and the lines that would promise it."""
    found = [met for mets in rings.values() for met in mets]
    add = "if that is what you mean, add to 'expect:': "
    if "expect" not in view.recipe.headings:
        add = "if that is what you mean, add a section 'expect:' with the line: "
    if not any(found) and not some and (lines := held_alike(view.weave, role)):
        return "measured: each is held and linked with nothing", add + f"{role} {lines[0]}"
    if all(met == found[0] for met in found) and not some:
        return f"measured: each meets {meets_phrase(found[0])}", add + _line(role, found[0])
    if all(len(mets) == 1 for mets in rings.values()):
        each = {joined(role, index): met for index, (met,) in rings.items()}
        measured = [f"{name} meets {meets_phrase(met)}" for name, met in each.items()]
        lines = [f"  {_line(name, met)}" for name, met in each.items()]
        return f"measured: {', '.join(measured)}", add.rstrip(), *lines
    return (
        f"measured: they meet {listed(list(dict.fromkeys(map(meets_phrase, found))), 'or')}",
        "promise them apart: give the rings that differ names of their own",
    )


def _line(name: str, met: Counter[str]) -> str:
    return promise_line(name, met, by_role=len(met) > 1)
