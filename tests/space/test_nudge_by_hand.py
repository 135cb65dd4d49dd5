"""Rings of a finite piece drawn gently: where a pull leads them, with sums by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from ringstep.space import nudge
from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.circles import Layout, Shape, shape_of
from ringstep.space.nudge import Pull, Swing, links_right, overlap, parted, pulled

X, Y, Z = np.eye(3)


def shape(count: int, *links: tuple[int, int], wire: float = 0.2) -> Shape:
    """Rings of mean radius 1."""
    rings = tuple(CellRing(str(k), 2 - wire, wire) for k in range(count))
    return shape_of(Cell(rings, tuple(CellLink(a, b, ()) for a, b in links), 0))


def lying(*centres: tuple[float, float, float], **normals: np.ndarray) -> Layout:
    """Facing the eye, or as `n1=...` says."""
    facing = np.array([normals.get(f"n{k}", Z) for k in range(len(centres))], dtype=float)
    return Layout(np.array(centres, dtype=float), facing, np.zeros(0))


ONE, ALONE = shape(1), lying((0, 0, 0))
#: Upright beyond the other, wires of 0.2 just apart, and by half a wire in one another.
APART, DEEP = lying((0, 0, 0), (2.21, 0, 0), n1=Y), lying((0, 0, 0), (2.1, 0, 0), n1=Y)


# -- what pulls ---------------------------------------------------------------------------------


def test_a_ring_is_held_at_its_place_farthest_along_a_tip() -> None:
    lever, way, left = Pull(0, X, Y, 3.0).grip(ONE, lying((0, 0.5, 0)))
    assert lever == pytest.approx(X)
    assert way.tolist() == Y.tolist()
    assert left == pytest.approx(2.5)
    assert Pull(0, X, Y, 3.0).come(ONE, lying((0, 0.5, 0))) == pytest.approx(-2.5)
    assert Pull(0, X, Y, 3.0).come(ONE, lying((0, 3.5, 0))) == pytest.approx(-0.5)
    assert Pull(0, Y, Y, 3.0).come(ONE, ALONE) == pytest.approx(-2.0)


def test_a_ring_is_swung_about_a_place_until_it_points_along_the_way() -> None:
    ring = lying((1, 0, 0))
    lever, way, left = Swing(0, np.zeros(3), Y).grip(ONE, ring)
    assert lever == pytest.approx(X)
    assert way == pytest.approx(Y)
    assert left == pytest.approx(0.3)
    assert Swing(0, np.zeros(3), Y).come(ONE, ring) == pytest.approx(0)
    assert Swing(0, np.zeros(3), X).come(ONE, ring) == pytest.approx(2)
    # Across what it points along, however the way leans: (1, 1) leaves (0, 1).
    leaning = Swing(0, np.zeros(3), np.array([0.6, 0.8, 0]))
    assert leaning.grip(ONE, ring)[1] == pytest.approx(Y)
    # Within an angle whose cosine is 0.9 it is drawn straight along.
    near = np.array([0.95, np.sqrt(1 - 0.95**2), 0])
    assert Swing(0, np.zeros(3), near).grip(ONE, ring)[1] == pytest.approx(near)
    not_yet = np.array([0.89, np.sqrt(1 - 0.89**2), 0])
    assert Swing(0, np.zeros(3), not_yet).grip(ONE, ring)[1] == pytest.approx(Y)
    # And straight back where it points just the other way.
    lever, way, left = Swing(0, np.zeros(3), -X).grip(ONE, ring)
    assert way.tolist() == [-1, 0, 0]
    assert (lever == pytest.approx(X), left) == (True, 0.3)


# -- what is looked at --------------------------------------------------------------------------


def test_how_deep_wires_lie_in_one_another() -> None:
    two = shape(2)
    assert overlap(two, DEEP, [0]) == pytest.approx(0.5)
    assert overlap(two, DEEP, [1]) == pytest.approx(0.5)
    assert overlap(two, DEEP, []) == 0
    assert overlap(two, APART, [0, 1]) == 0
    assert overlap(two, lying((0, 0, 0), (9, 0, 0)), [0, 1]) == 0
    # Of two wires in the thinner: 0.1 and 0.3 need 0.2, so 0.1 is missing of 0.1.
    thick = replace(two, wires=np.array([0.1, 0.3]))
    assert overlap(thick, DEEP, [0, 1]) == pytest.approx(1.0)
    # The third lies in none, and what two others do is not its matter.
    three = lying((0, 0, 0), (2.1, 0, 0), (-9, 0, 0), n1=Y)
    assert overlap(shape(3), three, [2]) == 0


def test_links_are_right_where_just_the_wanted_rings_are_linked() -> None:
    linked = lying((0, 0, 0), (1, 0, 0), n1=Y)
    assert links_right(shape(2, (0, 1)), linked)
    assert not links_right(shape(2), linked)
    assert not links_right(shape(2, (0, 1)), APART)
    assert links_right(shape(2), APART)


# -- one step -----------------------------------------------------------------------------------


def step(
    own: Shape,
    at: Layout,
    pulls: list[Pull | Swing],
    free: list[int],
    soft: float = 0.0,
    **more: Any,
) -> Layout:
    found: Layout | None = nudge._step(
        own,
        at,
        more.get("home", at),
        free,
        pulls,
        np.full(len(free), soft),
        more.get("stiff", 300.0),
    )
    assert found is not None
    return found


def test_a_pull_straight_out_moves_a_ring_without_turning_it() -> None:
    after = step(ONE, ALONE, [Pull(0, X, X, 1.07)], [0])
    # 0.07 is left, against a drag of 0.4: 0.07 / 1.4.
    assert after.centres[0] == pytest.approx([0.05, 0, 0])
    assert after.normals[0] == pytest.approx(Z)
    # Of a farther aim a hand pulls with 0.3 at most, which a step cuts down to 0.1.
    for far, gone in ((9.0, 0.1), (-9.0, -0.1), (1.14, 0.1), (1.13, 0.13 / 1.4)):
        after = step(ONE, ALONE, [Pull(0, X, X, far)], [0])
        assert after.centres[0] == pytest.approx([gone, 0, 0])


def test_a_hand_pulls_with_no_more_than_its_strength() -> None:
    # Two rings drawn by the same hand: with 0.3 and 0.06, so five times as far, and that is 0.1.
    after = step(
        shape(2), lying((0, 0, 0), (9, 0, 0)), [Pull(0, X, X, 5), Pull(1, X, X, 10.06)], [0, 1]
    )
    assert after.centres[:, 0] == pytest.approx([0.1, 9.02])


def test_a_pull_across_a_lever_shifts_and_turns_alike() -> None:
    # Up at the place (1, 0, 0): one part shift and one part turn, each against 0.4.
    after = step(ONE, ALONE, [Pull(0, X, Z, 0.12)], [0])
    assert after.centres[0] == pytest.approx([0, 0, 0.05])  # 0.12 / (0.4 + 1 + 1)
    assert after.normals[0] == pytest.approx([-np.sin(0.05), 0, np.cos(0.05)])
    after = step(ONE, ALONE, [Pull(0, Y, Z, 0.12)], [0])
    assert after.normals[0] == pytest.approx([0, -np.sin(0.05), np.cos(0.05)])
    # In its own plane a ring is not turned.
    after = step(ONE, ALONE, [Pull(0, Y, X, 0.07)], [0])
    assert after.centres[0] == pytest.approx([0.05, 0, 0])
    assert after.normals[0] == pytest.approx(Z)


def test_springs_draw_a_ring_home() -> None:
    home = lying((0.1, 0, -0.05), n0=np.array([0, -np.sin(0.02), np.cos(0.02)]))
    after = step(ONE, ALONE, [], [0], 0.25, home=home)
    # A quarter against 1 and a quarter, where nothing pulls.
    assert after.centres[0] == pytest.approx([0.02, 0, -0.01])
    angle = 0.25 * np.sin(0.02) / 1.25
    assert after.normals[0] == pytest.approx([0, -np.sin(angle), np.cos(angle)])
    # Each free ring its own: the second of three, to the side, with the third held.
    three = lying((0, 0, 0), (9, 0, 0), (18, 0, 0))
    home = lying((1, 0, 0), (9, 0.1, 0), (18, 1, 0), n1=np.array([np.sin(0.02), 0, np.cos(0.02)]))
    after = step(shape(3), three, [], [1], 0.25, home=home)
    assert after.centres == pytest.approx(np.array([[0, 0, 0], [9, 0.02, 0], [18, 0, 0]]))
    assert after.normals[1] == pytest.approx([np.sin(angle), 0, np.cos(angle)])
    both = step(shape(3), three, [], [2, 1], 0.05, home=home)
    assert both.centres[1:] == pytest.approx(np.array([[9, 0.1 / 21, 0], [18, 1 / 21, 0]]))


def test_wires_that_overlap_press_one_another_one_way() -> None:
    after = step(shape(2), DEEP, [], [0, 1], stiff=1e5)
    # By half of the missing each, and a hair of two ten thousandths of the wire more.
    half = (0.1 + 0.2 * 2e-4) / 2
    assert after.centres[:, 0] == pytest.approx([-half, 2.1 + half], abs=1e-6)
    held = step(shape(2), DEEP, [], [1], stiff=1e5)
    assert held.centres[:, 0] == pytest.approx([0, 2.1 + 0.1], abs=1e-6)
    # Such as are apart do not draw one another.
    still = step(shape(2), APART, [], [0, 1], stiff=1e5)
    assert still.centres == pytest.approx(APART.centres)


def test_a_pull_goes_no_farther_than_the_wires_let_it() -> None:
    after = step(shape(2), APART, [Pull(1, -X, -X, -1.0)], [1])
    assert after.centres[1] == pytest.approx([2.2 + 0.2 * 2e-4, 0, 0], abs=2e-3)
    assert after.centres[1, 0] < 2.2


def test_a_step_that_would_change_a_link_is_halved(monkeypatch: pytest.MonkeyPatch) -> None:
    thin, at = shape(2, wire=1e-6), lying((0, 0, 0), (2.03, 0, 0), n1=Y)
    monkeypatch.setattr(nudge, "_PASSES", 0)
    after = step(thin, at, [Pull(1, -X, -X, 9)], [1])
    assert after.centres[1, 0] == pytest.approx(2.03 - 0.025)
    near = lying((0, 0, 0), (2.007, 0, 0), n1=Y)
    assert step(thin, near, [Pull(1, -X, -X, 9)], [1]).centres[1, 0] == pytest.approx(2.00075)
    # Five times is as far as that goes.
    none = nudge._step(thin, lying((0, 0, 0), (2.006, 0, 0), n1=Y), at, [1], [Pull(1, -X, -X, 9)],
                       np.zeros(1), 1.0)  # fmt: skip
    assert none is None


# -- many steps ---------------------------------------------------------------------------------


def test_a_ring_is_drawn_to_its_aim_and_others_stay_near_home() -> None:
    # The second hangs in the first, with room of 0.8 on each side, and follows for a while.
    linked, at = shape(2, (0, 1)), lying((0, 0, 0), (1, 0, 0), n1=Y)
    after = pulled(linked, at, at, [0, 1], [Pull(0, -X, -X, 1.3)])
    assert after.centres[0, 0] == pytest.approx(-0.3, abs=0.01)
    assert after.centres[1] == pytest.approx([1, 0, 0], abs=1e-6)
    # As far as it may: its wire comes to the other's, and draws it along against its spring.
    far = pulled(linked, at, at, [0, 1], [Pull(0, -X, -X, 2.3)])
    assert overlap(linked, far, [0, 1]) == 0
    assert links_right(linked, far)
    assert far.centres[1, 0] < 0.9
    assert far.centres[1, 0] - far.centres[0, 0] == pytest.approx(1.8, abs=0.01)
    # With that one held the pull ends where they touch.
    held = pulled(linked, at, at, [0], [Pull(0, -X, -X, 2.3)])
    assert held.centres[1].tolist() == [1, 0, 0]
    assert held.centres[0, 0] == pytest.approx(-0.8, abs=0.01)


def stepped(monkeypatch: pytest.MonkeyPatch, come: list[float], rounds: int | None = None) -> int:
    """How many steps are done where a pull has come so far after each."""
    left, count = iter(come), 0

    def one(*_: object) -> Layout:
        nonlocal count
        count += 1
        return ALONE

    monkeypatch.setattr(nudge, "_step", one)
    monkeypatch.setattr(Pull, "come", lambda *_: next(left))
    more = {} if rounds is None else {"rounds": rounds}
    pulled(ONE, ALONE, ALONE, [0], [Pull(0, X, X, 2)], **more)
    return count


def test_a_motion_ends_after_six_steps_that_bring_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    assert stepped(monkeypatch, [-1.0] * 99) == 7
    # 0.002 is nothing, 0.003 is something; a way back is nothing.
    assert stepped(monkeypatch, [-1.0, *[-0.9975] * 99]) == 8
    assert stepped(monkeypatch, [-1.0, *[-0.9985] * 99]) == 7
    assert stepped(monkeypatch, [-1.0, -0.997, *[-0.999] * 99]) == 8
    assert stepped(monkeypatch, [-1.0, *[-2.0] * 5, -0.9, *[-2.0] * 99]) == 13
    # What creeps on is not idle, till the rounds are over.
    assert stepped(monkeypatch, [-float(90 - k) for k in range(999)]) == 90
    assert stepped(monkeypatch, [-float(90 - k) for k in range(999)], 5) == 5


def test_rings_that_are_pulled_have_no_spring(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[tuple[list[float], float]] = []

    def one(*words: Any) -> None:
        seen.append((words[5].tolist(), words[6]))

    monkeypatch.setattr(nudge, "_step", one)
    three = lying((0, 0, 0), (9, 0, 0), (18, 0, 0))
    after = pulled(shape(3), three, three, [2, 0, 1], [Pull(0, X, X, 2)])
    assert after is three
    assert seen == [([0.15, 0, 0.15], 300.0)]


def test_wires_are_parted_by_contact_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    two = shape(2)
    after = parted(two, DEEP, [0, 1])
    assert overlap(two, after, [0, 1]) == 0
    assert after.centres[:, 0] == pytest.approx([-0.05, 2.15], abs=1e-4)
    assert parted(two, DEEP, [0, 1], 0) is DEEP
    assert parted(two, APART, [0, 1]) is APART
    count = 0

    def one(*words: Any) -> Layout:
        nonlocal count
        count += 1
        assert (words[3], words[4], words[5].tolist(), words[6]) == ([1], (), [0.0], 1e5)
        assert words[1] is words[2]
        assert words[1] is DEEP
        return DEEP

    monkeypatch.setattr(nudge, "_step", one)
    assert parted(two, DEEP, [1]) is DEEP
    assert count == 60
    monkeypatch.setattr(nudge, "_step", lambda *_: None)
    assert parted(two, DEEP, [1]) is DEEP
