"""How many places each row of a shaped piece has, as a teacher says it.

Comes in: a `Layout`. Goes out: text. Places are told in the order of the work.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ringstep.language.words import listed, plural
from ringstep.weave.layout import Layout
from ringstep.weave.phrases import number_word, ordinal_word
from ringstep.weave.shape import Shape


def _rounds(shape: Shape, rows: Iterable[int]) -> str:
    """Rounds one behind the other: 'Row 2: 12 places, every second one extra.'"""
    groups: list[tuple[list[int], int, str]] = []
    for row in rows:
        wide, words = shape.widths[row - 1], growth_words(shape, row)
        if groups and not words and groups[-1][0][-1] == row - 1 and groups[-1][1:] == (wide, ""):
            groups[-1][0].append(row)
        else:
            groups.append(([row], wide, words))
    told = []
    for numbers, wide, words in groups:
        each = f"Rows {numbers[0]} to {numbers[-1]}" if len(numbers) > 2 else f"Row {numbers[0]}"
        each = f"Rows {numbers[0]} and {numbers[1]}" if len(numbers) == 2 else each
        places = f"{plural(wide, 'place')}{' each' * (len(numbers) > 1)}"
        told.append(f"{each}: {places}{f', {words}' if words else ''}.")
    return " ".join(told)


def growth_words(shape: Shape, row: int) -> str:
    """Which places of a round are extra, and which are shared; nothing where none are."""
    if row < 2 or shape.widths[row - 1] == shape.widths[row - 2]:
        return ""
    wide, over = shape.widths[row - 1], shape.widths[row - 2]
    places = range(1, wide + 1)
    if wide > over:
        extra = [at for at in places if shape.place_kind(row, at) == "extra place"]
        if over == 1:
            return "all but the first extra"
        if wide % over == 0 and wide > 2 * over:
            return f"{number_word(wide // over - 1)} extra ones after every ordinary one"
        return f"{_which(extra, wide)} extra"
    sizes = {at: last - first + 1 for at in places for first, last in [shape.above(row, at)]}
    least, most = over // wide, -(-over // wide)
    if wide == 1:
        return f"shared by all {number_word(over)} of the row above"
    if least == most:
        return f"each shared by {number_word(most)} of the row above"
    large = _which([at for at in places if sizes[at] == most], wide)
    told = f"{large} shared by {number_word(most)} of the row above"
    return told if least == 1 else f"{told}, all others by {number_word(least)}"


def _which(numbers: list[int], wide: int) -> str:
    """Places of a round: 'every second one', where they do not come evenly 'places 3 and 7'."""
    step = numbers[0]
    if 1 < step < 10 and numbers == list(range(step, wide + 1, step)) and len(numbers) > 1:
        return f"every {ordinal_word(step)} one"
    return f"place{'s' * (len(numbers) > 1)} {listed([str(n) for n in numbers])}"


@dataclass(frozen=True)
class _Row:
    """A row as it is worked. begins: how many places before (below 0: behind) the beginning of the
    row above; 0 for the first row. runs: places worked, empty, worked, and so on."""

    number: int
    begins: int
    runs: tuple[int, ...]


#: What an extra and a shared place of a round are.
MEANT = {
    "extra place": "At an extra place do not go on along the row above: it goes with the same place"
    " there as the place before it.",
    "shared place": "At a shared place several places of the row above come together, side by"
    " side.",
}


def shape_words(layout: Layout, rows: Iterable[int]) -> str:
    """Some rows with their places: 'Row 2: 5 places, row 3: 4.' Like rows are told together."""
    if layout.rounds:
        return _rounds(layout.rounds, rows)
    told = [_told(group) for group in _groups([_row(layout, number) for number in rows])]
    return " ".join(f"{words[:1].upper()}{words[1:]}." for words in told)


def row_words(layout: Layout, number: int) -> str:
    """Of a row whose places are counted beside: which are left empty, and where it begins."""
    row = _row(layout, number)
    told = f"{_runs(row)}{_begun(row, False)}" if len(row.runs) > 1 else _begun(row, False)[2:]
    return f"{told[:1].upper()}{told[1:]}." if told else ""


def _row(layout: Layout, number: int) -> _Row:
    places, way = layout.along_row(number), layout.way(number)
    runs, last = [0], places[0] - way
    for place in places:
        if place != last + way:
            runs += [abs(place - last) - 1, 0]
        runs[-1] += 1
        last = place
    edge = layout.ends(number - 1)[way < 0] if number > 1 else places[0]
    return _Row(number, (edge - places[0]) * way, tuple(runs))


def _groups(rows: list[_Row]) -> list[list[_Row]]:
    """Rows one behind the other that are told in one breath: by turns one less, one more, alike."""
    found: list[list[_Row]] = []
    for row in rows:
        if found and _joins(found[-1], row):
            found[-1].append(row)
        else:
            found.append([row])
    return found


def _joins(group: list[_Row], row: _Row) -> bool:
    """True where a row goes on as the rows of a group do."""
    last = group[-1]
    if row.number != last.number + 1 or row.begins != last.begins:
        return False
    if len(row.runs) > 1 or len(last.runs) > 1:
        return row.runs == last.runs
    step = row.runs[0] - last.runs[0]
    return len(group) == 1 or step == last.runs[0] - group[-2].runs[0]


def _told(group: list[_Row]) -> str:
    first, last = group[0], group[-1]
    step = group[1].runs[0] - first.runs[0] if len(group) > 1 else 0
    if len(group) == 1:
        words = f"row {first.number}: {_runs(first)}"
    elif not step:
        joint = "to" if len(group) > 2 else "and"
        words = f"rows {first.number} {joint} {last.number}: {_runs(first)} each"
    elif len(group) < 9:
        more = (f"row {row.number}: {row.runs[0]}" for row in group[1:])
        words = ", ".join((f"row {first.number}: {_runs(first)}", *more))
    else:
        words = (
            f"row {first.number}: {_runs(first)}, and in each row {abs(step)}"
            f" {'more' if step > 0 else 'less'}, up to {last.runs[0]:,} in row {last.number}"
        )
    return f"{words}{_begun(first, len(group) > 1)}"


def _runs(row: _Row) -> str:
    """The places of a row: '4 places, leave 3 empty, 5 places'."""
    return ", ".join(
        f"leave {count:,} empty" if at % 2 else plural(count, "place")
        for at, count in enumerate(row.runs)
    )


def _begun(row: _Row, each: bool) -> str:
    """Where a row begins, as the end of a clause; nothing where it is as the row above."""
    if not row.begins:
        return ""
    side = "before" if row.begins > 0 else "behind"
    begin = "begin each" if each else "begin it"
    return f"; {begin} {plural(abs(row.begins), 'place')} {side} the first of the row above"
