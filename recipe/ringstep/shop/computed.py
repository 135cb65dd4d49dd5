"""At which sizes rings just go together, as computed with rigid round rings.

For shipped weaves that is worked out beforehand and kept under the mark of the weave, in which
links, lays, folds and which rings are of one size count, and no name does. For any other recipe it
is what 'ringstep fit' kept of it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from math import inf, log
from typing import Any

from ringstep.checks.view import View
from ringstep.language.shipped import computed_sizes
from ringstep.space.result import Fit
from ringstep.weave.marks import made_mark
from ringstep.weave.repeats import repeating

#: Mean diameter (from wire middle to wire middle) and wire of each size of ring, largest ring
#: first, whose mean diameter is 1: these just go together.
Point = tuple[tuple[float, float], ...]
_STEP = 0.87  # from one proportion computed to the next
_EVEN = 1e-6  # a ring this much smaller than one that just goes together goes as well


@dataclass(frozen=True, slots=True)
class Computed:
    """What was computed of a weave.

    points: sizes of its linked rings that just go together; where there are two sizes, for several
    proportions of them. loose_from: the AR of its largest ring from which its folds do not lock it;
    None where it has none, or where none was found up to `held_to`. why: what was found there,
    "slips" or "play". weaves: the shipped weaves it was computed of.
    """

    points: tuple[Point, ...]
    loose_from: float | None = None
    why: str = ""
    held_to: float | None = None
    weaves: tuple[str, ...] = ()

    @property
    def least(self) -> float:
        """The smallest AR found for its largest ring, where it has rings of one size."""
        return min(1 / point[0][1] for point in self.points) - 1

    def nearest(self, rings: Point) -> Point:
        """The point whose proportions leave these rings (mean diameter, wire) the most room."""
        return max(self.points, key=lambda point: _over(point, rings))

    def proportioned(self, rings: Point) -> Point:
        """The point whose proportions are most those of these rings."""
        return min(
            self.points,
            key=lambda point: sum(
                abs(log(mine / theirs))
                for a, b in zip(rings, point, strict=True)
                for mine, theirs in ((a[0], b[0]), (a[1] / rings[0][1], b[1] / point[0][1]))
            ),
        )

    def goes(self, rings: Point) -> bool:
        """True where rings no wider and of no thinner wire were found to go together.

        A ring that is wider, or of thinner wire, than one that goes together goes together too.
        """
        return any(_over(point, rings) >= 1 - _EVEN for point in self.points)

    def near(self, rings: Point) -> bool:
        """True where these rings are hardly smaller for their wires than some that go together."""
        return _over(self.nearest(rings), rings) >= _STEP

    def beyond(self, rings: Point) -> bool:
        """True where a smaller ring is wider against the largest than in any of several points."""
        if len(self.points) == 1:
            return False
        most = max(point[-1][0] / point[0][0] for point in self.points)
        return rings[-1][0] / rings[0][0] > most + _EVEN

    def barred(self, rings: Point) -> bool:
        """True where rings that are no narrower and of no thicker wire just go together, and these
        do not: then they would have to be wider or of thinner wire."""
        return any(_over(rings, point) > 1 + _EVEN for point in self.points)


def _over(point: Point, rings: Point) -> float:
    """By which factor a point can be made larger than its wires ask for, to be those rings yet."""
    wide, thick = inf, 0.0
    for (mean, wire), (own_mean, own_wire) in zip(rings, point, strict=True):
        wide, thick = min(wide, mean / own_mean), max(thick, wire / own_wire)
    return wide / thick


def linked_sizes(view: View) -> dict[tuple[float, float], list[tuple[str, int]]]:
    """The rings that are linked in what repeats (or in a piece that does not) by role and number,
    under their wire and inside in mm, those of the largest mean diameter first."""
    weave = repeating(view.weave)
    repeat = weave.repeat
    if repeat is not None:
        names = [(c.role, c.index) for c in repeat.classes if repeat.neighbours[c]]
    else:
        names = [(r.role, r.index) for r, others in weave.work.links.items() if others]
    found: dict[tuple[float, float], list[tuple[str, int]]] = {}
    for role, index in dict.fromkeys(names):
        kind = None if role in view.recipe.part_roles else view.recipe.kind_of(role, index)
        wire, inside = kind.mm if kind else (None, None)
        if wire and inside:
            found.setdefault((wire, inside), []).append((role, index))
    return dict(sorted(found.items(), key=lambda f: (-sum(f[0]), f[0])))


def size_mark(view: View) -> str:
    """The mark under which a weave's sizes are kept; "" where it has none."""
    if view.recipe.made or any(kind.along for kind in view.recipe.rings):
        return ""
    ranks = {
        name: str(rank) for rank, names in enumerate(linked_sizes(view).values()) for name in names
    }
    return made_mark(view.weave, lambda role, index: ranks.get((role, index), ""))


def point_of(sizes: tuple[tuple[float, float], ...]) -> Point:
    """Rings of these wires and insides (mm) as a point."""
    most = sum(sizes[0])
    return tuple(((wire + inside) / most, wire / most) for wire, inside in sizes)


@cache
def _kept() -> dict[str, Any]:
    """What is shipped, by mark."""
    found: dict[str, Any] = json.loads(computed_sizes())
    return found


def shipped_sizes(view: View) -> Computed | None:
    """What is shipped of a weave with the same links, lays, folds and alike rings, or None."""
    body = _kept().get(size_mark(view))
    return from_data(body) if body else None


def from_data(body: dict[str, Any]) -> Computed:
    """What was computed, as it is kept."""
    points = tuple(tuple((d, w) for d, w in point) for point in body["points"])
    loose, held = body.get("loose_from"), body.get("held_to")
    return Computed(points, loose, body.get("why", ""), held, tuple(body["weaves"]))


def fitted_sizes(view: View, fit: Fit) -> Computed | None:
    """What a fit of the recipe found, None where it found no form that lies as the steps say."""
    forms = [f for f in fit.forms if f.as_said and f.folds_kept]
    if not forms:
        return None
    found = []
    for form in forms:
        sizes = []
        for wire, inside in linked_sizes(view):
            thick = wire * form.room
            sizes.append((thick, wire + inside - thick))
        found.append(point_of(tuple(sizes)))
    return Computed(tuple(found))
