"""Pieces that are made first and joined later: read, judged, told, drawn, counted, mended.

Known answers: Euler's formula for the cube (12 edges, 8 corners, 6 faces); all other numbers are
counted by hand.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path

import networkx as nx
import pytest
from helpers import EXAMPLES, findings, read, report, view
from slips import Tally, judge
from slips_made import slips

import ringstep
from ringstep.commands.cli import main
from ringstep.draw.diagrams import all_diagrams
from ringstep.draw.pictures import Diagram
from ringstep.language.source import Refused
from ringstep.language.tidy import tidy
from ringstep.paper.printed import as_plain
from ringstep.paper.steps_text import step_list
from ringstep.space.fit_cell import NoFit, laid_out
from ringstep.space.states import NoStates, states_of
from ringstep.weave.joined import Joined
from ringstep.weave.work import Ring

Out = pytest.CaptureFixture[str]
CUBE, STRIPS, ROSETTES = (
    (EXAMPLES / f"{name}.weave").read_text(encoding="utf-8")
    for name in ("cube_of_panels", "joined_strips", "rosettes_in_a_row")
)
LADDER = """\
weave "Ladder"
rings:
  all  wire 1 mm, inside 5 mm, copper
expect:
  A meets 2 A, 1 rung
  rung meets 2 A
piece rail:
  chain 5 units
  made twice
start:
  close A
unit:
  add A through prev A picks 1
join:
  add rung through rail 1 A along every unit, rail 2 A along every unit picks 2
"""


def meets(text: str) -> Counter[tuple[str, int]]:
    """How many rings of each role are linked with how many others."""
    links = view(text).weave.work.links
    return Counter((ring.role, len(others)) for ring, others in links.items())


def wrong(text: str) -> list[tuple[str, int]]:
    return [(f.rule.name, f.span.line) for f in findings(text)]


# -- the cube, by Euler's formula ------------------------------------------------------------------


def test_the_cube_is_a_cube() -> None:
    """Rings A are corners of a drawing on the ball, each link an edge of it. It has the 6 × 9
    squares of the panels, 3 squares along each of the 12 edges, and a triangle at each of the 8
    corners: 96 - 192 + 98 = 2."""
    graph = nx.Graph()
    links = view(CUBE).weave.work.links
    for ring, others in links.items():
        if ring.role == "link":
            graph.add_edge(*others)
    planar, drawing = nx.check_planarity(graph)
    assert planar
    faces: Counter[int] = Counter()
    seen: set[tuple[object, object]] = set()
    for edge in list(drawing.edges()):
        if edge not in seen:
            faces[len(drawing.traverse_face(*edge, mark_half_edges=seen))] += 1
    assert faces == {4: 6 * 9 + 12 * 3, 3: 8}
    assert len(graph) - graph.size() + faces.total() == 2
    seam = [r for r in links if r.role == "link" and r.row < 0]
    assert len(seam) == 12 * 4
    assert set(meets(CUBE)) == {("A", 4), ("link", 2)}


def test_another_way_round_is_no_cube() -> None:
    """One edge sewn on the wrong way round twists the skin: it can no longer lie on a ball, though
    every promise is kept."""
    twisted = CUBE.replace(
        "panel 5 A along left edge, panel 4", "panel 5 A along left edge backwards, panel 4"
    )
    graph = nx.Graph(list(o) for r, o in view(twisted).weave.work.links.items() if r.role == "link")
    assert not nx.check_planarity(graph)[0]


# -- counted by hand -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "rings", "links"),
    [
        # a panel of 16 and 24; 12 seams of 4
        (CUBE, 6 * 40 + 48, 6 * 48 + 96),
        # 3 rows of 9, a row hangs by 2 × 9 - 1 links; 8 rings of the seam, each through 4
        (STRIPS, 2 * 27 + 8, 2 * 2 * 17 + 8 * 4),
        # five rings, each through all others; three links between, one to the clasp
        (ROSETTES, 4 * 5 + 4, 4 * 10 + 4 * 2),
        (LADDER, 2 * 6 + 6, 2 * 5 + 6 * 2),
    ],
)
def test_rings_and_links(text: str, rings: int, links: int) -> None:
    seen = view(text)
    placed = seen.weave.counts.placed()
    assert sum(n for (r, _), n in placed.items() if r not in seen.recipe.part_roles) == rings
    assert seen.weave.links[0] == links
    assert len(seen.weave.parts_apart) == 1
    assert findings(text) == ()


def test_edges_and_ends_lead_to_the_rings_that_are_meant() -> None:
    def met(through: str, base: str = CUBE) -> set[tuple[int, int]]:
        """Row and unit in panel 1 of the rings that one step goes through."""
        text = base[: base.index("join:\n")] + f"join:\n  add J through {through}\n"
        work = view(text).weave.work
        return {(r.row, r.unit) for a in work.acts if a.row < 0 for r in a.through}

    assert met("panel 1 first A") == {(1, 1)}
    assert met("panel 1 first row last A") == {(1, 4)}
    assert met("panel 1 last row first A") == {(4, 1)}
    assert met("panel 1 last A") == {(4, 4)}
    assert met("panel 1 last prev A") == {(4, 3)}
    assert met("panel 1 first prev A if there") == set()  # before the first there is none
    assert met("panel 1 last next A if there") == set()
    assert met("panel 1 A along left edge") == {(row, 1) for row in (1, 2, 3, 4)}
    assert met("panel 1 A along right edge") == {(row, 4) for row in (1, 2, 3, 4)}
    assert met("panel 1 A along last row") == {(4, unit) for unit in (1, 2, 3, 4)}
    assert met("panel 1 next A along first row if there") == {(1, unit) for unit in (2, 3, 4)}
    assert met("rail 1 A along every unit", LADDER) == {(1, unit) for unit in range(6)}
    assert met("rail 1 last A", LADDER) == {(1, 5)}
    assert met("rosette 1 petal 3", ROSETTES) == {(1, 0)}


def test_backwards_begins_at_the_other_end() -> None:
    text = LADDER.replace("rail 2 A along every unit", "rail 2 A along every unit backwards")
    seen = view(text)
    layout = seen.weave.layout
    assert isinstance(layout, Joined)
    first = next(a for a in seen.weave.work.acts if a.row < 0)
    assert [r.unit - layout.copies[n].first for n, r in enumerate(first.through)] == [0, 5]


def test_steps_of_the_joining_name_rings_of_it() -> None:
    """A ring of an earlier step by its name, and that of the place before with 'prev'."""
    text = LADDER + "  add K through rung, prev rung picks 2 skip at edge\n"
    seen = view(text.replace("add K through rung, prev rung picks 2 skip at edge",
                             "add K through rail 1 A along every unit, rung picks 2"))  # fmt: skip
    assert not seen.weave.snags
    acts = [a for a in seen.weave.work.acts if a.step.number == 4]
    assert [a.through[1] for a in acts] == [Ring("rung", 1, -1, n) for n in range(1, 7)]
    twice = LADDER.replace("rung through", "rung through prev rung if there,").replace(
        "picks 2\n", "picks 3\n"
    )
    third = [a for a in view(twice).weave.work.acts if a.row < 0][2]
    assert third.through[0] == Ring("rung", 1, -1, 2)


# -- what is judged --------------------------------------------------------------------------------


def test_a_ring_on_a_joined_edge_keeps_its_promise_as_joined() -> None:
    """The rungs are left out of the second rail: its rings would each lack one."""
    assert wrong(LADDER) == []
    short = LADDER.replace(", rail 2 A along every unit picks 2", " picks 1")
    assert ("neighbour-count", 15) in wrong(short)
    promise = STRIPS.replace("A meets 4", "A meets 5")
    assert wrong(promise)


def test_a_corner_with_a_free_side_is_held_to_no_promise() -> None:
    """Rings at the ends of the strips meet 1 to 3, and 'A meets 4' stands all the same."""
    assert {n for (role, n) in meets(STRIPS) if role == "A"} == {1, 2, 3, 4}
    assert findings(STRIPS) == ()


def test_a_fault_of_a_piece_is_told_once_before_how_they_are_joined() -> None:
    text = CUBE.replace("above A picks 2", "above A picks 3")
    assert [rule for rule, _ in wrong(text)] == ["pick-count"]


def test_a_piece_that_nothing_joins_is_named() -> None:
    told = report(
        ROSETTES.replace("  add link through rosette 2 petal 3, rosette 3 petal 1 picks 2\n", "")
    )
    assert (
        "the piece falls apart into two: nothing joins rosette 1 and rosette 2 to the rest" in told
    )


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("rail 2 A along", "rail 3 A along", "names rail 3, and rail is made twice"),
        ("rail 2 A along", "rail A along", "names rail without a number"),
        ("rail 2 A along", "rial 2 A along", "no piece is called 'rial'"),
        ("A along every unit, rail 2", "A along every unti, rail 2", "'every unti' is no edge"),
        ("rail 1 A along every unit", "rail 1 A along last row", "which has none"),
        ("rail 1 A along every unit", "rail 1 A", "names A of rail 1, and there are several"),
        ("join:\n", "", "pieces are joined under 'join:'"),
        ("piece rail:", "piece:", "only a piece with a name is made some times over"),
        ("  chain 5 units\n", "", "nothing says how large the piece 'rail' is"),
        ("  chain 5 units", "  strands left 5 units, right 5 units", "is a chain, a loop, a sheet"),
        ("  made twice", "  made 0 times", "the piece is made 0 times"),
        ("  made twice", "  made twice\n  made once", "how often it is made is said twice"),
        ("piece rail:", "unit:\n  add B through prev B\npiece rail:", "stands in none of them"),
        ("join:", "piece rail:\n  chain 2 units\njoin:", "two pieces are called 'rail'"),
        ("piece rail:", "piece chain:", "is a word of the language"),
        ("all  wire", "all units 1 to 3  wire", "sizes that change along the piece"),
    ],
)
def test_slips_are_told_in_words(old: str, new: str, says: str) -> None:
    assert old in LADDER
    assert says in report(LADDER.replace(old, new, 1))


def test_edges_that_do_not_match_are_told_with_both_numbers() -> None:
    told = report(CUBE.replace("sheet 4 rows of 4 units", "sheet 4 rows of 5 units"))
    assert "right edge of panel 5 has 4 places and the first row of panel 2 has 5 places" in told
    assert "so do steps 13, 15 and 17" in told


def test_how_often_it_is_made_is_offered_where_that_is_right() -> None:
    (found,) = findings(CUBE.replace("made 6 times", "made 5 times"))
    assert [m.says for m in found.mends] == ["write 'made 6 times'"]


def test_mends_of_slips_give_the_recipe_back() -> None:
    """Every mend that is offered for these slips is typed in: none leaves an error, none ends in
    another piece without the right one beside it."""
    tally = Tally()
    for name, text in (("strips", STRIPS), ("rosettes", ROSETTES)):
        for slip in slips(name, text):
            if slip.kind in ("ring dropped", "count mistyped", "rosette miscounted"):
                judge(slip, tally)
    assert tally.real > 30
    assert (tally.caught, tally.line, tally.mended) == (tally.real,) * 3, tally.stories
    assert (tally.alone, tally.errors) == (0, 0), tally.stories


# -- told, drawn, printed --------------------------------------------------------------------------


def test_the_step_list_says_it_as_a_teacher_would() -> None:
    told = as_plain(step_list(view(CUBE)).printed)
    heads = re.findall(r"^[A-Z][A-Z0-9:, ]+$", told, re.M)
    assert heads == ["YOU NEED", "BEFORE YOU BEGIN", "MAKE 6 PANELS", "PANEL: FIRST ROW",
                     "PANEL: ROW", "JOIN", "WHEN IT IS DONE"]  # fmt: skip
    flat = " ".join(told.split())
    assert "Each is a sheet of 4 rows of 4 units. Lay each aside when it is done." in flat
    assert "Number the panels as you take them." in flat
    assert ("11. 4 times, once at each place along: open 1 brass link ring (0.8 × 3 mm). Pass it"
            " through A along the right edge of panel 5 from its end on and through A along the"
            " first row of panel 2: 2 rings.") in flat  # fmt: skip
    assert "48 rings used for joining so far" in flat


def test_each_edge_is_told_for_itself() -> None:
    flat = " ".join(as_plain(step_list(view(CUBE)).printed).split())
    step = flat[flat.index(" 10. 4 times") : flat.index(" 11. 4 times")]
    for edge in ("along the last row of panel 5", "along the first row of panel 1"):
        assert step.count(edge) == 2, step


def drawn(text: str) -> dict[str, Diagram]:
    return {d.name: d for d in all_diagrams(view(text))}


@pytest.mark.parametrize("text", [CUBE, STRIPS, ROSETTES, LADDER])
def test_the_picture_of_the_whole_has_every_ring_and_every_link(text: str) -> None:
    """A link whose ends are far apart is drawn as two short lines, one at each ring."""
    whole, weave = drawn(text)["window"], view(text).weave
    assert {n.ring for n in whole.nodes} == set(weave.work.links)
    short = sum(line.b is None for line in whole.lines)
    assert short % 2 == 0
    assert len(whole.lines) - short // 2 == weave.links[0]
    circles = [(n.at, n.across / 2) for n in whole.nodes]
    for at, ((x, y), r) in enumerate(circles):
        for (u, v), s in circles[at + 1 :]:
            assert (x - u) ** 2 + (y - v) ** 2 > (r + s) ** 2 * 0.95, whole.nodes[at].full


def test_the_panels_lie_as_a_cube_is_cut_out() -> None:
    """Four in a row, one above and one below the first: seven seams have to be marked by letters,
    each with its four places, at both ends."""
    whole = drawn(CUBE)["window"]
    at = {c.text: c.at for c in whole.captions}
    row = [at[f"panel {n}"] for n in (1, 2, 3, 4)]
    assert len({y for _, y in row}) == 1
    assert sorted(row) == row
    assert at["panel 5"][0] == at["panel 6"][0] == row[0][0]
    assert at["panel 5"][1] > row[0][1] > at["panel 6"][1]
    marks = Counter(c.text for c in whole.captions if not c.text.startswith("panel"))
    assert set(marks.values()) == {2}
    assert len(marks) == 7 * 4
    assert "letter and number" in whole.title


def test_a_step_of_the_joining_shows_its_two_pieces() -> None:
    picture = drawn(CUBE)["step-06"]
    new = [n for n in picture.nodes if n.mark == "new"]
    met = [n for n in picture.nodes if n.mark == "through"]
    assert (len(new), len(met), len(picture.nodes)) == (4, 8, 2 * 40 + 4)
    assert {c.text for c in picture.captions} == {"panel 1", "panel 2"}
    left, middle, right = (sorted(n.at[0] for n in group) for group in (met[:4], new, met[4:]))
    assert left[-1] < middle[0]
    assert middle[-1] < max(*left, *right)


def test_the_hand_out_has_a_box_for_each_piece_and_the_whole(tmp_path: Path, capsys: Out) -> None:
    page = tmp_path / "page.html"
    assert main(["handout", str(EXAMPLES / "rosettes_in_a_row.weave"), "--to", str(page)]) == 0
    capsys.readouterr()
    text = page.read_text(encoding="utf-8")
    assert "Make 4 rosettes" in text
    assert re.search(r'aria-hidden="true">Made: .*?(?:<i></i>){4}', text)
    assert "The pieces and what joins them" in text
    assert "real rings are laid out of one piece at a time" in text


def test_counts_by_piece(tmp_path: Path, capsys: Out) -> None:
    path = str(EXAMPLES / "cube_of_panels.weave")
    assert main(["count", path, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["pieces"] == [{"piece": "panel", "made": 6, "rings_each": 40}]
    assert (data["rings_in_all"], data["links"]) == (288, 384)
    assert main(["count", path]) == 0
    assert re.search(r"what joins them +48", capsys.readouterr().out)


def test_what_wants_one_piece_says_so(capsys: Out) -> None:
    seen = view(CUBE)
    with pytest.raises(NoFit, match="recipe of its own"):
        laid_out(seen)
    with pytest.raises(NoStates, match="recipe of its own"):
        states_of(seen)
    path = str(EXAMPLES / "cube_of_panels.weave")
    for words, says in (
        (["draw", path, "--rings"], "real rings are laid out of one piece at a time"),
        (["draw", path, "--film"], "real rings are laid out of one piece at a time"),
        (["fit", path], "joined of pieces made first"),
        (["kit", path, "--length", "20 cm"], "--length cannot size it"),
    ):
        assert main(words) == 2
        assert says in capsys.readouterr().err
    assert main(["alike", path]) == 0
    assert main(["sizes", path]) == 0


def test_more_than_is_worked_out_is_refused() -> None:
    from ringstep.weave.effort import within_bounds

    with pytest.raises(Refused, match="worked out ring by ring"):
        within_bounds(view(CUBE.replace("sheet 4 rows of 4", "sheet 400 rows of 400")))


def test_sets_of_sizes_hold_for_all_pieces() -> None:
    sizes = "".join(f"  small  {r}  wire 0.6 mm, inside 3.2 mm\n" for r in ("A", "link"))
    text = CUBE.replace("expect:", f"sizes:\n{sizes}expect:")
    kit = ringstep.read(text=text, size="small").kit()
    assert {(line.wire, line.inside) for line in kit.lines} == {(0.6, 3.2)}
    assert kit.rings == 288


def test_the_tidy_form_is_a_form_of_itself() -> None:
    scrawl = CUBE.replace("panel 1 A along right edge", "panel   1   A  ALONG Right EDGE")
    scrawl = scrawl.replace("piece panel:", "PIECE panel :").replace("made 6", "MADE  6")
    (laid,) = {"\n".join(tidy(read(text)[0].source).lines) for text in (scrawl, CUBE)}
    assert laid == CUBE.rstrip("\n")


def test_names_of_rings_stay_free() -> None:
    """'join', 'made' and the edges are words only where they can stand."""
    text = LADDER.replace("rung", "made").replace(" A ", " edge ").replace(" A\n", " edge\n")
    text = re.sub(r"\bA\b", "edge", text)
    assert findings(text) == ()
    assert view(text).weave.counts.total() == 18


def test_a_mend_is_written(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "rosettes.weave"
    path.write_text(ROSETTES.replace("rosette 4 petal 3, clasp picks 2", "clasp picks 1"), "utf-8")
    assert main(["check", str(path)]) == 1
    path.write_text(ROSETTES.replace("clasp picks 2", "clasp picks 3"), "utf-8")
    assert main(["mend", str(path), "--yes"]) == 0
    assert path.read_text("utf-8") == ROSETTES
    capsys.readouterr()


@pytest.mark.parametrize(
    ("old", "new", "writes"),
    [
        ("made 6 times", "made six times", "made 6 times"),
        ("made 6 times", "6 panels", "made 6 times"),
        ("made 6 times", "make 6", "made 6 times"),
        ("panel 5 A along last row, panel 1", "A along last row of panel 5, panel 1",
         "panel 5 A along last row"),
        ("panel 5 A along last row", "panel 5 A along the last row", "last row"),
        ("panel 5 A along last row", "panel 5 A along bottom edge", "last row"),
        ("panel 5 A along last row", "panel 5 A on last row", "along last row"),
        ("right edge backwards", "right edge reversed", "backwards"),
    ],
)  # fmt: skip
def test_habits_are_told_with_what_to_write_and_that_is_right(
    old: str, new: str, writes: str
) -> None:
    assert old in CUBE
    text = CUBE.replace(old, new, 1)
    told = report(text)
    assert f"write '{writes}'" in told, told
    (found,) = findings(text)
    lines = text.splitlines()
    at = found.span.line - 1
    lines[at] = lines[at][: found.span.column - 1] + writes + lines[at][found.span.end - 1 :]
    assert findings("\n".join(lines) + "\n") == ()


HELPERS = """\
weave "Tarn Mill strips on helpers"
rings:
  all  wire 1.2 mm, inside 5 mm, copper
  H    wire 1 mm, inside 8 mm, steel
expect:
  A meets 2 A or 1 A, 1 J
  C lies around 1 A
  J meets 2 A
  H comes out
piece strip:
  chain 3 units
  made twice
start:
  close H
  add A through H picks 1
unit:
  add A through prev A picks 1
  close C around A
join:
  hold strip 1 last A
  add J through strip 1 last A, strip 2 last A picks 2
  take out strip 1 first H
  take out strip 2 first H
"""


def test_helpers_are_drawn_until_they_are_taken_out() -> None:
    """Two strips of 4 A and 3 C; the H are gone from the whole, and each C is held by its A."""
    assert findings(HELPERS) == ()
    pictures = drawn(HELPERS)
    marks = {n: Counter(x.mark for x in pictures[f"step-{n:02d}"].nodes) for n in (5, 6, 7)}
    assert marks[5] == {"other": 7, "handled": 1}
    assert marks[6] == {"other": 14, "new": 1, "through": 2}
    assert marks[7] == {"other": 7, "out": 1}
    whole = pictures["window"]
    assert Counter(n.ring.role for n in whole.nodes) == {"A": 8, "C": 6, "J": 1}
    assert sum(line.mark == "held" for line in whole.lines) == 6


def test_a_piece_joined_to_itself_bears_its_letters_at_both_edges() -> None:
    """A sheet closed to a sleeve: the links of its left edge go to its right edge."""
    text = CUBE[: CUBE.index("join:")].replace("made 6 times", "made once")
    text = text.replace("A meets 4 link", "A meets 4 link or 3 link")
    text += "join:\n  add link through panel A along left edge, panel A along right edge picks 2\n"
    assert findings(text) == ()
    whole = drawn(text)["window"]
    marks = Counter(c.text for c in whole.captions if c.text != "panel")
    assert marks == {f"a{n}": 2 for n in (1, 2, 3, 4)}
    stubs = [line for line in whole.lines if line.b is None]
    assert len(stubs) == 8


def test_a_size_under_the_joining_steps_is_told_like_any_other() -> None:
    assert findings("start:\njoin:\npiece:\nadd\n")


#: A strap that is a chain, named before a panel that is a sheet.
STRAP_AND_PANEL = """\
weave "Tarn Mill strap and panel"
rings:
  all  wire 1.2 mm, inside 5 mm, copper
piece strap:
  chain 5 units
  made once
start:
  close B
unit:
  add B through prev B picks 1
piece panel:
  sheet 3 rows of 4 units
  rows back and forth
  made once
first row:
  close A
row:
  add A through above A, above next A if there
join:
  add J through strap last B, panel A picks 2
"""


def test_a_ring_of_several_is_asked_for_by_the_words_of_its_own_piece() -> None:
    (found,) = [f for f in findings(STRAP_AND_PANEL) if f.rule.name == "join-place"]
    assert found.help == ("write which: 'panel first row last A', or 'panel A along last row'",)


def test_a_section_of_rounds_stands_in_a_piece_like_any_other() -> None:
    text = STRAP_AND_PANEL.replace("piece strap:", "extra place:\n  close A\npiece strap:")
    told = [f.message for f in findings(text) if f.severity == "error"]
    assert any("'extra place:' stands in none of them" in message for message in told)
