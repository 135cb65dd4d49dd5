"""What is said of a piece that cannot be made as its section says."""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

from ringstep.language.findings import Finding

PLAIN = "start:/close A/unit:/add A through prev A/piece:/"
TURNS = (
    "expect:/A meets 2/start:/close A/unit thick:/add A through prev A/"
    "unit thin:/add A through prev A/piece:/"
)
STRANDS = (
    "start:/close hub/add A through hub picks 1/add B through hub picks 1/unit left:/"
    "add A through prev A/unit right:/add B through prev B/piece:/"
)
ROWS = "first row:/close A/row:/add A through above A, above next A if there/piece:/"
NOTHING = ("the piece has nothing in it", ["write how many units, and how many rows, it has"])
NO_UNIT = "and no unit of the piece has that name"
ORDER = "nothing says in which order the units thick and thin take turns"
IN_ORDER = "add to 'piece:' the line 'order thick, thin'"


def told(body: str) -> tuple[str, list[Finding]]:
    text = recipe(body)
    return text, [f for f in findings(text) if f.rule.name == "piece-size"]


#: A recipe; what is underlined; what is said; what to do.
TOLD = [
    # nothing in it, whichever number is 0
    (f"{ROWS}sheet 0 rows of 12 units", "sheet 0 rows of 12 units", *NOTHING),
    (f"{ROWS}sheet 5 rows of 0 units", "sheet 5 rows of 0 units", *NOTHING),
    (f"{TURNS}chain 0 units of thick, thin", "chain 0 units of thick, thin", *NOTHING),
    (f"{TURNS}chain of 0 thick, thin", "chain of 0 thick, thin", "a run has no unit",
     ["take it out of the line"]),
    (f"{STRANDS}strands left 5 units, right 0 mm", "right", "strand right has no unit",
     ["write how many it has, or take it out of the line"]),
    # each sample for itself; where a name stands for the units its size is marked
    (f"{PLAIN}chain 190 mm/sample 10 units = 41 mm/sample 0 units = 44 mm", "0 units",
     "the sample measures no units",
     ["measure some units of your own work: 'sample 10 units = 41 mm'"]),
    (f"{TURNS}chain of 5 thick, 5 thin/sample 0 thick = 41 mm", "41 mm",
     "the sample measures no units",
     ["measure some units of your own work: 'sample 10 units = 41 mm'"]),
    # a sample of what the piece has not: of one unit, of runs, of turns, of strands
    (f"{PLAIN}chain 190 mm/sample 1 thick = 41 mm", "thick",
     f"the sample measures 'thick', {NO_UNIT}", ["write 'sample 1 unit = 41 mm'"]),
    (f"{TURNS}chain of 5 thick, 5 thin/sample 10 zz = 41 mm", "zz",
     f"the sample measures 'zz', {NO_UNIT}", ["write 'thick' or 'thin' in its place"]),
    (f"{TURNS}chain 20 units/order thick, thin/sample 10 zz = 41 mm", "zz",
     f"the sample measures 'zz', {NO_UNIT}", ["write 'thick' or 'thin' in its place"]),
    (f"{TURNS}chain of 5 thick/sample 10 thin = 41 mm", "thin",
     f"the sample measures 'thin', {NO_UNIT}", ["write 'thick' in its place"]),
    (f"{STRANDS}strands left 5 units, right 5 units/sample 10 zz = 41 mm", "zz",
     "the sample measures 'zz', and no strand of the piece has that name",
     ["write 'left' or 'right' in its place"]),
    # then nothing is said of the length that it would have measured
    (f"{STRANDS}strands left 50 mm, right 5 units/sample 10 lft = 44 mm", "lft",
     "the sample measures 'lft', and no strand of the piece has that name",
     ["write 'sample 10 left = 44 mm'"]),
    (f"{TURNS}chain 100 mm of thick, thin, thick/sample 10 thik = 44 mm", "thik",
     f"the sample measures 'thik', {NO_UNIT}", ["write 'thick' or 'thin' in its place"]),
    # rows and units
    (f"{PLAIN}tube 8 rows of 12 units", "tube 8 rows of 12 units",
     "a tube is worked in rows, and the recipe has units",
     ["head its steps 'first row:' and 'row:'", "or make it a chain: 'chain 12 units'"]),
    (f"{ROWS}tube 8 rows of 9 units".replace("piece:", "unit:/add A through prev A/piece:"),
     "tube 8 rows of 9 units", "a tube is worked in rows, and the recipe has units",
     ["head its steps 'first row:' and 'row:'", "or make it a chain: 'chain 9 units'"]),
    ("piece:/sheet 8 rows of 12 units", "sheet 8 rows of 12 units",
     "a sheet is worked in rows, and the recipe has none",
     ["head its steps 'first row:' and 'row:'", "or make it a chain: 'chain 12 units'"]),
    (f"{ROWS}loop 30 units", "loop 30 units", "a loop is worked in units, and the recipe has rows",
     ["head its steps 'unit:'", "or make it a sheet: 'sheet 8 rows of 12 units'"]),
    # what repeats places something
    ("start:/close A/unit:/fold back prev A/piece:/chain 5 units", "unit:",
     "the unit places no ring, so there is nothing to repeat",
     ["add the step that places one, such as 'add A through prev A'"]),
    ("first row:/turn over/row:/spread above A/piece:/sheet 5 rows of 6 units", "first row:",
     "the first row places no ring, so there is nothing to repeat",
     ["add the step that places one, such as 'add A through prev A'"]),
    # an order, or one of two in the middle, which must come right
    (f"{TURNS}chain 30 units", "chain 30 units", ORDER,
     [IN_ORDER, "or work one of them once: 'chain of 15 thick, thin, 14 thick'"]),
    (f"{TURNS}chain 3 units", "chain 3 units", ORDER,
     [IN_ORDER, "or work one of them once: 'chain of 1 thick, thin, 1 thick'"]),
    (f"{TURNS}chain 2 units", "chain 2 units", ORDER,
     [IN_ORDER, "or work one of them once: 'chain of thick, thin, thick'"]),
    (f"{TURNS}loop 30 units", "loop 30 units", ORDER, [IN_ORDER]),
    (f"{TURNS}chain 190 mm", "chain 190 mm", ORDER, [IN_ORDER]),
    # the one that was measured more often is the one that repeats
    (f"{TURNS}chain 190 mm/sample 10 thin = 44 mm/sample 2 thick = 9 mm", "chain 190 mm", ORDER,
     [IN_ORDER, "or work one of them once: 'chain 190 mm of thin, thick, thin'"]),
    (f"{TURNS}chain 190 mm/sample 10 thick = 44 mm/sample 2 thin = 9 mm", "chain 190 mm", ORDER,
     [IN_ORDER, "or work one of them once: 'chain 190 mm of thick, thin, thick'"]),
    (f"{TURNS}chain 30 units".replace("piece:", "unit fat:/add A through prev A/piece:"),
     "chain 30 units", "nothing says in which order the units thick, thin and fat take turns",
     ["add to 'piece:' the line 'order thick, thin, fat'"]),
    # units that are written out
    ("start:/close A/unit 1:/add A through prev A/piece:/chain 3 units", "chain 3 units",
     "1 unit is written out, and the piece has 3 units",
     ["write 'chain 1 unit',",
      "or add a block 'unit:' for the units that are not written out"]),
    ("start:/close A/unit 1:/add A through prev A/unit 2:/add A through prev A/piece:/chain 1 unit",
     "chain 1 unit", "2 units are written out, and the piece has 1 unit",
     ["write 'chain 2 units',",
      "or add a block 'unit:' for the units that are not written out"]),
]  # fmt: skip


@pytest.mark.parametrize(("body", "item", "message", "help"), TOLD)
def test_a_piece_that_cannot_be_made(body: str, item: str, message: str, help: list[str]) -> None:
    text, (found,) = told(body)
    assert (underlined(text, found), found.message, list(found.help)) == (item, message, help)


@pytest.mark.parametrize(
    "body",
    [
        PLAIN.removesuffix("piece:/") + "finish:/tighten last A",  # no piece is asked for
        f"{PLAIN}chain 190 mm",
        "start:/close A/unit 1:/add A through prev A/piece:/chain 190 mm",
        f"{PLAIN}chain 9 units".replace("unit:", "unit 1:/add A through prev A/unit:"),
        f"{TURNS}chain of 5 thick, thin/sample 10 thick = 41 mm/sample 1 thin = 4 mm",
        f"{TURNS}chain, 5 thik",  # another order may stand in a line that is not read
    ],
)
def test_a_piece_of_which_nothing_is_said(body: str) -> None:
    assert told(body)[1] == []
