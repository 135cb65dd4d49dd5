"""After how many units a piece comes round again, and of how many smaller ones a unit is made."""

from __future__ import annotations

import pytest
from helpers import EUROPEAN, PERSIAN_LINKED, PERSIAN_WRITTEN, view
from small_recipes import RINGS, recipe

from ringstep.weave.piece import Weave
from ringstep.weave.repeats import Periods, period_of, repeating, smaller_unit

END = "/piece:/chain 30 units"
PAIR, SHORT = "add 2 A through prev A", "add 2 A through prev A1"
KINDS = RINGS + "  A  wire 1 mm, inside 7 mm, copper\n"
#: Middle pairs linked or not, folds in between or not: two small units in one.
LINKED = "start:/close 2 A/unit:/add B1 through prev A/add B2 through prev A, B1 lay front/add A1"
LINKED += " through B/add A2 through B, A1 lay {}" + END


def written(*units: str, start: str = "start:/close 2 A/") -> Weave:
    each = "/".join(f"unit {n}:/{steps}" for n, steps in enumerate(units, 1))
    return view(recipe(f"{start}{each}/piece:/chain {len(units)} units")).weave


@pytest.mark.parametrize(
    ("units", "links", "piece"),
    [
        ([PAIR, PAIR], 1, 1),
        ([PAIR, SHORT, PAIR, SHORT], 2, 2),
        ([PAIR, SHORT, PAIR, SHORT, PAIR], 2, 2),
        ([PAIR, PAIR, SHORT] * 2, 3, 3),
        # moves count for the piece, and so does their order
        ([PAIR, PAIR + "/fold back A"] * 2, 1, 2),
        ([PAIR + "/spread A/hold A", PAIR + "/hold A/spread A"] * 2, 1, 2),
        # the order of links does not
        (["add A1 through prev A/add A2 through prev A", "add A2 through prev A/add A1 through prev"
          " A"], 1, 1),
    ],
)  # fmt: skip
def test_units_written_out_come_round(units: list[str], links: int, piece: int) -> None:
    assert period_of(written(*units)) == Periods(links, piece, 1)


@pytest.mark.parametrize(
    "units", [[PAIR], [PAIR, SHORT], [PAIR, SHORT, PAIR], [PAIR, PAIR, PAIR, SHORT]]
)
def test_units_written_out_that_never_come_round(units: list[str]) -> None:
    assert period_of(written(*units)) is None


def test_first_units_that_cannot_reach_back_are_left_out() -> None:
    first = ["close A", "add A through prev A"]
    rest = ["add A through prev A, prev prev A"] * 3
    assert period_of(written(*first, *rest, start="")) == Periods(1, 1, 1)
    assert period_of(written(*first, rest[0], start="")) is None
    begun = ["add A through prev A", *rest]
    assert period_of(written(*begun, start="start:/close A/")) == Periods(1, 1, 1)


@pytest.mark.parametrize(
    ("text", "periods"),
    [
        (EUROPEAN, [(1, 1, 2)]),
        (PERSIAN_LINKED, [(1, 1, 1), (1, 1, 1), (1, 2, 1)]),  # calm, mirror, zigzag
        (recipe("row a:/close A/row b:/add A through above A/row c:/add A through above A"
                "/piece:/sheet 30 rows of 5 units/order a, b, c"), [(1, 1, 3)]),
        (recipe("first row:/close A/row b:/add A through above A/row c:/add A through above A,"
                " above next A if there/piece:/sheet 30 rows of 5 units/order b, b, c"),
         [(1, 1, 3)]),
        (recipe("start:/close A/unit a:/add A through prev A/unit b:/add 2 B through prev A"
                f"/unit c:/add A through prev B{END}/order a, b, c"), [(3, 3, 1)]),
        (recipe(f"start:/close A/unit a:/add A through prev A/unit b:/add A through prev A{END}"),
         [(1, 1, 1)]),
        # every unit turns the work over: the lay of the links is seen in turns
        (recipe("start:/close 2 A/unit:/add A1 through prev A/add A2 through prev A, A1 lay front"
                f"/turn over{END}"), [(1, 2, 1)]),
        (recipe("start:/close A/unit a:/add A through prev A/unit b:/add A through prev A"
                "/piece:/chain of 5 a, b, 5 a"), [None]),
    ],
)  # fmt: skip
def test_patterns_come_round(text: str, periods: list[tuple[int, int, int] | None]) -> None:
    found = [period_of(weave) for weave in view(text).weaves]
    assert found == [Periods(*each) if each else None for each in periods]


@pytest.mark.parametrize(
    ("body", "units"),
    [
        ("start:/close A2/unit:/add A1 through prev A2/add A2 through A1", 2),
        ("start:/close A/unit:/add B through prev A/add A through B", 2),
        ("start:/close A3/unit:/add A1 through prev A3/add A2 through A1/add A3 through A2", 3),
        ("start:/close A4/unit:/add A1 through prev A4/add A2 through A1/add A3 through A2/add A4"
         " through A3", 4),
        ("start:/close 2 A/unit:/add 2 B through prev A/add 2 A through B", 2),
        # each through the two before it
        ("start:/close A4, A3/unit:/add A1 through prev A4, prev A3/add A2 through A1, prev A4"
         "/add A3 through A2, A1/add A4 through A3, A2", 4),
        ("start:/close A/unit:/add B through prev A/fold back B/add A through B/fold back A", 2),
        ("unit:/add B through prev A if there/add A through B", 2),
        # unlike ones: rings, links, folds
        ("start:/close 2 A/unit:/add B through prev A/add 2 A through B", None),
        ("start:/close A/unit:/add B through prev A/add C through B/add D through C/add A through"
         " D, B", None),
        ("start:/close A/unit:/add B through prev A/fold back B/add A through B", None),
        ("start:/close A/unit:/add A through prev A", None),
        # two chains side by side
        ("start:/close A, D/unit:/add B through prev A/add A through B/add E through prev D/add D"
         " through E", None),
        # what hangs on a part is told apart by it
        ("start:/close A/unit:/add B through prev A, bar/add A through B, bar", None),
        ("unit a:/add A through prev A if there/unit b:/add A through prev A", None),
        ("start:/close A/unit:/add B through prev A around prev A/add A through B around B", 2),
        ("start:/close A/unit:/add B through prev A around prev A/add A through B", None),
        ("start:/close A/unit:/add B on the left through prev A/add A on the left through B", 2),
        ("start:/close A/unit:/add B on the left through prev A/add A on the right through B",
         None),
    ],
)  # fmt: skip
def test_a_unit_of_several_smaller_ones(body: str, units: int | None) -> None:
    seen = view(recipe(body + END, RINGS + "parts:\n  bar  brass\n"))
    assert not seen.troubles
    assert not seen.weave.snags
    assert smaller_unit(seen.weave) == units


def test_what_lies_or_is_bought_otherwise_is_no_smaller_unit() -> None:
    assert smaller_unit(view(recipe(LINKED.format("front"))).weave) == 2
    assert smaller_unit(view(recipe(LINKED.format("back"))).weave) is None
    plain = f"start:/close A/unit:/add B through prev A/add A through B{END}"
    assert smaller_unit(view(recipe(plain, KINDS)).weave) is None
    numbered = f"start:/close A2/unit:/add A1 through prev A2/add A2 through A1{END}"
    assert smaller_unit(view(recipe(numbered, KINDS)).weave) == 2


def test_written_out_units_become_a_repeat() -> None:
    weave = view(PERSIAN_WRITTEN).weave
    folded = repeating(weave)
    assert folded.repeat is not None
    assert (folded.layout.kind, folded.layout.units) == ("chain", 12)
    assert [str(b) for b in folded.recipe.blocks] == ["start", "unit"]
    assert [(c.role, c.index) for c in folded.repeat.classes] == [
        ("M", 1), ("M", 2), ("S", 1), ("S", 2)
    ]  # fmt: skip
    assert repeating(folded) is folded
    two = repeating(written(PAIR, SHORT, PAIR, SHORT))
    assert (two.layout.units, len(two.layout.order)) == (24, 2)
    assert [s.value for s in two.recipe.piece.order] == ["turn0", "turn1"]
    assert two.repeat is not None
    # of a PAIR A1 meets two before it and two after it, A2 none after; of a SHORT one and two
    assert [len(n) for n in two.repeat.neighbours.values()] == [4, 2, 3, 3]
    # the last two units are the cycle: PAIR and then SHORT
    assert [str(b.steps[0].through[0]) for b in two.layout.order] == ["prev A", "prev A1"]
    laid = "variants:/calm  lay front/other  lay back/start:/close 2 A/"
    unit = "add A1 through prev A/add A2 through prev A, A1 lay varies"
    seen = written(unit, unit, start=laid)
    for variant in seen.recipe.variants:
        again = repeating(Weave(seen.recipe, variant))
        assert again.variant is variant
        assert {a.side for a in again.repeat.acts if a.step.lay} == {variant.sides[0]}
    alone = written(PAIR)
    assert repeating(alone).repeat is not None
