"""What commands say and keep that mend, watch, look through a drawer or log samples."""

from __future__ import annotations

import errno
import json
import os
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from helpers import DOUBLED, SIMPLE
from test_commands import STOCK, Out, Patch, Terminal

from ringstep.commands import drawer, watch
from ringstep.commands.cli import main
from ringstep.commands.mend import kept_beside

SLIPS = SIMPLE.replace("through prev A", "throuhg prev A").replace("close A", "clsoe A")

# -- mend ------------------------------------------------------------------------------------------


def test_old_texts_are_kept_side_by_side(folder: Path) -> None:
    path = Path("it.weave")
    names = [kept_beside(path, data).name for data in (b"one", b"two", b"one", b"two", b"three")]
    assert names == [
        "it.weave.before", "it.weave.before2", "it.weave.before", "it.weave.before2",
        "it.weave.before3",
    ]  # fmt: skip
    assert Path("it.weave.before3").read_bytes() == b"three"


@pytest.mark.parametrize(
    ("typed", "asks", "lines", "code"),
    [
        ("maybe\nY\n yes \n", 3, (0, 0), 0),
        ("y\nno\n", 2, (0, 1), 1),
        ("N\ny\n", 2, (1, 0), 1),
        ("1\nn\n", 3, (1, 1), 1),  # nothing is typed any more at last
    ],
)
def test_each_mend_is_asked_for_by_itself(
    typed: str,
    asks: int,
    lines: tuple[int, int],
    code: int,
    folder: Path,
    capsys: Out,
    monkeypatch: Patch,
) -> None:
    Path("it.weave").write_text(SLIPS)
    monkeypatch.setattr(sys, "stdin", Terminal(typed))
    assert main(["mend", "it.weave"]) == code
    out = capsys.readouterr().out
    text = Path("it.weave").read_text()
    assert (text.count("clsoe"), text.count("throuhg")) == lines
    kept = lines != (1, 1)
    assert Path("it.weave.before").exists() == kept
    told = "it.weave is written; the old text is kept as it.weave.before\n\n"
    assert (told in out) == kept
    assert not kept or Path("it.weave.before").read_text() == SLIPS
    first, _, rest = out.partition("  write this? (yes or no) ")
    assert first == (
        "it.weave, line 7: no step begins with 'clsoe'\n"
        "  write 'close'\n"
        "    before    7 |   clsoe A\n"
        "    after     7 |   close A\n"
    )
    assert rest.count("write this? (yes or no) ") == asks - 1


def test_where_nothing_is_to_be_mended_that_is_said(folder: Path, capsys: Out) -> None:
    assert main(["mend", "it.weave"]) == 0
    assert capsys.readouterr().out.startswith("it.weave: there is no mend to offer\n\nit.weave: ch")
    Path("it.weave").write_text(SLIPS)
    assert main(["mend", "it.weave"]) == 1
    out = capsys.readouterr().out
    assert "nothing is written, since nobody can be asked here; --yes writes it\n\n" in out
    assert main(["mend", "it.weave", "--yes"]) == 0
    assert Path("it.weave").read_text() == SIMPLE
    assert main(["mend", "-"]) == 2
    assert capsys.readouterr().err == "ringstep: 'mend' writes into a file; name one\n"


def test_a_mend_that_cannot_be_written_leaves_no_old_text(
    folder: Path, capsys: Out, monkeypatch: Patch
) -> None:
    Path("it.weave").write_text(SLIPS)
    Path("it.weave").chmod(0o444)
    assert main(["mend", "it.weave", "--yes"]) == 2
    assert capsys.readouterr().err.endswith("it.weave is read-only and is left as it is\n")
    assert sorted(os.listdir()) == ["it.weave"]


# -- drawer ----------------------------------------------------------------------------------------


def test_a_folder_held_against_a_drawer_tells_what_is_left_out_of_it(
    folder: Path, capsys: Out, monkeypatch: Patch
) -> None:
    Path("my.csv").write_text(STOCK)
    Path("wrong.weave").write_text(SLIPS)
    words = ["--stock", "my.csv", "--json"]
    assert main(["sizes", ".", *words]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["left_out"] == [
        "wrong.weave: wrong.weave has errors, so nothing is made from it; mend them first"
    ]
    assert len(told["weaves"]) == 1
    assert main(["sizes", "it.weave", "wrong.weave", *words]) == 0
    assert len(json.loads(capsys.readouterr().out)["left_out"]) == 1
    assert main(["sizes", "wrong.weave", *words]) == 2
    assert capsys.readouterr().out == ""
    shut = OSError(errno.EIO, "no answer", "shut")
    monkeypatch.setattr(drawer, "recipes_in", lambda _: (["it.weave"], [shut]))
    assert main(["sizes", ".", *words]) == 2
    out, err = capsys.readouterr()
    assert len(json.loads(out)["weaves"]) == 1
    assert err == (
        "ringstep: shut cannot be read: no answer; try again; if it comes back, the disk or the"
        " way to it is failing\n"
    )


# -- watch -----------------------------------------------------------------------------------------


def test_what_is_printed_while_a_recipe_is_watched(
    folder: Path, capsys: Out, monkeypatch: Patch
) -> None:
    times = iter(("08:00:01", "08:00:02", "08:00:03"))
    deeds = [lambda: Path("it.weave").write_text(SLIPS), lambda: None, lambda: None]

    def sleep(seconds: float) -> None:
        assert seconds == watch.LOOK_EVERY
        if not deeds:
            raise KeyboardInterrupt
        deeds.pop(0)()

    clock = SimpleNamespace(sleep=sleep, strftime=lambda _: next(times))
    monkeypatch.setattr(watch, "time", clock)
    assert main(["watch", "it.weave"]) == 0
    out, err = capsys.readouterr()
    lines = out.splitlines()
    assert lines[0] == "watching it.weave; the page is it-preview.html; Ctrl-C ends it"
    assert lines[1] == "08:00:01  it.weave: checks clean"
    assert [line[:8] for line in lines if line.startswith("08:")] == ["08:00:01", "08:00:02"]
    assert lines[-1] == "no longer watching it.weave"
    assert err == ""
    assert "08:00:03" in Path("it-preview.html").read_text(encoding="utf-8")


def test_a_browser_that_cannot_be_opened_is_told(
    folder: Path, capsys: Out, monkeypatch: Patch
) -> None:
    asked: list[str] = []
    page = folder / "page.html"
    monkeypatch.setattr("webbrowser.open", lambda address: bool(asked.append(address)))
    watch._open(Path("page.html"))
    assert asked == [page.as_uri()]
    told = f"no browser was found; open {page.as_uri()} yourself\n"
    assert capsys.readouterr().out == told

    def failing(_: str) -> bool:
        raise OSError

    monkeypatch.setattr("webbrowser.open", failing)
    watch._open(Path("page.html"))
    assert capsys.readouterr().out == told
    monkeypatch.setattr("webbrowser.open", lambda _: True)
    watch._open(Path("page.html"))
    assert capsys.readouterr().out == ""


# -- samples ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["add"], "name one recipe: ringstep sample add FILE --units 10 --measured '41 mm'"),
        (["add", "it.weave", "x"],
         "name one recipe: ringstep sample add FILE --units 10 --measured '41 mm'"),
        (["add", "-"], "samples are kept beside a recipe; name its file instead of '-'"),
        (["add", "it.weave", "--measured", "1 mm"], "say what was measured, as in --units 10"),
        (["add", "it.weave", "--units", "9"], "say what was measured, as in --measured '41 mm'"),
        (["it.weave", "--note", "x"],
         "--note is for a new sample: ringstep sample add FILE --note …"),
        (["it.weave"], "no samples of it.weave yet; 'ringstep sample add it.weave --units 10"
         " --measured …' keeps one"),
        (["x.weave"], "there is no file x.weave; 'ringstep sample add x.weave --units 10"
         " --measured …' keeps one"),
        (["add", "it.weave", "--units", "9", "--measured", "40 mm", "--date", "2999-01-01"],
         "--date: 2999-01-01 is yet to come"),
        (["add", "it.weave", "--units", "9", "--measured", "40 mm", "--note", "x" * 201],
         "--note has 201 letters; at most 200 go into a line"),
    ],
)  # fmt: skip
def test_a_sample_that_is_not_taken(words: list[str], told: str, folder: Path, capsys: Out) -> None:
    assert main(["sample", *words]) == 2
    assert capsys.readouterr().err == f"ringstep: {told}\n"
    assert sorted(os.listdir()) == ["it.weave"]


def test_samples_of_a_folder_are_listed_with_what_cannot_be_read(folder: Path, capsys: Out) -> None:
    assert main(["sample"]) == 0
    assert capsys.readouterr().out == (
        "no samples here yet; 'ringstep sample add FILE --units 10 --measured …' keeps one\n"
    )
    Path("b.weave").write_text(DOUBLED)
    words = ["--measured", "80 mm", "--date", "2024-03-01"]
    assert main(["sample", "add", "it.weave", "--units", "20", *words, "--note", "x" * 200]) == 0
    assert main(["sample", "add", "b.weave", "--units", "16", *words]) == 0
    out = capsys.readouterr().out.splitlines()
    assert out[0] == "wrote it.samples: 20 units = 80 mm, laid flat, 4.00 mm a unit"
    Path("a.samples").write_bytes(b"\xff")
    Path("folder.samples").mkdir()
    assert main(["sample", "--json"]) == 2
    out, err = capsys.readouterr()
    assert [row["log"] for row in json.loads(out)] == ["b.samples", "it.samples"]
    assert err == (
        "ringstep: a.samples is not plain text in UTF-8, so it is left as it is and not used\n"
    )
    assert main(["sample", "b.weave", "--json"]) == 0
    assert [row["units"] for row in json.loads(capsys.readouterr().out)] == [16]
    Path("it.weave").unlink()
    assert main(["sample", "it.weave", "--json"]) == 0
    out, err = capsys.readouterr()
    assert (len(json.loads(out)), err) == (1, "ringstep: there is no file it.weave\n")
