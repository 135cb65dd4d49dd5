"""The command line: finds the command, runs it, and lets no mishap end in a traceback."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from ringstep.commands.rim import CANNOT, MOST_TOLD, Stop, tell

if TYPE_CHECKING:
    import argparse

# A command is over before there is anything to collect, and the imports alone would set the
# collector off some dozens of times. Commands that run on (fit, watch) turn it on again.
gc.disable()

_DESCRIPTION = "Check ring weaves written step by step, print their step lists and diagrams."
#: Files of this folder that are no command, but what the commands stand on.
_NO_COMMANDS = frozenset({"__init__", "cli", "fit_store", "leftovers", "rim"})
_EPILOG = "Exit codes: 0 clean, 1 errors found, 2 could not run."


def command_names() -> list[str]:
    """Every command there is."""
    names = {p.stem for p in Path(__file__).parent.glob("*.py")} - _NO_COMMANDS
    return sorted(name.replace("_", "-") for name in names)


def parser(only: str | None = None) -> argparse.ArgumentParser:
    """The parser of the command line, of one command or of all."""
    import argparse

    class Parser(argparse.ArgumentParser):
        """Says what it cannot read without a mark that could steer a terminal."""

        def error(self, message: str) -> NoReturn:
            from ringstep.language.screen import safe

            self.print_usage(sys.stderr)
            self.exit(CANNOT, f"{self.prog}: error: {safe(message)[:MOST_TOLD]}\n")

    top = Parser(prog="ringstep", description=_DESCRIPTION, epilog=_EPILOG)
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for name in [only] if only else command_names():
        module = import_module(f"ringstep.commands.{name.replace('-', '_')}")
        words = (module.__doc__ or "").strip()
        first = words.splitlines()[0].rstrip(".")
        one = commands.add_parser(name, help=first, description=words, epilog=_EPILOG)
        module.arguments(one)
        one.set_defaults(run=module.run)
    return top


def _unknown(word: str) -> str:
    from ringstep.language.words import nearest

    near = nearest(word, command_names())
    return f"there is no command '{word}'" + (
        f"; the nearest is '{near}'" if near else "; 'ringstep --help' lists them"
    )


def _open_streams() -> None:
    """Make stdout and stderr writable in any locale, also where they were closed beforehand."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
        elif hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def _give_up_printing() -> None:
    """Point stdout elsewhere, so that Python does not try once more to print when it ends."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _own_fault(fault: Exception) -> Stop:
    """Words for a mishap that nobody thought of: a fault of this program, not of the recipe."""
    at = fault.__traceback__
    while at is not None and at.tb_next is not None:
        at = at.tb_next
    where = f" at {Path(at.tb_frame.f_code.co_filename).name}, line {at.tb_lineno}" if at else ""
    return Stop(
        f"a fault of ringstep itself, not of the recipe: {type(fault).__name__}{where}"
        f" ({' '.join(str(fault).split())[:120]}). Please tell its makers, with the recipe and what"
        " you typed."
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    _open_streams()
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
        tell(fault)
    except BrokenPipeError:
        _give_up_printing()  # the reader went away (`| head`)
    except KeyboardInterrupt:
        sys.stderr.write("\nringstep: stopped\n")
    except OSError as fault:
        reason = fault.strerror or str(fault)
        tell(Stop(f"{fault.filename}: {reason}" if isinstance(fault.filename, str) else reason))
        _give_up_printing()
    except Exception as fault:
        tell(_own_fault(fault))
    return CANNOT


if __name__ == "__main__":
    sys.exit(main())
