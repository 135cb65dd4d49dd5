"""After how many units a piece comes round again, and whether a unit is several smaller ones.

Comes in: a `Weave`. Goes out: the period of the links and that of the whole piece, in units.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from ringstep.language.syntax import Stated
from ringstep.language.tree import Piece
from ringstep.weave.piece import Weave
from ringstep.weave.work import Act, Ring


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

    def seen(rings: tuple[Ring, ...]) -> tuple[object, ...]:
        return tuple(sorted((r.role, r.index, r.row - act.row, r.unit - act.unit) for r in rings))

    links = (tuple((r.role, r.index) for r in act.new), seen(act.through))
    if not lays:
        return links
    lies = act.side if act.owes_lay else None, tuple(map(seen, act.stops)), act.toward
    return (act.step.kind, *links, seen(act.held), seen(act.handled), lies, len(act.dropped))


def _unit_marks(acts: list[Act], lays: bool) -> tuple[object, ...]:
    """What a unit comes to: the order of its moves counts, that of its links does not."""
    placing = frozenset(_mark(a, lays) for a in acts if a.new or a.through)
    moves = tuple(_mark(a, lays) for a in acts if lays and not (a.new or a.through))
    return (placing, moves)


def _grouped(acts: Iterable[Act], by: Literal["row", "unit"]) -> list[list[Act]]:
    """Acts row by row, or unit by unit, in order."""
    groups: dict[int, list[Act]] = {}
    for act in acts:
        groups.setdefault(getattr(act, by), []).append(act)
    return [groups[at] for at in sorted(groups)]


def _units(weave: Weave) -> tuple[list[list[Act]], bool] | None:
    """The acts of each unit of one cycle, or of the written-out units, in order."""
    if repeat := weave.repeat:
        return _grouped(repeat.acts, "unit"), True
    layout = weave.work.layout
    if layout.flat or any(not s.fixed for s in layout.along):
        return None  # a plan of different stretches does not come round
    written = _grouped((a for a in weave.work.acts if a.block.kind == "unit"), "unit")
    # The first units cannot reach back as far as the others do.
    early = weave.layout.reach - (weave.layout.block("start") is not None)
    while len(written) > 2 and written[0][0].unit <= early:
        del written[0]
    return (written, False) if len(written) > 1 else None


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
    """The periods of a piece; None where too few units are there to tell, and for one that is
    joined of others."""
    found = None if weave.recipe.made else _units(weave)
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
    rows = [_grouped(row, "unit") for row in _grouped(repeat.acts, "row")]
    return _least([[_unit_marks(unit, True) for unit in row] for row in rows], True)


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
    placed = [(ring.role, ring.index) for act in acts[:steps] for ring in act.new]
    order = {name: at for at, name in enumerate(dict.fromkeys(placed))}
    kinds = {k.name.role for k in weave.recipe.rings}
    marks: list[tuple[object, ...]] = []
    base = 0
    try:
        for act in acts[:steps]:
            base = order[act.new[0].role, act.new[0].index] if act.new else base
            ago = (
                tuple(
                    sorted(
                        base - order[r.role, r.index] - (r.unit - act.unit) * len(order)
                        for r in rings
                    )
                )
                for rings in (act.through, act.held, act.handled, *act.stops)
            )
            names = tuple(r.role if r.role in kinds else "" for r in act.new)
            marks.append((act.step.kind, names, *ago, act.side, act.toward))
    except KeyError:
        return None  # a part, or a ring of the start: no smaller unit can be told
    for length in range(1, steps):
        if steps % length == 0 and marks[length:] == marks[:-length]:
            return steps // length
    return None


def repeating(weave: Weave) -> Weave:
    """The weave as a repeat: written-out units are folded into the cycle that their last ones
    show, so that a hand-out can be compared with a recipe that says 'unit:'."""
    if weave.repeat is not None or weave.layout.written == 0:
        return weave
    period = period_of(weave)
    size = period.piece if period else 1
    recipe = weave.recipe
    written = sorted(
        (b for b in recipe.blocks if isinstance(b.label, int)), key=lambda b: int(b.label or 0)
    )
    turn = written[-size:]
    labels = [None] if size == 1 else [f"turn{i}" for i in range(size)]
    blocks = tuple(replace(b, label=label) for b, label in zip(turn, labels, strict=True))
    start = tuple(b for b in recipe.blocks if b.kind == "start")
    span = turn[0].span
    order = tuple(Stated(str(b.label), span) for b in blocks) if size > 1 else ()
    piece = Piece("chain", span, 12 * size, order=order)
    return Weave(replace(recipe, blocks=(*start, *blocks), piece=piece), weave.variant)
