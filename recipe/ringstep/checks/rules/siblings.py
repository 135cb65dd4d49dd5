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

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ringstep.checks.faults import Unlike
from ringstep.checks.view import View
from ringstep.checks.wording import mend_offer
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.syntax import OPENING, PLACING, Block, Step
from ringstep.language.words import listed, plural
from ringstep.weave.phrases import list_span, place_phrase
from ringstep.weave.work import Ring, ring_name, role_indexes

if TYPE_CHECKING:
    from ringstep.weave.siblings import Difference, UnitLink

RULE = Rule("unlike-siblings", "error")
MAKES_LINKS = OPENING | PLACING


def check(view: View) -> Iterator[Finding]:
    """Written-out units with other links, lays, rings or moves than their siblings."""
    for fault, cause in view.diagnosis.voiced(Unlike):
        d = fault.difference
        span = d.block.span
        if d.step is not None:
            span = list_span(d.step) if d.kind == "links" else d.step.span
            if d.kind == "lay" and d.step.lay:
                span = d.step.lay.span
        labels: tuple[Label, ...] = ()
        if d.kind == "moves":
            yield _moves(view, d)
            continue
        if d.twin is not None:
            same, like = d.step is not None and d.kind != "rings", d.sibling.called
            words = f"the same step in {like}" if same else f"{like} has this step"
            labels = (Label(d.twin.span, words),)
        offer = mend_offer(view.recipe, cause, d.step)
        yield Finding(
            RULE,
            span,
            _message(view, d),
            labels=labels,
            help=(*_help(d), *offer.help),
            mends=offer.mends,
        )


def _other(view: View, link: UnitLink, unit: int) -> str:
    _, (role, index), back = link
    row = 1
    name = view.weave.name(Ring(role, index, row, max(0, unit - back)))
    return f"{name} {place_phrase(('prev',) * back)}".strip()


def _own(view: View, d: Difference, link: UnitLink) -> str:
    (role, index), _, _ = link
    unit = d.block.label if isinstance(d.block.label, int) else 1
    return view.weave.name(Ring(role, index, 1, unit))


def _links(view: View, d: Difference, links: tuple[UnitLink, ...]) -> str:
    unit = d.block.label if isinstance(d.block.label, int) else 1
    by_ring: dict[str, list[str]] = {}
    for link in links:
        by_ring.setdefault(_own(view, d, link), []).append(_other(view, link, unit))
    return "; ".join(f"{own} through {listed(others)}" for own, others in list(by_ring.items())[:4])


def _message(view: View, d: Difference) -> str:
    odd, like = d.block.called, d.sibling.called
    where = f"step {d.step.number} of {odd}" if d.step else odd
    if d.kind == "links":
        if d.missing and not d.extra:
            return (
                f"{where} lacks {_some(d.missing)} that {like} has:"
                f" {_links(view, d, d.missing)}"
            )
        if d.extra and not d.missing:
            return (
                f"{where} makes {_some(d.extra)} that {like} does not:"
                f" {_links(view, d, d.extra)}"
            )
        return (
            f"{where} goes another way than in {like}: {_links(view, d, d.extra)} instead"
            f" of {_links(view, d, d.missing)}"
        )
    if d.kind == "lay":
        return f"{where} is laid otherwise than in {like}"
    missing, extra = _rings(view, d, d.sibling), _rings(view, d, d.block)
    if missing and extra:
        return f"{odd} places {listed(extra)} where {like} places {listed(missing)}"
    if missing:
        return f"{odd} does not place {listed(missing)}, and {like} does"
    return f"{odd} places {listed(extra)}, and {like} does not"


def _some(links: tuple[UnitLink, ...]) -> str:
    return "a link" if len(links) == 1 else plural(len(links), "link")


def _rings(view: View, d: Difference, block: Block) -> list[str]:
    """The rings that one of the two units places and the other does not."""
    own = block.placed
    other = role_indexes((d.sibling if block == d.block else d.block,))
    words = []
    for role, indexes in own.items():
        alone = [i for i in indexes if i not in other.get(role, ())]
        if len(alone) == len(indexes) > 2:
            words.append(f"{len(alone)} {role}")
        else:
            words += [ring_name(Ring(role, i, 0, 0), indexes) for i in alone]
    return words


def _made(view: View, block: Block) -> list[tuple[str, tuple[object, ...], Step]]:
    """The moves of a unit as typed, with the rings they handle as seen from the unit."""
    return [
        (
            f"{a.step.kind} {', '.join(map(str, a.step.refs))}".strip(),
            (a.step.kind, *sorted((r.role, r.index, a.unit - r.unit) for r in a.handled)),
            a.step,
        )
        for a in view.weave.work.acts
        if a.block == block and a.step.kind not in MAKES_LINKS
    ]


def _beyond(
    moves: list[tuple[str, tuple[object, ...], Step]],
    others: list[tuple[str, tuple[object, ...], Step]],
) -> list[tuple[str, tuple[object, ...], Step]]:
    """The moves of a unit that another has less often, the last ones of each."""
    left, found = Counter(m[1] for m in others), []
    for move in moves:
        if left[move[1]]:
            left[move[1]] -= 1
        else:
            found.append(move)
    return found


def _moves(view: View, d: Difference) -> Finding:
    """A fold, a spread or a turn that only one of two units has."""
    odd, like = d.block.called, d.sibling.called
    own, other = _made(view, d.block), _made(view, d.sibling)
    missing, extra = _beyond(other, own), _beyond(own, other)
    shared = {m[1] for m in own} & {m[1] for m in other}
    span = extra[0][2].span if extra else d.block.span
    labels = (Label(missing[0][2].span, f"{like} has this step"),) if missing else ()
    if missing and extra:
        message = f"{odd} has '{extra[0][0]}' where {like} has '{missing[0][0]}'"
    elif missing and missing[0][1] in shared:
        message = f"{odd} has '{missing[0][0]}' once less than {like}"
    elif extra and extra[0][1] in shared:
        message = f"{odd} has '{extra[0][0]}' once more than {like}"
    elif missing:
        message = f"{odd} lacks '{missing[0][0]}', which {like} has"
    elif extra:
        message = f"{odd} has '{extra[0][0]}', which {like} lacks"
    else:
        assert d.step is not None
        span = d.step.span
        labels = (Label(d.twin.span, f"the same step in {like}"),) if d.twin else ()
        typed = f"{d.step.kind} {', '.join(map(str, d.step.refs))}".strip()
        message = f"{odd} has '{typed}' at another place among its steps than {like}"
    return Finding(RULE, span, message, labels=labels, help=_help(d))


def _help(d: Difference) -> tuple[str, ...]:
    odd, like = d.block.called, d.sibling.called
    lines = []
    if d.kind == "lay":
        lines.append(
            "where the lay is meant to change from unit to unit, say so in 'expect:':"
            " 'repeats every 2 units'"
        )
    if d.even:
        lines.append(
            f"either unit could be the wrong one: make {odd} like {like}, or the"
            " other way round"
        )
    else:
        lines.append(f"write it as in {like}")
    return tuple(lines)
