"""Where rings stand on the grid of diagrams, counted by hand in half columns and half lanes."""

from __future__ import annotations

from small_recipes import weave

from ringstep.draw.grid import Cell, Named, Plan, RingBlock, links_made, ring_block, rings_ever
from ringstep.weave.work import Ring

A, B = ("A", 1), ("B", 1)
CHAIN = "start: / close A / unit: / add A through prev A / add B through A / piece: / chain 9 units"
ROWS = "first row: / close A / row: / add A through above A, above next A if there / piece: / sheet"
ONE_WAY = f"{ROWS} 6 rows of 8 units"
FORTH = f"{ONE_WAY} / rows back and forth"
STRANDS = (
    "start: / close 2 A / unit: / add 2 A through prev A / add B through A / finish: / add F"
    " through every last A / piece: / strands left 3 units, right 2 units, mid 1 units"
)


def plan(body: str, *more: Named, **looks: object) -> Plan:
    return Plan(weave(body).work, dict.fromkeys((A, B, *more), 18.0), **looks)  # type: ignore[arg-type]


def block(count: int) -> RingBlock:
    return ring_block(tuple(("B", n) for n in range(1, count + 1)))


# -- blocks of rings that one step places -----------------------------------------------------


def test_the_rings_of_a_block_stand_in_rows_round_its_middle() -> None:
    def cells(count: int, shape: tuple[int, int]) -> list[Cell]:
        return list(block(count).cells(10, 20, shape).values())

    assert cells(1, (1, 2)) == [(10, 20)]
    assert cells(3, (1, 4)) == [(10, 24), (10, 20), (10, 16)]
    # Two halves in a row stand as far to the left of the middle as to its right.
    assert cells(2, (2, 2)) == [(9, 20), (11, 20)]
    assert cells(4, (2, 6)) == [(9, 23), (11, 23), (9, 17), (11, 17)]
    # Five in rows of three and two, the short row in the middle below the long one.
    assert cells(5, (3, 2)) == [(8, 21), (10, 21), (12, 21), (9, 19), (11, 19)]
    assert list(block(2).cells(0, 0, (1, 2))) == [("B", 1), ("B", 2)]


def test_the_shapes_that_are_tried() -> None:
    def shapes(count: int) -> list[tuple[int, int]]:
        return list(block(count).shapes)

    assert shapes(1) == [(1, 2)]
    # Two rings above one another 2, 4 or 6 half lanes apart, or side by side.
    assert shapes(2) == [(1, 2), (1, 4), (1, 6), (2, 2)]
    assert shapes(3) == [(1, 2), (1, 4), (2, 2), (2, 4), (2, 6), (3, 2)]
    assert shapes(4) == [(1, 2), (1, 4), (2, 2), (2, 4), (2, 6)]  # four side by side are too wide
    assert shapes(5) == [(1, 2), (3, 2), (3, 4), (3, 6)]
    assert shapes(12) == [(1, 2), (6, 2), (6, 4), (6, 6)]
    assert shapes(13) == [(4, 2)]  # a crowd is as wide as it is high
    assert shapes(17) == [(5, 2)]


# -- what is drawn ----------------------------------------------------------------------------


def test_links_and_rings_are_told_once_with_what_was_taken_out() -> None:
    work = weave(
        "start: / close A / add B through A / add C around B / unit: / add A through prev A"
        " / piece: / chain 2 units / finish: / take out B"
    ).work
    a0, b0, c0, a1, a2 = (
        Ring("A", 1, 1, 0), Ring("B", 1, 1, 0), Ring("C", 1, 1, 0), Ring("A", 1, 1, 1),
        Ring("A", 1, 1, 2),
    )  # fmt: skip
    assert rings_ever(work) == [a0, b0, c0, a1, a2]
    assert links_made(work) == [(b0, a0), (c0, b0), (a1, a0), (a2, a1)]


def test_the_first_rings_of_a_loop_stand_once_more_behind_the_last() -> None:
    body = "start: / close A / unit: / add A through prev A / piece: / loop 20 units"
    seen = plan(f"{body} / finish: / add B through last A, first A")
    # Shown are the start, five units and the finish: once round is seven places.
    first, twin = Ring("A", 1, 1, 0), Ring("A", 1, 1, 7)
    assert list(seen.units) == [*range(8)]
    assert seen.again == {first: twin}
    finish = Ring("B", 1, 1, 6)
    assert seen.links[-2:] == [(finish, Ring("A", 1, 1, 5)), (finish, twin)]
    assert twin in seen.rings
    assert first in seen.rings
    assert plan(CHAIN).again == {}
    tube = "first row: / close A / row: / add A through above A, above next A / piece: / tube 30"
    seen = plan(f"{tube} rows of 10 units")
    # A round shows five places, so the copy of the first one is the sixth.
    assert {(a.row, a.unit, b.row, b.unit) for a, b in seen.again.items()} == {
        (row, 1, row, 6) for row in (1, 2, 3, 4)
    }
    assert all(abs(a.unit - b.unit) <= 1 for a, b in seen.links)


# -- sizes ------------------------------------------------------------------------------------


def test_the_grid_is_made_for_the_rings_of_the_unit() -> None:
    body = "start: / close H / unit: / add A through prev A if there, prev H if there / add k"
    work = weave(f"{body} through A / piece: / chain 9 units").work
    sizes = {("H", 1): 24.06, A: 20.0, ("k", 1): 18.0}
    seen = Plan(work, sizes)
    assert seen.size == 20
    assert (seen.hx, seen.hy) == ((20 + 13) / 2, (20 + 12) / 2)
    assert seen.extra == {("H", 1): 4.1, A: 0.0, ("k", 1): 0.0}
    assert Plan(work, {}).size == 18
    # Where the unit has none of them, the largest of all counts.
    assert Plan(work, {("H", 1): 24.0}).size == 24


# -- places of units and rows -----------------------------------------------------------------


def test_units_stand_one_behind_the_other_start_and_finish_as_wide_as_they() -> None:
    seen = plan(f"{CHAIN} / finish: / add B through last A", widths={frozenset((A, B)): 4})
    assert list(seen.units) == [0, 1, 2, 3, 4, 5, 6]
    assert seen.origins() == {0: 0, 1: 4, 2: 8, 3: 12, 4: 16, 5: 20, 6: 24}
    seen.widths = {frozenset((A, B)): 4, frozenset((A,)): 6}  # the start has a width of its own
    assert seen.origins()[1] == 6
    assert seen.width(6) == 4
    assert plan(CHAIN).origins()[5] == 10  # nothing is known: two half columns each
    assert seen.kind(3) == {A, B}
    assert seen.kind(99) == frozenset()


def test_every_second_unit_of_a_mirrored_chain_stands_upside_down() -> None:
    seen = plan(CHAIN, widths={frozenset((A, B)): 4}, cells={A: (1, 3), B: (2, -5)})
    origins = seen.origins()
    assert seen.cell(Ring("A", 1, 1, 2), origins) == (9, 3)
    assert seen.cell(Ring("X", 1, 1, 2), origins) == (8, 0)  # no seat as yet
    seen.mirrored = True
    ups = [seen.cell(Ring("A", 1, 1, unit), origins)[1] for unit in (0, 1, 2, 3)]
    assert ups == [3, -3, 3, -3]
    seen.lanes = {"": 10}
    assert seen.cell(Ring("B", 1, 1, 1), origins) == (6, 15)


def test_rows_of_a_sheet_stand_below_one_another_as_their_rings_hang() -> None:
    seen = plan(FORTH, widths={frozenset((A,)): 4}, cells={A: (1, 3)})
    # Rows on and back: what is 'next' goes back in row 2, on in row 3.
    assert [seen.slants[row] for row in (1, 2, 3, 4)] == [0.0, -0.5, 0.0, -0.5]
    at = {row: seen.cell(Ring("A", 1, row, 3), {}) for row in (1, 2, 3)}
    assert at == {1: (12 + 1, 3 - 2), 2: (10 - 1, 3 - 4), 3: (12 + 1, 3 - 6)}
    seen.deep, seen.lean = 5, 3
    at = {row: seen.cell(Ring("A", 1, row, 3), {}) for row in (1, 2, 3, 4)}
    # A lean counts for the rows worked back.
    assert at == {1: (13, 3 - 5), 2: (9 + 3, 3 - 10), 3: (13, 3 - 15), 4: (9 + 3, 3 - 20)}


def test_rows_worked_one_way_lean_more_from_row_to_row() -> None:
    seen = plan(ONE_WAY, widths={frozenset((A,)): 4}, cells={A: (0, 0)}, lean=3, deep=2)
    assert [seen.slants[row] for row in (1, 2, 3)] == [0.0, 0.5, 1.0]
    at = {row: seen.cell(Ring("A", 1, row, 3), {}) for row in (1, 2, 3)}
    assert at == {1: (12, -2), 2: (14 + 3, -4), 3: (16 + 6, -6)}


def test_the_finish_of_a_sheet_stands_in_the_middle_of_what_it_meets() -> None:
    low = "/ finish: / add B through last A"
    seen = plan(f"{ROWS} 3 rows of 4 units {low}", widths={frozenset((A,)): 4}, cells={A: (0, 0)})
    last = max(r.row for r in seen.rings)
    finish = next(r for r in seen.rings if r.role == "B")
    assert (finish.row, finish.unit) == (last, 0)
    met = next(b for a, b in seen.links if a == finish)
    assert (met.row, met.unit) == (3, 4)
    # The third row stands one place further along than the first.
    assert seen.middles == {last: (5.0, 3)}
    assert seen.levels == {1: 1, 2: 2, 3: 3, 4: 4}
    assert seen.cell(finish, {}) == (20, -8)
    # What hangs from the upper half of the rows alone stands on top.
    top = plan(f"{ROWS} 2 rows of 4 units / finish: / add B through first A")
    assert top.levels == {1: 1, 2: 2, 3: 0}
    # Of rings in two rows those in the nearer one count.
    both = plan(f"{ROWS} 3 rows of 4 units / finish: / add B through first A, last A")
    assert both.levels == {1: 1, 2: 2, 3: 3, 4: 4}
    assert both.middles == {4: (5.0, 3)}
    # No width is known: a place is 2 half columns wide; what meets nothing stands at the first.
    assert both.cell(Ring("A", 1, 1, 3), {}) == (6, -2)
    alone = plan(f"{ROWS} 3 rows of 4 units / finish: / close B")
    assert alone.middles == {}
    assert alone.cell(Ring("B", 1, 4, 0), {}) == (2, -8)


# -- strands ----------------------------------------------------------------------------------


def test_strands_stand_side_by_side_from_the_start_to_the_finish() -> None:
    seen = plan(STRANDS, ("A", 2), ("F", 1))
    # Strand left has units 1 to 3, right 4 and 5, mid 6; 7 is the finish.
    assert [seen.column(unit) for unit in range(8)] == [0, 1, 2, 3, 1, 2, 1, 4]
    assert seen.columns == {0: [0], 1: [1, 4, 6], 2: [2, 5], 3: [3], 4: [7]}
    own = frozenset((A, ("A", 2), B))
    seen.widths = {own: 6, frozenset((A, ("A", 2))): 4}
    # The start is 4 wide, and one half column is left free beside it.
    assert seen.origins() == {0: 0, 1: 5, 2: 11, 3: 17, 4: 5, 5: 11, 6: 5, 7: 23}
    assert [seen.strand(Ring("A", 1, 1, unit)) for unit in (0, 1, 4, 6, 7)] == [
        "", "left", "right", "mid", "",
    ]  # fmt: skip
    assert plan(CHAIN).strand(Ring("A", 1, 1, 1)) == ""


def test_strands_are_as_far_apart_as_their_rings_and_the_names_of_units_need() -> None:
    seen = plan(STRANDS, ("A", 2), ("F", 1), cells={A: (0, 2), ("A", 2): (0, 0), B: (2, -1)})
    seen.spread_lanes()
    # Each strand is 3 high, 3 are left free: 12 from top to bottom of 3 strands and 2 gaps is
    # 3 * 3 + 2 * 3 = 15, half of it above the middle.
    left, right, mid = (seen.lanes[name] for name in ("left", "right", "mid"))
    assert left - right == right - mid == 6
    top, bottom = left + 2, mid - 1
    assert top - bottom == 15
    assert abs(top + bottom) <= 1
    # Upside down in turn a strand is as high on the other side.
    seen.mirrored = True
    seen.spread_lanes()
    left, right, mid = (seen.lanes[name] for name in ("left", "right", "mid"))
    assert left - right == right - mid == 4 + 3


def test_a_strand_of_rings_of_its_own_begins_where_its_first_ring_does() -> None:
    body = (
        "start: / close A / unit left: / add B through prev A if there, prev B if there / unit"
        " right: / add C through prev A if there, prev C if there / piece: / strands left 3 units,"
        " right 2 units"
    )
    c = ("C", 1)
    seen = plan(body, c, cells={A: (0, 0), B: (4, 1), c: (-2, -1)})
    seen.spread_lanes()
    assert (seen.cells[B], seen.cells[c]) == ((0, 1), (0, -1))
    shared = plan(STRANDS, ("A", 2), cells={A: (4, 1), ("A", 2): (4, 0), B: (6, 0)})
    shared.spread_lanes()
    assert shared.cells[A] == (4, 1)  # every strand has these


# -- plans come back ----------------------------------------------------------------------------


def test_a_plan_goes_back_to_what_was_noted() -> None:
    seen = plan(CHAIN, cells={A: (1, 2)}, widths={frozenset((A, B)): 4})
    seen.mirrored, seen.deep, seen.lean = True, 5, 3
    noted = seen.taken()
    seen.cells[A], seen.widths = (9, 9), {}
    seen.mirrored, seen.deep, seen.lean = False, 1, 0
    seen.restore(noted)
    assert seen.taken() == noted == ({A: (1, 2)}, {frozenset((A, B)): 4}, True, 5, 3)
    seen.cells[A] = (8, 8)
    assert noted[0] == {A: (1, 2)}


def test_first_rings_of_rows_are_known_for_each_pair_of_rows() -> None:
    body = "first row: / close A / row left: / add 2 L through above A if there, above R if there /"
    body += " row right: / add R through above L / piece: / sheet 4 rows of 4 units / order left,"
    seen = plan(f"{body} right", ("L", 1), ("L", 2), ("R", 1))
    pair = (("L", 1), ("L", 2))
    assert seen.heads == {((A,), pair), (pair, (("R", 1),)), ((("R", 1),), pair)}
    assert plan(CHAIN).heads == set()
