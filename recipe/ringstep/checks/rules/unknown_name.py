"""A promise, variant or unit name that leads nowhere.

'expect:' speaks of roles that the steps place, 'variant' and 'repeats' of variants named in
'variants:', 'order' of named units and rows.

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
from dataclasses import replace

from ringstep.checks.faults import each_fault
from ringstep.checks.view import View, with_typed
from ringstep.language.findings import Finding, Mend, Rule, instead
from ringstep.language.promised import Lies, Meets
from ringstep.language.source import Span
from ringstep.language.syntax import Stated
from ringstep.language.words import listed, nearest
from ringstep.weave.phrases import word_span
from ringstep.weave.piece import is_for_all
from ringstep.weave.work import Ring, ring_name

RULE = Rule("unknown-name", "error")


def check(view: View) -> Iterator[Finding]:
    """Names outside the steps that nothing answers to."""
    recipe = view.recipe
    if not view.steps_read:
        return
    known = {**dict.fromkeys(recipe.elsewhere, ()), **view.weave.names}
    known |= {p.name.role: (1,) for p in recipe.parts}
    seen: dict[str, int] = {}
    for meets in recipe.promises:
        name = meets.name
        if name.role in view.forgotten or (isinstance(meets, Meets) and is_for_all(meets)):
            continue
        if name.role not in known or (
            name.index is not None and name.index not in known[name.role]
        ):
            message = f"{name} is promised neighbours, and no step places it"
            if name.role in known:
                have = [
                    ring_name(Ring(name.role, i, 0, 0), known[name.role]) for i in known[name.role]
                ]
                there = f"there {'is' if len(have) == 1 else 'are'} {listed(have)}"
                yield Finding(RULE, name.span, message, help=(there,))
            else:
                yield _unknown(view, name.span, message, name.role, "rings", list(known))
        for role in sorted(meets.roles):
            if role not in known and role not in view.forgotten:
                yield _unknown(
                    view,
                    word_span(recipe.source, meets.span, role),
                    f"the promise for {name} speaks of {role}, and no step places it",
                    role,
                    "rings",
                    list(known),
                )
        if isinstance(meets, Lies):
            continue
        if str(name) in seen:
            yield Finding(
                RULE,
                name.span,
                f"{name} is promised neighbours twice",
                f"first on line {seen[str(name)]}",
                help=("keep one of the two lines",),
            )
        seen.setdefault(str(name), meets.span.line)
    for name in (*(p.name for p in recipe.folded), *(p.name for p in recipe.coming_out)):
        if name.role not in {*known, *view.forgotten}:
            message = f"something is promised of {name}, and no step places it"
            yield _unknown(view, name.span, message, name.role, "rings", list(known))
    for span in recipe.ranges:
        if span.name is not None and span.name.role not in known:
            yield _unknown(
                view,
                span.name.span,
                f"the AR of {span.name} is given, and no step places it",
                span.name.role,
                "rings and variants" if recipe.variants else "rings",
                [*known, *(v.name for v in recipe.variants)],
            )
    variants = [v.name for v in recipe.variants]
    wanted = [
        (p.variant, word_span(recipe.source, p.span, p.variant))
        for p in recipe.periods
        if p.variant
    ]
    if recipe.piece and recipe.piece.variant:
        wanted.append((recipe.piece.variant.value, recipe.piece.variant.span))
    for variant, where in wanted:
        if variant not in variants and "variants" not in recipe.unread:
            yield _unknown(
                view, where, f"there is no variant '{variant}'", variant, "variants", variants
            )
    kind = "row" if view.weave.layout.flat else "unit"
    strands = recipe.piece.strands if recipe.piece else ()
    if strands and view.weave.layout.block("unit"):
        return  # it serves every strand that has no unit of its own name
    labels = [b.label for b in recipe.blocks if b.kind == kind and isinstance(b.label, str)]
    for stated in recipe.piece.order if recipe.piece else ():
        if stated.value not in labels and strands:
            yield _without_unit(view, stated, labels)
        elif stated.value not in labels:
            yield _unknown(
                view,
                stated.span,
                f"there is no section '{kind} {stated.value}:'",
                stated.value,
                f"named {kind}s",
                labels,
                none=f"head each {kind} by its name, such as '{kind} {stated.value}:', or write"
                f" '{recipe.piece.kind} 24 units'"
                if recipe.piece and recipe.piece.runs
                else "",
            )


def _without_unit(view: View, strand: Stated, labels: list[str]) -> Finding:
    """A strand that no unit is worked for."""
    name = strand.value
    message = f"strand {name} has no unit: there is no section 'unit {name}:'"
    told = _unknown(view, strand.span, message, name, "named units", labels)
    if told.mends:
        return told
    named = f"named units in this recipe: {listed(labels)}" if labels else ""
    help = f"head the steps of this strand 'unit {name}:', or those of all strands 'unit:'"
    return replace(told, help=(help, *([named] if named else [])))


def _unknown(
    view: View, span: Span, message: str, name: str, what: str, known: list[str], none: str = ""
) -> Finding:
    # wanted only where a name is unknown
    from ringstep.language.lookalikes import lookalike, meant

    none = f"there are no {what} in this recipe; {none or 'take the line out'}"
    others = f"{what} in this recipe: {listed(known)}" if known else none
    help = meant(name, known, "the one of this recipe") or others
    near = lookalike(name, known) or nearest(name, known)
    mends: tuple[Mend, ...] = ()
    if near:
        written = view.recipe.source.lines[span.line - 1][span.column - 1 : span.end - 1]
        text = written.replace(name, near, 1)
        mend = Mend(f"write '{text}'", (instead(span, text),))
        mends = (mend,) if name in written and _comes_right(view, mend) else ()
    return Finding(RULE, span, message, help=(help,), mends=mends)


def _comes_right(view: View, mend: Mend) -> bool:
    """True where the recipe with the mend typed in has no fault that it did not have before, and no
    name is promised twice."""
    if (after := with_typed(view, mend.edits)) is None:
        return False
    names = [str(p.name) for p in after.recipe.promises if not isinstance(p, Lies)]
    if len(after.troubles) > len(view.troubles) or len(set(names)) < len(names):
        return False
    before = {f.key for f in view.diagnosis.faults}
    return all(f.key in before for f in each_fault(after.weave))
