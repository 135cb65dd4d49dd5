"""Which step seems to be forgotten: the block that lacks it, the rings that it would place, and the
first step that wants them."""

from __future__ import annotations

import pytest
from helpers import findings, view
from small_recipes import recipe

from ringstep.checks.faults import Forgotten, Snagged, find_faults
from ringstep.checks.forgotten import forgotten_steps

PARTS = "rings:\n  all  wire 1 mm, inside 6 mm, copper\nparts:\n  clasp  steel, 12 mm\n"


def forgotten(body: str) -> list[str]:
    """What stands in place of the faults of a recipe: 'unit lacks N, step 3'."""
    seen = view(recipe(body, PARTS))
    assert not seen.troubles
    found = []
    for fault in forgotten_steps(seen.weave, find_faults(seen.weave)):
        assert isinstance(fault, Forgotten | Snagged)
        by = f", step {fault.step.number}" if fault.step else ""
        if isinstance(fault, Forgotten):
            found.append(f"{fault.block} lacks {' and '.join(fault.names)}{by}")
        else:
            found.append(f"{fault.snag.kind}{by}")
    return found


UNIT = "expect:/M meets 4{}/start:/close 2 M/unit:/{}/piece:/chain 8 units"


@pytest.mark.parametrize(
    ("promised", "steps", "told"),
    [
        # Nothing leads nowhere: M2 of the unit before is there in the first unit, or is no ring.
        ("", "add M1 through prev M picks 2", []),
        ("", "add 2 M through prev M picks 2", []),
        # Numbers begin at one: where the unit has an M2, M1 was meant to be placed, and where it
        # has an M1, one step that names M2 names it wrongly, and two steps do not.
        ("", "add M2 through prev M1", ["unit lacks M1, step 2"]),
        ("", "add M2 through prev M2/add K through M1", ["unit lacks M1, step 3"]),
        ("", "add M1 through prev M2", []),
        ("", "add M1 through prev M1/add K through M2", []),
        ("", "add M1 through prev M2/add K through prev M2", ["unit lacks M2, step 2"]),
        ("", "add M3 through prev M1/add K through M1", ["unit lacks M1, step 2"]),
        # A name that nothing else speaks of is a slip of the pen.
        ("", "add M1 through prev M1/add K through N", []),
        ("/N meets 2", "add M1 through prev M1/add K through N", ["unit lacks N, step 3"]),
        ("/N meets 2", "add M1 through prev M1/add K through N1, N2, N1",
         ["unit lacks N1 and N2, step 3"]),
        ("/N meets 2/Q meets 2", "add M1 through prev M1/add K through N, prev Q/add L through Q",
         ["unit lacks N and Q, step 3"]),
        # No step places a part, and the ends of the piece are no unit.
        ("", "add M1 through prev M1/add K through clasp, prev clasp", []),
        ("/N meets 2", "add 2 M through prev M/finish:/add K through last N", []),
        ("/N meets 2", "add 2 M through prev M/add K through M, first N", []),
        # What is wrong otherwise is told beside it, but no other name that leads nowhere.
        ("/N meets 2", "add M1 through prev M1/add L through N/add M1 through M2",
         ["unit lacks N, step 3", "placed twice, step 4"]),
        ("/N meets 2", "add M1 through prev M1/add L through N/add K through prev prev M1",
         ["unit lacks N, step 3", "off the piece, step 4"]),
        ("/N meets 2", "add M1 through prev M1/add L through N/add K through O",
         ["unit lacks N, step 3"]),
        ("/N meets 2", "add M1 through prev M1/add L through N/add K through P/add P through K",
         ["unit lacks N, step 3"]),
        # Only promised: sure where another promise or a kind of ring speaks of it, and no step
        # places a name that is near to it.
        ("/N meets 2 M", "add 2 M through prev M", []),
        (", 1 N/N meets 2 M", "add 2 M through prev M", ["unit lacks N"]),
        ("/Moon meets 2 M, 1 Moon", "add 2 M through prev M", ["unit lacks Moon"]),
        ("/Moon meets 2 M, 1 Moon", "add 2 M through prev M/add Moom through M", []),
    ],
)  # fmt: skip
def test_a_unit_lacks_what_it_uses_or_promises_and_does_not_place(
    promised: str, steps: str, told: list[str]
) -> None:
    body = UNIT.format(promised, steps)
    if promised.startswith(","):
        body = body.replace("M meets 4,", "M meets 4 M,")
    assert forgotten(body) == told


@pytest.mark.parametrize(
    ("start", "unit", "told"),
    [
        ("close A1", "add 2 A through prev A picks 2", ["start lacks A2, step 2"]),
        ("close A1", "add 2 A through prev A1, prev A2", ["start lacks A2, step 2"]),
        ("close A2", "add 2 A through prev A picks 2", ["start lacks A1, step 2"]),
        ("close A1, K", "add 2 A through prev A1, prev A2 picks 2", ["start lacks A2, step 2"]),
        ("close K", "add 2 A through prev A picks 2", ["start lacks A, step 2"]),
        ("close K", "add 2 A through prev A1, prev A2", ["start lacks A1 and A2, step 2"]),
        # Where one ring is placed a number was forgotten and no step.
        ("close A", "add 2 A through prev A picks 2", []),
        # What the first unit has is all it needs.
        ("close 2 A", "add 2 A through prev A picks 2", []),
        ("close 2 A, K", "add 2 A through prev A picks 3", []),
        # Counts that are off once the first unit is past show that the list is at fault.
        ("close A1", "add 2 A through prev A1", []),
    ],
)
def test_a_start_lacks_rings_only_where_nothing_else_is_wrong(
    start: str, unit: str, told: list[str]
) -> None:
    body = f"expect:/A meets 4/start:/{start}/unit:/{unit}/piece:/chain 8 units"
    assert forgotten(body) == told


SHEET = (
    "expect:/A meets 4/B meets 2/first row:/close A/row:/add A through above A{}{}/piece:"
    "/sheet 4 rows of 5 units"
)


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (SHEET.format(", above B", ""), ["first row lacks B, step 2"]),
        (SHEET.format("/add C through B", ""), ["row lacks B, step 3"]),
        # No other row is expected to have what the last one has.
        (SHEET.format("", "/last row:/add A through above A/add B through above B"), []),
        (SHEET.format("", "/last row:/add A through above A/add C through B"),
         ["last row lacks B, step 4"]),
        (SHEET.replace("/B meets 2", "").format("/add C through B", ""), []),
    ],
)  # fmt: skip
def test_a_row_lacks_what_it_or_the_row_below_goes_through(body: str, told: list[str]) -> None:
    assert forgotten(body) == told


UNITS = (
    "start:/close A/unit 1:/add A through prev A{}/unit 2:/add A through prev A{}/unit 3:"
    "/add A through prev A{}/piece:/chain 3 units"
)


def test_one_of_several_units_lacks_what_the_others_place() -> None:
    own, wants = "/add N through A", "/add L through N"
    assert forgotten(UNITS.format(own, wants, own)) == ["unit 2 lacks N, step 5"]
    assert forgotten(UNITS.format(own, own, wants)) == ["unit 3 lacks N, step 7"]
    assert forgotten(UNITS.format("", "", wants)) == []


@pytest.mark.parametrize(
    ("jewel", "told"),
    [
        # In a piece of runs a unit of another name places it; it is no ring of this one.
        ("add sun through prev A, prev sun", []),
        ("add sun through prev A, B", ["unit jewel lacks B, step 3"]),
        ("add sun through prev A, prev knot", []),
    ],
)
def test_in_a_piece_of_runs_a_unit_need_not_place_the_rings_of_another(
    jewel: str, told: list[str]
) -> None:
    body = (
        "expect:/A meets 2/B meets 2/start:/close A/unit cord:/add A through prev A/unit jewel:/"
        f"{jewel}/add A through sun/unit end:/add knot through prev A/add A through knot"
        "/piece:/chain of 3 cord, jewel, 3 cord, end"
    )
    assert forgotten(body) == told


def test_a_strand_lacks_no_ring_of_another_strand_in_the_start() -> None:
    text = recipe(
        "expect:/B meets 1/R meets 3 A/start:/close A/unit left:/add A through prev A"
        "/add 2 B through A/unit mid:/add A through prev A/add B1 through A"
        "/unit right:/add A through prev A, prev B2"
        "/piece:/strands left 4 units, mid 5 units, right 3 units"
        "/finish:/add R through last left A, last mid A, last right A picks 3"
    )
    (found,) = [f for f in findings(text) if f.rule.severity == "error"]
    assert (found.rule.name, found.help[0]) == (
        "ring-not-there",
        "B2 is a ring of strand left; a unit goes through rings of its own strand and of the start",
    )
