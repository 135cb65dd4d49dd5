"""Mends for moves: what is offered for each slip of a fold or a spread, and how it is typed."""

from __future__ import annotations

from itertools import product

import pytest
from helpers import findings
from small_recipes import recipe

from ringstep.checks.move_mends import _change
from ringstep.language.findings import TextEdit, typed_in
from ringstep.language.source import source_from_text


def typed(lines: list[str], edit: TextEdit) -> list[str]:
    """Lines after a change; an empty one at the end is but the end of the last line."""
    return "\n".join(typed_in(tuple(lines), (edit,))).rstrip("\n").split("\n")


@pytest.mark.parametrize(
    ("before", "after", "lines"),
    [
        ("a b c", "a x b c", (2, 2)),  # one more, in the middle
        ("a b c", "x a b c", (1, 1)),
        ("a b c", "a c", (2, 3)),
        ("a b c", "a b", (3, 4)),
        ("a b c", "b c", (1, 2)),
        ("a b c", "a x c", (2, 3)),
        ("a b c", "a c b", (2, 4)),
        ("a b c", "c b a", (1, 4)),
        ("a a b", "a a a b", (3, 3)),  # alike lines: behind the last of them
        ("a a b", "a b", (2, 3)),
        ("a b a", "a b b a", (3, 3)),
    ],
)
def test_a_change_takes_in_only_the_lines_that_differ(
    before: str, after: str, lines: tuple[int, int]
) -> None:
    edit = _change(before.split(), after.split())
    assert typed(before.split(), edit) == after.split()
    assert (edit.line, edit.end_line) == lines
    assert (edit.column, edit.end_column) == (1, 1)


def test_lines_behind_the_last_are_written_behind_it() -> None:
    edit = _change(["a", "bc"], ["a", "bc", "d", "e"])
    assert (edit.line, edit.column, edit.end_line, edit.end_column) == (2, 3, 2, 3)
    assert edit.text == "\nd\ne"


def test_any_text_is_changed_into_any_other() -> None:
    texts = [t for n in (1, 2, 3, 4) for t in product("ab", repeat=n)]
    for before in texts:
        for after in texts:
            edit = _change(list(before), list(after))
            assert typed(list(before), edit) == list(after), (before, after, edit)


FOLDED = (
    "expect:/C meets 2 A, 2 B/A meets 2 C, 2 B/B meets 2 A, 2 C/start:/close 2 A"
    "/add 2 B through A picks 2/fold back B/hint left and right/spread A/unit:"
    "/add 2 C through prev B picks 2/hint between the two/add 2 A through C picks 2"
    "/add 2 B through A picks 2/fold back B/hint left and right/spread A/hint wide/piece:"
    "/chain 6 units"
)
MIDDLE = (
    "expect:/M meets 6 S/S meets 6 M/H meets 2/start:/close 2 H/add 2 M through H picks 2"
    "/add 2 S through M picks 2/fold back S/unit:/spread prev M/add 2 M through prev S picks 2"
    "/add 2 S through M, prev M picks 4/fold back S/piece:/chain 8 units"
)
TURNS = (
    "expect:/A meets 4/B meets 4/start:/close 2 A/unit left:/add 2 B through prev A picks 2"
    "/fold back B/spread prev A/unit right:/add 2 A through prev B picks 2/piece:/chain 6 units"
    "/order left, right"
)
BOX = (
    "expect:/A meets 4/start:/close 2 A/unit:/add 2 A through prev A picks 2/fold back A"
    "/spread prev A/piece:/chain 8 units"
)
#: The B hang on an A and a C: whichever of them is spread shows both.
EITHER = (
    "expect:/A meets 4/B meets 4/C meets 4/start:/close A, C/add 2 B through A, C picks 2"
    "/fold back B/unit:/spread prev A/add A, C through prev B picks 2"
    "/add 2 B through A, C picks 2/fold back B/piece:/chain 6 units"
)
LAST = "fold back B/hint left and right/spread A/hint wide"
FIRST = "fold back B/hint left and right/spread A/unit"

#: A recipe, what is right in it, what was written; the line that is named, the rule, the mends.
SLIPS = [
    (FOLDED, LAST, "fold back B/spread A/spread A", "spread A", "spread-shows-nothing",
     ["take step 10 out"]),
    (FOLDED, LAST, "spread A/hint wide/fold back B/hint left and right", "spread A",
     "spread-shows-nothing", ["write step 9 before step 8"]),
    (FOLDED, LAST, "fold back B/hint left and right/fold back B/spread A", "fold back B",
     "folded-already", ["take step 9 out"]),
    (FOLDED, LAST, "fold back B/hint left and right", "add 2 B through A picks 2",
     "move-forgotten", ["write 'spread A' after step 8"]),
    (FOLDED, LAST, "spread A/hint wide", "spread A", "spread-shows-nothing",
     ["write 'fold back B' after step 7"]),
    (FOLDED, LAST, "fold back A/spread A", "spread A", "spread-shows-nothing",
     ["write 'fold back B' after step 7"]),
    (FOLDED, LAST, "fold back B/hint left and right/spread B", "spread B",
     "spread-shows-nothing", ["write 'spread A' in step 9 instead"]),
    (FOLDED, FIRST, "spread A/unit", "spread A", "spread-shows-nothing",
     ["write 'fold back B' after step 2"]),
    (FOLDED, FIRST, "fold back B/unit", "add 2 B through A picks 2", "move-forgotten",
     ["write 'spread A' after step 3"]),
    (FOLDED, FIRST, "unit", "add 2 B through A picks 2", "move-forgotten", []),
    (MIDDLE, "/fold back S/piece", "/piece", "add 2 S through M, prev M picks 4",
     "move-forgotten", ["write 'fold back S' after step 7"]),
    (MIDDLE, "/fold back S/unit", "/unit", "add 2 S through M picks 2", "move-forgotten",
     ["write 'fold back S' after step 3"]),
    (MIDDLE, "spread prev M/", "", "add 2 M through prev S picks 2", "folded-not-shown",
     ["write 'spread prev M' before step 5"]),
    (MIDDLE, "spread prev M/", "spread prev S/", "spread prev S", "spread-shows-nothing",
     ["write 'spread prev M' in step 5 instead"]),
    (MIDDLE, "spread prev M/", "spread prev M/spread prev M/", "spread prev M",
     "spread-shows-nothing", ["take step 6 out"]),
    (MIDDLE, "spread prev M/add 2 M through prev S picks 2",
     "add 2 M through prev S picks 2/spread prev M", "add 2 M through prev S picks 2",
     "folded-not-shown", ["write step 6 before step 5"]),
    (EITHER, "spread prev A/", "", "add A, C through prev B picks 2", "folded-not-shown",
     ["write 'spread prev A' before step 4", "write 'spread prev C' before step 4"]),
    (BOX, "spread prev A", "spread A", "spread A", "spread-shows-nothing",
     ["write 'spread prev A' in step 4 instead"]),
    (BOX, "fold back A/spread prev A", "spread prev A/fold back A", "spread prev A",
     "spread-shows-nothing", ["write step 4 before step 3"]),
    (BOX, "/spread prev A", "", "add 2 A through prev A picks 2", "folded-not-shown", []),
    (TURNS, "/spread prev A", "", "add 2 A through prev B picks 2", "folded-not-shown",
     ["write 'spread prev prev A' before step 4"]),
    (TURNS, "spread prev A", "spread B", "spread B", "spread-shows-nothing", []),
]  # fmt: skip


@pytest.mark.parametrize(("base", "right", "wrong", "line", "rule", "says"), SLIPS)
def test_a_slip_of_a_move_is_told_with_what_mends_it(
    base: str, right: str, wrong: str, line: str, rule: str, says: list[str]
) -> None:
    """What is offered, typed in, leaves nothing to say."""
    assert base.count(right) == 1
    assert findings(recipe(base)) == ()
    text = recipe(base.replace(right, wrong))
    lines = source_from_text(text).lines
    (found,) = findings(text)
    assert (found.rule.name, lines[found.span.line - 1].strip()) == (rule, line)
    assert [m.says for m in found.mends] == says
    lead = ("to mend",) if len(says) == 1 else ("either", "or")
    if says:
        assert [f"{a}: {b}" for a, b in zip(lead, says, strict=True)] == list(found.help)
    for mend in found.mends:
        assert findings("\n".join(typed_in(lines, mend.edits))) == ()
