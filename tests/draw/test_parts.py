"""Bodies of parts in pictures of rings: what they hide, what hides them, where a ring goes in."""

from __future__ import annotations

import re
from itertools import product

import depth
import numpy as np
import pytest

from ringstep.draw.angle import turned
from ringstep.draw.rings import picture
from ringstep.space.bodies import linked
from ringstep.space.state import Ball, Bar, Round

SCALE = 10.0
SIZE = (400, 400)
THREAD = Round((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 4.0, 1.0)  # mm; the ring that goes through
BEAD = Round((4.0, 0.0, 0.0), (0.0, 1.0, 0.0), 1.5, 1.0, Ball(5.0, 1.4))
# 10 mm by 4 mm, 1 mm thick, its hole of 2 mm so far from its near end that its rim is 1 mm there
TAG = Round(
    (4.0, 0.0, 0.0), (0.0, 1.0, 0.0), 1.5, 1.0, Bar((0.0, 0.0, 0.0), (6.0, 0.0, 0.0), 4.0, 2.0)
)
LOOKS = [(0, 30), (35, 20), (-40, 50), (70, -15), (160, 25)]


def core(tag: Round) -> np.ndarray:
    """Points of a flat bar's middle plane where it is as far from all its rims as it is thick by
    half; the bar lies along x and z."""
    assert isinstance(tag.body, Bar)
    reach, hole = (tag.body.across - tag.wire) / 2, (tag.body.hole + tag.wire) / 2
    long = tag.body.far[0]
    kept = [
        (x, 0.0, z)
        for x, z in product(np.arange(-3, 9, 0.06), np.arange(-3, 3, 0.06))
        if np.hypot(x - np.clip(x, 0, long), z) <= reach and np.hypot(x, z) >= hole
    ]
    turn = np.linspace(0, 2 * np.pi, 200)[:, None]  # where that is no wider than a line
    rim = hole * np.concatenate([np.cos(turn), 0 * turn, np.sin(turn)], axis=1)
    return np.concatenate([np.array(kept), rim]) + np.array(tag.centre)


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("part", [BEAD, TAG], ids=["bead", "tag"])
def test_a_body_hides_what_lies_behind_and_is_hidden(part: Round, look: tuple[int, int]) -> None:
    """Against balls in a depth buffer: one for the bead, and a heap in the shape of the tag."""
    other = Round((9.0, 0.0, 3.1), (0.0, 0.0, 1.0), 4.0, 1.0)  # beside the work, before or behind
    rings, view = [THREAD, other], turned("piece", *look)
    svg = picture([THREAD, other, part], view, scale=SCALE)
    shown, offset = depth.painted_with_bodies(svg, rings, view, SCALE, SIZE)
    body = (np.array([part.centre]), 5.0) if part is BEAD else (core(part), 1.0)
    truth = depth.buffer(rings, view, SCALE, offset, SIZE, [body])
    wrong, drawn = depth.wrong(truth, shown)
    assert (truth == 2).sum() > 500  # the body is there
    # the ring bends within the bead's straight hole, which the plain ball does not have
    assert wrong / drawn < (0.015 if part is BEAD else 0.001)


def test_the_ring_is_seen_before_the_bead_and_behind_it() -> None:
    """Looked at along its hole a bead shows the ring in it; from the side it hides the ring."""
    for tip, least, most in ((0, 0.05, 0.35), (80, 0.0, 0.25)):
        view = turned("piece", 0, tip)
        svg = picture([THREAD, BEAD], view, scale=SCALE)
        shown, offset = depth.painted_with_bodies(svg, [THREAD], view, SCALE, SIZE)
        alone = depth.buffer([THREAD], view, SCALE, offset, SIZE)
        hidden = ((alone == 0) & (shown == 1)).sum() / (alone == 0).sum()
        assert least <= hidden <= most


def test_the_mouth_of_a_hole_is_drawn_on_the_side_of_the_eye_only() -> None:
    toward, across = turned("piece", 0, 70), turned("piece", 0, 0)
    assert picture([THREAD, BEAD], toward, scale=SCALE).count("<ellipse") == 1
    assert picture([THREAD, BEAD], across, scale=SCALE).count("<ellipse") == 0


def test_a_body_has_its_tone_and_its_name() -> None:
    view = turned("piece", 20, 30)
    svg = picture([THREAD, BEAD, TAG], view, new=[0], through=[1, 2], names={1: "bead", 2: "tag"})
    assert set(re.findall(r"<circle [^>]*fill=\"(#9a9a9a)\"", svg)) == {"#9a9a9a"}
    assert 'fill="#9a9a9a" fill-rule' in svg
    assert re.findall(r"<text[^>]*>([^<]*)", svg) == ["bead", "tag"]
    only = picture([BEAD], view)
    assert "<circle" in only  # a picture of nothing but a part


def test_the_hole_of_a_part_is_a_ring_to_what_goes_through() -> None:
    assert linked(BEAD, THREAD)
    assert linked(TAG, THREAD)
    assert not linked(TAG, Round((9.0, 0.0, 0.0), (0.0, 0.0, 1.0), 3.0, 1.0))
