"""Colour pictures on sheets and tubes: counts, row lists and charts, held against the drawing.

The answers are read off the letters of the picture here, cell by cell, and off nothing else.
"""

from __future__ import annotations

import html
import json
import random
import re
from collections import Counter
from itertools import groupby
from pathlib import Path

import pytest
from helpers import EXAMPLES, findings, read, view
from slips_made import slips

from ringstep.checks.summary import summary_lines
from ringstep.commands.cli import main
from ringstep.draw.chart import CELL, charts
from ringstep.language.findings import typed_in
from ringstep.language.source import source_from_text
from ringstep.language.tidy import tidy
from ringstep.paper.printed import as_plain
from ringstep.paper.steps_text import step_list
from ringstep.weave.piece import Weave

HEART = EXAMPLES / "heart_panel.weave"
Out = pytest.CaptureFixture[str]

SHEET = """\
weave "Panel"
rings:
  A  wire 1.2 mm, inside 5.2 mm, aluminium, colour silver
expect:
  A meets 4
first row:
  close A
row:
  add A through above A, above next A if there
piece:
  sheet 3 rows of 5 units
  rows back and forth
picture:
  g = grey
  r = red
  rgggg
  rrggg
  rrrgg
"""
FLAT = """\
weave "Japanese 4-in-1"
rings:
  flat  wire 1.6 mm, inside 8 mm, aluminium
  all   wire 1.2 mm, inside 4 mm, aluminium
expect:
  flat meets 4
  across meets 2
  down meets 2
row:
  close flat
  add across through prev flat then flat picks 2 skip at edge
  add down through above flat then flat picks 2 skip at edge
piece:
  sheet 4 rows of 5 units
picture of flat, across:
  g = grey
  r = red
  rgggg
  rrggg
  rrrgg
  rrrrg
"""


def drawn(path: Path) -> list[str]:
    """The rows of a picture whose key is 'g' and 'r', as they stand in the file."""
    lines = (line.strip() for line in path.read_text(encoding="utf-8").splitlines())
    return [line for line in lines if line and set(line) <= {"g", "r"}]


def told_rows(text: str) -> list[str]:
    """The row list of a recipe as it is printed."""
    sheet = step_list(view(text)).picture
    assert sheet is not None
    return list(sheet.notes)


# -- the heart, an invented scenario ---------------------------------------------------------------


def test_the_heart_is_counted_by_colour(capsys: Out) -> None:
    rows = drawn(HEART)
    red = sum(row.count("r") for row in rows)
    assert (len(rows), {len(row) for row in rows}) == (11, {13})
    assert main(["count", str(HEART), "--json"]) == 0
    rings = json.loads(capsys.readouterr().out)["rings"]
    assert {r["colour"]: r["placed"] for r in rings} == {"grey": 11 * 13 - red, "red": red}
    # The first row is closed beforehand, every other ring is opened.
    assert {r["colour"]: r["closed"] for r in rings} == {"grey": 13, "red": 0}
    assert main(["kit", str(HEART), "--json", "--spares", "10"]) == 0
    kit = json.loads(capsys.readouterr().out)["rings"]
    assert [(k["name"], k["colour"], k["piece"]) for k in kit] == [
        ("A grey", "grey", 11 * 13 - red),
        ("A red", "red", red),
    ]
    assert [k["spares"] for k in kit] == [-(-(11 * 13 - red) // 10), -(-red // 10)]


def test_the_rows_of_the_heart_read_as_it_is_worked() -> None:
    words = {"g": "grey", "r": "red"}
    for number, (told, row) in enumerate(
        zip(told_rows(HEART.read_text(encoding="utf-8")), drawn(HEART), strict=True), 1
    ):
        worked = row if number % 2 else row[::-1]
        runs = [f"{len(list(same))} {words[letter]}" for letter, same in groupby(worked)]
        assert told.partition(": ")[2] == ", ".join(runs)


def test_the_step_list_lays_ready_by_colour_and_names_none_in_a_step() -> None:
    plain = as_plain(step_list(view(SHEET)).printed)
    assert re.findall(
        r"(\d+) rings for A: .*?, (\w+)\s\((.*?)\)", plain.replace("\n    ", " ")
    ) == [
        ("9", "grey", "5 opened and 4 closed beforehand"),
        ("6", "red", "5 opened and 1 closed beforehand"),
    ]
    assert "Close 1 ring, A, in the colour that the picture has there." in plain
    assert "silver" not in plain


# -- the direction in which rows are worked --------------------------------------------------------


def test_rows_worked_back_are_told_from_their_own_beginning() -> None:
    assert told_rows(SHEET) == [
        "row 1: 1 red, 4 grey",
        "row 2, back: 3 grey, 2 red",
        "row 3: 3 red, 2 grey",
    ]
    assert told_rows(SHEET.replace("  rows back and forth\n", ""))[1] == "row 2: 2 red, 3 grey"


def test_runs_and_letters_say_the_same() -> None:
    runs = SHEET.replace("  rrggg", "  2 r, 3 g").replace("  rrrgg", "  rr r gg")
    assert told_rows(runs) == told_rows(SHEET)
    assert findings(runs) == ()


# -- which rings have the colours ------------------------------------------------------------------


def lots(text: str) -> Counter[tuple[str, str]]:
    """Rings by role and letter, those of one ring by one beside those of the window."""
    found = []
    for weave in (view(text).weave, Weave(read(text)[0], whole=True)):
        each: Counter[tuple[str, str]] = Counter()
        for lot in weave.lots:
            each[lot.role, lot.letter] += lot.placed
        found.append(each)
    assert found[0] == found[1]
    return found[0]


def test_a_ring_that_is_not_there_has_no_colour() -> None:
    """`across` joins a flat ring to the one before it: its first place in a row has none."""
    assert findings(FLAT) == ()
    assert lots(FLAT) == {
        ("flat", "r"): 10, ("flat", "g"): 10, ("across", "r"): 6, ("across", "g"): 10,
        ("down", ""): 15,
    }  # fmt: skip
    assert told_rows(FLAT)[0] == "row 1: 1 red, 8 grey"
    sheet = step_list(view(FLAT)).picture
    assert sheet is not None
    assert "Outside the picture, in their own colour: 15 down." in sheet.intro


def test_rings_outside_the_picture_keep_the_colour_of_their_line() -> None:
    """The ring at the end of a row is an A as well; no letter of the picture is its."""
    text = SHEET.replace("piece:", "row end:\n  add A2 through last A1 picks 1\npiece:")
    text = text.replace("  A meets 4\n", "  A1 meets 4\n").replace("if there", "if there picks 2")
    text = text.replace("close A", "close A1").replace(
        "add A through above A, above next A", "add A1 through above A1, above next A1"
    )
    assert lots(text) == {("A", "r"): 6, ("A", "g"): 9, ("A", ""): 3}
    plain = as_plain(step_list(view(text)).printed)
    assert "Outside the picture, in their own colour: 3 A." in plain
    assert re.search(r"3 rings for A: .* silver", plain.replace("\n    ", " "))


def test_a_letter_may_name_its_own_material() -> None:
    text = SHEET.replace("r = red", "r = bright, copper")
    kinds = {(x.kind.colour, x.kind.material) for x in view(text).weave.lots if x.kind}
    assert kinds == {("grey", "aluminium"), ("bright", "copper")}
    assert told_rows(text)[0] == "row 1: 1 bright copper, 4 grey"


@pytest.mark.parametrize("seed", range(6))
def test_large_pictures_are_counted_on_the_window(seed: int) -> None:
    """What the cut piece and the letters of its places come to, against the letters themselves."""
    rng = random.Random(seed)
    rows, units = rng.randint(9, 30), rng.randint(9, 40)
    shape, back = rng.choice((("sheet", True), ("sheet", False), ("tube", False)))
    turns = rng.random() < 0.5
    letters = ["".join(rng.choice("ggrb") for _ in range(units)) for _ in range(rows)]
    there = " if there" if shape == "sheet" else ""
    second = "" if turns else "A"
    names = ("A", "B") if turns else ("A",)
    blocks = [
        f"row {name.lower()}row:\n  add {name} through above {above}, above next {above}{there}\n"
        for name, above in (("B", "A"), ("A", "B"))
    ] if not second else [f"row:\n  add A through above A, above next A{there}\n"]  # fmt: skip
    text = (
        'weave "Random"\nrings:\n  all  wire 1.2 mm, inside 5.2 mm, aluminium\n'
        "first row:\n  close A\n" + "".join(blocks) + f"piece:\n  {shape} {rows} rows of {units}"
        " units\n" + "  rows back and forth\n" * back + "  order brow, arow\n" * turns
        + "picture:\n  g = grey\n  r = red\n  b = blue\n" + "".join(f"  {x}\n" for x in letters)
    )  # fmt: skip
    assert not [f for f in findings(text) if f.severity == "error"]
    found = lots(text)
    wanted: Counter[tuple[str, str]] = Counter()
    for at, row in enumerate(letters):
        wanted.update((names[at % len(names)], letter) for letter in row)
    assert found == wanted
    told = told_rows(text)
    assert [sum(map(int, re.findall(r"(\d+) [a-z]", t.partition(": ")[2]))) for t in told] == (
        [units] * rows
    )


def test_a_picture_costs_little_more_than_its_text() -> None:
    """The window of a coloured sheet is that of the plain one, however large the picture."""
    rng = random.Random(3)
    rows = "".join(f"  {''.join(rng.choice('gr') for _ in range(200))}\n" for _ in range(100))
    head = SHEET.replace("3 rows of 5 units", "100 rows of 200 units").partition("  rgggg")[0]
    coloured, plain = view(head + rows), view(head.partition("picture:")[0])
    assert len(coloured.weave.work.acts) == len(plain.weave.work.acts) < 200
    assert sum(lot.placed for lot in coloured.weave.lots) == 20_000


# -- prices, the hand-out, the tidy form -----------------------------------------------------------


def test_a_price_list_has_its_line_for_each_colour(tmp_path: Path, capsys: Out) -> None:
    recipe, prices = tmp_path / "it.weave", tmp_path / "prices.csv"
    recipe.write_text(SHEET, encoding="utf-8")
    prices.write_text("ring,pack,price,currency\nA grey,5,1.00,EUR\nA red,5,2.00,EUR\n", "utf-8")
    assert main(["kit", str(recipe), "--prices", str(prices), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["cost"] == "6.00", "2 packs of 5 for 9 grey, 2 packs of 5 for 6 red"
    prices.write_text("ring,pack,price,currency\nA gray,5,1.00,EUR\n", "utf-8")
    assert main(["kit", str(recipe), "--prices", str(prices), "--json"]) == 2
    assert "the nearest is line 2, 'A gray'" in capsys.readouterr().err


def page_of(text: str, folder: Path, *more: str) -> str:
    recipe, page = folder / "it.weave", folder / "it.html"
    recipe.write_text(text, encoding="utf-8")
    words = ["handout", str(recipe), "--to", str(page), *more]
    assert main(words) == 0
    return page.read_text(encoding="utf-8")


def test_the_chart_has_every_letter_in_its_place(tmp_path: Path) -> None:
    """Read off the page: cells from the top, numbers at the side where a row is begun."""
    page = page_of(SHEET, tmp_path)
    chart = re.search(
        r'<svg[^>]*aria-label="the picture, rows 1 to 3, places 1 to 5".*?</svg>', page
    )
    assert chart
    cells = re.findall(r'<rect x="([\d.]+)" y="([\d.]+)"[^>]*fill="(#\w+)"/><text[^>]*>(\w)</text>',
                       chart[0])  # fmt: skip
    tall = sorted({float(y) for _, y, _, _ in cells})
    by_row = ["".join(c for _, y, _, c in sorted(cells, key=lambda k: float(k[0])) if float(y) == t)
              for t in tall]  # fmt: skip
    assert by_row == ["rgggg", "rrggg", "rrrgg"]
    assert len({fill for _, _, fill, _ in cells}) == 2
    assert all((c == "r") == (fill == cells[0][2]) for _, _, fill, c in cells)
    left = min(float(x) for x, _, _, _ in cells)
    numbers = {
        n: float(x) > left for x, n in re.findall(r'<text x="([\d.]+)" y="[\d.]+">(\d)<', chart[0])
    }
    assert numbers == {"1": False, "2": True, "3": False}
    assert "grey, 9 rings" in page
    assert [html.unescape(x) for x in re.findall(r'aria-label="Done: (.*?)"', page)] == (
        told_rows(SHEET)
    )
    assert "<svg" not in page_of(SHEET, tmp_path, "--pictures", "none")


def test_a_wide_picture_is_charted_in_parts(tmp_path: Path) -> None:
    wide = SHEET.replace("3 rows of 5", "3 rows of 85").partition("  rgggg")[0]
    page = page_of(wide + "  80 g, 5 r\n" * 3, tmp_path)
    parts = re.findall(r"the picture, rows 1 to 3, places (\d+) to (\d+)", page)
    assert parts == [("1", "40"), ("41", "80"), ("81", "85")]


def test_tidy_lays_a_picture_out_and_keeps_what_it_means() -> None:
    text = SHEET.replace("picture:", "PICTURE OF A :").replace("  g = grey", "g=  grey #heap 1")
    text = text.replace("  rrggg", "    2 r ,3 g")
    lines = tidy(source_from_text(text, "it")).lines
    at = lines.index("picture of A:")
    assert lines[at + 1 :] == (
        "  g = grey  #heap 1", "  r = red", "  rgggg", "  2 r, 3 g", "  rrrgg",
    )  # fmt: skip


def test_letters_may_spell_a_word_of_the_language() -> None:
    """A row of the letters r, o and w is a row, and a ring may be called picture."""
    text = SHEET.replace("of 5 units", "of 3 units").replace("  g = grey", "  o = grey\n  w = tin")
    text = text.replace("  rgggg\n  rrggg\n  rrrgg", "  row\n  Row\n  wor".lower())
    assert findings(text) == ()
    assert told_rows(text)[0] == "row 1: 1 red, 1 grey, 1 tin"
    named = re.sub(r"\bA\b", "picture", SHEET).replace("picture:", "picture of picture:")
    assert findings(named) == ()


# -- what cannot be read, and what would do harm ---------------------------------------------------


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("  g.g.g", "'.' cannot stand for a colour"),
        ("  g = ", "nothing stands behind '='"),
        ("  grey = grey", "'grey' is no single letter"),
        ("  2 gg, 3 r", "'gg' is no single letter"),
        ("  g = blue", "the letter 'g' stands for grey already, on line 14"),
        ("  99999999999999 g", "has 14 digits"),
        ("  █░█░█", "the key has no letter '█'"),
        ("  b  blue", "'b' stands alone before 'blue' and is no letter of the key"),
        ("  b: blue", "a line of the key has '='"),
        ("  b - blue", "'b' stands alone before '- blue'"),
        ("  b = colour blue", "'colour' is not said again in the key"),
        ("  5", "this line of 'picture:' cannot be read"),
    ],
)
def test_a_line_that_cannot_be_read_says_what_to_write(line: str, says: str) -> None:
    text = SHEET.replace("  rrggg", line)
    found = [f for f in findings(text) if f.span.line == 17]
    assert len([f for f in found if says in f.message]) == 1, findings(text)
    assert found[0].help


@pytest.mark.parametrize(
    ("slip", "rule", "says"),
    [
        (SHEET.replace("3 rows of 5 units", "3 rows of 6 units"), "picture-size",
         ["write 'sheet 3 rows of 5 units'"]),
        (SHEET.replace("3 rows of 5 units", "4 rows of 5 units"), "picture-size",
         ["write 'sheet 3 rows of 5 units'"]),
        (SHEET.replace("  rrggg", "  RRggg").replace("  rrrgg", "  2 R, 1 r, 2 g"),
         "unknown-letter", ["write 'r' for 'R'"]),
        # The lost row is a comment: no other size is offered.
        (SHEET.replace("  rrggg", "  ##ggg"), "picture-size", []),
        # One row of every size: which is right cannot be told.
        (SHEET.replace("  rrggg", "  rgg"), "picture-size", []),
    ],
)  # fmt: skip
def test_a_mend_typed_in_leaves_nothing_to_say(slip: str, rule: str, says: list[str]) -> None:
    (found,) = findings(slip)
    assert found.rule.name == rule
    assert [mend.says for mend in found.mends] == says
    for mend in found.mends:
        assert findings("\n".join(typed_in(tuple(slip.split("\n")), mend.edits))) == ()


@pytest.mark.parametrize(
    "text",
    [
        SHEET.partition("  g = grey")[0],
        SHEET.partition("  rgggg")[0],
        SHEET.replace("  rrggg", "  " + "g" * 3990),
        SHEET.replace("  rrggg", "  999999999999 g"),
        SHEET.replace("  rrggg", "  \u202e\u0007rrg"),
        SHEET.replace("  rrggg", "  環環環環環"),
        SHEET.replace("picture:", "picture of A, A, B:"),
        SHEET.replace("picture:", "picture of:"),
        SHEET.replace("picture:", "picture of through:"),
        SHEET + "picture:\n  g = grey\n",
        SHEET.replace("sheet 3 rows of 5 units", "sheet 999999999 rows of 999999999 units"),
        SHEET.replace("sheet 3 rows of 5 units", "sheet 0 rows of 5 units"),
        SHEET.replace("sheet 3 rows of 5 units", "loop 5 units"),
    ],
)
def test_hostile_pictures_are_told_and_nothing_breaks(
    text: str, tmp_path: Path, capsys: Out
) -> None:
    path = tmp_path / "it.weave"
    path.write_text(text, encoding="utf-8")
    for command in ("check", "count", "steps", "kit", "tidy"):
        status = main([command, str(path)])
        told = capsys.readouterr()
        assert status in (1, 2) or command == "tidy", told.out
        assert "Traceback" not in told.out + told.err
        assert "\u202e" not in told.out + told.err


def test_markup_in_a_colour_is_printed_as_words(tmp_path: Path) -> None:
    name = "<script>alert(1)</script>&'\\"
    page = page_of(
        SHEET.replace("r = red", f"r = {name.replace('(1)', '').replace('/', '')}"), tmp_path
    )
    assert "<script" not in page
    assert "&lt;script&gt;alert&lt;script&gt;&amp;" in page
    letters = page_of(SHEET.replace("r = red", "< = red").replace("rrr", "<<<").replace("rr", "<<")
                      .replace("  rgggg", "  <gggg"), tmp_path)  # fmt: skip
    assert ">&lt;</text>" in letters


@pytest.mark.parametrize("more", [(), ("--large",), ("--paper", "letter")])
def test_no_part_of_a_chart_is_higher_than_a_page(more: tuple[str, ...], tmp_path: Path) -> None:
    """US letter less its margins is 248 mm, 703 points (8.5 by 11 inches); A4 is higher."""
    tall = SHEET.replace("3 rows of 5", "90 rows of 5").partition("  rgggg")[0]
    page = page_of(tall + "  4 g, 1 r\n" * 90, tmp_path, *more)
    parts = re.findall(r'aria-label="the picture, rows (\d+) to (\d+),[^"]*" width="\d+pt" '
                       r'height="(\d+)pt"', page)  # fmt: skip
    assert [(a, b) for a, b, _ in parts] == [("1", "40"), ("41", "80"), ("81", "90")]
    assert all(int(high) < 703 for _, _, high in parts)


def test_a_piece_with_a_picture_repeats_but_for_its_colours() -> None:
    heart = (EXAMPLES / "heart_panel.weave").read_text(encoding="utf-8")
    assert "the piece repeats every unit, but for its colours" in summary_lines(view(heart))


@pytest.mark.parametrize("row", ["2g 2r 3g 2r 2g", "2 g 2 r 3 g, 2r, 2g", "2g,2r;3g+2r 2g"])
def test_a_row_in_numbers_without_its_commas_is_told_with_the_row_to_type(row: str) -> None:
    text = """\
rings:
  all  wire 1.6 mm, inside 7 mm, aluminium
expect:
  A meets 4
first row:
  close A
row:
  add A through above A, above next A if there at one place picks 2
piece:
  sheet 4 rows of 11 units
  rows back and forth
picture:
  g = grey
  r = red
  ggggggggggg
  ggggggggggg
  ROW
  ggggggggggg
"""
    (finding,) = findings(text.replace("ROW", row))
    assert finding.help == ("write '2 g, 2 r, 3 g, 2 r, 2 g'",)
    typed = view(text.replace("ROW", "2 g, 2 r, 3 g, 2 r, 2 g"))
    assert not findings(text.replace("ROW", "2 g, 2 r, 3 g, 2 r, 2 g"))
    assert [row.places for row in typed.recipe.picture.rows] == [11] * 4
    assert typed.recipe.picture.rows[2].letters == "ggrrgggrrgg"


def test_each_row_of_a_chart_stands_where_its_rings_hang() -> None:
    """Back and forth by half a ring to and fro; all one way half a ring further with every row; a
    tube, whose rows go round, and a weave that hangs straight down stand straight."""

    def begins(text: str) -> list[float]:
        (chart,) = charts(view(text).weave.colours)  # type: ignore[arg-type]
        cells = re.findall(r'<rect x="([\d.]+)" y="([\d.]+)"', chart)
        rows = sorted({float(y) for _, y in cells})
        return [min(float(x) for x, y in cells if float(y) == row) for row in rows]

    def offsets(text: str) -> list[float]:
        first, *rest = begins(text)
        return [(x - first) / CELL for x in rest]

    assert offsets(SHEET) == [-0.5, 0]
    assert offsets(SHEET.replace("  rows back and forth\n", "")) == [0.5, 1]
    assert offsets(SHEET.replace(", above next A if there", "")) == [0, 0]
    assert offsets(SHEET.replace("sheet 3", "tube 3").replace("  rows back and forth\n", "")) == [
        0,
        0,
    ]
    # So long that its middle is left out where links are counted: every row is still drawn.
    rows = 31
    tall = SHEET.replace("3 rows of 5", f"{rows} rows of 5").partition("  rgggg")[0]
    assert offsets(tall + "  rgggg\n" * rows) == [-0.5 * (n % 2) for n in range(1, rows)]


@pytest.mark.parametrize("name", ["heart_panel", "window_panel"])
def test_every_slip_in_a_picture_is_one_message_on_its_line(name: str) -> None:
    """A letter short, doubled or of no key is told at its row; a row too few or too many at the
    head of the picture, and never for every row below it."""
    text = (EXAMPLES / f"{name}.weave").read_text("utf-8")
    made = [s for s in slips(name, text) if s.kind == "picture mistyped"]
    assert len(made) == 5 * view(text).weave.layout.rows
    for slip in made:
        (found,) = findings(slip.text)
        assert found.severity == "error"
        assert found.span.line in slip.lines, slip


def test_the_row_that_is_missing_from_a_picture_is_named_where_the_others_fit_without_it() -> None:
    """Rows of 10, 10, 9, 8, 7, … places: without row 3 the ninth row has one letter too few, and
    so on; a row too many beside another of its width may be either."""
    text = (EXAMPLES / "window_panel.weave").read_text("utf-8")
    (short,) = findings(text.replace("  gggrrgggg\n", "", 1))
    assert short.help[0].endswith(
        "most likely row 3 of the piece is missing from it, for the others fit"
    )
    (long,) = findings(text.replace("  gggrrgggg\n", "  gggrrgggg\n" * 2, 1))
    assert "most likely row 3 or row 4 of it is one too many" in long.help[0]
