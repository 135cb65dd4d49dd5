"""Plan a lesson: what to open, close and pack, how long each step takes, what a kit costs.

Everyone works one piece. Times come from your own pace, prices from your own list: what is not
given is not told. A price list is read as 'ringstep kit' reads it.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.kit import computed_length
from ringstep.commands.price_lists import column_option, prices_in
from ringstep.commands.rim import (
    OK,
    Stop,
    must_be_clean,
    not_a_source,
    printable,
    put,
    ready_to_compute,
    say,
    size_option,
    stem_of,
    tell,
    write_all,
    write_aside,
)
from ringstep.language.source import Refused

if TYPE_CHECKING:
    from ringstep.checks.view import View
    from ringstep.shop.kit import Kit


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep lesson`."""
    parser.add_argument("file", metavar="FILE")
    size_option(parser)
    parser.add_argument("--students", metavar="N", default="1", help="how many kits to prepare")
    parser.add_argument("--spares", metavar="PERCENT", default="0", help="spare rings of each kind")
    parser.add_argument("--length", metavar="SIZE", help="length wanted, as in 'ringstep kit'")
    parser.add_argument("--clasp", metavar="SIZE", help="what the clasp adds, taken off the length")
    parser.add_argument("--ease", metavar="SIZE", help="room to move, added to the length")
    parser.add_argument(
        "--scale", metavar="GRAMS", default="0.1", help="what your scale reads: 0.1 (the default)"
    )
    parser.add_argument(
        "--pace",
        metavar="SECONDS",
        action="append",
        default=[],
        help="your own seconds a ring: 20; for one kind of step 'fold back=5'; repeatable",
    )
    parser.add_argument(
        "--break",
        metavar="TIME",
        dest="pause",
        help="'10 min every 60 min', or '10 min in the middle'",
    )
    parser.add_argument("--set-up", metavar="TIME", help="before the work: '15 min'")
    parser.add_argument("--closing", metavar="TIME", help="after the work: '10 min'")
    parser.add_argument("--begin", metavar="CLOCK", help="when it begins: 18:30")
    parser.add_argument("--prices", metavar="FILE.csv", help="price list")
    column_option(parser)
    parser.add_argument("--hours", metavar="HOURS", help="of your own work for all kits")
    parser.add_argument("--rate", metavar="AMOUNT", help="what an hour of yours costs")
    parser.add_argument(
        "--margin", metavar="PERCENT", help="'40 %% of the price', or '60 %% on top' of the cost"
    )
    parser.add_argument("--round", metavar="AMOUNT", help="price is a multiple of it: 0.50")
    parser.add_argument("--batch", metavar="TEXT", help="to trace kits by; stands on everything")
    parser.add_argument("--sheet", metavar="FILE.html", help="also write a page to print")
    parser.add_argument("--paper", choices=["a4", "letter"], default="a4", help="of that page")
    parser.add_argument(
        "--shop-text",
        metavar="FOLDER",
        help="also write a text for a shop's page there, plain and as HTML, with a picture",
    )
    parser.add_argument("--json", action="store_true", help="write the lesson as JSON")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.checks.report import json_text
    from ringstep.language.screen import safe
    from ringstep.paper.lesson_sheet import lesson_sheet
    from ringstep.paper.lesson_tables import lesson_data, lesson_page
    from ringstep.shop.kit import kit_of
    from ringstep.shop.kit_length import sized
    from ringstep.shop.lesson import lesson_of
    from ringstep.shop.lesson_price import price_of
    from ringstep.shop.lesson_wish import read_lesson, read_scale, read_students, read_worth
    from ringstep.shop.wish import read_wish

    wish = read_wish(
        args.length, args.clasp, args.ease, read_students(args.students), args.spares,
        typed=True, batch=args.batch,
    )  # fmt: skip
    scale = read_scale(args.scale)
    timed = read_lesson(args.pace, args.pause, args.set_up, args.closing, args.begin)
    worth = read_worth(args.hours, args.rate, args.margin, args.round, bool(args.prices))
    if args.sheet:
        not_a_source(Path(args.sheet), args.file, args.prices)
    seen = must_be_clean(args.file, size=args.size)
    prices = prices_in(args.prices, args.column) if args.prices else None
    if args.column and not args.prices:
        raise Stop("--column names a column of a price list; name the list with --prices")
    computed = computed_length(seen, wish)
    kit = kit_of(seen, wish, prices, args.prices or "", computed)
    piece, _ = sized(seen, wish, computed)
    lesson = lesson_of(piece, kit, timed)
    priced = price_of(kit.bill, kit.wish.pieces, worth) if kit.bill else None
    told = lesson_page(piece, lesson, worth, priced, scale)
    if args.sheet:
        write_aside(Path(args.sheet), lesson_sheet(told, args.paper).encode("utf-8"))
    written = _shop_text(args, piece, kit) if args.shop_text else []
    if args.json:
        sys.stdout.write(json_text(lesson_data(piece, lesson, worth, priced, scale)))
        return OK
    put(told)
    if args.sheet:
        say(f"\nwrote {safe(args.sheet)}: open it in a browser and print it")
    for name in written:
        say(f"wrote {safe(name)}")
    return OK


def _shop_text(args: argparse.Namespace, piece: View, kit: Kit) -> list[str]:
    """Write the text of a shop's page and the picture to it; where they lie."""
    from ringstep.paper.printed import as_plain
    from ringstep.paper.shop_text import shop_page, shop_text, size_known

    stem, folder = stem_of(args.file), Path(args.shop_text)
    text = shop_text(piece, kit)
    picture = _picture(piece)
    shown = f"{stem}-finished.svg" if picture else ""
    files = {f"{stem}-shop.txt": as_plain(text), f"{stem}-shop.html": shop_page(text, shown)}
    if picture:
        files[shown] = picture
        files[f"{stem}-shop.txt"] += f"\nPicture: {shown}\n"
    made = {name: words.encode("utf-8") for name, words in files.items()}
    write_all(folder, made, args.file, *([args.prices] if args.prices else []))
    if not size_known(piece, kit):
        how = f": {kit.unmeasured}" if kit.unmeasured else ""
        tell(Stop(f"the shop text says no length, since none is known{how}"))
    return [str(folder / name) for name in made]


def _picture(piece: View) -> str:
    """A stretch of the finished piece as SVG; "" after saying why it cannot be drawn."""
    ready_to_compute()
    from ringstep.commands.fit_store import known_fit
    from ringstep.paper import film
    from ringstep.paper.finished import finished
    from ringstep.space.second import Second
    from ringstep.space.states import states_of

    with Second() as second:
        try:
            printable(piece, pictures=True, page=False)
            shown = states_of(piece, known_fit(piece), second)
        except Refused as fault:
            tell(Stop(f"the shop text has no picture, since the rings are not drawn: {fault}"))
            return ""
        seen = finished(piece, shown.piece, film.angle(piece, shown, False, second))
    return seen.large if seen else ""
