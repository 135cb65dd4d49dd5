"""A part whose hole is too small for the wire of a ring that goes through it.

Where a line of 'parts:' says how wide the hole is, as in 'bead  glass, 4 mm, hole 1 mm', every ring
that is linked with the part has a wire that goes through. How many go through one hole is not
known, for a part may have several.

Wrong:

    weave "Chain with a bead"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    parts:
      bead  glass, 4 mm, hole 1 mm
    expect:
      A meets 2
      tail meets 1 A, 1 bead
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 30 units
    finish:
      add tail through last A, bead picks 2

Right:

    weave "Chain with a bead"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    parts:
      bead  glass, 4 mm, hole 1.5 mm
    expect:
      A meets 2
      tail meets 1 A, 1 bead
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 30 units
    finish:
      add tail through last A, bead picks 2
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.measures import text_mm

RULE = Rule("hole-too-small", "error")


def check(view: View) -> Iterator[Finding]:
    """Parts whose hole is narrower than the thickest wire that goes through them."""
    weave = view.weave
    recipes = (view.recipe, *(sized.recipe for _, sized in view.in_sizes))
    for part in view.recipe.parts if view.steps_read and view.fits else ():
        size = weave.part_size(part.name.role)
        if part.hole is None or size is None or not size.hole:
            continue
        met = {
            (other.role, other.index): max(wires)
            for ring, others in weave.work.links.items()
            if ring.role == part.name.role
            for other in others
            if (
                wires := [
                    wire
                    for recipe in recipes
                    for kind in recipe.kinds_of(other.role, other.index)
                    if (wire := kind.mm[0])
                ]
            )
        }
        if not met or max(met.values()) <= size.hole:
            continue
        (role, _), wire = max(met.items(), key=lambda item: item[1])
        yield Finding(
            RULE,
            part.hole.span,
            f"the hole of '{part.name}' ({text_mm(size.hole)} mm) is too small for the wire of"
            f" {role} ({text_mm(wire)} mm)",
            help=(f"take a part with a hole wider than {text_mm(wire)} mm, or a thinner wire",),
        )
