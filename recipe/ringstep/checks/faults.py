"""What is wrong with the links of a recipe, as plain facts that can be counted and compared.

Comes in: a recipe. Goes out: its `Weave` (the recipe carried out) and a list of faults, one class a
kind. Blame compares the faults of a recipe with those of the same recipe mended in one place, so
everything here is cheap, has no words, and depends on nothing but the recipe's meaning. Each fault
has a `key`, which says which it is, so that two lists of faults can be compared, and a `weight`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ringstep.language.promised import Meets, UnitSize
from ringstep.language.syntax import Block, PartKind, RingKind, Step
from ringstep.weave.layout import refs_of
from ringstep.weave.piece import Weave
from ringstep.weave.promises import Near, by_place, off, places_of
from ringstep.weave.work import Ring, Snag, role_indexes

if TYPE_CHECKING:
    from ringstep.weave.siblings import Difference

Key = tuple[object, ...]

#: Handling moves make no link; what is wrong in them is a warning of its own.
LINKING = frozenset({"close", "add", "reopen", "take out"})


@dataclass(frozen=True)
class Count:
    """A finished ring and how many rings it meets, against its promise.

    name: as the author calls it; block: whose unit it stands in; unit: 0 for the repeating unit.
    places: what it meets by place, where the promise names places. where: of which piece made
    first it is, or which step joins them by it; "" in any other recipe. joined_by: the
    numbers of the joining steps that go through it.
    """

    name: str
    role: str
    index: int
    block: Block | None
    unit: int
    found: dict[str, int]
    promise: Meets
    places: dict[Near, int] = field(default_factory=dict)
    where: str = ""
    joined_by: tuple[int, ...] = ()

    @property
    def total(self) -> int:
        """How many rings it meets."""
        return sum(self.found.values())

    def off(self) -> int:
        """How far it is from its promise, in rings; 0 where it is kept."""
        return off(self.promise.choices, self.found, self.places)


@dataclass(frozen=True)
class Snagged:
    """A step that cannot be carried out as it is written."""

    snag: Snag

    @property
    def step(self) -> Step:
        """The step."""
        return self.snag.step

    @property
    def key(self) -> Key:
        """By step and list item."""
        return ("snag", self.snag.kind, self.step.number, self.snag.ref and self.snag.ref.span)

    @property
    def weight(self) -> int:
        """A number is read over, so nothing follows from it."""
        return 0 if self.snag.kind == "numbered" else 4


@dataclass(frozen=True)
class Miscounted:
    """A stated pick-up count that the list does not come to.

    rings: those gone through; count: how many rings of the piece they are.
    """

    step: Step
    rings: tuple[Ring, ...]
    count: int

    @property
    def key(self) -> Key:
        """By step."""
        return ("picks", self.step.number)

    @property
    def stated(self) -> int:
        """The count stated."""
        return self.step.picks.number if self.step.picks else 0

    @property
    def weight(self) -> int:
        """How many rings it is off."""
        return abs(self.count - self.stated)


@dataclass(frozen=True)
class OffPromise:
    """A finished ring that does not keep its promise."""

    count: Count
    step = None

    @property
    def key(self) -> Key:
        """By ring, and by unit where it is not the repeating one."""
        return ("count", self.count.role, self.count.index, self.count.unit)

    @property
    def weight(self) -> int:
        """How many rings it is off."""
        return self.count.off()


@dataclass(frozen=True)
class MissedLink:
    """A link that start, first or last row, row ends or finish owe the pattern and do not make.

    step: places `ring`, which lacks the link with `other`.
    """

    step: Step
    ring: Ring
    other: Ring
    weight = 1

    @property
    def key(self) -> Key:
        """Told once a step and kind of ring."""
        other = self.other
        return ("owed", self.step.number, self.ring.role, other.role, other.index)


@dataclass(frozen=True)
class Unlike:
    """A written-out unit that differs from its siblings."""

    difference: Difference

    @property
    def step(self) -> Step | None:
        """The step in which it differs."""
        return self.difference.step

    @property
    def key(self) -> Key:
        """By unit and what differs."""
        return ("sibling", self.difference.block.label, self.difference.kind)

    @property
    def weight(self) -> int:
        """A lay or a move says itself what is wrong; no change of links is tried for it."""
        return self.difference.weight if self.difference.kind in ("links", "rings") else 0


@dataclass(frozen=True)
class LooseRings:
    """Rings placed by a step that are linked with nothing."""

    step: Step
    rings: tuple[Ring, ...]

    @property
    def key(self) -> Key:
        """By step."""
        return ("loose", self.step.number)

    @property
    def weight(self) -> int:
        """How many rings of the unit are loose."""
        return len({(r.role, r.index) for r in self.rings})


@dataclass(frozen=True)
class FallsApart:
    """A piece that falls into parts. step: places `ring`, which is not joined to the rest."""

    step: Step
    ring: Ring
    parts: int
    key = ("pieces",)
    weight = 2


@dataclass(frozen=True)
class UnitOff:
    """A unit that places another number of rings than promised. name: its heading."""

    name: str
    found: int
    promise: UnitSize
    step = None

    @property
    def key(self) -> Key:
        """By unit and promise."""
        return ("size", self.name, self.promise.span.line)

    @property
    def weight(self) -> int:
        """How many rings it is off."""
        return abs(self.found - self.promise.count)


@dataclass(frozen=True)
class NeverUsed:
    """A ring kind or part that is described and never used."""

    line: RingKind | PartKind
    step = None
    weight = 1

    @property
    def key(self) -> Key:
        """By line."""
        return ("unused", self.line.span.line)


@dataclass(frozen=True)
class Forgotten:
    """A step forgotten whole: `names` are placed nowhere in `block`, and wanted.

    step: the first that wants them, None where only a promise does; snag: what it could not do.
    """

    block: Block
    names: tuple[str, ...]
    step: Step | None = None
    snag: Snag | None = None
    weight = 4

    @property
    def key(self) -> Key:
        """By block."""
        return ("forgotten", str(self.block))


Fault = (
    Snagged
    | Miscounted
    | OffPromise
    | MissedLink
    | Unlike
    | LooseRings
    | FallsApart
    | UnitOff
    | NeverUsed
    | Forgotten
)


#: Sections that are no repeating part of the piece.
ENDS = frozenset({"start", "finish", "first row", "last row", "row end"})
#: Sections that are worked once, whose lists state how many rings they go through.
STATED = frozenset({"start", "finish", "row end", "join"})


def off_counts(weave: Weave) -> list[Count]:
    """Finished rings that do not keep their promise; alike ones once, repeating ones first."""
    found: list[Count] = []
    told: set[tuple[object, ...]] = set()
    work = weave.work

    def own_place(ring: Ring) -> bool:
        block = work.acts[work.placed_by[ring]].block
        return block.kind in ENDS or isinstance(block.label, int)

    for ring in sorted(weave.finished, key=own_place):
        promise = weave.promise(ring.role, ring.index)
        if promise is None or not promise.roles <= weave.roles:
            continue
        met = weave.met(ring)
        places = places_of(weave, ring, work.links[ring]) if by_place(promise) else {}
        alike = (ring.role, ring.index, *sorted(met.items()), *sorted(places.items()))
        if alike in told:
            continue
        told.add(alike)
        block = work.acts[work.placed_by[ring]].block
        unit = ring.unit if own_place(ring) or weave.layout.kind == "loop" else 0
        name, there = weave.name(ring), dict(places)
        where, acts = weave.piece_words(ring), [work.acts[n] for n in work.links[ring].values()]
        by = tuple(sorted({act.step.number for act in acts if act.block.kind == "join"}))
        count = Count(name, *ring[:2], block, unit, dict(met), promise, there, where, by)
        if not count.off():
            continue
        if unit or not any(c.unit == 0 and (c.role, c.index) == alike[:2] for c in found):
            found.append(count)
    return found


def _picks(weave: Weave) -> Iterator[Miscounted]:
    """Stated pick-up counts against what the lists come to, wherever nothing is left out."""
    told = {s.step.number for s in weave.snags}
    for act in weave.work.acts:
        step = act.step
        off = act.skipped or act.dropped or not act.last
        if step.picks is None or off or step.number in told:
            continue
        if act.picks != step.picks.number:
            told.add(step.number)
            yield Miscounted(step, act.through, act.picks)


def _apart(weave: Weave) -> Iterator[LooseRings | FallsApart]:
    """Loose rings, and a piece that falls apart."""
    work = weave.work
    joined = {r for pair in work.held for r in pair}
    loose: dict[int, list[Ring]] = {}
    if len(work.links) > 1:
        for ring, others in work.links.items():
            if not others and ring not in joined:
                loose.setdefault(work.acts[work.placed_by[ring]].step.number, []).append(ring)
    for rings in loose.values():
        yield LooseRings(work.acts[work.placed_by[rings[0]]].step, tuple(rings))
    lone = {r for rings in loose.values() for r in rings}
    groups = [g for g in weave.parts_apart if not g <= lone]
    if len(groups) > 1:
        first = min(groups[1])
        yield FallsApart(work.acts[work.placed_by[first]].step, first, len(groups))


def _unit_size(weave: Weave) -> Iterator[UnitOff]:
    """Rings a unit, against the promise."""
    parts = weave.recipe.part_roles
    again = weave.layout.block("again")
    for promise in weave.recipe.unit_sizes:
        sizes: dict[str, int] = {}
        for block in weave.recipe.blocks:
            if block.kind in ("unit", "row") and not block.differs:
                passes = (block, again) if again else (block,)
                sizes[str(block)] = sum(
                    len(i) for b in passes for r, i in b.placed.items() if r not in parts
                )
        for name, size in sizes.items():
            if size != promise.count:
                yield UnitOff(name, size, promise)


def _unused(weave: Weave) -> Iterator[NeverUsed]:
    """Ring kinds and parts that are described and never used."""
    named = {r.name.role for s in weave.recipe.every_step() for r in refs_of(s)}
    placed = role_indexes(weave.recipe.every_block)
    for kind in weave.recipe.rings:
        role, index = kind.name.role, kind.name.index
        if (role.casefold() == "all" and index is None) or (
            role in placed and (index is None or index in placed[role])
        ):
            continue
        yield NeverUsed(kind)
    parts = {part.name.role: part for part in reversed(weave.recipe.parts)}
    for role, part in parts.items():
        if role not in named and role not in placed:
            yield NeverUsed(part)


def _unlike_siblings(weave: Weave) -> Iterator[Unlike]:
    """Written-out units that differ from their siblings."""
    if weave.layout.written == 0:
        return
    from ringstep.weave.siblings import sibling_differences

    yield from map(Unlike, sibling_differences(weave.work, weave.recipe))


def _snags(weave: Weave) -> Iterator[Snagged]:
    """Steps that cannot be carried out as they are written."""
    return (Snagged(s) for s in weave.snags if s.step.kind in LINKING)


def _counts(weave: Weave) -> Iterator[OffPromise]:
    """Finished rings that do not keep their promise."""
    return map(OffPromise, off_counts(weave))


def _owed(weave: Weave) -> Iterator[MissedLink]:
    """Links that start, first or last row, row ends or finish owe the pattern; told once a step."""
    told: set[Key] = set()
    for one in weave.owed:
        fault = MissedLink(one.act.step, one.ring, one.other)
        if fault.key not in told:
            told.add(fault.key)
            yield fault


_KINDS = (_snags, _picks, _counts, _owed, _unlike_siblings, _apart, _unit_size, _unused)


def each_fault(weave: Weave) -> Iterator[Fault]:
    """All that is wrong with the links, kind by kind, worked out no further than it is asked for.

    Within a kind in the order of the text, where it has a step.
    """
    for find in _KINDS:
        yield from find(weave)


def find_faults(weave: Weave) -> list[Fault]:
    """All that is wrong with the links."""
    return list(each_fault(weave))
