"""Count the rings and links of a piece, of any size, by role and by kind."""

from __future__ import annotations

import argparse

from ringstep.commands.rim import OK, data_forms, must_be_clean, put, put_data, size_option


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep count`."""
    parser.add_argument("file", metavar="FILE")
    size_option(parser)
    parser.add_argument(
        "--explicit", action="store_true", help="place every ring instead of using the window"
    )
    data_forms(parser, "the counts", "the counts")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.paper.count_tables import CSV_HEADS, count_data, count_page, count_rows
    from ringstep.shop.tally import count_piece

    count = count_piece(must_be_clean(args.file, size=args.size), args.explicit)
    data = count_data(count)
    if not put_data(args, data, CSV_HEADS, count_rows(data)):
        put(count_page(count))
    return OK
