"""Tables and papers of the shop, each with its numbers worked out by hand."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pytest
from helpers import LIBRARY, SHAGGY, SIMPLE
from hypothesis import given
from hypothesis import strategies as st
from test_kit import CLASP, PRICES, kit

from ringstep.commands.cli import main
from ringstep.language.typed_size import read_size
from ringstep.paper.kit_tables import duration_words, grams_text, kit_intro, kit_page
from ringstep.paper.packing_slip import packing_slip
from ringstep.paper.printed import Sheet
from ringstep.paper.size_tables import _named
from ringstep.shop.order import order_of
from ringstep.weave.working_range import text_at_least, text_at_most

Out = pytest.CaptureFixture[str]


def said(capsys: Out, *words: str, code: int = 0) -> str:
    """What a command prints, its blanks and line ends as one blank each."""
    capsys.readouterr()
    assert main([*words]) == code
    return " ".join(capsys.readouterr().out.split())


# -- mandrels --------------------------------------------------------------------------------------

COIL = ("--coil", "8 mm, inside 8.4 mm")


def test_mandrel_tables_judge_a_coil_on_the_widest_mandrel_wherever_it_stands(capsys: Out) -> None:
    """1.2 mm wire: 9.2 mm wound is 9.6 let go. Off 16 mm 1 / (1/17.2 - 1/9.2 + 1/9.6) = 18.65 mm of
    mean diameter, 1.94 times 9.6: a misread 0.05 mm grows 3.77 times, to 0.19."""
    words = ("mandrel", "--wire", "1.2 mm +- 0.02 mm", "--saw", "0.5 mm", *COIL)
    three = [w for mm in (12, 16, 8) for w in ("--mandrel", f"{mm} mm")]
    out = said(capsys, *words, *three)
    assert "12 mm 1.2 mm, your spool 12.84 12.68 10.57 10.39 to 10.75 16 mm" in out
    assert "16 mm 1.2 mm, your spool 17.45 17.29 14.41 14.17 to 14.66 8 mm" in out
    assert "8 mm 1.2 mm, your spool 8.40 8.24 6.87 6.75 to 6.98 - sawn" in out
    assert (
        "by your coil, 8.4 mm inside off a mandrel of 8 mm, the spring-back of this spool is"
        " 0.0054 (wire × (1 / wound − 1 / released), by mean diameters), on every mandrel - a coil"
        " read 0.05 mm wrong puts the inside off by 0.19 mm on 16 mm, since it grows with the"
        " square of the width: measure a coil of about the width you need - computed" in out
    )
    assert "loses 0.5 / π = 0.16 mm of its inside" in out
    assert "typical only" not in out


@pytest.mark.parametrize(("mandrel", "off", "far"), [(11, "0.09", False), (12, "0.11", True)])
def test_mandrel_tables_send_for_another_coil_where_a_misread_one_counts_double(
    mandrel: int, off: str, far: bool, capsys: Out
) -> None:
    """12.2 mm wound is 12.91 let go, (12.91 / 9.6) squared 1.81; 13.2 mm is 14.04, 2.14."""
    out = said(capsys, "mandrel", "--wire", "1.2 mm", *COIL, "--mandrel", f"{mandrel} mm")
    assert f"off by {off} mm on {mandrel} mm, since it grows" in out
    assert ("measure a coil of about the width you need" in out) is far


def test_mandrel_tables_name_the_nearest_on_sale(capsys: Out) -> None:
    words = ("mandrel", "--wire", "1.2 mm", "--metal", "soft copper")
    out = said(capsys, *words, "--ar", "4 to 5")
    assert "takes one of 4.71 to just under 6.02 mm. Nearest on sale: 5.25 mm, AR 4.40. mand" in out
    out = said(capsys, *words, "--inside", "5 mm")
    assert (
        "For an inside of 5 mm soft copper takes one of 4.97 mm. Nearest on sale: 5 mm, AR" in out
    )
    assert "verdict" not in out
    recipe = str(LIBRARY / "spiral_4.weave")
    # the rings of the recipe have AR 4.8 / 1.2 = 4; 3.88 and 4.10 are on sale
    out = said(capsys, "mandrel", recipe, *COIL)
    assert "For AR 3.5 to 4.5 your spool takes one of 4.01 to just under 5.26 mm. Nearest" in out
    assert "Nearest on sale: 4.75 mm, AR 4.10." in out


def test_mandrel_tables_give_plain_data_to_a_tenth_of_a_micron(capsys: Out) -> None:
    """An inch by 3/16 is 4.7625 mm; 0.0054348 is 1.2 x (1/9.2 - 1/9.6)."""
    words = ("mandrel", "--wire", "1.2 mm +- 0.02 mm", "--mandrel", "3/16 in", *COIL, "--json")
    (row,) = json.loads(said(capsys, *words))["rings"]
    mean = 1 / (1 / 5.9625 - 1 / 9.2 + 1 / 9.6)
    assert row["mandrel_mm"] == 4.7625
    assert row["springback"] == 0.005435
    assert row["coil_inside_mm"] == row["inside_mm"] == float(f"{mean - 1.2:.4f}")
    assert row["ar"] == float(f"{(mean - 1.2) / 1.2:.4f}")
    assert row["ar_from"] == pytest.approx(row["ar"] * 1.2 / 1.22, abs=0.005)
    assert row["ar_to"] == pytest.approx(row["ar"] * 1.2 / 1.18, abs=0.005)
    assert all(len(str(row[key]).partition(".")[2]) == 4 for key in ("ar_from", "ar_to"))
    assert (row["wire_mm"], row["wire_off_mm"], row["saw_mm"]) == (1.2, 0.02, None)
    assert (row["for"], row["verdict"]) == (None, "no range")
    (row,) = json.loads(said(capsys, *words, "--saw", "0.5 mm"))["rings"]
    assert row["saw_mm"] == 0.5
    assert row["inside_mm"] == float(f"{mean - 1.2 - 0.159155:.4f}")


# -- sizes -----------------------------------------------------------------------------------------


def test_size_tables_name_the_sizes_on_sale_of_a_range(capsys: Out) -> None:
    """AR 3.45 to under 4.55 of 1.2 mm are 4.14 to under 5.46 mm; of an inside of 5 mm wire over
    1.0989 up to 1.449 mm, which is AWG 17 and 16 (1.15, 1.291), SWG 18 and 17 (1.219, 1.422)."""
    recipe = str(LIBRARY / "spiral_4.weave")
    out = said(capsys, "sizes", recipe, "--wire", "1.2 mm")
    assert (
        "1.2 mm 4.14 to just under 5.46 4.2 to 5.4 4.25, 4.5, 4.75, 5, 5.25 11/64, 3/16, 13/64 - go"
        in out
    )
    assert (
        "hard bound for any wire: AR 2.41 at least (2.9 mm with 1.2 mm wire), since 4 rings" in out
    )
    out = said(capsys, "sizes", recipe, "--inside", "5 mm")
    assert "5 mm just over 1.1 to 1.44 16, 17 17, 18 - good to make at AR 3.5 to 4.5" in out
    out = said(capsys, "sizes", recipe, "--wire", "18 swg", "--inside", "5 mm")
    assert "18 SWG (1.22 mm) 5 mm 4.10 4.1 fits 18 SWG sold as 1.2 mm 5 mm 4.17 4.2 fits" in out
    assert "an AR is compared rounded to 1 decimal, halves up" in out
    out = said(capsys, "sizes", "--wire", "18 swg", "--wire", "16 awg")
    assert "18 SWG 1.219 1.2 17 (1.15 mm) 18 (1.22 mm) 16 AWG 1.291 1.3 16 (1.29 mm) 18" in out


def test_size_tables_name_at_most_eight_sizes_one_by_one() -> None:
    assert _named(3, 10, str) == "3, 4, 5, 6, 7, 8, 9, 10"
    assert _named(3, 11, str) == "3 to 11"


@pytest.mark.parametrize(
    ("mm", "up", "down"),
    [(4.14, "4.14", "4.14"), (4.141, "4.15", "4.14"), (4.149, "4.15", "4.14"), (5.0, "5", "5")],
)
def test_size_tables_round_to_what_is_enough_and_not_too_much(
    mm: float, up: str, down: str
) -> None:
    assert (text_at_least(mm), text_at_most(mm)) == (up, down)


def test_size_tables_say_when_no_ring_is_right(capsys: Out, tmp_path: Path) -> None:
    """A stated range below the floor of four wires, AR 2.41; and one without an upper end."""
    text = (LIBRARY / "spiral_4.weave").read_text(encoding="utf-8")
    path = tmp_path / "it.weave"
    stated = "AR 3.5 to 4.5, common practice no source"
    assert stated in text
    path.write_text(text.replace(stated, "AR 2.0 to 2.2, my own trials"), encoding="utf-8")
    out = said(capsys, "sizes", str(path), "--wire", "1.2 mm")
    assert "1.2 mm none: the floor lies higher none none none" in out
    path.write_text(text.replace(stated, "AR from 3.5, my own trials"), encoding="utf-8")
    out = said(capsys, "sizes", str(path), "--wire", "1.2 mm")
    assert "1.2 mm 4.14 and up - good to make at AR from 3.5 (my own trials)" in out
    out = said(capsys, "sizes", str(path), "--inside", "5 mm")
    assert "5 mm up to 1.44 16 to 40 17 to 50 - good" in out  # 5 / 3.45 is 1.449


def test_size_tables_say_how_many_wires_a_ring_holds_at_the_most(capsys: Out) -> None:
    """In an opening of two wires lie two, of just over one wire one."""
    out = said(capsys, "sizes", "--wire", "1 mm", "--inside", "2 mm")
    assert "at this AR no more than 2 rings of the same wire can go through at all" in out
    out = said(capsys, "sizes", "--wire", "1 mm", "--inside", "1.1 mm")
    assert "no more than 1 ring of the same wire" in out


# -- kits ------------------------------------------------------------------------------------------


@given(st.integers(0, 200_000))
def test_kit_tables_tell_times_rounded_up_to_the_minute(seconds: int) -> None:
    words = duration_words(Decimal(seconds)).split()
    told = dict(zip((w.removesuffix("s") for w in words[1::2]), map(int, words[::2]), strict=True))
    minutes = 60 * told.get("hour", 0) + told.get("minute", 0)
    assert 0 <= 60 * minutes - seconds < 60
    assert told.get("minute", 0) < 60
    assert all(
        (n == "1") is not w.endswith("s") for n, w in zip(words[::2], words[1::2], strict=True)
    )


def test_kit_tables_tell_grams_with_fewer_decimals_from_10_on() -> None:
    assert [grams_text(g) for g in (9.994, 10, 9.996)] == ["9.99", "10.0", "10.00"]


def sheets(made: object) -> dict[str, Sheet]:
    return {sheet.heading: sheet for sheet in kit_page(made).sheets}  # type: ignore[arg-type]


def test_kit_tables_add_up_the_rings_of_a_class() -> None:
    """The kit of 41 rings and 2 tails, 3 of 38 units: 41 x 19.478 and 2 x 28.903 mm of wire,
    41 x 0.19650 and 2 x 0.29158 g; 39 and 1 of them in a piece."""
    made = kit(
        CLASP, PRICES, length=read_size("190 mm"), spares=Decimal(5), pieces=3, pace=Decimal(20)
    )
    told = sheets(made)
    rings = told["Rings"]
    assert rings.heads[2:] == (
        "piece",
        "spares",
        "kit",
        "3 kits",
        "wire a kit, m",
        "metal a kit, g",
    )
    assert [row[:1] + row[2:] for row in rings.rows] == [
        ("A", "39", "2", "41", "123", "0.80", "8.06"),
        ("tail", "1", "1", "2", "6", "0.06", "0.58"),
        ("all", "40", "3", "43", "129", "0.86", "8.64"),
    ]
    assert rings.numbers == {2, 3, 4, 5, 6, 7}
    assert "the finished piece weighs about 7.96 g, parts not counted" in rings.notes
    assert told["Parts"].rows == (("clasp", "lobster claw, brass", "1", "3"),)
    assert told["Parts"].heads[2:] == ("kit", "3 kits")
    assert told["Time"].notes == (
        "at 20 seconds a ring, 40 rings take about 14 minutes for one piece",
        "all 3 pieces: 40 minutes of work; in a class everyone works one piece",
    )
    assert kit_intro(made) == "3 kits, each for a chain of 38 units, with 5 % spare rings."


def test_kit_tables_of_one_ring_and_one_kit_have_no_sums() -> None:
    made = kit(SIMPLE, pace=Decimal(20))
    told = sheets(made)
    (row,) = told["Rings"].rows
    assert row[0] == "A"
    assert row[2:5] == ("31", "0", "31")
    assert told["Time"].notes == (
        "at 20 seconds a ring, 31 rings take about 11 minutes for one piece",
    )
    assert "Parts" not in told
    assert told["Rings"].notes[0] == "30 opened and 1 closed beforehand for a piece"
    assert kit_intro(made) == "For a chain of 30 units."


def test_kit_tables_say_what_one_unit_fewer_would_measure() -> None:
    """5 mm a unit: 37 units are 185 mm; of a single unit there is none fewer."""
    words = " ".join(sheets(kit(CLASP, length=read_size("188 mm")))["Length"].notes)
    assert (
        "so it takes 37.60 units, rounded up to 38, which measure 190 mm; 37 units would" in words
    )
    assert "37 units would measure 185 mm" in words
    two = " ".join(sheets(kit(CLASP, length=read_size("8 mm")))["Length"].notes)
    assert "1.60 units, rounded up to 2, which measure 10 mm; 1 unit would measure 5 mm" in two
    one = " ".join(sheets(kit(CLASP, length=read_size("3 mm")))["Length"].notes)
    assert "0.60 units, rounded up to 1, which measure 5 mm the sample" in one.replace(";", "")
    whole = " ".join(sheets(kit(CLASP, length=read_size("190 mm")))["Length"].notes)
    assert "so it takes 38 units, which measure 190 mm the sample measures" in whole
    assert "'chain 38 units'" in whole
    assert "and any clasp come on top; measure what that adds and put it into --clasp" in whole
    clasped = " ".join(
        sheets(kit(CLASP, length=read_size("190 mm"), clasp=read_size("10 mm")))["Length"].notes
    )
    assert "190 mm wanted, less 10 mm for the clasp: 180 mm to weave" in clasped
    assert "the start (1 ring) and the finish (1 ring) come on top" in clasped


def test_sample_words_give_computed_ends_to_a_tenth_of_a_micron(
    folder: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    """3.123456 to 4.234567 mm: the middle is 3.6790115, the margin 0.5555555."""
    ends = (3.123456, 4.234567)
    monkeypatch.setattr("ringstep.commands.fit_store.fitted_length", lambda _: ends)
    (folder / "a.weave").write_text(SIMPLE.replace("30 units", "190 mm"), encoding="utf-8")
    told = json.loads(said(capsys, "kit", "a.weave", "--json"))["length_mm"]
    assert told["computed_ends"] == {
        "pushed_together": 3.1235, "pulled_straight": 4.2346, "flat_middle": 3.679,
        "flat_give_or_take": 0.5556, "of": "rigid round rings",
    }  # fmt: skip
    assert told["computed_unit"] == [3.123456, 4.234567]
    assert (told["least_units"], told["units"]) == (45, 61)  # 44.87 and 60.83, rounded up


def test_shopping_list_asks_for_declarations_only_where_a_metal_calls_for_one() -> None:
    def page(text: str) -> str:
        return packing_slip(order_of((kit(text),)), ("pliers",))

    asked = "<h3>Ask your supplier for a declaration of</h3>"
    brass = page(SIMPLE.replace("copper", "brass"))
    assert brass.count(asked) == 1
    assert "<li>Brass: cadmium, below 0.01 % by weight" in brass
    assert brass.index(asked) < brass.index("<h3>For each person at work</h3>")
    copper = page(SIMPLE)
    assert asked not in copper
    assert "Weights are those of closed round rings: copper 8.92 g/cm³." in copper
    unknown = page(SIMPLE.replace("copper", "moonmetal"))
    assert "Weights are those" not in unknown


def test_shopping_list_heads_the_kits_of_one_weave_or_of_all() -> None:
    one = packing_slip(order_of((kit(SIMPLE, pieces=3),)), ("pliers",))
    heads = '<th class="number" scope="col">3 kits</th>'
    assert heads in one
    both = packing_slip(order_of((kit(SIMPLE, pieces=3), kit(SHAGGY, pieces=2))), ("pliers",))
    assert '<th class="number" scope="col">all kits</th>' in both
    assert "Simple chain. 3 kits, each for a chain of 30 units." in both
    assert "Shaggy chain. 2 kits, each for a chain of 40 units." in both
