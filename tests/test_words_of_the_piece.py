"""Step lists and hand-outs speak of the finite piece: turns, odd units, numbers, kinds of ring.

The numbers expected here were counted by hand on the pieces.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from helpers import view

from ringstep.checks.summary import summary_lines
from ringstep.commands.cli import main
from ringstep.paper.handout_facts import fact_rows
from ringstep.paper.steps_text import StepList, step_list

RINGS = "rings:\n  all  wire 1 mm, inside 6 mm, copper\n"
DOUBLED = 'weave "Harbour rope"\n' + RINGS + "start:\n  close 2 A\nunit:\n"
DOUBLED += "  add 2 A through prev A picks 2\n"
FOCAL = "  add F through prev A picks 2\n  add 2 A through F picks 1\n"


def told(text: str) -> StepList:
    return step_list(view(text))


def sees(listing: StepList) -> dict[int, str]:
    return {s.number: s.see for section in listing.sections for s in section.steps}


def intros(listing: StepList) -> dict[str, str]:
    return {s.heading: s.intro for s in listing.sections}


# -- turns -----------------------------------------------------------------------------------------


def in_turn(order: str, units: int, end: str = "") -> dict[str, str]:
    text = 'weave "Quay"\n' + RINGS + "start:\n  close A\nunit left:\n  add A through prev A\n"
    text += "unit right:\n  add A through prev A\n  add B through A\n"
    return intros(told(f"{text}piece:\n  chain {units} units\n  order {order}\n{end}"))


def test_a_plan_is_told_where_it_begins_and_every_other_unit_says_where_to_go_on() -> None:
    """Steps: 1 in the start, 2 of left, 3 and 4 of right."""
    plan = ", ".join(["left"] * 12 + ["right"] + ["left"] * 12)
    said = in_turn(plan, 25)
    assert said["Unit left"] == (
        "Units 1 to 12: work left (step 2). Unit 13: right (steps 3 and 4)."
        " Units 14 to 25: left again. Then stop. The first time, 'the unit before' is the start."
    )
    assert said["Unit right"] == (
        "Work these steps in unit 13, once. Then go back to left, step 2, for units 14 to 25."
    )


def test_a_list_worked_once_is_told_in_full() -> None:
    said = in_turn("left, right", 2)
    assert said["Unit left"].startswith(
        "Unit 1: work left (step 2). Unit 2: right (steps 3 and 4). Then stop."
    )
    assert said["Unit right"] == "Work these steps in unit 2, once. Then stop."


def test_what_comes_after_the_last_run_is_told_by_its_steps() -> None:
    said = in_turn("left, right", 2, "finish:\n  add C through last A picks 1\n")
    assert said["Unit left"].split("Then ")[1].startswith("the finish (step 5).")
    assert said["Unit right"] == "Work these steps in unit 2, once. Then the finish (step 5)."


def test_a_unit_worked_in_several_runs_sends_back_to_the_list() -> None:
    plan = ", ".join(["left"] * 3 + ["right"] + ["left"] * 2 + ["right"] + ["left"] * 3)
    assert in_turn(plan, 10)["Unit right"] == (
        "Work these steps in units 4 and 7."
        " What comes between and after is listed under 'Unit left'."
    )


def test_a_list_that_comes_round_says_where_it_ends() -> None:
    assert in_turn("left, right", 8)["Unit right"] == (
        "Units take turns: left and right, and so on up to unit 8."
    )
    assert in_turn("left, right", 9)["Unit right"] == (
        "Units take turns: left and right, and so on up to unit 9, which is left."
    )


def test_rows_that_take_turns_are_told_alike() -> None:
    text = 'weave "Net"\n' + RINGS + "first row:\n  close A\n"
    for name in ("body", "hem"):
        text += f"row {name}:\n  add A through above A, above next A if there\n"
    plan = f"{text}piece:\n  sheet 5 rows of 6 units\n  order body, body, body, hem\n"
    said = intros(told(plan))
    assert said["Row body"] == (
        "Rows 2 to 4: work body (step 2). Row 5: hem (step 3). Then stop."
        " In each row work these steps 6 times."
    )
    assert said["Row hem"] == (
        "Work these steps in row 5, once. Then stop. In each row work these steps 6 times."
    )
    round_ = f"{text}piece:\n  sheet 6 rows of 6 units\n  order body, hem\n"
    assert intros(told(round_))["Row hem"].startswith(
        "Rows take turns: body and hem, and so on up to row 6, which is body."
    )


# -- units that differ on purpose ------------------------------------------------------------------


def test_a_unit_of_its_own_in_the_middle() -> None:
    listing = told(f"{DOUBLED}unit 11 instead:\n{FOCAL}piece:\n  chain 20 units\n")
    assert [s.heading for s in listing.sections] == ["Start", "Every unit but unit 11", "Unit 11"]
    assert intros(listing)["Every unit but unit 11"] == (
        "Work these steps in units 1 to 10 and 12 to 20. The first time, 'the unit before' is the"
        " start."
    )
    # Unit 1 hangs on rings of the start with 0 + 2, unit 12 on the pair that hangs on F: 1 + 2.
    assert sees(listing)[2] == (
        "A1 and A2 each pass through 2 rings; A1 and A2 of the unit before each pass through 4"
        " rings (2 the first time, 3 in unit 12) and are finished"
    )
    assert "F passes through 4 rings and is finished" in sees(listing)[4]


def test_a_unit_of_its_own_at_either_end() -> None:
    last = told(f"{DOUBLED}unit 20 instead:\n{FOCAL}piece:\n  chain 20 units\n")
    assert intros(last)["Every unit but unit 20"].startswith("Work these steps in units 1 to 19.")
    first = told(f"{DOUBLED}unit 1 instead:\n{FOCAL}piece:\n  chain 20 units\n")
    assert intros(first) == {
        "Start": "",
        "Unit 1": "This unit is another one: work only these steps in it. Here 'the unit before' is"
        " the start.",
        "Every further unit": "Go on like this up to unit 20.",
    }


def test_a_unit_with_further_steps() -> None:
    listing = told(f"{DOUBLED}unit 2 also:\n  add D through A picks 2\npiece:\n  chain 20 units\n")
    assert intros(listing)["The unit"] == (
        "Repeat these steps 20 times. In unit 2 more steps follow: see 'Unit 2 also'. The first"
        " time, 'the unit before' is the start."
    )
    assert intros(listing)["Unit 2 also"] == "After its own steps unit 2 gets these as well."
    assert sees(listing)[2].endswith("4 rings (2 the first time, 5 in unit 3) and are finished")


# -- numbers ---------------------------------------------------------------------------------------


def test_a_ring_that_many_places_hang_on_is_counted_whole() -> None:
    text = 'weave "Blind"\n' + RINGS + "start:\n  close bar\nfirst row:\n"
    text += (
        "  add A through above bar picks 1\nrow:\n  add A through above A, above next A if there"
    )
    listing = told(f"{text}\npiece:\n  sheet 6 rows of 30 units\n")
    assert "the bar passes through 30 rings" in listing.finished
    assert sees(listing)[2] == "A passes through 1 ring", "the bar meets one more with every unit"


def test_the_only_ring_of_its_name_and_a_part_are_told_as_check_tells_them() -> None:
    """One bar, and a clasp and a hook on one ring: 'every finished' is said of several."""
    text = f"""{DOUBLED}parts:
  clasp  brass
  hook  brass
piece:
  chain 20 units
finish:
  add R through last A, clasp, hook picks 4
  close bar
  add E through bar, last A picks 3
"""
    assert told(text).finished[1:-1] == (
        "R passes through 4 rings",
        "the bar passes through 1 ring",
        "E passes through 3 rings",
        "the clasp is linked with 1 ring",
        "the hook is linked with 1 ring",
    )


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        # 46.34 units of 4.1 mm: 47 are 192.7 mm.
        ("190 mm", "a chain of 47 units, about 192.7 mm (190 mm wanted)"),
        ("82 mm", "a chain of 20 units, about 82 mm"),
        # 7.5 in are 190.5 mm.
        ("7.5 in", "a chain of 47 units, about 192.7 mm (7.5 in wanted)"),
    ],
)
def test_a_length_that_is_rounded_up_to_units_says_what_comes_out(
    wanted: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = f"{DOUBLED}piece:\n  chain {wanted}\n  sample 10 units = 41 mm\n"
    assert words in summary_lines(view(text))[0]
    listing = told(text)
    assert listing.piece == words
    facts = dict(fact_rows(view(text), several=False))
    length = words.partition(", ")[2]
    measured = "10 units measure 41 mm, laid flat without pulling"
    assert facts["Length"] == f"{length} without its ends ({measured})"
    file = tmp_path / "rope.weave"
    file.write_text(text, encoding="utf-8")
    assert main(["kit", str(file)]) == 0
    assert f"which measure {length.split()[1]} mm" in capsys.readouterr().out


def test_a_step_that_is_left_out_everywhere_is_not_told() -> None:
    text = 'weave "Strip"\n' + RINGS + "row:\n  close F\n  add K through prev F, F skip at edge\n"
    text += "  add D through above F, F skip at edge\npiece:\n  sheet 1 row of 5 units\n"
    (row,) = told(text).sections
    assert [s.number for s in row.steps] == [1, 2]
    assert row.steps[1].used == "2 of 2 rings used in this unit so far"
    assert row.intro == "Work these steps 5 times along the row."


def test_no_number_is_told_that_holds_nowhere() -> None:
    """Two units a row: the first has a ring above and beside, the second none beside."""
    text = 'weave "Narrow"\n' + RINGS + "first row:\n  close A\nrow:\n"
    text += "  add A through above A, above next A if there\npiece:\n  sheet 2 rows of 2 units\n"
    # Row 2, unit 1: A meets 2, the A above it 1; unit 2: A meets 1, and the A above it then 2.
    assert sees(told(text))[2] == (
        "A passes through 1 or 2 rings; A of the row above passes through 1 or 2 rings"
    )


def test_a_chain_that_closes_finishes_its_first_ring_last() -> None:
    text = 'weave "Hoop"\n' + RINGS + "start:\n  close A\nunit:\n  add A through prev A\n"
    text += "finish:\n  add A1 through last A, first A1\npiece:\n  loop 8 units\n"
    assert "(1 the first time)" in sees(told(text))[2]
    assert "finished" not in sees(told(text))[2], "the first A gets one more ring in the finish"


# -- two lines for rings of one role ---------------------------------------------------------------


def test_two_rings_of_one_size_keep_their_own_lines(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A1 of copper and A2 of brass, of the same size: 1 of each in the start, 12 in the units."""
    text = DOUBLED.replace(
        "  all  wire 1 mm, inside 6 mm, copper\n",
        "  A1  wire 1 mm, inside 6 mm, copper\n  A2  wire 1 mm, inside 6 mm, brass\n",
    )
    path = tmp_path / "pair.weave"
    path.write_text(f"{text}piece:\n  chain 12 units\n", encoding="utf-8")
    listing = told(path.read_text(encoding="utf-8"))
    assert [(n.name, n.count, n.words.rsplit(", ", 1)[1]) for n in listing.needs] == [
        ("A1", 13, "copper"), ("A2", 13, "brass")
    ]  # fmt: skip
    assert "1 copper ring, A1, and 1 brass ring, A2" in listing.sections[1].steps[0].sentence
    assert main(["kit", str(path)]) == 0
    kit = capsys.readouterr().out
    assert re.search(r"A1 +1 × 6 mm, copper +13 ", kit)
    assert re.search(r"A2 +1 × 6 mm, brass +13 ", kit)
    page = tmp_path / "page.html"
    words = ["--to", str(page), "--pictures", "none", "--teacher"]
    assert main(["handout", str(path), *words]) == 0
    cells = re.findall(r"<t[dh][^>]*>([^<]*)</t[dh]>", page.read_text(encoding="utf-8"))
    for name, metal in (("A1", "copper"), ("A2", "brass")):
        at = cells.index(name)
        assert (cells[at + 1], cells[at + 5]) == ("13", metal)
