"""Where a ring can go in: what is drawn, what of it does, and which is best, by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from ringstep.space import set_in
from ringstep.space.motion import Hand
from ringstep.space.set_in import Drawn, Flat, Wanted, exact, find, put_in, room

X, Y, Z = np.eye(3)
Lying = tuple[tuple[float, float, float], np.ndarray]


def hand(*lying: Lying, thick: float = 0.2) -> Hand:
    """Rings of mean radius 1."""
    own = Hand()
    for centre, normal in lying:
        own.lay(np.array(centre, dtype=float), normal.copy(), 1.0, thick, thick)
    return own


def drawn(*lying: Lying) -> Drawn:
    return Drawn(np.array([c for c, _ in lying], dtype=float), np.array([n for _, n in lying]))


ONE = hand(((0, 0, 0), Z))


def upright(*places: tuple[float, float, float]) -> Drawn:
    return drawn(*((place, Y) for place in places))


# -- what does ----------------------------------------------------------------------------------


def test_exactly_the_wanted_rings_are_gone_through() -> None:
    two = hand(((0, 0, 0), Z), ((1.5, 0, 0), Z))
    some = drawn(
        ((-1, 0, 0), Y), ((0.75, 0, 0), X), ((0.75, 0, 0), Y), ((-1, 0, 0), -Y), ((9, 0, 0), Y)
    )
    right, signs = exact(two, some, 1.0, [0])
    assert right.tolist() == [0, 3]
    assert signs.tolist() == [[-1], [1]] or signs.tolist() == [[1], [-1]]
    right, signs = exact(two, drawn(((0.75, 1, 0), X)), 1.0, [1, 0])
    assert right.tolist() == [0]
    assert signs[0, 0] == signs[0, 1] != 0
    assert exact(two, some, 1.0, ())[0].tolist() == [1, 4]


def test_room_reaches_to_the_nearest_wire() -> None:
    far = room(ONE, drawn(((2.5, 0, 0), Z)), 1.0)
    assert far == pytest.approx([0.4])  # 0.5 between the middles, less half of 0.2
    assert room(ONE, drawn(((2.5, 0, 0), Y)), 1.0) == pytest.approx([0.4])
    assert room(ONE, upright((0.5, 0, 0)), 1.0) == pytest.approx([0.4])
    assert room(ONE, drawn(((0, 0, 0.3), Z)), 1.0) == pytest.approx([0.2])
    assert room(ONE, drawn(((2, 0, 0), Z)), 0.5) == pytest.approx([0.4])
    # Of several wires the nearest; what is farther than 1 is not looked at.
    two = hand(((0, 0, 0), Z), ((4.7, 0, 0), Z))
    assert room(two, drawn(((2.5, 0, 0), Z)), 1.0) == pytest.approx([0.1])
    assert room(ONE, drawn(((2.99, 0, 0), Z)), 1.0) == pytest.approx([0.89])
    assert room(ONE, drawn(((3.01, 0, 0), Z)), 1.0).tolist() == [np.inf]
    both = room(ONE, drawn(((2.5, 0, 0), Z), ((4.4, 0, 0), Z)), 1.0)
    assert both == pytest.approx([0.4, 2.3])  # one of them is near


@pytest.mark.parametrize(
    ("other", "wire", "thick"),
    [
        (0.02, 0.2, 0.98 * 0.18),  # 0.1 from middle to middle is 0.2 of both wires
        (0.02, 0.1, 0.98 * 0.1),
        (0.1, 0.2, 0.98 * 0.1),
        (0.3, 0.2, 0.02 * 0.2),  # there is none: it begins with a fiftieth
    ],
)
def test_a_ring_is_put_in_as_thick_as_there_is_room(
    other: float, wire: float, thick: float
) -> None:
    own = hand(((0, 0, 0), Z), thick=other)
    number = put_in(own, np.array([1.9, 0, 0]), Y.copy(), 1.0, wire)
    assert number == 1
    assert own.thick[1] == pytest.approx(thick)
    assert own.wires[1] == wire
    assert own.linked[0, 1]


def test_a_ring_far_from_all_is_put_in_all_but_whole() -> None:
    own = hand(((0, 0, 0), Z), thick=0.3)
    put_in(own, np.array([9.0, 0, 0]), Y.copy(), 1.0, 0.2)
    assert own.thick.tolist() == [0.3, pytest.approx(0.98 * 0.2)]


def test_it_is_drawn_so_often_till_one_does(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []
    monkeypatch.setattr(set_in, "_drawn", lambda *_: upright((1, 0, 0), (2, 0, 0)))
    monkeypatch.setattr(
        set_in, "_best", lambda *_: asked.append(1) or (1 if len(asked) == 3 else None)
    )
    rng = np.random.default_rng(0)
    assert find(ONE, rng, Wanted([0], 1.0, 0.2), 2) is None
    found = find(ONE, rng, Wanted([0], 1.0, 0.2))
    assert found is not None
    assert [v.tolist() for v in found] == [[2, 0, 0], [0, 1, 0]]
    assert len(asked) == 3
    assert find(ONE, rng, Wanted([0], 1.0, 0.2)) is None
    assert len(asked) == 4


# -- what is drawn ------------------------------------------------------------------------------


def test_points_are_drawn_all_over_an_opening() -> None:
    rng = np.random.default_rng(1)
    points = set_in._inside(hand(((5, 0, 0), Z)), rng, np.zeros(4000, dtype=np.int64), ())
    off = points - np.array([5, 0, 0])
    size = np.linalg.norm(off, axis=1)
    assert 0.88 < size.max() <= 0.9
    assert (size < 0.45).mean() == pytest.approx(0.25, abs=0.03)  # evenly by area
    assert np.abs(off[:, 2]).max() < 1e-9
    assert off.mean(axis=0) == pytest.approx([0, 0, 0], abs=0.04)
    # Between two that are spread apart, in all but half to the sixth where half lies beyond.
    own = hand(((0, 0, 0), Z), ((0, 0, 0.2), X), ((1, 0, 0), X))
    inside = set_in._inside(own, rng, np.zeros(4000, dtype=np.int64), (1, 2))
    assert 0.002 < (inside[:, 0] < 0).mean() < 0.02


def test_a_point_lies_between_the_planes_of_two_rings() -> None:
    own = hand(((0, 0, 0), X), ((2, 5, 0), -X))
    points = np.array([[1.0, 9, 9], [-0.1, 0, 0], [2.1, 0, 0], [0.1, 0, 0], [1.9, 0, 0]])
    assert set_in._in_gate(own, points, (0, 1)).tolist() == [True, False, False, True, True]
    assert set_in._in_gate(own, points, (1, 0)).tolist() == [True, False, False, True, True]


def test_circles_are_drawn_through_openings() -> None:
    own = hand(((0, 0, 0), Z), ((1.2, 0, 0), Z), ((9, 0, 0), X))
    some = set_in._drawn(own, np.random.default_rng(2), Wanted([0, 1], 1.0, 0.2))
    assert some.centres.shape == some.normals.shape == (3000, 3)
    assert np.linalg.norm(some.normals, axis=1) == pytest.approx(1)
    right, _ = exact(own, some, 1.0, [0, 1])
    assert len(right) > 300
    assert len(exact(own, some, 1.0, [2])[0]) == 0


def test_half_of_the_circles_lie_beside_the_first_of_a_pair() -> None:
    own = hand(((0, 0, 0), Z), ((5, 0, 0), Y))
    some = set_in._drawn(own, np.random.default_rng(2), Wanted([0], 1.0, 0.2, first=1))
    off, normals = some.centres[:1500] - np.array([5, 0, 0]), some.normals[:1500]
    assert off[:, [0, 2]].std(axis=0) == pytest.approx([0.03] * 2, rel=0.1)
    assert np.abs(off[:, 1]).mean() == pytest.approx(0.2, abs=0.005)  # 0.6 to 1.4 wires
    assert np.abs(off[:, 1]).std() == pytest.approx(np.hypot(0.16 / np.sqrt(12), 0.03), rel=0.08)
    assert (off[:, 1] > 0).mean() == pytest.approx(0.5, abs=0.05)
    assert normals[:, [0, 2]].std(axis=0) == pytest.approx([0.08] * 2, rel=0.1)
    assert np.linalg.norm(some.centres[1500:], axis=1).max() < 3


@pytest.mark.parametrize(
    ("axis", "below", "over", "lean"), [(0, 1, 1, -1), (0, -1, -1, -1), (1, 0, 1, 1)]
)
def test_circles_among_flat_rows_lean_against_them(
    axis: int, below: float, over: float, lean: float
) -> None:
    # The rings gone through lean to +x, or to -y: the new one leans the other way.
    normal = over * np.array([0.6, 0, 0.8]) if axis == 0 else np.array([0, -0.6, 0.8])
    own = hand(((1, 2, 0), normal), ((1, 2, 1), normal))
    some = set_in._drawn(
        own, np.random.default_rng(4), Wanted([0, 1], 2.0, 0.2, flat=Flat(axis, below))
    )
    off = some.centres - np.array([1, 2, 0.5])
    far = off[:, 0] * (below or 1)
    if below:
        assert far.mean() == pytest.approx(0.95 * 2, abs=0.05)
        assert far.std() == pytest.approx(np.hypot(3 / np.sqrt(12), 0.3), rel=0.05)
    else:
        assert far.std() == pytest.approx(0.3, rel=0.05)
    assert off[:, 1:].std(axis=0) == pytest.approx([0.3, 0.3], rel=0.05)
    assert off[:, 1:].mean(axis=0) == pytest.approx([0, 0], abs=0.03)
    angle = np.degrees(np.arctan2(lean * some.normals[:, axis], some.normals[:, 2]))
    assert angle.mean() == pytest.approx(32.5, abs=1)
    assert angle.std() == pytest.approx(np.hypot(55 / np.sqrt(12), 5.7), rel=0.05)
    assert some.normals[:, 1 - axis].std() == pytest.approx(0.1, rel=0.06)


def test_planes_are_turned_to_the_eye() -> None:
    seen = set_in._to_eye(np.array([[0.6, 0, 0.8], [0.6, 0, -0.8], [1.0, 0, 0]]))
    assert seen.tolist() == [[0.6, 0, 0.8], [-0.6, 0, 0.8], [1, 0, 0]]


# -- which is best ------------------------------------------------------------------------------


def best(own: Hand, some: Drawn, **more: Any) -> int | None:
    words = {"through": [0], "radius": 1.0, "wire": 0.2, **more}
    return set_in._best(own, some, Wanted(**words))


def test_of_circles_with_room_that_is_best_which_reaches_ahead_in_its_lane() -> None:
    assert best(ONE, upright((0.8, 0, 0), (1.2, 0, 0))) == 1
    assert best(ONE, upright((1.2, 0, 0), (0.8, 0, 0), (2.2, 0, 0))) == 0
    assert best(ONE, upright((2.2, 0, 0))) is None  # goes through nothing
    # A tenth ahead is worth 0.025; a tenth off the middle costs 0.015, up as well as to a side.
    for off in ((0, 0.1), (0.1, 0), (0, -0.1)):
        assert best(ONE, upright((0.9, 0, 0), (1.0, *off))) == 1
        assert best(ONE, upright((0.9, 0, 0), (1.0, 2 * off[0], 2 * off[1]))) == 0
    # Off its lane it costs three times as much and more.
    assert best(ONE, upright((0.9, 0.2, 0), (1.0, 0.24, 0)), lane=0.2) == 1
    assert best(ONE, upright((0.9, 0.2, 0), (1.0, 0.26, 0)), lane=0.2) == 0
    assert best(ONE, upright((1.0, 0.2, 0), (1.0, -0.2, 0)), lane=0.2) == 0
    assert best(ONE, upright((1.0, 0.2, 0), (1.0, -0.2, 0)), lane=-0.2) == 1


def test_room_counts_up_to_six_tenths_of_the_wire() -> None:
    # At 1.85 there is 0.05 between its middle and the wire, at 1.75 there is 0.15: half a wire more
    # is worth more than 0.1 ahead. Beyond 0.12 room is worth nothing.
    assert best(ONE, upright((1.85, 0, 0), (1.75, 0, 0))) == 1
    assert best(ONE, upright((1.75, 0, 0), (1.65, 0, 0))) == 0
    assert best(ONE, upright((1.8, 0, 0), (1.7, 0, 0))) == 1  # 0.1, which is less than 0.12
    assert best(ONE, upright((1.91, 0, 0), (0.05, 0, 0))) is None  # no room at all
    assert best(ONE, upright((1.91, 0, 0), (0.2, 0, 0))) == 1


def test_the_second_of_a_pair_lies_near_the_first_and_alike() -> None:
    own = hand(((0, 0, 0), Z), ((1, 0.3, 0), Y))
    near = upright((1, -0.1, 0), (1.3, -0.1, 0))
    assert best(own, near) == 1
    assert best(own, near, first=1) == 0  # 0.4 and 0.5 away, for 0.075 ahead
    # As near, and alike or turned by 37 degrees, which costs 0.2.
    turned = drawn(((1, -0.1, 0), np.array([0.6, 0.8, 0])), ((0.98, -0.1, 0), -Y))
    assert best(own, turned, first=1) == 1


def test_front_and_back_are_told_by_the_signs_of_links() -> None:
    # Two linked rings; an upright ring through both openings from one side or the other.
    own = hand(((0, 0, 0), Z), ((1, 0, 0), Y))
    rng = np.random.default_rng(0)
    normals = rng.normal(size=(4000, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    some = Drawn(rng.normal(0, 1, (4000, 3)) + np.array([0.5, 0, 0]), normals)
    right, signs = exact(own, some, 1.0, [0, 1])
    both = int(set_in.link_signs(own, np.array([1]), np.array([0]))[0])
    kinds = signs[:, 0] * signs[:, 1] * both
    assert set(kinds.tolist()) == {1, -1}
    for side, kind in (("front", 1), ("back", -1)):
        found = best(own, some, through=[0, 1], side=side)
        assert found is not None
        assert kinds[right.tolist().index(found)] == kind
    # Of rings that are not linked with one another nothing is said.
    apart = hand(((0, 0, 0), Z), ((1.2, 0, 0), Z))
    assert best(apart, drawn(((0.6, 1, 0), X)), through=[0, 1], side="front") == 0
    assert best(apart, drawn(((0.6, 1, 0), X)), through=[0, 1], side="back") == 0


def test_flat_rows_are_passed_one_way_and_two_rows_each_the_other_way() -> None:
    apart = hand(((0.5, 0.6, 0), Z), ((0.5, -0.6, 0), -Z))
    same, other = drawn(((1.2, 0, 0), Y)), drawn(((0.5, 0, 0), X))
    # Across both openings at one side of them: front to back through both.
    assert best(apart, same, through=[0, 1], flat=Flat(1, 1.0)) == 0
    assert best(apart, same, through=[0, 1], flat=Flat(0, 0.0)) is None
    far = hand(((0.5, 1.1, 0), Z), ((0.5, -1.1, 0), -Z))
    assert best(far, other, through=[0, 1], flat=Flat(0, 0.0)) == 0
    assert best(far, other, through=[0, 1], flat=Flat(1, 1.0)) is None


def test_between_two_spread_rings_pass_those_that_hang_on_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    own = hand(((0, 0, 0), Z), ((9, 0, 0), Z), ((-1, 0, 0), X), ((1, 0, 0), X))
    spots = np.array([[[0.5, 0, 0], [5, 0, 0]], [[5, 0, 0], [0.5, 0, 0]], [[0, 0, 0], [0.1, 0, 0]]])
    monkeypatch.setattr(set_in, "_passes", lambda *_: spots)
    wanted = Wanted([0, 1], 1.0, 0.2, gate=(2, 3))
    some = np.arange(3)
    own.linked[:] = False  # none hangs on them: all must be passed between
    assert set_in._between(own, upright(), some, wanted).tolist() == [False, False, True]
    own.linked[0, 3] = True
    assert set_in._between(own, upright(), some, wanted).tolist() == [True, False, True]


@pytest.mark.parametrize(
    ("angles", "gate", "right"),
    [
        # degrees round the ring where it passes two rings of the first stop and one of the next
        ((0, 60, 180), (), True),
        ((0, 60, 109), (), False),  # 79 from the middle of 0 and 60
        ((0, 60, 111), (), True),  # 81
        ((0, 109, 230), (), True),  # each within 55 of their middle
        ((0, 111, 230), (), False),
        ((0, 111, 230), (4, 5), True),  # or within 110 where rings are spread apart
    ],
)
def test_stops_are_passed_one_after_another(
    angles: tuple[float, ...], gate: tuple[int, ...], right: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = np.radians(angles)
    spots = np.array([7.0, 0, 0]) + np.stack([np.cos(at), np.sin(at), 0 * at], axis=1)
    monkeypatch.setattr(set_in, "_passes", lambda *_: 1.0 * spots[None])
    wanted = Wanted([3, 1, 2], 1.0, 0.2, stops=[[3, 1], [], [2, 9]], gate=gate)
    found = set_in._stops_right(ONE, upright((7, 0, 0)), np.arange(1), wanted)
    assert found.tolist() == [right]


@pytest.mark.parametrize(("angle", "right"), [(108, True), (112, False)])
def test_one_place_between_spread_rings_is_wide(
    angle: float, right: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = np.radians([0, angle, 2 * angle])  # whose middle is the second
    spots = np.stack([np.cos(at), np.sin(at), 0 * at], axis=1)
    monkeypatch.setattr(set_in, "_passes", lambda *_: 1.0 * spots[None])
    wanted = Wanted([0, 1, 2], 1.0, 0.2, stops=[[0, 1, 2]], gate=(4, 5))
    found = set_in._stops_right(ONE, upright((0, 0, 0)), np.arange(1), wanted)
    assert found.tolist() == [right]


def test_where_a_circle_passes_each_ring() -> None:
    own = hand(((0, 0, 0), Z), ((1, 1, 0), X), ((9, 0, 0), Z))
    wanted = Wanted([1, 0], 1.0, 0.2)
    (spots,) = set_in._passes(own, upright((5, 0, 0), (1, 0, 0)), np.array([1]), wanted)
    assert spots[1] == pytest.approx([0, 0, 0])
    assert np.abs(spots[0]) == pytest.approx([1, 0, 1])
    assert set_in._unit(np.array([[3.0, 4, 0], [0, 0, 0]])).tolist() == [[0.6, 0.8, 0], [0, 0, 0]]
