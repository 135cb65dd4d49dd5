"""Which multiple of the unit can be laid with all copies of a ring parallel. No numpy here.

A ring linked to its own copy some units on cannot lie parallel to it. Such a unit is taken two,
three or more times, so that the linked copies become different rings; a chain may instead turn
about its length from unit to unit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ringstep.space.cell import Cell, CellLink, CellStep, Shift

_MOST = 6  # no multiple above this is tried


@dataclass(frozen=True, slots=True)
class Multiple:
    """Coarse repeats (across, 0) and (slip, along): `across` x `along` units in one."""

    across: int = 1
    along: int = 1
    slip: int = 0

    @property
    def size(self) -> int:
        """How many units one coarse unit holds."""
        return self.across * self.along

    def split(self, shift: Shift) -> tuple[int, Shift]:
        """Number of a unit within its coarse unit, and that coarse unit's shift."""
        if not shift:
            return 0, ()
        if len(shift) == 1:
            far, rest = divmod(shift[0], self.across)
            return rest, (far,)
        second, b = divmod(shift[1], self.along)
        first, a = divmod(shift[0] - self.slip * second, self.across)
        return b * self.across + a, (first, second)

    def member(self, number: int, dims: int) -> Shift:
        """Shift of the unit with this number inside the coarse unit at the origin."""
        if dims == 0:
            return ()
        if dims == 1:
            return (number,)
        return (number % self.across, number // self.across)


def linked_to_own_copy(cell: Cell) -> tuple[Shift, ...]:
    """Shifts at which some ring is linked with its own copy."""
    return tuple(sorted({k for a, b, k in cell.pairs() if a == b}))


def multiple_that_frees(cell: Cell) -> Multiple | None:
    """The smallest multiple in which no ring is linked with its own copy, or None."""
    own = linked_to_own_copy(cell)
    for multiple in _multiples(cell.dims):
        if all(multiple.split(shift)[0] != 0 for shift in own):
            return multiple
    return None


def _multiples(dims: int) -> list[Multiple]:
    if dims == 0:
        return [Multiple()]
    if dims == 1:
        return [Multiple(k) for k in range(1, _MOST + 1)]
    out = []
    for size in range(1, _MOST + 1):
        for across in range(size, 0, -1):
            if size % across == 0:
                out += [Multiple(across, size // across, slip) for slip in range(across)]
    return out


def multiplied(cell: Cell, multiple: Multiple) -> Cell:
    """The cell with several units as one; ring r of unit u becomes ring u * rings + r."""
    if multiple.size == 1:
        return cell
    count = len(cell.rings)

    def at(ring: int, unit: int, shift: Shift) -> tuple[int, Shift]:
        here = multiple.member(unit, cell.dims)
        number, coarse = multiple.split(tuple(h + s for h, s in zip(here, shift, strict=True)))
        return number * count + ring, coarse

    units = range(multiple.size)
    rings = tuple(replace(r, name=f"{r.name}.{u + 1}") for u in units for r in cell.rings)
    links = tuple(
        CellLink(u * count + link.a, *at(link.b, u, link.shift), link.sign)
        for u in units
        for link in cell.links
    )
    steps = tuple(
        CellStep(
            tuple(u * count + r for r in step.new),
            tuple(at(r, u, shift) for r, shift in step.through),
            step.side,
            tuple(u * count + r for r in step.fold),
            tuple(at(r, u, shift) for r, shift in step.spread),
        )
        for u in units
        for step in cell.steps
    )
    return Cell(rings, links, cell.dims, steps)


def hangs_together(cell: Cell) -> bool:
    """Are all rings joined by links, and every unit to the next in each direction?"""
    zero = (0,) * cell.dims
    place: dict[int, Shift] = {0: zero}
    queue = [0]
    around: list[list[tuple[int, Shift]]] = [[] for _ in cell.rings]
    for a, b, shift in cell.pairs():
        around[a].append((b, shift))
        around[b].append((a, tuple(-k for k in shift)))
    loops: list[Shift] = []
    while queue:
        ring = queue.pop()
        for other, shift in around[ring]:
            there = tuple(p + s for p, s in zip(place[ring], shift, strict=True))
            if other not in place:
                place[other] = there
                queue.append(other)
            else:
                loops.append(tuple(t - p for t, p in zip(there, place[other], strict=True)))
    if len(place) < len(cell.rings):
        return False
    if cell.dims == 2:
        return any(p[0] * q[1] != p[1] * q[0] for p in loops for q in loops)
    return cell.dims == 0 or any(loop[0] for loop in loops)


def twins(cell: Cell) -> tuple[tuple[int, ...], ...]:
    """Rings grouped: those of equal size that pass through exactly the same rings lie together.

    Two such rings may also be linked with one another (a Möbius pair).
    """
    around: list[set[tuple[int, Shift]]] = [set() for _ in cell.rings]
    for a, b, shift in cell.pairs():
        around[a].add((b, shift))
        around[b].add((a, tuple(-k for k in shift)))
    zero = (0,) * cell.dims
    groups: list[list[int]] = []
    for ring in range(len(cell.rings)):
        for group in groups:
            other = group[0]
            same_size = (
                cell.rings[ring].inside == cell.rings[other].inside
                and cell.rings[ring].wire == cell.rings[other].wire
            )
            mine = around[ring] - {(k, zero) for k in group}
            theirs = around[other] - {(k, zero) for k in (*group, ring)}
            if same_size and mine and mine == theirs:
                group.append(ring)
                break
        else:
            groups.append([ring])
    return tuple(tuple(group) for group in groups)


def merged(cell: Cell) -> tuple[Cell, tuple[int, ...]]:
    """The cell with one ring for each group of twins, and the group of each ring.

    Twins that are linked with one another stay apart.
    """
    zero = (0,) * cell.dims
    linked = {(a, b) for a, b, shift in cell.pairs() if shift == zero}
    group_of = [0] * len(cell.rings)
    firsts: list[int] = []
    for group in twins(cell):
        apart = any((a, b) in linked for a in group for b in group)
        for one in [(ring,) for ring in group] if apart else [group]:
            for ring in one:
                group_of[ring] = len(firsts)
            firsts.append(one[0])
    links = tuple(
        CellLink(group_of[link.a], group_of[link.b], link.shift)
        for link in cell.links
        if link.a in firsts and link.b in firsts
    )
    return Cell(tuple(cell.rings[f] for f in firsts), links, cell.dims), tuple(group_of)
