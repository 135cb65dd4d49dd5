"""Places in the order of the work, and where the words of place in a list lead.

Comes in: a `Layout`. Goes out: a `Place` for each block worked, and for each item of a list.
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.language.syntax import Block, Ref
from ringstep.weave.layout import Layout

#: The sections in which `every A` gathers what was placed before.
GATHERING = frozenset({"row end", "finish"})
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
                yield worked, row, unit
        if end := layout.block("row end"):
            yield end, row, layout.units + 1
    if finish := layout.block("finish"):
        yield finish, layout.rows + 1, 0


def look(layout: Layout, ref: Ref, block: Block, row: int, unit: int) -> Place | str | None:
    """The place a list item of a block worked at (row, unit) looks at.

    None where that is off the piece; a word of place that has no sense there, as it is written.
    """
    if ref.every:
        return (row, unit) if ref.places == ("every",) and block.kind in GATHERING else "every"
    if not ref.places:
        # The finish of a sheet is worked from the end of its last row, and has rings of its own.
        plain = not (layout.flat and block.kind == "finish")
        if plain or any(i.name.role == ref.name.role for s in block.steps for i in s.new):
            return (row, unit)
    starts, whole = layout.block("start") is not None, block.kind in ("start", "finish")
    way, wraps = layout.way(row), False
    if block.kind == "finish" and layout.flat:
        row, way = layout.rows, layout.way(layout.rows)
        unit = layout.ends(row)[way > 0] + way
    elif block.kind == "row end" and layout.shape:
        unit = layout.ends(row)[way > 0] + way
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
        elif word == "above":
            if not layout.flat:
                return word
            row -= 1
            wraps = layout.kind == "tube"
        else:
            unit += way if word == "next" else -way
    if layout.flat:
        if row == 0 and starts:
            return (0, 0)
        if wraps and row >= 1:
            unit = (unit - 1) % layout.units + 1
        inside = layout.has(row, unit)
    else:
        inside = (0 if starts else 1) <= unit <= layout.units
    return (row, unit) if inside or not ref.places else None
