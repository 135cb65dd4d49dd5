"""Rings and acts of a chain, as far as they are asked where it is cut."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from ringstep.space.state import Round
from ringstep.weave.work import Ring

A, B, C, D = (Ring(role, 1, 1, 0) for role in "ABCD")


def at(x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Round:
    return Round((x, y, z), (0.0, 0.6, 0.8), 4.0, 1.0)


def act(kind: str = "add", number: int = 1, unit: int = 1, block: str = "unit", **more: Any) -> Any:
    rings = {"new": (), "through": (), "handled": (), "movers": (), "skipped": False}
    step = SimpleNamespace(kind=kind, number=number)
    block_of = SimpleNamespace(kind=block)
    return SimpleNamespace(**{**rings, **more}, step=step, unit=unit, row=1, block=block_of)
