"""What the tests measure on placed rings, by other means than the program's own."""

from __future__ import annotations

import math

import numpy as np

from ringstep.space.recheck import rim
from ringstep.space.result import PlacedRing


def gauss(one: PlacedRing, other: PlacedRing, points: int = 400) -> float:
    """Gauss's integral for the linking number, summed over a grid of points.

    Lk = 1/(4 pi) oint oint (r1 - r2) . (dr1 x dr2) / |r1 - r2|^3 (Ricca & Nipoti, J. Knot
    Theory Ramif. 20, 2011, 1325-1343). Close to a whole number unless the rings nearly touch.
    """
    step = 2 * math.pi / points
    grid = np.arange(points) * step
    p, q = rim(one, grid), rim(other, grid)
    dp = (np.roll(p, -1, axis=0) - np.roll(p, 1, axis=0)) / 2
    dq = (np.roll(q, -1, axis=0) - np.roll(q, 1, axis=0)) / 2
    line = p[:, None] - q[None]
    top = np.einsum("ijx,ijx->ij", line, np.cross(dp[:, None], dq[None]))
    return float((top / np.linalg.norm(line, axis=2) ** 3).sum() / (4 * math.pi))
