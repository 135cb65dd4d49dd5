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
from functools import cached_property
from itertools import product
from math import lcm
from typing import Literal

from ringstep.language.syntax import Hand, Side, Stated
from ringstep.language.tree import Piece
from ringstep.weave.piece import Weave
from ringstep.weave.repeats import period_of
from ringstep.weave.ring_graph import Class, Repeat, Shift, same_graph
from ringstep.weave.steps import Ring

#: How a ring lies: its lay, the side it was laid to, the side it was folded to.
_Lies = tuple[Side | None, Hand | None, Hand | None]
Matrix = tuple[int, int, int, int]
Shells = tuple[int, ...]
Lay = Literal["same", "mirror", "other", "none"]

#: Cycles are made equally long before they are compared; longer ones than this are not.
MOST_RINGS = 240
#: Links are followed so far from a ring to tell it from others, and no further than so many.
FAR, MOST_FOLLOWED = 6, 2000


@dataclass(frozen=True, slots=True)
class Likeness:
    """How two weaves compare.

    links: whether they have the same links. lay: 'none' where neither leaves a choice of lay.
    moves: whether their folds, spreads and turns are as many. why: a word where no answer is had.
    """

    links: bool
    lay: Lay
    moves: bool
    why: str = ""


@dataclass(frozen=True)
class _Net:
    """A cycle as numbers: for each ring its neighbours as (ring, shift), and how it lies.

    stops: for each ring the places at which it goes through neighbours, where that is said.
    """

    flat: bool
    near: tuple[frozenset[tuple[int, Shift]], ...]
    lays: tuple[_Lies, ...]
    stops: tuple[dict[tuple[int, Shift], int], ...]
    shells: tuple[int, ...]

    @cached_property
    def colours(self) -> tuple[int, ...]:
        """What tells rings apart whatever the shifts: shells, refined by those of neighbours."""
        colour = list(self.shells)
        for _ in range(len(colour)):
            marks = [
                (colour[i], tuple(sorted(colour[j] for j, _ in n))) for i, n in enumerate(self.near)
            ]
            names = {m: k for k, m in enumerate(sorted(set(marks)))}
            fresh = [names[m] for m in marks]
            if len(set(fresh)) == len(set(colour)):
                break
            colour = fresh
        return tuple(colour)


def _shells(repeat: Repeat) -> dict[Class, Shells]:
    """How many rings stand one, two, three … links away from each ring of the endless piece.

    No renaming changes these numbers (the coordination sequence of crystallography), so weaves
    that differ in them are told apart without a search.
    """
    near, found = repeat.neighbours, {}
    for ring in repeat.classes:
        inner, edge = set[tuple[Class, Shift]](), {(ring, (0, 0))}
        sizes: list[int] = []
        follow = len(near[ring])
        while not sizes or (len(sizes) < FAR and follow <= MOST_FOLLOWED):
            beyond = {
                (other, (at[0] + shift[0], at[1] + shift[1]))
                for c, at in edge
                for other, shift in near[c]
            }
            inner, edge = edge, beyond - inner - edge
            sizes.append(len(edge))
            follow = sum(len(near[c]) for c, _ in edge)
        found[ring] = tuple(sizes)
    return found


def _net(repeat: Repeat, basis: tuple[Shift, Shift], shells: dict[Class, int]) -> _Net:
    """The cycle taken over a coarser lattice, whose two steps `basis` gives in cycles.

    basis: ((a, b), (0, d)) in rows and units, with 0 <= b < d. shells: a number for each kind.
    """
    (a, b), (_, d) = basis
    number = {c: i for i, c in enumerate(repeat.classes)}
    size = len(number)
    lay: dict[Class, _Lies] = {}
    parted: dict[Class, list[tuple[Class, Shift, int]]] = {}

    def known(ring: Ring) -> tuple[Class, Shift]:
        """A ring of the pattern as one of its cycle, and how many cycles on it stands."""
        (rows, units), (top, first) = repeat.cycle, repeat.origin
        down, row = divmod(ring.row - top, rows)
        on, unit = divmod(ring.unit - first, units)
        return Class(ring.role, ring.index, row, unit), (down, on)

    for act in repeat.acts:
        for number_of, ring in enumerate(act.new or act.handled):
            c, home = known(ring)
            side, laid, folded = lay.get(c, (None, None, None))
            if act.new and act.owes_lay:
                side = act.side
            hand = act.toward[number_of] if act.toward else None
            laid, folded = (hand or laid, folded) if act.new else (laid, hand or folded)
            lay[c] = (side, laid, folded)
            for nth, stop in enumerate(act.stops if len(act.stops) > 1 else ()):
                for gone in stop:
                    other, (down, on) = known(gone)
                    parted.setdefault(c, []).append((other, (down - home[0], on - home[1]), nth))

    def at(c: Class, cell: Shift) -> tuple[int, Shift]:
        rows = cell[0] // a
        units = cell[1] - rows * b
        inner = (cell[0] - rows * a, units % d)
        return number[c] + size * (inner[0] * d + inner[1]), (rows, units // d)

    cells = [*product(range(a), range(d))]
    near: list[set[tuple[int, Shift]]] = [set() for _ in range(size * a * d)]
    lays: list[_Lies] = [(None, None, None)] * (size * a * d)
    stops: list[dict[tuple[int, Shift], int]] = [{} for _ in range(size * a * d)]
    for cell in cells:
        for c, others in repeat.neighbours.items():
            one, home = at(c, cell)
            lays[one] = lay.get(c, (None, None, None))
            for other, (rows, units), nth in parted.get(c, ()):
                two, away = at(other, (cell[0] + rows, cell[1] + units))
                stops[one][two, (away[0] - home[0], away[1] - home[1])] = nth
            for other, (rows, units) in others:
                two, away = at(other, (cell[0] + rows, cell[1] + units))
                near[one].add((two, (away[0] - home[0], away[1] - home[1])))
    return _Net(
        repeat.layout.flat,
        tuple(frozenset(n) for n in near),
        tuple(lays),
        tuple(stops),
        tuple(shells[c] for c in repeat.classes) * len(cells),
    )


def _bases(times: int, flat: bool) -> Iterator[tuple[Shift, Shift]]:
    """Every lattice of that index (Hermite's normal form); one for a chain."""
    if not flat:
        yield ((1, 0), (0, times))
        return
    for a in range(1, times + 1):
        if times % a == 0:
            for b in range(times // a):
                yield ((a, b), (0, times // a))


def _turns(flat: bool) -> tuple[Matrix, ...]:
    """Whole-number changes of the shifts: for a chain forwards and backwards, for a sheet every
    unimodular matrix with entries from -2 to 2, plainest first."""
    if not flat:
        return ((1, 0, 0, 1), (1, 0, 0, -1))
    span = (0, 1, -1, 2, -2)
    found = [m for m in product(span, span, span, span) if m[0] * m[3] - m[1] * m[2] in (1, -1)]
    return tuple(sorted(found, key=lambda m: (sum(map(abs, m)), [-x for x in m])))


def _matches(one: _Net, other: _Net, turn: Matrix, lays: Lay) -> bool:
    """Whether some renaming turns the links of one net into those of the other."""
    a, b, c, d = turn
    size = len(one.near)
    fronts = any(side for side, _, _ in one.lays)
    parted = any(one.stops) or any(other.stops)
    order = _walk(one)
    image: dict[int, tuple[int, Shift]] = {}
    taken: set[int] = set()

    def moved(shift: Shift) -> Shift:
        return (a * shift[0] + b * shift[1], c * shift[0] + d * shift[1])

    def fits(ring: int, to: int, offset: Shift) -> bool:
        if to in taken or one.colours[ring] != other.colours[to]:
            return False
        if lays in ("same", "mirror"):
            lies = one.lays[ring]
            if (_mirrored(lies, fronts) if lays == "mirror" else lies) != other.lays[to]:
                return False
            if parted and not parted_alike(ring, to, offset):
                return False
        for near, shift in one.near[ring]:
            if near == ring:
                if (to, moved(shift)) not in other.near[to]:
                    return False
            elif near in image:
                there, base = image[near]
                step = moved(shift)
                want = (step[0] + base[0] - offset[0], step[1] + base[1] - offset[1])
                if (there, want) not in other.near[to]:
                    return False
        return True

    def parted_alike(ring: int, to: int, offset: Shift) -> bool:
        """Whether the rings placed so far that one ring goes through at one place are at one place
        in the other net, seen from the ring itself and from those that go through it."""
        now = {**image, ring: (to, offset)}
        seen = (ring, *(near for near, _ in one.near[ring]))
        for through in (r for r in seen if r in now):
            here, base = now[through]
            pairs: set[tuple[int | None, int | None]] = set()
            for near, shift in one.near[through]:
                if near not in now or near == through:
                    continue
                there, away = now[near]
                step = moved(shift)
                want = (step[0] + away[0] - base[0], step[1] + away[1] - base[1])
                mine, theirs = one.stops[through], other.stops[here]
                pairs.add((mine.get((near, shift)), theirs.get((there, want))))
            if len({a for a, _ in pairs}) < len(pairs) or len({b for _, b in pairs}) < len(pairs):
                return False
            if any((a is None) != (b is None) for a, b in pairs):
                return False
        return True

    def place(at: int) -> bool:
        if at == size:
            return True
        ring, near, shift = order[at]
        if near is None:
            choices = [(to, (0, 0)) for to in range(size)]
        else:
            there, base = image[near]
            choices = [(to, (base[0] + s[0], base[1] + s[1])) for to, s in other.near[there]]
        for to, offset in choices:
            if near is not None:
                # The ring stands `shift` from its neighbour; what is left is its own offset.
                step = moved(shift)
                offset = (offset[0] - step[0], offset[1] - step[1])
            if fits(ring, to, offset):
                image[ring] = (to, offset)
                taken.add(to)
                if place(at + 1):
                    return True
                del image[ring]
                taken.discard(to)
        return False

    return place(0)


_OTHER_SIDE: dict[Side | None, Side | None] = {None: None, "front": "back", "back": "front"}
_OTHER_HAND: dict[Hand | None, Hand | None] = {None: None, "left": "right", "right": "left"}


def _mirrored(lies: _Lies, fronts: bool) -> _Lies:
    """How a ring lies in the mirror image: front and back change places, or left and right where
    the piece has no fronts. Both at once would be the piece turned round."""
    side, laid, folded = lies
    if fronts:
        return _OTHER_SIDE[side], laid, folded
    return None, _OTHER_HAND[laid], _OTHER_HAND[folded]


def _walk(net: _Net) -> list[tuple[int, int | None, Shift]]:
    """Every ring in an order in which each has a neighbour before it, as (ring, it, shift).

    Next comes the ring with most neighbours before it, so that what cannot fit shows soon.
    """
    rare = Counter(net.colours)
    known: dict[int, tuple[int, Shift]] = {}
    met: Counter[int] = Counter()
    left = sorted(range(len(net.near)), key=lambda i: (rare[net.colours[i]], i))
    found: list[tuple[int, int | None, Shift]] = []
    while left:
        ring = max(left, key=lambda i: met[i])
        left.remove(ring)
        found.append((ring, *known.get(ring, (None, (0, 0)))))
        for other, step in sorted(net.near[ring]):
            met[other] += 1
            known.setdefault(other, (ring, step))
    return found


def _pairs(one: Repeat, other: Repeat) -> Iterator[tuple[_Net, _Net]]:
    """The two cycles at a common number of rings, over every choice of coarser lattice; none where
    their rings differ in what no lattice changes."""
    flat = one.layout.flat
    size = lcm(len(one.classes), len(other.classes))
    mine, theirs = size // len(one.classes), size // len(other.classes)
    near_one, near_other = _shells(one), _shells(other)
    if Counter([*near_one.values()] * mine) != Counter([*near_other.values()] * theirs):
        return
    kinds = {shells: kind for kind, shells in enumerate(sorted(set(near_one.values())))}
    firsts = [_net(one, b, {c: kinds[s] for c, s in near_one.items()}) for b in _bases(mine, flat)]
    for basis in _bases(theirs, flat):
        second = _net(other, basis, {c: kinds[s] for c, s in near_other.items()})
        yield from ((first, second) for first in firsts)


def _moves(repeat: Repeat) -> Counter[tuple[str, int]]:
    """Folds, spreads and turns, by how many rings they take, per ring of the cycle."""
    found: Counter[tuple[str, int]] = Counter()
    for act in repeat.acts:
        if act.step.kind in ("fold back", "turn over"):
            found[(act.step.kind, len(act.handled))] += 1
    return found


def repeating(weave: Weave) -> Weave:
    """The weave as a repeat: written-out units are folded into the cycle that their last ones
    show, so that a hand-out can be compared with a recipe that says 'unit:'."""
    if weave.repeat is not None or weave.layout.written == 0:
        return weave
    period = period_of(weave)
    size = period.piece if period else 1
    recipe = weave.recipe
    written = sorted(
        (b for b in recipe.blocks if isinstance(b.label, int)), key=lambda b: int(b.label or 0)
    )
    turn = written[-size:]
    labels = [None] if size == 1 else [f"turn{i}" for i in range(size)]
    blocks = tuple(replace(b, label=label) for b, label in zip(turn, labels, strict=True))
    start = tuple(b for b in recipe.blocks if b.kind == "start")
    span = turn[0].span
    order = tuple(Stated(str(b.label), span) for b in blocks) if size > 1 else ()
    piece = Piece("chain", span, 12 * size, order=order)
    return Weave(replace(recipe, blocks=(*start, *blocks), piece=piece), weave.variant)


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
    turns = _turns(a.layout.flat)
    links, lay = False, "none" if not laid else "other"
    for first, second in _pairs(a, b):
        for turn in turns:
            if not links and _matches(first, second, turn, "none"):
                links = True
            if links and laid and turn == turns[0]:
                if _matches(first, second, turn, "same"):
                    return Likeness(True, "same", _same_moves(a, b))
                if lay == "other" and _matches(first, second, turn, "mirror"):
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
