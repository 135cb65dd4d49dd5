"""Where every ring of a window lies on the page, the same for every diagram of a recipe.

Comes in: a `Work`. Goes out: `Seats`, in points (1/72 inch), y upwards. A ring's seat depends only
on its name and on its unit and row, so equal units look equal. Rings placed by one step sit
together as a block; the blocks of a unit are moved about on a coarse grid until few links cross and
none runs through a ring that it does not belong to. The search is a plain descent that tries the
same moves in the same order every time, and its work is bounded by a count, not by a clock.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import Literal

from ringstep.draw.geometry import Point
from ringstep.draw.grid import Link, Named, Plan, RingBlock, Scene, Taken, ring_block
from ringstep.draw.scene import scene_of
from ringstep.language.syntax import PLACING, Block
from ringstep.weave.work import Ring, Work

#: Looks at single pairs and triples the search may take; bounds the time of large units.
MOST_LOOKS = 3_000_000


@dataclass(frozen=True)
class Seats:
    """Where the rings lie.

    at: the centre of every ring. again: for closed pieces, the rings of the first units that are
    drawn a second time, with the name under which that copy stands in `at` (its unit lies behind
    the last). rows: where the first ring of each row lies; levels: how far down each row is drawn.
    half_y: half the distance between two lanes.
    """

    at: dict[Ring, Point]
    again: dict[Ring, Ring]
    rows: dict[int, float]
    levels: dict[int, int]
    half_y: float

    @property
    def round(self) -> Literal["", "disc", "tube"]:
        """How rounds that grow or shrink are drawn: about a middle, or from the side; of others
        nothing."""
        return ""

    def ends(self, a: Ring, b: Ring) -> Link:
        """The two copies of linked rings between which their link is drawn."""
        if a in self.again and b.unit - a.unit > self.again[a].unit - b.unit:
            return self.again[a], b
        if b in self.again and a.unit - b.unit > self.again[b].unit - a.unit:
            return a, self.again[b]
        return a, b


def _blocks_of(blocks: Iterable[Block], taken: set[Named]) -> list[RingBlock]:
    """The blocks of rings that some headings place, those already seated aside."""
    found = []
    for block in blocks:
        for step in block.steps:
            if step.kind in PLACING:
                each = dict.fromkeys((n.name.role, i) for n in step.new for i in n.indexes)
                if names := tuple(name for name in each if name not in taken):
                    taken.update(names)
                    found.append(ring_block(names))
    return found


def _parts_of(plan: Plan, taken: set[Named]) -> list[RingBlock]:
    """Parts are named without being placed: each a block of its own."""
    found = []
    for ring in plan.rings:
        name = (ring.role, ring.index)
        if name not in taken:
            taken.add(name)
            found.append(ring_block((name,)))
    return found


_Stand = dict[RingBlock, tuple[int, int, tuple[int, int]]]


def _put(plan: Plan, stand: _Stand) -> None:
    for block, (x, y, shape) in stand.items():
        plan.cells.update(block.cells(x, y, shape))


def _seek(plan: Plan, blocks: list[RingBlock], known: frozenset[Named], lead: bool) -> None:
    """Find seats for some blocks, the known ones staying where they are.

    lead: True for the repeating unit, whose width (for sheets: and depth) is sought as well.
    """
    if not blocks:
        return
    names = frozenset(n for b in blocks for n in b.names)
    scene = scene_of(plan, names, known)
    flat = plan.layout.flat
    inner = range(1, plan.layout.units + 1) if known or lead else plan.units
    if not any(plan.kind(u) & names for u in inner):
        inner = plan.units
    kinds = [k for k in dict.fromkeys(plan.kind(u) for u in inner) if k & names]
    best_price, best = float("inf"), plan.taken()
    for mirrored in (False, True) if lead and not flat else (plan.mirrored,):
        if mirrored and plan.clean(scene):
            break
        starts = _starts(plan, blocks, known, lead, kinds)
        for begin in starts:
            budget = plan.looks + MOST_LOOKS // (len(starts) if lead else 4)
            plan.mirrored = mirrored
            stand = begin()
            price = plan.price(scene, float("inf"))
            for _ in range(6):
                before = price
                for block in blocks:
                    price = _settle(plan, scene, stand, block, price, lead, budget)
                if lead:
                    price = _resize(plan, scene, kinds, price, (-4, -2, -1, 1, 2))
                elif not flat:
                    for kind in kinds:
                        plan.widths.setdefault(kind, _width_now(plan, kind))
                    price = _resize(plan, scene, kinds, price, (1, 2))
                if price >= before or plan.looks > budget:
                    break
            if price < best_price - 1e-9:
                best_price, best = price, plan.taken()
        plan.restore(best)
    if lead and not flat:
        _first_on_top(plan, scene, blocks, best_price)


def _starts(
    plan: Plan,
    blocks: list[RingBlock],
    known: frozenset[Named],
    lead: bool,
    kinds: list[frozenset[Named]],
) -> list[Callable[[], _Stand]]:
    """The plans from which the search begins, each ready to be set up."""
    if not lead:
        return [partial(_in_line, plan, blocks, 1, ())]
    if not plan.layout.flat:
        ways = ((2, 2), (2, 1), (0, 1))
        lines: list[Callable[[], _Stand]] = [
            partial(_in_line, plan, blocks, apart, kinds, wide) for apart, wide in ways
        ]
        folded = any(out in block.names for out, _ in plan.folds for block in blocks)
        return [partial(_folded_out, plan, blocks, kinds), *lines] if folded else lines
    found: list[Callable[[], _Stand]] = [
        partial(_one_by_one, plan, blocks, known, kinds, wide) for wide in (4, 6, 8)
    ]
    if any(len(b.names) > 1 for b in blocks):
        single = [ring_block(b.names[:1]) for b in blocks]
        _seek(plan, single, known, True)
        coarse = plan.taken()
        found += [
            partial(_from_coarse, plan, blocks, coarse, across, down, level)
            for across, down, level in ((1, 2, 1), (2, 1, 2), (2, 2, 1), (2, 2, 2))
        ]
    return found


def _in_line(
    plan: Plan,
    blocks: list[RingBlock],
    apart: int,
    kinds: Iterable[frozenset[Named]],
    wide: int = 1,
) -> _Stand:
    """Block after block along the chain; units get so many columns for each of their blocks."""
    for kind in kinds:
        own = [b for b in blocks if kind & set(b.names)]
        plan.widths[kind] = max(2, 2 * wide * len(own))
    stand = {block: (apart * at, 0, block.shapes[0]) for at, block in enumerate(blocks)}
    _put(plan, stand)
    return stand


def _folded_out(plan: Plan, blocks: list[RingBlock], kinds: Iterable[frozenset[Named]]) -> _Stand:
    """In line, level, but the rings folded back to both sides of the line."""
    stand = _in_line(plan, blocks, 2, kinds, 2)
    up = 1
    for block, (x, _, _) in stand.items():
        if not any(out in block.names for out, _ in plan.folds):
            stand[block] = x, 0, block.shapes[-1]
        elif len(block.names) > 1:
            stand[block] = x, 0, max(shape for shape in block.shapes if shape[0] == 1)
        else:
            stand[block] = x, 4 * up, block.shapes[0]
            up = -up
    _put(plan, stand)
    return stand


def _one_by_one(
    plan: Plan,
    blocks: list[RingBlock],
    known: frozenset[Named],
    kinds: list[frozenset[Named]],
    wide: int,
) -> _Stand:
    """In a sheet: each block set down where it does best among those before it."""
    plan.widths.update(dict.fromkeys(kinds, wide))
    plan.deep, plan.lean = wide, 0
    stand: _Stand = {}
    for block in blocks:
        stand[block] = (0, 0, block.shapes[0])
        _put(plan, stand)
        part = scene_of(plan, frozenset(n for b in stand for n in b.names), known)
        price = plan.price(part, float("inf"))
        _settle(plan, part, stand, block, price, True, plan.looks + MOST_LOOKS // 8)
    return stand


def _from_coarse(
    plan: Plan, blocks: list[RingBlock], coarse: Taken, across: int, down: int, columns: int
) -> _Stand:
    """From the seats found with one ring for each block, drawn out to make room for all.

    columns: of the blocks to begin with. Level ones whose links run along the row are stacked, so
    that the first does not hide the second.
    """
    plan.restore(coarse)
    upright = {b for b in blocks if columns == 2 and _runs_along(plan, b.names[0])}
    plan.widths = {k: w * across for k, w in plan.widths.items()}
    plan.deep, plan.lean = plan.deep * down, plan.lean * across
    stand: _Stand = {}
    for block in blocks:
        x, y = plan.cells[block.names[0]]
        shape = next((s for s in block.shapes if s[0] == columns), block.shapes[0])
        if block in upright:
            shape = (1, 4) if (1, 4) in block.shapes else block.shapes[0]
        stand[block] = (x * across, y * down, shape)
    _put(plan, stand)
    return stand


def _runs_along(plan: Plan, name: Named) -> bool:
    """True where the links of a name in a sheet run along the row rather than down."""
    along = down = 0.0
    for a, b in plan.links:
        if name in ((a.role, a.index), (b.role, b.index)):
            (x, y), (u, v) = plan.cell(a, {}), plan.cell(b, {})
            along, down = along + abs(u - x), down + abs(v - y)
    return along > 2 * down


def _first_on_top(plan: Plan, scene: Scene, blocks: list[RingBlock], price: float) -> None:
    """Turn a unit upside down where that puts its first ring above the others, and is as good."""
    seats = {b: [plan.cells[n] for n in b.names] for b in blocks}
    middles = {b: sum(y for _, y in at) / len(at) for b, at in seats.items()}
    leader = next((m for m in middles.values() if abs(m) > 0.01), 0.0)
    if leader >= 0:
        return
    before = plan.taken()
    for block, at in seats.items():
        rows = sorted({y for _, y in at}, reverse=True)
        turned = dict(zip(rows, (-y for y in reversed(rows)), strict=True))
        plan.cells.update(
            {name: (x, turned[y]) for name, (x, y) in zip(block.names, at, strict=True)}
        )
    if plan.price(scene, price + 1) > price + 1e-6:
        plan.restore(before)


def _settle(
    plan: Plan,
    scene: Scene,
    stand: _Stand,
    block: RingBlock,
    price: float,
    lead: bool,
    budget: int,
) -> float:
    """Try one block everywhere and leave it where it does best."""
    kept = stand[block]
    if plan.layout.flat:
        wide = max(plan.widths.values(), default=4)
        xs, ys = range(-wide, wide + 1), range(-plan.deep, plan.deep + 1)
    elif lead:
        xs = range(max((w for k, w in plan.widths.items() if k & set(block.names)), default=2) + 3)
        ys = range(-6, 7)
    else:
        xs, ys = range(-8, 9), range(-6, 7)
    part = scene.about(block.names)
    rest = price - plan.price(part, float("inf"))
    for shape in block.shapes:
        for x in xs:
            for y in ys:
                if plan.looks > budget:
                    break
                plan.cells.update(block.cells(x, y, shape))
                tried = rest + plan.price(part, price - rest)
                if tried < price - 1e-9:
                    price, kept = tried, (x, y, shape)
    stand[block] = kept
    plan.cells.update(block.cells(*kept))
    return price


def _width_now(plan: Plan, kind: frozenset[Named]) -> int:
    return next(plan.width(u) for u in plan.units if plan.kind(u) == kind)


def _resize(
    plan: Plan, scene: Scene, kinds: list[frozenset[Named]], price: float, by: tuple[int, ...]
) -> float:
    """Try units a little narrower or wider, and for sheets rows nearer and farther."""
    for kind in kinds:
        was = plan.widths[kind]
        for width in (was + more for more in by):
            if width < 2 or (plan.layout.flat and width % 2):
                continue
            kept = plan.widths[kind]
            plan.widths[kind] = width
            tried = plan.price(scene, price)
            if tried < price - 1e-9:
                price = tried
            else:
                plan.widths[kind] = kept
    if plan.layout.flat:
        wide = max(plan.widths.values(), default=4)
        for what, values in (("deep", range(2, 11)), ("lean", range(-wide // 2, wide // 2 + 1))):
            for value in values:
                kept_value = getattr(plan, what)
                setattr(plan, what, value)
                tried = plan.price(scene, price)
                if tried < price - 1e-9:
                    price = tried
                else:
                    setattr(plan, what, kept_value)
    return price


def seat(work: Work, sizes: dict[Named, float]) -> Seats:
    """Seats for every ring of a window. sizes: across, in points, for every name in it."""
    plan = Plan(work, sizes)
    recipe = work.layout.recipe
    taken: set[Named] = set()
    units = [b for b in recipe.blocks if b.kind in ("unit", "row", "again")]
    firsts = [b for b in recipe.blocks if b.kind == "first row"]
    lead = _blocks_of([*units, *firsts], taken)
    early = _blocks_of([b for b in recipe.blocks if b.kind == "start"], taken)
    late = _blocks_of(
        [b for b in recipe.blocks if b.kind in ("last row", "row end", "finish")], taken
    )
    if not lead:
        lead, early = early, []
    late += _parts_of(plan, taken)
    _seek(plan, lead, frozenset(), True)
    plan.spread_lanes()
    known = frozenset(n for b in lead for n in b.names)
    for block in (*early, *late):
        _seek(plan, [block], known, False)
        known |= frozenset(block.names)
    return _seats(plan)


def _seats(plan: Plan) -> Seats:
    origins = {} if plan.layout.flat else plan.origins()
    at: dict[Ring, Point] = {}
    rows: dict[int, float] = {}
    for ring in plan.rings:
        x, y = plan.cell(ring, origins)
        at[ring] = (x * plan.hx, y * plan.hy)
        rows.setdefault(ring.row, at[ring][1])
    return Seats(at, plan.again, rows, plan.levels, plan.hy)
