"""What is done to the rings of a chain in the hand, act by act."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from acts_made_up import A, B, C, D, act, at

from ringstep.space import cut as made
from ringstep.space.cut import CROWDED, _Hand
from ringstep.space.finished import NoPlace
from ringstep.space.state import Round
from ringstep.weave.work import Ring

Fakes = pytest.MonkeyPatch


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


def test_a_hand_is_right_that_holds_nothing_or_one_ring() -> None:
    assert real({}, {})._right(0)
    assert real({A: at()}, {})._right(0)
    hand = real({A: at(), B: at(2)}, {})
    assert not hand._right(0)  # they run into one another


def test_a_part_is_hung_once_and_only_one_of_a_known_size(monkeypatch: Fakes) -> None:
    hand = real({A: at()}, {C: at(3)})
    hung: list[Any] = []

    def find(table: Any, part: Ring, through: Any) -> Round:
        hung.append((table.rings, part, through))
        return at(8)

    monkeypatch.setattr(hand, "_find", find)
    hand._hang_parts(0, act(through=(A, D), movers=(A,)))
    assert hung == [([C, A], D, (A,))]
    assert hand.lie[D] == hand.homes[D] == at(8)
    hand._hang_parts(0, act(through=(A, D), movers=(A,)))
    assert len(hung) == 1
    del hand.lie[D]
    hand.view.weave.round_size = lambda *_: None
    hand._hang_parts(0, act(through=(D,)))
    assert len(hung) == 1
    assert D not in hand.lie
