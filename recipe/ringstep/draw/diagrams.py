"""The diagrams of a recipe: after each step, the whole window, and the unit with its links.

Comes in: a checked recipe. Goes out: `Diagram`s, complete with places, sizes and words, for
`drawing` to hand to the drawing program. Rings keep their seats in all of them; what a step does
is told by shape and kind of line, never by colour alone.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from ringstep.checks.view import View, with_variant
from ringstep.draw.drafts import BAND, STUB, Box, Draft, Sheet, State, joined_box, padded
from ringstep.draw.geometry import Point
from ringstep.draw.joinings import joining_diagrams, whole_diagram
from ringstep.draw.key import key_diagram
from ringstep.draw.overviews import unit_diagrams, window_diagram
from ringstep.draw.pictures import (
    CAPTION,
    DOUBLE,
    MARGIN,
    ROW_NAMES,
    STEP_HIGH,
    STEP_WIDE,
    Caption,
    Diagram,
    text_width,
)
from ringstep.weave.work import Act, Ring, Work

#: How much larger than its room a step's picture may be before far rings are set at its edge.
LARGER = 1.6
#: Rings too far away for a step's picture that are still set beside it, one by one.
MOST_FAR = 6


def step_diagrams(view: View, variant_name: str | None = None) -> dict[int, Diagram]:
    """The work after each step, by the step's number. Raises `NoVariant`.

    A step of the repeating unit is drawn as worked in the first unit that has everything it
    reaches back to, all steps of a unit in the same one and in the same frame.
    """
    seen = with_variant(view, variant_name)
    if not seen.recipe.made:
        return _steps(Sheet(seen))
    found = [_steps(Sheet(piece)) for piece in seen.pieces]
    found.append(joining_diagrams(seen))
    return {number: picture for each in found for number, picture in each.items()}


def all_diagrams(view: View, variant_name: str | None = None) -> list[Diagram]:
    """Every diagram of a recipe: steps, the unit, the window, and the key. Raises `NoVariant`."""
    seen = with_variant(view, variant_name)
    if seen.recipe.made:
        return [*step_diagrams(seen).values(), whole_diagram(seen), key_diagram()]
    sheet = Sheet(seen)
    found = list(_steps(sheet).values())
    final = State()
    for act in sheet.work.acts:
        final.carry(act)
    found += unit_diagrams(sheet, final)
    if final.rings:
        found.append(window_diagram(sheet, final))
    found.append(key_diagram())
    return found


# -- which unit stands for all -------------------------------------------------------------------


def chosen_acts(work: Work) -> dict[int, int]:
    """For each step's number, which act of the work is drawn.

    In rows worked back and forth a step is drawn in the first row in which it lacks nothing, as in
    the pictures of real rings, so that both run the same way.
    """
    acts, layout = work.acts, work.layout
    turning = layout.flat and layout.way(1) != layout.way(2)

    def lacks(i: int) -> tuple[bool, int]:
        return acts[i].skipped, len(acts[i].dropped)

    blocks: dict[int, dict[tuple[int, int], list[int]]] = {}
    for i, act in enumerate(acts):
        if not act.last:
            continue
        at = blocks.setdefault(act.block.span.line, {})
        at.setdefault((act.row, act.unit), []).append(i)
    found: dict[int, int] = {}
    for at in blocks.values():
        # Where no place has all steps whole, each step is drawn where it lacks least.
        every = sorted((i for some in at.values() for i in some), key=lacks)
        firsts: dict[int, int] = {}
        for i in every:
            firsts.setdefault(acts[i].step.number, acts[i].row if turning else 0)
        for first in dict.fromkeys(firsts.values()):
            own = [
                [i for i in some if firsts[acts[i].step.number] == first] for some in at.values()
            ]
            whole = [some for some in own if some and not any(any(lacks(i)) for i in some)]
            if whole and layout.flat:
                row = [some for some in whole if acts[some[0]].row == acts[whole[0][0]].row]
                whole = [row[min(max(layout.reach, 1), len(row) - 1)]]
            for i in whole[0] if whole else every:
                found.setdefault(acts[i].step.number, i)
    return dict(sorted(found.items()))


# -- steps ---------------------------------------------------------------------------------------


def _steps(sheet: Sheet) -> dict[int, Diagram]:
    work = sheet.work
    drawn = {i: number for number, i in chosen_acts(work).items()}
    state, states = State(), {}
    places: dict[tuple[int, int, int], list[int]] = {}
    for i, act in enumerate(work.acts):
        state.carry(act)
        if i in drawn:
            states[i] = state.copy()
            places.setdefault((act.block.span.line, act.row, act.unit), []).append(i)
    found: dict[int, Diagram] = {}
    for acts in places.values():
        together = _common_frame(sheet, [work.acts[i] for i in acts], states[acts[-1]])
        for i in acts:
            found[drawn[i]] = _step(sheet, work.acts[i], states[i], together)
    return dict(sorted(found.items()))


def _room(sheet: Sheet) -> tuple[float, float]:
    """The width and height that the rings of a step diagram may take."""
    wide = STEP_WIDE - 2 * MARGIN - 2 * STUB - (ROW_NAMES if sheet.layout.flat else 0)
    return wide, STEP_HIGH - 2 * MARGIN - BAND


def _fits(sheet: Sheet, box: Box) -> bool:
    """True where the rings of a step can be shown in one picture, if need be a larger one."""
    wide, high = _room(sheet)
    return box[2] - box[0] <= LARGER * wide and box[3] - box[1] <= LARGER * high


def _common_frame(sheet: Sheet, acts: list[Act], last: State) -> Box | None:
    """One frame for all steps of a unit, or None where it would not fit."""
    touched = [r for act in acts for r in sheet.touched(act)]
    if not touched or not _fits(sheet, box := sheet.box(touched)):
        return None
    return _grown(sheet, box, touched, last)


def _grown(sheet: Sheet, box: Box, touched: list[Ring], state: State) -> Box:
    """A box widened by the rings of at most one unit (and row) on each side, as far as they fit.

    Nearest first, and only with a link to a ring inside (or none at all), so that no ring stands
    there for no reason. Beside rings without links others may stand that link one another.
    """
    wide, high = _room(sheet)
    units, rows = [r.unit for r in touched], [r.row for r in touched]
    draft = Draft(sheet, state, None)
    meets: dict[Ring, set[Ring]] = {r: set() for r in draft.copies()}
    for link in (*state.links, *state.held):
        a, b = sheet.seats.ends(*link)
        meets[a].add(b)
        meets[b].add(a)
    near = [
        r
        for r in _nearest_first(sheet, box, meets)
        if sheet.layout.rounds or min(units) - 1 <= r.unit <= max(units) + 1
        if min(rows) - 1 <= r.row <= max(rows) + 1
    ]
    within = set(touched)
    lone = not any(meets.get(r) for r in touched)
    while True:
        for ring in near:
            more = joined_box(box, sheet.box((ring,)))
            fits = more[2] - more[0] <= wide and more[3] - more[1] <= high
            joins = meets[ring] & within or not meets[ring] or lone
            if ring not in within and fits and joins:
                box = more
                within.add(ring)
                break
        else:
            seen = [r for r in within if r in touched or not meets[r] or meets[r] & within]
            return padded(sheet.box(seen))


def _nearest_first(sheet: Sheet, box: Box, rings: Iterable[Ring]) -> list[Ring]:
    """Rings as they lie away from the middle of a box; of two as near, the one to the left."""
    middle = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2

    def away(ring: Ring) -> tuple[float, float, float]:
        x, y = sheet.seats.at[ring]
        return round(abs(x - middle[0]), 1), round(abs(y - middle[1]), 1), x

    return sorted(rings, key=away)


def _step(sheet: Sheet, act: Act, state: State, together: Box | None) -> Diagram:
    name = f"step-{act.step.number:02d}"
    acts = sheet.work.acts
    where = sheet.teller.place_words(Ring("", 1, act.row, act.unit), act)
    title = f"After step {act.step.number}" + (f", {where}" if where else "")
    alt = sheet.teller.step(act, acts)
    draft = Draft(sheet, state, act)
    if together is not None:
        return draft.picture(together, name, title, alt)
    touched = sheet.touched(act) or [
        r for r in draft.copies() if r.row == act.row and r.unit in (act.unit, act.unit - 1)
    ]
    touched = touched or draft.copies()[-1:]
    if not touched:
        return Diagram(name, title, alt, (), (), (), (0.0, 0.0, 40.0, 20.0))
    kept, far = _near_enough(sheet, act, touched)
    if len(far) > MOST_FAR:
        return draft.picture(padded(sheet.box(touched)), name, title, alt)
    box = _grown(sheet, sheet.box(kept), kept, state)
    return _with_far(draft, box, far, (name, title, alt))


def _near_enough(sheet: Sheet, act: Act, touched: list[Ring]) -> tuple[list[Ring], list[Ring]]:
    """The touched rings that fit one picture, those that move first, and the rest."""
    movers = act.movers or act.handled
    if not movers or not all(r in sheet.seats.at for r in movers):
        movers = tuple(touched[:1])
    kept = list(movers)
    box = sheet.box(kept)
    far = []
    for ring in _nearest_first(sheet, box, touched):
        if ring in kept:
            continue
        more = joined_box(box, sheet.box((ring,)))
        if _fits(sheet, more):
            box = more
            kept.append(ring)
        else:
            far.append(ring)
    return kept, far


def _with_far(draft: Draft, box: Box, far: list[Ring], words: tuple[str, str, str]) -> Diagram:
    """A picture with the rings that are too far away set in a column at its edge."""
    if not far:
        return draft.picture(box, *words)
    seats, sizes = draft.sheet.seats, draft.sheet.sizes
    middle, flat = (box[0] + box[2]) / 2, draft.sheet.work.layout.flat
    moved: dict[Ring, Point] = {}
    captions = []
    for left in (True, False):
        # The names of the rows stand at the left edge of a sheet, so there all go to the right.
        column = [r for r in far if (not flat and seats.at[r][0] < middle) == left]
        told = {ring: _far_words(draft.sheet, ring) for ring in column}
        step = 2 * seats.half_y + 8 + DOUBLE
        y = (box[1] + box[3]) / 2 + step * (len(column) - 1) / 2
        for ring in column:
            half = sizes[ring] / 2
            out = max(half, text_width(told[ring], CAPTION) / 2) + 6
            x = box[0] - out if left else box[2] + out
            moved[ring] = (x, y)
            low = y - half - (DOUBLE if draft.marks.get(ring) == "new" else 0.0)
            captions.append(Caption(told[ring], (x, low - 6)))
            y -= step
    picture = draft.picture(box, *words, moved, far=True)
    frame = picture.frame
    for (x, y), half in ((p, sizes[r] / 2 + DOUBLE) for r, p in moved.items()):
        frame = joined_box(frame, (x - half - 8, y - half - 10, x + half + 8, y + half))
    for caption in captions:
        (x, y), half = caption.at, text_width(caption.text, CAPTION) / 2
        frame = joined_box(frame, (x - half, y, x + half, y))
    return replace(picture, captions=(*picture.captions, *captions), frame=frame)


def _far_words(sheet: Sheet, ring: Ring) -> str:
    """Where a ring is that stands at the edge of a picture, in short."""
    tell = sheet.teller
    return tell.caption(ring.unit) if sheet.strand(ring.unit) else tell.place_words(ring)
