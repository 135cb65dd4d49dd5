"""Text in, numbered lines out: the only place that knows about encodings and line ends.

Comes in: the bytes of one recipe. Goes out: a frozen `Source` whose lines have one shape,
whatever machine or keyboard wrote them, with every column where the author put it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

#: Marks of other scripts that mean what ours mean, one for one, so that columns stay true.
SAME_MARK = str.maketrans(
    {
        "：": ":",
        "，": ",",
        "、": ",",
        "،": ",",
        "＝": "=",
        "＃": "#",
        "＂": '"',
        # whatever Python takes for a blank, apart from the ends of lines
        **dict.fromkeys("\t\v\f\x1c\x1d\x1e\x1f\x85\u2028\u2029", " "),
        **dict.fromkeys("\u00a0\u1680\u202f\u205f\u3000", " "),
        **dict.fromkeys(map(chr, range(0x2000, 0x200B)), " "),
    }
)

#: '#18' behind 'wire' is a gauge, and the reader says what to write.
_GAUGE_MARK = re.compile(r"wire\s*(#)(?=\d)")

#: A recipe is read into memory and checked line by line; a longer text is not one recipe.
MOST_BYTES = 500_000
#: Lines of one recipe, and letters of one line: some hundred printed pages, and a full page of one.
MOST_LINES, MOST_LETTERS = 20_000, 4_000


class Refused(ValueError):
    """What is asked for is not done; the text says why and what to do."""


class Unreadable(Refused):
    """A file that cannot be read as a recipe at all; the text says why and what to do."""


@dataclass(frozen=True)
class Span:
    """A stretch of one line.

    line: counted from 1.
    column: first character, counted from 1.
    end: the column after the last character.
    """

    line: int
    column: int
    end: int

    def to(self, other: Span) -> Span:
        """The stretch from this one to `other`, when both stand on one line."""
        return Span(self.line, self.column, max(self.end, other.end))


@dataclass(frozen=True)
class Source:
    """One recipe text.

    name: what to call it in messages, usually the path as typed.
    lines: the text as written, without line ends.
    plain: the same lines with comments blanked out and foreign marks mapped, column for column.
    data: the bytes it was read from, if it was.
    """

    name: str
    lines: tuple[str, ...]
    plain: tuple[str, ...]
    data: bytes = field(default=b"", compare=False, repr=False)

    def line_span(self, number: int) -> Span:
        """A whole line without the blanks at its rims."""
        return span_of(self.plain[number - 1], number)

    def heading_span(self, word: str) -> Span:
        """The line that heads a section of one word. Raises StopIteration where there is none."""
        bare = (text.strip().rstrip(":").rstrip().casefold() for text in self.plain)
        return self.line_span(next(n for n, text in enumerate(bare, 1) if text == word))


def span_of(text: str, number: int) -> Span:
    """The text of a line without the blanks at its rims."""
    return Span(number, len(text) - len(text.lstrip()) + 1, max(2, len(text.rstrip()) + 1))


def _without_comment(line: str) -> str:
    """The line up to a '#' that stands outside straight quotes."""
    if "#" not in line:
        return line
    gauges = {found.start(1) for found in _GAUGE_MARK.finditer(line)}
    last, quoted = line.rfind('"'), False
    for at, mark in enumerate(line):
        if mark == '"':
            quoted = not quoted
        elif mark == "#" and at not in gauges and not (quoted and at < last):
            return line[:at]
    return line


def source_from_text(text: str, name: str = "recipe") -> Source:
    """Split a recipe's text into lines: Unix, Windows and old-Mac line ends, a byte-order mark.

    >>> source_from_text("\\ufeffunit:\\r\\n\\tadd A # one\\rpiece:", "x").plain
    ('unit:', ' add A ', 'piece:')
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    lines = tuple(text.split("\n"))
    return Source(name, lines, tuple(_without_comment(x.translate(SAME_MARK)) for x in lines))


def _line_of(before: str) -> int:
    """The number of the line that a text ends in, whatever its line ends."""
    return before.replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1


def source_from_bytes(data: bytes, name: str) -> Source:
    """Decode a recipe's bytes (UTF-8, or UTF-16 with its mark).

    Raises `Unreadable` when the bytes are not text, are far too many, or have too many or too long
    lines.
    """
    if len(data) > MOST_BYTES:
        raise Unreadable(
            f"{name} holds {len(data):,} bytes; a recipe of more than {MOST_BYTES:,} bytes is not"
            " read. Repeat a unit with 'chain … units' instead of writing every unit out."
        )
    encoding = "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as fault:
        line = _line_of(data[: fault.start].decode(encoding, "replace"))
        raise Unreadable(
            f"{name}, line {line}: these bytes are not UTF-8 text."
            " Save the file as UTF-8 plain text and try again."
        ) from None
    if "\0" in text:
        line = _line_of(text[: text.index("\0")])
        raise Unreadable(
            f"{name}, line {line}: there is a zero byte, so this is not a plain-text recipe;"
            " save it as UTF-8 plain text."
        )
    source = replace(source_from_text(text, name), data=data)
    if len(source.lines) > MOST_LINES:
        raise Unreadable(
            f"{name} has {len(source.lines):,} lines; a recipe of more than {MOST_LINES:,} is not"
            " read. Repeat a unit with 'chain … units' instead of writing every unit out."
        )
    for number, line_text in enumerate(source.lines, 1):
        if len(line_text) > MOST_LETTERS:
            raise Unreadable(
                f"{name}, line {number}: this line has {len(line_text):,} letters, and a line has"
                f" at most {MOST_LETTERS:,}. Make several steps, or several lines, of it."
            )
    return source
