"""Every set of sizes of a recipe in one table, for a shop that sells a weave in several.

Comes in: the ring kinds and the kit of each set. Goes out: plain data, or a `Sheet`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ringstep.language.measures import text_mm
from ringstep.paper.printed import Sheet
from ringstep.shop.fitting import RingUse
from ringstep.shop.kit import Kit
from ringstep.weave.working_range import ratio


def set_data(name: str, uses: Sequence[RingUse], kit: Kit | None) -> list[dict[str, Any]]:
    """The rings of a set of sizes as plain data: sizes, AR, and what one piece takes of each.

    kit: of one piece; None where the recipe does not say how long the piece is.
    """
    found: dict[tuple[object, ...], dict[str, Any]] = {}
    for use in uses:
        key = use.wire, use.inside, use.kind.look
        row = found.setdefault(
            key,
            {
                "set": name, "ring": [], "wire_mm": use.wire, "inside_mm": use.inside,
                "ratio": round(float(ratio(use.wire, use.inside)), 4), "verdict": "fits",
                "piece": None, "piece_metal_g": None,
            },
        )  # fmt: skip
        row["ring"].append(use.label)
        if (verdict := use.verdict(use.wire, use.inside)) != "fits":
            row["verdict"] = verdict
    for line in kit.lines if kit else ():
        if row_of := found.get((line.wire, line.inside, line.kind.look)):
            grams = line.finished_grams
            row_of["piece"] = line.rings
            row_of["piece_metal_g"] = None if grams is None else round(grams, 4)
    return list(found.values())


def set_sheet(sets: list[dict[str, Any]]) -> Sheet:
    """Every set of sizes in one table."""
    columns = {
        "set": [x["set"] for x in sets],
        "ring": ["; ".join(x["ring"]) for x in sets],
        "wire, mm": [text_mm(x["wire_mm"]) for x in sets],
        "inside, mm": [text_mm(x["inside_mm"]) for x in sets],
        "AR": [f"{x['ratio']:.2f}" for x in sets],
        "verdict": [x["verdict"] for x in sets],
    }
    if any(x["piece"] for x in sets):
        columns["rings a piece"] = [f"{x['piece']:,}" if x["piece"] else "" for x in sets]
        grams = [x["piece_metal_g"] for x in sets]
        columns["a piece weighs, g"] = ["not known" if g is None else f"{g:.2f}" for g in grams]
    notes = ("--size NAME makes a kit, a hand-out or a picture in one of them",)
    return Sheet.of_columns("Sets of sizes", columns, 2, notes)
