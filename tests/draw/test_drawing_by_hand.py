"""What the drawing program is told, in its own numbers: points for places, inches for sizes."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from ringstep.draw import drawing
from ringstep.draw.drawing import dot_text, svg_for_page
from ringstep.draw.pictures import CAPTION, Caption, Diagram, Line, Node
from ringstep.language.syntax import Side
from ringstep.weave.work import Ring

ONE = Node("n0", Ring("A", 1, 1, 1), ("A",), "A, unit 1", "other", (10.0, -20.004), 18.0)
TWO = replace(ONE, key="n1", full="A, unit 2", mark="through", at=(64.0, -20.0), across=36.0)
LINE = Line("n0", "n1", "new", ((19, -20), (28, -20), (37, -20), (46, -20)))
FRAME = (0.0, -40.0, 90.0, 0.0)


def picture(*lines: Line, nodes: tuple[Node, ...] = (ONE, TWO), **more: object) -> Diagram:
    looks = {"captions": (), "frame": FRAME, **more}
    return Diagram("step-01", "A step", "Told", nodes, lines, **looks)  # type: ignore[arg-type]


def told(diagram: Diagram) -> dict[str, list[dict[str, str]]]:
    """For each node, line and the graph itself its looks, in order."""
    found: dict[str, list[dict[str, str]]] = {}
    for line in dot_text(diagram).splitlines():
        if at := re.match(r"\t(.*?) \[(.*)\]", line):
            looks = dict(re.findall(r'(\w+)=("[^"]*"|[^\s\]]+)', at[2]))
            found.setdefault(at[1], []).append({k: v.strip('"') for k, v in looks.items()})
    return found


def test_a_ring_is_told_in_points_and_inches() -> None:
    one, two = (told(picture())[key][0] for key in ("n0", "n1"))
    assert (one["pos"], one["width"], one["height"]) == ("10,-20!", "0.25", "0.25")
    assert (two["pos"], two["width"], two["height"]) == ("64,-20!", "0.5", "0.5")
    assert (one["id"], one["comment"], one["label"], one["fontsize"]) == (
        "step-01-n0", "A, unit 1", "A", "8",
    )  # fmt: skip
    long = told(picture(nodes=(replace(ONE, lines=("con-", "nector")),)))["n0"][0]
    assert long["label"] == r"con-\nnector"
    assert long["fontsize"] == "7.2"
    # A part is a box a fifth lower than it is wide.
    part = told(picture(nodes=(replace(TWO, box=True),)))["n1"][0]
    assert (part["shape"], part["width"], part["height"]) == ("box", "0.5", "0.4")


@pytest.mark.parametrize("how", ["again", "moved"])
def test_a_ring_that_stands_elsewhere_is_dotted(how: str) -> None:
    other, new = (replace(ONE, mark=mark, **{how: True}) for mark in ("other", "new"))  # type: ignore[arg-type]
    assert told(picture(nodes=(other,)))["n0"][0]["style"] == "filled,dotted"
    assert told(picture(nodes=(other,)))["n0"][0]["penwidth"] == "1.6"
    assert told(picture(nodes=(new,)))["n0"][0]["penwidth"] == "1.8"


def test_numbers_are_told_as_short_as_can_be() -> None:
    assert [drawing._figure(x) for x in (2.0, 2.5, 2.556, -0.001, 0.0, 100.0, -7.25)] == [
        "2", "2.5", "2.56", "0", "0", "100", "-7.25",
    ]  # fmt: skip


def test_words_stand_in_their_middle_or_from_their_left_end() -> None:
    # 'ill' is three letters of 0.24 em; a tenth and two points more are left for other fonts.
    wide = 1.1 * 3 * 0.24 * 7.5 + 2
    middle, left, strong = Caption("ill", (30, -5)), Caption("ill", (30, -5), left=True), "#000000"
    found = told(picture(captions=(middle, left, replace(middle, strong=True))))
    one, two, three = (found[f"c{n}"][0] for n in range(3))
    assert one["pos"] == "30,-5!"
    assert two["pos"] == f"{30 + wide / 2:.2f},-5!"
    assert (one["label"], two["label"]) == ("ill", r"ill\l")
    assert one["width"] == two["width"] == f"{wide / 72:.2f}"
    assert one["height"] == f"{7.5 * 1.2 / 72:.3f}"[:-1]
    assert (one["fontsize"], one["margin"], one["shape"]) == (str(CAPTION), "0", "none")
    assert (one["fontcolor"], three["fontcolor"]) == (drawing.FAINT, strong)


def test_the_corners_of_the_frame_are_kept_and_a_picture_is_shrunk_to_the_page_alone() -> None:
    found = told(picture())
    assert found["corner0"][0]["pos"] == "0,-40!"
    assert found["corner1"][0]["pos"] == "90,0!"
    assert found["corner0"][0]["style"] == "invis"
    assert found["graph"][0]["pad"] == "0.06"  # 4 points
    # 170 mm by 220 mm are 481.89 by 623.62 points, of which 4 on each side are left free.
    for wide, high, shrunk in ((473, 615, False), (474, 9, True), (9, 616, True)):
        graph = told(picture(frame=(-1.0, -2.0, wide - 1.0, high - 2.0)))["graph"][0]
        assert ("size" in graph) is shrunk
        assert graph.get("size", "6.69,8.66") == "6.69,8.66"


def test_lines_are_told_with_every_point() -> None:
    found = told(picture(LINE, replace(LINE, b=None, mark="beyond")))
    assert [x["pos"] for x in found["n0 -- n1"]] == ["19,-20 28,-20 37,-20 46,-20"]
    assert found["n0 -- n1"][0]["id"] == "step-01-l0"
    assert found["n0 -- e1"][0]["style"] == "dotted"
    assert found["e1"][0]["pos"] == "46,-20!"  # where it ends
    assert found["graph"][0]["outputorder"] == "edgesfirst"
    alone = told(picture(replace(LINE, a="k7", b=None)))
    assert alone["k7"][0]["pos"] == "19,-20!"  # in the key it begins at no ring


def test_a_line_from_the_front_runs_over_the_ring_and_one_from_behind_ends_before_it() -> None:
    def drawn(side: Side) -> list[dict[str, str]]:
        return told(picture(replace(LINE, side=side)))["n0 -- n1"]

    whole, gap, over = drawn("front")
    assert whole["pos"] == "19,-20 28,-20 37,-20 46,-20"
    # From 2.2 points before the outline, at 46, to 2.3 behind it.
    assert gap["pos"] == over["pos"] == "43.8,-20 45.2,-20 46.8,-20 48.3,-20"
    assert (gap["penwidth"], gap["color"]) == ("5.4", "#FFFFFF")  # 1.5 wider on both sides
    assert (over["penwidth"], over["color"]) == ("2.4", "#000000")
    (behind,) = drawn("back")
    places = [float(x.split(",")[0]) for x in behind["pos"].split()]
    assert places == pytest.approx([19, 26.5, 34, 41.5], abs=0.02)  # 4.5 are left out
    assert told(picture(replace(LINE, side="front")))["graph"][0]["outputorder"] == "nodesfirst"
    # Square to the page's edges and aslant: along the end of the line, 3 to the right and 4 up.
    aslant = ((0, 0), (3, 4), (27, 36), (30, 40))
    _, gap, _ = told(picture(replace(LINE, path=aslant, side="front")))["n0 -- n1"]
    assert gap["pos"] == "28.68,38.24 29.52,39.36 30.48,40.64 31.38,41.84"
    still = ((5, 6), (5, 6), (5, 6), (5, 6))  # without a way of its own
    _, gap, _ = told(picture(replace(LINE, path=still, side="front")))["n0 -- n1"]
    assert gap["pos"] == "5,6 5,6 5,6 5,6"


def test_a_picture_is_made_fit_for_a_page() -> None:
    made = (
        '<?xml version="1.0"?>\n<!DOCTYPE svg>\n<!-- made -->\n<svg width="9pt">\n'
        "<title>x</title>\n"
        '<g id="step-01-n0" class="node">\n<title>n0</title>\n<circle/></g>\n'
        '<g id="step-01-c0" class="node">\n<title>c0</title>\n<text/></g>\n</svg>\n\n'
    )
    assert svg_for_page(made, picture()) == (
        '<svg role="img" aria-label="Told" style="max-width:100%;height:auto" width="9pt">\n'
        '<g id="step-01-n0" class="node">\n<title>A, unit 1</title>\n<circle/></g>\n'
        '<g id="step-01-c0" class="node">\n<text/></g>\n</svg>\n'
    )
    assert svg_for_page("<svg>", picture()).startswith('<svg role="img"')
