"""Every number that the program prints for a recipe, held against the second opinion."""

from __future__ import annotations

import html
import json
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import networkx as nx

from second_opinion.carrier import Act, Piece
from second_opinion.command import run
from second_opinion.pattern import Pattern
from second_opinion.reading import Step, read
from second_opinion.slips import Slip

SMALL = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
         "nine": 9, "ten": 10, "eleven": 11, "twelve": 12, "no": 0, "none": 0}  # fmt: skip


ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
#: '4', '3 or 4', 'between 2 and 6': the least and the most.
COUNT = r"(?:between )?(\d+)(?: (?:or|and) (\d+))?"


def number(word: str) -> int:
    """A number as it is printed: '12', '1,200', 'four'."""
    return SMALL.get(word) if word in SMALL else int(word.replace(",", ""))  # type: ignore


#: Rings as they are told: by name, with the least and the most they pass through.
Told = Counter[tuple[str, tuple[int, int]]]
#: Names, what they pass through, and what instead at some times.
Clause = tuple[list[str], tuple[int, int], dict[str, tuple[int, int]]]


@dataclass(frozen=True)
class Disagreement:
    """One number on which the two differ. kind: which; told: what is printed; true: what is so."""

    kind: str
    told: str
    true: str


class Opinion:
    """One recipe, carried out here and handed to the program."""

    def __init__(self, text: str, folder: Path) -> None:
        self.text, self.file, self.page = text, folder / "trial.weave", folder / "trial.html"
        self.file.write_text(text, encoding="utf-8")
        self.recipe = read(text)
        self.piece = Piece(self.recipe)
        self.pattern = Pattern(self.piece)
        self.found: list[Disagreement] = []

    @property
    def steps(self) -> list[Step]:
        """Every step of the recipe."""
        return [s for b in self.recipe.blocks for s in b.steps]

    def _hold(self, kind: str, told: object, true: object) -> None:
        if told != true:
            self.found.append(Disagreement(kind, str(told), str(true)))

    # -- the outputs -----------------------------------------------------------------------------

    def all(self) -> list[Disagreement]:
        """Every disagreement about a right recipe."""
        status, printed = run("check", str(self.file))
        if status:
            rules = re.findall(r"^error: (.*)\[([a-z-]+)\]$", printed, re.M)
            for words, rule in rules or [(printed, f"status {status}")]:
                self._hold(f"check: error told, {rule}", words.strip(), "right as it is")
            return self.found
        self._check(printed)
        self._count()
        self._kit()
        self._lesson()
        self._sets()
        variants = list(self.recipe.variants) or [""]
        for variant in variants:
            piece = Piece(self.recipe, variant)
            options = ("--variant", variant) if variant else ()
            status, printed = run("steps", str(self.file), "--plain", *options)
            self._hold("steps: not printed", status, 0)
            listing = re.sub(r"\n {4,}(?! |Hint:|See:|Count:)", " ", printed)
            self._steps(piece, listing)
            self._needs(listing)
            rows = re.findall(r"- (row \d+(?:, back)?: (?!.* of [\d.]+ × ).*)", listing)
            self._rows(rows, "steps")
            self._sizes(re.findall(r"- ((?:row|unit)s? [\d, to]+: .* of .*)", listing), "steps")
        self._handout()
        return self.found

    def errors(self) -> int:
        """How many errors `check` tells."""
        return run("check", str(self.file))[1].count("error: ")

    def _check(self, printed: str) -> None:
        steps = sum(len(b.steps) for b in self.recipe.blocks)
        first = re.search(r"^  (\d+) steps?, (.*)$", printed, re.M)
        assert first, printed
        self._hold("check: steps", int(first[1]), steps)
        self._measures("check", first[2])
        meets = re.search(r"^  every finished (.*)$", printed, re.M)
        told: dict[str, list[Counter[str]]] = {}
        every = meets[1] if meets else ""
        for role, words in re.findall(
            r"(\w+) meets ((?:\d+ \w+|, (?=\d)| or | and (?=\d))+)", every
        ):
            told[role] = [
                Counter({r: int(n) for n, r in re.findall(r"(\d+) (\w+)", one)})
                for one in re.split(" or " if " and " in words else ", | or ", words)
            ]
        if meets or not re.search(r"roles keep their promises", printed):
            self._finished("check: every finished", told, lambda met: met)

    def _measures(self, where: str, words: str) -> None:
        """'a sheet of 8 rows of 12 units, 4 rings a unit'."""
        text = self.recipe
        if text.strands:
            each = re.findall(r"(\w+) of ([\d,]+) units?", words)
            told = [(name, number(n)) for name, n in each]
            self._hold(f"{where}: strands", told, text.strands)
            self._hold(f"{where}: strands in all", f"{len(text.strands)} strand" in words, True)
            return
        size = re.search(r"(?:(\d+) rows?(?: in the round)? )?of (\d+)(?: to (\d+))? units?", words)
        assert size, words
        self._hold(f"{where}: in the round", " in the round of " in words, bool(text.rounds))
        wide = [len(units) for units in text.worked.values()] if text.widths else [text.units]
        told = int(size[2]), int(size[3] or size[2])
        self._hold(f"{where}: units", told, (min(wide), max(wide)))
        self._hold(f"{where}: rows", int(size[1] or 1), text.rows)
        places = re.search(r"(\d+) places? in all", words)
        true = str(sum(wide)) if text.widths else None
        self._hold(f"{where}: places", places and places[1], true)
        unit = re.search(r"(\d+) rings? a unit", words)
        if unit:
            self._hold(f"{where}: rings a unit", {int(unit[1])}, self.pattern.unit_sizes)

    def _finished(self, kind: str, told: dict, seen) -> None:  # type: ignore[no-untyped-def]
        """What is printed of finished rings is so of rings of the piece; nothing is left out."""
        for role, each in told.items():
            real = [seen(self.piece.by_role(r)) for r in self.piece.links if r.role == role]
            steady = [seen(m) for m in self.pattern.finished.get(role, [])]
            steady = real if self.recipe.rounds else steady
            # What is gathered with the one ring of a role may not be so with the other.
            gathered = any("every" in i.places for s in self.steps for i in s.through)
            for met in each:
                if met not in (steady or real) and not (gathered and met in real):
                    true = " or ".join(_met(m) for m in _once(steady or real))
                    kind_ = f"{kind}, a number no such ring has"
                    self._hold(kind_, f"{role}: {_met(met)}", f"{role}: {true}")
        for role, every in self.pattern.finished.items():
            for met in every:
                said = told.get(role, [seen(met)])
                if seen(met) not in said:
                    self._hold(f"{kind}, left out", f"{role}: {' or '.join(map(_met, said))}",
                               f"{role}: also {_met(seen(met))}")  # fmt: skip

    def _count(self) -> None:
        status, printed = run("count", str(self.file), "--json")
        self._hold("count: not printed", status, 0)
        data, placed = json.loads(printed), self.piece.placed()
        self._measures("count", data["piece"])
        told = {k: Counter() for k in ("opened", "closed", "out")}
        coloured: Counter[tuple[str, str]] = Counter()
        for ring in data["rings"]:
            role, index = re.fullmatch(r"([^\W\d]+) ?(\d*)", ring["name"]).groups()  # type: ignore
            for how, key in (("opened", "opened"), ("closed", "closed"), ("out", "taken_out")):
                told[how][role, int(index or 1)] += ring[key]
            coloured[role, self._colour(ring["words"])] += ring["placed"]
        true = Counter((r.role, self.piece.colour(r)) for r in self.piece.placed_by
                       if r.role not in self.recipe.parts)  # fmt: skip
        self._hold("count: rings by colour", dict(coloured), dict(true))
        for how, counted in told.items():
            self._hold(f"count: rings {how}", dict(+counted), dict(placed[how]))
        self._hold("count: rings in all", data["rings_in_all"], len(self.piece.placed_by))
        true = [(name, n, sum(r.row == at for r in self.piece.placed_by if r.role not in
                                  self.recipe.parts))
                for at, (name, n) in enumerate(self.recipe.strands, 1)]  # fmt: skip
        each = [(s["strand"], s["units"], s["rings"]) for s in data["strands"]]
        self._hold("count: rings of each strand", each, true)
        links = sum(map(len, self.piece.links.values())) // 2
        self._hold("count: links", data["links"], links)
        parts = Counter(p["name"] for p in data["parts"] for _ in range(p["placed"]))
        self._hold("count: parts", parts, Counter(r.role for r in self.piece.parts))

    def _colour(self, words: str) -> str:
        """The line of the key that a kind of ring is told by: '1 × 40 mm, grey copper' is grey."""
        look = words.removesuffix(", stays closed").rpartition(", ")[2]
        return next((c for c in self.recipe.key.values() if look.startswith(c)), "")

    @property
    def kinds(self) -> Counter[tuple[str, str, str]]:
        """Rings by the line they are bought by, by colour and how they are placed."""
        found: Counter[tuple[str, str, str]] = Counter()
        piece = self.piece
        for ring in piece.placed_by:
            found[piece.kind(*ring), piece.colour(ring), piece.how(ring)] += 1
        for ring in piece.out:
            found[piece.kind(*ring), piece.colour(ring), "out"] += 1
        return found

    def _kit(self) -> None:
        status, printed = run("kit", str(self.file), "--json")
        self._hold("kit: not printed", status, 0)
        data, told = json.loads(printed), Counter()
        self._measures("kit", data["piece"])
        for line in data["rings"]:
            look = f"{line['colour']} {line['material']}"
            colour = self._colour(look)
            name = line["kinds"][0].removesuffix(f" {line['colour']}")
            kind = self._kind_of(name), colour
            self._hold("kit: a piece is what is opened and closed", line["piece"],
                       line["opened"] + line["closed"])  # fmt: skip
            self._hold("kit: stays closed", line["stays_closed"], kind[0] in self.recipe.stay)
            told.update({(*kind, "opened"): line["opened"], (*kind, "closed"): line["closed"],
                         (*kind, "out"): line["taken_out"]})  # fmt: skip
        self._hold("kit: rings by kind", dict(+told), dict(self.kinds))
        parts = Counter({p["name"]: p.get("piece", p.get("kit")) for p in data.get("parts", ())})
        self._hold("kit: parts", parts, Counter(r.role for r in self.piece.parts))

    def _lesson(self) -> None:
        """What each step places in the whole piece; the rings done at each break, where closing a
        ring takes half a minute and putting one in takes one."""
        every = max(3, len(self.piece.placed_by) // 20)
        status, printed = run(
            *("lesson", str(self.file), "--pace", "60", "--pace", "close=30", "--json"),
            *("--break", f"1 min every {every} min"),
        )
        self._hold("lesson: not printed", status, 0)
        data, true, now, ends = json.loads(printed), Counter[int](), 0, []
        for act in self.piece.acts:
            rings = [r for r in act.new if r.role not in self.recipe.parts]
            true[act.step.number] += len(rings)
            for _ in rings:
                now += 30 if act.step.verb == "close" else 60
                ends.append(now)
        told = {s["step"]: s["rings"] for part in data["sections"] for s in part["steps"]}
        self._hold("lesson: rings of each step", +Counter(told), +true)
        self._hold("lesson: seconds", data["seconds"], str(now))
        work = [s for s in data["timetable"] if s["what"] == "work"]
        minutes = 0
        for slot in work:
            minutes += slot["last_minute"] - slot["first_minute"]
            self._hold("lesson: rings done by a break", slot["rings_done"],
                       sum(end <= 60 * minutes for end in ends))  # fmt: skip

    def _sets(self) -> None:
        """Every set of sizes: the rings of the piece, bought in the sizes of that set."""
        for name, sizes in self.recipe.sets.items():
            status, printed = run("kit", str(self.file), "--size", name, "--json")
            self._hold("kit in a size: not printed", status, 0)
            told: Counter[tuple[float, float]] = Counter()
            for line in json.loads(printed)["rings"] if not status else ():
                told[line["wire_mm"], line["inside_mm"]] += line["piece"]
            true: Counter[tuple[float, float]] = Counter()
            for ring in self.piece.placed_by:
                if ring.role not in self.recipe.parts:
                    names = (f"{ring.role}{ring.index}", f"{ring.role} {ring.index}", ring.role)
                    own = next((n for n in names if n in sizes), "all")
                    true[sizes[own]] += 1
            self._hold("kit in a size: rings by size", dict(told), dict(true))

    def _kind_of(self, name: str) -> str:
        """The line that a ring or role named in the kit is bought by."""
        for typed in (name, re.sub(r"^([^\W\d]+) (\d+) (?=unit|row)", r"\1\2 ", name)):
            if typed in self.recipe.kinds:
                return typed
        role, index = re.fullmatch(r"([^\W\d]+) ?(\d*)", name).groups()  # type: ignore[union-attr]
        return self.piece.kind(role, int(index or 1))

    # -- the step list ---------------------------------------------------------------------------

    def _needs(self, listing: str) -> None:
        needs = re.findall(r"- ([\d,]+) rings? for .*?\((?:(\d[\d,]*) opened)?(?: and )?"
                           r"(?:(\d[\d,]*) closed)? beforehand\)", listing)  # fmt: skip
        told = sorted(tuple(number(n or "0") for n in need) for need in needs)
        stay = re.findall(r"- ([\d,]+) rings? for [^\n]*, stays closed$", listing, re.M)
        told = sorted(told + [(number(n), 0, number(n)) for n in stay])
        self._hold("steps: rings to lay ready", told, self._ready())

    def _ready(self) -> list[tuple[int, int, int]]:
        found = []
        for kind, colour in {(kind, colour) for kind, colour, _ in self.kinds}:
            opened, closed = (self.kinds[kind, colour, how] for how in ("opened", "closed"))
            if opened + closed:
                found.append((opened + closed, opened, closed))
        return sorted(found)

    def _sizes(self, told: list[str], where: str) -> None:
        """'units 1 to 8: A of 1 × 4 mm': the size of each ring whose size changes, by its place."""
        said: dict[tuple[str, int], tuple[float, float]] = {}
        for line in told:
            places, rings = line.split(": ")
            first, *last = (int(n) for n in re.findall(r"\d+", places.replace(",", "")))
            for name, wire, inside in re.findall(
                r"(\w+(?: \d+)?) of ([\d.]+) × ([\d.]+) mm", rings
            ):
                for at in range(first, (last or [first])[0] + 1):
                    said[name.replace(" ", ""), at] = float(wire), float(inside)
        true: dict[tuple[str, int], tuple[float, float]] = {}
        text, piece = self.recipe, self.piece
        end = text.rows if text.flat else text.units
        for ring in piece.placed_by:
            if ring.role in text.parts:
                continue
            name = re.sub(r" (?:unit|row)s? .*", "", piece.kind(*ring))
            if len(piece.lines_of(name, text.kinds)) > 1:
                at = min(max(ring.row if text.flat else ring.unit, 1), end)
                alone = name in (ring.role, "all")
                spoken = (
                    ring.role if alone and self._one_kind(ring.role) else f"{ring.role}{ring.index}"
                )
                true[spoken, at] = text.sizes[piece.kind(*ring)]
        # A stretch is told of a ring that stands anywhere in it.
        self._hold(f"{where}: which size where", {k: v for k, v in said.items() if k in true}, true)
        empty = {name for name, _ in said} - {name for name, _ in true}
        self._hold(f"{where}: sizes of rings that are not there", empty, set())

    def _one_kind(self, role: str) -> bool:
        """True where all rings of a role are bought by the same lines."""
        numbers = {r.index for r in self.piece.placed_by if r.role == role}
        return (
            len({re.sub(r" (?:unit|row)s? .*", "", self.piece.kind(role, n)) for n in numbers}) == 1
        )

    def _rows(self, told: list[str], where: str) -> None:
        """'row 2, back: 2 grey, 3 red': the rings of every row as they are worked."""
        true = []
        for row, runs in enumerate(self.piece.rows_by_colour(), 1):
            back = ", back" if self.piece.way(row) < 0 else ""
            said = ", ".join(f"{n} {words}" for n, words in runs) or "none of its rings"
            true.append(f"row {row}{back}: {said}")
        self._hold(f"{where}: rows by colour", told, true if self.recipe.picture else [])

    def _steps(self, piece: Piece, listing: str, where: str = "steps") -> None:
        lines = listing.splitlines()
        if piece.text.strands:
            each = re.findall(rf"ork\s+{_STEPS}\s+(?:([\d,]+)\s+times|once)", listing)
            told = sorted(number(n or "1") for n in each)
            self._hold(f"{where}: how often", told, sorted(n for _, n in piece.text.strands))
        for at, line in enumerate(lines):
            if not piece.text.strands and (
                times := re.search(
                    rf"(?:again(?: from its first unit)?,|{_STEPS}) (\d+) times?", line
                )
            ):
                often, above = int(times[1]), " ".join(lines[max(at - 4, 0) : at])
                head = re.findall(r"first row|last row", above.lower())
                row = {"first row": 1, "last row": piece.rows}.get(head[-1] if head else "", 0)
                true = len(piece.along(row)) if row else piece.units
                self._hold(f"{where}: how often", often, true)
            if rows := re.search(r"^Work (\d+) rows? like this", line):
                ends = [k for k in ("first row", "last row") if self.recipe.block(k)]
                self._hold(f"{where}: rows", int(rows[1]), piece.rows - len(ends))
            if self.recipe.rounds and re.search(r"Rows? \d+.*: \d+ place", line):
                self._rounds(line, where)
            elif "once for each of its places." in line and self.recipe.widths:
                self._row_places(piece, line, where)
            if "take turns" in line and "and so on" in line:
                self._hold(f"{where}: 'and so on'", True, self.pattern.goes_round)
            if step := re.match(r"\s*(\d+)\. (.*)$", line):
                below = []
                for under in lines[at + 1 :]:
                    if not under.strip():
                        break
                    below.append(under.strip())
                acts = [a for a in piece.acts if a.step.number == int(step[1])]
                if acts or int(step[1]) <= max(a.step.number for a in piece.acts):
                    self._step(piece, acts, step[2], below, where)
                # else a line of words begins with a number and a stop: 'up to unit / 24. Then'
        told, once = {}, {}
        for one, role, words in re.findall(
            r"^\s+- (?:(Every finished)|(?:The )?(?=\w+ )) ?(\w+)"
            r" (?:passes through|is linked with) ([\d or,]+) ring",
            listing,
            re.M,
        ):
            told[role] = [number(n) for n in re.findall(r"\d+", words)]
            once[role] = not one
        of_role = Counter(r.role for r in piece.links)
        for role, alone in once.items():
            self._hold(f"{where}: 'every' or the only one, {role}", alone, of_role[role] == 1)
        self._finished(f"{where}: every finished", told, lambda met: met.total())

    def _rounds(self, line: str, where: str) -> None:
        """'Row 2: 12 places, every second one extra. Row 3: 6 places, each shared by two of …'."""
        text = self.recipe
        for first, last, wide, words in re.findall(
            r"Rows? (\d+)(?: (?:to|and) (\d+))?: (\d+) places?(?: each)?(?:, ([^.]*))?\.", line
        ):
            for row in range(int(first), int(last or first) + 1):
                units = text.worked[row]
                self._hold(f"{where}: places of a round", int(wide), len(units))
                some = [u for u in units if row > 1 and text.odd(row, u)]
                odd = {u: len(text.over(row)[u]) for u in some}
                self._hold(f"{where}: odd places of a round", _odd(words, len(units)), odd)

    def _row_places(self, piece: Piece, line: str, where: str) -> None:
        """'Row 2: 5 places, row 3: 4. Row 4: 2 places, leave 1 empty, 2 places; begin it 1 place
        before the first of the row above.'"""
        words = re.split(r"back along the row above\. |of its places\. ", line)[-1]
        for sentence in re.findall(r"[Rr]ows? \d.*?\.", words):
            told, _, begin = sentence.rstrip(".").partition("; ")
            rows: dict[int, str] = {}
            if many := re.match(r"Rows (\d+) (?:to|and) (\d+): (.*) each$", told):
                rows = dict.fromkeys(range(int(many[1]), int(many[2]) + 1), many[3])
            elif long := re.match(
                r"Row (\d+): (\d+) places?, and in each row (\d+) (more|less), up to (\d+) in row"
                r" (\d+)$",
                told,
            ):
                by = int(long[3]) * (1 if long[4] == "more" else -1)
                first, last = int(long[1]), int(long[6])
                rows = {
                    r: f"{int(long[2]) + by * (r - first)} places" for r in range(first, last + 1)
                }
                self._hold(
                    f"{where}: places of the last row of a run", rows[last], f"{long[5]} places"
                )
            else:
                for row, places in re.findall(r"[Rr]ow (\d+): (.*?)(?=, row |$)", told):
                    rows[int(row)] = places
            by = 0
            if said := re.search(
                r"(\d+) places? (before|behind) the first of the row above", begin
            ):
                by = int(said[1]) * (1 if said[2] == "before" else -1)
            for row, places in rows.items():
                way = piece.way(row)
                units = piece.along(row)[::way]
                runs: list[int] = [0]
                for one, other in zip([units[0] - way, *units], units, strict=False):
                    if abs(other - one) > 1:
                        runs += [abs(other - one) - 1, 0]
                    runs[-1] += 1
                said_runs = [int(n) for n in re.findall(r"\d+", places)]
                self._hold(f"{where}: places of a row", said_runs, runs)
                edge = piece.along(row - 1)[::way][0] if row > 1 else units[0]
                self._hold(f"{where}: where a row begins", by, (edge - units[0]) * way)

    def _step(
        self, piece: Piece, acts: list[Act], sentence: str, below: list[str], where: str
    ) -> None:
        number_ = acts[0].step.number
        if all(a.left_out and not a.new and not a.through for a in acts):
            self._hold(f"{where}: a step that is left out everywhere", sentence, "worked nowhere")
            return
        through = re.search(
            rf": {COUNT} (?:rings?|picked up)(?: \((\w+) the first time\))?"
            r"(?: for the last one)?\.",
            sentence,
        )
        whole = [a for a in acts if a.through]
        most = max((len(a.through) for a in whole), default=0)
        if through or most:
            told = max(number(n) for n in through.groups() if n) if through else None
            self._hold(f"{where}: 'that is N rings'", f"step {number_}: {told}",
                       f"step {number_}: {most}")  # fmt: skip
        if through and through[3]:
            self._hold(f"{where}: 'that is N rings', (N the first time)", number(through[3]),
                       len(acts[0].through))  # fmt: skip
        self._side(acts, sentence, where)
        self._lies(acts[0].step, sentence, where)
        for line in below:
            if line.startswith("See: "):
                self._see(piece, [a for a in acts if a.meets], line[5:].rstrip("."), where)
            elif used := re.search(r"Count: (\d+)(?: of (\d+))? rings?", line):
                steps = acts[0].block.steps
                worked = {a.step.number for a in piece.acts if a.new or not a.left_out}
                steps = [s for s in steps if s.number in worked]
                done = [s for s in steps if s.number <= number_]
                self._hold(
                    f"{where}: rings used so far", int(used[1]), _placed(done, self.recipe.parts)
                )
                if used[2]:
                    self._hold(
                        f"{where}: rings of the unit",
                        int(used[2]),
                        _placed(steps, self.recipe.parts),
                    )

    def _side(self, acts: list[Act], sentence: str, where: str) -> None:
        sides = {a.unit: a.side for a in acts if a.side}
        kind = f"{where}: the side it goes in from"
        if plain := re.search(r"From the (front|back), ", sentence):
            self._hold(kind, f"step {acts[0].step.number} always {plain[1]}",
                       f"step {acts[0].step.number} always {' or '.join(sorted({*sides.values()}))}"
                       )  # fmt: skip
        elif odd := re.search(r"In the 1st, 3rd, 5th … unit from the (front|back), in the 2nd, 4th,"
                              r" 6th … from the (front|back)", sentence):  # fmt: skip
            self._hold(kind, {u: odd[1 + (u + 1) % 2] for u in sides}, sides)
        else:
            for unit, side in re.findall(r"unit (\d+) from the (front|back)", sentence):
                self._hold(kind, side, sides.get(int(unit), side))

    def _lies(self, step: Step, sentence: str, where: str) -> None:
        """At how many places a ring goes through others, and to which side it is laid."""
        told = sentence.count("further along the new ring")
        self._hold(f"{where}: further along", told, sum(i.then for i in step.through))
        self._hold(f"{where}: at one place", ", at one place:" in sentence, step.one_place)
        sides = re.findall(r"on the (left|right)|(one to each) side", sentence)
        true = {"": [], "one to each side": ["left", "right"]}
        if step.verb == "fold back":
            true["one to each side"] = ["one to each"]
        self._hold(f"{where}: the side it is laid to", [a or b for a, b in sides],
                   true.get(step.toward, [step.toward.removeprefix("on the ")]))  # fmt: skip

    def _see(self, piece: Piece, acts: list[Act], words: str, where: str) -> None:
        """'A passes through 4 rings (2 the first time) and is finished; B …'.

        In units the numbers must be so every time but those told otherwise, in rows away from the
        edges; and there must be a time at which they are so.
        """
        told: Told = Counter()
        later_on = 0
        clauses: list[Clause] = []
        done: list[Clause] = []
        if late := re.match(r"from the (\w+) time on ", words, flags=re.I):
            words, nth = words[late.end() :], late[1]
            later_on = ORDINALS.index(nth) if nth in ORDINALS else int(nth.rstrip("stndrh")) - 1
        elif since := re.match(r"from (unit \d+ of strand \w+) on ", words, flags=re.I):
            words = words[since.end() :]
            when = f"in {since[1]}".lower()
            later_on = next(at for at, a in enumerate(acts)
                            if _is_when(a, at, when, piece.text.strands))  # fmt: skip
        for clause in words.split("; "):
            said = re.search(
                rf"^(.*?) (?:each pass|passes) through (?:{COUNT} rings?|no rings?)"
                r"(?: \(([^)]*)\))?( and (?:is|are) finished)?$",
                clause,
            )
            if not said:
                self._hold(f"{where}: See, not understood", clause, "")
                return
            least = int(said[2] or 0)
            names, meets = _names(said[1]), (least, int(said[3] or least))
            told.update((name, meets) for name in names)
            noted: dict[str, tuple[int, int]] = {}
            for one in (said[4] or "").split(", ") if said[4] else ():
                count, when = one.split(" ", 1)
                noted[when] = number(count), number(count)
            if said[5]:
                done.append((names, meets, noted))
            clauses.append((names, meets, noted))
        kind = f"{where}: See, rings passed through"
        unsure = f"{sorted(told.items())} ({words})"
        seen = [_seen(piece, a) for a in acts]
        # Of places that several above share only the rings are told that are there everywhere.
        covers = _covers if len({s.total() for s in seen}) == 1 else _within
        several, times = len({_named(piece, a) for a in acts}) > 1, seen
        holds = covers
        if several and all(_within(told, s) for s in seen):
            seen = []  # other rings are named from place to place, and only those of all are told
            holds = _within
        elif not any(covers(told, s) for s in seen):
            self._hold(f"{kind}, at no time so", unsure, [sorted(s.items()) for s in seen[-3:]])
            return
        whens = dict.fromkeys(when for _, _, noted in clauses for when in noted)
        odd = {
            when: at
            for when in whens
            for at, a in enumerate(acts)
            if _is_when(a, at, when, piece.text.strands)
        }
        later = [s for at, s in enumerate(seen) if at >= later_on and at not in odd.values()]
        if seen and acts[0].block.kind in ("row", "again", "first row", "row end"):
            later = [_seen(piece, a) for a in acts if self._deep(a)]
        for s in later:
            if not covers(told, s):
                self._hold(f"{kind}, not so every time", unsure, sorted(s.items()))
                break
        for when in whens:
            then = _then(clauses, when)
            if when not in odd or len(acts) == 1 or not holds(then, times[odd[when]]):
                true = sorted(times[odd[when]].items()) if when in odd else "no such time"
                self._hold(f"{kind}, (N the first time)", words,
                           f"{true} {when} of {len(acts)} times")  # fmt: skip
        for (name, meets), at in [(t, e) for t in told for e in t[1]]:
            if name != "*" and not any((name, at) in _seen(piece, a) for a in acts):
                self._hold(f"{kind}, at no time so many", f"{name} {meets}", words)
        final = []
        for at, act in enumerate(acts):
            when = next((w for w, there in odd.items() if there == at), "")
            final.append(_within(_then(done, when), _done(piece, act)))
        if not (all(final[later_on:]) if acts[0].block.kind == "unit" else any(final)):
            true = [sorted(_done(piece, a)) for a, so in zip(acts, final, strict=True) if not so]
            self._hold(f"{where}: See, 'finished'", words, true[-1])

    def _deep(self, act: Act) -> bool:
        """Away from the edges: as many rows and units as steps reach, twice over."""
        far = 2 * max((len(i.places) for b in self.recipe.blocks for s in b.steps
                      for i in s.through), default=0)  # fmt: skip
        inside = far < act.unit <= self.piece.units - far and far < act.row <= self.piece.rows
        around = range(-far, far + 1)
        return inside and all(
            act.unit + on in self.piece.along(act.row - up)
            for up in range(far + 1)
            for on in around
        )

    # -- the hand-out ----------------------------------------------------------------------------

    def _handout(self) -> None:
        status, printed = run("handout", str(self.file), "--to", str(self.page), "--teacher",
                              "--pictures", "none", "--rings", "none")  # fmt: skip
        self._hold("handout: not printed", status and printed, 0)
        page = self.page.read_text(encoding="utf-8")
        facts = dict(re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", page))
        lead = re.findall(r'<p class="lead">(.*?)</p>', page)[0]
        self._measures("handout", f"{lead} {facts.get('Unit', '')}")
        told = [number(n) for n in re.findall(r"[\d,]*\d", facts["Rings in all"])]
        true = [len(self.piece.placed_by), *([len(self.piece.out)] if self.piece.out else [])]
        self._hold("handout: rings in all", told, true)
        row = (
            r'<td class="number">([\d,]+)</td>(?:\n<td>.*?</td>)*?'
            r"\n<td>((?:open|close|nothing; )[^<]*)</td>"
        )
        needs = re.findall(row, page)
        ready = []
        for count, how in needs:
            if how == "nothing; they stay closed":
                how = f"close {count}"
            opened, closed = (re.search(rf"{w} (\d[\d,]*)", how) for w in ("open", "close"))
            ready.append((number(count), *(number(x[1]) if x else 0 for x in (opened, closed))))
        self._hold("handout: rings to lay ready", sorted(ready), self._ready())
        ticked = re.findall(r'aria-label="Done: ((?:row|unit).*?)"', page)
        sized = [line for line in ticked if re.search(r" of [\d.]+ × ", line)]
        self._sizes(sized, "handout")
        self._rows([line for line in ticked if line not in sized], "handout")
        steps = re.sub(r'<section [^>]*data-step="(\d+)">.*?<p class="do">(.*?)</p>',
                       r"\n\n\1. \2", page, flags=re.S)  # fmt: skip
        steps = re.sub(r"</?(?:span|em)[^>]*>", "", steps)
        steps = re.sub(r"<b>(?:See:|Stop and count\.)</b> ([^.]*\.)", r"\nSee: \1\n", steps)
        steps = html.unescape(re.sub(r"<.*?>", "\n", steps)).replace("\u00a0", " ")
        self._steps(self.piece, _joined(steps), "handout")


#: How a list and a page call the steps of a section.
_STEPS = r"(?:these\s+steps|step\s+\d+,|steps\s+\d+\s+to\s+\d+,)"


def _odd(words: str, wide: int) -> dict[int, int]:
    """Which places of a round are extra (1) or shared, and by how many of the row above."""
    units = range(1, wide + 1)
    if not words:
        return {}
    by = [number(n) for n in re.findall(r"by (?:all )?(\w+)", words)] or [1]
    if words == "all but the first extra":
        return dict.fromkeys(units[1:], 1)
    if more := re.match(r"(\w+) extra ones after every ordinary one", words):
        return {u: 1 for u in units if (u - 1) % (number(more[1]) + 1)}
    if words.startswith(("each shared", "shared by all")):
        return dict.fromkeys(units, by[0])
    if every := re.match(r"every (\w+) one", words):
        step = ORDINALS.index(every[1]) + 1
        some = [u for u in units if u % step == 0]
    else:
        some = [int(n) for n in re.findall(r"\d+", re.split(r" extra| shared", words)[0])]
    rest = dict.fromkeys(units, by[1]) if "all others" in words else {}
    return {u: by[0] if u in some else rest[u] for u in units if u in some or u in rest}


def untold(slip: Slip, folder: Path) -> str:
    """Whether `check` tells a slip: 'told', 'breaks nothing' or 'not told: ' and what is broken."""
    opinion = Opinion(slip.text, folder)
    piece, pattern = opinion.piece, opinion.pattern
    miscounted = [
        a
        for a in piece.acts
        if a.step.picks is not None and not a.left_out and len(a.through) != a.step.picks
    ]
    broken = {
        "count not lowered": miscounted,
        "promise broken": pattern.broken(),
        "piece falls apart": len(piece.components()) > 1,
        "link owed by the whole weave": pattern.owed(),
    }
    wrong = [what for what, found in broken.items() if found]
    if not wrong:
        return "breaks nothing"
    return "told" if opinion.errors() else f"not told: {wrong[0]}"


def _joined(page: str) -> str:
    """The page's words as the step list has them: a step, what is under it, an empty line."""
    lines, found = [x.strip() for x in page.splitlines()], []
    for line in lines:
        if re.match(r"\d+\. ", line):
            found += ["", line]
        elif line:
            found.append(line)
    return "\n".join(found)


def _once(each: list) -> list:  # type: ignore[type-arg]
    return [m for at, m in enumerate(each) if m not in each[:at]]


def _met(met: Counter[str] | int) -> str:
    if isinstance(met, int):
        return str(met)
    return " and ".join(f"{n} {r}" for r, n in sorted(met.items())) or "nothing"


def _placed(steps: list, parts: list[str]) -> int:  # type: ignore[type-arg]
    return sum(role not in parts for s in steps for role, _ in s.new)


def _names(words: str) -> list[str]:
    """The rings of a clause by name, without the place that is said of them all."""
    words = re.sub(r"^(away from the edges|after the first rows) ", "", words, flags=re.I)
    if all_ := re.match(r"[Aa]ll (\w+)", words):
        return ["*"] * number(all_[1])
    words = re.sub(r" (of|in|at) .*$", "", words)
    words = re.sub(r"(\w) (\d+)", r"\1\2", words)
    return [
        re.sub(r"^the (\w+?)( ring)?$", r"\1", w, flags=re.I).lower()
        for w in re.split(r", | and ", words)
    ]


def _seen(piece: Piece, act: Act) -> Counter[tuple[str, int]]:
    """How many rings each ring of an act passes through when it is done, by name.

    In a row a ring of the start is left out: it meets more with every unit of the row.
    """
    flat = piece.text.flat and act.row <= piece.rows
    each = [(r, n) for r, n in act.meets.items() if not (flat and r.row == 0 < act.row)]
    return Counter((piece.called(r).lower(), n) for r, n in each)


def _then(clauses: list[Clause], when: str) -> Told:
    """The rings of clauses with what they pass through at a time, '' for the other times."""
    return Counter(
        (name, noted.get(when, meets)) for names, meets, noted in clauses for name in names
    )


def _is_when(act: Act, at: int, when: str, strands: list[tuple[str, int]]) -> bool:
    """Whether a step's act number `at` is the one meant by 'the first time' or 'in unit 12'."""
    if when == "the first time":
        return at == 0
    what, number_, strand = re.fullmatch(  # type: ignore[union-attr]
        r"in (unit|row) (\d+)(?: of strand (\w+))?", when
    ).groups()
    if strand and [name for name, _ in strands][act.row - 1] != strand:
        return False
    return (act.unit if what == "unit" else act.row) == int(number_)


def _named(piece: Piece, act: Act) -> frozenset[tuple[str, int, int, int]]:
    """Which rings an act names, as seen from its own place."""
    way, strands = piece.way(act.row), piece.text.strands
    return frozenset(
        (
            r.role,
            r.index,
            0 if strands and not r.row else r.row - act.row,
            (r.unit - act.unit) * way,
        )
        for r in act.meets
    )


def _done(piece: Piece, act: Act) -> Counter[tuple[str, int]]:
    """The rings of an act that nothing more is linked with."""
    final = piece.links
    return Counter(
        (piece.called(r).lower(), n) for r, n in act.meets.items() if len(final.get(r, ())) == n
    )


def _within(told: Told, seen: Counter[tuple[str, int]]) -> bool:
    """Whether the rings told are among those seen; those without a name are any."""
    pairs = nx.Graph()
    said = [("told", at) for at in range(told.total())]
    pairs.add_nodes_from(said)
    for one, (name, (least, most)) in zip(said, told.elements(), strict=True):
        for at, (called, meets) in enumerate(seen.elements()):
            if name in ("*", called) and least <= meets <= most:
                pairs.add_edge(one, ("seen", at))
    return len(nx.bipartite.maximum_matching(pairs, said)) == 2 * len(said)


def _covers(told: Told, seen: Counter[tuple[str, int]]) -> bool:
    """Whether the rings told, some of them without their names, are just the rings seen."""
    return told.total() == seen.total() and _within(told, seen)
