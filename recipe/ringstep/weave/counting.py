"""How many rings a piece takes, without placing ten million of them.

Comes in: a `Layout`. Goes out: rings by role, those placed open and those placed closed, and those
taken out again. Past the window every cycle of units (and of rows) adds the same, so the count of
a large piece is read off a few small ones.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from ringstep.weave.layout import Layout
from ringstep.weave.steps import carry_out

#: Pieces of at most so many places, and steps at all of them, are simply carried out and counted.
FEW_PLACES, FEW_STEPS = 2000, 20_000


@dataclass(frozen=True, slots=True)
class RingCounts:
    """Rings of a piece by (role, index in the unit).

    opened: placed open; closed: placed closed; taken_out: placed and taken out again.
    """

    opened: Counter[tuple[str, int]]
    closed: Counter[tuple[str, int]]
    taken_out: Counter[tuple[str, int]]

    def placed(self) -> Counter[tuple[str, int]]:
        """All rings a maker handles."""
        return self.opened + self.closed

    def total(self) -> int:
        """How many rings a maker handles."""
        return self.placed().total()


_Tally = Counter[tuple[str, str, int]]


def _tally(layout: Layout) -> _Tally:
    work = carry_out(layout)
    found: _Tally = Counter()
    parts = set()
    for act in work.acts:
        how = "closed" if act.step.kind == "close" else "opened"
        for ring in act.new:
            found[(how, ring.role, ring.index)] += 1
            parts.add(ring)
        if act.step.kind == "take out":
            for ring in act.handled:
                found[("out", ring.role, ring.index)] += 1
    for ring in work.links:
        if ring not in parts:  # a part picked up where it lay
            found[("closed", ring.role, ring.index)] += 1
    return found


def _straight(low: _Tally, high: _Tally, times: int) -> _Tally:
    """The tally `times` steps beyond `low`, where one step leads from `low` to `high`."""
    keys = low.keys() | high.keys()
    return Counter({k: low[k] + times * (high[k] - low[k]) for k in keys})


def ring_counts(layout: Layout) -> RingCounts:
    """Count the rings of a piece; the cost depends on its window only."""
    places = layout.rows * layout.units
    if places <= FEW_PLACES and places * len(layout.recipe.steps()) <= FEW_STEPS:
        total = _tally(layout)
    else:
        base = layout.window()
        along, down = layout.cycle, layout.row_cycle
        units = (layout.units - base.units) // along
        rows = (layout.rows - base.rows) // down if layout.flat else 0

        def with_rows(row_count: int) -> _Tally:
            low = replace(base, rows=row_count)
            if units == 0:
                return _tally(low)
            return _straight(_tally(low), _tally(replace(low, units=base.units + along)), units)

        total = with_rows(base.rows)
        if rows:
            total = _straight(total, with_rows(base.rows + down), rows)
    parts: dict[str, Counter[tuple[str, int]]] = {
        "opened": Counter(),
        "closed": Counter(),
        "out": Counter(),
    }
    for (how, role, index), count in total.items():
        if count:
            parts[how][(role, index)] = count
    return RingCounts(parts["opened"], parts["closed"], parts["out"])
