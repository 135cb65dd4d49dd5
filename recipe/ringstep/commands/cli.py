"""The command line: finds the command, runs it, and lets no mishap end in a traceback."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from ringstep.commands.rim import CANNOT, MOST_TOLD, Stop, own_fault, tell, words_of
from ringstep.language.source import Refused

if TYPE_CHECKING:
    import argparse

_DESCRIPTION = "Check ring weaves written step by step, print their step lists and diagrams."
#: Files of this folder that are no command, but what the commands stand on.
_NO_COMMANDS = frozenset(
    {
        *("__init__", "cli", "drawer", "fit_store", "leftovers", "price_lists", "recipe_folder"),
        "rim",
        "sample_store",
        "table_worker",
    }
)
_EPILOG = "Exit codes: 0 clean, 1 errors found, 2 could not run."


def command_names() -> list[str]:
    """Every command there is."""
    names = {p.stem for p in Path(__file__).parent.glob("*.py")} - _NO_COMMANDS
    return sorted(name.replace("_", "-") for name in names)


def parser(only: str | None = None) -> argparse.ArgumentParser:
    """The parser of the command line, of one command or of all."""
    import argparse
    from textwrap import wrap

    from ringstep.language.screen import folded

    class Parser(argparse.ArgumentParser):
        """Says what it cannot read without a mark that could steer a terminal."""

        def error(self, message: str) -> NoReturn:
            from ringstep.language.screen import safe

            self.print_usage(sys.stderr)
            self.exit(CANNOT, f"{self.prog}: error: {safe(message)[:MOST_TOLD]}\n")

    class Words(argparse.HelpFormatter):
        """Breaks no word, neither at a hyphen."""

        def _split_lines(self, text: str, width: int) -> list[str]:
            return wrap(text, width, break_on_hyphens=False, break_long_words=False)

        def _fill_text(self, text: str, width: int, indent: str) -> str:
            if "\n  " in text:  # lines to be typed stay as they are
                return folded(text, width)
            return "\n".join(self._split_lines(" ".join(text.split()), width))

        def _format_usage(self, *args: Any) -> str:
            usage: str = super()._format_usage(*args)
            if max(map(len, usage.splitlines())) <= self._width:
                return usage
            return folded(" ".join(usage.split()), self._width) + "\n\n"

    class Version(argparse.Action):
        """Prints the version only where it is asked for."""

        def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
            from ringstep.language.shipped import made_by

            sys.stdout.write(f"{made_by()}\n")
            parser.exit()

    top = Parser(prog="ringstep", description=_DESCRIPTION, epilog=_EPILOG, formatter_class=Words)
    top.add_argument("--version", action=Version, nargs=0, help="print the version")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for name in [only] if only else command_names():
        module = import_module(f"ringstep.commands.{name.replace('-', '_')}")
        words = words_of(module)
        first = words.splitlines()[0].rstrip(".")
        one = commands.add_parser(
            name, help=first, description=words, epilog=_EPILOG, formatter_class=Words
        )
        module.arguments(one)
        one.set_defaults(run=module.run)
    return top


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


def program() -> int:
    """Run the command that was typed, in a process that ends with it.

    It is over before there is anything to collect: the imports alone would set the collector off
    some dozens of times, and so would the end. Commands that run on (fit, watch) turn it on again.
    """
    gc.disable()
    return main()


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    try:
        words = list(sys.argv[1:] if argv is None else argv)
        _open_streams()
        first = words[0] if words else ""
        if first and not first.startswith("-") and first not in command_names():
            from ringstep.language.words import or_nearest

            near = or_nearest(first, command_names(), "'ringstep --help' lists them")
            raise Stop(f"there is no command '{first}'{near}")
        args = parser(first if first and not first.startswith("-") else None).parse_args(words)
        status: int = args.run(args)
        sys.stdout.flush()
        return status
    except (Stop, Refused) as fault:
        tell(fault)
    except BrokenPipeError:
        _give_up_printing()  # the reader went away (`| head`)
    except KeyboardInterrupt:
        sys.stderr.write("\nringstep: stopped\n")
    except OSError as fault:
        tell(own_fault(fault))
        _give_up_printing()
    except Exception as fault:
        tell(own_fault(fault))
    return CANNOT


if __name__ == "__main__":
    sys.exit(program())
