"""Which rings of the piece are finished: nothing more comes to them, so they owe their promises."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from ringstep.language.tree import Tree
from ringstep.weave.joined import Joined, edges_of, joined_on
from ringstep.weave.layout import Layout, reach_of
from ringstep.weave.meeting import Meeting
from ringstep.weave.work import Act, Ring, Work


@dataclass(frozen=True)
class Done:
    """The finished rings of a piece; worked out on first use.

    layout: of the whole piece; work: its window, carried out; repeating: every name of a ring that
    repeats; made: the same of the pieces that are made first.
    """

    recipe: Tree
    layout: Layout
    work: Work
    meeting: Meeting
    repeating: frozenset[tuple[str, int]]
    made: tuple[Done, ...] = ()

    @cached_property
    def rings(self) -> tuple[Ring, ...]:
        """The rings to which nothing more can come, and which have all they would meet.

        In a closed loop that is every ring. Else a ring that follows a pattern is finished where
        every neighbour it would have stands on the piece; a ring of a section worked once, as it
        is when the work ends.
        """
        links = self.work.links
        if self.layout.kind == "loop":
            return tuple(links)
        return tuple(r for r in links if self._is_finished(r))

    @cached_property
    def each(self) -> frozenset[Ring]:
        """The same, to ask whether one is among them."""
        return frozenset(self.rings)

    def _is_finished(self, ring: Ring) -> bool:
        if isinstance(self.layout, Joined):
            return self._is_joined(self.layout, ring)
        names = ((ring.role, index, *ring[2:]) for index in (None, ring.index))
        if self._joined_on and not self._joined_on.isdisjoint(names):
            return False
        strands = self.work.layout.strands
        if strands and ring.unit == 0 and len(strands.placing(*ring[:2])) > 1:
            return False  # promises are of one strand, and it serves several
        if self._of_first_row(ring):
            return True  # it stands for the row, whatever parts of its name the rows take
        laid, deep = self.work.layout, self.work.layout.row_reach
        if laid.rounds and ring.role in self._never_met:
            return not self.work.acts[self.work.placed_by[ring]].dropped
        if laid.rounds and (ring.role, ring.index) in self.repeating:
            # Nothing more comes to a round that has others on both sides of it; the middle of a
            # disc is one of them where its ring is called as those of the rounds are.
            start, called = laid.block("start"), {role for role, _ in self.repeating}
            first = deep + 1 - (start is not None and start.placed.keys() <= called)
            return max(first, 1) <= ring.row <= laid.rows - deep
        meets = self.meeting.would_meet(ring)
        if meets is not None:
            # What start and finish hang on it besides keeps a promise of its own.
            links = self.work.links[ring]
            acts = {r: self.work.acts[n] for r, n in links.items()}
            gathers = {r for r, act in acts.items() if ring in act.every and act.gathers_all}
            more = links.keys() - set(meets) - gathers
            ends = any((r.role, r.index) not in self.repeating for r in more)
            return None not in meets and not ends
        layout, act = self.work.layout, self.work.acts[self.work.placed_by[ring]]
        if isinstance(act.block.label, int) and not act.block.differs and not layout.turning:
            bare = any(a.dropped for a in self._acts_at.get((ring.row, ring.unit), ()))
            # No second pass is worked at the start, so rings behind its first places lack some.
            again = layout.block("again")
            begins = reach_of(again.steps) if again else 0
            return not bare and begins < ring.unit <= layout.units - layout.reach
        if (ring.role, ring.index) not in self.repeating:
            return True
        # At an end it cannot be told what a ring that repeats would meet; in a unit of its own
        # between others it can.
        own = not layout.flat and act.block.kind == "unit" and not act.block.differs
        last = layout.units
        if layout.strands and own:
            last = layout.strands.spans[layout.strands.name_of(ring.unit)][-1]
        return own and 1 <= ring.unit <= last - layout.reach

    def _of_first_row(self, ring: Ring) -> bool:
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
            return own in self.made[copy.made].each
        lacking, points = self.made[copy.made].lacking_sides(own), 0
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

    def lacking_sides(self, ring: Ring) -> set[str]:
        """The sides of a piece on which a ring lacks neighbours that its pattern gives it."""
        nears, meets = self.meeting.near(ring), self.meeting.would_meet(ring)
        if nears is None or meets is None or None not in meets or self.layout.strands:
            return set()
        if self.layout.flat:
            return edges_of(self.layout, ring.row, ring.unit)
        away = [near[3] for near, met in zip(nears, meets, strict=True) if met is None]
        return {"end" if on > 0 else "beginning" for on in away}

    @cached_property
    def _never_met(self) -> frozenset[str]:
        """The roles that no step goes through or opens again: their rings have all their links as
        soon as they are placed."""
        steps = list(self.recipe.steps())
        met = {r.name.role for s in steps for r in s.through}
        met |= {r.name.role for s in steps if s.kind == "reopen" for r in s.refs}
        met |= {i.name.role for s in steps if s.one_another for i in s.new}
        return frozenset({r.role for r in self.work.links} - met - self.recipe.part_roles)

    @cached_property
    def _acts_at(self) -> dict[tuple[int, int], list[Act]]:
        found: dict[tuple[int, int], list[Act]] = {}
        for act in self.work.acts:
            found.setdefault((act.row, act.unit), []).append(act)
        return found

    @cached_property
    def _joined_on(self) -> frozenset[tuple[str, int | None, int, int]]:
        """Of a piece made first, the rings to which more comes when it is joined."""
        return joined_on(self.work.layout, self.recipe) if self.recipe.joins else frozenset()
