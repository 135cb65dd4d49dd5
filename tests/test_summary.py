"""What a clean recipe is said to be: its size, what its rings meet, how it repeats.

Counted by hand: rings a unit and links out of the recipes, lengths as units times what a unit
measures.
"""

from __future__ import annotations

import pytest
from helpers import EXAMPLES, LIBRARY, view
from small_recipes import recipe

from ringstep.checks.summary import (
    finished_facts,
    piece_words,
    placed_once,
    repeat_words,
    sampled_blocks,
    slants,
    strand_words,
    summary_lines,
    the_one,
    unit_rings,
    wanted_words,
    woven_mm,
)
from ringstep.language.syntax import Size
from ringstep.weave.repeats import Periods

SHIPPED = {
    "clasp_chain": [
        "12 steps, a chain of 14 units, 6 rings a unit",
        "every finished A meets 2 C and 2 B, B meets 2 A and 2 C and C meets 2 B and 2 A;"
        " J meets 1 clasp and 2 A, the tail meets 2 C and the clasp meets 1 J",
        "the piece repeats every unit",
    ],
    "drop_earring": [
        "3 steps, a sheet of 6 rows of 1 to 6 units, 21 places in all, 1 ring a unit",
        "every finished A meets 4 A; the tip meets 2 A and the bar meets 6 A",
        "the piece repeats every unit, but for its shape",
    ],
    "graduated_strand": [
        "3 steps, a chain of 18 units, in size short, 3 rings a unit",
        "every finished A meets 4 eye and eye meets 2 A",
        "sizes short and long, each of them judged",
        "the piece repeats every unit, but for its sizes",
    ],
    "heart_panel": [
        "2 steps, a sheet of 11 rows of 13 units, 1 ring a unit",
        "every finished A meets 4 A",
        "the picture has 80 grey, 63 red",  # 11 rows of 13
        "the piece repeats every unit, but for its colours",
    ],
    "window_panel": [
        "2 steps, a sheet of 9 rows of 7 to 10 units, 81 places in all, 1 ring a unit",
        "every finished A meets 4 A",
        "the picture has 67 grey, 14 red",
        "the piece repeats every unit, but for its shape and colours",
    ],
    "hexagon_plate": [
        "12 steps, 3 rows in the round of 6 to 18 units, 36 places in all",
        "every finished plate meets 6 bond and bond meets 2 plate",
    ],
    "joined_strips": [
        "3 steps, a piece joined of 2 strips, each a sheet of 3 rows of 9 units",
        "every finished A meets either 4 A, or 2 A and 2 seam and seam meets 4 A",
        "the strip repeats every unit",
    ],
    "rosettes_in_a_row": [
        "5 steps, a piece joined of 4 rosettes, each made in one go",
        "every finished petal meets either 4 petal, or 4 petal and 1 link and link meets either"
        " 2 petal, or 1 petal and 1 clasp; the clasp meets 1 link",
    ],
    "striped_cuff": [
        "3 steps, a sheet of 9 rows of 28 units, 1 ring a unit",
        "every finished silver meets 4 blue and blue meets 4 silver",
        "the piece repeats every unit and every two rows",
    ],
    "sun_bracelet": [
        "5 steps, a chain of 25 units, about 191.6 mm (190 mm wanted)",
        "every finished A meets either 4 A, or 1 sun and 2 A and X meets 2 A and 1 sun;"
        " the sun meets 2 X and 2 A",
    ],
    "y_necklace": [
        "9 steps, 3 strands: left of 46 units (207 mm), right of 46 units (207 mm) and drop of"
        " 9 units (40.5 mm)",
        "6 roles keep their promises",
    ],
    "captive_ring": [
        "4 steps, a chain of 15 units, about 180 mm, 3 rings a unit",
        "every finished large meets 2 small, small meets 2 large and captive lies around 1 small",
        "the piece repeats every unit",
    ],
    "european_4_slanting": [
        "2 steps, a sheet of 10 rows of 12 units, 1 ring a unit",
        "every finished A meets 4 A",
        "its sides slant, since every row is worked the same way; 'rows back and forth' makes"
        " them upright",
        "the piece repeats every unit",
    ],
    "flower_of_five": [
        "5 steps, a piece made in one go",
        "every finished petal meets 4 petal",
    ],
    "persian_linked": [
        "10 steps, a chain of 24 units, 4 rings a unit",
        "every finished H meets 2 M, M meets 6 S and 1 M and S meets 6 M",
        "calm: repeats every unit; mirror: repeats every unit; zigzag: repeats every two units"
        " (its links alone every unit)",
    ],
}  # fmt: skip


@pytest.mark.parametrize("name", SHIPPED)
def test_a_shipped_recipe_in_a_few_lines(name: str) -> None:
    (path,) = (p for f in (LIBRARY, EXAMPLES) for p in f.glob(f"{name}.weave"))
    assert list(summary_lines(view(path.read_text(encoding="utf-8")))) == SHIPPED[name]


CHAIN = "expect:/A meets 2/start:/close A/unit:/add A through prev A/piece:/{}"


@pytest.mark.parametrize(
    ("piece", "words", "mm"),
    [
        ("chain 190 mm", "a chain of 190 mm, 1 ring a unit", None),
        # 4.1 mm a unit: 46 are 188.6
        ("chain 190 mm/sample 10 units = 41 mm",
         "a chain of 47 units, about 192.7 mm (190 mm wanted), 1 ring a unit", 192.7),
        ("chain 190 mm/sample 10 units = 38 mm",
         "a chain of 50 units, about 190 mm, 1 ring a unit", 190.0),
        ("chain 9 units/sample 3 units = 12 mm", "a chain of 9 units, 1 ring a unit", 36.0),
        ("loop 9 units", "a loop of 9 units, 1 ring a unit", None),
        ("chain 1 unit", "a chain of 1 unit, 1 ring a unit", None),
    ],
)  # fmt: skip
def test_a_chain_by_units_and_by_length(piece: str, words: str, mm: float | None) -> None:
    seen = view(recipe(CHAIN.format(piece)))
    assert summary_lines(seen)[0] == f"2 steps, {words}"
    assert woven_mm(seen) == (None if mm is None else pytest.approx(mm))
    assert unit_rings(seen) == 1


RUNS = (
    "expect:/A meets 2/sun meets 2/start:/close A/unit cord:/add A through prev A/unit jewel:"
    "/add sun through prev A/add A through sun/piece:/chain of 3 cord, jewel, 3 cord"
)


@pytest.mark.parametrize(
    ("samples", "mm"),
    [
        ("", None),
        ("/sample 3 cord = 12 mm", None),
        ("/sample 1 jewel = 7 mm", None),
        ("/sample 3 cord = 12 mm/sample 1 jewel = 7 mm", 6 * 4 + 7),
    ],
)
def test_runs_measure_what_their_units_do(samples: str, mm: float | None) -> None:
    seen = view(recipe(RUNS + samples))
    assert woven_mm(seen) == mm
    assert summary_lines(seen) == (
        "4 steps, a chain of 7 units",
        "every finished A meets either 2 A, or 1 sun and 1 A; the sun meets 2 A",
    )
    assert unit_rings(seen) is None
    assert placed_once(seen) == {"sun"}


STRANDS = (
    "expect:/peg meets 1 upper, 1 lower/start:/close peg/add upper through peg picks 1"
    "/add lower through peg picks 1/unit upper:/add upper through prev upper picks 1/unit lower:"
    "/add lower through prev lower picks 1/piece:/strands {}"
)


@pytest.mark.parametrize(
    ("strands", "words"),
    [
        ("upper 4 units, lower 1 units", ["upper of 4 units", "lower of 1 unit"]),
        ("upper 4 units, lower 30 mm", ["upper of 4 units", "lower of 30 mm"]),
        # 4.2 mm a unit: 7 are 29.4
        ("upper 4 units, lower 30 mm/sample 5 lower = 21 mm",
         ["upper of 4 units", "lower of 8 units (33.6 mm)"]),
        ("upper 20 mm, lower 30 mm/sample 10 upper = 40 mm/sample 5 lower = 21 mm",
         ["upper of 5 units (20 mm)", "lower of 8 units (33.6 mm)"]),
    ],
)  # fmt: skip
def test_strands_by_units_and_by_length(strands: str, words: list[str]) -> None:
    seen = view(recipe(STRANDS.format(strands)))
    assert strand_words(seen) == words
    assert piece_words(seen) == f"2 strands: {words[0]} and {words[1]}"
    assert woven_mm(seen) is None


SHEET = "first row:/close A/row:/add A through above {}A, above {}A if there/piece:/{}"


@pytest.mark.parametrize(
    ("one", "two", "piece", "aslant"),
    [
        ("", "next ", "sheet 3 rows of 5 units", True),
        ("", "next ", "sheet 2 rows of 5 units", True),
        ("", "next ", "sheet 1 row of 5 units", False),
        ("", "next ", "sheet 3 rows of 5 units/rows back and forth", False),
        ("", "next ", "tube 3 rows of 5 units", False),
        ("", "prev ", "sheet 3 rows of 5 units", True),
        ("prev ", "next ", "sheet 3 rows of 5 units", False),
        ("prev ", "next next ", "sheet 3 rows of 5 units", True),
        ("", "next ", "sheet 3 rows of 5 units/shape:/row 2  1 less", False),
    ],
)
def test_rows_that_hang_to_one_side_slant(one: str, two: str, piece: str, aslant: bool) -> None:
    seen = view(recipe(SHEET.format(one, two, piece)))
    assert slants(seen) is aslant
    assert any("its sides slant" in line for line in summary_lines(seen)) is aslant


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        ("sheet 1 row of 5 units", "a sheet of 1 row of 5 units, which is a chain"),
        ("sheet 2 rows of 1 units", "a sheet of 2 rows of 1 unit"),
        ("tube 1 row of 5 units", "a tube of 1 row of 5 units"),
        ("sheet 2 rows of 5 units/shape:/row 2  1 less",
         "a sheet of 2 rows of 4 to 5 units, 9 places in all"),
        ("sheet 2 rows of 7 units/shape:/rows 1 to 2  3 worked, 1 empty, 3 worked",
         "a sheet of 2 rows of 6 units, 12 places in all"),
    ],
)  # fmt: skip
def test_a_sheet_in_a_few_words(piece: str, words: str) -> None:
    assert piece_words(view(recipe(SHEET.format("", "next ", piece)))) == words


def test_the_blocks_that_a_sample_measures() -> None:
    runs = view(recipe(RUNS))
    names = {label: [str(b) for b in sampled_blocks(runs, label)] for label in ("", "jewel", "x")}
    assert names == {"": ["unit cord", "unit jewel"], "jewel": ["unit jewel"], "x": []}
    mixed = view(recipe(RUNS.replace("unit cord", "unit").replace("3 cord, ", "3 cord, ")))
    assert [str(b) for b in sampled_blocks(mixed, "cord")] == ["unit"]
    assert [str(b) for b in sampled_blocks(mixed, "jewel")] == ["unit jewel"]
    sheet = view(recipe(SHEET.format("", "next ", "sheet 3 rows of 5 units")))
    assert [str(b) for b in sampled_blocks(sheet, "")] == ["first row", "row"]


def test_lengths_are_told_with_what_was_wanted() -> None:
    piece = view(recipe(CHAIN.format("chain 190 mm"))).recipe.piece
    assert piece is not None
    wanted = piece.length
    assert wanted_words(191.2, wanted) == "about 191.2 mm (190 mm wanted)"
    assert wanted_words(190.0, wanted) == "about 190 mm"
    assert wanted_words(191.2, None) == "about 191.2 mm"
    assert isinstance(wanted, Size)
    bare = Size(wanted.number, None, wanted.span, "190")
    assert wanted_words(191.2, bare) == "about 191.2 mm"


def test_repeats_in_words() -> None:
    chain = view(recipe(CHAIN.format("chain 9 units")))
    assert repeat_words(chain, Periods(1, 3, 1)) == "every three units"
    striped = view((EXAMPLES / "striped_cuff.weave").read_text(encoding="utf-8"))
    assert repeat_words(striped, Periods(1, 1, 1)) == "every unit and row"
    assert repeat_words(striped, Periods(1, 2, 2)) == "every two units and every two rows"


def test_one_ring_of_a_role_is_called_by_it() -> None:
    assert (the_one("clasp"), the_one("F")) == ("the clasp", "F")


def test_what_finished_rings_meet_is_told_once_each() -> None:
    seen = view(recipe(RUNS))
    assert finished_facts(seen) == {
        "A": [{"A": 2}, {"sun": 1, "A": 1}], "sun": [{"A": 2}],
    }  # fmt: skip


def test_nothing_is_said_of_a_recipe_without_steps() -> None:
    assert summary_lines(view('weave "It"\npiece:\n  chain 9 units\n')) == ()


def test_rings_outside_the_picture_are_told() -> None:
    """A picture of A alone: 3 rows of 5 A, one E at the end of each row after the first."""
    text = recipe(
        "first row:/close A/row:/add A through above A, above next A if there/row end:"
        "/add E through last A picks 1/piece:/sheet 3 rows of 5 units/picture of A:/g = grey"
        "/ggggg/ggggg/ggggg"
    )
    told = [line for line in summary_lines(view(text)) if "picture" in line]
    assert told == ["the picture has 15 grey; outside the picture, in their own colour: 3 E"], told
