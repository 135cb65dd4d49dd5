"""How many rings and links a piece has, role by role, for any size.

Comes in: a clean `View`. Goes out: a frozen `PieceCount`. The links of a large piece are read off
its window, as its rings are in `weave.counting`: past the window every cycle of units, and of
rows, adds the same links. `explicit` places every ring instead and counts, to hold the two against
each other.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from ringstep.checks.summary import piece_words
from ringstep.checks.view import View
from ringstep.language.syntax import RingKind, joined
from ringstep.weave.counting import FEW_PLACES, RingCounts, ring_counts
from ringstep.weave.layout import Layout
from ringstep.weave.steps import Work, carry_out

#: Most rings that are placed one by one: about ten seconds and half a gigabyte.
MOST_EXPLICIT = 200_000


class TooMany(Exception):
    """A piece too large to place ring by ring; the text says so and what to do."""


@dataclass(frozen=True, slots=True)
class RoleCount:
    """One named ring of the unit. kind: its line of `rings:`, None for a part."""

    name: str
    kind: RingKind | None
    words: str
    opened: int
    closed: int
    taken_out: int

    @property
    def placed(self) -> int:
        """How many a maker handles."""
        return self.opened + self.closed


@dataclass(frozen=True, slots=True)
class PieceCount:
    """Rings and links of a piece. links: those that stay, among rings and with parts alike."""

    title: str
    piece: str
    rings: tuple[RoleCount, ...]
    parts: tuple[RoleCount, ...]
    links: int
    links_with_parts: int
    explicit: bool


def _links(work: Work, parts: frozenset[str]) -> Counter[str]:
    """Links that stay, and those of them in which a part takes part."""
    found: Counter[str] = Counter()
    for one, others in work.links.items():
        for other in others:
            if one < other:
                found["all"] += 1
                found["parts"] += one.role in parts or other.role in parts
    return found


def link_counts(layout: Layout, parts: frozenset[str]) -> Counter[str]:
    """Links of a piece ('all') and those with parts ('parts'); the cost depends on its window."""
    if layout.rows * layout.units <= FEW_PLACES:
        return _links(carry_out(layout), parts)
    base = layout.window()
    along, down = layout.cycle, layout.row_cycle
    units = (layout.units - base.units) // along
    rows = (layout.rows - base.rows) // down if layout.flat else 0

    def with_rows(count: int) -> Counter[str]:
        low = replace(base, rows=count)
        one = _links(carry_out(low), parts)
        if not units:
            return one
        return _straight(
            one, _links(carry_out(replace(low, units=base.units + along)), parts), units
        )

    total = with_rows(base.rows)
    return _straight(total, with_rows(base.rows + down), rows) if rows else total


def _straight(low: Counter[str], high: Counter[str], times: int) -> Counter[str]:
    return Counter({k: low[k] + times * (high[k] - low[k]) for k in low | high})


def explicit_counts(layout: Layout, parts: frozenset[str]) -> tuple[RingCounts, Counter[str]]:
    """The same, ring by ring. Raises `TooMany` before placing any."""
    expected = ring_counts(layout).total()
    if expected > MOST_EXPLICIT:
        raise TooMany(
            f"the piece has {expected:,} rings, and at most {MOST_EXPLICIT:,} are placed one by one"
            " (time and memory grow with each); leave --explicit out: counting by how the units"
            " repeat gives the same for every size"
        )
    work = carry_out(layout)
    found: dict[str, Counter[tuple[str, int]]] = {
        "opened": Counter(), "closed": Counter(), "out": Counter(),
    }  # fmt: skip
    for ring, number in work.placed_by.items():
        act = work.acts[number]
        how = "opened" if ring in act.new and act.step.kind != "close" else "closed"
        found[how][(ring.role, ring.index)] += 1
    for act in work.acts:
        if act.step.kind == "take out":
            for ring in act.handled:
                found["out"][(ring.role, ring.index)] += 1
    return RingCounts(found["opened"], found["closed"], found["out"]), _links(work, parts)


def count_piece(view: View, explicit: bool = False) -> PieceCount:
    """Count the piece as the recipe has it. Raises `TooMany` where `explicit` is too much."""
    layout = view.model.layout
    named = {p.name.role: p for p in view.recipe.parts}
    parts = frozenset(named)
    if explicit:
        counts, links = explicit_counts(layout, parts)
    else:
        counts, links = ring_counts(layout), link_counts(layout, parts)
    rings: list[RoleCount] = []
    others: list[RoleCount] = []
    for key in counts.placed():
        role, index = key
        part = named.get(role)
        one = RoleCount(
            role if view.roles.get(role, (1,)) == (1,) else joined(role, index),
            None if part else view.kind_of(role, index),
            part.words if part else "",
            counts.opened[key],
            counts.closed[key],
            counts.taken_out[key],
        )
        (others if part else rings).append(one)
    return PieceCount(
        view.recipe.title or "Ring weave",
        piece_words(view),
        tuple(rings),
        tuple(others),
        links["all"],
        links["parts"],
        explicit,
    )
