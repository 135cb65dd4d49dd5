"""Measured samples in words: what was measured and how, and how far off a computed length was.

Comes in: samples, and lengths computed with rigid round rings. Goes out: words, plain data.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from ringstep.checks.view import View, with_size
from ringstep.language.size_sets import set_names
from ringstep.language.tree import Sample, Tree
from ringstep.language.words import listed, plural
from ringstep.paper.printed import Printed, Sheet
from ringstep.shop.kit_length import Length
from ringstep.shop.sample_log import Entry, in_use, ring_text, why_not

#: How the recipe's own sample is measured; where its notes say otherwise they are printed instead.
FLAT = "laid flat without pulling"


def noted(recipe: Tree) -> bool:
    """Whether a recipe says itself how its samples were come by."""
    return any(note.topic == "sample" for note in recipe.notes)


def measured_words(samples: Iterable[Sample | None], noted: bool, verb: str = "measure") -> str:
    """What was measured, and how: '10 plain measure 69 mm and 1 bright measures 26 mm'.

    noted: whether the recipe has notes on its own samples, which go before how one measures.
    """
    shown = list(dict.fromkeys(s for s in samples if s is not None))
    own = any(s.day for s in shown)
    told = []
    for s in shown:
        what = f"{s.units} {s.label.value}" if s.label else plural(s.units, "unit")
        says = verb if verb == "=" else f"{verb}{'s' * (s.units == 1)}"
        how = f", {s.state} on {s.day}" if s.day else f", {FLAT}" if own and not noted else ""
        told.append(f"{what} {says} {s.size.text}{how}")
    return listed(told) if own or noted or not told else f"{listed(told)}, {FLAT}"


def computed_words(low: float, high: float) -> str:
    """The computed length of a unit, each number with how one would measure it."""
    middle, half = (low + high) / 2, (high - low) / 2
    return (
        f"a unit is {low:.2f} mm long pushed together and {high:.2f} mm hanging, pulled straight;"
        f" {FLAT} it lies in between, {middle:.2f} mm give or take {half:.2f}"
    )


def off_percent(state: str, mm: float, computed: tuple[float, float]) -> int:
    """By how many percent a measured unit is longer than computed; 0 between the two ends.

    A piece laid flat may be anywhere between them, all others are held against one of them.

    >>> off_percent("hanging", 4.10, (3.50, 4.02)), off_percent("laid flat", 3.9, (3.5, 4.02))
    (2, 0)
    """
    low, high = computed
    end = {"pushed together": low, "laid flat": min(max(mm, low), high)}.get(state, high)
    return round((mm / end - 1) * 100)


def held_words(
    state: str, mm: float, computed: tuple[float, float], who: str = "you measured"
) -> str:
    """A measured unit held against the computed: 'computed 4.02 mm a unit, you measured 4.10'."""
    low, high = computed
    off = off_percent(state, mm, computed)
    far = f"{abs(off)} % {'more' if off > 0 else 'less'}" if off else "less than 1 % apart"
    told = {"pushed together": f"{low:.2f}", "laid flat": f"{low:.2f} to {high:.2f}"}
    if state == "laid flat" and low <= mm <= high:
        far = "between the two ends"
    how = {"pushed together": "pushed together", "laid flat": "pushed together to pulled straight"}
    return (
        f"computed {told.get(state, f'{high:.2f}')} mm a unit, {how.get(state, 'pulled straight')};"
        f" {who} {mm:.2f} {state}: {far}"
    )


def length_data(length: Length) -> dict[str, Any]:
    """How a length was come by, as plain data: samples with state and day, computed ends."""
    flat = None if length.origin else "laid flat"
    ends = length.computed or length.held
    one = length.measured[0] if len(length.measured) == 1 else None
    off = None
    if one and length.held and not length.origin:
        mm = length.sample / length.sample_units
        off = off_percent(one.state or "laid flat", mm, length.held)
    return {
        "measured": [
            {"unit": s.label.value if s.label else None, "units": s.units, "mm": s.size.mm,
             "state": s.state or flat, "day": s.day or None,
             "from": "log of samples" if s.day else "recipe"}
            for s in length.measured
        ],
        "computed_unit": length.computed and list(length.computed),
        "computed_ends": ends and {
            "pushed_together": round(ends[0], 4), "pulled_straight": round(ends[1], 4),
            "flat_middle": round((ends[0] + ends[1]) / 2, 4),
            "flat_give_or_take": round((ends[1] - ends[0]) / 2, 4),
            "of": "rigid round rings",
        },
        "off_computed_percent": off,
    }  # fmt: skip


# -- the list --------------------------------------------------------------------------------------

CSV_HEADS = (
    "log", "line", "day", "units", "unit", "length_mm", "unit_mm", "state", "rings", "weave",
    "used", "note",
)  # fmt: skip


def sample_rows(log: str, entries: Sequence[Entry], seen: View | None) -> list[dict[str, Any]]:
    """Samples as plain data, the newest first. used: whether lengths go by it, and if not why.

    seen: the recipe; None where it cannot be read.
    """
    views = [("", seen)] if seen else []
    views += [(n, with_size(seen, n)) for n in set_names(seen.recipe)] if seen else []
    best = [(name, in_use(view, entries)) for name, view in views]
    found = []
    for entry in sorted(entries, key=lambda e: (e.day, e.line), reverse=True):
        sets = [f"in size {name}" if name else "yes" for name, used in best if entry in used]
        why = [why_not(view, entry) for _, view in views]
        no = next((f"no: {w}" for w in why if w), "") if all(why) else "no: there is a newer one"
        unread = "no: the recipe has errors or is missing"
        found.append(
            {
                "log": log, "line": entry.line, "day": entry.day, "units": entry.units,
                "unit": entry.label, "length_mm": round(entry.mm, 4),
                "unit_mm": round(entry.mm / entry.units, 4), "state": entry.state,
                "rings": "; ".join(ring_text(k, len(entry.rings) > 1) for k in entry.rings),
                "weave": entry.weave, "used": ", ".join(sets) or (no if seen else unread),
                "note": entry.note,
            }
        )  # fmt: skip
    return found


def samples_page(logs: Sequence[str], rows: Sequence[dict[str, Any]]) -> Printed:
    """The samples of some logs, a table each, ready to print."""
    sheets = []
    for log in logs:
        mine = [row for row in rows if row["log"] == log]
        columns = {
            "day": [x["day"] for x in mine],
            "measured": [
                f"{x['units']} {x['unit'] or 'units'} = {x['length_mm']:g} mm" for x in mine
            ],
            "state": [x["state"] for x in mine],
            "rings": [x["rings"] for x in mine],
            "used": [x["used"] for x in mine],
            "mm a unit": [f"{x['unit_mm']:.2f}" for x in mine],
        }
        notes = [f"{x['day']}: {x['note']}" for x in mine if x["note"]]
        sheets.append(Sheet.of_columns(log, columns, 5, notes))
    return Printed("Measured samples", (), tuple(sheets))
