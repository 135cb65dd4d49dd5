"""One step of a recipe as it looks in the finished weave: rings laid so far, the new, the entered.

In: a form and the number of a step of its cell. Out: placed rings and places among them, as
`draw.rings.picture` takes them. No numpy here.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass

from ringstep.space.cell import Shift
from ringstep.space.result import Form, PlacedRing, copies

Order = Callable[[int, Shift], tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Stage:
    """Rings that are in the work once a step is done."""

    rings: tuple[PlacedRing, ...]
    new: frozenset[int]  # places in `rings` of the step's own rings
    through: frozenset[int]  # places of the rings they go through


def stage(form: Form, number: int, units_before: int = 1, order: Order | None = None) -> Stage:
    """The work after step `number` (from 0) of the form's cell.

    `order` sorts copies of the rings asked for (ring, shift) as they are placed; without it units
    follow one another, and within a unit its steps.

    Shown are this unit's rings placed so far and all of `units_before` units before it, more where
    the step reaches further back; of a sheet that many rows before, and that many places either
    way along them. Raises IndexError for a step the cell does not have.
    """
    cell = form.cell
    if not 0 <= number < len(cell.steps):
        raise IndexError(f"the unit has {len(cell.steps)} steps, not {number + 1}")
    step = cell.steps[number]
    step_of = {ring: at for at, s in enumerate(cell.steps) for ring in s.new}
    count = len(cell.rings) // math.prod(form.units)

    def placed(ring: int, shift: Shift) -> tuple[int, ...]:
        unit = form.unit_of(ring, shift)
        return order(ring % count, unit) if order else (*unit, step_of.get(ring, -1))

    zero = (0,) * cell.dims
    here, now = form.unit_of(step.new[0], zero), placed(step.new[0], zero)
    near = [range(-units_before - 1, units_before + 2)] * cell.dims
    entered = set(step.through)
    shifts = set(itertools.product(*near)) | {shift for _, shift in entered}
    rings: list[PlacedRing] = []
    for ring in copies(form.shown, sorted(shifts)):
        unit = form.unit_of(ring.ring, ring.shift)
        close = all(abs(u - h) <= units_before for u, h in zip(unit, here, strict=True))
        if (close and placed(ring.ring, ring.shift) <= now) or (ring.ring, ring.shift) in entered:
            rings.append(ring)
    where = {(ring.ring, ring.shift): place for place, ring in enumerate(rings)}
    return Stage(
        tuple(rings),
        frozenset(where[ring, zero] for ring in step.new),
        frozenset(where[ring, shift] for ring, shift in entered),
    )
