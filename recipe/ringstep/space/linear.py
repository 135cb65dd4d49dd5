"""Small linear programmes: least c.x subject to A x <= b, by a primal-dual inner path.

Dense, for some tens of unknowns and some hundreds of rows; the rows must bound x. Several of one
size are solved at once, each by itself. Method: Mehrotra's predictor and corrector (SIAM J. Optim.
2, 1992, 575-601; from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]


@np.errstate(over="ignore", invalid="ignore")  # what has no solution runs off, and is left
def solve(
    cost: Floats, rows: Floats, limits: Floats, tolerance: float = 1e-9
) -> list[Floats | None]:
    """The x (n,) of least cost of each programme, or None where the method does not settle.

    cost: (b, n). rows: (b, m, n). limits: (b, m).
    """
    count, size = rows.shape[1:]
    found: list[Floats | None] = [None] * len(cost)
    x, z = np.zeros_like(cost), np.ones_like(limits)
    s = np.maximum(limits, 0.1)
    tiny = 1e-12 * np.eye(size)
    scale = 1.0 + np.abs(limits).max(axis=1)
    # with a smaller mu the matrix has no digits left, so more is not asked of the dual
    near = 1e-5 * (1.0 + np.abs(cost).max(axis=1))
    still = np.arange(len(cost))
    for _ in range(60):
        dual = cost + _times(z, rows)
        primal = _times(rows, x) + s - limits
        mu = (s * z).sum(axis=1) / count
        done = (mu < tolerance) & (np.abs(primal).max(axis=1) < 1e-8 * scale)
        done &= np.abs(dual).max(axis=1) < near
        lost = ~np.isfinite(x).all(axis=1)
        if np.any(done | lost):
            for at in np.nonzero(done)[0]:
                found[still[at]] = x[at]
            left = ~(done | lost)
            every = (still, cost, rows, limits, scale, near, x, s, z, dual, primal, mu)
            still, cost, rows, limits, scale, near, x, s, z, dual, primal, mu = (
                a[left] for a in every
            )
            if not len(still):
                return found
        matrix = (rows * (z / s)[:, :, None]).transpose(0, 2, 1) @ rows
        trace = np.trace(matrix, axis1=1, axis2=2) / size
        matrix += tiny * np.maximum(1.0, trace)[:, None, None]
        try:
            inverse = np.linalg.inv(matrix)
        except np.linalg.LinAlgError:
            return found

        def direction(
            both: Floats,
            dual: Floats = dual,
            primal: Floats = primal,
            rows: Floats = rows,
            s: Floats = s,
            z: Floats = z,
            inverse: Floats = inverse,
        ) -> tuple[Floats, Floats, Floats]:
            dx = _times(inverse, -dual - _times((z * primal - both) / s, rows))
            ds = -primal - _times(rows, dx)
            return dx, ds, (-both - z * ds) / s

        _, ds, dz = direction(s * z)
        ap, ad = _longest(s, ds), _longest(z, dz)
        ahead = ((s + ap * ds) * (z + ad * dz)).sum(axis=1) / count
        centre = ((ahead / mu) ** 3 * mu)[:, None]
        dx, ds, dz = direction(s * z + ds * dz - centre)
        ap, ad = 0.99 * _longest(s, ds), 0.99 * _longest(z, dz)
        x, s, z = x + ap * dx, s + ap * ds, z + ad * dz
    short = np.abs(_times(rows, x) + s - limits).max(axis=1)
    for at in np.nonzero(short < 1e-5 * scale)[0]:
        found[still[at]] = x[at]
    return found


def _times(one: Floats, other: Floats) -> Floats:
    """Each matrix times its vector, or each vector times its matrix."""
    if one.ndim < other.ndim:
        return (one[:, None, :] @ other)[:, 0]
    out: Floats = (one @ other[:, :, None])[:, :, 0]
    return out


def _longest(value: Floats, change: Floats) -> Floats:
    """The longest step of each, at most 1, that keeps every value above 0; (b, 1)."""
    steepest = (change / value).min(axis=1, keepdims=True)
    out: Floats = 1.0 / np.maximum(1.0, -steepest)
    return out
