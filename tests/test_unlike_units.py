"""Written-out units unlike their siblings: every way in which they can differ, in words."""

from __future__ import annotations

import pytest
from helpers import findings, view
from small_recipes import recipe

from ringstep.draw.diagrams import step_diagrams

ONE = (
    "expect:/A meets 2/start:/close A/unit 1:/add A through prev A/{0}/unit 2:"
    "/add A through prev A/{0}/unit 3:/add A through prev A/{1}/piece:/chain 3 units"
)


@pytest.mark.parametrize(
    ("like", "odd", "line", "message"),
    [
        ("spread A/hold prev A", "hold prev A/spread A", 18,
         "unit 3 has 'hold prev A' at another place among its steps than unit 1"),
        ("spread A", "hold A", 16, "unit 3 has 'hold A' where unit 1 has 'spread A'"),
        ("spread A/tighten", "spread A", 16, "unit 3 lacks 'tighten', which unit 1 has"),
        ("spread A", "spread A/turn over", 17, "unit 3 has 'turn over', which unit 1 lacks"),
        ("close B", "close 4 B", 16,
         "unit 3 places B2, B3 and B4, and unit 1 does not"),
        ("spread A", "spread A/close 3 B", 17, "unit 3 places 3 B, and unit 1 does not"),
        ("close B", "close C", 16, "unit 3 places C where unit 1 places B"),
    ],
)  # fmt: skip
def test_a_unit_unlike_the_others(like: str, odd: str, line: int, message: str) -> None:
    found = [f for f in findings(recipe(ONE.format(like, odd))) if f.rule.name == "unlike-siblings"]
    assert [(f.message, f.span.line) for f in found] == [(message, line)]


def test_folds_alike_word_for_word_are_alike_where_every_unit_turns_the_work_over() -> None:
    unit = "/add 2 A through prev A/fold back A on the right/turn over"
    units = "".join(f"/unit {n}:{unit}" for n in (1, 2, 3, 4))
    text = recipe(f"expect:/A meets 4/start:/close 2 A{units}/piece:/chain 4 units")
    assert text.count("fold back A on the right") == 4
    assert "unlike-siblings" not in [f.rule.name for f in findings(text)]


def test_two_strands_that_change_places_in_one_unit() -> None:
    like = "/add A1 through prev A1/add A2 through prev A2"
    text = recipe(
        f"expect:/A meets 2/start:/close A1, A2/unit 1:{like}/unit 2:{like}/unit 3:"
        "/add A1 through prev A2/add A2 through prev A1/piece:/chain 3 units"
    )
    (found,) = (f for f in findings(text) if f.rule.name == "unlike-siblings")
    assert found.message.startswith("step 6 of unit 3 goes another way than in unit 2: A1 through")
    assert found.help[-1] == "write it as in unit 2"


TURNS = (
    "expect:/A meets 4/B meets 4/start:/close 2 A/unit 1:/add 2 B through prev {0}/unit left:"
    "/add 2 A through prev B/unit right:/add 2 B through prev A/piece:/chain {1} units"
    "/order right, left"
)


@pytest.mark.parametrize("units", [4, 8, 9])
def test_a_written_out_unit_is_like_those_of_its_own_turn(units: int) -> None:
    assert findings(recipe(TURNS.format("A", units))) == ()
    (found,) = findings(recipe(TURNS.format("A1", units)))
    assert found.span.line == 10


def test_a_ring_far_from_the_finish_stands_beside_the_picture_with_its_place() -> None:
    """In a sheet one number says too little: the row is told as well."""
    chain = recipe(
        "expect:/A meets 2 or 3/start:/close A/unit:/add A through prev A/finish:"
        "/add R through last A, first A, last prev prev A picks 3/piece:/chain 40 units"
    )
    tube = recipe(
        "first row:/close A/row:"
        "/add A through above A, above next A, above next next next A picks 3/row end:"
        "/add E through first A, last A picks 2/finish:/add R through last A, first A picks 2"
        "/piece:/tube 20 rows of 20 units"
    )
    for text, number, where in ((chain, 3, "start"), (tube, 4, "row 1, unit 1")):
        assert [f for f in findings(text) if f.rule.severity == "error"] == []
        picture = step_diagrams(view(text))[number]
        assert picture.captions[-1].text == where
        assert where in picture.alt or "of the first unit of the first row" in picture.alt
