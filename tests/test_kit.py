"""Kits against sums done by hand: units from a length, spares, wire, metal, packs, money, time."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from fractions import Fraction
from math import pi
from pathlib import Path

import pytest
from helpers import (
    DOUBLED,
    EXAMPLES,
    JAPANESE,
    LIBRARY,
    PERSIAN,
    PERSIAN_WRITTEN,
    SHAGGY,
    SIMPLE,
    SPIRAL_LOOP,
    shipped_recipes,
    view,
)
from hypothesis import given
from hypothesis import strategies as st

from ringstep.commands.cli import main
from ringstep.language.typed_size import Measure, read_size
from ringstep.paper.kit_tables import duration_words, kit_page
from ringstep.shop.buying import packs_for
from ringstep.shop.kit import Kit, kit_of, with_spares
from ringstep.shop.money import share
from ringstep.shop.tables import read_prices
from ringstep.shop.wish import NoKit, Wish
from ringstep.weave.marks import text_mark

Out = pytest.CaptureFixture[str]
CLASP_FILE = LIBRARY / "chain_with_clasp.weave"
CLASP = CLASP_FILE.read_text(encoding="utf-8")
PRICES = (EXAMPLES / "prices.csv").read_bytes()
SAMPLED = DOUBLED.replace("18 swg", "1.2 mm").replace("3/16 in", "5 mm")


def mm(length: float) -> Measure:
    return read_size(f"{length:g} mm")


def kit(text: str, prices: bytes | None = None, **wish: object) -> Kit:
    listing = None if prices is None else read_prices(prices, "p.csv")
    return kit_of(view(text), Wish(**wish), listing, "p.csv")  # type: ignore[arg-type]


def words(made: Kit) -> str:
    return " ".join(note for sheet in kit_page(made).sheets for note in sheet.notes)


# -- a whole kit by hand ---------------------------------------------------------------------------


def test_a_class_of_eight_by_hand() -> None:
    """Worked on paper.

    190 + 10 - 12 = 188 mm at 50 mm for 10 units: 37.6, so 38 units of one ring; the start has one
    more, the finish a tail. 5 % of 39 is 1.95, so 2 spares; of 1 it is 0.05, so 1. Metal by Pappus:
    A has R = 3.1 and r = 0.6 mm, 2 pi^2 x 3.1 x 0.36 = 22.029 mm3, at 8.92 g/cm3 0.19650 g;
    the tail has R = 4.6, 32.688 mm3, 0.29158 g. Wire: pi x 6.2 = 19.478 and pi x 9.2 = 28.903 mm.
    Packs: 8 x 41 = 328 of 100 are 4, 8 x 2 = 16 of 10 are 2, 8 clasps of 10 are 1:
    15.20 + 2.40 + 6.50 = 24.10; an eighth is 3.0125, so 3.02. Time: 40 rings of 25 s are 1000 s.
    """
    made = kit(
        CLASP, PRICES, length=read_size("19 cm"), clasp=mm(12), ease=mm(10), pieces=8,
        spares=Decimal(5), pace=Decimal(25),
    )  # fmt: skip
    assert made.length is not None
    assert (made.length.to_weave, made.length.units, made.length.woven) == (188, 38, 190)
    assert made.length.exact_units == pytest.approx(37.6)
    assert made.length.ends == (("start", 1), ("finish", 1))
    ring, tail = made.lines
    assert (ring.rings, ring.spares, ring.in_kit, ring.in_class) == (39, 2, 41, 328)
    assert (tail.rings, tail.spares, tail.in_kit, tail.in_class) == (1, 1, 2, 16)
    assert ring.grams == pytest.approx(41 * 0.19650, rel=1e-4)
    assert tail.grams == pytest.approx(2 * 0.29158, rel=1e-4)
    assert ring.finished_grams == pytest.approx(39 * 0.19650, rel=1e-4)
    assert ring.wire_mm == pytest.approx(41 * 19.478, rel=1e-4)
    assert tail.wire_mm == pytest.approx(2 * 28.903, rel=1e-4)
    assert ring.density.source.startswith("copper.org")
    bought = [x.purchase for x in (*made.lines, *made.parts)]
    assert [(b.packs, b.cost, b.left) for b in bought] == [
        (4, Decimal("15.20"), 72), (2, Decimal("2.40"), 4), (1, Decimal("6.50"), 2),
    ]  # fmt: skip
    assert (made.bill.cost, made.cost_each, made.bill.currency) == (
        Decimal("24.10"),
        Decimal("3.02"),
        "EUR",
    )
    assert made.seconds == 1000
    assert duration_words(made.seconds) == "17 minutes"


def test_mixed_metals_and_an_unknown_one() -> None:
    text = JAPANESE.replace("4 mm, aluminium", "4 mm, moonmetal")
    made = kit(text)
    flat, small = made.lines
    # 48 flat rings: 2 pi^2 x 4.8 x 0.64 mm3 at 2.71 g/cm3
    assert flat.grams == pytest.approx(48 * 2 * pi**2 * 4.8 * 0.64 * 2.71 / 1000)
    assert small.grams is None
    told = words(made)
    assert "no density is known for 'moonmetal', so its metal is left out" in told
    assert "as far as the metal is known" in told
    assert "Aluminum Specification" in told


def test_rings_of_one_product_are_bought_together() -> None:
    """Across and down of the Japanese sheet are the same ring: 42 and 40 of them."""
    flat, small = kit(JAPANESE, spares=Decimal(10)).lines
    assert (flat.name, flat.rings) == ("flat", 48)
    assert (small.name, small.rings) == ("across and down", 82)
    assert small.spares == 9  # 8.2 rounded up; apart it would be 5 and 4
    assert small.names == ("across", "down")


def test_starters_that_come_out_are_in_the_kit_and_not_in_the_weight() -> None:
    (line,) = kit(PERSIAN).lines
    assert (line.rings, line.opened, line.closed, line.taken_out) == (102, 100, 2, 2)
    assert line.grams / line.finished_grams == pytest.approx(102 / 100)
    assert "100 opened and 2 closed beforehand for a piece, of which 2 come out again" in words(
        kit(PERSIAN)
    )


def test_the_saw_cut_takes_wire_and_no_metal() -> None:
    plain, cut = kit(SIMPLE).lines[0], kit(SIMPLE, saw_cut=0.3).lines[0]
    assert cut.wire_mm - plain.wire_mm == pytest.approx(31 * 0.3)
    assert cut.grams == plain.grams


@pytest.mark.parametrize("name", shipped_recipes())
def test_every_shipped_weave_makes_a_kit_of_all_its_rings(name: str) -> None:
    from ringstep.shop.tally import count_piece

    seen = view(shipped_recipes()[name])
    made = kit_of(seen, Wish())
    assert made.rings == sum(r.placed for r in count_piece(seen).rings) > 0
    assert all(line.density and line.grams for line in made.lines)


# -- length ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length", "units"),
    [(41, 10), (41.1, 11), (40.9, 10), (4.1, 1), (0.1, 1), (123, 30), (190, 47)],
)
def test_units_for_a_length(length: float, units: int) -> None:
    """By a sample of 10 units = 41 mm: a whole number is not rounded up any further."""
    made = kit(SAMPLED, length=mm(length))
    assert made.length.units == units
    assert made.rings == 2 + 2 * units


@given(st.integers(1, 60), st.integers(1, 400), st.integers(1, 40000))
def test_the_units_reach_the_length_and_one_fewer_does_not(
    sample_units: int, sample: int, length: int
) -> None:
    text = SAMPLED.replace("sample 10 units = 41 mm", f"sample {sample_units} units = {sample} mm")
    made = kit(text, length=mm(length / 10)).length
    each = Fraction(sample, sample_units)
    assert made.units * each >= Fraction(length, 10)
    assert (made.units - 1) * each < Fraction(length, 10)


def test_the_recipes_own_length_takes_the_allowances_too() -> None:
    assert kit(SAMPLED).length.units == 47  # 190 mm / 4.1
    assert kit(SAMPLED, clasp=mm(12), ease=mm(5)).length.units == 45  # 183 / 4.1 = 44.6


def test_inches_and_cm() -> None:
    made = kit(SAMPLED, length=read_size("7.5 in"))
    assert made.length.to_weave == 190.5
    assert made.length.units == 47


def test_the_way_to_the_length_is_told_with_what_comes_on_top() -> None:
    told = words(kit(CLASP, length=mm(190), clasp=mm(12)))
    assert "190 mm wanted, less 12 mm for the clasp: 178 mm to weave" in told
    assert "the recipe's sample says 10 units = 50 mm" in told
    assert "it takes 35.60 units, rounded up to 36, which measure 180 mm" in told
    assert "the start (1 ring) and the finish (1 ring) come on top" in told
    assert "the sample belongs to the rings of the recipe" in told
    assert "of the sample the recipe says: Computed, not measured" in told


NO_LENGTH = {
    "no sample": (
        SIMPLE, {"length": mm(190)},
        "the recipe has no sample to turn a length into units: run 'ringstep fit FILE' once, which"
        " computes a range, or better work 10 units with these rings, lay the piece flat without"
        " pulling, measure them in mm, and add to 'piece:' the line 'sample 10 units = … mm', or"
        " keep it with 'ringstep sample add'; the sample belongs to one size of ring",
    ),
    "a sheet": (
        JAPANESE, {"length": mm(190)},
        "a sheet is rows times units, so --length cannot size it; change the line"
        " 'sheet 6 rows of 8 units' in the recipe",
    ),
    "a sheet and ease": (
        JAPANESE, {"ease": mm(10)},
        "a sheet is rows times units, so --ease cannot size it; change the line"
        " 'sheet 6 rows of 8 units' in the recipe",
    ),
    "all written out": (
        PERSIAN_WRITTEN, {"length": mm(190)},
        "the recipe writes out all its 3 units and has no 'unit:' to repeat, so --length cannot"
        " lengthen it; add a block 'unit:', or leave --length out",
    ),
    "made in one go": (
        shipped_recipes()["flower_of_five"], {"length": mm(190)},
        "this piece is made in one go and repeats no unit, so leave --length out",
    ),
    "a loop and a clasp": (
        SPIRAL_LOOP, {"length": mm(190), "clasp": mm(12)},
        "a loop closes into itself and has no clasp; leave --clasp out",
    ),
    "units and an allowance": (
        SIMPLE, {"clasp": mm(12)},
        "the recipe says how many units to work, so --clasp has no length to change; give one with"
        " --length",
    ),
    "nothing left": (
        SAMPLED, {"length": mm(10), "clasp": mm(12)},
        "the clasp (12 mm) leaves nothing to weave of 10 mm; give a longer --length",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", NO_LENGTH)
def test_a_length_that_cannot_be_is_refused_and_never_guessed(case: str) -> None:
    text, wish, told = NO_LENGTH[case]
    with pytest.raises(NoKit) as fault:
        kit(text, **wish)
    assert str(fault.value) == told


def test_a_piece_of_units_without_a_sample_says_how_to_know_its_length() -> None:
    made = kit(SIMPLE)
    assert made.length is None
    assert words(made).startswith("to know its length, work 10 units with these rings")
    assert "length" not in words(kit(JAPANESE))


def test_hand_outs_of_another_length_are_warned_of() -> None:
    told = "the recipe itself has 36 units: before you print hand-outs, write 'chain 38 units' in"
    assert told in words(kit(CLASP, length=mm(190)))
    assert "hand-outs" not in words(kit(CLASP))


def test_a_piece_of_units_with_a_sample_says_its_length() -> None:
    made = kit(shipped_recipes()["simple_loop"])
    assert made.length.wanted is None
    assert made.length.woven == 686
    assert "so 98 units measure 686 mm" in words(made)


# -- spares, packs, money --------------------------------------------------------------------------


@given(st.integers(0, 10**6), st.integers(0, 200), st.integers(0, 9))
def test_spares_are_never_too_few_nor_one_too_many(count: int, whole: int, tenth: int) -> None:
    percent = Decimal(f"{whole}.{tenth}")
    spares = with_spares(count, percent)
    assert spares >= Fraction(percent) * count / 100
    assert spares - 1 < Fraction(percent) * count / 100


@given(st.integers(1, 10**9), st.integers(1, 10**6))
def test_packs_suffice_and_one_fewer_does_not(need: int, pack: int) -> None:
    packs = packs_for(need, pack)
    assert packs * pack >= need
    assert (packs - 1) * pack < need


@given(
    st.integers(1, 400),
    st.integers(1, 500),
    st.decimals(0, 10**6, places=2, allow_nan=False),
    st.decimals(0, 10**6, places=3, allow_nan=False),
)
def test_money_is_exact_and_the_shares_cover_it(
    pieces: int, pack: int, core: Decimal, tuft: Decimal
) -> None:
    """Against fractions, which are exact."""
    listing = f"ring,pack,price,currency\ncore,{pack},{core},EUR\ntuft,7,{tuft},EUR\n".encode()
    made = kit(SHAGGY, listing, pieces=pieces)
    # 40 units: a core and six tufts each
    exact = -(-40 * pieces // pack) * Fraction(core) + -(-240 * pieces // 7) * Fraction(tuft)
    assert Fraction(made.bill.cost) == exact
    assert Fraction(made.cost_each) * pieces >= exact
    assert (Fraction(made.cost_each) - Fraction(1, 100)) * pieces < exact
    assert made.cost_each == made.cost_each.quantize(Decimal("0.01"))


@pytest.mark.parametrize(
    ("cost", "pieces", "currency", "each"),
    [("10", 3, "EUR", "3.34"), ("10", 4, "EUR", "2.50"), ("10", 3, "JPY", "4"),
     ("10", 3, "KWD", "3.334"), ("0", 3, "EUR", "0.00")],
)  # fmt: skip
def test_a_share_is_rounded_up_to_the_smallest_coin(
    cost: str, pieces: int, currency: str, each: str
) -> None:
    """Coins of ISO 4217, from memory: the yen has none smaller, the Kuwaiti dinar a thousandth."""
    assert str(share(Decimal(cost), pieces, currency)) == each


def test_what_has_no_price_is_named() -> None:
    made = kit(CLASP, b"ring,pack,price,currency\nA,100,3.80,EUR\n")
    assert made.bill.unpriced == ("tail", "clasp")
    assert made.bill.cost == Decimal("3.80")
    assert "tail and clasp have no price in the list, so the cost is too low by that" in words(made)


def test_a_price_may_call_a_ring_by_its_line_or_by_its_role() -> None:
    for name in ("all", "M"):
        made = kit(PERSIAN, f"ring,pack,price,currency\n{name},100,4.00,EUR\n".encode())
        assert made.bill.cost == Decimal("8.00")


def test_of_two_metals_none_is_chosen_where_the_recipe_names_none() -> None:
    text = SIMPLE.replace(", copper", "")
    listed = "ring,pack,price,currency\n1.2 x 5 mm copper,{},4,EUR\n1.2 x 5 mm {},50,3,EUR\n"
    with pytest.raises(NoKit, match="names no metal, and several fit"):
        kit(text, listed.format(100, "brass").encode())
    bill = kit(text, listed.format(100, "copper").encode()).bill
    assert bill is not None
    assert bill.cost == Decimal(3)  # 31 rings of the one metal there is, the smaller pack


def test_a_ring_listed_by_its_number_is_not_called_by_its_name_alone() -> None:
    """M1 and M2 are two products, so 'M' is neither."""
    text = PERSIAN.replace(
        "  all  wire",
        "  M1  wire 1.2 mm, inside 7 mm, brass\n  M2  wire 1.2 mm, inside 8 mm, brass\n  all  wire",
    )
    called = [set(line.names) for line in kit(text).lines]
    assert [names & {"M", "M1", "M2"} for names in called] == [{"M1"}, {"M2"}, set()]


def test_a_part_keeps_its_size_and_a_batch_the_mark_of_its_text() -> None:
    text = CLASP.replace("claw, brass", "claw, brass, 12 mm by 6 mm, hole 2 mm")
    made = kit(text, batch="7")
    (clasp,) = made.parts
    assert clasp.size is not None
    assert clasp.size == view(text).weave.part_size("clasp")
    assert made.trace == f"Batch 7, text mark {text_mark(view(text).recipe.source)}"


def test_a_line_of_nothing_in_the_recipe_is_left_aside_and_counted() -> None:
    made = kit(SHAGGY, b"ring,pack,price,currency\ncore,1,1,EUR\ntuff,1,1,EUR\nbox,1,x,EUR\n")
    assert made.bill.unpriced == ("tuft",)
    told = words(made)
    assert "has no line in p.csv; the nearest is line 3, 'tuff'" in told
    assert "2 other lines of p.csv are not needed" in told


def test_a_list_of_other_things_is_refused() -> None:
    with pytest.raises(NoKit) as fault:
        kit(SHAGGY, b"ring,pack,price,currency\nclasp,1,1,EUR\n")
    assert str(fault.value).splitlines()[0] == "p.csv has no price of anything in the recipe"


def test_of_two_prices_for_one_product_the_lower_is_taken() -> None:
    """Across and down are the same ring: 82 of them are 9 packs of 10."""
    made = kit(JAPANESE, b"ring,pack,price,currency\nacross,10,2,EUR\ndown,10,1,EUR\n")
    assert made.bill.cost == 9
    told = "across and down: line 3, 'down' of p.csv costs least of 2 lines that fit"
    assert told in words(made)


# -- the command -----------------------------------------------------------------------------------

FULL = [
    "kit", str(CLASP_FILE), "--length", "19 cm", "--clasp", "12mm", "--ease", "10 mm",
    "--pieces", "8", "--spares", "5%", "--prices", str(EXAMPLES / "prices.csv"), "--pace", "25",
]  # fmt: skip


def test_the_kit_as_printed(capsys: Out) -> None:
    assert main(FULL) == 0
    out = capsys.readouterr().out
    assert "8 kits, each for a chain of 38 units, with 5 % spare rings." in out
    assert "A     1.2 × 5 mm, copper     39       2   41     328           0.80" in out
    assert "clasp        8         10      1               6.50       6.50          2" in out
    assert "a kit's share: 3.02 EUR (rounded up to the smallest coin)" in out
    assert "all 8 pieces: 2 hours 14 minutes of work" in out
    assert max(len(x) for x in out.splitlines()) <= 88


def test_sizes_are_told_as_the_recipe_writes_them_too(capsys: Out) -> None:
    assert main(["kit", str(LIBRARY / "doubled_chain.weave")]) == 0
    out = capsys.readouterr().out
    assert "1.22 × 4.76 mm (18 swg, 3/16 in), bright aluminium" in out


def test_the_kit_as_json(capsys: Out) -> None:
    assert main([*FULL, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["length_mm"]["units"] == 38
    assert (data["cost"], data["cost_a_kit"], data["currency"]) == ("24.10", "3.02", "EUR")
    assert [r["all_kits"] for r in data["rings"]] == [328, 16]
    assert data["rings"][0]["buy"]["packs"] == [{"pack": 100, "price": "3.80", "packs": 4}]
    assert data["parts"][0]["buy"] == {
        "packs": [{"pack": 10, "price": "6.50", "packs": 1}], "cost": "6.50", "left_over": 2,
    }  # fmt: skip


def test_the_kit_as_csv(capsys: Out) -> None:
    assert main([*FULL, "--csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out, newline="")))
    assert [r["name"] for r in rows] == ["A", "tail", "clasp"]
    assert [(r["all_kits"], r["packs"], r["cost"]) for r in rows] == [
        ("328", "4", "15.20"), ("16", "2", "2.40"), ("8", "1", "6.50"),
    ]  # fmt: skip


def test_recipe_words_start_no_formula_in_the_csv(
    tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("x.weave").write_text(SIMPLE.replace("copper", "@SUM"), encoding="utf-8")
    assert main(["kit", "x.weave", "--csv"]) == 0
    out = capsys.readouterr().out
    assert ",'@SUM," in out
    assert main(["kit", "x.weave", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["rings"][0]["material"] == "@SUM"


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (["--length", "19"], "--length: '19' has no unit; write '19 mm', or with cm or in"),
        (["--length", "19,5 cm"], "--length: '19,5 cm' has a decimal comma; write '19.5 cm'"),
        (["--spares", "5,5"], "--spares: '5,5' has a decimal comma; write 5.5"),
        (["--spares", "lots"], "--spares: 'lots' is not a plain number; write it as in --spares 5"),
        (["--spares", "500"], "--spares: 500 is out of bounds; it goes from 0 to 200"),
        (["--pieces", "0"], "--pieces: 0 is out of bounds; it goes from 1 to 10000"),
        (["--pieces", "1.5"], "--pieces: 1.5 is not a whole number; write it as in --pieces 8"),
        (["--pace", "0"], "--pace: 0 is out of bounds; it goes from 0.1 to 3600"),
        (["--prices", "nowhere.csv"], "there is no file nowhere.csv"),
        (["--prices", str(LIBRARY)], "is a folder; name the table in it"),
    ],
)
def test_options_that_cannot_be_read(typed: list[str], told: str, capsys: Out) -> None:
    assert main(["kit", str(CLASP_FILE), *typed]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert told in err
