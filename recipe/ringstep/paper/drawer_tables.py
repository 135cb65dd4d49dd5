"""Which weaves can be made of the rings in a drawer, as tables and as plain data.

Comes in: recipes held against rings. Goes out: `Printed` words, or rows of data.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from ringstep.language.measures import text_mm
from ringstep.language.words import listed
from ringstep.paper.printed import Printed, Sheet
from ringstep.paper.size_tables import range_words
from ringstep.shop.best_rings import Best, best_rings
from ringstep.shop.computed import point_of
from ringstep.shop.drawer import Answer, Held
from ringstep.shop.drawer_words import LOOSE, floor_under, least_aspects, unsure
from ringstep.shop.fitting import THICKER_MM
from ringstep.shop.needs import Weaving
from ringstep.shop.tables import StockRing
from ringstep.weave.working_range import ratio, ratio_text

_TWO_SIZES = (
    "where rings of two sizes are linked, how small the AR of one may be depends on the other: a"
    " large ring may go under the AR told for the recipe's sizes where the small one beside it is"
    " of thinner wire; every pair of yours is held against pairs that were computed"
)
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
        words = [
            f"{need.label} ({text_mm(need.wire)} × {text_mm(need.inside)} mm) AR from {ar:.2f}"
            for need, ar in zip(linked, least, strict=True)
        ]
        return " with ".join(words), "computed for these sizes together, no upper bound" + like
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
    sheets = [_best(best, every_ring), _too_few(best), _none_fits(best), _not_known(best)]
    if every_ring:
        sheets += [_made(held), _doubtful(held), _not(held), _ranges(held)]
    sheets.append(Sheet("Left out", notes=tuple(left_out)))
    kept = (sheet for sheet in sheets if sheet.rows or (sheet.notes and not sheet.heads))
    return Printed("What your rings make", (), tuple(kept))


def _number(count: int | None) -> str:
    return "" if count is None else f"{count:,}"


def _called(weaving: Weaving) -> str:
    """The name of a weave, with the variant that it is made as."""
    return f"{weaving.name}, {weaving.variant}" if weaving.variant else weaving.name


def _aspect(ring: StockRing) -> str:
    return ratio_text(ratio(ring.wire.mm, ring.inside.mm), 2)


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
        size = f"{text_mm(ring.wire.mm)} × {text_mm(ring.inside.mm)}"
        rows.append((name, f"{size}, {metal}" if metal else size, _aspect(ring)))
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
        for row in _best_rows(one, _number(one.held.pieces))
    )
    more = "stand below" if every_ring else "are told by --every-ring, with the reasons"
    notes: tuple[str, ...] = (
        "AR is the inside of a ring divided by its wire; of the rings that fit, those stand here"
        f" whose AR is nearest the recipe's and that are enough for a piece; the others {more}",
        "pieces: of as many units as the recipe has, all their rings out of the drawer; of larger"
        " or smaller rings a piece is longer or shorter",
    )
    heads = ("weave", "rings", "wire × inside, mm", "AR", "pieces")
    return Sheet("Can be made", heads, rows, frozenset((3, 4)), notes)


def _too_few(best: Iterable[Best]) -> Sheet:
    rows = tuple(
        row
        for one in best
        if one.fits and not one.enough
        for row in _best_rows(one, one.held.short)
    )
    heads = ("weave", "rings", "wire × inside, mm", "AR", "missing for one")
    return Sheet("Fits, but there are too few", heads, rows, frozenset((3,)))


def _none_fits(best: Iterable[Best]) -> Sheet:
    """The weaves that none of the rings fits, each with the ring that comes nearest."""
    none = [one for one in best if not one.fits and one.held.said.answer != "not known"]
    rows = tuple(row for one in none for row in _best_rows(one, one.held.said.answer))
    reasons = _by_reason((_called(one.held.weaving), one.held.said.why) for one in none)
    lays = tuple(
        f"{w.name} is held as {w.variant}; the same links laid otherwise may be good at another AR:"
        f" name it alone, with --variant {' or '.join(w.others)}"
        for w in (one.held.weaving for one in none)
        if w.others
    )
    heads = ("weave", "nearest rings", "wire × inside, mm", "AR", "it is")
    return Sheet("No ring is sure to fit", heads, rows, frozenset((3,)), (*reasons, *lays))


def _not_known(best: Iterable[Best]) -> Sheet:
    """The weaves of which nothing can be said, with what can be done about it."""
    none = [one.held for one in best if one.held.said.answer == "not known"]
    told = ((_called(h.weaving), "; ".join(filter(None, _unknown(h)))) for h in none)
    return Sheet("Not known whether a ring fits", notes=_by_reason(told))


def _unknown(held: Held) -> tuple[str, str]:
    return held.said.why, "" if held.weaving.computed else held.weaving.hint


def _by_reason(told: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """What is said of something, once for all of which it is said: 'a, b: under AR 3.3'."""
    found: dict[str, list[str]] = {}
    for name, why in told:
        found.setdefault(why, []).append(name)
    return tuple(f"{', '.join(names)}: {why}" for why, names in found.items())


def _least(held: Held) -> str:
    """From which AR each ring of a set is good beside the others: '4.08, 2.67'."""
    rings = [rings[0] for rings in held.chosen]
    told = []
    for need, ar in zip(held.weaving.needs, least_aspects(held.weaving, rings), strict=True):
        if need.span is not None:
            told.append(ratio_text(need.span.low, need.span.places))
        else:
            told.append("?" if ar is None else f"{ar:.2f}")
    return ", ".join(told)


def _made(held: Sequence[Held]) -> Sheet:
    rows: list[tuple[str, ...]] = []
    before = ""
    for h in held:
        if h.said.answer == "fits":
            name = _called(h.weaving) if h.weaving.name != before else ""
            counts = _number(h.pieces), _number(h.units)
            rows.append((name, choice_words(h), _aspects(h), _least(h), *counts))
            before = h.weaving.name
    notes: tuple[str, ...] = (
        "from: the least AR that the recipe states, or the smallest found (computed), of two sizes"
        " that of a pair most like this one; ? where nothing is said of a ring by itself",
        "units: how often the unit of the recipe could be worked in one long piece; of a sheet its"
        " places, all rows together (6 rows of 8 are 48), as if it had no edges",
        "near the smallest AR a piece is stiff, far above it limp: work a sample",
    )
    heads = ("weave", "rings", "AR", "from", "pieces", "units")
    return Sheet("Every set that fits", heads, tuple(rows), frozenset((2, 3, 4, 5)), notes)


def _of_two_sizes(held: Held) -> bool:
    return sum(need.linked is not None for need in held.weaving.needs) > 1


def _aspects(held: Held) -> str:
    """The AR of every ring of a set."""
    rings = [rings[0] for rings in held.chosen] or [held.ring]
    return ", ".join(map(_aspect, rings))


def _reasons(held: Iterable[Held], answers: Mapping[Answer, str]) -> tuple[str, ...]:
    """Rings of one weave with one reason in one sentence."""
    found: dict[tuple[str, Answer, str], list[str]] = {}
    for h in held:
        if h.said.answer in answers:
            key = _called(h.weaving), h.said.answer, h.said.rule
            found.setdefault(key, []).append(f"{choice_words(h)} ({_aspects(h)})")
    return tuple(
        f"{name}{answers[answer]}: {'; '.join(rings)}: {why}"
        for (name, answer, why), rings in found.items()
    )


def _doubtful(held: Sequence[Held]) -> Sheet:
    answers: dict[Answer, str] = {
        "tight": ", tight", "loose": ", loose", "not known": ", not known",
    }  # fmt: skip
    return Sheet("Tight, loose or not known", notes=_reasons(held, answers))


def _not(held: Sequence[Held]) -> Sheet:
    if not (reasons := _reasons(held, {"cannot": ""})):
        return Sheet("Cannot be made")
    last = (
        "the smallest found is computed with rigid round rings; that there is none smaller is not"
        " proven, and real rings bend: where makers speak of less, a sample decides"
    )
    return Sheet("Cannot be made", notes=(*reasons, last))


def _ranges(held: Sequence[Held]) -> Sheet:
    weavings = {_called(h.weaving): h.weaving for h in held}
    told = {name: range_of(weaving) for name, weaving in weavings.items()}
    notes = _by_reason((name, f"{words} ({known})") for name, (words, known) in told.items())
    two = (_TWO_SIZES,) if any(map(_of_two_sizes, held)) else ()
    return Sheet("Good to make at", notes=(*notes, *two, *_tight_words(weavings.values())))


def _tight_words(weavings: Iterable[Weaving]) -> tuple[str, ...]:
    """Why a ring near a computed least is tight, by the first weave with such a least."""
    for one in weavings:
        if one.computed and len(one.needs) == 1 and one.needs[0].span is None:
            wire, least = one.needs[0].wire, one.computed.least
            low, high = unsure(least, wire)
            return (
                f"wire is often {THICKER_MM} mm thicker or thinner than its label, and the AR less"
                f" or more by as much: of {text_mm(wire)} mm wire a ring of AR {low:.2f} to"
                f" {high:.2f} is tight where {least:.2f} is the least computed, as of {one.name};"
                " only above does it fit for certain, and only below can it not be made",
            )
    return ()


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
