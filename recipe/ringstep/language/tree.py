"""A whole recipe as written, as plain data: its piece, its picture and all sections together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from ringstep.language.promised import (
    ComesOut,
    Lies,
    LiesFolded,
    Meets,
    Period,
    UnitSize,
    WorkingRange,
)
from ringstep.language.source import Source, Span
from ringstep.language.syntax import Block, PartKind, RingKind, Side, Size, Stated, Step


@dataclass(frozen=True)
class Variant:
    """A named pattern of lays, taken unit by unit."""

    name: str
    sides: tuple[Side, ...]
    span: Span


@dataclass(frozen=True)
class Sample:
    """So many units, measured. label: which named units; None where all of the piece are alike."""

    units: int
    size: Size
    label: Stated | None = None


@dataclass(frozen=True)
class Piece:
    """What is made of the units.

    kind: chain, loop, sheet or tube. units, rows: None where a length is given instead.
    length: the wanted length. runs: how many units of each name in `order`, worked one after the
    other, once; None where none is stated. Without runs the names take turns.
    """

    kind: Literal["chain", "loop", "sheet", "tube"]
    span: Span
    units: int | None
    rows: int | None = None
    length: Size | None = None
    back_and_forth: bool = False
    order: tuple[Stated, ...] = ()
    runs: tuple[int | None, ...] = ()
    variant: Stated | None = None
    samples: tuple[Sample, ...] = ()

    @property
    def sample(self) -> Sample | None:
        """What was measured of units of the piece, whichever they are."""
        return next((s for s in self.samples if s.label is None), None)

    def sample_of(self, label: str) -> Sample | None:
        """What was measured of the units of a name."""
        return next((s for s in self.samples if s.label and s.label.value == label), None)


@dataclass(frozen=True)
class KeyLine:
    """A line of the key of `picture:`: a letter, and the rings it stands for.

    material: "" where they are of the material of their ring's line under `rings:`.
    """

    letter: str
    colour: str
    material: str
    span: Span

    @property
    def words(self) -> str:
        """What the rings look like: 'red', 'bright copper'."""
        return f"{self.colour} {self.material}".rstrip()


@dataclass(frozen=True)
class PictureRow:
    """One line of the picture: how many places of which letter, as the row lies from left to right.

    runs: as written, so that a long row costs no more than its text.
    """

    runs: tuple[tuple[int, str], ...]
    span: Span

    @property
    def places(self) -> int:
        """How many places it colours."""
        return sum(count for count, _ in self.runs)

    @property
    def letters(self) -> str:
        """A letter for each place."""
        return "".join(letter * count for count, letter in self.runs)


@dataclass(frozen=True)
class Picture:
    """The colours of a sheet or tube, row by row.

    roles: whose rings it colours, where that is said. key: one line a letter.
    """

    roles: tuple[Stated, ...]
    key: tuple[KeyLine, ...]
    rows: tuple[PictureRow, ...]
    span: Span


@dataclass(frozen=True)
class ShapeLine:
    """A line of `shape:`: which rows, and how many places they have.

    rows: the first and the last row it names, as written. change: by how many places each is wider
    than the row before it, below 0 where it is narrower; None where its places are written out.
    each: True where it says 'each'. runs: how many places, from left to right, are worked or empty.
    """

    rows: tuple[int, int]
    span: Span
    change: int | None = None
    each: bool = False
    runs: tuple[tuple[int, bool], ...] = ()

    @property
    def places(self) -> int:
        """How many places its runs come to."""
        return sum(count for count, _ in self.runs)


@dataclass(frozen=True)
class Note:
    """A line of `notes:`: its first word (`sizes`, `source`, `about`) and the rest."""

    topic: str
    text: str
    span: Span


@dataclass(frozen=True)
class Tree:
    """A whole recipe as written.

    blocks: in the order in which they are worked. headings: the sections there are.
    unread: the sections in which a line could not be read, '?' where that is a heading.
    """

    source: Source
    title: str | None
    rings: tuple[RingKind, ...]
    parts: tuple[PartKind, ...]
    meets: tuple[Meets, ...]
    lies: tuple[Lies, ...]
    unit_sizes: tuple[UnitSize, ...]
    periods: tuple[Period, ...]
    ranges: tuple[WorkingRange, ...]
    coming_out: tuple[ComesOut, ...]
    folded: tuple[LiesFolded, ...]
    variants: tuple[Variant, ...]
    notes: tuple[Note, ...]
    blocks: tuple[Block, ...]
    piece: Piece | None
    picture: Picture | None
    shape: tuple[ShapeLine, ...]
    headings: frozenset[str]
    unread: frozenset[str]

    @property
    def promises(self) -> tuple[Meets | Lies, ...]:
        """What is promised of rings."""
        return (*self.meets, *self.lies)

    @cached_property
    def part_roles(self) -> frozenset[str]:
        """What the parts are called."""
        return frozenset(p.name.role for p in self.parts)

    def kind_of(self, role: str, index: int) -> RingKind | None:
        """The line of `rings:` that says what size a ring has: its own, its role's, or `all`."""
        kinds = self._kinds
        return kinds.get((role, index)) or kinds.get((role, None)) or kinds.get(("all", None))

    @cached_property
    def _kinds(self) -> dict[tuple[str, int | None], RingKind]:
        """The lines of `rings:` by name, the first of each; `all` in lower case."""
        return {
            ("all" if (role := k.name.role).casefold() == "all" else role, k.name.index): k
            for k in reversed(self.rings)
        }

    def stays_closed(self, role: str, index: int) -> bool:
        """True for a ring that no step may open."""
        kind = self.kind_of(role, index)
        return kind is not None and kind.stays_closed

    def steps(self) -> tuple[Step, ...]:
        """Every step of the recipe in the order of its number."""
        return tuple(step for block in self.blocks for step in block.steps)
