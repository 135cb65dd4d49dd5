"""The steps of the hand-out: each with its box to tick, its words and its picture.

Comes in: a `Edition`, a variant of a recipe with its step list and diagrams. Goes out: `Html`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from ringstep.checks.view import View
from ringstep.draw.pictures import Diagram
from ringstep.paper import panel, signs
from ringstep.paper.film import Scene
from ringstep.paper.finished import Finished
from ringstep.paper.page import Frame, Html, element, escaped, heading, joined, paragraph, tick
from ringstep.paper.printed import Sheet, StepText
from ringstep.paper.sentences import Speaker, sentence
from ringstep.paper.steps_text import StepList
from ringstep.paper.tally import Round, boxes, round_of

Pictures = Literal["both", "only", "none"]

#: Among the diagrams by the number of their step that of the whole piece, where it is joined.
WHOLE = 0
#: How much larger than in their files pictures are printed: labels of 9.6 and 13.6 points.
SCALE, LARGE_SCALE = 1.2, 1.7
#: A picture that takes more than this share of the column stands under its step, not beside it.
BESIDE = 0.52
#: Of the column, what a step takes that stands beside another.
HALF = 0.48
#: Of a diagram beside a count: its scale, and the room for it in mm.
MARK_SCALE, MARK_WIDE, MARK_HIGH = 0.8, 32.0, 22.0
#: mm, of a diagram that leads: words and count must stand on the same page.
TALL, LARGE_TALL = 165.0, 110.0
MM = 72 / 25.4


@dataclass(frozen=True, slots=True)
class Choices:
    """How the hand-out is printed.

    found: what the checks said, each finding in words; told to teachers and on drafts.
    note: why something is missing from the page, for the student. left_handed: left and right have
    changed places. photo: whether there is a frame for a photo of one's own. screen: for a screen,
    one step at a time.
    """

    frame: Frame
    pictures: Pictures = "both"
    teacher: bool = False
    found: tuple[str, ...] = ()
    note: str = ""
    left_handed: bool = False
    photo: bool = False
    screen: bool = False

    @property
    def wide_steps(self) -> bool:
        """True where no step stands beside another."""
        return self.screen or self.frame.large

    @property
    def larger(self) -> float:
        """By how much pictures are larger than in plain print."""
        return LARGE_SCALE / SCALE if self.wide_steps else 1.0


@dataclass(frozen=True, slots=True)
class Edition:
    """One variant of the recipe: its step list, and the diagram of each step by its number.

    scenes: the pictures of the real rings by step; others: those of places where a step is done in
    another way. piece: the finished piece; wrong: it with a slip that no count shows, and what that
    is. without: which pictures are missing and why.
    """

    view: View
    listing: StepList
    diagrams: Mapping[int, Diagram]
    scenes: Mapping[int, Scene] = field(default_factory=dict)
    others: Sequence[Scene] = ()
    piece: Finished | None = None
    wrong: tuple[str, Finished] | None = None
    without: Sequence[str] = ()


def like_steps(listing: StepList) -> dict[int, int]:
    """Steps of written-out units that say the same as an earlier unit's, and that earlier step.

    Their pictures differ in the number of the unit only, so one picture is enough.
    """
    first: dict[tuple[int, str], int] = {}
    found: dict[int, int] = {}
    for section in listing.sections:
        if re.fullmatch(r"Unit \d+", section.heading):
            for place, step in enumerate(section.steps):
                earlier = first.setdefault((place, step.sentence), step.number)
                if earlier != step.number:
                    found[step.number] = earlier
    return found


# -- pictures ------------------------------------------------------------------------------------

_SIZE = re.compile(r'(<svg\b[^>]*?) width="([\d.]+)pt" height="([\d.]+)pt"')


def sized(svg: str, scale: float, room: float, high: float = math.inf) -> tuple[Html, float]:
    """A diagram at the scale of the page, no larger than `room` and `high` mm; its width in mm."""
    found = _SIZE.search(svg)
    if found is None:
        return Html(svg), room
    wide, tall = float(found[2]), float(found[3])
    scale = min(scale, room * MM / wide, high * MM / tall)
    size = f' width="{wide * scale:.0f}pt" height="{tall * scale:.0f}pt"'
    return Html(_SIZE.sub(lambda m: m[1] + size, svg, count=1)), wide * scale / MM


# -- steps ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Steps:
    """The steps of one variant, section by section.

    shared: the list of the variant printed before, whose steps are not printed again.
    """

    edition: Edition
    drawn: Mapping[str, str]
    choices: Choices
    several: bool
    shared: StepList | None = None

    @cached_property
    def _speakers(self) -> tuple[Speaker, ...]:
        return tuple(Speaker(view) for view in (self.edition.view, *self.edition.view.pieces))

    @cached_property
    def _like(self) -> dict[int, int]:
        return like_steps(self.edition.listing)

    def _short(self, number: int) -> str:
        """What a picture alone does not tell: which rings are taken, how many they go through,
        and from which side; "" for a step that has its own words, such as what only holds."""
        speaker = next(s for s in self._speakers if number in s.told)
        act = speaker.told[number]
        if not act.through or act.held or act.step.kind != "add":
            return ""
        side = speaker.side(act.step, act).removesuffix(", ")
        picks = f"Picks up {speaker.picks(act).replace(' picked up', '')}"
        lies = speaker.toward(act).removesuffix(".")
        return " ".join(f"{w}." for w in (speaker.new_rings(act)[0], side, picks, lies) if w)

    def html(self) -> Html:
        """All sections, under the name of the variant where there are several."""
        listing = self.edition.listing
        level = 3 if self.several else 2
        before = {
            s.number: s for x in (self.shared.sections if self.shared else ()) for s in x.steps
        }
        sections = [
            replace(s, steps=tuple(x for x in s.steps if x != before.get(x.number)))
            for s in listing.sections
        ]
        sections = [s for s in sections if s.steps or (s.of and self.shared is None)]
        cells = [cell for s in sections for cell in self._section(s, level)]
        if not self.several:
            return joined(_rows(cells))
        title = heading(2, f"Variant {listing.variant}")
        if self.shared is not None:
            same = f"All steps that are not told here are those of {self.shared.variant}."
            title = joined([title, paragraph(same)])
        return joined(_rows([Cell(title, head=True), *cells]))

    def cells(self) -> Iterator[Cell]:
        """The headings and steps of all sections, one by one."""
        for section in self.edition.listing.sections:
            yield from self._section(section, 2)

    def _section(self, section: Sheet, level: int) -> Iterator[Cell]:
        """The heading of a section with what stands under it, and its steps."""
        # the heading may stand beside the last step of the section before
        numbers = [s.number for s in section.steps]
        which = f"step {numbers[0]}," if len(numbers) == 1 else "these steps"
        which = f"steps {numbers[0]} to {numbers[-1]}," if len(numbers) > 1 else which
        words = re.sub("(?<!only )these steps", which, section.intro)
        intro = paragraph(words, "intro") if words else Html("")
        worked = round_of(self.edition.view, section)
        again = Html("")
        if self.choices.pictures != "none" and worked is not None and len(worked.places) > 1:
            again = signs.shown(signs.again(len(worked.places)), self.choices.larger)
        title = element("div", joined([heading(level, section.heading), again]), "part")
        told = joined([title, intro, boxes(self.edition.view, section, worked)])
        yield Cell(told, head=True, round=worked)
        last = next((s for s in reversed(section.steps) if s.see), None)
        for step in section.steps:
            yield Cell(self._step(step, level + 1, step is last), wide=self._wide(step))

    @property
    def _half(self) -> float:
        """The room of a step, mm: in large print each has the whole column."""
        return self.choices.frame.text_wide * (1.0 if self.choices.wide_steps else HALF)

    @cached_property
    def _panels(self) -> dict[int, panel.Panel]:
        if self.choices.pictures == "none":
            return {}
        flat = self.edition.view.weave.layout.flat
        shown = {n: [s] for n, s in self.edition.scenes.items()}
        for scene in self.edition.others:
            shown[scene.number].append(scene)
        return {n: panel.Panel(s[0], tuple(s[1:]), flat) for n, s in shown.items()}

    @cached_property
    def _scale(self) -> float:
        whole = self.choices.frame.text_wide
        return panel.scale_of(self._panels.values(), self._half, whole, self.choices.larger)

    def _step(self, step: StepText, level: int, last: bool) -> Html:
        shown = self._panels.get(step.number)
        speaker = next(s for s in self._speakers if step.number in s.told)
        act = speaker.told[step.number]
        sides = speaker.side(act.step, act)
        told = [signs.shown(sign, self.choices.larger) for sign in signs.signs_of(act, sides)]
        told = [] if self.choices.pictures == "none" else told
        name = f"Step {step.number}"
        head = joined([tick(f"{name} done"), heading(level, name), *told])
        words = [element("div", head, "head")]
        mark, beside = Html(""), False
        if shown:
            picture, mark = shown.html(self._scale), self._mark(step.number)
        else:
            picture, beside = self._diagram(step)
        if self.choices.pictures == "only" and picture:
            words.append(paragraph(self._short(step.number) or step.sentence, "do"))
        else:
            do = speaker.brief(act) if shown else step.sentence
            hint = element("em", escaped(sentence(step.hint))) if step.hint else Html("")
            do = re.sub(r"(\d) (?=ring)", "\\1\u00a0", do)  # a number does not part from its rings
            words.append(element("p", joined([element("span", escaped(do)), hint]), "do"))
            words.append(_look(step, last, mark))
        if picture and not beside:
            words.insert(2, picture)
        inside = [picture, *words] if beside else words
        kind = "step wide" if self._wide(step) else "step"
        return element("section", Html(f"\n{joined(inside)}\n"), kind, data_step=str(step.number))

    def _wide(self, step: StepText) -> bool:
        """True where a step does not stand beside another."""
        shown = self._panels.get(step.number)
        return self.choices.wide_steps or not shown or shown.most(self._half) < self._scale

    def _mark(self, number: int) -> Html:
        """The diagram of a step, small, beside what is counted."""
        diagram = self.edition.diagrams.get(number)
        if diagram is None or diagram.name not in self.drawn:
            return Html("")
        sizes = (x * self.choices.larger for x in (MARK_SCALE, MARK_WIDE, MARK_HIGH))
        return element("span", sized(self.drawn[diagram.name], *sizes)[0], "mark")

    def _diagram(self, step: StepText) -> tuple[Html, bool]:
        """The diagram of a step without real rings, and whether it stands beside the words."""
        choices = self.choices
        if choices.pictures == "none":
            return Html(""), False
        diagram = self.edition.diagrams.get(step.number)
        if diagram is None or diagram.name not in self.drawn:
            earlier = self._like.get(step.number)
            if earlier is None or choices.pictures == "only" or not self.drawn:
                return Html(""), False
            return paragraph(f"The picture is that of step {earlier}.", "quiet"), False
        scale = LARGE_SCALE if choices.frame.large else SCALE
        room = choices.frame.text_wide
        high = LARGE_TALL if choices.frame.large else TALL
        svg, wide = sized(self.drawn[diagram.name], scale, room, high)
        beside = wide <= BESIDE * room
        return element("figure", svg, "beside" if beside else "below"), beside


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands beside another on the page, or by itself where it is wide; or a heading, which
    stands beside a step only where that would stand alone. round: how often a section is worked."""

    html: Html
    wide: bool = False
    head: bool = False
    round: Round | None = None


def _rows(cells: Sequence[Cell]) -> list[Html]:
    """Cells two by two; a heading with what follows it on one page."""
    told: list[Html] = []
    heads: list[Html] = []
    beside: Html | None = None  # a step that has room beside it
    for at, cell in enumerate(cells):
        if beside is not None:
            first, beside = beside, None
            if not cell.wide:
                other = element("div", cell.html, "step") if cell.head else cell.html
                told.append(_row(heads, first, other))
                continue
            told.append(_row(heads, first, _NOTHING))
        if cell.head:
            heads.append(cell.html)
        elif cell.wide:
            told.append(_row(heads, cell.html))
        elif at == len(cells) - 1:
            told.append(_row(heads, cell.html, _NOTHING))
        else:
            beside = cell.html
    return [*told, *heads]


_NOTHING = Html('<div class="step"></div>')


def _row(heads: list[Html], *cells: Html) -> Html:
    """One row with the headings above it, which are taken from the list."""
    row = element("div", joined(cells), "row")
    above, heads[:] = [*heads], []
    return element("div", joined([*above, row]), "whole") if above else row


def _look(step: StepText, last: bool, mark: Html) -> Html:
    """What to look at; a place to stop and count where rings are finished now, and at the last
    step of a section that has something to see. mark: the diagram that goes with a count."""
    plain = not step.used or step.used == "1 ring used in this unit"
    used = "" if plain else escaped(sentence(step.used))
    see = escaped(sentence(step.see)) if step.see else ""
    if see and (last or re.search(r"\b(is|are) finished\b", step.see)):
        box = tick(f"Step {step.number} counted")
        words = f"<b>Stop and count.</b> {see} {used}"
        return element("p", joined([mark, box, Html(words.strip())]), "stop")
    told = [f"<b>See:</b> {see}" if see else "", used]
    return element("p", joined(map(Html, told)), "see") if any(told) else Html("")
