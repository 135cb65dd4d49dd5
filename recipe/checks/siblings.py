"""A written-out unit that is not like its siblings.

A class hand-out often writes unit after unit. Every one of them then has the same rings, links,
lays and moves; one that differs is a slip of the pen. Where the piece is meant to change every
second unit, 'repeats every 2 units' says so.

Wrong:

    weave "Doubled chain, written out"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit 1:
      add 2 A through prev A
    unit 2:
      add 2 A through prev A
    unit 3:
      add A1 through prev A
      add A2 through prev A1

Right:

    weave "Doubled chain, written out"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit 1:
      add 2 A through prev A
    unit 2:
      add 2 A through prev A
    unit 3:
      add 2 A through prev A
"""

from __future__ import annotations

from collections.abc import Iterator

from recipe.findings import Finding, Label, Rule
from recipe.phrases import list_span, place_phrase
from recipe.siblings import Difference, UnitLink
from recipe.steps import Ring
from recipe.syntax import joined
from recipe.view import View
from recipe.wording import mend_lines
from recipe.words import listed

RULE = Rule("unlike-siblings", "error")


def check(view: View) -> Iterator[Finding]:
    """Written-out units with other links, lays, rings or moves than their siblings."""
    for fault, cause in view.diagnosis.voiced("sibling"):
        if (d := fault.difference) is not None:
            span = d.block.span
            if d.step is not None:
                span = list_span(d.step) if d.kind == "links" else d.step.span
                if d.kind == "lay" and d.step.lay:
                    span = d.step.lay.span
            labels: tuple[Label, ...] = ()
            if d.twin is not None:
                labels = (Label(d.twin.span, f"the same step in {d.sibling}"),)
            extra = (
                mend_lines(cause)
                if cause is not None and (d.step and cause.edit.step.number == d.step.number)
                else ()
            )
            yield Finding(
                RULE, span, _message(view, d), labels=labels, help=(*_help(view, d), *extra)
            )


def _other(view: View, link: UnitLink, unit: int) -> str:
    _, (role, index), back = link
    row = 1
    name = view.model.name(Ring(role, index, row, max(0, unit - back)))
    return f"{name} {place_phrase(('prev',) * back)}".strip()


def _own(view: View, d: Difference, link: UnitLink) -> str:
    (role, index), _, _ = link
    unit = d.block.label if isinstance(d.block.label, int) else 1
    return view.model.name(Ring(role, index, 1, unit))


def _links(view: View, d: Difference, links: tuple[UnitLink, ...]) -> str:
    unit = d.block.label if isinstance(d.block.label, int) else 1
    by_ring: dict[str, list[str]] = {}
    for link in links:
        by_ring.setdefault(_own(view, d, link), []).append(_other(view, link, unit))
    return "; ".join(f"{own} through {listed(others)}" for own, others in list(by_ring.items())[:4])


def _message(view: View, d: Difference) -> str:
    where = f"step {d.step.number} of {d.block}" if d.step else f"{d.block}"
    if d.kind == "links":
        if d.missing and not d.extra:
            return f"{where} lacks a link that {d.sibling} has: {_links(view, d, d.missing)}"
        if d.extra and not d.missing:
            return f"{where} makes a link that {d.sibling} does not: {_links(view, d, d.extra)}"
        return (
            f"{where} goes another way than in {d.sibling}: {_links(view, d, d.extra)} instead"
            f" of {_links(view, d, d.missing)}"
        )
    if d.kind == "rings":
        return f"{d.block} does not place the same rings as {d.sibling}"
    if d.kind == "lay":
        return f"{where} is laid otherwise than in {d.sibling}"
    return f"{d.block} does not have the same moves (folds, spreads, turns) as {d.sibling}"


def _help(view: View, d: Difference) -> tuple[str, ...]:
    lines = []
    if d.kind == "rings":
        unit = d.block.label if isinstance(d.block.label, int) else 1
        twin = d.sibling.label if isinstance(d.sibling.label, int) else unit
        mine = set(view.model.work.links)
        own = {(r.role, r.index) for r in mine if r.unit == unit}
        theirs = {(r.role, r.index) for r in mine if r.unit == twin}
        if theirs - own:
            names = listed([joined(*x) for x in sorted(theirs - own)])
            lines.append(f"a step that places {names} is missing in {d.block}")
        if own - theirs:
            names = listed([joined(*x) for x in sorted(own - theirs)])
            lines.append(f"{names} stands only in {d.block}")
    if d.kind == "lay":
        lines.append(
            "where the lay is meant to change from unit to unit, say so in 'expect:':"
            " 'repeats every 2 units'"
        )
    if d.even:
        lines.append(
            f"either unit could be the wrong one: make {d.block} like {d.sibling}, or the"
            " other way round"
        )
    else:
        lines.append(f"write it as in {d.sibling}")
    return tuple(lines)
