"""How pieces made first lie beside one another on paper: next to what they are joined to.

Comes in: a checked recipe of such pieces. Goes out: a `JoinSheet`, with the seats of every piece,
and for each piece its column and row.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain, count

from ringstep.checks.view import View
from ringstep.draw.drafts import Sheet
from ringstep.draw.pictures import distinct_labels
from ringstep.language.source import Refused
from ringstep.language.syntax import Ref, Step
from ringstep.weave.joined import Copy, Joined
from ringstep.weave.layout import refs_of
from ringstep.weave.work import Ring

#: Rings of a piece made first, and of all, that are drawn one by one.
MOST_RINGS = 2_000
_WAYS = {"right edge": (1, 0), "left edge": (-1, 0), "first row": (0, 1), "last row": (0, -1)}
Cell = tuple[int, int]


class JoinSheet:
    """What the diagrams of one recipe share: the seats of each piece, and how it is joined."""

    def __init__(self, view: View) -> None:
        self.view, self.work = view, view.weave.work
        assert isinstance(self.work.layout, Joined)
        self.layout: Joined = self.work.layout
        if len(self.work.placed_by) > MOST_RINGS:
            raise Refused(
                f"the pieces have more than {MOST_RINGS:,} rings, too many to draw one by one;"
                " 'ringstep steps' says it in words"
            )
        self.sheets = []
        for piece, weave in zip(view.pieces, view.weave.made, strict=True):
            whole = View(piece.recipe, ())
            whole.__dict__["weave"] = weave
            self.sheets.append(Sheet(whole))
        self.boxes = [sheet.box(sheet.seats.at) for sheet in self.sheets]
        names = {view.weave.name(r) for r in self.work.placed_by if r.row < 0}
        self.labels = distinct_labels(names)

    def copy_of(self, ring: Ring) -> Copy | None:
        """The piece in which a ring stands."""
        return self.layout.copy_at(ring.row, ring.unit)

    def lines(self, step: Step) -> list[tuple[Copy, Ref]]:
        """The pieces that a step joins, each with the first item that names it."""
        found: dict[str, tuple[Copy, Ref]] = {}
        for ref in refs_of(step):
            for copy in self.layout.copies:
                own = self.view.recipe.made[copy.made].name.value
                if ref.of and ref.of.name == own and ref.of.number in (None, copy.number):
                    found.setdefault(copy.called, (copy, ref))
        return list(found.values())


def way_of(ref: Ref, lower: bool) -> Cell:
    """To which side of its piece an edge lies; of a chain the long side that faces the other."""
    assert ref.of is not None
    return _WAYS.get(ref.of.edge, (0, 1 if lower else -1) if ref.of.edge else (1, 0))


def cells_of(sheet: JoinSheet, steps: Iterable[Step], copies: list[Copy]) -> dict[str, Cell]:
    """Where each piece lies, in columns and rows: beside the one that it is joined to."""
    known = {copy.called for copy in copies}
    seams = [each for s in steps if len(each := sheet.lines(s)) > 1]
    found: dict[str, Cell] = {}
    while missing := [copy for copy in copies if copy.called not in found]:
        before = len(found)
        for (one, ref), *others in seams:
            for two, other in others:
                if one.called not in known or two.called not in known:
                    continue
                for (a, x), (b, _), lower in (
                    ((one, ref), (two, other), False),
                    ((two, other), (one, ref), True),
                ):
                    if a.called in found and b.called not in found:
                        (c, r), (dc, dr) = found[a.called], way_of(x, lower)
                        spots = chain([(c + dc, r + dr)], ((c + n, r) for n in count(1)))
                        taken = set(found.values())
                        found[b.called] = next(spot for spot in spots if spot not in taken)
        if len(found) == before:
            column = max((c for c, _ in found.values()), default=-1) + 1
            found[missing[0].called] = (column, 0)
    return found
