"""Rings of a finite piece moved gently: pulled at a place, held by soft springs, never overlapping.

In: a `Shape` of a single piece, where its rings lie, which of them are free, and pulls. Out: where
they lie then; no link has changed. Each step is a small damped least-squares step in which wires
press on one another only one way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringstep.space.circles import (
    Layout,
    Pairs,
    Shape,
    Touches,
    as_wanted,
    moved,
    near_pairs,
    placed,
    slopes,
    touches,
)
from ringstep.space.near import Floats, across, cross, rim

_PULL = 0.3  # how hard a hand pulls at most
_FARTHEST = 0.1  # a place moves no farther in one step, in largest mean radii
_STIFF, _DRAG, _SOFT = 300.0, 0.4, 0.15  # of contact, of every move, of the springs to home
_PASSES = 4
_SPARE = 2e-4  # share of the wire by which wires are kept apart beyond touching
_REST, _IDLE = 2e-3, 6  # so many steps that bring no pull farther end the motion


@dataclass(frozen=True, slots=True, eq=False)
class Pull:
    """A ring pulled at its place farthest along `tip` towards `way`, until it is at `aim` there.

    tip, way: unit vectors (3,). aim: how far along `way` the place is to come.
    """

    ring: int
    tip: Floats
    way: Floats
    aim: float

    def grip(self, shape: Shape, layout: Layout) -> tuple[Floats, Floats, float]:
        """From the ring's centre to the place held, which way it is pulled, and how far yet."""
        lever = rim(layout.normals[self.ring], shape.radii[self.ring], self.tip)
        return lever, self.way, self.aim - float((layout.centres[self.ring] + lever) @ self.way)

    def come(self, shape: Shape, layout: Layout) -> float:
        """How far it has come; grows."""
        return -abs(self.grip(shape, layout)[2])


@dataclass(frozen=True, slots=True, eq=False)
class Swing:
    """A ring turned about the place `pivot` (3,) by its far side, until that points along `way`."""

    ring: int
    pivot: Floats
    way: Floats

    def grip(self, shape: Shape, layout: Layout) -> tuple[Floats, Floats, float]:
        """As for `Pull`."""
        centre = layout.centres[self.ring]
        lever = rim(layout.normals[self.ring], shape.radii[self.ring], centre - self.pivot)
        out = centre + lever - self.pivot
        out /= max(float(np.linalg.norm(out)), 1e-9)
        turn = self.way - (self.way @ out) * out
        size = float(np.linalg.norm(turn))
        if out @ self.way > 0.9 or size < 1e-6:
            return lever, self.way, _PULL
        return lever, turn / size, _PULL

    def come(self, shape: Shape, layout: Layout) -> float:
        """As for `Pull`."""
        lever, _, _ = self.grip(shape, layout)
        return float((layout.centres[self.ring] + lever) @ self.way)


def overlap(shape: Shape, layout: Layout, free: Sequence[int]) -> float:
    """How deep the wires of free rings lie in others at most, in the thinnest wire; 0 if not."""
    pairs = _pairs(shape, layout, free, 0.0)
    t = _touching(shape, pairs, 0.0)
    need = (shape.wires[pairs.i] + shape.wires[pairs.j])[t.pair] / 2
    return max(float((need - t.gap).max(initial=0.0)), 0.0) / float(shape.wires.min())


def links_right(shape: Shape, layout: Layout) -> bool:
    """Are just the wanted rings linked?"""
    return bool(as_wanted(shape, near_pairs(shape, layout, 0.0)).all())


def pulled(
    shape: Shape,
    start: Layout,
    home: Layout,
    free: Sequence[int],
    pulls: Sequence[Pull | Swing],
    rounds: int = 90,
) -> Layout:
    """The rings after the pulls; free rings that are not pulled hang on springs to `home`."""
    layout = start
    handled = {p.ring for p in pulls}
    soft = np.array([0.0 if ring in handled else _SOFT for ring in free])
    best, idle = -np.inf, 0
    for _ in range(rounds):
        after = _step(shape, layout, home, free, pulls, soft, _STIFF)
        if after is None:
            break
        layout = after
        now = sum(pull.come(shape, layout) for pull in pulls)
        idle = 0 if now > best + _REST else idle + 1
        best = max(best, now)
        if idle >= _IDLE:
            break
    return parted(shape, layout, free)


def parted(shape: Shape, layout: Layout, free: Sequence[int], rounds: int = 60) -> Layout:
    """The rings moved by nothing but contact until no wires overlap, as far as that goes."""
    none = np.zeros(len(free))
    for _ in range(rounds):
        if overlap(shape, layout, free) == 0.0:
            break
        after = _step(shape, layout, layout, free, (), none, 1e5)
        if after is None:
            break
        layout = after
    return layout


def _pairs(shape: Shape, layout: Layout, free: Sequence[int], reach: float) -> Pairs:
    """The pairs of which at least one is free and whose wires come near."""
    pairs = near_pairs(shape, layout, float(shape.wires.max()) + reach)
    mine = np.zeros(shape.count, dtype=bool)
    mine[list(free)] = True
    return pairs.only(mine[pairs.i] | mine[pairs.j])


def _touching(shape: Shape, pairs: Pairs, reach: float, within: float | None = None) -> Touches:
    """Where they come as near as they were looked for."""
    far = np.full(len(pairs.i), float(shape.wires.max()) + reach)
    return touches(shape, pairs, within, far)


def _columns(shape: Shape, free: Sequence[int]) -> list[int]:
    n = shape.count
    return [3 * r + a for r in free for a in range(3)] + [
        3 * n + 2 * r + a for r in free for a in range(2)
    ]


def _step(
    shape: Shape,
    layout: Layout,
    home: Layout,
    free: Sequence[int],
    pulls: Sequence[Pull | Swing],
    soft: Floats,
    stiff: float,
) -> Layout | None:
    """One small step, or None where any would change a link."""
    columns, count = _columns(shape, free), len(free)
    matrix = _DRAG * np.eye(5 * count) if pulls else 1.0 * np.eye(5 * count)
    force = np.zeros(5 * count)
    u, v = across(layout.normals)
    _springs(layout, home, free, soft, matrix, force, u, v)
    for pull in pulls:
        lever, way, left = pull.grip(shape, layout)
        at, turn = list(free).index(pull.ring), cross(lever, way)
        row = np.zeros(5 * count)
        row[3 * at : 3 * at + 3] = way
        row[3 * count + 2 * at] = turn @ u[pull.ring]
        row[3 * count + 2 * at + 1] = turn @ v[pull.ring]
        matrix += np.outer(row, row)
        force += row * float(np.clip(left, -_PULL, _PULL))
    pairs = _pairs(shape, layout, free, 3 * _FARTHEST)
    t = _touching(shape, pairs, 3 * _FARTHEST, 0.05)
    need = (shape.wires[pairs.i] + shape.wires[pairs.j])[t.pair] / 2 * (1 + _SPARE)
    rows, miss = slopes(shape, layout, pairs, t)[:, columns], need - t.gap
    step = np.linalg.solve(matrix, force)
    pressed = np.zeros(len(miss), dtype=bool)
    for _ in range(_PASSES):
        more = miss - rows @ step > 1e-9
        if np.all(more <= pressed):
            break
        pressed |= more
        a = rows[pressed]
        step = np.linalg.solve(matrix + stiff * a.T @ a, force + stiff * a.T @ miss[pressed])
    size = float(np.abs(step).max(initial=0.0))
    if size > _FARTHEST:
        step *= _FARTHEST / size
    whole = np.zeros(shape.variables)
    for _ in range(5):
        whole[columns] = step
        after = moved(shape, layout, whole)
        # pairs farther apart than those looked at cannot come to be linked in so small a step
        if as_wanted(shape, placed(after, pairs)).all():
            return after
        step /= 2
    return None


def _springs(
    layout: Layout,
    home: Layout,
    free: Sequence[int],
    soft: Floats,
    matrix: Floats,
    force: Floats,
    u: Floats,
    v: Floats,
) -> None:
    """Add the springs that draw free rings to where they were."""
    count, where = len(free), np.array(free, dtype=np.int64)
    back = (home.centres - layout.centres)[where]
    turn = cross(layout.normals[where], home.normals[where])
    force[: 3 * count] += (back * soft[:, None]).reshape(-1)
    both = np.stack([(turn * u[where]).sum(axis=1), (turn * v[where]).sum(axis=1)], axis=1)
    force[3 * count :] += (both * soft[:, None]).reshape(-1)
    matrix[np.diag_indices(3 * count)] += np.repeat(soft, 3)
    last = np.arange(3 * count, 5 * count)
    matrix[last, last] += np.repeat(soft, 2)
