"""How much work a recipe asks for, counted by hand, and at which number exactly it is refused.

A step at one place counts one, each ring it places, each it names, each link between them.
"""

from __future__ import annotations

import pytest
from helpers import DOUBLED, EUROPEAN, PERSIAN_LINKED, SIMPLE, view
from small_recipes import RINGS, recipe
from test_joining import LADDER

from ringstep.language.source import Refused
from ringstep.weave import effort
from ringstep.weave.effort import drawable, moves, within_bounds

PLAIN = "start:/close A/unit:/add A through prev A"
ROWS = "start:/close S/first row:/close A/row:/add A through above A picks 1/row end:/add E through"
ROWS += " last A, first A/finish:/add F through last E/piece:/sheet 9 rows of 9 units"


@pytest.mark.parametrize(
    ("text", "each", "total"),
    [
        # 2 once; 4 at five units and the finish's place; and the window's units and its row
        (SIMPLE, [2, 4], 2 + 6 * 4 + 5 + 1),
        # a pair: 1 + 2 + 2 + 4
        (DOUBLED, [3, 9], 3 + 6 * 9 + 5 + 1),
        # a fold counts the pair it names; three variants are worked out beside the one
        (PERSIAN_LINKED,
         [3, 1 + 1 + 2 + 2, 1 + 1 + 3 + 3, 1 + 2 + 2 + 4, 1 + 2, 1 + 2, 6, 8, 1 + 2 + 4 + 8, 3],
         4 * (3 + 6 + 8 + 9 + 3 + 7 * (3 + 6 + 8 + 15 + 3)) + 6 + 1),
        # five through one another: ten links among them, and those with the one before
        (recipe("start:/close A/unit:/add 5 P through one another, prev A1/close A"
                "/piece:/chain 30 units"),
         [2, 1 + 5 + 1 + 5 + 10, 2], 2 + 6 * (22 + 2) + 5 + 1),
        # what lies around or inside is named as well
        (recipe(f"{PLAIN}/close B around A/piece:/chain 30 units"), [2, 4, 4], 2 + 6 * 8 + 6),
        # a name that no step places, such as a part, is one
        (recipe(f"{PLAIN}, bar/piece:/chain 30 units", RINGS + "parts:\n  bar  brass\n"),
         [2, 1 + 1 + 2 + 2], 2 + 6 * 6 + 6),
        # six rows of five places; five of five, the row's end once a row, start and finish once
        (EUROPEAN, [2, 1 + 1 + 2 + 2], 30 * (2 + 6) + 5 + 6),
        (recipe(ROWS), [2, 2, 4, 6, 4], 2 + 25 * (2 + 4) + 5 * 6 + 4 + 5 + 5),
        # a unit written out stands once
        (recipe(f"{PLAIN}/unit 9 also:/close 7 B/piece:/chain 30 units"), [2, 4, 8],
         2 + 12 * 4 + 8 + 11 + 1),
    ],
)  # fmt: skip
def test_what_is_counted(
    text: str, each: list[int], total: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = view(text)
    assert [work for _, _, work in moves(seen.recipe)] == each
    monkeypatch.setattr(effort, "MOST_WORK", total)
    within_bounds(seen)
    monkeypatch.setattr(effort, "MOST_WORK", total - 1)
    with pytest.raises(Refused, match=f"takes more than {total - 1:,} single moves"):
        within_bounds(seen)


def test_pieces_that_are_joined_are_counted_in_full(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice five units and a place besides, each with both steps, and one for each piece."""
    seen = view(LADDER)
    monkeypatch.setattr(effort, "MOST_WORK", 0)  # of the whole it is not asked
    monkeypatch.setattr(effort, "MOST_PIECES", 2 * (6 * (2 + 4) + 1))
    within_bounds(seen)
    monkeypatch.setattr(effort, "MOST_PIECES", 2 * (6 * (2 + 4) + 1) - 1)
    with pytest.raises(Refused, match=r"test.weave, line 7: .* more than 73 single moves"):
        within_bounds(seen)
    two = LADDER.replace("join:", "piece post:\n  chain 3 units\nstart:\n  close A\njoin:")
    monkeypatch.setattr(effort, "MOST_PIECES", 74 + 4 * 2 + 1)
    within_bounds(view(two))
    monkeypatch.setattr(effort, "MOST_PIECES", 74 + 4 * 2)
    with pytest.raises(Refused, match=r"test.weave, line 14:"):
        within_bounds(view(two))


@pytest.mark.parametrize(
    ("bound", "most", "text", "says"),
    [
        ("MOST_AT_ONCE", 2, SIMPLE.replace("add A", "add 3 A"),
         "test.weave, line 9: step 2 places 3 rings at once; at most 2 are worked out."),
        # A; copper and all are no names
        ("MOST_NAMES", 2, SIMPLE.replace("meets 2", "meets 1 A, 1 B").replace("through prev A",
         "through prev A around C"), "test.weave has 4 names"),
        ("MOST_STEPS", 1, SIMPLE, "test.weave has 2 steps, and a recipe has at most 1."),
        ("MOST_PLACES", 119, EUROPEAN + "picture:\n  g = grey\n" + "  12 g\n" * 10,
         "test.weave, line 13: the picture has more than 119 places"),
    ],
)  # fmt: skip
def test_other_bounds(
    bound: str, most: int, text: str, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = view(text)
    monkeypatch.setattr(effort, bound, most)
    with pytest.raises(Refused) as told:
        within_bounds(seen)
    assert str(told.value).startswith(says)
    more = {"MOST_NAMES": 4}.get(bound, most + 1)
    monkeypatch.setattr(effort, bound, more)
    within_bounds(seen)


def test_every_kind_of_name_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """all, A and Z of 'rings:', a part, a promise of one for another, placed and gone through."""
    text = (
        "rings:\n  all  wire 1 mm, inside 9 mm, copper\n  Z  wire 1 mm, inside 8 mm, copper\n"
        "parts:\n  hook  brass\nexpect:\n  P meets 1 Q\nstart:\n  close A\n"
        "unit:\n  add B through prev C\n  fold back D\npiece:\n  chain 9 units\n"
    )
    for most, taken in ((10, True), (9, True), (8, False)):
        monkeypatch.setattr(effort, "MOST_NAMES", most)
        if taken:
            within_bounds(view(text))
        else:
            with pytest.raises(Refused, match="has 9 names of rings and parts"):
                within_bounds(view(text))


TURNS = "unit a:/add A through prev A/unit b:/add A through prev A"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (recipe(f"{PLAIN}/unit 1001:/add A through prev A/piece:/chain 2000 units"),
         "The heading on line 8 has the highest number of a unit."),
        (recipe(f"{PLAIN}/unit 1000:/add A through prev A/piece:/chain 2000 units"),
         "Most of it is asked for by step 2, line 7; name fewer rings in it, or split the recipe"),
        (recipe("variants:/odd  lay " + ", ".join(["front"] * 1001) + f"/{PLAIN}/piece:/chain 2000"
                " units"), "The patterns of the variants come round together only after more than"
         " 1,000 units; give them the same number of sides"),
        (recipe("variants:/odd  lay " + ", ".join(["front"] * 1000) + f"/{PLAIN}/piece:/chain 2000"
                " units"), "Most of it is asked for by step 2"),
        (recipe(f"start:/close A/{TURNS}/piece:/chain 9000 units/order "
                + ", ".join(["a", "b"] * 500 + ["a"])),
         "The blocks come round only after more than 1,000 turns; shorten 'order'."),
        (recipe(f"start:/close A/{TURNS}/piece:/chain 9000 units/order "
                + ", ".join(["a", "b"] * 500)), "Most of it is asked for by step"),
        (recipe("row a:/close A/row b:/close A/piece:/sheet 9000 rows of 3 units/order "
                + ", ".join(["a", "b"] * 500 + ["a"])), "The blocks come round only after"),
        (recipe("start:/close A/unit:/close B/add 9 A through prev A, B/close C"
                "/piece:/chain 9 units"), "Most of it is asked for by step 3, line 8"),
    ],
)  # fmt: skip
def test_what_asks_for_most_is_named(text: str, says: str, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = view(text)
    monkeypatch.setattr(effort, "MOST_WORK", 0)
    with pytest.raises(Refused) as told:
        within_bounds(seen)
    assert f"so it is not done. {says}" in str(told.value)


def test_when_pictures_take_long(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two steps, and a pair in the largest section: 4."""
    tree = view(DOUBLED).recipe
    for long, most, at_once in ((4, 4, True), (3, 4, False)):
        monkeypatch.setattr(effort, "LONG_DRAWN", long)
        monkeypatch.setattr(effort, "MOST_DRAWN", most)
        assert drawable(tree, "say it in words") is at_once
    monkeypatch.setattr(effort, "MOST_DRAWN", 3)
    with pytest.raises(Refused) as told:
        drawable(tree, "say it in words")
    assert str(told.value) == (
        "test.weave has a section of 2 rings, too many to draw after each of 2 steps; say it in"
        " words, or split the section in two"
    )
