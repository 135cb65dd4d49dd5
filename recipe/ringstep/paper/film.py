"""The work step by step in pictures of real rings: one picture a step, and a page that plays them.

In: a `View` and what can be shown of it. Out: SVG by file name, and one HTML page that needs
nothing beside it. Without scripts the page is a list of all steps.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import groupby
from typing import Literal

from ringstep.checks.view import View
from ringstep.draw.angle import View as Looks
from ringstep.draw.angle import best_view, shows
from ringstep.draw.rings import after, before
from ringstep.language.syntax import ROW_BLOCKS
from ringstep.language.words import listed, plural
from ringstep.paper.page import (
    Frame,
    Html,
    beside,
    element,
    escaped,
    heading,
    joined,
    paragraph,
    whole_page,
)
from ringstep.paper.sentences import Speaker, sentence
from ringstep.space.second import ALONE, Second
from ringstep.space.state import Round, Shown, State
from ringstep.weave.promises import place_words, places_of
from ringstep.weave.work import Act, Ring

#: How wide the largest ring is drawn, px, in every picture of a set.
_AHEAD = 4  # pictures begun beyond the next
ACROSS = 110.0
_BETTER = 0.08  # of what is seen, by which a later place is shown
#: Said wherever such pictures stand.
COMPUTED = "Computed with rigid round rings of the recipe's sizes, not photographed."
_BEFORE = "before step {}, with arrows for what it does"
_TUBE = " Of the tube only the side where the work is."


@dataclass(frozen=True, slots=True)
class Scene:
    """One step at one place: its name, what is done, and the pictures before and after (SVG).

    first: the picture that stands for the step where each is shown once. other: how a place differs
    from that: fewer rings are gone through, or they are entered from the other side. earlier: ""
    where nothing was in the hand. parts: how its parts are drawn, or why not, a clause each. side:
    from which the new rings go in, "" where none is said. words: what the picture of after shows.
    names: what rings are called in it.
    """

    number: int
    place: str
    sentence: str
    first: bool
    other: Literal["", "fewer", "side"]
    earlier: str
    later: str
    parts: tuple[str, ...] = ()
    side: str = ""
    words: str = ""
    names: tuple[tuple[Ring, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Shoot:
    """What is drawn of each state, and how. both: the pictures before the steps as well.

    once: each step once, and with `both` once more where it is done in another way. marked: the
    strokes of each ring can be told by `rings.mark_of`.
    """

    both: bool = True
    once: bool = False
    marked: bool = False


def scenes(
    view: View,
    shown: Shown,
    shoot: Shoot = Shoot(),
    second: Second = ALONE,
    turn: Looks | None = None,
) -> tuple[Scene, ...]:
    """Every state drawn from one angle, `turn` or else that of `angle`. second: helps."""
    states = [_front(state, view.weave.layout.kind) for state in shown.states]
    turn = turn or angle(view, shown, second=second)
    scale = ACROSS / _widest(view, [pair for s in states for pair in s.rings])
    speaker = Speaker(view)
    acts = {(a.step.number, a.row, a.unit): a for a in view.weave.work.acts}
    stands = _standing(states, turn)
    plain = {states[at].number: states[at] for at in stands}
    others: set[tuple[int, str]] = set()
    found: list[Scene] = []
    drawings: list[Callable[[], str]] = []
    for at, state in enumerate(states):
        act, stand = speaker.told[state.number], plain[state.number]
        here, there = (acts.get((s.number, s.row, s.unit), act) for s in (state, stand))
        other: Literal["", "fewer", "side"] = ""
        if len(state.through) < len(stand.through):
            other = "fewer"
        elif act.step.lay and here.side != there.side:
            other = "side"
        told_before = not shoot.both or not other or (state.number, other) in others
        if shoot.once and at not in stands and told_before:
            continue
        others.add((state.number, other))
        names = _names(view, state, act.block.kind)
        place = (
            view.weave.work.layout.unit_name(state.unit)
            if act.block.kind == "unit"
            else act.block.kind
        )
        title = f"Step {state.number}, {place}"
        last = states[at - 1] if at else None
        parts = tuple(_parts_told(view, state, act))
        told = " ".join([speaker.sentence(act), *map(sentence, parts)])
        side = here.side or "" if act.step.lay else ""
        words = "; ".join([_seen(state, names), *parts])
        known = (parts, side, words, tuple(names.items()))
        found.append(Scene(state.number, place, told, at in stands, other, "", "", *known))
        paired = shoot.both and last is not None and _acts(state)
        # beside a picture of before, that of after names what is new there
        done = {*state.new, *(ring for ring, _ in state.moved)}
        names = {} if shoot.once and other == "side" else names
        called = {r: n for r, n in names.items() if r in done} if paired and shoot.once else names
        mark = shoot.marked
        drawings.append(partial(after, state, turn, called, title, words, scale, mark))
        if paired:
            begun, back = _BEFORE.format(state.number), side == "back"
            look = partial(before, title=title, words=begun, scale=scale, marked=mark)
            drawings.append(partial(look, state, turn, last, names, behind=back))
        else:
            drawings.append(str)
    drawn = second.in_order(iter(drawings), _AHEAD)
    return tuple(replace(scene, later=next(drawn), earlier=next(drawn)) for scene in found)


def angle(view: View, shown: Shown, mirrored: bool = False, second: Second = ALONE) -> Looks:
    """From where all pictures of a piece are seen. mirrored: as seen in a mirror. second: helps."""
    kind = view.weave.layout.kind
    right, up, near = best_view([_front(state, kind) for state in shown.states], kind, second)
    return ((-right[0], -right[1], -right[2]) if mirrored else right), up, near


def _widest(view: View, rings: Iterable[tuple[Ring, Round]]) -> float:
    """The outside of the largest ring, mm; parts do not count."""
    roles = view.recipe.part_roles
    return max(2 * at.mean_radius + at.wire for r, at in rings if r.role not in roles)


def _acts(state: State) -> bool:
    """True where a picture before the step shows what it does."""
    return bool(state.moved) or len(state.rings) > len(state.new) > 0


def _front(state: State, kind: str) -> State:
    """Of a tube only what lies on the side where the work is, else on the side of the eye."""
    if kind != "tube":
        return state
    new = [r for r in state.new if (r.row, r.unit) == (state.row, state.unit)]
    near = [lying.centre for ring, lying in state.rings if ring in {*new, *state.through}]
    x, z = (sum(c[k] for c in near or [(0.0, 0.0, 1.0)]) for k in (0, 2))
    back = -0.2 * max(lying.mean_radius for _, lying in state.rings) * math.hypot(x, z)
    kept = tuple(
        (ring, lying)
        for ring, lying in state.rings
        if lying.centre[0] * x + lying.centre[2] * z >= back
    )
    here = {ring for ring, _ in kept}
    return replace(
        state,
        rings=kept,
        new=tuple(r for r in state.new if r in here),
        through=tuple(r for r in state.through if r in here),
    )


def _standing(states: Sequence[State], turn: Looks) -> frozenset[int]:
    """Which states stand for their steps: that with most gone through, then most new, the first.

    The steps of one place follow one another in the hand, so that of two places at which all of
    them have most, one stands for all: the first, or a later one at which they are seen far better.
    """
    most: dict[int, tuple[int, int]] = {}
    for state in states:
        most[state.number] = max(most.get(state.number, (0, 0)), _rich(state))
    places: dict[tuple[int, int], dict[int, int]] = {}
    for at, state in enumerate(states):
        if _rich(state) == most[state.number]:
            places.setdefault((state.row, state.unit), {})[state.number] = at
    told: dict[int, int] = {}
    while left := set(most) - set(told):
        here = {at: {n: k for n, k in held.items() if n in left} for at, held in places.items()}
        longest = max(len(held) for held in here.values())
        best, seen = {}, -1.0
        for held in here.values():
            if len(held) == longest:
                clear = sum(shows(states[k], turn) for k in held.values()) / longest
                if clear > seen + _BETTER:
                    best, seen = held, clear
        told |= best
    return frozenset(told.values())


def _rich(state: State) -> tuple[int, int]:
    return len(state.through), len(state.new)


def _names(view: View, state: State, block: str) -> dict[Ring, str]:
    """The rings a step is about, as its lists call them; at a closing with 'first' and 'last'."""
    about = (*state.new, *state.through, *(ring for ring, _ in state.moved))
    weave, units = view.weave, {r.unit for r, _ in state.rings}
    window = weave.work.layout
    begin = 0 if window.block("start") else 1
    closing = window.kind == "loop" and window.units in units and state.unit >= window.units

    def told(ring: Ring) -> str:
        name = weave.name(ring)
        if ring in state.new or ring.role in weave.recipe.part_roles:
            return name
        if block == "row end" and ring.row == state.row:
            return " ".join(["first" if 2 * ring.unit <= max(units) else "last", name])
        if not closing:
            here = ring._replace(row=state.row, unit=state.unit)
            ((_, down, on),) = places_of(weave, here, [ring])
            along = block in ("unit", "again", *ROW_BLOCKS - {"row end"})
            return " ".join([*(place_words(down, on) if along else ()), name])
        if ring.unit > window.units or ring.unit == state.unit:
            return name
        if ring.unit <= window.units // 2:
            return " ".join(["first", *["next"] * (ring.unit - begin), name])
        return " ".join(["last", *["prev"] * (window.units - ring.unit), name])

    return {r: told(r) for r in about}


def _parts_told(view: View, state: State, act: Act) -> list[str]:
    """How the parts of a step are drawn, or why not, a clause each."""
    here = {ring.role for ring, _ in state.rings}
    refs = (*act.step.through, *act.step.around, *act.step.inside, *act.step.refs)
    told = []
    names = [r.name.role for r in refs] + [item.name.role for item in act.step.new]
    for role in dict.fromkeys(names):
        if role not in view.recipe.part_roles:
            continue
        shape, size = view.weave.part_shape(role), view.weave.part_size(role)
        if role in here and shape:
            bored = size and size.hole
            how = _DRAWN[shape] + (" with its hole" if bored and shape == "ball" else "")
        elif size is None:
            words = next(p.words for p in view.recipe.parts if p.name.role == role)
            line = f"{words}, 12 mm by 6 mm, hole 2 mm".removeprefix(", ")
            how = f"not drawn: its size is not given; write it as in '{role}  {line}'"
        elif view.weave.layout.flat:
            how = "not drawn: parts of sheets and tubes are not"
        elif view.weave.round_size(role, 1) is None:
            how = "not drawn: its hole is not given; write it behind its size as in 'hole 2 mm'"
        else:
            how = "not drawn: no place was found for it"
        told.append(f"the {role} is {how}")
    return told


_DRAWN = {
    "ball": "drawn as a ball of its size",
    "ring": "drawn as a plain ring of its size",
    "bar": "drawn as a plain flat bar of its size with its hole near one end",
}
_MOVED = {"fold": "folded back", "spread": "spread apart", "turn": "turned over"}


def _seen(state: State, names: dict[Ring, str]) -> str:
    """What a picture shows, for those who do not see it."""
    parts = [f"after step {state.number}"]
    if state.new:
        parts.append(f"{listed([names[r] for r in state.new])}, dark, new")
    if state.through:
        parts.append(f"through {listed([names[r] for r in state.through])}, grey")
    kinds = {move for _, move in state.moved}
    if "turn" in kinds:
        parts.append("the work turned over")
    elif state.moved:
        done = _MOVED[next(iter(kinds))]
        parts.append(f"{listed([names[r] for r, _ in state.moved])}, dark, {done}")
    return ", ".join(parts)


def missing(shown: Shown) -> list[str]:
    """Which steps have no picture, and why, a line for steps one after the other."""
    lines = [shown.jam] if shown.jam else []
    for why, alike in groupby(shown.without, lambda pair: pair[1]):
        numbers = [number for number, _ in alike]
        few = listed([str(number) for number in numbers])
        if len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1:
            few = f"{numbers[0]} to {numbers[-1]}"
        one = len(numbers) == 1
        lines.append(f"step{'' if one else 's'} {few} {'has' if one else 'have'} no picture: {why}")
    return lines


def files(found: Sequence[Scene]) -> dict[str, bytes]:
    """One picture a step, the state after it, by file name."""
    return {f"rings-{s.number:02d}.svg": s.later.encode("utf-8") for s in found if s.first}


def film(view: View, shown: Shown, found: Sequence[Scene]) -> str:
    """The page on which the steps play."""
    title = view.recipe.title or "Ring weave"
    steps = joined(_figure(s) for s in found)
    body = joined(
        [
            heading(1, title),
            paragraph(COMPUTED + (_TUBE if view.weave.layout.kind == "tube" else ""), "quiet"),
            element("section", steps, "film", aria_label=plural(len(found), "picture")),
            *(paragraph(sentence(line)) for line in missing(shown)),
            Html(f"<script>\n{beside('film.js')}</script>"),
        ]
    )
    return whole_page(Frame(title), body, beside("film.css"))


def _figure(scene: Scene) -> Html:
    told = f"Step {scene.number}, {scene.place}. {scene.sentence}"
    pictures = [
        element("div", Html(picture), kind)
        for kind, picture in (("before", scene.earlier), ("after", scene.later))
        if picture
    ]
    caption = element("figcaption", escaped(told))
    return element("figure", joined([caption, *pictures]), "scene")
