"""The changes that the faults of a recipe point to, nearest first.

Comes in: a recipe carried out, and its faults. Goes out: edits worth trying. Two rings each one
short are a missing link: the step that places one of them and can reach the other is the place. A
ring that meets too many has a link too many; one that is short beside it, the one meant instead.
What start or finish owe, a count that is not come to, a name that leads nowhere and a unit unlike
its siblings say themselves in which step to look.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from ringstep.checks.changes import adding, may_be_off, replacing, twin_lists, used_places
from ringstep.checks.edits import (
    AddRing,
    ChangePicks,
    DropStep,
    Edit,
    InsertStep,
    RemoveRing,
    RenamePlaced,
    ReplaceRing,
    SwapSteps,
)
from ringstep.checks.faults import (
    ENDS,
    Fault,
    Miscounted,
    MissedLink,
    Snagged,
    UnitOff,
    Unlike,
    find_faults,
)
from ringstep.language.syntax import OPENING, Block, Name, Ref, Step
from ringstep.language.words import nearest
from ringstep.weave.layout import refs_of
from ringstep.weave.piece import Weave
from ringstep.weave.places import Place, look
from ringstep.weave.promises import ANY, lacking, places_of
from ringstep.weave.steps import Act, Ring, carry_out

#: Any role: what a promise without roles lacks or has too many.


@dataclass(frozen=True)
class Suspects:
    """What a recipe carried out has to say about its faults."""

    weave: Weave
    faults: tuple[Fault, ...]

    @staticmethod
    def of(weave: Weave) -> Suspects:
        """The suspects of a recipe, carried out with room for what no step of it reaches yet."""
        wide, layout = weave, weave.layout
        if not layout.reach or (layout.flat and not layout.row_reach):
            wide = Weave(weave.recipe, weave.variant)
            wide.__dict__["work"] = carry_out(layout.window(room=1), weave.variant)
        return Suspects(wide, tuple(find_faults(wide)))

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
            missing, extra = lacking(promise.choices, self.weave.met(ring), near)
            if missing:
                lacks[ring] = missing
            if extra:
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
        seen: set[Place] = set()
        for places in self._places(act.block):
            ref = self._ref(act.block, places, act.new[0].role if act.new else "", None)
            at = look(self.weave.work.layout, ref, act.block, act.row, act.unit)
            if isinstance(at, tuple) and at not in seen:
                seen.add(at)
                yield places, at

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
            at = look(self.weave.work.layout, ref, act.block, act.row, act.unit)
            named = ref.name.role == ring.role and ref.name.index in (None, ring.index)
            if named and (at == (ring.row, ring.unit) or ring.role in self.weave.recipe.part_roles):
                return ref
        return None

    # -- from rings that are off -----------------------------------------------------------------

    def _movers(self) -> Iterator[tuple[Act, int, tuple[Ring, ...]]]:
        for number, act in enumerate(self.weave.work.acts):
            if act.step.kind in OPENING and not act.skipped:
                movers = act.handled if act.step.kind == "reopen" else act.new
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
                    for ref in self._refs_of(act.block, places, rings):
                        yield self._add(act.step, act.block, ref)

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

    # -- from faults that say where to look ------------------------------------------------------

    def told(self) -> Iterator[Edit]:
        """Changes of the steps that faults themselves name."""
        for fault in self.faults:
            match fault:
                case MissedLink():
                    yield from self._missed(fault)
                case Miscounted():
                    yield from self._miscounted(fault)
                case Snagged():
                    yield from self._snagged(fault)
                case Unlike():
                    yield from self._unlike(fault)
                case UnitOff() if fault.found > fault.promise.count:
                    for block in self.weave.recipe.blocks:
                        for step in block.steps if str(block) == fault.name else ():
                            yield DropStep(step, rank=(3, 0))
                case _:
                    pass

    def _missed(self, fault: MissedLink) -> Iterator[Edit]:
        """A link owed: made by the step that places the later ring; told of one ring of a role,
        so that the role is tried as well."""
        work = self.weave.work
        act = work.acts[work.placed_by[fault.ring]]
        if act.step.kind not in OPENING:
            return
        for places, at in self._reaches(act):
            if at == (fault.other.row, fault.other.unit):
                kin = [r for r in self._at[at] if r.role == fault.other.role]
                for ref in self._refs_of(act.block, places, kin):
                    yield self._add(act.step, act.block, ref)

    def _miscounted(self, fault: Miscounted) -> Iterator[Edit]:
        """A list that does not come to its count."""
        step = fault.step
        act = next(a for a in self.weave.work.acts if a.step is step and a.through == fault.rings)
        guarded = act.block.kind not in ENDS
        # At the ends nothing but the count guards the list, so the list is doubted first.
        rank = (0, 0, 0) if guarded else (9, 0, 0)
        yield ChangePicks(step, len(fault.rings), rank=rank)
        if len(fault.rings) > fault.stated:
            for ref in step.through:
                if len(step.through) > 1:
                    yield RemoveRing(step, ref, rank=(1, 0))
                have = [r for r in fault.rings if r.role == ref.name.role]
                if ref.name.index is None and len(have) > 1:
                    for ring in have:
                        new = self._ref(act.block, ref.places, ring.role, ring.index)
                        new = replace(new, if_there=ref.if_there)
                        yield ReplaceRing(step, ref, new, rank=(1, 0, 1))
            return
        number = self.weave.work.acts.index(act)
        for places, at in self._reaches(act):
            rings = [
                r
                for r in self._at.get(at, ())
                if r not in act.through
                and self.weave.work.placed_by[r] < number
                and all(self._wants(r, m.role) for m in act.new)
            ]
            if rings:
                for ref in self._refs_of(act.block, places, rings):
                    yield self._add(step, act.block, ref)
        for role in sorted(self.weave.recipe.part_roles):
            yield self._add(step, act.block, self._ref(act.block, (), role, None))

    def _snagged(self, fault: Snagged) -> Iterator[Edit]:
        """A name that leads nowhere, or twice to the same."""
        snag, step, block, ref = fault.snag, fault.step, fault.snag.block, fault.snag.ref
        if snag.kind == "placed twice" or (snag.kind == "linked twice" and ref is None):
            yield DropStep(step, rank=(1, 0))
        if snag.kind == "placed twice" and snag.ring is not None:
            taken = block.placed.get(snag.ring.role, ())
            free = next(n for n in range(1, len(taken) + 2) if n not in taken)
            for item in step.new:
                if item.count is None and item.name.role == snag.ring.role:
                    yield RenamePlaced(step, item, replace(item.name, index=free), rank=(1, 0))
        if ref is None:
            return
        if ref not in step.through or snag.kind == "taken out":
            return
        if len(step.through) > 1:
            yield RemoveRing(step, ref, rank=(3, 0))
        if snag.kind == "off the piece":
            if len(ref.places) > 1:
                yield ReplaceRing(step, ref, replace(ref, places=ref.places[1:]), rank=(1, 0))
            yield ReplaceRing(step, ref, replace(ref, if_there=True), rank=(1, 0))
            return
        if snag.kind == "no such place":
            ends = [p for p in ref.places if p in ("first", "last")]
            rest = [p for p in ref.places if p not in ends]
            yield ReplaceRing(step, ref, replace(ref, places=(*ends, *rest)), rank=(1, 0))
        if snag.kind == "not yet":
            for one, two in zip(block.steps, block.steps[1:], strict=False):
                if one is step and snag.ring in self._placed_later(two):
                    yield SwapSteps(one, two, rank=(2, 0))
        for places in self._places(block):
            for role, indexes in self.weave.names.items():
                names: list[int | None] = [None]
                if 1 < len(indexes) <= 12:
                    names += [i for i in indexes if ref.name.index in (None, i)]
                for index in names:
                    new = self._ref(block, places, role, index)
                    same = (places == ref.places) + 2 * (
                        role == ref.name.role or nearest(ref.name.role, [role]) is not None
                    )
                    if same and (places, role, index) != (ref.places, *_split(ref)):
                        yield self._replace(step, block, ref, new)

    def _placed_later(self, step: Step) -> set[Ring]:
        return {r for a in self.weave.work.acts if a.step is step for r in a.new}

    def renamed(self) -> Iterator[RenamePlaced]:
        """Names misspelt where they are placed: what is looked for is placed by no step of the
        block, and one places what nobody speaks of."""
        recipe = self.weave.recipe
        spoken = {r.name.role for s in recipe.steps() for r in refs_of(s)}
        spoken |= self.weave.promised | {k.name.role for k in recipe.rings}
        told: set[tuple[object, str]] = set()
        for fault in self.faults:
            snag = fault.snag if isinstance(fault, Snagged) else None
            if snag is None or snag.kind != "unknown" or snag.ref is None or snag.at is None:
                continue
            wanted = snag.ref.name.role
            for block in self.weave.work.layout.blocks_at(*snag.at):
                for step in block.steps if (block.span, wanted) not in told else ():
                    for item in step.new:
                        same = set(item.indexes) == set(self.weave.names.get(wanted, item.indexes))
                        if same and item.name.role not in spoken and wanted not in block.placed:
                            name = replace(item.name, role=wanted)
                            yield RenamePlaced(step, item, name, rank=(0, 0))
                told.add((block.span, wanted))

    def _unlike(self, fault: Unlike) -> Iterator[Edit]:
        """A unit unlike its siblings: made like them, or they like it where neither is most."""
        d = fault.difference
        if d.kind == "rings":
            yield from self._lacking_steps(d.block, d.sibling)
            if d.even:
                yield from self._lacking_steps(d.sibling, d.block)
            return
        if d.kind != "links":
            return
        sides = [(d.step, d.block, d.missing, d.extra)]
        if d.even:
            sides.append((d.twin, d.sibling, d.extra, d.missing))
        for step, block, missing, extra in sides:
            if step is None or step.kind not in OPENING:
                continue
            acts = [a for a in self.weave.work.acts if a.step is step]
            gone: list[Ref] = []
            for _, (role, index), back in extra:
                for act in acts:
                    ref = self._naming(act, Ring(role, index, 1, act.unit - back))
                    gone += [ref] if ref is not None and ref not in gone else []
            new: dict[Ref, None] = {}
            for _, (role, index), back in missing:
                have = self.weave.indexes(role, 1, max(0, acts[0].unit - back)) if acts else ()
                for number in (None, index) if len(have) > 1 else (None,):
                    new[self._ref(block, ("prev",) * back, role, number)] = None
            for ref in gone if len(step.through) > 1 else ():
                yield RemoveRing(step, ref, rank=(1, 0))
            for ref in new:
                yield self._add(step, block, ref)
                for old in gone:
                    yield self._replace(step, block, old, ref)

    def _lacking_steps(self, block: Block, sibling: Block) -> Iterator[Edit]:
        """Steps of a sibling that a unit lacks, and steps that the sibling lacks."""
        for one, other, insert in ((block, sibling, True), (sibling, block, False)):
            for at, step in enumerate(other.steps):
                placed = {(i.name.role, n) for i in step.new for n in i.indexes}
                if placed and not any(i in one.placed.get(r, ()) for r, i in placed):
                    if insert:
                        yield InsertStep(step, block, min(at, len(block.steps)), rank=(1, 0))
                    else:
                        yield DropStep(step, rank=(1, 0))


def _split(ref: Ref) -> tuple[str, int | None]:
    return ref.name.role, ref.name.index
