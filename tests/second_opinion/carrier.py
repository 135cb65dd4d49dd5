"""A second opinion: a recipe carried out ring by ring, the slow and plain way.

It shares nothing with the program that is tested: it places every ring of the finite piece one
after the other, folds nothing and keeps no window. Places are (row, unit): a chain is row 1 with
its start at unit 0 and its finish behind the last unit; a sheet has its start in row 0 and its
finish below the last row.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from second_opinion.reading import ONE_ANOTHER, Block, Item, Step, Text


class Ring(NamedTuple):
    """One ring (or part): its role, its number in its place, and that place."""

    role: str
    index: int  # type: ignore[assignment]
    row: int
    unit: int


@dataclass
class Act:
    """One step at one place. side: as the worker sees it; left_out: off the edge, whole or part.

    through: where its rings go through one another, those that the last of them goes through.
    meets: how many rings each passes through then; of those that 'every' gathers nothing is told.
    """

    step: Step
    block: Block
    row: int
    unit: int
    new: list[Ring]
    through: list[Ring]
    side: str
    left_out: bool
    lay_matters: bool
    meets: dict[Ring, int]


class CannotBe(Exception):
    """The work cannot be done as it is written."""


class Piece:
    """The work carried out. links: as they are in the end; out: rings taken out again."""

    def __init__(
        self,
        text: Text,
        variant: str = "",
        more_units: int = 0,
        more_rows: int = 0,
        endless: bool = False,
    ) -> None:
        """endless: without finish, row end and written-out units; what is off the edge is left out.

        Raises `CannotBe` where a maker could not do what a line says.
        """
        self.text, self.endless = text, endless
        self.units, self.rows = text.units + more_units, text.rows + more_rows
        self.sides = text.variants.get(variant or text.variant or next(iter(text.variants), ""), [])
        self.links: dict[Ring, set[Ring]] = {}
        self.out: set[Ring] = set()
        self.acts: list[Act] = []
        self.placed_by: dict[Ring, Act] = {}
        self.parts: dict[Ring, None] = {}
        self.bare: set[Ring] = set()
        small = text.units, text.rows
        text.units, text.rows = self.units, self.rows
        try:
            for block, row, unit in self._places():
                for step in block.steps:
                    self._carry_out(step, block, row, unit)
        finally:
            text.units, text.rows = small

    def way(self, row: int) -> int:
        return -1 if self.text.back_and_forth and row % 2 == 0 else 1

    def along(self, row: int) -> list[int]:
        """The units of a row that are worked, from left to right."""
        if self.endless or not 1 <= row <= self.text.rows:
            return list(range(1, self.units + 1))
        return self.text.worked[row]

    def _places(self) -> list[tuple[Block, int, int]]:
        """Every block at its place, in the order of the work."""
        text, found = self.text, []
        ends = () if self.endless else ("finish",)
        if text.strands:
            found += [(b, 0, 0) for b in text.blocks_at(0, 0)]
            for row, (_, units) in enumerate(text.strands, 1):
                for unit in range(1, units + 1):
                    found += [(b, row, unit) for b in text.blocks_at(row, unit)]
            end = len(text.strands) + 1
            found += [(b, end, 0) for b in text.blocks_at(end, 0)]
            return sorted(found, key=lambda at: {"again": 1, "finish": 2}.get(at[0].kind, 0))
        if not text.flat:
            for unit in range(self.units + 2):
                blocks = text.blocks_at(1, unit, self.endless)
                found += [(b, 1, unit) for b in blocks if unit <= self.units or b.kind in ends]
            # A second pass comes when all units are done, the finish behind it.
            return sorted(found, key=lambda at: {"again": 1, "finish": 2}.get(at[0].kind, 0))
        found += [(b, 0, 0) for b in text.blocks_at(0, 0)]
        for row in range(1, self.rows + 1):
            for block in text.row_blocks(row, self.endless):
                along = self.along(row)
                units = along if self.way(row) > 0 else along[::-1]
                found += [(text.here(block, row, u), row, u) for u in units]
            if not self.endless:
                found += [(b, row, self.units + 1) for b in text.blocks_at(row, self.units + 1)]
        if not self.endless:
            found += [(b, self.rows + 1, 0) for b in text.blocks_at(self.rows + 1, 0)]
        return found

    def _look(self, item: Item, block: Block, row: int, unit: int) -> tuple[int, int] | None:
        """The place an item looks at; None where that is off the piece."""
        if not item.places:
            return row, unit
        if self.text.strands:
            return self._look_along(item, row, unit)
        text, started = self.text, self.text.block("start") is not None
        forward, wraps = self.way(row), False
        for word in item.places:
            if word == "above":
                row, wraps = row - 1, text.shape == "tube"
            elif word in ("prev", "next"):
                unit += forward if word == "next" else -forward
            elif not text.flat:
                unit = (0 if started else 1) if word == "first" else self.units
            else:
                if block.kind == "finish":
                    row = self.rows if word == "last" else (0 if started else 1)
                    forward = self.way(row)
                unit = self.along(row)[0 if (word == "first") == (forward > 0) else -1]
        if text.flat:
            if row == 0 and started:
                return 0, 0
            if wraps and row >= 1:
                unit = (unit - 1) % self.units + 1
            return (row, unit) if 1 <= row <= self.rows and unit in self.along(row) else None
        return (row, unit) if (0 if started else 1) <= unit <= self.units else None

    def placing(self, role: str, number: int | None) -> list[int]:
        """The strands, counted from 1, whose units place a ring, or any of its role."""
        found = []
        for row in range(1, len(self.text.strands) + 1):
            new = [x for b in self.text.blocks_at(row, 1) for s in b.steps for x in s.new]
            if any(r == role and number in (None, n) for r, n in new):
                found.append(row)
        return found

    def _look_along(self, item: Item, row: int, unit: int) -> tuple[int, int] | None:
        """The same in a piece of strands, each of which begins behind the start."""
        names = [name for name, _ in self.text.strands]
        started = self.text.block("start")
        words, only = list(item.places), self.placing(item.role, item.number)
        if row > len(names) and words[0] == "prev":
            words[0] = "last"
        if item.strand:
            if item.strand not in names or row <= len(names):
                raise CannotBe(f"{item} names no strand")
            row = names.index(item.strand) + 1
        if words[0] in ("first", "last"):
            at_start = started and any(r == item.role for s in started.steps for r, _ in s.new)
            if words[0] == "first" and not item.strand and at_start:
                row, unit = 0, 0
            else:
                if not 1 <= row <= len(names):
                    if len(only) != 1:
                        raise CannotBe(f"{item} may be of several strands")
                    row = only[0]
                unit = 1 if words[0] == "first" else self.text.strands[row - 1][1]
        on = words.count("next") - words.count("prev")
        if on and row == 0:
            if len(only) != 1:
                raise CannotBe(f"{item} may be of several strands")
            row = only[0]
        unit += on
        if unit == 0 and started:
            return 0, 0
        if not 1 <= row <= len(names):
            return None
        return (row, unit) if 1 <= unit <= self.text.strands[row - 1][1] else None

    def _rings(self, item: Item, block: Block, row: int, unit: int) -> list[Ring] | None:
        if item.places == ("every",):
            found = [
                r for r in self.links if r.role == item.role and item.number in (None, r.index)
            ]
            found = [r for r in found if block.kind == "finish" or r.row == row]
            if item.strand:
                own = [name for name, _ in self.text.strands].index(item.strand) + 1
                found = [r for r in found if r.row == own]
            if not found or block.kind not in ("finish", "row end"):
                raise CannotBe(f"{item} is nowhere")
            return found
        if self.text.rounds and 1 <= row <= self.rows and "above" in item.places:
            return self._rings_round(item, row, unit)
        at = self._look(item, block, row, unit)
        if at is None:
            return None
        if item.role in self.text.parts:
            ring = Ring(item.role, item.number or 1, *at)
            self.links.setdefault(ring, set())
            self.parts[ring] = None
            return [ring]
        numbers = self.numbers(item.role, *at)
        wanted = [item.number] if item.number else numbers
        rings = [Ring(item.role, n, *at) for n in wanted]
        if not rings or any(r not in self.links or r in self.out for r in rings):
            raise CannotBe(f"{item} is not there at {(row, unit)}")
        return rings

    def _rings_round(self, item: Item, row: int, unit: int) -> list[Ring] | None:
        """The rings that 'above' leads to where rounds grow or shrink, one place or several."""
        units = [unit]
        for word in item.places:
            wide = len(self.text.worked[row]) if row else 1
            if word == "above" and row > 1:
                over = self.text.over(row)
                units = [o for u in units for o in over[(u - 1) % wide + 1]]
                row -= 1
            elif word == "above":
                row, units = 0, [0]
            elif word in ("first", "last"):
                units = [1 if word == "first" else wide]
            else:
                units = [units[-1] % wide + 1 if word == "next" else (units[0] - 2) % wide + 1]
        if row == 0:
            if not self.text.block("start"):
                return None
            units = [0]
        found = []
        for at in dict.fromkeys(units):
            numbers = [item.number] if item.number else self.numbers(item.role, row, at)
            found += [Ring(item.role, n, row, at) for n in numbers]
            if not numbers:
                raise CannotBe(f"{item} is not there at {(row, at)}")
        if any(r not in self.links or r in self.out for r in found):
            raise CannotBe(f"{item} is not there at {(row, unit)}")
        return found

    def numbers(self, role: str, row: int, unit: int) -> list[int]:
        """The numbers of the rings of a role that are placed at a place."""
        blocks = self.text.blocks_at(row, unit, self.endless)
        return [n for b in blocks for s in b.steps for r, n in s.new if r == role]

    def called(self, ring: Ring) -> str:
        """A ring by the name its maker uses: 'A', or 'A2' where there are several."""
        alone = self.numbers(ring.role, ring.row, ring.unit) in ([1], [])
        if self.text.strands:  # one name for the rings of a role, in whichever strand
            new = {x for b in self.text.blocks for s in b.steps for x in s.new}
            alone = {n for r, n in new if r == ring.role} <= {1}
        return ring.role if alone else f"{ring.role}{ring.index}"

    def _lay_matters(self, through: list[Ring]) -> bool:
        """True where two rings gone through are linked and are not all rings of one role there."""
        for a in through:
            for b in self.links[a] & set(through):
                here = {(r.role, r.row, r.unit) for r in (a, b)}
                eye = {Ring(a.role, n, a.row, a.unit) for n in self.numbers(*a[:1], *a[2:])}
                if len(here) > 1 or not eye <= set(through):
                    return True
        return False

    def _carry_out(self, step: Step, block: Block, row: int, unit: int) -> None:
        listed = [i for i in (*step.through, *step.moved) if i.role != ONE_ANOTHER]
        seen = [(i, self._rings(i, block, row, unit)) for i in listed]
        off = [i for i, rings in seen if rings is None]
        if any(not i.if_there and not step.skip and not self.endless for i in off):
            raise CannotBe(f"line {step.line} looks off the piece at {(row, unit)}")
        if off and step.skip:
            self.acts.append(Act(step, block, row, unit, [], [], "", True, False, {}))
            return
        named = [r for _, rings in seen for r in rings or ()]
        through = named if step.through else []
        new = [Ring(role, n, row, unit) for role, n in step.new]
        if step.verb == "add" and any(self.kind(*r) in self.text.stay for r in new):
            raise CannotBe(f"line {step.line} opens what stays closed")
        if len(set(through)) < len(through) or any(r in self.links for r in new):
            raise CannotBe(f"line {step.line} does something twice at {(row, unit)}")
        side = step.side
        if side == "varies":
            from_start = any(s.side == "varies" for b in self.text.blocks if b.kind == "start"
                             for s in b.steps)  # fmt: skip
            side = self.sides[(unit - (not from_start)) % len(self.sides)]
        lay_matters = False
        each_other = any(i.role == ONE_ANOTHER for i in step.through)
        if each_other and len(new) < 2:
            raise CannotBe(f"line {step.line} has no other")
        groups = [[ring] for ring in new] if each_other else [new]
        outside = through
        for number, group in enumerate(groups or [[]]):
            through = outside + (new[:number] if each_other else [])
            lay_matters |= self._lay_matters(through)
            for ring in group:
                self.links[ring] = set(through)
                if not through:
                    self.bare.add(ring)
            for ring in through:
                self.links[ring].update(group)
        act = Act(step, block, row, unit, new, through, side, bool(off), lay_matters, {})
        self.placed_by |= {ring: act for ring in new if ring.role not in self.text.parts}
        self.parts |= dict.fromkeys(ring for ring in new if ring.role in self.text.parts)
        if step.verb == "take out":
            for ring in named:
                self.out.add(ring)
                for other in self.links.pop(ring):
                    self.links[other].discard(ring)
        gathered = {r for i, rings in seen if i.places == ("every",) for r in rings or ()}
        act.meets = {r: len(self.links[r]) for r in (*new, *through) if r not in gathered}
        self.acts.append(act)

    # -- what can be counted ---------------------------------------------------------------------

    def by_role(self, ring: Ring) -> Counter[str]:
        """How many rings of each role a ring meets in the end."""
        return Counter(other.role for other in self.links[ring])

    def kind(self, role: str, number: int, row: int = 1, unit: int = 1) -> str:
        """The line of `rings:` that a ring is bought by; by its place where sizes change along the
        piece, which the start and the finish have from the unit beside them."""
        names = (f"{role}{number}", f"{role} {number}", role, "all")
        lines = next(found for k in names if (found := self.lines_of(k, self.text.kinds)))
        last = self.text.rows if self.text.flat else self.text.units
        at = min(max(row if self.text.flat else unit, 1), last)
        for line in lines:
            said = re.search(r" (?:units?|rows?) (\d+)(?: to (\d+))?$", line)
            if said and int(said[1]) <= at <= int(said[2] or said[1]):
                return line
        return next((line for line in lines if line in names), lines[-1])

    @staticmethod
    def lines_of(name: str, kinds: Iterable[str]) -> list[str]:
        """The lines of a name, for the whole piece or for a stretch of it."""
        return [k for k in kinds if re.fullmatch(rf"{name}(?: (?:unit|row)s? [\d to]+)?", k)]

    def colour(self, ring: Ring) -> str:
        """What the picture says a ring looks like; '' where it says nothing."""
        text = self.text
        inside = 1 <= ring.row <= text.rows and 1 <= ring.unit <= text.units
        if not text.picture or not inside or ring.role not in text.picture_of:
            return ""
        return text.key[text.picture[ring.row - 1][self.along(ring.row).index(ring.unit)]]

    def rows_by_colour(self) -> list[list[tuple[int, str]]]:
        """The coloured rings of each row in the order of the work, those of one colour together."""
        found: list[list[tuple[int, str]]] = []
        for row in range(1, self.text.rows + 1):
            units = self.along(row)
            runs: list[tuple[int, str]] = []
            for unit in units if self.way(row) > 0 else units[::-1]:
                here = [r for r in self.placed_by if (r.row, r.unit) == (row, unit)]
                for words in filter(None, map(self.colour, here)):
                    if runs and runs[-1][1] == words:
                        runs[-1] = runs[-1][0] + 1, words
                    else:
                        runs.append((1, words))
            found.append(runs)
        return found

    def how(self, ring: Ring) -> str:
        """Whether a ring is placed 'opened' or 'closed'."""
        step = self.placed_by[ring].step
        first = ring in self.bare and len(step.through) == 1  # of a rosette, and goes
        first = first and step.through[0].role == ONE_ANOTHER  # through no other ring
        return "closed" if step.verb == "close" or first else "opened"

    def placed(self) -> dict[str, Counter[tuple[str, int]]]:
        """Rings by (role, number): placed 'opened', placed 'closed', taken 'out' again."""
        found: dict[str, Counter[tuple[str, int]]] = defaultdict(Counter)
        for ring in self.placed_by:
            found[self.how(ring)][ring.role, ring.index] += 1
        for ring in self.out:
            found["out"][ring.role, ring.index] += 1
        return found

    def components(self) -> list[set[Ring]]:
        """The pieces that the finished work falls into; one where it is whole."""
        left, found = set(self.links), []
        while left:
            group, edge = set(), {left.pop()}
            while edge:
                ring = edge.pop()
                group.add(ring)
                edge |= self.links[ring] - group
            left -= group
            found.append(group)
        return found
