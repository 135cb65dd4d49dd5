"""The repeating unit of a sheet, taken from the middle of the sheet as it was worked.

In: a `Laid` cycle, whose steps are carried out, and how many units are taken as one. Out: the
unit's rings and repeats, its links right, with thick wires.
"""

from __future__ import annotations

import itertools

import numpy as np

from ringstep.space.circles import Layout, Shape
from ringstep.space.fit_laid import Laid
from ringstep.space.near import Floats
from ringstep.space.relax import read_links, settle
from ringstep.space.rows import few_rows, work_rows
from ringstep.space.state import Round
from ringstep.space.tighten import Tight, thicken
from ringstep.space.units import Multiple
from ringstep.weave.work import Ring

_PLACES = 2  # of the middle that are tried
_COARSE = (40, 1e-3)


def from_the_middle(laid: Laid, shape: Shape, multiple: Multiple, seed: int) -> Tight | None:
    """The roomiest unit near the middle of the worked piece; None where it could not be worked."""
    if laid.weave is None:
        return None
    repeat = laid.weave.repeat
    worked = work_rows(few_rows(laid.weave), seed, past_jams=True)
    if repeat is None or not worked.states:
        return None
    lying = dict(worked.states[-1].rings)
    rows = sorted({r.row for r in lying})
    units = sorted({r.unit for r in lying})
    middle = (float(np.mean(rows)), float(np.mean(units)))
    phase = (repeat.origin[0] % laid.cycle[0], repeat.origin[1] % laid.cycle[1])
    starts = [
        (r, u)
        for r, u in itertools.product(rows, units)
        if r % laid.cycle[0] == phase[0] and u % laid.cycle[1] == phase[1]
    ]
    starts.sort(key=lambda s: (abs(s[0] - middle[0]) + abs(s[1] - middle[1]), s))
    best: Tight | None = None
    tried = 0
    for start in starts:
        layout = _unit_at(laid, shape, multiple, lying, start)
        if layout is None:
            continue
        tried += 1
        thin = settle(shape, layout, read_links(shape, layout).signs)
        tight = None if thin is None else thicken(shape, thin, *_COARSE)
        if tight is not None and tight.room > (best.room if best else 0.0):
            best = tight
        if tried >= _PLACES:
            break
    return best


def _unit_at(
    laid: Laid,
    shape: Shape,
    multiple: Multiple,
    lying: dict[Ring, Round],
    start: tuple[int, int],
) -> Layout | None:
    """The unit whose first place is `start`, by mean steps to its copies; None where cut off."""

    def ring(number: int, more: tuple[int, int]) -> Ring:
        unit, c = divmod(number, len(laid.rings))
        down, along = multiple.member(unit, 2)
        there = laid.rings[c]
        return Ring(
            there.role,
            there.index,
            start[0] + there.row + (down + more[0]) * laid.cycle[0],
            start[1] + there.unit + (along + more[1]) * laid.cycle[1],
        )

    numbers = range(shape.count)
    if any(ring(n, (0, 0)) not in lying for n in numbers):
        return None
    steps: list[Floats] = []
    for more in ((multiple.across, 0), (multiple.slip, multiple.along)):
        found = []
        for n, sign in itertools.product(numbers, (1, -1)):
            here, there = ring(n, (0, 0)), ring(n, (sign * more[0], sign * more[1]))
            if there in lying:
                found.append(sign * (np.array(lying[there].centre) - np.array(lying[here].centre)))
        if not found:
            return None
        steps.append(np.mean(found, axis=0) / shape.unit)
    down, along = steps
    size = float(np.hypot(down[0], down[1]))
    ahead = np.array([down[0], down[1], 0.0]) / size
    turn = np.array([ahead, [-ahead[1], ahead[0], 0.0], [0.0, 0.0, 1.0]])
    rounds = [lying[ring(n, (0, 0))] for n in numbers]
    centres = np.array([r.centre for r in rounds]) / shape.unit @ turn.T
    normals = np.array([r.normal for r in rounds]) @ turn.T
    b, c, _ = turn @ along
    if c < 0:  # turned over about the rows, so that units follow one another to the left
        flip = np.array([1.0, -1.0, -1.0])
        centres, normals, c = centres * flip, normals * flip, -c
    return Layout(centres, normals, np.array([size, b, c]))
