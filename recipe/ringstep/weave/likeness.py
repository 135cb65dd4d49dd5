"""Whether two weaves have the same links, the same lay, or are mirror images.

Comes in: two `Weave`s. Goes out: a `Likeness`. Two repeating weaves have the same links when some
renaming of the rings of their cycles, together with a whole-number change of the shifts, turns the
links of one into those of the other: that is an equality of the endless pieces, not of samples.
'The same links as' is all it says; folds and lay can still make another weave of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from math import lcm

from ringstep.weave.marks import cycle_digest, weave_mark
from ringstep.weave.matching import Lay, matches, turns_of
from ringstep.weave.net import Net, bases, net_of, shells_of
from ringstep.weave.piece import Weave
from ringstep.weave.repeats import repeating
from ringstep.weave.ring_graph import Repeat, same_graph

#: Cycles are made equally long before they are compared; longer ones than this are not.
MOST_RINGS = 240
#: How far one sheet may slant against another, in rows or units a cycle.
_SLANTED = 4
#: Two cycles that are cut otherwise have a common one of so many times the rings.
_CUTS = (1, 2, 3, 4)


@dataclass(frozen=True, slots=True)
class Likeness:
    """How two weaves compare.

    links: whether they have the same links. lay: 'none' where neither leaves a choice of lay.
    moves: whether their folds and turns are as many. why: a word where no answer is had.
    """

    links: bool
    lay: Lay
    moves: bool
    why: str = ""


def _pairs(one: Repeat, other: Repeat, times: int = 1) -> Iterator[tuple[Net, Net]]:
    """The two cycles at a common number of rings, over every choice of coarser lattice; none where
    their rings differ in what no lattice changes. times: the number is so often the least one."""
    flat = one.layout.flat
    size = lcm(len(one.classes), len(other.classes)) * times
    mine, theirs = size // len(one.classes), size // len(other.classes)
    near_one, near_other = shells_of(one), shells_of(other)
    if Counter([*near_one.values()] * mine) != Counter([*near_other.values()] * theirs):
        return
    kinds = {shells: kind for kind, shells in enumerate(sorted(set(near_one.values())))}
    firsts = [net_of(one, b, {c: kinds[s] for c, s in near_one.items()}) for b in bases(mine, flat)]
    for basis in bases(theirs, flat):
        second = net_of(other, basis, {c: kinds[s] for c, s in near_other.items()})
        yield from ((first, second) for first in firsts)


def _moves(repeat: Repeat) -> Counter[tuple[str, int]]:
    """Folds and turns of a cycle, by how many rings they take."""
    found: Counter[tuple[str, int]] = Counter()
    for act in repeat.acts:
        if act.step.kind in ("fold back", "turn over"):
            found[(act.step.kind, len(act.handled))] += 1
    return found


def compare(one: Weave, other: Weave) -> Likeness:
    """Compare two weaves by their repeating parts, or as they are where nothing repeats."""
    one, other = repeating(one), repeating(other)
    a, b = one.repeat, other.repeat
    if a is None or b is None:
        if a is not None or b is not None:
            return Likeness(False, "none", True, "one of them repeats and the other does not")
        return Likeness(same_graph(one.work, other.work), "none", True)
    why = None
    if a.layout.flat != b.layout.flat:
        why = "one is worked in rows and the other is not"
    elif not a.classes or not b.classes:
        why = "one of them places no ring in its unit"
    elif lcm(len(a.classes), len(b.classes)) > MOST_RINGS:
        why = "their cycles are too long to be compared"
    elif len(a.links) * len(b.classes) != len(b.links) * len(a.classes):
        why = ""
    if why is not None:
        return Likeness(False, "none", True, why)
    laid = any(x.owes_lay or x.toward or len(x.stops) > 1 for x in (*a.acts, *b.acts))
    found = _matched(a, b, laid, 1, 2)
    if not found.links and a.layout.flat and cycle_digest(a) == cycle_digest(b):
        # Surely the same, however much one slants and however differently their cycles are cut.
        marks = weave_mark(one), weave_mark(other)
        either = laid and marks[0] and marks[1] and marks[0].lay in (marks[1].lay, marks[1].mirror)
        size = lcm(len(a.classes), len(b.classes))
        cuts = [n for n in _CUTS if n * size <= MOST_RINGS]
        for far, times in product((2, _SLANTED), cuts):
            found = _matched(a, b, bool(either), times, far)
            if found.links:
                return found if either or not laid else replace(found, lay="other")
    return found


def _matched(a: Repeat, b: Repeat, laid: bool, times: int, far: int) -> Likeness:
    """Two patterns compared at so many times their least common number of rings, with changes of
    the shifts up to a number."""
    turns = turns_of(a.layout.flat, far)
    links, lay = False, "none" if not laid else "other"
    for first, second in _pairs(a, b, times):
        for turn in turns:
            if not links and matches(first, second, turn, "none"):
                links = True
            if links and laid and turn == turns[0]:
                if matches(first, second, turn, "same"):
                    return Likeness(True, "same", _same_moves(a, b))
                if lay == "other" and matches(first, second, turn, "mirror"):
                    lay = "mirror"
            if links and not laid:
                return Likeness(True, "none", _same_moves(a, b))
    return Likeness(links, lay if links else "none", _same_moves(a, b))  # type: ignore[arg-type]


def _same_moves(a: Repeat, b: Repeat) -> bool:
    ours = {k: n * len(b.classes) for k, n in _moves(a).items()}
    return ours == {k: n * len(a.classes) for k, n in _moves(b).items()}


def likeness_words(found: Likeness) -> str:
    """A comparison as one sentence; it never says that one weave is another."""
    if not found.links:
        return f"not the same links{f': {found.why}' if found.why else ''}"
    lay = {
        "same": "laid the same way",
        "mirror": "laid as mirror images of one another",
        "other": "but laid otherwise",
        "none": "",
    }[found.lay]
    words = ", ".join(w for w in ("the same links", lay) if w)
    if not found.moves:
        words += "; the folds differ, so it need not be the same weave"
    return words
