"""The work in the hand after each step, as plain frozen data. No numpy here.

Axes as the worker sees them: x along the work, away from its start (a sheet: along the row), y up
the page, z towards the eye; mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ringstep.space.result import Vector
from ringstep.weave.work import Ring

Move = Literal["fold", "spread", "turn"]


@dataclass(frozen=True, slots=True)
class Round:
    """One round ring as it lies, or the rim of a part's hole; mm.

    normal: the unit vector across it. body: what is round the hole, where it is more than its rim.
    """

    centre: Vector
    normal: Vector
    mean_radius: float
    wire: float
    body: Ball | Bar | None = None


@dataclass(frozen=True, slots=True)
class Ball:
    """The body of a bead: a ball about the middle of its hole, or without any; mm."""

    across: float
    hole: float


@dataclass(frozen=True, slots=True)
class Bar:
    """The body of a bar or a plate: flat, round at both ends, as thick as the rim of its hole; mm.

    near, far: from the middle of the hole to the middles of its round ends. across: its width.
    """

    near: Vector
    far: Vector
    across: float
    hole: float


@dataclass(frozen=True, slots=True)
class State:
    """The rings as they lie after one step was carried out at one place.

    new: the rings the step put in. through: those they went through. moved: those the step
    folded, spread or turned, and how.
    """

    number: int  # of the step in its block
    row: int
    unit: int
    rings: tuple[tuple[Ring, Round], ...]
    new: tuple[Ring, ...] = ()
    through: tuple[Ring, ...] = ()
    moved: tuple[tuple[Ring, Move], ...] = ()


@dataclass(frozen=True, slots=True)
class Shown:
    """The states of a piece in the order of the work.

    without: the numbers of the steps that have no state, each with the reason in a maker's words.
    jam: where and how the work could not be carried on, in a maker's words; "" where it could.
    piece: the rings of the finished piece, or of a stretch of it, as they lie; none after a jam.
    """

    states: tuple[State, ...]
    without: tuple[tuple[int, str], ...] = ()
    jam: str = ""
    piece: tuple[tuple[Ring, Round], ...] = ()


@dataclass(frozen=True, slots=True)
class Jam:
    """A step that could not be carried out cleanly at a place.

    ring: the ring put in, or moved; aspect: its inside over its wire. overlap: by how much wires
    press into one another, mm; None where the ring found no place to go in, which ends the work.
    """

    number: int
    row: int
    unit: int
    ring: Ring
    aspect: float
    overlap: float | None


@dataclass(frozen=True, slots=True)
class Worked:
    """A recipe carried out: the work after each step, and the steps that jammed."""

    states: tuple[State, ...]
    jams: tuple[Jam, ...] = ()
