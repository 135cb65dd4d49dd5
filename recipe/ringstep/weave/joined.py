"""Pieces made first and then joined: where each stands among the others, and where a joining step
goes.

Comes in: a recipe with pieces that are made first. Goes out: `Joined`, the layout of the whole.
The units of the pieces are counted on from one to the next. What the joining steps place stands in
rows below 0, one for each step, at unit 1, or at units 1, 2, … where a step goes along edges.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from ringstep.language.syntax import Block, Ref, Step
from ringstep.language.tree import Tree
from ringstep.weave.layout import Layout, Place, refs_of

#: What is wrong with where a joining step goes.
NO_PIECE, WHICH_PIECE, WHICH_PLACE, NO_EDGE, UNLIKE = (
    "no such piece",
    "which piece",
    "which place",
    "no such edge",
    "unlike edges",
)


@dataclass(frozen=True)
class Copy:
    """One of the pieces made first.

    made: which of the pieces of the recipe; number: which of those made of it. layout: of the piece
    alone. first: the unit of the whole at which its unit 0 stands.
    """

    made: int
    number: int
    layout: Layout
    first: int
    called: str


@dataclass(frozen=True)
class Joined(Layout):
    """The layout of pieces that are made first and of the steps that join them."""

    copies: tuple[Copy, ...] = ()

    @cached_property
    def _firsts(self) -> list[int]:
        return [copy.first for copy in self.copies]

    @cached_property
    def block_of_joining(self) -> Block | None:
        """The block whose steps join the pieces."""
        return self.block("join")

    @cached_property
    def joining(self) -> tuple[Step, ...]:
        """The steps that join the pieces."""
        return self.block_of_joining.steps if self.block_of_joining else ()

    @cached_property
    def _own(self) -> tuple[tuple[Block, ...], ...]:
        """Each joining step as a block of its own."""
        return tuple((Block("join", None, s.span, (s,)),) for s in self.joining)

    def copy_at(self, row: int, unit: int) -> Copy | None:
        """The piece in which a place of the whole stands; None for what joins them."""
        return self.copies[bisect_right(self._firsts, unit) - 1] if row >= 0 else None

    def blocks_at(self, row: int, unit: int) -> tuple[Block, ...]:
        """The blocks worked at a place of one of the pieces, or the step that joins them there."""
        copy = self.copy_at(row, unit)
        return copy.layout.blocks_at(row, unit - copy.first) if copy else self._own[-row - 1]

    def number(self, unit: int) -> int:
        """The number of a unit in its own piece."""
        copy = self.copy_at(1, unit)
        return copy.layout.number(unit - copy.first) if copy else unit

    def window(self, row_step: int = 1, step: int = 1, room: int = 0) -> Joined:
        """The whole: it is carried out ring by ring."""
        return self

    @property
    def idle(self) -> tuple[Block, ...]:
        """Nothing: each piece says that of itself."""
        return ()

    def lines(self, step: Step) -> list[tuple[Ref, int]]:
        """The edges that a step goes along, and how many places each has; none where it does not.

        Of one that cannot be gone along nothing is said here.
        """
        found = []
        for ref in refs_of(step):
            if ref.of and ref.of.edge and (copy := self._copy(ref)) and not isinstance(copy, str):
                places = edge_places(copy.layout, ref)
                found += [(ref, len(places))] if places is not None else []
        return found

    def times(self, step: Step) -> int:
        """How often a joining step is carried out."""
        along = any(ref.of and ref.of.edge for ref in refs_of(step))
        return min((n for _, n in self.lines(step)), default=0) if along else 1

    def _copy(self, ref: Ref) -> Copy | str:
        assert ref.of is not None
        own = [c for c in self.copies if self.recipe.made[c.made].name.value == ref.of.name]
        if ref.of.number is None:
            return own[0] if len(own) == 1 else WHICH_PIECE
        return next((c for c in own if c.number == ref.of.number), NO_PIECE)

    def edges_at(self, step: Step, copy: Copy, place: Place) -> list[tuple[str, int]]:
        """The edges along which a step goes through a place of a piece, each with how far along it
        the step is then; further than it goes where the place is missed."""
        found = []
        for ref in step.through:
            if ref.of and ref.of.edge and self._copy(ref) is copy:
                places = edge_places(copy.layout, ref) or []
                if place in places:
                    by = ref.places.count("next") - ref.places.count("prev")
                    found.append((ref.of.edge, places.index(place) + 1 - by))
        return found

    def look(self, ref: Ref, row: int, unit: int) -> Place | str | None:
        """The place that an item of a joining step looks at; see `places.look`."""
        if ref.of is None:
            return self._own_place(ref, row, unit)
        copy = self._copy(ref)
        if isinstance(copy, str):
            return copy
        at = place_of(copy.layout, ref, unit)
        return (at[0], at[1] + copy.first) if isinstance(at, tuple) else at

    def _own_place(self, ref: Ref, row: int, unit: int) -> Place | str | None:
        """Where the joining steps themselves have placed a ring; `prev` is the one before along
        the edge."""
        role, index = ref.name.role, ref.name.index
        if odd := next((word for word in ref.places if word not in ("prev", "next")), ""):
            return odd
        by = ref.places.count("next") - ref.places.count("prev")
        placing = [n for n, s in enumerate(self.joining, 1) if _places(s, role, index)]
        here = self.joining[-row - 1]
        if role in self.recipe.part_roles or not placing:
            return row, unit
        if -row not in placing:
            if len(placing) > 1:
                return WHICH_PLACE
            often = self.times(self.joining[placing[0] - 1])
            if often > 1 and often != self.times(here):
                return WHICH_PLACE
            row, unit = -placing[0], unit if often > 1 else 1
        last = self.times(self.joining[-row - 1])
        return (row, unit + by) if 1 <= unit + by <= last else None


def _places(step: Step, role: str, index: int | None) -> bool:
    return any(r == role and index in (None, i) for r, i in step.placed)


def _standing(layout: Layout, ref: Ref, places: list[Place]) -> list[Place]:
    """Those of some places at which a ring of the name is placed."""
    role, index = ref.name.role, ref.name.index

    def has(place: Place) -> bool:
        have = (i for b in layout.blocks_at(*place) for i in b.placed.get(role, ()))
        return any(index in (None, i) for i in have)

    return [place for place in places if has(place)]


def _all_places(layout: Layout) -> Iterator[Place]:
    """Every place of a piece in the order of the work, its ends as well."""
    if not layout.flat:
        yield from ((1, unit) for unit in range(layout.units + 2))
        return
    yield 0, 0
    for row in range(1, layout.rows + 1):
        yield from ((row, unit) for unit in layout.along_row(row))
        yield row, layout.units + 1
    yield layout.rows + 1, 0


def edges_had(layout: Layout) -> tuple[str, ...]:
    """The edges along which a joining step can go."""
    if not layout.flat:
        return ("every unit",)
    sides = ("left edge", "right edge") if layout.kind == "sheet" else ()
    return ("first row", "last row", *sides)


def edge_places(layout: Layout, ref: Ref) -> list[Place] | None:
    """The places along an edge at which such a ring stands, from left to right or from the first
    row on; None where the piece has no such edge. Looked up once for each piece."""
    assert ref.of is not None
    key = (ref.of.edge, ref.of.backwards, ref.name.role, ref.name.index)
    if key not in layout.along_edges:
        layout.along_edges[key] = _along_edge(layout, ref, ref.of.edge, ref.of.backwards)
    return layout.along_edges[key]


def _along_edge(layout: Layout, ref: Ref, edge: str, backwards: bool) -> list[Place] | None:
    if edge not in edges_had(layout):
        return None
    if edge == "every unit":
        found = [(1, unit) for unit in range(layout.units + 2)]
    elif edge in ("first row", "last row"):
        row = 1 if edge == "first row" else layout.rows
        found = [(row, unit) for unit in sorted(layout.along_row(row))]
    else:
        side = edge == "right edge"
        found = [(row, layout.ends(row)[side]) for row in range(1, layout.rows + 1)]
    places = _standing(layout, ref, found)
    return places[::-1] if backwards else places


def place_of(layout: Layout, ref: Ref, nth: int) -> Place | str | None:
    """The place in a piece that an item of a joining step means; nth: how far along the edge.

    None off the piece; what is wrong where no place is meant.
    """
    assert ref.of is not None
    words = ref.places
    by = words.count("next") - words.count("prev")
    if odd := next((w for w in words if w in ("above", "every")), ""):
        return odd
    ends = [w for w in words if w in ("first", "last")]
    if ref.of.edge:
        along = edge_places(layout, ref)
        if along is None:
            return NO_EDGE
        if ends or "first row" in words or "last row" in words:
            return words[0]
        return along[nth - 1 + by] if 0 <= nth - 1 + by < len(along) else None
    places = list(_all_places(layout))
    for row_word in (w for w in words if w.endswith(" row")):
        if not layout.flat:
            return row_word
        row = 1 if row_word == "first row" else layout.rows
        places = [place for place in places if place[0] == row]
    found = _standing(layout, ref, places)
    if not found:
        return places[0] if places else None
    if not ends and len(found) > 1:
        return WHICH_PLACE
    at = (0 if ends[:1] != ["last"] else len(found) - 1) + by
    return found[at] if 0 <= at < len(found) else None


def edges_of(layout: Layout, row: int, unit: int) -> set[str]:
    """The edges of a sheet or tube on which a place lies."""
    found = {"first row"} if row <= 1 else set()
    found |= {"last row"} if row >= layout.rows else set()
    left, right = layout.ends(min(max(row, 1), layout.rows))
    found |= {"left edge"} if unit <= left else set()
    found |= {"right edge"} if unit >= right else set()
    return found & set(edges_had(layout))


def lay_joined(recipe: Tree, layouts: tuple[Layout, ...]) -> Joined:
    """Work out where each piece that is made first stands among the others.

    layouts: of each of these pieces alone.
    """
    copies: list[Copy] = []
    at = 0
    for which, (made, layout) in enumerate(zip(recipe.made, layouts, strict=True)):
        for number in range(1, made.times + 1):
            called = f"{made.name.value} {number}" if made.times > 1 else f"the {made.name.value}"
            copies.append(Copy(which, number, layout, at, called))
            at += layout.units + 3
    known = all(copy.layout.known for copy in copies)
    return Joined(recipe, "joined", (), (), known, None, tuple(copies))


def joined_on(layout: Layout, recipe: Tree) -> frozenset[tuple[str, int | None, int, int]]:
    """The rings of one piece that joining steps hang on: role, number, row and unit."""
    found = set()
    for ref in recipe.joins:
        assert ref.of is not None
        along = edge_places(layout, ref) if ref.of.edge else None
        for nth in range(1, len(along or [0]) + 1):
            if isinstance(at := place_of(layout, ref, nth), tuple):
                found.add((ref.name.role, ref.name.index, *at))
    return frozenset(found)
