"""Sections that no place of the piece is worked by: why, and what gives each a place."""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

STEP = "add A through prev A"
STRANDS = (
    "start:/close hub/add A through hub picks 1/add B through hub picks 1/unit left:/"
    "add A through prev A/unit right:/add B through prev B/{}:/add A through prev A/piece:/"
    "strands left 5 units, right 9 units"
)
ROWS = (
    "first row:/close A/row:/add A through above A, above next A{}/{}:/add A through above A/"
    "piece:/{}"
)
ABC = f"start:/close A/unit a:/{STEP}/unit b:/{STEP}/unit c:/{STEP}/piece:/"
PLACES = "write under 'shape:' how many places a round has, as in 'row 3  12 places'"
LONGER = "make it longer, so that its turn comes"
OWN_NAME = "give 'unit:' a name of its own, and write 'order …' with all names"

#: A recipe; the heading; why it has no place; where the turns are named, its line and words; and
#: what gives it a place.
TOLD = [
    (STRANDS.format("unit 3"), "unit 3", "of strands, no unit is told by its number", None,
     "make a strand of what differs"),
    (STRANDS.format("unit mid"), "unit mid", "no strand has its name",
     (15, "left", "the strands are named here"), "add to the strands, such as 'mid 6 units'"),
    (STRANDS.format("unit"), "unit", "every strand has a unit of its own name", None, ""),
    (ROWS.format(" if there", "extra place", "sheet 4 rows of 6 units"), "extra place",
     "only rounds of a tube have such places", None, ""),
    (ROWS.format("", "extra place", "tube 4 rows of 6 units"), "extra place",
     "no round of the row it belongs to has more places than the one above", None, PLACES),
    (ROWS.format("", "shared place", "tube 4 rows of 6 units"), "shared place",
     "no round of the row it belongs to has fewer places than the one above", None, PLACES),
    (f"start:/close A/unit 7:/{STEP}/unit:/{STEP}/piece:/loop 5 units", "unit 7",
     "the loop has only 5 units", None, "write 'loop 7 units'"),
    (f"start:/close A/unit a:/{STEP}/unit:/{STEP}/piece:/chain 5 units", "unit a",
     "'unit:' fills every unit", None, OWN_NAME),
    ("first row:/close A/row a:/add A through above A/row:/add A through above A/piece:/"
     "sheet 5 rows of 6 units", "row a", "'row:' fills every row", None,
     OWN_NAME.replace("unit", "row")),
    (f"{ABC}chain 9 units/order a, b", "unit c", "'order' leaves it out",
     (14, "a", "the turns are named here"), "write 'order a, b, c'"),
    (f"{ABC}chain 2 units/order a, b, c", "unit c", "the chain has only 2 units",
     (14, "a", "the turns are named here"), LONGER),
    (f"{ABC}chain of 5 a, b", "unit c", "the chain leaves it out",
     (13, "a", "the turns are named here"), "name 'c' among its runs"),
    (f"start:/close A/unit 1:/{STEP}/unit 2:/{STEP}/unit:/{STEP}/piece:/chain 2 units", "unit",
     "the chain has 2 units, and all are written out", None, "make it longer"),
    ("first row:/close A/row:/add A through above A/piece:/sheet 1 row of 4 units", "row",
     "the sheet has only 1 row", None, "make it longer"),
    ("first row:/close A/row a:/add A through above A/row b:/add A through above A/piece:/"
     "sheet 2 rows of 4 units/order a, b", "row b", "the sheet has only 2 rows",
     (12, "a", "the turns are named here"), LONGER),
]  # fmt: skip


@pytest.mark.parametrize(("body", "heading", "why", "named", "help"), TOLD)
def test_a_section_without_a_place(
    body: str, heading: str, why: str, named: tuple[int, str, str] | None, help: str
) -> None:
    text = recipe(body)
    (found,) = [f for f in findings(text) if f.rule.name == "never-worked"]
    assert underlined(text, found) == f"{heading}:"
    assert found.message == f"'{heading}:' is never worked: {why}"
    lines = text.splitlines()
    assert [
        (x.span.line, lines[x.span.line - 1][x.span.column - 1 : x.span.end - 1], x.text)
        for x in found.labels
    ] == ([named] if named else [])
    out = f"take the section '{heading}:' out"
    assert list(found.help) == ([help, f"or {out}"] if help else [out])


@pytest.mark.parametrize(
    "body",
    [
        ROWS.format("", "shared place", "tube 4 rows of 6 units/shape:/row 2  1 empty"),
        f"{ABC}chain 0 units/order a, b",
        f"{ABC}chain of 5 a, 0 b",
        f"{ABC}chain of 5 a, bb",  # which may be meant for one of the others
        STRANDS.format("unit mid").replace("right 9 units", "right 0 units"),
    ],
)
def test_what_another_rule_tells_explains_it(body: str) -> None:
    rules = {f.rule.name for f in findings(recipe(body)) if f.severity == "error"}
    assert rules
    assert "never-worked" not in rules
