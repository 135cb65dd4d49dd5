"""Stock and price lists as makers save them, and as they must not be; CSV that goes out is safe."""

from __future__ import annotations

import csv
import io
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ringstep.language.screen import safe
from ringstep.language.typed_size import BadSize, read_size
from ringstep.paper.printed import Printed, Sheet, as_csv, as_plain, csv_cell
from ringstep.shop.rows import MOST_BYTES, BadTable
from ringstep.shop.tables import read_prices, read_stock

HEAD = "ring,pack,price,currency\n"


def prices(text: str) -> dict[str, tuple[int, Decimal, str]]:
    found = read_prices(text.encode("utf-8"), "p.csv")
    return {p.name: (p.pack, p.price, p.currency) for p in found}


def refused(text: str | bytes, *, stock: bool = False) -> list[str]:
    """The faults told of a table, a line each."""
    data = text.encode("utf-8") if isinstance(text, str) else text
    if not stock:
        try:
            return [told for price in read_prices(data, "p.csv") for told in price.faults]
        except BadTable as told_of_all:
            return str(told_of_all).splitlines()
    with pytest.raises(BadTable) as fault:
        read_stock(data, "p.csv")
    return str(fault.value).splitlines()


# -- tables that can be read -----------------------------------------------------------------------

PLAIN = {"A": (100, Decimal("3.80"), "EUR"), "tail": (10, Decimal("1.2"), "EUR")}


@pytest.mark.parametrize(
    "text",
    [
        HEAD + "A,100,3.80,EUR\ntail,10,1.2,EUR\n",
        "\ufeff" + HEAD + "A,100,3.80,EUR\ntail,10,1.2,EUR",
        "ring;pack;price;currency\r\nA;100;3.80;EUR\r\ntail;10;1.2;EUR\r\n",
        "ring,pack,price,currency\rA,100,3.80,EUR\rtail,10,1.2,EUR\r",
        '"ring","pack","price","currency"\n"A","100","3.80","EUR"\n"tail","10","1.2","EUR"\n',
        "\n\n" + HEAD + "\nA,100,3.80,EUR\n,,,\n   \ntail,10,1.2,EUR\n\n",
        "Currency, PRICE ,Ring,pack\neur,3.80, A ,100\n EUR,1.2,tail,10\n",
    ],
    ids=["plain", "mark", "semicolons", "old Mac", "quoted", "empty lines", "another order"],
)
def test_the_same_list_however_it_was_saved(text: str) -> None:
    assert prices(text) == PLAIN


def test_a_cell_may_hold_separators_quotes_and_line_ends() -> None:
    text = HEAD + '"A, the ""big"" one\nof two",100,3.80,EUR\nB,1,2,EUR\n'
    found = read_prices(text.encode(), "p.csv")
    assert found[0].name == 'A, the "big" one\nof two'
    assert [p.line for p in found] == [2, 4]


@given(st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\0")), min_size=1))
def test_what_csv_writes_is_read_back(names: list[str]) -> None:
    """Against the csv module of Python, as a reference for RFC 4180."""
    names = list(dict.fromkeys(n.strip() for n in names if n.strip()))
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(("ring", "pack", "price", "currency"))
    writer.writerows((n, 1, "2.50", "EUR") for n in names)
    if names:
        assert list(prices(out.getvalue())) == names


def test_stock_with_and_without_its_optional_columns() -> None:
    (one,) = read_stock(b"ring,wire,inside\nbin 1,16 SWG,5/16 in\n", "s.csv")
    assert (one.wire.mm, one.inside.mm) == (1.6256, 7.9375)
    assert (one.material, one.colour, one.count) == ("", "", None)
    (two,) = read_stock(
        b"ring;count;wire;inside;material;colour\nbin 2;450;1.2 mm;5 mm;copper;red\n", "s.csv"
    )
    assert (two.material, two.colour, two.count) == ("copper", "red", 450)


# -- tables that cannot, and what is said ----------------------------------------------------------

REFUSED = {
    "decimal comma that parts a cell": (
        HEAD + "A,100,3,80,EUR\n",
        "p.csv, line 2: 5 cells where the heading has 4 (ring, pack, price, currency); a number"
        ' with a comma stands in quotation marks, as in "3,80"',
    ),
    "a cell too few": (
        HEAD + "A,100,3.80\n",
        "p.csv, line 2, column 'currency': this cell is empty; write it as in EUR",
    ),
    "a pack of none": (
        HEAD + "A,0,3.80,EUR\n",
        "p.csv, line 2, column 'pack': a pack holds at least 1; write how many are in it",
    ),
    "half a ring": (
        HEAD + "A,1.5,3.80,EUR\n",
        "p.csv, line 2, column 'pack': '1.5' is no count; write a whole number such as 100",
    ),
    "digits of another script": (
        HEAD + "A,١٠٠,3.80,EUR\n",
        "p.csv, line 2, column 'pack': '١٠٠' is no count; write a whole number such as 100",
    ),
    "below zero": (
        HEAD + "A,100,-3.80,EUR\n",
        "p.csv, line 2, column 'price': '-3.80' is below zero; write what the pack costs, such as"
        " 4.50",
    ),
    "an empty cell": (
        HEAD + "A,,3.80,EUR\n",
        "p.csv, line 2, column 'pack': this cell is empty; write it as in 100",
    ),
    "a quote never closed": (
        HEAD + 'A,1,2,EUR\n"B,100,3.80,EUR\nC,1,1,EUR\n',
        "p.csv, line 3: a quotation mark opens a cell here and none closes it",
    ),
    "text behind a quote": (
        HEAD + '"A"x,100,3.80,EUR\n',
        "p.csv, line 2: text follows a closing quotation mark; double a mark that belongs to the"
        ' text, as in "5/16"" ring"',
    ),
    "nothing at all": (
        "",
        "p.csv is empty; its first line names the columns, such as ring,pack,price,currency",
    ),
    "nothing under the heading": (HEAD, "p.csv has a heading and no line under it"),
    "marks that steer a terminal": (
        HEAD + "A,\x1b[31m,3.80,EUR\n",
        "p.csv, line 2, column 'pack': '␛[31m' is no count; write a whole number such as 100",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_list_that_does_not_fit_is_refused(case: str) -> None:
    text, told = REFUSED[case]
    assert refused(text) == [told]


def test_a_column_that_cannot_be_told_is_asked_for_with_what_to_type() -> None:
    assert refused("ring,pack,prize,currency\nA,100,3.80,EUR\n") == [
        "p.csv, line 1: it cannot be told which column is the price; there are 'ring', 'pack',"
        " 'prize' and 'currency'",
        "type --column 'price=prize' with its heading",
        "or write a file p.csv.columns with lines such as",
        "  headings = ring;pack;prize;currency",
        "  price = …",
    ]
    assert refused("ring,pack,price,currency,pack\nA,100,3.80,EUR,1\n")[1] == (
        "type --column 'pack=column 2' with its heading, or one value for all lines, such as"
        " --column pack=100"
    )


def test_all_faults_of_a_stock_list_are_told_at_once_in_order() -> None:
    told = refused("ring,wire,inside,count\nA,x,y,1\nB,1 mm,4 mm,many\n", stock=True)
    assert [t.partition(":")[0] for t in told] == [
        "p.csv, line 2, column 'wire'",
        "p.csv, line 2, column 'inside'",
        "p.csv, line 3, column 'count'",
    ]


def test_a_hundred_faults_are_not_all_told() -> None:
    lines = "".join(f"A{i},x,4 mm\n" for i in range(100))
    told = refused("ring,wire,inside\n" + lines, stock=True)
    assert len(told) == 11
    assert told[-1] == "and 90 more like these"


def test_bytes_that_are_no_csv() -> None:
    (told,) = refused("ring,pack".encode("utf-16-le"))
    assert "there is a zero byte, so this is not a list as text" in told
    (told,) = refused(b"PK\x03\x04 and more")
    assert told == ("p.csv is a spreadsheet's own file; open it there and save the table as CSV")
    (told,) = refused(b"x" * (MOST_BYTES + 1))
    assert "holds 2,000,001 bytes; a table has at most 2,000,000" in told


def test_a_stock_list_refuses_sizes_as_a_recipe_does() -> None:
    head = "ring,wire,inside,count\n"
    assert refused(head + "bin 1,16,5 mm,3\n", stock=True) == [
        "p.csv, line 2, column 'wire': '16' does not say which gauge; write '16 awg' (1.29 mm) or"
        " '16 swg' (1.63 mm)"
    ]
    assert refused(head + "bin 1,5 mm,1.2 mm,3\n", stock=True) == [
        "p.csv, line 2, column 'inside': 1.2 mm is no wider than the wire, 5 mm; the two may have"
        " changed places"
    ]
    assert refused(head + "bin 1,1.2,5 mm,3\n", stock=True) == [
        "p.csv, line 2, column 'wire': '1.2' has no unit; write '1.2 mm', or with in, awg or swg"
    ]


# -- sizes as typed --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        ("1.2mm", 1.2),
        (" 1.20 MM ", 1.2),
        ("5/16 in", 7.9375),  # 5/16 x 25.4
        ("7 1/2 in", 190.5),
        ("7.5 inches", 190.5),
        ("19 cm", 190.0),
        (".5 in", 12.7),
        ("5. mm", 5.0),
        ("16 awg", 1.2908),  # ASTM B258, formula, from memory; to 0.0001
        ("16SWG", 1.6256),  # Order in Council of 1883: .064 in
        ("2/0 awg", 9.2659),  # ASTM B258 prints .3648 in, from memory
        ("0 swg", 8.2296),  # Order in Council of 1883: .324 in
    ],
)
def test_sizes_as_a_maker_types_them(typed: str, mm: float) -> None:
    wire = "wg" in typed.casefold()
    assert read_size(typed, wire=wire).mm == pytest.approx(mm, abs=1e-4)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("1,2 mm", "'1,2 mm' has a decimal comma; write '1.2 mm'"),
        ("19,5", "'19,5' has a decimal comma; write '19.5 mm'"),
        ("19", "'19' has no unit; write '19 mm', or with cm or in"),
        ('7.5"', "'7.5\"' uses a mark for inches; write '7.5 in'"),
        ("16 awg", "'16 awg' is a wire gauge; write this size in mm or in"),
        ("2 km", "'km' is not a unit of size; write mm, cm or in"),
        ("0 mm", "'0 mm' is no size; write it as in '5 mm'"),
        ("1/0 in", "'1/0 in' divides by zero; write it as in '5/16 in'"),
        ("-5 mm", "'-5 mm' is not a size; write it as in '5 mm', '5/16 in' or '19 cm'"),
        ("long", "'long' is not a size; write it as in '5 mm', '5/16 in' or '19 cm'"),
        ("", "'' is not a size; write it as in '5 mm', '5/16 in' or '19 cm'"),
        ("9" * 30 + " mm", f"'{'9' * 30} mm' is longer than a kilometre; write it as in '5 mm'"),
    ],
)
def test_lengths_that_cannot_be_read(typed: str, told: str) -> None:
    with pytest.raises(BadSize) as fault:
        read_size(typed)
    assert str(fault.value) == told


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("16", "does not say which gauge; write '16 awg' (1.29 mm) or '16 swg' (1.63 mm)"),
        ("18 ga", "does not say which gauge; write '18 awg' (1.02 mm) or '18 swg' (1.22 mm)"),
        ("1.2", "has no unit; write '1.2 mm', or with in, awg or swg"),
        ("16.5 awg", "is no AWG number; they are whole, or write the size in mm"),
        ("99 swg", "SWG numbers run from 7/0 to 50; write the size of this wire in mm"),
    ],
)
def test_wires_that_cannot_be_read(typed: str, told: str) -> None:
    with pytest.raises(BadSize) as fault:
        read_size(typed, wire=True)
    assert told in str(fault.value)


@given(st.text(max_size=60), st.booleans())
def test_any_text_is_a_size_or_is_refused_in_words(typed: str, wire: bool) -> None:
    told = ""
    try:
        assert read_size(typed, wire=wire).mm > 0
    except BadSize as fault:
        told = str(fault)
    assert told == safe(told)


# -- tables that go out ----------------------------------------------------------------------------


@pytest.mark.parametrize("mark", ["=", "+", "-", "@", "\t", "\r"])
def test_no_cell_can_start_a_formula(mark: str) -> None:
    """The six first marks listed by OWASP, 'CSV Injection' (from memory)."""
    text = as_csv(("ring",), [{"ring": f"{mark}HYPERLINK(1)"}])
    rows = list(csv.reader(io.StringIO(text, newline="")))
    shown = f"'{mark}" if mark.isprintable() else safe(mark)  # a mark that is shown starts nothing
    assert rows == [["ring"], [f"{shown}HYPERLINK(1)"]]


@given(st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=20))
def test_csv_is_read_back_as_written_but_for_the_mark(cell: str) -> None:
    (back,) = csv.reader(io.StringIO(as_csv((cell, "end"), []), newline=""))
    assert back == [csv_cell(safe(cell)), "end"]
    assert not back[0].strip()[:1] or back[0].strip()[0] not in "=+-@\t\r"
    assert back[0].removeprefix("'") == safe(cell).removeprefix("'")


def test_a_plain_table_shows_marks_that_would_steer_a_terminal() -> None:
    sheet = Sheet("Rings", ("a", "b"), (("\x1b]0;x\x07", "輪"), ("y", "zz")), frozenset((1,)))
    text = as_plain(Printed("T\u202e", (), (sheet,)))
    assert "\x1b" not in text
    assert "\u202e" not in text
    lines = text.splitlines()
    assert lines[7] == "  ␛]0;x␇  輪"
    assert lines[8] == "  y       zz"
