"""A unit that is the same smaller unit two or more times over.

Nothing is wrong with it, but the recipe is longer than it need be, and every line is a line in
which a slip can hide. Folds, lays and ring sizes are compared too.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
      B meets 2
    start:
      close B
    unit:
      add A through prev B
      add B through A
    piece:
      chain 30 units

Right:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 60 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.weave.phrases import number_word
from ringstep.weave.repeats import smaller_unit

RULE = Rule("smaller-unit", "note")


def check(view: View) -> Iterator[Finding]:
    """A unit that could be written as a smaller one."""
    if view.diagnosis.faults or not view.steps_read or not view.recipe.blocks:
        return
    times = smaller_unit(view.weave)
    if times:
        block = view.weave.layout.order[0]
        steps = len(block.steps) // times
        first = "the first step" if steps == 1 else f"the first {number_word(steps)} steps"
        span = block.steps[0].span
        yield Finding(
            RULE,
            span,
            f"the unit is the same smaller unit {number_word(times)} times over",
            f"{first} would do",
            help=(
                f"write only {first} as the unit, with 'prev' for what comes before, and repeat"
                " it more often",
            ),
        )
