"""Small pictures on paper, and how large each is printed, worked out by hand."""

from __future__ import annotations

import re
from math import hypot

import pytest
from helpers import EUROPEAN, SIMPLE, view

from ringstep.paper import finished as finished_piece
from ringstep.paper import panel, signs
from ringstep.paper.film import Scene
from ringstep.paper.finished import Lying, finished, rule, true_rings
from ringstep.paper.handout_steps import sized
from ringstep.space.state import Round
from ringstep.weave.work import Ring

# -- signs -----------------------------------------------------------------------------------------


def corners(drawing: str) -> list[tuple[float, ...]]:
    """The corners of a polygon."""
    (points,) = re.findall(r'points="([^"]*)"', drawing)
    return [tuple(map(float, pair.split(","))) for pair in points.split()]


@pytest.mark.parametrize(("x", "y"), [(1, 0), (0, 1), (-1, 0), (0.6, 0.8), (0.8, -0.6)])
def test_signs_have_arrows_whose_head_is_7_long_and_8_wide_and_points_along(
    x: float, y: float
) -> None:
    tip, left, right = corners(signs._head(20, 10, x, y))
    assert tip == (20, 10)
    middle = [(a + b) / 2 for a, b in zip(left, right, strict=True)]
    assert middle == pytest.approx([20 - 7 * x, 10 - 7 * y], abs=0.06)
    across = [b - a for a, b in zip(left, right, strict=True)]
    assert hypot(*across) == pytest.approx(8, abs=0.1)
    assert across[0] * x + across[1] * y == pytest.approx(0, abs=0.1)


def test_signs_are_8_mm_wide_and_as_much_larger_as_pictures_are() -> None:
    assert 'width="22.7pt" height="22.7pt"' in signs.drawn("fold", "fold back")  # 8 x 72 / 25.4
    assert 'width="34.0pt" height="34.0pt"' in signs.drawn("fold", "fold back", 1.5)
    assert 'width="34.0pt"' in signs.shown(signs.again(1200), 1.5)
    assert 'width="22.7pt"' in signs.shown(signs.again(1200))
    shown = signs.shown(signs.again(1200))
    assert 'aria-label="sign: 1,200 times"' in shown
    assert shown.endswith("<span>1,200 ×</span></span>")
    times = signs.shown(signs.Sign("times", "2 ×"))
    assert times == '<span class="sign times"><b>2 ×</b></span>'
    assert 'width="71pt" height="51pt"' in signs.hands("grip", "Grip it.", 25)  # 100 to 72
    assert 'aria-label="Grip it."' in signs.hands("grip", "Grip it.", 25)


def test_signs_are_made_of_lines_and_jaws() -> None:
    assert signs._line("M1 2 V3") == '<path d="M1 2 V3"/>'
    assert signs._line("M1 2 V3", 'stroke="#8c8c8c"') == '<path d="M1 2 V3" stroke="#8c8c8c"/>'
    assert re.findall(r'points="([^"]*)"', signs._jaws("1,2 3,4", "5,6 7,8")) == [
        "1,2 3,4",
        "5,6 7,8",
    ]


# -- panels ----------------------------------------------------------------------------------------


def drawing(wide: float, high: float, words: str = "after step 1") -> str:
    """A picture of real rings of so many pixels."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:g}" height="{high:g}"'
        f' viewBox="0 0 {wide:g} {high:g}">\n<title>t</title>\n<desc>{words}</desc><g/></svg>\n'
    )


def scene(earlier: str, later: str, other: str = "", side: str = "") -> Scene:
    return Scene(1, "start", "Do.", True, other, earlier, later, side=side)  # type: ignore[arg-type]


def test_panel_puts_a_picture_on_paper_by_mm_to_a_pixel() -> None:
    assert panel.size_of(drawing(200, 100)) == (200, 100)
    assert panel.size_of("<p>none</p>") == (0, 0)
    told = panel.sized_rings(drawing(200, 100), 0.1)  # 20 by 10 mm
    assert 'width="57pt" height="28pt" viewBox="0 0 200 100">' in told
    assert 'aria-label="the real rings after step 1"' in told
    assert told.endswith("<g/></svg>")
    assert "title" not in told
    assert panel.sized_rings("<p>none</p>", 0.1) == ""
    assert panel.labelled(drawing(200, 100), 0.1, "").count("span") == 2
    assert panel.labelled(drawing(200, 100), 0.1, "before").endswith(
        '<span class="quiet">before</span></span>'
    )


def test_panel_takes_the_room_there_is_but_for_gaps_and_is_46_mm_high_at_most() -> None:
    """Two pictures of 200 pixels in 100 mm, less 3.5 mm each: 93 / 400. One of 400 high: 46 / 400,
    in print that is twice as large 92 / 400."""
    two = panel.Panel(scene(drawing(200, 100), drawing(200, 80)))
    assert two.most(100) == pytest.approx(93 / 400)
    assert two.most(100, 2) == pytest.approx(93 / 400)
    tall = panel.Panel(scene("", drawing(100, 400)))
    assert tall.most(100) == pytest.approx(46 / 400)
    assert tall.most(100, 2) == pytest.approx(92 / 400)
    assert panel.Panel(scene("", "<svg/>")).most(30) == pytest.approx(26.5)
    assert panel.Panel(scene("", "<svg/>")).most(100) == 46


def test_panel_has_one_scale_with_all_others() -> None:
    """The widest ring has 110 pixels and is 25 mm wide at most. Beside another at least 16 mm, or
    the panel stands alone."""
    small = panel.Panel(scene("", drawing(110, 80)))
    assert panel.scale_of([small], 80, 170, 1) == pytest.approx(25 / 110)
    assert panel.scale_of([small], 80, 170, 1.5) == pytest.approx(37.5 / 110)
    assert panel.scale_of([], 80, 170, 1) == pytest.approx(25 / 110)
    two = panel.Panel(scene(drawing(200, 100), drawing(200, 100)))
    assert panel.scale_of([two, small], 70, 170, 1) == pytest.approx(63 / 400)  # 17.3 mm a ring
    assert panel.scale_of([two, small], 60, 83, 1) == pytest.approx(76 / 400)  # would be 14.6 mm
    assert panel.scale_of([small, two], 70, 97, 1.5) == pytest.approx(90 / 400)  # least is 24 mm


def test_panel_says_under_each_picture_what_it_is() -> None:
    one, two = drawing(9, 9), drawing(8, 8)
    assert panel.Panel(scene("", one)).shown == [(one, "")]
    assert panel.Panel(scene(one, two)).shown == [(one, "before"), (two, "after")]
    fewer = scene(two, one, "fewer")
    assert panel.Panel(scene(one, two), (fewer,)).shown[2:] == [(two, "the first time")]
    assert panel.Panel(scene(one, two), (fewer,), True).shown[2:] == [(two, "at the edge")]
    side = scene("", one, "side", "back")
    assert panel.Panel(scene(one, two, side="front"), (side,)).shown == [
        (one, "in from the front"), (two, "after"), (one, "in from the back"),
    ]  # fmt: skip
    told = panel.Panel(scene(one, two)).html(1)
    assert told.startswith('<figure class="panel">')
    assert re.findall(r'width="(\d+)pt"|>(before|after)<', told) == [
        ("26", ""), ("", "before"), ("23", ""), ("", "after"),
    ]  # fmt: skip


def test_handout_steps_show_a_diagram_no_larger_than_there_is_room() -> None:
    """100 by 50 points at 1.2 are 42.3 mm wide; in 30 mm, or 12 mm high, it is smaller."""
    svg = '<svg class="d" width="100pt" height="50pt"><svg width="1pt" height="1pt"/></svg>'
    told, wide = sized(svg, 1.2, 80)
    assert '<svg class="d" width="120pt" height="60pt"><svg width="1pt"' in told
    assert wide == pytest.approx(42.33, abs=0.01)
    told, wide = sized(svg, 1.2, 30)
    assert 'width="85pt" height="43pt"' in told
    assert wide == pytest.approx(30)
    told, wide = sized(svg, 1.2, 80, 12)
    assert 'width="68pt" height="34pt"' in told
    assert wide == pytest.approx(24)
    assert sized("<p/>", 1.2, 80) == ("<p/>", 80)


# -- the finished piece ----------------------------------------------------------------------------


def test_finished_rings_at_true_size_have_a_mm_for_a_mm() -> None:
    """5 mm inside, wire 1.2 mm: 7.4 mm across with half a mm round it, the wire's middle at 3.1."""
    told = true_rings([("A", 1.2, 5), ("<b>", 1, 4)])
    assert 'width="23.81pt" height="23.81pt" viewBox="0 0 8.4 8.4"' in told  # 8.4 x 72 / 25.4
    assert '<circle cx="4.200" cy="4.200" r="3.100"' in told
    assert 'stroke-width="1.200"' in told
    assert 'aria-label="A at true size: inside 5 mm, wire 1.2 mm"' in told
    assert "<span>&lt;b&gt;: inside 4 mm, wire 1 mm</span>" in told
    assert told.count('<span class="true">') == 2


def test_finished_pages_have_a_rule_with_a_stroke_for_each_mm() -> None:
    told = rule(20)
    strokes = re.findall(r'<path d="M(\d+) 0 V(\d)"/>', told)
    assert [int(x) for x, _ in strokes] == [*range(1, 22)]
    assert {int(x) - 1 for x, long in strokes if long == "4"} == {0, 10, 20}
    assert {int(x) - 1 for x, long in strokes if long == "3"} == {5, 15}
    assert {long for _, long in strokes} == {"2", "3", "4"}
    assert re.findall(r'<text x="(\d+)" .*?>(\d+)</text>', told) == [
        ("1", "0"), ("11", "10"), ("21", "20"),
    ]  # fmt: skip
    assert 'width="68.03pt" height="22.68pt" viewBox="0 0 24 8"' in told
    assert 'aria-label="a rule of 20 mm"' in told


UPRIGHT = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def row_of(count: int, dx: float, dy: float) -> Lying:
    """Rings 7 mm across, so many mm apart."""
    return [
        (Ring("A", 1, 0, n), Round((n * dx, n * dy, 0.0), (0.0, 0.0, 1.0), 3.0, 1.0))
        for n in range(count)
    ]


@pytest.mark.parametrize(("dx", "dy"), [(5, 0), (-5, 0), (0, 5), (0, -5), (5, 5)])
def test_finished_pictures_show_what_lies_wholly_within_so_many_mm(dx: float, dy: float) -> None:
    """Ring 3 ends 15 + 3.5 mm from the middle of the first, which begins 3.5 mm before it."""
    rings = row_of(6, dx, dy)
    wide, high = (22.0 if d else 7.0 for d in (dx, dy))
    assert finished_piece._within(rings, UPRIGHT, wide, high) == rings[:4]
    assert finished_piece._within(rings[::-1], UPRIGHT, wide, high) == rings[3::-1]
    less = [size - 0.1 * bool(d) for size, d in ((wide, dx), (high, dy))]
    assert finished_piece._within(rings, UPRIGHT, *less) == rings[:3]
    assert finished_piece._within(rings, UPRIGHT, 6, 6) == rings[:1]


def drawn_of(
    text: str, rings: Lying, monkeypatch: pytest.MonkeyPatch
) -> list[tuple[int, object, list[int], str, float]]:
    """What is drawn of a finished piece: how many rings, from where, kinds, words and scale."""
    seen: list[tuple[int, object, list[int], str, float]] = []

    def picture(
        rings: list[Round], turn: object, kinds: list[int], words: str, scale: float
    ) -> str:
        seen.append((len(rings), turn, kinds, words, scale))
        return words

    monkeypatch.setattr(finished_piece, "picture", picture)
    told = finished(view(text), rings, UPRIGHT)
    assert told is not None
    assert (told.large, told.strip, told.pixels) == (seen[0][3], seen[1][3], 12)
    return seen


def test_finished_chains_stand_upright_large_and_lie_along_at_true_size(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """7 rings of 7 mm are 49 mm, in which 9 rings 5 mm apart lie (40 + 7); in 60 mm are 11."""
    rings = row_of(30, 0, 5)
    large, strip = drawn_of(SIMPLE, rings, monkeypatch)
    assert large == (9, UPRIGHT, [0] * 9, "a stretch of the finished piece", 110 / 7)
    lying = ((0.0, 1.0, 0.0), (-1.0, -0.0, -0.0), (0.0, 0.0, 1.0))
    assert strip == (11, lying, [0] * 11, "the same at true size", 12)
    assert finished(view(SIMPLE), [], UPRIGHT) is None


def test_finished_sheets_are_shown_in_a_window(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rings of 7 mm, 5 mm apart both ways: 40.95 by 31.5 mm hold 7 by 5, 60 by 34 mm 11 by 6."""
    rings = [
        (Ring("A", 1, row, unit), Round((5.0 * unit, -5.0 * row, 0), (0, 0, 1), 3.0, 1.0))
        for row in range(20)
        for unit in range(20)
    ]
    large, strip = drawn_of(EUROPEAN, rings, monkeypatch)
    assert (large[0], large[1]) == (7 * 5, UPRIGHT)
    assert (strip[0], strip[1]) == (11 * 6, UPRIGHT)


def test_finished_pieces_of_two_kinds_are_shaded_by_kind_in_the_scale_of_the_widest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    text = SIMPLE.replace("add A", "add B").replace("prev A", "prev B if there")
    wide = (Ring("B", 1, 0, 2), Round((0.0, 10.0, 0.0), (0.0, 0.0, 1.0), 4.0, 2.0))
    large, strip = drawn_of(text, [*row_of(2, 0, 5), wide], monkeypatch)
    assert large[2] == strip[2] == [0, 0, 1]
    assert large[4] == 11  # 110 pixels for 10 mm
    assert strip[4] == 12
