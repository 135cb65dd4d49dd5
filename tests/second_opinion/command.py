"""The one door to the program that is tested: its command line, called in this process."""

from __future__ import annotations

import io
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout, suppress
from functools import cache
from importlib import import_module

#: Where the main function of the command line may stand, the newest place first.
PLACES = ("ringstep.commands.cli", "ringstep.cli", "recipe.cli")


@cache
def _main() -> Callable[[list[str]], int]:
    for place in PLACES:
        with suppress(ModuleNotFoundError):
            return import_module(place).main
    raise ImportError(f"no command line in any of {PLACES}")


def run(*words: str) -> tuple[int, str]:
    """Run one command: its exit code and all that it prints."""
    out = io.StringIO()
    with redirect_stdout(out), redirect_stderr(out):
        status = _main()(list(words))
    return status, out.getvalue()
