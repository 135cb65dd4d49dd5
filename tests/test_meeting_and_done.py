"""What each ring would meet by its pattern, which are finished, and which links are owed, by hand.

A ring that would stand off the piece is '-'; a finished ring has a star.
"""

from __future__ import annotations

import pytest
from helpers import view
from small_recipes import RINGS, recipe

from ringstep.weave.piece import Weave
from ringstep.weave.work import Ring

BEGUN = "start:/close A/"
TURNS = BEGUN + "unit a:/add A through prev A/unit b:/add A through prev A/add B through A/piece:/"
PLAIN = BEGUN + "unit:/add A through prev A"
CLOSED = "row:/close A/add B through prev A, A skip at edge/row end:/add B through last A{}/piece:/"
HUNG = "add A through prev A/add B through A"


def told(body: str, role: str = "") -> tuple[dict[str, str], list[str]]:
    """What each ring would meet ('?' where no pattern tells), and the links that are owed."""
    seen = view(recipe(body, RINGS + "parts:\n  bar  brass\n"))
    assert not seen.troubles
    weave = Weave(seen.recipe, seen.chosen, True)
    assert not weave.snags
    flat, finished = weave.layout.flat, set(weave.finished)

    def name(ring: Ring | None) -> str:
        if ring is None:
            return "-"
        number = f"{ring.index}:" if ring.index > 1 else ""
        return f"{ring.role}{number}{f'{ring.row}.' if flat else ''}{ring.unit}"

    found = {}
    for ring in weave.work.links:
        meets = weave.meeting.would_meet(ring)
        words = "?" if meets is None else " ".join(sorted(map(name, meets)))
        if role in ("", ring.role):
            found[name(ring)] = words + " *" * (ring in finished)
    owed = [f"{name(o.ring)} {name(o.other)}, {o.act.step.number}" for o in weave.owed]
    return found, owed


CHAINS: list[tuple[str, list[str], list[str]]] = [
    # runs: each by its own pattern, and a run of one by none
    (TURNS + "chain of 3 a, b, 3 a",
     ["A0: - A1", "A1: A0 A2 *", "A2: A1 A3 *", "A3: A2 A4 *", "A4: ? *", "B4: ? *", "A5: A4 A6 *",
      "A6: A5 A7 *", "A7: - A6"], []),
    (TURNS + "chain of 2 a, 2 b, a",
     ["A0: - A1", "A1: A0 A2 *", "A2: A1 A3 *", "A3: A2 A4 B3 *", "B3: A3 *", "A4: A3 A5 B4 *",
      "B4: A4 *", "A5: ?"], []),
    (TURNS + "chain of b, 3 a",
     ["A0: ?", "A1: ? *", "B1: ? *", "A2: A1 A3 *", "A3: A2 A4 *", "A4: - A3"], []),
    # a unit that has steps besides follows its siblings, one that is meant to differ does not
    (PLAIN + "/unit 2 also:/add B through A/piece:/chain 4 units",
     ["A0: - A1", "A1: A0 A2 *", "A2: A1 A3", "B2: ? *", "A3: A2 A4 *", "A4: - A3"], []),
    (PLAIN + "/unit 2 instead:/add A through prev A/add B through A/piece:/chain 5 units",
     ["A0: - A1", "A1: A0 A2 *", "A2: ?", "B2: ? *", "A3: A2 A4 *", "A4: A3 A5 *", "A5: - A4"], []),
    (PLAIN + "/unit 1:/add A through prev A/piece:/chain 4 units",
     ["A0: - A1", "A1: A0 A2 *", "A2: A1 A3 *", "A3: A2 A4 *", "A4: - A3"], []),
    (PLAIN + "/unit 4:/add A through prev A/finish:/add A through last A/add F through A/piece:"
     "/chain 4 units",
     ["A0: - A1", "A1: A0 A2 *", "A2: A1 A3 *", "A3: A2 A4 *", "A4: A3 A5 *", "A5: - A4",
      "F5: ? *"], []),
    # the finish owes the second link of a ring that stands for one of the unit
    (PLAIN + ", prev prev A if there/finish:/add A through last A/piece:/chain 4 units",
     ["A0: - - A1 A2", "A1: - A0 A2 A3", "A2: A0 A1 A3 A4 *", "A3: A1 A2 A4 A5 *",
      "A4: - A2 A3 A5", "A5: - - A3 A4"], ["A5 A3, 3"]),
    # written out: what most of a name meet
    (BEGUN + "unit 1:/add A through prev A/unit 2:/add A through prev A/unit 3:/add A through prev"
     " A/add B through A/piece:/chain 3 units",
     ["A0: - A1", "A1: A0 A2 *", "A2: A1 A3 *", "A3: - A2", "B3: ?"], []),
    (BEGUN + f"unit 1:/{HUNG}/unit 2:/{HUNG}/unit 3:/{HUNG}/finish:/add A through last A/piece:"
     "/chain 3 units",
     ["A0: - - A1", "A1: A0 A2 B1 *", "B1: A1 *", "A2: A1 A3 B2 *", "B2: A2 *", "A3: A2 A4 B3 *",
      "B3: A3 *", "A4: - - A3"], []),
    (BEGUN + f"unit 1:/add A through prev A/unit 2:/{HUNG}/unit 3:/add A through prev A/piece:"
     "/chain 3 units", ["A0: ?", "A1: ? *", "A2: ? *", "B2: A2 *", "A3: ?"], []),
    ("start:/close C/unit 1:/add A through prev C/add C through A/unit 2:/add A through prev C/add"
     " C through A/unit 3:/add A through prev C/finish:/add F through last A/piece:/chain 3 units",
     ["C0: - A1", "A1: C0 C1 *", "C1: A1 A2 *", "A2: C1 C2 *", "C2: A2 A3 *", "A3: - C2",
      "F4: ? *"], []),
    # loops: by a ring of the finish that is one of the unit, by none, by one of another name
    (PLAIN + "/piece:/loop 4 units/finish:/add A through last A, first A",
     ["A0: A1 A5 *", "A1: A0 A2 *", "A2: A1 A3 *", "A3: A2 A4 *", "A4: A3 A5 *", "A5: A0 A4 *"],
     []),
    (PLAIN + "/piece:/loop 4 units/finish:/add A through last A",
     ["A0: A1 A5 *", "A1: A0 A2 *", "A2: A1 A3 *", "A3: A2 A4 *", "A4: A3 A5 *", "A5: A0 A4 *"],
     ["A5 A0, 3"]),
    (PLAIN + "/piece:/loop 4 units/finish:/add R through last A, first A",
     ["A0: - A1 *", "A1: A0 A2 *", "A2: A1 A3 *", "A3: A2 A4 *", "A4: - A3 *", "R5: ? *"], []),
    (PLAIN + ", prev prev A if there/piece:/loop 4 units/finish:/add A through last A, last prev A,"
     " first A",
     ["A0: A1 A2 A4 A5 *", "A1: A0 A2 A3 A5 *", "A2: A0 A1 A3 A4 *", "A3: A1 A2 A4 A5 *",
      "A4: A0 A2 A3 A5 *", "A5: A0 A1 A3 A4 *"], ["A4 A0, 2", "A5 A1, 3"]),
    # strands: the start stands before each, the finish behind the only one that places its like
    (PLAIN + "/piece:/strands l 1 units, r 2 units",
     ["A0: - A2", "A1: ?", "A2: A0 A3 *", "A3: - A2"], []),
    (PLAIN + "/piece:/strands l 3 units, r 2 units/finish:/add A through last l A",
     ["A0: - - A1 A4", "A1: A0 A2 *", "A2: A1 A3 *", "A3: - A2", "A4: A0 A5 *", "A5: - A4",
      "A6: ?"], []),
    (BEGUN + "unit l:/add A through prev A/add L through prev A, A/unit:/add A through prev A"
     "/finish:/add L through last l A/piece:/strands l 3 units, r 2 units",
     ["A0: - - - A1 A4 L1", "A1: A0 A2 L1 L2 *", "L1: A0 A1 *", "A2: A1 A3 L2 L3 *", "L2: A1 A2 *",
      "A3: - A2 L3 L6", "L3: A2 A3 *", "A4: A0 A5 *", "A5: - A4", "L6: - A3"], []),
    # a ring of the start that serves several strands keeps no promise of one
    ("start:/close A/add K through A/unit:/add A through prev K/add K through A/piece:/strands l 2"
     " units, r 2 units",
     ["A0: - - K0 K0", "K0: A0 A0 A1 A3", "A1: K0 K1 *", "K1: A1 A2 *", "A2: K1 K2 *", "K2: - A2",
      "A3: K0 K3 *", "K3: A3 A4 *", "A4: K3 K4 *", "K4: - A4"], []),
    # no second pass is worked at the start, so A1 may lack a ring of it
    *((BEGUN + "unit 1:/add A through prev A/unit 2:/add A through prev A/add 2 C through A/unit 3:"
       f"/add A through prev A/add D through A/unit 4:/{HUNG}/again:/add G through A{more}/piece:"
       "/chain 4 units",
       ["A0: ?", f"A1: ?{begun}", "A2: ? *", "C2: A2 *", "C2:2: A2 *", "A3: ? *", "D3: A3 *",
        "A4: ?", "B4: ?", *each], [])
      for more, begun, each in (
          (", next A if there", "", ["G1: A1 A2 *", "G2: A2 A3 *", "G3: A3 A4 *", "G4: - A4"]),
          ("", " *", ["G1: A1 *", "G2: A2 *", "G3: A3 *", "G4: A4 *"]))),
]  # fmt: skip
SHEETS: list[tuple[str, list[str], list[str]]] = [
    ("first row:/close A/row:/add A through above A/last row:/add A through above A/piece:"
     "/sheet 5 rows of 1 units",
     ["A1.1: - A2.1", "A2.1: A1.1 A3.1 *", "A3.1: A2.1 A4.1 *", "A4.1: A3.1 A5.1 *",
      "A5.1: - A4.1"], []),
    ("first row:/close A/row x:/add A through above A/row y:/add A through above A/add B through A"
     "/piece:/sheet 5 rows of 1 units/order x, y",
     ["A1.1: - - A2.1", "A2.1: A1.1 A3.1 *", "A3.1: A2.1 A4.1 B3.1 *", "B3.1: A3.1 *",
      "A4.1: A3.1 A5.1 *", "A5.1: - A4.1 B5.1", "B5.1: A5.1 *"], []),
    ("start:/close S/first row:/add A through above S/row:/add A through above A/finish:/add F"
     " through last A/piece:/sheet 3 rows of 1 units",
     ["S0.0: ? *", "A1.1: - A2.1", "A2.1: A1.1 A3.1 *", "A3.1: - A2.1", "F4.0: ? *"], []),
    (CLOSED.format("").replace("B through last", "E through last") + "sheet 1 rows of 3 units",
     ["A1.1: - B1.2", "A1.2: B1.2 B1.3 *", "B1.2: A1.1 A1.2 *", "A1.3: - B1.3", "B1.3: A1.2 A1.3 *",
      "E1.4: ? *"], []),
    (CLOSED.format(", first A") + "tube 2 rows of 3 units",
     [f"{each} *" if at != 1 else each for row in (1, 2) for at, each in enumerate((
         f"A{row}.1: - B{row}.2", f"A{row}.2: B{row}.2 B{row}.3", f"B{row}.2: A{row}.1 A{row}.2",
         f"A{row}.3: B{row}.3 B{row}.4", f"B{row}.3: A{row}.2 A{row}.3",
         f"B{row}.4: A{row}.1 A{row}.3"), 1)], []),
    (CLOSED.format("") + "tube 1 rows of 3 units",
     ["A1.1: - B1.2", "A1.2: B1.2 B1.3 *", "B1.2: A1.1 A1.2 *", "A1.3: B1.3 B1.4 *",
      "B1.3: A1.2 A1.3 *", "B1.4: A1.1 A1.3 *"], ["B1.4 A1.1, 3"]),
    ("first row:/close A/row:/add A through above A, above next A/piece:/tube 3 rows of 3 units",
     ["A1.1: - - A2.1 A2.3", "A1.2: - - A2.1 A2.2", "A1.3: - - A2.2 A2.3",
      "A2.1: A1.1 A1.2 A3.1 A3.3 *", "A2.2: A1.2 A1.3 A3.1 A3.2 *", "A2.3: A1.1 A1.3 A3.2 A3.3 *",
      "A3.1: - - A2.1 A2.2", "A3.2: - - A2.2 A2.3", "A3.3: - - A2.1 A2.3"], []),
    # rounds that grow have no pattern but where those beside them are as wide
    ("start:/close M/first row:/add A through above M/row:/add A through above A, above next A"
     "/extra place:/add A through above A/piece:/tube 4 rows of 2 units/shape:/row 2  1 more",
     ["M0.0: ? *", "A1.1: ?", "A1.2: ?", "A2.1: ? *", "A2.2: ? *", "A2.3: ? *",
      "A3.1: A2.1 A2.2 A4.1 A4.3 *", "A3.2: A2.2 A2.3 A4.1 A4.2 *", "A3.3: A2.1 A2.3 A4.2 A4.3 *",
      "A4.1: - - A3.1 A3.2", "A4.2: - - A3.2 A3.3", "A4.3: - - A3.1 A3.3"], []),
]  # fmt: skip

#: Rings that are finished though no pattern tells of them, or are not for what hangs on them.
OTHERS: list[tuple[str, list[str], list[str]]] = [
    # a bar stands for its row; what the finish takes up besides is another
    ("first row:/add A through bar/row:/add A through above A/finish:/add F through bar, last A"
     "/piece:/sheet 3 rows of 1 units",
     ["bar1.0: ? *", "A1.1: - A2.1", "A2.1: A1.1 A3.1 *", "A3.1: - A2.1", "bar3.2: ? *",
      "F4.0: ? *"], []),
    ("first row:/add A through bar/row:/add A through above A, bar/piece:/sheet 3 rows of 1 units",
     ["bar1.0: - *", "A1.1: - - A2.1", "bar2.1: A2.1 *", "A2.1: A1.1 A3.1 bar2.1 *",
      "bar3.1: A3.1 *", "A3.1: - A2.1 bar3.1"], []),
    # a unit written out of which something is left out is not finished
    ("unit 1:/add A through prev A if there/unit 2:/add A through prev A/add 2 C through A/unit 3:"
     "/add A through prev A/add D through A/unit 4:/add A through prev A/piece:/chain 4 units",
     ["A1: ?", "A2: ? *", "C2: A2 *", "C2:2: A2 *", "A3: ? *", "D3: A3 *", "A4: ?"], []),
    # rounds: what no step goes through is finished at once, but for what it leaves out
    ("start:/close M/first row:/add A through above M/row:/add A through above A, above next A/add"
     " T through A/extra place:/add A through above A/piece:/tube 4 rows of 2 units/shape:/row 2"
     "  1 more",
     ["M0.0: ? *", "A1.1: ?", "A1.2: ?", "A2.1: ? *", "T2.1: ? *", "A2.2: ? *", "T2.2: ? *",
      "A2.3: ? *", "A3.1: A2.1 A2.2 A4.1 A4.3 T3.1 *", "T3.1: A3.1 *",
      "A3.2: A2.2 A2.3 A4.1 A4.2 T3.2 *", "T3.2: A3.2 *", "A3.3: A2.1 A2.3 A4.2 A4.3 T3.3 *",
      "T3.3: A3.3 *", "A4.1: - - A3.1 A3.2 T4.1", "T4.1: A4.1 *", "A4.2: - - A3.2 A3.3 T4.2",
      "T4.2: A4.2 *", "A4.3: - - A3.1 A3.3 T4.3", "T4.3: A4.3 *"], []),
    # a ring that closes a round stands behind the last of its own places
    *((CLOSED.format(last) + "tube 2 rows of 3 units/shape:/row 2  1 more",
       ["A1.1: - B1.2 *", "A1.2: B1.2 B1.3 *", "B1.2: A1.1 A1.2 *", "A1.3: B1.3 B1.5 *",
        "B1.3: A1.2 A1.3 *", "B1.5: A1.1 A1.3 *", "A2.1: - B2.2 *", "A2.2: B2.2 B2.3 *",
        "B2.2: A2.1 A2.2 *", "A2.3: B2.3 B2.4 *", "B2.3: A2.2 A2.3 *", "A2.4: B2.4 B2.5 *",
        "B2.4: A2.3 A2.4 *", "B2.5: A2.1 A2.4 *"], owed)
      for last, owed in ((", first A", []), ("", ["B1.5 A1.1, 3", "B2.5 A2.1, 3"]))),
    # a start that is called as the rounds are is one of them
    ("start:/close A/row:/add A through above A/add T through A, prev A skip at edge/extra place:"
     "/add A through above A/piece:/tube 3 rows of 2 units/shape:/row 3  1 more",
     ["A0.0: ?", "A1.1: - - A2.1 T1.2 *", "A1.2: - - A2.2 T1.2 *", "T1.2: A1.1 A1.2 *",
      "A2.1: ? *", "A2.2: ? *", "T2.2: ? *", "A3.1: ?", "A3.2: ?", "T3.2: ? *", "A3.3: ?"], []),
    # steps that reach two rows up: so many rounds on both sides
    ("start:/close A/row:/add A through above above A if there, above A/extra place:/add A through"
     " above A/piece:/tube 6 rows of 1 units/shape:/row 3  1 more",
     ["A0.0: ?", "A1.1: ?", "A2.1: ? *", "A3.1: ? *", "A3.2: ? *", "A4.1: ? *", "A4.2: ? *",
      "A5.1: - A3.1 A4.1 A6.1", "A5.2: - A3.2 A4.2 A6.2", "A6.1: - - A4.1 A5.1",
      "A6.2: - - A4.2 A5.2"], []),
    # what gathers the whole piece hangs on all alike; what hangs on one, or on one strand, does not
    *((PLAIN + f"/finish:/add F through {items}/piece:/chain 4 units",
       ["A0: - A1", f"A1: A0 A2{one}", "A2: A1 A3 *", "A3: A2 A4 *", "A4: - A3", "F5: ? *"], [])
      for items, one in (("every A", " *"), ("last A, first next A", ""))),
    (PLAIN + "/finish:/add F through every l A/piece:/strands l 3 units, r 2 units",
     ["A0: - - A1 A4", "A1: A0 A2", "A2: A1 A3", "A3: - A2", "A4: A0 A5 *", "A5: - A4", "F6: ? *"],
     []),
    # a strand of one unit is worked once
    (BEGUN + "unit l:/add A through prev A/unit:/add A through prev A/add B through A, prev A"
     "/piece:/strands l 3 units, r 1 units",
     ["A0: - A1", "A1: A0 A2 *", "A2: A1 A3 *", "A3: - A2", "A4: ?", "B4: ? *"], []),
]  # fmt: skip


@pytest.mark.parametrize(("body", "rings", "owed"), [*CHAINS, *SHEETS, *OTHERS])
def test_what_rings_would_meet(body: str, rings: list[str], owed: list[str]) -> None:
    found, lacks = told(body)
    assert [f"{ring}: {words}" for ring, words in found.items()] == rings
    assert lacks == owed


ROUNDS = (
    "first row:/close A/row:/add A through above A, above next A/extra place:/add A through above"
)
ROUNDS += (
    " A/row end:/add E through last A, first A/piece:/tube 3 rows of 2 units/shape:/row 2  1 more"
)


@pytest.mark.parametrize(
    ("body", "role", "row", "places"),
    # what stands at each unit, counted on beyond the last and back before the first
    [
        # rounds of two and of three; the ring that closes a round is the fourth of the widest
        (ROUNDS, "A", 1, {-1: 1, 0: 2, 1: 1, 2: 2, 3: 1, 4: 2, 5: 1}),
        (ROUNDS, "A", 2, {-1: 2, 0: 3, 1: 1, 3: 3, 4: 1, 5: 2, 6: 3, 7: 1}),
        (ROUNDS, "E", 1, {-1: 4, 0: 4, 1: None, 2: None, 3: 4, 4: 4, 5: None}),
        (ROUNDS, "E", 2, {-1: 4, 0: 4, 1: None, 3: None, 4: 4, 5: None}),
        (ROUNDS, "A", 0, {0: None, 1: None}), (ROUNDS, "A", 4, {1: None}),
        # a loop whose finish places one more of its ring, and one in which none is
        (PLAIN + "/piece:/loop 4 units/finish:/add A through last A, first A", "A", 1,
         {-2: 4, -1: 5, 0: 0, 4: 4, 5: 5, 6: 0, 7: 1}),
        ("unit:/add A through prev A if there/piece:/loop 4 units/finish:/reopen last A through"
         " first A", "A", 1, {-1: 3, 0: 4, 1: 1, 4: 4, 5: 1, 6: 2}),
        (PLAIN + "/piece:/loop 4 units/finish:/reopen last A through first A", "A", 1,
         {-1: 4, 0: 0, 4: 4, 5: 0, 6: 1}),
        (PLAIN + "/piece:/chain 4 units", "A", 1, {-1: None, 0: 0, 4: 4, 5: None}),
        # of a length that no sample counts it is not known where a loop is closed
        (PLAIN + "/piece:/loop 90 mm", "A", 1, {-1: None, 0: 0, 5: 5, 6: None}),
        ("row:/close A/piece:/sheet 2 rows of 3 units", "A", 1, {0: None, 1: 1, 4: None}),
    ],
)  # fmt: skip
def test_which_ring_stands_at_a_place(
    body: str, role: str, row: int, places: dict[int, int | None]
) -> None:
    seen = view(recipe(body))
    meeting = Weave(seen.recipe, seen.chosen, True).meeting
    found = {unit: meeting.there(role, 1, row, unit) for unit in places}
    assert {unit: ring and ring.unit for unit, ring in found.items()} == places
    assert all(ring is None or (ring.role, ring.row) == (role, row) for ring in found.values())
