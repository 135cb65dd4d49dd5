"""The finished piece in pictures: a stretch of it large, one at true size, and rings to lay on.

In: the rings as they lie, from where to look, and the sizes of the recipe. Out: SVG. One mm of a
true size is one mm on paper.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ringstep.checks.view import View
from ringstep.draw.angle import View as Looks
from ringstep.draw.rings import picture
from ringstep.language.measures import text_mm
from ringstep.paper.film import ACROSS
from ringstep.paper.page import Html, escaped
from ringstep.space.state import Round
from ringstep.weave.work import Ring

_LONG, _BROAD = 7.0, 4.5  # of the widest ring: how much of the work the large picture shows
_STRIP, _DEEP = 60.0, 34.0  # mm, of the work at true size
_PIXELS = 12.0  # to a mm of the picture at true size


Lying = Sequence[tuple[Ring, Round]]


@dataclass(frozen=True, slots=True)
class Finished:
    """large: a stretch of the piece, as the steps show it. strip: at true size, along the page.

    pixels: to a mm of `strip`.
    """

    large: str
    strip: str
    pixels: float = _PIXELS


def finished(view: View, piece: Lying, turn: Looks) -> Finished | None:
    """Both pictures of a piece as it lies; None where it has no rings."""
    if not piece:
        return None
    flat = view.weave.layout.kind in ("sheet", "tube")
    widest = max(2 * lying.mean_radius + lying.wire for _, lying in piece)
    right, up, near = turn
    along: Looks = turn if flat else (up, (-right[0], -right[1], -right[2]), near)
    if flat:
        large = _within(piece, turn, _BROAD * widest * 1.3, _BROAD * widest)
        strip = _within(piece, along, _STRIP, _DEEP)
    else:
        large = _within(piece, turn, math.inf, _LONG * widest)
        strip = _within(piece, along, _STRIP, math.inf)
    roles = list(view.weave.names)
    return Finished(
        _drawn(large, turn, roles, "a stretch of the finished piece", ACROSS / widest),
        _drawn(strip, along, roles, "the same at true size", _PIXELS),
    )


def _drawn(piece: Lying, turn: Looks, roles: list[str], words: str, scale: float) -> str:
    kinds = [roles.index(ring.role) if ring.role in roles else 0 for ring, _ in piece]
    rings = [lying for _, lying in piece]
    return picture(rings, turn, kinds=kinds, words=words, scale=scale)


def _within(piece: Lying, turn: Looks, wide: float, high: float) -> Lying:
    """The rings that lie wholly within so many mm of the end where the work begins."""
    spots = []
    for _, lying in piece:
        x, y = (sum(a * b for a, b in zip(turn[k], lying.centre, strict=True)) for k in (0, 1))
        spots.append((x, y, lying.mean_radius + lying.wire / 2))
    first = min(range(len(piece)), key=lambda k: (piece[k][0].row, piece[k][0].unit))
    x0, y0, reach = spots[first]
    kept = [
        pair
        for pair, (x, y, r) in zip(piece, spots, strict=True)
        if abs(x - x0) + r + reach <= wide and abs(y - y0) + r + reach <= high
    ]
    return kept or piece[:1]


def true_rings(sizes: Sequence[tuple[str, float, float]]) -> Html:
    """Rings at true size to lay one's own on. sizes: name, wire and inside, mm."""
    return Html("\n".join(_true_ring(*size) for size in sizes))


def _true_ring(name: str, wire: float, inside: float) -> str:
    across = inside + 2 * wire
    middle, side = across / 2 + 0.5, across + 1
    words = f"{name} at true size: inside {text_mm(inside)} mm, wire {text_mm(wire)} mm"
    return (
        f'<span class="true">{_opening(side, side, words)}<circle cx="{middle:.3f}"'
        f' cy="{middle:.3f}" r="{(inside + wire) / 2:.3f}" fill="none" stroke="#9a9a9a"'
        f' stroke-width="{wire:.3f}"/></svg><span>{escaped(name)}: inside {text_mm(inside)} mm,'
        f" wire {text_mm(wire)} mm</span></span>"
    )


def rule(long: int) -> Html:
    """A rule of so many mm, with a stroke for each."""
    strokes = "".join(
        f'<path d="M{x + 1} 0 V{4 if x % 10 == 0 else 3 if x % 5 == 0 else 2}"/>'
        for x in range(long + 1)
    )
    numbers = "".join(
        f'<text x="{x + 1}" y="7.2" font-size="2.8" text-anchor="middle" fill="#111111"'
        f' stroke="none" font-family="Liberation Sans, Arial, sans-serif">{x}</text>'
        for x in range(0, long + 1, 10)
    )
    words = f"a rule of {long} mm"
    return Html(
        f'{_opening(long + 4, 8, words)}<g stroke="#111111" stroke-width="0.2">{strokes}{numbers}'
        "</g></svg>"
    )


def _opening(wide: float, high: float, words: str) -> str:
    """The opening of a picture whose units are mm on paper."""
    mm = 72 / 25.4
    return (
        f'<svg role="img" aria-label="{escaped(words)}" xmlns="http://www.w3.org/2000/svg"'
        f' width="{wide * mm:.2f}pt" height="{high * mm:.2f}pt" viewBox="0 0 {wide:g} {high:g}">'
    )
