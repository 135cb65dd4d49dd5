"""Rings and places in a maker's words, each read once by eye."""

from __future__ import annotations

import pytest
from helpers import BYZANTINE, PERSIAN_LINKED, SHAGGY, view
from small_recipes import recipe
from test_joined_places import PIECES

from ringstep.language.promised import ByPlace, ByRole, CountOf, InAll
from ringstep.language.source import Span, source_from_text
from ringstep.weave.phrases import (
    end_phrase,
    list_span,
    meets_phrase,
    new_phrase,
    new_words,
    number_word,
    ordinal_word,
    piece_named,
    piece_phrase,
    place_phrase,
    places_one,
    places_phrase,
    promise_line,
    ref_phrase,
    rings_phrase,
    seen_phrase,
    stands_phrase,
    wanted_phrase,
    word_span,
)
from ringstep.weave.work import Ring

CHAIN = recipe(
    "start:/close A/unit:/add A through prev A/finish:/add R through last A, last prev A, last prev"
    " prev A, first A, first next A, first next next A, first next next next A/piece:/chain 9 units"
)
STRANDS = recipe(
    "start:/close 2 A/unit:/add 2 A through prev A/finish:/add R through last left A1, last right"
    " A1, first left A1, first next right A1, last prev left A1, first A1/piece:"
    "/strands left 30 units, right 4 units"
)
SHEET = recipe(
    "start:/close S/first row:/add A through above S/row:/add A through above A, above next A if"
    " there, prev A if there, first prev A if there/row end:/add E through last A, first A, last"
    " prev A, above first A if there/finish:/add F through last A, last prev A, above last A, above"
    " above last A, above above above last A, above above above above above last A, first S"
    "/piece:/sheet 6 rows of 5 units/rows back and forth"
)
PLAIN = SHEET.replace("  rows back and forth\n", "")


def test_numbers() -> None:
    ordinals = {1: "first", 2: "second", 9: "ninth", 10: "10th", 11: "11th", 12: "12th",
                13: "13th", 14: "14th", 21: "21st", 22: "22nd", 23: "23rd", 24: "24th",
                101: "101st", 111: "111th", 112: "112th", 113: "113th"}  # fmt: skip
    assert {n: ordinal_word(n) for n in ordinals} == ordinals
    assert [number_word(n) for n in (-1, 1, 2, 10, 11, 100)] == [
        "-1", "one", "two", "ten", "11", "100",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("places", "words"),
    [
        ("", ""), ("prev", "of the unit before"), ("next", "of the next unit"),
        ("prev prev", "of the unit two before"), ("next next", "of the unit two after"),
        ("first", "at the beginning"), ("first next", "one unit after the beginning"),
        ("first next next", "two units after the beginning"), ("last", "of the last unit"),
        ("last prev", "of the unit before the last"),
        ("last prev prev", "of the unit two before the last"),
        ("above", "of the row above"), ("above above", "of the row two above"),
        ("above next", "of the next unit in the row above"),
        ("above prev", "of the unit before in the row above"),
        ("above next next", "of the unit two on in the row above"),
        ("above prev prev", "of the unit two before in the row above"),
        ("above above prev", "of the unit before two rows above"),
        ("above above next next", "of the unit two on two rows above"),
        ("above first", "of the first unit in the row above"),
        ("above first next", "of the second unit in the row above"),
        ("above last", "of the last unit in the row above"),
        ("above last prev", "of the unit before the last in the row above"),
        ("above prev next", "of the first of its places above"),
        ("above prev next next", "of the second of its places above"),
        ("above next prev", "of the last of its places above"),
        ("above next prev prev", "of the second last of its places above"),
        ("prev left", "of the unit before of strand left"),
        ("first left", "of the first unit of strand left"),
        ("first next left", "of the second unit of strand left"),
        ("last prev left", "of the unit before the last of strand left"),
    ],
)  # fmt: skip
def test_words_of_place(places: str, words: str) -> None:
    assert place_phrase(tuple(places.split())) == words


def test_the_place_at_hand() -> None:
    assert place_phrase((), "here") == "here"
    assert place_phrase(("above",), "here") == "of the row above"
    assert place_phrase(("first",), units=True) == "of the first unit"
    told = {(r, u): seen_phrase(r, u) for r in (0, 1, 2) for u in (-2, -1, 0, 1, 2)}
    assert told == {
        (0, -2): "of the unit two after", (0, -1): "of the next unit", (0, 0): "",
        (0, 1): "of the unit before", (0, 2): "of the unit two before",
        (1, -2): "of the unit two on in the row above",
        (1, -1): "of the next unit in the row above", (1, 0): "of the row above",
        (1, 1): "of the unit before in the row above",
        (1, 2): "of the unit two before in the row above",
        (2, -2): "of the unit two on two rows above", (2, -1): "of the next unit two rows above",
        (2, 0): "of the row two above", (2, 1): "of the unit before two rows above",
        (2, 2): "of the unit two before two rows above",
    }  # fmt: skip


def ends(text: str, kind: str, row: int | None = None) -> dict[str, tuple[str, str]]:
    """What each item of the sections of a kind is called at an end, and where it stands."""
    weave = view(text).weave
    layout = weave.work.layout
    acts = [a for a in weave.work.acts if a.block.kind == kind and row in (None, a.row)]
    return {
        str(ref).removesuffix(" if there"): (
            end_phrase(layout, ref, ring, act), stands_phrase(layout, (act.row, act.unit), ring)
        )
        for act in acts for ref in act.step.through for ring in act.named_by(ref, layout)[:1]
    }  # fmt: skip


def test_places_at_the_end_of_a_chain() -> None:
    assert ends(CHAIN, "finish") == {
        "last A": ("of the last unit", "of the unit before"),
        "last prev A": ("of the unit before the last", "of the unit two before"),
        "last prev prev A": ("of the unit two before the last", "of the unit three before"),
        "first A": ("of the start", "of the start"),
        "first next A": ("of the first unit", "of unit 1"),
        "first next next A": ("of the second unit", "of unit 2"),
        "first next next next A": ("of unit 3", "of unit 3"),
    }
    assert ends(CHAIN, "unit") == {"prev A": ("", "of the unit before")}
    near = CHAIN.replace("last prev A, last prev prev A, ", "prev A, prev prev A, ").replace(
        "last A, ", ""
    )
    assert ends(near, "finish")["prev A"][0] == "of the last unit"
    assert ends(near, "finish")["prev prev A"][0] == "of the unit before the last"


def test_places_at_the_ends_of_strands() -> None:
    assert ends(STRANDS, "finish") == {
        "last left A1": ("of the last unit of strand left", "of the unit before"),
        "last right A1": ("of the last unit of strand right", "of the unit before"),
        "first left A1": ("of the first unit of strand left", "of unit 1 of strand left"),
        "first next right A1": ("of the second unit of strand right", "of unit 2 of strand right"),
        "last prev left A1": ("of the unit before the last of strand left",
                              "of the unit two before"),
        "first A1": ("of the start", "of the start"),
    }  # fmt: skip


def test_places_in_a_sheet() -> None:
    assert ends(SHEET, "first row")["above S"][0] == "of the start"
    begun = SHEET.replace("close S", "close S\n  add T through S")
    assert ends(begun, "start") == {"S": ("", "")}
    # row 3 is worked from unit 1 on, row 4 back
    assert ends(SHEET, "row", 3) == {
        "above A": ("", "of the row above"),
        "above next A": ("", "of the next unit in the row above"),
        "prev A": ("", "of the unit before"),
    }
    assert ends(SHEET, "row", 4) == {
        "above A": ("", "of the row above"),
        "above next A": ("", "of the unit before in the row above"),
        "prev A": ("", "of the next unit"),
    }
    assert ends(SHEET, "row end", 3) == {
        "last A": ("of the last unit", "of the unit before"),
        "first A": ("of the first unit", "of the unit five before"),
        "last prev A": ("of the unit before the last", "of the unit two before"),
        "above first A": ("of the first unit in the row above",
                          "of the unit five before in the row above"),
    }  # fmt: skip
    plain = ends(PLAIN, "row", 3)
    assert plain["prev A"] == ("", "of the unit before")


def test_places_at_the_end_of_a_sheet() -> None:
    assert {item: words for item, (words, _) in ends(SHEET, "finish").items()} == {
        "last A": "of the last unit of the last row",
        "last prev A": "of the unit before the last of the last row",
        "above last A": "of the last unit of the row before the last",
        "above above last A": "of the last unit of the row two before the last",
        "above above above last A": "of the last unit of the row three before the last",
        "above above above above above last A": "of the last unit of the first row",
        "first S": "of the start",
    }
    bare = SHEET.replace("last A, last prev A, above last A", "above E, E").replace(
        "  add F", "  close E\n  add F"
    )
    assert ends(bare, "finish")["E"] == ("", "")


def test_a_ring_of_a_round_by_its_place_in_the_round() -> None:
    """Six places, then twelve: places 3 and 4 of the second hang from place 2 of the first."""
    text = recipe(
        "first row:/close A/row:/add A through above A/extra place:/add A through above A"
        "/piece:/tube 3 rows of 6 units/shape:/row 2  6 more/row 3  6 more"
    )
    layout = view(text).weave.work.layout
    assert layout.rounds is not None
    told = [stands_phrase(layout, (2, unit), Ring("A", 1, 1, 2)) for unit in (1, 2, 3, 4, 5)]
    assert told == ["of the next unit in the row above"] * 2 + ["of the row above"] * 2 + [
        "of the unit before in the row above"
    ]


@pytest.mark.parametrize(
    ("item", "named", "where"),
    [
        ("rail 1 last A", "the last A", "of rail 1"),
        ("rail 1 last prev A", "the A before the last", "of rail 1"),
        ("rail 1 last prev prev A", "the A two before the last", "of rail 1"),
        ("rail 1 first A", "the first A", "of rail 1"),
        ("rail 1 first next next A1", "the third A1", "of rail 1"),
        ("hoop first D", "the first D", "of the hoop"),
        ("panel 1 S", "S", "of panel 1"),
        ("panel 1 first row last C", "the last C", "of the first row of panel 1"),
        ("panel 1 last row first C", "the first C", "of the last row of panel 1"),
        ("rail 1 A along every unit", "A", "along the units of rail 1"),
        ("rail 1 A along every unit backwards", "A", "along the units of rail 1 from its end on"),
        ("panel 2 C along left edge", "C", "along the left edge of panel 2"),
        ("rail 1 next A along every unit", "A", "one place on along the units of rail 1"),
        ("rail 1 prev A along every unit", "A", "one place back along the units of rail 1"),
        ("rail 1 next next A along every unit", "A", "two places on along the units of rail 1"),
    ],
)
def test_rings_of_a_piece_that_is_joined(item: str, named: str, where: str) -> None:
    (step,) = view(PIECES + f"  add J through {item} if there\n").recipe.blocks[-1].steps
    (ref,) = step.through
    assert (piece_named(ref), piece_phrase(ref)) == (named, where)
    assert ref_phrase(ref) == f"{named} {where}"


def test_items_of_a_list() -> None:
    steps = {s.number: s for s in view(PERSIAN_LINKED).recipe.steps()}
    pair, one = steps[7].through[0], steps[8].through[1]
    assert (str(pair), str(one)) == ("prev S", "M1")
    assert ref_phrase(pair) == "S of the unit before"
    assert ref_phrase(pair, 1) == "S of the unit before"
    assert ref_phrase(pair, 2) == "both S of the unit before"
    assert ref_phrase(pair, 3) == "all three S of the unit before"
    assert ref_phrase(one, 2) == ref_phrase(one) == "M1"
    gathered = recipe("unit:/close A/piece:/chain 9 units/finish:/add F through every A")
    (last,) = list(view(gathered).recipe.steps())[-1].through
    assert ref_phrase(last) == "every A"


def test_what_a_step_places() -> None:
    steps = {s.number: s for s in view(PERSIAN_LINKED).recipe.steps()}
    assert [new_words(steps[n]) for n in (1, 2, 9)] == [["2 H"], ["M1"], ["2 S"]]
    assert [places_one(steps[n]) for n in (1, 2, 9)] == [False, True, False]
    (step,) = view(recipe("unit:/close A1, A2, 3 B/piece:/chain 9 units")).recipe.steps()
    assert (new_words(step), places_one(step)) == (["A1", "A2", "3 B"], False)
    assert new_phrase(step) == "A1, A2 and 3 B"
    (step,) = view(recipe("unit:/close 1 A/piece:/chain 9 units")).recipe.steps()
    assert places_one(step)
    close, add = view(SHAGGY).recipe.steps()
    assert list_span(add) == add.through[0].span
    two = next(s for s in view(BYZANTINE).recipe.steps() if s.number == 5)
    assert list_span(two).column < list_span(two).end
    close = next(iter(view(BYZANTINE).recipe.steps()))
    assert list_span(close) == close.span


def test_a_list_from_its_first_item_to_its_last() -> None:
    text = recipe("start:/close A, B/unit:/add A, B through prev A, prev B picks 2/piece:/chain 9"
                  " units")  # fmt: skip
    step = list(view(text).recipe.steps())[-1]
    line = text.splitlines()[list_span(step).line - 1]
    assert line[list_span(step).column - 1 : list_span(step).end - 1] == "prev A, prev B"


def test_what_rings_meet() -> None:
    assert meets_phrase({"A": 2, "B": 0, "C": 1}) == "2 A and 1 C"
    assert meets_phrase((("A", 2), ("B", 3), ("C", 1)), ("C", "Z")) == "1 C, 2 A and 3 B"
    assert meets_phrase({"A": 0}) == "nothing"
    places = {("S", 0, 1): 2, ("S", -1, 0): 1, ("A", 1, -1): 3, ("B", -2, 0): 1}
    assert places_phrase(places) == (
        "2 S of the next unit, 1 S of the row above, 3 A of the unit before in the row below and"
        " 1 B of the row two above"
    )
    assert places_phrase({("S", 2, -2): 1}) == "1 S of the unit two before two rows below"
    assert places_phrase({}) == "nothing"
    assert wanted_phrase(InAll(4)) == "4"
    assert wanted_phrase(ByRole((CountOf(1, "M"), CountOf(6, "S")))) == "1 M and 6 S"
    assert wanted_phrase(ByPlace((CountOf(2, "S", ("prev",)), CountOf(2, "S")))) == (
        "2 S of the unit before and 2 S"
    )
    assert promise_line("M", {"M": 1, "S": 6, "H": 0}, True) == "M meets 1 M, 6 S"
    assert promise_line("M", {"M": 1, "S": 6}, False) == "M meets 7"


@pytest.mark.parametrize(
    ("rings", "words"),
    [
        ([], ""), ([("A", "")], "A"), ([("A", "of the start")], "A of the start"),
        ([("A", ""), ("B", "")], "A and B"), ([("A", ""), ("B", "of the start")],
                                             "A and B of the start"),
        ([("A", "of the start"), ("B", ""), ("C", "")], "A of the start and B and C"),
        ([("A", ""), ("B", ""), ("C", "of the start")], "A and B, and C of the start"),
        ([("A", ""), ("B", "of the start"), ("C", "of the unit before")],
         "A, B of the start, and C of the unit before"),
    ],
)  # fmt: skip
def test_rings_by_their_places(rings: list[tuple[str, str]], words: str) -> None:
    assert rings_phrase(rings) == words


def test_a_word_is_marked_where_it_stands_last() -> None:
    source = source_from_text("unit:\n  add A1 through A, B, A, AA\n")
    line = Span(2, 3, 29)
    assert word_span(source, line, "A") == Span(2, 24, 25)
    assert word_span(source, line, "AA") == Span(2, 27, 29)
    assert word_span(source, Span(2, 3, 20), "A") == Span(2, 18, 19)
    assert word_span(source, Span(2, 21, 23), "A") == Span(2, 21, 23)
    assert word_span(source, line, "C") == line
