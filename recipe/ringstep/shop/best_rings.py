"""Of all the rings that were held against a weave, those that one would take.

Comes in: `Held`s, ring by ring. Goes out: one `Best` for each weave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from ringstep.shop.drawer import Held
from ringstep.shop.list_words import metal_name


@dataclass(frozen=True, slots=True)
class Best:
    """The rings to take for a weave. others: how many other sets of rings would fit as well."""

    held: Held
    others: int

    @property
    def fits(self) -> bool:
        """Whether they fit it, as many as there may be."""
        return self.held.said.answer == "fits"

    @property
    def enough(self) -> bool:
        """Whether they make a piece at least, as far as the drawer says how many there are."""
        return self.held.pieces is None or self.held.pieces > 0


def best_rings(held: Sequence[Held]) -> tuple[Best, ...]:
    """For each weave the best answer; of equals those that are enough for a piece, then those of
    one metal where the recipe has one, then those whose AR is nearest the recipe's."""
    weaves: dict[str, list[Held]] = {}
    for one in held:
        weaves.setdefault(one.weaving.name, []).append(one)
    found = []
    for of_weave in weaves.values():
        best = min(of_weave, key=_liking)
        fit = sum(one.said.answer == "fits" for one in of_weave)
        found.append(Best(best, max(0, fit - 1)))
    return tuple(found)


def _liking(held: Held) -> tuple[object, ...]:
    lead = held.weaving.needs[0]
    far = abs(log(float(held.aspect) / (lead.inside / lead.wire)))
    few = held.pieces is not None and held.pieces < 1
    metals = {metal_name(ring.material) for rings in held.chosen for ring in rings}
    asked = {look.material for need in held.weaving.needs for look in need.looks}
    return held.said.rank, few, len(metals) > len(asked), round(far, 3), -(held.pieces or 0)
