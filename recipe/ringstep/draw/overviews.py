"""The two diagrams that look at the piece as a whole: the unit with its links, and the window."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import replace
from itertools import accumulate, groupby, pairwise

from ringstep.draw.drafts import BAND, STUB, Draft, Sheet, State, padded
from ringstep.draw.geometry import Point
from ringstep.draw.pictures import (
    DOUBLE,
    MARGIN,
    PAGE_HIGH,
    PAGE_WIDE,
    ROW_NAMES,
    WINDOW_WIDE,
    Caption,
    Diagram,
)
from ringstep.weave.strands import Strands
from ringstep.weave.stretches import Stretch
from ringstep.weave.work import Ring

#: Stands for units or rows left out, in a gap of so many points.
DOTS, GAP = "· · ·", 40.0
#: A sheet with a shape is drawn whole as far as so many pages across and down.
SHAPED = 3


def unit_diagrams(sheet: Sheet, final: State) -> list[Diagram]:
    """The unit in the middle of the window with its links to the units (and rows) around it.

    Of a sheet with a shape, the finished one that is nearest to its middle.
    """
    layout = sheet.layout
    if layout.units < 1 or not (layout.repeats or layout.written or layout.rounds):
        return []
    unit = (layout.units + 1) // 2
    row = (layout.rows + 1) // 2 if layout.flat else 1
    if layout.shape and (whole := [r for r in sheet.weave.finished if layout.has(*r[2:])]):
        row, unit = min(whole, key=lambda r: (abs(r.row - row) + abs(r.unit - unit), r))[2:]
    own = [r for r in final.rings if (r.row, r.unit) == (row, unit)]
    if not own:
        return []
    mine = set(own)
    links = {x: None for x in final.links if mine & set(x)}
    held = {x: None for x in final.held if mine & set(x)}
    shown = dict.fromkeys((*own, *(r for x in (*links, *held) for r in x)))
    draft = Draft(sheet, State(shown, links, held), None)
    draft.marks = dict.fromkeys(own, "through")
    draft.links_as = {x: "new" if mine >= set(x) else "beyond" for x in links}
    met = {r: [b if a == r else a for a, b in (*links, *held) if r in (a, b)] for r in own[:24]}
    alt = "One unit and its links: " + "; ".join(sheet.teller.meets(r, met[r]) for r in met) + "."
    way = layout.way(row)
    units, rows = ("unit before", "this unit", "next unit"), ("row above", "this row", "row below")
    draft.unit_words = lambda u: _seen((u - unit) * way, units, ("before", "on"))
    draft.row_words = lambda r: _seen(r - row, rows, ("rows above", "rows below"))
    draft.name_units = not layout.flat
    draft.here = (row, unit)
    box = sheet.box(draft.copies())
    title = "The unit with its links to the units around it"
    return [draft.picture(padded(box), "unit", title, alt)]


def _seen(by: int, words: tuple[str, str, str], far: tuple[str, str]) -> str:
    """A unit or row as seen from the one in the middle; by: how many on (or before, below 0)."""
    return words[by + 1] if abs(by) < 2 else f"{abs(by)} {far[by > 0]}"


def _parts(
    places: list[int],
    stretches: tuple[Stretch, ...],
    trim: bool,
    extent: Callable[[list[int]], float],
    room: float,
) -> list[list[int]]:
    """The units (or rows) of a window, parted where it leaves some out.

    trim: whether more may be left out there (or in the middle) until they fit the page; of start
    and finish no more is shown than of the units themselves. extent: the room that some take.
    """
    ends = list(accumulate(s.count for s in stretches))
    cuts = [end - s.count + s.behind for s, end in zip(stretches, ends, strict=True) if s.cut]
    if not cuts and trim and extent(places) > room:
        cuts = [(ends[-1] + 1) // 2]
    parts = [list(some) for _, some in groupby(places, lambda place: bisect_left(cuts, place))]
    while trim and sum(map(extent, parts)) + GAP * (len(parts) - 1) > room:
        inner = [sum(1 <= p <= ends[-1] for p in part) for part in parts]
        long = [at for at, part in enumerate(parts) if len(part) > 1]
        if len(parts) < 2 or not long:
            break
        at = max(long, key=lambda k: (inner[k], k if inner[k] > 1 else -k))
        first = at and (at == len(parts) - 1 or len(parts[at]) % 2)
        parts[at] = parts[at][1:] if first else parts[at][:-1]
    return parts


def _opened(
    parts: list[list[int]], sides: Callable[[list[int]], tuple[float, float]], gap: float
) -> tuple[dict[int, float], list[float]]:
    """How far each unit (or row) is moved to open gaps between parts, and the middle of each gap.

    sides: where a part begins and ends on the page. gap: below 0 where the parts go down.
    """
    by: dict[int, float] = dict.fromkeys(parts[0], 0.0)
    middles, edge = [], sides(parts[0])[1]
    for part in parts[1:]:
        begin, end = sides(part)
        middles.append(edge + gap / 2)
        by |= dict.fromkeys(part, edge + gap - begin)
        edge += gap + end - begin
    return by, middles


def window_diagram(sheet: Sheet, final: State) -> Diagram:
    """The whole window, with a gap wherever units or rows are left out of it."""
    if sheet.layout.strands:
        return _strand_window(sheet, final, sheet.layout.strands)
    draft = Draft(sheet, final, None)
    copies, layout, whole = draft.copies(), sheet.layout, sheet.weave.layout
    at, level, pages = sheet.seats.at, sheet.seats.levels, SHAPED if layout.shape else 1
    draft.name_units &= not layout.shape  # its rows begin at other places

    def extent(unit: bool, low: int) -> Callable[[list[int]], float]:
        def wide(some: list[int]) -> float:
            box = sheet.box(r for r in copies if (r.unit if unit else level[r.row]) in some)
            return box[low + 2] - box[low]

        return wide

    high = PAGE_HIGH - 2 * MARGIN - BAND
    columns = sorted({r.unit for r in copies})
    cut = layout.flat or (not layout.written and whole.units > layout.units)
    for widest in (PAGE_WIDE,) if layout.shape else (WINDOW_WIDE, PAGE_WIDE):
        room = widest - 2 * MARGIN - 2 * STUB - (ROW_NAMES if layout.flat else 0)
        across = [columns]
        if not layout.rounds:
            across = _parts(columns, layout.along, cut, extent(True, 0), pages * room)
        if all(len(part) > 1 for part in (across if layout.flat else across[:1])):
            break  # narrow, and it is still seen how a unit joins another
    down = _parts(
        sorted({level[r.row] for r in copies}),
        layout.down,
        True,
        extent(False, 1),
        pages * high,
    )
    if layout.rounds:
        down = [sorted({level[r.row] for r in copies})]
        sides = (extent(False, 0), pages * room), (extent(False, 1), pages * high)
        while len(down[0]) > 1 and any(size(down[0]) > most for size, most in sides):
            down[0].pop()  # what is left out lies outermost
    units, rows = ([place for part in parts for place in part] for parts in (across, down))
    kept = [r for r in copies if r.unit in units and level[r.row] in rows]
    by_x, gaps_x = _opened(
        across, lambda part: sheet.box(r for r in kept if r.unit in part)[::2], GAP
    )
    by_y, gaps_y = _opened(
        down, lambda part: sheet.box(r for r in kept if level[r.row] in part)[:0:-2], -GAP
    )
    moved = {r: (at[r][0] + by_x[r.unit], at[r][1] + by_y[level[r.row]]) for r in kept}
    moved = {r: p for r, p in moved.items() if p != at[r]}
    fold = _bands({r: moved.get(r) or at[r] for r in kept}, sheet, room)
    if not layout.flat:
        turned = {r: fold(moved.get(r) or at[r], r.unit) for r in kept}
        moved = {r: p for r, p in turned.items() if p != at[r]}
    box = sheet.box(kept, moved)
    title = f"The {layout.kind}" + (", with the middle left out" if gaps_x or gaps_y else "")
    if how := sheet.seats.round:
        title = "The rounds, from the middle out" if how == "disc" else "The tube, cut open"
        title += ", its last rounds left out" if len(rows) < len({r.row for r in copies}) else ""
    alt = sheet.teller.window(
        len(final.rings),
        len(final.links),
        whole.units - sum(1 <= u <= layout.units for u in units) if whole.known else 0,
        whole.rows - sum(1 <= r <= layout.rows for r in rows),
    )
    hidden = frozenset(copies) - frozenset(kept)
    picture = draft.picture(padded(box), "window", title, alt, moved, hidden)
    seats = sheet.box(kept)
    captions = list(picture.captions)
    for middle in gaps_x:
        place = fold((middle, (seats[1] + seats[3]) / 2), None)
        captions.append(Caption(DOTS, (middle, box[1] - BAND / 2) if layout.flat else place, True))
    captions += [Caption(DOTS, (picture.frame[0], y), True, True) for y in gaps_y]
    return replace(picture, captions=tuple(captions))


def _strand_window(sheet: Sheet, final: State, strands: Strands) -> Diagram:
    """The same of strands side by side, each with its own gap."""
    draft, layout, at = Draft(sheet, final, None), sheet.layout, sheet.seats.at
    copies = draft.copies()
    columns = {u: c for span in strands.spans.values() for c, u in enumerate(span, 1)}
    longest = max(columns.values(), default=0)
    columns |= {0: 0, strands.behind: longest + 1}
    cut = min((s.behind for s in layout.along if s.cut), default=0)

    def sides(some: list[int]) -> tuple[float, float]:
        box = sheet.box(r for r in copies if columns[r.unit] in some)
        return box[0], box[2]

    parts = _parts(
        sorted({columns[r.unit] for r in copies}),
        (Stretch((), 1, longest, cut=bool(cut), behind=cut),),
        True,
        lambda some: sides(some)[1] - sides(some)[0],
        WINDOW_WIDE - 2 * MARGIN - 2 * STUB,
    )
    by, _ = _opened(parts, sides, GAP)
    kept = [r for r in copies if columns[r.unit] in by]
    seats = {r: (at[r][0] + by[columns[r.unit]], at[r][1]) for r in kept}
    moved = {r: p for r, p in seats.items() if p != at[r]}
    dots = []
    for span in strands.spans.values():
        shown = [u for u in span if columns[u] in by and any(r.unit == u for r in kept)]
        for one, two in pairwise(shown):
            if layout.number(two) - layout.number(one) > 1:
                ends = [[seats[r] for r in kept if r.unit == unit] for unit in (one, two)]
                x = (max(x for x, _ in ends[0]) + min(x for x, _ in ends[1])) / 2
                ys = [y for end in ends for _, y in end]
                dots.append(Caption(DOTS, (x, (min(ys) + max(ys)) / 2), True))
    title = "The strands" + (", with the middle left out" if dots else "")
    told = {r.unit for r in kept} & {u for span in strands.spans.values() for u in span}
    left = sheet.weave.layout.units - len(told) if sheet.weave.layout.known else 0
    alt = sheet.teller.window(len(final.rings), len(final.links), left, 0)
    hidden = frozenset(copies) - frozenset(kept)
    picture = draft.picture(padded(sheet.box(kept, moved)), "window", title, alt, moved, hidden)
    return replace(picture, captions=(*picture.captions, *dots))


def _bands(
    places: dict[Ring, Point], sheet: Sheet, room: float
) -> Callable[[Point, int | None], Point]:
    """Breaks a chain too long for the page into bands, like lines of text: where a point goes that
    belongs to a unit, or to none. A unit stays whole where it is no wider than the page."""
    box = sheet.box(places, places)
    widest = max(sheet.sizes.values()) + 2 * DOUBLE
    high = box[3] - box[1] + 2 * BAND
    units: dict[int, list[Ring]] = {}
    for ring in places:
        units.setdefault(ring.unit, []).append(ring)
    begins: list[float] = []
    band: dict[int | None, int] = {}
    for unit in sorted(units):
        left, _, right, _ = sheet.box(units[unit], places)
        if not begins or right - begins[-1] > room:
            begins.append(left)
        band[unit] = len(begins) - 1
        if right - left > room:  # too wide itself: broken wherever the page ends
            wide = room - widest
            many = int((box[2] - box[0] - widest / 2) // wide) + 1
            begins, band = [box[0] + k * wide for k in range(many)], {}
            break

    def fold(at: Point, unit: int | None) -> Point:
        if box[2] - box[0] <= room:
            return at
        row = band.get(unit, max(0, bisect_right(begins, at[0] - (0 if band else widest / 2)) - 1))
        return at[0] - begins[row] + box[0], at[1] - row * high

    return fold
