"""Two names that look the same on paper and are not.

The Latin 'A', the Greek 'Α' and the Cyrillic 'А' are three letters of one look, and so are 'I', 'l'
and the figure 1 in many prints. Each makes a ring of its own, and no reader of the step list can
tell which is meant.

Wrong:

    weave "Shaggy chain"
    rings:
      all  wire 1.2 mm, inside 6 mm, copper
    expect:
      I meets 2 I, 2 l
      l meets 1 I
    start:
      close I
    unit:
      add I through prev I
      add 2 l through I
    piece:
      chain 30 units

Right:

    weave "Shaggy chain"
    rings:
      all  wire 1.2 mm, inside 6 mm, copper
    expect:
      I meets 2 I, 2 tuft
      tuft meets 1 I
    start:
      close I
    unit:
      add I through prev I
      add 2 tuft through I
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.lookalikes import look, told_apart
from ringstep.language.syntax import Name

RULE = Rule("names-look-alike", "warning")


def check(view: View) -> Iterator[Finding]:
    """Names of rings and parts, described or placed, of which two have one look."""
    recipe = view.recipe
    names = [k.name for k in recipe.rings] + [p.name for p in recipe.parts]
    names += [i.name for b in recipe.blocks for s in b.steps for i in s.new]
    first: dict[str, Name] = {}
    for name in sorted(names, key=lambda n: n.span.line):
        first.setdefault(name.role, name)
    looks: dict[str, str] = {}
    for role, name in first.items():
        other = first[looks.setdefault(look(role), role)]
        if other is name:
            continue
        yield Finding(
            RULE,
            name.span,
            f"the names '{other.role}' and '{role}' look the same, but they are two",
            labels=(Label(other.span, f"'{other.role}' stands here first"),),
            help=(
                told_apart(role, other.role, "the other"),
                "if they are meant to be one ring, type one of the two again; else rename one",
            ),
        )
