"""How rings lie when the work ends, and which moves are too many, too late or forgotten, by hand.

Four units, in which B hangs on A; a move that is wrong in every unit is told once, of all rings.
"""

from __future__ import annotations

import pytest
from helpers import view
from small_recipes import recipe

from ringstep.weave.lie import Lying, follow
from ringstep.weave.work import Ring

UNITS = "start:/{}/unit:/{}/piece:/chain 4 units"
BEGUN = "close A/add B through A/fold back B/spread A"
UNIT = "add A through prev B/add B through A/fold back B/spread A"
HUNG = "add B through prev A/add A through prev A"
PAIR = "add 2 B {} through prev A/add A through prev A/fold back B {}/spread prev A"


def lying(start: str, unit: str = "") -> Lying:
    seen = view(recipe(UNITS.format(start, unit) if unit else start))
    assert not seen.troubles
    assert not seen.weave.snags
    return follow(seen.weave)


def name(ring: Ring) -> str:
    return f"{ring.role}{ring.index if ring.index > 1 else ''}{ring.unit}"


def slips(found: Lying) -> list[str]:
    """'fold back forgotten, 3 at 1 in start: B0' and the like: kind, step, unit, section, rings."""
    return [
        f"{s.move + ' ' if s.move else ''}{s.kind}, {s.act.step.number} at {s.act.unit}"
        f"{f' in {s.where}' if s.where else ''}: {' '.join(map(name, s.rings))}"
        for s in found.slips
    ]


@pytest.mark.parametrize(
    ("start", "unit", "bound", "unbound"),
    # steps and units
    [
        ("close A", "add A through prev A/tie A", [(3, n) for n in (1, 2, 3, 4)], []),
        ("close A", "add A through prev A/tie A/untie prev A", [(3, 4)], [(4, 1)]),
        ("close A", "add A through prev A/hold A/let go A", [], []),
        ("close A", "add A through prev A/hold A/untie A", [(3, n) for n in (1, 2, 3, 4)],
         [(4, n) for n in (1, 2, 3, 4)]),
        ("close A", "add A through prev A/let go prev A", [], [(3, n) for n in (1, 2, 3, 4)]),
        ("close A/tie A", "add A through prev A/untie prev A/tie A", [(5, 4)], []),
        ("close A/hold A", "add A through prev A/take out prev A", [], []),
        ("close A/tie A", "add A through prev A/take out prev A", [], []),
        ("close A/hold A/tie A", "add A through prev A", [(2, 0), (3, 0)], []),
        # of two rings that are tied at once one may be untied, and the other is not
        ("close A", "add A through prev A/tie prev A, A/untie A", [(3, n) for n in (1, 2, 3, 4)],
         []),
        # what is done again holds from then on
        ("close A/tie A", "add A through prev A/tie prev A/tie A",
         [(4, 1), (4, 2), (4, 3), (4, 4), (5, 4)], []),
        # one of the rings named is tied, and that will do
        ("close A", "add A through prev A/untie A, prev A/tie A", [(4, 4)], [(3, 1)]),
    ],
)  # fmt: skip
def test_ties_and_holds(
    start: str, unit: str, bound: list[tuple[int, int]], unbound: list[tuple[int, int]]
) -> None:
    found = lying(start, unit)
    assert [(a.step.number, a.unit) for a in found.bound] == bound
    assert [(a.step.number, a.unit) for a in found.unbound] == unbound
    assert found.slips == ()


@pytest.mark.parametrize(
    ("start", "unit", "ways", "told"),
    [
        (BEGUN, UNIT, "B0 locked, B1 locked, B2 locked, B3 locked, B4 shown", []),
        ("close A", f"{HUNG}/fold back B/spread prev A", "B1 shown, B2 shown, B3 shown, B4 shown",
         []),
        ("close A", f"{HUNG}/fold back B", "B1 folded, B2 folded, B3 folded, B4 folded", []),
        ("close A", f"{HUNG}/fold back B/fold back B/spread prev A",
         "B1 shown, B2 shown, B3 shown, B4 shown", ["folded already, 5 at 1: B1 B2 B3 B4"]),
        ("close A", f"{HUNG}/spread prev A/fold back B",
         "B1 folded, B2 folded, B3 folded, B4 folded", ["shows nothing, 4 at 1: B1 B2 B3 B4"]),
        # start and unit: a move made in one and forgotten in the other
        ("close A/add B through A", "add A through prev A/add B through A/fold back B/spread A",
         "B1 shown, B2 shown, B3 shown, B4 shown", ["spread forgotten, 3 at 1 in start: A0"]),
        ("close A/add B through A/fold back B", UNIT,
         "B0 locked, B1 locked, B2 locked, B3 locked, B4 shown",
         ["spread forgotten, 4 at 1 in start: B0"]),
        (BEGUN, "add A through prev B/add B through A/fold back B",
         "B0 locked, B1 locked, B2 locked, B3 locked, B4 folded",
         ["spread forgotten, 5 at 2 in unit: B1 B2 B3"]),
        ("close A/add B through A/spread A", UNIT, "B1 locked, B2 locked, B3 locked, B4 shown",
         ["shows nothing, 3 at 0: B0"]),
        (BEGUN, "add A through prev B/add B through A/spread A", "B0 locked",
         ["shows nothing, 7 at 1: B1 B2 B3 B4"]),
        (BEGUN, "spread prev A/add A through prev B/add B through A/fold back B",
         "B0 locked, B1 locked, B2 locked, B3 locked, B4 folded",
         ["spread already, 5 at 1: A0"]),
        # where nothing is folded a spread may be for the eye alone
        ("close A/add B through A", "add A through prev B/add B through A/spread A", "", []),
        ("close A/add B through A", "add A through prev B/add B through A/spread A/spread A", "",
         ["spread already, 6 at 1: A1 A2 A3 A4"]),
        *(("close A/add B through A", f"add A through prev B/add B through A/spread A/{more}/spread"
           " A", "", told) for more, told in (
               ("tighten A", []), ("tighten", []), ("tighten B", ["spread already, 7 at 1: A1 A2"
                                                                  " A3 A4"]))),
        # both moves are forgotten in the start: each is told of its own rings
        ("close A/add B through A", "add C through prev B, prev A/add A through C/add B through A"
         "/fold back B/spread A", "B1 locked, B2 locked, B3 locked, B4 shown",
         ["fold back forgotten, 3 at 1 in start: B0", "spread forgotten, 3 at 1 in start: A0"]),
        # to which side
        ("close A", PAIR.format("one to each side", "one to each side"), "", []),
        ("close A", PAIR.format("on the left", "on the left"), "", []),
        ("close A", PAIR.format("", "on the left"), "", []),
        ("close A", PAIR.format("on the left", "one to each side"), "",
         ["other side, 4 at 1: B1 B21 B2 B22 B3 B23 B4 B24"]),
        ("close A", PAIR.format("on the right", "on the left"), "",
         ["other side, 4 at 1: B1 B21 B2 B22 B3 B23 B4 B24"]),
        ("close A", PAIR.format("one to each side", "on the right"), "",
         ["other side, 4 at 1: B1 B2 B3 B4"]),
        ("close A", PAIR.format("one to each side", "on the left"), "",
         ["other side, 4 at 1: B21 B22 B23 B24"]),
        ("close A", PAIR.replace("2 B", "B").format("on the left", "one to each side"), "", []),
    ],
)  # fmt: skip
def test_folds_and_spreads(start: str, unit: str, ways: str, told: list[str]) -> None:
    found = lying(start, unit)
    assert slips(found) == told
    if "2 B" not in unit and "on the" not in unit:
        assert ", ".join(f"{name(r)} {way}" for r, way in found.ways.items()) == ways
    else:
        assert set(found.ways.values()) == {"shown"}


def test_the_finish_may_go_through_what_is_folded() -> None:
    unit = "add A through prev B/add B through A/fold back B"
    text = UNITS.format("close A/add B through A/fold back B", unit)
    found = lying(text + "/finish:/add C through last B")
    assert slips(found) == ["not shown, 4 at 1: B0 B1 B2 B3"]
    assert {name(r): way for r, way in found.ways.items()}["B4"] == "locked"
    assert {name(r): [name(o) for o in on] for r, on in found.hangs_on.items()} == {
        "B0": ["A0"], "A1": ["B0"], "B1": ["A1"], "A2": ["B1"], "B2": ["A2"], "A3": ["B2"],
        "B3": ["A3"], "A4": ["B3"], "B4": ["A4"], "C5": ["B4"],
    }  # fmt: skip


@pytest.mark.parametrize(("spread", "told"), [("/spread A", []), ("", ["B0"])])
def test_every_strand_finds_the_start_as_it_was_left(spread: str, told: list[str]) -> None:
    start = f"close A/add B through A/fold back B{spread}"
    found = lying(f"start:/{start}/unit:/{UNIT}/piece:/strands l 3 units, r 3 units")
    assert [name(r) for s in found.slips for r in s.rings] == told
    assert {name(r): way for r, way in found.ways.items()} == {
        "B0": "locked", "B1": "locked", "B2": "locked", "B3": "shown", "B4": "locked",
        "B5": "locked", "B6": "shown",
    }  # fmt: skip


def test_units_written_out_are_one_after_the_other() -> None:
    odd = UNIT.replace("/fold back B", "")
    units = f"unit 1:/{UNIT}/unit 2:/{odd}/unit 3:/{UNIT}"
    found = lying(f"start:/{BEGUN}/{units}/piece:/chain 3 units")
    assert slips(found) == ["shows nothing, 11 at 2: B2"]
    assert {name(r): way for r, way in found.ways.items()} == {
        "B0": "locked", "B1": "locked", "B3": "shown"
    }  # fmt: skip


def test_the_same_slip_in_units_written_out_is_told_once() -> None:
    twice = UNIT.replace("fold back B", "fold back B/fold back B")
    units = f"unit 1:/{twice}/unit 2:/{twice}/unit 3:/{twice}"
    assert slips(lying(f"start:/{BEGUN}/{units}/piece:/chain 3 units")) == [
        "folded already, 8 at 1: B1 B2 B3"
    ]
    turns = f"unit x:/{twice}/unit y:/{twice}"
    assert slips(lying(f"start:/{BEGUN}/{turns}/piece:/chain 4 units/order x, y")) == [
        "folded already, 8 at 1: B1 B3", "folded already, 13 at 2: B2 B4"
    ]  # fmt: skip


def test_where_nothing_moves_every_ring_hangs() -> None:
    found = lying("close A", "add A through prev A")
    assert (found.ways, found.hangs_on, found.bound, found.unbound, found.slips) == (
        {}, {}, (), (), ()
    )  # fmt: skip
