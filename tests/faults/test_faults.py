"""Whatever the machine refuses, a command says so in one line and leaves every file whole.

For each command the first thing done with a file goes wrong, then the second, until none is left
to go wrong; then the same with a full disk, with a screen that cannot be written, and with memory
that runs out.
"""

from __future__ import annotations

import os
from collections import Counter
from pathlib import Path

import pytest
from broken import WRITING, Disk, Memory
from cases import CASES, Case
from runs import PACKAGE, SHIPPED, Run, Screen, files_in, once_only, prepare, run

from ringstep.commands.rim import ADVICE, CANNOT

#: What is named in a message that is of no file of the user.
_NO_MEMORY = "ringstep: there is not enough memory for this; close other programs and try again"


@pytest.fixture(params=CASES, ids=lambda case: case.words)
def case(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Case:
    """One command, of which what takes long is worked out once."""
    once_only(monkeypatch)
    found: Case = request.param
    return found


def complaints(got: Run, well: Run) -> list[str]:
    """The lines on stderr that are not there when all goes well."""
    lines = Counter(got.err.splitlines())
    lines.subtract(well.err.splitlines())
    return [line for line, many in lines.items() for _ in range(many)]


def must_be_whole(case: Case, got: Run, well: Run, folder: Path) -> None:
    """Every file is as it was or as it is to be, and there is no other."""
    before = {name: text.encode() for name, text in case.all_files().items()}
    for name, data in got.files.items():
        assert name in before or name in well.files, f"{name} is left over"
        assert data in (before.get(name), well.files.get(name)), f"{name} is not whole"
    assert before.keys() <= got.files.keys(), "a file is lost"
    assert not [p for p in folder.rglob("*") if p.name.endswith(".part")], "a half file is left"


def must_be_told(case: Case, got: Run, well: Run, names: list[str], where: str) -> None:
    """One line says what went wrong, with a file's name and what to do; or nothing went wrong."""
    told = complaints(got, well)
    assert "Traceback" not in got.err, where
    assert "fault of ringstep" not in got.err, where
    if got.files == well.files and got.out == well.out and got.code == well.code and not told:
        return
    assert told, (where, got)
    for line in told:
        assert any(name in line for name in names), (where, line)
        assert any(words in line for words in ADVICE.values()), (where, line)
    # what was measured or remembered is left out and told of; else there is nothing to go by
    optional = "not remembered" in told[0] or (
        "it.samples cannot be" in told[0] and not case.words.startswith("sample")
    )
    assert optional or got.code == CANNOT, (where, got.code, told[0])


@pytest.mark.parametrize("full", [False, True], ids=["one thing fails", "the disk is full"])
def test_a_disk_that_fails(case: Case, full: bool, tmp_path: Path) -> None:
    folder = tmp_path / "box"
    disk = Disk((folder, *SHIPPED))
    well = run(case, folder, disk)
    assert not well.err or case.answers or well.code
    for number, what in enumerate(disk.done, 1):
        if full and what not in WRITING:
            continue
        disk = Disk((folder, *SHIPPED), number, full)
        got = run(case, folder, disk)
        assert disk.hit, "the same things are done each time"
        where = f"{number}: {disk.hit}"
        must_be_whole(case, got, well, folder)
        must_be_told(case, got, well, _names(case, disk.hit[1], well), where)
        assert full or len(complaints(got, well)) < 2, (where, got.err)  # full: a line a file
    assert run(case, folder) == well, "and the next run is as any other"


def _names(case: Case, path: str, well: Run) -> list[str]:
    """What is named in the message: the file, or what was to be made there."""
    name = os.path.basename(path)
    if path.endswith(tuple(case.all_files())):
        return [name]
    return [name, *(os.path.basename(made) for made in well.files if made not in case.all_files())]


def test_a_screen_that_cannot_be_written(case: Case, tmp_path: Path) -> None:
    folder, screen = tmp_path / "box", Screen()
    well = run(case, folder, screen=screen)
    writings = screen.writings
    assert writings
    for number in sorted({*range(1, min(writings, 12) + 1), writings}):
        got = run(case, folder, screen=Screen(fails=number))
        must_be_whole(case, got, well, folder)
        told = complaints(got, well)
        assert len(told) == 1, got.err
        assert told[0].startswith("ringstep: what is printed cannot be written: No space left"), told
        assert got.code == CANNOT


def test_memory_that_runs_out(case: Case, tmp_path: Path) -> None:
    folder, memory = tmp_path / "box", Memory(PACKAGE)
    well = run(case, folder, memory)
    number, calls = 1, memory.calls
    while number <= calls:
        memory = Memory(PACKAGE, number)
        got = run(case, folder, memory)
        must_be_whole(case, got, well, folder)
        told = complaints(got, well)
        assert "Traceback" not in got.err
        if told or (got.files, got.out, got.code) != (well.files, well.out, well.code):
            assert len(told) == 1, (number, got.err)
            assert told[0].endswith(_NO_MEMORY.removeprefix("ringstep: ")), (number, told[0])
            assert got.code == CANNOT
        number += 1 + number // 3
    assert run(case, folder) == well, "and the next run is as any other"


def test_the_folder_is_looked_at_rightly(tmp_path: Path) -> None:
    """The tests above can fail: a half-written file and a file too many are seen."""
    one = Case("check it.weave")
    well = run(one, tmp_path / "box")
    prepare(one, tmp_path / "box")
    (tmp_path / "box" / "it.weave").write_text("weave", encoding="utf-8")
    (tmp_path / "box" / "more").write_text("", encoding="utf-8")
    half = Run(0, "", "", files_in(tmp_path / "box"))
    with pytest.raises(AssertionError, match="not whole"):
        must_be_whole(one, half, well, tmp_path / "box")
    with pytest.raises(AssertionError, match="more is left over"):
        must_be_whole(one, Run(0, "", "", {"more": b""}), well, tmp_path / "box")
