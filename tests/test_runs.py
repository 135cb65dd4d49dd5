"""Pieces of several runs, worked once: 'chain of 12 byz, centre, 12 byz'."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from helpers import EXAMPLES, findings, report, view

from ringstep.commands.cli import main
from ringstep.language.findings import typed_in
from ringstep.language.source import source_from_text
from ringstep.paper.steps_text import step_list

Out = pytest.CaptureFixture[str]
SUN = (EXAMPLES / "sun_bracelet.weave").read_text(encoding="utf-8")
BY_LENGTH = """\
  chain 190 mm of plain, bright, plain
  sample 10 plain = 69 mm
  sample 1 bright = 26 mm
"""
assert BY_LENGTH in SUN


def of(piece: str) -> str:
    """The bracelet with another piece."""
    return SUN.replace(BY_LENGTH, piece)


SAME = [
    of("  chain of 12 plain, bright, 12 plain\n"),
    of("  chain 25 units of plain, bright, plain\n"),
    of(f"  chain 25 units\n  order {'plain, ' * 12}bright{', plain' * 12}\n"),
]


@pytest.mark.parametrize("text", SAME)
def test_runs_are_the_same_piece_however_they_are_said(text: str) -> None:
    """A length of 190 mm leaves 164 for two halves of 6.9 mm a unit: 12 units each, rounded up."""
    one, other = view(SUN), view(text)
    assert not findings(text)
    assert one.weave.counts == other.weave.counts
    assert one.weave.layout.units == other.weave.layout.units == 25
    assert [s.sentence for x in step_list(one).sections for s in x.steps] == [
        s.sentence for x in step_list(other).sections for s in x.steps
    ]


def test_the_rings_of_two_halves_are_counted() -> None:
    """Two of the start, two a plain unit, five of the unit with the sun."""
    assert view(SUN).weave.counts.total() == 2 + 24 * 2 + 5


def test_millions_of_units_a_run_cost_no_more() -> None:
    few, many = (view(of(f"  chain of {n} plain, bright, {n} plain\n")) for n in (12, 2_000_000))
    assert len(few.weave.work.acts) == len(many.weave.work.acts)
    assert many.weave.counts.total() == 2 + 2 * 2_000_000 * 2 + 5


def test_the_step_list_says_which_units_are_which() -> None:
    said = {s.heading: s.intro for s in step_list(view(SUN)).sections}
    assert said["Unit plain"].startswith(
        "Units 1 to 12: work plain (step 2). Unit 13: bright (steps 3 to 5)."
        " Units 14 to 25: plain again. Then stop."
    )
    assert said["Unit bright"] == (
        "Work these steps in unit 13, once. Then go back to plain, step 2, for units 14 to 25."
    )


def test_the_hand_out_has_boxes_for_each_run_apart(tmp_path: Path, capsys: Out) -> None:
    """Twelve units of a half, then the sun, then twelve: a tick of 24 would run past the sun."""
    page = tmp_path / "page.html"
    recipe = str(EXAMPLES / "sun_bracelet.weave")
    assert main(["handout", recipe, "--rings", "none", "--to", str(page)]) == 0
    capsys.readouterr()
    tallies = re.findall(r'<p class="tally"[^>]*>(.*?):(.*?)</p>', page.read_text("utf-8"), re.S)
    boxes = {words: marks.count("<i>") for words, marks in tallies}
    assert boxes == {"Units 1 to 12 done": 12, "Units 14 to 25 done": 12}


def test_a_kit_says_how_the_length_is_shared(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "sun.weave"
    path.write_text(SUN, encoding="utf-8")
    assert main(["kit", str(path)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "samples say 10 plain = 69 mm and 1 bright = 26 mm" in said
    assert "it takes 12 plain, 1 bright and 12 plain, which measure 191.6 mm" in said
    assert main(["kit", str(path), "--length", "7 in", "--clasp", "12 mm", "--json"]) == 0
    length = json.loads(capsys.readouterr().out)["length_mm"]
    # 177.8 less 12 and the 26 of the sun are 139.8, two halves of 69.9, each of 11 units
    assert [run["units"] for run in length["runs"]] == [11, 1, 11]
    assert length["woven"] == pytest.approx(22 * 6.9 + 26)
    assert main(["kit", str(path), "--length", "7 in", "--clasp", "12 mm"]) == 0
    typed = "write 'chain of 11 plain, 1 bright, 11 plain' in its 'piece:'"
    assert typed in " ".join(capsys.readouterr().out.split())
    assert not findings(of("  chain of 11 plain, 1 bright, 11 plain\n"))


def test_a_kit_of_a_length_lengthens_the_runs_and_never_what_stands_once(
    tmp_path: Path, capsys: Out
) -> None:
    path = tmp_path / "sun.weave"
    samples = "  sample 10 plain = 69 mm\n"
    path.write_text(of("  chain of 12 plain, bright, 12 plain\n" + samples), encoding="utf-8")
    assert main(["kit", str(path)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "add to 'piece:' 'sample 1 bright = … mm'" in told
    samples += "  sample 1 bright = 26 mm\n"
    path.write_text(of("  chain of 12 plain, bright, 12 plain\n" + samples), encoding="utf-8")
    assert main(["kit", str(path), "--length", "7 in", "--clasp", "12 mm", "--json"]) == 0
    length = json.loads(capsys.readouterr().out)["length_mm"]
    assert [run["units"] for run in length["runs"]] == [11, 1, 11]
    path.write_text(of("  chain of 12 plain, bright, 9 plain\n" + samples), encoding="utf-8")
    assert main(["kit", str(path), "--length", "18 cm"]) == 2
    assert "the runs of plain are unlike" in " ".join(capsys.readouterr().err.split())


def test_a_kit_of_a_length_needs_samples(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "sun.weave"
    path.write_text(SAME[0], encoding="utf-8")
    assert main(["kit", str(path)]) == 0
    assert main(["kit", str(path), "--length", "18 cm"]) == 2
    assert "sample 10 plain = … mm" in " ".join(capsys.readouterr().err.split())


@pytest.mark.parametrize(
    ("typed", "mend"),
    [
        ("chain of 12 plain and bright", "chain of 12 plain, bright"),
        ("chain 12 plain, bright, 12 plain", "chain of 12 plain, bright, 12 plain"),
        ("chain of 12 x plain, bright", "chain of 12 plain, bright"),
        ("chain 25 units plain, bright, plain", "chain 25 units of plain, bright, plain"),
        ("chain 12 plain then bright then 12 plain", "chain of 12 plain, bright, 12 plain"),
    ],
)
def test_runs_in_other_words_are_told_with_the_line_to_type(typed: str, mend: str) -> None:
    assert f"write '{mend}'" in report(of(f"  {typed}\n"))


@pytest.mark.parametrize(
    ("typed", "mends"),
    [
        ("180 of plain, bright, plain", ["chain 180 mm of plain, bright, plain"]),  # 179 are odd
        (
            "25 of plain, bright, plain",
            ["chain 25 mm of plain, bright, plain", "chain 25 units of plain, bright, plain"],
        ),
        (
            "180 of bright, plain, plain",
            ["chain 180 mm of bright, plain, plain", "chain of 180 bright, plain, plain"],
        ),
    ],
)
def test_a_length_without_its_unit_of_size_is_offered_millimetres_first(
    typed: str, mends: list[str]
) -> None:
    (finding,) = findings(of(BY_LENGTH.replace("190 mm of plain, bright, plain", typed)))
    assert "does not say what it counts, millimetres or units" in finding.message
    assert finding.help == ("write " + " or ".join(f"'{mend}'" for mend in mends),)


def test_a_list_that_no_length_fills_is_counted_by_its_first_run() -> None:
    assert "write 'chain of 12 plain, bright'" in report(of("  chain 12 of plain, bright\n"))


@pytest.mark.parametrize(
    ("extent", "line", "units"),
    [
        ("190 mm", "chain 190 mm of plain, bright, plain", 25),
        ("25 units", "chain of 12 plain, bright, 12 plain", 25),
        ("26 units", "chain of 13 plain, bright, 12 plain", 26),
    ],
)
def test_two_units_without_an_order_are_offered_as_runs(extent: str, line: str, units: int) -> None:
    runs = "190 mm of plain, bright, plain"
    (finding,) = findings(of(BY_LENGTH.replace(runs, extent)))
    assert finding.help[0] == "add to 'piece:' the line 'order plain, bright'"
    assert finding.help[1:] == (f"or work one of them once: '{line}'",)
    typed = of(BY_LENGTH.replace(f"chain {runs}", line))
    assert not findings(typed)
    assert view(typed).weave.layout.units == units


def test_runs_are_not_offered_where_their_length_is_not_known() -> None:
    piece = BY_LENGTH.replace(" of plain, bright, plain", "").replace(
        "  sample 1 bright = 26 mm\n", ""
    )
    (finding,) = findings(of(piece))
    assert finding.help == ("add to 'piece:' the line 'order plain, bright'",)


def test_a_unit_worked_once_is_measured_once() -> None:
    (finding,) = findings(of(BY_LENGTH.replace("  sample 1 bright = 26 mm\n", "")))
    assert finding.message.endswith("and nothing says how long 'bright' is")
    assert "work one, measure it, and add" in finding.help[0]
    assert "'sample 1 bright = … mm'" in finding.help[0]


@pytest.mark.parametrize("item", ["prev sun", "sun"])
def test_a_ring_that_one_other_run_places_is_not_told_as_forgotten(item: str) -> None:
    """Only 'bright' places a sun; nothing of that is missing in 'plain'."""
    text = SUN.replace("add 2 A through prev A picks 2", f"add 2 A through {item} picks 1")
    assert text != SUN
    told = report(text)
    assert "forgotten" not in told
    assert "sun is placed in unit bright alone, in step 3" in told


def test_turns_are_said_once() -> None:
    text = of("  chain of 12 plain, bright, 12 plain\n  order plain, bright\n")
    (finding,) = findings(text)
    assert "the turns are already said on line" in finding.message


def test_a_ring_of_a_run_of_its_own_keeps_its_promise() -> None:
    """A of the unit with the sun meets 5 rings where it also goes through A of the unit before."""
    text = SUN.replace("add 2 A through sun picks 1", "add 2 A through sun, prev A picks 3")
    assert text != SUN
    (finding,) = findings(text)
    assert "does not go through A of the unit before" in finding.message
    assert finding.mends[0].says == "write 'through sun picks 1'"


def test_lays_that_alternate_are_told_by_the_number_of_the_unit() -> None:
    """Unit 1 and 7 are laid to the front, unit 8 to the back, though all three are 'wide'."""
    text = """\\
weave "Two widths"
rings:
  all  wire 1 mm, inside 40 mm, copper
expect:
  A meets 2
  B meets 4
variants:
  zigzag  lay front, back
start:
  close A
  add B through A picks 1
unit wide:
  add A through prev B
  add B through A, prev B picks 2 lay varies
unit narrow:
  add A through prev B
  add B through A, prev B picks 2 lay varies
piece:
  chain of 1 wide, 5 narrow, 2 wide
  variant zigzag
"""
    said = [s.sentence for x in step_list(view(text)).sections for s in x.steps]
    told = "In the 1st, 3rd, 5th … unit from the front, in the 2nd, 4th, 6th … from the back, "
    assert [told in sentence for sentence in said] == [False, False, False, True, False, True]
    one = step_list(view(text.replace("5 narrow, 2 wide", "1 narrow, 1 wide")))
    assert "From the front, pass it" in " ".join(s.sentence for x in one.sections for s in x.steps)


#: Byzantine chain whose middle hangs on one large ring; written for runs of any length.
CENTRE = """\
weave "Byzantine bracelet with a centre ring"
rings:
  all  wire 1.2 mm, inside 4.2 mm, copper
  big  wire 2 mm, inside 10 mm, copper
parts:
  clasp  brass, lobster claw, 12 mm by 6 mm, hole 2 mm
expect:
  C meets 2 A, 2 B
  A meets 2 C, 2 B or 1 big, 2 B
  B meets 2 A, 2 C or 2 A, 1 big
  big meets 2 A, 2 B
  E meets 2 B, 1 F
  F meets 1 E, 1 clasp
start:
  close 2 A
  add 2 B through A picks 2
  fold back B
  spread A
unit byz:
  add 2 C through prev B picks 2
  add 2 A through C picks 2
  add 2 B through A picks 2
  fold back B
  spread A
unit centre:
  add big through prev B picks 2
  add 2 A through big picks 1
  add 2 B through A picks 2
  fold back B
  spread A
piece:
  chain of 8 byz, centre, 8 byz
finish:
  add E through last B picks 2
  add F through E, clasp picks 2
"""


@pytest.mark.parametrize(
    "runs", ["8 byz, centre, 8 byz", "8 byz, centre, 1 byz", "byz, centre, byz", "byz, centre"]
)
def test_the_ends_of_short_runs_are_held_to_no_more_than_those_of_long_ones(runs: str) -> None:
    """A of the start meets B alone, the last B one E: neither is what the pattern promises."""
    text = CENTRE.replace("8 byz, centre, 8 byz", runs)
    assert not findings(text)
    slip = text.replace("add big through prev B picks 2", "add big through prev B1")
    (told,) = findings(slip)
    assert slip.split("\n")[told.span.line - 1] == "  add big through prev B1"
    assert "write 'through prev B'" in told.help[0]


def test_the_ring_missing_from_a_pair_is_looked_for_beside_it_whichever_choice_is_nearer() -> None:
    """B lacks two C or one large ring; the list that names B1 of the unit before lacks its B2."""
    text = CENTRE.replace("add 2 C through prev B picks 2", "add 2 C through prev B1")
    (told,) = findings(text)
    assert "B2 of the unit before" in told.message
    assert told.help[0].endswith("write 'through prev B'")


@pytest.mark.parametrize(
    ("right", "slip", "rivals"),
    [
        ("  close 2 A", "  close A", ["clasp is missing", "write 'picks 1'"]),
        ("  add 2 A through big picks 1", "  add A through big picks 1", []),
    ],
)
def test_a_number_forgotten_where_rings_are_placed_is_offered_first(
    right: str, slip: str, rivals: list[str]
) -> None:
    """The next step goes through two rings where one was placed; at the start nothing but that
    count tells, so all that comes right is named."""
    text = CENTRE.replace(right, slip)
    (told,) = findings(text)
    assert told.rule.name == "pick-count"
    first, *others = told.mends
    lines = source_from_text(text).lines
    assert "\n".join(typed_in(lines, first.edits)).rstrip() == CENTRE.rstrip()
    assert len(others) == len(rivals)
    assert all(rival in said for rival, said in zip(rivals, told.help[2:], strict=True))


@pytest.mark.parametrize(
    ("typed", "message", "mend"),
    [
        ("sample 10 plian = 69 mm", "the sample measures 'plian', and no unit of the piece has that"
         " name", "write 'sample 10 plain = 69 mm'"),
        ("sample 10 left = 69 mm", "the sample measures 'left', and no unit of the piece has that"
         " name", "write 'plain' or 'bright' in its place"),
        ("sampel 10 plain = 69 mm", "no line of 'piece:' begins with 'sampel'",
         "the nearest word is 'sample'"),
    ],
)  # fmt: skip
def test_a_sample_that_is_misspelt_is_the_one_thing_told(
    typed: str, message: str, mend: str
) -> None:
    (found,) = findings(SUN.replace("sample 10 plain = 69 mm", typed))
    assert found.message == message
    assert found.help == (mend,)


def test_a_sample_of_a_name_in_a_chain_of_plain_units_says_what_to_type() -> None:
    """It would else be read over, and the length left open."""
    text = "start:\n  close A\nunit:\n  add A through prev A\nexpect:\n  A meets 2\n"
    text += "rings:\n  all  wire 1 mm, inside 6 mm, tin\npiece:\n  chain 190 mm\n"
    (found,) = findings(text + "  sample 10 byz = 52 mm\n")
    assert found.help == ("write 'sample 10 units = 52 mm'",)
    assert not findings(text + "  sample 10 units = 52 mm\n")
