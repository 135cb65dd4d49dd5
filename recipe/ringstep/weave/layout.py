"""Which block stands where in the piece, run by run, and how little of it stands for the whole.

Comes in: the syntax tree. Goes out: a `Layout`, a small frozen map from places to blocks.
Places are (row, unit): a chain is row 1 with its start at unit 0 and its finish behind the last
unit; a sheet has rows 1, 2, … with its start in row 0 and its finish below the last row.

A sheet with a `shape:` has places that are not worked, a tube with one rounds that grow or shrink.
Both are carried out whole.

A window is the same piece with long stretches cut to what the reach of a step can tell apart: both
borders and one whole cycle of blocks and lays between, which then stands for those left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate
from math import ceil, lcm
from typing import Literal

from ringstep.language.syntax import Block, BlockKind, Ref, Step
from ringstep.language.tree import Piece, Tree
from ringstep.weave.runs import NoRuns, counts_for_now, run_counts
from ringstep.weave.shape import MOST_SHAPED, Shape, shape_of
from ringstep.weave.strands import Strands, strand_counts
from ringstep.weave.stretches import Stretch, in_runs, is_plan, spot, stretches

#: A row and a unit.
Place = tuple[int, int]
PieceKind = Literal["chain", "loop", "sheet", "tube", "joined"]


@dataclass(frozen=True)
class Layout:
    """How the blocks of one recipe fill its piece.

    along: the units of the piece (or of a row) in stretches; down: its rows.
    known: False where the length is given but no sample says how many units that is.
    shape: which places of a sheet are worked; None where all of them are.
    """

    recipe: Tree
    kind: PieceKind
    along: tuple[Stretch, ...]
    down: tuple[Stretch, ...]
    known: bool = True
    shape: Shape | None = None

    @cached_property
    def along_edges(self) -> dict[tuple[str, bool, str, int | None], list[Place] | None]:
        """What was looked up of its edges; see `joined.edge_places`."""
        return {}

    @cached_property
    def units(self) -> int:
        """How many units are laid out here (a window may hold fewer than the piece)."""
        return self._begins_along[-1] - 1

    @cached_property
    def rows(self) -> int:
        """How many rows are laid out here."""
        return self._begins_down[-1] - 1

    @cached_property
    def flat(self) -> bool:
        """True for sheets and tubes, which have rows."""
        return self.kind in ("sheet", "tube")

    @cached_property
    def _blocks(self) -> dict[tuple[BlockKind, str | int | None], Block]:
        return {(b.kind, b.label): b for b in self.recipe.blocks}

    def block(self, kind: BlockKind, label: str | int | None = None) -> Block | None:
        """The block of that heading, or None."""
        return self._blocks.get((kind, label))

    @cached_property
    def written(self) -> int:
        """The highest number of a written-out unit, 0 where there is none."""
        return max((b.label for b in self.recipe.blocks if isinstance(b.label, int)), default=0)

    @cached_property
    def order(self) -> tuple[Block, ...]:
        """The unit blocks that take turns: one `unit:`, or named ones in their order."""
        return turns_of(self.recipe, "unit")

    @cached_property
    def row_order(self) -> tuple[Block, ...]:
        """The row blocks that take turns: one `row:`, or named ones in their order."""
        return turns_of(self.recipe, "row")

    @cached_property
    def turning(self) -> tuple[Stretch, ...]:
        """The stretches of the piece whose blocks repeat, along or down."""
        return tuple(s for s in (self.down if self.flat else self.along) if s.goes_round)

    @cached_property
    def repeats(self) -> bool:
        """True where one round of blocks fills the piece, so that the whole of it is steady."""
        rounds = {tuple(map(id, s.blocks)) for s in self.turning}
        once = any(
            not s.goes_round and not s.fixed for s in (self.down if self.flat else self.along)
        )
        return len(rounds) == 1 and not once and not self.strands and self.rounds is None

    @cached_property
    def strands(self) -> Strands | None:
        """The strands laid out here; None where the piece is one chain, or has rows."""
        if not any(s.strand for s in self.along):
            return None
        spans, placed = {}, {}
        for begin, stretch in zip(self._begins_along, self.along, strict=False):
            spans[stretch.strand] = range(begin, begin + stretch.count)
            blocks = (*stretch.blocks, self.block("again"))
            placed[stretch.strand] = frozenset(
                (role, i) for b in blocks if b for role, have in b.placed.items() for i in have
            )
        return Strands(spans, placed)

    def unit_name(self, unit: int) -> str:
        """A unit laid out here by its number in the piece: 'unit 3', 'unit 3 of strand left'."""
        strand = self.strands.name_of(unit) if self.strands else ""
        return f"unit {self.number(unit)}" + (f" of strand {strand}" if strand else "")

    def apart(self, unit: int, other: int) -> int:
        """How many units on another place stands, along its strand where there are some."""
        return self.strands.apart(unit, other) if self.strands else other - unit

    def round_on(self, place: Place, other: Place) -> int:
        """How many places on another stands, in rounds that grow or shrink; below 0 before it.

        A place above counts from what the first one goes with there, one below likewise back.
        """
        rounds, rows = self.rounds, range(1, self.rows + 1)
        if rounds is None or place[0] not in rows or other[0] not in rows:
            return 0
        if other[0] > place[0]:
            return -self.round_on(other, place)
        (row, first), ends = place, self.block("row end")
        first = last = min(first, self.width(row) + 1)
        while row > other[0]:
            first, last = rounds.above(row, first)[0], rounds.above(row, last)[1]
            row -= 1
        more = place[0] == row and ends is not None and bool(ends.placed)
        wide, unit = self.width(row) + more, min(other[1], self.width(row) + 1)
        if (unit - first) % wide <= last - first:
            return 0
        ahead, back = (unit - last) % wide, (first - unit) % wide
        return ahead if ahead <= back else -back

    @cached_property
    def _begins_along(self) -> list[int]:
        """The first place of each stretch of units, counted from 1, and the one behind the last."""
        return list(accumulate((s.count for s in self.along), initial=1))

    @cached_property
    def _begins_down(self) -> list[int]:
        """The same of the rows."""
        return list(accumulate((s.count for s in self.down), initial=1))

    def _unit(self, unit: int) -> tuple[Stretch, int] | None:
        return spot(self.along, self._begins_along, unit)

    def _row(self, row: int) -> tuple[Stretch, int] | None:
        return spot(self.down, self._begins_down, row)

    def numbers_of(self, place: Place, ring: Place) -> tuple[range, range]:
        """The rows and the units of all rings that one ring laid out here stands for.

        place: row and unit of the act that handles it. ring: row and unit of the ring itself.
        """
        rows, units = self.numbers(*place)
        own_rows, own_units = self.numbers(*ring)
        return (
            _handled(rows, own_rows, ring[0] - place[0]),
            _handled(units, own_units, ring[1] - place[1]),
        )

    def spot(self, row: int, unit: int) -> tuple[Stretch, int] | None:
        """The stretch in which a place stands (of rows in a sheet, else of units) and where
        in it; None for the start, the finish and what lies off the piece."""
        return self._row(row) if self.flat else self._unit(unit)

    def number(self, unit: int) -> int:
        """The number that a unit laid out here has in the whole piece."""
        inside = min(max(unit, 1), self.units)
        spot = self._unit(inside)
        return spot[0].number(spot[1]) + unit - inside if spot else unit

    def row_number(self, row: int) -> int:
        """The number that a row laid out here has in the whole piece."""
        inside = min(max(row, 1), self.rows)
        spot = self._row(inside)
        return spot[0].number(spot[1]) + row - inside if spot else row

    def numbers(self, row: int, unit: int) -> tuple[range, range]:
        """The numbers of the rows, and of the units, that a place laid out here stands for."""
        down, along = self._row(row), self._unit(unit)
        own = self.row_number(row), self.number(unit)
        return (
            down[0].numbers(down[1]) if down else range(own[0], own[0] + 1),
            along[0].numbers(along[1]) if along else range(own[1], own[1] + 1),
        )

    def stand_for_each(self, row: int, unit: int) -> tuple[int, int]:
        """How many units, and how many rows, of the piece a place laid out here stands for."""
        along, down = (
            spot[0].stands_for(spot[1]) if spot else 1
            for spot in (self._unit(unit), self._row(row))
        )
        return along, down

    def stands_for(self, row: int, unit: int) -> int:
        """How many places of the piece a place laid out here stands for."""
        along, down = self.stand_for_each(row, unit)
        return along * down

    def has(self, row: int, unit: int) -> bool:
        """True for a place of the rows that is worked."""
        inside = 1 <= row <= self.rows and 1 <= unit <= self.units
        return inside and (self.shape is None or self.shape.has(row, unit))

    def ends(self, row: int) -> tuple[int, int]:
        """The leftmost and the rightmost place of a row."""
        return self.shape.ends(row) if self.shape and 1 <= row <= self.rows else (1, self.units)

    def width(self, row: int) -> int:
        """How many places of a row are worked."""
        return self.shape.widths[row - 1] if self.shape else self.units

    @cached_property
    def places(self) -> int:
        """How many places are laid out here."""
        return sum(self.shape.widths) if self.shape else self.rows * self.units

    def along_row(self, row: int) -> list[int]:
        """The places of a row as it is worked, one behind the other."""
        first, last = self.ends(row)
        places = range(first, last + 1)[:: self.way(row)]
        return [unit for unit in places if self.shape is None or self.shape.has(row, unit)]

    def row_blocks(self, row: int) -> tuple[Block, ...]:
        """The blocks that a row is worked by, one pass after the other."""
        spot = self._row(row)
        block = spot[0].block(spot[1]) if spot else None
        own = block.kind if block and block.kind in ("first row", "last row") else None
        return tuple(b for b in (block, self.block("again", own)) if b is not None)

    @property
    def rounds(self) -> Shape | None:
        """The shape of a tube whose rounds grow or shrink; None where there is none."""
        shape = self.shape
        return shape if shape and shape.round and len(set(shape.widths)) > 1 else None

    def place_block(self, worked: Block, row: int, unit: int) -> Block:
        """The block that a place is worked by in one pass along its row: of its own where it is
        extra or shared and the row says what is worked there."""
        if self.rounds and worked.kind != "again" and (kind := self.rounds.place_kind(row, unit)):
            label = worked.label if worked.kind == "row" else worked.kind
            return self.block(kind, label) or worked
        return worked

    def blocks_at(self, row: int, unit: int) -> tuple[Block, ...]:
        """The blocks worked at a place, in working order; they share their names."""
        if self.flat:
            if row == 0:
                found = [self.block("start")]
            elif row > self.rows:
                found = [self.block("finish")]
            elif unit > self.units or unit < 1:
                found = [self.block("row end")]
            else:
                worked = self.row_blocks(row) if self.has(row, unit) else ()
                return tuple(self.place_block(b, row, unit) for b in worked)
        elif unit == 0:
            found = [self.block("start")]
        elif unit > self.units:
            found = [self.block("finish")]
        elif spot := self._unit(unit):
            stretch, at = spot
            found = [stretch.block(at)]
            if stretch.fixed and (more := self.block("unit", stretch.first)) not in found:
                found.append(more)  # the steps that this unit has also
            found.append(self.block("again"))
        return tuple(b for b in found if b is not None)

    @cached_property
    def idle(self) -> tuple[Block, ...]:
        """The blocks that no place of the piece is worked by, such as a turn that 'order' lacks."""
        worked: set[tuple[BlockKind, str | int | None]] = {("start", None), ("finish", None)}
        for stretch in (*self.down, *self.along):
            for at in range(min(stretch.count, len(stretch.blocks))):
                if block := stretch.block(at):
                    worked.add((block.kind, block.label))
                    own = block.kind if block.kind in ("first row", "last row") else None
                    worked.add(("again", own))
            if stretch.fixed:
                worked.add(("unit", stretch.first))
        worked.add(("row end" if self.flat else "again", None))
        for row in range(1, self.rows + 1) if self.rounds else ():
            for unit in range(1, self.width(row) + 1):
                worked.update((b.kind, b.label) for b in self.blocks_at(row, unit))
        return tuple(b for b in self.recipe.blocks if (b.kind, b.label) not in worked)

    @cached_property
    def uneven(self) -> tuple[Block, ...]:
        """The blocks of an 'order' that is meant to be worked once and does not come out even.

        A list in which every block stands equally often in a row goes round; one with a block that
        stands alone among runs, or with unequal runs, is a plan of the piece.
        """
        blocks = self.row_order if self.flat else self.order
        ends = [b for b in (self.block("first row"), self.block("last row")) if b]
        places = self.rows - len(ends) if self.flat else self.units
        if self.recipe.piece and (self.recipe.piece.runs or self.recipe.piece.strands):
            return ()
        return blocks if self.known and is_plan(blocks) and places % len(blocks) else ()

    def way(self, row: int) -> int:
        """+1 where a row is worked from unit 1 on, -1 where it is worked back."""
        piece = self.recipe.piece
        back = self.flat and piece and piece.back_and_forth and self.row_number(row) % 2 == 0
        return -1 if back else 1

    @cached_property
    def reach(self) -> int:
        """How many units a step reaches along the work, counted in words of place."""
        return reach_of(self.recipe.steps())

    @cached_property
    def row_reach(self) -> int:
        """How many rows a step reaches back."""
        return max(
            (r.places.count("above") for s in self.recipe.steps() for r in refs_of(s)), default=0
        )

    @cached_property
    def cycle(self) -> int:
        """After how many units the blocks, the lays and the turnings come round again."""
        return self.cycle_of(() if self.flat else self.order)

    def cycle_of(self, blocks: tuple[Block, ...]) -> int:
        """The same where these blocks take turns."""
        turns = sum(s.kind == "turn over" for b in blocks for s in b.steps)
        return lcm(len(blocks) or 1, *(len(v.sides) for v in self.recipe.variants)) * (
            1 + turns % 2
        )

    @cached_property
    def row_cycle(self) -> int:
        """After how many rows the working direction and the turnings come round again."""
        return self.row_cycle_of(self.row_order)

    def row_cycle_of(self, rows: tuple[Block, ...]) -> int:
        """The same where these rows take turns."""
        piece = self.recipe.piece
        blocks = (*rows, self.block("row end"))
        turns = sum(s.kind == "turn over" for b in blocks if b for s in b.steps)
        back = 2 if piece and piece.back_and_forth else 1
        return lcm(back, len(rows) or 1, 1 + turns % 2)

    def window(self, row_step: int = 1, step: int = 1, room: int = 0) -> Layout:
        """The same piece with no more rows and units than its proof needs.

        Within a stretch, past the reach of a step, every unit adds the same links one unit on; so a
        full cycle of finished units with room on both sides stands for all. What is left out are
        whole cycles, which keeps the lays of both ends in step; so many cycles at a time as
        `row_step` and `step` say. room: places kept beyond the reach of the steps.
        """
        if self.shape:
            return self
        reach, deep = self.reach + room, self.row_reach + room
        along = tuple(
            s.shortened(2 * reach, self.cycle_of(s.blocks), reach + 1, step) for s in self.along
        )
        down = tuple(
            s.shortened(2 * deep, self.row_cycle_of(s.blocks), max(deep, 1), row_step)
            for s in self.down
        )
        return replace(self, along=along, down=down if self.flat else self.down)

    def steady(self, stretch: Stretch) -> Layout:
        """One stretch by itself, long enough for one steady cycle: its endless pattern."""
        reach, cycle = self.reach, self.cycle_of(() if self.flat else stretch.blocks)
        room = 3 * reach + cycle + 1
        if not self.flat:
            return replace(self, along=(replace(stretch, count=room, cut=0),))
        first = self.block("first row")
        rows = 2 * self.row_reach + self.row_cycle_of(stretch.blocks)
        top = (Stretch((first,), 0, 1, fixed=True, goes_round=False),) if first else ()
        down = (*top, replace(stretch, count=rows, cut=0))
        return replace(self, along=(Stretch((), 1, room),), down=down, shape=None)


def _handled(numbers: range, own: range, by: int) -> range:
    """The numbers of what places with these numbers handle, so many on: each its neighbour; what
    stands alone is handled by the one that is laid out."""
    moved = range(numbers.start + by, numbers.stop + by, numbers.step)
    return moved if len(numbers) > 1 or moved[0] in own else own[:1]


def turns_of(recipe: Tree, kind: BlockKind) -> tuple[Block, ...]:
    """The blocks of a kind that take turns: the plain one, or named ones in their order."""
    blocks = [b for b in recipe.blocks if b.kind == kind and not isinstance(b.label, int)]
    if kind == "unit" and recipe.piece and recipe.piece.strands:
        own = {b.label: b for b in blocks}
        found = (own.get(s.name.value, own.get(None)) for s in recipe.piece.strands)
        return tuple({id(b): b for b in found if b}.values())
    if plain := next((b for b in blocks if b.label is None), None):
        return (plain,)
    if recipe.piece and recipe.piece.order:
        by_label = {b.label: b for b in blocks}
        labels: Iterable[str] = (s.value for s in recipe.piece.order)
        if recipe.piece.runs:
            labels = dict.fromkeys(labels)
        return tuple(by_label[label] for label in labels if label in by_label)
    return tuple(blocks)


def refs_of(step: Step) -> tuple[Ref, ...]:
    """Every ring a step names that it does not place."""
    through = (ref for ref in step.through if not ref.one_another)
    return (*step.refs, *through, *step.around, *step.inside)


def reach_of(steps: Iterable[Step]) -> int:
    """How many units steps reach along the work, counted in words of place."""
    return max((len(_along(ref)) for step in steps for ref in refs_of(step)), default=0)


def _along(ref: Ref) -> tuple[str, ...]:
    return tuple(p for p in ref.places if p not in ("above", "every", ref.strand))


def _one_row(block: Block | None, number: int) -> tuple[Stretch, ...]:
    """A row of its own, which follows the rows beside it; none where there is no block."""
    return (Stretch((block,), number, 1, goes_round=False, fixed=True),) if block else ()


def lay_out(recipe: Tree) -> Layout:
    """Work out how many rows and units the piece has and where its blocks stand."""
    piece = recipe.piece
    fixed = {b.label: b for b in recipe.blocks if isinstance(b.label, int)}
    written = max(fixed, default=0)
    turns = turns_of(recipe, "unit")
    kind: PieceKind
    rows, units, known = 1, 1, True
    if piece is None:
        flat = any(b.kind in ("row", "first row") for b in recipe.blocks)
        kind, units, known = "sheet" if flat else "chain", written + bool(turns), not turns
    else:
        kind, rows = piece.kind, piece.rows or 1
        length, sample = piece.length and piece.length.mm, piece.sample
        sample_mm = sample.size.mm if sample else None
        if piece.units is not None:
            flat = piece.kind in ("sheet", "tube")
            units = written if written and not flat and not turns else piece.units
        elif length and sample and sample_mm:
            units = max(1, ceil(length / sample_mm * sample.units - 1e-9))
        else:
            known = False
    if kind in ("sheet", "tube"):
        own = {b.kind: b for b in recipe.blocks if b.kind in ("first row", "last row")}
        top = _one_row(own.get("first row"), 1) if rows else ()
        end = _one_row(own.get("last row"), rows) if rows > len(top) else ()
        middle = stretches(turns_of(recipe, "row"), rows - len(top) - len(end), 1 + len(top))
        whole = Layout(recipe, kind, (Stretch((), 1, units),), (*top, *middle, *end), known)
        if not recipe.shape or rows * units > MOST_SHAPED or not rows * units:
            return whole
        shape = shape_of(recipe.shape, rows, units, whole.way, kind == "tube")
        widest = max(shape.ends(row)[1] for row in range(1, rows + 1))
        if kind == "tube" and rows * widest <= MOST_SHAPED:
            return replace(whole, shape=shape, along=(Stretch((), 1, widest),))
        return whole if kind == "tube" else replace(whole, shape=shape)
    down = (Stretch((), 1, 1),)
    if piece and piece.strands:
        return _in_strands(recipe, piece, down)
    if piece and piece.runs:
        by_label = {b.label: b for b in turns}
        try:
            counts, known = run_counts(piece), True
        except NoRuns:  # told by the checks; runs that are long enough show the borders
            room = 3 * reach_of(recipe.steps()) + 2
            counts, known = counts_for_now(piece, room), False
        runs = [(by_label.get(s.value), n) for s, n in zip(piece.order, counts, strict=True)]
        along = in_runs([(block, n) for block, n in runs if block], 1, fixed)
        return Layout(recipe, kind, along, down, known)
    layout = Layout(recipe, kind, stretches(turns, units, 1, fixed), down, known)
    if known or piece is None:
        return layout
    # The length is not known in units: as many as show the whole pattern stand in for it.
    room = written + 3 * layout.reach + layout.cycle + 1
    return replace(layout, along=stretches(turns, room, 1, fixed))


def _in_strands(recipe: Tree, piece: Piece, down: tuple[Stretch, ...]) -> Layout:
    """Strand behind strand; each is a stretch and has its own count of units."""
    try:
        counts, known = strand_counts(piece), True
    except NoRuns:  # told by the checks; strands that are long enough show their patterns
        room = 3 * reach_of(recipe.steps()) + 2
        counts, known = [room if s.units is None else s.units for s in piece.strands], False
    own = {b.label: b for b in recipe.blocks if b.kind == "unit"}
    found = []
    for strand, count in zip(piece.strands, counts, strict=True):
        block = own.get(strand.name.value, own.get(None))
        if block is not None and count:
            name = strand.name.value
            found.append(Stretch((block,), 1, count, goes_round=count > 1, strand=name))
    return Layout(recipe, "chain", tuple(found), down, known)
