"""A second pass along a chain: `again:`, worked once all units are done."""

from __future__ import annotations

import pytest
from helpers import EXAMPLES, findings, view

from ringstep.paper.steps_text import step_list

EDGED = (EXAMPLES / "edged_chain.weave").read_text(encoding="utf-8")


def of(units: int) -> str:
    return EDGED.replace("chain 12 units", f"chain {units} units")


def test_the_second_pass_comes_when_the_chain_is_done() -> None:
    acts = view(EDGED).weave.work.acts
    kinds = [a.block.kind for a in acts]
    units = kinds.count("unit")
    assert kinds == ["start", *["unit"] * units, *["again"] * units]
    assert [a.unit for a in acts if a.block.kind == "again"] == list(range(1, units + 1))


@pytest.mark.parametrize("units", [1, 5, 12, 10_000_000])
def test_its_rings_and_links_are_counted(units: int) -> None:
    """A ring a unit in each pass, one of the start; a link of the first pass, two of the next."""
    weave = view(of(units)).weave
    assert weave.counts.total() == 1 + 2 * units
    assert weave.links == (3 * units, 0)
    assert len(weave.work.acts) < 40


def test_the_step_list_leads_along_the_chain_again() -> None:
    said = {s.heading: s.intro for s in step_list(view(EDGED)).sections}
    assert said["The chain again"] == "Go along it again from its first unit, 12 times:"


def test_it_may_go_through_rings_of_units_ahead() -> None:
    text = EDGED.replace("through prev A, A picks 2", "through A, next A if there")
    assert text != EDGED
    assert [f.rule.name for f in findings(text) if f.severity == "error"] == []
    last = [a for a in view(text).weave.work.acts if a.block.kind == "again"][-1]
    assert len(last.through) == 1


def test_a_ring_missed_in_the_second_pass_is_told_and_mended() -> None:
    (finding,) = findings(EDGED.replace("through prev A, A picks 2", "through prev A picks 1"))
    assert "step 3 most likely also goes through A" in finding.message
    assert finding.mends[0].says == "write 'through prev A, A picks 2'"


def test_a_unit_counts_the_rings_of_both_passes() -> None:
    assert findings(EDGED.replace("expect:", "expect:\n  2 rings a unit")) == ()
    (finding,) = findings(EDGED.replace("expect:", "expect:\n  1 ring a unit"))
    assert finding.rule.name == "unit-count"
