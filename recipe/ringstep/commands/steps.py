"""Print the numbered step list a student follows."""

from __future__ import annotations

import argparse
import sys

from ringstep.commands.rim import OK, must_be_clean, put, size_option


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep steps`."""
    parser.add_argument("file", metavar="FILE")
    size_option(parser)
    parser.add_argument("--markdown", action="store_true", help="as Markdown")
    parser.add_argument("--plain", action="store_true", help="as plain text, also on a terminal")
    parser.add_argument("--variant", metavar="NAME", help="the variant to print")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.paper.printed import as_markdown
    from ringstep.paper.steps_text import step_list

    printed = step_list(must_be_clean(args.file, args.variant, args.size)).printed
    if args.markdown:
        sys.stdout.write(as_markdown(printed))
    else:
        put(printed, args.plain)
    return OK
