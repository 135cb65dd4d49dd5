"""Tables as a person at a terminal sees them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from ringstep.commands.cli import main

CLASP = "library/chain_with_clasp.weave"


@pytest.mark.parametrize(
    "words",
    [
        ["count", "examples/clasp_chain.weave"],
        ["kit", CLASP, "--pieces", "8", "--prices", "examples/prices.csv"],
        ["sizes", "library/persian_linked.weave", "--wire", "16 swg"],
        ["sizes", "--wire", "18 awg"],
    ],
    ids=lambda w: " ".join(w[:2]),
)  # fmt: skip
def test_tables_on_a_terminal_hold_every_word_of_the_plain_ones(
    words: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(Path(__file__).parent.parent)
    monkeypatch.setenv("COLUMNS", "160")
    assert main(words) == 0
    plain = capsys.readouterr().out
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    assert main(words) == 0
    shown = capsys.readouterr().out
    assert shown != plain

    def cells(text: str) -> set[str]:
        bare = re.sub(r"\x1b\[[\d;]*m", "", text)
        return {w for w in bare.casefold().split() if w.strip("-–=─•")}

    assert cells(plain) == cells(shown)
