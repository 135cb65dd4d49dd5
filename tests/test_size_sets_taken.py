"""Which sizes and which look each ring has in a set of sizes, worked out line by line."""

from __future__ import annotations

import pytest
from helpers import read

from ringstep.language.size_sets import NoSize, of_size, set_names, sized_names, spoken
from ringstep.language.syntax import Name, RingKind
from ringstep.language.tree import Tree

#: Ring, its number, wire, inside, material, colour, whether it stays closed, units it holds for.
Line = tuple[str, int | None, float | None, float | None, str, str, bool, str]


def tree_of(rings: list[str], sizes: list[str]) -> Tree:
    """A chain with these lines of 'rings:' and of 'sizes:', and what was measured of it."""
    lines = ['weave "It"', "rings:", *(f"  {line}" for line in rings)]
    lines += ["sizes:", *(f"  {line}" for line in sizes)] if sizes else []
    lines += ["start:", "  close A", "unit:", "  add A through prev A", "piece:"]
    lines += ["  chain 9 units", "  sample 5 units = 20 mm", ""]
    tree, troubles = read("\n".join(lines))
    assert not troubles
    return tree


def shown(kinds: tuple[RingKind, ...]) -> list[Line]:
    return [
        (
            k.name.role,
            k.name.index,
            *k.mm,
            k.material,
            k.colour,
            k.stays_closed,
            f"{k.along.first}-{k.along.last}" if k.along else "",
        )
        for k in kinds
    ]


#: (lines of 'rings:', lines of 'sizes:', size asked for, the lines that come of it)
TAKEN: list[tuple[list[str], list[str], str, list[Line]]] = [
    # each line of the set with the look of its ring
    (
        ["A  wire 1 mm, inside 5 mm, tin, colour red, stays closed", "B  wire 2 mm, inside 9 mm"],
        ["s  A  wire 0.5 mm, inside 3 mm"],
        "s",
        [
            ("A", None, 0.5, 3, "tin", "red", True, ""),
            ("B", None, 2, 9, "", "", False, ""),
        ],
    ),
    # a numbered ring has its own look, else that of its role, else that of all
    (
        ["ALL  wire 1 mm, inside 5 mm, tin", "A  wire 1 mm, inside 5 mm, brass", "A 2  copper"],
        [
            "s  A 2  wire 3 mm, inside 7 mm",
            "s  A 1  wire 4 mm, inside 8 mm",
            "s  B  wire 5 mm, inside 9 mm",
        ],
        "s",
        [
            ("A", 2, 3, 7, "copper", "", False, ""),
            ("A", 1, 4, 8, "brass", "", False, ""),
            ("B", None, 5, 9, "tin", "", False, ""),
            ("ALL", None, 1, 5, "tin", "", False, ""),
            ("A", None, 1, 5, "brass", "", False, ""),
        ],
    ),
    # where a ring has two lines the first has its look; none at all is none
    (
        ["A units 1 to 4  wire 1 mm, inside 5 mm, tin", "A units 5 to 9  wire 1 mm, inside 6 mm"],
        ["s  a  wire 2 mm, inside 7 mm", "s  A  wire 3 mm, inside 8 mm"],
        "s",
        [("a", None, 2, 7, "", "", False, ""), ("A", None, 3, 8, "tin", "", False, "")],
    ),
    # a line that has but a look takes the sizes of its role before those of all
    (
        ["all  wire 1 mm, inside 5 mm", "A 1  copper", "B  brass, colour red"],
        [
            "s  A units 1 to 4  wire 2 mm, inside 7 mm",
            "s  A units 5 to 9  wire 3 mm, inside 8 mm",
            "s  all  wire 4 mm, inside 9 mm",
            "t  B  wire 6 mm, inside 9 mm",
        ],
        "s",
        [
            ("A", None, 2, 7, "", "", False, "1-4"),
            ("A", None, 3, 8, "", "", False, "5-9"),
            ("all", None, 4, 9, "", "", False, ""),
            ("A", 1, 2, 7, "copper", "", False, "1-4"),
            ("A", 1, 3, 8, "copper", "", False, "5-9"),
            ("B", None, 4, 9, "brass", "red", False, ""),
        ],
    ),
    # one that says a wire alone has a size of its own
    (
        ["all  wire 1 mm, inside 5 mm", "B  wire 2 mm, brass", "C  inside 6 mm, tin"],
        ["s  all  wire 4 mm, inside 9 mm"],
        "s",
        [
            ("all", None, 4, 9, "", "", False, ""),
            ("B", None, 2, None, "brass", "", False, ""),
            ("C", None, None, 6, "tin", "", False, ""),
        ],
    ),
]


@pytest.mark.parametrize(("rings", "sizes", "size", "wanted"), TAKEN)
def test_the_rings_of_a_set(
    rings: list[str], sizes: list[str], size: str, wanted: list[Line]
) -> None:
    tree = tree_of(rings, sizes)
    sized = of_size(tree, size)
    assert shown(sized.rings) == wanted
    assert sized.size == size
    assert sized.written == tree.written


def test_without_a_size_the_recipe_is_as_it_is() -> None:
    tree = tree_of(["all  wire 1 mm, inside 5 mm"], ["s  all  wire 2 mm, inside 7 mm"])
    assert of_size(tree, None) is tree
    assert tree.size == ""


@pytest.mark.parametrize(
    ("sizes", "said"),
    [
        ([], "the recipe has no set of sizes 'x': it has no section 'sizes:'"),
        (
            [
                "t  A  wire 2 mm, inside 7 mm",
                "s  A  wire 3 mm, inside 9 mm",
                "t  B  wire 2 mm, inside 7 mm",
            ],
            "the recipe has no set of sizes 'x'; it has t and s",
        ),
    ],
)
def test_a_set_that_is_not_there(sizes: list[str], said: str) -> None:
    tree = tree_of(["all  wire 1 mm, inside 5 mm"], sizes)
    assert set_names(tree) == (("t", "s") if sizes else ())
    with pytest.raises(NoSize) as told:
        of_size(tree, "x")
    assert str(told.value) == said


@pytest.mark.parametrize(
    ("set_line", "samples"),
    [
        ("s  all  wire 1 mm, inside 5 mm", 1),
        ("s  all  wire 1 mm, inside 5.1 mm", 0),
        ("s  all  wire 1.1 mm, inside 5 mm", 0),
        ("s  all units 1 to 3  wire 1 mm, inside 5 mm", 0),
        ("s  A  wire 1 mm, inside 5 mm", 0),
    ],
)
def test_what_was_measured_stays_where_no_size_differs(set_line: str, samples: int) -> None:
    sized = of_size(tree_of(["all  wire 1 mm, inside 5 mm, tin"], [set_line]), "s")
    assert sized.piece is not None
    assert len(sized.piece.samples) == samples


#: (lines of 'rings:', lines of 'sizes:', the set that holds, the lines that come of it)
FIRST: list[tuple[list[str], list[str], str, list[Line]]] = [
    (
        ["A  tin", "B  brass"],
        [
            "s  A  wire 1 mm, inside 5 mm",
            "s  B  wire 2 mm, inside 7 mm",
            "t  A  wire 3 mm, inside 9 mm",
            "t  B  wire 4 mm, inside 9 mm",
        ],
        "s",
        [("A", None, 1, 5, "tin", "", False, ""), ("B", None, 2, 7, "brass", "", False, "")],
    ),
    # sizes of its own under 'rings:' are kept, and then the recipe is of no set
    (
        ["A  wire 3 mm, tin", "B  brass"],
        ["s  A  wire 1 mm, inside 5 mm", "s  B  wire 2 mm, inside 7 mm"],
        "",
        [("A", None, 3, None, "tin", "", False, ""), ("B", None, 2, 7, "brass", "", False, "")],
    ),
    (
        ["all  inside 6 mm", "B  brass"],
        ["s  all  wire 1 mm, inside 5 mm", "s  B  wire 2 mm, inside 7 mm"],
        "",
        [("all", None, None, 6, "", "", False, ""), ("B", None, 2, 7, "brass", "", False, "")],
    ),
    (
        ["A  wire 3 mm, inside 9 mm"],
        ["s  A  wire 1 mm, inside 5 mm"],
        "",
        [("A", None, 3, 9, "", "", False, "")],
    ),
    (
        ["A  tin"],
        ["s  A  wire 1 mm, inside 5 mm", "t  A  wire 2 mm, inside 7 mm"],
        "s",
        [("A", None, 1, 5, "tin", "", False, "")],
    ),
    (["A  tin"], [], "", [("A", None, None, None, "tin", "", False, "")]),
]


@pytest.mark.parametrize(("rings", "sizes", "size", "wanted"), FIRST)
def test_the_first_set_holds_where_rings_gives_no_sizes(
    rings: list[str], sizes: list[str], size: str, wanted: list[Line]
) -> None:
    tree = tree_of(rings, sizes)
    assert shown(tree.rings) == wanted
    assert tree.size == size
    assert len(tree.written) == len(rings)
    assert tree.piece is not None
    assert len(tree.piece.samples) == 1


def test_every_name_with_a_size_and_where_it_first_has_it() -> None:
    """A wire or an inside alone is a size; a look alone is none."""
    tree = tree_of(
        ["All  wire 1 mm, inside 5 mm", "A  wire 2 mm", "B  inside 6 mm", "C  tin", "D  brass"],
        [
            "s  A  wire 1 mm, inside 4 mm",
            "s  D  wire 1 mm, inside 4 mm",
            "t  D  wire 1 mm, inside 5 mm",
            "t  all  wire 1 mm, inside 5 mm",
        ],
    )
    found = {name: span.line for name, span in sized_names(tree).items()}
    assert found == {"all": 3, "A": 4, "B": 5, "D": 10}


def test_all_is_spoken_in_lower_case_and_a_number_with_its_ring() -> None:
    tree = tree_of(["ALL  tin", "A 2  tin", "Ball  tin"], [])
    names: list[Name] = [kind.name for kind in tree.rings]
    assert [spoken(name) for name in names] == ["all", str(names[1]), "Ball"]
    assert str(names[1]) in ("A 2", "A2")
