"""Sheets whose rows are not all alike: which rings stand, what they meet, what is said of them."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from helpers import EXAMPLES, findings, view

from ringstep.checks.summary import piece_words
from ringstep.checks.view import View
from ringstep.commands.cli import main
from ringstep.draw.chart import charts
from ringstep.draw.diagrams import all_diagrams
from ringstep.language.findings import typed_in
from ringstep.language.source import Refused, source_from_text
from ringstep.language.tidy import tidy
from ringstep.paper.steps_text import step_list
from ringstep.space.rows import work_rows
from ringstep.space.states import NoStates, states_of
from ringstep.weave.effort import within_bounds
from ringstep.weave.work import Ring

HEAD = """\
rings:
  all  wire 1 mm, inside 6 mm, copper
expect:
  A meets 4
first row:
  close A
row:
"""
STRICT = "  add A through above A, above next A picks 2\n"
LOOSE = "  add A through above A if there, above next A if there picks 2\n"


def sheet(rows: int, units: int, *shape: str, back: bool = False, step: str = LOOSE) -> str:
    """A European sheet with a shape."""
    forth = "  rows back and forth\n" if back else ""
    lines = "".join(f"  {line}\n" for line in shape)
    piece = f"piece:\n  sheet {rows} rows of {units} units\n{forth}"
    return f"{HEAD}{step}{piece}{f'shape:{chr(10)}{lines}' if shape else ''}"


def size(text: str) -> tuple[int, int]:
    """Rings and links of the whole piece."""
    seen = view(text)
    placed = seen.weave.counts.placed()
    rings = sum(count for (role, _), count in placed.items() if role not in seen.recipe.part_roles)
    return rings, seen.weave.links[0]


def places(seen: View) -> list[list[int]]:
    """For each row the units in which a ring stands, from left to right."""
    layout = seen.weave.layout
    rings = seen.weave.work.links
    return [sorted(r.unit for r in rings if r.row == row) for row in range(1, layout.rows + 1)]


def errors(text: str) -> list[tuple[str, str]]:
    """The errors of a recipe: which rule, and what is said first."""
    return [(f.rule.name, f.message) for f in findings(text) if f.rule.severity == "error"]


# -- known answers ---------------------------------------------------------------------------------


@pytest.mark.parametrize("n", range(2, 10))
@pytest.mark.parametrize("back", [False, True])
def test_a_taper_down_to_one_has_a_triangular_number_of_rings(n: int, back: bool) -> None:
    """n rings, n - 1 … 1: the triangular number T(n) = n (n + 1) / 2 (OEIS A000217).

    Every ring but those of the first row hangs from two: 2 T(n - 1) links. No item needs
    'if there', since no row reaches past the one above.
    """
    text = sheet(n, n, f"rows 2 to {n}  each 1 less" if n > 2 else "row 2  1 less", back=back,
                 step=STRICT)  # fmt: skip
    assert errors(text) == []
    assert size(text) == (n * (n + 1) // 2, n * (n - 1))


@pytest.mark.parametrize("n", range(3, 9))
def test_a_diamond_has_a_square_number_of_rings(n: int) -> None:
    """1, 2 … n … 2, 1 is n squared (OEIS A000290); two links for each ring but the widest row's,
    upwards below it and downwards above it: 2 × 2 T(n - 1)."""
    ahead = (n - 1) // 2
    runs = (f"{ahead} empty", "1 worked", f"{n - 1 - ahead} empty")
    first = ", ".join(r for r in runs if r[0] != "0")
    lines = (f"row 1  {first}", f"rows 2 to {n}  each 1 more", f"rows {n + 1} to {2 * n - 1}"
             "  each 1 less")  # fmt: skip
    text = sheet(2 * n - 1, n, *lines, back=True)
    assert errors(text) == []
    assert size(text) == (n * n, 2 * n * (n - 1))


def test_worked_one_way_the_wider_rows_lie_to_the_left() -> None:
    lines = ("row 1  3 empty, 1 worked", "rows 2 to 4  each 1 more", "rows 5 to 7  each 1 less")
    text = sheet(7, 4, *lines)
    assert size(text) == (16, 24)
    assert places(view(text)) == [[4], [3, 4], [2, 3, 4], [1, 2, 3, 4], [1, 2, 3], [1, 2], [1]]


def test_worked_back_and_forth_a_taper_is_narrower_on_both_sides() -> None:
    text = sheet(5, 5, "rows 2 to 5  each 1 less", back=True, step=STRICT)
    assert places(view(text)) == [[1, 2, 3, 4, 5], [2, 3, 4, 5], [2, 3, 4], [3, 4], [3]]


def test_a_hole_takes_out_its_rings_and_their_links() -> None:
    """A whole sheet of r rows of u has (r - 1) (2 u - 1) links (as in the second opinion, counted
    by hand). A diamond of 9 inside it takes 4 links a ring, its own 12 counted once."""
    hole = ("row 3  4 worked, 1 empty, 5 worked", "row 4  4 worked, 2 empty, 4 worked",
            "row 5  3 worked, 3 empty, 4 worked", "row 6  4 worked, 2 empty, 4 worked",
            "row 7  4 worked, 1 empty, 5 worked")  # fmt: skip
    assert size(sheet(9, 10, back=True)) == (90, 8 * 19)
    assert size(sheet(9, 10, *hole, back=True)) == (81, 8 * 19 - (4 * 9 - 12))


def test_a_stepped_border_goes_on_as_wide_until_the_next_step() -> None:
    """Each row that no line names is as wide as the one before it."""
    seen = view(sheet(7, 9, "row 3  2 less", "row 6  3 less"))
    assert [len(row) for row in places(seen)] == [9, 9, 7, 7, 7, 4, 4]


def test_a_hole_belongs_to_its_own_rows_and_an_edge_set_in_stays() -> None:
    lines = ("rows 2 to 3  2 worked, 2 empty, 3 worked", "row 5  1 empty, 6 worked")
    seen = view(sheet(6, 7, *lines, back=True))
    whole, holed = list(range(1, 8)), [1, 2, 5, 6, 7]
    assert places(seen) == [whole, holed, holed, whole, whole[1:], whole[1:]]


def test_several_rings_a_place_are_left_out_together() -> None:
    text = sheet(3, 4, "rows 2 to 3  each 1 less", step=STRICT)
    text = text.replace("A meets 4", "A meets 8").replace("close A", "close 2 A")
    text = text.replace("add A", "add 2 A").replace("picks 2", "picks 4")
    assert errors(text) == []
    assert size(text) == (2 * 9, 4 * 2 * 5)


@pytest.mark.parametrize(
    ("name", "rings", "links"),
    # T(6) rings, 2 T(5) links and 6 to the bar; 6 × 6 rings; 90 - 9 rings
    [("drop_earring", 21, 36), ("diamond_pendant", 36, 60), ("window_panel", 81, 128)],
)
def test_the_examples_have_their_numbers(name: str, rings: int, links: int) -> None:
    text = (EXAMPLES / f"{name}.weave").read_text("utf-8")
    assert size(text) == (rings, links)


# -- what is owed ----------------------------------------------------------------------------------


def test_a_ring_beside_a_hole_owes_nothing_to_it() -> None:
    seen = view(sheet(5, 7, "row 3  3 worked, 1 empty, 3 worked", back=True))
    beside = Ring("A", 1, 2, 4)
    assert seen.weave.met(beside).total() == 3  # not linked with the ring that is not there
    assert beside not in seen.weave.finished
    assert seen.weave.owed == ()
    assert not any(f.weight for f in seen.faults)


def test_a_place_that_is_empty_is_off_the_piece() -> None:
    """Without 'if there' the first row below a hole looks off the piece."""
    text = sheet(5, 7, "row 3  3 worked, 1 empty, 3 worked", step=STRICT)
    assert {rule for rule, _ in errors(text)} == {"ring-not-there"}


def test_skip_at_edge_leaves_the_step_out_beside_a_hole() -> None:
    text = sheet(5, 7, "row 3  3 worked, 1 empty, 3 worked", back=True)
    text = text.replace(" if there", "").replace("picks 2", "picks 2 skip at edge")
    gone = view(text).weave.work
    assert {(a.row, a.unit) for a in gone.acts if a.skipped and a.row == 4} >= {(4, 4), (4, 5)}


def test_a_ring_left_out_of_a_tapers_last_row_is_told() -> None:
    text = (EXAMPLES / "drop_earring.weave").read_text("utf-8")
    short = text.replace(
        "tip through above A, above next A at one place picks 2", "tip through above A picks 1"
    )
    assert short != text
    ((rule, message),) = errors(short)
    assert rule == "neighbour-count"
    assert message.startswith("step 3 most likely also goes through A of the next unit in the row")


# -- a last row of its own -------------------------------------------------------------------------


def test_the_last_row_is_worked_once_in_place_of_the_row() -> None:
    text = sheet(4, 3).replace("piece:", "last row:\n  add B through above A\npiece:")
    text = text.replace("  A meets 4\n", "  A meets 4\n  B meets 1\n")
    seen = view(text)
    assert {r.row for r in seen.weave.work.links if r.role == "B"} == {4}
    assert {r.row for r in seen.weave.work.links if r.role == "A"} == {1, 2, 3}
    assert seen.weave.counts.placed() == {("A", 1): 9, ("B", 1): 3}


def test_a_last_row_owes_what_the_row_owes() -> None:
    """It places the same ring and leaves out one link: as sure a slip as in a first row."""
    right = sheet(6, 5, back=True)
    end = "last row:\n  add A through above A, above next A if there picks 2\npiece:"
    assert errors(right.replace("piece:", end)) == []
    short = end.replace(", above next A if there picks 2", " picks 1")
    ((rule, message),) = errors(right.replace("piece:", short))
    assert rule == "missed-at-end"
    assert "A lacks A of the next unit in the row above" in message


def test_a_shape_that_ends_a_row_early_is_told_with_the_row_it_lacks() -> None:
    """The step of that row looks off the piece; both widths are shown, and the longer line."""
    text = (EXAMPLES / "drop_earring.weave").read_text("utf-8")
    short = text.replace("rows 2 to 6  each", "rows 2 to 5  each")
    (found,) = [f for f in findings(short) if f.rule.severity == "error"]
    assert found.labels[0].text == "row 6 has 2 places, row 5 has 2"
    assert found.help[0] == "if row 6 is narrower too, write 'rows 2 to 6  each 1 less'"
    assert "\n".join(typed_in(tuple(short.splitlines()), found.mends[0].edits)) + "\n" == text


def test_a_second_pass_along_the_last_row_is_its_own() -> None:
    end = "last row:\n  close B\nagain:\n  add A through B, above A picks 2\npiece:"
    work = view(sheet(4, 3).replace("piece:", end)).weave.work
    assert [(a.block.kind, a.unit) for a in work.acts if a.row == 4] == [
        *(("last row", u) for u in (1, 2, 3)), *(("again", u) for u in (1, 2, 3)),
    ]  # fmt: skip
    assert not any(a.block.kind == "again" for a in work.acts if a.row < 4)


def test_a_long_sheet_with_a_last_row_costs_what_a_short_one_costs() -> None:
    """A million rows are told from a few, and counted exactly."""
    end = "last row:\n  add B through above A\npiece:"
    text = sheet(1_000_000, 12, back=True).replace("piece:", end)
    seen = view(text)
    assert len(seen.weave.work.acts) < 400
    assert seen.weave.counts.placed() == {("A", 1): 999_999 * 12, ("B", 1): 12}


@pytest.mark.parametrize("kind", ["sheet 1 row of 5 units", "tube 1 row of 8 units"])
def test_a_last_row_needs_a_row_before_it(kind: str) -> None:
    text = sheet(1, 5).replace("piece:", "last row:\n  add A through above A\npiece:")
    text = text.replace("sheet 1 rows of 5 units", kind)
    told = [m for rule, m in errors(text) if rule == "never-worked"]
    assert any(m.startswith("'last row:' is never worked: ") for m in told)


# -- what is said ----------------------------------------------------------------------------------


def intro(text: str, heading: str) -> str:
    """What stands under a heading of the step list, before its steps."""
    return next(s.intro for s in step_list(view(text)).sections if s.heading == heading)


def test_the_list_says_how_many_places_each_row_has() -> None:
    text = sheet(6, 6, "rows 2 to 6  each 1 less", step=STRICT)
    assert intro(text, "First row") == "Work these steps 6 times along the row."
    assert intro(text, "Row").endswith("Row 2: 5 places, row 3: 4, row 4: 3, row 5: 2, row 6: 1.")


def test_the_list_says_where_a_wider_row_begins() -> None:
    text = sheet(5, 3, "row 1  1 empty, 1 worked, 1 empty", "rows 2 to 3  each 1 more",
                 "rows 4 to 5  each 1 less", back=True)  # fmt: skip
    assert intro(text, "First row") == "Work these steps once."
    assert intro(text, "Row").endswith(
        "Row 2: 2 places, row 3: 3; begin each 1 place before the first of the row above."
        " Row 4: 2 places, row 5: 1."
    )


def test_places_of_a_row_worked_back_are_told_as_it_is_worked() -> None:
    text = sheet(5, 7, "rows 3 to 4  2 worked, 1 empty, 4 worked", back=True)
    assert intro(text, "Row").endswith(
        "Row 2: 7 places. Row 3: 2 places, leave 1 empty, 4 places."
        " Row 4: 4 places, leave 1 empty, 2 places. Row 5: 7 places."
    )


def test_many_rows_are_told_in_one_breath() -> None:
    text = sheet(30, 40, "rows 2 to 21  each 1 less", step=LOOSE)
    assert intro(text, "Row").endswith(
        "Row 2: 39 places, and in each row 1 less, up to 20 in row 21."
        " Rows 22 to 30: 20 places each."
    )


def test_the_summary_says_how_wide_and_how_many_places() -> None:
    text = sheet(6, 6, "rows 2 to 6  each 1 less", step=STRICT)
    assert piece_words(view(text)) == "a sheet of 6 rows of 1 to 6 units, 21 places in all"


def test_the_summary_of_rows_that_are_all_as_wide() -> None:
    text = sheet(3, 6, "rows 1 to 3  1 empty, 5 worked")
    assert piece_words(view(text)) == "a sheet of 3 rows of 5 units, 15 places in all"


def test_gathering_rings_go_through_each_row_as_it_is() -> None:
    """No one number is true of all rows, so none is asked for."""
    text = sheet(4, 5, "rows 2 to 4  each 1 less", step=STRICT)
    text = text.replace("piece:", "row end:\n  add E through every A\npiece:")
    text = text.replace("  A meets 4\n", "")
    seen = view(text)
    ends = [a.picks for a in seen.weave.work.acts if a.block.kind == "row end"]
    assert ends == [5, 4, 3, 2]
    assert errors(text) == []
    counted = errors(text.replace("every A", "every A picks 5"))
    assert [rule for rule, _ in counted] == ["pick-count"]


# -- pictures --------------------------------------------------------------------------------------

COLOURS = "picture:\n  g = grey\n  r = red\n"


def test_a_picture_has_as_many_letters_as_each_row_has_places() -> None:
    text = sheet(4, 5, "row 2  2 worked, 1 empty, 2 worked", "row 4  2 less", back=True)
    text += f"{COLOURS}  ggggg\n  grrg\n  ggggg\n  grr\n"
    seen = view(text)
    assert seen.weave.colours is not None
    assert seen.weave.colours.placed == {"g": 13, "r": 4}
    assert seen.weave.colours.rows == ("ggggg", "gr rg", "ggggg", "  grr")
    (chart,) = charts(seen.weave.colours)
    assert chart.count("<rect") == 17


def test_a_picture_row_of_another_length_is_told_with_what_the_row_has() -> None:
    text = sheet(4, 5, "row 2  2 worked, 1 empty, 2 worked", "row 4  2 less", back=True)
    text += f"{COLOURS}  ggggg\n  grrgg\n  ggggg\n  grr\n"
    assert errors(text) == [
        ("picture-size", "row 2 of the picture has 1 letter too many: it has 5, and row 2 of the"
         " piece has 4 places"),
    ]  # fmt: skip


def test_the_hand_out_shows_the_places(tmp_path: Path) -> None:
    """A cell for each of 36 places, outlined, and none for those that are empty."""
    page = tmp_path / "page.html"
    assert main(["handout", str(EXAMPLES / "diamond_pendant.weave"), "--to", str(page), "--rings",
                 "none"]) == 0  # fmt: skip
    chart = page.read_text("utf-8").split("<h2>The shape</h2>")[1].split("</figure>")[0]
    assert 'aria-label="the places, rows 1 to 11"' in chart
    cells = re.findall(r"M([\d.]+) ([\d.]+)h12v12h-12z", chart)
    rows = [sorted(float(x) for x, y in cells if float(y) == 13 + 12 * at) for at in range(11)]
    assert [len(row) for row in rows] == [1, 2, 3, 4, 5, 6, 5, 4, 3, 2, 1]
    assert {(row[0] + row[-1]) / 2 for row in rows} == {rows[0][0]}  # each in the middle


def test_the_diagram_of_a_taper_is_a_taper() -> None:
    """Drawn whole: each row stands half a place in on both sides of the row above."""
    seen = view(sheet(6, 6, "rows 2 to 6  each 1 less", step=STRICT))
    window = next(d for d in all_diagrams(seen) if d.name == "window")
    assert len(window.nodes) == 21
    rows: dict[int, list[float]] = {}
    for node in window.nodes:
        rows.setdefault(node.ring.row, []).append(node.at[0])
    for row in range(2, 7):
        assert min(rows[row]) > min(rows[row - 1])
        assert max(rows[row]) < max(rows[row - 1])
        left, right = min(rows[row]) - min(rows[row - 1]), max(rows[row - 1]) - max(rows[row])
        assert left == pytest.approx(right)


def test_a_taper_too_wide_for_a_page_is_still_drawn_whole() -> None:
    seen = view(sheet(20, 24, "rows 2 to 20  each 1 less", back=True))
    window = next(d for d in all_diagrams(seen) if d.name == "window")
    assert len(window.nodes) == sum(range(5, 25))


def test_the_unit_is_shown_where_it_has_its_neighbours() -> None:
    """The middle of this sheet is a hole."""
    hole = "rows 4 to 6  3 worked, 3 empty, 3 worked"
    unit = next(d for d in all_diagrams(view(sheet(9, 9, hole, back=True))) if d.name == "unit")
    assert len(unit.nodes) == 5


def test_real_rings_are_drawn_as_far_as_the_taper_is_worked() -> None:
    shown = states_of(view(sheet(3, 3, "rows 2 to 3  each 1 less", step=STRICT)))
    assert {s.number for s in shown.states} == {1, 2}
    assert max(len(s.rings) for s in shown.states) == 6


def test_real_rings_of_a_diamond_are_worked_to_its_last() -> None:
    """Each row that grows hangs half a ring aside, though none of its rings lacks nothing."""
    lines = ("row 1  1 empty, 1 worked, 1 empty", "rows 2 to 3  each 1 more",
             "rows 4 to 5  each 1 less")  # fmt: skip
    text = sheet(5, 3, *lines, back=True).replace("inside 6 mm", "inside 4.5 mm")
    weave = view(text).weave
    worked = work_rows(replace(weave, whole=True))
    assert worked.jams == ()
    at = {ring[2:]: round_.centre for ring, round_ in worked.states[-1].rings}
    assert len(at) == 9
    for row, units in enumerate(places(view(text)), 1):
        across = [at[row, unit][0] for unit in units]
        assert across == sorted(across)  # from left to right as the places are numbered
        assert row == 1 or max(at[row, u][1] for u in units) < min(
            at[row - 1, u][1] for u in places(view(text))[row - 2]
        )


def test_real_rings_of_a_large_shaped_sheet_are_refused_plainly() -> None:
    with pytest.raises(NoStates, match="a sheet with a shape is worked ring by ring, up to 90"):
        states_of(view(sheet(13, 13, "rows 2 to 13  each 1 less", step=STRICT)))


# -- lines as they are typed -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("rows 2-6 each 1 less", "rows 2 to 6  each 1 less"),
        ("rows 2 to 6: each 1 less", "rows 2 to 6  each 1 less"),
        ("rows 2 until 6 each 1 less", "rows 2 to 6  each 1 less"),
        ("rows 2 to 6 each one less", "rows 2 to 6  each 1 less"),
        ("rows 2 to 6 each 1 fewer", "rows 2 to 6  each 1 less"),
        ("rows 2 to 6 each 1 ring less", "rows 2 to 6  each 1 less"),
        ("rows 2 to 6 each 1 less ring", "rows 2 to 6  each 1 less"),
        ("rows 2 to 6 -1", "rows 2 to 6  each 1 less"),
        ("rows 2 to 6 each less 1", "rows 2 to 6  each 1 less"),
        ("row 3 4 A, 2 holes", "row 3  4 worked, 2 empty"),
        ("row 3 2 worked 2 empty 2 worked", "row 3  2 worked, 2 empty, 2 worked"),
        ("row3 1 wider", "row 3  1 more"),
        ("rows 2 to 6 eahc 1 les", "rows 2 to 6  each 1 less"),
        ("row 3 2 wroked, 4 emtpy", "row 3  2 worked, 4 empty"),
    ],
)
def test_a_line_written_otherwise_is_told_how_it_reads(typed: str, meant: str) -> None:
    (found,) = [f for f in findings(sheet(6, 6, typed)) if f.rule.severity == "error"]
    assert found.rule.name == "unread-line"
    assert found.help == (f"write '{meant}'",)
    assert not [f for f in findings(sheet(6, 6, meant)) if f.rule.name == "unread-line"]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("row 0 1 less", "rows are counted from 1"),
        ("rows 6 to 2 each 1 less", "'rows 6 to 2' goes upwards"),
        ("row 3 0 less", "'0 less' changes nothing"),
        ("rows 2 to 6 1 less", "'rows 2 to 6  1 less' does not say whether each of these rows"
         " gets less"),
        ("row 3 2 worked, 0 empty", "'2 worked, 0 empty' has a run of 0 places"),
        ("row 3 less", "this line of 'shape:' cannot be read"),
    ],
)  # fmt: skip
def test_a_line_that_cannot_be_meant_is_told_alone(typed: str, words: str) -> None:
    assert errors(sheet(6, 6, typed, step=STRICT)) == [("unread-line", words)]


@pytest.mark.parametrize(
    "shape",
    [("rows 1 to 6  each 1 less",), ("rows 2 to 9  each 1 less",), ("row 7  1 less",)],
)
def test_a_shape_that_cannot_be_is_the_only_error(shape: tuple[str, ...]) -> None:
    """Where the rows are is not known, so the links are not judged."""
    assert [rule for rule, _ in errors(sheet(6, 6, *shape, step=STRICT))] == ["sheet-shape"]


def test_mends_of_a_shape_make_a_clean_recipe() -> None:
    text = sheet(6, 6, "rows 2 to 7  each 1 less", step=STRICT)
    (found,) = [f for f in findings(text) if f.rule.name == "sheet-shape"]
    assert [m.says for m in found.mends] == ["write 'rows 2 to 6  each 1 less'"]


def test_rings_and_topics_may_still_be_called_by_the_new_words() -> None:
    text = sheet(4, 4).replace("A", "worked").replace("copper", "empty")
    text = text.replace("rings:", "notes:\n  shape  a square\nrings:")
    assert errors(text) == []


def test_tidy_sets_the_places_in_a_column() -> None:
    text = sheet(6, 6, "ROWS 2 to 4 Each 1 less", "row  5 2 worked,1 empty")
    lines = tidy(source_from_text(text)).lines
    assert lines[-2:] == ("  rows 2 to 4  each 1 less", "  row 5        2 worked, 1 empty")


def test_a_sheet_with_a_shape_that_is_too_large_is_refused_before_it_is_worked() -> None:
    text = sheet(600, 600, "row 2  1 less")
    with pytest.raises(Refused, match=re.escape("worked out place by place")):
        within_bounds(view(text))


def hung(through: str) -> str:
    """A triangle whose top ring goes through some rings of its first row."""
    made = sheet(6, 6, "rows 2 to 6  each 1 less", step=STRICT)
    return made.replace("  A meets 4\n", "  A meets 4\n  top meets 2 A\n") + (
        f"finish:\n  add top through {through} picks 2\n"
    )


def test_places_from_the_first_on_are_told_by_their_number() -> None:
    said = [
        " ".join(s.sentence.split())
        for x in step_list(view(hung("first next next A, first next next next A"))).sections
        for s in x.steps
    ]
    assert "through A of the third unit of the first row" in said[-1]
    assert "A of the fourth unit of the first row" in said[-1]
    assert not any("after the first" in sentence for sentence in said)


def test_a_misspelt_word_of_place_is_told_with_the_nearest_one() -> None:
    (finding,) = findings(hung("first nexxt A, first next next next A"))
    assert "'nexxt' is no word of place; the nearest is 'next'" in finding.message
    (mend,) = finding.mends
    assert mend.says == "write 'through first next A, first next next next A'"
    (finding,) = findings(hung("first nexxt next A, first next next next A"))
    assert finding.message == "'nexxt' is no word of place; the nearest is 'next'"
    assert finding.help == ("write 'first next next …'",)


def test_two_rings_without_their_comma_are_no_strand() -> None:
    text = hung("first next next A, first next next next A top")
    (finding,) = [f for f in findings(text) if f.rule.name == "ring-not-there"]
    assert "'A' is a ring, no word of place" in finding.message
    assert "strand" not in finding.message


def test_a_misspelt_word_is_named_and_its_line_offered_as_it_is_laid_out() -> None:
    right = sheet(6, 6, "rows 2 to 6  each 1 less", step=STRICT)
    (found,) = findings(right.replace("each 1 less", "each 1 les"))
    assert found.message == "'les' is spelt 'less'"
    assert found.help == ("write 'rows 2 to 6  each 1 less'",)
