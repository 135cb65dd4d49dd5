"""Units taken several at a time, twins and pieces that hang together; counted by hand."""

from __future__ import annotations

import pytest

from ringstep.space.cell import Cell, CellLink, CellRing, CellStep, Shift
from ringstep.space.units import (
    Multiple,
    _multiples,
    hangs_together,
    linked_to_own_copy,
    merged,
    multiple_that_frees,
    multiplied,
    twins,
)


def cell(dims: int, count: int, *links: tuple[int, int, Shift], steps: tuple[CellStep, ...] = (),
         insides: tuple[float, ...] = (), wires: tuple[float, ...] = ()) -> Cell:  # fmt: skip
    sizes = zip(insides or (8.0,) * count, wires or (1.0,) * count, strict=True)
    rings = tuple(CellRing("ABCDE"[k], *size) for k, size in enumerate(sizes))
    return Cell(rings, tuple(CellLink(*link) for link in links), dims, steps)


def test_which_multiples_are_tried() -> None:
    assert _multiples(0) == [Multiple()]
    assert [m.across for m in _multiples(1)] == [1, 2, 3, 4, 5, 6]
    two = [m for m in _multiples(2) if m.size == 2]
    assert two == [Multiple(2, 1, 0), Multiple(2, 1, 1), Multiple(1, 2, 0)]
    # Of size n: for each n = across x along so many slips as across.
    assert [sum(m.size == n for m in _multiples(2)) for n in range(1, 8)] == [1, 3, 4, 7, 6, 12, 0]


def test_units_are_split_into_coarse_ones() -> None:
    assert Multiple(3).split((7,)) == (1, (2,))
    assert Multiple(3).split((-1,)) == (2, (-1,))
    assert Multiple(3).split(()) == (0, ())
    # Of 2 across and 3 along, the next along one row further down.
    slanting = Multiple(2, 3, 1)
    assert slanting.size == 6
    assert slanting.split((0, 0)) == (0, (0, 0))
    assert slanting.split((1, 2)) == (5, (0, 0))
    assert slanting.split((1, 3)) == (0, (0, 1))
    assert slanting.split((0, 3)) == (1, (-1, 1))
    assert [slanting.member(n, 2) for n in range(6)] == [
        (0, 0),
        (1, 0),
        (0, 1),
        (1, 1),
        (0, 2),
        (1, 2),
    ]
    assert (Multiple(3).member(2, 1), Multiple().member(0, 0)) == ((2,), ())


def test_a_ring_in_its_own_copy_needs_several_units() -> None:
    spiral = cell(1, 1, (0, 0, (1,)), (0, 0, (2,)))
    assert linked_to_own_copy(spiral) == ((1,), (2,))
    assert multiple_that_frees(spiral) == Multiple(3)
    assert multiple_that_frees(cell(1, 2, (0, 1, (0,)), (1, 0, (1,)))) == Multiple(1)
    assert multiple_that_frees(cell(1, 1, *((0, 0, (k,)) for k in range(1, 7)))) is None
    assert multiple_that_frees(cell(1, 1, *((0, 0, (k,)) for k in range(1, 6)))) == Multiple(6)


def test_a_multiple_has_all_links_and_steps() -> None:
    step = CellStep((0,), ((0, (-1,)),), "front", (0,), ((0, (1,)),))
    one = cell(1, 1, (0, 0, (1,)), steps=(step,))
    assert multiplied(one, Multiple(1)) is one
    two = multiplied(one, Multiple(2))
    assert [r.name for r in two.rings] == ["A.1", "A.2"]
    assert [(x.a, x.b, x.shift) for x in two.links] == [(0, 1, (0,)), (1, 0, (1,))]
    assert two.steps == (
        CellStep((0,), ((1, (-1,)),), "front", (0,), ((1, (0,)),)),
        CellStep((1,), ((0, (0,)),), "front", (1,), ((0, (1,)),)),
    )
    pair = cell(1, 2, (0, 1, (0,)), (1, 0, (1,)))
    assert [(x.a, x.b, x.shift) for x in multiplied(pair, Multiple(2)).links] == [
        (0, 1, (0,)), (1, 2, (0,)), (2, 3, (0,)), (3, 0, (1,)),
    ]  # fmt: skip


def test_a_piece_hangs_together_by_links_in_each_direction() -> None:
    assert hangs_together(cell(0, 1))
    assert hangs_together(cell(0, 3, (0, 1, ()), (1, 2, ())))
    assert not hangs_together(cell(0, 3, (0, 1, ())))
    assert hangs_together(cell(1, 2, (0, 1, (0,)), (1, 0, (1,))))
    assert not hangs_together(cell(1, 2, (0, 1, (0,))))
    assert not hangs_together(cell(1, 2, (0, 1, (1,))))
    assert hangs_together(cell(2, 1, (0, 0, (1, 0)), (0, 0, (0, 1))))
    assert not hangs_together(cell(2, 1, (0, 0, (1, 0)), (0, 0, (2, 0))))
    assert not hangs_together(cell(2, 1, (0, 0, (1, 2)), (0, 0, (2, 4))))
    assert hangs_together(cell(2, 1, (0, 0, (1, 2)), (0, 0, (2, 1))))


def test_rings_in_the_same_rings_are_twins() -> None:
    links = [(a, 2, (0,)) for a in (0, 1)] + [(2, a, (1,)) for a in (0, 1)]
    assert twins(cell(1, 3, *links)) == ((0, 1), (2,))
    assert twins(cell(1, 3, *links, (0, 1, (0,)))) == ((0, 1), (2,))  # a linked pair too
    assert twins(cell(1, 3, *links, (0, 1, (1,)))) == ((0,), (1,), (2,))
    assert twins(cell(1, 3, *links, insides=(8, 7, 8))) == ((0,), (1,), (2,))
    assert twins(cell(1, 3, *links, wires=(1, 1.2, 1))) == ((0,), (1,), (2,))
    assert twins(cell(1, 3, *links[:3])) == ((0,), (1,), (2,))
    assert twins(cell(0, 2)) == ((0,), (1,))  # in nothing
    assert twins(cell(0, 2, (0, 1, ()))) == ((0,), (1,))  # in one another alone


@pytest.mark.parametrize("linked", [False, True])
def test_twins_become_one_ring_unless_they_are_linked(linked: bool) -> None:
    links = [(a, 2, (0,)) for a in (0, 1)] + [(2, a, (1,)) for a in (0, 1)]
    links += [(0, 1, (0,))] if linked else []
    small, group = merged(cell(1, 3, *links, insides=(8, 8, 9)))
    assert group == ((0, 1, 2) if linked else (0, 0, 1))
    assert [r.name for r in small.rings] == (["A", "B", "C"] if linked else ["A", "C"])
    if not linked:
        assert [(x.a, x.b, x.shift) for x in small.links] == [(0, 1, (0,)), (1, 0, (1,))]
