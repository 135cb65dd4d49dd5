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
from ringstep.weave.done import Done
from ringstep.weave.grading import Grading
from ringstep.weave.joined import Joined, lay_joined
from ringstep.weave.layout import Layout, lay_out
from ringstep.weave.meeting import Meeting, Owed
from ringstep.weave.parts import PartShape, PartSize, rim_of, shape_of, size_of
from ringstep.weave.picture import Colours, Lot, fits, pictured_roles
from ringstep.weave.ring_graph import Repeat, fold, pieces
from ringstep.weave.steps import carry_out, join
from ringstep.weave.stretches import Stretch
from ringstep.weave.work import Act, Ring, Snag, Work, ring_name, role_indexes


def is_for_all(meets: Meets) -> bool:
    """True for 'all meets 6': a promise for every ring that has none of its own."""
    return meets.name.role.casefold() == "all" and meets.name.index is None


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
        return other

    # -- places, acts, links ---------------------------------------------------------------------

    @cached_property
    def layout(self) -> Layout:
        """The whole piece: which block stands where."""
        if self.recipe.made:
            return lay_joined(self.recipe, tuple(piece.layout for piece in self.made))
        return lay_out(self.recipe)

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

    @cached_property
    def meeting(self) -> Meeting:
        """What its rings would meet."""
        return Meeting(self.layout, self.work, self.patterns)

    @cached_property
    def owed(self) -> tuple[Owed, ...]:
        """Links that start, first and last row, row ends and finish owe and do not make."""
        return self.meeting.owed

    @cached_property
    def done(self) -> Done:
        """Which of its rings are finished."""
        made = tuple(piece.done for piece in self.made)
        repeating = self.repeating
        return Done(self.recipe, self.layout, self.work, self.meeting, repeating, made)

    @property
    def finished(self) -> tuple[Ring, ...]:
        """The rings to which nothing more can come, and which have all they would meet."""
        return self.done.rings

    @cached_property
    def repeating(self) -> frozenset[tuple[str, int]]:
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
        if not far and not far_down:
            return 1
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
