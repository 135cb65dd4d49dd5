"""Price and stock lists as shops have them, and orders of several weaves; sums done by hand."""

from __future__ import annotations

import csv
import io
import json
import os
import pty
import re
import subprocess
import sys
import threading
from decimal import Decimal
from itertools import product
from pathlib import Path

import pytest
from helpers import LIBRARY, ROOT, SIMPLE, view
from hypothesis import given
from hypothesis import strategies as st

from ringstep.commands.cli import main
from ringstep.language.source import Refused
from ringstep.paper.kit_tables import kit_page
from ringstep.paper.printed import as_plain
from ringstep.shop.buying import cheapest
from ringstep.shop.cells import plain, two_sizes
from ringstep.shop.columns import Untold, read_remembered
from ringstep.shop.kit import kit_of
from ringstep.shop.order import order_of
from ringstep.shop.rows import BadTable
from ringstep.shop.tables import (
    Price,
    price_table,
    prices_of,
    read_prices,
    read_stock,
    stock_of,
    stock_table,
)
from ringstep.shop.wish import NoKit, Wish

Out = pytest.CaptureFixture[str]
CLASP = (LIBRARY / "chain_with_clasp.weave").read_text(encoding="utf-8")


def priced(data: str | bytes, **given_columns: str) -> tuple[Price, ...]:
    raw = data if isinstance(data, bytes) else data.encode("utf-8")
    return prices_of(price_table(raw, "p.csv", given_columns))


def sizes(prices: tuple[Price, ...]) -> list[tuple[float, float, str, int, str, str]]:
    return [
        (p.wire.mm, p.inside.mm, p.material, p.pack, str(p.price), p.currency)
        for p in prices
        if p.wire and p.inside and not p.faults
    ]


# -- lists as they are saved -----------------------------------------------------------------------

GERMAN = """Preisliste Herbst;;;;;
;;;;;
Artikel;Draht-Ø (mm);Innen mm;Metall;VPE;Preis
Ring klein;1,2;5;Kupfer;1.000;1.234,50 €
Ring groß;1,2;8,0;Kupfer;10 Stück;1,20 €
Summe;;;;;1.235,70 €
"""
SEEN = [
    (1.2, 5.0, "Kupfer", 1000, "1234.50", "EUR"),
    (1.2, 8.0, "Kupfer", 10, "1.20", "EUR"),
]


@pytest.mark.parametrize(
    "data",
    [
        GERMAN.encode("utf-8"),
        GERMAN.encode("utf-8-sig"),
        GERMAN.encode("cp1252"),
        GERMAN.replace(";", "\t").encode("utf-16"),
        GERMAN.replace(";", "\t").encode("utf-8"),
        b"sep=;\r\n" + GERMAN.replace("\n", "\r\n").encode("cp1252"),
    ],
    ids=["utf-8", "with mark", "cp1252", "utf-16 tabs", "tabs", "sep line"],
)
def test_a_german_list_however_it_was_saved(data: bytes) -> None:
    """A title, a blank line, decimal commas, thousands, a euro sign in the cell, a sum."""
    assert sizes(priced(data)) == SEEN


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        (
            'wire mm,ID (in),metal,pack of,price (GBP)\n1.2,5/16,copper,"1,000","1,234.50"\n',
            (1.2, 7.9375, "copper", 1000, "1234.50", "GBP"),
        ),
        (
            'size,metal,qty,cost\n"16 swg x 5/16""",brass,250,$4.20\n',
            (1.6256, 7.9375, "brass", 250, "4.20", "$"),
        ),
        (
            "Désignation;Fil (mm);Diamètre intérieur (mm);Matière;Prix pour 100 (EUR)\n"
            "anneau;0,8;4,5;laiton;2,10\n",
            (0.8, 4.5, "laiton", 100, "2.10", "EUR"),
        ),
        (
            "Artículo;Alambre mm;Diámetro interior mm;Unidades;Precio;Moneda;Metal\n"
            "anilla;1;4;50;0,99;EUR;cobre\n",
            (1.0, 4.0, "cobre", 50, "0.99", "EUR"),
        ),
        (
            "item;wire AWG;inner diameter mm;metal;price each (USD)\nx;18;6;copper;0.045\n",
            (1.0237, 6.0, "copper", 1, "0.045", "USD"),  # ASTM B258: 18 AWG, .0403 in, from memory
        ),
    ],
    ids=["units in headings", "one cell for the size", "French", "Spanish", "gauge in the heading"],
)
def test_columns_known_by_what_they_mean(
    text: str, seen: tuple[float, float, str, int, str, str]
) -> None:
    (found,) = sizes(priced(text))
    assert found[:2] == pytest.approx(seen[:2], abs=1e-4)
    assert found[2:] == seen[2:]


def test_a_number_that_may_be_two_is_told_and_not_guessed() -> None:
    (one,) = priced("ring;pack;price;currency\nA;10;1.234;EUR\n")
    assert one.faults == (
        "p.csv, line 2, column 'price': '1.234' may be 1234 or 1.234 with its decimals; write the"
        " one that is meant, as 1234 or 1.2340",
    )
    one, _ = priced("ring;pack;price;currency\nA;10;1.234;EUR\nB;1;3,90;EUR\n")
    assert one.price == 1234


def test_the_outside_of_a_ring_is_never_taken_for_its_inside() -> None:
    with pytest.raises(Untold) as told:
        priced("item,wire mm,OD mm,pack,price (EUR)\nx,1.2,7.4,100,3\n")
    assert told.value.what == "inside"


def test_of_two_prices_none_is_chosen() -> None:
    text = "item;pack;price net (EUR);price gross (EUR)\nA;100;3,00;3,57\n"
    with pytest.raises(Untold, match="cannot be told which column is the price"):
        priced(text)
    assert priced(text, price="PRICE gross (EUR)")[0].price == Decimal("3.57")
    with pytest.raises(BadTable, match="there is no column 'price grosss'"):
        priced(text, price="price grosss")


def test_the_price_of_one_ring_is_not_that_of_a_pack() -> None:
    with pytest.raises(BadTable, match="'Stückpreis' gives the price of one, and 'VPE' has packs"):
        priced("Artikel;VPE;Stückpreis\nA;100;0,04 €\n")


def test_a_stock_list_in_the_words_of_a_shop() -> None:
    data = "Lade;;;;\nBezeichnung;Draht;Innen;Metall;Bestand\nFach 1;1,2 mm;5 mm;Kupfer;1.200\n"
    (one,) = read_stock((data + "clasp;;;;4\nGesamt;;;;1.204\n").encode("cp1252"), "s.csv")
    assert (one.name, one.wire.mm, one.inside.mm, one.count) == ("Fach 1", 1.2, 5.0, 1200)


LIST_TEXT = st.text(
    st.sampled_from('wire mm;,\t"\n0123456789.x€preis inside pack ring EUR=\x00\xe9-'), max_size=120
)


def test_numbers_name_rings_where_nothing_else_does() -> None:
    cells = "1,2 mm;4,2 mm;Kupfer"
    (one,) = read_stock(f"Nr;Draht;innen;Metall\nR03;{cells}\n".encode(), "s.csv")
    assert one.name == "R03"
    (one,) = read_stock(f"Nr;Bezeichnung;Draht;innen;Metall\n3;fine;{cells}\n".encode(), "s.csv")
    assert one.name == "fine"


@given(st.one_of(st.binary(max_size=200), LIST_TEXT.map(lambda t: t.encode("utf-8"))))
def test_any_bytes_are_a_list_or_are_refused_in_words(data: bytes) -> None:
    for read in (price_table, stock_table):
        told = "p.csv"
        try:
            table = read(data, "p.csv")
            rows = prices_of(table) if read is price_table else stock_of(table)
            assert len(rows) <= len(table.lines)
        except Refused as fault:
            told = str(fault)
        assert told.startswith("p.csv")


@given(st.text(max_size=80))
def test_any_text_beside_a_list_is_read_or_refused_in_words(beside: str) -> None:
    told = "p.csv.columns"
    try:
        heads, _found = read_remembered(beside, "p.csv.columns")
        assert heads
    except BadTable as fault:
        told = str(fault)
    assert told.startswith("p.csv.columns")


# -- which line is which ring ----------------------------------------------------------------------

HEAD = "item;wire mm;inside mm;metal;colour;pack;price (EUR)\n"


def bought(text: str, recipe: str = SIMPLE, **wish: object):  # type: ignore[no-untyped-def]
    """The bill of a recipe; `SIMPLE` is 31 rings of 1.2 × 5 mm, copper."""
    return kit_of(view(recipe), Wish(**wish), read_prices(text.encode(), "p.csv"), "p.csv").bill  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("line", "fits"),
    [
        ("x;1,2;5;copper;;50;2", True),
        ("x;1,22;5,04;Kupfer;;50;2", True),
        ("x;1,2;5;;;50;2", True),
        ("x;1,24;5;copper;;50;2", False),
        ("x;1,2;5,06;copper;;50;2", False),
        ("x;1,2;5;brass;;50;2", False),
        ("x;1,2;5;silver plated copper;;50;2", False),
        ("x;1,2;5;enamelled copper;;50;2", False),
        ("x;1,2;5;copper;red;50;2", False),
        ("welded ring;1,2;5;copper;;50;2", False),
    ],
)
def test_a_ring_is_known_by_size_and_metal(line: str, fits: bool) -> None:
    """Within 0.03 mm of wire and 0.05 mm of the inside."""
    text = f"{HEAD}y;0,5;2;niobium;;1;1\n{line}\n"
    if fits:
        assert bought(text).cost == 2
        return
    with pytest.raises(NoKit) as fault:
        bought(text)
    assert "A (1.2 × 5 mm, copper) has no line in p.csv; the nearest is line 3" in str(fault.value)


def test_a_ring_may_be_called_as_it_is_printed() -> None:
    for name in ("A", "1.2 × 5 mm, copper", "Copper ring 1,2 x 5"):
        assert bought(f"ring;pack;price;currency\n{name};50;2,00;EUR\n").cost == 2


def test_a_line_that_is_not_needed_may_be_as_it_likes_and_one_that_is_may_not() -> None:
    text = HEAD + "x;1,2;5;copper;;50;2,00\ny;1,0;4;copper;;some;dear\n"
    assert bought(text).notes[-1] == "1 other line of p.csv is not needed"
    with pytest.raises(BadTable, match=r"p.csv, line 2, column 'pack': 'some' is no count"):
        bought(HEAD + "x;1,2;5;copper;;some;2,00\n")


def test_a_line_whose_cells_stand_elsewhere_is_told_where_a_ring_is_missing() -> None:
    text = (
        "item,wire mm,inside mm,metal,pack,price (EUR)\nx,1,2,5,copper,50,2\nA,1.2,4,copper,9,1\n"
    )
    with pytest.raises(
        NoKit, match=r"line 2: 7 cells where the heading has 6 .*stands in quotation"
    ):
        bought(text)
    one, other = priced("item,pack,price,currency\nA,10,€ 2.00,USD\nB,10,€ 2.00,\n")
    assert one.faults[0].endswith("EUR stands beside this price, and its currency is USD")
    assert (other.currency, other.faults) == ("EUR", ())


def test_prices_in_two_currencies_are_not_added() -> None:
    text = "ring,pack,price,currency\nA,100,3.80,EUR\nclasp,10,1,USD\n"
    with pytest.raises(BadTable, match="line 3: the price is in USD, and in EUR in line 2"):
        bought(text, CLASP)


def test_packs_of_two_sizes_are_mixed_where_that_costs_least() -> None:
    """21 x 31 = 651 rings: 500 and two of 100 are 22.60; two of 500 are 30, seven of 100 26.60."""
    text = HEAD + "x;1,2;5;copper;;100;3,80\nx;1,2;5;copper;;500;15,00\n"
    bill = bought(text, pieces=21)
    assert [(k.pack, k.packs) for k in bill.purchases[0].kinds] == [(500, 1), (100, 2)]
    assert (str(bill.cost), bill.purchases[0].left) == ("22.60", 49)
    assert bill.notes == (
        "A: line 3, 'x' (1.2 × 5 mm, copper) and line 2, 'x' (1.2 × 5 mm, copper) of p.csv cost"
        " least of 2 lines that fit",
    )
    page = as_plain(kit_page(kit_of(view(SIMPLE), Wish(pieces=21), priced(text), "p.csv")))
    rows = [line.split() for line in page.partition("TO BUY")[2].splitlines()]
    assert ["A", "651", "500", "1", "15.00", "15.00"] in rows
    assert ["100", "2", "3.80", "7.60", "49"] in rows


@given(
    st.integers(0, 60),
    st.lists(st.tuples(st.integers(1, 12), st.integers(0, 30)), min_size=1, max_size=3),
)
def test_no_other_packs_cost_less(need: int, offers: list[tuple[int, int]]) -> None:
    """Against all ways there are, one by one."""
    kinds = cheapest(need, [(pack, Decimal(price)) for pack, price in offers])
    assert sum(k.pack * k.packs for k in kinds) >= need
    ways = product(*(range(-(-need // pack) + 1) for pack, _ in offers))
    costs = [
        sum(n * price for n, (_, price) in zip(way, offers, strict=True))
        for way in ways
        if sum(n * pack for n, (pack, _) in zip(way, offers, strict=True)) >= need
    ]
    assert sum(k.cost for k in kinds) == min(costs)


# -- named, asked for, remembered ------------------------------------------------------------------

OWN = "Nr\tWas\tInhalt/Beutel\tEK\tVK\n1\tKupfer 1,2 x 5\t100\t1,90\t3,80\n2\tclasp\t10\t3\t6,50\n"
TOLD = ["ring=Was", "price=VK", "currency=EUR"]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("a.weave").write_text(CLASP, encoding="utf-8")
    Path("own.csv").write_text(OWN, encoding="utf-8")
    return tmp_path


def test_without_a_terminal_it_says_what_to_type(folder: Path, capsys: Out) -> None:
    words = ["kit", "a.weave", "--prices", "own.csv"]
    assert main(words) == 2
    err = capsys.readouterr().err
    assert "there are 'Nr', 'Was', 'Inhalt/Beutel', 'EK' and 'VK'" in err
    assert "  headings = Nr;Was;Inhalt/Beutel;EK;VK\n" in err
    assert main([*words, *(w for told in TOLD for w in ("--column", told)), "--csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out, newline="")))
    assert [(r["name"], r["cost"]) for r in rows] == [
        ("A", "3.80"),
        ("tail", ""),
        ("clasp", "6.50"),
    ]
    assert sorted(p.name for p in folder.iterdir()) == ["a.weave", "own.csv"]


def test_a_file_written_by_hand_is_used_as_long_as_the_headings_are_the_same(
    folder: Path, capsys: Out
) -> None:
    lines = ["headings = nr;was;Inhalt/Beutel;EK;VK", *(t.replace("=", " = ") for t in TOLD)]
    Path("own.csv.columns").write_text("\n".join(lines), encoding="utf-8")
    words = ["kit", "a.weave", "--prices", "own.csv", "--json"]
    assert main(words) == 0
    assert json.loads(capsys.readouterr().out)["cost"] == "10.30"
    Path("own.csv").write_text(OWN.replace("EK", "EKs"), encoding="utf-8")
    assert main(words) == 2
    assert "own.csv.columns is not used: the headings of own.csv are others now" in (
        capsys.readouterr().err
    )
    Path("own.csv.columns").write_text("what is this", encoding="utf-8")
    assert main(words) == 2
    assert "own.csv.columns, line 1: 'what is this' is not understood" in capsys.readouterr().err


def test_on_a_terminal_it_asks_once_and_remembers(folder: Path) -> None:
    """VK is the fifth heading, Was the second."""
    before = Path("own.csv").read_bytes()
    command = [sys.executable, "-m", "ringstep", "kit", "a.weave", "--prices", "own.csv", "--json"]
    ours, theirs = pty.openpty()
    os.write(ours, b"9\n5\n2\n=EUR\n")
    env = {**os.environ, "PYTHONPATH": str(ROOT / "recipe")}
    drained = bytearray()

    def drain() -> None:
        try:
            while data := os.read(ours, 4096):
                drained.extend(data)
        except OSError:
            return

    threading.Thread(target=drain, daemon=True).start()
    done = subprocess.run(
        command, stdin=theirs, stderr=theirs, stdout=subprocess.PIPE, env=env, timeout=60
    )
    os.close(theirs)
    assert done.returncode == 0, bytes(drained)
    assert json.loads(done.stdout)["cost"] == "10.30"
    assert re.findall(rb"Which column is the (\w+)", bytes(drained)) == [
        b"price", b"ring", b"currency",
    ]  # fmt: skip
    assert Path("own.csv.columns").read_text(encoding="utf-8").splitlines()[1:] == [
        "headings = Nr;Was;Inhalt/Beutel;EK;VK",
        "ring = Was",
        "pack = Inhalt/Beutel",
        "price = VK",
        "currency = EUR",
    ]
    assert Path("own.csv").read_bytes() == before
    again = subprocess.run(command, capture_output=True, env=env, timeout=60)
    assert json.loads(again.stdout)["cost"] == "10.30"


# -- several weaves --------------------------------------------------------------------------------


def test_rings_of_one_product_are_bought_together_for_all_weaves(folder: Path, capsys: Out) -> None:
    """Both have copper rings of 1.2 x 5 mm: 8 x 37 and 5 x 31 make 451, five packs of 100."""
    Path("b.weave").write_text(SIMPLE, encoding="utf-8")
    Path("p.csv").write_text(
        HEAD + "x;1,2;5;Kupfer;;100;3,80\nx;1,2;8;Kupfer;;10;1,20\nclasp;;;;;10;6,50\n",
        encoding="utf-8",
    )
    words = ["kit", "a.weave=8", "b.weave", "--pieces", "5", "--prices", "p.csv"]
    assert main([*words, "--csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out, newline="")))
    assert [(r["all_kits"], r["packs"], r["cost"]) for r in rows] == [
        ("451", "5", "19.00"), ("8", "1", "1.20"), ("8", "1", "6.50"),
    ]  # fmt: skip
    assert main([*words, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert [kit["kits"] for kit in data["kits"]] == [8, 5]
    assert (data["cost"], data["currency"]) == ("26.70", "EUR")
    assert main([*words, "--slip", "slip.html"]) == 0
    out = capsys.readouterr().out
    assert "all together: 26.70 EUR" in out
    page = Path("slip.html").read_text(encoding="utf-8")
    assert page.count("<h1>Packing slip: ") == 2
    assert page.count("<h2>Shopping list</h2>") == 1
    assert page.count('<section class="label">') == 8 * 2 + 5  # two of one, one of the other
    assert page.count('<section class="kit"') == 13
    assert "5 of 100" in page
    assert "EUR" not in page


def test_an_order_without_prices_adds_up_rings_and_weights() -> None:
    kits = [kit_of(view(SIMPLE), Wish(pieces=n)) for n in (2, 3)]
    order = order_of(kits)
    (thing,) = order.things
    assert (thing.needed, order.bill) == (5 * 31, None)
    one = kits[0].lines[0].grams
    assert one is not None
    assert thing.grams == pytest.approx(5 * one)


def test_a_name_that_two_weaves_have_for_other_rings_is_not_guessed() -> None:
    other = SIMPLE.replace("inside 5 mm", "inside 6 mm")
    kits = [kit_of(view(text), Wish()) for text in (SIMPLE, other)]
    with pytest.raises(NoKit, match=r"line 2: 'A' may be A of .* or A of .*write the size"):
        order_of(kits, read_prices(b"ring,pack,price,currency\nA,1,1,EUR\n", "p.csv"), "p.csv")


def test_a_length_holds_for_every_weave_of_an_order(
    folder: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    """190 mm less 14: 44 units of 4 mm with 1 ring before them, 36 of 5 mm (35.2) with 1."""
    monkeypatch.setenv("RINGSTEP_CACHE", str(folder / "cache"))  # no fit of it is kept there
    Path("b.weave").write_text(SIMPLE, encoding="utf-8")
    Path("a.weave").write_text(SIMPLE + "  sample 10 units = 40 mm\n", encoding="utf-8")
    words = ["kit", "a.weave=2", "b.weave", "--length", "19 cm", "--clasp", "14 mm"]
    assert main(words) == 2
    assert capsys.readouterr().err.startswith("ringstep: b.weave: the recipe has no sample")
    Path("b.weave").write_text(SIMPLE + "  sample 10 units = 50 mm\n", encoding="utf-8")
    assert main([*words, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert [thing["all_kits"] for thing in data["to_buy"]] == [2 * 45 + 37]
    assert main(["kit", "a.weave=x"]) == 2
    assert "--pieces: 'x' is not a plain number" in capsys.readouterr().err


def test_each_weave_of_an_order_has_its_share_by_count(folder: Path, capsys: Out) -> None:
    """62 rings for two kits and 31 for one, of one product in one pack of 8.40: 2.80 a kit."""
    for name in ("a", "b"):
        Path(f"{name}.weave").write_text(SIMPLE, encoding="utf-8")
    Path("p.csv").write_text("ring,size,pack,price EUR\nA,1.2 x 5 mm,100,8.40\n", "utf-8")
    assert main(["kit", "a.weave=2", "b.weave", "--prices", "p.csv"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "all together: 8.40 EUR" in out
    assert "a kit of Simple chain (a.weave): 2.80 EUR, its share by count" in out
    assert "a kit of Simple chain (b.weave): 2.80 EUR, its share by count" in out


def test_words_of_a_recipe_start_no_formula_in_the_order(folder: Path, capsys: Out) -> None:
    Path("b.weave").write_text(SIMPLE.replace("copper", "@SUM"), encoding="utf-8")
    assert main(["kit", "a.weave", "b.weave", "--csv"]) == 0
    assert ",'@SUM," in capsys.readouterr().out


def test_bare_sizes_that_can_be_nothing_but_mm() -> None:
    """As a workshop writes them: no unit anywhere. Inches and gauges could be meant elsewhere."""
    listed = "Bezeichnung;Draht Ø;Innen Ø;VE;Preis EUR\n{0};100;4,50\n"
    (one,) = read_prices(listed.format("Ringe;1,2;5").encode(), "p.csv")
    assert one.wire is not None
    assert one.inside is not None
    assert (one.wire.mm, one.inside.mm, one.faults, one.unsized) == (1.2, 5.0, (), "")
    for bare in ("Ringe;16;5", "Ringe;0,05;0,2", "Ringe;1;5"):
        (other,) = read_prices(listed.format(bare).encode(), "p.csv")
        assert other.wire is None
        assert "write '" in other.unsized


@pytest.mark.parametrize(
    ("text", "number"),
    [("1'234.50", "1234.50"), ("1 234,5", "1234.5"), ("1.234,50", "1234.50"), ("1,234.5", "1234.5"),
     ("1.234.567", "1234567"), ("0.250", "0.250")],
)  # fmt: skip
def test_numbers_with_parted_thousands(text: str, number: str) -> None:
    assert plain(text, "") == number


@pytest.mark.parametrize(
    ("text", "wire", "inside"),
    [("5 x 1.2 mm", 1.2, 5.0), ("1.2 x 5 mm", 1.2, 5.0), ("18 swg x 1 mm", 1.2192, 1.0)],
)
def test_the_thinner_of_two_sizes_is_the_wire_but_for_a_gauge(
    text: str, wire: float, inside: float
) -> None:
    found = two_sizes(text, "")
    assert found is not None
    assert [one.mm for one in found] == pytest.approx([wire, inside])


def test_a_size_that_cannot_be_is_told_with_its_line_and_column() -> None:
    with pytest.raises(BadTable, match=r"s\.csv, line 3, column 'Size': .*0"):
        read_stock(b"Ring;Size\nA;1.2 x 5 mm\nB;0 x 5 mm\n", "s.csv")


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("B;1.2 mm;5 mm;7", "s.csv, line 3: 4 cells where the heading has 3 (Ring, Wire, Inside);"),
        ("B;1.2 mm;", "s.csv, line 3, column 'Inside': this cell is empty;"),
        ("B;1.2 mm;zz", "s.csv, line 3, column 'Inside': 'zz' is not a size;"),
        ("B;9 mm;5 mm", "s.csv, line 3, column 'Inside': 5 mm is no wider than the wire, 9 mm;"),
    ],
)
def test_a_line_of_a_stock_that_cannot_be_is_told_with_its_place(line: str, told: str) -> None:
    with pytest.raises(BadTable) as fault:
        read_stock(f"Ring;Wire;Inside\nA;1.2 mm;5 mm\n{line}\n".encode(), "s.csv")
    assert str(fault.value).startswith(told)


def test_a_size_that_is_no_size_is_told_with_its_place() -> None:
    with pytest.raises(BadTable, match=r"^s\.csv, line 3, column 'Size': '?thick'?"):
        read_stock(b"Ring;Size\nA;1.2 x 5 mm\nB;thick\n", "s.csv")
