"""Tables as plain text, on a terminal and as CSV.

Comes in: `Sheet`s, words only. Goes out: text. What a recipe or a price list says is made harmless
here: control marks are shown on a terminal, and no CSV cell can start a formula in a spreadsheet.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from textwrap import fill

from ringstep.language.screen import safe

_WIDTH = 88
_GAP = "  "
#: First marks that a spreadsheet may take for a formula, with their full-width twins.
_FORMULA = frozenset("=+-@\t\r\n＝＋－＠")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table with what stands under it.

    heading: stands above. heads, rows: the columns and the cells, as words; both may be empty.
    numbers: columns set to the right. notes: sentences below the table.
    """

    heading: str
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    numbers: frozenset[int] = frozenset()
    notes: tuple[str, ...] = ()


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """A text made harmless and broken into lines of 88 columns, with what the first line and the
    others begin with."""
    return fill(
        safe(text),
        _WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
        break_long_words=False,
    )


def as_plain(title: str, intro: str, sheets: Iterable[Sheet]) -> str:
    """All tables as plain text; sentences are wrapped at 88 columns, tables are as wide as need."""
    from rich.cells import cell_len

    title = safe(title)
    lines = [title, "=" * cell_len(title), ""]
    if intro:
        lines += [wrapped(intro), ""]
    for sheet in sheets:
        lines += [safe(sheet.heading).upper(), ""]
        if sheet.heads:
            lines += [*_aligned(sheet), ""]
        if sheet.notes:
            for note in sheet.notes:
                lines.append(wrapped(note, "  - ", "    "))
            lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _aligned(sheet: Sheet) -> list[str]:
    """The table, each column as wide as its widest cell on the screen."""
    from rich.cells import cell_len

    table = [[safe(c) for c in row] for row in (sheet.heads, *sheet.rows)]
    wide = [max(map(cell_len, column)) for column in zip(*table, strict=True)]

    def line(cells: list[str]) -> str:
        told = []
        for at, (cell, width) in enumerate(zip(cells, wide, strict=True)):
            blanks = " " * (width - cell_len(cell))
            told.append(blanks + cell if at in sheet.numbers else cell + blanks)
        return f"  {_GAP.join(told)}".rstrip()

    rule = f"  {_GAP.join('-' * w for w in wide)}"
    return [line(table[0]), rule, *map(line, table[1:])]


def show_rich(title: str, intro: str, sheets: Iterable[Sheet]) -> None:
    """All tables on a terminal."""
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    console = Console(highlight=False)
    console.print(Text(safe(title), style="bold underline"))
    if intro:
        console.print(Text(safe(intro)))
    for sheet in sheets:
        console.print()
        console.print(Text(safe(sheet.heading), style="bold"))
        if sheet.heads:
            table = Table(box=SIMPLE_HEAD, pad_edge=False, header_style="bold")
            for at, head in enumerate(sheet.heads):
                table.add_column(
                    Text(safe(head)), justify="right" if at in sheet.numbers else "left"
                )
            for row in sheet.rows:
                table.add_row(*(Text(safe(c)) for c in row))
            console.print(Padding(table, (0, 0, 0, 2)))
        bullets = Table.grid(padding=(0, 1))
        for note in sheet.notes:
            bullets.add_row("•", Text(safe(note)))
        if sheet.notes:
            console.print(Padding(bullets, (0, 0, 0, 2)))


def csv_cell(text: str) -> str:
    """A cell that no spreadsheet takes for a formula: a mark ' goes before one that looks like it.

    >>> csv_cell("=1+1"), csv_cell("copper"), csv_cell("@x")
    ("'=1+1", 'copper', "'@x")
    """
    return f"'{text}" if text.lstrip()[:1] in _FORMULA and text.strip() else text


def as_csv(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """One table as CSV (RFC 4180): commas, a heading, plain numbers without thousands marks."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    for row in (heads, *rows):
        writer.writerow(["" if c is None else csv_cell(safe(str(c))) for c in row])
    return out.getvalue()
