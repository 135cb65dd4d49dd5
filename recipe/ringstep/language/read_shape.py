"""A line of `shape:` as it is meant: which rows, and how many places they have.

Comes in: Lark's tree of one line. Goes out: a `ShapeLine`, and what cannot be meant by it, told to
the reader of the whole recipe.
"""

from __future__ import annotations

from typing import Any, Protocol

from ringstep.language.source import Span
from ringstep.language.tree import ShapeLine
from ringstep.language.words import plural


class Reader(Protocol):
    """Who reads the whole recipe."""

    def span(self, part: Any) -> Span:
        """Where a part of the line stands."""

    def int(self, token: Any) -> int:
        """A number of the line; one that is too long is told."""

    def trouble(self, span: Span, message: str, *help: str) -> None:
        """Tells what cannot be meant."""


def shape_line(reader: Reader, tree: Any) -> ShapeLine:
    """One line of `shape:`."""
    span, (named, *rest) = reader.span(tree), tree.children
    numbers = [reader.int(token) for token in named.children if token is not None]
    first, last = numbers[0], numbers[-1]
    rows = row_words(first, last)
    if not first or last < first:
        reader.trouble(
            reader.span(named),
            "rows are counted from 1" if not first else f"'{rows}' goes upwards",
            "write 'row 1' for the topmost" if not first else f"write 'rows {last} to {first}'",
        )
    if tree.data == "written_out":
        runs = tuple((reader.int(p.children[0]), str(p.data) == "worked") for p in rest)
        if any(not count for count, _ in runs):
            told = f"'{runs_words(runs)}' has a run of 0 places"
            reader.trouble(span, told, "leave that run out")
        return ShapeLine((first, last), span, runs=runs)
    each, number = rest
    if tree.data == "counted":
        if not (count := reader.int(number)):
            reader.trouble(
                span,
                "a round of 0 places is not there",
                "write how many it has, or make the piece of fewer rows",
            )
        return ShapeLine((first, last), span, each=each is not None, count=count)
    change = reader.int(number) * (1 if tree.data == "more" else -1)
    if not change:
        reader.trouble(
            span,
            f"'0 {tree.data}' changes nothing",
            "take the line out: a row that no line names is as wide as the one before it",
        )
    if each is None and last > first:
        said = f"{abs(change)} {tree.data}"
        reader.trouble(
            span,
            f"'{rows}  {said}' does not say whether each of these rows gets {tree.data}",
            f"write '{rows}  each {said}',",
            f"or 'row {first}  {said}' where only that row does and the next stay as wide",
        )
    return ShapeLine((first, last), span, change, each is not None)


def row_words(first: int, last: int) -> str:
    """Rows as a line of `shape:` names them.

    >>> row_words(3, 3), row_words(2, 6)
    ('row 3', 'rows 2 to 6')
    """
    return f"row {first}" if first == last else f"rows {first} to {last}"


def line_words(
    line: ShapeLine, rows: tuple[int, int], runs: tuple[tuple[int, bool], ...] = ()
) -> str:
    """A line of `shape:` as it is written for other rows, or with other runs of places."""
    said = row_words(*rows)
    if line.count is not None:
        return f"{said}  {plural(line.count, 'place')}"
    if line.change is None:
        return f"{said}  {runs_words(runs or line.runs)}"
    each = "each " if rows[0] < rows[1] else ""
    return f"{said}  {each}{abs(line.change)} {'more' if line.change > 0 else 'less'}"


def runs_words(runs: tuple[tuple[int, bool], ...]) -> str:
    """Places from one side on.

    >>> runs_words(((4, True), (3, False), (5, True)))
    '4 worked, 3 empty, 5 worked'
    """
    return ", ".join(f"{count} {'worked' if worked else 'empty'}" for count, worked in runs)
