"""What is wrong with a way to set rings, in one number: the price list of `grid`, by hand.

A ring of 18 points stands on a grid of 15.5 by 15 points, which leaves 13 and 12 between rings.
"""

from __future__ import annotations

from math import inf

import pytest
from helpers import BYZANTINE, view
from small_recipes import weave

from ringstep.draw.grid import Cell, Named, Plan, Scene
from ringstep.draw.scene import scene_of
from ringstep.weave.work import Ring

NAMES: tuple[Named, ...] = (("A", 1), ("B", 1), ("B", 2), ("B", 3))
CHAIN = weave(
    "start: / close A / unit: / add A through prev A / add 3 B through A / piece: / chain 9 units"
).work
SHEET = weave(
    "row: / close A / add 3 B through A, above A if there / piece: / sheet 6 rows of 8 units"
).work
#: The four rings of one place.
RINGS = [Ring(role, index, 1, 1) for role, index in NAMES]


def plan(*cells: Cell, flat: bool = False, **looks: object) -> Plan:
    """The rings of a place on these cells."""
    found = Plan(SHEET if flat else CHAIN, dict.fromkeys(NAMES, 18.0), **looks)  # type: ignore[arg-type]
    found.cells = dict(zip(NAMES, [*cells, *[(0, 0)] * 4], strict=False))
    found.deep = int(looks.get("deep", 1))  # type: ignore[call-overload]
    return found


def scene(*extra: float, own: tuple[int, ...] = (0,), **terms: object) -> Scene:
    """What is looked at, by the places in `RINGS`."""
    terms = {"links": [], "hangs": [], "pairs": [], "triples": [], "doubles": [], **terms}
    names = frozenset(terms.pop("names", ()))  # type: ignore[call-overload]
    more = [*extra, 0.0, 0.0, 0.0, 0.0][:4]
    return Scene(names, RINGS, more, list(own), **terms)  # type: ignore[arg-type]


def price(of: Plan, *extra: float, best: float = inf, **terms: object) -> float:
    return of.price(scene(*extra, **terms), best)  # type: ignore[arg-type]


# -- rings and links in one another's way -------------------------------------------------------


@pytest.mark.parametrize(
    ("apart", "extra", "touch"),
    [
        # Two rings touch that have less than 11 points between them.
        ((1, 0), 0, True), ((2, 0), 0, False), ((0, 1), 0, True), ((0, 2), 0, False),
        ((1, 1), 0, True), ((-1, 1), 0, True), ((1, -2), 0, False), ((-2, 0), 0, False),
        # Half of what they are larger than the grid was made for counts.
        ((0, 2), 2, False), ((0, 2), 3, True), ((2, 0), 4, False), ((2, 0), 5, True),
    ],
)  # fmt: skip
def test_rings_that_touch(apart: Cell, extra: float, touch: bool) -> None:
    seen = plan((3, 1), (3 + apart[0], 1 + apart[1]))
    for more in ((extra, 0), (0, extra), (extra / 2, extra / 2)):
        assert price(seen, *more, pairs=[(0, 1)]) - price(seen) == (400 if touch else 0)
        assert price(seen, *more, pairs=[(1, 0)]) - price(seen) == (400 if touch else 0)
        assert seen.clean(scene(*more, pairs=[(0, 1)])) is not touch
    assert price(seen, extra, pairs=[(0, 1), (0, 1)]) - price(seen) == (800 if touch else 0)


@pytest.mark.parametrize(
    ("middle", "extra", "costs"),
    [
        # A link past a ring: free where 5 points are left to its outline; else 25 and 6 for each
        # point that is missing. Through its middle 9 and 5 are missing.
        ((2, 0), 0, 25 + 6 * 14), ((2, 1), 0, 0), ((2, -1), 0, 0), ((1, 0), 0, 25 + 6 * 14),
        ((2, 1), 2, 0), ((2, 1), 4, 25 + 6), ((2, 0), 4, 25 + 6 * 16),
        # Beyond an end: 15.5 from it, of which the ring takes 9 or, larger by 5, 11.5.
        ((5, 0), 0, 0), ((-1, 0), 0, 0), ((5, 0), 5, 25 + 6), ((-1, 0), 5, 25 + 6),
    ],
)  # fmt: skip
def test_a_link_that_runs_through_a_ring_it_does_not_belong_to(
    middle: Cell, extra: float, costs: float
) -> None:
    (x, y), at = middle, (3, 1)
    seen = plan(at, (7, 1), (3 + x, 1 + y))
    assert price(seen, 0, 0, extra, triples=[(0, 1, 2)]) - price(seen) == pytest.approx(costs)
    assert price(seen, 0, 0, extra, triples=[(1, 0, 2)]) - price(seen) == pytest.approx(costs)
    assert seen.clean(scene(0, 0, extra, triples=[(0, 1, 2)])) is (costs == 0)
    upright = plan((3, 1), (3, 5), (3 + y, 1 + x))  # 15 for 15.5 along, 15.5 for 15 aside
    if not y and 0 < x < 4:
        found = price(upright, 0, 0, extra, triples=[(0, 1, 2)]) - price(upright)
        assert found == pytest.approx(costs)


def test_links_that_cross() -> None:
    seen = plan((1, 1), (5, 3), (2, 4), (3, 0))
    level = price(seen)
    assert price(seen, doubles=[(0, 1, 2, 3)]) == pytest.approx(level + 3)
    assert price(seen, doubles=[(0, 1, 2, 3)] * 2) == pytest.approx(level + 6)
    assert price(seen, doubles=[(0, 2, 1, 3)]) == level


# -- how a chain lies ---------------------------------------------------------------------------


def test_links_cost_by_the_square_of_their_length_and_more_where_they_run_backwards() -> None:
    # One column, 31 points, costs 1; a link is told from the later ring to the earlier one.
    seen = plan((5, 1), (1, 1))
    assert price(seen, links=[(0, 1)]) - price(seen) == pytest.approx(4)
    # Four half columns on: 3 for each of them as well.
    assert price(seen, links=[(1, 0)]) - price(seen) == pytest.approx(4 + 12)
    seen = plan((1, 1), (1, 3))
    assert price(seen, links=[(0, 1)]) - price(seen) == pytest.approx((30 / 31) ** 2)
    seen = plan((5, 1), (1, 3))
    assert price(seen, links=[(0, 1)] * 2) - price(seen) == pytest.approx(2 * (4 + (30 / 31) ** 2))
    assert price(plan((1, 1), (5, 1), flat=True), names=NAMES[:1], links=[(0, 1)]) == pytest.approx(
        price(plan((1, 1), (1, 1), flat=True), names=NAMES[:1], links=[(0, 1)]) + 4
    )  # in a sheet no way is backwards


def test_a_chain_is_to_be_low_and_level() -> None:
    def lanes(*ups: int) -> float:
        seen = plan(*[(0, up) for up in ups])
        return price(seen, own=tuple(range(len(ups))), links=[(0, 0)])

    assert lanes(0, 0) == 0
    assert lanes(2, -2) == pytest.approx(1.2 * 4)  # high by 4, as far up as down
    assert lanes(-3, 0) == pytest.approx(1.2 * 3 + 0.8 * 3)
    assert lanes(2, 5) == pytest.approx(1.2 * 3 + 0.8 * 7)
    # The picture of a step has room for 114 points, 7.6 half lanes; beyond these each costs 12.
    assert lanes(4, -3) == pytest.approx(1.2 * 7 + 0.8)
    assert lanes(5, -5) == pytest.approx(1.2 * 10 + 12 * (10 - 7.6))
    # Rings whose seats are not sought do not count.
    assert price(plan((0, 0), (0, 9)), own=(0,), links=[(0, 0)]) == 0


def test_width_and_turning_upside_down_cost() -> None:
    wide = plan((0, 0), widths={frozenset(NAMES): 4, frozenset(NAMES[:1]): 6})
    assert price(wide, links=[(0, 0)]) == 3 * 10
    wide.mirrored = True
    assert price(wide, links=[(0, 0)]) == 3 * 10 + 14


def test_rings_without_links_are_drawn_to_the_middle() -> None:
    seen = plan((3, 0), (-4, 0))
    level = price(seen, links=[(0, 0)])
    assert price(seen, names=NAMES[:2]) - level == pytest.approx(0.01 * (3 + 4))
    up = plan((3, -2))
    # 1.2 a half lane is for what is high, 0.8 for what is off the middle, by twice its height.
    assert price(up, names=NAMES[:1]) == pytest.approx(0.8 * 4 + 0.01 * (3 + 2))


def test_rings_folded_back_lie_outside_of_what_they_hang_on() -> None:
    work = view(BYZANTINE).weave.work
    names = [(role, n) for role in "ABC" for n in (1, 2)]
    seen = Plan(work, dict.fromkeys(names, 18.0))
    # B is folded back; it hangs on the two A.
    assert seen.folds == {(("B", b), ("A", a)) for b in (1, 2) for a in (1, 2)}
    ups = {"A": (3, -3), "B": (1, -4), "C": (0, 0)}
    seen.cells = {(role, n): (0, ups[role][n - 1]) for role, n in names}
    # B1 lies 2 inside of both A; B2 outside.
    assert sum(seen.inwards()) == 4
    only = Scene(frozenset(), [Ring("C", 1, 1, 1)], [0.0], [0], [(0, 0)], [], [], [], [])
    assert seen.price(only, inf) == 40 * 4
    del seen.cells["A", 1]
    assert sum(seen.inwards()) == 2
    del seen.cells["B", 1]
    assert sum(seen.inwards()) == 0
    sheet = Plan(SHEET, dict.fromkeys(NAMES, 18.0))
    assert sheet.folds == set()


# -- how a sheet lies ---------------------------------------------------------------------------


def test_depth_and_lean_of_rows_cost() -> None:
    assert price(plan((0, 0), flat=True, deep=4), names=NAMES[:1]) == 3 * 4
    assert price(plan((0, 0), flat=True, lean=-6), names=NAMES[:1]) == 3 + 0.5 * 6


def test_the_rings_of_a_place_keep_together() -> None:
    # 3 for the half lane to the next row and for each half column of width; 0.05 for each half
    # column and half lane off the middle, 0.01 more where no links are.
    seen = plan((3, -2), (-1, 4), flat=True, widths={frozenset(NAMES): 6})
    assert price(seen, names=NAMES[:2], links=[(0, 0)]) == pytest.approx(3 + 18 + 0.05 * (4 + 6))
    assert price(seen, names=NAMES[:2]) == pytest.approx(3 + 18 + 0.06 * (4 + 6))
    # Wider than the place by 3: 8 for each.
    seen = plan((5, 0), (-4, 0), flat=True, widths={frozenset(NAMES): 6})
    assert price(seen, names=NAMES[:2], links=[(0, 0)]) == pytest.approx(3 + 18 + 0.05 * 9 + 8 * 3)
    seen = plan((3, 0), (0, 0), flat=True)  # a place of no known width is 2 wide
    assert price(seen, names=NAMES[:2], links=[(0, 0)]) == pytest.approx(3 + 0.05 * 3 + 8)


def test_what_hangs_stands_below() -> None:
    seen = plan((0, 1), (0, 4), flat=True)
    base = price(seen, names=NAMES[:1])
    assert price(seen, names=NAMES[:1], hangs=[(0, 1)]) == base
    assert price(seen, names=NAMES[:1], hangs=[(1, 0)]) == pytest.approx(base + 150 * 3)
    level = plan((0, 1), (0, 1), flat=True)
    assert price(level, names=NAMES[:1], hangs=[(1, 0)]) == price(level, names=NAMES[:1])


def test_what_a_row_begins_with_stands_below_what_the_row_before_began_with() -> None:
    work = weave(
        "row: / close 2 A / add 2 B through A, above A if there / piece: / sheet 6 rows of 8 units"
    ).work
    two = Plan(work, {("A", n): 18.0 for n in (1, 2)})
    two.cells = {("A", 1): (0, 0), ("A", 2): (0, 3)}
    for deep, by in ((5, 0), (4, 0), (3, 1), (1, 3)):  # of the upper row the lowest counts
        two.deep = deep
        assert list(two.climbs()) == [by]
    only = Scene(frozenset((("A", 1),)), [Ring("A", 1, 1, 1)], [0.0], [0], [(0, 0)], [], [], [], [])
    assert two.price(only, inf) == 3 * 1 + 150 * 3
    del two.cells["A", 2]
    assert list(two.climbs()) == []


# -- when it stops ------------------------------------------------------------------------------


def test_a_price_is_worked_out_to_its_end_unless_it_is_worse_than_the_best() -> None:
    seen = plan((0, 0), (1, 0), (0, 0), (1, 0))
    terms = {"pairs": [(0, 1), (0, 1)], "links": [(1, 0)], "triples": [(0, 1, 2), (0, 1, 2)]}
    link, near = 0.25, 25 + 6 * 14
    whole = price(seen, **terms)
    assert whole == pytest.approx(800 + link + 2 * near)
    # As good as the best is not worse: it goes on.
    assert price(seen, best=400, **terms) == 800
    assert price(seen, best=399, **terms) == 400
    assert price(seen, best=800, **terms) == 800 + link
    assert price(seen, best=800 + link, **terms) == 800 + link + near
    assert price(seen, best=800 + link + near, **terms) == whole


def test_what_was_looked_at_is_counted() -> None:
    seen = plan((0, 0), (9, 0))
    price(seen, pairs=[(0, 1)] * 9, triples=[(0, 1, 0)] * 5, doubles=[(0, 1, 0, 1)] * 7)
    assert seen.looks == 9 // 4 + 5 + 7  # a pair is looked at in a quarter of the time
    price(seen, pairs=[(0, 1)] * 4)
    assert seen.looks == 14 + 1


def test_only_what_moves_is_looked_at_again() -> None:
    pairs, triples = [(0, 1), (2, 3), (0, 3)], [(0, 1, 2), (1, 2, 3)]
    doubles = [(0, 1, 2, 3), (1, 2, 3, 1)]
    whole = scene(pairs=pairs, links=pairs, hangs=pairs, triples=triples, doubles=doubles)
    part = whole.about([("A", 1)])
    assert part.pairs == part.links == part.hangs == [(0, 1), (0, 3)]
    assert part.triples == [(0, 1, 2)]
    assert part.doubles == [(0, 1, 2, 3)]
    assert part.rings is whole.rings


def test_a_plan_is_clean_in_the_scene_of_its_own_work() -> None:
    names = frozenset(NAMES)
    seen = Plan(CHAIN, dict.fromkeys(NAMES, 18.0), widths={names: 8, names - set(NAMES[1:]): 2})
    seen.cells = {("A", 1): (0, 0), ("B", 1): (2, 2), ("B", 2): (2, -2), ("B", 3): (6, 2)}
    found = scene_of(seen, names, frozenset())
    assert seen.clean(found)
    seen.cells["B", 3] = (2, 1)  # on B 1
    assert not seen.clean(found)
    seen.cells["B", 3] = (4, 0)  # between two A
    assert not seen.clean(found)
