"""Ring counts as tables, as JSON and as CSV.

Comes in: a `PieceCount`. Goes out: `Printed` words, or plain data.
"""

from __future__ import annotations

from typing import Any

from ringstep.language.words import listed, plural
from ringstep.paper.printed import Printed, Sheet
from ringstep.paper.sentences import short_kind
from ringstep.shop.tally import PieceCount, RoleCount

CSV_HEADS = (
    "name",
    "what",
    "kind",
    "where",
    "size",
    "colour",
    "opened",
    "closed",
    "taken_out",
    "placed",
)


def _size(line: RoleCount) -> str:
    """What is said of a ring's kind, or of a part."""
    return short_kind(line.kind) if line.kind else line.words


def count_page(count: PieceCount) -> Printed:
    """The rings of a piece by role and by kind, its parts and its links."""
    heads = ("ring", "size", "placed open", "placed closed", "in all")
    numbers = [(x.opened, x.closed, x.placed) for x in count.rings]
    named = [(f"{x.name}{f', {x.where}' if x.where else ''}", _size(x)) for x in count.rings]
    if len(named) > 1:
        named.append(("all", ""))
        numbers.append(tuple(map(sum, zip(*numbers, strict=True))))  # type: ignore[arg-type]
    rows = [(*who, *(f"{n:,}" for n in many)) for who, many in zip(named, numbers, strict=True)]
    out = [f"{x.taken_out:,} {x.name}" for x in count.rings if x.taken_out]
    notes = [f"taken out again before the piece is done: {listed(out)}"] if out else []
    with_parts = (
        f", {count.links_with_parts:,} of them with a part" if count.links_with_parts else ""
    )
    notes.append(f"{plural(count.links, 'link')} in the finished piece{with_parts}")
    notes.append(
        "counted ring by ring"
        if count.explicit
        else "counted by how the units repeat; --explicit counts ring by ring"
    )
    sheets = [Sheet("Rings", heads, tuple(rows), frozenset((2, 3, 4)), tuple(notes))]
    if len(by_kind := count_by_kind(count)) > 1:
        kinds = tuple((n, w, f"{c:,}") for n, w, c in by_kind)
        sheets.append(Sheet("By kind", ("kind", "size", "rings"), kinds, frozenset((2,))))
    if count.strands:
        strands = [(name, f"{units:,}", f"{rings:,}") for name, units, rings in count.strands]
        ends = sum(x.placed for x in count.rings) - sum(rings for *_, rings in count.strands)
        told = (*strands, *([("start and finish", "", f"{ends:,}")] if ends else []))
        sheets.append(Sheet("By strand", ("strand", "units", "rings"), told, frozenset((1, 2))))
    if count.made:
        made = [(name, f"{n:,}", f"{rings:,}", f"{n * rings:,}") for name, n, rings in count.made]
        rest = sum(x.placed for x in count.rings) - sum(n * rings for _, n, rings in count.made)
        lines = (*made, ("what joins them", "", "", f"{rest:,}"))
        columns = ("piece", "made", "rings each", "rings")
        sheets.append(Sheet("By piece", columns, lines, frozenset((1, 2, 3))))
    if count.parts:
        parts = tuple((p.name, p.words, f"{p.placed:,}") for p in count.parts)
        sheets.append(Sheet("Parts", ("part", "what it is", "how many"), parts, frozenset((2,))))
    piece = f"{count.piece[0].upper()}{count.piece[1:]}."
    return Printed(count.title, (piece,), tuple(sheets))


def count_by_kind(count: PieceCount) -> list[tuple[str, str, int]]:
    """Rings by the lines of `rings:`: name of the line, its size in words, how many."""
    found: dict[tuple[int, str], tuple[str, str, int]] = {}
    for one in count.rings:
        if one.kind:  # a letter of the picture may stand for rings of two sizes
            line = one.kind.span.line, short_kind(one.kind)
            before = found[line][2] if line in found else 0
            found[line] = (one.kind.words, short_kind(one.kind), before + one.placed)
    return [found[line] for line in sorted(found)]


def count_data(count: PieceCount) -> dict[str, Any]:
    """A count as plain data."""

    def told(x: RoleCount) -> dict[str, Any]:
        return {
            "name": x.name, "kind": str(x.kind.name) if x.kind else None, "words": _size(x),
            "where": x.where or None,
            "colour": x.kind.colour if x.kind else None,
            "opened": x.opened, "closed": x.closed, "taken_out": x.taken_out, "placed": x.placed,
        }  # fmt: skip

    return {
        "title": count.title,
        "piece": count.piece,
        "rings": [told(x) for x in count.rings],
        "parts": [told(x) for x in count.parts],
        "strands": [
            {"strand": name, "units": units, "rings": rings} for name, units, rings in count.strands
        ],
        "pieces": [
            {"piece": name, "made": times, "rings_each": rings} for name, times, rings in count.made
        ],
        "rings_in_all": sum(x.placed for x in count.rings),
        "links": count.links,
        "links_with_parts": count.links_with_parts,
        "explicit": count.explicit,
    }


def count_rows(data: dict[str, Any]) -> list[dict[str, Any]]:
    """The lines of one CSV table out of the plain data: rings first, then parts."""
    lines = [("ring", x) for x in data["rings"]] + [("part", x) for x in data["parts"]]
    return [{"what": what, "size": x["words"], **x} for what, x in lines]
