"""Every check documents itself: its wrong recipe shows just its fault, its right one is clean."""

from __future__ import annotations

import re
from types import ModuleType
from typing import cast

import pytest
from helpers import ROOT, findings

from ringstep.checks.rules import all_checks, checks_of_rings
from ringstep.commands.cli import main
from ringstep.language.words import (
    HEADINGS,
    OPTIONS,
    PIECE_WORDS,
    PLACES,
    RESERVED,
    UNITS_OF_SIZE,
    VERBS,
)

CHECKS = {check.RULE.name: check for check in all_checks()}


def documented(check: object) -> tuple[str, str, str]:
    """The prose, the wrong recipe and the right one of a check's docstring."""
    text = check.__doc__ or ""
    parts = re.split(r"^(Wrong|Right):$", text, flags=re.M)
    assert [parts[i] for i in (1, 3)] == ["Wrong", "Right"], "one Wrong: and one Right:, in order"
    recipes = []
    for part in (parts[2], parts[4]):
        lines = part.strip("\n").split("\n")
        assert all(not line or line.startswith("    ") for line in lines), "indented by four"
        recipes.append("\n".join(line[4:] for line in lines).strip() + "\n")
    return parts[0].strip(), recipes[0], recipes[1]


def test_one_file_each_and_none_forgotten() -> None:
    folder = ROOT / "recipe" / "ringstep" / "checks" / "rules"
    files = {p.stem for p in folder.rglob("*.py")} - {"__init__"}
    assert files == {cast(ModuleType, c).__name__.rpartition(".")[2] for c in all_checks()}
    assert len(CHECKS) == len(all_checks()), "two checks share a rule name"


@pytest.mark.parametrize("name", CHECKS)
def test_the_name_is_plain_words(name: str) -> None:
    assert re.fullmatch(r"[a-z]+(-[a-z]+){1,2}", name)
    assert not re.search(r"node|edge|token|graph|syntax|invalid|parse|vertex", name)


@pytest.mark.parametrize("name", CHECKS)
def test_the_prose_says_what_and_why(name: str) -> None:
    prose, _, _ = documented(CHECKS[name])
    first, _, rest = prose.partition("\n\n")
    assert first.endswith(".")
    assert "\n" not in first, "the first line stands alone in the list"
    assert len(rest.split()) >= 15, "says why, in a sentence or two"


@pytest.mark.parametrize("name", CHECKS)
def test_the_wrong_recipe_shows_this_fault_and_no_other(name: str) -> None:
    _, wrong, _ = documented(CHECKS[name])
    found = findings(wrong, CHECKS[name] in checks_of_rings())
    assert [f.rule.name for f in found] == [name], [f.message for f in found]
    assert found[0].rule is CHECKS[name].RULE


@pytest.mark.parametrize("name", CHECKS)
def test_the_right_recipe_is_clean(name: str) -> None:
    _, _, right = documented(CHECKS[name])
    assert [f.message for f in findings(right, CHECKS[name] in checks_of_rings())] == []


@pytest.mark.parametrize("name", CHECKS)
def test_wrong_and_right_are_near_misses(name: str) -> None:
    """What changes between the two is what the rule is about, so it is little."""
    _, wrong, right = documented(CHECKS[name])
    gone = [line for line in wrong.split("\n") if line not in right.split("\n")]
    come = [line for line in right.split("\n") if line not in wrong.split("\n")]
    assert len(gone) + len(come) >= 1
    assert len(gone) + len(come) <= 10


@pytest.mark.parametrize("name", CHECKS)
def test_explain_shows_it(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", name]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    assert shown.out.startswith(f"{name} ({CHECKS[name].RULE.severity})\n")
    prose, wrong, _ = documented(CHECKS[name])
    assert prose in shown.out
    assert all(line in shown.out for line in wrong.splitlines())


def test_explain_lists_every_rule_with_its_first_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain"]) == 0
    shown, words = capsys.readouterr().out.split("\n\n")
    lines = shown.splitlines()
    assert "fold back, spread, turn over" in " ".join(words.split())
    assert [line.split()[0] for line in lines] == sorted(CHECKS)
    for line in lines:
        name, severity, words = line.split(None, 2)
        assert severity == CHECKS[name].RULE.severity
        assert words == documented(CHECKS[name])[0].split("\n")[0]


def test_explain_offers_the_nearest_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "pick-cuont"]) == 2
    assert "the nearest is 'pick-count'" in capsys.readouterr().err
    assert main(["explain", "pcks"]) == 2
    assert "no rule and no word 'pcks'; the nearest is 'picks'" in capsys.readouterr().err
    assert main(["explain", "zzz"]) == 2
    assert "'ringstep explain' lists them all" in capsys.readouterr().err


def test_severities_are_the_designed_ones() -> None:
    """Errors stop the work; advice does not, nor what may be meant: a promise not made or
    not tested, an odd length, names that look the same, rings that lie otherwise than
    elsewhere, odd lays, a colour that no place has."""
    mild = {name: c.RULE.severity for name, c in CHECKS.items() if c.RULE.severity != "error"}
    assert mild == {
        "nothing-promised": "warning",
        "names-look-alike": "warning",
        "folded-already": "warning",
        "folded-not-shown": "warning",
        "loop-lay-broken": "warning",
        "move-forgotten": "warning",
        "nothing-to-undo": "warning",
        "places-unsaid": "note",
        "sides-differ": "warning",
        "spread-shows-nothing": "warning",
        "start-lay-fixed": "warning",
        "start-unlike-unit": "warning",
        "still-bound": "note",
        "turn-unpromised": "note",
        "variant-misnamed": "warning",
        "variants-alike": "warning",
        "promise-untested": "warning",
        "unused-letter": "warning",
        "smaller-unit": "note",
        "length-filled": "note",
        "sample-unlikely": "warning",
        "whole-row": "note",
        "long-piece": "note",
    }


def explained(capsys: pytest.CaptureFixture[str], *typed: str) -> list[str]:
    """What `ringstep explain` prints, a paragraph each."""
    assert main(["explain", *typed]) == 0
    return capsys.readouterr().out.rstrip("\n").split("\n\n")


def test_explain_tells_a_word_from_the_dictionary(capsys: pytest.CaptureFixture[str]) -> None:
    """Line and meaning are those of `grammar/words.md`; the rules are those that quote the word."""
    name, entry, rules = explained(capsys, "picks")
    section, line, meaning = entry.splitlines()
    assert (name, section, line) == ("picks", "Steps:", "  add B through A picks 2")
    row = f"| picks | `{line.strip()}` |"
    page = (ROOT / "grammar" / "words.md").read_text(encoding="utf-8")
    (told,) = (x for x in page.splitlines() if x.startswith(row))
    words = told.removeprefix(row).strip(" |").replace("`", "'")
    assert meaning.strip().casefold() == f"{words}.".casefold()
    assert rules.startswith("Rules that speak of it: count-unstated and pick-count;")


def test_explain_knows_every_word_and_phrase_of_the_language(
    capsys: pytest.CaptureFixture[str],
) -> None:
    phrases = [*VERBS, *OPTIONS, *PLACES, *HEADINGS, *PIECE_WORDS]
    for word in {*phrases, *(RESERVED - {"of", "to"}), *UNITS_OF_SIZE, "all", "opens"}:
        first, *entries = explained(capsys, *word.split())
        assert first == word
        assert entries, word
        assert all("`" not in e and "|" not in e for e in entries)
    assert len(explained(capsys, "lay")) == 4, "of a variant, of a step, and the rules"
    assert explained(capsys, "PREV")[1:] == explained(capsys, "prev")[1:]
