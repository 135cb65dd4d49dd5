"""Chains of beads and sheets of scales: parts that repeat with the rings.

The numbers were counted by hand: places of the piece, and links one by one.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from helpers import ROOT, findings, view
from second_opinion.agreement import Opinion

from ringstep.commands.cli import main
from ringstep.language.findings import typed_in
from ringstep.paper.steps_text import step_list

CASES = ROOT / "tests" / "cases"
BEADS, SCALES = CASES / "bead_chain.weave", CASES / "scaled_sheet.weave"


@pytest.mark.parametrize(
    ("file", "rings", "part", "parts", "links"),
    [
        # A ring and a bead in the start and in each of ten units; the ring of the start hangs on
        # one bead, every other on two.
        (BEADS, 1 + 10, "bead", 1 + 10, 1 + 10 * 2),
        # Five rows of six. In each of the four rows below the first six rings hang from the ring
        # above them, and five from the one beside that as well; every ring holds a scale.
        (SCALES, 5 * 6, "scale", 5 * 6, 4 * (6 + 5) + 5 * 6),
    ],
)
def test_parts_are_counted_place_by_place(
    file: Path, rings: int, part: str, parts: int, links: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["count", str(file), "--json"]) == 0
    counted = json.loads(capsys.readouterr().out)
    assert sum(line["opened"] + line["closed"] for line in counted["rings"]) == rings
    assert [(p["name"], p["placed"]) for p in counted["parts"]] == [(part, parts)]
    assert counted["links"] == links
    assert main(["kit", str(file), "--json"]) == 0
    kit = json.loads(capsys.readouterr().out)
    assert sum(line["piece"] for line in kit["rings"]) == rings
    assert [(p["name"], p["kit"]) for p in kit["parts"]] == [(part, parts)]


@pytest.mark.parametrize("file", [BEADS, SCALES])
def test_another_reading_comes_to_the_same_numbers(file: Path, tmp_path: Path) -> None:
    assert Opinion(file.read_text("utf-8"), tmp_path).all() == []


def test_a_bead_of_the_unit_before_is_told_from_a_new_one() -> None:
    (_, step) = (s for x in step_list(view(BEADS.read_text("utf-8"))).sections for s in x.steps)
    assert step.sentence == (
        "Open 1 ring, A. Pass it through the bead of the unit before and through a new bead:"
        " 2 picked up. Close it."
    )
    assert "the bead of the unit before passes through 2 rings and is finished" in step.see


def test_a_scale_is_laid_ready_and_not_closed() -> None:
    sections = step_list(view(SCALES.read_text("utf-8"))).sections
    first, second, third = (s for x in sections for s in x.steps)
    assert first.sentence == "Lay 1 scale ready."
    assert "through the scale" in second.sentence
    assert "and through a new scale, at one place: 3 picked up" in third.sentence


def test_one_scale_for_the_whole_first_row_is_told_and_mended() -> None:
    """A part that nothing lays ready is taken once, as a bar is; six rings would hang on it."""
    text = SCALES.read_text("utf-8")
    once = text.replace("  close scale\n", "")
    (found,) = findings(once)
    assert found.message == "every finished scale meets 6 A, not 1 A as promised"
    (mend,) = found.mends
    assert "\n".join(typed_in(tuple(once.split("\n")), mend.edits)).strip() == text.strip()
