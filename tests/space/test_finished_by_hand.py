"""Where rings lie in the finished chain, a repeat of two rings 10 mm long copied along.

Ring A of each unit lies at x = 0 and ring B at x = 5; every ring is linked with the next.
"""

from __future__ import annotations

from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import pytest

from ringstep.space.finished import Finished, NoPlace
from ringstep.space.result import PlacedRing, Pose
from ringstep.space.state import Round
from ringstep.weave.ring_graph import Class
from ringstep.weave.work import Ring

X = (1.0, 0.0, 0.0)


def a(unit: int, role: str = "A") -> Ring:
    return Ring(role, 1, 1, unit)


def lying(name: str, x: float) -> PlacedRing:
    return PlacedRing(name, 0, (0,), (x, 1.0, 0.0), X, 4.0, 1.0)


def chain(
    links: Any = (),
    removed: Any = (),
    acts: Any = (),
    units: int = 10,
    parts: Any = (),
    **more: Any,
) -> Any:
    """A finished chain of a work with these links, whose unit 1 is the first of the repeat."""
    both: dict[Ring, set[Ring]] = {}
    for one, other in links:
        both.setdefault(one, set()).add(other)
        both.setdefault(other, set()).add(one)
    work = SimpleNamespace(
        layout=SimpleNamespace(kind="loop", units=units, reach=1),
        acts=acts,
        links=both,
        removed=removed,
        placed_by=dict.fromkeys(both, 0),
    )
    sizes = {"A": (1.0, 7.0), "big": (2.0, 10.0)}
    view = SimpleNamespace(
        weave=SimpleNamespace(work=work, size=lambda role, index: sizes.get(role)),
        recipe=SimpleNamespace(part_roles=set(parts)),
    )
    laid = SimpleNamespace(
        origin=1,
        cycle=(1, 2),
        rings=[Class("A", 1, 0, 0), Class("A", 1, 0, 1)],
        cell=SimpleNamespace(pairs=lambda: ((0, 1, (0,)), (0, 1, (-1,)))),
    )
    shown = Pose((lying("A", 0.0), lying("B", 5.0)), (10.0, 0.0), 0.0)
    form = SimpleNamespace(units=(1,), shown=shown)
    return Finished(view, laid, form, **more)  # type: ignore[arg-type]


def test_each_ring_is_a_copy_of_one_of_the_repeat() -> None:
    finished = chain()
    assert [finished.own(a(unit)) for unit in (0, 1, 2, 3, 6)] == [
        (1, -1), (0, 0), (1, 0), (0, 1), (1, 2)
    ]  # fmt: skip
    assert finished.own(a(1, "big")) is None
    assert finished._placed(1, 2) == Round((25.0, 1.0, 0.0), X, 4.0, 1.0)
    assert finished._placed(0, -1) == Round((-10.0, 1.0, 0.0), X, 4.0, 1.0)


def test_of_a_closed_loop_the_last_units_and_then_the_first_are_there() -> None:
    finished = chain(round_by=12)
    # Three units on either side: of ten, 8 to 10 and then 0 to 2, twelve units on.
    assert finished.near_closing == 3
    there = {unit: finished.own(a(unit)) for unit in range(11)}
    assert {unit for unit, at in there.items() if at} == {8, 9, 10, 0, 1, 2}
    assert (there[8], there[10]) == ((1, 3), (1, 4))
    assert (there[0], there[2]) == ((1, 5), (1, 6))


def test_neighbours_are_those_of_the_cell_either_way() -> None:
    finished = chain()
    assert finished._neighbours(0, 4) == {(1, 4), (1, 3)}
    assert finished._neighbours(1, 4) == {(0, 4), (0, 5)}


def test_sizes_are_halved_from_middle_to_middle_of_the_wire() -> None:
    assert chain().size(a(1)) == (4, 1)
    assert chain().size(a(1, "big")) == (6, 2)
    with pytest.raises(NoPlace, match="the size of other is not known"):
        chain().size(a(1, "other"))


def test_a_ring_ever_met_those_it_was_linked_with_and_no_more() -> None:
    one, two, three, four = (a(k) for k in range(4))
    finished = chain([(one, two)], [(three, one, 0, 5), (one, four, 0, 5), (two, four, 0, 5)])
    assert finished._ever(one) == {two, three, four}
    assert finished._ever(three) == {one}
    assert finished._ever(a(9)) == set()


def test_a_ring_of_another_name_stands_for_the_copy_that_meets_the_same() -> None:
    end, ring = a(4, "big"), [a(unit) for unit in (1, 2, 3)]
    finished = chain([(ring[0], ring[1]), (ring[1], ring[2]), (ring[2], end)])
    homes = finished.homes
    assert [homes[r].centre[0] for r in ring] == [0, 5, 10]
    # It would lie at 15, 5 beyond the last; its mean radius is 2 more, so it lies at 17.
    assert homes[end] == Round((17.0, 1.0, 0.0), X, 6.0, 2.0)
    assert finished.stood == {end: (1, 1)}
    # At the other end the same way, to the left.
    first = a(0, "big")
    finished = chain([(ring[0], ring[1]), (first, ring[0])])
    assert finished.homes[first].centre == (-7.0, 1.0, 0.0)
    assert finished.stood == {first: (1, -1)}
    # A second one like it finds its place taken, and there is none that meets two in a row.
    more = a(5, "big")
    finished = chain([(ring[0], ring[1]), (ring[1], ring[2]), (ring[2], end), (ring[2], more)])
    assert [r for r in (end, more) if r in finished.homes] == [end]
    wrong = a(6, "big")
    finished = chain([(ring[0], ring[1]), (wrong, ring[0]), (wrong, ring[1])])
    assert wrong not in finished.homes
    # Parts have no place.
    assert end not in chain([(ring[2], end)], parts=["big"]).homes
    # One between two others lies at its place, whatever its size.
    finished = chain([(ring[0], a(2, "big")), (a(2, "big"), ring[2])])
    assert finished.homes[a(2, "big")].centre[0] == 5.0


def test_a_loop_goes_round_where_its_closing_rings_lie_between_both_ends() -> None:
    last = [a(unit) for unit in (8, 9, 10)]
    first = [a(unit) for unit in (1, 2)]
    bridge = a(11, "big")
    links = [*pairwise(last), (first[0], first[1])]
    closing = [(last[2], bridge), (bridge, first[0])]
    act = SimpleNamespace(
        new=(bridge,), through=(last[2], first[0]), block=SimpleNamespace(kind="finish")
    )

    def goes(round_by: int, *more: Any) -> bool:
        return bool(chain([*links, *closing, *more], acts=[act], round_by=round_by).goes_round())

    # The bridge is the eleventh place, the first ring the twelfth: unit 1 lies eleven on.
    assert not goes(12)
    assert not goes(10)
    own = chain([*links, *closing], acts=[act])
    assert own.ends == 0
    found = own.closed()
    assert found is None  # the repeat is two units long, and eleven is odd
    longer = [(a(unit), a(unit + 1)) for unit in (7, 8)]
    ends = [(a(9), bridge), (bridge, a(1)), (a(1), a(2))]
    nine = chain([*longer, *ends], acts=[act], units=9)
    found = nine.closed()
    assert found is not None
    assert found.round_by == 10
    assert found.homes[a(1)].centre[0] == 50.0
    assert found.homes[bridge].centre[0] == 45.0
    assert found.homes[a(9)].centre[0] == 40.0
    assert nine.round_by == 0
