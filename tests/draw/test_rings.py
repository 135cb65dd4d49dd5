"""Pictures of real rings: what hides what, arrows, names, tones, size."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from xml.etree import ElementTree

import depth
import heaps
import numpy as np
import pytest

from ringstep.draw.angle import View, best_view, near_work, turned
from ringstep.draw.arrows import moves, way_of
from ringstep.draw.rings import after, before, picture
from ringstep.space.state import Round, State

SCALE = 6.0
SVG = "{http://www.w3.org/2000/svg}"
CHAINS = ("byzantine", "box_chain", "persian_6")
SHEETS = ("european_4", "japanese_hexagonal")
LOOKS = {
    **dict.fromkeys(CHAINS, (("chain", 50, 20), ("chain", 20, -20), ("chain", -45, 20))),
    **dict.fromkeys(SHEETS, (("sheet", 0, 15), ("sheet", 15, -30), ("sheet", 33, 10))),
}


def compared(rings: list[Round], view: View) -> tuple[int, int]:
    """Wrong pixels, and pixels that hold a ring."""
    found, offset = depth.strokes(picture(rings, view, scale=SCALE), rings, view, SCALE)
    assert {stroke.ring for stroke in found if stroke.whole} == set(range(len(rings)))
    far = np.concatenate([stroke.points for stroke in found]).max(axis=0) + 12
    size = (int(far[1]), int(far[0]))
    return depth.wrong(depth.buffer(rings, view, SCALE, offset, size), depth.painted(found, size))


@pytest.mark.parametrize("name", LOOKS)
def test_fitted_weaves_hide_what_lies_behind(name: str) -> None:
    rings = heaps.weave(name)
    assert len(rings) > 30
    looks = [compared(rings, turned(*look)) for look in LOOKS[name]]
    wrong, shown = (sum(part) for part in zip(*looks, strict=True))
    assert shown > 20_000
    assert wrong / shown < 0.001


def test_heaps_hide_what_lies_behind() -> None:
    total = [0, 0]
    for seed in range(6):
        wrong, shown = compared(heaps.heap(14, seed), turned("piece", 10 * seed, 5 * seed))
        total = [total[0] + wrong, total[1] + shown]
    assert total[1] > 20_000
    assert total[0] / total[1] < 0.001


def test_the_comparison_sees_a_ring_on_the_wrong_side() -> None:
    rings = heaps.weave("european_4")
    view = turned("sheet", 0, 15)
    found, offset = depth.strokes(picture(rings, view, scale=SCALE), rings, view, SCALE)
    far = np.concatenate([stroke.points for stroke in found]).max(axis=0) + 12
    size = (int(far[1]), int(far[0]))
    truth = depth.buffer(rings, view, SCALE, offset, size)
    wrong, shown = depth.wrong(truth, depth.painted([s for s in found if s.whole], size))
    assert wrong / shown > 0.005  # without its mends the picture would be wrong


@pytest.mark.parametrize("name", LOOKS)
def test_linked_rings_pass_over_and_under_one_another(name: str) -> None:
    """Each linked pair alone: its crossings are right, and neither lies wholly on the other."""
    rings = heaps.weave(name, 14)
    view = turned(*LOOKS[name][0])
    pairs = [(a, b) for a, b in itertools.combinations(rings, 2) if heaps.linked(a, b)]
    assert len(pairs) > 5
    for a, b in pairs:
        wrong, shown = compared([a, b], view)
        assert wrong <= 0.002 * shown
        runs, _ = depth.strokes(picture([a, b], view, scale=SCALE), [a, b], view, SCALE)
        assert not all(run.whole for run in runs)


def edge_on(turn: float) -> list[Round]:
    """A ring lying flat to the eye, and one through it, `turn` radians from its edge."""
    normal = (float(np.cos(turn)), 0.0, float(np.sin(turn)))
    return [
        Round((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 4.0, 1.0),
        Round((0.0, 4.0, 0.0), normal, 4.0, 1.0),
    ]


@pytest.mark.parametrize("turn", [0.0, 0.005, 0.03, 0.1, 0.2, 0.4])
def test_a_ring_seen_from_its_edge_goes_through(turn: float) -> None:
    wrong, shown = compared(edge_on(turn), turned("piece", 0, 0))
    assert shown > 500
    assert wrong <= 2


def test_pictures_are_small() -> None:
    for name, (look, *_) in LOOKS.items():
        some, many = (picture(heaps.weave(name, n), turned(*look)) for n in (12, 42))
        assert len(some) < 15_000
        assert len(many) < 36_000
        assert many.count("<path") < 200
        for point in re.findall(r'(?<![\w-])d="([^"]+)"', many):
            assert "." not in point  # tenths of a pixel, nothing finer


# -- steps ----------------------------------------------------------------------------------------


def in_work(name: str) -> State:
    """The last ring of a few units as new, through all it is linked with."""
    rings = heaps.weave(name, 20)
    last = len(rings) - 1
    through = [k for k in range(last) if heaps.linked(rings[k], rings[last])]
    assert through
    return heaps.state(rings, [last], through)


@pytest.mark.parametrize("name", LOOKS)
def test_tones_say_what_is_new_and_what_it_goes_through(name: str) -> None:
    work = in_work(name)
    view = best_view([work], "chain" if name in CHAINS else "sheet")
    svg = after(work, view)
    tones = {"#474747": len(work.new), "#9a9a9a": len(work.through)}
    for body, count in tones.items():
        drawn = re.findall(rf'<use href="#([^"]+)" stroke="{body}"', svg)
        whole = sum(re.search(rf'id="{mark}" d="([^"]*)"', svg)[1].count("z") for mark in drawn)  # type: ignore[index]
        assert whole >= count
    greys = [int(tone[1:3], 16) for tone in ("#474747", "#9a9a9a", "#dedede")]
    assert all(b - a > 60 for a, b in itertools.pairwise(greys))
    colours = set(re.findall(r'(?:stroke|fill)="#([0-9a-f]+)"', svg))
    assert all(len(set(re.findall("..", c) if len(c) == 6 else c)) == 1 for c in colours)


@pytest.mark.parametrize("name", LOOKS)
def test_the_arrow_goes_through_what_the_new_ring_will(name: str) -> None:
    """Where the arrow is painted, a thin ring in the new one's place is nearest to the eye."""
    work = in_work(name)
    view = best_view([work], "chain" if name in CHAINS else "sheet")
    lying = dict(work.rings)
    there = [ring for key, ring in work.rings if key not in work.new]
    new, through = [lying[r] for r in work.new], [lying[r] for r in work.through]
    drawn = picture(there, view, arrows=[way_of(new[0], through)], scale=10.0)
    assert "stroke-dasharray" in drawn  # what runs behind is told over the rings, thin and dashed
    drawn = re.sub(r"<path [^>]*stroke-dasharray[^>]*/>", "", drawn)
    rings = [*there, replace(new[0], wire=0.4 * new[0].wire)]
    found, offset = depth.strokes(drawn, there, view, 10.0, rings[-1:])
    far = np.concatenate([stroke.points for stroke in found]).max(axis=0) + 12
    size = (int(far[1]), int(far[0]))
    truth, shown = depth.buffer(rings, view, 10.0, offset, size), depth.painted(found, size)
    arrow = shown == len(there)
    way = [stroke for stroke in found if stroke.ring == len(there)]
    alone = depth.painted(way, size) == len(there)
    assert arrow.sum() > 60
    assert 0.1 < arrow.sum() / alone.sum() < 0.98  # some of it goes behind, most can be seen
    wrong, _ = depth.wrong(np.where(arrow, truth, -1), np.where(arrow, shown, -1))
    assert wrong <= 0.02 * arrow.sum()
    svg = before(work, view)
    assert "#474747" not in svg  # the new ring itself is not there
    # the arrow's head, and a white one with a red rim over the rings where they hide it
    hidden = len(re.findall(r'z" fill="#fff"/>', svg))
    assert svg.count('fill="#a80c0c"') == 1 + hidden <= 2
    assert "#a80c0c" not in after(work, view)


def test_a_moved_ring_has_an_arrow_to_where_it_goes() -> None:
    here = edge_on(0.4)
    there = [here[0], replace(here[1], centre=(0.0, 3.0, 2.5), normal=(0.0, 0.9, 0.43589))]
    earlier, work = heaps.state(here, [], []), heaps.state(there, [], [])
    ring = work.rings[1][0]
    for move in ("fold", "spread", "turn"):
        told = replace(work, moved=((ring, move),))  # type: ignore[arg-type]
        view = turned("piece", 20, 20)
        # work that is turned over has a sign beside it and no arrow
        assert before(told, view, earlier).count('fill="#a80c0c"') == (move != "turn")
        assert "#a80c0c" not in before(told, view)
        assert "#474747" in before(told, view, earlier)


def test_the_place_of_work_is_shown() -> None:
    work = in_work("byzantine")
    near = near_work(work)
    about = {work.rings[k][0] for k in near}
    assert {*work.new, *work.through} <= about
    assert len(near) == 7
    svg = after(work, turned("chain", 50, 20))
    assert svg.count("z") < len(work.rings) * 2  # what is far away is not in the file


def test_the_best_view_shows_most_of_the_new_ring() -> None:
    """One ring behind another when looked at from the front: the view is another."""
    rings = [
        Round((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 4.0, 1.0),
        Round((0.0, 0.0, -1.5), (0.0, 0.0, 1.0), 4.0, 1.0),
    ]
    assert best_view([heaps.state(rings, [1], [])], "sheet") != turned("sheet", 0, 0)
    assert best_view([heaps.state(rings[:1], [0], [])], "sheet") == turned("sheet", 0, 0)


@pytest.mark.parametrize("kind", ["chain", "loop", "sheet", "tube"])
def test_chains_stand_upright_and_sheets_lie_as_the_worker_sees_them(kind: str) -> None:
    view = np.array(best_view([in_work("european_4")], kind))
    assert view @ view.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(view) == pytest.approx(1)
    along = view @ np.array([1.0, 0.0, 0.0])
    assert int(np.argmax(along)) == (1 if kind in ("chain", "loop") else 0)


# -- words ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", LOOKS)
def test_names_do_not_overlap(name: str) -> None:
    work = in_work(name)
    names = {ring: f"R{ring.index}" for ring, _ in work.rings}
    for roll in (0, 20, 50, 90):
        svg = after(work, turned("chain" if name in CHAINS else "sheet", roll, 15), names)
        root = ElementTree.fromstring(svg)
        left, top, wide, high = (float(x) for x in root.attrib["viewBox"].split())
        boxes = []
        for text in root.iter(f"{SVG}text"):
            if text.get("aria-hidden"):  # the white rim of the name that follows
                continue
            x, y = float(text.attrib["x"]), float(text.attrib["y"])
            size = float(text.attrib["font-size"])
            half = 0.58 * size * len(text.text or "") / 2  # a plain font's letters
            boxes.append((x - half, y - 0.75 * size, x + half, y + 0.05 * size))
        assert len(boxes) >= 5
        for box in boxes:
            assert left <= box[0]
            assert box[2] <= left + wide
            assert top <= box[1]
            assert box[3] <= top + high
        for a, b in itertools.combinations(boxes, 2):
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_words_cannot_break_out() -> None:
    work = in_work("european_4")
    bad = '<script>&"\x1b[31m'
    names = dict.fromkeys(work.new, bad)
    svg = after(work, turned("sheet", 0, 0), names, title=bad, words=bad)
    root = ElementTree.fromstring(svg)
    for tag in ("title", "desc", "text"):
        found = root.find(f"{SVG}{tag}")
        assert found is not None
        assert found.text == '<script>&"␛[31m'
    assert "<script" not in svg


def test_two_pictures_on_one_page_keep_their_own_paths() -> None:
    one, other = (picture(heaps.heap(5, seed), turned("piece", 0, 0)) for seed in (1, 2))
    ids = [set(re.findall(r'id="([^"]+)"', svg)) for svg in (one, other)]
    assert all(ids)
    assert not ids[0] & ids[1]
    assert set(re.findall(r'href="#([^"]+)"', one)) == ids[0]


def test_kinds_have_tones_of_their_own_and_one_frame_one_scale() -> None:
    rings, view = heaps.weave("byzantine", 12), turned("chain", 50, 20)
    plain, kinds = picture(rings, view), picture(rings, view, kinds=[k % 3 for k in range(12)])
    tones = [set(re.findall(r'<use [^>]*stroke="(#\w+)"', svg)) for svg in (plain, kinds)]
    assert len(tones[0]) < len(tones[1])
    box = re.compile(r'viewBox="([^"]+)"')
    assert box.findall(picture(rings[:2], view, frame=rings)) == box.findall(plain)
    assert box.findall(picture(rings[:2], view)) != box.findall(plain)


def test_no_rings_are_refused() -> None:
    with pytest.raises(ValueError, match="no rings"):
        picture([], turned("piece", 0, 0))


def test_an_arrow_goes_in_from_the_side_that_is_said() -> None:
    """Along it the first point lies on the side of the worker, or behind where that is said."""
    flat = Round((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 3.0, 1.0)
    upright = Round((3.0, 0.0, 0.0), (0.0, 1.0, 0.0), 3.0, 1.0)
    for behind in (False, True):
        arrow = way_of(upright, [flat], behind)
        strand, spare = arrow.strand, arrow.spare
        first, last = strand.at(np.array([strand.start, strand.start + strand.span]))
        assert spare > 0
        assert (first[2] > last[2]) != behind


def test_arrows_of_two_rings_spread_part_and_of_two_folded_fall_to_their_sides() -> None:
    left, right = (Round((x, 5.0, 0.0), (1.0, 0.0, 0.0), 3.0, 1.0) for x in (-1.0, 1.0))
    apart = [replace(r, centre=(3 * r.centre[0], 5.0, 0.0)) for r in (left, right)]
    view = turned("piece", 0, 0)
    one, two = moves([(left, apart[0], "spread"), (right, apart[1], "spread")], view)
    ends = [
        a.strand.at(np.array([a.strand.start, a.strand.start + a.strand.span])) for a in (one, two)
    ]
    assert ends[0][1, 0] < ends[0][0, 0]
    assert ends[1][1, 0] > ends[1][0, 0]
    down = [replace(r, centre=(3 * r.centre[0], -1.0, 0.0)) for r in (left, right)]
    for arrow, side in zip(
        moves([(left, down[0], "fold"), (right, down[1], "fold")], view), (-1, 1), strict=True
    ):
        path = arrow.strand.at(arrow.strand.angles(np.arange(49.0)))
        assert path[-1, 1] < path[0, 1] - 6  # from the top of the ring to below it
        assert side * path[:, 0].max(initial=-99) > side * 0  # bows to its own side
        assert path[:, 2].min() > 50  # over all that is drawn
