"""Sizes along the piece that leave places out, overlap, or go beyond it.

Where the size of a ring changes along the piece, every unit of a chain (or row of a sheet) in which
it is placed has one size: by a line with 'units 1 to 8', or by one without, for all other places.

Wrong:

    weave "Graduated chain"
    rings:
      A units 1 to 8    wire 1 mm, inside 4 mm, copper
      A units 10 to 16  wire 1 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 16 units

Right:

    weave "Graduated chain"
    rings:
      A units 1 to 8   wire 1 mm, inside 4 mm, copper
      A units 9 to 16  wire 1 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
    piece:
      chain 16 units
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.syntax import Along, RingKind
from ringstep.language.words import plural

RULE = Rule("sizes-along", "error")


def check(view: View) -> Iterator[Finding]:
    """The stretches of each name against one another and against the piece."""
    recipe, layout = view.recipe, view.weave.layout
    if {"rings", "piece", "sizes"} & recipe.unread or not view.fits:
        return
    sets = [recipe.rings, *(weave.recipe.rings for _, weave in view.in_sizes)]
    told: set[int] = set()
    for rings in sets:
        names = dict.fromkeys(str(k.name) for k in rings if k.along)
        for name in names:
            lines = [k for k in rings if str(k.name) == name]
            stretched = sorted((k for k in lines if k.along), key=lambda k: k.along.first)  # type: ignore[union-attr]
            if any(id(k.along) in told for k in stretched):
                continue
            told.update(id(k.along) for k in stretched)
            yield from _of_name(view, name, stretched, any(k.along is None for k in lines))
    graded = next((k for k in recipe.rings if k.along), None)
    if graded and recipe.piece:
        for sample in recipe.piece.samples:
            if sample.units != layout.units:
                yield Finding(
                    RULE,
                    sample.size.span,
                    "this sample does not say which sizes it measures",
                    help=(
                        "take it out: 'ringstep fit' computes the length of each stretch;"
                        " or measure the whole piece:"
                        f" 'sample {plural(layout.units, 'unit')} = … mm'",
                    ),
                )


def _of_name(view: View, name: str, lines: list[RingKind], rest: bool) -> Iterator[Finding]:
    """The stretches of one name. rest: whether a line without one takes what they leave."""
    layout, recipe = view.weave.layout, view.recipe
    flat = layout.flat
    word, places = ("row", layout.rows) if flat else ("unit", layout.units)
    wrong = next((k.along for k in lines if k.along and k.along.rows != flat), None)
    if wrong:
        meant = replace(wrong, rows=flat)
        made = recipe.piece.kind if recipe.piece else "chain"
        message = f"the places of a {made} along which sizes change are its {word}s"
        yield Finding(RULE, wrong.span, message, help=(f"write '{meant}'",))
        return
    first = lines[0]
    if not layout.known:
        yield Finding(
            RULE,
            first.span,
            f"the sizes of {name} are given unit by unit, and the piece by its length",
            help=("write how many units it has: 'chain 24 units'",),
        )
        return
    closed = [k for k in lines if k.stays_closed]
    if closed and len(closed) < len(lines):
        yield Finding(
            RULE,
            closed[0].span,
            f"{name} stays closed in one stretch and not in another",
            help=("write 'stays closed' in every line of it, or name those rings otherwise",),
        )
    colours = view.weave.colours
    if colours and name in colours.roles:
        yield Finding(
            RULE,
            first.span,
            f"the picture says which {name} stands where, and so does this line",
            help=(f"give {name} one size, or name other rings in 'picture of …:'",),
        )
        return
    before: RingKind | None = None
    reached = 0
    for kind in lines:
        at = kind.along
        assert at is not None
        if at.first > places:
            yield Finding(
                RULE,
                at.span,
                f"{at} lie beyond the piece, which has {plural(places, word)}",
                help=(f"take the line out, or make the piece longer: up to {word} {at.last}",),
            )
            return
        if before is not None and before.along and at.first <= reached:
            yield _overlap(kind, at, before, reached)
        elif at.first > reached + 1 and not rest:
            yield _left_out(name, kind, Along(reached + 1, at.first - 1, flat, at.span), before)
        if at.last > places:
            help = f"write '{replace(at, last=places)}'"
            message = f"{at} go beyond the piece, which has {plural(places, word)}"
            yield Finding(RULE, at.span, message, help=(help,))
            return
        if at.last > reached:
            reached, before = at.last, kind
    if reached < places and not rest:
        yield _left_out(name, lines[-1], Along(reached + 1, places, flat, first.span), before)


def _overlap(kind: RingKind, at: Along, before: RingKind, reached: int) -> Finding:
    word = "row" if at.rows else "unit"
    help = (
        f"write '{replace(at, first=reached + 1)}'" if at.last > reached else "take this line out"
    )
    assert before.along is not None
    return Finding(
        RULE,
        at.span,
        f"{word} {at.first} of {kind.name} has two sizes",
        labels=(Label(before.along.span, f"this line has it up to {word} {reached}"),),
        help=(help,),
    )


def _left_out(name: str, kind: RingKind, gap: Along, before: RingKind | None) -> Finding:
    at = kind.along
    assert at is not None
    longer = (
        Along(before.along.first, gap.last, gap.rows, gap.span) if before and before.along else None
    )
    earlier = replace(at, first=gap.first)
    help = [f"write '{longer}' in the line before" if longer and gap.last < at.first else ""]
    help += [f"write '{longer}'" if longer and gap.first > at.last else f"or '{earlier}' here"]
    if not longer:
        help = [f"write '{earlier}'"]
    return Finding(
        RULE,
        at.span,
        f"no line gives the size of {name} in {gap}",
        help=(*(h for h in help if h), f"or add a line '{name} {gap}  wire … mm, inside … mm'"),
    )
