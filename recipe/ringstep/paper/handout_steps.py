"""The steps of the hand-out: each with its box to tick, its words and its picture.

Comes in: a `Edition`, a variant of a recipe with its step list and diagrams. Goes out: `Html`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from ringstep.checks.view import View
from ringstep.draw.pictures import Diagram
from ringstep.paper.headings import numbers_words
from ringstep.paper.page import Frame, Html, element, escaped, heading, joined, paragraph, tick
from ringstep.paper.printed import Sheet, StepText
from ringstep.paper.sentences import Speaker, sentence
from ringstep.paper.steps_text import StepList

Pictures = Literal["both", "only", "none"]

#: Among the diagrams by the number of their step that of the whole piece, where it is joined.
WHOLE = 0
#: How much larger than in their files pictures are printed: labels of 9.6 and 13.6 points.
SCALE, LARGE_SCALE = 1.2, 1.7
#: A picture that takes more than this share of the column stands under its step, not beside it.
BESIDE = 0.52
#: More boxes than this to tick, one for each unit or row, are a wall and no help.
MOST_BOXES = 60
#: Runs of a section that have their boxes apart; more are too short to be counted each by itself.
MOST_RUNS = 4
#: Units or rows of a piece that is looked through for those that get a box.
MOST_PLACES = 600
#: mm to a pixel of a picture of real rings: the widest ring, of 110 pixels, is 28 mm.
RING_SCALE = 28 / 110
#: Such pictures take at most this share of the column, and are no higher than so many mm.
RINGS_WIDE, RINGS_HIGH = 0.5, 60.0
MM = 72 / 25.4


@dataclass(frozen=True, slots=True)
class Choices:
    """How the hand-out is printed.

    found: what the checks said, each finding in words; told to teachers and on drafts.
    note: why something is missing from the page, for the student.
    photo: whether there is a frame for a photo of one's own.
    """

    frame: Frame
    pictures: Pictures = "both"
    teacher: bool = False
    found: tuple[str, ...] = ()
    note: str = ""
    photo: bool = False


@dataclass(frozen=True, slots=True)
class Edition:
    """One variant of the recipe: its step list, and the diagram of each step by its number.

    rings: the picture of the real rings (SVG) after a step. without: which are missing and why.
    """

    view: View
    listing: StepList
    diagrams: Mapping[int, Diagram]
    rings: Mapping[int, str] = field(default_factory=dict)
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


def sized(svg: str, scale: float, room: float) -> tuple[Html, float]:
    """A picture at the scale of the page, no wider than `room` mm; and its width in mm."""
    found = _SIZE.search(svg)
    if found is None:
        return Html(svg), room
    wide, high = float(found[2]), float(found[3])
    scale = min(scale, room * MM / wide)
    size = f' width="{wide * scale:.0f}pt" height="{high * scale:.0f}pt"'
    return Html(_SIZE.sub(lambda m: m[1] + size, svg, count=1)), wide * scale / MM


_OPENING = re.compile(
    r'<svg\b[^>]*? width="([\d.]+)" height="([\d.]+)"([^>]*>)\s*(?:<title>.*?</title>\s*)?'
    r"<desc>(.*?)</desc>",
    re.S,
)


def computed(svg: str, scale: float, room: float) -> Html:
    """The picture of the real rings as it stands on the page; all rings of a page in one scale.

    scale: mm to a pixel of the picture. room: of the column, in mm.
    """
    found = _OPENING.search(svg)
    if found is None:
        return Html("")
    wide, high = float(found[1]), float(found[2])
    scale = min(scale, RINGS_WIDE * room / wide, RINGS_HIGH / high) * MM
    opening = (
        f'<svg role="img" aria-label="the real rings {found[4]}"'
        f' xmlns="http://www.w3.org/2000/svg" width="{wide * scale:.0f}pt"'
        f' height="{high * scale:.0f}pt"{found[3]}'
    )
    picture = Html(opening + svg[found.end() :].strip())
    told = element("span", escaped("computed"), "quiet")
    return element("span", joined([picture, told]), "rings")


# -- steps ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Steps:
    """The steps of one variant, section by section."""

    edition: Edition
    drawn: Mapping[str, str]
    choices: Choices
    several: bool

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
        sections = (self._section(s, level) for s in listing.sections)
        if not self.several:
            return joined(sections)
        title = heading(2, f"Variant {listing.variant}")
        return element("section", joined([title, *sections]), "variant")

    def _section(self, section: Sheet, level: int) -> Html:
        if not section.steps:
            told = [heading(level, section.heading), paragraph(section.intro, "intro")]
            return element("section", joined([*told, self._made(section.of)]))
        last = next((s for s in reversed(section.steps) if s.see), None)
        steps = joined(self._step(s, level + 1, s is last) for s in section.steps)
        first = section.steps[0].number
        told = [
            heading(level, section.heading),
            paragraph(section.intro, "intro") if section.intro else Html(""),
            self._boxes(section),
            Html(f'<ol class="steps" role="list" start="{first}">\n{steps}\n</ol>'),
        ]
        return element("section", joined(told))

    def _made(self, name: str) -> Html:
        """A box for every piece that is made first."""
        times = next(m.times for m in self.edition.view.recipe.made if m.name.value == name)
        return _tally("Made", times) if 1 < times <= MOST_BOXES else Html("")

    def _boxes(self, section: Sheet) -> Html:
        """A box for every unit or row, to tick on the way."""
        pieces, number = self.edition.view.pieces, section.steps[0].number
        view = next((p for p in pieces if p.recipe.of == section.of), self.edition.view)
        layout = view.weave.layout
        block = next(b for b in layout.recipe.blocks if number in {s.number for s in b.steps})
        row = block.kind == "row"
        places = layout.rows if row else layout.units
        if not layout.known or block.kind not in ("unit", "row") or places > MOST_PLACES:
            return Html("")
        if layout.strands:
            own = [s for s in layout.along if block in s.blocks and s.count > 1]
            if sum(s.count for s in own) > MOST_BOXES:
                return Html("")
            return joined(_tally(f"{s.strand} done" if len(own) > 1 else "Units done", s.count)
                          for s in own)  # fmt: skip
        at = (layout.row_blocks(n) if row else layout.blocks_at(1, n) for n in range(1, places + 1))
        here = [n for n, blocks in enumerate(at, 1) if any(b is block for b in blocks)]
        if not 1 < len(here) <= MOST_BOXES:
            return Html("")
        what = "Rows" if row else "Units"
        spans = _spans(here)
        if len(spans) == 1 or len(spans) > min(MOST_RUNS, len(here) // 2):
            return _tally(f"{what} done", len(here))
        # What is worked in between has boxes of its own: each run ends where its boxes do.
        return joined(
            _tally(f"{numbers_words([span], what[:-1]).capitalize()} done", span[1] - span[0] + 1)
            for span in spans
        )

    def _step(self, step: StepText, level: int, last: bool) -> Html:
        picture, beside = self._picture(step)
        name = f"Step {step.number}"
        head = joined([tick(f"{name} done"), heading(level, name)])
        words = [element("div", head, "head")]
        if self.choices.pictures == "only" and picture:
            words.append(paragraph(self._short(step.number) or step.sentence, "do"))
        else:
            words.append(paragraph(step.sentence, "do"))
            if step.hint:
                words.append(paragraph(f"Hint: {sentence(step.hint)}", "hint"))
            words.append(_look(step, last))
        if picture and not beside:
            words.insert(2, picture)
        inside = [picture, *words] if beside else words
        return Html(f'<li class="step" value="{step.number}">\n{joined(inside)}\n</li>')

    def _picture(self, step: StepText) -> tuple[Html, bool]:
        """The picture of a step, and whether it stands beside the words."""
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
        svg, wide = sized(self.drawn[diagram.name], scale, room)
        if rings := self.edition.rings.get(step.number):
            # Both must stand on one page: in large print too the diagram keeps its plain size.
            small, _ = sized(self.drawn[diagram.name], SCALE, room)
            pair = joined([computed(rings, RING_SCALE, room), small])
            return element("figure", pair, "below pair"), False
        beside = wide <= BESIDE * room
        return element("figure", svg, "beside" if beside else "below"), beside


def _spans(numbers: Sequence[int]) -> list[tuple[int, int]]:
    """First and last of each run of numbers that follow one another."""
    starts = [n for n in numbers if n - 1 not in numbers]
    return list(zip(starts, (n for n in numbers if n + 1 not in numbers), strict=True))


def _tally(what: str, count: int) -> Html:
    """So many boxes to tick, in fives."""
    fives = [min(5, count - at) for at in range(0, count, 5)]
    boxes = joined(element("span", Html("<i></i>" * n), "five") for n in fives)
    return Html(f'<p class="tally" aria-hidden="true">{escaped(what)}: {boxes}</p>')


def _look(step: StepText, last: bool) -> Html:
    """What to look at; a place to stop and count where rings are finished now, and at the last
    step of a section that has something to see."""
    plain = not step.used or step.used == "1 ring used in this unit"
    used = "" if plain else escaped(sentence(step.used))
    see = escaped(sentence(step.see)) if step.see else ""
    if see and (last or re.search(r"\b(is|are) finished\b", step.see)):
        box = tick(f"Step {step.number} counted")
        words = f"<b>Stop and count.</b> {see} {used}"
        return element("p", joined([box, Html(words.strip())]), "stop")
    told = [f"<b>See:</b> {see}" if see else "", used]
    return element("p", joined(map(Html, told)), "see") if any(told) else Html("")
