"""The promised length of the repeat is not the real one.

'repeats every 2 units' says after how many units the whole piece comes round again: links, lays
and moves together. With lay alternating, the links of a weave may repeat every unit while the piece
repeats every two.

Wrong:

    weave "Spiral"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
      repeats every 2 units
    start:
      close A
    unit:
      add A through prev A, prev prev A if there lay front
    piece:
      chain 60 units

Right:

    weave "Spiral"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
      repeats every 1 unit
    start:
      close A
    unit:
      add A through prev A, prev prev A if there lay front
    piece:
      chain 60 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import plural
from ringstep.weave.piece import Weave
from ringstep.weave.repeats import period_of

RULE = Rule("repeat-length", "error")


def check(view: View) -> Iterator[Finding]:
    """Promised repeats against the real ones, variant by variant."""
    if view.diagnosis.faults or not view.steps_read or not view.recipe.blocks:
        return
    by_name = {m.variant.name: m for m in view.weaves if m.variant}
    for promise in view.recipe.periods:
        if promise.variant is None:
            weaves: list[Weave] = [view.weave]
        elif promise.variant in by_name:
            weaves = [by_name[promise.variant]]
        else:
            continue  # an unknown variant is told by 'unknown-name'
        for weave in weaves:
            real = period_of(weave)
            if real is None or real.piece == promise.units:
                continue
            who = f"variant '{weave.variant.name}'" if weave.variant else "the piece"
            help = [f"write 'repeats every {plural(real.piece, 'unit')}', or change the lays"]
            if real.links != real.piece:
                help.append(f"the links alone repeat every {plural(real.links, 'unit')}")
            yield Finding(
                RULE,
                promise.span,
                f"{who} is promised to repeat every {plural(promise.units, 'unit')} and repeats"
                f" every {plural(real.piece, 'unit')}",
                help=tuple(help),
            )
