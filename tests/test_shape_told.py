"""What is said of a line of `shape:` that cannot be, what is offered, and what that gives typed in.

The numbers of the words are worked out by hand: a row begins with the places of the row above.
"""

from __future__ import annotations

import pytest
from helpers import findings
from test_shape import sheet

from ringstep.language.findings import Finding, typed_in

ABOVE = (
    "a wider row begins before the first place of the row above; leave places empty there, as in"
    " 'row 1  2 empty, 1 worked, 3 empty'"
)
SAID = "write how many less or more a row has, as in 'rows 2 to 6  each 1 less'"
TOGETHER = "so that worked and empty together come to 7"

#: Rows and units of a sheet; the lines of its shape, the wrong one last; what is said first; what
#: is advised; and the lines that are offered, one of which is typed in in place of another.
TOLD = [
    # a row too many: the line ends earlier, or the sheet gets that row
    ((6, 6), "rows 6 to 7  each 1 less", "there is no row 7: the sheet has 6 rows",
     "name rows that the sheet has", ["row 6  1 less", "sheet 7 rows of 6 units"]),
    ((6, 6), "row 7  1 less", "there is no row 7: the sheet has 6 rows",
     "name rows that the sheet has", ["sheet 7 rows of 6 units"]),
    # named twice: what is left before, and what is left behind
    ((6, 9), "row 4  1 less/rows 2 to 6  each 1 less", "row 4 is named by line 12 already",
     "name each row in one line", ["rows 2 to 3  each 1 less", "rows 5 to 6  each 1 less"]),
    ((6, 9), "row 4  1 less/rows 2 to 4  each 1 less", "row 4 is named by line 12 already",
     "name each row in one line", ["rows 2 to 3  each 1 less"]),
    ((6, 9), "row 4  1 less/rows 4 to 5  each 1 less", "row 4 is named by line 12 already",
     "name each row in one line", ["row 5  1 less"]),
    # 3, 2, 1 and none: begin or end one row off, or one place more for each row
    ((4, 4), "rows 1 to 4  each 1 less",
     "no place is left in row 4: row 3 has 1, and it gets 1 less", "",
     ["rows 2 to 4  each 1 less", "rows 1 to 3  each 1 less", "sheet 4 rows of 5 units"]),
    ((4, 3), "rows 1 to 4  each 1 less",
     "no place is left in row 3: row 2 has 1, and it gets 1 less", "",
     ["rows 1 to 2  each 1 less", "sheet 4 rows of 5 units"]),
    ((3, 2), "rows 1 to 3  each 1 less",
     "no place is left in row 2: row 1 has 1, and it gets 1 less", "",
     ["row 1  1 less", "sheet 3 rows of 4 units"]),
    ((4, 3), "row 1  3 less", "no place is left in row 1: the sheet has 3, and it gets 3 less",
     "take fewer places off: 2 at most", ["sheet 4 rows of 4 units"]),
    ((4, 2), "row 2  2 less", "no place is left in row 2: row 1 has 2, and it gets 2 less",
     "take fewer places off: 1 at most", []),
    ((3, 1), "row 2  1 less", "no place is left in row 2: row 1 has 1, and it gets 1 less", "",
     ["sheet 3 rows of 2 units"]),
    # too wide: the row that they grow from is set in, as far as there is room
    ((5, 6), "row 1  1 worked, 1 empty, 1 worked, 3 empty/row 2  1 more",
     "row 2 has no room for 1 more: it would begin outside the 6 units of the sheet", ABOVE,
     ["row 1  1 empty, 1 worked, 1 empty, 1 worked, 2 empty",
      "row 1  2 empty, 1 worked, 1 empty, 1 worked, 1 empty",
      "row 1  3 empty, 1 worked, 1 empty, 1 worked"]),
    ((3, 20), "row 1  1 worked, 19 empty/row 2  1 more",
     "row 2 has no room for 1 more: it would begin outside the 20 units of the sheet", ABOVE,
     [f"row 1  {n} empty, 1 worked, {19 - n} empty" for n in range(1, 13)]),  # of 19 ways
    ((5, 4), "row 1  2 less/row 2  1 more",
     "row 2 has no room for 1 more: it would begin outside the 4 units of the sheet", ABOVE, []),
    ((5, 4), "row 1  1 more",
     "row 1 has no room for 1 more: it would begin outside the 4 units of the sheet", ABOVE, []),
    # places that do not come to as many as a row has
    ((6, 7), "row 3  3 worked, 3 empty",
     "the line comes to 6 places, and a row of the sheet has 7",
     f"write 1 place more, {TOGETHER}", ["row 3  3 worked, 4 empty", "sheet 6 rows of 6 units"]),
    ((6, 7), "rows 3 to 4  2 empty, 3 worked",
     "the line comes to 5 places, and a row of the sheet has 7",
     f"write 2 places more, {TOGETHER}",
     ["rows 3 to 4  2 empty, 3 worked, 2 empty", "sheet 6 rows of 5 units"]),
    ((6, 7), "row 3  2 empty, 5 worked, 1 empty",
     "the line comes to 8 places, and a row of the sheet has 7",
     f"write 1 place less, {TOGETHER}", ["sheet 6 rows of 8 units"]),
    # places of a round
    ((6, 6), "rows 2 to 3  5 places",
     "a number of places is said of the rounds of a tube, and this is a sheet", SAID,
     ["row 2  1 less"]),
    ((6, 6), "row 2  6 places",
     "a number of places is said of the rounds of a tube, and this is a sheet", SAID,
     ["tube 6 rows of 6 units"]),
    ((6, 6), "rows 2 to 3  6 empty", "no place of rows 2 to 3 is worked",
     "let one place at least be worked; a sheet that ends there has fewer rows", []),
]  # fmt: skip


def errors(text: str) -> list[Finding]:
    return [f for f in findings(text) if f.severity == "error"]


def _counted(rows: int, units: int) -> str:
    return f"{rows} rows of {units} unit{'s' * (units > 1)}"


@pytest.mark.parametrize(("size", "shape", "message", "advice", "offered"), TOLD)
def test_a_line_that_cannot_be(
    size: tuple[int, int], shape: str, message: str, advice: str, offered: list[str]
) -> None:
    text = sheet(*size, *shape.split("/"))
    lines = text.splitlines()
    (found,) = errors(text)
    assert found.message == message
    assert lines[found.span.line - 1].strip() == shape.rpartition("/")[2]
    (label,) = found.labels
    assert label.text == ("row 4, here" if "named" in message else _counted(*size))
    assert label.span.line == (12 if "named" in message else 10)
    says = [f"write '{line}'" for line in offered]
    assert [mend.says for mend in found.mends] == says
    assert " / ".join(found.help) == " / or ".join([advice] * bool(advice) + says)
    for mend, line in zip(found.mends, offered, strict=True):
        after = list(typed_in(tuple(lines), mend.edits))
        (at,) = (n for n, x in enumerate(lines) if x != after[n])
        assert after[at] == f"  {line}"
        assert errors("\n".join(after) + "\n") == []


@pytest.mark.parametrize(
    ("back", "size", "shape", "first", "wide"),
    [
        # one way round the rows grow to the left alone, and back and forth to both sides
        (False, (5, 3), "rows 2 to 3  each 1 more", "2 empty, 3 worked", 5),
        (True, (5, 3), "rows 2 to 3  each 1 more", "1 empty, 3 worked, 1 empty", 5),
        (False, (5, 3), "row 3  2 more", "2 empty, 3 worked", 5),
    ],
)
def test_rows_that_grow_from_a_whole_first_row_get_a_wider_sheet(
    back: bool, size: tuple[int, int], shape: str, first: str, wide: int
) -> None:
    text = sheet(*size, shape, back=back)
    (found,) = errors(text)
    (mend,) = found.mends
    assert mend.says == (
        f"write 'sheet 5 rows of {wide} units', and 'row 1  {first}' above this line"
    )
    after = "\n".join(typed_in(tuple(text.splitlines()), mend.edits)) + "\n"
    assert after == sheet(5, wide, f"row 1  {first}", shape, back=back)
    assert errors(after) == []


def test_the_lowest_row_that_is_written_out_is_set_in() -> None:
    """Rows 3 and 4 grow from row 2, whichever line stands first; row 5 comes behind them."""
    lines = ["row 1  2 worked, 2 empty", "row 2  1 worked, 3 empty", "rows 3 to 4  each 1 more"]
    for first in (lines, [lines[1], lines[0], lines[2]], [*lines, "row 5  2 worked, 2 empty"]):
        (found,) = errors(sheet(5, 4, *first, back=True))
        assert [m.says for m in found.mends] == ["write 'row 2  1 empty, 1 worked, 2 empty'"]
    (found,) = errors(sheet(5, 4, "row 1  2 less", "rows 2 to 5  each 1 more", back=True))
    assert [m.says for m in found.mends] == ["write 'row 2  1 more'"]  # to the end of the row


def test_nothing_is_offered_where_another_line_is_wrong_as_well() -> None:
    told = errors(sheet(6, 9, "rows 6 to 7  each 1 less", "row 2  9 empty"))
    assert [f.message for f in told] == [
        "there is no row 7: the sheet has 6 rows", "no place of row 2 is worked",
    ]  # fmt: skip
    assert told[0].help == ("name rows that the sheet has",)
    assert not any(f.mends for f in told)


def test_a_shape_of_which_no_line_is_read_is_not_called_empty() -> None:
    assert [f.rule.name for f in findings(sheet(6, 6, "rows 2 to 3  each one less"))] == [
        "unread-line"
    ]
