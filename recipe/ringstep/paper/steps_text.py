"""The numbered step list, worked out: every sentence, count and check mark a student needs.

Comes in: a checked `View`. Goes out: a frozen `StepList` that the terminal, Markdown and the
printed page all show in their own way.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import accumulate

from ringstep.checks.summary import piece_words
from ringstep.checks.view import View, with_variant
from ringstep.language.measures import aspect_ratio, gauge_text, nearest_awg, nearest_swg, text_mm
from ringstep.language.syntax import Block, RingKind, first_repeated
from ringstep.language.words import listed, plural
from ringstep.paper.cautions import CAUTIONS
from ringstep.paper.sentences import Speaker
from ringstep.weave.layout import mm_or_none, refs_of
from ringstep.weave.phrases import end_phrase, number_word, seen_phrase
from ringstep.weave.steps import Act, Ring, Work


@dataclass(frozen=True, slots=True)
class StepText:
    """One step on paper.

    number: as in the recipe; sentence: what to do; hint: the author's own words.
    used: rings used so far; see: what to look at before going on.
    """

    number: int
    sentence: str
    hint: str
    used: str
    see: str


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the list: its heading, a line that says how often, and its steps."""

    heading: str
    intro: str
    steps: tuple[StepText, ...]


@dataclass(frozen=True, slots=True)
class Need:
    """One kind of ring to lay ready. words: the kind; count: how many, 0 where it is not known."""

    name: str
    words: str
    count: int
    opened: int
    closed: int


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
    sections: tuple[Section, ...]
    finished: tuple[str, ...]


def step_list(view: View, variant: str | None = None) -> StepList:
    """Work out the step list of a checked recipe. Raises `NoVariant`."""
    view = with_variant(view, variant)
    told = _Teller(view, view.weave.steady)
    return StepList(
        title=view.recipe.title or "Ring weave",
        piece=piece_words(view),
        variant=view.chosen.name if view.chosen else "",
        needs=needs(view),
        parts=tuple(f"{p.name}: {p.words}" for p in view.recipe.parts),
        cautions=CAUTIONS,
        notes=tuple(n.text for n in view.recipe.notes if n.topic not in ("source", "sample")),
        sections=tuple(told.section(b) for b in view.recipe.blocks if b.steps),
        finished=finished_lines(view),
    )


def needs(view: View) -> tuple[Need, ...]:
    """The rings to lay ready, kind by kind."""
    parts = view.recipe.part_roles
    opened: Counter[int] = Counter()
    closed: Counter[int] = Counter()
    kinds: dict[int, RingKind] = {}
    names: dict[int, set[str]] = {}
    for how, tally in (("opened", view.counts.opened), ("closed", view.counts.closed)):
        for (role, index), n in tally.items():
            kind = view.kind_of(role, index)
            if kind is None or role in parts:
                continue
            line = kind.span.line
            kinds[line] = kind
            (opened if how == "opened" else closed)[line] += n
            names.setdefault(line, set()).add(view.bought_name(role, index))
    known = view.weave.layout.known
    return tuple(
        Need(
            listed(sorted(names[line])),
            kind_words(kinds[line]),
            (opened[line] + closed[line]) if known else 0,
            opened[line] if known else 0,
            closed[line] if known else 0,
        )
        for line in sorted(kinds)
    )


def kind_words(kind: RingKind) -> str:
    """A ring kind for the shopping list: wire with the nearest gauges, opening, AR, material."""
    wire, inside = mm_or_none(kind.wire), mm_or_none(kind.inside)
    words = []
    if wire and inside:
        awg, swg = nearest_awg(wire)[0], nearest_swg(wire)[0]
        words.append(
            f"wire {text_mm(wire)} mm (nearest {gauge_text(awg)} AWG, {gauge_text(swg)} SWG)"
        )
        words.append(f"inside {text_mm(inside)} mm")
        words.append(f"AR {aspect_ratio(inside, wire):.1f}")
    words += [w for w in (kind.material, kind.colour) if w]
    return ", ".join(words)


def finished_lines(view: View) -> tuple[str, ...]:
    """What the finished piece shows: how many rings each finished ring passes through."""
    from ringstep.checks.summary import finished_facts

    lines, facts = [], finished_facts(view)
    for role, found in facts.items():
        if not any(m.total() for m in found):
            lines.append(f"every finished {role} is held in its place, linked with no ring")
            continue
        totals = listed([str(n) for n in sorted({m.total() for m in found})], "or")
        rings = "ring" if totals == "1" else "rings"
        lines.append(f"every finished {role} passes through {totals} {rings}")
    layout = view.weave.layout
    if lines and layout.repeats and layout.kind != "loop":
        where = "at the edges" if layout.flat else "at the two ends"
        most = {role: max(m.total() for m in found) for role, found in facts.items()}
        work = view.weave.steady
        more = any(len(near) > most.get(ring.role, len(near)) for ring, near in work.links.items())
        number = "other numbers" if more else "fewer"
        lines.append(f"{where} they pass through {number}, as they do from the start")
    return tuple(lines)


@dataclass
class _Teller:
    """Tells block after block; keeps the counts as the work grows."""

    view: View
    work: Work

    def __post_init__(self) -> None:
        self.speaker = Speaker(self.view, self.work)
        self.numbers = {(a.step.number, a.row, a.unit): i for i, a in enumerate(self.work.acts)}
        self.final = {r: len(o) for r, o in self.work.links.items()}
        repeat = self.view.weave.repeat
        self.steady = (
            {(c.role, c.index): len(near) for c, near in repeat.neighbours.items()}
            if repeat
            else {}
        )
        self.acts = self._chosen_acts()
        self.parts = self.view.recipe.part_roles

    def _chosen_acts(self) -> dict[int, Act]:
        """For each step the act that is told: the first one in which nothing is left out."""
        found: dict[int, Act] = {}
        layout = self.work.layout
        for act in self.work.acts:
            number = act.step.number
            old = found.get(number)
            late = layout.reach < act.unit <= layout.units - layout.reach
            late = late or not layout.flat or act.block.kind == "row end"
            better = old is not None and (
                (old.dropped and not act.dropped)
                or (not old.dropped and not act.dropped and self._places(act) > self._places(old))
            )
            if old is None or (better and late):
                found[number] = act
        return found

    def _places(self, act: Act) -> bool:
        """True once every unit that the act reaches back to is a repeating one."""
        layout = self.work.layout
        return act.unit > layout.written + 2 * layout.reach and (
            not layout.flat or act.row > layout.edge_rows + layout.row_reach
        )

    def section(self, block: Block) -> Section:
        heading, intro = self._heading(block)
        acts = [self.acts[s.number] for s in block.steps]
        rings = [sum(r.role not in self.parts for r in a.new) for a in acts]
        used, total = accumulate(rings), sum(rings)
        return Section(
            heading,
            intro,
            tuple(
                self._step(a, _used(block, done, total) if now else "")
                for a, now, done in zip(acts, rings, used, strict=True)
            ),
        )

    def _heading(self, block: Block) -> tuple[str, str]:
        layout, kind = self.view.weave.layout, block.kind
        starts = layout.block("start") is not None
        if kind == "start":
            return "Start", ""
        if kind == "finish":
            return "Finish", ""
        if kind == "first row":
            return "First row", f"Work these steps {plural(layout.units, 'time')} along the row."
        if kind == "row":
            way = self.view.recipe.piece.back_and_forth if self.view.recipe.piece else False
            back = " Work every second row the other way, back along the row above." if way else ""
            places = [set(r.places) for s in block.steps for r in refs_of(s)]
            if layout.kind == "tube" and any({"above", "next"} <= p for p in places):
                back += " The row goes round: after the last unit of the row above comes its first."
            heading = "Row" if block.label is None else f"Row {block.label}"
            if len(layout.row_order) > 1:
                turn = [str(b.label) for b in layout.row_order]
                words = f"Rows take turns: {listed(turn)}, and so on; in each work these steps"
                return heading, f"{words} {plural(layout.units, 'time')}.{back}"
            rows = plural(layout.rows - bool(layout.block("first row")), "row")
            words = f"Work {rows} like this; in each row work these steps"
            return heading, f"{words} {plural(layout.units, 'time')}.{back}"
        if kind == "again":
            return "The row again", f"Go along the same row again, {plural(layout.units, 'time')}:"
        if kind == "row end":
            return "At the end of each row", ""
        before = ""  # what to do where 'the unit before' is none
        if not starts:
            before = (
                " In the first unit leave out what reaches back: there is nothing before it yet."
            )
        elif not layout.written:
            before = " The first time, 'the unit before' is the start."
        if isinstance(block.label, int):
            words = "Here 'the unit before' is the start." if starts else ""
            return f"Unit {block.label}", words if block.label == 1 else ""
        heading = "The unit" if block.label is None else f"Unit {block.label}"
        if len(layout.order) > 1:
            return heading, self._turns(block, before)
        if not layout.known:
            return heading, f"Repeat these steps until the piece is long enough.{before}"
        if layout.written:
            heading = "Every further unit" if block.label is None else heading
            return heading, f"Go on like this up to unit {layout.units}."
        return heading, f"Repeat these steps {plural(layout.units, 'time')}.{before}"

    def _turns(self, block: Block, before: str) -> str:
        """How named units take turns, told from the first that is not written out."""
        layout = self.view.weave.layout
        first = first_repeated(layout.recipe.blocks)
        order = [
            layout.order[(first - 1 + i) % len(layout.order)] for i in range(len(layout.order))
        ]
        since = f" from unit {first} on" if first > 1 else ""
        until = "" if layout.known else ", until the piece is long enough"
        told = (
            f"Units take turns{since}: {listed([str(b.label) for b in order])}, and so on{until}."
        )
        return told + (before if first == 1 and block is order[0] else "")

    def _step(self, act: Act, used: str) -> StepText:
        step = act.step
        return StepText(step.number, self.speaker.sentence(act), step.hint, used, self._see(act))

    def _see(self, act: Act) -> str:
        """How many rings the rings of this step pass through now, and which are finished."""
        if not act.through:
            return ""
        number = self.numbers[(act.step.number, act.row, act.unit)]
        groups: dict[tuple[int, bool, str, str], list[str]] = {}
        flat, movers = self.work.layout.flat, act.handled if act.step.kind == "reopen" else act.new
        for ring in (*movers, *act.through):
            if flat and ring.row == 0 < act.row <= self.work.layout.rows:
                continue  # a ring of the start meets more with every unit of the row
            now = self.work.meets_after(ring, number)
            done = now == self._final(ring)
            key = (now, done, self._where(ring, act), self._at_first(ring, act, now))
            groups.setdefault(key, []).append(self.speaker.called(ring))
        words = []
        for (now, done, where, first), names in groups.items():
            verb = "passes" if len(names) == 1 else "each pass"
            who = listed(names) if len(names) < 4 else f"all {number_word(len(names))}"
            words.append(
                f"{who}{where} {verb} through {plural(now, 'ring')}{first}"
                + (f" and {'is' if len(names) == 1 else 'are'} finished" if done else "")
            )
        told = "; ".join(words)
        if not told or not flat or act.block.kind in ("start", "finish"):
            return told
        if act.block.kind == "row end":
            return f"after the first rows {told}"
        return f"away from the edges {told}"

    def _at_first(self, ring: Ring, act: Act, now: int) -> str:
        """What to see instead in the first units, whose neighbours are those of the start.

        A student counts at the very first stop already, and must not think herself wrong.
        """
        layout = self.work.layout
        if layout.flat or act.block.kind != "unit" or isinstance(act.block.label, int):
            return ""
        counts: list[int | None] = []
        for unit in range(layout.written + 1, act.unit):
            at = self.numbers.get((act.step.number, act.row, unit))
            if at is None:
                continue
            early = self.work.acts[at]
            twin = ring._replace(unit=ring.unit - act.unit + unit)
            there = twin in early.new or twin in early.through
            counts.append(self.work.meets_after(twin, at) if there else None)
        while counts and counts[-1] == now:
            counts.pop()
        if len(counts) == 1 and counts[0] is not None:
            return f" ({counts[0] or 'none'} the first time)"
        return f" (fewer in the first {number_word(len(counts))} units)" if any(counts) else ""

    def _final(self, ring: Ring) -> int | None:
        """How many rings a ring meets when it is finished; None where its kind of place is never
        finished, as at the ends of a piece."""
        act = self.work.acts[self.work.placed_by[ring]]
        if self.work.layout.kind == "loop":
            return self.final.get(ring)
        if act.block.kind in ("start", "finish", "first row", "row end"):
            return None
        if isinstance(act.block.label, int):
            late = ring.unit > self.work.layout.units - self.work.layout.reach
            return None if late else self.final.get(ring)
        return self.steady.get((ring.role, ring.index))

    def _where(self, ring: Ring, act: Act) -> str:
        if (ring.row, ring.unit) == (act.row, act.unit) or ring.role in self.parts:
            return ""
        refs = (*act.step.through, *act.step.refs)
        ref = next((r for r in refs if ring in self.speaker.rings_of(r, act)), None)
        if ref and (where := end_phrase(self.work.layout, ref, ring, act)):
            return f" {where}"
        if ring.unit == 0 and not self.work.layout.flat:
            return " of the start" if act.block.kind != "unit" else " of the unit before"
        back = act.unit - ring.unit
        if ring.row != act.row:
            return f" {seen_phrase(act.row - ring.row, back * self.work.layout.way(act.row))}"
        steps = back * self.work.layout.way(act.row)
        named = {1: " of the unit before", 2: " of the unit two before", -1: " of the next unit"}
        return named.get(steps, " of another unit")


def _used(block: Block, done: int, total: int) -> str:
    """How many rings of its section a student has used after a step that takes some."""
    if block.kind in ("start", "finish"):
        return f"{plural(done, 'ring')} used in the {block.kind} so far"
    what = "in this row end" if block.kind == "row end" else "in this unit"
    if total == 1:
        return f"1 ring used {what}"
    return f"{done} of {plural(total, 'ring')} used {what} so far"
