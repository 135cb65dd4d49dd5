"""Lists that a shop keeps, opened: their columns told, asked for once, and remembered beside them.

The list itself is never written into; what was answered stands in `LIST.columns`.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.rim import Stop, bytes_of, write_aside

if TYPE_CHECKING:
    import argparse

    from ringstep.shop.columns import Untold
    from ringstep.shop.tables import Price, StockRing, Table


def column_option(parser: argparse.ArgumentParser) -> None:
    """Lets the columns of a list be named."""
    parser.add_argument(
        "--column",
        metavar="NAME=HEADING",
        action="append",
        help="which column of the list is which: 'price=Preis', or one value for all lines:"
        " 'pack=100', 'currency=EUR'",
    )


def prices_in(path: str, columns: list[str] | None) -> tuple[Price, ...]:
    """The lines of a price list. columns: as typed. Raises `Stop` and `BadTable`."""
    from ringstep.shop.columns import PRICES
    from ringstep.shop.tables import price_table, prices_of

    return prices_of(_opened(path, columns, PRICES, price_table))


def stock_in(path: str, columns: list[str] | None) -> tuple[StockRing, ...]:
    """The rings of a stock list. columns: as typed. Raises `Stop` and `BadTable`."""
    from ringstep.shop.columns import STOCK
    from ringstep.shop.tables import stock_of, stock_table

    return stock_of(_opened(path, columns, STOCK, stock_table))


def _opened(
    path: str,
    columns: list[str] | None,
    known: tuple[str, ...],
    table_of: Callable[[bytes, str, dict[str, str], tuple[str, ...]], Table],
) -> Table:
    from ringstep.shop.columns import Untold, remembered_text
    from ringstep.shop.rows import MOST_BYTES

    typed = _typed(columns)
    data = bytes_of(path, MOST_BYTES, "table")
    heads, found = _remembered(path, data)
    given = {what: said for what, said in found.items() if what in known} | typed
    asked = False
    while True:
        try:
            table = table_of(data, path, given, heads)
        except Untold as fault:
            if path == "-" or not (sys.stdin and sys.stdin.isatty() and sys.stderr.isatty()):
                raise
            given[fault.what] = _answer(fault)
            asked = True
            continue
        break
    if table.unit:
        _tell(f"{path}: sizes without a unit are taken as {table.unit}")
    if asked:
        beside = Path(f"{path}.columns")
        text = remembered_text(path, table.columns, given, known)
        try:
            write_aside(beside, text.encode("utf-8"))
            _tell(f"remembered in {beside}; take it away to be asked again")
        except Stop as fault:
            _tell(f"not remembered: {fault}")
    return table


def _typed(columns: list[str] | None) -> dict[str, str]:
    """What was typed behind --column, by column."""
    found = {}
    for text in columns or ():
        what, equals, said = (part.strip() for part in text.partition("="))
        if not equals or not what or not said:
            raise Stop(f"--column: '{text}' is not understood; write it as in --column price=Preis")
        found[what.casefold()] = said
    return found


def _remembered(path: str, data: bytes) -> tuple[tuple[str, ...], dict[str, str]]:
    """The headings of a list and the columns remembered for them; nothing where they are others."""
    from ringstep.shop.columns import read_remembered
    from ringstep.shop.rows import FIRST_LINES, lines_of, text_of

    beside = f"{path}.columns"
    there = False
    with suppress(OSError, ValueError):
        there = path != "-" and Path(beside).is_file()
    if not there:
        return (), {}
    from ringstep.shop.rows import MOST_BYTES

    heads, found = read_remembered(text_of(bytes_of(beside, MOST_BYTES, "table"), beside), beside)
    folded = [head.casefold() for head in heads]
    for line in lines_of(data, path)[1][:FIRST_LINES]:
        if [head.casefold() for head in line.heads] == folded:
            return line.heads, found
    _tell(f"{beside} is not used: the headings of {path} are others now")
    return (), {}


def _answer(untold: Untold) -> str:
    """The column that somebody chooses, or the one value typed for all lines. Raises `Untold`."""
    from ringstep.language.screen import safe
    from ringstep.shop.columns import ASKED, OPTIONAL, VALUES

    what, heads = untold.what, untold.heads
    _tell(f"Which column is {ASKED[what]}?")
    for number, head in enumerate(heads, 1):
        _tell(f"  {number}  {safe(head[:60])}")
    if what in OPTIONAL:
        _tell("  0  none of them")
    if what in VALUES:
        _tell(f"  or one value for all lines, such as ={VALUES[what]}")
    while True:
        sys.stderr.write("number: ")
        sys.stderr.flush()
        line = sys.stdin.readline()
        word = line.strip()
        if not line:
            raise untold
        if word.isdecimal() and 1 <= int(word) <= len(heads):
            return heads[int(word) - 1]
        if word == "0" and what in OPTIONAL:
            return "-"
        if word[:1] == "=" and word[1:].strip() and what in VALUES:
            return word[1:].strip()


def _tell(words: str) -> None:
    from ringstep.commands.rim import fitted
    from ringstep.language.screen import safe

    sys.stderr.write(f"{fitted(safe(words), sys.stderr)}\n")
