"""Units written out that are not like one another: what is said, where, and what is held beside it.

Of the units given here one alone differs, so that one is told against the first that is like most.
"""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

PAIR = "add 2 A through prev A"
FOLD = f"{PAIR}/fold back A"
TUFT = "add A through prev A/add B through A"
TUFTS = "add A through prev A/add 2 B through A"
LIKE = ["write it as in unit 1"]
THERE = "unit 1 has this step"
SAME = "the same step in unit 1"


def units(*each: str) -> str:
    """Units with numbers, worked on from a start that fits them."""
    one = each[0].startswith("add A ")
    kept = "A meets 2 A, 1 B/B meets 1 A" if one else "A meets 4"
    written = "/".join(f"unit {n}:/{steps}" for n, steps in enumerate(each, 1))
    return f"expect:/{kept}/start:/close {'A' if one else '2 A'}/{written}"


#: Units; what is underlined; what is said; the line and words beside it; and what to do.
TOLD = [
    # links: one or several fewer, more, others
    ((PAIR, PAIR, "add A1 through prev A1/add A2 through prev A", PAIR), "prev A1",
     "step 4 of unit 3 lacks a link that unit 1 has: A1 through A2 of the unit before", (9, SAME),
     [*LIKE, "to mend: write 'through prev A'"]),
    ((PAIR, PAIR, "add 2 A through prev A2"), "prev A2",
     "step 4 of unit 3 lacks 2 links that unit 1 has: A1 through A1 of the unit before; A2 through"
     " A1 of the unit before", (9, SAME), [*LIKE, "to mend: write 'through prev A'"]),
    ((TUFT, TUFT, f"{TUFT}, prev A lay front", TUFT), "A, prev A",
     "step 7 of unit 3 makes a link that unit 1 does not: B through A of the unit before",
     (11, SAME), [*LIKE, "to mend: write 'through A'"]),
    ((TUFT, TUFT, TUFT.replace("B through", "B through prev"), TUFT), "prev A",
     "step 7 of unit 3 goes another way than in unit 1: B through A of the unit before instead of"
     " B through A", (11, SAME), [*LIKE, "to mend: write 'through A'"]),
    ((TUFTS, TUFTS, TUFTS.replace("B through", "B through prev"), TUFTS), "prev A",
     "step 7 of unit 3 goes another way than in unit 1: B1 through A of the unit before; B2 through"
     " A of the unit before instead of B1 through A; B2 through A", (11, SAME),
     [*LIKE, "to mend: write 'through A'"]),
    # rings: more, fewer, one of several, others
    ((PAIR, PAIR, f"{PAIR}/add tuft through A1", PAIR), "add tuft through A1",
     "unit 3 places tuft, and unit 1 does not", None, [*LIKE, "to mend: take step 5 out"]),
    ((PAIR, PAIR, f"{PAIR}/add 3 tuft through A1", PAIR), "add 3 tuft through A1",
     "unit 3 places 3 tuft, and unit 1 does not", None, [*LIKE, "to mend: take step 5 out"]),
    ((*[f"{PAIR}/add 3 tuft through A1"] * 2, PAIR, f"{PAIR}/add 3 tuft through A1"), "unit 3:",
     "unit 3 does not place 3 tuft, and unit 1 does", (10, THERE),
     [*LIKE, "to mend: write 'add 3 tuft through A1' behind step 6"]),
    ((*[f"{PAIR}/add 2 tuft through A1"] * 2, f"{PAIR}/add tuft through A1",
      f"{PAIR}/add 2 tuft through A1"), "unit 3:",
     "unit 3 does not place tuft 2, and unit 1 does", (10, THERE), LIKE),
    ((*[f"{PAIR}/add tuft through A1"] * 2, f"{PAIR}/add bit through A1",
      f"{PAIR}/add tuft through A1"), "add bit through A1",
     "unit 3 places bit where unit 1 places tuft", (10, THERE), LIKE),
    # moves: more, fewer, once more, once less, others, at another place
    ((PAIR, PAIR, FOLD, PAIR), "fold back A", "unit 3 has 'fold back A', which unit 1 lacks", None,
     LIKE),
    ((f"{PAIR}/turn over", f"{PAIR}/turn over", PAIR), "unit 3:",
     "unit 3 lacks 'turn over', which unit 1 has", (10, THERE), LIKE),
    ((FOLD, FOLD, f"{FOLD}/fold back A", FOLD), "fold back A",
     "unit 3 has 'fold back A' once more than unit 1", None, LIKE),
    ((*[f"{FOLD}/fold back A"] * 2, FOLD, f"{FOLD}/fold back A"), "unit 3:",
     "unit 3 has 'fold back A' once less than unit 1", (11, THERE), LIKE),
    ((FOLD, FOLD, f"{PAIR}/spread A", FOLD), "spread A",
     "unit 3 has 'spread A' where unit 1 has 'fold back A'", (10, THERE), LIKE),
    ((f"{FOLD}/spread A", f"{FOLD}/spread A", f"{PAIR}/spread A/fold back A"), "spread A",
     "unit 3 has 'spread A' at another place among its steps than unit 1", (10, SAME), LIKE),
    ((f"spread prev A/{PAIR}", f"{PAIR}/spread prev A"), "spread prev A",
     "unit 1 has 'spread prev A' at another place among its steps than unit 2",
     (13, "the same step in unit 2"),
     ["either unit could be the wrong one: make unit 1 like unit 2, or the other way round"]),
]  # fmt: skip


@pytest.mark.parametrize(("each", "item", "message", "beside", "help"), TOLD)
def test_a_unit_that_is_not_like_the_others(
    each: tuple[str, ...],
    item: str,
    message: str,
    beside: tuple[int, str] | None,
    help: list[str],
) -> None:
    text = recipe(units(*each))
    (found,) = [f for f in findings(text) if f.rule.name == "unlike-siblings"]
    assert (underlined(text, found), found.message) == (item, message)
    assert [(x.span.line, x.text) for x in found.labels] == ([beside] if beside else [])
    assert list(found.help) == help
