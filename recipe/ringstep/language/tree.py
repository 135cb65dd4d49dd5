"""A whole recipe as written, as plain data: its piece, its picture and all sections together."""

from __future__ import annotations

from bisect import bisect_right
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
from ringstep.language.syntax import Block, PartKind, Ref, RingKind, Side, Size, Stated, Step


@dataclass(frozen=True)
class Variant:
    """A named pattern of lays, taken unit by unit."""

    name: str
    sides: tuple[Side, ...]
    span: Span


@dataclass(frozen=True)
class Sample:
    """So many units, measured. label: which named units; None where all of the piece are alike.

    state, day: how the piece lay and when, of a sample that is not the recipe's but kept beside it.
    """

    units: int
    size: Size
    label: Stated | None = None
    state: str = ""
    day: str = ""


@dataclass(frozen=True)
class Strand:
    """One of several chains that hang on the start.

    name: also that of its unit, where it has one of its own. units: None where a length is given.
    """

    name: Stated
    units: int | None
    length: Size | None = None


@dataclass(frozen=True)
class Piece:
    """What is made of the units.

    kind: chain, loop, sheet or tube. units, rows: None where a length is given instead.
    length: the wanted length. runs: how many units of each name in `order`, worked one after the
    other, once; None where none is stated. Without runs the names take turns. strands: where there
    are some, `order` has their names.
    """

    kind: Literal["chain", "loop", "sheet", "tube"]
    span: Span
    units: int | None
    rows: int | None = None
    length: Size | None = None
    back_and_forth: bool = False
    order: tuple[Stated, ...] = ()
    runs: tuple[int | None, ...] = ()
    strands: tuple[Strand, ...] = ()
    variant: Stated | None = None
    samples: tuple[Sample, ...] = ()

    @property
    def lengths(self) -> tuple[Size, ...]:
        """Every length that it is given, its own or its strands'."""
        return tuple(s for s in (self.length, *(x.length for x in self.strands)) if s)

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
class SizeLine:
    """A line of `sizes:`: in the set of that name, the sizes of one kind of ring."""

    size: str
    kind: RingKind
    span: Span


@dataclass(frozen=True)
class ShapeLine:
    """A line of `shape:`: which rows, and how many places they have.

    rows: the first and the last row it names, as written. change: by how many places each is wider
    than the row before it, below 0 where it is narrower; None where its places are written out.
    each: True where it says 'each'. runs: how many places, from left to right, are worked or empty.
    count: how many places each of them has, where that is said.
    """

    rows: tuple[int, int]
    span: Span
    change: int | None = None
    each: bool = False
    runs: tuple[tuple[int, bool], ...] = ()
    count: int | None = None

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
class Made:
    """A piece that is made first, so many times, and joined later.

    tree: the recipe of one of them alone, its steps numbered as in the whole.
    """

    name: Stated
    times: int
    tree: Tree


@dataclass(frozen=True)
class Tree:
    """A whole recipe as written.

    rings: in the sizes that hold; written: as they are written. sizes: the sets, line by line.
    size: the set whose sizes hold, "" for those of `rings:`.
    blocks: in the order in which they are worked. headings: the sections there are.
    unread: the sections in which a line could not be read, '?' where that is a heading.
    made: the pieces that are made first; `blocks` has then only what joins them.
    of, joins, elsewhere: of such a piece what one is called, what the joining steps name of it, and
    the rings that it does not place itself.
    """

    source: Source
    title: str | None
    rings: tuple[RingKind, ...]
    sizes: tuple[SizeLine, ...]
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
    written: tuple[RingKind, ...] = ()
    size: str = ""
    made: tuple[Made, ...] = ()
    of: str = ""
    joins: tuple[Ref, ...] = ()
    elsewhere: frozenset[str] = frozenset()

    @property
    def promises(self) -> tuple[Meets | Lies, ...]:
        """What is promised of rings."""
        return (*self.meets, *self.lies)

    @cached_property
    def part_roles(self) -> frozenset[str]:
        """What the parts are called."""
        return frozenset(p.name.role for p in self.parts)

    def kinds_of(self, role: str, index: int) -> tuple[RingKind, ...]:
        """The lines of `rings:` for a ring: its own, its role's, or those of `all`.

        Several where sizes change along the piece, the one for what they leave out last.
        """
        kinds = self._kinds
        names = ((role, index), (role, None), ("all", None))
        return next((kinds[name] for name in names if name in kinds), ())

    def kind_of(self, role: str, index: int, place: int = 1) -> RingKind | None:
        """The line of `rings:` that says what size a ring has.

        place: the number of its unit, in a sheet of its row, where sizes change along the piece.
        The start goes with the first of them.
        """
        kinds = self.kinds_of(role, index)
        if len(kinds) < 2:
            return next(iter(kinds), None)
        place = max(place, 1)
        ranged = len(kinds) - (kinds[-1].along is None)
        at = bisect_right(kinds, place, 0, ranged, key=_first) - 1
        near = kinds[max(at, 0)]
        inside = near.along is not None and near.along.first <= place <= near.along.last
        return near if inside or ranged == len(kinds) else kinds[-1]

    @cached_property
    def _kinds(self) -> dict[tuple[str, int | None], tuple[RingKind, ...]]:
        """The lines of `rings:` by name, `all` in lower case; of lines of one place the first."""
        found: dict[tuple[str, int | None], dict[tuple[int, int] | None, RingKind]] = {}
        for kind in self.rings:
            role = "all" if kind.name.role.casefold() == "all" else kind.name.role
            at = (kind.along.first, kind.along.last) if kind.along else None
            found.setdefault((role, kind.name.index), {}).setdefault(at, kind)
        return {name: tuple(sorted(each.values(), key=_first)) for name, each in found.items()}

    def graded(self, role: str, index: int) -> bool:
        """True for a ring whose size changes along the piece."""
        return any(kind.along for kind in self.kinds_of(role, index))

    def stays_closed(self, role: str, index: int) -> bool:
        """True for a ring that no step may open."""
        return any(kind.stays_closed for kind in self.kinds_of(role, index))

    def steps(self) -> tuple[Step, ...]:
        """Every step in the order of its number, but for those of pieces that are made first."""
        return tuple(step for block in self.blocks for step in block.steps)

    @property
    def every_block(self) -> tuple[Block, ...]:
        """Every block, those of the pieces that are made first before those that join them."""
        return (*(b for made in self.made for b in made.tree.blocks), *self.blocks)

    def every_step(self) -> tuple[Step, ...]:
        """Every step of the recipe in the order of its number."""
        return tuple(step for block in self.every_block for step in block.steps)


def _first(kind: RingKind) -> int:
    """The first place for which a line holds; those for all other places come last."""
    return kind.along.first if kind.along else 10**15
