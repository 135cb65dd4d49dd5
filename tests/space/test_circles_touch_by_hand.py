"""Where circles in space touch and how they are moved, worked out by hand.

Ring A has a mean radius of 4 mm, the unit of length, ring B one of 2 mm; wires are 1 mm.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from circles_made_up import A, B, X, Y, Z, lying, near, seen, shape

from ringstep.space import circles
from ringstep.space.circles import Layout, Pairs, Shape

THREE = shape(A, B, B, links=[(0, 1, ())])


def three(away: float) -> Layout:
    """A in the plane, B through it, and another B beside it."""
    return lying(([0, 0, 0], Z), (X, Y), ([0, away, 0], X))


# -- where they touch ---------------------------------------------------------------------------


def test_a_ring_through_another_is_near_it_where_its_wire_comes_nearest() -> None:
    two = shape(A, B, links=[(0, 1, ())])
    sides = []
    for middle, side in ((1.1, -1), (0.9, 1)):
        # B cuts the plane of A at x = 0.6 and 1.6, or 0.4 and 1.4; A's wire passes at 1.
        there = lying(([0, 0, 0], Z), ([middle, 0, 0], Y))
        found = circles.touches(two, circles.near_pairs(two, there, 0.0))
        assert set(found.pair.tolist()) == {0}
        for at in range(len(found.gap)):
            assert found.gap[at] == pytest.approx(0.4, abs=1e-9)
            near(found.along[at], side, 0, 0)
            near(found.lever_i[at], 1, 0, 0)
            near(found.lever_j[at], side * 0.5, 0, 0)
        sides.append(found)
    assert len(sides[0].only(sides[0].gap > 0.5).gap) == 0
    assert len(sides[0].only(sides[0].gap < 0.5).along) == len(sides[0].gap) > 0


def stack(*heights: float) -> tuple[Shape, Layout, Pairs]:
    """Equal rings above one another, and which of them lie near."""
    rings = shape(*[A] * len(heights))
    there = lying(*[([0.0, 0.0, z], Z) for z in heights])
    return rings, there, circles.near_pairs(rings, there, 9.0)


def test_places_farther_than_may_be_are_not_looked_for() -> None:
    rings, _, pairs = stack(0.0, 0.5, 1.25)
    assert [row[1:3] for row in seen(pairs)] == [(0, 1), (0, 2), (1, 2)]

    def asked(*reach: float) -> set[int]:
        return set(circles.touches(rings, pairs, reach=np.array(reach)).pair.tolist())

    assert asked(0.5, 1.25, 0.75) == {0, 1, 2}
    assert asked(0.5, 1.25, 0.74) == {0, 1}
    assert asked(0.4, 1.25, 0.75) == {1, 2}
    assert asked(0.4, 1.2, 0.75) == {2}
    assert asked(0.4, 1.2, 0.7) == set()
    found = circles.touches(rings, pairs, reach=np.array([0.1, 1.25, 0.1]))
    assert found.gap == pytest.approx(np.full(len(found.gap), 1.25))


def test_plain_samples_tell_that_rings_lie_near_all_round() -> None:
    rings, _, pairs = stack(0.0, 0.5, 1.25)

    def quarters(*within: Any, **more: Any) -> set[tuple[int, int]]:
        """Pairs, each with the quarters of the way round in which they come near."""
        at = circles.touches(rings, pairs, *within, **more)
        turn = np.arctan2(at.lever_i[:, 1], at.lever_i[:, 0]) // (math.pi / 2)
        return set(zip(at.pair.tolist(), (turn.astype(int) % 4).tolist(), strict=True))

    everywhere = {(pair, k) for pair in (0, 1, 2) for k in range(4)}
    assert len(quarters()) < 12
    assert quarters(0.1) == everywhere
    assert quarters(np.full(3, 0.1)) == everywhere
    reach = np.array([0.5, 1.0, 0.75])  # the second pair is farther away than that
    assert quarters(np.full(3, 0.1), reach=reach) == {x for x in everywhere if x[0] != 1}
    assert quarters(0.1, samples=24) == everywhere


def test_each_pair_has_its_own_share_of_plain_samples() -> None:
    rings = shape(A, A, A)
    lean = math.radians(20)  # of the second ring; its rim is from 0.66 to 1.34 above the first
    tilted = [math.sin(lean), 0.0, math.cos(lean)]
    there = lying(([0, 0, 0], Z), ([0, 0, 1], tilted), ([0, 0, -1], tilted))
    pairs = circles.near_pairs(rings, there, 0.0)
    assert [row[1:3] for row in seen(pairs)] == [(0, 1), (0, 2), (1, 2)]

    def many(*within: float, **more: Any) -> list[int]:
        found = circles.touches(rings, pairs, np.array(within), **more)
        return [int((found.pair == k).sum()) for k in (0, 1, 2)]

    few, more = many(0.0, 0.0, 0.0), many(0.0, 9.0, 0.0)
    assert more[0] == few[0]
    assert more[1] > few[1] + 15
    assert more[2] == few[2]
    # The same where the first pair is left out.
    left = many(0.0, 9.0, 0.0, reach=np.array([0.1, 9.0, 9.0]))
    assert left[0] == 0
    assert left[1] == more[1]
    # Places farther than may be are left out of a pair that has nearer ones.
    found = circles.touches(rings, pairs, 9.0)
    assert found.gap[found.pair == 0].max() > 1.3
    found = circles.touches(rings, pairs, 9.0, np.full(3, 0.8))
    assert set(found.pair.tolist()) == {0, 1}
    assert found.gap.max() < 0.85
    # Fewer samples miss no place.
    assert circles.touches(rings, pairs, samples=12).gap.min() == pytest.approx(
        circles.touches(rings, pairs).gap.min(), abs=1e-9
    )


def test_no_place_is_nearer_than_the_planes_allow() -> None:
    sizes = shape(A, B)
    half, high = math.sin(math.radians(30)), math.cos(math.radians(30))
    there = lying(([0, 0, 0], Z), ([0, 0, 2], [half, 0, high]))
    pairs = circles.near_pairs(sizes, there, 9.0)
    # B's rim reaches 0.5 x sin 30 down from 2; A's rim reaches sin 30 up to B's plane at 1.73.
    near(circles._low(sizes, pairs), 2 - 0.25)
    turned = lying(([0, 0, 0], [half, 0, high]), ([0, 0, 2], Z))
    near(circles._low(sizes, circles.near_pairs(sizes, turned, 9.0)), 2 - 0.5)
    beside = lying(([0, 0, 0], Z), ([0, 3, 0], Y))
    near(circles._low(sizes, circles.near_pairs(sizes, beside, 9.0)), 3 - 1.0)
    near(circles._low(THREE, circles.links_of(THREE, three(2.0))), -0.5)


# -- what moves them ----------------------------------------------------------------------------


def place(along: Any, lever_i: Any, lever_j: Any) -> circles.Touches:
    one = (np.array([v], dtype=float) for v in (along, lever_i, lever_j))
    return circles.Touches(np.array([0]), np.array([1.0]), *one)


def test_hands_draw_both_rings_apart_or_together() -> None:
    touch = place(X, Y, [0, 0, 2])
    push_i, push_j, torque_i, torque_j = circles.hands(touch)
    near(push_i, [-1, 0, 0])
    near(push_j, [1, 0, 0])
    near(torque_i, [0, 0, 1])  # less y x x
    near(torque_j, [0, 2, 0])  # 2 z x x
    for back in (-1.0, np.array([-1.0])):
        for one, other in zip(circles.hands(touch, back), circles.hands(touch), strict=True):
            near(one, *(-other))


def test_what_a_pull_does_to_the_numbers_of_a_chain() -> None:
    chain = shape(A, B, links=[(0, 1, (2,))], dims=1, twist=True)
    there = lying(([0, 0, 0], Z), ([0, 1, 0], Z), repeat=[3.0, math.pi / 4])
    pairs = circles.links_of(chain, there)  # B two units on, a quarter turn about x: at (6, 0, 1)
    near(pairs.centre_j, [6, 0, 1])
    (row,) = circles.slopes(chain, there, pairs, place(Y, X, Z))
    near(row[:3], 0, -1, 0)  # A is pushed against y
    near(row[3:6], 0, 0, -1)  # what is y at the copy is less z at B itself
    # Two ways across z: y and -x. A's turn, less x x y, is -z; B's, z x y = -x, is the same at B.
    near(row[6:8], 0, 0)
    near(row[8:10], 0, 1)
    near(row[10:11], 0)  # no pull along x
    # Two units on: (centre x push) along x, 0 * 0 - 1 * 1, and the torque, -1.
    near(row[11:], -4)
    (row,) = circles.slopes(chain, there, pairs, place(X, Y, Y))
    near(row[:6], -1, 0, 0, 1, 0, 0)
    near(row[10:], 2, 0)
    (row,) = circles.slopes(chain, there, pairs, place(X, Z, Z))
    # A: -(z x x) = -y, the first way; B: y at the copy is less z at B, across neither.
    near(row[6:10], -1, 0, 0, 0)
    facing = lying(([0, 0, 0], Z), ([0, 1, 0], Y), repeat=[3.0, math.pi / 4])
    (row,) = circles.slopes(chain, facing, pairs, place(X, Z, Z))
    near(row[6:10], -1, 0, 1, 0)  # the ways across y are -z and -x
    plain = shape(A, B, links=[(0, 1, (2,))], dims=1)
    near(circles.slopes(plain, there, pairs, place(Y, X, Z))[0, 11:], 0)


def test_what_a_pull_does_to_the_numbers_of_a_sheet_and_of_one_ring_and_its_copy() -> None:
    sheet = shape(A, links=[(0, 0, (2, 3))], dims=2)
    there = lying(([0, 0, 0], Z), repeat=[4.0, 1.0, 5.0])
    pairs = circles.links_of(sheet, there)
    (row,) = circles.slopes(sheet, there, pairs, place([0.6, 0.8, 0.0], [0, 0, 1], [0, 0, 3]))
    near(row[:3], 0, 0, 0)  # pushed and pulled alike
    # z x (0.6, 0.8, 0) = (-0.8, 0.6, 0), once against and three times along; ways are y and -x.
    near(row[3:5], 2 * 0.6, 2 * 0.8)
    near(row[5:], 2 * 0.6, 3 * 0.6, 3 * 0.8)


def test_rings_are_moved_and_turned_and_the_repeat_grows() -> None:
    chain = shape(A, B, dims=1)
    there = lying((X, Z), (Y, Z), repeat=[3.0, 0.5])
    turn = math.pi / 2
    step = np.array([1, 2, 3, 4, 5, 6, turn, 0, 0.6 * turn, 0.8 * turn, 0.25, -0.5])
    found = circles.moved(chain, there, step)
    near(found.centres, [2, 2, 3], [4, 6, 6])
    # A quarter about y brings z to x; about 0.6 y - 0.8 x it brings it to (0.6, 0.8).
    near(found.normals, X, [0.6, 0.8, 0])
    near(found.repeat, 3.25, 0)
    still = circles.moved(chain, there, np.zeros(12))
    near(still.normals, Z, Z)
    near(still.centres, X, Y)
    tiny = circles.moved(chain, there, np.array([0] * 6 + [1e-3, 0] + [0, 0, 0, 0]))
    near(tiny.normals[0], math.sin(1e-3), 0, math.cos(1e-3))
    both = circles.moved(chain, circles.stacked([there, there]), np.stack([step, np.zeros(12)]))
    near(both.normals[:, 1], [0.6, 0.8, 0], Z)
    near(both.centres[:, 0], [2, 2, 3], X)
