"""A picture that does not say whose rings it colours, or names rings that no row places.

Where every row places one ring a place, the picture is of these. Where a row places more, flat
rings and the upright ones that join them, only the maker knows which of them are meant:
'picture of flat:'.

Wrong:

    weave "Japanese 4-in-1 sheet"
    rings:
      all  wire 1.2 mm, inside 5.2 mm, aluminium
    expect:
      flat meets 4
      across meets 2
      down meets 2
    row:
      close flat
      add across through prev flat then flat picks 2 skip at edge
      add down through above flat then flat picks 2 skip at edge
    piece:
      sheet 3 rows of 4 units
    picture:
      g = grey
      r = red
      gggg
      grrg
      gggg

Right:

    weave "Japanese 4-in-1 sheet"
    rings:
      all  wire 1.2 mm, inside 5.2 mm, aluminium
    expect:
      flat meets 4
      across meets 2
      down meets 2
    row:
      close flat
      add across through prev flat then flat picks 2 skip at edge
      add down through above flat then flat picks 2 skip at edge
    piece:
      sheet 3 rows of 4 units
    picture of flat:
      g = grey
      r = red
      gggg
      grrg
      gggg
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import listed, or_nearest
from ringstep.weave.picture import ALONG, pictured_roles

RULE = Rule("picture-rings", "error")


def check(view: View) -> Iterator[Finding]:
    """The rings that the picture is of against those that the rows place."""
    recipe = view.recipe
    if recipe.picture is None or not view.steps_read or not view.weave.layout.flat:
        return
    placed = list(dict.fromkeys(r for b in recipe.blocks if b.kind in ALONG for r in b.placed))
    if placed and not pictured_roles(recipe):
        yield Finding(
            RULE,
            recipe.picture.span,
            f"nothing says whose rings the picture colours: a row places {listed(placed)}",
            help=(f"say it in the heading, such as 'picture of {placed[0]}:'",),
        )
    for role in recipe.picture.roles:
        if role.value not in placed:
            yield Finding(
                RULE,
                role.span,
                f"no row places a ring {role.value}"
                f"{or_nearest(role.value, placed, f'the rows place {listed(placed)}')}",
                help=("name rings that are placed in 'row:' or 'first row:'",),
            )
