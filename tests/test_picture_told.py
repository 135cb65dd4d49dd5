"""What is said of a picture that does not fit its piece, and of letters that its key has not."""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

from ringstep.language.findings import typed_in

SHEET = (
    "expect:/A meets 4/first row:/close A/row:/add A through above A, above next A if there/"
    "piece:/sheet 4 rows of 6 units/rows back and forth/picture:/"
)
SHAPED = (
    "expect:/A meets 4/first row:/close A/row:/add A through above A if there, above next A if"
    " there/piece:/sheet 4 rows of 6 units/shape:/{}/picture:/g = grey/"
)
TAPER, STEP = SHAPED.format("rows 2 to 4  each 1 less"), SHAPED.format("row 3  1 less")
GREY = f"{SHEET}g = grey/"
OUT = "or take 'picture:' out"
FULL = "so that every place has one"
FIT = "for the others fit"

#: A recipe with a picture; each that is told: what is underlined, what is said, and what to do.
SIZES = [
    ("start:/close A/unit:/add A through prev A/piece:/chain 4 units/picture:/g = grey/gg",
     [("picture:", "a chain has no rows, so there is nothing to draw a picture on",
       ["make it a sheet or a tube, 'sheet 9 rows of 14 units', or take 'picture:' out"])]),
    (GREY.rstrip("/"), [("picture:", "the picture has no rows",
       ["write a line for each row, a letter for each place, as in 'ggrrgg',", OUT])]),
    (f"{GREY}# ggg/# ggg", [("picture:", "the picture has no rows",
       ["write a line for each row, a letter for each place, as in 'ggrrgg',", OUT,
        "2 lines under 'picture:' begin with '#', which makes a comment; colours are letters"])]),
    (f"{SHEET}gggggg", [("picture:", "the picture has no key",
       ["write a line for each colour, as in 'g = grey',", OUT])]),
    (SHEET.rstrip("/"), [("picture:", "the picture has neither key nor rows",
       ["write a line for each colour, as in 'g = grey',", OUT])]),
    # as a whole larger or smaller than the piece
    (f"{GREY}gggggg/gggggg/gggggg",
     [("picture:", "the picture has 3 rows, and the sheet has 4 rows",
       ["draw 1 row more", "or write 'sheet 3 rows of 6 units'"])]),
    (f"{GREY}gggggg/gggggg/gggggg/gggggg/gggggg/gggggg",
     [("picture:", "the picture has 6 rows, and the sheet has 4 rows",
       ["take out 2 rows", "or write 'sheet 6 rows of 6 units'"])]),
    (f"{GREY}gggg/gggg/gggg/gggg",
     [("picture:", "the picture has 4 letters in a row, and the sheet has 6 units in a row",
       ["give every row 6 letters", "or write 'sheet 4 rows of 4 units'"])]),
    (f"{GREY}gggg/gggg/gggg",
     [("picture:", "the picture has 3 rows of 4 letters in a row, and the sheet has 4 rows of 6"
       " units in a row", ["draw 1 row more", "or write 'sheet 3 rows of 4 units'"])]),
    # a row that a comment hides is not missed in the piece
    (f"{GREY}gggggg/gggggg/# gggg",
     [("picture:", "the picture has 2 rows, and the sheet has 4 rows",
       ["draw 2 rows more",
        "1 line under 'picture:' begins with '#', which makes a comment; colours are letters"])]),
    # row by row; most of them say how wide it is meant, where none is as wide as the piece
    (f"{GREY}gggggg/ggggg/gggggggg/gggggg",
     [("ggggg", "row 2 of the picture is 1 letter short: it has 5, and a row has 6 places",
       [f"write 1 more, {FULL}"]),
      ("gggggggg", "row 3 of the picture has 2 letters too many: it has 8, and a row has 6 places",
       [f"take out 2 letters, {FULL}"])]),
    (f"{GREY}gggggg/ggggg # ggg/gggggg/gggggg",
     [("ggggg", "row 2 of the picture is 1 letter short: it has 5, and a row has 6 places",
       [f"write 1 more, {FULL}", "what stands behind '#' is a comment; colours are letters"])]),
    (f"{GREY}gggg/gggg/ggggg/gggg",
     [("picture:", "the picture has 4 letters in a row, and the sheet has 6 units in a row",
       ["give every row 6 letters"]),
      ("ggggg", "row 3 of the picture has 1 letter too many: it has 5, and most rows have 4",
       [f"take out 1 letter, {FULL}"])]),
    # rows of a shape have their own widths, by which a row left out is known
    (f"{TAPER}gggggg/ggggg/ggggg/ggg",
     [("ggggg", "row 3 of the picture has 1 letter too many: it has 5, and row 3 of the piece has 4"
       " places", [f"take out 1 letter, {FULL}"])]),
    (f"{TAPER}gggggg/ggggg/ggg",
     [("picture:", "the picture has 3 rows, and the sheet has 4 rows",
       [f"draw 1 row more; most likely row 3 of the piece is missing from it, {FIT}"])]),
    (f"{TAPER}gggggg/ggggg/gggg/ggg/gg",
     [("picture:", "the picture has 5 rows, and the sheet has 4 rows",
       [f"take out 1 row; most likely row 5 of it is one too many, {FIT}"])]),
    (f"{TAPER}gggggg/gggggg",
     [("picture:", "the picture has 2 rows, and the sheet has 4 rows", ["draw 2 rows more"]),
      ("gggggg", "row 2 of the picture has 1 letter too many: it has 6, and row 2 of the piece has"
       " 5 places", [f"take out 1 letter, {FULL}"])]),
    (f"{STEP}gggggg/ggggg/ggggg",
     [("picture:", "the picture has 3 rows, and the sheet has 4 rows",
       ["draw 1 row more; most likely row 1 or row 2 of the piece is missing from it, for the"
        " others fit"])]),
    # how wide the rows are is not known
    (f"{SHAPED.format('rows 2 to 9  each 1 less')}gggggg/gggggg", []),
    (f"{GREY.replace('4 rows', '0 rows')}gggggg", []),
]  # fmt: skip


@pytest.mark.parametrize(("body", "told"), SIZES)
def test_picture_size_against_the_piece(body: str, told: list[tuple[str, str, list[str]]]) -> None:
    text = recipe(body)
    found = [f for f in findings(text) if f.rule.name == "picture-size"]
    assert [(underlined(text, f), f.message, list(f.help)) for f in found] == told
    for finding in found:
        if finding.labels:  # as a whole
            (label,) = finding.labels
            assert text.splitlines()[label.span.line - 1][2:7] in ("sheet", "chain")
        for mend in finding.mends:
            after = "\n".join(typed_in(tuple(text.splitlines()), mend.edits)) + "\n"
            assert findings(after) == ()


LETTERS = f"{SHEET}g = grey/G = green/r = red/"


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (f"{LETTERS}gggggg/gRRrgg/ggRbgg/gggggg",
         [("R", 18, 4, "the key has no letter 'R', which stands at 3 places of the picture, first"
           " in row 2", "write 'r', which is red,", ["gggggg", "grrrgg", "ggrbgg", "gggggg"]),
          ("b", 19, 6, "the key has no letter 'b', which stands at 1 place of the picture, first in"
           " row 3", "write a letter of the key, which has 'g', 'G' and 'r',", None)]),
        (f"{LETTERS}gggggg/1 R, 5 g/6 g/4 g, 2 R",
         [("R", 18, 5, "the key has no letter 'R', which stands at 3 places of the picture, first"
           " in row 2", "write 'r', which is red,", ["gggggg", "1 r, 5 g", "6 g", "4 g, 2 r"])]),
    ],
)  # fmt: skip
def test_picture_letter_that_the_key_has_not(
    body: str, told: list[tuple[str, int, int, str, str, list[str] | None]]
) -> None:
    text = recipe(body)
    found = [f for f in findings(text) if f.rule.name == "unknown-letter"]
    assert len(found) == len(told)
    for finding, (letter, line, column, message, help, rows) in zip(found, told, strict=True):
        assert underlined(text, finding) == letter
        assert (finding.span.line, finding.span.column, finding.message) == (line, column, message)
        assert finding.help == (help, f"or add a line such as '{letter} = blue' to the key")
        if rows is None:
            assert finding.mends == ()
        else:
            (mend,) = finding.mends
            assert mend.says == "write 'r' for 'R'"
            after = typed_in(tuple(text.splitlines()), mend.edits)
            assert [x.strip() for x in after[-4:]] == rows
