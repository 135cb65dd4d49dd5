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

import re
from collections.abc import Iterator

from ringstep.checks.view import View, read_again
from ringstep.language.findings import Finding, Mend, Rule, Trouble, instead, typed_in

RULE = Rule("unread-line", "error")
#: What is said where one word is most likely meant, and how many such lines are tried.
_NEAREST = re.compile(r"the nearest word is '([^']+)'")
_MOST_TRIED = 5


def check(view: View) -> Iterator[Finding]:
    """Lines that could not be read, as the reader worded them."""
    for nth, t in enumerate(view.troubles):
        mends = t.mends or (_nearest(view, t) if nth < _MOST_TRIED else ())
        yield Finding(RULE, t.span, t.message, help=t.help, mends=mends)


def _nearest(view: View, trouble: Trouble) -> tuple[Mend, ...]:
    """The word that is nearest, where the line can be read with it."""
    word = _NEAREST.fullmatch(trouble.help[0]) if len(trouble.help) == 1 else None
    if word is None or view.on_trial:
        return ()
    edits = (instead(trouble.span, word[1]),)
    tried = read_again(typed_in(view.recipe.source.lines, edits))
    if any(t.span.line == trouble.span.line for t in tried.troubles):
        return ()
    return (Mend(f"write '{word[1]}'", edits),)
