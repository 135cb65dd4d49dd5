"""The piece ring by ring, held against the independent carrier: who is linked with whom, where each
step was worked and from which side, what a ring would meet by its pattern, which rings are
finished; and the window, in which long stretches are cut, held against the piece uncut."""

from __future__ import annotations

import random
from collections import Counter
from functools import cache

import pytest
from helpers import EXAMPLES, LIBRARY, ROOT, view
from second_opinion.carrier import Piece
from second_opinion.pattern import Pattern
from second_opinion.reading import Text, read
from second_opinion.recipes import recipe

from ringstep.weave.lie import follow
from ringstep.weave.piece import Weave
from ringstep.weave.work import Ring

#: Recipes drawn by chance, in which there is every kind of piece but strands, then strands.
DRAWN = [f"drawn {n}" for n in (*range(30), 154, 273, 468, 662, 722, 809, 921, 926)]
STRANDS = ["both_ways_from_a_sun", "fringe_between_bars", "halves_joined_last", "dangles"]
FILES = {p.stem: p for folder in (LIBRARY, EXAMPLES, ROOT / "tests" / "cases")
         for p in folder.glob("*.weave")}  # fmt: skip
Spot = tuple[str, int, int, int]


@cache
def text_of(name: str) -> str:
    if name.startswith("drawn "):
        return recipe(random.Random(f"ring {name.removeprefix('drawn ')}")).text
    return FILES[name].read_text(encoding="utf-8")


@cache
def weaves(name: str) -> tuple[Weave, ...]:
    return view(text_of(name)).weaves


@cache
def wholes(name: str) -> tuple[Weave, ...]:
    """The same with nothing cut."""
    return tuple(Weave(w.recipe, w.variant, True) for w in weaves(name))


def opinion(name: str, weave: Weave) -> tuple[Text, Piece]:
    text = read(text_of(name))
    return text, Piece(text, weave.variant.name if weave.variant else "")


def spot(weave: Weave, ring: Ring) -> Spot:
    """A ring as the carrier has it, for whom every strand is a row of its own."""
    strands = weave.work.layout.strands
    if strands is None:
        return tuple(ring)
    names, own = list(strands.spans), strands.name_of(ring.unit)
    if own:
        at = ring.unit - strands.spans[own][0] + 1
        return ring.role, ring.index, names.index(own) + 1, at
    return ring.role, ring.index, 0 if ring.unit == 0 else len(names) + 1, 0


@pytest.mark.parametrize("name", [*DRAWN, *STRANDS])
def test_steps_links_and_lays(name: str) -> None:
    for weave in wholes(name):
        text, piece = opinion(name, weave)
        # Where in a sheet a part lies, of which only a step's list speaks, is said otherwise.
        parts = text.parts if text.flat else []
        mine = {spot(weave, r): {spot(weave, o) for o in others if o.role not in parts}
                for r, others in weave.work.links.items() if r.role not in parts}  # fmt: skip
        its = {tuple(r): {tuple(o) for o in others if o.role not in parts}
               for r, others in piece.links.items() if r.role not in parts}  # fmt: skip
        assert mine == its
        acts = [a for a in weave.work.acts if a.last]
        assert [a.step.span.line for a in acts] == [a.step.line for a in piece.acts]
        if not text.strands:
            assert [(a.row, a.unit) for a in acts] == [(a.row, a.unit) for a in piece.acts]
        assert [bool(a.dropped) for a in acts] == [a.left_out for a in piece.acts]
        assert [a.owes_lay for a in acts] == [a.lay_matters for a in piece.acts]
        if not any(a.step.kind == "turn over" for a in acts):
            assert [a.side or "" for a in acts] == [a.side for a in piece.acts]
        placed = Counter(spot(weave, r) for a in weave.work.acts for r in a.new)
        assert placed == Counter(tuple(r) for a in piece.acts for r in a.new)


@pytest.mark.parametrize("name", [*DRAWN, *STRANDS])
def test_meeting_what_a_pattern_gives_and_done_rings(name: str) -> None:
    """What is told of a ring's pattern is the carrier's, who lets the piece grow on all sides; the
    rings of its steady middle are finished, and others only where no pattern tells of them."""
    weave = wholes(name)[0]
    text, piece = opinion(name, weave)
    pattern = Pattern(piece)
    standing = {tuple(cell): tuple(ring) for cell, ring in pattern._standing.items()}
    meets = {tuple(ring): near for ring, near in pattern.meets.items()}
    # At the seam of a tube the ring of a row end may be the one that stands before unit 1; whether
    # it is, the carrier always tells and the program not always.
    judged = [r for r in weave.work.links if text.shape != "tube" or 1 < r.unit <= text.units]
    judged = [r for r in judged if r.role not in text.parts]
    for ring in judged:
        would, near = weave.meeting.would_meet(ring), meets.get(spot(weave, ring))
        if would is None or near is None:
            continue
        there = {spot(weave, other) for other in would if other is not None}
        cells = [tuple(cell) for cell in near]
        assert there == {standing[cell] for cell in cells if cell in standing}
        assert would.count(None) == sum(cell not in standing for cell in cells)
    finished = {spot(weave, r) for r in weave.finished}
    steady = {tuple(r) for r in pattern.steady}
    own = {spot(weave, r) for r in judged}
    assert steady & own <= finished
    if text.shape != "loop":
        for ring in finished & own & meets.keys():
            assert all(tuple(cell) in standing for cell in meets[ring]), ring
    assert not weave.owed


@pytest.mark.parametrize("name", [*DRAWN, *STRANDS, *FILES])
def test_counts_and_done_rings_of_the_window_are_those_of_the_whole(name: str) -> None:
    for cut, whole in zip(weaves(name), wholes(name), strict=True):
        if cut.recipe.made or whole.layout.places > 3000:
            continue
        layout = cut.work.layout
        # how often each act is done, where, and what comes of it
        assert cut.counts == whole.counts
        assert cut.links == whole.links
        assert sum(map(cut.stands_for, cut.work.acts)) == len(whole.work.acts)

        def place(ring: Ring, layout=layout, whole=whole) -> Ring:  # type: ignore[no-untyped-def]
            """Where a ring of the window stands on the piece."""
            unit = layout.number(ring.unit)
            if mine := layout.strands:
                own, its = mine.name_of(ring.unit), whole.layout.strands
                behind = its.behind if ring.unit else 0
                unit = its.spans[own].start + unit - 1 if own else behind
            row = layout.row_number(ring.row) if layout.flat else ring.row
            return ring._replace(row=row, unit=unit)

        rings = {place(r): r for r in cut.work.links}
        assert len(rings) == len(cut.work.links)
        assert rings.keys() <= whole.work.links.keys()
        done, all_done = {place(r) for r in cut.finished}, set(whole.finished)
        assert done == all_done & rings.keys()
        for at, ring in rings.items():
            assert cut.met(ring) == whole.met(at)
            if not layout.strands:
                assert cut.meeting.near(ring) == whole.meeting.near(at)
            mine, its = cut.meeting.would_meet(ring), whole.meeting.would_meet(at)
            assert (mine is None) == (its is None)
            assert sorted(r.role if r else "" for r in mine or ()) == sorted(
                r.role if r else "" for r in its or ()
            )
        met = [{(r, i, *sorted(m.items())) for r, i, m in w.neighbourhoods} for w in (cut, whole)]
        assert met[0] == met[1]
        ways = [{(r.role, r.index, way) for r, way in follow(w).ways.items()} for w in (cut, whole)]
        assert ways[0] == ways[1]
