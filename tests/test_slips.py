"""Slips of every kind over shipped and random recipes: caught, and blamed on the right line.

A fixed sample of what `python tests/slips.py` makes in full; the table is printed with -s.
"""

from __future__ import annotations

import pytest
from slips import KINDS, Tally, right_recipes, run, table


@pytest.fixture(scope="module")
def tallies() -> dict[str, Tally]:
    return run(right_recipes(12), most=2, seed=3)


def test_the_sample_is_worth_the_name(tallies: dict[str, Tally]) -> None:
    print("\n" + table(tallies))
    for kind in KINDS:
        least = 2 if kind.startswith("lay") else 40
        assert tallies[kind].tried >= least, kind


def test_every_dropped_ring_is_caught_on_its_line(tallies: dict[str, Tally]) -> None:
    dropped = tallies["ring dropped"]
    assert (dropped.caught, dropped.line) == (dropped.real, dropped.real)
    assert dropped.named >= 0.97 * dropped.real


@pytest.mark.parametrize("kind", KINDS)
def test_real_changes_are_caught_or_cannot_be_told(kind: str, tallies: dict[str, Tally]) -> None:
    tally = tallies[kind]
    reasons = {why for _, why in tally.untold}
    assert reasons <= {
        "a handling move makes no link",
        "every promise is kept: another weave in its own right",
    }
    assert tally.caught + len(tally.untold) == tally.real
    assert tally.line >= 0.95 * tally.caught, tally.wrong


@pytest.mark.parametrize("kind", KINDS)
def test_a_change_that_leaves_the_piece_as_it_was_is_not_blamed(
    kind: str, tallies: dict[str, Tally]
) -> None:
    assert not tallies[kind].false_alarm
