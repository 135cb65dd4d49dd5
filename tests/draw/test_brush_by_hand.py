"""Strokes of rings and arrows, worked out by hand; lengths in tenths of a pixel."""

from __future__ import annotations

import re
from dataclasses import replace
from math import cos, hypot, pi, sin

import numpy as np
import pytest
from depth import subpaths

from ringstep.draw.brush import Flat, Tone, _path, behind, flat, head_arcs, painted
from ringstep.draw.strands import ARCS, Strand, scene

GREY = Tone("#333", "#ccc", "#fff", 0.1)
RED = Tone("#fff", "#a00", "", 0.2)
#: A ring of 1000 about (5000, 4000), its wire 200 wide.
RING = Flat(5000, 4000, 1000, 0, 0, -1000, 0.0, 2 * pi / ARCS, True, ARCS, False, False, 200)
#: Half of it as an arc, from the right over the top to the left.
ARC = replace(RING, pace=pi / ARCS, closed=False)


def ring(x: float = 0.0, y: float = 0.0, z: float = 0.0, wire: float = 1.0) -> Strand:
    return Strand(np.array([x, y, z]), np.array([4.0, 0, 0]), np.array([0, 4.0, 0]), wire)


def numbers(text: str) -> list[float]:
    return [float(x) for x in re.findall(r"-?[\d.]+", text)]


# -- strands on the page ------------------------------------------------------------------------


def test_a_strand_is_put_on_the_page() -> None:
    tilted = Strand(
        np.array([3.0, 4.0, 9.0]), np.array([2.0, 0.5, 0.0]), np.array([0.25, 1.0, 5.0]), 0.9, 1.0
    )
    # The page begins at 1 mm from the left and 10 mm up; 2 px are 20 tenths a mm; y goes down.
    seen = flat(tilted, False, False, 1.0, 10.0, 2.0)
    assert (seen.x, seen.y) == (40, 120)
    assert (seen.ux, seen.uy, seen.vx, seen.vy) == (40, -10, 5, -20)
    assert (seen.start, seen.pace, seen.last) == (1.0, 2 * pi / 48, 48)
    assert (seen.closed, seen.bar, seen.broad) == (True, False, 18)
    assert not seen.narrow  # it looks 1.03 mm wide, the wire is 0.9 mm
    assert flat(replace(tilted, wire=1.2), False, False, 1.0, 10.0, 2.0).narrow
    assert not flat(ring(wire=4.0), False, False, 1.0, 10.0, 2.0).narrow
    assert not flat(replace(tilted, wire=1.2, span=3.0), False, False, 1.0, 10.0, 2.0).narrow
    assert flat(tilted, True, False, 1.0, 10.0, 2.0).bar
    level = replace(seen, start=0.0)
    assert level.at(0) == (40 + 40, 120 - 10)
    assert level.at(12) == pytest.approx((40 + 5, 120 - 20))  # a quarter of the way
    assert level.at(24) == pytest.approx((0, 130))


def test_the_head_of_an_arrow_takes_as_many_arcs_as_it_is_long() -> None:
    # An arc of 4.8 mm about 4 mm, 0.1 mm an arc; the head is 3.2 wires of 0.25 mm long: 8 arcs.
    way = replace(ring(wire=0.25), span=1.2)
    assert head_arcs(way) == pytest.approx(8)
    assert head_arcs(replace(way, span=0.12)) == 24  # of a short arrow it takes half
    assert flat(way, False, True, 0, 0, 1).last == pytest.approx(
        48 - 0.7 * 8
    )  # in it the shaft ends
    assert flat(way, False, False, 0, 0, 1).last == 48


# -- paths --------------------------------------------------------------------------------------


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize(
    ("first", "last"), [(0, 48), (-3.5, 44.5), (5, 53), (0, 6), (0, 5), (11.9, 12.1), (20, 47.5)]
)
def test_a_stretch_runs_along_its_ring(first: float, last: float, narrow: bool) -> None:
    path = _path(replace(RING, narrow=narrow), first, last)
    ((points, shut),) = subpaths(path)
    assert shut == (last - first >= 48)
    x, y = (10 * points - (5000, 4000)).T
    assert np.hypot(x, y) == pytest.approx(1000, rel=0.003)
    turned = np.unwrap(np.arctan2(-y, x))
    assert np.all(np.diff(turned) > 0)  # without turning back
    assert turned[-1] - turned[0] == pytest.approx((last - first) * 2 * pi / 48, abs=0.002)
    for at, arc in ((0, first), (-1, last)):
        assert 10 * points[at] == pytest.approx(RING.at(arc), abs=0.6)


def kinds(path: str) -> str:
    """Its curves in order: q of one handle, c of two, s of a second one, l straight."""
    found = ""
    for letter, told in re.findall(r"([lqcs])([^lqcsz]*)", path):
        found += letter * (len(numbers(told)) // {"l": 2, "q": 4, "s": 4, "c": 6}[letter])
    return found


def test_a_ring_is_four_quarters_and_a_short_stretch_has_one_handle() -> None:
    assert kinds(_path(RING, 0, 48)) == "csss"
    assert kinds(_path(RING, 0, 24)) == "cs"
    assert kinds(_path(RING, 0, 12)) == "c"
    assert kinds(_path(RING, 0, 5)) == "q"  # 0.65 of the radius; one handle is good to 0.75
    assert kinds(_path(RING, 0, 6)) == "c"
    assert kinds(_path(replace(RING, pace=0.75 / 48), 0, 48)) == "q"
    assert kinds(_path(RING, 9, 15)) == "qq"  # parted at the quarter
    assert (
        kinds(_path(RING, 6, 18)) == "cs"
    )  # the same, longer; the second begins as the first ends
    assert kinds(_path(RING, 6, 30)) == "ccc"  # an eighth, a quarter, an eighth of the ring


def test_a_narrow_ring_is_parted_on_both_sides_of_its_tips() -> None:
    flat_ring = replace(RING, vy=-50, narrow=True)
    # From the right: to 0.35, to the quarter, to 0.35 before the left tip; 0.7 across the tip,
    # which is parted in its middle; and back the same way.
    assert kinds(_path(flat_ring, 0, 48)) == "qcsqqcsq"
    tips = [0.35, pi - 0.35, pi + 0.35, 2 * pi - 0.35]
    ((points, _),) = subpaths(_path(flat_ring, 0, 48))
    ends = 10 * points[::16]
    for turn in tips:
        spot = (5000 + 1000 * cos(turn), 4000 - 50 * sin(turn))
        assert min(hypot(x - spot[0], y - spot[1]) for x, y in ends) < 1


def test_a_ring_seen_from_its_edge_is_a_straight_bar() -> None:
    bar = replace(RING, vy=-10, narrow=True, bar=True)
    assert _path(bar, 0, 48) == "M6000 4000l-2000 0 2000 0z"
    assert kinds(_path(bar, 12, 36)) == "ll"


def test_an_arc_ends_where_it_ends_and_nothing_has_no_path() -> None:
    ((points, shut),) = subpaths(_path(ARC, -5, 60))
    assert not shut
    assert 10 * points[0] == pytest.approx((6000, 4000))
    assert 10 * points[-1] == pytest.approx((4000, 4000))
    ((points, _),) = subpaths(_path(replace(ARC, last=24), -5, 60))
    assert 10 * points[-1] == pytest.approx((5000, 3000))
    assert _path(ARC, 0.0, 48.0).endswith("z") is False
    assert _path(ARC, 5, 5) == _path(ARC, 6, 5) == _path(replace(ARC, last=4), 5, 9) == ""
    assert _path(RING, 0, 47.9)[-1] != "z"


# -- coats --------------------------------------------------------------------------------------


def drawn(*strands: Strand, tone: Tone = GREY, heads: bool = False, scale: float = 10.0,
          marks: dict[int, str] | None = None) -> tuple[list[str], list[str]]:  # fmt: skip
    seen = scene(strands)
    flats = [flat(s, False, heads, -9.0, 9.0, scale) for s in strands]
    return painted(seen, flats, [tone] * len(strands), [heads] * len(strands), (), marks)


def test_a_ring_has_an_outline_a_body_and_a_light() -> None:
    defs, paint = drawn(ring())
    # 1 mm of wire is 100 tenths wide, its outline 10 on each side; the light is 34 wide and lies
    # 7 to the left of the middle and 9 above it.
    assert [re.sub(r' d="[^"]*"', "", one) for one in defs] == ['<path id="@0"/>']
    assert paint == [
        '<use href="#@0" stroke="#333" stroke-width="100"/>',
        '<use href="#@0" stroke="#ccc" stroke-width="80"/>',
        '<use href="#@0" x="-7" y="-9" stroke-linecap="square" stroke="#fff" stroke-width="34"/>',
    ]
    assert [numbers(one)[-1] for one in drawn(ring(), tone=RED)[1]] == [100, 60]  # has no light
    thin = [numbers(one)[-1] for one in drawn(ring(), scale=0.01)[1]]
    assert thin == [1, 1, 1]  # nothing is thinner than a tenth of a pixel
    assert drawn(ring(), marks={0: "A & 1"})[1][0] == '<g data-ring="A &amp; 1">'
    assert drawn(ring(), marks={0: "A"})[1][-1] == "</g>"
    assert drawn(ring(), marks={1: "A"})[1] == paint


def test_rings_that_do_not_touch_are_painted_together_and_linked_ones_in_turn() -> None:
    defs, paint = drawn(ring(), ring(x=20))
    assert (len(defs), len(paint)) == (1, 3)
    assert defs[0].count("z") == 2
    assert len(drawn(ring(), ring(x=20), marks={0: "A"})[0]) == 2  # one of them is to be known
    through = Strand(np.array([4.0, 0, 0]), np.array([4.0, 0, 0]), np.array([0, 1.5, 3.7]), 1.0)
    defs, paint = drawn(ring(), through)
    assert len(defs) == 3
    # The last is a mend: its body runs on a little over its outline at both ends.
    outline = subpaths(re.findall(r'<path d="([^"]*)" stroke="#333"', "".join(paint))[0])[0][0]
    body = subpaths(re.findall(r' d="([^"]*)"', defs[2])[0])[0][0]
    along = 0.15 * 2 * pi / 48 * 400 / 10  # px, of an arc of a ring seen from the front
    for end in (0, -1):
        assert 0.4 * along < np.linalg.norm(outline[end] - body[end]) < 1.2 * along
    more = [np.linalg.norm(np.diff(line, axis=0), axis=1).sum() for line in (outline, body)]
    assert more[1] - more[0] > along


# -- arrows -------------------------------------------------------------------------------------


def test_the_head_of_an_arrow_points_along_its_end() -> None:
    way = replace(ring(wire=0.25), span=1.2)
    _, paint = drawn(way, tone=RED, heads=True)
    rim, inner = re.findall("<[^>]*>", paint[-1])
    assert rim.startswith('<path d="M')
    assert ' fill="#fff" stroke="#fff" stroke-width="12"/>' in rim  # half of 25
    assert inner.endswith(' fill="#a00"/>')
    one, tip, two = np.array(numbers(re.findall(r' d="([^"]*)"', inner)[0])).reshape(3, 2)
    on = flat(way, False, True, -9.0, 9.0, 10.0)
    assert tip == pytest.approx(on.at(48), abs=0.6)
    foot = (one + two) / 2
    assert foot == pytest.approx(on.at(40), abs=0.6)
    assert np.linalg.norm(one - foot) == pytest.approx(1.35 * 25, abs=0.8)
    assert abs((tip - foot) @ (one - two)) < 100  # square to it, but for rounding
    # To the left of its way, as it is seen, lies the first corner; y goes down.
    ahead, aside = tip - foot, one - foot
    assert ahead[0] * aside[1] - ahead[1] * aside[0] > 0
    assert len(paint) == 3  # an outline and a body of the shaft, and the head


def test_an_arrow_that_is_hidden_is_told_by_dashes() -> None:
    way = replace(ring(wire=0.25), span=1.2)
    on = flat(way, False, True, -9.0, 9.0, 10.0)
    seen = np.zeros(ARCS, bool)
    assert behind(on, way, seen, RED) == []
    middle = seen.copy()
    middle[20:24] = True
    (dashes,) = behind(on, way, middle, RED)
    assert ' stroke="#a00" stroke-width="12" stroke-dasharray="26 24"/>' in dashes
    ((points, _),) = subpaths(re.findall(r' d="([^"]*)"', dashes)[0])
    assert 10 * points[0] == pytest.approx(on.at(0), abs=0.6)
    assert 10 * points[-1] == pytest.approx(on.at(on.last), abs=0.6)
    # The head is its last 8 arcs: told as well, in the colours turned, where most of it is hidden.
    for hidden, told in ((3, 1), (4, 1), (5, 2), (8, 2)):
        tail = seen.copy()
        tail[40 : 40 + hidden] = True
        assert len(behind(on, way, tail, RED)) == told
    assert 'fill="#fff"/>' in behind(on, way, ~seen, RED)[1]
