"""Watching a recipe: saved, half saved, gone and back; and the page it is shown on."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace

import pytest
from helpers import BYZANTINE, ROOT, SIMPLE, hears_ctrl_c, view
from hypothesis import given, settings
from hypothesis import strategies as st
from test_properties import mutated, stream

from ringstep.checks.pipeline import findings_of, has_errors
from ringstep.checks.report import FileReport
from ringstep.commands.cli import main
from ringstep.language.source import source_from_text
from ringstep.paper.preview import MARK, Moment, preview, trouble_page
from ringstep.paper.steps_text import step_list

Out = pytest.CaptureFixture[str]
BROKEN = SIMPLE.replace("through prev A", "throuhg prev A")
Deed = Callable[[Path], object]


class Page(HTMLParser):
    """What stands on a page: its words, its elements, and every address it asks for."""

    VOID = frozenset({"meta", "input", "br"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.open: list[str] = []
        self.names: list[str] = []
        self.addresses: list[str] = []
        self.title = ""
        self.feed(text)
        self.close()
        assert self.open == [], "every element is closed"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)
        self.addresses += [v or "" for k, v in attrs if k in ("src", "href", "action")]
        assert not [k for k, _ in attrs if k.startswith("on")]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open[-1:] == ["title"]:
            self.title = data
        elif not {"script", "style"} & set(self.open):
            self.words.append(data)

    @property
    def text(self) -> str:
        """The words of the page, with one blank between them."""
        return " ".join(" ".join(self.words).split())


@pytest.fixture
def cuff(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A recipe in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "cuff.weave"
    path.write_text(SIMPLE, encoding="utf-8")
    return path


@pytest.fixture
def during(monkeypatch: pytest.MonkeyPatch, cuff: Path) -> Callable[..., list[Page]]:
    """Watch the recipe for as many looks as there are deeds; a deed is done before each look.

    Gives the page as it lay there before each deed and at the end, when watching is over.
    """

    def run(*deeds: Deed, more: tuple[str, ...] = ()) -> list[Page]:
        pages, left = [], list(deeds)
        page = cuff.with_name("cuff-preview.html")

        def sleep(_: float) -> None:
            if not left:
                raise KeyboardInterrupt
            pages.append(Page(page.read_text(encoding="utf-8")))
            left.pop(0)(cuff)

        # Only for the command: the run of a drawing program sleeps as well.
        clock = SimpleNamespace(sleep=sleep, strftime=time.strftime)
        monkeypatch.setattr("ringstep.commands.watch.time", clock)
        assert main(["watch", "cuff.weave", *more]) == 0
        assert left == []
        return [*pages, Page(page.read_text(encoding="utf-8"))]

    return run


def ctrl_c(_: object) -> None:
    """The deed of ending it."""
    raise KeyboardInterrupt


@pytest.fixture
def ended_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Watching ends before the second look."""
    monkeypatch.setattr(time, "sleep", ctrl_c)


def save(text: str) -> Deed:
    """The deed of saving a text."""
    return lambda path: path.write_text(text, encoding="utf-8")


def nothing(_: Path) -> None:
    """The deed of leaving the file alone."""


During = Callable[..., list[Page]]


def test_saved_broken_and_mended(during: During, capsys: Out) -> None:
    first, same, broken, end = during(nothing, save(BROKEN), save(SIMPLE))
    assert first.title == same.title == "checks clean: cuff.weave"
    assert broken.title == "1 error: cuff.weave"
    assert end.title == "checks clean: cuff.weave"
    assert "line 9" in broken.text
    assert "add A throuhg prev A" in broken.text
    assert "[unread-line]" in broken.text
    assert "Open 1 ring" in first.text or "Open one ring" in first.text
    assert "Wear eye protection" in first.text
    out, err = capsys.readouterr()
    assert err == ""
    assert out.splitlines()[0] == (
        "watching cuff.weave; the page is cuff-preview.html; Ctrl-C ends it"
    )
    assert out.splitlines()[-1] == "no longer watching cuff.weave"
    assert len(re.findall(r"^\d\d:\d\d:\d\d  ", out, re.M)) == 3, "told once for each change"


def test_with_pictures_each_step_has_its_diagram_while_the_recipe_is_clean(
    during: During,
) -> None:
    first, broken, end = during(save(BROKEN), save(BYZANTINE), more=("--pictures",))
    assert [page.names.count("svg") for page in (first, broken, end)] == [2, 0, 9]
    assert "M2" not in end.text
    assert "B1" in end.text
    assert during(nothing)[0].names.count("svg") == 0


def test_a_recipe_too_large_to_work_out_is_told_and_watched_on(during: During) -> None:
    large = SIMPLE.replace("unit:", "unit 999999999999:")
    _, told, end = during(save(large), save(SIMPLE))
    assert "takes more than 1,000,000 single moves, so it is not done" in told.text
    assert "The heading on line 8 has the highest number of a unit." in told.text
    assert end.title == "checks clean: cuff.weave"


def test_the_page_asks_for_nothing_and_stops_looking_at_the_end(during: During) -> None:
    first, end = during(nothing)
    assert first.addresses == end.addresses == []
    assert "script" in first.names
    assert "script" not in end.names
    assert MARK in first.text
    assert f"no longer {MARK}" in end.text


def test_a_save_that_changes_nothing_is_still_told(during: During, capsys: Out) -> None:
    during(lambda path: os.utime(path, (1, 1)))
    assert capsys.readouterr().out.count("checks clean") == 2


def test_a_file_that_is_away_for_a_moment_is_not_told(during: During, capsys: Out) -> None:
    pages = during(lambda path: path.unlink(), save(SIMPLE), nothing)
    assert [p.title for p in pages] == ["checks clean: cuff.weave"] * 4
    assert "there is no file" not in capsys.readouterr().out


def test_a_file_that_stays_away_is_told_once_and_may_come_back(during: During, capsys: Out) -> None:
    pages = during(lambda path: path.unlink(), nothing, nothing, nothing, save(BROKEN), nothing)
    assert [p.title.partition(":")[0] for p in pages] == [
        *["checks clean"] * 2,
        *["not read"] * 3,
        *["1 error"] * 2,
    ]
    assert "there is no file cuff.weave" in pages[2].text
    assert capsys.readouterr().out.count("there is no file cuff.weave") == 1


def test_half_a_letter_saved(during: During, capsys: Out) -> None:
    half = "# 環".encode()[:-1]
    pages = during(lambda path: path.write_bytes(half), nothing, save(SIMPLE))
    assert "these bytes are not UTF-8 text" in pages[2].text
    assert pages[-1].title == "checks clean: cuff.weave"
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("cut", range(0, len(SIMPLE), 9))
def test_every_half_saved_recipe_gives_a_page(during: During, cut: int) -> None:
    assert during(save(SIMPLE[:cut]), nothing)[-1].title.endswith(": cuff.weave")


def test_a_folder_that_goes_away_is_not_made_again(during: During, cuff: Path, capsys: Out) -> None:
    inner = cuff.with_name("inner")
    inner.mkdir()
    (inner / "cuff.weave").write_text(SIMPLE, encoding="utf-8")

    def away(_: Path) -> None:
        for path in inner.iterdir():
            path.unlink()
        inner.rmdir()

    deeds = [away, nothing, nothing, ctrl_c]
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(time, "sleep", lambda _: deeds.pop(0)(cuff))
        assert main(["watch", "inner/cuff.weave"]) == 0
    assert not inner.exists()
    out, err = capsys.readouterr()
    assert "there is no file inner/cuff.weave" in out
    assert err == ""


# -- where the page goes ------------------------------


@pytest.mark.usefixtures("ended_at_once")
def test_another_place_for_the_page(cuff: Path) -> None:
    assert main(["watch", "cuff.weave", "--to", "now.html"]) == 0
    (cuff.with_name("pages")).mkdir()
    assert main(["watch", "cuff.weave", "--to", "pages"]) == 0
    written = sorted(str(p.relative_to(cuff.parent)) for p in cuff.parent.rglob("*.html"))
    assert written == ["now.html", "pages/cuff-preview.html"]


@pytest.mark.parametrize("to", ["cuff.weave", "mine.html", "notes.txt"])
def test_nothing_of_the_authors_is_written_over(cuff: Path, capsys: Out, to: str) -> None:
    cuff.with_name("mine.html").write_text("<p>mine", encoding="utf-8")
    assert main(["watch", "cuff.weave", "--to", to]) == 2
    assert capsys.readouterr().err.startswith("ringstep: ")
    assert cuff.with_name("mine.html").read_text(encoding="utf-8") == "<p>mine"
    assert cuff.read_text(encoding="utf-8") == SIMPLE
    assert sorted(p.name for p in cuff.parent.iterdir()) == ["cuff.weave", "mine.html"]


@pytest.mark.parametrize("file", ["nowhere.weave", "-", "."])
def test_what_cannot_be_watched(cuff: Path, capsys: Out, file: str) -> None:
    assert main(["watch", file]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("ringstep: ")
    assert sorted(p.name for p in cuff.parent.iterdir()) == ["cuff.weave"]


@pytest.mark.usefixtures("ended_at_once")
def test_the_browser_is_opened_once_there_is_a_page(
    cuff: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    page, opened = cuff.with_name("cuff-preview.html"), []

    def opens(address: str) -> bool:
        assert page.exists()
        opened.append(address)
        return len(opened) == 1

    monkeypatch.setattr("webbrowser.open", opens)
    words = ["watch", "cuff.weave", "--open"]
    assert main(words) == 0
    assert opened == [page.as_uri()]
    assert "no browser" not in capsys.readouterr().out
    assert main(words) == 0
    assert f"no browser was found; open {page.as_uri()} yourself" in capsys.readouterr().out


def test_ctrl_c_ends_it_with_one_quiet_line(cuff: Path) -> None:
    program = [sys.executable, "-m", "ringstep", "watch", "cuff.weave"]
    with subprocess.Popen(
        program,
        cwd=cuff.parent,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=hears_ctrl_c,
    ) as running:
        assert running.stdout is not None
        assert running.stdout.readline().startswith("watching cuff.weave")
        page = cuff.with_name("cuff-preview.html")
        while not page.exists():
            assert running.poll() is None
            time.sleep(0.02)
        running.send_signal(signal.SIGINT)
        out, err = running.communicate()
    assert err == ""
    assert out.splitlines()[-1] == "no longer watching cuff.weave"
    assert running.returncode == 0
    assert f"no longer {MARK}" in page.read_text(encoding="utf-8")
    assert sorted(p.name for p in cuff.parent.iterdir()) == ["cuff-preview.html", "cuff.weave"]


# -- the page ------------------------------


def page_of(text: str, name: str = "cuff.weave") -> Page:
    """The page of a text."""
    seen = view(text, name)
    findings = findings_of(seen)
    clean = not has_errors(findings)
    listing = step_list(seen) if clean and seen.recipe.blocks else None
    return Page(preview(FileReport(seen.recipe.source, findings), listing, Moment("12:00:00")))


def test_every_step_of_a_clean_recipe_is_on_the_page_under_its_number() -> None:
    page = page_of(BYZANTINE)
    assert page.names.count("li") >= len(view(BYZANTINE).recipe.steps())
    for section in step_list(view(BYZANTINE)).sections:
        for step in section.steps:
            assert " ".join(step.sentence.split()) in page.text
    text = preview(
        FileReport(source_from_text(BYZANTINE, "x"), ()), step_list(view(BYZANTINE)), Moment("1")
    )
    assert re.findall(r'<li value="(\d+)">', text) == [str(n) for n in range(1, 10)]


def test_what_the_author_types_cannot_steer_the_page() -> None:
    wicked = SIMPLE.replace("Simple chain", "<script>alert(1)</script> & 'x'").replace(
        "add A through prev A", "add <img src=x> through prev A"
    )
    name = '</title><script src="http://elsewhere.example/x.js">.weave'
    page = page_of(wicked, name)
    assert page.names.count("script") == 1
    assert page.addresses == []
    assert "img" not in page.names
    assert "add <img src=x> through prev A" in page.text
    assert page_of(SIMPLE.replace("Simple chain", "<b>bold</b>")).names.count("b") == 0


def test_a_page_changes_its_stamp_exactly_when_its_words_change() -> None:
    def stamp(text: str, moment: str) -> str:
        report = FileReport(source_from_text(text, "x"), ())
        return str(re.findall(r'data-stamp="(\w+)"', preview(report, None, Moment(moment)))[0])

    assert stamp(SIMPLE, "1") == stamp(SIMPLE, "1")
    assert stamp(SIMPLE, "1") != stamp(SIMPLE, "2")
    told = [trouble_page("x", words, Moment("1")) for words in ("gone", "not text")]
    assert len({re.findall(r'data-stamp="(\w+)"', t)[0] for t in told}) == 2


@given(st.one_of(mutated(), stream, st.text(max_size=80)))
@settings(max_examples=60)
def test_any_text_gives_a_whole_page(text: str) -> None:
    page = page_of(text)
    assert page.names.count("script") == 1
    assert page.addresses == []
    for finding in findings_of(view(text, "cuff.weave")):
        assert f"[{finding.rule.name}]" in page.text
