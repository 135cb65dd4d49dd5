"""One cycle as numbers, taken over coarser lattices, and weaves a link away from one another.

What each ring of a net meets is counted by hand; so are the words for the link that is missing.
"""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from helpers import EUROPEAN, JAPANESE, PERSIAN_LINKED, SHAGGY, SIMPLE, SPIRAL, TUBE, view
from small_recipes import recipe

from ringstep.weave.kin import near_kin
from ringstep.weave.marks import cycle_of, links_digest
from ringstep.weave.matching import matches, turns_of
from ringstep.weave.net import Net, bases, mirrored, net_of, shells_of
from ringstep.weave.ring_graph import Repeat, Shift


def repeat_of(text: str) -> Repeat:
    repeat = view(text).weave.repeat
    assert repeat is not None
    return repeat


def net(text: str, basis: tuple[Shift, Shift]) -> Net:
    repeat = repeat_of(text)
    return net_of(repeat, basis, {c: at for at, c in enumerate(repeat.classes)})


#: Every A meets the ring above and the next above, so also the one below and the one before below.
CELLS: list[tuple[tuple[Shift, Shift], list[set[tuple[int, Shift]]]]] = [
    (((1, 0), (0, 1)), [{(0, (-1, 0)), (0, (-1, 1)), (0, (1, 0)), (0, (1, -1))}]),
    # two units to a cell
    (((1, 0), (0, 2)),
     [{(0, (-1, 0)), (1, (-1, 0)), (0, (1, 0)), (1, (1, -1))},
      {(1, (-1, 0)), (0, (-1, 1)), (1, (1, 0)), (0, (1, 0))}]),
    # two rows to a cell, each cell below one unit further on
    (((2, 1), (0, 1)),
     [{(1, (-1, 1)), (1, (-1, 2)), (1, (0, 0)), (1, (0, -1))},
      {(0, (0, 0)), (0, (0, 1)), (0, (1, -1)), (0, (1, -2))}]),
    # two units to a cell, and each row below one unit further on
    (((1, 1), (0, 2)),
     [{(1, (-1, 0)), (0, (-1, 1)), (1, (1, -1)), (0, (1, -1))},
      {(0, (-1, 1)), (1, (-1, 1)), (0, (1, 0)), (1, (1, -1))}]),
]  # fmt: skip


@pytest.mark.parametrize(("basis", "near"), CELLS)
def test_a_sheet_over_coarser_lattices(
    basis: tuple[Shift, Shift], near: list[set[tuple[int, Shift]]]
) -> None:
    found = net(TUBE, basis)
    assert found.flat
    assert [set(each) for each in found.near] == near
    assert found.shells == (0,) * len(near)
    assert found.lays == ((None, None, None),) * len(near)
    assert found.stops == ({},) * len(near)


def test_rings_of_one_cycle_keep_their_kind_in_every_cell() -> None:
    """flat, across and down of the Japanese square, over two rows of one unit."""
    found = net(JAPANESE, ((2, 0), (0, 1)))
    assert found.shells == (0, 1, 2, 0, 1, 2)
    assert [len(each) for each in found.near] == [4, 2, 2, 4, 2, 2]
    assert set(found.near[0]) == {(1, (0, 0)), (1, (0, 1)), (2, (0, 0)), (5, (0, 0))}
    assert set(found.near[5]) == {(3, (0, 0)), (0, (0, 0))}
    assert set(found.near[2]) == {(0, (0, 0)), (3, (-1, 0))}
    three = net(SIMPLE, ((1, 0), (0, 3)))
    assert [set(each) for each in three.near] == [
        {(2, (0, -1)), (1, (0, 0))}, {(0, (0, 0)), (2, (0, 0))}, {(1, (0, 0)), (0, (0, 1))}
    ]  # fmt: skip


def test_how_each_ring_lies_is_kept_in_every_cell() -> None:
    """M2 is laid to the front and to the back in turns; M1 and S leave no choice."""
    (plain, twice) = (net(PERSIAN_LINKED, ((1, 0), (0, n))) for n in (1, 2))
    roles = [f"{c.role}{c.index}" for c in repeat_of(PERSIAN_LINKED).classes]
    sides = dict(zip(roles, (side for side, _, _ in plain.lays), strict=False))
    told = [side for side, _, _ in plain.lays if side]
    assert sorted(told) == ["back", "front"]
    assert sides["M1"] is None
    assert [side for side, _, _ in twice.lays] == 2 * [side for side, _, _ in plain.lays]


LADDER = "start:/close 2 A/unit:/add 2 A through prev A1 then prev A2{}/fold back A{}/piece:/chain"


def test_where_it_goes_through_and_to_which_side() -> None:
    text = recipe(LADDER.format(" one to each side", " on the left") + " 9 units")
    found = net(text, ((1, 0), (0, 1)))
    assert found.lays == ((None, "left", "left"), (None, "right", "left"))
    # the way to the rings of the unit before: A1 first, then A2
    assert found.stops == ({(0, (0, -1)): 0, (1, (0, -1)): 1},) * 2
    twice = net(text, ((1, 0), (0, 2)))
    assert twice.stops[:2] == ({(2, (0, -1)): 0, (3, (0, -1)): 1},) * 2
    assert twice.stops[2:] == ({(0, (0, 0)): 0, (1, (0, 0)): 1},) * 2
    assert twice.lays == found.lays * 2
    again = recipe(LADDER.format("", "") + " 9 units")
    assert net(again, ((1, 0), (0, 1))).lays == ((None, None, None),) * 2


@pytest.mark.parametrize(("times", "lattices"), [(1, 1), (2, 3), (3, 4), (4, 7), (6, 12), (12, 28)])
def test_there_are_as_many_lattices_as_divisors_add_up_to(times: int, lattices: int) -> None:
    found = list(bases(times, True))
    assert len(set(found)) == len(found) == lattices
    assert all(a * d == times and 0 <= b < d and zero == 0 for (a, b), (zero, d) in found)
    assert list(bases(times, False)) == [((1, 0), (0, times))]


def test_how_many_rings_stand_how_far() -> None:
    """A chain has two at every distance, the square of one four, a European sheet 4 times n."""
    for text, numbers in ((SIMPLE, (2,) * 6), (SPIRAL, (4,) * 6),
                          (EUROPEAN, (4, 8, 12, 16, 20, 24))):  # fmt: skip
        assert set(shells_of(repeat_of(text)).values()) == {numbers}
    core, *tufts = shells_of(repeat_of(SHAGGY)).values()
    assert core == (8, 14, 14, 14, 14, 14)
    assert set(tufts) == {(1, 7, 14, 14, 14, 14)}
    # 20 rings a unit: 40 ways from a ring, 40 × 40 from those, then 59 × 40 are more than 2,000
    for many, numbers in ((20, (40, 59)), (30, (60,))):
        wide = f"start:/close {many} A/unit:/add {many} A through prev A/piece:/chain 9 units"
        assert set(shells_of(repeat_of(recipe(wide))).values()) == {numbers}


def test_what_tells_rings_apart() -> None:
    """Core and tufts; the two ends of three rings in a row and the middle one."""
    assert cycle_of(repeat_of(SHAGGY)).colours in ((0, *[1] * 6), (1, *[0] * 6))
    none: tuple[dict[tuple[int, Shift], int], ...] = ({},) * 5
    at = (0, 0)
    row = [{1}, {0, 2}, {1, 3}, {2, 4}, {3}]
    near = tuple(frozenset((j, at) for j in each) for each in row)
    a, b, c, d, e = Net(False, near, ((None, None, None),) * 5, none, (0,) * 5).colours
    assert a == e != b == d != c != a
    said = Net(False, near, ((None, None, None),) * 5, none, (1, 0, 0, 0, 0)).colours
    assert len(set(said)) == 5


def test_mirror_images_of_how_a_ring_lies() -> None:
    """Front and back change places; left and right only where nothing has a front."""
    assert mirrored(("front", "left", None), True) == ("back", "left", None)
    assert mirrored(("back", None, "right"), True) == ("front", None, "right")
    assert mirrored((None, "left", "right"), True) == (None, "left", "right")
    assert mirrored((None, "left", "right"), False) == (None, "right", "left")
    assert mirrored((None, None, "left"), False) == (None, None, "right")


def test_changes_of_the_shifts() -> None:
    assert turns_of(False) == ((1, 0, 0, 1), (1, 0, 0, -1))
    near, far = turns_of(True, 1), turns_of(True)
    assert near[:8] == far[:8] == (
        (1, 0, 0, 1), (1, 0, 0, -1), (0, 1, 1, 0), (0, 1, -1, 0),
        (0, -1, 1, 0), (0, -1, -1, 0), (-1, 0, 0, 1), (-1, 0, 0, -1),
    )  # fmt: skip
    assert len(near) == 40  # of 81 matrices of -1, 0 and 1
    assert {m for m in far if max(map(abs, m)) < 2} == set(near)
    assert all(a * d - b * c in (1, -1) for a, b, c, d in far)
    assert max(max(map(abs, m)) for m in far) == 2


def test_a_net_matches_itself_turned_round() -> None:
    """The sheet of a tube leans: a mirror image of its shifts is itself only with another turn."""
    leaning = net(TUBE, ((1, 0), (0, 1)))
    assert matches(leaning, leaning, (1, 0, 0, 1), "none")
    assert matches(leaning, leaning, (-1, 0, 0, -1), "none")
    assert not matches(leaning, leaning, (1, 0, 0, -1), "none")
    assert not matches(leaning, leaning, (0, 1, -1, 0), "none")
    two = net(TUBE, ((1, 0), (0, 2)))
    assert matches(two, two, (-1, 0, 0, -1), "none")
    assert not matches(two, two, (1, 1, 0, 1), "none")


def renumbered(net: Net, rng: random.Random) -> Net:
    """The same with other numbers for its rings, each of which is counted from another cell."""
    size = len(net.near)
    order = rng.sample(range(size), size)
    off = [(rng.randint(-2, 2) * net.flat, rng.randint(-2, 2)) for _ in range(size)]

    def to(ring: int, other: int, shift: Shift) -> tuple[int, Shift]:
        down, along = (s + a - b for s, a, b in zip(shift, off[ring], off[other], strict=True))
        return order[other], (down, along)

    near: list[frozenset[tuple[int, Shift]]] = [frozenset()] * size
    stops: list[dict[tuple[int, Shift], int]] = [{}] * size
    lays, shells = list(net.lays), list(net.shells)
    for ring in range(size):
        near[order[ring]] = frozenset(to(ring, *link) for link in net.near[ring])
        stops[order[ring]] = {to(ring, *link): n for link, n in net.stops[ring].items()}
        lays[order[ring]], shells[order[ring]] = net.lays[ring], net.shells[ring]
    return Net(net.flat, tuple(near), tuple(lays), tuple(stops), tuple(shells))


def without_a_link(net: Net, rng: random.Random) -> Net:
    """The same, in which one link leads to the ring of another cell."""
    ring = rng.choice([i for i, each in enumerate(net.near) if each])
    other, shift = rng.choice(sorted(net.near[ring]))
    back, far = (ring, (-shift[0], -shift[1])), (shift[0], shift[1] + 7)
    near = [set(each) for each in net.near]
    near[ring] = near[ring] - {(other, shift)} | {(other, far)}
    near[other] = near[other] - {back} | {(ring, (-far[0], -far[1]))}
    return replace(net, near=tuple(map(frozenset, near)))


NETS = [
    (EUROPEAN, ((1, 0), (0, 1))), (TUBE, ((2, 1), (0, 2))), (JAPANESE, ((1, 0), (0, 1))),
    (JAPANESE, ((2, 1), (0, 3))), (PERSIAN_LINKED, ((1, 0), (0, 1))), (SHAGGY, ((1, 0), (0, 2))),
    (SPIRAL, ((1, 0), (0, 3))), (recipe(LADDER.format("", "") + " 9 units"), ((1, 0), (0, 2))),
]  # fmt: skip


@pytest.mark.parametrize(("text", "basis"), NETS)
def test_a_net_is_known_again_however_its_rings_are_numbered(
    text: str, basis: tuple[Shift, Shift]
) -> None:
    rng, plain = random.Random(1), net(text, basis)
    plain = replace(plain, shells=(0,) * len(plain.near))
    for _ in range(6):
        other = renumbered(plain, rng)
        assert matches(plain, other, (1, 0, 0, 1), "none")
        assert matches(plain, other, (1, 0, 0, 1), "same")
        assert matches(renumbered(other, rng), other, (1, 0, 0, 1), "same")
        assert links_digest(other) == links_digest(plain)
        if min(map(len, plain.near)) < 3:
            continue  # where such a ring lies in the lattice, its links do not tell
        broken = without_a_link(other, rng)
        assert not matches(plain, broken, (1, 0, 0, 1), "none")
        assert links_digest(broken) != links_digest(plain)


CHAIN = "start:/close A/unit:/add A through {}/piece:/chain 30 units"
ONE, SQUARE = CHAIN.format("prev A"), CHAIN.format("prev A, prev prev A if there")
FAR = CHAIN.format("prev A, prev prev prev A if there")
PAIR = "start:/close 2 A/unit:/add A1 through prev A{}/add A2 through prev A{}/piece:/chain 9 units"
RUNGS = "start:/close A, B/unit:/add A through prev A/add B through prev B{}/piece:/chain 9 units"
CLOTH = (
    "row:/add A through above A if there, above next A if there{}/piece:/sheet 9 rows of 9 units"
)


@pytest.mark.parametrize(
    ("one", "other", "more", "less"),
    # the words about the second, and those about the first
    [
        (SQUARE, ONE, "with A and A of the unit two before linked",
         "without the link between A and A of the unit two before"),
        (FAR, ONE, "", ""),  # so far off no link is tried
        (PAIR.format("", ", A1"), PAIR.format("", ""), "with A1 and A2 linked",
         "without the link between A1 and A2"),
        (RUNGS.format(", A"), RUNGS.format(""), "with A and B linked",
         "without the link between A and B"),
        (RUNGS.format(", prev A"), RUNGS.format(""), "with A and B linked",
         "without the link between B and A of the unit before"),
        (CLOTH.format(", above prev A if there"), CLOTH.format(""),
         "with A and A of the unit before in the row above linked",
         # any two of three in a row will do
         "without the link between A and A of the next unit in the row above"),
        (CLOTH.format(", prev A if there"), CLOTH.format(""),
         "with A and A of the unit before linked",
         "without the link between A and A of the unit before"),
        (SQUARE, FAR, "", ""),
    ],
)  # fmt: skip
def test_weaves_a_link_away(one: str, other: str, more: str, less: str) -> None:
    a, b = view(recipe(one)).weave, view(recipe(other)).weave
    assert (near_kin(a, b), near_kin(b, a)) == (more, less)
    assert near_kin(a, a) == ""
