"""The tables a maker keeps, rings in stock and a price list, read strictly.

Comes in: the bytes of a CSV file. Goes out: frozen rows with the line they stand on. A table that
does not fit is refused as a whole: each fault with its line, its column and what was expected.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import TypeVar

from ringstep.language.screen import safe
from ringstep.language.source import Refused
from ringstep.language.typed_size import BadSize, Measure, read_size
from ringstep.language.words import listed, nearest, plural

#: A list of rings or prices is a few pages at most.
MOST_BYTES = 2_000_000
_MOST_TOLD = 10


class BadTable(Refused):
    """A table that cannot be used; its text holds one line for each fault."""


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
    """A line of a price list: `pack` pieces of ring (or part) `name` cost `price`."""

    name: str
    pack: int
    price: Decimal
    currency: str
    line: int


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table: where it begins, and its cells by column name."""

    line: int
    cells: dict[str, str]


def read_stock(data: bytes, name: str) -> tuple[StockRing, ...]:
    """Read a stock list: columns ring, wire, inside, and if wanted material, colour, count.

    Raises `BadTable`.
    """
    rows = read_rows(data, name, ("ring", "wire", "inside"), ("material", "colour", "count"))
    faults = _Faults(name)
    found = []
    for row in rows:
        wire = faults.take(row, "wire", lambda t: read_size(t, wire=True))
        inside = faults.take(row, "inside", read_size)
        count = faults.take(row, "count", _count) if row.cells.get("count") else None
        if wire and inside and inside.mm <= wire.mm:
            wrong = f"{inside.words} is no wider than the wire, {wire.words}"
            faults.add(row.line, f"{wrong}; the two may have changed places", "inside")
        elif wire and inside:
            cells = row.cells
            material, colour = cells.get("material", ""), cells.get("colour", "")
            found.append(StockRing(cells["ring"], wire, inside, material, colour, count, row.line))
    faults.stop()
    return tuple(found)


def read_prices(data: bytes, name: str) -> tuple[Price, ...]:
    """Read a price list: columns ring, pack, price, currency; all in one currency.

    Raises `BadTable`.
    """
    rows = read_rows(data, name, ("ring", "pack", "price", "currency"))
    faults = _Faults(name)
    found: list[Price] = []
    for row in rows:
        pack = faults.take(row, "pack", _count)
        price = faults.take(row, "price", _money)
        currency = faults.take(row, "currency", _currency)
        if pack == 0:
            faults.add(row.line, "a pack holds at least 1; write how many are in it", "pack")
        elif pack is not None and price is not None and currency is not None:
            found.append(Price(row.cells["ring"], pack, price, currency, row.line))
    for one in found:
        if one.currency != found[0].currency:
            faults.add(
                one.line,
                f"{one.currency} here and {found[0].currency} in line {found[0].line}; a price"
                " list is in one currency, so turn these prices into one of the two",
                "currency",
            )
    faults.stop()
    return tuple(found)


_EXAMPLES = {
    "wire": "1.2 mm",
    "inside": "5 mm",
    "pack": "100",
    "price": "4.50",
    "currency": "EUR",
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

    def take(self, row: Row, column: str, reader: Callable[[str], _Value]) -> _Value | None:
        """What a cell says, or None after noting what is wrong with it."""
        text = row.cells[column]
        try:
            if not text:
                raise BadSize(f"this cell is empty; write it as in {_EXAMPLES[column]}")
            return reader(text)
        except BadSize as fault:
            self.add(row.line, str(fault), column)
            return None

    def stop(self) -> None:
        """Raise `BadTable` if there is any fault."""
        if self.told:
            lines = [words for _, words in sorted(self.told, key=lambda f: f[0])]
            if len(lines) > _MOST_TOLD:
                more = len(lines) - _MOST_TOLD
                lines = [*lines[:_MOST_TOLD], f"and {more:,} more like these"]
            raise BadTable("\n".join(lines))


def _refuse_parted(text: str, marks: str, decimals: str = "") -> None:
    """Raises `BadSize` for a number whose thousands are parted by one of some marks."""
    if re.fullmatch(rf"[0-9]{{1,3}}([{marks}][0-9]{{3}})+{decimals}", text):
        plain = re.sub(f"[{marks}]", "", text)
        raise BadSize(f"'{safe(text)}' has its thousands parted; write {plain}")


def _money(text: str) -> Decimal:
    """An amount of money, exact."""
    if re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,4})?", text):
        return Decimal(text)
    _refuse_parted(text, ",'’ ", r"(\.[0-9]{1,4})?")
    if re.fullmatch(r"[0-9]+,[0-9]+", text):
        point = text.replace(",", ".")
        raise BadSize(f"'{safe(text)}' has a decimal comma; write it with a point: {point}")
    if text.startswith("-"):
        raise BadSize(f"'{safe(text)}' is below zero; write what the pack costs, such as 4.50")
    raise BadSize(
        f"'{safe(text[:24])}' is no price; write a plain number such as 4.50, the currency has its"
        " own column"
    )


def _count(text: str) -> int:
    """A whole number of pieces."""
    if re.fullmatch(r"[0-9]{1,9}", text):
        return int(text)
    _refuse_parted(text, ",.'’ ")
    raise BadSize(f"'{safe(text[:24])}' is no count; write a whole number such as 100")


def _currency(text: str) -> str:
    """The three letters of a currency, as ISO 4217 writes them."""
    if re.fullmatch(r"[A-Za-z]{3}", text):
        return text.upper()
    raise BadSize(f"'{safe(text[:24])}' is no currency; write its three letters, such as EUR")


# ------------------------------------------------------------------------------ CSV


def read_rows(
    data: bytes, name: str, needed: tuple[str, ...], others: tuple[str, ...] = ()
) -> tuple[Row, ...]:
    """Read the lines of a CSV table whose first line names its columns, in any order.

    UTF-8 with or without a byte-order mark; cells parted by commas or by semicolons, whichever
    the first line shows; quoted cells as in RFC 4180; empty lines passed over. The first column
    of `needed` names the line: it is never empty, and no name stands twice. Raises `BadTable`.
    """
    text = _decoded(data, name)
    faults = _Faults(name)
    records = _records(text, faults)
    heading: list[str] | None = None
    found: list[Row] = []
    names: dict[str, int] = {}
    for line, cells in records:
        if not any(cells):
            continue
        if heading is None:
            heading = [c.casefold() for c in cells]
            _check_heading(heading, line, faults, needed, others)
            faults.stop()
            continue
        if len(cells) != len(heading):
            faults.add(line, _uneven(cells, heading))
            continue
        row = Row(line, dict(zip(heading, cells, strict=True)))
        key = row.cells[needed[0]]
        if not key:
            faults.add(line, f"this cell is empty; write which {needed[0]} it is", needed[0])
        elif key in names:
            twin = f"'{safe(key)}' stands in line {names[key]} too; keep one of the two"
            faults.add(line, twin, needed[0])
        else:
            names[key] = line
            found.append(row)
    if heading is None:
        raise BadTable(
            f"{faults.name} is empty; its first line names the columns: {','.join(needed)}"
        )
    faults.stop()
    if not found:
        raise BadTable(f"{faults.name} has a heading and no line under it")
    return tuple(found)


def _decoded(data: bytes, name: str) -> str:
    shown = safe(name)
    if len(data) > MOST_BYTES:
        raise BadTable(f"{shown} holds {len(data):,} bytes; a table has at most {MOST_BYTES:,}")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise BadTable(
            f"{shown}, line {line}: these bytes are not UTF-8 text; save the table as"
            " 'CSV UTF-8' and try again"
        ) from None
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise BadTable(
            f"{shown}, line {line}: there is a zero byte, so this is not a CSV table in UTF-8;"
            " save it as 'CSV UTF-8' and try again"
        )
    return text


def _records(text: str, faults: _Faults) -> Iterator[tuple[int, list[str]]]:
    """Each record with the line it begins on; cells without the blanks at their rims."""
    first = next((x for x in text.splitlines() if x.strip()), "")
    mark = ";" if first.count(";") > first.count(",") else ","
    if "\t" in first and mark not in first:
        raise BadTable(
            f"{faults.name}, line 1: the cells are parted by tabs; save the table with commas or"
            " semicolons between them"
        )
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
            raise BadTable(f"{faults.name}, line {begins}: {words}") from None
        yield begins, [c.strip() for c in cells]
        begins = reader.line_num + 1


def _check_heading(
    heading: list[str],
    line: int,
    faults: _Faults,
    needed: tuple[str, ...],
    others: tuple[str, ...],
) -> None:
    """Every column known, none twice, none missing."""
    known = (*needed, *others)
    meant: set[str] = set()
    for at, column in enumerate(heading, 1):
        if column in known and column not in heading[: at - 1]:
            continue
        if column in known:
            faults.add(line, "there are two columns of this name; keep one", column)
            continue
        near = nearest(column, known)
        if near and near not in heading:
            meant.add(near)
            mend = f"the nearest is '{near}'"
        else:
            mend = f"known are {listed(known)}"
        what = f"there is no column '{safe(column)}'" if column else f"column {at} has no name"
        faults.add(line, f"{what}; {mend}")
    missing = [f"'{k}'" for k in needed if k not in heading and k not in meant]
    if missing:
        words = "column {} is" if len(missing) == 1 else "columns {} are"
        faults.add(
            line,
            f"the {words.format(listed(missing))} missing; the first line names the columns, such"
            f" as {','.join(needed)}",
        )


#: Columns whose numbers may have decimals.
_WITH_DECIMALS = frozenset({"price", "wire", "inside"})


def _uneven(cells: list[str], heading: list[str]) -> str:
    """A line with more or fewer cells than the heading."""
    words = (
        f"{plural(len(cells), 'cell')} where the heading has {len(heading)}"
        f" ({', '.join(map(safe, heading))})"
    )
    if len(cells) == len(heading) + 1:
        for column, (one, two) in zip(heading, pairwise(cells), strict=True):
            whole = column in _WITH_DECIMALS and re.fullmatch(r"[0-9]+", one)
            if whole and re.match(r"[0-9]+( |$|[a-z])", two):
                return (
                    f"{words}; if '{one},{safe(two)}' is one number, write it with a point:"
                    f" {one}.{safe(two)}"
                )
    return words
