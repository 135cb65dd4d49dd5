"""Where a ring is named and placed, how it is called otherwise, and what of a text is seen."""

from __future__ import annotations

import pytest
from helpers import EXAMPLES, PERSIAN_LINKED, SIMPLE

from ringstep.language.findings import typed_in
from ringstep.language.source import Refused, Span
from ringstep.table import services
from ringstep.table.renaming import placed, rename, renamed, uses
from ringstep.table.seen import refusal, seen, source_of

CUBE = (EXAMPLES / "cube_of_panels.weave").read_text(encoding="utf-8")
#: A and B are placed in the start (lines 7 to 9) and in the unit (11 to 15).
TWO = """\
weave "It"
rings:
  all  wire 1.2 mm, inside 6 mm, copper
expect:
  Z meets 1
start:
  close A
  add B1 through A
  add B2 through A, B1
unit:
  add C through prev A, prev B2
  add A through C
  add B1 through A
  add B2 through A, B1
  spread prev A, A
finish:
  spread last C, last B1
piece:
  chain 5 units
"""


def at(text: str, words: str, of: int = 0) -> tuple[int, int]:
    """The line and column where some words begin, `of` letters further."""
    before = text[: text.index(words) + of]
    return before.count("\n") + 1, len(before) - before.rfind("\n")


def place_of(text: str, words: str, of: int = 0) -> tuple[int, int] | None:
    """Where the ring there is placed: line and column."""
    span = placed(text, *at(text, words, of))
    return (span.line, span.column) if span else None


# -- where a ring is placed ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "of", "line", "column"),
    [
        ("close A", 6, 7, 9),  # it is placed there
        ("add B1 through A\n  add B2", 15, 7, 9),
        ("add B2 through A, B1\nunit", 18, 8, 7),  # B1 by number
        ("add C through prev A", 19, 12, 7),  # before it no step of its section does
        ("prev B2", 5, 14, 7),
        ("add A through C", 14, 11, 7),
        ("add B2 through A, B1\n  spread", 15, 12, 7),  # by the step of its own section
        ("add B2 through A, B1\n  spread", 18, 13, 7),
        ("spread prev A, A", 15, 12, 7),
        ("last C", 5, 11, 7),  # of another section: the first that does
        ("last B1", 5, 8, 7),
        ("Z meets", 0, 5, 3),  # that no step places: where it is named first
    ],
)
def test_a_ring_is_placed_by_the_nearest_step_before(
    words: str, of: int, line: int, column: int
) -> None:
    assert place_of(TWO, words, of) == (line, column)


def test_of_several_steps_before_it_the_last_has_placed_it() -> None:
    text = TWO.replace("  close A\n", "  close A\n  close A\n  close A\n").replace(
        "  spread prev", "  add A through C\n  spread prev"
    )
    assert place_of(text, "add B1 through A", 15) == (9, 9)
    assert place_of(text, "spread prev A, A", 15) == (17, 7)
    assert place_of(text, "Z meets") == (5, 3)
    itself = TWO.replace("  spread prev A, A", "  add A through prev A")
    assert place_of(itself, "through prev A\nfinish", 13) == (12, 7), "no ring is placed by itself"


def test_a_ring_of_that_number_that_no_step_places_is_of_its_name() -> None:
    text = TWO.replace("last B1", "last B3")
    assert place_of(text, "last B3", 5) == (8, 7)
    in_promise = TWO.replace("Z meets 1", "B2 meets 1 A")
    assert place_of(in_promise, "B2 meets") == (9, 7)
    assert place_of(in_promise, "B2 meets 1 A", 11) == (7, 9)
    named_twice = TWO.replace("last C, last B1", "last Q, last Q")
    assert place_of(named_twice, "last Q, last Q", 13) == (17, 15), "named first there"


def test_where_nothing_is_named_nothing_is_placed() -> None:
    assert place_of(TWO, "through") is None
    assert placed("weave\0", 1, 1) is None
    assert uses("weave\0", 1, 1) == uses(TWO, 1, 1) == ()
    assert renamed("weave\0", 1, 1) is None


# -- where it is named -----------------------------------------------------------------------------


def test_a_ring_is_named_whatever_its_number() -> None:
    found = [(s.line, s.column, s.end) for s in uses(TWO, *at(TWO, "B1 through"))]
    assert found == [
        (8, 7, 9), (9, 7, 9), (9, 21, 23), (11, 30, 32), (13, 7, 9), (14, 7, 9), (14, 21, 23),
        (17, 23, 25),
    ]  # fmt: skip
    assert uses(TWO, 8, 9) == uses(TWO, 8, 7), "and just behind it"
    assert uses(TWO, 8, 10) == ()
    assert uses(TWO, 8, 6) == ()


def test_what_is_renamed_is_the_name_without_its_number() -> None:
    assert renamed(TWO, *at(TWO, "B1 through")) == (Span(8, 7, 8), "B")
    assert renamed(TWO, *at(TWO, "Z meets")) == (Span(5, 3, 4), "Z")
    assert renamed(CUBE, *at(CUBE, "link 1 through")) == (
        Span(at(CUBE, "link 1 through")[0], 7, 11), "link",
    )  # fmt: skip


# -- another name ----------------------------------------------------------------------------------


def again(text: str, words: str, new: str) -> str:
    """A text in which the ring there has another name."""
    edits = rename(text, *at(text, words), new)
    return "\n".join(typed_in(tuple(text.split("\n")), edits))


def test_numbers_are_put_behind_a_name_as_is_usual_for_it() -> None:
    """Behind one letter at once, behind a word apart."""
    letters = again(TWO, "B1 through", "D")
    assert letters == TWO.replace("B1", "D1").replace("B2", "D2")
    words = again(TWO, "B1 through", "core")
    assert words == TWO.replace("B1", "core 1").replace("B2", "core 2")
    assert again(words, "core 1", "B") == TWO
    assert again(words, "core 1", "seam") == words.replace("core", "seam")
    assert again(TWO, "Z meets", "  zoo ") == TWO.replace("Z", "zoo"), "blanks are no part of it"
    assert rename(TWO, *at(TWO, "Z meets"), " Z ") == ()


def test_all_that_has_a_name_already_is_refused() -> None:
    named = TWO.replace("unit:", "unit left:").replace(
        "piece:", "variants:\n  calm  lay front\nsizes:\n  small  A  wire 1 mm, inside 4 mm\npiece:"
    )
    named = named.replace("chain 5 units", "chain 5 units\n  order left, right")
    for new, what in (
        ("A", "a ring or part"), ("left", "a unit"), ("right", "a unit"), ("calm", "a variant"),
        ("small", "a set of sizes"),
    ):  # fmt: skip
        with pytest.raises(Refused, match=f"^{what} is called '{new}' already"):
            rename(named, *at(named, "B1 through"), new)
    for new in ("panel",):
        with pytest.raises(Refused, match=f"^a piece is called '{new}' already"):
            rename(CUBE, *at(CUBE, "link through"), new)
    assert "core 1" in again(named, "B1 through", "core")


@pytest.mark.parametrize("new", ["through", "Through", "ALL", "all", "prev"])
def test_words_of_the_language_are_refused(new: str) -> None:
    with pytest.raises(Refused, match=f"^'{new}' is a word of the language"):
        rename(TWO, *at(TWO, "B1 through"), new)


def test_a_text_without_a_piece_is_renamed_as_well() -> None:
    text = TWO[: TWO.index("piece:")]
    assert again(text, "Z meets", "zoo") == text.replace("Z", "zoo")


def test_a_line_that_cannot_be_read_yet_is_no_hindrance() -> None:
    text = TWO.replace("  spread prev A, A", "  sprad prev A, A")
    assert again(text, "A\n  add B1", "D") == text.replace("A", "D")


def test_a_name_after_which_a_line_reads_otherwise_is_refused() -> None:
    """'M meets 1 or, 6 S' is no promise."""
    told = "^with 'or' the recipe would not read as it does now; choose another name$"
    with pytest.raises(Refused, match=told):
        rename(PERSIAN_LINKED, *at(PERSIAN_LINKED, "M1 through"), "or")
    assert again(TWO, "B1 through", "or").count("or 1") == TWO.count("B1") == 5


# -- what is seen ----------------------------------------------------------------------------------


def test_what_is_said_of_a_text_that_is_not_looked_at() -> None:
    found = refusal(Refused("line 12 is too long, as line 7 is"))
    assert (found.span, found.rule.name, found.severity) == (
        Span(12, 1, 2),
        "unreadable-file",
        "error",
    )
    assert found.message == "line 12 is too long, as line 7 is"
    assert refusal(Refused("outlines 5 are too many")).span == Span(1, 1, 2)


def test_lines_and_words_of_a_text() -> None:
    now = seen("weave # it\n  add A,B\n")
    assert now is not None
    assert [now.line(n) for n in range(-1, 5)] == ["", "", "weave ", "  add A,B", "", ""]
    assert [now.word_at(2, column) for column in range(2, 12)] == [
        None, *[Span(2, 3, 6)] * 4, *[Span(2, 7, 8)] * 2, *[Span(2, 9, 10)] * 2, None,
    ]  # fmt: skip
    assert now.word_at(1, 8) is None
    assert now.word_at(9, 1) is None


def test_of_two_names_that_touch_the_second_is_meant() -> None:
    now = seen(TWO.replace("through A, B1\nunit", "through A,B1\nunit"))
    assert now is not None
    names = [now.named_at(9, column) for column in range(17, 24)]
    told = [one and (one.role, one.index) for one in names]
    assert told == [None, ("A", None), ("A", None), *[("B", 1)] * 3, None]


def test_a_text_that_would_take_too_long_is_seen_but_not_whole() -> None:
    now = seen(SIMPLE)
    assert now is not None
    assert (now.bounded, now.whole) == (True, True)
    large = seen(SIMPLE.replace("add A", "add 700 A"))
    assert large is not None
    assert (large.bounded, large.whole) == (False, False)
    assert large.roles == ("A",)
    for text in (SIMPLE.replace("add A", "ad A"), SIMPLE[: SIMPLE.index("start:")]):
        part = seen(text)
        assert part is not None
        assert (part.bounded, part.whole) == (True, False)
    assert source_of("weave").lines == ("weave",)
    assert seen("weave\ud800") is None


# -- steps and sections ----------------------------------------------------------------------------

HINTED = SIMPLE.replace("  close A\n", "  close A\n    hint one\n    hint two\n")


def test_hints_are_of_the_step_above_them() -> None:
    assert [services.step_at(HINTED, n) for n in range(6, 13)] == [None, 1, 1, 1, None, 2, None]
    assert services.step_at(HINTED, 0) is services.step_at("weave\0", 1) is None
    assert services.lines_of_steps(HINTED) == {1: 7, 2: 11}
    assert services.lines_of_steps("weave\0") == {}
    lone = SIMPLE.replace("  close A\n", "    hint one\n  close A\n")
    assert services.step_at(lone, 7) is None


def test_steps_are_listed_in_the_order_of_their_numbers() -> None:
    assert list(services.lines_of_steps(CUBE)) == sorted(services.lines_of_steps(CUBE))
    finish = TWO.replace("expect:", "finish:\n  spread last A\nexpect:")
    numbers = services.lines_of_steps(finish)
    assert list(numbers) == sorted(numbers)


def test_each_section_ends_with_its_last_line() -> None:
    spaced = SIMPLE.replace("unit:", "\n\nunit :  # again\n").replace("  30", " 30") + "\n\n"
    found = [(s.title, s.span.line, s.last, s.steps) for s in services.sections(spaced)]
    assert found == [
        ("rings", 2, 3, ()), ("expect", 4, 5, ()), ("start", 6, 7, ((1, Span(7, 3, 10)),)),
        ("unit", 10, 12, ((2, Span(12, 3, 23)),)), ("piece", 13, 14, ()),
    ]  # fmt: skip
    assert services.sections("weave\0") == services.sections("") == ()
    (one,) = services.sections("unit:")
    assert (one.title, one.span, one.last) == ("unit", Span(1, 1, 6), 1)
    (one,) = services.sections("unit:\n  add A")
    assert (one.last, [n for n, _ in one.steps]) == (2, [1])


def test_first_findings_hold_what_shows_where_nothing_else_is_wrong() -> None:
    assert services.first_findings(SIMPLE) == ()
    wrong = SIMPLE.replace("A meets 2", "A meets 3")
    (shows,) = services.first_findings(wrong)
    assert shows.severity == "error"
    both = wrong.replace("add A", "ad A")
    assert [f.rule.name for f in services.first_findings(both)] == ["unread-line"]
