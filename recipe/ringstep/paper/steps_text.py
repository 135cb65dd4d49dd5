"""The numbered step list, worked out: every sentence, count and check mark a student needs.

Comes in: a checked `View`. Goes out: a frozen `StepList` that the terminal, Markdown and the
printed page all show in their own way.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import accumulate

from ringstep.checks.summary import (
    alone_words,
    finished_facts,
    long_piece_words,
    made_words,
    outside_words,
    placed_once,
    the_one,
)
from ringstep.checks.view import View, with_variant
from ringstep.language.measures import gauge_words, text_mm
from ringstep.language.syntax import Along, Block, RingKind
from ringstep.language.words import listed, plural
from ringstep.paper.cautions import CAUTIONS
from ringstep.paper.headings import heading
from ringstep.paper.printed import Printed, Sheet, StepText
from ringstep.paper.sentences import Speaker, sentence, size_words
from ringstep.paper.sight import Sight
from ringstep.weave.picture import Lot


@dataclass(frozen=True, slots=True)
class Need:
    """One kind of ring to lay ready. opened, closed: how many, 0 where it is not known."""

    name: str
    kind: RingKind
    opened: int
    closed: int

    @property
    def count(self) -> int:
        """How many in all."""
        return self.opened + self.closed

    @property
    def words(self) -> str:
        """The kind for the shopping list: wire with the nearest gauges, opening, AR, material."""
        wire, inside = self.kind.mm
        words = []
        if wire and inside:
            words = [f"wire {text_mm(wire)} mm ({gauge_words(wire)})"]
            words += [f"inside {text_mm(inside)} mm", f"AR {inside / wire:.1f}"]
        return ", ".join((*words, *self.kind.look))


@dataclass(frozen=True, slots=True)
class StepList:
    """Everything the list says, in reading order."""

    title: str
    piece: str
    variant: str
    needs: tuple[Need, ...]
    parts: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    sections: tuple[Sheet, ...]
    sizes: Sheet | None
    picture: Sheet | None
    finished: tuple[str, ...]

    @property
    def printed(self) -> Printed:
        """The whole list as sections to print one after the other."""
        variant = f", variant '{self.variant}'" if self.variant else ""
        needs = (*map(_ready, self.needs), *self.parts)
        tools = "two pairs of flat-jawed pliers, good light, a tray"
        sheets = [
            Sheet("You need", notes=(*needs, tools)),
            *([self.sizes] if self.sizes else []),
            Sheet("Before you begin", notes=self.cautions),
            *self.sections,
        ]
        sheets += [self.picture] if self.picture else []
        if self.finished:
            sheets.append(Sheet("When it is done", notes=tuple(map(sentence, self.finished))))
        piece = f"{sentence(self.piece).removesuffix('.')}{variant}."
        return Printed(self.title, (piece, *self.notes), tuple(sheets))


def _ready(need: Need) -> str:
    """One kind of ring to lay ready, in a line."""
    if not need.count:
        return f"rings for {need.name}: {need.words}"
    if need.kind.stays_closed:
        return f"{plural(need.count, 'ring')} for {need.name}: {need.words}"
    both = ((need.opened, "opened"), (need.closed, "closed"))
    how = " and ".join(f"{count:,} {word}" for count, word in both if count)
    return f"{plural(need.count, 'ring')} for {need.name}: {need.words} ({how} beforehand)"


def step_list(view: View, variant: str | None = None) -> StepList:
    """Work out the step list of a checked recipe. Raises `NoVariant`."""
    view = with_variant(view, variant)
    speaker = Speaker(view)
    sight = Sight(view.weave, speaker)
    sections = [_section(view, speaker, sight, block) for block in view.recipe.blocks]
    sections = [*_made_first(view), *sections]
    return StepList(
        title=view.recipe.title or "Ring weave",
        piece=long_piece_words(view),
        variant=view.chosen.name if view.chosen else "",
        needs=needs(view),
        parts=tuple(f"{p.name}: {p.words}" for p in view.recipe.parts),
        cautions=CAUTIONS,
        notes=tuple(n.text for n in view.recipe.notes if n.topic not in ("source", "sample")),
        sections=tuple(s for s in sections if s.steps or (s.of and s.intro)),
        sizes=_sizes(view),
        picture=_picture(view),
        finished=finished_lines(view),
    )


def _made_first(view: View) -> Iterator[Sheet]:
    """The sections of the pieces that are made first, each under a line that says how many."""
    for made, own in zip(view.recipe.made, view.pieces, strict=True):
        name, speaker = made.name.value, Speaker(own)
        sight = Sight(own.weave, speaker)
        what = f"{'Each' if made.times > 1 else 'It'} is {alone_words(own)}. "
        aside = "Lay each aside when it is done." if made.times > 1 else "Lay it aside when done."
        yield Sheet(f"Make {made_words(made)}", intro=f"{what}{aside}", of=name)
        for block in own.recipe.blocks:
            told = _section(own, speaker, sight, block)
            title = f"{sentence(name)[:-1]}: {told.heading[:1].lower()}{told.heading[1:]}"
            yield replace(told, heading=title, of=name)


def needs(view: View) -> tuple[Need, ...]:
    """The rings to lay ready, kind by kind."""
    known = view.weave.layout.known
    found: dict[tuple[int, object], tuple[RingKind, list[Lot]]] = {}
    for lot in view.weave.lots:
        if kind := lot.kind:  # a letter of the picture may stand for rings of several lines
            line = kind.span.line, (kind.mm, kind.stays_closed)
            found.setdefault(line, (kind, []))[1].append(lot)
    return tuple(
        Need(
            listed(sorted({view.weave.bought_name(lot.role, lot.index) for lot in lots}))
            + (f", {kind.along}" if kind.along else ""),
            kind,
            sum(lot.opened for lot in lots) if known else 0,
            sum(lot.closed for lot in lots) if known else 0,
        )
        for _, (kind, lots) in sorted(found.items(), key=lambda item: item[0][0])
    )


def _sizes(view: View) -> Sheet | None:
    """Which size is taken where, stretch by stretch, where sizes change along the piece."""
    layout = view.weave.layout
    told = []
    for first, last, rings in view.weave.grading.stretches(view.weave.names):
        if rings:
            kinds = listed([f"{name} of {size_words(kind)}" for name, kind in rings])
            told.append(f"{Along(first, last, layout.flat, rings[0][1].span)}: {kinds}")
    if not told:
        return None
    place = "row" if layout.flat else "unit"
    intro = f"Take the rings of these sizes. 'Size for this {place}' in a step means this list."
    return Sheet("Which size where", intro=intro, notes=tuple(told))


def _picture(view: View) -> Sheet | None:
    """The rings of every row by colour, in the order in which they are worked."""
    colours = view.weave.colours
    if colours is None:
        return None
    rows, back = [], False
    for number, way, runs in colours.runs():
        told = ", ".join(f"{count:,} {words}" for count, words in runs) or "none of its rings"
        rows.append(f"row {number}{', back' if way < 0 else ''}: {told}")
        back |= way < 0
    way_words = "; rows marked 'back' are worked from right to left" if back else ""
    of = listed(colours.roles)
    intro = f"Take the rings of {of} in these colours, in the order of the work{way_words}."
    outside = f" {sentence(words)}" if (words := outside_words(view)) else ""
    return Sheet("The picture, row by row", intro=f"{intro}{outside}", notes=tuple(rows))


def finished_lines(view: View) -> tuple[str, ...]:
    """What the finished piece shows: how many rings each finished ring passes through."""
    lines, facts, alone = [], finished_facts(view), placed_once(view)
    for role, found in facts.items():
        who = the_one(role) if role in alone else f"every finished {role}"
        if not any(m.total() for m in found):
            lines.append(f"{who} is held in its place, linked with no ring")
            continue
        totals = listed([str(n) for n in sorted({m.total() for m in found})], "or")
        rings = "ring" if totals == "1" else "rings"
        how = "is linked with" if role in view.recipe.part_roles else "passes through"
        lines.append(f"{who} {how} {totals} {rings}")
    if lines and (ends := _at_ends(view, facts)):
        lines.append(ends)
    return tuple(lines)


def _at_ends(view: View, facts: dict[str, list[Counter[str]]]) -> str:
    """What the rings pass through that are never finished, since the piece ends beside them."""
    weave, finished = view.weave, set(view.weave.finished)
    counts = {role: {m.total() for m in found} for role, found in facts.items()}
    loose = [r for r in weave.work.links if r.role in facts and r not in finished]
    fewer = [r for r in loose if weave.met(r).total() < min(counts[r.role])]
    other = [r for r in loose if weave.met(r).total() not in counts[r.role]]
    if not other:
        return ""
    where = "at the edges"
    if weave.layout.strands:
        at_start, further = (any((r.unit == 0) is so for r in other) for so in (True, False))
        ends = ["at the start"] * at_start + ["at the ends of the strands"] * further
        where = listed(ends)
    elif not weave.layout.flat and not view.recipe.made:
        sides = {2 * r.unit > weave.work.layout.units for r in other}
        where = (
            "at the two ends"
            if len(sides) > 1
            else "at the end"
            if True in sides
            else "at the beginning"
        )
    return f"{where} they pass through {'fewer' if len(fewer) == len(other) else 'other numbers'}"


def _section(view: View, speaker: Speaker, sight: Sight, block: Block) -> Sheet:
    """The steps of a block; one that is left out everywhere is not told."""
    acts = [speaker.told[s.number] for s in block.steps if s.number in speaker.told]
    parts = view.recipe.part_roles
    rings = [sum(role not in parts for role, _ in act.step.placed) for act in acts]
    if block.kind == "join":
        every = [(a.step.number, r) for a in view.weave.work.acts for r in a.new]
        rings = [sum(n == a.step.number and r.role not in parts for n, r in every) for a in acts]
    steps = []
    for act, now, done in zip(acts, rings, accumulate(rings), strict=True):
        used = _used(block, done, sum(rings)) if now else ""
        step = act.step
        steps.append(
            StepText(step.number, speaker.sentence(act), step.hint, used, sight.words(act))
        )
    title, intro = heading(view.weave, block)
    return Sheet(title, intro=intro, steps=tuple(steps))


def _used(block: Block, done: int, total: int) -> str:
    """How many rings of its section a student has used after a step that takes some."""
    if block.kind == "join":
        return f"{plural(done, 'ring')} used for joining so far"
    if block.kind in ("start", "finish"):
        return f"{plural(done, 'ring')} used in the {block.kind} so far"
    what = "in this row end" if block.kind == "row end" else "in this unit"
    if total == 1:
        return f"1 ring used {what}"
    return f"{done} of {plural(total, 'ring')} used {what} so far"
