"""How far a ring of the finished piece is from what is promised of it.

Comes in: a `Weave`, a ring, and the choices of a promise. Goes out: how many rings there are too
few or too many, counted by role or by place.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import TypeVar

from ringstep.language.promised import ByPlace, ByRole, CountOf, InAll, Lies, Meets, Wanted
from ringstep.language.syntax import Block
from ringstep.weave.piece import Weave
from ringstep.weave.work import Ring, role_indexes

T = TypeVar("T")
#: Rings as seen from one of them: role, rows further down, units on in working direction.
Near = tuple[str, int, int]


def by_place(promise: Meets | Lies) -> bool:
    """True where a promise names places."""
    return any(isinstance(wanted, ByPlace) for wanted in promise.choices)


#: Stands for any role where a promise counts rings in all.
ANY = ""


def off(choices: Iterable[Wanted], found: Mapping[str, int], places: Mapping[Near, int]) -> int:
    """How many rings there are too few or too many for the nearest of the choices.

    found: rings by role; places: the same rings by place, needed where a choice names places.
    """
    return min(_total(_gap(wanted, found, places)) for wanted in choices)


def lacking(
    choices: Iterable[Wanted], found: Mapping[str, int], places: Mapping[Near, int]
) -> tuple[Counter[str], Counter[str]]:
    """Rings by role that are missing, and those too many, for the nearest of the choices."""
    missing, extra = min((_gap(wanted, found, places) for wanted in choices), key=_total)
    return _sum((n[0], c) for n, c in missing.items()), _sum((n[0], c) for n, c in extra.items())


def _gap(
    wanted: Wanted, found: Mapping[str, int], places: Mapping[Near, int]
) -> tuple[Counter[Near], Counter[Near]]:
    """What is missing for one choice, and what is too many; at one place where it names none."""
    match wanted:
        case InAll(count):
            want, have = Counter({(ANY, 0, 0): count}), Counter({(ANY, 0, 0): sum(found.values())})
        case ByRole(counts):
            want = _sum(((c.role, 0, 0), c.count) for c in counts)
            have = Counter({(role, 0, 0): count for role, count in found.items()})
        case ByPlace(counts):
            want, have = _sum((near_of(c), c.count) for c in counts), Counter(dict(places))
    return want - have, have - want


def _total(gap: tuple[Counter[Near], Counter[Near]]) -> int:
    return gap[0].total() + gap[1].total()


def measured(weave: Weave, ring: Ring, promise: Meets) -> Wanted:
    """What a ring meets, said in the manner of its promise and in its order."""
    counted = [w for w in promise.choices if not isinstance(w, InAll)]
    if by_place(promise):
        order = [near_of(c) for w in counted for c in w.counts]
        near = in_order(places_of(weave, ring, weave.work.links[ring]), order)
        return ByPlace(tuple(CountOf(n, r, place_words(d, o)) for (r, d, o), n in near.items()))
    met = weave.met(ring)
    if not counted:
        return InAll(met.total())
    roles = dict.fromkeys((*(c.role for w in counted for c in w.counts), *met))
    return ByRole(tuple(CountOf(met[r], r) for r in roles if met[r]))


def _sum(counts: Iterable[tuple[T, int]]) -> Counter[T]:
    found: Counter[T] = Counter()
    for what, count in counts:
        found[what] += count
    return found


def near_of(count: CountOf) -> Near:
    """The place that a count names.

    >>> near_of(CountOf(2, "S", ("prev", "prev"))), near_of(CountOf(1, "A", ("below", "next")))
    (('S', 0, -2), ('A', 1, 1))
    """
    words = Counter(count.places)
    return count.role, words["below"] - words["above"], words["next"] - words["prev"]


def place_words(down: int, on: int) -> tuple[str, ...]:
    """The words of a promise for a place.

    >>> place_words(-1, 1), place_words(0, -2), place_words(1, 0)
    (('above', 'next'), ('prev', 'prev'), ('below',))
    """
    rows = ("below" if down > 0 else "above",) * abs(down)
    return *rows, *(("next" if on > 0 else "prev",) * abs(on))


def count_words(places: Mapping[Near, int]) -> str:
    """Rings by place as a promise counts them: '2 S, 2 prev S'."""
    return ", ".join(
        str(CountOf(count, role, place_words(down, on)))
        for (role, down, on), count in places.items()
    )


def in_order(places: Mapping[Near, int], order: Iterable[Near]) -> dict[Near, int]:
    """Rings by place, those of the given order first."""
    return {near: places[near] for near in dict.fromkeys((*order, *places)) if places.get(near)}


def places_of(weave: Weave, ring: Ring, others: Iterable[Ring]) -> Counter[Near]:
    """Where other rings stand, as seen from a ring: in the working direction of its row."""
    return Counter((other.role, *_way_to(weave, ring, other)) for other in others)


def _way_to(weave: Weave, ring: Ring, other: Ring) -> tuple[int, int]:
    layout = weave.work.layout
    on = layout.apart(ring.unit, other.unit)
    down = 0
    if layout.flat:
        down = other.row - ring.row
        if any(not 1 <= r.row <= layout.rows or r.unit < 1 for r in (ring, other)):
            return down, 0  # start, finish and the bar of a first row lie along the whole row
        if layout.rounds:
            way = layout.way(ring.row)
            return down, way * layout.round_on((ring.row, ring.unit), (other.row, other.unit))
    if layout.kind in ("loop", "tube") and abs(on) > layout.reach:
        round_ = _places_round(weave, ring.row)
        on = (on + round_ // 2) % round_ - round_ // 2
    return down, on * layout.way(ring.row)


def _places_round(weave: Weave, row: int) -> int:
    """How many places there are once round: the units, and the ends where they are one more."""
    layout, links = weave.work.layout, weave.work.links
    if layout.flat:
        end = layout.block("row end")
        return layout.units + bool(end and end.placed)
    start, finish = (
        {(r.role, r.index) for r in links if r.unit == unit} for unit in (0, layout.units + 1)
    )
    # A start and a finish that place different rings are the two halves of one unit.
    ends = bool(start) + bool(finish) if start & finish else bool(start or finish)
    return max(layout.units + ends, 1)


def held(weave: Weave, how: str) -> dict[Ring, list[Ring] | None]:
    """For each ring what it lies around (or inside); None where some of that is off the piece."""
    work = weave.work
    found: dict[Ring, list[Ring] | None] = {ring: [] for ring in work.links}
    for act in work.acts:
        listed = act.step.around if how == "around" else act.step.inside
        if not listed:
            continue
        whole = not any(ref in act.dropped for ref in listed)
        for ring in act.movers:
            have = found.get(ring)
            if have is not None:
                there = [other for other in act.held if other in work.links]
                found[ring] = [*have, *there] if whole else None
    return found


def held_alike(weave: Weave, role: str) -> list[str]:
    """What every ring of a role lies around or inside, in the words of a promise."""
    found = []
    for how in ("around", "inside"):
        each = {
            tuple(sorted(Counter(other.role for other in others).items()))
            for ring, others in held(weave, how).items()
            if ring.role == role and others is not None
        }
        if len(each) == 1 and (counts := next(iter(each))):
            found.append(f"lies {how} {', '.join(f'{n} {r}' for r, n in counts)}")
    return found


@dataclass(frozen=True)
class Side:
    """The links between two roles of one unit, as promised from one end.

    each: how many rings of `other` each ring of `role` in the unit is promised, ring by ring.
    promises: where; right: True where every finished ring of the role keeps that number.
    """

    role: str
    other: str
    each: tuple[int, ...]
    promises: tuple[Meets, ...]
    right: bool

    @property
    def links(self) -> int:
        """How many links that makes a unit."""
        return sum(self.each)


def contradictions(weave: Weave) -> Iterator[tuple[Side, Side]]:
    """Promises by role that give two roles of one repeating unit unlike numbers of links.

    The side that is wrong comes first: the one the links do not keep, else the later in the text.
    """
    if weave.repeat is None or weave.layout.written:
        return
    groups: dict[str, list[Block]] = {}
    for block in weave.recipe.blocks:
        if block.kind in ("unit", "row"):
            again = weave.layout.block("again")
            groups[str(block)] = [block, again] if again else [block]
    placed = [role_indexes(tuple(blocks)) for blocks in groups.values()]
    judged = {ring.role for ring in weave.finished}
    for unit in placed:
        own = [r for r in unit if r in judged and sum(r in other for other in placed) == 1]
        counts = {role: _plain_counts(weave, role, unit[role]) for role in own}
        for one, two in combinations([r for r in own if counts[r]], 2):
            here = [c.get(two, 0) for c in counts[one]]
            there = [c.get(one, 0) for c in counts[two]]
            if sum(here) != sum(there):
                sides = (
                    _side(weave, one, two, dict(zip(unit[one], here, strict=True))),
                    _side(weave, two, one, dict(zip(unit[two], there, strict=True))),
                )
                wrong, other = sorted(sides, key=lambda s: (s.right, -s.promises[0].span.line))
                yield wrong, other


def _plain_counts(weave: Weave, role: str, indexes: tuple[int, ...]) -> list[dict[str, int]]:
    """What each ring of a role in the unit is promised by role; empty where that is not all."""
    promises = [weave.promise(role, index) for index in indexes]
    plain = [p.plain for p in promises if p and p.roles <= weave.roles]
    found = [counts for counts in plain if counts is not None]
    return found if len(found) == len(indexes) else []


def _side(weave: Weave, role: str, other: str, wanted: Mapping[int, int]) -> Side:
    rings = [r for r in weave.finished if r.role == role and r.index in wanted]
    right = all(weave.met(r)[other] == wanted[r.index] for r in rings)
    promises = (weave.promise(role, index) for index in wanted)
    told = tuple(dict.fromkeys(p for p in promises if p))
    return Side(role, other, tuple(wanted.values()), told, right)
