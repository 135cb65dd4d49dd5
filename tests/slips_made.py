"""Slips as hands make them, in the text of a right recipe, one line at a time.

Three writers make them: one leaves 'picks' as it was, one never wrote any in what repeats, and one
counts what was written, so that 'picks' agrees with the slip.
"""

from __future__ import annotations

import random
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace

from ringstep.checks.pipeline import view_of
from ringstep.language.source import source_from_text
from ringstep.language.syntax import OPENING, Block, Name, Ref, Step, joined
from ringstep.language.tree import Tree
from ringstep.weave.work import role_indexes

KINDS = (
    "ring dropped", "ring added", "ring replaced", "step dropped", "step doubled",
    "neighbours swapped", "lay left out", "lay flipped", "count mistyped",
    "move dropped", "move doubled", "rosette miscounted", "picture mistyped",
)  # fmt: skip
WRITERS = ("picks kept", "no picks", "picks recounted")
MOVES = frozenset({"fold back", "spread"})
_PICKS = re.compile(r"\s+picks\s+(\d+)\b")
_LAY = re.compile(r"\s+lay\s+(front|back|varies)\b")


@dataclass(frozen=True)
class Slip:
    """One slip.

    kind: one of KINDS. writer: one of WRITERS. name: of the recipe. where: which step and what.
    before, text: the recipe without and with it. lines: those that are right to name, as in `text`.
    """

    kind: str
    writer: str
    name: str
    where: str
    before: str
    text: str
    lines: frozenset[int]

    def __str__(self) -> str:
        return f"{self.name}, {self.writer}: {self.where}"


def recipe_of(text: str) -> Tree:
    """The recipe of a text, whether or not it reads without trouble."""
    return view_of(source_from_text(text)).recipe


def without_picks(text: str) -> str:
    """The text with no counts in what repeats; ends have to state theirs."""
    lines = text.splitlines()
    for block in recipe_of(text).every_block:
        if block.kind in ("unit", "row", "again", "extra place", "shared place"):
            for step in block.steps:
                lines[step.span.line - 1] = _PICKS.sub("", lines[step.span.line - 1])
    return "\n".join(lines) + "\n"


def recounted(text: str, line: int) -> str:
    """The text with the count of one line as many as its step, carried out, goes through."""
    lines = text.splitlines()
    acts = view_of(source_from_text(text)).weave.work.acts
    most = max((len(a.through) for a in acts if a.step.span.line == line), default=0)
    lines[line - 1] = _PICKS.sub(f" picks {most}" if most else "", lines[line - 1])
    return "\n".join(lines) + "\n"


def _spoken(ref: Ref, places: tuple[str, ...], role: str, index: int | None) -> str:
    name = role if index is None else joined(role, index)
    if ref.of:
        return str(replace(ref, places=places, name=Name(role, index, ref.name.span)))
    reaches = ref.if_there or len(places) > max(len(ref.places), 1)
    return " ".join((*places, name)) + (" if there" if reaches else "")


def _others(places: tuple[str, ...]) -> list[tuple[str, ...]]:
    """The places that a hand writes for these: one unit too near, too far, to the side."""
    if set(places) <= {"prev"}:
        return [places[1:], (*places, "prev")] if places else [("prev",)]
    if places[:1] == ("above",):
        aside = [("above",), ("above", "next"), ("above", "prev")]
        return [p for p in aside if p != places]
    return []


@dataclass
class _Maker:
    """Makes the slips of one text."""

    name: str
    text: str
    writer: str

    def __post_init__(self) -> None:
        self.recipe = recipe_of(self.text)
        self.lines = self.text.splitlines()
        self.found: dict[str, list[Slip]] = defaultdict(list)

    def group(self, step: Step) -> list[str]:
        """The line of a step and the hints under it."""
        end = step.span.line
        while end < len(self.lines) and self.lines[end].strip().startswith("hint"):
            end += 1
        return self.lines[step.span.line - 1 : end]

    def put(self, kind: str, step: Step, what: str, text: str, lines: set[int]) -> None:
        where = f"step {step.number} {what}"
        slip = Slip(kind, self.writer, self.name, where, self.text, text, frozenset(lines))
        self.found[kind].append(slip)

    def line(self, kind: str, step: Step, what: str, new: str) -> None:
        """A slip that changes one line; counted anew by the writer who does so."""
        number = step.span.line
        text = "\n".join([*self.lines[: number - 1], new, *self.lines[number:]]) + "\n"
        if self.writer == WRITERS[2]:
            after = recounted(text, number)
            if after == text:
                return  # the same as by the writer who leaves the count
            text = after
        self.put(kind, step, what, text, {number})

    def lists(self, block: Block, step: Step) -> None:
        """Rings dropped, added and replaced in the list of a step."""
        line = self.lines[step.span.line - 1]
        spans = [ref.span for ref in step.through]
        head, tail = line[: spans[0].column - 1], line[spans[-1].end - 1 :]
        items = [line[s.column - 1 : s.end - 1] for s in spans]

        def change(kind: str, what: str, new: list[str]) -> None:
            self.line(kind, step, what, head + ", ".join(new) + tail)

        have = {(r.places, r.name.role, r.name.index) for r in step.through}
        for at, ref in enumerate(step.through):
            if len(items) > 1:
                change("ring dropped", f"without '{items[at]}'", items[:at] + items[at + 1 :])
            numbers = self.numbers(block, ref)
            if ref.name.index is None and len(numbers) > 1:
                for number in (numbers[0], numbers[-1]):
                    one = _spoken(ref, ref.places, ref.name.role, number)
                    change("ring dropped", f"only '{one}'", [*items[:at], one, *items[at + 1 :]])
            for new in self.elsewhere(ref):
                if new not in items:
                    what = f"'{new}' for '{items[at]}'"
                    change("ring replaced", what, [*items[:at], new, *items[at + 1 :]])
            for places, role, index in self.instead(block, ref, numbers):
                whole = (places, role, None)
                if whole in have or (places, role, index) in have:
                    continue
                new = _spoken(ref, places, role, index)
                what = f"'{new}' for '{items[at]}'"
                change("ring replaced", what, [*items[:at], new, *items[at + 1 :]])
        taken = {(r.places, r.name.role) for r in step.through}
        for ref, typed in self.typed(block):
            one_more = ref.name.index is not None and (ref.places, ref.name.role, None) not in have
            new = (ref.places, ref.name.role) not in taken
            if new or (one_more and (ref.places, ref.name.role, ref.name.index) not in have):
                change("ring added", f"also '{typed}'", [*items, typed])

    def numbers(self, block: Block, ref: Ref) -> tuple[int, ...]:
        """The numbers of the rings of a role where the item looks."""
        blocks = self.recipe.every_block
        placed = block.placed if ref.name.role in block.placed else role_indexes(blocks)
        return placed.get(ref.name.role, (1,))

    def instead(
        self, block: Block, ref: Ref, numbers: tuple[int, ...]
    ) -> Iterator[tuple[tuple[str, ...], str, int | None]]:
        role, index = ref.name.role, ref.name.index
        if ref.one_another:
            return
        if index is not None:
            yield from ((ref.places, role, n) for n in numbers if n != index)
        for places in _others(ref.places):
            yield places, role, index
        for other, have in block.placed.items():
            if other != role and len(have) == len(numbers):
                yield ref.places, other, index

    def elsewhere(self, ref: Ref) -> Iterator[str]:
        """In a joining step: the same ring of another piece, of another edge, the other way."""
        if ref.of is None:
            return
        made = next(m for m in self.recipe.made if m.name.value == ref.of.name)
        of = ref.of
        for number in range(1, made.times + 1):
            yield str(replace(ref, of=replace(of, number=number)))
        if of.edge:
            yield str(replace(ref, of=replace(of, backwards=not of.backwards)))
        for edge in ("first row", "last row") if of.edge.endswith("row") else ():
            yield str(replace(ref, of=replace(of, edge=edge)))

    def typed(self, block: Block) -> Iterator[tuple[Ref, str]]:
        """The items of the lists of this kind of block, each once, as they are typed."""
        seen = set()
        for other in self.recipe.every_block:
            for ref in (r for s in other.steps if other.kind == block.kind for r in s.through):
                line = self.lines[ref.span.line - 1]
                typed = line[ref.span.column - 1 : ref.span.end - 1]
                if typed not in seen:
                    seen.add(typed)
                    yield ref, typed

    def words(self, step: Step) -> None:
        """Lay and count."""
        line = self.lines[step.span.line - 1]
        lay, picks = _LAY.search(line), _PICKS.search(line)
        if lay:
            self.line("lay left out", step, "no lay", _LAY.sub("", line))
            # Every lay of a rosette the other way makes its mirror, which is right as well.
            if lay[1] != "varies" and not step.one_another:
                side = "back" if lay[1] == "front" else "front"
                self.line("lay flipped", step, f"lay {side}", _LAY.sub(f" lay {side}", line))
        if picks and self.writer == WRITERS[0]:
            for off in (-1, 1):
                count = int(picks[1]) + off
                new = _PICKS.sub(f" picks {count}", line)
                self.line("count mistyped", step, f"picks {count}", new)

    def rosette(self, step: Step) -> None:
        """One ring more or fewer of those that go through one another."""
        line, (item, *_) = self.lines[step.span.line - 1], step.new
        if step.one_another and item.count:
            for count in (item.count - 1, item.count + 1):
                new = line.replace(f" {item.count} ", f" {count} ", 1)
                self.line("rosette miscounted", step, f"{count} {item.name}", new)

    def steps(self, block: Block, at: int) -> None:
        """A step dropped, done twice, or done after the next one."""
        step, group = block.steps[at], self.group(block.steps[at])
        first = step.span.line
        top, rest = self.lines[: first - 1], self.lines[first - 1 + len(group) :]
        last = block.steps[-1].span.line
        here, thing = set(range(block.span.line, last + 1)), "step"
        if step.kind in MOVES:
            thing = "move"
        if len(block.steps) > 1:
            roles = {i.name.role for i in step.new}
            named = [*self.recipe.meets, *self.recipe.rings]
            here |= {x.span.line for x in named if x.name.role in roles}
            gone = "\n".join([*top, *rest]) + "\n"
            self.put(f"{thing} dropped", step, f"({step.kind}) gone", gone, here)
        twice = "\n".join([*top, *group, *group, *rest]) + "\n"
        both = {first, first + len(group)}
        self.put(f"{thing} doubled", step, f"({step.kind}) done twice", twice, both)
        if at + 1 < len(block.steps):
            other = block.steps[at + 1]
            after = self.group(other)
            text = "\n".join([*top, *after, *group, *rest[len(after) :]]) + "\n"
            lines = {first, first + len(after)}
            self.put("neighbours swapped", step, f"after step {other.number}", text, lines)

    def picture(self) -> None:
        """A letter of the picture dropped, doubled or one that the key has not; a row too few or
        too many."""
        picture = self.recipe.picture
        for number, row in enumerate(picture.rows if picture else (), 1):
            line = row.span.line
            typed = self.lines[line - 1]
            for what, new in (
                ("a letter short", [typed[:-1]]),
                ("a letter doubled", [typed + typed[-1]]),
                ("a letter of no key", [f"{typed[:-1]}q"]),
                ("left out", []),
                ("twice", [typed, typed]),
            ):
                text = "\n".join([*self.lines[: line - 1], *new, *self.lines[line:]]) + "\n"
                lines = frozenset({line} if len(new) == 1 else {picture.span.line})
                where = f"row {number} of the picture {what}"
                self.found["picture mistyped"].append(
                    Slip("picture mistyped", self.writer, self.name, where, self.text, text, lines)
                )

    def make(self) -> dict[str, list[Slip]]:
        if self.writer == WRITERS[0]:
            self.picture()
        for block in self.recipe.every_block:
            for at, step in enumerate(block.steps):
                if step.kind in OPENING and step.through:
                    self.lists(block, step)
                if step.one_another:
                    self.rosette(step)
                if self.writer != WRITERS[2]:
                    self.words(step)
                    self.steps(block, at)
        return self.found


def slips(
    name: str, text: str, most: int | None = None, rng: random.Random | None = None
) -> Iterator[Slip]:
    """The slips of a recipe by all writers; with `rng` at most `most` of each kind and writer."""
    bare = without_picks(text)
    for writer in WRITERS:
        if writer == WRITERS[1] and bare == text:
            continue
        found = _Maker(name, bare if writer == WRITERS[1] else text, writer).make()
        for kind in KINDS:
            some = found.get(kind, [])
            if rng is not None and most is not None and len(some) > most:
                some = rng.sample(some, most)
            yield from some
