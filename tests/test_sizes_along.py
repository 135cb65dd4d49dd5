"""Ring sizes that change along the piece: counts, kits, weights and lists, unit by unit.

Scenario: a graduated strand of the Harbour Lane bench, small rings at both ends, wide ones in the
middle. Counts are those of the units, one by one; weights those of a torus, worked out here.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path

import pytest
from helpers import EXAMPLES, findings, read, view
from hypothesis import given, settings
from hypothesis import strategies as st
from test_size_sets import COPPER, torus_g

from ringstep.commands.cli import main
from ringstep.language.findings import typed_in
from ringstep.language.source import source_from_text
from ringstep.language.tidy import tidy
from ringstep.paper.printed import as_plain
from ringstep.paper.steps_text import step_list
from ringstep.space.states import NoStates, states_of
from ringstep.weave.grading import even_at
from ringstep.weave.piece import Weave

Out = pytest.CaptureFixture[str]
STRAND = """\
weave "Graduated strand of the Harbour Lane bench"
rings:
  A units 1 to 8    wire 1 mm, inside 4 mm, copper
  A units 9 to 16   wire 1.2 mm, inside 5 mm, copper
  A units 17 to 24  wire 1 mm, inside 4 mm, copper
expect:
  A meets 2
  AR 3.5 to 5, common practice no source
start:
  close A
unit:
  add A through prev A
piece:
  chain 24 units
"""
SHEET = """\
weave "Panel that widens"
rings:
  A rows 1 to 2  wire 1 mm, inside 4.4 mm, copper
  A row 3        wire 1 mm, inside 5 mm, copper
  A rows 4 to 6  wire 1 mm, inside 5.6 mm, copper
expect:
  A meets 4
first row:
  close A
row:
  add A through above A, above next A if there
piece:
  sheet 6 rows of 5 units
  rows back and forth
"""


@pytest.fixture
def strand(tmp_path: Path) -> str:
    path = tmp_path / "strand.weave"
    path.write_text(STRAND, encoding="utf-8")
    return str(path)


def counted(text: str) -> dict[str, int]:
    """How many rings each line of 'rings:' has in the piece, by where it holds."""
    found: Counter[str] = Counter()
    for lot in view(text).weave.lots:
        assert lot.kind is not None
        found[str(lot.kind.along or "all else")] += lot.placed
    return dict(found)


@pytest.mark.parametrize(("place", "mm"), [(1, 1.0), (8, 1.0), (9, 1.2), (16, 1.2), (17, 1.0)])
def test_the_piece_as_if_all_of_it_were_as_one_place(place: int, mm: float) -> None:
    """Of the lines of A one holds at each place, also where the last has no units of its own."""
    rest = STRAND.replace("A units 17 to 24  wire 1 mm", "A wire 1 mm")
    guards = rest.replace("expect:", "  B  wire 3 mm, inside 9 mm, brass\nexpect:")
    for text, others in ((STRAND, []), (rest, []), (guards, [3.0])):
        rings = even_at(view(text).recipe, place).rings
        assert [kind.mm[0] for kind in rings] == [mm, *others]
        assert not any(kind.along for kind in rings)


def test_rings_are_counted_by_the_units_in_which_they_stand(strand: str, capsys: Out) -> None:
    assert not findings(STRAND)
    # The start goes with unit 1: 9 rings, then 8 and 8.
    wanted = {"units 1 to 8": 9, "units 9 to 16": 8, "units 17 to 24": 8}
    assert counted(STRAND) == wanted
    assert main(["count", strand, "--json"]) == 0
    rings = json.loads(capsys.readouterr().out)["rings"]
    assert {r["where"]: r["placed"] for r in rings} == wanted
    assert [r["closed"] for r in rings] == [1, 0, 0]


def test_a_kit_is_packed_by_size_and_weighs_what_its_rings_weigh(strand: str, capsys: Out) -> None:
    assert main(["kit", strand, "--json"]) == 0
    lines = json.loads(capsys.readouterr().out)["rings"]
    small, wide = 17 * torus_g(1, 4, COPPER), 8 * torus_g(1.2, 5, COPPER)
    assert [(x["wire_mm"], x["inside_mm"], x["piece"]) for x in lines] == [(1, 4, 17), (1.2, 5, 8)]
    assert [x["piece_metal_g"] for x in lines] == pytest.approx([small, wide], abs=1e-3)
    assert lines[0]["name"] == "A units 1 to 8 and A units 17 to 24"


@pytest.mark.parametrize(
    ("size", "rings"),
    [
        ("short", {(1, 4): 13, (1.2, 5): 6, (0.8, 3.2): 36}),
        ("long", {(1.2, 5): 13, (1.6, 6.5): 6, (1, 4): 36}),
    ],
)
def test_the_example_in_both_sizes(
    size: str, rings: dict[tuple[float, float], int], capsys: Out
) -> None:
    """Units 1 to 6 and the start, 7 to 12, 13 to 18; two links a unit."""
    assert main(["kit", str(EXAMPLES / "graduated_strand.weave"), "--size", size, "--json"]) == 0
    lines = json.loads(capsys.readouterr().out)["rings"]
    assert {(x["wire_mm"], x["inside_mm"]): x["piece"] for x in lines} == rings
    weights = [x["piece_metal_g"] for x in lines]
    wanted = [n * torus_g(*mm, COPPER) for mm, n in rings.items()]
    assert sorted(weights) == pytest.approx(sorted(wanted), abs=1e-3)


def test_a_price_list_names_a_ring_with_its_units(strand: str, tmp_path: Path, capsys: Out) -> None:
    prices = tmp_path / "prices.csv"
    rows = "ring,pack,price,currency\nA units 1 to 8,10,2.00,EUR\nA units 9 to 16,5,1.50,EUR\n"
    prices.write_text(rows, encoding="utf-8")
    assert main(["kit", strand, "--prices", str(prices), "--json"]) == 0
    lines = json.loads(capsys.readouterr().out)["rings"]
    assert [pack["packs"] for x in lines for pack in x["buy"]["packs"]] == [2, 2]


def test_the_list_says_from_which_unit_which_size() -> None:
    told = step_list(view(STRAND))
    assert told.sizes is not None
    assert told.sizes.notes == (
        "units 1 to 8: A of 1 × 4 mm",
        "units 9 to 16: A of 1.2 × 5 mm",
        "units 17 to 24: A of 1 × 4 mm",
    )
    steps = [s.sentence for section in told.sections for s in section.steps]
    assert "1 ring, A, in the size for unit 1" in steps[0]
    assert "1 ring, A, in the size for this unit" in steps[1]
    assert "(1 × 4 mm)" not in as_plain(told.printed)


def test_the_page_says_it_too(strand: str, tmp_path: Path) -> None:
    page = tmp_path / "it.html"
    assert main(["handout", strand, "--pictures", "none", "--to", str(page)]) == 0
    text = page.read_text(encoding="utf-8")
    assert "Which size where" in text
    assert text.count("units 9 to 16: A of 1.2 × 5 mm") >= 1
    assert "A, units 17 to 24" in text


def test_rows_of_a_sheet() -> None:
    assert not findings(SHEET)
    assert counted(SHEET) == {"rows 1 to 2": 10, "row 3": 5, "rows 4 to 6": 15}


def test_a_line_without_units_takes_what_the_others_leave() -> None:
    text = STRAND.replace("A units 17 to 24  wire", "A  wire").replace(
        "units 1 to 8", "units 3 to 8"
    )
    assert not findings(text)
    # Units 1, 2 and 17 to 24, and the start.
    assert counted(text) == {"units 3 to 8": 6, "units 9 to 16": 8, "all else": 11}


@pytest.mark.parametrize("units", [24, 240, 24_000_000])
def test_long_pieces_cost_no_more(units: int) -> None:
    text = STRAND.replace("chain 24 units", f"chain {units} units").replace(
        "17 to 24", f"17 to {units}"
    )
    assert counted(text) == {
        "units 1 to 8": 9,
        "units 9 to 16": 8,
        f"units 17 to {units}": units - 16,
    }


@given(st.lists(st.integers(1, 9), min_size=1, max_size=5), st.integers(1, 3), st.data())
@settings(max_examples=60)
def test_counts_are_those_of_the_rings_placed_one_by_one(
    runs: list[int], a_unit: int, data: st.DataObject
) -> None:
    """Stretches of any lengths: the window's count against every ring of the whole piece."""
    total, lines, at = sum(runs), [], 1
    order = data.draw(st.permutations(range(len(runs))))
    for run in runs:
        lines.append(f"  A units {at} to {at + run - 1}  wire 1 mm, inside {4 + at / 100} mm, tin")
        at += run
    text = STRAND.replace("close A", f"close {a_unit} A").replace("add A", f"add {a_unit} A")
    text = text.replace("A meets 2", f"A meets {2 * a_unit}").replace("24 units", f"{total} units")
    head, tail = text.split("rings:\n")[0], text[text.index("expect:") :]
    text = f"{head}rings:\n" + "".join(lines[k] + "\n" for k in order) + tail
    recipe, _ = read(text)
    placed: Counter[str] = Counter()
    for ring in Weave(recipe, None, whole=True).work.placed_by:
        kind = recipe.kind_of(ring.role, ring.index, ring.unit)
        assert kind is not None
        placed[str(kind.along)] += 1
    assert counted(text) == dict(placed)
    assert sum(placed.values()) == a_unit * (total + 1)


@pytest.mark.parametrize(
    ("was", "slip"),
    [
        ("units 9 to 16", "units 10 to 16"),
        ("units 9 to 16", "units 8 to 16"),
        ("units 9 to 16", "units 9 to 15"),
        ("units 17 to 24", "units 17 to 25"),
        ("units 17 to 24", "units 17 to 23"),
        ("units 1 to 8", "units 2 to 8"),
        ("units 1 to 8", "rows 1 to 8"),
    ],
)
def test_a_slip_in_the_numbers_is_mended_by_what_is_offered(was: str, slip: str) -> None:
    assert was in STRAND
    text = STRAND.replace(was, slip)
    (found,) = findings(text)
    assert found.rule.name == "sizes-along"
    lines = tuple(text.splitlines())
    after = ["\n".join(typed_in(lines, mend.edits)) for mend in found.mends]
    assert not any(map(findings, after)), "every mend that is offered comes out clean"
    assert STRAND.rstrip() in after


def test_a_picture_and_sizes_by_rows_do_not_go_together() -> None:
    text = SHEET + "picture:\n  g = grey\n  r = red\n" + "  ggrgg\n" * 6
    (found,) = findings(text.replace("A row", "all row"))
    assert found.rule.name == "sizes-along"
    assert "the picture says" in found.message


def test_each_size_has_its_floor_where_sizes_meet() -> None:
    """At the border a ring of thin wire holds rings of thick wire, two of them side by side."""
    text = """\
weave "Thin and thick"
rings:
  A units 1 to 4  wire 1 mm, inside 3 mm, tin
  A units 5 to 8  wire 2 mm, inside 8 mm, tin
expect:
  A meets 4
start:
  close 2 A
unit:
  add 2 A through prev A
piece:
  chain 8 units
"""
    (found,) = findings(text)
    assert (found.rule.name, found.span.line) == ("too-tight", 3)
    # Two wires of 2 mm side by side take 4 mm; inside 4 mm holds them, and 3 mm holds four of 1 mm.
    assert not findings(text.replace("inside 3 mm", "inside 4.9 mm"))
    assert not findings(text.replace("wire 2 mm, inside 8 mm", "wire 1 mm, inside 4 mm"))


def test_real_rings_are_not_drawn_in_one_size(strand: str, capsys: Out) -> None:
    with pytest.raises(NoStates, match="size of A changes along the piece"):
        states_of(view(STRAND))
    assert main(["draw", strand, "--rings"]) == 2
    assert "size of A changes along the piece" in capsys.readouterr().err


def test_the_length_adds_up_by_stretches(
    strand: str, tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pulled straight a simple chain is one inside diameter longer with every ring."""
    monkeypatch.chdir(tmp_path)
    assert main(["fit", strand, "--effort", "0"]) == 0
    out = capsys.readouterr().out
    told = re.findall(r"hangs ([\d.]+) mm long", out)
    assert [float(mm) for mm in told] == pytest.approx([4, 5, 4], abs=0.02)
    words = " ".join(out.split())
    whole = re.search(r"All units together: .* which is \d+ to (\d+) mm", words)
    assert whole is not None
    assert int(whole[1]) == 8 * 4 + 8 * 5 + 8 * 4
    assert (tmp_path / "strand-fit" / "units-9-to-16-form-front.svg").exists()


def test_a_length_cannot_size_it(strand: str, capsys: Out) -> None:
    assert main(["kit", strand, "--length", "20 cm"]) == 2
    assert "given unit by unit, for 24 units" in capsys.readouterr().err


def test_the_lines_are_laid_out_in_columns() -> None:
    lines = STRAND.replace("  A units 1 to 8    wire", "\ta UNITS 1 TO 8 WIRE").splitlines()
    assert tidy(source_from_text("\n".join(lines))).lines[2:5] == (
        "  a units 1 to 8    wire 1 mm, inside 4 mm, copper",
        "  A units 9 to 16   wire 1.2 mm, inside 5 mm, copper",
        "  A units 17 to 24  wire 1 mm, inside 4 mm, copper",
    )


@pytest.mark.parametrize(
    "said",
    [
        "A wire 1 mm, inside 4 mm, copper, units 1 to 8",
        "A wire 1 mm, inside 4 mm units 1 to 8, copper",
        "A units 1-8 wire 1 mm, inside 4 mm, copper",
        "A 1 to 8 wire 1 mm, inside 4 mm, copper",
        "A (units 1 to 8) wire 1 mm, inside 4 mm, copper",
        "A for units 1 to 8 wire 1 mm, inside 4 mm, copper",
    ],
)
def test_a_stretch_is_offered_as_it_is_written(said: str) -> None:
    text = STRAND.replace("A units 1 to 8    wire 1 mm, inside 4 mm, copper", said)
    (found,) = findings(text)
    assert found.help[0] == "write 'A units 1 to 8  wire 1 mm, inside 4 mm, copper'"


def test_several_stretches_on_one_line_are_parted() -> None:
    line = "A wire 1 mm, inside 4 mm units 1 to 8, inside 5 mm units 9 to 24, copper"
    lines = STRAND.splitlines()
    (found,) = findings("\n".join([*lines[:2], f"  {line}", *lines[5:]]))
    assert found.help[1:] == (
        "A units 1 to 8  wire 1 mm, inside 4 mm, copper",
        "A units 9 to 24  wire 1 mm, inside 5 mm, copper",
    )
    assert not findings("\n".join([*lines[:2], *found.help[1:], *lines[5:]]))
