"""The mark under which computed sizes are kept: folds and what is told of rings count, names and
directions do not. The marks that are shipped with the sizes stay what they are."""

from __future__ import annotations

import json
from functools import cache

import pytest
from helpers import LIBRARY, shipped_recipes, view
from small_recipes import weave

from ringstep.shop.computed import size_mark
from ringstep.weave.marks import WeaveMark, made_mark, weave_mark

SHIPPED = shipped_recipes()
CHAIN = "start:/close 2 A/unit:/add 2 A through prev A{}/piece:/chain 9 units"
FIVE = "start:/add 5 P through one another/piece:/chain 1 units"
SHEET = (
    "row:/add A through above A if there, above next A if there{}/piece:/sheet 9 rows of 9 units"
)


def made(body: str, words: dict[int, str] | None = None, role: str = "") -> str:
    """words: what is told of rings by their number, of one role where it is given."""

    def told(own: str, index: int) -> str:
        return (words or {}).get(index, "") if own == role or not role else ""

    return made_mark(weave(body), told)


@cache
def kept() -> frozenset[str]:
    """The marks under which sizes are shipped."""
    return frozenset(json.loads((LIBRARY / "computed_sizes.json").read_text(encoding="utf-8")))


@cache
def marked(name: str) -> str:
    return size_mark(view(SHIPPED[name]))


@pytest.mark.parametrize("name", SHIPPED)
def test_sizes_of_a_shipped_weave_are_found_by_its_mark(name: str) -> None:
    """Users have kept sizes under it as well, so it may not change."""
    assert marked(name) in kept()


def test_every_mark_of_shipped_sizes_is_that_of_a_shipped_weave() -> None:
    marks = {name: marked(name) for name in SHIPPED}
    assert set(marks.values()) == kept()
    assert marks["simple_chain"] == marks["chain_with_clasp"] == marks["simple_loop"]
    assert marks["european_4"] == marks["european_4_slanting"] == marks["european_tube"]
    assert marks["spiral_4"] == marks["spiral_loop"] != marks["spiral_two_wires"]
    assert marks["doubled_chain"] != marks["byzantine"] != marks["box_chain"]


def test_folds_count_and_which_ring_it_is_does_not() -> None:
    bare, both, one, other = (
        made(CHAIN.format(fold)) for fold in ("", *(f"/fold back {r}" for r in ("A", "A1", "A2")))
    )
    assert one == other
    assert len({bare, both, one}) == 3
    assert {mark[:9] for mark in (bare, both, one)} == {str(weave_mark(weave(CHAIN.format(""))))}
    assert len(bare) == 9 + 1 + 9
    # where it is folded does not count, in whichever unit that is done
    assert made(CHAIN.format("/fold back prev A")) == both
    assert made(CHAIN.format("/spread A")) == bare


def test_what_is_told_of_rings_counts() -> None:
    plain = CHAIN.format("")
    assert made(plain, {1: "x", 2: "y"}) == made(plain, {1: "y", 2: "x"})
    marks = {made(plain, words) for words in ({}, {1: "x"}, {1: "x", 2: "x"}, {1: "x", 2: "y"})}
    assert len(marks) == 4
    assert made(FIVE, {3: "x"}) == made(FIVE, {4: "x"})
    fives = [{}, {3: "x"}, {1: "x", 2: "x"}, {1: "x", 2: "y"}, dict.fromkeys(range(1, 6), "x")]
    assert len({made(FIVE, words) for words in fives}) == 5
    assert made(FIVE).startswith(str(weave_mark(weave(FIVE))) + "-")
    assert len(made(FIVE)) == 9 + 1 + 9


def test_of_a_sheet_as_well() -> None:
    plain, more = SHEET.format(""), SHEET.format("/add B through A")
    assert made(plain) != made(plain, {1: "x"})
    assert len({made(more), made(more, {1: "x"}, "A"), made(more, {1: "x"}, "B")}) == 3
    assert made(SHEET.format("/fold back A")) != made(plain)
    straight = plain.replace("above next A", "above prev A")
    assert made(straight) == made(plain)


def test_a_chain_from_either_end() -> None:
    """Of three rings one bears a B and the next a C: seen from the other end the C comes first."""
    chain = "start:/close A1, A2, A3/unit:/add A1 through prev A3/add A2 through A1/add A3 through"
    chain += " A2/add B through A{}/add C through A{}/piece:/chain 9 units"
    one, other, far = (chain.format(*each) for each in ((1, 2), (2, 1), (1, 1)))
    assert weave_mark(weave(one)) == weave_mark(weave(other)) != weave_mark(weave(far))
    assert made(one, {1: "x"}, "B") == made(other, {1: "x"}, "B") == made(one, {1: "x"}, "C")
    assert made(one, {1: "x"}, "B") not in (
        made(one),
        made(one, {1: "x"}),
        made(one, {1: "y"}, "B"),
    )


def test_a_mirror_image_has_the_sizes_of_its_image() -> None:
    lay = "start:/close 2 A/unit:/add A1 through prev A/add A2 through prev A, A1 lay {}/piece:"
    lay += "/chain 9 units"
    front, back = (weave_mark(weave(lay.format(side))) for side in ("front", "back"))
    assert front is not None
    assert back is not None
    assert (front.lay, front.mirror, front.links) == (back.mirror, back.lay, back.links)
    assert front.lay != front.mirror
    assert made(lay.format("front")) == made(lay.format("back"))
    assert made(lay.format("front")).split("-")[2] == min(front.lay, front.mirror)
    assert str(front) == f"{front.links}-{front.lay}"
    assert front.words == f"{front}, mirror image {back}"
    assert WeaveMark("A", "B", "B").words == "A-B"
    assert WeaveMark("A").words == "A"


@pytest.mark.parametrize(
    ("body", "has"),
    [
        ("start:/close 400 A/piece:/chain 1 units", True),
        ("start:/close 401 A/piece:/chain 1 units", False),
        ("start:/turn over/piece:/chain 1 units", False),
        ("unit:/close 120 A/piece:/chain 9 units", True),
        ("unit:/close 121 A/piece:/chain 9 units", False),
        ("start:/close A/unit:/turn over/piece:/chain 9 units", False),
    ],
)
def test_what_is_too_large_or_places_nothing_has_no_mark(body: str, has: bool) -> None:
    assert bool(weave_mark(weave(body))) == bool(made(body)) == has
