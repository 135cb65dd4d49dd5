"""The syntax tree: a recipe as written, every piece of it with its place on the page."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import count
from typing import Literal

from ringstep.language.measures import to_mm
from ringstep.language.source import Span
from ringstep.language.words import PLACES

Side = Literal["front", "back"]
Hand = Literal["left", "right"]
StepKind = Literal[
    "close",
    "add",
    "reopen",
    "fold back",
    "spread",
    "turn over",
    "hold",
    "tie",
    "tighten",
    "take out",
    "untie",
    "let go",
]
BlockKind = Literal[
    "start",
    "unit",
    "first row",
    "row",
    "extra place",
    "shared place",
    "again",
    "last row",
    "row end",
    "finish",
    "join",
]

#: Blocks of sheets and tubes, worked row by row.
ROW_BLOCKS: frozenset[str] = frozenset(
    {"row", "first row", "last row", "row end", "extra place", "shared place"}
)
#: Worked in place of the steps of the row they stand under, where rounds grow and shrink.
ROUND_BLOCKS: frozenset[str] = frozenset({"extra place", "shared place"})
#: Steps that place rings; every other kind handles rings already in the work.
PLACING: frozenset[str] = frozenset({"close", "add"})
#: Steps in which a ring is open and can go through others.
OPENING: frozenset[str] = frozenset({"add", "reopen"})
#: Said in a list of the rings that the step places before the one in hand.
ONE_ANOTHER = "one another"
#: More rings than this in one step is a slip; the list of them would only fill the memory.
MOST_AT_ONCE = 500


@dataclass(frozen=True)
class Name:
    """A ring as the author calls it: `core`, `M1`, `core 1`.

    role: the name without its number.
    index: the number, or None where the role alone is named.
    """

    role: str
    index: int | None
    span: Span

    def __str__(self) -> str:
        return self.role if self.index is None else joined(self.role, self.index)


def joined(role: str, index: int) -> str:
    """A role and a number as one name; a word and its number stay apart, both can be typed.

    >>> joined("M", 1), joined("core", 12)
    ('M1', 'core 12')
    """
    return f"{role}{index}" if len(role) == 1 else f"{role} {index}"


_NUMBERED = re.compile(r"(.*?\D)(\d+)\Z", re.S)


def split_name(word: str) -> tuple[str, int | None]:
    """Part a name from its number.

    >>> split_name("M12"), split_name("core")
    (('M', 12), ('core', None))
    """
    found = _NUMBERED.match(word)
    return (found[1], int(found[2])) if found else (word, None)


@dataclass(frozen=True)
class NewItem:
    """Rings placed by a step: `count` of a role (`2 S`) or one named ring (`S1`)."""

    name: Name
    count: int | None
    span: Span

    @property
    def indexes(self) -> range:
        """The numbers of the rings: `2 S` is 1 and 2, `S` is 1, `S2` is 2."""
        if self.count is not None:
            return range(1, min(self.count, MOST_AT_ONCE) + 1)
        index = self.name.index or 1
        return range(index, index + 1)


@dataclass(frozen=True)
class OfPiece:
    """Which of the pieces that are made first a ring stands in: `panel 1`.

    number: None where none is said. edge: along which the step is repeated, 'last row', 'left
    edge', 'every unit'; "" where it is not. backwards: True where it goes the other way.
    """

    name: str
    number: int | None
    edge: str = ""
    backwards: bool = False

    def __str__(self) -> str:
        return self.name if self.number is None else f"{self.name} {self.number}"

    @property
    def along(self) -> str:
        """The edge as it is typed: 'along last row backwards'; "" where there is none."""
        back = " backwards" if self.backwards else ""
        return f"along {self.edge}{back}" if self.edge else ""


@dataclass(frozen=True)
class Ref:
    """Rings named in a list: where (`prev`, `above next`), which, and whether they may be absent.

    places: the words of place in the order written; the last may be the name of a strand.
    number: a number wrongly written before the name (`prev 2 A`), kept to be refused.
    then: True where it is gone through further along the new ring than the item before it.
    of: in which piece made first it stands, None where it is of the work in hand.
    """

    places: tuple[str, ...]
    name: Name
    if_there: bool
    span: Span
    number: int | None = None
    then: bool = False
    of: OfPiece | None = None

    @property
    def every(self) -> bool:
        """True where it means all rings of the name, of the row at its end or else of the piece."""
        return "every" in self.places

    @property
    def strand(self) -> str:
        """The strand that it names, "" where it names none."""
        word = self.places[-1] if self.places else ""
        return "" if word in PLACES or self.of else word

    @property
    def one_another(self) -> bool:
        """True where it stands for the rings that the step itself has placed before."""
        return self.name.role == ONE_ANOTHER

    def __str__(self) -> str:
        of = (str(self.of), self.of.along) if self.of else ("", "")
        words = (of[0], *self.places, str(self.name), of[1], "if there" * self.if_there)
        return " ".join(word for word in words if word)


@dataclass(frozen=True)
class Stated:
    """A number or a word the author stated, with its place."""

    value: str
    span: Span

    @property
    def number(self) -> int:
        """The value as a whole number."""
        return int(self.value)


@dataclass(frozen=True)
class Step:
    """One numbered thing a maker does.

    number: counted from 1 through the whole recipe, in the order in which blocks are worked.
    new: rings placed; refs: the rings a handling move, `take out` or `reopen` names.
    through: rings gone through; around, inside: rings that hold without being linked.
    picks: how many rings the author says it picks up; lay: front, back or varies.
    toward: left, right or 'each side', where new or folded rings come to lie.
    at_one_place: True where it says so; else only `then` tells at how many places it goes through.
    hint: the author's own words, printed with the step.
    """

    number: int
    kind: StepKind
    span: Span
    new: tuple[NewItem, ...] = ()
    refs: tuple[Ref, ...] = ()
    through: tuple[Ref, ...] = ()
    around: tuple[Ref, ...] = ()
    inside: tuple[Ref, ...] = ()
    picks: Stated | None = None
    lay: Stated | None = None
    toward: Stated | None = None
    at_one_place: bool = False
    skip_at_edge: bool = False
    hint: str = ""

    @property
    def placed(self) -> tuple[tuple[str, int], ...]:
        """The role and number of each ring it places."""
        return tuple((item.name.role, index) for item in self.new for index in item.indexes)

    @property
    def one_another(self) -> bool:
        """True where each ring it places goes through those placed before it."""
        return any(ref.one_another for ref in self.through)

    @property
    def first_closed(self) -> bool:
        """True where the first of its rings goes through none, and so is laid closed."""
        return self.one_another and not (
            self.around or self.inside or any(not ref.one_another for ref in self.through)
        )

    @property
    def stops(self) -> tuple[tuple[Ref, ...], ...]:
        """The items gone through, place by place along the new ring as `then` parts them."""
        found: list[tuple[Ref, ...]] = []
        for ref in self.through:
            if found and not ref.then:
                found[-1] += (ref,)
            else:
                found.append((ref,))
        return tuple(found)


@dataclass(frozen=True)
class Block:
    """A heading and its steps; label is the name or number of a unit block.

    differs: 'instead' where a numbered unit is meant to be another one than its siblings, 'also'
    where it is worked like them and its steps are added.
    """

    kind: BlockKind
    label: str | int | None
    span: Span
    steps: tuple[Step, ...]
    differs: Literal["", "instead", "also"] = ""

    @cached_property
    def placed(self) -> dict[str, tuple[int, ...]]:
        """Which rings of each role its steps place, by number; not to be changed."""
        found: dict[str, list[int]] = {}
        for step in self.steps:
            if step.kind in PLACING:
                for item in step.new:
                    found.setdefault(item.name.role, []).extend(item.indexes)
        return {role: tuple(dict.fromkeys(have)) for role, have in found.items()}

    @property
    def called(self) -> str:
        """What a sentence calls it: 'the unit', 'unit 3'."""
        return f"the {self}" if self.label is None else str(self)

    def __str__(self) -> str:
        if self.kind in ROUND_BLOCKS:
            return str(self.kind)  # which row it belongs to is told by where it stands
        return " ".join(
            str(w) for w in (self.kind, self.label, self.differs) if w not in (None, "")
        )


def first_repeated(blocks: Iterable[Block]) -> int:
    """The first unit that is not written out, and so is filled by a unit that repeats."""
    written = {b.label for b in blocks if b.kind == "unit"}
    return next(unit for unit in count(1) if unit not in written)


@dataclass(frozen=True)
class Size:
    """A length as written: the exact number and its unit, None where no unit was given."""

    number: Fraction
    unit: str | None
    span: Span
    text: str

    @property
    def mm(self) -> float | None:
        """The same in mm, None where it has no unit or none we know."""
        try:
            return to_mm(self.number, self.unit) if self.unit else None
        except ValueError:
            return None


@dataclass(frozen=True)
class Along:
    """A stretch of the piece: units of a chain, rows of a sheet, counted from 1, ends included."""

    first: int
    last: int
    rows: bool
    span: Span

    def __str__(self) -> str:
        word = "row" if self.rows else "unit"
        if self.first == self.last:
            return f"{word} {self.first}"
        return f"{word}s {self.first} to {self.last}"


@dataclass(frozen=True)
class RingKind:
    """A line of `rings:`; the role `all` stands for every ring without a line of its own.

    stays_closed: True for welded or rubber rings, which no step opens. along: where it holds, None
    for the whole piece.
    """

    name: Name
    wire: Size | None
    inside: Size | None
    material: str
    colour: str
    span: Span
    stays_closed: bool = False
    along: Along | None = None

    @property
    def words(self) -> str:
        """The ring as its line names it: 'A', 'A, units 1 to 8'."""
        return f"{self.name}, {self.along}" if self.along else str(self.name)

    @property
    def look(self) -> tuple[str, ...]:
        """What is said of it beside its size: material, colour, that it stays closed."""
        closed = "stays closed" if self.stays_closed else ""
        return tuple(w for w in (self.material, self.colour, closed) if w)

    @property
    def mm(self) -> tuple[float | None, float | None]:
        """Its wire and its inside in mm, None for what is not given."""
        return self.wire.mm if self.wire else None, self.inside.mm if self.inside else None


@dataclass(frozen=True)
class PartKind:
    """A line of `parts:`: a clasp, a bead; `opens` when it can be opened like a ring.

    words: what it is, its sizes among them. length, width: how large it is, where that is said;
    what is round has one size for both. hole: how wide its hole is.
    """

    name: Name
    words: str
    opens: bool
    span: Span
    length: Size | None = None
    width: Size | None = None
    hole: Size | None = None

    @property
    def sizes(self) -> tuple[Size, ...]:
        """Every size that is given, once."""
        given = (self.length, self.width, self.hole)
        return tuple(dict.fromkeys(size for size in given if size))
