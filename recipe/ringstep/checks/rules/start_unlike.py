"""A start or first row that does not make what every unit makes.

The start stands in for the unit before the first. Where both place a ring by the same kind of step,
through rings of the same names, they place the same number of it and link them alike; a first row
that places the rings of a row moves them alike.

Wrong:

    weave "Box chain"
    rings:
      all  wire 1.2 mm, inside 4.2 mm, copper
    expect:
      A meets 4 B
      B meets 4 A
    start:
      close 2 A
      add B through A picks 2
      fold back B
      spread A
    unit:
      add 2 A through prev B
      add 2 B through A
      fold back B
      spread A
    piece:
      chain 30 units

Right:

    weave "Box chain"
    rings:
      all  wire 1.2 mm, inside 4.2 mm, copper
    expect:
      A meets 4 B
      B meets 4 A
    start:
      close 2 A
      add 2 B through A picks 2
      fold back B
      spread A
    unit:
      add 2 A through prev B
      add 2 B through A
      fold back B
      spread A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Label, Rule
from ringstep.language.syntax import PLACING, Block, Step
from ringstep.language.words import plural
from ringstep.weave.lie import Lying

RULE = Rule("start-unlike-unit", "warning")


def check(view: View) -> Iterator[Finding]:
    """Numbers, links and moves in which a start or first row is unlike what it stands in for."""
    lying = view.lying
    if lying is None or view.diagnosis.faults:
        return
    layout = lying.weave.layout
    first, row = layout.block("first row"), layout.block("row")
    if layout.flat and first and row and first.placed == row.placed:
        yield from _moves(first, row)
    start, unit = layout.block("start"), _repeated(lying)
    if layout.flat or start is None or unit is None:
        return
    shared = [r for r in start.placed if _made(start, r) == _made(unit, r) != frozenset()]
    uneven = [r for r in shared if len(start.placed[r]) != len(unit.placed[r])]
    for role in uneven:
        here, there = (next(_placing(b, role)) for b in (start, unit))
        count = plural(len(start.placed[role]), "ring")
        yield Finding(
            RULE,
            here.span,
            f"the start places {count} {role}, and every unit {len(unit.placed[role])}",
            labels=(Label(there.span, "the same step in the unit"),),
            help=(f"write '{len(unit.placed[role])} {role}' in the start, or call it otherwise",),
        )
    if not uneven and not any(s.kind == "reopen" for b in (start, unit) for s in b.steps):
        yield from _links(lying, start, unit)


def _repeated(lying: Lying) -> Block | None:
    """The one block that every unit is worked by, or the last of those written out alike."""
    layout = lying.weave.layout
    if layout.units < 2:
        return None
    blocks = {id(b): b for s in layout.along for b in s.blocks}
    if len(blocks) == 1:
        return next(iter(blocks.values()))
    plain = not layout.turning and not lying.weave.recipe.periods
    return next(reversed(blocks.values()), None) if plain else None


def _placing(block: Block, role: str) -> Iterator[Step]:
    return (s for s in block.steps if s.kind in PLACING and role in {i.name.role for i in s.new})


def _made(block: Block, role: str) -> frozenset[tuple[str, frozenset[str]]]:
    """By which kinds of steps a block places a role, and through which roles; none if loose."""
    found = {(s.kind, frozenset(r.name.role for r in s.through)) for s in _placing(block, role)}
    return frozenset(found) if all(through for _, through in found) else frozenset()


def _links(lying: Lying, start: Block, unit: Block) -> Iterator[Finding]:
    """Links within the unit that the start lacks, unless it joins what the unit keeps apart."""
    work = lying.weave.work

    def own(block: Block) -> set[tuple[tuple[str, int], tuple[str, int]]]:
        rings = {r: r.unit for r, n in work.placed_by.items() if work.acts[n].block == block}
        return {
            ((a.role, a.index), (b.role, b.index))
            for a in rings
            for b in work.links.get(a, ())
            if rings.get(b) == a.unit and a < b
        }

    begun, whole = own(start), own(unit)
    names = {(role, i) for role, have in start.placed.items() for i in have}
    common = {(role, i) for role, have in unit.placed.items() for i in have} & names
    if {pair for pair in begun if set(pair) <= common} - whole:
        return
    for one, two in sorted(pair for pair in whole - begun if set(pair) <= common):
        step = list(_placing(start, two[0]))[-1]
        yield Finding(
            RULE,
            step.span,
            f"every unit links {one[0]} with {two[0]}, and the start does not link all of them",
            labels=(Label(list(_placing(unit, two[0]))[-1].span, "linked in the unit"),),
            help=("link them in the start as in the unit",),
        )
        return


def _moves(first: Block, row: Block) -> Iterator[Finding]:
    """Moves on rings of the place itself that only one of the two makes."""
    for block, other in ((first, row), (row, first)):
        there = [_typed(s) for s in _own_moves(other)]
        for step in _own_moves(block):
            if _typed(step) not in there:
                yield Finding(
                    RULE,
                    step.span,
                    f"the {block} has '{_typed(step)}', which the {other} lacks",
                    help=(f"write it in the {other} as well, or take step {step.number} out",),
                )


def _typed(step: Step) -> str:
    return f"{step.kind} {', '.join(map(str, step.refs))}".strip()


def _own_moves(block: Block) -> list[Step]:
    kinds = ("fold back", "spread", "turn over")
    return [s for s in block.steps if s.kind in kinds and not any(r.places for r in s.refs)]
