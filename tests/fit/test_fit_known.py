"""Known smallest aspect ratios, lengths and bounds; every result looked at again by brute force."""

from __future__ import annotations

import math

import cells
import fitted
import pytest

from ringstep.space.bounds import packing_floor
from ringstep.space.cell import Cell, CellLink
from ringstep.space.fit import fit
from ringstep.space.recheck import recheck

# smallest aspect ratios that an earlier trial of this method found, with what the least effort
# may stay above them; that trial rechecked them by Gauss's integral and brute-force distances
TRIAL = {
    "simple chain": (2.000, 0.001),
    "doubled chain": (2.621, 0.005),
    "spiral 4-in-1, front": (2.734, 0.005),
    "spiral 4-in-1, alternating": (3.938, 0.03),
    "European 4-in-1": (2.981, 0.005),
    "Persian 6-in-1": (5.051, 0.005),
    "Persian linked, alternating": (5.790, 0.2),
    "Byzantine": (3.338, 0.35),
}


def test_two_linked_rings_reach_one() -> None:
    # tight Hopf link of round rings: ropelength 8 pi in tube radii (Cantarella, Kusner &
    # Sullivan, Invent. Math. 150, 2002, 257-286; from memory), each ring 4 pi, so R = d, AR = 1
    form = fit(cells.hopf(), effort=0).forms[0]
    assert form.smallest(0) == pytest.approx(1.0, abs=1e-4)
    assert form.smallest(0) >= 1.0 - 1e-9


def test_simple_chain_is_exact() -> None:
    # two wires side by side in a ring: AR 2 (trivial); pulled straight at AR 3 each ring adds its
    # inside diameter, so two rings add twice that
    form = fit(cells.simple_pair(3.0), effort=0).forms[0]
    assert form.smallest(0) == pytest.approx(2.0, abs=1e-4)
    assert form.smallest(0) >= 2.0 - 1e-9
    assert form.stretched is not None
    assert form.pushed is not None
    assert form.length(form.stretched) == pytest.approx(2 * 3.0, rel=2e-3)
    # pushed together 0.922 of the inside diameter, found by the earlier trial
    assert form.length(form.pushed) <= 0.922 * 3.0 * 1.005


@pytest.mark.parametrize("name", TRIAL)
def test_trial_is_reached(name: str) -> None:
    reached, above = TRIAL[name]
    form = fitted.best(name)
    assert form.as_said
    assert form.smallest(0) <= reached + above


@pytest.mark.parametrize(
    ("name", "pulled", "pushed"),
    [("doubled chain", 1.915, 1.189), ("Persian 6-in-1", 0.830, 0.644)],
)
def test_trial_lengths(name: str, pulled: float, pushed: float) -> None:
    # unit lengths over inside diameter from the earlier trial, good to 2 to 4 % by its own word
    form = fitted.best(name)
    inside = form.cell.rings[0].inside
    assert form.stretched is not None
    assert form.pushed is not None
    assert form.length(form.stretched) / inside == pytest.approx(pulled, rel=0.02)
    assert form.length(form.pushed) / inside <= pushed * 1.04


def test_european_sheet_size() -> None:
    # the earlier trial's cell at AR 3.5: 0.971 x 1.571 inside diameters for two rings
    pose = fitted.best("European 4-in-1").stretched
    assert pose is not None
    size = fitted.footprint(pose)
    assert size is not None
    assert size[0] * size[1] / 3.5**2 == pytest.approx(0.971 * 1.571, rel=0.02)
    assert size[2] == pytest.approx(90, abs=5)


@pytest.mark.parametrize("name", cells.QUICK)
def test_brute_force_agrees(name: str) -> None:
    result = fitted.of(name)
    assert result.forms
    for number, form in enumerate(result.forms):
        # the two ends and the shown pose of the best form; all poses of all in search_long.py
        poses = (form.tight, form.shown, form.pushed) if number == 0 else (form.tight,)
        for pose in poses:
            assert pose is not None
            seen = recheck(pose, form.cell)
            assert seen.right(1e-6 * pose.rings[0].mean_radius), (name, seen)
            assert seen.gap == pytest.approx(pose.clearance, abs=1e-3)
            assert seen.pairs >= len(form.cell.links)
        assert form.stretched is not None
        assert form.pushed is not None
        assert form.stretched.repeat[0] > 0


@pytest.mark.parametrize("name", cells.QUICK)
def test_bounds_hold(name: str) -> None:
    # packing: see ringstep/space/bounds.py. Ropelength: a component linked to n others is at least
    # 2 pi + P(n) tube radii long, P = 2 pi, 2 pi + 4, 2 pi + 6, 2 pi + 8 (Cantarella, Kusner &
    # Sullivan 2002; P from memory), so for round rings of equal wire AR >= P(n) / 2 pi
    rope = {1: 2 * math.pi, 2: 2 * math.pi + 4, 3: 2 * math.pi + 6, 4: 2 * math.pi + 8}
    result = fitted.of(name)
    equal = len({ring.wire for ring in result.cell.rings}) == 1
    for form in result.forms:
        for ring, floor in enumerate(result.bounds):
            assert form.smallest(ring) >= floor - 1e-6
            assert packing_floor(result.cell, ring)[0] == floor
            met = sum((link.a == ring) + (link.b == ring) for link in result.cell.links)
            if equal:
                assert form.smallest(ring) >= rope[min(met, 4)] / (2 * math.pi) - 1e-6


def test_fold_is_kept_and_told_apart() -> None:
    # folded and straight have the same links, but a fold needs more room and makes it shorter
    folded, straight = fitted.best("Byzantine"), fitted.best("doubled chain")
    assert folded.folds_kept
    assert folded.smallest(0) > straight.smallest(0) + 0.3
    assert folded.stretched is not None
    assert straight.stretched is not None
    pair = folded.length(folded.stretched) / 3 / 3.5
    assert pair < 0.7 * straight.length(straight.stretched) / 2 / 4.0
    # the earlier trial's pulled length at AR 3.5: 0.548 of the inside diameter for each pair
    assert pair == pytest.approx(0.548, rel=0.03)


def test_a_sheet_of_pairs_lies_in_pairs() -> None:
    # 4.714 was found by this method and looked at again by brute force; before pairs began side by
    # side, far longer searches stopped at 5.53
    one = cells.european_4(7.0)
    links = tuple(CellLink(a, b, link.shift) for link in one.links for a in (0, 1) for b in (0, 1))
    form = fit(Cell(cells.rings("A1 A2", 7.0), links, 2), effort=0).forms[0]
    assert form.smallest(0) <= 4.75
    assert recheck(form.tight, form.cell).right(1e-6 * 4)
