"""The one door to the states of a piece: which way they are found depends on the piece."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import partial

from ringstep.language.source import Refused
from ringstep.language.words import listed
from ringstep.space.bodies import with_bodies
from ringstep.space.cut import cut
from ringstep.space.finished import NO_SIZE
from ringstep.space.fit import fit
from ringstep.space.fit_cell import NoFit, laid_out
from ringstep.space.result import Fit
from ringstep.space.rosette import spread_evenly
from ringstep.space.rows import MANY, few_rows, work_rows
from ringstep.space.second import ALONE, Second
from ringstep.space.state import Jam, Shown, Worked
from ringstep.space.units import hangs_together
from ringstep.space.worked import work_piece
from ringstep.weave.lie import follow
from ringstep.weave.piece import Weave
from ringstep.weave.resolved import Resolved

_SHARES = (0.1, 0.25, 0.5, 1.0)  # by which the AR is raised until a jam is gone
_MANY = 12  # steps done before a jam: to do so many again and again takes too long
_OFTEN = 2  # a step is shown at so many places that lack nothing, and one more
_ROWS = 3  # a step of a sheet is shown once in each of so many rows, and once at a border


class NoStates(Refused):
    """A piece of which no state can be shown; the text says why."""


def states_of(view: Resolved, known: Fit | None = None, second: Second | None = None) -> Shown:
    """The work in the hand after every step, in the variant the view has chosen.

    known: the fit of the recipe's cycle, where it was found before. second: see `fit`.
    Raises `NoFit` and `NoStates`.
    """
    _must_be_even(view.weave)
    shown = _of_rings(view, known, second)
    return replace(shown, states=with_bodies(view.weave, shown.states))


def _of_rings(view: Resolved, known: Fit | None, second: Second | None) -> Shown:
    """The same, with the rims of the holes of parts in place of their bodies."""
    weave = view.weave
    if weave.recipe.made:
        raise NoStates(
            "real rings are laid out of one piece at a time, and these are made first and joined"
            " later; write a piece that you want to see as a recipe of its own"
        )
    if weave.layout.flat:
        _must_have_sizes(weave)
        if weave.layout.rounds:
            raise NoStates("real rings are not laid out in rounds that grow or shrink")
        if weave.layout.shape is None:
            return _shown(few_rows(weave), work_rows)
        if (count := len(weave.work.placed_by)) > MANY:
            raise NoStates(
                f"a sheet with a shape is worked ring by ring, up to {MANY} rings, and this one has"
                f" {count:,}"
            )
        return _shown(replace(weave, whole=True), work_rows)
    at_sides = any(a.new and a.toward for a in weave.work.acts)
    try:
        laid = laid_out(view)
    except NoFit:
        laid = None
    cut_from_repeat = laid is not None and laid.cell.dims and hangs_together(laid.cell)
    # what is folded or spread otherwise in one place does not lie as the regular repeat does
    if laid is None or not cut_from_repeat or at_sides or follow(weave).slips:
        _must_have_sizes(weave)
        ends = weave.repeat is None or weave.layout.block("finish") is not None
        ends = ends or weave.layout.written > _OFTEN
        shown = _shown(weave, partial(work_piece, units=None if ends else _OFTEN + 1))
        if weave.repeat is not None:
            return shown
        states = tuple(spread_evenly(state) for state in shown.states)
        return replace(shown, states=states, piece=states[-1].rings if shown.piece else ())
    found = known or fit(laid.cell, push=False, second=second)
    if not found.forms:
        raise NoStates("no way was found to lay its rings out; its links may not go together")
    form = found.forms[0]
    if not (form.as_said and form.folds_kept):
        raise NoStates(
            "the only way found to lay its rings out breaks a lay or a fold that the steps state"
        )
    if not form.fits:
        own, least = laid.cell.rings[0].aspect, form.smallest(0)
        raise NoStates(
            f"its rings are too small for their wire: {laid.rings[0].role} has AR {own:.2f},"
            f" and the smallest found at which the chain can be made is {least:.2f}"
        )
    return cut(view, laid, form, second or ALONE)


def _must_be_even(weave: Weave) -> None:
    """Raises `NoStates` where rings of one name are of several sizes."""
    for kind in weave.recipe.rings:
        if kind.along:
            raise NoStates(
                f"the size of {kind.name} changes along the piece; pictures of real rings show one"
                " size for each name"
            )


def _must_have_sizes(weave: Weave) -> None:
    rings = [r for r in weave.work.placed_by if r.role not in weave.recipe.part_roles]
    if none := sorted({r.role for r in rings if weave.size(r.role, r.index) is None}):
        raise NoStates(NO_SIZE.format(rings=listed(none)))


def _shown(weave: Weave, work: Callable[[Weave], Worked]) -> Shown:
    """Some states of every step, at the first place of a row where it lacks nothing and once where
    it lacks something; why others have none. A first row is shown begun and whole.

    What follows a jam was worked on rings that overlap, and is not shown.
    """
    worked = work(weave)
    jam = next(iter(worked.jams), None)
    acts = {(a.step.number, a.row, a.unit): a for a in weave.work.acts}
    first = [a for a in acts.values() if a.block.kind == "first row" and a.new]
    whole = {}  # a first row is laid place by place, and its last picture is of all of it
    if not any(a.through for a in first):
        for number in {a.step.number for a in first}:
            *begun, last = (s for s in worked.states if s.number == number)
            all_new = tuple(r for s in (*begun, last) for r in s.new)
            whole[number, last.row, last.unit] = replace(last, new=all_new)
    seen: set[tuple[int, int]] = set()
    often: Counter[int] = Counter()
    states = []
    ends = {(s.number, s.row, s.unit): nth for nth, s in enumerate(worked.states)}
    for nth, state in enumerate(worked.states):
        at = (state.number, state.row, state.unit)
        if jam is not None and at == (jam.number, jam.row, jam.unit):
            break
        lacks = at in acts and bool(acts[at].dropped)
        kind = (state.number, 0 if lacks else min(state.row, _ROWS))
        news = kind not in seen if weave.layout.flat else often[state.number] <= _OFTEN
        if at in whole or news:
            states.append(whole.get(at, state))
            if nth == ends[at]:  # each ring of a rosette has its own state
                seen.add(kind)
                often[state.number] += not lacks
    numbers = dict.fromkeys(a.step.number for a in weave.work.acts if not a.skipped)
    missing = [n for n in numbers if not any(s.number == n for s in states)]
    without = tuple((n, _why(n, jam)) for n in missing)
    if jam is not None:
        return Shown(tuple(states), without, _told(weave, work, jam, len(worked.states)))
    return Shown(tuple(states), without, piece=worked.states[-1].rings if worked.states else ())


def _told(weave: Weave, work: Callable[[Weave], Worked], jam: Jam, done: int) -> str:
    """Where and how the work jams, and what was tried with wider rings, if few steps were done.

    Where only the search for a place failed, no size is blamed.
    """
    place = weave.work.layout.unit_name(jam.unit)
    if weave.layout.flat:
        place = f"row {jam.row}, place {jam.unit}"
    elif not 1 <= jam.unit <= weave.work.layout.units:
        place = "the start" if jam.unit < 1 else "the finish"
    if jam.overlap is None:
        told = (
            f"step {jam.number} was not carried out in {place}: of the places tried for"
            f" {jam.ring.role} none has room and passes through just the rings named"
        )
    else:
        told = (
            f"step {jam.number} jams in {place}:"
            f" the wires would overlap by {jam.overlap:.2f} mm at AR {jam.aspect:.2f}"
        )
    return told if done > _MANY else f"{told}; {_goes(weave, work, jam)}"


def _goes(weave: Weave, work: Callable[[Weave], Worked], jam: Jam) -> str:
    """At which larger insides every step was carried out, in words."""
    low, high = 0, 0  # tenths of AR above the recipe's
    begin = math.floor(10 * jam.aspect)

    def jams(tenths: int) -> bool:
        return bool(work(_wider(weave, (begin + tenths) / 10 / jam.aspect)).jams)

    for share in _SHARES:
        tenths = math.ceil(share * begin)
        if not jams(tenths):
            high = tenths
            break
        low = tenths
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if jams(middle) else (low, middle)
    if not high:
        found = "does it go" if jam.overlap is not None else "was a place found"
        return f"nor {found} at AR {(begin + low) / 10:.1f}"
    sizes = {weave.size(r.role, r.index) for r in weave.work.placed_by}
    aspect = (begin + high) / 10
    if len(sizes) == 1:
        return f"it goes at AR {aspect:.1f}"
    return f"it goes with every inside {aspect / jam.aspect:.2f} times as wide"


def _wider(weave: Weave, factor: float) -> Weave:
    """The same piece with every inside so many times as wide."""
    wider = Fraction(factor)
    rings = tuple(
        replace(k, inside=replace(k.inside, number=k.inside.number * wider)) if k.inside else k
        for k in weave.recipe.rings
    )
    return Weave(replace(weave.recipe, rings=rings), weave.variant, weave.whole)


def _why(number: int, jam: Jam | None) -> str:
    if jam is None:
        return "it was not carried out"
    how = "jams" if jam.overlap is not None else "ended"
    if jam.number == number:
        return "it jams" if jam.overlap is not None else "no place tried for its ring would do"
    return f"the work {how} before, at step {jam.number}"
