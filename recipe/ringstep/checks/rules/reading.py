"""A line that cannot be read as part of a recipe.

A recipe is read line by line: headings end in a colon, a step begins with what is done, the rings
gone through follow the word 'through' with commas between them. One line that cannot be read never
hides the others.

Wrong:

    weave "Simple chain"
    rings:
      all  wire 1.2 mm, inside 5 mm, copper
    expect:
      A meets 2
    start:
      close A
    unit:
      add A throuhg prev A
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

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule

RULE = Rule("unread-line", "error")


def check(view: View) -> Iterator[Finding]:
    """Lines that could not be read, as the reader worded them."""
    for t in view.troubles:
        yield Finding(RULE, t.span, t.message, help=t.help, mends=t.mends)
