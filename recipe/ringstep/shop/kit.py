"""What a piece, or a class of pieces, takes: units, rings, spares, wire, metal, packs and money.

Comes in: a clean `View`, a `Wish` and perhaps a price list. Goes out: a frozen `Kit`. Money is
`Decimal` and exact; packs, spares and units are always rounded up.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal, localcontext
from fractions import Fraction
from math import ceil

from ringstep.checks.summary import piece_words
from ringstep.checks.view import View
from ringstep.language.measures import mass_g, metal_volume_mm3, wire_per_ring
from ringstep.language.syntax import RingKind
from ringstep.language.words import listed
from ringstep.shop.buying import Bill, Purchase, bill_of
from ringstep.shop.kit_length import Length, how_to_measure, sized
from ringstep.shop.metals import Density, density_of
from ringstep.shop.money import share
from ringstep.shop.offers import Thing
from ringstep.shop.tables import Price
from ringstep.shop.wish import Wish
from ringstep.weave.marks import text_mark
from ringstep.weave.parts import PartSize

#: Decimals carried in sums of money: more than any price times any number of packs has.
_DIGITS = 200


@dataclass(frozen=True, slots=True)
class KitLine:
    """One product: rings of the same wire, opening, material and colour, and alike to be opened.

    name: the rings it is used for. names: every name by which a price list may call it.
    rings: in one piece, of which `taken_out` come out again; opened, closed: of them beforehand.
    spares: on top in each kit. wire_mm, grams: of one kit with its spares; finished_grams: of the
    piece. grams is None where the metal is unknown.
    """

    name: str
    names: tuple[str, ...]
    kind: RingKind
    wire: float
    inside: float
    rings: int
    opened: int
    closed: int
    taken_out: int
    spares: int
    in_class: int
    wire_mm: float
    grams: float | None
    finished_grams: float | None
    density: Density | None
    purchase: Purchase | None

    @property
    def in_kit(self) -> int:
        """Rings of one kit with its spares."""
        return self.rings + self.spares


@dataclass(frozen=True, slots=True)
class PartLine:
    """Clasps and the like. words: as the recipe describes them; size: in mm, where it is said."""

    name: str
    words: str
    count: int
    in_class: int
    purchase: Purchase | None
    size: PartSize | None = None


@dataclass(frozen=True, slots=True)
class Kit:
    """Everything one kit and all kits hold, and what they cost.

    bill: what all kits cost, None where there is no price list. seconds: for one piece at the pace
    given. mark: of the recipe's text, where kits have a batch.
    """

    title: str
    piece: str
    wish: Wish
    length: Length | None
    lines: tuple[KitLine, ...]
    parts: tuple[PartLine, ...]
    bill: Bill | None = None
    seconds: Decimal | None = None
    unmeasured: str = ""
    mark: str = ""

    @property
    def rings(self) -> int:
        """Rings of one piece."""
        return sum(line.rings for line in self.lines)

    @property
    def trace(self) -> str:
        """By what a kit is traced to its recipe, "" where it has no batch."""
        return f"Batch {self.wish.batch}, text mark {self.mark}" if self.mark else ""

    @property
    def cost_each(self) -> Decimal:
        """A kit's share of the cost, rounded up to the smallest coin."""
        bill = self.bill
        return share(bill.cost, self.wish.pieces, bill.currency) if bill else Decimal(0)

    @property
    def things(self) -> tuple[Thing, ...]:
        """All that is bought for all kits: rings first, then parts."""
        rings = (
            Thing(x.name, x.names, x.in_class, x.kind, "",
                  None if x.grams is None else x.grams * self.wish.pieces)
            for x in self.lines
        )  # fmt: skip
        return (*rings, *(Thing(p.name, (p.name,), p.in_class, None, p.words) for p in self.parts))


# -- rings ---------------------------------------------------------------------------------------


@dataclass
class _Product:
    """Rings that are bought as one, gathered from the lines of `rings:`.

    roles: by the colour of the picture, or the stretch of the piece, that is told behind them.
    """

    kind: RingKind
    roles: dict[str, list[str]] = field(default_factory=dict)
    names: list[str] = field(default_factory=list)
    opened: int = 0
    closed: int = 0
    taken_out: int = 0

    @property
    def name(self) -> str:
        """Its rings as spoken of: 'A and B', 'A grey', 'A units 1 to 8 and A units 17 to 24'."""
        told = {tail: listed(roles) for tail, roles in self.roles.items()}
        if any(" and " in roles for roles in told.values()) and any(told):
            return "; ".join(f"{roles},{tail}" if tail else roles for tail, roles in told.items())
        return listed([f"{roles}{tail}" for tail, roles in told.items()])


def _products(view: View) -> list[_Product]:
    found: dict[tuple[object, ...], _Product] = {}
    for lot in sorted(view.weave.lots, key=lambda lot: (lot.role, lot.index)):
        role, index, kind = lot.role, lot.index, lot.kind
        if kind is None:
            continue
        same = (kind.mm, *(w.casefold() for w in (kind.material, kind.colour)), kind.stays_closed)
        one = found.setdefault(same, _Product(kind))
        if kind.span.line < one.kind.span.line:
            one.kind = kind
        named = view.weave.bought_name(role, index)
        names = [str(kind.name), named, *([] if kind.name.index else [role])]
        tail = f" {kind.colour}" if lot.letter else f" {kind.along}" if kind.along else ""
        names = [f"{name}{tail}" for name in names]  # one name may be that of several products
        roles = one.roles.setdefault(tail, [])
        roles += [named] if named not in roles else []
        one.names += [name for name in dict.fromkeys(names) if name not in one.names]
        one.opened += lot.opened
        one.closed += lot.closed
        one.taken_out += lot.taken_out
    return sorted(found.values(), key=lambda p: p.kind.span.line)


def with_spares(count: int, percent: Decimal) -> int:
    """The spares of a count, rounded up: 5 % of 39 rings are 2.

    >>> with_spares(39, Decimal(5)), with_spares(40, Decimal(5)), with_spares(40, Decimal("0.1"))
    (2, 2, 1)
    """
    return ceil(Fraction(percent) * count / 100)


def kit_of(
    view: View,
    wish: Wish,
    prices: tuple[Price, ...] | None = None,
    listing: str = "the price list",
    computed: tuple[float, float] | None = None,
) -> Kit:
    """Work out the kit of a clean recipe.

    listing: what to call the price list in messages. computed: least and greatest mm of a unit,
    used where the recipe has no sample. Raises `NoKit`.
    """
    with localcontext(prec=_DIGITS):
        view, length = sized(view, wish, computed)
        return _kit_of(view, length, wish, prices, listing)


def _kit_of(
    view: View,
    length: Length | None,
    wish: Wish,
    prices: tuple[Price, ...] | None,
    listing: str,
) -> Kit:
    products = _products(view)
    placed = view.weave.counts.placed()
    parts = [
        (str(p.name), p.words, sum(n for (r, _), n in placed.items() if r == p.name.role))
        for p in view.recipe.parts
    ]
    lines = tuple(_line(p, wish) for p in products)
    part_lines = tuple(
        PartLine(n, w, c, c * wish.pieces, None, view.weave.part_size(n)) for n, w, c in parts
    )
    kit = Kit(
        view.recipe.title or "Ring weave",
        piece_words(view),
        wish,
        length,
        lines,
        part_lines,
        seconds=None if wish.pace is None else wish.pace * sum(line.rings for line in lines),
        unmeasured="" if length or view.weave.layout.flat or not view.recipe.piece
        else f"to know its length, {how_to_measure(view.recipe.piece)}"
        if not any(kind.along for kind in view.recipe.rings)
        else "its sizes change along the piece: 'ringstep fit' computes the length of each stretch",
        mark=text_mark(view.recipe.source) if wish.batch else "",
    )  # fmt: skip
    if prices is None:
        return kit
    bill = bill_of(kit.things, prices, listing)
    rings, rest = bill.purchases[: len(lines)], bill.purchases[len(lines) :]
    return replace(
        kit,
        bill=bill,
        lines=tuple(replace(x, purchase=p) for x, p in zip(lines, rings, strict=True)),
        parts=tuple(replace(x, purchase=p) for x, p in zip(part_lines, rest, strict=True)),
    )


def _line(product: _Product, wish: Wish) -> KitLine:
    kind = product.kind
    wire, inside = (mm or 0.0 for mm in kind.mm)
    rings = product.opened + product.closed
    spares = with_spares(rings, wish.spares)
    density = density_of(kind.material) if kind.material else None
    one = mass_g(metal_volume_mm3(inside, wire), density.g_per_cm3) if density else None
    in_class = (rings + spares) * wish.pieces
    return KitLine(
        product.name, tuple(product.names), kind, wire, inside, rings,
        product.opened, product.closed, product.taken_out, spares, in_class,
        (rings + spares) * wire_per_ring(inside, wire, wish.saw_cut),
        None if one is None else one * (rings + spares),
        None if one is None else one * (rings - product.taken_out),
        density, None,
    )  # fmt: skip
