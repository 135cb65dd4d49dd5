"""A length that is filled with what looks like a centre.

Of runs with a length, the one without a number fills it. Where that one stands between longer runs
of one name, mostly a single centre is meant, and the runs beside it are to share the length. It is
only asked: several centres may be meant.

Wrong:

    weave "Harbour rope with rings between"
    rings:
      all  wire 1.5 mm, inside 8 mm, copper
    expect:
      A meets 4 A or 2 A, 1 F or 2 F
      F meets 4 A
    start:
      close 2 A
    unit plain:
      add 2 A through prev A picks 2
    unit centre:
      add F through prev A picks 2
      add 2 A through F picks 1
    piece:
      chain 130 mm of 8 plain, centre, 8 plain
      sample 10 plain = 70 mm
      sample 1 centre = 9 mm

Right:

    weave "Harbour rope with a ring between"
    rings:
      all  wire 1.5 mm, inside 8 mm, copper
    expect:
      A meets 4 A or 2 A, 1 F or 2 F
      F meets 4 A
    start:
      close 2 A
    unit plain:
      add 2 A through prev A picks 2
    unit centre:
      add F through prev A picks 2
      add 2 A through F picks 1
    piece:
      chain 130 mm of plain, centre, plain
      sample 10 plain = 70 mm
      sample 1 centre = 9 mm
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.words import listed, plural
from ringstep.weave.runs import NoRuns, run_counts

RULE = Rule("length-filled", "note")


def check(view: View) -> Iterator[Finding]:
    """The one run without a number, where it is worked several times between longer runs."""
    piece = view.recipe.piece
    if piece is None or piece.length is None or piece.runs.count(None) != 1:
        return
    at, names = piece.runs.index(None), [s.value for s in piece.order]
    beside = set(names[at - 1 : at] + names[at + 1 : at + 2])
    own = names[at - 1]
    if not 0 < at < len(names) - 1 or beside != {own}:
        return
    fewest = min(n or 0 for n, name in zip(piece.runs, names, strict=True) if name == own)
    shared = tuple(None if name == own else n for n, name in zip(piece.runs, names, strict=True))
    try:
        filled = run_counts(piece)[at]
        meant = run_counts(replace(piece, runs=shared))
    except NoRuns:
        return
    if 1 < filled < fewest:
        runs = ", ".join(f"{n} {s}" if n else s for n, s in zip(shared, names, strict=True))
        each = listed([f"{n} {name}" for n, name in zip(meant, names, strict=True)])
        yield Finding(
            RULE,
            piece.order[at].span,
            f"'{names[at]}' has no number, so it fills the {piece.length.text}: it is worked"
            f" {plural(filled, 'time')}",
            help=(
                f"if it is meant once, write '{piece.kind} {piece.length.text} of {runs}', which"
                f" gives {each}",
            ),
        )
