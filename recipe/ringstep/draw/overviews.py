"""The two diagrams that look at the piece as a whole: the unit with its links, and the window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial, reduce

from ringstep.draw.drafts import BAND, STUB, Box, Draft, Sheet, State, joined_box, padded
from ringstep.draw.geometry import Point
from ringstep.draw.pictures import DOUBLE, MARGIN, PAGE_HIGH, PAGE_WIDE, ROW_NAMES, Caption, Diagram
from ringstep.weave.steps import Ring

#: Stands for units or rows left out, in a gap of so many points.
DOTS, GAP = "· · ·", 40.0


def unit_diagrams(sheet: Sheet, final: State) -> list[Diagram]:
    """The unit in the middle of the window with its links to the units (and rows) around it."""
    layout = sheet.layout
    if layout.units < 1 or not (layout.repeats or layout.written):
        return []
    unit = (layout.units + 1) // 2
    row = (layout.rows + 1) // 2 if layout.flat else 1
    own = [r for r in final.rings if (r.row, r.unit) == (row, unit)]
    if not own:
        return []
    mine = set(own)
    links = {x: None for x in final.links if mine & set(x)}
    held = {x: None for x in final.held if mine & set(x)}
    rings = dict.fromkeys((*own, *(r for x in (*links, *held) for r in x)))
    draft = Draft(sheet, State(rings, links, held), None)
    draft.marks = dict.fromkeys(own, "through")
    draft.links_as = {x: "new" if mine >= set(x) else "beyond" for x in links}
    met = {r: [b if a == r else a for a, b in (*links, *held) if r in (a, b)] for r in own[:24]}
    alt = "One unit and its links: " + "; ".join(sheet.teller.meets(r, met[r]) for r in met) + "."
    draft.unit_words = partial(_beside, sheet, unit)
    draft.row_words = partial(_above, row)
    draft.name_units = not layout.flat
    draft.here = (row, unit)
    box = sheet.box(draft.copies())
    title = "The unit with its links to the units around it"
    return [draft.picture(padded(box), "unit", title, alt)]


def _beside(sheet: Sheet, unit: int, other: int) -> str:
    """A unit as seen from the one in the middle."""
    along = (other - unit) * sheet.layout.way((sheet.layout.rows + 1) // 2)
    if abs(along) > 1:
        return f"{abs(along)} {'on' if along > 0 else 'before'}"
    return ("unit before", "this unit", "next unit")[along + 1]


def _above(row: int, other: int) -> str:
    """A row as seen from the one in the middle."""
    down = other - row
    if abs(down) > 1:
        return f"{abs(down)} rows {'below' if down > 0 else 'above'}"
    return ("row above", "this row", "row below")[down + 1]


def _parted(
    places: list[int],
    half: int,
    jumps: bool,
    trim: bool,
    last: int,
    box: Callable[[list[int]], float],
    room: float,
) -> tuple[list[int], list[int]]:
    """The units (or rows) of a window shown at its beginning and at its end.

    All stay together where nothing is left out of the window. jumps: whether something is; trim:
    whether more may be left out until it fits the page. last: what stands behind it, or at 0, is
    start or finish, of which a window shows no more than of the units themselves.
    box: the room that some of them take, GAP not counted.
    """
    head, tail = [p for p in places if p <= half], [p for p in places if p > half]
    if not head or not tail or not (jumps or (trim and box(places) > room)):
        return places, []
    while trim and len(head) + len(tail) > 2 and box(head) + GAP + box(tail) > room:
        more, less = (sum(1 <= p <= last for p in some) for some in (head, tail))
        if len(tail) == 1 or (len(head) > 1 and (more > less or less == 1)):
            head = head[:-1]
        else:
            tail = tail[1:]
    return head, tail


def window_diagram(sheet: Sheet, final: State) -> Diagram:
    """The whole window; where units or rows are left out of the middle, a gap says so."""
    draft = Draft(sheet, final, None)
    copies, layout, whole = draft.copies(), sheet.layout, sheet.weave.layout
    teller, at = sheet.teller, sheet.seats.at

    def extent(unit: bool, low: int) -> Callable[[list[int]], float]:
        def wide(some: list[int]) -> float:
            box = sheet.box(r for r in copies if (r.unit if unit else r.row) in some)
            return box[low + 2] - box[low]

        return wide

    room = PAGE_WIDE - 2 * MARGIN - 2 * STUB - (ROW_NAMES if layout.flat else 0)
    left, right = _parted(
        sorted({r.unit for r in copies}),
        teller.half_units,
        whole.known and whole.units > layout.units,
        layout.flat or (not layout.written and whole.units > layout.units),
        layout.units,
        extent(True, 0),
        room,
    )
    over, under = _parted(
        sorted({r.row for r in copies}),
        teller.half_rows,
        whole.rows > layout.rows,
        True,
        layout.rows,
        extent(False, 1),
        PAGE_HIGH - 2 * MARGIN - BAND,
    )
    kept = [r for r in copies if r.unit in {*left, *right} and r.row in {*over, *under}]
    by_x = by_y = end = low = 0.0
    if right:
        end = sheet.box(r for r in kept if r.unit in left)[2]
        by_x = end + GAP - sheet.box(r for r in kept if r.unit in right)[0]
    if under:
        low = sheet.box(r for r in kept if r.row in over)[1]
        by_y = low - GAP - sheet.box(r for r in kept if r.row in under)[3]
    moved = {
        r: (at[r][0] + by_x * (r.unit in right), at[r][1] + by_y * (r.row in under))
        for r in kept
        if r.unit in right or r.row in under
    }
    fold = _bands(_box_of(sheet, kept, moved), sheet, room)
    if not layout.flat:
        turned = {r: fold(moved.get(r) or at[r]) for r in kept}
        moved = {r: p for r, p in turned.items() if p != at[r]}
    box = _box_of(sheet, kept, moved)
    title = f"The {layout.kind}" + (", with the middle left out" if right or under else "")
    alt = teller.window(
        len(final.rings),
        len(final.links),
        whole.units - sum(1 <= u <= layout.units for u in (*left, *right)) if whole.known else 0,
        whole.rows - sum(1 <= r <= layout.rows for r in (*over, *under)),
    )
    hidden = frozenset(copies) - frozenset(kept)
    picture = draft.picture(padded(box), "window", title, alt, moved, hidden)
    captions = list(picture.captions)
    if right:
        seats = sheet.box(kept)
        middle = (end + GAP / 2, (seats[1] + seats[3]) / 2)
        place = (middle[0], box[1] - BAND / 2) if layout.flat else fold(middle)
        captions.append(Caption(DOTS, place, True))
    if under:
        captions.append(Caption(DOTS, (picture.frame[0], low - GAP / 2), True, True))
    return replace(picture, captions=tuple(captions))


def _bands(box: Box, sheet: Sheet, room: float) -> Callable[[Point], Point]:
    """Breaks a chain too long for the page into bands, like lines of text: where a point goes."""
    widest = max(sheet.sizes.values()) + 2 * DOUBLE
    wide, high = room - widest, box[3] - box[1] + 2 * BAND

    def fold(at: Point) -> Point:
        if box[2] - box[0] <= room:
            return at
        band = max(0, int((at[0] - box[0] - widest / 2) // wide))
        return (at[0] - band * wide, at[1] - band * high)

    return fold


def _box_of(sheet: Sheet, rings: list[Ring], moved: dict[Ring, Point]) -> Box:
    """The room that rings take, those moved where they are drawn."""
    boxes = []
    for ring in rings:
        x, y = moved.get(ring) or sheet.seats.at[ring]
        half = sheet.sizes[ring] / 2 + DOUBLE
        boxes.append((x - half, y - half, x + half, y + half))
    return reduce(joined_box, boxes)
