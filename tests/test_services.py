"""What a page or an editor asks of a text: colours, names, steps, words, and new names."""

from __future__ import annotations

from collections import Counter
from itertools import cycle

import pytest
from helpers import BYZANTINE, EXAMPLES, LIBRARY, PERSIAN_LINKED, SIMPLE
from hypothesis import given, settings
from hypothesis import strategies as st
from test_highlighting import scopes_of

from ringstep.checks.pipeline import findings_of, view_of
from ringstep.checks.view import View
from ringstep.language.findings import TextEdit, typed_in
from ringstep.language.source import Refused, Span, source_from_text
from ringstep.table import services

PATHS = sorted([*LIBRARY.glob("*.weave"), *EXAMPLES.glob("*.weave")])
TEXTS = {path.stem: path.read_text(encoding="utf-8") for path in PATHS}
CUBE, PICTURED = TEXTS["cube_of_panels"], TEXTS["striped_cuff"]


def at(text: str, words: str, of: int = 0) -> tuple[int, int]:
    """The line and column where some words begin in a text, `of` letters further."""
    before = text[: text.index(words) + of]
    return before.count("\n") + 1, len(before) - before.rfind("\n")


def stretch(text: str, span: Span) -> str:
    """The text of a span."""
    return text.split("\n")[span.line - 1][span.column - 1 : span.end - 1]


def after(text: str, edits: tuple[TextEdit, ...]) -> str:
    """A text with edits typed in."""
    return "\n".join(typed_in(tuple(text.split("\n")), edits))


def view(text: str) -> View:
    return view_of(source_from_text(text))


# -- findings --------------------------------------------------------------------------------------


def test_findings_are_those_of_the_check() -> None:
    text = BYZANTINE.replace("picks 2\n  add 2 B", "picks 3\n  add 2 B")
    assert services.findings(text) == findings_of(view(text)) != ()
    (shows,) = services.first_findings(text)
    assert shows.mends == ()
    assert shows.message in {found.message for found in services.findings(text)}


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("weave\0", 1, "zero byte"),
        ("weave\nunit:\n  add A" + 5000 * " ", 3, "letters"),
        ("\n" * 30_000, 1, "30,001 lines"),
        (SIMPLE + "\ud800", 12, "not UTF-8"),
        (SIMPLE.replace("add A", "add 700 A"), 9, "at once"),
        (SIMPLE.replace("add A", "add 500 A"), 9, "single moves"),
    ],
)
def test_a_text_that_is_refused_says_so_in_its_line(text: str, line: int, said: str) -> None:
    for found in (services.first_findings(text), services.findings(text)):
        (one,) = found
        assert one.severity == "error"
        assert said in one.message
        assert one.span.line == line
    assert services.uses(text, 1, 1) == ()


# -- colours ---------------------------------------------------------------------------------------


def as_letters(text: str) -> list[str]:
    """The class of every letter of a text, as our colours have it."""
    lines = [["-"] * len(line) for line in source_from_text(text).lines]
    for one in services.colours(text):
        assert one.kind in services.CLASSES
        for column in range(one.span.column, one.span.end):
            lines[one.span.line - 1][column - 1] = one.kind
    return unblanked(text, lines)


def unblanked(text: str, lines: list[list[str]]) -> list[str]:
    """The class of each letter, line by line, that of blanks left out."""
    both = zip(source_from_text(text).lines, lines, strict=True)
    return [" ".join(k for c, k in zip(*each, strict=True) if not c.isspace()) for each in both]


def by_scopes(text: str) -> list[str]:
    """The same as an editor colours it: by the innermost name of the patterns at each letter."""
    from ringstep.table.colours import _class_of

    found = []
    for scopes in scopes_of(text):
        inner = [s if s and not s.startswith("meta.") else "" for s in scopes]
        found.append([_class_of(s) if s else "-" for s in inner])
    return unblanked(text, found)


@pytest.mark.parametrize("name", TEXTS)
def test_colours_are_those_of_other_editors(name: str) -> None:
    assert as_letters(TEXTS[name]) == by_scopes(TEXTS[name])


def test_colours_of_a_recipe_read_by_hand() -> None:
    text = 'weave "A" # one\nunit:\n  fold back prev core 2 on the left\n    hint a 2 # two'
    told = [(stretch(text, one.span), one.kind) for one in services.colours(text)]
    assert [x for x in told if x[1] != "mark"] == [
        ("weave", "word"), ('"A"', "text"), ("# one", "comment"),
        ("unit", "heading"),
        ("fold back", "act"), ("prev", "place"), ("core", "ring"), ("2", "number"),
        ("on the left", "side"),
        ("hint", "word"), ("a 2 ", "text"), ("# two", "comment"),
    ]  # fmt: skip


# -- what stands at a place ------------------------------------------------------------------------


def told(text: str, words: str, of: int = 0) -> tuple[str, ...]:
    """What is said at the place where some words begin."""
    found = services.hover(text, *at(text, words, of))
    return found.lines if found else ()


def test_a_ring_is_told_with_its_size_count_promises_steps_and_links() -> None:
    assert told(BYZANTINE, "C through prev B") == (
        "C: wire 1.2 mm (nearest 17 AWG, 18 SWG), inside 4.2 mm, AR 3.5, copper",
        "40 rings in the piece",
        "promised on line 5: C meets 2 A, 2 B",
        "placed in step 5 (line 15, 'unit:')",
        "as written, each one that is finished meets 2 A, 2 B",
    )


def test_a_helper_and_a_part_are_told_as_what_they_are() -> None:
    """By hand: the two H of this chain are taken out in the end; the bar is there at once."""
    assert "2 rings used, 2 taken out again" in told(TEXTS["persian_6"], "close 2 H", 8)
    lines = told(TEXTS["drop_earring"], "bar  ")
    assert "1 part in the piece" in lines
    assert "picked up in step 1 (line 19, 'first row:')" in lines


def test_of_a_recipe_with_unread_steps_no_count_is_told() -> None:
    lines = told(BYZANTINE.replace("back B\n  spread A\nunit", "B\n  spread A\nunit"), "C meets")
    assert lines[0].startswith("C: wire 1.2 mm")
    assert not any("in the piece" in line or "as written" in line for line in lines)
    assert any(line.startswith("placed in step 5") for line in lines)


def test_a_step_is_told_by_its_act_and_a_word_by_its_meaning() -> None:
    first, *more = told(BYZANTINE, "add 2 C")
    assert first == (
        "Step 5: Open 2 rings, C1 and C2, one after the other. Pass each through both B rings of"
        " the unit before: 2 rings. Close each."
    )
    assert more[0].startswith("Hint: go in between")
    assert told(BYZANTINE, "picks 2") == (
        "picks: how many rings the list after 'through' comes to; checked.",
        "As in: add B through A picks 2",
    )
    assert told(PERSIAN_LINKED, "lay front, back", 11)[0] == "back: away from the worker."
    assert told(BYZANTINE, "back B", 0)[0].startswith("fold back: let rings fall back")


def test_the_authors_own_words_are_not_explained() -> None:
    assert told(BYZANTINE, "through both") == ()
    assert told(SIMPLE + "notes:\n  about  a ring through rings\n", "through rings") == ()


def test_where_a_ring_is_placed() -> None:
    def line(words: str, of: int = 0) -> int:
        found = services.placed(BYZANTINE, *at(BYZANTINE, words, of))
        assert found is not None
        return found.line

    # by hand: B is placed on line 11 in the start, and on line 18 in the unit
    assert line("through prev B", 13) == 18, "the unit before was worked by the same unit"
    assert line("fold back B", 10) == 11
    assert line("B meets") == 11
    assert line("add 2 B", 6) == 11
    assert services.placed(BYZANTINE, 1, 1) is None


def test_steps_and_their_lines() -> None:
    assert services.lines_of_steps(SIMPLE) == {1: 7, 2: 9}
    assert [services.step_at(SIMPLE, n) for n in (6, 7, 8, 9, 10)] == [None, 1, None, 2, None]
    hint = at(BYZANTINE, "hint")[0]
    assert services.step_at(BYZANTINE, hint) == services.step_at(BYZANTINE, hint - 1) == 5


def test_sections_with_their_steps() -> None:
    each = services.sections(SIMPLE)
    found = {s.title: (s.span.line, s.last, [n for n, _ in s.steps]) for s in each}
    assert found["unit"] == (8, 9, [2])
    assert found["piece"] == (10, 11, [])
    assert list(found) == ["rings", "expect", "start", "unit", "piece"]


# -- what may be typed -----------------------------------------------------------------------------


def offered(text: str, typed: str) -> dict[str, str]:
    """What is offered where `|` stands in the typed line, with its meaning."""
    text = text.replace("  add A through prev A\n", f"  {typed}\n")
    line, column = at(text, "|")
    found = services.completions(text.replace("|", ""), line, column)
    assert all(c.span.end == column for c in found)
    return {c.typed: c.says for c in found}


def test_acts_and_headings_begin_a_line_of_steps() -> None:
    found = offered(SIMPLE, "|")
    assert found["fold back"] == "let rings fall back along the work"
    assert {"add", "take out", "hint", "finish:"} <= set(found)
    assert "unit" not in found
    assert "rings:" not in found, "there is such a section already"
    assert "through" not in found


def test_rings_with_their_places_follow_through() -> None:
    found = list(offered(BYZANTINE + "finish:\n  add A through prev A\n", "add R through |"))
    assert found[:3] == ["last A", "last B", "last C"]
    unit = offered(SIMPLE, "add A through |")
    assert unit["prev A"] == "the ring of the unit before"
    assert "picks" not in unit
    assert set(offered(SIMPLE, "add A through p|")) == {"prev", "prev A"}


def test_metals_and_measures_under_rings() -> None:
    text = SIMPLE.replace("  all  wire 1.2 mm, inside 5 mm, copper", "  add A through prev A", 1)
    assert {"mm", "awg"} <= set(offered(text, "all wire 1.2 |"))
    found = list(offered(text, "all wire 1.2 mm, |"))
    assert {"inside", "copper", "stays closed"} <= set(found)
    assert found.index("inside") < found.index("copper")


def test_nothing_is_offered_in_the_authors_own_words() -> None:
    assert offered(SIMPLE, "close A # |") == {}
    assert offered(SIMPLE, "hint go t|") == {}


def test_whatever_is_offered_can_be_read() -> None:
    """Typed in behind a whole step, every word offered makes a line that goes on or is read."""
    from ringstep.language.next_words import next_words

    for head in ("add 2 A ", "add 2 A through A ", "fold back A ", "", "close A "):
        for word in next_words(head, "step").words:
            after_it = next_words(f"{head}{word} ", "step")
            whole = view(SIMPLE.replace("add A through prev A", f"{head}{word}")).troubles == ()
            assert after_it.words or after_it.name or after_it.number or whole, (head, word)


# -- new names -------------------------------------------------------------------------------------


def links(text: str, names: dict[str, str]) -> tuple[Counter[object], Counter[object]]:
    """The links and counts of a piece, its rings called otherwise."""
    weave = view(text).weave
    found: Counter[object] = Counter()
    for ring, others in weave.work.links.items():
        for other, number in others.items():
            pair = [r._replace(role=names.get(r.role, r.role)) for r in (ring, other)]
            found[tuple(pair)] += number
    counts = {(names.get(r, r), i): n for (r, i), n in weave.counts.placed().items()}
    return found, Counter(counts)


@pytest.mark.parametrize("name", TEXTS)
def test_a_renamed_recipe_is_the_same_recipe(name: str) -> None:
    text = TEXTS[name]
    before = view(text)
    roles = {i.name.role: i.name.span for s in before.recipe.every_step() for i in s.new}
    assert roles
    for (role, span), new in zip(roles.items(), cycle(("zebra", "Z")), strict=False):
        again = after(text, services.rename(text, span.line, span.column, new))
        assert again != text
        assert links(again, {}) == links(text, {role: new})
        said = [f.rule.name for f in findings_of(view(again))]
        assert said == [f.rule.name for f in findings_of(before)]
        first = services.uses(text, span.line, span.column)[0]
        found = services.uses(again, first.line, first.column)
        assert {stretch(again, one)[: len(new)] for one in found} == {new}


def test_a_new_name_stands_wherever_the_old_one_did() -> None:
    text = PERSIAN_LINKED.replace("expect:\n", "expect:\n  M1 AR from 5, a sample of M\n")
    edits = services.rename(text, *at(text, "M meets"), "core")
    again = after(text, edits)
    assert "core 1 AR from 5, a sample of M" in again
    assert "core meets 1 core, 6 S" in again
    assert "add core 2 through prev S, core 1 picks 3" in again
    assert "spread prev core" in again
    assert "hint" not in again or "core" not in again.partition("hint")[2].split("\n")[0]


def test_the_picture_and_joined_pieces_are_renamed_as_well() -> None:
    role = at(CUBE, "link through")
    again = after(CUBE, services.rename(CUBE, *role, "hinge"))
    assert "link" not in {n for n in again.replace(",", " ").split() if n == "link"}
    assert view(again).troubles == ()


@pytest.mark.parametrize(
    ("new", "said"),
    [
        ("A", "is called 'A' already"),
        ("front", "word of the language"),
        ("all", "word of the language"),
        ("two words", "no name"),
        ("B2", "no name"),
        ("2B", "no name"),
        ("", "no name"),
        ('"', "no name"),
    ],
)
def test_names_that_cannot_be_taken_are_refused(new: str, said: str) -> None:
    with pytest.raises(Refused, match=said):
        services.rename(BYZANTINE, *at(BYZANTINE, "C meets"), new)


def test_where_no_ring_is_named_nothing_is_renamed() -> None:
    with pytest.raises(Refused, match="no ring or part is named here"):
        services.rename(BYZANTINE, *at(BYZANTINE, "meets"), "D")
    assert services.renamed(BYZANTINE, *at(BYZANTINE, "meets")) is None
    assert services.renamed(PERSIAN_LINKED, *at(PERSIAN_LINKED, "M1")) == (Span(15, 7, 8), "M")


def test_a_name_is_found_in_a_line_that_cannot_be_read_yet() -> None:
    text = BYZANTINE.replace("spread A\npiece", "spred A\npiece")
    lines = [span.line for span in services.uses(text, *at(text, "A meets"))]
    assert at(text, "spred")[0] in lines


def test_the_one_layout_is_given_only_where_all_can_be_read() -> None:
    assert services.tidied(SIMPLE) == SIMPLE
    assert services.tidied(SIMPLE.replace("add A", "Add  A")) == SIMPLE
    assert services.tidied(SIMPLE.replace("add A", "ad A")) is None


# -- broken texts ----------------------------------------------------------------------------------


@st.composite
def broken(draw: st.DrawFn) -> tuple[str, int, int]:
    """A recipe with a stretch left out, perhaps other marks in its place, and a place in it."""
    text = TEXTS[draw(st.sampled_from(sorted(TEXTS)))]
    start, end = sorted((draw(st.integers(0, len(text))), draw(st.integers(0, len(text)))))
    marks = ["", "\n", ":", " 2 ", "\x1f", "😀", "\r", "add ", "\ud800", "join:\n"]
    put = draw(st.sampled_from(marks))
    if draw(st.booleans()):
        text = text[:start] + put + text[min(end, start + 80) :]
    else:
        text = put + text[start:end]
    lines = text.count("\n") + 2
    return text, draw(st.integers(-1, lines)), draw(st.integers(-1, 90))


@settings(deadline=None, max_examples=80)
@given(broken())
def test_any_text_is_answered(case: tuple[str, int, int]) -> None:
    text, line, column = case
    services.hover(text, line, column)
    services.placed(text, line, column)
    services.step_at(text, line)
    services.lines_of_steps(text)
    services.sections(text)
    services.tidied(text)
    services.first_findings(text)
    for choice in services.completions(text, line, column):
        assert choice.span.line == line
    ends = [len(x) + 1 for x in source_from_text(text).lines]
    for one in services.colours(text):
        assert 1 <= one.span.column < one.span.end <= ends[one.span.line - 1]
    for span in services.uses(text, line, column):
        assert 1 <= span.column < span.end <= ends[span.line - 1]
    try:
        edits = services.rename(text, line, column, "zebra")
    except Refused:
        return
    assert len(edits) == len(services.uses(text, line, column))
