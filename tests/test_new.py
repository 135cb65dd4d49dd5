"""First recipes: they check with nothing to say, and breaking them as told is seen and mended."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from helpers import findings, read, view

from ringstep.checks.summary import piece_words
from ringstep.commands.cli import main
from ringstep.language.findings import Finding
from ringstep.language.shipped import starters
from ringstep.language.source import source_from_text
from ringstep.language.starter import starter, title_of
from ringstep.language.tidy import tidy
from ringstep.language.words import HEADINGS

Out = pytest.CaptureFixture[str]
_BREAK = re.compile(r"Break it: write '([^']+)' for '([^']+)' below")


@pytest.mark.parametrize("kind", list(starters()))
def test_a_first_recipe_checks_with_nothing_to_say(kind: str) -> None:
    assert findings(starter(kind, "cuff")) == ()


@pytest.mark.parametrize("kind", list(starters()))
def test_a_first_recipe_is_tidy_and_of_its_kind(kind: str) -> None:
    text = starter(kind, "evening_cuff")
    assert tidy(source_from_text(text)).changed == ()
    assert all(len(line) <= 100 for line in text.splitlines())
    recipe = read(text)[0]
    assert recipe.title == "Evening cuff"
    assert recipe.piece is not None
    assert recipe.piece.kind == kind
    assert piece_words(view(text)).startswith(f"a {kind} of ")


@pytest.mark.parametrize("kind", list(starters()))
def test_every_section_is_told_in_a_comment_before_it(kind: str) -> None:
    lines = starter(kind, "cuff").splitlines()
    headings = [(i, line) for i, line in enumerate(lines) if line.rstrip(":") in HEADINGS]
    assert len(headings) >= 6
    for at, heading in headings:
        block = at
        while lines[block - 1].startswith("#"):
            block -= 1
        assert lines[block].startswith(f"# {heading} "), f"{heading} is not told"


#: kind: the rules that answer the breaks it tells of, in their order.
ANSWERS = {
    "chain": ["neighbour-count", "pick-count"],
    "loop": ["neighbour-count", "pick-count"],
    "sheet": ["neighbour-count", "ring-not-there"],
    "tube": ["neighbour-count", "pick-count"],
}


def broken(text: str) -> list[tuple[int, str, tuple[Finding, ...]]]:
    """A recipe broken as its comments say: the line broken, its text, and what the checks say."""
    found = []
    for told in _BREAK.finditer(text):
        new, old = told[1], told[2]
        at = text.index(f"\n  {_line_with(text, old, told.end())}", told.end()) + 1
        line = text.count("\n", 0, at) + 1
        start = text.index(old, at)
        changed = text[:start] + new + text[start + len(old) :]
        found.append((line, changed, findings(changed)))
    return found


def _line_with(text: str, words: str, after: int) -> str:
    lines = text[after:].splitlines()
    return next(x.strip() for x in lines if words in x and not x.lstrip().startswith("#"))


@pytest.mark.parametrize("kind", list(starters()))
def test_breaking_it_as_told_is_seen_on_that_line(kind: str) -> None:
    tried = broken(starter(kind, "cuff"))
    assert len(tried) == 2
    for (line, changed, said), rule in zip(tried, ANSWERS[kind], strict=True):
        assert [f.rule.name for f in said] == [rule], changed
        assert line in {said[0].span.line, *(x.span.line for x in said[0].labels)}


@pytest.mark.parametrize(
    ("kind", "step", "mend"),
    [
        ("chain", 2, "most likely: A2 of the unit before is missing; write 'through prev A'"),
        ("loop", 4, "most likely: A at the beginning is missing; write 'through last A, first A'"),
        ("sheet", 2, "write 'through above A, above next A if there'"),
        ("tube", 2, "write 'through above A, above next A'"),
    ],
)
def test_the_step_is_named_and_the_mend_is_what_was_taken_out(
    kind: str, step: int, mend: str
) -> None:
    (_, _, (said,)) = broken(starter(kind, "cuff"))[1]
    assert said.message.startswith(f"step {step} ")
    assert any(mend in words for words in said.help)


@pytest.mark.parametrize("kind", list(starters()))
def test_the_commands_it_names_are_there(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["new", "my cuff", "--kind", kind]) == 0
    named = re.findall(r"(?m)^# [A-Z].*:  +ringstep (.+)$", starter(kind, "my cuff"))
    assert [shlex.split(words)[0] for words in named] == ["check", "watch", "steps", "explain"]
    for words in named:
        if not words.startswith("watch"):  # it would not end
            assert main(shlex.split(words)) == 0


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("cuff", "Cuff"),
        ("my_evening-class__cuff", "My evening class cuff"),
        ('say "so"', "Say so"),
        ("環", "環"),
        ("___", "My first weave"),
        ("a\x1b[31m\nunit:", "A [31m unit:"),
    ],
)
def test_titles_of_odd_names(name: str, title: str) -> None:
    assert title_of(name) == title
    text = starter("chain", name)
    assert findings(text) == ()
    assert read(text)[0].title == title
    assert "\x1b" not in text


# -- the command ------------------------------


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_chain_by_default(folder: Path, capsys: Out) -> None:
    assert main(["new", "cuff"]) == 0
    assert capsys.readouterr().out == "wrote cuff.weave; now try: ringstep check cuff.weave\n"
    assert (folder / "cuff.weave").read_text(encoding="utf-8") == starter("chain", "cuff")
    assert main(["check", "cuff.weave"]) == 0
    assert capsys.readouterr().out.splitlines()[0] == "cuff.weave: checks clean"


@pytest.mark.parametrize("kind", list(starters()))
def test_each_kind_in_a_folder_of_its_own(folder: Path, kind: str) -> None:
    assert main(["new", f"class/{kind}.weave", "--kind", kind]) == 0
    path = folder / "class" / f"{kind}.weave"
    assert path.read_text(encoding="utf-8") == starter(kind, kind)


def test_never_over_a_file(folder: Path, capsys: Out) -> None:
    (folder / "cuff.weave").write_text("mine", encoding="utf-8")
    (folder / "gone.weave").symlink_to("nowhere")
    for name in ("cuff", "cuff.weave", "gone"):
        assert main(["new", name]) == 2
    assert (folder / "cuff.weave").read_text(encoding="utf-8") == "mine"
    assert not (folder / "nowhere").exists()
    assert capsys.readouterr().err.splitlines()[0] == (
        "ringstep: cuff.weave is there already and is left as it is; choose another name"
    )


@pytest.mark.parametrize("name", ["", ".weave", "class/", ".", "a\0b"])
def test_names_that_are_none(folder: Path, capsys: Out, name: str) -> None:
    assert main(["new", name]) == 2
    assert capsys.readouterr().err.startswith("ringstep: ")
    assert list(folder.iterdir()) == []


def test_a_folder_that_cannot_be_written(folder: Path, capsys: Out) -> None:
    (folder / "file").write_text("", encoding="utf-8")
    assert main(["new", "file/cuff"]) == 2
    assert "cannot be written" in capsys.readouterr().err
