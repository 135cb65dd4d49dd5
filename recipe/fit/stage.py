"""One step of a recipe as it looks in the finished weave: rings laid so far, the new, the entered.

In: a form and the number of a step of its cell. Out: placed rings and places among them, as
`shaded.picture` takes them. No numpy here.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from recipe.fit.result import Form, PlacedRing, copies


@dataclass(frozen=True, slots=True)
class Stage:
    """Rings that are in the work once a step is done."""

    rings: tuple[PlacedRing, ...]
    new: frozenset[int]  # places in `rings` of the step's own rings
    through: frozenset[int]  # places of the rings they go through


def stage(form: Form, number: int, units_before: int = 1) -> Stage:
    """The work after step `number` (from 0) of the form's cell.

    Shown are this unit's rings placed so far and all of `units_before` units before it, more where
    the step reaches further back; of a sheet that many rows before, and that many places either
    way along them. Raises IndexError for a step the cell does not have.
    """
    cell = form.cell
    if not 0 <= number < len(cell.steps):
        raise IndexError(f"the unit has {len(cell.steps)} steps, not {number + 1}")
    step = cell.steps[number]
    later = {ring for s in cell.steps[number + 1 :] for ring in s.new}
    zero = (0,) * cell.dims
    here = form.unit_of(step.new[0], zero)
    near = [range(-units_before - 1, units_before + 2)] * cell.dims
    entered = set(step.through)
    shifts = set(itertools.product(*near)) | {shift for _, shift in entered}
    rings: list[PlacedRing] = []
    for ring in copies(form.shown, sorted(shifts)):
        unit = form.unit_of(ring.ring, ring.shift)
        close = all(abs(u - h) <= units_before for u, h in zip(unit, here, strict=True))
        done = unit < here or (unit == here and ring.ring not in later)
        if (close and done) or (ring.ring, ring.shift) in entered:
            rings.append(ring)
    where = {(ring.ring, ring.shift): place for place, ring in enumerate(rings)}
    return Stage(
        tuple(rings),
        frozenset(where[ring, zero] for ring in step.new),
        frozenset(where[ring, shift] for ring, shift in entered),
    )
