"""How seats of rings are sought: what the search begins with, what it tries, what it leaves."""

from __future__ import annotations

from math import inf

import pytest
from helpers import BYZANTINE, DOUBLED, SIMPLE, SPIRAL, view
from small_recipes import weave

from ringstep.draw.grid import Named, Plan, RingBlock, ring_block
from ringstep.draw.positions import (
    Seats,
    _first_on_top,
    _from_coarse,
    _in_line,
    _resize,
    _runs_along,
    _settle,
    _starts,
    seat,
)
from ringstep.draw.scene import scene_of
from ringstep.weave.work import Ring

A, B, C = ("A", 1), ("B", 1), ("C", 1)
CHAIN = weave(
    "start: / close A / unit: / add A through prev A / add B through A / add C through B / piece: /"
    " chain 9 units"
).work
ROWS = weave(
    "row: / close A / add 2 B through A, above A if there / add C through A, prev A if there /"
    " piece: / sheet 6 rows of 8 units"
).work
OWN = frozenset((A, B, C))
BLOCKS = [ring_block((name,)) for name in (A, B, C)]


def plan(flat: bool = False, **looks: object) -> Plan:
    names = (A, B, C, ("B", 2))
    return Plan(ROWS if flat else CHAIN, dict.fromkeys(names, 18.0), **looks)  # type: ignore[arg-type]


# -- what it begins with ------------------------------------------------------------------------


def test_a_chain_is_begun_in_line_wide_and_close_and_on_one_spot() -> None:
    seen = plan()
    starts = _starts(seen, BLOCKS, frozenset(), True, [OWN])
    found = []
    for begin in starts:
        stand = begin()
        found.append((seen.widths[OWN], [seen.cells[n] for n in (A, B, C)]))
        assert list(stand) == BLOCKS
    line = [(0, 0), (2, 0), (4, 0)]
    # Two columns, and one, for each of the three.
    assert found == [(12, line), (6, line), (6, [(0, 0)] * 3)]
    # What is no repeating unit is set in line, its width not touched.
    (begin,) = _starts(plan(), BLOCKS, frozenset(), False, [OWN])
    assert [at[:2] for at in begin().values()] == [(0, 0), (1, 0), (2, 0)]
    # A unit is two half columns wide at least, also where none of its rings is sought.
    _in_line(seen, BLOCKS[:1], 1, [OWN, frozenset((("X", 1),))])
    assert (seen.widths[OWN], seen.widths[frozenset((("X", 1),))]) == (2, 2)


def test_rings_folded_back_are_begun_outside_of_the_others() -> None:
    work = view(BYZANTINE.replace("2 B", "B1, B2")).weave.work
    names: list[Named] = [(role, n) for role in "CAB" for n in (1, 2)]
    seen = Plan(work, dict.fromkeys(names, 18.0))
    pairs = [ring_block(tuple(names[k : k + 2])) for k in (0, 2, 4)]
    starts = _starts(seen, pairs, frozenset(), True, [frozenset(names)])
    assert len(starts) == 4
    starts[0]()
    # C and A lie level in their last shape, two side by side; the pair B stands upright, as wide
    # apart as there is a shape for it.
    assert [seen.cells[n] for n in names[:4]] == [(-1, 0), (1, 0), (1, 0), (3, 0)]
    assert [seen.cells[n] for n in names[4:]] == [(4, 3), (4, -3)]
    singles = [ring_block((n,)) for n in names]
    _starts(seen, singles, frozenset(), True, [frozenset(names)])[0]()
    assert [seen.cells[n] for n in names[4:]] == [(8, 4), (10, -4)]  # to both sides in turn


def test_a_sheet_is_begun_in_three_widths_and_drawn_out_from_single_rings() -> None:
    singles = [BLOCKS[0], BLOCKS[2]]
    kinds = [frozenset((A, C))]
    seen = plan(flat=True, lean=5)
    starts = _starts(seen, singles, frozenset(), True, kinds)
    found = []
    for begin in starts:
        begin()
        found.append((seen.widths[kinds[0]], seen.deep, seen.lean))
    assert found == [(4, 4, 0), (6, 6, 0), (8, 8, 0)]
    for block in singles:  # each where it does best among those before it
        assert seen.cells[block.names[0]] is not None
    assert seen.clean(scene_of(seen, frozenset((A, C)), frozenset()))
    pairs = [BLOCKS[0], ring_block((("B", 1), ("B", 2)))]
    seen = plan(flat=True, widths={OWN: 4})
    assert len(_starts(seen, pairs, frozenset(), True, [frozenset((A, B, ("B", 2)))])) == 3 + 4


def test_a_plan_of_single_rings_is_drawn_out_for_pairs() -> None:
    pair = ring_block((("B", 1), ("B", 2)))
    seen = plan(flat=True)
    coarse = ({A: (1, 2), B: (3, -1)}, {OWN: 4}, False, 3, 2)
    stand = _from_coarse(seen, [BLOCKS[0], pair], coarse, 2, 1, 2)
    assert (seen.widths, seen.deep, seen.lean) == ({OWN: 8}, 3, 4)
    assert stand[BLOCKS[0]] == (2, 2, (1, 2))
    assert stand[pair][:2] == (6, -1)
    assert seen.cells[A] == (2, 2)
    _from_coarse(seen, [BLOCKS[0], pair], coarse, 1, 2, 1)
    assert (seen.widths, seen.deep, seen.lean) == ({OWN: 4}, 6, 2)
    assert [seen.cells[n] for n in (A, B, ("B", 2))] == [(1, 4), (3, -1), (3, -3)]


def test_links_that_run_along_the_row() -> None:
    # C joins the A of its place and of the one before, half a place from both; B hangs between
    # rows.
    seen = plan(flat=True, widths={OWN: 4}, cells={A: (0, 0), C: (-2, 0), B: (0, 1)}, deep=4)
    assert _runs_along(seen, C)
    assert not _runs_along(seen, B)
    seen.cells[C] = (-2, 2)  # as far down as along
    assert not _runs_along(seen, C)


# -- what it tries ------------------------------------------------------------------------------


def test_a_block_is_left_where_it_costs_least() -> None:
    work = weave("start: / close A / unit: / add A through prev A / piece: / chain 9 units").work
    seen = Plan(work, {A: 18.0}, widths={frozenset((A,)): 2}, cells={A: (0, 5)})
    scene, block = scene_of(seen, frozenset((A,)), frozenset()), ring_block((A,))
    stand = {block: (0, 5, (1, 2))}
    price = seen.price(scene, inf)
    # 0.8 for each half lane above and below the middle: on the middle it is 8 less.
    left = _settle(seen, scene, stand, block, price, True, 10**9)
    assert left == pytest.approx(price - 8)
    assert seen.cells[A][1] == 0
    assert stand[block][:2] == seen.cells[A]
    assert left == pytest.approx(seen.price(scene, inf))
    # Nothing is tried once enough was looked at.
    seen.cells, stand = {A: (0, 5)}, {block: (0, 5, (1, 2))}
    assert _settle(seen, scene, stand, block, price, True, -1) == price
    assert seen.cells[A] == (0, 5)


def test_widths_are_tried_a_little_narrower_and_wider() -> None:
    own = frozenset((A,))
    work = weave("start: / close A / unit: / add A through prev A / piece: / chain 9 units").work
    seen = Plan(work, {A: 18.0}, widths={own: 6}, cells={A: (0, 0)})
    scene = scene_of(seen, own, frozenset())
    price = seen.price(scene, inf)
    assert price == 3 * 6 + 9  # a link of three columns
    # Four less leaves the rings two half columns apart, which is as near as they may be.
    assert _resize(seen, scene, [own], price, (-4, 1)) == 3 * 2 + 1
    assert seen.widths == {own: 2}
    seen.widths = {own: 6}
    assert _resize(seen, scene, [own], price, (-5, -3, 1)) == 3 * 3 + 2.25  # 1 is no width
    seen.widths = {own: 6}
    assert _resize(seen, scene, [own], price, (1, 2)) == price
    assert seen.widths == {own: 6}


def test_the_first_ring_of_a_unit_stands_on_top_where_that_is_as_good() -> None:
    seen = plan(widths={OWN: 4}, cells={A: (0, -2), B: (2, 0), C: (2, 2)})
    scene = scene_of(seen, OWN, frozenset())
    price = seen.price(scene, inf)
    _first_on_top(seen, scene, BLOCKS, price)
    assert seen.cells == {A: (0, 2), B: (2, 0), C: (2, -2)}
    _first_on_top(seen, scene, BLOCKS, price)  # it is there already
    assert seen.cells == {A: (0, 2), B: (2, 0), C: (2, -2)}
    # A pair keeps its first ring on top.
    pair: RingBlock = ring_block((B, ("B", 2)))
    seen.cells = {A: (0, -2), B: (2, 3), ("B", 2): (2, 1)}
    _first_on_top(seen, scene, [BLOCKS[0], pair], inf)
    assert seen.cells == {A: (0, 2), B: (2, -1), ("B", 2): (2, -3)}
    # Where it would cost more it stays.
    seen.cells = {A: (0, -2), B: (2, 0), C: (2, 2)}
    _first_on_top(seen, scene, BLOCKS, price - 1)
    assert seen.cells == {A: (0, -2), B: (2, 0), C: (2, 2)}
    # A first ring on the middle tells nothing: the next that is off it counts.
    seen.cells = {A: (0, 0), B: (2, -2), C: (2, 2)}
    _first_on_top(seen, scene, BLOCKS, inf)
    assert seen.cells == {A: (0, 0), B: (2, 2), C: (2, -2)}


# -- what it leaves -----------------------------------------------------------------------------


def seats(text: str) -> dict[tuple[int, str, int], tuple[float, float]]:
    """By unit and name, of a recipe whose rings are all drawn 18 points wide."""
    work = view(text).weave.work
    names = {(r.role, r.index) for r in work.placed_by}
    found = seat(work, dict.fromkeys(names, 18.0))
    return {(r.unit, r.role, r.index): at for r, at in found.at.items()}


def test_a_simple_chain_is_a_row_of_rings() -> None:
    # Two half columns of 15.5 points for each.
    assert seats(SIMPLE) == {
        (unit, "A", 1): (31.0 * unit, 0.0) for unit in range(len(seats(SIMPLE)))
    }


def test_a_doubled_chain_is_two_rows_the_first_ring_on_top() -> None:
    found = seats(DOUBLED)
    for unit in (0, 1, 2):
        (x, high), (u, low) = found[unit, "A", 1], found[unit, "A", 2]
        assert x == u
        assert high == -low > 0


def test_units_of_a_spiral_stand_up_and_down_in_turn() -> None:
    found = seats(SPIRAL)
    heights = [found[unit, "A", 1][1] for unit in range(len(found))]
    assert heights == [heights[0], -heights[0]] * (len(heights) // 2) + heights[: len(heights) % 2]
    assert heights[1] != 0


def test_links_that_close_a_loop_go_to_the_copy_that_is_nearer() -> None:
    first, twin = Ring("A", 1, 1, 0), Ring("A", 1, 1, 7)
    near, far = Ring("A", 1, 1, 1), Ring("B", 1, 1, 6)
    found = Seats({}, {first: twin}, {}, {}, 15.0)
    assert found.ends(first, near) == (first, near)
    assert found.ends(near, first) == (near, first)
    assert found.ends(first, far) == (twin, far)
    assert found.ends(far, first) == (far, twin)
    middle = Ring("A", 1, 1, 3)  # 3 from the one, 4 from the other
    assert found.ends(middle, first) == (middle, first)
    assert found.ends(middle._replace(unit=4), first)[1] == twin
    assert found.round == ""


@pytest.mark.parametrize(
    "step", ["add B through A", "add B through A, prev A", "add 3 B through A"]
)
def test_what_a_unit_begins_with_stands_above_what_hangs_from_it(step: str) -> None:
    body = f"start: / close A / unit: / add A through prev A / {step} / piece: / chain 9 units"
    work = weave(body).work
    names = {(r.role, r.index) for r in work.placed_by}
    at = seat(work, dict.fromkeys(names, 18.0)).at
    heights: dict[str, list[float]] = {}
    for ring, (_, y) in at.items():
        heights.setdefault(ring.role, []).append(y)
    assert set(heights["A"]) == {15.0}  # a half lane above the middle of what hangs from it
    assert sum(heights["B"]) == 0
