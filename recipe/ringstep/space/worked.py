"""A chain or a single piece worked step by step: rings set in, folded back and spread as said.

Axes: x along the work, away from its start. Lengths are in units of the largest mean radius.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ringstep.language.syntax import Hand as Side
from ringstep.space.circles import Bools
from ringstep.space.lanes import lanes
from ringstep.space.motion import Hand, jam, move, part, rounds, settle
from ringstep.space.near import Floats, crossing, rim
from ringstep.space.set_in import Drawn, Flat, Wanted, exact, find, put_in
from ringstep.space.state import Jam, Move, State, Worked
from ringstep.weave.piece import Weave
from ringstep.weave.work import Act, Ring

_TRIES = 4
_AGAIN = 16  # how often what jams is undone and worked once more
_LIGHT = 0.06  # pull along the work
_SOFT = 0.05  # spring that keeps what lies first where it lies
_STRAIGHT = 0.04  # spring that keeps the work along x
_IN_LANE = 0.15  # spring that keeps one of several strands where it runs
_HELD = 0.3  # spring of a finger on a folded ring
_FINGER = 0.5  # push at a tip
_FREE = 14  # newest rings that move
_GROW, _ROUNDS = 25, 45
_FOLDED = -0.75  # of the way back along x: 140 degrees
_BAND, _ALONG = 1.35, 1.45  # mean radii: from the middle of a band to its hems, along these
_PITCH = 1.05  # mean radii from ring to ring of a row
_BRING = 200  # steps by which rings are brought together at most
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
    lanes: dict[Ring, float] = field(default_factory=dict)  # where across the work strands run
    flat: dict[int, int] = field(default_factory=dict)  # rings in rows, and the rows' axis
    folded: set[int] = field(default_factory=set)  # held back by a finger until gone through

    def sizes(self, ring: Ring) -> tuple[float, float]:
        """Mean radius and wire."""
        wire, inside = self.weave.round_size(ring.role, ring.index) or (0.0, 0.0)
        return (inside + wire) / 2 / self.unit, wire / self.unit

    def work(self, acts: Sequence[Act]) -> None:
        """Carry the acts out until one cannot be; what jams is undone and worked once more."""
        acts = [self.of_known_size(act) for act in acts if not act.skipped]
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

    def of_known_size(self, act: Act) -> Act:
        """The act without the parts that it places and whose size is not known."""
        known = (r for r in act.new if self.weave.round_size(r.role, r.index))
        return act._replace(new=tuple(known))

    def copied(self) -> _Piece:
        return replace(
            self,
            hand=self.hand.copied(),
            number=dict(self.number),
            states=list(self.states),
            jams=list(self.jams),
            flat=dict(self.flat),
            folded=set(self.folded),
        )

    def as_before(self, then: _Piece) -> None:
        then = then.copied()
        self.hand, self.number, self.states = then.hand, then.number, then.states
        self.jams, self.gate = then.jams, then.gate
        self.flat, self.folded = then.flat, then.folded

    def carry_out(self, act: Act) -> Jam | None:
        """One act; what jammed."""
        moved: Move | None = None
        stuck = None
        if act.movers and any(r in self.number for r in act.through):
            stuck = self.add(act)
        elif act.new:
            self.lay(act)
        elif act.step.kind == "take out":
            for ring in act.handled:
                self.remove(ring)
        elif act.step.kind == "fold back":
            moved = "fold"
            self.fold([self.number[r] for r in act.handled if r in self.number], act.toward)
        elif act.step.kind == "spread":
            moved = "spread"
            self.spread([self.number[r] for r in act.handled if r in self.number])
        stuck = stuck or self.hang_parts(act)
        if stuck is not None:
            return stuck
        stuck = self.overlap(act)  # which may still ease the rings a little
        self.record(act, moved)
        return stuck

    def record(self, act: Act, moved: Move | None) -> None:
        rings = rounds(self.hand, self.number, self.unit)
        through = tuple(r for r in act.through if r in self.number)
        how = tuple((r, moved) for r in act.handled if moved and r in self.number)
        self.states.append(
            State(act.step.number, act.row, act.unit, rings, act.movers, through, how)
        )

    # -- rings put in ----------------------------------------------------------------------------

    def lay(self, act: Act) -> None:
        """Closed rings: together, or around the rings they hold, or each at its side."""
        hand, held = self.hand, [self.number[r] for r in act.held]
        x, z = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
        reach = hand.centres[:, 0] + hand.radii
        start = act.unit == 0 or not len(hand)
        ahead = 0.0 if start else float(reach.max())
        row = len(act.new) > 2 or bool(act.toward)
        for nth, ring in enumerate(act.new):
            radius, wire = self.sizes(ring)
            beside = nth - (len(act.new) - 1) / 2
            at = np.array([ahead and ahead + radius, 0.0, beside * 1.1 * wire])
            normal = z
            if held:
                at, normal = hand.centres[held].mean(axis=0), x
            elif row:
                at, normal = self.in_row(act, nth, radius, wire)
            elif ring in self.lanes:
                at[1] = self.lanes[ring]
            while (
                not held
                and len(hand)
                and not len(exact(hand, Drawn(at[None], normal[None]), radius, ())[0])
            ):
                at[0] += 0.1 * radius  # a closed ring is linked with none
            number = self.number[ring] = put_in(hand, at, normal.copy(), radius, wire)
            hand.spring[number] = (_HELD if row else _SOFT) * np.eye(3)
            if row and not held:
                self.flat[number] = 0 if act.toward else 1
            self.ease(_ROUNDS, _GROW)

    def in_row(self, act: Act, nth: int, radius: float, wire: float) -> tuple[Floats, Floats]:
        """Place and normal of a closed ring in a row: across the work, or along it at a side."""
        if not act.toward:
            across = ((len(act.new) - 1) / 2 - nth) * _PITCH * radius
            lean = np.arcsin(1.25 * wire / _PITCH / radius)
            return np.array([0.0, across, 0.0]), np.array([0.0, np.sin(lean), np.cos(lean)])
        side = _BAND * radius * (1.0 if act.toward[nth] == "left" else -1.0)
        others = [k for k in self.flat if side * self.hand.centres[k, 1] > 0.5 * side**2]
        last = self.hand.centres[others, 0].max() + _ALONG * radius if others else 0.0
        lean = np.arcsin(1.25 * wire / _ALONG / radius)
        return np.array([last, side, 0.0]), np.array([np.sin(lean), 0.0, np.cos(lean)])

    def lies_flat(self, act: Act, through: Sequence[int]) -> Flat | None:
        """How a new ring lies where all those that it goes through lie flat in rows."""
        if len(through) < 2 or not all(k in self.flat for k in through):
            return None
        axis = self.flat[through[0]]
        return Flat(axis, 0.0 if axis == 0 else -1.0 if act.unit == 0 else 1.0)

    def add(self, act: Act) -> Jam | None:
        """Set the new rings in one after another, or the jam where one has no place."""
        hand = self.hand
        if act.step.kind == "reopen":  # taken out and closed again through the old and the new
            more = self.reopened(act)
            act = act._replace(through=(*more, *act.through), stops=())
        picked_up = self.loose(act)
        flat = self.lies_flat(act, [self.number[r] for r in act.through if r in self.number])
        for ring in picked_up:
            self.remove(ring)
        first: int | None = None
        for nth, ring in enumerate(act.movers):
            through = [self.number[r] for r in act.through if r in self.number]
            stops = [[self.number[r] for r in stop if r in self.number] for stop in act.stops]
            radius, wire = self.sizes(ring)
            lane = self.lanes.get(ring)
            if act.toward:
                lane = radius if act.toward[nth] == "left" else -radius
            wanted = Wanted(through, radius, wire, act.side, stops, first, self.gate, lane, flat)
            found = None
            for nearer in range(_TRIES):
                self.draw_near(through, radius * (0.7 - 0.15 * nearer))
                if found := find(hand, self.rng, wanted, 1 + nearer):
                    break
            if found is None:
                return jam(self.weave, act, ring)
            number = self.number[ring] = put_in(hand, *found, radius, wire)
            first = number if first is None and ring not in self.lanes else first
            if flat is not None:
                self.flat[number] = flat.axis
            stiff = _STRAIGHT if lane is None else _IN_LANE
            hand.spring[number] = np.diag([0.0, stiff, stiff])
            if lane is None:
                lane = float(hand.centres[through, 1].mean()) if flat else 0.0
            hand.rest[number] = (0.0, lane, 0.0)
            self.ease(_ROUNDS, _GROW)
            for loose in picked_up if nth == 0 else ():
                if stuck := self.hang(act, loose, ring):
                    return stuck
        if flat is None and len(stops) > 1 and stops[0] and stops[-1]:
            self.draw_apart(stops[0], stops[-1], self.number[act.movers[-1]])
        self.gate = ()
        for back in self.folded & set(through):  # the new ring holds it now
            hand.spring[back] = np.diag([0.0, _STRAIGHT, _STRAIGHT])
            hand.rest[back] = 0.0
        self.folded -= set(through)
        return None

    def loose(self, act: Act) -> list[Ring]:
        """Closed rings that a new ring picks up: linked with nothing yet, where others are."""
        here = [r for r in act.through if r in self.number]
        placed = {r: self.weave.work.acts[self.weave.work.placed_by[r]] for r in here}
        found = [
            r for r in here if not self.hand.linked[self.number[r]].any() and not placed[r].held
        ]
        return found if len(found) < len(here) else []

    def hang(self, act: Act, ring: Ring, on: Ring) -> Jam | None:
        """A closed ring, or a part, set on the one ring that goes through it; the jam, if any."""
        radius, wire = self.sizes(ring)
        found = find(self.hand, self.rng, Wanted([self.number[on]], radius, wire), _TRIES)
        if found is None:
            return jam(self.weave, act, on)
        number = self.number[ring] = put_in(self.hand, *found, radius, wire)
        if ring.role not in self.weave.recipe.part_roles:
            self.hand.spring[number] = np.diag([0.0, _STRAIGHT, _STRAIGHT])
        self.ease(_ROUNDS, _GROW)
        return None

    def hang_parts(self, act: Act) -> Jam | None:
        """Parts of a known size closed round the ring that goes through them; the jam, if any."""
        for part_ in act.through:
            if part_ in self.number or not self.weave.round_size(part_.role, part_.index):
                continue
            if stuck := self.hang(act, part_, act.movers[-1]):
                return stuck
        return None

    def reopened(self, act: Act) -> list[Ring]:
        """Take the rings to be opened out of the hand; those that they were linked with."""
        ring_at = {k: r for r, k in self.number.items()}
        at = [self.number[r] for r in act.movers if r in self.number]
        linked = {ring_at[int(k)] for one in at for k in np.nonzero(self.hand.linked[one])[0]}
        for ring in act.movers:
            self.remove(ring)
        return sorted(linked - {*act.movers, *act.through})

    def remove(self, ring: Ring) -> None:
        """Take a ring out of the hand."""
        gone = self.number.pop(ring, None)
        if gone is None:
            return
        self.hand.take(gone)
        self.number = {r: k - (k > gone) for r, k in self.number.items()}
        self.gate = tuple(k - (k > gone) for k in self.gate if k != gone)
        self.flat = {k - (k > gone): axis for k, axis in self.flat.items() if k != gone}
        self.folded = {k - (k > gone) for k in self.folded if k != gone}

    def draw_near(self, rings: Sequence[int], reach: float) -> None:
        """Bring together rings that one is to go through, with all that hangs on them.

        reach: how far from their rims to the middle between them.
        """
        hand = self.hand
        every = np.ones(len(hand), dtype=bool)
        for _ in range(_BRING):
            middle = hand.centres[rings].mean(axis=0)
            away = middle - hand.centres[rings]
            far = np.linalg.norm(away, axis=1)
            if not np.any(far > hand.radii[rings] + reach):
                return
            force = np.zeros((len(hand), 3))
            force[rings] = 2 * _FINGER * away / np.maximum(far, 1e-9)[:, None]
            spring, hand.spring = hand.spring, 0.0 * hand.spring
            move(hand, every, force)
            hand.spring = spring
        part(hand, every)

    def draw_apart(self, one: Sequence[int], other: Sequence[int], between: int) -> None:
        """What hangs loose on two places of a ring pulled away from each other."""
        hand = self.hand
        if hand.hanging_on(one[0], between)[list(other)].any():
            return
        ring = hand.centres[between], hand.normals[between], float(hand.radii[between])
        c, n = hand.centres, hand.normals
        passes = [[crossing(*ring, c[k], n[k]) for k in stop] for stop in (one, other)]
        if any(p is None for found in passes for p in found):
            return
        first, last = (np.mean(np.array(found), axis=0) for found in passes)
        force = np.zeros((len(hand), 3))
        force[list(other)] = _FINGER * (last - first) / np.linalg.norm(last - first)
        force[list(one)] = -force[other[0]]
        spring, hand.spring = hand.spring, 0.0 * hand.spring
        settle(hand, self.free(), force, 4 * _ROUNDS)
        hand.spring = spring
        held = [k for k in (*one, *other) if spring[k, 0, 0]]
        hand.rest[held] = hand.centres[held]
        part(hand, self.free())

    # -- rings folded and spread -----------------------------------------------------------------

    def hole(self, ring: int) -> Floats:
        """Where the ring passes the rings put in before it that it goes through."""
        hand = self.hand
        on = [k for k in np.nonzero(hand.linked[ring])[0] if k < ring]
        c, n, r = hand.centres, hand.normals, hand.radii
        spots = [crossing(c[ring], n[ring], float(r[ring]), c[k], n[k]) for k in on]
        found = [p for p in spots if p is not None]
        return np.asarray(np.mean(found, axis=0)) if found else c[ring] - self.ahead(ring)

    def fold(self, rings: Sequence[int], toward: Sequence[Side] = ()) -> None:
        """Tips pushed out and back, to the sides named or one to each, until they point back."""
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
        if toward:  # left is +y
            way = 1.0 if normal[1] >= 0 else -1.0
            side = np.array([way if to == "left" else -way for to in toward])
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
        return rim(self.hand.normals[ring], self.hand.radii[ring], np.array([1.0, 0.0, 0.0]))

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


def work_piece(weave: Weave, seed: int = 0, units: int | None = None) -> Worked:
    """Carry out the acts of a chain or a single piece, of a chain's start and first units if said.

    Every ring must have a size. Parts have a place where they are round and their hole is known.
    """
    acts = weave.work.acts
    if units is not None:
        acts = tuple(a for a in acts if a.block.kind == "start" or 0 < a.unit <= units)
    rings = [r for a in acts for r in (*a.new, *a.through)]
    sizes = [weave.round_size(r.role, r.index) or (0.0, 0.0) for r in rings]
    unit = max((wire + inside) / 2 for wire, inside in sizes)
    piece = _Piece(weave, np.random.default_rng([seed, 2]), unit, lanes=lanes(weave, unit))
    piece.work(acts)
    return Worked(tuple(piece.states), tuple(piece.jams))
