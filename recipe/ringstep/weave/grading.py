"""Rings whose size changes along the piece: which lines hold where, and how many rings of each.

Comes in: the `Work` of a window and a recipe. Goes out: exact counts for the whole piece, by line
and by stretch. The start and the finish go with the place beside them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ringstep.language.syntax import RingKind, joined
from ringstep.language.tree import Tree
from ringstep.weave.layout import Layout
from ringstep.weave.work import Act, Ring, Work

#: Rings placed open, placed closed and taken out.
Counts = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Grading:
    """A piece whose sizes change along it. whole: as it will be; work: its window, carried out."""

    recipe: Tree
    whole: Layout
    work: Work

    @property
    def places(self) -> int:
        """How many units a chain has, or rows a sheet."""
        return self.whole.rows if self.whole.flat else self.whole.units

    def counts(self, role: str, index: int) -> list[tuple[RingKind, Counts]]:
        """For each line that holds for a ring how many of the piece it holds for."""
        kinds = self.recipe.kinds_of(role, index)
        found = []
        left = self._between(role, index, 1, self.places)
        for kind in kinds:
            own = left
            if at := kind.along:
                own = self._between(role, index, at.first, at.last)
                left = (left[0] - own[0], left[1] - own[1], left[2] - own[2])
            found.append((kind, own))
        return [(kind, n) for kind, n in found if n[0] + n[1]]

    def _between(self, role: str, index: int, first: int, last: int) -> Counts:
        """The rings of a name from one place to another, both included."""
        found = [0, 0, 0]
        layout = self.work.layout

        def tell(act: Act, ring: Ring, how: int) -> None:
            rows, units = layout.numbers_of((act.row, act.unit), (ring.row, ring.unit))
            line, times = (rows, len(units)) if layout.flat else (units, len(rows))
            low = line[0] if first <= 1 else first
            high = line[-1] if last >= self.places else last
            found[how] += _within(line, low, high) * times

        for act in self.work.acts:
            taken = act.handled if act.step.kind == "take out" else ()
            for how, rings in ((0 if act.opens else 1, act.new), (2, taken)):
                for ring in rings:
                    if (ring.role, ring.index) == (role, index):
                        tell(act, ring, how)
        return found[0], found[1], found[2]

    def stretches(
        self, names: dict[str, tuple[int, ...]]
    ) -> Iterator[tuple[int, int, list[tuple[str, RingKind]]]]:
        """The stretches of the piece in which no size changes, none where none ever does.

        Each with its first and its last place, and what rings of changing size stand there: their
        name and the line that holds for them. names: the numbers of the rings of each role.
        """
        recipe = self.recipe
        graded = [(r, i) for r, each in names.items() for i in each if recipe.graded(r, i)]
        edges = {1, self.places + 1}
        for role, index in graded:
            for at in (kind.along for kind in recipe.kinds_of(role, index)):
                edges |= {at.first, at.last + 1} if at else set()
        starts = sorted(e for e in edges if 1 <= e <= self.places + 1)
        for first, behind in zip(starts, starts[1:] if graded else [], strict=False):
            here: dict[str, RingKind] = {}
            for role, index in graded:
                own = {id(recipe.kinds_of(role, i)) for i in names[role]}
                kind = recipe.kind_of(role, index, first)
                if kind and any(self._between(role, index, first, behind - 1)):
                    here.setdefault(role if len(own) == 1 else joined(role, index), kind)
            yield first, behind - 1, list(here.items())


def even_at(recipe: Tree, place: int) -> Tree:
    """The recipe as if every ring had the size that it has at one place."""
    rings = []
    for kind in recipe.rings:
        role, index = kind.name.role, kind.name.index or 0
        if not kind.along and not recipe.graded(role, index):
            rings.append(kind)
        elif recipe.kind_of(role, index, place) is kind:
            rings.append(replace(kind, along=None))
    return replace(recipe, rings=tuple(rings))


def _within(numbers: range, low: int, high: int) -> int:
    """How many of the numbers lie from low to high."""
    step = numbers.step
    first = max(0, -(-(low - numbers.start) // step))
    last = min(len(numbers) - 1, (high - numbers.start) // step)
    return max(0, last - first + 1)
