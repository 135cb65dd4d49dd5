"""How two weaves compare in links, lay and moves, on units that are told apart by eye."""

from __future__ import annotations

from functools import cache

import pytest
from small_recipes import weave

from ringstep.weave.likeness import Likeness, compare, likeness_words
from ringstep.weave.piece import Weave

PAIR = "start:/close 2 A/unit:/add A1 through prev A/add A2 through prev A, A1"
DOUBLED = "start:/close 2 A/unit:/add 2 A{} through prev A"
LONGER = "start:/close 2 A/unit:/add 2 B through prev A/fold back B/add 2 A through B"
BODIES = {
    "plain": "start:/close A/unit:/add A through prev A",
    "bare": "start:/close A/unit:/turn over",
    "front": PAIR + " lay front", "back": PAIR + " lay back", "open": PAIR,
    "turned": PAIR + " lay front/turn over", "front, folded": PAIR + " lay front/fold back A",
    "doubled": DOUBLED.format(""), "folded": DOUBLED.format("") + "/fold back A",
    "folded one by one": DOUBLED.format("") + "/fold back A1/fold back A2",
    "spread": DOUBLED.format("") + "/spread A", "over": DOUBLED.format("") + "/turn over",
    "twice, folded": LONGER + "/fold back A", "twice, half folded": LONGER,
    "sides": DOUBLED.format(" one to each side"), "left": DOUBLED.format(" on the left"),
    "right": DOUBLED.format(" on the right"),
    "then": DOUBLED.format("").replace("prev A", "prev A1 then prev A2"),
    "at one place": DOUBLED.format("") + " at one place",
    **{str(n): f"start:/close {n} A/unit:/add {n} A through prev A" for n in (15, 16, 17)},
}  # fmt: skip
BODIES = {name: body + "/piece:/chain 30 units" for name, body in BODIES.items()}
BODIES |= {
    "sheet": "row:/add A through above A if there, above next A if there/piece:/sheet 9 rows of 9"
             " units",
    "slanting": "row:/add A through {0} A if there, {0} next A if there/piece:/sheet 9 rows of 9"
                " units".format("above next next next"),
    "far slanting": "row:/add A through {0} A if there, {0} next A if there/piece:/sheet 9 rows of"
                    " 9 units".format("above next next next next next"),
    "two a unit": "row:/add A through above A if there, above B if there/add B through above B if"
                  " there, above next A if there/piece:/sheet 9 rows of 9 units",
    "upright": "row:/add A through above A if there, prev A if there/piece:/sheet 9 rows of 9"
               " units",
    "upright, two a unit": "row:/add A through above A if there, prev B if there/add B through"
                           " above B if there, A/piece:/sheet 9 rows of 9 units",
    **{f"laid {side}": "row:/add A1 through above A if there, above next A if there/add A2 through"
       f" above A if there, above next A if there, A1 lay {side}/piece:/sheet 9 rows of 9 units"
       for side in ("front", "back")},
    "rosette": "start:/add 5 P through one another/piece:/chain 1 units",
    "rosette, one by one": "start:/close P1/add P2 through P1/add P3 through P1, P2/add P4 through"
             " P1, P2, P3/add P5 through P1, P2, P3, P4/piece:/chain 1 units",
    "rosette of four": "start:/add 4 P through one another/piece:/chain 1 units",
}  # fmt: skip


@cache
def named(name: str) -> Weave:
    return weave(BODIES[name])


@pytest.mark.parametrize(
    ("one", "other", "lay", "moves"),
    [
        ("plain", "plain", "none", True), ("rosette", "rosette, one by one", "none", True),
        ("front", "front", "same", True), ("front", "back", "mirror", True),
        ("front", "open", "other", True), ("open", "open", "same", True),
        ("front", "turned", "other", False), ("turned", "turned", "same", True),
        ("front", "front, folded", "same", False), ("back", "front, folded", "mirror", False),
        ("doubled", "folded", "none", False), ("folded", "folded", "none", True),
        ("doubled", "over", "none", False), ("doubled", "spread", "none", True),
        # folds count by how many rings are folded at once, a ring of the cycle
        ("folded", "folded one by one", "none", False), ("folded", "twice, folded", "none", True),
        ("folded", "twice, half folded", "none", False),
        ("doubled", "twice, half folded", "none", False),
        ("left", "left", "same", True), ("left", "right", "mirror", True),
        ("sides", "sides", "same", True), ("sides", "left", "other", True),
        ("doubled", "left", "other", True), ("doubled", "at one place", "none", True),
        ("then", "then", "same", True), ("doubled", "then", "other", True),
        ("then", "at one place", "other", True),
        ("16", "16", "none", True),
        ("laid front", "laid front", "same", True), ("laid front", "laid back", "mirror", True),
        # a sheet is the same however far it slants, and however its rings are cut into units
        ("sheet", "slanting", "none", True), ("sheet", "far slanting", "none", True),
        ("sheet", "two a unit", "none", True), ("slanting", "two a unit", "none", True),
        ("sheet", "upright", "none", True), ("upright", "upright, two a unit", "none", True),
    ],
)  # fmt: skip
def test_the_same_links(one: str, other: str, lay: str, moves: bool) -> None:
    for pair in ((one, other), (other, one)):
        assert compare(*map(named, pair)) == Likeness(True, lay, moves)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("one", "other", "why"),
    [
        ("plain", "rosette", "one of them repeats and the other does not"),
        ("plain", "sheet", "one is worked in rows and the other is not"),
        ("sheet", "bare", "one is worked in rows and the other is not"),
        ("plain", "bare", "one of them places no ring in its unit"),
        ("bare", "bare", "one of them places no ring in its unit"),
        ("rosette", "rosette of four", ""),
        ("plain", "doubled", ""), ("front", "doubled", ""),
        # rings are compared in cycles of at most 240: 15 × 16, and not 15 × 17
        ("15", "16", ""), ("15", "17", "their cycles are too long to be compared"),
    ],
)  # fmt: skip
def test_not_the_same_links(one: str, other: str, why: str) -> None:
    for pair in ((one, other), (other, one)):
        assert compare(*map(named, pair)) == Likeness(False, "none", True, why)


def test_a_comparison_in_words() -> None:
    told = {
        Likeness(True, "none", True): "the same links",
        Likeness(True, "same", True): "the same links, laid the same way",
        Likeness(True, "mirror", True): "the same links, laid as mirror images of one another",
        Likeness(True, "other", False): "the same links, but laid otherwise; the folds differ, so"
        " it need not be the same weave",
        Likeness(False, "none", True): "not the same links",
        Likeness(False, "none", False, "because"): "not the same links: because",
    }
    assert {found: likeness_words(found) for found in told} == told
