"""Reads a recipe of a plain subset of the language with its own splitting of lines.

It shares nothing with the program that is tested. One spelling of each thing is enough: a side
stands before 'through', then come the list, at one place, picks, lay, skip at edge; the sizes of
rings are looked at under 'sizes:' only.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

MOVES = ("fold back", "spread", "turn over", "take out", "hold", "tighten")
ONE_ANOTHER = "one another"
ODD = ("extra place", "shared place")
WORDS_OF_PLACE = ("prev", "next", "above", "first", "last", "every")


class Item(NamedTuple):
    """One item of a list: 'prev prev A1 if there'. number: None for all of the role.

    then: it is gone through further along the ring than the one before it. strand: the name of the
    strand it stands in, as in 'last left A'.
    """

    places: tuple[str, ...]
    role: str
    number: int | None
    if_there: bool
    then: bool = False
    strand: str = ""


@dataclass
class Step:
    """One line of work. side: 'front', 'back', 'varies' or ''; toward: 'on the left' and so on."""

    number: int
    line: int
    verb: str
    new: list[tuple[str, int]] = field(default_factory=list)
    through: list[Item] = field(default_factory=list)
    moved: list[Item] = field(default_factory=list)
    picks: int | None = None
    side: str = ""
    toward: str = ""
    one_place: bool = False
    skip: bool = False

    @property
    def meaning(self) -> tuple[object, ...]:
        """What the step does, wherever it stands, from whichever side and along whichever way."""
        through = [i._replace(then=False) for i in self.through]
        return self.verb, self.new, through, self.moved


@dataclass
class Block:
    """A heading with its steps: kind 'start', 'unit', 'row' …; label '' or the name or number."""

    kind: str
    label: str
    steps: list[Step] = field(default_factory=list)

    @property
    def numbered(self) -> bool:
        return self.label.isdigit()


@dataclass
class Text:
    """A recipe, read."""

    blocks: list[Block] = field(default_factory=list)
    kinds: list[str] = field(default_factory=list)
    stay: list[str] = field(default_factory=list)
    sizes: dict[str, tuple[float, float]] = field(default_factory=dict)
    sets: dict[str, dict[str, tuple[float, float]]] = field(default_factory=dict)
    parts: list[str] = field(default_factory=list)
    promises: dict[str, str] = field(default_factory=dict)
    variants: dict[str, list[str]] = field(default_factory=dict)
    shape: str = "chain"
    rows: int = 1
    units: int = 0
    strands: list[tuple[str, int]] = field(default_factory=list)
    back_and_forth: bool = False
    order: list[str] = field(default_factory=list)
    variant: str = ""
    picture_of: list[str] = field(default_factory=list)
    key: dict[str, str] = field(default_factory=dict)
    picture: list[str] = field(default_factory=list)
    widths: list[str] = field(default_factory=list)
    around: int = 0

    @property
    def rounds(self) -> bool:
        """True for a tube whose rounds do not all have as many places."""
        return self.shape == "tube" and len({len(units) for units in self.worked.values()}) > 1

    def over(self, row: int) -> dict[int, list[int]]:
        """For each place of a round those of the round above that go with it: the places of the
        longer round are dealt out evenly to the shorter one."""
        here, above = (len(self.worked[r]) for r in (row, row - 1))
        longer, shorter = max(here, above), min(here, above)
        pairs = [(k, -(-k * shorter // longer)) for k in range(1, longer + 1)]
        found: dict[int, list[int]] = {}
        for long, short in pairs:
            own, other = (long, short) if here >= above else (short, long)
            found.setdefault(own, []).append(other)
        return found

    def odd(self, row: int, unit: int) -> str:
        """'extra place' or 'shared place', as a place of a round is beside those above."""
        if not self.rounds or row < 2:
            return ""
        over = self.over(row)
        if len(over[unit]) > 1:
            return "shared place"
        return "extra place" if over.get(unit - 1) == over[unit] else ""

    def here(self, block: Block, row: int, unit: int) -> Block:
        """The block at one place of a row: its own where that is extra or shared."""
        if block.kind == "again":
            return block
        under = f"{block.kind} {block.label}".strip()
        return self.block(self.odd(row, unit), under) or block

    @property
    def flat(self) -> bool:
        return self.shape in ("sheet", "tube")

    @cached_property
    def worked(self) -> dict[int, list[int]]:
        """For each row of a sheet the units that are worked, from left to right.

        Of a tube the places of each round. Raises `ValueError` where a line of the shape cannot be.
        """
        said: dict[int, str] = {}
        for line in self.widths:
            first, last, words = re.fullmatch(r"rows? (\d+)(?: to (\d+))? +(.*)", line).groups()  # type: ignore
            for row in range(int(first), int(last or first) + 1):
                if row in said or row > self.rows:
                    raise ValueError(line)
                said[row] = words.removeprefix("each ")
        if self.shape == "tube" and self.widths:
            wide, rounds = self.around, {}
            for row in range(1, self.rows + 1):
                count, word = said.get(row, "0 more").split()
                by = {"less": -int(count), "more": int(count)}
                wide = wide + by[word] if word in by else int(count)
                if wide < 1:
                    raise ValueError(count)
                rounds[row] = list(range(1, wide + 1))
            return rounds
        found, left, right = {}, 1, self.units
        for row in range(1, self.rows + 1):
            words = said.get(row, "0 less")
            if "worked" in words or "empty" in words:
                marks = "".join(word[0] * int(n) for n, word in re.findall(r"(\d+) (\w+)", words))
                units = [at for at, mark in enumerate(marks, 1) if mark == "w"]
                if len(marks) != self.units or not units:
                    raise ValueError(words)
            else:
                by, back = int(words.split()[0]), self.back_and_forth and row % 2 == 0
                if words.endswith("less"):
                    left, right = (left + by, right) if back else (left, right - by)
                else:
                    left, right = (left, right + by) if back else (left - by, right)
                units = list(range(left, right + 1))
                if not units or left < 1 or right > self.units:
                    raise ValueError(words)
            left, right = units[0], units[-1]
            found[row] = units
        return found

    def row_blocks(self, row: int, endless: bool = False) -> list[Block]:
        """The blocks that a row is worked by."""
        first, last = self.block("first row"), self.block("last row")
        if row == 1 and first:
            return [first]
        if row == self.rows and last and not endless:
            return [last]
        turn = row - 1 - bool(first)
        return [b for b in (self.turns[turn % len(self.turns)], self.block("again")) if b]

    def block(self, kind: str, label: str = "") -> Block | None:
        return next((b for b in self.blocks if (b.kind, b.label) == (kind, label)), None)

    @cached_property
    def turns(self) -> list[Block]:
        """The blocks that take turns. Units that are all written out repeat the last where they are
        alike, or else are turns themselves."""
        kind = "row" if self.flat else "unit"
        if plain := self.block(kind):
            return [plain]
        named = [b for b in self.blocks if b.kind == kind and not b.numbered]
        if self.order:
            return [b for name in self.order for b in named if b.label == name]
        written = [b for b in self.blocks if b.kind == kind and b.numbered]
        alike = len({str([s.meaning for s in b.steps]) for b in written}) == 1
        return named or (written[-1:] if alike else written)

    def blocks_at(self, row: int, unit: int, endless: bool = False) -> list[Block]:
        """The blocks worked at a place; endless: as if no unit were written out by number.

        Of strands each has a row of its own, the start is (0, 0) and the finish behind all rows.
        """
        if self.strands:
            if 1 <= row <= len(self.strands) and unit > 0:
                own = self.block("unit", self.strands[row - 1][0]) or self.block("unit")
                found = [own, self.block("again")]
            else:
                found = [self.block("start" if row < 1 or unit < 1 else "finish")]
                found = [self.block("finish")] if row > len(self.strands) else found
            return [b for b in found if b]
        if self.flat:
            if row == 0 or row > self.rows:
                found = [self.block("start" if row == 0 else "finish")]
            elif not 1 <= unit <= self.units:
                found = [self.block("row end")]
            elif not endless and unit not in self.worked[row]:
                found = []
            else:
                found = [self.here(b, row, unit) for b in self.row_blocks(row, endless)]
        elif not 1 <= unit <= self.units:
            found = [self.block("start" if unit < 1 else "finish")]
        else:
            written = None if endless else self.block("unit", str(unit))
            found = [written or self.turns[(unit - 1) % len(self.turns)], self.block("again")]
        return [b for b in found if b]


def _name(words: str) -> tuple[str, int | None]:
    role, number = re.fullmatch(r"([^\W\d]+) ?(\d+)?", words.strip()).groups()  # type: ignore
    return role, int(number) if number else None


def _items(words: str) -> list[Item]:
    found = []
    for mark, one in re.findall(r"(^|,| then )((?:(?!,| then ).)+)", words):
        if_there = one.strip().endswith("if there")
        if one.strip() == ONE_ANOTHER:
            found.append(Item((), ONE_ANOTHER, None, False, mark == " then "))
            continue
        parts = one.replace("if there", "").split()
        places = [w for w in parts if w in WORDS_OF_PLACE]
        rest = parts[len(places) :]
        strand = rest.pop(0) if len(rest) > 1 and not rest[1].isdigit() else ""
        role, number = _name(" ".join(rest))
        found.append(Item(tuple(places), role, number, if_there, mark == " then ", strand))
    return found


def _new(words: str) -> list[tuple[str, int]]:
    """'2 A' is A1 and A2, 'A2' is A2, 'A' is A1."""
    found = []
    for one in words.split(","):
        if many := re.fullmatch(r"\s*(\d+) (\w+)\s*", one):
            found += [(many[2], i + 1) for i in range(int(many[1]))]
        else:
            role, number = _name(one)
            found.append((role, number or 1))
    return found


def _step(line: str, number: int, at: int) -> Step:
    rest = line
    step = Step(number, at, "")
    if rest.endswith(" skip at edge"):
        rest, step.skip = rest.removesuffix(" skip at edge"), True
    if said := re.search(r" lay (\w+)$", rest):
        rest, step.side = rest[: said.start()], said[1]
    if said := re.search(r" picks (\d+)$", rest):
        rest, step.picks = rest[: said.start()], int(said[1])
    rest, _, through = rest.partition(" through ")
    if through.endswith(" at one place"):
        through, step.one_place = through.removesuffix(" at one place"), True
    if said := re.search(r" (on the left|on the right|one to each side)$", rest):
        rest, step.toward = rest[: said.start()], said[1]
    step.through = _items(through) if through else []
    step.verb = next(v for v in ("close", "add", *MOVES) if rest.startswith(v))
    named = rest.removeprefix(step.verb).strip()
    if step.verb in ("close", "add"):
        step.new = _new(named)
    elif named:
        step.moved = _items(named)
    return step


def read(recipe: str) -> Text:
    """Read a recipe of the plain subset: options stand in the order picks, lay, skip at edge."""
    text, heading, number = Text(), "", 0
    for at, whole in enumerate(recipe.splitlines(), 1):
        line = whole.split("#")[0].strip()
        if not line or line.startswith(("weave ", "hint ")):
            continue
        if line.endswith(":"):
            heading = line[:-1]
            if heading.startswith("picture"):
                text.picture_of = re.findall(r"\w+", heading)[2:]
                heading = "picture"
            elif heading not in ("rings", "sizes", "parts", "expect", "variants", "notes", "piece",
                                 "shape"):  # fmt: skip
                kind = next(
                    k for k in ("start", "unit", "first row", "last row", "row end", "row", "again",
                                "finish", "extra place", "shared place")
                    if heading.startswith(k)
                )  # fmt: skip
                label = heading.removeprefix(kind).strip()
                if kind in ODD:
                    rows = [b for b in text.blocks if b.kind in ("first row", "row", "last row")]
                    label = f"{rows[-1].kind} {rows[-1].label}".strip()
                text.blocks.append(Block(kind, label))
        elif heading == "rings":
            text.kinds.append(line.split("  ")[0].split(" wire ")[0].strip())
            wire, inside = (float(mm) for mm in re.findall(r"([\d.]+) mm", line))
            text.sizes[text.kinds[-1]] = wire, inside
            if line.endswith(", stays closed"):
                text.stay.append(text.kinds[-1])
        elif heading == "sizes":
            name, kind, size = re.split(r" {2,}", line)
            wire, inside = (float(mm) for mm in re.findall(r"([\d.]+) mm", size))
            text.sets.setdefault(name, {})[kind] = wire, inside
        elif heading == "parts":
            text.parts.append(line.split()[0])
        elif heading == "expect":
            if " meets " in line:
                name, meets = line.split(" meets ")
                text.promises[name] = meets
        elif heading == "variants":
            name, sides = line.split(" lay ")
            text.variants[name.strip()] = [s.strip() for s in sides.split(",")]
        elif heading == "shape":
            text.widths.append(line)
        elif heading == "picture":
            if " = " in line:
                letter, words = line.split(" = ")
                text.key[letter] = words.replace(", ", " ")
            else:
                text.picture.append(_letters(line))
        elif heading == "piece":
            words = line.split()
            if " of " in line and words[0] in ("chain", "loop"):
                text.shape = words[0]
                units = int(words[1]) if words[2] == "units" else 0
                text.order = _runs(line.split(" of ")[1], units)
                text.units = len(text.order)
            elif words[0] == "strands":
                each = (w.split() for w in line.removeprefix("strands ").split(", "))
                text.strands = [(name, int(count)) for name, count, _ in each]
                text.units = sum(n for _, n in text.strands)
            elif words[0] in ("chain", "loop"):
                text.shape, text.units = words[0], int(words[1])
            elif words[0] in ("sheet", "tube"):
                text.shape, text.rows, text.units = words[0], int(words[1]), int(words[4])
            elif words[0] == "order":
                text.order = [w.strip(",") for w in words[1:]]
            elif words[0] == "variant":
                text.variant = words[1]
            text.back_and_forth |= line == "rows back and forth"
        elif heading != "notes":
            number += 1
            text.blocks[-1].steps.append(_step(line, number, at))
    if text.picture and not text.picture_of:
        rows = [b for b in text.blocks if b.kind in ("first row", "row", "last row", *ODD)]
        text.picture_of = [role for b in rows for s in b.steps for role, _ in s.new]
    written = [int(b.label) for b in text.blocks if b.numbered]
    if written and len(written) == len([b for b in text.blocks if b.kind == "unit"]):
        text.units = max(written)
    text.around = text.units
    if text.rounds:
        text.units = max(len(units) for units in text.worked.values())
    _number_as_worked(text)
    return text


def _letters(line: str) -> str:
    """A row of the picture, a letter a place: 'ggr' or '2 g, 1 r'."""
    if not line[0].isdigit():
        return line
    runs = (run.split() for run in line.split(", "))
    return "".join(letter * int(count) for count, letter in runs)


def _runs(words: str, units: int) -> list[str]:
    """Every unit of a piece in runs, by its name. Of so many units those that are named more than
    once and have no number share what is left; of none each has one."""
    runs = [run.split() for run in words.split(",")]
    free = [run[0] for run in runs if len(run) == 1]
    shares = [name for name in free if free.count(name) > 1] if len(free) > 1 else free
    left = units - sum(int(run[0]) if len(run) > 1 else run[0] not in shares for run in runs)
    each = left // len(shares) if units else 1
    found = []
    for *number, name in runs:
        found += [name] * (int(number[0]) if number else each if name in shares else 1)
    return found


def _number_as_worked(text: Text) -> None:
    """Steps are numbered in the order in which their blocks are first worked."""
    places = range(text.units + 2) if not text.flat else ()
    worked = [b for unit in places for b in text.blocks_at(1, unit)] or text.blocks
    if text.strands:
        rows = range(len(text.strands) + 2)
        worked = [b for row in rows for unit in (0, 1) for b in text.blocks_at(row, unit)]
    if not text.flat:  # a second pass comes when all units are done
        worked.sort(key=lambda b: {"again": 1, "finish": 2}.get(b.kind, 0))
    seen: list[Block] = []
    for block in worked:
        if all(block is not b for b in seen):
            seen.append(block)
    for number, step in enumerate((s for b in seen for s in b.steps), 1):
        step.number = number
