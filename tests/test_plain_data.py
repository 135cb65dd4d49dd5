"""Plain data for other programs, of sizes with many decimals, by sums done beforehand.

Wire of 16 AWG is 0.127 x 92^(20/39) = 1.290845906 mm, an inside of 13/64 in 5.159375 mm: AR
3.996895, a mean diameter of 6.450221 mm, 20.263967 mm of wire a ring and as much x 1.308692 mm3 of
metal (pi/4 d2), at 8.92 g/cm3 0.236553 g. The chain has 31 rings: 628.183 mm and 7.3331 g.
"""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest
from helpers import SIMPLE
from test_samples import entry, seen

from ringstep.commands.cli import main
from ringstep.paper.sample_words import sample_rows

Out = pytest.CaptureFixture[str]
ODD = SIMPLE.replace("wire 1.2 mm, inside 5 mm", "wire 16 awg, inside 13/64 in").replace(
    "  A meets 2\n", "  A meets 2\n  AR 3.5 to 4.5, my own trials\n"
)


@pytest.fixture
def odd(folder: Path) -> str:
    (folder / "odd.weave").write_text(ODD, encoding="utf-8")
    return "odd.weave"


def data(capsys: Out, *words: str) -> Any:
    capsys.readouterr()
    assert main([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_kit_tables_and_order_tables_give_wire_to_a_micron_and_metal_to_a_tenth_of_a_mg(
    odd: str, capsys: Out
) -> None:
    (ring,) = data(capsys, "kit", odd)["rings"]
    assert (ring["kit_wire_mm"], ring["kit_metal_g"], ring["piece_metal_g"]) == (
        628.183, 7.3331, 7.3331,
    )  # fmt: skip
    order = data(capsys, "kit", odd, odd)
    (thing,) = order["to_buy"]
    assert (thing["metal_g"], thing["all_kits"], thing["inside_mm"]) == (14.6663, 62, 5.159375)
    (spared,) = data(capsys, "kit", odd, "--spares", "10")["rings"]
    assert (spared["spares"], spared["kit"], spared["piece_metal_g"]) == (4, 35, 7.3331)
    assert spared["kit_metal_g"] == 8.2793  # 35 x 0.2365526


def test_kit_tables_write_csv_in_mm_to_a_hundredth(odd: str, capsys: Out) -> None:
    assert main(["kit", odd, "--csv"]) == 0
    (row,) = csv.DictReader(io.StringIO(capsys.readouterr().out, newline=""))
    assert (row["what"], row["wire_mm"], row["inside_mm"]) == ("ring", "1.29", "5.16")
    assert (row["piece"], row["kit_wire_mm"], row["kit_metal_g"]) == ("31", "628.183", "7.3331")
    assert (row["pack"], row["price"], row["currency"]) == ("", "", "")


def test_lesson_tables_weigh_a_ring_to_a_microgram(odd: str, capsys: Out) -> None:
    """Wire 1 % thicker: the section grows by 2.01 %, the round by 0.2 %: 2.214 % of 31 rings."""
    told = data(capsys, "lesson", odd, "--scale", "0.01")
    (ring,) = told["prepare"]
    assert (ring["ring_g"], ring["bag_g"], ring["scale_reads_g"]) == (0.236553, 7.3331, "7.33")
    assert ring["rings_off_a_percent_of_wire"] == 0.686
    assert (ring["opened"], ring["closed"], ring["all_bags"]) == (30, 1, 31)
    assert told["scale_g"] == "0.01"


def test_size_tables_give_sizes_to_a_tenth_of_a_micron(odd: str, capsys: Out) -> None:
    """AR 3.45 to under 4.55 are 4.4534 to 5.8733 mm; two wires side by side 2.5817 mm."""
    told = data(capsys, "sizes", odd)
    text = json.dumps(told)
    for part in (
        '"wire_mm": 1.2908', '"inside_from_mm": 4.4534', '"inside_below_mm": 5.8733',
        '"inside_mm": 5.1594', '"inside_mm": 2.5817', '"ar": 3.9969', '"counts_as": 4.0',
        '"low": 3.5', '"high": 4.5', '"decimals": 1', '"rings": 2',
    ):  # fmt: skip
        assert f"{part}," in text or f"{part}}}" in text, part


def test_drawer_tables_give_sizes_to_a_tenth_of_a_micron(
    odd: str, folder: Path, capsys: Out
) -> None:
    (folder / "other.weave").write_text(ODD, encoding="utf-8")
    (folder / "my.csv").write_text("ring,wire,inside,count\nb,16 awg,13/64 in,100\n", "utf-8")
    told = json.dumps(data(capsys, "sizes", odd, "other.weave", "--stock", "my.csv"))
    assert '"wire_mm": 1.2908, "inside_mm": 5.1594, "ar": 3.9969, "answer": "fits"' in told
    assert '"pieces": 3, "units": 99, "too_few": null' in told  # 31 rings a piece


def test_sample_words_list_lengths_to_a_tenth_of_a_micron() -> None:
    """7 units of 1 17/64 in are 32.14688 mm, 4.59241 mm each."""
    one = entry(units="7 units = 1 17/64 in")
    (row,) = sample_rows("my.samples", [one], None)
    assert (row["length_mm"], row["unit_mm"]) == (32.1469, 4.5924)
    assert row["used"] == "no: the recipe has errors or is missing"
    assert (row["rings"], row["log"], row["units"]) == (
        "wire 1.2 mm, inside 5 mm, copper", "my.samples", 7,
    )  # fmt: skip
    assert not seen(ODD).troubles
