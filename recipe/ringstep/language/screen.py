"""Text on a screen: shown so that it cannot steer a terminal, and how wide it is there."""

from __future__ import annotations

import re
import unicodedata

_BIDI = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff")
#: Invisible marks that some scripts are written with; every other one is shown as �.
_WRITTEN = frozenset("\u200c\u200d\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f")
_UNSEEN = frozenset(("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"))


def safe(text: str) -> str:
    """A text that cannot steer a terminal: control and direction marks are shown, not obeyed.

    >>> safe("a\\x1b[31mb\\u202ec")
    'a␛[31mb�c'
    """
    if text.isprintable() and not (_BIDI & set(text)):
        return text
    out = []
    for mark in text:
        if mark in "\t\n":
            out.append(" ")
        elif ord(mark) < 32:
            out.append(chr(0x2400 + ord(mark)))
        elif mark in _BIDI or (unicodedata.category(mark) in _UNSEEN and mark not in _WRITTEN):
            out.append("\ufffd")
        else:
            out.append(mark)
    return "".join(out)


def breaks(text: str, width: int, hang: int) -> list[tuple[int, int]]:
    """Where a line is broken so that none is wider than so many columns: (begin, end) of each part.

    It is broken at blanks only; a longer word stays whole. hang: the columns that each part but the
    first stands further in.

    >>> breaks("one two three", 8, 2)
    [(0, 7), (8, 13)]
    """
    found: list[tuple[int, int]] = []
    begin = end = 0
    for word in re.finditer(r"\S+", text):
        room = width - (hang if found else 0)
        if end > begin and text[begin:end].strip() and columns(text[begin : word.end()]) > room:
            found.append((begin, end))
            begin = word.start()
        end = word.end()
    return [*found, (begin, end)]


def folded(text: str, width: int) -> str:
    """Lines broken at blanks; what is broken off stands two columns further in than its line."""
    lines = []
    for line in text.split("\n"):
        hang = len(line) - len(line.lstrip()) + 2
        parts = breaks(line, width, hang) if columns(line) > width else [(0, len(line))]
        lines += [line[a:b] if not a else " " * hang + line[a:b] for a, b in parts]
    return "\n".join(lines)


def columns(text: str) -> int:
    """How many columns a text takes on a screen."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )
