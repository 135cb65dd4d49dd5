"""The rings in the hand as a finite piece that is moved gently; what comes out right is kept."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.circles import Layout, Shape, shape_of
from ringstep.space.motion import HAIR, Hand, part, settle
from ringstep.space.near import Floats, rim, vector
from ringstep.space.nudge import Pull, Swing, links_right, overlap, pulled
from ringstep.space.set_in import Wanted, find, put_in
from ringstep.space.state import Round
from ringstep.weave.work import Ring

_TRIES, _ROUNDS = 6, 60
_LIGHT = 0.1  # pull away from what the ring goes through
X = np.array([1.0, 0.0, 0.0])


class Table:
    """The rings in the hand as a finite piece that can be moved."""

    def __init__(
        self, lie: dict[Ring, Round], linked: Iterable[tuple[Ring, Ring]], most: float
    ) -> None:
        """lie: the rings, changed by what is kept. most: how deep wires may overlap, in wires."""
        self.lie, self.most = lie, most
        self.rings = list(lie)
        where = {r: k for k, r in enumerate(self.rings)}
        held = list(lie.values())
        links = tuple(CellLink(where[a], where[b], ()) for a, b in linked)
        # a bead's wall may be thicker than its hole is wide, a ring's wire may not
        sizes = tuple(CellRing("", max(2 * r.mean_radius - r.wire, r.wire), r.wire) for r in held)
        shape = shape_of(Cell(sizes, links, 0))
        radii = np.array([r.mean_radius for r in held]) / shape.unit
        self.shape: Shape = replace(shape, radii=radii)
        self.layout = Layout(
            np.array([r.centre for r in held]) / self.shape.unit,
            np.array([r.normal for r in held]),
            np.zeros(0),
        )

    def right(self) -> bool:
        """Are the links as wanted, and do no wires overlap?"""
        deep = overlap(self.shape, self.layout, range(len(self.rings)))
        return links_right(self.shape, self.layout) and deep <= self.most

    def place_for(self, radius: float, wire: float, through: Sequence[Ring]) -> Round | None:
        """Where one more ring can go in, through just these, while all others stay; mm."""
        hand, unit = Hand(), self.shape.unit
        for k, (radius_k, wire_k) in enumerate(
            zip(self.shape.radii, self.shape.wires, strict=True)
        ):
            hand.lay(self.layout.centres[k], self.layout.normals[k], radius_k, wire_k, wire_k)
        at = [self.rings.index(r) for r in through]
        rng = np.random.default_rng([len(hand), 3])
        wanted = Wanted(at, radius / unit, wire / unit)
        found = find(hand, rng, wanted, _TRIES)
        if found is None:
            return None
        new = put_in(hand, *found, radius / unit, wire / unit)
        free = np.arange(len(hand)) == new
        pull = np.zeros((len(hand), 3))
        pull[new, 0] = _LIGHT if found[0][0] >= hand.centres[at, 0].mean() else -_LIGHT
        settle(hand, free, pull, _ROUNDS, _ROUNDS // 2)
        if part(hand, free) < -HAIR:
            return None
        lies = vector(hand.centres[new] * unit), vector(hand.normals[new])
        return Round(*lies, radius, wire)

    def arm(self, ring: int) -> Floats:
        """From a ring's centre to its place farthest along the work."""
        return rim(self.layout.normals[ring], self.shape.radii[ring], X)

    def asunder(self, rings: Sequence[int]) -> Floats:
        """The way from the first ring's tip to the last's; across both where they lie close."""
        first, last = rings[0], rings[-1]
        way: Floats = self.layout.centres[last] + self.arm(last)
        way = way - self.layout.centres[first] - self.arm(first)
        if np.linalg.norm(way) < 2 * self.shape.wires[first]:
            one, other = self.layout.normals[first], self.layout.normals[last]
            flat = one + other * (1 if one @ other > 0 else -1)
            way = flat * (1 if flat @ way >= 0 else -1)
        return way / float(np.linalg.norm(way))

    def move(self, rings: Sequence[int], pulls: Sequence[Pull | Swing], rest: Layout) -> None:
        """Pull rings, with those linked with them on springs to `rest`, if that comes out right."""
        s = self.shape
        pairs = list(zip(s.link_a.tolist(), s.link_b.tolist(), strict=True))
        beside = {y for a, b in pairs for x, y in ((a, b), (b, a)) if x in rings}
        free = [*rings, *sorted(beside - set(rings))]
        after = pulled(s, self.layout, rest, free, pulls)
        if links_right(s, after) and overlap(s, after, free) <= self.most:
            self.keep(after, [self.rings[k] for k in free])

    def keep(self, layout: Layout, rings: Iterable[Ring]) -> None:
        """Put rings where a layout says."""
        for ring in rings:
            at = self.rings.index(ring)
            centre = vector(layout.centres[at] * self.shape.unit)
            normal = vector(layout.normals[at])
            self.lie[ring] = replace(self.lie[ring], centre=centre, normal=normal)
