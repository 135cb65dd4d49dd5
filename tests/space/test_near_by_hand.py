"""How two circles pass one another: places, links and crossings known by hand."""

from __future__ import annotations

import numpy as np
import pytest

from ringstep.space.near import (
    Circles,
    across,
    cross,
    crossing,
    crossings,
    link_sign,
    near_places,
    rim,
    turned,
    vector,
)

X, Y, Z = np.eye(3)
Place = tuple[float, float, float]
ZERO, ONE = np.zeros(3), np.ones(1)


def test_products_and_turns() -> None:
    assert cross(np.array([1.0, 2, 3]), np.array([4.0, 5, 7])).tolist() == [-1, 5, -3]
    assert cross(np.eye(3), np.eye(3)[[1, 2, 0]]) == pytest.approx(np.eye(3)[[2, 0, 1]])
    quarter = turned(np.array([[1.0, 2, 3], [4, 5, 6]]), np.array([np.pi / 2, np.pi]))
    assert quarter == pytest.approx(np.array([[1, -3, 2], [4, -5, -6]]))
    assert vector(np.array([1, 2, 3])) == (1.0, 2.0, 3.0)


@pytest.mark.parametrize("normal", [X, Y, Z, -Z, np.array([0.6, 0, 0.8]), np.array([2, -3, 6]) / 7])
def test_two_vectors_lie_across_a_normal(normal: np.ndarray) -> None:
    u, v = across(normal)
    assert np.array([u, v, normal]) @ np.array([u, v, normal]).T == pytest.approx(np.eye(3))
    assert np.linalg.det(np.array([u, v, normal])) == pytest.approx(1)


def test_the_farthest_place_of_a_ring() -> None:
    assert rim(Z, 2.0, X) == pytest.approx([2, 0, 0])
    assert rim(Z, 2.0, np.array([0.6, 0, 0.8])) == pytest.approx([2, 0, 0])
    assert rim(np.array([0.6, 0.8, 0]), 1.0, X) == pytest.approx([0.8, -0.6, 0])
    assert rim(Z, 2.0, Z) == pytest.approx([0, 0, 0])


# -- places -------------------------------------------------------------------------------------


def places(
    away: tuple[float, float, float],
    normal: np.ndarray,
    other: np.ndarray,
    radius: float = 1.0,
    other_radius: float = 1.0,
    samples: int = 72,
    within: float | None = None,
    reach: float | None = None,
) -> list[list[float]]:
    """Of a circle so far away from another: gap, and levers on both."""
    pair = Circles(np.array([away]), normal[None], other[None], radius * ONE, other_radius * ONE)
    more = None if reach is None else np.array([reach])
    row, own, lever = near_places(pair, samples, within, more)
    assert set(row.tolist()) <= {0}
    gaps = np.linalg.norm(np.array(away) + own - lever, axis=1)
    return [[gap, *a, *b] for gap, a, b in zip(gaps, own.tolist(), lever.tolist(), strict=True)]


def test_circles_beside_one_another_are_nearest_in_between() -> None:
    # The first lies 2.5 ahead: its nearest place is behind its middle, the other's before its own.
    for normal in (Z, Y, -Z):
        found = min(places((2.5, 0, 0), normal, Z))
        assert found == pytest.approx([0.5, -1, 0, 0, 1, 0, 0], abs=1e-6)
    found = min(places((3.5, 0, 0), Z, Z, 2.0, 0.5))
    assert found == pytest.approx([1, -2, 0, 0, 0.5, 0, 0], abs=1e-6)
    # One over the other, a little aside.
    found = min(places((0.3, 0, 2), Z, Z, 1.0, 2.0))
    assert found[0] == pytest.approx(np.hypot(2, 0.7))
    assert found[1:4] == pytest.approx([1, 0, 0], abs=1e-6)


def test_a_place_between_samples_is_found_exactly() -> None:
    # The nearest places lie along (cos, sin) of any angle, whichever angles are looked at.
    for degrees in (1.0, 17.0, 33.3, 88.0):
        angle = np.radians(degrees)
        way = np.array([np.cos(angle), np.sin(angle), 0])
        found = min(places(tuple(2.5 * way), Z, Z, samples=12))  # type: ignore[arg-type]
        assert found[0] == pytest.approx(0.5, abs=1e-9)
        assert found[1:4] == pytest.approx(-way, abs=1e-5)
        assert found[4:] == pytest.approx(way, abs=1e-5)


def test_a_ring_through_another_is_near_it_on_two_sides() -> None:
    # An upright ring whose middle lies in the other's rim is 1 away from it all round; nearer the
    # middle it is nearest where it passes the opening, on each side.
    found = sorted(places((0.2, 0, 0), X, Z))
    assert len(found) == 2
    for gap, *levers in found:
        side = np.sign(levers[1])
        # The ring lies in the plane x = 0.2; by symmetry its places are at y = 1 and y = -1.
        assert gap == pytest.approx(np.hypot(1, 0.2) - 1, abs=1e-9)
        assert levers[:3] == pytest.approx([0, side, 0], abs=1e-6)
        assert levers[3:] == pytest.approx(np.array([0.2, side, 0]) / np.hypot(1, 0.2), abs=1e-6)
    assert {np.sign(levers[1]) for _, *levers in found} == {1, -1}


def test_only_places_within_reach_are_looked_for() -> None:
    assert len(places((2.5, 0, 0), Z, Z, reach=0.51)) == 1
    assert places((2.5, 0, 0), Z, Z, reach=0.45) == []
    assert len(places((2.5, 0, 0), Z, Z, reach=0.48)) == 1  # half a step of 72 may be missed
    # Samples are taken as well, up to so far beyond the nearest: 12 of them, 30 degrees apart.
    assert len(places((0, 0, 0.3), Z, Z, within=0.1)) >= 12
    plain = places((2.2, 0, 0), Z, Z)
    some = places((2.2, 0, 0), Z, Z, within=0.3)
    # 30 degrees to each side it is (1.334, 0.5), 0.42 from the other; 60 degrees to a side 0.92.
    assert len(some) - len([p for p in plain if p[0] < 0.5]) >= 2
    assert max(p[0] for p in some if p not in plain) < 0.5
    assert len(places((2.2, 0, 0), Z, Z, within=0.2)) == len(plain)
    assert len(places((2.2, 0, 0), Z, Z, within=0.3, reach=0.3)) == 1


# -- links --------------------------------------------------------------------------------------


def sign(away: Place, normal: np.ndarray = Y, r: float = 1.0, s: float = 1.0) -> int:
    return int(link_sign(ZERO, Z, np.array(r), np.array(away), normal, np.array(s)))


def test_links_of_upright_circles() -> None:
    # z x y is -x.
    assert (sign((1, 0, 0)), sign((-1, 0, 0)), sign((1, 0, 0), -Y)) == (-1, 1, 1)
    assert (sign((1.99, 0, 0)), sign((2.01, 0, 0))) == (-1, 0)
    assert (sign((1, 0.99, 0)), sign((1, 0, 0.99)), sign((0.01, 0, 0))) == (-1, -1, -1)
    assert (sign((1, 1.01, 0)), sign((1, 0, 1.01))) == (0, 0)
    assert (sign((1, 0.5, 0)), sign((1, 0, 0.5)), sign((1, 0.5, 0.5))) == (-1, -1, -1)
    # A smaller one inside of a larger is linked where one end is in and the other out.
    assert (sign((0, 0, 0), Y, 2.0, 0.5), sign((1.4, 0, 0), Y, 2.0, 0.5)) == (0, 0)
    assert (sign((1.6, 0, 0), Y, 2.0, 0.5), sign((2.4, 0, 0), Y, 2.0, 0.5)) == (-1, -1)
    assert sign((2.6, 0, 0), Y, 2.0, 0.5) == 0
    assert (sign((1.6, 0, 0), Y, 0.5, 2.0), sign((1.4, 0, 0), Y, 0.5, 2.0)) == (-1, 0)
    # Out of its plane by more than its radius it does not even reach it.
    assert sign((1.9, 0, 0.51), Y, 2.0, 0.5) == 0
    assert (sign((0, 0, 1.1), X), abs(sign((0, 1.1, 0), X))) == (0, 1)


def test_circles_in_one_plane_are_not_linked() -> None:
    assert (sign((1, 0, 0), Z), sign((0, 0, 0.5), Z), sign((3, 0, 0), Z)) == (0, 0, 0)


# -- crossings ----------------------------------------------------------------------------------


def test_a_circle_passes_a_disc_nearest_to_its_middle() -> None:
    ahead = np.array([1.0, 0, 0])
    assert crossing(ahead, Y, 1.0, ZERO, Z) == pytest.approx([0, 0, 0])
    assert crossing(-ahead, Y, 1.0, ZERO, Z) == pytest.approx([0, 0, 0])
    assert crossing(ahead, Y, 0.5, 3 * X, -Z) == pytest.approx([1.5, 0, 0])
    assert crossing(ahead + 1.1 * Z, Y, 1.0, ZERO, Z) is None  # it does not reach the plane
    assert crossing(ahead, Z, 1.0, ZERO, Z) is None  # planes that do not meet
    assert crossing(ahead, np.array([0, 0.6, 0.8]), 1.0, ZERO, Z) == pytest.approx([0, 0, 0])
    several = crossings(np.array([ahead, ahead]), np.array([Y, Z]), 1.0, np.zeros((2, 3)), Z)
    assert several[0] == pytest.approx([0, 0, 0])
    assert np.isnan(several[1]).all()
