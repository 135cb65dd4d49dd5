"""Small parts of how rings are laid, step by step, with places worked out by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from small_recipes import weave
from test_rows_worked import looked_at

from ringstep.space.finished import Finished
from ringstep.space.motion import Hand
from ringstep.space.rows import _DRAWS, _of_rings, _Rows
from ringstep.space.state import Jam, Round, State, Worked
from ringstep.space.states import _shown
from ringstep.space.table import Table
from ringstep.space.worked import _Piece, work_piece
from ringstep.weave.work import Ring

A, B = Ring("A", 1, 1, 0), Ring("B", 1, 1, 0)
FACING = (0.0, 0.0, 1.0)


def ring(x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Round:
    return Round((x, y, z), FACING, 4.0, 1.0)


# -- which states are shown ---------------------------------------------------------------------


def state(number: int, row: int, unit: int) -> State:
    return State(number, row, unit, (), (Ring("A", 1, row, unit),))


def shown(body: str, *states: State, jam: Jam | None = None) -> list[tuple[int, int, int]]:
    found = _shown(weave(body), lambda _: Worked(states, (jam,) if jam else ()))
    return [(s.number, s.row, s.unit) for s in found.states]


def test_a_step_of_a_chain_is_shown_three_times_and_not_from_a_jam_on() -> None:
    chain = "start: / close A / unit: / add A through prev A / piece: / chain 9 units"
    states = [state(1, 1, 0), *[state(2, 1, unit) for unit in range(1, 6)]]
    often = [(1, 1, 0), (2, 1, 1), (2, 1, 2), (2, 1, 3)]
    assert shown(chain, *states) == often
    jam = Jam(2, 1, 3, Ring("A", 1, 1, 3), 5.0, None)
    assert shown(chain, *states, jam=jam) == often[:3]
    # One that lacks something is shown as well and not counted.
    lacking = chain.replace("prev A", "prev A, prev prev A if there")
    assert shown(lacking, *states) == [*often, (2, 1, 4)]


def test_the_first_row_is_shown_begun_and_whole_and_then_each_of_three_rows_once() -> None:
    sheet = (
        "first row: / close A / row: / add A through above A, above next A if there / piece:"
        " / sheet 9 rows of 4 units"
    )
    states = [state(1, 1, unit) for unit in (1, 2, 3, 4)]
    states += [state(2, row, unit) for row in (2, 3, 4, 5) for unit in (1, 2, 3, 4)]
    found = _shown(weave(sheet), lambda _: Worked(tuple(states), ()))
    first, whole = found.states[:2]
    assert (first.row, first.unit, len(first.new)) == (1, 1, 1)
    assert (whole.row, whole.unit) == (1, 4)
    assert [r.unit for r in whole.new] == [1, 2, 3, 4]
    # The first place of rows 2 and 3, which stands for the rows below; the last one of row 2, which
    # hangs from one ring alone, for all that do.
    assert [(s.row, s.unit) for s in found.states[2:]] == [(2, 1), (2, 4), (3, 1)]


# -- places that are only found -----------------------------------------------------------------


def test_a_ring_closed_around_others_lies_about_their_middle() -> None:
    class Held(Finished):
        held: tuple[Ring, ...] = ()

        def _held(self, ring: Ring) -> tuple[Ring, ...]:
            return self.held

        def _copy(self, ring: Ring) -> tuple[int, int] | None:
            return None if ring.unit == 9 else (0, ring.unit)

        def _placed(self, number: int, far: int) -> Round:
            return ring(10.0 * far, 2.0 * far, 4.0 + far)

    finished = Held(None, None, None)  # type: ignore[arg-type]
    around = Ring("big", 1, 1, 0)
    assert finished._around(around, 6.0, 2.0) is None
    Held.held = tuple(Ring("A", 1, 1, unit) for unit in (1, 2, 9))
    found = finished._around(around, 6.0, 2.0)
    # The middle of (10, 2, 5) and (20, 4, 6); the third has no place. It stands across the chain.
    assert found == Round((15.0, 3.0, 5.5), (1.0, 0.0, 0.0), 6.0, 2.0)
    Held.held = (Ring("A", 1, 1, 9),)
    assert finished._around(around, 6.0, 2.0) is None


@pytest.mark.parametrize(("radius", "others"), [(3.0, 0), (4.0, 0), (6.0, 0), (4.0, 1), (4.0, 2)])
def test_a_ring_put_in_is_drawn_tight_away_from_what_it_goes_through(
    radius: float, others: int
) -> None:
    # Where it is drawn first goes by chance, which others far away change: to one side or another.
    away = {Ring("C", n, 1, 0): ring(y=60.0 * n) for n in range(1, others + 1)}
    place = Table({A: ring(), **away}, [], 0.003).place_for(radius, 1.0, [A])
    assert place is not None
    both, deep = looked_at((State(1, 0, 0, ((A, ring()), (B, place)), (B,), (A,)),))
    assert both == [{frozenset((A, B))}]
    assert deep >= -0.005
    # Both wires of 1 mm lie on one another: their middles are both mean radii less 1 mm apart, and
    # along the work.
    x, y, z = place.centre
    assert abs(x) == pytest.approx(4 + radius - 1, abs=0.02)
    assert (y, z) == pytest.approx((0, 0), abs=0.3)
    assert place.mean_radius == radius


# -- rows ---------------------------------------------------------------------------------------


def test_an_act_without_bars_and_beads() -> None:
    body = "parts: / bar a bar / row: / add A through bar, prev A if there then above A if there"
    acts = weave(f"{body} / piece: / sheet 3 rows of 3 units").work.acts
    act = next(a for a in acts if (a.row, a.unit) == (2, 2))
    bar = next(r for r in act.through if r.role == "bar")
    plain = _of_rings(act, {"bar"})
    assert bar not in plain.through
    assert {r.role for r in plain.through} == {"A"}
    assert any(bar in stop for stop in act.stops)
    assert plain.new == act.new
    assert all(bar not in stop for stop in plain.stops)
    assert _of_rings(act, {"A"}).new == ()
    assert _of_rings(act, {"A"}).through == (bar,)
    assert _of_rings(act, ()) == act


def test_circles_between_two_rings_stand_across_and_half_of_them_beside_the_first_of_a_pair() -> (
    None
):
    hand = Hand()
    for x in (-3.0, 3.0):
        hand.lay(np.array([x, 1.0, 0.0]), np.array([0.0, 0.0, 1.0]), 1.0, 0.2, 0.2)
    first = hand.lay(np.array([0.0, 7.0, 0.0]), np.array([0.0, 1.0, 0.0]), 1.0, 0.2, 0.2)

    def drawn(beside: int | None) -> tuple[np.ndarray, np.ndarray]:
        own = SimpleNamespace(rng=np.random.default_rng(5), hand=hand)
        own.half_beside = lambda *args: _Rows.half_beside(own, *args)  # type: ignore[arg-type]
        found = _Rows.drawn_upright(own, [0, 1], [0, 1], np.eye(3), 2.0, 0.2, beside)  # type: ignore[arg-type]
        return found.centres, found.normals

    centres, normals = drawn(None)
    # The line between them runs along x, the eye looks along z: they face along y.
    assert centres.mean(axis=0) == pytest.approx([0, 1, 0], abs=0.06)
    assert centres.std(axis=0) == pytest.approx([0.5] * 3, rel=0.1)  # a quarter of the radius
    assert normals.mean(axis=0) == pytest.approx([0, 0.96, 0], abs=0.04)
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1)
    centres, normals = drawn(first)
    half = _DRAWS // 2
    by = np.abs(centres[:half, 1] - 7)  # along the first one's normal
    assert 0.02 < by.min() < 0.15
    assert 0.24 < by.max() < 0.4
    assert np.abs(centres[half:, 1] - 7).min() > 3
    assert np.abs(normals[:half, 1]).min() > 0.95


# -- chains in the hand -------------------------------------------------------------------------


def test_a_closed_ring_is_laid_down_beyond_what_it_would_be_linked_with() -> None:
    seen = weave("start: / close A / unit: / add A through prev A / piece: / chain 1 units")
    piece = _Piece(seen, np.random.default_rng(0), 3.6)  # in mean radii of a ring
    # A ring stands at (1, 0), across the page: it meets it in 0 and in 2. One laid on the page goes
    # through it till both lie on one side of its own wire: from 3 on.
    piece.hand.lay(np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), 1.0, 0.3, 0.3)
    act = seen.work.acts[0]
    piece.lay(act)
    number = piece.number[act.new[0]]
    assert 2.9 < piece.hand.centres[number, 0] < 3.6
    assert piece.hand.centres[number, 1:] == pytest.approx([0, 0], abs=0.2)
    assert not piece.hand.linked[number].any()


def test_tips_of_a_pair_are_spread_apart_and_three_rings_are_left() -> None:
    def tips(count: int) -> tuple[float, float]:
        """How far the tips of the first and the last ring are apart, before and after; in wires."""
        body = f"start: / close {count} A / spread A / unit: / add B through A / piece: / chain 1"
        got = work_piece(weave(f"{body} units"))
        found = []
        for one in got.states[:2]:
            rings = [at for r, at in one.rings if r.role == "A"]
            at = [np.array(r.centre) + tip(r) for r in (rings[0], rings[-1])]
            found.append(float(np.linalg.norm(at[1] - at[0])) / rings[0].wire)
        return found[0], found[1]

    def tip(one: Round) -> np.ndarray:
        along = np.array([1.0, 0, 0]) - one.normal[0] * np.array(one.normal)
        return one.mean_radius * along / np.linalg.norm(along)

    before, after = tips(2)
    assert before < 1.5
    assert after > 2
    before, after = tips(3)
    assert after == pytest.approx(before, abs=0.01)
