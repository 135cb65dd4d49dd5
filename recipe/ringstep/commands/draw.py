"""Draw the diagrams: after each step, the window, the unit with its links.

Pictures that it drew itself of steps the recipe no longer has are removed from the folder.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from ringstep.commands.rim import (
    OK,
    Stop,
    must_be_clean,
    not_a_source,
    printable,
    stem_of,
    write_all,
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep draw`."""
    parser.add_argument("file", metavar="FILE")
    parser.add_argument(
        "--format",
        action="append",
        choices=["svg", "png", "dot"],
        help="svg (the default), png or dot; may be given more than once",
    )
    parser.add_argument("--to", metavar="FOLDER", help="where the pictures go")
    parser.add_argument("--variant", metavar="NAME", help="the variant to draw")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.commands.leftovers import leftovers, marked
    from ringstep.draw.diagrams import all_diagrams
    from ringstep.draw.drawing import NoProgram, dot_texts, draw_all
    from ringstep.language.screen import safe
    from ringstep.language.words import listed

    seen = must_be_clean(args.file, args.variant)
    printable(seen, pictures=True, page=False)
    stem = stem_of(args.file)
    folder = Path(args.to or f"{stem}-pictures")
    diagrams = all_diagrams(seen)
    formats = list(dict.fromkeys(args.format or ["svg"]))
    pictures: dict[str, bytes] = {}
    trouble = ""
    if "dot" in formats:
        pictures |= dot_texts(diagrams)
    try:
        for form in formats:
            if form != "dot":
                pictures |= draw_all(diagrams, form)
    except NoProgram as fault:
        trouble = str(fault)
        pictures |= dot_texts(diagrams)
    write_all(folder, marked(pictures, stem), args.file)
    gone = leftovers(folder, (d.name for d in diagrams), stem)
    for path in gone:
        not_a_source(path, args.file)
        try:
            path.unlink()
        except OSError as fault:
            raise Stop(f"{path} cannot be removed: {fault.strerror or fault}") from None
    sys.stdout.write(f"{len(pictures)} pictures in {safe(str(folder))}:\n")
    for diagram in diagrams:
        sys.stdout.write(f"  {diagram.name}  {safe(diagram.title)}\n")
    if gone:
        names = listed([safe(path.name) for path in gone])
        sys.stdout.write(f"removed {names}, drawn earlier of what is no more in the recipe\n")
    if trouble:
        raise Stop(trouble)
    return OK
