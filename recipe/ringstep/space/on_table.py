"""Where rings that are joined flat lie on the table, before the first of them is laid down.

Rings that every later step goes through together lie on one another, as one heap; heaps that a
ring joins touch, and otherwise lie as far apart as that allows.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ringstep.space.circles import Bools
from ringstep.space.near import Floats
from ringstep.weave.work import Act, Ring

_GAP = 1.02  # of the mean wire, between wires that touch
_OPEN, _REACH = 0.04, 2.0  # how strongly, and within how many touches, heaps are spread apart
_ROUNDS, _SPREAD = 600, 400  # of which the last have no spreading

Heap = tuple[Ring, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """at: the place (x, y) of each heap. round_: how many lie once round a tube, 0 for a sheet."""

    at: dict[Heap, Floats]
    heaps: dict[int, tuple[Heap, ...]]  # by the number of the act that lays them down
    round_: int
    touch: float  # of heaps in the first row


def table_of(
    acts: Sequence[Act],
    size: Callable[[Ring], tuple[float, float]],
    way: Callable[[int], int],
    tube: bool,
) -> Table:
    """Lay out what `acts` lay down; `size`: mean radius and wire, `way`: +1 or -1 along a row."""
    heaps = _heaps(acts)
    all_of = [heap for some in heaps.values() for heap in some]
    number = {ring: k for k, heap in enumerate(all_of) for ring in heap}
    joined = np.zeros((len(all_of), len(all_of)), dtype=bool)
    for act in acts:
        met = {number[r] for r in act.through if r in number} if not act.skipped else set()
        for a, b in itertools.permutations(met, 2):
            joined[a, b] = True
    sizes = np.array([size(heap[0]) for heap in all_of]).reshape(-1, 2)
    touch = sizes[:, None, 0] + sizes[None, :, 0]
    touch = touch + _GAP * (sizes[:, None, 1] + sizes[None, :, 1]) / 2
    first = [k for k, heap in enumerate(all_of) if heap[0].row == all_of[0][0].row]
    step = float(touch[0, 0]) if all_of else 0.0
    period = step * len(first) if tube else 0.0
    at = _one_by_one(all_of, joined, touch, way, tube)
    at = _spread(at, joined, touch, period)
    return Table(dict(zip(all_of, at, strict=True)), heaps, len(first) if tube else 0, step)


def _heaps(acts: Sequence[Act]) -> dict[int, tuple[Heap, ...]]:
    """Rings laid down by each act, those that are always gone through at one place as one heap."""
    passed: dict[Ring, list[tuple[int, int]]] = {}
    for number, act in enumerate(acts):
        for place, rings in enumerate(act.stops or (act.through,)):
            for ring in rings if not act.skipped else ():
                passed.setdefault(ring, []).append((number, place))
    found = {}
    for number, act in enumerate(acts):
        if act.new and not act.through and not act.skipped and act.block.kind != "first row":
            heaps: dict[object, list[Ring]] = {}
            for ring in act.new:
                heaps.setdefault((ring.role, tuple(passed.get(ring, ()))), []).append(ring)
            found[number] = tuple(tuple(heap) for heap in heaps.values())
    return found


def _one_by_one(
    heaps: Sequence[Heap], joined: Bools, touch: Floats, way: Callable[[int], int], tube: bool
) -> Floats:
    """Each beside and below those it is joined to that lie already, touching all of them."""
    at = np.zeros((len(heaps), 2))
    for k, heap in enumerate(heaps):
        row, unit = heap[0].row, heap[0].unit
        there = [m for m in range(k) if joined[k, m]]
        # a row closed to a round joins its last heap to its first, which lies there already
        if tube:
            there = [m for m in there if heaps[m][0].row != row or abs(heaps[m][0].unit - unit) < 2]
        beside = [at[m] for m in there if heaps[m][0].row == row]
        above = [at[m] for m in there if heaps[m][0].row != row]
        far = touch[k, k]
        if beside:
            at[k] = np.mean(beside, axis=0) + np.array([way(row) * far, 0.0])
            if above:
                at[k, 1] = min(at[k, 1], float(np.mean(above, axis=0)[1]) - 0.8 * far)
        elif above:
            at[k] = np.mean(above, axis=0) - np.array([0.0, far])
        else:
            at[k] = [unit * far, 1.5 * (heaps[0][0].row - row) * far]
        for _ in range(20 if there else 0):  # by least squares
            off = at[k] - at[there]
            apart = np.maximum(np.linalg.norm(off, axis=1), 1e-6)
            at[k] += np.linalg.lstsq(off / apart[:, None], touch[k, there] - apart, rcond=None)[0]
    return at


def _spread(at: Floats, joined: Bools, touch: Floats, period: float) -> Floats:
    """Heaps that are joined drawn until they touch, all others led apart."""
    at = at.copy()
    other = ~np.eye(len(at), dtype=bool)
    for round_ in range(_ROUNDS if len(at) > 1 else 0):
        off = at[:, None] - at[None]
        if period:
            off[..., 0] -= period * np.round(off[..., 0] / period)
        apart = np.linalg.norm(off, axis=2)
        miss = np.where(joined, touch - apart, np.maximum(touch - apart, 0.0))
        push = 0.2 * miss
        if round_ < _SPREAD:
            open_ = np.maximum(1 - apart / (_REACH * touch), 0.0)
            push = push + _OPEN * (1 - round_ / _SPREAD) * np.where(joined, 0.0, open_)
        push = np.where(other, push, 0.0)
        at += np.einsum("ij,ijx->ix", push / np.maximum(apart, 1e-9), off)
    return at
