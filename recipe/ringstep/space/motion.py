"""Rigid round rings in contact, moved as hands move them: small, slow, implicit steps.

Lengths are in units of the largest mean radius. A step moves every free ring by a shift of its
centre and a turn across its normal, so that what pulls, what holds and the wires that touch are
in balance; no step may change which rings are linked.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import numpy as np

from ringstep.space.circles import Bools
from ringstep.space.near import Circles, Floats, Ints, across, cross, link_sign, near_places
from ringstep.space.state import Jam, Round
from ringstep.weave.piece import Weave
from ringstep.weave.work import Act, Ring

_SAMPLES = 40
_STIFF, _STIFFEST = 600.0, 4000.0
_TURN_MASS = 0.5  # of a ring, where its shift weighs 1
_LEAST_TURN = 0.01  # a ball is a ring of no radius
_MOST = 0.12  # largest move of a step
_SAME = 0.04  # places on a ring this near one another are one
_PASSES = 4  # over the places that the step itself would press
HAIR = 0.003  # share of the wire by which wires may overlap once all lies still
_MENDS = 25


@dataclass(slots=True, eq=False)
class Hand:
    """The rings in hand as they lie now; grows ring by ring.

    thick: how thick each wire is at present, at most `wires`. held: pulled to `rest` by `spring`
    (a matrix each). linked: the pairs that are linked, which every move keeps.
    """

    centres: Floats = field(default_factory=lambda: np.zeros((0, 3)))
    normals: Floats = field(default_factory=lambda: np.zeros((0, 3)))
    radii: Floats = field(default_factory=lambda: np.zeros(0))
    wires: Floats = field(default_factory=lambda: np.zeros(0))
    thick: Floats = field(default_factory=lambda: np.zeros(0))
    rest: Floats = field(default_factory=lambda: np.zeros((0, 3)))
    spring: Floats = field(default_factory=lambda: np.zeros((0, 3, 3)))
    linked: Bools = field(default_factory=lambda: np.zeros((0, 0), dtype=bool))

    def __len__(self) -> int:
        return len(self.radii)

    def copied(self) -> Hand:
        """The same rings in arrays of their own."""
        return Hand(*(getattr(self, f.name).copy() for f in fields(self)))

    def lay(self, centre: Floats, normal: Floats, radius: float, wire: float, thick: float) -> int:
        """Put in one more ring; returns its number."""
        self.centres = np.concatenate([self.centres, centre[None]])
        self.normals = np.concatenate([self.normals, normal[None]])
        self.radii = np.append(self.radii, radius)
        self.wires = np.append(self.wires, wire)
        self.thick = np.append(self.thick, thick)
        self.rest = np.concatenate([self.rest, centre[None]])
        self.spring = np.concatenate([self.spring, np.zeros((1, 3, 3))])
        links = link_signs(self, np.full(len(self) - 1, len(self) - 1), np.arange(len(self) - 1))
        linked = np.zeros((len(self), len(self)), dtype=bool)
        linked[:-1, :-1] = self.linked
        linked[-1, :-1] = linked[:-1, -1] = links != 0
        self.linked = linked
        return len(self) - 1

    def take(self, ring: int) -> None:
        """Take a ring out; those after it move up."""
        for name in (f.name for f in fields(self)):
            setattr(self, name, np.delete(getattr(self, name), ring, axis=0))
        self.linked = np.delete(self.linked, ring, axis=1)

    def hanging_on(self, ring: int, without: int) -> Bools:
        """Which rings hang together with one by links, but for those of the ring `without`."""
        found: Bools = np.arange(len(self)) == ring
        while True:
            more = found | self.linked[found].any(axis=0)
            more[without] = False
            if np.array_equal(more, found):
                return found
            found = more

    def pairs(self, free: Bools, reach: float) -> tuple[Ints, Ints]:
        """Pairs with a free ring in them whose wires' middles may come within `reach`."""
        apart = np.linalg.norm(self.centres[:, None] - self.centres[None], axis=2)
        near = apart <= self.radii[:, None] + self.radii[None] + reach
        i, j = np.nonzero(np.triu(near & (free[:, None] | free[None]), 1))
        return i, j


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """Places where the wires of two rings come near: rings, distance, direction, levers."""

    i: Ints
    j: Ints
    gap: Floats
    along: Floats
    lever_i: Floats
    lever_j: Floats


def link_signs(hand: Hand, i: Ints, j: Ints) -> Ints:
    """Linking numbers of the named pairs."""
    c, n, r = hand.centres, hand.normals, hand.radii
    return link_sign(c[i], n[i], r[i], c[j], n[j], r[j])


def places(hand: Hand, i: Ints, j: Ints, reach: float, samples: int = _SAMPLES) -> Places:
    """Where the wires of these pairs come within `reach` of touching, seen from both rings."""
    first, other = np.concatenate([i, j]), np.concatenate([j, i])
    n, r = hand.normals, hand.radii
    row, own, lever = near_places(
        Circles(hand.centres[first] - hand.centres[other], n[first], n[other], r[first], r[other]),
        samples,
        reach,
        (hand.thick[first] + hand.thick[other]) / 2 + reach,
    )
    a, b = first[row], other[row]
    line = hand.centres[b] + lever - hand.centres[a] - own
    gap = np.linalg.norm(line, axis=1)
    keep = gap < (hand.thick[a] + hand.thick[b]) / 2 + reach
    line, gap = line[keep] / np.maximum(gap[keep], 1e-12)[:, None], gap[keep]
    a, b, own, lever = a[keep], b[keep], own[keep], lever[keep]
    back = a > b  # seen from the ring named second: turned round, the same place is found twice
    a, b = np.where(back, b, a), np.where(back, a, b)
    turn = back[:, None]
    line, own, lever = (
        np.where(turn, -line, line),
        np.where(turn, lever, own),
        np.where(turn, own, lever),
    )
    mark = np.round(own / _SAME).astype(np.int64)
    key = (a * len(hand) + b) * 8_000_000 + mark @ np.array([40_000, 200, 1])
    _, one = np.unique(key, return_index=True)
    return Places(a[one], b[one], gap[one], line[one], own[one], lever[one])


def worst_gap(hand: Hand, free: Bools) -> float:
    """Least gap between wires of which one is free, in parts of the thinner wire; at most 0."""
    i, j = hand.pairs(free, float(hand.thick.max(initial=0.0)))
    p = places(hand, i, j, 0.0, 72)
    gap = p.gap - (hand.thick[p.i] + hand.thick[p.j]) / 2
    return float((gap / np.minimum(hand.wires[p.i], hand.wires[p.j])).min(initial=0.0))


def move(
    hand: Hand,
    free: Bools,
    force: Floats,
    couple: Floats | None = None,
    stiff: float = _STIFF,
    most: float = _MOST,
) -> float:
    """One step of the free rings under forces (n, 3) and couples; returns the largest move that
    they ask for.

    No ring moves farther than `most`, nor than 0.45 of the thinnest wire.
    """
    who = np.nonzero(free)[0]
    most = min(most, 0.45 * float(hand.thick[hand.thick > 0].min(initial=_MOST)))
    i, j = hand.pairs(free, float(hand.thick.max()) + 2 * most)
    p = places(hand, i, j, 2 * most)
    count = len(who)
    at = np.full(len(hand), -1)
    at[who] = np.arange(count)
    u, v = across(hand.normals)
    rows = np.zeros((len(p.gap), 5 * count))
    for one, push, lever in ((p.i, -p.along, p.lever_i), (p.j, p.along, p.lever_j)):
        mine = np.nonzero(at[one] >= 0)[0]
        first, r = 5 * at[one[mine]], one[mine]
        torque = cross(lever[mine], push[mine])
        for axis in range(3):
            rows[mine, first + axis] += push[mine, axis]
        rows[mine, first + 3] += np.einsum("tx,tx->t", torque, u[r])
        rows[mine, first + 4] += np.einsum("tx,tx->t", torque, v[r])
    stays = np.zeros((5 * count, 5 * count))
    pull = np.zeros(5 * count)
    for k, ring in enumerate(who):
        block = slice(5 * k, 5 * k + 3)
        stays[block, block] = np.eye(3) + hand.spring[ring]
        inertia = _TURN_MASS * max(float(hand.radii[ring]) ** 2, _LEAST_TURN)
        stays[5 * k + 3, 5 * k + 3] = stays[5 * k + 4, 5 * k + 4] = inertia
        pull[block] = force[ring] + hand.spring[ring] @ (hand.rest[ring] - hand.centres[ring])
        if couple is not None:
            pull[5 * k + 3] = couple[ring] @ u[ring]
            pull[5 * k + 4] = couple[ring] @ v[ring]
    miss = (hand.thick[p.i] + hand.thick[p.j]) / 2 - p.gap
    pressed = np.zeros(len(miss), dtype=bool)
    press = miss > 0
    step: Floats = np.zeros(5 * count)
    for _ in range(_PASSES):
        more = rows[press]
        stays += stiff * (more.T @ more)
        pull += stiff * (more.T @ miss[press])
        step = np.linalg.solve(stays, pull)
        pressed |= press
        press = (miss - rows @ step > 0) & ~pressed  # one that is pressed stays so for this step
        if not press.any():
            break
    shift = step.reshape(count, 5)
    turn = shift[:, 3:4] * u[who] + shift[:, 4:] * v[who]
    far = np.linalg.norm(shift[:, :3], axis=1) + np.linalg.norm(turn, axis=1) * hand.radii[who]
    share = min(1.0, most / max(float(far.max(initial=0.0)), 1e-12))
    return _moved(hand, who, shift[:, :3] * share, turn * share) * float(far.max(initial=0.0))


def _moved(hand: Hand, who: Ints, shift: Floats, turn: Floats) -> float:
    """Carry a step out, halved until no link changes; returns the share of it that was done."""
    centres, normals = hand.centres, hand.normals
    free = np.zeros(len(hand), dtype=bool)
    free[who] = True
    for halvings in range(6):
        share = 0.5**halvings
        hand.centres = centres.copy()
        hand.centres[who] += share * shift
        hand.normals = normals.copy()
        angle = share * np.linalg.norm(turn, axis=1, keepdims=True)
        sine = np.where(angle > 1e-12, np.sin(angle) / np.maximum(angle, 1e-12), 1.0)
        new = np.cos(angle) * normals[who] + sine * share * cross(turn, normals[who])
        hand.normals[who] = new / np.linalg.norm(new, axis=1, keepdims=True)
        i, j = hand.pairs(free, 0.0)
        same = (link_signs(hand, i, j) != 0) == hand.linked[i, j]
        if same.all() and hand.linked[free].sum() == _within(hand, i, j, free):
            return share
    hand.centres, hand.normals = centres, normals
    return 0.0


def _within(hand: Hand, i: Ints, j: Ints, free: Bools) -> int:
    """How many ends of links the pairs looked at hold, to see that no linked pair fell out."""
    ends = free[i].astype(np.int64) + free[j]
    return int((hand.linked[i, j] * ends).sum())


def settle(
    hand: Hand,
    free: Bools,
    force: Floats,
    rounds: int,
    grow: int = 0,
    couple: Floats | None = None,
) -> None:
    """Let the rings come to rest under forces; thin wires grow to full within `grow` steps."""
    begin, most = hand.thick.copy(), _MOST
    for k in range(rounds):
        if grow and k < grow:
            hand.thick = begin + (hand.wires - begin) * ((k + 1) / grow)
        far = move(hand, free, force, couple, most=most)
        most = min(_MOST, max(0.03, 2 * far))
        if k >= grow and far < 2e-3:
            break


def rounds(hand: Hand, number: dict[Ring, int], unit: float) -> tuple[tuple[Ring, Round], ...]:
    """The rings as they lie, `unit` mm a length unit."""
    centres, normals = (hand.centres * unit).tolist(), hand.normals.tolist()
    sizes = zip((hand.radii * unit).tolist(), (hand.wires * unit).tolist(), strict=True)
    all_of = [
        Round(tuple(c), tuple(n), *size) for c, n, size in zip(centres, normals, sizes, strict=True)
    ]
    return tuple((ring, all_of[k]) for ring, k in number.items())


def jam(
    weave: Weave, act: Act, ring: Ring, worst: float | None = None, room: float = 0.005
) -> Jam | None:
    """The step as one that jammed, where the worst gap (in wires; None: no place) is under -room.

    The ring must have a size.
    """
    wire, inside = weave.size(ring.role, ring.index) or (1.0, 0.0)
    if worst is not None and worst >= -room:
        return None
    overlap = None if worst is None else -worst * wire
    return Jam(act.step.number, act.row, act.unit, ring, inside / wire, overlap)


def part(hand: Hand, free: Bools) -> float:
    """Without any force, push overlapping wires apart; returns the worst gap left, in wires."""
    still = np.zeros((len(hand), 3))
    spring, hand.spring = hand.spring, np.zeros_like(hand.spring)
    worst = worst_gap(hand, free)
    for _ in range(_MENDS):
        if worst >= -HAIR:
            break
        move(hand, free, still, stiff=_STIFFEST, most=0.05)
        worst = worst_gap(hand, free)
    hand.spring = spring
    return worst
