"""The hand-out: one page for paper with everything a student needs, from rings to glossary.

Comes in: a `Edition` for each variant printed, and the pictures as SVG. Goes out: one HTML page.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from ringstep.checks.summary import summary_lines
from ringstep.checks.view import View
from ringstep.draw.chart import CELL, cell, charts, drawing, most_scale, plans
from ringstep.draw.key import key_marks
from ringstep.language.shipped import made_by
from ringstep.language.words import listed, plural
from ringstep.paper import signs
from ringstep.paper.cautions import asked_short
from ringstep.paper.film import COMPUTED
from ringstep.paper.glossary import glossary
from ringstep.paper.handout_facts import ring_table
from ringstep.paper.handout_head import facts, needs, piece, right_and_wrong, true_size
from ringstep.paper.handout_steps import (
    LARGE_SCALE,
    SCALE,
    WHOLE,
    Choices,
    Edition,
    Steps,
    sized,
)
from ringstep.paper.mirror import NOTE, mirrored_words
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
from ringstep.paper.tally import round_of
from ringstep.weave.marks import text_mark, weave_mark

DRAFT = "UNCHECKED DRAFT: not for work, it may hold mistakes"
_KEY = (
    "Dark: the rings of the step. Grey: those they go through. Pale: all others. Red arrow: where"
    " the open ring goes (one of several), or rings are moved; dashed, with a white head, behind"
    " rings."
)
_COUNT = f" Beside a count a circle is a ring and a line a link. {COMPUTED}"
RINGS_KEY = (
    f"{_KEY} Where no side is said, either will do. Hold the work upright, its beginning down; prev"
    f" is of the unit before.{_COUNT}"
)
FLAT_KEY = f"{_KEY} Hold the work flat, its first row on top; above is of the row above.{_COUNT}"
HANDS = 25.0  # mm, each picture of how a ring is opened
BEGUN = "The number of a row stands at the side on which the row is begun."
CHART_KEY = f"The chart shows the piece as it hangs, its first row on top. {BEGUN}"
PLAN_KEY = f"Each cell is a place that is worked, the first row on top. {BEGUN}"
ROUNDS_KEY = (
    " Each row goes round. A + marks an extra place, a number a place that so many of the row above"
    " share."
)


def handout(weaves: Sequence[Sequence[Edition]], drawn: Mapping[str, str], choices: Choices) -> str:
    """The whole page; of several weaves a booklet, in which what is the same for all stands once.

    weaves: for each the editions that are printed. drawn: pictures by the name of their diagram;
    none of them need be there.
    """
    if len(weaves) == 1:
        parts = _weave(weaves[0], drawn, choices, general(weaves, drawn, choices))
    else:
        titles = (escaped(editions[0].listing.title) for editions in weaves)
        parts = [
            heading(1, choices.frame.title),
            element("ol", joined(element("li", title) for title in titles)),
            *general(weaves, drawn, choices),
        ]
        for editions in weaves:
            own = joined([*_weave(editions, drawn, choices, ()), _marks(editions)])
            parts.append(element("section", own, "variant"))
    body = joined(parts)
    words = glossary(re.sub(r"<[^>]+>", " ", body))
    entries = (Html(f"<b>{escaped(e.term)}</b>: {escaped(e.words)}") for e in words)
    told = bullets(entries, "" if choices.frame.large else "words")
    body = joined([body, heading(2, "Words"), told] if words else [body])
    body = joined([body, _marks(weaves[0])] if len(weaves) == 1 else [body])
    return whole_page(choices.frame, body, beside("handout.css"))


def general(
    weaves: Sequence[Sequence[Edition]], drawn: Mapping[str, str], choices: Choices
) -> list[Html]:
    """What a student reads before the first step, whatever the weave is."""
    editions = [one for group in weaves for one in group]
    cautions = dict.fromkeys(c for one in editions for c in one.listing.cautions)
    recipes = [one.view.recipe for one in editions]
    bought = [kind.material for recipe in recipes for kind in recipe.rings]
    asked = asked_short([*bought, *(part.words for recipe in recipes for part in recipe.parts)])
    cautions |= {asked: None} if asked else {}
    return [
        heading(2, "Before you begin"),
        bullets((escaped(c) for c in cautions), "" if choices.frame.large else "words"),
        _teacher(editions, choices) if choices.teacher and len(weaves) == 1 else Html(""),
        _opening(choices),
        _key(editions, drawn, choices),
    ]


def head(editions: Sequence[Edition], choices: Choices) -> list[Html]:
    """What one weave is, and what it takes."""
    first, several = editions[0], len(editions) > 1
    listing, said = first.listing, _saying(choices)
    return [
        heading(1, listing.title),
        piece(first, choices),
        _under_title(editions),
        _photo_place() if choices.photo else Html(""),
        paragraph(sentence(choices.note), "note") if choices.note else Html(""),
        paragraph(NOTE, "note") if choices.left_handed else Html(""),
        *(said(paragraph(n)) for n in listing.notes),
        *(_what_is_wrong(choices) if choices.frame.stamp else ()),
        heading(2, "The finished piece"),
        facts(first.view, several),
        heading(2, "You need"),
        needs(first, choices.wide_steps),
        true_size(first, choices),
        _sizes(listing),
    ]


def _weave(
    editions: Sequence[Edition],
    drawn: Mapping[str, str],
    choices: Choices,
    before: Sequence[Html],
) -> list[Html]:
    """The pages of one weave; before: what stands before its steps."""
    first, several = editions[0], len(editions) > 1
    listing = first.listing
    told = [
        Steps(p, drawn, choices, several, None if p is first else listing).html() for p in editions
    ]
    said = _saying(choices)
    return [
        *head(editions, choices),
        *before,
        said(joined(told)),
        said(_picture(first, choices) or _shape(first, choices)),
        _joined(first, drawn, choices),
        _when_done(listing),
        _mistakes(first, choices) if not choices.frame.stamp else Html(""),
    ]


def _under_title(editions: Sequence[Edition]) -> Html:
    listing = editions[0].listing
    names = [p.listing.variant for p in editions if p.listing.variant]
    tail = f", variant{'s' if len(names) > 1 else ''} {listed(names)}" if names else ""
    return paragraph(sentence(f"{listing.piece}{tail}"), "lead")


def _saying(choices: Choices) -> Callable[[Html], Html]:
    """How words that may name a side are said."""
    return mirrored_words if choices.left_handed else Html


def _photo_place() -> Html:
    """An empty frame."""
    return element("div", paragraph("Place for your own photo"), "photo")


def _what_is_wrong(choices: Choices) -> list[Html]:
    found = bullets(escaped(f) for f in choices.found)
    return [heading(2, "What the checks found"), found] if found else []


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


def _opening(choices: Choices) -> Html:
    """How a ring is opened and closed."""
    if choices.pictures == "none":
        return Html("")
    shown = (
        [signs.hands(name, words, HANDS * choices.larger), element("span", escaped(words))]
        for name, words in signs.OPENING
    )
    each = element("div", joined(element("span", joined(s)) for s in shown), "hands")
    return element("section", joined([heading(2, "Opening and closing a ring"), each]), "whole")


def _key(editions: Sequence[Edition], drawn: Mapping[str, str], choices: Choices) -> Html:
    """The signs and marks that the pages use, each with its meaning in words."""
    items = []
    used = {s.name for p in editions for s in _signs(p)} if choices.pictures != "none" else set()
    for name, means in signs.MEANS.items():
        if name in used:
            picture = (
                element("b", escaped("2 ×"))
                if name == "times"
                else signs.drawn(name, means, choices.larger)
            )
            items.append(joined([Html(picture), element("span", escaped(means))]))
    large = [d for p in editions for n, d in p.diagrams.items() if n not in p.scenes]
    for mark in key_marks(large):
        if mark.name in drawn:
            svg, _ = sized(drawn[mark.name], choices.larger, choices.frame.text_wide)
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
    worked = (round_of(one.view, section) for section in one.listing.sections)
    yield from (signs.again(len(w.places)) for w in worked if w and len(w.places) > 1)


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


def _away(view: View) -> str:
    """Where not to count, since the rings there pass through fewer."""
    layout = view.weave.layout
    if layout.flat:
        return ", away from the edges"
    return ", away from the ends" if view.weave.repeat is not None else ""


def _mistakes(one: Edition, choices: Choices) -> Html:
    view = one.view
    found = mistakes(view)
    if not found and not every_slip_falls_off(view):
        return Html("")
    intro = (
        f"Count how many rings each finished ring passes through{_away(view)}. These slips leave a"
        " trace; where nothing here fits, count step by step:"
        if found
        else "A slip shows at once here: a ring that misses what it should go through has nothing"
        " to hold it and falls off."
    )
    rows = [(escaped(sentence(m.see)), escaped(sentence(m.cause))) for m in found]
    traces = table("", ("You see", "Where to look"), rows, kind="traces") if rows else Html("")
    told = [heading(2, "If something looks wrong"), paragraph(intro), traces]
    if one.piece is not None and one.wrong is not None and choices.pictures != "none":
        shown = [("right", one.piece), (f"not so: {one.wrong[0]}", one.wrong[1])]
        told.append(right_and_wrong(shown, choices))
    return joined(told)
