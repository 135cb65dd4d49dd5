"""A size without its unit.

A bare gauge number is refused, since the same number is 6 to 29 % thicker in one system than in the
other (facts: ASTM B258 for AWG, the Order in Council of 1883 for SWG). Lengths are in mm, cm or in.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 18, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 30 units

Right:

    weave "Simple chain"
    rings:
      all  wire 18 swg, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.measures import awg_mm, swg_mm, text_mm

RULE = Rule("bare-number", "error")


def check(view: View) -> Iterator[Finding]:
    """Sizes that are numbers only."""
    piece = view.recipe.piece
    kinds = (*view.recipe.written, *(line.kind for line in view.recipe.sizes))
    sizes = [(k.wire, "wire") for k in kinds]
    sizes += [(k.inside, "inside") for k in kinds]
    sizes += [(size, "part") for part in view.recipe.parts for size in part.sizes]
    if piece:
        sizes += [(size, "length") for size in (*piece.lengths, *(s.size for s in piece.samples))]
    for size, what in sizes:
        if size is None or size.unit is not None:
            continue
        n = size.number
        if what == "wire" and n.denominator == 1 and 10 <= n <= 30:
            gauge = int(n)
            yield Finding(
                RULE,
                size.span,
                f"'wire {size.text}' does not say which gauge",
                help=(
                    f"write '{gauge} awg' ({text_mm(awg_mm(gauge))} mm) or '{gauge} swg'"
                    f" ({text_mm(swg_mm(gauge))} mm)",
                ),
            )
        else:
            unit = "mm" if what != "wire" else "mm', 'awg' or 'swg"
            yield Finding(
                RULE,
                size.span,
                f"the size {size.text} has no unit",
                help=(
                    f"write '{size.text} mm' or '{size.text} in'"
                    if what != "wire"
                    else f"write it with '{unit}'",
                ),
            )
