"""How far a ring is from its promise, and where its neighbours stand, counted by hand."""

from __future__ import annotations

from collections import Counter

import pytest
from small_recipes import weave

from ringstep.language.promised import ByPlace, ByRole, CountOf, InAll, Wanted
from ringstep.weave.promises import (
    by_place,
    contradictions,
    count_words,
    held,
    held_alike,
    in_order,
    lacking,
    measured,
    off,
    places_of,
)
from ringstep.weave.work import Ring

CHAIN = "start:/close A/unit:/add A through prev A/piece:/{}"
HOOPS = "row:/close F/add K through prev F, F skip at edge/row end:/add K through last F, first F"
HOOPS += "/piece:/tube 2 rows of 4 units"


def near(body: str, role: str, place: tuple[int, int]) -> dict[tuple[str, int, int], int]:
    found = weave(body)
    ring = Ring(role, 1, *place)
    return dict(places_of(found, ring, found.work.links[ring]))


@pytest.mark.parametrize(
    ("body", "role", "place", "told"),
    # role, rows down, units on: how many
    [
        (CHAIN.format("chain 4 units"), "A", (1, 0), {("A", 0, 1): 1}),
        (CHAIN.format("chain 4 units"), "A", (1, 4), {("A", 0, -1): 1}),
        (CHAIN.format("chain 4 units").replace("A th", "2 A th"), "A", (1, 3),
         {("A", 0, -1): 2, ("A", 0, 1): 2}),
        # a loop goes round: by the ring of the finish, which is one place more, or without one
        (CHAIN.format("loop 6 units/finish:/add R through last A, first A"), "A", (1, 0),
         {("A", 0, 1): 1, ("R", 0, 0): 1}),
        (CHAIN.format("loop 5 units/finish:/add A through last A, first A"), "A", (1, 0),
         {("A", 0, 1): 1, ("A", 0, -1): 1}),
        (CHAIN.format("loop 5 units/finish:/add A through last A, first A"), "A", (1, 6),
         {("A", 0, -1): 1, ("A", 0, 1): 1}),
        (CHAIN.format("loop 5 units/finish:/reopen last A through first A"), "A", (1, 0),
         {("A", 0, 1): 1, ("A", 0, -1): 1}),
        ("unit:/add A through prev A if there/piece:/loop 5 units/finish:/reopen last A through"
         " first A", "A", (1, 1), {("A", 0, 1): 1, ("A", 0, -1): 1}),
        # so does a tube, with the ring of the row's end
        *((HOOPS, role, place, told) for role, place, told in (
            ("F", (1, 1), {("K", 0, 1): 1, ("K", 0, -1): 1}),
            ("F", (2, 4), {("K", 0, 0): 1, ("K", 0, 1): 1}),
            ("K", (1, 5), {("F", 0, -1): 1, ("F", 0, 1): 1}))),
        ("first row:/close A/row:/add A through above A, above next A/row end:/tighten A/piece:"
         "/tube 4 rows of 5 units", "A", (1, 1), {("A", 1, 0): 1, ("A", 1, -1): 1}),
        # back and forth: what is on from a ring is seen along the way of its row
        *(("first row:/close A/row:/add A through above A, above next A if there/piece:/sheet 3"
           " rows of 3 units/rows back and forth", "A", place, told) for place, told in (
               ((1, 2), {("A", 1, 1): 1, ("A", 1, 0): 1}),
               ((2, 2), {("A", -1, 0): 1, ("A", -1, 1): 1, ("A", 1, 0): 1, ("A", 1, 1): 1}),
               ((3, 2), {("A", -1, 0): 1, ("A", -1, 1): 1}))),
        # start and finish of a sheet lie along the whole row
        *(("start:/close S/first row:/add A through above S/row:/add A through above A/finish:"
           "/add F through last A/piece:/sheet 2 rows of 3 units", "A", place, told)
          for place, told in (((1, 3), {("S", -1, 0): 1, ("A", 1, 0): 1}),
                              ((2, 3), {("A", -1, 0): 1, ("F", 1, 0): 1}))),
        *((CHAIN.format("strands l 2 units, r 3 units/finish:/add F through last l A"), "A",
           (1, unit), told) for unit, told in (
               (0, {("A", 0, 1): 2}), (2, {("A", 0, -1): 1, ("F", 0, 1): 1}),
               (3, {("A", 0, -1): 1, ("A", 0, 1): 1}))),
        # six places go with three
        *(("first row:/close A/row:/add A through above A/extra place:/add A through above A"
           "/piece:/tube 2 rows of 3 units/shape:/row 2  3 more", "A", place, told)
          for place, told in (((1, 2), {("A", 1, 0): 2}), ((2, 4), {("A", -1, 0): 1}))),
    ],
)  # fmt: skip
def test_where_neighbours_stand(
    body: str, role: str, place: tuple[int, int], told: dict[tuple[str, int, int], int]
) -> None:
    assert near(body, role, place) == told


def by_role(**counts: int) -> ByRole:
    return ByRole(tuple(CountOf(n, r) for r, n in counts.items()))


def test_how_many_rings_are_too_few_or_too_many() -> None:
    found = {"A": 2, "B": 1}
    places = {("A", 0, -1): 1, ("A", 0, 0): 1, ("B", 0, 1): 1}
    at = ByPlace((CountOf(2, "A", ("prev",)), CountOf(1, "B")))
    told: list[tuple[tuple[Wanted, ...], int, dict[str, int], dict[str, int]]] = [
        ((InAll(3),), 0, {}, {}), ((InAll(5),), 2, {"": 2}, {}), ((InAll(2),), 1, {}, {"": 1}),
        ((by_role(A=2, B=1),), 0, {}, {}), ((by_role(A=3),), 2, {"A": 1}, {"B": 1}),
        ((by_role(A=1, C=2),), 4, {"C": 2}, {"A": 1, "B": 1}),
        # A of the unit before one too few, that of this unit too many; B stands elsewhere
        ((at,), 4, {"A": 1, "B": 1}, {"A": 1, "B": 1}),
        # the nearest of several choices, the first of those alike
        ((by_role(A=5), InAll(4)), 1, {"": 1}, {}), ((InAll(2), by_role(A=2)), 1, {}, {"": 1}),
    ]  # fmt: skip
    for choices, gap, missing, extra in told:
        assert off(choices, found, places) == gap
        assert lacking(choices, found, places) == (Counter(missing), Counter(extra))
    assert count_words({("A", -1, 1): 2, ("B", 0, 0): 1, ("C", 1, -2): 3}) == (
        "2 above next A, 1 B, 3 below prev prev C"
    )
    assert in_order({("A", 0, 0): 1, ("B", 0, 0): 2}, [("C", 0, 0), ("B", 0, 0)]) == {
        ("B", 0, 0): 2, ("A", 0, 0): 1
    }  # fmt: skip


MIXED = "expect:/M meets {}/start:/close M/unit:/add 2 S through prev M/add M through S/piece:"
MIXED += "/chain 9 units"


@pytest.mark.parametrize(
    ("promise", "words"),
    [
        ("9", "4"),
        ("3 or 5", "4"),
        ("1 S", "4 S"),
        ("1 Q, 1 S", "4 S"),
        ("2 S or 9", "4 S"),
        ("1 S, 1 next S", "2 S, 2 next S"),
        ("1 next S, 1 S", "2 next S, 2 S"),
        ("3 prev S", "2 S, 2 next S"),
        ("1 S, 1 next S or 7", "2 S, 2 next S"),
    ],
)
def test_what_a_ring_meets_in_the_manner_of_its_promise(promise: str, words: str) -> None:
    found = weave(MIXED.format(promise))
    (meets,) = found.recipe.meets
    wanted = measured(found, Ring("M", 1, 1, 3), meets)
    said = str(wanted.count) if isinstance(wanted, InAll) else ", ".join(map(str, wanted.counts))
    assert said == words
    assert by_place(meets) == ("next" in promise or "prev" in promise)


PROMISED = "expect:/{}/start:/close M/unit:/add 2 S through prev M/add M through S/piece:/chain 9"
PROMISED += " units"
#: Each S meets 2 M, each M 4 S.
SIDES = [
    # who comes first is wrong: role, each ring of it, lines, whether the links keep it
    ("M meets 2 S/S meets 3 M", [("S", (3, 3), [6], False), ("M", (2,), [5], False)]),
    ("M meets 4 S/S meets 3 M", [("S", (3, 3), [6], False), ("M", (4,), [5], True)]),
    ("S meets 3 M/M meets 4 S", [("S", (3, 3), [5], False), ("M", (4,), [6], True)]),
    ("M meets 5 S/S meets 2 M", [("M", (5,), [5], False), ("S", (2, 2), [6], True)]),
    ("S meets 3 M/M meets 2 S", [("M", (2,), [6], False), ("S", (3, 3), [5], False)]),
    ("M meets 4 S/S1 meets 2 M/S2 meets 3 M",
     [("S", (2, 3), [6, 7], False), ("M", (4,), [5], True)]),
    ("M meets 4 S/all meets 3 M", [("S", (3, 3), [6], False), ("M", (4,), [5], True)]),
    ("M meets 4 S/S meets 2 M", []), ("M meets 4 S/S meets 5", []), ("M meets 4 S/S meets 3 Q", []),
    ("M meets 4 S", []), ("M meets 4 S/S1 meets 3 M", []),
]  # fmt: skip


@pytest.mark.parametrize(("promises", "told"), SIDES)
def test_promises_that_contradict_one_another(promises: str, told: list[object]) -> None:
    found = [side for pair in contradictions(weave(PROMISED.format(promises))) for side in pair]
    assert [(s.role, s.each, [p.span.line for p in s.promises], s.right) for s in found] == told
    assert all(s.links == sum(s.each) and {s.role, s.other} == {"M", "S"} for s in found)


def test_promises_of_a_second_pass_and_of_rows_in_turns() -> None:
    again = "expect:/A meets 2 B/B meets 3 A/row:/close A/again:/add B through A, next A if there"
    ((wrong, other),) = contradictions(weave(again + "/piece:/sheet 9 rows of 9 units"))
    assert (wrong.role, wrong.links, other.role, other.links) == ("B", 3, "A", 2)
    turns = "expect:/A meets 4 B/B meets 3 A/first row:/close A/row x:/add B through above A, above"
    turns += " next A if there/row y:/add A through above B, above next B if there"
    assert not list(contradictions(weave(turns + "/piece:/sheet 9 rows of 9 units")))


def test_what_lies_around_or_inside() -> None:
    found = weave("unit:/add 2 A through prev A if there/close C around A/close D inside A1"
                  "/close E around A, prev C if there/piece:/chain 4 units")  # fmt: skip

    def told(how: str, role: str) -> list[list[str] | None]:
        return [others and [f"{o.role}{o.index}.{o.unit}" for o in others]
                for ring, others in held(found, how).items() if ring.role == role]  # fmt: skip

    assert told("around", "C") == [[f"A1.{n}", f"A2.{n}"] for n in (1, 2, 3, 4)]
    assert told("inside", "C") == [[]] * 4
    assert told("inside", "D") == [[f"A1.{n}"] for n in (1, 2, 3, 4)]
    assert told("around", "D") == [[]] * 4
    # for the first of them one place is off the piece, so it does not count
    assert told("around", "E") == [None, *([f"A1.{n}", f"A2.{n}", f"C1.{n - 1}"]
                                           for n in (2, 3, 4))]  # fmt: skip
    assert held_alike(found, "C") == ["lies around 2 A"]
    assert held_alike(found, "D") == ["lies inside 1 A"]
    assert held_alike(found, "E") == ["lies around 2 A, 1 C"]
    assert held_alike(found, "A") == []
    out = weave("unit:/close 2 A/close C around A/take out A1/piece:/chain 4 units")
    assert held_alike(out, "C") == ["lies around 1 A"]
