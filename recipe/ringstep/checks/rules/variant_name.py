"""A variant called after one side that lays to the other.

A variant named 'back' whose every lay is 'front' will be picked for what it is called. Either its
name or its lays are the slip.

Wrong:

    weave "Chain of linked pairs"
    rings:
      all  wire 1.2 mm, inside 5.4 mm, copper
    expect:
      A meets 5
    variants:
      front  lay back
      lively  lay front, back
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
from ringstep.language.findings import Finding, Rule

RULE = Rule("variant-misnamed", "warning")
_OTHER = {"front": "back", "back": "front"}


def check(view: View) -> Iterator[Finding]:
    """Variants 'front' and 'back' that only lay to the other side."""
    for variant in view.recipe.variants:
        other = _OTHER.get(variant.name.casefold())
        if other and set(variant.sides) == {other}:
            yield Finding(
                RULE,
                variant.span,
                f"the variant is called {variant.name}, and lays every ring {other}",
                help=(f"write 'lay {variant.name.casefold()}', or give it another name",),
            )
