"""Which block stands where in the piece, and how large a window proves the whole of it.

Comes in: the syntax tree. Goes out: a `Layout`, a small frozen map from places to blocks.
Places are (row, unit): a chain is row 1 with its start at unit 0 and its finish behind the last
unit; a sheet has rows 1, 2, … with its start in row 0 and its finish below the last row.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property
from itertools import count
from math import ceil, lcm
from typing import Literal

from ringstep.language.measures import to_mm
from ringstep.language.record import record
from ringstep.language.syntax import Block, BlockKind, Recipe, Ref, Size, Step

PieceKind = Literal["chain", "loop", "sheet", "tube"]


@record
class Layout:
    """How the blocks of one recipe fill its piece.

    rows, units: how many are laid out here (a window may hold fewer than the piece).
    known: False where the length is given but no sample says how many units that is.
    """

    recipe: Recipe
    kind: PieceKind
    rows: int
    units: int
    known: bool = True

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
        piece = self.recipe.piece
        if plain := self.block("unit"):
            return (plain,)
        named = [b for b in self.recipe.blocks if b.kind == "unit" and isinstance(b.label, str)]
        if piece and piece.order:
            by_label = {b.label: b for b in named}
            return tuple(by_label[s.value] for s in piece.order if s.value in by_label)
        return tuple(named)

    @cached_property
    def row_order(self) -> tuple[Block, ...]:
        """The row blocks that take turns: one `row:`, or named ones in their order."""
        piece = self.recipe.piece
        if plain := self.block("row"):
            return (plain,)
        named = {b.label: b for b in self.recipe.blocks if b.kind == "row"}
        if piece and piece.order:
            return tuple(named[s.value] for s in piece.order if s.value in named)
        return tuple(named.values())

    @cached_property
    def repeats(self) -> bool:
        """True where a block repeats, so that the piece has a steady part."""
        return bool(self.order or self.row_order)

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
                first = self.block("first row")
                if row == 1 and first:
                    found = [first, self.block("again", "first row")]
                else:
                    turn = row - 1 - bool(first)
                    rows = self.row_order
                    found = [rows[turn % len(rows)] if rows else None, self.block("again")]
        elif unit == 0:
            found = [self.block("start")]
        elif unit > self.units:
            found = [self.block("finish")]
        elif (written := self.block("unit", unit)) is not None:
            found = [written]
        else:
            found = [self.order[(unit - 1) % len(self.order)]] if self.order else []
        return tuple(b for b in found if b is not None)

    @cached_property
    def idle(self) -> tuple[Block, ...]:
        """The blocks that no place of the piece is worked by, such as a turn that 'order' lacks."""
        turns, labels = len(self.order), {b.label for b in self.recipe.blocks}
        units = {0, 1, self.units + 1, *(n for n in labels if isinstance(n, int))}
        for turn in range(turns):  # the first unit of each turn that is not written out
            units.add(next(u for u in count(turn + 1, turns) if u not in labels))
        rows = range(min(self.rows, 1 + len(self.row_order)) + 1) if self.flat else (1,)
        places = [(row, unit) for row in (*rows, self.rows + 1) for unit in units]
        worked = {
            (b.kind, b.label)
            for row, unit in places
            if unit <= self.units + 1
            for b in self.blocks_at(row, unit)
        }
        return tuple(b for b in self.recipe.blocks if (b.kind, b.label) not in worked)

    def way(self, row: int) -> int:
        """+1 where a row is worked from unit 1 on, -1 where it is worked back."""
        piece = self.recipe.piece
        return -1 if self.flat and piece and piece.back_and_forth and row % 2 == 0 else 1

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
        patterns = [len(v.sides) for v in self.recipe.variants]
        turns = sum(s.kind == "turn over" for b in self.order for s in b.steps)
        return lcm(len(self.order) or 1, *patterns, 1) * (1 + turns % 2)

    @cached_property
    def row_cycle(self) -> int:
        """After how many rows the working direction and the turnings come round again."""
        piece = self.recipe.piece
        blocks = (*self.row_order, self.block("row end"))
        turns = sum(s.kind == "turn over" for b in blocks if b for s in b.steps)
        back = 2 if piece and piece.back_and_forth else 1
        return lcm(back, len(self.row_order) or 1, 1 + turns % 2)

    @cached_property
    def edge_rows(self) -> int:
        """Rows at the beginning that are not yet steady."""
        return (1 if self.block("first row") else 0) + self.row_reach

    @cached_property
    def _room(self) -> tuple[int, int]:
        """Rows and units that hold one cycle with the reach of every step on both sides."""
        deep = self.edge_rows + self.row_reach + self.row_cycle if self.flat else 1
        return deep, self.written + 3 * self.reach + self.cycle + 1

    def window(self) -> Layout:
        """The same piece with no more rows and units than its proof needs.

        Past the written-out units and the reach of a step, every unit adds the same links one
        unit on; so a full cycle of finished units with room on both sides stands for all. The
        number of units is cut by whole cycles, which keeps the lays of both ends in step.
        """
        deep, room = self._room
        rows = _cut(self.rows, deep, self.row_cycle) if self.flat else self.rows
        return replace(self, rows=rows, units=_cut(self.units, room, self.cycle))

    def steady(self) -> Layout:
        """A window that surely holds one steady cycle, however short the piece itself is."""
        window = self.window()
        if not self.repeats:
            return window
        deep, room = self._room
        return replace(window, rows=max(window.rows, deep), units=max(window.units, room))


def refs_of(step: Step) -> tuple[Ref, ...]:
    """Every ring a step names that it does not place."""
    return (*step.refs, *step.through, *step.around, *step.inside)


def reach_of(steps: Iterable[Step]) -> int:
    """How many units steps reach along the work, counted in words of place."""
    return max((len(_along(ref)) for step in steps for ref in refs_of(step)), default=0)


def _along(ref: Ref) -> tuple[str, ...]:
    return tuple(p for p in ref.places if p != "above")


def _cut(count: int, room: int, cycle: int) -> int:
    return count if count <= room + cycle else room + (count - room) % cycle


def mm_or_none(size: Size | None) -> float | None:
    """A size in mm, or None where it has no unit or none we know."""
    if size is None or size.unit is None:
        return None
    try:
        return to_mm(size.number, size.unit)
    except ValueError:
        return None


def lay_out(recipe: Recipe) -> Layout:
    """Work out how many rows and units the piece has and where its blocks stand."""
    piece = recipe.piece
    written = max((b.label for b in recipe.blocks if isinstance(b.label, int)), default=0)
    if piece is None:
        flat = any(b.kind in ("row", "first row") for b in recipe.blocks)
        repeats = any(b.kind == "unit" and not isinstance(b.label, int) for b in recipe.blocks)
        return Layout(recipe, "sheet" if flat else "chain", 1, written + repeats, not repeats)
    if piece.units is not None:
        flat = piece.kind in ("sheet", "tube")
        only_written = (
            written
            and not flat
            and not any(b.kind == "unit" and not isinstance(b.label, int) for b in recipe.blocks)
        )
        units = written if only_written else piece.units
        return Layout(recipe, piece.kind, piece.rows or 1, units)
    length, sample = mm_or_none(piece.length), piece.sample
    sample_mm = mm_or_none(sample[1]) if sample else None
    if length and sample and sample_mm:
        return Layout(recipe, piece.kind, 1, max(1, ceil(length / sample_mm * sample[0] - 1e-9)))
    rough = Layout(recipe, piece.kind, 1, 1, False)
    return replace(rough, units=rough.steady().units)
