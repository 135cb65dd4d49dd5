"""The colours of a picture, ring by ring: which rings have which, counted and read row by row.

Comes in: the `Work` of a piece whose recipe has a `picture:`. Goes out: `Colours`. Letter j of line
i is the colour of the rings that the picture is of at row i, place j.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

from ringstep.language.syntax import RingKind
from ringstep.language.tree import KeyLine, Picture, Tree
from ringstep.weave.layout import Layout
from ringstep.weave.work import Act, Ring, Work

#: Blocks whose rings stand at the places of a row.
ALONG = frozenset({"first row", "row", "last row", "again", "extra place", "shared place"})


@dataclass(frozen=True)
class Lot:
    """Rings of one name and one kind in the whole piece.

    kind: its line of `rings:`, in its colour where the picture gives it one; None for a part.
    letter: of the picture, "" for rings that it does not colour.
    """

    role: str
    index: int
    kind: RingKind | None
    letter: str
    opened: int
    closed: int
    taken_out: int

    @property
    def placed(self) -> int:
        """How many a maker handles."""
        return self.opened + self.closed


def pictured_roles(recipe: Tree) -> tuple[str, ...]:
    """Whose rings the picture is of: those it names, or those of rows that place one ring a place.

    None of them where neither tells.
    """
    if recipe.picture and recipe.picture.roles:
        return tuple(dict.fromkeys(role.value for role in recipe.picture.roles))
    placed = [b.placed for b in recipe.blocks if b.kind in ALONG and b.placed]
    single = all(sum(map(len, each.values())) == 1 for each in placed)
    again = any(b.kind == "again" and b.placed for b in recipe.blocks)
    return () if again or not single else tuple(dict.fromkeys(r for each in placed for r in each))


def fits(picture: Picture, layout: Layout) -> bool:
    """True where the picture has a letter of its key for each place of the piece."""
    key = {line.letter for line in picture.key}
    return (
        layout.flat
        and len(picture.rows) == layout.rows
        and all(row.places == layout.width(n) for n, row in enumerate(picture.rows, 1))
        and all(letter in key for row in picture.rows for _, letter in row.runs)
    )


@dataclass(frozen=True)
class Colours:
    """A picture on its piece.

    layout: of the whole piece. work: its window, carried out. roles: whose rings it colours.
    """

    picture: Picture
    layout: Layout
    work: Work
    roles: tuple[str, ...]

    @cached_property
    def key(self) -> dict[str, KeyLine]:
        """The lines of the key by letter."""
        return {line.letter: line for line in self.picture.key}

    @cached_property
    def rows(self) -> tuple[str, ...]:
        """A letter for each place, row by row; a blank for one that is not worked."""
        told = tuple(row.letters for row in self.picture.rows)
        if (shape := self.layout.shape) is None:
            return told
        rows = []
        for runs, letters in zip(shape.rows, told, strict=True):
            row = [" "] * self.layout.units
            worked = [unit for first, last in runs for unit in range(first, last + 1)]
            for unit, letter in zip(worked, letters, strict=True):
                row[unit - 1] = letter
            rows.append("".join(row))
        return tuple(rows)

    def has(self, ring: Ring) -> bool:
        """True for a ring, of the work, that stands at a place of the picture."""
        laid = self.work.layout
        inside = 1 <= ring.row <= laid.rows and 1 <= ring.unit <= laid.units
        return inside and ring.role in self.roles

    def _letters(self, act: Act, ring: Ring) -> Counter[str]:
        """The letters of all the rings of the piece that a ring of an act stands for."""
        laid = self.work.layout
        rows, units = laid.numbers_of((act.row, act.unit), (ring.row, ring.unit))
        found: Counter[str] = Counter()
        for row in rows:
            found.update(self.rows[row - 1][units.start - 1 : units.stop - 1 : units.step])
        return found

    @cached_property
    def counts(self) -> dict[tuple[str, int, str], tuple[int, int, int]]:
        """Rings placed open, placed closed and taken out, by role, number and letter."""
        found: dict[tuple[str, int, str], list[int]] = {}
        for act in self.work.acts:
            taken = act.handled if act.step.kind == "take out" else ()
            for how, rings in ((act.step.kind == "close", act.new), (2, taken)):
                for ring in filter(self.has, rings):
                    for letter, count in self._letters(act, ring).items():
                        found.setdefault((ring.role, ring.index, letter), [0, 0, 0])[how] += count
        return {name: (n[0], n[1], n[2]) for name, n in found.items()}

    @cached_property
    def placed(self) -> Counter[str]:
        """How many rings of each letter a maker places."""
        found: Counter[str] = Counter()
        for (_, _, letter), (opened, closed, _) in self.counts.items():
            found[letter] += opened + closed
        return found

    @cached_property
    def _standing(self) -> dict[tuple[int, int], int]:
        """How many rings of the picture stand at each place of the work."""
        return Counter((r.row, r.unit) for a in self.work.acts for r in filter(self.has, a.new))

    def grid(self) -> Iterator[tuple[int, list[tuple[str, int]]]]:
        """Each row of the whole piece: its number, and from left to right letter and rings."""
        laid = self.work.layout
        down = {n: row for row in range(1, laid.rows + 1) for n in laid.numbers(row, 1)[0]}
        along = {n: unit for unit in range(1, laid.units + 1) for n in laid.numbers(1, unit)[1]}
        order = [along[n] for n in sorted(along)]
        for number, letters in enumerate(self.rows, 1):
            counts = [self._standing.get((down[number], unit), 0) for unit in order]
            yield number, list(zip(letters, counts, strict=True))

    def runs(self) -> Iterator[tuple[int, int, list[tuple[int, str]]]]:
        """Each row as it is worked: its number, its way (-1 back), rings one behind the other."""
        for number, places in self.grid():
            way = self.layout.way(number)
            worked = [place for place in places[::way] if place[1]]
            each = groupby(worked, key=lambda place: self.key[place[0]].words)
            yield number, way, [(sum(n for _, n in same), words) for words, same in each]
