"""Lines that name pieces, and how often a piece is made: what is said of each, and what to type."""

from __future__ import annotations

import pytest
from helpers import read
from small_recipes import recipe
from told_lines import said_of

SHEET = (
    "piece panel:/sheet 2 rows of 3 units/{}/first row:/close A/row:/add A through above A/join:/{}"
)
Row = tuple[str, str, str, str]
#: (line, what is underlined, what is said, what to type)
JOINS: list[Row] = [
    ("add J through panle 1 last A, panel 2 first A", "panle", "no piece is called 'panle'",
     "the nearest is 'panel'"),
    ("add J through last A of panel 1, panel 2 first A", "last A of panel 1",
     "a piece stands before its ring, not behind it", "write 'panel 1 last A'"),
    ("add J through the last A on panel 2", "the last A on panel 2",
     "a piece stands before its ring, not behind it", "write 'panel 2 last A'"),
    ("add J through panel 1 A on the first row", "on the first row",
     "one goes along an edge, not 'on' it", "write 'along first row'"),
    ("add J through panel 1 A along left edge backward", "backward",
     "'backward' is not a word of the language here", "write 'backwards'"),
    ("add J through panel 1 A along left edge the other way", "the other way",
     "'the other way' is not a word of the language here", "write 'backwards'"),
    ("add J through panel 1 A along the top edge", "the top edge",
     "'the top edge' is no edge to go along", "write 'first row'"),
    ("add J through panel 1 A along lower edge", "lower edge",
     "'lower edge' is no edge to go along", "write 'last row'"),
    ("add J through panel 1 A along the left side", "the left side",
     "'the left side' is no edge to go along", "write 'left edge'"),
    ("add J through panel 1 A along lefft edge", "lefft edge",
     "'lefft edge' is no edge to go along", "the nearest is 'left edge'"),
    ("add J through panel 1 A along middle", "middle", "'middle' is no edge to go along",
     "one goes along first row, last row, left edge, right edge or every unit"),
    ("add J through sleeve 1 last A", "sleeve", "no piece is called 'sleeve'", ""),
]  # fmt: skip
MADE: list[Row] = [
    ("made 2", "made 2", "'made 2' is not how it is said how often a piece is made",
     "write 'made twice'"),
    ("made 3 panels", "made 3 panels",
     "'made 3 panels' is not how it is said how often a piece is made", "write 'made 3 times'"),
    ("2 x", "2 x", "'2 x' is not how it is said how often a piece is made",
     "write 'made twice'"),
    ("make once", "make", "no line of 'piece:' begins with 'make'",
     "the nearest word is 'made'"),
    ("one time", "one time", "'one time' is not how it is said how often a piece is made",
     "write 'made once'"),
    ("made 4 of them", "made 4 of them",
     "'made 4 of them' is not how it is said how often a piece is made",
     "write 'made 4 times'"),
    ("5 pieces", "5 pieces", "'5 pieces' is not how it is said how often a piece is made",
     "write 'made 5 times'"),
]  # fmt: skip


def only(line: str, text: str) -> Row:
    """What the one trouble of a recipe says, all of it on that line."""
    ((at, *rest),) = said_of(text)
    assert text.split("\n")[at - 1] == f"  {line}"
    under, message, help = rest
    return line, under, message, help


@pytest.mark.parametrize("wanted", JOINS)
def test_a_step_that_joins(wanted: Row) -> None:
    found = only(wanted[0], recipe(SHEET.format("made 2 times", wanted[0])))
    assert found[:3] == wanted[:3]
    assert found[3] == wanted[3] or (not wanted[3] and "panel" in found[3])


@pytest.mark.parametrize("wanted", MADE)
def test_how_often_a_piece_is_made(wanted: Row) -> None:
    text = recipe(SHEET.format(wanted[0], "add J through panel 1 last A"))
    assert only(wanted[0], text) == wanted
    meant = wanted[3].split("'")
    if meant[0] == "write ":
        assert not read(text.replace(f"  {wanted[0]}\n", f"  {meant[1]}\n"))[1]


def test_edges_and_counts_that_read() -> None:
    along = "add J through panel 1 A along left edge, panel 2 A along right edge backwards"
    for often, times in (("made once", 1), ("made twice", 2), ("made 7 times", 7)):
        tree, troubles = read(recipe(SHEET.format(often, along)))
        assert not troubles
        assert [made.times for made in tree.made] == [times]
