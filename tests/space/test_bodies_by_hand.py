"""Bodies of parts round their holes, with gaps and places worked out by hand; mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from ringstep.space import bodies
from ringstep.space.bodies import Things, in_plane, linked, rim_points, with_bodies
from ringstep.space.state import Ball, Bar, Round, State
from ringstep.weave.work import Ring

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
A, BEAD, TAG, HOOK = (Ring(role, 1, 1, 0) for role in ("A", "bead", "tag", "hook"))
PART = {"bead": "ball", "tag": "bar", "hook": "unknown"}
#: A plate 20 mm long and 6 mm wide with a hole of 3 mm, whose rim is 0.5 mm thick.
SIZE = {"bead": (4.0, 4.0, 1.5), "tag": (6.0, 20.0, 3.0)}


def weave(held: Sequence[Ring] = (), **size: tuple[float, float, float]) -> Any:
    sizes = SIZE | size
    return SimpleNamespace(
        recipe=SimpleNamespace(part_roles=set(PART)),
        work=SimpleNamespace(placed_by={BEAD: 0}, acts=[SimpleNamespace(held=held)]),
        part_shape=PART.get,
        part_size=sizes.get,
    )


def ring(
    centre: Any = (0.0, 0.0, 0.0), normal: Any = Z, radius: float = 10.0, body: Any = None
) -> Round:
    return Round(centre, normal, radius, 1.0, body)


def eye(centre: Any, normal: Any = Y, radius: float = 1.75, body: Any = None) -> Round:
    return Round(centre, normal, radius, 0.5, body)


def near(found: Any, *expected: float) -> None:
    assert np.asarray(found) == pytest.approx(np.array(expected), abs=1e-9)


# -- points -------------------------------------------------------------------------------------


def test_points_of_a_rim_lie_evenly_round_it() -> None:
    points = rim_points(ring((1.0, 2.0, 3.0), X, 4.0))
    assert points.shape == (120, 3)
    near(points.mean(axis=0), 1, 2, 3)
    near(points[:, 0], *[1.0] * 120)
    near(np.linalg.norm(points - [1, 2, 3], axis=1), *[4.0] * 120)
    chord = 8 * math.sin(math.pi / 120)
    near(np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1), *[chord] * 120)


#: Its middle plane reaches 2 to each side of a line from 1 to 9 along x, without what is within 1.5
#: of the middle of the hole.
PLATE = Bar((1.0, 0.0, 0.0), (9.0, 0.0, 0.0), 5.0, 2.0)
HOLE = Round((0.0, 0.0, 0.0), Z, 1.5, 1.0)


def test_how_far_points_lie_from_a_plate_along_it() -> None:
    asked = {
        (5, 1, 0): 0,
        (5, -2, 0): 0,
        (5, 3, 7): 1,
        (11.5, 0, -1): 0.5,
        (9, 4, 0): 2,
        (12, 4, 0): 3,
        (0, 0, 2): 1.5,
        (1, 0, 0): 0.5,
        (0, -1, 0): 0.5,
        (-2, 0, 0): 1,
        (2, 0, 0): 0,
    }
    near(in_plane(np.array([*asked], dtype=float), HOLE, PLATE), *asked.values())
    round_one = Bar((1.0, 0.0, 0.0), (1.0, 0.0, 0.0), 5.0, 0.0)
    near(in_plane(np.array([[1.0, 5.0, 2.0], [-3.0, 0.0, 0.0]]), HOLE, round_one), 3, 2)


def test_points_of_a_plate_fill_it_and_leave_its_hole() -> None:
    there = Round((1.0, 2.0, 3.0), Z, 1.5, 1.0)
    points = bodies._flat_points(there, PLATE) - [1, 2, 3]
    near(points[:, 2], *[0.0] * len(points))
    # 60 columns of 9 from -1 to 11, without those in the hole and beyond the round ends.
    columns = sorted({round(x, 6) for x in points[:, 0]})
    assert np.diff(columns) == pytest.approx(np.full(len(columns) - 1, 12 / 59), abs=2e-6)
    assert columns[-1] == 11
    assert columns[0] >= -1
    straight = points[(points[:, 0] > 2) & (points[:, 0] < 9)]
    assert sorted({round(y, 6) for y in straight[:, 1]}) == [k / 2 for k in range(-4, 5)]
    assert len(straight) == 9 * sum(2 < x < 9 for x in columns)
    assert np.hypot(points[:, 0], points[:, 1]).min() >= 1.5
    assert np.hypot(points[:, 0], points[:, 1]).min() < 1.7
    assert max(np.hypot(points[:, 0] - 9, points[:, 1])[points[:, 0] > 9]) <= 2 + 1e-9
    # It lies along its far end, whatever way that is.
    upright = Bar((0.0, 0.0, -1.0), (0.0, 0.0, -9.0), 5.0, 2.0)
    stood = bodies._flat_points(Round((0.0, 0.0, 0.0), X, 1.5, 1.0), upright)
    near((stood[:, 0].min(), stood[:, 0].max()), 0, 0)
    near((stood[:, 1].min(), stood[:, 1].max(), stood[:, 2].min()), -2, 2, -11)
    assert len(stood) == len(points)
    short = bodies._flat_points(HOLE, Bar((0.5, 0.0, 0.0), (0.5, 0.0, 0.0), 9.0, 2.0))
    near((short[:, 0].max(), short[:, 1].max(), short[:, 1].min()), 4.5, 3, -3)


# -- gaps ---------------------------------------------------------------------------------------


def clear(body: Ball | Bar, *points: tuple[float, float, float], half: float = 0.5) -> float:
    at = np.array(points, dtype=float).reshape(-1, 3)
    return Things(at + np.array([1, 2, 3]), np.full(len(at), half)).clear_of(
        Round((1.0, 2.0, 3.0), Z, 1.5, 1.0), body
    )


def test_the_gap_of_a_ball_is_from_its_outside_and_through_its_hole() -> None:
    bead = Ball(6.0, 2.0)
    assert clear(bead) == math.inf
    assert clear(bead, (5, 0, 0)) == pytest.approx(1.5)
    assert clear(bead, (3, 4, 0), (0, 8, 0)) == pytest.approx(1.5)
    # A wire of 1 in the hole of 2 has 0.5 all round, and may bite another 1 into its wall.
    assert clear(bead, (0, 0, 1)) == pytest.approx(1.5)
    assert clear(bead, (0, 1.4, -1)) == pytest.approx(0.1)
    assert clear(bead, (1.6, 0, 0)) == pytest.approx(1.6 - 3.5)
    assert clear(bead, (1.5, 0, 0)) == pytest.approx(1.5 - 3.5)
    assert clear(bead, (0, 0.5, 0), half=0.25) == pytest.approx(1 - 0.5 - 0.25 + 0.5)
    # Beyond the hole the wire is as far as it is.
    assert clear(bead, (0, 0, 9)) == pytest.approx(5.5)
    assert clear(Ball(6.0, 0.0), (0, 0, 1)) == pytest.approx(-2.5)
    assert clear(Ball(6.0, 0.0), (0, 0.2, 0)) == pytest.approx(-3.3)


def test_the_gap_of_a_plate_is_from_its_middle_plane() -> None:
    assert clear(PLATE) == math.inf
    assert clear(PLATE, (5, 0, 3)) == pytest.approx(2)
    assert clear(PLATE, (11.5, 0, -1.2), (5, 0, 9)) == pytest.approx(1.3 - 1)
    assert clear(PLATE, (5, 0, 0.25)) == pytest.approx(-0.75)
    assert clear(PLATE, (0, 0, 2), half=0.25) == pytest.approx(2.5 - 0.75)


def test_things_are_as_thick_as_their_wires_and_bodies() -> None:
    none = Things.of([])
    assert (none.points.shape, none.half.shape) == ((0, 3), (0,))
    bead = eye((5.0, 0.0, 0.0), body=Ball(4.0, 1.5))
    plate = Round((0.0, 7.0, 0.0), Z, 1.5, 0.8, PLATE)
    found = Things.of([bead, ring(), plate])
    flat = len(found.half) - 121
    near(found.points[0], 5, 0, 0)
    near(found.points[1:121].ravel(), *rim_points(ring()).ravel())
    near(found.points[121:].ravel(), *bodies._flat_points(plate, PLATE).ravel())
    near(found.half, 2.0, *[0.5] * 120, *[0.4] * flat)
    assert flat > 300


def test_a_ring_goes_through_a_hole_where_it_passes_its_disc() -> None:
    assert linked(ring(), eye((11.0, 0.0, 0.0)))
    assert linked(ring(), eye((9.0, 0.0, 0.0)))
    assert not linked(ring(), eye((12.0, 0.0, 0.0)))
    assert not linked(ring(), eye((11.0, 0.0, 0.0), Z))
    assert linked(eye((11.0, 0.0, 0.0)), ring())
    assert not linked(ring(), eye((11.0, 0.0, 0.0), Y, 0.9))


# -- places -------------------------------------------------------------------------------------


def test_a_hole_moves_along_the_one_ring_that_holds_it() -> None:
    here = eye((11.0, 0.0, 1.0))
    found = list(bodies._along(here, [ring()], 0.0, 9.0))
    assert len(found) == 36
    near(found[0].centre, 11, 0, 1)
    near(found[9].centre, 0, 11, 1)
    near(found[9].normal, -1, 0, 0)
    near(found[18].centre, -11, 0, 1)
    near(found[27].normal, 1, 0, 0)
    near(found[3].centre, 11 * math.cos(math.radians(30)), 5.5, 1)
    near(found[3].normal, -0.5, math.cos(math.radians(30)), 0)
    assert {(r.mean_radius, r.wire) for r in found} == {(1.75, 0.5)}
    leaning = eye((11.0, 0.0, 1.0), (0.0, 0.6, 0.8))
    near(list(bodies._along(leaning, [ring()], 0.0, 9.0))[9].normal, -0.6, 0, 0.8)
    for holding in ([], [ring(), ring()]):
        assert list(bodies._along(here, holding, 0.0, 9.0)) == [here]


def test_the_straight_hole_of_a_bead_lies_along_its_ring() -> None:
    # A ball of 5 with a hole of 3 has a hole 4 long. Over 2 to each side a ring of radius 4 bends
    # 2 x 2 / (2 x 4) = 0.5 away from a straight line; half of that is on each side of the hole.
    held = ring((1.0, 0.0, 0.0), Z, 4.0)
    found = list(bodies._along(eye((6.0, 0.0, 2.0), X), [held], 3.0, 5.0))
    near(found[0].centre, 1 + 4 - 0.25, 0, 0)
    near(found[0].normal, 0, 1, 0)
    near(found[9].centre, 1, 3.75, 0)
    near(found[9].normal, -1, 0, 0)
    wide = list(bodies._along(eye((6.0, 0.0, 2.0), X), [held], 5.0, 4.0))
    near(wide[0].centre, 5, 0, 0)


def test_a_ball_lies_about_its_hole_and_a_plate_points_all_ways() -> None:
    ((ball, way),) = bodies._bodies(eye(X), True, 4.0, 3.0, 1.5)
    assert ball == Ball(4.0, 1.5)
    near(way, 0, 0, 0)
    found = list(bodies._bodies(eye(X, Z), False, 20.0, 6.0, 3.0))
    assert len(found) == 36
    turns = []
    for bar, to in found:
        assert isinstance(bar, Bar)
        # From the edge: 0.5 of rim and half the hole before its middle, so the round end is 1 on.
        near(bar.near, *to)
        near(bar.far, *(15 * to))  # and 20 - 3 - 2 to the middle of the other
        near((bar.across, bar.hole, to[2], np.linalg.norm(to)), 6, 3, 0, 1)
        turns.append(round(math.degrees(math.atan2(to[1], to[0]))) % 360)
    assert sorted(turns) == [*range(0, 360, 10)]


def test_how_like_a_part_lies_to_how_it_lay() -> None:
    bar = Bar((1.0, 0.0, 0.0), (15.0, 0.0, 0.0), 6.0, 3.0)
    turned = Bar((0.6, 0.8, 0.0), (9.0, 12.0, 0.0), 6.0, 3.0)
    one = eye(X)
    like = bodies._like
    assert like(eye(X, body=bar), one, turned) == pytest.approx(0.6)
    assert like(eye(X, body=bar), one, bar) == pytest.approx(1)
    ball = Ball(4.0, 1.5)
    for before in (ball, bar):
        # How far it went, in radii of its rim, and no more than two of them.
        assert like(eye(X, body=before), eye((1.0, 1.75, 0.0)), ball) == pytest.approx(0)
        assert like(eye(X, body=before), one, ball) == 1
        assert like(eye(X, body=before), eye((1.0, 7.0, 0.0)), ball) == -1
    assert like(eye(X, body=ball), eye((1.0, 3.5 / 4, 0.0)), bar) == pytest.approx(0.5)


def test_sizes_are_length_and_width_and_hole() -> None:
    assert bodies._sizes(weave(), TAG) == (20, 6, 3)
    assert bodies._sizes(weave(tag=(20.0, 6.0, 3.0)), TAG) == (20, 6, 3)
    assert bodies._sizes(weave(tag=(7.0, None, None)), TAG) == (7, 0, 0)  # type: ignore[arg-type]
    assert bodies._sizes(weave(), HOOK) == (0, 0, 0)


def test_a_ball_without_a_hole_may_lie_a_quarter_of_its_size_outside() -> None:
    def held(high: float, across: float = 8.0, by: tuple[Ring, ...] = (A,)) -> bool:
        small = ring((3.0, 4.0, 5.0 + high), Z, 0.01)
        lying = {BEAD: eye((3.0, 4.0, 5.0)), A: small}
        return bodies._held_in(weave(by), BEAD, lying, across)

    assert held(0.0)
    assert held(1.9)
    assert held(-1.9)
    assert not held(2.5)
    assert not held(-2.5)
    assert held(2.5, 12.0)
    assert not held(1.9, 4.0)
    assert not held(0.0, by=())
    assert not held(0.0, by=(HOOK,))
    # A wide ring about its middle holds it, one above it only as far.
    wide = {BEAD: eye((0.0, 0.0, 0.0)), A: ring()}
    assert bodies._held_in(weave((A,)), BEAD, wide, 8.0)


def placed(part: Ring, before: Round | None = None, own: Any = None, **lying: Round) -> Any:
    here = {Ring(role, 1, 1, 0): at for role, at in lying.items()}
    return bodies._placed(own or weave(), part, here, before)


def test_a_plate_hangs_away_from_the_work_and_nearly_as_it_did() -> None:
    hung = eye((10.0, 0.0, 0.0))
    found = placed(TAG, A=ring(), tag=hung)
    near(found.centre, 10, 0, 0)
    near(found.normal, *Y)
    near(found.body.near, 1, 0, 0)
    near(found.body.far, 15, 0, 0)
    assert (found.body.across, found.body.hole) == (6, 3)
    # Away counts 0.5 and the way before 0.3: of ways each 10 degrees, that at 30 is the best.
    before = eye(hung.centre, body=Bar((0.0, 0.0, 1.0), (0.0, 0.0, 15.0), 6.0, 3.0))
    found = placed(TAG, before, A=ring(), tag=hung)
    near(found.body.far, 15 * math.cos(math.radians(30)), 0, 7.5)
    # It is the way that counts, not how far it is from the middle of the others.
    sides = {"C": ring((14.25, 50.0, 0.0)), "D": ring((14.25, -50.0, 0.0))}
    found = placed(TAG, before, A=ring(), tag=hung, **sides)
    near(found.body.far, 15 * math.cos(math.radians(30)), 0, 7.5)
    # Away from the middle of all others, which lies below it here.
    found = placed(TAG, A=ring(), C=ring((22.0, 0.0, -80.0)), tag=hung)
    assert found.body.far[2] > 14


def test_a_part_without_known_body_is_left_and_one_without_room_is_none() -> None:
    hung = eye((10.0, 0.0, 0.0), Y, 1.0)
    assert placed(HOOK, A=ring(), hook=hung) is hung
    tight = {"A": ring(), "C": ring(radius=12.2), "D": ring(radius=7.8)}
    assert placed(BEAD, bead=hung, A=ring()) is not None
    assert placed(BEAD, bead=hung, A=ring(), C=tight["C"]) is None  # 2.2 - 2 - 0.5
    assert placed(BEAD, bead=hung, **tight) is None
    # Nothing else there: it stays, with its body.
    assert placed(BEAD, bead=hung).body == Ball(4.0, 1.5)
    # It may run in by a twentieth of the wire: a ring 2.5 from the ball's middle just touches it.
    middle = next(bodies._along(hung, [ring()], 1.5, 4.0)).centre[0]
    for gap, room in ((0.0, True), (-0.04, True), (-0.07, False)):
        other = ring(radius=middle + 2.5 + gap)
        assert (placed(BEAD, bead=hung, A=ring(), C=other) is not None) == room


def test_thick_wire_may_run_in_deeper() -> None:
    thick = Round((0.0, 0.0, 0.0), Z, 10.0, 2.0)
    hung = eye((10.0, 0.0, 0.0), Y, 1.5)
    size = weave(bead=(4.0, 4.0, 2.5))
    (middle, *_), *_ = (o.centre for o in bodies._along(hung, [thick], 2.5, 4.0))
    for gap, room in ((-0.09, True), (-0.12, False)):
        # A thin ring round the thick one: what counts is the wire that holds the bead.
        other = ring(radius=middle + 2.5 + gap)
        assert (placed(BEAD, own=size, bead=hung, A=thick, C=other) is not None) == room


def test_a_ball_without_a_hole_is_only_there_where_it_is_held() -> None:
    own = weave((A,), bead=(4.0, 4.0, 0.0))
    assert placed(BEAD, own=own, A=ring(), bead=eye((0.0, 0.0, 0.0), Z, 0.1)).body == Ball(4.0, 0.0)
    assert placed(BEAD, own=own, A=ring(), bead=eye((0.0, 0.0, 9.0), Z, 0.1)) is None


def test_a_bead_is_moved_along_its_ring_to_where_it_lay_and_has_room() -> None:
    hung = eye((10.0, 0.0, 0.0))
    before = eye((0.0, 10.0, 0.0), X, body=Ball(4.0, 1.5))
    found = placed(BEAD, before, A=ring(), bead=hung)
    assert math.dist(found.centre, (0, 10, 0)) < 0.1
    near(np.abs(found.normal), 1, 0, 0)
    # Another ring goes round the wire there: the bead keeps off it and stays unlinked with it.
    other = ring((0.0, 13.0, 0.0), X, 4.0)
    found = placed(BEAD, before, A=ring(), C=other, bead=hung)
    gap = min(np.linalg.norm(rim_points(other) - found.centre, axis=1)) - 2.5
    assert gap > -0.05
    assert not linked(found, other)
    assert linked(found, ring())


def test_states_keep_parts_that_have_room_and_lie_as_before() -> None:
    bead = eye((10.0, 0.0, 0.0))
    lying = ((A, ring()), (BEAD, bead), (HOOK, eye((0.0, 50.0, 0.0))))
    moved = ((BEAD, "fold"), (A, "turn"))
    one = State(1, 2, 3, lying, (A, BEAD), (BEAD, HOOK), moved)  # type: ignore[arg-type]
    crowded = (*lying, (Ring("C", 1, 1, 0), ring(radius=12.2)))
    two = State(2, 2, 3, crowded, (A, BEAD), (BEAD, HOOK), moved)  # type: ignore[arg-type]
    elsewhere = ((A, ring()), (BEAD, eye((-10.0, 0.0, 0.0))))
    three = State(3, 2, 3, elsewhere)
    first, second, third = with_bodies(weave(), (one, two, three))
    at = dict(first.rings)
    assert list(at) == [A, BEAD, HOOK]
    assert at[BEAD].body == Ball(4.0, 1.5)
    assert at[HOOK] == lying[2][1]
    assert (first.number, first.row, first.unit) == (1, 2, 3)
    assert (first.new, first.through, first.moved) == ((A, BEAD), (BEAD, HOOK), moved)
    assert [r.role for r, _ in second.rings] == ["A", "hook", "C"]
    assert (second.new, second.through, second.moved) == ((A,), (HOOK,), ((A, "turn"),))
    # The third time its hole lies on the other side, but the bead stays where it was at first.
    assert math.dist(dict(third.rings)[BEAD].centre, at[BEAD].centre) < 1.0
