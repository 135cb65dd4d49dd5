"""Rosettes laid before the eye: which rings are one, which way they lie, what pushes them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from ringstep.space import rosette
from ringstep.space.motion import Hand
from ringstep.space.rosette import _all_linked, _laid_down, spread_evenly
from ringstep.space.state import Round, State
from ringstep.weave.work import Ring

A, B, C, D = (Ring("A", n, 1, 0) for n in (1, 2, 3, 4))


def petals(count: int, radius: float = 4.0) -> dict[Ring, Round]:
    """Rings that all go through one another: turned about the line that all pass, and leaning."""
    found = {}
    for k, ring in enumerate((A, B, C, D)[:count]):
        out = np.radians(360 * k / count)
        middle = 0.6 * radius * np.array([np.cos(out), np.sin(out), 0])
        lean = np.radians(50)
        round_ = np.array([-np.sin(out), np.cos(out), 0])
        normal = np.cos(lean) * np.array([0, 0, 1]) + np.sin(lean) * round_
        found[ring] = Round(tuple(middle), tuple(normal), radius, 0.2)
    return found


def state(rings: dict[Ring, Round], new: Ring, *through: Ring) -> State:
    return State(2, 1, 0, tuple(rings.items()), (new,), through)


def test_only_three_and_more_that_are_all_linked_are_a_rosette(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(rosette, "move", lambda *_: 0.0)
    monkeypatch.setattr(rosette, "part", lambda *_: 0.0)
    three = petals(3)
    assert _all_linked(list(three.values()))
    got = spread_evenly(state(three, C, A, B))
    assert got.rings != tuple(three.items())
    few = state(three, C, A)
    assert spread_evenly(few) is few
    gone = state(three, C, A, D)  # which is not there
    assert spread_evenly(gone) is gone
    far = {**three, B: Round((99, 0, 0), (0, 0, 1), 4.0, 0.2)}
    assert not _all_linked(list(far.values()))
    loose = state(far, C, A, B)
    assert spread_evenly(loose) is loose


@pytest.mark.parametrize(("worst", "kept"), [(-0.0049, False), (-0.0051, True)])
def test_what_overlaps_stays_as_it_was(
    worst: float, kept: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rosette, "move", lambda *_: 0.0)
    monkeypatch.setattr(rosette, "part", lambda *_: worst)
    own = state(petals(3), C, A, B)
    assert (spread_evenly(own) is own) is kept


def test_the_first_petal_lies_towards_the_start_and_the_second_to_the_left() -> None:
    at = np.array([[0.0, 0, 2], [0, 2, -1], [0, -2, -1]]) + 7
    turn = _laid_down(at)
    off = (at - at.mean(axis=0)) @ turn.T
    assert off == pytest.approx(np.array([[-2, 0, 0], [1, 2, 0], [1, -2, 0]]), abs=1e-9)
    assert np.linalg.det(turn) == pytest.approx(1)
    again = _laid_down(at[[0, 2, 1]])
    other = (at[[0, 2, 1]] - at.mean(axis=0)) @ again.T
    assert other == pytest.approx(off, abs=1e-9)


def pushed(still: float, monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """What pushes the rings before each move, of which each takes the first so far."""
    seen: list[Any] = []

    def move(hand: Hand, free: np.ndarray, force: np.ndarray) -> None:
        assert free.all()
        seen.append(force)
        hand.centres = hand.centres + 0.0
        hand.centres[0, 0] += still / 25

    monkeypatch.setattr(rosette, "move", move)
    monkeypatch.setattr(rosette, "part", lambda *_: 0.0)
    spread_evenly(state(petals(3), C, A, B))
    return seen


def test_petals_push_one_another_apart_in_their_plane(monkeypatch: pytest.MonkeyPatch) -> None:
    first = pushed(0.0, monkeypatch)[0]
    # Of a triangle whose corners are 0.6 from the middle: sides of 0.6 sqrt(3), from each of two
    # others a push of 0.3 over that, whose parts outwards are cos 30 of it.
    size = 2 * 0.3 / (0.6 * np.sqrt(3)) * np.cos(np.radians(30))
    ways = np.radians([0, 120, 240])
    assert first == pytest.approx(size * np.stack([np.cos(ways), np.sin(ways), 0 * ways], 1))


@pytest.mark.parametrize(("still", "moves"), [(0.0, 25), (0.019, 25), (0.021, 400)])
def test_it_ends_where_petals_are_still(
    still: float, moves: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert len(pushed(still, monkeypatch)) == moves


def test_petals_are_drawn_into_one_plane(monkeypatch: pytest.MonkeyPatch) -> None:
    four = petals(4)
    up = (1, -1, 1, -1)
    for ring, by in zip(list(four), up, strict=True):
        x, y, _ = four[ring].centre
        four[ring] = Round((x, y, 0.4 * by), four[ring].normal, 4.0, 0.2)
    seen: list[Any] = []
    monkeypatch.setattr(rosette, "move", lambda _, free, force: seen.append(force))
    monkeypatch.setattr(rosette, "part", lambda *_: 0.0)
    monkeypatch.setattr(rosette, "_all_linked", lambda _: True)
    got = spread_evenly(state(four, D, A, B, C))
    # Each is 0.1 radii off the plane, and drawn back with a tenth of that.
    assert seen[0][:, 2] == pytest.approx([-0.01, 0.01, -0.01, 0.01])
    ring, at = got.rings[0]
    assert (ring, at.mean_radius, at.wire) == (A, pytest.approx(4), pytest.approx(0.2))
    assert at.centre[:2] == pytest.approx((-2.4, 0))
    assert abs(at.centre[2]) == pytest.approx(0.4)
