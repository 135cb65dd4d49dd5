"""Arrows of rings put in and moved, their angles and points worked out by hand."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest

from ringstep.draw.arrows import Arrow, _crossings, _through_three, _tip, moves, way_of
from ringstep.draw.strands import ARCS, Strand
from ringstep.space.state import Round

FRONT = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def ring(x: float = 0, y: float = 0, z: float = 0, normal: tuple[float, float, float] = (0, 0, 1),
         radius: float = 4.0) -> Round:  # fmt: skip
    return Round((x, y, z), normal, radius, 1.0)


def ends(strand: Strand) -> np.ndarray:
    return strand.at(np.array([strand.start, strand.start + strand.span / 2,
                               strand.start + strand.span]))  # fmt: skip


# -- rings put in -------------------------------------------------------------------------------


def test_where_a_ring_goes_through_the_opening_of_another() -> None:
    # Upright, about (4, 0, 0), across a flat ring: it meets the page in (0, 0) and (8, 0), and
    # only the first lies in the opening.
    flat, upright = ring(), ring(4, normal=(0, 1, 0))
    (angle,) = _crossings(upright, flat)
    assert 0 <= angle < 2 * pi
    # One that lies beside it, or in its plane, goes through nothing.
    assert _crossings(ring(12, normal=(0, 1, 0)), flat) == []
    assert _crossings(ring(4), flat) == []
    assert _crossings(ring(4, z=4.1, normal=(0, 1, 0)), flat) == []
    assert len(_crossings(ring(0, radius=3, normal=(0, 1, 0)), flat)) == 2  # in and out again
    # 2 above the page a ring of 4 meets it 2 * sqrt(3) to both sides of its middle.
    assert len(_crossings(ring(4, z=2, normal=(0, 1, 0)), flat)) == 1
    assert way_of(ring(12, normal=(0, 1, 0)), [flat]) is None


@pytest.mark.parametrize("behind", [False, True])
def test_the_way_of_a_ring_runs_along_its_circle_past_what_it_goes_through(behind: bool) -> None:
    arrow = way_of(ring(4, normal=(0, 1, 0)), [ring()], behind)
    assert arrow is not None
    begin, middle, end = ends(arrow.strand)
    # Through (0, 0) in its middle, and on by 1.6 of the radius to both sides; 1 of it to spare.
    assert middle == pytest.approx([0, 0, 0], abs=1e-9)
    assert arrow.strand.span == pytest.approx(3.2)
    assert arrow.spare == pytest.approx(1.0)
    assert arrow.strand.wire == pytest.approx(0.4)
    assert np.linalg.norm(begin - np.array([4, 0, 0])) == pytest.approx(4)
    side = -1 if behind else 1
    assert begin[2] == pytest.approx(side * 4 * np.sin(1.6))
    assert end[2] == pytest.approx(-side * 4 * np.sin(1.6))


def test_a_way_through_two_rings_spans_both_and_leaves_its_widest_gap_free() -> None:
    # Two flat rings 4 apart along the eye's line: the upright one goes through both at angles of
    # which the lesser arc between them is 2 * asin(2 / 4), a third of pi.
    low, high = ring(z=-2), ring(z=2)
    arrow = way_of(ring(4, normal=(0, 1, 0)), [low, high])
    assert arrow is not None
    assert arrow.strand.span == pytest.approx(pi / 3 + 3.2)
    assert ends(arrow.strand)[1] == pytest.approx([0, 0, 0], abs=1e-9)
    # In and out of one ring by half of its circle: 5.9 at most are drawn, so less is left over.
    arrow = way_of(ring(0, radius=3, normal=(0, 1, 0)), [ring()])
    assert arrow is not None
    assert arrow.strand.span == pytest.approx(5.9)
    assert arrow.spare == pytest.approx((5.9 - pi) / 2 - 0.6)


def test_an_arrow_is_cut_so_that_its_head_and_its_beginning_are_seen() -> None:
    # 48 arcs of 0.1 radians, of which 12 may be cut off at each end; its head is 4 arcs long.
    strand = Strand(np.zeros(3), np.array([4.0, 0, 0]), np.array([0, 4.0, 0]), 0.5, 1.0, 4.8)
    arrow, clear = Arrow(strand, 1.25), np.zeros(ARCS, bool)
    cut = arrow.trimmed(clear)  # half of what may be
    assert (cut.start, cut.span) == (pytest.approx(1.6), pytest.approx(3.6))
    tail = clear.copy()
    tail[-10:] = True  # the last 10 arcs lie under rings
    cut = arrow.trimmed(tail)
    assert (cut.start, cut.span) == (pytest.approx(1.6), pytest.approx(4.8 - 0.6 - 1.0))
    front = clear.copy()
    front[:9] = True
    assert arrow.trimmed(front).start == pytest.approx(1.9)
    assert Arrow(strand).trimmed(tail).span == pytest.approx(4.8)  # nothing may be cut


# -- rings moved --------------------------------------------------------------------------------


def test_the_arc_through_three_points() -> None:
    # From (5, 0) by (3, 4) to (0, 5) about the middle of the page: a quarter of a circle of 5.
    a, b, c = (np.array([*p, 0.0]) for p in ((5, 0), (3, 4), (0, 5)))
    arc = _through_three(a, b, c, 0.4)
    assert arc is not None
    assert arc.centre == pytest.approx([0, 0, 0], abs=1e-9)
    assert arc.span == pytest.approx(pi / 2)
    assert arc.wire == 0.4
    begin, middle, end = ends(arc)
    assert begin == pytest.approx(a)
    assert middle == pytest.approx([5 / sqrt(2), 5 / sqrt(2), 0])
    assert end == pytest.approx(c, abs=1e-9)
    # The other way round, by a point on the far side, the long way.
    far = _through_three(a, np.array([-3.0, -4.0, 0]), c, 0.4)
    assert far is not None
    assert far.span == pytest.approx(3 * pi / 2)
    # Points in line are bent a little: by a tenth of their distance.
    near = _through_three(np.zeros(3), np.array([2.0, 0, 0]), np.array([4.0, 0, 0]), 0.4)
    assert near is not None
    assert np.linalg.norm(ends(near)[1] - np.array([2.0, 0, 0])) == pytest.approx(0.4)
    assert ends(near)[[0, 2]] == pytest.approx(np.array([[0, 0, 0], [4, 0, 0]]), abs=1e-9)
    assert _through_three(a, b, a + np.array([0.79, 0, 0]), 0.4) is None  # less than 2 wires
    assert _through_three(a, b, a + np.array([0.81, 0, 0]), 0.4) is not None


def test_the_tip_of_a_ring_lies_just_outside_of_it() -> None:
    turn = np.array(FRONT)
    # A mean radius of 4 and a wire of 1 up from its middle, or down.
    assert _tip(ring(1, 2, 3), turn, 1.0) == pytest.approx([1, 7, 3])
    assert _tip(ring(1, 2, 3), turn, -1.0) == pytest.approx([1, -3, 3])
    # Tipped so that its normal leans up by 3 in 5, its highest point lies 4 in 5 up.
    assert _tip(ring(normal=(0, 0.6, 0.8)), turn, 1.0) == pytest.approx([0, 4, -3])
    assert _tip(ring(1, 2, 3, normal=(0, 1, 0)), turn, 1.0) == pytest.approx([1, 2, 3])


def test_the_arrow_of_a_folded_ring_runs_from_its_top_to_its_lowest_point_then() -> None:
    (arrow,) = moves([(ring(), ring(3, -6), "fold")], FRONT)
    begin, middle, end = ends(arrow.strand)
    # From 5 above the middle to 5 below where the middle comes to lie, at (3, -6); all of it lies
    # 40 mean radii towards the eye.
    assert begin == pytest.approx([0, 5, 160])
    assert end == pytest.approx([3, -11, 160])
    # Its middle bows by three tenths of its length to the right, where the ring comes to lie.
    assert middle == pytest.approx([1.5 + 0.3 * 16, -3 + 0.3 * 3, 160])
    assert arrow.strand.wire == pytest.approx(0.4)
    assert arrow.spare == 0


def test_arrows_of_rings_spread_lead_from_one_another_and_are_long_enough() -> None:
    # Each goes 1 aside; an arrow is 1.2 mean radii long at least.
    pair = [(ring(-1), ring(-2), "spread"), (ring(1), ring(2), "spread")]
    for arrow, side in zip(moves(pair, FRONT), (-1, 1), strict=True):  # type: ignore[arg-type]
        begin, middle, end = ends(arrow.strand)
        assert begin == pytest.approx([side, 5, 160])
        assert end == pytest.approx([side * (1 + 4.8), 5, 160])
        assert middle == pytest.approx([side * 3.4, 5 + 0.3 * 4.8, 160])  # they bow upwards
    # Both gone to one side by as much lead nowhere from one another: each shows its own way.
    alike = [(ring(-1), ring(5), "spread"), (ring(1), ring(7), "spread")]
    assert [ends(a.strand)[2][0] for a in moves(alike, FRONT)] == pytest.approx([5, 7])  # type: ignore[arg-type]
    # Hardly moved, by less than a tenth of the wire, and turned work: no arrow.
    assert moves([(ring(), ring(0.09), "spread")], FRONT) == []
    assert len(moves([(ring(), ring(0.11), "spread")], FRONT)) == 1
    assert moves([(ring(), ring(9), "turn")], FRONT) == []
