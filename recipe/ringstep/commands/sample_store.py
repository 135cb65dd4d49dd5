"""The rim towards logs of measured samples: 'byzantine.samples' beside 'byzantine.weave'.

A line is added under a lock and the log written whole, so that no line is lost, not even one that
cannot be read or that another process adds at the same moment.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.rim import Stop, bytes_of, tell, write_aside

if TYPE_CHECKING:
    from ringstep.checks.view import View
    from ringstep.shop.sample_log import Entry, Log

ENDING = ".samples"
#: More than a thousand samples; a longer file is none.
_MOST_BYTES = 200_000
_WAIT = 20.0  # seconds for another process to have done; it takes a moment


def log_of(recipe: str) -> Path:
    """Where the samples of a recipe are kept."""
    path = Path(recipe)
    return path.with_name(f"{path.name.removesuffix('.weave')}{ENDING}")


def _bytes(path: Path) -> bytes:
    """A log as it is; empty where there is none. Raises `Stop`."""
    if not path.exists():
        return b""
    if not (path.is_file() or path.is_dir()):
        raise Stop(f"{path} is no plain file, so no samples are read from it")
    data = bytes_of(str(path), _MOST_BYTES, "log")
    if len(data) > _MOST_BYTES:
        raise Stop(
            f"{path} is too long for a log of samples, which has at most {_MOST_BYTES:,} bytes"
        )
    return data


def _text(path: Path, data: bytes) -> str:
    """The text of a log. Raises `Stop`."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        raise Stop(f"{path} is not plain text in UTF-8, so it is left as it is and not used")
    return text


def read_samples(path: Path) -> Log:
    """Read a log and tell of the lines that cannot be read. Raises `Stop`."""
    from ringstep.shop.sample_log import read_log

    log = read_log(_text(path, _bytes(path)))
    for number, why in log.unread:
        tell(Stop(f"{path}, line {number}: {why}; the line is kept and not used"))
    return log


def add_sample(path: Path, entry: Entry) -> None:
    """Add a line to a log, or make one; all in it stays letter for letter. Raises `Stop`."""
    from ringstep.shop.sample_log import HEAD

    with _alone(path):
        before = _bytes(path)
        _text(path, before)
        head = HEAD.format(name=f"{path.name.removesuffix(ENDING)}.weave") if not before else ""
        end = "\r\n" if b"\r\n" in before else "\n"
        gap = end if before and not before.endswith((b"\n", b"\r")) else ""
        after = before + f"{head}{gap}{entry.text}{end}".encode()
        if len(after) > _MOST_BYTES:
            raise Stop(f"{path} is full; give it another name and begin a new one")
        write_aside(path.resolve(), after)


@contextmanager
def _alone(path: Path) -> Iterator[None]:
    """While this lasts no other process adds to a log of that folder. Raises `Stop`.

    The lock ends with the process, whatever ends it, and leaves nothing behind.
    """
    folder = path.resolve().parent
    held = None
    until = time.monotonic() + _WAIT
    while held is None:
        try:
            held = _locked(folder)
        except (BlockingIOError, FileExistsError, PermissionError):
            if sys.platform != "win32" and not os.access(folder, os.R_OK):
                break  # nothing can be opened there: writing says so in words
            if time.monotonic() > until:
                raise Stop(f"another program is writing beside {path}; try again") from None
            time.sleep(0.02)
        except OSError:
            break  # a file system without locks
    try:
        yield
    finally:
        if held is not None:
            with suppress(OSError):
                os.close(held)


if sys.platform == "win32":

    def _locked(folder: Path) -> int:
        """A file that is gone once it is closed. Raises `OSError` while another has it."""
        kind = os.O_CREAT | os.O_EXCL | os.O_RDWR | os.O_TEMPORARY
        return os.open(folder / ".ringstep-samples.lock", kind)

else:

    def _locked(folder: Path) -> int:
        """The folder itself, locked. Raises `OSError` while another has it."""
        import fcntl

        held = os.open(folder, os.O_RDONLY)
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            os.close(held)
            raise
        return held


def with_samples(seen: View, recipe: str) -> View:
    """A recipe without errors with the newest measured samples of its rings in place of its own.

    A log that cannot be read is told of and left out.
    """
    path = log_of(recipe) if recipe not in ("-", "") else None
    if path is None or not path.exists():
        return seen
    from ringstep.shop.sample_log import measured_view

    try:
        return measured_view(seen, read_samples(path).entries)
    except Stop as fault:
        tell(fault)
        return seen
