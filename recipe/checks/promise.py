"""A role for which nothing is promised.

A promise says how many rings each finished ring of a role meets. It is what finds a missed ring, so
a role without one is checked by nothing. The tool says what it measured and the line to add; look
whether it is what you mean before you add it.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
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

from collections import Counter
from collections.abc import Iterator

from recipe.findings import Finding, Rule
from recipe.phrases import meets_phrase
from recipe.view import View

RULE = Rule("nothing-promised", "warning")


def check(view: View) -> Iterator[Finding]:
    """Roles of the units that no promise speaks of."""
    if not view.steps_read or any(f.kind == "snag" for f in view.diagnosis.faults):
        return
    model = view.model
    parts = {p.name.role for p in view.recipe.parts}
    measured: dict[str, list[Counter[str]]] = {}
    if model.repeat:
        for ring in model.repeat.classes:
            measured.setdefault(ring.role, []).append(model.repeat.meets(ring))
    for one in model.finished():
        met = Counter(o.role for o in model.work.links[one])
        measured.setdefault(one.role, []).append(met)
    for role, found in measured.items():
        if role in parts or any(m.name.role == role for m in view.recipe.meets):
            continue
        item = next(
            i
            for b in view.recipe.blocks
            if b.kind not in ("start", "finish") or not model.repeat
            for s in b.steps
            for i in s.new
            if i.name.role == role
        )
        totals = sorted({c.total() for c in found})
        if all(c == found[0] for c in found):
            each = [f"{n} {r}" for r, n in found[0].items()]
            line = f"{role} meets {', '.join(each) if len(each) > 1 else found[0].total()}"
            help = (
                f"measured: each meets {meets_phrase(found[0])}",
                f"if that is what you mean, add to 'expect:': {line}",
            )
        else:
            help = (
                "measured: they meet " + " or ".join(map(str, totals)) + " rings",
                f"promise them one by one: '{role}1 meets {totals[0]}'",
            )
        yield Finding(
            RULE, item.span, f"nothing is promised for {role}, so no check guards it", help=help
        )
