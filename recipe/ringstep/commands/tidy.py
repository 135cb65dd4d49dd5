"""Write recipes anew in the one layout; comments, hints and meaning stay as they are.

A recipe with a line that cannot be read is left as it is, and so is one that is tidy already.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.rim import (
    CANNOT,
    ERRORS,
    OK,
    Stop,
    called,
    recipe_bytes,
    say,
    tell,
    write_aside,
)
from ringstep.language.source import Refused

if TYPE_CHECKING:
    from ringstep.language.tidy import Tidied

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
    from ringstep.language.words import listed

    numbers = [str(n) for n in tidied.changed]
    if not numbers:
        return ""
    if len(numbers) > _MOST_LINES:
        numbers = [*numbers[:_MOST_LINES], f"{len(numbers) - _MOST_LINES} more"]
    return f"line{'s' if len(numbers) > 1 else ''} {listed(numbers)}"


def _print(tidied: Tidied) -> None:
    """Print the tidy recipe; on a terminal nothing in it can steer that."""
    from ringstep.language.screen import safe

    shown = map(safe, tidied.lines) if sys.stdout.isatty() else tidied.lines
    sys.stdout.write("".join(f"{line}\n" for line in shown))


def _one(path: str, args: argparse.Namespace) -> int:
    """Tidy one recipe. Raises `Stop` or `Refused`."""
    from ringstep.language.screen import safe
    from ringstep.language.tidy import Unsettled, tidy_bytes

    show = args.show or (path == "-" and not args.check)
    target = Path(path)
    if not (show or args.check) and target.exists() and not (target.is_file() or target.is_dir()):
        raise Stop(f"{path} is no plain file, so it is not written anew; --show prints it")
    before = recipe_bytes(path)
    try:
        after, tidied = tidy_bytes(before, called(path))
    except Unsettled as refused:
        raise Stop(f"{called(path)} is left as it is: {refused}") from None
    if show:
        _print(tidied)
        return OK
    name, where = safe(called(path)), _where(tidied)
    if before == after:
        say(f"{name}: tidy already")
        return OK
    if args.check:
        told = f"on {where}" if where else "in its line ends"
        say(f"{name}: would change {told}")
        return ERRORS
    write_aside(target.resolve(), after)  # a link stays a link, and points to the tidy file
    say(f"{name}: tidied, {where or 'its line ends'}")
    return OK


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    status = OK
    for path in args.files:
        try:
            status = max(status, _one(path, args))
        except (Stop, Refused) as fault:
            tell(fault)
            status = CANNOT
    return status
