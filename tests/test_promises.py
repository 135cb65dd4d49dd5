"""What can be promised of a ring, and that every promise is judged on the piece as it is made."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from helpers import ROOT, findings, view

from ringstep.checks.summary import summary_lines
from ringstep.commands.cli import main
from ringstep.language.source import source_from_text
from ringstep.language.tidy import tidy
from ringstep.shop.fitting import ring_uses

SHIPPED = {
    path.stem: path.read_text(encoding="utf-8")
    for folder in ("library", "examples")
    for path in sorted((ROOT / folder).glob("*.weave"))
}
#: Single rungs between pairs of rails.
LADDER = """\
weave "Ladder of the Tidewater class"
rings:
  all  wire 1.2 mm, inside 6 mm, brass
expect:
  rung meets 2 rail, 2 prev rail
  rail meets 1 rung, 1 next rung
start:
  close 2 rail
unit:
  add rung through prev rail picks 2
  add 2 rail through rung picks 1
piece:
  chain 20 units
"""

SHEET = """\
weave "Tidewater sheet"
rings:
  all  wire 1.2 mm, inside 6 mm, brass
expect:
  A meets 1 above A, 1 above next A, 1 below A, 1 below next A
first row:
  close A
row:
  add A through above A, above next A if there picks 2
piece:
  sheet 7 rows of 9 units
  rows back and forth
"""

PENDANT = """\
weave "Tidewater pendant"
rings:
  all  wire 1.2 mm, inside 6 mm, brass
expect:
  A meets 2
  drop 1 meets 1 A, 1 drop
  drop 2 meets 2
  drop 3 meets 1
start:
  close A
unit:
  add A through prev A picks 1
piece:
  chain 30 units
finish:
  add drop 1 through last A picks 1
  add drop 2 through drop 1 picks 1
  add drop 3 through drop 2 picks 1
"""


def told(text: str) -> list[tuple[str, int]]:
    """The rule and line of every finding."""
    return [(f.rule.name, f.span.line) for f in findings(text)]


def line_of(text: str, words: str) -> int:
    """The number of the first line that holds the words."""
    return next(n for n, line in enumerate(text.splitlines(), 1) if words in line)


# -- alternatives --------------------------------------------------------------------------------

FOCAL = """\
weave "Every third pair holds a focal ring"
rings:
  all  wire 1.2 mm, inside 6 mm, brass
expect:
  A meets 2 B or 1 B, 1 focal
  B meets 2 A or 1 A, 1 focal
  focal meets 1 A, 1 B
start:
  close B
unit plain:
  add A through prev B picks 1
  add B through A picks 1
unit held:
  add A through prev B picks 1
  add focal through A picks 1
  add B through focal picks 1
piece:
  chain 12 units
  order plain, plain, held
"""


def test_each_finished_ring_keeps_one_of_the_alternatives() -> None:
    assert told(FOCAL) == []


@pytest.mark.parametrize(
    ("promise", "measured"), [("A meets 2 B or 3 B", "1 B and 1 focal"), ("A meets 3 or 4", "2")]
)
def test_a_ring_that_keeps_none_of_them_is_told(promise: str, measured: str) -> None:
    text = FOCAL.replace("A meets 2 B or 1 B, 1 focal", promise, 1)
    (found,) = findings(text)
    assert found.rule.name == "neighbour-count"
    assert measured in found.message
    assert f"not {promise.removeprefix('A meets ')} as promised" in found.message


def test_a_total_may_have_alternatives() -> None:
    # the A of the plain units meets two, one of a strand that ends in a pair would meet three
    assert told(FOCAL.replace("A meets 2 B or 1 B, 1 focal", "A meets 3 or 2")) == []


# -- places --------------------------------------------------------------------------------------


def test_places_are_judged_where_the_rings_stand() -> None:
    assert told(LADDER) == []
    assert told(SHEET) == []


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ("add rung through prev rail", "add rung through prev prev rail if there"),
        ("rung meets 2 rail, 2 prev rail", "rung meets 2 rail, 2 prev prev rail"),
        ("rail meets 1 rung, 1 next rung", "rail meets 1 rung, 1 prev rung"),
    ],
)
def test_what_stands_a_unit_off_is_told(was: str, now: str) -> None:
    text = LADDER.replace(was, now).replace(" if there picks 2", " if there")
    assert "neighbour-count" in {rule for rule, _ in told(text)}
    plain = text.replace("2 rail, 2 prev rail", "4 rail").replace("1 rung, 1 next rung", "2 rung")
    if "meets 2 rail" not in now and "meets 1 rung" not in now:
        rules = {rule for rule, _ in told(plain)}
        assert "neighbour-count" not in rules, "every count is kept; only the places tell it"


def test_a_persian_chain_shifted_by_a_unit_is_told_and_mended() -> None:
    was = "add 2 S through M then prev M picks 4"
    text = SHIPPED["persian_6"].replace(was, "add 2 S through prev M, prev prev M if there")
    (found,) = findings(text)
    assert (found.rule.name, found.span.line) == ("neighbour-count", line_of(text, "prev prev M"))
    assert "write 'through prev M, M'" in " ".join(found.help)


def test_places_in_rows_follow_the_working_direction() -> None:
    """Worked back and forth a row leans the other way from the next; in one direction it does
    not, so the same line is wrong there."""
    one_way = SHEET.replace("  rows back and forth\n", "")
    assert {rule for rule, _ in told(one_way)} == {"neighbour-count"}
    assert told(one_way.replace("1 below next A", "1 below prev A")) == []
    assert told(SHEET.replace("1 below next A", "1 below prev A")) != []


def test_places_go_round_a_loop_and_a_tube() -> None:
    loop = (
        LADDER.replace("chain 20 units", "loop 20 units").replace("unit:\n", "unit:\n", 1)
        + "finish:\n  add rung through last rail, first rail picks 4\n"
    )
    assert told(loop.replace("rung meets 2 rail, 2 prev rail", "rung meets 4 rail")) == []
    tube = SHEET.replace("sheet 7", "tube 7").replace("above next A if there", "above next A")
    tube = tube.replace("  rows back and forth\n", "").replace("1 below next A", "1 below prev A")
    assert told(tube) == []


def test_without_a_place_a_role_counts_wherever_it_stands() -> None:
    assert told(LADDER.replace("2 rail, 2 prev rail", "4 rail")) == []


def test_new_words_of_promises_stay_free_as_names() -> None:
    text = LADDER.replace("rung", "below").replace("rail", "or")
    text = text.replace("below meets 2 or, 2 prev or", "below meets 4")
    text = text.replace("or meets 1 below, 1 next below", "or meets 2 below")
    assert told(text) == []


# -- rings that are held -------------------------------------------------------------------------

ORBIT = """\
weave "Orbit rings of the Tidewater class"
rings:
  link   wire 1.2 mm, inside 6 mm, brass
  orbit  wire 1.2 mm, inside 14 mm, brass
expect:
  link meets 4
  orbit lies around 2 link, 2 prev link
start:
  close 2 link
unit:
  add 2 link through prev link picks 2
  close orbit around link, prev link
piece:
  chain 20 units
"""


def test_a_ring_that_is_held_is_guarded() -> None:
    assert told(ORBIT) == []
    assert any("orbit lies around 4 link" in line for line in summary_lines(view(ORBIT)))


def test_what_is_held_is_promised_by_name() -> None:
    text = ORBIT.replace("orbit lies around", "all lies around")
    assert ("unknown-name", line_of(text, "all lies")) in told(text)


@pytest.mark.parametrize("held", ["link", "link, prev link 1", "link 1, prev link"])
def test_a_ring_left_out_of_what_is_held_is_told_on_its_line(held: str) -> None:
    text = ORBIT.replace("around link, prev link", f"around {held}")
    assert told(text) == [("held-count", line_of(text, "close orbit"))]


# -- promises against one another ----------------------------------------------------------------


def test_promises_that_contradict_name_both_lines_and_mark_the_wrong_one() -> None:
    plain = LADDER.replace("2 rail, 2 prev rail", "4 rail").replace("1 rung, 1 next rung", "2 rung")
    assert told(plain) == []
    for was, now in (("meets 4 rail", "meets 3 rail"), ("meets 2 rung", "meets 1 rung")):
        text = plain.replace(was, now)
        (found,) = findings(text)
        assert (found.rule.name, found.span.line) == ("promises-contradict", line_of(text, now))
        (other,) = found.labels
        assert other.span.line != found.span.line
        assert was in " ".join(found.help), "the line to type is the one that holds"


def test_a_ring_left_out_of_the_unit_is_not_told_as_a_contradiction() -> None:
    plain = LADDER.replace("2 rail, 2 prev rail", "4 rail").replace("1 rung, 1 next rung", "2 rung")
    text = plain.replace("  add 2 rail through", "  add rail through")
    assert "promises-contradict" not in {rule for rule, _ in told(text)}
    assert "pick-count" in {rule for rule, _ in told(text)}


@pytest.mark.parametrize("name", sorted(SHIPPED))
def test_no_shipped_recipe_contradicts_itself_or_is_untested(name: str) -> None:
    found = {f.rule.name for f in findings(SHIPPED[name])}
    assert not found & {"promises-contradict", "promise-untested", "held-count"}


# -- ends ----------------------------------------------------------------------------------------


def test_promises_at_the_ends_are_judged_as_the_work_ends() -> None:
    assert told(PENDANT) == []
    text = PENDANT.replace("add drop 3 through drop 2", "add drop 3 through drop 1")
    assert {rule for rule, _ in told(text)} == {"neighbour-count"}


def test_where_some_rings_of_a_role_are_promised_the_others_are_told() -> None:
    text = re.sub(r"  drop [13] meets .*\n", "", PENDANT)
    (found,) = findings(text)
    assert found.rule.name == "nothing-promised"
    assert "drop 1 and drop 3" in found.message
    assert "  drop 3 meets 1" in found.help


# -- aspect ratios, sizes, summary ---------------------------------------------------------------


def test_an_aspect_ratio_for_all_is_read() -> None:
    text = LADDER.replace("expect:\n", "expect:\n  all AR 4 to 5, own trials\n")
    assert told(text) == []
    (given,) = {use.range for use in ring_uses(view(text))}
    assert given
    assert (given.low, given.high) == (Fraction(4), Fraction(5))


def test_an_aspect_ratio_for_a_variant_holds_where_it_is_made() -> None:
    text = SHIPPED["persian_linked"].replace("  AR 5.6", "  calm AR from 9, own trials\n  AR 5.6")
    assert told(text) == []
    calm = text.replace("variant zigzag", "variant calm")
    lows = [{u.range and float(u.range.low) for u in ring_uses(view(t))} for t in (text, calm)]
    assert lows == [{5.7}, {9.0}]


def test_sizes_tells_the_range_of_the_variant_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "persian.weave"
    path.write_text(
        SHIPPED["persian_linked"].replace("  AR 5.6", "  calm AR from 9, own trials\n  AR 5.6")
    )
    assert main(["sizes", str(path), "--wire", "1.6 mm", "--variant", "calm"]) == 0
    assert "good to make, made as calm, at AR from 9.0" in " ".join(capsys.readouterr().out.split())
    assert main(["sizes", str(path), "--wire", "1.6 mm", "--variant", "mirror"]) == 0
    assert "good to make at AR 5.6 to 5.8" in " ".join(capsys.readouterr().out.split())
    assert main(["sizes", str(path), "--wire", "1.6 mm"]) == 0
    assert "made as zigzag, at AR 5.7 to 5.8" in " ".join(capsys.readouterr().out.split())


def test_an_aspect_ratio_of_nothing_there_is_is_told() -> None:
    text = LADDER.replace("expect:\n", "expect:\n  rnug AR 4 to 5, own trials\n")
    assert told(text) == [("unknown-name", 5)]


def test_a_numbered_ring_without_a_size_is_told_by_its_name() -> None:
    text = LADDER.replace("  all ", "  rail 1 ").replace(
        "\nexpect", "\n  rung  wire 1 mm, inside 6 mm, brass\nexpect"
    )
    (found,) = findings(text)
    assert (found.rule.name, found.span.line) == ("ring-size", line_of(text, "close 2 rail"))
    assert "rail 2" in found.message
    assert "rail 1" not in found.message


def test_a_single_ring_is_spoken_of_as_one() -> None:
    lines = summary_lines(
        view(
            PENDANT.replace(
                "drop 1 meets 1 A, 1 drop\n  drop 2 meets 2\n  drop 3 meets 1", "hook meets 1 A"
            )
            .replace(
                "  add drop 2 through drop 1 picks 1\n  add drop 3 through drop 2 picks 1\n", ""
            )
            .replace("drop 1", "hook")
        )
    )
    assert "every finished A meets 2 A; the hook meets 1 A" in lines


def test_no_promise_is_said_to_be_kept_where_none_was_given() -> None:
    roles = "pqrstuvw"
    steps = "".join(f"  add {b} through {a} picks 1\n" for a, b in pairwise(roles))
    text = (
        'weave "Eight by name"\nrings:\n  all  wire 1 mm, inside 5 mm, brass\nstart:\n  close w\n'
        f"unit:\n  add p through prev w picks 1\n{steps}piece:\n  chain 9 units\n"
    )
    assert not any("keep" in line for line in summary_lines(view(text)))
    some = text.replace("start:", "expect:\n  p meets 2\n  q meets 2\nstart:")
    assert "2 of 8 roles keep their promises" in summary_lines(view(some))


# -- lines that cannot be read: the advice is typed in -------------------------------------------


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ("chain 20 units", "chain 190 mm with a clasp"),
        ("chain 20 units", "20 units with a clasp"),
        ("add rung through prev rail picks 2", "add rung through prev rail from the front"),
        ("add rung through prev rail picks 2", "add rung from the back through prev rail"),
        ("add 2 rail through rung picks 1\n", "add 2 rail through rung\n  fold rail back\n"),
        ("add 2 rail through rung picks 1\n", "add 2 rail through rung\n  turn the work over\n"),
    ],
)
def test_the_line_to_type_is_taken(was: str, now: str) -> None:
    text = LADDER.replace(was, now)
    (found,) = [f for f in findings(text) if f.rule.name == "unread-line"]
    typed = re.search(r"write '(.*)'", found.help[0])
    assert typed
    lines = text.splitlines()
    lines[found.span.line - 1] = f"  {typed[1]}"
    assert not [f for f in findings("\n".join(lines) + "\n") if f.severity == "error"]


def test_a_length_that_is_probably_in_mm_is_asked_about() -> None:
    text = LADDER.replace("chain 20 units", "chain 190 cm\n  sample 10 units = 60 mm")
    (found,) = findings(text)
    assert (found.rule.name, found.severity) == ("long-piece", "note")
    assert "write 'chain 190 mm'" in " ".join(found.help)
    assert told(text.replace("190 cm", "190 mm")) == []


def test_tidy_keeps_promises_as_they_are_meant() -> None:
    text = FOCAL + ""
    text = text.replace("A meets 2 B or 1 B, 1 focal", "A MEETS  2 B  OR 1 B,1 focal")
    text = text.replace("focal meets 1 A, 1 B", "focal   Lies AROUND 1 Prev  B")
    laid = tidy(source_from_text(text)).lines
    assert "  A meets 2 B or 1 B, 1 focal" in laid
    assert "  focal lies around 1 prev B" in laid


def written_out(text: str, units: int) -> str:
    """A chain with its one unit written out so many times."""
    found = re.search(r"^unit:\n((?:    ?.*\n|  \S.*\n)+)", text, re.M)
    assert found
    out = "".join(f"unit {n}:\n{found[1]}" for n in range(1, units + 1))
    text = text[: found.start()] + out + text[found.end() :]
    text = re.sub(r"^  sample .*\n", "", text, flags=re.M)
    return re.sub(r"^  (chain|loop) .*", rf"  \1 {units} units", text, flags=re.M)


#: But what is wrong on purpose, and what belongs to its one length.
NOT_OF_ANY_LENGTH = {"missed_ring", "gathered_loop", "both_ways_bracelet", "graduated_strand"}
ONE_UNIT = [n for n, t in SHIPPED.items() if "\nunit:\n" in t and n not in NOT_OF_ANY_LENGTH]


@pytest.mark.parametrize("name", ONE_UNIT)
def test_written_out_every_shipped_recipe_keeps_its_promises_too(name: str) -> None:
    found = [f for f in findings(written_out(SHIPPED[name], 7)) if f.severity != "note"]
    assert [f.message for f in found] == []
