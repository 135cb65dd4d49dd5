"""Rings for which nothing is promised: of which it is said, where, and what it would say.

What each ring meets is counted by hand.
"""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

PLAIN = "start:/close A/unit:/add A through prev A/piece:/chain 9 units"
DROP = f"expect:/{{}} meets 2/A meets 2/{PLAIN}/finish:/"
LATER = "mend the errors first; then this says what the rings meet"
NEW = "if that is what you mean, add a section 'expect:' with the line: "
MORE = "if that is what you mean, add to 'expect:':"


def told(body: str) -> list[tuple[int, str, str, list[str]]]:
    """The line, what is underlined, the ring or rings, and the help of each warning."""
    text = recipe(body)
    found = [f for f in findings(text) if f.rule.name == "nothing-promised"]
    return [
        (f.span.line, underlined(text, f), f.message.split("for ")[1], list(f.help)) for f in found
    ]


IT, THEM = ", so no check guards it", ", so no check guards them"


@pytest.mark.parametrize(
    ("body", "want"),
    [
        # each role by itself, where a unit places it first
        (PLAIN.replace("prev A", "prev A/add B through A/add C through B"),
         [(7, "A", f"A{IT}", ["measured: each meets 2 A and 1 B", f"{NEW}A meets 2 A, 1 B"]),
          (8, "B", f"B{IT}", ["measured: each meets 1 A and 1 C", f"{NEW}B meets 1 A, 1 C"]),
          (9, "C", f"C{IT}", ["measured: each meets 1 B", f"{NEW}C meets 1"])]),
        # promises about units are a section, though no ring has one
        (f"expect:/2 rings a unit/{PLAIN.replace('prev A', 'prev A/add B through A')}",
         [(9, "A", f"A{IT}", ["measured: each meets 2 A and 1 B", f"{MORE} A meets 2 A, 1 B"]),
          (10, "B", f"B{IT}", ["measured: each meets 1 A", f"{MORE} B meets 1"])]),
        # what is taken out again needs none; what stands behind it does
        (PLAIN.replace("close A", "close H/add A through H/add B through A")
         + "/finish:/take out first H",
         [(7, "B", f"B{IT}", ["measured: each meets 1 A", f"{NEW}B meets 1"]),
          (9, "A", f"A{IT}", ["measured: each meets 2 A", f"{NEW}A meets 2"])]),
        # rings of a role that has a promise for another of them: told where they are placed
        (DROP.format("drop 1") + "add drop 1 through last A/add drop 2 through drop 1",
         [(15, "drop 2", f"drop 2{IT}", ["measured: drop 2 meets 1 drop", MORE, "  drop 2 meets 1"])
          ]),
        # but not where that promise is broken; then another role is told without its number
        (DROP.format("drop 1").replace("2", "3", 1)
         + "add drop 1 through last A/add drop 2 through drop 1/add Z through drop 2",
         [(16, "Z", f"Z{IT}", [LATER])]),
        (f"expect:/A meets 7/{PLAIN.replace('prev A', 'prev A/add B through A')}",
         [(10, "B", f"B{IT}", [LATER])]),
        # unlike rings of one name
        ("start:/close A/unit a:/add A through prev A/add B through A/unit b:/add A through prev A/"
         "add B through A, prev A lay front/piece:/chain of 5 a, 5 b",
         [(7, "A", f"A{IT}", ["measured: they meet 2 A and 1 B or 2 A and 2 B",
           "promise them apart: give the rings that differ names of their own"]),
          (8, "B", f"B{IT}", ["measured: they meet 1 A or 2 A",
           "promise them apart: give the rings that differ names of their own"])]),
        # rings that are held and linked with nothing
        (PLAIN.replace("close A", "close A/close halo around A/close tiny inside A"),
         [(6, "halo", f"halo{IT}", ["measured: each is held and linked with nothing",
           f"{NEW}halo lies around 1 A"]),
          (7, "tiny", f"tiny{IT}", ["measured: each is held and linked with nothing",
           f"{NEW}tiny lies inside 1 A"]),
          (9, "A", f"A{IT}", ["measured: each meets 2 A", f"{NEW}A meets 2"])]),
        (f"expect:/A meets 2/halo lies around 1 A/{PLAIN}".replace(
            "prev A", "prev A/close halo around A"), []),
        # a row stands for a first row that places its rings
        ("first row:/close A/row:/add A through above A, above next A if there/piece:/"
         "sheet 3 rows of 9 units",
         [(5, "A", f"A{IT}", ["measured: each meets 4 A", f"{NEW}A meets 4"])]),
    ],
)  # fmt: skip
def test_what_no_promise_speaks_of(body: str, want: list[tuple[int, str, str, list[str]]]) -> None:
    assert told(body) == want


def test_rings_that_are_told_together() -> None:
    body = DROP.format("drop 2") + "add drop 1 through last A/add drop 2 through drop 1/"
    ((line, item, who, help),) = told(f"{body}add drop 3 through drop 2")
    assert (line, item, who) == (14, "drop 1", f"drop 1 and drop 3{THEM}")
    assert help == [
        "measured: drop 1 meets 1 A and 1 drop, drop 3 meets 1 drop", MORE,
        "  drop 1 meets 1 A, 1 drop", "  drop 3 meets 1",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "body",
    [
        PLAIN.replace("through prev A", "thruogh prev A"),
        PLAIN.replace("prev A", "prev A/add B through Q"),
        f"expect:/A metes 2/{PLAIN}",
    ],
)
def test_nothing_is_measured_of_what_is_not_read_or_cannot_be_worked(body: str) -> None:
    """The steps may place other rings than it seems, and the promise may stand in that line."""
    assert findings(recipe(body))
    assert told(body) == []
