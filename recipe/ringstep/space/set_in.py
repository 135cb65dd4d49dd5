"""Where a new ring can go in: a circle linked with exactly the named rings, with most room.

Many circles are drawn and judged: by their links, and by what the words of the step say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ringstep.language.syntax import Side
from ringstep.space.circles import Bools
from ringstep.space.motion import Hand, link_signs, places
from ringstep.space.near import Floats, Ints, across, cross, crossings, link_sign

_DRAWS = 3000
_TOGETHER, _FURTHER = 110.0, 80.0  # degrees on a ring: within one place of it, and to another
_POINTS = 24  # on a circle, to judge its room


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """Rows of rings that lie flat, leaning along the row.

    axis: 0 for rows along the work, 1 for rows across it. below: 1 for a ring that hangs from the
    row along the work, -1 against it, 0 for one between two rows.
    """

    axis: int
    below: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """What a new ring must go through, and how.

    stops: the rings gone through place by place along the ring; nothing where no word tells.
    first: the first ring of its pair, beside which it goes in. gate: two rings spread apart, which
    it goes between. lane: where across the work its strand runs, or the side it is to lie on; left
    is positive. flat: where the rings gone through lie flat in rows, how those run.
    """

    through: Sequence[int]
    radius: float
    wire: float
    side: Side | None = None
    stops: Sequence[Sequence[int]] = ()
    first: int | None = None
    gate: tuple[int, ...] = ()
    lane: float | None = None
    flat: Flat | None = None


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


def find(
    hand: Hand, rng: np.random.Generator, wanted: Wanted, tries: int = 1
) -> tuple[Floats, Floats] | None:
    """Centre and normal of the circle with most room and reach along the work, if one does."""
    for _ in range(tries):
        drawn = _drawn(hand, rng, wanted)
        best = _best(hand, drawn, wanted)
        if best is not None:
            return drawn.centres[best], drawn.normals[best]
    return None


def _drawn(hand: Hand, rng: np.random.Generator, wanted: Wanted) -> Drawn:
    """Circles through a point of an opening; half straight to another, or beside the first."""
    which = rng.choice(wanted.through, _DRAWS)
    other = rng.choice(wanted.through, _DRAWS)
    points, ends = (_inside(hand, rng, rings, wanted.gate) for rings in (which, other))
    along = hand.normals[which] * rng.choice([-1.0, 1.0], _DRAWS)[:, None]
    along = along + rng.normal(0, 0.5, (_DRAWS, 3))
    half = _DRAWS // 2
    line = ends - points
    far = np.linalg.norm(line, axis=1) > 1e-6
    straight = far & (np.arange(_DRAWS) < half)
    along[straight] = line[straight]
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    u, v = across(along)
    turn = rng.uniform(0, 2 * np.pi, _DRAWS)[:, None]
    to_centre = np.cos(turn) * u + np.sin(turn) * v
    centres = points + wanted.radius * to_centre
    normals = cross(along, to_centre)
    # every other one of the straight ones passes through both points: a chord of the circle
    high = wanted.radius**2 - (np.linalg.norm(ends - points, axis=1) / 2) ** 2
    chord = straight & (high > 0) & (which != other) & (np.arange(_DRAWS) % 2 == 1)
    rise = np.sqrt(np.maximum(high, 0.0))[:, None] * to_centre
    centres[chord] = ((points + ends) / 2 + rise)[chord]
    if (first := wanted.first) is not None:
        beside = rng.uniform(0.6, 1.4, half) * wanted.wire * rng.choice([-1.0, 1.0], half)
        centres[:half] = hand.centres[first] + beside[:, None] * hand.normals[first]
        centres[:half] += rng.normal(0, 0.03, (half, 3))
        normals[:half] = hand.normals[first] + rng.normal(0, 0.08, (half, 3))
    if wanted.flat is not None:
        _lay_flat(hand, rng, wanted, wanted.flat, centres, normals)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return Drawn(centres, normals)


def _lay_flat(
    hand: Hand,
    rng: np.random.Generator,
    wanted: Wanted,
    flat: Flat,
    centres: Floats,
    normals: Floats,
) -> None:
    """Turn circles into such as lie flat near the rings gone through and lean against them."""
    to_eye = _to_eye(hand.normals[wanted.through])
    lean = -1.0 if to_eye[:, flat.axis].mean() > 0 else 1.0
    angle = lean * np.radians(rng.uniform(5, 60, len(centres)))
    normals[:] = rng.normal(0, 0.1, normals.shape)
    normals[:, flat.axis] += np.sin(angle)
    normals[:, 2] += np.cos(angle)
    centres[:] = hand.centres[wanted.through].mean(axis=0)
    centres += rng.normal(0, 0.15, centres.shape) * wanted.radius
    centres[:, 0] += flat.below * rng.uniform(0.2, 1.7, len(centres)) * wanted.radius


def _to_eye(normals: Floats) -> Floats:
    """The same planes with their normals turned to the eye."""
    return normals * np.where(normals[:, 2:] < 0, -1.0, 1.0)


def _inside(hand: Hand, rng: np.random.Generator, rings: Ints, gate: tuple[int, ...]) -> Floats:
    """A point in the opening of each ring, where it can be between the rings spread apart."""

    def anywhere() -> Floats:
        u, v = across(hand.normals[rings])
        angle = rng.uniform(0, 2 * np.pi, len(rings))[:, None]
        size = (hand.radii[rings] * 0.9 * np.sqrt(rng.uniform(0, 1, len(rings))))[:, None]
        found: Floats = hand.centres[rings] + size * (np.cos(angle) * u + np.sin(angle) * v)
        return found

    points = anywhere()
    if len(gate) == 2:
        for _ in range(6):
            outside = ~_in_gate(hand, points, gate)
            points[outside] = anywhere()[outside]
    return points


def _in_gate(hand: Hand, points: Floats, gate: tuple[int, ...]) -> Bools:
    """Which points lie between the planes of the two rings spread apart."""
    c, n, (g, h) = hand.centres, hand.normals, gate
    one = ((points - c[g]) @ n[g]) * (n[g] @ (c[h] - c[g])) > 0
    other = ((points - c[h]) @ n[h]) * (n[h] @ (c[g] - c[h])) > 0
    return np.asarray(one & other)


def _best(hand: Hand, drawn: Drawn, wanted: Wanted) -> int | None:
    through, radius = wanted.through, wanted.radius
    right, signs = exact(hand, drawn, radius, through)
    keep = np.ones(len(right), dtype=bool)
    if wanted.side is not None:
        said = 1 if wanted.side == "front" else -1
        for a, one in enumerate(through):
            for b in range(a):
                both = int(link_signs(hand, np.array([one]), np.array([through[b]]))[0])
                if both:
                    keep &= signs[:, a] * signs[:, b] * both == said
    if wanted.flat is not None:  # front to back through all of a row, back to front of the next
        facing = np.sign(hand.normals[wanted.through, 2])[None] * signs
        if wanted.flat.below == 0.0:
            across = hand.centres[wanted.through, 1 - wanted.flat.axis]
            facing = facing * np.sign(across - across.mean())[None]
        keep &= np.abs(facing.sum(axis=1)) == len(through)
    right = right[keep]
    if len(wanted.gate) == 2:
        right = right[_between(hand, drawn, right, wanted)]
    if wanted.stops:
        right = right[_stops_right(hand, drawn, right, wanted)]
    if not len(right):
        return None
    clear = room(hand, Drawn(drawn.centres[right], drawn.normals[right]), radius)
    reach = drawn.centres[right, 0] - hand.centres[through].mean(axis=0)[0]
    lane, keep_to = (0.0, 0.15) if wanted.lane is None else (wanted.lane, 0.5)
    off = np.linalg.norm(drawn.centres[right, 1:] - np.array([lane, 0.0]), axis=1)
    score = np.minimum(clear, 0.6 * wanted.wire) / wanted.wire + 0.25 * reach - keep_to * off
    if wanted.first is not None:
        away = np.linalg.norm(drawn.centres[right] - hand.centres[wanted.first], axis=1)
        alike = np.abs(drawn.normals[right] @ hand.normals[wanted.first])
        score += alike - away
    score[clear <= 0] = -np.inf
    if np.all(clear <= 0):
        return None
    return int(right[int(np.argmax(score))])


def _between(hand: Hand, drawn: Drawn, some: Ints, wanted: Wanted) -> Bools:
    """Which circles pass those that hang on the two rings spread apart between these two?"""
    spots = _passes(hand, drawn, some, wanted)
    behind = hand.linked[np.ix_(wanted.through, wanted.gate)].any(axis=1)
    passed = spots[:, behind] if behind.any() else spots
    inside = _in_gate(hand, passed.reshape(-1, 3), wanted.gate)
    out: Bools = np.all(inside.reshape(passed.shape[:2]), axis=1)
    return out


def _stops_right(hand: Hand, drawn: Drawn, some: Ints, wanted: Wanted) -> Bools:
    """Which circles pass rings of one stop at one place, and the next stop further along?

    Rings spread apart are passed farther from one another.
    """
    ways = _unit(_passes(hand, drawn, some, wanted) - drawn.centres[some][:, None])
    through = list(wanted.through)
    found = [[through.index(k) for k in stop if k in through] for stop in wanted.stops]
    stops = [ways[:, stop] for stop in found if stop]
    middles = [_unit(stop.sum(axis=1)) for stop in stops]
    near = np.cos(np.radians(_TOGETHER / (1 if wanted.gate else 2)))
    out = np.ones(len(some), dtype=bool)
    for stop, middle in zip(stops, middles, strict=True):
        out &= (np.einsum("ksx,kx->ks", stop, middle) > near).all(axis=1)
    far = np.cos(np.radians(_FURTHER))
    for one, other in pairwise(middles):
        out &= np.einsum("kx,kx->k", one, other) < far
    return out


def _unit(v: Floats) -> Floats:
    out: Floats = v / np.maximum(np.linalg.norm(v, axis=-1, keepdims=True), 1e-9)
    return out


def _passes(hand: Hand, drawn: Drawn, some: Ints, wanted: Wanted) -> Floats:
    """Where circles pass each ring gone through, (circles, through, 3)."""
    c, n, on = drawn.centres[some][:, None], drawn.normals[some][:, None], list(wanted.through)
    return crossings(c, n, wanted.radius, hand.centres[on], hand.normals[on])
