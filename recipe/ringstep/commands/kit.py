"""Work out a kit: units and rings for a length, spares, wire, metal, packs to buy and their cost.

A length needs the recipe's measured sample ('sample 10 units = 41 mm'), or the range that
'ringstep fit' computed. The price list is a CSV table with the columns ring, pack, price and
currency; rings are called as the recipe calls them.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.rim import (
    OK,
    bytes_of,
    data_forms,
    must_be_clean,
    not_a_source,
    put,
    put_data,
    say,
    size_option,
    write_aside,
)

if TYPE_CHECKING:
    from ringstep.checks.view import View
    from ringstep.shop.wish import Wish


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep kit`."""
    parser.add_argument("file", metavar="FILE")
    size_option(parser)
    parser.add_argument(
        "--length",
        metavar="SIZE",
        help="length wanted: '19 cm', '7.5 in'; of strands 'left=20 cm, right=21 cm'; of a finger"
        " ring 'ring size 54, 2.5 mm thick'",
    )
    parser.add_argument("--clasp", metavar="SIZE", help="what the clasp adds, taken off the length")
    parser.add_argument("--ease", metavar="SIZE", help="room to move, added to the length")
    parser.add_argument("--pieces", metavar="N", default="1", help="how many kits to pack")
    parser.add_argument("--spares", metavar="PERCENT", default="0", help="spare rings of each kind")
    parser.add_argument("--saw-cut", metavar="SIZE", help="wire lost at each ring: '0.3 mm'")
    parser.add_argument("--prices", metavar="FILE.csv", help="price list")
    parser.add_argument("--pace", metavar="SECONDS", help="seconds a ring, to tell the time")
    parser.add_argument(
        "--slip",
        metavar="FILE.html",
        help="also write a page to print: packing slip, shopping list, labels for the bags",
    )
    parser.add_argument("--paper", choices=["a4", "letter"], default="a4", help="of that page")
    data_forms(parser, "the kit", "the kit")


def computed_length(seen: View, wish: Wish) -> tuple[float, float] | None:
    """What 'ringstep fit' kept of a unit's length, to go by or to hold a sample against."""
    piece = seen.recipe.piece
    if piece is None or not (wish.length or piece.length or piece.sample):
        return None
    from ringstep.commands.fit_store import fitted_length

    return fitted_length(seen)


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.language.screen import safe
    from ringstep.paper.kit_tables import CSV_HEADS, kit_data, kit_page, kit_rows
    from ringstep.paper.packing_slip import packing_slip
    from ringstep.paper.tools import tools_of
    from ringstep.shop.kit import kit_of
    from ringstep.shop.tables import MOST_BYTES, read_prices
    from ringstep.shop.wish import read_wish

    wish = read_wish(
        args.length, args.clasp, args.ease, args.pieces, args.spares, args.saw_cut, args.pace,
        typed=True,
    )  # fmt: skip
    if args.slip:
        not_a_source(Path(args.slip), args.file, args.prices)
    seen = must_be_clean(args.file, size=args.size)
    prices = None
    if args.prices:
        prices = read_prices(bytes_of(args.prices, MOST_BYTES, "table"), args.prices)
    kit = kit_of(seen, wish, prices, args.prices or "", computed_length(seen, wish))
    if args.slip:
        page = packing_slip(kit, tools_of(seen.recipe), args.paper)
        write_aside(Path(args.slip), page.encode("utf-8"))
    data = kit_data(kit)
    if put_data(args, data, CSV_HEADS, kit_rows(data)):
        return OK
    put(kit_page(kit))
    if args.slip:
        say(f"\nwrote {safe(args.slip)}: open it in a browser and print it")
    return OK
