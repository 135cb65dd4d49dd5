"""How many units each run and each strand gets, and where in the strands a place is."""

from __future__ import annotations

import pytest
from helpers import view
from small_recipes import recipe

from ringstep.language.tree import Piece
from ringstep.weave.layout import Layout
from ringstep.weave.runs import NoRuns, counts_for_now, run_counts
from ringstep.weave.strands import Strands, strand_counts, strand_mm

TURNS = "start:/close A/unit a:/add A through prev A/unit b:/add A through prev A/unit c:/add A"
TURNS += " through prev A/piece:/"
PLAIN = "start:/close A/unit:/add A through prev A/piece:/"
SAMPLES = "/sample 10 a = 40 mm/sample 1 b = 20 mm"


def layout(body: str) -> Layout:
    return view(recipe(body)).weave.layout


def piece(body: str) -> Piece:
    seen = view(recipe(body))
    assert not seen.troubles
    assert seen.recipe.piece is not None
    return seen.recipe.piece


@pytest.mark.parametrize(
    ("extent", "counts"),
    [
        ("chain of 12 a, b, 12 a", [12, 1, 12]), ("chain of a, b", [1, 1]),
        ("chain 25 units of a, b, a", [12, 1, 12]), ("chain 3 units of a, b, a", [1, 1, 1]),
        ("chain 10 units of a, 3 b", [7, 3]), ("chain 20 units of a, b, a, c, a", [6, 1, 6, 1, 6]),
        ("chain 21 units of a, 2 b, a, c, a", [6, 2, 6, 1, 6]),
        # 80 mm for both runs are ten units of 4 mm each; 8.1 are a second one begun
        ("chain 100 mm of a, b, a" + SAMPLES, [10, 1, 10]),
        ("chain 101 mm of a, b, a" + SAMPLES, [11, 1, 11]),
        ("chain 28 mm of a, b, a" + SAMPLES, [1, 1, 1]),
        ("chain 28.1 mm of a, b, a" + SAMPLES, [2, 1, 2]),
        ("chain 21 mm of a, b, a" + SAMPLES, [1, 1, 1]),
        ("chain 100 mm of a, 3 b" + SAMPLES, [10, 3]),
    ],
)  # fmt: skip
def test_runs_share_what_the_others_leave(extent: str, counts: list[int]) -> None:
    assert run_counts(piece(TURNS + extent)) == counts
    laid = layout(TURNS + extent)
    assert laid.known
    assert (laid.kind, laid.units) == ("chain", sum(counts))


@pytest.mark.parametrize(
    ("extent", "says", "type_", "meanwhile"),
    [
        ("chain 26 units of a, b, a",
         "of 26 units 25 are left for 2 runs of a, which share evenly",
         "write 'chain 25 units of …' or 'chain 27 units of …'", [9, 1, 9]),
        ("loop 9 units of a, 2 b, a", "of 9 units 7 are left for 2 runs of a, which share evenly",
         "write 'loop 8 units of …' or 'loop 10 units of …'", [9, 2, 9]),
        ("chain 22 units of a, b, a, c, a",
         "of 22 units 20 are left for 3 runs of a, which share evenly",
         "write 'chain 20 units of …' or 'chain 23 units of …'", [9, 1, 9, 1, 9]),
        ("chain 1 units of a, b, a", "of 1 unit 0 are left for 2 runs of a, which share evenly",
         "write 'chain 3 units of …'", [9, 1, 9]),
        ("chain 10 units of a, 10 b", "of 10 units 0 are left for 1 run of a",
         "write 'chain 11 units of …'", [9, 10]),
        ("chain 10 units of 3 a, 7 b", "every run has its number, so none is left to fill 10 units",
         "write 'chain of 3 a, 7 b', or leave a number out", [3, 7]),
        ("chain 100 mm of 2 a, 3 b", "every run has its number, so none is left to fill 100 mm",
         "write 'chain of 2 a, 3 b', or leave a number out", [2, 3]),
        ("chain 10 units of a, b", "nothing says which of a and b fills 10 units",
         "give the other its number, such as '1 b'", [9, 9]),
        ("chain 10 units of a, b, c", "nothing says which of a, b and c fills 10 units",
         "give the other its number, such as '1 c'", [9, 9, 9]),
        ("chain 20 mm of a, b, a" + SAMPLES,
         "20 mm are too short for what stands beside the runs that share it",
         "give a greater length, or fewer units", [9, 1, 9]),
        *((f"chain 100 mm of {runs}/sample {sample} mm",
           f"a length is shared by measured units, and nothing says how long '{lacks}' is",
           f"work {how}, and add to 'piece:': 'sample {many} {lacks} = … mm'", now)
          for runs, sample, lacks, how, many, now in (
              ("a, b, a", "10 a = 40", "b", "one, measure it", 1, [9, 1, 9]),
              ("a, b, a", "1 b = 20", "a", "some, measure them", 10, [9, 1, 9]),
              ("a, 3 b, a", "10 a = 40", "b", "some, measure them", 10, [9, 3, 9]),
              ("a, 1 b, a", "10 a = 40", "b", "one, measure it", 1, [9, 1, 9]),
              ("a, 3 b", "10 b = 40", "a", "some, measure them", 10, [9, 3]))),
    ],
)  # fmt: skip
def test_runs_that_do_not_come_to_numbers(
    extent: str, says: str, type_: str, meanwhile: list[int]
) -> None:
    with pytest.raises(NoRuns) as told:
        run_counts(piece(TURNS + extent))
    assert (str(told.value), told.value.help) == (says, (type_,))
    assert counts_for_now(piece(TURNS + extent), 9) == meanwhile
    # the checks go on with as many as show the borders: three reaches and two
    laid = layout(TURNS + extent)
    assert not laid.known
    assert (laid.kind, laid.units) == (
        extent.split()[0], sum(5 if n == 9 else n for n in meanwhile)
    )  # fmt: skip


@pytest.mark.parametrize(
    ("extent", "counts", "seven"),
    # 4.1 mm a unit: 40 mm are ten units, as 41 are, and 42 eleven
    [
        ("l 3 units, r 40 mm/sample 10 units = 41 mm", [3, 10], [28.7, 28.7]),
        ("l 3 units, r 41 mm/sample 10 units = 41 mm", [3, 10], [28.7, 28.7]),
        ("l 3 units, r 42 mm/sample 10 r = 41 mm", [3, 11], [None, 28.7]),
        ("l 3 units, r 1 mm/sample 10 r = 41 mm", [3, 1], [None, 28.7]),
        ("l 42 mm, r 40 mm/sample 10 r = 41 mm/sample 5 units = 10 mm", [21, 10], [14.0, 28.7]),
    ],
)
def test_strands_by_their_length(extent: str, counts: list[int], seven: list[float | None]) -> None:
    own = piece(f"{PLAIN}strands {extent}")
    assert strand_counts(own) == counts
    assert [strand_mm(own, name, 7) for name in "lr"] == [
        n if n is None else pytest.approx(n) for n in seven
    ]
    laid = layout(f"{PLAIN}strands {extent}")
    assert (laid.known, [s.count for s in laid.along]) == (True, counts)


def test_a_strand_without_a_sample_is_long_enough_to_show_its_pattern() -> None:
    body = f"{PLAIN}strands l 3 units, r 40 mm"
    with pytest.raises(NoRuns) as told:
        strand_counts(piece(body))
    assert str(told.value) == (
        "strand r is given by its length, and none of its units are measured"
    )
    assert told.value.help == (
        "work some, measure them, and add to 'piece:': 'sample 10 r = … mm'",
    )
    laid = layout(body)
    assert (laid.known, laid.kind, laid.rows) == (False, "chain", 1)
    assert [(s.strand, s.first, s.count, s.goes_round) for s in laid.along] == [
        ("l", 1, 3, True), ("r", 1, 5, True)
    ]  # fmt: skip
    assert [layout(f"{PLAIN}strands l 1 units, r 2 units").along[n].goes_round for n in (0, 1)] == [
        False, True
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("body", "units", "known"),
    # where no sample tells the number of units: three reaches, a cycle and one
    [
        ("start:/close A/unit:/add A through prev A/piece:/chain 100 mm", 5, False),
        (
            "start:/close A/unit:/add A through prev A, prev prev A if there/piece:/chain 9 mm",
            8,
            False,
        ),
        ("start:/close A/unit:/add A through prev A/turn over/piece:/chain 9 mm", 6, False),
        (
            "start:/close A/unit:/add A through prev A/unit 4 also:/close B/piece:/chain 9 mm",
            9,
            False,
        ),
        (
            "start:/close A/unit:/add A through prev A/piece:/chain 100 mm/sample 10 units = 41 mm",
            25,
            True,
        ),
        (
            "start:/close A/unit:/add A through prev A/piece:/chain 1 mm/sample 10 units = 41 mm",
            1,
            True,
        ),
        (
            "start:/close A/unit:/add A through prev A/piece:/chain 41 mm/sample 10 units = 41 mm",
            10,
            True,
        ),
        # without a piece the units that are written out, and one more where they repeat
        ("unit 1:/close A/unit 2:/add A through prev A", 2, True),
    ],
)
def test_how_many_units_a_length_has(body: str, units: int, known: bool) -> None:
    laid = layout(body)
    assert (laid.units, laid.rows, laid.known) == (units, 1, known)


TWO = "start:/close 2 A/unit left:/add 2 A through prev A/add L through A1/unit:/add 2 A through"
TWO += " prev A/again:/add G through A2/finish:/close F/piece:/strands left 3 units, right 4 units"


def test_where_the_strands_stand() -> None:
    strands = layout(TWO).strands
    assert strands is not None
    assert strands.spans == {"left": range(1, 4), "right": range(4, 8)}
    assert strands.placed == {
        "left": {("A", 1), ("A", 2), ("L", 1), ("G", 1)},
        "right": {("A", 1), ("A", 2), ("G", 1)},
    }
    assert strands.behind == 8
    assert [strands.name_of(unit) for unit in range(9)] == [
        "", *["left"] * 3, *["right"] * 4, ""
    ]  # fmt: skip
    assert [layout(TWO).unit_name(unit) for unit in (1, 3, 4, 7)] == [
        "unit 1 of strand left", "unit 3 of strand left", "unit 1 of strand right",
        "unit 4 of strand right",
    ]  # fmt: skip
    assert strands.placing("A") == ["left", "right"] == strands.placing("A", 2)
    assert strands.placing("L") == ["left"] == strands.placing("L", 1)
    assert strands.placing("L", 2) == strands.placing("F") == []
    assert [strands.sole(r) for r in ("A", "L", "F")] == ["", "left", ""]
    assert Strands({}, {}).behind == 1


@pytest.mark.parametrize(
    ("unit", "by", "role", "at"),
    [
        (2, 0, "A", 2), (2, 1, "A", 3), (2, -1, "A", 1), (1, -1, "A", 0), (4, -1, "A", 0),
        (5, -1, "A", 4), (3, 1, "A", None), (7, 1, "A", None), (1, -2, "A", None),
        (4, -2, "A", None), (7, 2, "A", None), (6, 1, "A", 7),
        # start and finish belong to the one strand that places such rings
        (0, 1, "L", 1), (0, 3, "L", 3), (0, 1, "A", None), (8, -1, "L", 3), (8, -3, "L", 1),
        (8, -1, "A", None), (8, -4, "L", 0), (3, 1, "L", 8), (0, 4, "L", 8), (0, 0, "A", 0),
        (8, 0, "A", 8),
    ],
)  # fmt: skip
def test_so_many_units_on_along_a_strand(unit: int, by: int, role: str, at: int | None) -> None:
    strands = layout(TWO).strands
    assert strands is not None
    assert strands.on(unit, by, role) == at


def test_how_far_apart_places_of_strands_stand() -> None:
    strands = layout(TWO).strands
    assert strands is not None
    told = {
        (1, 3): 2, (3, 1): -2, (4, 7): 3, (1, 0): -1, (0, 3): 3, (4, 0): -1, (0, 7): 4,
        (3, 8): 1, (7, 8): 1, (8, 3): -1, (8, 4): -4, (0, 0): 0, (0, 8): 8, (8, 0): -8,
        # of another strand: farther than any step reaches, which is 8 more
        (3, 4): 9, (4, 3): -9, (1, 7): 14, (7, 1): -14,
    }  # fmt: skip
    assert {pair: strands.apart(*pair) for pair in told} == told
    assert [layout(PLAIN + "chain 9 units").apart(3, unit) for unit in (1, 3, 7)] == [-2, 0, 4]


def test_rings_of_one_role_in_two_strands_are_told_apart_by_their_number() -> None:
    body = "start:/close A1, A2/unit l:/add A1 through prev A1/unit r:/add A2 through prev A2"
    strands = layout(f"{body}/piece:/strands l 2 units, r 3 units").strands
    assert strands is not None
    assert [strands.sole("A", n) for n in (None, 1, 2)] == ["", "l", "r"]
    assert [strands.on(0, 1, "A", n) for n in (None, 1, 2)] == [None, 1, 3]
    assert [strands.on(6, -1, "A", n) for n in (None, 1, 2)] == [None, 2, 5]
    assert [strands.on(2, 1, "A", n) for n in (None, 1, 2)] == [None, 6, None]
    assert [strands.at("r", 4, "A", n) for n in (None, 1, 2)] == [4, 4, 4]
    assert [strands.at("r", 6, "A", n) for n in (None, 1, 2)] == [None, None, 6]
    joined = f"{body}/finish:/add F through last A2, first next A1/piece:/strands l 2 units, r 3"
    weave = view(recipe(f"{joined} units")).weave
    assert not weave.snags
    assert [(r.index, r.unit) for r in weave.work.acts[-1].through] == [(2, 5), (1, 1)]
