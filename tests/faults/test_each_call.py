"""Every command, with the first, the second, … of its calls to the machine failing, until it is
through: files are whole or as they were, and what went wrong is said in one line."""

from __future__ import annotations

import os
import re
import shutil
import sys
from pathlib import Path

import pytest
from fuzz import run
from helpers import ROOT, SIMPLE
from mishaps import failing

#: What stands in the folder of each run.
SLIP = SIMPLE.replace("through prev A", "through prev A picks 2")
PRICES = "Artikel;Draht;Innen;Metall;VE;Preis EUR\nRinge;1,2 mm;5 mm;Kupfer;100;4,50\n"
STOCK = "ring,wire,inside,material,count\ntin,1.2 mm,5 mm,copper,500\n"
LOG = "2024-03-01; 10 units = 41 mm; laid flat; rings wire 1.2 mm, inside 5 mm, copper; weave old\n"
FILES = {"it.weave": SIMPLE, "wrong.weave": SLIP, "prices.csv": PRICES, "stock.csv": STOCK,
         "old.weave": SIMPLE, "old.samples": LOG,
         "untidy.weave": SIMPLE.replace("add", "  add"), "page.html": "an old page"}  # fmt: skip
SHIPPED = (ROOT / "library", ROOT / "grammar")
#: Commands that take a second or two, tried at every fourth of their calls unless all are wanted.
LONG = ("fit", "shop text")
EVERY = "RINGSTEP_EVERY_CALL" in os.environ

RUNS = {
    "check": "check it.weave",
    "check a folder": "check .",
    "check what is wrong": "check wrong.weave",
    "steps": "steps it.weave",
    "count": "count it.weave --json",
    "alike": "alike it.weave",
    "explain": "explain picks",
    "weaves": "weaves",
    "copy": "weaves --copy byzantine",
    "new": "new cuff",
    "tidy": "tidy untidy.weave",
    "mend": "mend wrong.weave --yes",
    "draw": "draw it.weave --to pictures",
    "draw dot": "draw it.weave --format dot --to pictures",
    "handout": "handout it.weave --pictures none --to page.html",
    "handout with links": "handout it.weave --rings none --to page.html",
    "follow": "handout it.weave --rings none --screen --to page.html",
    "kit": "kit it.weave --prices prices.csv --slip slip.html",
    "kit as csv": "kit it.weave --csv",
    "order": "kit it.weave=2 it.weave=3",
    "sizes": "sizes it.weave",
    "drawer": "sizes it.weave --stock stock.csv",
    "mandrel": "mandrel it.weave",
    "lesson": "lesson it.weave --pace 20 --prices prices.csv --sheet lesson.html",
    "shop text": "lesson it.weave --shop-text shop",
    "sample add": "sample add it.weave --units 10 --measured 41mm --date 2024-03-01",
    "sample": "sample old.weave",
    "a length by a sample": "kit old.weave --length 19cm",
    "fit": "fit it.weave --effort 0 --to found",
    "completion": "completion bash",
}
#: Calls that may fail without a word, since the output does not hang on them.
_SILENT = ("weave.parser", "fit-", ".part")


def folder_with(path: Path) -> Path:
    """The folder as it is before a run."""
    shutil.rmtree(path, ignore_errors=True)
    path.mkdir()
    for name, text in FILES.items():
        (path / name).write_text(text, encoding="utf-8")
    return path


def _as_before(cache: Path) -> None:
    """Forget what is kept between runs, in files; of the grammar in this process as well, where
    that is soon made anew."""
    shutil.rmtree(cache, ignore_errors=True)


def held(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.mark.parametrize("name", RUNS)
def test_the_nth_call_fails(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    words = tuple(RUNS[name].split())
    home, cache = tmp_path / "home", tmp_path / "cache"
    monkeypatch.setenv("RINGSTEP_CACHE", str(cache))
    monkeypatch.chdir(folder_with(home))
    before = held(home)
    run(words)  # what is imported is no call of the command's
    _as_before(cache)
    monkeypatch.chdir(folder_with(home))
    with failing(0, home, cache, *SHIPPED) as machine:
        good = run(words)
    assert not good.fault, good
    after, calls = held(home), machine.made
    step = 1 if EVERY or name not in LONG else 4
    for number in range(1, calls + 1, step):
        _as_before(cache)
        monkeypatch.chdir(folder_with(home))
        with failing(number, home, cache, *SHIPPED) as machine:
            told = run(words)
        assert machine.failed, (number, calls)
        what, path = machine.failed
        story = (number, what, path, told.err)
        assert not told.fault, story
        assert "fault of ringstep" not in told.err, story
        now = held(home)
        for file, data in now.items():
            left = what == "os.remove" and file.endswith(".part")
            assert left or data in (before.get(file), after.get(file)), (file, *story)
        assert now.keys() >= before.keys() & after.keys(), story
        if told.code == good.code and told.out == good.out:
            silent = any(part in Path(path).name for part in _SILENT)
            assert silent or now == after, story  # what did not matter
        else:
            # samples are listed also where what they are for cannot be read
            goes_on = name == "sample" and path == "old.weave"
            assert told.code == 2 or goes_on, story
            lines = told.err.removeprefix(good.err).splitlines()
            assert len(lines) == 1, story
            assert lines[0].startswith("ringstep: "), story


#: Every how many calls of a function of the program memory runs out.
_TIMES = (4, 5, 6, 9, 12, 17, 33, 70, 150, 400, 1_000, 3_000, 9_000, 30_000, 100_000)


@pytest.mark.parametrize("name", [n for n in RUNS if n not in ("completion", "explain")])
def test_memory_runs_out(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    words = tuple(RUNS[name].split())
    monkeypatch.setenv("RINGSTEP_CACHE", str(tmp_path / "cache"))
    home = tmp_path / "home"
    monkeypatch.chdir(folder_with(home))
    before = held(home)
    run(words)
    after = held(home)
    inside = str(ROOT / "recipe")
    for times in _TIMES:
        monkeypatch.chdir(folder_with(home))
        left = times
        ran_out = False

        def ask(frame, event: str, arg: object) -> None:  # type: ignore[no-untyped-def]
            nonlocal left, ran_out
            if event == "call" and frame.f_code.co_filename.startswith(inside):
                left -= 1
                if not left:
                    ran_out = True
                    raise MemoryError

        sys.setprofile(ask)
        try:
            told = run(words)
        finally:
            sys.setprofile(None)
        if not ran_out:
            break
        story = (times, told.err, told.fault)
        assert not told.fault, story
        for file, data in held(home).items():
            assert data in (before.get(file), after.get(file)), (file, *story)
        if told.code == 2:
            assert re.search(r"^ringstep: .*not enough memory", told.err, re.M), story
            assert "fault of ringstep" not in told.err, story
