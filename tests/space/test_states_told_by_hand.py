"""Which pieces have no states, and what is said of them and of jams; read sentence by sentence."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from helpers import view
from small_recipes import recipe, weave

from ringstep.space import states
from ringstep.space.state import Jam, State, Worked
from ringstep.space.states import NoStates, _goes, _told, _why, _wider, states_of
from ringstep.weave.piece import Weave
from ringstep.weave.work import Ring

CHAIN = "start: / close A / unit: / add A through prev A / piece: / chain 9 units"
SHEET = "first row: / close A / row: / add A through above A / piece: / sheet 4 rows of 4 units"


def jam(unit: int, overlap: float | None = 0.25, row: int = 1) -> Jam:
    return Jam(2, row, unit, Ring("A", 1, row, unit), 5.0, overlap)


def jamming(least: float) -> Any:
    """Work that jams where the AR is less."""

    def work(own: Weave) -> Worked:
        wire, inside = own.size("A", 1) or (1.0, 0.0)
        return Worked((), () if inside / wire >= least - 1e-9 else (jam(1),))

    return work


@pytest.mark.parametrize(
    ("least", "told"),
    [
        (5.1, "it goes at AR 5.1"),
        (5.5, "it goes at AR 5.5"),
        (5.6, "it goes at AR 5.6"),
        (6.2, "it goes at AR 6.2"),
        (6.25, "it goes at AR 6.3"),
        (9.9, "it goes at AR 9.9"),
        (10.0, "it goes at AR 10.0"),  # twice the AR of 5 is tried last
        (10.1, "nor does it go at AR 10.0"),
    ],
)
def test_at_which_larger_rings_it_goes(least: float, told: str) -> None:
    assert _goes(weave(CHAIN), jamming(least), jam(1)) == told


def test_of_several_sizes_all_are_wider() -> None:
    rings = "rings:\n  A  wire 1.2 mm, inside 6 mm\n  B  wire 1 mm, inside 8 mm\n"
    body = CHAIN.replace("add A through prev A", "add B through prev A / add A through B")
    own = weave(body, rings)
    assert _goes(own, jamming(6.0), jam(1)) == "it goes with every inside 1.20 times as wide"
    assert _goes(own, jamming(99.0), jam(1, None)) == "nor was a place found at AR 10.0"
    wider = _wider(own, 1.5)
    assert [wider.size(name, 1) for name in "AB"] == [(1.2, 9), (1, 12)]


@pytest.mark.parametrize(
    ("unit", "place"), [(1, "unit 1"), (0, "the start"), (99, "the finish"), (-1, "the start")]
)
def test_where_the_work_jams_is_said(unit: int, place: str) -> None:
    told = _told(weave(CHAIN), jamming(9), jam(unit), 13)
    assert told == f"step 2 jams in {place}: the wires would overlap by 0.25 mm at AR 5.00"
    assert "; it goes at AR 9.0" in _told(weave(CHAIN), jamming(9), jam(unit), 12)


def test_a_jam_of_a_sheet_is_told_by_row_and_place() -> None:
    told = _told(weave(SHEET), jamming(9), jam(3, None, 2), 13)
    assert told == (
        "step 2 was not carried out in row 2, place 3: of the places tried for A none has room and"
        " passes through just the rings named"
    )


def test_why_a_step_has_no_state() -> None:
    assert _why(3, None) == "it was not carried out"
    assert _why(2, jam(1)) == "it jams"
    assert _why(2, jam(1, None)) == "no place tried for its ring would do"
    assert _why(3, jam(1)) == "the work jams before, at step 2"
    assert _why(3, jam(1, None)) == "the work ended before, at step 2"


# -- pieces without states ----------------------------------------------------------------------


def refused(text: str) -> str:
    with pytest.raises(NoStates) as told:
        states_of(view(text))
    return str(told.value)


@pytest.mark.parametrize("body", [CHAIN, SHEET])
def test_rings_without_a_size_are_named(body: str) -> None:
    assert "A" in refused(recipe(body, "rings:\n  all  copper\n"))


def test_a_single_piece_is_shown_as_it_is_laid_on_the_table(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[Any] = []

    def work(own: Weave, units: int | None = None) -> Worked:
        asked.append(units)
        return Worked((State(1, 1, 0, ()),), ())

    monkeypatch.setattr(states, "work_piece", work)
    monkeypatch.setattr(states, "with_bodies", lambda _, some: some)
    monkeypatch.setattr(states, "spread_evenly", lambda at: replace(at, unit=77))
    shown = states_of(view(recipe("start: / close A 1 / add A 2 through A 1")))
    assert [s.unit for s in shown.states] == [77]
    assert asked == [None]
