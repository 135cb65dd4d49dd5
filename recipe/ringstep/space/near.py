"""Where two circles in space come near one another, many pairs at once; plain arrays only."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]
Ints = NDArray[np.int64]

_NEWTON = 5


def cross(a: Floats, b: Floats) -> Floats:
    """Cross product over the last axis; numpy's own is several times slower on small arrays."""
    x, y, z = a[..., 0], a[..., 1], a[..., 2]
    p, q, r = b[..., 0], b[..., 1], b[..., 2]
    return np.stack([y * r - z * q, z * p - x * r, x * q - y * p], axis=-1)


def turned(vectors: Floats, angle: Floats) -> Floats:
    """Vectors (..., 3) turned about the x axis by angles (...)."""
    c, s = np.cos(angle), np.sin(angle)
    y, z = vectors[..., 1], vectors[..., 2]
    across_x = c * y - s * z
    along_x = np.broadcast_to(vectors[..., 0], across_x.shape)
    return np.stack([along_x, across_x, s * y + c * z], axis=-1)


def across(normals: Floats) -> tuple[Floats, Floats]:
    """Two unit vectors (n, 3) across each normal, right-handed with it."""
    helper = np.zeros_like(normals)
    helper[np.arange(len(normals)), np.argmin(np.abs(normals), axis=1)] = 1.0
    u = cross(normals, helper)
    u /= np.linalg.norm(u, axis=1, keepdims=True)
    return u, cross(normals, u)


@dataclass(frozen=True, slots=True, eq=False)
class Circles:
    """Pairs of circles: how far the first's centre lies from the second's, normals, radii."""

    away: Floats  # (p, 3)
    normal: Floats
    other_normal: Floats
    radius: Floats  # (p,)
    other_radius: Floats


def near_places(
    c: Circles, samples: int, samples_within: float, reach: Floats | None = None
) -> tuple[Ints, Floats, Floats]:
    """Row, and levers on the first and the second circle, of each place found on the first.

    With `reach` (p,) only places that may lie so near are looked for.
    """
    u, v = across(c.normal)
    u, v = u * c.radius[:, None], v * c.radius[:, None]
    cos, sin = _round(samples)
    # squared distance of a point to the other circle: (rho - r)^2 + z^2, rho^2 = |x|^2 - z^2
    uu, vv, dd = (np.einsum("px,px->p", a, c.other_normal) for a in (u, v, c.away))
    z = dd[:, None] + uu[:, None] * cos + vv[:, None] * sin
    du, dv, d2 = (np.einsum("px,px->p", a, c.away) for a in (u, v, c.away))
    x2 = (d2 + c.radius**2)[:, None] + 2 * (du[:, None] * cos + dv[:, None] * sin)
    z *= z
    rho = np.sqrt(np.maximum(x2 - z, 0.0))
    f = (rho - c.other_radius[:, None]) ** 2 + z
    low = np.empty(f.shape, dtype=bool)
    low[:, 1:] = f[:, 1:] <= f[:, :-1]
    low[:, 0] = f[:, 0] <= f[:, -1]
    low[:, :-1] &= f[:, :-1] < f[:, 1:]
    low[:, -1] &= f[:, -1] < f[:, 0]
    low[np.arange(len(f)), np.argmin(f, axis=1)] = True
    if reach is not None:  # a sample misses the place by half a step at most
        low &= f <= ((reach + np.pi / samples * c.radius) ** 2)[:, None]
    row, at = np.nonzero(low)
    step = 2 * np.pi / samples
    half = np.pi / samples
    theta = _polish(
        at * step, u[row], v[row], c.away[row], c.other_normal[row], c.other_radius[row], half
    )
    if samples_within >= 0:
        few = np.arange(0, samples, samples // 12)
        some = f[:, few]
        limit = np.sqrt(f.min(axis=1)) + samples_within
        if reach is not None:
            limit = np.minimum(limit, reach)
        near = (some <= (limit**2)[:, None]) & ~low[:, few]
        more, which = np.nonzero(near)
        row = np.concatenate([row, more])
        theta = np.concatenate([theta, few[which] * step])
    own = u[row] * np.cos(theta)[:, None] + v[row] * np.sin(theta)[:, None]
    x, n = own + c.away[row], c.other_normal[row]
    flat = x - np.einsum("px,px->p", x, n)[:, None] * n
    size = np.maximum(np.linalg.norm(flat, axis=1, keepdims=True), 1e-12)
    return row, own, flat / size * c.other_radius[row][:, None]


@lru_cache(maxsize=8)
def _round(samples: int) -> tuple[Floats, Floats]:
    angle = np.arange(samples) * (2 * np.pi / samples)
    return np.cos(angle), np.sin(angle)


def _polish(
    theta: Floats, u: Floats, v: Floats, d: Floats, n: Floats, r: Floats, most: float
) -> Floats:
    """Clipped Newton steps towards the local minimum of the squared distance."""
    for _ in range(_NEWTON):
        c, s = np.cos(theta)[:, None], np.sin(theta)[:, None]
        arm = u * c + v * s
        x0, x1 = d + arm, v * c - u * s
        z0, z1, za = (np.einsum("px,px->p", a, n) for a in (x0, x1, arm))
        y0, y1 = x0 - z0[:, None] * n, x1 - z1[:, None] * n
        rho = np.maximum(np.linalg.norm(y0, axis=1), 1e-12)
        r1 = np.einsum("px,px->p", y0, y1) / rho
        y2 = -(arm - za[:, None] * n)
        r2 = (np.einsum("px,px->p", y1, y1) + np.einsum("px,px->p", y0, y2) - r1 * r1) / rho
        g = (rho - r) * r1 + z0 * z1
        h = r1 * r1 + (rho - r) * r2 + z1 * z1 - z0 * za
        step = np.where(h > 1e-9, -g / np.maximum(h, 1e-9), -np.sign(g) * most / 2)
        theta = theta + np.clip(step, -most, most)
    return theta
