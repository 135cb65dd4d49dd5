"""Lines and curves of diagrams, worked out on squared paper."""

from __future__ import annotations

from math import hypot

import pytest

from ringstep.draw.geometry import (
    CLEAR,
    MOST_ABOUT,
    Path,
    Point,
    _part,
    bent,
    bezier,
    clearance,
    clipped,
    cross,
    route,
    segment_distance,
)

ARCH: Path = ((1, 2), (1, 10), (9, 10), (9, 2))


def test_how_far_a_point_lies_from_a_line() -> None:
    # From (1, 1) to (4, 5) the line is 5 long; its middle is (2.5, 3), and (-8, 6) is square to it.
    one, other = (1, 1), (4, 5)
    assert segment_distance(one, other, (2.5 - 8, 3 + 6)) == pytest.approx(10)
    assert segment_distance(one, other, (1 - 3, 1 - 4)) == pytest.approx(5)  # before its beginning
    assert segment_distance(one, other, (4 + 6, 5 + 8)) == pytest.approx(10)  # behind its end
    assert segment_distance(one, other, (1.6, 1.8)) == pytest.approx(0)  # on it, a fifth along
    assert segment_distance((2, 3), (2, 3), (5, 7)) == pytest.approx(5)  # a line of no length
    assert segment_distance((2, 3), (2.5, 3), (2.5, 4)) == pytest.approx(1)  # one of half a point


def test_lines_that_cross_and_lines_that_only_meet() -> None:
    assert cross((1, 1), (5, 4), (2, 5), (4, 0))
    assert cross((2, 5), (4, 0), (5, 4), (1, 1))
    assert not cross((0, 0), (4, 0), (2, 0), (2, 3))  # one ends on the other
    assert not cross((2, 0), (2, 3), (0, 0), (4, 0))
    # A short line above a longer one, and the same the other way round, also a very small one.
    for size in (1, 0.1):
        low, high = (0.5 * size, 0.1 * size), (0.6 * size, 0.4 * size)
        assert not cross((0, 0), (size, 0), low, high)
        assert not cross(low, high, (0, 0), (size, 0))
        assert cross((0, 0), (size, 0), low, (0.6 * size, -0.4 * size))


def test_points_of_a_curve() -> None:
    # Handles a third along: evenly from one end to the other.
    for t in (0.0, 0.25, 0.5, 1.0):
        x, y = bezier(((1, 2), (2, 4), (3, 6), (4, 8)), t)
        assert (x, y) == pytest.approx((1 + 3 * t, 2 + 6 * t))
    # An arch of 8 by 8: its middle is three quarters up; a quarter along it, (10/64, 36/64).
    assert bezier(ARCH, 0.5) == pytest.approx((5, 2 + 6))
    assert bezier(ARCH, 0.25) == pytest.approx((1 + 8 * 10 / 64, 2 + 8 * 36 / 64))
    assert bezier(ARCH, 0.75) == pytest.approx((1 + 8 * 54 / 64, 2 + 8 * 36 / 64))


def test_how_far_a_curve_keeps_from_a_point() -> None:
    straight = bent((0, 0), (24, 0), 0.0)
    assert clearance(straight, (12, 5)) == pytest.approx(5)
    assert clearance(straight, (-3, 4)) == pytest.approx(5)
    assert clearance(straight, (27, 4)) == pytest.approx(5)
    assert clearance(ARCH, (5, 11)) == pytest.approx(3, abs=0.02)


def test_a_bent_curve_has_its_middle_to_the_left() -> None:
    assert bent((0, 0), (6, 0), 3.0) == ((0, 0), (2, 4), (4, 4), (6, 0))
    assert bent((1, 1), (1, 10), 3.0) == ((1, 1), (-3, 4), (-3, 7), (1, 10))
    assert bent((1, 10), (1, 1), -3.0) == ((1, 10), (-3, 7), (-3, 4), (1, 1))
    assert bezier(bent((1, 1), (1, 10), 3.0), 0.5) == pytest.approx((-2, 5.5))
    assert bent((5, 6), (5, 6), 3.0)[0] == bent((5, 6), (5, 6), 3.0)[3] == (5, 6)
    # 8 along and 6 up is 10 long; 3 to the left of its middle are 1.8 back and 2.4 up.
    assert bezier(bent((1, 2), (9, 8), 3.0), 0.5) == pytest.approx((5 - 1.8, 5 + 2.4))


def middle(path: Path) -> float:
    """How far the middle of a curve stands to the left of a line along x."""
    return round(bezier(path, 0.5)[1], 6)


@pytest.mark.parametrize(
    ("rings", "by"),
    [
        ([], 0),
        ([((45, 20), 10)], 0),  # free by 10
        ([((45, 12), 10)], 0),  # free by 2, which is enough
        ([((45, 0), 4)], 7),  # of two ways as good the left one
        ([((45, 2), 4)], -7),  # on the left it would pass by 1 only
        ([((45, -2), 4)], 7),
        ([((45, 0), 10)], 16),  # 11 leaves 1
        ([((45, 0), 4), ((45, 12), 4)], -7),  # a second ring in the way on the left
        ([((45, 0), 4), ((45, 11), 4), ((45, -11), 4)], 22),  # and one on the right
        ([((45, 0), 4), ((200, 0), 90)], 7),  # one beyond the end
    ],
)
def test_a_line_is_led_round_rings_as_little_as_can_be(
    rings: list[tuple[tuple[float, float], float]], by: float
) -> None:
    assert middle(route((0, 0), (90, 0), rings)) == by


@pytest.mark.parametrize(
    "rings",
    [[((45, -20), 4), ((45, 5.5), 4)], [((45, 0), 4), ((45, 12), 4), ((45, -9), 4)]],
)
def test_a_way_is_free_of_every_ring(rings: list[tuple[Point, float]]) -> None:
    way = route((0, 0), (90, 0), rings)
    assert all(clearance(way, centre) - radius >= CLEAR for centre, radius in rings)


def test_where_no_way_is_free_the_one_that_comes_nearest_to_it_is_taken() -> None:
    # A wall of rings of 6 with 3 between them: no bend keeps 2 from all of them. Straight through
    # the middle of a ring is 6 wrong; 7 up is 2 from the outline of the next and so 1 free.
    wall = [((45, 15 * k), 6.0) for k in range(-6, 7)]
    assert middle(route((0, 0), (90, 0), wall)) == 7
    # Rings of 7 with 1 between them, the line midway and so half a point free: it stays.
    wall = [((45, 15 * k + 7.5), 7.0) for k in range(-6, 7)]
    assert middle(route((0, 0), (90, 0), wall)) == 0
    # With many rings about it a line stays straight.
    many = [((45.0, 0.0), 4.0)] * MOST_ABOUT
    assert middle(route((0, 0), (90, 0), many)) == 7
    assert middle(route((0, 0), (90, 0), [*many, ((45, 0), 4)])) == 0
    # Rings farther away than any bend goes are not counted for that.
    assert middle(route((0, 0), (90, 0), [((45, 0), 4), *[((45, 70), 4)] * MOST_ABOUT])) == 7


def test_a_curve_is_cut_where_it_leaves_the_rings_at_its_ends() -> None:
    line = bent((0, 0), (30, 0), 0.0)
    cut = clipped(line, 5, 10)
    assert [p[0] for p in cut] == pytest.approx([5, 10, 15, 20], abs=1e-4)
    assert {p[1] for p in cut} == {0}
    assert clipped(line, 0, 0) == line
    assert clipped(line, 0.5, 0)[0] == pytest.approx((0.5, 0), abs=1e-4)
    assert clipped(line, 0, 0.5)[3] == pytest.approx((29.5, 0), abs=1e-4)
    # A ring that reaches beyond the middle cuts there.
    assert clipped(line, 20, 0)[0] == pytest.approx((15, 0), abs=1e-4)
    assert clipped(line, 0, 20)[3] == pytest.approx((15, 0), abs=1e-4)
    upright = clipped(bent((3, 4), (3, 34), 0.0), 5, 10)
    assert [p[1] for p in upright] == pytest.approx([9, 14, 19, 24], abs=1e-4)
    # A curve: its ends lie as far from the rings' middles as the rings reach.
    begin, *_, end = clipped(ARCH, 2, 3)
    assert hypot(begin[0] - 1, begin[1] - 2) == pytest.approx(2, abs=1e-4)
    assert hypot(end[0] - 9, end[1] - 2) == pytest.approx(3, abs=1e-4)


def test_the_halves_of_a_curve_have_their_handles_where_its_handles_meet() -> None:
    # By halving each side, then the sides between those middles, then again.
    assert _part(ARCH, 0.0, 0.5) == ((1, 2), (1, 6), (3, 8), (5, 8))
    assert _part(ARCH, 0.5, 1.0) == ((5, 8), (7, 8), (9, 6), (9, 2))
