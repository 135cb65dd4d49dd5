"""What is wrong with the links of a recipe, as plain facts that can be counted and compared.

Comes in: a recipe. Goes out: its `Weave` (the recipe carried out) and a list of `Fault`s. Blame
compares the faults of a recipe with those of the same recipe mended in one place, so everything
here is cheap, has no words, and depends on nothing but the recipe's meaning.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from ringstep.language.syntax import Block, Meets, Step
from ringstep.weave.layout import refs_of
from ringstep.weave.piece import Weave
from ringstep.weave.promises import Near, by_place, off, places_of
from ringstep.weave.steps import Ring, Snag, role_indexes

if TYPE_CHECKING:
    from ringstep.weave.siblings import Difference

FaultKind = Literal[
    "snag",
    "picks",
    "count",
    "owed",
    "sibling",
    "loose",
    "pieces",
    "size",
    "unused",
    "forgotten",
]

#: Handling moves make no link; what is wrong in them is a warning of its own.
LINKING = frozenset({"close", "add", "reopen", "take out"})


@dataclass(frozen=True)
class Count:
    """A finished ring and how many rings it meets, against its promise.

    name: as the author calls it; block: whose unit it stands in; unit: 0 for the repeating unit.
    places: what it meets by place, where the promise names places.
    """

    name: str
    role: str
    index: int
    block: Block | None
    unit: int
    found: dict[str, int]
    promise: Meets
    places: dict[Near, int] = field(default_factory=dict)

    @property
    def total(self) -> int:
        """How many rings it meets."""
        return sum(self.found.values())

    def off(self) -> int:
        """How far it is from its promise, in rings; 0 where it is kept."""
        return off(self.promise.choices, self.found, self.places)


@dataclass(frozen=True)
class Fault:
    """One thing wrong. key says which, so that two lists of faults can be compared."""

    kind: FaultKind
    key: tuple[object, ...]
    weight: int
    step: Step | None = None
    snag: Snag | None = None
    count: Count | None = None
    found: int = 0
    difference: Difference | None = None
    block: Block | None = None
    names: tuple[str, ...] = ()
    rings: tuple[Ring, ...] = ()


#: Sections that are no repeating part of the piece.
ENDS = frozenset({"start", "finish", "first row", "row end"})


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
        block = work.acts[work.placed_by[ring]].block
        unit = ring.unit if own_place(ring) or weave.layout.kind == "loop" else 0
        name, found_there = weave.name(ring), dict(places)
        count = Count(name, ring.role, ring.index, block, unit, dict(met), promise, found_there)
        if not count.off():
            continue
        told.add(alike)
        if unit or not any(c.unit == 0 and (c.role, c.index) == alike[:2] for c in found):
            found.append(count)
    return found


def _picks(weave: Weave) -> list[Fault]:
    """Stated pick-up counts against what the lists come to, wherever nothing is left out."""
    found: dict[int, Fault] = {}
    snagged = {s.step.number for s in weave.snags}
    for act in weave.work.acts:
        step = act.step
        if step.picks is None or act.skipped or act.dropped or step.number in found:
            continue
        if step.number not in snagged and len(act.through) != step.picks.number:
            off = abs(len(act.through) - step.picks.number)
            found[step.number] = Fault(
                "picks",
                ("picks", step.number),
                off,
                step,
                found=len(act.through),
                rings=act.through,
            )
    return list(found.values())


def _apart(weave: Weave) -> list[Fault]:
    """Loose rings, and a piece that falls apart."""
    work = weave.work
    joined = {r for pair in work.held for r in pair}
    loose: dict[int, list[Ring]] = {}
    if len(work.links) > 1:
        for ring, others in work.links.items():
            if not others and ring not in joined:
                loose.setdefault(work.acts[work.placed_by[ring]].step.number, []).append(ring)
    found = []
    for number, rings in loose.items():
        step = work.acts[work.placed_by[rings[0]]].step
        found.append(
            Fault(
                "loose",
                ("loose", number),
                len({(r.role, r.index) for r in rings}),
                step,
                rings=tuple(rings),
            )
        )
    lone = {r for rings in loose.values() for r in rings}
    groups = [g for g in weave.parts_apart if not g <= lone]
    if len(groups) > 1:
        first = min(groups[1])
        step = work.acts[work.placed_by[first]].step
        found.append(Fault("pieces", ("pieces",), 2, step, found=len(groups), rings=(first,)))
    return found


def _unit_size(weave: Weave) -> list[Fault]:
    """Rings a unit, against the promise."""
    found: list[Fault] = []
    parts = weave.recipe.part_roles
    for promise in weave.recipe.unit_sizes:
        sizes: dict[str, int] = {}
        for block in weave.recipe.blocks:
            if block.kind in ("unit", "row", "again") and not block.differs:
                rings = {r: i for r, i in block.placed.items() if r not in parts}
                key = "row" if block.kind == "again" else str(block)
                sizes[key] = sizes.get(key, 0) + sum(map(len, rings.values()))
        for name, size in sizes.items():
            if size != promise.count:
                found.append(
                    Fault(
                        "size",
                        ("size", name, promise.span.line),
                        abs(size - promise.count),
                        found=size,
                    )
                )
    return found


def _unused(weave: Weave) -> list[Fault]:
    """Ring kinds and parts that are described and never used; key: their line."""
    named = {r.name.role for s in weave.recipe.steps() for r in refs_of(s)}
    placed = role_indexes(weave.recipe.blocks)
    found = []
    for kind in weave.recipe.rings:
        role, index = kind.name.role, kind.name.index
        if (role.casefold() == "all" and index is None) or (
            role in placed and (index is None or index in placed[role])
        ):
            continue
        found.append(Fault("unused", ("unused", kind.span.line), 1))
    for part in weave.recipe.parts:
        if part.name.role not in named and part.name.role not in placed:
            found.append(Fault("unused", ("unused", part.span.line), 1))
    return found


def _unlike_siblings(weave: Weave) -> list[Fault]:
    """Written-out units that differ from their siblings."""
    if weave.layout.written == 0:
        return []
    from ringstep.weave.siblings import sibling_differences

    return [
        # A lay or a move says itself what is wrong; no change of links is tried for it.
        Fault(
            "sibling",
            ("sibling", d.block.label, d.kind),
            d.weight if d.kind in ("links", "rings") else 0,
            d.step,
            difference=d,
        )
        for d in sibling_differences(weave.work, weave.recipe)
    ]


def _snags(weave: Weave) -> list[Fault]:
    """Steps that cannot be carried out as they are written."""
    return [
        Fault(
            "snag",
            ("snag", s.kind, s.step.number, s.ref and s.ref.span),
            0 if s.kind == "numbered" else 4,  # a number is read over, so nothing follows from it
            s.step,
            snag=s,
        )
        for s in weave.snags
        if s.step.kind in LINKING
    ]


def _counts(weave: Weave) -> list[Fault]:
    """Finished rings that do not keep their promise."""
    return [
        Fault("count", ("count", c.role, c.index, c.unit), c.off(), count=c)
        for c in off_counts(weave)
    ]


def _owed(weave: Weave) -> list[Fault]:
    """Links that start, first row, row ends or finish owe the pattern; told once a step."""
    found: dict[tuple[object, ...], Fault] = {}
    for one in weave.owed:
        key = ("owed", one.act.step.number, one.ring.role, one.other.role, one.other.index)
        found.setdefault(key, Fault("owed", key, 1, one.act.step, rings=(one.ring, one.other)))
    return list(found.values())


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
