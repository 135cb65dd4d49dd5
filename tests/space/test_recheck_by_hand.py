"""The second look by polygons: points, crossings and distances known by hand."""

from __future__ import annotations

import numpy as np
import pytest

from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.recheck import Recheck, _near, _neighbours, crossings, distance, recheck, rim
from ringstep.space.result import PlacedRing, Pose

Vector = tuple[float, float, float]
Y, Z = (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def ring(centre: Vector, normal: Vector = Z, radius: float = 3.0, wire: float = 1.0) -> PlacedRing:
    return PlacedRing("A", 0, (), centre, normal, radius, wire)


@pytest.mark.parametrize("normal", [Z, Y, (0.0, 0.0, -1.0), (0.6, 0.0, 0.8), (0.6, 0.0, -0.8)])
def test_points_of_a_rim_lie_round_its_middle(normal: Vector) -> None:
    points = rim(ring((1, 2, 3), normal), np.radians([0, 90, 180, 270])) - np.array([1, 2, 3])
    assert points @ np.array(normal) == pytest.approx(np.zeros(4), abs=1e-9)
    assert np.linalg.norm(points, axis=1) == pytest.approx(3)
    assert points[0] == pytest.approx(-points[2])
    assert points[0] @ points[1] == pytest.approx(0, abs=1e-9)


def test_a_ring_passes_another_once_there_and_back_or_not() -> None:
    one = ring((0, 0, 0))
    there = crossings(one, ring((3, 0, 0), Y))
    assert abs(there) == 1
    assert crossings(one, ring((3, 0, 0), (0, -1, 0))) == -there
    assert crossings(one, ring((7, 0, 0), Y)) == 0
    assert crossings(ring((0, 0, 0), Y, 1.0), one) == 0  # there and back
    assert crossings(one, ring((5.9, 0, 0), Y)) == there
    assert crossings(one, ring((6.1, 0, 0), Y)) == 0


def test_distances_are_finer_than_the_samples() -> None:
    one = ring((0, 0, 0))
    for degrees in (0.0, 1.3, 47.0):
        out = 7.5 * np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees)), 0])
        assert distance(one, ring(tuple(out))) == pytest.approx(1.5, abs=1e-6)
    assert distance(one, ring((0, 0, 2))) == pytest.approx(2)
    assert distance(one, ring((3, 0, 0), Y, 2.0)) == pytest.approx(2, abs=1e-6)
    assert distance(one, ring((4.5, 0, 0), Y)) == pytest.approx(1.5, abs=1e-6)
    # Where it cannot be less than said the samples do.
    assert distance(one, ring((7.5, 0.1, 0)), 0.1) == pytest.approx(1.5, abs=0.02)
    assert _near((0.1, 0.2), (0.3, 6.3))
    assert not _near((0.1, 0.2), (0.36, 0.2))
    assert not _near((0.1, 0.2), (0.1, 0.46))


RINGS = (CellRing("A", 5.0, 1.0), CellRing("B", 5.0, 1.0))
CELL = Cell(RINGS, (CellLink(0, 1, (0,)), CellLink(1, 0, (1,))), 1)


def chain(length: float, second: float) -> Pose:
    return Pose((ring((0, 0, 0)), ring((second, 0, 0), Y)), (length, 0.0), 0.0)


def test_a_chain_is_looked_at_over_all_that_may_touch() -> None:
    # Each 4 on in the next, so 6 - 4 = 2 from wire to wire, less a wire of 1.
    seen = recheck(chain(8.0, 4.0), CELL)
    assert (seen.missing, seen.extra) == ((), ())
    assert seen.gap == pytest.approx(1, abs=1e-6)
    assert seen.right()
    # The two links, and each ring with its own next, 8 on: no farther than 6 and two wires.
    assert seen.pairs == 4
    assert recheck(chain(8.1, 4.05), CELL).pairs == 2
    tight = recheck(chain(10.4, 5.2), CELL)
    assert tight.gap == pytest.approx(-0.2, abs=1e-6)
    assert (tight.right(), tight.right(0.21), tight.right(0.19)) == (False, True, False)


def test_links_too_few_and_too_many_are_named() -> None:
    wide = recheck(chain(12.4, 6.2), CELL)
    assert sorted(wide.missing) == [(0, 1, (0,)), (1, 0, (1,))]
    loose = recheck(chain(8.0, 4.0), Cell(RINGS, (CellLink(0, 1, (0,)),), 1))
    assert loose.extra == ((1, 0, (1,)),)
    assert not Recheck((), ((0, 1, (0,)),), 1.0, 1).right()
    assert not Recheck(((0, 1, (0,)),), (), 1.0, 1).right()


def test_neighbours_reach_as_far_as_rings_do() -> None:
    one = Pose((ring((0, 0, 0)),), (5.0, 0.0), 0.0)
    assert _neighbours(one, 1) == [(-2,), (-1,), (0,), (1,), (2,)]  # 8 over 5, and one more
    assert _neighbours(one, 0) == [()]
    sheet = Pose((ring((0, 0, 0)), ring((1, 2, 0))), (5.0, -2.0, 6.0), 0.0)
    # Rows 6 apart: 10 over 6 and one more; along them 9 and 2 rows of 2 over 5, and one more.
    assert sorted({row for _, row in _neighbours(sheet, 2)}) == [-2, -1, 0, 1, 2]
    assert sorted({place for place, _ in _neighbours(sheet, 2)}) == [-3, -2, -1, 0, 1, 2, 3]
