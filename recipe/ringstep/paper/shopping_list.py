"""What to buy in all for the kits of a class, and the tools to lay ready, with boxes to tick.

Comes in: a `Kit`. Goes out: `Html`, a part of the page with the packing slip. It names packs where
a price list says how many are in one, and no prices.
"""

from __future__ import annotations

from collections.abc import Sequence

from ringstep.language.words import listed
from ringstep.paper.cautions import ASK
from ringstep.paper.kit_tables import ask_words, grams_text, kit_intro, kits_word, ring_words
from ringstep.paper.page import (
    Html,
    bullets,
    element,
    escaped,
    heading,
    joined,
    paragraph,
    table,
    tick,
)
from ringstep.paper.sentences import sentence
from ringstep.shop.kit import Kit, KitLine, Purchase


def packs_words(buy: Purchase | None) -> str:
    """How many packs of how many: '4 of 100'."""
    return f"{buy.packs:,} of {buy.pack:,}" if buy else "no price"


def _weight(kit: Kit, line: KitLine) -> str:
    """Grams of all rings of a product."""
    return "not known" if line.grams is None else grams_text(line.grams * kit.wish.pieces)


def shopping_list(kit: Kit, tools: Sequence[str]) -> Html:
    """All rings with their spares and weights, all parts, and the tools; on paper of its own."""
    heads = ["to buy", "what it is", kits_word(kit), "weight, g", *["packs"] * bool(kit.currency)]
    rows = []
    things = [(x, ring_words(x), _weight(kit, x)) for x in kit.lines]
    things += [(part, part.words, "") for part in kit.parts]  # type: ignore[misc]
    for line, words, weight in things:
        name = Html(f"{tick(f'bought: {line.name}')}{escaped(line.name)}")
        packs = [packs_words(line.purchase)] if kit.currency else []
        rows.append([name, *map(escaped, (words, f"{line.in_class:,}", weight, *packs))])
    metals = {x.density.name: x.density.g_per_cm3 for x in kit.lines if x.density}
    weighed = listed([f"{name} {grams:g} g/cm³" for name, grams in metals.items()])
    boxes = (joined([tick(f"ready: {x}"), element("span", escaped(x))]) for x in tools)
    asked = ask_words(kit)
    told = (
        heading(2, "Shopping list"),
        paragraph(f"{kit.title}. {kit_intro(kit)}"),
        table("Rings and parts in all", heads, rows, range(2, len(heads))),
        paragraph(f"Weights are those of closed round rings: {weighed}.") if metals else Html(""),
        heading(3, ASK) if asked else Html(""),
        bullets(escaped(sentence(words)) for words in asked),
        heading(3, "For each person at work"),
        bullets(boxes, "checks"),
    )
    return element("section", joined(told), "sheet")
