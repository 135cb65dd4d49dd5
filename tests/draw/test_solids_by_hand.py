"""Bodies of parts, a ball and a flat bar, by heights and outlines worked out by hand; mm."""

from __future__ import annotations

import re
from math import sqrt

import numpy as np
import pytest

from ringstep.draw.brush import Tone
from ringstep.draw.solids import Solid, solid
from ringstep.space.state import Ball, Bar, Round

FRONT = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
TONE = Tone("#111", "#ccc", "#fff", 0.1)
#: A ball of 10 whose hole of 6 runs along x, and one whose hole runs towards the eye.
BEAD = Round((1.0, 2.0, 3.0), (1.0, 0.0, 0.0), 3.5, 1.0, Ball(10.0, 6.0))
OPEN = Round((1.0, 2.0, 3.0), (0.0, 0.0, 1.0), 3.5, 1.0, Ball(10.0, 6.0))
#: A bar of 4, 1 thick, its hole of 2 about the middle, its round ends about 0 and (6, 0).
BAR = Bar((0.0, 0.0, 0.0), (6.0, 0.0, 0.0), 4.0, 2.0)
FLAT = Round((0.0, 0.0, 5.0), (0.0, 0.0, 1.0), 1.5, 1.0, BAR)


def body(part: Round) -> Solid:
    found = solid(part, FRONT)
    assert found is not None
    return found


def front(part: Round, *points: tuple[float, float]) -> list[float]:
    return [round(float(z), 3) for z in body(part).front(np.array(points))]


def numbers(text: str, name: str) -> float:
    return float(re.findall(rf' {name}="([^"]*)"', text)[0])


def test_a_ring_is_no_body() -> None:
    assert solid(Round((0, 0, 0), (0.0, 0.0, 1.0), 4.0, 1.0), FRONT) is None


def test_a_ball_is_as_high_as_a_ball_but_for_its_hole() -> None:
    # 3 and 4 from its middle leave 4 and 3 of a radius of 5; from its edge on there is nothing.
    assert front(BEAD, (1, 2), (4, 2), (1, 6), (5, 2)) == [8, 7, 6, 6]
    assert front(BEAD, (6.1, 2), (1, 7.1), (4, 6.1)) == [-np.inf] * 3
    # Looked at along its hole there is nothing in it, 3 to all sides.
    assert front(OPEN, (1, 2), (3.9, 2), (4.1, 2)) == [
        -np.inf,
        -np.inf,
        round(3 + sqrt(25 - 9.61), 3),
    ]
    # Aslant one looks through the mouth on the side of the eye to the far side of the hole.
    aslant = Round((0, 0, 0), (0.6, 0.0, 0.8), 3.5, 1.0, Ball(10.0, 6.0))
    assert front(aslant, (3, 0), (-4, 0)) == [-4, 3]
    # In the middle the surface is 3 from the hole's middle line, on both sides of the ball.
    wider, closer = (
        Round((0, 0, 0), (0.6, 0.0, 0.8), 3.5, 1.0, Ball(10.0, hole)) for hole in (6.1, 5.9)
    )
    assert front(wider, (0, 0)) == [-np.inf]
    assert front(closer, (0, 0)) == [5]


def test_a_bar_is_half_its_thickness_over_its_middle_and_round_at_its_rims() -> None:
    # Face: 0.5 over 5. The rims of the middle plane lie 0.5 within the outlines: 1.5 aside.
    assert front(FLAT, (3, 0), (3, 1.4), (-1.5, 0)) == [5.5, 5.5, 5.5]
    assert front(FLAT, (0, 0), (0.9, 0)) == [-np.inf, -np.inf]  # the hole
    assert front(FLAT, (3, 1.8), (3, -1.8)) == [5.4] * 2  # 0.3 over the rim: sqrt(0.25 - 0.09)
    assert front(FLAT, (3, 2.1), (8.1, 0), (-2.1, 0)) == [-np.inf] * 3
    assert front(FLAT, (7.8, 0)) == [5.4]
    # The hole's rim lies 1.5 from its middle: 1.2 out, 0.3 within it.
    assert front(FLAT, (1.2, 0)) == [pytest.approx(5.4, abs=0.02)]


def test_a_bar_that_leans_is_nearer_on_one_side() -> None:
    # Its normal leans to the right by 3 in 5: on its left side it is nearer. Its face lies 0.5
    # along the normal; over the middle of the page that is 0.5 / 0.8 higher.
    leaning = Round((0, 0, 0), (0.6, 0.0, 0.8), 0.6, 1.0, Bar((-3.0 * 0.8, 0, 3.0 * 0.6),
                    (3.0 * 0.8, 0, -3.0 * 0.6), 6.0, 0.2))  # fmt: skip
    left, right = front(leaning, (-2, 0.0), (2, 0.0))
    assert left == pytest.approx(2 * 0.75 + 0.625, abs=0.01)
    assert right == pytest.approx(-2 * 0.75 + 0.625, abs=0.01)


def test_boxes_and_breadths() -> None:
    low, high = body(BEAD).box
    assert (*low, *high) == (-4, -3, 6, 7)
    low, high = body(FLAT).box
    assert (*low, *high) == pytest.approx((-2, -2, 8, 2))
    # A strand half as broad as the ball, half way out, covers it; along the bar one of its width.
    assert body(BEAD).breadth == 5
    away = np.linalg.norm(body(BEAD).spine[:, :2] - np.array([1, 2]), axis=1)
    assert away == pytest.approx(2.5)
    assert body(BEAD).spine[:, 2] == pytest.approx(3 + 2.5)
    assert body(FLAT).breadth == pytest.approx(4)
    spine = body(FLAT).spine
    assert spine[:, 1:] == pytest.approx(np.array([[0, 5]] * len(spine)), abs=1e-6)
    assert spine[:, 0].max() - 3 == pytest.approx(3 - spine[:, 0].min())
    assert spine[:, 0].max() == pytest.approx(5.5, abs=0.1)
    marks = body(BEAD).marks()
    assert marks[-1] == pytest.approx([1, 2])
    assert len(body(FLAT).marks()) > len(spine)


def test_strokes_of_a_ball() -> None:
    # On a page that begins at (-9, 9), 2 px a mm: (1, 2) is 10 mm in and 7 down.
    outline, inner, light = body(BEAD).strokes(TONE, -9.0, 9.0, 2.0)
    for one, r, colour in ((outline, 100, "#111"), (inner, 96, "#ccc"), (light, 30, "#fff")):
        assert numbers(one, "r") == pytest.approx(r, abs=0.6)
        assert f'fill="{colour}"' in one
    assert (numbers(outline, "cx"), numbers(outline, "cy")) == (200, 140)
    assert (numbers(light, "cx"), numbers(light, "cy")) == (165, 105)  # up to the left
    plain = body(BEAD).strokes(Tone("#111", "#ccc", "", 0.1), -9.0, 9.0, 2.0)
    assert 'fill="#ccc"' in plain[2]


@pytest.mark.parametrize(
    ("normal", "cx", "turn"), [((0.6, 0.0, 0.8), 248, 0), ((-0.6, 0.0, -0.8), 248, 0)]
)
def test_the_mouth_of_a_hole_is_on_the_side_of_the_eye(
    normal: tuple[float, float, float], cx: float, turn: float
) -> None:
    part = Round((1.0, 2.0, 3.0), normal, 3.5, 1.0, Ball(10.0, 6.0))
    *_, mouth = body(part).strokes(TONE, -9.0, 9.0, 2.0)
    # A hole of 3 to all sides in a ball of 5 ends 4 from its middle; seen aslant it is 8 in 10
    # narrower, to the right.
    assert (numbers(mouth, "rx"), numbers(mouth, "ry")) == (48, 60)
    assert (numbers(mouth, "cx"), numbers(mouth, "cy")) == (cx, 140)
    assert abs(float(re.findall(r"rotate\((-?\d+)", mouth)[0])) in (turn, 180)
    up = Round((1.0, 2.0, 3.0), (0.0, 0.6, 0.8), 3.5, 1.0, Ball(10.0, 6.0))
    assert (
        abs(float(re.findall(r"rotate\((-?\d+)", body(up).strokes(TONE, -9.0, 9.0, 2.0)[3])[0]))
        == 90
    )
    assert len(body(BEAD).strokes(TONE, -9.0, 9.0, 2.0)) == 3  # from the side there is none


def test_strokes_of_a_bar() -> None:
    rim, inner = body(FLAT).strokes(TONE, -9.0, 9.0, 2.0)
    assert (numbers(rim, "stroke-width"), numbers(inner, "stroke-width")) == (20, 16)
    assert 'fill="#111" fill-rule="evenodd" stroke="#111"' in rim
    assert 'fill="#ccc" fill-rule="evenodd" stroke="#ccc"' in inner
    outer, hole = re.findall(r"M([^z]*)z", rim)
    xs, ys = np.array([xy.split() for xy in outer.split("L")], float).T
    # 20 tenths a mm: from -1.5 to 7.5 along and 1.5 to both sides.
    assert (xs.min(), xs.max(), ys.min(), ys.max()) == (150, 330, 150, 210)
    xs, ys = np.array([xy.split() for xy in hole.split("L")], float).T
    assert (xs.min(), xs.max(), ys.min(), ys.max()) == (150, 210, 150, 210)
