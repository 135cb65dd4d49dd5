"""Parts of a known size in the states of a piece: how they lie, and which have no place."""

from __future__ import annotations

import math

import numpy as np
import pytest
from helpers import view
from test_cut import said_links, seen_links

from ringstep.paper.film import Shoot, scenes
from ringstep.space.bodies import rim_points
from ringstep.space.state import Ball, Bar, Round
from ringstep.space.states import states_of

BEADS = """\
weave "Beads on links"
rings:
  all  wire 1 mm, inside 6 mm
parts:
  bead  glass, 4 mm, hole 1.5 mm
  hook  ear wire
expect:
  A meets 2 A, 1 bead
start:
  add A through hook picks 1
unit:
  add A through prev A, bead picks 2
piece:
  chain 12 units
"""


def test_a_bead_lies_round_its_ring_in_its_own_size() -> None:
    seen = view(BEADS)
    found = states_of(seen)
    assert found.without == ()
    last = found.states[-1]
    lying = dict(last.rings)
    beads = [r for r in lying if r.role == "bead"]
    assert len(beads) == 2
    for bead in beads:
        assert lying[bead].body == Ball(4, 1.5)
        holder = next(o for link in seen_links(last) if bead in link for o in link - {bead})
        # the ring runs along the hole, and no other ring comes nearer than the bead's outside
        arm = np.subtract(lying[bead].centre, lying[holder].centre)
        along = np.cross(lying[holder].normal, arm)
        lean = abs(along @ np.array(lying[bead].normal)) / np.linalg.norm(along)
        assert lean == pytest.approx(1, abs=1e-6)
        others = [at for r, at in last.rings if r.role == "A" and r != holder]
        away = min(np.linalg.norm(p - lying[bead].centre) for o in others for p in rim_points(o))
        assert away > 2 + 0.5 - 0.05  # and half the other's wire
    assert seen_links(last) == said_links(seen, last)


HUNG = """\
weave "Drop"
rings:
  all  wire 1 mm, inside 5 mm, copper
parts:
  hook  ear wire, {hook}
  tag   brass, 16 mm by 6 mm, hole 2 mm
expect:
  A meets 1 A, 1 hook or 1 A, 1 tag
start:
  add A1 through hook picks 1
  add A2 through A1, tag picks 2
"""


def test_a_flat_part_hangs_on_its_ring_clear_of_all_others() -> None:
    seen = view(HUNG.format(hook="18 mm by 6 mm, hole 2 mm"))
    last = states_of(seen).states[-1]
    lying = dict(last.rings)
    assert seen_links(last) == said_links(seen, last)
    assert sorted(r.role for r in lying) == ["A", "A", "hook", "tag"]
    for part, length in (("hook", 18.0), ("tag", 16.0)):
        (eye,) = (at for r, at in lying.items() if r.role == part)
        assert isinstance(eye.body, Bar)
        # hole and rim, then the flat length, then the half round end: the length that is said
        near, far = np.linalg.norm(eye.body.near), np.linalg.norm(eye.body.far)
        assert far - near + 6 == pytest.approx(length)
        assert eye.body.hole == 2
        for p in bar_points(eye, eye.body):
            for r, at in last.rings:
                if r.role == "A":
                    gap = min(np.linalg.norm(rim_points(at) - p, axis=1)) - (1 + eye.wire) / 2
                    assert gap > -0.06


def bar_points(eye: Round, bar: Bar) -> list[np.ndarray]:
    """The middle plane of a flat part, as far from its rims as it is thick by half."""
    near, far, centre = np.array(bar.near), np.array(bar.far), np.array(eye.centre)
    along = far / np.linalg.norm(far)
    side = np.cross(eye.normal, along)
    half, found = (bar.across - eye.wire) / 2, []
    for x in np.linspace(near @ along - half, far @ along + half, 60):
        for y in np.linspace(-half, half, 9):
            end = np.clip(x, near @ along, far @ along)
            if math.hypot(x - end, y) <= half and math.hypot(x, y) >= (bar.hole + eye.wire) / 2:
                found.append(centre + x * along + y * side)
    return found


def test_a_part_without_room_is_not_drawn_and_told() -> None:
    # a ring of 5 mm cannot run through a bead of 9 mm
    big = HUNG.format(hook="18 mm by 6 mm, hole 2 mm").replace(
        "tag   brass, 16 mm by 6 mm", "tag   glass bead, 9 mm"
    )
    seen = view(big)
    found = states_of(seen)
    assert [r.role for r, _ in found.states[-1].rings].count("tag") == 0
    *_, last = scenes(seen, found, Shoot(both=False))
    assert "The tag is not drawn: no place was found for it." in last.sentence


def test_a_ball_without_a_hole_is_drawn_only_among_what_holds_it() -> None:
    caged = HUNG.format(hook="18 mm by 6 mm, hole 2 mm")
    for old, new in (
        ("through A1, tag picks 2\n", "through A1 picks 1\n  close tag inside A1, A2\n"),
        ("tag   brass, 16 mm by 6 mm, hole 2 mm", "tag   glass bead, {}"),
        ("or 1 A, 1 tag", "or 1 A\n  tag lies inside 2 A"),
    ):
        assert old in caged
        caged = caged.replace(old, new)
    small = view(caged.format("3 mm"))
    lying = {r.role: at for r, at in states_of(small).states[-1].rings}
    assert lying["tag"].body == Ball(3, 0)
    unknown = view(caged.format("old"))
    found = states_of(unknown)
    assert "tag" not in {r.role for r, _ in found.states[-1].rings}
    *_, last = scenes(unknown, found, Shoot(both=False))
    assert "write it as in 'tag  glass bead, old, 12 mm by 6 mm, hole 2 mm'" in last.sentence


def test_the_page_says_how_parts_are_drawn() -> None:
    seen = view(BEADS)
    hung, beaded, *_ = scenes(seen, states_of(seen), Shoot(both=False))
    assert "The hook is not drawn: its size is not given; write it as in" in hung.sentence
    assert "The bead is drawn as a ball of its size with its hole." in beaded.sentence
