"""Chains and single pieces worked step by step: links, gaps, folds and spreads after each step."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from helpers import LIBRARY, view
from test_rows_worked import looked_at, placed

from ringstep.space.recheck import rim
from ringstep.space.result import PlacedRing
from ringstep.space.rosette import spread_evenly
from ringstep.space.state import Jam, State, Worked
from ringstep.space.states import _shown, states_of
from ringstep.space.worked import work_piece
from ringstep.weave.piece import Weave
from ringstep.weave.work import Act, Ring

UNITS = 2


@cache
def recipe(name: str) -> Weave:
    return view((LIBRARY / f"{name}.weave").read_text(encoding="utf-8")).weave


@cache
def worked(name: str, seed: int = 0) -> Worked:
    return work_piece(recipe(name), seed, UNITS)


def acts(name: str) -> list[Act]:
    return [
        a
        for a in recipe(name).work.acts
        if not a.skipped and (a.block.kind == "start" or 0 < a.unit <= UNITS)
    ]


@pytest.mark.parametrize(
    ("name", "seed"),
    [
        ("simple_chain", 0),
        ("doubled_chain", 0),
        ("byzantine", 0),
        ("byzantine", 1),
        ("persian_6", 0),
        ("flower_of_five", 0),
        ("captive_ring", 0),
    ],
)
def test_every_step_has_its_links_and_its_room(name: str, seed: int) -> None:
    got = worked(name, seed)
    assert got.jams == ()
    links: set[frozenset[Ring]] = set()
    wanted = []
    for act in acts(name):
        links |= {frozenset((new, other)) for new in act.new for other in act.through}
        wanted.append(set(links))
    found, worst = looked_at(got.states)
    assert found == wanted
    assert worst >= -0.005


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_petals_lie_spread_about_the_eye(seed: int) -> None:
    """Five petals stand a fifth of a turn apart, and a sixth of that more or less."""
    got = worked("flower_of_five", seed).states
    spread = [spread_evenly(state) for state in got]
    # the links are those of the work, and no wires overlap
    links, worst = looked_at(spread)
    assert links == looked_at(got)[0]
    assert worst >= -0.005
    assert spread[:2] == list(got[:2])
    for state in spread[2:]:
        centres = np.array([r.centre for _, r in state.rings])
        out = centres - centres.mean(axis=0)
        flat = out @ np.linalg.svd(out)[2][:2].T
        at = np.sort(np.degrees(np.arctan2(flat[:, 1], flat[:, 0])))
        fair = 360 / len(at)
        assert len(at) == len(state.rings)
        assert np.diff([*at, at[0] + 360]) == pytest.approx(fair, abs=fair / 6 + 5)
        sizes = np.linalg.norm(flat, axis=1)
        assert sizes.max() < 1.5 * sizes.min()
        # it lies before the eye, the first petal towards the start, the second to the left of it
        assert np.ptp(out[:, 2]) < 0.2 * np.ptp(out[:, :2])
        assert out[0, 0] == pytest.approx(-sizes[0], rel=0.01)
        assert out[1, 1] > 0


def test_petals_of_the_shipped_flower_are_shown_spread() -> None:
    seen = view((LIBRARY / "flower_of_five.weave").read_text(encoding="utf-8"))
    *_, last = states_of(seen).states
    off = np.array([r.centre for _, r in last.rings])
    assert np.linalg.norm(off - off.mean(axis=0), axis=1).min() > 0.6 * 5  # of the mean radius


def lying(state: State) -> dict[Ring, PlacedRing]:
    return {ring: placed(r) for ring, r in state.rings}


def between(point: np.ndarray, one: PlacedRing, other: PlacedRing) -> bool:
    """On the other ring's side of the plane of each."""
    sides = []
    for a, b in ((one, other), (other, one)):
        n = np.array(a.normal)
        sides.append(float((point - a.centre) @ n) * float((np.array(b.centre) - a.centre) @ n))
    return min(sides) > 0


def passing(one: PlacedRing, hole: PlacedRing) -> list[np.ndarray]:
    """Where the ring's wire passes through the other's opening, from a polygon."""
    points = rim(one, np.arange(720) * np.pi / 360)
    n = np.array(hole.normal)
    above = (points - np.array(hole.centre)) @ n
    through = np.nonzero((above < 0) != (np.roll(above, -1) < 0))[0]
    return [
        points[k] for k in through if np.linalg.norm(points[k] - hole.centre) < hole.mean_radius
    ]


@pytest.mark.parametrize("seed", [0, 1])
def test_byzantine_folds_fall_to_each_side_and_spreads_are_gone_between(seed: int) -> None:
    got = worked("byzantine", seed)
    folds = spreads = 0
    gate: tuple[Ring, ...] = ()
    for act, state in zip(acts("byzantine"), got.states, strict=True):
        now = lying(state)
        if act.step.kind == "fold back":
            one, other = (now[r] for r in act.handled)
            below = [r for r in now if r.role == "A" and r.unit == act.unit]
            assert len(below) == 2
            for ring in below:
                assert between(np.array(now[ring].centre), one, other)
                assert max(one.centre[0], other.centre[0]) < rightmost(now[ring])
            folds += 1
        elif act.step.kind == "spread":
            gate = act.handled
        elif gate:
            for new in act.new:
                for hole in act.through:
                    (point,) = passing(now[new], now[hole])
                    assert between(point, now[gate[0]], now[gate[1]])
            gate, spreads = (), spreads + 1
    assert (folds, spreads) == (1 + UNITS, UNITS)


def rightmost(ring: PlacedRing) -> float:
    return float(rim(ring, np.arange(120) * np.pi / 60)[:, 0].max())


def test_a_captive_ring_lies_round_the_ring_it_is_slipped_over() -> None:
    for act, state in zip(acts("captive_ring"), worked("captive_ring").states, strict=True):
        if not act.held:
            continue
        now = lying(state)
        (captive,), (small,) = act.new, act.held
        # the small ring's wire passes the captive's opening twice: there and back
        assert len(passing(now[small], now[captive])) == 2


def carried_out(text: str, seed: int = 0) -> tuple[Weave, Worked]:
    """A recipe's steps carried out: none jams, and links and room are right after each."""
    weave = view(text).weave
    got = work_piece(weave, seed)
    assert got.jams == ()
    links: set[frozenset[Ring]] = set()
    wanted = []
    for act in weave.work.acts:
        links |= {frozenset((new, other)) for new in act.new for other in act.through}
        wanted.append(set(links))
    found, worst = looked_at(got.states)
    assert found == wanted
    assert worst >= -0.005
    return weave, got


HOOPS = """\
weave "Two hoops"
rings:
  all  wire 1 mm, inside 10 mm
expect:
  hoop meets 1 link
start:
  close 2 hoop
  add link through hoop 1, hoop 2 at one place picks 2
"""


@pytest.mark.parametrize("seed", [0, 1])
def test_then_leads_a_ring_on_and_at_one_place_does_not(seed: int) -> None:
    turns = []
    for text in (HOOPS, HOOPS.replace("hoop 1, hoop 2 at one place", "hoop 1 then hoop 2")):
        _, got = carried_out(text, seed)
        now = lying(got.states[-1])
        link = now[Ring("link", 1, 1, 0)]
        one, other = (
            np.mean(passing(link, now[Ring("hoop", k, 1, 0)]), axis=0) - link.centre for k in (1, 2)
        )
        share = one @ other / np.linalg.norm(one) / np.linalg.norm(other)
        turns.append(np.degrees(np.arccos(share)))
    together, apart = turns
    assert together < 70
    assert apart > 100


@pytest.mark.parametrize(("side", "way"), [("left", 1.0), ("right", -1.0)])
def test_a_ring_is_folded_to_the_side_that_is_said(side: str, way: float) -> None:
    # the work goes away from its start along x and is seen from z: left is +y
    text = f"""\
weave "Folded to a side"
rings:
  all  wire 1 mm, inside 7 mm
expect:
  A meets 1 B
start:
  close A
  add B through A picks 1
  fold back B on the {side}
"""
    for seed in (0, 1):
        _, got = carried_out(text, seed)
        now = lying(got.states[-1])
        b, a = now[Ring("B", 1, 1, 0)], now[Ring("A", 1, 1, 0)]
        assert way * (b.centre[1] - a.centre[1]) > 1


STRANDS = """\
weave "Two strands between two rings"
rings:
  all  wire 1.2 mm, inside 6 mm
expect:
  port meets 2 port
  lee meets 2 lee
start:
  close ring
  add port through ring picks 1
  add lee through ring picks 1
unit:
  add port through prev port picks 1
  add lee through prev lee picks 1
piece:
  chain 9 units
finish:
  close end
  add bridge 1 through last port, end picks 2
  add bridge 2 through last lee, end picks 2
"""


def test_strands_lie_side_by_side_and_are_joined_at_their_end() -> None:
    _, got = carried_out(STRANDS)
    before = lying(next(s for s in got.states if s.number == 6))
    port, lee = ([r.centre[1] for k, r in before.items() if k.role == n] for n in ("port", "lee"))
    assert min(port) > max(lee)
    assert {r.role for r, _ in got.states[-1].rings} == {"ring", "port", "lee", "end", "bridge"}


def test_a_band_has_its_sides_where_they_are_said() -> None:
    weave = recipe("european_4_strip")
    got = work_piece(weave, 0, UNITS)
    assert got.jams == ()
    now = lying(got.states[-1])
    assert all(r.centre[1] > 0 for k, r in now.items() if (k.role, k.index) == ("side", 1))
    assert all(r.centre[1] < 0 for k, r in now.items() if (k.role, k.index) == ("side", 2))
    # a middle ring leans the other way than all rings of its sides: the form of European weaves
    leans = {k.role: r.normal[0] * r.normal[2] for k, r in now.items() if k.unit == 1}
    assert leans["middle"] * leans["side"] < 0


def test_a_rosette_of_seven_has_all_its_rings_linked() -> None:
    steps = ["  close A 1", "  add A 2 through A 1 picks 1"]
    for k in range(3, 8):
        before = ", ".join(f"A {i}" for i in range(1, k))
        steps.append(f"  add A {k} through {before} picks {k - 1} lay front")
    head = 'weave "Seven"\nrings:\n  all  wire 1 mm, inside 8 mm\nexpect:\n  A meets 6\nstart:\n'
    _, got = carried_out(head + "\n".join(steps) + "\n")
    assert len(got.states) == 7


def test_a_ring_taken_out_is_gone_and_the_rest_keep_their_links() -> None:
    text = """\
weave "Helper out"
rings:
  all  wire 1 mm, inside 7 mm
expect:
  A meets 1 B
  H comes out
start:
  close H
  add A through H picks 1
  add B through A picks 1
  take out H
"""
    got = work_piece(view(text).weave)
    assert got.jams == ()
    (found,), worst = looked_at(got.states[-1:])
    assert found == {frozenset((Ring("A", 1, 1, 0), Ring("B", 1, 1, 0)))}
    assert worst >= -0.005


def test_a_closed_ring_that_lies_ready_is_picked_up_by_the_ring_put_in() -> None:
    """Far larger than the rest and of thick wire, it is set on the ring that joins it."""
    text = """\
weave "Sun at the end of a chain"
rings:
  all  wire 1 mm, inside 4 mm
  sun  wire 2 mm, inside 12 mm
expect:
  A meets 2 A or 1 A, 2 J
  J meets 1 A, 1 sun
  sun meets 2 J
start:
  close A
unit:
  add A through prev A
finish:
  close sun
  add 2 J through last A, sun picks 2
piece:
  chain 3 units
"""
    got = work_piece(view(text).weave)
    assert got.jams == ()
    found, worst = looked_at(got.states)
    assert [len(links) for links in found] == [0, 1, 2, 3, 3, 7]
    assert worst >= -0.005


def test_where_only_the_search_failed_no_size_is_blamed() -> None:
    weave = recipe("flower_of_five")
    petal = Ring("petal", 4, 1, 0)

    def none_found(_: Weave) -> Worked:
        return Worked((), (Jam(4, 1, 0, petal, 9.0, None),))

    def overlapping(_: Weave) -> Worked:
        return Worked((), (Jam(4, 1, 0, petal, 9.0, 0.125),))

    assert _shown(weave, none_found).jam == (
        "step 4 was not carried out in the start: of the places tried for petal none has room and"
        " passes through just the rings named; nor was a place found at AR 18.0"
    )
    assert _shown(weave, overlapping).jam == (
        "step 4 jams in the start: the wires would overlap by 0.12 mm at AR 9.00;"
        " nor does it go at AR 18.0"
    )
    reasons = dict(_shown(weave, none_found).without)
    assert reasons[4] == "no place tried for its ring would do"
    assert reasons[5] == "the work ended before, at step 4"
