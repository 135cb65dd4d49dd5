"""Tell whether two recipes have the same links and lay, or which shipped weaves share them.

Each weave has a mark, the same whatever its rings are called and whichever unit comes first, and
each text has one of its own. Weaves that are one link a unit away are named as well.
"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringstep.commands.rim import ERRORS, OK, must_be_clean, say, shipped_view

if TYPE_CHECKING:
    from ringstep.checks.view import View
    from ringstep.weave.piece import Weave


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep alike`."""
    parser.add_argument("file", metavar="FILE")
    parser.add_argument("other", metavar="FILE", nargs="?", help="leave out for the shipped weaves")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.language.screen import safe
    from ringstep.language.shipped import shipped_weaves
    from ringstep.weave.kin import near_kin
    from ringstep.weave.likeness import compare, likeness_words
    from ringstep.weave.marks import text_mark, weave_mark

    first = must_be_clean(args.file)

    def named(title: str, weave: Weave) -> str:
        return f"{safe(title)}, {safe(weave.variant.name)}" if weave.variant else safe(title)

    def marks(seen: View, path: str) -> None:
        for weave in seen.weaves:
            mark = weave_mark(weave)
            told = mark.words if mark else "none, since it is too large or nothing links its rings"
            say(f"{named(path, weave)}: weave mark {told}")
        say(f"{safe(path)}: text mark {text_mark(seen.recipe.source)}")

    if args.other:
        second = must_be_clean(args.other)
        marks(first, args.file)
        marks(second, args.other)
        same = False
        for one in first.weaves:
            for two in second.weaves:
                found = compare(one, two)
                same = same or found.links
                both = f"{named(args.file, one)} and {named(args.other, two)}"
                say(f"{both}: {likeness_words(found)}")
        if not same and (kin := near_kin(first.weave, second.weave)):
            say(f"{safe(args.file)} has the links of {safe(args.other)} {kin}")
        return OK if same else ERRORS
    marks(first, args.file)
    lines, near = [], []
    for name, path in shipped_weaves().items():
        other = shipped_view(name, path)
        if kin := near_kin(first.weave, other.weave):
            near.append(f"  {safe(name)} {kin}")
        for one in first.weaves:
            for two in other.weaves:
                found = compare(one, two)
                if found.links:
                    lines.append(f"  {named(name, two)}: {likeness_words(found)}")
                    if len(first.weaves) > 1:
                        lines[-1] = f"  {named(args.file, one)} and{lines[-1][1:]}"
    name = safe(args.file)
    say(
        f"{name} has the same links as" if lines else f"{name}: no shipped weave has the same links"
    )
    lines += [f"{safe(args.file)} has the links of", *near] if near else []
    for line in lines:
        say(line)
    return OK
