"""Rosettes: rings that all go through one another at one eye, as a maker lays them on the table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from ringstep.space.motion import Hand, move, part, rounds
from ringstep.space.near import Floats, link_sign
from ringstep.space.state import Round, State

_PETALS = 3  # of a rosette at least
_STEPS, _STILL = 400, 0.02  # by which they are spread at most; how far 25 of them go at least
_PUSH, _FLAT = 0.3, 0.1  # of petals on one another, and what keeps them in one plane
_OVERLAP = 0.005  # of a wire: what overlaps more stays as it was


def spread_evenly(state: State) -> State:
    """The new ring's rosette laid flat, its petals pushed apart round their eye, as it is shown.

    A rosette is a ring with those that it goes through, each linked with all the others. What hangs
    on them comes along. The wires that touch hold the petals; no link changes.
    """
    numbers = {ring: k for k, (ring, _) in enumerate(state.rings)}
    petals = [numbers[r] for r in (*state.through, *state.new) if r in numbers]
    if len(petals) < _PETALS:
        return state
    if not _all_linked([state.rings[k][1] for k in petals]):
        return state
    hand = Hand()
    unit = max(at.mean_radius for _, at in state.rings)
    for _, at in state.rings:
        centre, wire = np.array(at.centre) / unit, at.wire / unit
        hand.lay(centre, np.array(at.normal), at.mean_radius / unit, wire, wire)
    size = len(petals)
    free = np.ones(len(hand), dtype=bool)
    last = hand.centres
    for step in range(1, _STEPS + 1):
        off = hand.centres[petals] - hand.centres[petals].mean(axis=0)
        apart = off[:, None] - off[None]
        near = np.sum(apart**2, axis=2) + np.eye(size)
        push = _PUSH * (apart / near[..., None]).sum(axis=1)
        up = np.linalg.svd(off)[2][-1]
        force = np.zeros((len(hand), 3))
        force[petals] = push - np.outer(push @ up + _FLAT * (off @ up), up)
        move(hand, free, force)
        if step % 25 == 0:
            if np.abs(hand.centres - last).max() < _STILL:
                break
            last = hand.centres
    if part(hand, free) < -_OVERLAP:
        return state
    turn = _laid_down(hand.centres[petals])
    middle = hand.centres[petals].mean(axis=0)
    hand.centres = (hand.centres - middle) @ turn.T
    hand.normals = hand.normals @ turn.T
    return replace(state, rings=rounds(hand, numbers, unit))


def _all_linked(petals: Sequence[Round]) -> bool:
    one, other = (np.array(k) for k in zip(*combinations(range(len(petals)), 2), strict=True))
    centre, normal = (np.array([getattr(p, k) for p in petals]) for k in ("centre", "normal"))
    radius = np.array([p.mean_radius for p in petals])
    sides = [a[at] for at in (one, other) for a in (centre, normal, radius)]
    return bool(np.all(link_sign(*sides)))


def _laid_down(petals: Floats) -> Floats:
    """The turn that lays a rosette before the eye: its first petal towards the start of the work.

    And its second on the same side of that in every picture.
    """
    off = petals - petals.mean(axis=0)
    up = np.linalg.svd(off)[2][-1]
    ahead = -off[0] + (off[0] @ up) * up
    ahead /= max(float(np.linalg.norm(ahead)), 1e-9)
    side = np.cross(up, ahead)
    if off[1] @ side < 0:
        up, side = -up, -side
    turn: Floats = np.array([ahead, side, up])
    return turn
