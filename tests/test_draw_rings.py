"""`ringstep draw --rings` and `--film`: file names, what stands in them, what is said instead."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from helpers import LIBRARY, SIMPLE

from ringstep.commands.cli import main


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path


def drawn(folder: Path, text: str, *more: str) -> int:
    (folder / "it.weave").write_text(text, encoding="utf-8")
    return main(["draw", "it.weave", "--to", "out", *more])


def test_one_picture_a_step_and_a_page(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert drawn(folder, SIMPLE, "--rings", "--film") == 0
    names = ["film.html", "rings-01.svg", "rings-02.svg"]
    assert sorted(p.name for p in (folder / "out").iterdir()) == names
    assert capsys.readouterr().out.startswith("3 files in out:\n")
    for name in names[1:]:
        ET.parse(folder / "out" / name)
    page = (folder / "out" / "film.html").read_text(encoding="utf-8")
    # start, then unit 1 and unit 2
    assert re.findall(r"Step \d, [a-z]+(?: \d)?", page)[0] == "Step 1, start"
    assert page.count("<figure") == 3
    assert "Step 2, unit 2." in page
    assert not re.search(r'src=|href="[^#]|url\([^#]', page)  # nothing is fetched
    marks = re.findall(r' id="([^"]+)"', page)
    assert len(marks) == len(set(marks))  # pictures side by side keep their parts apart


def test_only_what_is_asked_for_is_made(folder: Path) -> None:
    assert drawn(folder, SIMPLE, "--film") == 0
    assert [p.name for p in (folder / "out").iterdir()] == ["film.html"]


def test_hostile_words_are_escaped(folder: Path) -> None:
    text = SIMPLE.replace('"Simple chain"', '"<script>alert(1)</script> & more"')
    assert drawn(folder, text, "--film") == 0
    page = (folder / "out" / "film.html").read_text(encoding="utf-8")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; more" in page


def test_pictures_of_steps_that_are_no_more_are_removed(folder: Path) -> None:
    assert drawn(folder, SIMPLE, "--rings") == 0
    old = folder / "out" / "rings-02.svg"
    old.rename(folder / "out" / "rings-09.svg")
    (folder / "out" / "rings-08.svg").write_text("<svg/>", encoding="utf-8")  # not of ours
    assert drawn(folder, SIMPLE, "--rings") == 0
    kept = sorted(p.name for p in (folder / "out").iterdir())
    assert kept == ["rings-01.svg", "rings-02.svg", "rings-08.svg"]


def test_what_cannot_be_drawn_says_why(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    chain = (LIBRARY / "byzantine.weave").read_text(encoding="utf-8")
    tight = chain.replace("wire 1.2 mm, inside 4.2 mm", "wire 1 mm, inside 3 mm")
    assert tight != chain
    assert drawn(folder, tight, "--rings") == 2
    told = capsys.readouterr().err
    assert "the rings of it.weave cannot be drawn: its rings are too small for their wire" in told
    assert "'ringstep draw' without --rings and --film draws diagrams" in told
    assert not (folder / "out").exists()
    assert drawn(folder, SIMPLE, "--rings", "--format", "png") == 2
    assert "leave out --format" in capsys.readouterr().err


def test_a_sheet_that_jams_is_drawn_up_to_there(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = (LIBRARY / "european_4.weave").read_text(encoding="utf-8")
    assert drawn(folder, sheet.replace("inside 7 mm", "inside 4.2 mm"), "--film") == 0
    assert "step 2 jams in row 3, place " in capsys.readouterr().err
    page = (folder / "out" / "film.html").read_text(encoding="utf-8")
    assert "<p>Step 2 jams in row 3, place " in page
    assert page.count("<figcaption>") == 5


def test_a_part_of_unknown_size_is_told_with_what_to_type(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    chain = (LIBRARY / "chain_with_clasp.weave").read_text(encoding="utf-8")
    assert drawn(folder, chain, "--rings") == 0
    line = "clasp  lobster claw, brass, 12 mm by 6 mm, hole 2 mm"
    told = f"the clasp is not drawn: its size is not given; write it as in '{line}'"
    assert capsys.readouterr().err == f"ringstep: {told}\n"
    first = ET.parse(folder / "out" / "rings-01.svg").getroot()
    assert told in (first.findtext("{http://www.w3.org/2000/svg}desc") or "")
    # written as it says, it is drawn
    assert drawn(folder, chain.replace("clasp  lobster claw, brass", line), "--rings") == 0
    assert capsys.readouterr().err == ""
    assert 'fill-rule="evenodd"' in (folder / "out" / "rings-01.svg").read_text(encoding="utf-8")
