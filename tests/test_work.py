"""What comes of carrying out: rings that an item names, rings that lie together, moved copies."""

from __future__ import annotations

import pytest
import small_recipes
from helpers import PERSIAN_LINKED, view
from small_recipes import RINGS
from test_joining import LADDER

from ringstep.weave.piece import Weave
from ringstep.weave.together import groups_of
from ringstep.weave.work import Ring, Work, ring_name, role_indexes

END = "/piece:/chain 4 units"


def weave(body: str) -> Weave:
    made = small_recipes.weave(body, RINGS + "parts:\n  bar  brass\n")
    assert not made.snags
    return made


def name(ring: Ring) -> str:
    return f"{ring.role}{ring.index} {ring.row}.{ring.unit}"


def named(body: str, number: int, place: tuple[int, int]) -> dict[str, list[str]]:
    """The rings that each item of a step names, at one place."""
    work = weave(body).work
    act = next(a for a in work.acts if a.step.number == number and (a.row, a.unit) == place)
    listed = (*act.step.through, *act.step.around, *act.step.inside, *act.step.refs)
    return {str(ref): [name(r) for r in act.named_by(ref, work.layout)] for ref in listed}


STRANDS = "start:/close A/unit:/add A through prev A/add 2 B through A/finish:/add F through every"
STRANDS += " l A, every r B, last l B1/piece:/strands l 2 units, r 3 units"


@pytest.mark.parametrize(
    ("body", "number", "place", "told"),
    [
        ("start:/close 2 A/unit:/add 2 A through prev A1, prev A2 around prev A" + END, 2, (1, 3),
         {"prev A1": ["A1 1.2"], "prev A2": ["A2 1.2"], "prev A": ["A1 1.2", "A2 1.2"]}),
        ("start:/close 2 A/unit:/add 2 A through prev A, prev prev A if there/fold back A1" + END,
         2, (1, 1), {"prev A": ["A1 1.0", "A2 1.0"], "prev prev A if there": []}),
        ("start:/close 2 A/unit:/add 2 A through prev A/fold back A2, prev A" + END, 3, (1, 2),
         {"A2": ["A2 1.2"], "prev A": ["A1 1.1", "A2 1.1"]}),
        ("start:/close A/unit:/add A through prev A/finish:/add F through every A" + END, 3, (1, 5),
         {"every A": [f"A1 1.{n}" for n in range(5)]}),
        (STRANDS, 4, (1, 6),
         {"every l A": ["A1 1.1", "A1 1.2"],
          "every r B": [f"B{i} 1.{n}" for n in (3, 4, 5) for i in (1, 2)],
          "last l B1": ["B1 1.2"]}),
        (STRANDS.replace("last l B1", "every l B"), 4, (1, 6),
         {"every l A": ["A1 1.1", "A1 1.2"], "every l B": ["B1 1.1", "B2 1.1", "B1 1.2", "B2 1.2"],
          "every r B": [f"B{i} 1.{n}" for n in (3, 4, 5) for i in (1, 2)]}),
        # a bar that the whole first row hangs from lies in none of its places
        ("first row:/add A through bar/row:/add A through above A/piece:/sheet 2 rows of 3 units",
         1, (1, 3), {"bar": ["bar1 1.0"]}),
        ("start:/close C/unit:/add A through prev C if there, bar/close C" + END, 2, (1, 2),
         {"prev C if there": ["C1 1.1"], "bar": ["bar1 1.2"]}),
    ],
)  # fmt: skip
def test_rings_that_an_item_names(
    body: str, number: int, place: tuple[int, int], told: dict[str, list[str]]
) -> None:
    assert named(body, number, place) == told


def test_steps_whose_rings_go_through_one_another() -> None:
    """Each goes through all before it of its own place, and through the one named besides."""
    work = weave("start:/close A/unit:/add 4 P through one another, prev A/close A" + END).work
    acts = [a for a in work.acts if a.step.number == 2 and a.unit == 2]
    other, prev = acts[0].step.through
    assert [[name(r) for r in a.named_by(other, work.layout)] for a in acts] == [
        [], ["P1 1.2"], ["P1 1.2", "P2 1.2"], ["P1 1.2", "P2 1.2", "P3 1.2"]
    ]  # fmt: skip
    assert [[name(r) for r in a.named_by(prev, work.layout)] for a in acts] == [["A1 1.1"]] * 4
    assert [(a.last, a.picks, [name(r) for r in a.new]) for a in acts] == [
        (False, 1, ["P1 1.2"]), (False, 2, ["P2 1.2"]), (False, 3, ["P3 1.2"]),
        (True, 4, ["P4 1.2"]),
    ]  # fmt: skip


def test_steps_that_gather_rings_of_the_piece() -> None:
    """Of thirty units five are worked out, and one of these stands for 26."""
    body = "start:/close A/unit:/add A through prev A/finish:/add F through every A/add G through"
    work = weave(f"{body} last A, F/piece:/chain 30 units").work
    every, last = work.acts[-2:]
    assert (every.picks, last.picks, every.gathers_all, last.gathers_all) == (31, 2, True, False)
    assert dict(every.every) == {Ring("A", 1, 1, n): 26 if n == 3 else 1 for n in range(6)}
    strands = weave(STRANDS).work.acts[-1]
    assert (strands.picks, strands.gathers_all) == (2 + 6 + 1, False)


@pytest.mark.parametrize(
    ("body", "opens"),
    [
        ("unit:/close A" + END, [False]), ("start:/close A/unit:/add A through prev A" + END,
                                           [False, True]),
        # of a rosette the first is placed closed, but where it goes through a ring
        ("unit:/add 3 P through one another" + END, [False, True, True]),
        ("start:/close A/unit:/add 3 P through one another, prev A/close A" + END,
         [False, True, True, True, False]),
    ],
)  # fmt: skip
def test_which_rings_are_placed_open(body: str, opens: list[bool]) -> None:
    acts = [a for a in weave(body).work.acts if a.unit <= 1]
    assert [a.opens for a in acts][: len(opens)] == opens


def test_links_as_they_are_after_each_act() -> None:
    """A, B through A, C through B; B is taken out, so A and C lose a link each."""
    work = weave("start:/close A/unit:/add B through prev A if there/add C through B/take out B"
                 "/close A/piece:/chain 1 units").work  # fmt: skip
    a, b, c = Ring("A", 1, 1, 0), Ring("B", 1, 1, 1), Ring("C", 1, 1, 1)
    assert [work.made_by(a, n) for n in range(5)] == [[], [(b, 1)], [(b, 1)], [], []]
    assert [work.made_by(b, n) for n in range(5)] == [
        [], [(a, 1)], [(a, 1), (c, 2)], [], []
    ]  # fmt: skip
    assert [work.made_by(c, n) for n in range(5)] == [[], [], [(b, 2)], [], []]
    assert set(work.removed) == {(b, a, 1, 3), (b, c, 2, 3)}
    assert b not in work.links
    assert work.links[a] == work.links[c] == {}


def units_of(work: Work) -> dict[str, object]:
    """Everything of a piece that has a unit, as units."""
    return {
        "acts": [(a.unit, *([r.unit for r in group] for group in (a.new, a.through, a.held,
                  a.handled, *a.stops, a.every))) for a in work.acts],
        "links": {name(r): sorted(name(o) for o in others) for r, others in work.links.items()},
        "held": [(name(a), name(b)) for a, b in work.held],
        "placed": {name(r): n for r, n in work.placed_by.items()},
        "removed": [(name(a), name(b), made, undone) for a, b, made, undone in work.removed],
    }  # fmt: skip


def test_a_copy_further_on_is_the_same_piece() -> None:
    """A copy moved by nothing is itself; one moved there and back again as well."""
    work = weave("start:/close 2 A/add 2 H through A/unit:/add 2 A through prev A1 then prev A2"
                 "/close C around A/fold back A/finish:/add F through every A/take out first H"
                 "/piece:/chain 3 units").work  # fmt: skip
    moved = work.moved(7)
    assert work.moved(7) is moved
    assert units_of(work.moved(0)) == units_of(work)
    assert units_of(moved.moved(-7)) == units_of(work)
    assert {r.unit for r in moved.links} == {r.unit + 7 for r in work.links}
    assert [a.unit for a in moved.acts] == [a.unit + 7 for a in work.acts]
    every, before = (next(a.every for a in w.acts if a.every) for w in (moved, work))
    assert {r.unit: n for r, n in every.items()} == {r.unit + 7: n for r, n in before.items()}
    assert [s for a in moved.acts for s in a.stops] == [
        tuple(r._replace(unit=r.unit + 7) for r in s) for a in work.acts for s in a.stops
    ]
    assert any(a.stops for a in work.acts)
    assert work.held
    assert work.removed


def test_pieces_that_are_joined_stand_one_behind_the_other() -> None:
    """Each is worked out once and moved: six rings a rail, the second seven or more units on."""
    work = view(LADDER).weave.work
    first = {(r.role, r.unit) for r in work.links if r.row >= 0 and r.unit < 6}
    assert first == {("A", n) for n in range(6)}
    for ring, others in work.links.items():
        if ring.row >= 0:
            beside = [o.unit for o in others if o.row >= 0]
            assert all(abs(unit - ring.unit) == 1 for unit in beside)
            assert work.acts[work.placed_by[ring]].new == (ring,)
    for act in work.acts:  # the items of a copy's steps lead to rings of that copy
        assert [r for ref in act.step.through for r in act.named_by(ref, work.layout)] == list(
            act.through
        )
    acts = [n for n, a in enumerate(work.acts) if a.row < 0]
    assert acts == list(range(12, 18))
    assert all(work.acts[n].through for n in acts)


@pytest.mark.parametrize(
    ("body", "number", "groups"),
    [
        # pairs lie together; the rings of two units do not
        ("start:/close 2 A/unit:/add 2 A through prev A/close C/finish:/add F through last A, last"
         " prev A" + END, 4, [{"A1 1.4", "A2 1.4", "A1 1.3", "A2 1.3"}]),
        ("start:/close 2 A, 2 B/unit:/add 2 A through prev A/add 2 B through prev B/finish:/add F"
         " through last A, last B" + END, 4, [{"A1 1.4", "A2 1.4"}, {"B1 1.4", "B2 1.4"}]),
        # linked, folded in one act, hung on the same rings
        ("start:/close A/unit:/add A through prev A/add B through A/finish:/add F through last A,"
         " last B, last prev prev B" + END, 4, [{"A1 1.4", "B1 1.4"}, {"B1 1.2"}]),
        ("start:/close A/unit:/add A through prev A/add B through A/add C through B, prev A/finish:"
         "/fold back last B, last prev prev B/add F through last B, last prev prev B" + END, 6,
         [{"B1 1.4", "B1 1.2"}]),
        ("start:/close A/unit:/add A through prev A/add B through A/fold back B/finish:/add F"
         " through last B, last prev prev B" + END, 5, [{"B1 1.4"}, {"B1 1.2"}]),
        ("start:/close A/unit:/add A through prev A/add B through A, prev A/add C through A, prev A"
         "/finish:/add F through last B, last C" + END, 5, [{"B1 1.4", "C1 1.4"}]),
        ("start:/close A/unit:/add A through prev A/add B through A/add C through prev A/finish:"
         "/add F through last C, last B" + END, 5, [{"C1 1.4"}, {"B1 1.4"}]),
        # a ring that joins two groups makes one of them
        ("start:/close A/unit:/add A through prev A/finish:/add F through last A, last prev prev A,"
         " last prev A" + END, 3, [{"A1 1.4", "A1 1.3", "A1 1.2"}]),
        # what lies loose slides along by itself
        ("start:/close A/unit:/add A through prev A/finish:/close B/add F through last A, B" + END,
         4, [{"A1 1.4"}]),
    ],
)  # fmt: skip
def test_rings_that_lie_together(body: str, number: int, groups: list[set[str]]) -> None:
    work = weave(body).work
    at = next(n for n, a in enumerate(work.acts) if a.step.number == number)
    assert [set(map(name, group)) for group in groups_of(work, at)] == groups


def test_names_of_rings() -> None:
    assert ring_name(Ring("A", 1, 1, 1), (1,)) == "A"
    assert ring_name(Ring("A", 1, 1, 1), (1, 2)) == "A1"
    assert ring_name(Ring("A", 2, 1, 1), (2,)) == "A2"
    blocks = view(PERSIAN_LINKED).recipe.blocks
    assert role_indexes(blocks) == {"H": (1, 2), "M": (1, 2), "S": (1, 2)}
    assert role_indexes(blocks[1:]) == {"M": (1, 2), "S": (1, 2)}
    assert role_indexes(()) == {}
