"""Where the words of place lead in a piece of strands, place by place, counted by hand.

Strand left has places 1 to 3, right 4 to 7, mid 8 and 9; the start is place 0, the finish 10. A
stands in all of them, L in the left one alone, R in the others.
"""

from __future__ import annotations

import pytest
from helpers import view
from small_recipes import recipe

from ringstep.weave.places import UNTOLD, look, places_seen

TEXT = "start:/close 2 A{}/unit left:/add 2 A through prev A/add L through {}/unit:/add 2 A through"
TEXT += " prev A/add R through A/finish:/add F through {}/piece:/strands left 3 units, right 4"
TEXT += " units, mid 2 units"


def looked(start: str, unit: str, finish: str) -> list[int | str | None]:
    """Where the item of the left strand leads in its three units, and that of the finish."""
    seen = view(recipe(TEXT.format(start, unit, finish)))
    assert not seen.troubles
    found: list[int | str | None] = []
    for role, units in (("L", (1, 2, 3)), ("F", (10,))):
        block, step = next((b, s) for b in seen.recipe.blocks for s in b.steps
                           if role in {i.name.role for i in s.new} and s.through)  # fmt: skip
        for place in units:
            layout, ref = seen.weave.layout, step.through[0]
            at = look(layout, ref, block, 1, place)
            assert places_seen(layout, ref, block, 1, place) == (
                (at,) if isinstance(at, tuple) else ()
            )
            found.append(at[1] if isinstance(at, tuple) else at)
    return found


@pytest.mark.parametrize(
    ("item", "plain", "begun"),
    # in a start of A alone, and in one that places L as well
    [
        ("prev A", [0, 1, 2], [0, 1, 2]), ("prev L", [0, 1, 2], [0, 1, 2]),
        ("next A", [2, 3, None], [2, 3, None]), ("prev prev A", [None, 0, 1], [None, 0, 1]),
        ("first A", [0, 0, 0], [0, 0, 0]), ("last A", [3, 3, 3], [3, 3, 3]),
        ("first L", [1, 1, 1], [0, 0, 0]), ("first next L", [2, 2, 2], [1, 1, 1]),
        ("last prev L", [2, 2, 2], [2, 2, 2]), ("next next L", [3, None, None], [3, None, None]),
        ("last next L", [None, None, None], [None, None, None]),
        ("first Q", [1, 1, 1], [1, 1, 1]), ("A", [1, 2, 3], [1, 2, 3]),
        ("above A", ["above"] * 3, ["above"] * 3), ("prev first A", ["first"] * 3, ["first"] * 3),
        ("every A", ["every"] * 3, ["every"] * 3), ("last left A", ["left"] * 3, ["left"] * 3),
    ],
)  # fmt: skip
def test_from_the_units_of_a_strand(
    item: str, plain: list[int | str | None], begun: list[int | str | None]
) -> None:
    assert looked("", item, "last L")[:3] == plain
    assert looked(", L", item, "last L")[:3] == begun


@pytest.mark.parametrize(
    ("item", "plain", "begun"),
    [
        # the unit before the finish is the last of the one strand that places such rings
        ("prev L", 3, 3), ("prev prev L", 2, 2), ("prev A", UNTOLD, UNTOLD),
        ("prev R", UNTOLD, UNTOLD), ("last L", 3, 3), ("first L", 1, 0), ("first next L", 2, 1),
        ("last prev L", 2, 2), ("last next L", None, None),
        ("first next next next next L", None, None),
        ("last A", UNTOLD, UNTOLD), ("first A", 0, 0), ("first next A", UNTOLD, UNTOLD),
        # or it is named
        ("last left A", 3, 3), ("last right A", 7, 7), ("first left A", 1, 1),
        ("first right A", 4, 4), ("first next mid A", 9, 9), ("last prev prev right A", 5, 5),
        ("last prev prev prev right A", 4, 4), ("prev left A", 3, 3), ("last mid L", 9, 9),
        ("last prev prev prev mid A", None, None),
        ("last other A", "other", "other"), ("last last L", "last", "last"),
        ("every left A", 10, 10), ("every A", 10, 10), ("every prev A", "every", "every"),
        # a name that leads nowhere is looked for in the last unit
        ("last Q", 9, 9), ("first Q", 0, 0), ("A", 10, 10),
    ],
)  # fmt: skip
def test_from_the_finish(item: str, plain: int | str | None, begun: int | str | None) -> None:
    assert looked("", "prev A", item)[3] == plain
    assert looked(", L", "prev A", item)[3] == begun


def test_without_a_start_nothing_stands_before_the_first_unit() -> None:
    text = TEXT.replace("start:/close 2 A{}/", "").format("prev A if there", "first A")
    seen = view(recipe(text.replace("through prev A/", "through prev A if there/")))
    assert not seen.troubles
    block = next(b for b in seen.recipe.blocks if b.label == "left")
    (ref,) = block.steps[0].through
    places = [look(seen.weave.layout, ref, block, 1, unit) for unit in (1, 2, 3)]
    assert places == [None, (1, 1), (1, 2)]
    finish = seen.recipe.blocks[-1]
    assert look(seen.weave.layout, finish.steps[0].through[0], finish, 1, 10) == UNTOLD
