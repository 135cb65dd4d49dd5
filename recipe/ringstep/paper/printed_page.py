"""What is printed, section by section, as HTML.

Comes in: `Printed`, words only. Goes out: `Html` for a page that shows more than that.
"""

from __future__ import annotations

from collections.abc import Mapping

from ringstep.paper.page import (
    Html,
    bullets,
    element,
    escaped,
    heading,
    joined,
    paragraph,
    table,
)
from ringstep.paper.printed import Printed, Sheet


def as_html(printed: Printed, drawn: Mapping[int, str] | None = None) -> Html:
    """The whole text under its title. drawn: pictures of steps by their numbers, as SVG."""
    parts = [heading(2, printed.title), *map(paragraph, printed.intro)]
    return joined([*parts, *(_sheet(sheet, drawn or {}) for sheet in printed.sheets)])


def _sheet(sheet: Sheet, drawn: Mapping[int, str]) -> Html:
    """A section, with the picture of each step that has one."""
    items = []
    for step in sheet.steps:
        below = joined(paragraph(f"{label}: {text}", "quiet") for label, text in step.below)
        words = Html(f"{paragraph(step.sentence)}{below}{drawn.get(step.number, '')}")
        items.append(element("li", words, value=str(step.number)))
    steps = element("ol", Html("\n".join(items))) if items else Html("")
    rows = [[escaped(cell) for cell in row] for row in sheet.rows]
    columns = table("", sheet.heads, rows, sheet.numbers) if sheet.heads else Html("")
    intro = paragraph(sheet.intro) if sheet.intro else Html("")
    notes = bullets(escaped(note) for note in sheet.notes)
    return joined([heading(3, sheet.heading), intro, columns, steps, notes])
