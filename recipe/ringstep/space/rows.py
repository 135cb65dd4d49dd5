"""Sheets and tubes worked place by place: rings laid out, hung and set upright as steps say.

Axes: x along the row, the work hangs down -y, z to the eye; a tube is the same in the frame of
each place, with z outwards. Lengths are in units of the largest mean radius.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ringstep.language.syntax import PLACING
from ringstep.space.circles import Bools
from ringstep.space.motion import Hand, jam, part, rounds, settle
from ringstep.space.near import Floats
from ringstep.space.on_table import Table, table_of
from ringstep.space.set_in import Drawn, exact, put_in, room
from ringstep.space.state import Jam, State, Worked
from ringstep.weave.piece import Weave
from ringstep.weave.work import Act, Ring

_PITCH = 1.05  # of rings on a rod
_ROOMY = 1.25  # wires between neighbours on the rod
_STICK = 1.7  # least radius of what a tube is worked over
_ROD = 3.0  # spring of the rod
_TABLE = 0.25  # spring of the table
_LEAD = 0.3  # force that leads two groups together
_FINGERS = 0.15  # spring that keeps a hanging row as wide as the first
_WEIGHT = 0.12
_ONE_GROUP = 0.85  # of the sum of two radii: nearer centres are one group
_NEAR, _NEAR_FLAT = 3.6, 2.6  # rings farther than this are held still, hung and on the table
_GROW, _ROUNDS, _EVEN = 25, 45, 20
_DRAWS, _TRIES = 1500, 4
_FEW, _LEAST_ROWS, _LEAST_PLACES = 5, 3, 4  # rows and places that stand for all
MANY = 90  # rings of a sheet that are still worked in a few seconds


@dataclass(slots=True, eq=False)
class _Rows:
    weave: Weave
    rng: np.random.Generator
    unit: float  # mm
    round_by: float  # radius of the tube, 0 for a sheet
    turn: float  # about the tube for each length along the row
    acts: tuple[Act, ...]
    table: Table
    hand: Hand = field(default_factory=Hand)
    number: dict[Ring, int] = field(default_factory=dict)
    along: dict[Ring, float] = field(default_factory=dict)  # of rings that hang: in the first row
    states: list[State] = field(default_factory=list)
    jams: list[Jam] = field(default_factory=list)
    hung: bool = False  # from a first row on a rod, else on the table

    # -- where it is -----------------------------------------------------------------------------

    def frame(self, at: Floats) -> Floats:
        """Rows: along the row, up, to the eye (of a tube: outwards) at a place."""
        if not self.round_by:
            return np.eye(3)
        out = np.array([at[0], 0.0, at[2]])
        out /= max(float(np.linalg.norm(out)), 1e-9)
        up = np.array([0.0, 1.0, 0.0])
        return np.array([np.cross(up, out), up, out])

    def bent(self, flat: Floats) -> Floats:
        """A point (x, y, z) of the flat sheet bent round the tube."""
        if not self.round_by:
            return flat
        angle, out = flat[0] * self.turn, self.round_by + flat[2]
        return np.array([out * np.sin(angle), flat[1], out * np.cos(angle)])

    def sizes(self, ring: Ring) -> tuple[float, float]:
        """Mean radius and wire."""
        wire, inside = self.weave.size(ring.role, ring.index) or (0.0, 0.0)
        return (inside + wire) / 2 / self.unit, wire / self.unit

    # -- steps -----------------------------------------------------------------------------------

    def work(self, past_jams: bool) -> None:
        """Carry the acts out until one cannot be, or one jams."""
        for at, act in enumerate(self.acts):
            if self.jams and not past_jams:
                return
            if act.skipped or (act.step.kind in PLACING and not act.new):
                continue
            if act.new and not act.through:
                if act.block.kind == "first row":
                    self.hung = True
                    self.on_the_rod(act)
                else:
                    self.lay_down(at, act)
            elif act.new:
                if not self.add(act):
                    return
            elif act.block.kind == "row end":
                self.ease(self.all_free(), _EVEN)
            self.record(act)

    def record(self, act: Act) -> None:
        rings = rounds(self.hand, self.number, self.unit)
        self.states.append(State(act.step.number, act.row, act.unit, rings, act.new, act.through))

    def all_free(self) -> Bools:
        return np.ones(len(self.hand), dtype=bool)

    def on_the_rod(self, act: Act) -> None:
        """One place of the first row: all lean alike, side by side on a rod."""
        for nth, ring in enumerate(act.new):
            radius, wire = self.sizes(ring)
            lean = np.arcsin(min(0.95, _ROOMY * len(act.new) * wire / _PITCH))
            normal = np.array([np.sin(lean), 0.0, np.cos(lean)])
            beside = (nth - (len(act.new) - 1) / 2) * 1.1 * wire
            self.along[ring] = (act.unit - 1) * _PITCH
            at = self.bent(np.array([self.along[ring], 0.0, 0.0]))
            frame = self.frame(at)
            normal = normal @ frame
            number = self.hand.lay(at + beside * normal, normal, radius, wire, wire)
            self.hand.spring[number] = _ROD * np.eye(3)
            self.number[ring] = number
        self.ease(self.near(act), 10)

    def lay_down(self, number: int, act: Act) -> None:
        """Flat on the table, touching the rings it will be joined to."""
        for heap in self.table.heaps[number]:
            at = self.bent(np.append(self.table.at[heap], 0.0))
            frame = self.frame(at)
            for nth, ring in enumerate(heap):
                radius, wire = self.sizes(ring)
                up = (nth - (len(heap) - 1) / 2) * 1.05 * wire
                placed = self.hand.lay(at + up * frame[2], frame[2].copy(), radius, wire, wire)
                self.hand.spring[placed] = _TABLE * np.outer(frame[2], frame[2])
                self.number[ring] = placed
        self.ease(self.near(act), 10)

    def add(self, act: Act) -> bool:
        """Hang the new rings, or set them upright; False where one has no place to go in."""
        through = [self.number[r] for r in act.through]
        middle = self.hand.centres[through].mean(axis=0)
        frame = self.frame(middle)
        groups = self.groups(through, frame)
        first: int | None = None
        for ring in act.new:
            radius, wire = self.sizes(ring)
            best = None
            for _ in range(_TRIES):
                if max(groups) == 0:
                    drawn = self.drawn_hung(through, frame, radius, wire, first)
                else:
                    drawn = self.drawn_upright(through, groups, frame, radius, wire, first)
                best = self.best(drawn, through, groups, radius)
                if best is not None:
                    break
                self.bring(act, through, groups)
            if best is None:
                self.stuck(act, ring, None)
                return False
            number = put_in(self.hand, drawn.centres[best], drawn.normals[best], radius, wire)
            self.number[ring] = number
            if self.hung:
                self.along[ring] = self.place_along(act)
                at = self.bent(np.array([self.along[ring], 0.0, 0.0]))
                kept = self.frame(at)[[0, 2] if self.round_by else [0]]
                self.hand.spring[number] = _FINGERS * kept.T @ kept
                self.hand.rest[number] = at
            else:
                z = self.frame(self.hand.centres[number])[2]
                self.hand.spring[number] = _TABLE * np.outer(z, z)
                self.hand.rest[number] = middle
            first = number if first is None else first
            self.ease(self.near(act), _ROUNDS, _GROW)
        self.judge(act)
        return True

    def place_along(self, act: Act) -> float:
        """Where along the first row a ring hangs, by what it hangs from where it lacks nothing."""
        whole = act
        if act.dropped:
            alike = (o for o in self.acts if o.row == act.row and o.step == act.step)
            whole = next((o for o in alike if o.through and not o.dropped), act)
            if whole is act and self.weave.layout.shape:
                return self.beside(act)
        above = np.array([self.along[r] for r in whole.through if r in self.along] or [0.0])
        if self.round_by:  # the first of a tube follows its last
            way = 2 * np.pi / self.turn
            above -= way * np.round((above - above[0]) / way)
        return float(above.mean()) + (act.unit - whole.unit) * _PITCH

    def beside(self, act: Act) -> float:
        """The same where no place of its row lacks nothing: as it would hang in another row."""
        way = self.weave.layout.way
        alike = (o for o in self.acts if o.step == act.step and way(o.row) == way(act.row))
        whole = next((o for o in alike if o.through and not o.dropped), act)
        seen = [r.unit - whole.unit for r in whole.through]
        middle = sum(seen) / max(1, len(seen))
        at = [
            self.along[r] + (middle - (r.unit - act.unit)) * _PITCH
            for r in act.through
            if r in self.along
        ]
        return sum(at) / len(at) if at else 0.0

    def groups(self, through: Sequence[int], frame: Floats) -> list[int]:
        """0 or 1 for each ring gone through: rings that lie over one another are one group."""
        seen = self.hand.centres[through] @ frame[:2].T
        apart = np.linalg.norm(seen[:, None] - seen[None], axis=2)
        radii = self.hand.radii[through]
        together = apart < _ONE_GROUP * (radii[:, None] + radii[None])
        mine = {0}
        while True:
            more = {k for m in mine for k in np.nonzero(together[m])[0].tolist()} - mine
            if not more:
                return [0 if k in mine else 1 for k in range(len(through))]
            mine |= more

    def seen(self, rings: Sequence[int]) -> Floats:
        """Normals of rings, each in the frame of its own place."""
        hand = self.hand
        return np.array([self.frame(hand.centres[k]) @ hand.normals[k] for k in rings])

    def drawn_hung(
        self, through: Sequence[int], frame: Floats, radius: float, wire: float, first: int | None
    ) -> Drawn:
        """Circles below the rings gone through, leaning against them; half beside `first`."""
        rng, hand = self.rng, self.hand
        local = self.seen(through)
        local *= np.where(local[:, 2:] < 0, -1.0, 1.0)
        against = -1.0 if float(local[:, 0].mean()) > 0 else 1.0
        lean = against * np.radians(rng.uniform(10, 60, _DRAWS))
        tip = np.radians(rng.normal(0, 8, _DRAWS))
        normals = np.stack(
            [np.sin(lean) * np.cos(tip), np.sin(tip), np.cos(lean) * np.cos(tip)], axis=1
        )
        below = rng.uniform(0.2, 1.7, _DRAWS) * radius
        offset = np.stack(
            [rng.uniform(-0.5, 0.5, _DRAWS), -below, rng.uniform(-0.3, 0.3, _DRAWS)], axis=1
        )
        centres = hand.centres[through].mean(axis=0) + offset @ frame
        drawn = Drawn(centres, normals @ frame)
        return drawn if first is None else self.half_beside(drawn, first, wire)

    def drawn_upright(
        self,
        through: Sequence[int],
        groups: Sequence[int],
        frame: Floats,
        radius: float,
        wire: float,
        first: int | None,
    ) -> Drawn:
        """Circles between two groups, in the plane of the line between them and the eye's line."""
        rng, hand = self.rng, self.hand
        sides = [
            np.mean([hand.centres[k] for k, g in zip(through, groups, strict=True) if g == side], 0)
            for side in (0, 1)
        ]
        line = sides[1] - sides[0]
        across_line = np.cross(frame[2], line)
        across_line /= np.linalg.norm(across_line)
        normals = across_line + rng.normal(0, 0.2, (_DRAWS, 3))
        normals /= np.linalg.norm(normals, axis=1, keepdims=True)
        middle = (sides[0] + sides[1]) / 2
        centres = middle + rng.normal(0, 0.25 * radius, (_DRAWS, 3))
        drawn = Drawn(centres, normals)
        return drawn if first is None else self.half_beside(drawn, first, wire)

    def bring(self, act: Act, through: Sequence[int], groups: Sequence[int]) -> None:
        """Lead two groups that are too far apart for one ring towards each other."""
        if max(groups) == 0:
            return
        side = np.array(groups) == 1
        at = self.hand.centres[through]
        line = at[side].mean(axis=0) - at[~side].mean(axis=0)
        force = np.zeros((len(self.hand), 3))
        force[through] = np.where(side, -_LEAD, _LEAD)[:, None] * line / np.linalg.norm(line)
        free = self.near(act)
        free[through] = True
        settle(self.hand, free, force, 10)
        part(self.hand, free)

    def half_beside(self, drawn: Drawn, first: int, wire: float) -> Drawn:
        half, rng, hand = _DRAWS // 2, self.rng, self.hand
        beside = rng.uniform(0.6, 1.3, half) * wire * rng.choice([-1.0, 1.0], half)
        centres, normals = drawn.centres.copy(), drawn.normals.copy()
        centres[:half] = hand.centres[first] + beside[:, None] * hand.normals[first]
        centres[:half] += rng.normal(0, 0.03, (half, 3))
        normals[:half] = hand.normals[first] + rng.normal(0, 0.05, (half, 3))
        normals /= np.linalg.norm(normals, axis=1, keepdims=True)
        return Drawn(centres, normals)

    def best(
        self,
        drawn: Drawn,
        through: Sequence[int],
        groups: Sequence[int],
        radius: float,
    ) -> int | None:
        """The roomiest circle that passes the groups as it should: one way through each."""
        hand = self.hand
        right, signs = exact(hand, drawn, radius, through)
        to_eye = np.where(self.seen(through)[:, 2] < 0, -1, 1)
        signs = signs * to_eye * np.where(np.array(groups) == 1, -1, 1)
        right = right[(signs == signs[:, :1]).all(axis=1)] if len(right) else right
        if not len(right):
            return None
        clear = room(hand, Drawn(drawn.centres[right], drawn.normals[right]), radius)
        if clear.max() <= 0:
            return None
        return int(right[int(np.argmax(clear))])

    # -- motion ----------------------------------------------------------------------------------

    def near(self, act: Act) -> Bools:
        new = [self.number[r] for r in act.new if r in self.number]
        apart = self.hand.centres[:, None] - self.hand.centres[new][None]
        reach = _NEAR if self.hung else _NEAR_FLAT
        close: Bools = (np.linalg.norm(apart, axis=2) < reach).any(axis=1)
        return close

    def ease(self, free: Bools, rounds: int, grow: int = 0) -> None:
        force = np.zeros((len(self.hand), 3))
        if self.hung:
            force[:, 1] = -_WEIGHT
        settle(self.hand, free, force, rounds, grow)
        part(self.hand, free)

    def judge(self, act: Act) -> None:
        """Take down by how much wires overlap after the step."""
        self.stuck(act, act.new[0], part(self.hand, self.near(act)))

    def stuck(self, act: Act, ring: Ring, worst: float | None) -> None:
        if (found := jam(self.weave, act, ring, worst)) is not None:
            self.jams.append(found)


def few_rows(weave: Weave) -> Weave:
    """The same sheet with few rows of few places, which stand for it; a tube goes whole round.

    Nothing of its shape is left: that lies in all of its rows.
    """
    piece = weave.recipe.piece
    if piece is None or not weave.layout.flat:
        return weave
    window = weave.work.layout
    most = window.units if weave.layout.kind == "sheet" else weave.layout.units
    rows, units = min(window.rows, _FEW), min(most, _FEW)
    each = len(weave.work.placed_by) / max(1, window.rows * window.units)
    if weave.layout.kind == "tube":
        units = most
        rows = max(min(rows, _LEAST_ROWS), min(rows, _FEW - 1, int(MANY / each / units)))
    while each * rows * units > MANY and weave.layout.kind == "sheet":
        if max(rows - _LEAST_ROWS, units - _LEAST_PLACES) <= 0:
            break
        rows, units = (rows, units - 1) if units > max(rows, _LEAST_PLACES) else (rows - 1, units)
    small = replace(piece, rows=rows, units=units)
    return Weave(replace(weave.recipe, piece=small, shape=()), weave.variant, True)


def _of_rings(act: Act, parts: Collection[str]) -> Act:
    """The act without bars and beads, which have no size and no place in the picture."""
    new, through = (
        tuple(r for r in some if r.role not in parts) for some in (act.new, act.through)
    )
    stops = tuple(tuple(r for r in stop if r.role not in parts) for stop in act.stops)
    return act._replace(new=new, through=through, stops=stops)


def work_rows(weave: Weave, seed: int = 0, past_jams: bool = False) -> Worked:
    """Carry out the acts of a sheet or a tube (as laid out in `weave.work`, see `few_rows`).

    It ends with the first step that jams; `past_jams`: only where a ring has no place to go in.
    Every ring must have a size.
    """
    work = weave.work
    sizes = {r: weave.size(r.role, r.index) or (0.0, 0.0) for r in work.placed_by}
    unit = max((wire + inside) / 2 for wire, inside in sizes.values())

    def size(ring: Ring) -> tuple[float, float]:
        wire, inside = sizes[ring]
        return (inside + wire) / 2 / unit, wire / unit

    tube = work.layout.kind == "tube"
    acts = tuple(_of_rings(act, weave.recipe.part_roles) for act in work.acts)
    table = table_of(acts, size, work.layout.way, tube)
    round_by = turn = 0.0
    if tube and table.round_ > 2:  # rims of flat rings turned by 2 half touch
        half = np.pi / table.round_
        round_by = (2 * np.cos(half) + table.touch - 2) / 2 / np.sin(half)
        turn = 2 * half / table.touch
    elif tube:
        half = np.pi / work.layout.units
        round_by, turn = max(_STICK, _PITCH / 2 / half), 2 * half / _PITCH
    rng = np.random.default_rng([seed, 1])
    rows = _Rows(weave, rng, unit, round_by, turn, acts, table)
    rows.work(past_jams)
    return Worked(tuple(rows.states), tuple(rows.jams))
