"""What stands at a place of a text, said in a maker's words and counted by hand."""

from __future__ import annotations

import pytest
from helpers import EXAMPLES, PERSIAN_LINKED

from ringstep.table.telling import Told, hover

RINGS = 'weave "It"\nrings:\n  all  wire 1.2 mm, inside 6 mm, copper\n'
LIKE = "wire 1.2 mm (nearest 17 AWG, 18 SWG), inside 6 mm, AR 5.0, copper"
CHAIN = (
    RINGS + "start:\n  close A\nunit:\n  add A through prev A picks 1\npiece:\n  chain 30 units\n"
)
EARRING = (EXAMPLES / "drop_earring.weave").read_text(encoding="utf-8")
CUBE = (EXAMPLES / "cube_of_panels.weave").read_text(encoding="utf-8")
STRAND = (EXAMPLES / "graduated_strand.weave").read_text(encoding="utf-8")


def at(text: str, words: str, of: int = 0) -> Told | None:
    """What is said where some words begin, `of` letters further."""
    before = text[: text.index(words) + of]
    return hover(text, before.count("\n") + 1, len(before) - before.rfind("\n"))


def lines(text: str, words: str, of: int = 0) -> tuple[str, ...]:
    found = at(text, words, of)
    return found.lines if found else ()


def under(text: str, words: str, of: int = 0) -> str:
    """What of the text it is said of."""
    found = at(text, words, of)
    assert found
    return text.split("\n")[found.span.line - 1][found.span.column - 1 : found.span.end - 1]


# -- where -----------------------------------------------------------------------------------------


def test_names_words_and_steps_are_told_each_for_its_stretch() -> None:
    step = "add A through prev A picks 1"
    for of, stretch in (
        (0, "add"), (4, "A"), (5, "A"), (6, "through"), (8, "through"), (13, "through"),
        (14, "prev"), (19, "A"), (21, "picks"), (27, step), (28, step),
    ):  # fmt: skip
        assert under(CHAIN, step, of) == (step if of == 0 else stretch)
    assert under(CHAIN, "  add A") == step, "before it, on its line"
    assert lines(CHAIN, "  add A")[0].startswith("Step 2: ")


def test_where_nothing_is_to_be_said() -> None:
    assert at(CHAIN, 'It"') is None
    assert at(CHAIN, "30 units") is None
    assert at(CHAIN, "  close A") is not None
    empty = CHAIN.replace("unit:", "\n  \nunit:")
    assert hover(empty, 6, 1) is hover(empty, 7, 1) is None
    assert hover(CHAIN, 0, 1) is hover(CHAIN, 99, 1) is None
    assert hover("weave\0", 1, 1) is None


# -- words and steps -------------------------------------------------------------------------------


def test_a_step_is_told_with_its_hint_and_its_first_word() -> None:
    assert lines(EARRING, "add A through bar") == (
        "Step 1: Open 1 copper ring, A (1 × 4.5 mm). Pass it through the bar: 1 picked up."
        " Close it.",
        "Hint: one ring to each hole, all leaning the same way",
        "add: open a ring, take it through those rings, close it.",
        "As in: add A through prev A",
    )
    assert lines(EARRING, "add tip", 58)[0].startswith("Step 3: Open 1 brass tip ring")
    assert len(lines(EARRING, "add tip", 58)) == 1


def test_a_step_of_a_piece_that_is_wrong_is_told_by_its_place_alone() -> None:
    place = ("Step 2, in 'unit:'",)
    assert lines(CHAIN, "picks 1", 6)[0].startswith("Step 2: Open 1 ring")
    assert lines(CHAIN.replace("picks 1", "picks 2"), "picks 2", 6) == place
    expected = CHAIN.replace("start:", "expect:\n  A meets 3\nstart:")
    assert lines(expected, "picks 1", 6) == place, "what is promised is not kept"
    right = CHAIN.replace("start:", "expect:\n  A meets 2\nstart:")
    assert lines(right, "picks 1", 6)[0].startswith("Step 2: Open")
    unread = CHAIN.replace("  close A", "  close A\n  clsoe A")
    assert lines(unread, "picks 1", 6) == ("Step 3, in 'unit:'",), (
        "the step that cannot be read counts"
    )


def test_a_step_is_told_whole_where_only_a_lay_is_off() -> None:
    """The third of three units lays its ring to the other side: its links are right."""
    units = "".join(
        f"unit {n}:\n  add B through prev A\n  add A through B, prev A lay {side}\n"
        for n, side in ((1, "front"), (2, "front"), (3, "back"))
    )
    text = f"{RINGS}start:\n  close A\n{units}piece:\n  chain 30 units\n"
    told = lines(text, "  add A through B, prev A lay back")[0]
    assert told.startswith("Step 7: Open 1 ring, A. From the back, pass it through B")


def test_a_step_of_a_piece_made_first_is_told_as_any() -> None:
    """The join alone belongs to the whole."""
    assert lines(CUBE, "add link 1 through")[0].startswith(
        "Step 2: Open 1 brass link ring (0.8 × 3 mm). Pass it through A and through A of the unit"
        " before: 2 rings."
    )


def test_words_of_several_are_told_whole_wherever_one_stands() -> None:
    whole = (
        "at one place: all of them at one place of it.",
        "As in: add A through B, C at one place",
    )
    for of in (0, 3, 7):
        assert lines(EARRING, "at one place", of) == whole
    assert under(EARRING, "at one place", 3) == "one"
    assert lines(EARRING, "first row:", 6)[0] == (
        "first row: the row of a sheet that has none above it."
    )
    upper = EARRING.replace("at one place picks 2\n", "AT ONE PLACE picks 2\n", 1)
    assert lines(upper, "AT ONE PLACE", 4) == whole
    assert lines(EARRING, "rows 2 to 6", 10) == ()
    assert lines(EARRING, "rows 2 to 6", 7)[0].startswith("rows to each less: ")


def test_words_that_stand_for_themselves_are_told_by_what_is_said_beside() -> None:
    (measures,) = lines(EARRING, "mm, inside 4.5")
    assert "Sizes are in 'mm', 'cm', 'in'" in measures
    (hint,) = lines(EARRING, "hint one ring", 2)
    assert hint.startswith("A line 'hint go in between the two' belongs to the step above it")


def test_the_authors_own_words_are_left_alone() -> None:
    assert lines(EARRING, "hint one ring", 5) == ()
    assert lines(EARRING, "ring to each hole") == ()
    assert lines(EARRING, "AR 4 to 5 falls") == ()
    assert lines(EARRING, "source  common") == ()
    assert lines(EARRING, "notes:")[0].startswith("notes: your own lines")


# -- rings and parts -------------------------------------------------------------------------------


def test_a_ring_is_told_with_all_that_is_known_of_it() -> None:
    """Rows of 6, 5, 4, 3 and 2 rings and one tip."""
    assert lines(EARRING, "A    wire") == (
        "A: wire 1 mm (nearest 18 AWG, 19 SWG), inside 4.5 mm, AR 4.5, copper",
        "20 rings in the piece",
        "promised on line 14: A meets 4",
        "placed in step 1 (line 19, 'first row:') and step 2 (line 22, 'row:')",
        "as written, each one that is finished meets 4 A",
    )
    assert lines(EARRING, "tip  wire")[1:] == (
        "1 ring in the piece",
        "promised on line 15: tip meets 2",
        "placed in step 3 (line 25, 'last row:')",
        "as written, each one that is finished meets 2 A",
    )
    assert lines(EARRING, "through bar", 8) == (
        "bar: brass connector with six holes",
        "1 part in the piece",
        "picked up in step 1 (line 19, 'first row:')",
        "as written, each one that is finished meets 6 A",
    )


def test_a_ring_with_a_number_is_one_of_its_name() -> None:
    """One M1 and one M2 in the start, one of each in every of 24 units; M2 is another size."""
    text = PERSIAN_LINKED.replace("  all  wire", "  M2  wire 2 mm, inside 8 mm\n  all  wire")
    one, two, both = (lines(text, words) for words in ("M1 through", "M2 through", "M meets"))
    assert one[0] == "M1: wire 1.2 mm (nearest 17 AWG, 18 SWG), inside 7 mm, AR 5.8, aluminium"
    assert two[0].startswith("M2: wire 2 mm (nearest 12 AWG, 14 SWG), inside 8 mm, AR 4.0")
    assert both[0].startswith("M: wire 1.2 mm")
    assert (one[1], two[1], both[1]) == (
        "25 rings in the piece", "25 rings in the piece", "50 rings in the piece",
    )  # fmt: skip
    assert "placed in step 2 (line 16, 'start:') and step 7 (line 22, 'unit:')" in one
    assert "placed in step 3 (line 17, 'start:') and step 8 (line 23, 'unit:')" in two
    assert [len(told[3].split("step ")) - 1 for told in (one, two, both)] == [2, 2, 4]
    assert lines(CUBE, "link 1 through")[0].startswith("link 1: wire 0.8 mm")


def test_rings_of_several_sizes_are_told_size_by_size() -> None:
    first, second, third, count, *_ = lines(STRAND, "A meets")
    assert first.startswith("A, units 1 to 6: wire 1 mm")
    assert second.startswith("A, units 7 to 12: wire 1.2 mm")
    assert third.startswith("A, units 13 to 18: wire 1 mm")
    assert count == "19 rings in the piece"


def test_what_is_not_described_says_so() -> None:
    other = CHAIN.replace("  all  wire", "  B  wire")
    assert lines(other, "A\nunit")[0] == "A: no line of 'rings:' or 'parts:' describes it"
    bare = CHAIN.replace("  all  wire 1.2 mm, inside 6 mm, copper", "  A  wire 1.2 mm")
    assert lines(bare, "A\nunit")[0] == "A"
    part = CHAIN.replace("start:", "parts:\n  bead  glass\nstart:")
    assert lines(part, "bead") == ("bead: glass", "0 parts in the piece", "no step places it")
    twice = part.replace("  bead  glass\n", "  bead  glass\n  bead  wood\n")
    assert lines(twice, "bead") == lines(part, "bead"), "the first line holds"


def test_a_ring_that_no_step_places() -> None:
    text = CHAIN.replace("start:", "expect:\n  Z meets 2\nstart:")
    assert lines(text, "Z meets") == (
        f"Z: {LIKE}", "0 rings in the piece", "promised on line 5: Z meets 2", "no step places it",
    )  # fmt: skip


def test_helpers_that_are_taken_out_are_told() -> None:
    text = CHAIN.replace("  close A\n", "  close 3 H\n  close A\n").replace(
        "piece:", "finish:\n  take out first H1\npiece:"
    )
    assert lines(text, "H\n")[1] == "3 rings used, 1 taken out again"
    assert lines(text, "H1\n")[1] == "1 ring used, 1 taken out again"
    assert "as written" not in " ".join(lines(text, "H\n"))


def test_counts_are_told_where_the_length_is_known() -> None:
    by_length = CHAIN.replace("chain 30 units", "chain 190 mm")
    assert "in the piece" not in " ".join(lines(by_length, "A\nunit"))
    unread = CHAIN.replace("  close A\n", "  close A\n  clsoe A\n")
    assert lines(unread, "A\n  clsoe") == (
        f"A: {LIKE}", "placed in step 1 (line 5, 'start:') and step 3 (line 8, 'unit:')",
    )  # fmt: skip


def test_all_copies_of_a_piece_count() -> None:
    """A panel has 12 links along and 12 across; six of them, and 12 edges of 4 join them."""
    told = lines(CUBE, "link through")
    assert told[1] == f"{6 * 24 + 12 * 4} rings in the piece"
    assert told[3] == "placed in 15 steps, the first of them step 2 (line 16, 'first row:')"


@pytest.mark.parametrize("steps", [1, 2, 6, 7])
def test_up_to_six_steps_are_named_one_by_one(steps: int) -> None:
    more = "  add B through prev A\n" * steps
    text = CHAIN.replace("unit:\n", f"unit:\n{more}")
    told = lines(text, "B through")[2]
    if steps > 6:
        assert told == "placed in 7 steps, the first of them step 2 (line 7, 'unit:')"
    else:
        assert told.count("(line ") == steps
        assert told.startswith("placed in step 2 (line 7, 'unit:')")


def test_promises_are_those_that_begin_with_the_name() -> None:
    text = CHAIN.replace(
        "start:",
        "expect:\n  B meets 1 A\n  A meets 2 A, 1 B\n  A AR from 4\n  1 ring a unit\n"
        "  all AR from 3\nnotes:\n  A is good\nstart:",
    ).replace("picks 1\n", "picks 1\n  add B through A\n")
    found = [line for line in lines(text, "A\nunit") if line.startswith("promised")]
    assert found == ["promised on line 6: A meets 2 A, 1 B", "promised on line 7: A AR from 4"]
    found = [line for line in lines(text, "B through") if line.startswith("promised")]
    assert found == ["promised on line 5: B meets 1 A"]


def test_what_rings_meet_is_told_up_to_three_ways() -> None:
    """B goes through one, two, three or four of the A of its unit: by hand from the steps."""
    tail = ""
    for number in range(1, 5):
        through = ", ".join(f"A{n}" for n in range(1, number + 1))
        tail += f"  add C{number} through {through}\n"
        text = RINGS + "start:\n  close 4 A\n" + tail + "unit:\n  add D through prev A1\n"
        text = text.replace("prev A1", "first A1") + "piece:\n  chain 1 unit\n"
        met = [line for line in lines(text, "C1 through") if line.startswith("as written")]
        one = [line for line in lines(text, f"C{number} through") if line.startswith("as written")]
        expected = {1: "1 A", 2: "1 A or 2 A", 3: "1 A, 2 A or 3 A"}.get(number)
        assert (
            met
            == one
            == ([f"as written, each one that is finished meets {expected}"] if expected else [])
        )
