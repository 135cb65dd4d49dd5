"""Diagrams of pieces made first and joined later: each step that joins them, and the whole.

Comes in: a checked recipe of such pieces. Goes out: `Diagram`s. The pieces lie beside one another
as they are joined, as far as paper allows; where two edges that are joined do not face each other,
a letter and a number stand at both ends of each link, as on a cut-out sheet.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, count, pairwise, product
from math import dist
from string import ascii_lowercase

from ringstep.checks.view import View
from ringstep.draw.beside import JoinSheet, cells_of, way_of
from ringstep.draw.drafts import BAND, STUB, Box, inside
from ringstep.draw.geometry import Path, Point, clipped, route, segment_distance
from ringstep.draw.grid import Link
from ringstep.draw.pictures import (
    CAPTION,
    DOUBLE,
    Caption,
    Diagram,
    Line,
    Node,
    NodeMark,
    ring_across,
    text_width,
)
from ringstep.draw.tellings import Teller, seen_side
from ringstep.language.syntax import Ref, Step
from ringstep.weave.joined import Copy
from ringstep.weave.layout import refs_of
from ringstep.weave.work import Act, Ring

#: Free room between two pieces, in points: a ring of the seam stands in it.
APART = 56.0
#: How far from its edge a ring stands whose other end is on an edge elsewhere.
OUT = 30.0


@dataclass(frozen=True)
class _Spot:
    """Where a ring of a seam stands, and the links that leave it for an edge elsewhere."""

    at: Point
    far: tuple[tuple[Ring, str], ...] = ()
    way: Point = (1.0, 0.0)


class _Picture:
    """One picture in the making. steps: those whose rings are drawn; act: what was done last."""

    def __init__(
        self, sheet: JoinSheet, copies: list[Copy], steps: list[Step], last: Step | None
    ) -> None:
        self.sheet, self.copies, self.last = sheet, copies, last
        self.cells = cells_of(sheet, [last] if last else steps, copies)
        self.by = self._offsets()
        self.spots: dict[Ring, _Spot] = {}
        self.captions: list[Caption] = []
        every = sheet.work.acts
        self.now = max((n for n, a in enumerate(every) if last in (None, a.step)), default=0)
        outs = [a for a in every[: self.now + 1] if a.step.kind == "take out"]
        self.gone = {r for a in outs if a.step is not last for r in a.handled}
        until = every[: self.now + 1]  # what is taken out later is held until then
        self.held = dict.fromkeys((r, other) for a in until for r in a.movers for other in a.held)
        self.out = {r for a in outs if a.step is last for r in a.handled}
        known = {copy.called for copy in copies}
        letters = (a + b for b, a in product(("", *ascii_lowercase), ascii_lowercase))
        own = {step.number for step in steps}
        self.acts = [
            act
            for act in sheet.work.acts
            if act.row < 0 and act.step.number in own and self._within(act, known)
        ]
        for step in steps:
            acts = [act for act in self.acts if act.step is step and act.movers]
            if acts:
                self._place(step, acts, letters)

    def _within(self, act: Act, known: set[str]) -> bool:
        copies = (self.sheet.copy_of(r) for r in (*act.through, *act.held, *act.handled))
        return all(copy is None or copy.called in known for copy in copies)

    def _offsets(self) -> dict[str, Point]:
        """How far the rings of each piece are moved from their own seats."""
        wide: dict[int, float] = {}
        high: dict[int, float] = {}
        for copy in self.copies:
            left, bottom, right, top = self.sheet.boxes[copy.made]
            column, row = self.cells[copy.called]
            wide[column] = max(wide.get(column, 0.0), right - left)
            high[row] = max(high.get(row, 0.0), top - bottom + BAND)
        x, lefts = 0.0, {}
        for column in sorted(wide):
            lefts[column] = x
            x += wide[column] + APART
        y, tops = 0.0, {}
        for row in sorted(high, reverse=True):
            tops[row] = y
            y -= high[row] + APART
        found = {}
        for copy in self.copies:
            left, bottom, right, top = self.sheet.boxes[copy.made]
            column, row = self.cells[copy.called]
            found[copy.called] = (lefts[column] - left, tops[row] - top)
        return found

    def at(self, ring: Ring) -> Point | None:
        """Where a ring is drawn; None for one that is not."""
        copy = self.sheet.copy_of(ring)
        if copy is None:
            return self.spots[ring].at if ring in self.spots else None
        if copy.called not in self.by:
            return None
        own = ring._replace(unit=ring.unit - copy.first)
        (x, y), (dx, dy) = self.sheet.sheets[copy.made].seats.at[own], self.by[copy.called]
        return x + dx, y + dy

    def _out(self, ring: Ring, ref: Ref | None, lower: bool) -> Point:
        """The way out of its piece from a ring: that of its edge, or away from the middle."""
        if ref is not None and ref.of and ref.of.edge:
            across, up = way_of(ref, lower)
            return float(across), float(up)
        copy = self.sheet.copy_of(ring)
        here = self.at(ring)
        assert copy is not None
        assert here is not None
        left, bottom, right, top = self.sheet.boxes[copy.made]
        dx, dy = self.by[copy.called]
        x, y = here[0] - (left + right) / 2 - dx, here[1] - (bottom + top) / 2 - dy
        long = (x * x + y * y) ** 0.5
        return (x / long, y / long) if long > 1 else (1.0, 0.0)

    def _place(self, step: Step, acts: list[Act], letters: Iterator[str]) -> None:
        """Find places for the rings of a step."""
        lines = self.sheet.lines(step)
        edged = any(ref.of and ref.of.edge for _, ref in lines)
        sides = {_side(ref) for ref in refs_of(step)}
        near = len(sides) <= len(lines) or any(ref.of is None for ref in refs_of(step))
        near = near and self._faces(lines) and (edged or all(self._clear(a, lines) for a in acts))
        letter = "" if near else next(letters)
        for nth, act in enumerate(acts, 1):
            met = [r for r in (*act.through, *act.held) if self.at(r) is not None]
            groups: dict[str, list[Ring]] = {}
            refs = {_side(ref): ref for ref in refs_of(step)}
            for side, ref in ((_side(ref), ref) for ref in refs_of(step)):
                own = [r for r in act.named_by(ref, self.sheet.layout) if r in met]
                if own:
                    groups.setdefault(side, []).extend(own)
            first = next(iter(groups.values()), [])
            whole = near or len(groups) < 2
            base = _mean([p for r in (met if whole else first) if (p := self.at(r))])
            if near and len(groups) > 1 and not edged:
                base = self._between(lines[0][0], lines[1][0], base)
            way, far = (1.0, 0.0), []
            if whole and len(groups) == 1 and "" not in groups:
                way = self._out(first[0], refs.get(next(iter(groups))), False)
            elif not whole:
                way = self._out(first[0], refs.get(next(iter(groups))), False) if first else way
                mark = letter if len(acts) == 1 else f"{letter}{nth}"
                far = [(r, mark) for name, rings in groups.items() for r in rings
                       if name and rings is not first]  # fmt: skip
            if not whole or len(groups) < 2:
                base = base[0] + way[0] * OUT, base[1] + way[1] * OUT
            parts = [r for r in (*act.through, *act.held) if r.row < 0 and r not in self.spots]
            for at, ring in enumerate(parts, 1):
                out = OUT + 18.0 * at
                self.spots[ring] = _Spot((base[0] + way[0] * out, base[1] + way[1] * out), (), way)
            for at, ring in enumerate(act.movers):
                aside = 24.0 * (at - (len(act.movers) - 1) / 2)
                spot = base[0] - way[1] * aside, base[1] + way[0] * aside
                if whole and len(groups) > 1 and len(act.movers) > 1:
                    spot = base[0], base[1] + aside
                spot = self._beside(spot, way, self._across(ring))
                self.spots.setdefault(ring, _Spot(spot, tuple(far), way))
                for other, mark in far:
                    side_of = next(name for name, rings in groups.items() if other in rings)
                    x, y = self._out(other, refs.get(side_of), True)
                    here = self.at(other)
                    assert here is not None
                    out = self._across(other) / 2 + STUB + 6
                    self.captions.append(Caption(mark, (here[0] + x * out, here[1] + y * out)))
                    out = self._across(ring) / 2 + DOUBLE + STUB + 6
                    self.captions.append(
                        Caption(mark, (spot[0] + way[0] * out, spot[1] + way[1] * out))
                    )

    def _clear(self, act: Act, lines: list[tuple[Copy, Ref]]) -> bool:
        """True where the links of a ring between two pieces run through no other ring of them."""
        met = {r: p for r in act.through if (p := self.at(r)) is not None}
        if len(lines) < 2 or not met:
            return True
        base = self._between(lines[0][0], lines[1][0], _mean(list(met.values())))
        for copy, _ in lines:
            sheet = self.sheet.sheets[copy.made]
            dx, dy = self.by[copy.called]
            for own, (x, y) in sheet.seats.at.items():
                ring = own._replace(unit=own.unit + copy.first)
                room = sheet.sizes[own] / 2 + 1
                others = (p for r, p in met.items() if r != ring)
                if any(segment_distance(p, base, (x + dx, y + dy)) < room for p in others) and (
                    ring not in met
                ):
                    return False
        return True

    def _beside(self, at: Point, way: Point, across: float) -> Point:
        """A place for a ring of a seam, moved aside as far as others are in its way."""
        taken = [(spot.at, self._across(ring)) for ring, spot in self.spots.items()]
        taken += [(there, wide) for _, there, wide in self._of_pieces]
        (x, y), (u, v), step = at, way, across + 12
        moves = ((k * i, k * j) for k in count(1) for i, j in ((-v, u), (v, -u), (u, v), (-u, -v)))
        for i, j in chain([(0.0, 0.0)], moves):
            spot = x + i * step, y + j * step
            if all(dist(spot, o) > (across + wide) / 2 + 4 for o, wide in taken):
                return spot
        return at

    def _between(self, one: Copy, two: Copy, at: Point) -> Point:
        """A point moved into the gap between two pieces that lie beside one another."""
        a, b = sorted((one, two), key=lambda copy: (self.by[copy.called][0], copy.first))
        (_, bottom, right, top), (x, y) = self.sheet.boxes[a.made], self.by[a.called]
        other, (u, v) = self.sheet.boxes[b.made], self.by[b.called]
        if self.cells[one.called][0] != self.cells[two.called][0]:
            return (right + x + other[0] + u) / 2, at[1]
        low, high = sorted((bottom + y, other[1] + v))[1], sorted((top + y, other[3] + v))[0]
        return at[0], (low + high) / 2

    def _faces(self, lines: list[tuple[Copy, Ref]]) -> bool:
        """True where the pieces that a step joins lie beside one another, joined edge to edge."""
        for (one, ref), (two, other) in pairwise(lines):
            (a, b), (c, d) = self.cells[one.called], self.cells[two.called]
            if ref.of and other.of and ref.of.edge and other.of.edge:
                way, back = way_of(ref, b < d), way_of(other, d < b)
                if (c - a, d - b) != way or back != (-way[0], -way[1]):
                    return False
            elif abs(c - a) + abs(d - b) != 1:
                return False
        return True

    @cached_property
    def _of_pieces(self) -> list[tuple[Ring, Point, float]]:
        """The rings of the pieces that are drawn, where each is and how far across."""
        rings = (r for r in self.sheet.work.placed_by if self.sheet.copy_of(r))
        there = ((r, self.at(r)) for r in rings if r not in self.gone)
        return [(ring, at, self._across(ring)) for ring, at in there if at]

    def _across(self, ring: Ring) -> float:
        copy = self.sheet.copy_of(ring)
        if copy is None:
            return ring_across(self.sheet.labels[self.sheet.view.weave.name(ring)])
        return self.sheet.sheets[copy.made].sizes[ring._replace(unit=ring.unit - copy.first)]

    def diagram(self, name: str, title: str, alt: str) -> Diagram:
        """The picture of the pieces, of their links and of the seams between them."""
        sheet, new = self.sheet, set[Ring]()
        met, moved = set[Ring](), set[Ring]()
        for act in self.acts:
            if self.last is not None and act.step is self.last:
                new.update(act.movers)
                met.update((*act.through, *act.held))
                moved.update(act.handled)
        nodes: dict[Ring, Node] = {}
        for ring in (*sheet.work.placed_by, *self.spots):
            if ring in nodes or ring in self.gone or (at := self.at(ring)) is None:
                continue
            mark: NodeMark = "new" if ring in new else "through" if ring in met else "other"
            mark = "handled" if ring in moved and mark == "other" else mark
            mark = "out" if ring in self.out else mark
            called = sheet.view.weave.name(ring)
            copy = sheet.copy_of(ring)
            own = ring if copy is None else ring._replace(unit=ring.unit - copy.first)
            lines = sheet.labels[called] if copy is None else sheet.sheets[copy.made].labels[own]
            where = f"{called}, {copy.called}" if copy else called
            part = ring.role in sheet.view.recipe.part_roles
            key = f"n{len(nodes)}"
            nodes[ring] = Node(key, ring, lines, where, mark, at, self._across(ring), part)
        drawn = [line for link in self._links(nodes) for line in self._line(link, nodes, new)]
        boxes = [
            (n.at[0] - n.across / 2 - DOUBLE, n.at[1] - n.across / 2 - DOUBLE,
             n.at[0] + n.across / 2 + DOUBLE, n.at[1] + n.across / 2 + DOUBLE)
            for n in nodes.values()
        ]  # fmt: skip
        boxes += [(x - 8, y - 6, x + 8, y + 6) for x, y in (c.at for c in self.captions)]
        captions = [*_merged(self.captions), *self._names()]
        boxes += [(x - 30, y - 6, x + 30, y + 6) for x, y in (c.at for c in self._names())]
        low = min(b[0] for b in boxes), min(b[1] for b in boxes)
        high = max(b[2] for b in boxes), max(b[3] for b in boxes)
        frame: Box = (*low, *high)
        assert all(inside(frame, box, 0.1) for box in boxes)
        return Diagram(
            name, title, alt, tuple(nodes.values()), tuple(drawn), tuple(captions), frame
        )

    def _names(self) -> list[Caption]:
        """What each piece is called, above it."""
        found = []
        for copy in self.copies:
            left, bottom, right, top = self.sheet.boxes[copy.made]
            dx, dy = self.by[copy.called]
            half = text_width(copy.called, CAPTION) / 2
            high = top + dy + BAND / 2
            spots = [(left + dx + 6 - half, high), (right + dx - 6 + half, high)]
            spots.append((left + dx + 6 - half, bottom + dy - BAND / 2))
            at = next((spot for spot in spots if self._free(spot, half)), spots[0])
            found.append(Caption(copy.called.removeprefix("the "), at, True))
        return found

    def _free(self, at: Point, half: float) -> bool:
        """True where words of that width stand clear of the rings of the seams."""
        for ring, spot in self.spots.items():
            reach = self._across(ring) / 2 + DOUBLE
            x, y = spot.at
            if abs(x - at[0]) < half + reach and abs(y - at[1]) < reach + BAND / 2:
                return False
        return True

    def _links(self, nodes: dict[Ring, Node]) -> Iterator[Link]:
        work = self.sheet.work
        for ring in nodes:
            for other, _ in work.made_by(ring, self.now):
                if ring < other and other in nodes:
                    yield ring, other
        yield from (pair for pair in self.held if nodes.keys() >= set(pair))

    def _line(self, link: Link, nodes: dict[Ring, Node], new: set[Ring]) -> Iterator[Line]:
        """The line of a link; two short ones where its ends are far apart."""
        side = None
        for ring, other in (link, link[::-1]):
            spot = self.spots.get(ring)
            if spot and any(far == other for far, _ in spot.far):
                act = self.sheet.work.acts[self.sheet.work.placed_by[ring]]
                layout = self.sheet.layout
                named = (r for r in refs_of(act.step) if other in act.named_by(r, layout))
                out = self._out(other, next(named, None), True)
                yield _stub(nodes[ring], spot.way, ring in new)
                yield _stub(nodes[other], out, ring in new)
                return
        mark = "held" if link in self.held else "new" if new & set(link) else "old"
        for act in (act for act in self.acts if act.side and act.step is self.last):
            for ring, other in (link, link[::-1]):
                if ring in act.movers and other in act.through:
                    link, side = (ring, other), seen_side(act.side, act, self.sheet.work.acts)
        a, b = (nodes[ring] for ring in link)
        ends = tuple(n.across / 2 + (DOUBLE if n.mark == "new" else 0.0) for n in (a, b))
        path = clipped(self._path(link), *ends)
        yield Line(a.key, b.key, mark, path, side)  # type: ignore[arg-type]

    def _path(self, link: Link) -> Path:
        one, two = (self.sheet.copy_of(ring) for ring in link)
        ends = self.at(link[0]), self.at(link[1])
        assert None not in ends
        if one is None or one is not two:
            foreign = [(at, wide / 2) for ring, at, wide in self._of_pieces if ring not in link]
            return route(*ends, foreign)  # type: ignore[arg-type]
        sheet, (dx, dy) = self.sheet.sheets[one.made], self.by[one.called]
        own = [ring._replace(unit=ring.unit - one.first) for ring in link]
        path = sheet.path(*sheet.seats.ends(own[0], own[1]))
        return tuple((x + dx, y + dy) for x, y in path)  # type: ignore[return-value]


def _side(ref: Ref) -> str:
    """Of which piece an item is, and on which side of it; "" for rings of the joining itself."""
    return f"{ref.of}, {ref.of.edge or ' '.join(ref.places)}" if ref.of else ""


def _merged(captions: Iterable[Caption]) -> list[Caption]:
    """Letters that stand at one place as one: a ring may have several links that go elsewhere."""
    found: dict[Point, list[str]] = {}
    for one in captions:
        found.setdefault((round(one.at[0], 1), round(one.at[1], 1)), []).append(one.text)
    return [Caption(" ".join(dict.fromkeys(texts)), at) for at, texts in found.items()]


def _mean(points: list[Point]) -> Point:
    if not points:
        return 0.0, 0.0
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def _stub(node: Node, way: Point, new: bool) -> Line:
    """The beginning of a link whose other end is at another edge."""
    r = node.across / 2 + (DOUBLE if node.mark == "new" else 0.0)
    (x, y), (dx, dy) = node.at, way
    points = [(x + dx * (r + k * STUB / 3), y + dy * (r + k * STUB / 3)) for k in range(4)]
    return Line(node.key, None, "new" if new else "beyond", tuple(points))  # type: ignore[arg-type]


def joining_diagrams(view: View) -> dict[int, Diagram]:
    """The pieces that a step joins, after it, by the step's number. Raises `Refused`."""
    sheet = JoinSheet(view)
    teller = Teller(view.weave)
    found: dict[int, Diagram] = {}
    done: list[Step] = []
    for step in sheet.layout.joining:
        done.append(step)
        acts = [a for a in sheet.work.acts if a.step is step and not a.skipped]
        rings = [r for a in acts for r in (*a.through, *a.held, *a.handled)]
        own = {copy.called for r in rings if (copy := sheet.copy_of(r))}
        own = own or {copy.called for copy in sheet.layout.copies}
        if not acts:
            continue
        copies = [copy for copy in sheet.layout.copies if copy.called in own]
        often = f", {len(acts)} times" if len(acts) > 1 else ""
        title = f"After step {step.number}"
        alt = f"{title}{often}: {teller.done(acts[0], sheet.work.acts)}."
        picture = _Picture(sheet, copies, [*done], step)
        found[step.number] = picture.diagram(f"step-{step.number:02d}", title, alt)
    return found


def whole_diagram(view: View) -> Diagram:
    """All pieces with the seams between them. Raises `Refused`."""
    sheet = JoinSheet(view)
    picture = _Picture(sheet, list(sheet.layout.copies), list(sheet.layout.joining), None)
    letters = any(spot.far for spot in picture.spots.values())
    more = "; what bears the same letter and number is one link" if letters else ""
    rings, links = len(sheet.work.links), sum(map(len, sheet.work.links.values())) // 2
    alt = f"The pieces and what joins them: {rings:,} rings, {links:,} links{more}."
    return picture.diagram("window", f"The pieces and what joins them{more}", alt)
