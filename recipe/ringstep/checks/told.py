"""The changes of the steps that faults themselves name, nearest first.

Comes in: a recipe carried out, and its faults. Goes out: edits worth trying. What start or finish
owe, a count that is not come to, a name that leads nowhere and a unit unlike its siblings say
themselves in which step to look.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from ringstep.checks.edits import (
    ChangeCount,
    ChangePicks,
    DropStep,
    Edit,
    InsertStep,
    RemoveRing,
    RenamePlaced,
    ReplaceRing,
    SplitStep,
    SwapSteps,
)
from ringstep.checks.faults import (
    ENDS,
    Miscounted,
    MissedLink,
    OffPromise,
    Snagged,
    UnitOff,
    Unlike,
)
from ringstep.checks.forgotten import whole_rows
from ringstep.checks.suspects import Suspects
from ringstep.language.lookalikes import lookalike
from ringstep.language.syntax import MOST_AT_ONCE, OPENING, Block, NewItem, Ref, Step
from ringstep.language.words import PLACES, nearest
from ringstep.weave.layout import refs_of
from ringstep.weave.places import look
from ringstep.weave.work import Ring


@dataclass(frozen=True)
class Told(Suspects):
    """The suspects of a recipe, with those that its faults name."""

    def told(self) -> Iterator[Edit]:
        """Changes of the steps that faults themselves name."""
        for step in whole_rows(self.weave) if self.faults else ():
            yield ChangeCount(step, step.new[0], 1, rank=(0, 0))
        for fault in self.faults:
            match fault:
                case MissedLink():
                    yield from self._missed(fault)
                case Miscounted():
                    yield from self._other_count(fault.step, fault.stated - fault.count)
                    yield from self._miscounted(fault)
                case OffPromise():
                    count = fault.count
                    for step in self.weave.recipe.steps():
                        if count.role in {role for role, _ in step.placed}:
                            yield from self._other_count(step, count.off())
                            yield from self._other_count(step, -count.off())
                case Snagged():
                    yield from self._snagged(fault)
                case Unlike():
                    yield from self._unlike(fault)
                case UnitOff():
                    more = fault.promise.count - fault.found
                    for block in self.weave.recipe.blocks:
                        for step in block.steps if str(block) == fault.name else ():
                            for item in step.new:
                                yield from self._several(step, item, 1 + more)
                            if more < 0:
                                yield DropStep(step, rank=(3, 0))
                case _:
                    pass

    def _other_count(self, step: Step, more: int) -> Iterator[Edit]:
        """Some rings more, or fewer, that go through one another; a count that was right before
        goes along."""
        (item, *rest), picks = step.new or (None,), step.picks
        if not step.one_another or item is None or rest or item.count is None:
            return
        count = item.count + more
        if 2 <= count <= MOST_AT_ONCE:
            last = [a for a in self.weave.work.acts if a.step is step and a.last and not a.dropped]
            right = picks is not None and last and last[0].picks == picks.number
            also = picks.number + more if picks is not None and right else None
            yield ChangeCount(step, item, count, picks=also, rank=(1, 0))

    def _missed(self, fault: MissedLink) -> Iterator[Edit]:
        """A link owed: made by the step that places the later ring; told of one ring of a role,
        so that the role is tried as well."""
        work = self.weave.work
        act = work.acts[work.placed_by[fault.ring]]
        step = act.step
        together = {fault.ring, fault.other} == set(act.new) and len(step.new) == 1
        if together and step.lay is None and not step.skip_at_edge:
            yield SplitStep(step, rank=(0, 0))
        yield from self._meant_elsewhere(fault)
        if step.kind not in OPENING:
            return
        for places, at in self._reaches(act):
            if at == (fault.other.row, fault.other.unit):
                kin = [r for r in self._at[at] if r.role == fault.other.role]
                for ref in self._refs_of(act.block, places, kin):
                    yield self._add(act.step, act.block, ref)

    def _meant_elsewhere(self, fault: MissedLink) -> Iterator[Edit]:
        """The end may be right, and the list that makes the link in every unit mean another place,
        one through which the end goes already.

        Ranked like a ring that the end lacks, and like one that it names wrongly: a rival of both.
        """
        ring, other = fault.ring, fault.other
        met = [r for r in self.weave.work.links[ring] if r.role == other.role]
        told: set[int] = set()
        for act in self.weave.work.acts:
            if act.block.kind in ENDS or act.step.number in told:
                continue
            for new in act.new if any(r.role == ring.role for r in act.new) else ():
                row, unit = new.row - ring.row, new.unit - ring.unit
                far = Ring(other.role, other.index, other.row + row, other.unit + unit)
                ref = self._naming(act, far) if far in act.through else None
                if ref is None or not ref.places:
                    continue
                told.add(act.step.number)
                for places in self._places(act.block):
                    meant = self._ref(act.block, places, ref.name.role, ref.name.index)
                    at = look(self.weave.work.layout, meant, act.block, act.row, act.unit)
                    if any(at == (r.row + row, r.unit + unit) for r in met):
                        edit = self._replace(act.step, act.block, ref, meant)
                        yield replace(edit, rank=(1, *edit.rank[1:]))
                        yield edit

    def _miscounted(self, fault: Miscounted) -> Iterator[Edit]:
        """A list that does not come to its count."""
        step = fault.step
        act = next(a for a in self.weave.work.acts if a.step is step and a.through == fault.rings)
        guarded = any(self.weave.promise(r.role, r.index) for r in (*act.new, *act.through))
        # At the ends nothing but the count guards the list, so the list is doubted first; where no
        # promise does either, one is as likely as the other.
        rank = (9, 0, 0) if act.block.kind in ENDS else (0, 0, 0) if guarded else (1, 0, 0)
        yield ChangePicks(step, fault.count, rank=rank)
        if fault.count > fault.stated:
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
        yield from self._placed_short(fault)
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

    def _placed_short(self, fault: Miscounted) -> Iterator[Edit]:
        """One ring is placed where no number is written, and the count wants several of them."""
        work = self.weave.work
        named = {r.name.role for r in fault.step.through if r.name.index is None}
        rings = (r for r in fault.rings if r.role in named)
        placed = Counter((work.acts[work.placed_by[r]].step.number, r.role) for r in rings)
        for step in self.weave.recipe.steps():
            for item in step.new:
                if often := placed[step.number, item.name.role]:
                    more, over = divmod(fault.stated - fault.count, often)
                    yield from self._several(step, item, 1 + more if not over else 1)

    def _several(self, step: Step, item: NewItem, count: int) -> Iterator[ChangeCount]:
        """Several rings where no number is written."""
        if item.count is None and item.name.index is None and 2 <= count <= MOST_AT_ONCE:
            yield ChangeCount(step, item, count, rank=(1, 0))

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
            nearer = replace(ref, places=ref.places[1:])
            yield ReplaceRing(step, ref, nearer, rank=(1, 0))
            yield ReplaceRing(step, ref, replace(ref, if_there=True), rank=(1, 0))
            return
        if snag.kind == "unknown" or ref.strand:
            yield from self._other_strand(step, ref)
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

    def _other_strand(self, step: Step, ref: Ref) -> Iterator[ReplaceRing]:
        """The strand that was meant by a name that is none: near to it, or after its ring."""
        strands = self.weave.work.layout.strands
        names = list(strands.spans) if strands else []
        if strands and ref.places and not ref.strand and ref.name.role in names:
            for role in sorted({r for r, _ in strands.placed[ref.name.role]}):
                meant = replace(ref, places=(*ref.places, ref.name.role))
                meant = replace(meant, name=replace(ref.name, role=role, index=None))
                yield ReplaceRing(step, ref, meant, rank=(0, 0))
        if not ref.strand:
            return
        if strands is None and ref.strand not in self.weave.roles:
            near = nearest(ref.strand, PLACES)
            places = (*ref.places[:-1], *([near] if near else []))
            yield ReplaceRing(step, ref, replace(ref, places=places), rank=(0, 0))
        for role, index in sorted(strands.placed.get(ref.strand, ())) if strands else ():
            if role == ref.name.role and index != ref.name.index:
                name = replace(ref.name, index=index)
                yield ReplaceRing(step, ref, replace(ref, name=name), rank=(0, 0))
        if near := nearest(ref.strand, names):
            meant = replace(ref, places=(*ref.places[:-1], near))
            yield ReplaceRing(step, ref, meant, rank=(0, 0))
        if ref.name.role in names:
            name = replace(ref.name, role=ref.strand, index=None)
            turned = replace(ref, places=(*ref.places[:-1], ref.name.role), name=name)
            yield ReplaceRing(step, ref, turned, rank=(0, 0))

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
            strands = self.weave.work.layout.strands
            if strands and strands.placing(wanted):
                continue  # the list names a ring of another strand
            for block in self.weave.work.layout.blocks_at(*snag.at):
                for step in block.steps if (block.span, wanted) not in told else ():
                    for item in step.new:
                        same = set(item.indexes) == set(self.weave.names.get(wanted, item.indexes))
                        if same and item.name.role not in spoken and wanted not in block.placed:
                            name = replace(item.name, role=wanted)
                            if lookalike(f"{item.name.role}{item.name.index}", [wanted]):
                                name = replace(name, index=None)  # 'A0' was typed for 'AO'
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
