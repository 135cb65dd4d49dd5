"""Arrows in pictures of rings: where a new ring will run, and where a ring is moved to.

In: rings as they lie. Out: `Arrow`s, thin strands in the work's own coordinates. The way of a new
ring goes behind and before rings as every strand does; that of a ring moved lies over all of them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringstep.draw.angle import View
from ringstep.draw.brush import head_arcs
from ringstep.draw.strands import ARCS, Bools, Floats, Strand
from ringstep.space.state import Move, Round

_THIN = 0.4  # of the ring's wire
_BEYOND, _LEAST = 1.6, 0.6  # radians before the first and after the last ring gone through
_LONGEST = 5.9  # radians
_SHORT, _BULGE = 1.2, 0.3  # mean radii, the least length of a moved ring's arrow; of it, its bow
_OVER = 40.0  # mean radii towards the eye: over all that is drawn


@dataclass(frozen=True, slots=True, eq=False)
class Arrow:
    """A strand that ends in a head. spare: radians that may be cut off at each end."""

    strand: Strand
    spare: float = 0.0

    def trimmed(self, hidden: Bools) -> Strand:
        """The strand cut so that its head, and where it starts, are seen.

        hidden: (ARCS,) what of the strand lies under rings.
        """
        pace = self.strand.span / ARCS
        spare, part = int(self.spare / pace), max(3, round(head_arcs(self.strand)))
        seen = (~hidden).astype(float)

        def cut(run: Floats) -> int:
            """How many arcs to cut off the front of a run; about half of them where all is seen."""
            worth = [
                float(run[k : k + part].mean()) - 0.02 * abs(k - spare / 2)
                for k in range(spare + 1)
            ]
            return int(np.argmax(worth))

        first, last = cut(seen), cut(seen[::-1])
        return replace(
            self.strand,
            start=self.strand.start + first * pace,
            span=self.strand.span - (first + last) * pace,
        )


def way_of(ring: Round, through: Sequence[Round], behind: bool = False) -> Arrow | None:
    """The arrow of a new ring, along its own circle; None where it goes through nothing.

    behind: the ring goes in from behind; else its arrow begins on the worker's side.
    """
    at = sorted(a for other in through for a in _crossings(ring, other))
    if not at:
        return None
    gaps = np.diff([*at, at[0] + 2 * math.pi])
    widest = int(np.argmax(gaps))
    first = at[(widest + 1) % len(at)]
    within = float(2 * math.pi - gaps[widest])
    more = max(min(_BEYOND, (_LONGEST - within) / 2), _LEAST / 2)
    start, span = first - more, within + 2 * more
    strand = _circle(ring, start, span)
    ends = strand.at(np.array([start, start + span]))
    # how it goes towards the worker where it goes through; by its ends where that is nothing
    toward = sum(float(-math.sin(a) * strand.u[2] + math.cos(a) * strand.v[2]) for a in at)
    if abs(toward) < 0.1 * ring.mean_radius:
        toward = float(ends[1, 2] - ends[0, 2])
    if (toward > 0) != behind:
        strand = Strand(strand.centre, strand.u, -strand.v, strand.wire, -start - span, span)
    return Arrow(strand, max(0.0, more - _LEAST))


def _axes(normal: Sequence[float] | Floats) -> tuple[Floats, Floats]:
    n = np.array(normal)
    helper = np.eye(3)[int(np.argmin(np.abs(n)))]
    u = np.cross(n, helper)
    u /= np.linalg.norm(u)
    return u, np.cross(n, u)


def _circle(ring: Round, start: float, span: float) -> Strand:
    u, v = _axes(ring.normal)
    r = ring.mean_radius
    return Strand(np.array(ring.centre), u * r, v * r, ring.wire * _THIN, start, span)


def _crossings(ring: Round, other: Round) -> list[float]:
    """Angles on a ring's circle at which it goes through the opening of another."""
    strand = _circle(ring, 0.0, 2 * math.pi)
    n = np.array(other.normal)
    a, b = float(strand.u @ n), float(strand.v @ n)
    level = float((np.array(other.centre) - strand.centre) @ n)
    size = math.hypot(a, b)
    if size < 1e-9 or abs(level) > size:
        return []
    middle, half = math.atan2(b, a), math.acos(level / size)
    angles = np.array([middle - half, middle + half])
    apart = np.linalg.norm(strand.at(angles) - np.array(other.centre), axis=1)
    return [float(x) % (2 * math.pi) for x in angles[apart < other.mean_radius]]


def moves(moved: Sequence[tuple[Round, Round, Move]], view: View) -> list[Arrow]:
    """One arrow for every ring that is moved, (before, after, how), over all that is drawn.

    That of a folded ring runs from its top down to where its far end comes to lie, that of a ring
    spread apart from its top the way it goes; of a ring that is hardly moved it only shows which
    way. None for work turned over.
    """
    turn = np.array(view)
    tips = []
    for there, here, how in moved:
        if how != "turn":
            end = _tip(here, turn, -1.0 if how == "fold" else 1.0)
            tips.append((_tip(there, turn, 1.0), end, there, how))
    ways_ = _apart([end - start for start, end, *_ in tips]) if len(tips) == 2 else None
    out = []
    for nth, (start, end, there, how) in enumerate(tips):
        go: Floats = (end - start)[:2]
        if how == "spread" and ways_ is not None:
            go = ways_[nth]
        size = float(np.linalg.norm(go))
        if size < there.wire * 0.1:
            continue
        go *= max(1.0, _SHORT * there.mean_radius / size)
        out_ = _outward(go, how, nth, [tip[1][0] for tip in tips])
        over = start[2] + _OVER * there.mean_radius
        bow = start[:2] + go / 2 + out_
        points = [turn.T @ np.append(p, over) for p in (start[:2], bow, start[:2] + go)]
        strand = _through_three(points[0], points[1], points[2], there.wire * _THIN)
        if strand is not None:
            out.append(Arrow(strand))
    return out


def _tip(ring: Round, turn: Floats, up: float) -> Floats:
    """The point just outside of a ring that is seen highest, or lowest for `up` -1; as seen."""
    n = turn @ np.array(ring.normal)
    y = np.array([0.0, up, 0.0])
    arm = y - n * (n @ y)
    size = float(np.linalg.norm(arm)) or 1.0
    place: Floats = turn @ np.array(ring.centre) + arm * (ring.mean_radius + ring.wire) / size
    return place


def _apart(gone: Sequence[Floats]) -> list[Floats] | None:
    """Of two rings the ways in which they go from one another, as seen; None where hardly."""
    apart = (gone[0] - gone[1])[:2] / 2
    return None if np.linalg.norm(apart) < 1e-6 else [apart, -apart]


def _outward(go: Floats, how: Move, nth: int, ends: Sequence[float]) -> Floats:
    """How far the middle of an arrow bows: of folded rings to the side where they come to lie, of
    others upwards."""
    aside = np.array([go[1], -go[0]]) * _BULGE
    middle = sum(ends) / len(ends)
    side = ends[nth] - middle if len(ends) > 1 else 1.0
    wrong = aside[0] * (side or 1.0) < 0 if how == "fold" else aside[1] < 0
    return -aside if wrong else aside


def _through_three(a: Floats, b: Floats, c: Floats, wire: float) -> Strand | None:
    """The arc of a circle from a by b to c; None where they hardly differ."""
    if np.linalg.norm(c - a) < 2 * wire:
        return None
    p, q = a - b, c - b
    normal = np.cross(p, q)
    square = float(normal @ normal)
    if square < 1e-4 * float(p @ p) * float(q @ q):  # nearly straight: bend it a little
        side = _axes(q / np.linalg.norm(q))[0]
        return _through_three(a, b + 0.1 * float(np.linalg.norm(c - a)) * side, c, wire)
    to = np.cross(float(p @ p) * q - float(q @ q) * p, normal) / (2 * square)
    centre = b + to
    u = a - centre
    n = -normal / math.sqrt(square)
    v = np.cross(n, u)
    span = math.atan2(float((c - centre) @ v), float((c - centre) @ u)) % (2 * math.pi)
    return Strand(centre, u, v, wire, 0.0, span)
