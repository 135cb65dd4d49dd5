"""Findings in words on a page or a screen, and as JSON.

Comes in: findings and the text they speak of. Goes out: lines made of (text, style) pieces. Without
styles they are the plain report; on a terminal the same pieces are painted, so colour never carries
a meaning of its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

from ringstep.language.findings import Finding, Label
from ringstep.language.screen import breaks, columns, folded, safe
from ringstep.language.source import Source, Span
from ringstep.language.words import plural

Piece = tuple[str, str]
Line = list[Piece]

#: Findings told one by one, and letters of one line of a finding; past them it says so.
MOST_TOLD, MOST_LETTERS = 100, 400
_MARK_STYLE = {"error": "bold red", "warning": "bold yellow", "note": "bold blue"}


def _told(text: str) -> str:
    """A text of a finding: harmless, and no longer than one can read."""
    return safe(text if len(text) <= MOST_LETTERS else f"{text[:MOST_LETTERS]}…")


@dataclass(frozen=True)
class FileReport:
    """What is told about one file. summary: what was measured, where it is clean."""

    source: Source
    findings: tuple[Finding, ...]
    summary: tuple[str, ...] = ()

    @property
    def ok(self) -> bool:
        """True where no finding is an error."""
        return not any(f.severity == "error" for f in self.findings)


def _underline(line: str, span: Span, mark: str) -> tuple[str, str]:
    """The blanks before a mark and the mark itself, as wide as the text it stands under."""
    before = line[: span.column - 1]
    text = line[span.column - 1 : span.end - 1] or " "
    return " " * columns(before), mark * max(1, columns(text))


def finding_lines(finding: Finding, source: Source) -> list[Line]:
    """One finding: what was seen, where, and what to do."""
    style = _MARK_STYLE[finding.severity]
    marks = sorted(
        [(finding.span, finding.here, "^"), *((x.span, x.text, "-") for x in finding.labels)],
        key=lambda m: (m[0].line, m[0].column),
    )
    numbers = sorted({m[0].line for m in marks})
    gutter = len(str(numbers[-1]))
    lines: list[Line] = [
        [
            (finding.severity, style),
            (f": {_told(finding.message)}", "bold"),
            (f"   [{finding.rule.name}]", "dim"),
        ],
        [(f"  {safe(source.name)}, line {finding.span.line}", "")],
    ]
    for number in numbers:
        text = source.lines[number - 1] if 1 <= number <= len(source.lines) else ""
        shown = safe(text.replace("\t", " "))[:MOST_LETTERS]
        lines.append([(f"  {number:>{gutter}} | ", "dim"), (shown.rstrip(), "")])
        for span, words, mark in marks:
            if span.line == number and span.column <= MOST_LETTERS:
                blanks, line = _underline(shown, span, mark)
                lines.append(
                    [
                        (f"  {'':>{gutter}} | ", "dim"),
                        (blanks, ""),
                        (line, style if mark == "^" else "cyan"),
                        (f" {_told(words)}" if words else "", ""),
                    ]
                )
    indent = " " * (gutter + 4)
    lines += [[(f"{indent}{_told(words)}", "")] for words in finding.help]
    return lines


def file_lines(report: FileReport) -> list[Line]:
    """All findings of one file, then one line that sums up."""
    lines: list[Line] = []
    for finding in report.findings[:MOST_TOLD]:
        lines += [*finding_lines(finding, report.source), [("", "")]]
    if (more := len(report.findings) - MOST_TOLD) > 0:
        lines += [[(f"and {more:,} more; mend these first", "")], [("", "")]]
    name = safe(report.source.name)
    counts = {
        s: sum(f.severity == s for f in report.findings) for s in ("error", "warning", "note")
    }
    words = [plural(n, s) for s, n in counts.items() if n]
    if report.ok:
        tail = f" ({', '.join(words)})" if words else ""
        lines.append([(name, "bold"), (f": checks clean{tail}", "bold green")])
        lines += [[(f"  {_told(text)}", "")] for text in report.summary]
    else:
        lines.append([(name, "bold"), (f": {', '.join(words)}", "bold red")])
    return lines


def plain(lines: Iterable[Line]) -> str:
    """The report as plain text."""
    return "".join("".join(text for text, _ in line).rstrip() + "\n" for line in lines)


def narrowed(lines: Iterable[Line], width: int) -> Iterator[Line]:
    """The same lines, none wider than so many columns where that breaks no word."""
    shown: list[Line] = []  # a line of a recipe and what is marked in it
    for line in (*lines, None):
        gutter = bool(line and line[0][0].endswith(" | "))
        if line and gutter and shown and len(line) > 2:
            shown.append(line)
            continue
        if shown:
            yield from _narrowed_source(shown[0], shown[1:], width)
        shown = [line] if line and gutter else []
        if line is not None and not gutter:
            text = "".join(words for words, _ in line)
            hang = len(text) - len(text.lstrip()) + 2
            for begin, end in breaks(text, width, hang):
                yield [*([(" " * hang, "")] if begin else []), *_cut(line, begin, end)]


def _cut(line: Line, begin: int, end: int) -> Line:
    """A part of a line, by its letters."""
    found, at = [], 0
    for text, style in line:
        found.append((text[max(0, begin - at) : max(0, end - at)], style))
        at += len(text)
    return found


def _narrowed_source(source: Line, marks: list[Line], width: int) -> Iterator[Line]:
    """A line of a recipe in parts, each with what is marked in it below."""
    (gutter, _), (text, _) = source
    blank = (" " * (len(gutter) - 2) + "| ", "dim")
    room = width - len(gutter)
    parts = breaks(text, room, 0)
    ends = [columns(text[:begin]) for begin, _ in parts[1:]]
    for (begin, end), right in zip(parts, [*ends, len(text) * 2 + width], strict=True):
        yield [(blank[0] if begin else gutter, "dim"), (text[begin:end], "")]
        left = columns(text[:begin])
        for _, (blanks, _), (mark, style), (words, _) in marks:
            first, last = max(len(blanks), left), min(len(blanks) + len(mark), right)
            if first < last:
                under = " " * (first - left), ""
                line = [blank, under, (mark[0] * (last - first), style)]
                whole = len(blanks) + len(mark) <= right
                if whole and last - left + columns(words) <= room:
                    line.append((words, ""))
                yield line
                if whole and len(line) < 4:
                    yield from ([blank, (x, "")] for x in folded(words.strip(), room).split("\n"))


def paint(lines: Iterable[Line]) -> None:
    """The report on a terminal, painted with rich; lines too long for it are broken at blanks."""
    from rich.console import Console
    from rich.text import Text

    console = Console(highlight=False, soft_wrap=True)
    for line in narrowed(lines, console.width):
        console.print(Text.assemble(*((text, style) for text, style in line)))


#: Marks that JSON may hold as they are and a terminal might obey.
_STEERING = re.compile("[\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff]")


def json_text(data: object) -> str:
    """Data as JSON that can be shown on a terminal: what could steer it is written as \\u….

    >>> json_text({"name": "輪\\u202e"})
    '{\\n "name": "輪\\\\u202e"\\n}\\n'
    """
    import json

    plain = json.dumps(data, ensure_ascii=False, indent=1)
    return _STEERING.sub(lambda mark: f"\\u{ord(mark[0]):04x}", plain) + "\n"


def _label_data(label: Label) -> dict[str, Any]:
    """A second place that a finding points at."""
    span = label.span
    place = {"line": span.line, "column": span.column}
    return {**place, "end_line": span.line, "end_column": span.end, "text": label.text}


def finding_data(f: Finding) -> dict[str, Any]:
    """A finding as plain data."""
    return {
        "rule": f.rule.name,
        "severity": f.severity,
        "line": f.span.line,
        "column": f.span.column,
        "end_line": f.span.line,
        "end_column": f.span.end,
        "message": f.message,
        "help": "\n".join(f.help),
        "labels": [_label_data(x) for x in f.labels],
        "mends": [asdict(m) for m in f.mends],
    }


def as_json(reports: Iterable[FileReport]) -> dict[str, Any]:
    """The findings of several files, in the order given."""
    return {
        "files": [
            {
                "file": r.source.name,
                "ok": r.ok,
                "findings": [finding_data(f) for f in r.findings],
            }
            for r in reports
        ]
    }
