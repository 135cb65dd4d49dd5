"""An independent second look at a pose: plain polygons and sampled distances, no shared formulas.

Nothing here is taken from `circles`; it is slow and simple on purpose.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ringstep.space.cell import Cell, Shift
from ringstep.space.result import PlacedRing, Pose, copies

Floats = NDArray[np.floating[Any]]

_POINTS = 120


@dataclass(frozen=True, slots=True)
class Recheck:
    """What the second look saw."""

    missing: tuple[tuple[int, int, Shift], ...]  # should be linked and is not
    extra: tuple[tuple[int, int, Shift], ...]  # is linked and should not be
    gap: float  # least gap between two wires' surfaces, mm
    pairs: int  # how many pairs were looked at

    def right(self, tolerance: float = 0.0) -> bool:
        """All links right, and no two wires overlap by more than `tolerance` mm."""
        return not self.missing and not self.extra and self.gap >= -tolerance


def recheck(pose: Pose, cell: Cell) -> Recheck:
    """Compare a pose with the cell's links, over every neighbour near enough to touch."""
    wanted = set()
    for link in cell.links:
        wanted.add((link.a, link.b, link.shift))
        wanted.add((link.b, link.a, tuple(-k for k in link.shift)))
    home = copies(pose, [(0,) * cell.dims])
    missing, extra, gap, count = [], [], math.inf, 0
    for shift in _neighbours(pose, cell.dims):
        there = copies(pose, [shift])
        for i, one in enumerate(home):
            for j, other in enumerate(there):
                if (not any(shift) and j <= i) or (any(shift) and shift < (0,) * cell.dims):
                    continue
                linked = (i, j, shift) in wanted
                apart = math.dist(one.centre, other.centre)
                reach = one.mean_radius + other.mean_radius
                if apart > reach + one.wire + other.wire and not linked:
                    continue
                count += 1
                seen = crossings(one, other) != 0
                if linked and not seen:
                    missing.append((i, j, shift))
                if seen and not linked:
                    extra.append((i, j, shift))
                both = (one.wire + other.wire) / 2
                gap = min(gap, distance(one, other, gap + both) - both)
    return Recheck(tuple(missing), tuple(extra), gap, count)


def _neighbours(pose: Pose, dims: int) -> list[Shift]:
    if dims == 0:
        return [()]
    spread = np.ptp(np.array([r.centre for r in pose.rings]), axis=0)
    far = 2 * max(r.mean_radius + r.wire for r in pose.rings)
    if dims == 1:
        top = int((spread[0] + far) / pose.repeat[0]) + 1
        return [(k,) for k in range(-top, top + 1)]
    a, b, c = pose.repeat
    rows = int((spread[1] + far) / c) + 1
    places = int((spread[0] + far + rows * abs(b)) / a) + 1
    return list(itertools.product(range(-places, places + 1), range(-rows, rows + 1)))


def rim(ring: PlacedRing, angles: Floats) -> Floats:
    """Points of a ring's centre line at these angles, (n, 3)."""
    x, y, z = ring.normal
    # two directions across the normal, by turning the z axis onto it
    first = np.array([1 - x * x / (1 + z), -x * y / (1 + z), -x]) if z > -0.9 else None
    if first is None:
        first = np.array([1 - x * x / (1 - z), -x * y / (1 - z), x])
    second = np.cross(np.array(ring.normal), first)
    arms = np.outer(np.cos(angles), first) + np.outer(np.sin(angles), second)
    points: Floats = np.array(ring.centre) + ring.mean_radius * arms
    return points


def crossings(one: PlacedRing, other: PlacedRing) -> int:
    """How often, signed, the polygon of one ring passes through the other's disc."""
    points = rim(one, np.arange(_POINTS * 2) * (math.pi / _POINTS))
    points = np.concatenate([points, points[:1]])  # shut exactly, or the seam can slip through
    above = (points - np.array(other.centre)) @ np.array(other.normal)
    total = 0
    for k in np.nonzero((above[:-1] < 0) != (above[1:] < 0))[0]:
        share = above[k] / (above[k] - above[k + 1])
        through = points[k] + share * (points[k + 1] - points[k])
        if math.dist(through, other.centre) < other.mean_radius:
            total += 1 if above[k + 1] > above[k] else -1
    return total


def distance(one: PlacedRing, other: PlacedRing, below: float = math.inf) -> float:
    """Least distance of two rings' centre lines: a grid of samples, made finer at its least.

    Where it cannot be less than `below`, the grid alone is good enough.
    """
    grid = np.arange(_POINTS) * (2 * math.pi / _POINTS)
    p, q = rim(one, grid), rim(other, grid)
    table = np.linalg.norm(p[:, None] - q[None], axis=2)
    best = float(table.min())
    if best - math.pi / _POINTS * (one.mean_radius + other.mean_radius) > below:
        return best
    few = np.argpartition(table, 300, axis=None)[:300]
    order = few[np.argsort(table.reshape(-1)[few])]
    tried: list[tuple[float, float]] = []
    for flat in order:
        at = (float(grid[flat // _POINTS]), float(grid[flat % _POINTS]))
        if any(_near(at, t) for t in tried):
            continue
        tried.append(at)
        best = min(best, _finer(one, other, at))
        if len(tried) >= 3:
            break
    return best


def _near(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return all(
        abs((a - b + math.pi) % (2 * math.pi) - math.pi) < 0.25
        for a, b in zip(one, other, strict=True)
    )


def _finer(one: PlacedRing, other: PlacedRing, at: tuple[float, float]) -> float:
    a, b = at
    half, best = 2 * math.pi / _POINTS, math.inf
    for _ in range(10):
        steps = np.linspace(-half, half, 11)
        table = np.linalg.norm(rim(one, a + steps)[:, None] - rim(other, b + steps)[None], axis=2)
        i, j = np.unravel_index(int(table.argmin()), table.shape)
        best = min(best, float(table[i, j]))
        a, b, half = a + float(steps[i]), b + float(steps[j]), half / 2.5
    return best
