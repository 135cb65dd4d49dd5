"""Where two circles in space come near one another, and how they pass; plain arrays only."""

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
    first = y * r - z * q
    out = np.empty((*first.shape, 3))
    out[..., 0], out[..., 1], out[..., 2] = first, z * p - x * r, x * q - y * p
    return out


def turned(vectors: Floats, angle: Floats) -> Floats:
    """Vectors (..., 3) turned about the x axis by angles (...)."""
    c, s = np.cos(angle), np.sin(angle)
    y, z = vectors[..., 1], vectors[..., 2]
    across_x = c * y - s * z
    out = np.empty((*across_x.shape, 3))
    out[..., 0], out[..., 1], out[..., 2] = vectors[..., 0], across_x, s * y + c * z
    return out


def across(normals: Floats) -> tuple[Floats, Floats]:
    """Two unit vectors (..., 3) across each normal, right-handed with it."""
    least = np.argmin(np.abs(normals), axis=-1)
    u = cross(normals, (least[..., None] == np.arange(3)).astype(np.float64))
    u /= np.linalg.norm(u, axis=-1, keepdims=True)
    return u, cross(normals, u)


@dataclass(frozen=True, slots=True, eq=False)
class Circles:
    """Pairs of circles: how far the first's centre lies from the second's, normals, radii."""

    away: Floats  # (p, 3)
    normal: Floats
    other_normal: Floats
    radius: Floats  # (p,)
    other_radius: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Along:
    """How far a point d + u cos t + v sin t of a circle is from another of normal n about 0.

    Its height over the other's plane is z, its distance from the other's axis rho, with
    rho^2 = |x|^2 - z^2; squared distance (rho - r)^2 + z^2. All fields (p,).
    """

    un: Floats
    vn: Floats
    dn: Floats
    ud: Floats
    vd: Floats
    sizes: Floats  # |d|^2 + |u|^2
    r: Floats

    def at(self, some: Ints) -> _Along:
        """The same for some of the pairs."""
        return _Along(
            self.un[some],
            self.vn[some],
            self.dn[some],
            self.ud[some],
            self.vd[some],
            self.sizes[some],
            self.r[some],
        )

    def squared(self, cos: Floats, sin: Floats) -> Floats:
        """Squared distances (p, samples)."""
        z = self.dn[:, None] + self.un[:, None] * cos + self.vn[:, None] * sin
        x2 = self.sizes[:, None] + 2 * (self.ud[:, None] * cos + self.vd[:, None] * sin)
        z *= z
        rho = np.sqrt(np.maximum(x2 - z, 0.0))
        out: Floats = (rho - self.r[:, None]) ** 2 + z
        return out

    def polished(self, theta: Floats, most: float) -> Floats:
        """Clipped Newton steps towards the local minimum of the squared distance."""
        for _ in range(_NEWTON):
            c, s = np.cos(theta), np.sin(theta)
            round_z, round_x = self.un * c + self.vn * s, self.ud * c + self.vd * s
            z, z1 = self.dn + round_z, self.vn * c - self.un * s
            rho2 = self.sizes + 2 * round_x - z * z
            rho = np.sqrt(np.maximum(rho2, 1e-24))
            slope = self.vd * c - self.ud * s - z * z1  # of rho^2 / 2
            flat, up = 1 - self.r / rho, z1 * z1 - z * round_z
            g = flat * slope + z * z1
            h = flat * (-round_x - up) + self.r * slope * slope / rho**3 + up
            step = np.where(h > 1e-9, -g / np.maximum(h, 1e-9), -np.sign(g) * most / 2)
            theta = theta + np.clip(step, -most, most)
        return theta


def near_places(
    c: Circles,
    samples: int,
    samples_within: float | Floats | None = None,
    reach: Floats | None = None,
) -> tuple[Ints, Floats, Floats]:
    """Row, and levers on the first and the second circle, of each place found on the first.

    samples_within: see `circles.touches`, for each pair. With `reach` (p,) only places that may
    lie so near are looked for.
    """
    u, v = across(c.normal)
    u, v = u * c.radius[:, None], v * c.radius[:, None]
    cos, sin = _round(samples)
    un, vn, dn = (np.einsum("px,px->p", a, c.other_normal) for a in (u, v, c.away))
    ud, vd, dd = (np.einsum("px,px->p", a, c.away) for a in (u, v, c.away))
    along = _Along(un, vn, dn, ud, vd, dd + c.radius**2, c.other_radius)
    f = along.squared(cos, sin)
    low = np.empty(f.shape, dtype=bool)
    low[:, 1:] = f[:, 1:] <= f[:, :-1]
    low[:, 0] = f[:, 0] <= f[:, -1]
    low[:, :-1] &= f[:, :-1] < f[:, 1:]
    low[:, -1] &= f[:, -1] < f[:, 0]
    low[np.arange(len(f)), np.argmin(f, axis=1)] = True
    if reach is not None:  # a sample misses the place by half a step at most
        low &= f <= ((reach + np.pi / samples * c.radius) ** 2)[:, None]
    row, at = np.divmod(np.flatnonzero(low), samples)
    step = 2 * np.pi / samples
    half = np.pi / samples
    theta = along.at(row).polished(at * step, half)
    if samples_within is not None:
        few = np.arange(0, samples, samples // 12)
        some = f[:, few]
        limit = np.sqrt(f.min(axis=1)) + samples_within
        if reach is not None:
            limit = np.minimum(limit, reach)
        near = (some <= (limit**2)[:, None]) & ~low[:, few]
        more, which = np.divmod(np.flatnonzero(near), len(few))
        row = np.concatenate([row, more])
        theta = np.concatenate([theta, few[which] * step])
    cos, sin = np.cos(theta)[:, None], np.sin(theta)[:, None]
    own = u.take(row, 0) * cos + v.take(row, 0) * sin
    x, n = own + c.away.take(row, 0), c.other_normal.take(row, 0)
    flat = x - np.einsum("px,px->p", x, n)[:, None] * n
    size = np.maximum(np.linalg.norm(flat, axis=1, keepdims=True), 1e-12)
    return row, own, flat / size * c.other_radius[row][:, None]


@lru_cache(maxsize=8)
def _round(samples: int) -> tuple[Floats, Floats]:
    angle = np.arange(samples) * (2 * np.pi / samples)
    return np.cos(angle), np.sin(angle)


def link_sign(ci: Floats, ni: Floats, ri: Floats, cj: Floats, nj: Floats, rj: Floats) -> Ints:
    """Linking number of circles: 0 unlinked, else +1 or -1.

    The two planes meet in a line, each circle cuts a chord from it, and the circles are linked
    just when the chords interleave ('one crosses the other's disc exactly once'). The sign is
    that of (n_i x n_j) . (c_j - c_i) and agrees with Gauss's integral up to one overall sign.
    """
    apart, m = cj - ci, cross(ni, nj)
    s2 = np.maximum(np.einsum("...x,...x->...", m, m), 1e-18)
    hi2 = ri**2 - np.einsum("...x,...x->...", nj, apart) ** 2 / s2
    hj2 = rj**2 - np.einsum("...x,...x->...", ni, apart) ** 2 / s2
    q = np.einsum("...x,...x->...", m, apart)
    middle = np.abs(q) / np.sqrt(s2)
    hi, hj = np.sqrt(np.maximum(hi2, 0)), np.sqrt(np.maximum(hj2, 0))
    linked = (hi2 > 0) & (hj2 > 0) & (np.abs(hi - hj) < middle) & (middle < hi + hj)
    # of rings in one plane the chords say nothing, but those are then farther apart
    linked &= np.einsum("...x,...x->...", apart, apart) < (ri + rj) ** 2
    return np.where(linked, np.where(q > 0, 1, -1), 0)


def crossing(c: Floats, n: Floats, radius: float, d: Floats, m: Floats) -> Floats | None:
    """Where circle (c, n) passes nearest the middle of disc (d, m)."""
    found = crossings(c, n, radius, d, m)
    return None if np.isnan(found[0]) else found


def crossings(c: Floats, n: Floats, radius: float, d: Floats, m: Floats) -> Floats:
    """The same of several (..., 3), not a number where there is none."""
    line = cross(n, m)
    size = np.einsum("...x,...x->...", line, line)
    size = np.where(size < 1e-18, np.nan, size)[..., None]
    foot = c + cross(line, n) * (np.einsum("...x,...x->...", m, c - d)[..., None] / size)
    half = radius**2 - np.sum((foot - c) ** 2, axis=-1, keepdims=True)
    reach = line * np.sqrt(np.where(half > 0, half, np.nan) / size)
    one, other = foot + reach, foot - reach
    nearer = np.sum((one - d) ** 2, axis=-1) <= np.sum((other - d) ** 2, axis=-1)
    out: Floats = np.where(nearer[..., None], one, other)
    return out


def rim(normal: Floats, radius: float, towards: Floats) -> Floats:
    """From a ring's centre to its place farthest in a direction."""
    flat = towards - (towards @ normal) * normal
    out: Floats = flat / max(float(np.linalg.norm(flat)), 1e-9) * radius
    return out


def vector(v: Floats) -> tuple[float, float, float]:
    """Plain numbers of three coordinates."""
    return float(v[0]), float(v[1]), float(v[2])
