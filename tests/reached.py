"""Which test takes which line of the program, and how many of all lines and branches they take.

    python tests/reached.py                    all tests but those of faults: half an hour
    python tests/reached.py tests/test_x.py    these anew, put to what is kept

Needs the extra `nightly`. What commands do in processes of their own is counted, but is of no
test. Kept in the cache folder, for `mutants.py`; printed are the shares that the tests of this run
take, file by file and folder by folder.
"""

from __future__ import annotations

import functools
import os
import pickle
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import chain, islice, zip_longest
from operator import or_
from pathlib import Path
from typing import Any, NoReturn

import pytest

ROOT = Path(__file__).resolve().parent.parent
PROGRAM = ROOT / "recipe" / "ringstep"
sys.path[:0] = [str(ROOT / "recipe"), str(ROOT / "tests")]
KEPT = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "ringstep-reach-lines"
#: What pytest is told. Left out are tests that take the disk and the memory from the process in
#: which the others are counted.
WORDS = ["-q", "-o", "addopts=", "-p", "no:cacheprovider", "--ignore=tests/faults"]
#: Folders whose lines draw pictures.
PICTURES = ("draw", "space")


def count(paths: Sequence[str]) -> None:
    """Run all tests once, in two processes, keep which lines each of them takes and how long it
    is, and print how many of a hundred lines and branches they take, folder by folder. paths: only
    these tests are run, and put to what is kept."""
    import coverage

    lines: dict[str, dict[int, int]] = {}
    seconds: dict[str, float] = {}
    if paths:
        lines, seconds = pickle.loads(KEPT.read_bytes())
    with tempfile.TemporaryDirectory() as folder:
        settings = Path(folder, "rc")
        settings.write_text(
            f"[run]\nbranch = true\nparallel = true\npatch = subprocess\nsigterm = true\n"
            f"source = {PROGRAM}\ndata_file = {folder}/data\n"
        )
        for child in [os.fork() or _reach_of_half(settings, paths, half) for half in (0, 1)]:
            os.waitpid(child, 0)
        measured = coverage.Coverage(config_file=str(settings))
        measured.combine([folder])
        ran: dict[str, float] = {}
        for half in (0, 1):
            ran |= pickle.loads(Path(folder, f"seconds{half}").read_bytes())
        seconds |= ran
        anew = sum(1 << n for n, test in enumerate(seconds) if test in ran)
        for file, taken in _lines_taken(measured, list(seconds)).items():
            for line, tests in lines.get(file, {}).items():
                taken[line] = taken.get(line, 0) | tests & ~anew
            lines[file] = taken
    KEPT.parent.mkdir(parents=True, exist_ok=True)
    KEPT.write_bytes(pickle.dumps((lines, seconds)))


def _reach_of_half(settings: Path, paths: Sequence[str], half: int) -> NoReturn:
    """Run every other file of tests and end this process; beside `settings` stands what it took."""
    import coverage

    seconds: dict[str, float] = {}
    measured = coverage.Coverage(config_file=str(settings))

    class Watch:
        def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
            files = sorted({item.path for item in items})
            items[:] = [item for item in items if files.index(item.path) % 2 == half]

        @pytest.hookimpl(hookwrapper=True)
        def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
            measured.switch_context(item.nodeid)
            begin = time.perf_counter()
            yield
            seconds[item.nodeid] = time.perf_counter() - begin
            measured.switch_context("")

    measured.start()
    pytest.main([*WORDS, "-rf", *(paths or ["tests"])], [Watch()])
    measured.stop()
    measured.save()
    settings.with_name(f"seconds{half}").write_bytes(pickle.dumps(seconds))
    os._exit(0)


def _lines_taken(measured: Any, tests: list[str]) -> dict[str, dict[int, int]]:
    """File by file and line by line, one bit for each test; and print the shares."""
    number = {test: n for n, test in enumerate(tests)}
    found: dict[str, dict[int, int]] = {}
    folders: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    data = measured.get_data()
    for path in sorted(PROGRAM.rglob("*.py")):
        file = str(path.relative_to(PROGRAM))
        found[file] = {
            line: sum(1 << number[test] for test in tests if test in number)
            for line, tests in data.contexts_by_lineno(str(path)).items()
        }
        numbers = measured._analyze(str(path)).numbers
        home = file.rpartition("/")[0]
        for folder in (home, "all", *([] if home in PICTURES else ["all but pictures"])):
            folders[folder][0] += numbers.n_executed_branches + numbers.n_executed
            folders[folder][1] += numbers.n_branches + numbers.n_statements
        print(f"{file:<44} {numbers.pc_covered:6.1f} %")
    for folder, (taken, all_) in folders.items():
        share = 100 * taken / max(1, all_)
        print(f"{folder or 'ringstep':<12} {share:5.1f} % of lines and branches")
    return found


class Reach:
    """Which tests take which line, as it was counted last.

    seconds: how long each test is. lines: file by file, line by line, one bit for each of them.
    """

    def __init__(self) -> None:
        self.lines, self.seconds = pickle.loads(KEPT.read_bytes())
        self.tests = list(self.seconds)

    def asked(self, file: str, lines: range, most: int) -> list[str]:
        """The tests to ask of a change of a statement or what is in it, at most so many: those
        that take its last line which any take, or any line of the file where its own are taken
        once for all; first the ones called as its file is, then those in the folder of tests that
        is called as its own, then the quickest of each file of tests in turn."""
        taken = self.lines.get(file, {})
        whole = functools.reduce(or_, taken.values(), 0)
        takers = next((taken[n] for n in reversed(lines) if taken.get(n)), whole)
        stem, folder = Path(file).stem, f"tests/{Path(file).parent.name}/"
        own: list[str] = []
        beside: list[str] = []
        files: dict[str, list[str]] = defaultdict(list)
        for test in sorted((self.tests[n] for n in _bits(takers)), key=self.seconds.__getitem__):
            if stem in test:
                own.append(test)
            elif test.startswith(folder):
                beside.append(test)
            else:
                files[test.partition("::")[0]].append(test)
        turns = zip_longest(*files.values())
        return list(islice(chain(own, beside, (t for turn in turns for t in turn if t)), most))


def _bits(number: int) -> Iterator[int]:
    return (n for n, bit in enumerate(reversed(f"{number:b}")) if bit == "1")


if __name__ == "__main__":
    os.chdir(ROOT)
    count(sys.argv[1:])
