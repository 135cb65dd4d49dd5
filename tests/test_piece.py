"""What is asked of a piece: how many rings one meets that many places hang on, which names repeat,
what is promised of a ring, by which name it is bought. Counted by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
import small_recipes
from helpers import PERSIAN_LINKED, view
from small_recipes import RINGS, recipe
from test_joined_places import PIECES
from test_joining import LADDER

from ringstep.weave.piece import Weave
from ringstep.weave.work import Ring

SHEET = (
    "start:/close S/first row:/add A through above S/row:/add A through above A, above next A if"
)
SHEET += " there/row end:/add E through every A/finish:/add F through every E, every A/piece:/sheet"
SHEET += " 9 rows of 8 units"
HUB = "start:/close H, A/unit:/add A through prev A"


def weave(body: str, rings: str = RINGS) -> Weave:
    made = small_recipes.weave(body, rings)
    assert not made.snags
    return made


@pytest.mark.parametrize(
    ("body", "after", "links"),
    # how many rings H meets after each act of the window, of which one stands for 26
    [
        (HUB + ", first H/piece:/chain 30 units", [0, 1, 2, 28, 29, 30], 60),
        (HUB + "/again:/add B through A, first H/piece:/chain 30 units",
         [0, 0, 0, 0, 0, 0, 1, 2, 28, 29, 30], 90),
        (HUB + "/finish:/add F through first H/piece:/chain 30 units", [0, 0, 0, 0, 0, 0, 1], 31),
        (HUB + "/finish:/reopen first H through every A/piece:/chain 30 units",
         [0, 0, 0, 0, 0, 0, 31], 61),
        # taken out again, it has none
        (HUB + ", first H/finish:/take out first H/piece:/chain 30 units",
         [0, 1, 2, 28, 29, 30, 0], 30),
    ],
)  # fmt: skip
def test_counts_of_a_ring_that_every_unit_hangs_on(body: str, after: list[int], links: int) -> None:
    found = weave(body)
    hub = Ring("H", 1, 1, 0)
    assert [found.met_after(hub, n) for n in range(len(found.work.acts))] == after
    if hub in found.work.links:
        assert found.met(hub).total() == after[-1]
    assert found.links == (links, 0)


def test_rings_that_gather_rows_and_the_sheet() -> None:
    """Eight a row, nine rows: 8 on the start, 15 between rows, 8 at a row's end, 9 + 72 at the
    finish."""
    found = weave(SHEET)
    rings = {(r.role, found.work.layout.row_number(r.row)): dict(found.met(r))
             for r in found.work.links if r.role in "SEF"}  # fmt: skip
    assert rings.pop(("S", 0)) == {"A": 8}
    assert rings.pop(("F", 10)) == {"E": 9, "A": 72}
    assert {r for r, _ in rings} == {"E"}
    assert all(met == {"A": 8, "F": 1} for met in rings.values())
    assert found.links == (8 + 8 * 15 + 9 * 8 + 9 + 72, 0)
    assert found.counts.total() == 72 + 9 + 1 + 1
    chain = weave("start:/close A/unit:/add A through prev A/finish:/add F through every A/piece:"
                  "/chain 30 units")  # fmt: skip
    last = Ring("F", 1, 1, chain.work.layout.units + 1)
    assert (chain.met(last), chain.links) == ({"A": 31}, (61, 0))
    ends = [chain.met(Ring("A", 1, 1, n)) for n in (0, 1, 4, 5)]
    assert [dict(met) for met in ends] == [
        {"A": 1, "F": 1}, {"A": 2, "F": 1}, {"A": 2, "F": 1}, {"A": 1, "F": 1}
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("body", "names"),
    [
        ("start:/close A/unit:/add A through prev A/add B through A/finish:/add F through last B"
         "/piece:/chain 9 units", "A1 B1"),
        # one more of a name that repeats, in the start
        ("start:/close A1, A2, A3/unit:/add A1 through prev A1/piece:/chain 4 units", "A1 A2 A3"),
        ("unit 1:/close A/unit 2:/add A through prev A/close B/piece:/chain 2 units", "A1"),
        ("start:/close C/unit 1:/add A through prev C/unit 2:/close B/piece:/chain 2 units", ""),
        # in runs of one each what comes again repeats
        *(("start:/close A/unit x:/add A through prev A/unit y:/add A through prev A/add B through"
           f" A/piece:/chain of {runs}", names) for runs, names in (
               ("x, y, x", "A1"), ("y, x, y", "A1 B1"), ("2 x, y, x", "A1"), ("x, 2 y", "A1 B1"))),
        ("row:/close A/row end:/close E/piece:/sheet 3 rows of 2 units", "A1"),
        ("row x:/close A/row y:/close B/piece:/sheet 2 rows of 2 units/order x, y", "A1 B1"),
    ],
)  # fmt: skip
def test_names_that_repeat(body: str, names: str) -> None:
    assert " ".join(sorted(f"{r}{i}" for r, i in weave(body).repeating)) == names


def test_turns_worked_once_have_no_pattern_where_they_cannot_come_again() -> None:
    """A second 'a' would look for an S in the unit before it, and there is none."""
    body = "start:/close S/unit a:/add A through prev S/unit b:/add B through prev A{}/piece:"
    once = weave(body.format("") + "/chain 2 units/order a, b")
    assert (once.patterns, once.repeat) == ({}, None)
    again = weave(body.format("/add S through B") + "/chain 2 units/order a, b")
    assert [len(repeat.classes) for repeat in again.patterns.values()] == [3]
    three = weave(body.format("/add S through B") + "/chain 3 units/order a, b")
    assert len(three.patterns) == 1


def test_which_promise_is_a_rings_own() -> None:
    body = "expect:/{}/start:/close 2 A/unit:/add 2 A through prev A/close B/piece:/chain 9 units"

    def line(promises: str, role: str, index: int) -> int | None:
        found = view(recipe(body.format(promises))).weave.promise(role, index)
        return found.span.line - 4 if found else None

    every = "A meets 4/A2 meets 5/all meets 6"
    assert [line(every, *ring) for ring in (("A", 1), ("A", 2), ("B", 1))] == [1, 2, 3]
    other = "all meets 6/A2 meets 5/A meets 4"
    assert [line(other, *ring) for ring in (("A", 1), ("A", 2), ("B", 1))] == [3, 2, 1]
    assert [line("A1 meets 4", *ring) for ring in (("A", 1), ("A", 2), ("B", 1))] == [1, None, None]
    # of two for one name the first
    assert line("A meets 4/A meets 5", "A", 2) == 1
    folded = view(recipe(body.format("A folded/A2 lies around 1 B"))).weave
    assert [x.span.line for x in folded.lies("A", 1)] == []
    assert [x.span.line - 4 for x in folded.lies("A", 2)] == [2]
    assert folded.promised == {"A", "B"} == view(recipe(body.format("A meets 1 B"))).weave.promised
    assert folded.lies("B", 1) == ()
    plain = view(recipe(body.format("A lies around 1 B/A2 lies inside 1 B"))).weave
    assert [[x.span.line - 4 for x in plain.lies("A", n)] for n in (1, 2)] == [[1], [2]]


def test_names_sizes_and_kinds() -> None:
    rings = RINGS + "  A2  wire 1 mm, inside 8 mm, copper\n  C  wire 1 mm, copper\nparts:\n"
    rings += "  bar  brass, 12 mm by 6 mm, hole 2 mm\n  bead  glass, 4 mm\n  tag  brass\n"
    found = weave("start:/close 2 A, C/unit:/add 2 A through prev A, bar/close B/add B2 around bead"
                  "/hold tag if there/piece:/chain 3 units".replace("/hold tag if there", "")
                  .replace("/add B2 around bead", "/close B2 around bead"), rings)  # fmt: skip
    whole = found.recipe.kind_of("B", 1)
    assert whole is not None
    assert found.size("A", 1) == whole.mm == found.size("B", 2)
    assert found.size("A", 2) == (1, 8)
    assert found.size("C", 1) is None
    assert [found.bought_name(r, i) for r, i in (("A", 1), ("A", 2), ("B", 1))] == ["A1", "A2", "B"]
    assert found.part_size("bar") == (12, 6, 2)
    assert (found.part_shape("bar"), found.part_shape("bead"), found.part_shape("tag")) == (
        "bar", "ball", None
    )  # fmt: skip
    assert (found.part_size("tag"), found.part_size("A")) == (None, None)
    # rings go through the bar, and none through the bead, which lies inside one
    assert found.round_size("bar", 1) == (1, 2)
    assert found.round_size("bead", 1) == (4, -4)
    assert (found.round_size("tag", 1), found.round_size("A", 2)) == (None, (1, 8))
    names = {found.name(r) for r in found.work.links}
    assert names >= {"A1", "A2", "B1", "B2", "C", "bar", "bead"}
    assert found.names == {"A": (1, 2), "C": (1,), "B": (1, 2)}
    assert found.roles == {"A", "B", "C", "bar", "bead", "tag"}
    assert found.indexes("B", 1, 0) == (1,)
    assert found.indexes("A", 1, 2) == (1, 2)


def test_rings_by_name_in_strands_and_joined_pieces() -> None:
    strands = weave("start:/close A/unit l:/add A through prev A/add B1, B2 through A/unit:/add A"
                    " through prev A/add B1 through A/piece:/strands l 1 units, r 1 units"
                    )  # fmt: skip
    assert sorted({strands.name(r) for r in strands.work.links}) == ["A", "B1", "B2"]
    assert {strands.name(r) for r in strands.work.links if r.unit == 2} == {"A", "B1"}
    ladder = view(LADDER).weave
    words = {(ladder.name(r), ladder.piece_words(r)) for r in ladder.work.links}
    assert words == {("A", "of rail 1"), ("A", "of rail 2"), ("rung", "of step 3")}
    hung = view(PIECES + "  add J through rail 1 last A, hook\n").weave
    assert {hung.name(r) for r in hung.work.links if r.row < 0} == {"J", "hook"}
    assert strands.piece_words(Ring("A", 1, 1, 0)) == ""


def test_other_rings_make_the_same_piece() -> None:
    found = view(PERSIAN_LINKED).weave
    assert found.repeat is not None
    tree = found.recipe
    other = found.of_rings(replace(tree, rings=tree.rings[:0]))
    assert (other.work, other.repeat, other.names) == (found.work, found.repeat, found.names)
    assert other.variant is found.variant
    assert other.size("M", 1) is None
    again = found.changed(tree)
    assert (again.recipe, again.variant, again.whole) == (tree, found.variant, False)
    ladder = view(LADDER).weave
    first = ladder.made
    assert ladder.changed(ladder.recipe).made is first
    assert ladder.changed(replace(ladder.recipe, made=ladder.recipe.made[:0])).made == ()
