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

    of_rings: ask as well what matters only where real rings are drawn. Pieces that are made first
    are looked at first, each by itself; how they are joined only where nothing is wrong with them.
    """
    found = [f for piece in view.pieces for f in _found(piece, of_rings)]
    if view.recipe.made and not has_errors(tuple(found)):
        found += (f for f in _found(view, False) if f not in found)
    elif view.recipe.made:
        found += (f for f in _found(view, False) if f not in found and f.rule.name in _READ)
    else:
        found = _found(view, of_rings)
    return tuple(sorted(found, key=lambda f: (f.span.line, f.span.column, f.rule.name, f.message)))


#: What is said of lines that cannot be read is said whatever else there is.
_READ = frozenset({"unread-line"})


def _found(view: View, of_rings: bool) -> list[Finding]:
    """What the checks find in a recipe, or in one of the pieces that are made first."""
    faulty = bool(view.diagnosis.faults)
    checks = (*other_checks(view), *(checks_of_links() if faulty else ()))
    checks += checks_of_rings() if of_rings else ()
    return [f for check in checks for f in check.check(view)]


def has_errors(findings: tuple[Finding, ...]) -> bool:
    """True where at least one finding is an error."""
    return any(f.severity == "error" for f in findings)
