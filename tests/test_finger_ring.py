"""Finger rings by ISO 8653: the size is the inside measured round, the band lies outside it."""

from __future__ import annotations

import json
from math import pi
from pathlib import Path

import pytest
from helpers import JAPANESE, LIBRARY, SIMPLE, view
from hypothesis import given
from hypothesis import strategies as st

from ringstep.commands.cli import main
from ringstep.language.typed_size import BadSize, read_length, read_size
from ringstep.paper.finger_ring import comes_to, ring_size_of
from ringstep.paper.kit_tables import kit_page
from ringstep.shop.kit import Kit, kit_of
from ringstep.shop.wish import NoKit, read_wish

Out = pytest.CaptureFixture[str]
BAND = SIMPLE.replace("chain 30 units", "chain 30 units\n  sample 10 units = 40 mm")


def kit(text: str, length: str, **more: str) -> Kit:
    return kit_of(view(text), read_wish(length, **more))


@given(st.integers(41, 76), st.integers(1, 80))
def test_the_middle_of_the_band_is_longer_by_pi_times_its_thickness(size: int, tenths: int) -> None:
    """By the two circles: inside diameter size / pi, and half the band on each side of it more."""
    made = read_length(f"ring size {size}, {tenths / 10} mm thick")
    assert made.mm == pytest.approx(pi * (size / pi + tenths / 10))


@pytest.mark.parametrize(
    "text",
    [
        "ring size 54, 2.5 mm thick",
        "Ring Size 54 2.5mm",
        "size 54, 0.25 cm thick",
        "ring size 54, 2.5 mm",
    ],
)
def test_a_ring_size_as_one_types_it(text: str) -> None:
    assert read_length(text).mm == pytest.approx(61.854, abs=5e-4)


def test_any_other_length_is_read_as_ever() -> None:
    assert read_length("19 cm") == read_size("19 cm")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("ring size 54", "so its length depends on how thick it is; measure that"),
        ("ring size 40, 2 mm thick", "go from 41 to 76 in whole numbers"),
        ("ring size 77, 2 mm thick", "go from 41 to 76 in whole numbers"),
        ("ring size 54.5, 2 mm thick", "in whole numbers: the inside of the ring measured round"),
        ("ring size N", "is not a ring size by ISO 8653"),
        ("ring size", "is not a ring size by ISO 8653"),
        ("ring size 54, 2 thick", "'2' has no unit; write '2 mm'"),
        ("ring size 54, thick", "'thick' is not a size"),
        ("ring size 5\u0664, 2 mm thick", "is not a ring size"),
    ],
)
def test_a_ring_size_that_cannot_be_a_length(text: str, told: str) -> None:
    """The ends of the sizes are those of a ring stick: ISO 8653, read in its draft of 2014."""
    with pytest.raises(BadSize) as fault:
        read_length(text)
    assert told in str(fault.value)
    with pytest.raises(NoKit):
        read_wish(text)


def test_units_for_a_finger_by_hand() -> None:
    """54 + pi x 2 = 60.28 mm, units of 4 mm: 15.07, so 16, which are 64 - 6.28 = 57.7 round inside;
    15 are 53.7. The start's ring is not in it."""
    made = kit(BAND, "ring size 54, 2 mm thick")
    assert made.length is not None
    assert (made.length.units, made.length.woven) == (16, 64)
    assert ring_size_of(made, 16) == pytest.approx(57.717, abs=5e-4)
    assert comes_to(made)[0] == (
        "16 units come to ring size 57.7, 15 units to 53.7, without the start; every mm more is"
        " a size more"
    )
    told = " ".join(note for sheet in kit_page(made).sheets for note in sheet.notes)
    assert "ring size 54 is 54 mm round the inside (ISO 8653); the band, 2 mm thick" in told
    assert "its middle is π × 2 = 6.28 mm longer: 60.28 mm wanted" in told


def test_a_clasp_and_ease_are_in_the_size_that_comes_out() -> None:
    """60.28 + 1 - 8 = 53.28 mm, 13.32 units, so 14: 56 + 8 - 1 - 6.28."""
    made = kit(BAND, "ring size 54, 2 mm thick", clasp="8 mm", ease="1 mm")
    assert made.length is not None
    assert made.length.units == 14
    assert ring_size_of(made, 14) == pytest.approx(56.717, abs=5e-4)
    assert comes_to(made)[0].endswith("13 units to 52.7; a size is 1 mm round")


@given(st.integers(41, 76), st.integers(10, 60))
def test_whole_units_reach_the_size_and_one_fewer_does_not(size: int, tenths: int) -> None:
    made = kit(BAND, f"ring size {size}, {tenths / 10} mm thick")
    assert made.length is not None
    ends = [ring_size_of(made, made.length.units - fewer) for fewer in (0, 1)]
    assert ends[1] < size <= ends[0] + 1e-6  # type: ignore[operator]


def test_without_a_ring_size_none_is_told() -> None:
    made = kit(BAND, "60 mm")
    assert ring_size_of(made, 15) is None
    assert comes_to(made) == ()


def test_a_sheet_is_not_sized_by_a_finger() -> None:
    with pytest.raises(NoKit, match="a sheet is rows times units, so --length cannot size it"):
        kit(JAPANESE, "ring size 54, 2 mm thick")


def test_a_finger_ring_at_the_prompt(tmp_path: Path, capsys: Out) -> None:
    path = str(LIBRARY / "simple_loop.weave")
    words = ["kit", path, "--length", "ring size 60, 3 mm thick"]
    assert main([*words, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)["length_mm"]
    # 60 + 9.42 = 69.42 mm of units of 7 mm: 10, which are 70 - 9.42
    assert (data["units"], round(data["ring_size_of_units"], 2)) == (10, 60.58)
    assert main(words) == 0
    assert "take it off --length" in " ".join(capsys.readouterr().out.split())
    assert main(["kit", path, "--length", "ring size 60"]) == 2
    assert "--length: ring size 60 is the inside" in capsys.readouterr().err
