"""A machine on which the n-th call that asks it for something fails.

Calls are counted from an audit hook (PEP 578), which hears of every file that is opened, renamed,
removed or made, and from files whose reading and writing can be made to fail. Only what lies in
the folder of a test, in its cache or among the shipped files is counted; what Python itself loads
works.
"""

from __future__ import annotations

import builtins
import errno
import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

#: What an audit hook hears of, and the fault that it gets there.
HEARD = {
    "open": errno.EACCES, "os.rename": errno.EACCES, "os.remove": errno.EACCES,
    "os.mkdir": errno.ENOSPC, "os.listdir": errno.EIO, "os.scandir": errno.EIO,
    "os.chmod": errno.EPERM,
}  # fmt: skip
_open = io.open


class Machine:
    """The calls that were made, and the one that fails. failed: what it was, once it did."""

    def __init__(self) -> None:
        self.armed = False
        self.folders: tuple[str, ...] = ()
        self.left = 0
        self.made = 0
        self.failed: tuple[str, str] | None = None

    def call(self, what: str, name: object, number: int) -> None:
        """Count a call; raise `OSError` at the one that has to fail."""
        if not self.armed or not isinstance(name, str | bytes | os.PathLike):
            return
        path = os.fsdecode(name)
        # a bare name is one in the cache folder, which is opened by its number
        whole = os.path.abspath(path) if os.sep in path or os.path.exists(path) else path
        if os.path.isabs(whole) and not whole.startswith(self.folders):
            return
        self.made += 1
        if self.made == self.left:
            self.failed = (what, path)
            raise OSError(number, os.strerror(number), path)


MACHINE = Machine()


def _hear(event: str, words: tuple[object, ...]) -> None:
    if MACHINE.armed and event in HEARD:
        MACHINE.call(event, words[0], HEARD[event])


sys.addaudithook(_hear)


class _Raw(io.FileIO):
    """A file that cannot be read from or written to when the machine says so."""

    said = ""

    def readinto(self, into: object) -> int | None:
        MACHINE.call("read", self.said, errno.EIO)
        return super().readinto(into)  # type: ignore[arg-type]

    def readall(self) -> bytes:
        MACHINE.call("read", self.said, errno.EIO)
        return super().readall()

    def write(self, data: object) -> int | None:
        MACHINE.call("write", self.said, errno.ENOSPC)
        return super().write(data)  # type: ignore[arg-type]


def _opened(file: object, mode: str = "r", *rest: object, **more: object) -> object:
    """As `open`, with a file of ours at the bottom."""
    plain = MACHINE.armed and isinstance(file, str | os.PathLike) and "+" not in mode
    if not plain or os.path.isdir(file):  # type: ignore[arg-type]
        return _open(file, mode, *rest, **more)  # type: ignore[call-overload]
    raw = _Raw(os.fspath(file), mode.replace("b", "").replace("t", ""))  # type: ignore[arg-type]
    raw.said = os.fsdecode(os.fspath(file))  # type: ignore[arg-type]
    buffered = io.BufferedReader(raw) if "r" in mode else io.BufferedWriter(raw)
    if "b" in mode:
        return buffered
    return io.TextIOWrapper(buffered, encoding=str(more.get("encoding") or "utf-8"))


@contextmanager
def failing(call: int, *folders: Path) -> Iterator[Machine]:
    """While this lasts the call of that number fails, counted from 1; none does for 0."""
    MACHINE.__init__()  # type: ignore[misc]
    MACHINE.left = call
    MACHINE.folders = tuple(str(folder.resolve()) for folder in folders)
    builtins.open, io.open = _opened, _opened  # type: ignore[assignment]
    MACHINE.armed = True
    try:
        yield MACHINE
    finally:
        MACHINE.armed = False
        builtins.open, io.open = _open, _open
