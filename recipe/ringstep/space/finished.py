"""Where the rings of a chain or loop lie in the finished piece, its repeat copied along.

In: a `Resolved` recipe, its `Laid` cycle and the `Form` found for it. Out: a `Round` for every ring
of the work that is, or stands for, a copy of a ring of the cycle.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from ringstep.space.fit_laid import Laid
from ringstep.space.near import vector
from ringstep.space.result import Form, copies
from ringstep.space.state import Round
from ringstep.space.units import Multiple
from ringstep.weave.resolved import Resolved
from ringstep.weave.work import Ring, Work

NO_SIZE = "the size of {rings} is not known; give its wire and inside under 'rings:'"


class NoPlace(Exception):
    """A step that has no picture; the text says why, in a maker's words."""


@dataclass
class Finished:
    """The finished chain.

    round_by: where the ends of a loop are brought together, by how many units its first places lie
    beyond; only the places near the closing are there then. stood: the copies that rings of other
    names stand for.
    """

    view: Resolved
    laid: Laid
    form: Form
    round_by: int = 0
    stood: dict[Ring, tuple[int, int]] = field(default_factory=dict)

    @property
    def work(self) -> Work:
        """The recipe carried out on the window."""
        return self.view.weave.work

    @cached_property
    def ends(self) -> int:
        """The number of the first act that brings the ends of a loop together."""
        layout, acts = self.work.layout, self.work.acts
        if layout.kind != "loop":
            return len(acts)
        closes = (
            n
            for n, a in enumerate(acts)
            if a.block.kind == "finish"
            or any(abs(r.unit - s.unit) > layout.units // 2 for r in a.new for s in a.through)
        )
        return next(closes, len(acts))

    def closed(self) -> Finished | None:
        """The ends of a loop brought together, before the first step that closes it.

        The finished loop repeats, so its first places lie beyond its last, and what closes it lies
        between. None where that does not come out with the links of the work.
        """
        units, late = self.work.layout.units, self.work.acts[self.ends :]
        more = sum(len(a.new) for a in late)
        for round_by in range(units, units + more + 3 if late else 0):
            found = replace(self, stood={}, round_by=round_by)
            if round_by % self.laid.cycle[1] == 0 and found.near_closing > 0 and found.goes_round():
                return found
        return None

    @cached_property
    def _index(self) -> dict[tuple[str, int, int], int]:
        return {(c.role, c.index, c.unit): at for at, c in enumerate(self.laid.rings)}

    @cached_property
    def near_closing(self) -> int:
        """How many units on either side of the closing are in the hand."""
        layout = self.work.layout
        return min(layout.reach + 2, (layout.units + 1 - layout.reach) // 2)

    def own(self, ring: Ring) -> tuple[int, int] | None:
        """Number of a ring's copy in the cell and how many cycles on; None for no such ring."""
        unit = ring.unit
        if self.round_by:
            if unit > self.work.layout.units - self.near_closing:
                pass
            elif unit < self.near_closing:
                unit += self.round_by
            else:
                return None
        far, rest = divmod(unit - self.laid.origin, self.laid.cycle[1])
        at = self._index.get((ring.role, ring.index, rest))
        return None if at is None else (at, far)

    def _copy(self, ring: Ring) -> tuple[int, int] | None:
        """The same, or of the copy that it stands for."""
        return self.own(ring) or self.stood.get(ring)

    def _placed(self, ring: int, far: int) -> Round:
        """A copy of a ring of the cell as it lies in the finished chain."""
        number, coarse = Multiple(self.form.units[0]).split((far,))
        shown = self.form.shown
        one = replace(shown, rings=(shown.rings[number * len(self.laid.rings) + ring],))
        (placed,) = copies(one, [coarse])
        return Round(placed.centre, placed.normal, placed.mean_radius, placed.wire)

    @cached_property
    def homes(self) -> dict[Ring, Round]:
        """Where each ring of the work lies in the finished chain; parts have no place."""
        parts = self.view.recipe.part_roles
        rings = [r for r in self.work.placed_by if r.role not in parts]
        found = {r: self._placed(*at) for r in rings if (at := self.own(r)) is not None}
        taken = {at for r in rings if (at := self.own(r)) is not None}
        for ring in rings:
            if ring not in found and (place := self._stand_in(ring, taken, found)) is not None:
                found[ring] = place
        return found

    def size(self, ring: Ring) -> tuple[float, float]:
        """Mean radius and wire, mm. Raises `NoPlace`."""
        size = self.view.weave.size(ring.role, ring.index)
        if size is None:
            raise NoPlace(NO_SIZE.format(rings=ring.role))
        wire, inside = size
        return (inside + wire) / 2, wire

    def _ever(self, ring: Ring) -> set[Ring]:
        """All rings that a ring is linked with at any time."""
        undone = {b if a == ring else a for a, b, *_ in self.work.removed if ring in (a, b)}
        return undone | set(self.work.links.get(ring, ()))

    def _stand_in(
        self, ring: Ring, taken: set[tuple[int, int]], homes: Mapping[Ring, Round]
    ) -> Round | None:
        """The place of the copy that a ring stands for: one linked with the same rings.

        A ring of another size hangs there by the same side. A ring linked with none lies about
        those it is closed around.
        """
        radius, wire = self.size(ring)
        linked = [r for r in self._ever(ring) if r in homes]
        meets = {at for r in linked if (at := self._copy(r)) is not None}
        if not meets:
            return self._around(ring, radius, wire)
        fars = [far for _, far in meets]
        for far in range(min(fars) - 3, max(fars) + 4):
            for copy in range(len(self.laid.rings)):
                if (copy, far) in taken or self._neighbours(copy, far) & taken != meets:
                    continue
                taken.add((copy, far))
                self.stood[ring] = copy, far
                place = self._placed(copy, far)
                lie = [(homes[r], at) for r in linked if (at := self._copy(r)) is not None]
                near = np.mean([r.centre for r, _ in lie], axis=0)
                moved = near - np.mean([self._placed(*at).centre for _, at in lie], axis=0)
                away = np.array(place.centre) + moved - near
                more = away / max(float(np.linalg.norm(away)), 1e-9) * (radius - place.mean_radius)
                centre = np.array(place.centre) + moved + more
                return Round(vector(centre), place.normal, radius, wire)
        return None

    def _neighbours(self, ring: int, far: int) -> set[tuple[int, int]]:
        found = set()
        for a, b, (shift,) in self.laid.cell.pairs():
            if a == ring:
                found.add((b, far + shift))
            if b == ring:
                found.add((a, far - shift))
        return found

    def _around(self, ring: Ring, radius: float, wire: float) -> Round | None:
        held = [self._placed(*at) for r in self._held(ring) if (at := self._copy(r)) is not None]
        if not held:
            return None
        middle = np.mean([r.centre for r in held], axis=0)
        return Round(vector(middle), (1.0, 0.0, 0.0), radius, wire)

    def goes_round(self) -> bool:
        """Have all rings that close the loop their places, linked as the work links them?"""
        late = {r for a in self.work.acts[self.ends :] for r in a.new} - self._parts
        joining = {r for r in late if len(self._ever(r) & set(self.homes)) > 1}
        if not joining <= set(self.homes):
            return False  # what only hangs from the loop may find its place elsewhere
        at = {r: copy for r in self.homes if (copy := self._copy(r)) is not None}
        return len(set(at.values())) == len(at) and all(
            {at[o] for o in self._ever(r) if o in at} == self._neighbours(*copy) & set(at.values())
            for r, copy in at.items()
        )

    @cached_property
    def _parts(self) -> set[Ring]:
        parts = self.view.recipe.part_roles
        return {r for r in self.work.placed_by if r.role in parts}

    def _held(self, ring: Ring) -> tuple[Ring, ...]:
        return self.work.acts[self.work.placed_by[ring]].held
