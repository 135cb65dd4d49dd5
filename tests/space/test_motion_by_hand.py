"""One small move of rings after another: how far they go, what stops them, with sums by hand."""

from __future__ import annotations

import numpy as np
import pytest
from small_recipes import weave

from ringstep.space import motion
from ringstep.space.motion import (
    Hand,
    jam,
    link_signs,
    move,
    part,
    places,
    rounds,
    settle,
    worst_gap,
)
from ringstep.weave.work import Ring

X, Y, Z = np.eye(3)


def laid(*centres: tuple[float, float, float], wire: float = 0.2, **normals: np.ndarray) -> Hand:
    """Rings of radius 1 that face the eye, or as `n1=...` says."""
    hand = Hand()
    for k, centre in enumerate(centres):
        hand.lay(np.array(centre), normals.get(f"n{k}", Z).copy(), 1.0, wire, wire)
    return hand


def every(hand: Hand) -> np.ndarray:
    return np.ones(len(hand), dtype=bool)


def along_x(hand: Hand, *pulls: float) -> np.ndarray:
    force = np.zeros((len(hand), 3))
    force[:, 0] = pulls
    return force


# -- the rings in hand --------------------------------------------------------------------------


def chain_of_four() -> Hand:
    return laid((0, 0, 0), (1, 0, 0), (2, 0, 0), (9, 0, 0), n1=Y)


def test_a_ring_that_is_laid_is_linked_with_what_it_goes_through() -> None:
    hand = chain_of_four()
    assert np.argwhere(hand.linked).tolist() == [[0, 1], [1, 0], [1, 2], [2, 1]]
    assert hand.rest.tolist() == hand.centres.tolist()
    assert hand.spring.shape == (4, 3, 3)
    assert not hand.spring.any()
    assert len(hand) == 4


def test_a_ring_taken_out_is_gone_from_all() -> None:
    hand = chain_of_four()
    hand.take(0)
    assert hand.centres[:, 0].tolist() == [1, 2, 9]
    assert np.argwhere(hand.linked).tolist() == [[0, 1], [1, 0]]
    assert hand.linked.shape == (3, 3)
    assert len(hand.spring) == len(hand.rest) == len(hand.thick) == 3


def test_a_copy_is_moved_without_the_first() -> None:
    hand = chain_of_four()
    other = hand.copied()
    other.centres += 1
    other.linked[:] = False
    assert hand.centres[0].tolist() == [0, 0, 0]
    assert hand.linked.any()


def test_what_hangs_together_but_for_one_ring() -> None:
    hand = chain_of_four()
    assert hand.hanging_on(0, 3).tolist() == [True, True, True, False]
    assert hand.hanging_on(0, 1).tolist() == [True, False, False, False]
    assert hand.hanging_on(3, 0).tolist() == [False, False, False, True]


def test_pairs_are_of_free_rings_within_reach() -> None:
    hand = laid((0, 0, 0), (2.5, 0, 0), (5, 0, 0))
    free = np.array([True, False, False])
    assert [k.tolist() for k in hand.pairs(free, 0.5)] == [[0], [1]]
    assert [k.tolist() for k in hand.pairs(free, 0.49)] == [[], []]
    assert [k.tolist() for k in hand.pairs(every(hand), 0.5)] == [[0, 1], [1, 2]]
    assert [k.tolist() for k in hand.pairs(every(hand), 3)] == [[0, 0, 1], [1, 2, 2]]


def test_signs_of_links_turn_with_a_ring() -> None:
    hand = laid((0, 0, 0), (1, 0, 0), (9, 0, 0), n1=Y)
    one, zero = np.array([0, 0]), np.array([1, 2])
    # z x y is -x, and the other ring lies along +x.
    assert link_signs(hand, one, zero).tolist() == [-1, 0]
    hand.normals[1] *= -1
    assert link_signs(hand, one, zero).tolist() == [1, 0]


# -- where wires come near ----------------------------------------------------------------------


def test_wires_of_rings_across_one_another_touch_in_one_place() -> None:
    # The second stands upright beyond the first: its nearest place is at x = 1.3, the other's at 1.
    hand = laid((0, 0, 0), (2.3, 0, 0), n1=Y)
    found = places(hand, np.array([0]), np.array([1]), 0.2)
    assert (found.i.tolist(), found.j.tolist()) == ([0] * len(found.gap), [1] * len(found.gap))
    at = int(found.gap.argmin())
    assert found.gap[at] == pytest.approx(0.3)
    assert found.along[at] == pytest.approx(X)
    assert found.lever_i[at] == pytest.approx(X)
    assert found.lever_j[at] == pytest.approx(-X)
    assert np.all(found.gap < 0.2 + 0.2)
    # Seen from the second they are the same places, the other way round.
    back = places(hand, np.array([1]), np.array([0]), 0.2)
    assert sorted(back.gap) == pytest.approx(sorted(found.gap), abs=1e-6)
    assert (back.i.tolist(), back.j.tolist()) == (found.i.tolist(), found.j.tolist())
    assert back.along[int(back.gap.argmin())] == pytest.approx(X)
    # 0.3 less the wire of 0.2 leaves 0.1, which is not looked for within less.
    assert len(places(hand, np.array([0]), np.array([1]), 0.09).gap) == 0
    assert len(places(hand, np.array([0]), np.array([1]), 0.11).gap) >= 1


def test_the_worst_gap_is_told_in_the_thinner_wire() -> None:
    hand = laid((0, 0, 0), (2.1, 0, 0), (4.4, 0, 0))
    assert worst_gap(hand, every(hand)) == pytest.approx(-0.5)  # 0.1 of 0.2
    assert worst_gap(hand, np.array([False, False, True])) == 0
    hand.wires[1] = 0.1
    assert worst_gap(hand, every(hand)) == pytest.approx(-1.0)
    hand.thick[:] = 0.05
    assert worst_gap(hand, every(hand)) == 0
    assert worst_gap(Hand(), np.zeros(0, dtype=bool)) == 0


# -- one move -----------------------------------------------------------------------------------


def test_a_free_ring_goes_as_far_as_it_is_pulled() -> None:
    hand = laid((0, 0, 0), (9, 0, 0))
    far = move(hand, np.array([True, False]), along_x(hand, 0.05, 0.05))
    assert far == pytest.approx(0.05)
    assert hand.centres == pytest.approx(np.array([[0.05, 0, 0], [9, 0, 0]]))
    assert hand.normals == pytest.approx(np.array([Z, Z]))


def test_a_spring_draws_a_ring_to_its_rest() -> None:
    hand = laid((0, 0, 0))
    hand.spring[0] = np.diag([3.0, 0, 1.0])
    hand.rest[0] = (0.05, 0.1, -0.06)
    assert move(hand, every(hand), along_x(hand, 0.01)) == pytest.approx(0.05)
    # 0.01 + 3 x 0.05 over 1 + 3; nothing where no spring is; -0.06 over 1 + 1.
    assert hand.centres[0] == pytest.approx([0.04, 0, -0.03])


@pytest.mark.parametrize(("radius", "angle"), [(1.0, 0.01), (0.5, 0.04), (0.05, 1.0), (0.01, 1.0)])
def test_a_couple_turns_a_ring_the_more_the_smaller_it_is(radius: float, angle: float) -> None:
    hand = Hand()
    hand.lay(np.zeros(3), Z.copy(), radius, 0.4, 0.4)
    # 0.005 over half the square of the radius; a ball weighs as one of a radius of 0.1.
    move(hand, every(hand), np.zeros((1, 3)), 0.005 * Y[None])
    assert hand.normals[0] == pytest.approx([np.sin(angle), 0, np.cos(angle)])
    assert hand.centres[0] == pytest.approx(np.zeros(3))


def test_couples_turn_about_each_way_across_a_ring_and_not_about_its_axis() -> None:
    hand = laid((0, 0, 0))
    far = move(hand, every(hand), np.zeros((1, 3)), np.array([[0.02, 0, 5.0]]))
    assert far == pytest.approx(0.04)
    assert hand.normals[0] == pytest.approx([0, -np.sin(0.04), np.cos(0.04)])


@pytest.mark.parametrize(
    ("wire", "most", "gone"),
    [
        (0.1, None, 0.045),
        (0.05, None, 0.0225),
        (0.3, 0.05, 0.05),
        (0.3, None, 0.054),
        (0.0, 9, 0.054),
    ],
)
def test_no_ring_goes_farther_than_most_or_than_the_wire_allows(
    wire: float, most: float | None, gone: float
) -> None:
    hand = laid((0, 0, 0), (9, 0, 0), wire=wire)
    # 0.45 of the wire, or of 0.12 where it is thicker, or there is none yet
    force = along_x(hand, 4.0, 2.0)
    if most is None:
        move(hand, every(hand), force)
    else:
        move(hand, every(hand), force, most=most)
    assert hand.centres[:, 0] == pytest.approx([gone, 9 + gone / 2])


def test_wires_that_overlap_are_pushed_apart_by_equal_shares() -> None:
    hand = laid((0, 0, 0), (2.15, 0, 0), n1=Y)
    move(hand, every(hand), np.zeros((2, 3)))
    assert hand.centres == pytest.approx(np.array([[-0.025, 0, 0], [2.175, 0, 0]]), abs=1e-4)
    assert hand.normals == pytest.approx(np.array([Z, Y]))
    # 0.05 is missing, of which stiffness 600 against a mass of 1 leaves one part of 601
    hand = laid((0, 0, 0), (2.15, 0, 0), n1=Y)
    move(hand, np.array([False, True]), np.zeros((2, 3)))
    assert hand.centres[:, 0] == pytest.approx([0, 2.2 - 0.05 / 601], abs=1e-7)
    hand = laid((0, 0, 0), (2.15, 0, 0), n1=Y)
    move(hand, np.array([True, False]), np.zeros((2, 3)), stiff=1.0)
    assert hand.centres[:, 0] == pytest.approx([-0.025, 2.15])


def test_a_ring_that_is_touched_beside_its_middle_turns_away() -> None:
    # A small ball-like ring presses on the outermost place of one that faces the eye, from below.
    hand = laid((0, 0, 0))
    hand.lay(np.array([1.0, 0, -0.15]), Z.copy(), 1e-6, 0.2, 0.2)
    move(hand, np.array([True, False]), np.zeros((2, 3)))
    # By shift s and turn a of the rim at 1: s + a = 0.05, and a weighs half of what s weighs.
    assert hand.centres[0] == pytest.approx([0, 0, 0.05 / 3], abs=1e-4)
    assert hand.normals[0] == pytest.approx([-0.1 / 3, 0, 1], abs=1e-3)


def test_a_pull_does_not_press_wires_into_one_another() -> None:
    hand = laid((0, 0, 0), (2.21, 0, 0), n1=Y)
    for _ in range(5):
        move(hand, np.array([False, True]), along_x(hand, 0, -0.05))
    assert hand.centres[1] == pytest.approx([2.2 - 0.05 / 600, 0, 0], abs=1e-6)


def test_a_step_that_would_change_a_link_is_halved_or_left() -> None:
    # Without thickness nothing pushes: a ring goes on until it would slip through.
    hand = laid((0, 0, 0), (2.05, 0, 0), n1=Y, wire=0.0)
    free, who = np.array([False, True]), np.array([1])
    shift, none = np.array([[-0.09, 0, 0]]), np.zeros((1, 3))
    assert motion._moved(hand, who, shift, none) == 0.5
    assert hand.centres[1, 0] == pytest.approx(2.005)
    assert motion._moved(hand, who, shift, none) == 0.5**5
    hand.centres[1, 0] = 2.000001
    before = hand.centres.copy()
    assert motion._moved(hand, who, shift, none) == 0
    assert hand.centres.tolist() == before.tolist()
    assert motion._moved(hand, who, -shift, none) == 1
    # A linked ring does not fall out either, however far it would be.
    hand = laid((0, 0, 0), (1, 0, 0), n1=Y, wire=0.0)
    assert motion._moved(hand, who, 16 * X[None], none) == 0.5**5
    assert hand.centres[1, 0] == pytest.approx(1.5)
    assert motion._moved(hand, who, 99 * X[None], none) == 0
    i, j = hand.pairs(free, 0.0)
    assert motion._within(hand, i, j, free) == 1
    assert motion._within(hand, i, j, every(hand)) == 2
    assert motion._within(hand, i[:0], j[:0], free) == 0


# -- many moves ---------------------------------------------------------------------------------


def settled(
    monkeypatch: pytest.MonkeyPatch, fars: list[float], count: int, grow: int = 0
) -> tuple[list[float], list[float]]:
    """How far each move may go, and how thick the wire is then, where moves go as far as said."""
    hand = laid((0, 0, 0))
    hand.thick[:] = 0.1
    left, mosts, thick = iter(fars), list[float](), list[float]()

    def moved(own: Hand, *_: object, most: float) -> float:
        mosts.append(most)
        thick.append(float(own.thick[0]))
        return next(left)

    monkeypatch.setattr(motion, "move", moved)
    settle(hand, every(hand), np.zeros((1, 3)), count, grow)
    return mosts, thick


def test_moves_grow_with_those_before_and_end_where_all_is_still(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    mosts, thick = settled(monkeypatch, [0.01, 0.05, 0.5, 0.002, 0.0019, 1], 9)
    assert mosts == pytest.approx([0.12, 0.03, 0.1, 0.12, 0.03])
    assert thick == [0.1] * 5
    assert len(settled(monkeypatch, [1.0] * 9, 3)[0]) == 3


def test_wires_grow_to_full_before_all_may_be_still(monkeypatch: pytest.MonkeyPatch) -> None:
    _, thick = settled(monkeypatch, [0.0] * 9, 9, 4)
    assert thick == pytest.approx([0.125, 0.15, 0.175, 0.2, 0.2])
    assert settled(monkeypatch, [0.0] * 9, 2, 4)[1] == pytest.approx([0.125, 0.15])


def test_rings_settle_where_what_pulls_is_in_balance() -> None:
    hand = laid((0, 0, 0))
    hand.spring[0] = 0.5 * np.eye(3)
    settle(hand, every(hand), along_x(hand, 0.1), 60)
    assert hand.centres[0] == pytest.approx([0.2, 0, 0], abs=0.01)
    hand = laid((0, 0, 0))  # and by 0.02 over half a mass three times
    settle(hand, every(hand), np.zeros((1, 3)), 3, couple=0.02 * Y[None])
    assert hand.normals[0] == pytest.approx([np.sin(0.12), 0, np.cos(0.12)], abs=1e-9)


def test_wires_are_parted_and_springs_kept() -> None:
    hand = laid((0, 0, 0), (2.05, 0, 0), (9, 0, 0), n1=Y)
    hand.spring[2] = hand.spring[1] = 2 * np.eye(3)
    hand.rest[2] = hand.rest[1] = (4, 4, 4)
    assert 0 >= part(hand, every(hand)) >= -0.003
    assert hand.centres[1, 0] - hand.centres[0, 0] == pytest.approx(2.2, abs=6e-4)
    assert hand.centres[:, 0].sum() == pytest.approx(11.05)
    assert hand.centres[2].tolist() == [9, 0, 0]
    assert hand.spring[1] == pytest.approx(2 * np.eye(3))
    lying = hand.centres.copy()
    assert part(hand, every(hand)) >= -0.003
    assert hand.centres.tolist() == lying.tolist()
    # What is held on both sides stays as it is, and how deep is told: 0.05 of 0.2.
    hand = laid((0, 0, 0), (2.15, 0, 0))
    assert part(hand, np.array([False, True])) >= -0.003
    assert part(laid((0, 0, 0), (2.15, 0, 0), (4.3, 0, 0)), np.arange(3) == 1) < -0.2


# -- what is told -------------------------------------------------------------------------------


def test_rings_are_told_in_millimetres() -> None:
    hand = laid((0, 0, 0), (1, 2, 3), n1=Y)
    a, b = Ring("A", 1, 1, 0), Ring("B", 1, 1, 0)
    (first, at), (second, other) = rounds(hand, {b: 1, a: 0}, 4.0)
    assert (first, second) == (b, a)
    assert (at.centre, at.normal, at.mean_radius, at.wire) == ((4, 8, 12), (0, 1, 0), 4, 0.8)
    assert other.centre == (0, 0, 0)


def test_a_jam_is_a_ring_without_a_place_or_one_that_overlaps() -> None:
    seen = weave("start: / close A / unit: / add A through prev A / piece: / chain 2 units")
    act = seen.work.acts[1]
    ring = act.new[0]
    wire, inside = seen.size(ring.role, ring.index) or (0.0, 0.0)
    none = jam(seen, act, ring)
    assert none is not None
    assert (none.number, none.row, none.unit, none.ring) == (act.step.number, act.row, 1, ring)
    assert none.aspect == pytest.approx(inside / wire)
    assert none.overlap is None
    assert jam(seen, act, ring, 0.0) is None
    assert jam(seen, act, ring, -0.005) is None
    deep = jam(seen, act, ring, -0.02)
    assert deep is not None
    assert deep.overlap == pytest.approx(0.02 * wire)
    assert jam(seen, act, ring, -0.02, 0.02) is None
