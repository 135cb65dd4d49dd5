"""Parts such as clasps and beads: how large they are, and how they are shaped as far as is said."""

from __future__ import annotations

import re
from typing import Literal, NamedTuple

from ringstep.language.syntax import PartKind

#: A part that is called so is a ball.
_BALL = re.compile(r"\b(?:bead|ball|pearl)s?\b", re.IGNORECASE)

PartShape = Literal["ball", "ring", "bar"]


class PartSize(NamedTuple):
    """How large a part is, in mm; None for what is not said.

    length: along the part; width: across it, the same for what is round. hole: across its hole.
    """

    length: float | None
    width: float | None
    hole: float | None


def size_of(part: PartKind) -> PartSize | None:
    """How large a part is; None where its line does not say."""
    if not part.sizes:
        return None
    return PartSize(*(s.mm if s else None for s in (part.length, part.width, part.hole)))


def shape_of(part: PartKind) -> PartShape | None:
    """How a part is shaped as far as its words say; None where its sizes do not.

    What is called a bead is a ball; what is round with a wide hole is a plain ring; the rest is a
    flat bar or plate with its hole near one end.
    """
    length, width, hole = size_of(part) or (None, None, None)
    if length is None or width is None or (hole is not None and hole >= min(length, width)):
        return None
    is_ball = _BALL.search(part.name.role) or _BALL.search(part.words)
    if length == width and is_ball and (hole or 0.0) <= length / 2:
        return "ball"
    if hole is None:
        return None
    return "ring" if length == width and hole > length / 2 else "bar"


def rim_of(part: PartKind, met: bool) -> tuple[float, float] | None:
    """How thick the rim of a part's hole is, and the hole, mm; None where that is not known.

    The rim of a bead or of a ring takes up all its width; of a bar it is as thick as the bar, which
    is not said: half as thick as the hole is wide, or less where the bar is narrow. A ball without
    a hole that no ring has `met` is a rim of no radius, so its hole is below nothing.
    """
    shape, (length, width, hole) = shape_of(part), size_of(part) or (None, None, None)
    if shape is None or length is None or width is None:
        return None
    if hole is None:
        return (length, -length) if not met else None
    wall = (min(length, width) - hole) / 2
    return (min(wall, hole / 2) if shape == "bar" else wall), hole
