"""What a diagram is made of, before any drawing program sees it, and the shapes of its lines.

All lengths are points (1/72 inch), y upwards; one scale holds for all diagrams of a recipe.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot
from typing import Literal

from recipe.outputs.geometry import Path, Point
from recipe.report import safe
from recipe.steps import Ring

#: new: placed (or opened again) in this step; through: gone through; handled: moved without a new
#: link; out: taken out; other: the rest.
NodeMark = Literal["new", "through", "handled", "out", "other"]
#: new: made in this step; old: made before; held: no link, one lies around the other; beyond: goes
#: to rings outside the picture or outside the unit.
LineMark = Literal["new", "old", "held", "beyond"]

MM = 72 / 25.4
#: The room of a step diagram and of the window, in points: a column and a page of print.
STEP_WIDE, STEP_HIGH, PAGE_WIDE, PAGE_HIGH = 85 * MM, 60 * MM, 170 * MM, 220 * MM
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

    path: the four points of one cubic Bézier curve, from outline to outline.
    """

    a: str
    b: str | None
    mark: LineMark
    path: Path


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


def text_width(text: str, size: float) -> float:
    """About how wide a line of a plain sans-serif letter is, in points; rather too wide."""
    ems = 0.0
    for mark in text:
        if unicodedata.combining(mark):
            continue
        if unicodedata.east_asian_width(mark) in "WF":
            ems += 1.0
        else:
            ems += 0.3 if mark in "iljtfrI.,'|!" else 0.85 if mark in "mwMW@%" else 0.6
    return ems * size


def label_lines(name: str) -> tuple[str, ...]:
    """A ring's name cut into lines that fit a ring; past three lines it ends in '…'.

    >>> label_lines("M1"), label_lines("core 12"), label_lines("connector")
    (('M1',), ('core', '12'), ('conne', 'ctor'))
    """
    lines: list[str] = []
    for word in safe(name).split(" "):
        pieces = -(-len(word) // MOST_LETTERS) or 1
        each = -(-len(word) // pieces) or 1
        lines += [word[i : i + each] for i in range(0, len(word), each)] or [""]
    return tuple(lines) if len(lines) < 4 else (*lines[:2], lines[2][: MOST_LETTERS - 1] + "…")


def label_size(lines: Iterable[str]) -> float:
    """The size of type of a label: a little smaller for long names."""
    return LABEL if max(map(len, lines), default=0) < 6 else SMALL_LABEL


def ring_across(lines: tuple[str, ...]) -> float:
    """How wide a ring must be to hold its label."""
    size = label_size(lines)
    wide = max((text_width(x, size) for x in lines), default=0.0)
    return max(18.0, wide + 6.0, hypot(0.8 * wide, 1.1 * size * len(lines)) + 3.0)
