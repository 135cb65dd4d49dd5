"""The picture as a chart: a cell for each place, in its colour and with its letter, as it hangs.

Each row of a sheet stands as far along as what its rings hang from: in most weaves half a ring.

Comes in: `Colours`, or the `Weave` of a sheet with a shape. Goes out: SVG, in parts where the
picture is too large for a sheet of paper. A row's number stands at the side on which the row is
begun. Letters say what colours say, so that a chart printed in grey, or seen by eyes that do not
part its colours, reads the same.
"""

from __future__ import annotations

import html
from collections.abc import Iterator

from ringstep.language.screen import safe
from ringstep.weave.layout import Layout
from ringstep.weave.picture import Colours
from ringstep.weave.piece import Weave
from ringstep.weave.work import Work

#: Points: the side of a cell, and the room for numbers around the cells.
CELL, RIM = 12, 26
#: Cells of one part, across and down: what stays readable on a page; no part is printed higher
#: than `HIGH` points, which every paper holds.
ACROSS, DOWN, HIGH = 40, 40, 600
#: Every so many places are numbered.
EVERY = 5

#: What a word for a colour looks like. What has no entry is white and told by its letter alone.
TONES = {
    "black": "#1c1c1c", "grey": "#b4b4b4", "gray": "#b4b4b4", "white": "#ffffff",
    "silver": "#d9dde0", "bright": "#e3e6e8", "red": "#d2342c", "rust": "#a4532a",
    "orange": "#f08c2e", "yellow": "#f6d743", "gold": "#d9b04a", "brass": "#cfae55",
    "bronze": "#a9733c", "copper": "#c8754a", "brown": "#7a5230", "green": "#3f9a54",
    "turquoise": "#48b8b8", "blue": "#2f6fbf", "navy": "#1f3566", "purple": "#7c4aa0",
    "violet": "#7c4aa0", "pink": "#f0a3c0",
}  # fmt: skip


def tone(words: str) -> str:
    """The tone of a colour by its last word that has one: 'dark red' is red."""
    known = [TONES[w] for w in words.casefold().split() if w in TONES]
    return known[-1] if known else "#ffffff"


def _ink(fill: str) -> str:
    """Black or white, whichever reads better on a tone."""
    red, green, blue = (int(fill[at : at + 2], 16) for at in (1, 3, 5))
    return "#000000" if 0.3 * red + 0.59 * green + 0.11 * blue > 120 else "#ffffff"


def cell(letter: str, words: str, x: float, y: float) -> str:
    """One place of the chart: a square in its colour with its letter."""
    fill = tone(words)
    return (
        f'<rect x="{x:g}" y="{y:g}" width="{CELL}" height="{CELL}" fill="{fill}"/>'
        f'<text x="{x + CELL / 2:g}" y="{y + CELL * 0.72:g}" fill="{_ink(fill)}">'
        f"{html.escape(safe(letter))}</text>"
    )


def drawing(inside: str, wide: float, high: float, words: str) -> str:
    """A whole SVG of cells. words: what a screen reader says."""
    return (
        f'<svg role="img" aria-label="{html.escape(safe(words), quote=True)}" width="{wide:g}pt"'
        f' height="{high:g}pt" viewBox="0 0 {wide:g} {high:g}" xmlns="http://www.w3.org/2000/svg"'
        f' font-family="Helvetica,Arial,sans-serif" font-size="8" text-anchor="middle"'
        f' stroke="none">{inside}</svg>'
    )


def charts(colours: Colours) -> Iterator[str]:
    """The chart in parts, each with the numbers of its rows and places."""
    rows = list(colours.grid())
    wide = colours.layout.units
    for top in range(0, len(rows), DOWN):
        for left in range(0, wide, ACROSS):
            yield _part(colours, rows[top : top + DOWN], left, min(left + ACROSS, wide))


def plans(weave: Weave) -> Iterator[str]:
    """The places of a piece with a shape, so many rows in each part; each row stands as far along
    as what its rings hang from, each round in the middle.

    An extra place of a round has a +, a shared one the number of places that share it."""
    layout = weave.layout
    if rounds := layout.rounds:
        most = max(rounds.widths)
        along = {row: (most - wide) / 2 for row, wide in enumerate(rounds.widths, 1)}
    else:
        along = _leans(layout, weave.work, weave.recipe.part_roles)
    every = range(1, layout.rows + 1)
    left = min(layout.ends(row)[0] + along[row] for row in every)
    right = max(layout.ends(row)[1] + along[row] for row in every) + 1
    wide = (right - left) * CELL
    for top in range(0, layout.rows, DOWN):
        told, lines = [], []
        rows = every[top : top + DOWN]
        for at, row in enumerate(rows):
            y = RIM / 2 + at * CELL
            x = RIM / 2 if layout.way(row) > 0 else RIM * 1.5 + wide
            told.append(_text(x, y, str(row)))
            for unit in layout.along_row(row):
                begin = RIM + (unit + along[row] - left) * CELL
                lines.append(f"M{begin:g} {y:g}h{CELL}v{CELL}h-{CELL}z")
                if rounds and (kind := rounds.place_kind(row, unit)):
                    first, last = rounds.above(row, unit)
                    mark = "+" if kind == "extra place" else str(last - first + 1)
                    told.append(_text(begin + CELL / 2, y, mark))
        told.append(_stroke(lines))
        words = f"the places, rows {rows[0]} to {rows[-1]}"
        yield drawing("".join(told), wide + 2 * RIM, len(rows) * CELL + RIM, words)


def _leans(layout: Layout, work: Work, parts: frozenset[str]) -> dict[int, float]:
    """How far along each row stands, in places: the middle of what its rings hang from.

    layout: of the whole piece. work: its window, carried out. A row in which every ring lacks some
    of that stands as another one worked the same way. The rows of a tube stand one below the other:
    their places go round, so that none of them is the left one.
    """
    found: dict[int, list[float]] = {}
    for act in work.acts if layout.kind == "sheet" else ():
        hung = [r for r in act.through if r.row == act.row - 1 > 0 and r.role not in parts]
        if hung and not act.dropped:
            by = sum(r.unit - act.unit for r in hung) / len(hung)
            found.setdefault(act.row, []).append(by)
    steps: dict[int, float] = {}
    for row, each in found.items():
        by = round(2 * sum(each) / len(each)) / 2
        steps |= dict.fromkeys(work.layout.numbers(row, 1)[0], by)
    like = {layout.way(row): by for row, by in sorted(steps.items())}
    along = {1: 0.0}
    for row in range(2, layout.rows + 1):
        along[row] = along[row - 1] + steps.get(row, like.get(layout.way(row), 0.0))
    return along


def _text(x: float, y: float, words: str) -> str:
    """A word in the middle of a cell, or beside it."""
    return f'<text x="{x:g}" y="{y + CELL * 0.72:g}">{words}</text>'


def most_scale(rows: int) -> float:
    """How much larger than drawn the parts of a chart may be printed."""
    return HIGH / (min(rows, DOWN) * CELL + RIM)


def _stroke(lines: list[str]) -> str:
    """The lines between cells."""
    return f'<path d="{"".join(lines)}" stroke="#595959" stroke-width="0.5" fill="none"/>'


def _part(
    colours: Colours, rows: list[tuple[int, list[tuple[str, int]]]], left: int, right: int
) -> str:
    layout, work = colours.layout, colours.work
    leans = _leans(layout, work, layout.recipe.part_roles)
    along = [leans[number] for number, _ in rows]
    low = min(along)
    across, down = (right - left + max(along) - low) * CELL, len(rows) * CELL
    told, lines = [], []
    for at, (number, places) in enumerate(rows):
        y = RIM / 2 + at * CELL
        for place, (letter, rings) in enumerate(places[left:right]):
            begin = RIM + (place + along[at] - low) * CELL
            if rings:
                told.append(cell(letter, colours.key[letter].words, begin, y))
            if letter != " ":
                lines.append(f"M{begin:g} {y:g}h{CELL}v{CELL}h-{CELL}z")
        x = RIM / 2 if layout.way(number) > 0 else RIM * 1.5 + across
        told.append(_text(x, y, str(number)))
    told.append(_stroke(lines))
    for place in range(left + 1, right + 1):
        if place % EVERY == 0 or place == 1:
            x = RIM + (place - left - 0.5 + along[-1] - low) * CELL
            told.append(f'<text x="{x:g}" y="{RIM * 0.88 + down:g}" font-size="7">{place}</text>')
    words = f"the picture, rows {rows[0][0]} to {rows[-1][0]}, places {left + 1} to {right}"
    return drawing("".join(told), across + 2 * RIM, down + RIM, words)
