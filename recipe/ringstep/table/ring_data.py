"""The rings after every step as plain data for a page: pictures, words, and how each ring lies.

In: a `View` without errors. Out: `RingData`, first the words alone, then with all pictures; it goes
to JSON and back by `to_json_able` and `from_json_able`. Axes as in `space.state`; mm.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from ringstep.checks.view import View
from ringstep.draw.angle import View as Looks
from ringstep.draw.diagrams import step_diagrams
from ringstep.draw.drawing import NoProgram, draw_all, find_program
from ringstep.draw.pictures import Diagram
from ringstep.draw.rings import mark_of
from ringstep.draw.tellings import Teller
from ringstep.language.source import Refused
from ringstep.paper.film import Scene, Shoot, angle, missing, scenes
from ringstep.paper.sentences import Speaker, sentence
from ringstep.space.result import Fit, Vector
from ringstep.space.second import ALONE, Second
from ringstep.space.state import Ball, Round, Shown, State
from ringstep.space.states import states_of
from ringstep.weave.work import Ring

_NO_PROGRAM = (
    "Link diagrams are missing as well, since no drawing program is here: 'pip install"
    " graphviz-pure' or install the system's Graphviz."
)


@dataclass(frozen=True, slots=True)
class RingAt:
    """One ring as it lies; id: as in the `data-ring` of the pictures; lengths in mm.

    body: of a part: nothing for a ring, (across) for a ball, and for a bar the middles of its round
    ends, seen from the hole, and its width: (x, y, z, x, y, z, across).
    """

    id: str
    centre: Vector
    normal: Vector
    mean_radius: float
    wire: float
    body: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """One step at one place, and the work after it.

    number, line, last_line: of the step in the recipe, with its hints. hint: in the author's words.
    words: what the picture shows. earlier, later: SVG of before, with arrows, and of after, ""
    where there is none. names: what rings are called beside the picture. moved: by id, with 'fold',
    'spread' or 'turn'.
    """

    number: int
    line: int
    last_line: int
    place: str
    sentence: str
    hint: str = ""
    words: str = ""
    earlier: str = ""
    later: str = ""
    rings: tuple[RingAt, ...] = ()
    new: tuple[str, ...] = ()
    through: tuple[str, ...] = ()
    moved: tuple[tuple[str, str], ...] = ()
    names: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class RingData:
    """All steps in the order of the work.

    whole: False while pictures are still worked out. told: what has no picture and why, sentences.
    rings: every ring shown: its name, and the line of the step that placed it. turn: from where the
    pictures are looked at: right, up, towards the eye; nothing where they are no real rings.
    """

    steps: tuple[Step, ...]
    whole: bool
    told: tuple[str, ...] = ()
    rings: tuple[tuple[str, str, int], ...] = ()
    turn: tuple[Vector, ...] = ()


def to_json_able(data: RingData) -> dict[str, Any]:
    """Dicts, lists, texts and numbers alone."""
    return asdict(data)


def from_json_able(found: Any) -> RingData:
    """What `to_json_able` gave, also after it went through JSON. Raises KeyError, TypeError."""
    steps = (
        Step(**_tuples(s) | {"rings": tuple(RingAt(**_tuples(r)) for r in s["rings"])})
        for s in found["steps"]
    )
    return RingData(**_tuples(found) | {"steps": tuple(steps)})


def _tuples(found: dict[str, Any]) -> dict[str, Any]:
    def frozen(value: Any) -> Any:
        return tuple(map(frozen, value)) if isinstance(value, list | tuple) else value

    return {key: frozen(value) for key, value in found.items()}


def ring_data(view: View, known: Fit | None = None, second: Second = ALONE) -> Iterator[RingData]:
    """The steps in words at once, then all of them with their pictures.

    known: the fit of the recipe's cycle, where it was found before. second: helps.
    """
    views = [*view.pieces, view]
    told = {n: (act, s.sentence(act)) for s in map(Speaker, views) for n, act in s.told.items()}
    lines = {step.number: step.span.line for step in view.recipe.every_step()}
    lasts = {n: _last_line(view.recipe.source.lines, line) for n, line in lines.items()}
    hints = {n: act.step.hint for n, (act, _) in told.items()}
    frame = tuple(
        Step(n, lines[n], lasts[n], "", words, hints[n]) for n, (_, words) in sorted(told.items())
    )
    yield RingData(frame, whole=False)
    if not frame:
        yield RingData((), True, ("There are no steps yet, so there are no rings to show.",))
        return
    try:
        shown = states_of(view, known, second)
    except Refused as fault:
        yield _of_diagrams(view, frame, sentence(str(fault)))
        return
    turn = angle(view, shown, second=second)
    drawn = scenes(view, shown, Shoot(marked=True), second, turn)
    found = (
        replace(_step(view, state, scene), line=lines[n], last_line=lasts[n], hint=hints[n])
        for state, scene in zip(shown.states, drawn, strict=True)
        for n in (state.number,)
    )
    yield RingData(
        tuple(found), True, tuple(map(sentence, missing(shown))), _placed(view, shown), _fine(turn)
    )


def _last_line(lines: tuple[str, ...], line: int) -> int:
    """The last of the lines below a step that are set in further: its hints."""

    def depth(text: str) -> int:
        return len(text) - len(text.lstrip())

    last = line
    while last < len(lines) and depth(lines[last]) > depth(lines[line - 1]) and lines[last].strip():
        last += 1
    return last


def _step(view: View, state: State, scene: Scene) -> Step:
    return Step(
        state.number,
        0,
        0,
        _place(view, state),
        scene.sentence,
        "",
        scene.words,
        scene.earlier,
        scene.later,
        tuple(_ring_at(ring, lying) for ring, lying in state.rings),
        tuple(map(mark_of, state.new)),
        tuple(map(mark_of, state.through)),
        tuple((mark_of(ring), move) for ring, move in state.moved),
        tuple((mark_of(ring), name) for ring, name in scene.names),
    )


def _place(view: View, state: State) -> str:
    """Where a state's step is worked: 'start', 'unit 2', 'row 2, unit 3'."""
    teller = Teller(view.weave)
    same = [a for a in view.weave.work.acts if a.step.number == state.number]
    for act in same:
        if (act.row, act.unit) == (state.row, state.unit):
            return teller.place_words(Ring("", 1, state.row, state.unit), act)
    # it was carried out in rows of another width than those the words are made for
    where = teller.row_words(state.row, state.row)
    return f"{where}, row end" if same[0].block.kind == "row end" else where


def _ring_at(ring: Ring, lying: Round) -> RingAt:
    body = lying.body
    parts: tuple[float, ...] = ()
    if isinstance(body, Ball):
        parts = (body.across,)
    elif body is not None:
        parts = (*body.near, *body.far, body.across)
    (centre, normal) = _fine((lying.centre, lying.normal))
    radius, wire = round(lying.mean_radius, 3), round(lying.wire, 3)
    return RingAt(mark_of(ring), centre, normal, radius, wire, tuple(round(x, 3) for x in parts))


def _fine(vectors: tuple[Vector, ...] | Looks) -> tuple[Vector, ...]:
    """Rounded to what nobody sees."""
    return tuple((round(x, 4), round(y, 4), round(z, 4)) for x, y, z in vectors)


def _placed(view: View, shown: Shown) -> tuple[tuple[str, str, int], ...]:
    """Every ring of the states with its name and the line of the step that placed it.

    Rows are worked in a width of their own: at places that the piece as carried out has not, a ring
    is of the step that places its like.
    """
    work = view.weave.work
    lines = {step.number: step.span.line for step in view.recipe.steps()}
    by = {ring: lines[work.acts[n].step.number] for ring, n in work.placed_by.items()}
    alike = {(r.role, r.index, r.row == 1): line for r, line in by.items()}
    found = {ring: lines[s.number] for s in shown.states for ring in s.new if ring not in by} | by
    return tuple(
        (mark_of(r), view.weave.name(r), found.get(r, alike.get((r.role, r.index, r.row == 1), 0)))
        for r in dict.fromkeys(ring for state in shown.states for ring, _ in state.rings)
    )


def _of_diagrams(view: View, frame: tuple[Step, ...], why: str) -> RingData:
    """The steps with link diagrams, where real rings cannot be drawn."""
    diagrams = step_diagrams(view)
    try:
        find_program()
    except NoProgram:
        return RingData(frame, True, (why, _NO_PROGRAM))
    try:
        drawn = draw_all(list(diagrams.values()), "svg")
    except NoProgram as fault:
        return RingData(frame, True, (why, sentence(str(fault))))
    made = zip(view.recipe.made, view.pieces, strict=True)
    weaves = {s.number: (m.name.value, v.weave) for m, v in made for s in v.recipe.steps()}
    steps, rings = [], {}
    for step in frame:
        if diagram := diagrams.get(step.number):
            piece, weave = weaves.get(step.number, ("", view.weave))
            marks = {n.key: f"{piece} {mark_of(n.ring)}".strip() for n in diagram.nodes}
            svg = _marked(drawn[f"{diagram.name}.svg"].decode("utf-8"), diagram, marks)
            place = diagram.title.partition(", ")[2] or piece
            step = replace(step, place=place, words=diagram.alt, later=svg)
            for node in diagram.nodes:
                if (at := weave.work.placed_by.get(node.ring)) is not None:
                    line = weave.work.acts[at].step.span.line
                    rings[marks[node.key]] = (node.full, line)
        steps.append(step)
    told = (why, "Circles and lines show what is linked instead.")
    return RingData(tuple(steps), True, told, tuple((m, *r) for m, r in rings.items()))


def _marked(svg: str, diagram: Diagram, marks: Mapping[str, str]) -> str:
    """A diagram in which every ring can be told, as in pictures of real rings; marks: by key."""

    def told(found: re.Match[str]) -> str:
        mark = marks.get(html.unescape(found[1]).removeprefix(f"{diagram.name}-"))
        return f'<g data-ring="{html.escape(mark)}" {found[0][3:]}' if mark else found[0]

    return re.sub(r'<g id="([^"]+)" class="node">', told, svg)
