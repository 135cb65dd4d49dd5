"""The rim: recipes are read and files are written here, and every mishap gets words.

Commands use these; nothing behind the rim touches a file.
"""

from __future__ import annotations

import os
import stat
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ringstep.checks.report import Line
    from ringstep.checks.view import View
    from ringstep.language.source import Source
    from ringstep.language.syntax import Block, Recipe

OK, ERRORS, CANNOT = 0, 1, 2

#: Steps of one recipe; and of one hand-out, which has a picture and a box for each.
MOST_STEPS, MOST_PRINTED = 2_000, 1_000
#: Names of rings and parts in one recipe, described, promised, placed or named.
MOST_NAMES = 300
#: Steps times the rings of the largest section: what is laid out anew for every picture.
MOST_DRAWN = 40_000
#: From here on it takes some seconds, so somebody who waits is told.
LONG_DRAWN = 5_000
#: Rings placed, gone through and named, and links made, in the part of the piece that is worked
#: out; some 15 seconds. Counted, not timed, so that a recipe is taken or refused everywhere alike.
MOST_WORK = 1_000_000
#: Letters of one line of such a message.
MOST_TOLD = 1_000


class Stop(Exception):
    """A command that cannot go on; its text says why and what to do."""


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
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or fault
        raise Stop(f"{path} cannot be read: {reason}") from None


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
            raise Stop(f"{path} cannot be read: {fault.strerror or fault}") from None
        if size <= MOST_BYTES:  # a pipe, or a file that grows
            raise Stop(f"{path} does not end; a recipe has at most {MOST_BYTES:,} bytes")
        raise Stop(f"{path} holds {size:,} bytes; a recipe has at most {MOST_BYTES:,}")
    return data


def called(path: str) -> str:
    """What a recipe is called in messages."""
    return "standard input" if path == "-" else path


def read(path: str) -> Source:
    """Read one recipe; '-' is what is typed or piped in. Raises `Stop`."""
    from ringstep.language.source import Unreadable, source_from_bytes

    try:
        return source_from_bytes(recipe_bytes(path), called(path))
    except Unreadable as fault:
        raise Stop(str(fault)) from None


def view(path: str) -> View:
    """Read one recipe and make ready to look at it. Raises `Stop`."""
    from ringstep.checks.pipeline import view_of

    return within_bounds(view_of(read(path)))


def within_bounds(seen: View) -> View:
    """The same view, where working the recipe out takes no more than `MOST_WORK`. Raises `Stop`.

    Only the layout is looked at, so the answer comes before any ring is placed.
    """
    from ringstep.language.syntax import MOST_AT_ONCE
    from ringstep.weave.effort import moves

    recipe = seen.recipe
    name = recipe.source.name
    for step in recipe.steps():
        for item in step.new:
            if item.count is not None and item.count > MOST_AT_ONCE:
                raise Stop(
                    f"{name}, line {item.span.line}: step {step.number} places {item.count:,} rings"
                    f" at once; at most {MOST_AT_ONCE} are worked out. Make several steps of it."
                )
    if (names := _names(recipe)) > MOST_NAMES:
        raise Stop(
            f"{name} has {names:,} names of rings and parts, and a recipe has at most {MOST_NAMES}."
            " Give rings of one kind one name with numbers: 'A1, A2'."
        )
    if not recipe.blocks:
        return seen
    if (steps := len(recipe.steps())) > MOST_STEPS:
        raise Stop(
            f"{name} has {steps:,} steps, and a recipe has at most {MOST_STEPS:,}. Repeat a unit"
            " with 'chain … units' instead of writing every unit out."
        )
    layout = seen.weave.layout
    window = layout.window()
    dearest: tuple[int, int, int] = (0, 0, 0)
    total = 0
    for block, step, work in moves(recipe):
        if isinstance(block.label, int) or block.kind in ("start", "finish"):
            places = 1
        elif block.kind == "row end":
            places = window.rows
        else:
            places = window.rows * window.units if layout.flat else window.units + 1
        total += places * work
        dearest = max(dearest, (places * work, step.span.line, step.number))
    total = total * (1 + len(recipe.variants)) + window.units + window.rows
    if total > MOST_WORK:
        raise Stop(_too_much(seen, dearest))
    return seen


def _names(recipe: Recipe) -> int:
    """How many names of rings and parts stand in a recipe."""
    from ringstep.weave.layout import refs_of

    told = {x.name.role for group in (recipe.rings, recipe.parts, recipe.promises) for x in group}
    for promise in recipe.promises:
        told.update(promise.roles)
    for step in recipe.steps():
        told.update(item.name.role for item in step.new)
        told.update(ref.name.role for ref in refs_of(step))
    return len(told)


def printable(seen: View, pictures: bool, page: bool) -> None:
    """Raises `Stop` where pictures or a page of a recipe would take minutes."""
    recipe, name = seen.recipe, seen.recipe.source.name
    steps = len(recipe.steps())
    if page and steps > MOST_PRINTED:
        raise Stop(
            f"{name} has {steps:,} steps, and a hand-out has at most {MOST_PRINTED:,};"
            " 'ringstep steps' lists them all"
        )
    rings = max((sum(map(len, b.placed.values())) for b in recipe.blocks), default=0)
    if pictures and steps * rings > MOST_DRAWN:
        instead = "'ringstep handout --pictures none' leaves them out" if page else ""
        instead = instead or "'ringstep steps' says it in words"
        raise Stop(
            f"{name} has a section of {rings:,} rings, too many to draw after each of"
            f" {steps:,} steps; {instead}, or split the section in two"
        )
    if pictures and steps * rings > LONG_DRAWN and sys.stderr.isatty():
        sys.stderr.write(f"drawing {steps:,} steps of up to {rings:,} rings; this takes a while\n")


def _too_much(seen: View, dearest: tuple[int, int, int]) -> str:
    """Why a recipe is not worked out, with what asks for most of the work."""
    layout, name = seen.weave.layout, seen.recipe.source.name
    told = f"{name}: to work this out takes more than {MOST_WORK:,} single moves, so it is not done"
    few = 1000
    if layout.written > few:
        last = max((b for b in seen.recipe.blocks if isinstance(b.label, int)), key=_label)
        return f"{told}. The heading on line {last.span.line} has the highest number of a unit."
    if layout.cycle > few and seen.recipe.variants:
        return (
            f"{told}. The patterns of the variants come round together only after more than"
            f" {few:,} units; give them the same number of sides, or put them in several recipes."
        )
    if max(layout.cycle, layout.row_cycle) > few:
        return f"{told}. The blocks come round only after more than {few:,} turns; shorten 'order'."
    return (
        f"{told}. Most of it is asked for by step {dearest[2]}, line {dearest[1]}; name fewer rings"
        " in it, or split the recipe in two."
    )


def _label(block: Block) -> int:
    return block.label if isinstance(block.label, int) else 0


def not_a_source(target: Path, *sources: str | None) -> None:
    """Raises `Stop` where writing `target` would take the place of something that was not made.

    sources: the files the command reads, the recipe first. Any recipe is left as it is, wherever
    it lies.
    """
    recipe = target.suffix.lower() == ".weave"
    for at, source in enumerate(sources):
        with suppress(OSError, ValueError):
            if source not in (None, "-") and target.samefile(str(source)):
                if at and not recipe:
                    raise Stop(f"{target} is read from, so it is not written over; name another")
                recipe = True
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
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or fault
        raise Stop(f"{path} cannot be written: {reason}") from None
    finally:  # also where Ctrl-C came in between
        with suppress(OSError):
            aside.unlink()


def tell(fault: Stop) -> None:
    """Print why a command cannot go on; nothing in it can steer a terminal."""
    from ringstep.language.screen import safe

    words = "\n".join(safe(line)[:MOST_TOLD] for line in str(fault).split("\n"))
    sys.stderr.write(f"ringstep: {words}\n")


def show(lines: list[Line], to_terminal: bool | None = None) -> None:
    """Print report lines, painted on a terminal and plain elsewhere."""
    from ringstep.checks.report import paint, plain

    if sys.stdout.isatty() if to_terminal is None else to_terminal:
        paint(lines)
    else:
        sys.stdout.write(plain(lines))


def in_variant(seen: View, name: str | None) -> View:
    """The view with a variant chosen by name. Raises `Stop`."""
    from ringstep.checks.view import NoVariant, with_variant

    try:
        return with_variant(seen, name)
    except NoVariant as fault:
        raise Stop(str(fault)) from None


def must_be_clean(path: str) -> View:
    """The view of a recipe without errors. Raises `Stop` after showing the errors there are."""
    from ringstep.checks.pipeline import findings_of, has_errors
    from ringstep.checks.report import FileReport, file_lines, plain

    seen = view(path)
    findings = findings_of(seen)
    if has_errors(findings):
        errors = tuple(f for f in findings if f.severity == "error")
        sys.stderr.write(plain(file_lines(FileReport(seen.recipe.source, errors))))
        raise Stop(f"{path} has errors, so nothing is made from it; mend them first")
    return seen
