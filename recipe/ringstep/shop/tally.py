"""How many rings and links a piece has, role by role, for any size.

Comes in: a clean `View`. Goes out: a frozen `PieceCount`. One by one, every ring of the piece is
placed instead, to hold the two counts against each other.
"""

from __future__ import annotations

from dataclasses import dataclass

from ringstep.checks.summary import piece_words
from ringstep.checks.view import View
from ringstep.language.source import Refused
from ringstep.language.syntax import RingKind, joined
from ringstep.shop.kit_length import how_to_measure
from ringstep.weave.counts import count_strands
from ringstep.weave.piece import Weave

#: Most rings that are placed one by one: about ten seconds and half a gigabyte.
MOST_EXPLICIT = 200_000


class NoCount(Refused):
    """A piece that cannot be counted, or not ring by ring; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class RoleCount:
    """One named ring of the unit. kind: its line of `rings:`, None for a part."""

    name: str
    kind: RingKind | None
    words: str
    opened: int
    closed: int
    taken_out: int

    @property
    def placed(self) -> int:
        """How many a maker handles."""
        return self.opened + self.closed

    @property
    def where(self) -> str:
        """In which stretch of the piece they are placed, "" for the whole of it."""
        return str(self.kind.along) if self.kind and self.kind.along else ""


@dataclass(frozen=True, slots=True)
class PieceCount:
    """Rings and links of a piece. links: those that stay, among rings and with parts alike.

    strands: each one's name, units and rings. made: of each piece made first its name, how many
    there are, and the rings of one of them; what joins them takes the others.
    """

    title: str
    piece: str
    rings: tuple[RoleCount, ...]
    parts: tuple[RoleCount, ...]
    links: int
    links_with_parts: int
    explicit: bool
    strands: tuple[tuple[str, int, int], ...] = ()
    made: tuple[tuple[str, int, int], ...] = ()


def explicit(weave: Weave) -> Weave:
    """The same piece with every ring placed one by one. Raises `NoCount` before placing any."""
    expected = weave.counts.total()
    if expected > MOST_EXPLICIT:
        raise NoCount(
            f"the piece has {expected:,} rings, and at most {MOST_EXPLICIT:,} are placed one by one"
            " (time and memory grow with each); leave --explicit out: counting by how the units"
            " repeat gives the same for every size"
        )
    return Weave(weave.recipe, weave.variant, whole=True)


def _rings(weave: Weave) -> int:
    """How many rings a piece takes, parts aside."""
    parts = weave.recipe.part_roles
    return sum(n for (role, _), n in weave.counts.placed().items() if role not in parts)


def count_piece(view: View, one_by_one: bool = False) -> PieceCount:
    """Count the piece as the recipe has it.

    Raises `NoCount` where its length is not known, or where `one_by_one` is too much.
    """
    if not view.weave.layout.known:
        raise NoCount(
            "the recipe gives a length and no sample, so it does not say how many units that is:"
            f" {how_to_measure(view.recipe.piece)}"
        )
    named = {p.name.role: p for p in view.recipe.parts}
    weave = explicit(view.weave) if one_by_one else view.weave
    links, links_with_parts = weave.links
    rings: list[RoleCount] = []
    others: list[RoleCount] = []
    for lot in weave.lots:
        role, index = lot.role, lot.index
        part = named.get(role)
        one = RoleCount(
            role if view.weave.names.get(role, (1,)) == (1,) else joined(role, index),
            lot.kind,
            part.words if part else "",
            lot.opened,
            lot.closed,
            lot.taken_out,
        )
        (others if part else rings).append(one)
    return PieceCount(
        view.recipe.title or "Ring weave",
        piece_words(view),
        tuple(rings),
        tuple(others),
        links,
        links_with_parts,
        one_by_one or bool(view.recipe.made),
        tuple((name, *counted) for name, counted in count_strands(weave.work).items()),
        tuple(
            (made.name.value, made.times, _rings(own))
            for made, own in zip(view.recipe.made, weave.made, strict=True)
        ),
    )
