"""What folds and spreads say about where wires pass: between the two rings of a pair.

A pair folded back lies one ring to each side: the places where rings put in before it pass through
the rings it hangs on lie between its two planes, and it lies behind those. Between two rings spread
apart passes what is put in next: the places where it passes through other rings lie between the
planes of the two. A place lies between two planes where it is on the other ring's side of both.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ringstep.space.cell import Cell, CellStep, Shift
from ringstep.space.circles import Layout, Shape, copy_offset
from ringstep.space.near import Floats, crossing, turned
from ringstep.space.units import twins

At = tuple[int, Shift]  # a ring of the unit `shift` units on


@dataclass(frozen=True, slots=True)
class Between:
    """Places, each where one ring's wire passes another ring's disc, and the pair they lie in."""

    kind: Literal["fold", "spread"]
    pair: tuple[At, At]
    places: tuple[tuple[At, At], ...]  # (whose wire, through whose disc)


def betweens(cell: Cell) -> tuple[Between, ...]:
    """All that the steps' folds and spreads of pairs say; folds of other counts say nothing."""
    if cell.dims == 2:
        return ()
    placed, group = _placed_by(cell), {ring: g for g in twins(cell) for ring in g}
    out: list[Between] = []
    for step in cell.steps:
        zero = (0,) * cell.dims
        if len(step.fold) == 2 and set(step.fold) <= placed.keys():
            one, other = step.fold
            holes = _newest(cell.steps[placed[one]], placed, group)
            places = _passed_before(cell.steps, placed, holes)
            if places:
                out.append(Between("fold", ((one, zero), (other, zero)), places))
        if len(step.spread) == 2:
            new = {(ring, zero) for first in step.new for ring in group[first]}
            first, second = step.spread
            places = tuple(
                ((ring, zero), hole)
                for ring, _ in sorted(new)
                for hole in step.through
                if hole not in new and hole not in step.spread
            )
            if places:
                out.append(Between("spread", (first, second), places))
    return tuple(out)


def folded_past(cell: Cell) -> tuple[tuple[At, At], ...]:
    """Each ring folded back, with each of the rings that it then lies behind."""
    placed, group = _placed_by(cell), {ring: g for g in twins(cell) for ring in g}
    return tuple(
        ((ring, (0,) * cell.dims), hole)
        for step in cell.steps
        for ring in step.fold
        if ring in placed
        for hole in _newest(cell.steps[placed[ring]], placed, group)
    )


def _placed_by(cell: Cell) -> dict[int, int]:
    return {ring: at for at, step in enumerate(cell.steps) for ring in step.new}


def _newest(
    step: CellStep, placed: dict[int, int], group: dict[int, tuple[int, ...]]
) -> tuple[At, ...]:
    """The rings put in last of those the step goes through, with their twins."""
    entered = [(shift, placed[ring], ring) for ring, shift in step.through if ring in placed]
    if not entered:
        return ()
    when, _, newest = max(entered)
    return tuple(sorted((r, at) for at, _, r in entered if r in group[newest] and at == when))


def _passed_before(
    steps: tuple[CellStep, ...], placed: dict[int, int], holes: tuple[At, ...]
) -> tuple[tuple[At, At], ...]:
    """Where rings put in before these pass through them."""
    found = []
    for ring, shift in holes:
        for other, more in steps[placed[ring]].through:
            wire = other, tuple(a + b for a, b in zip(shift, more, strict=True))
            if wire not in holes:
                found.append((wire, (ring, shift)))
    return tuple(found)


def kept(shape: Shape, layout: Layout, what: Between) -> bool:
    """Do all the places lie between the pair, and is a folded pair behind them?"""
    (c1, n1), (c2, n2) = (_placed(layout, at) for at in what.pair)
    if what.kind == "fold":
        holes = [_placed(layout, hole)[0][0] for _, hole in what.places]
        if c1[0] + c2[0] >= 2 * sum(holes) / len(holes):
            return False
    side1, side2 = n1 @ (c2 - c1), n2 @ (c1 - c2)
    for wire, hole in what.places:
        p = _crossing(shape, layout, wire, hole)
        if p is None or n1 @ (p - c1) * side1 <= 0 or n2 @ (p - c2) * side2 <= 0:
            return False
    return True


def _placed(layout: Layout, at: At) -> tuple[Floats, Floats]:
    ring, shift = at
    if not shift:
        return layout.centres[ring], layout.normals[ring]
    move, turn = copy_offset(layout.repeat, np.array([[*shift, 0]])[:, :2])
    centre = turned(layout.centres[ring][None], turn)[0] + move[0]
    return centre, turned(layout.normals[ring][None], turn)[0]


def _crossing(shape: Shape, layout: Layout, wire: At, hole: At) -> Floats | None:
    """Where the first ring's centre line passes through the second's disc."""
    ring, disc = _placed(layout, wire), _placed(layout, hole)
    return crossing(*ring, float(shape.radii[wire[0]]), *disc)
