"""What is said of sets of sizes, and of sizes off the range that is promised."""

from __future__ import annotations

import pytest
from helpers import findings, underlined
from small_recipes import recipe

from ringstep.language.findings import typed_in

SIZE = "wire 1 mm, inside 6 mm, copper"
SMALL = "wire 0.8 mm, inside 4 mm"
ALL, AB, ABC = (
    "/".join(f"{name}  {SIZE}" for name in names) for names in (["all"], ["A", "B"], "ABC")
)
ONE = "A meets 2/start:/close A/unit:/add A through prev A/piece:/chain 9 units"
TWO = (
    "expect:/A meets 2/start:/close A/unit:/add B through prev A/add A through B/piece:/"
    "chain 9 units"
)
PAIR = "expect:/A meets 4/start:/close 2 A/unit:/add 2 A through prev A/piece:/chain 9 units"
RANGE = f"expect:/{{}} 3.5 to 5, common practice no source/{ONE}"
SPLIT = "'smal' is a set of its own, and 'small' lacks what it has"
WRITE = ["write 'small', if that set is meant"]
ITS, THEIRS = "it has one here", "they have one here"
PROMISED = "promised here"

One = tuple[str, str, tuple[int, str] | None, list[str]]
Told = list[One]


def lines(*said: str) -> str:
    """The section 'sizes:', a line each; the small size where none is said."""
    return "sizes:/" + "".join(f"{x}{'' if 'wire' in x else f'  {SMALL}'}/" for x in said)


def lacks(line: str, size: str, name: str, beside: tuple[int, str]) -> One:
    who = "all other rings" if name == "all" else name
    return (f"{line}  {SMALL}", f"the set '{size}' gives no size for {who}", beside,
            [f"add '{size}  {name}  wire … mm, inside … mm'"])  # fmt: skip


#: The lines of 'rings:'; the rest; and each that is told: what is underlined, what is said, the
#: line and words of what is shown beside it, and what to do.
SETS: list[tuple[str, str, Told]] = [
    (ALL, f"sizes:/expect:/{ONE}",
     [("sizes:", "the section 'sizes:' is empty", None,
       ["write a line for each set, as in 'small  all  wire 0.8 mm, inside 4.3 mm'"])]),
    # each set has each name that has a size, a set of its own for each
    (AB, lines("small  A", "big  B") + TWO,
     [lacks("small  A", "small", "B", (4, ITS)), lacks("big  B", "big", "A", (3, ITS))]),
    (AB, lines("small  all") + TWO,
     [lacks("small  all", "small", "A", (3, ITS)), lacks("small  all", "small", "B", (4, ITS))]),
    (ALL, lines("small  A") + TWO, [lacks("small  A", "small", "all", (3, THEIRS))]),
    (ALL, lines("small  A1") + PAIR, [lacks("small  A1", "small", "all", (3, THEIRS))]),
    (f"A1  {SIZE}/A2  {SIZE}", lines("small  A1") + PAIR,
     [lacks("small  A1", "small", "A2", (4, ITS))]),
    (f"{ALL}/A1  {SIZE}", lines("small  all") + PAIR,
     [lacks("small  all", "small", "A1", (4, ITS))]),
    # where every ring has a line of its own, none is needed for the others
    (ALL, lines("small  A", "small  B") + TWO, []),
    (f"{ALL}/{AB}", lines("small  A", "small  B") + TWO, []),
    (f"{ALL}/A1  {SIZE}/A2  {SIZE}", lines("small  A1", "small  A2") + PAIR, []),
    # a set whose name is misspelt has what an earlier one lacks, and none of what that has
    (AB, lines("small  A", "smal  B") + TWO, [("smal", SPLIT, None, WRITE)]),
    (ABC, lines("small  A", "smal  B", "smal  C") + TWO.replace("add A", "add C through B/add A"),
     [("smal", SPLIT, None, WRITE)]),
    (AB, lines("small  A", "small  B", "smal  B") + TWO, [lacks("smal  B", "smal", "A", (3, ITS))]),
    # one line for each ring of a set, and none for a ring that is not there
    (AB, lines("small  A", "small  A", "small  A", "small  B") + TWO,
     [(f"small  A  {SMALL}", "the set 'small' gives the sizes of A twice", None,
       ["keep one of the two lines, or give this set a name of its own"])] * 2),
    (AB, lines("small  A", "small  Bb") + TWO,
     [("Bb", "the set 'small' gives the sizes of Bb, and no step places it", None,
       ["the nearest name is 'B'"])]),
    (AB, lines("small  A", "small  Z") + TWO,
     [("Z", "the set 'small' gives the sizes of Z, and no step places it", None,
       ["rings in this recipe: A and B"])]),
    # which rings are placed is not known where a step is not read, nor sizes where a line is not
    (AB, lines("small  A", "small  Z") + TWO.replace("B through", "B thruogh"),
     [lacks("small  A", "small", "B", (4, ITS))]),
    (AB, lines("small  A") + "small  xx yy/" + TWO, []),
]  # fmt: skip


def said(rings: str, rest: str, rule: str) -> Told:
    text = recipe(rest, "rings:\n" + "".join(f"  {line}\n" for line in rings.split("/")))
    found = [f for f in findings(text) if f.rule.name == rule]
    for finding in found:
        for mend in finding.mends:
            after = "\n".join(typed_in(tuple(text.splitlines()), mend.edits)) + "\n"
            assert not [f for f in findings(after) if f.rule.name == rule]
    return [
        (underlined(text, f), f.message, next(((x.span.line, x.text) for x in f.labels), None),
         list(f.help))
        for f in found
    ]  # fmt: skip


@pytest.mark.parametrize(("rings", "rest", "told"), SETS)
def test_size_sets_that_lack_something(rings: str, rest: str, told: Told) -> None:
    assert said(rings, rest, "size-set") == told


def test_a_misspelt_set_is_mended_only_where_that_makes_it_whole() -> None:
    """With C in 'rings:' the set would still lack it."""
    three = TWO.replace("add A", "add C through B/add A")
    for rings, rest, mended in ((AB, TWO, True), (ABC, three, False)):
        text = recipe(
            lines("small  A", "smal  B") + rest,
            "rings:\n" + "".join(f"  {line}\n" for line in rings.split("/")),
        )
        (found,) = [f for f in findings(text) if f.rule.name == "size-set"]
        assert [m.says for m in found.mends] == ["write 'small' for 'smal'"] * mended


@pytest.mark.parametrize(
    ("rings", "rest", "told"),
    [
        (ALL, lines("small  all  wire 1 mm, inside 2 mm") + RANGE.format("A AR"),
         [("1 mm, inside 2 mm",
           "A of the set 'small' is too tight: AR 2.0, and 3.5 to 5.0 is promised", (7, PROMISED),
           ["for wire of 1 mm take an inside of 3.5 mm to 5 mm"])]),
        # each set by itself, each line once
        (ALL, lines("small  all  wire 1 mm, inside 9 mm", "fits  all  wire 1 mm, inside 4 mm",
                    "wide  all  wire 2 mm, inside 5 mm") + RANGE.format("AR"),
         [("1 mm, inside 9 mm",
           "A of the set 'small' is too loose: AR 9.0, and 3.5 to 5.0 is promised", (9, PROMISED),
           ["for wire of 1 mm take an inside of 3.5 mm to 5 mm"]),
          ("2 mm, inside 5 mm",
           "A of the set 'wide' is too tight: AR 2.5, and 3.5 to 5.0 is promised", (9, PROMISED),
           ["for wire of 2 mm take an inside of 7 mm to 10 mm"])]),
        (AB, lines("small  A  wire 1 mm, inside 3 mm", "small  B  wire 1 mm, inside 3 mm")
         + TWO.replace("expect:", "expect:/B AR 3.5 to 6, common practice no source/A AR 2 to 4,"
                       " common practice no source"),
         [("1 mm, inside 3 mm",
           "B of the set 'small' is too tight: AR 3.0, and 3.5 to 6.0 is promised", (9, PROMISED),
           ["for wire of 1 mm take an inside of 3.5 mm to 6 mm"])]),
        # along the piece
        ("A units 1 to 4  wire 1 mm, inside 6 mm, copper/A units 5 to 9  wire 1 mm, inside 4 mm,"
         " copper", RANGE.format("AR"),
         [("1 mm, inside 6 mm",
           "A in units 1 to 4 is too loose: AR 6.0, and 3.5 to 5.0 is promised", (6, PROMISED),
           ["for wire of 1 mm take an inside of 3.5 mm to 5 mm"])]),
        # sizes that cannot be are told elsewhere, and what is not read may say another range
        (ALL, lines("small  all  wire 1 mm, inside 0.5 mm") + RANGE.format("AR"), []),
        (ALL, lines("small  all  wire 1 mm, inside 1 mm") + RANGE.format("AR"), []),
        (ALL, lines("small  all  wire 1 mm, inside 2 mm")
         + RANGE.format("AR").replace("A meets", "A metes"), []),
    ],
)  # fmt: skip
def test_off_range_sizes(rings: str, rest: str, told: Told) -> None:
    assert said(rings, rest, "size-off-range") == told
