"""The tables of the hand-out: the finished piece, the rings to lay ready, and every ring counted.

Comes in: a checked `View`. Goes out: `Html`. Sizes are mm; gauges are the nearest by thickness.
"""

from __future__ import annotations

from collections.abc import Iterable

from ringstep.checks.summary import (
    repeat_words,
    unit_rings,
    wanted_words,
    woven_mm,
)
from ringstep.checks.view import View
from ringstep.language.measures import gauge_words, text_mm
from ringstep.language.tree import Piece
from ringstep.language.words import listed, plural
from ringstep.paper.page import Html, bullets, escaped, table
from ringstep.paper.sample_words import measured_words, noted
from ringstep.paper.steps_text import Need, finished_lines
from ringstep.weave.repeats import period_of
from ringstep.weave.strands import strand_counts, strand_mm
from ringstep.weave.work import Ring, ring_name


def fact_rows(view: View, several: bool) -> list[tuple[str, str]]:
    """What the finished piece is: (label, words). several: variants that may repeat otherwise."""
    counts = view.weave.counts
    parts = view.recipe.part_roles
    rows = []
    if length := length_words(view):
        rows.append(("Length", length))
    if view.weave.layout.known:
        rings = sum(n for (role, _), n in counts.placed().items() if role not in parts)
        out = counts.taken_out.total()
        tail = f", of which {out:,} come{'s' * (out == 1)} out again" if out else ""
        rows.append(("Rings in all", f"{plural(rings, 'ring')}{tail}"))
    if size := unit_rings(view):
        rows.append(("Unit", f"{plural(size, 'ring')} a unit"))
    if links := finished_lines(view):
        rows.append(("Links", "; ".join(links)))
    periods = period_of(view.weave)
    if periods and not several:
        rows.append(("Repeats", f"the piece repeats {repeat_words(view, periods)}"))
    return rows


def length_words(view: View) -> str:
    """How long the piece becomes, as far as the recipe's sample tells; "" where it does not."""
    piece, layout = view.recipe.piece, view.weave.layout
    if piece is None:
        return ""
    if piece.strands:
        return _strand_lengths(view, piece)
    if not layout.known:
        return piece.length.text if piece.length else ""
    mm = woven_mm(view)
    if mm is None:
        return piece.length.text if piece.length else ""
    samples = piece.samples if piece.runs else [piece.sample]
    told = measured_words(samples, noted(view.recipe))
    return f"{wanted_words(mm, piece.length)} without its ends ({told})"


def _strand_lengths(view: View, piece: Piece) -> str:
    """How long each strand becomes, as far as samples tell, or is wished."""
    names = [s.name.value for s in piece.strands]
    if not all(strand_mm(piece, name, 1) for name in names):
        return listed([f"{s.name.value} {s.length.text}" for s in piece.strands if s.length])
    each = zip(piece.strands, strand_counts(piece), strict=True)
    told = [
        f"{s.name.value} {wanted_words(strand_mm(piece, s.name.value, n) or 0.0, s.length)}"
        for s, n in each
    ]
    samples = [piece.sample_of(name) or piece.sample for name in names]
    measured = measured_words(samples, noted(view.recipe))
    return f"{listed(told)}, without start and finish ({measured})"


def ready_words(need: Need) -> str:
    """How many rings to open and how many to close before the work begins."""
    if not need.count:
        return "as many as the length takes"
    if need.kind.stays_closed:
        return "nothing; they stay closed"
    ready = [f"open {need.opened:,}" if need.opened else ""]
    ready.append(f"close {need.closed:,}" if need.closed else "")
    return listed([r for r in ready if r])


def need_lines(needs: Iterable[Need]) -> Html:
    """The rings as a list, for large print and long words."""
    told = []
    for need in needs:
        head = f"{need.count:,} ring{'s' if need.count != 1 else ''}" if need.count else "Rings"
        ready = ready_words(need)
        told.append(f"{head} for {need.name}: {need.words}. Before you begin: {ready}.")
    return bullets(escaped(t) for t in told)


def need_table(needs: Iterable[Need]) -> Html:
    """The rings as a table."""
    rows = []
    for need in needs:
        kind = need.kind
        wire, inside = kind.mm
        gauges = f"{text_mm(wire)}\u00a0mm" if wire else ""
        if wire and wire > 0:
            gauges += f" ({gauge_words(wire)})"
        ratio = f"{inside / wire:.1f}" if wire and inside and wire > 0 else ""
        metal = ", ".join(kind.look)
        count = f"{need.count:,}" if need.count else ""
        across = f"{text_mm(inside)}\u00a0mm" if inside else ""
        cells = (need.name, count, gauges, across, ratio, metal, ready_words(need))
        rows.append(tuple(map(escaped, cells)))
    heads = ("For", "Rings", "Wire", "ID", "AR", "Metal", "Before you begin")
    return table("", heads, rows, numbers=(1,), kind="needs")


def ring_table(view: View) -> Html:
    """For the teacher: how often each ring of the recipe is in the piece, and what it meets."""
    parts = view.recipe.part_roles
    through: dict[tuple[str, int], set[int]] = {}
    for role, index, met in view.weave.neighbourhoods:
        through.setdefault((role, index), set()).add(met.total())
    counts, rows = view.weave.counts, []
    for (role, index), count in sorted(counts.placed().items()):
        if role in parts:
            continue
        ring = (role, index)
        name = ring_name(Ring(role, index, 0, 0), view.weave.names.get(role, (1,)))
        numbers = (count, counts.opened[ring], counts.closed[ring])
        known = [f"{n:,}" if view.weave.layout.known else "" for n in numbers]
        out = [f"{counts.taken_out[ring]:,}"] if counts.taken_out else []
        totals = [str(n) for n in sorted(through.get(ring, ()))]
        rows.append(tuple(map(escaped, (name, *known, *out, listed(totals, "or")))))
    gone = ["Taken out"] if counts.taken_out else []
    heads = ["Ring", "In all", "Placed open", "Placed closed", *gone, "Finished: through"]
    return table("Every ring counted", heads, rows, numbers=range(1, len(heads)), kind="counts")
