"""What the price of a plan looks at: links, and the rings and links that lie near them.

Comes in: a `Plan`. Goes out: a `Scene`, in which every pattern of links stands once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ringstep.draw.grid import Link, Named, Plan, Scene
from ringstep.weave.work import Ring

#: Bounds on what one price looks at, for units of hundreds of rings.
MOST_LINKS, MOST_TERMS = 300, 20_000


def scene_of(plan: Plan, names: frozenset[Named], known: frozenset[Named]) -> Scene:
    """Everything that bears on where `names` sit, each pattern of links once.

    The copy of a pattern nearest the middle of the window stands for all: it has neighbours on
    both sides.
    """
    layout = plan.layout
    middle = (plan.units[0] + plan.units[-1]) / 2
    mid_row = (layout.rows + 1) // 2
    # Rows worked back are the mirror image of rows worked on: they need no look of their own.
    rows = len(layout.row_order) or 1
    both = names | known
    best: dict[tuple[object, ...], tuple[tuple[float, ...], Link]] = {}
    usable = [x for x in plan.links if all((r.role, r.index) in both for r in x)]
    for a, b in usable:
        if abs(a.unit - b.unit) > max(layout.reach, 1) + 1 and (
            layout.kind in ("loop", "tube") or layout.flat
        ):
            continue
        lo, hi = sorted((a.unit, b.unit))
        if layout.strands:
            seen: tuple[object, ...] = (plan.kind(a.unit), plan.kind(b.unit))
            at = plan.column(a.unit) + plan.column(b.unit)
            rank: tuple[float, ...] = (abs(at / 2 - max(plan.columns) / 2), a.unit, 0.0)
        elif layout.flat:
            along = (b.unit - a.unit) * layout.way(a.row)
            seen = (along, b.row - a.row, a.row % rows)
            edge = float(a.row == 1 or b.row == 0)
            rank = (edge, abs(a.row - mid_row), abs(a.unit - middle))
        else:
            seen = (a.unit < b.unit, *(plan.kind(u) for u in range(lo, hi + 1)))
            rank = (abs((lo + hi) / 2 - middle), 0.0, 0.0)
        key = (a.role, a.index, b.role, b.index, *seen)
        if key not in best or rank < best[key][0]:
            best[key] = (rank, (a, b))
    chosen = [link for _, link in best.values()]
    if known and names:
        column = plan.column
        places = {column(r.unit) for r in plan.rings if (r.role, r.index) in names}
        chosen = [
            x
            for x in usable
            if any(abs(column(r.unit) - u) <= 1 for r in x for u in places)
            and (layout.flat or abs(column(x[0].unit) - column(x[1].unit)) <= layout.reach + 2)
        ][:80]
    return _looked_at(plan, names, known, chosen[:MOST_LINKS], usable)


def _looked_at(
    plan: Plan,
    names: frozenset[Named],
    known: frozenset[Named],
    chosen: list[Link],
    usable: list[Link],
) -> Scene:
    """The chosen links with all that lies near them, numbered."""
    index: dict[Ring, int] = {}
    both = names | known

    def number(ring: Ring) -> int:
        return index.setdefault(ring, len(index))

    def around(rings: Iterable[Ring]) -> Iterator[Ring]:
        columns, rows = [plan.column(r.unit) for r in rings], [r.row for r in rings]
        strands, layout = set(map(plan.strand, rings)), plan.layout
        down = max(1, layout.row_reach) if layout.flat else 0
        along = max(2 if known else 1, layout.reach) if layout.flat else 2
        if known and layout.strands:
            along = 5  # what ends a short strand may stand far from the finish of the others
        for row in range(min(rows) - down, max(rows) + down + 1):
            for column in range(min(columns) - along, max(columns) + along + 1):
                for unit in plan.columns.get(column, ()):
                    for ring in plan.by_place.get((row, unit), ()):
                        # Strands stand side by side when the rings of their units have seats.
                        beside = bool(known) or plan.strand(ring) in strands
                        if beside and (ring.role, ring.index) in both:
                            yield ring

    links = [(number(a), number(b)) for a, b in chosen]
    for ring in plan.rings if not links else ():
        if (ring.role, ring.index) in names and len(index) < MOST_LINKS:
            number(ring)
            for other in around((ring,)) if known else ():
                number(other)  # no link leads to it, and yet it takes its place
    triples: list[tuple[int, int, int]] = []
    for a, b in chosen:
        if len(triples) < MOST_TERMS:
            triples += [
                (number(a), number(b), number(c)) for c in around((a, b)) if c not in (a, b)
            ]
    rings = list(index)
    units = [plan.column(r.unit) for r in rings]
    near = {tuple(sorted((index[a], index[b]))) for a, b in usable if a in index and b in index}
    doubles: list[tuple[int, int, int, int]] = []
    for i, j in links:
        lo, hi = sorted((units[i], units[j]))
        for k, m in sorted(near):
            if len({i, j, k, m}) == 4 and not (
                max(units[k], units[m]) < lo or min(units[k], units[m]) > hi
            ):
                doubles.append((i, j, k, m))
        if len(doubles) > MOST_TERMS:
            break
    own = [i for r, i in index.items() if (r.role, r.index) in names] or list(range(len(rings)))
    close: set[tuple[int, int]] = set()
    met: dict[Ring, list[Ring]] = {}
    for a, b in usable if plan.layout.flat else ():
        for ring, other in ((a, b), (b, a)):
            if not ring.unit:  # start and finish stand at no unit, but beside what they meet
                met.setdefault(ring, []).append(other)
    for i in range(len(rings)) if known else own:
        for other in around((rings[i], *met.get(rings[i], ()))):
            if other in index and index[other] != i:
                close.add((min(i, index[other]), max(i, index[other])))
        if len(close) > MOST_TERMS:
            break
    extra = [plan.extra[r.role, r.index] for r in rings]
    level = [plan.levels[r.row] for r in rings]
    hangs = [(i, k) if level[i] > level[k] else (k, i) for i, k in links]
    hangs = [(i, k) for i, k in hangs if level[i] > level[k]]
    return Scene(names, rings, extra, own, links, hangs, sorted(close), triples, doubles)
