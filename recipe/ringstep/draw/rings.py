"""Pictures of real rings: what lies over what is as it would be in the hand.

In: rings as they lie (`space.state`), and from where to look (`draw.angle`). Out: SVG text, without
scripts, fit for printing: three tones, light to dark, for what is already there, what is gone
through and what is new. Lengths in the file are tenths of a pixel.
"""

from __future__ import annotations

import html
import itertools
import math
import zlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ringstep.draw.angle import View, near_work, seen_from
from ringstep.draw.arrows import Arrow, moves, ways
from ringstep.draw.ring_names import Name, placed
from ringstep.draw.strands import ARCS, Floats, Run, Scene, Strand, scene
from ringstep.language.screen import safe
from ringstep.space.result import PlacedRing
from ringstep.space.state import Round, State
from ringstep.weave.steps import Ring

_FINE = 10
_ACROSS = 92.0  # px, the largest ring's outside where neither width nor scale is given
_LIGHT, _SHIFT = 0.34, (-0.07, -0.09)  # of the wire: how wide the light is, and where it falls
_SHORT = 0.75  # radians up to which a quadratic curve is good to 3 in 1000 of the radius
_SEAM = 0.15  # arcs by which a mend's body runs on over its outline, lest that show across
_TEXT = 12.0  # px
_ROOM = 34.0  # px around the rings where names may stand
_TIGHT = 0.35  # radians on both sides of a narrow ring's tip where its curve is split


@dataclass(frozen=True, slots=True)
class Tone:
    """Colours of one kind of strand; light: none where empty. edge: the outline, in wires."""

    outline: str
    body: str
    light: str
    edge: float


THERE = Tone("#8c8c8c", "#dedede", "#f7f7f7", 0.05)
THROUGH = Tone("#1c1c1c", "#9a9a9a", "#d2d2d2", 0.07)
NEW = Tone("#000", "#474747", "#8a8a8a", 0.11)
WAY = Tone("#fff", "#a80c0c", "", 0.22)
PLAIN = (
    Tone("#333", "#c2c2c2", "#f4f4f4", 0.06),
    Tone("#333", "#929292", "#cfcfcf", 0.06),
    Tone("#333", "#e6e6e6", "#fff", 0.06),
    Tone("#222", "#6e6e6e", "#b0b0b0", 0.06),
)


def after(
    state: State,
    view: View,
    names: Mapping[Ring, str] | None = None,
    title: str = "",
    words: str = "",
    scale: float | None = None,
) -> str:
    """SVG of the place of work once the step is done: new and moved rings dark.

    names: what to write beside rings. words: what the picture shows, for those who do not see it.
    scale: px a mm.
    """
    rings, places = _cropped(state)
    return picture(
        [lying for _, lying in rings],
        view,
        new=_at(rings, [*state.new, *(ring for ring, _ in state.moved)]),
        through=_at(rings, state.through),
        names=_named(rings, names),
        title=title,
        words=words,
        frame=places,
        scale=scale,
        tell=True,
    )


def before(
    state: State,
    view: View,
    earlier: State | None = None,
    names: Mapping[Ring, str] | None = None,
    title: str = "",
    words: str = "",
    scale: float | None = None,
) -> str:
    """SVG of the place of work before the step, with arrows for what the step does.

    A new ring's arrow runs where the ring itself will. Rings to be folded, spread or turned lie as
    they did in the state `earlier`, and their arrows run to where they go; without it they have
    none. The rest as in `after`.
    """
    arrows: list[Arrow] = []
    shown = state
    if state.new:
        lying = dict(state.rings)
        arrows = ways([lying[r] for r in state.new], [lying[r] for r in state.through])
    elif earlier is not None:
        there, here = dict(earlier.rings), dict(state.rings)
        both = [(r, move) for r, move in state.moved if r in there and r in here]
        arrows = moves([(there[r], here[r], move) for r, move in both])
        shown = State(
            state.number, state.row, state.unit, earlier.rings, (), state.through, state.moved
        )
    rings, places = _cropped(shown)
    rings = tuple((ring, lying) for ring, lying in rings if ring not in state.new)
    return picture(
        [lying for _, lying in rings],
        view,
        new=_at(rings, [ring for ring, _ in state.moved]),
        through=_at(rings, state.through),
        names=_named(rings, names),
        arrows=arrows,
        title=title,
        words=words,
        frame=places,
        scale=scale,
        tell=True,
    )


Held = Sequence[tuple[Ring, Round]]


def _cropped(state: State) -> tuple[Held, list[Round]]:
    """The state's rings, and those the picture must have room for."""
    at = near_work(state)
    return state.rings, [state.rings[k][1] for k in at]


def _at(rings: Held, wanted: Collection[Ring]) -> set[int]:
    return {k for k, (ring, _) in enumerate(rings) if ring in wanted}


def _named(rings: Held, names: Mapping[Ring, str] | None) -> dict[int, str]:
    return {k: names[ring] for k, (ring, _) in enumerate(rings) if names and ring in names}


def picture(
    rings: Sequence[Round | PlacedRing],
    view: View,
    *,
    new: Collection[int] = (),
    through: Collection[int] = (),
    kinds: Sequence[int] = (),
    names: Mapping[int, str] | None = None,
    arrows: Sequence[Arrow] = (),
    title: str = "",
    words: str = "",
    frame: Sequence[Round | PlacedRing] = (),
    width: float | None = None,
    scale: float | None = None,
    tell: bool = False,
) -> str:
    """SVG of rings seen as `view` says.

    new, through, names: by places in `rings`. With `tell`, or where rings are new or gone through,
    tones say so; else a ring's tone goes by `kinds`, a small number for each. frame: the rings the
    page must have room for, all where empty. width: px of the page; or scale: px a mm; with
    neither, the largest ring is as large in every picture. Raises ValueError for no rings.
    """
    if not rings:
        raise ValueError("there are no rings to draw")
    strands = [*seen_from(rings, view), *(a.strand.turned(np.array(view)) for a in arrows)]
    if tell or new or through:
        tones = [
            NEW if k in new else THROUGH if k in through else THERE for k in range(len(rings))
        ]
    else:
        tones = [PLAIN[(kinds[k] if kinds else 0) % len(PLAIN)] for k in range(len(rings))]
    tones += [WAY] * len(arrows)
    framed = [*(seen_from(frame, view) if frame else strands[: len(rings)])]
    page = _page([*framed, *strands[len(rings) :]], width, scale, bool(names))
    drawn = [k for k, s in enumerate(strands) if page.shows(s)]
    heads = [k >= len(rings) for k in drawn]
    seen = scene([strands[k] for k in drawn])
    defs, paint = _painted(seen, [tones[k] for k in drawn], heads, page)
    told: list[Name] = []
    if names:
        texts = {at: safe(names[k]) for at, k in enumerate(drawn) if k in names}
        told = placed(
            page.on(seen.points[..., :2]) / _FINE,
            np.array([s.wire for s in seen.strands]) * page.scale,
            seen.hidden,
            texts,
            (page.wide, page.high),
            _TEXT,
        )
    page = page.trimmed(framed, strands[len(rings) :], told)
    return _file(page, defs, paint, told, title, words)


@dataclass(frozen=True, slots=True)
class _Page:
    """The part of the plane shown. left, top: mm; wide, high: px; cut: px left out there."""

    left: float
    top: float
    wide: float
    high: float
    scale: float
    box: tuple[float, float, float, float]  # left, top, right, bottom in px, as shown

    def on(self, points: Floats) -> Floats:
        """Points in mm, (..., 2), as tenths of a pixel on the page, y down."""
        flip = np.array([self.scale, -self.scale]) * _FINE
        put: Floats = (points - np.array([self.left, self.top])) * flip
        return put

    def shows(self, strand: Strand) -> bool:
        """Some of the strand may be seen."""
        (x, y), reach = self.on(strand.centre[:2]) / _FINE, _reach(strand) * self.scale
        inside = -reach[0] < x < self.wide + reach[0] and -reach[1] < y < self.high + reach[1]
        return bool(inside)

    def trimmed(
        self, framed: Sequence[Strand], arrows: Sequence[Strand], names: Sequence[Name]
    ) -> _Page:
        """The same page without the room at its rim that no name has taken."""
        boxes = [name.box for name in names]
        for strand in (*framed, *arrows):
            (x, y), (wide, high) = self.on(strand.centre[:2]) / _FINE, _reach(strand) * self.scale
            boxes.append((x - wide, y - high, x + wide, y + high))
        left, top, right, bottom = zip(*boxes, strict=True)
        box = (max(0.0, min(left) - 2), max(0.0, min(top) - 2))
        far = (min(self.wide, max(right) + 2), min(self.high, max(bottom) + 2))
        return _Page(self.left, self.top, self.wide, self.high, self.scale, (*box, *far))


def _reach(strand: Strand) -> Floats:
    """How far a strand's whole circle reaches from its centre to the right and up."""
    out: Floats = np.hypot(strand.u[:2], strand.v[:2]) + 0.56 * strand.wire
    return out


def _page(
    framed: Sequence[Strand], width: float | None, scale: float | None, named: bool
) -> _Page:
    centres = np.array([s.centre[:2] for s in framed])
    reach = np.array([_reach(s) for s in framed])
    low, high = (centres - reach).min(axis=0), (centres + reach).max(axis=0)
    if scale is None:
        largest = max(math.hypot(*s.u) * 2 + s.wire for s in framed)
        scale = width / (high[0] - low[0]) if width else _ACROSS / largest
    room = _ROOM / scale if named else 0.0
    wide, tall = (high - low + 2 * room) * scale
    box = (0.0, 0.0, float(wide), float(tall))
    return _Page(low[0] - room, high[1] + room, float(wide), float(tall), scale, box)


def _painted(
    seen: Scene, tones: Sequence[Tone], heads: Sequence[bool], page: _Page
) -> tuple[list[str], list[str]]:
    """Paths, and their strokes in order. heads: which strands end in an arrow's head."""
    defs: list[str] = []
    paint: list[str] = []
    layers, bars = seen.layers(), seen.bar
    last = {run.strand: at for at, layer in enumerate(layers) for run in layer
            if heads[run.strand] and run.first + run.count >= ARCS - 1}  # fmt: skip
    for at, layer in enumerate(layers):
        groups: dict[tuple[Tone, float, bool], list[Run]] = {}
        for run in layer:
            key = (tones[run.strand], seen.strands[run.strand].wire, run.count >= ARCS)
            groups.setdefault(key, []).append(run)
        for (tone, wire, _), runs in groups.items():
            paint += _coats(seen, runs, tone, wire * page.scale * _FINE, bars, heads, page, defs)
        paint += [_head(seen.strands[k], tones[k], page) for k, top in last.items() if top == at]
    return defs, paint


def _coats(
    seen: Scene,
    runs: Sequence[Run],
    tone: Tone,
    broad: float,
    bars: Sequence[bool],
    heads: Sequence[bool],
    page: _Page,
    defs: list[str],
) -> list[str]:
    """Outline, body and light of runs of one tone and wire; `broad`: its width on the page."""
    parts = [(r, seen.strands[r.strand], bool(bars[r.strand]), heads[r.strand]) for r in runs]
    whole = runs[0].count >= ARCS
    outline = "".join(_path(s, r, bar, head, page) for r, s, bar, head in parts)
    inner = outline
    if not whole:
        inner = "".join(
            _path(s, r.longer(_SEAM, s.closed), bar, head, page) for r, s, bar, head in parts
        )
    inner_name = f'<use href="#@{len(defs)}"'
    defs.append(f'<path id="@{len(defs)}" d="{inner}"/>')
    out = []
    for name, colour, share, more in (
        (inner_name if whole else f'<path d="{outline}"', tone.outline, 1.0, ""),
        (inner_name, tone.body, 1 - 2 * tone.edge, ""),
        (inner_name, tone.light, _LIGHT, _shift(broad)),
    ):
        if colour:
            width = max(1, round(share * broad))
            out.append(f'{name}{more} stroke="{colour}" stroke-width="{width}"/>')
    return out


def _shift(broad: float) -> str:
    """Where the light falls; its square ends make up for what it is moved along the wire."""
    x, y = (f"{part * broad:.0f}" for part in _SHIFT)
    return f' x="{x}" y="{y}" stroke-linecap="square"'


def _path(strand: Strand, run: Run, bar: bool, headed: bool, page: _Page) -> str:
    """One run as path data: cubics of at most a quarter turn, good to 3 in 10000 of the radius."""
    pace = strand.span / ARCS
    first, last = strand.start + run.first * pace, strand.start + (run.first + run.count) * pace
    if headed:
        last = min(last, strand.start + strand.span - _head_arcs(strand) * 0.7 * pace)
    if last <= first:
        return ""
    step = math.pi if bar else math.pi / 2
    inner = [k * step for k in range(math.ceil(first / step), math.floor(last / step) + 1)]
    if strand.closed and not bar and math.hypot(strand.v[0], strand.v[1]) < strand.wire:
        for tip in range(math.floor(first / math.pi), math.ceil(last / math.pi) + 1):
            inner += [tip * math.pi - _TIGHT, tip * math.pi + _TIGHT]
    knots = [first, *sorted(a for a in inner if first + 1e-3 < a < last - 1e-3), last]
    fine = page.scale * _FINE
    (x, y), (ux, uy), (vx, vy) = (part[:2].tolist() for part in (strand.centre, strand.u, strand.v))
    x, y = (x - page.left) * fine, (page.top - y) * fine
    ux, uy, vx, vy = ux * fine, -uy * fine, vx * fine, -vy * fine
    close = "z" if strand.closed and run.count >= ARCS else ""
    at = [(math.cos(a), math.sin(a)) for a in knots]
    points = [(x + c * ux + s * vx, y + c * uy + s * vy) for c, s in at]
    here = (round(points[0][0]), round(points[0][1]))
    parts, letter, span = [f"M{here[0]} {here[1]}"], "", 0.0
    for k in range(1, len(knots)):
        (px, py), (qx, qy) = points[k - 1], points[k]
        last_span, span = span, knots[k] - knots[k - 1]
        (c, s), (d, t) = at[k - 1], at[k]
        if bar:
            after, handles = "l", []
        elif span <= _SHORT:
            h = math.tan(span / 2)
            after, handles = "q", [(px + h * (c * vx - s * ux), py + h * (c * vy - s * uy))]
        else:
            h = 4 / 3 * math.tan(span / 4)
            after, handles = "c", [
                (px + h * (c * vx - s * ux), py + h * (c * vy - s * uy)),
                (qx - h * (d * vx - t * ux), qy - h * (d * vy - t * uy)),
            ]
            if letter in ("c", "s") and abs(span - last_span) < 1e-9:  # the handle goes on alike
                after, handles = "s", handles[1:]
        if after != letter:
            parts.append(after)
        to = (round(qx), round(qy))
        for a, b in (*handles, to):
            parts.append(f"{round(a) - here[0]} {round(b) - here[1]} ")
        here, letter = to, after
    return "".join(parts).rstrip().replace(" -", "-").replace(" c", "c") + close


def _list(points: Floats) -> str:
    return " ".join(f"{x:.0f}" for x in (np.round(points) + 0.0).reshape(-1)).replace(" -", "-")


def _head_arcs(strand: Strand) -> float:
    """How many of an arrow's arcs its head takes."""
    pace = math.hypot(*strand.u) * strand.span / ARCS
    return float(min(ARCS / 2, 3.2 * strand.wire / pace))


def _head(strand: Strand, tone: Tone, page: _Page) -> str:
    """An arrow's head, at the end of its strand."""
    ends = strand.angles(np.array([ARCS - _head_arcs(strand), ARCS]))
    (base, tip) = page.on(strand.at(ends)[:, :2])
    along = tip - base
    length = float(np.hypot(*along)) or 1.0
    side = np.array([-along[1], along[0]]) / length * 1.35 * strand.wire * page.scale * _FINE
    corners = np.stack([base + side, tip, base - side])
    edge = strand.wire * page.scale * _FINE * 0.5
    return (
        f'<path d="M{_list(corners[0])}L{_list(corners[1:])}z" fill="{tone.body}"'
        f' stroke="{tone.outline}" stroke-width="{edge:.0f}" paint-order="stroke"/>'
    )


def _file(
    page: _Page,
    defs: Sequence[str],
    paint: Sequence[str],
    names: Sequence[Name],
    title: str,
    words: str,
) -> str:
    left, top, right, bottom = page.box
    wide, high = right - left, bottom - top
    # several pictures in one page of HTML must not take each other's paths
    mark = f"r{zlib.crc32(''.join(defs).encode()):x}-"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{wide:.0f}"'
        f' height="{high:.0f}" viewBox="{left * _FINE:.0f} {top * _FINE:.0f}'
        f' {wide * _FINE:.0f} {high * _FINE:.0f}">'
    ]
    for tag, text in (("title", title), ("desc", words)):
        if text:
            parts.append(f"<{tag}>{html.escape(safe(text))}</{tag}>")
    parts.append("<defs>")
    parts += [line.replace("@", mark, 1) for line in defs]
    parts.append('</defs><g fill="none" stroke-linejoin="round">')
    parts += [line.replace("@", mark, 1) for line in paint]
    parts.append("</g>")
    parts += [name.svg(_TEXT, _FINE) for name in names]
    parts.append("</svg>\n")
    return "\n".join(itertools.chain(parts))
