"""Where the words of place in a list lead, place by place, counted by hand."""

from __future__ import annotations

import pytest
from helpers import view

from ringstep.weave.places import look

CHAIN = """\
weave "Chain of five"
rings:
  all  wire 1 mm, inside 6 mm, brass
start:
  close A
unit:
  add A through ITEM
piece:
  chain 5 units
"""
UNBEGUN = CHAIN.replace("start:", "unit 1:")
ENDED = CHAIN.replace("ITEM", "prev A") + "finish:\n  add B through ITEM\n"
CLOTH = """\
weave "Cloth of four rows"
rings:
  all  wire 1 mm, inside 6 mm, brass
first row:
  close A
row:
  add A through ITEM
piece:
  sheet 4 rows of 6 units
"""
TURNED, TUBE = CLOTH + "  rows back and forth\n", CLOTH.replace("sheet", "tube")


def seen_from(text: str, item: str, row: int, unit: int) -> object:
    """Where an item of the last list of a recipe leads when it is worked at a place."""
    seen = view(text.replace("ITEM", item))
    assert not seen.troubles
    step = [step for step in seen.recipe.steps() if step.through][-1]
    block = next(block for block in seen.recipe.blocks if step in block.steps)
    return look(seen.weave.layout, step.through[0], block, row, unit)


@pytest.mark.parametrize(
    ("text", "item", "units"),
    [
        # in the units 1, 2 and 5; place 0 is the start
        (CHAIN, "A", (1, 2, 5)), (CHAIN, "prev A", (0, 1, 4)), (CHAIN, "prev prev A", (None, 0, 3)),
        (CHAIN, "next A", (2, 3, None)), (CHAIN, "first A", (0, 0, 0)),
        (CHAIN, "last A", (5, 5, 5)), (CHAIN, "first next A", (1, 1, 1)),
        (CHAIN, "last prev A", (4, 4, 4)),
        (UNBEGUN, "prev A", (None, 1, 4)), (UNBEGUN, "first A", (1, 1, 1)),
        (UNBEGUN, "next A", (2, 3, None)),
    ],
)  # fmt: skip
def test_places_of_a_chain(text: str, item: str, units: tuple[int | None, ...]) -> None:
    found = [seen_from(text, item, 1, unit) for unit in (1, 2, 5)]
    assert found == [None if unit is None else (1, unit) for unit in units]


@pytest.mark.parametrize(
    ("item", "unit"),
    [("last A", 5), ("prev A", 5), ("prev prev A", 4), ("last prev A", 4), ("first A", 0),
     ("first next A", 1)],
)  # fmt: skip
def test_places_from_the_finish_of_a_chain(item: str, unit: int) -> None:
    assert seen_from(ENDED, item, 1, 6) == (1, unit)


@pytest.mark.parametrize("item", ["above A", "prev first A"])
def test_words_that_have_no_sense_in_a_chain(item: str) -> None:
    assert seen_from(CHAIN, item, 1, 2) == item.split()[item.startswith("prev")]


@pytest.mark.parametrize(
    ("text", "item", "places"),
    [
        # in row 2 at its places 1 and 6, and in row 3 at the same
        (CLOTH, "above A", ((1, 1), (1, 6), (2, 1), (2, 6))),
        (CLOTH, "above next A", ((1, 2), None, (2, 2), None)),
        (CLOTH, "above prev A", (None, (1, 5), None, (2, 5))),
        (CLOTH, "above above A", (None, None, (1, 1), (1, 6))),
        (CLOTH, "prev A", (None, (2, 5), None, (3, 5))),
        (CLOTH, "above last A", ((1, 6), (1, 6), (2, 6), (2, 6))),
        (CLOTH, "first A", ((2, 1), (2, 1), (3, 1), (3, 1))),
        # row 2 is worked back, from place 6 on
        (TURNED, "above A", ((1, 1), (1, 6), (2, 1), (2, 6))),
        (TURNED, "above next A", (None, (1, 5), (2, 2), None)),
        (TURNED, "above prev A", ((1, 2), None, None, (2, 5))),
        (TURNED, "next A", (None, (2, 5), (3, 2), None)),
        (TURNED, "first A", ((2, 6), (2, 6), (3, 1), (3, 1))),
        (TURNED, "above last A", ((1, 1), (1, 1), (2, 6), (2, 6))),
        # the row above goes round, its own does not
        (TUBE, "above next A", ((1, 2), (1, 1), (2, 2), (2, 1))),
        (TUBE, "above prev A", ((1, 6), (1, 5), (2, 6), (2, 5))),
        (TUBE, "next A", ((2, 2), None, (3, 2), None)),
        (TUBE, "above above next A", (None, None, (1, 2), (1, 1))),
    ],
)  # fmt: skip
def test_places_of_a_cloth(
    text: str, item: str, places: tuple[tuple[int, int] | None, ...]
) -> None:
    worked = ((2, 1), (2, 6), (3, 1), (3, 6))
    assert tuple(seen_from(text, item, *place) for place in worked) == places


# Rows of three: row 1 ends at unit 3, row 2 comes back and ends at unit 1.
@pytest.mark.parametrize("item", ["prev A", "last A"])
def test_a_row_that_comes_back_ends_at_its_first_unit(item: str) -> None:
    text = TURNED.replace("ITEM", "above A").replace("6 units", "3 units")
    seen = view(text.replace("piece:", f"row end:\n  add E through {item}\npiece:"))
    assert not seen.weave.snags
    ends = {r.row: list(met) for r, met in seen.weave.work.links.items() if r.role == "E"}
    assert {row: [(a.role, a.row, a.unit) for a in met] for row, met in ends.items()} == {
        1: [("A", 1, 3)], 2: [("A", 2, 1)], 3: [("A", 3, 3)], 4: [("A", 4, 1)],
    }  # fmt: skip
