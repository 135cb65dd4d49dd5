"""The step list: sentences a student follows, counts that add up, and marks taken literally."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from helpers import EXAMPLES, LIBRARY, ROOT, shipped_recipes, view

from ringstep.checks.view import NoVariant, View
from ringstep.commands.cli import main
from ringstep.paper.printed import as_markdown, as_plain
from ringstep.paper.steps_text import StepList, StepText, step_list

STORED = Path(__file__).parent / "stored"
WEAVES = {
    path.stem: path
    for path in (*sorted(LIBRARY.glob("*.weave")), *sorted(EXAMPLES.glob("*.weave")))
    if path.stem != "missed_ring"
}


def listing(text: str, variant: str | None = None) -> StepList:
    return step_list(view(text), variant)


def steps(told: StepList) -> dict[int, StepText]:
    return {s.number: s for section in told.sections for s in section.steps}


def shipped(name: str, variant: str | None = None) -> dict[int, StepText]:
    return steps(listing(shipped_recipes()[name], variant))


@pytest.mark.parametrize("name", WEAVES)
def test_the_list_is_as_stored(name: str) -> None:
    """Read by people before it was stored; `python tests/test_step_list.py` stores anew."""
    got = as_plain(listing(WEAVES[name].read_text(encoding="utf-8")).printed)
    assert got == (STORED / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", WEAVES)
def test_every_step_is_told_once_in_order_of_work(name: str) -> None:
    seen = view(WEAVES[name].read_text(encoding="utf-8"))
    told = step_list(seen)
    numbers = [s.number for section in told.sections for s in section.steps]
    assert sorted(numbers) == [s.number for s in seen.recipe.every_step()]


@pytest.mark.parametrize("name", WEAVES)
def test_the_rings_of_a_sentence_are_those_of_the_step(name: str) -> None:
    """'… : 4 rings' is what the step picks up in a unit that has everything it reaches for."""
    seen = view(WEAVES[name].read_text(encoding="utf-8"))
    most: dict[int, int] = {}
    for act in (*seen.weave.work.acts, *(seen.weave.repeat.acts if seen.weave.repeat else ())):
        number = act.step.number
        most[number] = max(most.get(number, 0), act.picks)
    for number, step in steps(step_list(seen)).items():
        found = re.search(
            r": (\d+) (?:rings?|picked up)(?: for the last one)?\. Close", step.sentence
        )
        assert (int(found[1]) if found else 0) == most.get(number, 0), step.sentence


def test_a_linked_middle_ring() -> None:
    step = shipped("persian_linked", "calm")[8]
    assert step.sentence == (
        "Open 1 ring, M2. From the front, pass it through both S rings of the unit before and"
        " through M1: 3 rings. Close it."
    )
    assert step.used == "2 of 4 rings used in this unit so far"
    # The first time the unit before is the start, whose side rings have no earlier M: 6 - 2 = 4.
    assert step.see == (
        "M2 and M1 each pass through 3 rings; S1 and S2 of the unit before each pass through 6"
        " rings (4 the first time) and are finished"
    )


def test_lays_that_take_turns_are_said_for_the_units_they_fall_on() -> None:
    """zigzag is front, back, and the start takes the first: so unit 1 is laid from the back."""
    assert "In the 1st, 3rd, 5th … unit from the back, in the 2nd" in (
        shipped("persian_linked", "zigzag")[8].sentence
    )
    seen = view(shipped_recipes()["persian_linked"])
    zigzag = next(m for m in seen.weaves if m.variant and m.variant.name == "zigzag")
    sides = {a.unit: a.side for a in zigzag.work.acts if a.step.number == 8}
    assert [sides[u] for u in (1, 2, 3, 4)] == ["back", "front", "back", "front"]


def test_an_unknown_variant_is_refused() -> None:
    with pytest.raises(NoVariant, match="the nearest is 'zigzag'"):
        listing(shipped_recipes()["persian_linked"], "zigzga")


def test_starters_are_counted_and_come_out() -> None:
    told = listing(shipped_recipes()["persian_6"])
    # By hand: 2 starters, 4 in the start, 24 units of 4.
    assert [(n.count, n.opened, n.closed) for n in told.needs] == [(102, 100, 2)]
    assert steps(told)[2].see == "all four each pass through 2 rings"
    assert steps(told)[9].sentence == "Open both H rings of the start and take them out."


def test_what_may_be_missing_says_so() -> None:
    assert "A of the unit two before (where there is one): 2 rings" in (
        shipped("spiral_4")[2].sentence
    )
    assert shipped("japanese_square")[2].sentence.endswith(
        "At the edge, where there is nothing to go through, leave this step out."
    )


def test_a_held_ring() -> None:
    assert shipped("captive_ring")[3].sentence == (
        "Close 1 brass captive ring (1.2 × 7 mm). It lies around the small ring of this unit and"
        " is held there without being linked."
    )


HOSTILE = """weave "A <b>bold</b> \\x1b[31m chain"
rings:
  _x*<i>  wire 1.2 mm, inside 5 mm, copper
expect:
  _x*<i> meets 2
start:
  close _x*<i>
unit:
  add _x*<i> through prev _x*<i>
    hint # not this
    hint look at [this](http://example.invalid) and `that`
piece:
  chain 3 units
"""


def test_marks_of_markdown_and_of_terminals_are_taken_literally() -> None:
    told = listing(HOSTILE.replace("\\x1b", "\x1b"))
    for text in (as_markdown(told.printed), as_plain(told.printed)):
        assert "\x1b" not in text
    markdown = as_markdown(told.printed)
    assert r"\_x\*\<i\>" in markdown
    assert r"\[this\](http://example.invalid) and \`that\`" in markdown
    assert "<i>" not in markdown.replace(r"\<i\>", "")


def test_cautions_are_printed_with_every_list() -> None:
    text = as_plain(listing(shipped_recipes()["simple_chain"]).printed)
    for words in (
        "eye protection",
        "choking hazard",
        "16 CFR 1501",
        "REACH Annex XVII",
        "Rest",
        "load-bearing",
        "under local rules",
    ):
        assert words in " ".join(text.split()), words


def test_a_recipe_with_errors_prints_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["steps", str(EXAMPLES / "missed_ring.weave")]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "neighbour-count" in err
    assert "nothing is made from it" in err


@pytest.mark.parametrize("form", [["--plain"], ["--markdown"], []])
def test_the_command_prints(form: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["steps", str(LIBRARY / "persian_linked.weave"), "--variant", "calm", *form]) == 0
    assert "From the front, pass it through both S rings" in (
        " ".join(capsys.readouterr().out.split())
    )


def test_a_terminal_gets_the_same_words(capsys: pytest.CaptureFixture[str]) -> None:
    from ringstep.paper.printed import show_rich

    seen: View = view(shipped_recipes()["persian_linked"])
    show_rich(step_list(seen, "mirror").printed)
    out = " ".join(capsys.readouterr().out.split())
    assert "From the back, pass it through both S rings" in out


# -- which ring to take from the heap --------------------------------------------------------------


def taken(rings: str, place: str = "add 2 A through prev A") -> list[str]:
    """The first sentence of both steps of a doubled chain with these lines of `rings:`."""
    told = step_list(
        view(
            f'weave "Doubled chain"\nrings:\n{rings}expect:\n  A meets 4\nstart:\n  close 2 A\n'
            f"unit:\n  {place}\npiece:\n  chain 12 units\n"
        )
    )
    return [s.sentence.split(". Pass")[0].rstrip(".") for x in told.sections for s in x.steps]


def test_rings_all_alike_are_not_described_again() -> None:
    plain = ["Close 2 rings, A1 and A2", "Open 2 rings, A1 and A2, one after the other"]
    size = "wire 1.2 mm, inside 5 mm, copper, colour red"
    assert taken(f"  all  {size}\n") == plain
    assert taken(f"  A1  {size}\n  A2  {size}\n") == plain, "two lines, one kind"
    assert taken(f"  A  {size}\n  all  wire 1 mm, inside 6 mm\n") == plain, "only one is used"


def test_the_student_is_told_just_what_tells_the_rings_apart() -> None:
    red, blue = (f"wire 1.2 mm, inside 5 mm, copper, colour {c}" for c in ("red", "blue"))
    assert taken(f"  A1  {red}\n  A2  {blue}\n") == [
        "Close 1 red ring, A1, and 1 blue ring, A2",
        "Open 1 red ring, A1, and 1 blue ring, A2, one after the other",
    ]
    bare = "wire 1.2 mm, inside 5 mm, copper"
    assert taken(f"  A1  {red}\n  A2  {bare}\n")[0] == "Close 1 red ring, A1, and 1 copper ring, A2"
    brass = "wire 1.2 mm, inside 5 mm, brass"
    assert taken(f"  A1  {bare}\n  A2  {brass}\n")[0] == (
        "Close 1 copper ring, A1, and 1 brass ring, A2"
    )
    wide = "wire 1.2 mm, inside 6 mm, copper, colour blue"
    assert taken(f"  A1  {red}\n  A2  {wide}\n")[0] == (
        "Close 1 red ring, A1 (1.2 × 5 mm), and 1 blue ring, A2 (1.2 × 6 mm)"
    )


def test_rings_of_one_colour_are_taken_together() -> None:
    rings = (
        "  A  wire 1.2 mm, inside 5 mm, colour red\n  B  wire 1.2 mm, inside 5 mm, colour blue\n"
    )
    told = taken(rings, "add 2 B through prev A\n  add 2 A through B")
    assert told == [
        "Close 2 red rings, A1 and A2",
        "Open 2 blue rings, B1 and B2, one after the other",
        "Open 2 red rings, A1 and A2, one after the other",
    ]


if __name__ == "__main__":
    STORED.mkdir(exist_ok=True)
    for name, path in WEAVES.items():
        text = as_plain(listing(path.read_text(encoding="utf-8")).printed)
        (STORED / f"{name}.txt").write_text(text, encoding="utf-8")
    print(f"stored {len(WEAVES)} lists; look at git diff {STORED.relative_to(ROOT)}")


TURNS = """\
weave "Turns"
rings:
  all  wire 1.2 mm, inside 6.5 mm, copper
expect:
  all meets 4
unit right:
  add 2 B through prev A
start:
  close 2 B
unit left:
  add 2 A through prev B
piece:
  chain 12 units
  order left, right
"""


def test_units_that_take_turns_are_told_as_they_are_worked() -> None:
    told = step_list(view(TURNS)).sections
    assert [(s.heading, [step.number for step in s.steps]) for s in told] == [
        ("Start", [1]), ("Unit left", [2]), ("Unit right", [3])
    ]  # fmt: skip
    turn = "Units take turns: left and right, and so on up to unit 12."
    assert told[1].intro == f"{turn} The first time, 'the unit before' is the start."
    assert told[2].intro == turn, "its unit before is never the start"
    written = TURNS.replace("unit left:", "unit 1:\n  add 2 A through prev B\nunit left:")
    told = step_list(view(written.replace("order left, right", "order right, left"))).sections
    assert [s.heading for s in told] == ["Start", "Unit 1", "Unit right", "Unit left"]
    assert not [s.intro for s in told[2:] if "start" in s.intro], "unit 1 stands between"


def test_rings_that_stay_closed_are_laid_ready_and_never_opened() -> None:
    """A helper that stays closed comes out by opening what hangs on it."""
    text = (
        'weave "Harbour Lane"\nrings:\n  all  wire 1.2 mm, inside 6 mm, steel\n'
        "  H  wire 1.6 mm, inside 6 mm, steel, stays closed\nstart:\n  close H, A1\n"
        "  add A2 through H, A1 picks 2\nunit:\n  add A through prev A\npiece:\n  chain 1 unit\n"
        "finish:\n  take out first H\n"
    )
    told = " ".join(as_plain(listing(text).printed).split())
    assert (
        "Close 1 ring, A1 (1.2 × 6 mm). Lay 1 ring, H (1.6 × 6 mm) ready: it stays closed." in told
    )
    assert "1 ring for H: wire 1.6 mm" in told
    assert "steel, stays closed - " in told
    assert "Open what H of the start hangs on, take it out, and close it again." in told
