"""Diagrams: where rings, links and names lie, and how names are cut into labels."""

from __future__ import annotations

import re
from itertools import pairwise
from math import hypot

import pytest
from helpers import BYZANTINE
from hypothesis import given
from hypothesis import strategies as st
from test_diagrams import WEAVES, shipped, view

from ringstep.checks.view import View
from ringstep.draw.diagrams import all_diagrams
from ringstep.draw.drawing import dot_text, dot_texts
from ringstep.draw.geometry import Point, bezier, clearance
from ringstep.draw.pictures import (
    CAPTION,
    DOUBLE,
    LABEL,
    MARGIN,
    MM,
    SMALL_LABEL,
    Line,
    distinct_labels,
    label_lines,
)
from ringstep.weave.work import Ring

SHEET = """\
weave "Rows in turn"
rings:
  all  wire 1.2 mm, inside 7 mm, copper
first row:
  {first}
row left:
  {left}
row right:
  {right}
piece:
  {piece}
  order left, right
"""
FOUR = "add {} through above {}, above next {} if there picks 2"
SIX = "add {} through above prev {} if there, above {}, above next {} if there picks 3"
BACK = "sheet 10 rows of 12 units\n  rows back and forth"
#: Sheets whose rows take turns. The last three once had rows that stood above rows before them.
IN_TURN = {
    "european 4-in-1 back and forth": ("close R", FOUR, FOUR, BACK),
    "european 4-in-1 one way": ("close R", FOUR, FOUR, "sheet 10 rows of 12 units"),
    "european 6-in-1": ("close R", SIX, SIX, BACK),
    "european tube": ("close R", FOUR.replace(" if there", ""), FOUR, "tube 30 rows of 10 units"),
    "doubled": ("close 2 R", FOUR.replace("add", "add 2"), FOUR.replace("add", "add 2"), BACK),
    "joined by rings of their own": (
        "close R",
        "close {}\n  add Lj through L, above {}, above next {} if there",
        "close {}\n  add Rj through R, above {}, above next {} if there",
        BACK,
    ),
    "three above two": (
        "close 2 R",
        "add 2 {} through above prev {} if there, above next {} if there, above {} if there",
        "close 2 {}\n  add Ru through R, above next {} skip at edge",
        "sheet 8 rows of 8 units",
    ),
    "pairs and singles": (
        "close 2 R",
        "add 2 {} through above next {} if there, above {} if there",
        "close {0}\n  add Rs through R, prev R skip at edge\n  add Ru through R, above next L"
        " skip at edge",
        "sheet 8 rows of 8 units",
    ),
    "one above next": (
        "close 2 R",
        "add {} through above {} if there",
        "add {} through above next {} if there",
        "sheet 8 rows of 8 units",
    ),
}
THREE_IN_TURN = """\
weave "Three colours"
rings:
  all  wire 1.2 mm, inside 7 mm, copper
row one:
  add 2 L through above next C if there, above prev C if there, above C if there
row two:
  close R
  add Rs through R, prev R skip at edge
  add Ru through R, above L skip at edge
row three:
  add C through above prev R if there
piece:
  sheet 8 rows of 8 units
  order one, two, three
"""


def in_turn(name: str) -> str:
    """The recipe of one of the sheets whose rows take turns."""
    if name == "three rows in turn":
        return THREE_IN_TURN
    first, left, right, piece = IN_TURN[name]
    return SHEET.format(
        first=first, left=left.format(*"LRRR"), right=right.format(*"RLLL"), piece=piece
    )


# -- where it lies -------------------------------------------------------------------------------


@pytest.mark.parametrize("stem", WEAVES)
def test_a_ring_keeps_its_seat_from_step_to_step(stem: str) -> None:
    seats: dict[object, tuple[float, float]] = {}
    for diagram in shipped(stem)[1]:
        if diagram.name in ("window", "key"):
            continue
        for node in diagram.nodes:
            if not node.moved:
                assert seats.setdefault((node.ring, node.again), node.at) == node.at
    assert len(seats) == len(set(seats.values()))


@pytest.mark.parametrize("stem", WEAVES)
def test_rings_do_not_overlap_and_no_link_runs_through_a_foreign_ring(stem: str) -> None:
    for diagram in shipped(stem)[1]:
        run_through: list[Line] = []
        for i, node in enumerate(diagram.nodes):
            for other in diagram.nodes[:i]:
                apart = hypot(node.at[0] - other.at[0], node.at[1] - other.at[1])
                assert apart > (node.across + other.across) / 2 + 1
            run_through += [
                x
                for x in diagram.lines
                if node.key not in (x.a, x.b) and clearance(x.path, node.at) < node.across / 2 + 0.5
            ]
        assert not run_through, (diagram.name, run_through)


@pytest.mark.parametrize("stem", WEAVES)
def test_every_line_ends_at_the_outlines_of_its_rings(stem: str) -> None:
    for diagram in shipped(stem)[1]:
        nodes = {n.key: n for n in diagram.nodes}
        for line in diagram.lines:
            for key, end in ((line.a, 0.0), (line.b, 1.0)):
                if key in nodes:
                    node, (x, y) = nodes[key], bezier(line.path, end)
                    out = hypot(x - node.at[0], y - node.at[1]) - node.across / 2
                    assert out == pytest.approx(DOUBLE if node.mark == "new" else 0, abs=0.3)


#: Weaves whose unit, drawn with readable type, needs more than a column: measured, not wished.
WIDER = {"japanese_12", "japanese_doubled"}


@pytest.mark.parametrize("stem", WEAVES)
def test_pictures_fit_a_column_and_a_page_without_being_scaled(stem: str) -> None:
    for diagram in shipped(stem)[1]:
        left, bottom, right, top = diagram.frame
        wide, high = (right - left + 2 * MARGIN) / MM, (top - bottom + 2 * MARGIN) / MM
        assert wide <= 170
        assert high <= 220
        assert not re.search(r"(?<![a-z])size=", dot_text(diagram))
        if diagram.name.startswith("step") and stem not in WIDER:
            assert wide <= 85
            assert high <= 60
        for node in diagram.nodes:
            assert left <= node.at[0] - node.across / 2
            assert node.at[0] + node.across / 2 <= right
            assert bottom <= node.at[1] - node.across / 2
            assert node.at[1] + node.across / 2 <= top


def test_type_is_at_least_seven_points() -> None:
    assert min(CAPTION, LABEL, SMALL_LABEL) >= 7


def test_sheets_lie_row_below_row_and_each_ring_hangs_between_two() -> None:
    seen, diagrams = shipped("european_4")
    unit = next(d for d in diagrams if d.name == "unit")
    own = next(n for n in unit.nodes if n.mark == "through")
    above = [n for n in unit.nodes if n.ring.row < own.ring.row]
    below = [n for n in unit.nodes if n.ring.row > own.ring.row]
    assert len(above) == len(below) == 2
    assert all(n.at[1] > own.at[1] for n in above)
    assert all(n.at[1] < own.at[1] for n in below)
    for pair in (above, below):
        assert sum(n.at[0] for n in pair) / 2 == pytest.approx(own.at[0])
    assert seen.weave.layout.kind == "sheet"


def test_in_a_doubled_sheet_no_two_rows_share_a_level() -> None:
    window = next(d for d in shipped("european_8")[1] if d.name == "window")
    levels: dict[float, set[int]] = {}
    for node in window.nodes:
        levels.setdefault(round(node.at[1]), set()).add(node.ring.row)
    assert all(len(rows) == 1 for rows in levels.values())


def test_the_window_keeps_the_first_and_the_last_unit() -> None:
    for stem in ("shaggy", "doubled_chain_captive", "persian_6"):
        seen, diagrams = shipped(stem)
        window = next(d for d in diagrams if d.name == "window")
        told = {n.full.split(", ")[1] for n in window.nodes}
        assert {"start", "unit 1", f"unit {seen.weave.layout.units}"} <= told


TWO_LONG_STRETCHES = """rings:
  all  wire 1 mm, inside 5 mm
start:
  close A
unit 1:
  add A through prev A picks 1
unit:
  add A through prev A picks 1
unit 11 instead:
  add A through prev A picks 1
  add drop through A picks 1
piece:
  chain {units} units
"""


@pytest.mark.parametrize(
    ("text", "gaps"),
    [
        # What lies before and what lies behind unit 11 is cut by itself.
        (TWO_LONG_STRETCHES.format(units=20), [(4, 9), (14, 19)]),
        (TWO_LONG_STRETCHES.format(units=90), [(4, 9), (14, 89)]),
        # As written above, with no unit of its own: one stretch, one gap.
        (TWO_LONG_STRETCHES.split("unit 11")[0] + "piece:\n  chain 90 units\n", [(4, 89)]),
        # Two units that take turns: nothing is left out before unit 5.
        (
            TWO_LONG_STRETCHES.split("unit 1:")[0]
            + "unit p:\n  add A through prev A picks 1\n"
            + "unit q:\n  add A through prev A picks 1\npiece:\n  chain 90 units\n",
            [(4, 89)],
        ),
        (TWO_LONG_STRETCHES.format(units=13), [(4, 9)]),
        (TWO_LONG_STRETCHES.split("unit 11")[0] + "piece:\n  chain 5 units\n", []),
    ],
)
def test_the_window_has_a_gap_wherever_units_are_left_out(
    text: str, gaps: list[tuple[int, int]]
) -> None:
    window = next(d for d in all_diagrams(view(text)) if d.name == "window")
    named = {c.text: c.at for c in window.captions if c.text.startswith("unit ")}
    units = sorted(int(words.split()[1]) for words in named)
    jumps = [(a, b) for a, b in pairwise(units) if b - a > 1]
    assert jumps == gaps

    def read(at: Point) -> tuple[float, float]:
        """In the order of reading: band by band, a band being named below its rings."""
        return -max(y for _, y in named.values() if y <= at[1]), at[0]

    dots = sorted(read(c.at) for c in window.captions if c.text == "· · ·")
    assert len(dots) == len(gaps)
    for dot, (before, after) in zip(dots, gaps, strict=True):
        assert read(named[f"unit {before}"]) < dot < read(named[f"unit {after}"])


@pytest.mark.parametrize("stem", ["linked_pairs", "spiral_6", "chain_with_clasp", "byzantine"])
def test_the_unit_is_named_between_its_neighbours(stem: str) -> None:
    unit = next(d for d in shipped(stem)[1] if d.name == "unit")
    found = sorted((c.at[0], c.text, c.strong) for c in unit.captions)
    near = [x for x in found if x[1] in ("unit before", "this unit", "next unit")]
    assert [x[1:] for x in near] == [
        ("unit before", False),
        ("this unit", True),
        ("next unit", False),
    ]


def test_a_larger_kind_of_ring_is_never_drawn_smaller() -> None:
    # 9 mm rings named 'flat' beside 4 mm rings named 'across', whose name is wider.
    for stem in ("japanese_hexagonal", "japanese_square", "captive_ring", "spiral_two_wires"):
        seen, diagrams = shipped(stem)
        drawn = {n.ring: n.across for d in diagrams for n in d.nodes if d.name != "key"}
        for ring, across in drawn.items():
            for other, less in drawn.items():
                kinds = [seen.weave.kind_of(r.role, r.index) for r in (ring, other)]
                out = [(k.mm[1] or 0) + 2 * (k.mm[0] or 0) for k in kinds if k]
                if out[0] >= out[1]:
                    assert across >= less, (ring, other)


def test_rings_of_one_size_are_drawn_alike_wherever_they_stand() -> None:
    # 'drop' needs a wider ring for its name than 'A', of which some come before it, some after.
    for diagram in all_diagrams(view(TWO_LONG_STRETCHES.format(units=20))):
        if diagram.name != "key":
            assert len({node.across for node in diagram.nodes}) == 1


def test_the_search_finds_the_same_seats_every_time() -> None:
    assert dot_texts(all_diagrams(view(BYZANTINE))) == dot_texts(all_diagrams(view(BYZANTINE)))


# -- rows of sheets ------------------------------------------------------------------------------


SHEETS = ("european_4", "european_6", "european_8", "european_tube", "japanese_12")


@pytest.mark.parametrize("name", [*IN_TURN, "three rows in turn", *SHEETS])
def test_rows_go_down_also_where_they_take_turns(name: str) -> None:
    if name in SHEETS:
        seen, diagrams = shipped(name)
    else:
        seen = view(in_turn(name))
        diagrams = tuple(all_diagrams(seen))
    at: dict[Ring, float] = {}
    for diagram in diagrams:
        if diagram.name != "window":
            at |= {n.ring: n.at[1] for n in diagram.nodes if not n.moved}
    below = 0
    for act in seen.weave.work.acts:
        for a, b in ((a, b) for a in act.new for b in act.through if a in at and b in at):
            if a.row > b.row:
                below += 1
                assert at[a] <= at[b], f"{a} hangs from {b} and stands above it"
    assert below
    # What a row begins with stands below all that the row before it begins with.
    begins: dict[int, list[float]] = {}
    for act in seen.weave.work.acts:
        shown = [at[r] for r in act.new if r in at]
        if shown and act.step.number == first_step(seen, act.row):
            begins.setdefault(act.row, []).extend(shown)
    assert len(begins) >= 2
    for row in begins:
        assert row + 1 not in begins or max(begins[row + 1]) < min(begins[row])


def first_step(seen: View, row: int) -> int:
    """The number of the step with which a row begins."""
    return min(a.step.number for a in seen.weave.work.acts if a.row == row and a.new)


@pytest.mark.parametrize("name", [*IN_TURN, "three rows in turn", *SHEETS, "japanese_honeycomb"])
def test_the_name_of_a_row_stands_beside_one_of_its_rings_and_rows_are_named_downwards(
    name: str,
) -> None:
    diagrams = all_diagrams(view(in_turn(name))) if name not in WEAVES else shipped(name)[1]
    named = 0
    for diagram in diagrams:
        told = [c for c in diagram.captions if c.left and c.text.startswith("row ")]
        rows = sorted({n.ring.row for n in diagram.nodes if not n.moved})
        if not told or diagram.name == "unit":
            continue
        assert len(told) == len(rows)
        numbers = [int(c.text.removeprefix("row ")) for c in told]
        heights = [c.at[1] for c in told]
        assert numbers == sorted(numbers)
        assert heights == sorted(set(heights), reverse=True)
        for row, height in zip(rows, heights, strict=True):
            own = [n.at[1] for n in diagram.nodes if n.ring.row == row]
            assert any(abs(y - height) < CAPTION for y in own), (diagram.name, row)
        named += len(told)
    assert named >= 4


# -- labels --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        # Broken where dictionaries break these words (from memory).
        ("connector", ("con-", "nector")),
        ("foundation", ("foun-", "dation")),
        ("crosswise 2", ("cross-", "wise", "2")),
        ("horizontal", ("hori-", "zontal")),
        ("interconnecting", ("inter-", "con-", "necting")),
        ("blue-left", ("blue-", "left")),
        ("starter", ("starter",)),
        ("averylongnamethatgoesonandonandon 12", ("averyl…", "onandon", "12")),
    ],
)
def test_a_long_name_is_broken_at_a_syllable_and_keeps_its_number(
    name: str, lines: tuple[str, ...]
) -> None:
    assert label_lines(name) == lines


@given(st.text("abcdeiou-_é", min_size=1, max_size=40), st.sampled_from(["", " 3", " 12"]))
def test_labels_have_at_most_three_short_lines(role: str, number: str) -> None:
    lines = label_lines(role + number)
    assert len(lines) <= 3
    assert max(map(len, lines)) <= 7
    assert not number or lines[-1] == number.strip()


def test_two_names_never_get_the_same_label() -> None:
    names = ["connector", "con-nector", "averylongXnamethatgoeson", "averylongYnamethatgoeson"]
    assert len({"".join(x) for x in distinct_labels(names).values()}) == 4
    assert distinct_labels(["connector"]) == {"connector": ("con-", "nector")}


@pytest.mark.parametrize(
    ("through", "side"),
    [("first next A, first next next A", 1), ("last A, last prev A", -1)],
)
def test_a_hook_is_drawn_beside_the_row_it_hangs_on(through: str, side: int) -> None:
    """On the top row it stands above it, on the last below it; and midway between its two rings."""
    text = "first row:\n  close A\nrow:\n  add A through above A, above next A if there\n"
    text += f"piece:\n  sheet 6 rows of 5 units\nfinish:\n  add hook through {through} picks 2\n"
    picture = next(d for d in all_diagrams(view(text)) if d.name == "window")
    at = {n.ring: n.at for n in picture.nodes}
    hook = next(ring for ring in at if ring.role == "hook")
    row = 1 if side > 0 else 6
    two = [at[r] for r in at if r.row == row and r.unit in ((2, 3) if side > 0 else (4, 5))]
    assert len(two) == 2
    assert at[hook][0] == pytest.approx(sum(x for x, _ in two) / 2)
    others = [y for ring, (_, y) in at.items() if ring != hook]
    assert at[hook][1] > max(others) if side > 0 else at[hook][1] < min(others)
