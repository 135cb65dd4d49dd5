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
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringstep.draw.angle import View, near_work, seen_from
from ringstep.draw.arrows import Arrow, moves, way_of
from ringstep.draw.brush import FINE, Tone, behind, flat, painted
from ringstep.draw.ring_names import Name, placed
from ringstep.draw.solids import Solid, solid
from ringstep.draw.strands import ARCS, Floats, Strand, scene
from ringstep.language.screen import safe
from ringstep.space.result import PlacedRing
from ringstep.space.state import Round, State
from ringstep.weave.work import Ring

_ACROSS = 92.0  # px, the largest ring's outside where no scale is given
_TEXT = 15.0  # px
_ROOM = 85.0  # px around the rings where names may stand

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
    marked: bool = False,
) -> str:
    """SVG of the place of work once the step is done: new and moved rings dark.

    names: what to write beside rings. words: what the picture shows, for those who do not see it.
    scale: px a mm. marked: the strokes of each ring have its `mark_of` as `data-ring`.
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
        marks=_marks(rings) if marked else None,
    )


def before(
    state: State,
    view: View,
    earlier: State | None = None,
    names: Mapping[Ring, str] | None = None,
    title: str = "",
    words: str = "",
    scale: float | None = None,
    behind: bool = False,
    marked: bool = False,
) -> str:
    """SVG of the place of work before the step, with arrows for what the step does.

    A new ring's arrow runs where the ring itself will; `behind`: it goes in from behind. Rings to
    be folded, spread or turned lie as they did in the state `earlier`, and their arrows run to
    where they go; without it they have none. The rest as in `after`.
    """
    arrows: list[Arrow] = []
    shown = state
    if state.new:
        lying = dict(state.rings)
        through = [lying[r] for r in state.through]
        facing = sorted(state.new, key=lambda r: -abs(float(np.dot(lying[r].normal, view[2]))))
        seen = filter(None, (way_of(lying[r], through, behind) for r in facing))
        arrows = [*itertools.islice(seen, 1)]  # of several rings the one that is seen best
    elif earlier is not None:
        there, here = dict(earlier.rings), dict(state.rings)
        both = [(r, move) for r, move in state.moved if r in there and r in here]
        here = _beside(here, there, [r for r, _ in both])
        arrows = moves([(there[r], here[r], move) for r, move in both], view)
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
        marks=_marks(rings) if marked else None,
    )


def _beside(
    here: Mapping[Ring, Round], there: Mapping[Ring, Round], moved: Collection[Ring]
) -> dict[Ring, Round]:
    """The rings as they lie now, the whole work held where it was before."""
    still = [r for r in here if r in there and r not in moved]
    if not still:
        return dict(here)
    spots = [np.mean([np.array(held[r].centre) for r in still], axis=0) for held in (there, here)]
    x, y, z = (float(c) for c in spots[0] - spots[1])
    return {
        ring: replace(at, centre=(at.centre[0] + x, at.centre[1] + y, at.centre[2] + z))
        for ring, at in here.items()
    }


Held = Sequence[tuple[Ring, Round]]


def _cropped(state: State) -> tuple[Held, list[Round]]:
    """The state's rings, and those the picture must have room for."""
    at = near_work(state)
    return state.rings, [state.rings[k][1] for k in at]


def mark_of(ring: Ring) -> str:
    """What the strokes of a ring are known by, the same in all pictures of a piece."""
    return f"{ring.role} {ring.index} {ring.row} {ring.unit}"


def _marks(rings: Held) -> dict[int, str]:
    return {k: mark_of(ring) for k, (ring, _) in enumerate(rings)}


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
    scale: float | None = None,
    tell: bool = False,
    marks: Mapping[int, str] | None = None,
) -> str:
    """SVG of rings seen as `view` says.

    new, through, names: by places in `rings`. With `tell`, or where rings are new or gone through,
    tones say so; else a ring's tone goes by `kinds`, a small number for each. frame: the rings the
    page must have room for, all where empty. scale: px a mm; without it
    the largest ring is as large in every picture. marks: by places in `rings`, as `data-ring` of
    their strokes. Raises ValueError for no rings.
    """
    if not rings:
        raise ValueError("there are no rings to draw")
    bodies = {k: body for k, ring in enumerate(rings) if (body := solid(ring, view)) is not None}
    plain = [k for k in range(len(rings)) if k not in bodies]
    seen_rings = seen_from([rings[k] for k in plain], view)
    strands = [*seen_rings, *(a.strand.turned(np.array(view)) for a in arrows)]

    def tone(ring: int) -> Tone:
        if tell or new or through:
            return NEW if ring in new else THROUGH if ring in through else THERE
        return PLAIN[(kinds[ring] if kinds else 0) % len(PLAIN)]

    tones = [*(tone(k) for k in plain), *[WAY] * len(arrows)]
    framed = [_reach_box(s) for s in (seen_from(frame, view) if frame else seen_rings)]
    framed += [body.box for k, body in bodies.items() if not frame or rings[k] in frame]
    ways_ = [_box(s) for s in strands[len(plain) :]]
    page = _page([*framed, *ways_], scale or _scale(seen_rings or bodies.values()), bool(names))
    drawn = [k for k, s in enumerate(strands) if page.shows(_reach_box(s))]
    shown = [k for k, body in bodies.items() if page.shows(body.box)]
    solids = [bodies[k] for k in shown]
    heads = [k >= len(plain) for k in drawn]
    seen = scene([strands[k] for k in drawn], solids)
    if any(arrow.spare for arrow in arrows):
        for at, k in enumerate(drawn):
            if heads[at]:
                turned = replace(arrows[k - len(plain)], strand=strands[k])
                strands[k] = turned.trimmed(seen.hidden[at])
        seen = scene([strands[k] for k in drawn], solids)
    flats = [
        flat(s, bool(bar), head, page.left, page.top, page.scale)
        for s, bar, head in zip(seen.strands, seen.bar, heads, strict=True)
    ]
    strokes = [bodies[k].strokes(tone(k), page.left, page.top, page.scale) for k in shown]
    order = [*(plain[k] if k < len(plain) else -1 for k in drawn), *shown]
    known = {at: marks[k] for at, k in enumerate(order) if k in marks} if marks else None
    defs, paint = painted(seen, flats, [tones[k] for k in drawn], heads, strokes, known)
    for at, head in enumerate(heads):
        if head:
            paint += behind(flats[at], seen.strands[at], seen.hidden[at], WAY)
    told: list[Name] = []
    if names:
        # a name is looked for along every strand; what stands for a body covers it
        spines = np.array([body.spine for body in solids]).reshape(-1, ARCS, 3)
        unseen = [[seen.hides(*spot) for spot in spine.tolist()] for spine in spines]
        texts = {at: safe(names[k]) for at, k in enumerate(order) if k in names}
        told = placed(
            page.on(np.concatenate([seen.points, spines])[..., :2]) / FINE,
            np.array([*(s.wire for s in seen.strands), *(b.breadth for b in solids)]) * page.scale,
            np.concatenate([seen.hidden, np.array(unseen, bool).reshape(-1, ARCS)]),
            texts,
            (page.wide, page.high),
            _TEXT,
        )
    page = page.trimmed([*framed, *(_box(s) for s in strands[len(plain) :])], told)
    return _file(page, defs, paint, told, title, words)


Box = tuple[Floats, Floats]  # low and high corners in mm, y up


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
        flip = np.array([self.scale, -self.scale]) * FINE
        put: Floats = (points - np.array([self.left, self.top])) * flip
        return put

    def shows(self, box: Box) -> bool:
        """Something within these corners may be seen."""
        (left, bottom), (right, top) = (self.on(corner) / FINE for corner in box)
        return bool(left < self.wide and right > 0 and top < self.high and bottom > 0)

    def trimmed(self, shown: Sequence[Box], names: Sequence[Name]) -> _Page:
        """The same page without the room at its rim that no name has taken."""
        boxes = [name.box for name in names]
        for low, high in shown:
            (left, bottom), (right, top) = (self.on(end) / FINE for end in (low, high))
            boxes.append((float(left), float(top), float(right), float(bottom)))
        lefts, tops, rights, bottoms = zip(*boxes, strict=True)
        box = (max(0.0, min(lefts) - 2), max(0.0, min(tops) - 2))
        far = (min(self.wide, max(rights) + 2), min(self.high, max(bottoms) + 2))
        return _Page(self.left, self.top, self.wide, self.high, self.scale, (*box, *far))


def _reach_box(strand: Strand) -> Box:
    """The corners that a strand's whole circle stays within."""
    reach = np.hypot(strand.u[:2], strand.v[:2]) + 0.56 * strand.wire
    return strand.centre[:2] - reach, strand.centre[:2] + reach


def _box(strand: Strand) -> Box:
    """The corners that an arc stays within."""
    angles = strand.angles(np.arange(ARCS + 1.0))
    points = strand.at(angles)[:, :2]
    edge = 2 * strand.wire  # an arrow's head is wider than its shaft
    return points.min(axis=0) - edge, points.max(axis=0) + edge


def _scale(shown: Iterable[Strand | Solid]) -> float:
    """px a mm at which the largest of these is as large as in every picture."""
    return _ACROSS / max(
        math.hypot(*s.u) * 2 + s.wire if isinstance(s, Strand) else s.across for s in shown
    )


def _page(boxes: Sequence[Box], scale: float, named: bool) -> _Page:
    low = np.min([box[0] for box in boxes], axis=0)
    high = np.max([box[1] for box in boxes], axis=0)
    room = _ROOM / scale if named else 0.0
    wide, tall = (high - low + 2 * room) * scale
    box = (0.0, 0.0, float(wide), float(tall))
    return _Page(low[0] - room, high[1] + room, float(wide), float(tall), scale, box)


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
        f' height="{high:.0f}" viewBox="{left * FINE:.0f} {top * FINE:.0f}'
        f' {wide * FINE:.0f} {high * FINE:.0f}">'
    ]
    for tag, text in (("title", title), ("desc", words)):
        if text:
            parts.append(f"<{tag}>{html.escape(safe(text))}</{tag}>")
    parts.append("<defs>")
    parts += [line.replace("@", mark, 1) for line in defs]
    parts.append('</defs><g fill="none" stroke-linejoin="round">')
    parts += [line.replace("@", mark, 1) for line in paint]
    parts.append("</g>")
    parts += [name.svg(_TEXT, FINE) for name in names]
    parts.append("</svg>\n")
    return "\n".join(itertools.chain(parts))
