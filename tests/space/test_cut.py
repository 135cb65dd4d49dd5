"""The states of chains after every step: links counted by another way, no overlap, known places.

`recheck` shares no formula with the search: plain polygons through discs, sampled distances.
"""

from __future__ import annotations

import math
import re
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from helpers import LIBRARY, ROOT, view

from ringstep.checks.view import View, with_variant
from ringstep.paper.film import Shoot, scenes
from ringstep.space.recheck import crossings, distance
from ringstep.space.result import PlacedRing
from ringstep.space.state import Round, Shown, State
from ringstep.space.states import NoStates, states_of
from ringstep.weave.work import Ring

# the wires of a picture may run into one another by no more than this share of a wire
OVERLAP = 0.005


def recipe(name: str, variant: str | None = None, inside: float | None = None) -> View:
    text = (LIBRARY / f"{name}.weave").read_text(encoding="utf-8")
    if inside is not None:
        text, count = re.subn(r"(?m)^(  all +wire 1\.2 mm, inside )[\d.]+", rf"\g<1>{inside}", text)
        assert count == 1
    return with_variant(view(text), variant)


@cache
def shown(name: str, variant: str | None = None, inside: float | None = None) -> Shown:
    return states_of(recipe(name, variant, inside))


def placed(lying: Round) -> PlacedRing:
    return PlacedRing("", 0, (), lying.centre, lying.normal, lying.mean_radius, lying.wire)


def seen_links(state: State) -> set[frozenset[Ring]]:
    """Which rings pass through one another as they lie, and that none runs into another."""
    found = set()
    for (a, one), (b, other) in combinations(state.rings, 2):
        reach = one.mean_radius + other.mean_radius + one.wire + other.wire
        if math.dist(one.centre, other.centre) > reach:
            continue
        if crossings(placed(one), placed(other)):
            found.add(frozenset((a, b)))
        both = (one.wire + other.wire) / 2
        gap = distance(placed(one), placed(other), both * 1.1) - both
        assert gap >= -OVERLAP * both, (state.number, state.unit, a, b, gap)
    return found


def said_links(seen: View, state: State) -> set[frozenset[Ring]]:
    """The links of the recipe carried out up to the state's step, among the rings shown."""
    work = seen.weave.work
    at = next(
        n
        for n, a in enumerate(work.acts)
        if (a.step.number, a.row, a.unit) == (state.number, state.row, state.unit)
    )
    here = {ring for ring, _ in state.rings}
    return {
        frozenset((a, b))
        for n, act in enumerate(work.acts[: at + 1])
        for a in (act.handled if act.step.kind == "reopen" else act.new)
        for b in act.through
        if a in here and b in here
    }


#: name, variant, inside mm (None as shipped), and how many pictures: steps of start and finish
#: once, those of the unit for units 1 and 2
CHAINS = [
    ("byzantine", None, None, 4 + 2 * 5),
    ("box_chain", None, None, 4 + 2 * 4),
    ("persian_6", None, None, 4 + 2 * 4 + 1),
    ("persian_linked", "calm", None, 5 + 2 * 5),
    ("persian_linked", "zigzag", None, 5 + 2 * 5),
    ("captive_ring", None, None, 1 + 2 * 3),
    ("chain_with_clasp", None, None, 1 + 2 * 1 + 1),
    ("two_and_one", None, None, 1 + 2 * 2),
    ("spiral_4", None, None, 1 + 2 * 1),
]


@pytest.mark.parametrize(("name", "variant", "inside", "count"), CHAINS)
def test_links_after_every_step_are_the_recipes(
    name: str, variant: str | None, inside: float | None, count: int
) -> None:
    found, seen = shown(name, variant, inside), recipe(name, variant, inside)
    assert len(found.states) == count
    assert found.without == ()
    for state in found.states:
        assert seen_links(state) == said_links(seen, state), (state.number, state.unit)


@pytest.mark.parametrize("path", ["examples/three_festoons", "tests/cases/both_ways_from_a_sun"])
def test_links_of_strands_after_every_step_are_the_recipes(path: str) -> None:
    """Strands are carried out by hand, one after the other, and joined at their ends."""
    seen = view((ROOT / f"{path}.weave").read_text(encoding="utf-8"))
    found = states_of(seen)
    assert found.without == ()
    assert {s.number for s in found.states} == {s.number for s in seen.recipe.steps()}
    for state in found.states:
        assert seen_links(state) == said_links(seen, state), (state.number, state.unit)


def ring(state: State, role: str, index: int, unit: int) -> Round:
    return dict(state.rings)[Ring(role, index, 1, unit)]


def state_of(found: Shown, number: int, unit: int) -> State:
    (state,) = [s for s in found.states if (s.number, s.unit) == (number, unit)]
    return state


def tip(lying: Round) -> tuple[float, float, float]:
    """The ring's place farthest along the work."""
    x, y, z = lying.normal
    arm = (1 - x * x, -x * y, -x * z)
    size = math.hypot(*arm)
    a, b, c = (p + lying.mean_radius * q / size for p, q in zip(lying.centre, arm, strict=True))
    return a, b, c


def test_what_is_folded_later_lies_ahead_before() -> None:
    # byzantine: B hangs on A, ahead of it, until step 8 folds it back beside C, one to each side
    found = shown("byzantine")
    for unit in (1, 2):
        added, folded = state_of(found, 7, unit), state_of(found, 8, unit)
        for index in (1, 2):
            before, after = ring(added, "B", index, unit), ring(folded, "B", index, unit)
            assert before.centre[0] > ring(added, "A", index, unit).centre[0]
            assert after.centre[0] < ring(folded, "A", index, unit).centre[0]
        sides = [ring(folded, "B", i, unit).centre for i in (1, 2)]
        middle = ring(folded, "C", 1, unit).centre
        one, other = ([a - b for a, b in zip(s, middle, strict=True)] for s in sides)
        assert one[1] * other[1] + one[2] * other[2] < 0
        assert {move for _, move in folded.moved} == {"fold"}


def test_a_pair_lies_together_until_it_is_spread() -> None:
    # byzantine, step 9: the tips end 0.9 wire farther apart than after the fold
    found = shown("byzantine")
    for unit in (1, 2):
        added, folded, spread = (state_of(found, n, unit) for n in (6, 8, 9))
        apart = [
            math.dist(*(tip(ring(s, "A", i, unit)) for i in (1, 2)))
            for s in (added, folded, spread)
        ]
        assert apart[0] == pytest.approx(1.2, rel=0.05)  # wire beside wire
        assert 0.7 * 1.2 < apart[2] - apart[1] < 1.0 * 1.2


def test_rings_that_come_out_stand_in_for_what_they_hold_the_place_of() -> None:
    # persian_6: H stands where the side rings of a unit before the first would; gone in the end
    found = shown("persian_6")
    start, end = found.states[0], found.states[-1]
    assert {r.role for r, _ in start.rings} == {"H"}
    assert {r.role for r, _ in end.rings} == {"M", "S"}


def test_a_captive_ring_lies_around_what_it_is_closed_around() -> None:
    found = shown("captive_ring")
    state = state_of(found, 3, 1)
    captive, small = ring(state, "captive", 1, 1), ring(state, "small", 1, 1)
    assert abs(captive.normal[0]) > 0.9  # across the chain
    assert math.dist(captive.centre, small.centre) < small.mean_radius


def test_a_larger_end_ring_hangs_by_the_last() -> None:
    found = shown("chain_with_clasp")
    rings = dict(found.states[-1].rings)
    tail = next(r for r in rings if r.role == "tail")
    assert rings[tail].mean_radius == pytest.approx((8 + 1.2) / 2)
    assert all(rings[tail].centre[0] > rings[r].centre[0] for r in rings if r != tail)
    assert not any(r.role == "clasp" for r in rings)


def test_work_turned_over_is_seen_from_its_other_side() -> None:
    text = """\
weave "Turned"
rings:
  all  wire 1.2 mm, inside 5 mm
expect:
  A meets 2 prev A, 2 next A
start:
  close 2 A
  turn over
unit:
  add 2 A through prev A
piece:
  chain 8 units
"""
    closed, turned, *_ = states_of(view(text)).states
    assert {move for _, move in turned.moved} == {"turn"}
    for (_, one), (_, other) in zip(closed.rings, turned.rings, strict=True):
        x, y, z = one.centre
        assert other.centre == pytest.approx((x, -y, -z))


def test_a_step_left_out_shows() -> None:
    # byzantine without its folds: links and counts are the same, but the rings lie straight on
    text = (LIBRARY / "byzantine.weave").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^  (fold back B|spread A|B folded)\n(    hint .*\n)?", "", text)
    straight = states_of(view(text))
    whole = shown("byzantine")
    one, other = straight.states[-1], whole.states[-1]
    assert {r for r, _ in one.rings} == {r for r, _ in other.rings}
    long = [
        max(r.centre[0] for _, r in s.rings) - min(r.centre[0] for _, r in s.rings)
        for s in (one, other)
    ]
    assert long[0] > 1.4 * long[1]


LOOP = """\
weave "Harbour loop"
rings:
  all  wire 1.2 mm, inside 6 mm
  bridge  wire 1.6 mm, inside 8 mm
expect:
  A meets 2
start:
  close A
unit:
  add A through prev A picks 1
piece:
  loop 30 units
finish:
  hold last A, first A
  add bridge through last A, first A picks 2
"""


def test_a_loop_is_closed_between_its_last_ring_and_its_first() -> None:
    # by a connector of another size, which is no ring of the repeat
    seen = view(LOOP)
    found = states_of(seen)
    assert found.without == ()
    held, closed = found.states[-2:]
    last = seen.weave.work.layout.units
    first, end = Ring("A", 1, 1, 0), Ring("A", 1, 1, last)
    bridge = Ring("bridge", 1, 1, last + 1)
    assert set(held.through) == {first, end}
    assert closed.new == (bridge,)
    assert seen_links(held) == said_links(seen, held)
    assert frozenset((bridge, first)) in seen_links(closed)
    assert seen_links(closed) == said_links(seen, closed)
    lying = dict(closed.rings)
    assert lying[bridge].mean_radius == pytest.approx((8 + 1.6) / 2)
    assert lying[end].centre[0] < lying[bridge].centre[0] < lying[first].centre[0]
    # ring on to ring: the first ring's own neighbour lies beyond it, none in the middle is left
    assert lying[Ring("A", 1, 1, 1)].centre[0] > lying[first].centre[0]


def test_a_spiral_is_closed_by_two_rings_that_go_through_both_ends() -> None:
    seen, found = recipe("spiral_loop"), shown("spiral_loop")
    assert found.without == ()
    for state in found.states:
        assert seen_links(state) == said_links(seen, state), state.number
    # the last two rings meet 3 and 4 others, as 'picks' says
    counts = [sum(s.new[0] in link for link in seen_links(s)) for s in found.states[-2:]]
    assert counts == [3, 4]


def test_the_rings_at_a_closing_are_named_first_and_last() -> None:
    seen = view(LOOP)
    *_, closing = scenes(seen, states_of(seen), Shoot(both=False))
    written = re.findall(r"<text[^>]*>([^<]*)</text>", closing.later)
    assert sorted(written) == ["bridge", "first A", "last A"]


def test_rings_too_small_have_no_picture() -> None:
    # 4.0541 is the smallest found (see test_chain_forms)
    with pytest.raises(NoStates, match=r"A has AR 3\.50, .* can be made is 4\.05"):
        shown("box_chain", None, 4.2)


@pytest.mark.parametrize(
    ("name", "gone"),
    [
        ("byzantine", "start:spread A"),
        ("byzantine", "unit:fold back B"),
        ("persian_6", "unit:spread prev M"),
    ],
)
def test_what_is_forgotten_once_leaves_the_work_lying_otherwise(name: str, gone: str) -> None:
    # a cut of the regular repeat would show the rings folded and spread all the same
    block, step = gone.split(":")
    text = (LIBRARY / f"{name}.weave").read_text(encoding="utf-8")
    head, tail = text.split(f"\n{block}:\n")
    lines = tail.split("\n")
    at = next(n for n, line in enumerate(lines) if line.strip() == step)
    hint = lines[at + 1].strip().startswith("hint")
    del lines[at : at + 1 + hint]
    as_told = states_of(view(text)).states[-1]
    without = states_of(view(f"{head}\n{block}:\n" + "\n".join(lines))).states[-1]
    assert _apart(without, as_told) > 0.3


def _apart(one: State, other: State) -> float:
    """Greatest difference of a distance between two rings that both show, in their diameters."""
    here, there = dict(one.rings), dict(other.rings)
    both = [ring for ring in here if ring in there]
    lies = [np.array([at[ring].centre for ring in both]) for at in (here, there)]
    far = [np.linalg.norm(c[:, None] - c[None], axis=2) for c in lies]
    return float(np.abs(far[0] - far[1]).max() / (2 * here[both[0]].mean_radius))
