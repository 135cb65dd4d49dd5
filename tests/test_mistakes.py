"""What a finished piece shows of a slip: known answers, and slips made for real."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from helpers import LIBRARY, PERSIAN_LINKED, SIMPLE, SPIRAL, view

from recipe.outputs.mistakes import every_slip_falls_off, mistakes
from recipe.steps import carry_out


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
    # One M short of two and both S of the unit before short of one: step 7 and step 8 both leave
    # an M short of one and an S short of one, so that trace points nowhere and is not told.
    assert not [
        x
        for x in lines
        if x.startswith(
            "one M ring passes through only 6 rings (7 is"
            " right) and one S ring passes through only 5"
        )
    ]


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
        (16, ", prev M1, prev M2", {("M", 6): 2, ("S", 4): 1}),
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
    before = carry_out(right.model.layout).links
    after = carry_out(wrong.model.layout).links
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
    # The last of the three is left by three different steps, so it must not be told.
    assert (off in seen) == (step != 14)
