"""A page to follow at the bench, on a phone or a tablet: one step a screen, the place remembered.

Comes in: an `Edition` and its pictures. Goes out: one HTML page that needs nothing beside it.
Without scripts it is a plain list of all steps.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from ringstep.paper.handout import general, head
from ringstep.paper.handout_steps import Cell, Choices, Edition, Steps
from ringstep.paper.mirror import mirrored_words
from ringstep.paper.page import Html, beside, bullets, element, escaped, heading, joined, whole_page
from ringstep.paper.sentences import sentence
from ringstep.weave.marks import text_mark


def follow(edition: Edition, drawn: Mapping[str, str], choices: Choices) -> str:
    """The whole page. drawn: pictures by the name of their diagram."""
    choices = replace(choices, screen=True)
    steps = Steps(edition, drawn, choices, several=False)
    screens = [
        element("section", joined(head([edition], choices)), "screen"),
        element("section", joined(general([[edition]], drawn, choices)), "screen"),
        *_screens(list(steps.cells()), choices),
    ]
    if edition.listing.finished:
        seen = bullets(escaped(sentence(x)) for x in edition.listing.finished)
        told = joined([heading(2, "When it is done"), seen])
        screens.append(element("section", told, "screen"))
    mark = text_mark(edition.view.recipe.source)
    name = f"{mark} {edition.listing.variant}{' left' if choices.left_handed else ''}"
    pages = element("div", joined(screens), "screens", data_mark=name.strip())
    script = Html(f"<script>\n{beside('follow.js')}</script>")
    style = beside("handout.css") + beside("follow.css")
    return whole_page(choices.frame, joined([pages, script]), style)


def _screens(cells: list[Cell], choices: Choices) -> Iterator[Html]:
    """A screen for each step, under the heading of its section; in full above the first."""
    said = mirrored_words if choices.left_handed else Html
    above: list[Html] = []
    attributes: dict[str, str] = {}
    for number, cell in enumerate(cells):
        if cell.head:
            above.append(cell.html)
            attributes = {}
            if cell.round is not None and len(cell.round.spans) == 1 < len(cell.round.places):
                attributes = {
                    "data_what": cell.round.what,
                    "data_first": str(cell.round.places[0]),
                    "data_times": str(len(cell.round.places)),
                    "data_sides": cell.round.sides,
                    "data_section": str(number),
                }
            continue
        told = said(joined([*above, cell.html]))
        yield element("section", told, "screen", **attributes)
        above = []
    if above:
        yield element("section", said(joined(above)), "screen")
