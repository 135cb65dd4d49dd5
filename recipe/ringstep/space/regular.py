"""A chain's form: the repeating unit with a symmetry imposed, and what of folds and lays it keeps.

In: `Cell` of a chain. Out: the `Way`s in which it may repeat, and where the search begins in each:
at random but for one roll a role, so that planes run along the chain, those of linked roles
crosswise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringstep.space import lays, units
from ringstep.space.between import Between, betweens, folded_past, kept
from ringstep.space.cell import Cell
from ringstep.space.circles import Layout, Shape, Symmetry, links_of, shape_of
from ringstep.space.near import Floats, Ints, cross
from ringstep.space.relax import read_links
from ringstep.space.result import Turn
from ringstep.space.symmetry import imposed, mirrored_lays, of_twins, under, with_glide

_SEAT, _LEAN = 0.2, 0.3  # spread of places across the chain, in mean radii, and of normals
_BESIDE = 0.3  # share of that between the two rings of a pair
_PLAIN = 1e-4  # share of room that a turn from unit to unit must gain


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

    def worth(self) -> tuple[bool, bool, float]:
        """The same; of equal forms that is best that repeats without a turn."""
        plain = self.way.turn == "none"
        return self.said, self.folded, self.room * (1 + _PLAIN if plain else 1.0)


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
    made = links_of(shape, imposed(shape, layout))
    facing = cross(made.normal_i, made.normal_j)[:, 0] * order
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
