"""Named sets of ring sizes: one weave sold in several, each judged, counted and packed by itself.

Scenario: the Harbour Lane bench sells a doubled chain and a chain of two wires in three sizes. The
weights are those of a torus, worked out here.
"""

from __future__ import annotations

import json
from math import pi
from pathlib import Path

import pytest
from helpers import findings, view

import ringstep
from ringstep.checks.view import with_size
from ringstep.commands.cli import main
from ringstep.language.size_sets import NoSize, of_size
from ringstep.language.source import source_from_text
from ringstep.language.tidy import tidy

Out = pytest.CaptureFixture[str]
#: g/cm³, as the program's table of metals has them.
COPPER, BRASS = 8.92, 8.53

DOUBLED = """\
weave "Doubled chain of the Harbour Lane bench"
rings:
  all  wire 1.2 mm, inside 5.2 mm, copper
sizes:
  small   all wire 0.8 mm, inside 3.4 mm
  large   all wire 1.6 mm, inside 7 mm
expect:
  A meets 4
  AR from 3.5, common practice no source
start:
  close 2 A
unit:
  add 2 A through prev A
piece:
  chain 30 units
  sample 10 units = 41 mm
"""
TWO_WIRES = """\
weave "Chain of two wires"
rings:
  A  copper, colour dark
  B  brass
sizes:
  small  A  wire 1 mm, inside 4 mm
  small  B  wire 0.8 mm, inside 3 mm
  large  A  wire 1.5 mm, inside 6 mm
  large  B  wire 1.2 mm, inside 5 mm
expect:
  A meets 2 B
  B meets 2 A
start:
  close A
unit:
  add B through prev A
  add A through B
piece:
  chain 16 units
"""


def torus_g(wire: float, inside: float, density: float) -> float:
    """The weight of a closed round ring in g: 2 π² R r², R and r in mm."""
    return 2 * pi**2 * (inside + wire) / 2 * (wire / 2) ** 2 * density / 1000


@pytest.fixture
def doubled(tmp_path: Path) -> str:
    path = tmp_path / "doubled.weave"
    path.write_text(DOUBLED, encoding="utf-8")
    return str(path)


@pytest.fixture
def two(tmp_path: Path) -> str:
    path = tmp_path / "two.weave"
    path.write_text(TWO_WIRES, encoding="utf-8")
    return str(path)


def told(capsys: Out, *words: str) -> dict[str, object]:
    assert main([*words, "--json"]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


@pytest.mark.parametrize(
    ("size", "wire", "inside"), [(None, 1.2, 5.2), ("small", 0.8, 3.4), ("large", 1.6, 7.0)]
)
def test_a_kit_in_each_size_weighs_what_its_rings_weigh(
    doubled: str, capsys: Out, size: str | None, wire: float, inside: float
) -> None:
    (line,) = told(capsys, "kit", doubled, *(["--size", size] if size else []))["rings"]
    assert (line["wire_mm"], line["inside_mm"], line["piece"]) == (wire, inside, 62)
    assert line["piece_metal_g"] == pytest.approx(62 * torus_g(wire, inside, COPPER), abs=1e-3)


def test_what_was_measured_is_not_told_of_another_size(doubled: str, capsys: Out) -> None:
    own = told(capsys, "kit", doubled)["length_mm"]
    assert own is not None
    assert own["woven"] == pytest.approx(30 * 4.1)
    assert told(capsys, "kit", doubled, "--size", "small")["length_mm"] is None
    assert main(["kit", doubled, "--size", "small", "--length", "19 cm"]) == 2
    assert "no sample" in capsys.readouterr().err


def test_material_and_colour_are_those_of_rings(two: str, capsys: Out) -> None:
    lines = told(capsys, "kit", two, "--size", "large")["rings"]
    assert [(x["name"], x["material"], x["colour"], x["wire_mm"]) for x in lines] == [
        ("A", "copper", "dark", 1.5),
        ("B", "brass", "", 1.2),
    ]
    grams = [x["piece_metal_g"] for x in lines]
    wanted = [17 * torus_g(1.5, 6, COPPER), 16 * torus_g(1.2, 5, BRASS)]
    assert grams == pytest.approx(wanted, abs=1e-3)


def test_a_ring_of_another_look_has_the_sizes_of_all(tmp_path: Path, capsys: Out) -> None:
    """B has a line of its own for its metal only; its size is that of the others."""
    text = """\
weave "Chain of two metals"
rings:
  all  copper
  B    brass
sizes:
  small  all  wire 1 mm, inside 4 mm
  large  all  wire 1.5 mm, inside 6 mm
expect:
  A meets 2 B
  B meets 2 A
start:
  close A
unit:
  add B through prev A
  add A through B
piece:
  chain 16 units
"""
    assert not findings(text)
    path = tmp_path / "metals.weave"
    path.write_text(text, encoding="utf-8")
    for words, wire, inside in (([], 1, 4), (["--size", "large"], 1.5, 6)):
        lines = sorted(told(capsys, "kit", str(path), *words)["rings"], key=lambda x: x["name"])
        assert [(x["name"], x["material"], x["wire_mm"], x["piece"]) for x in lines] == [
            ("A", "copper", wire, 17),
            ("B", "brass", wire, 16),
        ]
        weights = [x["piece_metal_g"] for x in lines]
        wanted = [17 * torus_g(wire, inside, COPPER), 16 * torus_g(wire, inside, BRASS)]
        assert weights == pytest.approx(wanted, abs=1e-3)


def test_without_sizes_under_rings_the_first_set_holds(two: str, capsys: Out) -> None:
    assert not findings(TWO_WIRES)
    one, other = (told(capsys, "kit", two, *w) for w in ((), ("--size", "small")))
    assert one == other
    assert one["piece"] == "a chain of 16 units, in size small"


@pytest.mark.parametrize(
    "words",
    [
        ["kit"],
        ["count"],
        ["steps", "--plain"],
        ["handout", "--pictures", "none", "--to", "it.html"],
        ["sizes"],
    ],
)
def test_each_command_takes_a_size_and_lists_those_there_are(
    words: list[str], doubled: str, capsys: Out, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    command = [words[0], doubled, *words[1:]]
    assert main([*command, "--size", "large"]) == 0
    out = capsys.readouterr().out
    page = tmp_path / "it.html"
    out += page.read_text(encoding="utf-8") if page.exists() else ""
    assert "7 mm" in out.replace("\u00a0", " ")
    assert "5.2 mm" not in out.replace("\u00a0", " ")
    assert main([*command, "--size", "huge"]) == 2
    assert "no set of sizes 'huge'; it has small and large" in capsys.readouterr().err


def test_the_door_takes_a_size() -> None:
    kit = ringstep.read(text=DOUBLED, size="large").kit()
    assert [(line.wire, line.rings) for line in kit.lines] == [(1.6, 62)]
    assert ringstep.read(text=DOUBLED, size="large").findings == ()
    with pytest.raises(ringstep.Refused, match="it has small and large"):
        ringstep.read(text=DOUBLED, size="huge")


def test_the_page_says_its_size(doubled: str, tmp_path: Path, capsys: Out) -> None:
    page = tmp_path / "it.html"
    words = ["handout", doubled, "--size", "small", "--pictures", "none", "--to", str(page)]
    assert main(words) == 0
    assert "A chain of 30 units, in size small" in page.read_text(encoding="utf-8")


def test_a_recipe_without_sets_says_so(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "plain.weave"
    lines = DOUBLED.splitlines(keepends=True)
    path.write_text("".join(lines[:3] + lines[6:]), encoding="utf-8")
    assert main(["kit", str(path), "--size", "small"]) == 2
    assert "it has no section 'sizes:'" in capsys.readouterr().err


def test_one_table_of_every_set(two: str, capsys: Out) -> None:
    sets = told(capsys, "sizes", two)["sets"]
    assert [(x["set"], x["ring"], x["wire_mm"], x["inside_mm"], x["piece"]) for x in sets] == [
        ("small", ["A"], 1.0, 4.0, 17),
        ("small", ["B"], 0.8, 3.0, 16),
        ("large", ["A"], 1.5, 6.0, 17),
        ("large", ["B"], 1.2, 5.0, 16),
    ]
    weights = [17 * torus_g(1, 4, COPPER), 16 * torus_g(0.8, 3, BRASS)]
    assert [x["piece_metal_g"] for x in sets[:2]] == pytest.approx(weights, abs=1e-3)
    assert main(["sizes", two]) == 0
    out = capsys.readouterr().out
    assert "SETS OF SIZES" in out
    assert len([line for line in out.splitlines() if line.strip().startswith("large")]) == 2


def test_every_set_is_judged_as_the_rings_are() -> None:
    tight = DOUBLED.replace("inside 3.4 mm", "inside 1.8 mm")
    assert {(f.rule.name, f.span.line) for f in findings(tight)} == {
        ("too-tight", 5),
        ("size-off-range", 5),
    }
    bare = DOUBLED.replace("wire 1.6 mm", "wire 16")
    assert [(f.rule.name, f.span.line) for f in findings(bare)] == [("bare-number", 6)]
    swapped = DOUBLED.replace("wire 1.6 mm, inside 7 mm", "wire 7 mm, inside 1.6 mm")
    assert [(f.rule.name, f.span.line) for f in findings(swapped)] == [("ring-size", 6)]


def test_a_faulty_set_is_told_once_though_the_recipe_itself_uses_it() -> None:
    text = TWO_WIRES.replace("wire 0.8 mm, inside 3 mm", "wire 3 mm, inside 0.8 mm")
    # Wire of 3 mm is also too thick for the rings it goes through.
    told = [(f.rule.name, f.span.line) for f in findings(text)]
    assert told == [("too-tight", 6), ("ring-size", 7)]


def test_links_and_counts_are_those_of_the_recipe_in_every_size() -> None:
    seen = view(DOUBLED)
    for name, weave in seen.in_sizes:
        alone = with_size(seen, name).weave
        assert weave.counts == alone.counts == seen.weave.counts
        assert weave.size("A", 1) == alone.size("A", 1)
        assert weave.links == seen.weave.links
    with pytest.raises(NoSize):
        of_size(seen.recipe, "Small")


def test_the_section_is_laid_out_as_a_table() -> None:
    text = TWO_WIRES.replace("  small  A  wire", " SMALL2 A   WIRE").replace("  large", "\tlarge ")
    laid = tidy(source_from_text(text)).lines[4:9]
    assert laid == (
        "sizes:",
        "  SMALL2  A  wire 1 mm, inside 4 mm",
        "  small   B  wire 0.8 mm, inside 3 mm",
        "  large   A  wire 1.5 mm, inside 6 mm",
        "  large   B  wire 1.2 mm, inside 5 mm",
    )


def test_the_words_are_free_as_names_and_topics() -> None:
    text = """\
weave "Free names"
rings:
  sizes  wire 1 mm, inside 4 mm, tin
  small  wire 1 mm, inside 4 mm, tin
expect:
  sizes meets 2 small
  small meets 2 sizes
notes:
  sizes  taken from a bench sample
start:
  close sizes
unit:
  add small through prev sizes
  add sizes through small
piece:
  chain 16 units
"""
    assert not findings(text)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("small wire 0.8 mm, inside 4 mm", "small  all  wire 0.8 mm, inside 4 mm"),
        ("small: all wire 0.8 mm, inside 4 mm", "small  all wire 0.8 mm, inside 4 mm"),
        ("small 0.8 mm wire, 4 mm inside", "small  all  wire 0.8 mm, inside 4 mm"),
        ("small all 0.8 mm x 4 mm", "small  all  wire 0.8 mm, inside 4 mm"),
        ("all wire 0.8 mm, inside 4 mm", "small  all wire 0.8 mm, inside 4 mm"),
        ("small all wire 0.8 mm, inside 4 mm, tin", "small  all wire 0.8 mm, inside 4 mm"),
    ],
)
def test_lines_of_sets_are_told_as_they_are_written(said: str, meant: str) -> None:
    def text(line: str) -> str:
        return DOUBLED.replace("small   all wire 0.8 mm, inside 3.4 mm", line)

    (found,) = findings(text(said))
    assert found.help[0].split("'")[1] == meant
    assert not findings(text(meant))
