"""Rounds of a tube that grow and shrink: discs, widening tubes, closed ends, balls."""

from __future__ import annotations

import re
from collections import Counter
from itertools import combinations
from math import hypot
from pathlib import Path

import networkx as nx
import pytest
from helpers import EXAMPLES, ROOT, findings, view
from hypothesis import given
from hypothesis import strategies as st

from ringstep.checks.summary import piece_words
from ringstep.checks.view import View
from ringstep.commands.cli import main
from ringstep.draw.chart import charts, plans
from ringstep.draw.diagrams import all_diagrams
from ringstep.language.findings import typed_in
from ringstep.language.source import Refused, source_from_text
from ringstep.language.tidy import tidy
from ringstep.paper.mistakes import mistakes
from ringstep.paper.steps_text import step_list
from ringstep.space.states import NoStates, states_of
from ringstep.weave.effort import within_bounds
from ringstep.weave.ring_graph import ring_graph
from ringstep.weave.shape import Shape
from ringstep.weave.work import Ring

HEXAGON = (EXAMPLES / "hexagon_plate.weave").read_text("utf-8")
THIMBLE = (EXAMPLES / "thimble.weave").read_text("utf-8")
BALL = (EXAMPLES / "lantern_ball.weave").read_text("utf-8")


def rounds(*widths: int) -> Shape:
    """Rounds of so many places."""
    return Shape(tuple(((1, wide),) for wide in widths), round=True)


def hexagon(count: int) -> str:
    """A hexagon of so many rounds about its middle."""
    text = HEXAGON.replace("tube 3 rows", f"tube {count} rows")
    return text.replace("rows 2 to 3  each", f"rows 2 to {count}  each" if count > 2 else "row 2 ")


def octahedron(edge: int) -> str:
    """A ball whose flat rings lie as the points of an octahedron, its edges so many links long."""
    if edge == 2:
        return BALL
    wide, narrow = BALL.split("\nrow:\n")[1].split("row end:")[0].split("shared place:\n")
    even = wide.split("extra place:")[0].replace("above plate", "above next plate")
    even = even.replace("above prev plate", "above plate")
    named = f"row wide:\n{wide}row narrow:\n{even}shared place:\n{narrow}"
    head = BALL.split("row:\n  close plate\n  add bond 1 through above prev")[0]
    tail = BALL.split("row end:")[1]
    grow, rows = edge - 1, 2 * edge - 1
    order = ", ".join(["wide"] * grow + ["narrow"] * grow)
    lines = f"  rows 2 to {edge}  each 4 more\n  rows {edge + 1} to {rows}  each 4 less\n"
    tail = tail.replace("tube 3 rows of 4 units", f"tube {rows} rows of 4 units\n  order {order}")
    tail = re.sub(r"  row 2  4 more\n  row 3  4 less\n", lines, tail)
    return f"{head}{named}row end:{tail}"


def errors(text: str) -> list[tuple[str, str]]:
    """The errors of a recipe: which rule, and what is said first."""
    return [(f.rule.name, f.message) for f in findings(text) if f.rule.severity == "error"]


def plates(seen: View) -> nx.Graph:
    """The flat rings of a piece, two of them joined where an upright ring goes through both."""
    graph = nx.Graph()
    for ring, met in seen.weave.work.links.items():
        if ring.role != "bond":
            graph.add_node(ring)
        elif len(met) == 2:
            graph.add_edge(*met)
    return graph


def faces(graph: nx.Graph) -> Counter[int]:
    """The faces of a planar graph, by how many links each has."""
    planar, embedding = nx.check_planarity(graph)
    assert planar
    seen: set[tuple[Ring, Ring]] = set()
    found: Counter[int] = Counter()
    for one, two in embedding.edges:
        if (one, two) not in seen:
            found[len(embedding.traverse_face(one, two, mark_half_edges=seen))] += 1
    return found


def errors_of_rule(text: str, rule: str) -> list[str]:
    return [message for name, message in errors(text) if name == rule]


# -- which place goes with which -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("place", "other", "on"),
    [
        ((2, 3), (2, 3), 0), ((2, 3), (2, 4), 1), ((2, 4), (2, 3), -1), ((2, 3), (2, 8), 5),
        ((2, 3), (2, 10), -6),  # as many ahead, but for the ring that closes the round
        ((2, 1), (2, 12), -2), ((2, 12), (2, 1), 2),  # the closing ring stands between them
        ((2, 1), (1, 1), 0), ((2, 2), (1, 1), 0), ((2, 3), (1, 1), -1), ((2, 3), (1, 3), 1),
        ((2, 1), (1, 6), -1), ((1, 6), (2, 1), 1), ((1, 1), (2, 3), 1), ((3, 1), (1, 6), -1),
        ((2, 1), (0, 1), 0), ((4, 1), (2, 3), 0),  # no rounds
    ],
)  # fmt: skip
def test_how_far_on_a_place_stands_in_rounds(
    place: tuple[int, int], other: tuple[int, int], on: int
) -> None:
    """Rounds of 6, 12 and 18 places: places 1 and 2 of the second go with place 1 of the first."""
    assert view(hexagon(3)).weave.layout.round_on(place, other) == on


@pytest.mark.parametrize(
    ("over", "wide", "above"),
    # counted by hand: place k of the longer goes with place k × shorter / longer, rounded up
    [
        (3, 6, [1, 1, 2, 2, 3, 3]),
        (4, 6, [1, 2, 2, 3, 4, 4]),
        (5, 7, [1, 2, 3, 3, 4, 5, 5]),
        (1, 4, [1, 1, 1, 1]),
        (2, 6, [1, 1, 1, 2, 2, 2]),
        (6, 3, [(1, 2), (3, 4), (5, 6)]),
        (6, 4, [1, (2, 3), 4, (5, 6)]),
        (5, 2, [(1, 2), (3, 5)]),
        (4, 1, [(1, 4)]),
        (4, 4, [1, 2, 3, 4]),
    ],
)
def test_places_are_dealt_out_evenly(over: int, wide: int, above: list[object]) -> None:
    shape = rounds(over, wide)
    found = [shape.above(2, unit) for unit in range(1, wide + 1)]
    assert found == [at if isinstance(at, tuple) else (at, at) for at in above]


@given(st.integers(1, 60), st.integers(1, 60))
def test_every_place_has_its_share(over: int, wide: int) -> None:
    """Each of the shorter round has as many of the longer as any other, or one more; none is left
    out, and the other way round they are the same pairs."""
    shape = rounds(over, wide)
    pairs = [(at, unit) for unit in range(1, wide + 1)
             for at in range(shape.above(2, unit)[0], shape.above(2, unit)[1] + 1)]  # fmt: skip
    assert len(pairs) == max(over, wide)
    shorter = Counter(pair[wide < over] for pair in pairs)
    assert set(shorter) == set(range(1, min(over, wide) + 1))
    assert max(shorter.values()) - min(shorter.values()) <= 1
    turned = rounds(wide, over)
    assert {(unit, at) for at, unit in pairs} == {
        (at, unit) for unit in range(1, over + 1)
        for at in range(turned.above(2, unit)[0], turned.above(2, unit)[1] + 1)
    }  # fmt: skip


@given(st.integers(1, 40), st.integers(1, 40), st.integers(-3, 3), st.integers(1, 40))
def test_places_beyond_the_end_of_a_round_go_on_round_it(
    over: int, wide: int, turns: int, unit: int
) -> None:
    shape = rounds(over, wide)
    first, last = shape.above(2, (unit - 1) % wide + 1)
    by = (unit - 1) // wide
    assert shape.above(2, unit + turns * wide) == (
        first + (turns + by) * over,
        last + (turns + by) * over,
    )


def test_as_many_places_are_extra_as_a_round_has_more() -> None:
    shape = rounds(10, 14, 14, 9)
    kinds = [Counter(shape.place_kind(row, u) for u in range(1, wide + 1))
             for row, wide in enumerate(shape.widths, 1)]  # fmt: skip
    assert kinds[1] == {"": 10, "extra place": 4}
    assert kinds[2] == {"": 14}
    assert kinds[3] == {"": 4, "shared place": 5}


# -- known answers ---------------------------------------------------------------------------------


@pytest.mark.parametrize("n", range(2, 7))
def test_a_hexagon_in_rounds_has_a_centred_hexagonal_number_of_rings(n: int) -> None:
    """1, 7, 19, 37, 61, 91: 3n(n + 1) + 1 (OEIS A003215, from memory).

    Of its links, 6n lie along round n and 6(2n - 1) lead to it from within: 9n² + 3n in all. Rings
    inside meet six, those on a side four, the six corners three.
    """
    seen = view(hexagon(n))
    assert errors(hexagon(n)) == []
    flat = plates(seen)
    assert (len(flat), flat.size()) == (3 * n * (n + 1) + 1, 9 * n * n + 3 * n)
    degrees = {6: 3 * n * (n - 1) + 1, 4: 6 * n - 6, 3: 6}
    assert Counter(dict(flat.degree).values()) == degrees
    assert faces(flat) == {3: 6 * n * n, 6 * n: 1}  # triangles, and what is round it
    assert seen.weave.counts.placed()["plate", 1] == len(flat)


def test_rounds_are_the_same_piece_as_rows_written_out_one_by_one() -> None:
    """The same plate as one makes without these words, each row a section of its own; in neither
    are the three rounds closed."""
    written = (ROOT / "tests" / "cases" / "growing_rounds.weave").read_text("utf-8")
    closing = "row end:\n  add bond through last plate then first plate picks 2\n"
    left_open = HEXAGON.replace(closing, "")
    graphs = [ring_graph(view(text).weave.work) for text in (written, left_open)]
    assert len(graphs[0]) == 37 + 90 - 3
    assert nx.vf2pp_is_isomorphic(*graphs)


@pytest.mark.parametrize("n", [2, 3, 4, 5])
def test_a_ball_is_closed_all_round(n: int) -> None:
    """Points on the edges and faces of an octahedron: 4n² + 2 (OEIS A005899, from memory), 12n²
    links and 8n² triangles, so V - E + F = 2 (Euler). Its six corners meet four, all others six.
    """
    text = octahedron(n)
    assert errors(text) == []
    ball = plates(view(text))
    assert (len(ball), ball.size()) == (4 * n * n + 2, 12 * n * n)
    assert faces(ball) == {3: 8 * n * n}
    assert len(ball) - ball.size() + faces(ball).total() == 2
    assert Counter(dict(ball.degree).values()) == {4: 6, 6: 4 * n * n - 4}


def test_a_closed_tube_end_leaves_only_its_mouth_open() -> None:
    """5 rounds of 12, one of 6, the tip: 67 rings; 4 × 24 links, 6 × 3, 6. Counted by hand: 3 × 12
    meshes of four in the tube, 12 more down to the round of six and 6 down to the tip, and the
    mouth, along which rounds 1 and 2 take turns. 67 - 120 + 55 = 2 (Euler).
    """
    assert errors(THIMBLE) == []
    graph = nx.Graph(ring_graph(view(THIMBLE).weave.work).edges)
    assert (len(graph), graph.size()) == (67, 120)
    assert faces(graph) == {4: 36 + 12 + 6, 24: 1}


def test_a_tube_that_widens_hangs_each_ring_from_its_own() -> None:
    """6, 12, 24: a ring of the second round meets one above and its two below, whichever it is."""
    text = """rings:
  all  wire 1 mm, inside 6 mm, copper
expect:
  A meets 1 above A, 2 below A
start:
  close hoop
first row:
  add A through above hoop picks 1
row:
  add A through above A picks 1
piece:
  tube 3 rows of 6 units
shape:
  row 2  6 more
  row 3  24 places
"""
    assert errors(text) == []
    assert view(text).weave.links == (6 + 12 + 24, 0)
    shifted = text.replace("through above A", "through above next A")
    (message,) = errors_of_rule(shifted, "neighbour-count")
    assert "of the next unit in the row above" in message


# -- where the words of place lead -----------------------------------------------------------------


def through(text: str, row: int, unit: int) -> list[tuple[int, ...]]:
    """The places of the rings that the step at a place goes through."""
    acts = view(text).weave.work.acts
    return [r[2:] for a in acts if (a.row, a.unit) == (row, unit) for r in a.through]


@pytest.mark.parametrize(
    ("item", "places"),
    [
        ("above A", [3, 4]),
        ("above next A", [5]),
        ("above prev A", [2]),
        ("above prev next A", [3]),
        ("above next prev A", [4]),
        ("next above A", [5, 6]),
        ("prev above A", [1, 2]),
        ("above first A", [1]),
        ("above last A", [6]),
    ],
)
def test_words_of_place_from_a_shared_place(item: str, places: list[int]) -> None:
    """Round 2 has three places, each shared by two of six; this is its second."""
    text = "rings:\n  all  wire 1 mm, inside 6 mm, copper\nfirst row:\n  close A\nrow:\n"
    text += f"  add A through {item}\npiece:\n  tube 2 rows of 6 units\nshape:\n  row 2  3 places\n"
    assert through(text, 2, 2) == [(1, unit) for unit in places]


@pytest.mark.parametrize(("unit", "places"), [(1, [1, 2]), (2, [1, 2]), (5, [3, 1]), (6, [3, 1])])
def test_words_of_place_from_an_extra_place(unit: int, places: list[int]) -> None:
    """Three places above six: each pair goes with one, and the last with the first behind it."""
    text = "rings:\n  all  wire 1 mm, inside 6 mm, copper\nfirst row:\n  close A\nrow:\n"
    text += "  add A through above A, above next A\npiece:\n  tube 2 rows of 3 units\n"
    text += "shape:\n  row 2  6 places\n"
    assert through(text, 2, unit) == [(1, at) for at in places]


def test_a_place_shared_by_all_takes_each_ring_once() -> None:
    text = "rings:\n  all  wire 1 mm, inside 6 mm, copper\nfirst row:\n  close 2 A\nrow:\n"
    text += "  add A through above A picks 10\npiece:\n  tube 2 rows of 5 units\n"
    text += "shape:\n  row 2  1 place\n"
    assert errors_of_rule(text, "pick-count") == []
    assert len(through(text, 2, 1)) == 10


# -- slips -----------------------------------------------------------------------------------------


def mended(text: str) -> list[str]:
    """The texts that the mends come to, each typed in."""
    found = [m for f in findings(text) for m in f.mends]
    return ["\n".join(typed_in(tuple(text.splitlines()), m.edits)) + "\n" for m in found]


#: Where a slip is made, the line as it should be, and as it is written, counted to match.
SLIPS = (
    ("extra place:", "add bond 1 through above plate then plate picks 2",
     "add bond 1 through plate picks 1"),
    ("\nrow:", "add bond 2 through above plate then plate picks 2",
     "add bond 2 through plate picks 1"),
    ("first row:", "add bond 1 through above plate then plate picks 2",
     "add bond 1 through plate picks 1"),
    ("row end:", "add bond through last plate then first plate picks 2",
     "add bond through last plate then first plate picks 3"),
)  # fmt: skip


@pytest.mark.parametrize(("section", "right", "slip"), SLIPS)
def test_a_slip_in_a_disc_is_found_on_its_line_and_mended(
    section: str, right: str, slip: str
) -> None:
    head, tail = HEXAGON.split(section)
    text = f"{head}{section}{tail.replace(right, slip, 1)}"
    number = next(n for n, x in enumerate(text.splitlines(), 1) if x.strip() == slip)
    assert errors(text)
    at = {f.span.line for f in findings(text)}
    assert number in at | {e.line for f in findings(text) for m in f.mends for e in m.edits}
    graph = ring_graph(view(HEXAGON).weave.work)
    assert any(
        not errors(after) and nx.utils.graphs_equal(ring_graph(view(after).weave.work), graph)
        for after in mended(text)
    )


#: The thimble without a name of its own for the rings that gather three others.
ONE_NAME = (
    THIMBLE.replace("  crown meets 3 A, 1 tip\n", "").replace("crown", "A").replace("6 A", "6")
)


def test_a_list_that_is_longer_at_shared_places_asks_for_their_section() -> None:
    shared = "shared place:\n  add A through above A, above next A at one place picks 3\n"
    assert errors(ONE_NAME) == []
    text = ONE_NAME.replace(shared, "")
    assert text != ONE_NAME
    (found,) = [f for f in findings(text) if f.rule.severity == "error"]
    assert found.rule.name == "pick-count"
    assert found.help[0].startswith("at shared places it goes through another number: write a"
                                    " section 'shared place:'")  # fmt: skip
    assert found.mends == ()


def test_without_a_section_of_its_own_an_odd_place_is_worked_as_its_row() -> None:
    text = ONE_NAME.replace("shared place:\n  add A through above A, above next A at one place"
                           " picks 3\n", "").replace("at one place picks 2\n", "\n")  # fmt: skip
    assert errors(text) == []
    assert view(text).weave.links == (120, 0)


# -- what is said ----------------------------------------------------------------------------------


def intro(text: str, heading: str) -> str:
    """What stands under a heading of the step list, before its steps."""
    return next(s.intro for s in step_list(view(text)).sections if s.heading == heading)


def even(*lines: str, units: int = 6, rows: int = 4) -> str:
    """A tube that hangs ring by ring."""
    text = "rings:\n  all  wire 1 mm, inside 6 mm, copper\nfirst row:\n  close A\nrow:\n"
    shape = "".join(f"  {line}\n" for line in lines)
    text += "  add A through above A, above next A\n"
    return f"{text}piece:\n  tube {rows} rows of {units} units\nshape:\n{shape}"


@pytest.mark.parametrize(
    ("lines", "units", "words"),
    [
        (["row 2  12 places"], 6, "Row 2: 12 places, every second one extra. Rows 3 and 4: 12"
         " places each."),
        (["rows 2 to 4  each 6 more"], 6, "Row 2: 12 places, every second one extra. Row 3: 18"
         " places, every third one extra. Row 4: 24 places, every fourth one extra."),
        (["row 2  18 places"], 6, "Row 2: 18 places, two extra ones after every ordinary one."
         " Rows 3 and 4: 18 places each."),
        (["row 2  7 places"], 5, "Row 2: 7 places, places 4 and 7 extra. Rows 3 and 4: 7 places"
         " each."),
        (["row 2  5 places"], 1, "Row 2: 5 places, all but the first extra. Rows 3 and 4: 5 places"
         " each."),
        (["row 3  8 places", "row 4  1 place"], 12, "Row 2: 12 places. Row 3: 8 places, every"
         " second one shared by two of the row above. Row 4: 1 place, shared by all eight of the"
         " row above."),
        (["row 4  6 places"], 12, "Rows 2 and 3: 12 places each. Row 4: 6 places, each shared by"
         " two of the row above."),
        (["row 4  2 places"], 5, "Rows 2 and 3: 5 places each. Row 4: 2 places, place 2 shared by"
         " three of the row above, all others by two."),
    ],
)  # fmt: skip
def test_the_list_says_which_places_are_extra_or_shared(
    lines: list[str], units: int, words: str
) -> None:
    assert intro(even(*lines, units=units), "Row").endswith(words)


def test_the_list_says_what_such_places_are_and_where_their_steps_stand() -> None:
    assert "At extra places work the steps of 'Extra place' instead." in intro(HEXAGON, "Row")
    assert intro(HEXAGON, "Extra place") == (
        "Work these steps at each extra place, instead of those of 'Row'. At an extra place do not"
        " go on along the row above: it goes with the same place there as the place before it."
    )
    assert intro(THIMBLE, "Last row") == (
        "Work these steps once. At a shared place several places of the row above come together,"
        " side by side. Row 7: 1 place, shared by all six of the row above."
    )


def test_the_steps_name_what_a_shared_place_hangs_on() -> None:
    told = {s.number: s.sentence for x in step_list(view(THIMBLE)).sections for s in x.steps}
    assert "through both A rings of the row above and through A of the next unit" in told[3]
    assert "through all six crown rings of the row above, at one place: 6 rings" in told[4]
    ball = [s.sentence for x in step_list(view(BALL)).sections for s in x.steps]
    assert any("the plate ring of the last of its places above" in words for words in ball)


def test_the_summary_says_how_wide_and_how_many_places() -> None:
    words = "3 rows in the round of 6 to 18 units, 36 places in all"
    assert piece_words(view(HEXAGON)) == words


def test_named_rows_have_extra_places_of_their_own() -> None:
    """Each of these sections belongs to the row above it."""
    seen = view(octahedron(3))
    assert [b.label for b in seen.recipe.blocks if b.kind == "extra place"] == ["wide"]
    worked = {(a.row, a.block.label) for a in seen.weave.work.acts if a.block.kind != "row end"}
    assert {row for row, label in worked if label == "narrow"} == {4, 5}


# -- pictures, sizes, other outputs ----------------------------------------------------------------


def test_a_disc_is_drawn_as_a_disc() -> None:
    """Every round of flat rings lies on a circle about the middle, the next one outside it, its
    rings as far apart as any two neighbours; no ring lies on another."""
    window = next(d for d in all_diagrams(view(HEXAGON)) if d.name == "window")
    assert window.title == "The rounds, from the middle out"
    assert len(window.nodes) == 127
    middle = next(n.at for n in window.nodes if n.ring.role == "plate" and n.ring.row == 0)
    far: dict[int, set[float]] = {}
    for node in window.nodes:
        if node.ring.role == "plate":
            away = hypot(node.at[0] - middle[0], node.at[1] - middle[1])
            far.setdefault(node.ring.row, set()).add(round(away, 3))
    assert [len(some) for _, some in sorted(far.items())] == [1, 1, 1, 1]
    assert sorted(far, key=lambda row: min(far[row])) == [0, 1, 2, 3]
    for one, two in combinations(window.nodes, 2):
        apart = hypot(one.at[0] - two.at[0], one.at[1] - two.at[1])
        assert apart > (one.across + two.across) / 2


@pytest.mark.parametrize("text", [BALL, THIMBLE], ids=["ball", "thimble"])
def test_a_tube_is_drawn_from_the_side_as_wide_as_its_rounds(text: str) -> None:
    seen = view(text)
    window = next(d for d in all_diagrams(seen) if d.name == "window")
    assert window.title == "The tube, cut open"
    role = "plate" if text is BALL else "A"
    rows: dict[int, list[float]] = {}
    heights: dict[int, set[float]] = {}
    for node in window.nodes:
        if node.ring.role == role and not node.again:
            rows.setdefault(node.ring.row, []).append(node.at[0])
            heights.setdefault(node.ring.row, set()).add(node.at[1])
    wide = {row: max(xs) - min(xs) for row, xs in rows.items()}
    widths = seen.weave.layout.rounds.widths  # type: ignore[union-attr]
    for one, two in combinations(rows, 2):
        same = widths[one - 1] == widths[two - 1]
        assert (wide[one] < wide[two]) == (widths[one - 1] < widths[two - 1]) or same
    assert all(len(level) == 1 for level in heights.values())
    assert [min(heights[row]) for row in sorted(rows)] == sorted(
        (min(level) for level in heights.values()), reverse=True
    )
    drawn = {n.ring for n in window.nodes}
    assert drawn == set(seen.weave.work.links)


def test_links_over_the_cut_end_at_a_second_copy() -> None:
    """No link of the tube's side runs through the whole picture."""
    seen = view(THIMBLE)
    window = next(d for d in all_diagrams(seen) if d.name == "window")
    copies = [n for n in window.nodes if n.again]
    assert copies
    assert len([x for x in window.lines if x.mark == "old"]) == 120
    at = {n.key: n for n in window.nodes}
    long = max(abs(at[x.a].at[0] - at[x.b].at[0]) for x in window.lines if x.b)
    xs = [n.at[0] for n in window.nodes]
    assert long < (max(xs) - min(xs)) / 2


def test_the_plan_marks_extra_and_shared_places() -> None:
    for text, marks in ((HEXAGON, {"+": 12}), (THIMBLE, {"2": 6, "6": 1})):
        (plan,) = plans(view(text).weave)
        told = re.findall(r'<text x="([\d.]+)" y="[\d.]+">(.+?)</text>', plan)
        assert Counter(words for x, words in told if float(x) > 26) == marks  # not of the rows
        assert plan.count("h12v12h-12z") == view(text).weave.layout.places


def test_a_picture_colours_rounds(tmp_path: Path) -> None:
    colours = "picture:\n  g = grey\n  r = red\n  ggg\n  grgrgr\n  r\n"
    text = even("row 2  6 places", "row 3  1 place", units=3, rows=3) + colours
    text = text.replace("piece:", "shared place:\n  add A through above A\npiece:")
    assert errors(text) == []
    seen = view(text)
    assert seen.weave.colours is not None
    assert seen.weave.colours.placed == {"g": 6, "r": 4}
    (chart,) = charts(seen.weave.colours)
    assert chart.count("<rect") == 10
    short = text.replace("  grgrgr\n", "  grgrg\n")
    assert errors_of_rule(short, "picture-size") == [
        "row 2 of the picture is 1 letter short: it has 5, and row 2 of the piece has 6 places"
    ]


def test_sizes_may_change_from_round_to_round() -> None:
    text = even("rows 2 to 4  each 6 more").replace(
        "  all  wire", "  A row 1  wire 1 mm, inside 5 mm, copper\n  A rows 2 to 4  wire"
    )
    lots = {str(lot.kind.along): lot.placed for lot in view(text).weave.lots if lot.kind}
    assert lots == {"row 1": 6, "rows 2 to 4": 12 + 18 + 24}


def test_real_rings_and_fits_are_refused_plainly(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(NoStates, match="rounds that grow or shrink"):
        states_of(view(HEXAGON))
    for words in (("draw", "--rings"), ("fit",)):
        capsys.readouterr()
        assert main([*words, str(EXAMPLES / "thimble.weave")]) == 2
        assert "rounds" in capsys.readouterr().err


def test_the_hand_out_is_made_and_shows_the_shape(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    assert main(["handout", str(EXAMPLES / "hexagon_plate.weave"), "--to", str(page)]) == 0
    said = page.read_text("utf-8")
    assert "A + marks an extra place" in said
    assert "Row 3: 18 places, every third one extra." in said
    assert "real rings are not laid out in rounds that grow or shrink" in said


def test_a_count_that_is_right_elsewhere_is_no_sign_of_a_slip() -> None:
    """Rings of the thimble pass through 3 or 4; those of a plain tube all through 4."""
    assert not [m for m in mistakes(view(THIMBLE)) if "A" in m.see]
    plain = THIMBLE.split("shared place:")[0] + "piece:\n  tube 7 rows of 12 units\n"
    assert any("A" in m.see for m in mistakes(view(plain)))


# -- lines as they are typed -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("round 2  12 places", "row 2  12 places"),
        ("rounds 2 to 3 each 6 more", "rows 2 to 3  each 6 more"),
        ("row 2  12", "row 2  12 places"),
        ("row 2 has 12 in all", "row 2  12 places"),
        ("row 4  2", "row 4  2 places"),
        ("row 2  12 plcaes", "row 2  12 places"),
        ("row 2: 12 places", "row 2  12 places"),
        ("row 2 eight places", "row 2  8 places"),
    ],
)
def test_a_line_written_otherwise_is_told_how_it_reads(typed: str, meant: str) -> None:
    (found,) = [f for f in findings(even(typed)) if f.rule.severity == "error"]
    assert found.help == (f"write '{meant}'",)
    assert errors(even(meant)) == []


@pytest.mark.parametrize("word", ["extra", "extras", "increases", "at each extra place"])
def test_another_word_for_an_extra_place_is_told_its_heading(word: str) -> None:
    (found,) = [f for f in findings(HEXAGON.replace("extra place:", f"{word}:"))
                if f.rule.severity == "error"]  # fmt: skip
    assert found.help == ("write 'extra place:'",)


def test_rings_may_still_be_called_by_the_new_words() -> None:
    text = THIMBLE.replace("tip", "shared").replace(" A", " extra")
    assert errors(text) == []


def test_tidy_writes_places() -> None:
    lines = tidy(source_from_text(even("ROW 2 12  Places", "rows 3 to 4   each 1 less"))).lines
    assert lines[-2:] == ("  row 2        12 places", "  rows 3 to 4  each 1 less")


@pytest.mark.parametrize("line", ["row 2  50000 places", "row 2  99999999999 places"])
def test_rounds_of_too_many_places_are_refused_before_they_are_worked(line: str) -> None:
    with pytest.raises(Refused, match=re.escape("worked out place by place")):
        within_bounds(view(even(line)))


def test_a_shape_that_changes_nothing_is_a_plain_tube() -> None:
    """All rounds are as wide: the endless pattern holds, and is told."""
    text = even("row 3  6 places")
    assert view(text).weave.repeat is not None
    assert view(text).weave.layout.rounds is None
