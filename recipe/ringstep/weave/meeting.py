"""What a ring of the piece would meet by the pattern it follows, and which links are owed."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property

from ringstep.weave.layout import Layout
from ringstep.weave.ring_graph import Near, Repeat
from ringstep.weave.strands import Strands
from ringstep.weave.stretches import Stretch
from ringstep.weave.work import Act, Ring, Work

#: Sections that stand in for the repeating block and owe its links.
STANDING_IN = frozenset({"start", "first row", "last row", "row end", "finish"})


@dataclass(frozen=True)
class Owed:
    """Two rings on the piece that every repeating unit links, and that are not linked.

    ring: the one placed last, by `act`; other: the ring it misses.
    """

    ring: Ring
    other: Ring
    act: Act


@dataclass(frozen=True)
class Meeting:
    """What the rings of a piece would meet; worked out on first use.

    layout: of the whole piece; work: its window, carried out; patterns: of each stretch that goes
    round.
    """

    layout: Layout
    work: Work
    patterns: dict[Stretch, Repeat]

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
                if loop and not (self.is_short(ring) and self.is_short(other)):
                    continue  # the finish of a loop may hold the rings of several units
                one, two = sorted((ring, other), key=lambda r: work.placed_by[r])
                acts = work.acts[work.placed_by[one]], work.acts[work.placed_by[two]]
                if any(a.block.kind in STANDING_IN for a in acts):
                    found.setdefault(frozenset((one, two)), Owed(two, one, acts[1]))
        return tuple(found.values())

    def is_short(self, ring: Ring) -> bool:
        """True where a ring meets fewer rings than its pattern gives it."""
        return len(self.work.links[ring]) < len(self.near(ring) or ())
