"""Forms of the shipped chains: smallest aspect ratio, hanging length, folds; every seed alike."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from helpers import LIBRARY, view

from ringstep.checks.view import with_variant
from ringstep.space.between import betweens, kept
from ringstep.space.circles import Layout, shape_of
from ringstep.space.fit import fit
from ringstep.space.fit_cell import laid_out
from ringstep.space.fit_laid import Laid
from ringstep.space.recheck import recheck, rim
from ringstep.space.result import Form, Pose, copies


@cache
def laid(name: str, variant: str | None = None, inside: float | None = None) -> Laid:
    text = (LIBRARY / f"{name}.weave").read_text(encoding="utf-8")
    if inside is not None:
        text, count = re.subn(r"(?m)^(  all +wire 1\.2 mm, inside )[\d.]+", rf"\g<1>{inside}", text)
        assert count == 1
    return laid_out(with_variant(view(text), variant))


@cache
def form(name: str, variant: str | None = None, inside: float | None = None, seed: int = 0) -> Form:
    (found,) = fit(laid(name, variant, inside).cell, seed=seed).forms
    return found


def hanging(name: str, variant: str | None = None, inside: float | None = None) -> float:
    pose = form(name, variant, inside).stretched
    assert pose is not None
    return form(name, variant, inside).length(pose) / laid(name, variant, inside).cycle[1]


# own earlier computation of the same forms by another programme; its second look, by exact
# crossings and distances over all neighbours, found no overlap
SMALLEST = {
    ("persian_linked", "calm"): 5.5832,
    ("persian_linked", "mirror"): 5.5832,
    ("persian_linked", "zigzag"): 5.6986,
    ("persian_6", None): 5.0506,
    ("box_chain", None): 4.0541,
    ("doubled_chain", None): 2.6213,
}


@pytest.mark.parametrize(("name", "variant"), SMALLEST)
def test_smallest_aspect_ratio(name: str, variant: str | None) -> None:
    # more seeds: python tests/space/more_seeds.py
    found = form(name, variant)
    assert found.as_said
    assert found.folds_kept
    assert found.smallest(0) == pytest.approx(SMALLEST[name, variant], abs=1.5e-4)


def test_another_seed_gives_the_same_form() -> None:
    one, other = (form("persian_6", None, None, seed) for seed in (0, 1))
    assert one.smallest(0) == pytest.approx(other.smallest(0), abs=1e-4)


def test_byzantine_comes_near_its_least() -> None:
    # 3.2654 by the same earlier computation, with two units in one; one unit turned comes to within
    # a thousandth
    assert form("byzantine").smallest(0) == pytest.approx(3.2654, abs=1e-3)
    assert form("byzantine").folds_kept
    assert form("byzantine").spreads_kept


# own earlier computation at wire 1.2 mm: inside mm (None as shipped), hanging mm a unit
HANGING = [
    ("persian_linked", "calm", 6.72, 4.709),
    ("persian_linked", "calm", 6.8, 4.924),
    ("persian_6", None, None, 5.344),
    ("byzantine", None, None, 6.903),
]


@pytest.mark.parametrize(("name", "variant", "inside", "length"), HANGING)
def test_hanging_length(
    name: str, variant: str | None, inside: float | None, length: float
) -> None:
    assert hanging(name, variant, inside) == pytest.approx(length, rel=1e-3)


def apart(wire: float, one: tuple[float, int], other: tuple[float, int]) -> float:
    """How far apart the middles of two bundles hang, one through the other crosswise, in mm.

    A bundle is (inside mm, rings side by side). The outermost rings of both touch: circles in
    planes (rings - 1)/2 wires off the axis, across one another. Halved to where their least
    distance over a grid of angles is a wire.
    """
    (r, off), (q, away) = (((i + wire) / 2, (n - 1) / 2 * wire) for i, n in (one, other))
    angle = np.linspace(0.0, 0.9, 1801)
    low, high = 0.0, r + q
    for _ in range(40):
        pitch = (low + high) / 2
        # (r cos a, r sin a, off) of the one, (pitch - q cos b, away, q sin b) of the other
        along = pitch - r * np.cos(angle)[:, None] - q * np.cos(angle)[None]
        across = (r * np.sin(angle)[:, None] - away) ** 2 + (off - q * np.sin(angle)[None]) ** 2
        free = (along**2 + across).min() >= wire**2  # pulled farther, the wires run together
        low, high = (pitch, high) if free else (low, pitch)
    return high


def test_a_simple_chain_hangs_by_its_inside_diameter() -> None:
    # geometry: wire against wire, each ring adds its inside diameter
    assert hanging("simple_chain") == pytest.approx(5.0, abs=1e-3)
    assert apart(1.2, (5.0, 1), (5.0, 1)) == pytest.approx(5.0, abs=1e-6)


def test_bundles_hang_as_geometry_says() -> None:
    # `apart` at its touching rings; 18 swg is 1.2192 mm, 3/16 in 4.7625 mm
    doubled, tripled = (4.7625, 2), (6.0, 3)
    assert hanging("doubled_chain") == pytest.approx(apart(1.2192, doubled, doubled), abs=1e-3)
    assert hanging("tripled_chain") == pytest.approx(apart(1.2, tripled, tripled), abs=1e-3)
    unit = 2 * apart(1.6, (8.0, 2), (7.0, 1))
    assert hanging("two_and_one") == pytest.approx(unit, abs=1e-3)


def test_a_chain_of_two_folds_is_not_the_straight_one() -> None:
    # the same links; the folds make it tighter and shorter
    assert set(form("box_chain").signs) <= {-1, 1}
    assert form("box_chain").smallest(0) > form("doubled_chain").smallest(0) + 1


@pytest.mark.parametrize(
    ("name", "variant", "inside"),
    [("persian_linked", "calm", None), ("persian_6", None, None), ("byzantine", None, None)],
)
def test_the_second_look_finds_no_overlap(
    name: str, variant: str | None, inside: float | None
) -> None:
    found = form(name, variant, inside)
    for pose in (found.tight, found.shown, found.stretched, found.pushed):
        assert pose is not None
        seen = recheck(pose, found.cell)
        assert not seen.missing
        assert not seen.extra
        assert seen.gap >= 0.0


# -- folds and spreads -----------------------------------------------------------------------------


def names(cell_laid: Laid, kind: str) -> list[tuple[set[str], set[tuple[str, str]]]]:
    """Who lies between whom, units marked by their number."""
    cell = cell_laid.cell

    def name(at: tuple[int, tuple[int, ...]]) -> str:
        return f"{cell.rings[at[0]].name}{at[1][0]:+d}"

    return [
        ({name(p) for p in b.pair}, {(name(w), name(h)) for w, h in b.places})
        for b in betweens(cell)
        if b.kind == kind
    ]


def test_what_must_lie_between_is_read_from_the_steps() -> None:
    # persian_linked: the side rings of the unit before pass through the new middle pair between the
    # two new side rings; byzantine: the pair below between the two folded rings
    (fold,) = names(laid("persian_linked", "calm"), "fold")
    assert fold == (
        {"S1+0", "S2+0"},
        {(f"S{s}-1", f"M{m}+0") for s in (1, 2) for m in (1, 2)},
    )
    (fold,) = names(laid("byzantine"), "fold")
    assert fold == ({"B1+0", "B2+0"}, {(f"C{c}+0", f"A{a}+0") for c in (1, 2) for a in (1, 2)})
    (spread,) = names(laid("byzantine"), "spread")
    assert spread == ({"A1-1", "A2-1"}, {(f"C{c}+0", f"B{b}-1") for c in (1, 2) for b in (1, 2)})
    assert betweens(laid("doubled_chain").cell) == ()


def test_a_spread_is_kept_where_the_chain_hangs_by_it() -> None:
    # the pair put in between the two rings spread apart is what locks these two (common practice,
    # no source)
    assert form("persian_6").spreads_kept
    assert form("byzantine").spreads_kept


def test_a_fold_undone_is_seen() -> None:
    cell, pose = laid("box_chain").cell, form("box_chain").tight
    shape = shape_of(cell)
    centres = np.array([r.centre for r in pose.rings]) / shape.unit
    normals = np.array([r.normal for r in pose.rings])
    turn = pose.repeat[1] if len(pose.repeat) == 2 else 0.0
    layout = Layout(centres, normals, np.array([pose.repeat[0] / shape.unit, turn]))
    (fold,) = [b for b in betweens(cell) if b.kind == "fold"]
    assert kept(shape, layout, fold)
    both = [at[0] for at in fold.pair]
    # both to one side
    beside = centres.copy()
    beside[both[1]] = beside[both[0]] + 0.01 * normals[both[0]]
    turned = normals.copy()
    turned[both[1]] = normals[both[0]]
    assert not kept(shape, replace(layout, centres=beside, normals=turned), fold)
    # folded forward again
    ahead = centres.copy()
    ahead[both, 0] += 2.0
    assert not kept(shape, replace(layout, centres=ahead), fold)


# -- section ---------------------------------------------------------------------------------------


def section(pose: Pose) -> tuple[float, float]:
    """Width of the chain's section the widest way, and crosswise to that, mm over the wires."""
    angles = np.arange(120) * (2 * math.pi / 120)
    rings = copies(pose, [(k,) for k in range(2)])
    points = np.concatenate([rim(r, angles)[:, 1:] for r in rings])
    ways = [np.array([math.cos(a), math.sin(a)]) for a in np.linspace(0, math.pi, 90, False)]
    wide = [float(np.ptp(points @ w)) for w in ways]
    most = int(np.argmax(wide))
    return wide[most] + rings[0].wire, wide[(most + 45) % 90] + rings[0].wire


def test_sections_are_round_and_rectangular() -> None:
    # common practice, no source: the plain chain is round, that with linked pairs is flatter
    plain, linked = form("persian_6").shown, form("persian_linked", "calm").shown
    wide, narrow = section(plain)
    assert wide / narrow == pytest.approx(1.0, abs=0.01)
    wide, narrow = section(linked)
    assert 1.05 < wide / narrow < 1.3
