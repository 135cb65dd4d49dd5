"""A role for which nothing is promised.

A promise under 'expect:', such as 'A meets 2', says how many rings each finished ring of a role
meets. It is what finds a missed ring, so a role without one is checked by nothing. The tool says
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

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.syntax import joined
from ringstep.language.words import listed
from ringstep.weave.phrases import meets_phrase, promise_line
from ringstep.weave.piece import is_for_all

RULE = Rule("nothing-promised", "warning")


def check(view: View) -> Iterator[Finding]:
    """Roles of the units that no promise speaks of."""
    if not view.steps_read or view.diagnosis.snagged:
        return
    if "expect" in view.recipe.unread:
        return  # the promise may stand in a line that could not be read
    weave = view.weave
    parts = view.recipe.part_roles
    measured: dict[str, dict[int, list[Counter[str]]]] = {}
    for role, index, met in weave.neighbourhoods:
        have = measured.setdefault(role, {}).setdefault(index, [])
        if met not in have:
            have.append(met)
    for role, rings in measured.items():
        if role in parts or any(m.name.role == role or is_for_all(m) for m in view.recipe.meets):
            continue
        ends = ("start", "finish")
        items = [
            (b.kind in ends, i)
            for b in view.recipe.blocks
            for s in b.steps
            for i in s.new
            if i.name.role == role
        ]
        item = min(items, key=itemgetter(0))[1]  # of a repeating block, where it has one
        yield Finding(
            RULE,
            item.span,
            f"nothing is promised for {role}, so no check guards it",
            help=_help(role, rings),
        )


def _help(role: str, rings: dict[int, list[Counter[str]]]) -> tuple[str, ...]:
    """What was measured of the rings of a role, and the lines that would promise it."""
    found = [met for mets in rings.values() for met in mets]
    add = "if that is what you mean, add to 'expect:': "
    if all(met == found[0] for met in found):
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
