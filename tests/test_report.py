"""How a finding looks on a page: one text, plain or painted, that nothing typed can steer."""

from __future__ import annotations

import io
import sys
import unicodedata

import pytest
from helpers import SIMPLE, findings, report, view

from ringstep.checks.report import FileReport, as_json, file_lines, finding_lines, paint, plain
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.screen import safe
from ringstep.language.source import Source, Span, source_from_text

RULE = Rule("pick-count", "error")


def shown(text: str, finding: Finding) -> list[str]:
    """The lines of one finding, as plain text."""
    return plain(finding_lines(finding, source_from_text(text, "cuff.weave"))).splitlines()


def test_the_house_example() -> None:
    """The layout that the house style shows: source line, marks below, what to type."""
    text = "\n" * 11 + "  add M2 through prev S picks 3\n"
    finding = Finding(
        RULE,
        Span(12, 25, 32),
        "step 4 says it picks up 3 rings but goes through 2",
        "three stated here",
        (Label(Span(12, 18, 24), "two rings: S1 and S2 of the unit before"),),
        ("to mend: name the missing ring after 'through', or write 'picks 2'",),
    )
    assert shown(text, finding) == [
        "error: step 4 says it picks up 3 rings but goes through 2   [pick-count]",
        "  cuff.weave, line 12",
        "  12 |   add M2 through prev S picks 3",
        "     |                  ------ two rings: S1 and S2 of the unit before",
        "     |                         ^^^^^^^ three stated here",
        "      to mend: name the missing ring after 'through', or write 'picks 2'",
    ]


@pytest.mark.parametrize(
    ("line", "start", "end", "blanks", "marks"),
    [
        ("add A through", 4, 5, 3, 1),
        ("環 環環", 2, 4, 2, 3),  # each takes two columns on a screen
        ("環 環環", 3, 5, 3, 4),
        ("a\u0301 b", 4, 5, 2, 1),  # a combining mark takes none
        ("\tadd", 2, 5, 1, 3),  # a tab is shown as one blank
        ("", 1, 2, 0, 1),
    ],
)
def test_marks_stand_under_the_text_on_a_screen(
    line: str, start: int, end: int, blanks: int, marks: int
) -> None:
    lines = shown(line, Finding(RULE, Span(1, start, end), "m"))
    assert lines[3] == "    | " + " " * blanks + "^" * marks


def test_lines_of_two_lengths_of_number_line_up() -> None:
    text = "\n" * 8 + "nine\nten\n"
    finding = Finding(RULE, Span(10, 1, 4), "m", labels=(Label(Span(9, 1, 5), "here"),))
    assert shown(text, finding)[2:] == [
        "   9 | nine",
        "     | ---- here",
        "  10 | ten",
        "     | ^^^",
    ]


def test_a_very_long_line_is_cut() -> None:
    text = "x" * 5_000
    assert max(map(len, shown(text, Finding(RULE, Span(1, 1, 2), "m")))) < 420
    assert len(shown(text, Finding(RULE, Span(1, 4_000, 4_001), "m"))) >= 3


@pytest.mark.parametrize(
    "mark", ["\x1b", "\x07", "\x08", "\x9b", "\u202e", "\u2066", "\u200f", "\u2028", "\ud800"]
)
def test_nothing_typed_can_steer_a_terminal(mark: str) -> None:
    clean = safe(f"a{mark}b")
    assert mark not in clean
    assert len(clean) == 3, "column for column"
    text = SIMPLE.replace("through prev A", f"thr{mark}oughprev A")
    assert mark not in report(text, f"a{mark}.weave")


def test_letters_of_every_script_are_shown_as_they_are() -> None:
    for text in ("äußere", "звено", "環", "حلقة", "हार", "a\u0301", "می\u200cشود", "🜚"):
        assert safe(text) == text


def test_markup_in_a_name_is_no_markup(monkeypatch: pytest.MonkeyPatch) -> None:
    text = SIMPLE.replace("through prev A", "throuhg [bold]prev[/bold] A")
    seen = view(text, "[red]x.weave")
    lines = file_lines(FileReport(seen.recipe.source, findings(text)))
    out = io.StringIO()
    monkeypatch.setattr(sys, "stdout", out)
    paint(lines)
    assert "[red]x.weave" in out.getvalue()
    assert "[bold]prev[/bold]" in out.getvalue()


def test_painted_and_plain_say_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    text = SIMPLE.replace("meets 2", "meets 3").replace("wire 1.2 mm", "wire 18")
    seen = view(text)
    lines = file_lines(FileReport(seen.recipe.source, findings(text)))
    out = io.StringIO()
    monkeypatch.setattr(sys, "stdout", out)
    paint(lines)
    painted = [line.rstrip() for line in out.getvalue().splitlines()]
    assert painted == plain(lines).splitlines()


def test_the_last_line_counts_by_severity() -> None:
    source = Source("x.weave", ("a",), ("a",))

    def last(*severities: str) -> str:
        found = tuple(Finding(Rule("r-r", s), Span(1, 1, 2), "m") for s in severities)  # type: ignore[arg-type]
        return plain(file_lines(FileReport(source, found))).splitlines()[-1]

    assert last("error", "error", "warning") == "x.weave: 2 errors, 1 warning"
    assert last("warning", "note") == "x.weave: checks clean (1 warning, 1 note)"
    assert last() == "x.weave: checks clean"


def test_help_of_several_lines_is_one_text_in_json() -> None:
    finding = Finding(RULE, Span(3, 2, 5), "m", help=("first", "second"))
    report_ = FileReport(Source("x", ("",) * 3, ("",) * 3), (finding,))
    (told,) = as_json([report_])["files"][0]["findings"]
    assert told["help"] == "first\nsecond"
    assert (told["line"], told["column"], told["end_line"], told["end_column"]) == (3, 2, 3, 5)


def test_every_mark_of_a_report_is_fit_to_print() -> None:
    text = "".join(chr(n) for n in range(1, 0x300) if chr(n) not in "\n\r")
    for mark in report(text + "\nunit:\n" + text):
        assert mark == "\n" or unicodedata.category(mark) not in ("Cc", "Zl", "Zp")
