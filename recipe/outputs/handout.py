"""The hand-out: one page for paper with everything a student needs, from rings to glossary.

Comes in: a `Part` for each variant printed, and the pictures as SVG. Goes out: one HTML page.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from recipe.counting import ring_counts
from recipe.outputs.diagrams import chosen_acts
from recipe.outputs.glossary import glossary
from recipe.outputs.handout_facts import fact_rows, need_lines, need_table, ring_table
from recipe.outputs.marks import key_marks
from recipe.outputs.mistakes import every_slip_falls_off, mistakes
from recipe.outputs.page import (
    Frame,
    Html,
    bullets,
    element,
    escaped,
    heading,
    joined,
    paragraph,
    table,
    tick,
    whole_page,
)
from recipe.outputs.pictures import Diagram
from recipe.outputs.sentences import Speaker
from recipe.outputs.steps_text import Section, StepList, StepText, step_list
from recipe.steps import Act, carry_out
from recipe.summary import summary_lines
from recipe.view import View
from recipe.words import listed, plural

Pictures = Literal["both", "only", "none"]

DRAFT = "UNCHECKED DRAFT: not for work, it may hold mistakes"
TOOLS = ("two pairs of flat-jawed pliers", "good light", "a tray that keeps rings from rolling")
#: How much larger than in their files pictures are printed: labels of 9.6 and 15.2 points.
SCALE, LARGE_SCALE = 1.2, 1.9
#: A picture that takes more than this share of the column stands under its step, not beside it.
BESIDE = 0.52
#: More boxes than this to tick, one for each unit or row, are a wall and no help.
MOST_BOXES = 60
MM = 72 / 25.4


@dataclass(frozen=True, slots=True)
class Choices:
    """How the hand-out is printed.

    found: what the checks said, each finding in words; told to teachers and on drafts.
    note: why something is missing from the page, for the student.
    """

    frame: Frame
    pictures: Pictures = "both"
    teacher: bool = False
    found: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """One variant of the recipe: its step list, and the diagram of each step by its number."""

    view: View
    listing: StepList
    diagrams: Mapping[int, Diagram]
    short: Mapping[int, str]


def part(view: View, diagrams: Mapping[int, Diagram]) -> Part:
    """A variant made ready to print; the view's chosen variant is the one meant."""
    work = carry_out(view.model.layout.steady(), view.chosen)
    speaker = Speaker(view, work)
    acts = {number: work.acts[at] for number, at in chosen_acts(work).items()}
    short = {
        n: _short(speaker, a)
        for n, a in acts.items()
        if a.through and not a.held and a.step.kind == "add"
    }
    return Part(view, step_list(view), diagrams, short)


def _short(speaker: Speaker, act: Act) -> str:
    """What a picture alone does not tell: which rings are taken, how many they go through, and
    from which side. What holds without being linked has its own words."""
    rings, _ = speaker.new_rings(act)
    side = speaker.side(act.step, act).removesuffix(", ")
    picks = f"Picks up {plural(len(act.through), 'ring')}."
    return " ".join(w for w in (f"{rings}.", f"{side}." if side else "", picks) if w)


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


def handout(parts: Sequence[Part], drawn: Mapping[str, str], choices: Choices) -> str:
    """The whole page. drawn: pictures by the name of their diagram; none of them need be there."""
    first, several = parts[0], len(parts) > 1
    listing = first.listing
    steps = joined(_Steps(p, drawn, choices, several).html() for p in parts)
    body = joined(
        [
            heading(1, listing.title),
            _under_title(parts),
            paragraph(_sentence(choices.note), "note") if choices.note else Html(""),
            *(paragraph(n) for n in listing.notes),
            _what_is_wrong(choices) if choices.frame.stamp else Html(""),
            heading(2, "The finished piece"),
            _facts(first.view, several),
            heading(2, "You need"),
            _needs(first, choices.frame.large),
            heading(2, "Before you begin"),
            bullets(escaped(c) for c in listing.cautions),
            _teacher(parts, choices) if choices.teacher else Html(""),
            _key(parts, drawn, choices),
            steps,
            _when_done(listing),
            _mistakes(first.view) if not choices.frame.stamp else Html(""),
        ]
    )
    words = glossary(re.sub(r"<[^>]+>", " ", body))
    entries = (Html(f"<b>{escaped(e.term)}</b>: {escaped(e.words)}") for e in words)
    told = bullets(entries, "" if choices.frame.large else "words")
    body = joined([body, heading(2, "Words"), told] if words else [body])
    return whole_page(choices.frame, body, _STYLE)


def _sentence(words: str) -> str:
    """Words with a capital at their beginning and a stop at their end."""
    return f"{words[:1].upper()}{words[1:]}{'' if words.endswith(('.', '!', '?')) else '.'}"


def _under_title(parts: Sequence[Part]) -> Html:
    listing = parts[0].listing
    names = [p.listing.variant for p in parts if p.listing.variant]
    tail = ""
    if names:
        tail = f", variant{'s' if len(names) > 1 else ''} {listed(names)}"
    return paragraph(_sentence(f"{listing.piece}{tail}"), "lead")


def _what_is_wrong(choices: Choices) -> Html:
    if not choices.found:
        return Html("")
    return joined([heading(2, "What the checks found"), bullets(escaped(f) for f in choices.found)])


def _facts(view: View, several: bool) -> Html:
    rows = joined(
        Html(f"<div><dt>{escaped(label)}</dt><dd>{escaped(_sentence(words))}</dd></div>")
        for label, words in fact_rows(view, several)
    )
    return element("dl", rows, "facts")


def _needs(one: Part, large: bool) -> Html:
    things = bullets(escaped(t) for t in (*one.listing.parts, *TOOLS))
    rings = need_lines(one.view) if large else need_table(one.view)
    return joined([rings, things])


def _teacher(parts: Sequence[Part], choices: Choices) -> Html:
    """What the student's copy leaves out: the result of the checks, and every ring counted."""
    view = parts[0].view
    lines = [] if choices.frame.stamp else ["the checks found no error", *summary_lines(view)]
    return joined(
        [
            heading(2, "For the teacher"),
            bullets(escaped(_sentence(x)) for x in (*lines, *choices.found)),
            ring_table(view, ring_counts(view.model.layout)),
        ]
    )


def _key(parts: Sequence[Part], drawn: Mapping[str, str], choices: Choices) -> Html:
    """The marks that the pictures use, each with its meaning in words of the page's own size."""
    used = {m.diagram.name for m in key_marks([d for p in parts for d in p.diagrams.values()])}
    items = []
    for mark in key_marks(None):
        if mark.diagram.name in used and mark.diagram.name in drawn:
            scale = 1.0 if not choices.frame.large else LARGE_SCALE / SCALE
            svg, _ = _sized(drawn[mark.diagram.name], scale, choices.frame.text_wide)
            items.append(joined([svg, element("span", escaped(mark.words))]))
    if not items:
        return Html("")
    told = joined([heading(2, "What the marks mean"), bullets(items, "key")])
    return element("section", told, "whole")


def _when_done(listing: StepList) -> Html:
    if not listing.finished:
        return Html("")
    items = (
        joined([tick(f"Seen: {x}"), element("span", escaped(_sentence(x)))])
        for x in listing.finished
    )
    told = joined([heading(2, "When it is done"), bullets(items, "checks")])
    return element("section", told, "whole")


def _mistakes(view: View) -> Html:
    found = mistakes(view)
    title = heading(2, "If something looks wrong")
    if not found:
        if not every_slip_falls_off(view):
            return Html("")
        return joined(
            [
                title,
                paragraph(
                    "A slip shows at once here: a ring that misses what it should go through has"
                    " nothing to hold it and falls off."
                ),
            ]
        )
    intro = paragraph(
        "Count how many rings each finished ring passes through. One slip alone leaves these"
        " traces:"
    )
    rows = [(escaped(_sentence(m.see)), escaped(_sentence(m.cause))) for m in found]
    return joined([title, intro, table("", ("You see", "Where to look"), rows, kind="traces")])


# -- pictures ------------------------------------------------------------------------------------

_SIZE = re.compile(r'(<svg\b[^>]*?) width="([\d.]+)pt" height="([\d.]+)pt"')


def _sized(svg: str, scale: float, room: float) -> tuple[Html, float]:
    """A picture at the scale of the page, no wider than `room` mm; and its width in mm."""
    found = _SIZE.search(svg)
    if found is None:
        return Html(svg), room
    wide, high = float(found[2]), float(found[3])
    scale = min(scale, room * MM / wide)
    size = f' width="{wide * scale:.0f}pt" height="{high * scale:.0f}pt"'
    return Html(_SIZE.sub(lambda m: m[1] + size, svg, count=1)), wide * scale / MM


# -- steps ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Steps:
    """The steps of one variant, section by section."""

    part: Part
    drawn: Mapping[str, str]
    choices: Choices
    several: bool

    def html(self) -> Html:
        listing = self.part.listing
        level = 3 if self.several else 2
        sections = (self._section(s, level) for s in listing.sections)
        if not self.several:
            return joined(sections)
        title = heading(2, f"Variant {listing.variant}")
        return element("section", joined([title, *sections]), "variant")

    def _section(self, section: Section, level: int) -> Html:
        steps = joined(self._step(s, level + 1, section) for s in section.steps)
        first = section.steps[0].number
        told = [
            heading(level, section.heading),
            paragraph(section.intro, "intro") if section.intro else Html(""),
            self._boxes(section),
            Html(f'<ol class="steps" role="list" start="{first}">\n{steps}\n</ol>'),
        ]
        return element("section", joined(told))

    def _boxes(self, section: Section) -> Html:
        """A box for every unit or row, to tick on the way."""
        layout = self.part.view.model.layout
        count = {"The unit": layout.units, "Row": layout.rows}.get(section.heading, 0)
        if not layout.known or not 1 < count <= MOST_BOXES or layout.written:
            return Html("")
        if section.heading == "Row" and layout.block("first row"):
            count -= 1
        fives = [min(5, count - at) for at in range(0, count, 5)]
        boxes = joined(element("span", Html("<i></i>" * n), "five") for n in fives)
        what = "Rows" if section.heading == "Row" else "Units"
        return Html(f'<p class="tally" aria-hidden="true">{what} done: {boxes}</p>')

    def _step(self, step: StepText, level: int, section: Section) -> Html:
        picture, beside = self._picture(step)
        name = f"Step {step.number}"
        head = joined([tick(f"{name} done"), heading(level, name)])
        words = [element("div", head, "head")]
        if self.choices.pictures == "only" and picture:
            words.append(paragraph(self.part.short.get(step.number, step.sentence), "do"))
        else:
            words.append(paragraph(step.sentence, "do"))
            if step.hint:
                words.append(paragraph(f"Hint: {_sentence(step.hint)}", "hint"))
            words.append(self._look(step, section))
        if picture and not beside:
            words.insert(2, picture)
        inside = [picture, *words] if beside else words
        return Html(f'<li class="step" value="{step.number}">\n{joined(inside)}\n</li>')

    def _look(self, step: StepText, section: Section) -> Html:
        """What to look at; where rings are finished now, a place to stop and count."""
        told = []
        plain = not step.used or step.used == "1 ring used in this unit"
        used = "" if plain else _sentence(step.used)
        last = [s.number for s in section.steps if s.see][-1:] == [step.number]
        if step.see and (last or re.search(r"\b(is|are) finished\b", step.see)):
            box = tick(f"Step {step.number} counted")
            words = f"<b>Stop and count.</b> {escaped(_sentence(step.see))} {escaped(used)}"
            return element("p", joined([box, Html(words.strip())]), "stop")
        if step.see:
            told.append(Html(f"<b>See:</b> {escaped(_sentence(step.see))}"))
        if used:
            told.append(escaped(used))
        return element("p", joined(told), "see") if told else Html("")

    def _picture(self, step: StepText) -> tuple[Html, bool]:
        """The picture of a step, and whether it stands beside the words."""
        choices = self.choices
        if choices.pictures == "none":
            return Html(""), False
        diagram = self.part.diagrams.get(step.number)
        if diagram is None or diagram.name not in self.drawn:
            earlier = like_steps(self.part.listing).get(step.number)
            if earlier is None or choices.pictures == "only" or not self.drawn:
                return Html(""), False
            return paragraph(f"The picture is that of step {earlier}.", "quiet"), False
        scale = LARGE_SCALE if choices.frame.large else SCALE
        room = choices.frame.text_wide
        svg, wide = _sized(self.drawn[diagram.name], scale, room)
        beside = wide <= BESIDE * room
        return element("figure", svg, "beside" if beside else "below"), beside


_STYLE = """
.lead { font-size: 1.15em; }
.facts { margin: 0.4em 0; }
.facts div { display: flow-root; margin: 0.25em 0; }
.facts dt { float: left; width: 8.5em; font-weight: bold; }
.facts dd { margin: 0 0 0 9em; }
section.whole { break-inside: avoid; }
section.variant { break-before: page; }
.intro { break-inside: avoid; break-after: avoid; }
.steps { list-style: none; padding: 0; margin: 0.8em 0 0; }
.key { list-style: none; padding: 0; columns: 2; }
.key li { break-inside: avoid; display: flex; align-items: center; margin: 0; }
.key svg { flex: none; margin-right: 0.6em; }
.traces tbody th { font-weight: normal; }
.traces th, .traces td { width: 50%; }
.step { display: flow-root; break-inside: avoid; margin: 0; padding: 0.7em 0;
  border-top: 0.75pt solid #767676; }
.step h2, .step h3, .step h4 { display: inline; margin: 0; padding: 0; border: 0;
  font-size: 1.1em; vertical-align: middle; }
.head { break-after: avoid; }
.do { font-size: 1.05em; }
.see { color: #333333; }
.stop { border: 1.5pt solid #111111; padding: 0.35em 0.5em; clear: both; }
figure { margin: 0; }
figure svg { display: block; max-width: 100%; height: auto; }
figure.beside { float: right; margin: 0 0 0.3em 1em; }
figure.below { margin-top: 0.5em; }
.tally { break-inside: avoid; break-after: avoid; line-height: 2; }
.tally .five { white-space: nowrap; margin-right: 0.5em; }
.tally i { display: inline-block; width: 0.9em; height: 0.9em; margin-right: 0.2em;
  border: 1pt solid #111111; vertical-align: middle; }
.words { columns: 2; column-gap: 2em; font-size: 0.95em; }
.words li { break-inside: avoid; }
.checks { list-style: none; padding: 0; }
@media screen and (max-width: 40rem) {
  figure.beside { float: none; margin: 0.5em 0; }
  .key, .words { columns: 1; }
}
"""
