"""A joining step that names a place which none of the pieces has, or edges that do not match.

A step under 'join:' says in which piece each ring stands: 'panel 1 last A'. Where it goes along
edges it is repeated for each place, so both edges must have as many.

Wrong:

    weave "Two strips"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2 A or 1 A, 1 J
      J meets 2 A
    piece strip:
      chain 5 units
      made twice
    start:
      close A
    unit:
      add A through prev A
    join:
      add J through strip 1 last A, strip 3 first A picks 2

Right:

    weave "Two strips"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2 A or 1 A, 1 J
      J meets 2 A
    piece strip:
      chain 5 units
      made twice
    start:
      close A
    unit:
      add A through prev A
    join:
      add J through strip 1 last A, strip 2 first A picks 2
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ringstep.checks.diagnosis import Cause
from ringstep.checks.faults import Snagged
from ringstep.checks.view import View, comes_right
from ringstep.checks.wording import Offer, likely_offer
from ringstep.language.findings import Finding, Label, Mend, Rule, instead
from ringstep.language.syntax import OfPiece, Ref
from ringstep.language.words import listed, plural
from ringstep.weave.joined import Joined, edges_had
from ringstep.weave.layout import refs_of
from ringstep.weave.work import Snag

RULE = Rule("join-place", "error")

_KINDS = ("no such piece", "which piece", "which place", "no such edge", "unlike edges")


def check(view: View) -> Iterator[Finding]:
    """Places of joining steps that are none, or that are not told."""
    layout = view.weave.layout
    if not isinstance(layout, Joined):
        return
    told: dict[tuple[object, ...], list[int]] = {}
    found: list[tuple[Snag, tuple[object, ...], Cause | None]] = []
    for fault, cause in view.diagnosis.voiced(Snagged):
        snag = fault.snag
        if snag.kind not in _KINDS or snag.ref is None:
            continue
        of = snag.ref.of
        key = snag.kind, of and of.name, of and snag.kind == "no such piece" and of.number
        if key not in told or cause is not None:
            found.append((snag, key, cause))
        told.setdefault(key, []).append(snag.step.number)
    for snag, mark, cause in found:
        assert snag.ref is not None
        message, help, labels = _words(view, layout, snag)
        if more := [str(n) for n in dict.fromkeys(told[mark]) if n != snag.step.number]:
            help = (f"so {'does step' if len(more) == 1 else 'do steps'} {listed(more)}", *help)
        offer = likely_offer(view.recipe, cause, snag.step)
        if snag.kind == "no such piece" and (mend := _made_more(view, snag.ref)) and not cause:
            offer = Offer((f"or {mend.says}",) if offer.help else (*help[:-1], mend.says), (mend,))
        yield Finding(
            RULE,
            snag.ref.span,
            message,
            labels=labels,
            help=(*(() if offer.help else help), *offer.help),
            mends=offer.mends,
        )


def _made_more(view: View, ref: Ref) -> Mend | None:
    """The line 'made … times' with as many as are named, where that makes all right."""
    assert ref.of is not None
    made = next(m for m in view.recipe.made if m.name.value == ref.of.name)
    lines = view.recipe.source.plain
    for number in range(made.name.span.line + 1, len(lines) + 1):
        if re.match(r"\s*piece\s|\s*join\s*:", lines[number - 1], re.I):
            return None
        if re.match(r"\s*made\s", lines[number - 1], re.I):
            most = max(r.of.number or 0 for s in view.recipe.steps() for r in refs_of(s)
                       if r.of and r.of.name == ref.of.name)  # fmt: skip
            text = f"made {most} times"
            mend = Mend(f"write '{text}'", (instead(view.recipe.source.line_span(number), text),))
            return mend if comes_right(view, mend.edits) else None
    return None


def _words(
    view: View, layout: Joined, snag: Snag
) -> tuple[str, tuple[str, ...], tuple[Label, ...]]:
    ref, step = snag.ref, f"step {snag.step.number}"
    assert ref is not None
    of, name = ref.of, ref.name
    if of is None:
        return (
            f"{step} names {name}, and several joining steps place rings of that name",
            (f"number them where they are placed, '{name}1' and '{name}2', and here",),
            (),
        )
    made = next(m for m in view.recipe.made if m.name.value == of.name)
    often = {1: "once", 2: "twice"}.get(made.times, f"{made.times} times")
    there = f"{made.name.value} is made {often}"
    said = (Label(made.name.span, f"{there}, as said here"),)
    match snag.kind:
        case "no such piece":
            few = (
                "it has no number" if made.times == 1 else f"write a number from 1 to {made.times}"
            )
            return f"{step} names {of}, and {there}", (few,), said
        case "which piece":
            return (
                f"{step} names {of.name} without a number, and {there}",
                (f"write which, such as '{of.name} 1 …'",),
                said,
            )
        case "no such edge":
            edge = "units" if of.edge == "every unit" else of.edge
            return f"{step} goes along the {edge} of {of}, which has none", _edges(view, of), ()
        case "unlike edges":
            lines = layout.lines(snag.step)
            told = [f"the {x.of.edge} of {x.of} has {plural(n, 'place')}" for x, n in lines if x.of]
            counts = {id(x): n for x, n in lines}
            first = next(x for x, _ in lines)
            return (
                f"{step} goes along edges that do not match: {listed(told)}",
                ("make both as long, or name edges of as many places",),
                (Label(first.span, plural(counts[id(first)], "place")),),
            )
    ends = f"'{of} first {name}' or '{of} last {name}'"
    if _piece(view, of).weave.layout.flat:
        ends = f"'{of} first row last {name}', or '{of} {name} along last row'"
    return f"{step} names {name} of {of}, and there are several", (f"write which: {ends}",), ()


def _piece(view: View, of: OfPiece) -> View:
    return next(p for p in view.pieces if p.recipe.of == of.name)


def _edges(view: View, of: OfPiece) -> tuple[str, ...]:
    edges = edges_had(_piece(view, of).weave.layout)
    said = listed([f"'along {edge}'" for edge in edges], "or")
    return (f"of {of.name} one says {said}",)
