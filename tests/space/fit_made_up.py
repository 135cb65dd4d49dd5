"""Forms of two rings whose room is given, and searches that hold them."""

from __future__ import annotations

from typing import Any

import numpy as np

from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.circles import Layout, shape_of
from ringstep.space.fit import Found, _Search
from ringstep.space.tighten import Tight

RINGS = (CellRing("A", 3.0, 1.0), CellRing("B", 3.0, 1.0))
HOPF = Cell(RINGS, (CellLink(0, 1, ()),), 0)
CHAIN = Cell(RINGS, (CellLink(0, 1, (0,)), CellLink(1, 0, (1,))), 1)
SHEET = Cell(
    RINGS, (CellLink(0, 1, (0, 0)), CellLink(1, 0, (1, 0)), CellLink(1, 0, (0, 1))), 2
)  # fmt: skip
SHAPE = shape_of(HOPF)


def apart(distance: float) -> Layout:
    """Two rings through one another, their centres so many mean radii apart."""
    centres = np.array([[0.0, 0.0, 0.0], [distance, 0.0, 0.0]])
    return Layout(centres, np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0]]), np.zeros(0))


def found(room: float, distance: float = 1.0, said: bool = True, kind: int = 1) -> Found:
    return Found(apart(distance), room, np.array([1]), (kind,), said)


def searching(*pool: Found, told: list[Any] | None = None) -> _Search:
    def tell(*what: Any) -> None:
        if told is not None:
            told.append(what)

    return _Search(SHAPE, np.random.default_rng(0), tell, (), list(pool))


def grown(rooms: dict[float, float], asked: list[Any] | None = None) -> Any:
    """Wires that grow to a room by how far apart the rings lie."""

    def thicken(shape: Any, layout: Layout, rounds: int, finest: float) -> Tight:
        if asked is not None:
            asked.append((rounds, finest))
        return Tight(layout, rooms[round(float(layout.centres[1, 0]), 3)])

    return thicken
