"""Sheets and tubes worked place by place: where rings are laid, hung and led, by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from small_recipes import weave

from ringstep.space import rows
from ringstep.space.on_table import Table
from ringstep.space.rows import _Rows, few_rows, work_rows
from ringstep.space.set_in import Drawn
from ringstep.weave.work import Act, Ring

X, Y, Z = np.eye(3)
SHEET = weave(
    "first row: / close A / row: / add A through above A, above next A if there"
    " / piece: / sheet 4 rows of 4 units"
)
ACTS = tuple(SHEET.work.acts)
WIRE = 1.2 / 3.6  # of a ring of mean radius 3.6 mm, which is the unit
NONE = Table({}, {}, 0, 2.34)


def act(row: int, unit: int) -> Act:
    return next(a for a in ACTS if (a.row, a.unit) == (row, unit))


def at(row: int, unit: int) -> Ring:
    return Ring("A", 1, row, unit)


def begun(table: Table = NONE, round_by: float = 0.0, turn: float = 0.0) -> _Rows:
    return _Rows(SHEET, np.random.default_rng(3), 3.6, round_by, turn, ACTS, table)


def with_rings(*lying: tuple[tuple[float, float, float], np.ndarray], **more: Any) -> _Rows:
    """The first rings of the first row, of mean radius 1 and a wire of 0.2."""
    own = begun(**more)
    for unit, (centre, normal) in enumerate(lying, 1):
        number = own.hand.lay(np.array(centre, dtype=float), normal.copy(), 1.0, 0.2, 0.2)
        own.number[at(1, unit)] = number
        own.along[at(1, unit)] = (unit - 1) * 1.05
    return own


@pytest.fixture
def eased(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """Nothing is eased; how it would have been."""
    seen: list[Any] = []
    monkeypatch.setattr(_Rows, "ease", lambda _, free, *words: seen.append((free.tolist(), *words)))
    return seen


# -- where it is --------------------------------------------------------------------------------


def test_a_tube_has_its_own_frame_at_each_place() -> None:
    flat, tube = begun(), begun(round_by=2.0, turn=np.pi / 4)
    assert flat.frame(np.array([3.0, 7, 0])) == pytest.approx(np.eye(3))
    assert tube.frame(np.array([0, 7.0, 3])) == pytest.approx(np.eye(3))
    assert tube.frame(np.array([3.0, 7, 0])) == pytest.approx(np.array([-Z, Y, X]))
    place = np.array([2.0, 3, 0.5])
    assert flat.bent(place) is place
    assert tube.bent(place) == pytest.approx([2.5, 3, 0])  # a quarter round
    assert tube.bent(np.array([4.0, -1, 0])) == pytest.approx([0, -1, -2])
    assert flat.sizes(at(1, 1)) == pytest.approx((1, WIRE))


# -- rings laid ---------------------------------------------------------------------------------


def test_rings_of_one_place_lean_side_by_side_on_the_rod(eased: list[Any]) -> None:
    own = begun()
    own.on_the_rod(act(1, 3))
    lean = 1.25 * WIRE / 1.05
    assert own.hand.centres[0] == pytest.approx([2.1, 0, 0])
    assert own.hand.normals[0] == pytest.approx([lean, 0, np.sqrt(1 - lean**2)])
    assert own.hand.spring[0] == pytest.approx(3 * np.eye(3))
    assert own.along == {at(1, 3): pytest.approx(2.1)}
    assert eased == [([True], 10)]
    own = begun()
    own.on_the_rod(act(1, 1)._replace(new=(at(1, 1), at(1, 2), at(1, 3))))
    normal = np.array([0.95, 0, np.sqrt(1 - 0.95**2)])  # they lean no more than that
    assert own.hand.normals == pytest.approx(np.array([normal] * 3))
    beside = 1.1 * WIRE * np.arange(-1, 2)
    assert own.hand.centres == pytest.approx(beside[:, None] * normal)
    own = begun()
    own.on_the_rod(act(1, 1)._replace(new=(at(1, 1), at(1, 2))))
    assert own.hand.normals[0, 0] == pytest.approx(2 * lean)
    # Round a tube it leans along the tube: at a quarter round x is out of it and -z along.
    own = begun(round_by=2.0, turn=np.pi / 2.1)
    own.on_the_rod(act(1, 2))
    assert own.hand.centres[0] == pytest.approx([2, 0, 0])
    assert own.hand.normals[0] == pytest.approx([np.sqrt(1 - lean**2), 0, -lean])


@pytest.mark.parametrize("tube", [False, True])
def test_heaps_are_laid_flat_where_the_table_says(tube: bool, eased: list[Any]) -> None:
    pair, one = (at(1, 1), at(1, 2)), (at(1, 3),)
    table = Table({pair: np.array([2.0, 3]), one: np.array([0.0, 1])}, {7: (pair, one)}, 0, 2.34)
    own = begun(table, *((2.0, np.pi / 4) if tube else ()))
    own.lay_down(7, act(1, 1)._replace(new=(*pair, *one)))
    middle, up = (np.array([2.0, 3, 0]), X if tube else Z)  # a quarter round
    half = 1.05 * WIRE / 2 * up
    last = np.array([0, 1, 2]) if tube else np.array([0, 1, 0])
    assert own.hand.centres == pytest.approx(np.array([middle - half, middle + half, last]))
    assert own.hand.normals == pytest.approx(np.array([up, up, Z]))
    assert own.hand.spring[0] == pytest.approx(0.25 * np.outer(up, up))
    assert own.number == {at(1, 1): 0, at(1, 2): 1, at(1, 3): 2}
    assert (len(eased), eased[0][1:]) == (1, (10,))


# -- rings put in -------------------------------------------------------------------------------


@pytest.fixture
def placed(monkeypatch: pytest.MonkeyPatch, eased: list[Any]) -> list[Any]:
    """Circles drawn one below and one between; the first is taken at the third time."""
    seen: list[Any] = []

    def drawn(kind: str) -> Any:
        def draw(_: _Rows, *words: Any) -> Drawn:
            seen.append((kind, words[-1]))
            return Drawn(np.array([[0.4, -1, 0]]), X[None].copy())

        return draw

    def best(*_: Any) -> int | None:
        return 0 if sum(kind in ("hung", "upright") for kind, _ in seen) >= 3 else None

    monkeypatch.setattr(_Rows, "drawn_hung", drawn("hung"))
    monkeypatch.setattr(_Rows, "drawn_upright", drawn("upright"))
    monkeypatch.setattr(_Rows, "best", best)
    monkeypatch.setattr(_Rows, "bring", lambda *words: seen.append(("bring", words[-1])))
    return seen


def test_a_ring_is_hung_as_wide_as_the_first_row(placed: list[Any], eased: list[Any]) -> None:
    own = with_rings(((0, 0, 0), Z), ((1.05, 0, 0), Z), ((9, 0, 0), Z))
    own.hung = True
    assert own.add(act(2, 1))
    assert placed == [("hung", None), ("bring", [0, 0])] * 2 + [("hung", None)]
    assert own.along[at(2, 1)] == pytest.approx(0.525)
    assert own.number[at(2, 1)] == 3
    assert own.hand.rest[3] == pytest.approx([0.525, 0, 0])
    assert own.hand.spring[3] == pytest.approx(0.15 * np.outer(X, X))
    assert eased == [([True, True, False, True], 45, 25)]


def test_of_a_tube_what_hangs_keeps_off_its_middle(placed: list[Any]) -> None:
    own = with_rings(((0, 0, 2), Z), ((1.05, 0, 2), Z), round_by=2.0, turn=np.pi / 1.05)
    own.hung = True
    own.add(act(2, 1))
    # Half a pitch along is a quarter round: out is x there, and along is -z.
    assert own.hand.rest[2] == pytest.approx([2, 0, 0])
    assert own.hand.spring[2] == pytest.approx(0.15 * np.diag([1, 0, 1]))


def test_a_ring_on_the_table_keeps_to_the_middle_of_those_it_joins(placed: list[Any]) -> None:
    own = with_rings(((0, 0, 0), Z), ((2.4, 0, 0), Z))
    assert own.add(act(2, 1)._replace(new=(at(2, 1), at(2, 2))))
    assert placed[:2] == [("upright", None), ("bring", [0, 1])]
    assert placed[-1] == ("upright", 2)  # beside the first of the pair
    assert own.hand.rest[2:] == pytest.approx(np.array([[1.2, 0, 0]] * 2))
    assert own.hand.spring[2] == pytest.approx(0.25 * np.outer(Z, Z))
    assert own.along == {at(1, 1): 0, at(1, 2): 1.05}


def test_a_ring_that_has_no_place_is_told(
    placed: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(_Rows, "best", lambda *_: None)
    own = with_rings(((0, 0, 0), Z), ((1.05, 0, 0), Z))
    assert not own.add(act(2, 1))
    assert [kind for kind, _ in placed] == ["hung", "bring"] * 4
    (jam,) = own.jams
    assert (jam.ring, jam.row, jam.unit, jam.overlap) == (at(2, 1), 2, 1, None)
    monkeypatch.setattr(rows, "part", lambda *_: -0.1)
    own.judge(act(2, 2))
    assert own.jams[1].overlap == pytest.approx(0.12)
    assert own.jams[1].ring == at(2, 2)


def test_a_ring_hangs_along_the_row_as_where_it_lacks_nothing() -> None:
    own = with_rings(*(((1.05 * k, 0, 0), Z) for k in range(4)))
    assert act(2, 4).dropped
    assert [own.place_along(act(2, unit)) for unit in (1, 2, 3)] == pytest.approx(
        [0.525, 1.575, 2.625]
    )
    # It hangs from the fourth alone, and still half a place on: as the first, three places on.
    assert own.place_along(act(2, 4)) == pytest.approx(3.675)
    assert own.beside(act(2, 4)) == pytest.approx(3.675)
    own.along[at(1, 4)] = 5.0
    assert own.beside(act(2, 4)) == pytest.approx(5.525)
    assert own.beside(act(2, 4)._replace(through=())) == 0
    own.along.clear()
    assert own.beside(act(2, 4)) == 0
    assert own.place_along(act(2, 1)) == 0


def test_the_first_of_a_tube_follows_its_last() -> None:
    own = begun(round_by=2.0, turn=np.pi / 2)  # four lengths once round
    own.along = {at(1, 1): 3.0, at(1, 2): 0.0}
    assert own.place_along(act(2, 1)) == pytest.approx(3.5)
    own.along = {at(1, 1): 0.0, at(1, 2): 1.05}
    assert own.place_along(act(2, 1)) == pytest.approx(0.525)


def test_rings_that_lie_over_one_another_are_one_group() -> None:
    own = with_rings(((0, 0, 0), Z), ((1.6, 0, 5), Z), ((3.2, 0, 0), Z), ((4.95, 0, 0), Z))
    assert own.groups([0, 1, 2, 3], np.eye(3)) == [0, 0, 0, 1]
    assert own.groups([0, 2], np.eye(3)) == [0, 1]
    own.hand.centres[1] = (1.69, 0, 0)
    assert own.groups([0, 1], np.eye(3)) == [0, 0]
    own.hand.centres[1] = (1.71, 0, 0)
    assert own.groups([0, 1], np.eye(3)) == [0, 1]
    own.hand.radii[1] = 1.2
    assert own.groups([0, 1], np.eye(3)) == [0, 0]


def test_normals_are_seen_from_outside_a_tube() -> None:
    own = with_rings(((0, 0, 2), Z), ((2, 5, 0), X), round_by=2.0, turn=1.0)
    assert own.seen([0, 1]) == pytest.approx(np.array([Z, Z]))


@pytest.mark.parametrize(("over", "turned"), [(1.0, False), (-1.0, False), (1.0, True)])
def test_circles_drawn_hang_below_and_lean_against(over: float, turned: bool) -> None:
    leaning = over * np.array([0.6, 0, 0.8])  # the same plane, whichever way it faces
    frame = np.array([-Z, Y, X]) if turned else np.eye(3)
    own = with_rings(((1, 2, 0), leaning), ((1, 2, 1), leaning))
    drawn = own.drawn_hung([0, 1], frame, 2.0, 0.2, None)
    off = (drawn.centres - np.array([1, 2, 0.5])) @ frame.T
    normals = drawn.normals @ frame.T
    ends = np.array([off.min(axis=0), off.max(axis=0)])
    assert ends == pytest.approx(np.array([[-0.5, -3.4, -0.3], [0.5, -0.4, 0.3]]), abs=0.02)
    lean = np.degrees(np.arctan2(normals[:, 0], normals[:, 2]))
    assert (lean.min(), lean.max()) == pytest.approx((-60, -10), abs=0.3)
    tips = np.degrees(np.arcsin(normals[:, 1]))
    assert (tips.mean(), tips.std()) == pytest.approx((0, 8), abs=0.6)
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1)
    own.hand.normals[:] = np.array([-0.6, 0, 0.8])
    assert (own.drawn_hung([0, 1], np.eye(3), 2.0, 0.2, None).normals[:, 0] > 0.1).all()


def test_half_of_the_circles_lie_beside_the_first_of_a_pair() -> None:
    own = with_rings(((0, 0, 0), Z), ((5, 0, 0), Z))
    plain = Drawn(np.full((1500, 3), 7.0), np.tile(X, (1500, 1)))
    drawn = own.half_beside(plain, 1, 0.2)
    assert drawn.centres[750:] == pytest.approx(7)
    assert drawn.normals[750:] == pytest.approx(plain.normals[750:])
    off, normals = drawn.centres[:750] - np.array([5, 0, 0]), drawn.normals[:750]
    assert off[:, :2].std(axis=0) == pytest.approx([0.03] * 2, rel=0.1)
    assert np.abs(off[:, 2]).mean() == pytest.approx(0.19, abs=0.01)  # 0.6 to 1.3 wires
    assert np.abs(off[:, 2]).std() == pytest.approx(np.hypot(0.14 / np.sqrt(12), 0.03), rel=0.1)
    assert (off[:, 2] > 0).mean() == pytest.approx(0.5, abs=0.06)
    assert normals[:, :2].std(axis=0) == pytest.approx([0.05] * 2, rel=0.1)
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1)
    assert plain.centres[0, 0] == 7


def test_two_groups_are_led_together(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[Any] = []
    monkeypatch.setattr(
        rows, "settle", lambda _, free, *words: seen.append((free.tolist(), *words))
    )
    monkeypatch.setattr(rows, "part", lambda _, free: seen.append(free.tolist()))
    own = with_rings(((0, 0, 0), Z), ((0, 4, 0), Z), ((0, 4, 0.3), Z), ((9, 9, 9), Z))
    own.bring(act(2, 1), [0, 1], [0, 0])
    assert seen == []
    own.bring(act(2, 1), [0, 1, 2], [0, 1, 1])
    (free, force, count), parted = seen
    assert free == parted == [True, True, True, False]
    line = 0.3 * np.array([0, 4, 0.15]) / np.hypot(4, 0.15)
    assert force == pytest.approx(np.array([line, -line, -line, 0 * line]))
    assert count == 10


def test_the_roomiest_circle_is_taken_that_goes_one_way_through_each_group() -> None:
    own = with_rings(((-0.5, 0, 0), Z), ((0.5, 0, 0), -Z))
    # Upright across the line, from above through both openings in (0, 0.2), (0, 0), (0, 0.4).
    centres = np.array([[0, -0.8, 0], [0, -1, 0], [0, -0.6, 0], [0, -9, 0]])
    drawn = Drawn(centres, np.tile(X, (4, 1)))
    assert own.best(drawn, [0, 1], [0, 0], 1.0) == 1
    assert own.best(drawn, [0, 1], [0, 1], 1.0) is None
    assert own.best(drawn, [0], [0], 1.0) is None
    own.hand.normals[1] = Z
    assert own.best(drawn, [0, 1], [0, 0], 1.0) == 1
    own.hand.thick[:] = 0.98  # the middle is half a radius from both wires
    assert own.best(drawn, [0, 1], [0, 0], 1.0) == 1
    own.hand.thick[:] = 1.0
    assert own.best(drawn, [0, 1], [0, 0], 1.0) is None
    # Between two that lie apart it goes down through one and up through the other.
    own = with_rings(((-1.2, 0, 0), Z), ((1.2, 0, 0), Z))
    between = Drawn(np.zeros((1, 3)), Y[None].copy())
    assert own.best(between, [0, 1], [0, 1], 1.0) == 0
    assert own.best(between, [0, 1], [0, 0], 1.0) is None


# -- motion -------------------------------------------------------------------------------------


def test_rings_near_what_is_put_in_are_free(monkeypatch: pytest.MonkeyPatch) -> None:
    own = with_rings(*(((x, 0, 0), Z) for x in (0, 2.59, 2.61, 3.59)))
    own.hand.lay(np.array([3.61, 0, 0]), Z.copy(), 1, 0.2, 0.2)
    assert own.near(act(1, 1)).tolist() == [True, True, False, False, False]
    own.hung = True
    assert own.near(act(1, 1)).tolist() == [True] * 4 + [False]
    seen: list[Any] = []
    monkeypatch.setattr(rows, "settle", lambda _, *words: seen.append(words))
    monkeypatch.setattr(rows, "part", lambda *_: 0.0)
    own.ease(own.all_free(), 20)
    free, force, *counts = seen[0]
    assert free.all()
    assert force == pytest.approx(np.array([[0, -0.12, 0]] * 5))
    assert counts == [20, 0]
    own.hung = False
    own.ease(own.all_free(), 20, 7)
    assert not seen[1][1].any()
    assert seen[1][2:] == (20, 7)


# -- the whole ----------------------------------------------------------------------------------


def done(body: str, past_jams: bool, monkeypatch: pytest.MonkeyPatch) -> list[tuple[int, int]]:
    """At which places states are, where the second place of the second row jams."""

    def add(own: _Rows, here: Act) -> bool:
        if (here.row, here.unit) == (2, 2):
            own.stuck(here, here.new[0], -0.5)
        return here.row < 3

    monkeypatch.setattr(_Rows, "add", add)
    own = weave(body)
    rowed = _Rows(own, np.random.default_rng(0), 3.6, 0, 0, tuple(own.work.acts), NONE)
    rowed.work(past_jams)
    return [(s.row, s.unit) for s in rowed.states]


def test_work_ends_with_what_jams(monkeypatch: pytest.MonkeyPatch, eased: list[Any]) -> None:
    body = "first row: / close A / row: / add A through above A / piece: / sheet 4 rows of 3 units"
    first = [(1, 1), (1, 2), (1, 3), (2, 1), (2, 2)]
    assert sorted(done(body, False, monkeypatch)) in (first, [*first[:3], (2, 2), (2, 3)])
    # Past what overlaps it goes on, and ends where a ring has no place.
    assert sorted(done(body, True, monkeypatch)) == [*first, (2, 3)]


@pytest.mark.parametrize(
    ("each", "kind", "kept"),
    [
        (1, "sheet 9 rows of 9 units", (5, 5)),
        (1, "sheet 3 rows of 2 units", (3, 2)),
        (3, "sheet 9 rows of 9 units", (5, 5)),  # 75 rings, of 90 that may be
        (4, "sheet 9 rows of 9 units", (4, 5)),  # 100 rings are too many, 80 are not
        (5, "sheet 9 rows of 9 units", (4, 4)),  # 125, 100, 80
        (8, "sheet 9 rows of 9 units", (3, 4)),  # no less, though these are 96
        (4, "sheet 2 rows of 90 units", (2, 5)),
        (1, "tube 9 rows of 12 units", (4, 12)),  # 7 rows would go, and 4 are enough
        (2, "tube 9 rows of 12 units", (3, 12)),
        (4, "tube 9 rows of 12 units", (3, 12)),  # no less than 3
        (4, "tube 2 rows of 12 units", (2, 12)),
        (1, "tube 9 rows of 22 units", (4, 22)),  # 4 times 22 are 88
    ],
)
def test_few_rows_stand_for_all(each: int, kind: str, kept: tuple[int, int]) -> None:
    seen = weave(
        f"first row: / close {each} A / row: / add {each} A through above A 1 / piece: / {kind}"
    )
    small = few_rows(replace(seen, whole=True))
    assert (small.layout.rows, small.layout.units) == kept
    assert len(small.work.placed_by) == each * kept[0] * kept[1]


def test_a_tube_is_as_wide_as_what_lies_round_it(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[_Rows] = []
    monkeypatch.setattr(_Rows, "work", lambda own, _: seen.append(own))

    def tube(units: int, table: Table) -> tuple[float, float]:
        monkeypatch.setattr(rows, "table_of", lambda *_: table)
        body = "first row: / close A / row: / add A through above A / piece: / tube 3 rows of"
        work_rows(replace(weave(f"{body} {units} units"), whole=True))
        return seen[-1].round_by, seen[-1].turn

    # Rings of a rod stand 1.05 apart, 12 of them on a round of 12.6; none closer than 1.7.
    assert tube(12, NONE) == pytest.approx((12.6 / 2 / np.pi, 2 * np.pi / 12.6))
    assert tube(6, NONE) == pytest.approx((1.7, 2 * np.pi / 6.3))
    assert tube(12, Table({}, {}, 2, 2.34)) == pytest.approx((12.6 / 2 / np.pi, 2 * np.pi / 12.6))
    # Six flat rings round it: their rims, 60 degrees turned, are 0.34 apart half way in between.
    flat = (np.sqrt(3) + 0.34, np.pi / 3 / 2.34)
    assert tube(6, Table({}, {}, 6, 2.34)) == pytest.approx(flat)
    assert seen[-1].unit == pytest.approx(3.6)
