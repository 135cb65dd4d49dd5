"""Small numbers and words of kits, mandrels, lists and samples, worked out by hand."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from helpers import SIMPLE, view

import ringstep.shop.tally
from ringstep.commands.cli import main
from ringstep.shop.columns import Columns, read_remembered, remembered_text
from ringstep.shop.fitting import Crowd, floor_of
from ringstep.shop.mandrel import NoRing, Typical, inside_of, mandrel_for
from ringstep.shop.sample_log import BadEntry, own_rings, read_day
from ringstep.shop.tally import NoCount, count_piece

GRADED = """weave "Graded"
rings:
  A units 1 to 4  wire 1.2 mm, inside 5 mm, brass
  A               wire 1.2 mm, inside 6 mm, brass
start:
  close A
unit:
  add A through prev A
piece:
  chain 9 units
"""


def test_a_mandrel_can_be_so_narrow_that_any_wire_holds_but_not_how_far_it_opens() -> None:
    """No Y/E takes all the bend of a ring that is already closed, so it never springs straight."""
    for yields in (0.2, 0.5, 2):
        with pytest.raises(NoRing, match="opens to more than half as wide again, and by how much"):
            mandrel_for(8, 1, Typical("any", "any", yields))
    soft = Typical("any", "soft", 0.001)
    assert inside_of(mandrel_for(8, 1, soft, 0.5), 1, soft, 0.5) == pytest.approx(8)


def test_wires_that_no_table_packs_have_a_bound_that_says_so() -> None:
    """Packings of equal circles are proven to 13 and for 19; fourteen fill at least their area."""
    floor = floor_of(Crowd("A", 14, ()), 1.0)
    assert floor.reason == (
        "a bound, since the tightest packing of 14 equal circles is not proven"
    )
    assert math.sqrt(14) < floor.inside
    assert "not proven" not in floor_of(Crowd("A", 13, ()), 1.0).reason


@pytest.mark.parametrize("option", ["--length", "--clasp", "--ease"])
def test_a_graded_piece_is_sized_by_its_units_alone(
    option: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "graded.weave").write_text(GRADED, encoding="utf-8")
    assert main(["kit", "graded.weave", option, "100 mm"]) == 2
    assert f"unit by unit, for 9 units, so {option} cannot size it" in capsys.readouterr().err


def test_a_sample_is_of_the_one_ring_or_of_each_line() -> None:
    (ring,) = own_rings(view(SIMPLE), "")
    assert (ring.name.role, ring.name.index) == ("all", None)


def test_a_day_is_told_in_full_up_to_forty_letters() -> None:
    assert read_day("2026-02-28") == "2026-02-28"
    for day in ("2026-02-29", "26-2-28", "x" * 50):
        with pytest.raises(BadEntry) as told:
            read_day(day)
        assert str(told.value).startswith(f"'{day[:40]}' is no day")


def test_as_many_rings_as_may_be_are_placed_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Thirty units and their start are 31 rings."""
    monkeypatch.setattr(ringstep.shop.tally, "MOST_EXPLICIT", 31)
    count_piece(view(SIMPLE), one_by_one=True)
    monkeypatch.setattr(ringstep.shop.tally, "MOST_EXPLICIT", 30)
    with pytest.raises(NoCount, match="31 rings, and at most 30 "):
        count_piece(view(SIMPLE), one_by_one=True)


def test_columns_that_were_told_are_read_again_as_they_were_told() -> None:
    told = Columns(0, ("Nr", "Was; wo", "VK"), {"ring": 1, "price": 2}, {"currency": "=EUR"})
    text = remembered_text("p.csv", told, {"pack": "-"}, ("ring", "pack", "price", "currency"))
    heads, found = read_remembered(text, "p.csv.columns")
    assert heads == ("Nr", "Was; wo", "VK")
    assert found == {"ring": "Was; wo", "pack": "-", "price": "VK", "currency": "=EUR"}
