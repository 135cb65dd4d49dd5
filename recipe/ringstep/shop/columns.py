"""Which column of a list is which: by the words of its heading, by what was typed or remembered.

Comes in: headings, and the columns that somebody named. Goes out: `Columns`; `Untold` where a
column that is needed cannot be told.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from ringstep.language.screen import safe
from ringstep.language.words import listed, nearest, or_nearest
from ringstep.shop.list_words import HEADINGS, NUMBERED, OUTSIDE
from ringstep.shop.rows import FIRST_LINES, BadTable, Line, plain_words

PRICES = ("ring", "size", "wire", "inside", "material", "colour", "pack", "price", "currency")
STOCK = ("ring", "size", "wire", "inside", "material", "colour", "count")
#: Columns for which one value may stand instead, for all lines, each with such a value.
VALUES = {"pack": "100", "currency": "EUR", "material": "copper"}
#: Columns that a list need not have.
OPTIONAL = frozenset(("size", "material", "colour", "count"))
#: What a column is called in a question.
ASKED = {
    "ring": "the ring, by its name or its size",
    "size": "the size, wire and inside together",
    "wire": "the wire",
    "inside": "the inside diameter",
    "material": "the metal",
    "colour": "the colour",
    "pack": "the number of pieces in a pack",
    "price": "the price",
    "currency": "the currency",
    "count": "the number in stock",
}
#: Stands for a column that the list has not.
_NONE = "-"
_MOST_SHOWN = 20
_PHRASES = {
    what: [tuple(words.split()) for words in phrases.split(", ")]
    for what, phrases in HEADINGS.items()
}


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each column of a list stands.

    heading: the line of headings, by its place among the lines. heads: the text of each. places:
    by column name. values: what stands for a whole column, as typed.
    """

    heading: int
    heads: tuple[str, ...]
    places: Mapping[str, int]
    values: Mapping[str, str] = field(default_factory=dict)

    def has(self, what: str) -> bool:
        """Whether a column is told, by a place or by one value."""
        return what in self.places or what in self.values

    def cell(self, line: Line, what: str) -> str:
        """What a line says in a column, empty where there is none."""
        at = self.places.get(what)
        if at is None:
            return self.values.get(what, "")
        return line.cells[at] if at < len(line.cells) else ""

    def head(self, what: str) -> str:
        """The heading of a column, empty where there is none."""
        at = self.places.get(what)
        return "" if at is None else self.heads[at]


class Untold(BadTable):
    """Columns that cannot be told. what: the first of them; heads: the headings by name."""

    def __init__(self, words: str, what: str, heads: tuple[str, ...]) -> None:
        super().__init__(words)
        self.what, self.heads = what, heads


def head_names(heads: tuple[str, ...]) -> tuple[str, ...]:
    """What each heading is called: by its text, or by its number where that would not do."""
    return tuple(
        text if text and heads.count(text) == 1 else f"column {at}"
        for at, text in enumerate(heads, 1)
    )


def _rank(head: str, what: str) -> tuple[int, int]:
    """How well a heading says a column: whether it says nothing else, then the letters it shares.

    >>> _rank("Preis pro Packung (EUR)", "price"), _rank("wire mm", "wire"), _rank("OD", "inside")
    ((0, 5), (1, 4), (0, 0))
    """
    words = [w for w in plain_words(head) if w not in ("mm", "cm", "in", "inch", "inches")]
    if OUTSIDE.intersection(words):
        return 0, 0
    best = (0, 0)
    for phrase in _PHRASES[what]:
        many = len(phrase)
        if any(tuple(words[at : at + many]) == phrase for at in range(len(words) - many + 1)):
            best = max(best, (int(len(words) == many), sum(map(len, phrase))))
    return best


def _meant(head: str, known: tuple[str, ...]) -> tuple[str, int]:
    """The column that a heading says best, and whether it says nothing else."""
    ranks = {what: _rank(head, what) for what in known}
    if "price" in ranks and ranks["price"][1] and not ranks.get("currency", (0, 0))[1]:
        return "price", ranks["price"][0]  # 'price per pack', 'price a ring'
    best = max(known, key=lambda what: ranks[what])
    return (best, ranks[best][0]) if ranks[best][1] else ("", 0)


def _heading(lines: tuple[Line, ...], known: tuple[str, ...], remembered: tuple[str, ...]) -> int:
    """The line of headings: the one remembered, else the one with the most words known of it."""
    first = lines[:FIRST_LINES]
    for at, line in enumerate(first):
        if remembered and line.heads == remembered:
            return at
    known_words = [len({w for c in x.cells if (w := _meant(c, known)[0])}) for x in first]
    if max(known_words) > 1:
        return known_words.index(max(known_words))
    wide = max(len([c for c in x.cells if c]) for x in first)
    return next(at for at, x in enumerate(first) if len([c for c in x.cells if c]) == wide)


def columns_of(
    lines: tuple[Line, ...],
    known: tuple[str, ...],
    missing_of: Callable[[Columns], list[str]],
    name: str,
    given: Mapping[str, str],
    remembered: tuple[str, ...] = (),
) -> Columns:
    """Tell the columns of a list.

    missing_of: which columns are needed and not told yet. given: by column, the heading or the
    value that was named. remembered: the headings under which it was. Raises `Untold`, and
    `BadTable` where what was named is not there.
    """
    at = _heading(lines, known, remembered)
    heads, where = lines[at].heads, f"{safe(name)}, line {lines[at].number}"
    names = head_names(heads)
    folded = [n.casefold() for n in names]
    places: dict[str, int] = {}
    values: dict[str, str] = {}
    for what, said in given.items():
        text = " ".join(said.split())
        if what not in known:
            raise BadTable(
                f"'{safe(what[:40])}' is no column of such a list; it has {listed(known)}"
            )
        if text.casefold() in folded:
            places[what] = folded.index(text.casefold())
        elif what in VALUES and text != _NONE:
            values[what] = text
        elif text != _NONE:
            near = or_nearest(text, names[:_MOST_SHOWN])
            raise BadTable(f"{where}: there is no column '{safe(text[:40])}'{safe(near)}")
    meant = [_meant(head, known) for head in heads]
    unclear = {}
    for what in known:
        if what in given:
            continue
        found = [i for i, m in enumerate(meant) if m[0] == what and i not in places.values()]
        if what == "ring":
            named = [i for i in found if not NUMBERED & set(plain_words(heads[i]))]
            found = named or (found if known == STOCK else [])  # a number is no name to buy by
        whole = [i for i in found if meant[i][1]]
        best = whole if len(whole) == 1 else found
        if len(best) == 1:
            places[what] = best[0]
        elif best:
            unclear[what] = best[0]
    told = Columns(at, heads, places, values)
    missing = missing_of(told)
    missing += [what for what in unclear if what not in missing]
    if missing:
        raise Untold(_untold(where, name, missing, heads, unclear), missing[0], names)
    return told


def _untold(
    where: str, name: str, missing: list[str], heads: tuple[str, ...], unclear: Mapping[str, int]
) -> str:
    """What is said where columns cannot be told: which there are and what to type."""
    names = head_names(heads)
    shown = [f"'{safe(n[:40])}'" for n in names[:_MOST_SHOWN]]
    shown += [f"{len(names) - _MOST_SHOWN} more"] if len(names) > _MOST_SHOWN else []
    asked = listed([ASKED[what] for what in missing])
    first = missing[0]
    near = names[unclear[first]] if first in unclear else nearest(first, names)
    example = safe(near[:40]) if near else "…"
    lines = [
        f"{where}: it cannot be told which column is {asked}; there {_are(len(shown))}"
        f" {listed(shown)}",
        f"type --column '{first}={example}' with its heading"
        + (f", or one value for all lines, such as --column {first}={VALUES[first]}"
           if first in VALUES else ""),
    ]  # fmt: skip
    if name != "-":
        file = _headings_line(heads)
        lines.append(f"or write a file {safe(name)}.columns with lines such as")
        lines += [f"  {safe(file)}", *(f"  {what} = …" for what in missing)]
    return "\n".join(lines)


def _are(many: int) -> str:
    return "is" if many == 1 else "are"


# -- remembered -----------------------------------------------------------------------------------


def _headings_line(heads: tuple[str, ...]) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=";", lineterminator="").writerow(heads)
    return f"headings = {out.getvalue()}"


def remembered_text(
    name: str, told: Columns, given: Mapping[str, str], known: tuple[str, ...]
) -> str:
    """The file that remembers the columns of a list, as text. given: those that were named."""
    names = head_names(told.heads)
    lines = [f"# Columns of {safe(name)}; used as long as its headings are these."]
    lines.append(_headings_line(told.heads))
    said = {what: names[at] for what, at in told.places.items()} | dict(told.values)
    said |= {what: _NONE for what, text in given.items() if text == _NONE}
    lines += [f"{what} = {said[what]}" for what in known if what in said]
    return "\n".join(lines) + "\n"


def read_remembered(text: str, name: str) -> tuple[tuple[str, ...], dict[str, str]]:
    """The headings and the columns that such a file holds. Raises `BadTable`.

    >>> read_remembered("headings = A;B\\nprice = B\\n", "p.csv.columns")
    (('A', 'B'), {'price': 'B'})
    """
    heads: tuple[str, ...] = ()
    found: dict[str, str] = {}
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        what, equals, said = (part.strip() for part in line.partition("="))
        if not equals or not said:
            raise BadTable(
                f"{safe(name)}, line {number}: '{safe(line.strip()[:40])}' is not understood; write"
                " it as in 'price = Preis'"
            )
        if what.casefold() == "headings":
            try:
                cells = next(csv.reader([said], delimiter=";"))
            except csv.Error:
                cells = []
            heads = tuple(" ".join(c.split()) for c in cells)
        else:
            found[what.casefold()] = said
    if not heads:
        raise BadTable(f"{safe(name)} has no line 'headings = …'; it holds those of the list")
    return heads, found
