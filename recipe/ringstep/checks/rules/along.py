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

from ringstep.checks.view import View, with_typed
from ringstep.language.findings import Finding, Label, Mend, Rule, instead
from ringstep.language.syntax import Along, RingKind
from ringstep.language.words import listed, plural

RULE = Rule("sizes-along", "error")


#: A finding, and what may be typed for which stretch.
_Told = tuple[Finding, tuple[tuple[Along, Along], ...]]


def check(view: View) -> Iterator[Finding]:
    """The stretches of each name against one another and against the piece."""
    told = list(_all(view))
    for found, changes in told:
        mends = []
        for was, meant in changes:
            edits = (instead(was.span, str(meant)),)
            after = with_typed(view, edits)
            if after and len(list(_all(after))) < len(told):
                mends.append(Mend(f"write '{meant}' for '{was}'", edits))
        yield replace(found, mends=tuple(mends))


def _all(view: View) -> Iterator[_Told]:
    recipe, layout = view.recipe, view.weave.layout
    if {"rings", "piece", "sizes"} & recipe.unread or not view.fits:
        return
    sets = [recipe.rings, *(weave.recipe.rings for _, weave in view.in_sizes)]
    told: set[int] = set()
    for rings in sets:
        for name in dict.fromkeys(str(k.name) for k in rings if k.along):
            lines = [k for k in rings if str(k.name) == name]
            stretched = sorted((k for k in lines if k.along), key=_first)
            if any(id(k.along) in told for k in stretched):
                continue
            told.update(id(k.along) for k in stretched)
            yield from _of_name(view, name, stretched, any(k.along is None for k in lines))
    graded = any(k.along for k in recipe.rings)
    for sample in recipe.piece.samples if graded and recipe.piece else ():
        if sample.units != layout.units:
            whole = f"'sample {plural(layout.units, 'unit')} = … mm'"
            help = "take it out: 'ringstep fit' computes the length of each stretch;"
            yield (
                Finding(
                    RULE,
                    sample.size.span,
                    "this sample does not say which sizes it measures",
                    help=(help, f"or measure the whole piece: {whole}"),
                ),
                (),
            )


def _first(kind: RingKind) -> int:
    return kind.along.first if kind.along else 0


def _of_name(view: View, name: str, lines: list[RingKind], rest: bool) -> Iterator[_Told]:
    """The stretches of one name. rest: whether a line without one takes what they leave."""
    layout, recipe = view.weave.layout, view.recipe
    flat = layout.flat
    word, places = ("row", layout.rows) if flat else ("unit", layout.units)
    wrong = next((k.along for k in lines if k.along and k.along.rows != flat), None)
    if wrong:
        meant = replace(wrong, rows=flat)
        made = recipe.piece.kind if recipe.piece else "chain"
        message = f"the places of a {made} along which sizes change are its {word}s"
        yield Finding(RULE, wrong.span, message, help=(f"write '{meant}'",)), ((wrong, meant),)
        return
    first = lines[0]
    if layout.strands:
        where = first.along.span if first.along else first.span
        message = f"the units of {listed(tuple(layout.strands.spans))} are counted strand by strand"
        help = f"give the {name} of each strand a name of its own, and that one size"
        yield Finding(RULE, where, message, help=(help,)), ()
        return
    if not layout.known:
        yield (
            Finding(
                RULE,
                first.span,
                f"the sizes of {name} are given unit by unit, and the piece by its length",
                help=("write how many units it has: 'chain 24 units'",),
            ),
            (),
        )
        return
    closed = [k for k in lines if k.stays_closed]
    if closed and len(closed) < len(lines):
        yield (
            Finding(
                RULE,
                closed[0].span,
                f"{name} stays closed in one stretch and not in another",
                help=("write 'stays closed' in every line of it, or name those rings otherwise",),
            ),
            (),
        )
    colours = view.weave.colours
    drawn = [(r, i) for r in colours.roles for i in view.weave.names[r]] if colours else []
    if any(kind in recipe.kinds_of(*ring) for ring in drawn for kind in lines):
        yield (
            Finding(
                RULE,
                first.span,
                f"the picture says which {name} stands where, and so does this line",
                help=(f"give {name} one size, or name other rings in 'picture of …:'",),
            ),
            (),
        )
        return
    before: RingKind | None = None
    reached = 0
    for kind in lines:
        at = kind.along
        assert at is not None
        if at.first > places:
            yield (
                Finding(
                    RULE,
                    at.span,
                    f"{at} {'lies' if at.first == at.last else 'lie'} beyond the piece, which has"
                    f" {plural(places, word)}",
                    help=(f"take the line out, or make the piece longer: up to {word} {at.last}",),
                ),
                (),
            )
            return
        if before is not None and before.along and at.first <= reached:
            yield _overlap(kind, at, before, reached)
        elif at.first > reached + 1 and not rest:
            gap = Along(reached + 1, at.first - 1, flat, at.span)
            yield _left_out(name, kind, gap, before)
        if at.last > places:
            meant = replace(at, last=places)
            message = f"{at} go beyond the piece, which has {plural(places, word)}"
            yield Finding(RULE, at.span, message, help=(f"write '{meant}'",)), ((at, meant),)
            return
        if at.last > reached:
            reached, before = at.last, kind
    if reached < places and not rest:
        gap = Along(reached + 1, places, flat, first.span)
        yield _left_out(name, lines[-1], gap, before)


def _overlap(kind: RingKind, at: Along, before: RingKind, reached: int) -> _Told:
    word, later = "row" if at.rows else "unit", at.last > reached
    meant = replace(at, first=reached + 1) if later else at
    assert before.along is not None
    found = Finding(
        RULE,
        at.span,
        f"{word} {at.first} of {kind.name} has two sizes",
        labels=(Label(before.along.span, f"this line has it up to {word} {reached}"),),
        help=(f"write '{meant}'" if later else "take this line out",),
    )
    return found, ((at, meant),) if later else ()


def _left_out(name: str, kind: RingKind, gap: Along, before: RingKind | None) -> _Told:
    """Places of a name that no line is for: the line before or the one behind may go on to them."""
    at = kind.along
    assert at is not None
    told = []
    if before and before.along:
        told.append((before.along, replace(before.along, last=gap.last)))
    if gap.last < at.first:
        told.append((at, replace(at, first=gap.first)))
    help = " or ".join(f"'{meant}' for '{was}'" for was, meant in told)
    found = Finding(
        RULE,
        at.span,
        f"no line gives the size of {name} in {gap}",
        help=(f"write {help},", f"or add a line '{name} {gap}  wire … mm, inside … mm'"),
    )
    return found, tuple(told)
