"""Rings too small for the number of rings that go through them.

Each ring through a ring crosses its opening, and their wires lie side by side inside it. So the
diameter, 'inside', in wires can never be less than the ratio for packing that many equal circles in
a circle. This is a floor that no skill gets under, far below what is comfortable to weave.

Wrong:

    weave "Doubled chain"
    rings:
      all  wire 2 mm, inside 4.5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit:
      add 2 A through prev A
    piece:
      chain 30 units

Right:

    weave "Doubled chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 4
    start:
      close 2 A
    unit:
      add 2 A through prev A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.measures import mixed_floor, smallest_ratio, text_mm
from ringstep.language.syntax import RingKind
from ringstep.language.tree import Tree
from ringstep.weave.phrases import rings_word
from ringstep.weave.working_range import text_at_least

RULE = Rule("too-tight", "error")
_SLACK = 1e-9


def crowds(view: View) -> dict[tuple[str, int], Counter[tuple[str, int]]]:
    """For each ring by name, the rings that go through a finished copy of it."""
    weave = view.weave
    found: dict[tuple[str, int], Counter[tuple[str, int]]] = {}
    if weave.repeat:
        for ring in weave.repeat.classes:
            met = Counter((o.role, o.index) for o, _ in weave.repeat.neighbours[ring])
            found[(ring.role, ring.index)] = met
    for one, others in weave.work.links.items():
        key = (one.role, one.index)
        if len(others) > sum(found.get(key, Counter()).values()):
            found[key] = Counter((o.role, o.index) for o in others)
    return found


@dataclass(frozen=True, slots=True)
class _Case:
    """A finished ring of a role by its kind, and the wires in mm of those that go through it."""

    role: str
    kind: RingKind
    wires: tuple[float, ...]


def _even(view: View, recipe: Tree) -> Iterator[_Case]:
    """The rings of a piece in which each name has one size."""
    parts = recipe.part_roles
    for (role, index), met in crowds(view).items():
        kind = recipe.kind_of(role, index) if role not in parts else None
        wires: list[float] = []
        for (other, number), count in met.items():
            if other in parts:
                continue  # a part has a hole of its own, and no wire that is known
            wire = k.mm[0] if (k := recipe.kind_of(other, number)) else None
            if wire:
                wires += [wire] * count
        if kind:
            yield _Case(role, kind, tuple(wires))


def _along(view: View, recipe: Tree) -> Iterator[_Case]:
    """The rings of a piece whose sizes change along it, at all places where it matters."""
    work, parts = view.weave.work, recipe.part_roles
    layout = work.layout
    edges = {e for k in recipe.rings if k.along for e in (k.along.first, k.along.last)}
    reach = 1 + (layout.row_reach if layout.flat else layout.reach)
    whole = view.weave.layout
    places = whole.rows if layout.flat else whole.units
    near = {e + d for e in edges for d in range(-reach, reach + 1)}
    seen: set[tuple[object, ...]] = set()
    for ring, others in work.links.items():
        rows, units = layout.numbers_of((ring.row, ring.unit), (ring.row, ring.unit))
        numbers = rows if layout.flat else units
        for place in {numbers[0], numbers[-1], *(n for n in near if n in numbers)}:
            own = min(place, places)  # the finish goes with the place before it
            kind = recipe.kind_of(ring.role, ring.index, own) if ring.role not in parts else None
            met = []
            for other in others:
                away = other.row - ring.row if layout.flat else other.unit - ring.unit
                there = recipe.kind_of(other.role, other.index, min(place + away, places))
                if other.role not in parts and there and there.mm[0]:
                    met.append(there.mm[0])
            case = (ring.role, id(kind), *sorted(met))
            if kind and case not in seen:
                seen.add(case)
                yield _Case(ring.role, kind, tuple(met))


def check(view: View) -> Iterator[Finding]:
    """Openings below the packing floor, in the recipe's own sizes and in every set of them."""
    if not view.steps_read or view.diagnosis.snagged or view.diagnosis.whole_rows:
        return
    told: set[int] = set()
    own = [] if view.recipe.sizes and _of_sets(view) else [view.recipe]
    for recipe in (*own, *(weave.recipe for _, weave in view.in_sizes)):
        graded = any(kind.along for kind in recipe.rings)
        for case in _along(view, recipe) if graded else _even(view, recipe):
            if case.kind.span.line not in told and (found := _crowded(case)):
                told.add(case.kind.span.line)
                yield found


def _of_sets(view: View) -> bool:
    """True where the recipe's own sizes are those of a set."""
    lines = {line.kind.span for line in view.recipe.sizes}
    return all(kind.span in lines for kind in view.recipe.rings)


def _crowded(case: _Case) -> Finding | None:
    """An opening that cannot hold what goes through it."""
    own, inside = case.kind.mm
    role, wires = case.role, case.wires
    if case.kind.inside is None or not inside or not own or inside <= own or not wires:
        return None
    count = len(wires)
    one, passing = count == 1, rings_word(count)
    if max(wires) - min(wires) < _SLACK:
        ratio = smallest_ratio(count)
        floor = ratio * wires[0]
        why = f"{passing} {'needs' if one else 'need'} at least {ratio:.2f} wire thicknesses"
    else:
        floor = mixed_floor(list(wires))
        why = (
            "its two thickest wires lie side by side"
            if floor <= sum(sorted(wires)[-2:]) + _SLACK
            else f"the wires of {passing} need that much by their area alone"
        )
    if inside >= floor * (1 - _SLACK):
        return None
    least = text_at_least(floor)
    return Finding(
        RULE,
        case.kind.inside.span,
        f"{passing} {'goes' if one else 'go'} through a finished {role}, and its opening"
        f" of {text_mm(inside)} mm cannot hold {'it' if one else 'them'}",
        f"at least {least} mm: {why}",
        help=(
            f"take a wider ring (inside above {least} mm) or thinner wire",
            "this is the floor below which it cannot be; a workable ring is wider",
        ),
    )
