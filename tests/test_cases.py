"""Pieces that makers do make, each with the words it should get.

The recipes stand in `cases/`, of an invented mill; each was answered wrongly once. Every number
here is counted by hand. 'Clean' is no error and no warning, but that nothing is promised for rings
the recipe promises nothing for. What lacks its words in the language yet is held to this: whatever
is said of it is true.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import pytest
from helpers import DOUBLED, LIBRARY, ROOT
from slips import key
from typed import Found, found_in, mends_of, typed_in, words_of

from ringstep.commands.cli import main

CASES = Path(__file__).parent / "cases"


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]):  # type: ignore[no-untyped-def]
    """Run a command; gives its exit code and what it wrote, complaints included."""

    def once(*words: str) -> tuple[int, str]:
        capsys.readouterr()
        status = main([*words])
        out, err = capsys.readouterr()
        assert "fault of ringstep" not in out + err
        return status, out + err

    return once


def path(name: str) -> str:
    return str(CASES / f"{name}.weave")


def text_of(name: str) -> str:
    return (CASES / f"{name}.weave").read_text(encoding="utf-8")


def check(run, name: str) -> list[Found]:  # type: ignore[no-untyped-def]
    """What `check --json` says of a case."""
    _, out = run("check", "--json", path(name))
    found: list[Found] = json.loads(out)["files"][0]["findings"]
    return found


def line_of(name: str, words: str) -> int:
    """The number of the one line that begins with these words."""
    lines = [n for n, x in enumerate(text_of(name).splitlines(), 1) if x.strip().startswith(words)]
    assert len(lines) == 1, (words, lines)
    return lines[0]


def grave(findings: list[Found]) -> list[Found]:
    """Errors and warnings."""
    return [f for f in findings if f["severity"] != "note"]


def in_words(out: str) -> str:
    """A printed page without its line ends, so that words can be found across them."""
    return " ".join(out.split())


# -- clean -----------------------------------------------------------------------------------------

#: Recipes that are right, and the rings they promise nothing for.
CLEAN = {
    "lantern_drop": {"crown", "tassel"},
    "rain_fringe": {"rod"},
    "ladder_between_rods": set(),
    "two_halves_one_knot": {"knot"},
    "out_from_the_middle": set(),
    "garland": {"peg", "post", "sag", "bond"},
    "both_ways_from_a_sun": set(),
    "fringe_between_bars": set(),
    "halves_joined_last": set(),
    "dangles": set(),
    "row_alone": set(),
    "edge_of_brass": {"edge"},
    "growing_rounds": {"heart", "inner", "outer", "rim"},
    "sleeve_that_widens": {"cuff", "mid", "hem"},
    "pennant_by_units": {"head", "W"},
    "sun_in_the_middle": set(),
    "curtain_on_one_rod": set(),
    "curtain_on_a_cord": set(),
    "rubber_in_turns": set(),
    "loop_with_a_joint": {"joint"},
    "loop_with_two_joints": {"joint"},
    "twist_written_out": set(),
    "both_of_a_pair_sized": set(),
    "nothing_said": {"R", "S", "T", "U", "W"},
    "ratio_for_all": set(),
    "tube_of_eleven": set(),
    "rosette_whole": set(),
    "bead_chain": set(),
    "scaled_sheet": set(),
}  # fmt: skip


@pytest.mark.parametrize("name", CLEAN)
def test_a_right_recipe_is_clean_but_for_what_it_does_not_promise(run, name: str) -> None:  # type: ignore[no-untyped-def]
    told = grave(check(run, name))
    assert {f["rule"] for f in told} <= {"nothing-promised"}, told
    named = {m[1] for f in told if (m := re.search(r"nothing is promised for (\w+)", words_of(f)))}
    assert named == CLEAN[name]
    assert run("check", path(name))[0] == 0


# -- told ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Told:
    """One finding as it should be. at: how its line begins; words: what it must say."""

    rule: str
    at: str
    words: tuple[str, ...] = ()
    severity: str = "error"


#: Every error, and every warning but that nothing is promised.
WRONG = {
    "strip_begun_short": [Told("missed-at-end", "add weft through warp picks", ("prev warp",))],
    "rosette_short": [
        Told("neighbour-count", "add petal 9 through", ("petal 9", "spoke 10")),
    ],
    "tail_on_the_wrong_ring": [
        Told("neighbour-count", "add tail 3 through", ("tail 2",)),
    ],
    "clasp_ring_short": [Told("neighbour-count", "add end through", ("end",))],
    "cord_miscounted": [Told("pick-count", "add cord through every W", ("11", "12"))],
    "gathered_short": [Told("neighbour-count", "add draw through", ("3 W", "4 W"))],
    "seam_short": [Told("missed-at-end", "add bar through last plate", ("first plate",))],
    "list_too_short": [Told("uneven-turns", "order", ("7 turns", "9 units"))],
    "list_on_a_length": [Told("uneven-turns", "order", ("7 turns",))],
    "half_of_a_pair_sized": [Told("ring-size", "close 2 W", ("W2", "size"))],
    "fold_too_early": [Told("move-on-nothing", "fold back V", ("V", "step 8"))],
    "part_of_the_start": [Told("ring-not-there", "add keeper", ("first stem",))],
}  # fmt: skip

#: Cases in which a line begins like one above it; the later one is meant.
LATER = {"fold_too_early": 16}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_is_told_once_on_its_line(run, name: str) -> None:  # type: ignore[no-untyped-def]
    told = [f for f in grave(check(run, name)) if f["rule"] != "nothing-promised"]
    want = WRONG[name]
    assert [f["severity"] for f in told] == [w.severity for w in want], told
    for finding, meant in zip(told, want, strict=True):
        if name != "half_of_a_pair_sized":  # the line of 'rings:' is as good a place
            line = LATER.get(name) or line_of(name, meant.at)
            assert finding["line"] == line, finding
        if name not in ("half_of_a_pair_sized", "fold_too_early"):
            assert finding["rule"] == meant.rule
        for words in meant.words:
            assert words in words_of(finding)
    assert run("check", path(name))[0] == 1


#: The line as it stands, and as it was meant.
MENDED = {
    "strip_begun_short": (
        "add weft through warp picks 1",
        "add weft through warp, prev warp if there picks 2",
    ),
    "rosette_short": (
        "add petal 9 through spoke 9 picks 1",
        "add petal 9 through spoke 9, spoke 10 picks 2",
    ),
    "tail_on_the_wrong_ring": (
        "add tail 3 through tail 1 picks 1",
        "add tail 3 through tail 2 picks 1",
    ),
    "clasp_ring_short": (
        "add end through last W1, catch picks 2",
        "add end through last W, catch picks 3",
    ),
    "seam_short": (
        "add bar through last plate picks 1",
        "add bar through last plate, first plate picks 2",
    ),
    "cord_miscounted": (
        "add cord through every W picks 11",
        "add cord through every W picks 12",
    ),
    "gathered_short": (
        "add draw through last W1, last W2, last W4 picks 3",
        "add draw through last W picks 4",
    ),
}


@pytest.mark.parametrize("name", MENDED)
def test_the_mend_typed_in_is_clean_and_is_the_piece_that_was_meant(run, name: str) -> None:  # type: ignore[no-untyped-def]
    text, (was, meant) = text_of(name), MENDED[name]
    assert text.count(f"  {was}\n") == 1
    mends = mends_of(check(run, name))
    assert mends, "no mend is offered"
    tried = [typed_in(text, mend["edits"]) for mend in mends]
    for after in tried:
        assert not [f for f in found_in(after) if f["severity"] == "error"], after
    assert key(text.replace(was, meant)) in [key(after) for after in tried], mends


def test_lays_of_units_written_out_are_each_told(run) -> None:  # type: ignore[no-untyped-def]
    """Units laid back, front, not at all, back, back, back: two are odd, and each is told."""
    lines = text_of("twist_lays_mixed").splitlines()
    front = next(n for n, x in enumerate(lines, 1) if x.endswith("lay front"))
    unlaid = next(n for n, x in enumerate(lines, 1) if x.endswith("prev prev W"))
    told = grave(check(run, "twist_lays_mixed"))
    assert {(f["rule"], f["line"]) for f in told} == {
        ("unlike-siblings", front),
        ("lay-unstated", unlaid),
    }


@pytest.mark.parametrize(
    ("lays", "odd"),
    [
        (("back", "front", "", "back", "back"), 2),
        (("back", "back", "back", "front", "back"), 4),
        (("front", "back", "back", "back", "back"), 1),
    ],
)
def test_one_unit_laid_otherwise_is_told_wherever_it_stands(
    lays: tuple[str, ...], odd: int
) -> None:
    """The one that differs from most is odd, not its neighbour."""
    lines = ['weave "Tarn Mill twist"', "rings:", "  all  wire 1 mm, inside 5 mm, brass"]
    lines += ["expect:", "  W meets 4", "start:", "  close W", "unit 1:", "  add W through prev W"]
    place = {}
    for number, lay in enumerate(lays, 1):
        lines += [
            f"unit {number + 1}:",
            f"  add W through prev W, prev prev W{lay and ' lay '}{lay}",
        ]
        place[number] = len(lines)
    lines += ["piece:", f"  chain {len(lays) + 1} units"]
    told = [f for f in found_in("\n".join(lines) + "\n") if f["rule"] == "unlike-siblings"]
    assert [f["line"] for f in told] == [place[odd]]


# -- whatever is said is true ----------------------------------------------------------------------


def test_one_large_ring_by_its_number_is_called_different_and_nothing_else(run) -> None:  # type: ignore[no-untyped-def]
    """Unit 7 is one ring where a unit is two, unit 8 hangs on it; nothing else is out of order."""
    name = "large_ring_in_unit_seven"
    told = [f for f in grave(check(run, name)) if f["rule"] != "nothing-promised"]
    lines = range(line_of(name, "unit 7:"), line_of(name, "unit 8:") + 2)
    assert {f["line"] for f in told} <= set(lines)
    assert {f["rule"] for f in told} <= {"unit-count", "unlike-siblings"}
    for finding in told:
        if finding["rule"] == "unit-count":
            assert "unit 7 places 1 ring, 2 promised" in finding["message"]


def test_a_holder_out_midway_is_called_different_and_nothing_else(run) -> None:  # type: ignore[no-untyped-def]
    name = "grip_out_in_unit_three"
    told = [f for f in grave(check(run, name)) if f["rule"] != "nothing-promised"]
    assert {f["line"] for f in told} <= {line_of(name, "take out first grip")}
    assert {f["rule"] for f in told} <= {"unlike-siblings"}
    assert all("take out first grip" in f["message"] for f in told)


def test_a_sheet_that_grows_narrower_is_told_by_its_row(run) -> None:  # type: ignore[no-untyped-def]
    """Row 2 has four rings; in row 3 the fourth place has a ring missing above it on the right,
    the fifth has none above it at all."""
    name = "pennant_by_edges"
    told = grave(check(run, name))
    assert {f["line"] for f in told} == {line_of(name, "add W through above W")}
    said = " ".join(map(words_of, told))
    assert re.search(r"\brow 3\b|\bnarrower\b|\bfewer\b", said), said
    assert "not in the work yet" not in said  # no later step will bring it


def test_a_row_alone_is_told_to_be_a_chain(run) -> None:  # type: ignore[no-untyped-def]
    text = run("check", path("row_alone"))[1].replace(path("row_alone"), "")
    assert re.search(r"\bchain\b", text), text


def test_nobody_keeps_promises_that_are_not_made(run) -> None:  # type: ignore[no-untyped-def]
    assert not re.search(r"keeps? (its|their) promise", run("check", path("nothing_said"))[1])


def test_a_chain_written_out_repeats_every_unit(run) -> None:  # type: ignore[no-untyped-def]
    text = run("check", path("twist_written_out"))[1]
    assert not re.search(r"every (five|six|5|6) units", text)
    assert "repeats every unit" in text


def test_finished_rings_of_a_last_row_are_those_there_are(run) -> None:  # type: ignore[no-untyped-def]
    """Five rows of nine copper and one of nine brass. A brass ring meets two, the last one one."""
    status, out = run("count", "--json", path("edge_of_brass"))
    rings = {r["name"]: r["placed"] for r in json.loads(out)["rings"]}
    assert (status, rings) == (0, {"W": 45, "edge": 9})
    told = in_words(run("check", path("edge_of_brass"))[1])
    assert "W meets 4 W" in told
    assert not re.search(r"edge meets [3-9]", told)


def test_rounds_that_grow_are_counted_as_they_are(run) -> None:  # type: ignore[no-untyped-def]
    """1, 6, 12 and 18 flat rings; rounds of six units, the last of each without its neighbour
    on the left at the first unit: bonds 6 + 5, then 6 × 5 - 1, then 6 × 8 - 1."""
    status, out = run("count", "--json", path("growing_rounds"))
    rings: Counter[str] = Counter()
    for ring in json.loads(out)["rings"]:
        rings[re.sub(r"\s*\d+$", "", ring["name"])] += ring["placed"]
    assert status == 0
    assert rings == {"heart": 1, "inner": 6, "outer": 12, "rim": 18, "bond": 11 + 29 + 47}


def test_a_sleeve_that_widens_has_the_rings_of_its_rounds(run) -> None:  # type: ignore[no-untyped-def]
    """Seven, fourteen and twenty-one."""
    status, out = run("count", "--json", path("sleeve_that_widens"))
    assert (status, json.loads(out)["rings_in_all"]) == (0, 7 + 14 + 21)


#: A distance of a few units, in words; the seams below lie eight and thirty apart.
NEAR_BY = re.compile(r"unit (two|three|four|five|six|seven) before")


@pytest.mark.parametrize("units", [8, 30])
def test_messages_count_units_of_the_piece_and_not_of_what_was_carried_out(
    run,  # type: ignore[no-untyped-def]
    tmp_path: Path,
    units: int,
) -> None:
    """The seam joins the last unit of a round to the first, however many lie between."""
    recipe = tmp_path / "it.weave"
    recipe.write_text(text_of("seam_short").replace("of 8 units", f"of {units} units"), "utf-8")
    told = in_words(run("check", str(recipe))[1])
    assert "first plate" in told
    assert not NEAR_BY.search(told), told


def test_a_catch_far_behind_is_not_told_by_a_wrong_distance(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """The keeper of a chain of 40 goes through its first ring; no ring is six units before."""
    text = text_of("part_of_the_start").replace(" lay front", "").replace("prev stem", "first stem")
    recipe = tmp_path / "it.weave"
    recipe.write_text(text.replace("chain 7 units", "chain 40 units"), "utf-8")
    told = in_words(run("check", str(recipe))[1])
    assert "side" in told
    assert not NEAR_BY.search(told), told


# -- the step list ---------------------------------------------------------------------------------


def test_units_that_are_each_worked_once_are_told_as_they_are_worked(run) -> None:  # type: ignore[no-untyped-def]
    status, out = run("steps", "--plain", path("pennant_by_units"))
    told = in_words(out)
    assert status == 0
    assert "0 rings" not in told
    assert "the first time" not in told
    assert "The first time" not in told
    assert "and so on" not in told
    assert told.count(": 2 rings. Close it.") == 4 + 3 + 2 + 1
    # W2 of the unit of four hangs on two above and carries W1 and W2 of the unit of three.
    assert "W2 of the unit before passes through 4 rings" in told


def test_a_list_that_is_worked_once_is_told_in_runs_and_ends(run) -> None:  # type: ignore[no-untyped-def]
    status, out = run("steps", "--plain", path("sun_in_the_middle"))
    told = in_words(out)
    assert status == 0
    for words in ("Units 1 to 4: work plain", "Unit 5: bright", "Units 6 to 9: plain"):
        assert words in told, words
    assert "Then the finish (step" in told
    assert "and so on" not in told
    assert "plain, plain" not in told


# -- counts ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "rings"),
    [
        ("both_of_a_pair_sized", {"W1": 16, "W2": 16}),
        ("curtain_on_one_rod", {"W": 45}),
        ("rosette_whole", {"all": 26, "eye": 1}),
        ("sun_in_the_middle", {"all": 4 + 8 * 6 + 6 + 2, "sun": 1}),
    ],
)
def test_kit_and_count_pack_the_same_rings(run, name: str, rings: dict[str, int]) -> None:  # type: ignore[no-untyped-def]
    kit = json.loads(run("kit", "--json", path(name))[1])
    count = json.loads(run("count", "--json", path(name))[1])
    packed = {("all" if "all" in r["kinds"] and len(rings) > 1 else r["name"]): r["piece"]
              for r in kit["rings"]}  # fmt: skip
    assert packed == rings
    assert count["rings_in_all"] == sum(rings.values())


def test_a_ring_without_size_is_packed_by_no_kit(run) -> None:  # type: ignore[no-untyped-def]
    status, out = run("kit", path("half_of_a_pair_sized"))
    assert status == 2
    assert "errors" in out


def test_a_rod_of_many_holes_is_one_rod(run) -> None:  # type: ignore[no-untyped-def]
    parts = json.loads(run("kit", "--json", path("curtain_on_one_rod"))[1])["parts"]
    assert [(p["name"], p["kit"]) for p in parts] == [("rod", 1)]
    parts = json.loads(run("count", "--json", path("curtain_on_one_rod"))[1])["parts"]
    assert len(parts) == 1
    assert 1 in parts[0].values()


@pytest.mark.parametrize("explicit", [(), ("--explicit",)])
def test_a_cord_along_every_row_links_every_ring_of_it(run, explicit: tuple[str, ...]) -> None:  # type: ignore[no-untyped-def]
    """12 on the rod; 39 rows of 12 hang from 23 links each; 40 cords through 12 rings."""
    count = json.loads(run("count", "--json", *explicit, path("curtain_on_a_cord"))[1])
    assert count["links"] == 12 + 39 * 23 + 40 * 12
    assert count["links_with_parts"] == 12
    told = in_words(run("steps", path("curtain_on_a_cord"))[1])
    assert "Pass it through every W of the row: 12 rings." in told


def test_a_cord_through_ten_million_rings_is_counted_by_how_they_repeat(
    run,
    tmp_path: Path,  # type: ignore[no-untyped-def]
) -> None:
    """A path of n + 1 rings and one ring linked with all of them: 2n + 1 links (a fan graph)."""
    for units in (1, 2, 7, 300, 10_000_000):
        file = tmp_path / "cord.weave"
        file.write_text(
            "rings:\n  all  wire 1 mm, inside 6 mm, tin\nexpect:\n  A meets 2 A, 1 cord\n"
            f"  cord meets {units + 1} A\nstart:\n  close A\nunit:\n  add A through prev A\n"
            f"finish:\n  add cord through every A picks {units + 1} lay front\n"
            f"piece:\n  chain {units} units\n",
            "utf-8",
        )
        assert run("check", str(file))[0] == 0
        count = json.loads(run("count", "--json", str(file))[1])
        assert (count["links"], count["rings_in_all"]) == (2 * units + 1, units + 2)
        told = in_words(run("steps", str(file))[1])
        assert f"every A of the piece: {units + 1:,} rings." in told


def test_a_part_of_the_start_is_not_there_twice(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """The stem of the unit before the finish is no second stem; named rightly there is one."""
    assert run("kit", path("part_of_the_start"))[0] == 2
    right = tmp_path / "right.weave"
    right.write_text(text_of("part_of_the_start").replace("prev stem", "first stem"), "utf-8")
    kit = json.loads(run("kit", "--json", str(right))[1])
    assert [(p["name"], p["kit"]) for p in kit["parts"]] == [("stem", 1)]


# -- lines that read well and are refused ----------------------------------------------------------

UNIT = "  add 2 A through prev A picks 2\n"


def told_of(text: str, line: str) -> Found:
    """The one thing said of a line, be it but a question."""
    number = text.splitlines().index(line) + 1
    found = [f for f in found_in(text) if f["line"] == number]
    assert len(found) == 1, found
    return found[0]


def ways(text: str, finding: Found) -> list[str]:
    """The text with each piece of advice typed in: the mends, and each quoted line that begins as
    the line does."""
    lines = text.splitlines()
    was = lines[finding["line"] - 1]
    found = [typed_in(text, m["edits"]) for m in finding.get("mends", ())]
    for quoted in re.findall(r"'([^']+)'", words_of(finding)):
        words = quoted.split()
        alike = len(words) > 1 and words[0] == was.split()[0]
        if alike and "…" not in quoted and quoted != was.strip():
            changed = [*lines]
            changed[finding["line"] - 1] = f"  {quoted}"
            found.append("\n".join(changed) + "\n")
    return found


@pytest.mark.parametrize(
    ("old", "line", "words"),
    [
        (UNIT, "  add 2 A through prev A picks 2 from the front", "lay front"),
        (UNIT, "  fold side back", "fold back side"),
        ("  chain 190 mm\n", "  chain 190 mm with a clasp", "chain 190 mm"),
    ],
)
def test_a_line_that_reads_well_gets_advice_that_is_read(old: str, line: str, words: str) -> None:
    kept = UNIT.replace("2 A ", "2 side ", 1) if "side" in line else ""
    text = DOUBLED.replace(old, f"{kept}{line}\n", 1)
    finding = told_of(text, line)
    assert words in words_of(finding)
    number = finding["line"] - 1
    tried = ways(text, finding)
    if not tried:  # advice in words of which only a part is typed: the part that was asked for
        lines = text.splitlines()
        lines[number] = lines[number].replace("from the front", "lay front")
        tried = ["\n".join(lines) + "\n"]
    for after in tried:
        assert "unread-line" not in {f["rule"] for f in found_in(after)}, after


def test_a_length_ten_times_too_long_is_asked_about() -> None:
    """190 cm for a bracelet is a slip for 190 mm; 190 mm is not asked about."""
    text = DOUBLED.replace("  sample 10 units = 41 mm\n", "")
    asked = told_of(text.replace("chain 190 mm", "chain 190 cm"), "  chain 190 cm")
    assert "190 mm" in words_of(asked)
    assert not found_in(text)


def test_of_rings_alike_the_right_line_is_shown() -> None:
    """The second bell is short; its line is shown and not that of the first."""
    text = """\
weave "Tarn Mill pair of bells"
rings:
  all  wire 1 mm, inside 6 mm, copper
expect:
  bell 1 meets 2 eye
  bell 2 meets 2 eye
  eye meets 2 bell
start:
  close 2 eye
  add bell 1 through eye picks 2
  add bell 2 through eye 2 picks 1
"""
    errors = [f for f in found_in(text) if f["severity"] == "error"]
    assert [f["line"] for f in errors] == [11]
    assert "bell 2" in words_of(errors[0])


# -- folders, pictures, ways to start the program --------------------------------------------------


def test_a_loop_closed_by_a_joint_silences_no_folder(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    for name in ("loop_with_a_joint", "loop_with_two_joints", "twist_lays_mixed", "row_alone"):
        (tmp_path / f"{name}.weave").write_text(text_of(name), "utf-8")
    status, out = run("check", "--json", str(tmp_path))
    told = {Path(f["file"]).stem: f["ok"] for f in json.loads(out)["files"]}
    assert status == 1
    assert told == {
        "loop_with_a_joint": True, "loop_with_two_joints": True,
        "row_alone": True, "twist_lays_mixed": False,
    }  # fmt: skip


def test_one_folder_that_cannot_be_read_leaves_the_rest(
    run,  # type: ignore[no-untyped-def]
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for place in ("one", "two/shut", "three"):
        (tmp_path / place).mkdir(parents=True)
        (tmp_path / place / "it.weave").write_text(text_of("row_alone"), "utf-8")
    scan = os.scandir

    def refusing(where):  # type: ignore[no-untyped-def]
        if Path(os.fsdecode(where)).name == "shut":
            raise PermissionError(13, "Permission denied", str(where))
        return scan(where)

    monkeypatch.setattr(os, "scandir", refusing)
    status, out = run("check", str(tmp_path))
    assert status == 2
    for place in ("one", "three"):
        assert f"{tmp_path / place / 'it.weave'}: checks clean" in out
    assert "shut" in out
    status, out = run("check", "--json", str(tmp_path))
    told = {f["file"]: f["ok"] for f in json.loads(out)["files"]}
    assert status == 2
    assert [ok for file, ok in told.items() if file.endswith("it.weave")] == [True, True]
    assert [ok for file, ok in told.items() if "shut" in file] == [False]


def test_pictures_of_steps_that_are_gone_do_not_stay(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """Drawn with four steps, then with three; a file that is no picture of ours stays."""
    recipe, pictures = tmp_path / "it.weave", tmp_path / "pictures"
    text = text_of("out_from_the_middle")
    recipe.write_text(text, "utf-8")
    draw = ("draw", str(recipe), "--to", str(pictures), "--format", "dot")
    assert run(*draw)[0] == 0
    (pictures / "my notes.txt").write_text("mine", "utf-8")
    before = {p.name for p in pictures.iterdir()}
    shorter = text.replace(
        "  close 2 dawn\n  add 2 dusk through dawn picks 2\n", "  close 2 dawn\n"
    )
    shorter = shorter.replace("  add 2 dusk through prev dusk picks 2\n", "")
    shorter = shorter.replace("  dusk meets 4 dusk\n", "").replace(
        "4 rings a unit", "2 rings a unit"
    )
    recipe.write_text(shorter, "utf-8")
    status, _ = run(*draw)
    after = {p.name for p in pictures.iterdir()}
    assert status == 0
    assert "my notes.txt" in after
    assert len(after) < len(before)
    fresh = tmp_path / "fresh"
    assert run("draw", str(recipe), "--to", str(fresh), "--format", "dot")[0] == 0
    assert after - {"my notes.txt"} == {p.name for p in fresh.iterdir()}


@pytest.mark.parametrize("words", [("check",), ("steps", "--plain"), ("count",), ("kit",)])
def test_it_works_where_docstrings_are_left_out(words: tuple[str, ...]) -> None:
    """PYTHONOPTIMIZE=2 takes docstrings and asserts out of the program."""
    env = os.environ | {"PYTHONOPTIMIZE": "2", "PYTHONPATH": str(ROOT / "recipe")}
    env["PYTHONDONTWRITEBYTECODE"] = "1"
    command = [sys.executable, "-m", "ringstep", *words, str(LIBRARY / "byzantine.weave")]
    done = subprocess.run(command, env=env, capture_output=True, encoding="utf-8", check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Byzantine" in done.stdout or "checks clean" in done.stdout


def test_rules_are_explained_where_docstrings_are_left_out() -> None:
    env = os.environ | {"PYTHONOPTIMIZE": "2", "PYTHONPATH": str(ROOT / "recipe")}
    env["PYTHONDONTWRITEBYTECODE"] = "1"
    command = [sys.executable, "-m", "ringstep", "explain", "neighbour-count"]
    done = subprocess.run(command, env=env, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
    assert "neighbour-count" in done.stdout
