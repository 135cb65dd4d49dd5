"""Lines whose words only stand in another order, or go on past their end, and the line to type.

Comes in: a line that could not be read and what kind it should have been. Goes out: a `Habit` whose
line was read by the grammar before it is offered; None where no such line is found.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from ringstep.language.habits import Habit
from ringstep.language.reworded_strands import in_strands, of_strand
from ringstep.language.words import UNITS_OF_SIZE

_Found = re.Match[str]
_SIDE = re.compile(r"\s*\b(?:in\s+)?(?:from|to|towards?|at|on)\s+(?:the\s+)?(front|back)\b", re.I)
_WORK = r"(?:the\s+)?(?:work|piece|chain|strip|sheet|whole|it)"
#: (pattern, message, the step to type) of steps whose verb is parted by what it is done to.
_PARTED: tuple[tuple[re.Pattern[str], str, Callable[[_Found], str]], ...] = (
    (
        re.compile(r"\s*fold\s+(?:the\s+|both\s+)?(\S.*?)\s+back(?:wards?)?\s*", re.I),
        "'fold' and 'back' stand apart",
        lambda m: f"fold back {m[1]}",
    ),
    (
        re.compile(rf"\s*turn\s+{_WORK}\s+(?:over|round|around)\s*", re.I),
        "'turn over' needs nothing between its words",
        lambda _: "turn over",
    ),
    (
        re.compile(r"\s*turn\s+(\S.*?)\s+over\s*", re.I),
        "'turn' and 'over' stand apart",
        lambda m: f"turn over {m[1]}",
    ),
    (
        re.compile(r"\s*take\s+(?:the\s+|both\s+)?(\S.*?)\s+out\s*", re.I),
        "'take' and 'out' stand apart",
        lambda m: f"take out {m[1]}",
    ),
)
#: A piece that does not say what it is: a count or a length, with more words behind it.
_EXTENT = re.compile(
    rf"\s*(?:of\s+)?(\d[\d./]*\s*(?:units?|{'|'.join(UNITS_OF_SIZE)})\b)(?=\s)", re.I
)
#: A chain with its extent and what follows; a run of it; what parts two runs.
_CHAIN = re.compile(
    rf"\s*(chain|loop)\s+(\d[\d./]*\s*(?:units?|{'|'.join(UNITS_OF_SIZE)})\b)?\s*(?:of\s+)?(.+)",
    re.I,
)
_RUN = re.compile(r"\s*(?:(\d+)\s*(?:x|×|times|units?\s+of|units?|of)?\s+)?(\S+)\s*", re.I)
_BETWEEN = re.compile(r"\s*(?:,|\+|\band\b|\bthen\b)\s*(?:then\s+)?", re.I)


def reworded(text: str, rule: str) -> Habit | None:
    """What stands in the wrong place of a line, and the whole line as it can be read."""
    if rule == "step":
        return _parted(text) or _sided(text) or of_strand(text, _reads)
    if rule != "piece_line":
        return None
    return in_strands(text, _reads) or _in_runs(text) or _too_long(text)


def _reads(line: str, rule: str) -> bool:
    from ringstep.language.parse import reads  # which asks here only where a line was not read

    return reads(line, rule)


def _parted(text: str) -> Habit | None:
    for pattern, message, line in _PARTED:
        if (found := pattern.fullmatch(text)) and _reads(line(found), "step"):
            start = len(text) - len(text.lstrip())
            return Habit(start, len(text.rstrip()), message, f"write '{line(found)}'")
    return None


def _sided(text: str) -> Habit | None:
    """'from the front' in a step, which is said with 'lay'."""
    found = _SIDE.search(text)
    if found is None:
        return None
    rest = " ".join(f"{text[: found.start()]} {text[found.end() :]}".split())
    words = rest.casefold().split()
    line = rest if "lay" in words else f"{rest} lay {found[1].casefold()}"
    if words[:1] not in (["add"], ["reopen"]) or not _reads(line, "step"):
        return None
    said = found[0].strip()
    start = found.start() + len(found[0]) - len(found[0].lstrip())
    return Habit(start, found.end(), f"'{said}' is said with 'lay'", f"write '{line}'")


def _in_runs(text: str) -> Habit | None:
    """A chain of several runs that lacks its 'of' or its commas, or counts in other words."""
    found = _CHAIN.fullmatch(text)
    runs = [_RUN.fullmatch(run) for run in _BETWEEN.split(found[3])] if found else []
    if found is None or len(runs) < 2 or not all(runs):
        return None
    told = ", ".join(" ".join(part for part in run.groups() if part) for run in runs if run)
    line = " ".join([found[1], *([found[2].strip()] if found[2] else []), "of", told])
    if not _reads(line, "piece_line"):
        return None
    start = len(text) - len(text.lstrip())
    what = "what a piece is worked of is written as a list behind 'of'"
    return Habit(start, len(text.rstrip()), what, f"write '{line}'")


def _too_long(text: str) -> Habit | None:
    """A line of 'piece:' that is whole before its last words, such as 'with a clasp'."""
    bare = _EXTENT.match(text)
    ends = [m.end() for m in re.finditer(r"\S+", text)]
    if bare:
        ends = [bare.end()]
    for end in reversed(ends[:-1] if not bare else ends):
        line = " ".join(text[:end].split())
        line = f"chain {line}" if bare else line
        if not _reads(line, "piece_line"):
            continue
        rest = text[end:].strip(" \t,")
        help = f"write '{line}'"
        if re.search(r"\b(?:clasp|toggle|hook|fastener|bead|charm|pendant)s?\b", rest, re.I):
            help += (
                "\nname it under 'parts:' and put it on by a step of 'start:' or 'finish:';"
                " 'ringstep kit --clasp' takes its length off"
            )
        start = text.index(rest, end)
        return Habit(start, start + len(rest), f"'{rest}' does not fit here", help)
    return None
