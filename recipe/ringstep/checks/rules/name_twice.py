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

from ringstep.checks.diagnosis import Cause
from ringstep.checks.faults import Snagged
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.syntax import Step, joined
from ringstep.language.words import listed
from ringstep.weave.work import Snag

RULE = Rule("name-twice", "error")


def check(view: View) -> Iterator[Finding]:
    """A step that places a ring which its unit already has, and roles declared twice."""
    seen: dict[str, int] = {}
    # Of a name in several stretches of the piece 'sizes-along' tells.
    rings = [k for k in view.recipe.rings if not k.along]
    described = [(k.name, k.span.line) for k in rings]
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
    told: set[int] = set()
    for fault, cause in view.diagnosis.voiced(Snagged):
        if fault.snag.kind == "placed twice" and fault.step.number not in told:
            told.add(fault.step.number)
            yield _second_time(view, fault.snag, cause)


def _second_time(view: View, snag: Snag, cause: Cause | None) -> Finding:
    """A step that places rings its unit has already, all of them told at once."""
    from ringstep.checks.edits import DropStep

    step = snag.step
    before = [s for s in snag.block.steps if s.number < step.number]
    earlier = {(i.name.role, n) for s in before for i in s.new for n in i.indexes}
    again = [(i, n) for i in step.new for n in i.indexes if (i.name.role, n) in earlier]
    if not again:  # twice in the very step
        again = [(i, n) for i in step.new for n in i.indexes][-1:]
    item, index = again[0]
    role = item.name.role
    first = next((s for s in before if any(i.name.role == role for i in s.new)), None)
    names = listed([joined(i.name.role, n) for i, n in again])
    from ringstep.checks.wording import mend_offer  # wanted only where something is wrong

    offer = mend_offer(view.recipe, cause, step)
    help = offer.help
    if not help:
        taken = {
            n for s in snag.block.steps for i in s.new if i.name.role == role for n in i.indexes
        }
        free = next(n for n in range(1, len(taken) + 2) if n not in taken)
        help = (f"give it a name of its own, such as '{joined(role, free)}'",)
    elif cause and isinstance(cause.edit, DropStep) and first and _same(first, step):
        help = (f"{help[0]}, which repeats step {first.number}", *help[1:])
    labels = (Label(first.span, f"{joined(role, index)} is placed here already"),) if first else ()
    return Finding(
        RULE,
        item.span,
        f"step {step.number} places {names} a second time",
        labels=labels,
        help=help,
        mends=offer.mends,
    )


def _same(one: Step, other: Step) -> bool:
    """True where two steps place the same rings through the same list."""
    return [(str(i.name), i.count) for i in one.new] == [
        (str(i.name), i.count) for i in other.new
    ] and ([str(r) for r in one.through] == [str(r) for r in other.through])
