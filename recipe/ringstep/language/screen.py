"""Text on a screen: shown so that it cannot steer a terminal, and how wide it is there."""

from __future__ import annotations

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


def columns(text: str) -> int:
    """How many columns a text takes on a screen."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )
