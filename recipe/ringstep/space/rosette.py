"""Rosettes: rings that all go through one another at one eye, as a maker lays them on the table."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ringstep.space.circles import Bools
from ringstep.space.motion import Hand, move, part

_PETALS = 3  # of a rosette at least
_STEPS, _STILL = 400, 2e-3  # by which they are spread at most; the largest move that ends it
_PUSH, _FLAT = 0.3, 0.1  # of petals on one another, and what keeps them in one plane
_OVERLAP = 0.005  # of a wire: what overlaps more stays as it was


def spread_evenly(hand: Hand, rings: Sequence[int], free: Bools) -> None:
    """Rings each linked with all the others are laid flat and pushed apart round their eye.

    Other rings stay as they are. The wires that touch hold the petals; no link changes.
    """
    size = len(rings)
    if size < _PETALS or hand.linked[np.ix_(rings, rings)].sum() < size * (size - 1):
        return
    before = hand.copied()
    spring, hand.spring = hand.spring, 0.0 * hand.spring
    for _ in range(_STEPS):
        off = hand.centres[rings] - hand.centres[rings].mean(axis=0)
        apart = off[:, None] - off[None]
        near = np.sum(apart**2, axis=2) + np.eye(size)
        push = _PUSH * (apart / near[..., None]).sum(axis=1)
        up = np.linalg.svd(off)[2][-1]
        force = np.zeros((len(hand), 3))
        force[rings] = push - np.outer(push @ up + _FLAT * (off @ up), up)
        if move(hand, free, force) < _STILL:
            break
    hand.spring = spring
    hand.rest[rings] = hand.centres[rings]
    if part(hand, free) < -_OVERLAP:
        for name in Hand.__slots__:
            setattr(hand, name, getattr(before, name))
