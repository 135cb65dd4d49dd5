"""The page that `ringstep watch` keeps true: what is wrong, or the step list once all is right.

Comes in: what the checks said of a recipe at one moment. Goes out: one HTML page that needs nothing
beside it. While the recipe is watched, the page looks at its own file now and then and loads it
anew when it has changed, so it needs no server: a small script reads the file's stamp in a hidden
frame, since browsers let a page opened from a file read no other file.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from ringstep.checks.report import FileReport, Line, file_lines, finding_lines, plain
from ringstep.language.findings import Finding
from ringstep.language.screen import safe
from ringstep.language.source import Source
from ringstep.paper.page import (
    Frame,
    Html,
    beside,
    bullets,
    element,
    escaped,
    heading,
    joined,
    paragraph,
    whole_page,
)
from ringstep.paper.printed_page import as_html
from ringstep.paper.steps_text import StepList

#: What tells a page of ours from any other; it is never written over a page without it.
MARK = "kept up to date by ringstep watch"
#: How often the page looks at its file, in milliseconds.
LOOK_EVERY = 1000


@dataclass(frozen=True, slots=True)
class Moment:
    """When the page was made: the time of day in words, and whether it will be made again."""

    time: str
    watching: bool = True


_NO_SCRIPT = "<noscript><p>Load this page again to see what has changed.</p></noscript>"


def _pieces(line: Line) -> Html:
    """One line of a report, its marks set off."""
    told = [
        element("span", escaped(text), "mark") if set(text) in ({"^"}, {"-"}) else escaped(text)
        for text, _ in line
    ]
    return Html("".join(told).rstrip())


def _finding(finding: Finding, source: Source) -> Html:
    """One finding: its first line, the lines of the recipe it is about, and what to type."""
    lines = finding_lines(finding, source)
    end = len(lines) - len(finding.help)
    shown = Html("\n".join(_pieces(line) for line in lines[2:end]))
    mend = Html("\n".join(escaped(line) for line in finding.help))
    return element(
        "section",
        joined(
            [
                paragraph(plain([lines[0]]).strip()),
                paragraph(f"line {finding.span.line}", "quiet"),
                element("pre", shown),
                element("p", mend, "mend") if finding.help else Html(""),
            ]
        ),
        f"finding {finding.severity}",
    )


def _page(title: str, body: Html, moment: Moment) -> str:
    told = f"Checked at {moment.time}; {'' if moment.watching else 'no longer '}{MARK}."
    body = joined([body, paragraph(told, "quiet moment")])
    if moment.watching:
        stamp = hashlib.sha256(body.encode("utf-8", "replace")).hexdigest()[:20]
        script = f'<script data-stamp="{stamp}" data-every="{LOOK_EVERY}">\n{beside("preview.js")}'
        body = Html(f"{body}\n{script}</script>\n{_NO_SCRIPT}")
    return whole_page(Frame(title), body, beside("preview.css"))


def preview(
    report: FileReport,
    listing: StepList | None,
    moment: Moment,
    drawn: Mapping[int, str] | None = None,
) -> str:
    """The page of a recipe that was read; the step list is given where it checks clean.

    drawn: pictures of steps by their numbers, as SVG.
    """
    name = report.source.name
    whole = plain(file_lines(FileReport(report.source, report.findings))[-1:]).strip()
    state = whole.removeprefix(f"{safe(name)}: ")
    parts = [
        heading(1, name),
        element("p", escaped(state), "state", role="status"),
        bullets(escaped(line) for line in report.summary),
        *(_finding(finding, report.source) for finding in report.findings),
    ]
    if listing is not None:
        parts.append(as_html(listing.printed, drawn))
    return _page(f"{state}: {name}", joined(parts), moment)


def trouble_page(name: str, trouble: str, moment: Moment) -> str:
    """The page of a recipe that cannot be read just now. trouble: why, in words."""
    told = element("p", escaped(trouble), "state", role="status")
    return _page(f"not read: {name}", joined([heading(1, name), told]), moment)
