"""Findings as `ringstep check --json` writes them, and their mends typed in as a maker would.

A mend is {says, edits: [{line, column, end_line, end_column, text}]}: places count from one, the
end is the first place after, and all edits of a mend speak of the text as it was.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from ringstep.checks.pipeline import findings_of, view_of
from ringstep.checks.report import FileReport, as_json
from ringstep.language.source import source_from_text

Found = dict[str, Any]


def found_in(text: str) -> list[Found]:
    """What `check --json` says of a text."""
    source = source_from_text(text)
    told = as_json([FileReport(source, findings_of(view_of(source)))])
    found: list[Found] = told["files"][0]["findings"]
    return found


def mends_of(findings: list[Found]) -> list[Found]:
    """Every mend that is offered, in the order of the findings."""
    return [mend for finding in findings for mend in finding.get("mends", ())]


def typed_in(text: str, edits: list[Found]) -> str:
    """A text with some edits typed in. Raises ValueError where two of them overlap."""
    lines = text.splitlines(keepends=True)
    starts = [sum(map(len, lines[:n])) for n in range(len(lines) + 1)]

    def at(line: int, column: int) -> int:
        return min(starts[line - 1] + column - 1, len(text))

    spans = sorted(
        (at(e["line"], e["column"]), at(e["end_line"], e["end_column"]), e["text"]) for e in edits
    )
    if any(one[1] > two[0] for one, two in pairwise(spans)):
        raise ValueError(f"two edits of one mend overlap: {edits}")
    for begin, end, new in reversed(spans):
        text = text[:begin] + new + text[end:]
    return text


def words_of(finding: Found) -> str:
    """All the words of a finding that a maker reads, its marks and mends included."""
    marks = [str(label.get("text", "")) for label in finding.get("labels", ())]
    mends = [mend["says"] for mend in finding.get("mends", ())]
    return " ".join([finding["message"], finding.get("here", ""), *marks, finding["help"], *mends])
