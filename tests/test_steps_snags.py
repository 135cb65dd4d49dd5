"""What a maker could not do: in which step, at which place first, because of which ring."""

from __future__ import annotations

import pytest
from helpers import view
from small_recipes import recipe

UNIT = "start:/close A/unit:/{}/piece:/chain 3 units"
RINGS = """\
rings:
  all  wire 1 mm, inside 5 mm, copper
  W    wire 1 mm, inside 8 mm, steel, stays closed
parts:
  bar   brass
  hook  brass, opens
"""

#: kind, step, place, item, place looked at, ring
Told = tuple[str, int, tuple[int, int], str | None, tuple[int, int] | None, str]


def snags(body: str) -> list[Told]:
    seen = view(recipe(body, RINGS))
    assert not seen.troubles
    for snag in seen.weave.snags:
        assert snag.step in snag.block.steps
    return [
        (s.kind, s.step.number, s.place, str(s.ref) if s.ref else None, s.at,
         f"{s.ring.role}{s.ring.index} {s.ring.row}.{s.ring.unit}" if s.ring else "")
        for s in seen.weave.snags
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("steps", "told"),
    [
        ("add A through prev Q", ("unknown", 2, (1, 1), "prev Q", (1, 0), "")),
        ("add A through prev A2", ("unknown", 2, (1, 1), "prev A2", (1, 0), "")),
        ("add A through prev A, B/add B through A",
         ("not yet", 2, (1, 1), "B", (1, 1), "B1 1.1")),
        ("add A through prev A skip at edge/add B through next A skip at edge",
         ("not yet", 3, (1, 1), "next A", (1, 2), "A1 1.2")),
        ("add A through prev prev A", ("off the piece", 2, (1, 1), "prev prev A", None, "")),
        ("add A through above A", ("no such place", 2, (1, 1), "above A", None, "")),
        ("add A through every A", ("no such place", 2, (1, 1), "every A", None, "")),
        ("close A/spread every A", ("no such place", 3, (1, 1), "every A", None, "")),
        ("add A through prev A/add B through A/take out B/add C through B",
         ("taken out", 5, (1, 1), "B", (1, 1), "B1 1.1")),
        ("add A through A, prev A", ("through itself", 2, (1, 1), "A", (1, 1), "A1 1.1")),
        ("add A1 through prev A1/reopen A1 through A1",
         ("through itself", 3, (1, 1), None, None, "A1 1.1")),
        ("add A through prev A, prev A", ("linked twice", 2, (1, 1), "prev A", None, "A1 1.0")),
        ("add A1, A2 through prev A1/reopen A1 through prev A1",
         ("linked twice", 3, (1, 1), None, None, "A1 1.0")),
        ("add A1 through prev A/add A1 through A1",
         ("placed twice", 3, (1, 1), None, None, "A1 1.1")),
        ("close A through prev A", ("closed through", 2, (1, 1), None, None, "")),
        ("add A through prev A/add bar through A", ("closed through", 3, (1, 1), None, None, "")),
        ("close A/reopen prev A through A/close W/reopen W through prev A",
         ("stays closed", 5, (1, 1), None, None, "W1 1.1")),
        ("add A", ("through nothing", 2, (1, 1), None, None, "")),
        ("add A through prev 2 A", ("numbered", 2, (1, 1), "prev A", None, "")),
        ("fold back Q", ("unknown", 2, (1, 1), "Q", (1, 1), "")),
        ("add A through prev A, prev bar", ("unknown", 2, (1, 1), "prev bar", (1, 0), "")),
        ("add A through prev A/hold bar", ("unknown", 3, (1, 1), "bar", (1, 1), "")),
        ("close A/reopen bar through A", ("unknown", 3, (1, 1), "bar", (1, 1), "")),
    ],
)  # fmt: skip
def test_one_thing_that_cannot_be_done(steps: str, told: Told) -> None:
    """Told once, at the first of its places."""
    assert snags(UNIT.format(steps)) == [told]


@pytest.mark.parametrize(
    "steps",
    [
        "add A through prev A/take out prev A",
        "add A through prev A, bar",
        "add A through prev A/add hook through A",
        "add A through prev prev A if there, prev A",
        "add A through prev A/add B through prev prev A skip at edge",
        "close A/reopen prev A through bar",
        "add A around prev A",
        "add A through prev A around prev prev A if there",
        "add A through prev A inside prev prev A if there",
        "close A inside prev A",
        "add A through prev A if there/fold back prev A, A",
        "add 3 A through one another, prev A1",
    ],
)
def test_what_can_be_done(steps: str) -> None:
    assert snags(UNIT.format(steps)) == []


def test_each_kind_of_it_is_told() -> None:
    """A ring ahead is not there yet, and at the last unit its place is none."""
    assert snags(UNIT.format("close A/fold back next A")) == [
        ("not yet", 3, (1, 1), "next A", (1, 2), "A1 1.2"),
        ("off the piece", 3, (1, 3), "next A", None, ""),
    ]
    # each item once, and a ring that is linked three times
    assert snags(UNIT.format("add A through prev Q, prev R")) == [
        ("unknown", 2, (1, 1), "prev Q", (1, 0), ""), ("unknown", 2, (1, 1), "prev R", (1, 0), ""),
    ]  # fmt: skip
    assert snags(UNIT.format("add A through prev A, prev A, prev A")) == [
        ("linked twice", 2, (1, 1), "prev A", None, "A1 1.0")
    ]
    # rings of one step that are each linked twice
    assert snags(UNIT.format("add 2 A through prev A1, prev A2 if there")) == [
        ("unknown", 2, (1, 1), "prev A2 if there", (1, 0), "")
    ]
    assert snags(UNIT.replace("close A", "close 2 A").format("add 2 A through prev A, prev A")) == [
        ("linked twice", 2, (1, 1), "prev A", None, "A1 1.0"),
        ("linked twice", 2, (1, 1), "prev A", None, "A2 1.0"),
    ]


def test_at_the_ends_of_pieces() -> None:
    finish = "add F through F/add G through A/add H through last last A"
    assert snags(f"{UNIT.format('add A through prev A')}/finish:/{finish}") == [
        ("through itself", 3, (1, 4), "F", (1, 4), "F1 1.4"),
        ("unknown", 4, (1, 4), "A", (1, 4), ""),
        ("no such place", 5, (1, 4), "last last A", None, ""),
    ]
    # a move on the whole row names its rings without a word of place; a ring put in does not
    assert snags("row:/close A/row end:/fold back A/spread B/add E through A/piece:/sheet 2 rows"
                 " of 3 units") == [
        ("unknown", 3, (1, 4), "B", (1, 4), ""), ("unknown", 4, (1, 4), "A", (1, 4), ""),
    ]  # fmt: skip
    assert snags("row:/close A/finish:/add E through every A, every B/piece:/sheet 2 rows of 3"
                 " units") == [("unknown", 2, (3, 0), "every B", (3, 0), "")]  # fmt: skip
    assert snags("start:/close 2 A/unit:/add 2 A through prev A/finish:/add F through last A/add G"
                 " through first next A1/piece:/strands l 3 units, r 3 units") == [
        ("which strand", 3, (1, 7), "last A", None, ""),
        ("which strand", 4, (1, 7), "first next A1", None, ""),
    ]  # fmt: skip


def test_a_bar_lies_along_the_whole_first_row() -> None:
    body = "first row:/add A through bar/row:/add A through above A, bar/fold back bar/finish:"
    seen = view(recipe(f"{body}/add F through bar, last A/piece:/sheet 3 rows of 3 units", RINGS))
    assert seen.weave.snags == ()
    bars = [r for r in seen.weave.work.links if r.role == "bar"]
    # one for the first row, one for each place that takes one up, one behind the last of them
    assert [(r.row, r.unit) for r in bars] == [
        (1, 0), (2, 1), (2, 2), (2, 3), (3, 1), (3, 2), (3, 3), (3, 4),
    ]  # fmt: skip
    assert {len(seen.weave.work.links[r]) for r in bars[1:]} == {1}
    assert {(r.role, r.unit) for r in seen.weave.work.links[bars[0]]} == {
        ("A", 1), ("A", 2), ("A", 3)
    }  # fmt: skip
    ended = "start:/close A/unit:/add A through prev A/finish:/add F through bar, last A/fold back"
    assert snags(f"{ended} bar/hold last bar/piece:/chain 3 units") == [
        ("unknown", 5, (1, 4), "last bar", (1, 3), "")
    ]


def test_a_part_that_is_in_the_work_already_is_handled_where_it_lies() -> None:
    text = "start:/close A/add B through A, bar/unit:/add A through prev A/finish:/hold bar/add F"
    work = view(recipe(f"{text} through bar, last A/piece:/chain 3 units", RINGS)).weave.work
    assert work.snags == ()
    hold, last = work.acts[-2:]
    assert [(r.role, r.unit) for r in hold.handled] == [("bar", 0)]
    # gone through it is another one, picked up here
    assert [(r.role, r.unit) for r in last.through] == [("bar", 4), ("A", 3)]
    two = f"{text.replace('finish:', 'finish:/add C through bar, last A/take out C')} through last"
    assert snags(f"{two} A/piece:/chain 3 units") == []
    third = "start:/close A/add B through A, bar/unit:/add A through prev A, bar/finish:/hold bar"
    assert snags(f"{third}/piece:/chain 3 units") == [
        ("unknown", 4, (1, 4), "bar", (1, 4), "")  # which of four is not said
    ]
