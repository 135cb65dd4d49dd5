"""The colours of small pictures, letter by letter: which rings have them, how they are placed."""

from __future__ import annotations

import pytest
from small_recipes import weave

from ringstep.weave.picture import Colours, fits, pictured_roles

KEY = "/picture{}:/g = grey/r = rust/"
SMALL = "/piece:/sheet 3 rows of 4 units{}" + KEY + "ggrr/rggr/rrrg"
CLOTH = "first row:/close A/row:/add A through above A, above next A if there"
SQUARE = "row:/close F/add K through prev F, F skip at edge/add D through above F, F skip at edge"
GROWING = [f"{'gr'[n % 2]}" * (n + 3) + f"{'rg'[n % 2]}" * (9 - n) for n in range(9)]


def colours(body: str) -> Colours:
    found = weave(body).colours
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("body", "roles", "counts"),
    # opened, closed and taken out of each name and letter: 5 places are grey, 7 rust
    [
        (CLOTH + SMALL.format("", ""), "A", {"A1 g": (3, 2, 0), "A1 r": (5, 2, 0)}),
        ("start:/close S/first row:/add A through above S/row:/add A through above A/row end:/close"
         " E" + SMALL.format("", ""), "A", {"A1 g": (5, 0, 0), "A1 r": (7, 0, 0)}),
        (SQUARE + SMALL.format("", " of F"), "F", {"F1 g": (0, 5, 0), "F1 r": (0, 7, 0)}),
        # K is left out at the first place of a row, which is grey once and rust twice
        (SQUARE + SMALL.format("", " of F, K"), "FK",
         {"F1 g": (0, 5, 0), "F1 r": (0, 7, 0), "K1 g": (4, 0, 0), "K1 r": (5, 0, 0)}),
        (SQUARE + SMALL.format("", " of K, F"), "KF",
         {"F1 g": (0, 5, 0), "F1 r": (0, 7, 0), "K1 g": (4, 0, 0), "K1 r": (5, 0, 0)}),
        # rows in turns: the first and the third are A
        ("row x:/close A/row y:/close B" + SMALL.format("/order x, y", ""), "AB",
         {"A1 g": (0, 3, 0), "A1 r": (0, 5, 0), "B1 g": (0, 2, 0), "B1 r": (0, 2, 0)}),
        ("row:/close 2 A/take out A1" + SMALL.format("", " of A"), "A",
         {"A1 g": (0, 5, 5), "A1 r": (0, 7, 7), "A2 g": (0, 5, 0), "A2 r": (0, 7, 0)}),
        # counted on the window: 3 + 8 + 5 + 6 + 7 + 4 + 9 + 2 + 11 grey places
        (CLOTH + "/piece:/sheet 9 rows of 12 units" + KEY.format("") + "/".join(GROWING), "A",
         {"A1 g": (52, 3, 0), "A1 r": (44, 9, 0)}),
    ],
)  # fmt: skip
def test_rings_of_each_colour(
    body: str, roles: str, counts: dict[str, tuple[int, int, int]]
) -> None:
    piece = weave(body)
    assert pictured_roles(piece.recipe) == tuple(roles)
    found = colours(body)
    assert {f"{r}{i} {letter}": n for (r, i, letter), n in found.counts.items()} == counts
    assert found.placed == {
        letter: sum(o + c for name, (o, c, _) in counts.items() if name.endswith(letter))
        for letter in "gr"
    }
    lots = {f"{x.role}{x.index} {x.letter}": (x.opened, x.closed, x.taken_out)
            for x in piece.lots if x.letter}  # fmt: skip
    assert lots == counts
    assert all(x.placed == x.opened + x.closed for x in piece.lots)
    assert {x.kind.colour for x in piece.lots if x.kind and x.letter} == {"grey", "rust"}


def test_rings_outside_the_picture_are_a_lot_of_their_own() -> None:
    found = weave(SQUARE + SMALL.format("", " of F")).lots
    told = [(x.role, x.letter, x.opened, x.closed) for x in found]
    assert told == [
        ("K", "", 9, 0), ("D", "", 8, 0), ("F", "g", 0, 5), ("F", "r", 0, 7)
    ]  # fmt: skip
    ended = "start:/close S/first row:/add A through above S/row:/add A through above A/row end:"
    found = weave(ended + "/close E" + SMALL.format("", "")).lots
    assert {(x.role, x.letter, x.opened + x.closed) for x in found} == {
        ("A", "g", 5), ("A", "r", 7), ("S", "", 1), ("E", "", 3)
    }  # fmt: skip


@pytest.mark.parametrize(("more", "ways"), [("", [1, 1, 1]), ("/rows back and forth", [1, -1, 1])])
def test_rows_as_they_are_worked(more: str, ways: list[int]) -> None:
    found = colours(CLOTH + "/piece:/sheet 3 rows of 4 units" + more + KEY.format("")
                    + "ggrr/rrgr/rrrg")  # fmt: skip
    second = [(2, "rust"), (1, "grey"), (1, "rust")]
    runs = [[(2, "grey"), (2, "rust")], second[:: ways[1]], [(3, "rust"), (1, "grey")]]
    assert list(found.runs()) == [(n, way, run) for n, way, run in zip((1, 2, 3), ways, runs,
                                                                     strict=True)]  # fmt: skip
    assert list(found.grid()) == [
        (n, [(letter, 1) for letter in row]) for n, row in enumerate(("ggrr", "rrgr", "rrrg"), 1)
    ]


def test_rows_of_several_rings_a_place() -> None:
    found = colours(SQUARE + SMALL.format("", " of F, K"))
    assert [run for _, _, run in found.runs()] == [
        [(3, "grey"), (4, "rust")], [(1, "rust"), (4, "grey"), (2, "rust")],
        [(5, "rust"), (2, "grey")],
    ]  # fmt: skip
    large = colours(CLOTH + "/piece:/sheet 9 rows of 12 units" + KEY.format("") + "/".join(GROWING))
    assert [[n for n, _ in run] for _, _, run in large.runs()] == [
        [n, 12 - n] for n in range(3, 12)
    ]


def test_a_picture_of_a_shape() -> None:
    """Rows of four, three and three; the last place of the second and third is not worked."""
    body = CLOTH + "/piece:/sheet 3 rows of 4 units/shape:/row 2  1 less" + KEY.format("")
    found = colours(body + "ggrr/rgg/rgr")
    assert found.rows == ("ggrr", "rgg ", "rgr ")
    assert [list(row) for _, row in found.grid()] == [
        [("g", 1), ("g", 1), ("r", 1), ("r", 1)], [("r", 1), ("g", 1), ("g", 1), (" ", 0)],
        [("r", 1), ("g", 1), ("r", 1), (" ", 0)],
    ]  # fmt: skip
    assert found.counts == {("A", 1, "g"): (3, 2, 0), ("A", 1, "r"): (3, 2, 0)}
    assert [run for _, _, run in found.runs()] == [
        [(2, "grey"), (2, "rust")], [(1, "rust"), (2, "grey")],
        [(1, "rust"), (1, "grey"), (1, "rust")],
    ]  # fmt: skip
    left = body.replace("row 2  1 less", "row 2  1 empty, 3 worked")
    assert colours(left + "ggrr/rgg/rgr").rows == ("ggrr", " rgg", " rgr")


@pytest.mark.parametrize(
    ("body", "roles", "fit"),
    [
        (SQUARE + SMALL.format("", ""), (), True),  # which of three rings a place is not said
        ("row:/close A/again:/close B" + SMALL.format("", ""), (), True),
        ("row:/close A/again:/hold A" + SMALL.format("", ""), ("A",), True),
        (CLOTH + "/piece:/sheet 3 rows of 4 units" + KEY.format("") + "ggrr/rggr", ("A",), False),
        (CLOTH + "/piece:/sheet 3 rows of 4 units" + KEY.format("") + "ggrr/rggr/rrr", ("A",),
         False),
        (CLOTH + "/piece:/sheet 3 rows of 4 units" + KEY.format("") + "ggrr/rggr/rrxr", ("A",),
         False),
        ("unit:/close A/piece:/chain 3 units" + KEY.format("") + "ggg", (), False),
        ("start:/close S/unit:/close A/piece:/chain 3 units" + KEY.format(" of A") + "ggg", ("A",),
         False),
    ],
)  # fmt: skip
def test_a_picture_that_does_not_say_enough(body: str, roles: tuple[str, ...], fit: bool) -> None:
    piece = weave(body)
    assert piece.recipe.picture is not None
    assert (pictured_roles(piece.recipe), fits(piece.recipe.picture, piece.layout)) == (roles, fit)
    assert (piece.colours is None) == (not (roles and fit))
