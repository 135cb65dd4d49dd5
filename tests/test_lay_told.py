"""What is said of a lay that is owed: in numbers one can read, of several steps at once, and not at
all where the variants could not be read."""

from __future__ import annotations

from helpers import PERSIAN_LINKED, SPIRAL, findings

from ringstep.checks.rules.lay import how_many


def test_a_number_of_pieces_is_written_out_as_long_as_one_can_read_it() -> None:
    assert how_many(30) == "1,073,741,824"
    assert how_many(31) == "2 to the power of 31"
    assert how_many(1000) == "2 to the power of 1,000"


def test_several_steps_may_owe_a_lay_through_one_odd_link() -> None:
    """Where the side rings are placed one by one, both cross the link that was not meant."""
    pairs = "  add 2 S through M, prev M picks 4\n"
    each = "".join(f"  add S{n} through M, prev M picks 4\n" for n in (1, 2))
    right = PERSIAN_LINKED.replace(pairs, each)
    wrong = right.replace("prev S, M1 picks 3", "prev S, prev M1 picks 3")
    assert right != wrong
    (fault,) = [f for f in findings(wrong) if f.severity == "error"]
    assert "step 8 goes through M1 of the unit before, and only" in fault.message
    assert fault.message.endswith("only through that steps 9 and 10 owe a lay")
    lines = wrong.splitlines()
    assert [lines[label.span.line - 1].strip() for label in fault.labels] == [
        f"add S{n} through M, prev M picks 4" for n in (1, 2)
    ]
    assert [label.text for label in fault.labels] == ["a lay is owed here"] * 2


def test_a_lay_left_to_variants_that_cannot_be_read_is_not_asked_for() -> None:
    text = SPIRAL.replace("lay front", "lay varies")
    assert [f.rule.name for f in findings(text)] == ["lay-unstated"]
    unread = f"{text}variants:\n  zigzag  lay sideways\n"
    assert [f.rule.name for f in findings(unread)] == ["unread-line"]
