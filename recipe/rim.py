"""The rim: recipes are read and files are written here, and every mishap gets words.

Commands use these; nothing behind the rim touches a file.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from recipe.report import Line
    from recipe.source import Source
    from recipe.view import View

OK, ERRORS, CANNOT = 0, 1, 2


class Stop(Exception):
    """A command that cannot go on; its text says why and what to do."""


def read(path: str) -> Source:
    """Read one recipe; '-' is what is typed or piped in. Raises `Stop`."""
    from recipe.source import MOST_BYTES, Unreadable, source_from_bytes

    try:
        if path == "-":
            return source_from_bytes(sys.stdin.buffer.read(MOST_BYTES + 1), "standard input")
        if os.path.isdir(path):
            raise Stop(f"{path} is a folder; name the recipe in it")
        size = os.path.getsize(path)
        with open(path, "rb") as file:
            data = file.read(MOST_BYTES + 1)
        if size > MOST_BYTES:
            raise Stop(f"{path} holds {size:,} bytes; a recipe has at most {MOST_BYTES:,}")
        return source_from_bytes(data, path)
    except FileNotFoundError:
        from recipe.library import shipped_weaves

        hint = ""
        if path.removesuffix(".weave") in shipped_weaves():
            name = path.removesuffix(".weave")
            hint = f"; 'ringstep weaves --copy {name}' puts the shipped one here"
        raise Stop(f"there is no file {path}{hint}") from None
    except OSError as fault:
        raise Stop(f"{path} cannot be read: {fault.strerror or fault}") from None
    except Unreadable as fault:
        raise Stop(str(fault)) from None


def view(path: str) -> View:
    """Read one recipe and make ready to look at it. Raises `Stop`."""
    from recipe.pipeline import view_of

    return view_of(read(path))


def write_aside(path: Path, data: bytes) -> None:
    """Write a file whole or not at all: beside its place first, then renamed. Raises `Stop`."""
    aside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        aside.write_bytes(data)
        os.replace(aside, path)
    except OSError as fault:
        with suppress(OSError):
            aside.unlink(missing_ok=True)
        raise Stop(f"{path} cannot be written: {fault.strerror or fault}") from None


def show(lines: list[Line], to_terminal: bool | None = None) -> None:
    """Print report lines, painted on a terminal and plain elsewhere."""
    from recipe.report import paint, plain

    if sys.stdout.isatty() if to_terminal is None else to_terminal:
        paint(lines)
    else:
        sys.stdout.write(plain(lines))


def must_be_clean(path: str) -> View:
    """The view of a recipe without errors. Raises `Stop` after showing the errors there are."""
    from recipe.pipeline import findings_of, has_errors
    from recipe.report import FileReport, file_lines, plain

    seen = view(path)
    findings = findings_of(seen)
    if has_errors(findings):
        errors = tuple(f for f in findings if f.severity == "error")
        sys.stderr.write(plain(file_lines(FileReport(seen.recipe.source, errors))))
        raise Stop(f"{path} has errors, so nothing is made from it; mend them first")
    return seen
