"""Count the rings and links of a piece, of any size, by role and by kind."""

from __future__ import annotations

import argparse
import sys

from ringstep.commands.rim import OK, must_be_clean


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep count`."""
    parser.add_argument("file", metavar="FILE")
    parser.add_argument(
        "--explicit", action="store_true", help="place every ring instead of using the window"
    )
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="write the counts as JSON")
    form.add_argument("--csv", action="store_true", help="write the counts as CSV")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.checks.report import json_text
    from ringstep.paper.count_tables import count_data, count_rows, count_sheets
    from ringstep.paper.table_text import as_csv, as_plain, show_rich
    from ringstep.shop.tally import count_piece

    seen = must_be_clean(args.file)
    count = count_piece(seen, args.explicit)
    if args.json:
        sys.stdout.write(json_text(count_data(count)))
    elif args.csv:
        sys.stdout.write(as_csv(*count_rows(count)))
    else:
        intro = f"{count.piece[0].upper()}{count.piece[1:]}."
        write = show_rich if sys.stdout.isatty() else None
        if write:
            write(count.title, intro, count_sheets(count))
        else:
            sys.stdout.write(as_plain(count.title, intro, count_sheets(count)))
    return OK
