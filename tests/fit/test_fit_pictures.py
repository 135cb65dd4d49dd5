"""Pictures hide what is behind; meshes are closed and of the right size."""

from __future__ import annotations

import itertools
import math
import re
import xml.etree.ElementTree as ElementTree
from collections import Counter

import cells
import fitted
import numpy as np
import pytest

from ringstep.draw.shaded import ARCS, Rows, Scene, picture, views
from ringstep.space.mesh import wavefront
from ringstep.space.result import PlacedRing, copies


def several(name: str) -> tuple[PlacedRing, ...]:
    """A few units of the best form."""
    form = fitted.best(name)
    if form.cell.dims == 2:
        return copies(form.shown, list(itertools.product(range(2), range(3))))
    return copies(form.shown, [(k,) for k in range(max(2, 8 // len(form.cell.rings)))])


def front(name: str) -> Rows:
    """The front view of the best form."""
    return views(fitted.best(name).shown)["front"]


@pytest.mark.parametrize("name", ["European 4-in-1", "Persian 6-in-1"])
def test_rows_run_right_and_down(name: str) -> None:
    pose = fitted.best(name).shown
    for turn in views(pose).values():
        assert np.array(turn) @ np.array(turn).T == pytest.approx(np.eye(3), abs=1e-9)
        assert np.linalg.det(np.array(turn)) == pytest.approx(1)  # seen, not mirrored
    zero = (0,) * (len(pose.repeat) - 1)
    home = np.array(copies(pose, [zero])[0].centre)
    right = np.array(copies(pose, [(*zero[1:], 1)])[0].centre) - home
    there = np.array(front(name)) @ right
    assert there[0] > 0
    if len(zero) == 2:
        assert there[1] == pytest.approx(0, abs=1e-9)
        below = np.array(front(name)) @ (np.array(copies(pose, [(1, 0)])[0].centre) - home)
        assert below[1] < 0


@pytest.mark.parametrize("view", ["front", "side"])
@pytest.mark.parametrize("name", cells.QUICK)
def test_what_is_nearer_is_drawn_later(name: str, view: str) -> None:
    rings = several(name)
    turn = views(fitted.best(name).shown)[view]
    scene = Scene(rings, np.array(turn), 6400)
    last = np.full((len(rings), ARCS), -1)
    for when, layer in enumerate(scene.layers()):
        for run in layer:
            last[run.ring, (run.first + np.arange(run.count)) % ARCS] = when
    assert last.min() >= 0
    wrong = looked = 0
    for a, b in itertools.combinations(range(len(rings)), 2):
        flat = np.linalg.norm(scene.points[a][:, None, :2] - scene.points[b][None, :, :2], axis=2)
        over = flat < 0.45 * (scene.wires[a] + scene.wires[b])
        higher = scene.points[b][None, :, 2] > scene.points[a][:, None, 2]
        later = last[b][None, :] > last[a][:, None]
        looked += int(over.sum())
        wrong += int((over & (higher != later)).sum())
    assert looked > 0
    assert wrong == 0


def test_picture_is_small_and_grey() -> None:
    rings = several("European 4-in-1")
    text = picture(rings, front("European 4-in-1"))
    assert len(text) < 4000 * len(rings)
    ElementTree.fromstring(text)
    colours = set(re.findall(r'stroke="(#[0-9a-f]+)"', text))
    assert colours
    for colour in colours:
        digits = colour[1:]
        third = len(digits) // 3
        assert len({digits[k * third : (k + 1) * third] for k in range(3)}) == 1


def test_pictures_with_one_frame_have_one_scale() -> None:
    rings, view = several("Persian 6-in-1"), front("Persian 6-in-1")
    whole, part = picture(rings, view), picture(rings[:2], view, frame=rings)
    box = re.compile(r'viewBox="([^"]+)"')
    wide = re.compile(r'stroke="#8f8f8f" stroke-width="(\d+)"')
    assert box.findall(whole) == box.findall(part)
    assert set(wide.findall(whole)) == set(wide.findall(part))
    assert box.findall(picture(rings[:2], view)) != box.findall(part)


def test_new_ring_stands_out() -> None:
    rings = several("simple chain")
    text = picture(rings, front("simple chain"), new={1}, through={0})
    plain = picture(rings, front("simple chain"))
    widths = [float(w) for w in re.findall(r'stroke-width="([\d.]+)"', text)]
    assert 'stroke="#000"' in text
    assert 'stroke="#000"' not in plain
    assert max(widths) > 0
    # the heavy outline leaves less room for the body of the new ring
    body = re.findall(r'stroke="#4a4a4a" stroke-width="([\d.]+)"', text)
    assert body
    assert float(body[0]) < 0.8 * max(widths)


def test_names_cannot_break_out() -> None:
    text = picture(several("simple chain"), front("simple chain"), title="<script>&\"'")
    root = ElementTree.fromstring(text)
    title = root.find("{http://www.w3.org/2000/svg}title")
    assert title is not None
    assert title.text == "<script>&\"'"


def test_empty_is_refused() -> None:
    with pytest.raises(ValueError, match="no rings"):
        picture([], front("simple chain"))


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
