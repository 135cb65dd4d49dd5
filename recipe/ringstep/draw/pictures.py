"""What a diagram is made of, before any drawing program sees it, and the shapes of its lines.

All lengths are points (1/72 inch), y upwards; one scale holds for all diagrams of a recipe.
"""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot
from typing import Literal

from ringstep.draw.geometry import Path, Point
from ringstep.language.screen import safe
from ringstep.language.syntax import Side
from ringstep.weave.work import Ring

#: new: placed (or opened again) in this step; through: gone through; handled: moved without a new
#: link; out: taken out; other: the rest.
NodeMark = Literal["new", "through", "handled", "out", "other"]
#: new: made in this step; old: made before; held: no link, one lies around the other; beyond: goes
#: to rings outside the picture or outside the unit.
LineMark = Literal["new", "old", "held", "beyond"]

MM = 72 / 25.4
#: The room of a step diagram and of the window, in points: a column and a page of print.
STEP_WIDE, STEP_HIGH, PAGE_WIDE, PAGE_HIGH = 85 * MM, 60 * MM, 170 * MM, 220 * MM
#: How wide a window is at most whose units and rows can be left out: on a telephone, which shows
#: some 390 px, its smallest type is then still 9 px high.
WINDOW_WIDE = 112 * MM
#: Free room round a picture, and the room for the names of rows in a sheet.
MARGIN, ROW_NAMES = 4.0, 36.0
LABEL, SMALL_LABEL, CAPTION = 8.0, 7.2, 7.5
#: How far the second circle of a new ring stands out from the first, as Graphviz draws it.
DOUBLE = 4.0
MOST_LETTERS = 7


@dataclass(frozen=True, slots=True)
class Node:
    """A ring (or part) in a picture.

    key: its name within the picture, of letters and figures only. lines: its label. full: its name
    and place in words. at: its centre; across: its size. box: True for parts. again: True for the
    second copy of a ring in a closed piece. moved: True where it could not be drawn on its seat.
    """

    key: str
    ring: Ring
    lines: tuple[str, ...]
    full: str
    mark: NodeMark
    at: Point
    across: float
    box: bool = False
    again: bool = False
    moved: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A link between the rings of two keys; b is None where it ends outside the picture.

    path: the four points of one cubic Bézier curve, from outline to outline. side: from which side
    the ring of a enters that of b, where the picture tells.
    """

    a: str
    b: str | None
    mark: LineMark
    path: Path
    side: Side | None = None


@dataclass(frozen=True, slots=True)
class Caption:
    """Words beside the rings; strong for the unit at work. left: they begin at the place given."""

    text: str
    at: Point
    strong: bool = False
    left: bool = False


@dataclass(frozen=True, slots=True)
class Diagram:
    """One picture.

    name: the stem of its file. title: one short line. alt: the picture in words. frame: its corners
    (left, bottom, right, top), which may hold more room than this picture fills.
    """

    name: str
    title: str
    alt: str
    nodes: tuple[Node, ...]
    lines: tuple[Line, ...]
    captions: tuple[Caption, ...]
    frame: tuple[float, float, float, float]


#: How wide letters are, in ems: by the widths of Helvetica (from memory), the wider of each group.
_EMS = {
    **dict.fromkeys("ijl'|", 0.24),
    **dict.fromkeys("ftIr.,:;!/()[]- ", 0.34),
    **dict.fromkeys("ckJsvxyz", 0.5),
    **dict.fromkeys("FLTZ", 0.62),
    **dict.fromkeys("ABEKPSVXYCDHNRUw&", 0.73),
    **dict.fromkeys("GOQ+<=>~", 0.78),
    **dict.fromkeys("mM", 0.84),
    **dict.fromkeys("W%@…", 1.02),
}


def text_width(text: str, size: float) -> float:
    """About how wide a line of a plain sans-serif letter is, in points; rather too wide."""
    ems = 0.0
    for mark in text:
        if unicodedata.east_asian_width(mark) in "WF":
            ems += 1.0
        elif not unicodedata.combining(mark):
            ems += _EMS.get(mark, 0.58)
    return ems * size


def label_lines(name: str) -> tuple[str, ...]:
    """A ring's name cut into at most three lines that fit a ring.

    A long word is broken at a syllable, with a hyphen; what is left out of a very long one stands
    between '…' and its end, and its number is kept.

    >>> label_lines("M1"), label_lines("core 12"), label_lines("connector")
    (('M1',), ('core', '12'), ('con-', 'nector'))
    >>> label_lines("averylongnamethatgoeson 12")
    ('averyl…', 'tgoeson', '12')
    """
    words = safe(name).split(" ")
    lines = _pieces(words[0], 4 - min(len(words), 3))
    return tuple((*lines, *(x for word in words[1:] for x in _pieces(word, 1)))[:3])


def _pieces(word: str, most: int) -> list[str]:
    """A word in at most so many lines."""
    if len(word) <= MOST_LETTERS:
        return [word]
    if most == 1:
        return [word[: MOST_LETTERS - 1] + "…"]
    if len(word) > (most - 1) * (MOST_LETTERS - 1) + MOST_LETTERS:
        head = _pieces(word[: (most - 1) * (MOST_LETTERS - 1)], most - 1)
        return [*head[:-1], head[-1][: MOST_LETTERS - 1] + "…", word[-MOST_LETTERS:]]
    least = max(1, len(word) - (most - 2) * (MOST_LETTERS - 1) - MOST_LETTERS)
    at = min(range(least, MOST_LETTERS), key=lambda i: _break_price(word, i))
    plain = word[at - 1] in "-_" or unicodedata.east_asian_width(word[at]) in "WF"
    return [word[:at] + ("" if plain else "-"), *_pieces(word[at:], most - 1)]


def _break_price(word: str, at: int) -> float:
    """How ill a word is broken before a letter: best after a hyphen, then where syllables part."""
    before, after, beyond = word[at - 1].casefold(), word[at].casefold(), word[at + 1 : at + 2]
    vowels = "aeiouyäöü"
    lines = -(-(len(word) - 1) // (MOST_LETTERS - 1))
    price = max(at + 1.0, (len(word) - at) / (lines - 1)) + 4.0 * (min(at, len(word) - at) < 3)
    if before in "-_":
        return price - 9
    if unicodedata.combining(after):
        return price + 9
    if after in vowels or not beyond or beyond.casefold() not in vowels:
        return price
    return price - (4 if before in vowels or word[at - 2 : at - 1].casefold() in vowels else 2)


def distinct_labels(names: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """The lines of each name; names that would look alike are told whole."""
    found = {name: label_lines(name) for name in names}
    alike = Counter("".join(lines) for lines in found.values())
    return {
        name: lines if alike["".join(lines)] == 1 else tuple(safe(name).split(" "))
        for name, lines in found.items()
    }


def label_size(lines: Iterable[str]) -> float:
    """The size of type of a label: a little smaller for long names."""
    return LABEL if max(map(len, lines), default=0) < 6 else SMALL_LABEL


def ring_across(lines: tuple[str, ...]) -> float:
    """How wide a ring must be to hold its label."""
    size = label_size(lines)
    wide = max((text_width(x, size) for x in lines), default=0.0)
    return max(18.0, wide + 6.0, hypot(0.8 * wide, 1.1 * size * len(lines)) + 3.0)
