"""What comes of carrying a recipe out: rings, acts, what could not be done, and links.

Frozen data; `steps.py` makes it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, NamedTuple

from ringstep.language.syntax import Block, Hand, Ref, Side, Step, joined
from ringstep.language.tree import Tree
from ringstep.weave.layout import Layout
from ringstep.weave.places import Place, places_seen


class Ring(NamedTuple):
    """One ring (or part) of the piece: its role, its number in its unit, and its place."""

    role: str
    index: int  # type: ignore[assignment]
    row: int
    unit: int


SnagKind = Literal[
    "unknown",
    "not yet",
    "taken out",
    "off the piece",
    "no such place",
    "which strand",
    "placed twice",
    "through itself",
    "linked twice",
    "closed through",
    "stays closed",
    "numbered",
    "through nothing",
    "no such piece",
    "which piece",
    "which place",
    "no such edge",
    "unlike edges",
]


@dataclass(frozen=True)
class Snag:
    """Something in a step that cannot be done.

    step, block: where; ref: the list item, or None where the whole step is meant.
    place: (row, unit) at which it was first met; at: the place that the item looks at.
    ring: the ring concerned, where there is one.
    """

    kind: SnagKind
    step: Step
    block: Block
    place: Place
    ref: Ref | None = None
    at: Place | None = None
    ring: Ring | None = None


class Gathered(dict[Ring, int]):
    """The rings that an `every` means, with how many rings of the piece each stands for; not to be
    changed."""

    def __hash__(self) -> int:  # type: ignore[override]
        return len(self)


class Act(NamedTuple):
    """One step carried out at one place; one ring of it, where its rings go through one another.

    new: rings opened (or closed) and placed; through, held, handled: rings it names.
    dropped: list items left out because their place is off the piece.
    skipped: True where the whole step is left out at the edge, or moves no ring there.
    side: the lay as seen by the worker at the beginning of the work, or None.
    stops: the rings gone through, place by place along the new ring; one place where the step says
    so, none where nothing tells at how many places they are.
    toward: for each new ring, or each ring folded, the side it lies on as seen at the beginning of
    the work, start end down; nothing where no side is said, or rings fold one to each.
    owes_lay: True where front and back make different pieces.
    last: False where more rings of the same step follow, each through those before it.
    every: of the rings gone through, those that an `every` means.
    """

    step: Step
    block: Block
    row: int
    unit: int
    new: tuple[Ring, ...]
    through: tuple[Ring, ...]
    held: tuple[Ring, ...]
    handled: tuple[Ring, ...]
    dropped: tuple[Ref, ...]
    skipped: bool
    side: Side | None
    owes_lay: bool
    stops: tuple[tuple[Ring, ...], ...] = ()
    toward: tuple[Hand, ...] = ()
    last: bool = True
    every: Gathered = Gathered()

    @property
    def picks(self) -> int:
        """How many rings of the piece it goes through."""
        return sum(self.every.get(ring, 1) for ring in self.through)

    @property
    def gathers_all(self) -> bool:
        """True where an `every` of it means the whole piece or row, and not one strand."""
        return any(ref.every and not ref.strand for ref in self.step.through)

    @property
    def opens(self) -> bool:
        """False where the rings it places are closed already, as is the first of a rosette."""
        return self.step.kind != "close" and not (self.step.first_closed and not self.through)

    @property
    def movers(self) -> tuple[Ring, ...]:
        """The rings that are led through others: those placed, or those opened again."""
        return self.handled if self.step.kind == "reopen" else self.new

    def named_by(self, ref: Ref, layout: Layout) -> list[Ring]:
        """The rings that one item of its lists names; none for one that is left out."""
        if ref.one_another:
            own, here = set(self.step.placed), (self.row, self.unit)
            return [r for r in self.through if r[:2] in own and (r.row, r.unit) == here]
        if ref.every:
            whole = not (layout.strands and ref.strand)
            span = () if whole else layout.strands.spans[ref.strand]  # type: ignore[union-attr]
            return [r for r in self.every if r.role == ref.name.role and (whole or r.unit in span)]
        role, index = ref.name.role, ref.name.index
        pool = dict.fromkeys((*self.through, *self.held, *self.handled))
        wanted = [r for r in pool if r.role == role and index in (None, r.index)]
        places = places_seen(layout, ref, self.block, self.row, self.unit)
        there = [r for r in wanted if (r.row, r.unit) in places]
        # A bar that a whole row hangs from lies in no place of the row.
        return there or (wanted if role in layout.recipe.part_roles else [])


@dataclass(frozen=True)
class Work:
    """A recipe carried out.

    links: for each ring in the piece, the rings linked with it and the number of the act that did
    it. removed: (ring, other, made, undone) for links that a `take out` undid, with both acts.
    """

    layout: Layout
    acts: tuple[Act, ...]
    snags: tuple[Snag, ...]
    links: dict[Ring, dict[Ring, int]]
    held: tuple[tuple[Ring, Ring], ...]
    placed_by: dict[Ring, int]
    removed: tuple[tuple[Ring, Ring, int, int], ...] = ()

    def made_by(self, ring: Ring, act: int) -> list[tuple[Ring, int]]:
        """The rings it is linked with once an act is done, and the acts that made these links."""
        made = [(other, n) for other, n in self.links.get(ring, {}).items() if n <= act]
        gone = self._undone.get(ring, ())
        return made + [(other, n) for other, n, undone in gone if n <= act < undone]

    def moved(self, units: int) -> Work:
        """The same so many units further on, as a copy among others; worked out once for each."""
        if units not in self._moved:
            self._moved[units] = _moved(self, units)
        return self._moved[units]

    @cached_property
    def _moved(self) -> dict[int, Work]:
        return {}

    @cached_property
    def _undone(self) -> dict[Ring, list[tuple[Ring, int, int]]]:
        """For each ring that lost a link, the other, and the acts that made and undid it."""
        found: dict[Ring, list[tuple[Ring, int, int]]] = {}
        for a, b, made, undone in self.removed:
            found.setdefault(a, []).append((b, made, undone))
            found.setdefault(b, []).append((a, made, undone))
        return found


def _moved(work: Work, units: int) -> Work:
    def moved(ring: Ring) -> Ring:
        return Ring(ring.role, ring.index, ring.row, ring.unit + units)

    def each(rings: Iterable[Ring]) -> tuple[Ring, ...]:
        return tuple(map(moved, rings))

    acts = tuple(
        act._replace(
            unit=act.unit + units, new=each(act.new), through=each(act.through),
            held=each(act.held), handled=each(act.handled), stops=tuple(map(each, act.stops)),
            every=Gathered((moved(ring), often) for ring, often in act.every.items()),
        )
        for act in work.acts
    )  # fmt: skip
    links = {
        moved(ring): {moved(other): n for other, n in others.items()}
        for ring, others in work.links.items()
    }
    held = tuple((moved(a), moved(b)) for a, b in work.held)
    placed_by = {moved(ring): n for ring, n in work.placed_by.items()}
    removed = tuple((moved(a), moved(b), made, undone) for a, b, made, undone in work.removed)
    return replace(work, acts=acts, links=links, held=held, placed_by=placed_by, removed=removed)


def role_indexes(blocks: tuple[Block, ...]) -> dict[str, tuple[int, ...]]:
    """Which rings of each role the blocks place, by number; not to be changed."""
    if len(blocks) == 1:
        return blocks[0].placed
    found: dict[str, list[int]] = {}
    for block in blocks:
        for role, have in block.placed.items():
            found.setdefault(role, []).extend(have)
    return {role: tuple(dict.fromkeys(have)) for role, have in found.items()}


def pattern_from(recipe: Tree) -> int:
    """The unit that takes the first side of a variant: the start where that leaves its lay to it,
    or else unit 1."""
    lays = [(b.kind, s.lay.value) for b in recipe.blocks for s in b.steps if s.lay]
    return 0 if ("start", "varies") in lays else 1


def ring_name(ring: Ring, indexes: tuple[int, ...]) -> str:
    """A ring as the author would call it within its unit: `M1`, or `A` where there is one A."""
    return ring.role if indexes == (1,) else joined(ring.role, ring.index)
