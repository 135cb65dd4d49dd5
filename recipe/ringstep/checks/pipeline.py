"""The whole way from a text to its findings, short enough to read aloud."""

from __future__ import annotations

from dataclasses import replace

from ringstep.checks.diagnosis import Diagnosis, NotAsked, Unexplained
from ringstep.checks.rules import Check, checks_of_links, checks_of_rings, other_checks
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
        found += (f for f in _found(view, False) if f not in found and _is_read(f))
    else:
        found = _found(view, of_rings)
    return _in_order(found)


def first_findings(view: View) -> tuple[Finding, ...]:
    """What can be said at once: what does not hang on what explains the faults in the links.

    Nothing of it is taken back by the findings, which say it as well, with its mends. The view is
    used up by it.
    """
    for one in (view, *view.pieces):
        one.on_trial = True  # no mend is tried
        one.__dict__["diagnosis"] = Unexplained(tuple(one.faults), ())
    found = [f for piece in view.pieces for f in _found(piece, False)]
    unsure = has_errors(tuple(found)) or any(piece.faults for piece in view.pieces)
    found += (f for f in _found(view, False) if f not in found and (not unsure or _is_read(f)))
    return _in_order(found)


def symptom(view: View) -> Finding | None:
    """The first thing that is wrong with the links, as it shows; what explains it, and whether it
    follows from something else, was not asked. None where the links are right.
    """
    for one in (*view.pieces, view):
        one.__dict__["diagnosis"] = Diagnosis(tuple(one.faults), ())
        one.on_trial = True
        if found := [f for check in checks_of_links() for f in check.check(one)]:
            return replace(_in_order(found)[0], help=(), mends=(), labels=())
    return None


def _in_order(found: list[Finding]) -> tuple[Finding, ...]:
    return tuple(sorted(found, key=lambda f: (f.span.line, f.span.column, f.rule.name, f.message)))


def _is_read(finding: Finding) -> bool:
    """True for what is said of lines that cannot be read, which is said whatever else there is."""
    return finding.rule.name == "unread-line"


def _found(view: View, of_rings: bool) -> list[Finding]:
    """What the checks find in a recipe, or in one of the pieces that are made first."""
    faulty = bool(view.diagnosis.faults)
    checks = (*other_checks(view), *(checks_of_links() if faulty else ()))
    checks += checks_of_rings() if of_rings else ()
    return [f for check in checks for f in _said(check, view)]


def _said(check: Check, view: View) -> list[Finding]:
    """What one check says; nothing where that hangs on an explanation that was not asked for."""
    try:
        return list(check.check(view))
    except NotAsked:
        return []


def has_errors(findings: tuple[Finding, ...]) -> bool:
    """True where at least one finding is an error."""
    return any(f.severity == "error" for f in findings)
