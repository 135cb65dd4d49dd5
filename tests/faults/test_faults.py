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
from cases import CASES, Case, marked
from runs import PACKAGE, SHIPPED, Run, Screen, files_in, once_only, prepare, run

from ringstep.commands.rim import ADVICE, CANNOT

#: What is said where memory runs out, whatever stands before it.
_NO_MEMORY = "there is not enough memory for this; close other programs and try again"


@pytest.fixture(params=marked(CASES), ids=lambda case: case.words)
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
        whole = data in (before.get(name), well.files.get(name)) or _a_page_watched(case, data)
        assert whole, f"{name} is not whole"
    assert before.keys() <= got.files.keys(), "a file is lost"
    assert not [p for p in folder.rglob("*") if p.name.endswith(".part")], "a half file is left"


def _a_page_watched(case: Case, data: bytes) -> bool:
    """True for a whole page of 'watch', which tells as well that the recipe cannot be read."""
    return case.words.startswith("watch") and data.endswith(b"</html>\n")


def must_be_told(case: Case, got: Run, well: Run, names: list[str], where: str) -> None:
    """One line says what went wrong, with a file's name and what to do; or nothing went wrong."""
    told = complaints(got, well)
    assert "Traceback" not in got.err, where
    assert "fault of ringstep" not in got.err, where
    if got.files == well.files and got.out == well.out and got.code == well.code and not told:
        return
    if not told:  # it stands in the report, or on the page of what goes on being watched
        new = [line.strip() for line in got.out.splitlines() if line not in well.out.splitlines()]
        page = " ".join(new)
        assert any(name in page for name in names), (where, got.out)
        assert _advised(page), (where, got.out)
        assert got.code or case.words.startswith("watch"), where
        return
    assert len(set(told)) == len(told), (where, told)
    for line in told:
        assert any(name in line for name in names), (where, line)
        assert _advised(line) or "is no plain file" in line, (where, line)
    # what was measured or remembered is left out and told of; else there is nothing to go by
    samples = case.words.startswith("sample")
    left_out = "it.weave cannot be" if samples else "it.samples cannot be"
    optional = "not remembered" in told[0] or left_out in told[0]
    assert optional or got.code == CANNOT, (where, got.code, told[0])


def _advised(line: str) -> bool:
    return any(words in line for words in ADVICE.values())


@pytest.mark.parametrize("full", [False, True], ids=["one thing fails", "the disk is full"])
def test_a_disk_that_fails(case: Case, full: bool, tmp_path: Path) -> None:
    folder = tmp_path / "box"
    run(case, folder)  # what is worked out once a process is there from now on
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
        assert len(complaints(got, well)) <= max(1, case.words.count(".weave")), (where, got.err)
    assert run(case, folder) == well, "and the next run is as any other"


def _names(case: Case, path: str, well: Run) -> list[str]:
    """What is named in the message: the file, or what was to be made there."""
    name, before = os.path.basename(path), case.all_files()
    made = [one for one, data in well.files.items() if before.get(one, "").encode() != data]
    if name in before and name not in made:
        return [name]
    return [name, *map(os.path.basename, made)]


def test_a_screen_that_cannot_be_written(case: Case, tmp_path: Path) -> None:
    folder, screen = tmp_path / "box", Screen()
    well = run(case, folder, screen=screen)
    writings = screen.writings
    assert writings or well.code == CANNOT
    for number in sorted({*range(1, min(writings, 12) + 1), writings} - {0}):
        got = run(case, folder, screen=Screen(fails=number))
        must_be_whole(case, got, well, folder)
        told = complaints(got, well)
        assert len(told) == 1, got.err
        assert told[0].startswith("ringstep: what is printed cannot be written: No space"), told
        assert got.code == CANNOT


def test_memory_that_runs_out(case: Case, tmp_path: Path) -> None:
    folder, memory = tmp_path / "box", Memory(PACKAGE)
    run(case, folder)
    well = run(case, folder, memory)
    number, calls = 1, memory.calls
    while number <= calls:
        memory = Memory(PACKAGE, number)
        got = run(case, folder, memory)
        must_be_whole(case, got, well, folder)
        told = complaints(got, well)
        assert "Traceback" not in got.err
        if told or (got.files, got.out, got.code) != (well.files, well.out, well.code):
            if "--json" in case.words and not told:  # it stands in the report
                told = [line.rstrip('",') for line in got.out.splitlines() if _NO_MEMORY in line]
            assert len(told) == 1, (number, got.err)
            assert told[0].endswith(_NO_MEMORY), (number, told[0])
            assert got.code == CANNOT
        number += 1 + number // 2 if number < 3_000 else number
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
