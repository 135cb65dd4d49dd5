"""One recipe carried out: where everything stands, what was done, and what each ring meets.

Comes in: a recipe and one of its variants. Goes out: its `Model`, worked out as far as it is asked.
"""

from __future__ import annotations

from collections import Counter
from functools import cached_property

from ringstep.language.record import record
from ringstep.language.syntax import Block, Meets, Recipe, Variant
from ringstep.weave.layout import Layout, lay_out
from ringstep.weave.ring_graph import Class, Repeat, fold
from ringstep.weave.steps import Ring, Snag, Work, carry_out, ring_name, role_indexes


@record
class Count:
    """A finished ring and how many rings it meets, against its promise.

    name: as the author calls it; block: whose unit it stands in; unit: 0 for the repeating unit.
    """

    name: str
    role: str
    index: int
    block: Block | None
    unit: int
    found: dict[str, int]
    promise: Meets

    @property
    def total(self) -> int:
        """How many rings it meets."""
        return sum(self.found.values())

    def off(self) -> int:
        """How far it is from its promise, in rings; 0 where it is kept."""
        if self.promise.by_role is None:
            return abs(self.total - self.promise.total)
        wanted = Counter(dict(self.promise.by_role))
        have = Counter(self.found)
        return sum(((wanted - have) + (have - wanted)).values())


def is_for_all(meets: Meets) -> bool:
    """True for 'all meets 6': a promise for every ring that has none of its own."""
    return meets.name.role.casefold() == "all" and meets.name.index is None


@record
class Model:
    """One recipe carried out on its window, with one variant's lays."""

    recipe: Recipe
    variant: Variant | None = None

    @cached_property
    def layout(self) -> Layout:
        """The piece as the author wants it."""
        return lay_out(self.recipe)

    @cached_property
    def work(self) -> Work:
        """The recipe carried out on the window."""
        return carry_out(self.layout.window(), self.variant)

    @cached_property
    def steady(self) -> Work:
        """The recipe carried out on a window that surely holds one steady cycle."""
        window, steady = self.layout.window(), self.layout.steady()
        same = (window.rows, window.units) == (steady.rows, steady.units)
        return self.work if same else carry_out(steady, self.variant)

    @cached_property
    def repeat(self) -> Repeat | None:
        """One cycle of the repeating part."""
        return fold(self.layout, self.variant, self.steady) if self.layout.repeats else None

    @cached_property
    def snags(self) -> tuple[Snag, ...]:
        """What a maker could not do, in the window and in the steady part."""
        return self.work.snags

    def name(self, ring: Ring) -> str:
        """The ring as its author calls it."""
        return ring_name(ring, self.indexes(ring.role, ring.row, ring.unit))

    def indexes(self, role: str, row: int, unit: int) -> tuple[int, ...]:
        """The numbers of the rings of a role at one place."""
        return role_indexes(self.work.layout.blocks_at(row, unit)).get(role, (1,))

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

    @cached_property
    def counts(self) -> tuple[Count, ...]:
        """Every finished ring that has a promise: one for each ring of the cycle, then the rings
        of written-out units and of closed pieces."""
        found = []
        told: set[tuple[object, ...]] = set()
        if self.repeat:
            for ring in self.repeat.classes:
                # The units of a cycle differ in lay or block; alike rings of theirs are told once.
                met = dict(self.repeat.meets(ring))
                alike = (ring.role, ring.index, *sorted(met.items()))
                if alike in told:
                    continue
                told.add(alike)
                if count := self._counted(ring.role, ring.index, None, met, ring):
                    found.append(count)
        seen = {(c.role, c.index) for c in found if c.off()}
        for one in self.finished():
            if (one.role, one.index) not in seen:
                block = self.work.acts[self.work.placed_by[one]].block
                meets = dict(Counter(o.role for o in self.work.links[one]))
                if count := self._counted(one.role, one.index, block, meets, one):
                    found.append(count)
        return tuple(found)

    @cached_property
    def roles(self) -> frozenset[str]:
        """Every role that a step places, and every part."""
        return self.recipe.part_roles.union(role_indexes(self.recipe.blocks))

    @cached_property
    def promised(self) -> frozenset[str]:
        """Every role that a promise speaks of."""
        by_role = (r for m in self.recipe.meets for r, _ in m.by_role or ())
        return frozenset((*(m.name.role for m in self.recipe.meets), *by_role))

    @cached_property
    def _homes(self) -> dict[str, Block]:
        """For each role the first repeating block that places it."""
        return {
            role: block
            for block in reversed(self.recipe.blocks)
            if block.kind in ("unit", "row", "again") and not isinstance(block.label, int)
            for role in block.placed
        }

    def _counted(
        self, role: str, index: int, block: Block | None, meets: dict[str, int], ring: Ring | Class
    ) -> Count | None:
        promise = self.promise(role, index)
        if promise is None or any(r not in self.roles for r, _ in promise.by_role or ()):
            return None
        if isinstance(ring, Class):
            block = self._homes.get(role)
            have = block.placed.get(role, (1,)) if block else (1,)
            name = ring_name(Ring(role, index, 0, 0), have)
            return Count(name, role, index, block, 0, meets, promise)
        return Count(self.name(ring), role, index, block, ring.unit, meets, promise)

    @cached_property
    def neighbourhoods(self) -> tuple[tuple[str, int, Counter[str]], ...]:
        """Every finished ring as (role, number, how many rings of each role it meets): those of
        the cycle, then those judged one by one."""
        found = []
        if self.repeat:
            found += [(c.role, c.index, self.repeat.meets(c)) for c in self.repeat.classes]
        for ring in self.finished():
            found.append((ring.role, ring.index, Counter(o.role for o in self.work.links[ring])))
        return tuple(found)

    def finished(self) -> list[Ring]:
        """Rings of the window, outside the repeating part, to which nothing more can come.

        All rings of a closed loop; in an open piece those of written-out units (and of rows) that
        no step left anything out for and that no later place can still reach.
        """
        work, layout = self.work, self.work.layout
        if layout.kind == "loop":
            return list(work.links)
        bare = {(a.row, a.unit) for a in work.acts if a.dropped}
        single = not layout.repeats and layout.units == 0
        found = []
        for ring in work.links:
            act = work.acts[work.placed_by[ring]]
            if (ring.row, ring.unit) in bare and not single:
                continue
            if layout.flat:
                whole = (
                    ring.row > layout.edge_rows
                    and ring.row + layout.row_reach <= layout.rows
                    and (
                        layout.kind == "tube"
                        or layout.reach < ring.unit <= layout.units - layout.reach
                    )
                )
                if whole and act.block.kind != "first row":
                    found.append(ring)
            elif act.block.kind == "unit" and isinstance(act.block.label, int):
                if ring.unit + layout.reach <= layout.units:
                    found.append(ring)
            elif single:
                found.append(ring)
        return found
