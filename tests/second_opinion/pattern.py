"""The whole-weave rule by brute force: each ring is held against its copy in a far larger piece.

The larger piece has no finish, no row end and no unit that is written out by number; a tube is
unrolled, and a sheet has no shape there. What a ring meets there is what the endless pattern gives
it. Start, first and last row, row end and finish stand in for the repeating blocks: a ring of
theirs stands where the pattern has a ring of that name.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cached_property
from math import lcm

from second_opinion.carrier import Piece, Ring
from second_opinion.reading import ONE_ANOTHER, Step


class Pattern:
    """The endless pattern under one piece."""

    def __init__(self, piece: Piece) -> None:
        self.piece, self.text = piece, piece.text

    @cached_property
    def goes_round(self) -> bool:
        """True where the blocks that take turns come round again, so that a pattern is there."""
        ends = [k for k in ("first row", "last row") if self.text.block(k)]
        worked = self.piece.rows - len(ends) if self.text.flat else self.piece.units
        return len(self.text.turns) == 1 or worked > len(self.text.turns)

    def _cell(self, ring: Ring) -> Ring:
        """The place in the endless pattern at which a ring stands."""
        if self.text.flat and ring.unit > self.piece.units:
            if self.text.shape == "tube":
                return ring._replace(unit=1)
            return ring._replace(unit=self.piece.units + 1 if self.piece.way(ring.row) > 0 else 0)
        return ring

    @cached_property
    def meets(self) -> dict[Ring, set[Ring]]:
        """For each ring that stands where the endless pattern has one: the rings it meets there."""
        text = self.text
        if text.strands:
            return self._meets_along()
        if not self.goes_round or not text.turns or text.rounds:
            return {}  # rounds that grow or shrink follow no endless pattern
        reach = 1 + max((len(i.places) for b in text.blocks for s in b.steps for i in s.through),
                        default=0)  # fmt: skip
        cycle, tube = lcm(len(text.turns), 2), text.shape == "tube"
        along = 2 * reach * (1 if text.flat else cycle)
        down = 2 * reach * cycle if text.flat else 0
        text.shape = "sheet" if tube else text.shape  # a tube unrolled
        try:
            large = Piece(text, more_units=2 * along, more_rows=2 * down, endless=True)
        finally:
            text.shape = "tube" if tube else text.shape
        found = {}
        for ring in self.piece.links:
            cell = self._cell(ring)
            copy = cell._replace(row=cell.row + down, unit=cell.unit + along)
            if copy in large.links and ring not in self.piece.parts:
                near = [
                    r._replace(row=r.row - down, unit=r.unit - along) for r in large.links[copy]
                ]
                if tube:
                    near = [r._replace(unit=(r.unit - 1) % self.piece.units + 1) for r in near]
                found[ring] = set(near)
        return found

    def _meets_along(self) -> dict[Ring, set[Ring]]:
        """The same of strands, each of which is held against a long chain of its own unit."""
        text, piece, found = self.text, self.piece, {}
        more = 2 * (1 + max((len(i.places) for s in self._steps for i in s.through), default=0)) + 2
        for row, (_, units) in enumerate(text.strands, 1):
            if units < 2:
                continue
            unit, *rest = text.blocks_at(row, 1)
            blocks = [b for b in text.blocks if b.kind == "start"]
            blocks += [replace(unit, label=""), *rest]
            long = replace(text, blocks=blocks, strands=[], units=units + 2 * more, order=[])
            large = Piece(long, endless=True)

            def place(ring: Ring, row: int = row, units: int = units) -> Ring:
                """Where a ring of the long chain stands on the piece, or would stand."""
                at = ring.unit - more
                only = piece.placing(ring.role, ring.index) == [row]
                if at == units + 1 and only:
                    return ring._replace(row=len(text.strands) + 1, unit=0)
                return ring._replace(row=row if at else 0, unit=at)

            cells = {place(r): near for r, near in large.links.items() if r.unit > 0}
            for ring in piece.links:
                if ring in cells and ring not in piece.parts:
                    found.setdefault(ring, set()).update(map(place, cells[ring]))
        return found

    @property
    def _steps(self) -> list[Step]:
        return [s for b in self.text.blocks for s in b.steps]

    @cached_property
    def _standing(self) -> dict[Ring, Ring]:
        return {self._cell(ring): ring for ring in self.piece.links}

    def owed(self) -> list[tuple[Ring, Ring]]:
        """Links of the endless pattern whose two rings stand on the piece and are not linked.

        In a loop every ring owes all its links, whichever ring beyond the seam they lead to; there
        a ring that meets too few is told with itself.
        """
        if self.text.shape == "loop" and not self.text.strands:
            return [
                (r, r) for r, near in self.meets.items() if len(near) > len(self.piece.links[r])
            ]
        found = []
        for ring, near in self.meets.items():
            others = {self._standing.get(cell) for cell in near} - {None}
            found += [(ring, other) for other in others if other not in self.piece.links[ring]]
        return found

    @cached_property
    def steady(self) -> list[Ring]:
        """Rings whose neighbours all stand on the piece, and on which no ring hangs that only the
        ends have."""
        if self.text.rounds:
            return self._between
        own = {r.role for r in self.piece.links} - {r.role for r in self.meets}
        whole = self.text.shape == "loop"
        return [
            ring
            for ring, near in self.meets.items()
            if whole or all(cell in self._standing for cell in near)
            if ring.row or len(self.piece.placing(*ring[:2])) < 2  # the start of several strands
            if not own & self.piece.by_role(ring).keys()
        ]

    @property
    def _between(self) -> list[Ring]:
        """Of rounds: rings that repeat, with other rounds on both sides as far as steps reach."""
        steps = [s for b in self.text.turns for s in b.steps]
        deep = max(i.places.count("above") for s in self._steps for i in (*s.through, *s.moved))
        names = {new for s in steps for new in s.new}
        start = self.text.block("start")
        middle = start and {r for s in start.steps for r, _ in s.new} <= {r for r, _ in names}
        rows = range(max(1, 1 + deep - bool(middle)), self.piece.rows - deep + 1)
        # What no step goes through has all its links at once, wherever it stands.
        met = {i.role for s in self._steps for i in s.through}
        met |= {r for s in self._steps if ONE_ANOTHER in met for r, _ in s.new}
        whole = {r for r, act in self.piece.placed_by.items() if not act.left_out}
        return [
            r
            for r in self.piece.links
            if (r in whole if r.role not in met else r.row in rows and r[:2] in names)
        ]

    @cached_property
    def unit_sizes(self) -> set[int]:
        """How many rings the units (or places of a row) hold that take turns."""
        again = self.text.block("again")
        more = len([n for s in again.steps for n in s.new]) if again else 0
        return {len([n for s in b.steps for n in s.new]) + more for b in self.text.turns}

    @cached_property
    def finished(self) -> dict[str, list[Counter[str]]]:
        """For each role of the pattern, what its steady rings meet; every way once."""
        found: dict[str, list[Counter[str]]] = {}
        for ring in self.steady:
            met = self.piece.by_role(ring)
            if met not in found.setdefault(ring.role, []):
                found[ring.role].append(met)
        return found

    def broken(self) -> list[str]:
        """Promises that a steady ring does not keep, by name."""
        found = set()
        for ring in self.steady:
            names = (f"{ring.role}{ring.index}", ring.role, "all")
            name = next((n for n in names if n in self.text.promises), None)
            if name and not keeps(self.text.promises[name], self.piece.by_role(ring)):
                found.add(name)
        return sorted(found)


def keeps(promise: str, met: Counter[str]) -> bool:
    """Whether a ring that meets these keeps a promise: '4', or by role '2 A, 2 B'."""
    if promise.isdigit():
        return met.total() == int(promise)
    each = (one.split() for one in promise.split(","))
    return +met == Counter({role: int(n) for n, role in each})
