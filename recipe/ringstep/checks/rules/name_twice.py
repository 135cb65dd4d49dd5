"""Two rings of one unit under one name.

Every ring of a unit has its own name, so that a step can say which one it means. Several rings
placed alike share a role and are numbered: 'add 2 S' places S1 and S2.

Wrong:

    weave "Doubled chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit:
      add A1 through prev A
      add A1 through prev A
    piece:
      chain 30 units

Right:

    weave "Doubled chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit:
      add A1 through prev A
      add A2 through prev A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import Snagged
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.syntax import Step, joined

RULE = Rule("name-twice", "error")


def check(view: View) -> Iterator[Finding]:
    """A step that places a ring which its unit already has, and roles declared twice."""
    seen: dict[str, int] = {}
    described = [(k.name, k.span.line) for k in view.recipe.rings]
    described += [(p.name, p.span.line) for p in view.recipe.parts]
    for said, line in described:
        name = str(said)
        if name in seen:
            yield Finding(
                RULE,
                said.span,
                f"'{name}' is described twice",
                f"first on line {seen[name]}",
                help=("keep one of the two lines",),
            )
        seen.setdefault(name, line)
    for fault, _ in view.diagnosis.voiced(Snagged):
        snag = fault.snag
        if snag.kind != "placed twice" or snag.ring is None:
            continue
        ring = snag.ring
        first = next(
            (
                s
                for s in snag.block.steps
                if s.number < snag.step.number and any(i.name.role == ring.role for i in s.new)
            ),
            None,
        )
        item = next((i for i in snag.step.new if i.name.role == ring.role), None)
        span = item.span if item else snag.step.span
        name = joined(ring.role, ring.index)
        taken = {
            n
            for i in (x for b in snag.block.steps for x in b.new)
            if i.name.role == ring.role
            for n in i.indexes
        }
        free = next(n for n in range(1, len(taken) + 2) if n not in taken)
        help = [f"give it a name of its own, such as '{joined(ring.role, free)}'"]
        if first and _same(first, snag.step):
            help.append(f"or take step {snag.step.number} out, which repeats step {first.number}")
        labels = (Label(first.span, f"{name} is placed here already"),) if first else ()
        yield Finding(
            RULE,
            span,
            f"step {snag.step.number} places {name} a second time",
            labels=labels,
            help=tuple(help),
        )


def _same(one: Step, other: Step) -> bool:
    """True where two steps place the same rings through the same list."""
    return [(str(i.name), i.count) for i in one.new] == [
        (str(i.name), i.count) for i in other.new
    ] and ([str(r) for r in one.through] == [str(r) for r in other.through])
