"""What diagrams show, in words: each kind of step, places, and sides after a turning over."""

from __future__ import annotations

import pytest
from helpers import view
from small_recipes import recipe

from ringstep.draw.tellings import Teller, seen_side
from ringstep.weave.piece import Weave

RINGS = "rings:\n  all  wire 1.2 mm, inside 6 mm, copper\n"
TURNED = (
    "start:/close A/unit:/add A through prev A lay front/turn over/add B through A lay front/"
    "turn over/add C through A, B lay back picks 2/piece:/chain 9 units/finish:/tie last A/"
    "hold last B"
)
SIDES = (
    "start:/close 2 M/fold back M on the left/unit:/add 2 S one to each side through prev M picks 2"
    "/spread S/add 2 M through S picks 2/close H on the right around S/"
    "piece:/chain 9 units/finish:/add J through last M picks 2/take out last H/tie J/untie J/"
    "tighten last S/let go last M"
)
MANY = (
    "start:/close 7 A/unit:/add 7 A through prev A picks 7/close C around prev A, A1/"
    "close 2 D inside C/piece:/chain 9 units/finish:/reopen last C through first A1, last A6"
)
ROWS = (
    "row:/close A/add B through A, prev A picks 2 skip at edge/"
    "add D through A then above A if there/piece:/sheet 5 rows of 5 units"
)
LENGTH = "start:/close A/unit:/add A through prev A/piece:/chain 190 mm/finish:/tie last A"
STRANDS = (
    "start:/close H/unit:/add A through prev A, H/piece:/strands left 9 units, drop 90 mm/finish:/"
    "add E through last left A, last drop A picks 2"
)


def weave(body: str) -> Weave:
    seen = view(recipe(body, RINGS))
    assert not seen.troubles
    return seen.weave


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (TURNED, ["After step 1 (start): A is closed.",
                  "After step 2 (unit 1): A goes through A of the unit before, entering from the"
                  " front.",
                  "After step 3 (unit 1): the work is turned over.",
                  "After step 4 (unit 1): B goes through A, entering from the front.",
                  "After step 5 (unit 1): the work is turned over.",
                  "After step 6 (unit 1): C goes through A and B, entering from the back.",
                  "After step 7 (finish): A of the last unit is tied.",
                  "After step 8 (finish): B of the last unit is held."]),
        (SIDES, ["After step 1 (start): M1 and M2 are closed.",
                 "After step 2 (start): M1 and M2 are folded back on the left.",
                 "After step 3 (unit 1): S1 and S2 each go through M1 and M2 of the unit before and"
                 " lie one to each side.",
                 "After step 4 (unit 1): S1 and S2 are spread.",
                 "After step 5 (unit 1): M1 and M2 each go through S1 and S2.",
                 "After step 6 (unit 1): H lies around S1 and S2, is closed and lies on the right.",
                 "After step 7 (finish): J goes through M1 and M2 of the last unit.",
                 "After step 8 (finish): H of the last unit is taken out.",
                 "After step 9 (finish): J is tied.", "After step 10 (finish): J is untied.",
                 "After step 11 (finish): S1 and S2 of the last unit are tightened.",
                 "After step 12 (finish): M1 and M2 of the last unit are let go."]),
        (MANY, ["After step 1 (start): 7 A are closed.",
                "After step 2 (unit 1): 7 A each go through 7 A of the unit before.",
                "After step 3 (unit 1): C lies around 7 A of the unit before and A1 and is closed.",
                "After step 4 (unit 1): D1 and D2 lie inside C and are closed.",
                "After step 5 (finish): C of the last unit is opened again and goes through A1 of"
                " the start and A6 of the last unit."]),
    ],
)  # fmt: skip
def test_each_kind_of_step_is_told(body: str, told: list[str]) -> None:
    made = weave(body)
    acts = made.work.acts
    first = {act.step.number: act for act in reversed(acts)}
    teller = Teller(made)
    assert [teller.step(first[n], acts) for n in sorted(first)] == told


def test_a_step_of_a_row_says_what_is_left_out_and_where() -> None:
    made = weave(ROWS)
    acts, teller = made.work.acts, Teller(made)
    by_place = {(a.step.number, a.row, a.unit): teller.step(a, acts) for a in acts}
    assert by_place[2, 1, 1] == "After step 2 (row 1, unit 1): this step is left out at the edge."
    assert by_place[2, 1, 2] == (
        "After step 2 (row 1, unit 2): B goes through A and A of the unit before."
    )
    assert by_place[3, 1, 1] == "After step 3 (row 1, unit 1): D goes through A."
    assert by_place[3, 2, 1] == (
        "After step 3 (row 2, unit 1): D goes through A and further along through A of the row"
        " above."
    )


def test_a_side_is_the_other_one_after_each_turning_over() -> None:
    acts = weave(TURNED).work.acts
    unit = [act for act in acts if act.unit == 1]
    assert [seen_side("front", act, acts) for act in unit] == [
        "front", "back", "back", "front", "front",
    ]  # fmt: skip
    assert [seen_side("back", act, acts) for act in unit] == [
        "back", "front", "front", "back", "back",
    ]  # fmt: skip
    assert seen_side(None, unit[2], acts) is None


def test_units_are_counted_from_both_ends_where_their_number_is_known() -> None:
    made = weave(TURNED.replace("9 units", "30 units"))
    window, teller = made.work.layout, Teller(made)
    assert [teller.unit_words(u) for u in (-1, 0, 1, 2)] == ["start", "start", "unit 1", "unit 2"]
    assert teller.unit_words(window.units) == "unit 30"
    assert teller.unit_words(window.units - 1) == "unit 29"
    assert teller.unit_words(window.units + 1) == "finish"
    # around a place units are counted from it on, though the window leaves some out
    assert teller.unit_words(window.units, near=1) == f"unit {window.units}"
    assert teller.unit_words(1, near=window.units) == f"unit {31 - window.units}"
    assert teller.unit_words(1, near=-5) == "unit 1"


def test_the_units_of_a_length_are_counted_from_its_beginning_only() -> None:
    made = weave(LENGTH)
    window, teller = made.work.layout, Teller(made)
    half = (window.units + 1) // 2
    assert teller.unit_words(half) == f"unit {half}"
    assert teller.unit_words(half + 1) == ""
    assert teller.unit_words(window.units) == "last unit"
    assert teller.caption(window.units) == "last unit"


def test_units_of_strands_are_told_by_the_strand() -> None:
    made = weave(STRANDS)
    strands, teller = made.work.layout.strands, Teller(made)
    assert strands is not None
    drop = strands.spans["drop"]
    assert teller.unit_words(drop[0]) == "unit 1 of strand drop"
    assert teller.unit_words(drop[-1]) == "last unit of strand drop"
    assert teller.unit_words(drop[len(drop) // 2]) == ""
    assert teller.unit_words(drop[len(drop) // 2 - 1]) == f"unit {len(drop) // 2} of strand drop"
    assert teller.caption(drop[0]) == "drop 1"
    assert teller.caption(drop[-1]) == "last of drop"


def test_rows_are_counted_in_the_piece() -> None:
    made = weave(ROWS.replace("5 rows", "50 rows"))
    window, teller = made.work.layout, Teller(made)
    assert [teller.row_words(r) for r in (0, 1, 2)] == ["start", "row 1", "row 2"]
    assert teller.row_words(window.rows) == "row 50"
    assert teller.row_words(window.rows + 1) == "finish"
    assert teller.row_words(window.rows, near=1) == f"row {window.rows}"
    assert teller.unit_words(0) == teller.unit_words(window.units + 1) == ""


def test_what_a_ring_meets_is_told_the_nearest_first() -> None:
    made = weave(ROWS)
    ring = next(r for r in made.work.links if r[:4] == ("A", 1, 3, 3))
    assert Teller(made).meets(ring, made.work.links[ring]) == (
        "A meets B and D of its unit, B of the next unit and D of the row below"
    )
    assert Teller(made).meets(ring, ()) == "A meets nothing"


def test_a_window_says_what_it_leaves_out() -> None:
    chain, sheet, strands = (Teller(weave(body)) for body in (TURNED, ROWS, STRANDS))
    assert chain.window(1, 2, 0, 3) == "The links of the chain: 1 ring, 2 links."
    left = "1 unit like those shown are left out."
    assert chain.window(3, 1, 1, 0) == f"The links of the chain: 3 rings, 1 link; {left}"
    assert sheet.window(3, 3, 2, 1) == (
        "The links of the sheet: 3 rings, 3 links; 2 units and 1 row like those shown are left out."
    )
    assert strands.window(3, 3, 0, 0) == "The links of the strands: 3 rings, 3 links."
