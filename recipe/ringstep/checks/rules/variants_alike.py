"""Two variants that lay every unit alike.

'lay front' and 'lay front, front' are the same piece under two names. One of the two was meant to
be another pattern.

Wrong:

    weave "Chain of linked pairs"
    rings:
      all  wire 1.2 mm, inside 5.4 mm, copper
    expect:
      A meets 5
    variants:
      front  lay front
      lively  lay front, front
    start:
      close A1
      add A2 through A1 picks 1
    unit:
      add A1 through prev A
      add A2 through prev A, A1 lay varies
    piece:
      chain 20 units

Right:

    weave "Chain of linked pairs"
    rings:
      all  wire 1.2 mm, inside 5.4 mm, copper
    expect:
      A meets 5
    variants:
      front  lay front
      lively  lay front, back
    start:
      close A1
      add A2 through A1 picks 1
    unit:
      add A1 through prev A
      add A2 through prev A, A1 lay varies
    piece:
      chain 20 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.tree import Variant

RULE = Rule("variants-alike", "warning")


def _shortest(variant: Variant) -> tuple[str, ...]:
    """The sides of a variant, once round."""
    sides = variant.sides
    for size in range(1, len(sides)):
        if len(sides) % size == 0 and sides[:size] * (len(sides) // size) == sides:
            return sides[:size]
    return sides


def check(view: View) -> Iterator[Finding]:
    """Variants with the sides of an earlier one."""
    first: dict[tuple[str, ...], Variant] = {}
    for variant in view.recipe.variants:
        twin = first.setdefault(_shortest(variant), variant)
        if twin is not variant and twin.name != variant.name:
            yield Finding(
                RULE,
                variant.span,
                f"the variants {twin.name} and {variant.name} give the same piece",
                labels=(Label(twin.span, "the same lays"),),
                help=("give one of them other lays, or take it out",),
            )
