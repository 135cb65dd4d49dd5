"""Fits shared by the tests, each made once a run with the least effort."""

from __future__ import annotations

import math
from functools import cache

import cells

from ringstep.space.fit import fit
from ringstep.space.result import Fit, Form, Pose


@cache
def of(name: str) -> Fit:
    """The fit of one of `cells.ALL`."""
    return fit(cells.ALL[name](), effort=0)


def best(name: str) -> Form:
    """Its first form."""
    return of(name).forms[0]


def footprint(pose: Pose) -> tuple[float, float, float] | None:
    """A sheet's unit by its two shortest repeats: their lengths in mm and the angle between, deg.

    None for a chain or a single piece.
    """
    if len(pose.repeat) != 3:
        return None
    a, b, c = pose.repeat
    p, q = (a, 0.0), (b, c)
    while True:
        if math.hypot(*p) < math.hypot(*q):
            p, q = q, p
        times = round((p[0] * q[0] + p[1] * q[1]) / (q[0] ** 2 + q[1] ** 2))
        if times == 0:
            break
        p = (p[0] - times * q[0], p[1] - times * q[1])
    short, long = math.hypot(*q), math.hypot(*p)
    cosine = abs(p[0] * q[0] + p[1] * q[1]) / (short * long)
    return short, long, math.degrees(math.acos(min(1.0, cosine)))
