"""The state after every step of a chain that repeats: the finished repeat, cut where the step ends.

In: a `Resolved` recipe, its `Laid` cycle and the `Form` found for it. Out: `State`s. A new ring is
put in at its place in the finished chain, where it overlaps nothing; a ring that is folded later is
first shown with the hand run backwards, and two rings spread apart with their tips pulled asunder.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.circles import Layout, Shape, shape_of
from ringstep.space.fit_laid import Laid
from ringstep.space.near import Floats
from ringstep.space.nudge import Pull, Swing, links_right, overlap, parted, pulled
from ringstep.space.result import Form, copies
from ringstep.space.state import Move, Round, Shown, State
from ringstep.space.units import Multiple
from ringstep.weave.resolved import Resolved
from ringstep.weave.steps import Act, Ring, Work

_UNITS = 2  # every step is shown in so many units
_APART = 0.9  # wires by which the tips of rings are spread
_OVERLAP = 0.005  # of a wire: what overlaps more is not shown
_FAR = 100.0  # an aim that is never reached
_X = np.array([1.0, 0.0, 0.0])

CLOSING = "the loop is closed in another way than its units repeat, and no place was found for it"
NO_PLACE = "no place was found for {rings} where they pass through just the rings they should"
CROWDED = "the rings could not be laid out after this step without running into one another"
NO_SIZE = "the size of {rings} is not known; give its wire and inside under 'rings:'"


class NoPlace(Exception):
    """A step that has no picture; the text says why, in a maker's words."""


def cut(view: Resolved, laid: Laid, form: Form) -> Shown:
    """The states of a chain or loop in the order of the work, and the steps that have none."""
    hand = _Hand(view, laid, form)
    closing = _closing(hand) if hand.ends < len(hand.work.acts) else None
    states: list[State] = []
    why: dict[int, str] = {}
    often: Counter[int] = Counter()
    for number, act in enumerate(hand.work.acts):
        step = act.step.number
        if act.skipped:
            continue
        if number == hand.ends and closing is not None:
            hand = closing
        elif hand.ends <= number and hand is not closing:
            why[step] = CLOSING
            continue
        asked = act.unit <= _UNITS or often[step] < _UNITS or number >= hand.ends
        asked = asked or act.block.kind != "unit"
        try:
            state = hand.carry(number, act, asked and step not in why)
        except NoPlace as fault:
            why[step] = str(fault)
            break
        if state is not None:
            states.append(state)
            often[step] += 1
    shown = {s.number for s in states}
    every = [a.step.number for a in hand.work.acts if not a.skipped]
    other = next(iter(why.values()), CROWDED)
    missing = [(n, why.get(n, other)) for n in dict.fromkeys(every) if n not in shown]
    return Shown(tuple(states), tuple(missing))


def _closing(hand: _Hand) -> _Hand | None:
    """The ends of a loop brought together, before the first step that closes it.

    The finished loop repeats, so its first places lie beyond its last, and what closes it lies
    between. None where that does not come out with the links of the work.
    """
    units, before = hand.work.layout.units, hand.work.acts[: hand.ends]
    more = sum(len(a.new) for a in hand.work.acts[hand.ends :])
    for round_by in range(units, units + more + 3):
        if round_by % hand.laid.cycle[1]:
            continue
        found = replace(hand, lie={}, stood={}, round_by=round_by)
        if found.near_closing > 0 and found.goes_round():
            out = {r for a in before if a.step.kind == "take out" for r in a.handled}
            rings = {r for a in before for r in a.new} - out
            found.lie = {r: at for r, at in found.homes.items() if r in rings}
            return found
    return None


@dataclass
class _Hand:
    """The work in the hand.

    lie: the rings that are in it, as they lie. spread: whether some are spread just now.
    round_by: where the ends of a loop are brought together, by how many units its first places lie
    beyond; only the places near the closing are in the hand then. stood: the copies in the
    finished chain that rings of other names stand for.
    """

    view: Resolved
    laid: Laid
    form: Form
    lie: dict[Ring, Round] = field(default_factory=dict)
    spread: bool = False
    turned: bool = False
    round_by: int = 0
    stood: dict[Ring, tuple[int, int]] = field(default_factory=dict)

    @property
    def work(self) -> Work:
        """The recipe carried out on the window."""
        return self.view.weave.work

    @cached_property
    def ends(self) -> int:
        """The number of the first act that brings the ends of a loop together."""
        layout, acts = self.work.layout, self.work.acts
        if layout.kind != "loop":
            return len(acts)
        closes = (
            n
            for n, a in enumerate(acts)
            if a.block.kind == "finish"
            or any(abs(r.unit - s.unit) > layout.units // 2 for r in a.new for s in a.through)
        )
        return next(closes, len(acts))

    # -- finished places -------------------------------------------------------------------------

    @cached_property
    def _index(self) -> dict[tuple[str, int, int], int]:
        return {(c.role, c.index, c.unit): at for at, c in enumerate(self.laid.rings)}

    @cached_property
    def near_closing(self) -> int:
        """How many units on either side of the closing are in the hand."""
        layout = self.work.layout
        return min(layout.reach + 2, (layout.units + 1 - layout.reach) // 2)

    def _own(self, ring: Ring) -> tuple[int, int] | None:
        """Number of a ring's copy in the cell and how many cycles on; None for no such ring."""
        unit = ring.unit
        if self.round_by:
            if unit > self.work.layout.units - self.near_closing:
                pass
            elif unit < self.near_closing:
                unit += self.round_by
            else:
                return None
        far, rest = divmod(unit - self.laid.origin, self.laid.cycle[1])
        at = self._index.get((ring.role, ring.index, rest))
        return None if at is None else (at, far)

    def _copy(self, ring: Ring) -> tuple[int, int] | None:
        """The same, or of the copy that it stands for."""
        return self._own(ring) or self.stood.get(ring)

    def _placed(self, ring: int, far: int) -> Round:
        """A copy of a ring of the cell as it lies in the finished chain."""
        number, coarse = Multiple(self.form.units[0]).split((far,))
        shown = self.form.shown
        one = replace(shown, rings=(shown.rings[number * len(self.laid.rings) + ring],))
        (placed,) = copies(one, [coarse])
        return Round(placed.centre, placed.normal, placed.mean_radius, placed.wire)

    @cached_property
    def homes(self) -> dict[Ring, Round]:
        """Where each ring of the work lies in the finished chain; parts have no place."""
        parts = self.view.recipe.part_roles
        rings = [r for r in self.work.placed_by if r.role not in parts]
        found = {r: self._placed(*at) for r in rings if (at := self._own(r)) is not None}
        taken = {at for r in rings if (at := self._own(r)) is not None}
        for ring in rings:
            if ring not in found and (place := self._stand_in(ring, taken, found)) is not None:
                found[ring] = place
        return found

    def _size(self, ring: Ring) -> tuple[float, float]:
        """Mean radius and wire, mm."""
        size = self.view.weave.size(ring.role, ring.index)
        if size is None:
            raise NoPlace(NO_SIZE.format(rings=ring.role))
        wire, inside = size
        return (inside + wire) / 2, wire

    def _ever(self, ring: Ring) -> set[Ring]:
        """All rings that a ring is linked with at any time."""
        undone = {b if a == ring else a for a, b, *_ in self.work.removed if ring in (a, b)}
        return undone | set(self.work.links.get(ring, ()))

    def _stand_in(
        self, ring: Ring, taken: set[tuple[int, int]], homes: Mapping[Ring, Round]
    ) -> Round | None:
        """The place of the copy that a ring stands for: one linked with the same rings.

        A ring of another size hangs there by the same side. A ring linked with none lies about
        those it is closed around.
        """
        radius, wire = self._size(ring)
        linked = [r for r in self._ever(ring) if r in homes]
        meets = {at for r in linked if (at := self._copy(r)) is not None}
        if not meets:
            return self._around(ring, radius, wire)
        fars = [far for _, far in meets]
        for far in range(min(fars) - 3, max(fars) + 4):
            for copy in range(len(self.laid.rings)):
                if (copy, far) in taken or self._neighbours(copy, far) & taken != meets:
                    continue
                taken.add((copy, far))
                self.stood[ring] = copy, far
                place = self._placed(copy, far)
                lie = [(homes[r], at) for r in linked if (at := self._copy(r)) is not None]
                near = np.mean([r.centre for r, _ in lie], axis=0)
                moved = near - np.mean([self._placed(*at).centre for _, at in lie], axis=0)
                away = np.array(place.centre) + moved - near
                more = away / max(float(np.linalg.norm(away)), 1e-9) * (radius - place.mean_radius)
                centre = np.array(place.centre) + moved + more
                return Round(_vector(centre), place.normal, radius, wire)
        return None

    def _neighbours(self, ring: int, far: int) -> set[tuple[int, int]]:
        found = set()
        for a, b, (shift,) in self.laid.cell.pairs():
            if a == ring:
                found.add((b, far + shift))
            if b == ring:
                found.add((a, far - shift))
        return found

    def _around(self, ring: Ring, radius: float, wire: float) -> Round | None:
        held = [self._placed(*at) for r in self._held(ring) if (at := self._copy(r)) is not None]
        if not held:
            return None
        middle = np.mean([r.centre for r in held], axis=0)
        return Round(_vector(middle), (1.0, 0.0, 0.0), radius, wire)

    def goes_round(self) -> bool:
        """Have all rings that close the loop their places, linked as the work links them?"""
        late = {r for a in self.work.acts[self.ends :] for r in a.new}
        if any(r not in self.homes for r in late - self._parts):
            return False
        at = {r: copy for r in self.homes if (copy := self._copy(r)) is not None}
        return len(set(at.values())) == len(at) and all(
            {at[o] for o in self._ever(r) if o in at}
            == self._neighbours(*copy) & set(at.values())
            for r, copy in at.items()
        )

    @cached_property
    def _parts(self) -> set[Ring]:
        parts = self.view.recipe.part_roles
        return {r for r in self.work.placed_by if r.role in parts}

    def _held(self, ring: Ring) -> tuple[Ring, ...]:
        return self.work.acts[self.work.placed_by[ring]].held

    # -- steps -----------------------------------------------------------------------------------

    def carry(self, number: int, act: Act, shown: bool) -> State | None:
        """Carry an act out; the state after it, None where none is asked for. Raises `NoPlace`."""
        kind = act.step.kind
        before = dict(self.lie)
        new = tuple(r for r in act.new if r.role not in self.view.recipe.part_roles)
        handled = tuple(r for r in act.handled if r in self.lie)
        moved: tuple[tuple[Ring, Move], ...] = ()
        if kind == "fold back" or (self.spread and kind in ("add", "close", "reopen")):
            self._rest()
        if new:
            self._put_in(number, act, new, shown)
        if kind == "take out":
            for ring in handled:
                del self.lie[ring]
        elif kind == "fold back":
            moved = tuple((r, "fold") for r in handled)
        elif kind == "spread":
            if shown and len(handled) > 1:
                self._spread(number, handled)
            self.spread = True
            moved = tuple((r, "spread") for r in handled)
        elif kind == "turn over":
            self.turned = not self.turned
            moved = tuple((r, "turn") for r in self.lie)
        if not shown:
            return None
        if not self._right(number):
            # what is held open gives way first
            self._rest()
            if not self._right(number):
                self.lie = before
                raise NoPlace(CROWDED)
        return State(
            act.step.number,
            act.row,
            act.unit,
            tuple((r, _over(at) if self.turned else at) for r, at in self.lie.items()),
            new,
            tuple(r for r in (handled if kind == "hold" else act.through) if r in self.lie),
            moved,
        )

    def _rest(self) -> None:
        """All rings go to their finished places."""
        self.lie = {r: self.homes[r] for r in self.lie}
        self.spread = False

    def _put_in(self, number: int, act: Act, new: Sequence[Ring], shown: bool) -> None:
        if without := [r for r in new if r not in self.homes]:
            names = " and ".join(dict.fromkeys(r.role for r in without))
            raise NoPlace(NO_PLACE.format(rings=names))
        self.lie |= {r: self.homes[r] for r in new}
        strangers = [r for r in new if self._own(r) is None]
        if strangers:
            table = _Table(self, number)
            free = [table.rings.index(r) for r in strangers]
            table.keep(parted(table.shape, table.layout, free), strangers)
            self.homes.update({r: self.lie[r] for r in strangers})
        if not shown:
            return
        if swung := [r for r in new if r in self._later(number, "fold back")]:
            self._run_back(number, swung)
        elif len(together := [r for r in new if r in self._later(number, "spread")]) > 1:
            self._lay_together(number, together)

    def _later(self, number: int, kind: str) -> set[Ring]:
        """The rings that the steps after an act fold or spread."""
        ahead = self.work.acts[number + 1 :]
        return {r for a in ahead if a.step.kind == kind for r in a.handled}

    def _run_back(self, number: int, swung: Sequence[Ring]) -> None:
        """Rings to be folded as they lie before: pulled ahead by their tips."""
        now = _Table(self, number).layout
        self._rest()
        table = _Table(self, number)
        home, at = table.layout, [table.rings.index(r) for r in swung]
        swings = [Swing(k, home.centres[k] + table.arm(k), _X) for k in at]
        table.move(at, swings, now)

    def _lay_together(self, number: int, rings: Sequence[Ring]) -> None:
        """Rings to be spread as they lie before: their tips drawn together."""
        table = _Table(self, number)
        at = [table.rings.index(r) for r in rings]
        tips = [table.layout.centres[k] + table.arm(k) for k in at]
        way = table.asunder(at)
        middle = float(np.mean(tips, axis=0) @ way)
        table.move(at, [Pull(k, _X, way, middle) for k in at], table.layout)

    def _spread(self, number: int, handled: Sequence[Ring]) -> None:
        """The tips of rings pulled apart."""
        table = _Table(self, number)
        at = [table.rings.index(r) for r in handled]
        way, tips = table.asunder(at), [table.layout.centres[k] + table.arm(k) for k in at]
        share = np.linspace(-0.5, 0.5, len(at)) * _APART * float(table.shape.wires[at].mean())
        pulls = [
            Pull(k, _X, way, float(tip @ way + more))
            for k, tip, more in zip(at, tips, share, strict=True)
        ]
        table.move(at, pulls, table.layout)

    def _right(self, number: int) -> bool:
        """Are the links those of the work after an act, and do no wires overlap?"""
        if not self.lie:
            return True
        table = _Table(self, number)
        every = range(len(table.rings))
        return (
            links_right(table.shape, table.layout)
            and overlap(table.shape, table.layout, every) <= _OVERLAP
        )

    def linked(self, number: int) -> list[tuple[Ring, Ring]]:
        """The links between rings in the work once an act is done."""
        pairs = {
            (min(a, b), max(a, b))
            for a in self.lie
            for b, made in self.work.links.get(a, {}).items()
            if b in self.lie and made <= number
        }
        pairs |= {
            (min(a, b), max(a, b))
            for a, b, made, undone in self.work.removed
            if a in self.lie and b in self.lie and made <= number < undone
        }
        return sorted(pairs)


class _Table:
    """The rings in the hand as a finite piece that can be moved."""

    def __init__(self, hand: _Hand, number: int) -> None:
        self.hand = hand
        self.rings = list(hand.lie)
        where = {r: k for k, r in enumerate(self.rings)}
        lie = [hand.lie[r] for r in self.rings]
        links = tuple(CellLink(where[a], where[b], ()) for a, b in hand.linked(number))
        sizes = tuple(CellRing("", 2 * r.mean_radius - r.wire, r.wire) for r in lie)
        self.shape: Shape = shape_of(Cell(sizes, links, 0))
        self.layout = Layout(
            np.array([r.centre for r in lie]) / self.shape.unit,
            np.array([r.normal for r in lie]),
            np.zeros(0),
        )

    def arm(self, ring: int) -> Floats:
        """From a ring's centre to its place farthest along the work."""
        n = self.layout.normals[ring]
        ahead = _X - n[0] * n
        arm: Floats = ahead / max(float(np.linalg.norm(ahead)), 1e-9) * self.shape.radii[ring]
        return arm

    def asunder(self, rings: Sequence[int]) -> Floats:
        """The way from the first ring's tip to the last's; across both where they lie close."""
        first, last = rings[0], rings[-1]
        way: Floats = self.layout.centres[last] + self.arm(last)
        way = way - self.layout.centres[first] - self.arm(first)
        if np.linalg.norm(way) < 2 * self.shape.wires[first]:
            one, other = self.layout.normals[first], self.layout.normals[last]
            flat = one + other * (1 if one @ other > 0 else -1)
            way = flat * (1 if flat @ way >= 0 else -1)
        return way / float(np.linalg.norm(way))

    def move(self, rings: Sequence[int], pulls: Sequence[Pull | Swing], rest: Layout) -> None:
        """Pull rings, with those linked with them on springs to `rest`, if that comes out right."""
        s = self.shape
        pairs = list(zip(s.link_a.tolist(), s.link_b.tolist(), strict=True))
        beside = {y for a, b in pairs for x, y in ((a, b), (b, a)) if x in rings}
        free = [*rings, *sorted(beside - set(rings))]
        after = pulled(s, self.layout, rest, free, pulls)
        if links_right(s, after) and overlap(s, after, free) <= _OVERLAP:
            self.keep(after, [self.rings[k] for k in free])

    def keep(self, layout: Layout, rings: Iterable[Ring]) -> None:
        """Put rings where a layout says."""
        for ring in rings:
            at = self.rings.index(ring)
            centre = _vector(layout.centres[at] * self.shape.unit)
            normal = _vector(layout.normals[at])
            self.hand.lie[ring] = replace(self.hand.lie[ring], centre=centre, normal=normal)


def _vector(v: Floats) -> tuple[float, float, float]:
    return float(v[0]), float(v[1]), float(v[2])


def _over(ring: Round) -> Round:
    """The ring as it lies once the work is turned over about its length."""
    (x, y, z), (p, q, r) = ring.centre, ring.normal
    return replace(ring, centre=(x, -y, -z), normal=(p, -q, -r))
