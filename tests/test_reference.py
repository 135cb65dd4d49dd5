"""The dictionary of the language, `grammar/words.md`: whole, true, and written anew from here.

`python tests/test_reference.py` writes the page. Its examples are read by the grammar itself, and
what it says of each kind of step is measured on the ring graph of a small recipe.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any, NamedTuple, get_args

import pytest
from helpers import ROOT, SIMPLE, findings, read, view

from ringstep.checks.rules import all_checks
from ringstep.language.measures import to_mm
from ringstep.language.parse import parser
from ringstep.language.pieces import marked
from ringstep.language.shipped import grammar_text
from ringstep.language.syntax import StepKind
from ringstep.language.tidy import WRITTEN
from ringstep.language.words import (
    HEADINGS,
    OPTIONS,
    PIECE_WORDS,
    PLACES,
    RESERVED,
    UNITS_OF_SIZE,
    VERBS,
)
from ringstep.weave.ring_graph import ring_graph
from ringstep.weave.steps import carry_out
from ringstep.weave.work import Work

PAGE = ROOT / "grammar" / "words.md"

#: rule of the grammar: the heading on the page, and what to say under it.
SECTIONS = {
    "title": ("The title", "The first line of a recipe."),
    "heading": (
        "Headings",
        "A heading ends in a colon; what stands under it belongs to it up to the next heading.",
    ),
    "ring_kind": ("In `rings:`", "What to buy: one kind of ring a line, its name first."),
    "set_line": (
        "In `sizes:`",
        "Named sets of sizes for `--size`: the set, the ring, its sizes; material and colour stand"
        " under `rings:`.",
    ),
    "part_kind": ("In `parts:`", "Clasps, beads and the like: one a line, its name first."),
    "promise": ("In `expect:`", "What must come out; the checker counts it."),
    "variant": ("In `variants:`", "Named patterns of lays, taken unit by unit."),
    "step": (
        "Steps",
        "Under `start:`, `unit:`, `first row:`, `row:`, `again:`, `last row:`, `extra place:`,"
        " `shared place:`, `row end:`, `finish:` and `join:`.",
    ),
    "piece_line": ("In `piece:`", "What is made of the units, and how long or large."),
    "shape_line": (
        "In `shape:`",
        "A line for each row that has not all its places, or for several that go on alike. A row"
        " that no line names is as wide as the one before it, and has no holes.",
    ),
    "picture_line": (
        "In `picture:`",
        "A line of the key for each colour, `g = grey` or `g = bright, copper`; then a line for"
        " each row, the first on top, a letter for each place from left to right: `ggrrgg`, or in"
        " runs `2 g, 2 r, 2 g`.",
    ),
}


class Entry(NamedTuple):
    """A word or phrase of the language: a line that uses it, and what it means."""

    phrase: str
    example: str
    meaning: str


E = Entry
ALONG = (
    E(
        "units to",
        "A units 1 to 8  wire 1 mm, inside 4 mm, copper",
        "for which units of the chain the line holds; the start goes with the first",
    ),
    E("unit", "A unit 9  wire 1 mm, inside 5 mm, copper", "one unit of its own size"),
    E("rows to", "A rows 1 to 4  wire 1 mm, inside 4 mm, copper", "for which rows of a sheet"),
    E("row", "A row 5  wire 1 mm, inside 5 mm, copper", "one row of its own size"),
)
WORDS: dict[str, tuple[Entry, ...]] = {
    "title": (E("weave", 'weave "Simple chain"', "names the recipe, in straight quotes"),),
    "heading": (
        E("rings", "rings:", "what to buy"),
        E("sizes", "sizes:", "sets of ring sizes by name, in which the weave is made"),
        E("parts", "parts:", "what else is used: clasps, beads"),
        E("expect", "expect:", "the promises that are checked"),
        E("variants", "variants:", "patterns of lays to choose from"),
        E("notes", "notes:", "your own lines; the first word is the topic: about, sizes, source"),
        E("start", "start:", "worked once; the unit before the first"),
        E("unit", "unit:", "what repeats in a chain or loop; also `unit 1:` or `unit left:`"),
        E("unit instead", "unit 11 instead:", "a unit meant to be another one than its siblings"),
        E("unit also", "unit 2 also:", "steps that one unit has besides those of every unit"),
        E("first row", "first row:", "the row of a sheet that has none above it"),
        E("row", "row:", "what repeats in a sheet or tube, unit by unit along each row"),
        E("again", "again:", "a second pass along the row just worked"),
        E("last row", "last row:", "worked in place of `row:` in the last row"),
        E(
            "extra place",
            "extra place:",
            "worked at the extra places of a round that grows, instead of the row it stands under",
        ),
        E(
            "shared place",
            "shared place:",
            "the same at places of a round that shrinks with which several above go",
        ),
        E("row end", "row end:", "worked once at the end of every row"),
        E("finish", "finish:", "worked once, when all units are done"),
        E("piece", "piece:", "what is made of the units"),
        E("piece", "piece panel:", "a piece made first and joined later; its sections follow"),
        E("join", "join:", "the steps that join the pieces made first"),
        E("shape", "shape:", "which rows of a sheet are narrower, and where places are empty"),
        E("picture", "picture:", "the colours of a sheet or tube, drawn row by row"),
        E("picture of", "picture of flat:", "whose rings it colours, where a row places several"),
    ),
    "ring_kind": (
        E("wire", "core  wire 1.2 mm, inside 6 mm, copper", "how thick the wire is"),
        E("inside", "core  wire 18 swg, inside 5/16 in", "how wide the opening is"),
        E(
            "colour",
            "all  wire 1 mm, inside 5 mm, aluminium, colour red",
            "its colour; the steps name it where rings differ",
        ),
        E(
            "stays closed",
            "gum  wire 1.6 mm, inside 8 mm, rubber, stays closed",
            "welded or rubber: no step opens it",
        ),
        *ALONG,
    ),
    "set_line": (
        E("wire", "small  core  wire 0.8 mm, inside 4.3 mm", "how thick the wire is in that set"),
        E("inside", "small  all  wire 0.8 mm, inside 4.3 mm", "how wide the opening is"),
        *(
            E(phrase, f"small  {example}".removesuffix(", copper"), meaning)
            for phrase, example, meaning in ALONG
        ),
    ),
    "part_kind": (
        E("by", "tag  brass, 20 mm by 4 mm", "how long and how wide it is; round: `4 mm`"),
        E("hole", "bead  glass, 4 mm, hole 1 mm", "how wide its hole is; checked"),
    ),
    "promise": (
        E("meets", "M meets 6 S, 1 M", "how many rings every finished ring is linked with"),
        E("comes out", "H comes out", "a helper is taken out again before the work ends; checked"),
        E("folded", "S folded", "that every finished ring lies folded back; checked"),
        E("or", "C meets 2 A, 2 B or 2 A, 1 focal", "each finished ring keeps one of the two"),
        E(
            "prev",
            "M meets 2 S, 2 prev S",
            "rings of the unit before; where one count has its place, a plain one means this unit",
        ),
        E("next", "A meets 1 prev A, 1 next A", "rings of the unit after"),
        E("above", "A meets 1 above A, 1 below A", "rings of the row before"),
        E("below", "A meets 1 above A, 1 below A", "rings of the row after"),
        E(
            "lies around",
            "orbit lies around 2 link, 2 prev link",
            "the rings that it is held around and not linked with",
        ),
        E("lies inside", "bead lies inside 2 A", "the rings that it is held inside"),
        E("ring a unit", "1 ring a unit", "that every unit places one ring; checked"),
        E("rings a unit", "4 rings a unit", "how many rings every unit places; checked"),
        E("repeats every unit", "repeats every 1 unit", "after how many units the piece repeats"),
        E("repeats every units", "zigzag repeats every 2 units", "how often one variant repeats"),
        E(
            "AR to",
            "AR 5.6 to 5.8, common practice no source",
            "aspect ratios that work well; behind a name, for that ring or that variant",
        ),
        E("AR from", "core AR from 5, a sample of mine", "the least aspect ratio that works well"),
    ),
    "shape_line": (
        E("row less", "row 3  1 less", "leaves out the last place of the row as it is worked"),
        E("row more", "row 3  1 more", "begins one place before the row above"),
        E("rows to each less", "rows 2 to 6  each 1 less", "the same in one row after another"),
        E("rows to each more", "rows 2 to 6  each 1 more", "the same in one row after another"),
        E(
            "worked empty",
            "row 5  4 worked, 3 empty, 5 worked",
            "its places from left to right; one that is empty is off the piece",
        ),
        E("place", "row 7  1 place", "in a tube: how many places the round has; 1 closes it"),
        E("places", "row 3  12 places", "the same; extra and shared places are spread evenly"),
    ),
    "picture_line": (),
    "variant": (
        E("lay", "calm  lay front", "the side each ring is laid to, unit by unit"),
        E("front", "calm  lay front", "towards the worker"),
        E("back", "zigzag  lay front, back", "away from the worker"),
    ),
    "step": (
        E("close", "close 2 A", "lay closed rings ready"),
        E("add", "add A through prev A", "open a ring, take it through those rings, close it"),
        E("reopen", "reopen last A through first A", "open a ring already in the work again"),
        E("fold back", "fold back S", "let rings fall back along the work"),
        E("spread", "spread prev M", "push rings apart"),
        E("turn over", "turn over", "turn the work; from here on `front` is the other side"),
        E("hold", "hold A", "hold rings while you go on"),
        E("tie", "tie A", "tie rings with a twist of wire or a thread"),
        E("tighten", "tighten A", "draw rings up"),
        E("take out", "take out first H", "take rings out again, with all their links"),
        E("untie", "untie A", "take off what ties rings"),
        E("let go", "let go A", "stop holding rings"),
        E("through", "add B through A", "the rings that the new one goes through"),
        E(
            "one another",
            "add 5 A through one another",
            "each of the new rings goes through all of them placed before it",
        ),
        E(
            "then",
            "add A through M then prev M",
            "the next rings lie further along the new ring; a comma says that they lie together",
        ),
        E("at one place", "add A through B, C at one place", "all of them at one place of it"),
        E("around", "close B around A", "it lies around those rings and is not linked with them"),
        E("inside", "close B inside A", "it lies inside those rings and is not linked with them"),
        E(
            "picks",
            "add B through A picks 2",
            "how many rings the list after `through` comes to; checked",
        ),
        E("lay", "add B through A1, A2 lay front", "the side from which it goes in"),
        E("front", "add B through A1, A2 lay front", "from the front, facing the worker"),
        E("back", "add B through A1, A2 lay back", "from the back"),
        E("varies", "add B through A1, A2 lay varies", "as the variant says"),
        E("on the left", "add S on the left through M", "it comes to lie on the left side"),
        E("on the right", "fold back S on the right", "on the right, the start end down"),
        E(
            "one to each side",
            "close 2 side one to each side",
            "the first on the left, the next on the right; folds do so where nothing is said",
        ),
        E(
            "skip at edge",
            "add B through prev A, A skip at edge",
            "leaves the whole step out where one of its places is off the piece",
        ),
        E("prev", "add A through prev A", "the ring of the unit before; `prev prev` is two before"),
        E("next", "add A through above A, above next A", "the ring of the unit after"),
        E("above", "add A through above A", "the ring of the row before, in the same place"),
        E(
            "first",
            "add A through last A, first A",
            "the ring of the first unit of the piece or row",
        ),
        E(
            "every",
            "add cord through every A",
            "all A of the row under `row end:`, of the piece under `finish:`",
        ),
        E("last", "add A through last A, first A", "the ring of the last unit of the piece or row"),
        *(
            E(
                f"along {edge}",
                f"add J through panel 1 A along {edge}, panel 2 A along {edge}",
                f"under `join:`: the step is repeated for each place of {what} of those pieces",
            )
            for edge, what in (
                ("first row", "the first row"),
                ("last row", "the last row"),
                ("left edge", "the left edge"),
                ("right edge", "the right edge"),
                ("every unit", "the chain"),
            )
        ),
        E(
            "backwards",
            "add J through panel 1 A along left edge backwards, panel 2 A along first row",
            "from the other end of that edge on",
        ),
        E("first row", "add J through panel 1 first row last A", "a corner of a piece made first"),
        E("last row", "add J through panel 1 last row first A", "a corner of a piece made first"),
        E(
            "if there",
            "add A through prev A, prev prev A if there",
            "leaves that one item out where its place is off the piece",
        ),
    ),
    "piece_line": (
        E("chain units", "chain 24 units", "a chain of so many units, or so long: `chain 190 mm`"),
        E("unit", "chain 1 unit", "a chain or loop of a single unit"),
        E("loop", "loop 57 units", "a chain whose ends are joined in `finish:`"),
        E("sheet rows of units", "sheet 8 rows of 12 units", "rows one under the other"),
        E("row", "sheet 1 row of 12 units", "a sheet or tube of a single row"),
        E("tube", "tube 30 rows of 10 units", "a sheet closed into a round"),
        E("rows back and forth", "rows back and forth", "every second row is worked back"),
        E("order", "order left, right", "named units or rows that take turns"),
        E(
            "strands",
            "strands left 30 units, drop 40 mm",
            "chains that each begin at the start, worked one after the other; each by the unit of"
            " its name, or else by the plain `unit:`; in `finish:` `last left A` is the last A of"
            " strand left",
        ),
        E("of", "chain of 12 byz, centre, 12 byz", "named units worked one after the other, once"),
        E("variant", "variant zigzag", "the variant that is made"),
        E("made times", "made 6 times", "how often a piece with a name is made before the joining"),
        E("made time", "made 1 time", "the same of a single one"),
        E("made once", "made once", "a single one, as where nothing is said"),
        E("made twice", "made twice", "two of them"),
        E("sample", "sample 10 byz = 41 mm", "what units of a name of yours measured"),
        E("sample units", "sample 10 units = 41 mm", "what a piece of yours measured"),
    ),
}


class Claim(NamedTuple):
    """What a step does to the rings of the work it is taken in.

    placed, out: rings put into the work and taken from it; made, undone: links; held: pairs of
    rings of which one holds the other without a link.
    """

    kind: str
    step: str
    placed: int = 0
    made: int = 0
    out: int = 0
    undone: int = 0
    held: int = 0


#: The work that every claim begins with: two closed rings A, a ring B through both, a loose D.
BEFORE = "close 2 A", "add B through A", "close D"
CLAIMS = (
    Claim("close", "close 2 C", placed=2),
    Claim("close", "close C around A", placed=1, held=2),
    Claim("add", "add C through A", placed=1, made=2),
    Claim("add", "add 2 C through A", placed=2, made=4),
    Claim("add", "add C1, C2 through A1, B", placed=2, made=4),
    Claim("add", "add C through D inside B", placed=1, made=1, held=1),
    Claim("reopen", "reopen B through D", made=1),
    Claim("fold back", "fold back B"),
    Claim("spread", "spread A"),
    Claim("turn over", "turn over"),
    Claim("hold", "hold A, B"),
    Claim("tie", "tie A"),
    Claim("tighten", "tighten B"),
    Claim("untie", "untie A"),
    Claim("let go", "let go B"),
    Claim("take out", "take out B", out=1, undone=2),
    Claim("take out", "take out A", out=2, undone=2),
)


# -- the page ------------------------------------------------------------------------------------


def page() -> str:
    """The whole page."""
    lines = [
        "# The words of the language",
        "",
        "Every word that has a meaning in a recipe, with a line that uses it. Made from",
        "`weave.lark`, the checks and measured examples by `python tests/test_reference.py`; do",
        "not edit it by hand. How the parts go together is told in `reference.md`.",
    ]
    for rule, (title, about) in SECTIONS.items():
        lines += ["", f"## {title}", "", about]
        if WORDS[rule]:
            lines += ["", "| words | a line that uses them | what they mean |", "|---|---|---|"]
        for e in WORDS[rule]:
            lines.append(f"| {e.phrase} | `{e.example}` | {e.meaning} |")
        if rule == "ring_kind":
            lines += [
                "",
                "`all` in the place of a name stands for every ring without a line of its own."
                f" Sizes are in {', '.join(f'`{u}`' for u in UNITS_OF_SIZE)}."
                " Whatever else stands there is the material.",
            ]
        if rule == "part_kind":
            lines += [
                "",
                "`opens` among the words of a part, as in `clasp  brass, opens`, says that it can"
                " be opened like a ring. A size alone, as in `bead  glass, 4 mm`, is how large it"
                " is.",
            ]
        if rule == "step":
            lines += [
                "",
                "A line `hint go in between the two` belongs to the step above it and is printed"
                " with it, in your own words.",
            ]
    lines += [
        "",
        "## What each kind of step does",
        "",
        f"Measured: each step is taken after `{'`, `'.join(BEFORE)}`, and the rings and links are"
        " counted before and after.",
        "",
        "| step | rings placed | links made | rings taken out | links undone | held, not linked |",
        "|---|---|---|---|---|---|",
        *(
            f"| `{c.step}` | {c.placed} | {c.made} | {c.out} | {c.undone} | {c.held} |"
            for c in CLAIMS
        ),
        "",
        "## What is checked",
        "",
        "`ringstep explain NAME` tells each with a wrong and a right recipe; it explains the words"
        " above too.",
        "",
        "| name | what it finds | what it is |",
        "|---|---|---|",
    ]
    for check in sorted(all_checks(), key=lambda c: c.RULE.name):
        first = (check.__doc__ or "").strip().splitlines()[0].rstrip(".")
        lines.append(f"| {check.RULE.name} | {first} | {check.RULE.severity} |")
    return "\n".join(lines) + "\n"


# -- the grammar ---------------------------------------------------------------------------------


@cache
def rules() -> dict[str, list[list[str]]]:
    """The rules of the grammar, as Lark has them: what each may be made of."""
    found: dict[str, list[list[str]]] = {}
    for rule in parser().rules:
        found.setdefault(str(rule.origin.name), []).append([s.name for s in rule.expansion])
    return found


def words_of(rule: str) -> set[str]:
    """Every word of the language that may stand in lines of a rule."""
    seen: set[str] = set()
    todo, words = [rule], set()
    while todo:
        now = todo.pop()
        for part in (p for made in rules()[now] for p in made):
            if part in rules() and part not in seen:
                seen.add(part)
                todo.append(part)
            elif part not in rules() and part not in WRITTEN:
                words.update(part.lower().split("_"))
    return words


def tokens(line: str, rule: str) -> list[Any]:
    """A line as the grammar reads it, to its end; fails where it cannot be read."""
    line = marked(line, ("panel",)) if rule == "step" else line
    parser().parse(line, start=rule)
    return list(parser().parse_interactive(line, start=rule).iter_parse())


def test_the_page_is_as_it_would_be_written_now() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), "run: python tests/test_reference.py"


@pytest.mark.parametrize("rule", SECTIONS)
def test_no_word_of_the_grammar_is_missing_and_none_is_made_up(rule: str) -> None:
    told = {word.lower() for e in WORDS[rule] for word in e.phrase.split()}
    assert told == words_of(rule)


def test_the_sections_are_all_there_are() -> None:
    assert set(SECTIONS) == set(WORDS) == set(parser().options.start)
    every = {word for rule in SECTIONS for word in words_of(rule)}
    # 'one another' is one word of the grammar, so that a ring may be called 'one'
    assert every == {*re.findall(r'"([a-z]+)"i', grammar_text()), "another"}


def test_every_reserved_word_and_phrase_is_on_the_page() -> None:
    told = {word.lower() for es in WORDS.values() for e in es for word in e.phrase.split()}
    assert told | {"hint"} >= RESERVED
    differing = {"unit instead", "unit also", "picture of"}
    assert {e.phrase for e in WORDS["heading"]} == {*HEADINGS, *differing}
    phrases = {e.phrase for e in WORDS["step"]}
    assert {*VERBS, *OPTIONS, *PLACES} <= phrases
    assert {w for e in WORDS["piece_line"] for w in e.phrase.split()} >= set(PIECE_WORDS)


@pytest.mark.parametrize(
    ("rule", "entry"), [(r, e) for r, es in WORDS.items() for e in es], ids=lambda x: str(x)[:30]
)
def test_the_example_can_be_read_and_uses_the_words(rule: str, entry: Entry) -> None:
    line = entry.example.removesuffix(":") if rule == "heading" else entry.example
    used = [w for t in tokens(line, rule) if t.type not in WRITTEN
            for w in t.type.lower().split("_")]  # fmt: skip
    assert set(entry.phrase.lower().split()) <= set(used)


@pytest.mark.parametrize("unit", UNITS_OF_SIZE)
def test_sizes_are_taken_in_these_units(unit: str) -> None:
    number = "18" if unit in ("awg", "swg") else "1/4" if unit.startswith("in") else "0.9"
    assert to_mm(*read_size(number, unit)) > 0


def read_size(number: str, unit: str) -> tuple[Any, str]:
    """A size as the reader takes it from a line of `rings:`."""
    text = SIMPLE.replace("inside 5 mm", f"inside {number} {unit}")
    recipe, troubles = read(text)
    assert troubles == ()
    size = recipe.rings[0].inside
    assert size is not None
    assert size.unit == unit
    return size.number, unit


def test_what_the_page_says_beside_its_tables() -> None:
    clasp = read("parts:\n  clasp  brass, opens\nunit:\n  add A\n")[0].parts[0]
    assert (clasp.words, clasp.opens) == ("brass", True)
    hinted = read("unit:\n  add A\n    hint go in between the two\n")[0].steps()[0]
    assert hinted.hint == "go in between the two"
    assert findings(SIMPLE) == ()
    assert read(SIMPLE)[0].rings[0].name.role == "all"


# -- what steps do, measured ---------------------------------------------------------------------


def work_of(*steps: str) -> Work:
    """The work after some steps."""
    lines = "".join(f"  {step}\n" for step in steps)
    seen = view(f"rings:\n  all  wire 1 mm, inside 6 mm\nstart:\n{lines}")
    assert seen.troubles == ()
    return carry_out(seen.weave.layout)


@pytest.mark.parametrize("claim", CLAIMS, ids=lambda c: c.step)
def test_each_step_does_what_is_claimed(claim: Claim) -> None:
    before, after = work_of(*BEFORE), work_of(*BEFORE, claim.step)
    assert after.snags == ()
    assert after.layout.recipe.steps()[-1].kind == claim.kind
    one, two = ring_graph(before), ring_graph(after)
    links = [{frozenset(pair) for pair in graph.edges} for graph in (one, two)]
    measured = Claim(
        claim.kind,
        claim.step,
        placed=len(set(two) - set(one)),
        made=len(links[1] - links[0]),
        out=len(set(one) - set(two)),
        undone=len(links[0] - links[1]),
        held=len(after.held) - len(before.held),
    )
    assert measured == claim


def test_every_kind_of_step_has_a_claim() -> None:
    assert {c.kind for c in CLAIMS} == set(get_args(StepKind)) == set(VERBS)


def test_turning_over_makes_the_front_the_back() -> None:
    step = "add C through A1, B lay front"
    sides = [work_of(*BEFORE, *turns, step).acts[-1].side for turns in ((), ("turn over",))]
    assert sides == ["front", "back"]


def test_a_step_skipped_at_the_edge_places_and_links_nothing() -> None:
    seen = view(
        "rings:\n  all  wire 1 mm, inside 6 mm\nrow:\n  close A\n"
        "  add B through prev A, A skip at edge\npiece:\n  sheet 1 row of 3 units\n"
    )
    work = carry_out(seen.weave.layout)
    assert [act.skipped for act in work.acts] == [False, True, False, False, False, False]
    assert ring_graph(work).number_of_edges() == 4


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
