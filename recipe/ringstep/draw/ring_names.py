"""Where the names of rings are written in their picture.

In: where rings lie on the page in px, and what is hidden. Out: `Name`s: on bare ground beside
the ring with a thin line to it, or, where there is none, on the ring with a white rim. No two
overlap.
"""

from __future__ import annotations

import html
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ringstep.draw.strands import ARCS, Bools, Floats

Box = tuple[float, float, float, float]

_CELL = 3.0  # px of the grid in which taken ground is noted
_LETTER = 0.64  # width of a letter in heights of the text; wide enough for any but W and M
_FAR = (4.0, 9.0, 15.0, 22.0, 30.0, 40.0, 52.0)  # px from a ring's wire to its name
_TURNS = 12
_CROSSED = 7  # tenths of its length by which a line may run over wires at most


@dataclass(frozen=True, slots=True)
class Name:
    """A name and its box; px. line: from the name to its ring, or None for one on the ring."""

    text: str
    box: Box
    line: Box | None

    def svg(self, size: float, fine: float) -> str:
        """The name as SVG, its lengths times `fine`."""
        left, _, right, bottom = self.box
        parts = []
        if self.line:
            x, y, to_x, to_y = (f"{a * fine:.0f}" for a in self.line)
            parts.append(
                f'<path d="M{x} {y}L{to_x} {to_y}" stroke="#000" stroke-width="{0.8 * fine:.0f}"/>'
                f'<circle cx="{to_x}" cy="{to_y}" r="{1.4 * fine:.0f}" stroke="#fff"'
                f' stroke-width="{0.6 * fine:.0f}"/>'
            )
        # the rim is painted first, by itself: not every reader of SVG knows an order of painting
        wide = 3 * fine
        rim = f' fill="#fff" stroke="#fff" stroke-width="{wide:.0f}" stroke-linejoin="round"'
        parts += [
            f'<text x="{(left + right) / 2 * fine:.0f}" y="{(bottom - 0.22 * size) * fine:.0f}"'
            f' text-anchor="middle" font-family="sans-serif" font-size="{size * fine:.0f}"'
            f"{look}>{html.escape(self.text)}</text>"
            for look in (("",) if self.line else (f'{rim} aria-hidden="true"', ""))
        ]
        return "".join(parts)


def placed(
    points: Floats,
    wires: Floats,
    hidden: Bools,
    texts: Mapping[int, str],
    page: tuple[float, float],
    size: float,
) -> list[Name]:
    """Names beside their rings.

    points: (strands, ARCS, 2) px; wires: (strands,) px; hidden: (strands, ARCS); texts: by strand;
    page: width and height, px; size: height of the text, px. A ring of which nothing is seen, or
    for whose name no room is left, goes without.
    """
    taken = _taken(points, wires, page)
    total = np.zeros((taken.shape[0] + 1, taken.shape[1] + 1))
    out: list[Name] = []
    for strand, text in texts.items():
        half = np.array([_LETTER * size * max(len(text), 1) / 2 + 1, 0.55 * size])
        at = np.nonzero(~hidden[strand])[0]
        if not len(at):
            continue
        total[1:, 1:] = taken.cumsum(axis=0).cumsum(axis=1)
        name = _beside(points[strand][at], float(wires[strand]), text, half, total, taken, page)
        if name is None or any(_overlap(name.box, other.box) for other in out):
            name = _upon(points[strand], hidden[strand], text, half, [n.box for n in out], page)
        if name is None:
            continue
        out.append(name)
        left, top, right, bottom = (int(edge // _CELL) for edge in name.box)
        taken[max(top, 0) : bottom + 1, max(left, 0) : right + 1] = True
        if name.line:
            steps = np.linspace(0, 1, 12)[:, None]
            line = np.array(name.line[:2]) * (1 - steps) + np.array(name.line[2:]) * steps
            _mark(taken, line)
    return out


def _taken(points: Floats, wires: Floats, page: tuple[float, float]) -> Bools:
    """The grid of the page, True where there is wire."""
    taken = np.zeros((int(page[1] // _CELL) + 1, int(page[0] // _CELL) + 1), bool)
    between = (points + np.roll(points, 1, axis=1)) / 2
    dense = np.concatenate([points, between], axis=1)
    after = np.roll(points, -1, axis=1) - np.roll(points, 1, axis=1)
    length = np.maximum(np.linalg.norm(after, axis=2, keepdims=True), 1e-9)
    across = np.stack([-after[..., 1], after[..., 0]], axis=2) / length
    across = np.concatenate([across, across], axis=1)
    for share in np.linspace(-0.55, 0.55, 7):
        _mark(taken, (dense + share * wires[:, None, None] * across).reshape(-1, 2))
    return taken


def _mark(taken: Bools, points: Floats) -> None:
    cells = (points // _CELL).astype(int)
    rows, columns = taken.shape
    inside = (cells >= 0).all(axis=1) & (cells[:, 1] < rows) & (cells[:, 0] < columns)
    taken[cells[inside, 1], cells[inside, 0]] = True


def _beside(
    anchors: Floats,
    wire: float,
    text: str,
    half: Floats,
    total: Floats,
    taken: Bools,
    page: tuple[float, float],
) -> Name | None:
    """The best place on bare ground, or None."""
    turns = np.arange(_TURNS) * 2 * np.pi / _TURNS
    ways = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    far = wire / 2 + np.array(_FAR)
    reach = (np.abs(ways) @ half)[None, :] + far[:, None]  # a line meets the box's middle
    middle = anchors[:, None, None] + ways[None, None] * reach[None, :, :, None]
    low, high = middle - half, middle + half
    fits = (low >= 0).all(axis=-1) & (high[..., 0] <= page[0]) & (high[..., 1] <= page[1])
    top = np.array(total.shape)[::-1] - 1
    first = np.clip((low // _CELL).astype(int), 0, top)
    last = np.clip((high // _CELL).astype(int) + 1, 0, top)
    full = (
        total[last[..., 1], last[..., 0]]
        - total[first[..., 1], last[..., 0]]
        - total[last[..., 1], first[..., 0]]
        + total[first[..., 1], first[..., 0]]
    )
    good = fits & (full == 0)
    if not good.any():
        return None
    steps = np.linspace(0, 1, 10)[:, None]
    spots = np.nonzero(good)
    start = anchors[spots[0]] + ways[spots[2]] * wire * 0.6
    way = start[:, None, :] * (1 - steps) + middle[spots][:, None, :] * steps
    cells = np.clip((way // _CELL).astype(int), 0, np.array(taken.shape)[::-1] - 1)
    crossed = taken[cells[..., 1], cells[..., 0]].sum(axis=-1)
    best = int(np.argmin(crossed * 6.0 + far[spots[1]]))
    if crossed[best] > _CROSSED:
        return None
    anchor = spots[0][best]
    x, y = middle[spots][best]
    box = (float(x - half[0]), float(y - half[1]), float(x + half[0]), float(y + half[1]))
    to = anchors[anchor]
    edge = np.clip(to, (box[0], box[1] + 1), (box[2], box[3] - 1))
    return Name(text, box, (float(edge[0]), float(edge[1]), float(to[0]), float(to[1])))


def _upon(
    points: Floats,
    hidden: Bools,
    text: str,
    half: Floats,
    others: list[Box],
    page: tuple[float, float],
) -> Name | None:
    """On the ring, where most of it is seen around."""
    seen = (~hidden).astype(float)
    around = sum(np.roll(seen, k) for k in range(-4, 5))
    for arc in np.argsort(-np.asarray(around), kind="stable")[:ARCS]:
        if hidden[arc]:
            continue
        x, y = points[arc]
        box = (float(x - half[0]), float(y - half[1]), float(x + half[0]), float(y + half[1]))
        inside = box[0] >= 0 and box[1] >= 0 and box[2] <= page[0] and box[3] <= page[1]
        if inside and not any(_overlap(box, other) for other in others):
            return Name(text, box, None)
    return None


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
