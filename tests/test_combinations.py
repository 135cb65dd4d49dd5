"""Words of the language together that few recipes put together; every number counted by hand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from helpers import findings, report, view
from small_recipes import recipe

from ringstep.checks.summary import summary_lines
from ringstep.commands.cli import main
from ringstep.draw.diagrams import step_diagrams
from ringstep.paper.printed import Sheet, StepText
from ringstep.paper.steps_text import needs, step_list
from ringstep.shop.fitting import ring_uses
from ringstep.shop.kit import kit_of
from ringstep.shop.tally import count_piece
from ringstep.shop.wish import Wish


def told(text: str, variant: str | None = None) -> dict[int, StepText]:
    """The steps of a recipe that checks without an error, by number."""
    assert [f.message for f in findings(text) if f.rule.severity == "error"] == []
    sections = step_list(view(text), variant).sections
    return {step.number: step for section in sections for step in section.steps}


def headed(text: str) -> list[Sheet]:
    """The sections of a recipe that checks without an error."""
    told(text)
    return list(step_list(view(text)).sections)


# -- places at the ends of a piece ---------------------------------------------------------------

SHEET = (
    "expect:/A meets 4/first row:/close A/row:"
    "/add A through above A, above next A if there picks 2/"
)


def test_the_finish_of_a_sheet_says_row_and_unit() -> None:
    """Row 4 of 6 units: A6 has one link to the row above, A5 two; row 1: A1 has one below, A2
    two. R and T bring one more to each."""
    steps = told(
        recipe(
            SHEET + "finish:/add R through last prev A, last A picks 2"
            "/add T through first A, first next A picks 2/piece:/sheet 4 rows of 6 units"
        )
    )
    assert steps[3].sentence == (
        "Open 1 ring, R. Pass it through A of the unit before the last of the last row and"
        " through A of the last unit of the last row: 2 rings. Close it."
    )
    assert steps[3].see == (
        "R passes through 2 rings and is finished; A of the unit before the last of the last row"
        " passes through 3 rings; A of the last unit of the last row passes through 2 rings"
    )
    assert steps[4].see == (
        "T passes through 2 rings and is finished; A of the first unit of the first row passes"
        " through 2 rings; A of the second unit of the first row passes through 3 rings"
    )


def test_the_pictures_of_a_finish_say_it_too() -> None:
    text = recipe(SHEET + "finish:/add R through last A picks 1/piece:/sheet 2 rows of 6 units")
    assert step_diagrams(view(text))[3].alt == (
        "After step 3 (finish): R goes through A of the last unit of the last row."
    )


def test_rows_worked_back_end_at_the_unit_worked_last() -> None:
    """Row 2 is worked from unit 6 to unit 1, so its last unit is unit 1: one link to the row
    above (there is none beside it), and E makes two; in row 1 there is only E."""
    steps = told(
        recipe(
            SHEET + "row end:/add E through last A picks 1/hold A/finish:"
            "/add R through last A picks 1/piece:/sheet 5 rows of 6 units/rows back and forth"
        )
    )
    assert steps[3].see == (
        "E passes through 1 ring and is finished; A of the last unit passes through 2 rings (1 the"
        " first time)"
    )
    assert steps[4].sentence == "Hold all A rings of the row."
    assert steps[5].see.endswith("A of the last unit of the last row passes through 3 rings")


def test_a_sheet_of_two_rows_has_a_first_row() -> None:
    text = recipe(SHEET + "finish:/add R through first A picks 1/piece:/sheet 2 rows of 6 units")
    assert "through A of the first unit of the first row: 1 ring" in told(text)[3].sentence


def test_the_finish_of_a_sheet_has_rings_of_its_own() -> None:
    text = recipe(
        SHEET + "finish:/add R through last A picks 1/add T through R picks 1"
        "/piece:/sheet 5 rows of 6 units"
    )
    assert told(text)[4].see == (
        "T passes through 1 ring and is finished; R passes through 2 rings and is finished"
    )
    # rows 2 to 5: 5 units with two links and the last with one; R and T
    assert count_piece(view(text)).links == 4 * 11 + 2


def test_the_ring_of_a_row_end_is_named_in_the_finish_without_a_place() -> None:
    text = recipe(
        SHEET + "row end:/add E through last A picks 1/finish:/add R through E picks 1"
        "/piece:/sheet 5 rows of 6 units"
    )
    assert "through E at the end of the last row: 1 ring" in told(text)[4].sentence


def test_rings_of_the_start_of_a_tube() -> None:
    text = recipe(
        "expect:/A meets 4/start:/close 3 H/first row:/add A through above H1/row:"
        "/add A through above A, above next A picks 2/finish:/take out first H"
        "/piece:/tube 4 rows of 6 units"
    )
    steps = told(text)
    assert steps[2].sentence == "Open 1 ring, A. Pass it through H1 of the start: 1 ring. Close it."
    assert steps[2].see == "A passes through 1 ring"  # H1 meets ever more
    assert headed(text)[2].intro == (
        "Work 3 rows like this; in each row work these steps 6 times. The row goes round: after"
        " the last unit of the row above comes its first."
    )


def test_far_places_of_a_long_chain_are_counted_from_the_right_end() -> None:
    steps = told(
        recipe(
            "expect:/A meets 2/start:/close A/unit:/add A through prev A/finish:"
            "/add R through last prev prev A, first next next next A picks 2/piece:/chain 60 units"
        )
    )
    assert steps[3].sentence == (
        "Open 1 ring, R. Pass it through A of the unit two before the last and through A of unit"
        " 3: 2 rings. Close it."
    )


# -- rings opened again, parts -------------------------------------------------------------------


def test_two_rings_opened_again_one_after_the_other() -> None:
    steps = told(
        recipe(
            "expect:/A meets 4/start:/close 2 A/unit:/add 2 A through prev A/finish:"
            "/reopen last A through first A picks 2/piece:/loop 8 units"
        )
    )
    assert steps[3].sentence == (
        "Open both A rings of the last unit again, one after the other. Pass each through both A"
        " rings of the start: 2 rings. Close each."
    )
    assert steps[3].see == (
        "A1 and A2 of the last unit each pass through 4 rings and are finished; A1 and A2 of the"
        " start each pass through 4 rings and are finished"
    )


def test_the_ring_opened_again_is_looked_at_too() -> None:
    steps = told(
        recipe(
            "expect:/A meets 2/B meets 2/start:/close A/unit:/add B through prev A/close A"
            "/reopen B through A/piece:/chain 5 units"
        )
    )
    assert steps[4].see == "B passes through 2 rings and is finished; A passes through 1 ring"


def test_a_part_is_no_ring_used() -> None:
    steps = told(
        recipe(
            "parts:/hook  brass, opens/clasp  brass/expect:/A meets 2/start:/close A/unit:"
            "/add A through prev A/finish:/add hook through last A picks 1"
            "/add B through first A, clasp picks 2/piece:/chain 10 units"
        )
    )
    assert steps[3].used == ""
    assert steps[4].used == "1 ring used in the finish so far"
    assert steps[4].see.endswith("the clasp passes through 1 ring and is finished")


def test_rings_taken_out_on_the_way_come_out_again() -> None:
    text = recipe(
        "expect:/A meets 4/K meets 0/start:/close 2 A/close K around A/unit:"
        "/add 2 A through prev A inside prev K/close K around A/take out prev K"
        "/piece:/chain 6 units"
    )
    assert told(text)[5].sentence == "Open K of the unit before and take it out."
    (line,) = kit_of(view(text), Wish()).lines
    assert (line.rings, line.taken_out) == (2 + 1 + 6 * 3, 6)


# -- units that take turns -----------------------------------------------------------------------

TURNS = (
    "expect:/A meets 2 B/B meets 2 A/start:/close A/{0}unit left:/add A through prev B"
    "/unit right:/add B through prev A/piece:/{1}/order {2}"
)


@pytest.mark.parametrize(
    ("written", "size", "order", "intro"),
    [
        ("", "chain 8 units", "right, left",
         "Units take turns: right and left, and so on up to unit 8. The first time, 'the unit"
         " before' is the start."),
        ("", "chain 190 mm", "right, left",
         "Units take turns: right and left, and so on, until the piece is long enough. The first"
         " time, 'the unit before' is the start."),
        # unit 1 takes the turn of its place, so unit 2 is a left one
        ("unit 1:/add B through prev A/", "chain 8 units", "right, left",
         "Units take turns from unit 2 on: left and right, and so on up to unit 8, which is left."),
    ],
)  # fmt: skip
def test_turns_are_told_from_the_first_unit_that_takes_one(
    written: str, size: str, order: str, intro: str
) -> None:
    sections = headed(recipe(TURNS.format(written, size, order)))
    assert intro in [s.intro for s in sections]


def test_a_single_named_unit_takes_no_turns() -> None:
    sections = headed(
        recipe(
            "expect:/A meets 2/start:/close A/unit only:/add A through prev A"
            "/piece:/chain 12 units/order only"
        )
    )
    assert (sections[1].heading, sections[1].intro) == (
        "Unit only",
        "Repeat these steps 12 times. The first time, 'the unit before' is the start.",
    )


def test_turns_without_a_start() -> None:
    sections = headed(
        recipe(
            "expect:/A meets 2/B meets 2/unit a:/add A through prev B if there/unit b:"
            "/add B through prev A/finish:/reopen last B through first A picks 1"
            "/piece:/loop 8 units/order a, b"
        )
    )
    assert sections[0].intro.endswith(
        "and so on up to unit 8. In the first unit leave out what reaches back: there is nothing"
        " before it yet."
    )
    assert sections[0].steps[0].see.startswith("from the second time on A passes through 1")


LAYS = (
    "expect:/A meets 4/B meets 4/variants:/three  lay front, back, back/two  lay front, back"
    "/start:/close A/unit b:/add B through prev A, prev prev B if there lay varies"
    "/unit a:/add A through prev B, prev prev A lay varies/piece:/chain 12 units/order b, a"
    "/variant three"
)


def test_lays_of_units_that_take_turns() -> None:
    """Unit 1, 3, 5 are b; the three lays go over units 1, 2, 3 and come round at unit 4."""
    three, two = told(recipe(LAYS)), told(recipe(LAYS), "two")
    b = "In turn (unit 1 from the front, unit 3 from the back, unit 5 from the back, and so on), "
    a = "In turn (unit 2 from the back, unit 4 from the front, unit 6 from the back, and so on), "
    assert b in three[2].sentence
    assert a in three[3].sentence
    assert "From the front, pass it" in two[2].sentence
    assert "From the back, pass it" in two[3].sentence


def test_a_lay_left_to_the_variant_is_told_as_the_maker_sees_it() -> None:
    text = recipe(
        "expect:/A meets 4/variants:/calm  lay front/start:/close A/unit:"
        "/add A through prev A, prev prev A if there lay varies/turn over/piece:/chain 12 units"
    )
    assert "From the front, pass it" in told(text)[2].sentence


VARIED = (
    "expect:/A meets 4/variants:/zig  lay front, back/start:/close A/unit 1:"
    "/add A through prev A, prev prev A if there lay varies/unit 2:"
    "/add A through prev A, prev prev A lay varies/unit:"
    "/add A through prev A, prev prev A lay varies/finish:"
    "/add R through last A, last prev A picks 2 lay varies/piece:/chain 12 units"
)


def test_written_out_units_may_leave_their_lay_to_a_variant() -> None:
    """The lays go front, back over units 1 to 12, so the finish, as a 13th, is laid front."""
    steps = told(recipe(VARIED))
    assert "From the back, pass it" in steps[3].sentence
    assert "In the 1st, 3rd, 5th … unit from the front" in steps[4].sentence
    assert "From the front, pass it" in steps[5].sentence


def test_what_lies_before_the_beginning_is_not_missed_in_unit_1() -> None:
    """'prev prev A if there' has nothing there in unit 1, so leaving it out makes the same piece;
    in unit 2 it is missed."""
    short = VARIED.replace(", prev prev A if there lay varies/unit 2", "/unit 2")
    assert {f.rule.name for f in findings(recipe(short))} == {"nothing-promised"}
    assert view(recipe(short)).weave.links == view(recipe(VARIED)).weave.links
    missed = VARIED.replace("prev prev A lay varies/unit:", "prev A1 lay varies/unit:", 1).replace(
        "prev A, prev A1 lay", "prev A lay"
    )
    assert "step 3 of unit 2 lacks a link that the unit has" in report(recipe(missed))


def test_the_first_written_out_unit_without_a_start_has_nothing_before_it() -> None:
    text = recipe(
        "expect:/A meets 2/unit 1:/close A/unit 2:/add A through prev A/unit 3:"
        "/add A through prev A/finish:/reopen last A through first A/piece:/loop 3 units"
    )
    assert findings(text) == ()
    assert count_piece(view(text)).links == 3


@pytest.mark.parametrize(("units", "free"), [(9, "128 over 9 units"), (3, "2 over 3 units")])
def test_only_units_that_could_be_laid_either_way_are_counted(units: int, free: str) -> None:
    """Without a start unit 1 goes through nothing and unit 2 through one ring: no choice there."""
    text = recipe(
        "expect:/S meets 4/unit:/add S through prev S if there, prev prev S if there"
        f"/piece:/chain {units} units"
    )
    assert f"if every unit is laid alike, and {free} if each" in report(text)


# -- ring kinds for single rings -----------------------------------------------------------------

SINGLE = (
    "rings:\n  A1  wire 1.2 mm, inside 6 mm, copper\n  all  wire 1 mm, inside 5 mm, brass\n",
    "expect:/A meets 4 A/A1 AR 4 to 6, mine/A2 AR from 4, mine/start:/close 2 A/unit:"
    "/add 2 A through prev A picks 2/piece:/chain 10 units",
)


def test_rings_of_one_role_and_two_kinds_are_told_apart(capsys: pytest.CaptureFixture[str]) -> None:
    text = recipe(SINGLE[1], SINGLE[0])
    seen = view(text)
    assert [(n.name, n.count) for n in needs(seen)] == [("A1", 11), ("A2", 11)]
    assert [(x.name, x.rings) for x in kit_of(seen, Wish()).lines] == [("A1", 11), ("A2", 11)]
    assert [u.label for u in ring_uses(seen)] == ["A1", "all rings (A2)"]


def test_sizes_finds_a_ring_by_its_role_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "it.weave"
    file.write_text(recipe(SINGLE[1], SINGLE[0]), encoding="utf-8")
    for name, heads in (("A2", ["ALL RINGS (A2)"]), ("A", ["A1", "ALL RINGS (A2)"])):
        assert main(["sizes", str(file), "--ring", name]) == 0
        out = capsys.readouterr().out
        assert re.findall(r"(?m)^(?:A1|ALL RINGS \(A2\))$", out) == heads


# -- a second pass after the first row -----------------------------------------------------------


def test_a_second_pass_after_the_first_row_is_its_own() -> None:
    """6 A and 6 B in each of 5 rows; B and A at the last unit of a row have one link fewer."""
    text = recipe(
        "expect:/A meets 4 B/B meets 4 A/first row:/close A/again:/add B through A, next A if there"
        "/row:/add A through above B, above next B if there picks 2/again:"
        "/add B through A, next A if there picks 2/piece:/sheet 5 rows of 6 units"
    )
    assert [s.heading for s in headed(text)] == [
        "First row",
        "The row again",
        "Row",
        "The row again",
    ]
    assert summary_lines(view(text))[1] == "every finished A meets 4 B and B meets 4 A"
    assert count_piece(view(text)).links == 9 * 11
