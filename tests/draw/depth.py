"""A second way to tell what hides what: balls in a depth buffer, and strokes on a grid.

Shares no code with the drawing; reads its SVG as text.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from ringstep.space.result import PlacedRing
from ringstep.space.state import Round

Grid = NDArray[np.signedinteger[Any]]
Floats = NDArray[np.floating[Any]]
View = Sequence[Sequence[float]]
_BARE = -1
_NUMBER = re.compile(r"-?\d+")
_SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Stroke:
    """One stretch of one ring, painted; px. points: along its middle."""

    ring: int
    points: Floats
    width: float
    whole: bool


def axes(ring: Round | PlacedRing) -> tuple[Floats, Floats]:
    """Two arms of a ring's circle, mm."""
    normal = np.array(ring.normal) / np.linalg.norm(ring.normal)
    start = np.eye(3)[int(np.argmin(abs(normal)))]
    one = start - normal * float(start @ normal)
    one /= np.linalg.norm(one)
    return ring.mean_radius * one, ring.mean_radius * np.cross(normal, one)


def buffer(
    rings: Sequence[Round | PlacedRing],
    view: View,
    scale: float,
    offset: Floats,
    size: tuple[int, int],
    bodies: Sequence[tuple[Floats, float]] = (),
) -> Grid:
    """(rows, columns) the ring nearest to the eye at the middle of each pixel; -1 for none.

    bodies: heaps of balls, their middles (n, 3) and how large they are; numbered after the rings.
    """
    depth = np.full(size[0] * size[1], -np.inf)
    shown = np.full(size[0] * size[1], _BARE)
    turns = np.linspace(0, 2 * np.pi, 700, endpoint=False)[:, None]
    heaps = []
    for ring in rings:
        one, two = axes(ring)
        around = np.array(ring.centre) + np.cos(turns) * one + np.sin(turns) * two
        heaps.append((around, ring.wire))
    for number, (balls, wide) in enumerate([*heaps, *bodies]):
        points = balls @ np.array(view).T
        xy = points[:, :2] * (scale, -scale) + offset
        radius = wide / 2 * scale
        steps = np.arange(-int(radius) - 1, int(radius) + 2)
        columns = np.floor(xy[:, 0]).astype(int)[:, None, None] + steps[None, None, :]
        rows = np.floor(xy[:, 1]).astype(int)[:, None, None] + steps[None, :, None]
        columns, rows = np.broadcast_arrays(columns, rows)
        off = (columns + 0.5 - xy[:, 0, None, None]) ** 2 + (rows + 0.5 - xy[:, 1, None, None]) ** 2
        good = (off <= radius**2) & (columns >= 0) & (rows >= 0)
        good &= (columns < size[1]) & (rows < size[0])
        height = points[:, 2, None, None] + np.sqrt(np.maximum(radius**2 - off, 0)) / scale
        place = (rows * size[1] + columns)[good]
        mine = np.full(len(depth), -np.inf)
        np.maximum.at(mine, place, height[good])
        nearer = mine > depth
        depth[nearer] = mine[nearer]
        shown[nearer] = number
    return shown.reshape(size)


def strokes(
    svg: str,
    rings: Sequence[Round | PlacedRing],
    view: View,
    scale: float,
    parts: Sequence[Round] = (),
) -> tuple[list[Stroke], Floats]:
    """The strokes of a picture in order, and where the middle of the work lies on it, px.

    parts: circles of which only a part is drawn; they are numbered after the rings.
    """
    root = ElementTree.fromstring(svg)
    paths = {
        path.attrib["id"]: list(subpaths(path.attrib["d"])) for path in root.iter(f"{_SVG}path")
        if "id" in path.attrib
    }  # fmt: skip
    turn = np.array(view)
    whole = [points for some in paths.values() for points, shut in some if shut]
    t = np.linspace(0, 2 * np.pi, 721)[:, None]
    lying = np.concatenate([
        (np.array(r.centre) + np.cos(t) * axes(r)[0] + np.sin(t) * axes(r)[1]) @ turn.T
        for r in rings
    ])[:, :2] * (scale, -scale)  # fmt: skip
    offset = np.concatenate(whole).min(axis=0) - lying.min(axis=0)
    found: list[Stroke] = []
    for part in root.find(f"{_SVG}g") or ():
        if "stroke-linecap" in part.attrib or "fill" in part.attrib:
            continue  # the light lies within the body; an arrow's head is no ring
        width = float(part.attrib["stroke-width"]) / 10
        name = part.attrib.get("href", "").removeprefix("#")
        for points, shut in paths[name] if name else subpaths(part.attrib["d"]):
            ring = _whose(points, width, [*rings, *parts], turn, scale, offset)
            found.append(Stroke(ring, points, width, shut))
    return found, offset


def painted_with_bodies(
    svg: str, rings: Sequence[Round], view: View, scale: float, size: tuple[int, int]
) -> tuple[Grid, Floats]:
    """(rows, columns) the ring or, numbered after all rings, the body painted last at each pixel.

    And where the middle of the work lies on it. Only for pictures with one body.
    """
    found, offset = strokes(svg, rings, view, scale)
    waiting = iter(found)
    grid = np.full(size, _BARE)
    rows, columns = np.indices(size) + 0.5
    root = ElementTree.fromstring(svg)
    paths = {p.attrib["id"]: p.attrib["d"] for p in root.iter(f"{_SVG}path") if "id" in p.attrib}
    for part in root.find(f"{_SVG}g") or ():
        if "stroke-linecap" in part.attrib:
            continue
        if part.tag == f"{_SVG}circle":
            x, y, r = (float(part.attrib[name]) / 10 for name in ("cx", "cy", "r"))
            grid[(columns - x) ** 2 + (rows - y) ** 2 < r * r] = len(rings)
        elif "fill-rule" in part.attrib:
            inside = np.zeros(size, bool)
            rims = [
                np.array([[float(n) / 10 for n in xy.split()] for xy in rim.strip("Mz").split("L")])
                for rim in re.findall(r"M[^z]*z", part.attrib["d"])
            ]
            for rim in rims:
                for (x, y), (p, q) in zip(rim, np.roll(rim, -1, axis=0), strict=True):
                    if y != q:
                        at = x + (rows - y) * (p - x) / (q - y)
                        inside ^= ((y > rows) != (q > rows)) & (columns < at)
            grid[inside] = len(rings)
            width = float(part.attrib["stroke-width"]) / 10
            around = painted([Stroke(0, rim, width, True) for rim in rims], size)
            grid[around == 0] = len(rings)
        elif "fill" not in part.attrib:
            name = part.attrib.get("href", "").removeprefix("#")
            for _ in subpaths(paths[name] if name else part.attrib["d"]):
                stroke = next(waiting)
                mine = painted([stroke], size)
                grid[mine == stroke.ring] = stroke.ring
    return grid, offset


def subpaths(d: str) -> list[tuple[Floats, bool]]:
    """Every stretch of path data as points in px, and whether it is closed."""
    found = []
    t = np.linspace(0, 1, 17)[1:, None]
    s = 1 - t
    for part in filter(None, d.split("M")):
        start, *rest = re.findall(r"[a-y]?[^a-z]+", part)
        here = np.array([float(x) for x in _NUMBER.findall(start)])
        points, handle = [here[None]], here
        for more in rest:
            count = {"l": 1, "q": 2, "s": 2, "c": 3}[more[0]]
            numbers = np.array([float(x) for x in _NUMBER.findall(more)])
            for step in here * 0 + numbers.reshape(-1, count, 2):
                to = here + step
                if more[0] == "l":
                    points.append(to)
                elif more[0] == "q":
                    points.append(s**2 * here + 2 * s * t * to[0] + t**2 * to[1])
                else:
                    a = to[0] if more[0] == "c" else 2 * here - handle
                    handle, c = to[-2], to[-1]
                    points.append(
                        s**3 * here + 3 * s * s * t * a + 3 * s * t * t * handle + t**3 * c
                    )
                here = to[-1]
        found.append((np.concatenate(points) / 10, part.endswith("z")))
    return found


def _whose(
    points: Floats,
    width: float,
    rings: Sequence[Round | PlacedRing],
    turn: Floats,
    scale: float,
    offset: Floats,
) -> int:
    """The ring whose circle, as it is seen, all points lie on."""
    best, least = -1, np.inf
    t = np.linspace(0, 2 * np.pi, 481)[:, None]
    points = points[:: max(1, len(points) // 12)]
    for number, ring in enumerate(rings):
        if not 0.5 * ring.wire * scale < width < ring.wire * scale + 0.06:
            continue
        one, two = (arm @ turn.T for arm in axes(ring))
        circle = np.array(ring.centre) @ turn.T + np.cos(t) * one + np.sin(t) * two
        on_page = circle[:, :2] * (scale, -scale) + offset
        if np.any(points.min(0) < on_page.min(0) - 1) or np.any(points.max(0) > on_page.max(0) + 1):
            continue
        off = np.sqrt(((points[:, None] - on_page[None]) ** 2).sum(2).min(1)).max()
        if off < least:
            best, least = number, off
    assert least < 0.45, f"a stroke belongs to no ring: {least}"
    return best


def painted(found: Sequence[Stroke], size: tuple[int, int]) -> Grid:
    """(rows, columns) the ring painted last at the middle of each pixel; -1 for none."""
    shown = np.full(size, _BARE)
    for stroke in found:
        points = (
            np.concatenate([stroke.points, stroke.points[:1]]) if stroke.whole else stroke.points
        )
        a, b = points[:-1], points[1:]
        length = np.sqrt(((b - a) ** 2).sum(1))
        a, b, length = a[length > 0], b[length > 0], length[length > 0]
        half = stroke.width / 2
        reach = int(np.ceil(half + length.max())) + 1
        steps = np.arange(-reach, reach + 1)
        columns = np.floor(a[:, 0]).astype(int)[:, None, None] + steps[None, None, :]
        rows = np.floor(a[:, 1]).astype(int)[:, None, None] + steps[None, :, None]
        columns, rows = np.broadcast_arrays(columns, rows)
        dx, dy = columns + 0.5 - a[:, 0, None, None], rows + 0.5 - a[:, 1, None, None]
        ux, uy = ((b - a) / length[:, None]).T[:, :, None, None]
        along, across = dx * ux + dy * uy, np.abs(dy * ux - dx * uy)
        good = (along >= 0) & (along <= length[:, None, None]) & (across <= half)
        joined = dx**2 + dy**2 <= half**2
        if not stroke.whole:
            joined[0] = False  # its ends are cut straight
        good |= joined
        good &= (columns >= 0) & (rows >= 0) & (columns < size[1]) & (rows < size[0])
        shown[rows[good], columns[good]] = stroke.ring
    return shown


def wrong(truth: Grid, shown: Grid) -> tuple[int, int]:
    """How many pixels show a ring, or none, that the depth buffer has nowhere within a pixel.

    And how many pixels hold a ring at all. Edges are rounded to tenths of a pixel, so that a pixel
    whose middle lies on one may go either way.
    """
    padded = np.pad(truth, 1, mode="edge")
    rows, columns = truth.shape
    near = np.zeros(truth.shape, bool)
    for y in range(3):
        for x in range(3):
            near |= padded[y : y + rows, x : x + columns] == shown
    return int((~near).sum()), int((truth != _BARE).sum())
