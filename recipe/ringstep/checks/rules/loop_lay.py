"""The last rings of a loop, laid otherwise than the units.

A loop has no ends, so the rings that close it go on as the units did. One laid to the other side
is a fault in the pattern that no count of neighbours tells.

Wrong:

    weave "Spiral loop"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
    start:
      close A
    unit:
      add A through prev A, prev prev A if there lay front
    piece:
      loop 57 units
    finish:
      add A1 through last A, last prev A, first A picks 3 lay back
      add A2 through A1, last A, first A, first next A picks 4 lay front

Right:

    weave "Spiral loop"
    rings:
      all  wire 1.0 mm, inside 4.5 mm, brass
    expect:
      A meets 4
    start:
      close A
    unit:
      add A through prev A, prev prev A if there lay front
    piece:
      loop 57 units
    finish:
      add A1 through last A, last prev A, first A picks 3 lay front
      add A2 through A1, last A, first A, first next A picks 4 lay front
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule

RULE = Rule("loop-lay-broken", "warning")


def check(view: View) -> Iterator[Finding]:
    """Lays of the finish of a loop that do not go on as the units did."""
    weave = view.weave
    layout = weave.layout
    if view.lying is None or layout.kind != "loop":
        return
    units = [act for act in weave.work.acts if act.block.kind == "unit"]
    expected: dict[str, list[str]] = {}
    for act in units:
        if act.owes_lay and act.side:
            for ring in act.new:
                expected.setdefault(ring.role, []).append(act.side)
    per_unit = {r.role for act in units for r in act.new if r.index > 1}
    turned = False
    nth: dict[str, int] = {}
    for act in weave.work.acts:
        turned ^= act.step.kind == "turn over"
        if act.block.kind != "finish" or not act.owes_lay or not act.side:
            continue
        for role in dict.fromkeys(r.role for r in act.new):
            nth[role] = nth.get(role, 0) + 1
            sides = expected.get(role, ())
            side = _next(view, sides, nth[role], role in per_unit)
            if side and side != act.side and act.step.lay is not None:
                typed = "front" if (side == "front") != turned else "back"
                yield Finding(
                    RULE,
                    act.step.lay.span,
                    f"step {act.step.number} lays {role} to the {act.side}, and the units go on to"
                    f" the {side}",
                    help=(f"write 'lay {typed}'",),
                )


def _next(view: View, sides: list[str] | tuple[str, ...], nth: int, several: bool) -> str | None:
    """The side of the nth ring behind the last unit; None where the units do not tell."""
    if not sides or len(set(sides)) == 1:
        return sides[0] if sides else None
    cycle = view.weave.layout.cycle
    if (several and nth > 1) or len(sides) < 2 * cycle:
        return None
    if any(sides[-i] != sides[-i - cycle] for i in range(1, len(sides) - cycle + 1)):
        return None  # no pattern comes round
    return sides[-cycle + (nth - 1) % cycle]
