"""Write a first recipe to begin from; its comments say what each part is for."""

from __future__ import annotations

import argparse
import shlex
from pathlib import Path

from ringstep.commands.rim import OK, Stop, say, write_new
from ringstep.language.shipped import starters


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep new`."""
    parser.add_argument("name", metavar="NAME", help="what to call it; NAME.weave is written")
    parser.add_argument(
        "--kind",
        choices=list(starters()),
        default="chain",
        help="what it makes; a chain by default",
    )


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.language.screen import safe
    from ringstep.language.starter import starter

    stem = args.name.removesuffix(".weave")
    target = Path(f"{stem}.weave")
    if not Path(stem).name or stem.endswith(("/", "\\")) or stem in (".", ".."):
        raise Stop("give the recipe a name, such as: ringstep new cuff")
    write_new(target, starter(args.kind, Path(stem).name).encode("utf-8", "replace"))
    shown = safe(str(target))
    say(f"wrote {shown}; now try: ringstep check {shlex.quote(shown)}")
    return OK
