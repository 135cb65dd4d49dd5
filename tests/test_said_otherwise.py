"""What newcomers write for runs, pictures, closed rings and 'every', and the line they are told.

Each line that is offered is typed in: the recipe must then check clean.
"""

from __future__ import annotations

import pytest
from helpers import findings, view

from ringstep.language.findings import typed_in

CHAIN = """\
weave "Harbour Lane trial"
rings:
  all  wire 1.2 mm, inside 6 mm, copper{ring}
expect:
  A meets 2
start:
  close A
unit{name}:
  {step}
piece:
  {piece}
"""
SHEET = """\
weave "Harbour Lane panel"
rings:
  A  wire 1.2 mm, inside 5.2 mm, aluminium
expect:
  A meets 4
first row:
  close A
row:
  add A through above A, above next A if there
piece:
  sheet 3 rows of 5 units
picture:
  {key}
  r = red
  ggggg
  {row}
  ggggg
"""


def chain(piece: str, step: str = "add A through prev A", ring: str = "", name: str = "") -> str:
    return CHAIN.format(piece=piece, step=step, ring=ring, name=name)


def offered(text: str, line: int) -> str:
    """What the one finding of a line says to type."""
    (found,) = (f for f in findings(text) if f.span.line == line)
    return found.help[0].split("'")[1]


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("chain of 5 units", "chain 5 units"),
        ("chain of 5", "chain 5 units"),
        ("chain 5", "chain 5 units"),
        ("chain five units", "chain 5 units"),
        ("chain of 5 rings", "chain 5 units"),
        ("chain 5 links", "chain 5 units"),
        ("chain of 12 A", "chain 12 units"),
        ("chain 12 units of A", "chain 12 units"),
        ("12 units", "chain 12 units"),
    ],
)
def test_a_chain_of_so_many_units_is_offered_as_it_is_written(said: str, meant: str) -> None:
    assert offered(chain(said), 11) == meant
    assert not findings(chain(meant))


def test_the_line_that_is_offered_is_a_mend_and_hides_no_missed_ring() -> None:
    text = chain("chain of 5 units", step="add A")
    found = {f.span.line: f for f in findings(text)}
    assert found[9].rule.name == "through-nothing"
    mend = found[11].mends[0]
    after = typed_in(tuple(text.splitlines()), mend.edits)
    assert after[10] == "  chain 5 units"
    assert view(chain("chain of 5 units")).weave.layout.units == 5


def test_a_unit_that_is_named_as_a_measure_is_a_unit() -> None:
    assert not findings(chain("chain of 12 mm", name=" mm"))


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("chain of byz x 12, sun, byz x 12", "chain of 12 byz, sun, 12 byz"),
        ("chain of 12 byz sun 12 byz", "chain of 12 byz, sun, 12 byz"),
        ("chain of 12 byz units, sun, 12 byz", "chain of 12 byz, sun, 12 byz"),
        ("chain of ten byz, sun", "chain of 10 byz, sun"),
        ("12 byz, sun, 12 byz", "chain of 12 byz, sun, 12 byz"),
    ],
)
def test_runs_are_offered_whole(said: str, meant: str) -> None:
    def runs(piece: str) -> str:
        two = "add A through prev A\nunit sun:\n  add A through prev A"
        return chain(piece, step=two, name=" byz")

    assert offered(runs(said), 13) == meant
    assert not findings(runs(meant))


@pytest.mark.parametrize("said", ["sheet 3 x 5", "sheet 3 by 5 units", "sheet of 3 rows, 5 units"])
def test_a_sheet_by_its_two_numbers(said: str) -> None:
    text = SHEET.replace("sheet 3 rows of 5 units", said).format(key="g = grey", row="ggrgg")
    assert offered(text, 11) == "sheet 3 rows of 5 units"


@pytest.mark.parametrize(
    "said",
    [
        *("one anothr", "on another", "one an other", "oneanother", "one-another", "each other"),
        *("eachother", "themselves", "all the others", "all P before"),
    ],
)
def test_one_another_however_it_is_said(said: str) -> None:
    text = """\
weave "Rosette of the Harbour Lane bench"
rings:
  all  wire 1 mm, inside 9 mm, copper
expect:
  P meets 4
unit 1:
  add 5 P through {} picks 4 lay front
piece:
  chain 1 unit
"""
    assert offered(text.format(said), 7) == "add 5 P through one another picks 4 lay front"
    assert [f for f in findings(text.format("one another")) if f.severity == "error"] == []


def test_a_ring_may_be_called_mother() -> None:
    step = "add 2 A through mother picks 1"
    found = findings(chain("chain 5 units", step=step))
    assert not any("one another" in line for f in found for line in f.help)


@pytest.mark.parametrize("said", ["all A", "each A", "each of the A", "all the A"])
def test_every_is_offered_at_the_end_only(said: str) -> None:
    finish = chain("chain 5 units").replace(
        "piece:", f"finish:\n  add R through {said} lay front\npiece:"
    )
    assert offered(finish, 11) == "add R through every A lay front"
    unit = chain("chain 5 units", step=f"add R through {said}")
    assert offered(unit, 9) == "add R through A"


@pytest.mark.parametrize(
    "said",
    [
        *("stay closed", "stays close", "closed", "always closed", "keeps closed", "never opened"),
        *("stays-closed", "not opened", "stays shut"),
    ],
)
def test_rings_that_stay_closed_are_no_metal(said: str) -> None:
    assert offered(chain("chain 5 units", ring=f", {said}"), 3) == "stays closed"


@pytest.mark.parametrize(
    ("key", "row", "line", "meant"),
    [
        ("g is grey", "ggrgg", 13, "g = grey"),
        ("g - grey", "ggrgg", 13, "g = grey"),
        ("1 = grey", "ggrgg", 13, "g = grey"),
        ("g = grey", "g,g,r,g,g", 16, "ggrgg"),
        ("g = grey", "2 ggrgg", 16, "ggrgg"),
        ("g = grey", "row 2: ggrgg", 16, "ggrgg"),
        ("g = grey", "2 grey, 1 r, 2 g", 16, "2 g"),
    ],
)
def test_lines_of_the_picture(key: str, row: str, line: int, meant: str) -> None:
    assert offered(SHEET.format(key=key, row=row), line) == meant


def test_letters_in_the_other_case_are_told_once() -> None:
    text = SHEET.format(key="G = grey", row="ggrgg")
    assert [f.rule.name for f in findings(text)] == ["unknown-letter"]


@pytest.mark.parametrize(
    ("line", "number"),
    [
        ("add 5 P through " + " " * 40_000 + "x y", 9),
        ("chain 1 a, " + "1 a, " * 20_000, 11),
        ("5 " * 20_000, 11),
    ],
)
def test_lines_without_end_are_told_at_once(line: str, number: int) -> None:
    """Looking for other words in them took minutes; nobody writes such a line by a slip."""
    text = chain(line) if number == 11 else chain("chain 5 units", step=line)
    assert any(f.span.line == number for f in findings(text))
