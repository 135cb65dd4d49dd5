"""Where flat rings lie before they are joined: heaps, and places found with ruler and compass."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from ringstep.space.on_table import _heaps, _one_by_one, _spread, table_of
from ringstep.weave.work import Ring

Place = tuple[int, int]


def ring(row: int, unit: int, role: str = "A", index: int = 1) -> Ring:
    return Ring(role, index, row, unit)


def act(new: tuple[Ring, ...], through: tuple[Ring, ...] = (), **more: Any) -> Any:
    words = {"stops": (), "skipped": False, "block": SimpleNamespace(kind="row"), **more}
    return SimpleNamespace(new=new, through=through, **words)


def heaps(*places: tuple[int, int]) -> list[tuple[Ring, ...]]:
    return [(ring(*place),) for place in places]


def joined(count: int, *pairs: tuple[int, int]) -> np.ndarray:
    found = np.zeros((count, count), dtype=bool)
    for a, b in pairs:
        found[a, b] = found[b, a] = True
    return found


# -- heaps --------------------------------------------------------------------------------------


def test_rings_gone_through_together_are_one_heap() -> None:
    one, two, other = ring(1, 1), ring(1, 1, index=2), ring(1, 1, index=3)
    joins = [act((ring(1, 9, "J"),), (one, two)), act((ring(1, 8, "J"),), (other,))]
    assert _heaps([act((one, two, other)), *joins]) == {0: ((one, two), (other,))}
    # At two places of one ring they are two, and so are rings of two names.
    stops = act((ring(1, 9, "J"),), (one, two), stops=((one,), (two,)))
    assert _heaps([act((one, two)), stops]) == {0: ((one,), (two,))}
    named = ring(1, 1, "B")
    assert _heaps([act((one, named)), act((ring(1, 9, "J"),), (one, named))]) == {
        0: ((one,), (named,))
    }
    # What is left out goes through nothing; a first row hangs on its rod.
    skipped = act((ring(1, 9, "J"),), (one,), skipped=True)
    assert _heaps([act((one, two)), skipped]) == {0: ((one, two),)}
    assert _heaps([act((one,), skipped=True)]) == {}
    assert _heaps([act((one,), block=SimpleNamespace(kind="first row"))]) == {}
    assert _heaps([act(()), act((one,))]) == {1: ((one,),)}


# -- one by one ---------------------------------------------------------------------------------


def laid(
    places: list[tuple[int, int]], *pairs: tuple[int, int], tube: bool = False, way: int = 1
) -> Any:
    """Where heaps that touch 2 apart lie."""
    count = len(places)
    return _one_by_one(
        heaps(*places), joined(count, *pairs), np.full((count, count), 2.0), lambda _: way, tube
    )


def test_heaps_that_nothing_joins_lie_by_row_and_place() -> None:
    assert laid([(1, 1), (1, 3), (3, 2)]).tolist() == [[2, 0], [6, 0], [4, -6]]
    assert laid([(2, 1), (4, 0)]).tolist() == [[2, 0], [0, -6]]


def test_a_heap_touches_all_it_is_joined_to() -> None:
    assert laid([(1, 1), (1, 2)], (0, 1)) == pytest.approx(np.array([[2, 0], [4, 0]]))
    assert laid([(1, 1), (1, 2)], (0, 1), way=-1) == pytest.approx(np.array([[2, 0], [0, 0]]))
    assert laid([(1, 1), (2, 1)], (0, 1)) == pytest.approx(np.array([[2, 0], [2, -2]]))
    # Below two that touch it is the third corner of a triangle with sides of 2.
    corner = laid([(1, 1), (1, 2), (2, 1)], (0, 1), (0, 2), (1, 2))
    assert corner[2] == pytest.approx([3, -np.sqrt(3)], abs=1e-6)
    # Beside one and below another likewise: 2 from (2, 0) and from (4, 0).
    mixed = laid([(1, 1), (1, 2), (2, 1), (2, 2)], (0, 1), (0, 2), (2, 3), (1, 3))
    assert mixed[2] == pytest.approx([2, -2], abs=1e-6)
    assert mixed[3] == pytest.approx([4, -2], abs=1e-6)


def test_the_last_of_a_tube_is_not_drawn_across_to_its_first() -> None:
    places = [(1, 1), (1, 2), (1, 3), (2, 3)]
    pairs = (0, 1), (1, 2), (0, 2), (0, 3)
    assert laid(places, *pairs, tube=True)[:3] == pytest.approx(np.array([[2, 0], [4, 0], [6, 0]]))
    assert laid(places, *pairs)[2] == pytest.approx([5, 0])  # else it is as far from both as may be
    assert laid(places, *pairs, tube=True)[3] == pytest.approx([2, -2])  # another row may be


# -- spread -------------------------------------------------------------------------------------


def test_joined_heaps_are_drawn_till_they_touch() -> None:
    start = np.array([[0.0, 0], [5, 0]])
    got = _spread(start, joined(2, (0, 1)), np.full((2, 2), 2.0), 0.0)
    assert got == pytest.approx(np.array([[1.5, 0], [3.5, 0]]), abs=1e-6)
    assert start[0].tolist() == [0, 0]
    near = _spread(np.array([[0.0, 0], [1, 0]]), joined(2), np.full((2, 2), 2.0), 0.0)
    assert 2 <= near[1, 0] - near[0, 0] + 1e-6 < 4.1
    far = np.array([[0.0, 0], [4.1, 0]])
    assert _spread(far, joined(2), np.full((2, 2), 2.0), 0.0).tolist() == far.tolist()
    assert _spread(far[:1], joined(1), np.full((1, 1), 2.0), 0.0).tolist() == far[:1].tolist()


def test_heaps_that_are_not_joined_are_led_apart() -> None:
    # Two hang from one: they begin side by side and end on opposite sides of it.
    start = np.array([[0.0, 0], [1.9, 0.7], [1.9, -0.7]])
    got = _spread(start, joined(3, (0, 1), (0, 2)), np.full((3, 3), 2.0), 0.0)
    away = got[1:] - got[0]
    assert np.linalg.norm(away, axis=1) == pytest.approx([2, 2], abs=1e-6)
    assert np.linalg.norm(away[0] - away[1]) > 3.5


def test_round_a_tube_the_first_is_beside_the_last() -> None:
    # On a round of 6 heaps at 0 and 5 are 1 apart: joined, and to be 2 apart.
    got = _spread(np.array([[0.0, 0], [5, 0]]), joined(2, (0, 1)), np.full((2, 2), 2.0), 6.0)
    assert got == pytest.approx(np.array([[0.5, 0], [4.5, 0]]), abs=1e-6)


# -- the whole ----------------------------------------------------------------------------------


@pytest.mark.parametrize("tube", [False, True])
def test_what_acts_lay_down_lies_on_the_table(tube: bool) -> None:
    one, two, three = ring(1, 1), ring(1, 2), ring(2, 1)
    acts = [act((one,)), act((two,)), act((three,)), act((ring(1, 9, "J"),), (one, two))]
    acts.append(act((ring(1, 8, "J"),), (three, one), skipped=True))
    got = table_of(acts, lambda _: (1.0, 0.5), lambda _: 1, tube)
    assert got.touch == pytest.approx(2.51)  # two radii, and 1.02 of a wire
    assert got.round_ == (2 if tube else 0)
    assert got.heaps == {0: ((one,),), 1: ((two,),), 2: ((three,),)}
    assert list(got.at) == [(one,), (two,), (three,)]
    apart = got.at[two,] - got.at[one,]
    assert np.linalg.norm(apart) == pytest.approx(2.51, abs=1e-6)
    assert -6 < got.at[three,][1] < -1.5 * 2.51  # a row down, and led apart


def test_an_empty_table() -> None:
    got = table_of([], lambda _: (1.0, 0.5), lambda _: 1, True)
    assert (got.at, got.heaps, got.round_, got.touch) == ({}, {}, 0, 0)
