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
from ringstep.language.words import listed, plural
from ringstep.paper import finished, panel, signs
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
from ringstep.paper.sentences import Speaker, sentence
from ringstep.paper.steps_text import StepList
from ringstep.weave.marks import text_mark, weave_mark

DRAFT = "UNCHECKED DRAFT: not for work, it may hold mistakes"
TOOLS = ("two pairs of flat-jawed pliers", "good light", "a tray that keeps rings from rolling")
#: More sizes of rings than this are not shown at true size.
MOST_SIZES = 4
#: A longer word than this does not go into a column of the table of rings.
MOST_LETTERS = 18
RINGS_KEY = (
    "Before stands left, after right. The rings of the step are dark, those they go through grey,"
    " all others pale. The red arrow is the way of the open ring, or of rings that are moved. Hold"
    " the work upright, its beginning down. Beside a count a circle is a ring and a line a link."
    f" {COMPUTED}"
)
FLAT_KEY = RINGS_KEY.replace("upright, its beginning down", "flat, its first row on top")
#: mm: each picture of how a ring is opened; the finished piece, wide and high; a ring of it; the
#: rule.
HANDS, PIECE_WIDE, PIECE_HIGH, PIECE_RING, RULE = 25.0, 62.0, 66.0, 16.0, 50
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
            _piece(first, choices),
            _under_title(editions),
            paragraph(sentence(choices.note), "note") if choices.note else Html(""),
            *(paragraph(n) for n in listing.notes),
            *(_what_is_wrong(choices) if choices.frame.stamp else ()),
            heading(2, "The finished piece"),
            _facts(first.view, several),
            heading(2, "You need"),
            _needs(first, choices.frame.large),
            _true_size(first, choices),
            _sizes(listing),
            heading(2, "Before you begin"),
            bullets((escaped(c) for c in listing.cautions), "" if choices.frame.large else "words"),
            _teacher(editions, choices) if choices.teacher else Html(""),
            _opening(choices),
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


def _what_is_wrong(choices: Choices) -> list[Html]:
    found = bullets(escaped(f) for f in choices.found)
    return [heading(2, "What the checks found"), found] if found else []


def _facts(view: View, several: bool) -> Html:
    rows = joined(
        Html(f"<div><dt>{escaped(label)}</dt><dd>{escaped(sentence(words))}</dd></div>")
        for label, words in fact_rows(view, several)
    )
    return element("dl", rows, "facts")


def _needs(one: Edition, large: bool) -> Html:
    things = joined(paragraph(sentence(t)) for t in (*one.listing.parts, f"Tools: {listed(TOOLS)}"))
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


def _piece(one: Edition, choices: Choices) -> Html:
    """A stretch of the finished piece, large."""
    if one.piece is None or choices.pictures == "none":
        return Html("")
    wide, high = panel.size_of(one.piece.large)
    larger = LARGE_SCALE / SCALE if choices.frame.large else 1.0
    scale = min(PIECE_WIDE / wide, PIECE_HIGH / high, PIECE_RING / 92) * larger
    return element("figure", panel.sized_rings(one.piece.large, scale), "piece")


def _true_size(one: Edition, choices: Choices) -> Html:
    """A ring of each size to lay one's own on, a stretch of the work at true size, and a rule."""
    sizes = [
        (need.name, wire, inside)
        for need in one.listing.needs
        for wire, inside in [need.kind.mm]
        if wire and inside and inside > 0
    ]
    if choices.pictures == "none" or not sizes or len(sizes) > MOST_SIZES:
        return Html("")
    told = [finished.true_rings(sizes)]
    if one.piece is not None:
        told.append(panel.sized_rings(one.piece.strip, 1 / one.piece.pixels))
    told.append(finished.rule(RULE))
    words = (
        "At true size: lay your ring on the ring. If the rule is not 50 mm long, the page was not"
        " printed at 100 %."
    )
    return element("figure", joined([*told, paragraph(words, "quiet")]), "true-size")


def _opening(choices: Choices) -> Html:
    """How a ring is opened and closed."""
    if choices.pictures == "none":
        return Html("")
    larger = LARGE_SCALE / SCALE if choices.frame.large else 1.0
    shown = (
        [signs.hands(name, words, HANDS * larger), element("span", escaped(words))]
        for name, words in signs.OPENING
    )
    each = element("div", joined(element("span", joined(s)) for s in shown), "hands")
    return element("section", joined([heading(2, "Opening and closing a ring"), each]), "whole")


def _key(editions: Sequence[Edition], drawn: Mapping[str, str], choices: Choices) -> Html:
    """The signs and marks that the pages use, each with its meaning in words."""
    larger = LARGE_SCALE / SCALE if choices.frame.large else 1.0
    items = []
    used = {s.name for p in editions for s in _signs(p)} if choices.pictures != "none" else set()
    for name, means in signs.MEANS.items():
        if name in used:
            picture = element("b", escaped("2 ×")) if name == "times" else signs.drawn(name, means)
            items.append(joined([Html(picture), element("span", escaped(means))]))
    large = [d for p in editions for n, d in p.diagrams.items() if n not in p.scenes]
    for mark in key_marks(large):
        if mark.name in drawn:
            svg, _ = sized(drawn[mark.name], larger, choices.frame.text_wide)
            items.append(joined([svg, element("span", escaped(mark.title))]))
    flat = editions[0].view.weave.layout.flat
    told = [paragraph(FLAT_KEY if flat else RINGS_KEY)] if any(p.scenes for p in editions) else []
    told += [paragraph(sentence(line)) for p in editions for line in p.without]
    if not told and not items:
        return Html("")
    told = [heading(2, "What the signs mean"), *told, bullets(items, "key")]
    return element("section", joined(told), "whole")


def _signs(one: Edition) -> Iterator[signs.Sign]:
    """Every sign that stands beside a step."""
    for view in (one.view, *one.view.pieces):
        speaker = Speaker(view)
        for act in speaker.told.values():
            yield from signs.signs_of(act, speaker.side(act.step, act))


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
    return paragraph(sentence(", ".join(told)), "marks")


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
