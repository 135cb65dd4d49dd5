"""Two promises of one unit that cannot both be kept.

A link is met from both of its ends. Where each unit has 2 M that meet 6 S each, those are 12 links;
the 2 S of a unit then meet 6 M each. If the promises do not come to the same number, one of them is
wrong, whatever the steps do.

Wrong:

    weave "Persian 6-in-1"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      M meets 6 S
      S meets 5 M
      H meets 2 M
    start:
      close 2 H
      add 2 M through H picks 2
      add 2 S through M picks 2
    unit:
      add 2 M through prev S
      add 2 S through M, prev M
    piece:
      chain 24 units

Right:

    weave "Persian 6-in-1"
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
      add 2 M through prev S
      add 2 S through M, prev M
    piece:
      chain 24 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.words import listed, plural
from ringstep.weave.phrases import promise_line
from ringstep.weave.promises import Side

RULE = Rule("promises-contradict", "error")

_EITHER = (
    "a link is met from both ends: mend the promise that is wrong, or how many rings a unit has"
)


def check(view: View) -> Iterator[Finding]:
    """Promises by role between two roles of one repeating unit, counted from both ends."""
    for wrong, other in view.contradictions:
        yield Finding(
            RULE,
            wrong.promises[0].span,
            f"the promises for {wrong.role} and {other.role} cannot both be kept:"
            f" {_links(wrong)}, and {_links(other)}",
            "",
            tuple(Label(p.span, "against this promise") for p in other.promises),
            (_mend(view, wrong, other),),
        )


def _links(side: Side) -> str:
    """'2 M with 6 S each are 12 links a unit'."""
    rings = len(side.each)
    counts = [str(n) for n in side.each[:1] if len(set(side.each)) == 1] or map(str, side.each)
    each = " each" if rings > 1 and len(set(side.each)) == 1 else ""
    return (
        f"{rings} {side.role} with {listed(list(counts))} {side.other}{each}"
        f" {'are' if side.links != 1 else 'is'} {plural(side.links, 'link')} a unit"
    )


def _mend(view: View, wrong: Side, other: Side) -> str:
    """The line to type where the links keep the other promise and one line says all of it."""
    measured = {m[wrong.other] for role, _, m in view.weave.neighbourhoods if role == wrong.role}
    counts = wrong.promises[0].plain
    if not other.right or len(measured) != 1 or len(wrong.promises) != 1 or counts is None:
        return _EITHER
    (count,) = measured
    if count * len(wrong.each) != other.links:
        return _EITHER
    line = promise_line(str(wrong.promises[0].name), {**counts, wrong.other: count}, by_role=True)
    return f"the steps keep the other one; write '{line}'"
