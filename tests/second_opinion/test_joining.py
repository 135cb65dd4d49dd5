"""What is printed of pieces that are made first and joined, held against a second opinion."""

from __future__ import annotations

import random
import re
from functools import cache
from pathlib import Path

import pytest

from second_opinion import joining
from second_opinion.carrier import CannotBe
from second_opinion.command import run
from second_opinion.joining import Joined, disagreements, recipe, slipped

SAMPLE = range(40)


@cache
def drawn(at: int) -> str:
    return recipe(random.Random(f"joined {at}"))


LADDER = """\
weave "Ladder"
rings:
  all  wire 1 mm, inside 5 mm, copper
  rung  wire 1 mm, inside 4 mm, brass
expect:
  A meets 2 A, 1 rung or 1 A, 1 rung
  rung meets 2 A
piece rail:
  chain 5 units
  made twice
start:
  close A
unit:
  add A through prev A picks 1
join:
  add rung through rail 1 A along every unit, rail 2 A along every unit picks 2
"""


def test_the_carrier_on_a_ladder_counted_by_hand() -> None:
    """Two rails of six rings and six rungs: 2 × 5 links along, 2 × 6 across."""
    piece = Joined(LADDER)
    assert len(piece.links) == 18
    assert sum(map(len, piece.links.values())) // 2 == 22
    assert piece.whole()


def test_edges_of_unlike_length_cannot_be() -> None:
    bar = "piece bar:\n  chain 3 units\nstart:\n  close B\nunit:\n  add B through prev B picks 1\n"
    join = "join:\n  add J through rail 1 A along every unit, bar 1 B along every unit picks 2\n"
    with pytest.raises(CannotBe):
        Joined(LADDER + bar + join)


def test_the_sample_joins_in_every_way() -> None:
    texts = "\n".join(map(drawn, SAMPLE))
    for words in ("along every unit", "along left edge", "along last row", "backwards",
                  "skip at edge", "last row first", "through one another"):  # fmt: skip
        assert words in texts, words
    assert len({len(Joined(drawn(n)).pieces) for n in SAMPLE}) > 1


@pytest.mark.parametrize("at", SAMPLE)
def test_every_number_printed_is_the_number_counted(at: int, tmp_path: Path) -> None:
    found = disagreements(drawn(at), tmp_path)
    assert not found, "\n".join(
        [*(f"{d.kind}\n  told: {d.told}\n  true: {d.true}" for d in found), drawn(at)]
    )


@pytest.mark.parametrize("at", SAMPLE)
def test_a_ring_left_out_of_a_joining_step_is_told(at: int, tmp_path: Path) -> None:
    """Also where its count was made to match: the ring placed keeps no promise, or the piece falls
    apart."""
    text, line = slipped(drawn(at), random.Random(at))
    promised = [x for x in text.splitlines() if re.match(r"  [JK] meets", x)]
    file = tmp_path / "slipped.weave"
    file.write_text(text, encoding="utf-8")
    status, printed = run("check", str(file))
    assert status == 1, (promised, printed, text)
    assert re.search(rf"line {line}\b|^ *{line} \|", printed, re.M) or "apart" in printed


@pytest.mark.parametrize(
    ("printed", "misprinted", "kind"),
    [
        ("2 rails, each", "3 rails, each", "check: how often"),
        ("meets 2 A", "meets 3 A", "check: every finished"),
        ('"links": 2', '"links": 3', "count: links"),
        ('"rings_each": 6', '"rings_each": 5', "count: by piece"),
        (": 2 rings.", ": 3 rings.", "steps: rings gone through"),
        ("6 times, once", "5 times, once", "steps: how often"),
        ("Count: 6 rings", "Count: 5 rings", "steps: rings used"),
        ("passes through 2 rings", "passes through 4 rings", "steps: See"),
    ],
)
def test_a_number_misprinted_is_found(
    printed: str, misprinted: str, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = LADDER.replace("rung", "J")
    plain = joining.run
    assert disagreements(text, tmp_path) == []

    def wrong(*words: str) -> tuple[int, str]:
        status, out = plain(*words)
        return status, out.replace(printed, misprinted)

    monkeypatch.setattr(joining, "run", wrong)
    assert [d for d in disagreements(text, tmp_path) if d.kind.startswith(kind)]
