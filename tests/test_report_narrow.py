"""A report on a narrow screen, in long lists, with long texts, and as data."""

from __future__ import annotations

from collections import Counter

import pytest

from ringstep.checks.report import (
    FileReport,
    Line,
    as_json,
    file_lines,
    finding_data,
    finding_lines,
    narrowed,
    plain,
)
from ringstep.language.findings import Finding, Label, Mend, Rule, Severity, TextEdit
from ringstep.language.source import Source, Span, source_from_text

STEP = "  add M2 through prev S, prev prev M if there picks 4 lay front"
SOURCE = source_from_text("\n" * 8 + STEP + "\n", "cuff.weave")


def under(words: str, line: str = STEP, number: int = 9) -> Span:
    """The place of some words."""
    at = line.index(words) + 1
    return Span(number, at, at + len(words))


FAULT = Finding(
    Rule("pick-count", "error"),
    under("picks 4"),
    "step 4 says it picks up 4 rings but goes through 3",
    "four stated here",
    (
        Label(under("prev S"), "two rings: S1 and S2 of the unit before"),
        Label(under("prev prev M if there"), "one ring"),
    ),
    ("to mend: name the missing ring after 'through', or write 'picks 3'",),
    (Mend("write 'picks 3'", (TextEdit(9, 47, 9, 54, "picks 3"),)),),
)


def shown(lines: list[Line], width: int) -> list[str]:
    return ["".join(text for text, _ in line).rstrip() for line in narrowed(lines, width)]


def test_on_a_wide_screen_nothing_is_broken() -> None:
    lines = finding_lines(FAULT, SOURCE)
    assert shown(lines, 120) == plain(lines).splitlines() == [
        "error: step 4 says it picks up 4 rings but goes through 3   [pick-count]",
        "  cuff.weave, line 9",
        "  9 |   add M2 through prev S, prev prev M if there picks 4 lay front",
        "    |                  ------ two rings: S1 and S2 of the unit before",
        "    | " + " " * 25 + "-" * 20 + " one ring",
        "    | " + " " * 46 + "^" * 7 + " four stated here",
        "     to mend: name the missing ring after 'through', or write 'picks 3'",
    ]  # fmt: skip


def test_on_a_narrow_screen_marks_go_with_their_part_of_the_line() -> None:
    assert shown(finding_lines(FAULT, SOURCE), 40) == [
        "error: step 4 says it picks up 4 rings",
        "  but goes through 3   [pick-count]",
        "  cuff.weave, line 9",
        "  9 |   add M2 through prev S, prev prev",
        "    |                  ------",
        "    | two rings: S1 and S2 of the unit",
        "    |   before",
        "    | " + " " * 25 + "-" * 10,
        "    | M if there picks 4 lay front",
        "    | " + "-" * 10 + " one ring",
        "    | " + " " * 11 + "^" * 7,
        "    | four stated here",
        "     to mend: name the missing ring",
        "       after 'through', or write 'picks",
        "       3'",
    ]


@pytest.mark.parametrize("width", [24, 30, 39, 41, 60])
def test_no_part_is_wider_than_the_screen_and_no_word_is_lost(width: int) -> None:
    lines = finding_lines(FAULT, SOURCE)
    parts = shown(lines, width)
    assert max(map(len, parts)) <= width
    words = [w for line in plain(lines).splitlines() for w in line.split() if w.strip("-^|")]
    told = [w for line in parts for w in line.split() if w.strip("-^|")]
    assert Counter(told) == Counter(words)
    for mark, length in (("-", 26), ("^", 7)):
        assert sum(line.count(mark) for line in parts if "|" in line) == length
    styles = {style for line in narrowed(lines, width) for text, style in line if text}
    assert styles == {"bold red", "bold", "dim", "cyan", ""}


def test_two_marks_end_where_the_screen_does() -> None:
    """A line just as wide as the screen stays whole, and so do words behind a mark."""
    line = "close A, B"
    source = source_from_text(line)
    fault = Finding(
        Rule("r", "note"), under("A", line, 1), "m", "one", (Label(under("B", line, 1), "two"),)
    )
    whole = ["  1 | close A, B", "    |       ^ one", "    |          - two"]
    assert shown(finding_lines(fault, source), 20)[2:] == whole
    assert shown(finding_lines(fault, source), 19)[2:] == [
        *whole[:2],
        "    |          -",
        "    | two",
    ]
    narrow = shown(finding_lines(fault, source), 15)[-5:]
    assert narrow == ["  1 | close A,", "    |       ^", "    | one", "    | B", "    | - two"]


def test_lines_marked_in_two_places_of_a_text_follow_one_another() -> None:
    source = source_from_text("close A\nadd B through A\n")
    fault = Finding(
        Rule("r", "warning"), Span(2, 15, 16), "m", "here", (Label(Span(1, 7, 8), "placed"),)
    )
    assert shown(finding_lines(fault, source), 80) == [
        "warning: m   [r]",
        "  recipe, line 2" if source.name == "recipe" else f"  {source.name}, line 2",
        "  1 | close A",
        "    |       - placed",
        "  2 | add B through A",
        "    |               ^ here",
    ]


def test_a_line_that_is_not_there_is_shown_empty() -> None:
    source = Source("x", ("one",), ("one",))
    lines = plain(finding_lines(Finding(Rule("r", "error"), Span(3, 1, 1), "m"), source))
    assert lines.splitlines()[2:] == ["  3 |", "    | ^"]


def test_texts_are_cut_at_400_letters() -> None:
    source = source_from_text("x" * 500)
    for letters, shown_ in ((400, "m" * 400), (401, "m" * 400 + "…")):
        fault = Finding(Rule("r", "error"), Span(1, 400, 402), "m" * letters, "h" * letters)
        lines = plain(finding_lines(fault, source)).splitlines()
        assert lines[0] == f"error: {shown_}   [r]"
        assert lines[2] == "  1 | " + "x" * 400
        assert lines[3] == "    | " + " " * 399 + "^ " + shown_.replace("m", "h")
    behind = Finding(Rule("r", "error"), Span(1, 401, 402), "m")
    assert len(finding_lines(behind, source)) == 3


def many(count: int, severity: Severity) -> FileReport:
    found = tuple(Finding(Rule("r", severity), Span(1, 1, 2), f"m{n}") for n in range(count))
    return FileReport(source_from_text("a", "x.weave"), found, ("30 steps", "a chain"))


def test_a_hundred_findings_are_told_and_the_rest_counted() -> None:
    told = plain(file_lines(many(100, "error"))).splitlines()
    assert [x for x in told if x.startswith("error: ")][-1] == "error: m99   [r]"
    assert told[-2:] == ["", "x.weave: 100 errors"]
    assert not any("more" in line for line in told)
    told = plain(file_lines(many(1600, "error"))).splitlines()
    assert sum(x.startswith("error: ") for x in told) == 100
    assert told[-3:] == ["and 1,500 more; mend these first", "", "x.weave: 1,600 errors"]


def test_what_was_measured_stands_under_a_clean_file_alone() -> None:
    assert plain(file_lines(many(0, "error"))) == ("x.weave: checks clean\n  30 steps\n  a chain\n")
    assert plain(file_lines(many(1, "note"))).splitlines()[-3:] == [
        "x.weave: checks clean (1 note)", "  30 steps", "  a chain",
    ]  # fmt: skip
    assert plain(file_lines(many(1, "error"))).splitlines()[-1] == "x.weave: 1 error"
    assert many(2, "warning").ok
    assert not many(2, "error").ok


def test_a_finding_as_data_has_all_its_places() -> None:
    assert finding_data(FAULT) == {
        "rule": "pick-count",
        "severity": "error",
        "line": 9,
        "column": 47,
        "end_line": 9,
        "end_column": 54,
        "message": "step 4 says it picks up 4 rings but goes through 3",
        "help": "to mend: name the missing ring after 'through', or write 'picks 3'",
        "labels": [
            {"line": 9, "column": 18, "end_line": 9, "end_column": 24,
             "text": "two rings: S1 and S2 of the unit before"},
            {"line": 9, "column": 26, "end_line": 9, "end_column": 46, "text": "one ring"},
        ],
        "mends": [
            {"says": "write 'picks 3'",
             "edits": ({"line": 9, "column": 47, "end_line": 9, "end_column": 54,
                        "text": "picks 3"},)},
        ],
    }  # fmt: skip
    two = as_json([many(1, "error"), many(0, "error")])["files"]
    assert [(f["file"], f["ok"], len(f["findings"])) for f in two] == [
        ("x.weave", False, 1), ("x.weave", True, 0),
    ]  # fmt: skip
