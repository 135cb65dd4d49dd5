"""The lists a maker keeps, rings in stock and a price list, as spreadsheets save them.

Comes in: the bytes of a file, and the columns that somebody named. Goes out: frozen rows with the
line they stand on. What cannot be read is told with its line, its column and what was expected: of
a stock list at once, of a price list only where the line is needed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import TypeVar

from ringstep.language.screen import safe
from ringstep.language.typed_size import BadSize, Measure
from ringstep.shop.cells import (
    count,
    currency_in,
    decimal_mark,
    money,
    must_be_mm,
    read_currency,
    size,
    two_sizes,
    unit_in,
)
from ringstep.shop.columns import PRICES, STOCK, Columns, columns_of
from ringstep.shop.list_words import PER, SINGLY, TOTALS
from ringstep.shop.rows import BadTable, Line, lines_of, plain_words

_MOST_TOLD = 10


@dataclass(frozen=True, slots=True)
class StockRing:
    """A line of a stock list. count: how many there are, None where the list does not say."""

    name: str
    wire: Measure
    inside: Measure
    material: str
    colour: str
    count: int | None
    line: int


@dataclass(frozen=True, slots=True)
class Price:
    """A line of a price list: `pack` pieces of one ring or part cost `price`.

    wire, inside: None where the line gives no size. faults: what could not be read of it, but for
    the size, which is told in `unsized`.
    """

    name: str
    pack: int
    price: Decimal
    currency: str
    line: int
    wire: Measure | None = None
    inside: Measure | None = None
    material: str = ""
    colour: str = ""
    faults: tuple[str, ...] = ()
    unsized: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A list with its columns told: its lines below the heading, without those of sums.

    parted: by what its cells are. mark: its decimal mark, empty where it shows none. unit: of
    sizes that name none, neither in their cell nor in their heading; empty where it cannot be told.
    """

    name: str
    columns: Columns
    parted: str
    mark: str
    lines: tuple[Line, ...]
    unit: str = ""

    def uneven(self, line: Line) -> str:
        """What is said of a line with more cells than the heading; empty where it has not."""
        heads = self.columns.heads
        if not any(line.cells[len(heads) :]):
            return ""
        words = f"{len(line.cells)} cells where the heading has {len(heads)}"
        shown = f"{words} ({', '.join(safe(head[:40]) for head in heads[:20])})"
        if self.parted == ",":
            return f'{shown}; a number with a comma stands in quotation marks, as in "3,80"'
        return f"{shown}; a cell with '{safe(self.parted)}' in it stands in quotation marks"


Given = Mapping[str, str]


def _table(
    data: bytes,
    name: str,
    known: tuple[str, ...],
    missing: Callable[[Columns, Iterable[Line]], list[str]],
    given: Given,
    remembered: tuple[str, ...],
) -> Table:
    parted, lines = lines_of(data, name)
    columns = columns_of(lines, known, lambda c: missing(c, lines), name, given, remembered)
    for what, reader in (("pack", lambda t: count(t, "")), ("currency", read_currency)):
        try:
            if what in columns.values:
                reader(columns.values[what])
        except BadSize as fault:
            raise BadTable(f"column {what}={safe(columns.values[what])}: {fault}") from None
    rows = []
    for line in lines[columns.heading + 1 :]:
        words = plain_words(next(c for c in line.cells if c))
        sized = any(columns.cell(line, what) for what in ("wire", "inside", "size"))
        if words and words[0] in TOTALS and not sized:
            continue  # a sum has no size; a ring may be called anything
        rows.append(line)
    if not rows:
        raise BadTable(f"{safe(name)} has a heading and no line under it")
    numbers = [columns.cell(x, w) for x in rows for w in ("price", "wire", "inside", "size")]
    mark = decimal_mark(numbers) or "." * (parted == ",")
    sizes = [(columns.cell(x, "wire"), columns.cell(x, "inside")) for x in rows]
    named = unit_in(columns.head("wire")) or unit_in(columns.head("inside"))
    in_mm = columns.has("wire") and columns.has("inside") and not named and must_be_mm(sizes)
    return Table(name, columns, parted, mark, tuple(rows), "mm" if in_mm else "")


def stock_table(
    data: bytes, name: str, given: Given | None = None, remembered: tuple[str, ...] = ()
) -> Table:
    """Open a stock list. Raises `BadTable`, `Untold` where a column cannot be told."""
    return _table(data, name, STOCK, lambda c, _: _sizes_missing(c, False), given or {}, remembered)


def price_table(
    data: bytes, name: str, given: Given | None = None, remembered: tuple[str, ...] = ()
) -> Table:
    """Open a price list. Raises `BadTable`, `Untold` where a column cannot be told."""
    return _table(data, name, PRICES, _price_missing, given or {}, remembered)


def _sizes_missing(told: Columns, by_name: bool) -> list[str]:
    """What is still to be told of a ring's size. by_name: a name alone will do."""
    if told.has("size") or (told.has("wire") and told.has("inside")):
        return []
    if told.has("wire") or told.has("inside"):
        return ["inside" if told.has("wire") else "wire"]
    return [] if told.has("ring") and by_name else ["ring"] if by_name else ["wire", "inside"]


def _price_missing(told: Columns, lines: Iterable[Line]) -> list[str]:
    missing = [] if told.has("price") else ["price"]
    if not told.has("pack") and not _pack_in(told.head("price")):
        missing.append("pack")
    missing += _sizes_missing(told, True)
    if not told.has("currency") and not currency_in(told.head("price")):
        cells = [told.cell(line, "price") for line in lines]
        if told.has("price") and not any(_currency_beside(c) for c in cells):
            missing.append("currency")
    return missing


def _currency_beside(cell: str) -> str:
    try:
        return money(cell, ".")[1]
    except BadSize:
        return ""


def _pack_in(head: str) -> int:
    """For how many rings the heading of a price gives it, 0 where it does not say.

    >>> _pack_in("price per 100 (EUR)"), _pack_in("Stückpreis"), _pack_in("price")
    (100, 1, 0)
    """
    words = plain_words(head)
    for one, two in pairwise(words):
        if one in PER and two.isdecimal() and len(two) < 8:
            return int(two)
    if found := re.search(r"/ *([0-9]{1,7})\b", head):
        return int(found[1])
    said = f" {' '.join(words)} "
    return int(any(f" {' '.join(plain_words(x))} " in said for x in SINGLY.split(",")))


def read_stock(data: bytes, name: str) -> tuple[StockRing, ...]:
    """Read a stock list whose headings tell its columns. Raises `BadTable`."""
    return stock_of(stock_table(data, name))


def stock_of(table: Table) -> tuple[StockRing, ...]:
    """The rings of a stock list. Raises `BadTable` with all that cannot be read."""
    faults, columns = _Faults(table.name), table.columns
    found = []
    for line in table.lines:
        if len([c for c in line.cells if c]) == 1 < len(columns.heads):
            continue  # a title between the lines
        if uneven := table.uneven(line):
            faults.add(line.number, uneven)
            continue
        reader = _Reader(table, line, faults)
        if columns.has("wire") and not (reader.says("wire") or reader.says("inside")):
            continue  # a part, or what else lies in the drawer
        wire, inside = reader.sizes()
        many = (
            reader.take("count", lambda t: count(t, table.mark)) if reader.says("count") else None
        )
        if wire and inside and inside.mm <= wire.mm:
            wrong = f"{inside.words} is no wider than the wire, {wire.words}"
            faults.add(
                line.number, f"{wrong}; the two may have changed places", columns.head("inside")
            )
        elif wire and inside:
            look = (reader.cell("material"), reader.cell("colour"))
            called = reader.cell("ring") or f"line {line.number}"
            found.append(StockRing(called, wire, inside, *look, many, line.number))
    faults.stop()
    return tuple(found)


def read_prices(data: bytes, name: str) -> tuple[Price, ...]:
    """Read a price list whose headings tell its columns. Raises `BadTable`."""
    return prices_of(price_table(data, name))


def prices_of(table: Table) -> tuple[Price, ...]:
    """The lines of a price list, each with what could not be read of it."""
    columns = table.columns
    in_head = _pack_in(columns.head("price"))
    if in_head and columns.has("pack") and "pack" not in columns.values:
        what = "one" if in_head == 1 else f"{in_head:,}"
        instead = f" or --column pack={in_head} to leave the packs out"
        raise BadTable(
            f"{safe(table.name)}: '{safe(columns.head('price'))}' gives the price of {what}, and"
            f" '{safe(columns.head('pack'))}' has packs; name the column with the price of a pack"
            f" by --column 'price=…',{instead}"
        )
    found = []
    for line in table.lines:
        faults = _Faults(table.name)
        reader, unsized = _Reader(table, line, faults), _Faults(table.name)
        wire, inside = _Reader(table, line, unsized).sizes(needed=False)
        pack: int | None = in_head
        if columns.has("pack"):
            pack = reader.take("pack", lambda t: count(t, table.mark))
        amount = reader.take("price", lambda t: money(t, table.mark))
        price, beside = amount or (Decimal(0), "")
        said = beside or currency_in(columns.head("price"))
        if columns.has("currency") and (not beside or reader.says("currency")):
            said = reader.take("currency", read_currency) or ""
        elif amount and not said:
            faults.add(line.number, "no currency stands beside this price", columns.head("price"))
        if beside and said and beside != said:
            words = f"{beside} stands beside this price, and its currency is {said}"
            faults.add(line.number, words, columns.head("price"))
        if pack == 0:
            words = "a pack holds at least 1; write how many are in it"
            faults.add(line.number, words, columns.head("pack"))
        if uneven := table.uneven(line):  # its cells stand in other columns, so it has no size
            wire = inside = None
            unsized.told.clear()
            unsized.add(line.number, uneven)
            faults.told[:] = unsized.told
        found.append(
            Price(
                reader.cell("ring") or reader.cell("size"), pack or 0, price, said, line.number,
                wire, inside, reader.cell("material"), reader.cell("colour"),
                tuple(words for _, words in faults.told), "".join(w for _, w in unsized.told[:1]),
            )
        )  # fmt: skip
    return tuple(found)


_EXAMPLES = {
    "wire": "1.2 mm",
    "inside": "5 mm",
    "pack": "100",
    "price": "4.50",
    "currency": "EUR",
    "size": "1.2 × 5 mm",
}
_Value = TypeVar("_Value")


class _Faults:
    """Faults of one table, gathered so that all can be mended at once."""

    def __init__(self, name: str) -> None:
        self.name = safe(name)
        self.told: list[tuple[int, str]] = []

    def add(self, line: int, words: str, column: str = "") -> None:
        where = f"{self.name}, line {line}" + (f", column '{safe(column)}'" if column else "")
        self.told.append((line, f"{where}: {words}"))

    def stop(self) -> None:
        """Raise `BadTable` if there is any fault."""
        if self.told:
            raise BadTable(told_together([words for _, words in sorted(self.told, key=_by_line)]))


def _by_line(told: tuple[int, str]) -> int:
    return told[0]


def told_together(lines: list[str]) -> str:
    """Faults as one message, not too many of them."""
    if len(lines) > _MOST_TOLD:
        more = len(lines) - _MOST_TOLD
        lines = [*lines[:_MOST_TOLD], f"and {more:,} more like these"]
    return "\n".join(lines)


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads the cells of one line."""

    table: Table
    line: Line
    faults: _Faults

    def cell(self, what: str) -> str:
        return self.table.columns.cell(self.line, what)

    def says(self, what: str) -> bool:
        return bool(self.cell(what).strip(" -–"))

    def take(self, what: str, reader: Callable[[str], _Value]) -> _Value | None:
        """What a cell says, or None after noting what is wrong with it."""
        text = self.cell(what)
        try:
            if not text:
                raise BadSize(f"this cell is empty; write it as in {_EXAMPLES[what]}")
            return reader(text)
        except BadSize as fault:
            self.faults.add(self.line.number, str(fault), self.table.columns.head(what))
            return None

    def sizes(self, needed: bool = True) -> tuple[Measure | None, Measure | None]:
        """Wire and inside, out of two cells, or of one; of the name where there is none."""
        columns = self.table.columns
        if columns.has("wire") and (needed or self.says("wire") or self.says("inside")):
            head, unit = columns.head, self.table.unit
            return (
                self.take("wire", lambda t: size(t, unit or head("wire"), wire=True)),
                self.take("inside", lambda t: size(t, unit or head("inside"))),
            )
        what = "size" if columns.has("size") else "ring"
        try:
            found = two_sizes(self.cell(what), columns.head(what))
            if found is None and what == "size" and self.says("ring"):
                found = two_sizes(self.cell("ring"), "")
        except BadSize as fault:
            self.faults.add(self.line.number, str(fault), columns.head(what))
            return None, None
        if found is None and needed:
            words = f"'{safe(self.cell(what)[:40])}' is no size; write it as in 1.2 × 5 mm"
            self.faults.add(self.line.number, words, columns.head(what))
        return found or (None, None)
