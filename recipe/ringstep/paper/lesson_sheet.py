"""The sheet of a lesson on paper: what to prepare with boxes to tick, the times, the cost.

Comes in: the `Printed` words of a lesson. Goes out: one self-contained HTML page.
"""

from __future__ import annotations

from ringstep.paper.lesson_tables import ONE_PIECE, PREPARE, TIMETABLE
from ringstep.paper.page import (
    Frame,
    Html,
    Paper,
    beside,
    bullets,
    element,
    escaped,
    heading,
    joined,
    paragraph,
    table,
    tick,
    whole_page,
)
from ringstep.paper.printed import Printed, Sheet


def _cells(sheet: Sheet, row: tuple[str, ...]) -> list[Html]:
    """The cells of a row, a box before whatever is to be done."""
    told = [escaped(cell.strip()) for cell in row]
    if sheet.heading == PREPARE:
        for at, head in enumerate(sheet.heads):
            if at > 1 and "reads" not in head and row[at]:
                told[at] = Html(f"{tick(f'{row[0]}: {head}')}{told[at]}")
    elif sheet.heading == TIMETABLE:
        told[0] = Html(f"{tick(f'{row[2]} from {row[0]}')}{told[0]}")
    elif sheet.heading == ONE_PIECE and not row[1]:  # a section with what its steps come to
        told = [element("strong", cell) if cell else cell for cell in told]
    return told


def _section(sheet: Sheet) -> Html:
    rows = [_cells(sheet, row) for row in sheet.rows]
    notes = [n.partition(": --")[0] for n in sheet.notes if "--" not in n.partition(": --")[0]]
    return joined(
        (
            heading(2, sheet.heading),
            table("", sheet.heads, rows, sheet.numbers) if rows else Html(""),
            bullets(escaped(note) for note in notes),
        )
    )


def lesson_sheet(printed: Printed, paper: Paper = "a4") -> str:
    """The page as HTML text."""
    body = joined(
        (
            heading(1, f"Lesson: {printed.title}"),
            paragraph(" ".join(f"{words.removesuffix('.')}." for words in printed.intro)),
            *map(_section, printed.sheets),
        )
    )
    return whole_page(Frame(f"Lesson, {printed.title}", paper), body, beside("lesson_sheet.css"))
