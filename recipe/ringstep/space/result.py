"""The outcome of a fit as plain frozen data, and its exact way to JSON and back. No numpy here."""

from __future__ import annotations

import dataclasses
import json
import math
import types
import typing
from dataclasses import dataclass
from typing import Any, Literal

from ringstep.space.cell import Cell, CellError, Shift

Vector = tuple[float, float, float]
Turn = Literal["none", "quarter", "half", "free"]


@dataclass(frozen=True, slots=True)
class PlacedRing:
    """One ring in space; mm."""

    name: str
    ring: int  # index in the cell that was fitted
    shift: Shift
    centre: Vector
    normal: Vector  # unit vector across the ring
    mean_radius: float
    wire: float


@dataclass(frozen=True, slots=True)
class Pose:
    """One unit laid in space; mm, radians."""

    rings: tuple[PlacedRing, ...]
    repeat: tuple[float, ...]  # () | (length, twist) | (a, b, c): units (a, 0) and (b, c) apart
    clearance: float  # least measured gap between two wires' surfaces


@dataclass(frozen=True, slots=True)
class Form:
    """One way the links can lie in space: an embedding, with what was measured of it.

    A form may hold several of the units asked for; its rings then come unit after unit, and a
    unit's number times the rings of a unit plus a ring's number gives its place.
    """

    cell: Cell  # the cell laid out: the one asked for, or a multiple of it
    units: tuple[int, ...]  # units asked for in one unit laid out, for each direction
    slip: int  # of a sheet: rows by which the next laid-out place along starts further down
    turn: Turn  # how units laid out turn about a chain
    signs: tuple[int, ...]  # sign of each link of `cell`, up to turning rings over
    as_said: bool  # agrees with every lay and pair the steps state
    folds_kept: bool  # every pair folded back lies one ring to each side, behind what it hangs on
    spreads_kept: bool  # as shown, what is put in after a spread lies between the rings spread
    room: float  # factor by which the wires could grow, mean radii kept
    fits: bool  # the recipe's own sizes go together (room at least 1)
    at_room: float  # wire factor of the poses but `tight`: 1, or less where 1 does not fit
    tight: Pose  # wires grown by `room`
    shown: Pose  # for pictures: nearly pulled out, the rings evenly spaced
    stretched: Pose | None  # pulled out; None where no end was found
    pushed: Pose | None  # pushed together
    hung: Pose | None = None  # of a sheet: pulled down its rows, as it hangs from its first row
    hung_by_side: Pose | None = None  # pulled along its rows

    def smallest(self, ring: int) -> float:
        """Smallest aspect ratio found for a ring of the cell (ring sizes kept in proportion)."""
        mine = self.cell.rings[ring]
        return 2 * mine.mean_radius / (mine.wire * self.room) - 1

    def length(self, pose: Pose) -> float:
        """Length in mm of one unit asked for, of a chain."""
        return pose.repeat[0] / self.units[0]


@dataclass(frozen=True, slots=True)
class Fit:
    """All forms found, best first: as the steps say, folds kept, most room for the wires."""

    cell: Cell  # as asked for
    forms: tuple[Form, ...]
    bounds: tuple[float, ...]  # per ring, the hard packing floor of the aspect ratio
    bounds_by_area: tuple[bool, ...]  # the floor is only an area bound (mixed wire, many rings)
    notes: tuple[str, ...]
    seed: int
    effort: int
    finished: bool  # False where the search was broken off


def copies(pose: Pose, shifts: typing.Iterable[Shift]) -> tuple[PlacedRing, ...]:
    """The pose's rings at each of the shifts, in order."""
    out = []
    for shift in shifts:
        for ring in pose.rings:
            centre, normal = ring.centre, ring.normal
            if len(pose.repeat) == 2:
                length, twist = pose.repeat
                angle = shift[0] * twist
                x, y, z = _turn(centre, angle)
                centre, normal = (x + shift[0] * length, y, z), _turn(normal, angle)
            elif len(pose.repeat) == 3:
                a, b, c = pose.repeat
                x, y, z = centre
                centre = (x + shift[0] * a + shift[1] * b, y + shift[1] * c, z)
            out.append(dataclasses.replace(ring, shift=shift, centre=centre, normal=normal))
    return tuple(out)


def _turn(vector: Vector, angle: float) -> Vector:
    x, y, z = vector
    c, s = math.cos(angle), math.sin(angle)
    return x, c * y - s * z, s * y + c * z


def to_json(fit: Fit) -> str:
    """The fit as JSON text; floats keep every digit."""
    return json.dumps(dataclasses.asdict(fit), allow_nan=False)


def from_json(text: str) -> Fit:
    """The fit that `to_json` wrote. Raises ValueError where the text is not one."""
    try:
        fit = _build(Fit, json.loads(text))
    except (TypeError, KeyError, CellError, AttributeError) as error:
        raise ValueError(f"not a stored fit: {error}") from error
    assert isinstance(fit, Fit)
    return fit


def _build(kind: Any, data: Any) -> Any:
    origin, args = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        if data is None:
            return None
        return _build(next(a for a in args if a is not type(None)), data)
    if origin is tuple:
        if not isinstance(data, list):
            raise TypeError("a list was expected")
        if len(args) == 2 and args[1] is Ellipsis:
            return tuple(_build(args[0], item) for item in data)
        return tuple(_build(a, item) for a, item in zip(args, data, strict=True))
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        hints = typing.get_type_hints(kind)
        names = [f.name for f in dataclasses.fields(kind)]
        return kind(**{name: _build(hints[name], data[name]) for name in names})
    return data
