"""Placed rings as a mesh in Wavefront OBJ, an open text format; mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ringstep.space.result import PlacedRing


def wavefront(rings: Sequence[PlacedRing], around: int = 48, across: int = 12) -> str:
    """OBJ text: one object a ring, `around` x `across` four-sided faces each, facing outwards.

    Raises ValueError for fewer than three faces either way.
    """
    if around < 3 or across < 3:
        raise ValueError("a ring needs at least three faces each way")
    lines = ["# rings as tori, lengths in mm"]
    big = np.arange(around) * 2 * math.pi / around
    small = np.arange(across) * 2 * math.pi / across
    base = 1
    for number, ring in enumerate(rings):
        normal = np.array(ring.normal)
        helper = np.eye(3)[int(np.argmin(np.abs(normal)))]
        u = np.cross(normal, helper)
        u /= np.linalg.norm(u)
        v = np.cross(normal, u)
        arm = np.cos(big)[:, None] * u + np.sin(big)[:, None] * v
        out = np.cos(small)[None, :, None] * arm[:, None] + np.sin(small)[None, :, None] * normal
        points = np.array(ring.centre) + ring.mean_radius * arm[:, None] + ring.wire / 2 * out
        lines.append(f"o ring_{number + 1}_{_plain(ring.name)}")
        lines.extend(f"v {x:.5f} {y:.5f} {z:.5f}" for x, y, z in points.reshape(-1, 3))
        for i in range(around):
            for j in range(across):
                a, b = i * across + j, i * across + (j + 1) % across
                c, d = (a + across) % (around * across), (b + across) % (around * across)
                lines.append(f"f {base + a} {base + c} {base + d} {base + b}")
        base += around * across
    return "\n".join(lines) + "\n"


def _plain(name: str) -> str:
    """A name with nothing that could end a line or a word of the file."""
    return "".join(c if c.isalnum() else "_" for c in name)
