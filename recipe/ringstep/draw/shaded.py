"""Shaded SVG pictures of placed rings, with correct hiding where one passes behind another.

In: placed rings in mm and a direction to look from. Out: SVG text. Seen from afar a round ring
is the stroke of an ellipse as wide as its wire, exactly. Each ring is cut into short arcs; an
arc is drawn once all that lie under it are drawn; arcs side by side on a ring that can be drawn
together become one elliptical arc, which keeps files small.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ringstep.space.result import PlacedRing, Pose, Vector

Floats = NDArray[np.floating[Any]]

ARCS = 72
_LONGEST = (10, 5, 2)  # arcs mended in one piece: shorter where long ones cannot be put in order
_FINE = 10  # whole numbers in a file are tenths of a pixel
_MARGIN = 0.2  # of the arcs' lengths, added where it is asked whether two arcs overlap
# share of the wire, shift towards the light, and how far a piece runs on over its neighbours to
# hide the seam (in arcs): outline, body, light, shine. Each runs a little farther than the one
# below it, or a hair of the darker grey would show across the wire.
_COATS = (
    (1.0, (0.0, 0.0), 0.15),
    (1.0, (0.0, 0.0), 0.3),
    (0.5, (-0.1, -0.13), 0.45),
    (0.16, (-0.15, -0.2), 0.6),
)

Rows = tuple[Vector, Vector, Vector]  # unit vectors to the right, up, towards the eye


def views(pose: Pose) -> dict[str, Rows]:
    """Ways to look at a pose: 'front', and 'side', which is the front tipped up by a quarter.

    A chain runs from left to right. Of a sheet, whose shifts are (row, place), each row runs from
    left to right and lies below the row before.
    """
    right, up, near = np.eye(3)
    if len(pose.repeat) == 3:
        _, b, c = pose.repeat
        right = np.array([b, c, 0.0]) / math.hypot(b, c)
        up = np.array([-right[1], right[0], 0.0])
    front = np.array([right, up, near])
    return {
        "front": _rows(front),
        "side": _rows(np.array([right, near, -up])),
    }


def _rows(turn: Floats) -> Rows:
    first, second, third = ((float(x), float(y), float(z)) for x, y, z in turn)
    return first, second, third


@dataclass(frozen=True, slots=True)
class Tone:
    """Greys of one kind of ring, dark to light, and the width of its outline in wires."""

    outline: str
    body: str
    light: str
    shine: str
    edge: float = 0.07


PLAIN = (
    Tone("#333", "#8f8f8f", "#bdbdbd", "#f2f2f2"),
    Tone("#333", "#b4b4b4", "#dadada", "#ffffff"),
    Tone("#222", "#6f6f6f", "#9a9a9a", "#dedede"),
    Tone("#333", "#a2a2a2", "#cbcbcb", "#f8f8f8"),
)
FAINT = Tone("#8a8a8a", "#dcdcdc", "#ececec", "#ffffff", 0.06)
NEW = Tone("#000", "#4a4a4a", "#7c7c7c", "#d0d0d0", 0.13)


def picture(
    rings: Sequence[PlacedRing],
    view: Rows,
    width: float = 640.0,
    new: Collection[int] = (),
    through: Collection[int] = (),
    title: str = "",
    kinds: Sequence[int] = (),
    frame: Sequence[PlacedRing] = (),
) -> str:
    """SVG text of the rings, `width` pixels wide, seen as `view` says (see `views`).

    `new` and `through` hold places in `rings`: new rings are drawn dark with a heavy outline,
    those they go through in a middle tone, and all others faint. With both empty a ring's tone
    goes by `kinds`, a small number for each ring of the unit (0 for all where empty).
    `frame` names other rings the page must have room for, so that pictures match in scale.
    Raises ValueError for no rings.
    """
    if not rings:
        raise ValueError("there are no rings to draw")
    turn = np.array(view)
    scene = Scene(rings, turn, width * _FINE, frame)
    if new or through:
        tones = [
            NEW if k in new else PLAIN[0] if k in through else FAINT for k in range(len(rings))
        ]
    else:
        tones = [PLAIN[(kinds[ring.ring] if kinds else 0) % len(PLAIN)] for ring in rings]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{_n(width)}" '
        f'height="{_n(scene.height / _FINE)}" '
        f'viewBox="0 0 {width * _FINE:.0f} {math.ceil(scene.height)}">'
    ]
    if title:
        parts.append(f"<title>{_escape(title)}</title>")
    parts.append('<g fill="none" stroke-linejoin="round">')
    for layer in scene.layers():
        parts.extend(scene.strokes(layer, tones))
    parts.append("</g></svg>\n")
    return "\n".join(parts)


def _escape(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _n(value: float) -> str:
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text


@dataclass(frozen=True, slots=True)
class _Run:
    ring: int
    first: int  # arc number
    count: int


@dataclass(frozen=True, slots=True)
class _Meeting:
    lower: int  # ring
    lower_arcs: frozenset[int]
    upper: int
    upper_arcs: frozenset[int]


class Scene:
    """Rings projected to the page, and the order of their arcs."""

    def __init__(
        self,
        rings: Sequence[PlacedRing],
        turn: Floats,
        width: float,
        frame: Sequence[PlacedRing] = (),
    ) -> None:
        self.rings = rings
        centres = np.array([ring.centre for ring in rings]) @ turn.T
        normals = np.array([ring.normal for ring in rings]) @ turn.T
        radii = np.array([ring.mean_radius for ring in rings])
        wires = np.array([ring.wire for ring in rings])
        helper = np.zeros_like(normals)
        helper[np.arange(len(rings)), np.argmin(np.abs(normals), axis=1)] = 1.0
        u = np.cross(normals, helper)
        u /= np.linalg.norm(u, axis=1, keepdims=True)
        v = np.cross(normals, u)
        angle = (np.arange(ARCS) + 0.5) * 2 * math.pi / ARCS
        arms = np.cos(angle)[:, None] * u[:, None] + np.sin(angle)[:, None] * v[:, None]
        points = centres[:, None] + radii[:, None, None] * arms
        low, high = _extent((*rings, *frame), turn)
        self.scale = width / (high[0] - low[0])
        self.height = float((high[1] - low[1]) * self.scale)
        # page coordinates: y grows downwards
        flip = np.array([self.scale, -self.scale, self.scale])
        origin = np.array([low[0], high[1], 0.0])
        self.points: Floats = (points - origin) * flip
        self.centres: Floats = (centres - origin) * flip
        self.u: Floats = u * radii[:, None] * flip
        self.v: Floats = v * radii[:, None] * flip
        self.wires: Floats = wires * self.scale
        self.pitch: Floats = radii * self.scale * 2 * math.pi / ARCS

    def _meetings(self, longest: int) -> list[_Meeting]:
        """Every place where one stretch of wire lies over another."""
        out: list[_Meeting] = []
        flat, depth = self.points[:, :, :2], self.points[:, :, 2]
        low = flat.min(axis=1) - self.wires[:, None]
        high = flat.max(axis=1) + self.wires[:, None]
        step = np.abs(np.arange(ARCS)[:, None] - np.arange(ARCS)[None, :])
        ring_apart = np.minimum(step, ARCS - step)
        for a in range(len(self.rings)):
            for b in range(a, len(self.rings)):
                if np.any(low[a] > high[b]) or np.any(low[b] > high[a]):
                    continue
                apart = np.linalg.norm(flat[a][:, None] - flat[b][None], axis=2)
                near = apart < (self.wires[a] + self.wires[b]) * 0.5 + _MARGIN * (
                    self.pitch[a] + self.pitch[b]
                )
                rise = depth[b][None, :] - depth[a][:, None]
                if a == b:
                    near &= (ring_apart > 6) & (rise > self.wires[a] * 0.9)
                out += _meetings(a, b, near, rise, longest)
        return out

    def layers(self) -> list[list[_Run]]:
        """Pieces in drawing order: each ring whole, the farthest first, then mends.

        A mend draws again what lies over something that was drawn after it; whatever lies over a
        mend is mended too, later, so that in the end all that is above is drawn after.
        """
        for longest in _LONGEST:
            out, rounds = self._ordered(longest)
            if not rounds:
                break
        return out

    def _ordered(self, longest: int) -> tuple[list[list[_Run]], int]:
        """The layers with mends of at most this length, and how often one had to jump the queue."""
        meetings = self._meetings(longest)
        whole = sorted(range(len(self.rings)), key=lambda k: (self.points[k, :, 2].mean(), k))
        turn = {ring: number for number, ring in enumerate(whole)}
        below: dict[int, list[int]] = {ring: [] for ring in turn}
        for number, meeting in enumerate(meetings):
            below[meeting.lower].append(number)
        queue = [k for k, m in enumerate(meetings) if turn[m.upper] < turn[m.lower]]
        mends = set(queue)
        follows: dict[int, list[int]] = {}
        while queue:
            number = queue.pop()
            mend = meetings[number]
            follows[number] = [
                k for k in below[mend.upper] if meetings[k].lower_arcs & mend.upper_arcs
            ]
            for k in follows[number]:
                if k not in mends:
                    mends.add(k)
                    queue.append(k)
        waits = dict.fromkeys(mends, 0)
        for number in mends:
            for k in follows[number]:
                waits[k] += 1
        depth = self.points[:, :, 2]

        def height(number: int) -> tuple[float, int]:
            mend = meetings[number]
            return float(depth[mend.upper, sorted(mend.upper_arcs)].mean()), number

        narrow = {m.lower for m in meetings if m.lower == m.upper}
        out: list[list[_Run]] = []
        for ring in whole:
            if ring not in narrow:
                out.append([_Run(ring, 0, ARCS)])
                continue
            # seen nearly from its edge, a ring's near half hides its far half
            near = depth[ring] > self.centres[ring, 2]
            for half in (~near, near):
                out.append(_runs([ring * ARCS + int(arc) for arc in np.nonzero(half)[0]]))
        left, rounds = sorted(mends, key=height), 0
        while left:
            now = [k for k in left if waits[k] <= 0]
            if not now:
                # pieces seem to lie over one another in a round: the lowest goes first
                now, rounds = left[:1], rounds + 1
            arcs = {meetings[k].upper * ARCS + arc for k in now for arc in meetings[k].upper_arcs}
            out.append(_runs(sorted(arcs)))
            for number in now:
                left.remove(number)
                for k in follows[number]:
                    waits[k] -= 1
        return out, rounds

    def strokes(self, layer: Sequence[_Run], tones: Sequence[Tone]) -> list[str]:
        """Outline, body, light and shine of one layer."""
        groups: dict[tuple[Tone, float], list[_Run]] = {}
        for run in layer:
            key = (tones[run.ring], round(float(self.wires[run.ring]), 2))
            groups.setdefault(key, []).append(run)
        out = []
        for (tone, wire), runs in groups.items():
            colours = (tone.outline, tone.body, tone.light, tone.shine)
            for coat, (colour, (share, (x, y), more)) in enumerate(
                zip(colours, _COATS, strict=True)
            ):
                thick = wire * (share - 2 * tone.edge if coat == 1 else share)
                light = (x * wire, y * wire)
                d = "".join(self._path(run, light, more) for run in runs)
                out.append(f'<path stroke="{colour}" stroke-width="{thick:.0f}" d="{d}"/>')
        return out

    def _path(self, run: _Run, light: tuple[float, float], more: float) -> str:
        k = run.ring
        u, v = self.u[k][:2], self.v[k][:2]
        middle = self.centres[k][:2] + np.array(light)

        def end(arc: float) -> float:
            # a stroke moved towards the light must still end square across the wire
            angle = arc * 2 * math.pi / ARCS
            along = math.cos(angle) * v - math.sin(angle) * u
            back = float(along @ np.array(light)) / max(float(along @ along), 1e-9)
            most = 2.0 * 2 * math.pi / ARCS
            return angle - max(-most, min(most, back))

        whole = run.count >= ARCS
        first, last = end(run.first - more), end(run.first + run.count + more)
        if whole:
            first, last = 0.0, 2 * math.pi
        if last <= first:
            return ""
        # cubic curves of at most a quarter turn, good to 3 in 10000 of the radius; their handles
        # are 4/3 tan(a/4) long. Elliptical arcs would jump where their ends are rounded.
        count = math.ceil((last - first) / (math.pi / 2) - 1e-9)
        angles = np.linspace(first, last, count + 1)
        handle = 4 / 3 * math.tan((last - first) / count / 4)
        points = middle + np.outer(np.cos(angles), u) + np.outer(np.sin(angles), v)
        slopes = handle * (np.outer(np.cos(angles), v) - np.outer(np.sin(angles), u))
        knots = np.stack([points[:-1] + slopes[:-1], points[1:] - slopes[1:], points[1:]], axis=1)
        here, shut = np.round(points[0]), "z" if whole else ""
        text = [f"M{_list(here)}c"]
        for curve in np.round(knots):
            text.append(_list(curve - here))
            here = curve[2]
        return " ".join(text).replace("c ", "c").replace(" -", "-") + shut


def _extent(rings: Sequence[PlacedRing], turn: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest place of rings on the page: a ring reaches r sqrt(1 - n^2) each way."""
    centres = np.array([ring.centre for ring in rings]) @ turn.T
    normals = np.array([ring.normal for ring in rings]) @ turn.T
    radii = np.array([[ring.mean_radius] for ring in rings])
    edge = np.array([[0.6 * ring.wire] for ring in rings])
    reach = radii * np.sqrt(np.maximum(1 - normals**2, 0.0)) + edge
    low: Floats = (centres - reach).min(axis=0)
    high: Floats = (centres + reach).max(axis=0)
    return low, high


def _list(points: Floats) -> str:
    return " ".join(str(int(x)) for x in points.reshape(-1))


def _meetings(
    a: int, b: int, near: NDArray[np.bool_], rise: Floats, longest: int
) -> list[_Meeting]:
    """The connected places of one pair of rings; `rise` is b's height over a's."""
    left = {(int(p), int(q)) for p, q in zip(*np.nonzero(near), strict=True)}
    out = []
    while left:
        start = min(left)
        left.remove(start)
        above = bool(rise[start] > 0)
        found, queue = [start], [start]
        while queue:
            p, q = queue.pop()
            for dp in (-1, 0, 1):
                for dq in (-1, 0, 1):
                    cell = ((p + dp) % ARCS, (q + dq) % ARCS)
                    if cell in left and (rise[cell] > 0) == above:
                        left.remove(cell)
                        found.append(cell)
                        queue.append(cell)
        pairs = found if above else [(q, p) for p, q in found]
        lower, upper = (a, b) if above else (b, a)
        # where wires run side by side, short stretches can be put in order and long ones not
        for stretch in _stretches({q for _, q in pairs}, longest):
            under = frozenset(p for p, q in pairs if q in stretch)
            out.append(_Meeting(lower, under, upper, stretch))
    return out


def _stretches(arcs: set[int], longest: int) -> list[frozenset[int]]:
    out = []
    for run in _runs(sorted(arcs)):
        parts = math.ceil(run.count / longest)
        edges = [run.first + run.count * part // parts for part in range(parts + 1)]
        for low, high in itertools.pairwise(edges):
            out.append(frozenset(place % ARCS for place in range(low, high)))
    return out


def _runs(arcs: Sequence[int]) -> list[_Run]:
    """Arcs side by side on a ring, joined, also across the ring's first arc."""
    by_ring: dict[int, list[int]] = {}
    for arc in sorted(arcs):
        by_ring.setdefault(arc // ARCS, []).append(arc % ARCS)
    out = []
    for ring, places in by_ring.items():
        if len(places) == ARCS:
            out.append(_Run(ring, 0, ARCS))
            continue
        have = set(places)
        for place in places:
            if (place - 1) % ARCS in have:
                continue
            count = 1
            while (place + count) % ARCS in have:
                count += 1
            out.append(_Run(ring, place, count))
    return out
