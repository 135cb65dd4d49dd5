"""Names outside the steps that nothing answers to: what is said of each, and which are mended."""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

from ringstep.language.findings import typed_in

ONE = "start:/close A/unit:/add A through prev A/piece:/chain 9 units"
TWO = "start:/close 2 A/unit:/add 2 A through prev A/piece:/chain 9 units"
TURNS = "start:/close A/unit thick:/add A through prev A/unit thin:/add A through prev A/piece:/"
STRANDS = (
    "start:/close hub/add A through hub picks 1/add B through hub picks 1/unit left:/"
    "add A through prev A/unit right:/add B through prev B/piece:/strands "
)
PART = "parts:/clasp  brass/expect:/A meets 2/{}/" + ONE
ROWS = "first row:/close A/row{}:/add A through above A/piece:/sheet 8 rows of 9 units/order a, zz"
ONLY_A = "rings in this recipe: A"
NEAR_LEFT = "the nearest name is 'left'"
LOOK = (
    "'BI' has the capital letter 'I', the one of this recipe is 'Bl' with the small letter 'l';"
    " type one of the two again"
)

#: A recipe; each that is told: what is underlined, what is said, what is advised, and what is
#: offered as a mend ("" for none).
TOLD = [
    # promises for rings that no step places, by name and by number
    (f"expect:/Q meets 2/{ONE}", [("Q", "Q is promised neighbours, and no step places it", ONLY_A,
                                   "")]),
    (f"expect:/A7 meets 4/A meets 4/{TWO}",
     [("A7", "A7 is promised neighbours, and no step places it", "there are A1 and A2", "")]),
    (f"expect:/A2 meets 2/A meets 2/{ONE}",
     [("A2", "A2 is promised neighbours, and no step places it", "there is A", "")]),
    (f"expect:/corr meets 2/{ONE.replace('A', 'core')}",
     [("corr", "corr is promised neighbours, and no step places it", "the nearest name is 'core'",
       "write 'core'")]),
    (f"expect:/corr1 meets 4/{TWO.replace('A', 'core')}",
     [("corr1", "corr 1 is promised neighbours, and no step places it",
       "the nearest name is 'core'", "write 'core1'")]),
    (f"expect:/BI meets 2/{ONE.replace('A', 'Bl')}",
     [("BI", "BI is promised neighbours, and no step places it", LOOK, "write 'Bl'")]),
    # no mend where the name would then be promised twice
    (f"expect:/Bl meets 2/BI meets 2/{ONE.replace('A', 'Bl')}",
     [("BI", "BI is promised neighbours, and no step places it", LOOK, "")]),
    # nor where the promise would not be kept
    (f"expect:/corr meets 3/{ONE.replace('A', 'core')}",
     [("corr", "corr is promised neighbours, and no step places it", "the nearest name is 'core'",
       "")]),
    # those that a promise speaks of, each once, and those of other promises
    (f"expect:/A meets 2 Q, 1 Z/{ONE}",
     [("Q", "the promise for A speaks of Q, and no step places it", ONLY_A, ""),
      ("Z", "the promise for A speaks of Z, and no step places it", ONLY_A, "")]),
    (f"expect:/A meets 2/Q lies around 2 A/{ONE}",
     [("Q", "Q is promised neighbours, and no step places it", ONLY_A, "")]),
    (f"expect:/A meets 2/Q comes out/{ONE}",
     [("Q", "something is promised of Q, and no step places it", ONLY_A, "")]),
    (f"expect:/A meets 2/Q AR 4 to 5, common practice no source/{ONE}",
     [("Q", "the AR of Q is given, and no step places it", ONLY_A, "")]),
    # twice, each time told where it is first
    (f"expect:/A meets 2/A meets 2 A/A meets 3/{ONE}",
     [("A", "A is promised neighbours twice", "keep one of the two lines", ""),
      ("A", "A is promised neighbours twice", "keep one of the two lines", "")]),
    # parts are named as well
    (PART.format("clasp meets 1/clesp meets 1") + "/finish:/add A through last A, clasp picks 2",
     [("clesp", "clesp is promised neighbours, and no step places it",
       "the nearest name is 'clasp'", "")]),
    # variants
    (f"expect:/A meets 2/calm repeats every 2 units/{ONE}",
     [("calm", "there is no variant 'calm'",
       "there are no variants in this recipe; take the line out", "")]),
    (f"{ONE}/variant calm",
     [("calm", "there is no variant 'calm'",
       "there are no variants in this recipe; take the line out", "")]),
    (f"variants:/calm lay front/mild lay back/{ONE}/variant calmm",
     [("calmm", "there is no variant 'calmm'", "the nearest name is 'calm'", "write 'calm'")]),
    # what takes turns
    (f"{TURNS}chain of 5 zz, thin",
     [("zz", "there is no section 'unit zz:'", "named units in this recipe: thin and thick", "")]),
    (f"{ONE}/order zz",
     [("zz", "there is no section 'unit zz:'",
       "there are no named units in this recipe; take the line out", "")]),
    (ROWS.format(" a").replace("piece:", "row b:/add A through above A/piece:"),
     [("zz", "there is no section 'row zz:'", "named rows in this recipe: a and b", "")]),
    (ROWS.format(""),
     [("a", "there is no section 'row a:'",
       "there are no named rows in this recipe; take the line out", ""),
      ("zz", "there is no section 'row zz:'",
       "there are no named rows in this recipe; take the line out", "")]),
    # strands
    (f"{STRANDS}lefft 5 units, right 9 units",
     [("lefft", "strand lefft has no unit: there is no section 'unit lefft:'", NEAR_LEFT,
       "write 'left'")]),
    (f"{STRANDS}left 5 units, right 9 units, zz 5 units",
     [("zz", "strand zz has no unit: there is no section 'unit zz:'",
       "head the steps of this strand 'unit zz:', or those of all strands 'unit:'/named units in"
       " this recipe: left and right", "")]),
    ("start:/close hub/piece:/strands left 5 units",
     [("left", "strand left has no unit: there is no section 'unit left:'",
       "head the steps of this strand 'unit left:', or those of all strands 'unit:'", "")]),
    # names that lead somewhere, or may do so in a line that is not read
    (f"expect:/all meets 2/{ONE}", []),
    (f"variants:/xx yy zz/{ONE}/variant calm", []),
    (f"expect:/Q meets 2/{ONE.replace('add A through', 'add A thruogh')}", []),
    ("start:/close 2 A/unit:/add 2 A through prev A/piece:/strands left 5 units, right 9 units",
     []),
]  # fmt: skip


@pytest.mark.parametrize(("body", "told"), TOLD)
def test_a_name_that_nothing_answers_to(body: str, told: list[tuple[str, str, str, str]]) -> None:
    text = recipe(body)
    found = [f for f in findings(text) if f.rule.name == "unknown-name"]
    got = [
        (underlined(text, f), f.message, "/".join(f.help), "".join(m.says for m in f.mends))
        for f in found
    ]
    assert got == told
    for finding in found:
        for mend in finding.mends:
            after = "\n".join(typed_in(tuple(text.splitlines()), mend.edits)) + "\n"
            assert not [f for f in findings(after) if f.rule.name == "unknown-name"]


def test_a_second_promise_says_where_the_first_stands() -> None:
    found = findings(recipe(f"expect:/A meets 2/A meets 2 A/A meets 3/{ONE}"))
    assert [(f.span.line, f.here) for f in found] == [
        (6, "first on line 5"), (7, "first on line 5"),
    ]  # fmt: skip
