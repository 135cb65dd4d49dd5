"""What the page in the browser asks of the commands: answers of its worker, pages it has made, and
what `ringstep table` does before and after the page is served."""

from __future__ import annotations

import argparse
import asyncio
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from helpers import SIMPLE

from ringstep.commands import cli, table, table_worker
from ringstep.commands.recipe_folder import RecipeFolder
from ringstep.commands.rim import Stop

NOTED = SIMPLE.replace("rings:", "notes:\n  sizes  AR 5 falls softly.\nrings:", 1)
Data = dict[str, Any]


def answers(about: str, text: str = SIMPLE, **more: Any) -> list[Data]:
    question = {"about": about, "text": text, "name": "It.weave", "wish": {}, **more}
    return list(table_worker._answer(question))


# -- the worker ------------------------------------------------------------------------------------


def test_first_comes_what_is_known_at_once_then_all() -> None:
    first, whole = answers("findings")
    assert first == {"first": [], "symptom": ""}
    assert whole["findings"] == []
    assert whole["sound"] is True
    assert any("every finished A" in line for line in whole["summary"])


def test_of_a_wrong_recipe_the_symptom_comes_first() -> None:
    wrong = SIMPLE.replace("through prev A", "through A")
    first, whole = answers("findings", wrong)
    line = next(n for n, x in enumerate(wrong.splitlines(), 1) if "through A" in x)
    assert first["symptom"].startswith(f"line {line}: ")
    assert (whole["summary"], whole["sound"]) == ((), False)
    assert [f["severity"] for f in whole["findings"]] == ["error"]
    # what is said at once is the same as what is said later, so no symptom is shown beside it
    first, whole = answers("findings", SIMPLE.replace("unit:", "unti:"))
    assert first["symptom"] == ""
    assert first["first"]


def test_a_recipe_without_a_step_is_not_sound() -> None:
    _, whole = answers("findings", 'weave "It"\n')
    assert whole["sound"] is False


def test_a_kit_and_the_sizes_or_why_there_are_none() -> None:
    kit, sizes = answers("kit", NOTED, wish={"pieces": "3", "spares": ""})
    assert "3 kits, each for a chain of 30 units." in kit["kit"]
    assert "Sizes of its rings" in sizes["sizes"]
    assert "AR 5 falls softly." in sizes["sizes"]
    no_kit, _ = answers("kit", wish={"pieces": "many"})
    assert "many" in no_kit["no_kit"]
    bare = SIMPLE.split("rings:")[0] + SIMPLE[SIMPLE.index("expect:") :]
    assert answers("kit", bare)[-1].keys() == {"no_sizes"}


def test_what_no_machine_could_carry_out_is_refused() -> None:
    (told,) = answers("findings", SIMPLE.replace("close A", "close 501 A"))
    assert told["refused"].startswith("It.weave, line 7: step 1 places 501 rings at once; at most")


# -- pages that it makes ---------------------------------------------------------------------------


Papers = tuple[table._Papers, list[list[str]]]


@pytest.fixture
def papers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Papers:
    """Papers whose commands are not run: each writes its page, and says so."""
    run: list[list[str]] = []

    def done(command: list[str], **kept: Any) -> SimpleNamespace:
        run.append(command)
        assert kept["cwd"] == tmp_path.resolve()
        to = next(word for word in command if word.startswith(("--to=", "--slip=")))
        if "Bad.weave" in command:
            return SimpleNamespace(returncode=1, stderr="ringstep: it has errors\n")
        Path(to.partition("=")[2]).write_bytes(b"page")
        return SimpleNamespace(returncode=0, stderr="")

    monkeypatch.setattr(subprocess, "run", done)
    return table._Papers(RecipeFolder.at(tmp_path)), run


PLAIN = dict.fromkeys(("large", "left-handed", "teacher", "letter", "screen"), False)


def test_pages_are_named_by_what_was_wished(papers: Papers, tmp_path: Path) -> None:
    made, run = papers
    page = asyncio.run(made.handout("It.weave", PLAIN))
    assert (page.name, page.words) == (
        "It-handout.html", "It-handout.html lies beside the recipe.",
    )  # fmt: skip
    assert run[0][1:5] == ["-P", "-m", "ringstep", "handout"]
    assert run[0][-2:] == ["--", "It.weave"]
    wish = {**PLAIN, "large": True, "letter": True, "screen": True}
    page = asyncio.run(made.handout("It.weave", wish))
    assert page.name == "It-follow-large-letter.html"
    assert [w for w in run[1] if w.startswith("--") and "=" not in w] == [
        "--large", "--screen", "--paper", "--",
    ]  # fmt: skip
    page = asyncio.run(made.slip("Other.weave", {"pieces": "5"}))
    assert page.name == "Other-slip.html"
    assert "--pieces=5" in run[2]
    assert (tmp_path / "Other-slip.html").read_bytes() == b"page"
    assert made.made_of("It.weave") == ["It-handout.html", "It-follow-large-letter.html"]
    assert made.made_of("Other.weave") == ["Other-slip.html"]
    assert made.read("It-handout.html") == b"page"
    with pytest.raises(Stop, match="no such page"):
        made.read("It.weave")


def test_why_a_page_could_not_be_made_is_told(papers: Papers, tmp_path: Path) -> None:
    made, _ = papers
    with pytest.raises(Stop, match=r"^it has errors$"):
        asyncio.run(made.slip("Bad.weave", {}))
    assert made.made_of("Bad.weave") == []
    assert not (tmp_path / "Bad-slip.html").exists()


# -- the command -----------------------------------------------------------------------------------


def test_the_table_is_laid_and_cleared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from ringstep.table import serve

    asked: list[Any] = []
    browser = {"there": True}

    def served(behind: Any, name: str, begun: Any, port: int) -> None:
        asked.append((name, port))
        begun("http://here")

    monkeypatch.setattr(serve, "serve", served)
    monkeypatch.setattr(table, "_opened", lambda address: browser["there"])
    args = argparse.Namespace(file=str(tmp_path / "new"), no_browser=False, port=0)
    assert table.run(args) == 0
    out = capsys.readouterr()
    told = (out.out + out.err).splitlines()
    assert told == [
        "new.weave lies on the table; Ctrl-C ends it",
        "the table is cleared; what was not saved is kept as a draft",
    ]
    for way in ("none", "not wanted"):
        browser["there"] = way == "not wanted"
        args = argparse.Namespace(
            file=str(tmp_path / "It.WEAVE"), no_browser=way == "not wanted", port=7
        )
        assert table.run(args) == 0
        out = capsys.readouterr()
        assert "open http://here" in out.out + out.err
    assert asked == [("new.weave", 0), ("It.WEAVE", 7), ("It.WEAVE", 7)]
    with pytest.raises(Stop, match="piped in"):
        table.run(argparse.Namespace(file="-", no_browser=True, port=0))


def test_a_port_that_is_taken_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from ringstep.table import serve

    def taken(*_: Any) -> None:
        raise OSError(98, "Address already in use")

    monkeypatch.setattr(serve, "serve", taken)
    args = argparse.Namespace(file=str(tmp_path / "It.weave"), no_browser=True, port=80)
    with pytest.raises(Stop, match=r"^port 80 cannot be used: Address already in use$"):
        table.run(args)


# -- streams ---------------------------------------------------------------------------------------


def test_what_was_closed_beforehand_can_be_written_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", None)
    monkeypatch.setattr(sys, "stderr", None)
    cli._open_streams()
    for stream in (sys.stdout, sys.stderr):
        assert stream.write("ring \u2026\n") == 7  # type: ignore[union-attr]
        stream.close()  # type: ignore[union-attr]
