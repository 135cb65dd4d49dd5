"""Chains and single pieces worked step by step: links, gaps, folds and spreads after each step."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from helpers import LIBRARY, view
from test_rows_worked import looked_at, placed

from ringstep.space.recheck import rim
from ringstep.space.result import PlacedRing
from ringstep.space.state import State, Worked
from ringstep.space.worked import work_piece
from ringstep.weave.piece import Weave
from ringstep.weave.steps import Act, Ring

UNITS = 2


@cache
def recipe(name: str) -> Weave:
    return view((LIBRARY / f"{name}.weave").read_text(encoding="utf-8")).weave


@cache
def worked(name: str, seed: int = 0) -> Worked:
    return work_piece(recipe(name), seed, UNITS)


def acts(name: str) -> list[Act]:
    return [
        a
        for a in recipe(name).work.acts
        if not a.skipped and (a.block.kind == "start" or 0 < a.unit <= UNITS)
    ]


@pytest.mark.parametrize(
    ("name", "seed"),
    [
        ("simple_chain", 0),
        ("doubled_chain", 0),
        ("byzantine", 0),
        ("byzantine", 1),
        ("persian_6", 0),
        ("flower_of_five", 0),
        ("captive_ring", 0),
    ],
)
def test_every_step_has_its_links_and_its_room(name: str, seed: int) -> None:
    got = worked(name, seed)
    assert got.jams == ()
    links: set[frozenset[Ring]] = set()
    wanted = []
    for act in acts(name):
        links |= {frozenset((new, other)) for new in act.new for other in act.through}
        wanted.append(set(links))
    found, worst = looked_at(got.states)
    assert found == wanted
    assert worst >= -0.005


def lying(state: State) -> dict[Ring, PlacedRing]:
    return {ring: placed(r) for ring, r in state.rings}


def between(point: np.ndarray, one: PlacedRing, other: PlacedRing) -> bool:
    """On the other ring's side of the plane of each."""
    sides = []
    for a, b in ((one, other), (other, one)):
        n = np.array(a.normal)
        sides.append(float((point - a.centre) @ n) * float((np.array(b.centre) - a.centre) @ n))
    return min(sides) > 0


def passing(one: PlacedRing, hole: PlacedRing) -> list[np.ndarray]:
    """Where the ring's wire passes through the other's opening, from a polygon."""
    points = rim(one, np.arange(720) * np.pi / 360)
    n = np.array(hole.normal)
    above = (points - np.array(hole.centre)) @ n
    through = np.nonzero((above < 0) != (np.roll(above, -1) < 0))[0]
    return [
        points[k] for k in through if np.linalg.norm(points[k] - hole.centre) < hole.mean_radius
    ]


@pytest.mark.parametrize("seed", [0, 1])
def test_byzantine_folds_fall_to_each_side_and_spreads_are_gone_between(seed: int) -> None:
    got = worked("byzantine", seed)
    folds = spreads = 0
    gate: tuple[Ring, ...] = ()
    for act, state in zip(acts("byzantine"), got.states, strict=True):
        now = lying(state)
        if act.step.kind == "fold back":
            one, other = (now[r] for r in act.handled)
            below = [r for r in now if r.role == "A" and r.unit == act.unit]
            assert len(below) == 2
            for ring in below:
                assert between(np.array(now[ring].centre), one, other)
                assert max(one.centre[0], other.centre[0]) < rightmost(now[ring])
            folds += 1
        elif act.step.kind == "spread":
            gate = act.handled
        elif gate:
            for new in act.new:
                for hole in act.through:
                    (point,) = passing(now[new], now[hole])
                    assert between(point, now[gate[0]], now[gate[1]])
            gate, spreads = (), spreads + 1
    assert (folds, spreads) == (1 + UNITS, UNITS)


def rightmost(ring: PlacedRing) -> float:
    return float(rim(ring, np.arange(120) * np.pi / 60)[:, 0].max())


def test_a_captive_ring_lies_round_the_ring_it_is_slipped_over() -> None:
    for act, state in zip(acts("captive_ring"), worked("captive_ring").states, strict=True):
        if not act.held:
            continue
        now = lying(state)
        (captive,), (small,) = act.new, act.held
        # the small ring's wire passes the captive's opening twice: there and back
        assert len(passing(now[small], now[captive])) == 2
