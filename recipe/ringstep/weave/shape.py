"""Which places of a sheet or tube are worked, row by row, as its `shape:` says.

Comes in: the lines of `shape:`, and rows, units and ways of the piece. Goes out: a `Shape`, and a
`Misfit` for each line that cannot be carried out. A row that no line names has the edges of the row
before it, and no holes; the row before the first is as wide as the piece.

Rounds of a tube may have more or fewer places than the round above. The places of the longer one
are dealt out evenly to those of the shorter one: place k of the longer goes with place
k × shorter / longer, rounded up. Where several of a round go with one above, all but the first are
extra; where several above go with one, that place is shared by them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from ringstep.language.tree import ShapeLine

#: Places from left to right: the number of the first and of the last.
Run = tuple[int, int]
#: Places of a sheet with a shape; it is carried out whole.
MOST_SHAPED = 40_000


@dataclass(frozen=True)
class Misfit:
    """A line of `shape:` that cannot be carried out.

    row: the first row in which it cannot. width: how many places the row before that has.
    other: the line that names the row already.
    """

    kind: Literal[
        "no such row",
        "named twice",
        "nothing left",
        "too wide",
        "places",
        "all empty",
        "not round",
        "not flat",
    ]
    line: ShapeLine
    row: int
    width: int
    other: ShapeLine | None = None


@dataclass(frozen=True)
class Shape:
    """The places that are worked: for each row its runs, at least one, from left to right.

    misfits: what its lines say that cannot be. round: True where its rows are rounds of a tube.
    """

    rows: tuple[tuple[Run, ...], ...]
    misfits: tuple[Misfit, ...] = ()
    round: bool = False

    def has(self, row: int, unit: int) -> bool:
        """True for a place of a row that is worked."""
        return any(first <= unit <= last for first, last in self.rows[row - 1])

    def ends(self, row: int) -> Run:
        """The outermost places of a row that are worked."""
        runs = self.rows[row - 1]
        return runs[0][0], runs[-1][1]

    @cached_property
    def widths(self) -> tuple[int, ...]:
        """How many places each row has."""
        return tuple(sum(last - first + 1 for first, last in runs) for runs in self.rows)

    def above(self, row: int, unit: int) -> Run:
        """The first and the last place of the round above that a place of a round goes with.

        Places are counted on beyond the end of their round, and back before its first.
        """
        if row < 2:
            return unit, unit
        wide, over = self.widths[row - 1], self.widths[row - 2]
        turns, place = divmod(unit - 1, wide)
        last = -(-(place + 1) * over // wide) if wide > over else (place + 1) * over // wide
        first = last if wide > over else place * over // wide + 1
        return first + turns * over, last + turns * over

    def place_kind(self, row: int, unit: int) -> Literal["", "extra place", "shared place"]:
        """What a place of a round is beside the one above."""
        first, last = self.above(row, unit)
        if last > first:
            return "shared place"
        extra = unit > 1 and self.above(row, unit - 1) == (first, last)
        return "extra place" if extra else ""

    def alike(self, row: int, deep: int) -> bool:
        """True where so many rows above and below a row are as wide as it is."""
        near = self.widths[max(row - deep, 1) - 1 : row + deep]
        return len(set(near)) < 2


def shape_of(
    lines: Iterable[ShapeLine],
    rows: int,
    units: int,
    way: Callable[[int], int],
    round: bool = False,
) -> Shape:
    """The shape of a sheet of so many rows and units.

    way: +1 for a row that is worked from its first unit on, -1 for one that is worked back.
    round: True for a tube. A row of which a line cannot be carried out is as wide as the one before
    it.
    """
    named: dict[int, ShapeLine] = {}
    misfits: list[Misfit] = []
    for line in lines:
        first, last = line.rows
        if last > rows:
            misfits.append(Misfit("no such row", line, max(first, rows + 1), units))
        elif other := next((named[row] for row in range(first, last + 1) if row in named), None):
            row = next(row for row in range(first, last + 1) if row in named)
            misfits.append(Misfit("named twice", line, row, units, other))
        else:
            named.update(dict.fromkeys(range(first, last + 1), line))
    found: list[tuple[Run, ...]] = []
    edges: Run = (1, units)
    told: set[object] = set()
    for row in range(1, rows + 1):
        at = named.get(row)
        runs: tuple[Run, ...] | str = (edges,)
        if at is not None:
            runs = _round(at, edges) if round else _runs(at, edges, units, way(row))
        if isinstance(runs, str):
            # What follows from a row of another width than was meant is not told.
            cause = at.span.line if at and (at.change is None or round) else "width"
            if at is not None and cause not in told:
                told.add(cause)
                width = edges[1] - edges[0] + 1
                misfits.append(Misfit(runs, at, row, width))  # type: ignore[arg-type]
            runs = (edges,)
        edges = runs[0][0], runs[-1][1]
        found.append(runs)
    return Shape(tuple(found), tuple(misfits), round)


def _round(line: ShapeLine, edges: Run) -> tuple[Run, ...] | str:
    """The places of a round that a line names; what is wrong with them where they cannot be."""
    if line.runs:
        return "not round"
    wide = line.count if line.count is not None else edges[1] + (line.change or 0)
    return ((1, wide),) if wide > 0 else "nothing left"


def _runs(line: ShapeLine, edges: Run, units: int, way: int) -> tuple[Run, ...] | str:
    """The places of a row that a line names; what is wrong with them where they cannot be."""
    first, last = edges
    if line.count is not None:
        return "not flat"
    if line.change is None:
        if line.places != units:
            return "places"
        runs: list[Run] = []
        at = 1
        for count, worked in line.runs:
            if worked and runs and runs[-1][1] == at - 1:
                runs[-1] = runs[-1][0], at + count - 1
            elif worked:
                runs.append((at, at + count - 1))
            at += count
        return tuple(runs) or "all empty"
    if line.change < 0:  # the last places of the row as it is worked
        first, last = (first, last + line.change) if way > 0 else (first - line.change, last)
        return ((first, last),) if first <= last else "nothing left"
    first, last = (first - line.change, last) if way > 0 else (first, last + line.change)
    return ((first, last),) if first >= 1 and last <= units else "too wide"
