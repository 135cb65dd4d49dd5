"""Rings and links of the whole piece, counted on its window.

Comes in: the `Work` of a window, whose places stand for those left out. Goes out: exact counts.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from ringstep.weave.work import Ring, Work


@dataclass(frozen=True, slots=True)
class RingCounts:
    """Rings of the whole piece by (role, number in the unit).

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


def count_rings(work: Work) -> RingCounts:
    """The rings of the whole piece, exact for every length."""
    opened: Counter[tuple[str, int]] = Counter()
    closed: Counter[tuple[str, int]] = Counter()
    out: Counter[tuple[str, int]] = Counter()
    placed: set[Ring] = set()
    for act in work.acts:
        times = work.layout.stands_for(act.row, act.unit)
        for ring in act.new:
            placed.add(ring)
            (opened if act.opens else closed)[ring.role, ring.index] += times
        if act.step.kind == "take out":
            for ring in act.handled:
                out[ring.role, ring.index] += times
    for ring in work.placed_by:
        if ring not in placed:  # a part picked up where it lay
            closed[ring.role, ring.index] += work.layout.stands_for(ring.row, ring.unit)
    return RingCounts(opened, closed, out)


def count_strands(work: Work) -> dict[str, tuple[int, int]]:
    """For each strand how many units it has and how many rings they place, parts aside."""
    layout, parts = work.layout, work.layout.recipe.part_roles
    strands, rings = layout.strands, Counter[str]()
    if strands is None:
        return {}
    for act in work.acts:
        own = sum(ring.role not in parts for ring in act.new)
        rings[strands.name_of(act.unit)] += own * layout.stands_for(act.row, act.unit)
    return {s.strand: (s.count + s.cut, rings[s.strand]) for s in layout.along if s.strand}


def count_links(work: Work) -> tuple[int, int]:
    """Links of the finished piece, and those of them in which a part takes part."""
    parts = work.layout.recipe.part_roles
    every = with_parts = 0
    for ring, others in work.links.items():
        for other, number in others.items():
            if ring < other:
                act = work.acts[number]
                times = work.layout.stands_for(act.row, act.unit)
                times *= act.every.get(ring, 1) * act.every.get(other, 1)
                every += times
                with_parts += times * (ring.role in parts or other.role in parts)
    return every, with_parts
