"""Plane geometry of pictures: straight lines, curves that keep clear of rings, cut curves.

Points are (x, y) in any one unit of length.
"""

from __future__ import annotations

from itertools import pairwise
from math import hypot

Point = tuple[float, float]
Path = tuple[Point, Point, Point, Point]


def segment_distance(a: Point, b: Point, c: Point) -> float:
    """How far point c lies from the straight line between a and b, ends included.

    >>> segment_distance((0, 0), (4, 0), (2, 3)), segment_distance((0, 0), (4, 0), (7, 4))
    (3.0, 5.0)
    """
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = dx * dx + dy * dy
    t = ((c[0] - a[0]) * dx + (c[1] - a[1]) * dy) / long if long else 0.0
    t = min(1.0, max(0.0, t))
    return hypot(a[0] + t * dx - c[0], a[1] + t * dy - c[1])


def cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """True where the lines a–b and c–d cross inside both.

    >>> cross((0, 0), (2, 2), (0, 2), (2, 0)), cross((0, 0), (1, 1), (0, 2), (2, 0))
    (True, False)
    """

    def turn(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


_BENDS = (7.0, 11.0, 16.0, 22.0, 30.0, 40.0, 52.0)
#: What must stay free between a line and the outline of a ring that it does not belong to.
CLEAR = 2.0


def bezier(path: Path, t: float) -> Point:
    """The point at t (0 to 1) of a cubic Bézier curve."""
    u = 1 - t
    p, q, r, s = path
    k0, k1, k2, k3 = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
    return (
        k0 * p[0] + k1 * q[0] + k2 * r[0] + k3 * s[0],
        k0 * p[1] + k1 * q[1] + k2 * r[1] + k3 * s[1],
    )


def clearance(path: Path, centre: Point) -> float:
    """How far a curve keeps from a point, measured on 24 chords."""
    points = [bezier(path, k / 24) for k in range(25)]
    return min(segment_distance(a, b, centre) for a, b in pairwise(points))


def bent(a: Point, b: Point, by: float) -> Path:
    """A curve from a to b whose middle stands `by` points to the left of the straight line."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = hypot(dx, dy) or 1.0
    ox, oy = -dy / long * by * 4 / 3, dx / long * by * 4 / 3
    return (
        a,
        (a[0] + dx / 3 + ox, a[1] + dy / 3 + oy),
        (a[0] + 2 * dx / 3 + ox, a[1] + 2 * dy / 3 + oy),
        b,
    )


#: With more rings than this about a line, no bend would help the eye.
MOST_ABOUT = 40


def route(a: Point, b: Point, foreign: list[tuple[Point, float]]) -> Path:
    """The straightest curve from a to b that keeps clear of foreign rings (centre, radius).

    Where none does, the one that comes nearest to it.
    """
    straight = bent(a, b, 0.0)
    off = [(segment_distance(a, b, c) - r, c, r) for c, r in foreign]
    most = min((free for free, _, _ in off), default=CLEAR)
    about = [(c, r) for free, c, r in off if free < CLEAR + 1.1 * _BENDS[-1]]
    if most >= CLEAR or len(about) > MOST_ABOUT:
        return straight
    best = straight
    for by in _BENDS:
        for side in (by, -by):
            path = bent(a, b, side)
            free = CLEAR
            for c, r in about:
                free = min(free, clearance(path, c) - r)
                if free < CLEAR and free <= most + 1:
                    break  # no better than what is known
            if free >= CLEAR:
                return path
            if free > most + 1:
                best, most = path, free
    return best


def clipped(path: Path, start: float, end: float) -> Path:
    """The part of a curve outside a circle round either end."""

    def leaves(far: Point, radius: float, way: bool) -> float:
        low, high = (0.0, 0.5) if way else (1.0, 0.5)
        for _ in range(24):
            mid = (low + high) / 2
            x, y = bezier(path, mid)
            if hypot(x - far[0], y - far[1]) < radius:
                low = mid
            else:
                high = mid
        return high

    t0 = leaves(path[0], start, True) if start > 0 else 0.0
    t1 = leaves(path[3], end, False) if end > 0 else 1.0
    return _part(path, t0, t1)


def _part(path: Path, t0: float, t1: float) -> Path:
    """The curve between two of its points, by blossoming (de Casteljau)."""

    def blossom(u: float, v: float, w: float) -> Point:
        points = list(path)
        for t in (u, v, w):
            points = [
                (p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t) for p, q in pairwise(points)
            ]
        return points[0]

    return blossom(t0, t0, t0), blossom(t0, t0, t1), blossom(t0, t1, t1), blossom(t1, t1, t1)
