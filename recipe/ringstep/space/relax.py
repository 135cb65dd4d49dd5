"""First phase: thin rings are pushed until every link is right and no two rings are near.

A pair in its right state is pushed apart to a small gap; a pair in the wrong state is driven
through its nearest place (the signed gap runs smoothly through a crossing). Damped least
squares (Levenberg-Marquardt) on those terms.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringstep.space.circles import (
    Layout,
    Shape,
    assemble,
    linking,
    moved,
    near_pairs,
    pairs_at,
    slopes,
    touches,
)
from ringstep.space.near import Floats, Ints, cross
from ringstep.space.symmetry import imposed, spread

THIN = 0.15  # gap aimed at, in largest mean radii
_SIGN_ROOM = 0.25  # least (n_i x n_j).(c_j - c_i) aimed at for a link of stated sign
_FEW = 30  # angles looked at round a ring: thin rings need no more
_SHORTEST = 0.2  # a unit is never let shrink below this


@dataclass(frozen=True, slots=True, eq=False)
class Links:
    """The state of every pair that matters: are all links right, with which signs."""

    right: bool
    signs: Ints  # per link of the cell, 0 where it is missing


def read_links(shape: Shape, layout: Layout) -> Links:
    """Test every pair that could be linked."""
    pairs = near_pairs(shape, layout, 0.0)
    state = linking(shape, layout, pairs)
    signs = np.zeros(len(shape.link_key), dtype=np.int64)
    signs[pairs.link[pairs.wanted]] = state[pairs.wanted]
    return Links(bool(np.all((state != 0) == pairs.wanted)), signs)


def settle(
    shape: Shape, start: Layout, signs: Ints | None = None, rounds: int = 60, gap: float = THIN
) -> Layout | None:
    """A layout with every link right near `start`, or None.

    `signs` (per link, 0 where free) asks for signs of the links. The gap reached is at least
    a third of `gap`.
    """
    shape = replace(shape, samples=_FEW)
    layout, damping = imposed(shape, start), 1e-2
    rows, residual, worst = _terms(shape, layout, signs, gap)
    cost = float(residual @ residual)
    for _ in range(rounds):
        if worst < 0.02 * gap:
            break
        free = spread(shape, layout)
        rows = rows @ free
        matrix = rows.T @ rows
        pull = rows.T @ residual
        better = False
        for _ in range(6):
            damped = matrix + damping * np.eye(len(matrix))
            step = np.linalg.solve(damped, pull)
            size = float(np.abs(step).max())
            if size > 0.5:
                step *= 0.5 / size
            after = _kept_long(shape, moved(shape, layout, free @ step))
            rows2, residual2, worst2 = _terms(shape, after, signs, gap)
            cost2 = float(residual2 @ residual2)
            if cost2 < cost * (1 - 1e-4):
                better = True
                break
            damping *= 4
        if not better:
            break
        layout, rows, residual, worst, cost = after, rows2, residual2, worst2, cost2
        damping = max(damping / 5, 1e-6)
    if worst > 0.67 * gap:
        return None
    found = read_links(shape, layout)
    if not found.right:
        return None
    if signs is not None and np.any((signs != 0) & (signs != found.signs)):
        return None
    return layout


def _kept_long(shape: Shape, layout: Layout) -> Layout:
    repeat = layout.repeat.copy()
    if shape.dims == 1:
        repeat[0] = max(repeat[0], _SHORTEST)
    elif shape.dims == 2:
        repeat[0], repeat[2] = max(repeat[0], 2 * _SHORTEST), max(repeat[2], 2 * _SHORTEST)
    return imposed(shape, Layout(layout.centres, layout.normals, repeat))


def _terms(
    shape: Shape, layout: Layout, signs: Ints | None, gap: float
) -> tuple[Floats, Floats, float]:
    """Rows, what is missing, and the worst miss. A step of rows @ step = missing mends all."""
    pairs = near_pairs(shape, layout, gap)
    state = linking(shape, layout, pairs)
    right = (state != 0) == pairs.wanted
    t = touches(shape, layout, pairs)
    good = right[t.pair]
    # of a pair in the wrong state only the nearest place counts
    nearest = np.full(len(pairs.i), np.inf)
    np.minimum.at(nearest, t.pair, t.gap)
    keep = np.where(good, t.gap < gap, t.gap <= nearest[t.pair] + 1e-12)
    t = t.only(keep)
    good = right[t.pair]
    rows = slopes(shape, layout, pairs, t)
    rows[~good] *= -1
    missing = np.where(good, gap - t.gap, gap + t.gap)
    worst = float(missing.max()) if len(missing) else 0.0
    if signs is not None and np.any(signs):
        sign_rows, sign_missing = _sign_terms(shape, layout, signs)
        rows = np.concatenate([rows, sign_rows])
        missing = np.concatenate([missing, sign_missing])
    return rows, missing, worst


def _sign_terms(shape: Shape, layout: Layout, signs: Ints) -> tuple[Floats, Floats]:
    chosen = np.nonzero(signs)[0]
    pairs = pairs_at(
        shape, layout, shape.link_a[chosen], shape.link_b[chosen], shape.link_shift[chosen]
    )
    sign = signs[chosen].astype(np.float64)[:, None]
    ni, nj, apart = layout.normals[pairs.i], pairs.normal_j, pairs.apart
    m = cross(ni, nj)
    missing = _SIGN_ROOM - sign[:, 0] * np.einsum("px,px->p", m, apart)
    short = missing > 0
    rows = assemble(
        shape,
        layout,
        pairs,
        np.arange(len(chosen)),
        -sign * m,
        sign * m,
        sign * cross(ni, cross(nj, apart)),
        sign * cross(nj, cross(apart, ni)),
    )
    return rows[short], missing[short]
