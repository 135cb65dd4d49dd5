"""Small checks word for word: samples, repeats, rings a unit, promises untested, what is not used,
and whose rings a picture colours. Lengths and repeats are worked out by hand.
"""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

ALL = "all  wire 1 mm, inside 6 mm, copper"  # 8 mm across
PLAIN = "start:/close A/unit:/add A through prev A/piece:/chain 190 mm"
SHORT = PLAIN.replace("190 mm", "1 unit")
TURNS = (
    "start:/close A/unit a:/add A through prev A/unit b:/add B through prev A/add A through B/"
    "piece:/chain of 5 a, 3 b"
)
PAIRS = (
    "start:/close A1/add A2 through A1/unit:/add A1 through prev A/"
    "add A2 through prev A, A1 lay {}/piece:/chain 12 units"
)
SHEET = (
    "first row:/close A/row:/add A through above A, above next A if there/piece:/"
    "sheet 4 rows of 6 units/rows back and forth/picture{}:/g = grey/r = red/{}"
)
SQUARES = (
    "row:/close flat/add across through prev flat, flat picks 2 skip at edge/"
    "add down through above flat, flat picks 2 skip at edge/row end:/add E through last flat/"
    "piece:/sheet 2 rows of 3 units/picture{}:/g = grey/ggg/ggg"
)
AGAIN = PLAIN.replace("piece:", "again:/add B through A, next A if there lay front/piece:")
TWO_SIZES = (
    "A units 1 to 10  wire 1 mm, inside 6 mm, copper/A units 11 to 20  wire 2 mm, inside 8 mm,"
    " copper"
)
VARIANTS = "variants:/v  lay front/z  lay front, back/expect:/"
MEASURE = "mend the number or its unit of size, or measure again"
NAMED = "name rings that are placed in 'row:' or 'first row:'"
SHORTER = "the piece is too short for one; make it longer"
UNUSED = "add the step that is missing, or take the line out"


def unlike(what: str, size: str, most: str) -> tuple[str, ...]:
    why = most if "unit" in most else f"their rings end to end come to {most}"
    return size, f"{what} of these rings cannot measure {size}: {why}", MEASURE


def low(each: str) -> str:
    return f"that is {each} mm a unit, less than half a wire"


#: A rule; a recipe; and each that is told: what is underlined, what is said, what to do.
TOLD: list[tuple[str, str, list[tuple[str, ...]]]] = [
    # a unit of one ring is no longer than 8 mm and no shorter than half a wire; one of two 16 mm
    ("sample-unlikely", f"{PLAIN}/sample 10 units = 80 mm", []),
    ("sample-unlikely", f"{PLAIN}/sample 10 units = 80.1 mm",
     [unlike("10 units", "80.1 mm", "80 mm")]),
    ("sample-unlikely", f"{PLAIN}/sample 1 unit = 9 mm", [unlike("1 unit", "9 mm", "8 mm")]),
    ("sample-unlikely", f"{PLAIN}/sample 10 units = 5 mm", []),
    ("sample-unlikely", f"{PLAIN}/sample 10 units = 4.9 mm",
     [unlike("10 units", "4.9 mm", low("0.49"))]),
    ("sample-unlikely", f"{TURNS}/sample 5 a = 41 mm/sample 3 b = 49 mm",
     [unlike("5 a", "41 mm", "40 mm"), unlike("3 b", "49 mm", "48 mm")]),
    ("sample-unlikely", f"{TURNS}/sample 5 a = 2 mm/sample 3 b = 1 mm",
     [unlike("5 a", "2 mm", low("0.4")), unlike("3 b", "1 mm", low("0.33"))]),
    # of units that differ it may be any of them
    ("sample-unlikely", f"{TURNS}/sample 8 units = 128 mm", []),
    ("sample-unlikely", f"{TURNS}/sample 8 units = 128.5 mm",
     [unlike("8 units", "128.5 mm", "128 mm")]),
    # a second pass adds its rings; a part may be as long as it likes
    ("sample-unlikely", f"{AGAIN}/sample 10 units = 160 mm", []),
    ("sample-unlikely", f"{AGAIN}/sample 10 units = 161 mm",
     [unlike("10 units", "161 mm", "160 mm")]),
    ("sample-unlikely", "parts:/bead  glass, hole 2 mm/start:/add A through bead/unit:/close bead/"
     "add A through prev bead, bead picks 2/piece:/chain 190 mm/sample 10 units = 500 mm", []),
    # lays that alternate repeat every two units, links every one
    ("repeat-length", f"expect:/repeats every 2 units/{PAIRS.format('front')}",
     [("repeats every 2 units", "the piece is promised to repeat every 2 units and repeats every 1"
       " unit", "write 'repeats every 1 unit', or change the lays")]),
    ("repeat-length", f"{VARIANTS}v repeats every 3 units/q repeats every 2 units/z repeats every 5"
     f" units/{PAIRS.format('varies')}/variant v",
     [("v repeats every 3 units", "variant 'v' is promised to repeat every 3 units and repeats"
       " every 1 unit", "write 'repeats every 1 unit', or change the lays"),
      ("z repeats every 5 units", "variant 'z' is promised to repeat every 5 units and repeats"
       " every 2 units", "write 'repeats every 2 units', or change the lays",
       "the links alone repeat every 1 unit")]),
    ("repeat-length", f"{VARIANTS}v repeats every 1 units/z repeats every 2 units/"
     f"{PAIRS.format('varies')}/variant v", []),
    ("repeat-length", f"{VARIANTS}repeats every 3 units/{PAIRS.format('varies')}/variant z",
     [("repeats every 3 units", "variant 'z' is promised to repeat every 3 units and repeats every"
       " 2 units", "write 'repeats every 2 units', or change the lays",
       "the links alone repeat every 1 unit")]),
    # letters of the key, however they are written in the rows
    ("unused-letter", SHEET.format("", "B = blue/gggggg/gggggg/gggggg/ggbggg"),
     [("r = red", "no row of the picture has the letter 'r', red",
       "use it in a row, or take the line out")]),
    ("unused-letter", SHEET.format("", "B = blue/gggggg/gggggg/6 g, 0 r/gggggg"),
     [("r = red", "no row of the picture has the letter 'r', red",
       "use it in a row, or take the line out"),
      ("B = blue", "no row of the picture has the letter 'B', blue",
       "use it in a row, or take the line out")]),
    # whose rings a picture colours
    ("picture-rings", SHEET.format(" of A", "gggggg/gggggg/ggrggg/gggggg"), []),
    ("picture-rings", SHEET.format(" of Aa", "gggggg/gggggg/ggrggg/gggggg"),
     [("Aa", "no row places a ring Aa; the nearest is 'A'", NAMED)]),
    ("picture-rings", SQUARES.format(""),
     [("picture:", "nothing says whose rings the picture colours: a row places flat, across and"
       " down", "say it in the heading, such as 'picture of flat:'")]),
    ("picture-rings", SQUARES.format(" of E"),
     [("E", "no row places a ring E; the rows place flat, across and down", NAMED)]),
    # rings a unit, each unit by itself
    ("unit-count", f"expect:/3 rings a unit/{TURNS}",
     [("unit a:", "unit a places 1 ring, 3 promised",
       "add the step that is missing, or write '1 ring a unit'",
       "most likely: write '3 A' in step 2"),
      ("unit b:", "unit b places 2 rings, 3 promised",
       "add the step that is missing, or write '2 rings a unit'",
       "either: write '2 B' in step 3", "or: write '2 A' in step 4")]),
    ("unit-count", f"expect:/1 ring a unit/{PLAIN.replace('add A', 'add 2 A')}",
     [("unit:", "the unit places 2 rings, 1 promised",
       "take out the step too many, or write '2 rings a unit'")]),
    ("unit-count", f"expect:/1 ring a unit/{TURNS.replace(' B', ' 2 B', 1)}",
     [("unit b:", "unit b places 3 rings, 1 promised",
       "take out the step too many, or write '3 rings a unit'")]),
    # promises that no ring is held to
    ("promise-untested", f"expect:/A meets 2/{SHORT}",
     [("A meets 2", "no ring is held to this promise: no A of this piece has all its neighbours",
       SHORTER)]),
    ("promise-untested", f"expect:/A2 meets 4/{SHORT}".replace("close A", "close 2 A").replace(
        "add A", "add 2 A"),
     [("A2 meets 4", "no ring is held to this promise: no A2 of this piece has all its neighbours",
       SHORTER)]),
    ("promise-untested", "expect:/A meets 4/first row:/close A/row:/add A through above A, above"
     " next A if there/piece:/sheet 2 rows of 2 units",
     [("A meets 4", "no ring is held to this promise: no A of this piece has all its neighbours",
       SHORTER)]),
    ("promise-untested", f"expect:/A meets 2/{SHORT}/sample 0 units = 41 mm", []),
    ("promise-untested", f"expect:/A meets 2/Q meets 2/A7 meets 2/{PLAIN}", []),
    # what no step uses
    ("never-used", f"parts:/clasp  brass/eye  brass/{PLAIN}",
     [("clasp", "no step uses clasp", "add the step that is missing, such as 'add A through last A,"
       " clasp',", "or take the line out"),
      ("eye", "no step uses eye", "add the step that is missing, such as 'add A through last A,"
       " eye',", "or take the line out")]),
]  # fmt: skip


def said(rule: str, text: str) -> list[tuple[str, ...]]:
    found = [f for f in findings(text) if f.rule.name == rule]
    return [(underlined(text, f), f.message, *f.help) for f in found]


@pytest.mark.parametrize(("rule", "body", "told"), TOLD)
def test_small_checks(rule: str, body: str, told: list[tuple[str, ...]]) -> None:
    """Of sample_length, period, picture_key, picture_rings, unit_size, untested and unused."""
    assert said(rule, recipe(body, f"rings:\n  {ALL}\n")) == told


@pytest.mark.parametrize(
    ("rings", "rest", "told"),
    [
        # the wider of two sizes: 12 mm across
        (TWO_SIZES, "sample-unlikely 120", []),
        (TWO_SIZES, "sample-unlikely 121", [unlike("10 units", "121 mm", "120 mm")]),
        ("all  copper", "sample-unlikely 900", []),
        ("B  wire 1 mm, inside 6 mm, copper", "sample-unlikely 900", []),
        (f"A  wire 1 mm, inside 6 mm, copper/{ALL}", "never-used 80",
         [(ALL, "the line 'all' describes no ring: every role has a line of its own",
           "take the line out")]),
        (f"A1  wire 1 mm, inside 6 mm, copper/{ALL}", "never-used 80", []),
        (f"A  wire 1 mm, inside 6 mm, copper/Ab  {ALL[5:]}/Q  {ALL[5:]}", "never-used 80",
         [("Ab", "no step places Ab", "the nearest name in the steps is 'A'", UNUSED),
          ("Q", "no step places Q", UNUSED)]),
    ],
)  # fmt: skip
def test_lines_of_rings_in_sample_length_and_unused(
    rings: str, rest: str, told: list[tuple[str, ...]]
) -> None:
    rule, length = rest.split()
    body = f"{PLAIN.replace('190 mm', '20 units')}/sample 10 units = {length} mm"
    lines = "".join(f"  {line}\n" for line in rings.split("/"))
    assert said(rule, recipe(body, f"rings:\n{lines}")) == told
