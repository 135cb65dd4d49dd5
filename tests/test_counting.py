"""Counts read off the window against counts ring by ring, and against counts made by hand."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from pathlib import Path

import networkx as nx
import pytest
from helpers import EXAMPLES, FLOWERS, LIBRARY, PERSIAN, SIMPLE, SPIRAL, shipped_recipes, view
from hypothesis import given, settings
from hypothesis import strategies as st

import ringstep.weave.piece
from ringstep.commands.cli import main
from ringstep.language.tree import Tree, Variant
from ringstep.shop.tally import MOST_EXPLICIT, NoCount, count_piece
from ringstep.weave.layout import Layout
from ringstep.weave.piece import Weave

TEXTS = shipped_recipes()
EXAMPLE_TEXTS = {p.stem: p.read_text(encoding="utf-8") for p in sorted(EXAMPLES.glob("*.weave"))}
Out = pytest.CaptureFixture[str]


def resizable(layout: Layout) -> bool:
    """Only a piece with a block that repeats has other sizes."""
    return bool(layout.order) if not layout.flat else layout.repeats


# -- the window against the whole ------------------------------------------------------------------


@pytest.mark.parametrize("name", [n for n in TEXTS if resizable(view(TEXTS[n]).weave.layout)])
@given(rows=st.integers(1, 14), units=st.integers(1, 40))
@settings(max_examples=12, deadline=None)
def test_the_window_counts_what_placing_every_ring_counts(name: str, rows: int, units: int) -> None:
    seen = view(TEXTS[name])
    layout, piece = seen.weave.layout, seen.recipe.piece
    assert piece is not None
    units = max(2, units % 14) if layout.flat else max(units, layout.written + 1)
    sized = replace(piece, units=units, rows=rows if layout.flat else None, length=None)
    agree(replace(seen.recipe, piece=sized), seen.chosen)


def agree(recipe: Tree, variant: Variant | None) -> None:
    """Counts off the window are those of placing every ring."""
    cut, whole = Weave(recipe, variant), Weave(recipe, variant, whole=True)
    assert cut.counts == whole.counts
    assert cut.links == whole.links
    assert whole.counts.total() > 0


@pytest.mark.parametrize("name", TEXTS)
def test_every_shipped_weave_as_it_stands(name: str) -> None:
    seen = view(TEXTS[name])
    agree(seen.recipe, seen.chosen)


@pytest.mark.parametrize("name", [n for n in EXAMPLE_TEXTS if n != "missed_ring"])
def test_every_example_as_it_stands(name: str) -> None:
    seen = view(EXAMPLE_TEXTS[name])
    agree(seen.recipe, seen.chosen)


# -- counts made by hand, and by networkx ----------------------------------------------------------


def test_a_persian_chain_by_hand() -> None:
    # Start: 2 holders, 2 M, 2 S. Then 24 units of 2 M and 2 S. The holders come out again.
    # Links: start 2 x 2 M-S = 4 (the holders' 4 go with them); a unit: 2 M through 2 S of the
    # unit before, 4; 2 S through 4 M, 8.
    count = count_piece(view(PERSIAN))
    assert {r.name: (r.opened, r.closed, r.taken_out) for r in count.rings} == {
        "H1": (0, 1, 1), "H2": (0, 1, 1), "M1": (25, 0, 0), "M2": (25, 0, 0),
        "S1": (25, 0, 0), "S2": (25, 0, 0),
    }  # fmt: skip
    assert count.links == 4 + 24 * (4 + 8)
    assert count.parts == ()


def test_parts_are_counted_by_themselves() -> None:
    count = count_piece(view(TEXTS["chain_with_clasp"]))
    assert [(p.name, p.placed) for p in count.parts] == [("clasp", 1)]
    # 180 mm at 50 mm for 10 units are 36 units; with the start's ring and the tail 38.
    assert sum(r.placed for r in count.rings) == 38
    assert (count.links, count.links_with_parts) == (38, 1)


@pytest.mark.parametrize("units", [1, 2, 7, 3000])
def test_links_of_a_spiral_are_those_of_the_square_of_a_path(units: int) -> None:
    """A known graph, made by networkx: the square of a path of n + 1 rings."""
    count = count_piece(view(SPIRAL.replace("chain 60 units", f"chain {units} units")))
    square = nx.power(nx.path_graph(units + 1), 2)
    assert sum(r.placed for r in count.rings) == square.number_of_nodes()
    assert count.links == square.number_of_edges()


@pytest.mark.parametrize(("rows", "units"), [(2, 3), (10, 12), (60, 80)])
def test_links_of_a_sheet_by_hand(rows: int, units: int) -> None:
    """Every row but the first: each ring through two above, the one at the end through one."""
    text = TEXTS["european_4"].replace("10 rows of 12 units", f"{rows} rows of {units} units")
    count = count_piece(view(text))
    assert sum(r.placed for r in count.rings) == rows * units
    assert count.links == (rows - 1) * (2 * units - 1)


def test_a_closed_sheet_by_hand() -> None:
    """A tube leaves nothing out at its side: every ring below the first row has its two links."""
    text = TEXTS["european_tube"].replace("30 rows of 10 units", "400 rows of 10 units")
    count = count_piece(view(text))
    assert sum(r.placed for r in count.rings) == 4000
    assert count.links == 399 * 10 * 2


def test_ten_million_units_by_the_formula() -> None:
    count = count_piece(view(FLOWERS.replace("12 units", "10000000 units")))
    # Start: 3 petals with 3 links. A unit: 4 rings; connector 3 links, petals 1 + 2 + 3.
    assert sum(r.placed for r in count.rings) == 3 + 4 * 10**7
    assert count.links == 3 + 9 * 10**7


# -- the command -----------------------------------------------------------------------------------


def test_the_count_as_printed(capsys: Out) -> None:
    assert main(["count", str(LIBRARY / "persian_6.weave")]) == 0
    out = capsys.readouterr().out
    assert "A chain of 24 units." in out
    assert "M1    1.2 × 6.5 mm, aluminium           25              0      25" in out
    assert "all                                    100              2     102" in out
    assert "taken out again before the piece is done: 1 H1 and 1 H2" in out
    assert "292 links in the finished piece" in out


CHAIN_TAKEN_OUT = """weave "Taken out behind the cut"
rings:
  A              wire 1 mm, inside 6 mm, steel
  H units 1 to 12  wire 1 mm, inside 6 mm, steel
  H              wire 1 mm, inside 8 mm, steel
piece:
  chain 30 units
start:
  close A
  close H
unit:
  add A through prev A
  take out prev H
  add H through A
"""
SHEET_TAKEN_OUT = """weave "Taken out below the cut"
rings:
  A              wire 1 mm, inside 6 mm, steel
  L              wire 1 mm, inside 6 mm, steel
  H rows 1 to 4  wire 1 mm, inside 6 mm, grey
  H              wire 1 mm, inside 8 mm, rust
piece:
  sheet 9 rows of 12 units
first row:
  close A
  add L 1 through A, prev A picks 2 skip at edge
  add H through A
row:
  close A
  add L 1 through A, prev A picks 2 skip at edge
  add L 2 through A, above A picks 2
  take out above H
  add H through A
"""


# By hand: each H goes but the last one, or the last row; the start has the size of unit 1, so of 13
# small ones all go and of 18 large ones 17, of 4 grey rows all and of 5 rust rows 4.
@pytest.mark.parametrize(
    ("text", "gone"), [(CHAIN_TAKEN_OUT, "13 H and 17 H"), (SHEET_TAKEN_OUT, "48 H and 48 H")]
)
def test_what_is_taken_out_has_the_size_of_its_own_place(
    text: str, gone: str, folder: Path, capsys: Out
) -> None:
    (folder / "gone.weave").write_text(text, encoding="utf-8")
    for way in ([], ["--explicit"]):
        assert main(["count", "gone.weave", *way]) == 0
        assert f"taken out again before the piece is done: {gone}\n" in capsys.readouterr().out


def test_the_count_as_json_both_ways(capsys: Out) -> None:
    counts = []
    for extra in ([], ["--explicit"]):
        assert main(["count", str(LIBRARY / "japanese_square.weave"), "--json", *extra]) == 0
        counts.append(json.loads(capsys.readouterr().out))
    assert [c.pop("explicit") for c in counts] == [False, True]
    by_name = [{r["name"]: r for r in c.pop("rings")} for c in counts]
    assert by_name[0] == by_name[1]
    assert counts[0] == counts[1]
    # 6 rows of 8: 48 flat; across 6 x 7, down 5 x 8.
    assert {n: r["placed"] for n, r in by_name[0].items()} == {"flat": 48, "across": 42, "down": 40}


def test_the_count_as_csv(capsys: Out) -> None:
    assert main(["count", str(LIBRARY / "chain_with_clasp.weave"), "--csv"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "name,what,kind,where,size,colour,opened,closed,taken_out,placed"
    assert 'clasp,part,,,"lobster claw, brass",,0,1,0,1' in lines


def test_a_count_ring_by_ring_of_too_many_is_refused_before_it_begins(
    tmp_path: object, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object) -> None:
        pytest.fail("rings were placed")

    seen = view(SIMPLE.replace("chain 30 units", f"chain {MOST_EXPLICIT} units"))
    assert seen.weave.counts.total() == MOST_EXPLICIT + 1
    monkeypatch.setattr(ringstep.weave.piece, "carry_out", never)
    with pytest.raises(
        NoCount, match=r"200,001 rings, and at most 200,000 .* leave --explicit out"
    ):
        count_piece(seen, one_by_one=True)


def test_a_hundred_thousand_rings_are_placed_one_by_one() -> None:
    seen = view(SIMPLE.replace("chain 30 units", "chain 99999 units"))
    count = count_piece(seen, one_by_one=True)
    assert sum(r.placed for r in count.rings) == 100_000
    assert count.links == 99_999


def test_a_length_without_a_sample_is_not_guessed(
    tmp_path: object, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(str(tmp_path))
    with open("x.weave", "w", encoding="utf-8") as file:
        file.write(SIMPLE.replace("chain 30 units", "chain 190 mm"))
    assert main(["count", "x.weave"]) == 2
    told = capsys.readouterr().err
    assert "does not say how many units" in told
    assert "work 10 units with these rings" in told
    assert "'sample 10 units = … mm'" in told


def test_counting_by_role_sums_to_counting_by_kind() -> None:
    from ringstep.paper.count_tables import count_by_kind

    for text in TEXTS.values():
        count = count_piece(view(text))
        roles = Counter({r.name: r.placed for r in count.rings})
        assert sum(n for _, _, n in count_by_kind(count)) == roles.total()
