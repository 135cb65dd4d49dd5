"""Pages of pictures of real rings: how large, what has room on them, in px worked out by hand."""

from __future__ import annotations

import re
from dataclasses import replace
from math import pi

import heaps
import numpy as np
import pytest

from ringstep.draw.arrows import Arrow
from ringstep.draw.rings import _beside, after, before, mark_of, picture
from ringstep.draw.strands import Strand
from ringstep.space.state import Ball, Round
from ringstep.weave.work import Ring

FRONT = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def ring(x: float = 0.0, y: float = 0.0, z: float = 0.0, radius: float = 4.0) -> Round:
    return Round((x, y, z), (0.0, 0.0, 1.0), radius, 1.0)


def page(svg: str) -> list[float]:
    """Left, top, width and height in px."""
    return [int(x) / 10 for x in re.findall(r'viewBox="([^"]*)"', svg)[0].split()]


def test_a_page_is_as_large_as_its_rings() -> None:
    # 4 mm to the middle of the wire and 0.56 of it, to both sides, at 10 px a mm.
    assert page(picture([ring()], FRONT, scale=10)) == [0, 0, 91.2, 91.2]
    assert page(picture([ring(), ring(x=20, y=3)], FRONT, scale=10)) == [0, 0, 291.2, 121.2]
    svg = picture([ring()], FRONT, scale=10)
    assert 'width="91" height="91"' in svg
    # The largest ring is 92 px across where no scale is given: 9 mm, 10.22 px a mm.
    assert page(picture([ring(), ring(radius=2)], FRONT)) == pytest.approx([0, 0, 93.2, 93.2])
    assert page(picture([Round((0, 0, 0), (1.0, 0, 0), 4.0, 1.0)], FRONT, scale=10)) == [
        0, 0, 11.2, 91.2,
    ]  # fmt: skip
    bead = Round((0, 0, 0), (1.0, 0, 0), 1.5, 1.0, Ball(5.0, 1.0))
    assert page(picture([bead], FRONT, scale=10)) == [0, 0, 50, 50]
    assert page(picture([bead], FRONT)) == [0, 0, 92, 92]
    assert page(picture([bead, ring(x=20)], FRONT, scale=10)) == [0, 0, 270.6, 91.2]


def test_a_page_has_room_for_arrows_and_their_heads() -> None:
    # An arrow of 0.4 mm on the right half of a circle of 5 mm about (10, 0); its head is wider than
    # its shaft, so that two wires more are left free on all sides: to 15.8 on the right.
    way = Strand(
        np.array([10.0, 0, 0]), np.array([5.0, 0, 0]), np.array([0, 5.0, 0]), 0.4, -pi / 2, pi
    )
    svg = picture([ring()], FRONT, arrows=[Arrow(way)], scale=10)
    assert page(svg) == pytest.approx([0, 0, 45.6 + 158, 2 * 58], abs=0.1)
    # A quarter of it, from its lowest point to its right one, and 10 mm higher up.
    way = replace(way, centre=np.array([10.0, 10, 0]), span=pi / 2)
    svg = picture([ring()], FRONT, arrows=[Arrow(way)], scale=10)
    assert page(svg) == pytest.approx([0, 0, 45.6 + 158, 45.6 + 108], abs=0.1)


def test_names_have_room_and_what_they_leave_of_it_is_cut_off() -> None:
    svg = picture([ring()], FRONT, names={0: "A"}, scale=10)
    left, top, wide, high = page(svg)
    # 85 px of room on all sides to begin with; two px beside ring and name are left of it.
    assert 0 < left <= 83
    assert 0 < top <= 83
    assert 91.2 + 4 <= wide < 91.2 + 85
    assert 91.2 + 4 <= high < 91.2 + 85
    assert (left == pytest.approx(83)) + (left + wide == pytest.approx(85 + 91.2 + 2)) >= 1
    assert (top == pytest.approx(83)) + (top + high == pytest.approx(85 + 91.2 + 2)) >= 1
    assert picture([ring()], FRONT, names={5: "A"}, scale=10).count("<text") == 0


def test_what_lies_outside_of_the_frame_is_left_out() -> None:
    def drawn(x: float, y: float = 0.0) -> int:
        return picture([ring(), ring(x=x, y=y)], FRONT, frame=[ring()], scale=10).count("z")

    # The page ends 4.56 mm from the middle; a ring that begins there is not drawn.
    assert [drawn(x) for x in (9.11, 9.13, -9.11, -9.13)] == [2, 1, 2, 1]
    assert [drawn(0, y) for y in (9.11, 9.13, -9.11, -9.13)] == [2, 1, 2, 1]
    bead = Round((0, 0, 0), (1.0, 0, 0), 1.5, 1.0, Ball(5.0, 1.0))
    away = Round((30, 0, 0), (1.0, 0, 0), 1.5, 1.0, Ball(5.0, 1.0))
    assert page(picture([ring(), bead, away], FRONT, frame=[ring(), bead], scale=10))[2] == 91.2
    assert picture([ring(), bead, away], FRONT, frame=[ring()], scale=10).count("<circle") == 3


def test_tones() -> None:
    two = [ring(), ring(x=20)]
    body = {"there": "#dedede", "through": "#9a9a9a", "new": "#474747"}

    def used(**looks: object) -> set[str]:
        return set(re.findall(r'<use [^>]*stroke="(#\w+)"', picture(two, FRONT, scale=10, **looks)))  # type: ignore[arg-type]

    assert body["new"] in used(new=[0])
    assert body["there"] in used(new=[0])
    assert body["through"] not in used(new=[0])
    assert body["through"] in used(through=[1])
    assert body["new"] in used(new=[0], through=[0])
    assert used(tell=True) == {"#8c8c8c", "#dedede", "#f7f7f7"}
    assert used() == {"#333", "#c2c2c2", "#f4f4f4"}
    assert used(kinds=[1, 1]) == {"#333", "#929292", "#cfcfcf"}
    assert used(kinds=[4, 8]) == used()  # there are four tones
    assert used(kinds=[1, 5]) == used(kinds=[1, 1])


def test_marks_name_the_strokes_of_each_ring() -> None:
    work = heaps.state([ring(), ring(x=20)], [1], [])
    marks = re.findall(r'data-ring="([^"]*)"', after(work, FRONT, marked=True))
    assert set(marks) == {"R 0 0 0", "R 1 0 0"}
    assert "data-ring" not in after(work, FRONT)
    assert "data-ring" not in before(work, FRONT)
    assert set(re.findall(r'data-ring="([^"]*)"', before(work, FRONT, marked=True))) == {"R 0 0 0"}
    assert mark_of(Ring("A b", 2, 3, 4)) == "A b 2 3 4"
    some = picture([ring(), ring(x=20)], FRONT, marks={1: "only"})
    assert re.findall(r'data-ring="([^"]*)"', some) == ["only"]


def test_names_titles_and_words() -> None:
    work = heaps.state([ring(), ring(x=20)], [1], [])
    (one, _), (two, _) = work.rings
    for draw in (after, before):
        svg = draw(work, FRONT, names={one: "O", two: "T"}, title="Here", words="There", scale=10)
        assert "<title>Here</title>" in svg
        assert "<desc>There</desc>" in svg
        told = re.findall(r">([^<]+)</text>", svg)
        assert told == (["O", "T"] if draw is after else ["O"])
    assert "<title>" not in after(work, FRONT)
    assert "<desc>" not in before(work, FRONT)


def test_the_work_is_held_where_it_was_while_a_ring_is_moved() -> None:
    a, b, c = (Ring("R", n, 0, 0) for n in range(3))
    there = {a: ring(0, 0, 0), b: ring(2, 4, 6), c: ring(9, 9, 9)}
    here = {a: ring(1, 10, 0), b: ring(3, 14, 8), c: ring(20, 20, 20)}
    # a and b went on by 1, 10 and 1 in the middle, so all is put back by that.
    held = _beside(here, there, [c])
    assert [held[r].centre for r in (a, b, c)] == [(0, 0, -1), (2, 4, 7), (19, 10, 19)]
    assert _beside(here, there, [a, b, c]) == here  # nothing is held
    assert _beside(here, {}, []) == here


def test_of_several_new_rings_the_one_that_is_seen_best_has_the_arrow() -> None:
    flat = Round((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 4.0, 1.0)
    upright = Round((4.0, 0.0, 0.0), (0.0, 1.0, 0.0), 4.0, 1.0)
    lying = Round((0.0, 4.0, 0.0), (0.8, 0.0, 0.6), 4.0, 1.0)
    work = heaps.state([flat, upright, lying], [1, 2], [0])
    tilted = heaps.state([flat, lying], [1], [0])
    heads = [re.findall(r'<path d="([^"]*z)" fill="#a80c0c"', before(w, FRONT, scale=10))
             for w in (work, tilted)]  # fmt: skip
    assert len(heads[0]) >= 1
    assert heads[0] == heads[1]
    assert before(heaps.state([flat, upright], [1], []), FRONT).count("#a80c0c") == 0
