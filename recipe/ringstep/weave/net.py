"""One cycle of an endless piece as numbers: who links whom, how many cycles on, and how each lies.

Comes in: a `Repeat`. Goes out: a `Net`, by which weaves are compared and marked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import product

from ringstep.language.syntax import Hand, Side
from ringstep.weave.ring_graph import Class, Repeat, Shift
from ringstep.weave.work import Ring

#: How a ring lies: its lay, the side it was laid to, the side it was folded to.
Lies = tuple[Side | None, Hand | None, Hand | None]
Shells = tuple[int, ...]

#: Links are followed so far from a ring to tell it from others, and no further than so many.
FAR, MOST_FOLLOWED = 6, 2000


@dataclass(frozen=True)
class Net:
    """A cycle as numbers: for each ring its neighbours as (ring, shift), and how it lies.

    stops: for each ring the places at which it goes through neighbours, where that is said.
    """

    flat: bool
    near: tuple[frozenset[tuple[int, Shift]], ...]
    lays: tuple[Lies, ...]
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


def shells_of(repeat: Repeat) -> dict[Class, Shells]:
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


def net_of(repeat: Repeat, basis: tuple[Shift, Shift], shells: dict[Class, int]) -> Net:
    """The cycle taken over a coarser lattice, whose two steps `basis` gives in cycles.

    basis: ((a, b), (0, d)) in rows and units, with 0 <= b < d. shells: a number for each kind.
    """
    (a, b), (_, d) = basis
    number = {c: i for i, c in enumerate(repeat.classes)}
    size = len(number)
    lay: dict[Class, Lies] = {}
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
    lays: list[Lies] = [(None, None, None)] * (size * a * d)
    stops: list[dict[tuple[int, Shift], int]] = [{} for _ in range(size * a * d)]
    for cell in cells:
        for c, others in repeat.neighbours.items():
            one, _ = at(c, cell)
            lays[one] = lay.get(c, (None, None, None))
            for other, (rows, units), nth in parted.get(c, ()):
                stops[one][at(other, (cell[0] + rows, cell[1] + units))] = nth
            for other, (rows, units) in others:
                near[one].add(at(other, (cell[0] + rows, cell[1] + units)))
    return Net(
        repeat.layout.flat,
        tuple(frozenset(n) for n in near),
        tuple(lays),
        tuple(stops),
        tuple(shells[c] for c in repeat.classes) * len(cells),
    )


def bases(times: int, flat: bool) -> Iterator[tuple[Shift, Shift]]:
    """Every lattice of that index (Hermite's normal form); one for a chain."""
    if not flat:
        yield ((1, 0), (0, times))
        return
    for a in range(1, times + 1):
        if times % a == 0:
            for b in range(times // a):
                yield ((a, b), (0, times // a))


_OTHER_SIDE: dict[Side | None, Side | None] = {None: None, "front": "back", "back": "front"}
_OTHER_HAND: dict[Hand | None, Hand | None] = {None: None, "left": "right", "right": "left"}


def mirrored(lies: Lies, fronts: bool) -> Lies:
    """How a ring lies in the mirror image: front and back change places, or left and right where
    the piece has no fronts. Both at once would be the piece turned round."""
    side, laid, folded = lies
    if fronts:
        return _OTHER_SIDE[side], laid, folded
    return None, _OTHER_HAND[laid], _OTHER_HAND[folded]
