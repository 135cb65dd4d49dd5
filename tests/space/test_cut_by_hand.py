"""Which steps of a chain are shown and what is done to the rings in the hand, act by act."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from ringstep.space import cut as made
from ringstep.space.cut import CLOSING, CROWDED, _Hand
from ringstep.space.finished import NoPlace
from ringstep.space.second import ALONE
from ringstep.space.state import Round, State
from ringstep.weave.work import Ring

Fakes = pytest.MonkeyPatch
A, B, C, D = (Ring(role, 1, 1, 0) for role in "ABCD")


def at(x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Round:
    return Round((x, y, z), (0.0, 0.6, 0.8), 4.0, 1.0)


def act(kind: str = "add", number: int = 1, unit: int = 1, block: str = "unit", **more: Any) -> Any:
    rings = {"new": (), "through": (), "handled": (), "movers": (), "skipped": False}
    step = SimpleNamespace(kind=kind, number=number)
    block_of = SimpleNamespace(kind=block)
    return SimpleNamespace(**{**rings, **more}, step=step, unit=unit, row=1, block=block_of)


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


# -- the rings in the hand ----------------------------------------------------------------------


class Held(_Hand):
    """A hand whose rings lie right as often as is said; what it does is noted."""

    def __init__(self, rights: list[bool], lie: Any = None, homes: Any = None, acts: Any = ()):
        work = SimpleNamespace(acts=acts, links={}, removed=[])
        view: Any = SimpleNamespace(
            weave=SimpleNamespace(work=work, round_size=lambda *_: (1.0, 7.0)),
            recipe=SimpleNamespace(part_roles={"D"}),
        )
        finished: Any = SimpleNamespace(homes=homes or {}, own=lambda r: (0, 0))
        super().__init__(view, finished, lie if lie is not None else {A: at(), B: at(9)})
        self.rights, self.done = iter(rights), []

    rights: Any
    done: list[Any]

    def _put_in(self, number: int, act: Any, new: Any, shown: bool) -> None:
        self.done.append(("put in", number, new, shown))
        self.lie.update({r: at(5) for r in new})

    def _hang_parts(self, number: int, act: Any) -> None:
        self.done.append(("hang", number))

    def _rest(self) -> None:
        self.done.append("rest")
        self.spread = False

    def _spread(self, number: int, handled: Any) -> None:
        self.done.append(("spread", number, handled))

    def _right(self, number: int) -> bool:
        return next(self.rights)


def test_a_ring_is_put_in_and_shown_with_what_it_goes_through() -> None:
    hand = Held([True])
    state = hand.carry(4, act(new=(C, D), through=(A, D), handled=(B,), number=7, unit=3), True)
    assert hand.done == [("put in", 4, (C,), True), ("hang", 4)]  # a part is not put in
    assert state is not None
    assert (state.number, state.row, state.unit) == (7, 1, 3)
    assert state.rings == ((A, at()), (B, at(9)), (C, at(5)))
    assert (state.new, state.through, state.moved) == ((C,), (A,), ())
    hand = Held([])
    assert hand.carry(4, act(new=(C,)), False) is None  # and not looked at
    assert hand.done == [("put in", 4, (C,), False), ("hang", 4)]
    held = Held([True]).carry(0, act("hold", handled=(B, C), through=(A,)), True)
    assert held is not None
    assert held.through == (B,)


def test_what_each_kind_of_step_does() -> None:
    hand = Held([True])
    out = hand.carry(0, act("take out", handled=(B, C)), True)
    assert out is not None
    assert out.rings == ((A, at()),)
    folded = Held([True]).carry(0, act("fold back", handled=(B, C)), True)
    assert folded is not None
    assert folded.moved == ((B, "fold"),)
    hand = Held([True, True])
    over = hand.carry(0, act("turn over"), True)
    assert over is not None
    assert over.moved == ((A, "turn"), (B, "turn"))
    assert hand.turned
    assert hand.carry(0, act("turn over"), True).rings == ((A, at()), (B, at(9)))  # type: ignore[union-attr]
    assert not hand.turned


def test_rings_are_spread_where_it_is_shown_and_rest_before_more_is_put_in() -> None:
    hand = Held([True, True])
    state = hand.carry(3, act("spread", handled=(A, B)), True)
    assert state is not None
    assert state.moved == ((A, "spread"), (B, "spread"))
    assert hand.spread
    assert hand.done == [("hang", 3), ("spread", 3, (A, B))]
    hand.carry(4, act("hold"), False)
    assert hand.done[-1] == ("hang", 4)
    for kind in ("add", "close", "reopen"):
        hand = Held([True])
        hand.spread = True
        hand.carry(4, act(kind), False)
        assert hand.done == ["rest", ("hang", 4)]
        assert Held([True]).carry(4, act(kind), False) is None
    hand = Held([])
    hand.carry(4, act("add"), False)
    assert hand.done == [("hang", 4)]
    hand.carry(5, act("fold back"), False)
    assert hand.done[1:] == ["rest", ("hang", 5)]
    hand = Held([])
    hand.carry(3, act("spread", handled=(A, B)), False)
    hand.carry(3, act("spread", handled=(A, C)), False)
    assert hand.done == [("hang", 3), ("hang", 3)]  # one alone, or unseen, is not spread
    hand = Held([True])
    hand.carry(3, act("spread", handled=(A, C)), True)
    assert hand.done == [("hang", 3)]
    assert hand.spread


def test_what_lies_wrong_rests_first_and_is_then_given_up() -> None:
    hand = Held([False, True])
    assert hand.carry(1, act("hold"), True) is not None
    assert hand.done == [("hang", 1), "rest"]
    hand = Held([False, False])
    with pytest.raises(NoPlace, match=CROWDED):
        hand.carry(1, act(new=(C,)), True)
    assert hand.lie == {A: at(), B: at(9)}


def real(lie: Any, homes: Any, acts: Any = ()) -> Any:
    """A hand as it is, of rings linked as the work says."""
    held = Held([], lie, homes, acts)
    return _Hand(held.view, held.finished, held.lie)


def test_links_are_those_between_the_rings_in_the_hand_while_they_last() -> None:
    hand = real({C: at(), A: at(), B: at()}, {})
    work = hand.work
    work.links = {A: {B: 3, D: 1}, B: {A: 3, C: 4}, C: {B: 4}}
    work.removed = [(C, A, 2, 5), (A, D, 0, 9), (D, A, 0, 9)]
    assert hand.linked(1) == []
    assert hand.linked(2) == [(A, C)]
    assert hand.linked(3) == [(A, B), (A, C)]
    assert hand.linked(4) == [(A, B), (A, C), (B, C)]
    assert hand.linked(5) == [(A, B), (B, C)]


def test_rings_rest_at_home_and_the_ends_of_a_loop_come_together() -> None:
    hand = real({A: at(), B: at(1)}, {A: at(7), B: at(8), C: at(9)})
    hand.spread = hand.turned = True
    hand._rest()
    assert hand.lie == {A: at(7), B: at(8)}
    assert not hand.spread
    hand.spread = True
    closed = SimpleNamespace(homes={A: at(20), C: at(3)})
    there = hand.at_closing(closed)
    assert there.finished is closed
    assert there.lie == {A: at(20)}  # what lies far from the closing is not in the hand
    assert not there.spread
    assert there.turned


def test_work_turned_over_is_turned_about_its_length() -> None:
    assert made._over(at(1.0, 2.0, 3.0)) == Round((1.0, -2.0, -3.0), (0.0, -0.6, -0.8), 4.0, 1.0)
    lying = Round((1.0, 2.0, 3.0), (0.8, 0.6, 0.0), 4.0, 1.0)
    assert made._over(lying).normal == (0.8, -0.6, -0.0)


def test_what_is_done_later_counts_from_the_next_act_on() -> None:
    acts = [
        act("spread", handled=(A,)),
        act("spread", handled=(B,)),
        act("fold back", handled=(C,)),
    ]
    hand = real({}, {}, acts)
    assert hand._later(0, "spread") == {B}
    assert hand._later(0, "fold back") == {C}
    assert hand._later(2, "fold back") == set()


def test_a_place_is_found_by_the_rings_gone_through_and_the_size() -> None:
    hand = real({A: at()}, {})
    asked: list[Any] = []

    def place_for(*what: Any) -> Round:
        asked.append(what)
        return at(4)

    table: Any = SimpleNamespace(place_for=place_for)
    assert hand._find(table, C, (A, B)) == at(4)
    assert asked == [(4.0, 1.0, [A])]  # 7 inside and the wire of 1, halved
    assert hand._find(table, C, (B,)) is None
    hand.view.weave.round_size = lambda *_: None
    assert hand._find(table, C, (A,)) is None
    with pytest.raises(NoPlace, match="C"):
        hand._put_in(0, act(new=(C,), through=(A,)), (C,), False)


def test_a_ring_with_a_place_goes_there() -> None:
    hand = real({A: at()}, {A: at(), C: at(6)}, [act(), act("fold back", handled=(B,))])
    hand._put_in(0, act(new=(C,), through=(A,)), (C,), True)
    assert hand.lie == {A: at(), C: at(6)}


def test_tips_are_drawn_apart_by_nine_tenths_of_a_wire() -> None:
    hand = real({A: at()}, {})
    arms = {0: [1.0, 0.0, 0.0], 1: [2.0, 0.0, 0.0]}
    moves: list[Any] = []
    table = SimpleNamespace(
        rings=[A, B],
        layout=SimpleNamespace(centres=np.array([[0.0, 0.0, 0.0], [0.0, 3.0, 0.0]])),
        shape=SimpleNamespace(wires=np.array([0.2, 0.4])),
        arm=lambda k: np.array(arms[k]),
        asunder=lambda some: np.array([0.0, 1.0, 0.0]),
        move=lambda *what: moves.append(what),
    )
    hand.table = lambda number: table
    hand._spread(0, (A, B))
    ((some, pulls, rest),) = moves
    assert (some, rest) == ([0, 1], table.layout)
    # Tips lie at 0 and 3 along the way; wires are 0.3 thick on the whole.
    assert [p.ring for p in pulls] == [0, 1]
    aims = [p.aim for p in pulls]
    assert aims == pytest.approx([-0.135, 3.135])
    moves.clear()
    hand._lay_together(0, (A, B))
    ((some, pulls, rest),) = moves
    assert (some, rest) == ([0, 1], table.layout)
    aims = [p.aim for p in pulls]
    assert aims == pytest.approx([1.5, 1.5])
