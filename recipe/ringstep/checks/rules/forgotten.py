"""A step that seems to be forgotten whole.

A unit goes through rings, or promises them neighbours, that none of its steps places. One message
stands for all that follows from the missing step.

Wrong:

    weave "Persian 6-in-1"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      H meets 2 M
      M meets 6 S
      S meets 6 M
      4 rings a unit
    start:
      close 2 H
      add 2 M through H picks 2
      add 2 S through M picks 2
    unit:
      add 2 M through prev S picks 2
    piece:
      chain 24 units

Right:

    weave "Persian 6-in-1"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      H meets 2 M
      M meets 6 S
      S meets 6 M
      4 rings a unit
    start:
      close 2 H
      add 2 M through H picks 2
      add 2 S through M picks 2
    unit:
      add 2 M through prev S picks 2
      add 2 S through M, prev M picks 4
    piece:
      chain 24 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import Forgotten
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.syntax import Block, Step
from ringstep.language.words import listed, nearest
from ringstep.weave.phrases import list_span

RULE = Rule("forgotten-step", "error")


def check(view: View) -> Iterator[Finding]:
    """Blocks that lack a step for rings they use or promise."""
    for fault, _ in view.diagnosis.voiced(Forgotten):
        block = fault.block
        names = listed(fault.names)
        which = "the unit" if str(block) == "unit" else str(block)
        labels: tuple[Label, ...] = ()
        if block.kind == "start" and fault.step is not None:
            yield _in_start(block, fault.step, fault.names)
            continue
        if fault.snag is not None and fault.snag.ref is not None:
            span = fault.snag.ref.span
            step = fault.snag.step.number
            use = f"step {step} goes through '{fault.snag.ref}'"
            inside = any(s.number == step for s in block.steps)
            where = f"before step {step}" if inside and not fault.snag.ref.places else f"in {which}"
            labels = (Label(block.span, f"no step here places {names}"),)
            if not inside:
                span, labels = block.span, (Label(span, f"{names} is wanted here"),)
        else:
            span = block.span
            use = f"{names} {'is' if len(fault.names) == 1 else 'are'} promised neighbours"
            where = f"in {which}"
        yield Finding(
            RULE,
            span,
            f"a step that places {names} seems to be forgotten {where}: {use}",
            labels=labels,
            help=(*_misspelt(block, fault.names), _missing(view, fault.names)),
        )


def _in_start(block: Block, step: Step, names: tuple[str, ...]) -> Finding:
    """The first unit reaches into the start, which lacks what every unit places."""
    return Finding(
        RULE,
        block.span,
        f"a step that places {listed(names)} seems to be forgotten in the start: step"
        f" {step.number} needs {'it' if len(names) == 1 else 'them'} in the first unit",
        f"no step here places {listed(names)}",
        (Label(list_span(step), "in the first unit, 'prev' is the start"),),
        (
            f"write the missing step: 'add {names[0]} through …', or 'close {names[0]}'",
            "or write 'if there' behind what the first unit leaves out",
        ),
    )


def _misspelt(block: Block, names: tuple[str, ...]) -> tuple[str, ...]:
    """The step that places a ring of nearly that name, if there is one."""
    for step in block.steps:
        for item in step.new:
            if nearest(names[0], [item.name.role]):
                return (
                    f"or the name is misspelt: step {step.number} places {item.name.role},"
                    f" which is nearly '{names[0]}'",
                )
    return ()


def _missing(view: View, names: tuple[str, ...]) -> str:
    """The step to write, with as many rings as the recipe places of that role elsewhere."""
    for step in view.recipe.steps():
        for item in step.new:
            if item.name.role == names[0] and item.count is not None:
                return f"write the missing step: 'add {item.count} {names[0]} through …'"
    return f"write the missing step: 'add {names[0]} through …'"
