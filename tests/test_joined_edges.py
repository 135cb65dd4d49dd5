"""Rings on the edges of pieces that are joined: which lack neighbours on which side, which joining
step reaches them there, and which are finished for it."""

from __future__ import annotations

import pytest
from helpers import view
from test_joined_places import PIECES

from ringstep.weave.joined import Joined, edges_of, joined_on
from ringstep.weave.piece import Weave
from ringstep.weave.work import Ring

LAST = "add J through rail 1 last A"
#: Of pieces whose edges nothing joins: rings with all they would meet.
RAIL = {f"{r} 1.{n}" for n in (1, 2, 3) for r in ("A1", "B1", "B2")} | {"B1 1.4", "B2 1.4"}
PANEL = {"S1 0.0", "E1 1.5", "C1 2.2", "C1 2.3", "E1 2.5", "E1 3.5", "F1 4.0"}
HOOP = {f"D1 2.{n}" for n in (1, 2, 3, 4, 5)}


def joined(*steps: str) -> tuple[Weave, Joined]:
    weave = view(PIECES + "".join(f"  {step}\n" for step in steps)).weave
    assert isinstance(weave.layout, Joined)
    return weave, weave.layout


def finished(*steps: str) -> dict[str, set[str]]:
    """The finished rings of each piece, with the rows and units of their own piece."""
    weave, layout = joined(*steps)
    found: dict[str, set[str]] = {}
    for ring in weave.finished:
        copy = layout.copy_at(ring.row, ring.unit)
        at = f"{ring.row}.{ring.unit - (copy.first if copy else 0)}"
        found.setdefault(copy.called if copy else "", set()).add(f"{ring.role}{ring.index} {at}")
    return found


@pytest.mark.parametrize(
    ("steps", "more"),
    # rings that are finished besides; all others are as where nothing is joined
    [
        (LAST, {"rail 1": {"A1 1.4"}}),
        ("add J through rail 1 last A, rail 2 first A",
         {"rail 1": {"A1 1.4"}, "rail 2": {"A1 1.0"}}),
        # the first and the last of a rail lack a neighbour along it
        ("add J through rail 1 A along every unit, rail 2 A along every unit", {}),
        ("add J through rail 1 last B", {}),
        # a corner lacks neighbours on two sides, of which one is joined
        ("add J through panel 1 last C, panel 2 first C", {}),
        ("add J through panel 1 C along last row, panel 2 C along first row",
         {"panel 1": {"C1 3.2", "C1 3.3"}, "panel 2": {"C1 1.2", "C1 1.3"}}),
        # a place on: the first of the edge is missed, and the last is a corner
        ("add J through panel 1 next C along left edge if there, panel 2 C along right edge"
         " backwards", {"panel 1": {"C1 2.1"}, "panel 2": {"C1 2.4"}}),
        ("add J through hoop D along last row", {"the hoop": {f"D1 3.{n}" for n in range(1, 6)}}),
    ],
)  # fmt: skip
def test_rings_that_are_finished_once_they_are_joined(
    steps: str, more: dict[str, set[str]]
) -> None:
    found = finished(steps)
    assert {ring[:2] for ring in found.pop("")} == {"J1"}
    bare = {"rail 1": RAIL, "rail 2": RAIL, "panel 1": PANEL, "panel 2": PANEL, "the hoop": HOOP}
    assert found == {name: rings | more.get(name, set()) for name, rings in bare.items()}


def test_both_edges_of_a_corner_are_joined() -> None:
    """Sewn along the last row and along the right edge, the corner between them is finished."""
    below = "add J through panel 1 C along last row, panel 2 C along first row"
    beside = "add K through panel 1 C along right edge, panel 2 C along left edge"
    found = finished(below, beside)
    assert found["panel 1"] == PANEL | {"C1 3.2", "C1 3.3", "C1 2.4", "C1 3.4"}
    assert found["panel 2"] == PANEL | {"C1 1.2", "C1 1.3", "C1 2.1", "C1 1.1"}


@pytest.mark.parametrize(
    ("which", "sides"),
    [
        (0, {("A", 1, 0): {"beginning"}, ("A", 1, 2): set(), ("A", 1, 4): {"end"},
             ("B", 1, 4): set()}),
        (1, {("C", 1, 1): {"first row", "left edge"}, ("C", 1, 2): {"first row"},
             ("C", 1, 4): {"first row", "right edge"}, ("C", 2, 1): {"left edge"},
             ("C", 2, 2): set(), ("C", 2, 4): {"right edge"},
             ("C", 3, 1): {"last row", "left edge"}, ("C", 3, 3): {"last row"},
             ("C", 3, 4): {"last row", "right edge"}, ("E", 1, 5): set()}),
        (2, {("D", 1, 1): {"first row"}, ("D", 2, 1): set(), ("D", 3, 1): {"last row"}}),
    ],
)  # fmt: skip
def test_sides_on_which_a_ring_lacks_neighbours(
    which: int, sides: dict[tuple[str, int, int], set[str]]
) -> None:
    done = joined(LAST)[0].made[which].done
    assert {(r, row, u): done.lacking_sides(Ring(r, 1, row, u)) for r, row, u in sides} == sides


def test_how_far_along_an_edge_a_step_reaches_a_ring() -> None:
    step = "add J through rail 1 A along every unit, rail 2 A along every unit"
    _, layout = joined(step)
    for copy in layout.copies[:2]:
        told = [layout.edges_at(layout.joining[0], copy, (1, unit)) for unit in range(6)]
        assert told == [[("every unit", n)] for n in (1, 2, 3, 4, 5)] + [[]]
    _, layout = joined("add J through panel 1 next C along left edge if there, panel 2 C along"
                       " right edge backwards")  # fmt: skip
    places = [(1, 1), (2, 1), (3, 1), (1, 4), (2, 4), (3, 4), (2, 2)]
    none: list[tuple[str, int]] = []
    told = [[layout.edges_at(layout.joining[0], copy, place) for place in places]
            for copy in layout.copies[2:4]]  # fmt: skip
    assert told == [
        [[("left edge", 0)], [("left edge", 1)], [("left edge", 2)], none, none, none, none],
        [none, none, none, [("right edge", 3)], [("right edge", 2)], [("right edge", 1)], none],
    ]
    assert layout.edges_at(layout.joining[0], layout.copies[0], (1, 1)) == none


@pytest.mark.parametrize(
    ("step", "which", "rings"),
    [
        (LAST, 0, {("A", None, 1, 4)}), (LAST, 1, set()),
        ("add J through rail 1 last B2", 0, {("B", 2, 1, 4)}),
        ("add J through panel 1 last C, panel 2 first C", 1,
         {("C", None, 3, 4), ("C", None, 1, 1)}),
        ("add J through panel 1 next C along left edge if there", 1,
         {("C", None, 2, 1), ("C", None, 3, 1)}),
        ("add J through hoop D along last row", 2, {("D", None, 3, n) for n in range(1, 6)}),
    ],
)  # fmt: skip
def test_rings_of_a_piece_that_joining_steps_hang_on(
    step: str, which: int, rings: set[tuple[str, int | None, int, int]]
) -> None:
    weave, _ = joined(step)
    tree = weave.recipe.made[which].tree
    assert joined_on(weave.made[which].work.layout, tree) == rings
    # in the piece by itself such a ring is not finished yet
    alone = Weave(tree, None, True)
    waiting = alone.work.links.keys() - set(alone.finished)
    assert {Ring(role, index or 1, *at) for role, index, *at in rings} <= waiting


def test_edges_of_a_piece_with_a_shape() -> None:
    """Row 2 is worked back and one place narrower, so its left edge is place 2."""
    begun = "start:\n  close S\n"
    shaped = PIECES.replace(begun, f"shape:\n  row 2  1 less\n{begun}")
    seen = view(shaped + f"  {LAST}\n")
    assert not seen.troubles
    assert isinstance(seen.weave.layout, Joined)
    panel = seen.weave.layout.copies[2].layout
    told = {at: edges_of(panel, *at) for at in ((1, 1), (2, 1), (2, 2), (2, 3), (2, 4), (3, 3))}
    assert told == {
        (1, 1): {"first row", "left edge"}, (2, 1): {"left edge"}, (2, 2): {"left edge"},
        (2, 3): set(), (2, 4): {"right edge"}, (3, 3): {"last row"},
    }  # fmt: skip
