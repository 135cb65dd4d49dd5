"""A set of sizes that lacks a ring, or gives one twice.

Every set of 'sizes:' gives each ring a size: those with a line of their own under 'rings:' with
sizes, and those that any other set names. 'all' stands for the rest, as under 'rings:'.

Wrong:

    weave "Spiral of two wires"
    rings:
      A  wire 1.2 mm, inside 6 mm, copper
      B  wire 1 mm, inside 5 mm, brass
    sizes:
      small  A  wire 0.8 mm, inside 4 mm
      large  A  wire 1.6 mm, inside 8 mm
      large  B  wire 1.2 mm, inside 6 mm
    expect:
      A meets 2 B
      B meets 2 A
    start:
      close A
    unit:
      add B through prev A
      add A through B
    piece:
      chain 16 units

Right:

    weave "Spiral of two wires"
    rings:
      A  wire 1.2 mm, inside 6 mm, copper
      B  wire 1 mm, inside 5 mm, brass
    sizes:
      small  A  wire 0.8 mm, inside 4 mm
      small  B  wire 0.7 mm, inside 3.5 mm
      large  A  wire 1.6 mm, inside 8 mm
      large  B  wire 1.2 mm, inside 6 mm
    expect:
      A meets 2 B
      B meets 2 A
    start:
      close A
    unit:
      add B through prev A
      add A through B
    piece:
      chain 16 units
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ringstep.checks.view import View, with_typed
from ringstep.language.findings import Finding, Label, Mend, Rule, instead
from ringstep.language.size_sets import sized_names, spoken
from ringstep.language.source import Span
from ringstep.language.syntax import joined
from ringstep.language.words import listed, nearest

RULE = Rule("size-set", "error")


def check(view: View) -> Iterator[Finding]:
    """The sets of sizes, each against the names that have sizes."""
    recipe = view.recipe
    if "sizes" not in recipe.headings or {"sizes", "rings"} & recipe.unread:
        return
    if not recipe.sizes:
        yield Finding(
            RULE,
            recipe.source.heading_span("sizes"),
            "the section 'sizes:' is empty",
            help=("write a line for each set, as in 'small  all  wire 0.8 mm, inside 4.3 mm'",),
        )
        return
    yield from _lines(view)
    names = sized_names(recipe)
    if view.steps_read and all(_named(names, r, i) for r, n in view.weave.names.items() for i in n):
        names.pop("all", None)  # every ring has a line of its own
    have: dict[str, dict[str, Span]] = {}
    for line in recipe.sizes:
        have.setdefault(line.size, {}).setdefault(spoken(line.kind.name), line.span)
    split = {size: near for size in have if (near := _misspelt(size, have))}
    for size, near in split.items():
        starts = [line.span for line in recipe.sizes if line.size == size]
        typed = [Span(s.line, s.column, s.column + len(size)) for s in starts]
        mend = Mend(f"write '{near}' for '{size}'", tuple(instead(s, near) for s in typed))
        after = with_typed(view, mend.edits)
        yield Finding(
            RULE,
            typed[0],
            f"'{size}' is a set of its own, and '{near}' lacks what it has",
            help=(f"write '{near}', if that set is meant",),
            mends=() if after is None or list(check(after)) else (mend,),
        )
    for size, mine in have.items():
        if size in split or size in split.values() or not _placed(view, mine):
            continue
        for name, span in names.items():
            if name not in mine:
                lacks = "all other rings" if name == "all" else name
                yield Finding(
                    RULE,
                    next(iter(mine.values())),
                    f"the set '{size}' gives no size for {lacks}",
                    labels=(Label(span, f"{'they have' if name == 'all' else 'it has'} one here"),),
                    help=(f"add '{size}  {name}  wire … mm, inside … mm'",),
                )


def _misspelt(size: str, have: dict[str, dict[str, Span]]) -> str | None:
    """An earlier set that this one seems to be a part of, its name misspelt."""
    before = [other for other in have if list(have).index(other) < list(have).index(size)]
    near = nearest(size, before)
    return near if near and not have[near].keys() & have[size].keys() else None


def _placed(view: View, names: Iterable[str]) -> bool:
    """False where a line of the set is for a ring that no step places, which is told."""
    known = {
        "all",
        *view.weave.names,
        *(joined(r, i) for r, n in view.weave.names.items() for i in n),
    }
    return not view.steps_read or known.issuperset(names)


def _lines(view: View) -> Iterator[Finding]:
    """Lines that say again what another says, or that are for no ring."""
    seen: dict[tuple[str, str], int] = {}
    for line in view.recipe.sizes:
        key = line.size, line.kind.words
        if key in seen:
            yield Finding(
                RULE,
                line.span,
                f"the set '{line.size}' gives the sizes of {line.kind.words} twice",
                f"first on line {seen[key]}",
                help=("keep one of the two lines, or give this set a name of its own",),
            )
        seen.setdefault(key, line.span.line)
        if not _placed(view, [spoken(line.kind.name)]):
            name, roles = line.kind.name, list(view.weave.names)
            near = nearest(name.role, roles)
            yield Finding(
                RULE,
                name.span,
                f"the set '{line.size}' gives the sizes of {name}, and no step places it",
                help=(
                    f"the nearest name is '{near}'"
                    if near
                    else f"rings in this recipe: {listed(roles)}",
                ),
            )


def _named(names: dict[str, Span], role: str, index: int) -> bool:
    return role in names or joined(role, index) in names
