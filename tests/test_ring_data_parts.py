"""Each part of what a page is told of the rings after every step, by states made up by hand."""

from __future__ import annotations

import re
from typing import Any

import pytest
from helpers import EXAMPLES, LIBRARY, SIMPLE, view

from ringstep.draw.drawing import NoProgram
from ringstep.draw.pictures import Diagram, Node
from ringstep.language.source import Refused
from ringstep.paper.film import Scene, Shoot
from ringstep.space.state import Ball, Bar, Round, Shown, State
from ringstep.table import ring_data as parts
from ringstep.table.ring_data import (
    RingAt,
    RingData,
    Step,
    from_json_able,
    ring_data,
    to_json_able,
)
from ringstep.weave.work import Ring

HINTED = SIMPLE.replace("  close A\n", "  close A\n    hint hold it\n    hint up\n").replace(
    "prev A\n", "prev A\n\n"
)
TUBE = (LIBRARY / "european_tube.weave").read_text(encoding="utf-8")
A0, A1 = Ring("A", 1, 1, 0), Ring("A", 1, 1, 1)


# -- words first -----------------------------------------------------------------------------------


def test_the_words_come_at_once_and_before_anything_is_worked_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(parts, "states_of", lambda *_: pytest.fail("not yet"))
    first = next(ring_data(view(HINTED)))
    assert first == RingData(
        (
            Step(1, 7, 9, "", "Close 1 ring, A.", "hold it up"),
            Step(2, 11, 11, "", "Open 1 ring, A. Pass it through A of the unit before: 1 ring."
                 " Close it."),
        ),
        False,
    )  # fmt: skip


def test_words_come_in_the_order_of_their_numbers() -> None:
    first = next(ring_data(view((EXAMPLES / "joined_strips.weave").read_text(encoding="utf-8"))))
    assert [(s.number, s.line, s.last_line) for s in first.steps] == [
        (1, 16, 16), (2, 18, 18), (3, 20, 20),
    ]  # fmt: skip
    assert first.steps[2].sentence.startswith("9 times, once at each place along: open 1 brass")


def test_without_steps_there_is_nothing_more_to_come() -> None:
    words, whole = ring_data(view(SIMPLE[: SIMPLE.index("start:")]))
    assert (words.whole, whole.whole) == (False, True)
    assert whole == RingData(
        (), True, ("There are no steps yet, so there are no rings to show.",), (), ()
    )


def lying(ring: Ring, x: float = 0) -> tuple[Ring, Round]:
    return ring, Round((x, 0.0, 0.0), (0.0, 0.0, 1.0), 3.0, 1.0)


def state(number: int, unit: int, *rings: Ring, row: int = 1, **other: Any) -> State:
    return State(number, row, unit, tuple(map(lying, rings)), **other)


def test_states_and_pictures_are_made_of_what_is_known(monkeypatch: pytest.MonkeyPatch) -> None:
    """The fit that was found before and the help are handed on, the pictures can be told by ring
    and are all looked at from where the first is."""
    seen, known, second = view(HINTED), object(), object()
    turn = ((1.00004, 0.00006, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    shown = Shown(
        (state(1, 0, A0, new=(A0,)),
         state(2, 1, A0, A1, new=(A1,), through=(A0,), moved=((A0, "fold"),))),
        ((3, "it is not drawn"),),
    )  # fmt: skip
    asked: list[tuple[object, ...]] = []

    def states_of(*given: object) -> Shown:
        asked.append(given)
        return shown

    def angle(*given: object, **named: object) -> object:
        asked.append((*given, named))
        return turn

    def scenes(*given: object) -> list[Scene]:
        asked.append(given)
        drawn = [object.__new__(Scene) for _ in shown.states]
        for n, scene in enumerate(drawn):
            told = {"sentence": f"s{n}", "words": f"w{n}", "earlier": f"e{n}", "later": f"l{n}",
                    "names": ((A0, f"n{n}"),)}  # fmt: skip
            for name, value in told.items():
                object.__setattr__(scene, name, value)
        return drawn

    monkeypatch.setattr(parts, "states_of", states_of)
    monkeypatch.setattr(parts, "angle", angle)
    monkeypatch.setattr(parts, "scenes", scenes)
    monkeypatch.setattr(parts, "missing", lambda given: ["it is so"] if given is shown else [])
    _, whole = ring_data(seen, known, second)  # type: ignore[arg-type]
    assert asked == [
        (seen, known, second),
        (seen, shown, {"second": second}),
        (seen, shown, Shoot(marked=True), second, turn),
    ]
    at = (
        RingAt("A 1 1 0", (0, 0, 0), (0, 0, 1), 3, 1),
        RingAt("A 1 1 1", (0, 0, 0), (0, 0, 1), 3, 1),
    )
    assert whole.steps == (
        Step(1, 7, 9, "start", "s0", "hold it up", "w0", "e0", "l0", at[:1], ("A 1 1 0",), (), (),
             (("A 1 1 0", "n0"),)),
        Step(2, 11, 11, "unit 1", "s1", "", "w1", "e1", "l1", at, ("A 1 1 1",), ("A 1 1 0",),
             (("A 1 1 0", "fold"),), (("A 1 1 0", "n1"),)),
    )  # fmt: skip
    assert whole.whole is True
    assert whole.told == ("It is so.",)
    assert whole.rings == (("A 1 1 0", "A", 7), ("A 1 1 1", "A", 11))
    assert whole.turn == ((1, 0.0001, 0), (0, 1, 0), (0, 0, 1))


# -- the lines of a step ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "last"),
    [
        (("unit:", "  add A", "    hint one", "    hint two", "  add B"), 4),
        (("unit:", "  add A", "    hint one"), 3),
        (("unit:", "  add A"), 2),
        (("unit:", "  add A", "", "    hint"), 2),
        (("unit:", "  add A", "      ", "    hint"), 2),
        (("unit:", "  add A", "  add B", "    hint"), 2),
        (("unit:", "  add A", "piece:"), 2),
        (("  unit:", "  add A", "   hint", "  add B"), 3),
    ],
)
def test_hints_belong_to_the_step_above_them(lines: tuple[str, ...], last: int) -> None:
    assert parts._last_line(lines, 2) == last


# -- places ----------------------------------------------------------------------------------------


def test_a_place_that_the_piece_as_carried_out_has_not_is_its_row() -> None:
    seen = view(TUBE)

    def place(number: int, row: int, unit: int) -> str:
        return parts._place(seen, State(number, row, unit, ()))

    assert place(1, 1, 1) == "row 1, unit 1"
    assert place(1, 1, 99) == "row 1"
    assert place(2, 2, 1) == "row 2, unit 1"
    assert place(2, 3, 99) == "row 3"
    assert place(3, 2, 99) == "row 2, row end"
    assert parts._place(view(SIMPLE), State(1, 1, 0, ())) == "start"


# -- a ring ----------------------------------------------------------------------------------------


def test_a_ring_is_told_as_finely_as_anybody_sees() -> None:
    """Places and axes to four decimals, sizes to three."""
    body = Bar((1.23456, 2.34567, 3.45678), (4.56789, 5.67891, 6.78912), 7.89123, 1.0)
    where = (1.123456, 2.234567, 3.345678)
    round_ = Round(where, (0.123456, 0.234567, 0.345678), 4.56789, 1.23456, body)
    assert parts._ring_at(Ring("tag", 2, 3, 4), round_) == RingAt(
        "tag 2 3 4", (1.1235, 2.2346, 3.3457), (0.1235, 0.2346, 0.3457), 4.568, 1.235,
        (1.235, 2.346, 3.457, 4.568, 5.679, 6.789, 7.891),
    )  # fmt: skip
    ball = Round(where, (0.0, 0.0, 1.0), 4.0, 1.0, Ball(3.14159, 1.0))
    assert parts._ring_at(A0, ball).body == (3.142,)
    assert parts._ring_at(A0, Round(where, (0.0, 0.0, 1.0), 4.0, 1.0)).body == ()
    assert parts._fine(((1.99996, 2.00004, 2.99996),)) == ((2.0, 2.0, 3.0),)


# -- which step placed a ring ----------------------------------------------------------------------


def test_rings_are_of_the_step_that_placed_them_or_their_like() -> None:
    """In the tube A is placed on line 13 in row 1, on line 16 in all others."""
    seen = view(TUBE)
    first, second = Ring("A", 1, 1, 1), Ring("A", 1, 2, 1)
    wide_first, wide_second = Ring("A", 1, 1, 99), Ring("A", 1, 2, 99)
    placed, other = Ring("A", 1, 3, 98), Ring("Z", 1, 3, 99)
    shown = Shown((
        state(1, 1, first, wide_first, new=(first,)),
        state(3, 1, placed, new=(placed,)),
        state(2, 1, second, wide_second, first, other, row=2, new=(second, first)),
    ))  # fmt: skip
    assert parts._placed(seen, shown) == (
        ("A 1 1 1", "A", 13), ("A 1 1 99", "A", 13), ("A 1 3 98", "A", 20), ("A 1 2 1", "A", 16),
        ("A 1 2 99", "A", 16), ("Z 1 3 99", "Z", 0),
    )  # fmt: skip


# -- diagrams --------------------------------------------------------------------------------------


@pytest.fixture
def no_rings(monkeypatch: pytest.MonkeyPatch) -> None:
    """Real rings cannot be laid out."""

    def refuse(*_: object) -> None:
        raise Refused("it is too tight")

    monkeypatch.setattr(parts, "states_of", refuse)


def test_what_stands_where_rings_cannot_be_drawn(no_rings: None) -> None:
    words, whole = ring_data(view(HINTED))
    assert (words.whole, whole.whole) == (False, True)
    assert whole.told == (
        "It is too tight.", "Circles and lines show what is linked instead.",
    )  # fmt: skip
    assert [(s.number, s.line, s.last_line) for s in whole.steps] == [(1, 7, 9), (2, 11, 11)]
    assert [s.place for s in whole.steps] == ["start", "unit 1"]
    assert [s.sentence for s in whole.steps] == [s.sentence for s in words.steps]
    assert whole.steps[0].words == "After step 1 (start): A is closed."
    assert whole.steps[0].hint == "hold it up"
    assert whole.rings[:2] == (("A 1 1 0", "A, start", 7), ("A 1 1 1", "A, unit 1", 11))
    assert {line for *_, line in whole.rings[1:]} == {11}


def test_rings_of_a_piece_made_first_are_told_from_those_of_others() -> None:
    *_, whole = ring_data(view((EXAMPLES / "joined_strips.weave").read_text(encoding="utf-8")))
    assert whole.rings[0] == ("strip A 1 1 1", "A, row 1, unit 1", 16)
    lines = {mark.split()[0]: {n for m, _, n in whole.rings if m.startswith(mark.split()[0])}
             for mark, *_ in whole.rings}  # fmt: skip
    assert lines["strip"] == {16, 18}
    assert lines["seam"] == {20}
    assert [s.place for s in whole.steps][:2] == ["row 1, unit 2", "row 2, unit 2"]
    assert 'data-ring="seam 1 ' in whole.steps[2].later


def test_without_a_title_of_its_own_a_diagram_is_of_its_piece(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen = view((EXAMPLES / "joined_strips.weave").read_text(encoding="utf-8"))
    plain = parts.step_diagrams

    def untitled(given: Any) -> dict[int, Diagram]:
        from dataclasses import replace

        return {n: replace(d, title="Step") for n, d in plain(given).items() if n != 2}

    monkeypatch.setattr(parts, "step_diagrams", untitled)
    *_, whole = ring_data(seen)
    assert [s.place for s in whole.steps] == ["strip", "", ""]
    assert [bool(s.later) for s in whole.steps] == [True, False, True]
    assert [s.number for s in whole.steps] == [1, 2, 3]


@pytest.mark.parametrize("where", ["find_program", "draw_all"])
def test_without_a_program_that_draws_the_words_stand(
    no_rings: None, monkeypatch: pytest.MonkeyPatch, where: str
) -> None:
    def fails(*_: object) -> None:
        raise NoProgram("it broke")

    monkeypatch.setattr(parts, where, fails)
    words, whole = ring_data(view(HINTED))
    assert whole.steps == words.steps != ()
    assert whole.whole is True
    why, how = whole.told
    assert why == "It is too tight."
    assert (
        how.startswith("Link diagrams are missing")
        if where == "find_program"
        else (how == "It broke.")
    )


def test_the_rings_of_a_diagram_can_be_told_by_their_keys() -> None:
    svg = '<g id="d-k&amp;1" class="node"><g id="d-k2" class="node"><g id="d-k2" class="edge">'
    node = Node("k", A0, ("A",), "A", "plain", (0, 0), 1)  # type: ignore[arg-type]
    diagram = Diagram("d", "t", "a", (node,), (), (), (0, 0, 1, 1))
    assert parts._marked(svg, diagram, {"k&1": 'A "1"'}) == svg.replace(
        '<g id="d-k&amp;1"', '<g data-ring="A &quot;1&quot;" id="d-k&amp;1"'
    )


def test_every_ring_of_a_diagram_is_marked_once(no_rings: None) -> None:
    *_, whole = ring_data(view(HINTED))
    found = [re.findall(r'<g data-ring="([^"]+)" id="[^"]+" class="node">', step.later)
             for step in whole.steps]  # fmt: skip
    assert found == [["A 1 1 0"], ["A 1 1 0", "A 1 1 1"]]


# -- as plain data ---------------------------------------------------------------------------------


def test_plain_data_comes_back_as_it_was() -> None:
    ring = RingAt("A", (1.0, 2.0, 3.0), (0.0, 0.0, 1.0), 3.0, 1.0, (4.0, 5.0))
    step = Step(1, 2, 3, "p", "s", "h", "w", "e", "l", (ring,), ("A",), ("B",), (("C", "fold"),),
                (("A", "A1"),))  # fmt: skip
    data = RingData((step, step), True, ("t",), (("A", "A1", 2),), ((1.0, 0.0, 0.0),))
    plain = to_json_able(data)
    assert plain["steps"][1]["rings"][0]["centre"] == (1, 2, 3)
    plain["told"], plain["rings"] = list(plain["told"]), [list(r) for r in plain["rings"]]
    assert from_json_able(plain) == data
    with pytest.raises(KeyError):
        from_json_able({})
    with pytest.raises(TypeError):
        from_json_able({**plain, "more": 1})
