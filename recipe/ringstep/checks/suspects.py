"""The changes that the faults of a recipe point to, nearest first.

Comes in: a recipe carried out, and its faults. Goes out: edits worth trying. Two rings each one
short are a missing link: the step that places one of them and can reach the other is the place. A
ring that meets too many has a link too many; one that is short beside it, the one meant instead.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property, reduce
from operator import or_
from typing import Self

from ringstep.checks.changes import adding, may_be_off, replacing, twin_lists, used_places
from ringstep.checks.edits import (
    AddRing,
    Edit,
    RemoveRing,
    ReplaceRing,
)
from ringstep.checks.faults import (
    Fault,
    find_faults,
)
from ringstep.language.syntax import OPENING, Block, Name, Ref, Step
from ringstep.weave.piece import Weave
from ringstep.weave.places import Place, places_seen
from ringstep.weave.promises import ANY, lacking, places_of
from ringstep.weave.steps import carry_out
from ringstep.weave.work import Act, Ring


@dataclass(frozen=True)
class Suspects:
    """What a recipe carried out has to say about its faults."""

    weave: Weave
    faults: tuple[Fault, ...]

    @classmethod
    def of(cls, weave: Weave) -> Self:
        """The suspects of a recipe, carried out with room for what no step of it reaches yet."""
        wide, layout = weave, weave.layout
        if not layout.reach or (layout.flat and not layout.row_reach):
            wide = Weave(weave.recipe, weave.variant)
            wide.__dict__["work"] = carry_out(layout.window(room=1), weave.variant)
        return cls(wide, tuple(find_faults(wide)))

    # -- rings that are short or over-full -------------------------------------------------------

    @cached_property
    def _off(self) -> tuple[dict[Ring, Counter[str]], dict[Ring, Counter[str]], set[Ring]]:
        """What each finished ring lacks, what it has too many of, and which rings are judged."""
        lacks: dict[Ring, Counter[str]] = {}
        over: dict[Ring, Counter[str]] = {}
        judged: set[Ring] = set()
        for ring in self.weave.finished:
            promise = self.weave.promise(ring.role, ring.index)
            if promise is None:
                continue
            judged.add(ring)
            near = places_of(self.weave, ring, self.weave.work.links[ring])
            met = self.weave.met(ring)
            missing, extra = lacking(promise.choices, met, near)
            each = [lacking((choice,), met, near) for choice in promise.choices]
            if missing:
                # Whichever choice was meant, as long as it takes nothing else away.
                wanted = (more for more, less in each if less == extra)
                lacks[ring] = reduce(or_, wanted, missing)
            # One choice may be missed by as much as another is passed.
            off = missing.total() + extra.total()
            passed = (less for more, less in each if not more and less.total() == off)
            extra = reduce(or_, passed, extra)
            if extra and off:
                over[ring] = extra
        return lacks, over, judged

    def _wants(self, ring: Ring, role: str) -> bool:
        lacks, _, judged = self._off
        return ring not in judged or bool(lacks.get(ring, Counter()).keys() & {role, ANY})

    def _sheds(self, ring: Ring, role: str) -> bool:
        _, over, judged = self._off
        return ring not in judged or bool(over.get(ring, Counter()).keys() & {role, ANY})

    @cached_property
    def _at(self) -> dict[Place, list[Ring]]:
        found: dict[Place, list[Ring]] = {}
        for ring in self.weave.work.links:
            found.setdefault((ring.row, ring.unit), []).append(ring)
        return found

    @cached_property
    def _lacking_at(self) -> dict[Place, list[Ring]]:
        lacks = self._off[0]
        return {at: kept for at, r in self._at.items() if (kept := [x for x in r if x in lacks])}

    # -- list items ------------------------------------------------------------------------------

    def _places(self, block: Block) -> dict[tuple[str, ...], bool]:
        if block.span not in self._known_places:
            self._known_places[block.span] = used_places(self.weave.recipe, block)
        return self._known_places[block.span]

    @cached_property
    def _known_places(self) -> dict[object, dict[tuple[str, ...], bool]]:
        return {}

    def _reaches(self, act: Act) -> Iterator[tuple[tuple[str, ...], Place]]:
        """The places that a step could speak of there, each by its nearest words."""
        seen: set[tuple[Place, ...]] = set()
        for places in self._places(act.block):
            ref = self._ref(act.block, places, act.new[0].role if act.new else "", None)
            at = places_seen(self.weave.work.layout, ref, act.block, act.row, act.unit)
            if self.weave.layout.strands and self._unnamed(ref) and at != ((1, 0),):
                continue  # of which strand hangs on the ring that is meant
            if at and at not in seen:
                seen.add(at)
                yield places, at[0]

    def _unnamed(self, ref: Ref) -> bool:
        """True for an end of the piece without the name of a strand."""
        return ref.places[:1] in (("first",), ("last",)) and not ref.strand

    def _ref(self, block: Block, places: tuple[str, ...], role: str, index: int | None) -> Ref:
        optional = may_be_off(self.weave.recipe, block, places)
        return Ref(places, Name(role, index, block.span), optional, block.span)

    def _refs_of(self, block: Block, places: tuple[str, ...], rings: list[Ring]) -> Iterator[Ref]:
        """List items for rings of one place: a role where all of it is meant, else each by name."""
        roles: dict[str, list[int]] = {}
        for ring in rings:
            roles.setdefault(ring.role, []).append(ring.index)
        for role, indexes in roles.items():
            have = self.weave.indexes(role, rings[0].row, rings[0].unit)
            if set(have) <= set(indexes):
                yield self._ref(block, places, role, None)
            if len(have) > 1:
                for index in indexes:
                    yield self._ref(block, places, role, index)

    def _add(self, step: Step, block: Block, ref: Ref) -> AddRing:
        used = self._places(block).get(ref.places, False)
        return adding(step, ref, used, self._twins(step))

    def _twins(self, step: Step) -> set[tuple[object, ...]]:
        if step.number not in self._known_twins:
            self._known_twins[step.number] = twin_lists(self.weave.recipe, step)
        return self._known_twins[step.number]

    @cached_property
    def _known_twins(self) -> dict[int, set[tuple[object, ...]]]:
        return {}

    def _replace(self, step: Step, block: Block, ref: Ref, new: Ref) -> ReplaceRing:
        return replacing(step, ref, new, self._places(block).get(new.places, False))

    def _naming(self, act: Act, ring: Ring) -> Ref | None:
        """The item of a step's list that names a ring it went through."""
        for ref in act.step.through:
            at = places_seen(self.weave.work.layout, ref, act.block, act.row, act.unit)
            named = ref.name.role == ring.role and ref.name.index in (None, ring.index)
            if named and ((ring.row, ring.unit) in at or ring.role in self.weave.recipe.part_roles):
                return ref
        return None

    # -- from rings that are off -----------------------------------------------------------------

    def _movers(self) -> Iterator[tuple[Act, int, tuple[Ring, ...]]]:
        for number, act in enumerate(self.weave.work.acts):
            if act.step.kind in OPENING and not act.skipped:
                movers = act.movers
                if movers and all(m in self.weave.work.links for m in movers):
                    yield act, number, movers

    def missing_links(self) -> Iterator[Edit]:
        """Rings that are short and that a step could link."""
        links, placed_by = self.weave.work.links, self.weave.work.placed_by
        lacks, _, judged = self._off
        if not lacks:
            return
        for act, number, movers in self._movers():
            short = any(m in lacks for m in movers)
            if not short and any(m in judged for m in movers):
                continue
            for part in sorted(self.weave.recipe.part_roles):
                if short and all(part in lacks.get(m, ()) for m in movers):
                    yield self._add(act.step, act.block, self._ref(act.block, (), part, None))
            pool = self._at if short else self._lacking_at
            for places, at in self._reaches(act):
                rings = [
                    y
                    for y in pool.get(at, ())
                    if placed_by[y] < number
                    and (y in lacks or y not in judged)
                    and all(
                        y not in links[m] and self._wants(m, y.role) and self._wants(y, m.role)
                        for m in movers
                    )
                ]
                if rings:
                    yield from self._whole(act, places, rings)
                    for ref in self._refs_of(act.block, places, rings):
                        yield self._add(act.step, act.block, ref)

    def _whole(self, act: Act, places: tuple[str, ...], rings: list[Ring]) -> Iterator[ReplaceRing]:
        """One ring of three or more is named where all of its role are meant."""
        for ref in act.step.through:
            role, index = ref.name.role, ref.name.index
            others = {y.index for y in rings if y.role == role}
            have = set(self.weave.indexes(role, rings[0].row, rings[0].unit))
            if ref.places == places and len(others) > 1 and have - others == {index}:
                whole = self._ref(act.block, places, role, None)
                yield self._replace(act.step, act.block, ref, whole)

    def extra_links(self) -> Iterator[Edit]:
        """Links between rings that meet too many, left out or made elsewhere."""
        over = self._off[1]
        if not over:
            return
        for act, number, movers in self._movers():
            for y in act.through:
                if y not in over and not any(m in over for m in movers):
                    continue
                ref = self._naming(act, y)
                if ref is None:
                    continue
                if all(self._sheds(m, y.role) and self._sheds(y, m.role) for m in movers):
                    if len(act.step.through) > 1:
                        yield RemoveRing(act.step, ref, rank=(1, 0))
                    have = self.weave.indexes(y.role, y.row, y.unit)
                    if ref.name.index is None and len(have) == 2:
                        other = next(i for i in have if i != y.index)
                        single = self._ref(act.block, ref.places, y.role, other)
                        single = replace(single, if_there=ref.if_there)
                        yield ReplaceRing(act.step, ref, single, rank=(1, 0, 1))
                yield from self._instead(act, number, movers, y, ref)

    def _instead(
        self, act: Act, number: int, movers: tuple[Ring, ...], y: Ring, ref: Ref
    ) -> Iterator[Edit]:
        """Rings that are short, in place of `y`, which meets too many."""
        links, placed_by = self.weave.work.links, self.weave.work.placed_by
        for places, at in self._reaches(act):
            short = [
                z
                for z in self._lacking_at.get(at, ())
                if placed_by[z] < number
                and all(
                    z not in links[m]
                    and self._wants(z, m.role)
                    and (z.role == y.role or m.role == y.role or self._wants(m, z.role))
                    for m in movers
                )
            ]
            if short:
                for new in self._refs_of(act.block, places, short):
                    if (new.name.index is None) == (ref.name.index is None) or len(
                        self.weave.indexes(new.name.role, *at)
                    ) != len(self.weave.indexes(y.role, y.row, y.unit)):
                        yield self._replace(act.step, act.block, ref, new)
