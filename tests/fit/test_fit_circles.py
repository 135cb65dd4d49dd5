"""Linking, distance and slopes against sums done another way."""

from __future__ import annotations

import numpy as np
import pytest
from measured import gauss

from ringstep.space import circles
from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.recheck import crossings, distance
from ringstep.space.result import PlacedRing


def two_rings(rng: np.random.Generator) -> tuple[circles.Shape, circles.Layout]:
    """Two rings of unlike size somewhere near one another."""
    sizes = rng.uniform(0.6, 1.4, size=2)
    rings = tuple(CellRing(n, 2 * s - 0.1, 0.1) for n, s in zip("AB", sizes, strict=True))
    shape = circles.shape_of(Cell(rings, (CellLink(0, 1, ()),), 0))
    normals = rng.normal(size=(2, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    centres = np.array([[0.0, 0.0, 0.0], rng.uniform(-1.2, 1.2, size=3)])
    return shape, circles.Layout(centres, normals, np.zeros(0))


def placed(shape: circles.Shape, layout: circles.Layout) -> tuple[PlacedRing, PlacedRing]:
    """The same two rings for the independent sums, in the layout's own units."""
    one, other = (
        PlacedRing(
            "x",
            k,
            (),
            tuple(layout.centres[k].tolist()),
            tuple(layout.normals[k].tolist()),
            float(shape.radii[k]),
            0.1,
        )
        for k in range(2)
    )
    return one, other


def test_linking_agrees_with_gauss_integral() -> None:
    # Gauss's integral as in Ricca & Nipoti, J. Knot Theory Ramif. 20 (2011) 1325-1343
    rng = np.random.default_rng(5)
    seen = {0: 0, 1: 0, -1: 0}
    for _ in range(150):
        shape, layout = two_rings(rng)
        one, other = placed(shape, layout)
        if distance(one, other) < 0.12:
            continue  # the sum over points needs rings that do not nearly touch
        pairs = circles.near_pairs(shape, layout, 1.0)
        ours = int(circles.linking(shape, pairs)[0])
        theirs = gauss(one, other, 240)
        assert theirs == pytest.approx(-ours, abs=0.02)
        assert (crossings(one, other) != 0) == (ours != 0)
        seen[ours] += 1
    assert min(seen.values()) >= 15


@pytest.mark.parametrize(("apart", "links"), [(1.0, 1), (3.0, 0)])
def test_unit_circles_in_perpendicular_planes(apart: float, links: int) -> None:
    # worked values: unit circles in perpendicular planes, centres 1 apart -+1; 3 apart 0
    one = PlacedRing("a", 0, (), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 1.0, 0.1)
    other = PlacedRing("b", 1, (), (apart, 0.0, 0.0), (0.0, 1.0, 0.0), 1.0, 0.1)
    assert abs(gauss(one, other)) == pytest.approx(links, abs=1e-3)
    assert abs(crossings(one, other)) == links


def test_distance_agrees_with_samples() -> None:
    rng = np.random.default_rng(6)
    for _ in range(60):
        shape, layout = two_rings(rng)
        pairs = circles.near_pairs(shape, layout, 9.0)
        ours = circles.touches(shape, pairs).gap.min()
        assert ours == pytest.approx(distance(*placed(shape, layout)), abs=2e-4)


@pytest.mark.parametrize("dims", [0, 1, 2])
def test_slopes_agree_with_differences(dims: int) -> None:
    rng = np.random.default_rng(7)
    rings = (CellRing("A", 3.0, 1.0), CellRing("B", 2.0, 1.0))
    links = (CellLink(0, 1, (0,) * dims),)
    shape = circles.shape_of(Cell(rings, links, dims), twist=True)
    normals = rng.normal(size=(2, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    repeat = [np.zeros(0), np.array([1.7, 0.6]), np.array([1.9, 0.4, 1.6])][dims]
    layout = circles.Layout(rng.normal(size=(2, 3)) * 0.5, normals, repeat)
    pairs = circles.near_pairs(shape, layout, 0.5)
    found = circles.touches(shape, pairs)
    slopes = circles.slopes(shape, layout, pairs, found)

    def gaps(step: np.ndarray) -> np.ndarray:
        there = circles.moved(shape, layout, step)
        return circles.touches(shape, circles.placed(there, pairs)).gap

    for variable in range(shape.variables):
        step = np.zeros(shape.variables)
        step[variable] = 1e-6
        difference = (gaps(step) - gaps(-step)) / 2e-6
        assert np.abs(difference - slopes[:, variable]).max() < 1e-7


def test_gap_is_the_same_from_either_ring() -> None:
    # rings of unlike size can have two nearest places close together; neither may be missed
    rng = np.random.default_rng(3)
    rings = (CellRing("A", 8.0, 1.6), CellRing("B", 4.0, 1.2))
    link = (CellLink(0, 1, ()),)
    shapes = [circles.shape_of(Cell(order, link, 0)) for order in (rings, rings[::-1])]
    for _ in range(200):
        normals = rng.normal(size=(2, 3))
        normals /= np.linalg.norm(normals, axis=1, keepdims=True)
        centres = np.array([[0.0, 0.0, 0.0], rng.uniform(-1, 1, size=3)])
        gaps = []
        for shape, order in zip(shapes, ([0, 1], [1, 0]), strict=True):
            layout = circles.Layout(centres[order], normals[order], np.zeros(0))
            pairs = circles.near_pairs(shape, layout, 9.0)
            gaps.append(circles.touches(shape, pairs).gap.min())
        assert gaps[0] == pytest.approx(gaps[1], abs=1e-3)
