"""A chain or a single piece worked step by step: rings set in, folded back and spread as said.

Axes: x along the work, away from its start. Lengths are in units of the largest mean radius.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ringstep.space.circles import Bools
from ringstep.space.motion import Hand, jam, link_signs, move, part, rounds, settle
from ringstep.space.near import Floats, Ints, across, cross
from ringstep.space.set_in import Drawn, exact, put_in, room
from ringstep.space.state import Jam, Move, State, Worked
from ringstep.weave.piece import Weave
from ringstep.weave.steps import Act, Ring

_DRAWS, _TRIES = 3000, 4
_AGAIN = 16  # how often what jams is undone and worked once more
_LIGHT = 0.06  # pull along the work
_SOFT = 0.05  # spring that keeps what lies first where it lies
_STRAIGHT = 0.04  # spring that keeps the work along x
_HELD = 0.3  # spring of a finger on a folded ring
_FINGER = 0.5  # push at a tip
_FREE = 14  # newest rings that move
_GROW, _ROUNDS = 25, 45
_FOLDED = -0.75  # of the way back along x: 140 degrees
_APART = 2.3  # wires between the tips of spread rings


@dataclass(slots=True, eq=False)
class _Piece:
    weave: Weave
    rng: np.random.Generator
    unit: float
    hand: Hand = field(default_factory=Hand)
    number: dict[Ring, int] = field(default_factory=dict)
    states: list[State] = field(default_factory=list)
    jams: list[Jam] = field(default_factory=list)
    gate: tuple[int, ...] = ()  # two rings spread apart, which the next goes between
    folded: set[int] = field(default_factory=set)  # held back by a finger until gone through

    def sizes(self, ring: Ring) -> tuple[float, float]:
        """Mean radius and wire."""
        wire, inside = self.weave.size(ring.role, ring.index) or (0.0, 0.0)
        return (inside + wire) / 2 / self.unit, wire / self.unit

    def work(self, acts: Sequence[Act]) -> None:
        """Carry the acts out until one cannot be; what jams is undone and worked once more."""
        acts = [act for act in acts if not act.skipped]
        before: list[_Piece] = []
        failed = dict.fromkeys(range(len(acts)), 0)
        at = 0
        while at < len(acts):
            before[at:] = [self.copied()]
            stuck = self.carry_out(acts[at])
            if stuck is not None and sum(failed.values()) < _AGAIN:
                failed[at] += 1
                at = max(0, at - failed[at] + 1)
                self.as_before(before[at])
                continue
            if stuck is not None:
                self.jams.append(stuck)
                if stuck.overlap is None:
                    return
            at += 1

    def copied(self) -> _Piece:
        return replace(
            self,
            hand=self.hand.copied(),
            number=dict(self.number),
            states=list(self.states),
            jams=list(self.jams),
            folded=set(self.folded),
        )

    def as_before(self, then: _Piece) -> None:
        then = then.copied()
        self.hand, self.number, self.states = then.hand, then.number, then.states
        self.jams, self.gate, self.folded = then.jams, then.gate, then.folded

    def carry_out(self, act: Act) -> Jam | None:
        """One act; what jammed."""
        moved: Move | None = None
        stuck = None
        if act.new and act.through:
            stuck = self.add(act)
        elif act.new:
            self.lay(act)
        elif act.step.kind == "fold back":
            moved = "fold"
            self.fold([self.number[r] for r in act.handled if r in self.number])
        elif act.step.kind == "spread":
            moved = "spread"
            self.spread([self.number[r] for r in act.handled if r in self.number])
        if stuck is not None:
            return stuck
        stuck = self.overlap(act)  # which may still ease the rings a little
        self.record(act, moved)
        return stuck

    def record(self, act: Act, moved: Move | None) -> None:
        rings = rounds(self.hand, self.number, self.unit)
        how = tuple((r, moved) for r in act.handled if moved and r in self.number)
        self.states.append(
            State(act.step.number, act.row, act.unit, rings, act.new, act.through, how)
        )

    # -- rings put in ----------------------------------------------------------------------------

    def lay(self, act: Act) -> None:
        """Closed rings: together, or around the rings they hold."""
        held = [self.number[r] for r in act.held]
        x, z = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
        reach = self.hand.centres[:, 0] + self.hand.radii
        far = float(reach.max()) if len(reach) else None
        for nth, ring in enumerate(act.new):
            radius, wire = self.sizes(ring)
            beside = (nth - (len(act.new) - 1) / 2) * 1.1 * wire
            if held:
                at, normal = self.hand.centres[held].mean(axis=0), x
            else:
                ahead = 0.0 if far is None else far + radius
                at, normal = np.array([ahead, 0.0, beside]), z
            self.number[ring] = put_in(self.hand, at, normal.copy(), radius, wire)
            self.hand.spring[self.number[ring]] = _SOFT * np.eye(3)
            self.ease(_ROUNDS, _GROW)

    def add(self, act: Act) -> Jam | None:
        """Set the new rings in one after another, or the jam where one has no place."""
        through = [self.number[r] for r in act.through]
        first: int | None = None
        for ring in act.new:
            radius, wire = self.sizes(ring)
            for _ in range(_TRIES):
                drawn = self.drawn(through, radius, wire, first)
                best = self.best(act, drawn, through, radius, wire, first)
                if best is not None:
                    break
            if best is None:
                return jam(self.weave, act, ring)
            number = put_in(self.hand, drawn.centres[best], drawn.normals[best], radius, wire)
            self.number[ring] = number
            first = number if first is None else first
            straight = np.diag([0.0, _STRAIGHT, _STRAIGHT])
            self.hand.spring[number] = straight
            self.hand.rest[number] = 0.0
            self.ease(_ROUNDS, _GROW)
        self.gate = ()
        for back in self.folded & set(through):  # the new ring holds it now
            self.hand.spring[back] = np.diag([0.0, _STRAIGHT, _STRAIGHT])
            self.hand.rest[back] = 0.0
        self.folded -= set(through)
        return None

    def drawn(self, through: Sequence[int], radius: float, wire: float, first: int | None) -> Drawn:
        """Circles through a point of an opening; half straight to another, or beside `first`."""
        rng, hand = self.rng, self.hand
        which = rng.choice(through, _DRAWS)
        other = rng.choice(through, _DRAWS)
        points, ends = self.inside(which), self.inside(other)
        along = hand.normals[which] * rng.choice([-1.0, 1.0], _DRAWS)[:, None]
        along = along + rng.normal(0, 0.5, (_DRAWS, 3))
        half = _DRAWS // 2
        line = ends - points
        far = np.linalg.norm(line, axis=1) > 1e-6
        straight = far & (np.arange(_DRAWS) < half)
        along[straight] = line[straight]
        along /= np.linalg.norm(along, axis=1, keepdims=True)
        u, v = across(along)
        turn = rng.uniform(0, 2 * np.pi, _DRAWS)[:, None]
        to_centre = np.cos(turn) * u + np.sin(turn) * v
        centres = points + radius * to_centre
        normals = cross(along, to_centre)
        if first is not None:
            beside = rng.uniform(0.6, 1.4, half) * wire * rng.choice([-1.0, 1.0], half)
            centres[:half] = hand.centres[first] + beside[:, None] * hand.normals[first]
            centres[:half] += rng.normal(0, 0.03, (half, 3))
            normals[:half] = hand.normals[first] + rng.normal(0, 0.08, (half, 3))
        normals /= np.linalg.norm(normals, axis=1, keepdims=True)
        return Drawn(centres, normals)

    def inside(self, rings: Ints) -> Floats:
        """A point in the opening of each ring, where it can be between the rings spread apart."""
        points = self.anywhere_inside(rings)
        if len(self.gate) == 2:
            for _ in range(6):
                outside = ~self.in_gate(points)
                points[outside] = self.anywhere_inside(rings)[outside]
        return points

    def in_gate(self, points: Floats) -> Bools:
        """Which points lie between the planes of the two rings spread apart."""
        c, n, (g, h) = self.hand.centres, self.hand.normals, self.gate
        one = ((points - c[g]) @ n[g]) * (n[g] @ (c[h] - c[g])) > 0
        other = ((points - c[h]) @ n[h]) * (n[h] @ (c[g] - c[h])) > 0
        return np.asarray(one & other)

    def anywhere_inside(self, rings: Ints) -> Floats:
        hand, rng = self.hand, self.rng
        u, v = across(hand.normals[rings])
        angle = rng.uniform(0, 2 * np.pi, len(rings))[:, None]
        size = (hand.radii[rings] * 0.9 * np.sqrt(rng.uniform(0, 1, len(rings))))[:, None]
        points: Floats = hand.centres[rings] + size * (np.cos(angle) * u + np.sin(angle) * v)
        return points

    def best(
        self,
        act: Act,
        drawn: Drawn,
        through: Sequence[int],
        radius: float,
        wire: float,
        first: int | None,
    ) -> int | None:
        """The circle with most room and reach along the work, near the first of its pair."""
        hand = self.hand
        right, signs = exact(hand, drawn, radius, through)
        keep = np.ones(len(right), dtype=bool)
        if act.side is not None:
            said = 1 if act.side == "front" else -1
            for a, one in enumerate(through):
                for b in range(a):
                    both = int(link_signs(hand, np.array([one]), np.array([through[b]]))[0])
                    if both:
                        keep &= signs[:, a] * signs[:, b] * both == said
        right = right[keep]
        if len(self.gate) == 2 and len(right):
            right = right[self.between(drawn, right, through, radius)]
        if not len(right):
            return None
        clear = room(hand, Drawn(drawn.centres[right], drawn.normals[right]), radius)
        reach = drawn.centres[right, 0] - hand.centres[through].mean(axis=0)[0]
        off = np.linalg.norm(drawn.centres[right, 1:], axis=1)
        score = np.minimum(clear, 0.6 * wire) / wire + 0.25 * reach - 0.15 * off
        if first is not None:
            away = np.linalg.norm(drawn.centres[right] - hand.centres[first], axis=1)
            alike = np.abs(drawn.normals[right] @ hand.normals[first])
            score += alike - away
        score[clear <= 0] = -np.inf
        if np.all(clear <= 0):
            return None
        return int(right[int(np.argmax(score))])

    def between(self, drawn: Drawn, some: Ints, through: Sequence[int], radius: float) -> Bools:
        """Which circles pass the rings gone through between the two that are spread apart."""
        hand = self.hand
        fine = np.ones(len(some), dtype=bool)
        for k, one in enumerate(some):
            c, n = drawn.centres[one], drawn.normals[one]
            for ring in through:
                p = _crossing(c, n, radius, hand.centres[ring], hand.normals[ring])
                fine[k] &= p is not None and bool(self.in_gate(p[None])[0])
        return fine

    # -- rings folded and spread -----------------------------------------------------------------

    def hole(self, ring: int) -> Floats:
        """Where the ring passes the rings put in before it that it goes through."""
        hand = self.hand
        on = [k for k in np.nonzero(hand.linked[ring])[0] if k < ring]
        c, n, r = hand.centres, hand.normals, hand.radii
        spots = [_crossing(c[ring], n[ring], float(r[ring]), c[k], n[k]) for k in on]
        found = [p for p in spots if p is not None]
        return np.asarray(np.mean(found, axis=0)) if found else c[ring] - self.ahead(ring)

    def fold(self, rings: Sequence[int]) -> None:
        """Tips pushed out and back, one to each side, until they point back."""
        hand = self.hand
        if not rings:
            return
        self.folded |= set(rings)
        normal = hand.normals[rings[0]]
        spot = (hand.centres[rings] - hand.centres[rings].mean(axis=0)) @ normal
        order = np.argsort(spot)
        side = np.zeros(len(rings))
        side[order] = np.where(np.arange(len(rings)) < len(rings) / 2, -1.0, 1.0)
        side = side * (1.0 if len(rings) > 1 else self.rng.choice([-1.0, 1.0]))
        only = np.zeros(len(hand), dtype=bool)
        only[list(rings)] = True
        for _ in range(150):
            force, couple = np.zeros((len(hand), 3)), np.zeros((len(hand), 3))
            done = True
            for ring, to in zip(rings, side, strict=True):
                arm = hand.centres[ring] - self.hole(ring)
                arm /= max(float(np.linalg.norm(arm)), 1e-9)
                if arm[0] < _FOLDED:
                    continue
                done = False
                push = np.array([-1.0, 0.0, 0.0]) + max(0.0, float(arm[0]) + 0.6) * to * normal
                # round the wires it hangs on, which the other finger keeps where they are
                push -= (push @ arm) * arm
                push *= _FINGER / max(float(np.linalg.norm(push)), 1e-9)
                force[ring] = push
                force[ring, 0] += 0.1 * _FINGER
                couple[ring] = np.cross(hand.radii[ring] * arm, push)
            if done:
                break
            move(hand, only, force, couple)
        for ring in rings:  # the finger that holds it
            hand.rest[ring] = hand.centres[ring]
            hand.spring[ring] = _HELD * np.eye(3)
        part(hand, self.free())

    def spread(self, rings: Sequence[int]) -> None:
        """Tips pushed apart, for the next ring to go in between."""
        hand = self.hand
        if len(rings) != 2:
            return
        a, b = rings
        self.gate = (a, b)
        for _ in range(40):
            tips = [hand.centres[k] + self.ahead(k) for k in rings]
            line = hand.centres[b] - hand.centres[a]
            axis = hand.normals[a] * (1.0 if line @ hand.normals[a] > 0 else -1.0)
            if (tips[1] - tips[0]) @ axis > _APART * hand.wires[a]:
                break
            force, couple = np.zeros((len(hand), 3)), np.zeros((len(hand), 3))
            for ring, to in ((a, -1.0), (b, 1.0)):
                force[ring] = _FINGER / 2 * to * axis
                couple[ring] = np.cross(self.ahead(ring), force[ring])
            move(hand, self.free(), force, couple)
        part(hand, self.free())

    def ahead(self, ring: int) -> Floats:
        """From a ring's centre to its foremost point."""
        n = self.hand.normals[ring]
        x = np.array([1.0, 0.0, 0.0])
        flat = x - (x @ n) * n
        arm: Floats = self.hand.radii[ring] * flat / max(float(np.linalg.norm(flat)), 1e-9)
        return arm

    # -- motion ----------------------------------------------------------------------------------

    def free(self) -> Bools:
        count = len(self.hand)
        return np.asarray(np.arange(count) >= count - _FREE)

    def ease(self, rounds: int, grow: int = 0) -> None:
        """A light pull along the work; a finger keeps folded rings back."""
        force = np.zeros((len(self.hand), 3))
        force[-4:, 0] = _LIGHT
        force[~self.hand.linked.any(axis=1)] = 0.0  # a loose ring is not pulled off
        for ring in self.folded:
            force[ring] = (-_LIGHT, 0.0, 0.0)
        settle(self.hand, self.free(), force, rounds, grow)
        part(self.hand, self.free())

    def overlap(self, act: Act) -> Jam | None:
        """By how much wires press into one another after the step, where they do."""
        worst = part(self.hand, self.free())
        named = act.new or act.handled
        return jam(self.weave, act, named[0], worst) if named else None


def _crossing(c: Floats, n: Floats, radius: float, d: Floats, m: Floats) -> Floats | None:
    """Where circle (c, n) passes nearest the middle of disc (d, m)."""
    line = np.cross(n, m)
    size = float(line @ line)
    if size < 1e-18:
        return None
    foot = c + np.cross(line, n) * float(m @ (c - d)) / size
    half = radius**2 - float((foot - c) @ (foot - c))
    if half <= 0:
        return None
    reach = line * np.sqrt(half / size)
    near: Floats = min(foot + reach, foot - reach, key=lambda p: float((p - d) @ (p - d)))
    return near


def work_piece(weave: Weave, seed: int = 0, units: int = 4) -> Worked:
    """Carry out the acts of a chain's start and first units, or of a single piece.

    Every ring must have a size.
    """
    acts = [a for a in weave.work.acts if a.block.kind == "start" or 0 < a.unit <= units]
    sizes = [weave.size(r.role, r.index) or (0.0, 0.0) for a in acts for r in a.new]
    unit = max((wire + inside) / 2 for wire, inside in sizes)
    piece = _Piece(weave, np.random.default_rng([seed, 2]), unit)
    piece.work(acts)
    return Worked(tuple(piece.states), tuple(piece.jams))
