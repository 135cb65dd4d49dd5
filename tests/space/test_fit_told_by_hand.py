"""What a fit tells of the forms found, with forms whose room is given by hand."""

from __future__ import annotations

from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from fit_made_up import CHAIN, HOPF, RINGS, SHAPE, SHEET, found

from ringstep.space import fit as made
from ringstep.space.cell import Cell, CellError, CellLink, CellRing
from ringstep.space.circles import Layout
from ringstep.space.fit import Found, _Search
from ringstep.space.tighten import Tight
from ringstep.space.units import Multiple

Fakes = pytest.MonkeyPatch


def form(room: float, *repeat: float, rings: int = 2, said: bool = True) -> Any:
    stretched = SimpleNamespace(repeat=repeat) if repeat else None
    return SimpleNamespace(
        room=room, as_said=said, stretched=stretched, cell=SimpleNamespace(rings=[0] * rings)
    )


def test_one_piece_found_twice_has_the_same_room_and_length_a_ring() -> None:
    same: Any = made._same_piece
    assert same(form(1.0), form(1.0))
    assert same(form(1.0), form(1.0019))
    assert same(form(1.0), form(0.9981))
    assert not same(form(1.0), form(1.0021))
    assert not same(form(1.0), form(0.9979))
    assert not same(form(1.0), form(1.0, said=False))
    assert not same(form(1.0, 4.0, 0.0), form(1.0))
    assert not same(form(1.0), form(1.0, 4.0, 0.0))
    chain = form(1.0, 4.0, 0.5)
    assert same(chain, form(1.0, 8.0, 0.0, rings=4))  # twice the unit
    assert same(chain, form(1.0, 4.05, 9.0))
    assert not same(chain, form(1.0, 4.07, 0.5))
    assert not same(chain, form(1.0, 3.93, 0.5))
    sheet = form(1.0, 4.0, 1.0, 3.0)
    assert same(sheet, form(1.0, 8.0, 5.0, 3.0, rings=4))
    assert same(sheet, form(1.0, 3.0, 1.0, 4.0))
    assert not same(sheet, form(1.0, 4.0, 1.0, 3.1))


# -- the fit ------------------------------------------------------------------------------------


def test_a_fit_tells_what_came_of_it(monkeypatch: Fakes) -> None:
    told: list[Any] = []
    asked: list[Any] = []

    def searched(*what: Any) -> Any:
        asked.append(what[:3])
        what[3]("starts", 1, 2, 0.5)
        what[3]("starts", 2, 2, 0.0)
        return ("a form",), False

    monkeypatch.setattr(made, "_searched", searched)
    got = made.fit(HOPF, seed=5, effort=3, progress=lambda *what: told.append(what))
    assert asked == [(HOPF, 5, 3)]
    # A ring of mean radius 2 in wires of 0.5 mm: 4 / 0.5 - 1.
    assert told == [("starts", 1, 2, 7.0), ("starts", 2, 2, 0.0)]
    assert (got.cell, got.forms, got.finished) == (HOPF, ("a form",), False)
    assert (got.seed, got.effort, got.notes) == (5, 3, ())
    # One wire goes through each: that needs an inside of one wire.
    assert (got.bounds, got.bounds_by_area) == ((1.0, 1.0), (False, False))
    got = made.fit(HOPF)
    assert asked[1] == (HOPF, 0, 1)
    assert (got.seed, got.effort) == (0, 1)
    thick = Cell((CellRing("A", 3, 1), CellRing("B", 6, 2), CellRing("C", 3, 1)),
                 (CellLink(0, 1, ()), CellLink(0, 2, ())), 0)  # fmt: skip
    got = made.fit(thick)
    assert got.bounds == (3.0, 0.5, 1.0)
    assert got.bounds_by_area == (True, False, False)


@pytest.mark.parametrize("effort", [-1, 4])
def test_an_effort_out_of_range_is_refused(effort: int) -> None:
    with pytest.raises(ValueError, match=f"effort is 0 to 3, not {effort}"):
        made.fit(HOPF, effort=effort)


def test_rings_that_do_not_hang_together_are_refused() -> None:
    with pytest.raises(CellError, match="links alone do not join"):
        made.fit(Cell(RINGS, (), 0))


def test_a_sheet_is_worked_where_it_can_be_and_searched_else(monkeypatch: Fakes) -> None:
    asked: list[Any] = []
    worked: Any = object()
    came: Any = (("worked",), True)

    def as_worked(cell: Any, seed: int, how: Any, tell: Any) -> Any:
        tell("working", 0, 0, 0.5)
        asked.append((cell, seed, how))
        return came

    def searched(cell: Any, seed: int, effort: int, tell: Any) -> Any:
        return ("searched", seed, effort), True

    monkeypatch.setattr(made, "_as_worked", as_worked)
    monkeypatch.setattr(made, "_searched", searched)
    assert made.fit(SHEET, seed=4, effort=2, worked=worked).forms == ("worked",)
    assert asked == [(SHEET, 4, worked)]
    assert made.fit(SHEET, seed=4, effort=2).forms == ("searched", 4, 2)
    came = None
    assert made.fit(SHEET, seed=4, effort=2, worked=worked).forms == ("searched", 4, 2)
    assert made.fit(HOPF, worked=worked).forms == ("searched", 0, 1)
    assert len(asked) == 2


def test_a_chain_is_searched_by_its_symmetry(monkeypatch: Fakes) -> None:
    asked: list[Any] = []

    def chain(*what: Any, **more: Any) -> Any:
        asked.append((*what[:3], more))
        return ("chain",), True

    monkeypatch.setattr(made, "_chain", chain)
    second: Any = object()
    assert made.fit(CHAIN, seed=1, effort=0, push=False, second=second).forms == ("chain",)
    assert made.fit(CHAIN).forms == ("chain",)
    assert asked == [
        (CHAIN, 1, 0, {"push": False, "second": second}),
        (CHAIN, 0, 1, {"push": True, "second": None}),
    ]


def test_rings_linked_with_their_own_copies_are_told() -> None:
    assert made._notes(CHAIN) == ()
    own = (CellLink(0, 1, (0,)), CellLink(1, 1, (1,)), CellLink(0, 0, (1,)), CellLink(0, 0, (2,)))
    (note,) = made._notes(Cell(RINGS, own, 1))
    assert note.startswith("A, B: linked with its own copy")


def test_what_is_told_of_a_chain(monkeypatch: Fakes) -> None:
    asked: list[Any] = []
    told: list[Any] = []
    best: Any = "best"

    def searched(ways: Any, seed: int, most: int, hops: int, second: Any, tell: Any) -> Any:
        assert len(list(ways)) > 0
        asked.append((seed, most, hops, second))
        return best, True

    def form_of(*what: Any) -> Any:
        asked.append(what)
        return what[0]

    class Other:
        def __enter__(self) -> str:
            return "begun"

        def __exit__(self, *_: object) -> None:
            asked.append("ended")

    monkeypatch.setattr(made, "search", searched)
    monkeypatch.setattr(made.hang, "form_of", form_of)
    monkeypatch.setattr(made, "Second", Other)
    chain: Any = made._chain

    def tell(*what: Any) -> None:
        told.append(what)

    assert chain(CHAIN, 3, 1, tell, True, "there") == (("best",), True)
    assert asked == [(3, 320, 8, "there"), ("best", "there", True, True)]
    assert told == [("measuring", 0, 1, 0.0)]
    asked.clear()
    assert chain(CHAIN, 3, 0, tell, False, None) == (("best",), True)
    assert asked == [(3, 160, 4, "begun"), ("best", "begun", True, False), "ended"]
    asked.clear()

    def broken(*_: Any) -> None:
        raise KeyboardInterrupt

    assert chain(CHAIN, 3, 0, broken, True, "there") == (("best",), False)
    assert asked[1:] == [("best", "there", False)]  # without lengths
    best = None
    assert chain(CHAIN, 3, 0, tell, True, "there") == ((), True)


#: A ring linked with its own copy along and down: no unit of one.
OWN = Cell(RINGS[:1], (CellLink(0, 0, (0, 1)), CellLink(0, 0, (1, 0))), 2)


def test_a_sheet_of_its_steps_has_one_form(monkeypatch: Fakes) -> None:
    asked: list[Any] = []
    told: list[Any] = []
    several: Any = made.units.multiplied(SHEET, Multiple())
    there = Layout(np.zeros((2, 3)), np.zeros((2, 3)), np.ones(3))
    got: Tight | None = Tight(there, 0.75)

    def worked(shape: Any, multiple: Multiple, seed: int) -> Tight | None:
        asked.append((shape.cell, multiple, seed))
        return got

    def form_of(*what: Any) -> Any:
        asked.append(what)
        return "form"

    monkeypatch.setattr(made, "form_of", form_of)
    signs = np.array([1, -1, 1])
    monkeypatch.setattr(made, "read_links", lambda shape, layout: SimpleNamespace(signs=signs))
    assert made._as_worked(SHEET, 6, worked, lambda *what: told.append(what)) == (("form",), True)
    assert asked[0] == (several, Multiple(), 6)
    shape, layout, per, slip, said, tries, rng = asked[1]
    assert (shape.cell, layout, per, slip, said, tries) == (several, there, (1, 1), 0, True, 0)
    assert rng.random() == np.random.default_rng([6, 0]).random()
    assert told == [("working", 0, 0, 0.0), ("measuring", 0, 0, 0.75)]
    got = None
    assert made._as_worked(SHEET, 6, worked, lambda *what: None) is None
    monkeypatch.setattr(made.units, "multiple_that_frees", lambda cell: None)
    assert made._as_worked(SHEET, 6, worked, lambda *what: None) is None
    assert made._searched(SHEET, 6, 0, lambda *what: None) == ((), True)


def test_so_many_starts_and_hops_are_made_as_the_effort_says(monkeypatch: Fakes) -> None:
    done: list[Any] = []
    broken = ""

    class Asked(_Search):
        def begin(self, count: int) -> None:
            done.append(("begin", count, self.shape.count, len(self.terms)))
            if broken == "begin":
                raise KeyboardInterrupt
            self.pool = [found(1.0 + k) for k in range(6)]

        def keep(self, layout: Layout, rounds: int, finest: float) -> Found | None:
            done.append(("keep", rounds, finest))
            return found(7.0) if layout is self.pool[5].layout else None

        def hop(self, found: Found, count: int) -> Found:
            done.append(("hop", found.room, count))
            return found

    def told(search: Any, multiple: Multiple, most: int, tries: int) -> Any:
        done.append(("told", multiple.size, most, tries))
        return ("forms",), whole

    monkeypatch.setattr(made, "_Search", Asked)
    monkeypatch.setattr(made, "_told", told)
    whole = True

    def searched(cell: Cell, effort: int) -> Any:
        done.clear()
        return made._searched(cell, 0, effort, lambda *what: None)

    assert searched(HOPF, 1) == (("forms",), True)
    keep = ("keep", 120, 1e-5)
    assert done == [
        ("begin", 32, 2, 0),
        keep,
        ("hop", 7.0, 24),
        keep,
        ("hop", 5.0, 24),  # what could not be tightened as it was
        ("told", 1, 3, 2),
    ]
    searched(OWN, 0)
    # Two units in one are enough where each is linked with the next, along as well as down.
    assert done == [("begin", 20, 2, 0), ("told", 2, 2, 0)]
    broken = "begin"
    assert searched(HOPF, 1) == (("forms",), False)
    assert done[1:] == [("told", 1, 1, 2)]
    broken, whole = "", False
    assert searched(HOPF, 0) == (("forms",), False)


# -- what is told -------------------------------------------------------------------------------


def telling(
    monkeypatch: Fakes, pool: list[Found], most: int, stop: int = 99, dims: int = 2
) -> tuple[list[float], bool, list[Any]]:
    """The rooms of the forms told, whether all was, and what was asked for."""
    asked: list[Any] = []
    many = iter(range(99))

    def form_of(*what: Any, **more: Any) -> Any:
        asked.append((*what[1:6], more))
        return form(round(next(r.room for r in pool if r.layout is what[1]), 3), 4.0, 0.0)

    def tell(*what: Any) -> None:
        if next(many) >= stop:
            raise KeyboardInterrupt
        asked.append(what)

    monkeypatch.setattr(made, "form_of", form_of)
    shape = SimpleNamespace(
        dims=dims, link_a=SHAPE.link_a, link_b=SHAPE.link_b, link_shift=SHAPE.link_shift
    )
    search: Any = SimpleNamespace(shape=shape, best=lambda: pool, tell=tell, rng="rng")
    forms, whole = made._told(search, Multiple(2, 3, 1), most, 5)
    return [f.room for f in forms], whole, asked


def test_each_form_is_told_once_and_no_lay_more_than_twice(monkeypatch: Fakes) -> None:
    pool = [found(3.0), found(2.995), found(2.5), found(2.0), found(1.5, kind=2)]
    rooms, whole, asked = telling(monkeypatch, pool, 4)
    assert whole
    assert rooms == [3.0, 2.5, 1.5]  # the second is as the first, the fourth a third of its lay
    assert asked[0] == ("measuring", 0, 4, 0.0)
    assert asked[1] == (pool[0].layout, (2, 3), 1, True, 5, {})
    assert asked[2] == ("measuring", 1, 4, 0.0)
    assert telling(monkeypatch, pool, 4, dims=1)[2][1][1] == (2,)
    assert telling(monkeypatch, pool, 4, dims=0)[2][1][1] == ()
    assert telling(monkeypatch, pool, 2)[0] == [3.0, 2.5]
    assert telling(monkeypatch, pool, 1)[0] == [3.0]
    assert telling(monkeypatch, [], 2) == ([], True, [])


def unlike(count: int) -> Iterator[Found]:
    """Forms of one room that lie each otherwise."""
    return (found(1.0, 1.0 + k / 4, kind=k) for k in range(count))


def test_one_piece_found_again_and_again_is_told_once(monkeypatch: Fakes) -> None:
    rooms, whole, asked = telling(monkeypatch, list(unlike(9)), 2)
    assert (rooms, whole) == ([1.0], True)
    # No more than two beyond what is to be told are measured.
    assert len([x for x in asked if x[0] == "measuring"]) == 4
    assert [x[1] for x in asked if x[0] == "measuring"] == [0, 1, 1, 1]


def test_what_was_measured_when_it_was_broken_off_is_told(monkeypatch: Fakes) -> None:
    pool = [found(3.0), found(2.5), found(2.0, kind=2)]
    rooms, whole, asked = telling(monkeypatch, pool, 3, stop=1)
    assert (rooms, whole) == ([3.0], False)
    assert len(asked) == 2
    rooms, whole, asked = telling(monkeypatch, pool, 3, stop=0)
    assert (rooms, whole) == ([3.0], False)
    assert asked == [(pool[0].layout, (2, 3), 1, True, 0, {"quick": True})]
