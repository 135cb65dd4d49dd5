"""What signs of the links say: classes of layouts, and whether a class is the one the steps state.

The sign of a link is stated against a direction through each ring that repeats with the unit.
Turning one ring over flips the signs of all its links, so only products round closed ways count
(signed graphs up to switching: Zaslavsky, Discrete Appl. Math. 4, 1982; from memory). Three rings
linked each with each have a product +1 or -1, mirror images of one another: `front` is taken to
be +1 and `back` -1. No numpy here.
"""

from __future__ import annotations

import itertools
from collections import deque
from collections.abc import Sequence
from functools import lru_cache

from ringstep.space.cell import Cell, Shift, canonical
from ringstep.space.units import twins


def _turned(around: Sequence[Sequence[tuple[int, int]]]) -> tuple[list[int], bool]:
    """Which rings to turn over (-1) so that linked rings agree, and whether all of them can.

    around: for each ring its neighbours, with -1 where just one of the two is to be turned. Where
    a closed walk asks for both, the first walk to reach a ring decides.
    """
    flip, agree = [0] * len(around), True
    for first in range(len(around)):
        if flip[first]:
            continue
        flip[first] = 1
        queue = deque([first])
        while queue:
            ring = queue.popleft()
            for other, want in around[ring]:
                if not flip[other]:
                    flip[other] = flip[ring] * want
                    queue.append(other)
                elif flip[other] != flip[ring] * want:
                    agree = False
    return flip, agree


def normal_signs(cell: Cell, signs: Sequence[int]) -> tuple[int, ...]:
    """One fixed choice among the sign patterns that differ by turning rings over."""
    around: list[list[tuple[int, int]]] = [[] for _ in cell.rings]
    for sign, link in zip(signs, cell.links, strict=True):
        around[link.a].append((link.b, sign or 1))
        around[link.b].append((link.a, sign or 1))
    flip, _ = _turned(around)
    return tuple(
        sign * flip[link.a] * flip[link.b] for sign, link in zip(signs, cell.links, strict=True)
    )


_WALK = 4  # half the length of the longest closed walk looked at


@lru_cache(maxsize=64)
def closed_walks(cell: Cell, signs: tuple[int, ...]) -> tuple[int, ...]:
    """What the signs of a cell's links come to, whatever the cell, its names and its directions.

    For each length from 3 to 8, the closed walks along links of the endless piece, each counted
    with the product of its signs, summed over the cell's rings. Turning rings over, renaming them
    and shifting units do not change them; the mirror image changes those of odd length in sign.
    Two layouts that differ here can never be moved into one another; equal ones nearly always
    have the same signs. A cell of several units counts as many times as much.
    """
    around: list[list[tuple[int, Shift, int]]] = [[] for _ in cell.rings]
    for (a, b, shift), link, sign in zip(cell.pairs(), cell.links, signs, strict=True):
        assert {a, b} == {link.a, link.b}
        around[a].append((b, shift, sign))
        around[b].append((a, tuple(-k for k in shift), sign))
    totals = [0] * (2 * _WALK + 1)
    for ring in range(len(cell.rings)):
        reached: list[dict[tuple[int, Shift], int]] = [{(ring, (0,) * cell.dims): 1}]
        for _ in range(_WALK):
            onward: dict[tuple[int, Shift], int] = {}
            for (place, at), weight in reached[-1].items():
                for other, shift, sign in around[place]:
                    there = other, tuple(p + q for p, q in zip(at, shift, strict=True))
                    onward[there] = onward.get(there, 0) + sign * weight
            reached.append(onward)
        for length in range(3, 2 * _WALK + 1):
            one, other_half = reached[length // 2], reached[length - length // 2]
            totals[length] += sum(w * other_half.get(x, 0) for x, w in one.items())
    return tuple(totals[3:])


Term = tuple[tuple[int, ...], int]  # links whose signs multiply to a given sign


def stated_terms(cell: Cell) -> tuple[Term, ...]:
    """Everything the steps state about signs, as products of links."""
    where = {key: index for index, key in enumerate(cell.pairs())}

    def index(a: int, b: int, shift: Shift) -> int | None:
        return where.get(canonical(a, b, shift))

    out: list[Term] = []
    zero = (0,) * cell.dims
    for step in cell.steps:
        if step.side is None:
            continue
        want = 1 if step.side == "front" else -1
        for new in step.new:
            for p, (a, ka) in enumerate(step.through):
                for b, kb in step.through[p + 1 :]:
                    between = index(a, b, tuple(y - x for x, y in zip(ka, kb, strict=True)))
                    ends = index(new, a, ka), index(new, b, kb)
                    if between is not None and ends[0] is not None and ends[1] is not None:
                        out.append(((between, ends[0], ends[1]), want))
    for group in twins(cell):
        for one, other in itertools.pairwise(group):
            shared = [
                (index(one, ring, shift), index(other, ring, shift))
                for ring, shift in _around(cell, one)
                if ring not in group or shift != zero
            ]
            both = [(p, q) for p, q in shared if p is not None and q is not None]
            for (p, q), (r, s) in itertools.pairwise(both):
                out.append(((p, q, r, s), 1))
            mutual = index(one, other, zero)
            if mutual is not None and cell.links[mutual].sign and both:
                out.append(((mutual, *both[0]), cell.links[mutual].sign))
    return tuple(out)


def _around(cell: Cell, ring: int) -> list[tuple[int, Shift]]:
    out = []
    for a, b, shift in cell.pairs():
        if a == ring:
            out.append((b, shift))
        if b == ring:
            out.append((a, tuple(-k for k in shift)))
    return out


def as_stated(cell: Cell, terms: Sequence[Term], signs: Sequence[int]) -> bool:
    """Does a sign pattern agree with the stated products, and with the cell's signed links?"""
    for links, want in terms:
        product = 1
        for link in links:
            product *= signs[link]
        if product != want:
            return False
    return _switchable(cell, signs)


def _switchable(cell: Cell, signs: Sequence[int]) -> bool:
    """Can rings be turned over so that every signed link has its stated sign?"""
    group = {tuple(sorted(pair)) for g in twins(cell) for pair in itertools.pairwise(g)}
    around: list[list[tuple[int, int]]] = [[] for _ in cell.rings]
    for sign, link in zip(signs, cell.links, strict=True):
        if link.sign and tuple(sorted((link.a, link.b))) not in group:
            around[link.a].append((link.b, sign * link.sign))
            around[link.b].append((link.a, sign * link.sign))
    _, agree = _turned(around)
    return agree
