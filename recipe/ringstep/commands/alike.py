"""Tell whether two recipes have the same links and lay, or which shipped weaves share them."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringstep.commands.rim import ERRORS, OK, must_be_clean, shipped_view

if TYPE_CHECKING:
    from ringstep.weave.piece import Weave


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep alike`."""
    parser.add_argument("file", metavar="FILE")
    parser.add_argument("other", metavar="FILE", nargs="?", help="leave out for the shipped weaves")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.language.screen import safe
    from ringstep.language.shipped import shipped_weaves
    from ringstep.weave.likeness import compare, likeness_words

    first = must_be_clean(args.file)

    def named(title: str, weave: Weave) -> str:
        return f"{safe(title)}, {safe(weave.variant.name)}" if weave.variant else safe(title)

    if args.other:
        second = must_be_clean(args.other)
        same = False
        for one in first.weaves:
            for two in second.weaves:
                found = compare(one, two)
                same = same or found.links
                sys.stdout.write(
                    f"{named(args.file, one)} and {named(args.other, two)}:"
                    f" {likeness_words(found)}\n"
                )
        return OK if same else ERRORS
    lines = []
    for name, path in shipped_weaves().items():
        other = shipped_view(name, path)
        for one in first.weaves:
            for two in other.weaves:
                found = compare(one, two)
                if found.links:
                    lines.append(f"  {named(name, two)}: {likeness_words(found)}")
                    if len(first.weaves) > 1:
                        lines[-1] = f"  {named(args.file, one)} and{lines[-1][1:]}"
    sys.stdout.write(
        f"{safe(args.file)} has the same links as\n"
        if lines
        else f"{safe(args.file)}: no shipped weave has the same links\n"
    )
    sys.stdout.write("".join(f"{line}\n" for line in lines))
    return OK
