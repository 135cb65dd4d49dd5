"""Several weaves made at once: what is bought together for all of them.

Comes in: kits, and perhaps price lines. Goes out: a frozen `Order`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from ringstep.language.words import listed
from ringstep.shop.buying import Bill, bill_of
from ringstep.shop.kit import Kit
from ringstep.shop.money import share
from ringstep.shop.offers import Thing
from ringstep.shop.tables import Price


@dataclass(frozen=True, slots=True)
class Order:
    """Kits of one weave or of several. things: rings of one product for all of them, then parts.

    bill: what all things cost, None where there is no price list.
    """

    kits: tuple[Kit, ...]
    things: tuple[Thing, ...]
    bill: Bill | None


def shares(order: Order) -> tuple[Decimal, ...]:
    """What one kit of each weave costs: of each thing that is bought its share by count, rounded up
    to the smallest coin. Nothing where something has no price."""
    bill = order.bill
    if bill is None or bill.unpriced:
        return ()
    found = []
    groups: dict[tuple[object, ...], bool] = {}
    for kit in order.kits:
        groups.update({_same(thing): thing.kind is None for thing in kit.things})
    bought = {
        same: (buy.cost, thing.needed)
        for same, thing, buy in zip(
            sorted(groups, key=lambda same: groups[same]), order.things, bill.purchases, strict=True
        )
        if buy is not None
    }
    for kit in order.kits:
        cost = Fraction(0)
        for thing in kit.things:
            whole, needed = bought[_same(thing)]
            cost += Fraction(whole) * thing.needed / needed
        found.append(share(cost, kit.wish.pieces, bill.currency))
    return tuple(found)


def order_of(
    kits: Sequence[Kit], prices: tuple[Price, ...] | None = None, listing: str = ""
) -> Order:
    """What is bought for some kits, packs worked out on the sums.

    Of one kit it is what the kit says by itself. Raises `NoKit` and `BadTable` as `bill_of` does.
    """
    if len(kits) == 1:
        return Order(tuple(kits), kits[0].things, kits[0].bill)
    found: dict[tuple[object, ...], list[tuple[Kit, Thing]]] = {}
    for kit in kits:
        for thing in kit.things:
            found.setdefault(_same(thing), []).append((kit, thing))
    together = [_together(uses) for uses in found.values()]
    things = sorted(together, key=lambda thing: thing.kind is None)
    bill = None if prices is None else bill_of(things, prices, listing)
    return Order(tuple(kits), tuple(things), bill)


def _same(thing: Thing) -> tuple[object, ...]:
    """What two things have in common that are bought as one."""
    kind = thing.kind
    if kind is None:
        return thing.name.casefold(), thing.words.casefold()
    look = (w.casefold() for w in (kind.material, kind.colour))
    return *kind.mm, *look, kind.stays_closed


def _together(uses: list[tuple[Kit, Thing]]) -> Thing:
    """One thing for all the kits that take it."""
    first = uses[0][1]
    names = tuple(dict.fromkeys(name for _, thing in uses for name in thing.names))
    grams = [thing.grams for _, thing in uses]
    known = [g for g in grams if g is not None]
    called = [f"{thing.name} of {kit.title}" for kit, thing in uses]
    return replace(
        first,
        name=listed(list(dict.fromkeys(called))),
        names=tuple(dict.fromkeys((*names, *(thing.name for _, thing in uses)))),
        needed=sum(thing.needed for _, thing in uses),
        grams=sum(known) if len(known) == len(grams) else None,
    )
