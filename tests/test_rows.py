"""Rows that take turns: stripes in a sheet, from the text to the step list."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from helpers import LIBRARY, findings, view

from ringstep.checks.summary import summary_lines
from ringstep.commands.cli import main
from ringstep.paper.steps_text import finished_lines, step_list
from ringstep.weave.likeness import compare
from ringstep.weave.piece import Weave

STRIPES = """\
weave "Striped cuff"
rings:
  A  wire 1.2 mm, inside 5 mm, aluminium, colour silver
  B  wire 1.2 mm, inside 5 mm, aluminium, colour blue
expect:
  A meets 4 B
  B meets 4 A
first row:
  close A
row blue:
  add B through above A, above next A if there picks 2
row silver:
  add A through above B, above next B if there picks 2
piece:
  sheet 8 rows of 12 units
  rows back and forth
  order blue, silver
"""
#: One silver row after every two blue ones.
BROAD = (
    STRIPES.replace("A meets 4 B", "A meets 4").replace("B meets 4 A", "B meets 4")
    .replace("row silver:", "row second:\n  add B through above B, above next B if there picks 2\n"
             "row silver:")
    .replace("order blue, silver", "order blue, second, silver")
)  # fmt: skip


def test_stripes_have_the_links_of_the_plain_sheet() -> None:
    """design: a European 4-in-1 ring meets 4; colours change no link."""
    plain = view((LIBRARY / "european_4.weave").read_text(encoding="utf-8"))
    for text in (STRIPES, BROAD):
        assert findings(text) == ()
        assert compare(view(text).weave, plain.weave).links


@pytest.mark.parametrize(
    ("text", "rows", "silver", "every"),
    [
        # 8 rows: A first, then B, A, B, A, B, A, B
        (STRIPES, 8, 4, "every unit and every two rows"),
        (STRIPES, 7, 4, "every unit and every two rows"),
        # A first, then B, B, A, B, B, A, B: three A; each row leans the other way, so 2 × 3 rows
        (BROAD, 8, 3, "every unit and every six rows"),
        (BROAD.replace("  rows back and forth\n", ""), 8, 3, "every unit and every three rows"),
        # the same row under two names
        (STRIPES.replace("B", "A").replace("  A  wire", "  all  wire", 1)
         .replace("  A  wire 1.2 mm, inside 5 mm, aluminium, colour blue\n", "")
         .replace("  A meets 4 A\n", "", 1).replace("  rows back and forth\n", ""),
         8, 8, "every unit and row"),
    ],
)  # fmt: skip
def test_rows_are_counted_and_come_round(text: str, rows: int, silver: int, every: str) -> None:
    seen = view(text.replace("8 rows", f"{rows} rows"))
    assert summary_lines(seen)[-1] == f"the piece repeats {every}"
    placed = seen.weave.counts.placed()
    assert placed["A", 1] == 12 * silver
    assert placed.total() == 12 * rows
    assert view(text.replace("8 rows", "8002 rows")).weave.counts.total() == 8002 * 12


def test_large_sheets_are_counted_like_small_ones() -> None:
    seen = view(BROAD.replace("8 rows", "301 rows"))
    assert Weave(seen.recipe, whole=True).counts == seen.weave.counts


def test_the_list_says_how_rows_take_turns() -> None:
    told = step_list(view(STRIPES)).sections
    turns = (
        "Rows take turns: blue and silver, and so on up to row 8, which is blue. In each row work"
        " these steps 12 times."
        " Work every second row the other way, back along the row above."
    )
    assert [(s.heading, s.intro) for s in told] == [
        ("First row", "Work these steps 12 times along the row."),
        ("Row blue", turns),
        ("Row silver", turns),
    ]
    assert [s.steps[0].sentence.split(". ")[0].rstrip(".") for s in told] == [
        "Close 1 silver ring, A",
        "Open 1 blue ring, B",
        "Open 1 silver ring, A",
    ]


@pytest.mark.parametrize("line", [11, 13])
def test_a_ring_missed_in_one_of_the_rows(line: int) -> None:
    lines = STRIPES.splitlines()
    lines[line - 1] = lines[line - 1].split(",")[0]
    (found,) = findings("\n".join(lines))
    assert found.span.line == line
    assert "above next" in " ".join((found.message, *found.help))


def test_the_hand_out_has_a_box_for_each_row_of_its_kind(tmp_path: Path) -> None:
    recipe, page = tmp_path / "it.weave", tmp_path / "it.html"
    recipe.write_text(STRIPES, encoding="utf-8")
    words = ["handout", str(recipe), "--pictures", "none", "--to", str(page)]
    assert main(words) == 0
    text = page.read_text(encoding="utf-8")
    tallies = re.findall(r'class="tally" aria-hidden="true">Rows done: (.*?)</p>', text)
    assert [t.count("<i>") for t in tallies] == [4, 3], "rows 2, 4, 6, 8 and rows 3, 5, 7"
    assert "he piece repeats every unit and every two rows" in text


def test_edges_that_meet_more_are_not_said_to_meet_fewer() -> None:
    told = finished_lines(view(STRIPES))
    assert told[-1] == "at the edges they pass through fewer"
    more = STRIPES.replace("  close A\n", "  close A\n  add 4 C through A\n")
    more = more.replace("expect:\n", "  C  wire 1.2 mm, inside 5 mm, tin\nexpect:\n", 1)
    assert [f.rule.name for f in findings(more) if f.severity == "error"] == []
    told = finished_lines(view(more))
    assert told[-1] == "at the edges they pass through other numbers"


@pytest.mark.parametrize(
    ("way", "step", "slants"),
    [
        ("", "above A, above next A if there", True),
        ("  rows back and forth\n", "above A, above next A if there", False),
        # To both sides alike, and straight up: the outline is a rectangle either way.
        ("", "above prev A if there, above A, above next A if there", False),
        ("", "above A", False),
        ("shape:\n  rows 2 to 5  each 1 less\n", "above A, above next A if there", False),
    ],
)
def test_a_sheet_whose_sides_slant_unsaid_says_so_once(way: str, step: str, slants: bool) -> None:
    text = "first row:\n  close A\nrow:\n  add A through " + step
    text += "\npiece:\n  sheet 5 rows of 8 units\n" + way
    told = [line for line in summary_lines(view(text)) if "slant" in line]
    assert len(told) == slants
