"""Which sign patterns are one weave, and which of them the steps mean."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

import cells
import fitted
import pytest

from ringstep.space import lays
from ringstep.space.cell import Cell, CellLink
from ringstep.space.fit import fit
from ringstep.space.units import Multiple, multiplied


def turned_over(cell: Cell, signs: tuple[int, ...], rings: set[int]) -> tuple[int, ...]:
    """Signs once these rings are turned over: a link flips when just one of its rings is."""
    return tuple(
        -sign if (link.a in rings) != (link.b in rings) else sign
        for sign, link in zip(signs, cell.links, strict=True)
    )


@pytest.mark.parametrize("name", cells.ALL)
def test_turning_rings_over_changes_nothing(name: str) -> None:
    cell = cells.ALL[name]()
    draw = random.Random(4)
    terms = lays.stated_terms(cell)
    for _ in range(20):
        signs = tuple(draw.choice((1, -1)) for _ in cell.links)
        over = turned_over(cell, signs, {k for k in range(len(cell.rings)) if draw.random() < 0.5})
        assert lays.normal_signs(cell, signs) == lays.normal_signs(cell, over)
        assert lays.as_stated(cell, terms, signs) == lays.as_stated(cell, terms, over)


def test_number_of_classes_is_that_of_signed_graphs() -> None:
    # a connected graph of n points and e links has 2^(e-n+1) classes of signs up to switching
    # (Zaslavsky, Discrete Appl. Math. 4, 1982; from memory)
    cell = cells.doubled_chain()
    every = itertools.product((1, -1), repeat=len(cell.links))
    classes = {lays.normal_signs(cell, signs) for signs in every}
    assert len(classes) == 2 ** (len(cell.links) - len(cell.rings) + 1)


def test_front_and_back_are_mirror_images() -> None:
    front, back = (
        fit(cells.persian_linked(6.0, (side,)), effort=0).forms[0] for side in ("front", "back")
    )
    assert front.as_said
    assert back.as_said
    mirrored = lays.normal_signs(back.cell, [-s for s in back.signs])
    terms = lays.stated_terms(front.cell)
    assert lays.as_stated(front.cell, terms, mirrored)
    assert not lays.as_stated(front.cell, terms, back.signs)


def test_alternating_is_not_a_mirror_of_front() -> None:
    # links alone also allow the plain spiral, which needs less room: it must not be given out
    alternating = fitted.best("spiral 4-in-1, alternating")
    assert alternating.as_said
    assert fitted.best("spiral 4-in-1, front").smallest(0) < alternating.smallest(0) - 1
    terms = lays.stated_terms(alternating.cell)
    assert lays.as_stated(alternating.cell, terms, alternating.signs)


def test_pairs_lie_together() -> None:
    form = fitted.best("Persian 6-in-1")
    normals = [ring.normal for ring in form.shown.rings]
    for one, other in ((0, 1), (2, 3)):
        assert abs(sum(a * b for a, b in zip(normals[one], normals[other], strict=True))) > 0.5


def complete(count: int) -> Cell:
    """So many rings, each linked with all the others."""
    pairs = itertools.combinations(range(count), 2)
    links = tuple(CellLink(a, b, ()) for a, b in pairs)
    return Cell(cells.rings(" ".join(f"p{k}" for k in range(count))), links, 0)


def test_closed_walks_of_a_complete_graph() -> None:
    # closed walks of length n in K_m: (m-1)^n + (m-1)(-1)^n, from its eigenvalues m-1 once and
    # -1 (m-1) times (any textbook on spectra of graphs)
    for m in (3, 5):
        cell = complete(m)
        want = tuple((m - 1) ** n + (m - 1) * (-1) ** n for n in range(3, 9))
        assert lays.closed_walks(cell, (1,) * len(cell.links)) == want
        mirrored = tuple(w * (-1) ** n for n, w in enumerate(want, 3))
        assert lays.closed_walks(cell, (-1,) * len(cell.links)) == mirrored


def test_closed_walks_of_endless_pieces() -> None:
    # a line: binom(n, n/2) ways to come back in n steps; a square net: the square of that
    line = lays.closed_walks(cells.simple_chain(), (1,))
    assert line == (0, 6, 0, 20, 0, 70)
    assert lays.closed_walks(cells.european_4(), (1, 1)) == tuple(n * n for n in line)


@pytest.mark.parametrize("name", cells.ALL)
def test_closed_walks_do_not_depend_on_how_a_piece_is_written(name: str) -> None:
    cell = cells.ALL[name]()
    draw = random.Random(5)
    signs = tuple(draw.choice((1, -1)) for _ in cell.links)
    walks = lays.closed_walks(cell, signs)
    over = turned_over(cell, signs, {k for k in range(len(cell.rings)) if draw.random() < 0.5})
    assert lays.closed_walks(cell, over) == walks
    if cell.dims == 1:
        tripled = lays.closed_walks(multiplied(cell, Multiple(3)), signs * 3)
        assert tripled == tuple(3 * w for w in walks)


def test_closed_walks_tell_lays_apart() -> None:
    alternating = cells.spiral_alternating()
    steps = tuple(replace(s, side="front") for s in alternating.steps)
    same = replace(alternating, steps=steps)

    def walks(cell: Cell) -> set[tuple[int, ...]]:
        terms = lays.stated_terms(cell)
        every = itertools.product((1, -1), repeat=len(cell.links))
        return {lays.closed_walks(cell, s) for s in every if lays.as_stated(cell, terms, s)}

    assert walks(alternating)
    assert walks(same)
    assert not walks(alternating) & walks(same)
