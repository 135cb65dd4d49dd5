"""The rim towards the user's cache folder: the parser, and the fits that were worked out.

The parser is loaded as code. So only what is this user's alone is read or written: a folder and a
file that they own, that nobody else may write, and that are no links. The folder is opened once and
everything in it is reached through it, so that nothing can be put in its place in between.
"""

from __future__ import annotations

import os
import stat
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

#: Bytes of the check sum in front of what is kept.
_CHECK = 32
#: Windows keeps the folders of users apart itself; it has no owners by number, and opens no folder.
_BY_OWNER = hasattr(os, "geteuid")
#: Never through a link, and never waiting for a writer of something that is no file.
_PLAIN = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def cache_path() -> Path:
    """Where this user's caches lie. Raises RuntimeError where there is no home folder."""
    if chosen := os.environ.get("RINGSTEP_CACHE"):
        base = Path(chosen)
    elif sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "ringstep"


def _ours(opened: int) -> int:
    """The same opened file or folder. Raises PermissionError where somebody else may write it."""
    if _BY_OWNER:
        about = os.fstat(opened)
        if about.st_uid != os.geteuid() or about.st_mode & (stat.S_IWGRP | stat.S_IWOTH):
            raise PermissionError("what lies in the cache folder is not this user's alone")
    return opened


@contextmanager
def _folder() -> Iterator[int | None]:
    """The cache folder, opened, made when needed; None on Windows. Raises OSError."""
    path = cache_path()
    path.mkdir(parents=True, exist_ok=True, mode=0o700)
    if not _BY_OWNER:
        yield None
        return
    opened = os.open(path, os.O_RDONLY | os.O_DIRECTORY | _PLAIN)
    try:
        yield _ours(opened)
    finally:
        os.close(opened)


def _at(name: str, folder: int | None) -> str:
    """What to open for a name in the opened folder."""
    return name if folder is not None else str(cache_path() / name)


def kept_names() -> list[str]:
    """What is kept; empty where there is no folder of this user's alone."""
    with suppress(OSError, RuntimeError), _folder() as folder:
        return sorted(os.listdir(cache_path() if folder is None else folder))
    return []


def kept(name: str, key: str) -> bytes | None:
    """What `keep` put into the cache folder under that name and key.

    None where there is nothing, where it is not whole, or where it is not this user's alone.
    """
    import hashlib

    try:
        with _folder() as folder:
            opened = os.open(_at(name, folder), os.O_RDONLY | _PLAIN, dir_fd=folder)
            with open(opened, "rb") as file:
                stored = file.read() if stat.S_ISREG(os.fstat(_ours(opened)).st_mode) else b""
    except (OSError, RuntimeError):
        return None
    check, data = stored[:_CHECK], stored[_CHECK:]
    return data if hashlib.sha256(key.encode() + data).digest() == check else None


def keep(name: str, key: str, data: bytes) -> None:
    """Keep `data` for the next time; where nothing can be written nothing is kept, and that is all.

    key: what the data was made from. It goes into the check sum, so that neither damaged data nor
    data made from something else is read again.
    """
    import hashlib

    whole = hashlib.sha256(key.encode() + data).digest() + data
    with suppress(OSError, RuntimeError), _folder() as folder:
        aside = _at(f".{name}.{os.getpid()}.part", folder)
        try:
            how = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _PLAIN
            with open(os.open(aside, how, 0o600, dir_fd=folder), "wb") as file:
                file.write(whole)
            os.replace(aside, _at(name, folder), src_dir_fd=folder, dst_dir_fd=folder)
        finally:  # also where Ctrl-C came in between
            with suppress(OSError):
                os.unlink(aside, dir_fd=folder)
