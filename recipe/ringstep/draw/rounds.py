"""Where the rings of rounds that grow or shrink lie on the page.

Comes in: a `Work`. Goes out: `Seats`, in points, y upwards. Where every round is wider than the one
before it, the piece is drawn as a disc: rounds about one middle, begun at the bottom. Else it is
drawn from the side, cut open, each round as wide as its places. The first rings of a place stand on
its round; those that join them stand between the rings they go through.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from math import atan2, ceil, cos, hypot, pi, sin, sqrt
from typing import Literal

from ringstep.draw.geometry import Point
from ringstep.draw.grid import Link, Named, links_made, rings_ever
from ringstep.draw.positions import Seats
from ringstep.weave.shape import Shape
from ringstep.weave.work import Ring, Work

#: Free room between rings, in points, and how much a picture is drawn out at most to make room.
FREE, MOST_DRAWN_OUT = 9.0, 4.0
#: How steep the side of a tube is drawn where its rounds grow or shrink.
SLANT = 0.2
#: Where a ring lies: its angle along its round, and its distance from the middle or the top.
Polar = tuple[float, float]


@dataclass(frozen=True)
class RoundSeats(Seats):
    """Seats of rounds. across: links that go over the cut, with the copies they are drawn between;
    the copy of a ring stands beyond the end of its round. disc: True where they lie about a middle.
    """

    across: Mapping[Link, Link] = field(default_factory=dict)
    disc: bool = False

    @property
    def round(self) -> Literal["", "disc", "tube"]:
        """How they are drawn: about a middle, or from the side."""
        return "disc" if self.disc else "tube"

    def ends(self, a: Ring, b: Ring) -> Link:
        """The two copies of linked rings between which their link is drawn."""
        return self.across.get((a, b)) or self.across.get((b, a), (b, a))[::-1]


def is_disc(shape: Shape) -> bool:
    """True where every round is wider than the one before it."""
    return len(shape.widths) > 1 and all(a < b for a, b in pairwise(shape.widths))


class _Rounds:
    """The seats in the making. place: each ring's angle and distance."""

    def __init__(self, work: Work, shape: Shape, sizes: Mapping[Named, float]) -> None:
        self.work, self.shape, self.sizes = work, shape, sizes
        self.disc = is_disc(shape)
        self.rings = rings_ever(work)
        self.links = links_made(work)
        self.met: dict[Ring, list[Ring]] = {ring: [] for ring in self.rings}
        for a, b in self.links:
            self.met[a].append(b)
            self.met[b].append(a)
        self.leads: dict[tuple[int, int], tuple[Ring, ...]] = {}
        for act in work.acts:
            if act.new and self._in_round(act.new[0]):
                self.leads.setdefault((act.row, act.unit), act.new)
        most = max(len(rings) for rings in self.leads.values())
        joined = any(self._in_round(r) and r not in self._first(r) for r in self.rings)
        own = max(sizes.values(), default=18.0)
        self.ring = own + FREE
        self.across = min(most, max(2, ceil(sqrt(most))))
        self.step = (self.across + joined + 0.5 * (self.across > 1)) * self.ring
        stacked = ceil(most / self.across)
        self.deep = (stacked + joined + 0.7 * (most > 1)) * self.ring
        self.far = self._distances()
        self.place: dict[Ring, Polar] = {}
        self.places: dict[tuple[int, int], list[Ring]] = {}
        for ring in self.rings:
            self.places.setdefault((ring.row, ring.unit), []).append(ring)

    def _in_round(self, ring: Ring) -> bool:
        return self.work.layout.has(ring.row, ring.unit)

    def _first(self, ring: Ring) -> tuple[Ring, ...]:
        return self.leads.get((ring.row, ring.unit), ())

    def _distances(self) -> list[float]:
        """How far each round lies from the middle, or from the top."""
        found: list[float] = []
        before = self.shape.widths[0]
        for wide in self.shape.widths:
            least = wide * self.step / (2 * pi) if self.disc and wide > 1 else 0.0
            begin = 0.0 if not self.disc or wide == 1 else self.deep
            # From the side, rounds of unlike widths lie farther apart, so that links run down.
            slant = 0.0 if self.disc else abs(wide - before) * self.step * SLANT
            found.append(max(least, found[-1] + max(self.deep, slant) if found else begin))
            before = wide
        return found

    def seat(self) -> None:
        """Set every ring: rounds first, then what stands between their rings."""
        turn = 0.0
        for row, wide in enumerate(self.shape.widths, 1):
            turn = self._turn(row, wide, turn)
            for unit in range(1, wide + 1):
                # What comes out once round, but for rounding, is at the beginning.
                angle = ((unit - 0.5) / wide * 2 * pi + turn + 1e-9) % (2 * pi)
                self._stack((row, unit), angle)
        for ring in self.rings:
            if ring.row < 1:
                self.place[ring] = pi, self.far[0] if self.disc else -self.deep
            if ring.row < 1 and self.disc:
                self.place[ring] = pi, 0.0
            if ring.row == 1 and not ring.unit:
                self.place[ring] = pi, -self.deep  # a bar that the first round hangs from
        for ring in self.rings:
            if ring not in self.place:
                self.place[ring] = self._between(ring)

    def _stack(self, place: tuple[int, int], angle: float) -> None:
        """Set the first rings of a place: side by side, more of them in a block."""
        row, rings = place[0], self.leads.get(place, ())
        columns = min(len(rings), self.across)
        for at, ring in enumerate(rings):
            down, along = divmod(at, columns)
            deep = down - (ceil(len(rings) / columns) - 1) / 2
            aside = (along - (columns - 1) / 2) * self.ring / self.step
            at_round, far = self.far[row - 1], self.far[row - 1] + deep * self.ring
            turned = angle + aside / self.shape.widths[row - 1] * 2 * pi
            if self.disc:
                far = max(0.0, far)
            else:  # straight below one another
                narrower = self._around(at_round) / self._around(far)
                turned = ((turned / (2 * pi) - 0.5) * narrower + 0.5) * 2 * pi
            self.place[ring] = turned, far

    def _turn(self, row: int, wide: int, before: float) -> float:
        """By how much a round is turned so that its rings stand below what they hang from."""
        apart = []
        for unit in range(1, wide + 1):
            own = self.places.get((row, unit), ())
            met = dict.fromkeys(o for ring in own for o in self.met[ring])  # always in one order
            above = [o for o in met if o.row == row - 1 and o in self.place]
            above = [o for o in above if self.place[o][1] > 0 or not self.disc]
            if own and above and self.shape.widths[row - 2] > 1:
                middle = _middle([self.place[o][0] for o in above])
                apart.append(middle - (unit - 0.5) / wide * 2 * pi)
        return _middle(apart) if apart else before

    def _between(self, ring: Ring) -> Polar:
        """The middle of the rings that are set already and that a ring meets."""
        near = [self.place[r] for r in self.met[ring] if r in self.place]
        row = min(max(ring.row, 1), len(self.far))
        if not near:
            first = self._first(ring)
            return self.place[first[0]] if first else (pi, self.far[row - 1] + self.deep)
        turned = [angle for angle, far in near if far > 0 or not self.disc]
        angle = _middle(turned) % (2 * pi) if turned else pi
        far = sum(far for _, far in near) / len(near)
        behind = ring.row > len(self.far) and far <= self.far[-1]
        if behind or len(near) == 1:
            far += self.deep / 2
        return angle, far

    def point(self, angle: float, far: float) -> Point:
        """Where an angle and a distance lie on the page."""
        if self.disc:
            return far * sin(angle + pi), far * cos(angle + pi)
        return (angle / (2 * pi) - 0.5) * self._around(far), -far

    def once_round(self, ring: Ring) -> float:
        """How far it is from a ring once round the piece, seen from the side."""
        own = ring in self._first(ring)
        return self._around(self.far[ring.row - 1] if own else self.place[ring][1])

    def _around(self, far: float) -> float:
        """How wide the piece is at some distance from its top."""
        widths = [wide * self.step for wide in self.shape.widths]
        for (a, wide), (b, next_) in pairwise(zip(self.far, widths, strict=True)):
            if far <= b:
                return wide + (next_ - wide) * max(0.0, far - a) / (b - a)
        return widths[-1]


def _middle(angles: list[float]) -> float:
    """The middle of some angles, the short way round."""
    return atan2(sum(map(sin, angles)), sum(map(cos, angles)))


def seat_rounds(work: Work, shape: Shape, sizes: Mapping[Named, float]) -> RoundSeats:
    """Seats for every ring of rounds. sizes: across, in points, for every name in it."""
    rounds = _Rounds(work, shape, sizes)
    rounds.seat()
    again: dict[Ring, Ring] = {}
    across: dict[Link, Link] = {}
    beyond = 2 * work.layout.units + 2
    for a, b in rounds.links if not rounds.disc else ():
        (one, _), (two, _) = rounds.place[a], rounds.place[b]
        narrow = any(
            1 <= r.row <= work.layout.rows and work.layout.width(r.row) < 3 for r in (a, b)
        )
        if abs(one - two) > pi and not narrow and a.row > 0 and b.row > 0:
            low = a if one < two else b
            twin = again.setdefault(low, low._replace(unit=low.unit + beyond))
            across[a, b] = (twin, b) if low is a else (a, twin)
    at = {ring: rounds.point(*place) for ring, place in rounds.place.items()}
    at = _spread(rounds, at)
    for ring, twin in again.items():
        at[twin] = at[ring][0] + rounds.once_round(ring), at[ring][1]
    out = _drawn_out(at, sizes)
    at = {ring: (x * out, y * out) for ring, (x, y) in at.items()}
    rows: dict[int, float] = {}
    for ring in rounds.rings:
        rows.setdefault(ring.row, at[ring][1])
    levels = {row: row for row in rows}
    return RoundSeats(at, again, rows, levels, rounds.deep / 2, across, rounds.disc)


def _spread(rounds: _Rounds, at: Mapping[Ring, Point]) -> dict[Ring, Point]:
    """Rings that stand at one place set side by side, across the links that lead to them."""
    groups: dict[tuple[int, int], list[Ring]] = {}
    for ring, (x, y) in at.items():
        groups.setdefault((round(x), round(y)), []).append(ring)
    found = dict(at)
    apart = max(rounds.sizes.values(), default=18.0) + FREE / 2
    for (x, y), rings in groups.items():
        if len(rings) < 2:
            continue
        near = [at[r] for r in rounds.met.get(rings[0], ()) if r in at][:2]
        (u, v), (s, t) = near if len(near) == 2 else ((x, y), (x, y + 1))
        long = hypot(s - u, t - v) or 1.0
        dx, dy = (v - t) / long, (s - u) / long
        for nth, ring in enumerate(rings):
            by = (nth - (len(rings) - 1) / 2) * apart
            found[ring] = x + dx * by, y + dy * by
    return found


def _drawn_out(at: Mapping[Ring, Point], sizes: Mapping[Named, float]) -> float:
    """How much larger a picture must be for no ring to lie on another."""
    cell = max(sizes.values(), default=18.0) + FREE
    cells: dict[tuple[int, int], list[Ring]] = {}
    for ring, (x, y) in at.items():
        cells.setdefault((int(x // cell), int(y // cell)), []).append(ring)
    most = 1.0
    for (i, j), rings in cells.items():
        near = [r for k in (-1, 0, 1) for m in (-1, 0, 1) for r in cells.get((i + k, j + m), ())]
        for ring in rings:
            for other in near:
                (x, y), (u, v) = at[ring], at[other]
                apart = hypot(x - u, y - v)
                need = (sizes[ring[:2]] + sizes[other[:2]]) / 2 + FREE
                if ring is not other and apart > 1.0:
                    most = max(most, need / apart)
    return min(most, MOST_DRAWN_OUT)
