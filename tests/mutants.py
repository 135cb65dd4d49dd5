"""Small wrong changes of the program, one after the other, and whether any test notices.

    python tests/reached.py                            once: which test takes which line
    python tests/mutants.py                            every change there is (for nights)
    python tests/mutants.py --each 30 --seed 7         30 of each folder, by chance
    python tests/mutants.py --changed [REV]            those in functions changed since REV (HEAD)
    python tests/mutants.py checks/blame.py shop       those of some files or folders
    python tests/mutants.py table --outside            what only a browser or an editor takes, too
    python tests/mutants.py checks --seconds 120       tests may take so long over each

Needs the extra `nightly`. The changes are mutmut's; changes of words alone (strings, and what is
said in them) are left out. Each is put into a forked process that has all test modules imported,
and the tests that take its line run there, the likeliest first, till one fails or their time
is over, and then the change was missed. Only a test that takes far longer than it did without the
change hangs, and so notices it. Nothing is written. With `--outside` what they miss is put into a
copy of the program, to which the tests talk that do so as an editor or a browser does; up to four
minutes each. Printed are the changes that no test noticed and, for each folder, how many of a
hundred were noticed.
"""

from __future__ import annotations

import argparse
import ast
import functools
import gc
import importlib
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import redirect_stdout
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

import pytest
from reached import PROGRAM, ROOT, WORDS, Reach

#: Seconds of CPU that the tests of one change take together, where no others are asked for; what no
#: test noticed by then is missed. Seconds on the clock tell nothing where others use the machine.
SECONDS = 40
#: A test hangs that takes so many times the seconds it took without the change, and some more.
TIMES, MORE = 10, 5
#: Seconds on the clock after which whatever waits without using the CPU hangs.
MOST_WAITED = 600
#: Files that only an editor's questions take.
OF_EDITORS = ("table/editor_server.py", "commands/editor.py")
#: Tests that are asked of one change, of those that reach it.
MOST_TESTS = 2000


@dataclass(frozen=True)
class Change:
    """A function of a file, how a change of it reads, and the whole file after the change."""

    file: str
    name: str
    line: int
    words: str
    whole: Callable[[], str]

    @property
    def lines(self) -> range:
        """The lines of the function up to the one that is changed."""
        text = (PROGRAM / self.file).read_text(encoding="utf-8")
        pairs = zip(text.splitlines(), self.whole().splitlines(), strict=False)
        at = next((n for n, (one, two) in enumerate(pairs, 1) if one != two), self.line)
        return range(self.line + 1, at + 1)


# -- changes ---------------------------------------------------------------------------------------


def changes_of(path: Path) -> list[Change]:
    """Every change of a file that is none of words alone, nor of `strict=`, which says that two
    things are as long."""
    import libcst as cst
    from libcst import matchers
    from mutmut.mutation.file_mutation import create_mutations

    strings = cst.SimpleString | cst.FormattedString | cst.ConcatenatedString
    module, mutations, *_ = create_mutations(str(path), path.read_text(encoding="utf-8"))
    strict = matchers.findall(module, matchers.Arg(keyword=matchers.Name("strict")))
    held = {id(argument.value) for argument in strict if isinstance(argument, cst.Arg)}
    homes = {}
    for node in module.body:
        inner = node.body.body if isinstance(node, cst.ClassDef) else [node]
        for one in inner:
            if isinstance(one, cst.FunctionDef):
                owner = f"{node.name.value}." if isinstance(node, cst.ClassDef) else ""
                homes[id(one)] = owner + one.name.value
    lines = {name: first for name, first, _ in _functions(path)}
    found = []
    for mutation in mutations:
        old, new = mutation.original_node, mutation.mutated_node
        home = mutation.contained_by_top_level_function
        if home is None or id(home) not in homes or isinstance(old, strings) or id(old) in held:
            continue
        if isinstance(old, cst.Call) and isinstance(new, cst.Call):
            kept = [a.value for a in new.args]
            gone = [a.value for a in old.args if not any(a.value is k for k in kept)]
            if any(isinstance(value, strings) or id(value) in held for value in gone):
                continue
        name = homes[id(home)]
        whole = partial(_after, module, old, new)
        before, after = (
            " ".join(cst.Module(body=[]).code_for_node(node).split()) for node in (old, new)
        )
        line = lines[name]
        found.append(
            Change(str(path.relative_to(PROGRAM)), name, line, f"{before}  ->  {after}", whole)
        )
    return found


def _after(module: Any, old: Any, new: Any) -> str:
    """The text of a module with one node in place of another."""
    return str(module.deep_replace(old, new).code)


def changed_since(revision: str) -> dict[str, set[str]]:
    """The functions in which a line was changed since a revision, file by file."""
    told = subprocess.run(
        ["git", "diff", "-U0", revision, "--", str(PROGRAM)],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    found: dict[str, set[str]] = defaultdict(set)
    file, spans = "", []
    for line in told.splitlines():
        if line.startswith("+++ b/recipe/ringstep/"):
            file = line.removeprefix("+++ b/recipe/ringstep/")
            spans = list(_functions(PROGRAM / file)) if file.endswith(".py") else []
        elif (at := re.match(r"@@ -\S+ \+(\d+)(?:,(\d+))?", line)) and file:
            first, many = int(at[1]), int(at[2] or 1)
            touched = range(first, first + max(many, 1))
            found[file] |= {name for name, a, b in spans if touched[0] <= b and a <= touched[-1]}
    return found


def _functions(path: Path) -> Iterator[tuple[str, int, int]]:
    function = ast.FunctionDef | ast.AsyncFunctionDef
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, function):
            yield node.name, node.lineno, node.end_lineno or node.lineno
        elif isinstance(node, ast.ClassDef):
            for one in node.body:
                if isinstance(one, function):
                    yield f"{node.name}.{one.name}", one.lineno, one.end_lineno or one.lineno


# -- one change ------------------------------------------------------------------------------------


def code_in(code: CodeType, name: str) -> CodeType | None:
    """The code of a function within that of its module."""
    first, _, rest = name.partition(".")
    inner = next(
        (c for c in code.co_consts if isinstance(c, CodeType) and c.co_name == first), None
    )
    return code_in(inner, rest) if inner and rest else inner


def function_at(module: object, name: str) -> FunctionType | None:
    """The function itself, without what decorates it."""
    first, _, rest = name.partition(".")
    held = vars(module).get(first)
    if rest and isinstance(held, type):
        return function_at(held, rest)
    for inside in ("__func__", "fget", "func", "__wrapped__"):
        held = getattr(held, inside, held) if not isinstance(held, FunctionType) else held
    while hasattr(held, "__wrapped__"):
        held = held.__wrapped__
    return held if isinstance(held, FunctionType) else None


def put_in(change: Change) -> bool:
    """Change the function in this process; False where that cannot be done."""
    name = "ringstep." + change.file.removesuffix(".py").replace("/", ".")
    function = function_at(importlib.import_module(name.removesuffix(".__init__")), change.name)
    whole = compile(change.whole(), str(PROGRAM / change.file), "exec", dont_inherit=True)
    code = code_in(whole, change.name)
    if function is None or code is None or code.co_freevars != function.__code__.co_freevars:
        return False
    function.__code__ = code
    for held in gc.get_objects():  # what was worked out before hides the change
        if isinstance(held, functools._lru_cache_wrapper):
            held.cache_clear()
    return True


def noticed_outside(change: Change) -> str:
    """What comes of a change by the tests that talk to the program as an editor or a browser does;
    it is put into a copy, which they start."""
    with tempfile.TemporaryDirectory() as folder:
        for beside in ("grammar", "library", "examples"):
            Path(folder, beside).symlink_to(ROOT / beside)
        copy = shutil.copytree(PROGRAM, Path(folder, "recipe", "ringstep"))
        (copy / change.file).write_text(change.whole(), encoding="utf-8")
        of = "test_editor.py" if change.file in OF_EDITORS else "test_table*.py"
        tests = map(str, sorted(ROOT.glob(f"tests/outside/{of}")))
        words = [sys.executable, "-m", "pytest", *WORDS, "-x", *tests]
        place = {**os.environ, "PYTHONPATH": str(copy.parent)}
        try:
            ran = subprocess.run(
                words, cwd=ROOT, env=place, capture_output=True, timeout=MOST_WAITED
            )
        except subprocess.TimeoutExpired:
            return "hangs"
    return "noticed" if ran.returncode else "missed"


#: What comes of a change by some tests: 'noticed', 'hangs', 'missed' or 'not tried'.
Noticed = Callable[[Change, list[str]], str]


class Trials:
    """Instead of running the tests that pytest collected, tries changes and asks some of them."""

    def __init__(
        self, tried: Callable[[Noticed], bool], seconds: dict[str, float], most: float
    ) -> None:
        self.tried = tried
        self.seconds = seconds
        self.most = most
        self.failed = False
        self.low = False

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Hear of a test that failed."""
        self.failed |= report.failed

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Try every change, each in a fork of this process, which has all tests imported."""
        for path in PROGRAM.rglob("*.py"):
            if path.name not in ("__main__.py", "__init__.py"):
                path = path.relative_to(PROGRAM.parent).with_suffix("")
                importlib.import_module(".".join(path.parts))
        items = {item.nodeid: item for item in session.items}

        def noticed(change: Change, tests: list[str]) -> str:
            if child := os.fork():
                _, status = os.waitpid(child, 0)
                if os.WIFSIGNALED(status):
                    late = os.WTERMSIG(status) in (signal.SIGALRM, signal.SIGPROF)
                    return "hangs" if late else "noticed"
                return {0: "missed", 1: "noticed"}.get(os.WEXITSTATUS(status), "not tried")
            signal.alarm(MOST_WAITED)
            quiet = os.open(os.devnull, os.O_WRONLY)
            os.dup2(quiet, 1)
            os.dup2(quiet, 2)
            if not put_in(change):
                os._exit(99)
            chosen = [items[test] for test in tests if test in items]
            begin = time.process_time()
            for item, after in zip(chosen, [*chosen[1:], None], strict=True):
                if time.process_time() - begin > self.most:
                    break
                may = TIMES * self.seconds.get(item.nodeid, self.most) + MORE
                signal.setitimer(signal.ITIMER_PROF, may)
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
                if self.failed:
                    os._exit(1)
            os._exit(0)

        self.low = self.tried(noticed)
        return True


def main() -> int:
    """Try the changes that were asked for and print what came of them; 1 where many were missed."""
    words = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    words.add_argument("paths", nargs="*", help="files or folders below recipe/ringstep")
    words.add_argument("--each", type=int, help="so many of each folder")
    words.add_argument("--seed", type=int, default=7)
    words.add_argument("--seconds", type=float, default=SECONDS, help="for the tests of a change")
    words.add_argument("--outside", action="store_true")
    words.add_argument("--changed", nargs="?", const="HEAD", metavar="REV")
    args = words.parse_args()
    os.chdir(ROOT)
    chosen = chosen_changes(args.paths, changed_since(args.changed) if args.changed else None)
    reach_of = Reach()
    out = os.fdopen(os.dup(1), "w")

    def tried(noticed: Noticed) -> bool:
        low = False
        for folder, changes in chosen.items():
            sample = random.Random(args.seed).sample(changes, min(args.each or 10**9, len(changes)))
            tally: Counter[str] = Counter()
            score = 100.0
            for change in sample:  # by chance, so that a run that is broken off has a score
                tests = reach_of.asked(change.file, change.lines, MOST_TESTS)
                came = noticed(change, tests) if tests else "not reached"
                if args.outside and came in ("missed", "not reached"):
                    came = noticed_outside(change)
                tally[came] += 1
                if came not in ("noticed", "hangs"):
                    print(came, change.file, change.name, change.words[:160], sep=": ", file=out)
                    out.flush()
                if tally.total() % 10 == 0 or tally.total() == len(sample):
                    known = tally.total() - tally["not tried"]
                    score = 100 * (tally["noticed"] + tally["hangs"]) / max(1, known)
                    told = f"{folder}: {score:.1f} % of {known}; {len(changes)} in all"
                    print(told, dict(tally), file=out)
                    out.flush()
            low |= score < 85
        return low

    trials = Trials(tried, reach_of.seconds, args.seconds)
    with open(os.devnull, "w") as nowhere, redirect_stdout(nowhere):
        pytest.main([*WORDS, "--ignore=tests/outside", "tests"], [trials])
    return int(trials.low)


def chosen_changes(
    paths: Sequence[str], only: dict[str, set[str]] | None
) -> dict[str, list[Change]]:
    """The changes of some files and folders, or of all, by folder. only: functions by file."""
    chosen: dict[str, list[Change]] = defaultdict(list)
    for path in map(PROGRAM.joinpath, paths or [""]):
        for file in sorted(path.rglob("*.py")) if path.is_dir() else [path]:
            name = str(file.relative_to(PROGRAM))
            if only is not None and name not in only:
                continue
            for change in changes_of(file):
                if only is None or change.name in only[name]:
                    chosen[name.rpartition("/")[0]].append(change)
    return chosen


if __name__ == "__main__":
    sys.exit(main())
