"""Which steps of a chain are shown, in which stretches, and where it ends."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from acts_made_up import A, B, act, at

from ringstep.space import cut as made
from ringstep.space.cut import CLOSING
from ringstep.space.finished import NoPlace
from ringstep.space.second import ALONE
from ringstep.space.state import State
from ringstep.weave.work import Ring

Fakes = pytest.MonkeyPatch


# -- which are shown ----------------------------------------------------------------------------


def asked(ends: int, *acts: Any) -> list[int]:
    finished: Any = SimpleNamespace(work=SimpleNamespace(acts=acts), ends=ends)
    return made._asked(finished)


def test_two_units_are_shown_and_the_end_of_a_loop() -> None:
    units = [act(unit=unit) for unit in (1, 2, 3, 4)]
    assert asked(9, *units) == [0, 1]
    assert asked(3, *units) == [0, 1, 3]  # from the one that closes the loop on
    assert asked(2, *units) == [0, 1, 2, 3]
    # A step that is first taken in the third unit is shown twice.
    assert asked(9, *[act(unit=unit) for unit in (3, 4, 5)]) == [0, 1]
    assert asked(9, *[act(unit=unit) for unit in (2, 2, 3)]) == [0, 1]
    assert asked(9, act(unit=1), act(unit=3), act(number=2, unit=3), act(unit=4)) == [0, 1, 2]
    assert asked(9, *[act(unit=unit) for unit in (2, 2, 2, 3)]) == [0, 1, 2]
    skipped = [act(unit=1, skipped=True), act(unit=3), act(unit=4), act(unit=5)]
    assert asked(9, *skipped) == [1, 2]
    assert asked(9, *[act(unit=unit, block="finish") for unit in (7, 8, 9)]) == [0, 1, 2]


def cut_in(
    monkeypatch: Fakes, acts: list[Any], ends: int, unknown: tuple[Ring, ...] = (), stop: int = 99
) -> tuple[Any, list[list[int]]]:
    parts: list[list[int]] = []
    finished = SimpleNamespace(
        ends=ends,
        work=SimpleNamespace(acts=acts),
        own=lambda r: None if r in unknown else (0, 0),
        homes={A: at()},
    )

    def stretch(view: Any, laid: Any, form: Any, some: list[int]) -> Any:
        assert (laid, form) == ("laid", "form")
        parts.append(some)
        states = [State(acts[n].step.number, 1, acts[n].unit, ()) for n in some if n < stop]
        late = [acts[n].step.number for n in some if n >= stop]
        return states, dict.fromkeys(late, "no room"), bool(late)

    monkeypatch.setattr(made, "Finished", lambda *_: finished)
    monkeypatch.setattr(made, "_stretch", stretch)
    view: Any = SimpleNamespace(weave=SimpleNamespace(work=SimpleNamespace(acts=acts)))
    return made.cut(view, "laid", "form", ALONE), parts  # type: ignore[arg-type]


def work() -> list[Any]:
    """Seven acts in which rings are folded back at the second and the fifth."""
    kinds = ["add", "fold back", "add", "spread", "fold back", "add", "add"]
    return [act(k, n + 1, new=(A,) if k == "add" else ()) for n, k in enumerate(kinds)]


def test_the_work_is_shown_in_stretches_from_fold_to_fold(monkeypatch: Fakes) -> None:
    found, parts = cut_in(monkeypatch, work(), 7)
    assert parts == [[0, 1], [2, 3, 4], [5, 6]]
    assert [s.number for s in found.states] == [1, 2, 3, 4, 5, 6, 7]
    assert found.without == ()
    assert found.piece == ((A, at()),)
    # Where the loop is closed the places are only found, and depend on all before.
    assert cut_in(monkeypatch, work(), 6)[1] == [[0, 1, 2, 3, 4, 5, 6]]
    # The same where a ring after the first fold has no place of its own, but not one before.
    late = [*work()[:6], act("add", 7, new=(B,))]
    assert cut_in(monkeypatch, late, 7, (B,))[1] == [[0, 1, 2, 3, 4, 5, 6]]
    early = [act("add", 1, new=(B,)), *work()[1:]]
    assert cut_in(monkeypatch, early, 7, (B,))[1] == [[0, 1], [2, 3, 4], [5, 6]]
    plain = [act("add", n, new=(A,)) for n in (1, 2)]
    assert cut_in(monkeypatch, plain, 2)[1] == [[0, 1]]
    last = [*plain, act("fold back", 3)]
    assert cut_in(monkeypatch, last, 3)[1] == [[0, 1, 2]]
    assert cut_in(monkeypatch, [], 0)[0].states == ()


def test_after_a_step_without_a_place_nothing_is_shown(monkeypatch: Fakes) -> None:
    found, parts = cut_in(monkeypatch, work(), 7, stop=3)
    assert len(parts) == 2
    assert [s.number for s in found.states] == [1, 2, 3]
    assert found.without == tuple((n, "no room") for n in (4, 5, 6, 7))
    skipped = [*work()[:6], act("add", 7, skipped=True)]
    assert [n for n, _ in cut_in(monkeypatch, skipped, 7, stop=3)[0].without] == [4, 5, 6]
    unasked = [act("add", 1, skipped=False), act("add", 2, unit=9), act("add", 2, unit=9)]
    found, _ = cut_in(monkeypatch, unasked, 3)
    assert found.without == ()


def stretched(
    monkeypatch: Fakes, acts: list[Any], some: list[int], ends: int, closed: Any = None
) -> tuple[Any, list[Any]]:
    done: list[Any] = []

    class Hand:
        def __init__(self, view: Any, finished: Any) -> None:
            self.finished = finished
            self.work = SimpleNamespace(acts=acts)

        def at_closing(self, closed: Any) -> Any:
            done.append("closing")
            return Hand(None, closed)

        def carry(self, number: int, act: Any, shown: bool) -> Any:
            done.append((number, shown))
            if act.step.kind == "jam":
                raise NoPlace("no room")
            return number if shown else None

    finished = SimpleNamespace(ends=ends, closed=lambda: closed)
    monkeypatch.setattr(made, "Finished", lambda *_: finished)
    monkeypatch.setattr(made, "_Hand", Hand)
    return made._stretch(None, None, None, some), done  # type: ignore[arg-type]


def test_acts_are_carried_out_up_to_the_last_that_is_asked_for(monkeypatch: Fakes) -> None:
    acts = [act(number=n) for n in range(5)]
    found, done = stretched(monkeypatch, acts, [1, 3], 5)
    assert found == ([1, 3], {}, False)
    assert done == [(0, False), (1, True), (2, False), (3, True)]
    assert stretched(monkeypatch, acts, [], 5) == (([], {}, False), [])
    acts[1] = act(number=1, skipped=True)
    assert stretched(monkeypatch, acts, [2], 5)[1] == [(0, False), (2, True)]
    acts[2] = act("jam", 2)
    found, done = stretched(monkeypatch, acts, [0, 2, 3], 5)
    assert found == ([0], {2: "no room"}, True)
    assert done == [(0, True), (2, True)]


def test_a_loop_is_closed_once_or_its_last_steps_are_not_shown(monkeypatch: Fakes) -> None:
    acts = [act(number=n) for n in range(4)]
    found, done = stretched(monkeypatch, acts, [0, 2, 3], 2)
    assert found == ([0], {2: CLOSING, 3: CLOSING}, False)
    assert done == [(0, True), (1, False)]
    closed = SimpleNamespace()
    found, done = stretched(monkeypatch, acts, [0, 2, 3], 2, closed)
    assert found == ([0, 2, 3], {}, False)
    assert done == [(0, True), (1, False), "closing", (2, True), (3, True)]
    # A step that had no place before is not shown later.
    same = [act(number=n) for n in (0, 1, 2, 2)]
    assert stretched(monkeypatch, same, [2, 3], 2)[0] == ([], {2: CLOSING}, False)
