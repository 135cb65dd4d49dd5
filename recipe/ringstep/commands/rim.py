"""The rim: recipes are read and files are written here, and every mishap gets words.

Commands use these; nothing behind the rim touches a file.
"""

from __future__ import annotations

import errno
import gc
import os
import stat
import sys
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from ringstep.language.source import Refused

if TYPE_CHECKING:
    import argparse

    from ringstep.checks.report import FileReport, Line
    from ringstep.checks.view import View
    from ringstep.language.source import Source
    from ringstep.paper.printed import Printed

OK, ERRORS, CANNOT = 0, 1, 2

#: Steps of one hand-out, which has a picture and a box for each.
MOST_PRINTED = 1_000
#: Letters of one line of such a message.
MOST_TOLD = 1_000

#: What to do about what a machine refuses.
ADVICE = {
    errno.ENOSPC: "make room on that disk and try again",
    errno.EDQUOT: "make room on that disk and try again",
    errno.EACCES: "make sure that you may read and write there, or name another place",
    errno.EPERM: "make sure that you may read and write there, or name another place",
    errno.EROFS: "name another place; nothing can be written there",
    errno.EIO: "try again; if it comes back, the disk or the way to it is failing",
}


class Stop(Refused):
    """A command that cannot go on; its text says why and what to do."""


def reason(fault: Exception) -> str:
    """Why a file cannot be read or written, and what to do where that is known."""
    told = str(getattr(fault, "strerror", None) or fault)
    if getattr(fault, "winerror", None) in (5, 32):  # Windows: access denied, sharing violation
        return f"{told}; another program may hold it open, so close it there and try again"
    advice = ADVICE.get(getattr(fault, "errno", None) or 0)
    return f"{told}; {advice}" if advice else told


def bytes_of(path: str, most: int, what: str) -> bytes:
    """The bytes of a file, at most one more than `most`; '-' is what is typed or piped in.

    what: 'recipe' or 'table', for the messages. Raises `Stop`.
    """
    try:
        if path == "-":
            if sys.stdin is None:
                raise Stop("nothing is piped in, and '-' stands for that; name a file")
            return sys.stdin.buffer.read(most + 1)
        if not path:
            raise Stop(f"the name of a file is empty; name a {what}")
        if os.path.isdir(path):
            raise Stop(f"{path} is a folder; name the {what} in it")
        with open(path, "rb") as file:
            return file.read(most + 1)
    except FileNotFoundError:
        hint = _shipped_hint(path) if what == "recipe" else ""
        raise Stop(f"there is no file {path}{hint}") from None
    except Stop:
        raise
    except (OSError, ValueError) as fault:
        raise Stop(f"{path} cannot be read: {reason(fault)}") from None


def _shipped_hint(path: str) -> str:
    """How to come by a recipe that is shipped under that name."""
    from ringstep.language.shipped import shipped_weaves

    name = path.removesuffix(".weave")
    if name not in shipped_weaves():
        return ""
    return f"; 'ringstep weaves --copy {name}' puts the shipped one here"


def recipe_bytes(path: str) -> bytes:
    """The bytes of one recipe; '-' is what is typed or piped in. Raises `Stop`."""
    from ringstep.language.source import MOST_BYTES

    data = bytes_of(path, MOST_BYTES, "recipe")
    if path != "-" and len(data) > MOST_BYTES:
        try:
            size = os.path.getsize(path)
        except OSError as fault:  # gone in between
            raise Stop(f"{path} cannot be read: {reason(fault)}") from None
        if size <= MOST_BYTES:  # a pipe, or a file that grows
            raise Stop(f"{path} does not end; a recipe has at most {MOST_BYTES:,} bytes")
        raise Stop(f"{path} holds {size:,} bytes; a recipe has at most {MOST_BYTES:,}")
    return data


def called(path: str) -> str:
    """What a recipe is called in messages."""
    return "standard input" if path == "-" else path


def read(path: str) -> Source:
    """Read one recipe; '-' is what is typed or piped in. Raises `Stop` or `Refused`."""
    from ringstep.language.source import source_from_bytes

    return source_from_bytes(recipe_bytes(path), called(path))


def view(path: str) -> View:
    """Read one recipe and make ready to look at it. Raises `Stop` or `Refused`."""
    from ringstep.checks.pipeline import view_of
    from ringstep.weave.effort import within_bounds

    seen = view_of(read(path))
    within_bounds(seen)
    return seen


def shipped_view(name: str, path: Path) -> View:
    """A shipped recipe, ready to look at."""
    from ringstep.checks.pipeline import view_of
    from ringstep.language.shipped import shipped_bytes
    from ringstep.language.source import source_from_bytes

    return view_of(source_from_bytes(shipped_bytes(path), name))


def stem_of(path: str) -> str:
    """What the names of files made of a recipe begin with."""
    return Path(path).stem if path != "-" else "recipe"


def printable(seen: View, pictures: bool, page: bool) -> None:
    """Raises `Stop` or `Refused` where pictures or a page of a recipe would take minutes."""
    from ringstep.weave.effort import drawable

    recipe, name = seen.recipe, seen.recipe.source.name
    steps = len(recipe.every_step())
    if page and steps > MOST_PRINTED:
        raise Stop(
            f"{name} has {steps:,} steps, and a hand-out has at most {MOST_PRINTED:,};"
            " 'ringstep steps' lists them all"
        )
    if not pictures:
        return
    instead = (
        "'ringstep handout --pictures none' leaves them out"
        if page
        else "'ringstep steps' says it in words"
    )
    if not drawable(recipe, instead) and sys.stderr.isatty():
        sys.stderr.write(f"drawing {steps:,} steps of many rings; this takes a while\n")


def not_a_source(target: Path, *sources: str | None) -> None:
    """Raises `Stop` where writing `target` would take the place of something that was not made.

    sources: the files the command reads, the recipe first. Any recipe is left as it is, wherever
    it lies. Where that cannot be told of a file that is there, it is left as it is as well.
    """
    recipe = target.suffix.lower() == ".weave"
    for at, source in enumerate(sources):
        same = False
        try:
            same = source not in (None, "-") and target.samefile(str(source))
        except (FileNotFoundError, NotADirectoryError, ValueError):
            pass  # one of them is not there
        except OSError as fault:
            raise own_fault(fault) from None
        if at and same and not recipe:
            raise Stop(f"{target} is read from, so it is not written over; name another")
        recipe = recipe or same
    if recipe:
        raise Stop(f"{target} is a recipe and is left as it is; name another file")


def write_aside(path: Path, data: bytes) -> None:
    """Write a file whole or not at all: beside its place first, then renamed. Raises `Stop`.

    A link in its place is replaced, and what it points to is left as it is. A file in its place
    hands on who may read it; one that nobody may write is left as it is.
    """
    aside = path.parent / f".ringstep-{os.getpid()}.part"
    mode = 0
    try:
        with suppress(FileNotFoundError):
            mode = path.lstat().st_mode
            if stat.S_ISDIR(mode):
                raise Stop(f"{path} is a folder; name a file")
            if not (stat.S_ISREG(mode) or stat.S_ISLNK(mode)) or (
                path.exists() and not path.is_file()
            ):
                raise Stop(f"{path} is no plain file, so nothing is put in its place")
            if stat.S_ISREG(mode) and not (mode & 0o222 and os.access(path, os.W_OK)):
                raise Stop(f"{path} is read-only and is left as it is")
        path.parent.mkdir(parents=True, exist_ok=True)
        aside.unlink(missing_ok=True)
        with open(aside, "xb") as file:  # never through a link that somebody put there
            if stat.S_ISREG(mode):
                with suppress(OSError):  # file systems without such rights
                    os.chmod(aside, stat.S_IMODE(mode))
            file.write(data)
        os.replace(aside, path)
    except Stop:
        raise
    except (OSError, ValueError) as fault:
        raise Stop(f"{path} cannot be written: {reason(fault)}") from None
    finally:  # also where Ctrl-C came in between
        with suppress(OSError):
            aside.unlink()


def write_new(path: Path, data: bytes) -> None:
    """Write a file where none is, not even one made this very moment. Raises `Stop`."""
    if path.exists() or path.is_symlink():
        raise Stop(f"{path} is there already and is left as it is; choose another name")
    made = False
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(path, "xb") as file:
            made = True
            file.write(data)
    except OSError as fault:
        if made:
            with suppress(OSError):
                path.unlink()
        raise Stop(f"{path} cannot be written: {reason(fault)}") from None
    except ValueError as fault:
        raise Stop(f"a file cannot be called that: {fault}") from None


def write_all(folder: Path, files: dict[str, bytes], *sources: str) -> None:
    """Write files into a folder by name, where none takes the place of a source. Raises `Stop`."""
    for name in files:
        not_a_source(folder / name, *sources)
    for name, data in files.items():
        write_aside(folder / name, data)


def ready_to_compute() -> None:
    """For a command that computes for seconds: the collector on, small matrices on one thread.

    `cli.program` turned the collector off for those soon over; more threads would only wait for one
    another. Before numpy is imported; what the user set is left as it is.
    """
    gc.enable()
    for name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(name, "1")


def words_of(module: Any) -> str:
    """The docstring of a module, also where Python leaves them out (-OO)."""
    told: str | None = module.__doc__
    if told:
        return told.strip()
    import ast
    from inspect import getsource

    return (ast.get_docstring(ast.parse(getsource(module))) or "").strip()


def own_fault(fault: Exception) -> Stop:
    """Words for a mishap that nobody thought of: a fault of this program, not of the recipe. That
    memory runs out is nobody's, and what a machine refuses is its own."""
    if isinstance(fault, MemoryError):
        return Stop("there is not enough memory for this; close other programs and try again")
    if isinstance(fault, OSError):
        if fault.filename is None:  # every file is read and written by functions that name it
            return Stop(f"what is printed cannot be written: {reason(fault)}")
        return Stop(f"{fault.filename} cannot be used: {reason(fault)}")
    at = fault.__traceback__
    while at is not None and at.tb_next is not None:
        at = at.tb_next
    where = f" at {Path(at.tb_frame.f_code.co_filename).name}, line {at.tb_lineno}" if at else ""
    return Stop(
        f"a fault of ringstep itself, not of the recipe: {type(fault).__name__}{where}"
        f" ({' '.join(str(fault).split())[:120]}). Please tell its makers, with the recipe and what"
        " you typed."
    )


def tell(fault: Exception) -> None:
    """Print why a command cannot go on; nothing in it can steer a terminal."""
    from ringstep.language.screen import safe

    words = "\n".join(safe(line)[:MOST_TOLD] for line in f"ringstep: {fault}".split("\n"))
    sys.stderr.write(f"{fitted(words, sys.stderr)}\n")


def fitted(text: str, stream: TextIO) -> str:
    """A text in lines that a terminal shows without breaking a word; elsewhere as it is."""
    from shutil import get_terminal_size

    from ringstep.language.screen import folded

    return folded(text, get_terminal_size().columns) if stream.isatty() else text


def say(text: str) -> None:
    """Print words and a line's end; on a terminal no word is broken."""
    sys.stdout.write(f"{fitted(text, sys.stdout)}\n")


def show(lines: list[Line], to_terminal: bool | None = None) -> None:
    """Print report lines, painted on a terminal and plain elsewhere."""
    from ringstep.checks.report import paint, plain

    if sys.stdout.isatty() if to_terminal is None else to_terminal:
        paint(lines)
    else:
        sys.stdout.write(plain(lines))


def report_of(seen: View, of_rings: bool = False) -> FileReport:
    """What the checks find in a recipe, with what was measured where it is clean.

    of_rings: ask as well what matters only where real rings are drawn.
    """
    from ringstep.checks.pipeline import findings_of, has_errors
    from ringstep.checks.report import FileReport
    from ringstep.checks.summary import summary_lines
    from ringstep.commands.sample_store import with_samples

    findings, source = findings_of(seen, of_rings), seen.recipe.source
    summary = () if has_errors(findings) else summary_lines(with_samples(seen, source.name))
    return FileReport(source, findings, summary)


def size_option(parser: argparse.ArgumentParser) -> None:
    """Lets a set of sizes be asked for."""
    parser.add_argument("--size", metavar="NAME", help="a set of sizes from the recipe's 'sizes:'")


def must_be_clean(
    path: str, variant: str | None = None, size: str | None = None, own_samples: bool = True
) -> View:
    """The view of a recipe without errors, in the variant and sizes named or the recipe's own.

    own_samples: with the newest samples that were measured of its rings and kept beside it.

    Raises `Stop` after showing the errors there are, `NoVariant` and `NoSize`.
    """
    from shutil import get_terminal_size

    from ringstep.checks.pipeline import findings_of
    from ringstep.checks.report import FileReport, file_lines, narrowed, plain
    from ringstep.checks.view import with_size, with_variant

    seen = view(path)
    errors = tuple(f for f in findings_of(seen) if f.severity == "error")
    if errors:
        lines = file_lines(FileReport(seen.recipe.source, errors))
        if sys.stderr.isatty():
            lines = [*narrowed(lines, get_terminal_size().columns)]
        sys.stderr.write(plain(lines))
        raise Stop(f"{path} has errors, so nothing is made from it; mend them first")
    chosen = with_size(with_variant(seen, variant), size)
    if not own_samples:
        return chosen
    from ringstep.commands.sample_store import with_samples

    return with_samples(chosen, path)


# -- what is printed -----------------------------------------------------------------------------


def data_forms(parser: argparse.ArgumentParser, whole: str, rows: str) -> None:
    """Lets JSON or CSV be asked for. whole, rows: what is written as the one and the other."""
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help=f"write {whole} as JSON")
    form.add_argument("--csv", action="store_true", help=f"write {rows} as CSV")


def put_data(
    args: argparse.Namespace, data: object, heads: Iterable[str], rows: Iterable[dict[str, Any]]
) -> bool:
    """Print the data as JSON or as CSV where that was asked for; False where it was not."""
    from ringstep.checks.report import json_text
    from ringstep.paper.printed import as_csv

    if args.json or args.csv:
        sys.stdout.write(json_text(data) if args.json else as_csv(heads, rows))
    return bool(args.json or args.csv)


def put(printed: Printed, always_plain: bool = False) -> None:
    """Print a text, painted on a terminal and plain elsewhere."""
    from ringstep.paper.printed import as_plain, show_rich

    if always_plain or not sys.stdout.isatty():
        sys.stdout.write(as_plain(printed))
    else:
        show_rich(printed)


class PassingLine:
    """A line on a terminal that is wiped once it is over; nothing where stderr is no terminal."""

    def __init__(self) -> None:
        self.shown = sys.stderr.isatty()
        self.wide = 0

    def say(self, words: str) -> None:
        """Write it over what it said before."""
        if self.shown:
            from shutil import get_terminal_size

            room = get_terminal_size().columns - 1  # of two lines only one would be wiped
            words = words if len(words) <= room else words[:room].rpartition(" ")[0]
            back = "\r" if self.wide else ""
            sys.stderr.write(f"{back}{words:<{self.wide}}")
            sys.stderr.flush()
            self.wide = len(words)

    def clear(self) -> None:
        """Wipe the line."""
        if self.wide:
            self.say("")
            sys.stderr.write("\r")
            sys.stderr.flush()
