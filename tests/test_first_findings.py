"""What is said at once while somebody types: less than all findings, and none of it taken back."""

from __future__ import annotations

import random

import pytest
from helpers import BYZANTINE, EXAMPLES, LIBRARY, SIMPLE
from slips_made import slips
from small_recipes import recipe

from ringstep.checks.pipeline import findings_of, first_findings, symptom, view_of
from ringstep.language.findings import Finding
from ringstep.language.source import source_from_text

RECIPES = {path.stem: path for folder in (LIBRARY, EXAMPLES) for path in folder.glob("*.weave")}


def first(text: str) -> tuple[Finding, ...]:
    """What is said of a text at once."""
    return first_findings(view_of(source_from_text(text)))


def said(findings: tuple[Finding, ...]) -> set[tuple[object, ...]]:
    """What a reader sees of findings, without their mends."""
    return {(f.rule.name, f.span, f.message) for f in findings}


@pytest.mark.parametrize("name", RECIPES)
def test_nothing_said_at_once_is_taken_back(name: str) -> None:
    """Every recipe with every eleventh line taken out, another one in each recipe."""
    lines = RECIPES[name].read_text(encoding="utf-8").splitlines()
    begin = sum(map(ord, name)) % 11
    for at in range(begin, len(lines), 11):
        text = "\n".join(lines[:at] + lines[at + 1 :])
        assert said(first(text)) <= said(findings_of(view_of(source_from_text(text)))), at


def test_a_line_that_cannot_be_read_is_told_at_once() -> None:
    (told,) = first(SIMPLE.replace("add A through", "ad A through"))
    assert (told.rule.name, told.span.line) == ("unread-line", 9)
    assert told.mends == (), "mends come with the findings, which try them"


def test_what_follows_from_a_forgotten_step_waits_for_its_cause() -> None:
    """Without the step that places C three lines name C, and one step is at fault."""
    text = BYZANTINE.replace("  add 2 C through prev B picks 2\n", "").replace(
        "    hint go in between the two spread rings, through both folded ones\n", ""
    )
    assert first(text) == ()
    (told,) = findings_of(view_of(source_from_text(text)))
    assert told.rule.name == "forgotten-step"


def test_a_fault_beside_those_in_the_links_is_told_at_once() -> None:
    text = SIMPLE.replace("inside 5 mm", "inside 0 mm").replace("A meets 2", "A meets 3")
    assert {f.rule.name for f in first(text)} == {"ring-size"}
    assert "neighbour-count" in {f.rule.name for f in findings_of(view_of(source_from_text(text)))}


def test_where_the_links_are_right_all_is_told_at_once() -> None:
    text = SIMPLE.replace("inside 5 mm", "inside 0 mm")
    assert said(first(text)) == said(findings_of(view_of(source_from_text(text)))) != set()


def shows(text: str) -> Finding | None:
    """What can be seen to be wrong with the links of a text."""
    return symptom(view_of(source_from_text(text)))


def test_what_shows_is_told_before_what_explains_it() -> None:
    """The step that places C is gone: what shows first is that its two rings are."""
    text = BYZANTINE.replace("  add 2 C through prev B picks 2\n", "").replace(
        "    hint go in between the two spread rings, through both folded ones\n", ""
    )
    seen = shows(text)
    assert seen is not None
    assert seen.mends == seen.help == ()
    assert (seen.message, seen.span.line) == ("the unit places 4 rings, 6 promised", 14)
    off = shows(SIMPLE.replace("A meets 2", "A meets 3"))
    assert off is not None
    assert (off.rule.name, off.span.line) == ("neighbour-count", 9)


@pytest.mark.parametrize("name", RECIPES)
def test_nothing_shows_where_nothing_is_wrong(name: str) -> None:
    text = RECIPES[name].read_text(encoding="utf-8")
    sound = not any(f.severity == "error" for f in findings_of(view_of(source_from_text(text))))
    assert (shows(text) is None) == sound


@pytest.mark.parametrize("name", ["byzantine", "persian_linked", "european_tube", "heart_panel"])
def test_nothing_said_at_once_of_a_slip_is_taken_back(name: str) -> None:
    """A slip of each kind that there is, by each kind of writer."""
    made = list(slips(name, RECIPES[name].read_text(encoding="utf-8"), 1, random.Random(name)))
    assert len(made) > 3
    for slip in made:
        every = findings_of(view_of(source_from_text(slip.text)))
        assert said(first(slip.text)) <= said(every), str(slip)


def test_what_is_said_of_a_piece_made_first_and_of_the_whole_is_said_once() -> None:
    """Nothing is promised: A is placed by the piece, and k where pieces are joined."""
    text = recipe(
        "piece strap:/chain 4 units/made twice/start:/close A/unit:/add A through prev A/join:"
        "/add k through strap 1 last A, strap 2 first A picks 2"
        "/add k through strap 2 last A, strap 1 first A picks 2"
    )
    told = [(f.rule.name, f.span.line) for f in first(text)]
    assert told == [("nothing-promised", 10), ("nothing-promised", 12)]
    assert told == [
        (f.rule.name, f.span.line) for f in findings_of(view_of(source_from_text(text)))
    ]
