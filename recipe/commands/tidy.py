"""Write recipes anew in the one layout; comments, hints and meaning stay as they are.

A recipe with a line that cannot be read is left as it is, and so is one that is tidy already.
"""

from __future__ import annotations

import argparse
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from recipe.rim import CANNOT, ERRORS, OK, Stop, read, write_aside

if TYPE_CHECKING:
    from recipe.tidy import Tidied

_MOST_LINES = 8


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep tidy`."""
    parser.add_argument(
        "files", nargs="+", metavar="FILE", help="recipes, or '-' for what is piped in"
    )
    group = parser.add_mutually_exclusive_group()
    group.add_argument(
        "--check",
        action="store_true",
        help="only tell what would change; exit 1 if something would",
    )
    group.add_argument("--show", action="store_true", help="print the tidy recipe, write nothing")


def _where(tidied: Tidied) -> str:
    """The lines that change, in words."""
    from recipe.words import listed

    numbers = [str(n) for n in tidied.changed]
    if not numbers:
        return ""
    if len(numbers) > _MOST_LINES:
        numbers = [*numbers[:_MOST_LINES], f"{len(numbers) - _MOST_LINES} more"]
    return f"line{'s' if len(numbers) > 1 else ''} {listed(numbers)}"


def _print(tidied: Tidied) -> None:
    sys.stdout.write("".join(f"{line}\n" for line in tidied.lines))


def _one(path: str, args: argparse.Namespace) -> int:
    """Tidy one recipe. Raises `Stop`."""
    from recipe.report import safe
    from recipe.tidy import Unsettled, tidy, tidy_bytes

    source = read(path)
    try:
        if path == "-" and not args.check:
            _print(tidy(source))
            return OK
        if path == "-":
            tidied = tidy(source)
            same = not tidied.changed
        else:
            before = Path(path).read_bytes()
            after, tidied = tidy_bytes(before, path)
            same = before == after
    except Unsettled as refused:
        raise Stop(f"{path} is left as it is: {refused}") from None
    except OSError as fault:
        raise Stop(f"{path} cannot be read: {fault.strerror or fault}") from None
    if args.show:
        _print(tidied)
        return OK
    where = _where(tidied)
    if same:
        sys.stdout.write(f"{safe(source.name)}: tidy already\n")
    elif args.check:
        told = f"on {where}" if where else "in its line ends"
        sys.stdout.write(f"{safe(source.name)}: would change {told}\n")
        return ERRORS
    else:
        target = Path(path).resolve()  # a link stays a link, and points to the tidy file
        mode = target.stat().st_mode
        write_aside(target, after)
        with suppress(OSError):
            target.chmod(mode)
        sys.stdout.write(f"{safe(source.name)}: tidied, {where or 'its line ends'}\n")
    return OK


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    status = OK
    for path in args.files:
        try:
            status = max(status, _one(path, args))
        except Stop as fault:
            sys.stderr.write(f"ringstep: {fault}\n")
            status = CANNOT
    return status
