"""Which rings a picture of the work shows, what it calls them, and which stands for its step."""

from __future__ import annotations

from math import sqrt

import pytest
from helpers import EUROPEAN, SIMPLE, SPIRAL_LOOP, TUBE, view

from ringstep.paper import film
from ringstep.space.state import Ball, Round, Shown, State
from ringstep.weave.work import Ring

ROUND = Round((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 3.0, 1.0)
UPRIGHT = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def ring(unit: int, row: int = 1, role: str = "A", index: int = 1) -> Ring:
    return Ring(role, index, row, unit)


def lying(*rings: Ring) -> tuple[tuple[Ring, Round], ...]:
    return tuple((r, ROUND) for r in rings)


# -- of a tube only the side where the work is -----------------------------------------------------


def kept(
    spots: dict[int, tuple[float, float]], new: tuple[int, ...], through: tuple[int, ...] = ()
) -> set[int]:
    """Which rings of a tube are shown; spots: x and z by unit, mm."""
    rings = tuple(
        (ring(unit), Round((x, 0.0, z), (0.0, 1.0, 0.0), 3.0, 1.0))
        for unit, (x, z) in spots.items()
    )
    begun = new[0] if new else 1
    state = State(1, 1, begun, rings, tuple(map(ring, new)), tuple(map(ring, through)))
    front = film._front(state, "tube")
    shown = {r.unit for r, _ in front.rings}
    assert {r.unit for r in front.new} == set(new) & shown
    assert {r.unit for r in front.through} == set(through) & shown
    assert film._front(state, "sheet") is state
    return shown


def test_film_shows_the_side_of_a_tube_where_the_work_is() -> None:
    """Rings of 3 mm: what lies up to 0.6 mm behind the middle of the tube is shown."""
    spots = {1: (0.0, 10.0), 2: (10.0, 0.0), 3: (0.0, -10.0), 4: (-10.0, -0.5), 5: (-10.0, -0.7)}
    assert kept(spots, (1,)) == {1, 2, 4}
    assert kept(spots, (), ()) == {1, 2, 4}  # the side of the eye
    assert kept(spots, (3,)) == {2, 3, 4, 5}
    assert kept(spots, (2,)) == {1, 2, 3}
    # halfway between ring 1, which is new, and ring 2, which it goes through
    near = 0.6 * sqrt(2) - 0.01
    far = 0.6 * sqrt(2) + 0.01
    more = {**spots, 6: (-near, 0.0), 7: (-far, 0.0), 8: (0.0, -near), 9: (0.0, -far)}
    assert kept(more, (1,), (2,)) == {1, 2, 6, 8}


def test_film_turns_to_the_ring_of_the_place_at_hand() -> None:
    """A step that places rings at several places, as at a close, is looked at from its own."""
    spots = {1: (0.0, 10.0), 2: (10.0, 0.0), 3: (0.0, -10.0), 4: (-10.0, 0.0)}
    assert kept(spots, (1, 3)) == {1, 2, 4}


# -- which picture stands for a step ---------------------------------------------------------------


def placed(number: int, unit: int, through: int, new: int = 1) -> State:
    return State(
        number, 1, unit, lying(ring(unit)), tuple(ring(unit, index=n + 1) for n in range(new)),
        tuple(ring(0, index=n + 1) for n in range(through)),
    )  # fmt: skip


def standing(
    states: list[State], seen: dict[int, float], monkeypatch: pytest.MonkeyPatch
) -> set[tuple[int, int]]:
    """Step and unit of what stands for each step; seen: how well the units are seen."""
    monkeypatch.setattr(film, "shows", lambda state, turn: seen[state.unit])
    return {(states[at].number, states[at].unit) for at in film._standing(states, UPRIGHT)}


def test_film_has_each_step_where_it_goes_through_most(monkeypatch: pytest.MonkeyPatch) -> None:
    states = [placed(1, 1, 1), placed(2, 1, 1), placed(1, 2, 2), placed(2, 2, 1), placed(1, 3, 2)]
    alike = dict.fromkeys((1, 2, 3), 0.5)
    assert standing(states, alike, monkeypatch) == {(1, 2), (2, 2)}
    # step 2 goes through most in unit 1 alone, step 1 from unit 2 on
    states = [placed(1, 1, 1), placed(2, 1, 2), placed(1, 2, 2), placed(2, 2, 1), placed(1, 3, 2)]
    assert standing(states, alike, monkeypatch) == {(1, 2), (2, 1)}
    # as many gone through, and more new
    states = [placed(1, 1, 1), placed(1, 2, 1, 2), placed(1, 3, 1, 2)]
    assert standing(states, alike, monkeypatch) == {(1, 2)}


def test_film_takes_a_later_place_only_where_it_is_seen_far_better(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """By more than 0.08 of what is seen, on the mean of its steps."""
    states = [placed(n, unit, 1) for unit in (1, 2, 3) for n in (1, 2)]
    assert standing(states, {1: 0.5, 2: 0.57, 3: 0.57}, monkeypatch) == {(1, 1), (2, 1)}
    assert standing(states, {1: 0.5, 2: 0.57, 3: 0.6}, monkeypatch) == {(1, 3), (2, 3)}
    assert standing(states, {1: 0.5, 2: 0.6, 3: 0.67}, monkeypatch) == {(1, 2), (2, 2)}
    assert standing(states, {1: 0.0, 2: 0.05, 3: 0.06}, monkeypatch) == {(1, 1), (2, 1)}


# -- what rings are called in a picture ------------------------------------------------------------


def names(text: str, state: State, block: str) -> dict[int, str]:
    """What the rings a step goes through are called, by their units."""
    told = film._names(view(text), state, block)
    return {r.unit: told[r] for r in state.through}


def test_film_counts_from_both_ends_where_a_loop_is_closed() -> None:
    """A loop of 8 units after its start, closed by two rings: the first half from the start on."""
    text = SPIRAL_LOOP.replace("57 units", "8 units")
    rings = [ring(unit) for unit in range(9)]
    closer = ring(9, index=2)
    state = State(5, 1, 9, lying(*rings), (closer,), (*rings, ring(9)))
    assert names(text, state, "finish") == {
        0: "first A", 1: "first next A", 2: "first next next A", 3: "first next next next A",
        4: "first next next next next A", 5: "last prev prev prev A", 6: "last prev prev A",
        7: "last prev A", 8: "last A", 9: "A1",
    }  # fmt: skip
    assert film._names(view(text), state, "finish")[closer] == "A2"
    bare = text.replace("start:\n  close A\n", "").replace("prev A, prev prev A", "prev A")
    told = names(bare, State(4, 1, 9, lying(*rings[1:]), (), tuple(rings[1:])), "finish")
    assert (told[1], told[2], told[8]) == ("first A", "first next A", "last A")


def test_film_calls_rings_by_place_while_a_loop_is_open_and_by_name_at_an_end() -> None:
    text = SPIRAL_LOOP.replace("57 units", "8 units")
    state = State(2, 1, 5, lying(*map(ring, range(5))), (ring(5),), (ring(4), ring(3)))
    assert names(text, state, "unit") == {4: "prev A", 3: "prev prev A"}
    assert names(SIMPLE, State(2, 1, 30, (), (ring(30),), (ring(29),)), "unit") == {29: "prev A"}
    assert names(SIMPLE, State(1, 1, 0, (), (), (ring(0),)), "start") == {0: "A"}
    assert names(SIMPLE, State(1, 1, 31, (), (), (ring(30),)), "finish") == {30: "A"}


def test_film_calls_rings_of_a_row_by_the_row_above_and_at_its_end_by_the_nearer_end() -> None:
    """Row 2 is worked back, so that of the rings above the one before comes next."""
    back = State(2, 2, 3, (), (ring(3, 2),), (ring(3), ring(2)))
    assert names(EUROPEAN, back, "row") == {3: "above A", 2: "above next A"}
    forth = State(2, 3, 3, (), (ring(3, 3),), (ring(3, 2), ring(4, 2)))
    assert names(EUROPEAN, forth, "row") == {3: "above A", 4: "above next A"}
    row = tuple(ring(unit) for unit in range(1, 7))
    end = State(3, 1, 7, lying(*row), (), row)
    assert names(TUBE, end, "row end") == {
        1: "first A", 2: "first A", 3: "first A", 4: "last A", 5: "last A", 6: "last A",
    }  # fmt: skip
    lower = State(3, 2, 7, lying(*row), (), row[:1])
    assert names(TUBE, lower, "row end") == {1: "A"}


# -- what is told of a picture ---------------------------------------------------------------------


def test_film_tells_those_who_do_not_see_it_what_a_picture_shows() -> None:
    a, b, c = map(ring, (1, 2, 3))
    called = {a: "prev A", b: "B1", c: "B2"}
    put = State(4, 1, 2, (), (b, c), (a,))
    assert film._seen(put, called) == "after step 4, B1 and B2, dark, new, through prev A, grey"
    for move, words in (("fold", "folded back"), ("spread", "spread apart")):
        moved = State(5, 1, 2, (), (), (), ((b, move), (c, move)))  # type: ignore[arg-type]
        assert film._seen(moved, called) == f"after step 5, B1 and B2, dark, {words}"
    turned = State(6, 1, 2, (), moved=((b, "turn"), (c, "turn")))
    assert film._seen(turned, called) == "after step 6, the work turned over"
    assert film._seen(State(7, 1, 2, ()), {}) == "after step 7"


def test_film_says_which_steps_have_no_picture_and_why() -> None:
    """Steps one after the other in one line; two are named, a run of three or more by its ends."""
    without = (
        (1, "a"), (2, "b"), (3, "b"), (4, "c"), (5, "c"), (6, "c"), (7, "d"), (8, "d"), (10, "d"),
    )  # fmt: skip
    assert film.missing(Shown((), without)) == [
        "step 1 has no picture: a",
        "steps 2 and 3 have no picture: b",
        "steps 4 to 6 have no picture: c",
        "steps 7, 8 and 10 have no picture: d",
    ]
    assert film.missing(Shown((), ((2, "x"),), "it jams")) == [
        "it jams",
        "step 2 has no picture: x",
    ]
    assert film.missing(Shown(())) == []


def test_film_shows_a_step_before_where_there_was_something_in_the_hand() -> None:
    one, two = ring(1), ring(2)
    assert not film._acts(State(1, 1, 1, lying(one), (one,)))
    assert film._acts(State(1, 1, 1, lying(one, two), (two,)))
    assert not film._acts(State(1, 1, 1, lying(one, two)))
    assert film._acts(State(1, 1, 1, lying(one), moved=((one, "fold"),)))


def test_film_is_in_the_scale_of_its_widest_ring_and_no_part_counts() -> None:
    """Mean radius 4 mm and wire 1 mm are 9 mm across; the clasp is wider."""
    text = SIMPLE.replace("expect:", "parts:\n  clasp  toggle, brass\nexpect:")
    wide = Round((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 4.0, 1.0)
    part = Round((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 9.0, 3.0, Ball(9, 1))
    rings = [(ring(1), ROUND), (ring(2), wide), (ring(3, role="clasp"), part)]
    assert film._widest(view(text), rings) == 9


def test_film_has_a_file_for_the_picture_that_stands_for_each_step() -> None:
    def scene(number: int, first: bool) -> film.Scene:
        return film.Scene(number, "unit 1", "Do.", first, "", "before", f"after {number}")

    found = film.files([scene(1, True), scene(2, False), scene(2, True), scene(11, True)])
    assert found == {
        "rings-01.svg": b"after 1", "rings-02.svg": b"after 2", "rings-11.svg": b"after 11",
    }  # fmt: skip
