"""Random recipes that are right.

A recipe is drawn without counts and lays; the carrier then says which steps pick up how many rings,
where a lay matters and what every finished ring meets, and that is written in. A draw that cannot
be worked, that hangs together badly or that owes a link is thrown away, so whatever comes out is
right by the second opinion.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass

from second_opinion.carrier import CannotBe, Piece
from second_opinion.pattern import Pattern
from second_opinion.reading import ODD, read

ROLES = ("A", "B", "C", "core", "side", "F")
SIZES = ("wire 1 mm, inside 40 mm, copper", "wire 1.2 mm, inside 50 mm, brass, colour red",
         "wire 0.8 mm, inside 36 mm, aluminium, colour blue")  # fmt: skip


@dataclass
class Draft:
    """A recipe as it grows: its sections in working order and the lines of its piece."""

    sections: list[tuple[str, list[str]]]
    piece: list[str]
    features: set[str]
    parts: tuple[str, ...] = ()
    variants: tuple[str, ...] = ()
    picture: tuple[str, ...] = ()
    shape: tuple[str, ...] = ()

    def text(self, expect: list[str], rings: list[str]) -> str:
        lines = ['weave "Trial piece of the Harbour Lane bench"', "rings:", *rings]
        if self.parts:
            lines += ["parts:", *(f"  {p}  brass" for p in self.parts)]
        if expect:
            lines += ["expect:", *(f"  {e}" for e in expect)]
        if self.variants:
            lines += ["variants:", *(f"  {v}" for v in self.variants)]
        for heading, steps in self.sections:
            lines += [f"{heading}:", *(f"  {s}" for s in steps)]
        lines += ["piece:", *(f"  {p}" for p in self.piece), *self.shape, *self.picture]
        return "\n".join(lines) + "\n"


@dataclass(frozen=True)
class Drawn:
    """A right recipe and what is special in it."""

    text: str
    features: frozenset[str]


# -- chains ----------------------------------------------------------------------------------------


@dataclass
class Unit:
    """A unit before it is words: (role, how many, items gone through as (prevs, name)).

    rosettes: the steps whose rings go through one another.
    """

    steps: list[tuple[str, int, list[tuple[int, str]]]]
    rosettes: frozenset[int] = frozenset()

    def words(self, start: bool = False, holder: str = "", last: bool = False) -> list[str]:
        """The steps; start: without what lies before; last: the unit before is the last one."""
        lines = []
        for number, (role, many, items) in enumerate(self.steps):
            new = f"{many} {role}" if many > 1 else role
            kept = [(b, n) for b, n in items if not (start and b)]
            told = [_item(b, n, last) for b, n in kept]
            if start and holder and not number:
                told.insert(0, holder)
            if number in self.rosettes:
                told.append("one another")
            lines.append(f"add {new} through {', '.join(told)}" if told else f"close {new}")
        return lines


def _item(back: int, name: str, last: bool) -> str:
    places = ["last", *["prev"] * (back - 1)] if last and back else ["prev"] * back
    return " ".join([*places, name]) + (" if there" if back > 1 and not last else "")


def _where_there(line: str) -> str:
    """A step of a unit that is the first of its piece: what lies before it is 'if there'."""
    head, through, listed = line.partition(" through ")
    items = [
        i if "prev" not in i or "if there" in i else f"{i} if there" for i in listed.split(", ")
    ]
    if not through:
        return line if "prev" not in line else f"{line} if there"
    return head + through + ", ".join(items)


def _unit(rng: random.Random, roles: list[str], many: dict[str, int], reach: int) -> Unit:
    """A unit that goes through the unit before it and hangs together."""
    steps: list[tuple[str, int, list[tuple[int, str]]]] = []
    for at, role in enumerate(roles):
        pool = [(0, r) for r in roles[:at]]
        pool += [(back, r) for back in range(1, reach + 1) for r in roles]
        chosen = rng.sample(pool, min(len(pool), rng.choice((1, 1, 2, 2, 3))))
        if at == 0 and not any(b == 1 for b, _ in chosen):
            chosen.append((1, rng.choice(roles)))
        items = []
        for back, name in sorted(chosen):
            if many[name] > 1 and rng.random() < 0.15:
                name += str(rng.randint(1, many[name]))
            items.append((back, name))
        steps.append((role, many[role], items))
    return Unit(steps)


def _roles(rng: random.Random, most: int = 4) -> tuple[list[str], dict[str, int]]:
    """Roles of a unit with one to `most` rings in all."""
    left, roles, many = rng.randint(1, most), [], {}
    for role in rng.sample(ROLES, len(ROLES)):
        if left > 0:
            many[role] = rng.choice((1, 1, 2, 2, 3)) if left > 1 else 1
            many[role] = min(many[role], left)
            left -= many[role]
            roles.append(role)
    return roles, many


def _moves(rng: random.Random, unit: Unit, draft: Draft) -> list[str]:
    lines, whole = unit.words(), [r for r, _, _ in unit.steps]
    if rng.random() < 0.25:
        lines.append(f"fold back {rng.choice(whole)}")
        draft.features.add("moves")
    if rng.random() < 0.15:
        lines.insert(0, f"spread prev {rng.choice(whole)}")
        draft.features.add("moves")
    if rng.random() < 0.1:
        lines.append("turn over")
        draft.features.add("turn over")
    return lines


def _ends(rng: random.Random, draft: Draft, unit: Unit) -> None:
    """A start, and perhaps a finish, with or without clasp, connector or a holder taken out."""
    how, parts = rng.choice(("plain", "plain", "clasp", "holder", "connector")), []
    if how == "clasp":
        draft.sections.insert(0, ("start", ["add J through clasp", *unit.words(True, "J")]))
        parts.append("clasp")
    elif how in ("holder", "connector"):
        draft.sections.insert(0, ("start", ["close 2 H", *unit.words(True, "H")]))
    else:
        draft.sections.insert(0, ("start", unit.words(True)))
    finish = ["take out first H"] if how == "holder" else []
    end = unit.steps[-1][0]
    if rng.random() < 0.3:
        finish.append(f"add tail through last {end}")
        if rng.random() < 0.5:
            finish[-1] += ", hook"
            parts.append("hook")
    if random.Random(str(unit.steps) + "cord").random() < 0.12:
        finish.append(f"add cord through every {end}")
        draft.features.add("every")
    if finish:
        draft.sections.append(("finish", finish))
    draft.parts = tuple(parts)
    draft.features |= {f"start {how}", *(["tail"] if "tail" in str(finish) else []), *parts}


def chain(rng: random.Random) -> Draft:
    """A chain of one repeating unit."""
    roles, many = _roles(rng)
    reach = rng.choice((1, 1, 1, 2, 3))
    unit, units = _unit(rng, roles, many, reach), rng.choice((1, 2, 3, 5, 8, 14, 30))
    draft = Draft([], [f"chain {units} unit{'s' * (units > 1)}"], {"chain", f"reach {reach}"})
    own = random.Random(str(unit.steps))  # drawn from its words alone, as how rings lie is
    if (several := [n for n, s in enumerate(unit.steps) if s[1] > 1]) and own.random() < 0.3:
        unit.rosettes = frozenset(own.sample(several, 1))
        draft.features.add("one another")
    draft.sections.append(("unit", _moves(rng, unit, draft)))
    if rng.random() < 0.15:
        role = rng.choice(roles)
        places = rng.sample((f"prev {role} if there", role, f"next {role} if there"), 2)
        draft.sections.append(("again", [f"add {rng.choice('EG')} through {', '.join(places)}"]))
        draft.features.add("second pass")
    if rng.random() < 0.2:
        draft.sections[0] = ("unit", [_where_there(line) for line in draft.sections[0][1]])
        draft.features.add("no start")
    else:
        _ends(rng, draft, unit)
    return draft


def _may_go_through_nothing(draft: Draft) -> bool:
    """Whether a step goes only through what may not be there, as in a written-out unit 1."""
    lists = [s.partition(" through ")[2] for _, steps in draft.sections for s in steps]
    return any(x and all(i.endswith("if there") for i in x.split(", ")) for x in lists)


def written(rng: random.Random) -> Draft:
    """A chain whose units are written out: all of them, the first ones, or one in the middle."""
    draft = chain(rng)
    while "no start" in draft.features or _may_go_through_nothing(draft):
        draft = chain(rng)
    how = rng.choice(("all", "first", "middle"))
    at = next(i for i, (heading, _) in enumerate(draft.sections) if heading == "unit")
    steps, count = draft.sections[at][1], rng.randint(2, 5)
    numbers = [count] if how == "middle" else range(1, count + 1)
    out = [(f"unit {n}", list(steps)) for n in numbers]
    rest = [] if how == "all" else [("unit", list(steps))]
    draft.sections[at : at + 1] = out + rest
    units = count if how == "all" else count + rng.choice((1, 3, 9))
    draft.piece[0] = f"chain {units} units"
    draft.features.add(f"written out, {how}")
    return draft


def turns(rng: random.Random) -> Draft:
    """A chain of named units in turns; they share the rings that units hang on one another by."""
    roles, many = _roles(rng, 2)
    core = _unit(rng, roles, many, 1)
    labels = rng.sample(("left", "middle", "byz", "focal"), rng.choice((2, 2, 3)))
    draft = Draft([], [], {"named units"})
    for label in labels:
        unit = Unit(list(core.steps))
        for extra in rng.sample(("C", "F", "K"), rng.choice((0, 1, 1, 2))):
            if extra not in roles:
                through = [(0, rng.choice(roles))]
                unit.steps.append((extra, rng.choice((1, 2)), through))
        draft.sections.append((f"unit {label}", unit.words()))
    _ends(rng, draft, core)
    order = labels + rng.choices(labels, k=rng.choice((0, 0, 1, 3)))
    rng.shuffle(order)
    if rng.random() < 0.3:
        return _in_runs(rng, draft, labels)
    times = rng.choice((1, 1, 2, 4))
    draft.piece += [f"chain {len(order) * times} units", f"order {', '.join(order)}"]
    draft.features.add("each turn once" if times == 1 else "turns come round")
    return draft


def _in_runs(rng: random.Random, draft: Draft, labels: list[str]) -> Draft:
    """Runs with their numbers, or first and last sharing the units that the others leave."""
    inner = [(rng.choice((1, 1, 2, 5)), label) for label in labels[1:]]
    told = [f"{n} {label}" if n > 1 or rng.random() < 0.5 else label for n, label in inner]
    each = rng.choice((1, 2, 4, 20))
    if rng.random() < 0.5 and all(" " in words for words in told):
        units = 2 * each + sum(n for n, _ in inner)
        line = f"chain {units} units of {', '.join([labels[0], *told, labels[0]])}"
        draft.features.add("runs that share")
    else:
        line = f"chain of {', '.join([f'{each} {labels[0]}', *told, f'{each + 1} {labels[0]}'])}"
    draft.piece.append(line)
    draft.features.add("runs")
    return draft


def loop(rng: random.Random) -> Draft:
    """A loop of a unit that reaches one back, closed ring by ring so that all rings are alike."""
    roles, many = _roles(rng)
    unit = _unit(rng, roles, many, 1)
    units = rng.choice((2, 3, 6, 12))
    finish = []
    for role, count, items in unit.steps:
        for n in range(1, count + 1):
            told = [_item(b, name, True) for b, name in items]
            for later, each, reached in unit.steps:  # the first unit goes on from this one
                if any(b and name in (role, f"{role}{n}") for b, name in reached):
                    told += [f"first {later}{k}" for k in range(1, each + 1)]
            finish.append(f"add {role}{n} through {', '.join(told)}")
    draft = Draft([("start", unit.words(True)), ("unit", unit.words()), ("finish", finish)],
                  [f"loop {units} units"], {"loop"})  # fmt: skip
    return draft


def strands(rng: random.Random) -> Draft:
    """Strands that hang on one start: of one unit, of units alike, or each of its own rings."""
    how = rng.choice(("one unit", "own rings", "own rings", "numbered", "units alike"))
    names = rng.sample(("left", "right", "drop", "swag", "fourth"), rng.choice((1, 2, 2, 3, 4)))
    lengths = [rng.choice((1, 2, 3, 5, 9, 30)) for _ in names]
    told = ", ".join(f"{n} {u} unit{'s' * (u > 1)}" for n, u in zip(names, lengths, strict=True))
    draft = Draft([], [f"strands {told}"], {"strands", f"strands: {how}"})
    # What reaches two back is left out of a strand of one unit, and of the piece if it is alone.
    reach = rng.choice((1, 1, 1, 2)) if min(lengths) > 2 else 1
    roles, many = _roles(rng, 3)
    shared, holder = _unit(rng, roles, many, reach), "close 2 H"
    if how in ("one unit", "units alike"):
        unit = shared.words()
        headings = ["unit"] if how == "one unit" else [f"unit {n}" for n in names]
        if how == "one unit":
            unit = _moves(rng, shared, draft)
        elif rng.random() < 0.6:
            draft.features.add("units that differ")
        for heading in headings:
            own = list(unit)
            if "units that differ" in draft.features and rng.random() < 0.5:
                own.append(f"add K through {rng.choice(roles)}")
            draft.sections.append((heading, own))
        start, last = shared.words(True), [(f"{n} ", roles[-1]) for n in names]
    elif how == "numbered":
        start = [holder, f"add {len(names)} A through H"]
        last = [("", f"A{k}") for k in range(1, len(names) + 1)]
        for k, name in enumerate(names, 1):
            draft.sections.append((f"unit {name}", [f"add A{k} through prev A{k}"]))
    else:
        start, last, left = [holder], [], list(rng.sample(ROLES, len(ROLES)))
        for name in names:
            own_roles = [left.pop() for _ in range(min(len(left), rng.choice((1, 1, 2))))]
            if not own_roles:
                own_roles = [name]
            own = _unit(rng, own_roles, {r: rng.choice((1, 1, 2)) for r in own_roles}, reach)
            draft.sections.append((f"unit {name}", _moves(rng, own, draft)))
            start += own.words(True, "H")
            last.append((rng.choice(("", f"{name} ")), own_roles[-1]))
    draft.sections.insert(0, ("start", start))
    if how == "one unit" and rng.random() < 0.3:
        places = rng.sample((f"prev {roles[0]}", roles[0], f"next {roles[0]} if there"), 2)
        draft.sections.append(("again", [f"add {rng.choice('EG')} through {', '.join(places)}"]))
        draft.features.add("second pass")
    finish = []
    if rng.random() < 0.5:
        joined = rng.sample(last, min(len(last), rng.choice((1, 2, 2, 3))))
        finish.append(f"add knot through {', '.join(f'last {s}{r}' for s, r in joined)}")
        draft.features.add("strands joined")
    if rng.random() < 0.25:
        strand, role = rng.choice(last)
        finish.append(f"add cord through every {strand}{role}")
        draft.features.add("every")
    if rng.random() < 0.2:
        strand, role = rng.choice(last)
        finish.append(f"add tag through first {strand}{role}")
    if finish:
        draft.sections.append(("finish", finish))
    return draft


# -- sheets and tubes ------------------------------------------------------------------------------

LINKS = ("above A", "above next A", "above prev A", "above next next A")


def leaning(rng: random.Random, shape: str) -> Draft:
    """Rows of rings that hang from the row above, single or doubled, perhaps joined along it."""
    many = rng.choice((1, 1, 1, 2, 3))
    items = ["above A", *rng.sample(LINKS[1:], rng.choice((0, 1, 1, 2)))]
    along = shape == "sheet" and (len(items) == 1 or rng.random() < 0.15)
    new = "A" if many == 1 else f"{many} A"
    first = [f"close {new}"]
    if along:
        items.append("prev A")
        first = [f"add {new} through prev A if there"]
    if shape == "sheet":
        items = [i if i == "above A" else f"{i} if there" for i in items]
    draft = Draft([("first row", first), ("row", [f"add {new} through {', '.join(items)}"])],
                  [], {shape, "leaning rows", *(["along the row"] if along else [])})  # fmt: skip
    if many > 1 and not along and rng.random() < 0.3:
        draft.sections[0] = ("first row", [f"close A{n}" for n in range(1, many + 1)])
        draft.features.add("first row otherwise")
    if shape == "sheet" and rng.random() < 0.35:
        draft.sections[0:1] = [("start", ["close bar"]),
                               ("first row", [f"add {new} through above bar"])]  # fmt: skip
        draft.features.add("sheet on a bar")
    return draft


def striped(rng: random.Random, shape: str) -> Draft:
    """Rows by name that take turns, each hanging from the one before."""
    names = rng.sample(("silver", "blue", "rust"), rng.choice((2, 2, 3)))
    there = " if there" if shape == "sheet" else ""
    draft = Draft([("first row", [f"close {names[-1]}"])], [], {shape, "rows in turns", "order"})
    for at, name in enumerate(names):
        above = names[at - 1]
        step = f"add {name} through above {above}, above next {above}{there}"
        draft.sections.append((f"row {name}", [step]))
    draft.piece.append(f"order {', '.join(names)}")
    return draft


def flat_rings(rng: random.Random, shape: str) -> Draft:
    """Flat rings joined by upright ones along the row, down it and aslant."""
    flats, ups = rng.choice((1, 1, 2)), rng.choice((1, 1, 2))
    several = "" if ups == 1 else f"{ups} "
    tail = " skip at edge"
    across = [f"add {several}across through prev flat, flat{tail}"]
    down = [f"add {several}down through above flat, flat{tail}"]
    if rng.random() < 0.35:
        down.append(f"add slant through above next flat, flat{tail}")
    row = ["close flat" if flats == 1 else f"close {flats} flat"]
    draft = Draft([], [], {shape, "flat rings"})
    if rng.random() < 0.3:
        across = [f"add {several}across through flat, next flat{tail}"]
        draft.sections = [("row", [*row, *down]), ("again", across)]
        draft.features.add("again")
    else:
        draft.sections = [("row", [*row, *across, *down])]
    if shape == "tube":
        draft.sections.append(("row end", [f"add {several}across through last flat, first flat"]))
    return draft


def strips(rng: random.Random, shape: str) -> Draft:
    """Every row a strip of its own rings, hung from the strip above; the first is begun alone."""
    new = "B" if rng.random() < 0.7 else "2 B"
    joined = f"add {new} through A, prev A if there"
    hung = "add A through above B, above next B if there"
    return Draft([("first row", ["close A", joined]), ("row", [hung, joined])],
                 [], {shape, "strips"})  # fmt: skip


def rounds(rng: random.Random) -> Draft:
    """A tube whose rounds grow and shrink: rings that hang, or flat rings with upright ones."""
    draft = Draft([], [], {"tube", "rounds"})
    rows, wide = rng.randint(2, 6), rng.choice((1, 2, 3, 4, 5, 6, 6))
    lines, row, now = [], 2, wide
    while row <= rows:
        how = rng.choice(("more", "more", "less", "places", "go on"))
        many = rng.randint(1, min(2, rows - row + 1))
        name = f"row {row}" if many == 1 else f"rows {row} to {row + many - 1}"
        each = "" if many == 1 else "each "
        by = rng.randint(1, 6)
        if how == "less" and now - by * many > 0:
            now -= by * many
            lines.append(f"{name}  {each}{by} less")
        elif how == "more":
            now += by * many
            lines.append(f"{name}  {each}{by} more")
        elif how == "places":
            now = rng.randint(1, 14)
            lines.append(f"{name}  {now} place{'s' * (now > 1)}")
        row += many
    new = rng.choice(("A", "A", "2 A"))
    if rng.random() < 0.5:
        ring = "A"
        draft.sections = [("first row", [f"close {new}"])]
        items = ["above A", *rng.choice(([], ["above next A"], ["above prev A"]))]
        row_steps = [f"add {new} through {', '.join(items)}"]
        extra = [f"add {new} through {rng.choice(('above A', 'above next A'))}"]
        shared = [f"add {new} through {', '.join(rng.choice((items, ['above A'])))}"]
        if rng.random() < 0.3 and rows > 2:
            draft.features.add("last round of its own")
            last = [("last row", ["add tip through above A"])]
            last += [("shared place", ["add tip through above A"])] if rng.random() < 0.3 else []
        else:
            last = []
    else:
        ring = "flat"
        joined = "add across through prev flat, flat skip at edge"
        draft.sections = [("first row", ["close flat", joined])]
        row_steps = ["close flat", "add down through above flat, flat", joined]
        extra = ["close flat", "add down through above flat, flat"]
        extra += [joined] if rng.random() < 0.7 else ["add slant through prev flat, flat"]
        shared = ["close flat", "add 2 down through above flat, flat", joined]
        last = []
    if rng.random() < 0.35:
        bar = rng.choice(("bar", ring))
        draft.sections.insert(0, ("start", [f"close {bar}"]))
        head = draft.sections[1][1]
        head[:1] = (
            [f"add {new} through above {bar}"]
            if ring == "A"
            else ["close flat", f"add down through above {bar}, flat"]
        )
        draft.features.add("rounds about a bar" if bar == "bar" else "rounds about a middle")
    draft.sections.append(("row", row_steps))
    for heading, steps in (("extra place", extra), ("shared place", shared)):
        if rng.random() < 0.75:
            draft.sections.append((heading, steps))
    draft.sections += last
    if ring == "flat" and rng.random() < 0.5:
        draft.sections.append(("row end", ["add across through last flat, first flat"]))
    draft.piece = [f"tube {rows} rows of {wide} units"]
    draft.shape = ("shape:", *(f"  {x}" for x in lines)) if lines else ()
    text = read(draft.text([], ["  all  " + SIZES[0]]))
    worked = [b for r in range(1, rows + 1) for u in text.worked[r] for b in text.blocks_at(r, u)]
    kept = [any(b is w for w in worked) or b.kind not in ODD for b in text.blocks]
    draft.sections = [s for s, keep in zip(draft.sections, kept, strict=True) if keep]
    draft.features |= {h for h, _ in draft.sections if h in ODD}
    if lines:
        draft.picture = _picture(draft, rows, wide)
    return draft


def grid(rng: random.Random, shape: str) -> Draft:
    """A sheet or a tube."""
    makers = (leaning, leaning, striped, flat_rings, *([strips] if shape == "sheet" else []))
    draft = rng.choice(makers)(rng, shape)
    rows, units = rng.choice((1, 1, 2, 3, 4, 5, 7, 11)), rng.choice((2, 3, 4, 6, 9, 13))
    units = max(units, 5) if shape == "tube" else units
    kinds = sum(heading.startswith(("first row", "row ")) for heading, _ in draft.sections)
    rows = max(rows, kinds, 2 if draft.sections[0][0] != "row" else 1)
    draft.piece.insert(0, f"{shape} {rows} row{'s' * (rows > 1)} of {units} units")
    draft.features.add(f"{rows} rows" if rows < 4 else "many rows")
    if shape == "sheet":
        ring = "flat" if "flat rings" in draft.features else "A"
        if rng.random() < 0.5:
            draft.piece.append("rows back and forth")
            draft.features.add("back and forth")
        if "rows in turns" not in draft.features and rng.random() < 0.25:
            every = random.Random(str(draft.sections)).random() < 0.5
            place = "every" if every else "last"
            draft.sections.append(("row end", [f"add E through {place} {ring}"]))
            draft.features |= {"ring at the row's end", *(["every"] if every else [])}
        if "rows in turns" not in draft.features and rng.random() < 0.25:
            draft.parts = ("hook",)
            draft.sections.append(("finish", [f"add tail through last {ring}, hook"]))
            draft.features |= {"tail", "hook"}
    if shape == "sheet":
        _last_row(draft, rows)
        _shape(draft, rows, units)
    draft.picture = _picture(draft, rows, units)
    return draft


def _last_row(draft: Draft, rows: int) -> None:
    """A last row of its own: as the others are, or of rings of its own."""
    rng = random.Random(f"{draft.text([], [])} last")
    own = [h for h, _ in draft.sections]
    if rows < 3 or "first row" not in own or "row" not in own or rng.random() < 0.4:
        return
    at = own.index("row")
    steps = list(draft.sections[at][1])
    if "leaning rows" in draft.features and rng.random() < 0.7:
        steps = [re.sub(r"^add (\d )?A", r"add \1Z", s) for s in steps]
        steps = [s.replace("prev A", "prev Z") if "above" not in s else s for s in steps]
        steps = [re.sub(r"(^|, )prev A", r"\1prev Z", s) for s in steps]
        draft.features.add("last row of its own rings")
    draft.sections.insert(at + 1, ("last row", steps))
    draft.features.add("last row")


def _shape(draft: Draft, rows: int, units: int) -> None:
    """Rows that are not all alike: tapers, rows that grow, holes; drawn from its words alone."""
    rng = random.Random(f"{draft.text([], [])} shape")
    if rng.random() < 0.4 or units < 3:
        return
    back = "rows back and forth" in draft.piece
    lines, row, left, right = [], 1, 1, units
    if rng.random() < 0.3 and rows > 2:  # so that the next rows can be wider
        left, right = (units + 1) // 2, (units + 2) // 2
        runs = [(left - 1, "empty"), (right - left + 1, "worked"), (units - right, "empty")]
        lines.append(f"row 1  {', '.join(f'{n} {w}' for n, w in runs if n)}")
        row = 2
    while row <= rows and len(lines) < 4:
        how = rng.choice(("go on", "less", "less", "more", "more", "hole", "hole", "hole", "edge"))
        many = rng.randint(1, min(rows - row + 1, 4))
        wide = right - left + 1
        name = f"row {row}" if many == 1 else f"rows {row} to {row + many - 1}"
        each = "each " * (many > 1)
        if how == "less" and (by := rng.randint(1, 2)) * many < wide:
            lines.append(f"{name}  {each}{by} less")
            for r in range(row, row + many):
                left, right = (left + by, right) if back and r % 2 == 0 else (left, right - by)
            draft.features.add("rows narrower")
        elif how == "more":
            sides = [r % 2 == 0 and back for r in range(row, row + many)]
            if sum(sides) <= units - right and len(sides) - sum(sides) < left:
                lines.append(f"{name}  {each}1 more")
                left, right = left - (len(sides) - sum(sides)), right + sum(sides)
                draft.features.add("rows wider")
            else:
                many = 0
        elif how in ("hole", "edge") and wide > 3:
            at = rng.randint(left + 1, right - 1)
            to = rng.randint(at, min(at + 2, right - 1))
            runs = [(at - 1, "worked"), (to - at + 1, "empty"), (units - to, "worked")]
            if how == "edge":
                runs = [(at - 1, "empty"), (units - at + 1, "worked")][:: rng.choice((1, -1))]
            lines.append(f"{name}  {', '.join(f'{n} {w}' for n, w in runs if n)}")
            first = runs[0][0] + 1 if runs[0][1] == "empty" else 1
            left, right = first, units - runs[-1][0] if runs[-1][1] == "empty" else units
            draft.features.add("hole" if how == "hole" else "rows set in")
        row += max(many, 1)
    if lines:
        draft.shape = ("shape:", *(f"  {x}" for x in lines))
        draft.features.add("shape")
        draft.sections = [(h, [_may_be_off(s) for s in steps]) for h, steps in draft.sections]


def _may_be_off(line: str) -> str:
    """A step of a sheet in which any place may be off the piece."""
    head, through, listed = line.partition(" through ")
    if not through or line.endswith(" skip at edge"):
        return line
    items = [
        f"{i} if there" if re.match(r"(above|prev|next) ", i) and "bar" not in i
        and not i.endswith("if there") else i
        for i in listed.split(", ")
    ]  # fmt: skip
    return head + through + ", ".join(items)


def _picture(draft: Draft, rows: int, units: int) -> tuple[str, ...]:
    """Colours for a sheet or tube, drawn from its words alone so that nothing else changes."""
    rng = random.Random(draft.text([], []))
    if rng.random() < 0.4:
        return ()
    heads = ("first row", "last row", "row", "again", "extra place", "shared place")
    along = [(h, s) for h, s in draft.sections if h.startswith(heads) and h != "row end"]
    new = [re.findall(r"(?:close|add) (?:(\d) )?([a-zA-Z]+)", "; ".join(s)) for _, s in along]
    roles = sorted({role for each in new for _, role in each})
    single = all(len(each) == 1 and not each[0][0] for each in new)
    single = single and not any(re.search(r"close A\d", str(s)) for _, s in along)
    of = rng.sample(roles, rng.randint(1, len(roles)))
    plain = single and rng.random() < 0.6
    draft.features.add("picture" if plain else "picture of rings it names")
    lines = ["picture:" if plain else f"picture of {', '.join(of)}:"]
    key = rng.sample(("grey", "rust", "white", "bright, copper"), rng.choice((1, 2, 3)))
    lines += [f"  {words[0]} = {words}" for words in key]
    worked = read(draft.text([], [])).worked if draft.shape else {}
    for row in range(1, rows + 1):
        runs, wide = [], len(worked.get(row, ())) or units
        while sum(n for n, _ in runs) < wide:
            left = wide - sum(n for n, _ in runs)
            runs.append((rng.randint(1, min(left, 5)), rng.choice(key)[0]))
        told = [f"{n} {letter}" for n, letter in runs]
        written = rng.random() < 0.3
        lines.append("  " + (", ".join(told) if written else "".join(n * x for n, x in runs)))
    return tuple(lines)


# -- written in by the second opinion --------------------------------------------------------------


def _same(kind: str, at: int, meaning: str) -> tuple[str, int, str]:
    """What steps of units that are written out have in common; they say the same."""
    return kind, at, meaning


def _with_options(rng: random.Random, draft: Draft, rings: list[str]) -> None:
    """Write counts and lays into the steps, as the work itself shows them."""
    piece = Piece(read(draft.text([], rings)))
    picks: dict[object, set[int]] = {}
    lays: set[object] = set()
    for act in piece.acts:
        same = _same(act.block.kind, act.block.steps.index(act.step), str(act.step.meaning))
        if not act.left_out and act.through:
            picks.setdefault(same, set()).add(len(act.through))
        if act.lay_matters:
            lays.add(same)
    varies = bool(lays) and rng.random() < 0.4
    said: dict[object, str] = {}
    for (heading, steps), block in zip(draft.sections, piece.text.blocks, strict=True):
        ends = heading in ("start", "finish", "row end", "first row", "last row")
        for at, line in enumerate(steps):
            same = _same(block.kind, at, str(block.steps[at].meaning))
            if same in said:
                steps[at] = said[same]
                continue
            skip = " skip at edge" if line.endswith(" skip at edge") else ""
            line = _lying(draft, line.removesuffix(" skip at edge"))
            if len(picks.get(same, ())) == 1 and (ends or rng.random() < 0.75):
                line += f" picks {min(picks[same])}"
            if same in lays:
                in_units = heading.startswith("unit")
                line += f" lay {'varies' if varies and in_units else rng.choice(('front', 'back'))}"
                draft.features.add("lay")
            steps[at] = said[same] = line + skip
    if any(" lay varies" in s for _, steps in draft.sections for s in steps):
        draft.variants = ("calm  lay front", "mirror  lay back", "zigzag  lay front, back")
        draft.features.add("variants")
        if rng.random() < 0.6:
            draft.piece.append(f"variant {rng.choice(('calm', 'mirror', 'zigzag'))}")


def _lying(draft: Draft, line: str) -> str:
    """Write into a step how its rings lie, which changes no number; drawn from its words alone."""
    rng = random.Random(line)
    head, through, listed = line.partition(" through ")
    items = listed.split(", ")
    if len(items) > 1 and rng.random() < 0.4:
        draft.features.add("then")
        at = rng.randrange(1, len(items))
        listed = f"{', '.join(items[:at])} then {', '.join(items[at:])}"
    elif len(items) > 1 and rng.random() < 0.3:
        draft.features.add("at one place")
        listed += " at one place"
    if head.startswith(("add ", "close ", "fold back ")) and rng.random() < 0.15:
        draft.features.add("sides")
        even = re.match(r"add (2|4) |close (2|4) ", head)
        head += rng.choice((" on the left", " on the right", *[" one to each side"] * bool(even)))
    return head + through + listed


def _promises(rng: random.Random, piece: Piece, pattern: Pattern) -> list[str]:
    expect = []
    for role, each in pattern.finished.items():
        by_ring = {}
        for ring in pattern.steady:
            if ring.role == role:
                by_ring.setdefault(f"{role}{ring.index}", []).append(piece.by_role(ring))
        placed = {n for b in piece.text.turns for s in b.steps for r, n in s.new if r == role}
        whole = len(each) == 1 and len(by_ring) == len(placed)
        names = {role: each} if whole else by_ring
        for name, met in names.items():
            if all(m == met[0] for m in met) and met[0].total():
                words = ", ".join(f"{n} {r}" for r, n in sorted(met[0].items()))
                expect.append(f"{name} meets {rng.choice((str(met[0].total()), words))}")
    sizes = pattern.unit_sizes
    if len(sizes) == 1 and rng.random() < 0.5:
        expect.append(f"{min(sizes)} ring{'s' * (min(sizes) > 1)} a unit")
    return expect


def _rings(rng: random.Random, draft: Draft) -> list[str]:
    """The kinds of ring: one for all, or some roles and single rings of their own."""
    lines = [f"  all  {SIZES[0]}"]
    placed = [s for s in read(draft.text([], lines)).blocks for s in s.steps]
    names = sorted({(r, n) for s in placed for r, n in s.new})
    if rng.random() < 0.4:
        role, number = rng.choice(names)
        several = [n for r, n in names if r == role] != [1]
        own = f"{role}{number}" if several and rng.random() < 0.5 else role
        lines.append(f"  {own}  {rng.choice(SIZES[1:])}")
        if len({r for r, _ in names}) == 1 and own == role:
            del lines[0]
        draft.features.add("kinds of ring")
    opened = {r for s in placed if s.verb == "add" for r, _ in s.new}
    if (only := sorted({r for r, _ in names} - opened)) and random.Random(
        str(names)
    ).random() < 0.5:
        lines = [x for x in lines if x.split()[0].rstrip("0123456789") != only[0]]
        lines.append(f"  {only[0]}  {SIZES[1]}, stays closed")
        own_lines = {x.split()[0] for x in lines}
        if {r for r, _ in names} <= own_lines:
            lines = [x for x in lines if x.split()[0] != "all"]
        draft.features.add("stays closed")
    return lines


def _along(rng: random.Random, draft: Draft, lines: list[str]) -> list[str]:
    """The same lines, one of them in stretches of the piece; then sets of sizes by name."""
    text = read(draft.text([], lines))
    word, places = ("row", text.rows) if text.flat else ("unit", text.units)
    plain = [at for at, x in enumerate(lines) if not x.endswith("stays closed")]
    once = not text.picture and not text.strands
    if plain and places > 1 and once and rng.random() < 0.3:
        at = rng.choice(plain)
        name = lines[at].split("  ")[1]
        edges = sorted(rng.sample(range(1, places), min(places - 1, rng.choice((1, 1, 2)))))
        made = []
        for low, high in zip([1, *(e + 1 for e in edges)], [*edges, places], strict=True):
            where = f"{word} {low}" if low == high else f"{word}s {low} to {high}"
            made.append(f"  {name} {where}  wire 1 mm, inside {60 + len(made)} mm, tin")
        if rng.random() < 0.3:  # all other places
            made[rng.randrange(len(made))] = f"  {name}  wire 1 mm, inside 70 mm, tin"
        lines[at : at + 1] = made
        draft.features.add("sizes along")
    elif rng.random() < 0.2:
        names = [x.split("  ")[1] for x in lines]
        sets = [(size, n) for size in ("small", "large") for n in names]
        lines = [*lines, "sizes:"]
        for number, (size, name) in enumerate(sets):
            lines.append(f"  {size}  {name}  wire 0.5 mm, inside {50 + number} mm")
        draft.features.add("sets of sizes")
    return lines


def _goes_nowhere(piece: Piece) -> bool:
    """Whether a step of a sheet with a shape finds nothing to go through at any place."""
    lists = {a.step.number for a in piece.acts if a.step.through}
    return bool(piece.text.widths) and lists > {a.step.number for a in piece.acts if a.through}


SHAPES = (
    (chain, 34), (written, 12), (turns, 16), (loop, 10),
    (lambda rng: grid(rng, "sheet"), 18), (lambda rng: grid(rng, "tube"), 10),
)  # fmt: skip


#: How many of the recipes are strands, and how many of the rest rounds that grow or shrink.
STRANDS, ROUNDS = 0.14, 0.08


def recipe(rng: random.Random, most_rings: int = 600, strands_too: bool = True) -> Drawn:
    """A random recipe that is right by the second opinion."""
    while True:
        draft = rng.choices([s for s, _ in SHAPES], [w for _, w in SHAPES])[0](rng)
        own = random.Random(draft.text([], []))  # so that what is drawn beside them stays as it is
        if strands_too and own.random() < STRANDS:
            draft = strands(own)
        elif strands_too and own.random() < ROUNDS:
            draft = rounds(own)
        try:
            rings = _rings(rng, draft)
            _with_options(rng, draft, rings)
            rings = _along(random.Random(str(rings) + draft.text([], [])), draft, rings)
            piece = Piece(read(draft.text([], rings)))
        except CannotBe:
            continue
        pattern = Pattern(piece)
        near = [len(n) for n in piece.links.values()]
        if len(piece.links) > most_rings or len(piece.components()) > 1 or max(near) > 60:
            continue
        if pattern.owed() or _goes_nowhere(piece):
            continue
        expect = _promises(rng, piece, pattern) if rng.random() < 0.7 else []
        if expect:
            draft.features.add("promises")
        text = draft.text(expect, rings)
        if not Pattern(Piece(read(text))).broken():
            return Drawn(text, frozenset(draft.features))
