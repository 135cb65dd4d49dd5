"""A small linear programme: least c.x subject to A x <= b, by a primal-dual inner path.

Dense, for some tens of unknowns and some hundreds of rows; the rows must bound x. Method:
Mehrotra's predictor and corrector (SIAM J. Optim. 2, 1992, 575-601; from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]


def solve(cost: Floats, rows: Floats, limits: Floats, tolerance: float = 1e-9) -> Floats | None:
    """The x (n,) of least cost, or None where the method does not settle."""
    count, size = rows.shape
    x = np.zeros(size)
    s = np.maximum(limits, 0.1)
    z = np.ones(count)
    tiny = 1e-12 * np.eye(size)
    scale = 1.0 + float(np.abs(limits).max())
    # with a smaller mu the matrix has no digits left, so more is not asked of the dual
    near = 1e-5 * (1.0 + float(np.abs(cost).max()))
    for _ in range(60):
        dual = cost + rows.T @ z
        primal = rows @ x + s - limits
        mu = float(s @ z) / count
        if mu < tolerance and np.abs(primal).max() < 1e-8 * scale and np.abs(dual).max() < near:
            return x
        weight = z / s
        matrix = (rows * weight[:, None]).T @ rows
        matrix += tiny * max(1.0, float(np.trace(matrix)) / size)
        try:
            inverse = np.linalg.inv(matrix)
        except np.linalg.LinAlgError:
            return None

        def direction(
            both: Floats,
            dual: Floats = dual,
            primal: Floats = primal,
            s: Floats = s,
            z: Floats = z,
            inverse: Floats = inverse,
        ) -> tuple[Floats, Floats, Floats]:
            dx = inverse @ (-dual - rows.T @ ((z * primal - both) / s))
            ds = -primal - rows @ dx
            return dx, ds, (-both - z * ds) / s

        _, ds, dz = direction(s * z)
        ap, ad = _longest(s, ds), _longest(z, dz)
        ahead = float((s + ap * ds) @ (z + ad * dz)) / count
        centre = (ahead / mu) ** 3
        dx, ds, dz = direction(s * z + ds * dz - centre * mu)
        ap, ad = 0.99 * _longest(s, ds), 0.99 * _longest(z, dz)
        x, s, z = x + ap * dx, s + ap * ds, z + ad * dz
        if not np.all(np.isfinite(x)):
            return None
    return x if np.abs(rows @ x + s - limits).max() < 1e-5 * scale else None


def _longest(value: Floats, change: Floats) -> float:
    """The longest step, at most 1, that keeps every value above 0."""
    steepest = float((change / value).min())
    return 1.0 if steepest > -1.0 else -1.0 / steepest
