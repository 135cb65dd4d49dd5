"""The program as a process: without docstrings and asserts, and where one of many recipes fails."""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from helpers import ROOT, SIMPLE

from ringstep.checks import pipeline
from ringstep.checks.view import View
from ringstep.commands.cli import main
from ringstep.language.findings import Finding

Out = pytest.CaptureFixture[str]


@pytest.mark.parametrize("words", ["--help", "kit --help", "explain", "explain pick-count"])
def test_words_are_there_where_python_leaves_docstrings_out(words: str) -> None:
    told = [
        subprocess.run(
            [sys.executable, *how, "-m", "ringstep", *words.split()],
            capture_output=True, text=True, check=True,
        ).stdout
        for how in ([], ["-OO"])
    ]  # fmt: skip
    assert told[0] == told[1]
    assert len(told[0]) > 200


@pytest.mark.parametrize(
    "words", ["check examples/missed_ring.weave", "steps library/byzantine.weave"]
)
def test_nothing_hangs_on_asserts(words: str) -> None:
    plain, bare = (
        subprocess.run(
            [sys.executable, *how, "-m", "ringstep", *words.split()], cwd=ROOT, capture_output=True
        )
        for how in ([], ["-OO"])
    )
    assert plain.stdout
    assert (plain.returncode, plain.stdout) == (bare.returncode, bare.stdout)


def test_version(capsys: Out) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    stated = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert capsys.readouterr().out == f"ringstep {stated['version']}\n"


def test_main_leaves_the_garbage_collector_as_it_was(capsys: Out) -> None:
    assert gc.isenabled()
    assert main(["weaves"]) == 0
    assert gc.isenabled()


def test_a_folder_with_a_recipe_that_crashes_still_tells_of_the_others(
    tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("a", "b", "c"):
        (tmp_path / f"{name}.weave").write_text(SIMPLE, encoding="utf-8")
    real = pipeline.findings_of

    def crash(seen: View, of_rings: bool) -> tuple[Finding, ...]:
        if seen.recipe.source.name.endswith("b.weave"):
            raise KeyError("hidden")
        return real(seen, of_rings)

    monkeypatch.setattr(pipeline, "findings_of", crash)
    assert main(["check", str(tmp_path)]) == 2
    told = capsys.readouterr()
    assert told.out.count("checks clean\n") == 2
    assert told.out.endswith(": 3 recipes, 1 cannot be read\n")
    assert told.err.startswith(f"ringstep: {tmp_path}/b.weave: a fault of ringstep itself")


def test_a_folder_that_cannot_be_read_hides_no_other(
    tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("a", "shut", "z"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "it.weave").write_text(SIMPLE, encoding="utf-8")
    real = os.scandir

    def scan(path: str) -> object:
        if str(path).endswith("shut"):
            raise PermissionError(13, "Permission denied", str(path))
        return real(path)

    monkeypatch.setattr(os, "scandir", scan)
    assert main(["check", str(tmp_path)]) == 2
    told = capsys.readouterr()
    assert told.out.count("checks clean\n") == 2
    assert told.err == (
        f"ringstep: {tmp_path}/shut cannot be read: Permission denied; make sure that you may read"
        " and write there, or name another place\n"
    )
    assert main(["check", "--json", str(tmp_path)]) == 2
    assert "shut cannot be read" in capsys.readouterr().out
