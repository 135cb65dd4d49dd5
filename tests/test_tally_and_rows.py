"""Boxes to tick for units and rows, and how steps stand beside one another on a page."""

from __future__ import annotations

import re

import pytest
from helpers import EUROPEAN, SIMPLE, view

from ringstep.draw.pictures import Diagram
from ringstep.paper.handout_steps import Cell, _rows, like_steps
from ringstep.paper.mirror import mirrored_words
from ringstep.paper.page import Html
from ringstep.paper.steps_text import step_list
from ringstep.paper.tally import boxes, round_of


def told(text: str) -> dict[str, str]:
    """What stands before the boxes of each section, with how many there are."""
    seen = view(text)
    assert not seen.troubles
    found = {}
    for section in step_list(seen).sections:
        html = boxes(seen, section, round_of(seen, section))
        each = re.findall(r'<p class="tally" aria-hidden="true">(.*?): (.*?)</p>', html, re.S)
        found[section.heading] = "; ".join(f"{name} {b.count('<i>')}" for name, b in each)
    return found


def chain(units: str, piece: str) -> dict[str, str]:
    blocks = "".join(f"unit {u}:\n  add A through prev A\n" for u in units.split())
    return told(
        'weave "It"\nrings:\n  all  wire 1 mm, inside 6 mm, copper\nstart:\n  close A\n'
        f"{blocks}piece:\n  chain {piece}\n"
    )


@pytest.mark.parametrize(
    ("count", "boxed"), [(1, ""), (2, "Units done 2"), (60, "Units done 60"), (61, "")]
)
def test_tally_has_a_box_for_each_unit_up_to_sixty(count: int, boxed: str) -> None:
    text = SIMPLE.replace("30 units", f"{count} unit{'s' * (count > 1)}")
    assert told(text) == {"Start": "", "The unit": boxed}


def test_tally_looks_through_six_hundred_units() -> None:
    def worked(count: int) -> int | None:
        seen = view(SIMPLE.replace("30 units", f"{count} units"))
        found = round_of(seen, step_list(seen).sections[1])
        return len(found.places) if found else None

    assert worked(600) == 600
    assert worked(601) is None


def test_tally_has_boxes_of_their_own_for_up_to_four_runs() -> None:
    """Five runs, or as many as take turns, are counted through."""
    assert chain("x y", "of 3 x, 2 y, 4 x") == {
        "Start": "", "Unit x": "Units 1 to 3 done 3; Units 6 to 9 done 4", "Unit y": "Units done 2",
    }  # fmt: skip
    four = chain("x y", "of 2 x, 1 y, 2 x, 1 y, 2 x, 1 y, 2 x")
    assert four["Unit x"].count(";") == 3
    assert four["Unit y"] == "Units done 3"
    five = chain("x y", "of 2 x, 1 y, 2 x, 1 y, 2 x, 1 y, 2 x, 1 y, 2 x")
    assert five["Unit x"] == "Units done 10"
    turns = chain("x y", "9 units")
    assert (turns["Unit x"], turns["Unit y"]) == ("Units done 5", "Units done 4")
    assert chain("x 3", "6 units")["Unit 3"] == ""


def test_tally_counts_the_rows_of_a_sheet() -> None:
    assert told(EUROPEAN) == {"First row": "", "Row": "Rows done 9"}


# -- steps side by side ----------------------------------------------------------------------------


def laid(cells: str) -> list[str]:
    """Rows of cells by their letters: small ones are steps, large ones wide, numbers headings."""
    made = [Cell(Html(c), wide=c.isupper(), head=c.isdigit()) for c in cells]
    found = []
    for row in _rows(made):
        plain = row.replace('<div class="step"></div>', "_")
        plain = re.sub(r'<div class="step">(\d)</div>', r"(\1)", plain)
        whole = plain.startswith('<div class="whole">')
        plain = re.sub(r"\s|</?div[^>]*>", "", plain)
        found.append(f"[{plain}]" if whole else plain)
    return found


@pytest.mark.parametrize(
    ("cells", "rows"),
    [
        ("abcd", ["ab", "cd"]),
        ("abc", ["ab", "c_"]),
        ("aBc", ["a_", "B", "c_"]),
        ("Aab", ["A", "ab"]),
        ("1ab2cd", ["[1ab]", "[2cd]"]),
        ("1a2b", ["[1a(2)]", "b_"]),
        ("1abc2d", ["[1ab]", "c(2)", "d_"]),
        ("12A", ["[12A]"]),
        ("1a2", ["[1a(2)]"]),
        ("ab1", ["ab", "1"]),
        ("1aB2c", ["[1a_]", "B", "[2c_]"]),
    ],
)
def test_handout_steps_stand_two_by_two(cells: str, rows: list[str]) -> None:
    """A heading stands above what follows; beside a step that would stand alone."""
    assert laid(cells) == rows


def test_handout_steps_of_written_units_that_say_the_same_have_one_picture() -> None:
    unit = "unit {}:\n  add A through prev A\n"
    text = (
        'weave "It"\nrings:\n  all  wire 1 mm, inside 6 mm, copper\nstart:\n  close A\n'
        + "".join(unit.format(n) for n in (1, 2, 3, 4))
        + "  add B through A\n"
    )
    seen = view(text)
    assert not seen.troubles
    assert like_steps(step_list(seen)) == {3: 2, 4: 2, 5: 2}


# -- for the left hand -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "other"),
    [
        ("<p>Lay it on the left.</p>", "<p>Lay it on the right.</p>"),
        ("Right of it, LEFT side", "Left of it, Right side"),
        ('<b class="left">left out, is right, all right, right through</b>',
         '<b class="left">left out, is right, all right, right through</b>'),
        ('<svg aria-label="to the right"><path d="left"/></svg>right',
         '<svg aria-label="to the left"><path d="left"/></svg>left'),
    ],
)  # fmt: skip
def test_mirror_changes_sides_in_words_and_labels_alone(words: str, other: str) -> None:
    assert mirrored_words(Html(words)) == other


def test_mirror_turns_a_diagram_about_the_middle_line() -> None:
    from ringstep.draw.diagrams import all_diagrams
    from ringstep.paper.mirror import mirrored_diagram

    one: Diagram = next(iter(all_diagrams(view(SIMPLE))))
    other = mirrored_diagram(one)
    assert [n.at for n in other.nodes] == [(-x, y) for x, y in (n.at for n in one.nodes)]
    assert other.frame[1::2] == one.frame[1::2]
    assert (other.frame[0], other.frame[2]) == (-one.frame[2], -one.frame[0])
    for line, turned in zip(one.lines, other.lines, strict=True):
        assert turned.path == tuple((-x, y) for x, y in line.path)
    for words, turned in zip(one.captions, other.captions, strict=True):
        assert turned.at == (-words.at[0], words.at[1])
    assert mirrored_diagram(other) == one
