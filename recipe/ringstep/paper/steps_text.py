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
from ringstep.language.measures import gauge_words, text_mm
from ringstep.language.syntax import Block, RingKind
from ringstep.language.words import listed, plural
from ringstep.paper.cautions import CAUTIONS
from ringstep.paper.headings import heading
from ringstep.paper.sentences import Speaker
from ringstep.paper.sight import Sight
from ringstep.weave.steps import Act


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
    told = _Teller(view)
    return StepList(
        title=view.recipe.title or "Ring weave",
        piece=piece_words(view),
        variant=view.chosen.name if view.chosen else "",
        needs=needs(view),
        parts=tuple(f"{p.name}: {p.words}" for p in view.recipe.parts),
        cautions=CAUTIONS,
        notes=tuple(n.text for n in view.recipe.notes if n.topic not in ("source", "sample")),
        sections=tuple(s for b in view.recipe.blocks if (s := told.section(b)).steps),
        finished=finished_lines(view),
    )


def needs(view: View) -> tuple[Need, ...]:
    """The rings to lay ready, kind by kind."""
    parts = view.recipe.part_roles
    opened: Counter[int] = Counter()
    closed: Counter[int] = Counter()
    kinds: dict[int, RingKind] = {}
    names: dict[int, set[str]] = {}
    for how, tally in (("opened", view.weave.counts.opened), ("closed", view.weave.counts.closed)):
        for (role, index), n in tally.items():
            kind = view.weave.kind_of(role, index)
            if kind is None or role in parts:
                continue
            line = kind.span.line
            kinds[line] = kind
            (opened if how == "opened" else closed)[line] += n
            names.setdefault(line, set()).add(view.weave.bought_name(role, index))
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
    wire, inside = kind.mm
    words = []
    if wire and inside:
        words.append(f"wire {text_mm(wire)} mm ({gauge_words(wire)})")
        words.append(f"inside {text_mm(inside)} mm")
        words.append(f"AR {inside / wire:.1f}")
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
    if not weave.layout.flat:
        sides = {2 * r.unit > weave.work.layout.units for r in other}
        where = (
            "at the two ends"
            if len(sides) > 1
            else "at the end"
            if True in sides
            else "at the beginning"
        )
    return f"{where} they pass through {'fewer' if len(fewer) == len(other) else 'other numbers'}"


@dataclass
class _Teller:
    """Tells block after block; keeps the counts as the work grows."""

    view: View

    def __post_init__(self) -> None:
        self.speaker = Speaker(self.view)
        self.sight = Sight(self.view.weave, self.speaker)
        self.parts = self.view.recipe.part_roles

    def section(self, block: Block) -> Section:
        """The steps of a block; one that is left out everywhere is not told."""
        acts = [self.speaker.told[s.number] for s in block.steps if s.number in self.speaker.told]
        rings = [sum(r.role not in self.parts for r in a.new) for a in acts]
        used, total = accumulate(rings), sum(rings)
        return Section(
            *heading(self.view.weave, block),
            tuple(
                self._step(a, _used(block, done, total) if now else "")
                for a, now, done in zip(acts, rings, used, strict=True)
            ),
        )

    def _step(self, act: Act, used: str) -> StepText:
        step = act.step
        told = self.speaker.sentence(act)
        return StepText(step.number, told, step.hint, used, self.sight.words(act))


def _used(block: Block, done: int, total: int) -> str:
    """How many rings of its section a student has used after a step that takes some."""
    if block.kind in ("start", "finish"):
        return f"{plural(done, 'ring')} used in the {block.kind} so far"
    what = "in this row end" if block.kind == "row end" else "in this unit"
    if total == 1:
        return f"1 ring used {what}"
    return f"{done} of {plural(total, 'ring')} used {what} so far"
