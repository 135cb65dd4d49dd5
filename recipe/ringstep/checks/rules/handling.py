"""A handling move on rings that are not in the work.

The moves 'fold back', 'spread', 'turn over', 'hold', 'tie' and 'tighten' make no link, so nothing
comes undone when such a step names the wrong ring. But a student will look for it in vain, and a
step list that folds a ring before it is placed cannot be followed.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A through prev A
      tighten B
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
      tighten A
    piece:
      chain 30 units
"""

from __future__ import annotations

from collections.abc import Iterator

from ringstep.checks.faults import LINKING
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import listed, nearest
from ringstep.weave.work import Snag

RULE = Rule("move-on-nothing", "error")


def check(view: View) -> Iterator[Finding]:
    """Moves whose rings are not there."""
    if not view.steps_read or not view.recipe.blocks:
        return
    for snag in view.weave.snags:
        if snag.step.kind in LINKING or snag.ref is None:
            continue
        if snag.ref.name.role in view.forgotten:
            continue
        yield Finding(
            RULE,
            snag.ref.span,
            f"step {snag.step.number} wants to {snag.step.kind} {snag.ref}, which is not in the"
            " work there",
            help=(_mend(view, snag),),
        )


def _mend(view: View, snag: Snag) -> str:
    ref = snag.ref
    assert ref is not None
    placing = [
        s.number for s in view.recipe.steps() if any(i.name.role == ref.name.role for i in s.new)
    ]
    if not placing:
        near = nearest(ref.name.role, list(view.weave.names))
        known = listed(list(view.weave.names)) or "none"
        return f"the nearest name is '{near}'" if near else f"rings in this recipe: {known}"
    if snag.kind == "off the piece":
        return f"where the piece ends there is none: write '{ref} if there'"
    later = [n for n in placing if n > snag.step.number]
    if not ref.places and (later == placing or (snag.kind == "not yet" and later)):
        return f"{ref.name} is placed only in step {later[0]}"
    return f"{ref.name} is placed in step {placing[0]}; say where, such as 'prev {ref.name}'"
