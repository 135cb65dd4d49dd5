"""Write a first recipe to begin from; its comments say what each part is for."""

from __future__ import annotations

import argparse
import shlex
from contextlib import suppress
from pathlib import Path

from ringstep.commands.rim import OK, Stop, say
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
    if target.exists() or target.is_symlink():
        raise Stop(f"{target} is there already and is left as it is; choose another name")
    data = starter(args.kind, Path(stem).name).encode("utf-8", "replace")
    made = False
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with open(target, "xb") as file:  # never over a file, not even one made this very moment
            made = True
            file.write(data)
    except OSError as fault:
        if made:
            with suppress(OSError):
                target.unlink()
        raise Stop(f"{target} cannot be written: {fault.strerror or fault}") from None
    except ValueError as fault:
        raise Stop(f"a file cannot be called that: {fault}") from None
    shown = safe(str(target))
    say(f"wrote {shown}; now try: ringstep check {shlex.quote(shown)}")
    return OK
