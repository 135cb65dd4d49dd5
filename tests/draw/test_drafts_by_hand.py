"""One picture in the making: what lies in a frame, the stubs of links that leave it, its words."""

from __future__ import annotations

from itertools import combinations
from math import dist, hypot

import pytest
from helpers import view
from small_recipes import recipe

from ringstep.checks.view import View
from ringstep.draw.diagrams import all_diagrams
from ringstep.draw.drafts import Draft, Sheet, State, inside, joined_box, padded
from ringstep.draw.pictures import Diagram
from ringstep.weave.work import Ring

CHAIN = "start: / close A / unit: / add A through prev A / piece: / chain 5 units"


def read(body: str, rings: str = "rings:\n  all  wire 1 mm, inside 5 mm\n") -> View:
    seen = view(recipe(body, rings))
    assert not seen.troubles
    return seen


def drawn(body: str, name: str) -> Diagram:
    return next(d for d in all_diagrams(read(body)) if d.name == name)


def finished(sheet: Sheet) -> State:
    state = State()
    for act in sheet.work.acts:
        state.carry(act)
    return state


# -- boxes --------------------------------------------------------------------------------------


def test_boxes() -> None:
    box = (0.0, 0.0, 10.0, 20.0)
    assert inside(box, box)
    for inner in ((-1, 0, 10, 20), (0, -1, 10, 20), (0, 0, 11, 20), (0, 0, 10, 21)):
        assert not inside(box, inner)
        assert inside(box, inner, 1.0)
        assert not inside(box, inner, 0.9)
    assert padded(box) == (-14, 0, 24, 20)
    assert joined_box((0, 1, 2, 3), (-1, 2, 1, 9)) == (-1, 1, 2, 9)
    assert joined_box((-1, 2, 1, 9), (0, 1, 2, 3)) == (-1, 1, 2, 9)


def test_rings_take_room_for_a_second_circle() -> None:
    sheet = Sheet(read(CHAIN))
    ring = Ring("A", 1, 1, 2)
    (x, y), half = sheet.seats.at[ring], sheet.sizes[ring] / 2
    assert half == 9
    assert sheet.box([ring]) == (x - 13, y - 13, x + 13, y + 13)
    assert sheet.box([ring], {ring: (100, 50)}) == (87, 37, 113, 63)
    both = sheet.box([ring, Ring("A", 1, 1, 3)], {ring: (100, 50)})
    u, v = sheet.seats.at[Ring("A", 1, 1, 3)]
    assert both == (min(87, u - 13), min(37, v - 13), max(113, u + 13), max(63, v + 13))


# -- links that leave the picture ---------------------------------------------------------------


def test_a_link_that_leaves_the_picture_is_drawn_for_14_points() -> None:
    sheet = Sheet(read(CHAIN))
    ring = Ring("A", 1, 1, 2)
    (x, y) = sheet.seats.at[ring]
    picture = Draft(sheet, finished(sheet), None).picture(sheet.box([ring]), "it", "It", "Told")
    assert [n.ring for n in picture.nodes] == [ring]
    # In a row: a link to each side, from the outline of the ring, 9 from its middle, to 23 from it.
    ends = sorted([[p[0] - x for p in line.path] for line in picture.lines])
    third = 14 / 3
    assert ends[0] == pytest.approx([-9, -9 - third, -9 - 2 * third, -23])
    assert ends[1] == pytest.approx([9, 9 + third, 9 + 2 * third, 23])
    assert {p[1] for line in picture.lines for p in line.path} == {y}
    assert {(line.mark, line.b) for line in picture.lines} == {("beyond", None)}


def test_a_stub_begins_outside_of_the_second_circle_of_a_new_ring_and_points_to_where_it_leads(
) -> None:  # fmt: skip
    sheet = Sheet(
        read("start: / close A / unit: / add 2 A through prev A / piece: / chain 4 units")
    )
    act = next(a for a in sheet.work.acts if a.unit == 2)
    one, two = act.new
    picture = Draft(sheet, finished(sheet), act).picture(sheet.box([one]), "it", "It", "Told")
    assert [(n.ring, n.mark) for n in picture.nodes] == [(one, "new")]
    x, y = sheet.seats.at[one]
    for line in picture.lines:
        lengths = [hypot(p[0] - x, p[1] - y) for p in line.path]
        assert lengths == pytest.approx([13 + k * 14 / 3 for k in range(4)])
    # Two links back and two on; each points to the middle of a ring.
    ways = {round((p[3][1] - y) / (p[3][0] - x), 3) for p in (line.path for line in picture.lines)}
    others = [r for r in sheet.seats.at if r.unit in (1, 3)]
    slopes = {
        round((sheet.seats.at[r][1] - y) / (sheet.seats.at[r][0] - x), 3) for r in others
    }  # fmt: skip
    assert len(picture.lines) == 4
    assert ways == slopes
    assert two not in {n.ring for n in picture.nodes}


def test_rings_drawn_elsewhere_take_their_stubs_along() -> None:
    sheet = Sheet(read(CHAIN))
    a, b = Ring("A", 1, 1, 2), Ring("A", 1, 1, 3)
    state, frame = finished(sheet), sheet.box([a])
    near = Draft(sheet, state, None).picture(frame, "it", "It", "Told", {b: (500.0, 40.0)})
    lines = {(line.a, line.b): line.path for line in near.lines}
    by = {n.key: n.ring for n in near.nodes}
    assert set(by.values()) == {a, b}
    # The link between them is two stubs, beside those to the left of a and to the right of b.
    assert len(near.lines) == 4
    assert all(end is None for _, end in lines)
    assert max(p[0] for line in near.lines for p in line.path) == pytest.approx(523)
    heights = {round(line.path[3][1], 6) for line in near.lines if by[line.a] == b}
    assert heights == {40.0}
    # Marked as being somewhere else it has a stub for that link alone.
    far = Draft(sheet, state, None).picture(frame, "it", "It", "T", {b: (500.0, 40.0)}, far=True)
    key = next(n.key for n in far.nodes if n.ring == b)
    assert sorted(line.a == key for line in far.lines) == [False, False, True]
    assert [n.moved for n in far.nodes if n.ring == b] == [True]
    hidden = Draft(sheet, state, None).picture(frame, "it", "It", "T", hidden=frozenset([a]))
    assert hidden.nodes == ()
    assert hidden.lines == ()


# -- words below and beside ---------------------------------------------------------------------


def test_units_are_named_in_a_band_of_13_points_below_their_rings() -> None:
    window = drawn(CHAIN, "window")
    below = [c for c in window.captions if c.text.startswith("unit")]
    assert [c.text for c in sorted(below, key=lambda c: c.at)] == [f"unit {n}" for n in range(1, 6)]
    low = min(n.at[1] - n.across / 2 for n in window.nodes)
    at = {n.ring.unit: n.at[0] for n in window.nodes}
    for caption in below:
        assert caption.at == (at[int(caption.text[5:])], low - 4 - 6.5)
    assert window.frame[1] == low - 4 - 13


ROWS_BEYOND = (
    "row: / close A / add B through A, above above A if there, prev prev A if there / piece:"
    " / sheet 5 rows of 5 units / rows back and forth"
)


def test_rows_of_the_unit_are_named_as_they_lie_from_it() -> None:
    unit = drawn(ROWS_BEYOND, "unit")
    named = {c.text: c for c in unit.captions}
    assert set(named) == {"2 rows above", "this row", "2 rows below"}
    assert named["this row"].strong
    assert not named["2 rows above"].strong
    assert named["2 rows above"].at[1] > named["this row"].at[1] > named["2 rows below"].at[1]


def test_rings_two_rows_apart_do_not_lie_on_one_another() -> None:
    """What steps of a row reach is looked at: here two rows up."""
    for picture in ("unit", "window", "step-02"):
        nodes = drawn(ROWS_BEYOND.replace("5 rows of 5", "9 rows of 9"), picture).nodes
        for one, other in combinations(nodes, 2):
            assert dist(one.at, other.at) >= (one.across + other.across) / 2


def test_rows_beside_the_unit_are_named_above_and_below() -> None:
    near = drawn(ROWS_BEYOND.replace("above above", "above").replace("prev prev", "prev"), "unit")
    assert {c.text for c in near.captions} == {"row above", "this row", "row below"}
    assert {(n.ring.row, n.ring.unit) for n in near.nodes if n.mark == "through"} == {(3, 3)}


def test_units_around_the_unit_are_named_as_they_lie_from_it() -> None:
    body = "start: / close A / unit: / add A through prev A, prev prev A if there / piece: / chain"
    unit = drawn(f"{body} 20 units", "unit")
    told = [c.text for c in sorted(unit.captions, key=lambda c: c.at)]
    assert told == ["2 before", "unit before", "this unit", "next unit", "2 on"]
    assert [c.text for c in unit.captions if c.strong] == ["this unit"]
    heights = {c.at[1] for c in unit.captions}
    assert len(heights) == 1


# -- sizes --------------------------------------------------------------------------------------


def test_larger_rings_are_drawn_larger_by_15_in_100_at_most() -> None:
    def sizes(large: str) -> list[float]:
        rings = f"rings:\n  A  wire 1 mm, inside 4 mm\n  B  {large}\n"
        sheet = Sheet(read("start: / close A / unit: / add B through prev A if there / add A"
                           " through B / piece: / chain 4 units", rings))  # fmt: skip
        each = {r.role: size for r, size in sheet.sizes.items()}
        return [each["A"], each["B"]]

    # 6 mm across and 9 mm: half as large again is 7.5 in 100.
    assert sizes("wire 1 mm, inside 4 mm") == [18, 18]
    assert sizes("wire 1 mm, inside 7 mm") == pytest.approx([18, 18 * 1.075])
    assert sizes("wire 1 mm, inside 10 mm") == pytest.approx([18, 18 * 1.15])
    assert sizes("wire 2 mm, inside 20 mm") == pytest.approx([18, 18 * 1.15])  # however large
