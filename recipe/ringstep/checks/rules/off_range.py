"""A size, of a set or of a stretch of the piece, outside the AR that is promised.

'ringstep sizes' holds the rings of a recipe against its 'AR' promises. Sizes that are named in
sets, or that change along the piece, are all meant to be made, so each of them keeps the promise.

Wrong:

    weave "Linked chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    sizes:
      small  all  wire 1 mm, inside 3.2 mm
    expect:
      A meets 2
      AR 3.5 to 5, common practice no source
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 16 units

Right:

    weave "Linked chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    sizes:
      small  all  wire 0.8 mm, inside 3.2 mm
    expect:
      A meets 2
      AR 3.5 to 5, common practice no source
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 16 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.measures import text_mm
from ringstep.language.syntax import RingKind
from ringstep.language.tree import Tree
from ringstep.weave.working_range import range_for, ratio, ratio_text

RULE = Rule("size-off-range", "error")


def check(view: View) -> Iterator[Finding]:
    """Every size of a set, and every one of several along the piece, against its promise."""
    recipe = view.recipe
    if not recipe.ranges or {"expect", "rings", "sizes"} & recipe.unread:
        return
    told: set[int] = set()
    graded = any(kind.along for kind in recipe.rings)
    pieces = [("", recipe)] if graded else []
    pieces += [(name, weave.recipe) for name, weave in view.in_sizes]
    for size, piece in pieces:
        for role, indexes in view.weave.names.items():
            for index in indexes if role not in recipe.part_roles else ():
                for kind in piece.kinds_of(role, index):
                    if (size or kind.along) and id(kind.wire) not in told:
                        found = _judged(view, piece, kind, (role, index), size)
                        told.update(id(kind.wire) for _ in found)
                        yield from found


def _judged(
    view: View, piece: Tree, kind: RingKind, ring: tuple[str, int], size: str
) -> list[Finding]:
    """One line held against the range of a ring that it is for."""
    span = range_for(piece, view.chosen.name if view.chosen else None, *ring)
    wire, inside = kind.mm
    if span is None or not wire or not inside or inside <= wire or kind.wire is None:
        return []
    value = ratio(wire, inside)
    verdict = span.verdict(value)
    if verdict == "fits":
        return []
    low_text, high = ratio_text(span.low, span.places), span.high
    to = f" to {ratio_text(high, span.places)}" if high is not None else " or more"
    least = f"{text_mm(float(span.low) * wire)} mm"
    between = f"{least} to {text_mm(float(high) * wire)} mm" if high else f"{least} or more"
    what = f"of the set '{size}'" if size else f"in {kind.along}"
    promised = next(r for r in view.recipe.ranges if (r.low, r.high) == (span.low, high))
    return [
        Finding(
            RULE,
            kind.wire.span.to(kind.inside.span) if kind.inside else kind.span,
            f"{_whose(kind, ring)} {what} is {verdict}: AR {ratio_text(value, span.places)}, and"
            f" {low_text}{to} is promised",
            labels=(Label(promised.span, "promised here"),),
            help=(f"for wire of {text_mm(wire)} mm take an inside of {between}",),
        )
    ]


def _whose(kind: RingKind, ring: tuple[str, int]) -> str:
    return ring[0] if kind.name.role.casefold() == "all" else str(kind.name)
