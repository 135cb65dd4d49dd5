"""Explain a rule, with a wrong and a right recipe."""

from __future__ import annotations

import argparse
import sys

from recipe.rim import OK, Stop


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep explain`."""
    parser.add_argument("rule", metavar="RULE", nargs="?", help="as printed in brackets by check")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from recipe.checks import all_checks
    from recipe.words import nearest

    checks = {c.RULE.name: c for c in all_checks()}
    if not args.rule:
        width = max(map(len, checks))
        for name, one in sorted(checks.items()):
            first = (one.__doc__ or "").strip().splitlines()[0]
            sys.stdout.write(f"{name:<{width}}  {one.RULE.severity:<7}  {first}\n")
        return OK
    if args.rule not in checks:
        near = nearest(args.rule, list(checks))
        raise Stop(
            f"there is no rule '{args.rule}'"
            + (f"; the nearest is '{near}'" if near else "; 'ringstep explain' lists them all")
        )
    one = checks[args.rule]
    sys.stdout.write(f"{args.rule} ({one.RULE.severity})\n\n{(one.__doc__ or '').strip()}\n")
    return OK
