"""A chain or a piece in the hand: where rings are laid, pushed and held, with sums by hand."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest
from small_recipes import weave

from ringstep.space import worked
from ringstep.space.motion import Hand
from ringstep.space.set_in import Flat, Wanted
from ringstep.space.state import Jam
from ringstep.space.worked import _Piece
from ringstep.weave.work import Act

X, Y, Z = np.eye(3)

CHAIN = weave("start: / close A / unit: / add 2 A through prev A / piece: / chain 3 units")
START, ACT, NEXT = CHAIN.work.acts[:3]
A, B, C, D, PAIR = *START.new, *ACT.new, *NEXT.new
WIRE = 1.2 / 3.6  # of a ring of mean radius 3.6 mm, which is the unit


def piece(*lying: tuple[tuple[float, float, float], np.ndarray], unit: float = 3.6) -> _Piece:
    """Rings A, B, C, D of mean radius 1 in the hand, with a wire of 0.2."""
    own = _Piece(CHAIN, np.random.default_rng(0), unit)
    for ring, (centre, normal) in zip((A, B, C, D), lying, strict=False):
        own.number[ring] = own.hand.lay(np.array(centre, dtype=float), normal.copy(), 1.0, 0.2, 0.2)
    return own


def chain() -> _Piece:
    """A faces the eye, B goes through it and ahead of it, and C through B."""
    return piece(((0, 0, 0), Z), ((1, 0, 0), Y), ((2, 0, 0), Z))


@pytest.fixture
def still(monkeypatch: pytest.MonkeyPatch) -> list[tuple[int, ...]]:
    """Nothing is eased; how it would have been."""
    seen: list[tuple[int, ...]] = []
    monkeypatch.setattr(_Piece, "ease", lambda _, *words: seen.append(words))
    return seen


class Enough(Exception):
    """After the first of many moves."""


# -- what is done again -------------------------------------------------------------------------


@dataclass(slots=True, eq=False)
class Scripted(_Piece):
    """Each act is done but for the one that jams."""

    at: list[int] = field(default_factory=list)
    jam: Jam | None = None

    def carry_out(self, act: Act) -> Jam | None:
        self.at.append(act.unit)
        if act.unit == 3:
            return self.jam
        self.states.append(act.unit)  # type: ignore[arg-type]
        return None


@pytest.mark.parametrize("overlap", [None, 0.25])
def test_what_jams_is_done_once_more_and_each_time_from_farther_back(overlap: float | None) -> None:
    acts = [ACT._replace(unit=unit) for unit in (1, 2, 3, 4)]
    skipped = ACT._replace(unit=9, skipped=True)
    jam = Jam(2, 1, 3, A, 5.0, overlap)
    own = Scripted(CHAIN, np.random.default_rng(0), 3.6, jam=jam)
    own.work([*acts[:2], skipped, *acts[2:]])
    # The third alone, then from the second, and from then on from the first; sixteen times.
    again = [[3], [2, 3], *[[1, 2, 3]] * 14]
    rest = [] if overlap is None else [4]  # rings that overlap are worked on, a lack of room is not
    assert own.at == [1, 2, 3, *(unit for units in again for unit in units), *rest]
    assert own.states == [1, 2, *rest]
    assert own.jams == [jam]


def test_a_state_that_is_come_back_to_is_whole() -> None:
    own = chain()
    own.gate, own.flat, own.folded = (0, 1), {0: 1}, {2}
    then = own.copied()
    own.remove(A)
    own.hand.centres += 1
    own.states.append(None)  # type: ignore[arg-type]
    own.jams.append(None)  # type: ignore[arg-type]
    own.folded.add(0)
    for _ in range(2):
        own.as_before(then)
        assert own.number == {A: 0, B: 1, C: 2}
        assert own.hand.centres[:, 0].tolist() == [0, 1, 2]
        assert (own.gate, own.flat, own.folded) == ((0, 1), {0: 1}, {2})
        assert own.states == own.jams == []
        own.hand.centres += 5
        own.number.clear()
        own.flat.clear()
        own.folded.clear()


def test_a_ring_removed_leaves_no_trace() -> None:
    own = chain()
    own.gate, own.flat, own.folded = (1, 2), {0: 0, 1: 1, 2: 0}, {0, 1, 2}
    own.remove(D)  # which is not there
    own.remove(B)
    assert own.number == {A: 0, C: 1}
    assert (own.gate, own.flat, own.folded) == ((1,), {0: 0, 1: 0}, {0, 1})
    assert own.hand.centres[:, 0].tolist() == [0, 2]


# -- rings laid ---------------------------------------------------------------------------------


def test_sizes_are_in_units_of_the_largest() -> None:
    assert piece().sizes(ACT.new[0]) == pytest.approx((1, WIRE))
    assert piece(unit=1.8).sizes(ACT.new[0]) == pytest.approx((2, 2 * WIRE))


def test_rings_closed_together_lie_on_one_another(still: list[tuple[int, ...]]) -> None:
    own = piece()
    own.lay(START._replace(new=(A, B)))
    assert own.hand.centres == pytest.approx(np.array([[0, 0, -0.55], [0, 0, 0.55]]) * [1, 1, WIRE])
    assert own.hand.normals.tolist() == [Z.tolist()] * 2
    assert own.hand.spring == pytest.approx(np.array([0.05 * np.eye(3)] * 2))
    assert own.flat == {}
    assert still == [(45, 25)] * 2


def test_a_ring_closed_later_lies_ahead_of_all(still: list[tuple[int, ...]]) -> None:
    own = chain()
    own.lay(ACT._replace(new=(D,), through=()))
    assert own.hand.centres[3] == pytest.approx([4, 0, 0])  # beyond 2 + 1
    assert own.hand.radii[3] == pytest.approx(1)
    own = chain()
    own.lanes = {D: 1.5}
    own.lay(ACT._replace(new=(D,), through=()))
    assert own.hand.centres[3] == pytest.approx([4, 1.5, 0])
    # The first in the hand lies at the start, in whatever unit.
    own = piece()
    own.lay(ACT._replace(new=(D,), through=()))
    assert own.hand.centres[0] == pytest.approx([0, 0, 0])
    # Of the start it is laid at the start, and a tenth of its radius farther until it is free.
    own = piece(((0.55, 0, 0), Y))
    own.lay(START._replace(new=(B,)))
    assert own.hand.centres[1] == pytest.approx([2.6, 0, 0])


def test_a_ring_closed_around_others_stands_at_their_middle(still: list[tuple[int, ...]]) -> None:
    own = piece(((0, 0, 0), Z), ((1, 0, 2), Y))
    own.lay(ACT._replace(new=(D,), through=(), held=(A, B)))
    assert own.hand.centres[2] == pytest.approx([0.5, 0, 1])
    assert own.hand.normals[2].tolist() == X.tolist()
    assert own.hand.spring[2] == pytest.approx(0.05 * np.eye(3))


def test_rings_closed_in_a_row_lean_across_the_work(still: list[tuple[int, ...]]) -> None:
    own = piece()
    own.lay(START._replace(new=(A, B, C)))
    assert own.hand.centres == pytest.approx(np.array([[0, 1.05, 0], [0, 0, 0], [0, -1.05, 0]]))
    lean = 1.25 * WIRE / 1.05  # one and a quarter of a wire higher from each to the next
    assert own.hand.normals == pytest.approx(np.array([[0, lean, np.sqrt(1 - lean**2)]] * 3))
    assert own.flat == {0: 1, 1: 1, 2: 1}
    assert own.hand.spring == pytest.approx(np.array([0.3 * np.eye(3)] * 3))


def test_rings_closed_at_a_side_follow_those_of_that_side(still: list[tuple[int, ...]]) -> None:
    own = piece()
    act = START._replace(new=(A, B, C), toward=("left", "left", "right"))
    own.lay(act)
    assert own.hand.centres == pytest.approx(
        np.array([[0, 1.35, 0], [1.45, 1.35, 0], [0, -1.35, 0]])
    )
    lean = 1.25 * WIRE / 1.45
    assert own.hand.normals[0] == pytest.approx([lean, 0, np.sqrt(1 - lean**2)])
    assert own.flat == {0: 0, 1: 0, 2: 0}
    # Half of the way to the side and more is that side.
    own.hand.centres[1, 1] = 0.67
    assert own.in_row(act, 0, 1.0, WIRE)[0] == pytest.approx([1.45, 1.35, 0])
    own.hand.centres[1, 1] = 0.68
    assert own.in_row(act, 0, 1.0, WIRE)[0] == pytest.approx([2.9, 1.35, 0])
    assert own.in_row(act, 2, 0.5, WIRE)[0] == pytest.approx([0.725, -0.675, 0])


def test_a_ring_lies_flat_where_all_it_goes_through_do() -> None:
    own = chain()
    own.flat = {0: 0, 1: 0}
    assert own.lies_flat(ACT, [0]) is None
    assert own.lies_flat(ACT, [0, 2]) is None
    found = own.lies_flat(ACT, [0, 1])
    assert found is not None
    assert (found.axis, found.below) == (0, 0)
    own.flat = {0: 1, 1: 1}
    below = [own.lies_flat(ACT._replace(unit=unit), [0, 1]) for unit in (0, 1)]
    assert [(f.axis, f.below) for f in below if f] == [(1, -1), (1, 1)]


# -- rings put in -------------------------------------------------------------------------------


@dataclass
class Found:
    """A search that finds a place at the last of some asks."""

    at: int = 1
    asked: list[tuple[Wanted, int]] = field(default_factory=list)
    drawn: list[float] = field(default_factory=list)

    def find(self, hand: Hand, rng: object, wanted: Wanted, tries: int = 1) -> object:
        self.asked.append((wanted, tries))
        far = float(len(hand))
        return (np.array([far, 0, 0]), Y.copy()) if len(self.asked) >= self.at else None

    def draw_near(self, _: _Piece, rings: list[int], reach: float) -> None:
        assert rings == [2]
        self.drawn.append(reach)


@pytest.fixture
def found(monkeypatch: pytest.MonkeyPatch, still: list[tuple[int, ...]]) -> Found:
    own = Found()
    monkeypatch.setattr(worked, "find", own.find)
    monkeypatch.setattr(_Piece, "draw_near", lambda *words: own.draw_near(*words))
    return own


ADD = ACT._replace(new=(D,), through=(C,))


def test_rings_are_brought_nearer_till_a_place_is_found(found: Found) -> None:
    own, found.at = chain(), 4
    own.gate, own.folded = (0, 1), {2, 0}
    own.hand.rest[:] = 7.0
    assert own.add(ADD) is None
    assert found.drawn == pytest.approx([0.7, 0.55, 0.4, 0.25])
    assert [tries for _, tries in found.asked] == [1, 2, 3, 4]
    wanted = found.asked[-1][0]
    assert list(wanted.through) == [2]
    assert (wanted.radius, wanted.wire) == pytest.approx((1, WIRE))
    assert (wanted.side, wanted.first, wanted.gate) == (None, None, (0, 1))
    assert (wanted.lane, wanted.flat) == (None, None)
    assert own.number[D] == 3
    assert own.hand.spring[3] == pytest.approx(np.diag([0, 0.04, 0.04]))
    assert own.hand.rest[3].tolist() == [0, 0, 0]
    # What was folded is held by the ring that goes through it, and the gate is closed.
    assert (own.gate, own.folded) == ((), {0})
    assert own.hand.spring[2] == pytest.approx(np.diag([0, 0.04, 0.04]))
    assert own.hand.rest[:3].tolist() == [[7] * 3, [7] * 3, [0] * 3]


def test_a_ring_without_a_place_is_told(found: Found) -> None:
    own, found.at = chain(), 99
    stuck = own.add(ADD)
    assert stuck == Jam(ADD.step.number, ADD.row, ADD.unit, D, pytest.approx(5.0), None)
    assert len(found.asked) == 4
    assert own.hang(ADD, D, C) == Jam(
        ADD.step.number, ADD.row, ADD.unit, C, pytest.approx(5.0), None
    )
    assert D not in own.number


def test_strands_and_sides_have_their_lanes(found: Found, still: list[tuple[int, ...]]) -> None:
    own = chain()
    own.lanes = {D: 1.5}
    own.add(ADD)
    assert found.asked[0][0].lane == 1.5
    assert own.hand.spring[3] == pytest.approx(np.diag([0, 0.15, 0.15]))
    assert own.hand.rest[3].tolist() == [0, 1.5, 0]
    for side, lane in (("left", 1), ("right", -1)):
        own = chain()
        own.add(ADD._replace(toward=(side,)))
        assert own.hand.rest[3] == pytest.approx([0, lane, 0])
    assert still == [(45, 25)] * 3


def test_the_second_of_a_pair_goes_in_beside_the_first(found: Found) -> None:
    own = chain()
    own.add(ADD._replace(new=(D, PAIR), side="front", stops=((C, D), (A,))))
    one, other = (wanted for wanted, _ in found.asked)
    assert (one.first, other.first) == (None, 3)
    assert (one.side, [list(s) for s in other.stops]) == ("front", [[2, 3], [0]])
    own = chain()
    own.lanes = dict.fromkeys((D, PAIR), 1.5)
    own.add(ADD._replace(new=(D, PAIR)))
    assert found.asked[-1][0].first is None  # strands run apart


def test_a_ring_between_flat_ones_is_flat_and_keeps_to_their_middle(found: Found) -> None:
    own = piece(((0, 1, 0), Z), ((0, -0.4, 0), Z))
    own.flat = {0: 0, 1: 0}
    own.hand.linked[0, 1] = own.hand.linked[1, 0] = True
    found.draw_near = lambda *_: None  # type: ignore[method-assign, assignment]
    own.add(ADD._replace(through=(A, B)))
    assert own.flat == {0: 0, 1: 0, 2: 0}
    assert own.hand.rest[2] == pytest.approx([0, 0.3, 0])
    assert isinstance(found.asked[0][0].flat, Flat)


def test_a_closed_ring_is_hung_on_the_ring_through_it(found: Found) -> None:
    own = chain()
    assert own.hang(ADD, D, B) is None
    wanted, tries = found.asked[0]
    assert (list(wanted.through), tries) == ([1], 4)
    assert (wanted.radius, wanted.wire) == pytest.approx((1, WIRE))
    assert own.hand.spring[3] == pytest.approx(np.diag([0, 0.04, 0.04]))
    assert own.number[D] == 3


def test_a_ring_opened_again_is_taken_out_of_what_it_was_linked_with() -> None:
    own = chain()
    assert own.reopened(ACT._replace(new=(B,), through=(C,))) == [A]
    assert own.number == {A: 0, C: 1}
    own = chain()
    assert own.reopened(ACT._replace(new=(B, D), through=())) == sorted((A, C))


def test_only_closed_rings_that_lie_ready_are_picked_up() -> None:
    seen = weave(
        "start: / close A / unit: / add A through prev A / finish: / close sun"
        " / add J through last A, sun picks 2 / piece: / chain 1 units"
    )
    act = seen.work.acts[-1]
    last, sun = act.through
    own = _Piece(seen, np.random.default_rng(0), 3.6)
    for ring, x, normal in ((last, 0.0, Z), (A, 1.0, Y), (sun, 9.0, Z)):
        own.number[ring] = own.hand.lay(np.array([x, 0, 0]), normal.copy(), 1.0, 0.2, 0.2)
    assert own.loose(act) == [sun]
    own.hand.linked[:] = False  # of all loose ones none is picked up
    assert own.loose(act) == []
