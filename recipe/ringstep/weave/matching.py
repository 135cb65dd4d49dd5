"""Whether some renaming of rings turns the links of one net into those of another.

Comes in: two `Net`s of equally many rings. Goes out: yes or no.
"""

from __future__ import annotations

from collections import Counter
from itertools import product
from typing import Literal

from ringstep.weave.net import Net, mirrored
from ringstep.weave.ring_graph import Shift

Matrix = tuple[int, int, int, int]
Lay = Literal["same", "mirror", "other", "none"]


def turns_of(flat: bool, far: int = 2) -> tuple[Matrix, ...]:
    """Whole-number changes of the shifts: for a chain forwards and backwards, for a sheet every
    unimodular matrix with entries from -far to far, plainest first."""
    if not flat:
        return ((1, 0, 0, 1), (1, 0, 0, -1))
    span = range(-far, far + 1)
    found = [m for m in product(span, span, span, span) if m[0] * m[3] - m[1] * m[2] in (1, -1)]
    return tuple(sorted(found, key=lambda m: (sum(map(abs, m)), [-x for x in m])))


def matches(one: Net, other: Net, turn: Matrix, lays: Lay) -> bool:
    """Whether some renaming turns the links of one net into those of the other."""
    a, b, c, d = turn
    size = len(one.near)
    fronts = any(side for side, _, _ in one.lays)
    parted = any(one.stops) or any(other.stops)
    order = _walk(one)
    image: dict[int, tuple[int, Shift]] = {}
    taken: set[int] = set()

    def moved(shift: Shift) -> Shift:
        return (a * shift[0] + b * shift[1], c * shift[0] + d * shift[1])

    def fits(ring: int, to: int, offset: Shift) -> bool:
        if to in taken or one.colours[ring] != other.colours[to]:
            return False
        if lays in ("same", "mirror"):
            lies = one.lays[ring]
            if (mirrored(lies, fronts) if lays == "mirror" else lies) != other.lays[to]:
                return False
            if parted and not parted_alike(ring, to, offset):
                return False
        for near, shift in one.near[ring]:
            if near == ring:
                if (to, moved(shift)) not in other.near[to]:
                    return False
            elif near in image:
                there, base = image[near]
                step = moved(shift)
                want = (step[0] + base[0] - offset[0], step[1] + base[1] - offset[1])
                if (there, want) not in other.near[to]:
                    return False
        return True

    def parted_alike(ring: int, to: int, offset: Shift) -> bool:
        """Whether the rings placed so far that one ring goes through at one place are at one place
        in the other net, seen from the ring itself and from those that go through it."""
        now = {**image, ring: (to, offset)}
        seen = (ring, *(near for near, _ in one.near[ring]))
        for through in (r for r in seen if r in now):
            here, base = now[through]
            pairs: set[tuple[int | None, int | None]] = set()
            for near, shift in one.near[through]:
                if near not in now:
                    continue
                there, away = now[near]
                step = moved(shift)
                want = (step[0] + away[0] - base[0], step[1] + away[1] - base[1])
                mine, theirs = one.stops[through], other.stops[here]
                pairs.add((mine.get((near, shift)), theirs.get((there, want))))
            if len({a for a, _ in pairs}) < len(pairs) or len({b for _, b in pairs}) < len(pairs):
                return False
            if any((a is None) != (b is None) for a, b in pairs):
                return False
        return True

    def place(at: int) -> bool:
        if at == size:
            return True
        ring, near, shift = order[at]
        if near is None:
            choices = [(to, (0, 0)) for to in range(size)]
        else:
            there, base = image[near]
            choices = [(to, (base[0] + s[0], base[1] + s[1])) for to, s in other.near[there]]
        for to, offset in choices:
            if near is not None:
                # The ring stands `shift` from its neighbour; what is left is its own offset.
                step = moved(shift)
                offset = (offset[0] - step[0], offset[1] - step[1])
            if fits(ring, to, offset):
                image[ring] = (to, offset)
                taken.add(to)
                if place(at + 1):
                    return True
                del image[ring]
                taken.discard(to)
        return False

    return place(0)


def _walk(net: Net) -> list[tuple[int, int | None, Shift]]:
    """Every ring in an order in which each has a neighbour before it, as (ring, it, shift).

    Next comes the ring with most neighbours before it, so that what cannot fit shows soon.
    """
    rare = Counter(net.colours)
    known: dict[int, tuple[int, Shift]] = {}
    met: Counter[int] = Counter()
    left = sorted(range(len(net.near)), key=lambda i: (rare[net.colours[i]], i))
    found: list[tuple[int, int | None, Shift]] = []
    while left:
        ring = max(left, key=lambda i: met[i])
        left.remove(ring)
        found.append((ring, *known.get(ring, (None, (0, 0)))))
        for other, step in sorted(net.near[ring]):
            met[other] += 1
            known.setdefault(other, (ring, step))
    return found
