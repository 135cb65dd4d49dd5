"""Lines about strands whose words stand in another order, and the line to type.

Comes in: a line that could not be read, and what tells whether another would be. Goes out: a
`Habit`; None where no such line is found.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from ringstep.language.habits import Habit
from ringstep.language.words import NUMBER_WORDS, PLACES, RESERVED, UNITS_OF_SIZE, nearest

#: True where a line of a kind would be taken as it stands.
_Reads = Callable[[str, str], bool]
_COUNTED = ("unit", "units", "ring", "rings", "link", "links")
_SIZE = rf"(\d[\d./]*)\s*({'|'.join((*_COUNTED, *UNITS_OF_SIZE))})?"
_WORD = r"([^\W\d]\w*)"
#: Strands with what follows; a name and its extent, an extent and its name; several alike.
_STRANDS = re.compile(r"\s*(strands?|chain)\b\s*:?\s*(?:of\s+)?(.+)", re.I)
_NAMED = re.compile(rf"{_WORD}(?:\s+(?:of|is|has|with|=)?\s*{_SIZE})?", re.I)
_SIZED = re.compile(rf"{_SIZE}\s+(?:of\s+)?{_WORD}", re.I)
_ALIKE = re.compile(
    rf"\s*(?:strands?\s+)?([1-9])\s+(?:strands?\s+)?(?:of|x|×|by)\s+{_SIZE}\s*", re.I
)
#: A ring of a strand told in another order: 'last A of left', 'last left prev A'.
_OF_STRAND = re.compile(
    r"\b(first|last|every)\s+(\S+(?:\s+\d+)?)\s+(?:of|on|in)\s+(?:the\s+)?(?:strand\s+)?"
    rf"{_WORD}(?:\s+strand\b)?",
    re.I,
)
_BEFORE_PLACE = re.compile(rf"\b(first|last)\s+{_WORD}\s+((?:(?:prev|next)\s+)+)(?=[^\W\d])", re.I)


def _extent(number: str | None, unit: str | None) -> str:
    """An extent as it is typed; what has no unit of size is so many units."""
    if number is None:
        return ""
    return f"{number} {'units' if unit is None or unit.casefold() in _COUNTED else unit}"


def _strand(words: str) -> tuple[str, str] | None:
    """A strand's name and its extent, in whichever order they stand; "" for no extent."""
    if found := _NAMED.fullmatch(words):
        return found[1], _extent(found[2], found[3])
    if found := _SIZED.fullmatch(words):
        return found[3], _extent(found[1], found[2])
    return None


def in_strands(text: str, reads: _Reads) -> Habit | None:
    """Strands whose names, extents or commas stand otherwise; several of one extent."""
    alike = _ALIKE.fullmatch(text) if "strand" in text.casefold() else None
    if alike:
        names = NUMBER_WORDS[1 : int(alike[1]) + 1]
        line = "strands " + ", ".join(f"{name} {_extent(alike[2], alike[3])}" for name in names)
        if reads(line, "piece_line"):
            message = "every strand has a name of its own"
            return Habit.of_line(text, message, f"write '{line}', or names of your own")
    found = _STRANDS.fullmatch(text)
    if found is None:
        return None
    parts = [p.strip() for p in re.split(r"\s*(?:,|\+|\band\b)\s*", found[2]) if p.strip()]
    if len(parts) == 1:  # no comma at all
        parts = [m[0] for m in _NAMED.finditer(parts[0]) if m[2]] or parts
    strands = [_strand(part) for part in parts]
    told = [strand for strand in strands if strand]
    sizes = [size for _, size in told if size]
    if len(told) < len(parts) or not sizes or any(n.casefold() in RESERVED for n, _ in told):
        return None
    named = all(_NAMED.fullmatch(part) for part in parts) and len(sizes) == len(parts) > 1
    if found[1].casefold() == "chain" and not named:
        return None  # a list of runs has its numbers first
    each: list[str] = []
    size = sizes[-1]
    for name, own in reversed(told):  # 'left, right 30 units' gives both as many
        size = own or size
        each.insert(0, f"{name} {size}")
    line = f"strands {', '.join(each)}"
    if not reads(line, "piece_line"):
        return None
    message = "strands are written as a list of names, each with its units or its length"
    return Habit.of_line(text, message, f"write '{line}'")


def of_strand(text: str, reads: _Reads) -> Habit | None:
    """A ring of a strand whose words stand in another order, or a misspelt word of place."""
    slip = _BEFORE_PLACE.search(text)
    if slip and (near := nearest(slip[2], PLACES)):
        wanted = f"{slip[1]} {near} {slip[3]}"
        if reads(f"{text[: slip.start()]}{wanted}{text[slip.end() :]}", "step"):
            message = f"'{slip[2]}' is no word of place; the nearest is '{near}'"
            return Habit(slip.start(2), slip.end(2), message, f"write '{wanted}…'")
    for pattern, order, more in ((_OF_STRAND, r"\1 \3 \2", ""), (_BEFORE_PLACE, r"\1 \3\2 ", " …")):
        found = pattern.search(text)
        if found and reads(pattern.sub(order, text), "step"):
            message = "the name of a strand stands right before that of the ring"
            wanted = f"{found.expand(order).strip()}{more}"
            return Habit(found.start(), found.end(), message, f"write '{wanted}'")
    return None
