"""Which block is worked at which place, in which order, and which blocks at none."""

from __future__ import annotations

import pytest
from small_recipes import weave

from ringstep.weave.layout import Layout
from ringstep.weave.places import places_in_order
from ringstep.weave.stretches import Stretch, is_plan

UNIT = "add A through prev A if there"
TURNS = f"unit x:/{UNIT}/unit y:/{UNIT}"
SHEET = "start:/close S/first row:/close A/row:/close A/again:/close G/last row:/close A/row end:"
SHEET += "/close E/finish:/close F/piece:/sheet 4 rows of 2 units/rows back and forth"
TUBE = "first row:/close A/row:/close A/extra place:/close A/shared place:/close A/piece:/tube 4"
TUBE += " rows of 2 units/shape:/row 2  2 more/row 4  2 less"


def layout(body: str) -> Layout:
    return weave(body).layout


@pytest.mark.parametrize(
    ("body", "order"),
    [
        (f"start:/close A/unit:/{UNIT}/again:/close G/finish:/close F/piece:/chain 3 units",
         "start 1.0, unit 1.1, unit 1.2, unit 1.3, again 1.1, again 1.2, again 1.3, finish 1.4"),
        (f"unit:/{UNIT}/unit 2 also:/close B/unit 3 instead:/{UNIT}/piece:/chain 4 units",
         "unit 1.1, unit 1.2, unit 2 also 1.2, unit 3 instead 1.3, unit 1.4"),
        # a unit of its own number stands in its turn
        (f"{TURNS}/unit 2:/{UNIT}/piece:/chain 5 units/order x, y",
         "unit x 1.1, unit 2 1.2, unit x 1.3, unit y 1.4, unit x 1.5"),
        (f"{TURNS}/piece:/chain 5 units",
         "unit x 1.1, unit y 1.2, unit x 1.3, unit y 1.4, unit x 1.5"),
        (f"{TURNS}/piece:/chain of 2 x, y, x",
         "unit x 1.1, unit x 1.2, unit y 1.3, unit x 1.4"),
        (f"start:/close A/unit l:/{UNIT}/unit:/{UNIT}/finish:/close F/piece:/strands l 2 units, r 1"
         " units, m 2 units", "start 1.0, unit l 1.1, unit l 1.2, unit 1.3, unit 1.4, unit 1.5,"
         " finish 1.6"),
        (SHEET, "start 0.0, first row 1.1, first row 1.2, row end 1.3, row 2.2, row 2.1, again 2.2,"
         " again 2.1, row end 2.3, row 3.1, row 3.2, again 3.1, again 3.2, row end 3.3, last row"
         " 4.2, last row 4.1, row end 4.3, finish 5.0"),
        ("first row:/close A/row x:/close A/row y:/close A/last row:/close A/piece:/sheet 7 rows of"
         " 1 units/order x, x, y", "first row 1.1, row x 2.1, row x 3.1, row y 4.1, row x 5.1, row"
         " x 6.1, last row 7.1"),
        ("first row:/close A/last row:/close A/piece:/sheet 2 rows of 1 units",
         "first row 1.1, last row 2.1"),
        (TUBE, "first row 1.1, first row 1.2, row 2.1, extra place 2.2, row 2.3, extra place 2.4,"
         " row 3.1, row 3.2, row 3.3, row 3.4, shared place 4.1, shared place 4.2"),
        ("row:/close A/piece:/sheet 3 rows of 4 units/rows back and forth/shape:/row 2  1 less"
         "/row 3  1 worked, 1 empty, 1 worked, 1 empty",
         "row 1.1, row 1.2, row 1.3, row 1.4, row 2.4, row 2.3, row 2.2, row 3.1, row 3.3"),
    ],
)  # fmt: skip
def test_places_in_the_order_of_the_work(body: str, order: str) -> None:
    laid = layout(body)
    assert ", ".join(f"{b} {row}.{unit}" for b, row, unit in places_in_order(laid)) == order
    # each block is one of those that stand at its place
    assert all(b in laid.blocks_at(row, unit) for b, row, unit in places_in_order(laid))
    assert laid.idle == ()


def test_what_stands_at_a_place() -> None:
    sheet, tube = layout(SHEET), layout(TUBE)

    def blocks(laid: Layout, row: int, unit: int) -> str:
        return ", ".join(map(str, laid.blocks_at(row, unit)))

    assert [blocks(sheet, row, 1) for row in range(6)] == [
        "start", "first row", "row, again", "row, again", "last row", "finish",
    ]  # fmt: skip
    assert [blocks(sheet, row, unit) for row, unit in ((0, 0), (5, 0), (2, 0), (2, 3), (4, 9))] == [
        "start", "finish", "row end", "row end", "row end",
    ]  # fmt: skip
    assert [blocks(tube, 2, unit) for unit in (1, 2, 3, 4, 5)] == [
        "row", "extra place", "row", "extra place", ""
    ]  # fmt: skip
    assert [blocks(tube, row, 3) for row in (1, 3, 4)] == ["", "row", ""]
    assert [sheet.way(row) for row in (1, 2, 3, 4)] == [1, -1, 1, -1]
    assert [(sheet.ends(row), sheet.width(row)) for row in (0, 1, 5)] == [((1, 2), 2)] * 3
    assert [tube.width(row) for row in (1, 2, 3, 4)] == [2, 4, 4, 2]
    assert [tube.ends(row) for row in (0, 1, 2, 4, 5)] == [
        (1, 4), (1, 2), (1, 4), (1, 2), (1, 4)
    ]  # fmt: skip
    assert (sheet.places, tube.places, tube.rounds, sheet.rounds) == (8, 12, tube.shape, None)
    assert [tube.has(row, unit) for row, unit in ((0, 1), (1, 2), (1, 3), (4, 2), (5, 1), (2, 0))
            ] == [False, True, False, True, False, False]  # fmt: skip


@pytest.mark.parametrize(
    ("body", "idle"),
    [
        (f"{TURNS}/unit z:/{UNIT}/piece:/chain 5 units/order x, y", ["unit z"]),
        (f"{TURNS}/piece:/chain 1 units/order x, y", ["unit y"]),
        (f"{TURNS}/piece:/chain 2 units/order x, y", []),
        ("row x:/close A/row y:/close A/piece:/sheet 1 rows of 2 units/order x, y", ["row y"]),
        (f"unit:/{UNIT}/row end:/close E/piece:/chain 3 units", ["row end"]),
        (f"unit:/{UNIT}/again:/close E/piece:/chain 3 units", []),
        ("first row:/close A/row:/close A/piece:/sheet 1 rows of 2 units", ["row"]),
        ("first row:/close A/last row:/close A/piece:/sheet 1 rows of 1 units", ["last row"]),
        ("first row:/close A/again:/close G/last row:/close A/piece:/sheet 2 rows of 2 units", []),
        (f"unit:/{UNIT}/unit 9:/{UNIT}/piece:/chain 3 units", ["unit 9"]),
        (f"unit:/{UNIT}/unit 3 also:/close B/piece:/chain 3 units", []),
        (f"unit:/{UNIT}/unit 4 also:/close B/piece:/chain 3 units", ["unit 4 also"]),
        ("row:/close A/extra place:/close A/piece:/sheet 3 rows of 2 units", ["extra place"]),
        ("row:/close A/extra place:/close A/shared place:/close B/piece:/tube 3 rows of 2 units"
         "/shape:/row 2  2 more", ["shared place"]),
        ("row:/close A/row end:/close E/again:/close B/unit 9:/close C/piece:/sheet 3 rows of 2"
         " units", ["unit 9"]),
        (f"start:/close A/finish:/close F/unit:/{UNIT}/piece:/chain 3 units", []),
    ],
)  # fmt: skip
def test_blocks_that_no_place_is_worked_by(body: str, idle: list[str]) -> None:
    assert [str(block) for block in layout(body).idle] == idle


@pytest.mark.parametrize(
    ("body", "places"),
    # carried out whole: the rows times the widest of them
    [
        ("row:/close A/piece:/sheet 3 rows of 4 units/shape:/row 2  1 less", 12),
        ("row:/close A/piece:/tube 3 rows of 2 units/shape:/row 2  2 more", 12),
    ],
)
def test_the_most_places_of_a_shape(
    body: str, places: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ringstep.weave.layout.MOST_SHAPED", places)
    assert layout(body).shape is not None
    monkeypatch.setattr("ringstep.weave.layout.MOST_SHAPED", places - 1)
    assert layout(body).shape is None


def test_a_unit_written_out_in_a_sheet_makes_it_no_wider() -> None:
    laid = layout("row:/close A/unit 9:/close C/piece:/sheet 3 rows of 2 units")
    assert (laid.units, laid.rows, laid.kind, laid.known) == (2, 3, "sheet", True)
    chain = layout("unit 1:/close A/unit 3:/close A/piece:/chain 7 units")
    assert (chain.units, chain.rows, chain.kind) == (3, 1, "chain")


ROWS = "row x:/close A/row y:/close A"


@pytest.mark.parametrize(
    ("body", "uneven", "stretches"),
    # first place, how many, and whether they come round
    [
        (f"{TURNS}/piece:/chain 8 units/order x, x, x, y, x", True, [(1, 8, True)]),
        (f"{TURNS}/piece:/chain 10 units/order x, x, x, y, x", False, [(1, 10, True)]),
        # a plan of the whole piece: its runs, each worked once
        (f"{TURNS}/piece:/chain 5 units/order x, x, x, y, x", False,
         [(1, 3, True), (4, 1, False), (5, 1, False)]),
        (f"{TURNS}/piece:/chain 5 units/order x, y", False, [(1, 5, True)]),
        (f"{TURNS}/piece:/chain 90 mm/order x, x, y", False, [(1, 7, True)]),
        (f"{ROWS}/first row:/close A/piece:/sheet 6 rows of 2 units/order x, x, y", True,
         [(1, 1, False), (2, 5, True)]),
        (f"{ROWS}/first row:/close A/piece:/sheet 7 rows of 2 units/order x, x, y", False,
         [(1, 1, False), (2, 6, True)]),
        (f"{ROWS}/first row:/close A/last row:/close A/piece:/sheet 8 rows of 2 units/order x, x,"
         " y", False, [(1, 1, False), (2, 6, True), (8, 1, False)]),
        (f"{ROWS}/piece:/sheet 5 rows of 2 units/order x, x, y", True, [(1, 5, True)]),
    ],
)  # fmt: skip
def test_an_order_that_is_a_plan(
    body: str, uneven: bool, stretches: list[tuple[int, int, bool]]
) -> None:
    laid = layout(body)
    order = laid.row_order if laid.flat else laid.order
    assert laid.uneven == (order if uneven else ())
    found = laid.down if laid.flat else laid.along
    assert [(s.first, s.count, s.goes_round) for s in found] == stretches


def test_plans_among_lists_of_stretches() -> None:
    x, y = layout(f"{TURNS}/piece:/chain 5 units").order
    plans = {"xy": False, "xxyy": False, "xyxy": False, "xxy": True, "xyx": True, "xxyxx": True,
             "x": False, "xxyyxx": True, "xxyxxy": True}  # fmt: skip
    told = {w: is_plan(tuple({"x": x, "y": y}[c] for c in w)) for w in plans}
    assert told == plans


def test_stretches_that_are_cut() -> None:
    x, y = layout(f"{TURNS}/piece:/chain 5 units").order
    whole = Stretch((x, y), 11, 40, turn=1)
    assert [whole.block(at) for at in (0, 1, 2)] == [y, x, y]
    cut = whole.shortened(4, 2, 3)
    assert (cut.count, cut.cut, cut.behind, cut.cycle) == (10, 30, 6, 2)
    assert [cut.number(at) for at in range(10)] == [*range(11, 17), 47, 48, 49, 50]
    assert [cut.stands_for(at) for at in range(10)] == [1] * 4 + [16] * 2 + [1] * 4
    assert list(cut.numbers(3)) == [14]
    assert list(cut.numbers(4)) == list(range(15, 47, 2))
    assert list(cut.numbers(5)) == list(range(16, 47, 2))
    assert list(cut.numbers(6)) == [47]
    assert whole.shortened(4, 2, 3, 5).cut == 30
    assert whole.shortened(4, 2, 3, 4).cut == 24
    assert Stretch((x,), 1, 11).shortened(4, 2, 3) == Stretch((x,), 1, 11)
    assert Stretch((x,), 1, 12).shortened(4, 2, 3).count == 10
    once = Stretch((x,), 1, 40, goes_round=False)
    assert once.shortened(4, 2, 3) is once
    assert Stretch((), 1, 3).block(1) is None


@pytest.mark.parametrize(
    ("more", "along"),
    # the block of each stretch, its first place, how many, in which turn, whether it follows others
    [
        ("", [("xy", 1, 9, 0, "")]),
        (f"/unit 1:/{UNIT}", [("1", 1, 1, 0, "fixed"), ("xy", 2, 8, 1, "")]),
        (f"/unit 9:/{UNIT}", [("xy", 1, 8, 0, ""), ("9", 9, 1, 0, "fixed")]),
        (f"/unit 4:/{UNIT}/unit 5:/{UNIT}",
         [("xy", 1, 3, 0, ""), ("4", 4, 1, 0, "fixed"), ("5", 5, 1, 0, "fixed"),
          ("xy", 6, 4, 1, "")]),
        (f"/unit 4 instead:/{UNIT}", [("xy", 1, 3, 0, ""), ("4", 4, 1, 0, "once"),
                                      ("xy", 5, 5, 0, "")]),
        ("/unit 4 also:/close B", [("xy", 1, 3, 0, ""), ("xy", 4, 1, 1, "fixed"),
                                   ("xy", 5, 5, 0, "")]),
        ("/unit 1 also:/close B", [("xy", 1, 1, 0, "fixed"), ("xy", 2, 8, 1, "")]),
        ("/unit 10 also:/close B", [("xy", 1, 9, 0, "")]),
    ],
)  # fmt: skip
def test_units_of_their_own_number_part_the_stretches(
    more: str, along: list[tuple[str, int, int, int, str]]
) -> None:
    laid = layout(f"{TURNS}{more}/piece:/chain 9 units/order x, y")
    told = [
        ("".join(str(b.label) for b in s.blocks), s.first, s.count, s.turn,
         "" if s.goes_round else "fixed" if s.fixed else "once") for s in laid.along
    ]  # fmt: skip
    assert told == along
    assert [s.first for s in laid.turning] == [first for _, first, _, _, how in along if not how]


def test_runs_are_parted_by_units_of_their_own_number() -> None:
    plan = layout(f"{TURNS}/unit 2 also:/close B/piece:/chain 5 units/order x, x, x, y, x")
    assert [(s.first, s.count, s.goes_round, s.fixed) for s in plan.along] == [
        (1, 1, True, False), (2, 1, False, True), (3, 1, True, False), (4, 1, False, False),
        (5, 1, False, False),
    ]  # fmt: skip
    laid = layout(f"{TURNS}/unit 2 also:/close B/unit 6 also:/close B/piece:/chain of 3 x, y, 2 x")
    assert [(s.first, s.count, s.goes_round, s.fixed) for s in laid.along] == [
        (1, 1, True, False), (2, 1, False, True), (3, 1, True, False), (4, 1, False, False),
        (5, 1, True, False), (6, 1, False, True),
    ]  # fmt: skip
    assert layout(f"{TURNS}/piece:/chain of x, x, y, 2 x, 3 x").along[-1].count == 5
