"""The heading of each section of a step list, and the line that says where its steps are worked.

Comes in: a `Weave`. Goes out: text. Numbers of units and rows are those of the whole piece.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby, takewhile

from ringstep.language.syntax import ROUND_BLOCKS, Block, BlockKind
from ringstep.language.words import listed, plural
from ringstep.paper.shape_words import MEANT, row_words, shape_words
from ringstep.weave.layout import Layout, refs_of
from ringstep.weave.piece import Weave
from ringstep.weave.stretches import Stretch
from ringstep.weave.work import Act

#: A list of turns longer than this is told in runs: '12 half, middle, 12 half'.
_LONG = 6


def heading(weave: Weave, block: Block) -> tuple[str, str]:
    """The heading over the steps of a block, and how often and where they are worked."""
    layout, kind = weave.layout, block.kind
    if kind == "join":
        return "Join", _joining(weave)
    if kind in ("start", "finish"):
        return str(kind).capitalize(), ""
    if kind in ("first row", "last row"):
        return str(kind).capitalize(), _one_row(layout, kind == "last row")
    if kind == "row":
        return _row(layout, block)
    if block.kind in ROUND_BLOCKS:
        return str(kind).capitalize(), _of_row(layout, block)
    if kind == "again":
        if layout.strands:
            each = listed([f"strand {s.strand} {plural(s.count, 'time')}" for s in layout.along])
            return "The strands again", f"Go along each again from its first unit: {each}."
        if not layout.flat:
            return (
                "The chain again",
                f"Go along it again from its first unit, {plural(layout.units, 'time')}:",
            )
        often = "" if layout.shape else f", {plural(layout.units, 'time')}"
        return "The row again", f"Go along the same row again{often}:"
    if kind == "row end":
        return "At the end of each row", ""
    before = f"{_more(layout, block)}{_before(weave, block)}"
    if isinstance(block.label, int):
        return _numbered(block, before)
    if layout.strands:
        return _strands(layout, block, before)
    if len(set(layout.order)) > 1:
        return f"Unit {block.label}", f"{turns(layout, layout.along, 'unit', block)}{before}"
    name = "The unit" if block.label is None else f"Unit {block.label}"
    own = [s for s in layout.along if not any(block is b for b in s.blocks)]
    if not layout.known:
        name = "Every further unit" if own else name
        return name, f"Repeat these steps until the piece is long enough.{before}"
    if not own:
        often = "Work these steps once." if layout.units == 1 else ""
        return name, f"{often or f'Repeat these steps {layout.units:,} times.'}{before}"
    if all(s in layout.along[: len(own)] for s in own):
        return "Every further unit", f"Go on like this up to unit {layout.units}.{before}"
    but = numbers_words([(s.first, s.first) for s in own])
    worked = _spans(s for s in layout.along if s not in own)
    return f"Every unit but {but}", f"Work these steps in {numbers_words(worked)}.{before}"


def _joining(weave: Weave) -> str:
    """How the pieces are laid ready, so that their numbers and their edges are known."""
    many = [made.name.value for made in weave.recipe.made if made.times > 1]
    names = listed([plural(2, name).removeprefix("2 ") for name in many])
    told = [f"Number the {names} as you take them."] if many else []
    edges = {r.of.edge for s in weave.recipe.steps() for r in refs_of(s) if r.of and r.of.edge}
    if edges - {"every unit"}:
        told.append("Rows and edges are named as a piece lies with its first row on top, its front"
                    " to you. Go along a row from left to right and along an edge downwards; 'from"
                    " its end on' is the other way.")  # fmt: skip
    elif edges:
        told.append("Go along each from its start on; 'from its end on' is the other way.")
    return " ".join(told)


def _strands(layout: Layout, block: Block, before: str) -> tuple[str, str]:
    """The strands that a block works: each from the start on, one after the other."""
    told = []
    own = [s for s in layout.along if block in s.blocks]
    again = "go back to the start and" if layout.block("start") else "begin anew beside it and"
    for at, strand in enumerate(layout.along):
        if strand not in own:
            continue
        often = f"work these steps {f'{strand.count:,} times' if strand.count > 1 else 'once'}"
        if not layout.known:
            often = "repeat these steps until it is long enough"
        words = f"{again} {often}" if at else often
        behind = layout.along[at - 1]
        done = f"When strand {behind.strand} is done, " if at else ""
        if len(own) == 1:
            told.append(f"{done}{words}." if done else f"{words[:1].upper()}{words[1:]}.")
        else:
            then = "Then strand" if told and behind in own else f"{done}{'s' if done else 'S'}trand"
            told.append(f"{then} {strand.strand}: {words}.")
    title = f"Strand {own[0].strand}" if len(own) == 1 else "The unit"
    return title, " ".join(told) + before


def _more(layout: Layout, block: Block) -> str:
    """The units worked by this block in which further steps follow."""
    also = [b.label for b in layout.recipe.blocks if b.differs == "also"]
    spots = [layout.spot(1, n) for n in also if isinstance(n, int)]
    here = [s.first for s, at in filter(None, spots) if s.block(at) is block]
    if not here:
        return ""
    units = numbers_words([(n, n) for n in here])
    names = listed([f"'Unit {n} also'" for n in here])
    return f" In {units} more steps follow: see {names}."


def _numbered(block: Block, before: str) -> tuple[str, str]:
    number = block.label
    if block.differs == "instead":
        return f"Unit {number}", f"This unit is another one: work only these steps in it.{before}"
    if block.differs == "also":
        told = f"After its own steps unit {number} gets these as well.{before}"
        return f"Unit {number} also", told
    return f"Unit {number}", before.strip()


def _row(layout: Layout, block: Block) -> tuple[str, str]:
    piece = layout.recipe.piece
    way = piece is not None and piece.back_and_forth and layout.rows > 1
    tail = " Work every second row the other way, back along the row above." if way else ""
    places = [set(r.places) for s in block.steps for r in refs_of(s)]
    if layout.kind == "tube" and any({"above", "next"} <= p for p in places):
        tail += " The row goes round: after the last unit of the row above comes its first."
    name = "Row" if block.label is None else f"Row {block.label}"
    often = plural(layout.units, "time")
    if layout.shape:
        often = "once for each of its places"
        tail += _odd_places(layout, block)
        own = [n for n in range(1, layout.rows + 1) if block in layout.row_blocks(n)]
        tail += f" {shape_words(layout, own)}"
    if len(set(layout.row_order)) > 1:
        told = turns(layout, tuple(s for s in layout.down if not s.fixed), "row", block)
        return name, f"{told} In each row work these steps {often}.{tail}"
    count = layout.rows - sum(bool(layout.block(k)) for k in ("first row", "last row"))
    if count == 1:
        return name, f"Work these steps {often} along the row.{tail}"
    rows = plural(count, "row")
    return name, f"Work {rows} like this; in each row work these steps {often}.{tail}"


def _one_row(layout: Layout, last: bool) -> str:
    """How a row of its own is worked."""
    row = layout.rows if last else 1
    wide = layout.width(row)
    often = "once" if wide == 1 else f"{plural(wide, 'time')} along the row"
    told = f"Work these steps {often}."
    if layout.way(row) < 0:
        told += " It is worked the other way, back along the row above."
    if layout.rounds and row > 1:
        block = layout.block("last row" if last else "first row")
        assert block is not None
        return f"{told}{_odd_places(layout, block)} {shape_words(layout, [row])}"
    return f"{told} {row_words(layout, row)}".rstrip() if layout.shape else told


def _odd_places(layout: Layout, block: Block) -> str:
    """What is worked at the extra and shared places of a row that has no steps of their own."""
    if not layout.rounds:
        return ""
    label = block.label if block.kind == "row" else block.kind
    own = [n for n in range(1, layout.rows + 1) if block in layout.row_blocks(n)]
    kinds = {layout.rounds.place_kind(n, u) for n in own for u in range(1, layout.width(n) + 1)}
    told = ""
    for kind in ("extra place", "shared place"):
        if kind in kinds and layout.block(kind, label):
            told += f" At {kind}s work the steps of '{kind.capitalize()}' instead."
        elif kind in kinds:
            told += f" {MEANT[kind]}"
    return told


def _of_row(layout: Layout, block: Block) -> str:
    """At which places the steps of an extra or a shared place are worked."""
    row = block.label if block.label in ("first row", "last row") else f"row {block.label or ''}"
    told = f"Work these steps at each {block.kind}, instead of those of"
    told += f" '{str(row).strip().capitalize()}'."
    return f"{told} {MEANT[block.kind]}"


def turns(layout: Layout, along: tuple[Stretch, ...], what: str, block: Block) -> str:
    """How named blocks take turns: a list that comes round again, or every one as it is worked.

    what: 'unit' or 'row'. block: the one over whose steps it is told.
    """
    going = [s for s in along if len(s.blocks) > 1]
    blocks = (going or [along[0]])[0].blocks
    own = [s for s in along if all(b.label == s.first for b in s.blocks) or s.fixed]
    ahead = list(takewhile(own.__contains__, along))
    places = sum(s.count for s in along) - sum(s.count for s in ahead)
    if going and (places > len(blocks) or not layout.known):
        first = going[0]
        order = [str(first.block(at).label) for at in range(len(blocks))]  # type: ignore[union-attr]
        since = f" from {what} {first.first} on" if ahead else ""
        last = along[-1]
        until = ", until the piece is long enough"
        if layout.known:
            end = last.first + last.count - 1
            until = f" up to {what} {end}"
            if last in going and places % len(blocks):
                until += f", which is {last.block(last.count - 1).label}"  # type: ignore[union-attr]
        told = f"{what.capitalize()}s take turns{since}: {_runs(order)}, and so on{until}."
        middle = [s.first for s in own if s not in ahead and s.blocks[0].differs != "also"]
        if middle:
            its = numbers_words([(n, n) for n in middle])
            told += f" But {its} {'has its' if len(middle) == 1 else 'have their'} own steps."
        return told
    return _plan(layout, along, what, block)


def _plan(layout: Layout, along: tuple[Stretch, ...], what: str, block: Block) -> str:
    """Runs worked once: the block that begins has the list of all, any other its own places and
    the step to go on with, so that nobody looks for it on another page."""
    runs: list[tuple[Block, int, int]] = []
    for stretch in along:
        alone = len(stretch.blocks) == 1
        for at in range(1 if alone else stretch.count):
            own, first = stretch.block(at), stretch.first + at
            last = stretch.first + stretch.count - 1 if alone else first
            if own and runs and runs[-1][0] is own:
                runs[-1] = own, runs[-1][1], last
            elif own:
                runs.append((own, first, last))
    kinds: tuple[BlockKind, ...] = ("last row", "finish") if layout.flat else ("again", "finish")
    behind = next((b for k in kinds if (b := layout.block(k))), None)
    stop = f"{_BEHIND[behind.kind]} ({steps_words(behind)})" if behind else "stop"
    places = [(first, last) for run, first, last in runs if run is block]
    if not places:  # in a draft, where another section has the same name
        return "This section is worked nowhere in the piece."
    begins = next(run for run, _, _ in runs if not isinstance(run.label, int))
    if block is not begins:
        once = ", once" if len(places) == 1 and places[0][0] == places[0][1] else ""
        told = f"Work these steps in {numbers_words(places, what)}{once}."
        if len(places) > 1:
            listed_under = f"{what.capitalize()} {begins.label}"
            return f"{told} What comes between and after is listed under '{listed_under}'."
        at = next(n for n, (run, _, _) in enumerate(runs) if run is block)
        if at + 1 == len(runs):
            return f"{told} Then {stop}."
        run, first, last = runs[at + 1]
        back = "go back" if any(run is earlier for earlier, _, _ in runs[:at]) else "go on"
        to = f"{_run_name(run)}, {steps_words(run)}"
        return f"{told} Then {back} to {to}, for {numbers_words([(first, last)], what)}."
    told_runs: list[str] = []
    for at, (run, first, last) in enumerate(runs):
        new = all(run is not earlier for earlier, _, _ in runs[:at])
        steps = f" ({steps_words(run)})" if new else " again" if at == 2 else ""
        where = numbers_words([(first, last)], what).capitalize()
        told_runs.append(f"{where}: {'' if at else 'work '}{_run_name(run)}{steps}.")
    return f"{' '.join(told_runs)} Then {stop}."


#: What follows the runs of a piece.
_BEHIND = {
    "again": "go along the chain again",
    "last row": "work the last row",
    "finish": "the finish",
}


def _run_name(block: Block) -> str:
    """What a run is called: the name of its unit, or that it has a section of its own."""
    return "its own steps" if isinstance(block.label, int) else str(block.label)


def steps_words(block: Block) -> str:
    """The steps of a block by number: 'step 2', 'steps 3 and 4', 'steps 3 to 5'."""
    first, last = block.steps[0].number, block.steps[-1].number
    each = [(first, first), (last, last)] if last == first + 1 else [(first, last)]
    return numbers_words(each, "step")


def _runs(order: list[str]) -> str:
    """A list of turns, a long one in runs: '12 half, middle and 12 half'."""
    if len(order) <= _LONG:
        return listed(order)
    runs = [(name, len(list(same))) for name, same in groupby(order)]
    return listed([f"{count} {name}" if count > 1 else name for name, count in runs])


def _spans(stretches: Iterable[Stretch]) -> list[tuple[int, int]]:
    """First and last number of stretches, those side by side together."""
    found: list[tuple[int, int]] = []
    for s in stretches:
        if found and found[-1][1] == s.first - 1:
            found[-1] = (found[-1][0], s.first + s.count - 1)
        else:
            found.append((s.first, s.first + s.count - 1))
    return found


def numbers_words(spans: list[tuple[int, int]], what: str = "unit") -> str:
    """Places by number.

    >>> numbers_words([(11, 11)]), numbers_words([(1, 10), (12, 20)])
    ('unit 11', 'units 1 to 10 and 12 to 20')
    """
    each = [str(a) if a == b else f"{a} to {b}" for a, b in spans]
    many = len(spans) > 1 or any(a != b for a, b in spans)
    return f"{what}{'s' * many} {listed(each)}"


def _before(weave: Weave, block: Block) -> str:
    """What 'the unit before' is where the steps of a unit reach back past unit 1."""
    acts = [a for a in weave.work.acts if a.block is block]
    bare = weave.layout.block("start") is None
    if bare and any(a.dropped and a.unit == 1 for a in acts):
        return " In the first unit leave out what reaches back: there is nothing before it yet."
    strands = weave.work.layout.strands
    first = {span.start for span in strands.spans.values()} if strands else {1}
    at_first = [a for a in acts if a.unit in first and _back_to_start(a)]
    if not at_first:
        return ""
    once = len({a.unit for a in acts}) == 1
    if len({a.unit for a in at_first}) > 1:
        return " In the first unit of each strand 'the unit before' is the start."
    return f" {'Here' if once else 'The first time,'} 'the unit before' is the start."


def _back_to_start(act: Act) -> bool:
    """True where a step of a first unit names a ring of the start as one of the unit before."""
    reached = (*act.through, *act.held, *act.handled)
    by_prev = any("prev" in r.places for r in refs_of(act.step))
    return by_prev and any(r.unit == 0 for r in reached)
