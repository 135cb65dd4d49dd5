"""Written-out units against their siblings: the same links, lays and moves, unit after unit.

Comes in: the work on a window. Goes out: a `Difference` for each written-out unit that is not like
most of its siblings, naming the exact links that are missing or extra.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from math import lcm
from typing import Literal

from ringstep.language.syntax import Block, Step
from ringstep.language.tree import Tree
from ringstep.weave.layout import reach_of
from ringstep.weave.work import Act, Ring, Work

#: A link as seen from its unit: own ring, other ring, how many units back the other stands.
UnitLink = tuple[tuple[str, int], tuple[str, int], int]


@dataclass(frozen=True)
class Difference:
    """A written-out unit unlike its siblings.

    step: its step in which the difference lies; twin: the like step of a sibling.
    missing, extra: links it lacks or has too many; even: True where neither side is in the
    majority, so that either could be wrong. kind: what differs.
    """

    kind: Literal["links", "lay", "moves", "rings"]
    block: Block
    sibling: Block
    step: Step | None
    twin: Step | None
    missing: tuple[UnitLink, ...]
    extra: tuple[UnitLink, ...]
    even: bool
    weight: int


@dataclass(frozen=True)
class _Unit:
    """What one unit comes to.

    moves: what each of its moves handles, and what the unit placed and reopened before; movers:
    their steps. snagged: a move finds no ring.
    """

    block: Block
    links: dict[UnitLink, Step]
    to_start: Counter[tuple[str, int]]
    lays: dict[tuple[str, int], dict[str, tuple[object, object]]]
    moves: tuple[tuple[tuple[object, ...], frozenset[object]], ...]
    movers: tuple[Step, ...]
    rings: frozenset[tuple[str, int]]
    steps: dict[tuple[str, int], Step]
    snagged: bool
    early: bool
    back: int
    ahead: int

    def links_within(self, other: _Unit) -> set[UnitLink]:
        """Its links to units that both it and the other have on the piece before and behind."""
        back, ahead = min(self.back, other.back), min(self.ahead, other.ahead)
        return {link for link in self.links if -ahead <= link[2] <= back}


def _unit(acts: list[Act], starts: bool, reach: int, last: int, snagged: frozenset[Block]) -> _Unit:
    links: dict[UnitLink, Step] = {}
    to_start: Counter[tuple[str, int]] = Counter()
    lays: dict[tuple[str, int], dict[str, tuple[object, object]]] = {}
    moves: list[tuple[tuple[object, ...], frozenset[object]]] = []
    handling: list[Step] = []
    done: set[object] = set()
    steps: dict[tuple[str, int], Step] = {}
    for act in acts:
        for ring in act.movers:
            own = (ring.role, ring.index)
            steps[own] = act.step
            if act.owes_lay and act.side and act.step.lay and act.step.lay.value != "varies":
                lays.setdefault(own, {})["lay"] = act.step.lay.value, act.side
            at_start = starts and any(o.unit == 0 for o in act.through)  # named otherwise, or fewer
            if act.stops and not act.dropped and not at_start:
                places = {frozenset(_seen(act, stop)) for stop in act.stops}
                lays.setdefault(own, {})["stops"] = places, places
            if act.toward and act.step.toward:
                lays.setdefault(own, {})["toward"] = act.step.toward.value, act.toward
            for other in act.through:
                back = act.unit - other.unit
                links[(own, (other.role, other.index), back)] = act.step
                if starts and other.unit == 0:
                    to_start[own] += 1
        if act.step.kind not in ("add", "close", "reopen"):
            handled = sorted(_seen(act, act.handled))
            moves.append(((act.step.kind, *handled), frozenset(done)))
            if act.toward and act.step.toward:
                for ring in act.handled:
                    own = (f"{act.step.kind} {ring.role}", ring.index)
                    steps[own] = act.step
                    lays.setdefault(own, {})["toward"] = act.step.toward.value, act.toward
            handling.append(act.step)
        done.update((act.step.kind, r.role, r.index) for r in act.movers)
    rings = frozenset((r.role, r.index) for a in acts for r in a.new)
    return _Unit(
        block=acts[0].block,
        links=links,
        to_start=to_start,
        lays=lays,
        moves=tuple(moves),
        movers=tuple(handling),
        rings=rings,
        steps=steps,
        snagged=acts[0].block in snagged,
        early=not starts and acts[0].unit <= reach,
        back=acts[0].unit - (not starts),
        ahead=last - acts[0].unit,
    )


def _seen(act: Act, rings: tuple[Ring, ...]) -> list[tuple[str, int, int]]:
    """Rings as seen from the unit of an act."""
    return [(r.role, r.index, act.unit - r.unit) for r in rings]


def _like(a: _Unit, b: _Unit) -> bool:
    """The same links; those into the start only need to be as many, since its rings may be named
    otherwise."""
    if a.links_within(b) == b.links_within(a):
        return True
    if not (a.to_start or b.to_start):
        return False
    depth = {own: set() for own in a.rings | b.rings}  # type: ignore[var-annotated]
    low, high = (a, b) if a.to_start else (b, a)
    into = [x for x in low.links if x[0] in low.to_start]
    for own, _, back in into:
        depth.setdefault(own, set()).add(back)
    rest_low = Counter((own, back) for own, _, back in into)
    rest_high = Counter(
        (own, back) for own, _, back in high.links if own in low.to_start and back in depth[own]
    )
    return rest_low == rest_high and (
        low.links.keys() - set(into)
        == {x for x in high.links if not (x[0] in low.to_start and x[2] in depth[x[0]])}
    )


def sibling_differences(work: Work, recipe: Tree) -> list[Difference]:
    """Compare every written-out unit with its siblings; see the module."""
    if work.layout.written == 0:
        return []
    starts = work.layout.block("start") is not None
    by_unit: dict[int, list[Act]] = defaultdict(list)
    for act in work.acts:
        if act.block.kind == "unit" and not act.block.differs and act.step.kind != "take out":
            by_unit[act.unit].append(act)
    every = next((p.units for p in recipe.periods if p.variant is None), 1) or 1
    every = lcm(every, len(work.layout.order) or 1)  # units are like those of the same turn
    reach = reach_of(s for b in recipe.blocks if b.kind == "unit" for s in b.steps)
    snagged = frozenset(s.block for s in work.snags if s.step.kind not in ("add", "close"))
    units = {
        n: _unit(acts, starts, reach, max(by_unit), snagged) for n, acts in sorted(by_unit.items())
    }
    found: list[Difference] = []
    for rest in range(min(every, len(units))):
        group = [u for n, u in units.items() if n % every == (rest + 1) % every]
        found += _odd_ones(group)
    return found


def _odd_ones(group: list[_Unit]) -> list[Difference]:
    """The units of a group that are unlike most of it, each with what differs first."""
    found = []
    for what in ("rings", "links", "lay", "moves"):
        classes: list[list[_Unit]] = []

        def rank(units: list[_Unit], what: str = what) -> tuple[int, bool]:
            return -_votes(units, what), all(isinstance(u.block.label, int) for u in units)

        # Units that reach into the start are only roughly comparable, so they choose their class
        # last, and among the largest.
        for unit in sorted(group, key=lambda u: bool(u.to_start)):
            if what == "moves" and (unit.early or unit.snagged):
                continue
            classes.sort(key=rank)
            home = next((c for c in classes if all(_same(u, unit, what) for u in c)), None)
            if home is None:
                classes.append([unit])
            else:
                home.append(unit)
        if len(classes) < 2:
            continue
        classes.sort(key=rank)
        even = _votes(classes[0], what) == _votes(classes[1], what)
        for odd in (u for c in classes[1:] for u in c):
            if isinstance(odd.block.label, int):
                # Where a lay is left out here and there, not all of a class differ from it.
                others = [u for u in reversed(classes[0]) if not _same(u, odd, what)]
                if others:
                    found.append(_difference(odd, others[0], what, even))
        if found:
            return found  # different rings bring different links: one cause, one message
    return found


def _votes(units: list[_Unit], what: str) -> int:
    """How many texts of a unit speak for their way, each once however often it is worked; one that
    leaves its lay out does not."""
    return len({u.block.span for u in units if what != "lay" or u.lays})


def _same(a: _Unit, b: _Unit, what: str) -> bool:
    if what == "rings":
        return a.rings == b.rings
    if what == "links":
        return _like(a, b)
    if what == "moves":
        return a.moves == b.moves
    # A lay that one of them leaves out is told as such, not as a difference.
    return not _laid_otherwise(a, b)


def _laid_otherwise(a: _Unit, b: _Unit) -> list[tuple[str, int]]:
    """Rings that two units lay otherwise, both by their words and as the worker sees the piece:
    where every unit turns the work over, units alike word for word are alike."""
    return [
        own
        for own in a.lays.keys() & b.lays.keys()
        if any(
            all(x != y for x, y in zip(a.lays[own][what], b.lays[own][what], strict=True))
            for what in a.lays[own].keys() & b.lays[own].keys()
        )
    ]


def _difference(odd: _Unit, most: _Unit, what: str, even: bool) -> Difference:
    missing = tuple(sorted(most.links_within(odd) - odd.links.keys()))
    extra = tuple(sorted(odd.links_within(most) - most.links.keys()))
    step = twin = None
    if what == "links":
        own = missing[0][0] if missing else extra[0][0]
        step, twin = odd.steps.get(own), most.steps.get(own)
        weight = len(missing) + len(extra)
    elif what == "rings":
        more, less = odd.rings - most.rings, most.rings - odd.rings
        step = odd.steps.get(min(more)) if more else None
        twin = most.steps.get(min(less)) if less else None
        weight = 2 * len(most.rings ^ odd.rings)
    elif what == "lay":
        own = min(_laid_otherwise(odd, most))
        step, twin = odd.steps.get(own), most.steps.get(own)
        weight = 1
    else:
        step, twin = _odd_move(odd, most)
        weight = 1
    if what not in ("links", "rings"):
        missing = extra = ()
    return Difference(what, odd.block, most.block, step, twin, missing, extra, even, weight)  # type: ignore[arg-type]


def _odd_move(odd: _Unit, most: _Unit) -> tuple[Step | None, Step | None]:
    """The move that one unit has and the other lacks, or the first that stands elsewhere."""
    mine, its = (Counter(move for move, _ in unit.moves) for unit in (odd, most))
    own = [s for (m, _), s in zip(odd.moves, odd.movers, strict=True) if m in mine - its]
    theirs = [s for (m, _), s in zip(most.moves, most.movers, strict=True) if m in its - mine]
    if own or theirs:
        return (own[-1] if own else None), (theirs[-1] if theirs else None)
    at = next(i for i, (a, b) in enumerate(zip(odd.moves, most.moves, strict=True)) if a != b)
    return odd.movers[at], most.movers[at]
