"""The search for a chain's form: the `Regular` layout with the most room for the wires.

A start settles with thin rings, its links driven through; its wires then grow by linear programmes;
large kicks lead on to better forms. What a form must keep is looked at again after every hop.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import count, zip_longest

import numpy as np

from ringstep.space.circles import Layout
from ringstep.space.regular import Plan, Regular, Way, judged, mirrored, plan, start
from ringstep.space.relax import read_links, settle_all
from ringstep.space.second import Second, Task
from ringstep.space.starts import kicked
from ringstep.space.tighten import thickened

_ASKED = 0.75  # share of the starts that are asked for the plan's signs
_ROUNDS = 14  # of settling; what takes longer is rarely worth it
_KICK = 0.15
_STARTS, _KICKED = 12, 7  # that are settled together
_GAIN = 1e-5  # share of room that a hop must gain to be worth losing the symmetry
_CONTINUED = 3  # forms made tight before the best is chosen
_LEAP, _VAIN = 0.4, 12  # size of a leap; leaps in vain before a form is thought the best near
_COARSE, _FINE = (40, 1e-3), (150, 1e-6)
_LONG = 48  # starts in a way after which none is looked for any more
_FAR = 0.9  # of the best room: what a way must have to be searched on
_SAME = 2e-3  # rooms closer than this share are one form reached twice
_HOPS = 99  # where the chances of ways have their own number
_TWICE, _AGAIN, _ENOUGH = (
    2,
    3,
    12,
)  # how often the best form is reached: in the long run, at once; a way is left after so many

Tell = Callable[[str, int, int, float], None]


def tightened(
    way: Way, thin: Sequence[Layout], rounds: tuple[int, float], goal: float = 0.0
) -> list[Regular | None]:
    """Settled layouts with their wires grown, None where they will not grow to the room `goal`."""
    return [
        judged(way, tight.layout, tight.room) if tight.room > 0 else None
        for tight in thickened(way.shape, thin, *rounds, goal)
    ]


def search(
    choices: Sequence[Way],
    seed: int,
    most: int,
    hops: int,
    second: Second,
    tell: Tell | None = None,
) -> tuple[Regular | None, bool]:
    """The best form from at most `most` starts, hopped and made tight; and whether that is whole.

    Ends before that once leaps from independent starts led to the best form again.
    Breaking off (KeyboardInterrupt) gives the best so far.
    """
    runs = [_Run(way, (seed, at)) for at, way in enumerate(choices)]
    best: Regular | None = None

    def told() -> None:
        if tell is not None:
            rooms = (f.room for r in runs for f in r.found)
            tell("starts", sum(r.tried for r in runs), most, max(rooms, default=0.0))

    try:
        while open_ := _open(runs, most // len(runs)):
            told()
            _round(open_, second, told)
        best = _foremost(runs)
        some = _best([f for run in runs for f in run.found or run.broken], _CONTINUED)
        goal = best.room if best else 0.0
        finer = second.in_order(partial(tightened, f.way, [f.layout], _FINE, goal) for f in some)
        for form, (fine,) in zip(some, finer, strict=True):
            best = max(filter(None, (best, fine or form)), key=Regular.worth)
        if best is not None:
            best = _hopped(best, hops, second, seed)
    except KeyboardInterrupt:
        return best or _foremost(runs), False
    return best, True


def _foremost(runs: Sequence[_Run]) -> Regular | None:
    """The best form found so far, of those that keep all if there are any."""
    found = [f for r in runs for f in r.found]
    return max(found or [f for r in runs for f in r.broken], key=Regular.worth, default=None)


_Begun = list[tuple[Regular, bool] | None]


def _begun(way: Way, made: Plan, seed: tuple[int, ...], numbers: range) -> _Begun:
    """What each of some starts leads to, and whether its wires were grown.

    They are not where lays or folds are broken; None for what cannot come to keep them.
    """
    chances = [np.random.default_rng((*seed, nth)) for nth in numbers]
    signs = [made.signs if rng.random() < _ASKED else None for rng in chances]
    starts = [start(way, made, rng) for rng in chances]
    out: _Begun = [None] * len(starts)
    kept: dict[int, Layout] = {}
    for at, thin in enumerate(settle_all(way.shape, starts, signs, _ROUNDS)):
        if thin is None:
            continue
        first = judged(way, thin, 1.0)
        if not first.said:
            first = judged(way, mirrored(thin), 1.0)
        if first.said and first.folded:
            kept[at] = first.layout
        elif signs[at] is None:  # no lay changes while wires grow, and a fold hardly ever
            out[at] = first, False
    for at, form in zip(kept, tightened(way, [*kept.values()], _COARSE), strict=True):
        out[at] = None if form is None else (form, True)
    return out


def _kicks(form: Regular, size: float, seed: tuple[int, ...], numbers: range) -> list[Layout]:
    chances = [np.random.default_rng((*seed, nth)) for nth in numbers]
    return [kicked(form.way.shape, form.layout, rng, size) for rng in chances]


def _leapt(form: Regular, seed: tuple[int, ...], numbers: range) -> Regular | None:
    """On by one of some large kicks to a form with more room that keeps all, or None."""
    way, goal = form.way, form.room * (1 + _SAME)
    kicks = _kicks(form, _LEAP, seed, numbers)
    settled = settle_all(way.shape, kicks, [None] * len(kicks), _ROUNDS)
    kept = [x for x in settled if x and judged(way, x, 1.0).rank[:2] == (True, True)]
    others = filter(None, tightened(way, kept, _COARSE, goal))
    return next((o for o in others if o.rank > (True, True, goal)), None)


def _led(form: Regular, seed: tuple[int, ...], second: Second) -> Regular:
    """On by large kicks to forms with more room that keep all, until many are in vain."""
    better: Regular | None = form
    leap = -1
    while better is not None:
        form, leap = better, leap + 1
        tasks = (partial(_leapt, form, (*seed, leap), numbers) for numbers in _parts(_VAIN))
        better = next(filter(None, second.in_order(tasks)), None)
    return form


class _Run:
    """The search in one way to repeat.

    found: what leaps from independent starts led to, all lays and folds kept. broken: what other
    starts led to. bare: the last of those whose wires were not grown. tried: starts. kept: those
    that kept all.
    """

    def __init__(self, way: Way, seed: tuple[int, ...]) -> None:
        self.way, self.seed = way, seed
        self.found: list[Regular] = []
        self.broken: list[Regular] = []
        self.bare: list[Layout] = []
        self.tried = self.kept = 0
        self.plan = plan(way)

    def goes_on(self, best: float) -> bool:
        """Is there more to be looked for, where the best form of all ways has so much room?"""
        if not self.found:
            return True
        own = max(self.found, key=Regular.worth)
        again = sum(_close(f, own) for f in self.found)
        near = own.room > _FAR * best
        return again < _AGAIN and len(self.found) < _ENOUGH and near

    def starts(self) -> Iterator[Task]:
        """Some more starts, as two tasks."""
        self.bare = []
        for _ in range(2):
            numbers = range(self.tried, self.tried + _STARTS)
            self.tried += _STARTS
            yield partial(_begun, self.way, self.plan, (*self.seed, 0), numbers)

    def leaps(self, begun: _Begun, second: Second) -> Iterator[Task | None]:
        """What starts led to is found, or else the task to leap on from it; None between."""
        for form, grown in filter(None, begun):
            if not grown:
                self.bare.append(form.layout)
                continue
            if not (form.said and form.folded):
                self.broken.append(form)
                continue
            best = max(self.found, key=Regular.worth, default=None)
            self.kept += 1
            early = self.kept <= _AGAIN
            if best is None or (not _close(form, best) and (early or form.rank > best.rank)):
                yield partial(_led, form, (*self.seed, self.kept), second)
            else:
                self.found.append(form)
                yield None


def _round(runs: Sequence[_Run], second: Second, told: Callable[[], None]) -> None:
    """Some starts in each way, and leaps from where they lead to if that keeps all.

    told: is called whenever one has led somewhere.
    """
    tasks = [task for run in runs for task in run.starts()]
    begun = second.in_order(iter(tasks), len(tasks))
    some = [(run, run.leaps([*next(begun), *next(begun)], second)) for run in runs]
    whose: list[_Run] = []

    def leaps() -> Iterator[Task]:
        for each in zip_longest(*(tasks for _, tasks in some)):
            for (run, _), task in zip(some, each, strict=True):
                if task is not None:
                    whose.append(run)
                    yield task

    for nth, form in enumerate(second.in_order(leaps())):
        whose[nth].found.append(form)
        told()
    without = [run for run in runs if not run.found]
    grown = (partial(tightened, run.way, run.bare, _COARSE) for run in without)
    for run, forms in zip(without, second.in_order(grown), strict=True):
        for form in filter(None, forms):
            (run.found if form.said and form.folded else run.broken).append(form)


def _open(runs: Sequence[_Run], most: int) -> list[_Run]:
    """The ways to search on: each until it has led to its own best form again and again.

    One without a form is left where another has one, as is one whose forms are far worse; and all
    are left in the end where the best form of all is sure.
    """
    found = [f for r in runs for f in r.found]
    best = max(found, key=Regular.worth, default=None)
    if best is None:
        return [r for r in runs if r.tried < most]
    sure = sum(_close(f, best) for f in found) >= _TWICE
    return [
        r
        for r in runs
        if r.tried < (_LONG if sure or not r.found else most) and r.goes_on(best.room)
    ]


def _close(one: Regular, other: Regular) -> bool:
    return one.rank[:2] == other.rank[:2] and abs(one.room / other.room - 1) < _SAME


def _best(pool: Sequence[Regular], most: int) -> list[Regular]:
    """The best of the pool, each form once."""
    out: list[Regular] = []
    for found in sorted(pool, key=Regular.worth, reverse=True):
        if len(out) < most and not any(_close(found, f) for f in out):
            out.append(found)
    return out


def _loosened(found: Regular) -> Regular:
    """The same layout without half-turn images, a quarter turn set free."""
    way = found.way
    if way.shape.symmetry is None or np.any(way.shape.symmetry.ahead):
        return found
    shape = replace(way.shape, symmetry=None, twist=way.turn in ("quarter", "free"))
    return replace(found, way=replace(way, shape=shape))


def _hop(best: Regular, seed: tuple[int, ...], numbers: range) -> Regular | None:
    """One of some small kicks from a form to one that keeps as much with more room, or None."""
    shape, kicks = best.way.shape, _kicks(best, _KICK, seed, numbers)
    signs = read_links(shape, best.layout).signs
    settled = filter(None, settle_all(shape, kicks, [signs] * len(kicks), _ROUNDS))
    others = filter(None, tightened(best.way, [*settled], _COARSE, best.room))
    return next((o for o in others if o.worth() > best.worth()), None)


def _hopped(found: Regular, hops: int, second: Second, seed: int) -> Regular:
    """Small kicks without half-turn images, on from each form that keeps as much with more room."""
    best = _loosened(found)
    for base in count():
        tasks = (partial(_hop, best, (seed, _HOPS, base), numbers) for numbers in _parts(hops))
        other = next(filter(None, second.in_order(tasks)), None)
        if other is None:
            break
        other = tightened(best.way, [other.layout], _FINE)[0] or other
        best = max(best, other, key=Regular.worth)
    return best if best.rank > (*found.rank[:2], found.room * (1 + _GAIN)) else found


def _parts(most: int) -> Iterator[range]:
    """Numbers below `most`, those of a few kicks at a time, for two processes alike."""
    each = -(-most // (2 * -(-most // (2 * _KICKED))))
    return (range(at, min(at + each, most)) for at in range(0, most, each))
