"""Open a recipe in the browser: text, rings and messages side by side.

The page is served on this machine alone and reads and writes nothing but the folder the recipe lies
in. It needs the extra 'table'. Ctrl-C ends it.
"""

from __future__ import annotations

import argparse
import asyncio
import gc
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from ringstep.commands.rim import OK, Stop, say

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from ringstep.commands.recipe_folder import RecipeFolder
    from ringstep.table.files import Made


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep table`."""
    parser.add_argument("file", metavar="FILE", help="a recipe, also one that is not there yet")
    parser.add_argument(
        "--no-browser", action="store_true", help="only print the address, open no browser"
    )
    parser.add_argument("--port", metavar="N", type=int, default=0, help="the port it is served on")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    gc.enable()  # it runs on; `cli.program` turned the collector off for those soon over
    try:
        import nicegui  # noqa: F401
    except ImportError:
        raise Stop("the page in the browser needs NiceGUI: pip install 'ringstep[table]'") from None
    from ringstep.commands.recipe_folder import RecipeFolder
    from ringstep.language.screen import safe
    from ringstep.table.page import Behind
    from ringstep.table.serve import serve

    if args.file == "-":
        raise Stop("what is piped in cannot lie on the table; name a file")
    path = Path(args.file)
    folder = RecipeFolder.at(path.parent)
    name = path.name if path.suffix.lower() == ".weave" else f"{path.name}.weave"
    folder.opened(name)

    def begun(address: str) -> None:
        say(f"{safe(name)} lies on the table; Ctrl-C ends it")
        if args.no_browser or not _opened(address):
            say(f"open {address}")
        sys.stdout.flush()

    behind = Behind(folder, _Papers(folder), [*_PYTHON, "ringstep.commands.table_worker"])
    try:
        serve(behind, name, begun, args.port)
    except KeyboardInterrupt:  # raised once more after the server has come to its end
        pass
    except OSError as fault:
        raise Stop(f"port {args.port} cannot be used: {fault.strerror or fault}") from None
    say("the table is cleared; what was not saved is kept as a draft")
    return OK


#: How a module is run in a process of its own: nothing of the folder it runs in is taken for code.
_PYTHON = (sys.executable, "-P", "-m")


def _opened(address: str) -> bool:
    """Open the page in the browser; False where there is none."""
    import webbrowser

    try:
        return webbrowser.open(address)
    except (webbrowser.Error, OSError):
        return False


#: Copies of a hand-out that have their own name.
_COPIES = ("large", "left-handed", "teacher", "letter")


class _Papers:
    """Makes pages with the commands for them, each in a process of its own."""

    def __init__(self, folder: RecipeFolder) -> None:
        self._folder = folder
        self._made: dict[str, str] = {}  # the recipe of each page

    async def handout(self, name: str, wishes: Mapping[str, bool]) -> Made:
        """The hand-out of a saved recipe. wishes: options by name. Raises `Refused`."""
        options = [f"--{o}" for o in ("large", "left-handed", "teacher", "screen") if wishes[o]]
        options += ["--paper", "letter"] if wishes["letter"] else []
        kinds = ["follow" if wishes["screen"] else "handout", *(o for o in _COPIES if wishes[o])]
        page = f"{Path(name).stem}-{'-'.join(kinds)}.html"
        return await asyncio.to_thread(self._make, page, "--to", ["handout", *options, "--", name])

    async def slip(self, name: str, wish: Mapping[str, str]) -> Made:
        """The packing slip of a saved recipe. wish: options of a kit by name. Raises `Refused`."""
        options = [f"--{option}={value}" for option, value in wish.items()]
        page = f"{Path(name).stem}-slip.html"
        return await asyncio.to_thread(self._make, page, "--slip", ["kit", *options, "--", name])

    def made_of(self, recipe: str) -> list[str]:
        """The pages that were made of a recipe since the beginning."""
        return [page for page, of in self._made.items() if of == recipe]

    def read(self, name: str) -> bytes:
        """A page that was made here. Raises `Stop`."""
        if name not in self._made:
            raise Stop("no such page was made here")
        return self._folder.page(name)

    def _make(self, page: str, to: str, words: Sequence[str]) -> Made:
        """Run a command and lay the page it makes beside the recipe. Raises `Stop`."""
        from ringstep.table.files import Made

        with TemporaryDirectory(prefix="ringstep-") as aside:
            made = Path(aside) / page
            command = [*_PYTHON, "ringstep", words[0], f"{to}={made}", *words[1:]]
            done = subprocess.run(
                command, cwd=self._folder.root, capture_output=True, encoding="utf-8", check=False
            )
            told = done.stderr.replace("ringstep: ", "").strip()
            if done.returncode != OK or not made.is_file():
                raise Stop(told or "the page could not be made")
            self._folder.made(page, made.read_bytes())
        self._made[page] = words[-1]
        return Made(page, told or f"{page} lies beside the recipe.")
