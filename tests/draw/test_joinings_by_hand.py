"""Where pieces made first and the rings that join them lie on paper, in points worked out by hand.

A rail is four rings of 18 points in a row, 31 from middle to middle; with 4 points round them for a
second circle it takes 119 by 26 points.
"""

from __future__ import annotations

import pytest
from helpers import view

from ringstep.draw.diagrams import all_diagrams
from ringstep.draw.geometry import clearance
from ringstep.draw.pictures import CAPTION, Diagram, text_width

RAILS = """\
weave "Rails"
rings:
  all  wire 1 mm, inside 5 mm, copper
piece rail:
  chain 3 units
  made {made}
start:
  close A
unit:
  add A through prev A picks 1
join:
{steps}"""
END_TO_END = "add rung through rail {} last A, rail {} first A picks 2"
LONG = "add rung through rail 1 A along every unit, rail 2 A along every unit picks 2"
#: 'rung' is four letters of 0.34, 0.58, 0.58 and 0.58 em, of 8 points, with 3 on both sides.
RUNG = 2.08 * 8 + 6


def drawn(made: str, *steps: str, name: str = "window") -> Diagram:
    seen = view(RAILS.format(made=made, steps="".join(f"  {step}\n" for step in steps)))
    assert not seen.troubles
    return next(d for d in all_diagrams(seen) if d.name == name)


def rungs(diagram: Diagram) -> list[tuple[float, float]]:
    return [n.at for n in diagram.nodes if n.ring.role == "rung"]


def names(diagram: Diagram) -> dict[str, tuple[float, float]]:
    return {c.text: c.at for c in diagram.captions if c.strong}


def check_frame(diagram: Diagram) -> None:
    """All of a picture lies within its frame."""
    left, low, right, top = diagram.frame
    for node in diagram.nodes:
        half = node.across / 2 + 4
        assert left <= node.at[0] - half + 1e-6
        assert node.at[0] + half <= right + 1e-6
        assert low <= node.at[1] - half + 1e-6
        assert node.at[1] + half <= top + 1e-6
    for caption in diagram.captions:
        half = text_width(caption.text, CAPTION) / 2
        assert left <= caption.at[0] - half
        assert caption.at[0] + half <= right
        assert low <= caption.at[1] - CAPTION / 2
        assert caption.at[1] + CAPTION / 2 <= top


def test_two_rails_end_to_end() -> None:
    whole = drawn("twice", END_TO_END.format(1, 2))
    xs = sorted(n.at[0] for n in whole.nodes if n.ring.role == "A")
    # 56 points are left free between the rails; the ring that joins them stands in their middle.
    assert xs == [13 + 31 * k for k in range(4)] + [119 + 56 + 13 + 31 * k for k in range(4)]
    assert rungs(whole) == [(119 + 28, -13)]
    assert [n.across for n in whole.nodes if n.ring.role == "rung"] == [pytest.approx(RUNG)]
    # Two links to it, from outline to outline.
    (rung,) = (n.key for n in whole.nodes if n.ring.role == "rung")
    ends = sorted(sorted((x.path[0][0], x.path[3][0])) for x in whole.lines if rung in (x.a, x.b))
    assert ends[0] == pytest.approx([106 + 9, 147 - RUNG / 2], abs=0.01)
    assert ends[1] == pytest.approx([147 + RUNG / 2, 188 - 9], abs=0.01)
    assert {x.mark for x in whole.lines} == {"old"}
    # The names stand over the left corners of the rails, 6 points within them.
    half = (3 * 0.34 + 2 * 0.24 + 2 * 0.58 - 0.34) / 2 * 7.5
    assert names(whole) == {
        "rail 1": pytest.approx((6 - half, 6.5)), "rail 2": pytest.approx((175 + 6 - half, 6.5)),
    }  # fmt: skip
    # The page: 30 points beside the middle of a name, 6 over it; 4 round the largest ring.
    assert whole.frame == pytest.approx((6 - half - 30, -13 - RUNG / 2 - 4, 294, 12.5))
    check_frame(whole)
    step = drawn("twice", END_TO_END.format(1, 2), name="step-03")
    ring = next(n for n in step.nodes if n.ring.role == "rung")
    assert (ring.mark, ring.at, ring.full) == ("new", (147, -13), "rung")
    assert {n.full for n in step.nodes if n.mark == "through"} == {"A, rail 1", "A, rail 2"}
    new = sorted(x.path[0][0] for x in step.lines if x.mark == "new")
    assert len(new) == 2
    ends = sorted(sorted((x.path[0][0], x.path[3][0])) for x in step.lines if x.mark == "new")
    assert ends[0] == pytest.approx([115, 147 - RUNG / 2 - 4], abs=0.01)  # at its second circle
    assert step.title == "After step 3"


def test_two_rails_side_by_side() -> None:
    whole = drawn("twice", LONG)
    heights = {n.at[1] for n in whole.nodes if n.ring.role == "A"}
    # A rail and the band of 13 for its name are 39 high; 56 are left free below that.
    assert heights == {-13, -13 - 39 - 56}
    assert rungs(whole) == [(13 + 31 * k, (-26 - 95) / 2) for k in range(4)]
    check_frame(whole)
    assert drawn("twice", LONG, name="step-03").alt.startswith("After step 3, 4 times: rung goes")


def test_ends_that_do_not_face_one_another_bear_a_letter() -> None:
    # The third rail lies beyond the second; what joins its end to the beginning of the first stands
    # 30 points out from there, a stub of 14 at both ends, the letter 6 beyond it.
    steps = (END_TO_END.format(1, 2), "add rung through rail 1 first A, rail 3 last A picks 2")
    whole = drawn("3 times", *steps)
    assert rungs(whole) == [(147, -13), (13 - 30, -13)]
    letters = sorted(c.at for c in whole.captions if c.text == "a")
    out = RUNG / 2 + 4 + 14 + 6
    assert letters[0] == pytest.approx((-17 - out, -13), abs=0.06)
    assert letters[1] == pytest.approx((363 + 93 + 9 + 14 + 6, -13))
    stubs = sorted([x.path[0][0], x.path[3][0]] for x in whole.lines if x.b is None)
    assert stubs[0] == pytest.approx([-17 - RUNG / 2, -17 - RUNG / 2 - 14], abs=0.01)
    assert stubs[1] == pytest.approx([456 + 9, 456 + 9 + 14])
    assert whole.frame == pytest.approx((-17 - out - 8, -13 - RUNG / 2 - 4, 485 + 8, 12.5))
    # The name of the first rail would stand over that ring: it stands over the right corner.
    half = text_width("rail 1", CAPTION) / 2
    assert names(whole)["rail 1"] == pytest.approx((119 - 6 + half, 6.5))
    assert "what bears the same letter and number is one link" in whole.title
    assert "letter" not in drawn("twice", END_TO_END.format(1, 2)).title
    check_frame(whole)


def test_several_links_of_one_step_are_numbered() -> None:
    step = "add rung through rail 1 A along every unit, rail 3 A along every unit picks 2"
    seams = (LONG, "add rung through rail 2 A along every unit, rail 3 A along every unit picks 2")
    whole = drawn("3 times", *seams, step)
    letters = [c.text for c in whole.captions if c.text[0] == "a"]
    assert sorted(letters) == sorted(2 * [f"a{n}" for n in (1, 2, 3, 4)])
    check_frame(whole)
    # Rings of a seam that would stand on one another stand aside.
    places = rungs(whole)
    for at, (x, y) in enumerate(places):
        assert all(abs(x - u) + abs(y - v) > RUNG for u, v in places[:at])


def test_the_picture_of_a_helper_that_is_taken_out() -> None:
    steps = (END_TO_END.format(1, 2), "add thread around rung", "take out thread")
    third = drawn("twice", *steps, name="step-05")
    assert {n.full for n in third.nodes if n.mark == "out"} == {"thread"}
    whole = drawn("twice", *steps)
    assert not any(n.ring.role == "thread" for n in whole.nodes)
    second = drawn("twice", *steps[:2], name="step-04")
    assert {(n.full, n.mark) for n in second.nodes if n.ring.row < 0} == {
        ("thread", "new"), ("rung", "through"),
    }  # fmt: skip
    assert {x.mark for x in second.lines} == {"old", "held"}
    # That it is taken out later does not take the line from the picture before.
    before = drawn("twice", *steps, name="step-04")
    assert {x.mark for x in before.lines} == {"old", "held"}
    assert {x.mark for x in whole.lines} == {"old"}


def test_a_ring_of_a_seam_stands_in_the_middle_of_the_gap_whatever_it_goes_through() -> None:
    # Rails of two rows of rings; two rings of the first rail and one of the second, or the other
    # way round: the middle of the three is not that of the gap.
    doubled = RAILS.replace("close A", "close 2 A").replace(
        "add A through prev A picks 1", "add 2 A through prev A picks 2"
    )

    def whole(*steps: str) -> Diagram:
        seen = view(doubled.format(made="twice", steps="".join(f"  {step}\n" for step in steps)))
        assert not seen.troubles
        return next(d for d in all_diagrams(seen) if d.name == "window")

    for step in ("rail 1 last A, rail 2 first A1", "rail 1 last A1, rail 2 first A"):
        found = whole(f"add rung through {step} picks 3")
        xs = sorted({n.at[0] for n in found.nodes if n.ring.role == "A"})
        assert len(xs) == 8
        ((x, _),) = rungs(found)
        assert x == pytest.approx((xs[3] + xs[4]) / 2)
        check_frame(found)
    # The same of rails that lie one below the other: the upper one ends 13 below its lower row, the
    # other begins 13 above its upper row. Another ring stands there, and 30 points up or down rings
    # of the rails, so this one stands aside along the gap, by its own width and 12 points.
    seam = LONG.replace(" A along", " A1 along")
    for both in ("rail 1 last A, rail 2 last A1", "rail 2 last A1, rail 1 last A"):
        found = whole(seam, f"add k through {both} picks 3")
        ys = sorted({n.at[1] for n in found.nodes if n.ring.role == "A"}, reverse=True)
        assert ys == [-13, -43, -138, -168]
        (k,) = (n for n in found.nodes if n.ring.role == "k")
        assert k.at == (106 + 18 + 12, (-43 - 13 - 138 + 13) / 2)
        # Its links, and those of the others, run through no ring that they do not lead to.
        at = {n.key: (n.at, n.across / 2) for n in found.nodes}
        for line in found.lines:
            rest = (place for key, place in at.items() if key not in (line.a, line.b))
            assert all(clearance(line.path, centre) > radius for centre, radius in rest)


def test_two_rings_of_one_step_stand_24_points_apart() -> None:
    whole = drawn("twice", "add 2 k through rail 1 last A, rail 2 first A picks 2")
    both = sorted(n.at for n in whole.nodes if n.ring.role == "k")
    assert both == [(147, -13 - 12), (147, -13 + 12)]
    check_frame(whole)


def test_a_part_at_the_end_stands_beyond_the_ring_it_hangs_on() -> None:
    text = RAILS.format(
        made="twice",
        steps=f"  {END_TO_END.format(1, 2)}\n  add rung through rail 2 last A, clasp picks 2\n",
    ).replace("piece rail:", "parts:\n  clasp  a clasp\npiece rail:")
    seen = view(text)
    assert not seen.troubles
    whole = next(d for d in all_diagrams(seen) if d.name == "window")
    # The rail's last ring stands at 281; a ring 30 out from it, and the part 48 out from that.
    assert rungs(whole)[1] == (281 + 30, -13)
    (clasp,) = (n for n in whole.nodes if n.ring.role == "clasp")
    assert clasp.at == (281 + 30 + 30 + 18, -13)
    assert clasp.box
    check_frame(whole)
