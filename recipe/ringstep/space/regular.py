"""A chain's form: the repeating unit with a symmetry imposed, and every fold and lay kept.

In: `Cell` of a chain. Out: the `Regular` layouts with the most room for the wires, best first.
Starts are random but for one roll a role: planes run along the chain, those of linked roles
crosswise. A start settles with thin rings, its links driven through; its wires then grow by linear
programmes. What a form must keep is looked at again after every hop.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringstep.space import lays, units
from ringstep.space.between import Between, betweens, folded_past, kept
from ringstep.space.cell import Cell
from ringstep.space.circles import Layout, Shape, Symmetry, pairs_at, shape_of
from ringstep.space.near import Floats, Ints, cross
from ringstep.space.relax import read_links, settle
from ringstep.space.result import Turn
from ringstep.space.starts import kicked
from ringstep.space.symmetry import imposed, mirrored_lays, of_twins, under, with_glide
from ringstep.space.tighten import thicken

_SEAT, _LEAN = 0.3, 0.4  # spread of places across the chain, in mean radii, and of normals
_BESIDE = 0.3  # share of that between the two rings of a pair
_ASKED = 0.75  # share of the starts that are asked for the plan's signs
_ROUNDS = 14  # of settling; what takes longer is rarely worth it
_KICK = 0.15
_GAIN = 1e-5  # share of room that a hop must gain to be worth losing the symmetry
_PLAIN = 1e-4  # share of room that a turn from unit to unit must gain
_CONTINUED = 3  # forms made tight before the best is chosen
_LEAP, _VAIN = 0.4, 14  # size of a leap; leaps in vain before a form is thought the best near
_COARSE, _FINE = (40, 1e-3), (150, 1e-6)
_LEAST, _BARE = 16, 24  # starts in each way; those without a form after which it may be left
_PLAIN_AFTER = 5  # starts that all led to one form
_FAR = 0.9  # of the best room: what a way must have to be searched on
_SAME = 2e-3  # rooms closer than this share are one form reached twice
_AGAIN, _ENOUGH = 3, 6  # the best form must be reached so often; a way is left after so many

Tell = Callable[[str, int, int, float], None]


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One way to repeat: a shape with its symmetry, of how many units, and how units turn."""

    shape: Shape
    units: int  # of the recipe's, in the unit laid out
    turn: Turn
    rolls: Floats | None  # (n,) roll of each ring about the chain at the start, radians; or any
    terms: tuple[lays.Term, ...]
    folds: tuple[Between, ...]
    spreads: tuple[Between, ...]
    pairs: tuple[tuple[int, int, bool], ...]  # twins, and whether they pass through one another


@dataclass(frozen=True, slots=True, eq=False)
class Regular:
    """A layout reached. room: the factor by which its wires could grow."""

    way: Way
    layout: Layout
    room: float
    said: bool
    folded: bool
    spread: bool

    @property
    def rank(self) -> tuple[bool, bool, float]:
        """Better is greater."""
        return self.said, self.folded, self.room


def ways(cell: Cell) -> tuple[Way, ...]:
    """The ways to repeat worth trying, the simplest first."""
    groups = units.twins(cell)
    rolls = _rolls(cell, groups, 0)
    if rolls is not None:
        if mirrored_lays([s.side for s in cell.steps]):
            glide = with_glide(cell, of_twins(cell))
            if glide is not None:
                return (_way(cell, 1, "none", rolls, glide),)
        return _way(cell, 1, "none", rolls), _way(cell, 1, "half", rolls)
    rolls = _rolls(cell, groups, 1)
    if rolls is not None:
        return (_way(cell, 1, "quarter", rolls),)
    freeing = units.multiple_that_frees(cell)
    if freeing is None:
        return (_way(cell, 1, "free", None),)
    several = units.multiplied(cell, freeing)
    return _way(several, freeing.size, "none", None), _way(cell, 1, "free", None)


def _way(
    cell: Cell,
    count: int,
    turn: Turn,
    rolls: Floats | None,
    symmetry: Symmetry | None = None,
) -> Way:
    said = betweens(cell)
    return Way(
        under(shape_of(cell, turn == "free"), symmetry or of_twins(cell)),
        count,
        turn,
        rolls,
        lays.stated_terms(cell),
        tuple(b for b in said if b.kind == "fold"),
        tuple(b for b in said if b.kind == "spread"),
        tuple(
            (g[0], g[1], (g[0], g[1], (0,)) in cell.pairs())
            for g in units.twins(cell)
            if len(g) == 2
        ),
    )


def _rolls(cell: Cell, groups: Sequence[Sequence[int]], by_unit: int) -> Floats | None:
    """Rolls of 0 and a quarter turn so that linked groups differ, or None where that cannot be.

    by_unit: quarter turns by which a unit is turned from the one before, 0 or 1.
    """
    group_of = {ring: at for at, group in enumerate(groups) for ring in group}
    roll: dict[int, int] = {}
    links = [
        (group_of[a], group_of[b], 1 + by_unit * k[0])
        for a, b, k in cell.pairs()
        if group_of[a] != group_of[b] or k != (0,)
    ]
    for first in range(len(groups)):
        roll.setdefault(first, 0)
        for _ in groups:
            for a, b, quarters in links:
                if a in roll:
                    roll.setdefault(b, (roll[a] + quarters) % 2)
                elif b in roll:
                    roll[a] = (roll[b] + quarters) % 2
    if any((roll[b] - roll[a] - quarters) % 2 for a, b, quarters in links):
        return None
    return np.array([np.pi / 2 * roll[group_of[ring]] for ring in range(len(cell.rings))])


def ahead(cell: Cell) -> Floats:
    """For each link, +1 where the ring `b` lies ahead of `a` along the chain, -1 behind, else 0.

    Rings placed later lie ahead; rings folded back lie behind the newest they were put through.
    """
    placed = {ring: at for at, step in enumerate(cell.steps) for ring in step.new}
    behind = {(fold, hole) for fold, hole in folded_past(cell)}
    beside = {(a, b) for g in units.twins(cell) for a in g for b in g}
    out = []
    for a, b, shift in cell.pairs():
        if shift == (0,) and (a, b) in beside:
            out.append(0)
            continue
        way = 1 if (shift[0], placed.get(b, b)) > (0, placed.get(a, a)) else -1
        there = tuple(-k for k in shift)
        if ((a, (0,)), (b, shift)) in behind or ((b, (0,)), (a, there)) in behind:
            way = -way
        out.append(way)
    return np.array(out, dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """Where the rings of a way begin: along the chain in their order, planes rolled by role.

    signs: of each link as it then lies, 0 where that says nothing; None where the way has no rolls.
    """

    layout: Layout
    signs: Ints | None


def plan(way: Way) -> Plan:
    """The start without any chance in it, linked rings about a radius apart."""
    shape, order = way.shape, ahead(way.shape.cell)
    n, links = shape.count, len(shape.link_a)
    rows, at = np.zeros((links, n + 1)), np.arange(links)
    rows[at, shape.link_b] += 1
    rows[at, shape.link_a] -= 1
    rows[:, n] = shape.link_shift[:, 0]
    place = np.linalg.lstsq(rows, order, rcond=None)[0]
    centres = np.zeros((n, 3))
    centres[:, 0] = place[:n]
    rolls = np.zeros(n) if way.rolls is None else way.rolls
    normals = np.stack([np.zeros(n), -np.sin(rolls), np.cos(rolls)], axis=1)
    turn = {"quarter": np.pi / 2, "half": np.pi}.get(way.turn, 0.0)
    layout = Layout(centres, normals, np.array([max(place[n], 0.3), turn]))
    if way.rolls is None:
        return Plan(layout, None)
    lying = imposed(shape, layout)
    pairs = pairs_at(shape, lying, shape.link_a, shape.link_b, shape.link_shift)
    facing = cross(lying.normals[pairs.i], pairs.normal_j)[:, 0] * order
    signs = np.where(np.abs(facing) > 0.1, np.sign(facing), 0).astype(np.int64)
    for among, want in way.terms:
        free = [link for link in among if signs[link] == 0]
        if len(free) == 1:
            signs[free[0]] = want * int(np.prod([signs[k] for k in among if k != free[0]]))
    return Plan(layout, signs)


def start(way: Way, made: Plan, rng: np.random.Generator) -> Layout:
    """A start near the plan, with random seats and leans."""
    n, base = way.shape.count, made.layout
    loose = rng.uniform(0.6, 1.3)
    seats, leans = rng.normal(size=(n, 3)) * _SEAT, rng.normal(size=(n, 3)) * _LEAN
    for first, other, linked in way.pairs:
        over = np.ones(3) if linked else np.array([1.0, -1.0, -1.0])
        seats[other] = over * seats[first] + _BESIDE * (seats[other] - over * seats[first])
        over = over * over[1]  # so that the normals of both face alike
        leans[other] = over * leans[first] + _BESIDE * (leans[other] - over * leans[first])
    if way.rolls is None:
        leans = rng.normal(size=(n, 3)) * 100.0  # any plane
    centres, normals = base.centres * loose + seats, base.normals + leans
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    length, turn = base.repeat
    if way.turn == "free":
        turn = rng.uniform(-np.pi, np.pi)
    return Layout(centres, normals, np.array([length * loose, turn]))


def judged(way: Way, layout: Layout, room: float) -> Regular:
    """The layout with what it keeps of lays, folds and spreads."""
    signs = [int(s) for s in read_links(way.shape, layout).signs]
    return Regular(
        way,
        layout,
        room,
        lays.as_stated(way.shape.cell, way.terms, signs),
        all(kept(way.shape, layout, b) for b in way.folds),
        all(kept(way.shape, layout, b) for b in way.spreads),
    )


def mirrored(layout: Layout) -> Layout:
    """Front and back exchanged: all lays turn over, folds and spreads stay."""
    over = np.array([1.0, 1.0, -1.0])
    length, turn = layout.repeat
    return Layout(layout.centres * over, layout.normals * over, np.array([length, -turn]))


def tightened(
    way: Way, thin: Layout | None, rounds: tuple[int, float], goal: float = 0.0
) -> Regular | None:
    """A settled layout with its wires grown, given up where they will not grow to `goal`."""
    if thin is None:
        return None
    tight = thicken(way.shape, thin, *rounds, goal)
    return judged(way, tight.layout, tight.room) if tight.room > 0 else None


def search(
    choices: Sequence[Way], seed: int, most: int, hops: int, tell: Tell | None = None
) -> tuple[Regular | None, bool]:
    """The best form from at most `most` starts, hopped and made tight; and whether that is whole.

    Ends before that once leaps from independent starts led to the best form again.
    Breaking off (KeyboardInterrupt) gives the best so far.
    """
    rng = np.random.default_rng(seed)
    runs = [_Run(way, plan(way), [], []) for way in choices]
    best: Regular | None = None
    found: list[Regular] = []
    try:
        while open_ := _open(runs, most // len(runs)):
            run = min(open_, key=lambda r: r.tried)
            if tell is not None:
                done = sum(r.tried for r in runs)
                tell("starts", done, most, max((f.room for f in found), default=0.0))
            run.go(rng)
            found = [f for r in runs for f in r.found]
            best = max(found or [f for r in runs for f in r.broken], key=_rank, default=None)
        for some in _best([f for run in runs for f in run.found or run.broken], _CONTINUED):
            fine = tightened(some.way, some.layout, _FINE, best.room if best else 0.0) or some
            best = fine if best is None else max(best, fine, key=_rank)
        if best is not None:
            best = _hopped(best, hops, rng)
    except KeyboardInterrupt:
        return best, False
    return best, True


def _rank(found: Regular) -> tuple[bool, bool, float]:
    """Better is greater; of equal forms the one that repeats without a turn."""
    plain = found.way.turn == "none"
    return found.said, found.folded, found.room * (1 + _PLAIN if plain else 1.0)


@dataclass(slots=True, eq=False)
class _Run:
    """The search in one way to repeat.

    found: what leaps from independent starts led to, all lays and folds kept. broken: what other
    starts led to. tried: starts.
    """

    way: Way
    plan: Plan
    found: list[Regular]
    broken: list[Regular]
    tried: int = 0

    @property
    def plain(self) -> bool:
        """Do all starts lead to one form?"""
        return len(self.found) >= _PLAIN_AFTER and all(_close(f, self.found[0]) for f in self.found)

    def go(self, rng: np.random.Generator) -> None:
        """One start, and leaps from where it leads if that keeps all."""
        self.tried += 1
        way = self.way
        signs = self.plan.signs if rng.random() < _ASKED else None
        thin = settle(way.shape, start(way, self.plan, rng), signs, _ROUNDS)
        if thin is None:
            return
        first = judged(way, thin, 1.0)
        if not first.said:
            first = judged(way, mirrored(thin), 1.0)
        whole = first.said and first.folded
        if not whole and (self.found or signs is not None):
            return  # no lay changes while wires grow, and a fold hardly ever
        form = tightened(way, first.layout, _COARSE)
        if form is not None and form.said and form.folded:
            best = max(self.found, key=_rank, default=None)
            early = len(self.found) < _AGAIN
            if best is None or (not _close(form, best) and (early or form.rank > best.rank)):
                form = self.leaps(form, rng)
            self.found.append(form)
        elif form is not None:
            self.broken.append(form)

    def leaps(self, form: Regular, rng: np.random.Generator) -> Regular:
        """On by large kicks to forms with more room that keep all, until many are in vain."""
        shape, vain = self.way.shape, 0
        while vain < _VAIN:
            vain += 1
            thin = settle(shape, kicked(shape, form.layout, rng, _LEAP), None, _ROUNDS)
            if thin is None or judged(self.way, thin, 1.0).rank[:2] != (True, True):
                continue
            goal = form.room * (1 + _SAME)
            other = tightened(self.way, thin, _COARSE, goal)
            if other is not None and other.rank > (True, True, goal):
                form, vain = other, 0
        return form


def _open(runs: Sequence[_Run], most: int) -> list[_Run]:
    """The ways to search on: each until it has a form, then all until the best is found again."""
    left = [run for run in runs if run.tried < most]
    found = [f for run in runs for f in run.found]
    best = max(found, key=_rank, default=None)
    if best is None:
        return left
    if few := [r for r in left if r.tried < (_LEAST if r.found else _BARE) and not r.plain]:
        return few
    if sum(_close(f, best) for f in found) >= _AGAIN:
        return []
    good = _FAR * best.room
    return [r for r in left if 0 < len(r.found) < _ENOUGH and max(f.room for f in r.found) > good]


def _close(one: Regular, other: Regular) -> bool:
    return one.rank[:2] == other.rank[:2] and abs(one.room / other.room - 1) < _SAME


def _best(pool: Sequence[Regular], most: int) -> list[Regular]:
    """The best of the pool, each form once."""
    out: list[Regular] = []
    for found in sorted(pool, key=_rank, reverse=True):
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


def _hopped(found: Regular, hops: int, rng: np.random.Generator) -> Regular:
    """Small kicks without half-turn images, on from each form that keeps as much with more room."""
    best = _loosened(found)
    for _ in range(hops):
        shape = best.way.shape
        signs = read_links(shape, best.layout).signs
        thin = settle(shape, kicked(shape, best.layout, rng, _KICK), signs, _ROUNDS)
        other = tightened(best.way, thin, _COARSE, best.room)
        if other is not None and _rank(other) > _rank(best):
            other = tightened(best.way, other.layout, _FINE) or other
            best = max(best, other, key=_rank)
    return best if best.rank > (*found.rank[:2], found.room * (1 + _GAIN)) else found
