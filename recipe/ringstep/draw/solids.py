"""Bodies of parts as the eye sees them: balls and flat bars, which hide rings and are hidden.

In: a part as it lies. Out: a `Solid` in view coordinates (x right, y up, z towards the eye; mm),
and its strokes on the page.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringstep.draw.brush import FINE, Tone
from ringstep.draw.strands import ARCS, Floats
from ringstep.space.result import PlacedRing
from ringstep.space.state import Ball, Bar, Round

_ROUND = 48  # points of a hole's rim, and of both round ends of a bar together
_LIGHT, _LIT = 0.3, 0.35  # of a ball's radius: how wide its light is, and how far off its middle
_BALL_EDGE = 0.035  # of a ball's radius: its outline


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A ball, where `outer` is empty, or a flat bar as thick as `thick`.

    centre, normal: the middle of the hole and the way through it. across: of the ball. outer,
    inner: (n, 3), the rims of the bar's middle plane, as far within it as it is thick by half.
    """

    centre: Floats
    normal: Floats
    across: float
    hole: float
    thick: float
    outer: Floats
    inner: Floats

    def front(self, points: Floats) -> Floats:
        """(n,) how near to the eye its surface is at points (n, 2); -inf where it is not."""
        return self._flat(points) if len(self.outer) else self._ball(points)

    def _ball(self, points: Floats) -> Floats:
        away = points - self.centre[:2]
        rise2 = (self.across / 2) ** 2 - np.sum(away**2, axis=1)
        rise = np.sqrt(np.maximum(rise2, 0.0))

        def in_hole(height: Floats) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
            x = np.column_stack([away, height])
            off2 = np.sum(x * x, axis=1) - (x @ self.normal) ** 2
            return np.asarray(off2 < (self.hole / 2) ** 2)

        depth = np.where(in_hole(rise), np.where(in_hole(-rise), -np.inf, -rise), rise)
        out: Floats = np.where(rise2 > 0, self.centre[2] + depth, -np.inf)
        return out

    def _flat(self, points: Floats) -> Floats:
        n = self.normal if self.normal[2] >= 0 else -self.normal
        out: Floats = np.full(len(points), -np.inf)
        if n[2] > 1e-6:
            # the foot, on the middle plane, of the face that the eye meets there
            top = self.centre + n * self.thick / 2
            height = top[2] - (points - top[:2]) @ n[:2] / n[2]
            foot = points - n[:2] * self.thick / 2
            face = _within(foot, self.outer[:, :2]) & ~_within(foot, self.inner[:, :2])
            out[face] = height[face]
        for rim in (self.outer, self.inner):
            a, b = rim, np.roll(rim, -1, axis=0)
            line = b - a
            flat2 = np.maximum(np.sum(line[:, :2] ** 2, axis=1), 1e-12)
            share = np.einsum("ptx,tx->pt", points[:, None] - a[None, :, :2], line[:, :2]) / flat2
            spot = a + np.clip(share, 0.0, 1.0)[..., None] * line
            left = (self.thick / 2) ** 2 - np.sum((points[:, None] - spot[..., :2]) ** 2, axis=2)
            rise = np.where(left > 0, spot[..., 2] + np.sqrt(np.maximum(left, 0.0)), -np.inf)
            out = np.maximum(out, rise.max(axis=1))
        return out

    @property
    def box(self) -> tuple[Floats, Floats]:
        """The corners of what it covers on the page."""
        if not len(self.outer):
            return self.centre[:2] - self.across / 2, self.centre[:2] + self.across / 2
        half = self.thick / 2
        return self.outer[:, :2].min(axis=0) - half, self.outer[:, :2].max(axis=0) + half

    @property
    def breadth(self) -> float:
        """How broad the strand is that stands for it where names are placed."""
        if not len(self.outer):
            return self.across / 2
        sides = self.outer[0, :2] - self.outer[_ROUND // 2, :2]
        return float(np.linalg.norm(sides)) + self.thick

    @property
    def spine(self) -> Floats:
        """(ARCS, 3) points that with this breadth cover it."""
        turn = (np.arange(ARCS)[:, None] + 0.5) * (2 * math.pi / ARCS)
        if not len(self.outer):
            plane = np.concatenate([np.cos(turn), np.sin(turn), np.ones_like(turn)], axis=1)
            return self.centre + plane * self.across / 4
        middle = self.outer.mean(axis=0)
        ends = self.outer[_ROUND // 4] - middle
        long = max(float(np.linalg.norm(ends)), 1e-9)
        away = 1.0 - min(1.0, self.across / 2 / long)
        out: Floats = middle + np.cos(turn) * away * ends
        return out

    def marks(self) -> Floats:
        """(n, 2) points that it covers, to compare it with others."""
        if len(self.outer):
            out: Floats = np.concatenate([self.outer, self.spine])[:, :2]
            return out
        out = np.concatenate([self.spine[:, :2], self.centre[None, :2]])
        return out

    def strokes(self, tone: Tone, left: float, top: float, scale: float) -> list[str]:
        """Its shapes on a page whose upper left corner is at (left, top) mm; scale: px a mm."""
        fine = scale * FINE

        def on(points: Floats) -> Floats:
            put: Floats = (points[..., :2] - (left, top)) * (fine, -fine)
            return put

        if len(self.outer):
            d = "".join(_polygon(on(rim)) for rim in (self.outer, self.inner))
            inner = max(1, round(self.thick * fine * (1 - 2 * tone.edge)))
            return [
                f'<path d="{d}" fill="{colour}" fill-rule="evenodd" stroke="{colour}"'
                f' stroke-width="{width}"/>'
                for colour, width in ((tone.outline, round(self.thick * fine)), (tone.body, inner))
            ]
        (x, y), r = on(self.centre).tolist(), self.across / 2 * fine
        lit = r * _LIT
        out = [
            _disc(x, y, r, tone.outline),
            _disc(x, y, r * (1 - _BALL_EDGE), tone.body),
            _disc(x - lit, y - lit, r * _LIGHT, tone.light or tone.body),
        ]
        half = self.hole / 2
        rise = math.sqrt(max((self.across / 2) ** 2 - half**2, 0.0))
        for way in (self.normal, -self.normal):
            if half and way[2] > 0.05:  # the mouth of the hole on the side of the eye
                mx, my = on(self.centre + rise * way).tolist()
                turn = math.degrees(math.atan2(-way[1], way[0]))
                out.append(
                    f'<ellipse cx="{mx:.0f}" cy="{my:.0f}" rx="{half * way[2] * fine:.0f}"'
                    f' ry="{half * fine:.0f}" transform="rotate({turn:.0f} {mx:.0f} {my:.0f})"'
                    f' fill="{tone.outline}"/>'
                )
        return out


def solid(part: Round | PlacedRing, view: Sequence[Sequence[float]]) -> Solid | None:
    """The body of a part in the view's coordinates; None for a ring."""
    body = part.body if isinstance(part, Round) else None
    if body is None:
        return None
    turn: Floats = np.array(view)
    centre, normal = turn @ np.array(part.centre), turn @ np.array(part.normal)
    none = np.zeros((0, 3))
    if isinstance(body, Ball):
        return Solid(centre, normal, body.across, body.hole, 0.0, none, none)
    rims: list[Floats] = [centre + rim @ turn.T for rim in _rims(part, body)]
    return Solid(centre, normal, body.across, body.hole, part.wire, *rims)


def _rims(part: Round | PlacedRing, body: Bar) -> tuple[Floats, Floats]:
    """Rims of a bar's middle plane, from the middle of its hole."""
    far, near, normal = np.array(body.far), np.array(body.near), np.array(part.normal)
    along: Floats = far / max(float(np.linalg.norm(far)), 1e-9)
    side = np.cross(normal, along)
    half = math.pi / 2
    turn = np.linspace(-half, half, _ROUND // 2 + 1)[:, None]
    arms = np.cos(turn) * along + np.sin(turn) * side
    size = (body.across - part.wire) / 2
    outer = np.concatenate([far + size * arms, near - size * arms])
    about = np.arange(_ROUND)[:, None] * (2 * math.pi / _ROUND)
    return outer, part.mean_radius * (np.cos(about) * along + np.sin(about) * side)


def _within(points: Floats, rim: Floats) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which points (n, 2) lie within a polygon (m, 2)."""
    a, b = rim, np.roll(rim, -1, axis=0)
    x, y = points[:, :1], points[:, 1:]
    rises = (a[:, 1] > y) != (b[:, 1] > y)
    slope = (b[:, 0] - a[:, 0]) / np.where(b[:, 1] == a[:, 1], 1.0, b[:, 1] - a[:, 1])
    right = x < a[:, 0] + slope * (y - a[:, 1])
    return np.asarray((rises & right).sum(axis=1) % 2 == 1)


def _polygon(points: Floats) -> str:
    return "M" + "L".join(f"{x:.0f} {y:.0f}" for x, y in points) + "z"


def _disc(x: float, y: float, r: float, colour: str) -> str:
    return f'<circle cx="{x:.0f}" cy="{y:.0f}" r="{r:.0f}" fill="{colour}"/>'
