"""Draw the diagrams: after each step, the window, the unit with its links.

With --rings the rings themselves are drawn instead, round and linked as they lie in the hand after
each step, and --film makes a page on which the steps play. Pictures that it drew itself of steps
the recipe no longer has are removed from the folder.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.rim import (
    OK,
    Stop,
    must_be_clean,
    not_a_source,
    printable,
    ready_to_compute,
    reason,
    say,
    size_option,
    stem_of,
    tell,
    write_all,
)

if TYPE_CHECKING:
    from ringstep.checks.view import View
    from ringstep.space.second import Second


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep draw`."""
    parser.add_argument("file", metavar="FILE")
    size_option(parser)
    parser.add_argument(
        "--format",
        action="append",
        choices=["svg", "png", "dot"],
        help="svg (the default), png or dot; may be given more than once",
    )
    parser.add_argument("--to", metavar="FOLDER", help="where the pictures go")
    parser.add_argument("--variant", metavar="NAME", help="the variant to draw")
    parser.add_argument(
        "--rings", action="store_true", help="the real rings after each step, as SVG"
    )
    parser.add_argument(
        "--film", action="store_true", help="one page on which the steps play, with real rings"
    )


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    if args.rings or args.film:
        return _rings(args)
    from ringstep.commands.leftovers import leftovers, marked
    from ringstep.draw.diagrams import all_diagrams
    from ringstep.draw.drawing import NoProgram, dot_texts, draw_all
    from ringstep.language.screen import safe
    from ringstep.language.words import listed

    seen = must_be_clean(args.file, args.variant, args.size)
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
            raise Stop(f"{path} cannot be removed: {reason(fault)}") from None
    say(f"{len(pictures)} pictures in {safe(str(folder))}:")
    for diagram in diagrams:
        say(f"  {diagram.name}  {safe(diagram.title)}")
    if gone:
        names = listed([safe(path.name) for path in gone])
        say(f"removed {names}, drawn earlier of what is no more in the recipe")
    if trouble:
        raise Stop(trouble)
    return OK


def _rings(args: argparse.Namespace) -> int:
    """Draw the real rings after each step. Raises `Stop` or `Refused`."""
    if args.format:
        raise Stop("pictures of real rings are SVG; leave out --format")
    ready_to_compute()
    from ringstep.space.second import Second

    # it reads its code while this one reads the recipe
    reads = ("ringstep.space.hang", "ringstep.space.search", "ringstep.space.cut")
    with Second((*reads, "ringstep.draw.rings")) as second:
        seen = must_be_clean(args.file, args.variant, args.size)
        printable(seen, pictures=True, page=False)
        return _drawn(seen, args, second)


def _drawn(seen: View, args: argparse.Namespace, second: Second) -> int:
    """The same, the recipe read."""
    from ringstep.commands.fit_store import known_fit
    from ringstep.commands.leftovers import leftovers, marked
    from ringstep.language.screen import safe
    from ringstep.language.source import Refused
    from ringstep.paper import film
    from ringstep.space.states import states_of

    try:
        shown = states_of(seen, known_fit(seen), second)
    except Refused as fault:
        raise Stop(
            f"the rings of {args.file} cannot be drawn: {fault};"
            " 'ringstep draw' without --rings and --film draws diagrams"
        ) from None
    shoot = film.Shoot(both=args.film, once=not args.film)
    found = film.scenes(seen, shown, shoot, second)
    stem = stem_of(args.file)
    folder = Path(args.to or f"{stem}-rings")
    made = marked(film.files(found), stem) if args.rings else {}
    names = {name.removesuffix(".svg") for name in made}
    if args.film:
        made["film.html"] = film.film(seen, shown, found).encode("utf-8")
    write_all(folder, made, args.file)
    for path in leftovers(folder, names, stem, rings=True) if args.rings else ():
        path.unlink(missing_ok=True)
    say(f"{len(made)} files in {safe(str(folder))}:")
    for name in made:
        say(f"  {name}")
    for told in dict.fromkeys(part for scene in found for part in scene.parts):
        if "not drawn" in told:
            tell(Stop(told))
    for line in film.missing(shown):
        tell(Stop(line))
    return OK
