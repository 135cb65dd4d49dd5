"""A lay that is not stated where it makes a difference.

When a new ring joins rings that already link one another, it can enter from the front or from the
back, and the links alone do not tell the two apart: the pieces are different. Such a step says
'lay front', 'lay back', or leaves it to a variant with 'lay varies'. Turning every lay over gives
the mirror image.

Wrong:

    weave "Spiral"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
    start:
      close A
    unit:
      add A through prev A, prev prev A if there
    piece:
      chain 60 units

Right:

    weave "Spiral"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
    start:
      close A
    unit:
      add A through prev A, prev prev A if there lay front
    piece:
      chain 60 units
"""

from __future__ import annotations

from collections.abc import Iterator

from recipe.findings import Finding, Rule
from recipe.phrases import list_span
from recipe.view import View
from recipe.words import listed, plural

RULE = Rule("lay-unstated", "error")


def how_many(choices: int) -> str:
    """2 to the power of the free choices, as a number one can read.

    >>> how_many(1), how_many(10), how_many(60)
    ('2', '1,024', '2 to the power of 60')
    """
    return f"{2**choices:,}" if choices <= 30 else f"2 to the power of {choices:,}"


def check(view: View) -> Iterator[Finding]:
    """Steps that owe a lay and do not state one."""
    if not view.steps_read or any(f.kind == "snag" for f in view.diagnosis.faults):
        return
    owing: dict[int, int] = {}
    acts = [*view.model.work.acts, *(view.model.repeat.acts if view.model.repeat else ())]
    for act in acts:
        if act.owes_lay:
            owing[act.step.number] = act.unit
    steps = {s.number: s for s in view.recipe.steps()}
    units, known = view.model.layout.units, view.model.layout.known
    blamed = {c.edit.step.number for c in view.diagnosis.causes}
    for number in sorted(owing.keys() - blamed):
        step = steps[number]
        if step.lay is not None and step.lay.value == "varies" and not view.recipe.variants:
            yield Finding(
                RULE,
                step.lay.span,
                f"step {number} leaves its lay to a variant, and there is none",
                help=(
                    "add a section that names them:",
                    "variants:",
                    "  zigzag  lay front, back",
                    "or write 'lay front' or 'lay back'",
                ),
            )
        if step.lay is not None:
            continue
        block = next(b for b in view.recipe.blocks if step in b.steps)
        among = listed(
            sorted(
                {
                    view.model.name(r)
                    for a in acts
                    if a.step is step
                    for r in a.through
                    if a.owes_lay
                }
            )
        )
        if block.kind in ("start", "finish") or isinstance(block.label, int):
            count = "two different pieces"
        elif known and not view.model.layout.flat:
            count = (
                f"2 pieces if every unit is laid alike, and {how_many(units)} over"
                f" {plural(units, 'unit')} if each is laid as it comes"
            )
        else:
            count = "2 pieces if every unit is laid alike, and twice as many for each free unit"
        yield Finding(
            RULE,
            list_span(step),
            f"step {number} does not say from which side the ring goes in; the recipe could mean"
            f" {count}",
            f"{among} already link one another",
            help=(
                "add 'lay front' or 'lay back' to the step",
                "or 'lay varies', with the choices named in a 'variants:' section",
            ),
        )
