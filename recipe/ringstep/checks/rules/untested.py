"""A promise that no ring of the piece is held to.

A ring is judged when the work ends: one of the repeating unit where all its neighbours stand on the
piece, one that only the start, the finish or a row end places as it is then. In a piece so short
that every ring of a name lacks a neighbour, the promise for it guards nothing.

Wrong:

    weave "Simple chain, tried out"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 1 unit

Right:

    weave "Simple chain, tried out"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 2 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule

RULE = Rule("promise-untested", "warning")

_INNER = ("unit", "row", "again", "extra place", "shared place")


def check(view: View) -> Iterator[Finding]:
    """Promises for rings that are placed, and of which none has all its neighbours."""
    recipe = view.recipe
    if view.diagnosis.faults or not view.steps_read or not view.fits or recipe.of:
        return  # what is joined is judged as joined
    piece, layout = recipe.piece, view.weave.layout
    if piece is None and not recipe.made:
        return
    if piece and (0 in (piece.rows, piece.units) or any(not s.units for s in piece.samples)):
        return  # how long the piece is, is told by 'piece-size' to be wrong
    if piece and piece.units not in (None, layout.units):
        return
    finished = {(ring.role, ring.index) for ring in view.weave.finished}
    for meets in view.recipe.meets:
        role, index = meets.name.role, meets.name.index
        placed = {**dict.fromkeys(view.recipe.part_roles, (1,)), **view.weave.names}
        if role not in placed or index not in (None, *placed[role]):
            continue  # told by 'unknown-name'
        if any(role == r and index in (None, i) for r, i in finished):
            continue
        inner = any(
            b.kind in _INNER and not (b.kind == "again" and b.label) and role in b.placed
            for b in recipe.every_block
        )
        out = not any(r.role == role and index in (None, r.index) for r in view.weave.work.links)
        yield Finding(
            RULE,
            meets.span,
            f"no ring is held to this promise: no {meets.name} of this piece"
            f" {'is in it when the work ends' if out else 'has all its neighbours'}",
            help=(_mend(inner, out),),
        )


def _mend(inner: bool, out: bool) -> str:
    if out:
        return "all of them are taken out again; state 'picks' in the steps that link them instead"
    if inner:
        return "the piece is too short for one; make it longer"
    return "give those at the ends a name of their own, and promise what they meet"
