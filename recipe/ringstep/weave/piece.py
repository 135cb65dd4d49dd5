"""The piece in the hand: one recipe resolved once, asked by everything else.

Comes in: a recipe and the variant it is worked in. Goes out: a `Weave`: which block stands where,
every act in working order, every ring with its links, the endless patterns that its stretches
follow, which rings are finished, and exact counts for the whole piece, however long it is.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property
from math import lcm

from ringstep.language.promised import Lies, Meets
from ringstep.language.syntax import RingKind, joined
from ringstep.language.tree import Tree, Variant
from ringstep.weave.counts import RingCounts, count_links, count_rings
from ringstep.weave.grading import Grading
from ringstep.weave.joined import Joined, edges_of, joined_on, lay_joined
from ringstep.weave.layout import Layout, lay_out, reach_of
from ringstep.weave.parts import PartShape, PartSize, rim_of, shape_of, size_of
from ringstep.weave.picture import Colours, Lot, fits, pictured_roles
from ringstep.weave.ring_graph import Near, Repeat, fold, pieces
from ringstep.weave.steps import Act, Ring, Snag, Work, carry_out, join, ring_name, role_indexes
from ringstep.weave.strands import Strands
from ringstep.weave.stretches import Stretch

#: Sections that stand in for the repeating block and owe its links.
STANDING_IN = frozenset({"start", "first row", "last row", "row end", "finish"})


def is_for_all(meets: Meets) -> bool:
    """True for 'all meets 6': a promise for every ring that has none of its own."""
    return meets.name.role.casefold() == "all" and meets.name.index is None


@dataclass(frozen=True)
class Owed:
    """Two rings on the piece that every repeating unit links, and that are not linked.

    ring: the one placed last, by `act`; other: the ring it misses.
    """

    ring: Ring
    other: Ring
    act: Act


@dataclass(frozen=True)
class Weave:
    """One recipe as the piece it makes, with one variant's lays; worked out on first use.

    whole: True to carry out every place, where else long stretches are cut.
    """

    recipe: Tree
    variant: Variant | None = None
    whole: bool = False

    def of_rings(self, recipe: Tree) -> Weave:
        """The same piece of other rings: its links are not worked out again.

        recipe: the same one with other lines of `rings:`.
        """
        other = Weave(recipe, self.variant, self.whole)
        for known in ("work", "repeat", "names"):
            other.__dict__[known] = getattr(self, known)
        return other

    def changed(self, recipe: Tree) -> Weave:
        """The piece after a change of its recipe; what is made first is not worked out again."""
        other = Weave(recipe, self.variant)
        if recipe.made and recipe.made is self.recipe.made:
            other.__dict__["made"] = self.made
            other.__dict__["_finished_alone"] = self._finished_alone
        return other

    # -- places, acts, links ---------------------------------------------------------------------

    @cached_property
    def layout(self) -> Layout:
        """The whole piece: which block stands where."""
        return lay_joined(self.recipe) if self.recipe.made else lay_out(self.recipe)

    @cached_property
    def work(self) -> Work:
        """The recipe carried out on the window: the piece with long stretches cut."""
        if isinstance(self.layout, Joined):
            return join(self.layout, tuple(w.work for w in self.made), self.variant)
        return carry_out(self.layout if self.whole else self.layout.window(), self.variant)

    @cached_property
    def made(self) -> tuple[Weave, ...]:
        """The pieces that are made first, each carried out whole, as if nothing were joined."""
        trees = (replace(made.tree, joins=()) for made in self.recipe.made)
        return tuple(Weave(tree, self.variant, True) for tree in trees)

    @cached_property
    def _joined_on(self) -> frozenset[tuple[str, int | None, int, int]]:
        """Of a piece made first, the rings to which more comes when it is joined."""
        return joined_on(self.work.layout, self.recipe) if self.recipe.joins else frozenset()

    @property
    def snags(self) -> tuple[Snag, ...]:
        """What a maker could not do."""
        return self.work.snags

    @cached_property
    def patterns(self) -> dict[Stretch, Repeat]:
        """The endless pattern of each stretch of the piece whose blocks go round.

        A list of turns worked once has none, nor has one that cannot be worked a second time.
        """
        found: dict[Stretch, Repeat] = {}
        made: dict[tuple[object, ...], Repeat | None] = {}
        for stretch in self.layout.turning:
            rows = self.layout.row_cycle_of(stretch.blocks)
            key = (*map(id, stretch.blocks), stretch.turn, stretch.first % rows)
            if key not in made:
                made[key] = self._pattern(stretch)
            if repeat := made[key]:
                found[stretch] = repeat
        return found

    def _pattern(self, stretch: Stretch) -> Repeat | None:
        steady = self.layout.steady(stretch)
        window = self.work.layout
        same = (window.along, window.down) == (steady.along, steady.down)
        work = self.work if same else carry_out(steady, self.variant)
        if len(stretch.blocks) > 1 and stretch.count <= len(stretch.blocks):
            known = {s.step.number for s in self.work.snags}
            if any(s.step.number not in known for s in work.snags):
                return None  # a plan in which no block comes twice
        return fold(steady, work)

    @cached_property
    def repeat(self) -> Repeat | None:
        """One cycle of the repeating part; None where no one pattern fills the piece."""
        if not self.layout.repeats:
            return None
        return next(iter(self.patterns.values()), None)

    @cached_property
    def parts_apart(self) -> list[set[Ring]]:
        """The pieces that the finished work falls into, largest first: one where it is whole."""
        steps = [p.apart() for p in self.patterns.values()]
        row_step, step = lcm(*(r for r, _ in steps), 1), lcm(*(u for _, u in steps), 1)
        if (row_step, step) == (1, 1):
            return pieces(self.work)
        # Strands side by side may be joined at an end, or by going round: where they meet hangs
        # on the very number of places.
        window = self.layout.window(row_step, step)
        return pieces(carry_out(window, self.variant))

    # -- what a ring would meet ------------------------------------------------------------------

    def _home(self, ring: Ring) -> tuple[Stretch, int] | None:
        """The stretch whose pattern a ring follows, and how far from its first place it stands.

        Start, finish, row ends, first and last rows and numbered units follow the stretch beside
        them.
        """
        layout = self.work.layout
        spots, at = (layout.down, ring.row) if layout.flat else (layout.along, ring.unit)
        if layout.flat and not 1 <= ring.row <= layout.rows:
            return None
        begins, best = 1, None
        for cut in spots:
            if cut.goes_round:
                away = max(begins - at, at - (begins + cut.count - 1), 0)
                if best is None or away < best[0]:
                    best = (away, cut, begins)
            elif begins <= at < begins + cut.count and not cut.fixed:
                return None  # a block of its own
            begins += cut.count
        if best is None:
            return None
        away, cut, begins = best
        whole = next((s for s in self.patterns if s.first == cut.first), None)
        if whole is None or not self._joins(at, begins, cut.count, spots):
            return None
        inside = min(max(at - begins, 0), cut.count - 1)
        return whole, cut.number(inside) - whole.first + at - begins - inside

    def _joins(self, at: int, begins: int, count: int, spots: tuple[Stretch, ...]) -> bool:
        """True where only places stand between that follow the stretch as siblings do."""
        low, high = min(at, begins), max(at, begins + count - 1)
        place = 1
        for cut in spots:
            overlaps = place <= high and place + cut.count > low
            if overlaps and not cut.fixed and place != begins:
                return False
            place += cut.count
        return True

    def near(self, ring: Ring) -> tuple[Near, ...] | None:
        """What a ring would meet were the piece endless; None where no pattern tells."""
        if (role := ring.role, ring.index) in self._sibling_patterns:
            return self._sibling_patterns[role, ring.index]
        home = self._home(ring)
        if home is None:
            return None
        stretch, at = home
        repeat, layout = self.patterns[stretch], self.layout
        if layout.rounds and not layout.rounds.alike(ring.row, layout.row_reach):
            return None  # rounds that grow or shrink have no endless pattern
        top = repeat.layout.rows - repeat.layout.down[-1].count if layout.flat else 0
        row = top + 1 + at if layout.flat else 1
        unit = self.work.layout.number(ring.unit) if layout.flat else 1 + at
        found = repeat.class_of(ring.role, ring.index, row, unit)
        return repeat.near.get(found)

    @cached_property
    def _sibling_patterns(self) -> dict[tuple[str, int], tuple[Near, ...]]:
        """What most rings of a name meet in a piece written out unit by unit.

        A ring that leaves out what is off the piece does not tell it. Where only one ring of a
        name can, the others must meet just what of it stands on the piece.
        """
        layout = self.work.layout
        if layout.flat or layout.turning or not layout.written:
            return {}
        seen: dict[tuple[str, int], Counter[frozenset[Near]]] = {}
        for ring, others in self.work.links.items():
            bare = self.work.acts[self.work.placed_by[ring]].dropped
            if 1 <= ring.unit <= layout.units - layout.reach and not bare:
                near = frozenset((o.role, o.index, 0, o.unit - ring.unit) for o in others)
                seen.setdefault((ring.role, ring.index), Counter())[near] += 1
        found = {}
        for name, sets in seen.items():
            (most, votes), *rest = sets.most_common(2)
            if rest[0][1] < votes if rest else votes > 1 or self._met_by_all(name, most):
                found[name] = tuple(sorted(most))
        return found

    def _met_by_all(self, name: tuple[str, int], nears: frozenset[Near]) -> bool:
        """True where every ring of a name in the units meets just these, as far as they stand."""
        for ring, others in self.work.links.items():
            if (ring.role, ring.index) == name and 1 <= ring.unit <= self.work.layout.units:
                near = (self.there(r, i, ring.row, ring.unit + on) for r, i, _, on in nears)
                if {n for n in near if n} != set(others):
                    return False
        return True

    def there(self, role: str, index: int, row: int, unit: int) -> Ring | None:
        """The ring of that name on the finished piece at a place; tubes and loops go round."""
        ring = Ring(role, index, row, unit)
        if ring in self.work.links:
            return ring
        layout = self.work.layout
        if layout.kind == "loop" and layout.known:
            standing = self._loop_places
            round_ = ring._replace(unit=standing[(unit - standing[0]) % len(standing)])
            return round_ if round_ in self.work.links else None
        if layout.kind == "tube" and layout.units:
            wide = layout.width(row) if 1 <= row <= layout.rows else layout.units
            end = ring._replace(unit=layout.units + 1)
            if unit == wide + 1 and end in self.work.links:
                return end
            round_ = ring._replace(unit=(unit - 1) % wide + 1)
            if round_ in self.work.links:
                return round_
            if unit < 1 and end in self.work.links:
                return end
        return None

    @cached_property
    def _loop_places(self) -> range:
        """The places of a loop, with those of start and finish that place rings."""
        units, placed = self.work.layout.units, {r.unit for r in self.work.links}
        return range(0 if 0 in placed else 1, units + (2 if units + 1 in placed else 1))

    def would_meet(self, ring: Ring) -> list[Ring | None] | None:
        """The rings of the piece that a ring would meet by its pattern, None for each that does
        not stand on the piece; None altogether where no pattern tells."""
        if strands := self.work.layout.strands:
            return self._would_meet_on(strands, ring)
        nears = self.near(ring)
        if nears is None:
            return None
        unit, layout = ring.unit, self.work.layout
        if layout.rounds and unit > layout.units:
            unit = layout.width(ring.row) + 1  # what closes a round stands behind its last place
        return [self.there(r, i, ring.row + down, unit + on) for r, i, down, on in nears]

    def _would_meet_on(self, strands: Strands, ring: Ring) -> list[Ring | None] | None:
        """The same in a piece of strands: a ring of the start stands before the first unit of
        every strand that places its like, one of the finish behind the only one."""
        own = strands.name_of(ring.unit)
        names = [own] if own else strands.placing(*ring[:2])
        if ring.unit == strands.behind and len(names) > 1:
            return None
        found: list[Ring | None] = []
        for stretch, repeat in self.patterns.items():
            if stretch.strand not in names:
                continue
            span = strands.spans[stretch.strand]
            cut = next(s for s in self.work.layout.along if s.strand == stretch.strand)
            unit = ring.unit if own else span.start - 1 if ring.unit == 0 else span.stop
            inside = min(max(unit - span.start, 0), len(span) - 1)
            number = cut.number(inside) + unit - span.start - inside
            near = repeat.near.get(repeat.class_of(ring.role, ring.index, 1, number), ())
            for role, index, _, on in near:
                at = strands.at(stretch.strand, unit + on, role, index)
                other = None if at is None else Ring(role, index, 1, at)
                found.append(other if other in self.work.links else None)
        return found or None

    @cached_property
    def owed(self) -> tuple[Owed, ...]:
        """Links that start, first and last row, row ends and finish owe and do not make.

        They stand in for the repeating block: where both rings of a link of the endless pattern
        stand on the piece, they are linked, whichever of the sections placed them.
        """
        work, loop = self.work, self.layout.kind == "loop"
        found: dict[frozenset[Ring], Owed] = {}
        if not self.patterns and not self._sibling_patterns:
            return ()
        for ring, others in work.links.items():
            for other in self.would_meet(ring) or ():
                if other is None or other in others or other == ring:
                    continue
                if loop and not (self._is_short(ring) and self._is_short(other)):
                    continue  # the finish of a loop may hold the rings of several units
                one, two = sorted((ring, other), key=lambda r: work.placed_by[r])
                acts = work.acts[work.placed_by[one]], work.acts[work.placed_by[two]]
                if any(a.block.kind in STANDING_IN for a in acts):
                    found.setdefault(frozenset((one, two)), Owed(two, one, acts[1]))
        return tuple(found.values())

    def _is_short(self, ring: Ring) -> bool:
        """True where a ring meets fewer rings than its pattern gives it."""
        return len(self.work.links[ring]) < len(self.near(ring) or ())

    @cached_property
    def finished(self) -> tuple[Ring, ...]:
        """The rings to which nothing more can come, and which have all they would meet.

        In a closed loop that is every ring. Else a ring that follows a pattern is finished where
        every neighbour it would have stands on the piece; a ring of a section worked once, as it
        is when the work ends.
        """
        if self.layout.kind == "loop":
            return tuple(self.work.links)
        return tuple(r for r in self.work.links if self._is_finished(r))

    def _is_finished(self, ring: Ring) -> bool:
        if isinstance(self.layout, Joined):
            return self._is_joined(self.layout, ring)
        names = ((ring.role, index, *ring[2:]) for index in (None, ring.index))
        if self._joined_on and not self._joined_on.isdisjoint(names):
            return False
        strands = self.work.layout.strands
        if strands and ring.unit == 0 and len(strands.placing(*ring[:2])) > 1:
            return False  # promises are of one strand, and it serves several
        if self.of_first_row(ring):
            return True  # it stands for the row, whatever parts of its name the rows take
        laid, deep = self.work.layout, self.work.layout.row_reach
        if laid.rounds and ring.role in self._never_met:
            return not self.work.acts[self.work.placed_by[ring]].dropped
        if laid.rounds and (ring.role, ring.index) in self._repeating:
            # Nothing more comes to a round that has others on both sides of it; the middle of a
            # disc is one of them where its ring is called as those of the rounds are.
            start, called = laid.block("start"), {role for role, _ in self._repeating}
            first = deep + 1 - (start is not None and start.placed.keys() <= called)
            return max(first, 1) <= ring.row <= laid.rows - deep
        meets = self.would_meet(ring)
        if meets is not None:
            # What start and finish hang on it besides keeps a promise of its own.
            links = self.work.links[ring]
            acts = {r: self.work.acts[n] for r, n in links.items()}
            gathers = {r for r, act in acts.items() if ring in act.every and act.gathers_all}
            more = links.keys() - set(meets) - gathers
            ends = any((r.role, r.index) not in self._repeating for r in more)
            return None not in meets and not ends
        layout, act = self.work.layout, self.work.acts[self.work.placed_by[ring]]
        if isinstance(act.block.label, int) and not act.block.differs and not layout.turning:
            bare = any(a.dropped for a in self._acts_at.get((ring.row, ring.unit), ()))
            # No second pass is worked at the start, so rings behind its first places lack some.
            again = layout.block("again")
            begins = reach_of(again.steps) if again else 0
            return not bare and begins < ring.unit <= layout.units - layout.reach
        if (ring.role, ring.index) not in self._repeating:
            return True
        # At an end it cannot be told what a ring that repeats would meet; in a unit of its own
        # between others it can.
        own = not layout.flat and act.block.kind == "unit" and not act.block.differs
        last = layout.units
        if layout.strands and own:
            last = layout.strands.spans[layout.strands.name_of(ring.unit)][-1]
        return own and 1 <= ring.unit <= last - layout.reach

    def of_first_row(self, ring: Ring) -> bool:
        """True for a part that the whole first row hangs from, such as a bar."""
        parts = self.recipe.part_roles
        return self.layout.flat and ring.row == 1 and ring.unit == 0 and ring.role in parts

    def _is_joined(self, layout: Joined, ring: Ring) -> bool:
        """True for a ring of the joining steps, and for one that is finished in its own piece. One
        that they hang on is judged as it is when the work ends, if every side on which it lacks
        neighbours is joined, and if no step that goes along its edge misses it."""
        copy = layout.copy_at(ring.row, ring.unit)
        if copy is None:
            return True
        own, acts = ring._replace(unit=ring.unit - copy.first), self.work.acts
        steps = {a.step for n in self.work.links[ring].values() if (a := acts[n]).row < 0}
        if not steps:
            return own in self._finished_alone[copy.made]
        lacking, points = self.made[copy.made]._lacking_sides(own), 0
        for step in steps:
            edges = layout.edges_at(step, copy, own[2:])
            points += not edges
            for edge, at in edges:
                act = self._joining_acts.get((step.number, at))
                if act is None or ring not in act.through:
                    return False
                lacking -= {edge}
        return len(lacking) <= points

    @cached_property
    def _joining_acts(self) -> dict[tuple[int, int], Act]:
        """What was done by each joining step at each place along its edges."""
        return {(a.step.number, a.unit): a for a in self.work.acts if a.row < 0 and not a.skipped}

    def _lacking_sides(self, ring: Ring) -> set[str]:
        """The sides of a piece on which a ring lacks neighbours that its pattern gives it."""
        nears, meets = self.near(ring), self.would_meet(ring)
        if nears is None or meets is None or None not in meets or self.layout.strands:
            return set()
        if self.layout.flat:
            return edges_of(self.layout, ring.row, ring.unit)
        away = [near[3] for near, met in zip(nears, meets, strict=True) if met is None]
        return {"end" if on > 0 else "beginning" for on in away}

    @cached_property
    def _finished_alone(self) -> tuple[frozenset[Ring], ...]:
        return tuple(frozenset(weave.finished) for weave in self.made)

    @cached_property
    def _never_met(self) -> frozenset[str]:
        """The roles that no step goes through or opens again: their rings have all their links as
        soon as they are placed."""
        steps = list(self.recipe.steps())
        met = {r.name.role for s in steps for r in s.through}
        met |= {r.name.role for s in steps if s.kind == "reopen" for r in s.refs}
        met |= {i.name.role for s in steps if s.one_another for i in s.new}
        return frozenset(self.names.keys() - met - self.recipe.part_roles)

    @cached_property
    def _acts_at(self) -> dict[tuple[int, int], list[Act]]:
        found: dict[tuple[int, int], list[Act]] = {}
        for act in self.work.acts:
            found.setdefault((act.row, act.unit), []).append(act)
        return found

    @cached_property
    def _repeating(self) -> frozenset[tuple[str, int]]:
        """Every name of a ring that repeats, in a pattern or in units written out."""
        names = {(c.role, c.index) for p in self.patterns.values() for c in p.classes}
        roles = {role for role, _ in names}
        if not self.patterns and not self.layout.turning:
            homes = Counter(
                (role, index)
                for block in self.recipe.blocks
                for role, have in block.placed.items()
                for index in have
            )
            written = [b for b in self.recipe.blocks if isinstance(b.label, int)]
            if not written and not self.layout.flat:
                # Runs of one unit each: a block that comes again is a home of its rings again.
                written = [b for s in self.layout.along for b in s.blocks]
                again = [b for n, b in enumerate(written) if b in written[:n]]
                homes.update((r, i) for b in again for r, have in b.placed.items() for i in have)
            names = {(r, i) for b in written for r, have in b.placed.items() for i in have}
            return frozenset(n for n in names if homes[n] > 1)
        # A ring of the start that is one more of a repeating role is no ring of its own either.
        placed = role_indexes(self.recipe.blocks)
        return frozenset(names | {(r, i) for r in roles for i in placed.get(r, ())})

    @cached_property
    def neighbourhoods(self) -> tuple[tuple[str, int, Counter[str]], ...]:
        """Every finished ring as (role, number, how many rings of each role it meets)."""
        return tuple((r.role, r.index, self.met(r)) for r in self.finished)

    def met(self, ring: Ring) -> Counter[str]:
        """How many rings of each role a ring of the finished piece meets.

        A ring that many places hang on, such as a bar, meets those that were left out as well.
        """
        found: Counter[str] = Counter()
        for other, number in self.work.links[ring].items():
            found[other.role] += self._often(ring, other, number)
        return found

    def met_after(self, ring: Ring, act: int) -> int:
        """How many rings a ring passes through once an act of the window is done."""
        return sum(self._often(ring, other, n) for other, n in self.work.made_by(ring, act))

    def _often(self, ring: Ring, other: Ring, number: int) -> int:
        """How many links of a ring on the piece the one link that an act made stands for."""
        layout, act = self.work.layout, self.work.acts[number]
        if ring in act.every or other in act.every:
            return act.every.get(other, 1)
        far = abs(act.unit - ring.unit) > layout.reach
        far_down = abs(act.row - ring.row) > layout.row_reach
        along, down = layout.stand_for_each(act.row, act.unit)
        return (along if far else 1) * (down if far_down else 1)

    # -- promises --------------------------------------------------------------------------------

    def promise(self, role: str, index: int) -> Meets | None:
        """The promise for a ring: one for its own name goes before one for its role."""
        promises = self._promises
        return promises.get((role, index)) or promises.get((role, None)) or self._for_all

    @cached_property
    def _promises(self) -> dict[tuple[str, int | None], Meets]:
        """The first promise for each name."""
        return {(m.name.role, m.name.index): m for m in reversed(self.recipe.meets)}

    @cached_property
    def _for_all(self) -> Meets | None:
        return next((m for m in self.recipe.meets if is_for_all(m)), None)

    def lies(self, role: str, index: int) -> tuple[Lies, ...]:
        """What is promised of a ring that is held: by its own name, or else by its role."""
        own = [x for x in self.recipe.lies if (x.name.role, x.name.index) == (role, index)]
        plain = [x for x in self.recipe.lies if (x.name.role, x.name.index) == (role, None)]
        return tuple(own or plain)

    @cached_property
    def promised(self) -> frozenset[str]:
        """Every role that a promise speaks of."""
        return frozenset(r for p in self.recipe.promises for r in (p.name.role, *p.roles))

    # -- names, kinds, sizes ---------------------------------------------------------------------

    def name(self, ring: Ring) -> str:
        """The ring as its author calls it."""
        if self.recipe.made and ring.row < 0:
            return ring_name(ring, role_indexes(self.recipe.blocks).get(ring.role, (1,)))
        if self.layout.strands:  # what strands have in common is told apart by its number
            return ring_name(ring, self.names.get(ring.role, (1,)))
        return ring_name(ring, self.indexes(ring.role, ring.row, ring.unit))

    def piece_words(self, ring: Ring) -> str:
        """In which of the pieces made first a ring stands, or which step joins them by it; "" where
        nothing is joined."""
        if not isinstance(self.layout, Joined):
            return ""
        copy = self.layout.copy_at(ring.row, ring.unit)
        step = self.work.acts[self.work.placed_by[ring]].step
        return f"of {copy.called}" if copy else f"of step {step.number}"

    def indexes(self, role: str, row: int, unit: int) -> tuple[int, ...]:
        """The numbers of the rings of a role at one place."""
        return role_indexes(self.work.layout.blocks_at(row, unit)).get(role, (1,))

    @cached_property
    def names(self) -> dict[str, tuple[int, ...]]:
        """Every role the steps place, with the numbers of its rings."""
        return role_indexes(self.recipe.every_block)

    @cached_property
    def roles(self) -> frozenset[str]:
        """Every role that a step places, be it in another of the pieces joined, and every part."""
        return self.recipe.part_roles.union(self.names, self.recipe.elsewhere)

    def kind_of(self, role: str, index: int) -> RingKind | None:
        """The line of `rings:` that says what size a ring has: its own, its role's, or `all`."""
        return self.recipe.kind_of(role, index)

    def size(self, role: str, index: int) -> tuple[float, float] | None:
        """Wire and inside of a ring in mm; None where the recipe gives none or not both."""
        kind = self.kind_of(role, index)
        wire, inside = kind.mm if kind else (None, None)
        return (wire, inside) if wire and inside else None

    def part_size(self, role: str) -> PartSize | None:
        """How large a part is; None where the recipe does not say."""
        part = next((p for p in self.recipe.parts if p.name.role == role), None)
        return size_of(part) if part else None

    def part_shape(self, role: str) -> PartShape | None:
        """How a part is shaped as far as its words say; None where its sizes do not."""
        part = next((p for p in self.recipe.parts if p.name.role == role), None)
        return shape_of(part) if part else None

    def round_size(self, role: str, index: int) -> tuple[float, float] | None:
        """The same as `size`; of a part the rim of its hole, and the hole.

        A ball that only lies inside rings is a rim of no radius, so its hole is below nothing.
        """
        if role not in self.recipe.part_roles:
            return self.size(role, index)
        part = next(p for p in self.recipe.parts if p.name.role == role)
        met = any(met for ring, met in self.work.links.items() if ring.role == role)
        return rim_of(part, met)

    def bought_name(self, role: str, index: int) -> str:
        """What a ring is called where rings are laid ready: 'A2' if an A of its own kind has a
        line, or else 'A' for all of them."""
        return joined(role, index) if role in self._of_several_lines else role

    @cached_property
    def _of_several_lines(self) -> frozenset[str]:
        """The roles whose rings do not all have the same lines of `rings:`."""
        lines = {r: {id(self.recipe.kinds_of(r, i)) for i in n} for r, n in self.names.items()}
        return frozenset(role for role, own in lines.items() if len(own) > 1)

    # -- counts ----------------------------------------------------------------------------------

    def stands_for(self, act: Act) -> int:
        """How often the whole piece has an act of the window."""
        return self.work.layout.stands_for(act.row, act.unit)

    @cached_property
    def counts(self) -> RingCounts:
        """The rings of the whole piece, exact for every length."""
        return count_rings(self.work)

    @cached_property
    def colours(self) -> Colours | None:
        """The picture on the piece; None where there is none, or it does not fit the piece."""
        picture, roles = self.recipe.picture, pictured_roles(self.recipe)
        if picture is None or not roles or not fits(picture, self.layout):
            return None
        return Colours(picture, self.layout, self.work, roles)

    @property
    def grading(self) -> Grading:
        """Where which size stands, for rings whose size changes along the piece."""
        return Grading(self.recipe, self.layout, self.work)

    @cached_property
    def lots(self) -> tuple[Lot, ...]:
        """The rings and parts of the whole piece by name and kind, those of a picture by colour."""
        counts, parts = self.counts, self.recipe.part_roles
        coloured = self.colours.counts if self.colours else {}
        pictured = {(role, index) for role, index, _ in coloured}
        found = []
        for role, index in counts.placed():
            name = role, index
            kind = None if role in parts else self.kind_of(role, index)
            left = [n[name] for n in (counts.opened, counts.closed, counts.taken_out)]
            if role not in parts and self.recipe.graded(role, index) and name not in pictured:
                found += [
                    Lot(role, index, kind, "", *own)
                    for kind, own in self.grading.counts(role, index)
                ]
                continue
            for line in self.colours.picture.key if self.colours else ():
                if own := coloured.get((role, index, line.letter)):
                    look = kind and replace(
                        kind,
                        colour=line.colour,
                        material=line.material or kind.material,
                        span=line.span,
                    )
                    found.append(Lot(role, index, look, line.letter, *own))
                    left = [a - b for a, b in zip(left, own, strict=True)]
            if left[0] + left[1]:
                found.append(Lot(role, index, kind, "", *left))
        return tuple(found)

    @cached_property
    def links(self) -> tuple[int, int]:
        """Links of the finished piece, and those of them in which a part takes part."""
        return count_links(self.work)
