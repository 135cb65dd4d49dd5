"""The grid on which rings are set, and the price of a way to set them.

Comes in: a `Work`. Goes out: a `Plan` (a cell for each name, a width for each kind of unit) whose
`price` grows with crossing links, long links, rings that touch, and links that run through rings
they do not belong to. Cells count half columns along and half lanes up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from math import ceil, hypot, sqrt

from ringstep.draw.geometry import cross, segment_distance
from ringstep.weave.work import Ring, Work, role_indexes

Named = tuple[str, int]
Link = tuple[Ring, Ring]
Cell = tuple[int, int]
#: A cell (along, up), and the way in which cells are counted from it (1 or -1 each).
Corner = tuple[int, int, int, int]


def links_made(work: Work) -> list[Link]:
    """Every link a step makes, those of rings taken out later included, then held rings."""
    found: dict[Link, None] = {}
    for act in work.acts:
        movers = act.movers
        for ring in movers:
            for other in (*act.through, *act.held):
                if other != ring and (other, ring) not in found:
                    found[ring, other] = None
    return list(found)


def rings_ever(work: Work) -> list[Ring]:
    """Every ring and part the work names, in the order they come into it."""
    found: dict[Ring, None] = {}
    for act in work.acts:
        found.update(dict.fromkeys((*act.new, *act.through, *act.held, *act.handled)))
    return list(found)


@dataclass(frozen=True, slots=True)
class RingBlock:
    """Rings placed by one step, and the shapes they may take: (columns, half lanes apart)."""

    names: tuple[Named, ...]
    shapes: tuple[tuple[int, int], ...]

    def cells(self, x: int, y: int, shape: tuple[int, int]) -> dict[Named, Cell]:
        """Where each ring sits when the block stands at (x, y): row by row, from the top."""
        columns, apart = shape
        deep = ceil(len(self.names) / columns)
        found = {}
        for at, name in enumerate(self.names):
            down, along = divmod(at, columns)
            wide = min(columns, len(self.names) - down * columns)
            found[name] = (
                x + 2 * along - (wide - 1),
                y + (apart * (deep - 1) - 2 * apart * down) // 2,
            )
        return found


def ring_block(names: tuple[Named, ...]) -> RingBlock:
    """A block of rings with the shapes worth trying: stacks, pairs of banks, short rows."""
    n = len(names)
    if n == 1:
        return RingBlock(names, ((1, 2),))
    if n > 12:
        return RingBlock(names, ((ceil(sqrt(n)), 2),))
    shapes = []
    for columns in sorted({1, ceil(n / 2), *((n,) if n < 4 else ())}):
        deep = ceil(n / columns)
        most = {1: 2, 2: 6, 3: 4, 4: 4}.get(deep, 2)
        shapes += [(columns, apart) for apart in range(2, most + 1, 2)]
    return RingBlock(names, tuple(shapes))


#: The price of a half lane by which a ring stands above one of an earlier row.
UPWARDS = 150.0
#: The price of a half column by which the rings of a sheet's unit spread beyond its width.
SPRAWL = 8.0
#: The price of a half lane by which rings folded back lie nearer to the middle of a chain than the
#: rings they hang on: folded to both sides, they lie outside of these.
INWARDS = 40.0
#: Half lanes between the rings of two strands: room for the names of their units.
APART = 3
#: Half columns by which the strands stand off the start, so that its links can spread.
BRANCH = 1
#: Height of a step's picture beyond which lanes cost more, in points: 60 mm less its edges.
MOST_HIGH = 170.0 - 56.0
Taken = tuple[dict[Named, Cell], dict[frozenset[Named], int], bool, int, int]
#: Rings, the widths and depths of the grid, and the corners that belong to these.
_Framed = tuple[list[Ring], tuple[int, ...], list[tuple[Named, int, int, int, int]]]


@dataclass(frozen=True, slots=True)
class Scene:
    """What the price looks at, as positions in `rings`: links, pairs of rings, links with a foreign
    ring, pairs of links. hangs: links from row to row, the lower ring first. own: the rings whose
    seats are being sought."""

    names: frozenset[Named]
    rings: list[Ring]
    extra: list[float]
    own: list[int]
    links: list[tuple[int, int]]
    hangs: list[tuple[int, int]]
    pairs: list[tuple[int, int]]
    triples: list[tuple[int, int, int]]
    doubles: list[tuple[int, int, int, int]]

    def about(self, names: Iterable[Named]) -> Scene:
        """The part of a scene that changes where some names are seated elsewhere."""
        them = set(names)
        mine = {i for i, r in enumerate(self.rings) if (r.role, r.index) in them}
        return replace(
            self,
            links=[x for x in self.links if not mine.isdisjoint(x)],
            hangs=[x for x in self.hangs if not mine.isdisjoint(x)],
            pairs=[x for x in self.pairs if not mine.isdisjoint(x)],
            triples=[x for x in self.triples if not mine.isdisjoint(x)],
            doubles=[x for x in self.doubles if not mine.isdisjoint(x)],
        )


def _cross(bx: int, by: int, cx: int, cy: int, dx: int, dy: int) -> bool:
    """True where the lines from (0, 0) to b and from c to d cross."""
    return cross((0, 0), (bx, by), (cx, cy), (dx, dy))


@dataclass
class Plan:
    """The seats being tried: a cell for each name, a width for each kind of unit.

    sizes: how large the rings of a name are drawn, in points. mirrored: every second unit of a
    chain stands upside down. deep: half lanes from row to row; lean: half columns that every row
    (worked back and forth: every second row) stands further along. lanes: how many half lanes up
    each strand stands. looks: how much was looked at.
    """

    work: Work
    sizes: dict[Named, float]
    cells: dict[Named, Cell] = field(default_factory=dict)
    widths: dict[frozenset[Named], int] = field(default_factory=dict)
    mirrored: bool = False
    deep: int = 2
    lean: int = 0
    lanes: dict[str, int] = field(default_factory=dict)
    looks: int = 0

    def __post_init__(self) -> None:
        self.layout = self.work.layout
        self.rings = rings_ever(self.work)
        self.links = links_made(self.work)
        self.again = self._close_round()
        self.by_place: dict[tuple[int, int], list[Ring]] = {}
        for ring in self.rings:
            self.by_place.setdefault((ring.row, ring.unit), []).append(ring)
        self.units = range(
            min((r.unit for r in self.rings), default=0),
            max((r.unit for r in self.rings), default=0) + 1,
        )
        self.columns: dict[int, list[int]] = {}
        for unit in self.units:
            self.columns.setdefault(self.column(unit), []).append(unit)
        self.near, self.touch, self.crosses = cache(self._near), cache(self._touch), cache(_cross)
        blocks = [b for b in self.layout.recipe.blocks if b.kind in ("unit", "row", "again")]
        lead = [(role, i) for role, have in role_indexes(tuple(blocks)).items() for i in have]
        most = max(self.sizes.values(), default=18.0)
        self.size = max((self.sizes[n] for n in lead if n in self.sizes), default=most)
        #: By how much the ring of a name is larger than the grid is made for.
        self.extra = {n: round(max(0.0, s - self.size), 1) for n, s in self.sizes.items()}
        self._framed: _Framed | None = None
        head: dict[int, tuple[Named, ...]] = {}
        for act in self.work.acts:
            if act.new and act.unit and act.row:
                head.setdefault(act.row, tuple((r.role, r.index) for r in act.new))
        #: The rings with which a row begins and those with which the row below it does.
        self.heads = {(head[row], head[row + 1]) for row in head if row + 1 in head}
        folded = {r for act in self.work.acts if act.step.kind == "fold back" for r in act.handled}
        #: Names of rings that are folded back in a chain, each with that of one it hangs on.
        self.folds = {
            ((a.role, a.index), (b.role, b.index))
            for act in ([] if self.layout.flat else self.work.acts)
            for a in folded.intersection(act.new)
            for b in act.through
        }
        self.hx, self.hy = (self.size + 13) / 2, (self.size + 12) / 2

    def _close_round(self) -> dict[Ring, Ring]:
        """For loops and tubes: rings of the first units, set a second time behind the last.

        The links that close the piece go to these, so that no line runs through the whole picture.
        """
        layout = self.layout
        if layout.kind not in ("loop", "tube") or not self.rings:
            return {}
        units = [r.unit for r in self.rings if r.unit or not layout.flat]
        low, last = min(units), max(units)
        lap = last + 1 - low
        pairs = [(r.unit, (o.role, o.index), o.unit) for x in self.links for r, o in (x, x[::-1])]
        met = {name for unit, name, far in pairs if unit > layout.units and unit - far > lap / 2}
        if layout.flat and not met & {(r.role, r.index) for r in self.rings if r.unit == last}:
            lap = layout.units
        again: dict[Ring, Ring] = {}

        def moved(ring: Ring, other: Ring) -> Ring:
            if (layout.flat and not ring.unit) or other.unit - ring.unit <= lap / 2:
                return ring
            return again.setdefault(ring, ring._replace(unit=ring.unit + lap))

        self.links = [(moved(a, b), moved(b, a)) for a, b in self.links]
        self.rings += again.values()
        return again

    # -- where things are ------------------------------------------------------------------------

    def kind(self, unit: int) -> frozenset[Named]:
        """The names of a unit; units with the same names are equally wide."""
        return self._kinds.get(unit, frozenset())

    @cached_property
    def _kinds(self) -> dict[int, frozenset[Named]]:
        found: dict[int, set[Named]] = {}
        for ring in self.rings:
            found.setdefault(ring.unit, set()).add((ring.role, ring.index))
        return {u: frozenset(names) for u, names in found.items()}

    @cached_property
    def slants(self) -> dict[int, float]:
        """For each row of a sheet, how far it stands along, in units: the middle of what its
        rings hang from."""
        found, last = {}, 0.0
        for row in sorted({r.row for r in self.rings}):
            reach = [
                b.unit - a.unit
                for a, b in self.links
                if a.row == row and b.row == row - 1 and a.unit and b.unit and row > 1
                if abs(b.unit - a.unit) <= self.layout.reach
            ]
            last += round(2 * sum(reach) / len(reach)) / 2 if reach else 0.0
            found[row] = last
        return found

    @cached_property
    def levels(self) -> dict[int, int]:
        """How far down each row of a sheet is drawn: by its number, but for a finish whose rings
        hang only from the upper half of the rows, which stands on top."""
        rows = {r.row: r.row for r in self.rings}
        finish = self.layout.rows + 1
        met = [o.row for x in self.links for a, o in (x, x[::-1]) if a.row == finish != o.row]
        if self.layout.flat and met and 2 * max(met) <= self.layout.rows:
            rows[finish] = min(rows) - 1
        return rows

    @cached_property
    def middles(self) -> dict[int, tuple[float, int]]:
        """For start and finish of a sheet, which stand at no unit: the middle of what they meet in
        the row that is nearest to them, and that row."""
        found: dict[int, list[Ring]] = {}
        for a, b in (*self.links, *((b, a) for a, b in self.links)):
            if not a.unit and b.unit:
                found.setdefault(a.row, []).append(b)
        middles = {}
        for row, met in found.items():
            near = min((r.row for r in met), key=lambda n: abs(self.levels[n] - self.levels[row]))
            units = [r.unit + self.slants[near] for r in met if r.row == near]
            middles[row] = sum(units) / len(units), near
        return middles

    def strand(self, ring: Ring) -> str:
        """The strand in whose line a ring stands: its own, or at start and finish the only one that
        places its like; "" for none."""
        strands = self.layout.strands
        if strands is None:
            return ""
        return strands.name_of(ring.unit) or strands.sole(ring.role, ring.index)

    @cached_property
    def _columns(self) -> dict[int, int]:
        strands = self.layout.strands
        spans = strands.spans.values() if strands else ()
        found = {unit: at for span in spans for at, unit in enumerate(span, 1)}
        if strands:
            found[strands.behind] = 1 + max(map(len, spans), default=0)
        return found

    def column(self, unit: int) -> int:
        """At which place from the start a unit stands; strands stand side by side."""
        return self._columns.get(unit, unit)

    def spread_lanes(self) -> None:
        """Set the strands side by side, the first on top, as far apart as their rings need."""
        strands = self.layout.strands
        down, lows = 0, {}
        names = {n: {x for u in span for x in self.kind(u)} for n, span in
                 (strands.spans.items() if strands else ())}  # fmt: skip
        for strand, own in names.items():
            if not any(own & more for n, more in names.items() if n != strand):
                left = min((self.cells[x][0] for x in own if x in self.cells), default=0)
                self.cells |= {x: (at[0] - left, at[1]) for x, at in self.cells.items() if x in own}
        for name, span in strands.spans.items() if strands else ():
            ups = [self.cells[n][1] for u in span for n in self.kind(u) if n in self.cells]
            ups += [-up for up in ups] if self.mirrored else []
            lows[name] = down - max(ups, default=0)
            down += min(ups, default=0) - max(ups, default=0) - APART
        middle = (down + APART) // 2
        self.lanes = {name: low - middle for name, low in lows.items()}

    def origins(self) -> dict[int, int]:
        """Where each unit begins, in half columns."""
        found, x = {}, 0
        if strands := self.layout.strands:
            found[0] = 0
            for span in strands.spans.values():
                at = self.width(0) + BRANCH if 0 in self.units else 0
                for unit in span:
                    found[unit] = at
                    at += self.width(unit)
                x = max(x, at)
            return found | {strands.behind: x}
        for unit in self.units:
            found[unit] = x
            x += self.width(unit)
        return found

    def width(self, unit: int) -> int:
        """Half columns a unit takes; start and finish are as wide as their neighbour or wider."""
        found = self.widths.get(self.kind(unit))
        if found is not None:
            return found
        return self.widths.get(self.kind(1 if unit < 1 else self.layout.units), 2)

    def cell(self, ring: Ring, origins: dict[int, int]) -> Cell:
        """The cell of one ring."""
        x, y = self.cells.get((ring.role, ring.index), (0, 0))
        left, up, along, over = self._corner(ring, origins)
        return left + along * x, up + over * y

    def _corner(self, ring: Ring, origins: dict[int, int]) -> Corner:
        """The cell from which the cells of a ring's unit are counted, and which ways."""
        if not self.layout.flat:
            over = -1 if self.mirrored and self.column(ring.unit) % 2 else 1
            return origins[ring.unit], self.lanes.get(self.strand(ring), 0), 1, over
        width = next(iter(self.widths.values()), 2)
        unit, row = ring.unit + self.slants[ring.row], ring.row
        if not ring.unit:
            unit, row = self.middles.get(row, (1.0, row))
        along = round(unit * width) + self._leaning(row)
        return along, -self.levels[ring.row] * self.deep, self.layout.way(ring.row), 1

    def _leaning(self, row: int) -> int:
        """By how many half columns a row leans."""
        if row <= 1:
            return 0
        return self.lean * (row % 2 == 0 if self.layout.row_cycle > 1 else row - 1)

    def _spots(self, scene: Scene) -> tuple[list[int], list[int]]:
        """The cells of a scene's rings, along and up; corners are worked out once for a frame."""
        frame = (*self.widths.values(), *self.lanes.values(), self.deep, self.lean, self.mirrored)
        if self._framed is None or self._framed[0] is not scene.rings or self._framed[1] != frame:
            origins = {} if self.layout.flat else self.origins()
            corners = [((r.role, r.index), *self._corner(r, origins)) for r in scene.rings]
            self._framed = scene.rings, frame, corners
        xs, ys, cells = [], [], self.cells
        for name, left, up, along, over in self._framed[2]:
            x, y = cells.get(name, (0, 0))
            xs.append(left + along * x)
            ys.append(up + over * y)
        return xs, ys

    # -- the price of a plan ---------------------------------------------------------------------

    def _near(self, bx: int, by: int, cx: int, cy: int, extra: float) -> float:
        """The price of a link from (0, 0) to b that passes a ring at c, of so much extra size."""
        a, b, c = ((x * self.hx, y * self.hy) for x, y in ((0, 0), (bx, by), (cx, cy)))
        clear = segment_distance(a, b, c) - (self.size + extra) / 2
        return 0.0 if clear >= 5 else 25 + 6 * (5 - clear)

    def climbs(self) -> Iterator[int]:
        """By how much rows whose first rings should stand lower do not, in half lanes."""
        for over, under in self.heads:
            if all(n in self.cells for n in (*over, *under)):
                low = min(self.cells[n][1] for n in over)
                yield max(0, max(self.cells[n][1] for n in under) - self.deep - low + 1)

    def inwards(self) -> Iterator[int]:
        """By how much rings folded back lie inside of those they hang on, in half lanes."""
        for out, in_ in self.folds:
            if out in self.cells and in_ in self.cells:
                yield max(0, abs(self.cells[in_][1]) - abs(self.cells[out][1]))

    def _touch(self, x: int, y: int, extra: float) -> float:
        """The price of two rings so far apart, together of so much extra size."""
        close = hypot(x * self.hx, y * self.hy) < self.size + extra / 2 + 11
        return 400.0 if close else 0.0

    def price(self, scene: Scene, best: float) -> float:
        """What is wrong with a plan, in one number; stops once it is worse than the best."""
        flat, hx, hy = self.layout.flat, self.hx, self.hy
        xs, ys = self._spots(scene)
        total = 3.0 * sum(self.widths.values()) + (14 if self.mirrored else 0)
        touch, near, crosses, extra = self.touch, self.near, self.crosses, scene.extra
        self.looks += len(scene.pairs) // 4
        for a, b in scene.pairs:
            total += touch(xs[a] - xs[b], ys[a] - ys[b], extra[a] + extra[b])
            if total > best:
                return total
        if flat:
            total += 3.0 * self.deep + 0.5 * abs(self.lean)
            along = [self.cells[n][0] for n in scene.names]
            total += 0.05 * sum(abs(self.cells[n][1]) for n in scene.names)
            total += 0.05 * sum(map(abs, along))
            total += SPRAWL * max(0, max(along) - min(along) - max(self.widths.values(), default=2))
            total += UPWARDS * sum(max(0, ys[a] - ys[b]) for a, b in scene.hangs)
            total += UPWARDS * sum(self.climbs())
        else:
            lanes = [ys[i] for i in scene.own]
            high = max(lanes) - min(lanes)
            total += 1.2 * high + 0.8 * abs(max(lanes) + min(lanes))
            total += 12 * max(0.0, high - MOST_HIGH / hy)
            total += INWARDS * sum(self.inwards())
        long = (2 * hx) ** 2
        for a, b in scene.links:
            dx, dy = (xs[b] - xs[a]) * hx, (ys[b] - ys[a]) * hy
            total += (dx * dx + dy * dy) / long
            if dx > 0 and not flat:
                total += 3.0 * (xs[b] - xs[a])
        if not scene.links:
            total += 0.01 * sum(abs(x) for n in scene.names for x in self.cells[n])
        if total > best:
            return total
        self.looks += len(scene.triples)
        for a, b, c in scene.triples:
            x, y = xs[a], ys[a]
            total += near(xs[b] - x, ys[b] - y, xs[c] - x, ys[c] - y, extra[c])
            if total > best:
                return total
        self.looks += len(scene.doubles)
        for a, b, c, d in scene.doubles:
            x, y = xs[a], ys[a]
            if crosses(xs[b] - x, ys[b] - y, xs[c] - x, ys[c] - y, xs[d] - x, ys[d] - y):
                total += 3
                if total > best:
                    break
        return total

    def clean(self, scene: Scene) -> bool:
        """True where no ring touches another and no link runs through a foreign ring."""
        xs, ys = self._spots(scene)
        extra = scene.extra
        return not any(
            self.touch(xs[a] - xs[b], ys[a] - ys[b], extra[a] + extra[b]) for a, b in scene.pairs
        ) and not any(
            self.near(xs[b] - xs[a], ys[b] - ys[a], xs[c] - xs[a], ys[c] - ys[a], extra[c])
            for a, b, c in scene.triples
        )

    def taken(self) -> Taken:
        """What `restore` needs to come back to the plan as it is now."""
        return dict(self.cells), dict(self.widths), self.mirrored, self.deep, self.lean

    def restore(self, taken: Taken) -> None:
        """Go back to a plan noted by `taken`."""
        cells, widths, self.mirrored, self.deep, self.lean = taken
        self.cells, self.widths = dict(cells), dict(widths)
