"""The door for those who script: what it gives, what it raises, what it leaves alone."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from helpers import ROOT, SIMPLE

import ringstep
from ringstep.language.source import MOST_BYTES

CHAIN = ROOT / "library" / "persian_6.weave"
VARIED = ROOT / "library" / "persian_linked.weave"

#: What a program may rely on and an imported package must leave as it was.
STATE = """
import gc, locale, os, signal, sys, threading, warnings
def state():
    # networkx, for one, imports packages that add their own filters; ours must be there as before.
    return {
        "gc": (gc.isenabled(), gc.get_threshold()),
        "signals": {s: signal.getsignal(s) for s in signal.valid_signals()},
        "locale": locale.setlocale(locale.LC_ALL),
        "filters": list(warnings.filters),
        "path": list(sys.path),
        "environment": dict(os.environ),
        "folder": os.getcwd(),
        "recursion": sys.getrecursionlimit(),
        "streams": (sys.stdout, sys.stderr, sys.stdout.encoding, sys.stderr.encoding),
        "hooks": (sys.excepthook, sys.displayhook, threading.excepthook),
        "threads": threading.active_count(),
        "umask": (lambda old: (os.umask(old), old)[1])(os.umask(0)),
    }
before = state()
"""


def python(program: str) -> str:
    """What a program prints."""
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def test_importing_and_reading_changes_nothing_in_the_process() -> None:
    used = f"""
import ringstep
assert state() == before, "import"
chain = ringstep.read({str(CHAIN)!r})
chain.findings, chain.steps, chain.counts, chain.kit(pieces=8), chain.diagram(), chain.weave.counts
"""
    after = "after = state(); print([k for k in before if before[k] != after[k]])"
    assert python(f"{STATE}{used}{after}") == "[]\n"


def test_importing_is_cheap() -> None:
    told = python("import sys; import ringstep; print([m for m in sys.modules if 'ringstep' in m])")
    assert told == "['ringstep']\n"


def test_a_file_and_its_text_give_the_same() -> None:
    one, other = ringstep.read(CHAIN), ringstep.read(text=CHAIN.read_text(encoding="utf-8"))
    assert one.title == other.title != ""
    assert one.text == other.text
    assert one.findings == other.findings == ()
    assert one.steps == other.steps
    assert one.counts == other.counts
    assert one.kit(pieces=3).lines == other.kit(pieces=3).lines
    assert one.diagram("window") == other.diagram("window")


def test_counts_and_kit_are_one_number() -> None:
    chain = ringstep.read(text=SIMPLE)
    counted = sum(ring.placed for ring in chain.counts.rings)
    assert counted == chain.weave.counts.total()
    assert sum(line.in_class for line in chain.kit(pieces=8).lines) == 8 * counted


def test_a_variant() -> None:
    sides = {v: ringstep.read(VARIED, variant=v).steps.variant for v in ("calm", "zigzag")}
    assert sides == {"calm": "calm", "zigzag": "zigzag"}
    with pytest.raises(ringstep.Refused, match="no variant 'clam'; the nearest is 'calm'"):
        ringstep.read(VARIED, variant="clam")


def test_pictures() -> None:
    chain = ringstep.read(text=SIMPLE)
    assert chain.diagram(2).startswith("<svg ")
    assert chain.diagram(2, form="dot").startswith("graph ")
    with pytest.raises(ringstep.Refused, match="no diagram 'step-09'; there is step-01, step-02"):
        chain.diagram(9)


def test_a_kit_for_a_price_list(tmp_path: Path) -> None:
    prices = tmp_path / "prices.csv"
    prices.write_text("ring,pack,price,currency\nA,100,4.00,EUR\n", encoding="utf-8")
    kit = ringstep.read(text=SIMPLE).kit(pieces=2, spares=5, prices=prices)
    assert kit.bill is not None
    assert (str(kit.bill.cost), kit.bill.currency) == ("4.00", "EUR")


@pytest.mark.parametrize("text", ["", "nonsense", "unit:\n  ad A\n", "\ud800", "weave\n" * 5])
def test_a_bad_text_gives_findings(text: str) -> None:
    if text == "\ud800":
        with pytest.raises(ringstep.Refused, match="not UTF-8"):
            ringstep.read(text=text)
        return
    draft = ringstep.read(text=text)
    assert [f.severity for f in draft.findings if f.severity == "error"]
    for made in (lambda: draft.steps, lambda: draft.counts, draft.kit, draft.diagram):
        with pytest.raises(ringstep.Refused, match="has errors, so nothing is made from it: line "):
            made()


def test_a_file_that_cannot_be_read_raises(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match=r"missing\.weave"):
        ringstep.read(tmp_path / "missing.weave")
    with pytest.raises(IsADirectoryError):
        ringstep.read(tmp_path)
    with pytest.raises(TypeError, match="a path, or text="):
        ringstep.read()
    with pytest.raises(TypeError, match="a path, or text="):
        ringstep.read(CHAIN, text=SIMPLE)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("# " + "x" * MOST_BYTES, "bytes"),
        (SIMPLE.replace("unit:", "unit 900000000:"), "more than 1,000,000 single moves"),
        (SIMPLE.replace("add A", "add 501 A"), "at most 500 are worked out"),
    ],
)
def test_the_limits_hold_here_too(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=why) as refused:
        ringstep.read(text=text)
    assert isinstance(refused.value, ringstep.Refused)


@pytest.mark.parametrize(
    ("wish", "why"),
    [
        ({"pieces": 10_001}, "pieces: 10001 is out of bounds; it goes from 1 to 10000"),
        ({"pieces": -1}, "pieces: '-1' is not a plain number; write it as in pieces=8"),
        ({"length": "long"}, "length: 'long' is not a size"),
        ({"length": "19 cm"}, "no sample"),
    ],
)
def test_what_a_kit_cannot_be(wish: dict[str, object], why: str) -> None:
    with pytest.raises(ringstep.Refused, match=why):
        ringstep.read(text=SIMPLE).kit(**wish)  # type: ignore[arg-type]
