"""Round strands of wire as the eye sees them, and in which order to paint them and solids.

In: `Strand`s in view coordinates (x right, y up, z towards the eye). Out: `Run`s in layers; what is
painted later hides what was painted before. Every strand is painted whole once; where it must lie
over something painted after it, that stretch is painted again, until nothing is wrong any more.
Seen from afar a round wire is exactly the stroke of an ellipse as wide as the wire.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]
Ints = NDArray[np.signedinteger[Any]]
Bools = NDArray[np.bool_]

ARCS = 48
_ANGLES = (np.arange(ARCS) + 0.5) / ARCS
_NARROW = 0.95  # of the wire: an ellipse no wider than this each way hides a part of itself
_BAR = 0.06  # of the wire: an ellipse narrower than this is painted as a straight bar
_BLOCK = 6  # arcs whose nearness is asked for together
_ACROSS = np.array([-0.48, -0.24, 0.0, 0.24, 0.48])  # of the wire: where it is asked what is seen
_MARGIN = 0.25  # of the arcs' lengths, added where it is asked whether two arcs overlap
_LEVEL, _TOUCHING = 0.2, 0.7  # of the wire: wires so little higher and so far apart lie abreast
_PASSES = 4  # of swaps between neighbours in the order
_ROUNDS = 60  # of mending; two or three are common
_HALF, _HAIR = 0.5, -0.2  # arcs by which a mend runs on where it may, and where it may not


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """An arc of a circle: centre + u cos t + v sin t for t from `start` over `span` radians.

    centre, u, v: (3,). A ring spans 2 pi.
    """

    centre: Floats
    u: Floats
    v: Floats
    wire: float
    start: float = 0.0
    span: float = 2 * math.pi

    @property
    def closed(self) -> bool:
        """It is a whole ring."""
        return self.span >= 2 * math.pi - 1e-9

    def angles(self, arcs: Floats) -> Floats:
        """Arc numbers, from 0 to ARCS along the strand, as radians."""
        return self.start + arcs * (self.span / ARCS)

    def turned(self, turn: Floats) -> Strand:
        """The strand in other coordinates; turn: (3, 3)."""
        centre, u, v = (turn @ part for part in (self.centre, self.u, self.v))
        return Strand(centre, u, v, self.wire, self.start, self.span)

    def at(self, angles: Floats) -> Floats:
        """Points, (n, 3)."""
        arms: Floats = np.outer(np.cos(angles), self.u) + np.outer(np.sin(angles), self.v)
        return arms + self.centre


def ring_strand(centre: Floats, normal: Floats, radius: float, wire: float) -> Strand:
    """A ring with its long axis, as it is seen, along u. centre, normal: (3,) as seen."""
    x, y, z = (float(c) for c in normal)
    flat = math.hypot(x, y)
    across = np.array([y / flat, -x / flat, 0.0]) if flat > 1e-9 else np.array([1.0, 0.0, 0.0])
    up = np.array([-z * across[1], z * across[0], x * across[1] - y * across[0]])
    return Strand(centre, radius * across, radius * up, wire)


class Solid(Protocol):
    """What is no strand and hides as one: a part's body."""

    def front(self, points: Floats) -> Floats:
        """(n,) how near to the eye its surface is at points (n, 2); -inf where it is not."""

    def marks(self) -> Floats:
        """(n, 2) points that it covers."""

    @property
    def box(self) -> tuple[Floats, Floats]:
        """The corners of what it covers."""


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of a strand: from arc number `first` (may be fractional) on, `count` arcs.

    Solids are numbered after the strands and have no arcs.
    """

    strand: int
    first: float
    count: float


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Strands and what lies over what.

    points: (strands, ARCS, 3), the middles of arcs. upper, lower: numbers (strand * ARCS + arc,
    after all of them those of solids) of what hides a part of the other. hidden: (strands, ARCS),
    the arc's middle is hidden. shares: (strands, ARCS), of the wire's width that is seen. depths:
    of the solids, (solids,).
    """

    strands: Sequence[Strand]
    points: Floats
    upper: Ints
    lower: Ints
    hidden: Bools
    shares: Floats
    depths: Floats

    @property
    def bar(self) -> Bools:
        """(strands,) which are seen from their edge."""
        return np.array([s.closed and _width(s) < _BAR * s.wire for s in self.strands])

    def hides(self, x: float, y: float, z: float) -> bool:
        """Does a strand lie over a point?"""
        wires = np.array([s.wire for s in self.strands]).reshape(-1, 1)
        near = np.hypot(self.points[..., 0] - x, self.points[..., 1] - y) < wires / 2
        return bool((near & (self.points[..., 2] > z)).any())

    def seen(self) -> Floats:
        """(strands,) length of each strand that is seen, as long as it looks.

        Of a wire half hidden half counts, and so does a ring seen from its edge.
        """
        after = np.roll(self.points, -1, axis=1)[..., :2]
        before = np.roll(self.points, 1, axis=1)[..., :2]
        pace = np.linalg.norm(after - before, axis=2) / 2
        length: Floats = (self.shares * pace).sum(axis=1) * np.where(self.bar, 0.5, 1.0)
        return length

    def layers(self) -> list[list[Run]]:
        """Runs in the order of painting; those of one layer do not hide one another."""
        count = len(self.strands)
        base = self._whole()
        level = np.concatenate([np.repeat(base[:count], ARCS), base[count:]])
        highest = int(base.max(initial=0)) + _ROUNDS
        while True:
            below = level[self.lower] + 1
            if np.all(level[self.upper] >= below):
                break
            np.maximum.at(level, self.upper, below)
            if int(level.max()) > highest:  # strands that run into one another: leave it at that
                break
        ceiling = np.full(len(level), 10**6)
        np.minimum.at(ceiling, self.lower, level[self.upper] - 1)
        out: dict[int, list[Run]] = {}
        for strand in range(count):
            out.setdefault(int(base[strand]), []).append(Run(strand, 0, ARCS))
            mine = slice(strand * ARCS, (strand + 1) * ARCS)
            floor, whole = level[mine], int(base[strand])
            if int(floor.max()) == whole:
                continue
            top = np.maximum(ceiling[mine], floor)
            closed = self.strands[strand].closed
            for at, run in _mends(closed, strand, whole, floor.tolist(), top.tolist()):
                out.setdefault(at, []).append(run)
        for number, at in enumerate(level[count * ARCS :].tolist(), count):
            out.setdefault(at, []).append(Run(number, 0, 0))
        return [out[at] for at in sorted(out)]

    def _whole(self) -> Ints:
        """(strands and solids,) the layer in which each is painted whole."""
        arcs, count = len(self.strands) * ARCS, len(self.strands) + len(self.depths)
        over = np.zeros((count, count), int)
        upper, lower = (
            np.where(end < arcs, end // ARCS, end - arcs + len(self.strands))
            for end in (self.upper, self.lower)
        )
        np.add.at(over, (upper, lower), 1)
        np.fill_diagonal(over, 0)
        wins = np.sign(over - over.T).sum(axis=1)
        depth = np.concatenate([self.points[:, :, 2].mean(axis=1), self.depths])
        order = sorted(range(count), key=lambda k: (wins[k], depth[k], k))
        for _ in range(_PASSES):
            for at in range(count - 1):
                first, second = order[at], order[at + 1]
                if over[first, second] > over[second, first]:
                    order[at], order[at + 1] = second, first
        base = np.zeros(count, int)
        touching = over + over.T > 0
        for at, strand in enumerate(order):
            earlier = [base[k] + 1 for k in order[:at] if touching[strand, k]]
            base[strand] = max(earlier, default=0)
        return base


def _width(strand: Strand) -> float:
    """Half the short axis of a ring as it is seen."""
    return float(math.hypot(strand.v[0], strand.v[1]))


def scene(strands: Sequence[Strand], solids: Sequence[Solid] = ()) -> Scene:
    """The strands and solids with everything that lies over something else."""
    points, upper, lower, unseen, shares = _crossed(strands)
    over, under = _solids_over(strands, solids)
    for number, body in enumerate(solids):
        mine = len(strands) * ARCS + number
        at = points.reshape(-1, 3)
        behind = (body.front(at[:, :2]) > at[:, 2]).reshape(unseen.shape)
        unseen, shares = unseen | behind, np.where(behind, 0.0, shares)
        arcs_over, arcs_under = over[number], under[number]
        upper = np.concatenate([upper, np.full(len(arcs_under), mine), arcs_over])
        lower = np.concatenate([lower, arcs_under, np.full(len(arcs_over), mine)])
        for earlier in range(number):
            ahead = _ahead(body, solids[earlier])
            if ahead:
                pair = (mine, mine - number + earlier)[:: 1 if ahead > 0 else -1]
                upper, lower = np.append(upper, pair[0]), np.append(lower, pair[1])
    depths = np.array([_depth(body) for body in solids])
    return Scene(strands, points, upper, lower, unseen, shares, depths)


def _crossed(strands: Sequence[Strand]) -> tuple[Floats, Ints, Ints, Bools, Floats]:
    """The points of the arcs of all strands, the arcs that lie over others with those, which are
    hidden, and how much of each is seen."""
    count = len(strands)
    if not count:
        none, bare = np.zeros(0, int), np.zeros((0, ARCS, 3))
        return bare, none, none, np.zeros((0, ARCS), bool), np.ones((0, ARCS))
    angles = np.stack([s.angles(_ANGLES * ARCS) for s in strands])[..., None]
    centres, us, vs = (
        np.array([getattr(s, name) for s in strands]).reshape(count, 1, 3)
        for name in ("centre", "u", "v")
    )
    points = centres + np.cos(angles) * us + np.sin(angles) * vs
    wires = np.array([s.wire for s in strands])
    pace = np.array([math.hypot(*s.u) * s.span / ARCS for s in strands])
    first, second = _near(points, wires, pace, np.array([_hides_itself(s) for s in strands]))
    flat = points.reshape(-1, 3)
    one, two = first // ARCS, second // ARCS
    mean = (wires[one] + wires[two]) / 2
    across, up, rise = (row.take(first) - row.take(second) for row in flat.T)
    apart = across * across + up * up
    abreast = (np.abs(rise) < _LEVEL * mean) & (apart > (_TOUCHING * mean) ** 2)
    keep = (apart < (mean + _MARGIN * (pace[one] + pace[two])) ** 2) & np.where(
        one == two, np.abs(rise) > 0.5 * mean, ~abreast
    )
    first, second, above = first[keep], second[keep], rise[keep] > 0
    upper, lower = np.where(above, first, second), np.where(above, second, first)
    hidden = _covered(points, us * -np.sin(angles) + vs * np.cos(angles), wires, upper, lower)
    buried = hidden.all(axis=0)
    buried &= np.roll(buried, 1, axis=1) & np.roll(buried, -1, axis=1)
    shows = ~buried.reshape(-1)[upper]  # what is not seen itself need not be painted over others
    upper, lower, unseen = upper[shows], lower[shows], hidden[len(_ACROSS) // 2]
    shares: Floats = 1.0 - hidden.mean(axis=0)
    return points, upper, lower, unseen, shares


def _depth(one: Solid) -> float:
    front = one.front(one.marks())
    return float(front[np.isfinite(front)].mean()) if np.isfinite(front).any() else 0.0


def _ahead(one: Solid, other: Solid) -> int:
    """1 where the first solid hides some of the other, -1 where the other does, else 0."""
    marks = np.concatenate([one.marks(), other.marks()])
    a, b = one.front(marks), other.front(marks)
    both = np.isfinite(a) & np.isfinite(b)
    return int(np.sign(np.sign(a[both] - b[both]).sum())) if both.any() else 0


def _solids_over(
    strands: Sequence[Strand], solids: Sequence[Solid]
) -> tuple[list[Ints], list[Ints]]:
    """For each solid the numbers of the arcs that lie over it, and of those under it."""
    over: list[Ints] = []
    under: list[Ints] = []
    if not solids or not strands:
        none = [np.zeros(0, int) for _ in solids]
        return none, none
    along = (np.arange(ARCS)[:, None] + np.array([0.1, 0.5, 0.9])).reshape(-1)
    spots = []
    for strand in strands:
        angles = strand.angles(along)
        middle = strand.at(angles)
        slope = (np.outer(np.cos(angles), strand.v) - np.outer(np.sin(angles), strand.u))[:, :2]
        slope /= np.maximum(np.linalg.norm(slope, axis=1, keepdims=True), 1e-12)
        side = np.stack([-slope[:, 1], slope[:, 0], np.zeros(len(slope))], axis=1)
        spots.append(middle[:, None] + (_ACROSS * strand.wire)[:, None] * side[:, None])
    spot = np.concatenate(spots).reshape(-1, 3)
    for one in solids:
        low, high = one.box
        front = np.full(len(spot), -np.inf)
        near = ((spot[:, :2] >= low) & (spot[:, :2] <= high)).all(axis=1)
        front[near] = one.front(spot[near, :2])
        votes = np.where(np.isfinite(front), np.sign(spot[:, 2] - front), 0.0)
        each = votes.reshape(len(strands) * ARCS, -1).sum(axis=1)
        over.append(np.nonzero(each > 0)[0])
        under.append(np.nonzero(each < 0)[0])
    return over, under


def _near(points: Floats, wires: Floats, pace: Floats, itself: Bools) -> tuple[Ints, Ints]:
    """Numbers of arcs that may overlap on the page, each pair once; of one strand, where asked."""
    blocks = points[..., :2].reshape(len(points), -1, _BLOCK, 2)
    reach = (wires / 2 + _MARGIN * pace)[:, None, None]
    low, high = ((blocks.min(2) - reach), (blocks.max(2) + reach))
    x0, y0, x1, y1 = (e[..., k].reshape(-1) for e in (low, high) for k in (0, 1))
    meet = (x0[:, None] <= x1) & (x0 <= x1[:, None])
    meet &= (y0[:, None] <= y1) & (y0 <= y1[:, None])
    one, two = np.nonzero(np.triu(meet, 1))
    of_one, of_two = one // blocks.shape[1], two // blocks.shape[1]
    keep = (of_one != of_two) | itself[of_one]
    one, two = one[keep], two[keep]
    x, y = (points[..., k].reshape(-1, _BLOCK).astype(np.float32) for k in (0, 1))
    across, up = (e.take(one, 0)[:, :, None] - e.take(two, 0)[:, None, :] for e in (x, y))
    reach_each = reach[:, 0, 0].astype(np.float32)
    far = (reach_each[of_one[keep]] + reach_each[of_two[keep]]) ** 2
    near = np.flatnonzero(across * across + up * up < far[:, None, None])
    at, arc = np.divmod(near, _BLOCK * _BLOCK)
    return one[at] * _BLOCK + arc // _BLOCK, two[at] * _BLOCK + arc % _BLOCK


def _covered(points: Floats, slopes: Floats, wires: Floats, upper: Ints, lower: Ints) -> Bools:
    """(across, strands, ARCS) which points across the middle of each arc lie under another arc."""
    x, y = slopes[..., 0], slopes[..., 1]
    steep = wires[:, None] / np.maximum(np.hypot(x, y), 1e-12)
    gap: Floats = np.zeros((len(_ACROSS), len(lower)))
    for middle, side in ((points[..., 0], -y * steep), (points[..., 1], x * steep)):
        spots = middle.reshape(-1) + _ACROSS[:, None] * side.reshape(-1)
        gap += (spots.take(lower, 1) - middle.reshape(-1).take(upper)) ** 2
    at, pair = np.divmod(np.flatnonzero(gap < ((wires / 2) ** 2).take(upper // ARCS)), len(lower))
    covered = np.zeros((len(_ACROSS), points.shape[0] * ARCS), bool)
    covered[at, lower.take(pair)] = True
    return covered.reshape(-1, *points.shape[:2])


def _hides_itself(strand: Strand) -> bool:
    return _BAR * strand.wire <= _width(strand) < _NARROW * strand.wire


def _mends(
    closed: bool, number: int, base: int, floor: list[int], top: list[int]
) -> Iterator[tuple[int, Run]]:
    """The stretches to be painted again, each with its layer.

    floor, top: the layers between which each arc may be painted.
    """
    first = 0
    if closed and base in floor:
        first = floor.index(base)
    around = [(first + k) % ARCS for k in range(ARCS)]
    at = 0
    while at < ARCS:
        if floor[around[at]] == base:
            at += 1
            continue
        low, high, end = base, 10**6, at
        for ahead in range(at, ARCS):  # on over what may be painted again, to join more of it
            arc = around[ahead]
            if max(low, floor[arc]) > min(high, top[arc]):
                break
            low, high = max(low, floor[arc]), min(high, top[arc])
            if floor[arc] > base:
                end, kept = ahead + 1, low
        if end - at == ARCS:
            yield kept, Run(number, 0, ARCS)
            return
        more = [_HALF if top[a] >= kept else _HAIR for a in (around[at - 1], around[end % ARCS])]
        start, stop = first + at - more[0], first + end + more[1]
        if not closed:
            start, stop = max(0.0, start), min(float(ARCS), stop)
        yield kept, Run(number, start, stop - start)
        at = end
