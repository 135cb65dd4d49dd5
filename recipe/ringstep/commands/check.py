"""Check recipes and say what is wrong, where, and what to type.

A folder stands for every recipe in it and in its folders, in the order of their names.
"""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from ringstep.commands.rim import (
    CANNOT,
    ERRORS,
    OK,
    PassingLine,
    Stop,
    called,
    own_fault,
    reason,
    report_of,
    say,
    show,
    tell,
    view,
)
from ringstep.language.source import Refused

if TYPE_CHECKING:
    from ringstep.checks.report import FileReport


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep check`."""
    parser.add_argument(
        "files",
        nargs="+",
        metavar="FILE",
        help="recipes, folders of recipes, or '-' for what is piped in",
    )
    parser.add_argument("--json", action="store_true", help="write the findings as JSON")
    parser.add_argument(
        "--rings",
        action="store_true",
        help="ask as well what matters only where real rings are drawn",
    )


def recipes_in(folder: str) -> tuple[list[str], list[OSError]]:
    """Every recipe in a folder and in its folders, in the order of their paths.

    Also why folders in it cannot be read. Hidden folders and folders that are only linked to are
    left out. Raises `Stop` where all can be read and there is no recipe.
    """
    found: list[str] = []
    closed: list[OSError] = []
    for place, inner, names in os.walk(folder, onerror=closed.append):
        inner[:] = [name for name in inner if not name.startswith(".")]
        found += [os.path.join(place, n) for n in names if n.lower().endswith(".weave")]
    if not found and not closed:
        raise Stop(f"there is no recipe in {folder}: no file in it ends in .weave")
    ordered = sorted((os.path.normpath(path) for path in found), key=lambda p: p.split(os.sep))
    return ordered, closed


def _unreadable(path: str, fault: Exception) -> FileReport:
    """What cannot be read, in the form of a report."""
    from ringstep.checks.report import FileReport
    from ringstep.language.findings import Finding, Rule
    from ringstep.language.source import Source, Span

    finding = Finding(Rule("unreadable-file", "error"), Span(1, 1, 1), str(fault))
    return FileReport(Source(path, ("",), ("",)), (finding,))


def _folder_line(folder: str, states: list[int]) -> str:
    """How many recipes of a folder are clean, in one line."""
    from ringstep.language.screen import safe
    from ringstep.language.words import plural

    wrong, unread = states.count(ERRORS), states.count(CANNOT)
    told = [f"{wrong} {'has' if wrong == 1 else 'have'} errors"] if wrong else []
    told += [f"{unread} cannot be read"] if unread else []
    clean = "checks clean" if len(states) == 1 else "all check clean"
    return f"{safe(folder)}: {plural(len(states), 'recipe')}, {' and '.join(told) or clean}"


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.checks.report import as_json, file_lines, json_text

    reports: list[FileReport] = []
    line = PassingLine()

    def cannot(path: str, fault: Exception) -> int:
        reports.append(_unreadable(path, fault))
        if not args.json:
            tell(fault)
        return CANNOT

    def check(path: str) -> int:
        try:
            seen = view(path)
            if line.shown and seen.faults:  # what explains them may take a moment
                line.say(f"{called(path)} has errors; looking for what mends them")
            try:
                report = report_of(seen, args.rings)
            finally:
                line.clear()
        except (Stop, Refused) as fault:
            return cannot(path, fault)
        except Exception as fault:  # the others are still checked
            return cannot(path, Stop(f"{called(path)}: {own_fault(fault)}"))
        reports.append(report)
        if not args.json:
            show(file_lines(report))
        return OK if report.ok else ERRORS

    status = OK
    for path in args.files:
        if path == "-" or not os.path.isdir(path):
            status = max(status, check(path))
            continue
        try:
            inner, closed = recipes_in(path)
        except Stop as fault:
            status = cannot(path, fault)
            continue
        states = [check(one) for one in inner]
        for one in closed:
            why = Stop(f"{one.filename} cannot be read: {reason(one)}")
            status = cannot(str(one.filename), why)
        status = max(status, *states, OK)
        if not args.json and states:
            say(_folder_line(path, states))
    if args.json:
        sys.stdout.write(json_text(as_json(reports)))
    return status
