"""Circles in space with places, gaps and turns worked out by hand.

Ring A has a mean radius of 4 mm, the unit of length, ring B one of 2 mm; wires are 1 mm.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from circles_made_up import NONE, A, B, X, Y, Z, lying, near, rows, seen, shape

from ringstep.space import circles
from ringstep.space.circles import Layout

# -- the shape and what is repeated -------------------------------------------------------------


def test_a_cell_is_measured_by_its_largest_ring() -> None:
    found = shape(B, A, links=[(0, 1, (1, -1)), (1, 0, (0, 2))], dims=2, twist=True)
    assert found.unit == 4.0
    near(found.radii, 0.5, 1.0)
    near(found.wires, 0.25, 0.25)
    assert found.dims == 2
    assert not found.twist  # only a chain turns
    assert rows(found.link_shift) == [(1, -1), (0, -2)]  # the second one seen from its lower ring
    assert (found.link_a.tolist(), found.link_b.tolist()) == ([0, 0], [1, 1])
    assert (found.count, found.variables, found.samples) == (2, 13, 72)


@pytest.mark.parametrize(("dims", "variables"), [(0, 5), (1, 7), (2, 8)])
def test_a_ring_moves_by_five_numbers_and_the_unit_by_those_of_its_repeat(
    dims: int, variables: int
) -> None:
    found = shape(A, dims=dims, twist=True)
    assert found.variables == variables
    assert found.twist == (dims == 1)
    assert not shape(A, dims=dims).twist
    assert found.link_shift.shape == (0, 2)


def test_a_shift_along_a_chain_fills_one_number_of_two() -> None:
    assert rows(shape(A, links=[(0, 0, (3,))], dims=1).link_shift) == [(3, 0)]


def test_copies_lie_ahead_and_turned_along_a_chain_and_slanting_in_a_sheet() -> None:
    move, turn = circles.copy_offset(np.array([2.0, 0.5]), np.array([[3, 0], [-1, 0]]))
    near(move, [6, 0, 0], [-2, 0, 0])
    near(turn, 1.5, -0.5)
    move, turn = circles.copy_offset(np.array([2.0, 0.5, 3.0]), np.array([[1, 2], [-1, 0]]))
    near(move, [3, 6, 0], [-2, 0, 0])
    near(turn, 0, 0)
    move, turn = circles.copy_offset(NONE, np.array([[0, 0]]))
    near(move, [0, 0, 0])
    near(turn, 0)
    two = np.array([[[2.0, 0.5]], [[4.0, 0.25]]])  # two layouts at once
    move, turn = circles.copy_offset(two, np.array([[1, 0], [2, 0]]))
    near(move[..., 0], [2, 4], [4, 8])
    near(turn, [0.5, 1.0], [0.25, 0.5])


def within(far: float, *rings: float, repeat: Any) -> list[tuple[int, ...]]:
    """Shifts of rings whose centres lie along x, and along y as far."""
    centres = np.array([[x, x, 0.0] for x in rings or (0.0,)])
    return rows(circles.shifts_within(Layout(centres, centres, np.array(repeat)), far))


def test_copies_of_a_chain_are_looked_at_as_far_as_they_can_come() -> None:
    assert within(9.0, repeat=[]) == [(0, 0)]
    assert within(4.0, repeat=[2.0, 0.0]) == [(k, 0) for k in (-2, -1, 0, 1, 2)]
    assert within(4.0, repeat=[-2.0, 0.0]) == [(k, 0) for k in (-2, -1, 0, 1, 2)]
    assert within(3.9, repeat=[2.0, 0.0]) == [(k, 0) for k in (-1, 0, 1)]
    # The last of one unit comes as near to the first of the third as one unit less.
    assert within(3.9, 0.0, 0.1, repeat=[2.0, 0.0]) == [(k, 0) for k in (-2, -1, 0, 1, 2)]
    assert len(within(1.0, repeat=[0.0, 0.0])) == 241  # no more than 120 each way
    assert len(within(0.0505, repeat=[0.0, 0.0])) == 101  # a unit of next to no length


def test_copies_of_a_sheet_are_looked_at_row_by_row() -> None:
    found = within(3.0, repeat=[2.0, 1.0, 3.0])
    # A row up lies 1 to the right, so the copies within 3 to each side are others.
    rows_of = {-1: (-1, 0, 1, 2), 0: (-1, 0, 1), 1: (-2, -1, 0, 1)}
    assert found == [(k, r) for r, some in rows_of.items() for k in some]
    # Two rings as far apart as 1: three rows within 2, four places within 3.
    assert within(2.0, 0.0, 1.0, repeat=[3.0, 0.0, 3.0]) == [
        (k, r) for r in (-1, 0, 1) for k in (-1, 0, 1)
    ]
    assert within(2.9, repeat=[2.0, 1.0, 3.0]) == [(-1, 0), (0, 0), (1, 0)]
    assert within(0.5, repeat=[0.8, 0.4, 0.5]) == [
        (k, r) for r, some in {-1: (0, 1), 0: (0,), 1: (-1, 0)}.items() for k in some
    ]
    # A row that lies half a place on has no copy so near.
    assert within(0.5, repeat=[2.0, 1.0, 0.5]) == [(0, 0)]


def test_copies_of_a_sheet_that_nearly_vanishes_are_few() -> None:
    assert sorted({r for _, r in within(1.0, repeat=[4.0, 0.0, 0.0])}) == [*range(-30, 31)]
    assert within(0.5, repeat=[1e-3, 0.0, 1.0]) == [(k, 0) for k in range(-100, 101)]
    assert len(within(0.0505, repeat=[1e-5, 0.0, 1.0])) == 101
    assert len(within(0.0205, repeat=[1.0, 0.0, 1e-5])) == 41


def test_a_pair_is_looked_at_from_one_of_its_rings() -> None:
    shifts = [(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1), (1, -1), (-1, 1)]
    found = circles.each_once(2, np.array(shifts))
    ahead = [(1, 0), (0, 1), (1, -1)]
    for shift, two in zip(shifts, found.tolist(), strict=True):
        assert two == [[shift in ahead, True], [False, shift in ahead]]


# -- pairs --------------------------------------------------------------------------------------

THREE = shape(A, B, B, links=[(0, 1, ())])


def three(away: float) -> Layout:
    """A in the plane, B through it, and another B beside it."""
    return lying(([0, 0, 0], Z), (X, Y), ([0, away, 0], X))


def test_pairs_are_those_that_come_near_and_those_that_should_be_linked() -> None:
    # Between the centres of A and the second B lie both radii and the reach: 1 + 0.5 + 0.25.
    assert seen(circles.near_pairs(THREE, three(1.75), 0.25)) == [
        (0, 0, 1, 0, 0, 0),
        (0, 0, 2, 0, 0, -1),
    ]
    assert seen(circles.near_pairs(THREE, three(1.76), 0.25)) == [(0, 0, 1, 0, 0, 0)]
    # B and B are sqrt(2) apart where a reach of 0.5 needs no more than 1.5.
    assert seen(circles.near_pairs(THREE, three(1.0), 0.5))[-1] == (0, 1, 2, 0, 0, -1)
    assert circles.near_pairs(THREE, three(1.0), 0.5).wanted.tolist() == [True, False, False]
    far = lying(([0, 0, 0], Z), ([9, 0, 0], Y), ([0, 40, 0], X))
    pairs = circles.near_pairs(THREE, far, 0.25)
    assert seen(pairs) == [(0, 0, 1, 0, 0, 0)]  # wanted, though it is far away
    near(pairs.apart, [9, 0, 0])
    near(pairs.centre_j, [9, 0, 0])
    near(pairs.normal_i, Z)
    near(pairs.normal_j, Y)


def test_each_of_several_layouts_has_its_own_reach() -> None:
    both = circles.stacked([three(1.75), three(2.0)])
    assert both.centres.shape == (2, 3, 3)
    found = circles.near_pairs(THREE, both, np.array([0.25, 0.5]))
    assert [row[:3] for row in seen(found)] == [(0, 0, 1), (0, 0, 2), (1, 0, 1), (1, 0, 2)]
    near(found.apart[3], 0, 2, 0)
    found = circles.near_pairs(THREE, both, 0.25)
    assert [row[:3] for row in seen(found)] == [(0, 0, 1), (0, 0, 2), (1, 0, 1)]
    assert seen(found.only(np.array([False, True, False]))) == [(0, 0, 2, 0, 0, -1)]
    assert seen(found.only(np.array([2])))[0][:3] == (1, 0, 1)
    assert both.several is both
    assert three(2.0).several.centres.shape == (1, 3, 3)
    near(both.at(1).centres[2], 0, 2, 0)


def test_a_link_far_along_is_looked_at_although_its_copy_is_far() -> None:
    chain = shape(A, B, links=[(0, 1, (0,)), (0, 0, (5,)), (0, 1, (1,))], dims=1)
    there = lying(([0, 0, 0], Z), (X, Y), repeat=[2.2, 0.0])
    found = circles.near_pairs(chain, there, 0.3)
    assert sorted(row[1:] for row in seen(found)) == [
        (0, 0, 1, 0, -1),  # 2.2 from itself, 2 and 0.3 may be
        (0, 0, 5, 0, 1),
        (0, 1, -1, 0, -1),
        (0, 1, 0, 0, 0),
        (0, 1, 1, 0, 2),
    ]
    near(found.apart[found.shift[:, 0] == 5], [11, 0, 0])
    loose = lying(([0, 0, 0], Z), (X, Y), repeat=[50.0, 0.0])
    found = circles.near_pairs(chain, loose, 0.3)
    assert [row[1:] for row in seen(found)] == [
        (0, 1, 0, 0, 0),
        (0, 1, 1, 0, 2),
        (0, 0, 5, 0, 1),
    ]
    near(found.apart[:, 0], 1, 51, 250)


def test_several_chains_look_at_the_shifts_of_the_tightest() -> None:
    chain = shape(A, dims=1)
    loose, tight = (lying(([0, 0, 0], Z), repeat=[x, 0.0]) for x in (1.5, 1.0))
    found = circles.near_pairs(chain, circles.stacked([loose, tight]), 0.25)
    assert [(row[0], row[3]) for row in seen(found)] == [(0, 1), (1, 1), (1, 2)]


def test_links_lie_in_the_order_of_the_cell_and_turn_with_their_copies() -> None:
    chain = shape(A, B, links=[(0, 1, (1,)), (0, 1, (0,))], dims=1, twist=True)
    there = lying(([1, 0, 0], Z), ([0, 1, 0], Y), repeat=[2.0, math.pi / 2])
    found = circles.links_of(chain, there)
    assert seen(found) == [(0, 0, 1, 1, 0, 0), (0, 0, 1, 0, 0, 1)]
    # A quarter turn about x brings y to z.
    near(found.centre_j, [2, 0, 1], [0, 1, 0])
    near(found.apart, [1, 0, 1], [-1, 1, 0])
    near(found.normal_j, Z, Y)
    near(found.normal_i, Z, Z)
    every = circles.near_pairs(chain, there, 0.1)
    again = circles.placed(there, every)
    for one, other in ((every.apart, again.apart), (every.normal_j, again.normal_j)):
        near(one, *other)


def test_a_link_is_as_wanted_where_the_wire_goes_through_the_disc() -> None:
    pairs = circles.near_pairs(THREE, three(1.5), 1.0)
    assert seen(pairs) == [(0, 0, 1, 0, 0, 0), (0, 0, 2, 0, 0, -1), (0, 1, 2, 0, 0, -1)]
    assert np.abs(circles.linking(THREE, pairs)).tolist() == [1, 0, 0]
    assert circles.as_wanted(THREE, pairs).tolist() == [True, True, True]
    # The second B turned so that A's wire goes through it, the first out of A.
    wrong = lying(([0, 0, 0], Z), ([1.6, 0, 0], Y), (Y, X))
    pairs = circles.near_pairs(THREE, wrong, 1.0)
    assert circles.as_wanted(THREE, pairs).tolist() == [False, False, True]
    # Which way it goes: A up, B to the left of it, or B's other side.
    one, other = (lying(([0, 0, 0], Z), (X, side), ([9, 9, 9], X)) for side in (Y, [0, -1, 0]))
    signs = [circles.linking(THREE, circles.links_of(THREE, at))[0] for at in (one, other)]
    assert signs == [-1, 1]
