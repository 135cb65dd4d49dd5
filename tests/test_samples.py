"""Measured samples beside a recipe: what is kept, which one lengths go by, how it is told."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from helpers import BYZANTINE, ROOT, shipped_recipes
from hypothesis import given
from hypothesis import strategies as st

from ringstep.checks.pipeline import view_of
from ringstep.checks.view import View, with_size
from ringstep.commands import rim, sample_store
from ringstep.commands.cli import main
from ringstep.language.source import source_from_text
from ringstep.paper.sample_words import held_words, off_percent
from ringstep.shop import sample_log
from ringstep.shop.sample_log import BadEntry, Entry, in_use, read_log, why_not

Out = pytest.CaptureFixture[str]

#: 190 mm at 4.1 mm a unit are 46.3 units, so 47; two rings a unit and the two of the start.
CHAIN = """\
weave "Doubled chain"
rings:
  all  wire 1.2 mm, inside 5 mm, copper
sizes:
  small  all  wire 0.8 mm, inside 3.4 mm
expect:
  A meets 4
start:
  close 2 A
unit:
  add 2 A through prev A picks 2
piece:
  chain 190 mm
  sample 10 units = 41 mm
"""
RINGS = "rings wire 1.2 mm, inside 5 mm, copper"


def seen(text: str) -> View:
    return view_of(source_from_text(text))


def weave(text: str, label: str = "") -> str:
    return sample_log.weave_names(seen(text), label)[0]


def line(**changed: str) -> str:
    """A line of a log; each part may be another."""
    parts = {"day": "2024-03-01", "units": "10 units = 40 mm", "state": "laid flat",
             "rings": RINGS, "weave": f"weave {weave(CHAIN)}", "note": ""} | changed  # fmt: skip
    return "; ".join(part for part in parts.values() if part)


def entry(**changed: str) -> Entry:
    log = read_log(line(**changed))
    assert log.unread == ()
    return log.entries[0]


@pytest.fixture
def chain(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "chain.weave"
    path.write_text(CHAIN, encoding="utf-8")
    return path


def add(*words: str) -> int:
    return main(["sample", "add", "chain.weave", *words])


# -- what is kept ----------------------------------------------------------------------------------


def test_a_sample_is_one_line_that_can_be_read_by_anyone(chain: Path, capsys: Out) -> None:
    assert add("--units", "10", "--measured", "40 mm", "--note", "worked tight; new pliers") == 0
    assert "10 units = 40 mm, laid flat, 4.00 mm a unit" in capsys.readouterr().out
    text = Path("chain.samples").read_text(encoding="utf-8")
    *heads, kept = text.splitlines()
    assert all(head.startswith("#") for head in heads)
    today = date.today().isoformat()
    assert kept == (
        f"{today}; 10 units = 40 mm; laid flat; {RINGS}; weave {weave(CHAIN)};"
        " note worked tight; new pliers"
    )


def test_day_state_rings_and_units_may_be_given(chain: Path) -> None:
    words = ("--state", "hanging", "--date", "2024-02-28", "--rings", "wire 16 swg, inside 1/4 in")
    assert add("--units", "8 units", "--measured", "1 1/2 in", *words) == 0
    found = read_log(Path("chain.samples").read_text(encoding="utf-8")).entries[0]
    assert (found.day, found.units, found.state) == ("2024-02-28", 8, "hanging")
    assert found.mm == pytest.approx(38.1)
    assert found.rings[0].mm == pytest.approx((1.6256, 6.35))


@given(
    st.dates(), st.integers(1, 999_999), st.integers(1, 10**6),
    st.sampled_from([*sample_log.STATES]),
    st.text(st.characters(exclude_categories=("C", "Z")), max_size=60),
)  # fmt: skip
def test_what_is_written_reads_back(
    day: date, units: int, tenths: int, state: str, note: str
) -> None:
    one = Entry(
        day.isoformat(), units, "", f"{tenths / 10:g} mm" if tenths < 10**5 else f"{tenths} mm",
        tenths / 10 if tenths < 10**5 else tenths, sample_log.STATES[state],
        sample_log.read_rings("A wire 1.2 mm, inside 5 mm, copper; B wire 1 mm, inside 3 mm"),
        "386F-K6W1, 6 rings a unit, 1 in 3 folded", note,
    )  # fmt: skip
    log = read_log(one.text)
    assert log.unread == ()
    (back,) = log.entries
    assert back.text == one.text
    assert back.mm == pytest.approx(one.mm)


BAD = {
    "no day": ("units = 3", "is no day; write it as in 2026-11-26"),
    "no such day": (line(day="2024-02-30"), "'2024-02-30' is no day"),
    "no units": (line(units=""), "the line says nothing of units"),
    "none of them": (line(units="0 units = 40 mm"), "is no number of units"),
    "a comma": (line(units="10 units = 40,5 mm"), "has a decimal comma; write '40.5 mm'"),
    "no unit of size": (line(units="10 units = 40"), "40"),
    "no weave": (line(weave=""), "the line says nothing of weave"),
    "no rings": (line(rings=""), "the line says nothing of rings"),
    "no inside": (line(rings="rings wire 1.2 mm"), "the rings 'wire 1.2 mm' lack a size"),
    "other words": (line(state="upside down"), "'upside down' is not known here"),
    "twice": (line(state="hanging; laid flat"), "'laid flat' stands twice"),
    "a picture": ("\x1b[2J\x07", "is no day"),
}


@pytest.mark.parametrize("bad", BAD)
def test_a_line_that_cannot_be_read_is_told_with_its_number(bad: str) -> None:
    text, why = BAD[bad]
    log = read_log(f"# mine\n\n{line()}\n{text}\n")
    assert [e.line for e in log.entries] == [3]
    (told,) = log.unread
    assert told[0] == 4
    assert why in told[1]
    assert "\x1b" not in told[1]


@given(st.text(max_size=120))
def test_no_text_is_too_odd_for_a_log(text: str) -> None:
    log = read_log(text)
    assert len(log.entries) + len(log.unread) <= len(text.splitlines())


# -- which one a length goes by --------------------------------------------------------------------


def test_the_newest_of_the_same_rings_goes_first() -> None:
    older, newer = entry(day="2024-03-01"), entry(day="2024-03-02", units="10 units = 42 mm")
    other = entry(day="2024-03-03", rings="rings wire 1.2 mm, inside 5.5 mm")
    assert in_use(seen(CHAIN), [newer, older, other]) == (newer,)
    assert why_not(seen(CHAIN), other) == "other rings"


def test_a_line_may_be_typed_by_hand_in_any_letters_and_order() -> None:
    (one,) = read_log(
        f"2024-03-01;Weave {weave(CHAIN)};  HANGING ;RINGS inside 5 mm, wire 1.2 mm;"
        " 10 Units = 4 cm ;Note  mine; all mine"
    ).entries
    assert (one.mm, one.state, one.note) == (40, "hanging", "mine; all mine")
    assert why_not(seen(CHAIN), one) == ""


def test_of_one_day_the_lower_line_is_the_newer() -> None:
    log = read_log(f"{line()}\n{line(units='10 units = 42 mm')}\n")
    assert [e.mm for e in in_use(seen(CHAIN), log.entries)] == [42]


@pytest.mark.parametrize(
    ("rings", "same"),
    [
        ("wire 1.23 mm, inside 5.05 mm", True),
        ("wire 1.17 mm, inside 4.95 mm", True),
        ("wire 1.24 mm, inside 5 mm", False),
        ("wire 1.2 mm, inside 5.06 mm", False),
        ("wire 18 swg, inside 5 mm", True),  # 1.219 mm
        ("wire 18 awg, inside 5 mm", False),  # 1.024 mm
        ("A wire 1.2 mm, inside 5 mm", True),
        ("B wire 1.2 mm, inside 5 mm", False),
        ("wire 1.2 mm, inside 5 mm, steel", True),  # the metal does not change a length
    ],
)
def test_rings_are_the_same_within_a_clear_tolerance(rings: str, same: bool) -> None:
    assert (why_not(seen(CHAIN), entry(rings=f"rings {rings}")) == "") is same


def test_a_sample_of_another_weave_is_not_used() -> None:
    """A square chain has the links of a Byzantine chain, so the same mark, and other folds."""
    box = shipped_recipes()["box_chain"]
    byzantine = shipped_recipes()["byzantine"]
    own = weave(byzantine)
    assert own == "386F-K6W1, 6 rings a unit, 1 in 3 folded"
    assert weave(box).startswith("386F-K6W1, ")
    mine = entry(rings="rings wire 1.2 mm, inside 4.2 mm", weave=f"weave {own}")
    assert why_not(seen(byzantine), mine) == ""
    assert why_not(seen(box), mine) == "another weave"


def test_a_unit_written_twice_over_is_not_measured_by_a_sample_of_the_single_one() -> None:
    double = (
        CHAIN.replace(
            "  add 2 A through prev A picks 2\n",
            "  add 2 A through prev B picks 2\n  add 2 B through A picks 2\n",
        )
        .replace("close 2 A", "close 2 B")
        .replace("A meets 4", "A meets 4\n  B meets 4")
    )
    assert sample_log.weave_mark(seen(double).weave) == sample_log.weave_mark(seen(CHAIN).weave)
    assert why_not(seen(double), entry()) == "another weave"


def test_pulled_and_pushed_samples_are_no_length_to_wear() -> None:
    states = ("hanging", "pulled", "pushed together")
    why = [why_not(seen(CHAIN), entry(state=state)) for state in states]
    assert why == ["", "pulled straight", "pushed together"]


def test_a_length_that_the_rings_cannot_come_to_is_not_used() -> None:
    """Ten units of two rings, each 7.4 mm wide, come to 148 mm at the very most."""
    assert why_not(seen(CHAIN), entry(units="10 units = 149 mm")) == "cannot be that long"
    assert why_not(seen(CHAIN), entry(units="10 units = 148 mm")) == ""


def test_each_set_of_sizes_has_its_own_samples() -> None:
    small = with_size(seen(CHAIN), "small")
    mine = entry(rings="rings wire 0.8 mm, inside 3.4 mm", units="10 units = 28 mm")
    assert in_use(small, [entry(), mine]) == (mine,)
    assert in_use(seen(CHAIN), [entry(), mine])[0].mm == 40


# -- how lengths are told --------------------------------------------------------------------------


def printed(capsys: Out, *words: str) -> str:
    capsys.readouterr()
    assert main([*words]) == 0
    return " ".join(capsys.readouterr().out.split())


def test_every_paper_goes_by_the_sample(chain: Path, capsys: Out) -> None:
    """By hand: 190 / 4.0 = 47.5, so 48 units of 192 mm and 2 + 96 rings; 47 by the recipe's own."""
    assert "10 units = 41 mm, laid flat without pulling" in printed(capsys, "kit", "chain.weave")
    assert "a chain of 47 units" in printed(capsys, "check", "chain.weave")
    add("--units", "10", "--measured", "40 mm", "--state", "hanging", "--date", "2024-03-01")
    said = printed(capsys, "kit", "chain.weave", "--slip", "slip.html")
    assert "your sample says 10 units = 40 mm, hanging on 2024-03-01" in said
    assert "47.50 units, rounded up to 48, which measure 192 mm" in said
    slip = " ".join(Path("slip.html").read_text(encoding="utf-8").split())
    assert "Your sample says 10 units = 40 mm, hanging on 2024-03-01" in slip
    assert "a chain of 48 units, about 192 mm (190 mm wanted)" in printed(
        capsys, "check", "chain.weave"
    )
    printed(capsys, "handout", "chain.weave", "--pictures", "none", "--to", "h.html")
    page = Path("h.html").read_text(encoding="utf-8")
    assert "10 units measure 40 mm, hanging on 2024-03-01" in page
    data = json.loads(printed(capsys, "kit", "chain.weave", "--json"))
    assert data["length_mm"]["units"] == 48
    assert [r["piece"] for r in data["rings"]] == [98]
    assert data["length_mm"]["measured"] == [
        {"unit": None, "units": 10, "mm": 40.0, "state": "hanging", "day": "2024-03-01",
         "from": "log of samples"}
    ]  # fmt: skip
    # a set of sizes has other rings, of which nothing is measured
    assert main(["kit", "chain.weave", "--size", "small"]) == 2


@pytest.mark.parametrize(("mm", "doubted"), [("48 mm", False), ("49 mm", True)])
def test_a_sample_longer_than_rings_can_hang_is_doubted(
    chain: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch, mm: str, doubted: bool
) -> None:
    """4.2 mm a unit, pulled straight, and 15 % on top are 4.83."""
    monkeypatch.setattr("ringstep.commands.fit_store.fitted_length", lambda _: (3.6, 4.2))
    said = printed(capsys, "sample", "add", "chain.weave", "--units", "10", "--measured", mm)
    assert ("do not hang so long: count the units again" in said) is doubted


def test_a_computed_length_says_how_each_number_is_measured(
    chain: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    """3.6 to 4.2 mm: the middle is 3.9, the margin 0.3. 190 / 4.2 = 45.2, 190 / 3.6 = 52.8."""
    monkeypatch.setattr("ringstep.commands.fit_store.fitted_length", lambda _: (3.6, 4.2))
    chain.write_text(CHAIN.replace("  sample 10 units = 41 mm\n", ""), encoding="utf-8")
    said = printed(capsys, "kit", "chain.weave")
    assert (
        "computed with rigid round rings, not measured: a unit is 3.60 mm long pushed together and"
        " 4.20 mm hanging, pulled straight; laid flat without pulling it lies in between, 3.90 mm"
        " give or take 0.30" in said
    )
    assert "takes 46 units at least, pushed together 53 at most" in said
    add("--units", "10", "--measured", "43 mm", "--state", "hanging")
    said = printed(capsys, "kit", "chain.weave")
    assert "computed 4.20 mm a unit, pulled straight; you measured 4.30 hanging: 2 % more" in said
    data = json.loads(printed(capsys, "kit", "chain.weave", "--json"))["length_mm"]
    assert data["off_computed_percent"] == 2
    assert data["computed_ends"]["flat_middle"] == 3.9


@pytest.mark.parametrize(
    ("state", "mm", "percent"),
    [
        ("hanging", 4.10, 2),  # 4.10 / 4.02 = 1.0199
        ("pulled straight", 3.94, -2),  # 3.94 / 4.02 = 0.980
        ("pushed together", 3.43, -2),  # 3.43 / 3.50 = 0.980
        ("laid flat", 3.80, 0),
        ("laid flat", 4.10, 2),
        ("laid flat", 3.43, -2),
    ],
)
def test_a_sample_is_held_against_the_end_it_goes_with(state: str, mm: float, percent: int) -> None:
    assert off_percent(state, mm, (3.50, 4.02)) == percent
    far = {2: "2 % more", -2: "2 % less", 0: "between the two ends"}[percent]
    assert held_words(state, mm, (3.50, 4.02)).endswith(f"you measured {mm:.2f} {state}: {far}")


def test_the_list_says_what_each_sample_is_used_for(chain: Path, capsys: Out) -> None:
    Path("chain.samples").write_text(
        "\n".join(
            [
                line(day="2024-03-01"),
                line(day="2024-03-02", units="10 units = 42 mm", note="note a = b"),
                line(day="2024-03-03", rings="rings wire 0.8 mm, inside 3.4 mm"),
                line(day="2024-03-04", weave="weave 7777-7777, 2 rings a unit"),
            ]
        ),
        encoding="utf-8",
    )
    rows = json.loads(printed(capsys, "sample", "--json"))
    assert [(row["day"], row["used"]) for row in rows] == [
        ("2024-03-04", "no: another weave"),
        ("2024-03-03", "in size small"),
        ("2024-03-02", "yes"),
        ("2024-03-01", "no: there is a newer one"),
    ]
    assert "10 units = 42 mm laid flat" in printed(capsys, "sample", "chain.weave")
    os.remove("chain.weave")
    assert main(["sample"]) == 0
    assert "no: the recipe has errors or is missing" in capsys.readouterr().out


def test_named_units_are_measured_by_their_name(tmp_path: Path, capsys: Out) -> None:
    """By hand: the drop is 40 mm long; at 5 mm a unit 8 units are exactly that."""
    path = tmp_path / "y.weave"
    path.write_text((ROOT / "examples/y_necklace.weave").read_text("utf-8"), encoding="utf-8")
    words = ["sample", "add", str(path), "--measured", "50 mm", "--units"]
    assert main([*words, "10 tail"]) == 2
    assert "the recipe has no unit 'tail'" in capsys.readouterr().err
    assert main([*words, "10 drop", "--state", "hanging"]) == 0
    said = printed(capsys, "kit", str(path))
    assert "strand drop of 8 units measures 40 mm" in said
    assert "10 left = 45 mm, laid flat without pulling" in said


# -- what is refused -------------------------------------------------------------------------------

REFUSED = {
    "nothing measured": (("--units", "10"), "say what was measured, as in --measured '41 mm'"),
    "a wrong unit of size": (
        ("--units", "10", "--measured", "41 cm"),
        "10 units of these rings cannot measure 41 cm: their rings end to end come to 148 mm",
    ),
    "a day to come": (
        ("--units", "10", "--measured", "41 mm", "--date", "2926-01-01"),
        "is yet to",
    ),
    "no day": (("--units", "10", "--measured", "41 mm", "--date", "yesterday"), "is no day"),
    "no ring": (("--units", "10", "--measured", "41 mm", "--rings", "copper"), "write them as in"),
    "no units": (("--units", "ten", "--measured", "41 mm"), "is no number of units"),
    "a name": (("--units", "10 byz", "--measured", "41 mm"), "the recipe has no unit 'byz'"),
    "a long note": (("--units", "1", "--measured", "4 mm", "--note", "x" * 201), "201 letters"),
}


@pytest.mark.parametrize("what", REFUSED)
@pytest.mark.usefixtures("chain")
def test_a_sample_that_cannot_be_is_refused_and_nothing_is_written(what: str, capsys: Out) -> None:
    words, why = REFUSED[what]
    assert add(*words) == 2
    told = capsys.readouterr().err
    assert why in told
    assert "a fault of ringstep" not in told
    assert os.listdir() == ["chain.weave"]


def test_a_sheet_has_no_samples_of_units(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "sheet.weave"
    path.write_text(shipped_recipes()["european_4"], encoding="utf-8")
    assert main(["sample", "add", str(path), "--units", "10", "--measured", "41 mm"]) == 2
    assert "no sample is kept of this recipe: a sheet has rows" in capsys.readouterr().err


# -- files -----------------------------------------------------------------------------------------

BEFORE = {
    "nothing at its end": b"2024-01-01; half a line",
    "Windows line ends": b"# mine\r\nnonsense; x\r\n",
    "a mark at its beginning": "\ufeff# mine\n".encode(),
}


@pytest.mark.parametrize("what", BEFORE)
@pytest.mark.usefixtures("chain")
def test_no_line_is_lost_that_cannot_be_read(what: str, capsys: Out) -> None:
    log, before = Path("chain.samples"), BEFORE[what]
    log.write_bytes(before)
    assert add("--units", "10", "--measured", "40 mm") == 0
    after = log.read_bytes()
    assert after.startswith(before)
    assert [e.mm for e in read_log(after.decode("utf-8-sig")).entries] == [40]
    told = capsys.readouterr().err
    lines = [n for n, _ in read_log(before.decode("utf-8-sig")).unread]
    assert all(f"chain.samples, line {n}: " in told for n in lines)
    assert (b"\r\n" in after) is (b"\r\n" in before)
    if b"\r\n" in before:
        assert after.count(b"\n") == after.count(b"\r\n")


@pytest.mark.parametrize("data", [b"\xff\xfe2\x000\x00", b"caf\xe9; 10 units = 40 mm", b"a\0b"])
@pytest.mark.usefixtures("chain")
def test_what_is_no_text_is_left_as_it_is(data: bytes, capsys: Out) -> None:
    Path("chain.samples").write_bytes(data)
    assert add("--units", "10", "--measured", "40 mm") == 2
    assert "chain.samples is not plain text in UTF-8" in capsys.readouterr().err
    assert Path("chain.samples").read_bytes() == data
    # a kit is made all the same, by the recipe's own sample
    assert main(["kit", "chain.weave"]) == 0
    out, told = capsys.readouterr()
    assert "the recipe's sample says 10 units = 41 mm" in out
    assert "is not plain text in UTF-8, so it is left as it is and not used" in told


@pytest.mark.usefixtures("chain")
def test_a_folder_or_a_pipe_in_place_of_the_log(capsys: Out) -> None:
    os.mkdir("chain.samples")
    assert add("--units", "10", "--measured", "40 mm") == 2
    assert "chain.samples is a folder" in capsys.readouterr().err
    assert main(["kit", "chain.weave"]) == 0
    os.rmdir("chain.samples")
    os.mkfifo("chain.samples")
    assert add("--units", "10", "--measured", "40 mm") == 2
    assert "chain.samples is no plain file" in capsys.readouterr().err
    assert main(["kit", "chain.weave"]) == 0


@pytest.mark.usefixtures("chain")
def test_a_read_only_log_and_a_folder_that_takes_no_file(
    capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = Path("chain.samples")
    log.write_text(line() + "\n", encoding="utf-8")
    log.chmod(0o444)
    before = log.read_bytes()
    assert add("--units", "10", "--measured", "40 mm") == 2
    assert "chain.samples is read-only and is left as it is" in capsys.readouterr().err
    log.chmod(0o644)

    def refuses(path: object, mode: str = "r", **words: object) -> object:
        if "x" in mode or "w" in mode:
            raise PermissionError(13, "Permission denied", str(path))
        return open(str(path), mode, **words)  # type: ignore[call-overload]

    monkeypatch.setattr(rim, "open", refuses, raising=False)
    assert add("--units", "10", "--measured", "40 mm") == 2
    assert "chain.samples cannot be written: Permission denied" in capsys.readouterr().err
    assert log.read_bytes() == before
    assert sorted(os.listdir()) == ["chain.samples", "chain.weave"]


@pytest.mark.usefixtures("chain")
def test_processes_that_add_at_once_lose_nothing() -> None:
    program = (
        "import sys; from pathlib import Path; from ringstep.commands.sample_store import *;"
        "from ringstep.shop.sample_log import read_log; from dataclasses import replace;"
        "one = read_log(sys.argv[2]).entries[0];"
        "[add_sample(Path('chain.samples'), replace(one, note=f'{sys.argv[1]} {n}'))"
        " for n in range(20)]"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT / "recipe")}
    busy = [
        subprocess.Popen([sys.executable, "-c", program, who, line()], env=env) for who in "abc"
    ]
    assert [one.wait() for one in busy] == [0, 0, 0]
    log = read_log(Path("chain.samples").read_text(encoding="utf-8"))
    assert log.unread == ()
    assert sorted(e.note for e in log.entries) == sorted(
        f"{who} {n}" for who in "abc" for n in range(20)
    )
    assert sorted(os.listdir()) == ["chain.samples", "chain.weave"]


@pytest.mark.usefixtures("chain")
def test_a_log_held_by_another_is_waited_for_and_then_told(
    capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sample_store, "_WAIT", 0.1)
    with sample_store._alone(Path("chain.samples")):
        assert add("--units", "10", "--measured", "40 mm") == 2
    assert "another program is writing beside chain.samples; try again" in capsys.readouterr().err
    assert add("--units", "10", "--measured", "40 mm") == 0


def test_a_recipe_that_is_piped_in_has_no_log(capsys: Out) -> None:
    assert main(["sample", "add", "-", "--units", "10", "--measured", "40 mm"]) == 2
    assert "samples are kept beside a recipe" in capsys.readouterr().err


def test_rings_of_two_kinds_are_kept_by_name(tmp_path: Path) -> None:
    text = BYZANTINE.replace(
        "  all  wire 1.2 mm, inside 4.2 mm, copper",
        "  all  wire 1.2 mm, inside 4.2 mm, copper\n  C  wire 1.2 mm, inside 5 mm, brass",
    )
    path = tmp_path / "two.weave"
    path.write_text(text, encoding="utf-8")
    assert main(["sample", "add", str(path), "--units", "10", "--measured", "75 mm"]) == 0
    (one,) = read_log((tmp_path / "two.samples").read_text(encoding="utf-8")).entries
    assert "rings all wire 1.2 mm, inside 4.2 mm, copper; rings C wire 1.2 mm, inside 5 mm, brass" \
        in one.text  # fmt: skip
    assert why_not(seen(text), one) == ""
    assert why_not(seen(BYZANTINE), one) == "other rings"


def test_a_size_that_is_none_is_refused_when_a_log_is_read() -> None:
    with pytest.raises(BadEntry, match="is no size"):
        sample_log.read_length("0 mm")


@pytest.mark.usefixtures("chain")
def test_a_sample_of_a_set_of_sizes_is_kept_with_its_rings(capsys: Out) -> None:
    """By hand: 190 / 2.8 = 67.9, so 68 units; by the sample of the recipe's own rings 47."""
    assert add("--units", "10", "--measured", "28 mm", "--size", "small") == 0
    kept = Path("chain.samples").read_text(encoding="utf-8")
    assert "rings wire 0.8 mm, inside 3.4 mm, copper;" in kept
    assert "68 units" in printed(capsys, "kit", "chain.weave", "--size", "small")
    assert "a chain of 47 units" in printed(capsys, "kit", "chain.weave")


@pytest.mark.usefixtures("chain")
def test_nothing_in_a_log_steers_a_terminal_or_a_spreadsheet(capsys: Out) -> None:
    odd = line(note="note \x1b[2J=1+1") + "\n" + line(note="note =1+1") + "\n\x1b]0;x\x07\n"
    Path("chain.samples").write_text(odd, encoding="utf-8")
    for words in ((), ("--csv",), ("--json",)):
        assert main(["sample", "chain.weave", *words]) == 0
        out, told = capsys.readouterr()
        assert "\x1b" not in out + told
        assert "chain.samples, line 3: " in told
    assert main(["sample", "chain.weave", "--csv"]) == 0
    assert all(not row.endswith(",=1+1") for row in capsys.readouterr().out.splitlines())


def test_a_fit_is_held_against_the_sample(tmp_path: Path, capsys: Out) -> None:
    """Pulled straight, each ring of a simple chain adds its inside, 5 mm; 5.1 mm are 2 % more."""
    path = tmp_path / "chain.weave"
    path.write_text(shipped_recipes()["simple_chain"], encoding="utf-8")
    words = ["--units", "10", "--measured", "51 mm", "--state", "hanging"]
    assert main(["sample", "add", str(path), *words]) == 0
    said = printed(capsys, "fit", str(path), "--effort", "0", "--to", str(tmp_path / "fit"))
    assert "hangs 5.00 mm long;" in said
    assert "laid flat without pulling it lies in between" in said
    assert (
        "your sample computed 5.00 mm a unit, pulled straight; you measured 5.10 hanging: 2 % more"
        in said
    )
