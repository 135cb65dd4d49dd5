"""Check recipes and say what is wrong, where, and what to type."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from recipe.rim import CANNOT, ERRORS, OK, Stop, show, view

if TYPE_CHECKING:
    from recipe.report import FileReport


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep check`."""
    parser.add_argument(
        "files", nargs="+", metavar="FILE", help="recipes, or '-' for what is piped in"
    )
    parser.add_argument("--json", action="store_true", help="write the findings as JSON")


def _report(path: str) -> FileReport:
    from recipe.pipeline import findings_of, has_errors
    from recipe.report import FileReport
    from recipe.summary import summary_lines

    seen = view(path)
    findings = findings_of(seen)
    summary = () if has_errors(findings) else summary_lines(seen)
    return FileReport(seen.recipe.source, findings, summary)


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from recipe.findings import Finding, Rule
    from recipe.report import FileReport, as_json, file_lines
    from recipe.source import Source, Span

    reports, status = [], OK
    for path in args.files:
        try:
            report = _report(path)
            status = max(status, OK if report.ok else ERRORS)
        except Stop as fault:
            status = CANNOT
            if not args.json:
                sys.stderr.write(f"ringstep: {fault}\n")
                continue
            finding = Finding(Rule("unreadable-file", "error"), Span(1, 1, 1), str(fault))
            report = FileReport(Source(path, ("",), ("",)), (finding,))
        reports.append(report)
        if not args.json:
            show(file_lines(report))
    if args.json:
        import json

        sys.stdout.write(json.dumps(as_json(reports), ensure_ascii=False, indent=1) + "\n")
    return status
