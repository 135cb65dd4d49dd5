"""The command line: finds the command, runs it, and lets no mishap end in a traceback."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from recipe.rim import CANNOT, Stop

if TYPE_CHECKING:
    import argparse

# A command is over before there is anything to collect, and the imports alone would set the
# collector off some dozens of times. Commands that run on (fit, watch) turn it on again.
gc.disable()

_DESCRIPTION = "Check ring weaves written step by step, print their step lists and diagrams."
_EPILOG = "Exit codes: 0 clean, 1 errors found, 2 could not run."


def command_names() -> list[str]:
    """Every command there is."""
    folder = Path(__file__).parent / "commands"
    return sorted(p.stem.replace("_", "-") for p in folder.glob("*.py") if p.stem != "__init__")


def parser(only: str | None = None) -> argparse.ArgumentParser:
    """The parser of the command line, of one command or of all."""
    import argparse

    top = argparse.ArgumentParser(prog="ringstep", description=_DESCRIPTION, epilog=_EPILOG)
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for name in [only] if only else command_names():
        module = import_module(f"recipe.commands.{name.replace('-', '_')}")
        words = (module.__doc__ or "").strip()
        first = words.splitlines()[0].rstrip(".")
        one = commands.add_parser(name, help=first, description=words, epilog=_EPILOG)
        module.arguments(one)
        one.set_defaults(run=module.run)
    return top


def _unknown(word: str) -> str:
    from recipe.words import nearest

    near = nearest(word, command_names())
    return f"there is no command '{word}'" + (
        f"; the nearest is '{near}'" if near else "; 'ringstep --help' lists them"
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    words = list(sys.argv[1:] if argv is None else argv)
    first = words[0] if words else ""
    try:
        if first and not first.startswith("-") and first not in command_names():
            raise Stop(_unknown(first))
        args = parser(first if first and not first.startswith("-") else None).parse_args(words)
        status: int = args.run(args)
        sys.stdout.flush()
        return status
    except Stop as fault:
        sys.stderr.write(f"ringstep: {fault}\n")
        return CANNOT
    except BrokenPipeError:
        # The reader went away (`| head`); point stdout elsewhere so that Python can end quietly.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return CANNOT
    except KeyboardInterrupt:
        sys.stderr.write("\nringstep: stopped\n")
        return CANNOT
    except OSError as fault:
        sys.stderr.write(f"ringstep: {fault.strerror or fault}\n")
        return CANNOT


if __name__ == "__main__":
    sys.exit(main())
