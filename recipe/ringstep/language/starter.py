"""A first recipe to begin from, which teaches by its comments.

Comes in: what is to be made and what to call it. Goes out: the text of a recipe that checks with
nothing to say, laid out as `ringstep tidy` does. Each one tells how to break it and what to put
back; a test does as it is told.
"""

from __future__ import annotations

import re
import shlex

_HEAD = """\
# {what}
# Whatever stands behind a '#' is for you alone; take these lines out when you need them no more.
# Check it:             ringstep check {file}
# Check at every save:  ringstep watch {file} --open
# Print its step list:  ringstep steps {file}
# Ask about a finding:  ringstep explain pick-count

weave "{title}"

# notes: anything worth keeping, in your own words. The first word says what a line is about.
notes:
  about  {about}

# rings: which rings to buy, a line each. 'all' stands for every ring without a line of its own.
# Sizes may be in mm or inches; a wire gauge needs its system: '18 awg' or '18 swg'.
rings:
  all  {rings}

"""

_CHAIN = """\
# expect: what must come out, counted by the checker. This is what finds a missed ring.
# Break it: write 'meets 3' for 'meets 4' below, check, read what it says, and put it back.
expect:
  A meets 4
  2 rings a unit

# start: what is made once, as the unit before the first. Without it 'prev' would find nothing.
start:
  close 2 A

# unit: what repeats, one step a line. 'A' alone means all A of this unit, 'prev A' all A of the
# unit before. 'picks 2' says how many rings are picked up; it is counted as well.
# Break it: write 'through prev A1' for 'through prev A' below: that is a missed ring.
# The checker names the step and the ring; put it back, and it is mended.
unit:
  add 2 A through prev A picks 2
    hint put in one ring, then a second one beside it through the same two rings

# piece: what is made of the units. With a length, such as 'chain 190 mm', say what a piece of
# yours measured: 'sample 10 units = 41 mm'.
piece:
  chain 24 units
"""

_LOOP = """\
# expect: what must come out, counted by the checker. This is what finds a missed ring.
# In a loop there are no ends, so every single ring is held to it.
# Break it: write 'meets 3' for 'meets 2' below, check, read what it says, and put it back.
expect:
  A meets 2
  1 ring a unit

# start: what is made once, as the unit before the first. Without it 'prev' would find nothing.
start:
  close A

# unit: what repeats, one step a line. 'prev A' is the A of the unit before.
unit:
  add A through prev A picks 1

# piece: what is made of the units. A loop says in 'finish:' how it is closed.
piece:
  loop 100 units

# finish: what is made once, at the end. 'first' and 'last' are the two ends of the piece.
# Break it: write 'through last A picks' for 'through last A, first A picks' below: the loop stays
# open. The checker counts what is picked up and sees it; put it back, and it is mended.
finish:
  tighten last A
    hint lay the chain flat and take every twist out of it before you close it
  add A through last A, first A picks 2
"""

_SHEET = """\
# expect: what must come out, counted by the checker. This is what finds a missed ring.
# The rings along the edges meet fewer; only finished ones are held to it.
# Break it: write 'meets 6' for 'meets 4' below, check, read what it says, and put it back.
expect:
  A meets 4
  1 ring a unit

# first row: one ring for each unit, made before there is a row above.
first row:
  close A
    hint lay them out in a line, or thread them on a wire, so that all lean the same way

# row: what repeats, unit by unit along every later row. 'above A' is the A of the row before in
# the same place, 'above next A' the one after it. 'if there' leaves that one ring out where it
# would be off the sheet.
# Break it: write 'above next A picks' for 'above next A if there picks' below, and check: at the
# end of a row there is no next ring. Put it back, and it is mended.
row:
  add A through above A, above next A if there picks 2
    hint down through the one and up through its neighbour; the row leans against the one above

# piece: how large. Rows worked back and forth keep the sides straight; rows worked all one way
# make a sheet that slants.
piece:
  sheet 8 rows of 12 units
  rows back and forth
"""

_TUBE = """\
# expect: what must come out, counted by the checker. This is what finds a missed ring.
# The first and the last row meet fewer; only finished rings are held to it.
# Break it: write 'meets 6' for 'meets 4' below, check, read what it says, and put it back.
expect:
  A meets 4
  1 ring a unit

# first row: one ring for each unit, made before there is a row above.
first row:
  close A
    hint thread them on a wire bent to a circle, all leaning the same way

# row: what repeats, unit by unit round every later row. 'above A' is the A of the row before in
# the same place, 'above next A' the one after it; in a tube the row above goes round.
# Break it: write 'through above A picks' for 'through above A, above next A picks' below:
# that is a missed ring. The checker names the step and the ring; put it back, and it is mended.
row:
  add A through above A, above next A picks 2
    hint down through the one and up through its neighbour

# row end: what is done once at the end of every row.
row end:
  tighten A
    hint draw the new row up evenly all round

# piece: how long and how wide. Ten units round make a tube for a cord.
piece:
  tube 20 rows of 10 units
"""

#: What can be begun: what it is in a few words, its note, its rings and its lines.
_KINDS = {
    "chain": (
        "A chain of pairs to begin from.",
        "Every pair of rings goes through both rings of the pair before.",
        "wire 1.2 mm, inside 5 mm, copper",
        _CHAIN,
    ),
    "loop": (
        "A closed loop to begin from.",
        "One ring after another; the last joins the two ends, so there is no clasp.",
        "wire 1.6 mm, inside 7 mm, brass",
        _LOOP,
    ),
    "sheet": (
        "A sheet to begin from, made row by row.",
        "Every ring hangs from two of the row above and carries two below.",
        "wire 1.6 mm, inside 7 mm, stainless steel",
        _SHEET,
    ),
    "tube": (
        "A tube to begin from: a sheet closed into a round as it grows.",
        "Every ring hangs from two of the row above and carries two below.",
        "wire 1.2 mm, inside 5 mm, copper",
        _TUBE,
    ),
}
KINDS = tuple(_KINDS)


def title_of(name: str) -> str:
    """A title from the name of a file.

    >>> title_of("evening_class-cuff"), title_of('a "b"')
    ('Evening class cuff', 'A b')
    """
    words = re.sub(
        r'[\s_\-"＂]+', " ", "".join(c if c.isprintable() else " " for c in name)
    ).strip()
    return words[:1].upper() + words[1:] or "My first weave"


def starter(kind: str, name: str) -> str:
    """The text of a first recipe. kind: one of `KINDS`; name: of its file, without the ending."""
    what, about, rings, lines = _KINDS[kind]
    file = f"{name}.weave" if name.isprintable() else "FILE"
    head = _HEAD.format(
        what=what, file=shlex.quote(file), title=title_of(name), about=about, rings=rings
    )
    return head + lines
