"""A promise, variant or unit name that leads nowhere.

'expect:' speaks of roles that the steps place, 'variant' and 'repeats' of variants named in
'variants:', 'order' of named unit blocks.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
      B meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 30 units

Right:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
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

from recipe.findings import Finding, Rule
from recipe.source import Span
from recipe.view import View
from recipe.words import listed, nearest

RULE = Rule("unknown-name", "error")


def check(view: View) -> Iterator[Finding]:
    """Names outside the steps that nothing answers to."""
    recipe = view.recipe
    if not view.steps_read:
        return
    known = {**view.roles, **{p.name.role: (1,) for p in recipe.parts}}
    seen: dict[str, int] = {}
    for meets in recipe.meets:
        name = meets.name
        if name.role not in known or (
            name.index is not None and name.index not in known[name.role]
        ):
            yield _unknown(
                name.span,
                f"{name} is promised neighbours, and no step places it",
                name.role,
                list(known),
            )
        for role, _ in meets.by_role or ():
            if role not in known:
                yield _unknown(
                    meets.span,
                    f"the promise for {name} speaks of {role}, and no step places it",
                    role,
                    list(known),
                )
        if str(name) in seen:
            yield Finding(
                RULE,
                name.span,
                f"{name} is promised neighbours twice",
                f"first on line {seen[str(name)]}",
                help=("keep one of the two lines",),
            )
        seen.setdefault(str(name), meets.span.line)
    for span in recipe.ranges:
        if span.name is not None and span.name.role not in known:
            yield _unknown(
                span.span,
                f"the AR of {span.name} is given, and no step places it",
                span.name.role,
                list(known),
            )
    variants = [v.name for v in recipe.variants]
    wanted = [(p.variant, p.span) for p in recipe.periods if p.variant]
    if recipe.piece and recipe.piece.variant:
        wanted.append((recipe.piece.variant.value, recipe.piece.variant.span))
    for name_, span_ in wanted:
        if name_ not in variants:
            yield _unknown(span_, f"there is no variant '{name_}'", name_ or "", variants)
    labels = [str(b.label) for b in recipe.blocks if b.kind == "unit" and isinstance(b.label, str)]
    for stated in recipe.piece.order if recipe.piece else ():
        if stated.value not in labels:
            yield _unknown(
                stated.span, f"there is no unit block '{stated.value}'", stated.value, labels
            )


def _unknown(span: Span, message: str, name: str, known: list[str]) -> Finding:
    near = nearest(name, known)
    help = (
        f"the nearest name is '{near}'" if near else f"names there are: {listed(known) or 'none'}"
    )
    return Finding(RULE, span, message, help=(help,))
