"""From a checked recipe to the unit that is laid out in space.

Comes in: a `Resolved` recipe. Goes out: a `Laid`: the `Cell` of one repeating cycle (or of a whole
piece that does not repeat), with what ties it back to the recipe's rings, steps and units.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from ringstep.language.source import Refused
from ringstep.language.syntax import Block
from ringstep.language.words import listed, plural
from ringstep.space.cell import Cell, CellError, CellLink, CellRing, CellStep
from ringstep.space.fit_laid import Laid
from ringstep.weave.repeats import period_of
from ringstep.weave.resolved import Resolved
from ringstep.weave.ring_graph import Class, FoldedLink
from ringstep.weave.work import Act, Ring, ring_name

#: More rings than this in one cycle would take the search hours.
MOST_RINGS = 60


class NoFit(Refused):
    """A recipe that cannot be laid out in space; the text says why."""


@dataclass(frozen=True, slots=True)
class _Cycle:
    """The acts, rings and links of one cycle, and where any ring of the work lies in it."""

    acts: tuple[Act, ...]
    rings: tuple[Class, ...]
    links: tuple[tuple[Class, Class, tuple[int, int]], ...]
    size: tuple[int, int]
    folded: Callable[[Ring], tuple[Class, tuple[int, int]]]
    dims: int
    origin: int = 0  # the unit of the work with which it begins


def _must_be_even(view: Resolved) -> None:
    """Raises `NoFit` where rings of one name are of several sizes."""
    if any(kind.along for kind in view.recipe.rings):
        raise NoFit("its rings change size along the piece, and a unit has one size for each name")


def laid_out(view: Resolved) -> Laid:
    """The cycle to lay out, in the variant the view has chosen. Raises `NoFit`."""
    _must_be_even(view)
    if view.recipe.made:
        raise NoFit(
            "it is joined of pieces made first, and one way of lying is sought for what repeats;"
            " write the piece you mean as a recipe of its own"
        )
    if view.weave.layout.strands:
        raise NoFit(
            "its strands are unlike or not alone, and one way of lying is sought for what repeats;"
            " write the strand you mean as a 'chain …' in a recipe of its own"
        )
    cycle = _repeating(view) or _written(view) or _whole(view)
    parts = view.recipe.part_roles
    bare = {c for link in cycle.links for c in link[:2] if not parts & {link[0].role, link[1].role}}
    rings = tuple(c for c in cycle.rings if c in bare)
    if not rings:
        raise NoFit("no two rings of it are linked, so there is nothing to lay out")
    if len(rings) > MOST_RINGS:
        raise NoFit(
            f"its {plural(len(rings), 'ring')} would take too long to lay out;"
            f" at most {MOST_RINGS} can be done at once"
        )
    index = {c: at for at, c in enumerate(rings)}
    try:
        cell = Cell(
            tuple(_cell_ring(view, c, cycle) for c in rings),
            tuple(
                CellLink(index[a], index[b], shift[2 - cycle.dims :])
                for a, b, shift in cycle.links
                if a in index and b in index
            ),
            cycle.dims,
        )
    except CellError as fault:
        raise NoFit(str(fault)) from None
    return Laid(
        cell=replace(cell, steps=_steps(cycle, index)),
        kind=view.weave.layout.kind,
        cycle=cycle.size,
        rings=rings,
        notes=_notes(view, cycle, index, parts),
        origin=cycle.origin,
        weave=view.weave,
    )


# -- which cycle ---------------------------------------------------------------------------------


def _repeating(view: Resolved) -> _Cycle | None:
    """The steady cycle, cut to the least number of units after which links and lays repeat."""
    repeat = view.weave.repeat
    if repeat is None:
        return None
    rows, whole = repeat.cycle
    periods = None if repeat.layout.flat else period_of(view.weave)
    units = periods.piece if periods and whole % periods.piece == 0 else whole
    row0, unit0 = repeat.origin

    def folded(ring: Ring) -> tuple[Class, tuple[int, int]]:
        down, along = ring.row - row0, ring.unit - unit0
        here = Class(ring.role, ring.index, down % rows, along % units)
        return here, (down // rows, along // units)

    def cut(link: FoldedLink) -> tuple[Class, Class, tuple[int, int]]:
        along = link.other.unit + link.shift[1] * whole
        other = link.other._replace(unit=along % units)
        return link.ring, other, (link.shift[0], along // units)

    return _Cycle(
        tuple(a for a in repeat.acts if a.unit - unit0 < units),
        tuple(c for c in repeat.classes if c.unit < units),
        tuple(cut(x) for x in repeat.links if x.ring.unit < units),
        (rows, units),
        folded,
        2 if repeat.layout.flat else 1,
        unit0,
    )


def _written(view: Resolved) -> _Cycle | None:
    """The cycle of units written out one by one, where they repeat from the second on."""
    layout, periods = view.weave.layout, period_of(view.weave)
    if periods is None or layout.flat or layout.repeats:
        return None
    units = periods.piece
    unit0 = layout.reach + 1
    if unit0 + units > layout.written or 2 * units > layout.written:
        return None

    def folded(ring: Ring) -> tuple[Class, tuple[int, int]]:
        along = ring.unit - unit0
        return Class(ring.role, ring.index, ring.row - 1, along % units), (0, along // units)

    acts = tuple(
        a
        for a in view.weave.work.acts
        if a.block.kind == "unit" and unit0 <= a.unit < unit0 + units
    )
    rings = tuple(dict.fromkeys(folded(r)[0] for a in acts for r in a.new))
    known = set(rings)
    links = [(folded(new)[0], *folded(other)) for a in acts for new in a.new for other in a.through]
    if any(b not in known for _, b, _ in links):
        return None
    return _Cycle(acts, rings, tuple(links), (1, units), folded, 1, unit0)


def _whole(view: Resolved) -> _Cycle:
    """All rings of a piece in which nothing repeats, without those taken out."""
    work = view.weave.work
    if view.weave.layout.rounds:
        raise NoFit("its rounds grow or shrink, so there is no one unit to lay out")
    if view.weave.layout.flat:
        raise NoFit("its rows do not repeat, so there is no unit to lay out")

    def folded(ring: Ring) -> tuple[Class, tuple[int, int]]:
        return Class(ring.role, ring.index, ring.row, ring.unit), (0, 0)

    rings = tuple(folded(r)[0] for r in sorted(work.links, key=lambda r: (work.placed_by[r], r)))
    links = tuple(
        (folded(a)[0], folded(b)[0], (0, 0)) for a in work.links for b in work.links[a] if a < b
    )
    return _Cycle(work.acts, rings, links, (1, 1), folded, 0)


# -- its rings and steps -------------------------------------------------------------------------


def _cell_ring(view: Resolved, ring: Class, cycle: _Cycle) -> CellRing:
    kind = view.weave.kind_of(ring.role, ring.index)
    wire, inside = kind.mm if kind else (None, None)
    if not wire or not inside:
        raise NoFit(
            f"the size of {ring.role} is not known; give its wire and inside under 'rings:'"
        )
    alike = tuple(c.index for c in cycle.rings if c[0] == ring.role and c[2:] == ring[2:])
    name = ring_name(Ring(ring.role, ring.index, 0, 0), alike)
    where = [str(n + 1) for n, size in zip(ring[2:], cycle.size, strict=True) if size > 1]
    return CellRing(".".join([name, *where]), inside, wire)


def _steps(cycle: _Cycle, index: dict[Class, int]) -> tuple[CellStep, ...]:
    """The cell's steps, each with the folds behind it and the spreads before it."""
    steps: list[CellStep] = []
    late: list[int] = []
    placed: set[int] = set()
    spread: list[tuple[int, tuple[int, int]]] = []

    def known(rings: Sequence[Ring]) -> list[tuple[int, tuple[int, int]]]:
        found = [cycle.folded(r) for r in rings]
        return [(index[c], shift) for c, shift in found if c in index]

    for act in cycle.acts:
        if act.step.kind == "fold back":
            for ring, shift in known(act.handled):
                if any(shift) or ring not in placed:
                    late.append(ring)  # of a unit before: the last thing done to that unit
                else:
                    steps[-1] = replace(steps[-1], fold=(*steps[-1].fold, ring))
            continue
        if act.step.kind == "spread":
            spread += known(act.handled)
            continue
        new = [ring for ring, shift in known(act.new) if not any(shift)]
        if not new:
            continue
        through = tuple((r, s[2 - cycle.dims :]) for r, s in known(act.through))
        placed.update(new)
        apart = tuple((r, s[2 - cycle.dims :]) for r, s in spread)
        spread = []
        steps.append(CellStep(tuple(new), through, act.side, spread=apart))
    if late and steps:
        more = tuple(r for r in dict.fromkeys(late) if r not in steps[-1].fold)
        steps[-1] = replace(steps[-1], fold=(*steps[-1].fold, *more))
    if spread and steps and cycle.dims:  # the first step of the next cycle goes between them
        apart = tuple((r, (*s[2 - cycle.dims : -1], s[-1] - 1)) for r, s in spread)
        steps[0] = replace(steps[0], spread=(*apart, *steps[0].spread))
    return tuple(steps)


def _notes(
    view: Resolved, cycle: _Cycle, index: dict[Class, int], parts: frozenset[str]
) -> tuple[str, ...]:
    """What is not laid out, and why."""
    out: list[str] = []
    gone = {r.role for r in _left_out(cycle, index)}
    for role in sorted(gone - parts):
        holders = sorted(
            {
                other.role
                for act in cycle.acts
                for ring in act.new
                for other in act.held
                if ring.role == role
            }
        )
        where = (
            f"it is held by {listed(holders)} and linked with no ring"
            if holders
            else ("it is linked with no ring")
        )
        out.append(f"{role} is left out: {where}, and only linked rings can be laid out")
    for role in sorted(gone & parts):
        out.append(f"{role} is left out: it is a part, not a ring")
    if any(act.held for act in cycle.acts if any(cycle.folded(r)[0] in index for r in act.new)):
        out.append("some rings lie around or inside others; the links do not say so, nor does this")
    if any(act.step.kind == "reopen" for act in cycle.acts):
        out.append("steps that open a ring again have no picture of their own")
    kind = view.weave.layout.kind
    if cycle.dims == 0 and len(view.recipe.blocks) > 1:
        out.append("nothing in it repeats, so the whole piece is laid out at once")
    elif kind == "loop":
        out.append("a straight stretch of the loop is laid out, without its closing")
    elif kind == "tube":
        out.append("a flat stretch of the tube is laid out; round, its rings lie a little closer")
    if cycle.dims and any(_ends(b) for b in view.recipe.blocks):
        out.append("start, finish and edges are not laid out, only what repeats")
    return tuple(out)


def _ends(block: Block) -> bool:
    return block.kind in ("start", "finish", "first row", "row end") and bool(block.steps)


def _left_out(cycle: _Cycle, index: dict[Class, int]) -> list[Class]:
    return [c for c in cycle.rings if c not in index]
