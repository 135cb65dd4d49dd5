"""A finished ring that meets more or fewer rings than promised.

Every ring of a weave passes through a fixed number of others; 'expect:' states it. A ring is
judged only when every unit that can reach it has been placed. The fault is found at a ring but lies
in a step: the step named is the one where a single change makes every count right.

Wrong:

    weave "Persian 6-in-1"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      M meets 6 S
      S meets 6 M
    start:
      close 2 H
      add 2 M through H picks 2
      add 2 S through M picks 2
    unit:
      add 2 M through prev S
      add 2 S through M, prev M1
    piece:
      chain 24 units

Right:

    weave "Persian 6-in-1"
    rings:
      all  wire 1.2 mm, inside 6.5 mm, aluminium
    expect:
      M meets 6 S
      S meets 6 M
    start:
      close 2 H
      add 2 M through H picks 2
      add 2 S through M picks 2
    unit:
      add 2 M through prev S
      add 2 S through M, prev M
    piece:
      chain 24 units
"""

from __future__ import annotations

from collections.abc import Iterator

from recipe.blame import Cause
from recipe.faults import Count
from recipe.findings import Finding, Label, Rule
from recipe.phrases import list_span, meets_phrase, rings_word
from recipe.view import View
from recipe.wording import cause_words, mend_lines
from recipe.words import listed

RULE = Rule("neighbour-count", "error")


def _who(count: Count) -> str:
    if count.unit == 0 or count.block is None:
        return f"every finished {count.name}"
    return f"{count.name} of {count.block if count.block.label is not None else 'the piece'}"


def _measured(count: Count) -> str:
    if count.promise.by_role is None:
        return rings_word(count.total)
    return f"{meets_phrase(count.found)}"


def _promised(count: Count) -> str:
    promise = count.promise
    return str(promise.total) if promise.by_role is None else meets_phrase(promise.by_role)


def check(view: View) -> Iterator[Finding]:
    """Finished rings against their promises, told once for each cause."""
    loose: dict[int, list[Count]] = {}
    for fault, cause in view.diagnosis.voiced("count"):
        if fault.count is None:
            continue
        if cause is None:
            loose.setdefault(fault.count.promise.span.line, []).append(fault.count)
        else:
            yield _blamed(view, fault.count, cause)
    for counts in loose.values():
        first = counts[0]
        lines = [f"{_who(c)} meets {_measured(c)}" for c in counts[1:4]]
        steps = [
            s
            for b in view.recipe.blocks
            if first.block is None or b.span == first.block.span
            for s in b.steps
            if any(i.name.role == first.role for i in s.new)
        ]
        places = listed([str(s.number) for s in steps])
        yield Finding(
            RULE,
            list_span(steps[0]) if steps else first.promise.span,
            f"{_who(first)} meets {_measured(first)}, not {_promised(first)} as promised",
            f"{first.name} is placed here" if steps else "",
            (Label(first.promise.span, "promised here"),),
            (
                *lines,
                "no single change makes every count right; look at what places"
                f" {first.name} (step {places}) and at what goes through it",
            ),
        )


def _blamed(view: View, count: Count, cause: Cause) -> Finding:
    edit = cause.edit
    others = sorted(
        {
            f.count.name
            for f in view.diagnosis.faults
            if f.count and f.key in cause.cleared and f.count.name != count.name
        }
    )
    help = list(mend_lines(cause))
    if others:
        help.append(f"that also makes {listed(others)} right")
    if edit.kind == "drop step":
        help.insert(0, f"take step {edit.step.number} out, or change what it goes through")
    return Finding(
        RULE,
        list_span(edit.step),
        f"{cause_words(edit)}: {_who(count)} meets {_measured(count)}, {_promised(count)} promised",
        {
            "add": "a ring is missing here",
            "remove": "a ring too many here",
            "replace": "another ring is meant here",
        }.get(edit.kind, ""),
        (Label(count.promise.span, "promised here"),),
        tuple(help),
    )
