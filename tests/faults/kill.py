"""Kill commands at random moments and look at what they leave behind.

    python tests/faults/kill.py 500 7

kills five hundred, chosen and timed by the seed 7, and prints the figures. After each, every file
of the user is whole, old or new; then the command runs once more, undisturbed, and gives what it
gives alone. The cache stays from kill to kill, whatever a killed command left of it.
"""

from __future__ import annotations

import os
import random
import shlex
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(1, str(Path(__file__).parents[1]))

from cases import ASKED, MISSED, OLD_PAGE, PRICES, SAMPLES, UNTIDY, Case
from runs import Screen, run

from ringstep.commands.cli import main
from ringstep.language import parse

#: What a killed command may leave: hidden, and told by its name.
_OURS = ".ringstep-"
CASES = [
    Case("handout it.weave --pictures none --rings none", {"it-handout.html": OLD_PAGE}),
    Case("draw it.weave --format dot"),
    Case("kit it.weave --prices p.csv --slip slip.html", {"p.csv": PRICES, "slip.html": OLD_PAGE}),
    Case("mend b.weave --yes", {"b.weave": MISSED}),
    Case("tidy b.weave c.weave", {"b.weave": UNTIDY, "c.weave": UNTIDY}),
    Case(
        "sample add it.weave --units 10 --measured 42mm --date 2026-11-03",
        {"it.samples": SAMPLES},
    ),
    Case("kit it.weave --prices q.csv", {"q.csv": ASKED}, answers="3\n"),
]


@dataclass
class Figures:
    """What was counted. killed: how many were still running when they were killed."""

    killed: int = 0
    ended: int = 0
    left: Counter[str] = field(default_factory=Counter)
    old: int = 0
    new: int = 0

    def told(self) -> str:
        """The figures in a line each."""
        left = ", ".join(f"{many} {where}" for where, many in sorted(self.left.items()))
        return (
            f"{self.killed} killed while they ran, {self.ended} had ended by then\n"
            f"{self.old} left all files as they were, {self.new} some or all of them new;"
            " none that was not whole\n"
            f"left over, hidden and named as ours: {left or 'nothing'}; no next run was disturbed"
        )


def start(case: Case, folder: Path, cache: Path, anew: bool) -> int:
    """The command in a process of its own, with all code read already; its number.

    anew: the parser is made, or read from the cache.
    """
    if number := os.fork():
        return number
    try:
        os.chdir(folder)
        os.environ |= {"RINGSTEP_CACHE": str(cache), "COLUMNS": "1000"}
        if anew:
            parse.parser.cache_clear()
        sys.stdin = Screen(case.answers or "", tty=case.answers is not None)
        sys.stdout, sys.stderr = Screen(), Screen(tty=case.answers is not None)
        os._exit(main(shlex.split(case.words)))
    finally:
        os._exit(99)


def fill(case: Case, folder: Path) -> None:
    """The folder as it is before the command runs."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for name, text in case.all_files().items():
        (folder / name).write_bytes(text.encode("utf-8"))


def files_in(folder: Path) -> dict[str, bytes]:
    """Every file by its path in the folder."""
    found = sorted(path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): path.read_bytes() for path in found}


def finish(case: Case, folder: Path, cache: Path, anew: bool = False) -> dict[str, bytes]:
    """Run the command to its end; the files after it."""
    _, status = os.waitpid(start(case, folder, cache, anew), 0)
    assert status == 0, (case.words, status)
    return files_in(folder)


def _without(files: dict[str, bytes]) -> dict[str, bytes]:
    """The files but for what a killed command left over, which is hidden and named as ours."""
    return {name: data for name, data in files.items() if not _half(name)}


def _half(name: str) -> bool:
    last = os.path.basename(name)
    return last.startswith(_OURS) and last.endswith(".part")


def kill_some(times: int, seed: int, place: Path) -> Figures:
    """Kill that many commands, all in turn. Raises AssertionError where a file is not whole."""
    chance, figures = random.Random(seed), Figures()
    folder, cache = place / "box", place / "cache"
    alone: dict[tuple[str, bool], tuple[dict[str, bytes], float]] = {}
    for case in CASES:
        run(case, folder)  # all code is read here, once
    for case in CASES:
        for anew in (False, True):
            fill(case, folder)
            shutil.rmtree(cache, ignore_errors=True)
            began = time.monotonic()
            alone[case.words, anew] = finish(case, folder, cache, anew), time.monotonic() - began
    for number in range(times):
        case, anew = CASES[number % len(CASES)], chance.random() < 0.2
        well, seconds = alone[case.words, anew]
        fill(case, folder)
        before = files_in(folder)
        if anew and chance.random() < 0.7:  # the cache is made anew as well
            shutil.rmtree(cache, ignore_errors=True)
        in_cache = len([*cache.rglob("*.part")])
        running = start(case, folder, cache, anew)
        _wait(running, folder, seconds, chance)
        ended = os.waitpid(running, os.WNOHANG)[0]
        if not ended:
            os.kill(running, signal.SIGKILL)
            os.waitpid(running, 0)
        figures.killed += not ended
        figures.ended += bool(ended)
        after = files_in(folder)
        kept = _without(after)
        figures.left["half files beside the output"] += len(after) - len(kept)
        left = [*cache.rglob("*.part")]
        assert all(path.name.startswith(".") for path in left), left
        figures.left["half files in the cache"] += len(left) - in_cache
        assert before.keys() <= kept.keys(), (case.words, "a file is lost")
        for name, data in kept.items():
            assert data in (before.get(name), well.get(name)), (case.words, name, "is not whole")
        figures.new += kept != before
        figures.old += kept == before
        again = _next_run(case, folder, cache, anew)
        assert again is None or again == well, (case.words, "the next run gives something else")
    return figures


def _wait(running: int, folder: Path, seconds: float, chance: random.Random) -> None:
    """Wait for any moment of a run, or every other time for one at which files are written."""
    if chance.random() < 0.5:
        time.sleep(seconds * chance.uniform(0.0, 1.0))
        return
    until, seen = time.monotonic() + 10 * seconds, folder.stat().st_mtime_ns
    ended = os.WEXITED | os.WNOHANG | os.WNOWAIT
    while folder.stat().st_mtime_ns == seen and time.monotonic() < until:
        if os.waitid(os.P_PID, running, ended):
            return
    time.sleep(chance.uniform(0.0, 0.001))


def _next_run(case: Case, folder: Path, cache: Path, anew: bool) -> dict[str, bytes] | None:
    """The files after the same command once more; None where it would add to what it did."""
    files = _without(finish(case, folder, cache, anew))
    if not case.words.startswith("sample"):
        return files
    lines = files["it.samples"].decode().splitlines()
    assert lines[0] == SAMPLES.strip()
    assert len(lines) in (2, 3), lines
    return None


if __name__ == "__main__":
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as made:
        print(kill_some(int(sys.argv[1]), int(sys.argv[2]), Path(made)).told())
    print(f"{time.monotonic() - began:.0f} seconds")
