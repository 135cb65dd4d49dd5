"""What papers say of slips, of the places of a round, of a lesson and of a page, known by hand."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from helpers import PERSIAN_WRITTEN, view
from test_lesson import EVENING

from ringstep.commands.cli import main
from ringstep.paper.headings import _runs, numbers_words
from ringstep.paper.lesson_tables import _exact, _minutes
from ringstep.paper.mistakes import mistakes
from ringstep.paper.page import (
    _INLINE,
    Frame,
    Html,
    _as_image,
    _paper_style,
    bullets,
    css_string,
    element,
    heading,
    joined,
    table,
    tick,
    whole_page,
)
from ringstep.paper.shape_words import growth_words
from ringstep.paper.tally import Round, _tally
from ringstep.weave.shape import Shape

# -- slips -----------------------------------------------------------------------------------------


def causes(text: str) -> dict[str, str]:
    return {m.see: m.cause for m in mistakes(view(text))}


def test_mistakes_of_units_written_out_leave_out_what_the_first_or_last_has_alone() -> None:
    """In unit 1 the S of the start go through 4 rings. Of two units there is no other to tell it
    by, so that all is told."""
    alone = (
        "one M ring passes through only 5 rings (7 is right) and two S rings each pass through only"
        " 3 rings (4 is right)"
    )
    pair = "two M rings each pass through only 6 rings (7 is right)"
    three = causes(PERSIAN_WRITTEN)
    assert three[pair] == "step 8 (in the other units 13) missed M1"
    assert alone not in three
    two = causes(PERSIAN_WRITTEN.rpartition("unit 3:")[0])
    assert two[pair] == "step 8 missed M1"
    assert two[alone] == "step 8 missed both S rings of the unit before"


# -- rounds ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("above", "wide", "words"),
    [
        (6, 6, ""),
        (1, 6, "all but the first extra"),
        (6, 18, "two extra ones after every ordinary one"),
        (2, 20, "nine extra ones after every ordinary one"),
        (5, 10, "every second one extra"),
        (4, 6, "every third one extra"),
        (12, 16, "every fourth one extra"),
        (5, 7, "places 4 and 7 extra"),
        (6, 1, "shared by all six of the row above"),
        (10, 5, "each shared by two of the row above"),
        (9, 3, "each shared by three of the row above"),
        (6, 4, "every second one shared by two of the row above"),
        (12, 9, "every third one shared by two of the row above"),
        (7, 3, "place 3 shared by three of the row above, all others by two"),
        (8, 3, "places 2 and 3 shared by three of the row above, all others by two"),
    ],
)
def test_shape_words_of_a_round_that_grows_or_shrinks(above: int, wide: int, words: str) -> None:
    shape = Shape((((1, above),), ((1, wide),)), round=True)
    assert growth_words(shape, 2) == words
    assert growth_words(shape, 1) == ""


def test_headings_tell_long_lists_of_turns_in_runs() -> None:
    assert _runs(["a", "b", "a", "a", "b", "b"]) == "a, b, a, a, b and b"
    assert _runs(["a"] * 3 + ["b"] + ["a"] * 3) == "3 a, b and 3 a"
    assert numbers_words([(3, 3), (5, 5)], "row") == "rows 3 and 5"
    assert numbers_words([(3, 4)], "row") == "rows 3 to 4"


# -- a lesson --------------------------------------------------------------------------------------


def test_lesson_tables_of_an_evening_read_as_they_were_worked_out(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """38 rings of 90 s are 57 minutes, 13 of them in 20; 39 rings, 2 tails and a clasp in a bag.
    The packs are those of a class of eight; 87.50 of work; 111.60 / 8 = 13.95, / 0.6 = 23.25."""
    assert main(EVENING) == 0
    out = " ".join(capsys.readouterr().out.split())
    for words in (
        "A 1.2 × 5 mm, copper 296 39 312 7.7 tail 1.2 × 8 mm, copper 8 2 16 0.6 clasp lobster claw,"
        " brass 1 8 - A: 39 weigh 7.66 g, one 0.1965 g; a scale that reads 0.1 g tells each ring;"
        " wire 1 % thicker weighs as 0.9 rings more - tail: 2 weigh 0.58 g, one 0.2916 g; a scale"
        " that reads 0.1 g tells each ring - spare rings are in the bags",
        "Start 1 1.5 1 add A 1 1 1.5 The unit 36 54.0 2 add A 36 36 54.0 Finish 1 1.5 3 add tail"
        " 1 1 1.5 all 38 57.0 - the pace is your own: 90 seconds a ring - one piece takes about 57"
        " minutes of work",
        "18:30 18:45 set-up 15 18:45 19:05 work 20 1 to 13 13 of 38 19:05 19:15 break 10 19:15"
        " 19:35 work 20 14 to 26 26 of 38 19:35 19:45 break 10 19:45 20:02 work 17 27 to 38 38 of"
        " 38 20:02 20:12 closing time 10 - from the beginning to the end: 1 hour 42 minutes -"
        " everyone works one piece",
        "A 4 packs of 100 × 3.80 15.20 tail 2 packs of 10 × 1.20 2.40 clasp 1 pack of 10 × 6.50"
        " 6.50 material, 8 kits whole packs as they are bought 24.10 your work, 8 kits 3.5 hours ×"
        " 25.00 87.50 cost material and work 111.60 cost a kit 111.60 / 8 13.95 with the margin"
        " 13.95 / 0.6: 40 % of the price stay 23.25 price of a kit rounded up to a multiple of 0.50"
        " 23.50 stays of 8 kits 8 × 23.50 less 111.60: 40.6 % of the price 76.40 - taxes, fees",
    ):
        assert words in out
    for absent in ("begin 18:30", "no price", "your own work is not in it", "no pace"):
        assert absent not in out
    top = [*EVENING[:-4], "--margin", "50 % on top", "--round", "0.50"]
    assert main(top) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert (
        "with the margin 13.95 × 1.5: 50 % of the cost on top 20.925 price of a kit rounded up to a"
        " multiple of 0.50 21.00 stays of 8 kits 8 × 21.00 less 111.60: 33.6 % of the price 56.40"
        in out
    )


def test_lesson_tables_mark_an_amount_that_goes_on() -> None:
    assert _exact(Fraction(1, 3), "EUR") == "0.3333…"
    assert _exact(Fraction(1, 8), "EUR") == "0.125"
    assert _exact(Fraction(12345, 10_000), "EUR") == "1.2345"
    assert _exact(Fraction(5), "EUR") == "5.00"
    assert [_minutes(Decimal(s)) for s in (3, 2, 90, 360_000)] == ["0.1", "0.0", "1.5", "6,000.0"]
    assert _minutes(None) == ""


# -- a page ----------------------------------------------------------------------------------------


def test_page_has_a_column_as_wide_as_its_paper_leaves() -> None:
    """210 mm less twice 15 and half a mm; with a stamp 10 mm less; letter is 215.9 mm wide."""
    assert Frame("x").text_wide == 179.5
    assert Frame("x", stamp="DRAFT").text_wide == 170
    assert Frame("x", "letter").text_wide == pytest.approx(185.4)
    told = _paper_style(Frame("t" * 90, "letter", large=True, stamp="D"))
    assert "size: letter portrait; margin: 14mm 15mm 17mm 15mm;" in told
    assert f'content: "{"t" * 80}";' in told
    assert "html { font-size: 18pt; }" in told
    assert "padding-right: 10mm" in told
    told = _paper_style(Frame("t"))
    assert "size: A4 portrait" in told
    assert "html { font-size: 10pt; }" in told
    assert "padding-right: 0.5mm" in told


def test_page_escapes_words_and_leaves_out_what_is_empty() -> None:
    assert css_string('a"b\\c') == '"a\\000022 b\\00005c c"'
    assert element("p", Html("x"), "", id="", aria_label='"<') == '<p aria-label="&quot;&lt;">x</p>'
    assert element("p", Html("x"), "k", for_="y") == '<p class="k" for="y">x</p>'
    assert heading(3, "a<b") == "<h3>a&lt;b</h3>"
    assert heading(3, "a", "top") == '<h3 id="top">a</h3>'
    assert bullets([]) == ""
    assert bullets([Html("a"), Html("b")], "k") == '<ul class="k">\n<li>a</li>\n<li>b</li>\n</ul>'
    assert joined([Html("a"), Html(""), Html("b")]) == "a\nb"
    assert 'aria-label="a&lt;"' in tick("a<")
    stamped = whole_page(Frame("t", stamp="NOT <CHECKED>"), Html("<p>x</p>"), "p {}")
    assert stamped.count("NOT &lt;CHECKED&gt;") == 2
    assert "p {}</style>" in stamped
    assert '<body>\n<p class="stamp"' in stamped
    plain = whole_page(Frame("t", large=True), Html("<p>x</p>"))
    assert '<body class="large">\n<main>\n<p>x</p>\n</main>' in plain
    assert "each-page" not in plain.partition("</style>")[2]


def test_page_has_tables_whose_first_cells_are_headings() -> None:
    rows = [[Html("a"), Html("1")], [Html("b"), Html("2")]]
    told = table("All <of> it", ["what", "how many"], rows, [1], "k")
    assert told == (
        "<table class='k'>\n<caption>All &lt;of&gt; it</caption>\n"
        '<thead><tr><th scope="col">what</th>\n<th class="number" scope="col">how many</th></tr>'
        "</thead>\n<tbody>\n"
        '<tr><th scope="row">a</th>\n<td class="number">1</td></tr>\n'
        '<tr><th scope="row">b</th>\n<td class="number">2</td></tr>\n</tbody>\n</table>'
    )
    bare = table("", ["what"], [[Html("a")]])
    assert bare.startswith("<table>\n\n<thead>")
    assert "number" not in bare


def test_page_hands_the_words_of_a_picture_on_to_a_pdf() -> None:
    svg = '<svg role="img" aria-label="a ring" xmlns="x" width="12pt" height="9.5pt"><g/></svg>'
    told = _INLINE.sub(_as_image, f"<p>{svg}</p>")
    assert told.startswith(
        '<p><img alt="a ring" style="width:12pt;height:9.5pt" src="data:image/svg+xml;base64,PHN2Zy'
    )
    assert told.endswith('"></p>')


def test_tally_has_its_boxes_in_fives() -> None:
    told = _tally("Units <done>", 7)
    assert told.count("<i></i>") == 7
    assert [part.count("<i>") for part in told.split('<span class="five">')[1:]] == [5, 2]
    assert "Units &lt;done&gt;: " in told
    assert "<i>F</i><i>B</i>" in _tally("x", 2, "FB")
    worked = Round("unit", (1, 2, 3, 7, 9, 10))
    assert worked.spans == [(1, 3), (7, 7), (9, 10)]
    assert Round("row", (4,)).spans == [(4, 4)]
