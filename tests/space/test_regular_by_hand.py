"""How a chain may repeat and where its search begins: small chains whose planes are plain."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from ringstep.space import regular
from ringstep.space.cell import Cell, CellLink, CellRing, CellStep
from ringstep.space.circles import Layout
from ringstep.space.regular import Regular, ahead, judged, mirrored, plan, start, ways
from ringstep.space.units import twins


def chain(count: int, *links: tuple[int, int, int], steps: tuple[CellStep, ...] = ()) -> Cell:
    rings = tuple(CellRing("ABCDEF"[k], 8.0, 1.0) for k in range(count))
    own = steps or tuple(CellStep((k,)) for k in range(count))
    return Cell(rings, tuple(CellLink(a, b, (k,)) for a, b, k in links), 1, own)


#: Each ring in the next: two rings a unit, and the same with one.
TWO, ONE = chain(2, (0, 1, 0), (1, 0, 1)), chain(1, (0, 0, 1))
#: Each pair in the next.
LINKS = [(a, b) for a in (0, 1) for b in (2, 3)]
PAIRS = chain(4, *((a, b, 0) for a, b in LINKS), *((b, a, 1) for a, b in LINKS),
              steps=(CellStep((0, 1)), CellStep((2, 3))))  # fmt: skip
THREE = chain(3, (0, 1, 0), (1, 2, 0), (0, 2, 0), (2, 0, 1))


# -- ways ---------------------------------------------------------------------------------------


def told(cell: Cell) -> list[tuple[int, str, Any]]:
    return [
        (w.units, w.turn, None if w.rolls is None else np.degrees(w.rolls).round().tolist())
        for w in ways(cell)
    ]


def test_linked_rings_are_rolled_a_quarter_apart() -> None:
    assert told(TWO) == [(1, "none", [0, 90]), (1, "half", [0, 90])]
    assert told(PAIRS) == [(1, "none", [0, 0, 90, 90]), (1, "half", [0, 0, 90, 90])]
    # One alone is turned by a quarter from unit to unit.
    assert told(ONE) == [(1, "quarter", [0])]
    # Where three go through one another no rolls do: any planes, and free turns.
    assert [w[1:] for w in told(THREE)] == [("none", None), ("free", None)]
    own = chain(1, (0, 0, 1), (0, 0, 2))
    assert told(own) == [(3, "none", None), (1, "free", None)]
    assert told(chain(1, *((0, 0, k) for k in range(1, 7)))) == [(1, "free", None)]
    assert ways(ONE)[0].shape.twist is False
    assert ways(own)[1].shape.twist is True
    assert len(ways(own)[0].shape.radii) == 3


def test_rolls_go_by_the_links_from_whichever_end() -> None:
    def rolls(cell: Cell, by: int = 0) -> Any:
        found = regular._rolls(cell, twins(cell), by)
        return None if found is None else (found / (np.pi / 2)).tolist()

    assert rolls(chain(3, (0, 1, 0), (1, 2, 0))) == [0, 1, 0]
    assert rolls(chain(3, (0, 2, 0), (1, 2, 0), (2, 0, 1))) == [0, 0, 1]
    # From the first over the fourth and the third to the second: a quarter each.
    assert rolls(chain(4, (2, 3, 0), (1, 2, 0), (0, 3, 0))) == [0, 1, 0, 1]
    assert rolls(ONE) is None
    assert rolls(ONE, 1) == [0]
    assert rolls(chain(1, (0, 0, 2)), 1) is None
    assert rolls(TWO, 1) is None
    assert rolls(chain(2, (0, 1, 0), (1, 0, 2)), 1) == [0, 1]


def test_pairs_and_words_of_steps_are_kept_with_a_way() -> None:
    first, _ = ways(PAIRS)
    assert first.pairs == ((0, 1, False), (2, 3, False))
    assert first.shape.symmetry is not None
    assert first.shape.symmetry.source.tolist() == [0, 0, 2, 2]
    linked = chain(3, (0, 1, 0), (0, 2, 0), (1, 2, 0), (2, 0, 1), (2, 1, 1))
    assert ways(linked)[0].pairs[0] == (0, 1, True)
    # Lays of the second half that are the others make it the mirror image of the first.
    steps = tuple(CellStep((k,), side=side) for k, side in enumerate(("front", "back")))  # type: ignore[arg-type]
    (glide,) = ways(replace(TWO, steps=steps))
    assert (glide.turn, glide.units) == ("none", 1)
    assert glide.shape.symmetry is not None
    assert glide.shape.symmetry.ahead.tolist() == [0, 0.5]


# -- plans --------------------------------------------------------------------------------------


def test_rings_placed_later_lie_ahead() -> None:
    # Links in their order, seen from the ring of the lower number.
    assert TWO.pairs() == ((0, 1, (0,)), (0, 1, (-1,)))
    assert ahead(TWO).tolist() == [1, -1]
    assert ahead(ONE).tolist() == [1]
    assert ahead(chain(2, (0, 1, 0), steps=(CellStep((1,)), CellStep((0,))))).tolist() == [-1]
    linked = chain(3, (0, 1, 0), (0, 2, 0), (1, 2, 0), (2, 0, 1), (2, 1, 1))
    assert ahead(linked).tolist() == [0, 1, 1, -1, -1]  # of a pair neither is ahead


def test_a_plan_lays_rings_along_the_chain_a_radius_apart() -> None:
    one, half = (plan(way) for way in ways(TWO))
    assert np.diff(one.layout.centres[:, 0]) == pytest.approx([1])
    assert not one.layout.centres[:, 1:].any()
    assert one.layout.repeat == pytest.approx([2, 0])
    assert half.layout.repeat == pytest.approx([2, np.pi])
    assert one.layout.normals == pytest.approx(np.array([[0, 0, 1], [0, -1, 0]]))
    # z x -y is x, and the one lies ahead of the other by one link and behind it by the other.
    assert one.signs is not None
    assert one.signs.tolist() == [1, -1]
    assert plan(ways(ONE)[0]).layout.repeat == pytest.approx([1, np.pi / 2])
    loose = plan(ways(THREE)[0])
    assert loose.signs is None
    assert loose.layout.normals.tolist() == [[0, 0, 1]] * 3


def starts(way: Any, made: Any, count: int = 300) -> list[Layout]:
    return [start(way, made, np.random.default_rng([3, k])) for k in range(count)]


def seated(found: list[Layout], made: Any, loose: np.ndarray) -> np.ndarray:
    """How far off their places rings begin."""
    plain = made.layout.centres * loose[:, None, None]
    return np.array([at.centres for at in found]) - plain


def test_a_start_is_near_the_plan() -> None:
    way = ways(TWO)[0]
    made = plan(way)
    found = starts(way, made)
    loose = np.array([at.repeat[0] for at in found]) / 2
    assert (loose.min(), loose.max()) == pytest.approx((0.6, 1.3), abs=0.02)
    assert {at.repeat[1] for at in found} == {0}
    seats = seated(found, made, loose)
    assert seats.std() == pytest.approx(0.2, rel=0.05)
    normals = np.array([at.normals for at in found])
    assert np.linalg.norm(normals, axis=2) == pytest.approx(1)
    aside = normals[:, 0, :2] / normals[:, 0, 2:]  # leans of 0.3 over 1 and a lean
    assert np.median(np.abs(aside)) == pytest.approx(0.3 * 0.6745, rel=0.2)


def test_of_a_pair_the_second_begins_as_the_half_turn_image_of_the_first() -> None:
    way = ways(PAIRS)[0]
    made = plan(way)
    found = starts(way, made)
    loose = np.array([at.repeat[0] for at in found]) / made.layout.repeat[0]
    seats = seated(found, made, loose)
    image = seats[:, 0] * np.array([1, -1, -1])
    # 0.3 of how the second would lie: of 0.2 sqrt(2).
    assert (seats[:, 1] - image).std() == pytest.approx(0.3 * 0.2 * np.sqrt(2), rel=0.1)
    assert (seats[:, 3] - seats[:, 2]).std() > 0.2
    same = np.array([at.normals[0] @ at.normals[1] for at in found])
    assert same.mean() > 0.8


def test_any_plane_and_any_turn_where_nothing_is_known() -> None:
    way = ways(THREE)[1]
    found = starts(way, plan(way))
    turns = np.array([at.repeat[1] for at in found])
    assert (turns.min(), turns.max()) == pytest.approx((-np.pi, np.pi), abs=0.1)
    normals = np.array([at.normals for at in found])
    assert np.abs(normals.mean(axis=(0, 1))).max() < 0.1
    assert (normals**2).mean(axis=(0, 1)) == pytest.approx([1 / 3] * 3, abs=0.05)


# -- what is kept -------------------------------------------------------------------------------


def test_of_equal_forms_that_without_a_turn_is_better() -> None:
    plain, half = ways(TWO)
    at = plan(plain).layout
    one, two = Regular(plain, at, 2.0, True, False, True), Regular(half, at, 2.0, True, False, True)
    assert one.rank == two.rank == (True, False, 2.0)
    assert one.worth() == (True, False, pytest.approx(2.0002))
    assert two.worth() == (True, False, 2.0)


def test_a_layout_is_judged_by_what_it_keeps(monkeypatch: pytest.MonkeyPatch) -> None:
    way = replace(ways(TWO)[0], folds=(1, 2), spreads=(3,))  # type: ignore[arg-type]
    seen: list[Any] = []

    def stated(_: Cell, terms: Any, signs: list[int]) -> bool:
        seen.append(signs)
        return True

    monkeypatch.setattr(regular.lays, "as_stated", stated)
    monkeypatch.setattr(regular, "kept", lambda shape, at, what: what != 2)
    got = judged(way, plan(way).layout, 1.5)
    assert (got.said, got.folded, got.spread, got.room) == (True, False, True, 1.5)
    assert [[abs(s) for s in signs] for signs in seen] == [[1, 1]]


def test_front_and_back_are_exchanged() -> None:
    at = Layout(np.array([[1.0, 2, 3]]), np.array([[0.6, 0, 0.8]]), np.array([4.0, 0.5]))
    got = mirrored(at)
    assert got.centres.tolist() == [[1, 2, -3]]
    assert got.normals.tolist() == [[0.6, 0, -0.8]]
    assert got.repeat.tolist() == [4, -0.5]
