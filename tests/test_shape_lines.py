"""Which places each row has by the lines of a shape, and what cannot be, on pieces of six rows."""

from __future__ import annotations

import pytest
from helpers import view
from small_recipes import recipe

from ringstep.weave.shape import Run, Shape

WHOLE: Run = (1, 5)


def shape(lines: str, kind: str = "sheet", turned: bool = True) -> Shape:
    """Six rows of five, of which the second is worked back in a sheet that is turned."""
    body = "first row:/close A/row:/add A through above A if there/piece:/"
    body += f"{kind} 6 rows of 5 units" + "/rows back and forth" * (turned and kind == "sheet")
    seen = view(recipe(f"{body}/shape:/{lines}"))
    assert not seen.troubles
    found = seen.weave.layout.shape
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("lines", "rows"),
    [
        ("row 2  1 less", [WHOLE, *[(2, 5)] * 5]),
        ("row 1  1 less", [(1, 4)] * 6),
        # row 3 ends on the right, row 4 on the left
        ("rows 2 to 4  each 1 less", [WHOLE, (2, 5), (2, 4), *[(3, 4)] * 3]),
        # row 3 begins before the row above
        ("row 2  2 less/row 3  2 more", [WHOLE, (3, 5), *[WHOLE] * 4]),
        ("row 3  1 empty, 3 worked, 1 empty", [WHOLE, WHOLE, *[(2, 4)] * 4]),
        ("row 3  1 empty, 2 worked, 1 worked, 1 empty", [WHOLE, WHOLE, *[(2, 4)] * 4]),
        ("row 3  1 empty, 1 empty, 3 worked", [WHOLE, WHOLE, *[(3, 5)] * 4]),
        ("rows 3 to 4  1 empty, 3 worked, 1 empty/row 5  1 less",
         [WHOLE, WHOLE, (2, 4), (2, 4), (2, 3), (2, 3)]),
        ("row 1  2 empty, 3 worked/row 3  2 more", [(3, 5), (3, 5), *[WHOLE] * 4]),
    ],
)  # fmt: skip
def test_rows_of_a_sheet(lines: str, rows: list[Run]) -> None:
    found = shape(lines)
    assert found.rows == tuple((run,) for run in rows)
    assert found.widths == tuple(last - first + 1 for first, last in rows)
    assert [found.ends(n) for n in range(1, 7)] == rows
    assert found.misfits == ()
    assert not found.round


def test_a_hole_belongs_to_its_row() -> None:
    found = shape("row 3  2 worked, 1 empty, 2 worked/row 5  1 less")
    assert found.rows == (
        (WHOLE,), (WHOLE,), ((1, 2), (4, 5)), (WHOLE,), ((1, 4),), ((1, 4),)
    )  # fmt: skip
    assert found.widths == (5, 5, 4, 5, 4, 4)
    assert found.ends(3) == WHOLE
    assert [found.has(3, unit) for unit in range(7)] == [False, True, True, False, True, True,
                                                         False]  # fmt: skip
    assert [found.has(5, unit) for unit in (1, 4, 5)] == [True, True, False]


@pytest.mark.parametrize(
    ("lines", "rows"),
    [
        ("row 2  1 less", [WHOLE, *[(1, 4)] * 5]),
        ("rows 2 to 4  each 1 less", [WHOLE, (1, 4), (1, 3), *[(1, 2)] * 3]),
    ],
)
def test_rows_that_are_all_worked_one_way(lines: str, rows: list[Run]) -> None:
    assert shape(lines, turned=False).rows == tuple((run,) for run in rows)


@pytest.mark.parametrize(
    ("lines", "widths"),
    [
        ("row 2  10 places", (5, 10, 10, 10, 10, 10)), ("row 2  5 more", (5, 10, 10, 10, 10, 10)),
        ("rows 2 to 4  each 1 more", (5, 6, 7, 8, 8, 8)), ("row 2  1 place", (5, 1, 1, 1, 1, 1)),
        ("row 2  1 less/row 4  2 more", (5, 4, 4, 6, 6, 6)),
        ("rows 2 to 3  8 places", (5, 8, 8, 8, 8, 8)), ("row 2  4 less", (5, 1, 1, 1, 1, 1)),
    ],
)  # fmt: skip
def test_rounds_of_a_tube(lines: str, widths: tuple[int, ...]) -> None:
    found = shape(lines, "tube")
    assert found.rows == tuple(((1, wide),) for wide in widths)
    assert (found.widths, found.misfits, found.round) == (widths, (), True)
    deep = {row: found.alike(row, 1) for row in range(1, 7)}
    for row in deep:
        near = widths[max(row - 2, 0) : row + 1]
        assert deep[row] == (min(near) == max(near))


@pytest.mark.parametrize(
    ("kind", "lines", "told"),
    # what, in which row, how wide the row before is
    [
        ("sheet", "row 2  1 more", [("too wide", 2, 5)]),
        ("sheet", "row 2  2 less/row 3  3 more", [("too wide", 3, 3)]),
        # row 2 and row 4 are worked back, so they would begin behind the fifth place
        ("sheet", "row 2  2 less/row 4  2 more", [("too wide", 4, 3)]),
        ("sheet", "row 1  2 empty, 3 worked/row 2  2 more", [("too wide", 2, 3)]),
        ("sheet", "row 2  5 less", [("nothing left", 2, 5)]),
        ("sheet", "rows 2 to 6  each 1 less", [("nothing left", 6, 1)]),
        ("sheet", "row 1  2 empty, 3 worked/row 2  3 less", [("nothing left", 2, 3)]),
        # what follows from that is not told
        ("sheet", "row 2  9 less/row 3  1 more/row 4  1 less", [("nothing left", 2, 5)]),
        ("sheet", "row 3  9 worked/row 4  1 more", [("places", 3, 5), ("too wide", 4, 5)]),
        ("sheet", "row 3  2 worked, 1 empty, 1 worked", [("places", 3, 5)]),
        ("sheet", "rows 3 to 4  2 worked/row 5  4 worked", [("places", 3, 5), ("places", 5, 5)]),
        ("sheet", "row 3  5 empty", [("all empty", 3, 5)]),
        ("sheet", "row 3  7 places", [("not flat", 3, 5)]),
        ("sheet", "row 7  1 less", [("no such row", 7, 5)]),
        ("sheet", "row 9  1 less", [("no such row", 9, 5)]),
        ("sheet", "rows 5 to 8  each 1 less", [("no such row", 7, 5)]),
        ("tube", "row 2  5 less", [("nothing left", 2, 5)]),
        ("tube", "row 2  6 less/row 3  1 more", [("nothing left", 2, 5)]),
        ("tube", "row 2  1 worked, 4 empty", [("not round", 2, 5)]),
        ("tube", "row 2  8 places/row 4  2 worked", [("not round", 4, 8)]),
        ("tube", "row 7  4 places", [("no such row", 7, 5)]),
    ],
)  # fmt: skip
def test_lines_that_cannot_be(kind: str, lines: str, told: list[tuple[str, int, int]]) -> None:
    found = shape(lines, kind)
    assert [(m.kind, m.row, m.width) for m in found.misfits] == told
    assert all(m.other is None for m in found.misfits)
    # such a row is as wide as the one before it
    for misfit in found.misfits:
        if misfit.row <= 6 and misfit.kind not in ("no such row", "places"):
            assert found.widths[misfit.row - 1] == misfit.width


@pytest.mark.parametrize(
    ("lines", "row", "other"),
    [
        ("row 2  1 less/row 2  2 less", 2, (2, 2)),
        ("rows 2 to 4  each 1 less/rows 3 to 5  each 1 less", 3, (2, 4)),
        ("row 5  1 less/rows 2 to 6  each 1 less", 5, (5, 5)),
        ("row 2  1 less/row 4  1 less/rows 3 to 4  each 1 less", 4, (4, 4)),
    ],
)
def test_a_row_named_twice(lines: str, row: int, other: tuple[int, int]) -> None:
    found = shape(lines)
    assert [(m.kind, m.row, m.other and m.other.rows) for m in found.misfits] == [
        ("named twice", row, other)
    ]
    first = shape("/".join(lines.split("/")[:-1]))
    assert found.rows == first.rows  # the line that names it first holds
