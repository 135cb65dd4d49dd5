"""Work out a kit: units and rings for a length, spares, wire, metal, packs to buy and their cost.

A length needs the recipe's measured sample ('sample 10 units = 41 mm'), or the range that
'ringstep fit' computed. The price list is a CSV table with the columns ring, pack, price and
currency; rings are called as the recipe calls them.
"""

from __future__ import annotations

import argparse
import sys
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.rim import OK, Stop, bytes_of, must_be_clean, not_a_source, write_aside

if TYPE_CHECKING:
    from ringstep.checks.view import View
    from ringstep.language.typed_size import Measure
    from ringstep.shop.kit_length import Wish

_MOST_PIECES = 10_000


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep kit`."""
    parser.add_argument("file", metavar="FILE")
    parser.add_argument("--length", metavar="SIZE", help="length wanted: '19 cm', '7.5 in'")
    parser.add_argument("--clasp", metavar="SIZE", help="what the clasp adds, taken off the length")
    parser.add_argument("--ease", metavar="SIZE", help="room to move, added to the length")
    parser.add_argument("--pieces", metavar="N", default="1", help="how many kits to pack")
    parser.add_argument("--spares", metavar="PERCENT", default="0", help="spare rings of each kind")
    parser.add_argument("--saw-cut", metavar="SIZE", help="wire lost at each ring: '0.3 mm'")
    parser.add_argument("--prices", metavar="FILE.csv", help="price list")
    parser.add_argument("--pace", metavar="SECONDS", help="seconds a ring, to tell the time")
    parser.add_argument("--slip", metavar="FILE.html", help="also write a packing slip")
    parser.add_argument("--paper", choices=["a4", "letter"], default="a4", help="of the slip")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="write the kit as JSON")
    form.add_argument("--csv", action="store_true", help="write the kit as CSV")


def _size(option: str, text: str | None) -> Measure | None:
    from ringstep.language.typed_size import BadSize, read_size

    if text is None:
        return None
    try:
        return read_size(text)
    except BadSize as fault:
        raise Stop(f"--{option}: {fault}") from None


def _number(option: str, text: str, least: str, most: str, example: str) -> Decimal:
    """A plain number from `least` to `most`. Raises `Stop`."""
    import re

    from ringstep.language.screen import safe

    plain = text.strip().removesuffix("%").strip() if option == "spares" else text.strip()
    if re.fullmatch(r"[0-9]+,[0-9]+", plain):
        raise Stop(f"--{option}: '{plain}' has a decimal comma; write {plain.replace(',', '.')}")
    if not re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,6})?", plain):
        raise Stop(
            f"--{option}: '{safe(text[:24])}' is not a plain number; write it as in {example}"
        )
    number = Decimal(plain)
    if not Decimal(least) <= number <= Decimal(most):
        raise Stop(f"--{option}: {plain} is out of bounds; it goes from {least} to {most}")
    return number


def _wish(args: argparse.Namespace) -> Wish:
    from ringstep.shop.kit_length import Wish

    pieces = _number("pieces", args.pieces, "1", str(_MOST_PIECES), "--pieces 8")
    if pieces != int(pieces):
        raise Stop(f"--pieces: {args.pieces} is not a whole number; write it as in --pieces 8")
    cut = _size("saw-cut", args.saw_cut)
    return Wish(
        length=_size("length", args.length),
        clasp=_size("clasp", args.clasp),
        ease=_size("ease", args.ease),
        pieces=int(pieces),
        spares=_number("spares", args.spares, "0", "200", "--spares 5"),
        saw_cut=cut.mm if cut else 0.0,
        pace=None
        if args.pace is None
        else _number("pace", args.pace, "0.1", "3600", "--pace 20, in seconds a ring"),
    )


def _computed(seen: View, wish: Wish) -> tuple[float, float] | None:
    """What 'ringstep fit' kept of a unit's length, where a length has no sample to go by."""
    piece = seen.recipe.piece
    if piece is None or piece.sample or not (wish.length or piece.length):
        return None
    from ringstep.commands.fit_store import fitted_length

    return fitted_length(seen)


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.checks.report import json_text
    from ringstep.language.screen import safe
    from ringstep.paper.kit_tables import kit_data, kit_intro, kit_rows, kit_sheets
    from ringstep.paper.packing_slip import packing_slip
    from ringstep.paper.table_text import as_csv, as_plain, show_rich
    from ringstep.shop.kit import kit_of
    from ringstep.shop.tables import MOST_BYTES, read_prices

    wish = _wish(args)
    if args.slip:
        not_a_source(Path(args.slip), args.file, args.prices)
    seen = must_be_clean(args.file)
    prices = None
    if args.prices:
        prices = read_prices(bytes_of(args.prices, MOST_BYTES, "table"), args.prices)
    kit = kit_of(seen, wish, prices, args.prices or "", _computed(seen, wish))
    if args.slip:
        page = packing_slip(kit, args.paper)
        write_aside(Path(args.slip), page.encode("utf-8"))
    if args.json:
        sys.stdout.write(json_text(kit_data(kit)))
    elif args.csv:
        sys.stdout.write(as_csv(*kit_rows(kit)))
    elif sys.stdout.isatty():
        show_rich(kit.title, kit_intro(kit), kit_sheets(kit))
    else:
        sys.stdout.write(as_plain(kit.title, kit_intro(kit), kit_sheets(kit)))
    if args.slip and not (args.json or args.csv):
        sys.stdout.write(f"\nwrote {safe(args.slip)}: open it in a browser and print it\n")
    return OK
