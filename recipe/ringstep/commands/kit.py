"""Work out a kit: units and rings for a length, spares, wire, metal, packs to buy and their cost.

A length needs the recipe's measured sample ('sample 10 units = 41 mm'), or the range that
'ringstep fit' computed. The price list is a table as a spreadsheet saves it: rings are found in it
by size and metal, or by the names the recipe has for them. Of several recipes, rings of one size
and metal are bought together; 'a.weave=8 b.weave=6' says how many of each.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.price_lists import column_option, prices_in
from ringstep.commands.rim import (
    OK,
    Stop,
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
    from ringstep.shop.order import Order
    from ringstep.shop.wish import Wish


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep kit`."""
    parser.add_argument(
        "file", metavar="FILE", nargs="+", help="a recipe, or several; 'a.weave=8' for 8 kits of it"
    )
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
    column_option(parser)
    parser.add_argument("--pace", metavar="SECONDS", help="seconds a ring, to tell the time")
    parser.add_argument(
        "--slip",
        metavar="FILE.html",
        help="also write a page to print: packing slip, shopping list, labels for the bags",
    )
    parser.add_argument("--batch", metavar="TEXT", help="to trace kits by: on slip and labels")
    parser.add_argument("--paper", choices=["a4", "letter"], default="a4", help="of that page")
    data_forms(parser, "the kit", "the kit; of several recipes what to buy in all")


def computed_length(seen: View, wish: Wish) -> tuple[float, float] | None:
    """What 'ringstep fit' kept of a unit's length, to go by or to hold a sample against."""
    piece = seen.recipe.piece
    if piece is None or not (wish.length or piece.length or piece.sample):
        return None
    from ringstep.commands.fit_store import fitted_length

    return fitted_length(seen)


def _recipe_and_pieces(typed: str, pieces: str) -> tuple[str, str]:
    """The file and the number of kits in 'a.weave=8'; a file of that very name goes first."""
    file, equals, many = typed.rpartition("=")
    return (file, many) if equals and not Path(typed).exists() else (typed, pieces)


def _show(order: Order) -> None:
    from ringstep.paper.kit_tables import kit_page
    from ringstep.paper.order_tables import order_page

    for kit in order.kits:
        put(kit_page(kit))
        if len(order.kits) > 1:
            say("")
    if len(order.kits) > 1:
        put(order_page(order))


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.language.screen import safe
    from ringstep.paper import kit_tables, order_tables
    from ringstep.paper.packing_slip import packing_slip
    from ringstep.paper.tools import tools_of
    from ringstep.shop.kit import kit_of
    from ringstep.shop.order import order_of
    from ringstep.shop.wish import NoKit, read_wish

    typed = [_recipe_and_pieces(file, args.pieces) for file in args.file]
    several = len(typed) > 1
    wishes = [
        read_wish(
            args.length, args.clasp, args.ease, pieces, args.spares, args.saw_cut, args.pace,
            typed=True, batch=args.batch,
        )
        for _, pieces in typed
    ]  # fmt: skip
    files = [file for file, _ in typed]
    if args.slip:
        not_a_source(Path(args.slip), *files, args.prices)
    views = [must_be_clean(file, size=args.size) for file in files]
    prices = prices_in(args.prices, args.column) if args.prices else None
    if args.column and not args.prices:
        raise Stop("--column names a column of a price list; name the list with --prices")
    kits = []
    for file, seen, wish in zip(files, views, wishes, strict=True):
        own = None if several else prices
        try:
            kits.append(kit_of(seen, wish, own, args.prices or "", computed_length(seen, wish)))
        except NoKit as fault:
            raise Stop(f"{file}: {fault}" if several else str(fault)) from None
    titles = [kit.title for kit in kits]
    kits = [
        replace(kit, title=f"{kit.title} ({file})") if titles.count(kit.title) > 1 else kit
        for file, kit in zip(files, kits, strict=True)
    ]
    order = order_of(kits, prices, args.prices or "")
    if args.slip:
        tools = dict.fromkeys(tool for seen in views for tool in tools_of(seen.recipe))
        page = packing_slip(order, tuple(tools), args.paper)
        write_aside(Path(args.slip), page.encode("utf-8"))
    if several:
        data = order_tables.order_data(order)
        done = put_data(args, data, order_tables.ORDER_HEADS, order_tables.order_rows(data))
    else:
        data = kit_tables.kit_data(kits[0])
        done = put_data(args, data, kit_tables.CSV_HEADS, kit_tables.kit_rows(data))
    if done:
        return OK
    _show(order)
    if args.slip:
        say(f"\nwrote {safe(args.slip)}: open it in a browser and print it")
    return OK
