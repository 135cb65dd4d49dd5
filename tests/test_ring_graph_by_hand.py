"""Into how many pieces an endless pattern falls, after how many places it meets itself, and what of
it stands in one cycle, by hand."""

from __future__ import annotations

import pytest
from small_recipes import weave

from ringstep.weave.piece import Weave
from ringstep.weave.ring_graph import Repeat, pieces, ring_graph

CHAIN = "unit:/add A through {}/piece:/chain 30 units"
SHEET = "row:/add A through {}/piece:/sheet 9 rows of 9 units"


def items(*places: str) -> str:
    return ", ".join(f"{place} A if there" for place in places)


def repeat_of(body: str) -> Repeat:
    repeat = weave(body).repeat
    assert repeat is not None
    return repeat


@pytest.mark.parametrize(
    ("body", "strands", "apart"),
    # 0: no end of them; after so many rows and units a place is joined to its like again
    [
        (CHAIN.format(items("prev")), 1, (1, 1)), (CHAIN.format(items("prev prev")), 2, (1, 2)),
        (CHAIN.format(items("prev prev", "prev prev prev")), 1, (1, 1)),
        (CHAIN.format(items("prev prev", "prev prev prev prev")), 2, (1, 2)),
        (SHEET.format(items("above")), 0, (1, 1)), (SHEET.format(items("prev")), 0, (1, 1)),
        (SHEET.format(items("above", "prev prev")), 2, (1, 2)),
        (SHEET.format(items("above above", "prev prev")), 4, (2, 2)),
        (SHEET.format(items("above above", "prev")), 2, (2, 1)),
        # three slanting strips, each of which comes back three places on
        (SHEET.format(items("above next", "prev prev prev")), 3, (3, 3)),
        (SHEET.format(items("above next", "above prev")), 2, (2, 2)),
        (SHEET.format(items("above above next", "prev prev prev prev")), 8, (8, 4)),
        (SHEET.format(items("above next")), 0, (1, 1)),
        ("unit:/close A/close B/piece:/chain 30 units", 0, (1, 1)),
        # what is held is joined: by the ring of its own unit, or by that of the next as well
        ("unit:/close A/close B inside A/piece:/chain 30 units", 0, (1, 1)),
        ("unit:/close A/close B inside A, prev A if there/piece:/chain 30 units", 1, (1, 1)),
        # side by side a chain and two in turns
        ("unit:/add A through prev A if there/add B through prev prev B if there/piece:/chain 30"
         " units", 3, (1, 2)),
        ("unit:/add A through prev prev A if there/add B through prev prev prev B if there/piece:"
         "/chain 30 units", 5, (1, 6)),
    ],
)  # fmt: skip
def test_strands_of_an_endless_pattern(body: str, strands: int, apart: tuple[int, int]) -> None:
    repeat = repeat_of(body)
    assert (repeat.strands(), repeat.apart()) == (strands, apart)


@pytest.mark.parametrize(
    ("body", "sizes"),
    [
        (CHAIN.format(items("prev prev")).replace("30", "7"), [4, 3]),
        (CHAIN.format(items("prev prev")).replace("30", "8"), [4, 4]),
        ("unit:/close A/close B inside A/piece:/chain 3 units", [2, 2, 2]),
        ("unit:/close A/close B inside A, prev A if there/piece:/chain 3 units", [6]),
        ("start:/close A/unit:/add A through prev A/finish:/close F/piece:/chain 3 units", [4, 1]),
        ("unit:/close A/close B inside A/finish:/take out last B/piece:/chain 3 units", [2, 2, 1]),
    ],
)
def test_pieces_of_finished_work(body: str, sizes: list[int]) -> None:
    whole = weave(body)
    found = pieces(Weave(whole.recipe, None, True).work)
    assert [len(part) for part in found] == sizes
    first = [min((r.row, r.unit, r.role) for r in part) for part in found]
    assert all(first[n] < first[n + 1] for n in range(len(found) - 1) if sizes[n] == sizes[n + 1])


@pytest.mark.parametrize("units", [7, 8, 30, 31])
def test_strands_side_by_side_meet_by_the_number_of_units(units: int) -> None:
    """Closed to a loop, two strands in turns are one where the number of rings is odd."""
    body = f"unit:/add A through prev prev A if there/piece:/loop {units} units/finish:"
    body += "/reopen last A through first next A/reopen last prev A through first A"
    assert len(weave(body).parts_apart) == (1 if units % 2 else 2)


def test_what_one_cycle_holds() -> None:
    """Two units in turns: A, and a pair of B that is held for a while."""
    good = weave("start:/close 2 B/unit x:/add A through prev B/unit y:/add 2 B through prev A"
                 "/hold B/piece:/chain 30 units/order x, y").repeat  # fmt: skip
    assert good is not None
    assert [(c.role, c.index) for c in good.classes] == [("A", 1), ("B", 1), ("B", 2)]
    assert good.cycle == (1, 2)
    assert [len(good.neighbours[c]) for c in good.classes] == [4, 2, 2]
    near = {f"{c.role}{c.index}": set(good.near[c]) for c in good.classes}
    pair = {("B", 1, 0, 1), ("B", 2, 0, 1), ("B", 1, 0, -1), ("B", 2, 0, -1)}
    assert near["A1"] == pair
    assert near["B1"] == near["B2"] == {("A", 1, 0, 1), ("A", 1, 0, -1)}
    assert [a.step.number for a in good.acts] == [2, 3, 4]
    assert {(x.ring.role, x.other.role, x.step) for x in good.links} == {("A", "B", 2),
                                                                      ("B", "A", 3)}  # fmt: skip
    # a ring of any place of the endless pattern is one of these
    first = good.origin[1]
    turn = good.class_of("A", 1, 1, first + 400), good.class_of("A", 1, 1, first - 400)
    assert turn[0] == turn[1]
    assert good.class_of("B", 2, 1, first + 401) == good.class_of("B", 2, 1, first - 1)


def test_links_carry_the_step_that_made_them() -> None:
    graph = ring_graph(weave("start:/close A/unit:/add A through prev A/add B through A/piece:"
                             "/chain 3 units").work)  # fmt: skip
    assert sorted(step for _, _, step in graph.edges(data="step")) == [2, 2, 2, 3, 3, 3]
    assert graph.number_of_nodes() == 7
