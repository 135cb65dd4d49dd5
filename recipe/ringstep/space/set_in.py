"""Where a new ring can go in: a circle linked with exactly the named rings, with most room.

Many circles are drawn by whoever knows how the work lies; here they are judged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringstep.space.motion import Hand, link_sign, places
from ringstep.space.near import Floats, Ints, across

_POINTS = 24  # on a circle, to judge its room


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """Circles that may do: centres and normals (m, 3)."""

    centres: Floats
    normals: Floats


def exact(hand: Hand, drawn: Drawn, radius: float, wanted: Sequence[int]) -> tuple[Ints, Ints]:
    """Which circles are linked with exactly the wanted rings, and the signs (k, wanted)."""
    signs = link_sign(
        drawn.centres[:, None],
        drawn.normals[:, None],
        np.asarray(radius),
        hand.centres[None],
        hand.normals[None],
        hand.radii[None],
    )
    must = np.zeros(len(hand), dtype=bool)
    must[list(wanted)] = True
    right = np.nonzero(((signs != 0) == must[None]).all(axis=1))[0]
    return right, signs[right][:, list(wanted)]


def room(hand: Hand, drawn: Drawn, radius: float) -> Floats:
    """How far each circle is from the nearest wire's surface: half the wire that has room."""
    angle = np.arange(_POINTS) * (2 * np.pi / _POINTS)
    u, v = across(drawn.normals)
    arms = np.cos(angle)[:, None, None] * u + np.sin(angle)[:, None, None] * v
    points = drawn.centres + radius * arms  # (points, m, 3)
    least = np.full(len(drawn.centres), np.inf)
    middle = drawn.centres.mean(axis=0)
    spread = np.linalg.norm(drawn.centres - middle, axis=1).max(initial=0.0)
    for k in range(len(hand)):
        reach = radius + float(hand.radii[k]) + 1.0
        if np.linalg.norm(hand.centres[k] - middle) > reach + spread:
            continue
        x = points - hand.centres[k]
        z = x @ hand.normals[k]
        rho = np.sqrt(np.maximum(np.einsum("pmx,pmx->pm", x, x) - z * z, 0.0))
        gap = np.sqrt((rho - hand.radii[k]) ** 2 + z * z).min(axis=0)
        least = np.minimum(least, gap - hand.thick[k] / 2)
    return least


def put_in(hand: Hand, centre: Floats, normal: Floats, radius: float, wire: float) -> int:
    """Lay the new ring as thick as there is room for; returns its number."""
    ring = hand.lay(centre, normal, radius, wire, 0.0)
    free = np.zeros(len(hand), dtype=bool)
    free[ring] = True
    i, j = hand.pairs(free, wire)
    p = places(hand, i, j, wire, 72)
    other = hand.thick[p.i] + hand.thick[p.j]  # its own is nothing yet
    thick = float((2 * p.gap - other).min(initial=wire))
    hand.thick[ring] = min(wire, max(0.98 * thick, 0.02 * wire))
    return ring
