"""What to buy in all for the kits of a class, and the tools to lay ready, with boxes to tick.

Comes in: an `Order`, of one weave or of several. Goes out: `Html`, a part of the page with the
packing slip. It names packs where a price list says how many are in one, and no prices.
"""

from __future__ import annotations

from collections.abc import Sequence

from ringstep.language.words import listed
from ringstep.paper.bill_tables import packs_words
from ringstep.paper.cautions import ASK
from ringstep.paper.kit_tables import ask_words, kit_intro, kits_word
from ringstep.paper.order_tables import thing_words, weight_words
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
from ringstep.shop.order import Order


def shopping_list(order: Order, tools: Sequence[str]) -> Html:
    """All rings with their spares and weights, all parts, and the tools; on paper of its own."""
    kits, bill = order.kits, order.bill
    many = kits_word(kits[0]) if len(kits) == 1 else "all kits"
    heads = ["to buy", "what it is", many, "weight, g", *["packs"] * bool(bill)]
    rows = []
    for at, thing in enumerate(order.things):
        name = Html(f"{tick(f'bought: {thing.name}')}{escaped(thing.name)}")
        packs = [packs_words(bill.purchases[at])] if bill else []
        cells = (thing_words(thing), f"{thing.needed:,}", weight_words(thing), *packs)
        rows.append([name, *map(escaped, cells)])
    metals = {x.density.name: x.density.g_per_cm3 for k in kits for x in k.lines if x.density}
    weighed = listed([f"{name} {grams:g} g/cm³" for name, grams in metals.items()])
    boxes = (joined([tick(f"ready: {x}"), element("span", escaped(x))]) for x in tools)
    asked = ask_words(*kits)
    told = (
        heading(2, "Shopping list"),
        *(paragraph(f"{kit.title}. {kit_intro(kit)}") for kit in kits),
        table("Rings and parts in all", heads, rows, range(2, len(heads))),
        paragraph(f"Weights are those of closed round rings: {weighed}.") if metals else Html(""),
        heading(3, ASK) if asked else Html(""),
        bullets(escaped(sentence(words)) for words in asked),
        heading(3, "For each person at work"),
        bullets(boxes, "checks"),
    )
    return element("section", joined(told), "sheet")
