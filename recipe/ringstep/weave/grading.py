"""Rings whose size changes along the piece: which lines hold where, and how many rings of each.

Comes in: the `Work` of a window and a recipe. Goes out: exact counts for the whole piece, by line.
The start and the finish go with the place beside them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ringstep.language.syntax import RingKind, joined
from ringstep.language.tree import Tree
from ringstep.weave.steps import Act, Ring, Work

#: Far beyond every place of a piece.
_FAR = 10**15


def holds(kinds: tuple[RingKind, ...]) -> Iterator[tuple[int, int, RingKind]]:
    """Where each line holds, from its first to its last place; the line for the rest is left out.

    Without such a line the outermost ones hold for what lies beyond them.
    """
    lines = sorted((k.along.first, k.along.last, k) for k in kinds if k.along) if kinds else []
    plain = any(kind.along is None for kind in kinds)
    for at, (first, last, kind) in enumerate(lines):
        low = first if plain or at else -_FAR
        yield low, last if plain or at < len(lines) - 1 else _FAR, kind


def spans(
    recipe: Tree, names: dict[str, tuple[int, ...]], places: int
) -> list[tuple[int, int, list[tuple[str, RingKind]]]]:
    """The stretches of a piece of so many places in which no size changes.

    Each with its first and its last place, and for every ring whose size changes anywhere its
    name and the line that holds for it there. names: the numbers of the rings of each role.
    """
    graded = [(r, i) for r, each in names.items() for i in each if recipe.graded(r, i)]
    edges = {1}
    for role, index in graded:
        for kind in recipe.kinds_of(role, index):
            if kind.along:
                edges |= {kind.along.first, kind.along.last + 1}
    if not graded:
        return []
    starts = sorted(e for e in edges if 1 <= e <= places)
    found = []
    for first, behind in zip(starts, [*starts[1:], places + 1], strict=True):
        here: dict[str, RingKind] = {}
        for role, index in graded:
            own = {recipe.kinds_of(role, i) for i in names[role]}
            if there := recipe.kind_of(role, index, first):
                here.setdefault(role if len(own) == 1 else joined(role, index), there)
        found.append((first, behind - 1, list(here.items())))
    return found


def even_at(recipe: Tree, place: int) -> Tree:
    """The recipe as if every ring had the size that it has at one place."""
    rings = []
    for kind in recipe.rings:
        kinds = recipe.kinds_of(kind.name.role, kind.name.index or 0)
        if len(kinds) > 1 or kind.along:
            here = recipe.kind_of(kind.name.role, kind.name.index or 0, place)
            if here is not kind:
                continue
        rings.append(replace(kind, along=None))
    return replace(recipe, rings=tuple(rings))


def _within(numbers: range, low: int, high: int) -> int:
    """How many of the numbers lie from low to high."""
    step = numbers.step
    first = max(0, -(-(low - numbers.start) // step))
    last = min(len(numbers) - 1, (high - numbers.start) // step)
    return max(0, last - first + 1)


def graded_counts(
    work: Work, recipe: Tree, role: str, index: int
) -> list[tuple[RingKind, tuple[int, int, int]]]:
    """Rings placed open, placed closed and taken out, for each line that holds for a ring."""
    kinds = recipe.kinds_of(role, index)
    found: dict[int, list[int]] = {id(kind): [0, 0, 0] for kind in kinds}

    def tell(act: Act, ring: Ring, how: int) -> None:
        rows, units = work.layout.numbers_of((act.row, act.unit), (ring.row, ring.unit))
        line, times = (rows, len(units)) if work.layout.flat else (units, len(rows))
        left = len(line)
        for low, high, kind in holds(kinds):
            here = _within(line, low, high)
            found[id(kind)][how] += here * times
            left -= here
        found[id(kinds[-1])][how] += left * times

    for act in work.acts:
        taken = act.handled if act.step.kind == "take out" else ()
        for how, rings in ((0 if act.opens else 1, act.new), (2, taken)):
            for ring in rings:
                if (ring.role, ring.index) == (role, index):
                    tell(act, ring, how)
    counted = ((kind, found[id(kind)]) for kind in kinds)
    return [(kind, (n[0], n[1], n[2])) for kind, n in counted if n[0] + n[1]]
