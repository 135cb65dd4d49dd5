"""A ring kind or part that is described and never used.

A forgotten step is silent where it placed a clasp or a held ring. The line of 'rings:' or
'parts:' that describes the thing is what gives it away.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    parts:
      clasp  brass, lobster claw
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
      all  wire 1.2 mm, inside 5 mm, copper
    parts:
      clasp  brass, lobster claw
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 30 units
    finish:
      add A through last A, clasp picks 2
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import NeverUsed
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import nearest

RULE = Rule("never-used", "error")


def check(view: View) -> Iterator[Finding]:
    """Lines of 'rings:', 'parts:' and 'variants:' that nothing refers to."""
    if not view.steps_read:
        return
    recipe, placed = view.recipe, view.weave.names
    for kind in recipe.rings:
        rest = kind.name.role.casefold() == "all" and kind.name.index is None
        if rest and placed and "all" not in placed and all(_own_line(view, r) for r in placed):
            yield Finding(
                RULE,
                kind.span,
                "the line 'all' describes no ring: every role has a line of its own",
                help=("take the line out",),
            )
    for fault, _ in view.diagnosis.voiced(NeverUsed):
        line = fault.line.span.line
        for kind in recipe.rings:
            if kind.span.line == line:
                near = nearest(kind.name.role, list(placed))
                help = [f"the nearest name in the steps is '{near}'"] if near else []
                help.append("add the step that is missing, or take the line out")
                message = f"no step places {kind.name}"
                yield Finding(RULE, kind.name.span, message, help=tuple(help))
        for part in recipe.parts:
            if part.span.line == line:
                yield Finding(
                    RULE,
                    part.name.span,
                    f"no step uses {part.name}",
                    help=(
                        "add the step that is missing, such as"
                        f" 'add A through last A, {part.name}',",
                        "or take the line out",
                    ),
                )
    if view.recipe.variants and not any(
        s.lay and s.lay.value == "varies" for s in view.recipe.every_step()
    ):
        yield Finding(
            RULE,
            view.recipe.variants[0].span,
            "there are variants, and no step leaves its lay to them",
            help=("write 'lay varies' in the step, or take 'variants:' out",),
        )


def _own_line(view: View, role: str) -> bool:
    return any(k.name.role == role and k.name.index is None for k in view.recipe.rings)
