"""Where the words of a joining step lead: to which ring of which piece, place by place."""

from __future__ import annotations

import pytest
from helpers import view

from ringstep.weave.joined import Joined, edges_had, edges_of
from ringstep.weave.work import Ring

#: A rail of five A, the first of them the start's, and two B on each but that; a panel worked back
#: and forth with a ring at each row's end; a hoop.
PIECES = """\
weave "Gate of the Harbour Lane bench"
rings:
  all  wire 1 mm, inside 9 mm, copper
parts:
  hook  brass
piece rail:
  chain 4 units
  made twice
start:
  close A
unit:
  add A through prev A
  add 2 B through A
piece panel:
  sheet 3 rows of 4 units
  rows back and forth
  made twice
start:
  close S
row:
  add C through above C if there, prev C if there
row end:
  add E through last C
finish:
  add F through last E
piece hoop:
  tube 3 rows of 5 units
first row:
  close D
row:
  add D through above D, above next D
join:
"""
ALONG = "add J through rail 1 A along every unit"
LAST = "add J through rail 1 last A"


def joined(*steps: str) -> tuple[str, list[str]]:
    """What the last of some joining steps goes through, one place after the other parted by ' / ',
    each ring with its row and unit in its own piece, what is left out as '-'; and what is wrong.

    >>> joined(LAST)
    ('A1 1.4 of rail 1', [])
    """
    seen = view(PIECES + "".join(f"  {step}\n" for step in steps))
    assert not seen.troubles
    work, layout = seen.weave.work, seen.weave.layout
    assert isinstance(layout, Joined)
    last = max(s.number for s in seen.recipe.every_step())

    def words(ring: Ring) -> str:
        copy = layout.copy_at(ring.row, ring.unit)
        home = f" of {copy.called}" if copy else ""
        return f"{ring.role}{ring.index} {ring.row}.{ring.unit - (copy.first if copy else 0)}{home}"

    acts = [a for a in work.acts if a.step.number == last]
    assert [(a.row, a.unit) for a in acts] == [(-len(steps), n + 1) for n in range(len(acts))]
    told = [", ".join([*map(words, a.through), *("-" for _ in a.dropped)]) for a in acts]
    return " / ".join(told), [s.kind for s in work.snags if s.block.kind == "join"]


@pytest.mark.parametrize(
    ("item", "rings"),
    [
        ("rail 1 first A", "A1 1.0 of rail 1"),
        ("rail 2 last A", "A1 1.4 of rail 2"),
        ("rail 1 last prev prev A", "A1 1.2 of rail 1"),
        ("rail 1 first next A", "A1 1.1 of rail 1"),
        ("rail 1 last B", "B1 1.4 of rail 1, B2 1.4 of rail 1"),
        ("rail 1 last B2", "B2 1.4 of rail 1"),
        ("rail 1 first B1", "B1 1.1 of rail 1"),
        ("rail 1 last next A if there", "-"),
        ("rail 1 first prev A if there", "-"),
        ("panel 1 first C", "C1 1.1 of panel 1"),
        ("panel 2 last C", "C1 3.4 of panel 2"),
        ("panel 1 first row last C", "C1 1.4 of panel 1"),
        ("panel 1 last row first C", "C1 3.1 of panel 1"),
        ("panel 1 last row last prev C", "C1 3.3 of panel 1"),
        ("panel 1 S", "S1 0.0 of panel 1"),
        ("panel 1 last E", "E1 3.5 of panel 1"),
        ("panel 1 first row E", "E1 1.5 of panel 1"),
        ("panel 1 F", "F1 4.0 of panel 1"),
        ("hoop first D", "D1 1.1 of the hoop"),
        ("hoop 1 last row last D", "D1 3.5 of the hoop"),
        ("hook", "hook1 -1.1"),
    ],
)
def test_an_item_leads_to_one_place(item: str, rings: str) -> None:
    assert joined(f"add J through {item}") == (rings, [])


@pytest.mark.parametrize(
    ("item", "rings"),
    [
        ("rail 1 A along every unit", [f"A1 1.{n} of rail 1" for n in range(5)]),
        ("rail 2 A along every unit backwards", [f"A1 1.{n} of rail 2" for n in (4, 3, 2, 1, 0)]),
        ("rail 1 B2 along every unit", [f"B2 1.{n} of rail 1" for n in (1, 2, 3, 4)]),
        ("rail 1 next A along every unit if there",
         [*(f"A1 1.{n} of rail 1" for n in (1, 2, 3, 4)), "-"]),
        ("rail 1 next next B1 along every unit if there",
         ["B1 1.3 of rail 1", "B1 1.4 of rail 1", "-", "-"]),
        ("rail 1 prev A along every unit if there",
         ["-", *(f"A1 1.{n} of rail 1" for n in (0, 1, 2, 3))]),
        ("panel 1 C along first row", [f"C1 1.{n} of panel 1" for n in (1, 2, 3, 4)]),
        ("panel 1 C along last row backwards", [f"C1 3.{n} of panel 1" for n in (4, 3, 2, 1)]),
        ("panel 1 C along left edge", [f"C1 {n}.1 of panel 1" for n in (1, 2, 3)]),
        ("panel 2 C along right edge backwards", [f"C1 {n}.4 of panel 2" for n in (3, 2, 1)]),
        ("panel 1 next C along left edge if there",
         ["C1 2.1 of panel 1", "C1 3.1 of panel 1", "-"]),
        ("hoop D along first row", [f"D1 1.{n} of the hoop" for n in (1, 2, 3, 4, 5)]),
        ("hoop D along last row", [f"D1 3.{n} of the hoop" for n in (1, 2, 3, 4, 5)]),
    ],
)  # fmt: skip
def test_an_edge_is_gone_along(item: str, rings: list[str]) -> None:
    assert joined(f"add J through {item}") == (" / ".join(rings), [])


@pytest.mark.parametrize(
    ("item", "wrong"),
    [
        ("rail 1 A", "which place"), ("panel 1 first row C", "which place"),
        ("panel 1 E", "which place"), ("hoop D", "which place"),
        ("rail 3 last A", "no such piece"), ("hoop 2 last D", "no such piece"),
        ("rail last A", "which piece"),
        ("rail 1 Q", "unknown"), ("rail 1 first Q", "unknown"),
        ("rail 1 above A", "no such place"), ("rail 1 first row A", "no such place"),
        ("rail 1 first A along every unit", "no such place"),
        ("panel 1 above C along first row", "no such place"),
        ("rail 1 A along first row", "no such edge"),
        ("panel 1 C along every unit", "no such edge"),
        ("hoop D along left edge", "no such edge"),
        ("panel 1 first prev C", "off the piece"),
    ],
)  # fmt: skip
def test_an_item_that_leads_nowhere(item: str, wrong: str) -> None:
    rings, found = joined(f"add J through {item}")
    assert found == [wrong]
    assert set(rings) <= {" ", "/"}


@pytest.mark.parametrize(
    ("steps", "rings"),
    [
        # along an edge: the ring of the same place, and of the one before
        ((ALONG, "add K through rail 2 A along every unit, J"),
         " / ".join(f"A1 1.{n} of rail 2, J1 -1.{n + 1}" for n in range(5))),
        ((ALONG, "add K through rail 2 A along every unit, prev J if there"),
         " / ".join(["A1 1.0 of rail 2, -",
                     *(f"A1 1.{n} of rail 2, J1 -1.{n}" for n in (1, 2, 3, 4))])),
        ((ALONG, "add K through rail 2 A along every unit, next J if there"),
         " / ".join([*(f"A1 1.{n} of rail 2, J1 -1.{n + 2}" for n in (0, 1, 2, 3)),
                     "A1 1.4 of rail 2, -"])),
        (("add J through prev J if there, rail 1 A along every unit",),
         " / ".join(["A1 1.0 of rail 1, -",
                     *(f"J1 -1.{n}, A1 1.{n} of rail 1" for n in (1, 2, 3, 4))])),
        (("add Z through rail 1 last B1", ALONG, "add K through rail 2 A along every unit, J"),
         " / ".join(f"A1 1.{n} of rail 2, J1 -2.{n + 1}" for n in range(5))),
        # one ring is the same for every place of an edge
        ((LAST, "add K through J, rail 2 A along every unit"),
         " / ".join(f"J1 -1.1, A1 1.{n} of rail 2" for n in range(5))),
        ((LAST, "add K through J, rail 2 last A"), "J1 -1.1, A1 1.4 of rail 2"),
        ((LAST.replace("J", "J1"), "add J2 through rail 2 last A", "add K through J2"), "J2 -2.1"),
        ((LAST, "add K through next J if there"), "-"),
        ((LAST, "add K through hook, J", "add M through hook, K"), "hook1 -3.1, K1 -2.1"),
        ((ALONG.replace("every unit", "every unit, panel 1 first C"),),
         " / ".join(f"A1 1.{n} of rail 1, C1 1.1 of panel 1" for n in range(5))),
    ],
)  # fmt: skip
def test_rings_of_the_joining_steps(steps: tuple[str, ...], rings: str) -> None:
    assert joined(*steps) == (rings, [])


@pytest.mark.parametrize(
    ("steps", "often", "wrong"),
    [
        # five A, so five J; B1 stands at four places
        ((ALONG, "add K through J"), 1, ["which place"]),
        ((ALONG, "add K through rail 2 B1 along every unit, J"), 4, ["which place"]),
        ((LAST.replace("J", "J1"), "add J2 through rail 2 last A", "add K through J"), 1,
         ["which place"]),
        ((LAST, "add K through first J"), 1, ["no such place"]),
        ((LAST, "add K through above J"), 1, ["no such place"]),
        # the shortest edge says how often; an edge without such a ring is told by itself
        ((ALONG + ", rail 2 B1 along every unit",), 4, ["unlike edges"]),
        ((ALONG + ", rail 2 Q along every unit",), 1, ["unknown", "off the piece"]),
    ],
)  # fmt: skip
def test_what_cannot_be_joined(steps: tuple[str, ...], often: int, wrong: list[str]) -> None:
    rings, found = joined(*steps)
    assert found == wrong
    assert len(rings.split(" / ")) == often


def test_edges_of_two_places() -> None:
    """One unit and its start: two A, so two J and two K."""
    short = PIECES.replace("chain 4 units", "chain 1 units")
    steps = f"  {ALONG}\n  add K through rail 2 A along every unit, J\n"
    work = view(short + steps).weave.work
    assert not work.snags
    pairs = [[r for r in a.through if r.role == "J"] for a in work.acts if a.step.placed == (
        ("K", 1),)]  # fmt: skip
    assert pairs == [[Ring("J", 1, -1, 1)], [Ring("J", 1, -1, 2)]]


def test_pieces_stand_one_behind_the_other() -> None:
    """Each has its start, its units, and one place for its finish besides; one is left between."""
    layout = view(PIECES + f"  {LAST}\n").weave.layout
    assert isinstance(layout, Joined)
    assert [(c.called, c.number, c.made, c.first) for c in layout.copies] == [
        ("rail 1", 1, 0, 0), ("rail 2", 2, 0, 7), ("panel 1", 1, 1, 14), ("panel 2", 2, 1, 21),
        ("the hoop", 1, 2, 28),
    ]  # fmt: skip
    assert layout.copy_at(-1, 3) is None
    units = (0, 5, 6, 7, 12, 14, 27, 28, 33)
    assert [layout.copy_at(0, unit).called for unit in units] == [
        "rail 1", "rail 1", "rail 1", "rail 2", "rail 2", "panel 1", "panel 2", "the hoop",
        "the hoop",
    ]  # fmt: skip
    assert [layout.number(unit) for unit in units] == [0, 5, 6, 0, 5, 0, 6, 0, 5]
    assert [[str(b) for b in layout.blocks_at(row, unit)]
            for row, unit in ((1, 0), (1, 7), (1, 8), (1, 12), (2, 15), (0, 14), (-1, 1))] == [
        ["start"], ["start"], ["unit"], [], ["row"], ["start"], ["join"],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("place", "edges"),
    [
        ((0, 0), {"first row", "left edge"}), ((1, 1), {"first row", "left edge"}),
        ((1, 4), {"first row", "right edge"}), ((1, 5), {"first row", "right edge"}),
        ((2, 1), {"left edge"}), ((2, 2), set()), ((2, 4), {"right edge"}),
        ((3, 2), {"last row"}), ((3, 4), {"last row", "right edge"}),
        ((4, 0), {"last row", "left edge"}),
    ],
)  # fmt: skip
def test_edges_on_which_a_place_lies(place: tuple[int, int], edges: set[str]) -> None:
    whole = view(PIECES + f"  {LAST}\n").weave.layout
    assert isinstance(whole, Joined)
    rail, _, panel, _, hoop = (copy.layout for copy in whole.copies)
    assert edges_of(panel, *place) == edges
    assert edges_of(hoop, *place) == edges - {"left edge", "right edge"}
    assert [edges_had(x) for x in (rail, panel, hoop)] == [
        ("every unit",), ("first row", "last row", "left edge", "right edge"),
        ("first row", "last row"),
    ]  # fmt: skip
