"""The small linear programme, and the packing floor."""

from __future__ import annotations

import numpy as np
import pytest

from ringstep.space.bounds import packing_floor
from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.linear import solve


def test_linear_programme_finds_corners() -> None:
    rng = np.random.default_rng(1)
    for _ in range(20):
        size, many = int(rng.integers(2, 8)), int(rng.integers(1, 5))
        costs = rng.normal(size=(many, size))
        rows = np.tile(np.concatenate([np.eye(size), -np.eye(size)]), (many, 1, 1))
        found = solve(costs, rows, np.ones((many, 2 * size)))
        # least of cost . x over the box |x| <= 1 is at the corner of opposite signs
        for cost, x in zip(costs, found, strict=True):
            assert x is not None
            assert cost @ x == pytest.approx(-np.abs(cost).sum(), abs=1e-6)


def test_linear_programme_meets_its_dual() -> None:
    # max 3x + 5y, x <= 4, 2y <= 12, 3x + 2y <= 18: 36 at (2, 6), the textbook example of Hillier
    # and Lieberman, Introduction to Operations Research (from memory)
    rows = np.array([[1.0, 0], [0, 2], [3, 2], [-1, 0], [0, -1]])
    # beside it one without a solution (x <= -1 and x >= 0), which must not disturb it
    limits = np.array([[4.0, 12, 18, 0, 0], [-1, 12, 18, 0, 0]])
    x, none = solve(np.array([[-3.0, -5.0]] * 2), np.array([rows] * 2), limits)
    assert x is not None
    assert x == pytest.approx([2, 6], abs=1e-5)
    assert none is None


@pytest.mark.parametrize(
    ("neighbours", "floor"),
    [(1, 1.0), (2, 2.0), (3, 2.1547005), (4, 2.4142136), (5, 2.7013016), (6, 3.0), (7, 3.0),
     (8, 3.3047649), (12, 4.0296019), (13, 4.2360680), (19, 4.8637033)],
)  # fmt: skip
def test_packing_floor(neighbours: int, floor: float) -> None:
    # n equal circles in a circle: n <= 4, 7 trivial; 5 Graham 1968; 8 Pirl 1969; 12, 13, 19 Fodor
    rings = tuple(CellRing(f"r{k}", 9.0, 1.0) for k in range(neighbours + 1))
    links = tuple(CellLink(0, k + 1, ()) for k in range(neighbours))
    found, by_area = packing_floor(Cell(rings, links, 0), 0)
    assert found == pytest.approx(floor, abs=1e-6)
    assert not by_area


def test_mixed_wire_gives_an_area_bound() -> None:
    rings = (CellRing("a", 9.0, 1.0), CellRing("b", 9.0, 2.0), CellRing("c", 9.0, 1.0))
    cell = Cell(rings, (CellLink(0, 1, ()), CellLink(0, 2, ())), 0)
    assert packing_floor(cell, 0) == (3.0, True)
