"""What a kit costs with the teacher's work, and the price that leaves a margin.

Comes in: the `Bill` of some kits and a `Worth`. Goes out: a frozen `Priced`. All of it is exact;
the price alone is rounded, up, once.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from ringstep.shop.buying import Bill
from ringstep.shop.lesson_wish import Worth
from ringstep.shop.money import smallest_coin


@dataclass(frozen=True, slots=True)
class Priced:
    """For all kits: material, work, cost; for one kit: each, its cost, and wanted, the price before
    it is rounded up to a multiple of step. work, wanted, price and left are None where the hours,
    the margin or the price of something is not given. left: of all prices over all costs.
    """

    material: Decimal
    work: Decimal | None
    cost: Decimal
    each: Fraction
    wanted: Fraction | None
    step: Decimal
    price: Decimal | None
    left: Decimal | None


def price_of(bill: Bill, pieces: int, worth: Worth) -> Priced:
    """The cost and the price of a kit. No price is made of a cost that is not the whole."""
    work = None if worth.hours is None or worth.rate is None else worth.hours * worth.rate
    cost = bill.cost + (work or 0)
    each = Fraction(cost) / pieces
    step = worth.step or smallest_coin(bill.currency)
    if worth.margin is None or bill.unpriced:
        return Priced(bill.cost, work, cost, each, None, step, None, None)
    part = Fraction(worth.margin) / 100
    wanted = each / (1 - part) if worth.of_price else each * (1 + part)
    price = ceil(wanted / Fraction(step)) * step
    return Priced(bill.cost, work, cost, each, wanted, step, price, price * pieces - cost)
