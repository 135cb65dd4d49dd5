"""List, show or copy out the shipped recipes."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from ringstep.commands.rim import OK, Stop, say, shipped_view, write_aside


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep weaves`."""
    group = parser.add_mutually_exclusive_group()
    group.add_argument("--show", metavar="NAME", help="print a recipe")
    group.add_argument("--copy", metavar="NAME", help="copy a recipe out, to make it your own")
    parser.add_argument("--to", metavar="FILE", help="with --copy: where to")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.language.screen import safe
    from ringstep.language.shipped import shipped_bytes, shipped_weaves
    from ringstep.language.words import or_nearest

    shipped = shipped_weaves()
    wanted = args.copy or args.show
    if wanted is None:
        width = max(map(len, shipped), default=0)
        for name, path in shipped.items():
            seen = shipped_view(name, path)
            about = next((n.text for n in seen.recipe.notes if n.topic == "about"), "")
            say(f"{name:<{width}}  {seen.recipe.title or ''}: {about}")
        return OK
    name = wanted.removesuffix(".weave")
    if name not in shipped:
        near = or_nearest(name, shipped, "'ringstep weaves' lists them")
        raise Stop(f"no recipe '{wanted}' is shipped{near}")
    data = shipped_bytes(shipped[name])
    if args.show:
        sys.stdout.write(data.decode("utf-8"))
        return OK
    target = Path(args.to or f"{name}.weave")
    if target.is_dir():
        target = target / f"{name}.weave"
    if target.exists() or target.is_symlink():
        raise Stop(f"{target} is there already and is left as it is; name another with --to")
    write_aside(target, data)
    shown = safe(str(target))
    say(f"wrote {shown}; now try: ringstep check {shown}")
    return OK
