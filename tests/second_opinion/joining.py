"""Pieces made first and joined later, read and carried out a second time, and drawn at random.

Each piece is read and carried out as a recipe of its own (`reading.py`, `carrier.py`); what joins
them is done here, ring by ring. Nothing of the program is used.
"""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from second_opinion.agreement import Disagreement, number
from second_opinion.carrier import CannotBe, Piece, Ring
from second_opinion.command import run
from second_opinion.reading import read

#: A ring of the whole: of which piece, its number, and its name and place there. What the joining
#: steps place is of the piece "", numbered by the step.
Whole = tuple[str, int, Ring]
_ITEM = re.compile(
    r"(?:(?P<piece>[a-z]+) (?P<number>\d+) )?"
    r"(?P<places>(?:(?:first row|last row|first|last|next|prev) )*)"
    r"(?P<role>[A-Za-z]+?) ?(?P<index>\d+)?(?: along (?P<edge>\w+ \w+))?(?P<back> backwards)?\Z"
)


@dataclass
class Joining:
    """One joining step. items: of its list; times: how often it was carried out, rings and all."""

    line: str
    role: str
    picks: int
    skip: bool
    items: list[re.Match[str]]
    numbers: int = 0
    done: list[list[Whole]] = field(default_factory=list)


class Joined:
    """A recipe of pieces that are joined, carried out. Raises `CannotBe`."""

    def __init__(self, text: str) -> None:
        self.times: dict[str, int] = {}
        self.pieces: dict[str, Piece] = {}
        self.links: dict[Whole, set[Whole]] = {}
        shared, made, joining = _parted(text)
        steps = 0
        for name, (size, times, sections) in made.items():
            piece = Piece(
                read("\n".join([*shared, *sections, "piece:", *([size] if size else [])]))
            )
            self.times[name], self.pieces[name] = times, piece
            steps += sum(len(b.steps) for b in piece.text.blocks)
            for copy in range(1, times + 1):
                for ring, others in piece.links.items():
                    self.links[name, copy, ring] = {(name, copy, other) for other in others}
        self.joining = [_joining(line) for line in joining]
        for at, step in enumerate(self.joining, 1):
            step.numbers = steps + at
            self._join(step)

    def _join(self, step: Joining) -> None:
        along = [self._edge(item) for item in step.items if item["edge"]]
        if len({len(edge) for edge in along}) > 1:
            raise CannotBe(f"{step.line}: the edges are of unlike length")
        for nth in range(len(along[0]) if along else 1):
            found = [self._ring(item, nth) for item in step.items]
            if None in found:
                if not step.skip:
                    raise CannotBe(f"{step.line} goes off an edge")
                continue
            rings = [ring for ring in found if ring]
            if len(set(rings)) < len(rings):
                raise CannotBe(f"{step.line} goes through a ring twice")
            new: Whole = ("", step.numbers, Ring(step.role, 1, 0, nth))
            self.links[new] = set(rings)
            for ring in rings:
                self.links[ring].add(new)
            step.done.append([new, *rings])

    def _named(self, item: re.Match[str]) -> list[Ring]:
        """The rings of a piece that a name may mean, in the order in which they are placed."""
        index = int(item["index"]) if item["index"] else None
        piece = self.pieces[item["piece"]]
        return [r for r in piece.placed_by if r.role == item["role"] and index in (None, r.index)]

    def _edge(self, item: re.Match[str]) -> list[Ring]:
        piece, rings = self.pieces[item["piece"]], self._named(item)
        rows = {r.row for r in rings}
        if item["edge"] == "every unit":
            found = sorted(rings, key=lambda r: r.unit)
        elif item["edge"] in ("first row", "last row"):
            row = 1 if item["edge"] == "first row" else piece.text.rows
            found = sorted((r for r in rings if r.row == row), key=lambda r: r.unit)
        else:
            end = min if item["edge"] == "left edge" else max
            found = [end((r for r in rings if r.row == row), key=lambda r: r.unit)
                     for row in sorted(rows)]  # fmt: skip
        return found[::-1] if item["back"] else found

    def _ring(self, item: re.Match[str], nth: int) -> Whole | None:
        words = item["places"].replace(" row", "-row").split()
        if item["edge"]:
            rings, at = self._edge(item), nth + words.count("next") - words.count("prev")
            if not 0 <= at < len(rings):
                return None
        else:
            rings = self._named(item)
            for word in (w for w in words if w.endswith("-row")):
                last = self.pieces[item["piece"]].text.rows
                rings = [r for r in rings if r.row == (1 if word == "first-row" else last)]
            if len(rings) > 1 and not {"first", "last"} & set(words):
                raise CannotBe(f"{item[0]} may be several")
            at = len(rings) - 1 if "last" in words else 0
        return item["piece"], int(item["number"]), rings[at]

    # -- what can be counted ---------------------------------------------------------------------

    def meets(self, ring: Whole) -> Counter[str]:
        """How many rings of each role a ring meets in the end."""
        return Counter(other.role for _, _, other in self.links[ring])

    def alike(self) -> dict[str, list[Counter[str]]]:
        """For each role what its rings meet, each once."""
        found: dict[str, list[Counter[str]]] = {}
        for ring in self.links:
            if (met := self.meets(ring)) not in found.setdefault(ring[2].role, []):
                found[ring[2].role].append(met)
        return found

    def whole(self) -> bool:
        """True where all of it hangs together."""
        edge, group = {next(iter(self.links))}, set[Whole]()
        while edge:
            ring = edge.pop()
            group.add(ring)
            edge |= self.links[ring] - group
        return len(group) == len(self.links)


def _parted(text: str) -> tuple[list[str], dict[str, tuple[str, int, list[str]]], list[str]]:
    """The shared sections; of each piece its size, how often it is made, and its sections; the
    joining steps."""
    shared: list[str] = []
    made: dict[str, tuple[str, int, list[str]]] = {}
    joining: list[str] = []
    into = shared
    for line in text.splitlines():
        word = line.strip()
        if word.startswith("piece ") and word.endswith(":"):
            name = word[6:-1]
            made[name] = ("", 1, [])
            into = made[name][2]
        elif word == "join:":
            into = joining
        elif word.startswith("made "):
            often = {"once": 1, "twice": 2}.get(word.split()[1]) or int(word.split()[1])
            made[name] = (made[name][0], often, made[name][2])
        elif word.startswith(("sheet ", "chain ")):
            made[name] = (word, *made[name][1:])
        else:
            into.append(line)
    return shared, made, [line.strip() for line in joining if line.strip()]


def _joining(line: str) -> Joining:
    new, _, rest = line.removeprefix("add ").partition(" through ")
    skip = rest.endswith(" skip at edge")
    words, _, picks = rest.removesuffix(" skip at edge").partition(" picks ")
    items = [_ITEM.match(item.strip()) for item in words.split(",")]
    return Joining(line, new, int(picks), skip, [item for item in items if item])


# -- at random -------------------------------------------------------------------------------------


def _panel(rng: random.Random, name: str) -> tuple[list[str], list[str], str]:
    """A small panel: its size and sections, its edges, and how its rings at a corner are named."""
    rows, units = rng.randint(2, 4), rng.randint(2, 5)
    big, small = name[0].upper(), "c" + name[0]
    first = [f"  close {big}", f"  add {small} through {big}, prev {big} picks 2 skip at edge"]
    down = f"  add {small} 2 through {big}, above {big} picks 2"
    lines = [f"  sheet {rows} rows of {units} units", "first row:", *first, "row:", *first, down]
    return lines, ["first row", "last row", "left edge", "right edge"], big


def _woven(rng: random.Random, name: str) -> tuple[list[str], list[str], str]:
    """A piece of European 4-in-1 (common practice, no source)."""
    rows, units = rng.randint(2, 4), rng.randint(3, 6)
    ring = name[0].upper()
    step = f"  add {ring} through above {ring}, above next {ring} if there at one place picks 2"
    lines = [f"  sheet {rows} rows of {units} units", "first row:", f"  close {ring}", "row:", step]
    return lines, ["first row", "last row"], ring


def _chain(rng: random.Random, name: str) -> tuple[list[str], list[str], str]:
    ring = name[0].upper()
    lines = [f"  chain {rng.randint(2, 7)} units", "start:", f"  close {ring}"]
    lines += ["unit:", f"  add {ring} through prev {ring} picks 1"]
    return lines, ["every unit"], ring


def _rosette(rng: random.Random, name: str) -> tuple[list[str], list[str], str]:
    ring, many = name[0].upper(), rng.randint(3, 6)
    return (
        ["start:", f"  add {many} {ring} through one another picks {many - 1} lay front"],
        [],
        ring,
    )


def recipe(rng: random.Random) -> str:
    """Pieces of one kind or two, each joined to one before it, along edges or ring to ring."""
    kinds = rng.sample([("net", _panel), ("web", _woven), ("line", _chain), ("star", _rosette)],
                       rng.randint(1, 2))  # fmt: skip
    made = {name: draw(rng, name) for name, draw in kinds}
    times = {name: rng.randint(1 if len(kinds) > 1 else 2, 4) for name in made}
    lines = []
    for name, (sections, _, _) in made.items():
        size = [sections[0]] if sections[0].startswith("  ") else []
        lines += [f"piece {name}:", *size, f"  made {times[name]} times", *sections[len(size) :]]
    lines.append("join:")
    copies = [(name, at) for name in made for at in range(1, times[name] + 1)]
    free = {copy: list(made[copy[0]][1]) for copy in copies}
    used: set[str] = set()
    for at, two in enumerate(copies[1:], 1):
        one = rng.choice(copies[:at])
        lines += _seam(rng, made, free, used, one, two)
    plain = "\n".join(lines)
    piece = Joined(f"rings:\n  all  wire 1 mm, inside 9 mm, copper\n{plain}")
    if not piece.whole():
        return recipe(rng)
    expect = []
    for role, mets in sorted(piece.alike().items()):
        told = [", ".join(f"{n} {r}" for r, n in sorted(met.items())) for met in mets]
        expect.append(f"  {role} meets {' or '.join(told)}")
    seam = "  J  wire 1.2 mm, inside 6 mm, brass\n" if "J" in piece.alike() else ""
    rings = f"rings:\n  all  wire 1 mm, inside 9 mm, copper\n{seam}"
    return f'weave "Joined at random"\n{rings}expect:\n' + "\n".join([*expect, *lines]) + "\n"


def _seam(
    rng: random.Random,
    made: dict[str, tuple[list[str], list[str], str]],
    free: dict[tuple[str, int], list[str]],
    used: set[str],
    one: tuple[str, int],
    two: tuple[str, int],
) -> list[str]:
    """A step that joins two pieces: along an edge of each, if two are as long, or ring to ring."""
    rings = [made[name][2] for name, _ in (one, two)]
    pairs = [(a, b) for a in free[one] for b in free[two]
             if _long(made[one[0]], a) == _long(made[two[0]], b)]  # fmt: skip
    if pairs and rng.random() < 0.7:
        a, b = rng.choice(pairs)
        free[one].remove(a)
        free[two].remove(b)
        back = " backwards" if rng.random() < 0.4 else ""
        items = [
            f"{one[0]} {one[1]} {rings[0]} along {a}",
            f"{two[0]} {two[1]} {rings[1]} along {b}{back}",
        ]
        if one[0] == two[0] == "web" and rng.random() < 0.6:  # neighbours in a row are not linked
            more = [re.sub(r"(\d+) ", r"\1 next ", item, count=1) for item in items]
            items = [items[0], more[0], items[1], more[1]]
            return [f"  add J through {', '.join(items)} at one place picks 4 skip at edge"
                    .replace(" at one place", "")]  # fmt: skip
        return [f"  add {rng.choice('JK')} through {', '.join(items)} picks 2"]
    found = [_end(rng, made[name][0], name, at, ring, used)
             for (name, at), ring in zip((one, two), rings, strict=True)]  # fmt: skip
    return [f"  add {rng.choice('JK')} through {', '.join(found)} picks 2"]


def _long(piece: tuple[list[str], list[str], str], edge: str) -> int:
    """How many places an edge has."""
    numbers = [int(n) for n in re.findall(r"\d+", piece[0][0])]
    return numbers[0] + 1 if edge == "every unit" else numbers["row" in edge]


def _end(
    rng: random.Random, sections: list[str], name: str, at: int, ring: str, used: set[str]
) -> str:
    """A ring at an end or a corner of a piece, or one of a rosette; each once."""
    if name == "star":
        words = [f"{ring}{n}" for n in range(1, int(re.findall(r"\d+", sections[1])[0]) + 1)]
    elif name == "line":
        words = [f"first {ring}", f"last {ring}"]
    else:
        words = [
            f"{row} row {end} {ring}" for row in ("first", "last") for end in ("first", "last")
        ]
    free = [word for word in words if f"{name} {at} {word}" not in used] or words
    word = f"{name} {at} {rng.choice(free)}"
    used.add(word)
    return word


# -- what is printed -------------------------------------------------------------------------------


def disagreements(text: str, folder: Path) -> list[Disagreement]:
    """Every number that is printed for a right recipe and is not so."""
    file, page = folder / "joined.weave", folder / "joined.html"
    file.write_text(text, encoding="utf-8")
    piece, found = Joined(text), []

    def hold(kind: str, told: object, true: object) -> None:
        if told != true:
            found.append(Disagreement(kind, str(told), str(true)))

    status, printed = run("check", str(file))
    hold("check: status", (status, printed if status else ""), (0, ""))
    if status:
        return found
    steps = sum(len(b.steps) for p in piece.pieces.values() for b in p.text.blocks)
    first = re.search(r"^  (\d+) steps?, a piece joined of (.*)$", printed, re.M)
    assert first, printed
    hold("check: steps", int(first[1]), steps + len(piece.joining))
    said = {name: int(n) for n, name in re.findall(r"(\d+) ([a-z]+?)s, each", first[2])}
    hold("check: how often each is made", said, {n: t for n, t in piece.times.items() if t > 1})
    every = re.search(r"every finished (.*)$", printed, re.M)
    mets = re.findall(r"(\w+) meets ((?:either )?(?:\d+ \w+(?:, or | or |, | and (?=\d))?)+)",
                      every[1] if every else "")  # fmt: skip
    true = piece.alike()
    for role, words in mets:
        for one in re.split(r",? or ", words.removeprefix("either ")):
            met = Counter({r: int(n) for n, r in re.findall(r"(\d+) (\w+)", one)})
            if met not in true[role]:
                hold(f"check: every finished {role}", dict(met), [dict(m) for m in true[role]])
    _counts(piece, file, hold)
    _steps(piece, file, page, hold)
    return found


def _counts(piece: Joined, file: Path, hold) -> None:  # type: ignore[no-untyped-def]
    data = json.loads(run("count", str(file), "--json")[1])
    told, rings = Counter[str](), Counter(r.role for _, _, r in piece.links)
    for ring in data["rings"]:
        told[ring["name"].split()[0].rstrip("0123456789")] += ring["placed"]
    hold("count: rings", dict(told), dict(rings))
    opened = sum(ring["opened"] for ring in data["rings"])
    each = [(n, sum(p.how(r) == "opened" for r in p.placed_by)) for n, p in piece.pieces.items()]
    joins = sum(len(step.done) for step in piece.joining)
    hold("count: opened", opened, joins + sum(piece.times[n] * count for n, count in each))
    hold("count: links", data["links"], sum(map(len, piece.links.values())) // 2)
    made = [(p["piece"], p["made"], p["rings_each"]) for p in data["pieces"]]
    true = [(n, t, len(piece.pieces[n].placed_by)) for n, t in piece.times.items()]
    hold("count: by piece", made, true)
    kit = json.loads(run("kit", str(file), "--json")[1])
    hold("kit: rings", sum(line["piece"] for line in kit["rings"]), len(piece.links))
    brass = sum(line["piece"] for line in kit["rings"] if line["material"] == "brass")
    hold("kit: brass rings", brass, rings["J"])


def _steps(piece: Joined, file: Path, page: Path, hold) -> None:  # type: ignore[no-untyped-def]
    status, printed = run("steps", str(file), "--plain")
    hold("steps: status", status, 0)
    listing = re.sub(r"\n {4,}(?! |Hint:|See:|Count:)", " ", printed)
    status, told = run(
        "handout", str(file), "--pictures", "none", "--rings", "none", "--to", str(page)
    )
    hold("handout: status", (status, told if status else ""), (0, ""))
    handed = re.sub(r"<[^>]+>", " ", page.read_text("utf-8"))
    done = 0
    placed: dict[Whole, int] = {}
    for step in piece.joining:
        line = re.search(rf"^ *{step.numbers}\. (.*)$", listing, re.M)
        assert line, listing
        hold("steps: rings gone through", number(re.findall(r": (\d+) rings?\.", line[1])[0]),
             len(step.done[0]) - 1)  # fmt: skip
        often = re.match(r"(\d+) times, once at each place", line[1])
        along = [len(piece._edge(item)) for item in step.items if item["edge"]]
        hold("steps: how often", int(often[1]) if often else 1, along[0] if along else 1)
        done += len(step.done)
        behind = listing[line.end() :].split("\n\n")[0]
        used = re.search(r"Count: (\d+) rings? used for joining", behind)
        hold("steps: rings used", int(used[1]) if used else None, done)
        hold(
            "handout: the sentence",
            " ".join(line[1].split()[:12]) in " ".join(handed.split()),
            True,
        )
        now: Counter[str] = Counter()
        for rings in step.done:
            for ring in rings:
                placed.setdefault(ring, len(piece.links[ring]) if ring[0] == "" else 0)
        for rings in step.done:
            now.update({str(len(piece.links[rings[0]])): 1})
        see = re.search(r"See: .*?(?:the )?[JK](?: ring)? passes through (\d+) rings?", behind)
        if see:
            hold("steps: See, the new ring", see[1] in now, True)


# -- slips -----------------------------------------------------------------------------------------


def slipped(text: str, rng: random.Random) -> tuple[str, int]:
    """The recipe with one ring left out of a joining step, and counted to match; the line of it."""
    lines = text.splitlines()
    at = rng.choice([n for n, line in enumerate(lines) if n > lines.index("join:")])
    items, _, rest = lines[at].partition(" through ")[2].partition(" picks ")
    each = items.split(", ")
    each.pop(rng.randrange(len(each)))
    count = int(rest.split()[0])
    new = lines[at].partition(" through ")[0]
    tail = rest.removeprefix(str(count))
    lines[at] = f"{new} through {', '.join(each)} picks {count - 1}{tail}"
    return "\n".join(lines) + "\n", at + 1
