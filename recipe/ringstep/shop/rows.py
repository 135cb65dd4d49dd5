"""The lines of a list as a spreadsheet saves it, whatever parts its cells.

Comes in: the bytes of a file. Goes out: frozen lines, each with the number it begins on, and the
text of a line of headings brought to plain words.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from ringstep.language.screen import safe
from ringstep.language.source import Refused

#: A list of rings or prices is a few pages at most.
MOST_BYTES = 2_000_000
#: Lines in which the heading is looked for, and by which separators are told apart.
FIRST_LINES = 30
_MOST_CELLS = 200
_MARKS = ";\t,"
#: How a spreadsheet's own file and a zipped one begin.
_NO_TEXT = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")


class BadTable(Refused):
    """A list that cannot be used; its text holds one line for each fault."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a list that is not blank: where it begins, and its cells."""

    number: int
    cells: tuple[str, ...]

    @property
    def heads(self) -> tuple[str, ...]:
        """Its cells as headings, each on one line."""
        return tuple(" ".join(cell.split()) for cell in self.cells)


def plain_words(text: str) -> list[str]:
    """The words of a cell without case, accents and marks.

    >>> plain_words("Diámetro-Ø (mm)"), plain_words("GRÖSSE / Maß")
    (['diametro', 'o', 'mm'], ['grosse', 'mass'])
    """
    apart = unicodedata.normalize("NFKD", text.casefold().replace("ø", "o"))
    return re.findall(r"[a-z0-9]+", "".join(c for c in apart if not unicodedata.combining(c)))


def text_of(data: bytes, name: str) -> str:
    """The text of a list: UTF-8, UTF-16 with its mark, else cp1252. Raises `BadTable`."""
    shown = safe(name)
    if len(data) > MOST_BYTES:
        raise BadTable(f"{shown} holds {len(data):,} bytes; a table has at most {MOST_BYTES:,}")
    if data.startswith(_NO_TEXT):
        raise BadTable(
            f"{shown} is a spreadsheet's own file; open it there and save the table as CSV"
        )
    try:
        wide = data.startswith((b"\xff\xfe", b"\xfe\xff"))
        text = data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", "replace")
    if "\0" in text:
        number = text[: text.index("\0")].count("\n") + 1
        raise BadTable(
            f"{shown}, line {number}: there is a zero byte, so this is not a list as text; save the"
            " table as CSV and try again"
        )
    return text


def lines_of(data: bytes, name: str) -> tuple[str, tuple[Line, ...]]:
    """What parts the cells of a list, and its lines without blank ones. Raises `BadTable`."""
    text = text_of(data, name)
    first, _, rest = text.partition("\n")
    said = re.fullmatch(r'"?sep=(.)"?\r?', first, re.I)
    skipped = 0
    if said:  # a line by which a spreadsheet is told what parts the cells
        text, skipped = rest, 1
    mark = said[1] if said and said[1] not in '"\r' else _mark(text)
    lines = tuple(Line(n + skipped, cells) for n, cells in _records(text, mark, name, skipped))
    if not lines:
        heads = "ring,pack,price,currency"
        raise BadTable(f"{safe(name)} is empty; its first line names the columns, such as {heads}")
    return mark, lines


def _mark(text: str) -> str:
    """The mark that parts most lines into the same number of cells, in the most lines."""

    def score(mark: str) -> tuple[int, int]:
        counts: Counter[int] = Counter()
        try:
            for at, cells in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=mark)):
                if at >= FIRST_LINES:
                    break
                counts[len(cells)] += any(cells) and len(cells) > 1
        except csv.Error:
            pass
        wide, often = max(counts.items(), key=lambda c: (c[1], c[0]), default=(0, 0))
        return often, wide

    return max(_MARKS, key=score)


def _records(
    text: str, mark: str, name: str, skipped: int
) -> Iterator[tuple[int, tuple[str, ...]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    begins = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as fault:
            what = str(fault)
            if "end of data" in what:
                words = "a quotation mark opens a cell here and none closes it"
            elif "expected after" in what:
                words = (
                    "text follows a closing quotation mark; double a mark that belongs to the"
                    ' text, as in "5/16"" ring"'
                )
            else:
                words = "this line cannot be read as a line of a CSV table"
            raise BadTable(f"{safe(name)}, line {begins + skipped}: {words}") from None
        if len(cells) > _MOST_CELLS:
            raise BadTable(
                f"{safe(name)}, line {begins + skipped}: {len(cells):,} cells; a list has at most"
                f" {_MOST_CELLS} columns"
            )
        stripped = tuple(c.strip() for c in cells)
        if any(stripped):
            yield begins, stripped
        begins = reader.line_num + 1
