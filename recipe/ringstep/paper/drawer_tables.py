"""Which weaves can be made of the rings in a drawer, as tables and as plain data.

Comes in: recipes held against rings. Goes out: `Printed` words, or rows of data.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from ringstep.language.measures import text_mm
from ringstep.language.words import listed
from ringstep.paper.printed import Printed, Sheet
from ringstep.paper.size_tables import range_words
from ringstep.shop.best_rings import Best, best_rings
from ringstep.shop.computed import point_of
from ringstep.shop.drawer import LOOSE, Held, floor_under
from ringstep.shop.fitting import THICKER_MM
from ringstep.shop.needs import Weaving
from ringstep.shop.tables import StockRing
from ringstep.weave.working_range import ratio, ratio_text

_IN_A_ROW = 4  # rings that are named in one row of a table
DRAWER_HEADS = (
    "weave", "ring", "wire_mm", "inside_mm", "ar", "answer", "why", "rings", "pieces", "units",
    "too_few",
)  # fmt: skip


def choice_words(held: Held) -> str:
    """The rings chosen: 'bin 1', or 'bin 1 for flat, bin 4 for across and down'."""
    told: dict[str, list[str]] = {}
    for need, rings in zip(held.weaving.needs, held.chosen, strict=False):
        for look, ring in zip(need.looks, rings, strict=True):
            told.setdefault(ring.name, []).extend(look.roles)
    if len(told) < 2:
        return next(iter(told), held.ring.name)
    return ", ".join(f"{name} for {listed(roles)}" for name, roles in told.items())


def range_of(weaving: Weaving) -> tuple[str, str]:
    """At which AR a weave is good to make, and where that is known from."""
    like = f"; as {weaving.by}, which has the same links" if weaving.by else ""
    stated = [(need, need.span) for need in weaving.needs if need.span]
    if stated:
        named = len(weaving.needs) > 1
        told = [f"{n.label} {range_words(s)}" if named else range_words(s) for n, s in stated]
        return "; ".join(told), (stated[0][1].origin or "stated") + like
    computed = weaving.computed
    if computed is None:
        floors = [(need, floor_under(weaving, need)) for need in weaving.needs]
        never = [f"{need.label} never under AR {ar:.2f}" for need, ar in floors if ar]
        return "; ".join(("not known", *never)), weaving.hint
    linked = [need for need in weaving.needs if need.linked is not None]
    if len(linked) > 1:
        own = point_of(tuple((need.wire, need.inside) for need in linked))
        least = [mean / wire - 1 for mean, wire in computed.proportioned(own)]
        words = [f"{need.label} AR from {ar:.2f}" for need, ar in zip(linked, least, strict=True)]
        known = "computed for these two together, as the recipe has them; no upper bound"
        return " with ".join(words), known + like
    low = f"AR from {computed.least:.2f}"
    if computed.loose_from is not None:
        span = f"{low} to under {computed.loose_from:.2f}"
        return span, f"computed; above, {LOOSE[computed.why]}{like}"
    held = f"; folds were found to hold up to {computed.held_to:.2f}" if computed.held_to else ""
    return low, f"computed, no upper bound{held}{like}"


def drawer_page(held: Sequence[Held], left_out: Iterable[str], every_ring: bool) -> Printed:
    """What can be made and of which rings, what lacks rings, and what cannot be made of them.

    every_ring: also how each ring of the drawer does for each weave, and the ranges behind that.
    left_out: recipes that could not be held against rings, each with the reason.
    """
    best = best_rings(held)
    sheets = [_best(best, every_ring), _too_few(best), _none_fits(best)]
    if every_ring:
        sheets += [_made(held), _doubtful(held), _not(held), _ranges(held)]
    sheets = [sheet for sheet in sheets if sheet.rows]
    notes = (*(f"left out: {words}" for words in left_out),)
    if notes:
        sheets.append(Sheet("Left out", notes=notes))
    return Printed("What your rings make", (), tuple(sheets))


def _number(count: int | None) -> str:
    return "" if count is None else f"{count:,}"


def _called(weaving: Weaving) -> str:
    """The name of a weave, with the variant that it is made as."""
    return f"{weaving.name}, {weaving.variant}" if weaving.variant else weaving.name


def _set_rows(held: Held) -> list[tuple[str, str, str]]:
    """A ring of a set in each row: its name and what it is for, its size and metal, its AR."""
    chosen: dict[StockRing, list[str]] = {}
    for need, rings in zip(held.weaving.needs, held.chosen or ((held.ring,),), strict=False):
        for look, ring in zip(need.looks, rings, strict=False):
            chosen.setdefault(ring, []).extend(look.roles)
    rows = []
    for ring, roles in chosen.items():
        name = f"{ring.name} for {listed(roles)}" if len(chosen) > 1 else ring.name
        metal = f"{ring.colour} {ring.material}".strip()
        size = f"{text_mm(ring.wire.mm)} × {text_mm(ring.inside.mm)} mm"
        what = f"{size}, {metal}" if metal else size
        rows.append((name, what, ratio_text(ratio(ring.wire.mm, ring.inside.mm), 2)))
    return rows


def _best_rows(best: Best, *last: str) -> Iterator[tuple[str, ...]]:
    """The rows of one weave; what is said of the whole set stands in the first."""
    for at, row in enumerate(_set_rows(best.held)):
        if at:
            yield ("", *row, *("" for _ in last))
        else:
            yield (_called(best.held.weaving), *row, *last)


def _best(best: Iterable[Best], every_ring: bool) -> Sheet:
    rows = tuple(
        row
        for one in best
        if one.fits and one.enough
        for row in _best_rows(one, _number(one.held.pieces), _number(one.others or None))
    )
    more = "stand below" if every_ring else "are told by --every-ring, with the reasons"
    notes = (
        "AR is the inside of a ring divided by its wire; of the rings that fit, those stand here"
        f" whose AR is nearest the recipe's and that are enough for a piece; the others {more}",
        "pieces: of as many units as the recipe has, all their rings out of the drawer; of larger"
        " or smaller rings a piece is longer or shorter",
    )
    heads = ("weave", "rings", "wire × inside", "AR", "pieces", "other sets")
    return Sheet("Can be made", heads, rows, frozenset((3, 4, 5)), notes)


def _too_few(best: Iterable[Best]) -> Sheet:
    rows = tuple(
        row
        for one in best
        if one.fits and not one.enough
        for row in _best_rows(one, one.held.short)
    )
    heads = ("weave", "rings", "wire × inside", "AR", "missing for one")
    return Sheet("Fits, but there are too few", heads, rows, frozenset((3,)))


def _none_fits(best: Iterable[Best]) -> Sheet:
    """The weaves that none of the rings fits, each with the ring that comes nearest."""
    rows = []
    for one in best:
        if not one.fits:
            rings = ", ".join(f"{name} ({aspect})" for name, _, aspect in _set_rows(one.held))
            said = one.held.said
            rows.append((_called(one.held.weaving), rings, said.answer, said.rule))
    heads = ("weave", "nearest (AR)", "it is", "why")
    return Sheet("No ring is sure to fit", heads, tuple(rows))


def _made(held: Sequence[Held]) -> Sheet:
    rows: list[tuple[str, ...]] = []
    before = ""
    for h in held:
        if h.said.answer == "fits":
            name = _called(h.weaving) if h.weaving.name != before else ""
            aspects = " and ".join(aspect for _, _, aspect in _set_rows(h))
            counts = _number(h.pieces), _number(h.units)
            rows.append((name, choice_words(h), aspects, *counts))
            before = h.weaving.name
    notes: tuple[str, ...] = (
        "units: how far the rings go in one piece; of a sheet those of all rows together, as if it"
        " had no edges",
        "fits: in the range that the recipe states; else rigid round rings go together, even if"
        f" the wire is {THICKER_MM} mm thicker than its label. Near the smallest AR"
        " a piece is stiff, far above it limp: work a sample",
    )
    if any(len(h.weaving.needs) > 1 for h in held):
        notes += (
            "rings of two sizes are held against pairs that were computed: a smaller large ring may"
            " go where the small one beside it is smaller too",
        )
    heads = ("weave", "rings", "AR", "pieces", "units")
    return Sheet("Every set that fits", heads, tuple(rows), frozenset((2, 3, 4)), notes)


def _doubtful(held: Sequence[Held]) -> Sheet:
    """Rings of one weave with one reason together; each by itself where others go with it."""
    found: dict[tuple[str, str, str, str], list[str]] = {}
    for h in held:
        if h.said.answer in ("tight", "loose", "not known"):
            alone = "" if len(h.weaving.needs) == 1 else h.ring.name
            ring = f"{choice_words(h)} ({ratio_text(h.aspect, 2)})"
            key = _called(h.weaving), h.said.answer, h.said.rule, alone
            found.setdefault(key, []).append(ring)
    rows = [
        row
        for (name, answer, why, _), rings in found.items()
        for row in _in_rows((name, answer), rings, why)
    ]
    heads = ("weave", "it is", "rings (AR)", "why")
    return Sheet("Tight, loose or not known", heads, tuple(rows))


def _in_rows(first: tuple[str, ...], rings: list[str], why: str) -> Iterator[tuple[str, ...]]:
    """Some rings in each row, what holds for all of them in the first."""
    for at in range(0, len(rings), _IN_A_ROW):
        told = ", ".join(rings[at : at + _IN_A_ROW])
        yield (*first, told, why) if not at else (*("" for _ in first), told, "")


def _not(held: Sequence[Held]) -> Sheet:
    found: dict[tuple[str, str], list[str]] = {}
    for h in held:
        if h.said.answer == "cannot":
            found.setdefault((_called(h.weaving), h.said.rule), []).append(h.ring.name)
    rows = tuple(
        row for (name, why), rings in found.items() for row in _in_rows((name,), rings, why)
    )
    notes = (
        "the smallest found is computed with rigid round rings; that there is none smaller is not"
        " proven, and real rings bend: where makers speak of less, a sample decides",
    )
    return Sheet("Cannot be made", ("weave", "rings", "why"), rows, notes=notes)


def _ranges(held: Sequence[Held]) -> Sheet:
    weavings = {_called(h.weaving): h.weaving for h in held}
    rows = tuple((name, *range_of(weaving)) for name, weaving in weavings.items())
    notes = (
        "where it was computed, a ring fits from so much over the least AR told that even wire"
        f" {THICKER_MM} mm thicker than its label goes; nearer to it, it is tight",
    )
    return Sheet("Good to make at", ("weave", "AR", "known from"), rows, notes=notes)


def drawer_data(one: Held) -> dict[str, Any]:
    """One answer as plain data."""
    return {
        "weave": one.weaving.name,
        "ring": one.ring.name,
        "wire_mm": round(one.ring.wire.mm, 4),
        "inside_mm": round(one.ring.inside.mm, 4),
        "ar": round(float(one.aspect), 4),
        "answer": one.said.answer,
        "why": one.said.why,
        "rings": choice_words(one) if one.chosen else None,
        "pieces": one.pieces,
        "units": one.units,
        "too_few": one.short or None,
    }


def weaving_data(weaving: Weaving) -> dict[str, Any]:
    """A recipe with the range that holds for it."""
    words, origin = range_of(weaving)
    return {
        "weave": weaving.name,
        "variant": weaving.variant or None,
        "title": weaving.title,
        "good_at": words,
        "known_from": origin,
        "same_links_as": weaving.by or None,
    }
