"""What computed sizes say of rings, in words and as the least AR of each.

Comes in: what a recipe needs, and rings. Goes out: reasons and numbers, judged in `shop.drawer`.
"""

from __future__ import annotations

from collections.abc import Sequence

from ringstep.language.measures import text_mm
from ringstep.language.words import listed
from ringstep.shop.computed import Computed, Point
from ringstep.shop.fitting import THICKER_MM, Crowd, floor_of
from ringstep.shop.needs import Need, Weaving
from ringstep.shop.tables import StockRing

#: Why a chain with folds is loose.
LOOSE = {
    "slips": "a fold slips open when the chain is pulled or pushed",
    "play": "a unit can be pushed together to half its pulled length, so folds do not lock it",
}


def off_label(wire: float) -> float:
    """What a wire (mm) may be thicker or thinner than its label, in mm; of wire thin as a hair no
    more than half of it, so that some is left."""
    return min(THICKER_MM, wire / 2)


def unsure(least: float, wire: float) -> tuple[float, float]:
    """From which AR up to which a ring is tight, since its wire (mm) is known to 0.05 mm.

    >>> [round(x, 2) for x in unsure(5.05, 1.0)]
    [4.8, 5.3]
    """
    off = off_label(wire) / wire
    return least * (1 - off), least * (1 + off)


def computed_words(
    weaving: Weaving, pairs: Sequence[tuple[Need, StockRing]], how: str
) -> tuple[str, str]:
    """The reason that computed sizes give, and the same for all rings."""
    computed = weaving.computed
    assert computed is not None
    if len(pairs) == 1:
        return _one_size(computed.least, pairs[0][1], how)
    needed = listed(
        [
            f"{text_mm(ar * ring.wire.mm)} mm for {need.label}"
            for ar, (need, ring) in zip(_together(computed, pairs), pairs, strict=True)
        ]
    )
    found = f"with these wires, insides of {needed} were found to go (computed)"
    rule = {
        "under": "the rings are too small for their wires (computed)",
        "tight": "near the sizes that were found to go: a sample decides (computed)",
        "not known": "smaller for their wires than any that were found to go (computed)",
        "over": "wider than the sizes that were found to go (computed)",
    }[how]
    more = {
        "tight": "; so near them a sample decides",
        "not known": "; one of these is much smaller",
    }
    return found + more.get(how, ""), rule


def _one_size(least: float, ring: StockRing, how: str) -> tuple[str, str]:
    """The same for rings of one size, whose smallest AR is known."""
    found = f"AR {least:.2f}, the smallest found (computed)"
    if how == "tight":
        off = off_label(ring.wire.mm)
        low, high = (ring.inside.mm / (ring.wire.mm + x) for x in (off, -off))
        return (
            f"wire {text_mm(off)} mm thicker or thinner than its label makes it AR {low:.2f} or"
            f" {high:.2f}, on either side of {found}: a sample decides",
            f"so near {found}, that {THICKER_MM} mm more or less of wire decides: work a sample",
        )
    thinner = f"even if the wire is {THICKER_MM} mm thinner than its label"
    told = f"under {found}, {thinner}" if how == "under" else f"over {found}"
    return told, told


def _together(computed: Computed, pairs: Sequence[tuple[Need, StockRing]]) -> list[float]:
    """The least AR of each of several sizes beside the others, with the wires of these rings."""
    rings: Point = tuple((r.wire.mm + r.inside.mm, r.wire.mm) for _, r in pairs)
    point = computed.nearest(rings)
    scale = max(ring[1] / own[1] for own, ring in zip(point, rings, strict=True))
    return [scale * own[0] / ring[1] - 1 for own, ring in zip(point, rings, strict=True)]


def least_aspects(weaving: Weaving, rings: Sequence[StockRing]) -> list[float | None]:
    """For each need the least AR computed beside these rings, None where none was."""
    pairs = list(zip(weaving.needs, rings, strict=True))
    linked = [at for at, (need, _) in enumerate(pairs) if need.linked is not None]
    found: list[float | None] = [None] * len(pairs)
    if weaving.computed is not None:
        least = _together(weaving.computed, [pairs[at] for at in linked])
        for at, ar in zip(linked, least, strict=True):
            found[at] = ar
    return found


def floor_under(weaving: Weaving, need: Need) -> float | None:
    """The AR that rings of a need can never be under, with the wires of the recipe; None where
    nothing goes through them."""
    found = []
    for role, through in need.crowds:
        wires = [weaving.needs[n].wire for n, many in through for _ in range(many)]
        own = sum(w == need.wire for w in wires)
        others = tuple(w for w in wires if w != need.wire)
        found.append(floor_of(Crowd(role, own, others), need.wire).inside / need.wire)
    return max(found, default=None)
