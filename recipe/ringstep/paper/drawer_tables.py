"""Which weaves can be made of the rings in a drawer, as tables and as plain data.

Comes in: recipes held against rings. Goes out: `Printed` words, or rows of data.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from ringstep.language.words import listed, plural
from ringstep.paper.printed import Printed, Sheet
from ringstep.paper.size_tables import range_words
from ringstep.shop.computed import point_of
from ringstep.shop.drawer import LOOSE, Held, floor_under
from ringstep.shop.fitting import THICKER_MM
from ringstep.shop.needs import Weaving
from ringstep.weave.working_range import ratio_text

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
        many = f"computed for {plural(len(computed.points), 'proportion')} of the two"
        return " with ".join(words), f"{many}, this nearest to the recipe's; no upper bound{like}"
    low = f"AR from {computed.least:.2f}"
    if computed.loose_from is not None:
        span = f"{low} to under {computed.loose_from:.2f}"
        return span, f"computed; above, {LOOSE[computed.why]}{like}"
    held = f"; folds were found to hold up to {computed.held_to:.2f}" if computed.held_to else ""
    return low, f"computed, no upper bound{held}{like}"


def drawer_page(held: Sequence[Held], left_out: Iterable[str]) -> Printed:
    """What can be made, what is tight or loose, what cannot be, and the ranges behind it.

    left_out: recipes that could not be held against rings, each with the reason.
    """
    sheets = [s for s in (_made(held), _doubtful(held), _not(held), _ranges(held)) if s.rows]
    notes = (*(f"left out: {words}" for words in left_out),)
    if notes:
        sheets.append(Sheet("Left out", notes=notes))
    return Printed("What your rings make", (), tuple(sheets))


def _number(count: int | None) -> str:
    return "" if count is None else f"{count:,}"


def _made(held: Sequence[Held]) -> Sheet:
    rows: list[tuple[str, ...]] = []
    before = ""
    for h in held:
        if h.said.answer == "fits":
            name = h.weaving.name if h.weaving.name != before else ""
            counts = _number(h.pieces), _number(h.units)
            rows.append((name, choice_words(h), ratio_text(h.aspect, 2), *counts))
            before = h.weaving.name
    notes = (
        "pieces: as the recipe has it, all rings of it from the drawer; units: how far the rings go"
        " in one piece; of a sheet, without the rings that its edges lack",
        "fits: in the range that the recipe states; else rigid round rings go together, even if"
        f" the wire is {THICKER_MM} mm thicker than its label. Near the smallest AR"
        " a piece is stiff, far above it limp: work a sample",
    )
    heads = ("weave", "rings", "AR", "pieces", "units")
    return Sheet("Can be made", heads, tuple(rows), frozenset((2, 3, 4)), notes)


def _doubtful(held: Sequence[Held]) -> Sheet:
    """Rings of one weave with one reason together; each by itself where others go with it."""
    found: dict[tuple[str, str, str, str], list[str]] = {}
    for h in held:
        if h.said.answer in ("tight", "loose", "not known"):
            alone = "" if len(h.weaving.needs) == 1 else h.ring.name
            ring = f"{choice_words(h)} ({ratio_text(h.aspect, 2)})"
            key = h.weaving.name, h.said.answer, h.said.rule, alone
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
            found.setdefault((h.weaving.name, h.said.rule), []).append(h.ring.name)
    rows = tuple(
        row for (name, why), rings in found.items() for row in _in_rows((name,), rings, why)
    )
    notes = (
        "the smallest found is computed with rigid round rings; that there is none smaller is not"
        " proven, and real rings bend: where makers speak of less, a sample decides",
    )
    return Sheet("Cannot be made", ("weave", "rings", "why"), rows, notes=notes)


def _ranges(held: Sequence[Held]) -> Sheet:
    weavings = {h.weaving.name: h.weaving for h in held}
    rows = tuple((name, *range_of(weaving)) for name, weaving in weavings.items())
    return Sheet("Good to make at", ("weave", "AR", "known from"), rows)


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
        "title": weaving.title,
        "good_at": words,
        "known_from": origin,
        "same_links_as": weaving.by or None,
    }
