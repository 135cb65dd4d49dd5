"""A sample that rings of these sizes cannot come to.

Units are at most as long as all their rings laid end to end, and at least half a wire each. A
sample outside that has its unit of size or a digit wrong, and every length that is worked out with
it is wrong as well.

Wrong:

    weave "Doubled chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit:
      add 2 A through prev A picks 2
    piece:
      chain 190 mm
      sample 10 units = 52 cm

Right:

    weave "Doubled chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit:
      add 2 A through prev A picks 2
    piece:
      chain 190 mm
      sample 10 units = 52 mm
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.summary import sampled_blocks
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.measures import text_mm
from ringstep.language.syntax import Block
from ringstep.language.words import plural
from ringstep.weave.layout import refs_of

RULE = Rule("sample-unlikely", "warning")


def check(view: View) -> Iterator[Finding]:
    """Samples shorter or longer than their rings can be."""
    piece = view.recipe.piece
    for sample in piece.samples if piece else ():
        mm, units = sample.size.mm, sample.units
        label = sample.label.value if sample.label else ""
        bounds = [_bounds(view, b) for b in sampled_blocks(view, label)]
        known = [b for b in bounds if b]
        if not mm or not units or not known or len(known) < len(bounds):
            continue
        least, most = units * min(b[0] for b in known), units * max(b[1] for b in known)
        what = f"{units} {label}" if label else plural(units, "unit")
        why = ""
        if mm > most:
            why = f"their rings end to end come to {text_mm(round(most, 1))} mm"
        elif mm < least:
            why = f"that is {text_mm(round(mm / units, 2))} mm a unit, less than half a wire"
        if why:
            yield Finding(
                RULE,
                sample.size.span,
                f"{what} of these rings cannot measure {sample.size.text}: {why}",
                help=("mend the number or its unit of size, or measure again",),
            )


def _bounds(view: View, block: Block) -> tuple[float, float] | None:
    """The least and the greatest length of a unit in mm; None where a size is not known."""
    recipe, again = view.recipe, view.weave.layout.block("again")
    steps = (*block.steps, *(again.steps if again else ()))
    if any(r.name.role in recipe.part_roles for s in steps for r in refs_of(s)):
        return None  # a part has no wire, and may be long
    wires, outer = [], 0.0
    for role, index in (ring for step in steps for ring in step.placed):
        sizes = [kind.mm for kind in recipe.kinds_of(role, index)]
        across = [inside + 2 * wire for wire, inside in sizes if wire and inside]
        if not across or len(across) < len(sizes):
            return None
        wires += [wire for wire, _ in sizes if wire]
        outer += max(across)
    return (min(wires) / 2, outer) if wires else None
