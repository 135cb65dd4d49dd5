"""What a finished piece shows of a slip: known answers, and slips made for real."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from helpers import LIBRARY, PERSIAN_LINKED, SIMPLE, SPIRAL, view

from ringstep.paper.mistakes import every_slip_falls_off, mistakes
from ringstep.weave.steps import carry_out


def told(text: str) -> list[str]:
    """The mistakes of a recipe, a line each."""
    return [f"{m.see}: {m.cause}" for m in mistakes(view(text))]


def test_known_mistakes_of_the_linked_chain():
    """By hand: M2 goes through M1, so without it both lose one of 7; each S goes through two M
    pairs, so a pair missed by both costs each S two of 6 and each M two of 7."""
    lines = told(PERSIAN_LINKED)
    assert "two M rings each pass through only 6 rings (7 is right): step 8 missed M1" in [
        x.replace("M1 of this unit", "M1") for x in lines
    ]
    assert any(
        x.startswith(
            "two M rings each pass through only 5 rings (7 is right) and two S rings each pass"
            " through only 4 rings (6 is right): step 9 missed both M rings"
        )
        for x in lines
    )
    assert any("step 3 or 8 went in from the wrong side" in x for x in lines)
    assert any("step 10 was left out" in x for x in lines)
    assert len(lines) <= 8
    # M1 and M2 each go through two S of the unit before, and S1 and S2 through M: a single link
    # missed in any of the three steps leaves an M and an S short of one.
    assert (
        "one M ring passes through only 6 rings (7 is right) and one S ring passes through only 5"
        " rings (6 is right): step 7, step 8 or step 9 missed a ring; look at each"
    ) in lines


def test_a_trace_that_two_steps_share_names_both():
    """Two wires by turns: the thin ring lies through the thick one of its unit and of the one
    before, so the link that is missed may be the one or the other; the twins are told apart."""
    lines = told((LIBRARY / "spiral_two_wires.weave").read_text(encoding="utf-8"))
    assert lines[:3] == [
        "two thick rings each pass through only 3 rings (4 is right): step 3 missed the thick ring"
        " of the unit before",
        "two thin rings each pass through only 3 rings (4 is right): step 4 missed the thin ring of"
        " the unit before",
        "one thick ring passes through only 3 rings (4 is right) and one thin ring passes through"
        " only 3 rings (4 is right): step 3 or step 4 missed a ring; look at both",
    ]


def test_one_step_with_many_ways_to_leave_a_trace():
    """Two A through both A of two places above: one A of either place missed by both new ones, or
    both missed by one new one, are four slips of one step with one trace."""
    lines = told((LIBRARY / "european_8.weave").read_text(encoding="utf-8"))
    assert (
        "two A rings each pass through only 7 rings (8 is right) and one A ring passes through only"
        " 6 rings (8 is right): step 2 missed some of its rings"
    ) in lines


def test_every_slip_of_the_simple_chain_falls_off():
    assert told(SIMPLE) == []
    assert every_slip_falls_off(view(SIMPLE))
    assert not every_slip_falls_off(view(SPIRAL))
    assert not every_slip_falls_off(view(PERSIAN_LINKED))


_NUMBERS = {"one": 1, "two": 2, "three": 3, "four": 4}


@pytest.mark.parametrize(
    ("step", "item", "trace"),
    [
        # unit 2 of the written-out chain: step 15 places M2, 16 and 17 the rings S1 and S2
        (15, ", M1", {("M", 6): 2}),
        (16, " then prev M1, prev M2", {("M", 6): 2, ("S", 4): 1}),
        (14, "prev S1, ", {("M", 6): 1, ("S", 5): 1}),
    ],
)
def test_a_slip_made_for_real_leaves_the_trace_that_is_told(step, item, trace):
    """The slip is made in the text of one written-out unit, and the rings are counted afresh."""
    text = (LIBRARY / "persian_linked_written.weave").read_text(encoding="utf-8")
    right = view(text)
    line = next(s for s in right.recipe.steps() if s.number == step).span.line
    lines = text.splitlines()
    assert item in lines[line - 1]
    lines[line - 1] = lines[line - 1].replace(item, "", 1)
    wrong = view("\n".join(lines) + "\n")
    before = carry_out(right.weave.layout).links
    after = carry_out(wrong.weave.layout).links
    off = Counter((r.role, len(after[r])) for r in before if len(after[r]) != len(before[r]))
    assert off == Counter(trace)
    words = {x.split(": ")[0] for x in told(text)} | {
        x.split(": ")[0] for x in told(PERSIAN_LINKED)
    }
    seen = [
        Counter(
            {
                (role, int(now)): _NUMBERS[count]
                for count, role, now in re.findall(
                    r"(one|two) (\w) rings? (?:each pass|passes) through only (\d)", x
                )
            }
        )
        for x in words
    ]
    assert off in seen
    if step == 14:  # three steps of a unit leave this one, and all are named
        (line,) = (x for x in told(PERSIAN_LINKED) if "step 7, step 8 or step 9" in x)
        assert line.endswith("look at each")


def test_a_bar_that_a_long_row_hangs_from_is_counted_whole() -> None:
    """30 rings of the first row pass through the bar, and each through the one before it."""
    text = 'weave "Blind"\nrings:\n  all  wire 1 mm, inside 6 mm, copper\nstart:\n  close bar\n'
    text += "first row:\n  add A through above bar, prev A if there lay front\nrow:\n"
    text += "  add A through above A, prev A if there lay front\n"
    text += "piece:\n  sheet 6 rows of 30 units\n"
    seen = [m.see for m in mistakes(view(text)) if "bar" in m.see]
    assert seen, "an A that misses the bar leaves a trace on it"
    assert all("only 29 rings (30 is right)" in see for see in seen), seen
