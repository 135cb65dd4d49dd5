"""Mend a recipe: show what would change, ask, write it, and check again.

Every mend was tried before it is offered. Where several would do as well, you say which. The old
text is kept beside the recipe, as in cuff.weave.before.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.rim import (
    ERRORS,
    OK,
    Stop,
    bytes_of,
    recipe_bytes,
    report_of,
    say,
    show,
    view,
    write_aside,
)

if TYPE_CHECKING:
    from ringstep.language.findings import Finding, Mend
    from ringstep.language.source import Source

#: Lines of one change that are shown, and mends made one after the other.
_MOST_LINES, _MOST_MENDS = 12, 100


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep mend`."""
    parser.add_argument("file", metavar="FILE", help="the recipe")
    parser.add_argument(
        "--yes",
        action="store_true",
        help="ask nothing; a fault with several mends is left as it is",
    )


def _shown(finding: Finding, source: Source) -> None:
    """Print a finding and what each of its mends would change."""
    from ringstep.language.findings import changed_lines
    from ringstep.language.screen import safe

    say(f"{safe(source.name)}, line {finding.span.line}: {safe(finding.message)}")
    for number, mend in enumerate(finding.mends, 1):
        say(f"  {f'{number}. ' if len(finding.mends) > 1 else ''}{safe(mend.says)}")
        for word, at, text in changed_lines(source.lines, mend.edits, _MOST_LINES):
            say(f"    {word:<6} {at:>4} | {safe(text)}")


def _chosen(finding: Finding, yes: bool) -> Mend | None:
    """The mend to make; None where it is left."""
    mends = finding.mends
    if yes:
        if len(mends) > 1:
            say("  several mends would do as well, so none is chosen; run it without --yes")
        return mends[0] if len(mends) == 1 else None
    what = "write this? (yes or no)" if len(mends) == 1 else f"which, 1 to {len(mends)}? (or no)"
    while True:
        print(f"  {what} ", end="", flush=True)
        answer = sys.stdin.readline()
        word = answer.strip().casefold()
        if not answer or word in ("n", "no"):
            return None
        if len(mends) == 1 and word in ("y", "yes"):
            return mends[0]
        if len(mends) > 1 and word.isdecimal() and 1 <= int(word) <= len(mends):
            return mends[int(word) - 1]


def kept_beside(path: Path, data: bytes) -> Path:
    """Keep a text beside its file, under the next name that is free. Raises `Stop`."""
    for number in range(1, 1000):
        before = path.with_name(f"{path.name}.before{'' if number == 1 else number}")
        if not before.exists():
            write_aside(before, data)
            return before
        if before.is_file() and bytes_of(str(before), len(data), "recipe") == data:
            return before
    raise Stop(f"there are too many old texts beside {path}; take some away")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.checks.report import file_lines
    from ringstep.language.findings import typed_in
    from ringstep.language.screen import safe
    from ringstep.language.tidy import written_like

    if args.file == "-":
        raise Stop("'mend' writes into a file; name one")
    asked = args.yes or (sys.stdin is not None and sys.stdin.isatty())
    path = Path(args.file).resolve()  # a link stays a link
    kept: Path | None = None
    left: set[tuple[str, str]] = set()
    while True:
        report = report_of(view(args.file))
        source = report.source
        open_ = [f for f in report.findings if f.mends and (f.rule.name, f.message) not in left]
        if not open_ or len(left) > _MOST_MENDS:
            break
        finding = min(open_, key=lambda f: f.severity != "error")
        _shown(finding, source)
        mend = _chosen(finding, args.yes) if asked else None
        left.add((finding.rule.name, finding.message))
        if mend is None:
            continue
        data = recipe_bytes(args.file)
        if kept is None:
            kept = kept_beside(path, data)
        try:
            write_aside(path, written_like(data, "\n".join(typed_in(source.lines, mend.edits))))
        except Stop:
            kept.unlink(missing_ok=True)  # nothing was mended, so there is no old text
            raise
    if kept is not None:
        say(f"{safe(args.file)} is written; the old text is kept as {safe(kept.name)}\n")
    elif left and not asked:
        say("nothing is written, since nobody can be asked here; --yes writes it\n")
    elif not left:
        say(f"{safe(args.file)}: there is no mend to offer\n")
    show(file_lines(report))
    return OK if report.ok else ERRORS
