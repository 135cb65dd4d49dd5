"""Where a search begins: rings amid those they are linked with, twins side by side, kicks."""

from __future__ import annotations

import numpy as np
import pytest

from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.circles import Layout, Shape, shape_of
from ringstep.space.starts import kicked, side_by_side, spread_out

Z = np.array([0.0, 0, 1])
Link = tuple[int, int, tuple[int, ...]]


def shape(
    dims: int, count: int, *links: tuple[int, int, tuple[int, ...]], twist: bool = False
) -> Shape:
    rings = tuple(CellRing(str(k), 1.8, 0.2) for k in range(count))
    return shape_of(Cell(rings, tuple(CellLink(*link) for link in links), dims), twist)


#: One ring at each corner of a square of which every side is linked with the next.
SQUARE = shape(2, 1, (0, 0, (1, 0)), (0, 0, (0, 1)))
#: A second ring amid each four of them.
AMID = shape(2, 2, *((0, 1, (-a, -b)) for a in (0, 1) for b in (0, 1)))


def several(own: Shape, count: int = 300) -> list[Layout]:
    return [spread_out(own, np.random.default_rng([9, k])) for k in range(count)]


def test_a_sheet_begins_evenly_with_linked_rings_a_radius_apart() -> None:
    repeats = np.array([at.repeat for at in several(SQUARE)])
    # Each of two links spreads over a half: 1 / sqrt(1/2) times sqrt(1/2), by 0.8 to 1.2.
    assert repeats.mean(axis=0) == pytest.approx([1, 0, 1], abs=0.04)
    assert repeats.std(axis=0)[1] == pytest.approx(0.1, rel=0.15)
    wide = np.hypot(0.4 / np.sqrt(12), 0.1)
    assert repeats.std(axis=0)[[0, 2]] == pytest.approx([wide] * 2, rel=0.15)
    assert repeats[:, [0, 2]].min() > 0.5


def test_a_ring_begins_amid_those_it_is_linked_with() -> None:
    found = several(AMID)
    off = np.array([at.centres[1] - at.centres[0] for at in found])
    repeats = np.array([at.repeat for at in found])
    middle = (repeats[:, [0]] + repeats[:, [1]]) / 2, repeats[:, [2]] / 2
    # Half a unit on each way, or half a unit back: from each of four it is as far.
    side = off[:, :2] - np.hstack(middle)
    other = off[:, :2] + np.hstack(middle)
    best = side if np.abs(side).mean() < np.abs(other).mean() else other
    assert best.mean(axis=0) == pytest.approx([0, 0], abs=0.06)
    assert best.std(axis=0) == pytest.approx([0.25 * np.sqrt(2)] * 2, rel=0.12)
    # Links spread by a half each way: 1 / (1/2) times sqrt(1/2).
    assert repeats.mean(axis=0) == pytest.approx([np.sqrt(2), 0, np.sqrt(2)], abs=0.06)
    normals = np.array([at.normals for at in found])
    assert np.linalg.norm(normals, axis=2) == pytest.approx(1)
    assert np.abs(normals.mean(axis=(0, 1))).max() < 0.1


def test_a_single_piece_begins_anywhere_near() -> None:
    found = several(shape(0, 3, (0, 1, ()), (1, 2, ())))
    centres = np.array([at.centres for at in found])
    assert centres.std() == pytest.approx(0.5, rel=0.05)
    assert centres.mean() == pytest.approx(0, abs=0.05)
    assert found[0].repeat.tolist() == []


def test_twins_begin_side_by_side() -> None:
    leaning = np.array([0.6, 0, 0.8])
    single = Layout(np.array([[0.0, 0, 0], [5, 0, 0]]), np.array([Z, leaning]), np.array([3.0, 0]))
    own = shape(1, 5)
    got = side_by_side(own, single, (0, 1, 0, 1, 1), np.random.default_rng(3))
    at = np.array([-0.04, -0.08, 0.04, 0, 0.08])
    plain = single.normals[[0, 1, 0, 1, 1]]
    assert got.centres == pytest.approx(single.centres[[0, 1, 0, 1, 1]] + at[:, None] * plain)
    assert got.normals == pytest.approx(plain, abs=0.06)
    assert got.normals != pytest.approx(plain, abs=0.005)
    assert np.linalg.norm(got.normals, axis=1) == pytest.approx(1)
    assert got.repeat.tolist() == [3, 0]
    assert got.repeat is not single.repeat
    many = [side_by_side(own, single, (0,) * 5, np.random.default_rng(k)) for k in range(200)]
    leans = np.array([m.normals[:, :2] for m in many])
    assert leans.std() == pytest.approx(0.02, rel=0.06)
    assert leans.mean() == pytest.approx(0, abs=0.003)


@pytest.mark.parametrize(
    ("own", "repeat", "spread"),
    [
        (shape(0, 4), (), ()),
        (shape(1, 4), (3.0, 0.7), (0.15, 0)),  # a part of its length by half the size
        (shape(1, 4, twist=True), (3.0, 0.7), (0.15, 0.1)),
        (shape(2, 4), (3.0, 0.7, 2.0), (0.05, 0.05, 0.05)),
    ],
)
def test_a_kick_moves_all_a_little(
    own: Shape, repeat: tuple[float, ...], spread: tuple[float, ...]
) -> None:
    start = Layout(np.full((4, 3), 2.0), np.tile(Z, (4, 1)), np.array(repeat))
    found = [kicked(own, start, np.random.default_rng([1, k]), 0.1) for k in range(400)]
    centres, normals, repeats = (
        np.array([getattr(f, name) for f in found]) for name in ("centres", "normals", "repeat")
    )
    assert centres.std() == pytest.approx(0.1, rel=0.05)
    assert centres.mean() == pytest.approx(2, abs=0.01)
    assert normals[..., :2].std() == pytest.approx(0.1, rel=0.05)
    assert normals[..., :2].mean() == pytest.approx(0, abs=0.01)
    assert np.linalg.norm(normals, axis=2) == pytest.approx(1)
    if repeat:
        assert repeats.mean(axis=0) == pytest.approx(np.array(repeat), abs=0.03)
        assert repeats.std(axis=0) == pytest.approx(np.array(spread), rel=0.12, abs=1e-12)
    assert start.repeat.tolist() == list(repeat)
    assert start.centres.tolist() == [[2.0] * 3] * 4
