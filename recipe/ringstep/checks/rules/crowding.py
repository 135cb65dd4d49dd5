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

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.measures import mixed_floor, smallest_ratio, text_mm
from ringstep.weave.phrases import rings_word

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


def check(view: View) -> Iterator[Finding]:
    """Openings below the packing floor."""
    if not view.steps_read or view.diagnosis.snagged:
        return
    told: set[int] = set()
    parts = view.recipe.part_roles
    for (role, index), met in crowds(view).items():
        kind = view.weave.kind_of(role, index) if role not in parts else None
        if kind is None or kind.span.line in told or kind.inside is None:
            continue
        own, inside = kind.mm
        wires = []
        for (other, number), count in met.items():
            if other in parts:
                continue  # a part has a hole of its own, and no wire that is known
            wire = k.mm[0] if (k := view.weave.kind_of(other, number)) else None
            if wire:
                wires += [wire] * count
        if not inside or not own or inside <= own or not wires:
            continue
        count = len(wires)
        if max(wires) - min(wires) < _SLACK:
            ratio = smallest_ratio(count)
            floor, why = (
                ratio * wires[0],
                f"{rings_word(count)} need at least {ratio:.2f} wire thicknesses",
            )
        else:
            floor = mixed_floor(wires)
            two = sum(sorted(wires)[-2:])
            why = (
                "its two thickest wires lie side by side"
                if floor <= two + _SLACK
                else f"the wires of {rings_word(count)} need that much by their area alone"
            )
        if inside < floor * (1 - _SLACK):
            told.add(kind.span.line)
            yield Finding(
                RULE,
                kind.inside.span,
                f"{rings_word(count)} go through a finished {role}, and its opening of"
                f" {text_mm(inside)} mm cannot hold them",
                f"at least {text_mm(floor)} mm: {why}",
                help=(
                    f"take a wider ring (inside above {text_mm(floor)} mm) or thinner wire",
                    "this is the floor below which it cannot be; a workable ring is wider",
                ),
            )
