"""Strands in their order as SVG strokes: outline, body and light; lengths in tenths of a pixel."""

from __future__ import annotations

import html
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from ringstep.draw.strands import ARCS, Bools, Run, Scene, Strand

FINE = 10
_LIGHT, _SHIFT = 0.34, (-0.07, -0.09)  # of the wire: how wide the light is, and where it falls
_TIGHT = 0.35  # radians on both sides of a narrow ring's tip where its curve is split
_SHORT = 0.75  # radians up to which a quadratic curve is good to 3 in 1000 of the radius
_SEAM = 0.15  # arcs by which a mend's body runs on over its outline, lest that show across
_HEAD = (3.2, 1.35, 0.7)  # length and half width of an arrow's head, in wires; where its shaft ends


@dataclass(frozen=True, slots=True)
class Tone:
    """Colours of one kind of strand; light: none where empty. edge: the outline, in wires."""

    outline: str
    body: str
    light: str
    edge: float


@dataclass(frozen=True, slots=True)
class Flat:
    """A strand on the page: (x, y) + (ux, uy) cos t + (vx, vy) sin t, y down.

    start, pace: radians at arc 0 and from arc to arc. last: the arc where painting ends. narrow,
    bar: a ring seen nearly, or quite, from its edge.
    """

    x: float
    y: float
    ux: float
    uy: float
    vx: float
    vy: float
    start: float
    pace: float
    closed: bool
    last: float
    narrow: bool
    bar: bool
    broad: float

    def at(self, arc: float) -> tuple[float, float]:
        """A point of it."""
        c, s = math.cos(self.start + arc * self.pace), math.sin(self.start + arc * self.pace)
        return self.x + c * self.ux + s * self.vx, self.y + c * self.uy + s * self.vy


def head_arcs(strand: Strand) -> float:
    """How many of an arrow's arcs its head takes."""
    pace = math.hypot(*strand.u) * strand.span / ARCS
    return float(min(ARCS / 2, _HEAD[0] * strand.wire / pace))


def flat(strand: Strand, bar: bool, headed: bool, left: float, top: float, scale: float) -> Flat:
    """A strand on a page whose upper left corner is at (left, top) mm; scale: px a mm."""
    fine = scale * FINE
    (x, y), (ux, uy), (vx, vy) = (part[:2].tolist() for part in (strand.centre, strand.u, strand.v))
    return Flat(
        (x - left) * fine,
        (top - y) * fine,
        ux * fine,
        -uy * fine,
        vx * fine,
        -vy * fine,
        strand.start,
        strand.span / ARCS,
        strand.closed,
        ARCS - head_arcs(strand) * _HEAD[2] if headed else ARCS,
        strand.closed and math.hypot(vx, vy) < strand.wire,
        bar,
        strand.wire * fine,
    )


def painted(
    seen: Scene,
    flats: Sequence[Flat],
    tones: Sequence[Tone],
    heads: Sequence[bool],
    solids: Sequence[Sequence[str]] = (),
    marks: Mapping[int, str] | None = None,
) -> tuple[list[str], list[str]]:
    """Paths, named '@' and their number, and their strokes in order.

    heads: which strands end in an arrow's head. solids: the strokes of each. marks: what the
    strokes of a strand or solid are to be known by; those of others are put together.
    """
    defs: list[str] = []
    paint: list[str] = []
    known = marks or {}
    layers = seen.layers()
    last = {run.strand: at for at, layer in enumerate(layers) for run in layer
            if run.count and heads[run.strand] and run.first + run.count >= ARCS - 1}  # fmt: skip
    for at, layer in enumerate(layers):
        groups: dict[tuple[Tone, float, bool, str], list[Run]] = {}
        for run in layer:
            if not run.count:
                paint += _marked(solids[run.strand - len(flats)], known.get(run.strand, ""))
                continue
            whole, mark = run.count >= ARCS, known.get(run.strand, "")
            key = (tones[run.strand], flats[run.strand].broad, whole, mark)
            groups.setdefault(key, []).append(run)
        for (tone, broad, whole, mark), runs in groups.items():
            paint += _marked(_coats(flats, runs, tone, broad, whole, defs), mark)
        paint += [
            _head(flats[k], head_arcs(seen.strands[k]), tones[k])
            for k, top in last.items()
            if top == at
        ]
    return defs, paint


def _marked(strokes: Iterable[str], mark: str) -> list[str]:
    """Strokes that a click can be told by, where they have a mark."""
    if not mark:
        return [*strokes]
    return [f'<g data-ring="{html.escape(mark)}">', *strokes, "</g>"]


def _coats(
    flats: Sequence[Flat],
    runs: Sequence[Run],
    tone: Tone,
    broad: float,
    whole: bool,
    defs: list[str],
) -> list[str]:
    """Outline, body and light of runs of one tone and width."""
    outline = "".join(_path(flats[r.strand], r.first, r.first + r.count) for r in runs)
    inner = outline
    if not whole:
        inner = "".join(
            _path(flats[r.strand], r.first - _SEAM, r.first + r.count + _SEAM) for r in runs
        )
    inner_name = f'<use href="#@{len(defs)}"'
    defs.append(f'<path id="@{len(defs)}" d="{inner}"/>')
    x, y = (f"{part * broad:.0f}" for part in _SHIFT)
    out = []
    for name, colour, share in (
        (inner_name if whole else f'<path d="{outline}"', tone.outline, 1.0),
        (inner_name, tone.body, 1 - 2 * tone.edge),
        # square ends make up for what the light is moved along the wire
        (f'{inner_name} x="{x}" y="{y}" stroke-linecap="square"', tone.light, _LIGHT),
    ):
        if colour:
            width = max(1, round(share * broad))
            out.append(f'{name} stroke="{colour}" stroke-width="{width}"/>')
    return out


def _path(f: Flat, first_arc: float, last_arc: float) -> str:
    """A stretch as path data: curves of at most a quarter turn, good to 3 in 1000 of the radius."""
    close = "z" if f.closed and last_arc - first_arc >= ARCS else ""
    if not f.closed:
        first_arc, last_arc = max(0.0, first_arc), min(f.last, last_arc)
    first, last = f.start + first_arc * f.pace, f.start + last_arc * f.pace
    if last <= first:
        return ""
    step = math.pi if f.bar else math.pi / 2
    inner = [k * step for k in range(math.ceil(first / step), math.floor(last / step) + 1)]
    if f.narrow and not f.bar:  # so that no reader of the file frays a tight tip
        for tip in range(math.floor(first / math.pi), math.ceil(last / math.pi) + 1):
            inner += [tip * math.pi - _TIGHT, tip * math.pi + _TIGHT]
    knots = [first, *sorted(a for a in inner if first + 1e-3 < a < last - 1e-3), last]
    ux, uy, vx, vy = f.ux, f.uy, f.vx, f.vy
    d, t = math.cos(first), math.sin(first)
    qx, qy = f.x + d * ux + t * vx, f.y + d * uy + t * vy
    at_x, at_y = round(qx), round(qy)
    parts, letter, span, old = [f"M{at_x} {at_y}"], "", 0.0, first
    for knot in knots[1:]:
        (c, s), (px, py), last_span, span = (d, t), (qx, qy), span, knot - old
        d, t, old = math.cos(knot), math.sin(knot), knot
        qx, qy = f.x + d * ux + t * vx, f.y + d * uy + t * vy
        handles: list[tuple[float, float]] = []
        kind = "l"
        if not f.bar:
            kind = "q" if span <= _SHORT else "c"
            h = math.tan(span / 2) if kind == "q" else 4 / 3 * math.tan(span / 4)
            if kind == "c" and letter in ("c", "s") and abs(span - last_span) < 1e-9:
                kind = "s"  # the handle goes on alike
            else:
                handles = [(px + h * (c * vx - s * ux), py + h * (c * vy - s * uy))]
            if kind != "q":
                handles.append((qx - h * (d * vx - t * ux), qy - h * (d * vy - t * uy)))
        if kind != letter:
            parts.append(kind)
            letter = kind
        for x, y in (*handles, (qx, qy)):
            parts.append(f"{round(x) - at_x} {round(y) - at_y} ")
        at_x, at_y = round(qx), round(qy)
    text = "".join(parts).rstrip().replace(" -", "-")
    for kind in "lqcs":
        text = text.replace(f" {kind}", kind)
    return text + close


def behind(f: Flat, strand: Strand, hidden: Bools, tone: Tone) -> list[str]:
    """An arrow's way where it runs behind rings, dashed over them; hidden: (ARCS,)."""
    if not hidden.any():
        return []
    width = max(1, round(0.5 * f.broad))
    arcs = head_arcs(strand)
    out = [
        f'<path d="{_path(f, 0.0, float(ARCS))}" stroke="{tone.body}" stroke-width="{width}"'
        f' stroke-dasharray="{2.2 * width:.0f} {2 * width:.0f}"/>'
    ]
    if hidden[-max(1, round(arcs)) :].mean() > 0.5:
        out.append(_head(f, arcs, replace(tone, outline=tone.body, body=tone.outline)))
    return out


def _head(f: Flat, arcs: float, tone: Tone) -> str:
    """An arrow's head, at the end of its strand."""
    (x, y), (tip_x, tip_y) = f.at(ARCS - arcs), f.at(ARCS)
    along = math.hypot(tip_x - x, tip_y - y) or 1.0
    side = _HEAD[1] * f.broad / along
    dx, dy = -(tip_y - y) * side, (tip_x - x) * side
    path = f"M{x + dx:.0f} {y + dy:.0f}L{tip_x:.0f} {tip_y:.0f} {x - dx:.0f} {y - dy:.0f}z"
    width = f"{f.broad * 0.5:.0f}"
    # the rim is painted first, by itself: not every reader of SVG knows an order of painting
    return (
        f'<path d="{path}" fill="{tone.outline}" stroke="{tone.outline}" stroke-width="{width}"/>'
        f'<path d="{path}" fill="{tone.body}"/>'
    )
