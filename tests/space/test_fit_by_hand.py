"""How a fit is searched for, kept, sorted and told, with forms whose room is given by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from fit_made_up import RINGS, SHAPE, apart, found, grown, searching

from ringstep.space import fit as made
from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.circles import Layout, shape_of
from ringstep.space.fit import Found, _Search
from ringstep.space.tighten import Tight

Fakes = pytest.MonkeyPatch


# -- what is kept -------------------------------------------------------------------------------


def test_a_start_is_settled_with_its_signs_or_without(monkeypatch: Fakes) -> None:
    asked: list[Any] = []
    fails = 0

    def settle(shape: Any, start: Layout, signs: Any = None) -> Layout | None:
        assert shape is SHAPE
        asked.append(signs)
        return None if len(asked) <= fails else start

    thick: list[Any] = []
    monkeypatch.setattr(made, "settle", settle)
    monkeypatch.setattr(made, "thicken", grown({1.0: 1.2}, thick))
    kept = searching().add(apart(1.0), np.array([1]), 7, 0.5)
    assert kept is not None
    assert kept.room == 1.2
    assert thick == [(7, 0.5)]
    assert len(asked) == 1
    fails, asked[:] = 1, []
    assert searching().add(apart(1.0), np.array([1]), 7, 0.5) is not None
    assert [x is None for x in asked] == [False, True]
    asked[:] = []
    assert searching().add(apart(1.0), None, 7, 0.5) is None  # there are no signs to leave out
    assert len(asked) == 1
    fails, asked[:] = 2, []
    assert searching().add(apart(1.0), np.array([1]), 7, 0.5) is None
    assert len(asked) == 2


def test_of_the_same_form_the_better_is_kept(monkeypatch: Fakes) -> None:
    rooms = {1.0: 1.0, 1.01: 1.002, 0.99: 0.999, 1.1: 1.001, 1.02: 1.2, 0.5: 0.0, 0.9: -0.1}
    monkeypatch.setattr(made, "thicken", grown(rooms))
    search = searching()
    assert search.keep(apart(0.5), 1, 1.0) is None
    assert search.keep(apart(0.9), 1, 1.0) is None
    first = search.keep(apart(1.0), 1, 1.0)
    assert first is not None
    assert search.pool == [first]
    assert (first.kind, first.said, np.abs(first.signs).tolist()) == ((1,), True, [1])
    better = search.keep(apart(1.01), 1, 1.0)
    assert search.pool == [better]  # in the place of the first
    worse = search.keep(apart(0.99), 1, 1.0)
    assert worse is not None
    assert worse.room == 0.999
    assert search.pool == [better]
    other = search.keep(apart(1.1), 1, 1.0)  # as tight, but lying otherwise
    tighter = search.keep(apart(1.02), 1, 1.0)
    assert search.pool == [better, other, tighter]
    assert search.best() == [tighter, better, other]
    assert search.room() == 1.2


def test_a_form_and_its_mirror_image_are_of_one_kind(monkeypatch: Fakes) -> None:
    three = (*RINGS, CellRing("C", 3.0, 1.0))
    shape = shape_of(Cell(three, tuple(CellLink(a, b, ()) for a, b in ((0, 1), (0, 2), (1, 2))), 0))
    monkeypatch.setattr(made, "thicken", lambda shape, layout, *_: Tight(layout, 1.0))
    kinds, ways = [], []
    for way in (0.3, -0.3):
        turns = np.arange(3) * 2 * np.pi / 3
        cos, sin = np.cos(turns), np.sin(turns)
        centres = 0.4 * np.stack([cos, sin, 0 * cos], axis=1)
        normals = np.stack([-sin, cos, way + 0 * cos], axis=1) / np.hypot(1, way)
        search = _Search(shape, np.random.default_rng(0), lambda *_: None)
        kept = search.keep(Layout(centres, normals, np.zeros(0)), 1, 1.0)
        assert kept is not None
        kinds.append(kept.kind)
        ways.append(int(np.prod(kept.signs)))
    assert sorted(ways) == [-1, 1]
    assert kinds[0] == kinds[1]
    assert np.prod(kinds[0]) == -1


def test_a_form_that_breaks_what_the_steps_say_is_kept_as_such(monkeypatch: Fakes) -> None:
    monkeypatch.setattr(made, "thicken", grown({1.0: 1.0}))
    signs = []
    for want in (1, -1):
        search = searching()
        search.terms = (((0,), want),)
        kept = search.keep(apart(1.0), 1, 1.0)
        assert kept is not None
        signs.append((kept.said, search.room()))
    assert sorted(signs) == [(False, 0.0), (True, 1.0)]
    assert signs == [(False, 0.0), (True, 1.0)]  # the link goes down through the first ring


def test_the_best_lies_as_said_and_then_has_most_room() -> None:
    a, b, c = found(1.0), found(2.0), found(9.0, said=False)
    search = searching(a, c, b)
    assert search.best() == [b, a, c]
    assert search.room() == 2.0
    assert searching(c).room() == 0
    assert searching().room() == 0


def test_the_same_form_has_the_same_room_and_the_same_distances() -> None:
    def same(room: float, distance: float) -> bool:
        return made.same(SHAPE, found(2.0), found(room, distance))

    assert same(2.0, 1.0)
    assert same(2.0079, 1.05)
    assert same(1.9921, 0.95)
    assert not same(2.0081, 1.0)
    assert not same(1.9919, 1.0)
    assert not same(2.0, 1.07)
    assert not same(2.0, 0.93)
    # The share is of the first one's room.
    assert made.same(SHAPE, found(0.5), found(0.501))
    assert not made.same(SHAPE, found(0.5), found(0.503))


def test_forms_are_alike_by_their_distances_or_their_lays() -> None:
    def alike(room: float, distance: float, said: bool = True, kind: int = 2) -> bool:
        return made._alike(SHAPE, found(room, distance, said, kind), found(2.0))

    assert alike(2.0, 1.0)
    assert alike(2.019, 1.09)
    assert alike(1.981, 0.91)
    assert not alike(2.021, 1.0)
    assert not alike(1.979, 1.0)
    assert not alike(2.0, 1.11)
    assert alike(2.0, 1.9, kind=1)
    assert not alike(2.0, 1.0, said=False)
    assert not alike(2.03, 1.0, kind=1)


# -- the search ---------------------------------------------------------------------------------


def test_every_fourth_start_of_a_sheet_of_pairs_keeps_none_together(monkeypatch: Fakes) -> None:
    pair = (CellRing("A1", 3.0, 1.0), CellRing("A2", 3.0, 1.0), CellRing("B", 3.0, 1.0))
    shifts = ((0, 0), (1, 0), (0, 1))
    cell = Cell(pair, tuple(CellLink(a, 2, s) for a in (0, 1) for s in shifts), 2)
    told: list[Any] = []
    begun: list[tuple[int, Any]] = []

    class Begun(_Search):
        def add(self, start: Layout, signs: Any, rounds: int, finest: float) -> None:
            begun.append((len(start.centres), (signs, rounds, finest)))

    singles: list[Any] = []

    def settle(shape: Any, start: Layout) -> Layout | None:
        singles.append(shape.count)
        return None if len(singles) == 2 else start

    monkeypatch.setattr(made, "settle", settle)
    sides = []

    def side_by_side(shape: Any, thin: Layout, group: Any, rng: Any) -> Layout:
        sides.append((shape.count, len(thin.centres), group))
        return Layout(np.zeros((30, 3)), np.zeros((30, 3)), np.zeros(3))

    monkeypatch.setattr(made.starts, "side_by_side", side_by_side)
    rng = np.random.default_rng(1)
    search = Begun(shape_of(cell), rng, lambda *what: told.append(what), (), [found(1.5)])
    search.begin(6)
    assert told == [("starts", k, 6, 1.5) for k in range(6)]
    assert singles == [2] * 5  # the pair as one ring, and the fourth start without
    assert sides == [(3, 2, (0, 0, 1))] * 4
    assert [n for n, _ in begun] == [30, 30, 3, 30, 30]  # the second one did not settle
    assert {rest for _, rest in begun} == {(None, 30, 1e-3)}
    singles[:], begun[:] = [], []
    one = Begun(SHAPE, rng, lambda *what: None)
    one.begin(3)
    assert singles == []
    assert [n for n, _ in begun] == [2, 2, 2]


def hopping(
    monkeypatch: Fakes, best: Found, kept: list[Found | None], settled: list[bool]
) -> tuple[Found, list[Any], list[Any]]:
    """What comes of hops from a form that lead to others, one by one."""
    asked: list[Any] = []
    told: list[Any] = []
    thin = iter(settled)

    def kicked(shape: Any, layout: Layout, rng: Any, size: float) -> Layout:
        asked.append(("kick", layout, size))
        return layout

    def settle(shape: Any, start: Layout, signs: Any) -> Layout | None:
        asked.append(("signs", signs))
        return start if next(thin) else None

    class Hops(_Search):
        come = iter(kept)

        def keep(self, layout: Layout, rounds: int, finest: float) -> Found | None:
            asked.append(("keep", rounds, finest))
            return next(self.come)

    monkeypatch.setattr(made.starts, "kicked", kicked)
    monkeypatch.setattr(made, "settle", settle)
    hops = Hops(SHAPE, np.random.default_rng(0), lambda *what: told.append(what), (), [best])
    return hops.hop(best, len(settled)), asked, told


COARSE, CAREFUL = ("keep", 30, 1e-3), ("keep", 120, 1e-5)


def test_hops_move_on_where_it_gets_better(monkeypatch: Fakes) -> None:
    best, good, polished = found(1.0), found(0.999), found(1.1, 1.2)
    end, asked, told = hopping(
        monkeypatch, best, [found(0.99), good, polished, None], [True, False, True, True]
    )
    assert end is polished
    assert told == [("hops", k, 4, 1.0) for k in range(4)]
    keeps = [x for x in asked if x[0] == "keep"]
    assert keeps == [COARSE, COARSE, CAREFUL, COARSE]
    assert [x[1] for x in asked if x[0] == "kick"] == [best.layout] * 3 + [polished.layout]
    assert {x[2] for x in asked if x[0] == "kick"} <= {0.04, 0.1, 0.2}
    assert all(x[1] is best.signs for x in asked[:2] if x[0] == "signs")


def test_hops_stay_where_nothing_is_gained(monkeypatch: Fakes) -> None:
    best = found(1.0)
    # Lying otherwise than said, too little room, and not more than before.
    other = [found(3.0, said=False), found(0.99), found(0.999), found(1.000005)]
    end, asked, _ = hopping(monkeypatch, best, other, [True] * 3)
    assert end is best
    assert [x for x in asked if x[0] == "keep"] == [COARSE, COARSE, COARSE, CAREFUL]
    # What cannot be tightened is taken as it is.
    wide = found(1.5)
    end, _, _ = hopping(monkeypatch, best, [wide, None], [True])
    assert end is wide
    # From one that lies otherwise to one as said, if it has room.
    loose = found(1.0, said=False)
    end, _, _ = hopping(monkeypatch, loose, [wide, None], [True])
    assert end is wide
