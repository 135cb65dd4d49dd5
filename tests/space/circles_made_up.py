"""Circles in space to look at: rings of 4 and 2 mm mean radius and 1 mm wire, and how they lie.

The radius of the larger one is the unit of length.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from ringstep.space import circles
from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.circles import Layout, Pairs, Shape

A, B = CellRing("A", 7.0, 1.0), CellRing("B", 3.0, 1.0)
X, Y, Z = [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]
NONE = np.zeros(0)


def shape(*rings: CellRing, links: Any = (), dims: int = 0, twist: bool = False) -> Shape:
    return circles.shape_of(Cell(rings, tuple(CellLink(*x) for x in links), dims), twist)


def lying(*rings: tuple[list[float], list[float]], repeat: Any = NONE) -> Layout:
    centres, normals = zip(*rings, strict=True)
    return Layout(np.array(centres), np.array(normals), np.array(repeat, dtype=float))


def rows(found: Any) -> list[tuple[int, ...]]:
    return [tuple(int(n) for n in row) for row in found]


def seen(pairs: Pairs) -> list[tuple[int, ...]]:
    """Layout, two rings, shift and link of each row."""
    return rows(np.column_stack([pairs.of, pairs.i, pairs.j, pairs.shift, pairs.link]))


def near(found: Any, *expected: Any) -> None:
    assert np.asarray(found) == pytest.approx(np.array(expected), abs=1e-9)
