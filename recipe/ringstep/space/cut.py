"""The state after every step of a chain that repeats: the finished repeat, cut where the step ends.

In: a `Resolved` recipe, its `Laid` cycle and the `Form` found for it. Out: `State`s. A new ring is
put in at its place in the finished chain, where it overlaps nothing; a ring that is folded later is
first shown with the hand run backwards, and two rings spread apart with their tips pulled asunder.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise

import numpy as np

from ringstep.space.finished import Finished, NoPlace
from ringstep.space.fit_laid import Laid
from ringstep.space.nudge import Pull, Swing, parted
from ringstep.space.result import Form
from ringstep.space.second import ALONE, Second
from ringstep.space.state import Move, Round, Shown, State
from ringstep.space.table import Table, X
from ringstep.weave.resolved import Resolved
from ringstep.weave.work import Act, Ring, Work

_UNITS = 2  # every step is shown in so many units
_APART = 0.9  # wires by which the tips of rings are spread
_OVERLAP = 0.005  # of a wire: what overlaps more is not shown
_FAR = 100.0  # an aim that is never reached

CLOSING = "the loop is closed in another way than its units repeat, and no place was found for it"
NO_PLACE = "no place was found for {rings} where they pass through just the rings they should"
CROWDED = "the rings could not be laid out after this step without running into one another"


def cut(view: Resolved, laid: Laid, form: Form, second: Second = ALONE) -> Shown:
    """The states of a chain or loop in the order of the work, and the steps that have none.

    second: helps.
    """
    finished = Finished(view, laid, form)
    acts, asked = view.weave.work.acts, _asked(finished)
    # folding back brings all rings to rest, so what is shown after it does not ask what was before
    rests = [n + 1 for n in asked if acts[n].step.kind == "fold back"]
    late = {r for a in acts[min(rests, default=0) :] for r in a.new}
    if finished.ends < len(acts) or any(finished.own(r) is None for r in late):
        rests = []  # a place that is only found depends on how all others lie
    ends = sorted({*rests, len(acts)})
    parts = [range(*pair) for pair in pairwise([0, *ends])]
    tasks = (partial(_stretch, view, laid, form, [n for n in asked if n in part]) for part in parts)
    states: list[State] = []
    why: dict[int, str] = {}
    for some, reasons, stopped in second.in_order(tasks, len(parts)):
        states += some
        why |= reasons
        if stopped:
            break
    shown = {s.number for s in states}
    every = [a.step.number for a in acts if not a.skipped]
    other = next(iter(why.values()), CROWDED)
    missing = [(n, why.get(n, other)) for n in dict.fromkeys(every) if n not in shown]
    return Shown(tuple(states), tuple(missing), piece=tuple(finished.homes.items()))


def _asked(finished: Finished) -> list[int]:
    """The numbers of the acts after which a state is asked for."""
    often: Counter[int] = Counter()
    asked = []
    for number, act in enumerate(finished.work.acts):
        more = act.unit <= _UNITS or often[act.step.number] < _UNITS or number >= finished.ends
        if not act.skipped and (more or act.block.kind != "unit"):
            asked.append(number)
            often[act.step.number] += 1
    return asked


def _stretch(
    view: Resolved, laid: Laid, form: Form, asked: Sequence[int]
) -> tuple[list[State], dict[int, str], bool]:
    """The states after some acts, why some have none, and whether the work ended there."""
    hand = _Hand(view, Finished(view, laid, form))
    ends, closed = hand.finished.ends, hand.finished.closed()
    states: list[State] = []
    why: dict[int, str] = {}
    for number, act in enumerate(hand.work.acts[: max(asked, default=-1) + 1]):
        step = act.step.number
        if act.skipped:
            continue
        if number >= ends and closed is None:
            why[step] = CLOSING
            continue
        if number >= ends and closed is not None and hand.finished is not closed:
            hand = hand.at_closing(closed)
        try:
            state = hand.carry(number, act, number in asked and step not in why)
        except NoPlace as fault:
            why[step] = str(fault)
            return states, why, True
        if state is not None:
            states.append(state)
    return states, why, False


@dataclass
class _Hand:
    """The work in the hand.

    lie: the rings that are in it, as they lie. spread: whether some are spread just now.
    """

    view: Resolved
    finished: Finished
    lie: dict[Ring, Round] = field(default_factory=dict)
    spread: bool = False
    turned: bool = False

    @property
    def homes(self) -> dict[Ring, Round]:
        """Where rings lie in the finished chain."""
        return self.finished.homes

    def at_closing(self, closed: Finished) -> _Hand:
        """The same work with the ends of the loop brought together."""
        here = {r: closed.homes[r] for r in self.lie if r in closed.homes}
        return replace(self, finished=closed, lie=here, spread=False)

    def table(self, number: int) -> Table:
        """The rings in the hand, linked as they are once an act is done."""
        return Table(self.lie, self.linked(number), _OVERLAP)

    @property
    def work(self) -> Work:
        """The recipe carried out on the window."""
        return self.view.weave.work

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
        self._hang_parts(number, act)
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
        for ring in new:
            home = self.homes.get(ring) or self._find(self.table(number), ring, act.through)
            if home is None:
                raise NoPlace(NO_PLACE.format(rings=ring.role))
            self.homes[ring] = self.lie[ring] = home
        strangers = [r for r in new if self.finished.own(r) is None]
        if strangers:
            table = self.table(number)
            free = [table.rings.index(r) for r in strangers]
            table.keep(parted(table.shape, table.layout, free), strangers)
            self.homes.update({r: self.lie[r] for r in strangers})
        if not shown:
            return
        if swung := [r for r in new if r in self._later(number, "fold back")]:
            self._run_back(number, swung)
        elif len(together := [r for r in new if r in self._later(number, "spread")]) > 1:
            self._lay_together(number, together)

    def _hang_parts(self, number: int, act: Act) -> None:
        """Parts of a known size, closed round what goes through them; others are not shown."""
        for part in act.through:
            known = self.view.weave.round_size(part.role, part.index)
            if part.role in self.view.recipe.part_roles and part not in self.lie and known:
                # what comes later must find its place beside it
                table = Table({**self.homes, **self.lie}, (), _OVERLAP)
                home = self._find(table, part, act.movers)
                if home is not None:
                    self.homes[part] = self.lie[part] = home

    def _find(self, table: Table, ring: Ring, through: Sequence[Ring]) -> Round | None:
        """A place found for a ring that has none in the finished chain."""
        wire, inside = self.view.weave.round_size(ring.role, ring.index) or (0.0, 0.0)
        near = [r for r in through if r in self.lie]
        if not wire or not near:
            return None
        return table.place_for((inside + wire) / 2, wire, near)

    def _later(self, number: int, kind: str) -> set[Ring]:
        """The rings that the steps after an act fold or spread."""
        ahead = self.work.acts[number + 1 :]
        return {r for a in ahead if a.step.kind == kind for r in a.handled}

    def _run_back(self, number: int, swung: Sequence[Ring]) -> None:
        """Rings to be folded as they lie before: pulled ahead by their tips."""
        now = self.table(number).layout
        self._rest()
        table = self.table(number)
        home, at = table.layout, [table.rings.index(r) for r in swung]
        swings = [Swing(k, home.centres[k] + table.arm(k), X) for k in at]
        table.move(at, swings, now)

    def _lay_together(self, number: int, rings: Sequence[Ring]) -> None:
        """Rings to be spread as they lie before: their tips drawn together."""
        table = self.table(number)
        at = [table.rings.index(r) for r in rings]
        tips = [table.layout.centres[k] + table.arm(k) for k in at]
        way = table.asunder(at)
        middle = float(np.mean(tips, axis=0) @ way)
        table.move(at, [Pull(k, X, way, middle) for k in at], table.layout)

    def _spread(self, number: int, handled: Sequence[Ring]) -> None:
        """The tips of rings pulled apart."""
        table = self.table(number)
        at = [table.rings.index(r) for r in handled]
        way, tips = table.asunder(at), [table.layout.centres[k] + table.arm(k) for k in at]
        share = np.linspace(-0.5, 0.5, len(at)) * _APART * float(table.shape.wires[at].mean())
        pulls = [
            Pull(k, X, way, float(tip @ way + more))
            for k, tip, more in zip(at, tips, share, strict=True)
        ]
        table.move(at, pulls, table.layout)

    def _right(self, number: int) -> bool:
        """Are the links those of the work after an act, and do no wires overlap?"""
        return not self.lie or self.table(number).right()

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


def _over(ring: Round) -> Round:
    """The ring as it lies once the work is turned over about its length."""
    (x, y, z), (p, q, r) = ring.centre, ring.normal
    return replace(ring, centre=(x, -y, -z), normal=(p, -q, -r))
