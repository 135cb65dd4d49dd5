"""What the eye sees of a few strands, and in which order they are painted, worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from ringstep.draw.solids import Solid
from ringstep.draw.strands import ARCS, Run, Scene, Strand, _mends, ring_strand, scene

ROUND = 2 * pi * 4  # mm, a ring of 4 mm mean radius
NONE = np.zeros((0, 3))


def ring(x: float = 0.0, y: float = 0.0, z: float = 0.0, wire: float = 1.0) -> Strand:
    """A ring of 4 mm mean radius that faces the eye."""
    return Strand(np.array([x, y, z]), np.array([4.0, 0, 0]), np.array([0, 4.0, 0]), wire)


def upright(x: float, y: float = 0.0, turn: float = 1.5, wire: float = 1.0) -> Strand:
    """One about the page's line along x, so many mm high as it is seen, from top to middle."""
    v = np.array([0, turn, (16 - turn**2) ** 0.5])
    return Strand(np.array([x, y, 0.0]), np.array([4.0, 0, 0]), v, wire)


def ball(x: float, y: float, z: float, across: float) -> Solid:
    return Solid(np.array([x, y, z]), np.array([1.0, 0, 0]), across, 0.0, 0.0, NONE, NONE)


# -- strands ------------------------------------------------------------------------------------


def test_points_of_a_strand() -> None:
    half = Strand(
        np.array([1.0, 2, 3]), np.array([2.0, 0, 0]), np.array([0, 0, 5.0]), 1, pi / 2, pi
    )
    assert not half.closed
    assert ring().closed
    assert half.angles(np.array([0.0, 24, 48])) == pytest.approx([pi / 2, pi, 3 * pi / 2])
    assert half.at(np.array([0, pi / 2, pi])) == pytest.approx(
        np.array([[3, 2, 3], [1, 2, 8], [-1, 2, 3]])
    )
    over = half.turned(np.array([[0.0, -1, 0], [1, 0, 0], [0, 0, 1]]))  # a quarter to the left
    assert over.centre == pytest.approx([-2, 1, 3])
    assert over.u == pytest.approx([0, 2, 0])
    assert over.v == pytest.approx([0, 0, 5])
    assert (over.start, over.span, over.wire) == (pi / 2, pi, 1)


@pytest.mark.parametrize(
    ("normal", "u", "v"),
    [
        ((0, 0, 1), (3, 0, 0), (0, 3, 0)),
        ((1, 0, 0), (0, -3, 0), (0, 0, -3)),  # from its edge: a line up and down
        ((0, 1, 0), (3, 0, 0), (0, 0, -3)),
        ((0, 0.6, 0.8), (3, 0, 0), (0, 2.4, -1.8)),
        ((0.48, 0.36, 0.8), (1.8, -2.4, 0), (1.92, 1.44, -1.8)),
    ],
)
def test_the_long_axis_of_a_ring_lies_in_the_page(
    normal: tuple[float, ...], u: tuple[float, ...], v: tuple[float, ...]
) -> None:
    found = ring_strand(np.zeros(3), np.array(normal, float), 3.0, 1.0)
    assert found.u == pytest.approx(u)
    assert found.v == pytest.approx(v)


# -- what is seen -------------------------------------------------------------------------------


def test_how_much_of_a_ring_is_seen() -> None:
    assert scene([ring()]).seen() == pytest.approx([ROUND], rel=0.01)
    # As long as it looks: an arc of a third, and what lies behind another ring as wide not at all.
    one, behind = scene([ring(), ring(z=-2)]).seen()
    assert (one, behind) == pytest.approx((ROUND, 0), rel=0.01)
    assert scene([ring(), ring(z=-2)]).hidden.all(axis=1).tolist() == [False, True]
    # Half of a ring lies behind a ball whose edge runs through its middle.
    share = scene([ring()], [ball(50, 0, 9, 100)]).seen() / ROUND
    assert share == pytest.approx([0.5], abs=0.03)
    assert scene([ring()], [ball(50, 0, -60, 100)]).seen() == pytest.approx([ROUND], rel=0.01)


def test_a_ring_seen_from_its_edge_counts_half() -> None:
    # It looks like a bar of 8 mm, once there and once back: 16 mm, of which half are counted.
    edge = scene([upright(0, turn=0.0)])
    assert edge.bar.tolist() == [True]
    assert edge.seen() == pytest.approx([8], rel=0.01)
    assert scene([upright(0, turn=0.059)]).bar.tolist() == [True]  # 0.06 of the wire
    assert scene([upright(0, turn=0.061)]).bar.tolist() == [False]
    assert scene([replace(upright(0, turn=0.0), span=3.0)]).bar.tolist() == [False]


def test_a_wire_half_hidden_counts_half() -> None:
    # A ring of 5 mm mean radius lies over the outer half of the wire: the 1 mm wires are 1 mm apart
    # at their middles, so they only touch; of 1.6 mm each, 0.6 of 1.6 are hidden.
    wide = Strand(np.array([0, 0, 3.0]), np.array([5.0, 0, 0]), np.array([0, 5.0, 0]), 1.6)
    over, under = scene([wide, ring(wire=1.6)]).seen()
    assert over == pytest.approx(2 * pi * 5, rel=0.01)
    assert not scene([wide, ring(wire=1.6)]).hidden.any()  # the middle of the wire is free
    assert under / ROUND == pytest.approx(0.6, abs=0.01)  # of five spots across it two are hidden
    assert scene([ring(wire=1.0), replace(wide, wire=1.0)]).seen()[0] == pytest.approx(
        ROUND, rel=0.01
    )


def test_a_point_is_hidden_by_what_lies_over_it() -> None:
    seen = scene([ring(z=2)])
    assert seen.hides(4, 0, 0)
    assert seen.hides(4.3, 0.0, 1.9)
    assert not seen.hides(4.6, 0, 0)  # beside the wire
    assert not seen.hides(0, 0, 0)  # in the opening
    assert not seen.hides(4, 0, 2.5)  # before it
    assert not scene([]).hides(0, 0, 0)


def test_an_empty_scene() -> None:
    nothing = scene([])
    assert nothing.layers() == []
    assert nothing.seen().tolist() == []
    assert scene([], [ball(0, 0, 0, 2)]).layers() == [[Run(0, 0, 0)]]
    # The nearer one is painted last, whatever their order, also where there is no ring at all.
    near, far = ball(0, 0, 3, 3), ball(1, 0, 0, 3)
    assert scene([], [near, far]).layers() == [[Run(1, 0, 0)], [Run(0, 0, 0)]]
    assert scene([], [far, near]).layers() == [[Run(0, 0, 0)], [Run(1, 0, 0)]]


# -- what lies over what ------------------------------------------------------------------------


def whole(seen: Scene) -> list[list[int]]:
    """The strands painted whole, layer by layer."""
    return [[run.strand for run in layer if run.count == ARCS] for layer in seen.layers()]


def test_rings_apart_are_one_layer_and_one_behind_the_other_two() -> None:
    assert whole(scene([ring(), ring(x=20)])) == [[0, 1]]
    assert whole(scene([ring(), ring(z=-2)])) == [[1], [0]]
    assert whole(scene([ring(x=-1, z=-2), ring(), ring(x=1, z=2)])) == [[0], [1], [2]]
    assert whole(scene([ring(z=-2), ring(x=30), ring(z=2)])) == [[0, 1], [2]]


@pytest.mark.parametrize("size", [1.0, 2.0])
@pytest.mark.parametrize(
    ("rise", "apart", "layers"),
    [
        # Beside one another at one height: no order. Wires of 1 mm run side by side where they are
        # more than 0.7 apart and less than 0.2 high over one another.
        (0.0, 8.8, [[0, 1]]), (0.19, 8.8, [[0, 1]]), (0.21, 8.8, [[1], [0]]),
        (-0.21, 8.8, [[0], [1]]), (0.21, 8.0, [[1], [0]]), (0.21, 9.8, [[0, 1]]),
    ],
)  # fmt: skip
def test_wires_that_lie_abreast_have_no_order(
    rise: float, apart: float, layers: list[list[int]], size: float
) -> None:
    pair = [ring(z=rise), ring(x=apart)]
    large = [Strand(size * s.centre, size * s.u, size * s.v, size * s.wire) for s in pair]
    seen = scene(large)
    assert whole(seen) == layers
    assert all(run.first == 0 for layer in seen.layers() for run in layer if run.count == ARCS)


@pytest.mark.parametrize("size", [1.0, 2.0])
def test_a_ring_seen_nearly_from_its_edge_hides_a_part_of_itself(size: float) -> None:
    def turned(high: float) -> Scene:
        one = upright(0, turn=high)
        return scene([Strand(one.centre, size * one.u, size * one.v, size)])

    # It looks 0.4 wires high in all; its front, in which v points to the eye, is the half from arc
    # 0 to 24, and hides the middle of the other half's wire. The front is painted last of all.
    seen = turned(0.2)
    assert np.flatnonzero(seen.hidden[0]).tolist() == [*range(24, 48)]
    assert whole(seen)[0] == [0]
    (last,) = seen.layers()[-1]
    assert last.first % ARCS < 12 < last.first % ARCS + last.count < 24
    # Half a wire high on both sides of its middle it covers itself at its tips alone.
    assert np.flatnonzero(turned(0.5).hidden[0]).tolist() == [24, 25, 26, 27, 44, 45, 46, 47]
    # One that looks wider than its wire hides nothing of itself.
    assert len(turned(0.96).layers()) == 1
    assert not turned(0.96).hidden.any()


def test_linked_rings_are_mended_where_the_lower_one_lies_over_the_other() -> None:
    seen = scene([ring(), upright(4)])
    *_, mends = seen.layers()
    (mend,) = mends
    assert 0 < mend.count < ARCS / 4
    assert sum(map(len, whole(seen))) == 2
    # The upright ring goes through the opening of the other at x 0, over it at x 4 and y 0: its
    # front is the half in which its v points to the eye.
    other = 1 - mend.strand
    middle = seen.strands[mend.strand].at(
        seen.strands[mend.strand].angles(np.array([mend.first + mend.count / 2]))
    )[0]
    near = seen.strands[other].at(np.linspace(0, 2 * pi, 500))
    beside = near[np.hypot(*(near - middle)[:, :2].T) < 1]
    assert len(beside)
    assert beside[:, 2].max() < middle[2]  # it lies over what it is mended over


def test_a_ball_hides_what_lies_behind_it_and_is_hidden() -> None:
    assert whole(scene([ring()], [ball(4, 0, -3, 3)]))[-1] == [0]
    first, second = scene([ring()], [ball(4, 0, 3, 3)]).layers()
    assert ([r.strand for r in first], [r.strand for r in second]) == ([0], [1])
    away = ring(x=50)
    first, second = scene([away], [ball(0, 0, 3, 3), ball(1, 0, 0, 3)]).layers()
    assert ([r.strand for r in first], [r.strand for r in second]) == ([0, 2], [1])
    first, second = scene([away], [ball(1, 0, 0, 3), ball(0, 0, 3, 3)]).layers()
    assert ([r.strand for r in first], [r.strand for r in second]) == ([0, 1], [2])
    assert len(scene([away], [ball(0, 0, 3, 3), ball(9, 0, 0, 3)]).layers()) == 1
    three = [ball(9, 0, 0, 3), ball(0, 0, 3, 3), ball(1, 0, 0, 3)]
    first, second = scene([away], three).layers()
    assert ([r.strand for r in first], [r.strand for r in second]) == ([0, 1, 3], [2])


# -- mends --------------------------------------------------------------------------------------


def mends(
    floor: dict[int, int], top: dict[int, int], closed: bool = False, base: int = 0
) -> list[tuple[int, float, float]]:
    """Layer, first arc and how many, of a strand whose other arcs are well as they are and may be
    painted again anywhere."""
    floors = [floor.get(arc, base) for arc in range(ARCS)]
    tops = [top.get(arc, 99) for arc in range(ARCS)]
    found = _mends(closed, 7, base, floors, tops)
    return [(at, round(run.first, 6), round(run.count, 6)) for at, run in found]


def test_a_mend_runs_on_where_it_may_and_keeps_back_where_it_may_not() -> None:
    high = dict.fromkeys((10, 11, 12), 2)
    assert mends({}, {}) == []
    assert mends(high, {}) == [(2, 9.5, 4)]  # half an arc more at both ends
    assert mends(high, {9: 1}) == [(2, 10.2, 3.3)]  # a fifth less at its beginning
    assert mends(high, {13: 1}) == [(2, 9.5, 3.3)]
    assert mends(high, {9: 1, 13: 1}) == [(2, 10.2, 2.6)]
    assert mends(high, {9: 2, 13: 2}) == [(2, 9.5, 4)]
    assert mends({10: 5}, {}, base=4) == [(5, 9.5, 2)]


def test_mends_are_joined_over_what_may_be_painted_again() -> None:
    two = {10: 2, 14: 2}
    assert mends(two, {}) == [(2, 9.5, 6)]
    assert mends(two, {12: 1}) == [(2, 9.5, 2), (2, 13.5, 2)]
    assert mends({10: 2, 14: 3}, {}) == [(3, 9.5, 6)]
    assert mends({10: 2, 14: 3}, {10: 2}) == [(2, 9.5, 2), (3, 13.5, 2)]
    assert mends({10: 3, 14: 2}, {14: 2}) == [(3, 9.5, 2), (2, 13.5, 2)]


def test_a_mend_of_an_arc_ends_with_it_and_one_of_a_ring_goes_on_round() -> None:
    ends = {0: 2, 47: 2}
    free = dict.fromkeys(range(1, 47), 1)
    assert mends(ends, free) == [(2, 0, 0.8), (2, 47.2, 0.8)]
    assert mends(ends, free, closed=True) == [(2, 47.2, 1.6)]
    assert mends({0: 2}, {}) == [(2, 0, 1.5)]
    every = dict.fromkeys(range(ARCS), 3)
    assert mends(every, {}) == mends(every, {}, closed=True) == [(3, 0, 48)]
