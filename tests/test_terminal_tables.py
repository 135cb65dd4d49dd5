"""Tables as a person at a terminal sees them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from rich.cells import cell_len

from ringstep.commands.cli import command_names, main

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


#: What is printed by every command, on recipes of all kinds.
COMMANDS = [
    ["check", "library", "examples/clasp_chain.weave"],
    ["check", "examples/missed_ring.weave"],
    ["steps", "library/persian_linked.weave"],
    ["steps", "examples/striped_cuff.weave"],
    ["steps", "examples/joined_strips.weave"],
    ["steps", "library/byzantine.weave", "--plain"],
    ["count", "examples/clasp_chain.weave"],
    ["count", "examples/striped_cuff.weave"],
    ["kit", CLASP, "--pieces", "8", "--prices", "examples/prices.csv"],
    ["kit", "examples/graduated_strand.weave"],
    ["sizes", "library/persian_linked.weave"],
    ["sizes", "library/persian_linked.weave", "--wire", "16 swg"],
    ["sizes", "examples/graduated_strand.weave", "--stock", "examples/stock.csv"],
    ["sizes", "library/japanese_square.weave", "--stock", "examples/stock.csv"],
    ["explain"],
    ["explain", "neighbour-count"],
    ["explain", "picks"],
    ["weaves"],
    ["alike", "library/byzantine.weave", "library/box_chain.weave"],
    ["tidy", "--check", "examples/clasp_chain.weave"],
    ["nonsense"],
    ["--help"],
    *([name, "--help"] for name in command_names()),
]


@pytest.mark.parametrize("columns", [60, 40])
@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_on_a_narrow_terminal_no_line_is_too_long_and_no_word_broken(
    words: list[str],
    columns: int,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(Path(__file__).parent.parent)
    for stream in ("stdout", "stderr"):
        monkeypatch.setattr(f"sys.{stream}.isatty", lambda: True)

    def shown(wide: int) -> str:
        monkeypatch.setenv("COLUMNS", str(wide))
        try:
            main(words)
        except SystemExit:
            assert "--help" in words
        out, err = capsys.readouterr()
        # A line that is wiped again stands before the last '\r'.
        lines = (line.rpartition("\r")[2] for line in (out + err).split("\n"))
        return re.sub(r"\x1b\[[\d;]*m", "", "\n".join(lines))

    wide, narrow = shown(200), shown(columns)
    assert len(wide.split()) > 2
    whole = set(narrow.replace(":", " ").split())
    lost = {w for w in wide.replace(":", " ").split() if w.strip("-–=─•^|")} - whole
    assert not lost
    assert narrow.count("…") == wide.count("…")
    for line in narrow.splitlines():
        assert cell_len(line.rstrip()) <= columns or len(line.split()) == 1, line
