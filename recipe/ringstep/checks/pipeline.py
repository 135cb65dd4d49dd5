"""The whole way from a text to its findings, short enough to read aloud."""

from __future__ import annotations

from ringstep.checks.rules import checks_of_links, checks_of_rings, other_checks
from ringstep.checks.view import View
from ringstep.language.findings import Finding
from ringstep.language.parse import parse
from ringstep.language.source import Source


def view_of(source: Source) -> View:
    """Read a recipe; nothing of it is carried out until somebody asks."""
    recipe, troubles = parse(source)
    return View(recipe, troubles)


def findings_of(view: View, of_rings: bool = False) -> tuple[Finding, ...]:
    """Run every check on a recipe; findings come in the order of the text.

    of_rings: ask as well what matters only where real rings are drawn.
    """
    faulty = bool(view.diagnosis.faults)
    checks = (*other_checks(view), *(checks_of_links() if faulty else ()))
    checks += checks_of_rings() if of_rings else ()
    found = [f for check in checks for f in check.check(view)]
    return tuple(sorted(found, key=lambda f: (f.span.line, f.span.column, f.rule.name, f.message)))


def has_errors(findings: tuple[Finding, ...]) -> bool:
    """True where at least one finding is an error."""
    return any(f.severity == "error" for f in findings)
