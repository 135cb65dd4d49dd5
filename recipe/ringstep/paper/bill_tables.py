"""What to buy and what it costs, as a table and as plain data.

Comes in: things and their `Bill`. Goes out: a `Sheet`, or plain data.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ringstep.language.words import listed
from ringstep.paper.printed import Sheet
from ringstep.shop.buying import Bill, Purchase
from ringstep.shop.money import amount_text, money_text
from ringstep.shop.offers import Thing


def money_sheet(things: Sequence[Thing], bill: Bill, told: Sequence[str]) -> Sheet:
    """All packs, a line for each kind of pack. told: what is said of the sum."""
    money = bill.currency
    rows: list[tuple[str, ...]] = []
    for thing, bought in zip(things, bill.purchases, strict=True):
        for at, packs in enumerate(bought.kinds if bought else ()):
            last = bought and at == len(bought.kinds) - 1
            rows.append(
                (
                    thing.name if not at else "",
                    f"{thing.needed:,}" if not at else "",
                    f"{packs.pack:,}",
                    f"{packs.packs:,}",
                    amount_text(packs.price, money),
                    amount_text(packs.cost, money),
                    f"{bought.left:,}" if bought and last else "",
                )
            )
    heads = ("to buy", "needed", "in a pack", "packs", f"price a pack, {money}", f"cost, {money}",
             "left over")  # fmt: skip
    columns = {head: [row[at] for row in rows] for at, head in enumerate(heads)}
    notes = [*told, *bill.notes]
    if bill.unpriced:
        verb = "has" if len(bill.unpriced) == 1 else "have"
        notes.append(
            f"{listed(list(bill.unpriced))} {verb} no price in the list, so the cost is too low by"
            " that"
        )
    return Sheet.of_columns("To buy", columns, notes=tuple(notes))


def sum_text(bill: Bill) -> str:
    """What everything costs together."""
    return money_text(bill.cost, bill.currency)


def packs_words(buy: Purchase | None) -> str:
    """How many packs of how many: '4 of 100', '1 of 500 and 2 of 100'."""
    return listed([f"{x.packs:,} of {x.pack:,}" for x in buy.kinds]) if buy else "no price"


def bought_data(buy: Purchase | None) -> dict[str, Any] | None:
    """A purchase as plain data; money is text, so that no digit is lost."""
    if buy is None:
        return None
    return {
        "packs": [{"pack": x.pack, "price": str(x.price), "packs": x.packs} for x in buy.kinds],
        "cost": str(buy.cost),
        "left_over": buy.left,
    }


def bought_cells(buy: dict[str, Any] | None) -> dict[str, Any]:
    """The same as cells of one CSV line; several kinds of packs stand in one cell each."""
    if buy is None:
        return {}
    kinds = buy["packs"]
    cells = {what: " + ".join(str(x[what]) for x in kinds) for what in ("pack", "packs", "price")}
    return {**cells, "cost": buy["cost"], "left_over": buy["left_over"]}
