"""The ring graph: the one room that knows networkx.

Comes in: a `Work`. Goes out: the graph of rings and links of a window, and the `Repeat`, the same
links folded into one cycle of units: a finite graph whose links carry the number of cycles
(for sheets: and rows) they reach across. Crystallographers call it a quotient or voltage graph
(Gross & Tucker, Topological Graph Theory, 1987; Chung, Hahn & Klee, Acta Cryst. A40, 1984).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from math import gcd, lcm
from typing import NamedTuple

import networkx as nx

from ringstep.weave.layout import Layout
from ringstep.weave.work import Act, Ring, Work

Shift = tuple[int, int]
#: A neighbour as seen from a ring: role, number, rows on, units on.
Near = tuple[str, int, int, int]


class Class(NamedTuple):
    """A ring of the repeating cycle: all its copies, one cycle apart, are alike.

    row, unit: its place in the cycle, from 0.
    """

    role: str
    index: int  # type: ignore[assignment]
    row: int
    unit: int


class FoldedLink(NamedTuple):
    """A link of every `ring` with the `other` that stands `shift` = (rows, units) cycles on."""

    ring: Class
    other: Class
    shift: Shift
    step: int


def ring_graph(work: Work) -> nx.Graph[Ring]:
    """The rings of a window and their links; each link carries `step`, the step's number."""
    graph: nx.Graph[Ring] = nx.Graph()
    graph.add_nodes_from(work.links)
    for ring, others in work.links.items():
        for other, act in others.items():
            if ring < other:
                graph.add_edge(ring, other, step=work.acts[act].step.number)
    return graph


def same_graph(one: Work, other: Work) -> bool:
    """True where two finite pieces have the same links, whatever their rings are called."""
    return bool(nx.is_isomorphic(ring_graph(one), ring_graph(other)))


def pieces(work: Work) -> list[set[Ring]]:
    """The parts that hold together, largest first; held rings count as joined."""
    graph = ring_graph(work)
    graph.add_edges_from((a, b) for a, b in work.held if a in graph and b in graph)
    return sorted(nx.connected_components(graph), key=lambda c: (-len(c), min(c)))


@dataclass(frozen=True)
class Repeat:
    """One cycle of the repeating part.

    classes: its rings in placing order; links: each of its links once; held: rings that lie
    around or inside others. acts: what is done in one cycle. cycle: (rows, units) in it.
    layout: the steady stretch it was read off; origin: where in it the cycle begins.
    """

    layout: Layout
    classes: tuple[Class, ...]
    links: tuple[FoldedLink, ...]
    held: tuple[FoldedLink, ...]
    acts: tuple[Act, ...]
    cycle: Shift
    origin: tuple[int, int]

    @cached_property
    def neighbours(self) -> dict[Class, list[tuple[Class, Shift]]]:
        """For each ring of the cycle, the rings it meets and how many cycles on they stand."""
        found: dict[Class, list[tuple[Class, Shift]]] = {c: [] for c in self.classes}
        for a, b, (rows, units), _ in self.links:
            found[a].append((b, (rows, units)))
            found[b].append((a, (-rows, -units)))
        return found

    @cached_property
    def near(self) -> dict[Class, tuple[Near, ...]]:
        """The same counted in places."""
        rows, units = self.cycle
        return {
            c: tuple(
                (o.role, o.index, o.row - c.row + down * rows, o.unit - c.unit + along * units)
                for o, (down, along) in others
            )
            for c, others in self.neighbours.items()
        }

    def class_of(self, role: str, index: int, row: int, unit: int) -> Class:
        """The class of a ring at a place of the steady stretch, which may lie before or behind
        what was carried out."""
        rows, units = self.cycle
        return Class(role, index, (row - self.origin[0]) % rows, (unit - self.origin[1]) % units)

    def strands(self) -> int:
        """Into how many separate pieces the endless piece falls (1 where it holds together).

        Within one connected part of the folded graph the shifts of its closed walks span a
        lattice; the copies that walks cannot reach are pieces of their own, as many as the
        lattice's index (infinitely many, told as 0, where it lacks a direction).
        """
        found = [_lattice_index(walks, self.layout.flat) for walks in self._walks]
        return sum(found) if all(found) else 0

    def apart(self) -> Shift:
        """After how many cycles of rows and of units a place is joined to its like again.

        1 each where the pattern holds together; where it is several strands side by side, the
        number of places decides how they meet round a tube or at an end.
        """
        units = (_least_along(walks) or 1 for walks in self._walks)
        rows = (_least_along([(b, a) for a, b in walks]) or 1 for walks in self._walks)
        return lcm(*rows), lcm(*units)

    @cached_property
    def _walks(self) -> list[list[Shift]]:
        """For each connected part, shifts of closed walks that generate those of all of them."""
        graph: nx.Graph[Class] = nx.Graph()
        graph.add_nodes_from(self.classes)
        joints = (*self.links, *self.held)
        graph.add_edges_from((a, b) for a, b, _, _ in joints)
        return [_closed_walks(part, joints) for part in nx.connected_components(graph)]


def _least_along(shifts: list[Shift]) -> int:
    """The least k for which (0, k) is a sum of the shifts; 0 where there is none."""
    rest, along = [s for s in shifts if s[0]], [s[1] for s in shifts if not s[0]]
    while len(rest) > 1:
        rest.sort(key=lambda s: abs(s[0]))
        (a, b), (c, d), *more = rest
        times = c // a
        c, d = c - times * a, d - times * b
        rest = [(a, b), *more]
        if c:
            rest.append((c, d))
        else:
            along.append(d)
    return gcd(*along) if along else 0


def _closed_walks(part: set[Class], links: tuple[FoldedLink, ...]) -> list[Shift]:
    """Shifts of closed walks that generate those of all closed walks of a connected part."""
    inside = [x for x in links if x.ring in part]
    graph: nx.MultiGraph[Class] = nx.MultiGraph()
    graph.add_nodes_from(part)
    for a, b, shift, _ in inside:
        graph.add_edge(a, b, way=(a, b, shift))
    root = min(part)
    at: dict[Class, Shift] = {root: (0, 0)}
    for near, far in nx.bfs_edges(graph, root):
        a, _, (rows, units) = next(iter(graph[near][far].values()))["way"]
        sign = 1 if a == near else -1
        at[far] = (at[near][0] + sign * rows, at[near][1] + sign * units)
    found: dict[Shift, None] = {}  # each once: most links of a place close the same few walks
    for a, b, (rows, units), _ in inside:
        found[at[a][0] + rows - at[b][0], at[a][1] + units - at[b][1]] = None
    return [*found]


def _lattice_index(shifts: list[Shift], flat: bool) -> int:
    """The index of the lattice that the shifts span among all shifts; 0 where it is infinite."""
    if not flat:
        return gcd(*(units for _, units in shifts)) if shifts else 0
    minors = [a[0] * b[1] - a[1] * b[0] for i, a in enumerate(shifts) for b in shifts[:i]]
    return gcd(*minors) if minors else 0


def fold(steady: Layout, work: Work) -> Repeat:
    """Fold the endless pattern of one stretch into one cycle.

    steady: `Layout.steady` of that stretch; work: that layout carried out. The cycle is read off
    where every reach of every step lies in repeating units.
    """
    flat = steady.flat
    stretch = next(s for s in (steady.down if flat else steady.along) if s.goes_round)
    rows = steady.row_cycle_of(stretch.blocks) if flat else 1
    units = steady.cycle_of(steady.along[0].blocks)
    top = steady.rows - stretch.count if flat else 0
    row0 = 1 + (top + 2 * steady.row_reach if flat else 0)
    unit0 = 2 * steady.reach + 1

    def folded(ring: Ring) -> tuple[Class, Shift]:
        down, along = ring.row - row0, ring.unit - unit0
        return (
            Class(ring.role, ring.index, down % rows, along % units),
            (down // rows, along // units),
        )

    inner = [
        a
        for a in work.acts
        if row0 <= a.row < row0 + rows
        and unit0 <= a.unit < unit0 + units
        and a.block.kind not in ("start", "finish", "row end")
    ]
    parts = steady.recipe.part_roles
    classes: dict[Class, None] = {}
    for act in inner:
        for ring in (*act.new, *(r for r in act.through if r.role in parts)):
            own, shift = folded(ring)
            if shift == (0, 0):
                classes[own] = None

    def joint(act: Act, ring: Ring, other: Ring) -> FoldedLink:
        (a, (down, along)), (b, (rows_on, units_on)) = folded(ring), folded(other)
        return FoldedLink(a, b, (rows_on - down, units_on - along), act.step.number)

    def kept(links: Iterable[FoldedLink]) -> tuple[FoldedLink, ...]:
        return tuple(x for x in links if x.ring in classes and x.other in classes)

    links: dict[tuple[Class, Class, Shift], FoldedLink] = {}
    held: list[FoldedLink] = []
    for act in inner:
        for ring in act.movers:
            for link in (joint(act, ring, other) for other in act.through if other != ring):
                a, b, (rows_on, units_on) = link[:3]
                links.setdefault(min(link[:3], (b, a, (-rows_on, -units_on))), link)
            held += (joint(act, ring, other) for other in act.held if other != ring)
    return Repeat(
        steady,
        tuple(classes),
        kept(links.values()),
        kept(held),
        tuple(inner),
        (rows, units),
        (row0, unit0),
    )
