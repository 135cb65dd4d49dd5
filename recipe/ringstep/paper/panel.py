"""The pictures of a step on the page: before and after, side by side, all steps in one scale.

In: the `Scene`s of the steps. Out: `Html`. Lengths on paper are mm.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from ringstep.paper.film import ACROSS, Scene
from ringstep.paper.page import Html, element, escaped, joined

MM = 72 / 25.4
#: The widest ring on paper, mm: at most, and at least where a panel stands beside another.
_RING, _LEAST = 25.0, 16.0
_GAP = 3.5  # mm, round each picture
_HIGH = 46.0  # mm, of a picture

_OPENING = re.compile(
    r'<svg\b[^>]*? width="([\d.]+)" height="([\d.]+)"([^>]*>)\s*(?:<title>.*?</title>\s*)?'
    r"<desc>(.*?)</desc>",
    re.S,
)


def size_of(svg: str) -> tuple[float, float]:
    """Width and height of a picture of real rings in its own pixels; zeros for no picture."""
    found = _OPENING.search(svg)
    return (float(found[1]), float(found[2])) if found else (0.0, 0.0)


def sized_rings(svg: str, scale: float) -> Html:
    """A picture of real rings as it stands on the page, at `scale` mm to a pixel."""
    found = _OPENING.search(svg)
    if found is None:
        return Html("")
    wide, high = (float(found[k]) * scale * MM for k in (1, 2))
    opening = (
        f'<svg role="img" aria-label="the real rings {found[4]}"'
        f' xmlns="http://www.w3.org/2000/svg" width="{wide:.0f}pt" height="{high:.0f}pt"{found[3]}'
    )
    return Html(opening + svg[found.end() :].strip())


@dataclass(frozen=True, slots=True)
class Panel:
    """The pictures of one step: before and after, and before where it is done in another way.

    flat: of a sheet or tube.
    """

    scene: Scene
    others: tuple[Scene, ...] = ()
    flat: bool = False

    @property
    def shown(self) -> list[tuple[str, str]]:
        """Each picture with the words under it."""
        before, after = ("before", "after") if self.scene.earlier else ("", "")
        if any(s.other == "side" for s in self.others):
            before = f"in from the {self.scene.side}"
        told = [(self.scene.earlier, before), (self.scene.later, after)]
        told += [(s.earlier or s.later, self._how(s)) for s in self.others]
        return [(svg, words) for svg, words in told if svg]

    def _how(self, other: Scene) -> str:
        if other.other == "side":
            return f"in from the {other.side}"
        return "at the edge" if self.flat else "the first time"

    def most(self, room: float, larger: float = 1.0) -> float:
        """The largest scale at which all stand side by side in `room` mm.

        larger: 1, or by how much pictures are larger than in plain print.
        """
        sizes = [size_of(svg) for svg, _ in self.shown]
        wide = sum(w for w, _ in sizes)
        high = max(h for _, h in sizes)
        return min((room - _GAP * len(sizes)) / max(wide, 1.0), _HIGH * larger / max(high, 1.0))

    def html(self, scale: float) -> Html:
        """All of them, side by side."""
        return element("figure", joined(labelled(svg, scale, w) for svg, w in self.shown), "panel")


def scale_of(panels: Iterable[Panel], half: float, whole: float, larger: float) -> float:
    """mm to a pixel for all steps of a page.

    half, whole: mm, the room of a panel that stands beside another, and of one that does not.
    larger: as in `Panel.most`.
    """
    most, least = (larger * ring / ACROSS for ring in (_RING, _LEAST))
    fits = [(p.most(half, larger), p.most(whole, larger)) for p in panels]
    return min([most, *(beside if beside >= least else alone for beside, alone in fits)])


def labelled(svg: str, scale: float, words: str) -> Html:
    """A picture at `scale` mm to a pixel with words under it."""
    told = element("span", escaped(words), "quiet") if words else Html("")
    return element("span", joined([sized_rings(svg, scale), told]), "rings")
