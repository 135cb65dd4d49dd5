"""How the search for a form goes: what is asked, what is kept, when it ends; forms made up."""

from __future__ import annotations

from dataclasses import make_dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from ringstep.space import search
from ringstep.space.circles import Layout, Symmetry
from ringstep.space.regular import Plan, Regular
from ringstep.space.search import _begun, _best, _close, _kicks, _open, _parts, _round, _Run
from ringstep.space.second import ALONE
from ringstep.space.tighten import Tight

WAY: Any = SimpleNamespace(turn="none", shape=SimpleNamespace(symmetry=None))
OTHER: Any = SimpleNamespace(turn="half", shape=SimpleNamespace(symmetry=None))


def lying(x: float = 0.0) -> Layout:
    return Layout(np.array([[x, 0.0, 1.0]]), np.array([[0.0, 0.0, 1.0]]), np.array([2.0, 0.5]))


def form(room: float, said: bool = True, folded: bool = True, way: Any = WAY) -> Regular:
    return Regular(way, lying(room), room, said, folded, True)


def run(way: Any = WAY, *rooms: float, seed: tuple[int, ...] = (7, 0)) -> _Run:
    own = _Run(way, seed)
    own.found = [form(room, way=way) for room in rooms]
    return own


@pytest.fixture(autouse=True)
def planned(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search, "plan", lambda _: Plan(lying(), np.array([1])))


# -- forms compared -----------------------------------------------------------------------------


def test_forms_are_one_where_they_keep_as_much_and_have_the_same_room() -> None:
    assert _close(form(1.0), form(1.0015))
    assert not _close(form(1.0), form(1.0025))
    assert not _close(form(1.0025), form(1.0))
    assert not _close(form(1.0), form(1.0, said=False))
    assert not _close(form(1.0), form(1.0, folded=False))


def test_the_best_forms_are_taken_each_once() -> None:
    pool = [form(1.0), form(3.0), form(2.0), form(3.001), form(9.0, folded=False), form(0.5)]
    assert [f.room for f in _best(pool, 3)] == [3.001, 2.0, 1.0]
    assert [f.room for f in _best(pool, 9)] == [3.001, 2.0, 1.0, 0.5, 9.0]
    assert _best([], 3) == []
    # Of equal rooms that without a turn.
    assert _best([form(1.0, way=OTHER), form(1.0)], 1)[0].way is WAY


def test_the_foremost_keeps_all_if_any_does() -> None:
    one = run(WAY, 1.0, 2.0)
    two = run()
    two.broken = [form(9.0, folded=False)]
    assert search._foremost([two, one]) is one.found[1]
    assert search._foremost([two]) is two.broken[0]
    assert search._foremost([run()]) is None


# -- when it ends -------------------------------------------------------------------------------


def test_a_way_is_left_once_its_best_form_was_reached_three_times() -> None:
    assert run().goes_on(9.0)
    assert run(WAY, 1.0, 1.0).goes_on(1.0)
    assert not run(WAY, 1.0, 1.0, 1.0).goes_on(1.0)
    assert run(WAY, 1.0, 1.0, 1.0, 1.1).goes_on(1.1)  # a better one only once
    assert run(WAY, *np.linspace(1, 2, 11)).goes_on(2.0)
    assert not run(WAY, *np.linspace(1, 2, 12)).goes_on(2.0)
    # Or where it has less than nine tenths of the room of the best.
    assert run(WAY, 0.91).goes_on(1.0)
    assert not run(WAY, 0.9).goes_on(1.0)


def test_ways_without_a_form_are_searched_while_none_has_one() -> None:
    one, two = run(), run(OTHER)
    one.tried, two.tried = 99, 100
    assert _open([one, two], 100) == [one]
    # One that has none is left at 48 where another has one, which goes on.
    one.tried, two.tried = 47, 99
    two.found = [form(1.0)]
    assert _open([one, two], 100) == [one, two]
    one.tried = 48
    assert _open([one, two], 100) == [two]
    two.tried = 100
    assert _open([one, two], 100) == []
    # Once the best was reached twice it is sure, and all end at 48.
    two.found, two.tried = [form(1.0)] * 2, 47
    assert _open([two], 100) == [two]
    two.tried = 48
    assert _open([two], 100) == []


# -- starts -------------------------------------------------------------------------------------


def test_numbers_are_shared_out_in_an_even_count_of_parts() -> None:
    assert list(_parts(12)) == [range(6), range(6, 12)]
    assert [len(p) for p in _parts(14)] == [7, 7]
    assert [len(p) for p in _parts(15)] == [4, 4, 4, 3]
    assert [len(p) for p in _parts(30)] == [5] * 6
    assert list(_parts(3)) == [range(2), range(2, 3)]


def test_starts_come_twelve_at_a_time_in_two_tasks() -> None:
    own = run(seed=(7, 3))
    own.bare = [lying()]
    for first in (0, 24):
        tasks: list[Any] = list(own.starts())
        assert own.bare == []
        assert [t.args[2:] for t in tasks] == [
            ((7, 3, 0), range(first, first + 12)),
            ((7, 3, 0), range(first + 12, first + 24)),
        ]
        assert tasks[0].args[:2] == (WAY, own.plan)
    assert own.tried == 48


def begun(monkeypatch: pytest.MonkeyPatch, kinds: dict[float, tuple[bool, bool]]) -> Any:
    """What starts lead to, by what the layouts keep: those at x, and at -x their mirror images."""
    asked: list[Any] = []
    grown: list[float] = []
    starts = iter(range(10**6))
    monkeypatch.setattr(search, "start", lambda *_: lying(float(next(starts))))
    monkeypatch.setattr(search, "mirrored", lambda at: Layout(-at.centres, at.normals, at.repeat))

    def settled(_: object, some: list[Layout], signs: list[Any], rounds: int) -> list[Any]:
        assert rounds == 14
        asked.extend(signs)
        return [at if at.centres[0, 0] in kinds else None for at in some]

    def judged(way: Any, at: Layout, room: float) -> Regular:
        said, folded = kinds.get(at.centres[0, 0], (False, False))
        return Regular(way, at, room, said, folded, True)

    def tightened(way: Any, some: list[Layout], rounds: tuple[int, float]) -> list[Regular | None]:
        assert rounds == (40, 1e-3)
        grown.extend(at.centres[0, 0] for at in some)
        return [None if at.centres[0, 0] == 5 else judged(way, at, 2.0) for at in some]

    monkeypatch.setattr(search, "settle_all", settled)
    monkeypatch.setattr(search, "judged", judged)
    monkeypatch.setattr(search, "tightened", tightened)
    return asked, grown


def test_three_quarters_of_the_starts_are_asked_for_the_signs(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked, _ = begun(monkeypatch, {})
    made = Plan(lying(), np.array([1]))
    assert _begun(WAY, made, (1, 2), range(400)) == [None] * 400
    share = sum(signs is made.signs for signs in asked) / 400
    assert share == pytest.approx(0.75, abs=0.05)
    assert all(signs is made.signs or signs is None for signs in asked)


@pytest.mark.parametrize("signs", [True, False])
def test_what_keeps_all_is_grown_and_what_can_not_is_left(
    signs: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    kinds = {1.0: (True, True), 2.0: (True, False), 3.0: (False, False), 5.0: (True, True)}
    kinds |= {4.0: (False, True), -4.0: (True, True)}
    _, grown = begun(monkeypatch, kinds)
    monkeypatch.setattr(search, "_ASKED", 1.0 if signs else 0.0)
    found = _begun(WAY, Plan(lying(), np.array([1])), (1,), range(7))
    # The fourth keeps the lays once front and back are exchanged; the fifth will not grow.
    assert grown == [1, -4, 5]
    assert [x and (x[0].layout.centres[0, 0], x[1]) for x in found] == [
        None, (1, True), None if signs else (2, False), None if signs else (-3, False),
        (-4, True), None, None,
    ]  # fmt: skip


def test_kicks_are_by_chances_of_their_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search, "kicked", lambda _, at, rng, size: (rng.random(), size, at))
    first, second = _kicks(form(1.0), 0.4, (1, 2), range(5, 7))  # type: ignore[misc]
    (again,) = _kicks(form(1.0), 0.4, (1, 2), range(6, 7))  # type: ignore[misc]
    assert first[0] != second[0] == again[0]  # type: ignore[index]
    assert first[1] == 0.4  # type: ignore[index]


def test_grown_wires_are_judged_by_their_room(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[Any] = []

    def thickened(shape: Any, *words: Any) -> list[Tight]:
        seen.append(words)
        return [Tight(lying(1), 1.5), Tight(lying(2), 0.0)]

    monkeypatch.setattr(search, "thickened", thickened)
    monkeypatch.setattr(search, "judged", lambda way, at, room: (way, at.centres[0, 0], room))
    thin = [lying(), lying()]
    assert search.tightened(WAY, thin, (40, 1e-3), 3.0) == [(WAY, 1, 1.5), None]
    assert seen == [(thin, 40, 1e-3, 3.0)]
    search.tightened(WAY, thin, (40, 1e-3))
    assert seen[1][3] == 0


# -- leaps --------------------------------------------------------------------------------------


def test_a_better_form_is_leapt_on_from_and_the_same_one_is_not() -> None:
    own = run(seed=(7, 3))
    broken, bare = form(5.0, folded=False), form(4.0)
    tasks: list[Any] = list(
        own.leaps([(bare, False), None, (broken, True), (form(1.0), True)], ALONE)
    )
    assert (own.bare, own.broken, own.found) == ([bare.layout], [broken], [])
    assert [(t.args[0].room, t.args[1]) for t in tasks] == [(1.0, (7, 3, 1))]
    own.found = [form(1.0)]
    some = [form(1.0), form(0.5), form(2.0), form(0.4), form(1.5)]
    tasks = list(own.leaps([(f, True) for f in some], ALONE))
    # One like the best is found; the first three are leapt on from, then better ones.
    assert [t and (t.args[0].room, t.args[1][2]) for t in tasks] == [
        None, (0.5, 3), (2.0, 4), None, (1.5, 6),
    ]  # fmt: skip
    assert [f.room for f in own.found] == [1.0, 1.0, 0.4]
    assert own.kept == 6


@pytest.mark.parametrize("better", [True, False])
def test_a_leap_must_gain_more_than_two_thousandths(
    better: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[Any] = []
    room = 2.0 * (1.003 if better else 1.001)
    kicks = [lying(float(k)) for k in range(4)]

    def kicked(form: Any, size: float, *words: Any) -> list[Layout]:
        seen.append((size, *words))
        return kicks

    def judged(way: Any, at: Layout, _: float) -> Regular:
        return Regular(way, at, 1.0, at.centres[0, 0] != 1, at.centres[0, 0] != 2, True)

    def tightened(way: Any, some: list[Layout], rounds: Any, goal: float) -> list[Regular | None]:
        assert [at.centres[0, 0] for at in some] == [3]  # the first does not settle
        assert rounds == (40, 1e-3)
        assert goal == pytest.approx(2.004)
        return [None, form(room, folded=False), form(room)]

    monkeypatch.setattr(search, "_kicks", kicked)
    monkeypatch.setattr(search, "settle_all", lambda _, some, signs, rounds: [None, *some[1:]])
    monkeypatch.setattr(search, "judged", judged)
    monkeypatch.setattr(search, "tightened", tightened)
    found = search._leapt(form(2.0), (1, 2), range(5))
    assert seen == [(0.4, (1, 2), range(5))]
    assert (found.room if found else None) == (room if better else None)


def test_leaps_lead_on_until_twelve_are_in_vain(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []

    def leapt(own: Regular, seed: tuple[int, ...], numbers: range) -> Regular | None:
        asked.append((own.room, seed, numbers))
        return form(own.room + 1) if own.room < 3 and numbers.start else None

    monkeypatch.setattr(search, "_leapt", leapt)
    assert search._led(form(1.0), (7, 1), ALONE).room == 3
    one, two = range(6), range(6, 12)
    assert [a for a in asked if a[0] == 1] == [(1, (7, 1, 0), one), (1, (7, 1, 0), two)]
    assert [a for a in asked if a[0] == 3] == [(3, (7, 1, 2), one), (3, (7, 1, 2), two)]


# -- hops ---------------------------------------------------------------------------------------


def test_a_hop_keeps_the_signs_and_gains_room(monkeypatch: pytest.MonkeyPatch) -> None:
    signs = np.array([1, -1])
    seen: list[Any] = []

    def settled(_: Any, some: list[Layout], asked: list[Any], rounds: int) -> list[Any]:
        seen.append((len(asked), all(a is signs for a in asked), rounds))
        return [None, *some[1:]]

    monkeypatch.setattr(search, "read_links", lambda *_: SimpleNamespace(signs=signs))
    monkeypatch.setattr(
        search, "_kicks", lambda _, size, *words: seen.append(size) or [lying()] * 3
    )
    monkeypatch.setattr(search, "settle_all", settled)
    results = [None, form(2.0), form(9.0, said=False), form(2.1), form(3.0)]
    monkeypatch.setattr(search, "tightened", lambda *words: seen.append(words[2:]) or results)
    found = search._hop(form(2.0), (1,), range(3))
    assert found is results[3]
    assert seen == [0.15, (3, True, 14), ((40, 1e-3), 2.0)]
    del results[3:]
    assert search._hop(form(2.0), (1,), range(3)) is None


@pytest.mark.parametrize(
    ("gain", "fine", "kept"), [(1e-4, True, True), (1e-6, True, False), (1e-4, False, True)]
)
def test_hops_go_on_from_each_better_form(
    gain: float, fine: bool, kept: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[Any] = []
    found, better = form(2.0), form(2.0 * (1 + gain))

    def hop(best: Regular, seed: tuple[int, ...], numbers: range) -> Regular | None:
        asked.append((best is found, seed, numbers))
        return better if best is found else None

    monkeypatch.setattr(search, "_hop", hop)
    monkeypatch.setattr(search, "tightened", lambda *words: [better if fine else None])
    got = search._hopped(found, 3, ALONE, 7)
    assert got is (better if kept else found)
    assert asked == [
        (True, (7, 99, 0), range(2)),
        (False, (7, 99, 1), range(2)),
        (False, (7, 99, 1), range(2, 3)),
    ]


Way = make_dataclass("Way", ["shape", "turn"])
Shape = make_dataclass("Shape", ["symmetry", "twist"])


@pytest.mark.parametrize(("turn", "free"), [("quarter", True), ("free", True), ("none", False)])
def test_half_turn_images_and_quarter_turns_are_set_free(turn: str, free: bool) -> None:
    one = Symmetry(np.zeros(2, dtype=np.int64), np.ones((2, 3)), np.zeros(2))
    found = form(1.0, way=Way(Shape(one, False), turn))
    loose = search._loosened(found).way.shape
    assert (loose.symmetry, loose.twist) == (None, free)
    glide = Symmetry(one.source, one.matrix, np.array([0, 0.5]))
    for shape in (Shape(glide, False), Shape(None, False)):
        found = form(1.0, way=Way(shape, turn))
        assert search._loosened(found) is found


# -- the whole ----------------------------------------------------------------------------------


def test_a_round_leaps_from_where_starts_lead_and_grows_the_rest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    bare = {WAY.turn: form(1.0), OTHER.turn: form(0.7, folded=False, way=OTHER)}

    def begin(way: Any, _: Plan, seed: Any, numbers: range) -> list[Any]:
        good = way is WAY and numbers.start == 0
        return [(form(1.0, way=way), True)] if good else [(bare[way.turn], False)]

    monkeypatch.setattr(search, "_begun", begin)
    monkeypatch.setattr(search, "_led", lambda own, *_: form(own.room + 1))
    grown = [None, form(0.8), form(0.9, folded=False)]
    asked: list[Any] = []
    monkeypatch.setattr(search, "tightened", lambda *words: asked.append(words) or grown)
    one, two, told = run(), run(OTHER), list[int]()
    _round([one, two], ALONE, lambda: told.append(1))
    assert [f.room for f in one.found] == [2.0]
    assert told == [1]
    # The second way has none, so the wires of what it came to are grown.
    assert [f.room for f in two.found] == [0.8]
    assert [f.room for f in two.broken] == [0.9]
    ((way, layouts, rounds),) = asked
    assert (way, len(layouts), rounds) == (OTHER, 2, (40, 1e-3))


@pytest.mark.parametrize("broken_off", [False, True])
def test_the_search_ends_with_the_finest_of_the_best(
    broken_off: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[Any] = []
    asked: list[Any] = []

    def round_(runs: list[_Run], *_: Any) -> None:
        if broken_off and runs[0].tried == 24:
            raise KeyboardInterrupt
        for own in runs:
            own.tried += 24
            own.found += [form(room, way=own.way) for room in (1.0, 1.5, 1.2, 1.1)]

    def tightened(way: Any, some: list[Layout], rounds: Any, goal: float) -> list[Regular | None]:
        asked.append((some[0].centres[0, 0], rounds, goal))
        return [form(1.6, way=way) if some[0].centres[0, 0] == 1.2 else None]

    monkeypatch.setattr(search, "_round", round_)
    monkeypatch.setattr(search, "tightened", tightened)
    monkeypatch.setattr(search, "_hopped", lambda best, *words: asked.append(words) or best)
    found, whole = search.search([WAY], 7, 72, 30, ALONE, lambda *words: told.append(words))
    assert found is not None
    assert told[:2] == [("starts", 0, 72, 0.0), ("starts", 24, 72, 1.5)]
    if broken_off:
        assert (found.room, whole, asked) == (1.5, False, [])
        return
    assert (found.room, whole) == (1.6, True)
    assert asked == [(room, (150, 1e-6), 1.5) for room in (1.5, 1.2, 1.1)] + [(30, ALONE, 7)]
