"""Which lines of a price list are the ring or part that is wanted.

Comes in: what is to be bought, and price lines. Goes out: the lines that fit it, or the nearest.
Rings are known by size and metal, where a line gives a size; else by the names that are printed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringstep.language.measures import text_mm
from ringstep.language.screen import safe
from ringstep.language.syntax import RingKind
from ringstep.language.words import nearest
from ringstep.shop.cells import without_sizes
from ringstep.shop.list_words import CLOSED, COLOURS, ELASTIC, METALS, NO_COLOUR, TREATED
from ringstep.shop.metals import Density, density_of, names_metal
from ringstep.shop.rows import plain_words
from ringstep.shop.tables import Price

#: How far a ring of a list may be from the one wanted, mm of wire and of inside: 18 SWG, 1.219 mm,
#: is sold as 1.2 mm, 5/16 in as 7.9 mm. Common practice, no source.
WIRE_MM, INSIDE_MM = 0.03, 0.05


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing to buy for all kits.

    names: every name by which a list may call it. kind: of a ring; None for a part, whose `words`
    say what it is. grams: of all of them, None where that is not known.
    """

    name: str
    names: tuple[str, ...]
    needed: int
    kind: RingKind | None = None
    words: str = ""
    grams: float | None = None

    @property
    def told(self) -> str:
        """The thing with its size and metal: 'tail (1.2 × 8 mm, copper)'."""
        what = self.words
        if self.kind:
            wire, inside = (mm or 0.0 for mm in self.kind.mm)
            look = " ".join(w for w in (self.kind.colour, self.kind.material) if w)
            what = f"{text_mm(wire)} × {text_mm(inside)} mm" + (f", {look}" if look else "")
        return f"{self.name} ({what})" if what else self.name

    def called(self, price: Price) -> bool:
        """Whether a line without a size names it."""
        return price.wire is None and price.name in (*self.names, self.name)


def _metal(words: str) -> Density | None:
    """The metal that a line names, in the words of other shops as well."""
    text = f" {' '.join(plain_words(words))} "
    for said, known in METALS.items():
        text = text.replace(f" {said} ", f" {known} ")
    return density_of(text)


def _all_words(*texts: str) -> frozenset[str]:
    return frozenset(plain_words(" ".join(texts)))


def says_no_metal(price: Price) -> bool:
    """Whether a line leaves the metal open."""
    said = f"{price.material} {price.name}"
    return not price.material and not names_metal(said) and _metal(said) is None


def _same_look(kind: RingKind, price: Price) -> bool:
    """Whether metal, colour and treatment of a line are those of a ring."""
    wanted = _all_words(kind.material, kind.colour)
    said = _all_words(price.material, price.colour, without_sizes(price.name))
    for words in COLOURS, TREATED:
        if kind.material and wanted & words != said & words:
            return False
    colour = _all_words(kind.colour)
    cell = _all_words(price.colour)
    if not colour <= said or (colour and cell and cell != colour):
        return False
    if not colour and kind.material and not (cell <= NO_COLOUR or cell <= wanted):
        return False
    if kind.stays_closed != bool(said & CLOSED) and not wanted & ELASTIC:
        return False
    if not kind.material or says_no_metal(price):
        return True
    if plain_words(kind.material) == plain_words(price.material):
        return True
    found = _metal(price.material or without_sizes(price.name))
    return found is not None and found is _metal(kind.material)


def _apart(kind: RingKind, price: Price) -> tuple[float, float]:
    """By how many mm the wire and the inside of a line differ from those of a ring."""
    wire, inside = (mm or 0.0 for mm in kind.mm)
    if price.wire is None or price.inside is None:
        return 1e9, 1e9
    return abs(price.wire.mm - wire), abs(price.inside.mm - inside)


def fitting(thing: Thing, prices: Sequence[Price]) -> list[Price]:
    """The lines that are the thing wanted; of a ring those of the size nearest to it."""
    named = [price for price in prices if thing.called(price)]
    if thing.kind is None:
        known = {x.casefold() for x in (thing.name, thing.words)}
        return named or [p for p in prices if p.wire is None and p.name.casefold() in known]
    found = []
    for price in prices:
        wire, inside = _apart(thing.kind, price)
        near = wire <= WIRE_MM + 1e-9 and inside <= INSIDE_MM + 1e-9
        if near and _same_look(thing.kind, price):
            found.append((round((wire + inside) * 200), price))
    best = min((apart for apart, _ in found), default=0)
    return named + [price for apart, price in found if apart == best]


def looks(prices: Sequence[Price]) -> set[object]:
    """The metals and colours of some lines, to see whether they are all one."""
    return {
        (_metal(p.material or without_sizes(p.name)), _all_words(p.material) if p.material else "",
         _all_words(p.material, p.colour, p.name) & (COLOURS | TREATED)) for p in prices
    }  # fmt: skip


def nearest_line(thing: Thing, prices: Sequence[Price]) -> Price | None:
    """The line that comes nearest to a thing which no line is, None where none is near."""
    kind = thing.kind
    sized = [p for p in prices if p.wire and p.inside]
    if kind and sized:
        wire, inside = (mm or 1.0 for mm in kind.mm)

        def far(price: Price) -> tuple[bool, float]:
            thick, wide = _apart(kind, price)
            return not _same_look(kind, price), thick / wire + wide / inside

        return min(sized, key=far)
    named = {p.name: p for p in prices if p.wire is None and p.name}
    name = next((n for x in thing.names if (n := nearest(x, tuple(named)))), None)
    return named[name] if name else None


def line_words(price: Price) -> str:
    """A line as it is spoken of: "line 7, 'ring, small' (1.2 × 7.5 mm, copper)"."""
    size = ""
    if price.wire and price.inside:
        wire, inside = price.wire.text, price.inside.text
        size = f"{wire.removesuffix(' mm') if inside.endswith(' mm') else wire} × {inside}"
    look = f"{price.colour} {price.material}".strip()
    what = ", ".join(safe(x[:60]) for x in (size, look) if x)
    name = f", '{safe(price.name[:60])}'" if price.name else ""
    return f"line {price.line}{name}" + (f" ({what})" if what else "")
