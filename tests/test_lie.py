"""How the rings lie: every fold and spread left out, made twice or made too early is told."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from helpers import RECIPES, findings, shipped_texts, view

from ringstep.checks.rules import all_checks
from ringstep.language.findings import Finding, typed_in
from ringstep.language.parse import HINT_LINE
from ringstep.language.syntax import Step
from ringstep.weave.lie import follow

#: The rules that speak of moves, lays off a pattern and what start and unit have in common.
ABOUT_LYING = frozenset(
    {
        "folded-already",
        "folded-not-shown",
        "helper-stays",
        "loop-lay-broken",
        "move-forgotten",
        "move-on-nothing",
        "not-folded",
        "nothing-to-undo",
        "spread-shows-nothing",
        "start-lay-fixed",
        "start-unlike-unit",
        "still-bound",
        "turn-unpromised",
        "unlike-siblings",
        "variant-misnamed",
        "variants-alike",
    }
)


def written_out(text: str, units: int = 6) -> str:
    """A chain or loop with its one unit written out unit by unit; others as they are."""
    found = re.search(r"^unit:\n((?:[ #].*\n)+)", text, re.M)
    if not found or not re.search(r"^  (chain|loop) \d", text, re.M):
        return text
    whole = "".join(f"unit {n}:\n{found[1]}" for n in range(1, units + 1))
    text = text.replace(found[0], whole)
    return re.sub(r"^  (chain|loop) \d.*", rf"  \1 {units} units", text, flags=re.M)


SHIPPED = shipped_texts()
TEXTS = {
    **SHIPPED,
    **{f"tests: {name}": text for name, text in RECIPES.items()},
    **{f"{name}, written out": written_out(text) for name, text in SHIPPED.items()},
    # A ring missed in every unit takes long to explain, so there are few of them.
    "missed_ring, written out": written_out(SHIPPED["missed_ring"], 3),
}
FOLDED = {name: text for name, text in TEXTS.items() if "fold back" in text}


def about_lying(text: str) -> list[Finding]:
    """What is told of how rings lie."""
    return [f for f in findings(text) if f.rule.name in ABOUT_LYING]


def test_the_rules_are_there() -> None:
    assert {c.RULE.name for c in all_checks()} >= ABOUT_LYING


@pytest.mark.parametrize("name", TEXTS)
def test_what_is_right_is_left_alone(name: str) -> None:
    assert [(f.rule.name, f.message) for f in about_lying(TEXTS[name])] == []


BYZANTINE = RECIPES["byzantine"]
OTHER_WAYS = {
    "begun on its connectors, so that nothing can fold in the start": BYZANTINE.replace(
        "  close 2 A\n  add 2 B through A picks 2\n  fold back B\n  spread A\n", "  close 2 B\n"
    ),
    "folded at the beginning of the next unit": BYZANTINE.replace(
        "  fold back B\n  spread A\n", ""
    ).replace("unit:\n", "unit:\n  fold back prev B\n  spread prev A\n"),
    "closed into a loop": BYZANTINE.replace("chain 20 units", "loop 20 units")
    + "finish:\n  add 2 C through last B, first A picks 4\n",
    "begun on a single ring": RECIPES["doubled"]
    .replace("A meets 4", "A meets 4\n  tail meets 1")
    .replace("prev A picks 2", "prev A")
    .replace("  close 2 A\n", "  close tail\n  add A through tail picks 1\n"),
}


@pytest.mark.parametrize("name", OTHER_WAYS)
def test_other_ways_of_working_are_left_alone(name: str) -> None:
    assert [(f.rule.name, f.message) for f in findings(OTHER_WAYS[name])] == []


def lines_of(text: str, step: Step) -> range:
    """The lines of a step with its hints, from 0."""
    lines, end = text.split("\n"), step.span.line
    while HINT_LINE.match(lines[end]):
        end += 1
    return range(step.span.line - 1, end)


def slips(text: str) -> Iterator[tuple[str, str, range]]:
    """Every fold and spread dropped, doubled and exchanged with the step before or behind it.

    What was done, the text with it, and the lines from 0 of the section it was done in.
    """
    lines = text.split("\n")
    for block in view(text).recipe.blocks:
        section = range(block.span.line - 1, lines_of(text, block.steps[-1]).stop + 1)
        for at, step in enumerate(block.steps):
            if step.kind not in ("fold back", "spread"):
                continue
            here = lines_of(text, step)
            what = f"{step.kind} of step {step.number}"
            yield f"drop {what}", "\n".join(lines[: here.start] + lines[here.stop :]), section
            yield f"double {what}", "\n".join(lines[: here.stop] + lines[here.start :]), section
            for first, second in ((at - 1, at), (at, at + 1)):
                if first >= 0 and second < len(block.steps):
                    one = lines_of(text, block.steps[first])
                    two = lines_of(text, block.steps[second])
                    moved = [lines[i] for i in (*two, *one)]
                    other = lines[: one.start] + moved + lines[two.stop :]
                    yield f"exchange {what}", "\n".join(other), section


@pytest.mark.parametrize("name", FOLDED)
def test_every_fold_and_spread_dropped_doubled_or_moved_is_told(name: str) -> None:
    """Told as a warning or an error, in the section of the slip or the one that finds it first."""
    text = FOLDED[name]
    tried = 0
    for what, slipped, section in slips(text):
        if slipped == text:
            continue
        tried += 1
        told = [f for f in about_lying(slipped) if f.severity != "note"]
        assert told, what
        marked = {s.line - 1 for f in told for s in (f.span, *(x.span for x in f.labels))}
        following = range(section.start, section.stop + 8)
        assert marked & set(following), (what, [(f.span.line, f.message) for f in told])
    assert tried >= 6


@pytest.mark.parametrize("name", [n for n in FOLDED if n in SHIPPED])
@pytest.mark.parametrize("move", ["fold back", "spread"])
def test_a_move_forgotten_in_start_and_units_alike_is_told(name: str, move: str) -> None:
    text = re.sub(rf"  {move} .*\n(    hint.*\n)*", "", SHIPPED[name])
    told = {f.rule.name for f in about_lying(text)}
    assert told == {"not-folded" if move == "fold back" else "folded-not-shown"}


@pytest.mark.parametrize("name", [n for n in FOLDED if n in SHIPPED])
def test_a_mend_that_is_offered_gives_the_recipe_back(name: str) -> None:
    """Every step taken out or written in as the message says leaves nothing to tell of moves."""
    text, mended = SHIPPED[name], 0
    for what, slipped, _ in slips(text):
        for finding in about_lying(slipped):
            for words in finding.help:
                lines = slipped.split("\n")
                steps = {s.number: s for s in view(slipped).recipe.steps()}
                if typed := re.fullmatch(r"to mend: write '(.+)' after step (\d+)", words):
                    lines.insert(lines_of(slipped, steps[int(typed[2])]).stop, f"  {typed[1]}")
                elif typed := re.fullmatch(r"to mend: write '(.+)' before step (\d+)", words):
                    lines.insert(steps[int(typed[2])].span.line - 1, f"  {typed[1]}")
                elif out := re.fullmatch(r"to mend: take step (\d+) out", words):
                    here = lines_of(slipped, steps[int(out[1])])
                    del lines[here.start : here.stop]
                else:
                    continue
                assert about_lying("\n".join(lines)) == [], (what, words)
                mended += 1
    assert mended or "unit 1:" in text


def test_the_ways_a_ring_lies_at_the_end() -> None:
    """Persian: every side pair but the last is folded, shown and locked by the next middle pair."""
    lying = follow(view(RECIPES["persian"]).weave)
    units = lying.weave.work.layout.units
    ways = {r.unit: way for r, way in lying.ways.items()}
    assert {r.role for r in lying.ways} == {"S"}
    assert ways == {**dict.fromkeys(range(units), "locked"), units: "folded"}
    last = next(r for r in lying.ways if r.unit == units)
    assert {(r.role, r.unit) for r in lying.hangs_on[last]} == {("M", units), ("M", units - 1)}


def test_a_ring_that_is_tightened_may_be_spread_again() -> None:
    text = RECIPES["persian"].replace("  spread prev M\n", "  spread prev M\n  spread prev M\n")
    assert [f.rule.name for f in about_lying(text)] == ["spread-shows-nothing"]
    again = text.replace("spread prev M\n  spread", "tighten prev M\n  spread")
    assert about_lying(again) == []


LINKS = """\
weave "Links with a folded ring"
rings:
  all  wire 1.2 mm, inside 5 mm, brass
start:
  close A
  add B through A
  fold back B
  spread A
unit:
  add C through prev B, prev A
  add A through C
  add B through A
  fold back B
  spread A
piece:
  chain 6 units
"""


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("", "", []),
        # Both moves left out of the start: step 3 finds B hanging and A close only there.
        ("  fold back B\n  spread A\nunit", "unit",
         [("forgotten", "fold back", "B0", 3), ("forgotten", "spread", "A0", 3)]),
        # Of two rings that hang on A the one that is folded elsewhere is meant.
        ("  fold back B\n  spread A\nunit", "  add D through A\n  spread A\nunit",
         [("shows nothing", None, "B0", 4)]),
        # C is let go and A stays as it was: still apart.
        ("prev A\n  add A", "prev A\n  spread C\n  tighten C\n  spread prev A\n  add A",
         [("shows nothing", None, "C1 C2 C3 C4 C5 C6", 6),
          ("spread already", None, "A0 A1 A2 A3 A4 A5", 8)]),
    ],
)  # fmt: skip
def test_what_is_told_of_which_rings(
    old: str, new: str, told: list[tuple[str, str | None, str, int]]
) -> None:
    lying = follow(view(LINKS.replace(old, new) if old else LINKS).weave)
    found = [
        (s.kind, s.move, " ".join(f"{r.role}{r.unit}" for r in s.rings), s.act.step.number)
        for s in lying.slips
    ]
    assert found == told
    assert [str(s.where) for s in lying.slips if s.move] == ["start"] * sum(
        bool(t[1]) for t in told
    )
    begun = {} if "fold back B" in old else {0: "locked"}
    ways = {**begun, **dict.fromkeys(range(1, 6), "locked"), 6: "shown"}
    assert {(r.role, r.unit): way for r, way in lying.ways.items()} == {
        ("B", unit): way for unit, way in ways.items()
    }


def test_what_is_told_of_moves_waits_for_the_links() -> None:
    """A ring missed elsewhere does not hide a fold forgotten, and brings no second message."""
    text = RECIPES["persian"].replace("through M, prev M picks 4", "through M, prev M1 picks 4")
    assert about_lying(text) == []
    folded = text.replace("  fold back S\nunit", "unit")
    assert [f.rule.name for f in about_lying(folded)] == ["move-forgotten"]


def test_a_mend_for_a_move_is_data_as_well() -> None:
    """What the help says and what is typed in are one: the fold comes back where it stood."""
    lines = RECIPES["byzantine"].split("\n")
    at = max(n for n, line in enumerate(lines) if line.strip() == "fold back B")
    text = "\n".join(lines[:at] + lines[at + 1 :])
    (found,) = (f for f in findings(text) if f.rule.name == "spread-shows-nothing")
    (mend,) = found.mends
    assert found.help == (f"to mend: {mend.says}",)
    mended = typed_in(tuple(text.split("\n")), mend.edits)
    assert [x.strip() for x in mended] == [x.strip() for x in lines]


NAMED = """\
weave "Tarn Mill chain with a ring between"
rings:
  all  wire 1.2 mm, inside 4.2 mm, copper
  F    wire 1.2 mm, inside 8 mm, copper
expect:
  C meets 2 A, 2 B or 2 A, 1 F
  A meets 2 C, 2 B
  B meets 2 A, 2 C or 2 A, 1 F
  F meets 2 B, 2 C
start:
  close 2 A
  add 2 B through A picks 2
  fold back B
  spread A
unit byz:
  add 2 C through prev B picks 2
  add 2 A through C picks 2
  add 2 B through A picks 2
  fold back B
  spread A
unit centre:
  add F through prev B picks 2
  add 2 C through F picks 1
  add 2 A through C picks 2
  add 2 B through A picks 2
  fold back B
  spread A
piece:
  chain of 5 byz, centre, 5 byz
"""


@pytest.mark.parametrize("which", [0, 1, 2])
def test_a_spread_forgotten_in_a_unit_of_several_is_told_once_and_comes_back(which: int) -> None:
    """Two units follow a 'byz'; the one spread they both miss is one message and one mend."""
    assert not findings(NAMED)
    lines = NAMED.splitlines()
    at = [n for n, line in enumerate(lines) if line == "  spread A"][which]
    text = "\n".join(lines[:at] + lines[at + 1 :])
    (found,) = findings(text)
    (mend,) = found.mends
    assert list(typed_in(tuple(text.split("\n")), mend.edits)) == lines
