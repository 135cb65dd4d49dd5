"""The hand-out: one page for paper with everything a student needs, from rings to glossary.

Comes in: a `Edition` for each variant printed, and the pictures as SVG. Goes out: one HTML page.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from ringstep.checks.summary import summary_lines
from ringstep.checks.view import View
from ringstep.draw.chart import CELL, cell, charts, drawing, most_scale, plans
from ringstep.draw.key import key_marks
from ringstep.language.shipped import made_by
from ringstep.language.words import listed, plural
from ringstep.paper.film import COMPUTED
from ringstep.paper.glossary import glossary
from ringstep.paper.handout_facts import fact_rows, need_lines, need_table, ring_table
from ringstep.paper.handout_steps import (
    LARGE_SCALE,
    SCALE,
    WHOLE,
    Choices,
    Edition,
    Steps,
    sized,
)
from ringstep.paper.mistakes import every_slip_falls_off, mistakes
from ringstep.paper.page import (
    Html,
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
from ringstep.paper.sentences import sentence
from ringstep.paper.steps_text import StepList
from ringstep.paper.tools import tools_of
from ringstep.weave.marks import text_mark, weave_mark

DRAFT = "UNCHECKED DRAFT: not for work, it may hold mistakes"
#: A longer word than this does not go into a column of the table of rings.
MOST_LETTERS = 18
RINGS_KEY = (
    "A shaded picture beside a diagram shows the real rings after that step, the new ones dark and"
    f" the ones they go through grey. {COMPUTED}"
)
BEGUN = "The number of a row stands at the side on which the row is begun."
CHART_KEY = f"The chart shows the piece as it hangs, its first row on top. {BEGUN}"
PLAN_KEY = f"Each cell is a place that is worked, the first row on top. {BEGUN}"
ROUNDS_KEY = (
    " Each row goes round. A + marks an extra place, a number a place that so many of the row above"
    " share."
)


def handout(editions: Sequence[Edition], drawn: Mapping[str, str], choices: Choices) -> str:
    """The whole page. drawn: pictures by the name of their diagram; none of them need be there."""
    first, several = editions[0], len(editions) > 1
    listing = first.listing
    steps = joined(Steps(p, drawn, choices, several).html() for p in editions)
    body = joined(
        [
            heading(1, listing.title),
            _under_title(editions),
            _photo_place() if choices.photo else Html(""),
            paragraph(sentence(choices.note), "note") if choices.note else Html(""),
            *(paragraph(n) for n in listing.notes),
            *(_what_is_wrong(choices) if choices.frame.stamp else ()),
            heading(2, "The finished piece"),
            _facts(first.view, several),
            heading(2, "You need"),
            _needs(first, choices.frame.large),
            _sizes(listing),
            heading(2, "Before you begin"),
            bullets(escaped(c) for c in listing.cautions),
            _teacher(editions, choices) if choices.teacher else Html(""),
            _key(editions, drawn, choices),
            steps,
            _picture(first, choices) or _shape(first, choices),
            _joined(first, drawn, choices),
            _when_done(listing),
            _mistakes(first.view) if not choices.frame.stamp else Html(""),
        ]
    )
    words = glossary(re.sub(r"<[^>]+>", " ", body))
    entries = (Html(f"<b>{escaped(e.term)}</b>: {escaped(e.words)}") for e in words)
    told = bullets(entries, "" if choices.frame.large else "words")
    body = joined([body, heading(2, "Words"), told] if words else [body])
    body = joined([body, _marks(editions)])
    return whole_page(choices.frame, body, beside("handout.css"))


def _under_title(editions: Sequence[Edition]) -> Html:
    listing = editions[0].listing
    names = [p.listing.variant for p in editions if p.listing.variant]
    tail = f", variant{'s' if len(names) > 1 else ''} {listed(names)}" if names else ""
    return paragraph(sentence(f"{listing.piece}{tail}"), "lead")


def _photo_place() -> Html:
    """An empty frame."""
    return element("div", paragraph("Place for your own photo"), "photo")


def _what_is_wrong(choices: Choices) -> list[Html]:
    found = bullets(escaped(f) for f in choices.found)
    return [heading(2, "What the checks found"), found] if found else []


def _facts(view: View, several: bool) -> Html:
    rows = joined(
        Html(f"<dt>{escaped(label)}</dt><dd>{escaped(sentence(words))}</dd>")
        for label, words in fact_rows(view, several)
    )
    return element("dl", rows, "facts")


def _needs(one: Edition, large: bool) -> Html:
    things = bullets(escaped(t) for t in (*one.listing.parts, *tools_of(one.view.recipe)))
    needs = one.listing.needs
    longest = max((len(w) for n in needs for w in f"{n.name} {n.words}".split()), default=0)
    rings = need_lines(needs) if large or longest > MOST_LETTERS else need_table(needs)
    return joined([rings, things])


def _sizes(listing: StepList) -> Html:
    """Which size is taken where, to tick off, where sizes change along the piece."""
    if listing.sizes is None:
        return Html("")
    items = (joined([tick(f"Done: {x}"), element("span", escaped(x))]) for x in listing.sizes.notes)
    told = [heading(2, listing.sizes.heading), paragraph(listing.sizes.intro)]
    return element("section", joined([*told, bullets(items, "checks rows")]), "whole")


def _teacher(editions: Sequence[Edition], choices: Choices) -> Html:
    """What the student's copy leaves out: the result of the checks, and every ring counted."""
    view = editions[0].view
    lines = [] if choices.frame.stamp else ["the checks found no error", *summary_lines(view)]
    return joined(
        [
            heading(2, "For the teacher"),
            bullets(escaped(sentence(x)) for x in (*lines, *choices.found)),
            ring_table(view),
        ]
    )


def _key(editions: Sequence[Edition], drawn: Mapping[str, str], choices: Choices) -> Html:
    """The marks that the pictures use, each with its meaning in words of the page's own size."""
    items = []
    for mark in key_marks([d for p in editions for d in p.diagrams.values()]):
        if mark.name in drawn:
            scale = 1.0 if not choices.frame.large else LARGE_SCALE / SCALE
            svg, _ = sized(drawn[mark.name], scale, choices.frame.text_wide)
            items.append(joined([svg, element("span", escaped(mark.title))]))
    if not items:
        return Html("")
    pairs = (p.diagrams.get(n) for p in editions for n in p.rings)
    shown = any(d is not None and d.name in drawn for d in pairs)
    rings = [paragraph(RINGS_KEY)] if shown else []
    rings += [paragraph(sentence(line)) for p in editions for line in p.without]
    told = joined([heading(2, "What the marks mean"), bullets(items, "key"), *rings])
    return element("section", told, "whole")


def _picture(one: Edition, choices: Choices) -> Html:
    """The chart of the picture with its key, and its rows to tick off."""
    rows, colours = one.listing.picture, one.view.weave.colours
    if rows is None or colours is None:
        return Html("")
    told = [heading(2, rows.heading), paragraph(rows.intro)]
    if choices.pictures != "none":
        marks = (
            joined(
                [
                    Html(drawing(cell(letter, line.words, 1, 1), CELL + 2, CELL + 2, letter)),
                    element(
                        "span", escaped(f"{line.words}, {plural(colours.placed[letter], 'ring')}")
                    ),
                ]
            )
            for letter, line in colours.key.items()
            if colours.placed[letter]
        )
        told.append(bullets(marks, "key"))
        told.append(paragraph(CHART_KEY))
        told += _charts(charts(colours), len(colours.rows), choices)
    items = (joined([tick(f"Done: {x}"), element("span", escaped(x))]) for x in rows.notes)
    return joined([*told, bullets(items, "checks rows")])


def _shape(one: Edition, choices: Choices) -> Html:
    """The places of a sheet with a shape, or of rounds that grow or shrink."""
    weave = one.view.weave
    layout = weave.layout
    if layout.shape is None or choices.pictures == "none":
        return Html("")
    key = f"{PLAN_KEY}{ROUNDS_KEY}" if layout.rounds else PLAN_KEY
    told = [heading(2, "The shape"), paragraph(key)]
    return joined([*told, *_charts(plans(weave), layout.rows, choices)])


def _joined(one: Edition, drawn: Mapping[str, str], choices: Choices) -> Html:
    """All pieces that are made first with what joins them."""
    whole = one.diagrams.get(WHOLE)
    if whole is None or whole.name not in drawn:
        return Html("")
    scale = LARGE_SCALE if choices.frame.large else SCALE
    svg, _ = sized(drawn[whole.name], scale, choices.frame.text_wide)
    told = [heading(2, "The pieces and what joins them")]
    if "; " in whole.title:
        told.append(paragraph(sentence(whole.title.partition("; ")[2])))
    return element("section", joined([*told, element("figure", svg, "below")]), "whole")


def _charts(parts: Iterable[str], rows: int, choices: Choices) -> Iterator[Html]:
    """The parts of a chart of so many rows, as large as they may be."""
    scale = min(LARGE_SCALE if choices.frame.large else SCALE, most_scale(rows))
    for svg in parts:
        yield element("figure", sized(svg, scale, choices.frame.text_wide)[0], "whole")


def _when_done(listing: StepList) -> Html:
    if not listing.finished:
        return Html("")
    items = (
        joined([tick(f"Seen: {x}"), element("span", escaped(sentence(x)))])
        for x in listing.finished
    )
    told = joined([heading(2, "When it is done"), bullets(items, "checks")])
    return element("section", told, "whole")


def _marks(editions: Sequence[Edition]) -> Html:
    """The marks of the weave and of the text, by which a page and its recipe are known again."""
    told = []
    for one in editions:
        if mark := weave_mark(one.view.weave):
            variant = f" ({one.listing.variant})" if len(editions) > 1 else ""
            told.append(f"weave mark{variant} {mark.words}")
    told.append(f"text mark {text_mark(editions[0].view.recipe.source)}")
    return paragraph(f"{sentence(', '.join(told))} Made with {made_by()}.", "marks")


def _mistakes(view: View) -> Html:
    found = mistakes(view)
    if not found and not every_slip_falls_off(view):
        return Html("")
    intro = (
        "Count how many rings each finished ring passes through, away from the ends. These slips"
        " leave a trace; where nothing here fits, count step by step:"
        if found
        else "A slip shows at once here: a ring that misses what it should go through has nothing"
        " to hold it and falls off."
    )
    rows = [(escaped(sentence(m.see)), escaped(sentence(m.cause))) for m in found]
    traces = table("", ("You see", "Where to look"), rows, kind="traces") if rows else Html("")
    return joined([heading(2, "If something looks wrong"), paragraph(intro), traces])
