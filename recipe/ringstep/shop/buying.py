"""What to buy of each thing out of a price list, and what it costs.

Comes in: things wanted and price lines. Goes out: a frozen `Bill`. Money is `Decimal` and exact;
packs are rounded up, and of several packs those are taken that together cost least.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import gcd

from ringstep.language.screen import safe
from ringstep.language.words import listed, plural
from ringstep.shop.offers import (
    Thing,
    fitting,
    line_words,
    looks,
    nearest_line,
    says_no_metal,
)
from ringstep.shop.rows import BadTable
from ringstep.shop.tables import Price, told_together
from ringstep.shop.wish import NoKit

#: Steps in which packs of several sizes are weighed against one another.
_MOST_STEPS = 50_000


@dataclass(frozen=True, slots=True)
class Packs:
    """Some packs of one kind. pack: pieces in each; price: of each."""

    pack: int
    price: Decimal
    packs: int

    @property
    def cost(self) -> Decimal:
        """Of all of them."""
        return self.packs * self.price


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to buy of one thing for all kits. left: pieces left over."""

    kinds: tuple[Packs, ...]
    left: int

    @property
    def packs(self) -> int:
        """All packs together."""
        return sum(x.packs for x in self.kinds)

    @property
    def cost(self) -> Decimal:
        """Of all packs."""
        return sum((x.cost for x in self.kinds), Decimal(0))


@dataclass(frozen=True, slots=True)
class Bill:
    """What all things cost. purchases: one for each thing, None where the list has no line of it.

    unpriced: the things without one. notes: which lines were taken, and which are missing.
    """

    purchases: tuple[Purchase | None, ...]
    currency: str
    unpriced: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def cost(self) -> Decimal:
        """Of everything that has a price."""
        return sum((x.cost for x in self.purchases if x), Decimal(0))


def packs_for(need: int, pack: int) -> int:
    """Packs to buy: they hold at least `need`, and one pack fewer would not.

    >>> packs_for(100, 50), packs_for(101, 50), packs_for(0, 50)
    (2, 3, 0)
    """
    return -(-need // pack)


def cheapest(need: int, offers: Sequence[tuple[int, Decimal]]) -> tuple[Packs, ...]:
    """The packs (pieces, price) that hold at least `need` for the least money; of these the fewest
    pieces.

    >>> [(x.pack, x.packs) for x in cheapest(650, [(100, Decimal("3.80")), (500, Decimal(15))])]
    [(500, 1), (100, 2)]
    """
    lowest: dict[int, Decimal] = {}
    for pack, price in offers:
        lowest[pack] = min(price, lowest.get(pack, price))
    one = min(lowest, key=lambda p: (packs_for(need, p) * lowest[p], packs_for(need, p) * p))
    single = (Packs(one, lowest[one], packs_for(need, one)),)
    step = gcd(*lowest)
    best = min(lowest, key=lambda p: lowest[p] / p)
    # Of the other packs fewer than best // step are worth their money: of as many, some would hold
    # a multiple of `best`.
    most = (best // step) * max(lowest)
    bulk = max(0, (need - most) // best)
    units = packs_for(need - bulk * best, step)
    if len(lowest) == 1 or units > _MOST_STEPS:
        return single
    sums: list[tuple[Decimal, int, int]] = [(Decimal(0), 0, 0)]  # cost, pieces, pack put in last
    for n in range(1, units + 1):
        below = ((p, sums[max(0, n - p // step)]) for p in lowest)
        sums.append(min((cost + lowest[p], pieces + p, p) for p, (cost, pieces, _) in below))
    many = dict.fromkeys(lowest, 0)
    many[best] = bulk
    at = units
    while at > 0:
        pack = sums[at][2]
        many[pack] += 1
        at -= pack // step
    return tuple(Packs(p, lowest[p], many[p]) for p in sorted(many, reverse=True) if many[p])


def bill_of(things: Sequence[Thing], prices: Sequence[Price], listing: str) -> Bill:
    """Find every thing in a price list and buy it there.

    listing: what to call the list. Raises `NoKit` where nothing is found, or a name stands for
    several things, and `BadTable` where a line that is needed cannot be read.
    """
    where = safe(listing)
    _names_apart(things, prices, where)
    found = [fitting(thing, prices) for thing in things]
    notes: list[str] = []
    for at, (thing, lines) in enumerate(zip(things, found, strict=True)):
        if thing.kind and not thing.kind.material and len(looks(lines)) > 1:
            told = listed([line_words(x) for x in lines[:5]])
            notes.append(f"{thing.name}: the recipe names no metal, and several fit: {told}")
            found[at] = []
    taken = [price for lines in found for price in lines]
    if faults := [words for price in taken for words in price.faults]:
        raise BadTable(told_together(list(dict.fromkeys(faults))))
    for price in taken:
        if price.currency != taken[0].currency:
            raise BadTable(
                f"{where}, line {price.line}: the price is in {price.currency}, and in"
                f" {taken[0].currency} in line {taken[0].line}; a kit is paid in one currency, so"
                " turn these prices into one of the two"
            )
    missing = [thing for thing, lines in zip(things, found, strict=True) if not lines]
    gaps = [_missing(thing, prices, where) for thing in missing]
    unsized = [price.unsized for price in prices if price.unsized]
    if unsized and any(thing.kind for thing in missing):
        more = f" ({len(unsized) - 1} more lines have such a size)" if unsized[1:] else ""
        gaps.append(f"{unsized[0]}{more}")
    if prices and not taken:
        raise NoKit("\n".join([f"{where} has no price of anything in the recipe", *gaps, *notes]))
    purchases = []
    for thing, lines in zip(things, found, strict=True):
        purchase = None
        if lines:
            kinds = cheapest(thing.needed, [(x.pack, x.price) for x in lines])
            left = sum(x.pack * x.packs for x in kinds) - thing.needed
            purchase = Purchase(kinds, left)
            notes += _which(thing, lines, kinds, where)
        purchases.append(purchase)
    unused = len(prices) - len({price.line for price in taken})
    if unused:
        verb = "is" if unused == 1 else "are"
        notes.append(f"{plural(unused, 'other line')} of {where} {verb} not needed")
    currency = taken[0].currency if taken else ""
    return Bill(tuple(purchases), currency, tuple(x.name for x in missing), (*gaps, *notes))


def _names_apart(things: Sequence[Thing], prices: Sequence[Price], where: str) -> None:
    """Raises `NoKit` where a line without a size names several things."""
    for price in prices:
        named = [thing for thing in things if thing.called(price)]
        if len(named) > 1:
            raise NoKit(
                f"{where}, line {price.line}: '{safe(price.name)}' may be"
                f" {listed([x.told for x in named], 'or')}; write the size and the metal instead,"
                " such as '1.2 × 5 mm, copper'"
            )


def _which(thing: Thing, lines: list[Price], kinds: tuple[Packs, ...], where: str) -> list[str]:
    """Which lines of the list are bought, where the name of the thing does not say that."""
    if len(lines) == 1 and thing.called(lines[0]):
        return []
    wanted = [(x.pack, x.price) for x in kinds]
    taken = [next(x for x in lines if (x.pack, x.price) == packs) for packs in wanted]
    if not taken:
        return []
    words = f"{thing.name}: {listed([line_words(x) for x in taken])} of {where}"
    if len(lines) > 1:
        cost = "costs" if len(taken) == 1 else "cost"
        words += f" {cost} least of {len(lines):,} lines that fit"
    metal = thing.kind.material if thing.kind else ""
    if metal and any(says_no_metal(x) for x in taken if not thing.called(x)):
        words += f"; it names no metal, {metal} is wanted"
    return [words]


def _missing(thing: Thing, prices: Sequence[Price], where: str) -> str:
    near = nearest_line(thing, prices)
    return f"{thing.told} has no line in {where}" + (
        f"; the nearest is {line_words(near)}" if near else ""
    )
