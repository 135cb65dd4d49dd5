"""A disk that fails: the n-th thing done with a file of a folder goes wrong.

Only what lies in the folder counts, so that Python's own files do not. A write that fails has put
half of its bytes down first, as a disk does that is full.
"""

from __future__ import annotations

import builtins
import errno
import inspect
import io
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import pytest

#: What goes wrong with each thing that is done.
KINDS = {
    "look": errno.EIO,
    "list": errno.EACCES,
    "open to read": errno.EACCES,
    "read": errno.EIO,
    "open to write": errno.EACCES,
    "write": errno.ENOSPC,
    "close": errno.EIO,
    "rename": errno.EACCES,
    "make a folder": errno.ENOSPC,
    "take away": errno.EACCES,
    "rights": errno.EPERM,
}
#: What a full disk refuses, again and again.
WRITING = frozenset({"open to write", "write", "close", "make a folder"})


class Disk:
    """Counts what is done with files in some folders, and lets the one numbered
    `fails` go wrong.

    full: from there on, all that would write goes wrong, since there is no room. Else what goes
    wrong once is well the next time, but a place that cannot be looked at is out of reach for good.
    """

    def __init__(self, folders: Sequence[Path], fails: int = 0, full: bool = False) -> None:
        self.folders, self.fails, self.full = [str(path) for path in folders], fails, full
        self.done: list[str] = []
        self.hit: tuple[str, str] | None = None
        self._open_here: dict[int, str] = {}

    def inside(self, path: object, folder: int | None = None) -> str | None:
        """The whole path where it lies in the folder."""
        if isinstance(path, int):
            return self._open_here.get(path)
        if not isinstance(path, str | bytes | os.PathLike):
            return None
        base = self._open_here.get(folder, "/") if folder is not None else os.getcwd()
        whole = os.path.normpath(os.path.join(base, os.fsdecode(path)))
        here = any(whole == one or whole.startswith(one + os.sep) for one in self.folders)
        return whole if here else None

    def step(self, what: str, path: str, before: Callable[[], object] | None = None) -> None:
        """Count one thing that is done. before: what has happened of it when it fails."""
        self.done.append(what)
        if len(self.done) == self.fails or self._again(what, path):
            if before:
                before()
            self.hit = self.hit or (what, path)
            number = errno.ENOSPC if self.full else KINDS[self.hit[0]]
            if what in ("read", "write", "close"):  # the machine names no file then
                raise OSError(number, os.strerror(number))
            raise OSError(number, os.strerror(number), path)

    def _again(self, what: str, path: str) -> bool:
        """True where what went wrong goes on doing so: a full disk, a place that is not reached."""
        if self.hit is None:
            return False
        if self.full:
            return what in WRITING
        return self.hit[0] in ("look", "list") and path == self.hit[1]

    # -- put in place ------------------------------------------------------------------------------

    def put(self, patch: pytest.MonkeyPatch) -> None:
        """Stand between the program and its files."""
        for name, what in (
            ("stat", "look"), ("lstat", "look"), ("listdir", "list"), ("scandir", "list"),
            ("mkdir", "make a folder"), ("unlink", "take away"), ("remove", "take away"),
            ("chmod", "rights"),
        ):  # fmt: skip
            patch.setattr(os, name, self._guarded(getattr(os, name), what))
        for name in ("replace", "rename"):
            patch.setattr(os, name, self._renamed(getattr(os, name)))
        patch.setattr(os, "open", self._opened(os.open))
        patch.setattr(os, "close", self._closed(os.close))
        opened = self._file(builtins.open)
        patch.setattr(builtins, "open", opened)
        patch.setattr(io, "open", opened)

    def _guarded(self, real: Callable[..., Any], what: str) -> Callable[..., Any]:
        def call(path: Any = ".", *rest: Any, **named: Any) -> Any:
            if whole := self.inside(path, named.get("dir_fd")):
                self.step(what, whole)
            return real(path, *rest, **named)

        return call

    def _renamed(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(path: Any, to: Any, **named: Any) -> Any:
            if whole := self.inside(to, named.get("dst_dir_fd")):
                self.step("rename", whole)
            return real(path, to, **named)

        return call

    def _opened(self, real: Callable[..., int]) -> Callable[..., int]:
        def call(path: Any, flags: int, *rest: Any, **named: Any) -> int:
            whole = self.inside(path, named.get("dir_fd"))
            if whole:
                self.step("open to write" if flags & os.O_CREAT else "open to read", whole)
            number = real(path, flags, *rest, **named)
            if whole:
                self._open_here[number] = whole
            return number

        return call

    def _closed(self, real: Callable[[int], None]) -> Callable[[int], None]:
        def call(number: int) -> None:
            self._open_here.pop(number, None)
            real(number)

        return call

    def _file(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(path: Any, mode: str = "r", *rest: Any, **named: Any) -> Any:
            whole = self.inside(path)
            if whole is None:
                return real(path, mode, *rest, **named)
            writing = bool(set(mode) & set("wxa+"))
            if isinstance(path, int):
                self._open_here.pop(path, None)
            else:
                self.step("open to write" if writing else "open to read", whole)
            return _File(real(path, mode, *rest, **named), self, whole, writing)

        return call


class _File:
    """An open file whose reading, writing and closing count."""

    def __init__(self, real: Any, disk: Disk, path: str, writing: bool) -> None:
        self._real, self._disk, self._path, self._writing = real, disk, path, writing

    def read(self, *many: int) -> Any:
        self._disk.step("read", self._path)
        return self._real.read(*many)

    def write(self, data: Any) -> Any:
        self._disk.step("write", self._path, lambda: self._real.write(data[: len(data) // 2]))
        return self._real.write(data)

    def close(self) -> None:
        if self._writing and not self._real.closed:
            self._disk.step("close", self._path, self._real.close)
        self._real.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        self.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._real, name)


class Memory:
    """Lets memory run out at the n-th call of a function of the program; once."""

    def __init__(self, package: Path, fails: int = 0) -> None:
        self.package, self.fails, self.calls = str(package), fails, 0

    def __call__(self, frame: Any, event: str, _: object) -> None:
        code = frame.f_code
        # before `main` has begun nobody can catch anything, nor where a generator is thrown away
        left_out = code.co_name == "main" or code.co_flags & inspect.CO_GENERATOR
        if event == "call" and code.co_filename.startswith(self.package) and not left_out:
            self.calls += 1
            if self.calls == self.fails:
                raise MemoryError
