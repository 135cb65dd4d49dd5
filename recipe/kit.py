"""What a piece, or a class of pieces, takes: units, rings, spares, wire, metal, packs and money.

Comes in: a clean `View`, a `Wish` and perhaps a price list. Goes out: a frozen `Kit`. Money is
`Decimal` and exact; packs, spares and units are always rounded up.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from math import ceil

from recipe.counting import RingCounts, ring_counts
from recipe.layout import mm_or_none
from recipe.measures import mass_g, metal_volume_mm3, text_mm, wire_per_ring
from recipe.metals import Density, density_of
from recipe.report import safe
from recipe.steps import new_indexes
from recipe.summary import piece_words
from recipe.syntax import PLACING, Piece, RingKind, Size
from recipe.tables import Price
from recipe.typed_size import Measure
from recipe.view import View
from recipe.words import listed, nearest, plural


class NoKit(Exception):
    """A kit that cannot be worked out; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wanted.

    length: of the finished piece, None for the piece as the recipe has it.
    clasp, ease: taken off and added to the length. pieces: how many kits.
    spares: percent of each kind. saw_cut: mm of wire lost at each ring.
    pace: seconds a ring, None where the time is not wanted.
    """

    length: Measure | None = None
    clasp: Measure | None = None
    ease: Measure | None = None
    pieces: int = 1
    spares: Decimal = Decimal(0)
    saw_cut: float = 0.0
    pace: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Length:
    """How a length became units; mm throughout.

    wanted: None where the recipe gives units. woven: what the units measure.
    ends: rings placed by the start and the finish, whose length comes on top.
    origin: the recipe's own notes on its sample.
    """

    wanted: float | None
    clasp: float
    ease: float
    sample_units: int
    sample: float
    units: int
    woven: float
    ends: tuple[tuple[str, int], ...]
    origin: tuple[str, ...]

    @property
    def to_weave(self) -> float | None:
        """What the units have to measure."""
        return None if self.wanted is None else self.wanted + self.ease - self.clasp

    @property
    def exact_units(self) -> float | None:
        """How many units that is before rounding up."""
        weave = self.to_weave
        return None if weave is None else weave / self.sample * self.sample_units


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to buy of one thing for all kits. cost: packs times price; left: pieces left over."""

    pack: int
    price: Decimal
    packs: int
    cost: Decimal
    left: int


@dataclass(frozen=True, slots=True)
class KitLine:
    """One product: rings of the same wire, opening, material and colour.

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
    """Clasps and the like. words: as the recipe describes them."""

    name: str
    words: str
    count: int
    in_class: int
    purchase: Purchase | None


@dataclass(frozen=True, slots=True)
class Kit:
    """Everything one kit and all kits hold, and what they cost.

    currency: empty where there is no price list. cost: of all kits; cost_each: a kit's share,
    rounded up to the smallest coin. unpriced: what the price list leaves out.
    seconds: for one piece at the pace given.
    """

    title: str
    piece: str
    wish: Wish
    length: Length | None
    lines: tuple[KitLine, ...]
    parts: tuple[PartLine, ...]
    currency: str = ""
    cost: Decimal = Decimal(0)
    cost_each: Decimal = Decimal(0)
    unpriced: tuple[str, ...] = ()
    seconds: Decimal | None = None
    unmeasured: str = ""

    @property
    def rings(self) -> int:
        """Rings of one piece."""
        return sum(line.rings for line in self.lines)


# -- length --------------------------------------------------------------------------------------

HOW_TO_MEASURE = (
    "work 10 units with these rings, lay the piece flat without pulling, measure them in mm, and add"
    " to 'piece:' the line 'sample 10 units = … mm'; the sample belongs to one size of ring"
)


def _sample(piece: Piece | None) -> tuple[int, float] | None:
    """How many units were measured and what they came to in mm."""
    if piece is None or piece.sample is None:
        return None
    mm = mm_or_none(piece.sample[1])
    return (piece.sample[0], mm) if mm and piece.sample[0] else None


def _refuse_length(view: View, word: str) -> None:
    """Stop where a length cannot change the piece."""
    layout, piece = view.model.layout, view.recipe.piece
    if layout.flat:
        raise NoKit(
            f"a {layout.kind} is rows times units, so {word} cannot size it; change the line"
            f" '{layout.kind} {layout.rows} rows of {layout.units} units' in the recipe"
        )
    if piece is None or (not layout.repeats and layout.units == 0):
        raise NoKit(f"this piece is made in one go and repeats no unit, so leave {word} out")
    if not layout.order:
        raise NoKit(
            f"the recipe writes out all its {plural(layout.written, 'unit')} and has no 'unit:' to"
            f" repeat, so {word} cannot lengthen it; add a block 'unit:', or leave {word} out"
        )


def sized(view: View, wish: Wish) -> tuple[View, Length | None]:
    """The recipe with as many units as the wanted length takes, and how that was reached.

    The sample measures units only: start, finish and clasp come on top. Raises `NoKit`.
    """
    piece = view.recipe.piece
    given = [w for w, m in (("--clasp", wish.clasp), ("--ease", wish.ease)) if m]
    words = ["--length", *given] if wish.length else given
    if words:
        _refuse_length(view, words[0])
    if wish.clasp and piece and piece.kind == "loop":
        raise NoKit("a loop closes into itself and has no clasp; leave --clasp out")
    sample = _sample(piece)
    wanted = wish.length.mm if wish.length else mm_or_none(piece.length) if piece else None
    if given and wanted is None:
        raise NoKit(
            f"the recipe says how many units to work, so {given[0]} has no length to change; give"
            " one with --length"
        )
    if piece is None or (sample is None and wanted is None):
        return view, None
    if sample is None:
        raise NoKit(f"the recipe has no sample to turn a length into units: {HOW_TO_MEASURE}")
    clasp, ease = (m.mm if m else 0.0 for m in (wish.clasp, wish.ease))
    units = view.model.layout.units
    if wanted is not None:
        weave = wanted + ease - clasp
        if weave <= 0:
            raise NoKit(
                f"the clasp ({text_mm(clasp)} mm) leaves nothing to weave of"
                f" {text_mm(wanted + ease)} mm; give a longer --length"
            )
        # As the recipe's own length is turned into units.
        units = max(1, ceil(weave / sample[1] * sample[0] - 1e-9))
        if units < view.model.layout.written:
            raise NoKit(
                f"{text_mm(weave)} mm take {plural(units, 'unit')}, and the recipe writes out"
                f" {view.model.layout.written}; give a longer --length"
            )
        view = View(
            replace(view.recipe, piece=replace(piece, units=units, length=None)), view.troubles
        )
    length = Length(
        wanted, clasp, ease, sample[0], sample[1], units, units * sample[1] / sample[0],
        _ends(view), tuple(n.text for n in view.recipe.notes if n.topic == "sample"),
    )  # fmt: skip
    return view, length


def _ends(view: View) -> tuple[tuple[str, int], ...]:
    """Rings that the start and the finish place."""
    parts = {p.name.role for p in view.recipe.parts}
    found = Counter[str]()
    for block in view.recipe.blocks:
        if block.kind in ("start", "finish"):
            for step in block.steps:
                for item in step.new if step.kind in PLACING else ():
                    if item.name.role not in parts:
                        found[block.kind] += len(new_indexes(item.name.index, item.count))
    return tuple((kind, found[kind]) for kind in ("start", "finish") if found[kind])


# -- rings ---------------------------------------------------------------------------------------


@dataclass
class _Product:
    """Rings that are bought as one, gathered from the lines of `rings:`."""

    kind: RingKind
    roles: list[str] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    opened: int = 0
    closed: int = 0
    taken_out: int = 0


def _products(view: View, counts: RingCounts) -> list[_Product]:
    parts = {p.name.role for p in view.recipe.parts}
    found: dict[tuple[object, ...], _Product] = {}
    numbered = {k.name.role for k in view.recipe.rings if k.name.index is not None}
    for (role, index), _ in sorted(counts.placed().items()):
        kind = view.kind_of(role, index) if role not in parts else None
        if kind is None:
            continue
        same = (
            mm_or_none(kind.wire), mm_or_none(kind.inside),
            kind.material.casefold(), kind.colour.casefold(),
        )  # fmt: skip
        one = found.setdefault(same, _Product(kind))
        if kind.span.line < one.kind.span.line:
            one.kind = kind
        named = str(kind.name) if kind.name.role == role and role in numbered else role
        one.roles += [named] if named not in one.roles else []
        for name in (str(kind.name), named):
            one.names += [name] if name not in one.names else []
        one.opened += counts.opened[(role, index)]
        one.closed += counts.closed[(role, index)]
        one.taken_out += counts.taken_out[(role, index)]
    return sorted(found.values(), key=lambda p: p.kind.span.line)


def with_spares(count: int, percent: Decimal) -> int:
    """The spares of a count, rounded up: 5 % of 39 rings are 2.

    >>> with_spares(39, Decimal(5)), with_spares(40, Decimal(5)), with_spares(40, Decimal("0.1"))
    (2, 2, 1)
    """
    return ceil(Fraction(percent) * count / 100)


def packs_for(need: int, pack: int) -> int:
    """Packs to buy: they hold at least `need`, and one pack fewer would not.

    >>> packs_for(100, 50), packs_for(101, 50), packs_for(0, 50)
    (2, 3, 0)
    """
    return -(-need // pack)


def _bought(need: int, price: Price | None) -> Purchase | None:
    if price is None:
        return None
    packs = packs_for(need, price.pack)
    return Purchase(price.pack, price.price, packs, packs * price.price, packs * price.pack - need)


def _matched(
    things: list[tuple[str, ...]], prices: tuple[Price, ...], listing: str
) -> list[Price | None]:
    """For each thing (its names) the line of the price list that is meant. Raises `NoKit`."""
    found: list[Price | None] = [None] * len(things)
    known = [name for names in things for name in names]
    for price in prices:
        at = next((i for i, names in enumerate(things) if price.name in names), None)
        where = f"{safe(listing)}, line {price.line}, column 'ring': "
        if at is None:
            near = nearest(price.name, known)
            raise NoKit(
                f"{where}the recipe has no ring or part '{safe(price.name)}'; "
                + (f"the nearest is '{near}'" if near else f"it has {listed(known)}")
            )
        if other := found[at]:
            raise NoKit(
                f"{where}'{safe(price.name)}' is the same ring as '{safe(other.name)}' of line"
                f" {other.line} and is bought together with it; keep one of the two lines"
            )
        found[at] = price
    return found


def kit_of(
    view: View, wish: Wish, prices: tuple[Price, ...] | None = None, listing: str = "the price list"
) -> Kit:
    """Work out the kit of a clean recipe.

    listing: what to call the price list in messages. Raises `NoKit`.
    """
    view, length = sized(view, wish)
    counts = ring_counts(view.model.layout)
    products = _products(view, counts)
    placed = counts.placed()
    parts = [
        (str(p.name), p.words, sum(n for (r, _), n in placed.items() if r == p.name.role))
        for p in view.recipe.parts
    ]
    things = [tuple(p.names) for p in products] + [(name,) for name, _, _ in parts]
    found = _matched(things, prices or (), listing)
    lines = tuple(
        _line(p, wish, price) for p, price in zip(products, found[: len(products)], strict=True)
    )
    part_lines = tuple(
        PartLine(n, w, c, c * wish.pieces, _bought(c * wish.pieces, price))
        for (n, w, c), price in zip(parts, found[len(products) :], strict=True)
    )
    kit = Kit(
        view.recipe.title or "Ring weave",
        piece_words(view),
        wish,
        length,
        lines,
        part_lines,
        seconds=None if wish.pace is None else wish.pace * sum(line.rings for line in lines),
        unmeasured="" if length or view.model.layout.flat or not view.recipe.piece
        else f"to know its length, {HOW_TO_MEASURE}",
    )  # fmt: skip
    if prices is None:
        return kit
    all_lines: tuple[KitLine | PartLine, ...] = (*lines, *part_lines)
    cost = sum((x.purchase.cost for x in all_lines if x.purchase), Decimal(0))
    currency = prices[0].currency if prices else ""
    return replace(
        kit,
        currency=currency,
        cost=cost,
        cost_each=share(cost, wish.pieces, currency),
        unpriced=tuple(x.name for x in all_lines if not x.purchase),
    )


def _line(product: _Product, wish: Wish, price: Price | None) -> KitLine:
    kind = product.kind
    wire, inside = mm_or_none(kind.wire) or 0.0, mm_or_none(kind.inside) or 0.0
    rings = product.opened + product.closed
    spares = with_spares(rings, wish.spares)
    density = density_of(kind.material) if kind.material else None
    one = mass_g(metal_volume_mm3(inside, wire), density.g_per_cm3) if density else None
    in_class = (rings + spares) * wish.pieces
    return KitLine(
        listed(product.roles), tuple(product.names), kind, wire, inside, rings,
        product.opened, product.closed, product.taken_out, spares, in_class,
        (rings + spares) * wire_per_ring(inside, wire, wish.saw_cut),
        None if one is None else one * (rings + spares),
        None if one is None else one * (rings - product.taken_out),
        density, _bought(in_class, price),
    )  # fmt: skip


# -- money ---------------------------------------------------------------------------------------

# ISO 4217, from memory: currencies whose smallest coin is not a hundredth.
_COINS = dict.fromkeys("BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF".split(), 0)
_COINS |= dict.fromkeys("BHD IQD JOD KWD LYD OMR TND".split(), 3)


def share(cost: Decimal, pieces: int, currency: str) -> Decimal:
    """A kit's share of the cost, rounded up to the smallest coin, so that the shares cover it.

    >>> share(Decimal("10.00"), 3, "EUR"), share(Decimal("10"), 3, "JPY")
    (Decimal('3.34'), Decimal('4'))
    """
    coin = Decimal(1).scaleb(-_COINS.get(currency, 2))
    coins = ceil(Fraction(cost) / pieces / Fraction(coin))
    return (coins * coin).quantize(coin, ROUND_CEILING)


def money_text(amount: Decimal, currency: str) -> str:
    """An amount with its currency, no digit dropped.

    >>> money_text(Decimal("1234.5"), "EUR"), money_text(Decimal("4.995"), "EUR")
    ('1,234.50 EUR', '4.995 EUR')
    """
    exponent = amount.as_tuple().exponent
    digits = -exponent if isinstance(exponent, int) else 0
    return f"{amount:,.{max(_COINS.get(currency, 2), digits)}f} {currency}".strip()


def size_text(size: Size | None) -> str:
    """A size as the recipe writes it."""
    return size.text if size else ""
