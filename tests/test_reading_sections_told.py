"""Sections that a recipe lacks or cannot have, and what to write."""

from __future__ import annotations

import pytest
from helpers import read
from small_recipes import RINGS, recipe
from told_lines import said_of

#: (recipe with '/' for each new line; for each that is told its line, what is underlined, what is
#: said and what to type). The two lines of 'rings:' stand before, so that the first line is 4.
TOLD: list[tuple[str, list[tuple[int, str, str, str]]]] = [
    # a recipe of one piece
    ("start:/close A/unit:/add A through prev A/piece:/chain 9 units/finish:",
     [(10, "finish:", "the section 'finish:' is empty",
       "write its steps under it, or take it out")]),
    ("piece:/chain 9 units",
     [(5, "  chain 9 units", "the recipe has no steps",
       "begin the part that repeats with 'unit:' and write its steps, one a line:\nunit:\n "
       " add A through prev A")]),
    ("unit:/add A through prev A if there",
     [(5, "  add A through prev A if there",
       "the recipe has no 'piece:' section, so nothing says how often the unit repeats",
       "add at the end:\npiece:\n  chain 24 units")]),
    ("unit:/add A through prev A if there/piece:/order plain",
     [(7, "  order plain", "nothing in 'piece:' says what is made",
       "begin it with a line such as 'chain 24 units' or 'loop 57 units'")]),
    ("unit 1:/close A/unit 2:/add A through prev A",
     []),
    ("start:/close A/finish:/tighten A",
     []),
    ("first row:/close A/row:/add A through above A",
     [(7, "  add A through above A",
       "the recipe has no 'piece:' section, so nothing says how often the unit repeats",
       "add at the end:\npiece:\n  sheet 8 rows of 12 units")]),
    # what a piece made first lacks
    ("piece panel:/chain 9 units/piece strip:/chain 4 units/unit:/add B through prev B if"
     " there/join:/add J through panel 1 last A, strip 1 first B",
     [(4, "panel", "the piece 'panel' has no steps",
       "write its sections below 'piece panel:', such as 'start:' and 'unit:'")]),
    ("piece panel:/unit:/add A through prev A if there/piece strip:/start:/close B/unit"
     " one:/close B/join:/add J through panel 1 last A, strip 1 first B",
     [(4, "panel", "nothing says how large the piece 'panel' is",
       "write its size below it, such as 'chain 24 units'"),
      (7, "strip", "nothing says how large the piece 'strip' is",
       "write its size below it, such as 'chain 24 units'")]),
    ("piece panel:/row:/add A through above A if there/piece strip:/start:/close B/join:/add J"
     " through panel 1 last A, strip 1 first B",
     [(4, "panel", "nothing says how large the piece 'panel' is",
       "write its size below it, such as 'sheet 8 rows of 12 units'")]),
    ("piece panel:/first row:/close A/last row:/add A through above A/piece"
     " strip:/start:/close B/join:/add J through panel 1 last A, strip 1 first B",
     [(4, "panel", "nothing says how large the piece 'panel' is",
       "write its size below it, such as 'sheet 8 rows of 12 units'")]),
    ("piece panel:/start:/close A/piece strip:/start:/close B",
     [(4, "panel", "nothing says how the piece 'panel' is joined",
       "write a section 'join:' with steps such as\n  add J through panel 1 last A, panel 2"
       " first A picks 2")]),
    # what none of them can be
    ("variants:/zig  lay front/piece panel:/chain 4 units/variant zig/unit:/add A through prev"
     " A if there/piece strip:/start:/close B/join:/add J through panel 1 last A, strip 1"
     " first B",
     [(8, "zig",
       "pieces that are joined are made in one variant, the first or the one asked for",
       "take the line out; '--variant' names another one")]),
    ("piece panel:/strands left 4 units, right 5 units/unit:/add A through prev A if"
     " there/piece strip:/start:/close B/join:/add J through panel 1 last A, strip 1 first B",
     [(5, "strands left 4 units, right 5 units",
       "a piece that is made first is a chain, a loop, a sheet or a tube",
       "make a piece of each strand, and join them")]),
    ("piece panel:/sheet 1 rows of 2 units/row:/close A/piece strip:/start:/close B/join:/add"
     " J through panel 1 last A, strip 1 first B/picture:/r = red/rr",
     [(13, "picture:", "a picture colours one sheet or tube, and this recipe joins pieces",
       "write the sheet as a recipe of its own, with its picture")]),
]  # fmt: skip


@pytest.mark.parametrize(("body", "wanted"), TOLD)
def test_what_the_reader_says(body: str, wanted: list[tuple[int, str, str, str]]) -> None:
    assert said_of(recipe(body)) == wanted


@pytest.mark.parametrize(
    ("text", "span", "message"),
    [
        ("", (1, 1, 2), "the recipe has no steps"),
        ("\n\n", (1, 1, 2), "the recipe has no steps"),
        ('weave "It"\n\n', (1, 1, 11), "the recipe has no steps"),
        ("start:\n  close A\n", (1, 1, 7), "the recipe has no 'rings:' section"),
    ],
)
def test_what_is_missing_is_told_where_text_stands(
    text: str, span: tuple[int, int, int], message: str
) -> None:
    where = read(text)[1][0].span
    assert (where.line, where.column, where.end) == span
    assert read(text)[1][0].message == message


def test_what_is_missing_of_one_piece_is_not_asked_of_several() -> None:
    """No 'piece:' is looked for there, and sizes along the piece are of one alone."""
    along = "rings:\n  A units 1 to 4  wire 1 mm, inside 5 mm\n  B  wire 1 mm, inside 6 mm\n"
    body = "piece panel:/chain 4 units/unit:/add A through prev A if there/"
    joins = "join:/add B through panel 1 last A"
    assert not read(recipe(body + joins, RINGS))[1]
    (told,) = read(recipe(body + joins, along))[1]
    assert (told.span.line, told.span.column, told.span.end) == (3, 5, 17)
    assert told.message == (
        "sizes that change along the piece are said of one piece, and this recipe joins several"
    )
    assert told.help == ("give the rings of other sizes a name of their own",)
    one = body.replace("panel", "").replace("piece :/chain 4 units/", "") + "piece:/chain 4 units"
    assert not read(recipe(one, along))[1]
