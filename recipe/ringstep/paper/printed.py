"""What is printed, section by section: as plain text, as Markdown, on a terminal, tables as CSV.

Comes in: `Printed`, words only. Goes out: text. What a recipe or a price list says is made harmless
here: control marks are shown on a terminal, and no CSV cell can start a formula in a spreadsheet.
"""

from __future__ import annotations

import csv
import io
import re
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from shutil import get_terminal_size
from textwrap import fill
from typing import TYPE_CHECKING, Literal

from ringstep.language.screen import safe

if TYPE_CHECKING:
    from rich.console import Console

_WIDTH = 88
_GAP = "  "
#: Lines of one cell on a terminal; where it needs more, the table is told row by row.
_MOST_LINES = 3
#: First marks that a spreadsheet may take for a formula, with their full-width twins.
_FORMULA = frozenset("=+-@\t\r\n＝＋－＠")
_MARKDOWN = re.compile(r"([\\`*_{}\[\]<>#|~])")


@dataclass(frozen=True, slots=True)
class StepText:
    """One step on paper.

    number: as in the recipe; sentence: what to do; hint: the author's own words.
    used: rings used so far; see: what to look at before going on.
    """

    number: int
    sentence: str
    hint: str
    used: str
    see: str

    @property
    def below(self) -> list[tuple[str, str]]:
        """What stands under a step: (label, text)."""
        lines = (("Hint", self.hint), ("See", self.see), ("Count", self.used))
        return [(k, text if k == "Hint" else f"{text}.") for k, text in lines if text]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One section: a table, steps or sentences under a heading; all but that may be empty.

    intro: a line under the heading. heads, rows: the columns of the table and its cells, as words.
    numbers: columns set to the right. notes: sentences, each with a bullet. of: the piece that is
    made first in which its steps are worked, "" for all others.
    """

    heading: str
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    numbers: frozenset[int] = frozenset()
    notes: tuple[str, ...] = ()
    intro: str = ""
    steps: tuple[StepText, ...] = ()
    of: str = ""

    @classmethod
    def of_columns(
        cls,
        heading: str,
        columns: Mapping[str, Iterable[str]],
        words: int = 1,
        notes: Iterable[str] = (),
    ) -> Sheet:
        """A table given by its columns, each under its head; all but the first `words` columns and
        the last of a verdict are numbers, set to the right."""
        heads = tuple(columns)
        numbers = frozenset(at for at in range(words, len(heads)) if heads[at] != "verdict")
        rows = tuple(zip(*columns.values(), strict=True))
        return cls(heading, heads, rows, numbers, tuple(notes))


@dataclass(frozen=True, slots=True)
class Printed:
    """A whole text. intro: what stands under its title, the first by itself, then the others."""

    title: str
    intro: tuple[str, ...]
    sheets: tuple[Sheet, ...]


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """A text made harmless and broken into lines of 88 columns, on a narrower terminal of as many
    as that has, with what the first line and the others begin with."""
    return fill(
        safe(text),
        min(_WIDTH, get_terminal_size().columns) if sys.stdout.isatty() else _WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
        break_long_words=False,
    )


def as_plain(printed: Printed) -> str:
    """Plain text; sentences are wrapped at 88 columns, tables are as wide as need be."""
    from rich.cells import cell_len

    title = safe(printed.title)
    lines = [title, "=" * cell_len(title), ""]
    for some in filter(None, (printed.intro[:1], printed.intro[1:])):
        lines += [*map(wrapped, some), ""]
    for sheet in printed.sheets:
        lines += [safe(sheet.heading).upper(), ""]
        if sheet.intro:
            lines += [wrapped(sheet.intro), ""]
        if sheet.heads:
            lines += [*_aligned(sheet), ""]
        for step in sheet.steps:
            lines.append(wrapped(step.sentence, f"{step.number:>3}. ", "     "))
            lines += [wrapped(text, f"     {label}: ", "       ") for label, text in step.below]
            lines.append("")
        if sheet.notes:
            lines += [*(wrapped(note, "  - ", "    ") for note in sheet.notes), ""]
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


def as_markdown(printed: Printed) -> str:
    """Markdown, without tables; step numbers are kept as they are in the recipe."""

    def plain(text: str) -> str:  # Markdown's marks taken literally
        return _MARKDOWN.sub(r"\\\1", safe(text)).replace("&", "&amp;")

    lines = [f"# {plain(printed.title)}", ""]
    for text in printed.intro:
        lines += [plain(text), ""]
    for sheet in printed.sheets:
        lines += [f"## {plain(sheet.heading)}", ""]
        if sheet.intro:
            lines += [plain(sheet.intro), ""]
        for step in sheet.steps:
            lines.append(f"{step.number}. {plain(step.sentence)}")
            lines += [f"    - {label}: {plain(text)}" for label, text in step.below]
        lines += [*(f"- {plain(note)}" for note in sheet.notes), ""]
    return "\n".join(lines).rstrip() + "\n"


def _show_table(sheet: Sheet, console: Console) -> None:
    """A table on a terminal, its cells broken at blanks where it is too wide; where even that is
    too wide, row by row with the head before each cell."""
    from rich.box import SIMPLE_HEAD
    from rich.cells import cell_len
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    cells = [[safe(cell) for cell in row] for row in (sheet.heads, *sheet.rows)]
    columns = [*zip(*cells, strict=True)]
    most = [max(map(cell_len, column)) for column in columns]
    wide = [max((cell_len(w) for cell in column for w in cell.split()), default=1)
            for column in columns]  # fmt: skip
    spare = console.width - 4 - 3 * (len(wide) - 1) - sum(wide)
    while spare > 0 and wide != most:
        at = max(range(len(wide)), key=lambda k: most[k] - wide[k])
        wide[at] += 1
        spare -= 1
    if spare < 0 or any(_MOST_LINES * w < m for w, m in zip(wide, most, strict=True)):
        for row in cells[1:]:
            console.print()
            for at, (head, cell) in enumerate(zip(cells[0], row, strict=True)):
                line = Text.assemble((f"{head}: ", "dim"), (cell, "" if at else "bold"))
                if cell:
                    console.print(Padding(line, (0, 0, 0, 4 if at else 2)))
        console.print()
        return
    table = Table(box=SIMPLE_HEAD, pad_edge=False, header_style="bold")
    for at, head in enumerate(cells[0]):
        side: Literal["left", "right"] = "right" if at in sheet.numbers else "left"
        table.add_column(Text(head), justify=side, width=wide[at])
    for row in cells[1:]:
        table.add_row(*map(Text, row))
    console.print(Padding(table, (0, 0, 0, 2)))


def show_rich(printed: Printed) -> None:
    """The text on a terminal."""
    from rich.console import Console
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    console = Console(highlight=False)
    console.print(Text(safe(printed.title), style="bold underline"))
    for text in printed.intro:
        console.print(Text(safe(text)))
    for sheet in printed.sheets:
        console.print()
        console.print(Text(safe(sheet.heading), style="bold"))
        if sheet.intro:
            console.print(Text(safe(sheet.intro), style="italic"))
        if sheet.heads:
            _show_table(sheet, console)
        for step in sheet.steps:
            console.print()
            told = Table.grid()
            told.add_row(Text(f"{step.number:>3}. ", style="bold"), Text(safe(step.sentence)))
            console.print(told)
            for label, text in step.below:
                line = Text.assemble((f"{label}: ", "dim bold"), (safe(text), "dim"))
                console.print(Padding(line, (0, 0, 0, 5)))
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


def as_csv(heads: Iterable[str], rows: Iterable[Mapping[str, object]]) -> str:
    """One table as CSV (RFC 4180): commas, a heading, plain numbers without thousands marks.

    rows: what stands under each head; nothing where a row lacks it.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    heads = tuple(heads)
    for row in (dict(zip(heads, heads, strict=True)), *rows):
        cells = [row.get(head) for head in heads]
        writer.writerow(["" if c is None else csv_cell(safe(str(c))) for c in cells])
    return out.getvalue()
