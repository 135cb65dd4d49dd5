"""A step that opens a ring which stays closed.

Welded and rubber rings are never opened; 'stays closed' on their line under 'rings:' says so. They
are laid ready with 'close', and rings that open pick them up. One is taken out by opening what it
hangs on.

Wrong:

    weave "Steel and rubber in turns"
    rings:
      A    wire 1.2 mm, inside 6 mm, steel
      gum  wire 1.6 mm, inside 6 mm, rubber, stays closed
    expect:
      A meets 2 gum
      gum meets 2 A
    start:
      close gum
    unit:
      close A
      add gum through A picks 1
      reopen A through prev gum
    piece:
      chain 12 units

Right:

    weave "Steel and rubber in turns"
    rings:
      A    wire 1.2 mm, inside 6 mm, steel
      gum  wire 1.6 mm, inside 6 mm, rubber, stays closed
    expect:
      A meets 2 gum
      gum meets 2 A
    start:
      close gum
    unit:
      close gum
      add A through prev gum, gum picks 2
    piece:
      chain 12 units
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ringstep.checks.faults import Snagged
from ringstep.checks.view import View, with_typed
from ringstep.checks.wording import Offer
from ringstep.language.findings import Finding, Label, Mend, Rule, TextEdit, instead
from ringstep.language.syntax import RingKind, Step
from ringstep.language.words import listed
from ringstep.weave.phrases import ref_phrase

RULE = Rule("opens-closed-ring", "error")

_SAID = re.compile(r"\s*,\s*stays\s+closed", re.I)


def check(view: View) -> Iterator[Finding]:
    """Steps that open such rings, told once for each line of 'rings:'."""
    found: dict[int, tuple[RingKind, list[Snagged]]] = {}
    for fault, _ in view.diagnosis.voiced(Snagged):
        ring = fault.snag.ring
        if fault.snag.kind == "stays closed" and ring is not None:
            kind = view.recipe.kind_of(ring.role, ring.index)
            if kind is not None:
                found.setdefault(kind.span.line, (kind, []))[1].append(fault)
    for kind, faults in found.values():
        step, ring = faults[0].step, faults[0].snag.ring
        assert ring is not None
        name = view.weave.name(ring)
        more = sorted({str(f.step.number) for f in faults} - {str(step.number)}, key=int)
        also = f", and so {'does step' if len(more) == 1 else 'do steps'} {listed(more)}"
        told = f"step {step.number} opens {name}, which stays closed{also if more else ''}"
        offer = _offer(view, kind, faults, step)
        label = Label(kind.span, "this line says that it stays closed")
        yield Finding(RULE, step.span, told, labels=(label,), help=offer.help, mends=offer.mends)


def _offer(view: View, kind: RingKind, faults: list[Snagged], step: Step) -> Offer:
    """What to type: only what, tried, leaves no more than the other faults."""
    others = sum(f.weight > 0 for f in view.faults if f not in faults)
    mends = []
    for mend in _mends(view, kind, step):
        after = with_typed(view, mend.edits)
        if after and not after.troubles and sum(f.weight > 0 for f in after.faults) <= others:
            mends.append(mend)
    if len(mends) == 1:
        return Offer((f"to mend: {mends[0].says}",), tuple(mends))
    help = (f"{'or' if at else 'either'}: {m.says}" for at, m in enumerate(mends))
    return Offer(tuple(help), tuple(mends))


def _mends(view: View, kind: RingKind, step: Step) -> Iterator[Mend]:
    if step.kind == "add" and step.through and not step.lay:
        new = ", ".join(f"{i.count} {i.name}" if i.count else str(i.name) for i in step.new)
        names = ", ".join(str(i.name) for i in step.new)
        opened = [f"reopen {ref!s} through {names}" for ref in step.through]
        opened[0] += f" picks {sum(len(i.indexes) for i in step.new)}" if step.picks else ""
        margin = " " * (step.span.column - 1)
        lines = f"\n{margin}".join((f"close {new}", *opened))
        gone = ref_phrase(step.through[0]) if len(step.through) == 1 else "those rings"
        says = f"write 'close {new}' and open {gone} instead: '{opened[0]}'"
        yield Mend(says, (instead(step.span, lines),))
    line = view.recipe.source.lines[kind.span.line - 1]
    if said := _SAID.search(line, kind.span.column - 1, kind.span.end - 1):
        at = kind.span.line
        edit = TextEdit(at, said.start() + 1, at, said.end() + 1, "")
        yield Mend(f"take 'stays closed' off line {at}, if it opens after all", (edit,))
