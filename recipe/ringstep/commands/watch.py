"""Check a recipe again whenever it is saved, and keep a page in the browser up to date.

The page lies beside the recipe as NAME-preview.html and shows what is wrong, or the step list once
the recipe checks clean, with --pictures a diagram under each step. Ctrl-C ends it.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.rim import (
    CANNOT,
    OK,
    Stop,
    printable,
    read,
    reason,
    report_of,
    say,
    show,
    tell,
    write_aside,
)
from ringstep.language.source import Refused

if TYPE_CHECKING:
    from ringstep.checks.report import Line
    from ringstep.checks.view import View
    from ringstep.language.source import Source
    from ringstep.paper.preview import Moment

#: How often the file is looked at, in seconds.
LOOK_EVERY = 0.4


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep watch`."""
    parser.add_argument("file", metavar="FILE")
    parser.add_argument("--to", metavar="FILE.html", help="where the page goes")
    parser.add_argument("--pictures", action="store_true", help="with a diagram under each step")
    parser.add_argument("--open", action="store_true", help="open the page in the browser")


def _page_path(args: argparse.Namespace) -> Path:
    """Where the page goes. Raises `Stop` where it would take the place of something else."""
    from ringstep.paper.preview import MARK

    name = f"{Path(args.file).stem}-preview.html"
    page = Path(args.to) if args.to else Path(args.file).with_name(name)
    if page.is_dir():
        page = page / name
    if page.suffix.lower() not in (".html", ".htm"):
        raise Stop(f"the page is HTML, so give it a name that ends in .html, not '{page.name}'")
    if page.exists() and not page.is_file():
        raise Stop(f"{page} is no plain file, so nothing is put in its place")
    with suppress(OSError):
        if MARK.encode() not in page.read_bytes():
            raise Stop(
                f"{page} is there already and was not written by 'ringstep watch';"
                " name another page with --to"
            )
    return page


class _Watch:
    """One recipe under watch, and the page it is shown on."""

    def __init__(self, path: str, page: Path, pictures: bool = False) -> None:
        self.path, self.page, self.pictures = path, page, pictures
        self.known: tuple[int, Source] | str | None = None
        self.doubt = ""

    def look(self) -> tuple[int, Source] | str:
        """When the recipe was saved and how it reads now, or why it cannot be read."""
        try:
            source = read(self.path)
            return Path(self.path).stat().st_mtime_ns, source
        except (Stop, Refused) as fault:
            return str(fault)
        except OSError as fault:
            return f"{self.path} cannot be read: {reason(fault)}"

    def write(self, watching: bool) -> None:
        """Make the page of what was seen last. Raises `Stop` where it cannot be written."""
        from ringstep.language.screen import safe
        from ringstep.paper.preview import Moment, trouble_page

        now = time.strftime("%H:%M:%S")
        moment = Moment(now, watching)
        if self.known is None:
            return
        try:
            if isinstance(self.known, str):
                raise Stop(self.known)
            page, lines = self.shown(self.known[1], moment)
            lines[0] = [(f"{now}  ", "dim"), *lines[0]]
        except (Stop, Refused) as fault:
            page = trouble_page(self.path, str(fault), moment)
            lines = [[(f"{now}  {safe(str(fault))}", "")]]
        if watching:
            show(lines)
        sys.stdout.flush()
        if self.page.parent.is_dir():  # a folder that was taken away is not made again
            write_aside(self.page, page.encode("utf-8", "replace"))

    def shown(self, source: Source, moment: Moment) -> tuple[str, list[Line]]:
        """The page of a recipe that could be read, and what is printed of it. Raises `Stop`."""
        from ringstep.checks.pipeline import view_of
        from ringstep.checks.report import file_lines
        from ringstep.paper.preview import preview
        from ringstep.paper.steps_text import step_list
        from ringstep.weave.effort import within_bounds

        seen = view_of(source)
        within_bounds(seen)
        report = report_of(seen)
        listing = step_list(seen) if report.ok and seen.recipe.every_block else None
        drawn = self.drawn(seen) if self.pictures and listing else {}
        return preview(report, listing, moment, drawn), file_lines(report)

    def drawn(self, seen: View) -> dict[int, str]:
        """The diagram of each step, as SVG; where none can be drawn it is told why."""
        from ringstep.draw.diagrams import step_diagrams
        from ringstep.draw.drawing import draw_all

        try:
            printable(seen, pictures=True, page=False)
            diagrams = step_diagrams(seen)
            svgs = draw_all(list(diagrams.values()), "svg").values()
        except (Stop, Refused) as fault:
            tell(fault)
            return {}
        return {n: svg.decode("utf-8") for n, svg in zip(diagrams, svgs, strict=True)}

    def once(self) -> None:
        """Look, and tell what has changed. Raises `Stop` where the page cannot be written.

        A mishap must last for two looks, since saving a file takes a moment.
        """
        now = self.look()
        if isinstance(now, str) and now != self.doubt:
            self.doubt = now
            return
        self.doubt = now if isinstance(now, str) else ""
        if now != self.known:
            self.known = now
            self.write(watching=True)

    def go_on(self) -> None:
        """Look again and again; a page that cannot be written is told and tried again."""
        while True:
            time.sleep(LOOK_EVERY)
            try:
                self.once()
            except (Stop, Refused) as fault:
                tell(fault)


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    gc.enable()  # it runs on; `cli.program` turned the collector off for those soon over
    from ringstep.language.screen import safe

    if args.file == "-":
        raise Stop("what is piped in cannot be watched; name a file")
    if os.path.exists(args.file) and not os.path.isfile(args.file):
        raise Stop(f"{args.file} is no plain file, so it cannot be watched")
    read(args.file)
    page = _page_path(args)
    watch = _Watch(args.file, page, args.pictures)
    name = safe(args.file)
    try:
        say(f"watching {name}; the page is {safe(str(page))}; Ctrl-C ends it")
        sys.stdout.flush()
        watch.once()
        if args.open:
            _open(page)
        watch.go_on()
    except KeyboardInterrupt:
        if sys.stdout.isatty():
            sys.stdout.write("\n")  # behind the '^C' that a terminal shows
    status = OK
    try:
        with suppress(KeyboardInterrupt):
            watch.write(watching=False)
    except Stop as fault:  # the page goes on saying that it is watched
        tell(fault)
        status = CANNOT
    say(f"no longer watching {name}")
    return status


def _open(page: Path) -> None:
    """Open the page in the browser, or say where it is."""
    import webbrowser

    address = page.resolve().as_uri()
    try:
        opened = webbrowser.open(address)
    except (webbrowser.Error, OSError):
        opened = False
    if not opened:
        say(f"no browser was found; open {address} yourself")
