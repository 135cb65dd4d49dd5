"""Ring sizes as tables, as JSON and as CSV: aspect ratios, what fits, and the floor under it.

Comes in: ring kinds of a recipe and judged rings. Goes out: `Printed` words, or plain data.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from typing import Any

from ringstep.language.measures import (
    awg_mm,
    gauge_text,
    inch_words,
    nearest_gauges,
    swg_mm,
    text_mm,
)
from ringstep.language.typed_size import Measure
from ringstep.language.words import listed, or_nearest, plural
from ringstep.paper.printed import Printed, Sheet
from ringstep.paper.set_table import set_sheet
from ringstep.shop.fitting import (
    Judged,
    RingUse,
    most_rings,
    openings,
    small_changes,
    wires,
)
from ringstep.weave.piece import Weave
from ringstep.weave.working_range import (
    Range,
    Verdict,
    ratio_text,
    text_at_least,
    text_at_most,
)

_MOST_NAMED = 8


def range_words(span: Range) -> str:
    """The range as the recipe states it: 'AR 5.6 to 5.8', 'AR from 3.0'."""
    low = ratio_text(span.low, span.places)
    if span.high is None:
        return f"AR from {low}"
    return f"AR {low} to {ratio_text(span.high, span.places)}"


def verdict_words(verdict: Verdict, use: RingUse | None) -> str:
    """A verdict as one says it."""
    return verdict_in(verdict, use.range if use else None)


def verdict_in(verdict: Verdict, span: Range | None) -> str:
    """The same of a range without a recipe."""
    if verdict == "too tight" and span:
        return f"too tight, under {ratio_text(span.low, span.places)}"
    if verdict == "too loose" and span and span.high is not None:
        return f"too loose, over {ratio_text(span.high, span.places)}"
    if verdict == "cannot be":
        return "cannot be: below the floor"
    return "no range given" if verdict == "no range" else verdict


def sizes_page(
    title: str,
    groups: Iterable[tuple[RingUse | None, list[Judged]]],
    notes: tuple[str, ...],
    typed_wires: list[Measure],
    typed_insides: list[Measure],
    stocked: bool,
    parts: list[dict[str, Any]],
    sets: list[dict[str, Any]],
) -> Printed:
    """Everything told of ring kinds, or without a recipe of the rings typed; no note twice.

    groups: each kind with the rings held against it. notes: what the recipe says of sizes.
    stocked: whether the rings are those of a stock list. parts, sets: the data of parts and of sets
    of sizes to tell of.
    """
    sheets: list[Sheet] = []
    for use, rings in groups:
        told = _range_notes(use, notes) if use else ()
        if rings:
            first = rings[0]
            if use:
                told += _floor_notes(use, use.wire if stocked else first.wire.mm)
            elif len({r.ratio for r in rings if r.sold_as is None}) < 2:
                told = _ratio_notes(first.ratio)
            sheets.append(_judged_sheet(use, rings, told))
            if not stocked and len({(r.wire, r.inside) for r in rings}) == 1:
                sheets.append(_change_sheet(use, first.wire_mm, first.inside.mm))
        elif use and typed_wires:
            sheets += [_opening_sheet(use, w, told + _floor_notes(use, w.mm)) for w in typed_wires]
        elif use:
            sheets += [_wire_sheet(use, inside, told) for inside in typed_insides]
        elif typed_wires:
            sheets.append(_gauge_sheet(typed_wires))
    said: set[str] = set()
    for at, sheet in enumerate(sheets):
        sheets[at] = replace(sheet, notes=tuple(n for n in sheet.notes if n not in said))
        said.update(sheet.notes)
    sheets += [_part_sheet(parts)] if parts else []
    sheets += [set_sheet(sets)] if sets else []
    return Printed(title, (), tuple(sheets))


def _judged_sheet(use: RingUse | None, rings: list[Judged], more: tuple[str, ...]) -> Sheet:
    """Rings with their ratio and whether they fit; without a recipe there is nothing to fit."""
    places = use.range.places if use and use.range else 1
    notes = []
    if any(one.sold_as is not None for one in rings):
        notes.append(
            "a gauge is mostly labelled with its mm rounded (common practice, no source): both are"
            " told where it matters; the callipers decide"
        )
    if use and use.range and len({one.name for one in rings}) > 1:
        notes.append(_fit_words(rings))
    named = {"ring": [one.name for one in rings], "what": [one.what for one in rings]}
    columns = {head: cells for head, cells in named.items() if any(cells)} | {
        "wire": [
            f"{one.wire.text} sold as {text_mm(one.sold_as)} mm" if one.sold_as else one.wire.words
            for one in rings
        ],
        "inside": [one.inside.words for one in rings],
    }
    words = len(columns)
    columns["AR"] = [ratio_text(one.ratio, places + 1) for one in rings]
    columns["counts as"] = [ratio_text(one.counts_as, places) for one in rings]
    if use:
        columns["verdict"] = [verdict_words(one.verdict, use) for one in rings]
    heading = f"{use.label[0].upper()}{use.label[1:]}" if use else "Aspect ratio"
    return Sheet.of_columns(heading, columns, words, (*notes, *more))


def _fit_words(rings: Iterable[Judged]) -> str:
    """Which of several rings fit, by their mm or only by their label."""
    fit = [one for one in rings if one.verdict == "fits"]
    sure = list(dict.fromkeys(one.name for one in fit if one.sold_as is None))
    label = [one.name for one in fit if one.sold_as is not None and one.name not in sure]
    words = f"fit: {listed(sure)}" if sure else "none fits by its mm"
    return words + (f"; only if the label is right: {listed(label)}" if label else "")


def _range_notes(use: RingUse, sizes: Iterable[str]) -> tuple[str, ...]:
    """What the recipe says of the range of a ring kind, and how its ends are compared."""
    span = use.range
    if span is None and use.known:
        return (
            f"the recipe states no range; it is good to make at {use.known};"
            " 'ringstep sizes FILE --stock LIST.csv' judges your rings by it",
            *(f"the recipe says of sizes: {words}" for words in sizes),
        )
    if span is None:
        return (
            f"the recipe gives no working range for {use.label}; when you know one, add to"
            " 'expect:' a line such as 'AR 4 to 5, from my own trials'",
            *(f"the recipe says of sizes: {words}" for words in sizes),
        )
    origin = f" ({span.origin})" if span.origin else ""
    made = f", made as {span.variant}," if span.variant else ""
    return (
        f"good to make{made} at {range_words(span)}{origin}; an AR is compared rounded to"
        f" {plural(span.places, 'decimal')}, halves up",
    )


def _floor_notes(use: RingUse, wire: float) -> tuple[str, ...]:
    """The hard bound for a wire in mm, with its reason; for every wire where it is the same AR."""
    least = use.floor(wire)
    if least is None:
        return ()
    ar, mm = f"AR {least.inside / wire:.2f}", f"{text_mm(least.inside)} mm"
    bound = (
        f"hard bound for any wire: {ar} at least ({mm} with {text_mm(wire)} mm wire)"
        if use.alone
        else f"hard bound with {text_mm(wire)} mm wire: an opening of {mm} at least ({ar})"
    )
    last = "it is a floor, far below comfort"
    who = f"a finished {least.role}"
    if least.rings == 1:
        return (f"{bound}, since 1 ring goes through {who} and its wire must find room; {last}",)
    through = "" if use.alone else f" ({listed([text_mm(x) for x in least.wires])} mm)"
    return (
        f"{bound}, since {plural(least.rings, 'ring')} go through {who} and their wires{through}"
        f" lie side by side in its opening ({least.reason}); {last}",
    )


def _change_sheet(use: RingUse | None, wire: float, inside: float) -> Sheet:
    """What small changes of a ring (mm) do."""
    places = use.range.places if use and use.range else 1
    changes = small_changes(wire, inside, use.kind.material if use else "")
    columns = {
        "change": [change.words for change in changes],
        "wire, mm": [text_mm(change.wire) for change in changes],
        "inside, mm": [text_mm(change.inside) for change in changes],
        "AR": [ratio_text(change.ratio, places + 1) for change in changes],
    }
    if use and use.range:
        verdicts = [use.verdict(change.wire, change.inside) for change in changes]
        columns["verdict"] = [verdict_words(verdict, use) for verdict in verdicts]
    notes = (
        "how far a metal springs open is typical only: 'ringstep mandrel' tells it of"
        " any mandrel, also by a coil you measured; by how much wire is off its label is common"
        " practice, no source: measure",
    )
    return Sheet.of_columns(
        f"A small change{f': {use.label}' if use else ''}", columns, notes=notes
    )


def _ratio_notes(value: Fraction) -> tuple[str, ...]:
    """What a ratio alone tells."""
    most = most_rings(value)
    if most is None or most < 1:
        return ()
    return (
        f"at this AR no more than {plural(most, 'ring')} of the same wire can go through at all; in"
        " comfort it is far fewer",
    )


def part_data(weave: Weave) -> list[dict[str, Any]]:
    """The parts whose size is said, in mm."""
    names = [p.name.role for p in weave.recipe.parts]
    known = ((name, weave.part_size(name)) for name in dict.fromkeys(names))
    return [
        {"name": name} | {f"{what}_mm": mm for what, mm in size._asdict().items()}
        for name, size in known
        if size
    ]


def _part_sheet(parts: Iterable[dict[str, Any]]) -> Sheet:
    """The same as a table."""
    rows = [
        tuple("" if x is None else x if isinstance(x, str) else text_mm(x) for x in part.values())
        for part in parts
    ]
    heads = ("part", "length, mm", "width, mm", "hole, mm")
    return Sheet("Parts", heads, tuple(rows), frozenset((1, 2, 3)))


# -- which openings, which wires -----------------------------------------------------------------


def _named(first: int, last: int, words: Any) -> str:
    """Multiples of a step by name, or the first and the last where there are many."""
    if last - first < _MOST_NAMED:
        return ", ".join(words(n) for n in range(first, last + 1))
    return f"{words(first)} to {words(last)}"


def _opening_sheet(use: RingUse, wire: Measure, notes: tuple[str, ...]) -> Sheet:
    """The inside diameters that suit a wire, and the sizes on sale among them."""
    heads = ("wire", "inside, mm", "by 0.1 mm", "by 0.25 mm", "by 1/64 in")
    rows: list[tuple[str, ...]] = []
    told: list[tuple[str, float]] = [(wire.words, wire.mm)]
    if wire.sold_as is not None and wire.sold_as != wire.mm:
        told.append((f"sold as {text_mm(wire.sold_as)} mm", wire.sold_as))
    for words, mm in told:
        span = openings(use, mm)
        if span is None:
            continue
        if span.below is None:
            rows.append((words, f"{text_at_least(span.low)} and up", "", "", ""))
            continue
        cells = []
        for step, name in (
            (Fraction(1, 10), lambda n: text_mm(n / 10)),
            (Fraction(1, 4), lambda n: text_mm(n / 4)),
            (Fraction(127, 320), inch_words),
        ):
            found = span.steps(step)
            cells.append(_named(*found, name) if found else "none")
        empty = span.low >= span.below
        between = f"{text_at_least(span.low)} to just under {text_mm(span.below)}"
        rows.append((words, "none: the floor lies higher" if empty else between, *cells))
    return Sheet(f"Openings for {use.label}", heads if rows else (), tuple(rows), notes=notes)


def _wire_sheet(use: RingUse, inside: Measure, notes: tuple[str, ...]) -> Sheet:
    """The wires that suit an opening, and the gauges among them."""
    heads = ("inside", "wire, mm", "AWG", "SWG")
    span = wires(use, inside.mm)
    rows = []
    if span:
        thin, thick = span
        gauges = []
        for numbers, size in ((range(-3, 41), awg_mm), (range(-6, 51), swg_mm)):
            found = [gauge_text(n) for n in numbers if (thin or 0) < size(n) <= thick]
            many = len(found) > _MOST_NAMED
            gauges.append(f"{found[0]} to {found[-1]}" if many else ", ".join(found) or "none")
        least = "up" if thin is None else f"just over {text_mm(thin)}"
        rows.append((inside.words, f"{least} to {text_at_most(thick)}", *gauges))
    return Sheet(f"Wires for {use.label}", heads if rows else (), tuple(rows), notes=notes)


def _gauge_sheet(measures: Iterable[Measure]) -> Sheet:
    """Wires in mm with the nearest gauges."""
    rows = []
    for one in measures:
        sold = f"{text_mm(one.sold_as)}" if one.sold_as is not None else ""
        near = [f"{gauge_text(n)} ({text_mm(mm)} mm)" for n, mm in nearest_gauges(one.mm)]
        rows.append((one.text, f"{one.mm:.3f}", sold, *near))
    heads = ("wire", "mm", "sold as, mm", "nearest AWG", "nearest SWG")
    return Sheet("Wire", heads, tuple(rows), frozenset((1, 2)))


# -- plain data ----------------------------------------------------------------------------------


CSV_HEADS = (
    "ring", "what", "for", "wire", "wire_mm", "sold_as", "inside", "inside_mm", "ar", "counts_as",
    "verdict",
)  # fmt: skip


def judged_data(one: Judged, use: RingUse | None) -> dict[str, Any]:
    """A judged ring as plain data."""
    return {
        "ring": one.name or None,
        "what": one.what or None,
        "for": use.label if use else None,
        "wire": one.wire.text,
        "wire_mm": round(one.wire_mm, 4),
        "sold_as": one.sold_as is not None,
        "inside": one.inside.text,
        "inside_mm": round(one.inside.mm, 4),
        "ar": round(float(one.ratio), 4),
        "counts_as": float(one.counts_as),
        "verdict": one.verdict,
    }


def use_data(use: RingUse, wire: float) -> dict[str, Any]:
    """A ring kind with its range, and its floor for a wire in mm."""
    least, span = use.floor(wire), openings(use, wire)
    return {
        "kind": use.name,
        "roles": list(use.roles),
        "range": use.range
        and {
            "low": float(use.range.low),
            "high": None if use.range.high is None else float(use.range.high),
            "origin": use.range.origin,
            "decimals": use.range.places,
        },
        "wire_mm": round(wire, 4),
        "inside_from_mm": span and round(span.low, 4),
        "inside_below_mm": span and span.below and round(span.below, 4),
        "floor": least
        and {
            "inside_mm": round(least.inside, 4),
            "rings": least.rings,
            "through": least.role,
            "reason": least.reason,
        },
    }


def names_of(uses: Iterable[RingUse]) -> list[str]:
    """Every name by which a ring kind may be asked for."""
    return list(
        dict.fromkeys(
            name
            for use in uses
            for name in (use.name, *use.roles, *(crowd.role for crowd in use.crowds))
        )
    )


def no_such_ring(name: str, uses: tuple[RingUse, ...]) -> str:
    """What to say where the recipe has no such ring kind."""
    return f"the recipe has no ring '{name}'{or_nearest(name, names_of(uses))}"
