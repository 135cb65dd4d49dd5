"""What is told of a drawer agrees with itself, and with what `sizes` tells of a wire."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from helpers import LIBRARY, view
from test_drawer import NEW, Out, held, ring, rows_of, shipped

from ringstep.commands import drawer
from ringstep.commands.cli import main
from ringstep.shop.fitting import ring_uses
from ringstep.space.fit import fit
from ringstep.space.fit_cell import laid_out


def test_each_ring_of_two_sizes_stands_beside_the_least_ar_of_that_pair(
    tmp_path: Path, capsys: Out
) -> None:
    """The square sheet has 1.6 × 8 and 1.2 × 4 mm and is told from 4.08 with 2.67 there. These two
    are of AR 3.50, the small one of wire two thirds as thick, and their own least is less."""
    stock = tmp_path / "my.csv"
    stock.write_text("ring;wire;inside\nR02;1,2 mm;4,2 mm\nR08;0,8 mm;2,8 mm\n")
    assert main(["sizes", str(LIBRARY / "japanese_square.weave"), "--stock", str(stock)]) == 0
    out = capsys.readouterr().out
    (row, *_) = rows_of(out, "EVERY SET THAT FITS")
    assert row[1:4] == ["R02 for flat, R08 for across and down", "3.50, 3.50", "2.85, 3.12"]
    words = " ".join(out.split())
    assert "flat (1.6 × 8 mm) AR from 4.08 with across and down (1.2 × 4 mm) AR from 2.67" in words
    assert "how small the AR of one may be depends on the other" in words


def test_a_tight_ring_is_told_what_its_wire_may_make_of_its_ar(tmp_path: Path, capsys: Out) -> None:
    """5 / 1.25 = 4.00 and 5 / 1.15 = 4.35, and 4.05 (1.2 ± 0.05) / 1.2 = 3.88 to 4.22."""
    (one,) = held("box_chain", ring("R01", "1.2 mm", "5 mm"))
    assert one.said.answer == "tight"
    assert one.said.why == (
        "wire 0.05 mm thicker or thinner than its label makes it AR 4.00 or 4.35, on either side of"
        " AR 4.05, the smallest found (computed): a sample decides"
    )
    ends = ("4.64 mm", "cannot"), ("4.67 mm", "tight"), ("5.06 mm", "tight"), ("5.08 mm", "fits")
    for inside, answer in ends:
        (one,) = held("box_chain", ring("x", "1.2 mm", inside))
        assert one.said.answer == answer, inside
    stock = tmp_path / "my.csv"
    stock.write_text("ring,wire,inside\nx,1.2 mm,5 mm\n")
    main(["sizes", str(LIBRARY / "box_chain.weave"), "--stock", str(stock)])
    words = " ".join(capsys.readouterr().out.split())
    assert "of 1.2 mm wire a ring of AR 3.88 to 4.22 is tight where 4.05 is the least" in words


def test_wire_as_thin_as_what_it_may_be_off_is_judged_too() -> None:
    (one,) = held("box_chain", ring("x", "0.05 mm", "0.2 mm"))
    assert one.said.answer == "tight"  # AR 4, and 4.05 is the least


@pytest.mark.parametrize(
    ("wire", "under"), [("1.2 mm", "tight"), ("1.6 mm", "tight"), ("8 mm", "cannot")]
)
def test_a_ring_that_rounds_into_a_stated_range_fits_here_as_it_does_by_wire(
    wire: str, under: str
) -> None:
    """5.65 counts as 5.7, which the zigzag chain states; computed is 5.698, also 5.7. What lies
    below cannot be where wire 0.05 mm thinner leaves it under 5.698, as of 8 mm."""
    mm = Fraction(wire.split()[0])
    (use,) = ring_uses(shipped("persian_linked"))
    ends = ("5.65", "fits"), ("5.64", under), ("5.84", "fits"), ("5.85", "loose")
    for aspect, answer in ends:
        inside = float(mm * Fraction(aspect))
        (one,) = held("persian_linked", ring("x", wire, f"{inside:.4f} mm"))
        assert one.said.answer == answer, aspect
        assert (use.verdict(float(mm), inside) == "fits") == (answer == "fits")


@pytest.mark.parametrize("wire", ["16 swg", "18 swg", "1.2 mm", "20 awg"])
def test_the_least_and_largest_openings_that_are_printed_fit(wire: str, capsys: Out) -> None:
    """Of 16 SWG, 1.6256 mm, 5.65 is 9.185 mm: 9.18 would be AR 5.647, which counts as 5.6."""
    path = LIBRARY / "persian_linked.weave"
    assert main(["sizes", str(path), "--wire", wire]) == 0
    low = re.search(r"(\d\.\d+) to just under", capsys.readouterr().out)
    assert low
    assert wire != "16 swg" or low[1] == "9.19"
    (one,) = held("persian_linked", ring("x", wire, f"{low[1]} mm"))
    assert one.said.answer == "fits"
    (less,) = held("persian_linked", ring("x", wire, f"{float(low[1]) - 0.01:.2f} mm"))
    assert less.said.answer == "tight"


def test_the_same_links_laid_otherwise_have_another_range(tmp_path: Path, capsys: Out) -> None:
    """9 / 1.6 = 5.625, which is 5.6: in the range of calm, under that of zigzag."""
    stock = tmp_path / "my.csv"
    stock.write_text("ring;wire;inside\nR05;1,6 mm;9,0 mm\n")
    path = str(LIBRARY / "persian_linked.weave")
    assert main(["sizes", path, "--stock", str(stock)]) == 1
    assert "alone, with --variant calm or mirror" in " ".join(capsys.readouterr().out.split())
    assert main(["sizes", path, "--stock", str(stock), "--variant", "calm"]) == 0


def test_a_fit_that_found_nothing_is_not_asked_for_again(monkeypatch: pytest.MonkeyPatch) -> None:
    own = view(NEW)
    found = fit(laid_out(own).cell, effort=0)
    assert drawer.weaving("new", own).hint == "'ringstep fit new' computes one"
    none = replace(found, forms=tuple(replace(form, as_said=False) for form in found.forms))
    monkeypatch.setattr(drawer, "known_fit", lambda _: none)
    hint = drawer.weaving("new", own).hint
    assert hint == "'ringstep fit' found no form that lies as the steps say: work a sample"
