"""Names become rings, blocks become acts: the recipe carried out place by place.

Comes in: a `Layout`. Goes out: a `Work`: every act in order with the very rings it places, goes
through and handles, and a `Snag` for each thing a maker could not do. Nothing is worded here.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ringstep.language.syntax import OPENING, PLACING, Block, Hand, Ref, Side, Step
from ringstep.language.tree import Variant
from ringstep.weave.joined import NO_EDGE, NO_PIECE, WHICH_PIECE, WHICH_PLACE, Joined
from ringstep.weave.layout import Layout
from ringstep.weave.places import UNTOLD, Place, places_in_order, places_of
from ringstep.weave.work import (
    Act,
    Gathered,
    Ring,
    Snag,
    SnagKind,
    Work,
    pattern_from,
    role_indexes,
)

#: Those of the joining steps, as `look` tells them.
_OF_JOINING: dict[str, SnagKind] = {
    NO_PIECE: "no such piece",
    WHICH_PIECE: "which piece",
    WHICH_PLACE: "which place",
    NO_EDGE: "no such edge",
    UNTOLD: "which strand",
}


@dataclass
class _Bench:
    """The work in hand. step, block, place: what is done just now, and at which (row, unit).

    before: the rings that the step has placed already, where its rings go through one another.
    """

    layout: Layout
    variant: Variant | None
    acts: list[Act] = field(default_factory=list)
    snags: dict[tuple[object, ...], Snag] = field(default_factory=dict)
    links: dict[Ring, dict[Ring, int]] = field(default_factory=dict)
    held: list[tuple[Ring, Ring]] = field(default_factory=list)
    placed_by: dict[Ring, int] = field(default_factory=dict)
    out: set[Ring] = field(default_factory=set)
    removed: list[tuple[Ring, Ring, int, int]] = field(default_factory=list)
    turned: bool = False
    roles: dict[Place, dict[str, tuple[int, ...]]] = field(default_factory=dict)
    before: tuple[Ring, ...] = ()
    step: Step = field(init=False)
    block: Block = field(init=False)
    place: Place = field(init=False)

    def __post_init__(self) -> None:
        recipe = self.layout.recipe
        self.parts = {p.name.role: p for p in recipe.parts}
        self.pattern_from = pattern_from(recipe)

    def snag(
        self, kind: SnagKind, ref: Ref | None = None, at: Place | None = None, *rings: Ring
    ) -> None:
        ring = rings[0] if rings else None
        where = ref.span if ref and kind != "linked twice" else None
        key = (kind, self.step.number, where, ring and (ring.role, ring.index))
        snag = Snag(kind, self.step, self.block, self.place, ref, at, ring)
        self.snags.setdefault(key, snag)

    def roles_at(self, place: Place) -> dict[str, tuple[int, ...]]:
        found = self.roles.get(place)
        if found is None:
            found = self.roles[place] = role_indexes(self.layout.blocks_at(*place))
        return found

    # -- rings -----------------------------------------------------------------------------------

    def resolve(self, ref: Ref, here: tuple[Ring, ...]) -> list[Ring] | None:
        """The rings a list item names, [] after a snag, None where its place is off the piece."""
        step = self.step
        if ref.one_another:
            return list(self.before)
        if ref.number is not None:
            self.snag("numbered", ref)  # and read on as if it were plain
        places = places_of(self.layout, ref, self.block, *self.place)
        if isinstance(places, str):
            self.snag(_OF_JOINING.get(places, "no such place"), ref)
            return []
        if places is None:
            if not ref.if_there and not step.skip_at_edge:
                self.snag("off the piece", ref)
                return []
            return None
        if ref.every:
            return self.gathered(ref, here)
        found: list[Ring] = []
        for at in places:
            if not (rings := self.at_place(ref, at, here)):
                return []
            found += rings
        return found

    def at_place(self, ref: Ref, at: Place, here: tuple[Ring, ...]) -> list[Ring]:
        """The rings that a list item names at one place, [] after a snag."""
        step, row = self.step, self.place[0]
        role, index = ref.name.role, ref.name.index
        have = self.roles_at(at).get(role, ())
        if not have and role in self.parts:
            part = self.part(ref, Ring(role, index or 1, *at))
            if part is None:
                self.snag("unknown", ref, at)
                return []
            self.placed_by.setdefault(part, len(self.acts))
            self.links.setdefault(part, {})
            return [part]
        whole_row = self.block.kind == "row end" and not ref.places
        handles = step.kind not in (*PLACING, *OPENING, "take out")
        if not have and whole_row and handles and role in self.roles_at((row, self.layout.units)):
            return []  # a move on the whole row: printed, and without a ring of its own
        wanted = have if index is None else (index,) if index in have else ()
        if not wanted:
            self.snag("unknown", ref, at)
            return []
        rings = [Ring(role, i, *at) for i in wanted]
        for ring in rings:
            kind: SnagKind = "taken out" if ring in self.out else "not yet"
            kind = "through itself" if ring in here else kind
            if kind != "not yet" or ring not in self.placed_by:
                self.snag(kind, ref, at, ring)
                return []
        return rings

    def gathered(self, ref: Ref, here: tuple[Ring, ...]) -> list[Ring]:
        """All rings in the work that an `every` means: of the row at its end, else of the piece."""
        step, row = self.step, self.place[0] if self.block.kind == "row end" else None
        if step.kind in (*PLACING, *OPENING, "take out") and ref not in step.through:
            self.snag("no such place", ref)
            return []
        role, index = ref.name.role, ref.name.index
        strands = self.layout.strands
        span = strands.spans[ref.strand] if strands and ref.strand else None
        found = [
            r
            for r in self.placed_by
            if r.role == role and index in (None, r.index) and row in (None, r.row)
            and (span is None or r.unit in span)
            and r not in self.out and r not in here
        ]  # fmt: skip
        if not found:
            self.snag("unknown", ref, self.place)
        return found

    def stands_for(self, ring: Ring) -> int:
        """How many rings of the row, or of the piece, a ring that an `every` means stands for."""
        along, down = self.layout.stand_for_each(ring.row, ring.unit)
        return along if self.block.kind == "row end" else along * down

    def part(self, ref: Ref, ring: Ring) -> Ring | None:
        """The part that a list item means; None where none is there.

        A bare name picks up a part of this place, or the one of the whole first row, such as the
        bar that the row hangs from. With a word of place, and in steps that only handle it, the
        part is one that is in the work already.
        """
        if ring.row == 1 and self.layout.flat and self.layout.block("first row"):
            ring = ring._replace(unit=0)
        if ring in self.placed_by or (not ref.places and ref not in self.step.refs):
            return ring
        known = [r for r in self.placed_by if (r.role, r.index) == (ring.role, ring.index)]
        return known[0] if len(known) == 1 and not ref.places else None

    def resolve_all(
        self, refs: tuple[Ref, ...], here: tuple[Ring, ...], dropped: list[Ref]
    ) -> tuple[Ring, ...]:
        found: dict[Ring, None] = {}
        for ref in refs:
            rings = self.resolve(ref, here)
            if rings is None:
                dropped.append(ref)
            for ring in rings or ():
                if ring in found:
                    self.snag("linked twice", ref, None, ring)
                found[ring] = None
        return tuple(found)

    def lay_ready(self, work: Work) -> None:
        """Lay a piece ready that was made first: its acts, rings and links."""
        before = len(self.acts)
        self.acts += work.acts
        for ring, others in work.links.items():
            self.links[ring] = {o: n + before for o, n in others.items()}
        self.placed_by |= {ring: n + before for ring, n in work.placed_by.items()}
        self.held += work.held
        for a, b, made, undone in work.removed:
            self.removed.append((a, b, made + before, undone + before))
        self.out |= {r for r in work.placed_by if r not in work.links}

    # -- acts ------------------------------------------------------------------------------------

    def place_new(self) -> tuple[Ring, ...]:
        new: dict[Ring, None] = {}
        for item in self.step.new:
            for index in item.indexes:
                ring = Ring(item.name.role, index, *self.place)
                if ring in self.placed_by or ring in new:
                    self.snag("placed twice", None, None, ring)
                else:
                    new[ring] = None
        return tuple(new)

    def side(self) -> Side | None:
        if self.step.lay is None:
            return None
        word = self.step.lay.value
        if word == "varies":
            if self.variant is None or not self.variant.sides:
                return None
            nth = self.layout.number(self.place[1]) - self.pattern_from
            word = self.variant.sides[nth % len(self.variant.sides)]
        return "front" if (word == "front") != self.turned else "back"

    def toward(self, count: int) -> tuple[Hand, ...]:
        """The side of each of so many rings; turned over, the left hand has what was right."""
        step = self.step
        if step.toward is None or (step.toward.value == "each side" and step.kind == "fold back"):
            return ()
        both: tuple[Hand, Hand] = ("right", "left") if self.turned else ("left", "right")
        if step.toward.value == "each side":
            return (both * count)[:count]
        return (both[step.toward.value == "right"],) * count

    def owes_lay(self, targets: tuple[Ring, ...]) -> bool:
        """True where the rings gone through already link one another outside one role's eye."""
        if len(targets) < 2:
            return False
        among = set(targets)
        whole: dict[tuple[str, int, int], bool] = {}
        for ring in targets:
            for other in self.links[ring].keys() & among:
                group, twin = (ring.role, ring.row, ring.unit), (other.role, other.row, other.unit)
                if group != twin:
                    return True
                if group not in whole:
                    have = self.roles_at((ring.row, ring.unit)).get(ring.role, ())
                    whole[group] = all(ring._replace(index=i) in among for i in have)
                if not whole[group]:
                    return True
        return False

    def carry_out(self, step: Step, block: Block, row: int, unit: int) -> None:
        self.step, self.block, self.place = step, block, (row, unit)
        if step.kind == "turn over":
            self.turned = not self.turned
        new = self.place_new() if step.kind in PLACING else ()
        if not step.one_another:
            self.act(new, new)
            return
        for nth, ring in enumerate(new):
            self.before = new[:nth]
            self.act((ring,), new)
        self.before = ()

    def act(self, new: tuple[Ring, ...], here: tuple[Ring, ...]) -> None:
        """Place some rings of the step in hand; here: all that it places."""
        step, block, (row, unit) = self.step, self.block, self.place
        dropped: list[Ref] = []
        through = self.resolve_all(step.through, here, dropped)
        held = self.resolve_all((*step.around, *step.inside), here, dropped)
        handled = self.resolve_all(step.refs, (), dropped)
        left_out = tuple(dropped)
        last = new[-1:] == here[-1:]
        if left_out and (step.skip_at_edge or (step.refs and not handled)):
            self.acts.append(
                Act(step, block, row, unit, (), (), (), (), left_out, True, None, False, last=last)
            )
            return
        number = len(self.acts)
        for ring in new:
            self.placed_by[ring] = number
            self.links[ring] = {}
        movers = handled if step.kind == "reopen" else new
        if through:
            closed = step.kind not in OPENING or any(
                r.role in self.parts and not self.parts[r.role].opens for r in movers
            )
            if closed:
                self.snag("closed through")
        elif step.kind == "add" and not held and not step.through and not dropped:
            self.snag("through nothing")
        for ring in movers if step.kind in OPENING else ():
            if ring.role not in self.parts and self.layout.recipe.stays_closed(*ring[:2]):
                self.snag("stays closed", None, None, ring)
        owes = self.owes_lay(through)
        gather = [ref for ref in step.through if ref.every]
        rings = [r for ref in gather for r in self.resolve(ref, here) or ()]
        every = Gathered((r, self.stands_for(r)) for r in rings)
        for ring in movers:
            for other in through:
                if other == ring:
                    self.snag("through itself", None, None, ring)
                elif other in self.links[ring]:
                    self.snag("linked twice", None, None, other)
                else:
                    self.links[ring][other] = self.links[other][ring] = number
            self.held.extend((ring, other) for other in held)
        if step.kind == "take out":
            for ring in handled:
                self.out.add(ring)
                for other, made in self.links.pop(ring, {}).items():
                    self.links[other].pop(ring, None)
                    self.removed.append((ring, other, made, number))
        stops: tuple[tuple[Ring, ...], ...] = ()
        if step.at_one_place or any(ref.then for ref in step.through):
            found = (
                tuple(r for ref in stop for r in self.resolve(ref, here) or ())
                for stop in step.stops
            )
            stops = tuple(stop for stop in found if stop)
        toward = self.toward(len(here or handled))
        if len(here) > len(new):
            toward = toward[len(self.before) :][:1]
        self.acts.append(
            Act(step, block, row, unit, new, through, held, handled, left_out, False, self.side(),
                owes, stops, toward, last, every)
        )  # fmt: skip


def carry_out(layout: Layout, variant: Variant | None = None) -> Work:
    """Carry a recipe out over all the places of a layout, with one variant's lays.

    The cost grows with rows × units of the layout given: hand in a window to prove, the piece
    itself only to count or draw.
    """
    bench = _Bench(layout, variant)
    for block, row, unit in places_in_order(layout):
        for step in block.steps:
            bench.carry_out(step, block, row, unit)
    return _done(bench)


def join(layout: Joined, works: tuple[Work, ...], variant: Variant | None = None) -> Work:
    """Carry out the steps that join pieces made first. works: each of these carried out, once."""
    bench = _Bench(layout, variant)
    for copy in layout.copies:
        bench.lay_ready(works[copy.made].moved(copy.first))
    block = layout.block_of_joining
    for row, step in enumerate(layout.joining, 1):
        assert block is not None
        lines = layout.lines(step)
        bench.step, bench.block, bench.place = step, block, (-row, 1)
        for ref, places in lines:
            if not places:
                bench.snag("unknown", ref)
            elif places != max(n for _, n in lines) and all(n for _, n in lines):
                bench.snag("unlike edges", ref)
        for unit in range(1, max(layout.times(step), 1) + 1):
            bench.carry_out(step, block, -row, unit)
    return _done(bench)


def _done(bench: _Bench) -> Work:
    layout = bench.layout
    held = tuple((a, b) for a, b in bench.held if a not in bench.out and b not in bench.out)
    acts, snags = tuple(bench.acts), tuple(bench.snags.values())
    return Work(layout, acts, snags, bench.links, held, bench.placed_by, tuple(bench.removed))
