"""Why a line that names a piece made first could not be read, in a maker's words.

Comes in: a line and the names of the pieces. Goes out: a `Trouble`, or None where the line has none
of these slips.
"""

from __future__ import annotations

import re

from ringstep.language.findings import Trouble
from ringstep.language.source import Span
from ringstep.language.words import PLACES, listed, nearest

#: The edges that a step may go along.
EDGES = ("first row", "last row", "left edge", "right edge", "every unit")
_COUNTED = re.compile(r"([^\s,\d][^\s,]*)[ \t]+(\d+)[ \t]+(?=[^\s,])")
_ALONG = re.compile(r"\balong[ \t]+([^\s,]+(?:[ \t]+[^\s,]+)?)", re.I)


def explain_join_line(
    text: str, line: int, joining: bool, pieces: tuple[str, ...]
) -> Trouble | None:
    """Say what is wrong with a line that names a piece. joining: True under 'join:'."""
    found = _COUNTED.search(text)
    named = next((m for m in _COUNTED.finditer(text) if m[1] in pieces), None)
    if not joining:
        if named is None:
            return None
        span = Span(line, named.start() + 1, named.end(2) + 1)
        return Trouble(
            span,
            f"this step names '{named[1]} {named[2]}', and pieces are joined under 'join:'",
            help=("write it under a line 'join:'",),
        )
    for each in _COUNTED.finditer(text):
        near = nearest(each[1], pieces)
        if each[1] not in pieces and near:
            span = Span(line, each.start(1) + 1, each.end(1) + 1)
            help = f"the nearest is '{near}'"
            return Trouble(span, f"no piece is called '{each[1]}'", (help,))
    for along in _ALONG.finditer(text):
        said = " ".join(along[1].casefold().split())
        if said not in EDGES:
            span = Span(line, along.start(1) + 1, along.end(1) + 1)
            near = nearest(said, EDGES)
            help = (
                f"the nearest is '{near}'"
                if near
                else f"one goes along {listed(list(EDGES), 'or')}"
            )
            return Trouble(span, f"'{along[1]}' is no edge to go along", (help,))
    if found and found[1] not in pieces and found[1].casefold() not in PLACES:
        span = Span(line, found.start(1) + 1, found.end(1) + 1)
        have = f"the pieces of this recipe are {listed(list(pieces))}"
        return Trouble(span, f"no piece is called '{found[1]}'", (have,))
    return None
