"""The bodies of parts, laid round their holes where they run into nothing.

In: states in which a part of a known size is only the rim of its hole. Out: the same with its
body: a ball for a bead, else a flat bar with round ends. A part that has no room is taken out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ringstep.space.near import Floats, across, cross, link_sign, vector
from ringstep.space.state import Ball, Bar, Round, State
from ringstep.weave.piece import Weave
from ringstep.weave.work import Ring

_POINTS = 120  # on a ring, and half as many along a bar
_PLACES = 36  # along the ring that holds a part; ways in which a bar may point
_WAYS = 200  # in which it is asked whether a ball lies beyond the rings that hold it
_SPARE = 0.05  # of the wire: how deep wire and body may overlap at most
_BITE = 1.0  # of the wire: how deep a ring bent through a bead's straight hole may cut its wall
_AWAY, _SAME, _FREE = 0.5, 0.3, 1.0  # weights: away from the work, as before, of room in wires


def with_bodies(weave: Weave, states: tuple[State, ...]) -> tuple[State, ...]:
    """The states with the bodies of their parts; without the parts that have no room."""
    before: dict[Ring, Round] = {}
    return tuple(_with_bodies(weave, state, before) for state in states)


def _with_bodies(weave: Weave, state: State, before: dict[Ring, Round]) -> State:
    """before: how parts lay in the state before, kept up to date."""
    parts = weave.recipe.part_roles
    lying = dict(state.rings)
    for part in [r for r in lying if r.role in parts]:
        placed = _placed(weave, part, lying, before.get(part))
        if placed is None:
            del lying[part]
        else:
            lying[part] = before[part] = placed
    return replace(
        state,
        rings=tuple(lying.items()),
        new=tuple(r for r in state.new if r in lying),
        through=tuple(r for r in state.through if r in lying),
        moved=tuple((r, move) for r, move in state.moved if r in lying),
    )


def _placed(
    weave: Weave, part: Ring, lying: Mapping[Ring, Round], before: Round | None
) -> Round | None:
    """A part with its body where that has most room; None where it has none."""
    shape, (length, width, hole) = weave.part_shape(part.role), _sizes(weave, part)
    eye, others = lying[part], [lying[r] for r in lying if r != part]
    if shape not in ("ball", "bar"):
        return eye
    if not hole and not _held_in(weave, part, lying, length):
        return None
    holding = [o for o in others if linked(eye, o)]
    things = Things.of(others)
    wire = max((o.wire for o in holding), default=eye.wire)
    away = np.array(eye.centre) - np.mean([o.centre for o in others or [eye]], axis=0)
    away /= max(float(np.linalg.norm(away)), 1e-9)
    best, most = None, -math.inf
    for one in _along(eye, holding, hole if shape == "ball" else 0.0, length):
        if any(linked(one, o) != (o in holding) for o in others):
            continue
        for body, to in _bodies(one, shape == "ball", length, width, hole):
            deep = things.clear_of(one, body)
            if deep < -_SPARE * wire:
                continue
            score = _FREE * min(deep / wire, 1.0) + _AWAY * float(to @ away)
            score += _SAME * (before is not None and _like(before, one, body))
            if score > most:
                best, most = replace(one, body=body), score
    return best


def _held_in(weave: Weave, part: Ring, lying: Mapping[Ring, Round], across: float) -> bool:
    """Does a ball without a hole lie among the rings that it is held inside?"""
    work = weave.work
    held = [lying[r] for r in work.acts[work.placed_by[part]].held if r in lying]
    points = np.concatenate([np.zeros((0, 3)), *map(rim_points, held)])
    ways = np.random.default_rng(0).normal(size=(_WAYS, 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    reach = ((points - np.array(lying[part].centre)) @ ways.T).max(axis=0, initial=-math.inf)
    return bool(np.all(reach > -across / 4))


def _sizes(weave: Weave, part: Ring) -> tuple[float, float, float]:
    length, width, hole = (size or 0.0 for size in weave.part_size(part.role) or (0.0, 0.0, 0.0))
    return max(length, width), min(length, width), hole


def linked(one: Round, other: Round) -> bool:
    """Does a ring go through a hole, or through another ring?"""
    a, b = ((np.array(r.centre), np.array(r.normal)) for r in (one, other))
    return bool(link_sign(*a, np.array(one.mean_radius), *b, np.array(other.mean_radius)))


def _along(eye: Round, holding: list[Round], hole: float, length: float) -> Iterator[Round]:
    """The hole as it lies, then moved along the one ring that holds it.

    hole: of a bead, whose straight hole lies along the ring as far as may be; 0 for a flat part.
    """
    if len(holding) != 1:
        yield eye
        return
    (ring,) = holding
    centre, normal = np.array(ring.centre), np.array(ring.normal)
    arm = np.array(eye.centre) - centre
    arm -= (arm @ normal) * normal
    arm /= max(float(np.linalg.norm(arm)), 1e-9)
    side = cross(normal, arm)
    off = np.array(eye.centre) - centre
    lean = np.array(eye.normal)
    if hole:
        long = math.sqrt(max(length**2 - hole**2, 0.0))
        off = (ring.mean_radius - long**2 / 16 / ring.mean_radius) * arm
        lean = side
    for turn in np.arange(_PLACES) * (2 * math.pi / _PLACES):
        c, s = math.cos(turn), math.sin(turn)

        def turned(v: Floats, c: float = c, s: float = s) -> Floats:
            about = (v @ normal) * normal
            out: Floats = about + c * (v - about) + s * cross(normal, v)
            return out

        yield replace(eye, centre=vector(centre + turned(off)), normal=vector(turned(lean)))


def _bodies(
    eye: Round, is_ball: bool, length: float, width: float, hole: float
) -> Iterator[tuple[Ball | Bar, Floats]]:
    """The body, in every way it may point, and the way."""
    if is_ball:
        yield Ball(length, hole), np.zeros(3)
        return
    # as much of it in front of the hole as its rim is thick
    near, far = width / 2 - hole / 2 - eye.wire, length - width / 2 - hole / 2 - eye.wire
    u, v = (a[0] for a in across(np.array([eye.normal])))
    for turn in np.arange(_PLACES) * (2 * math.pi / _PLACES):
        to = math.cos(turn) * u + math.sin(turn) * v
        yield Bar(vector(near * to), vector(far * to), width, hole), to


def _like(before: Round, one: Round, body: Ball | Bar) -> float:
    """How nearly a part lies as it did before, from -1 to 1."""
    if isinstance(body, Bar) and isinstance(before.body, Bar):
        a, b = np.array(body.far), np.array(before.body.far)
    else:
        return 1.0 - min(2.0, math.dist(before.centre, one.centre) / one.mean_radius)
    return float(a @ b) / max(float(np.linalg.norm(a) * np.linalg.norm(b)), 1e-9)


@dataclass(frozen=True, slots=True, eq=False)
class Things:
    """What a body may run into, as points that are as thick as their wires or bodies."""

    points: Floats  # (n, 3)
    half: Floats  # (n,)

    @staticmethod
    def of(others: list[Round]) -> Things:
        """Rings, and parts with their bodies."""
        points, half = [np.zeros((0, 3))], [np.zeros(0)]
        for other in others:
            if isinstance(other.body, Ball):
                some, thick = np.array([other.centre]), other.body.across
            elif isinstance(other.body, Bar):
                some, thick = _flat_points(other, other.body), other.wire
            else:
                some, thick = rim_points(other), other.wire
            points.append(some)
            half.append(np.full(len(some), thick / 2))
        return Things(np.concatenate(points), np.concatenate(half))

    def clear_of(self, eye: Round, body: Ball | Bar) -> float:
        """The least gap between a body and all these; below 0 where they overlap. mm."""
        x = self.points - np.array(eye.centre)
        along = x @ np.array(eye.normal)
        if isinstance(body, Ball):
            gap = np.linalg.norm(x, axis=1) - body.across / 2 - self.half
            off = np.sqrt(np.maximum(np.sum(x * x, axis=1) - along**2, 0.0))
            inside = body.hole / 2 - off - self.half + _BITE * 2 * self.half
            if body.hole:
                gap = np.where(inside > 0, np.maximum(gap, inside), gap)
        else:
            core = np.hypot(along, in_plane(x, eye, body))
            gap = core - eye.wire / 2 - self.half
        return float(gap.min(initial=math.inf))


def in_plane(x: Floats, eye: Round, body: Bar) -> Floats:
    """How far points (n, 3) from the middle of the hole lie from a bar's middle plane, along it."""
    flat = x - np.outer(x @ np.array(eye.normal), np.array(eye.normal))
    near, far = np.array(body.near), np.array(body.far)
    line = far - near
    share = np.clip((flat - near) @ line / max(float(line @ line), 1e-12), 0.0, 1.0)
    outside = np.linalg.norm(flat - near - share[:, None] * line, axis=1)
    outside -= (body.across - eye.wire) / 2
    hole = (body.hole + eye.wire) / 2 - np.linalg.norm(flat, axis=1)
    out: Floats = np.maximum(np.maximum(outside, hole), 0.0)
    return out


def rim_points(ring: Round) -> Floats:
    """Points of a ring's circle, (n, 3)."""
    u, v = (a[0] for a in across(np.array([ring.normal])))
    turn = np.arange(_POINTS)[:, None] * (2 * math.pi / _POINTS)
    arms = ring.mean_radius * (np.cos(turn) * u + np.sin(turn) * v)
    points: Floats = arms + np.array(ring.centre)
    return points


def _flat_points(eye: Round, body: Bar) -> Floats:
    """Points of a bar's middle plane."""
    near, far = np.array(body.near), np.array(body.far)
    along = far / max(float(np.linalg.norm(far)), 1e-9)
    side = cross(np.array(eye.normal), along)
    half = (body.across - eye.wire) / 2
    places = np.linspace(near @ along - half, far @ along + half, _POINTS // 2)
    grid = [p * along + q * side for p in places for q in np.linspace(-half, half, 9)]
    points = np.array(grid)
    kept: Floats = points[in_plane(points, eye, body) < 1e-9] + np.array(eye.centre)
    return kept
