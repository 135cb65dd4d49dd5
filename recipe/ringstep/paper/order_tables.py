"""What to buy for several weaves at once, as tables, as JSON and as CSV.

Comes in: an `Order`. Goes out: `Printed` words, or plain data.
"""

from __future__ import annotations

from typing import Any

from ringstep.language.measures import text_mm
from ringstep.language.words import listed, plural
from ringstep.paper.bill_tables import bought_cells, bought_data, money_sheet, sum_text
from ringstep.paper.kit_tables import grams_text, kit_data, kits_word, ring_words
from ringstep.paper.printed import Printed, Sheet
from ringstep.shop.money import money_text
from ringstep.shop.offers import Thing
from ringstep.shop.order import Order, shares


def thing_words(thing: Thing) -> str:
    """What a thing is: '1.2 × 5 mm, copper', 'lobster claw, brass'."""
    return ring_words(thing.kind) if thing.kind else thing.words


def order_intro(order: Order) -> str:
    """What the order is for: 'For 8 kits of Simple chain and 6 kits of Cuff.'"""
    return f"For {listed([f'{kits_word(kit)} of {kit.title}' for kit in order.kits])}."


def order_page(order: Order) -> Printed:
    """Everything that is bought together, ready to print."""
    things = order.things
    columns = {
        "to buy": [x.name for x in things],
        "what it is": [thing_words(x) for x in things],
        "all kits": [f"{x.needed:,}" for x in things],
        "weight, g": [weight_words(x) for x in things],
    }
    sheets = [Sheet.of_columns("In all", columns, 2)]
    if order.bill:
        words = [f"all together: {sum_text(order.bill)}"]
        words += [
            f"a kit of {kit.title}: {money_text(each, order.bill.currency)}, its share by count"
            for kit, each in zip(order.kits, shares(order), strict=False)
        ]
        sheets.append(money_sheet(things, order.bill, words))
    return Printed(f"Order for {plural(len(order.kits), 'weave')}", (order_intro(order),),
                   tuple(sheets))  # fmt: skip


def weight_words(thing: Thing) -> str:
    """Grams of all rings of a product; empty for a part."""
    if thing.kind is None:
        return ""
    return "not known" if thing.grams is None else grams_text(thing.grams)


def order_data(order: Order) -> dict[str, Any]:
    """An order as plain data: each kit, and what is bought together."""
    bill = order.bill
    bought = bill.purchases if bill else (None,) * len(order.things)
    return {
        "kits": [kit_data(kit) for kit in order.kits],
        "to_buy": [
            {
                "name": thing.name, "what": "ring" if thing.kind else "part",
                "kinds": list(thing.names), "words": thing_words(thing),
                **_sizes(thing), "all_kits": thing.needed,
                "metal_g": thing.grams and round(thing.grams, 4), "buy": bought_data(buy),
            }
            for thing, buy in zip(order.things, bought, strict=True)
        ],
        "currency": bill and bill.currency,
        "cost": bill and str(bill.cost),
        "unpriced": list(bill.unpriced) if bill else [],
        "price_notes": list(bill.notes) if bill else [],
    }  # fmt: skip


def _sizes(thing: Thing) -> dict[str, Any]:
    kind = thing.kind
    wire, inside = kind.mm if kind else (None, None)
    return {
        "wire_mm": wire, "inside_mm": inside,
        "material": kind.material if kind else thing.words, "colour": kind.colour if kind else "",
    }  # fmt: skip


ORDER_HEADS = (
    "name", "what", "wire_mm", "inside_mm", "material", "colour", "all_kits", "metal_g", "pack",
    "packs", "price", "cost", "left_over", "currency",
)  # fmt: skip


def order_rows(data: dict[str, Any]) -> list[dict[str, Any]]:
    """The lines of one CSV table out of the plain data: what is bought together."""
    rows = []
    for line in data["to_buy"]:
        row = {**line, **bought_cells(line["buy"])}
        row["currency"] = data["currency"] if line["buy"] else None
        for size in ("wire_mm", "inside_mm"):
            row[size] = text_mm(line[size]) if line[size] else None
        rows.append(row)
    return rows
