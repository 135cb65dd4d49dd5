"""What is wrong with a line of `shape:` that cannot be read, in a maker's words.

Comes in: the line. Goes out: a `Trouble`; what it says to type has been read.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from ringstep.language.findings import Trouble
from ringstep.language.habits import line_reads
from ringstep.language.source import span_of
from ringstep.language.words import NUMBER_WORDS, nearest, reads_like

_WORDS = ("rows", "row", "to", "each", "less", "more", "worked", "empty", "places", "place")
_ROWS = r"(rows?\s+\d+(?:\s+to\s+\d+)?)"


def _number(found: re.Match[str]) -> str:
    return str(NUMBER_WORDS.index(found[0].casefold()))


def _spelt(found: re.Match[str]) -> str:
    """A word as the language spells it, where that is plain."""
    word = found[0].casefold()
    return found[0] if word in _WORDS else nearest(word, _WORDS) or found[0]


def _places(found: re.Match[str]) -> str:
    each = found[2] or ""
    return f"{found[1]} {each}{found[3]} place{'s' * (int(found[3]) != 1)}"


#: Ways in which makers write what the language writes otherwise, and what is seen of each.
_WAYS: tuple[tuple[str, str | Callable[[re.Match[str]], str], str], ...] = (
    (
        rf"\b({'|'.join(NUMBER_WORDS[1:])})\b(?=\s+(less|more|fewer|worked|empty|places?))",
        _number,
        "numbers are written in figures",
    ),
    (r"\bround(s?)(?=\s*\d)", r"row\1", "the rounds of a tube are told as rows"),
    (r"\b(rows?)\s*(?=\d)", r"\1 ", "a blank stands between 'row' and its number"),
    (
        r"(rows?\s+\d+)\s*(?:[-–—]|\.\.+|till|until|through|thru|and|,(?=\s*\d+\s+(?:each|to)))\s*(\d+)",
        r"\1 to \2",
        "rows are named from the first 'to' the last",
    ),
    (rf"{_ROWS}\s*[:,;]", r"\1 ", "no mark stands behind the rows"),
    (r"^\s*each\s+(row\s+\d+)", r"\1", "'each' stands behind the rows"),
    (r"\b(\d+)\s*(fewer|narrower|smaller)\b", r"\1 less", "a narrower row has so many less"),
    (r"\b(\d+)\s*(wider|larger|longer|extra)\b", r"\1 more", "a wider row has so many more"),
    (
        r"\b(\d+)\s+(?:places?|rings?|units?)\s+(less|more)\b",
        r"\1 \2",
        "the line counts places, so the number stands before 'less' or 'more'",
    ),
    (r"\b(less|minus)\s+(\d+)", r"\2 less", "the number stands before 'less'"),
    (r"\b(more|plus)\s+(\d+)", r"\2 more", "the number stands before 'more'"),
    (r"\s-\s*(\d+)\s*$", r" \1 less", "'less' and 'more' are written as words"),
    (r"\+\s*(\d+)\s*$", r" \1 more", "'less' and 'more' are written as words"),
    (
        r"\b(\d+\s+(?:less|more))\s+(?:places?|rings?|units?|each|per row|a row)\s*$",
        r"\1",
        "the line counts places, so it ends with 'less' or 'more'",
    ),
    (
        r"\b(\d+)\s+(?:holes?|gaps?|blanks?|free|missing|none|nothing|skip(?:ped)?|empties|open)\b",
        r"\1 empty",
        "places left out are 'empty'",
    ),
    (
        r"\b(\d+)\s+(?!(?:to|worked|empty|less|more|each|places?)\b)[^\W\d][^\s,]*(?=\s*(?:,|$))",
        r"\1 worked",
        "a place with its rings is 'worked'",
    ),
    (
        r"(rows\s+\d+\s+to\s+\d+)\s+(\d+\s+(?:less|more))\b",
        r"\1 each \2",
        "of several rows it says 'each'",
    ),
    (
        rf"^{_ROWS}\s+(?:has |have |of |= ?|with )?(each )?(\d+)(?: (?:in all|in total|round))?$",
        _places,
        "a round of a tube has so many places",
    ),
    (r"\b(worked|empty)\s+(?:and\s+)?(?=\d)", r"\1, ", "a comma parts the runs of places"),
)


def explain_shape_line(text: str, line: int) -> Trouble:
    """Say why a line of the shape cannot be read, and how it reads where that is plain."""
    span = span_of(text, line)
    said = " ".join(text.split())
    now, seen = re.sub(r"[^\W\d]+", _spelt, said), ""
    if odd := next((m for m in re.finditer(r"[^\W\d]+", said) if _spelt(m) != m[0]), None):
        seen = f"'{odd[0]}' is spelt '{_spelt(odd)}'"
    for wrong, right, words in _WAYS:
        after = re.sub(wrong, right, now, flags=re.I)
        if after != now:
            now, seen = " ".join(after.split()), seen or words
    if seen and line_reads(now, "shape_line"):
        typed = re.sub(rf"^{_ROWS} ", r"\1  ", now)
        return Trouble(span, seen, (f"write '{typed}'",))
    return Trouble(
        span,
        "this line of 'shape:' cannot be read",
        (
            f"{reads_like('shape_line')},",
            "or, where places are left out, 'rows 5 to 7  4 worked, 3 empty, 5 worked',",
            "or, of the rounds of a tube, 'row 3  12 places'",
        ),
    )
