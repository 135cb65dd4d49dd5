"""Rings that are images of others: where they lie, how they move, which cells allow it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.circles import Layout, Symmetry, moved, shape_of
from ringstep.space.symmetry import (
    imposed,
    mirrored_lays,
    of_twins,
    spread,
    under,
    with_glide,
)

HALF_TURN, MIRROR = np.array([1.0, -1, -1]), np.array([1.0, 1, -1])


def cell(count: int, *links: tuple[int, int, int], insides: dict[int, float] | None = None) -> Cell:
    rings = tuple(CellRing(str(k), (insides or {}).get(k, 8.0), 1.0) for k in range(count))
    return Cell(rings, tuple(CellLink(a, b, (k,)) for a, b, k in links), 1)


LINKS = [(a, b) for a in (0, 1) for b in (2, 3)]
#: Two pairs a unit, each through both of the next.
DOUBLED = cell(4, *((a, b, 0) for a, b in LINKS), *((b, a, 1) for a, b in LINKS))


def test_twins_are_half_turn_images() -> None:
    found = of_twins(DOUBLED)
    assert found.source.tolist() == [0, 0, 2, 2]
    assert found.matrix.tolist() == [[1, 1, 1], [1, -1, -1]] * 2
    assert found.ahead.tolist() == [0] * 4
    assert found.free.tolist() == [0, 2]


def test_of_three_twins_the_middle_one_is_its_own() -> None:
    three = cell(4, *((a, 3, 0) for a in range(3)), *((3, a, 1) for a in range(3)))
    found = of_twins(three)
    assert found.source.tolist() == [0, 1, 0, 3]
    assert found.matrix.tolist() == [[1, 1, 1], [1, 1, 1], [1, -1, -1], [1, 1, 1]]
    four = cell(5, *((a, 4, 0) for a in range(4)), *((4, a, 1) for a in range(4)))
    assert of_twins(four).source.tolist() == [0, 1, 1, 0, 4]


def test_twins_that_are_linked_are_no_images() -> None:
    linked = cell(3, (0, 1, 0), (0, 2, 0), (1, 2, 0), (2, 0, 1), (2, 1, 1))
    assert of_twins(linked).source.tolist() == [0, 1, 2]
    assert of_twins(linked).matrix.tolist() == [[1, 1, 1]] * 3


# -- images -------------------------------------------------------------------------------------

IMAGES = np.array([np.ones(3), HALF_TURN, np.ones(3), MIRROR])
GLIDE = Symmetry(np.array([0, 0, 2, 2]), IMAGES, np.array([0, 0, 0, 0.5]))
OWN = under(shape_of(DOUBLED), GLIDE)


def lying() -> Layout:
    rng = np.random.default_rng(4)
    normals = rng.normal(size=(4, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return Layout(rng.normal(size=(4, 3)), normals, np.array([3.0, 0.0]))


def test_images_lie_where_their_sources_say() -> None:
    start = lying()
    got = imposed(OWN, start)
    assert got.centres[[0, 2]].tolist() == start.centres[[0, 2]].tolist()
    assert got.centres[1] == pytest.approx(start.centres[0] * HALF_TURN)
    assert got.centres[3] == pytest.approx(start.centres[2] * MIRROR + np.array([1.5, 0, 0]))
    assert got.normals[1] == pytest.approx(start.normals[0] * HALF_TURN)
    assert got.normals[3] == pytest.approx(start.normals[2] * MIRROR)
    assert imposed(shape_of(DOUBLED), start) is start


def test_images_move_with_their_sources() -> None:
    start = imposed(OWN, lying())
    moves = spread(OWN, start)
    assert moves.shape == (22, 12)  # 5 of 4 rings and 2 of the repeat; 5 of 2 free rings and 2
    for free in range(11):
        step = np.zeros(12)
        step[free] = 1e-3
        after = moved(OWN, start, moves @ step)
        again = imposed(OWN, after)
        assert again.centres == pytest.approx(after.centres, abs=1e-9)
        assert again.normals == pytest.approx(after.normals, abs=1e-6)
        assert (
            max(
                np.abs(after.centres - start.centres).max(),
                np.abs(after.normals - start.normals).max(),
                np.abs(after.repeat - start.repeat).max(),
            )
            > 4e-4
        )
    # A unit longer by 1 takes the image along by a half.
    assert moves[:12:3, 10].tolist() == [0, 0, 0, 0.5]
    assert moves[20:, 10:].tolist() == [[1, 0], [0, 1]]
    free = spread(shape_of(DOUBLED), start)
    assert free == pytest.approx(np.eye(22))
    two = Layout(*(np.stack([x, x]) for x in (start.centres, start.normals, start.repeat)))
    assert spread(OWN, two)[1] == pytest.approx(moves)
    assert spread(shape_of(DOUBLED), two).shape == (2, 22, 22)


# -- glide mirrors ------------------------------------------------------------------------------


def test_the_second_half_of_a_unit_is_the_first_mirrored() -> None:
    simple = cell(2, (0, 1, 0), (1, 0, 1))
    found = with_glide(simple, of_twins(simple))
    assert found is not None
    assert found.source.tolist() == [0, 0]
    assert found.matrix.tolist() == [[1, 1, 1], [1, 1, -1]]
    assert found.ahead.tolist() == [0, 0.5]
    four = with_glide(DOUBLED, of_twins(DOUBLED))
    assert four is not None
    assert four.source.tolist() == [0, 0, 0, 0]
    assert four.matrix.tolist() == [[1, 1, 1], [1, -1, -1], [1, 1, -1], [1, -1, 1]]
    assert four.ahead.tolist() == [0, 0, 0.5, 0.5]


def test_a_unit_whose_halves_differ_is_not_mirrored() -> None:
    def glides(own: Cell) -> bool:
        return with_glide(own, of_twins(own)) is not None

    assert not glides(cell(3, (0, 1, 0), (1, 2, 0), (2, 0, 1)))  # no halves
    assert not glides(cell(2, (0, 1, 0), (1, 0, 1), (0, 0, 1)))  # the first goes on to its own
    assert glides(cell(2, (0, 1, 0), (1, 0, 1), (0, 0, 1), (1, 1, 1)))
    assert not glides(cell(2, (0, 1, 0), (1, 0, 1), insides={1: 7.0}))
    assert not glides(cell(2, (0, 1, 0), (1, 0, 2)))
    # An image of the second half cannot lead the first.
    own = cell(2, (0, 1, 0), (1, 0, 1))
    base = Symmetry(np.array([1, 1]), np.ones((2, 3)), np.zeros(2))
    assert with_glide(own, base) is None


@pytest.mark.parametrize(
    ("sides", "mirrored"),
    [
        (("front", "back"), True),
        (("front", "front"), False),
        ((None, None), False),
        ((None, "front", None, "back"), True),
        ((None, "front", "back", None), False),
        (("front", "back", "front"), False),
        (("front", "back", "back", "front"), True),
        ((), False),
    ],
)
def test_lays_of_the_second_half_are_the_others(sides: Any, mirrored: bool) -> None:
    assert mirrored_lays(sides) is mirrored
