"""A finished ring that meets more or fewer rings than promised.

Every ring of a weave passes through a fixed number of others; a line of 'expect:' such as
'M meets 6 S, 1 M' states it. A ring is judged only when every unit that can reach it has been
placed. The fault is found at a ring but lies in a step: the step named is the one where a single
change makes every count right.

Wrong:

    weave "Persian 6-in-1"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      H meets 2 M
      M meets 6 S
      S meets 6 M
    start:
      close 2 H
      add 2 M through H picks 2
      add 2 S through M picks 2
    unit:
      add 2 M through prev S
      add 2 S through M, prev M1
    piece:
      chain 24 units

Right:

    weave "Persian 6-in-1"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      H meets 2 M
      M meets 6 S
      S meets 6 M
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

from ringstep.checks.diagnosis import Cause
from ringstep.checks.faults import Count, OffPromise, Unlike
from ringstep.checks.view import View, comes_right
from ringstep.checks.wording import headline, mend_offer, open_loop, place_of
from ringstep.language.findings import Finding, Label, Mend, Rule, TextEdit
from ringstep.language.promised import InAll
from ringstep.language.syntax import Step
from ringstep.language.words import listed
from ringstep.weave.phrases import (
    list_span,
    meets_phrase,
    place_phrase,
    places_phrase,
    rings_word,
    wanted_phrase,
)
from ringstep.weave.promises import by_place, in_order, near_of

RULE = Rule("neighbour-count", "error")


def _who(view: View, count: Count) -> str:
    block = count.block
    if count.where:
        return f"{count.name} {count.where}"
    if view.weave.layout.rounds and (some := _of_rounds(view, count)):
        return some
    if block is None or (count.unit == 0 and block.kind != "start"):
        return f"every finished {count.name}"
    if block.kind in ("start", "finish", "row end"):
        return f"{count.name} of the {block}"
    if view.weave.layout.strands:
        return f"{count.name} of {view.weave.work.layout.unit_name(count.unit)}"
    if block.label is not None:
        return f"{count.name} of {block}"
    # The window is shorter than the piece; its far half stands for the far end.
    layout, window = view.weave.layout, view.weave.work.layout
    back = window.units - count.unit
    if back < window.units // 2 and not layout.known:
        return f"{count.name} {place_phrase(('last',) + ('prev',) * back)}"
    unit = layout.units - back if back < window.units // 2 else count.unit
    return f"{count.name} of unit {unit}{' of the row' if layout.flat else ''}"


def _of_rounds(view: View, count: Count) -> str:
    """Which rings it is of in rounds that grow or shrink, where not all of a name meet as many."""
    weave, name = view.weave, (count.role, count.index)
    finished = [r for r in weave.finished if r[:2] == name]
    these = [r for r in finished if dict(weave.met(r)) == count.found]
    if not 0 < len(these) < len(finished) or not 1 <= these[0].row <= weave.layout.rows:
        return ""
    place = f"row {these[0].row}"
    if these[0].unit <= weave.layout.width(these[0].row):
        place += f", unit {these[0].unit}"
    more = f" and {len(these) - 1:,} more" if len(these) > 1 else ""
    return f"a finished {count.name} ({place}{more})"


def _measured(count: Count) -> str:
    """What was counted, in the order of the promise."""
    counted = [w for w in count.promise.choices if not isinstance(w, InAll)]
    if not counted:
        return rings_word(count.total)
    if by_place(count.promise):
        order = [near_of(c) for w in counted for c in w.counts]
        return places_phrase(in_order(count.places, order))
    return meets_phrase(count.found, [c.role for w in counted for c in w.counts])


def _promised(count: Count) -> str:
    return listed([wanted_phrase(w) for w in count.promise.choices], "or")


def check(view: View) -> Iterator[Finding]:
    """Finished rings against their promises, told once for each cause."""
    loose: dict[int, list[Count]] = {}
    lacking = [
        f.difference.block.label
        for f in view.diagnosis.faults
        if isinstance(f, Unlike) and f.difference.kind == "rings"
    ]
    # Promises that contradict one another are told as that; no step can keep both.
    unsure = [p for pair in view.contradictions for side in pair for p in side.promises]
    for fault, cause in view.diagnosis.voiced(OffPromise):
        count = fault.count
        if count.promise in unsure:
            continue
        if cause is not None:
            yield _blamed(view, count, cause)
        elif not _near(view, count, lacking):
            loose.setdefault(count.promise.span.line, []).append(count)
    if (
        view.weave.layout.kind == "loop"
        and loose
        and all(_at_seam(view, c) for counts in loose.values() for c in counts)
    ):
        counts = [c for counts in loose.values() for c in counts]
        shows, *more = dict.fromkeys(f"{_who(view, c)} meets {_measured(c)}" for c in counts)
        label = Label(counts[0].promise.span, "promised here")
        shows += f", {_promised(counts[0])} promised"
        yield open_loop(RULE, view.weave, shows, (label,), tuple(more[:3]))
        return
    for counts in loose.values():
        first = counts[0]
        lines = dict.fromkeys(f"{_who(view, c)} meets {_measured(c)}" for c in counts)
        said = next(iter(lines))
        steps = _placing(view, first)
        hung = [s for s in view.recipe.steps() if s.number in first.joined_by]
        if any(first.where == f"of step {s.number}" for s in hung):
            hung = []  # it is placed by that step
        steps = hung or steps
        places = listed([str(s.number) for s in steps])
        look = f"look at what places {first.name} (step {places}) and at what goes through it"
        if hung:
            joins = f"step{'s' * (len(hung) > 1)} {places}"
            look = f"look at what goes through {first.name} where it is joined ({joins})"
        elif not steps:
            look = f"look at what goes through {first.name}"
        if view.diagnosis.searched:
            look = f"no single change makes every count right; {look}"
        mends = _one_a_place(view, first)
        yield Finding(
            RULE,
            list_span(steps[0]) if steps else first.promise.span,
            f"{said}, not {_promised(first)} as promised",
            f"{first.name} is {'joined' if hung else 'placed'} here" if steps else "promised here",
            (Label(first.promise.span, "promised here"),) if steps else (),
            (*tuple(lines)[1:4], *([f"to mend: {m.says}" for m in mends] or [look])),
            mends,
        )


def _one_a_place(view: View, count: Count) -> tuple[Mend, ...]:
    """A part that the first row takes once, as a bar, where each place is to have its own."""
    first = view.weave.layout.block("first row")
    if first is None or count.role not in view.recipe.part_roles:
        return ()
    for step in first.steps:
        if any(r.name.role == count.role for r in step.through):
            line = step.span.line
            edit = TextEdit(line, 1, line, 1, f"  close {count.name}\n")
            says = (
                f"write 'close {count.name}' before step {step.number}; the first row takes a part"
                " that is not laid ready once for the whole row, as a bar"
            )
            return (Mend(says, (edit,)),) if comes_right(view, (edit,)) else ()
    return ()


def _placing(view: View, count: Count) -> list[Step]:
    """The steps that place a ring, in its own block."""
    return [
        s
        for b in view.recipe.every_block
        if count.block is None or count.block.span == b.span
        for s in b.steps
        if any(i.name.role == count.role for i in s.new)
        and (b.kind != "join" or count.where == f"of step {s.number}")
    ]


def _at_seam(view: View, count: Count) -> bool:
    """True for a ring of the start, the finish, or the units next to them."""
    layout = view.weave.work.layout
    if count.unit == 0 and (count.block is None or count.block.kind != "start"):
        return False  # a ring of the repeating unit, which stands everywhere
    return count.unit <= layout.reach or count.unit > layout.units - layout.reach


def _near(view: View, count: Count, lacking: list[str | int | None]) -> bool:
    """True by a written-out unit that lacks whole rings of its siblings: theirs are the links."""
    reach = max(1, view.weave.layout.reach)
    return any(isinstance(n, int) and abs(count.unit - n) <= reach for n in lacking)


def _blamed(view: View, count: Count, cause: Cause) -> Finding:
    from ringstep.checks.edits import AddRing, ChangePromise, DropStep, RemoveRing, ReplaceRing

    edit = cause.edit
    others = sorted(
        {
            f.count.name
            for f in view.diagnosis.faults
            if isinstance(f, OffPromise) and f.key in cause.cleared and f.count.name != count.name
        }
    )
    offer = mend_offer(view.recipe, cause)
    help = list(offer.help)
    if isinstance(edit, DropStep):
        help[0] += ", or change what it goes through"
    if others:
        help.append(f"that also makes {listed(others)} right")
    measured = f"{_who(view, count)} meets {_measured(count)}"
    if isinstance(edit, ChangePromise):
        steps = _placing(view, count)
        return Finding(
            RULE,
            edit.meets.span,
            f"{measured}, not {_promised(count)} as promised",
            "promised here",
            tuple(Label(list_span(s), f"{count.name} is placed here") for s in steps[:1]),
            tuple(help),
            offer.mends,
        )
    here = ""
    if isinstance(edit, AddRing):
        here = "a ring is missing here"
    elif isinstance(edit, RemoveRing):
        here = "a ring too many here"
    elif isinstance(edit, ReplaceRing):
        here = "another ring is meant here"
    return Finding(
        RULE,
        place_of(edit),
        f"{headline(cause)}: {measured}, {_promised(count)} promised",
        here,
        (Label(count.promise.span, "promised here"),),
        tuple(help),
        offer.mends,
    )
