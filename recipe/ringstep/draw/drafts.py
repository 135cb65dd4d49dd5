"""One picture of the work: which rings and links it shows, and how each is marked.

Comes in: a `Sheet` (what all pictures of a recipe share) and a `State` of the work. Goes out: a
`Diagram` of all that lies within a frame.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from ringstep.checks.view import View
from ringstep.draw.geometry import Path, Point, bent, bezier, clipped, route
from ringstep.draw.grid import Link, Named, rings_ever
from ringstep.draw.pictures import (
    CAPTION,
    DOUBLE,
    Caption,
    Diagram,
    Line,
    LineMark,
    Node,
    NodeMark,
    distinct_labels,
    ring_across,
    text_width,
)
from ringstep.draw.positions import seat
from ringstep.draw.rounds import seat_rounds
from ringstep.draw.tellings import Teller, seen_side
from ringstep.language.syntax import Side
from ringstep.weave.work import Act, Ring

#: The band below a picture that holds the names of the units.
BAND = 13.0
#: How far the name of a unit may stand aside to find room.
NUDGES = (0.0, -5.0, 5.0, -10.0, 10.0)
#: How far a link that leaves the picture is drawn beyond the outline of its ring.
STUB = 14.0
#: How much larger the largest kind of ring is drawn than the smallest.
GROWTH = 0.15

#: Links that are led round foreign rings; in larger windows the rest stay straight.
MOST_ROUTED = 1500

Box = tuple[float, float, float, float]


def inside(outer: Box, inner: Box, slack: float = 0.0) -> bool:
    """True where one box lies within the other."""
    return (
        outer[0] <= inner[0] + slack
        and outer[1] <= inner[1] + slack
        and inner[2] <= outer[2] + slack
        and inner[3] <= outer[3] + slack
    )


def padded(box: Box) -> Box:
    """A box with room for stubs on both sides."""
    return box[0] - STUB, box[1], box[2] + STUB, box[3]


def joined_box(a: Box, b: Box) -> Box:
    """The smallest box round two."""
    return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])


@dataclass
class State:
    """The work after some acts."""

    rings: dict[Ring, None] = field(default_factory=dict)
    links: dict[Link, None] = field(default_factory=dict)
    held: dict[Link, None] = field(default_factory=dict)

    def copy(self) -> State:
        """The state as it is now."""
        return State(dict(self.rings), dict(self.links), dict(self.held))

    def carry(self, act: Act) -> None:
        """Take one more act into account."""
        if act.skipped:
            return
        self.rings.update(dict.fromkeys((*act.new, *act.through, *act.held, *act.handled)))
        for ring in act.movers:
            self.links.update(((ring, other), None) for other in act.through if other != ring)
            self.held.update(((ring, other), None) for other in act.held if other != ring)
        if act.step.kind == "take out":
            gone = set(act.handled)
            self.rings = {r: None for r in self.rings if r not in gone}
            self.links = {x: None for x in self.links if gone.isdisjoint(x)}
            self.held = {x: None for x in self.held if gone.isdisjoint(x)}


class Sheet:
    """All that the diagrams of one recipe share: names, sizes, seats and the course of links."""

    def __init__(self, view: View) -> None:
        self.view, self.weave = view, view.weave
        self.work = view.weave.work
        self.layout = self.work.layout
        self.parts = view.recipe.part_roles
        self.teller = Teller(view.weave)
        rings = rings_ever(self.work)
        labels = distinct_labels({self.weave.name(r) for r in rings})
        self.labels = {r: labels[self.weave.name(r)] for r in rings}
        self.sizes = self._sizes()
        largest: dict[tuple[str, int], float] = {}
        for ring, size in self.sizes.items():
            name = (ring.role, ring.index)
            largest[name] = max(size, largest.get(name, 0.0))
        rounds = self.layout.rounds
        self.seats = seat_rounds(self.work, rounds, largest) if rounds else seat(self.work, largest)
        for ring, twin in self.seats.again.items():
            self.labels[twin], self.sizes[twin] = self.labels[ring], self.sizes[ring]
        self.sides = {
            (ring, other): act.side
            for act in self.work.acts
            if act.side and not act.skipped
            for ring in act.movers
            for other in act.through
        }
        self.twins = {twin: ring for ring, twin in self.seats.again.items()}
        self.near: dict[int, list[Ring]] = {}
        for ring, (x, _) in self.seats.at.items():
            self.near.setdefault(int(x // 60), []).append(ring)
        self.paths: dict[Link, Path] = {}

    def _sizes(self) -> dict[Ring, float]:
        """How large each ring is drawn: it holds its label, rings of one size are drawn alike, and
        none is smaller than those of a smaller size."""
        outer: dict[Named, float] = {}
        for role, indexes in self.view.weave.names.items():
            for index in indexes:
                if size := self.weave.size(role, index):
                    outer[role, index] = size[1] + 2 * size[0]
        low, high = min(outer.values(), default=1.0), max(outer.values(), default=1.0)
        scale = GROWTH / max(1.0, (high - low) / low)
        across = {ring: ring_across(label) for ring, label in self.labels.items()}
        by_outer: dict[float, float] = {}
        least = 0.0
        for ring in sorted(across, key=lambda r: outer.get((r.role, r.index), 0.0)):
            if own := outer.get((ring.role, ring.index)):
                least = max(least, across[ring] * (1 + scale * (own - low) / low))
                by_outer[own] = least
        return {r: by_outer.get(outer.get((r.role, r.index), 0.0), x) for r, x in across.items()}

    def box(self, rings: Iterable[Ring], moved: Mapping[Ring, Point] | None = None) -> Box:
        """The room that rings take, the second circle of a new ring included.

        moved: the rings that are drawn elsewhere than on their seats, and where.
        """
        at, elsewhere = self.seats.at, moved or {}
        seats = [(elsewhere.get(r) or at[r], self.sizes[r] / 2 + DOUBLE) for r in rings]
        return (
            min(x - h for (x, _), h in seats),
            min(y - h for (_, y), h in seats),
            max(x + h for (x, _), h in seats),
            max(y + h for (_, y), h in seats),
        )

    def strand(self, unit: int) -> str:
        """The strand in which a unit stands; "" for none."""
        return self.layout.strands.name_of(unit) if self.layout.strands else ""

    def touched(self, act: Act) -> list[Ring]:
        """The rings a step is about, as copies: those it moves, and those they meet beside them."""
        movers = act.movers
        found = dict.fromkeys(movers)
        again = self.seats.again if act.block.kind == "finish" else {}
        found.update(dict.fromkeys(again.get(r, r) for r in act.handled))
        for ring in movers:
            for other in (*act.through, *act.held):
                found.update(dict.fromkeys(self.seats.ends(ring, other)))
        return list(found)

    def path(self, a: Ring, b: Ring) -> Path:
        """The course of the link of two copies, from centre to centre, clear of other rings."""
        if (a, b) not in self.paths:
            p, q = self.seats.at[a], self.seats.at[b]
            if len(self.paths) > MOST_ROUTED:
                return bent(p, q, 0.0)
            low, high = min(p[0], q[0]) - 80, max(p[0], q[0]) + 80
            foreign = [
                (self.seats.at[r], self.sizes[r] / 2)
                for column in range(int(low // 60), int(high // 60) + 1)
                for r in self.near.get(column, ())
                if r not in (a, b)
            ]
            self.paths[a, b] = route(p, q, foreign)
        return self.paths[a, b]


class Draft:
    """One picture in the making."""

    def __init__(self, sheet: Sheet, state: State, act: Act | None) -> None:
        self.sheet, self.state, self.act = sheet, state, act
        self.marks: dict[Ring, NodeMark] = {}
        self.links_as: dict[Link, LineMark] = {}
        self.moved: dict[Ring, Point] = {}
        self.far = False
        self.name_units = not sheet.layout.rounds  # their units do not stand below one another
        #: The row and unit whose names stand out.
        self.here = (act.row, act.unit) if act else None
        tell = sheet.teller
        self.unit_words: Callable[[int], str] = lambda u: tell.caption(u, tell.near(act)[1])
        self.row_words: Callable[[int], str] = lambda r: tell.row_words(r, tell.near(act)[0])
        self.fresh: set[Link] = set()
        #: From which side a ring entered another, in the picture of a step that says so.
        self.sides: dict[Link, Side | None] = {}
        if act is not None:
            self._mark(act)
        if act is not None and act.side:
            acts = sheet.work.acts
            made = {x: side for x, side in sheet.sides.items() if x in state.links}
            self.sides = {x: seen_side(side, act, acts) for x, side in made.items()}
            if len(set(self.sides.values())) < 2:  # those before tell nothing more
                self.sides = {x: side for x, side in self.sides.items() if x in self.fresh}

    def _mark(self, act: Act) -> None:
        movers = act.movers
        out = act.step.kind == "take out"
        self.marks |= dict.fromkeys(act.handled, "out" if out else "handled")
        if act.block.kind == "row end" and not act.handled:
            roles = {r.name.role for r in act.step.refs}
            row = [r for r in self.state.rings if r.row == act.row and r.role in roles]
            self.marks |= dict.fromkeys(row, "handled")
        self.marks |= dict.fromkeys(act.held, "through")
        self.marks |= dict.fromkeys(act.through, "through")
        self.marks |= dict.fromkeys(movers, "new")
        self.fresh = {(a, b) for a in movers for b in (*act.through, *act.held)}

    def copies(self) -> list[Ring]:
        """Every ring to be drawn, with the second copies that links of a closed piece need."""
        found = dict.fromkeys(self.state.rings)
        found.update(dict.fromkeys(r for r, mark in self.marks.items() if mark == "out"))
        for a, b in (*self.state.links, *self.state.held):
            found.update(dict.fromkeys(self.sheet.seats.ends(a, b)))
        if self.act is not None:
            found.update(dict.fromkeys(self.sheet.touched(self.act)))
        return list(found)

    def picture(
        self,
        frame: Box,
        name: str,
        title: str,
        alt: str,
        moved: dict[Ring, Point] | None = None,
        hidden: frozenset[Ring] = frozenset(),
        far: bool = False,
    ) -> Diagram:
        """All that lies in the frame, with stubs for the links that leave it.

        moved: rings drawn elsewhere than on their seat; hidden: rings left out;
        far: whether the moved ones are marked as being somewhere else.
        """
        self.moved, self.far = moved or {}, far
        nodes: dict[Ring, Node] = {}
        for ring in self.copies():
            if ring not in hidden and (
                ring in self.moved or inside(frame, self.sheet.box((ring,)), 0.1)
            ):
                nodes[ring] = self._node(ring, len(nodes))
        lines = []
        for group, held in ((self.state.links, False), (self.state.held, True)):
            for link in group:
                lines += self._lines(link, nodes, held)
        lines.sort(key=lambda x: ("beyond", "old", "held", "new").index(x.mark))
        # A line may be led round rings below all of them; names stand below it.
        dips = [bezier(line.path, t)[1] - 2 for line in lines for t in (0.25, 0.5, 0.75)]
        left, bottom, right, top = frame
        captions, whole = self._captions(nodes, (left, min((bottom, *dips)), right, top))
        return Diagram(name, title, alt, tuple(nodes.values()), tuple(lines), captions, whole)

    def at(self, ring: Ring) -> Point:
        """Where a ring is drawn in this picture."""
        return self.moved.get(ring) or self.sheet.seats.at[ring]

    def _node(self, ring: Ring, number: int) -> Node:
        sheet = self.sheet
        own = sheet.twins.get(ring, ring)
        mark = self.marks.get(own, "other")
        return Node(
            f"n{number}",
            own,
            sheet.labels[ring],
            sheet.teller.full(own, self.act if own == ring else None),
            mark,
            self.at(ring),
            sheet.sizes[ring],
            own.role in sheet.parts,
            ring in sheet.twins,
            self.far and ring in self.moved,
        )

    def _reach(self, node: Node) -> float:
        return node.across / 2 + (DOUBLE if node.mark == "new" else 0.0)

    def _lines(self, link: Link, nodes: dict[Ring, Node], held: bool) -> list[Line]:
        a, b = self.sheet.seats.ends(*link)
        fresh = link in self.fresh
        mark: LineMark = "held" if held else "new" if fresh else self.links_as.get(link, "old")
        if mark == "old" and self._across_gap(a, b):
            mark = "beyond"
        if a not in nodes and b not in nodes:
            return []
        path = self.sheet.path(a, b)
        dx, dy = self._shift(a)
        both, alike = a in nodes and b in nodes, self._shift(b) == (dx, dy)
        if both and (alike or fresh or self._joined(a, b)):
            if not alike:
                others = [(n.at, n.across / 2) for r, n in nodes.items() if r not in (a, b)]
                path = route(self.at(a), self.at(b), others)
            elif dx or dy:
                path = tuple((x + dx, y + dy) for x, y in path)  # type: ignore[assignment]
            ends = (self._reach(nodes[a]), self._reach(nodes[b]))
            side = self.sides.get(link)
            return [Line(nodes[a].key, nodes[b].key, mark, clipped(path, *ends), side)]
        return [
            self._stub(nodes[ring], way)
            for ring, way in ((a, path), (b, path[::-1]))
            if ring in nodes and (both or not (self.far and ring in self.moved))
        ]

    def _across_gap(self, a: Ring, b: Ring) -> bool:
        """True in a picture of the finish for a link that spans the units a window leaves out."""
        low, high = sorted((a.unit, b.unit))
        layout = self.sheet.layout
        left_out = layout.number(high) - layout.number(low) > high - low
        at_finish = self.act is not None and self.act.block.kind == "finish"
        return at_finish and left_out and high <= layout.units

    def _joined(self, a: Ring, b: Ring) -> bool:
        """True in a piece of strands where no unit is left out between two rings, whatever is left
        out of the strands beside them."""
        layout = self.sheet.layout
        apart = layout.number(b.unit) - layout.number(a.unit) != b.unit - a.unit
        return bool(layout.strands) and not (
            self.sheet.strand(a.unit) == self.sheet.strand(b.unit) and apart
        )

    def _shift(self, ring: Ring) -> Point:
        """How far a ring is drawn from its seat."""
        (x, y), (x0, y0) = self.at(ring), self.sheet.seats.at[ring]
        return round(x - x0, 3), round(y - y0, 3)

    def _stub(self, node: Node, path: Path) -> Line:
        """The beginning of a link whose other end lies outside the picture."""
        (x0, y0), (x1, y1) = path[0], path[1]
        x1, y1 = x1 - x0 + node.at[0], y1 - y0 + node.at[1]
        x0, y0 = node.at
        long = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 or 1.0
        dx, dy = (x1 - x0) / long, (y1 - y0) / long
        r = self._reach(node)
        points = [(x0 + dx * (r + k * STUB / 3), y0 + dy * (r + k * STUB / 3)) for k in range(4)]
        return Line(node.key, None, "beyond", (points[0], points[1], points[2], points[3]))

    def _captions(self, nodes: dict[Ring, Node], frame: Box) -> tuple[tuple[Caption, ...], Box]:
        """The names of units below the rings and of rows to their left; the frame with them."""
        sheet, flat = self.sheet, self.sheet.layout.flat
        left, bottom, right, top = frame
        found: list[Caption] = []
        busy: list[tuple[float, float, float]] = []
        units: dict[tuple[int, float], list[Ring]] = {}
        lows: list[float] = []
        for ring, node in nodes.items():
            if self.far and ring in self.moved:
                continue  # those are named one by one
            down = 0.0 if flat or self.far else self._shift(ring)[1]
            lows.append(node.at[1] - node.across / 2 - DOUBLE - down)
            if ring.unit >= 1 or not flat:
                units.setdefault((ring.unit, down), []).append(ring)
        base = min(lows) if any(down for _, down in units) else bottom
        row_here, here = self.here or (None, None)
        under = self._strand_lows(nodes)
        order = sorted(units, key=lambda u: (abs(u[0] - (here or 0)), u))
        for unit, down in order if self.name_units else ():
            rings = units[unit, down]
            level = self.sheet.seats.levels
            lowest = max(level[r.row] for r in rings)
            xs = [nodes[r].at[0] for r in rings if level[r.row] == lowest]
            first = rings[0]
            text = self.unit_words(unit)
            if first in sheet.twins:
                text = sheet.teller.unit_words(sheet.twins[first].unit, 1)
            half = text_width(text, CAPTION) / 2
            middle, y = (min(xs) + max(xs)) / 2, base + down - BAND / 2
            y = under.get(self.sheet.strand(unit), y)
            near = [n for n in nodes.values() if under and abs(n.at[1] - y) < n.across / 2 + 3]
            if unit != here and any(abs(n.at[0] - middle) < half + n.across / 2 for n in near):
                continue  # a ring of another strand stands there
            for nudge in NUDGES if text else ():
                x = min(max(middle + nudge, left + half), right - half)
                if all(abs(x - at) >= half + o + 2 or y != level for at, level, o in busy):
                    found.append(Caption(text, (x, y), unit == here))
                    busy.append((x, y, half))
                    break
        if flat and nodes and sheet.seats.round != "disc":
            levels = self._row_levels(nodes)
            texts = [self.row_words(row) for row in levels]
            wide = max(text_width(text, CAPTION) for text in texts)
            for (row, y), text in zip(levels.items(), texts, strict=True):
                found.append(Caption(text, (left - 3 - wide, y), row == row_here, True))
            left -= wide + 5
        low = bottom - (BAND if self.name_units else 0.0)
        low = min((low, *(c.at[1] - BAND / 2 for c in found)))
        return tuple(found), (left, low, right, top)

    def _strand_lows(self, nodes: dict[Ring, Node]) -> dict[str, float]:
        """At what height the units of each strand are named: below all its rings."""
        found: dict[str, float] = {}
        for ring, node in nodes.items():
            if name := self.sheet.strand(ring.unit):
                low = node.at[1] - node.across / 2 - DOUBLE - BAND / 2
                found[name] = min(low, found.get(name, low))
        return found

    def _row_levels(self, nodes: dict[Ring, Node]) -> dict[int, float]:
        """At what height each row is named: beside the ring shown nearest to where it begins."""
        shown: dict[int, dict[float, float]] = {}
        for ring, node in nodes.items():
            if not (self.far and ring in self.moved):
                begin = self.sheet.seats.rows[ring.row] + self._shift(ring)[1]
                shown.setdefault(ring.row, {})[node.at[1]] = abs(node.at[1] - begin)
        found: dict[int, float] = {}
        free = float("inf")
        for row in sorted(shown, key=self.sheet.seats.levels.__getitem__):
            found[row] = free = min(min(shown[row], key=shown[row].__getitem__), free)
            free -= 1.2 * CAPTION
        return found
