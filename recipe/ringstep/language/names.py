"""Every place where a ring or part is named, told from the words of each line.

Comes in: a `Source`. Goes out: the names with their spans, also those of lines that cannot be read,
for a text is looked at while somebody types it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from lark import Token
from lark.exceptions import LarkError

from ringstep.language.parse import HINT_LINE, Stands, parser
from ringstep.language.pieces import marked, named_pieces
from ringstep.language.read_tree import Node, is_of
from ringstep.language.source import Source, Span
from ringstep.language.syntax import split_name
from ringstep.language.words import RESERVED


class _Found(NamedTuple):
    """A name in a line. start, end: its columns, with its number; what: 'places', 'range', ''."""

    role: str
    index: int | None  # type: ignore[assignment]
    start: int
    end: int
    what: str


@dataclass(frozen=True, slots=True)
class Named:
    """One place where a ring or part is named.

    index: its number, None where the role alone is named. span: the name with its number.
    places: True where a step places it. read: False in a line that cannot be read, where any word
    that could be a name is taken for one.
    """

    role: str
    index: int | None
    span: Span
    places: bool
    read: bool


#: A word that may be a name, with its number where one follows.
_WORD = re.compile(r"""(?<![^\s,])(?!\d)[^\s,:#"=/;.!?()\[\]{}«»‘’“-‟]+([ \t]+\d+(?![^\s,]))?""")
#: Lines of tables, whose first word is the name; of `sizes:` the second.
_TABLES = {"ring_kind": 0, "part_kind": 0, "set_line": 1}
_NO_NAMES = frozenset({"title", "variant", "piece_line", "shape_line", "picture_line", "notes"})


def names_in(source: Source, standing: dict[int, Stands]) -> tuple[Named, ...]:
    """Every place where a ring or part is named, in the order of the text; `all` is no name."""
    pieces = named_pieces(source)
    found: list[tuple[int, _Found, bool]] = []
    variants = set()
    for line, stands in standing.items():
        text = source.plain[line - 1]
        if stands.rule == "variant":
            variants.add((text.split() or [""])[0])
        if stands.rule in _NO_NAMES or stands.section == "?":
            continue
        if stands.rule == "step" and HINT_LINE.match(text):
            continue
        if stands.section == "join" and not stands.heads:
            text = marked(text, pieces)
        names, read = _names_of(text.rstrip().rstrip(":") if stands.heads else text, stands.rule)
        found += [(line, n, read) for n in names if n.role.casefold() not in RESERVED | {"all"}]
    placed = {name.role for _, name, _ in found if name.what == "places"}
    return tuple(
        Named(
            name.role,
            name.index,
            Span(line, name.start, name.end),
            name.what == "places",
            read,
        )
        for line, name, read in found
        if name.what != "range" or name.role not in variants - placed
    )


@lru_cache(4096)  # of a text that is being typed all lines but one stay as they are
def _names_of(text: str, rule: str) -> tuple[tuple[_Found, ...], bool]:
    """The names in a line, and whether it can be read."""
    try:
        tree: Node = parser().parse(text, start=rule)
    except LarkError:
        return tuple(_by_words(text, rule)), False
    return tuple(sorted(_by_grammar(tree), key=lambda name: name.start)), True


def _by_grammar(tree: Node) -> Iterator[_Found]:
    """The names in a line that can be read."""
    if tree.data == "h_picture":
        yield from (_found(token, None) for token in tree.children if token)
    ranged = "range" if is_of(tree, "working_range", "working_from") else ""
    new = [item for part in tree.find_data("new") for item in part.children]
    for item in new:
        several = is_of(item, "several")
        yield _found(item.children[several], None if several else item.children[1], "places")
    for part in tree.iter_subtrees():
        if part.data == "count_of":
            yield _found(part.children[-1], None)
        elif part.data == "name" and not any(part is item for item in new):
            yield _found(part.children[0], part.children[1], ranged)


def _found(token: Token, number: Token | None, what: str = "") -> _Found:
    role, index = split_name(str(token)) if number is None else (str(token), int(number))
    start, last = token.column or 1, number or token
    return _Found(role, index, start, last.end_column or start, what)


def _by_words(text: str, rule: str) -> Iterator[_Found]:
    """The words of a line that may be names, where it cannot be read."""
    words = [w for w in _WORD.finditer(text) if w[0].split()[0].casefold() not in RESERVED]
    if rule in _TABLES:
        words = words[_TABLES[rule] : _TABLES[rule] + 1]
    for word in words:
        name, _, number = word[0].partition(" ")
        role, index = (name, int(number)) if number.strip() else split_name(name)
        yield _Found(role, index, word.start() + 1, word.end() + 1, "")
