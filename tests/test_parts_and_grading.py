"""How parts are shaped, and how many rings each line of sizes that change along a piece has."""

from __future__ import annotations

import pytest
from helpers import view
from small_recipes import RINGS, recipe

from ringstep.weave.grading import even_at
from ringstep.weave.parts import PartSize, rim_of, shape_of, size_of
from ringstep.weave.piece import Weave


@pytest.mark.parametrize(
    ("line", "shape", "met", "alone"),
    # rim and hole of the part where rings go through it, and where none do
    [
        ("bead  glass, 4 mm", "ball", None, (4, -4)),
        ("bead  glass, 1.5 mm", "ball", None, (1.5, -1.5)),
        ("tag  glass pearls, 4 mm", "ball", None, (4, -4)),
        ("tag  beaded glass, 4 mm", None, None, None),
        ("Ball  brass, 4 mm, hole 1 mm", "ball", (1.5, 1), (1.5, 1)),
        ("bead  glass, 4 mm, hole 2 mm", "ball", (1, 2), (1, 2)),
        # more hole than bead: a ring
        ("bead  glass, 4 mm, hole 2.5 mm", "ring", (0.75, 2.5), (0.75, 2.5)),
        ("bead  glass, 4 mm, hole 4 mm", None, None, None),
        ("bead  glass, 4 mm by 3 mm, hole 1 mm", "bar", (0.5, 1), (0.5, 1)),
        ("toggle  brass, 6 mm", None, None, None),
        ("toggle  brass, 6 mm, hole 3 mm", "bar", (1.5, 3), (1.5, 3)),
        ("toggle  brass, 6 mm, hole 3.5 mm", "ring", (1.25, 3.5), (1.25, 3.5)),
        # a bar is half as thick as its hole is wide, or less where it is narrow
        ("clasp  brass, 12 mm by 6 mm, hole 2 mm", "bar", (1, 2), (1, 2)),
        ("clasp  brass, 12 mm by 3 mm, hole 2 mm", "bar", (0.5, 2), (0.5, 2)),
        ("clasp  brass, 3 mm by 12 mm, hole 2 mm", "bar", (0.5, 2), (0.5, 2)),
        ("clasp  brass, 12 mm by 6 mm, hole 6 mm", None, None, None),
        ("clasp  brass, 12 mm by 6 mm", None, None, None),
        ("tag  brass, hole 3 mm", None, None, None),
        ("hook  brass", None, None, None),
    ],
)
def test_parts(
    line: str,
    shape: str | None,
    met: tuple[float, float] | None,
    alone: tuple[float, float] | None,
) -> None:
    rings = f"{RINGS}parts:\n  {line}\n"
    seen = view(recipe("unit:/add A through prev A if there/piece:/chain 5 units", rings))
    assert not seen.troubles
    (part,) = seen.recipe.parts
    assert (shape_of(part), rim_of(part, True), rim_of(part, False)) == (shape, met, alone)


def test_the_sizes_of_a_part() -> None:
    lines = ["bead  glass, 4 mm", "clasp  brass, 12 mm by 6 mm, hole 2 mm", "tag  brass, hole 3 mm",
             "hook  brass"]  # fmt: skip
    rings = RINGS + "parts:\n" + "".join(f"  {line}\n" for line in lines)
    parts = view(recipe("unit:/add A through prev A if there/piece:/chain 5 units", rings)).recipe
    assert [size_of(p) for p in parts.parts] == [
        PartSize(4, 4, None), PartSize(12, 6, 2), PartSize(None, None, 3), None
    ]  # fmt: skip


SMALL, WIDE = "wire 1 mm, inside 4 mm, copper", "wire 1 mm, inside 5 mm, copper"
PLAIN = "start:/close A/unit:/add A through prev A{}/piece:/chain 30 units"
SHEET = "start:/close A/first row:/add A through above A/row:/add A through above A, above next A"
SHEET += " if there/row end:/close E/finish:/close A/take out first A/piece:/sheet 8 rows of 5"
SHEET += " units"


def graded(body: str, *lines: str) -> Weave:
    seen = view(recipe(body, RINGS + "".join(f"  {line}\n" for line in lines)))
    assert not seen.troubles
    return seen.weave


#: name, place, (opened, closed, taken out) for each line that holds
GRADED = [
    (PLAIN.format(""), [f"A units 1 to 8  {SMALL}", f"A  {WIDE}"],
     {"A1": [("units 1 to 8", (8, 1, 0)), ("", (22, 0, 0))]},
     [(1, 8, [("A", SMALL)]), (9, 30, [("A", WIDE)])]),
    (PLAIN.format(""), [f"A units 5 to 8  {SMALL}", f"A unit 29  {SMALL}", f"A  {WIDE}"],
     {"A1": [("units 5 to 8", (4, 0, 0)), ("unit 29", (1, 0, 0)), ("", (25, 1, 0))]},
     [(1, 4, [("A", WIDE)]), (5, 8, [("A", SMALL)]), (9, 28, [("A", WIDE)]),
      (29, 29, [("A", SMALL)]), (30, 30, [("A", WIDE)])]),
    (PLAIN.format("/fold back prev A"), [f"A units 20 to 30  {SMALL}", f"A units 1 to 19  {WIDE}"],
     {"A1": [("units 1 to 19", (19, 1, 0)), ("units 20 to 30", (11, 0, 0))]},
     [(1, 19, [("A", WIDE)]), (20, 30, [("A", SMALL)])]),
    # the finish goes with the last unit
    (PLAIN.format("/finish:/add A through last A"),
     [f"A units 1 to 8  {SMALL}", f"A units 9 to 30  {WIDE}"],
     {"A1": [("units 1 to 8", (8, 1, 0)), ("units 9 to 30", (23, 0, 0))]},
     [(1, 8, [("A", SMALL)]), (9, 30, [("A", WIDE)])]),
    # one of two numbers; lines that name no ring of the piece, or no place of it, are left out
    (PLAIN.replace("A", "2 A", 1).replace("add A", "add 2 A").format(""),
     [f"A2 units 1 to 8  {SMALL}", f"A2  {WIDE}"],
     {"A1": [("", (30, 1, 0))], "A2": [("units 1 to 8", (8, 1, 0)), ("", (22, 0, 0))]},
     [(1, 8, [("A2", SMALL)]), (9, 30, [("A2", WIDE)])]),
    (PLAIN.format("/close H/take out H"), [f"H units 3 to 9  {SMALL}", f"H  {WIDE}"],
     {"A1": [("", (30, 1, 0))], "H1": [("units 3 to 9", (0, 7, 7)), ("", (0, 23, 23))]},
     [(1, 2, [("H", WIDE)]), (3, 9, [("H", SMALL)]), (10, 30, [("H", WIDE)])]),
    (PLAIN.format(""), [f"A  {WIDE}"], {"A1": [("", (30, 1, 0))]}, []),
    # rows of a sheet, the start with the first of them and the finish with the last
    (SHEET, [f"A rows 2 to 3  {SMALL}", f"A  {WIDE}"],
     {"A1": [("rows 2 to 3", (10, 0, 0)), ("", (30, 2, 1))], "E1": [("", (0, 8, 0))]},
     [(1, 1, [("A", WIDE)]), (2, 3, [("A", SMALL)]), (4, 8, [("A", WIDE)])]),
    (SHEET, [f"A row 1  {SMALL}", f"A rows 2 to 8  {WIDE}"],
     {"A1": [("row 1", (5, 1, 1)), ("rows 2 to 8", (35, 1, 0))], "E1": [("", (0, 8, 0))]},
     [(1, 1, [("A", SMALL)]), (2, 8, [("A", WIDE)])]),
]  # fmt: skip


@pytest.mark.parametrize(("body", "lines", "counts", "stretches"), GRADED)
def test_sizes_along_a_piece(
    body: str,
    lines: list[str],
    counts: dict[str, list[tuple[str, tuple[int, int, int]]]],
    stretches: list[tuple[int, int, list[tuple[str, str]]]],
) -> None:
    weave = graded(body, *lines)
    grading = weave.grading
    assert {
        f"{role}{i}": [(str(k.along or ""), n) for k, n in grading.counts(role, i)]
        for role, numbers in weave.names.items() for i in numbers
    } == counts  # fmt: skip
    inside = {SMALL: 4.0, WIDE: 5.0}
    assert [
        (first, last, [(name, kind.mm[1]) for name, kind in rings])
        for first, last, rings in grading.stretches(weave.names)
    ] == [(first, last, [(n, inside[k]) for n, k in rings]) for first, last, rings in stretches]
    assert grading.places == (8 if body == SHEET else 30)


def test_a_piece_with_the_sizes_of_one_place() -> None:
    weave = graded(
        PLAIN.format("/close B, C1, C2"), f"A units 5 to 8  {SMALL}", f"A  {WIDE}",
        "B  wire 1 mm, inside 7 mm, copper", "C2 units 5 to 7  wire 1 mm, inside 3 mm, copper",
        "C2  wire 1 mm, inside 2 mm, copper",
    )  # fmt: skip
    told = {}
    for place in (4, 5, 8, 9):
        kinds = even_at(weave.recipe, place).rings
        assert all(kind.along is None for kind in kinds)
        told[place] = [f"{kind.name} {kind.mm[1]:g}" for kind in kinds]
    assert [t[0].split()[0] for t in told.values()] == ["all"] * 4
    assert {place: each[1:] for place, each in told.items()} == {
        4: ["A 5", "B 7", "C2 2"], 5: ["A 4", "B 7", "C2 3"], 8: ["A 4", "B 7", "C2 2"],
        9: ["A 5", "B 7", "C2 2"],
    }  # fmt: skip
