"""Wires grown and units pulled without a change of links: small pieces whose sizes are known."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from ringstep.space import tighten
from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.circles import Layout, Shape, shape_of
from ringstep.space.tighten import (
    Tight,
    _Climber,
    _look,
    _programmes,
    _Seen,
    _unbent,
    eased,
    room_of,
    stretch,
    thicken,
    thickened,
)

X, Y, Z = np.eye(3)


def shape(
    dims: int, *links: tuple[int, int, tuple[int, ...]], wires: tuple[float, ...] = (0.2, 0.2)
) -> Shape:
    """Rings of mean radius 1."""
    rings = tuple(CellRing(str(k), 2 - wire, wire) for k, wire in enumerate(wires))
    return shape_of(Cell(rings, tuple(CellLink(*link) for link in links), dims))


def pair(far: float) -> Layout:
    """One that faces the eye and one that stands upright, the middle of it so far ahead."""
    return Layout(np.array([[0, 0, 0], [far, 0, 0]]), np.array([Z, Y]), np.zeros(0))


LINKED, LOOSE = shape(0, (0, 1, ())), shape(0)
#: Two rings a unit, every one upright in the one before.
CHAIN = shape(1, (0, 1, (0,)), (0, 1, (-1,)))


def chain(length: float) -> Layout:
    return Layout(
        np.array([[0, 0, 0], [length / 2, 0, 0]]), np.array([Z, Y]), np.array([length, 0.0])
    )


# -- how much room there is ---------------------------------------------------------------------


def test_room_is_the_least_gap_over_the_wire() -> None:
    assert room_of(LINKED, pair(1.9)) == pytest.approx(0.5)  # 0.1 of 0.2
    assert room_of(LINKED, pair(0.1)) == pytest.approx(0.5)
    assert room_of(LOOSE, pair(2.15)) == pytest.approx(0.75)
    assert room_of(shape(0, (0, 1, ()), wires=(0.1, 0.3)), pair(1.9)) == pytest.approx(0.5)
    assert room_of(shape(0, (0, 1, ()), wires=(0.2, 0.6)), pair(1.9)) == pytest.approx(0.25)
    assert room_of(CHAIN, chain(3.8)) == pytest.approx(0.5)


def test_there_is_no_room_where_a_link_is_wrong() -> None:
    assert room_of(LINKED, pair(2.1)) == 0
    assert room_of(LOOSE, pair(1.9)) == 0


def test_several_are_looked_at_each_as_far_as_its_wires_reach() -> None:
    layouts = [pair(1.9), pair(2.1), pair(1.7), pair(1.2)]
    one, wrong, two, far = _look(LINKED, layouts, [1.0, 1.0, 2.0, 1.0], [0.0] * 4)
    assert wrong is None
    assert one is not None
    assert two is not None
    assert far is not None
    assert (one.least, two.least) == pytest.approx((0.5, 1.5))
    assert far.least == 1.0  # nothing is met within that reach
    assert len(far.value) == 0
    # The gap grows as the upright ring is drawn back: 1 over the wire of 0.2.
    at = int(one.value.argmin())
    assert one.rows[at, 3] == pytest.approx(-5)
    assert one.rows[at, 0] == pytest.approx(5)
    assert one.value[at] == pytest.approx(0.5)
    # With a region that a move may cover, places farther by four times that are kept.
    (wide,) = _look(LINKED, [pair(1.9)], [1.0], [0.1])
    assert wide is not None
    assert wide.least == pytest.approx(0.5)
    assert wide.value.max() < 1 + 4 * 0.1 / 0.2


# -- one step -----------------------------------------------------------------------------------


def programme(
    rows: list[list[float]],
    values: list[float],
    least: float,
    region: float = 0.1,
    aim: tuple[float, ...] = (),
    floor: float | None = None,
    held: tuple[int, ...] = (),
    dims: int = 0,
) -> np.ndarray:
    """The best step of one ring, by its first numbers and the change of room."""
    own = shape(dims, wires=(0.2,))
    size = own.variables
    table = np.zeros((len(rows), size))
    for k, row in enumerate(rows):
        table[k, : len(row)] = row
    whole = np.zeros(size)
    whole[: len(aim)] = aim
    at = Layout(np.zeros((1, 3)), Z[None], np.zeros(size - 5))
    climber = _Climber(at, _Seen(table, np.array(values), least), np.eye(size), 0.0, region)
    weight = 1.0 if floor is None else 30.0
    (found,) = _programmes(own, [climber], whole, floor, weight, held)
    assert found is not None
    return found


def test_the_best_step_gains_the_most_room_within_its_region() -> None:
    found = programme([[1.0]], [1.0], 1.0)
    assert (found[0], found[-1]) == pytest.approx((0.1, 0.1), abs=1e-4)
    found = programme([[-2.0]], [1.0], 1.0)
    assert (found[0], found[-1]) == pytest.approx((-0.1, 0.2), abs=1e-4)
    # One gap grows as another, of 0.12 more, shrinks: they meet half way.
    found = programme([[1.0], [-1.0]], [1.0, 1.12], 1.0)
    assert (found[0], found[-1]) == pytest.approx((0.06, 0.06), abs=1e-4)
    # With a room to keep none is gained beyond it, and what is aimed at leads as far as it may.
    found = programme([[1.0], [0.0, -0.5]], [1.0, 1.04], 1.0, aim=(0, 1), floor=1.0)
    assert (found[1], found[-1]) == pytest.approx((0.08, 0.0), abs=1e-4)
    found = programme([[1.0]], [0.97], 0.97, floor=1.0)
    assert found[-1] == pytest.approx(0.03, abs=1e-4)
    found = programme([[0.0, 1.0]], [1.0], 1.0, aim=(0, -1), floor=1.0)
    assert (found[1], found[-1]) == pytest.approx((0, 0), abs=1e-4)
    # A miss costs thirty times its size: what pays forty a unit is taken all the same.
    found = programme([[0.0, 1.0]], [1.0], 1.0, aim=(0, -40), floor=1.0)
    assert (found[1], found[-1]) == pytest.approx((-0.1, -0.1), abs=1e-4)


def test_what_is_held_stays() -> None:
    pull = (0, 0, 0, 0, 0, 1, 1, 1)
    at_most = {"rows": [[0.0]], "values": [1.0], "least": 1.0, "floor": 1.0}
    found = programme(**at_most, aim=pull, dims=2)  # type: ignore[arg-type]
    assert found[5:8] == pytest.approx([0.1, 0.1, 0.1], abs=1e-4)
    found = programme(**at_most, aim=pull, dims=2, held=(0, 2))  # type: ignore[arg-type]
    assert found[5:8] == pytest.approx([0, 0.1, 0], abs=1e-4)
    # A chain that may not turn is not turned.
    found = programme(**at_most, aim=pull[:7], dims=1)  # type: ignore[arg-type]
    assert found[5:7] == pytest.approx([0.1, 0], abs=1e-4)


def test_wires_a_little_short_are_let_apart() -> None:
    (short,) = _look(LINKED, [pair(1.801)], [1.0], [0.05])
    assert short is not None
    assert short.least == pytest.approx(0.995)
    after, seen = _unbent(LINKED, pair(1.801), short, 1.0, 0.05)
    assert seen.least == pytest.approx(1, abs=1e-4)
    assert room_of(LINKED, after) == pytest.approx(1, abs=1e-4)
    # By the least move: both go half of 0.001.
    assert after.centres[:, 0] == pytest.approx([0.0005, 1.8005], abs=2e-4)
    same, seen = _unbent(LINKED, pair(1.801), short, 1.0, 1e-4)  # not by more than the region
    assert seen is short
    assert same.centres[1, 0] == 1.801


# -- climbs -------------------------------------------------------------------------------------


def test_wires_of_two_linked_rings_grow_to_their_mean_radius() -> None:
    got = thicken(LINKED, pair(1.6), finest=1e-4)
    assert got.room == pytest.approx(5, abs=0.01)  # five times 0.2
    assert room_of(LINKED, got.layout) == 1  # as far as their own wires reach
    none = thicken(LINKED, pair(2.1))
    assert (none.room, none.layout.centres[1, 0]) == (0, 2.1)
    assert thickened(LINKED, [], 9, 0.1) == []
    assert thicken(LINKED, pair(1.9), rounds=0).room == pytest.approx(0.5)
    assert 0.5 < thicken(LINKED, pair(1.9), rounds=1).room < 2


def test_a_climb_that_cannot_reach_the_goal_is_given_up() -> None:
    # A step of a tenth widens the gap by 0.2, one wire, and it may gain three times that:
    # from half a wire that is 3.5 and not enough, from 2 it is 5.
    few, wrong, enough = thickened(LINKED, [pair(1.9), pair(2.1), pair(1.6)], 60, 1e-3, 4.5)
    assert few.room == pytest.approx(0.5)
    assert wrong.room == 0
    assert enough.room == pytest.approx(5, abs=0.05)
    (goes,) = thickened(LINKED, [pair(1.9)], 60, 1e-3, 3.4)
    assert goes.room == pytest.approx(5, abs=0.05)
    (given_up,) = thickened(LINKED, [pair(1.9)], 60, 1e-3, 9.0)
    assert given_up.room < 5
    (at_once,) = thickened(LINKED, [pair(1.9)], 60, 1e-3, 99.0)
    assert at_once.room == pytest.approx(0.5)


def test_a_chain_is_pulled_till_its_wires_touch() -> None:
    got = stretch(CHAIN, chain(3.0), 1)
    # Each ring reaches into the next by both wires: 2 x (2 - 0.2).
    assert got.layout.repeat[0] == pytest.approx(3.6, abs=1e-3)
    assert got.room == pytest.approx(1, abs=1e-5)
    assert got.layout.repeat[1] == pytest.approx(0, abs=1e-6)
    thin = stretch(CHAIN, chain(3.0), 1, 0.5)
    assert thin.layout.repeat[0] == pytest.approx(3.8, abs=1e-3)
    assert thin.room == pytest.approx(0.5, abs=1e-5)
    few = stretch(CHAIN, chain(3.0), 1, rounds=1)
    assert 3.0 < few.layout.repeat[0] < 3.3


Asked = list[tuple[Any, ...]]


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Asked:
    """What would be climbed; the room got falls short of 1 by a tenth."""
    seen: Asked = []

    def climb(_: Shape, starts: list[Layout], *words: Any) -> list[Tight]:
        seen.append((starts[0], *words))
        return [Tight(starts[0], 0.9)]

    monkeypatch.setattr(tighten, "_climb", climb)
    return seen


@pytest.mark.parametrize(
    ("repeat", "way", "sides", "aim"),
    [
        # a by parts of 0.5; of (0.3, 0.4), which is 0.5 long, a c / 0.5 by parts of c
        ((0.5, 0.3, 0.4), 1, (1.0, 1.0), (2, 0, 2.5)),
        ((0.5, 0.3, 0.4), -1, (1.0, 1.0), (-2, 0, -2.5)),
        ((0.5, 0.3, 0.4), 1, (1.0, 0.5), (2, -0.6, 1.7)),
        ((-4.0, 0.3, 0.4), 1, (0.5, 1.0), (0.125, 0.6, 2.05)),
        ((0.05, 0.3, 0.4), 1, (0.0, 1.0), (0, 1.2, 1.6)),
        ((0.05, 0.3, 0.4), 1, (1.0, 1.0), (10, 0, 2.5)),  # as if it were 0.1 long
    ],
)
def test_a_sheet_is_pulled_by_parts_of_its_sides(
    repeat: tuple[float, ...],
    way: int,
    sides: tuple[float, float],
    aim: tuple[float, ...],
    asked: Asked,
) -> None:
    own = shape(2, wires=(0.2,))
    start = Layout(np.zeros((1, 3)), Z[None], np.array(repeat))
    stretch(own, start, way, 0.85, 77, sides, 1e-3)
    ((_, whole, *rest),) = asked
    assert whole[:5].tolist() == [0] * 5
    assert whole[5:] == pytest.approx(aim)
    assert rest == [0.85, 77, 1e-3]


def test_room_that_falls_short_is_mended_three_times(asked: Asked) -> None:
    start = chain(3.0)
    stretch(CHAIN, start, -1, 1.0)
    first, *more = asked
    assert first[1][10:].tolist() == [-1, 0]
    assert first[2:] == (1.0, 250, 2e-5)
    assert len(more) == 3
    for layout, aim, floor, rounds, finest, region in more:
        assert layout is start
        assert not aim.any()
        assert floor == pytest.approx(1.000001, abs=1e-9)
        assert (rounds, finest, region) == (12, 1e-8, 0.01)
    asked.clear()
    stretch(CHAIN, start, 1, 0.901)
    assert asked[1][5] == pytest.approx(0.004001)
    asked.clear()
    stretch(CHAIN, start, 1, 0.9)
    assert len(asked) == 1


@pytest.mark.parametrize(
    ("dims", "repeat", "centre", "less", "held"),
    [
        (0, (), (1, 2, 3), (), ()),
        (1, (4.0, 0.5), (0.5, 2, 3), (2, 0.5), (0,)),
        (2, (4.0, 0.5, 6.0), (0.5, 1, 3), (2, 0.25, 3), (0, 2)),
    ],
)
def test_a_unit_is_eased_at_a_share_of_its_length(
    dims: int, repeat: Any, centre: Any, less: Any, held: Any, asked: Asked
) -> None:
    start = Layout(np.array([[1.0, 2, 3]]), Z[None], np.array(repeat))
    eased(shape(dims, wires=(0.2,)), start, 0.5, 1.0)
    ((layout, aim, *rest),) = asked
    assert layout.centres[0] == pytest.approx(centre)
    assert layout.repeat == pytest.approx(np.array(less))
    assert layout.normals is start.normals
    assert not aim.any()
    assert rest == [None, 40, 1e-4, 0.05, held]
    assert start.centres[0].tolist() == [1, 2, 3]
    assert start.repeat.tolist() == list(repeat)


def test_rings_of_an_eased_chain_lie_evenly() -> None:
    got = eased(
        CHAIN,
        Layout(np.array([[0, 0, 0], [1.5, 0, 0]]), np.array([Z, Y]), np.array([3.6, 0.0])),
        0.75,
        1.0,
    )
    assert got.layout.repeat[0] == pytest.approx(2.7, abs=1e-6)
    assert np.diff(got.layout.centres[:, 0]) == pytest.approx([1.35], abs=0.02)
