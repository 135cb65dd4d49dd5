"""Second phase: wires grow, or the unit is pulled or pushed, without changing any link.

Sequential linear programmes with a trust region; a step that would change a link, or gains
less than a tenth of what it promised, is taken back and the region halved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringstep.space.circles import (
    Layout,
    Shape,
    as_wanted,
    moved,
    near_pairs,
    slopes,
    stacked,
    touches,
)
from ringstep.space.linear import solve
from ringstep.space.near import Floats
from ringstep.space.symmetry import imposed, spread

_BOLD = 3.0  # times what a step promises: the most that a climb is thought to gain yet
_TOUCHING = 1e-3  # of the wire: gaps above what is needed that a small move must keep


@dataclass(frozen=True, slots=True, eq=False)
class Tight:
    """A layout and the factor by which its wires could grow, mean radii kept."""

    layout: Layout
    room: float


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """Of one layout: the gaps over the gaps needed that are near the least."""

    rows: Floats  # (t, variables) how each grows
    value: Floats  # (t,)
    least: float


def room_of(shape: Shape, layout: Layout) -> float:
    """Least gap of centre lines over the gap the recipe's own wires need, 1 where there is more; 0
    if a link is wrong."""
    (got,) = _look(shape, [layout], [1.0], [0.0])
    return 0.0 if got is None else got.least


def _look(
    shape: Shape,
    layouts: Sequence[Layout],
    reach_rooms: Sequence[float],
    regions: Sequence[float],
) -> list[_Seen | None]:
    """Each layout looked at as far as wires of a room reach, or None where a link is wrong."""
    thickest, region = float(shape.wires.max()), np.array(regions)
    several, reach_room = stacked(layouts), np.array(reach_rooms)
    reach = reach_room * thickest + 4 * region
    pairs = near_pairs(shape, several, reach)
    wrong = np.zeros(len(layouts), dtype=bool)
    wrong[pairs.of[~as_wanted(shape, pairs)]] = True
    pairs = pairs.only(~wrong[pairs.of])
    wanted = (shape.wires[pairs.i] + shape.wires[pairs.j]) / 2
    # no row beyond is kept below, unless all is looked at again
    far = (reach_room + 2 * region / thickest)[pairs.of] * wanted + 4 * region[pairs.of]
    t = touches(shape, pairs, 0.5 * region[pairs.of], far)
    of = pairs.of[t.pair]
    need = wanted[t.pair]
    value = t.gap / need
    least = np.full(len(layouts), np.inf)
    np.minimum.at(least, of, value)
    least = np.where(np.isinf(least), reach_room, least)
    keep = value < np.maximum(least, reach_room)[of] + 4 * region[of] / need
    t, need, value, of = t.only(keep), need[keep], value[keep], of[keep]
    rows = slopes(shape, several, pairs, t) / need[:, None]
    mine = [of == at for at in range(len(layouts))]
    out = [
        None if wrong[at] else _Seen(rows[mine[at]], value[mine[at]], float(least[at]))
        for at in range(len(layouts))
    ]
    # wires this thick could touch beyond the pairs looked at
    beyond = ~wrong & (least * thickest > reach - 2 * region) & (least > reach_room)
    if far := np.nonzero(beyond)[0].tolist():
        farther = [1.2 * float(least[at]) for at in far]
        again = _look(shape, [layouts[at] for at in far], farther, [regions[at] for at in far])
        for at, seen in zip(far, again, strict=True):
            out[at] = seen
    return out


@dataclass(slots=True, eq=False)
class _Climber:
    """One layout on its way up. small: so many steps in a row brought next to nothing."""

    layout: Layout
    seen: _Seen
    free: Floats  # (variables, free variables)
    now: float  # what is climbed
    region: float
    small: int = 0
    done: bool = False


def _climb(
    shape: Shape,
    starts: Sequence[Layout],
    aim: Floats,
    floor: float | None,
    rounds: int,
    finest: float,
    region: float = 0.1,
    held: Sequence[int] = (),
    goal: float = 0.0,
) -> list[Tight]:
    """Climb aim . variables + room (floor None), or aim alone with room kept at `floor`.

    `held` names numbers of the repeat that stay. A climb that cannot be thought to reach the room
    `goal` is given up. With a floor, falling short of it costs 30 to
    1, an exact penalty for these sizes. Several starts climb at once, each by itself.
    """
    cap = np.inf if floor is None else floor
    weight = 1.0 if floor is None else 30.0
    repeat_aim = aim[5 * shape.count :]
    slow = max(1e-6, 0.1 * finest)

    def worth(at: Layout, room: float) -> float:
        return weight * min(room, cap) + float(repeat_aim @ at.repeat)

    def look(layouts: Sequence[Layout], climbers: Sequence[_Climber]) -> list[_Seen | None]:
        reach = [max(1.0, c.seen.least) if floor is None else floor for c in climbers]
        return _look(shape, layouts, reach, [c.region for c in climbers])

    layouts = [imposed(shape, start) for start in starts]
    looks = _look(
        shape, layouts, [1.0 if floor is None else floor] * len(starts), [region] * len(starts)
    )
    climbers = [
        None
        if seen is None
        else _Climber(layout, seen, spread(shape, layout), worth(layout, seen.least), region)
        for layout, seen in zip(layouts, looks, strict=True)
    ]
    for _ in range(rounds):
        going = [c for c in climbers if c is not None and not c.done]
        if not going:
            break
        moving: list[tuple[_Climber, Floats, float]] = []
        for climber, step in zip(
            going, _programmes(shape, going, aim, floor, weight, held), strict=True
        ):
            if step is None:
                climber.region /= 2
                climber.done = climber.region < finest
                continue
            room, width = climber.seen.least, climber.region
            rise = min(room + float(step[-1]), cap) - min(room, cap)
            if room + _BOLD * rise * max(1.0, 0.1 / width) ** 0.5 < goal:
                climber.done = True
                continue
            whole = climber.free @ step[:-1]
            moving.append((climber, whole, weight * rise + float(aim @ whole)))
        if not moving:
            continue
        all_moved = moved(
            shape, stacked([c.layout for c, *_ in moving]), np.stack([w for _, w, _ in moving])
        )
        afters = [all_moved.at(at) for at in range(len(moving))]
        seens = look(afters, [c for c, *_ in moving])
        for (climber, _, hoped), after, seen in zip(moving, afters, seens, strict=True):
            if floor is not None and seen is not None and seen.least < floor - 1e-9:
                after, seen = _unbent(shape, after, seen, floor, climber.region)
            gained = -np.inf if seen is None else worth(after, seen.least) - climber.now
            if seen is not None and gained > 0.1 * hoped and gained > 0:
                climber.layout, climber.seen = after, seen
                climber.free = spread(shape, after)
                climber.now += gained
                climber.small = climber.small + 1 if gained < slow else 0
                if gained > 0.6 * hoped:
                    climber.region = min(0.2, climber.region * 1.6)
            else:
                climber.region /= 2
                climber.small = climber.small + 1 if abs(hoped) < slow else 0
            climber.done = climber.region < finest or climber.small >= 3
    return [
        Tight(start, 0.0) if c is None else Tight(c.layout, c.seen.least)
        for start, c in zip(starts, climbers, strict=True)
    ]


def _programmes(
    shape: Shape,
    climbers: Sequence[_Climber],
    aim: Floats,
    floor: float | None,
    weight: float,
    held: Sequence[int],
) -> list[Floats | None]:
    """The best step of each within its region, by the slopes; the last number is the change of room
    (least gap - room now). None where none was found.
    """
    size, most = climbers[0].free.shape[1], max(len(c.seen.value) for c in climbers)
    first = size - (shape.variables - 5 * shape.count)
    fixed = [first + k for k in held]
    if shape.dims == 1 and not shape.twist:
        fixed.append(first + 1)
    box = np.concatenate([np.eye(size), -np.eye(size)])
    limit = np.ones(2 * size)
    table = np.zeros((len(climbers), most + 2 * size + 1, size + 1))
    bounds = np.ones(table.shape[:2])  # a row of zeros under 1 asks for nothing
    costs = np.zeros((len(climbers), size + 1))
    for at, c in enumerate(climbers):
        count = len(c.seen.value)
        table[at, :count, :size] = -c.seen.rows @ c.free
        table[at, :count, size] = 1.0
        table[at, most:-1, :size] = box
        table[at, -1, size] = 1.0
        limit[fixed + [size + k for k in fixed]] = 1e-9 / c.region
        bounds[at, :count] = (c.seen.value - c.seen.least) / c.region
        bounds[at, most:-1] = limit
        bounds[at, -1] = (10.0 if floor is None else floor - c.seen.least) / c.region
        costs[at, :size], costs[at, size] = -aim @ c.free, -weight
    steps = solve(costs, table, bounds, 1e-5)  # in parts of the region
    return [None if s is None else s * c.region for s, c in zip(steps, climbers, strict=True)]


def _unbent(
    shape: Shape, layout: Layout, look: _Seen, floor: float, region: float
) -> tuple[Layout, _Seen]:
    """Wires that a straight step pressed together, since rings turn, let apart by a least move."""
    near = look.value < floor + _TOUCHING
    free = spread(shape, layout)
    miss = np.maximum(floor - look.value[near], 0.0)
    step = np.linalg.lstsq(look.rows[near] @ free, miss, rcond=1e-6)[0]
    if np.abs(step).max() > region:
        return layout, look
    after = moved(shape, layout, free @ step)
    (seen,) = _look(shape, [after], [floor], [region])
    return (layout, look) if seen is None or seen.least < look.least else (after, seen)


def thicken(shape: Shape, start: Layout, rounds: int = 150, finest: float = 1e-6) -> Tight:
    """Let the wires grow as far as this layout can be eased to allow."""
    return thickened(shape, [start], rounds, finest)[0]


def thickened(
    shape: Shape, starts: Sequence[Layout], rounds: int, finest: float, goal: float = 0.0
) -> list[Tight]:
    """The same of several, each given up where its wires would not grow to the room `goal`."""
    if not starts:
        return []
    return _climb(shape, starts, np.zeros(shape.variables), None, rounds, finest, goal=goal)


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
    (got,) = _climb(shape, [start], aim, room, rounds, finest)
    for _ in range(3):
        if got.room >= room:
            break
        # the penalty can leave it a hair short: mend that alone, in small steps
        still = np.zeros(shape.variables)
        short = min(0.01, 4 * (room - got.room) + 1e-6)
        (got,) = _climb(shape, [got.layout], still, room * (1 + 1e-6), 12, 1e-8, short)
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
    return _climb(shape, [squeezed], np.zeros(shape.variables), None, 40, 1e-4, 0.05, held)[0]
