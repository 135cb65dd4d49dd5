"""Diagrams beside the pictures of real rings: which way rows run, what lies outside, which side a
ring comes from; and names that can be read."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import combinations
from math import hypot

import numpy as np
import pytest
from helpers import EXAMPLES, LIBRARY, SPIRAL
from test_diagrams import WEAVES, shipped, view

from ringstep.checks.view import View
from ringstep.draw.angle import best_view
from ringstep.draw.diagrams import all_diagrams, chosen_acts, step_diagrams
from ringstep.draw.drawing import draw_all
from ringstep.draw.pictures import CAPTION, MARGIN, Diagram, label_size, text_width
from ringstep.paper.film import Shoot, scenes
from ringstep.space.states import states_of

PERSIAN = ["persian_6", "persian_linked", "persian_linked_written"]
SHEETS = [p for p in WEAVES if "\n  sheet " in (LIBRARY / f"{p}.weave").read_text(encoding="utf-8")]


@cache
def example(stem: str) -> tuple[View, tuple[Diagram, ...]]:
    """A shipped example with its diagrams."""
    seen = view((EXAMPLES / f"{stem}.weave").read_text(encoding="utf-8"))
    return seen, tuple(all_diagrams(seen))


# -- which way rows run --------------------------------------------------------------------------


def test_there_are_sheets_whose_rows_run_back_and_forth() -> None:
    ways = {stem: shipped(stem)[0].weave.layout.way(2) for stem in SHEETS}
    assert len(SHEETS) > 6
    assert set(ways.values()) == {1, -1}


@pytest.mark.slow
@pytest.mark.parametrize("stem", SHEETS)
def test_a_sheet_runs_the_same_way_in_diagrams_and_in_pictures_of_rings(stem: str) -> None:
    """The rings that a step joins lie to the same sides of one another in both."""
    seen, diagrams = shipped(stem)
    shown, acts, chosen = states_of(seen), seen.weave.work.acts, chosen_acts(seen.weave.work)
    right, up, _ = np.array(best_view(shown.states, "sheet"))
    compared = 0
    for state, scene in zip(shown.states, scenes(seen, shown, Shoot(both=False)), strict=True):
        if not scene.first:
            continue  # another place stands for the step
        act = acts[chosen[state.number]]
        diagram = next(d for d in diagrams if d.name == f"step-{state.number:02d}")
        drawn = {(*n.ring[:2], n.ring.row - act.row, n.ring.unit - act.unit): n.at
                 for n in diagram.nodes if not n.again}  # fmt: skip
        lying = {(*r[:2], r.row - state.row, r.unit - state.unit): np.array(at.centre)
                 for r, at in state.rings if r in (*state.new, *state.through)}  # fmt: skip
        wide = max(at.mean_radius for _, at in state.rings)
        for one, other in combinations(lying.keys() & drawn.keys(), 2):
            by = lying[other] - lying[one]
            flat = np.array([by @ right, by @ up])
            if np.linalg.norm(flat) > wide:  # rings that lie on one another lie to no side
                apart = np.array(drawn[other]) - np.array(drawn[one])
                cosine = flat @ apart / np.linalg.norm(flat) / np.linalg.norm(apart)
                assert cosine > 0.2, (state.number, one, other)
                compared += 1
    assert compared >= 2


@pytest.mark.parametrize("stem", SHEETS)
def test_in_the_window_row_1_is_on_top_and_unit_1_at_the_left(stem: str) -> None:
    """As in the pictures of real rings, which lay x along the row and y up, and in the chart."""
    window = next(d for d in shipped(stem)[1] if d.name == "window")
    places = [(n.ring.row, n.ring.unit, *n.at) for n in window.nodes if n.ring.unit > 0]
    row, unit, x, y = np.array(places).T
    assert np.corrcoef(row, y)[0, 1] < -0.9
    for number in set(row):
        own = row == number
        assert np.corrcoef(unit[own], x[own])[0, 1] > 0.8


# -- what lies outside ---------------------------------------------------------------------------


@pytest.mark.parametrize("stem", PERSIAN)
def test_side_rings_lie_outside_of_the_middle_pair(stem: str) -> None:
    unit = next(d for d in shipped(stem)[1] if d.name == "unit")
    own = {n.full.split(",")[0]: n.at[1] for n in unit.nodes if n.mark == "through"}
    high, low = max(own["S1"], own["S2"]), min(own["S1"], own["S2"])
    assert all(low < own[middle] < high for middle in ("M1", "M2"))
    assert high - low > 40


def test_a_pair_folded_back_onto_a_pair_as_wide_stays_as_it_was() -> None:
    unit = next(d for d in shipped("byzantine")[1] if d.name == "unit")
    assert len({round(n.at[1], 3) for n in unit.nodes}) == 2


# -- from which side -----------------------------------------------------------------------------


def sides(diagram: Diagram) -> set[tuple[str, str, str]]:
    """The links of a diagram that tell a side, in words, the ring that was open first."""
    full = {n.key: n.full for n in diagram.nodes}
    return {(full[x.a], full[x.b or ""], x.side) for x in diagram.lines if x.side}


def test_the_three_lays_of_a_weave_differ_in_the_steps_with_a_lay_and_nowhere_else() -> None:
    # Steps 3 and 8 of the recipe say 'lay varies'.
    seen = view((LIBRARY / "persian_linked.weave").read_text(encoding="utf-8"))
    each = {v: step_diagrams(seen, v) for v in ("calm", "mirror", "zigzag")}
    drawn = {v: draw_all(list(found.values()), "svg") for v, found in each.items()}

    def differ(one: str, other: str) -> set[str]:
        return {name for name in drawn[one] if drawn[one][name] != drawn[other][name]}

    assert differ("calm", "mirror") == {"step-03.svg", "step-08.svg"}
    # In turn begins in front, as calm does, and goes on behind.
    assert differ("calm", "zigzag") == {"step-08.svg"}
    assert differ("mirror", "zigzag") == {"step-03.svg", "step-08.svg"}
    assert sides(each["zigzag"][8]) == {
        *(("M2, start", other, "front") for other in ("H1, start", "H2, start", "M1, start")),
        *(("M2, unit 1", other, "back") for other in ("S1, start", "S2, start", "M1, unit 1")),
    }


def test_sides_are_told_as_the_worker_sees_them_now() -> None:
    """Every ring goes in from the front; where the work is turned in between, the one before it is
    seen from behind, and only then told as well."""
    new = {("A, unit 2", other, "front") for other in ("A, unit 1", "A, start")}
    before = ("A, unit 1", "A, start")
    assert sides(step_diagrams(view(SPIRAL))[2]) == new
    turned = step_diagrams(view(SPIRAL.replace("unit:\n", "unit:\n  turn over\n", 1)))[3]
    assert sides(turned) == new | {(*before, "back")}


def test_a_step_without_a_lay_tells_no_side() -> None:
    for diagram in shipped("byzantine")[1]:
        assert diagram.name == "key" or not sides(diagram)


def test_the_key_tells_both_sides() -> None:
    key = next(d for d in shipped("byzantine")[1] if d.name == "key")
    assert {x.side for x in key.lines if x.side} == {"front", "back"}
    assert {c.text for c in key.captions if "goes in from the" in c.text} == {
        "goes in from the front: the line lies over the ring",
        "goes in from the back: the ring lies over the line",
    }


# -- names that can be read ----------------------------------------------------------------------


def texts(diagram: Diagram) -> Iterator[tuple[str, tuple[float, float, float, float]]]:
    """Every word of a picture with its box: left, bottom, right, top."""
    for node in diagram.nodes:
        size, (x, y) = label_size(node.lines), node.at
        half = max((text_width(line, size) for line in node.lines), default=0.0) / 2
        high = 0.55 * size * len(node.lines)
        if half:
            yield node.full, (x - half, y - high, x + half, y + high)
    for caption in diagram.captions:
        half, (x, y) = text_width(caption.text, CAPTION) / 2, caption.at
        x += half if caption.left else 0.0
        yield caption.text, (x - half, y - CAPTION / 2, x + half, y + CAPTION / 2)


def laps(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """True where two boxes lie over one another."""
    return all(one[k] < other[k + 2] - 0.1 and other[k] < one[k + 2] - 0.1 for k in (0, 1))


def check_texts(diagrams: tuple[Diagram, ...]) -> None:
    """No word lies over another, and no name of a place over a ring."""
    for diagram in diagrams:
        found = [*texts(diagram)]
        for (one, a), (other, b) in combinations(found, 2):
            assert not laps(a, b), (diagram.name, one, other)
        for words, (left, low, right, high) in found[len(found) - len(diagram.captions) :]:
            for node in diagram.nodes:
                dx = max(left - node.at[0], 0.0, node.at[0] - right)
                dy = max(low - node.at[1], 0.0, node.at[1] - high)
                assert hypot(dx, dy) > node.across / 2 - 0.5, (diagram.name, words, node.full)


@pytest.mark.parametrize("stem", WEAVES)
def test_no_word_lies_over_another_in_a_weave_of_the_library(stem: str) -> None:
    check_texts(shipped(stem)[1])


@pytest.mark.slow
@pytest.mark.parametrize("stem", sorted(p.stem for p in EXAMPLES.glob("*.weave")))
def test_no_word_lies_over_another_in_an_example(stem: str) -> None:
    check_texts(example(stem)[1])


THREE_LINES = """\
start:
  close left
  add A through left picks 1
  add B through left picks 1
  add C through left picks 1
unit:
  add A through prev A picks 1
  add B through prev B picks 1
  add C through prev C picks 1
piece:
  chain 10 units
finish:
  close right
  add B1 through last B picks 1
  add end 1 through last A, right picks 2
  add end 2 through B1, right picks 2
  add end 3 through last C, right picks 2
"""
TALL = """\
start:
  add J through clasp picks 1
  add 2 core on the left through J picks 1
  close A
  add F through A picks 1
unit:
  add 2 core through prev A, prev F
  add A through prev A, prev F, prev core2 picks 3
  add F through A picks 1
piece:
  chain 3 units
finish:
  add cord through every F picks 4
"""


@pytest.mark.parametrize("text", [THREE_LINES, TALL], ids=["three lines", "a broken window"])
def test_no_word_lies_over_another_where_it_once_did(text: str) -> None:
    """A ring that meets nothing yet stood on others; names of units stood on an upper line."""
    diagrams = tuple(all_diagrams(view(text)))
    check_texts(diagrams)
    for diagram in diagrams:
        for one, other in combinations(diagram.nodes, 2):
            apart = hypot(one.at[0] - other.at[0], one.at[1] - other.at[1])
            assert apart > (one.across + other.across) / 2, (diagram.name, one.full, other.full)


# -- on a telephone ------------------------------------------------------------------------------


def smallest_type(diagram: Diagram, page: float) -> float:
    """How high the smallest type is in px, on a page so many px wide; a point is 4/3 px."""
    left, _, right, _ = diagram.frame
    wide = (right - left + 2 * MARGIN) * 4 / 3
    return CAPTION * 4 / 3 * min(1.0, page / wide)


@pytest.mark.parametrize("stem", WEAVES)
def test_the_pictures_of_steps_can_be_read_on_a_telephone(stem: str) -> None:
    for diagram in shipped(stem)[1]:
        if diagram.name.startswith("step") or diagram.name == "key":
            assert smallest_type(diagram, 390) >= 9, diagram.name


@pytest.mark.parametrize("stem", ["simple_chain", "box_chain", "spiral_4", "european_4"])
def test_a_window_is_no_wider_than_a_telephone_shows_where_units_can_be_left_out(
    stem: str,
) -> None:
    window = next(d for d in shipped(stem)[1] if d.name == "window")
    assert smallest_type(window, 390) >= 9
    units = {n.ring.unit for n in window.nodes if n.ring.unit > 0}
    assert len(units) >= 3


def test_a_picture_shrinks_with_the_page_it_stands_in() -> None:
    (svg,) = draw_all(list(shipped("byzantine")[1][:1]), "svg").values()
    begin = svg.decode("utf-8").partition(">")[0]
    assert 'style="max-width:100%;height:auto"' in begin
    assert "viewBox=" in begin


def test_a_window_broken_into_lines_keeps_each_unit_together() -> None:
    window = next(d for d in shipped("persian_linked_written")[1] if d.name == "window")
    heights: dict[int, list[float]] = {}
    for node in window.nodes:
        heights.setdefault(node.ring.unit, []).append(node.at[1])
    tops = [max(ys) for ys in heights.values()]
    assert max(tops) - min(tops) > 100  # there is more than one line
    assert all(max(ys) - min(ys) < 100 for ys in heights.values())
