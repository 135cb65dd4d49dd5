"""After how many units a piece comes round again, and whether a unit is several smaller ones.

Comes in: a `Weave`. Goes out: the period of the links and that of the whole piece, in units.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringstep.weave.piece import Weave
from ringstep.weave.steps import Act


@dataclass(frozen=True)
class Periods:
    """links: after how many units the links repeat; piece: links, lays and moves together.

    rows: after how many rows a sheet or tube repeats, 1 where there are none.
    """

    links: int
    piece: int
    rows: int = 1


def _mark(act: Act, lays: bool) -> tuple[object, ...]:
    """One act as seen from its own unit."""

    def seen(rings: tuple[object, ...]) -> tuple[object, ...]:
        return tuple(
            sorted(
                (r.role, r.index, r.row - act.row, r.unit - act.unit)  # type: ignore[attr-defined]
                for r in rings
            )
        )

    new = tuple((r.role, r.index) for r in act.new)
    if not lays:
        return (new, seen(act.through))
    return (
        act.step.kind,
        new,
        seen(act.through),
        seen(act.held),
        seen(act.handled),
        act.side if act.owes_lay else None,
        tuple(map(seen, act.stops)),
        act.toward,
        len(act.dropped),
    )


def _unit_marks(acts: list[Act], lays: bool) -> tuple[object, ...]:
    """What a unit comes to: the order of its moves counts, that of its links does not."""
    placing = frozenset(_mark(a, lays) for a in acts if a.new or a.through)
    moves = tuple(_mark(a, lays) for a in acts if lays and not (a.new or a.through))
    return (placing, moves)


def _units(weave: Weave) -> tuple[list[list[Act]], bool] | None:
    """The acts of each unit of one cycle, or of the written-out units, in order."""
    if repeat := weave.repeat:
        by_unit: dict[int, list[Act]] = {}
        for act in repeat.acts:
            by_unit.setdefault(act.unit, []).append(act)
        return [by_unit[u] for u in sorted(by_unit)], True
    layout = weave.work.layout
    if layout.flat or any(not s.fixed for s in layout.along):
        return None  # a plan of different stretches does not come round
    written: dict[int, list[Act]] = {}
    for act in weave.work.acts:
        if act.block.kind == "unit":
            written.setdefault(act.unit, []).append(act)
    # The first units cannot reach back as far as the others do.
    early = weave.layout.reach - (weave.layout.block("start") is not None)
    while len(written) > 2 and min(written) <= early:
        del written[min(written)]
    return ([written[u] for u in sorted(written)], False) if len(written) > 1 else None


def _least(marks: Sequence[object], closed: bool) -> int:
    """The least number of units after which a row of marks repeats."""
    size = len(marks)
    for step in range(1, size):
        if closed and size % step:
            continue
        if all(marks[i] == marks[i % step] for i in range(size)):
            return step
    return size


def period_of(weave: Weave) -> Periods | None:
    """The periods of a piece; None where too few units are there to tell."""
    found = _units(weave)
    if found is None:
        return None
    units, closed = found
    whole = _least([_unit_marks(acts, True) for acts in units], closed)
    links = _least([_unit_marks(acts, False) for acts in units], closed)
    if not closed and 2 * whole > len(units):
        return None  # what is written out never comes round
    return Periods(links, whole, _rows(weave))


def _rows(weave: Weave) -> int:
    """After how many rows the piece comes round again."""
    repeat = weave.repeat
    if repeat is None or not weave.layout.flat:
        return 1
    by_row: dict[int, dict[int, list[Act]]] = {}
    for act in repeat.acts:
        by_row.setdefault(act.row, {}).setdefault(act.unit, []).append(act)
    rows = [by_row[row] for row in sorted(by_row)]
    return _least([[_unit_marks(r[unit], True) for unit in sorted(r)] for r in rows], True)


def smaller_unit(weave: Weave) -> int | None:
    """How many equal smaller units one unit is made of; None where it is the smallest.

    Read off the order of the steps: each step is seen from the ring it places, every ring it
    names by how many rings ago that was placed. Sizes, lays and moves count as much as links, so
    a folded chain is not taken for a straight one.
    """
    repeat = weave.repeat
    if repeat is None or len(weave.layout.order) != 1 or weave.layout.flat:
        return None
    if repeat.strands() != 1:
        return None  # strands side by side are told apart by their names
    steps = len(weave.layout.order[0].steps)
    acts = [a for a in repeat.acts if not a.dropped]
    cycle = repeat.cycle[1]
    if len(acts) != steps * cycle or steps < 2:
        return None
    order: dict[tuple[str, int], int] = {}
    for act in acts[:steps]:
        for ring in act.new:
            order[(ring.role, ring.index)] = len(order)
    size = len(order)

    def ago(act: Act, base: int, rings: tuple[object, ...]) -> tuple[int, ...]:
        found = []
        for r in rings:
            at = order[(r.role, r.index)] + (r.unit - act.unit) * size  # type: ignore[attr-defined]
            found.append(base - at)
        return tuple(sorted(found))

    marks, base = [], 0
    kinds = {k.name.role for k in weave.recipe.rings}
    try:
        for act in acts[:steps]:
            names = tuple(r.role if r.role in kinds else "" for r in act.new)
            base = order[(act.new[0].role, act.new[0].index)] if act.new else base
            marks.append(
                (
                    act.step.kind,
                    names,
                    ago(act, base, act.through),
                    ago(act, base, act.held),
                    ago(act, base, act.handled),
                    act.side,
                    tuple(ago(act, base, stop) for stop in act.stops),
                    act.toward,
                )
            )
    except KeyError:
        return None  # a part, or a ring of the start: no smaller unit can be told
    for length in range(1, steps):
        if steps % length == 0 and marks[length:] == marks[:-length]:
            return steps // length
    return None
