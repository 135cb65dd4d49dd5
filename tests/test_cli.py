"""The command line as it is typed: exit codes, what goes where, and the JSON form."""

from __future__ import annotations

import errno
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from helpers import DOUBLED, ROOT, SIMPLE, SPIRAL, shipped_recipes

from ringstep.commands.cli import main

BROKEN = SIMPLE.replace("through prev A", "throuhg prev A")
TWO_FAULTS = SIMPLE.replace("meets 2", "meets 3").replace("wire 1.2 mm", "wire 18")
WARNED = SIMPLE.replace("expect:\n  A meets 2\n", "")

Out = pytest.CaptureFixture[str]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with a few recipes."""
    monkeypatch.chdir(tmp_path)
    for name, text in {
        "clean": SIMPLE,
        "broken": BROKEN,
        "two": TWO_FAULTS,
        "warned": WARNED,
    }.items():
        (tmp_path / f"{name}.weave").write_text(text, encoding="utf-8")
    return tmp_path


def ringstep(
    *words: str, stdin: bytes = b"", cwd: Path | None = None, **env: str
) -> subprocess.CompletedProcess[bytes]:
    """Run the program as its own process."""
    return subprocess.run(
        [sys.executable, "-m", "ringstep", *words],
        input=stdin,
        capture_output=True,
        cwd=cwd or ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), **env},
    )


# -- first words -----------------------------------------------------------------------------------


def test_on_a_terminal_it_says_at_once_that_there_are_errors(
    folder: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    for name, told in (("two", True), ("clean", False)):
        monkeypatch.setattr(sys, "stderr", terminal := Terminal())
        main(["check", f"{name}.weave"])
        said = terminal.getvalue()
        assert said.startswith("two.weave has errors; looking for what mends them") == told
        assert said.endswith("\r") == told  # wiped once the report is there
        assert bool(said) == told


# -- exit codes ------------------------------


def test_a_clean_recipe(folder: Path, capsys: Out) -> None:
    assert main(["check", "clean.weave"]) == 0
    out, err = capsys.readouterr()
    assert out.splitlines() == [
        "clean.weave: checks clean",
        "  2 steps, a chain of 30 units, 1 ring a unit",
        "  every finished A meets 2 A",
        "  the piece repeats every unit",
    ]
    assert err == ""


def test_a_warning_leaves_it_clean(folder: Path, capsys: Out) -> None:
    assert main(["check", "warned.weave"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("warning: nothing is promised for A")
    assert "warned.weave: checks clean (1 warning)" in out


def test_errors_are_counted_and_end_in_one(folder: Path, capsys: Out) -> None:
    assert main(["check", "two.weave"]) == 1
    out, err = capsys.readouterr()
    assert out.splitlines()[-1] == "two.weave: 2 errors"
    assert err == ""


def test_the_worst_of_several_files_decides_and_all_are_told(folder: Path, capsys: Out) -> None:
    assert main(["check", "broken.weave", "clean.weave"]) == 1
    assert main(["check", "clean.weave", "nowhere.weave", "broken.weave"]) == 2
    out, err = capsys.readouterr()
    assert out.count("clean.weave: checks clean") == 2
    assert out.count("broken.weave: 1 error") == 2
    assert err == "ringstep: there is no file nowhere.weave\n"


@pytest.mark.parametrize(
    "words", [[], ["chek", "clean.weave"], ["check"], ["check", "--jason", "x"]]
)
def test_a_command_that_cannot_run(words: list[str]) -> None:
    done = ringstep(*words)
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr
    assert done.stderr.strip()


def test_a_mistyped_command_gets_the_nearest(capsys: Out) -> None:
    assert main(["chek", "x.weave"]) == 2
    assert capsys.readouterr().err == (
        "ringstep: there is no command 'chek'; the nearest is 'check'\n"
    )


# -- files that cannot be read ------------------------------


def test_a_folder(folder: Path, capsys: Out) -> None:
    (folder / "inner").mkdir()
    assert main(["check", "inner"]) == 2
    assert (
        capsys.readouterr().err
        == "ringstep: there is no recipe in inner: no file in it ends in .weave\n"
    )


def test_a_file_that_is_not_text(folder: Path, capsys: Out) -> None:
    (folder / "picture.weave").write_bytes(b"\x89PNG\r\n\x1a\n\0\0")
    assert main(["check", "picture.weave"]) == 2
    assert capsys.readouterr().err == (
        "ringstep: picture.weave, line 1: these bytes are not UTF-8 text."
        " Save the file as UTF-8 plain text and try again.\n"
    )


def test_a_file_far_too_large(folder: Path, capsys: Out) -> None:
    (folder / "large.weave").write_bytes(b"#\n" * 1_000_001)
    assert main(["check", "large.weave"]) == 2
    assert capsys.readouterr().err == (
        "ringstep: large.weave holds 2,000,002 bytes; a recipe has at most 500,000\n"
    )


def test_a_file_that_may_not_be_read(
    folder: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(path: str, *_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), path)

    monkeypatch.setattr("builtins.open", refuse)
    assert main(["check", "clean.weave"]) == 2
    assert capsys.readouterr().err == (
        "ringstep: clean.weave cannot be read: Permission denied; make sure that you may read and"
        " write there, or name another place\n"
    )


def test_a_shipped_name_is_pointed_to(folder: Path, capsys: Out) -> None:
    name = next(iter(shipped_recipes()))
    assert main(["check", name]) == 2
    assert f"'ringstep weaves --copy {name}'" in capsys.readouterr().err


def test_a_name_with_line_ends_in_it_stays_on_one_line(folder: Path, capsys: Out) -> None:
    (folder / "a\x1b[31m\n.weave").write_text(BROKEN, encoding="utf-8")
    assert main(["check", "a\x1b[31m\n.weave"]) == 1
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert len(out.splitlines()) == 7


# -- standard input ------------------------------


def test_a_recipe_piped_in() -> None:
    done = ringstep("check", "-", stdin=BROKEN.encode())
    assert done.returncode == 1
    assert done.stdout.decode().splitlines()[1] == "  standard input, line 9"


def test_nothing_piped_in() -> None:
    done = ringstep("check", "-")
    assert done.returncode == 1
    assert "the recipe has no steps" in done.stdout.decode()
    assert b"Traceback" not in done.stderr


@pytest.mark.parametrize("command", [["check", "-"], ["explain"], ["weaves"]])
def test_a_reader_that_goes_away(command: list[str]) -> None:
    """`ringstep … | head -1`: no traceback, whatever the exit code of the pipe."""
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "wb") as gone:
        done = subprocess.run(
            [sys.executable, "-m", "ringstep", *command],
            input=(BROKEN * 1).encode(),
            stdout=gone,
            stderr=subprocess.PIPE,
            cwd=ROOT,
        )
    assert done.stderr == b""
    assert done.returncode == 2


def test_output_is_utf_8_whatever_the_locale() -> None:
    text = SIMPLE.replace("A meets", "環 meets").replace(" A", " 環").replace("throuhg", "")
    done = ringstep("check", "-", stdin=text.encode(), LC_ALL="C", PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    assert "every finished 環 meets 2 環" in done.stdout.decode("utf-8")


# -- JSON ------------------------------


def test_json_has_exactly_the_designed_shape(folder: Path, capsys: Out) -> None:
    assert main(["check", "--json", "broken.weave", "clean.weave"]) == 1
    out, err = capsys.readouterr()
    assert err == ""
    assert json.loads(out) == {
        "files": [
            {
                "file": "broken.weave",
                "ok": False,
                "findings": [
                    {
                        "rule": "unread-line",
                        "severity": "error",
                        "line": 9,
                        "column": 9,
                        "end_line": 9,
                        "end_column": 16,
                        "message": "'throuhg' is not a word of the language here",
                        "help": "the nearest word is 'through'",
                        "labels": [],
                        "mends": [
                            {
                                "says": "write 'through'",
                                "edits": [
                                    {
                                        "line": 9,
                                        "column": 9,
                                        "end_line": 9,
                                        "end_column": 16,
                                        "text": "through",
                                    }
                                ],
                            }
                        ],
                    }
                ],
            },
            {"file": "clean.weave", "ok": True, "findings": []},
        ]
    }


def test_json_keeps_the_order_given_and_tells_of_what_could_not_be_read(
    folder: Path, capsys: Out
) -> None:
    assert main(["check", "warned.weave", "nowhere.weave", "two.weave", "--json"]) == 2
    out, err = capsys.readouterr()
    assert err == ""
    files = json.loads(out)["files"]
    assert [(f["file"], f["ok"]) for f in files] == [
        ("warned.weave", True),
        ("nowhere.weave", False),
        ("two.weave", False),
    ]
    assert [f["severity"] for f in files[0]["findings"]] == ["warning"]
    (unread,) = files[1]["findings"]
    assert (unread["line"], unread["column"], unread["severity"]) == (1, 1, "error")
    assert unread["message"] == "there is no file nowhere.weave"
    lines = [(f["line"], f["column"]) for f in files[2]["findings"]]
    assert lines == sorted(lines)


def test_json_of_the_same_file_twice_is_told_twice(folder: Path, capsys: Out) -> None:
    assert main(["check", "--json", "clean.weave", "clean.weave"]) == 0
    assert [f["file"] for f in json.loads(capsys.readouterr().out)["files"]] == ["clean.weave"] * 2


def test_json_of_a_pipe_is_json_alone() -> None:
    done = ringstep("check", "--json", "-", stdin=TWO_FAULTS.encode())
    (file,) = json.loads(done.stdout)["files"]
    assert (done.returncode, file["file"], file["ok"]) == (1, "standard input", False)
    assert done.stderr == b""


# -- the shipped recipes ------------------------------


def test_weaves_lists_what_is_shipped(capsys: Out) -> None:
    assert main(["weaves"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == list(shipped_recipes())


def test_weaves_shows_a_recipe_as_it_is(capsys: Out) -> None:
    name, text = next(iter(shipped_recipes().items()))
    assert main(["weaves", "--show", name]) == 0
    assert capsys.readouterr().out == text


def test_weaves_copies_once_and_never_over_a_file(folder: Path, capsys: Out) -> None:
    name, text = next(iter(shipped_recipes().items()))
    assert main(["weaves", "--copy", name]) == 0
    assert (folder / f"{name}.weave").read_text(encoding="utf-8") == text
    (folder / f"{name}.weave").write_text("mine", encoding="utf-8")
    assert main(["weaves", "--copy", name]) == 2
    assert (folder / f"{name}.weave").read_text(encoding="utf-8") == "mine"
    assert "is there already and is left as it is" in capsys.readouterr().err
    assert main(["weaves", "--copy", name, "--to", "other.weave"]) == 0
    assert (folder / "other.weave").read_text(encoding="utf-8") == text
    assert not [p for p in folder.iterdir() if p.name.endswith(".part")]


def test_weaves_into_a_folder_that_cannot_be_written(folder: Path, capsys: Out) -> None:
    name = next(iter(shipped_recipes()))
    (folder / "file").write_text("", encoding="utf-8")
    assert main(["weaves", "--copy", name, "--to", "file/inner.weave"]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_a_shipped_name_mistyped_gets_the_nearest(capsys: Out) -> None:
    assert main(["weaves", "--show", "simple_chian"]) == 2
    assert "the nearest is 'simple_chain'" in capsys.readouterr().err


# -- a recipe with errors makes nothing ------------------------------


def test_no_step_list_of_a_recipe_with_errors(folder: Path, capsys: Out) -> None:
    assert main(["steps", "broken.weave"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "'throuhg' is not a word of the language here" in err
    assert "broken.weave has errors, so nothing is made from it; mend them first" in err


def test_no_pictures_of_a_recipe_with_errors(folder: Path, capsys: Out) -> None:
    before = sorted(folder.iterdir())
    assert main(["draw", "broken.weave"]) == 2
    assert sorted(folder.iterdir()) == before


@pytest.mark.parametrize("text", [SIMPLE, DOUBLED, SPIRAL], ids=["simple", "doubled", "spiral"])
def test_checking_writes_nothing(folder: Path, text: str) -> None:
    (folder / "it.weave").write_text(text, encoding="utf-8")
    before = {p: p.stat().st_mtime_ns for p in folder.iterdir()}
    main(["check", "it.weave"])
    assert {p: p.stat().st_mtime_ns for p in folder.iterdir()} == before


def test_a_home_that_cannot_be_written_does_not_matter(tmp_path: Path) -> None:
    """The parser is built anew where no cache can be kept."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    done = ringstep(
        "check",
        "-",
        stdin=SIMPLE.encode(),
        HOME=str(tmp_path / "file"),
        XDG_CACHE_HOME=str(tmp_path / "file" / "cache"),
    )
    assert (done.returncode, done.stderr) == (0, b"")


# -- folders: to be added to tests/test_cli.py (uses its fixture `folder` and its constants) ------


@pytest.fixture
def shelf(folder: Path) -> Path:
    """A folder of recipes, some of them in folders of their own."""
    for name, text in {
        "b/two.weave": SIMPLE,
        "b/c/three.WEAVE": BROKEN,
        "b/notes.txt": "not a recipe",
        "a.weave": SIMPLE,
        ".hidden/four.weave": BROKEN,
    }.items():
        path = folder / "shelf" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder / "shelf"


def test_a_folder_stands_for_its_recipes_in_order(shelf: Path, capsys: Out) -> None:
    assert main(["check", "shelf"]) == 1
    out, err = capsys.readouterr()
    told = [line for line in out.splitlines() if line.startswith("shelf")]
    assert told == [
        "shelf/a.weave: checks clean",
        "shelf/b/c/three.WEAVE: 1 error",
        "shelf/b/two.weave: checks clean",
        "shelf: 3 recipes, 1 has errors",
    ]
    assert err == ""
    (shelf / "b" / "c" / "three.WEAVE").write_text(SIMPLE, encoding="utf-8")
    assert main(["check", "shelf"]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == "shelf: 3 recipes, all check clean"


def test_the_json_of_a_folder_keeps_that_order(shelf: Path, capsys: Out) -> None:
    assert main(["check", "--json", "clean.weave", "shelf", "broken.weave"]) == 1
    files = json.loads(capsys.readouterr().out)["files"]
    assert [(f["file"], f["ok"]) for f in files] == [
        ("clean.weave", True),
        ("shelf/a.weave", True),
        ("shelf/b/c/three.WEAVE", False),
        ("shelf/b/two.weave", True),
        ("broken.weave", False),
    ]


def test_the_folder_one_stands_in(
    shelf: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(shelf / "b")
    assert main(["check", "."]) == 1
    told = [line for line in capsys.readouterr().out.splitlines() if ".weave: " in line]
    assert told == ["two.weave: checks clean"]


def test_a_folder_without_recipes(folder: Path, capsys: Out) -> None:
    (folder / "inner").mkdir()
    assert main(["check", "inner", "clean.weave"]) == 2
    out, err = capsys.readouterr()
    assert err == "ringstep: there is no recipe in inner: no file in it ends in .weave\n"
    assert "clean.weave: checks clean" in out
    assert main(["check", "--json", "inner"]) == 2
    (file,) = json.loads(capsys.readouterr().out)["files"]
    assert (file["file"], file["ok"]) == ("inner", False)


def test_a_recipe_in_a_folder_that_cannot_be_read(shelf: Path, capsys: Out) -> None:
    (shelf / "b" / "two.weave").write_bytes(b"\xff")
    assert main(["check", "shelf"]) == 2
    out, err = capsys.readouterr()
    assert err.startswith("ringstep: shelf/b/two.weave, line 1: these bytes are not UTF-8 text.")
    assert out.splitlines()[-1] == "shelf: 3 recipes, 1 has errors and 1 cannot be read"
