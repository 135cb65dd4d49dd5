"""First phase: thin rings are pushed until every link is right and no two rings are near.

A pair in its right state is pushed apart to a small gap; a pair in the wrong state is driven
through its nearest place (the signed gap runs smoothly through a crossing). Damped least
squares (Levenberg-Marquardt) on those terms. Several starts are settled at once, each by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringstep.space.circles import (
    Hands,
    Layout,
    Pairs,
    Shape,
    as_wanted,
    assemble,
    hands,
    linking,
    moved,
    near_pairs,
    stacked,
    touches,
)
from ringstep.space.near import Floats, Ints, cross
from ringstep.space.symmetry import imposed, spread

THIN = 0.15  # gap aimed at, in largest mean radii
_SIGN_ROOM = 0.25  # least (n_i x n_j).(c_j - c_i) aimed at for a link of stated sign
_FEW = 30  # angles looked at round a ring: thin rings need no more
_SHORTEST = 0.2  # a unit is never let shrink below this
_TRIES = 6  # dampings tried before a start is stuck


@dataclass(frozen=True, slots=True, eq=False)
class Links:
    """The state of every pair that matters: are all links right, with which signs."""

    right: bool
    signs: Ints  # per link of the cell, 0 where it is missing


def read_links(shape: Shape, layout: Layout) -> Links:
    """Test every pair that could be linked."""
    pairs = near_pairs(shape, layout, 0.0)
    state = linking(shape, pairs)
    signs = np.zeros(len(shape.link_a), dtype=np.int64)
    signs[pairs.link[pairs.wanted]] = state[pairs.wanted]
    return Links(bool(np.all((state != 0) == pairs.wanted)), signs)


def settle(
    shape: Shape, start: Layout, signs: Ints | None = None, rounds: int = 60, gap: float = THIN
) -> Layout | None:
    """A layout with every link right near `start`, or None.

    `signs` (per link, 0 where free) asks for signs of the links. The gap reached is at least
    a third of `gap`.
    """
    return settle_all(shape, [start], [signs], rounds, gap)[0]


def settle_all(
    shape: Shape,
    starts: Sequence[Layout],
    signs: Sequence[Ints | None],
    rounds: int = 60,
    gap: float = THIN,
) -> list[Layout | None]:
    """The same of several starts, each with the signs asked of it."""
    size = len(starts)
    asked = np.zeros((size, len(shape.link_a)), dtype=np.int64)
    for at, want in enumerate(signs):
        if want is not None:
            asked[at] = want
    layout = imposed(shape, stacked(starts))
    now = _terms(shape, layout, asked, gap)
    damping, done, tried = np.full(size, 1e-2), np.zeros(size, int), np.zeros(size, int)
    while True:
        going = (now.worst >= 0.02 * gap) & (done < rounds) & (tried < _TRIES)
        some = np.nonzero(going)[0]
        if not len(some):
            break
        damped = now.matrix[some] + damping[some, None, None] * np.eye(now.matrix.shape[1])
        step = np.linalg.solve(damped, now.pull[some, :, None])
        step *= 0.5 / np.maximum(0.5, np.abs(step).max(axis=1, keepdims=True))
        whole = (now.free[some] @ step)[..., 0]
        after = _kept_long(shape, moved(shape, layout.at(some), whole))
        then = _terms(shape, after, asked[some], gap)
        better = then.cost < now.cost[some] * (1 - 1e-4)
        won = some[better]
        for mine, new in ((layout, after), (now, then)):
            for name in mine.__slots__:
                getattr(mine, name)[won] = getattr(new, name)[better]
        damping[won], tried[won] = np.maximum(damping[won] / 5, 1e-6), 0
        done[won] += 1
        lost = some[~better]
        damping[lost] *= 4
        tried[lost] += 1
    out: list[Layout | None] = []
    for at in range(size):
        one = layout.at(at)
        found = read_links(shape, one) if now.worst[at] <= 0.67 * gap else None
        odd = found is None or np.any((asked[at] != 0) & (asked[at] != found.signs))
        out.append(None if found is None or odd or not found.right else one)
    return out


def _kept_long(shape: Shape, layout: Layout) -> Layout:
    repeat = layout.repeat.copy()
    if shape.dims == 1:
        repeat[..., 0] = np.maximum(repeat[..., 0], _SHORTEST)
    elif shape.dims == 2:
        for side in (0, 2):
            repeat[..., side] = np.maximum(repeat[..., side], 2 * _SHORTEST)
    return imposed(shape, Layout(layout.centres, layout.normals, repeat))


@dataclass(frozen=True, slots=True, eq=False)
class _Terms:
    """Of several layouts: what a step of least squares needs, and how far all is from right."""

    free: Floats  # (b, variables, free variables)
    matrix: Floats  # (b, free variables, free variables)
    pull: Floats  # (b, free variables)
    cost: Floats  # (b,) sum of squares
    worst: Floats  # (b,) greatest miss


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """What is missing somewhere, and the hands that would mend it: one row each."""

    pair: Ints
    missing: Floats
    hands: Hands


def _terms(shape: Shape, layout: Layout, signs: Ints, gap: float) -> _Terms:
    """Rows of least squares and what is missing, drawn together for each layout."""
    size, pairs = len(layout.centres), near_pairs(shape, layout, gap)
    near = _touching(shape, pairs, gap)
    worst, cost = np.zeros(size), np.zeros(size)
    np.maximum.at(worst, pairs.of[near.pair], near.missing)
    bent = _bent(pairs, signs)
    pair = np.concatenate([near.pair, bent.pair])
    missing = np.concatenate([near.missing, bent.missing])
    a, b, c, d = (np.concatenate(both) for both in zip(near.hands, bent.hands, strict=True))
    of, rows = pairs.of[pair], assemble(shape, layout, pairs, pair, (a, b, c, d))
    free = spread(shape, layout)
    matrix, pull = np.zeros((size, *2 * free.shape[2:])), np.zeros((size, *free.shape[2:]))
    for at in range(size):
        mine = of == at
        part = rows[mine] @ free[at]
        matrix[at], pull[at] = part.T @ part, part.T @ missing[mine]
    np.add.at(cost, of, missing**2)
    return _Terms(free, matrix, pull, cost, worst)


def _touching(shape: Shape, pairs: Pairs, gap: float) -> _Rows:
    """Pairs in their right state that are too near, and those in the wrong one."""
    right = as_wanted(shape, pairs)
    near = touches(shape, pairs, None, np.where(right, gap, np.inf), _FEW)
    # of a pair in the wrong state only the nearest place counts
    nearest = np.full(len(right), np.inf)
    np.minimum.at(nearest, near.pair, near.gap)
    fits = right[near.pair]
    near = near.only(np.where(fits, near.gap < gap, near.gap <= nearest[near.pair] + 1e-12))
    way = np.where(right[near.pair], 1.0, -1.0)
    return _Rows(near.pair, gap - way * near.gap, hands(near, way))


def _bent(pairs: Pairs, signs: Ints) -> _Rows:
    """Links that do not clearly have the sign asked of them."""
    pair = np.nonzero((pairs.link >= 0) & (signs[pairs.of, pairs.link] != 0))[0]
    sign = signs[pairs.of[pair], pairs.link[pair]].astype(np.float64)[:, None]
    ni, nj, apart = pairs.normal_i[pair], pairs.normal_j[pair], pairs.apart[pair]
    m = sign * cross(ni, nj)
    missing = _SIGN_ROOM - np.einsum("px,px->p", m, apart)
    torques = sign * cross(ni, cross(nj, apart)), sign * cross(nj, cross(apart, ni))
    short = missing > 0
    turn_i, turn_j = (torque[short] for torque in torques)
    return _Rows(pair[short], missing[short], (-m[short], m[short], turn_i, turn_j))
