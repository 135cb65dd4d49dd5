"""Multiples of the unit, twins, and what hangs together."""

from __future__ import annotations

from collections.abc import Callable

import cells
import pytest

from ringstep.space import units
from ringstep.space.cell import Cell, CellError, CellLink, CellRing, CellStep, canonical
from ringstep.space.fit import fit


@pytest.mark.parametrize(
    ("make", "multiple"),
    [
        (cells.simple_chain, units.Multiple(2)),
        (cells.spiral, units.Multiple(3)),
        (cells.european_4, units.Multiple(2, 1, 0)),
        (cells.european_6, units.Multiple(2, 1, 0)),
        (cells.persian_6, units.Multiple(1)),
        (cells.japanese_4, units.Multiple(1)),
    ],
)
def test_smallest_multiple_without_own_links(
    make: Callable[[], Cell], multiple: units.Multiple
) -> None:
    assert units.multiple_that_frees(make()) == multiple


@pytest.mark.parametrize("name", cells.ALL)
@pytest.mark.parametrize("multiple", [units.Multiple(2), units.Multiple(3)])
def test_multiple_is_the_same_piece(name: str, multiple: units.Multiple) -> None:
    cell = cells.ALL[name]()
    big = units.multiplied(cell, multiple)
    assert len(big.rings) == multiple.size * len(cell.rings)
    assert len(big.links) == multiple.size * len(cell.links)
    # every link of the big unit, undone, is a link of the small one
    known = set(cell.pairs())
    count = len(cell.rings)
    for a, b, shift in big.pairs():
        first, second = a // count, b // count
        far = (shift[0] * multiple.across + second - first, *shift[1:])
        assert canonical(a % count, b % count, far) in known


def test_slanting_multiple_splits_every_shift_once() -> None:
    multiple = units.Multiple(3, 2, 1)
    seen = {}
    for a in range(-6, 7):
        for b in range(-6, 7):
            number, coarse = multiple.split((a, b))
            assert 0 <= number < 6
            assert (number, coarse) not in seen
            seen[number, coarse] = (a, b)
    for number in range(6):
        assert multiple.split(multiple.member(number, 2)) == (number, (0, 0))


def test_twins() -> None:
    assert units.twins(cells.persian_6()) == ((0, 1), (2, 3))
    assert units.twins(cells.persian_linked()) == ((0, 1), (2, 3))
    assert units.twins(cells.shaggy()) == ((0,), (1, 2, 3, 4, 5, 6))
    assert units.twins(cells.simple_pair()) == ((0,), (1,))


def test_twins_become_one_ring() -> None:
    single, group_of = units.merged(cells.persian_6())
    assert group_of == (0, 0, 1, 1)
    assert [r.name for r in single.rings] == ["M1", "S1"]
    assert set(single.pairs()) == {(0, 1, (-1,)), (0, 1, (0,)), (0, 1, (1,))}
    # two rings of a pair that are linked with one another stay two
    linked, groups = units.merged(cells.persian_linked())
    assert groups == (0, 1, 2, 2)
    assert len(linked.links) == 1 + 2 + 4
    alone = cells.european_4()
    assert units.merged(alone)[0].pairs() == alone.pairs()


def test_loose_rings_are_refused() -> None:
    rings = tuple(CellRing(n, 4.0, 1.0) for n in "AB")
    apart = Cell(rings, (CellLink(0, 1, (0,)),), 1)
    assert not units.hangs_together(apart)
    with pytest.raises(CellError, match="links alone do not join"):
        fit(apart)
    one_way = Cell(rings[:1], (CellLink(0, 0, (1, 0)),), 2)
    assert not units.hangs_together(one_way)
    assert all(units.hangs_together(make()) for make in cells.ALL.values())


@pytest.mark.parametrize(
    ("links", "text"),
    [
        ((CellLink(0, 0, (0,)),), "linked with itself"),
        ((CellLink(0, 1, (0,)), CellLink(1, 0, (0,))), "linked twice"),
        ((CellLink(0, 7, (0,)),), "ring number 7"),
        ((CellLink(0, 1, (0, 0)),), "does not have 1"),
    ],
)
def test_contradictions_are_told(links: tuple[CellLink, ...], text: str) -> None:
    rings = tuple(CellRing(n, 4.0, 1.0) for n in "AB")
    with pytest.raises(CellError, match=text):
        Cell(rings, links, 1, (CellStep((0,)),))
