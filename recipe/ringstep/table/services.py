"""What a page or an editor asks of a text: plain functions on a text and a place in it.

Lines and columns are counted from 1, columns in characters. A text that is being typed is often
broken; every function says what can be said of it and raises nothing, but for `rename`.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from ringstep.checks.pipeline import findings_of, has_errors, symptom
from ringstep.checks.pipeline import first_findings as first_of
from ringstep.language.findings import Finding
from ringstep.language.parse import HINT_LINE
from ringstep.language.source import Refused, Span
from ringstep.language.tidy import Unsettled, tidy
from ringstep.table.choices import Choice, completions
from ringstep.table.colours import CLASSES, Coloured, colours
from ringstep.table.renaming import placed, rename, renamed, uses
from ringstep.table.seen import bounded, refusal, seen, source_of
from ringstep.table.telling import Told, hover

__all__ = [
    "CLASSES", "Choice", "Coloured", "Section", "Told", "colours", "completions", "findings",
    "first_findings", "hover", "lines_of_steps", "placed", "rename", "renamed", "sections",
    "step_at", "tidied", "uses",
]  # fmt: skip


def first_findings(text: str) -> tuple[Finding, ...]:
    """What can be said at once: some of the findings, none with its mends; where there is no error
    among them, what shows to be wrong with the links."""
    try:
        view = bounded(text)
        found = first_of(view)
        shows = None if has_errors(found) else symptom(view)
        return (*found, shows) if shows else found
    except Refused as fault:
        return (refusal(fault),)


def findings(text: str) -> tuple[Finding, ...]:
    """All that is wrong, with mends that were tried; of a text that is not looked at why not."""
    try:
        return findings_of(bounded(text))
    except Refused as fault:
        return (refusal(fault),)


def tidied(text: str) -> str | None:
    """The text in its one layout; None where a line cannot be read, so that nothing is guessed."""
    try:
        return "".join(f"{line}\n" for line in tidy(source_of(text)).lines)
    except (Refused, Unsettled):
        return None


def step_at(text: str, line: int) -> int | None:
    """The number of the step that stands in a line, or whose hint does."""
    now = seen(text)
    while now and HINT_LINE.match(now.line(line)) and not now.standing[line].heads:
        line -= 1
    return now.steps[line][0].number if now and line in now.steps else None


def lines_of_steps(text: str) -> dict[int, int]:
    """The line of each step by its number."""
    now = seen(text)
    found = {step.number: line for line, (step, _, _) in now.steps.items()} if now else {}
    return dict(sorted(found.items()))


@dataclass(frozen=True, slots=True)
class Section:
    """A section of a recipe.

    title: its heading without the colon. span: the heading. last: its last line that is not empty.
    steps: the number and span of each of its steps.
    """

    title: str
    span: Span
    last: int
    steps: tuple[tuple[int, Span], ...]


def sections(text: str) -> tuple[Section, ...]:
    """The sections of a recipe in the order of the text."""
    now = seen(text)
    if now is None:
        return ()
    heads = [line for line, stands in now.standing.items() if stands.heads]
    found = []
    for head, end in pairwise([*heads, len(now.source.lines) + 1]):
        span = now.source.line_span(head)
        title = now.line(head).strip().rstrip(":").rstrip()
        last = max(n for n in now.standing if n < end)
        inside = [(n, now.steps[n][0]) for n in range(head, end) if n in now.steps]
        found.append(Section(title, span, last, tuple((s.number, s.span) for _, s in inside)))
    return tuple(found)
