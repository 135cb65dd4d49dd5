"""What may be typed next in a line, asked of the grammar itself.

Comes in: a line up to where somebody types. Goes out: the words of the language that may follow,
each with those that must come behind it, and whether a name or a number may.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from lark.exceptions import LarkError

from ringstep.language.parse import parser

#: What is no word of the language: the author's own, marks, and the end of the line.
_OPEN = frozenset({"NAME", "INT", "DECIMAL", "FRACTION", "STRING", "NAMED_PIECE"})
_MARKS = frozenset({"COMMA", "EQUAL", "$END"})


@dataclass(frozen=True, slots=True)
class Next:
    """What may follow in a line.

    words: of the language, 'fold back' and 'on the left' whole. name, number, piece: True where a
    name, a number, or a piece made first may stand.
    """

    words: tuple[str, ...] = ()
    name: bool = False
    number: bool = False
    piece: bool = False


@lru_cache(256)
def next_words(before: str, rule: str) -> Next:
    """What may follow in a line that a rule of the grammar reads; nothing where what stands there
    cannot be read.

    >>> next_words("fold back S ", "step").words
    ('if there', 'on the left', 'on the right', 'one to each side')
    """
    try:
        reader = parser().parse_interactive(before, start=rule)
        reader.exhaust_lexer()
    except LarkError:
        return Next()
    kinds: set[str] = reader.accepts()  # type: ignore[no-untyped-call]
    return Next(
        tuple(sorted(_phrases(reader, kinds))),
        "NAME" in kinds,
        bool(kinds & {"INT", "DECIMAL"}),
        "NAMED_PIECE" in kinds,
    )


def _phrases(reader: Any, kinds: set[str]) -> Iterator[str]:
    """The words that may follow, each with what must come behind it."""
    from lark import Token

    for kind in kinds - _OPEN - _MARKS:
        word = "AR" if kind == "AR" else kind.lower().replace("_", " ")
        after = reader.copy()
        after.feed_token(Token(kind, word))
        behind = after.accepts()
        if behind and not behind & (_OPEN | _MARKS):
            yield from (f"{word} {more}" for more in _phrases(after, behind))
        else:
            yield word
