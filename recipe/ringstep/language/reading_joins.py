"""Why a line that names a piece made first could not be read, in a maker's words.

Comes in: a line and the names of the pieces. Goes out: a `Trouble`, or None where the line has none
of these slips.
"""

from __future__ import annotations

import re

from ringstep.language.findings import Trouble
from ringstep.language.source import Span, span_of
from ringstep.language.words import NUMBER_WORDS, PLACES, listed, nearest

#: The edges that a step may go along.
EDGES = ("first row", "last row", "left edge", "right edge", "every unit")
_COUNTED = re.compile(r"([^\s,\d][^\s,]*)[ \t]+(\d+)[ \t]+(?=[^\s,])")
_MADE = re.compile(
    r"\s*(?P<verb>made?|makes?|making|done|worked)?[ \t]*(?P<often>\d+|[a-z]+)[ \t]*"
    r"(?P<what>times?|x|×|pieces?|copies|of\s+(?:it|them|these)|[^\s,]+)?\s*\Z",
    re.I,
)
_ALONG = re.compile(r"\balong[ \t]+((?:the[ \t]+)?[^\s,]+(?:[ \t]+[^\s,]+)?)", re.I)
#: How people call an edge, and as it is written.
_OTHERWISE = {
    "top edge": "first row",
    "top row": "first row",
    "upper edge": "first row",
    "bottom edge": "last row",
    "bottom row": "last row",
    "lower edge": "last row",
    "left side": "left edge",
    "right side": "right edge",
    "each unit": "every unit",
    "all units": "every unit",
    "the chain": "every unit",
    **{f"the {edge}": edge for edge in EDGES},
    **{f"the {side} side": f"{side} edge" for side in ("left", "right")},
    **{f"the {end} edge": row for end, row in (("top", "first row"), ("bottom", "last row"))},
}


_EDGE_WORDS = "|".join(edge.replace(" ", r"[ \t]+") for edge in EDGES)
_BESIDE = re.compile(rf"\b(on|at|by|down|up)[ \t]+(?:the[ \t]+)?({_EDGE_WORDS})\b", re.I)
_TURNED = re.compile(
    rf"(?:{_EDGE_WORDS})[ \t]+(backward|reversed?|in[ \t]+reverse|the[ \t]+other[ \t]+way)\b", re.I
)


def _behind(text: str, pieces: tuple[str, ...]) -> tuple[int, int, str] | None:
    """An item that names its piece behind its ring, 'last A of panel 1', and as it is written."""
    names = "|".join(map(re.escape, pieces))
    item = rf"(?P<item>[^,]*?)[ \t]+(?:of|on|in)[ \t]+(?P<piece>{names})[ \t]+(?P<number>\d+)"
    through = re.search(r"\bthrough[ \t]+", text, re.I)
    if through is None or (found := re.compile(item).search(text, through.end())) is None:
        return None
    words = [w for w in found["item"].split() if w.casefold() not in ("the", "and")]
    meant = " ".join((found["piece"], found["number"], *words))
    start = found.start("item") + len(found["item"]) - len(found["item"].lstrip(" ,"))
    return start, found.end(), meant


def explain_made_line(text: str, line: int, piece: str) -> Trouble | None:
    """Say how it is written how often a piece is made, where a line seems to mean that.

    piece: what the piece is called.
    """
    found = _MADE.match(text)
    if found is None:
        return None
    what, often = (found["what"] or "").casefold(), found["often"].casefold()
    number = NUMBER_WORDS.index(often) if often in NUMBER_WORDS else None
    number = int(often[:12]) if often.isdecimal() else number
    counted = what in ("time", "times", "x", "×", "copies", "piece", "pieces", piece.casefold())
    counted = counted or what.startswith(("of", piece.casefold()))
    if not number or not (counted or (found["verb"] and not what)):
        return None
    times = {1: "made once", 2: "made twice"}.get(number, f"made {number} times")
    span = span_of(text, line)
    said = text.strip()
    return Trouble(span, f"'{said}' is not how it is said how often a piece is made",
                   (f"write '{times}'",))  # fmt: skip


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
    if (behind := _behind(text, pieces)) is not None:
        start, end, meant = behind
        span = Span(line, start + 1, end + 1)
        return Trouble(span, "a piece stands before its ring, not behind it", (f"write '{meant}'",))
    if beside := _BESIDE.search(text):
        edge = " ".join(beside[2].casefold().split())
        span = Span(line, beside.start() + 1, beside.end() + 1)
        return Trouble(span, f"one goes along an edge, not '{beside[1]}' it",
                       (f"write 'along {edge}'",))  # fmt: skip
    if turned := _TURNED.search(text):
        span = Span(line, turned.start(1) + 1, turned.end(1) + 1)
        return Trouble(span, f"'{turned[1]}' is not a word of the language here",
                       ("write 'backwards'",))  # fmt: skip
    for along in _ALONG.finditer(text):
        said = " ".join(along[1].casefold().split())
        if (meant := _OTHERWISE.get(said, "")) and said not in EDGES:
            span = Span(line, along.start(1) + 1, along.end(1) + 1)
            return Trouble(span, f"'{along[1]}' is no edge to go along", (f"write '{meant}'",))
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
