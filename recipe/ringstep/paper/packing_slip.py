"""The papers of a kit: a slip to pack by, kit after kit, with boxes to tick; what to buy; labels.

Comes in: an `Order`, of one weave or of several. Goes out: one self-contained HTML page
in the frame of the hand-outs.
"""

from __future__ import annotations

from collections.abc import Sequence

from ringstep.language.words import listed
from ringstep.paper.bag_labels import bag_labels, rings_called
from ringstep.paper.bill_tables import packs_words
from ringstep.paper.cautions import CAUTIONS
from ringstep.paper.kit_tables import kit_intro, kits_word, length_words, ring_words
from ringstep.paper.page import (
    Frame,
    Html,
    Paper,
    beside,
    element,
    escaped,
    heading,
    joined,
    paragraph,
    table,
    tick,
    whole_page,
)
from ringstep.paper.shopping_list import shopping_list
from ringstep.shop.kit import Kit, KitLine
from ringstep.shop.order import Order

#: Most cards on one slip; past them it says how many more there are.
MOST_CARDS = 60


def _thing(count: int, label: str, name: str, words: str, more: str = "") -> Html:
    """One line of a kit: box, count, what it is. label: what the box is called."""
    told = element("strong", escaped(name))
    what = Html(f"{told}, {escaped(words)}" if words else told)
    if more:
        what = Html(f"{what}<br>{element('span', escaped(more), 'quiet')}")
    count_cell = element("span", escaped(f"{count:,}"), "many")
    return element("li", joined((tick(label), count_cell, element("span", what))))


def _rings(kit: Kit, line: KitLine, who: str) -> Html:
    """The rings of one product as they lie in the kit: '33 core rings', or only '108 rings'."""
    told = ((line.opened, "opened"), (line.closed, "closed"), (line.spares, "spare"))
    small = ", ".join(f"{n:,} {w}" for n, w in told if n)
    name = rings_called(kit, line)
    return _thing(line.in_kit, f"{who}: {line.name}", name, ring_words(line.kind), small)


def _card(kit: Kit, number: int, weave: str) -> Html:
    """One kit: its number, a line for the name, and every thing with a box.

    weave: which it is, where there are several.
    """
    who = f"Kit {number}{weave and f', {weave}'}"
    things = [_rings(kit, line, who) for line in kit.lines]
    things += [_thing(p.count, f"{who}: {p.name}", p.name, p.words) for p in kit.parts]
    blank = Html('<span class="write">&nbsp;</span>')
    return element(
        "section",
        joined(
            (
                heading(3, who),
                element("ul", joined(things)),
                element("p", Html(f"for {blank}"), "line"),
            )
        ),
        "kit",
        aria_label=who,
    )


def _totals(kit: Kit) -> Html:
    """What to count out, and to buy, for all kits together."""
    priced = kit.bill is not None
    heads = ["ring or part" if kit.parts else "ring", "what it is", "a kit", kits_word(kit)]
    heads += ["packs"] if priced else []
    rows = []
    everything = [(x, x.name, ring_words(x.kind), x.in_kit) for x in kit.lines]
    everything += [(p, p.name, p.words, p.count) for p in kit.parts]  # type: ignore[misc]
    for line, name, words, each in everything:
        label = Html(f"{tick(f'all kits: {name}')}{escaped(name)}")
        row = [label, escaped(words), escaped(f"{each:,}"), escaped(f"{line.in_class:,}")]
        if priced:
            row.append(escaped(packs_words(line.purchase)))
        rows.append(row)
    return table("Count these out first", heads, rows, range(2, len(heads)))


def _slip(kit: Kit, weave: str) -> Html:
    """What is packed of one weave: all kits together, then kit by kit."""
    cards = min(kit.wish.pieces, MOST_CARDS)
    more = (
        f"{kits_word(kit)} are wanted; the first {cards} stand here, the others are the same."
        if kit.wish.pieces > cards
        else ""
    )
    told = length_words(kit, on_paper=True) if kit.length else ()
    choking = next((c for c in CAUTIONS if "choking" in c), "")
    return joined(
        (
            heading(1, f"Packing slip: {kit.title}"),
            paragraph(kit_intro(kit)),
            *([paragraph(kit.trace)] if kit.trace else []),
            *(paragraph(f"{w[0].upper()}{w[1:]}.", "quiet") for w in told[:2]),
            heading(2, "All kits" if kit.wish.pieces > 1 else "What to count out"),
            _totals(kit),
            paragraph(choking),
            heading(2, "Kit by kit" if kit.wish.pieces > 1 else "The kit"),
            paragraph(more) if more else Html(""),
            element("div", joined(_card(kit, n, weave) for n in range(1, cards + 1)), "kits"),
        )
    )


def packing_slip(order: Order, tools: Sequence[str], paper: Paper = "a4") -> str:
    """The page as HTML text. No prices stand on it: it may lie open on a class table."""
    first, *others = order.kits
    body = joined(
        (
            _slip(first, first.title if others else ""),
            *(element("section", _slip(kit, kit.title), "sheet") for kit in others),
            shopping_list(order, tools),
            *(bag_labels(kit) for kit in order.kits),
        )
    )
    title = listed([kit.title for kit in order.kits])
    return whole_page(Frame(f"Packing slip, {title}", paper), body, beside("packing_slip.css"))
