"""How little of a piece is worked out, and for how much of it each place of that stands.

Counted by hand: within a stretch two reaches of the steps are kept in front, then one cycle, then
one reach and a unit; what lies between cycle and end is left out in whole cycles.
"""

from __future__ import annotations

import pytest
from helpers import (
    BYZANTINE,
    DOUBLED,
    EUROPEAN,
    PERSIAN_LINKED,
    SIMPLE,
    SPIRAL_LOOP,
    TUBE,
    view,
)
from small_recipes import recipe

PLAIN = "start:/close A/unit:/add A through prev A"
TURNS = "start:/close A/unit a:/add A through prev A/unit b:/add A through prev A, prev prev A"
TURNS += " if there"
ROWS = (
    "first row:/close A/row x:/add A through above above A if there, above A/row y:"
    "/add A through above A/turn over/last row:/add A through above A"
    "/piece:/sheet {} rows of 40 units"
)

#: Places laid out, as (number in the piece, for how many it stands).
ENDS = [(1, 1), (2, 1)]
EVERY_UNIT: list[tuple[str, list[tuple[int, int]]]] = [
    (recipe(f"{PLAIN}/piece:/chain 6 units"), [(n, 1) for n in range(1, 7)]),  # nothing to gain
    (recipe(f"{PLAIN}/piece:/chain 7 units"), [*ENDS, (3, 3), (6, 1), (7, 1)]),
    (recipe("unit:/close A/piece:/chain 30 units"), [(1, 29), (30, 1)]),  # no step reaches back
    (DOUBLED, [*ENDS, (3, 43), (46, 1), (47, 1)]),  # 190 mm, of which ten units are 41
    (BYZANTINE, [*ENDS, (3, 16), (19, 1), (20, 1)]),
    # front and back in turns: two units a cycle; so is a unit that turns the work over
    (PERSIAN_LINKED, [*ENDS, (3, 10), (4, 10), (23, 1), (24, 1)]),
    (recipe(f"{PLAIN}/turn over/piece:/chain 30 units"),
     [*ENDS, (3, 13), (4, 13), (29, 1), (30, 1)]),
    (recipe(f"{PLAIN}/turn over/turn over/piece:/chain 30 units"),
     [*ENDS, (3, 26), (29, 1), (30, 1)]),
    # a reach of two: four, one, three
    (SPIRAL_LOOP, [(n, 1) for n in range(1, 5)] + [(5, 50)] + [(n, 1) for n in (55, 56, 57)]),
    (recipe(f"{TURNS}/piece:/chain 11 units"), [(n, 1) for n in range(1, 12)]),
    (recipe(f"{TURNS}/piece:/chain 12 units"),
     [(n, 1) for n in range(1, 5)] + [(5, 2), (6, 2)] + [(n, 1) for n in range(9, 13)]),
    # each run is cut for itself, as are the units on both sides of one with a section of its own
    (recipe(f"{TURNS}/piece:/chain of 30 a, b, 30 a"),
     [(n, 1) for n in range(1, 5)] + [(5, 23)] + [(n, 1) for n in (28, 29, 30, 31)]
     + [(n, 1) for n in range(32, 36)] + [(36, 23)] + [(n, 1) for n in (59, 60, 61)]),
    *((recipe(f"{PLAIN}/unit 20 {how}:/close {new}/piece:/chain 40 units"),
       [*ENDS, (3, 15), (18, 1), (19, 1), (20, 1), (21, 1), (22, 1), (23, 16), (39, 1), (40, 1)])
      for how, new in (("also", "B"), ("instead", "A"))),
    # unit 20 is a b, so unit 21 is an a again: 19 = 4 + 2 × 6 + 3, 20 = 4 + 2 × 6 + 4
    (recipe(f"{TURNS}/unit 20:/add A through prev A, prev prev A/piece:/chain 40 units"),
     [(n, 1) for n in range(1, 5)] + [(5, 6), (6, 6)] + [(n, 1) for n in range(17, 25)]
     + [(25, 6), (26, 6)] + [(n, 1) for n in range(37, 41)]),
    (EUROPEAN, [*ENDS, (3, 8), (11, 1), (12, 1)]),
    (TUBE, [*ENDS, (3, 6), (9, 1), (10, 1)]),
    (recipe(ROWS.format(40)), [(1, 39), (40, 1)]),  # no step reaches along the row
]  # fmt: skip
EVERY_ROW: list[tuple[str, list[tuple[int, int]]]] = [
    (EUROPEAN, [(1, 1), (2, 1), (3, 1), (4, 3), (5, 3), (10, 1)]),  # back and forth: two rows
    (TUBE, [(1, 1), (2, 1), (3, 1), (4, 26), (30, 1)]),
    # two rows a cycle, each step reaches two rows back; first and last row stand by themselves
    (recipe(ROWS.format(40)),
     [(n, 1) for n in range(1, 6)] + [(6, 16), (7, 16)] + [(n, 1) for n in (38, 39, 40)]),
    (recipe(ROWS.format(12)), [(n, 1) for n in range(1, 13)]),
    (recipe(f"{PLAIN}/piece:/chain 30 units"), [(1, 1)]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "units"), EVERY_UNIT)
def test_how_few_units_are_worked_out(text: str, units: list[tuple[int, int]]) -> None:
    layout = view(text).weave.work.layout
    along = range(1, layout.units + 1)
    assert [(layout.number(u), layout.stand_for_each(1, u)[0]) for u in along] == units
    # each unit of the piece is stood for once, in its own number
    told = [n for u in along for n in layout.numbers(1, u)[1]]
    assert sorted(told) == list(range(1, view(text).weave.layout.units + 1))
    last = units[-1][0]
    assert [layout.number(u) for u in (-1, 0, layout.units + 1, layout.units + 2)] == [
        -1, 0, last + 1, last + 2,
    ]  # fmt: skip


@pytest.mark.parametrize(("text", "rows"), EVERY_ROW)
def test_how_few_rows_are_worked_out(text: str, rows: list[tuple[int, int]]) -> None:
    layout = view(text).weave.work.layout
    down = range(1, layout.rows + 1)
    assert [(layout.row_number(r), layout.stand_for_each(r, 1)[1]) for r in down] == rows
    told = [n for r in down for n in layout.numbers(r, 1)[0]]
    assert sorted(told) == list(range(1, view(text).weave.layout.rows + 1))
    last = rows[-1][0]
    assert [layout.row_number(r) for r in (0, layout.rows + 1)] == [0, last + 1]
    many = {layout.stands_for(r, u) for r in down for u in range(1, layout.units + 1)}
    assert max(many) == max(n for _, n in rows) * max(
        layout.stand_for_each(1, u)[0] for u in range(1, layout.units + 1)
    )


@pytest.mark.parametrize(
    ("text", "sizes"),
    # three reaches, a cycle and a unit; of rows two reaches and a cycle, the first row besides
    [
        (BYZANTINE, [(1, 5)]),
        (SPIRAL_LOOP, [(1, 8)]),
        (PERSIAN_LINKED, [(1, 6)]),
        (recipe(f"{TURNS}/piece:/chain of 30 a, b, 30 a"), [(1, 8), (1, 8)]),
        (recipe(f"{TURNS}/piece:/chain 40 units"), [(1, 9)]),
        (EUROPEAN, [(5, 5)]),
        (TUBE, [(4, 5)]),
        (recipe(ROWS.format(40)), [(7, 2)]),
    ],
)
def test_how_much_of_the_endless_pattern_is_worked_out(
    text: str, sizes: list[tuple[int, int]]
) -> None:
    layout = view(text).weave.layout
    steady = [layout.steady(stretch) for stretch in layout.turning]
    assert [(s.rows, s.units) for s in steady] == sizes
    assert all(s.stands_for(1, u) == 1 for s in steady for u in range(1, s.units + 1))


@pytest.mark.parametrize(
    ("place", "ring", "rows", "units"),
    [
        # of 24 units, worked out are 1, 2, 3 to 21 by twos, 4 to 22 by twos, 23, 24
        ((1, 1), (1, 1), [1], [1]),
        ((1, 3), (1, 3), [1], range(3, 22, 2)),
        ((1, 4), (1, 4), [1], range(4, 23, 2)),
        ((1, 5), (1, 5), [1], [23]),
        ((1, 3), (1, 2), [1], range(2, 21, 2)),  # from the one before each of these
        ((1, 7), (1, 0), [1], [0]),  # the finish takes out a ring of the start
    ],
)
def test_which_rings_of_the_piece_one_stands_for(
    place: tuple[int, int], ring: tuple[int, int], rows: list[int], units: list[int]
) -> None:
    found = view(PERSIAN_LINKED).weave.work.layout.numbers_of(place, ring)
    assert tuple(map(list, found)) == (rows, list(units))


def test_places_that_stand_for_two() -> None:
    """Of twelve units in turns 5 stands for 5 and 7, and 6 for 6 and 8."""
    layout = view(recipe(f"{TURNS}/piece:/chain 12 units")).weave.work.layout
    told = {(6, 6): [6, 8], (6, 5): [5, 7], (5, 4): [4, 6], (6, 4): [4, 6], (7, 7): [9]}
    assert {pair: list(layout.numbers_of((1, pair[0]), (1, pair[1]))[1]) for pair in told} == told


def test_which_rings_of_a_sheet_one_stands_for() -> None:
    """Rows 1, 2, 3, 4 to 8 and 5 to 9 by twos, 10; units 1, 2, 3 to 10, 11, 12."""
    layout = view(EUROPEAN).weave.work.layout
    told = {
        ((4, 3), (4, 3)): ([4, 6, 8], [*range(3, 11)]),
        ((5, 3), (4, 2)): ([4, 6, 8], [*range(2, 10)]),
        ((6, 4), (6, 4)): ([10], [11]),
        ((6, 3), (6, 3)): ([10], [*range(3, 11)]),
        ((7, 0), (6, 1)): ([10], [1]),
        ((7, 0), (0, 0)): ([0], [0]),
    }
    for (place, ring), numbers in told.items():
        assert tuple(map(list, layout.numbers_of(place, ring))) == numbers


@pytest.mark.parametrize(
    ("text", "more", "units", "rows"),
    [
        # a place more than the reach on each side: 2 × 2 + 1 + 3
        (BYZANTINE, {"room": 1}, [*range(1, 5), 5, 18, 19, 20], [1]),
        (BYZANTINE, {"room": 2}, [*range(1, 8), *range(17, 21)], [1]),
        # so many cycles are left out at a time: of 25 that could be, 24 and 25
        (SIMPLE, {"step": 4}, [1, 2, 3, 28, 29, 30], [1]),
        (SIMPLE, {"step": 5}, [1, 2, 3, 29, 30], [1]),
        (EUROPEAN, {"row_step": 2}, [1, 2, 3, 11, 12], list(range(1, 11))),  # 9 of 5 + 4
        (EUROPEAN, {"room": 1}, [1, 2, 3, 4, 5, 10, 11, 12], list(range(1, 11))),
        (TUBE, {"room": 1}, [1, 2, 3, 4, 5, 8, 9, 10], [1, 2, 3, 4, 5, 6, 29, 30]),
        (TUBE, {"row_step": 2}, [1, 2, 3, 9, 10], [1, 2, 3, 4, 29, 30]),
    ],
)
def test_windows_that_are_wider(
    text: str, more: dict[str, int], units: list[int], rows: list[int]
) -> None:
    """The numbers of the units and rows that are worked out; those left out come behind a cycle."""
    layout = view(text).weave.layout.window(**more)
    assert [layout.number(u) for u in range(1, layout.units + 1)] == units
    assert [layout.row_number(r) for r in range(1, layout.rows + 1)] == rows
