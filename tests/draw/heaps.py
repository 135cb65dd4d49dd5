"""Rings to draw: repeats of fitted weaves, and heaps thrown together without touching."""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path

import numpy as np
from depth import axes

from ringstep.space.state import Round, State
from ringstep.weave.work import Ring

#: One unit each of five shipped weaves as `ringstep fit` with the least effort lays it, mm: how far
#: and by how many radians units repeat (a chain) or two shifts (a sheet); for each ring its centre,
#: normal, mean radius and wire.
FORMS = json.loads((Path(__file__).parent / "forms.json").read_text(encoding="utf-8"))


def weave(name: str, most: int = 42) -> list[Round]:
    """Some units of a fitted weave, at most so many rings."""
    form = FORMS[name]
    unit, repeat = form["rings"], form["repeat"]
    count = max(1, most // len(unit))
    if len(repeat) == 2:
        shifts = [(k * repeat[0], 0.0, k * repeat[1]) for k in range(count)]
    else:
        a, b, c = repeat
        across = max(1, round(math.sqrt(count)))
        grid = list(itertools.product(range(across), range(count // across)))
        shifts = [(p * a + q * b, q * c, 0.0) for p, q in grid]
    rings = []
    for dx, dy, angle in shifts:
        c, s = math.cos(angle), math.sin(angle)
        for x, y, z, nx, ny, nz, radius, wire in unit:
            centre = (x + dx, c * y - s * z + dy, s * y + c * z)
            rings.append(Round(centre, (nx, c * ny - s * nz, s * ny + c * nz), radius, wire))
    return rings


def heap(count: int, seed: int) -> list[Round]:
    """Rings of two wires at random that do not run into one another; many are linked."""
    dice = np.random.default_rng(seed)
    rings: list[Round] = []
    while len(rings) < count:
        normal = dice.normal(size=3)
        normal /= np.linalg.norm(normal)
        x, y, z = (float(c) for c in dice.uniform(-1, 1, 3) * (9.0, 9.0, 5.0))
        wire = float(dice.choice([0.8, 1.2]))
        one = Round((x, y, z), (normal[0], normal[1], normal[2]), 3.4, wire)
        if all(gap(one, other) > 0 for other in rings):
            rings.append(one)
    return rings


def points(ring: Round, count: int = 180) -> np.ndarray:
    """Points of a ring's circle, (count, 3)."""
    t = np.linspace(0, 2 * np.pi, count, endpoint=False)[:, None]
    one, two = axes(ring)
    return np.array(ring.centre) + np.cos(t) * one + np.sin(t) * two


def gap(one: Round, other: Round) -> float:
    """About the least distance between the surfaces of two wires, mm."""
    apart = np.linalg.norm(points(one)[:, None] - points(other)[None], axis=2).min()
    return float(apart) - (one.wire + other.wire) / 2 - 0.02


def linked(one: Round, other: Round) -> bool:
    """One ring goes through the other an odd number of times."""
    path = points(one, 720) - np.array(other.centre)
    height = path @ np.array(other.normal)
    inside = np.linalg.norm(path, axis=1) < other.mean_radius
    return int(((height * np.roll(height, -1) < 0) & inside).sum()) % 2 == 1


def state(rings: list[Round], new: list[int], through: list[int]) -> State:
    """The rings in the hand; ring k is called R and k."""
    keyed = [(Ring("R", k, 0, 0), ring) for k, ring in enumerate(rings)]
    return State(
        1,
        0,
        0,
        tuple(keyed),
        tuple(keyed[k][0] for k in new),
        tuple(keyed[k][0] for k in through),
    )
