"""Second phase: wires grow, or the unit is pulled or pushed, without changing any link.

Sequential linear programmes with a trust region; a step that would change a link, or gains
less than a tenth of what it promised, is taken back and the region halved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringstep.space.circles import Layout, Shape, linking, moved, near_pairs, slopes, touches
from ringstep.space.linear import solve
from ringstep.space.near import Floats
from ringstep.space.symmetry import imposed, spread

_Seen = tuple[Floats, Floats, float]
_BOLD = 3.0  # times what a step promises: the most that a climb is thought to gain yet
_TOUCHING = 1e-3  # of the wire: gaps above what is needed that a small move must keep


@dataclass(frozen=True, slots=True, eq=False)
class Tight:
    """A layout and the factor by which its wires could grow, mean radii kept."""

    layout: Layout
    room: float


def room_of(shape: Shape, layout: Layout) -> float:
    """Least gap of centre lines over the gap the recipe's own wires need; 0 if a link is wrong."""
    got = _look(shape, layout, 1.0, 0.0)
    return 0.0 if got is None else got[2]


def _look(shape: Shape, layout: Layout, reach_room: float, region: float) -> _Seen | None:
    """Rows and values of gap / needed gap near the least, or None where a link is wrong."""
    thickest = float(shape.wires.max())
    reach = reach_room * thickest + 4 * region
    pairs = near_pairs(shape, layout, reach)
    state = linking(shape, layout, pairs)
    if np.any((state != 0) != pairs.wanted):
        return None
    t = touches(shape, layout, pairs, samples_within=0.5 * region)
    need = (shape.wires[pairs.i] + shape.wires[pairs.j])[t.pair] / 2
    value = t.gap / need
    least = float(value.min()) if len(value) else reach_room
    if least * thickest > reach - 2 * region and least > reach_room:
        # wires this thick could touch beyond the pairs looked at
        return _look(shape, layout, 1.2 * least, region)
    keep = value < max(least, reach_room) + 4 * region / need
    t = t.only(keep)
    rows = slopes(shape, layout, pairs, t) / need[keep][:, None]
    return rows, value[keep], least


def _climb(
    shape: Shape,
    start: Layout,
    aim: Floats,
    floor: float | None,
    rounds: int,
    finest: float,
    region: float = 0.1,
    held: Sequence[int] = (),
    goal: float = 0.0,
) -> Tight:
    """Climb aim . variables + room (floor None), or aim alone with room kept at `floor`.

    `held` names numbers of the repeat that stay. A climb that cannot be thought to reach the room
    `goal` is given up. With a floor, falling short of it costs 30 to
    1, an exact penalty for these sizes.
    """
    layout = imposed(shape, start)
    free = spread(shape, layout)
    size = free.shape[1]
    first = size - (shape.variables - 5 * shape.count)
    look = _look(shape, layout, 1.0 if floor is None else floor, region)
    if look is None:
        return Tight(start, 0.0)
    cap = np.inf if floor is None else floor
    weight = 1.0 if floor is None else 30.0
    repeat_aim = aim[5 * shape.count :]

    def worth(at: Layout, room: float) -> float:
        return weight * min(room, cap) + float(repeat_aim @ at.repeat)

    rows, value, room = look
    now = worth(layout, room)
    box = np.concatenate([np.eye(size), -np.eye(size)])
    fixed = [first + k for k in held]
    if shape.dims == 1 and not shape.twist:
        fixed.append(first + 1)
    fixed += [size + k for k in fixed]
    small, slow = 0, max(1e-6, 0.1 * finest)
    for _ in range(rounds):
        limit = np.full(2 * size, region)
        limit[fixed] = 1e-9
        # unknowns: the step and the change of room, as least gap - room now
        table = np.zeros((len(value) + 2 * size + 1, size + 1))
        table[: len(value), :size] = -rows @ free
        table[: len(value), size] = 1.0
        table[len(value) : -1, :size] = box
        table[-1, size] = 1.0
        top = 10.0 if floor is None else floor - room
        bounds = np.concatenate([value - room, limit, [top]])
        cost = np.concatenate([-aim @ free, [-weight]])
        step = solve(cost, table, bounds / region, 1e-5)  # in parts of the region
        if step is None:
            region /= 2
            if region < finest:
                break
            continue
        step *= region
        rise = min(room + float(step[size]), cap) - min(room, cap)
        if room + _BOLD * rise * max(1.0, 0.1 / region) ** 0.5 < goal:
            break
        whole = free @ step[:size]
        hoped = weight * rise + float(aim @ whole)
        after = moved(shape, layout, whole)
        look2 = _look(shape, after, max(1.0, room) if floor is None else floor, region)
        if floor is not None and look2 is not None and look2[2] < floor - 1e-9:
            after, look2 = _unbent(shape, after, look2, floor, region)
        gained = -np.inf if look2 is None else worth(after, look2[2]) - now
        if look2 is not None and gained > 0.1 * hoped and gained > 0:
            layout, (rows, value, room) = after, look2
            free = spread(shape, layout)
            now += gained
            small = small + 1 if gained < slow else 0
            if gained > 0.6 * hoped:
                region = min(0.2, region * 1.6)
        else:
            region /= 2
            small = small + 1 if abs(hoped) < slow else 0
        if region < finest or small >= 3:
            break
    return Tight(layout, room)


def _unbent(
    shape: Shape, layout: Layout, look: _Seen, floor: float, region: float
) -> tuple[Layout, _Seen]:
    """Wires that a straight step pressed together, since rings turn, let apart by a least move."""
    rows, value, least = look
    near = value < floor + _TOUCHING
    free = spread(shape, layout)
    miss = np.maximum(floor - value[near], 0.0)
    step = np.linalg.lstsq(rows[near] @ free, miss, rcond=1e-6)[0]
    if np.abs(step).max() > region:
        return layout, look
    after = moved(shape, layout, free @ step)
    seen = _look(shape, after, floor, region)
    return (layout, look) if seen is None or seen[2] < least else (after, seen)


def thicken(
    shape: Shape,
    start: Layout,
    rounds: int = 150,
    finest: float = 1e-6,
    goal: float = 0.0,
) -> Tight:
    """Let the wires grow as far as this layout can be eased to allow, or not nearly to `goal`."""
    return _climb(shape, start, np.zeros(shape.variables), None, rounds, finest, goal=goal)


def stretch(
    shape: Shape,
    start: Layout,
    way: int,
    room: float = 1.0,
    rounds: int = 250,
    sides: tuple[float, float] = (1.0, 1.0),
    finest: float = 2e-5,
) -> Tight:
    """Pull (way +1) or push together (way -1) the unit with wires `room` times the recipe's.

    A sheet is pulled in both directions at once: `sides` says how strongly down the rows and
    along them (each side counts in parts of its length).
    """
    aim = np.zeros(shape.variables)
    first = 5 * shape.count
    if shape.dims == 1:
        aim[first] = way
    elif shape.dims == 2:  # how far rows are apart, a c / |(b, c)|, and how long they are, |(b, c)|
        a, b, c = start.repeat
        down, along = sides
        square = b * b + c * c
        aim[first] = way * down / max(abs(a), 0.1)
        aim[first + 1] = way * (along - down) * b / square
        aim[first + 2] = way * (down / c + (along - down) * c / square)
    got = _climb(shape, start, aim, room, rounds, finest)
    for _ in range(3):
        if got.room >= room:
            break
        # the penalty can leave it a hair short: mend that alone, in small steps
        still = np.zeros(shape.variables)
        short = min(0.01, 4 * (room - got.room) + 1e-6)
        got = _climb(shape, got.layout, still, room * (1 + 1e-6), 12, 1e-8, short)
    return got


def eased(shape: Shape, start: Layout, share: float, room: float) -> Tight:
    """The unit at `share` of its length, its rings spread so that their least gap is greatest."""
    repeat = start.repeat.copy()
    centres = start.centres.copy()
    held: tuple[int, ...] = ()
    if shape.dims == 1:
        repeat[0] *= share
        centres[:, 0] *= share
        held = (0,)
    elif shape.dims == 2:
        repeat *= share
        centres[:, :2] *= share
        held = (0, 2)
    squeezed = Layout(centres, start.normals, repeat)
    return _climb(shape, squeezed, np.zeros(shape.variables), None, 40, 1e-4, 0.05, held)
