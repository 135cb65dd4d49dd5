"""Rings that meet more or fewer than promised: of which it is said, how it is measured, and where.

How many each ring meets is counted by hand: a ring of a plain chain meets one before and one behind
it, and what a step hangs on it besides.
"""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

LOOP = "expect:/A meets 2/start:/close A/unit:/add A through prev A/piece:/loop 30 units"
JOINED = f"{LOOP.replace('A meets 2', 'A meets 2/E meets 2')}/finish:/add E through "
CLOSE = "a loop is closed in 'finish:', by steps that go through 'last' and 'first' rings"
UNITS = (
    "expect:/A meets 2/B meets 3/start:/close A/unit 1:/add A through prev A/add B through A/"
    "unit 2:/add A through prev A/add B through A/unit 3:/add A through prev A/"
    "add B through A, prev B"
)
ROWS = (
    "first row:/close A/row:/add A through above A, above next A if there/{}piece:/"
    "sheet 6 rows of 7 units"
)
LOOK = (
    "no single change makes every count right; look at what places {} and at what goes through it"
)

#: A recipe; each that is told: what is underlined, the first words, what else is pointed at (its
#: line and words), and what to do.
TOLD = [
    # the promise alone is wrong, and its ring stands in the start, the finish, a row end, anywhere
    ("expect:/A meets 2/H meets 7/start:/close H/add A through H/unit:/add A through prev A/piece:/"
     "chain 30 units",
     [("H meets 7", "H of the start meets 1 ring, not 7 as promised", [(8, "H is placed here")],
       ["to mend: promise 'H meets 1'"])]),
    ("expect:/A meets 2/E meets 7/start:/close A/unit:/add A through prev A/piece:/chain 30 units/"
     "finish:/add E through last A, last prev prev A picks 2",
     [("E meets 7", "E of the finish meets 2 rings, not 7 as promised",
       [(14, "E is placed here")], ["to mend: promise 'E meets 2'"])]),
    (ROWS.format("row end:/add E through every A/").replace("first", "expect:/E meets 3/first", 1),
     [("E meets 3", "E of the row end meets 7 rings, not 3 as promised",
       [(11, "E is placed here")], ["to mend: promise 'E meets 7'"])]),
    (ROWS.format("").replace("first", "expect:/A meets 5/first", 1),
     [("A meets 5", "every finished A meets 4 rings, not 5 as promised", [(9, "A is placed here")],
       ["to mend: promise 'A meets 4'"])]),
    # a part has no step that places it
    ("parts:/toggle  steel bar/expect:/A meets 2/toggle meets 2/start:/close A/unit:/add A through"
     " prev A/piece:/chain 30 units/finish:/add A through last A, toggle picks 2",
     [("toggle meets 2", "toggle of the finish meets 1 ring, not 2 as promised", [],
       ["to mend: promise 'toggle meets 1'"])]),
    ("parts:/toggle  steel bar/expect:/A meets 7/toggle meets 3/start:/close A/unit:/add A through"
     " prev A/piece:/chain 30 units/finish:/add A through last A, toggle picks 2",
     [("toggle meets 3", "toggle of the finish meets 1 ring, not 3 as promised", [],
       ["no single change makes every count right; look at what goes through toggle"]),
      ("prev A", "every finished A meets 2 rings, not 7 as promised", [(7, "promised here")],
       [LOOK.format("A (step 2)")])]),
    # measured as it is promised: in all, by name, by place
    ("expect:/A meets 1 prev A, 3 next A/start:/close A/unit:/add A through prev A/piece:/"
     "chain 30 units",
     [("A meets 1 prev A, 3 next A", "every finished A meets 1 A of the unit before and 1 A of the"
       " next unit, not 1 A of the unit before and 3 A of the next unit as promised",
       [(9, "A is placed here")], ["to mend: promise 'A meets 1 prev A, 1 next A'"])]),
    ("expect:/A meets 2 prev A, 2 next A, 4 B/B meets 1 A/start:/close 2 A/unit:/"
     "add 2 A through prev A/add 2 B through A/piece:/chain 30 units",
     [("prev A", "every finished A1 meets 2 A of the unit before, 2 A of the next unit and 2 B,"
       " not 2 A of the unit before, 2 A of the next unit and 4 B as promised",
       [(5, "promised here")],
       ["every finished A2 meets 2 A of the unit before, 2 A of the next unit and 2 B",
        LOOK.format("A1 (step 2)")]),
      ("A", "every finished B1 meets 2 A, not 1 A as promised", [(6, "promised here")],
       ["every finished B2 meets 2 A", LOOK.format("B1 (step 3)")])]),
    ("expect:/A meets 7/B meets 5/start:/close 2 A/unit:/add 2 A through prev A/add B through A/"
     "piece:/chain 30 units",
     [("prev A", "every finished A1 meets 5 rings, not 7 as promised", [(5, "promised here")],
       ["every finished A2 meets 5 rings", LOOK.format("A1 (step 2)")]),
      ("A", "every finished B meets 2 rings, not 5 as promised", [(6, "promised here")],
       [LOOK.format("B (step 3)")])]),
    # units that are written out have numbers, and the last has all that it will
    (UNITS,
     [("prev A", "A of unit 1 meets 3 rings, not 2 as promised", [(5, "promised here")],
       [LOOK.format("A (step 2)")]),
      ("A", "B of unit 1 meets 1 ring, not 3 as promised", [(6, "promised here")],
       ["B of unit 2 meets 2 rings", LOOK.format("B (step 3)")])]),
    # a loop: only what stands at its seam is wrong, so it is not closed, or not as it should be
    (LOOP, [("loop 30 units", "the loop is not closed: A of unit 30 meets 1 ring, 2 promised",
             [(5, "promised here")], [CLOSE])]),
    (f"{LOOP}/finish:/tighten last A",
     [("finish:", "the loop is not wholly closed: A of unit 30 meets 1 ring, 2 promised",
       [(5, "promised here")], [CLOSE])]),
    (f"{JOINED}last prev A, first next A picks 2",
     [("finish:", "the loop is not wholly closed: A of unit 1 meets 3 rings, 2 promised",
       [(5, "promised here")], ["A of unit 30 meets 1 ring", CLOSE])]),
    (f"{JOINED}last A, first next A picks 2",
     [("last A, first next A", "step 3 most likely goes through A at the beginning where it says"
       " 'first next A': A of unit 1 meets 3 rings, 2 promised", [(5, "promised here")],
       ["to mend: write 'through last A, first A'"])]),
    (f"{JOINED}last prev A, first A picks 2",
     [("last prev A, first A", "step 3 most likely goes through A of the last unit where it says"
       " 'last prev A': A of unit 29 meets 3 rings, 2 promised", [(5, "promised here")],
       ["to mend: write 'through last A, first A'"])]),
    # where nobody knows how many units there are, they are counted from the end
    (LOOP.replace("30 units", "190 mm"),
     [("loop 190 mm", "the loop is not closed: A of the last unit meets 1 ring, 2 promised",
       [(5, "promised here")], [CLOSE])]),
    (f"{JOINED.replace('30 units', '190 mm')}last prev A, first A picks 2",
     [("last prev A, first A", "step 3 most likely goes through A of the last unit where it says"
       " 'last prev A': A of the unit before the last meets 3 rings, 2 promised",
       [(5, "promised here")], ["to mend: write 'through last A, first A'"])]),
    # and units with names are named
    (f"{JOINED}last prev A, first A picks 2".replace("unit:", "unit a:").replace(
        "A/piece:/loop 30 units", "A/unit b:/add B through prev A/add A through B/piece:/"
        "loop of 6 a, b, 6 a"),
     [("last prev A, first A", "step 5 most likely goes through A of the last unit where it says"
       " 'last prev A': A of unit a meets 3 rings, 2 promised", [(5, "promised here")],
       ["to mend: write 'through last A, first A'"])]),
]  # fmt: skip


@pytest.mark.parametrize(("body", "told"), TOLD)
def test_of_which_rings_it_is_said_and_where(
    body: str, told: list[tuple[str, str, list[tuple[int, str]], list[str]]]
) -> None:
    text = recipe(body)
    found = [f for f in findings(text) if f.rule.name == "neighbour-count"]
    got = [
        (underlined(text, f), f.message, [(x.span.line, x.text) for x in f.labels], list(f.help))
        for f in found
    ]
    assert got == told
