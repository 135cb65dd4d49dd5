"""How often the steps of a section are worked: boxes to tick, one for each unit or row.

Comes in: the view of the whole recipe and a section of its step list. Goes out: a `Round`, `Html`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringstep.checks.view import View
from ringstep.language.syntax import Block
from ringstep.paper.headings import numbers_words
from ringstep.paper.page import Html, element, escaped, joined
from ringstep.paper.printed import Sheet
from ringstep.weave.work import pattern_from

#: More boxes than this to tick, one for each unit or row, are a wall and no help.
MOST_BOXES = 60
#: Runs of a section that have their boxes apart; more are too short to be counted each by itself.
MOST_RUNS = 4
#: Units or rows of a piece that is looked through for those that get a box.
MOST_PLACES = 600


@dataclass(frozen=True, slots=True)
class Round:
    """Where the steps of a section are worked: the numbers of its units or rows, in order.

    what: 'unit' or 'row'. sides: F or B for each, where the side from which rings go in changes.
    """

    what: str
    places: tuple[int, ...]
    sides: str = ""

    @property
    def spans(self) -> list[tuple[int, int]]:
        """First and last of each run of numbers that follow one another."""
        starts = [n for n in self.places if n - 1 not in self.places]
        ends = [n for n in self.places if n + 1 not in self.places]
        return list(zip(starts, ends, strict=True))


def round_of(view: View, section: Sheet) -> Round | None:
    """None for a section that is worked once, along several strands, or too often to be looked
    through."""
    if not section.steps:
        return None
    own, block = _own(view, section)
    layout = own.weave.layout
    row = block.kind == "row"
    count = layout.rows if row else layout.units
    if not layout.known or block.kind not in ("unit", "row") or count > MOST_PLACES:
        return None
    if layout.strands:
        own_runs = [s for s in layout.along if block in s.blocks]
        if len(own_runs) != 1 or len(own_runs[0].blocks) != 1:
            return None
        return Round("unit", tuple(range(1, own_runs[0].count + 1)))
    at = (layout.row_blocks(n) if row else layout.blocks_at(1, n) for n in range(1, count + 1))
    places = tuple(n for n, blocks in enumerate(at, 1) if any(b is block for b in blocks))
    return Round("row" if row else "unit", places, _sides(own, block, places))


def _own(view: View, section: Sheet) -> tuple[View, Block]:
    """The piece a section belongs to, and its steps as they are written."""
    number = section.steps[0].number
    own = next((p for p in view.pieces if p.recipe.of == section.of), view)
    blocks = own.weave.layout.recipe.blocks
    return own, next(b for b in blocks if number in {s.number for s in b.steps})


def _sides(view: View, block: Block, places: Sequence[int]) -> str:
    varies = any(s.lay and s.lay.value == "varies" for s in block.steps)
    if view.chosen is None or not varies or view.weave.layout.flat:
        return ""
    sides, begin = view.chosen.sides, pattern_from(view.recipe)
    told = "".join(sides[(n - begin) % len(sides)][0].upper() for n in places)
    return told if len(set(told)) > 1 else ""


def boxes(view: View, section: Sheet, worked: Round | None) -> Html:
    """A box for every unit or row, or for every piece that is made first, to tick on the way.

    worked: what `round_of` says of the section.
    """
    if not section.steps:
        times = next(m.times for m in view.recipe.made if m.name.value == section.of)
        return _tally("Made", times) if 1 < times <= MOST_BOXES else Html("")
    own, block = _own(view, section)
    layout = own.weave.layout
    if layout.known and layout.strands and block.kind == "unit" and layout.units <= MOST_PLACES:
        runs = [s for s in layout.along if block in s.blocks and s.count > 1]
        if sum(s.count for s in runs) > MOST_BOXES:
            return Html("")
        names = [f"{s.strand} done" if len(runs) > 1 else "Units done" for s in runs]
        return joined(_tally(name, s.count) for name, s in zip(names, runs, strict=True))
    if worked is None or not 1 < len(worked.places) <= MOST_BOXES:
        return Html("")
    spans, count = worked.spans, len(worked.places)
    if len(spans) == 1 or len(spans) > min(MOST_RUNS, count // 2):
        told = " (F from the front, B from the back)" if worked.sides else ""
        return _tally(f"{worked.what.capitalize()}s done{told}", count, worked.sides)
    # What is worked in between has boxes of its own: each run ends where its boxes do.
    return joined(
        _tally(f"{numbers_words([span], worked.what).capitalize()} done", span[1] - span[0] + 1)
        for span in spans
    )


def _tally(what: str, count: int, letters: str = "") -> Html:
    """So many boxes to tick, in fives; letters: what stands in them, one for each."""
    names = letters or " " * count
    fives = [names[at : at + 5] for at in range(0, count, 5)]
    told = joined(
        element("span", Html("".join(f"<i>{c.strip()}</i>" for c in five)), "five")
        for five in fives
    )
    return Html(f'<p class="tally" aria-hidden="true">{escaped(what)}: {told}</p>')
