"""From where rings are looked at.

A `View` is three unit vectors of the work's own axes: to the right, up the page, towards the eye.
A chain stands upright, its start down; of a sheet, rows run to the right as the worker sees them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

import numpy as np

from ringstep.draw.solids import solid
from ringstep.draw.strands import Floats, Strand, ring_strand, scene
from ringstep.space.result import PlacedRing, Pose, Vector
from ringstep.space.second import ALONE, Second
from ringstep.space.state import Round, State

View = tuple[Vector, Vector, Vector]

#: How many rings a picture of one step has room for: those nearest to the work.
NEAR = 7
_UPRIGHT = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
_CHAIN = [(roll, tip) for roll in (25, -25, 45, -45, 65, -65, 90) for tip in (20, -20)]
_FLAT = [(roll, tip) for roll in (0, 15, -15) for tip in (0, -15, 15, -30, 30)]
_AT_ONCE, _AHEAD = 2, 4  # states judged in one piece of work, and pieces of work begun
_STRAIGHT = 0.97  # of the best score: rows run straight to the right where that costs no more


def near_work(state: State) -> list[int]:
    """Places among the state's rings of those that the step is about, and of the nearest others."""
    about = {*state.new, *state.through, *(ring for ring, _ in state.moved)}
    places = [k for k, (ring, _) in enumerate(state.rings) if ring in about]
    centres = np.array([lying.centre for _, lying in state.rings]).reshape(-1, 3)
    if not places:
        return list(range(len(state.rings)))
    apart = np.linalg.norm(centres[:, None] - centres[places][None], axis=2).min(axis=1)
    order = [int(k) for k in np.argsort(apart, kind="stable")]
    return order[: max(NEAR, len(places))]


def seen_from(rings: Sequence[Round | PlacedRing], view: View) -> list[Strand]:
    """The rings as strands in the view's coordinates."""
    turn = np.array(view)
    centres = np.array([r.centre for r in rings]).reshape(-1, 3) @ turn.T
    normals = np.array([r.normal for r in rings]).reshape(-1, 3) @ turn.T
    return [
        ring_strand(c, n, r.mean_radius, r.wire)
        for r, c, n in zip(rings, centres, normals, strict=True)
    ]


def turned(kind: str, roll: float, tip: float) -> View:
    """A view turned about the page's upright line, then tipped; degrees."""
    base = _UPRIGHT if kind in ("chain", "loop") else np.eye(3)
    c, s = math.cos(math.radians(roll)), math.sin(math.radians(roll))
    d, t = math.cos(math.radians(tip)), math.sin(math.radians(tip))
    about = np.array([[c, 0.0, -s], [0.0, 1.0, 0.0], [s, 0.0, c]])
    over = np.array([[1.0, 0.0, 0.0], [0.0, d, -t], [0.0, t, d]])
    return _view(over @ about @ base)


def _view(turn: Floats) -> View:
    right, up, near = ((float(x), float(y), float(z)) for x, y, z in turn)
    return right, up, near


def best_view(states: Sequence[State], kind: str, second: Second = ALONE) -> View:
    """The one view from which most is seen of what every step puts in, moves and goes through.

    kind: 'chain' or 'loop' stand upright; all others lie as the worker sees them. second: helps.
    """
    views = [turned(kind, *angles) for angles in (_CHAIN if kind in ("chain", "loop") else _FLAT)]
    if not states:
        return views[0]
    some = (states[at : at + _AT_ONCE] for at in range(0, len(states), _AT_ONCE))
    judged = second.in_order((partial(_shown, part, views) for part in some), _AHEAD)
    each = np.concatenate([*judged])
    found = np.round(each.mean(axis=0) + each.min(axis=0), 3)
    if kind not in ("chain", "loop"):
        found = np.minimum(found, np.round(_STRAIGHT * found.max(), 3))
    return views[int(np.argmax(found))]


def _shown(states: Sequence[State], views: Sequence[View]) -> Floats:
    """How well each view shows each state, (states, views)."""
    return np.array([[shows(state, view) for view in views] for state in states])


def shows(state: State, view: View) -> float:
    """How well a view shows a step, by the shares of its rings that are seen.

    New rings count 1, those gone through 0.8, the one least seen 0.5; and the new ring least seen
    once more: two laid one on the other are to be seen as two.
    """
    held = [state.rings[k] for k in near_work(state)]
    bodies = [body for _, lying in held if (body := solid(lying, view)) is not None]
    rings = [(ring, lying) for ring, lying in held if solid(lying, view) is None]
    seen = scene(seen_from([lying for _, lying in rings], view), bodies).seen()
    share = {
        ring: length / (2 * math.pi * lying.mean_radius)
        for (ring, lying), length in zip(rings, seen, strict=True)
    }
    new = [share[r] for r in (*state.new, *(ring for ring, _ in state.moved)) if r in share]
    through = [share[r] for r in state.through if r in share]
    told = new + through
    if not told:
        return 0.0
    parts = [sum(part) / len(part) if part else 0.0 for part in (new, through)]
    return float(parts[0] + 0.8 * parts[1] + 0.5 * min(told) + min(new, default=0.0))


def views(pose: Pose) -> dict[str, View]:
    """Ways to look at a pose: 'front', and 'side', which is the front turned by a quarter.

    A chain stands upright. Of a sheet, whose shifts are (row, place), each row runs from left to
    right and lies below the row before; its side is the front tipped up.
    """
    if len(pose.repeat) != 3:
        kind = "chain" if pose.repeat else "piece"
        return {"front": turned(kind, 0, 0), "side": turned(kind, 90, 0)}
    _, b, c = pose.repeat
    right = np.array([b, c, 0.0]) / math.hypot(b, c)
    up = np.array([-right[1], right[0], 0.0])
    near = np.array([0.0, 0.0, 1.0])
    return {
        "front": _view(np.array([right, up, near])),
        "side": _view(np.array([right, near, -up])),
    }
