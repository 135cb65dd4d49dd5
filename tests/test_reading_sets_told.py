"""Lines of 'sizes:', and sizes along the piece: what is said, and the lines that are meant.

Each line stands in a recipe that can be read but for it; the line that is meant is read there.
"""

from __future__ import annotations

import pytest
from helpers import findings
from told_lines import Row, heard, recipe_of, told, wanted

LINES: list[Row] = [
    ("sizes", "small", "small", "a line of 'sizes:' names a set, a ring and its sizes",
     "write it like: small  all  wire 0.8 mm, inside 4.3 mm",
     "small  all  wire 0.8 mm, inside 4.3 mm"),
    ("sizes", "small: =", "small: =", "a line of 'sizes:' names a set, a ring and its sizes",
     "write it like: small  all  wire 0.8 mm, inside 4.3 mm",
     "small  all  wire 0.8 mm, inside 4.3 mm"),
    ("sizes", ":= all wire 1 mm, inside 4 mm", ":= all wire 1 mm, inside 4 mm",
     "a line of 'sizes:' names a set, a ring and its sizes",
     "write it like: small  all  wire 0.8 mm, inside 4.3 mm",
     "small  all  wire 0.8 mm, inside 4.3 mm"),
    # the name of the set
    ("sizes", "1 all wire 1 mm, inside 4 mm", "1 all wire 1 mm, inside 4 mm",
     "a set of sizes has a name, and '1' is none", "write 'small  all wire 1 mm, inside 4 mm'",
     "small  all wire 1 mm, inside 4 mm"),
    ("sizes", "1 x all wire", "1 x all wire", "a set of sizes has a name, and '1' is none",
     "begin it with a letter", "small  all wire 1 mm, inside 4 mm"),
    ("sizes", "small: all wire 1 mm, inside 4 mm", "small: all wire 1 mm, inside 4 mm",
     "the name of the set stands alone, and 'small:' has a mark behind it",
     "write 'small  all wire 1 mm, inside 4 mm'", "small  all wire 1 mm, inside 4 mm"),
    ("sizes", "small, all wire 1 mm, inside 4 mm", "small, all wire 1 mm, inside 4 mm",
     "the name of the set stands alone, and 'small,' has a mark behind it",
     "write 'small  all wire 1 mm, inside 4 mm'", "small  all wire 1 mm, inside 4 mm"),
    # the ring is left out, or the set
    ("sizes", "small wire 1 mm, inside 4 mm", "small wire 1 mm, inside 4 mm",
     "nothing says of which ring 'small' has the sizes",
     "write 'small  all  wire 1 mm, inside 4 mm'", "small  all  wire 1 mm, inside 4 mm"),
    ("sizes", "small inside 4 mm, wire 1 mm", "small inside 4 mm, wire 1 mm",
     "nothing says of which ring 'small' has the sizes",
     "write 'small  all  inside 4 mm, wire 1 mm'", "small  all  inside 4 mm, wire 1 mm"),
    ("sizes", "small: wire 1 mm, inside 4 mm", "small: wire 1 mm, inside 4 mm",
     "nothing says of which ring 'small' has the sizes",
     "write 'small  all  wire 1 mm, inside 4 mm'", "small  all  wire 1 mm, inside 4 mm"),
    ("sizes", "all wire 1 mm, inside 4 mm", "all wire 1 mm, inside 4 mm",
     "this line does not say of which set it is", "write 'small  all wire 1 mm, inside 4 mm'",
     "small  all wire 1 mm, inside 4 mm"),
    ("sizes", "ALL wire 1 mm, inside 4 mm", "ALL wire 1 mm, inside 4 mm",
     "this line does not say of which set it is", "write 'small  ALL wire 1 mm, inside 4 mm'",
     "small  ALL wire 1 mm, inside 4 mm"),
    # more than sizes
    ("sizes", "small all wire 1 mm, inside 4 mm, copper",
     "small all wire 1 mm, inside 4 mm, copper",
     "a line of 'sizes:' says sizes only, and this one says 'copper'",
     "write 'small  all wire 1 mm, inside 4 mm', and the rest under 'rings:'",
     "small  all wire 1 mm, inside 4 mm"),
    ("sizes", "small wire 1 mm, inside 4 mm, copper", "small wire 1 mm, inside 4 mm, copper",
     "a line of 'sizes:' says sizes only, and this one says 'copper'",
     "write 'small  all  wire 1 mm, inside 4 mm', and the rest under 'rings:'",
     "small  all  wire 1 mm, inside 4 mm"),
    ("sizes", "small A wire 1 mm, Inside 4 mm, colour red, copper",
     "small A wire 1 mm, Inside 4 mm, colour red, copper",
     "a line of 'sizes:' says sizes only, and this one says 'colour red'",
     "write 'small  A wire 1 mm, Inside 4 mm', and the rest under 'rings:'",
     "small  A wire 1 mm, Inside 4 mm"),
    ("sizes", "small wire 1 mm, copper, inside 4 mm", "small wire 1 mm, copper, inside 4 mm",
     "a line of 'sizes:' says sizes only, and this one says 'copper'",
     "write 'small  all  wire 1 mm, inside 4 mm', and the rest under 'rings:'",
     "small  all  wire 1 mm, inside 4 mm"),
    # sizes along the piece
    ("sizes", "small A wire 1 mm, inside 4 mm units 1-8, inside 5 mm units 9-16",
     "small A wire 1 mm, inside 4 mm units 1-8, inside 5 mm units 9-16",
     "where sizes hold is said behind the name of the ring",
     "write:\nsmall  A units 1 to 8  wire 1 mm, inside 4 mm\nsmall  A units 9 to 16  wire 1"
     " mm, inside 5 mm",
     "small  A units 1 to 8  wire 1 mm, inside 4 mm\n  small  A units 9 to 16  wire 1 mm,"
     " inside 5 mm"),
    ("sizes", "small A 1 to 8 wire 1 mm, inside 4 mm", "small A 1 to 8 wire 1 mm, inside 4 mm",
     "where sizes hold is said behind the name of the ring",
     "write:\nsmall  A units 1 to 8  wire 1 mm, inside 4 mm",
     "small  A units 1 to 8  wire 1 mm, inside 4 mm"),
    ("sizes", "small A wire 1 mm, inside 4 mm for row 3",
     "small A wire 1 mm, inside 4 mm for row 3",
     "where sizes hold is said behind the name of the ring",
     "write:\nsmall  A row 3  wire 1 mm, inside 4 mm",
     "small  A row 3  wire 1 mm, inside 4 mm"),
    ("rings", "A wire 1 mm, inside 4 mm units 1-8, inside 5 mm units 9-16, tin",
     "A wire 1 mm, inside 4 mm units 1-8, inside 5 mm units 9-16, tin",
     "where sizes hold is said behind the name of the ring",
     "write a line for each:\nA units 1 to 8  wire 1 mm, inside 4 mm, tin\nA units 9 to 16 "
     " wire 1 mm, inside 5 mm, tin",
     "A units 1 to 8  wire 1 mm, inside 4 mm, tin\n  A units 9 to 16  wire 1 mm, inside 5 mm,"
     " tin"),
    ("rings", "A wire 1 mm units 1 to 8, 5 mm units 9 to 16",
     "A wire 1 mm units 1 to 8, 5 mm units 9 to 16",
     "where sizes hold is said behind the name of the ring",
     "write a line for each:\nA units 1 to 8  wire 1 mm\nA units 9 to 16  wire 1 mm, inside 5"
     " mm", "A units 1 to 8  wire 1 mm\n  A units 9 to 16  wire 1 mm, inside 5 mm"),
    ("rings", "A wire 1 mm, inside 4 mm (units 1–8), inside 5 mm (units 9 up to 16)",
     "A wire 1 mm, inside 4 mm (units 1–8), inside 5 mm (units 9 up to 16)",
     "where sizes hold is said behind the name of the ring",
     "write a line for each:\nA units 1 to 8  wire 1 mm, inside 4 mm\nA units 9 to 16  wire 1"
     " mm, inside 5 mm",
     "A units 1 to 8  wire 1 mm, inside 4 mm\n  A units 9 to 16  wire 1 mm, inside 5 mm"),
    ("rings", "A from unit 1 to 8 wire 1 mm, inside 4 mm",
     "A from unit 1 to 8 wire 1 mm, inside 4 mm",
     "where sizes hold is said behind the name of the ring",
     "write 'A units 1 to 8  wire 1 mm, inside 4 mm'",
     "A units 1 to 8  wire 1 mm, inside 4 mm"),
    ("rings", "A units 1..8 wire 1 mm, inside 4 mm", "A units 1..8 wire 1 mm, inside 4 mm",
     "where sizes hold is said behind the name of the ring",
     "write 'A units 1 to 8  wire 1 mm, inside 4 mm'",
     "A units 1 to 8  wire 1 mm, inside 4 mm"),
    ("rings", "A 1 units 1-8 wire 1 mm, inside 4 mm, tin",
     "A 1 units 1-8 wire 1 mm, inside 4 mm, tin",
     "where sizes hold is said behind the name of the ring",
     "write 'A 1 units 1 to 8  wire 1 mm, inside 4 mm, tin'",
     "A 1 units 1 to 8  wire 1 mm, inside 4 mm, tin"),
    ("rings", "A 3 until 8 inside 4 mm, wire 1 mm", "A 3 until 8 inside 4 mm, wire 1 mm",
     "where sizes hold is said behind the name of the ring",
     "write 'A units 3 to 8  inside 4 mm, wire 1 mm'",
     "A units 3 to 8  inside 4 mm, wire 1 mm"),
    ("rings", "A wire 1 mm, inside 4 mm, tin, row 3", "A wire 1 mm, inside 4 mm, tin, row 3",
     "where sizes hold is said behind the name of the ring",
     "write 'A row 3  wire 1 mm, inside 4 mm, tin'", "A row 3  wire 1 mm, inside 4 mm, tin"),
    ("rings", "A wire 1 mm, inside 4 mm in rows 3 through 5, tin",
     "A wire 1 mm, inside 4 mm in rows 3 through 5, tin",
     "where sizes hold is said behind the name of the ring",
     "write 'A rows 3 to 5  wire 1 mm, inside 4 mm, tin'",
     "A rows 3 to 5  wire 1 mm, inside 4 mm, tin"),
    ("rings", "A wire 1 mm, inside 4 mm units 1-8, wire 2 mm, inside 5 mm units 9-16",
     "A wire 1 mm, inside 4 mm units 1-8, wire 2 mm, inside 5 mm units 9-16",
     "where sizes hold is said behind the name of the ring",
     "write a line for each:\nA units 1 to 8  wire 1 mm, inside 4 mm\nA units 9 to 16  wire 2"
     " mm, inside 5 mm",
     "A units 1 to 8  wire 1 mm, inside 4 mm\n  A units 9 to 16  wire 2 mm, inside 5 mm"),
    ("rings", "A wire 1 mm, inside 4 mm units 1-8, wire 2 mm units 9-16, wire 3 mm units 17-20",
     "A wire 1 mm, inside 4 mm units 1-8, wire 2 mm units 9-16, wire 3 mm units 17-20",
     "where sizes hold is said behind the name of the ring",
     "write a line for each:\nA units 1 to 8  wire 1 mm, inside 4 mm\nA units 9 to 16  inside"
     " 4 mm, wire 2 mm\nA units 17 to 20  inside 4 mm, wire 3 mm",
     "A units 1 to 8  wire 1 mm, inside 4 mm\n  A units 9 to 16  inside 4 mm, wire 2 mm\n  A"
     " units 17 to 20  inside 4 mm, wire 3 mm"),
    ("rings", "A, units 1-8, wire 1 mm, inside 4 mm", "A, units 1-8, wire 1 mm, inside 4 mm",
     "where sizes hold is said behind the name of the ring",
     "write 'A units 1 to 8  wire 1 mm, inside 4 mm'",
     "A units 1 to 8  wire 1 mm, inside 4 mm"),
    # habits of those who write sizes
    ("sizes", "small 1 mm, 4 mm", "small 1 mm, 4 mm",
     "nothing says whether '1 mm' is the wire or the opening",
     "write 'small  all  wire 1 mm, inside 4 mm'", "small  all  wire 1 mm, inside 4 mm"),
    ("sizes", "small .8 mm x 4 mm", "small .8 mm x 4 mm",
     "nothing says whether '.8 mm' is the wire or the opening",
     "write 'small  all  wire 0.8 mm, inside 4 mm'", "small  all  wire 0.8 mm, inside 4 mm"),
    ("sizes", "small A 1 mm wire, 4 mm inside", "small A 1 mm wire, 4 mm inside",
     "the size '1 mm' stands before its word 'wire'",
     "a size comes after its word: write 'small  A  wire 1 mm, inside 4 mm'",
     "small  A  wire 1 mm, inside 4 mm"),
    ("sizes", "small A 18g, 4 mm", "small A 18g, 4 mm", "'18g' does not say which gauge",
     "write 'small  A  wire 18 awg, inside 4 mm', if the gauge is American (1.02 mm)\nor"
     " 'small  A  wire 18 swg, inside 4 mm', if it is British (1.22 mm)",
     "small  A  wire 18 awg, inside 4 mm"),
    ("sizes", "small A wire 1 mm inside 4 mm", "small A wire 1 mm inside 4 mm",
     "there is no comma before 'inside'", "write 'small  A  wire 1 mm, inside 4 mm'",
     "small  A  wire 1 mm, inside 4 mm"),
    ("sizes", "small A wire 1 mm, AR 4", "small A wire 1 mm, AR 4", "'AR 4' is no size",
     "AR is inside over wire; for AR 4 write 'small  A  wire 1 mm, inside 4 mm'",
     "small  A  wire 1 mm, inside 4 mm"),
    ("sizes", "small A wire 1,2 mm, inside 4 mm", "1,2", "'1,2' has a decimal comma",
     "write it with a point: '1.2'", "small  A wire 1.2 mm, inside 4 mm"),
    ("sizes", "small A wire 1 mm, insde 4 mm", "insde",
     "'insde' is not a word of the language here", "the nearest word is 'inside'",
     "small  A wire 1 mm, inside 4 mm"),
]  # fmt: skip


@pytest.mark.parametrize("row", LINES)
def test_what_is_said_of_a_line_leads_to_one_that_reads(row: Row) -> None:
    assert heard(row) == wanted(row)


@pytest.mark.parametrize(
    ("section", "line"),
    [
        ("sizes", "small all wire 1 mm, inside 4 mm"),
        ("sizes", "_x  all  wire 1 mm, inside 4 mm"),
        ("sizes", "small  A rows 3 to 5  wire 1 mm, inside 4 mm"),
        ("rings", "A row 3 to 8 wire 1 mm, inside 4 mm"),
    ],
)
def test_the_line_beside_it_is_read(section: str, line: str) -> None:
    assert not told(section, line)


def test_half_a_size_is_told_of_its_ring() -> None:
    """Nothing in the line is but a size, so there is nothing to move; the other size is missing."""
    assert not told("sizes", "small A wire 1 mm")
    found = findings(recipe_of("sizes", "small A wire 1 mm"))
    half = next(f for f in found if f.message == "the line of 'A' gives no inside size")
    assert half.help == ("write it like: small  all  wire 0.8 mm, inside 4.3 mm",)
