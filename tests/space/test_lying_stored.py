"""Where rings lie after each step, as it was looked at: what is placed or moved, ring by ring, and
the middle and the spread of all.

Lengths are in mm. A ring may be off by a twentieth of one, so that a change of rounding counts for
nothing. Where rings are meant to lie otherwise: `python tests/space/test_lying_stored.py`, look at
the pictures of `ringstep draw --rings` of each piece that changed, and store them.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path[:0] = [str(ROOT / "recipe"), str(ROOT / "tests")]

from helpers import shipped_texts, view  # noqa: E402
from near_numbers import apart  # noqa: E402

from ringstep.space.state import Round, State  # noqa: E402
from ringstep.space.states import states_of  # noqa: E402

STORED = ROOT / "tests" / "stored" / "lying.txt"
#: Pieces of every way in which rings are laid: chains, loops, rosettes, rows, tubes, strands,
#: shapes, beads and clasps.
PIECES = (
    "box_chain", "byzantine", "captive_ring", "chain_with_clasp", "diamond_pendant",
    "doubled_chain_captive", "edged_chain", "eight_petals", "european_4", "european_4_strip",
    "european_tube", "flower_chain", "gathered_loop", "japanese_hexagonal", "japanese_square",
    "linked_pairs", "persian_6", "shaggy", "spiral_loop", "spiral_two_wires", "sun_bracelet",
    "three_festoons", "y_necklace",
)  # fmt: skip
#: How far a number may be from the stored one.
OFF = 0.05


def numbers(given: object) -> str:
    return " ".join(f"{x:.2f}" for x in given)  # type: ignore[attr-defined]


def lies(name: str, ring: Round) -> str:
    return f"  {name} @ {numbers((*ring.centre, *ring.normal, ring.mean_radius, ring.wire))}"


def told(state: State) -> Iterator[str]:
    """A line for all rings of a state, and one for each that its step places or moves."""
    centres = np.array([lying.centre for _, lying in state.rings])
    spread = (*centres.mean(axis=0), *centres.std(axis=0))
    yield (
        f"step {state.number} row {state.row} unit {state.unit}: {len(state.rings)} rings @"
        f" {numbers(spread)}"
    )
    about = dict.fromkeys((*state.new, *(ring for ring, _ in state.moved)))
    for ring, lying in state.rings:
        if ring in about:
            name = f"{ring.role} {ring.index} of row {ring.row}, unit {ring.unit}"
            yield lies(name, lying) + f" {lying.body or ''}".rstrip()


def laid(piece: str) -> list[str]:
    shown = states_of(view(shipped_texts()[piece]))
    return [line for state in shown.states for line in told(state)]


def stored() -> dict[str, list[str]]:
    pieces = STORED.read_text(encoding="utf-8").strip().split("\n\n")
    return {name: lines for name, *lines in (piece.split("\n") for piece in pieces)}


@pytest.mark.parametrize("piece", PIECES)
def test_rings_lie_as_they_were_looked_at(piece: str) -> None:
    here, known = laid(piece), stored()[piece]
    assert len(here) == len(known)
    for one, other in zip(here, known, strict=True):
        (words, _, mine), (names, _, its) = one.partition("@"), other.partition("@")
        assert words == names
        assert apart(mine, its) <= OFF, f"\n{one}\n{other}"


if __name__ == "__main__":
    _pieces = ("\n".join([piece, *laid(piece)]) for piece in PIECES)
    STORED.write_text("\n\n".join(_pieces) + "\n", encoding="utf-8")
