"""Why a line of `picture:` could not be read, or says what cannot be meant, and what to type.

Comes in: one line. Goes out: a `Trouble`.
"""

from __future__ import annotations

import re

from ringstep.language.findings import Trouble
from ringstep.language.reworded import MOST_LETTERS
from ringstep.language.source import Span, span_of

#: A word of more letters than this is no row of a picture but a word.
MOST_COLOURS = 3
_READS = "a row reads like 'ggrrgg' or '2 g, 2 r, 2 g', a line of the key like 'g = grey'"
#: A row with its number, which makers write before it.
_NUMBERED = re.compile(r"\s*(?:row\s*)?\d+\s*[:.)]?\s*([^\W\d]{2,})\s*", re.I)
#: A run of a row, and a row of them however they are parted.
_RUN = re.compile(r"(\d+)\s*([^\W\d])(?![^\W\d])")
_RUNS = re.compile(rf"\s*{_RUN.pattern}(?:\s*[,;+]?\s*{_RUN.pattern})*\s*")


def explain_picture_line(text: str, line: int) -> Trouble:
    """Say why a line is neither a row nor a key line of the picture."""
    span = span_of(text, line)
    if len(text) <= MOST_LETTERS and (trouble := _reworded(text, span)):
        return trouble
    odd = next((m for m in text if not (m.isalnum() or m in " ,=")), None)
    if odd is None or "=" in text:
        return Trouble(span, "this line of 'picture:' cannot be read", (_READS,))
    at = text.index(odd)
    return Trouble(
        Span(line, at + 1, at + 2),
        f"'{odd}' cannot stand for a colour",
        ("write a letter for each colour, such as 'g', and say in a line 'g = grey' what it is",),
    )


def _reworded(text: str, span: Span) -> Trouble | None:
    """What is said otherwise than the language says it, and the line to type."""
    if pair := re.fullmatch(r"\s*([^\W\d])\s*:\s*(\w[^=]*?)\s*", text):
        return Trouble(span, "a line of the key has '='", (f"write '{pair[1]} = {pair[2][:24]}'",))
    if trouble := numbered_row(text, span):
        return trouble
    if re.fullmatch(r"\s*[^\W\d](?:\s*[,;|-]\s*[^\W\d])+\s*", text):
        letters = "".join(m for m in text if m.isalpha())
        message = "the letters of a row stand side by side"
        return Trouble(span, message, (f"write '{letters}'",) if len(letters) < 80 else ())
    if _RUNS.fullmatch(text):
        line = ", ".join(f"{n} {letter}" for n, letter in _RUN.findall(text))
        message = "a row in numbers has a blank behind each number and a comma between its runs"
        return Trouble(span, message, (f"write '{line}'",))
    if re.fullmatch(r"\s*\d+\s*(?:times|x|×)\s*[^\W\d]+\s*", text, re.I):
        return Trouble(
            span, "each row of the picture has a line", ("write the row once for every row",)
        )
    pairs = re.findall(r"([^\W\d])\s*=\s*(\w[^=,;]*?)\s*(?=[,;]|$)", text)
    if len(pairs) > 1 and text.count("=") == len(pairs):
        lines = tuple(f"{letter} = {words[:24]}" for letter, words in pairs)
        return Trouble(span, "each letter of the key has a line", ("write on two lines:", *lines))
    if re.fullmatch(r"\s*[^\W\d]+\s*=\s*", text):
        letter = text.split("=")[0].strip()[:1]
        return Trouble(span, "nothing stands behind '='", (f"write '{letter} = grey'",))
    if odd_key := re.fullmatch(r"\s*([^\s=])\s*=\s*(\w.*?)\s*", text):
        return Trouble(
            span,
            f"'{odd_key[1]}' is no letter, and the key has a letter for each colour",
            (f"write '{odd_key[2][0]} = {odd_key[2][:24]}', and that letter in the rows",)
            if odd_key[2][0].isalpha()
            else (_READS,),
        )
    return None


def numbered_row(text: str, span: Span) -> Trouble | None:
    """A row of letters that begins with its number."""
    found = _NUMBERED.fullmatch(text) if len(text) <= MOST_LETTERS else None
    if found is None or not 1 < len(found[1]) < 80 or len(set(found[1])) > MOST_COLOURS:
        return None
    return Trouble(
        span,
        "the line begins with a number of its own",
        (f"write '{found[1]}'; rows are counted from the top",),
    )


def key_line(said: str, letter: str) -> str:
    """The line of the key that is meant by a lone letter and what is said of it: 'is grey'.

    >>> key_line("is grey", "g"), key_line("- grey", "g"), key_line("red", "r")
    ('g = grey', 'g = grey', 'r = red')
    """
    words = re.sub(r"^(?:(?:is|are|means|for|stands\s+for)\s+|[-–—]+\s*)", "", said, flags=re.I)
    return f"{letter} = {words[:24]}"
