"""What is measured of a layout, with gaps, places and ends worked out by hand.

Rings have a mean radius of 2 mm, the unit of length, and wires of 1 mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from ringstep.space import measure as made
from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.circles import Layout, Shape, shape_of
from ringstep.space.tighten import Tight

Fakes = pytest.MonkeyPatch
X, Y, Z = [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]


def shape(count: int, *links: Any, dims: int = 0) -> Shape:
    rings = tuple(CellRing(name, 3.0, 1.0) for name in "ABC"[:count])
    return shape_of(Cell(rings, tuple(CellLink(*x) for x in links), dims))


def lying(*rings: Any, repeat: Any = ()) -> Layout:
    centres, normals = zip(*rings, strict=True)
    return Layout(np.array(centres), np.array(normals), np.array(repeat, dtype=float))


def near(found: Any, *expected: Any) -> None:
    assert np.asarray(found) == pytest.approx(np.array(expected), abs=1e-9)


HOPF = shape(2, (0, 1, ()))
#: B goes through the plane of A at x = -0.2 and 1.8, each 0.8 from A's wire.
THROUGH = lying(([0.0, 0.0, 0.0], Z), ([0.8, 0.0, 0.0], Y))


def test_distances_of_linked_rings_in_order() -> None:
    three = shape(3, (0, 1, ()), (1, 2, ()))
    near(made.spectrum(three, lying(([0, 0, 0], X), ([0, 3, 4], X), ([0, 3, 2], X))), 2, 5)


def test_clearance_is_the_gap_of_the_wires_in_mm() -> None:
    assert made.clearance(HOPF, THROUGH, 1.0) == pytest.approx(0.6)  # (0.8 - 0.5) x 2
    assert made.clearance(HOPF, THROUGH, 1.2) == pytest.approx(0.4)
    assert made.clearance(HOPF, THROUGH, 0.5) == pytest.approx(1.1)
    assert made.clearance(HOPF, THROUGH, 2.0) == pytest.approx(-0.4)
    # Farther apart than two wires is not measured.
    far = lying(([0.0, 0.0, 0.0], Z), ([0.0, 0.0, 9.0], Z))
    assert made.clearance(shape(2), far, 1.0) == pytest.approx(2)
    assert made.clearance(shape(2), far, 0.5) == pytest.approx(2)
    assert made.clearance(shape(2), far, 2.0) == pytest.approx(4)
    above = lying(([0.0, 0.0, 0.0], Z), ([0.0, 0.0, 0.9], Z))
    assert made.clearance(shape(2), above, 1.0) == pytest.approx(0.8)


def test_a_pose_is_in_mm_with_the_wires_asked_for() -> None:
    pose = made.pose_of(HOPF, THROUGH, 1.2)
    one, other = pose.rings
    assert (one.name, one.ring, one.shift) == ("A", 0, ())
    assert (other.name, other.ring) == ("B", 1)
    assert (one.mean_radius, one.wire) == (2.0, 1.2)
    assert np.linalg.norm(np.subtract(one.centre, other.centre)) == pytest.approx(1.6)
    near(np.add(one.centre, other.centre), 0, 0, 0)
    assert abs(np.dot(one.normal, other.normal)) < 1e-9
    assert pose.repeat == ()
    assert pose.clearance == pytest.approx(0.4)
    chain = made.pose_of(shape(1, dims=1), lying(([5.0, 0.0, 0.0], X), repeat=(3, 0.25)), 1.0)
    assert chain.repeat == (6.0, 0.25)  # the turn is no length
    assert chain.rings[0].shift == (0,)
    sheet = made.pose_of(shape(1, dims=2), lying(([5.0, 2.0, 1.0], X), repeat=(3, 1, 4)), 1.0)
    assert sheet.repeat == (6.0, 2.0, 8.0)
    assert sheet.rings[0].shift == (0, 0)
    near(sheet.rings[0].centre, 0, 0, 0)
    near(sheet.rings[0].normal, *X)


def test_a_chain_is_held_broadest_from_the_front() -> None:
    two = shape(2, dims=1)

    def held(*rings: Any, twist: float = 0.0) -> Layout:
        return made._held(two, lying(*rings, repeat=(3, twist)))

    deep = held(([1.0, 5.0, 4.0], X), ([3.0, 5.0, 2.0], X))
    near(np.abs(deep.centres), [1, 1, 0], [1, 1, 0])
    near(deep.centres.sum(axis=0), 0, 0, 0)
    near(deep.normals, X, X)
    near(deep.repeat, 3, 0)
    # A rim counts half its radius squared: 0.5 is more than 0.6 squared and less than 0.8 squared.
    for out, edge in ((0.6, True), (0.8, False)):
        found = held(([0.0, out, 0.0], Y), ([0.0, -out, 0.0], Y))
        near(np.abs(found.normals[0]), *(Z if edge else Y))
        near(np.abs(found.centres[0]), *([0, 0, out] if edge else [0, out, 0]))
    # Of a chain that turns, only the way along may be shifted.
    turning = held(([1.0, 3.0, 0.0], X), ([3.0, 5.0, 0.0], X), twist=0.1)
    near(np.abs(turning.centres), [1, 3, 0], [1, 5, 0])
    same = lying(([1.0, 3.0, 4.0], X), ([3.0, 5.0, 2.0], Y), repeat=(3, 0.1))
    kept = same.centres.copy()
    again = made._held(two, same)
    near(same.centres, *kept)
    # It is turned and not mirrored.
    before = np.cross(same.centres[0] - same.centres[1], same.normals[1])
    after = np.cross(again.centres[0] - again.centres[1], again.normals[1])
    assert before[0] == pytest.approx(after[0])


def test_a_single_piece_is_held_longest_across_and_not_mirrored() -> None:
    three = shape(3)
    for way in ([1, 1, 1], [-1, 1, 1], [1, -1, 1], [1, 1, -1]):
        centres = np.array([[0.0, 0.0, 9.0], [0.0, 4.0, 0.0], [1.0, 0.0, 0.0]]) * way
        before = Layout(centres, np.array([Y, X, Z]), np.zeros(0))
        found = made._held(three, before)
        span = np.ptp(found.centres, axis=0)
        assert span[0] > span[1] > span[2]
        near(found.centres.sum(axis=0), 0, 0, 0)
        sides = [np.linalg.norm(x.centres[0] - x.centres[1]) for x in (before, found)]
        assert sides[0] == pytest.approx(sides[1])
        assert np.linalg.det(found.normals) == pytest.approx(-1)  # as before: y, x, z
        middle = centres - centres.mean(axis=0)
        for k in range(3):
            near(found.centres[k] @ found.normals.T, *(middle[k] @ before.normals.T))
    # One ring alone is seen face on.
    near(np.abs(made._held(shape(1), lying(([3.0, 1.0, 2.0], X))).normals), Z)


# -- ends ---------------------------------------------------------------------------------------


def tight(length: float, room: float = 1.0) -> Tight:
    return Tight(lying(([0.0, 0.0, 0.0], X), repeat=(length, 0)), room)


def ended(
    monkeypatch: Fakes, way: int, got: list[Tight], settled: list[bool], thick: list[float]
) -> tuple[float, list[Any]]:
    """The end found of pulls that come to what is said, and what was asked for."""
    asked: list[Any] = []
    pulls, thins, rooms = iter(got), iter(settled), iter(thick)

    def stretch(shape: Any, layout: Layout, *rest: Any) -> Tight:
        asked.append((shape, float(layout.repeat[0]), *rest))
        return tight(float(layout.repeat[0])) if shape == "fine" else next(pulls)

    monkeypatch.setattr(made, "stretch", stretch)
    monkeypatch.setattr(made, "kicked", lambda shape, layout, rng, size: asked.append(size))
    monkeypatch.setattr(made, "settle", lambda *_: tight(0.5).layout if next(thins) else None)
    monkeypatch.setattr(made, "thicken", lambda *_: tight(0.25, next(rooms)))
    monkeypatch.setattr(made, "read_links", lambda *_: SimpleNamespace(signs=None))
    coarse: Any = SimpleNamespace(dims=1)
    end = made._end(coarse, "fine", tight(7.0).layout, way, 1.0, len(settled), None)  # type: ignore[arg-type]
    return float(end.layout.repeat[0]), asked


def test_the_farthest_of_several_pulls_is_taken(monkeypatch: Fakes) -> None:
    pulls = [tight(3.0), tight(5.0), tight(4.0)]
    end, asked = ended(monkeypatch, 1, pulls, [False, True, True, True], [0.9, 1.0, 1.5])
    # The first kick does not settle, the second is too tight; then 5 and 4 are come to.
    assert end == 5.0
    assert [x for x in asked if isinstance(x, float)] == [0.1] * 4
    whole = [x[1:] for x in asked if isinstance(x, tuple)]
    assert whole == [(7.0, 1, 1.0), (0.25, 1, 1.0, 50), (0.25, 1, 1.0, 50), (5.0, 1, 1.0, 12)]
    pulls = [tight(3.0), tight(5.0), tight(2.0)]
    assert ended(monkeypatch, -1, pulls, [True, True], [1.0, 1.0])[0] == 2.0
    # One whose wires press into one another counts as none.
    pulls = [tight(3.0), tight(9.0, 0.99), tight(4.0)]
    assert ended(monkeypatch, 1, pulls, [True, True], [1.0, 1.0])[0] == 4.0
    assert ended(monkeypatch, 1, [tight(3.0, 0.9), tight(1.0)], [True], [1.0])[0] == 1.0
    assert ended(monkeypatch, 1, [tight(3.0)], [], [])[0] == 3.0


def sheet(a: float, b: float, c: float, room: float = 1.0) -> Tight:
    return Tight(lying(([0.0, 0.0, 0.0], X), repeat=(a, b, c)), room)


def hung(
    monkeypatch: Fakes, got: list[Tight], sides: Any, *starts: Tight
) -> tuple[Any, list[Any], Iterator[Tight]]:
    asked: list[Any] = []
    pulls = iter(got)

    def stretch(shape: Any, layout: Layout, way: int, *rest: Any) -> Tight:
        asked.append((shape, float(layout.repeat[0]), way, *rest))
        return next(pulls)

    monkeypatch.setattr(made, "stretch", stretch)
    monkeypatch.setattr(made, "pose_of", lambda shape, layout, room: (shape, layout, room))
    pose = made._hung("shape", "fine", starts, sides, 1.0, 0.9)  # type: ignore[arg-type]
    return pose, asked, pulls


def test_a_sheet_is_hung_while_its_wires_shrink(monkeypatch: Fakes) -> None:
    down = (1.0, 0.01)
    steps = [sheet(2 + k, 0, 1, 1.6 - k / 10) for k in range(1, 7)]
    steps[2] = sheet(50, 0, 1, 1.2)  # too tight for its wires, so it is left
    got = [*steps, sheet(20, 0, 1), sheet(20, 0, 1)]
    pose, asked, rest = hung(monkeypatch, got, down, sheet(2, 0, 1, 1.6))
    assert pose == ("fine", got[-2].layout, 0.9)
    assert list(rest) == []
    assert [x[1] for x in asked] == [2, 3, 4, 4, 6, 7, 8, 20]
    assert [x[3] for x in asked] == pytest.approx([1.5, 1.4, 1.3, 1.2, 1.1, 1.0, 1.0, 1.0])
    assert [x[4] for x in asked] == [80] * 6 + [120] * 2
    assert {(x[2], x[5]) for x in asked} == {(1, down)}
    assert [x[0] for x in asked] == ["shape"] * 6 + ["fine"] * 2


def test_the_end_of_a_hung_sheet_is_where_no_more_is_gained(monkeypatch: Fakes) -> None:
    down, along = (1.0, 0.01), (0.01, 1.0)
    start = sheet(2, 0, 1, 1.01)  # no wider than what is asked for: pulled at once
    pose, asked, _ = hung(monkeypatch, [sheet(8, 3, 4), sheet(8.003, 3, 4)], down, start)
    assert pose is not None
    assert len(asked) == 2
    assert hung(monkeypatch, [sheet(8, 3, 4), sheet(8.005, 3, 4)], down, start)[0] is None
    assert hung(monkeypatch, [sheet(8, 3, 4, 0.89), sheet(8, 3, 4)], down, start)[0] is None
    # Down the rows, a x c over the width, 8 x 4 / 5; along them the width, 5.
    more = [sheet(8, 3, 4), sheet(8, 4, 3), sheet(1, 0, 1)]
    assert hung(monkeypatch, more, down, start, start)[0][1] is more[0].layout
    more = [sheet(8, 3, 4), sheet(1, 6, 8), sheet(1, 0, 1)]
    assert hung(monkeypatch, more, along, start, start)[0][1] is more[1].layout
    more = [sheet(8, 3, 4), sheet(9, 6, 8, 0.5), sheet(1, 0, 1)]
    assert hung(monkeypatch, more, along, start, start)[0][1] is more[0].layout
