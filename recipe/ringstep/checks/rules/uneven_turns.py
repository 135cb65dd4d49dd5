"""A list of turns that is a plan of the piece and does not come out even with it.

'order a, b' goes round: the units are a, b, a, b, … to the end. A list with unequal runs, such as
twelve halves, a middle and twelve halves, is a plan of the whole piece, worked once. Where it has
more or fewer turns than the piece has places, one of the two is mistyped.

Wrong:

    weave "Chain with a large ring in its middle"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
      big  wire 2 mm, inside 9 mm, brass
    expect:
      A meets 1 A, 1 big or 2 A
      big meets 2 A
    start:
      close A
    unit plain:
      add A through prev A picks 1
    unit middle:
      add big through prev A picks 1
      add A through big picks 1
    piece:
      chain 8 units
      order plain, plain, middle, plain, plain

Right:

    weave "Chain with a large ring in its middle"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
      big  wire 2 mm, inside 9 mm, brass
    expect:
      A meets 1 A, 1 big or 2 A
      big meets 2 A
    start:
      close A
    unit plain:
      add A through prev A picks 1
    unit middle:
      add big through prev A picks 1
      add A through big picks 1
    piece:
      chain 5 units
      order plain, plain, middle, plain, plain
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import listed, plural

RULE = Rule("uneven-turns", "error")


def check(view: View) -> Iterator[Finding]:
    """A plan of turns against the places of the piece."""
    piece, layout = view.recipe.piece, view.weave.layout
    if piece is None or not piece.order or not view.fits or not layout.uneven:
        return
    turns, what = len(layout.uneven), "row" if layout.flat else "unit"
    own = [k for k in ("first row", "last row") if layout.flat and layout.block(k)]
    first = len(own)
    places = layout.rows - first if layout.flat else layout.units
    whole = piece.order[0].span.to(piece.order[-1].span)
    more = f" beside its {listed(own)}" if own else ""
    typed = f"{turns + first} rows of {piece.units} units" if layout.flat else f"{turns} units"
    yield Finding(
        RULE,
        whole,
        f"the order has {plural(turns, 'turn')}, and the piece has {plural(places, what)}{more}",
        help=(
            f"a list with unequal runs is worked once: write '{piece.kind} {typed}', or list"
            f" {plural(places, 'turn')}",
            f"or, if it is meant to go round, let the {what}s be a multiple of {turns}",
        ),
    )
