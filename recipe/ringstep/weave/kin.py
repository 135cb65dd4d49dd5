"""Weaves that are one link a unit away from one another, and which link that is.

Comes in: two `Weave`s. Goes out: words about the second, in the names of its own rings.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from ringstep.weave.marks import cycle_of, links_digest
from ringstep.weave.matching import matches, turns_of
from ringstep.weave.net import Net
from ringstep.weave.phrases import place_phrase
from ringstep.weave.piece import Weave
from ringstep.weave.repeats import repeating
from ringstep.weave.ring_graph import Class, Repeat, Shift
from ringstep.weave.work import Ring, ring_name

#: Longer cycles than this, in rings, have too many links that could be tried.
MOST_RINGS = 12
#: How many units on a link is tried in a chain, and how many rows and units in a sheet.
_FAR, _FAR_FLAT = 2, 1


def near_kin(one: Weave, other: Weave) -> str:
    """How the second weave would have to be linked to have the links of the first: 'with M1 and M2
    linked', 'without the link between M1 and M2'; "" where no one link a unit does it."""
    a, b = _of_links(one).repeat, _of_links(other).repeat
    if a is None or b is None or a.layout.flat != b.layout.flat:
        return ""
    size, more = len(a.classes), len(a.links) - len(b.links)
    if not 0 < size == len(b.classes) <= MOST_RINGS or abs(more) != 1:
        return ""
    mine, theirs = cycle_of(a), cycle_of(b)
    wanted, degrees = links_digest(mine), Counter(map(len, mine.near))
    for i, j, shift in _links(theirs, present=more < 0):
        changed = _changed(theirs, i, j, shift, add=more > 0)
        if Counter(map(len, changed.near)) != degrees or links_digest(changed) != wanted:
            continue
        if any(matches(mine, changed, turn, "none") for turn in turns_of(mine.flat)):
            names = _names(b, i, j, shift)
            return f"with {names} linked" if more > 0 else f"without the link between {names}"
    return ""


def _of_links(weave: Weave) -> Weave:
    """The weave without its variants, whose lays make its cycle longer than its links do."""
    recipe = weave.recipe
    return repeating(Weave(replace(recipe, variants=()), None) if recipe.variants else weave)


def _links(net: Net, present: bool) -> Iterator[tuple[int, int, Shift]]:
    """The links of a cycle, or those that it could have besides; the nearest first."""
    size = len(net.near)
    far = _FAR_FLAT if net.flat else _FAR
    rows = range(-far, far + 1) if net.flat else range(1)
    shifts = [(down, along) for down in rows for along in range(-far, far + 1)]
    for shift in sorted(shifts, key=lambda s: (abs(s[0]) + abs(s[1]), s)):
        for i in range(size):
            for j in range(i, size):
                known = (j, shift) in net.near[i]
                itself = i == j and shift <= (0, 0)
                if known == present and not itself:
                    yield i, j, shift


def _changed(net: Net, i: int, j: int, shift: Shift, add: bool) -> Net:
    """The net with one link more or less in every cycle."""
    near = [set(each) for each in net.near]
    back = (-shift[0], -shift[1])
    for ring, to in ((i, (j, shift)), (j, (i, back))):
        if add:
            near[ring].add(to)
        else:
            near[ring].discard(to)
    return replace(net, near=tuple(map(frozenset, near)), shells=(0,) * len(near))


def _names(repeat: Repeat, i: int, j: int, shift: Shift) -> str:
    """The two rings of a link by name: 'M1 and M2', 'A and A of the unit before'."""
    (rows, units), flat = repeat.cycle, repeat.layout.flat
    one, two = repeat.classes[i], repeat.classes[j]
    down = two.row - one.row + shift[0] * rows
    along = two.unit - one.unit + shift[1] * units
    if (down, along) > (0, 0):
        one, two, down, along = two, one, -down, -along
    places = ("above",) * -down + (("prev",) * -along if along < 0 else ("next",) * along)
    where = place_phrase(places) if flat or down == 0 else ""
    return f"{_name(repeat, one)} and {_name(repeat, two)}{f' {where}' if where else ''}"


def _name(repeat: Repeat, ring: Class) -> str:
    alike = tuple(
        c.index
        for c in repeat.classes
        if (c.role, c.row, c.unit) == (ring.role, ring.row, ring.unit)
    )
    return ring_name(Ring(ring.role, ring.index, 0, 0), alike)
