"""Lines about strands whose words stand otherwise: what is said, and the line that is meant.

Each line stands in a recipe that can be read but for it; the line that is meant is read there.
"""

from __future__ import annotations

import pytest
from told_lines import Row, heard, told, wanted

LINES: list[Row] = [
    ("piece", "strands left 10 units right 10 units", "strands left 10 units right 10 units",
     "strands are written as a list of names, each with its units or its length",
     "write 'strands left 10 units, right 10 units'", "strands left 10 units, right 10 units"),
    ("piece", "strands left, right 30 units", "strands left, right 30 units",
     "strands are written as a list of names, each with its units or its length",
     "write 'strands left 30 units, right 30 units'", "strands left 30 units, right 30 units"),
    ("piece", "strands left 20 units, mid, right 30 units",
     "strands left 20 units, mid, right 30 units",
     "strands are written as a list of names, each with its units or its length",
     "write 'strands left 20 units, mid 30 units, right 30 units'",
     "strands left 20 units, mid 30 units, right 30 units"),
    ("piece", "3 strands of 20 units", "3 strands of 20 units",
     "every strand has a name of its own",
     "write 'strands one 20 units, two 20 units, three 20 units', or names of your own",
     "strands one 20 units, two 20 units, three 20 units"),
    ("piece", "strands 2 x 19 cm", "strands 2 x 19 cm", "every strand has a name of its own",
     "write 'strands one 19 cm, two 19 cm', or names of your own",
     "strands one 19 cm, two 19 cm"),
    ("piece", "9 strands of 20", "9 strands of 20", "every strand has a name of its own",
     "write 'strands one 20 units, two 20 units, three 20 units, four 20 units, five 20 units,"
     " six 20 units, seven 20 units, eight 20 units, nine 20 units', or names of your own",
     "strands one 20 units, two 20 units, three 20 units, four 20 units, five 20 units, six 20"
     " units, seven 20 units, eight 20 units, nine 20 units"),
    ("piece", "strands of 10 units left, 5 units right",
     "strands of 10 units left, 5 units right",
     "strands are written as a list of names, each with its units or its length",
     "write 'strands left 10 units, right 5 units'", "strands left 10 units, right 5 units"),
    ("piece", "chain left 10 units, right 5 units", "chain left 10 units, right 5 units",
     "strands are written as a list of names, each with its units or its length",
     "write 'strands left 10 units, right 5 units'", "strands left 10 units, right 5 units"),
    ("piece", "chain left 10 units", "left", "'left' does not fit here",
     "here could stand: of\na line of 'piece:' reads like 'chain 24 units'\nor 'chain 190 mm',"
     " 'loop 57 units', 'sheet 8 rows of 12 units', 'sample 10 units = 41 mm'",
     "chain 10 units"),
    ("piece", "chain 10 units of left, right 5 units", "5", "'5' does not fit here",
     "a line of 'piece:' reads like 'chain 24 units'\nor 'chain 190 mm', 'loop 57 units',"
     " 'sheet 8 rows of 12 units', 'sample 10 units = 41 mm'",
     "strands left 10 units, right 5 units"),
    ("piece", "strand left 10", "strand left 10",
     "strands are written as a list of names, each with its units or its length",
     "write 'strands left 10 units'", "strands left 10 units"),
    ("piece", "strands: left 10 rings and right of 5 cm",
     "strands: left 10 rings and right of 5 cm",
     "strands are written as a list of names, each with its units or its length",
     "write 'strands left 10 units, right 5 cm'", "strands left 10 units, right 5 cm"),
    ("piece", "strands left is 10 links + right has 5",
     "strands left is 10 links + right has 5",
     "strands are written as a list of names, each with its units or its length",
     "write 'strands left 10 units, right 5 units'", "strands left 10 units, right 5 units"),
    ("piece", "strands left", "left", "the line stops too early",
     "a line of 'piece:' reads like 'chain 24 units'\nor 'chain 190 mm', 'loop 57 units',"
     " 'sheet 8 rows of 12 units', 'sample 10 units = 41 mm'", "strands left 10 units"),
    # 'first' is no name, so nothing that begins so is offered
    ("piece", "strands first 10 units right 10 units", "right", "'right' does not fit here",
     "a line of 'piece:' reads like 'chain 24 units'\nor 'chain 190 mm', 'loop 57 units',"
     " 'sheet 8 rows of 12 units', 'sample 10 units = 41 mm'",
     "strands left 10 units, right 10 units"),
    ("finish", "add E through last A of left", "last A of left",
     "the name of a strand stands right before that of the ring", "write 'last left A'",
     "add E through last left A"),
    ("finish", "add E through first A 2 on the strand left", "first A 2 on the strand left",
     "the name of a strand stands right before that of the ring", "write 'first left A 2'",
     "add E through first left A 2"),
    ("finish", "add E through every A in left strand", "every A in left strand",
     "the name of a strand stands right before that of the ring", "write 'every left A'",
     "add E through every left A"),
    ("finish", "add E through last left prev A", "last left prev",
     "the name of a strand stands right before that of the ring", "write 'last prev left …'",
     "add E through last prev left A"),
    ("finish", "add E through last left prev prev A lay front", "last left prev prev",
     "the name of a strand stands right before that of the ring",
     "write 'last prev prev left …'", "add E through last prev prev left A lay front"),
    ("finish", "add E through last pref prev A", "pref",
     "'pref' is no word of place; the nearest is 'prev'", "write 'last prev prev …'",
     "add E through last prev prev A"),
    ("finish", "add E through first nxt next A picks 1", "nxt",
     "'nxt' is no word of place; the nearest is 'next'", "write 'first next next …'",
     "add E through first next next A picks 1"),
]  # fmt: skip


@pytest.mark.parametrize("row", LINES)
def test_what_is_said_of_a_line_leads_to_one_that_reads(row: Row) -> None:
    assert heard(row) == wanted(row)


@pytest.mark.parametrize(
    ("section", "line"),
    [
        ("piece", "strands left 10 units, right 19 cm"),
        ("finish", "add E through last left A"),
        ("finish", "add E through last prev left A"),
    ],
)
def test_the_line_beside_it_is_read(section: str, line: str) -> None:
    assert not told(section, line)
