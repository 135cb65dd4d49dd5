"""One command run in this process, in a folder made for it: what it printed and left behind."""

from __future__ import annotations

import errno
import io
import os
import shlex
import shutil
import sys
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from broken import Disk, Memory
from cases import Case
from helpers import ROOT

import ringstep
from ringstep.commands import watch
from ringstep.commands.cli import main
from ringstep.language import parse

PACKAGE = Path(ringstep.__file__).parent
#: What the program brings along and reads as it goes.
SHIPPED = (ROOT / "grammar", ROOT / "library", PACKAGE / "language" / "starters")
#: What is worked out for long and touches no file; the first result serves all runs of a case.
_SLOW = (
    ("ringstep.space.states", "states_of"), ("ringstep.draw.drawing", "draw_all"),
    ("ringstep.paper.film", "scenes"), ("ringstep.paper.finished", "finished"),
    ("ringstep.paper.page", "pdf_bytes"), ("ringstep.space.fit", "fit"),
)  # fmt: skip


class Screen(io.StringIO):
    """What is printed. tty: it stands for a terminal. fails: the writing that goes wrong."""

    def __init__(self, text: str = "", tty: bool = False, fails: int = 0) -> None:
        super().__init__(text)
        self._tty, self.fails, self.writings = tty, fails, 0

    def write(self, text: str) -> int:
        self._count()
        return super().write(text)

    def flush(self) -> None:
        self._count()

    def _count(self) -> None:
        self.writings += 1
        if self.writings == self.fails:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def isatty(self) -> bool:
        return self._tty


@dataclass(frozen=True)
class Run:
    """What came of a command: exit code, what it printed, and the folder after it."""

    code: int
    out: str
    err: str
    files: dict[str, bytes]


def files_in(folder: Path) -> dict[str, bytes]:
    """Every file of the user, by its path in the folder; the cache is none."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.relative_to(folder).parts[0] != "cache"
    }


def prepare(case: Case, folder: Path) -> None:
    """The folder as it is before the command runs."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for name, text in case.all_files().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode("utf-8"))


def once_only(patch: pytest.MonkeyPatch) -> None:
    """Let what takes long be worked out once; the files are written anew each time."""
    for module, name in _SLOW:
        found = import_module(module)
        if real := getattr(found, name, None):
            patch.setattr(found, name, _remembering(real))


def _remembering(real: Callable[..., Any]) -> Callable[..., Any]:
    known: list[Any] = []

    def call(*given: Any, **named: Any) -> Any:
        if not known:
            known.append(real(*given, **named))
        return known[0]

    return call


def run(
    case: Case, folder: Path, fails: Disk | Memory | None = None, screen: Screen | None = None
) -> Run:
    """Run a command in a folder made for it. fails: what goes wrong meanwhile.

    screen: what it prints on.
    """
    prepare(case, folder)
    out, err = screen or Screen(), Screen(tty=case.answers is not None)
    if case.fresh:
        parse.parser.cache_clear()
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setenv("COLUMNS", "1000")
        patch.setenv("RINGSTEP_CACHE", str(folder / "cache"))
        patch.setattr(sys, "stdin", Screen(case.answers or "", tty=case.answers is not None))
        patch.setattr(watch, "time", SimpleNamespace(strftime=lambda _: "12:00:00"))
        patch.setattr(watch._Watch, "go_on", _ended)
        with redirect_stdout(out), redirect_stderr(err):
            if isinstance(fails, Disk):
                fails.put(patch)
            code = _main(case, fails)
    return Run(code, out.getvalue(), err.getvalue(), files_in(folder))


def _main(case: Case, fails: Disk | Memory | None) -> int:
    before = sys.getprofile()
    if isinstance(fails, Memory):
        sys.setprofile(fails)
    try:
        return main(shlex.split(case.words))
    finally:
        sys.setprofile(before)


def _ended(watching: watch._Watch) -> None:
    """One more look, since a mishap is told where it lasts for two; then Ctrl-C."""
    watching.once()
    raise KeyboardInterrupt
