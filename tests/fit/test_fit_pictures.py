"""From where forms are seen; meshes are closed and of the right size."""

from __future__ import annotations

import math
from collections import Counter

import fitted
import numpy as np
import pytest

from ringstep.draw.angle import views
from ringstep.space.mesh import wavefront
from ringstep.space.result import PlacedRing, copies


@pytest.mark.parametrize("name", ["European 4-in-1", "Persian 6-in-1"])
def test_rows_run_right_and_down_and_chains_stand_upright(name: str) -> None:
    pose = fitted.best(name).shown
    for turn in views(pose).values():
        assert np.array(turn) @ np.array(turn).T == pytest.approx(np.eye(3), abs=1e-9)
        assert np.linalg.det(np.array(turn)) == pytest.approx(1)  # seen, not mirrored
    front = np.array(views(pose)["front"])
    zero = (0,) * (len(pose.repeat) - 1)
    home = np.array(copies(pose, [zero])[0].centre)
    along = front @ (np.array(copies(pose, [(*zero[1:], 1)])[0].centre) - home)
    if len(zero) == 2:
        assert along[0] > 0
        assert along[1] == pytest.approx(0, abs=1e-9)
        below = front @ (np.array(copies(pose, [(1, 0)])[0].centre) - home)
        assert below[1] < 0
    else:
        assert along[1] > 0  # the start end is down


def test_mesh_is_a_closed_torus() -> None:
    ring = PlacedRing("a b\nv 1 1 1", 0, (), (1.0, 2.0, 3.0), (0.6, 0.0, 0.8), 4.0, 1.0)
    text = wavefront([ring], around=160, across=80)
    rows = [line.split() for line in text.splitlines()]
    points = np.array([[float(x) for x in r[1:]] for r in rows if r[0] == "v"])
    faces = [[int(x) - 1 for x in r[1:]] for r in rows if r[0] == "f"]
    assert len(points) == 160 * 80
    edges = Counter(frozenset((f[k], f[(k + 1) % 4])) for f in faces for k in range(4))
    assert set(edges.values()) == {2}
    assert len(points) - len(edges) + len(faces) == 0  # Euler's number of a torus
    volume = 0.0
    for a, b, c, d in faces:
        for one, two, three in ((a, b, c), (a, c, d)):
            volume += float(np.dot(points[one], np.cross(points[two], points[three]))) / 6
    # torus volume 2 pi^2 R r^2; R = 4, r = 1/2 gives 19.7392
    assert volume == pytest.approx(19.7392, rel=2e-3)
    assert volume == pytest.approx(2 * math.pi**2 * 4 * 0.25, rel=2e-3)


def test_mesh_needs_three_faces() -> None:
    with pytest.raises(ValueError, match="three faces"):
        wavefront([], around=2)
