"""A ring whose size cannot be, or is not given.

A ring has a wire and an inside diameter, as in 'wire 1.2 mm, inside 5 mm', both above zero, and
the wire is thinner than the opening is wide. Every ring placed has a line in 'rings:', its own or
that of 'all'.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 5 mm, inside 1.2 mm, copper
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

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.measures import text_mm, to_mm
from ringstep.language.syntax import NewItem, Size, joined
from ringstep.language.words import listed, plural

RULE = Rule("ring-size", "error")


def _size_trouble(size: Size) -> Finding | None:
    if size.unit is None:
        return None  # told by 'bare-number'
    if size.number <= 0:
        return Finding(
            RULE,
            size.span,
            f"a size of {size.text} cannot be",
            help=("write the size in mm, above zero",),
        )
    try:
        to_mm(size.number, size.unit)
    except ValueError as fault:
        what, _, mend = str(fault).partition("; ")
        message = what if what.startswith("'") else f"'{size.text}' cannot be: {what}"
        return Finding(RULE, size.span, message, help=(mend,))
    return None


def check(view: View) -> Iterator[Finding]:
    """Sizes that cannot be, and rings without a size."""
    piece = view.recipe.piece
    loose = [*piece.lengths, *(s.size for s in piece.samples)] if piece else []
    loose += [size for part in view.recipe.parts for size in part.sizes]
    sized = [kind for kind in view.recipe.written if kind.wire or kind.inside]
    unsized = [kind for kind in view.recipe.rings if not (kind.wire or kind.inside)]
    sets = [line.kind for line in view.recipe.sizes]
    kinds = (*sized, *unsized, *sets)
    for size in (*(s for k in kinds for s in (k.wire, k.inside)), *loose):
        if size is not None and (found := _size_trouble(size)):
            yield found
    for kind in kinds:
        missing = [w for w, s in (("wire", kind.wire), ("inside", kind.inside)) if s is None]
        if missing:
            like = "small  all  wire 0.8 mm, inside 4.3 mm"
            if kind not in sets:
                like = "core  wire 1.2 mm, inside 5 mm, copper"
            yield Finding(
                RULE,
                kind.span,
                f"the line of '{kind.name}' gives no {' and no '.join(missing)} size",
                help=(f"write it like: {like}",),
            )
        wire, inside = kind.mm
        if wire and inside and wire > 0 and 0 < inside <= wire and kind.inside:
            yield Finding(
                RULE,
                kind.inside.span,
                f"the opening of '{kind.name}' ({text_mm(inside)} mm) is no wider than its wire"
                f" ({text_mm(wire)} mm)",
                help=("'inside' is the inside diameter; wire and inside may have changed places",),
            )
    for part in view.recipe.parts:
        hole, across = (size.mm if size else None for size in (part.hole, part.width))
        if hole and across and 0 < across <= hole and part.hole:
            yield Finding(
                RULE,
                part.hole.span,
                f"the hole of '{part.name}' ({text_mm(hole)} mm) is no narrower than the part"
                f" ({text_mm(across)} mm)",
                help=("the size of the part stands first: 'bead  glass, 4 mm, hole 1 mm'",),
            )
    parts = view.recipe.part_roles
    told: set[str] = set()
    if "rings" in view.recipe.headings and "rings" not in view.recipe.unread:
        for block in view.recipe.blocks:
            for step in block.steps:
                for item in step.new:
                    role = item.name.role
                    bare = [i for i in item.indexes if view.weave.kind_of(role, i) is None]
                    if role in parts or role in told or not bare:
                        continue
                    told.add(role)
                    yield _unsized(view, item, bare)


def _unsized(view: View, item: NewItem, bare: list[int]) -> Finding:
    """Rings of a step that no line of `rings:` gives a size; told once for each role."""
    role = item.name.role
    have = view.weave.names[role]
    some = any(view.weave.kind_of(role, i) for i in have)
    named = [joined(role, i) for i in bare[:3]] if some else [role]
    more = f" and {plural(len(bare) - 3, 'more ring')}" if some and len(bare) > 3 else ""
    line = f"add '{named[0]}  wire … mm, inside … mm, copper'"
    for_all = f"'{role}', for all that have none" if some else "'all'"
    return Finding(
        RULE,
        item.span,
        f"no line of 'rings:' gives the size of {listed(named)}{more}",
        help=(f"{line}, or a line for {for_all}",),
    )
