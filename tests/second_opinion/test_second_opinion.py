"""What the program prints of random recipes, held against a second, independent opinion."""

from __future__ import annotations

import ast
import random
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from second_opinion import agreement
from second_opinion.agreement import Opinion, untold
from second_opinion.carrier import CannotBe, Piece, Ring
from second_opinion.pattern import Pattern
from second_opinion.reading import read
from second_opinion.recipes import Drawn, recipe
from second_opinion.slips import slip

#: Some, and eight with what is rare among them: rows that grow or are set in, a last row otherwise,
#: rounds that grow and shrink.
SAMPLE = (*range(60), 154, 273, 468, 662, 722, 809, 921, 926)


@cache
def drawn(number: int) -> Drawn:
    """One recipe of the sample."""
    return recipe(random.Random(f"ring {number}"))


# -- the carrier itself, on answers counted by hand (common practice, no source) -------------------

RINGS = "rings:\n  all  wire 1.2 mm, inside 7 mm, copper\n"

LINKED = (
    RINGS
    + """\
start:
  close 2 H
  add M1 through H picks 2
  add M2 through H, M1 picks 3 lay varies
  add 2 S through M picks 2
  fold back S
unit:
  spread prev M
  add M1 through prev S picks 2
  add M2 through prev S, M1 picks 3 lay varies
  add 2 S through M, prev M picks 4
variants:
  zigzag  lay front, back
piece:
  chain 6 units
finish:
  take out first H
"""
)


def test_the_linked_persian_chain() -> None:
    """Steps pick up 2, 3 and 4 rings, M meets 7 and S 6; the lays alternate from the start on."""
    piece = Piece(read(LINKED))
    unit = [a for a in piece.acts if a.block.kind == "unit" and a.unit == 3 and a.through]
    assert [len(a.through) for a in unit] == [2, 3, 4]
    assert Pattern(piece).finished == {"M": [Counter(S=6, M=1)], "S": [Counter(M=6)]}
    assert [a.side for a in piece.acts if a.step.side] == ["front", "back"] * 3 + ["front"]
    assert piece.placed()["out"] == Counter({("H", 1): 1, ("H", 2): 1})
    assert len(piece.placed_by) == 2 + 4 * 7
    assert len(piece.components()) == 1
    assert Pattern(piece).owed() == []


def test_lay_matters_where_the_rings_gone_through_are_linked() -> None:
    piece = Piece(read(LINKED))
    assert {a.step.number for a in piece.acts if a.lay_matters} == {3, 8}


@pytest.mark.parametrize(("rows", "units"), [(3, 4), (6, 5)])
def test_a_european_sheet(rows: int, units: int) -> None:
    """A row one way reaches the next ring but at its end: 2 × units - 1 links to the row above."""
    text = RINGS + "first row:\n  close A\nrow:\n  add A through above A, above next A if there\n"
    text += f"piece:\n  sheet {rows} rows of {units} units\n  rows back and forth\n"
    piece = Piece(read(text))
    assert len(piece.links) == rows * units
    assert sum(map(len, piece.links.values())) // 2 == (rows - 1) * (2 * units - 1)
    assert Pattern(piece).finished == {"A": [Counter(A=4)]}


def test_a_tube_wraps_above_and_not_along() -> None:
    text = RINGS + "row:\n  close F\n  add K through prev F, F skip at edge\n"
    text += "  add D through above F, F skip at edge\nrow end:\n  add K through last F, first F\n"
    piece = Piece(read(text + "piece:\n  tube 4 rows of 6 units\n"))
    pattern = Pattern(piece)
    assert pattern.finished == {"F": [Counter(K=2, D=2)], "K": [Counter(F=2)], "D": [Counter(F=2)]}
    assert pattern.owed() == []
    assert len(piece.placed_by) == 4 * 6 * 2 + 3 * 6


def test_a_ring_left_out_at_the_seam_of_a_tube_is_owed() -> None:
    text = RINGS + "row:\n  close F\n  add 2 K through prev F, F skip at edge\n"
    text += "  add D through above F, F skip at edge\n"
    text += "row end:\n  add K1 through last F, first F\n  add K2 through last F\n"
    piece = Piece(read(text + "piece:\n  tube 3 rows of 5 units\n"))
    assert {ring for pair in Pattern(piece).owed() for ring in pair} == {
        ring for row in (1, 2, 3) for ring in (Ring("K", 2, row, 6), Ring("F", 1, row, 1))
    }


def test_a_ring_left_out_of_the_first_row_is_owed() -> None:
    """The first row joins its rings as every row does; B of unit 3 misses the A before it."""
    text = RINGS + "first row:\n  add A through prev A if there\n"
    text += "row:\n  add A through above A, prev A if there\npiece:\n  sheet 3 rows of 4 units\n"
    assert Pattern(Piece(read(text))).owed() == []
    short = text.replace("  add A through prev A if there\n", "  close A\n", 1)
    pairs = {frozenset(p) for p in Pattern(Piece(read(short))).owed()}
    assert pairs == {frozenset({Ring("A", 1, 1, u), Ring("A", 1, 1, u + 1)}) for u in (1, 2, 3)}


def test_units_worked_once_owe_nothing_to_a_wrap() -> None:
    text = RINGS + "unit one:\n  close A\nunit two:\n  add 2 A through prev A\n"
    piece = Piece(read(text + "piece:\n  chain 2 units\n  order one, two\n"))
    assert Pattern(piece).meets == {}
    assert piece.by_role(Ring("A", 1, 1, 1)) == Counter(A=2)


def test_what_cannot_be_worked_is_refused() -> None:
    text = RINGS + "unit:\n  add A through prev A\npiece:\n  chain 3 units\n"
    with pytest.raises(CannotBe):
        Piece(read(text))


def test_the_second_opinion_shares_nothing_with_the_program() -> None:
    """Only the door to the command line may know where the program is."""
    for path in Path(__file__).parent.glob("*.py"):
        tree = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        names = [a.name for node in tree if isinstance(node, ast.Import) for a in node.names]
        tree = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        names += [str(node.module) for node in tree if isinstance(node, ast.ImportFrom)]
        assert not [n for n in names if n.split(".")[0] in ("recipe", "ringstep")], path.name


# -- the program ----------------------------------------------------------------------------------


def test_the_sample_holds_every_kind_of_recipe() -> None:
    features = {f for n in SAMPLE for f in drawn(n).features}
    assert features >= {
        "chain", "loop", "sheet", "tube", "named units", "each turn once", "turns come round",
        "rows in turns", "then", "at one place", "sides",
        "written out, all", "written out, first", "written out, middle", "lay",
        "variants", "back and forth", "again", "clasp", "hook", "tail", "start holder",
        "start connector", "no start", "moves", "turn over", "kinds of ring", "promises",
        "stays closed", "one another", "every",
        "reach 2", "reach 3", "leaning rows", "flat rings", "sheet on a bar", "1 rows",
        "strips", "along the row", "first row otherwise", "ring at the row's end",
        "picture", "picture of rings it names", "sizes along", "sets of sizes",
        "last row", "last row of its own rings",
        "shape", "rows narrower", "rows wider", "hole", "rows set in",
        "rounds", "extra place", "shared place", "rounds about a middle", "last round of its own",
    }  # fmt: skip


@pytest.mark.parametrize("number", SAMPLE)
def test_every_number_printed_is_the_number_counted(number: int, tmp_path: Path) -> None:
    found = Opinion(drawn(number).text, tmp_path).all()
    assert not found, "\n".join(
        [*(f"{d.kind}\n  told: {d.told}\n  true: {d.true}" for d in found), drawn(number).text]
    )


@pytest.mark.parametrize("number", SAMPLE)
def test_a_slip_that_breaks_the_piece_is_told(number: int, tmp_path: Path) -> None:
    rng = random.Random(number)
    for made in (slip(rng, drawn(number).text) for _ in range(2)):
        if made is None:
            continue  # no list of the recipe has two rings
        told = untold(made, tmp_path)
        assert not told.startswith("not told"), f"{told}\n{made.before}\n{made.after}\n{made.text}"


def test_the_slips_are_of_every_kind(tmp_path: Path) -> None:
    """Some break the piece and some do not, some are counted to match and some are not."""
    rng = random.Random(1)
    made = [slip(rng, drawn(n).text) for n in SAMPLE]
    assert {s.counted for s in made if s} == {True, False}
    kinds = {untold(s, tmp_path) for s in made if s}
    assert kinds >= {"told", "breaks nothing"}


@pytest.mark.parametrize(
    ("printed", "misprinted", "kind"),
    [
        ("3 rings a unit", "4 rings a unit", "check: rings a unit"),
        ("meets 4 A", "meets 5 A", "check: every finished, a number no such ring has"),
        ('"opened": 8', '"opened": 9', "count: rings opened"),
        ('"links": ', '"links": 1', "count: links"),
        (": 2 rings.", ": 3 rings.", "steps: 'that is N rings'"),
        ("passes through 2 rings", "passes through 9 rings", "steps: See, rings passed through"),
        ("(3", "(2", "steps: See, rings passed through, (N"),
        ("Repeat these steps 8 times", "Repeat these steps 7 times", "steps: how often"),
        ("8 opened", "7 opened", "steps: rings to lay ready"),
        ('"rings": 16', '"rings": 15', "lesson: rings of each step"),
        ('"rings_done": 9', '"rings_done": 8', "lesson: rings done by a break"),
        ("Every finished B passes", "The B passes", "steps: 'every' or the only one, B"),
        ("- H passes", "- Every finished H passes", "steps: 'every' or the only one, H"),
    ],
)
def test_a_number_misprinted_is_found(
    printed: str, misprinted: str, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same recipe, with one number of the program's outputs put wrong on the way."""
    text = RINGS + "start:\n  close H\n  add 2 A through H picks 1\n"
    text += "unit:\n  add 2 A through prev A picks 2\n  add B through A picks 2\n"
    text += "piece:\n  chain 8 units\n"
    text = text.replace("  all ", "  B  wire 1 mm, inside 6 mm, copper\n  all ")
    plain = agreement.run

    def wrong(*words: str) -> tuple[int, str]:
        status, out = plain(*words)
        return status, out.replace(printed, misprinted)

    monkeypatch.setattr(agreement, "run", wrong)
    assert [d for d in Opinion(text, tmp_path).all() if d.kind.startswith(kind)]


@pytest.mark.parametrize(
    ("printed", "misprinted", "kind"),
    [
        ("row 2, back: 3 grey", "row 2, back: 2 grey", "steps: rows by colour"),
        ("row 2, back: 3 grey", "row 2, back: 2 grey", "handout: rows by colour"),
        ("row 2, back", "row 2", "steps: rows by colour"),
        ("grey copper", "rust copper", "count: rings by colour"),
        ('"closed": 3', '"closed": 2', "kit: rings by kind"),
        ("5 rings for A", "4 rings for A", "steps: rings to lay ready"),
    ],
)
def test_a_colour_misprinted_is_found(
    printed: str, misprinted: str, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same of a picture: 1 + 3 + 1 grey rings, 3 + 1 + 3 rust ones."""
    text = RINGS + "first row:\n  close A\nrow:\n  add A through above A, above next A if there\n"
    text += "piece:\n  sheet 3 rows of 4 units\n  rows back and forth\n"
    text += "picture:\n  g = grey\n  r = rust\n  rrrg\n  rggg\n  1 g, 3 r\n"
    plain = agreement.run
    assert Opinion(text, tmp_path).all() == []

    def wrong(*words: str) -> tuple[int, str]:
        status, out = plain(*words)
        if words[0] == "handout":
            page = tmp_path / "trial.html"
            page.write_text(page.read_text("utf-8").replace(printed, misprinted), "utf-8")
        return status, out.replace(printed, misprinted)

    monkeypatch.setattr(agreement, "run", wrong)
    assert [d for d in Opinion(text, tmp_path).all() if d.kind.startswith(kind)]
