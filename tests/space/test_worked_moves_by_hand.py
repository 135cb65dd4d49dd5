"""Rings in the hand drawn, folded and spread: what pushes them, and where they come to lie."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from test_worked_by_hand import ACT, CHAIN, A, B, C, D, X, Y, Z, chain, piece

from ringstep.space import worked
from ringstep.space.motion import Hand
from ringstep.space.state import Jam
from ringstep.space.worked import _Piece, work_piece

Pushed = list[tuple[np.ndarray, np.ndarray, np.ndarray]]


@pytest.fixture
def pushed(monkeypatch: pytest.MonkeyPatch) -> Pushed:
    """What would be pushed: which rings may move, forces, couples. Nothing moves."""
    seen: Pushed = []

    def move(
        hand: Hand, free: np.ndarray, force: np.ndarray, couple: np.ndarray | None = None
    ) -> None:
        seen.append((free, force, np.zeros((len(hand), 3)) if couple is None else couple))

    monkeypatch.setattr(worked, "move", move)
    monkeypatch.setattr(worked, "part", lambda *_: 0.0)
    return seen


# -- drawn --------------------------------------------------------------------------------------


def test_rings_are_brought_to_within_reach_of_their_middle() -> None:
    own = piece(((0, 0, 0), Z), ((6, 0, 0), Z), ((12, 0, 0), Z))
    own.hand.spring[:] = 4 * np.eye(3)
    own.draw_near([0, 1], 0.7)
    # By 0.054 at a time, the most that goes, from 3 until no more than 1 + 0.7.
    assert own.hand.centres[:, 0] == pytest.approx([25 * 0.054, 6 - 25 * 0.054, 12])
    assert own.hand.spring == pytest.approx(np.array([4 * np.eye(3)] * 3))
    lies = own.hand.centres.copy()
    own.draw_near([0, 1], 0.65)
    assert own.hand.centres.tolist() == lies.tolist()
    own.draw_near([0], 0.0)  # one alone is there
    assert own.hand.centres.tolist() == lies.tolist()


def test_rings_are_brought_together_by_no_more_than_two_hundred_steps(pushed: Pushed) -> None:
    own = piece(((0, 0, 0), Z), ((0, 60, 0), Z), ((9, 0, 0), Z))
    own.draw_near([0, 1], 0.7)
    assert len(pushed) == 200
    free, force, _ = pushed[0]
    assert free.all()
    assert force == pytest.approx(np.array([[0, 1, 0], [0, -1, 0], [0, 0, 0]]))


def test_what_hangs_on_two_places_of_a_ring_is_drawn_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    own = piece(((0, 0, 0), Z), ((1, 0, 0), Y), ((0, 1, 0), X), ((9, 0, 0), Z))
    own.hand.spring[1] = 0.5 * np.eye(3)
    own.hand.spring[2] = np.diag([0, 0.5, 0.5])
    seen: list[Any] = []

    def settle(hand: Hand, free: np.ndarray, force: np.ndarray, rounds: int) -> None:
        seen.append((force, rounds, hand.spring.any()))
        hand.centres[1:3] += 0.1

    monkeypatch.setattr(worked, "settle", settle)
    own.draw_apart([1], [2], 0)
    # The ring passes them in (1, 0) and (0, 1), so each is drawn away along that line with 0.5.
    ((force, rounds, springs),) = seen
    by = 0.5 / np.sqrt(2)
    assert force == pytest.approx(np.array([[0, 0, 0], [by, -by, 0], [-by, by, 0], [0, 0, 0]]))
    assert (rounds, springs) == (180, False)
    # What a finger holds all round is held where it lies now.
    assert own.hand.rest[1] == pytest.approx([1.1, 0.1, 0.1])
    assert own.hand.rest[2] == pytest.approx([0, 1, 0])
    assert own.hand.spring[1] == pytest.approx(0.5 * np.eye(3))
    # Not where they hang together otherwise, nor where the ring does not pass one of them.
    own.hand.linked[1, 2] = own.hand.linked[2, 1] = True
    own.draw_apart([1], [2], 0)
    own.hand.linked[1, 2] = own.hand.linked[2, 1] = False
    own.draw_apart([1], [3], 0)
    assert len(seen) == 1


# -- folded -------------------------------------------------------------------------------------


def test_a_ring_hangs_where_it_passes_those_before_it() -> None:
    own = chain()
    assert own.hole(1) == pytest.approx([0, 0, 0])
    assert own.hole(2) == pytest.approx([1, 0, 0])
    assert own.hole(0) == pytest.approx([-1, 0, 0])  # it hangs on none: from its own end
    own = piece(((0, 0, 0), Z), ((0, 0, 1), Z), ((1, 0, 0.5), Y))
    own.hand.linked[2, :2] = True
    # It passes both discs sqrt(3)/2 before its middle.
    assert own.hole(2) == pytest.approx([1 - np.sqrt(0.75), 0, 0.5])
    assert own.ahead(0) == pytest.approx(X)
    own.hand.radii[0], own.hand.normals[0] = 0.5, np.array([0.6, 0.8, 0])
    assert own.ahead(0) == pytest.approx([0.4, -0.3, 0])


def first_push(pushed: Pushed, own: _Piece, rings: list[int], *toward: Any) -> Any:
    pushed.clear()
    own.fold(rings, toward)
    assert len(pushed) == 150  # it never comes round
    return pushed[0]


def test_a_finger_pushes_a_tip_out_and_back(pushed: Pushed) -> None:
    own = chain()
    free, force, couple = first_push(pushed, own, [1], "left")
    assert free.tolist() == [False, True, False]
    # It points ahead: so across, to the left, and a little ahead.
    assert force == pytest.approx(np.array([[0, 0, 0], [0.05, 0.5, 0], [0, 0, 0]]))
    assert couple == pytest.approx(np.array([[0, 0, 0], [0, 0, 0.5], [0, 0, 0]]))
    assert first_push(pushed, own, [1], "right")[1][1] == pytest.approx([0.05, -0.5, 0])
    own.hand.normals[1] *= -1  # whichever way it faces
    assert first_push(pushed, own, [1], "left")[1][1] == pytest.approx([0.05, 0.5, 0])


def test_a_tip_at_the_side_is_pushed_back(pushed: Pushed, monkeypatch: pytest.MonkeyPatch) -> None:
    own = chain()
    own.hand.radii[1] = 0.5
    monkeypatch.setattr(_Piece, "hole", lambda *_: np.array([1.0, -2.0, 0.0]))
    _, force, couple = first_push(pushed, own, [1], "left")
    assert force[1] == pytest.approx([-0.45, 0, 0])
    assert couple[1] == pytest.approx([0, 0, 0.25])
    # At 127 degrees nothing pushes it out any more; at 139 degrees it is still pushed.
    for angle in (np.radians(127), np.radians(138)):
        arm = np.array([np.cos(angle), 0, np.sin(angle)])
        monkeypatch.setattr(_Piece, "hole", lambda own, k, arm=arm: own.hand.centres[k] - arm)
        force = first_push(pushed, own, [1], "left")[1][1]
        assert force[1] == pytest.approx(0)
        assert np.linalg.norm(force - [0.05, 0, 0]) == pytest.approx(0.5)
        assert force[:2] @ [-1, 0] > 0
    pushed.clear()
    arm = np.array([-0.76, 0, 0.65])
    monkeypatch.setattr(_Piece, "hole", lambda own, k: own.hand.centres[k] - arm)
    own.fold([1], ("left",))
    assert pushed == []


def test_a_pair_is_folded_one_to_each_side(pushed: Pushed) -> None:
    own = piece(((0, 0, 0), Z), ((1, 0.1, 0), Y), ((1, -0.1, 0), Y))
    force = first_push(pushed, own, [1, 2])[1]
    assert force[1:, 1] == pytest.approx([0.5, -0.5])
    own.hand.normals[1:] *= -1
    force = first_push(pushed, own, [1, 2])[1]
    assert force[1:, 1] == pytest.approx([0.5, -0.5])
    # Of three the one more to the right goes right, the rest left.
    own = piece(((0, 0, 0), Z), ((1, 0.1, 0), Y), ((1, -0.1, 0), Y), ((1, 0, 0), Y))
    assert first_push(pushed, own, [1, 2, 3])[1][1:, 1] == pytest.approx([0.5, -0.5, -0.5])
    # One alone goes by chance.
    own, sides = chain(), set()
    for seed in range(3):
        own.rng = np.random.default_rng(seed)
        sides.add(round(float(first_push(pushed, own, [1])[1][1, 1]), 6))
    assert sides == {0.5, -0.5}


def test_a_folded_ring_points_back_and_is_held_there() -> None:
    own = chain()
    own.remove(C)
    own.fold([1], ("left",))
    arm = own.hand.centres[1] - own.hole(1)
    assert arm[0] / np.linalg.norm(arm) < -0.7
    assert own.hand.centres[1, 1] > 0
    assert own.hand.centres[0] == pytest.approx([0, 0, 0], abs=0.1)
    assert own.hand.linked.tolist() == [[False, True], [True, False]]
    assert own.folded == {1}
    assert own.hand.spring[1] == pytest.approx(0.3 * np.eye(3))
    assert own.hand.rest[1] == pytest.approx(own.hand.centres[1], abs=0.1)
    own = chain()
    own.fold([])
    assert own.folded == set()


# -- spread -------------------------------------------------------------------------------------


@pytest.mark.parametrize("facing", [1.0, -1.0])
def test_tips_of_two_rings_are_pushed_apart(pushed: Pushed, facing: float) -> None:
    own = piece(((0, 0, 0), Z), ((1, -0.1, 0), facing * Y), ((1, 0.1, 0), Y))
    own.spread([1, 2])
    assert own.gate == (1, 2)
    assert len(pushed) == 40
    free, force, couple = pushed[0]
    assert free.all()
    assert force == pytest.approx(np.array([[0, 0, 0], [0, -0.25, 0], [0, 0.25, 0]]))
    assert couple == pytest.approx(np.array([[0, 0, 0], [0, 0, -0.25], [0, 0, 0.25]]))
    pushed.clear()
    own.hand.centres[2, 1] = -0.1 + 2.35 * 0.2  # more than 2.3 wires apart already
    own.spread([1, 2])
    assert pushed == []
    own.hand.centres[2, 1] = -0.1 + 2.25 * 0.2
    own.spread([1, 2])
    assert len(pushed) == 40
    own.gate = ()
    own.spread([0, 1, 2])
    assert own.gate == ()


# -- eased --------------------------------------------------------------------------------------


def test_the_newest_rings_are_free() -> None:
    own = piece()
    for k in range(16):
        own.hand.lay(np.array([5.0 * k, 0, 0]), Z.copy(), 1.0, 0.2, 0.2)
    assert own.free().tolist() == [False] * 2 + [True] * 14


def test_a_light_pull_leads_the_newest_rings_on(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[Any] = []
    monkeypatch.setattr(worked, "settle", lambda _, free, *words: seen.append((free, *words)))
    own = piece()
    for k in range(7):
        own.hand.lay(np.array([1.0 * k, 0, 0]), (Z, Y)[k % 2].copy(), 1.0, 0.2, 0.2)
    own.hand.lay(np.array([30.0, 0, 0]), Z.copy(), 1.0, 0.2, 0.2)
    own.folded = {2}
    own.ease(45, 25)
    ((free, force, rounds, grow),) = seen
    assert free.all()
    assert force[:, 0] == pytest.approx([0, 0, -0.06, 0, 0.06, 0.06, 0.06, 0])
    assert not force[:, 1:].any()
    assert (rounds, grow) == (45, 25)
    own.ease(10)
    assert seen[-1][2:] == (10, 0)


def test_a_step_tells_how_deep_wires_lie(monkeypatch: pytest.MonkeyPatch) -> None:
    own = chain()
    assert own.overlap(ACT) is None
    monkeypatch.setattr(worked, "part", lambda *_: -0.1)
    deep = own.overlap(ACT)
    assert deep == Jam(
        ACT.step.number, ACT.row, ACT.unit, ACT.new[0], pytest.approx(5.0), pytest.approx(0.12)
    )
    folded = own.overlap(ACT._replace(new=(), handled=(C, D)))
    assert folded is not None
    assert folded.ring == C
    assert own.overlap(ACT._replace(new=(), handled=())) is None


def test_a_state_says_what_was_put_in_and_what_moved() -> None:
    own = chain()
    own.record(ACT._replace(new=(B,), through=(A, D), handled=(C, D)), "fold")
    (state,) = own.states
    assert (state.number, state.row, state.unit) == (ACT.step.number, ACT.row, ACT.unit)
    assert [ring for ring, _ in state.rings] == [A, B, C]
    assert state.rings[2][1].centre == pytest.approx((7.2, 0, 0))
    assert (state.new, state.through, state.moved) == ((B,), (A,), ((C, "fold"),))
    own.record(ACT._replace(handled=(C,)), None)
    assert own.states[1].moved == ()


def test_a_part_of_a_piece_is_worked_if_so_said() -> None:
    got = work_piece(CHAIN, 0, 1)
    assert [s.unit for s in got.states] == [0, 1]
    assert got.jams == ()
    assert [len(s.rings) for s in got.states] == [1, 3]
    assert {round(r.mean_radius, 9) for _, r in got.states[1].rings} == {3.6}
    assert [s.unit for s in work_piece(CHAIN, 0, 0).states] == [0]
