"""A layout measured at last: tight, at the recipe's own size, pulled and pushed together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ringstep.space.circles import FINE, Layout, Shape, links_of, near_pairs, touches
from ringstep.space.near import Floats, vector
from ringstep.space.relax import read_links, settle
from ringstep.space.result import Form, PlacedRing, Pose
from ringstep.space.starts import kicked
from ringstep.space.tighten import Tight, eased, room_of, stretch, thicken

_STEPS, _PULLS, _LAST = 6, 80, 120  # of a sheet that is hung up
_STILL = 5e-4  # of its length: what a pull gains by going on that is at its end
_SLACK = 0.01  # of the pull: what draws slack rows smooth across it
HAIR = 2e-6  # wires are kept this share of their width apart, above any rounding


def spectrum(shape: Shape, layout: Layout) -> Floats:
    """Distances between the centres of linked rings, sorted: does not depend on how it is held."""
    return np.sort(np.linalg.norm(links_of(shape, layout).apart, axis=1))


def clearance(shape: Shape, layout: Layout, room: float) -> float:
    """Least gap between wires' surfaces with wires `room` times the recipe's, mm."""
    reach = 2.0 * float(shape.wires.max()) * max(room, 1.0)
    pairs = near_pairs(shape, layout, reach)
    t = touches(shape, pairs)
    need = (shape.wires[pairs.i] + shape.wires[pairs.j])[t.pair] / 2 * room
    return float((t.gap - need).min(initial=reach) * shape.unit)


def pose_of(shape: Shape, layout: Layout, room: float) -> Pose:
    """A layout in mm, held so that it is broadest from the front, with its measured clearance."""
    held = _held(shape, layout)
    zero = (0,) * shape.dims
    rings = tuple(
        PlacedRing(
            ring.name,
            k,
            zero,
            vector(held.centres[k] * shape.unit),
            vector(held.normals[k]),
            ring.mean_radius,
            ring.wire * room,
        )
        for k, ring in enumerate(shape.cell.rings)
    )
    repeat = [float(x) for x in held.repeat]
    mm = [x * shape.unit for x in repeat]
    if shape.dims == 1:
        mm[1] = repeat[1]
    return Pose(rings, tuple(mm), clearance(shape, held, room))


def _held(shape: Shape, layout: Layout) -> Layout:
    centres, normals = layout.centres.copy(), layout.normals.copy()
    turned_about = shape.dims == 1 and abs(layout.repeat[1]) > 1e-9
    if shape.dims == 1:
        centres[:, 0] -= centres[:, 0].mean()
        if not turned_about:
            centres[:, 1:] -= centres[:, 1:].mean(axis=0)
        # a ring's rim in direction y reaches r sqrt(1 - n_y^2): spread of all rims across x
        rim = np.eye(2)[None] - normals[:, 1:, None] * normals[:, None, 1:]
        spread = centres[:, 1:].T @ centres[:, 1:] / shape.count
        spread = spread + (rim * (shape.radii**2 / 2)[:, None, None]).mean(axis=0)
        axes = np.linalg.eigh(spread)[1]
        y = axes[:, 1]
        turn = np.array([[y[0], y[1]], [-y[1], y[0]]])
        centres[:, 1:] = centres[:, 1:] @ turn.T
        normals[:, 1:] = normals[:, 1:] @ turn.T
    else:
        centres -= centres.mean(axis=0)
    if shape.dims == 0:
        axes = np.linalg.eigh(centres.T @ centres + np.eye(3) - normals.T @ normals)[1][:, ::-1]
        if np.linalg.det(axes) < 0:
            axes[:, 2] *= -1
        centres, normals = centres @ axes, normals @ axes
    return Layout(centres, normals, layout.repeat)


def form_of(
    shape: Shape,
    layout: Layout,
    units: tuple[int, ...],
    slip: int,
    said: bool,
    tries: int,
    rng: np.random.Generator,
    quick: bool = False,
) -> Form:
    """All that is told of one layout; `quick` leaves out polish and lengths.

    Each end of the length range is looked for from the tight layout and from `tries` kicked ones.
    """
    fine = replace(shape, samples=FINE)
    if quick:
        tight = Tight(layout, room_of(fine, layout))
    else:
        tight = thicken(fine, thicken(shape, layout, 200, 1e-6).layout, 30, 1e-7)
    room = tight.room * (1 - HAIR)
    at_room = 1.0 if room >= 1.0 else room * 0.985
    pulled = pushed = hung = by_side = None
    shown = tight.layout
    if shape.dims and not quick:
        floor = at_room * (1 + HAIR)
        ends = [_end(shape, fine, tight.layout, way, floor, tries, rng) for way in (1, -1)]
        pulled, pushed = (
            pose_of(fine, e.layout, at_room) if e.room >= at_room else None for e in ends
        )
        if shape.dims == 2:
            hung = _hung(shape, fine, (tight, ends[0]), (1.0, _SLACK), floor, at_room)
            by_side = _hung(shape, fine, ends[:1], (_SLACK, 1.0), floor, at_room)
        if pulled is not None:
            easy = eased(fine, ends[0].layout, 0.99, at_room)
            shown = easy.layout if easy.room >= at_room else ends[0].layout
    return Form(
        cell=shape.cell,
        units=units,
        slip=slip,
        turn="none",
        signs=tuple(int(s) for s in read_links(shape, tight.layout).signs),
        as_said=said,
        folds_kept=True,
        spreads_kept=True,
        room=room,
        fits=room >= 1.0,
        at_room=at_room,
        tight=pose_of(fine, tight.layout, room),
        shown=pose_of(fine, shown, at_room),
        stretched=pulled,
        pushed=pushed,
        hung=hung,
        hung_by_side=by_side,
    )


def _hung(
    shape: Shape,
    fine: Shape,
    starts: Sequence[Tight],
    sides: tuple[float, float],
    floor: float,
    at_room: float,
) -> Pose | None:
    """A sheet pulled one way alone, in steps while the wires shrink from the room of the start.

    None where the pull comes to no end.
    """

    def reach(got: Tight) -> float:
        a, b, c = got.layout.repeat
        wide = float(np.hypot(b, c))
        return (abs(a * c) / wide if sides[0] > sides[1] else wide) if got.room >= at_room else 0.0

    ends = []
    for start in starts:
        layout = start.layout
        steps = _STEPS if start.room > 1.01 * floor else 0
        for room in np.linspace(start.room, floor, steps + 1)[1:]:
            got = stretch(shape, layout, 1, float(room), _PULLS, sides)
            if got.room >= room * (1 - 1e-4):
                layout = got.layout
        ends.append(stretch(fine, layout, 1, floor, _LAST, sides))
    best = max(ends, key=reach)
    more = stretch(fine, best.layout, 1, floor, _LAST, sides)
    if best.room < at_room or reach(more) > (1 + _STILL) * reach(best):
        return None
    return pose_of(fine, best.layout, at_room)


def _end(
    shape: Shape,
    fine: Shape,
    layout: Layout,
    way: int,
    floor: float,
    tries: int,
    rng: np.random.Generator,
) -> Tight:
    """The farthest pull (way +1) or push (-1) found, its wires `floor` times the recipe's."""

    def extent(got: Tight) -> float:
        repeat = got.layout.repeat
        size = repeat[0] * (repeat[2] if shape.dims == 2 else 1.0)
        return way * float(size) if got.room >= floor else -np.inf

    best = stretch(shape, layout, way, floor)
    signs = read_links(shape, layout).signs
    for _ in range(tries):
        thin = settle(shape, kicked(shape, best.layout, rng, 0.1), signs)
        if thin is None:
            continue
        thick = thicken(shape, thin, 25, 1e-3)
        if thick.room < floor:
            continue
        best = max(best, stretch(shape, thick.layout, way, floor, 50), key=extent)
    return stretch(fine, best.layout, way, floor, 12)
