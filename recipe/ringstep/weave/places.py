"""Places in the order of the work, and where the words of place in a list lead.

Comes in: a `Layout`. Goes out: a `Place` for each block worked, and for each item of a list.
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.language.syntax import Block, Ref
from ringstep.weave.joined import Joined
from ringstep.weave.layout import Layout
from ringstep.weave.strands import Strands

#: The sections in which `every A` gathers what was placed before.
GATHERING = frozenset({"row end", "finish"})
#: Said where a ring may be of several strands.
UNTOLD = "of which strand"
#: (row, unit).
Place = tuple[int, int]


def places_in_order(layout: Layout) -> Iterator[tuple[Block, int, int]]:
    """Every block with the place it is worked at, in the order of the work."""
    if not layout.flat:
        again = layout.block("again")
        for unit in range(layout.units + 1):
            for block in layout.blocks_at(1, unit):
                if block is not again:
                    yield block, 1, unit
        for unit in range(1, layout.units + 1) if again else ():
            yield again, 1, unit  # type: ignore[misc]
        for block in layout.blocks_at(1, layout.units + 1):
            yield block, 1, layout.units + 1
        return
    if start := layout.block("start"):
        yield start, 0, 0
    for row in range(1, layout.rows + 1):
        along = layout.along_row(row)
        for worked in layout.row_blocks(row):
            for unit in along:
                yield layout.place_block(worked, row, unit), row, unit
        if end := layout.block("row end"):
            yield end, row, layout.units + 1
    if finish := layout.block("finish"):
        yield finish, layout.rows + 1, 0


def look(layout: Layout, ref: Ref, block: Block, row: int, unit: int) -> Place | str | None:
    """The place a list item looks at, the first where it looks at several; else as `places_of`."""
    found = places_of(layout, ref, block, row, unit)
    return found[0] if isinstance(found, tuple) else found


def places_seen(layout: Layout, ref: Ref, block: Block, row: int, unit: int) -> tuple[Place, ...]:
    """The same, none where the item looks at no place of the piece."""
    found = places_of(layout, ref, block, row, unit)
    return found if isinstance(found, tuple) else ()


def places_of(
    layout: Layout, ref: Ref, block: Block, row: int, unit: int
) -> tuple[Place, ...] | str | None:
    """The places a list item of a block worked at (row, unit) looks at: one, but for `above` from
    a place that several of the round above share.

    None where that is off the piece; a word of place that has no sense there, as it is written;
    `UNTOLD` where nothing says which of several strands is meant.
    """
    if isinstance(layout, Joined):
        if (copy := layout.copy_at(row, unit)) is None:
            one = layout.look(ref, row, unit)
            return (one,) if isinstance(one, tuple) else one
        own = places_of(copy.layout, ref, block, row, unit - copy.first)
        return tuple((r, u + copy.first) for r, u in own) if isinstance(own, tuple) else own
    strands = layout.strands
    if ref.strand and (block.kind != "finish" or not strands or ref.strand not in strands.spans):
        return ref.strand
    if ref.every:
        whole = ref.places[:1] == ("every",) and len(ref.places) == 1 + bool(ref.strand)
        return ((row, unit),) if whole and block.kind in GATHERING else "every"
    if not ref.places:
        # The finish of a sheet is worked from the end of its last row, and has rings of its own.
        plain = not (layout.flat and block.kind == "finish")
        if plain or any(i.name.role == ref.name.role for s in block.steps for i in s.new):
            return ((row, unit),)
    if strands:
        found = _in_strands(layout, strands, ref, block, unit)
        return (found,) if isinstance(found, tuple) else found
    starts, whole = layout.block("start") is not None, block.kind in ("start", "finish")
    way, wraps = layout.way(row), False
    if block.kind == "finish" and layout.flat:
        row, way = layout.rows, layout.way(layout.rows)
        unit = layout.ends(row)[way > 0] + way
    elif block.kind == "row end":
        unit = layout.ends(row)[way > 0] + way
    last = unit  # beyond `unit` where several places above share one
    for at, word in enumerate(ref.places):
        if word in ("first", "last"):
            if at and ref.places[at - 1] != "above":
                return word
            if layout.flat and whole and word == "first":
                row, way = (0 if starts else 1), layout.way(1)
            ends = (layout.ends(row) if layout.flat else (1, layout.units))[::way]
            unit = ends[0] if word == "first" else ends[1]
            if not layout.flat and word == "first" and starts:
                unit = 0
            last = unit
        elif word == "above":
            if not layout.flat:
                return word
            if layout.rounds:
                unit, last = layout.rounds.above(row, unit)[0], layout.rounds.above(row, last)[1]
            row -= 1
            wraps = layout.kind == "tube"
        else:
            ahead = (word == "next") == (way > 0)
            unit = last = last + 1 if ahead else unit - 1
    if layout.flat:
        if row == 0 and starts:
            return ((0, 0),)
        if wraps and row >= 1:
            wide = layout.width(row)
            units = range(unit, min(last, unit + wide - 1) + 1)
            return tuple((row, (u - 1) % wide + 1) for u in units)
        inside = layout.has(row, unit)
    else:
        inside = (0 if starts else 1) <= unit <= layout.units
    return ((row, unit),) if inside or not ref.places else None


def _in_strands(
    layout: Layout, strands: Strands, ref: Ref, block: Block, unit: int
) -> Place | str | None:
    """The same in a piece of strands: each runs from the start to its own last unit.

    In the finish a strand may be named; else it is the only one that places such rings.
    """
    role, index, start = ref.name.role, ref.name.index, layout.block("start")
    words = [w for w in ref.places if w != ref.strand]
    if block.kind == "finish" and words[0] == "prev":
        words[0] = "last"  # the unit before the finish
    if "above" in words:
        return "above"
    if odd := next((w for w in words[1:] if w in ("first", "last", "every")), ""):
        return odd
    own = ref.strand or strands.name_of(unit) or strands.sole(role, index)
    by = words.count("next") - words.count("prev")
    if ref.strand and words[0] not in ("first", "last"):
        return ref.strand
    if words[0] in ("first", "last"):
        if words[0] == "first" and start and not ref.strand and (role in start.placed or not own):
            unit = 0
        elif not own and strands.placing(role, index):
            return UNTOLD
        elif not own:
            unit = strands.behind - 1  # a part, or a name that leads nowhere
        else:
            unit = strands.spans[own][0 if words[0] == "first" else -1]
    at = strands.on(unit, by, role, index)
    inside = at is not None and (0 if start else 1) <= at < strands.behind
    if not inside and unit == 0 and by > 0 and len(strands.placing(role, index)) > 1:
        return UNTOLD
    return (1, at) if inside and at is not None else None
