"""Written-out units beside their siblings: which is odd, in which step, by exactly which links."""

from __future__ import annotations

import pytest
from helpers import view
from small_recipes import recipe

from ringstep.weave.siblings import UnitLink, sibling_differences

PAIR, SHORT = "add 2 A through prev A", "add 2 A through prev A1"
LINKED = "add A1 through prev A/add A2 through prev A, A1 lay {}"
FRONT, BACK = LINKED.format("front"), LINKED.format("back")
HUNG = PAIR + "/add B through A"


def units(*each: str, start: str = "start:/close 2 A/", more: str = "") -> str:
    """A chain of units written out one by one."""
    written = "/".join(f"unit {n}:/{steps}" for n, steps in enumerate(each, 1))
    return recipe(f"{start}{written}{more}/piece:/chain {len(each)} units")


def link(each: UnitLink) -> str:
    """'A1-B2<1': A1 with B2 of one unit before."""
    (role, index), (other, number), back = each
    return f"{role}{index}-{other}{number}" + (f"<{back}" if back else "")


def odd(text: str) -> list[tuple[object, ...]]:
    """Each odd unit: what differs, it and its sibling, the step of both, what links it lacks and
    has too many, how much that is; '=' where neither is in the majority."""
    seen = view(text)
    assert not seen.troubles
    return [
        (d.kind, f"{d.block} / {d.sibling}".replace("unit ", ""), d.step and d.step.number,
         d.twin and d.twin.number, " ".join(map(link, d.missing)), " ".join(map(link, d.extra)),
         d.weight, "=" if d.even else "")
        for d in sibling_differences(seen.weave.work, seen.recipe)
    ]  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        units(PAIR, PAIR, PAIR),
        # a lay left out is told as such, and the order of two places is no other way
        units(FRONT, FRONT, LINKED.format("varies")),
        units(FRONT, FRONT, FRONT.replace(" lay front", "")),
        units(*["add 2 A through prev A1 then prev A2"] * 2,
              "add 2 A through prev A2 then prev A1"),
        # rings of the start may be called otherwise
        units("add 2 A through prev H", PAIR, PAIR, start="start:/close 2 H/"),
        units("close C/add A through prev H, C", *["close C/add A through prev A, C"] * 2,
              start="start:/close H/"),
        # where the piece begins there is nothing to go through
        units("close 2 A", PAIR, PAIR, start=""),
        units(PAIR, PAIR + ", prev prev A", PAIR + ", prev prev A"),
        units(PAIR + "/spread prev A", PAIR + "/spread prev A", PAIR + "/spread prev A"),
        units("close 2 A", PAIR + "/spread prev A", PAIR + "/spread prev A", start=""),
        # what is taken out is no move of the unit
        units(PAIR, PAIR, PAIR + "/take out prev A1"),
        # by the promise every second unit is otherwise
        units(PAIR, SHORT, PAIR, SHORT, PAIR, SHORT, start="expect:/repeats every 2 units/start:"
              "/close 2 A/"),
        # what is meant to differ
        recipe(f"start:/close 2 A/unit:/{PAIR}/unit 2 also:/add B through A/piece:/chain 9 units"),
        recipe(f"start:/close 2 A/unit:/{PAIR}/unit 2 instead:/{SHORT}/piece:/chain 9 units"),
    ],
)  # fmt: skip
def test_units_that_are_alike(text: str) -> None:
    assert odd(text) == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (units(PAIR, PAIR, SHORT), [("links", "3 / 1", 4, 2, "A1-A2<1 A2-A2<1", "", 2, "")]),
        (units(SHORT, PAIR, PAIR), [("links", "1 / 3", 2, 4, "A1-A2<1 A2-A2<1", "", 2, "")]),
        (units(PAIR, PAIR, "add A1 through prev A/add A2 through prev A1"),
         [("links", "3 / 1", 5, 2, "A2-A2<1", "", 1, "")]),
        (units(PAIR, SHORT), [("links", "1 / 2", 2, 3, "", "A1-A2<1 A2-A2<1", 2, "=")]),
        (units(PAIR, PAIR, SHORT, SHORT),
         [("links", "2 / 4", 3, 5, "", "A1-A2<1 A2-A2<1", 2, "="),
          ("links", "1 / 4", 2, 5, "", "A1-A2<1 A2-A2<1", 2, "=")]),
        (units(PAIR, PAIR, PAIR + ", prev prev A"),
         [("links", "3 / 2", 4, 3, "", "A1-A1<2 A1-A2<2 A2-A1<2 A2-A2<2", 4, "")]),
        (units(PAIR, PAIR + ", prev prev A", PAIR + ", prev prev A", PAIR),
         [("links", "4 / 2", 5, 3, "A1-A1<2 A1-A2<2 A2-A1<2 A2-A2<2", "", 4, "")]),
        (units("close 2 A", PAIR, PAIR, SHORT, start=""),
         [("links", "4 / 3", 4, 3, "A1-A2<1 A2-A2<1", "", 2, "")]),
        (units(PAIR + "/reopen prev A1 through A", PAIR + "/reopen prev A1 through A", PAIR),
         [("links", "3 / 1", 6, 3, "A1-A1 A1-A2", "", 2, "")]),
        (units(*["add A1 through prev A1/add A2 through prev A2"] * 2,
               "add A1 through prev A2/add A2 through prev A1"),
         [("links", "3 / 2", 6, 4, "A1-A1<1 A2-A2<1", "A1-A2<1 A2-A1<1", 4, "")]),
        # by the promise units 2, 4 and 6 are alike
        (units(PAIR, SHORT, PAIR, SHORT, PAIR, PAIR, start="expect:/repeats every 2 units/start:"
               "/close 2 A/"), [("links", "6 / 4", 7, 5, "", "A1-A2<1 A2-A2<1", 2, "")]),
        # into a start of other names or of fewer rings: as many links as there are to be had
        *((units(f"add 2 A through prev {h}", PAIR, PAIR, start=f"start:/close {n}H/"),
           [("links", "1 / 3", 2, 4, "A1-A1<1 A1-A2<1 A2-A1<1 A2-A2<1", "A1-H1<1 A2-H1<1", 6, "")])
          for h, n in (("H1", "2 "), ("H", ""))),
    ],
)  # fmt: skip
def test_links_that_differ(text: str, told: list[tuple[object, ...]]) -> None:
    assert odd(text) == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (units(PAIR, PAIR, HUNG), [("rings", "3 / 1", 5, None, "", "B1-A1 B1-A2", 2, "")]),
        (units(HUNG, HUNG, PAIR), [("rings", "3 / 1", None, 3, "B1-A1 B1-A2", "", 2, "")]),
        (units(HUNG, HUNG, PAIR + "/add C through A"),
         [("rings", "3 / 1", 7, 3, "B1-A1 B1-A2", "C1-A1 C1-A2", 4, "")]),
        # unit 2 stands in the turn of 'l', and there is one of each
        (recipe("start:/close 2 A/unit 2:/add 2 B through prev A1/unit l:/add 2 A through prev B"
                "/unit r:/add 2 B through prev A/piece:/chain 8 units/order r, l"),
         [("rings", "2 / l", 4, 3, "A1-B1<1 A1-B2<1 A2-B1<1 A2-B2<1", "", 8, "=")]),
        (units(FRONT, FRONT, BACK), [("lay", "3 / 1", 7, 3, "", "", 1, "")]),
        (units(FRONT, BACK, FRONT, BACK),
         [("lay", "3 / 4", 7, 9, "", "", 1, "="), ("lay", "1 / 4", 3, 9, "", "", 1, "=")]),
        # one that leaves the lay out is of neither way
        (units(FRONT.replace(" lay front", ""), FRONT, BACK, BACK),
         [("lay", "2 / 4", 5, 9, "", "", 1, "")]),
        # at the start it cannot be told, so unit 1 is of neither way
        (units(*["add 2 A through prev A1 then prev A2"] * 2, PAIR + " at one place"),
         [("lay", "3 / 2", 4, 3, "", "", 1, "=")]),
        (units(*["add 2 A through prev A1 then prev A2"] * 3, PAIR + " at one place"),
         [("lay", "4 / 3", 5, 4, "", "", 1, "")]),
        (units(*["add 2 A one to each side through prev A"] * 2, "add 2 A on the left through"
               " prev A"), [("lay", "3 / 1", 4, 2, "", "", 1, "")]),
        (units(*[PAIR + "/fold back A on the left"] * 2, PAIR + "/fold back A on the right"),
         [("lay", "3 / 1", 7, 3, "", "", 1, "")]),
        # of two folds the first goes to another side
        (units(*[PAIR + "/fold back A1 on the left/fold back A2 on the right"] * 2,
               PAIR + "/fold back A1 on the right/fold back A2 on the right"),
         [("lay", "3 / 1", 9, 3, "", "", 1, "")]),
        (units(*[PAIR + "/spread prev A"] * 2, PAIR + "/spread A"),
         [("moves", "3 / 1", 7, 3, "", "", 1, "")]),
        (units(*[PAIR + "/spread prev A"] * 2, PAIR), [("moves", "3 / 1", None, 3, "", "", 1, "")]),
        (units(PAIR, PAIR, PAIR + "/spread prev A"), [("moves", "3 / 1", 5, None, "", "", 1, "")]),
        (units(*[PAIR + "/spread prev A/hold A"] * 2, PAIR + "/hold A/spread prev A"),
         [("moves", "3 / 1", 9, 3, "", "", 1, "")]),
    ],
)  # fmt: skip
def test_rings_lays_and_moves_that_differ(text: str, told: list[tuple[object, ...]]) -> None:
    assert odd(text) == told
