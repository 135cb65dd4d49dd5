"""Mends as data: what is offered was tried, and typing it in gives the recipe that was tried.

Slips are made in the text of every shipped recipe: one ring left out of a list, its count kept,
lowered with it, or not stated. The original must be what comes back, or be named among rivals.
"""

from __future__ import annotations

import io
import json
import random
import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from helpers import (
    DOUBLED,
    EXAMPLES,
    LIBRARY,
    PERSIAN,
    PERSIAN_LINKED,
    SPIRAL,
    findings,
    shipped_recipes,
    view,
)
from test_blame import LIST, PICKS, same_piece, slips

from ringstep.checks.changes import list_edits, replace_edits, step_edits
from ringstep.checks.edits import DropStep, Edit
from ringstep.checks.pipeline import view_of
from ringstep.commands import mend as mend_command
from ringstep.commands.cli import main
from ringstep.language.findings import Finding, Mend, typed_in
from ringstep.language.source import source_from_text
from ringstep.weave.piece import Weave

SHIPPED = shipped_recipes()
Out = pytest.CaptureFixture[str]


def errors(text: str) -> list[Finding]:
    return [f for f in findings(text) if f.severity == "error"]


def typed(text: str, mend: Mend) -> str:
    """The text after a mend is typed in."""
    return "\n".join(typed_in(source_from_text(text).lines, mend.edits))


def counts(name: str) -> Iterator[tuple[str, int, str]]:
    """A recipe with one ring left out, the count as it was, lowered, or gone; with its line."""
    rng = random.Random(name)
    made = [s for s in slips(name, SHIPPED[name]) if s.counted]
    for slip in rng.sample(made, min(4, len(made))):
        yield slip.text, slip.line, "kept"
        line = slip.text.split("\n")[slip.line - 1]
        names = view(slip.text).weave
        if not LIST.search(line) or names.snags:
            continue
        acts = [a for a in names.work.acts if a.step.span.line == slip.line and not a.dropped]
        size = max((len(a.through) for a in acts), default=0)
        for word, picks in (("lowered", f" picks {size}"), ("none", "")):
            lines = slip.text.split("\n")
            lines[slip.line - 1] = PICKS.sub(picks if size else "", line)
            yield "\n".join(lines), slip.line, word


@pytest.mark.parametrize("name", SHIPPED)
def test_a_ring_left_out_comes_back_by_typing_a_mend(name: str) -> None:
    """Where anything is told: a list at an end that nothing promises may pass for meant."""
    tried = 0
    for text, line, count in counts(name):
        told = errors(text)
        if not told:
            continue
        tried += 1
        (fault,) = told
        assert fault.span.line == line, (count, fault.message)
        mended = [typed(text, m) for m in fault.mends]
        assert mended, (count, fault.message)
        assert all(not errors(m) for m in mended), (count, fault.help)
        assert any(same_piece(SHIPPED[name], m) for m in mended), (count, fault.help)
    assert tried


def _links(weave: Weave) -> set[frozenset[object]]:
    return {frozenset((a, b)) for a, others in weave.work.links.items() for b in others}


@pytest.mark.parametrize("name", ["byzantine", "persian_linked", "flower_chain", "spiral_6"])
def test_typing_a_change_in_gives_the_recipe_it_was_tried_on(name: str) -> None:
    recipe = view(SHIPPED[name]).recipe
    edits: list[Edit] = [*list_edits(recipe), *step_edits(recipe), *replace_edits(recipe)]
    kinds = {type(e) for e in edits}
    for kind in kinds:
        same = [e for e in edits if type(e) is kind]
        for edit in random.Random(name).sample(same, min(12, len(same))):
            tree = Weave(edit.apply(recipe))
            text = typed(SHIPPED[name], Mend("", edit.typed(recipe)))
            read = view(text)
            assert not read.troubles, text
            assert _links(tree) == _links(Weave(read.recipe)), edit
    assert len(kinds) >= 3


def test_a_step_goes_with_its_hints() -> None:
    text = SPIRAL.replace("lay front\n", "lay front\n    hint over the last two\n")
    recipe = view(text).recipe
    assert "hint" not in typed(text, Mend("", DropStep(recipe.steps()[1]).typed(recipe)))


# -- from the rings that are short ---------------------------------------------------------------


def _rosette(size: int, missed: int) -> str:
    lines = ['weave "Rosette for a hat"', "rings:", "  all  wire 1 mm, inside 6 mm, brass"]
    lines += ["  hub  wire 1.2 mm, inside 16 mm, brass", "expect:", f"  hub meets {size} leaf"]
    lines += ["  leaf meets 1 hub, 2 rim", "  rim meets 2 leaf", "start:", "  close hub"]
    lines += [f"  add leaf {n} through hub picks 1" for n in range(1, size + 1)]
    for n in range(1, size + 1):
        rest = "" if n == missed else f", leaf {n % size + 1}"
        lines.append(f"  add rim {n} through leaf {n}{rest} picks {2 - (n == missed)}")
    return "\n".join((*lines, ""))


@pytest.mark.parametrize("size", [5, 13, 40])
def test_a_missed_ring_of_many_is_told_once_and_mended(size: int) -> None:
    text = _rosette(size, 4)
    (fault,) = errors(text)
    assert fault.span.line == text.split("\n").index("  add rim 4 through leaf 4 picks 1") + 1
    assert "most likely also goes through leaf 5" in fault.message
    (mend,) = fault.mends
    assert mend.says == "write 'through leaf 4, leaf 5 picks 2'"
    assert f"{typed(text, mend)}" == _rosette(size, 0)


def _long_unit(steps: int) -> list[str]:
    more = [f"  add A{n} through A{n - 2}, A{n - 1} picks 2 lay front" for n in range(3, steps + 1)]
    lines = ['weave "Long unit"', "rings:", "  all  wire 1 mm, inside 9 mm, copper", "expect:"]
    lines += [
        "  all meets 4",
        "start:",
        "  close A1",
        "  add A2 through A1 picks 1",
        *more,
        "unit:",
    ]
    lines.append(f"  add A1 through prev A{steps - 1}, prev A{steps} picks 2 lay front")
    lines.append(f"  add A2 through prev A{steps}, A1 picks 2 lay front")
    return [*lines, *more, "piece:", "  chain 20 units", ""]


def test_a_missed_ring_in_a_unit_of_300_steps_is_found_at_once() -> None:
    """Under a second on a machine that does nothing else; the bound leaves room for a busy one."""
    lines = _long_unit(300)
    at = len(lines) - 1 - lines[::-1].index("  add A79 through A77, A78 picks 2 lay front")
    right = "\n".join(lines)
    lines[at] = "  add A79 through A77 picks 1 lay front"
    text = "\n".join(lines)
    before = time.process_time()
    (fault,) = errors(text)
    assert time.process_time() - before < 4
    (mend,) = fault.mends
    assert (fault.span.line, typed(text, mend)) == (at + 1, right)


# -- one cause, told once, where it lies ---------------------------------------------------------


def one_error(text: str) -> Finding:
    (fault,) = errors(text)
    return fault


def test_a_wrong_promise_is_marked_on_its_own_line() -> None:
    fault = one_error(DOUBLED.replace("A meets 4", "A meets 5"))
    assert (fault.rule.name, fault.span.line) == ("neighbour-count", 5)
    assert [m.says for m in fault.mends] == ["promise 'A meets 4'"]


def test_a_promise_gets_a_line_for_each_number_where_the_rings_differ() -> None:
    text = """\
weave "Pairs of unlike rings"
rings:
  all  wire 1 mm, inside 9 mm, copper
expect:
  B meets 3 A
  A meets 2
start:
  close A1
  add A2 through A1
  add B through A picks 2 lay front
unit:
  add A1 through prev B
  add A2 through A1
  add B through A lay front
piece:
  chain 20 units
"""
    fault = one_error(text)
    assert fault.span.line == 6
    assert fault.mends[0].says == "promise 'A1 meets 3' and 'A2 meets 2'"
    assert not errors(typed(text, fault.mends[0]))


def test_a_bead_forgotten_in_every_unit_is_put_back_not_looked_for_in_the_start() -> None:
    text = (Path(__file__).parent / "cases" / "bead_chain.weave").read_text("utf-8")
    slip = text.replace("through prev bead, bead picks 2", "through prev bead picks 2")
    found = one_error(slip)
    assert found.message == "step 2 goes through bead of the unit before, which has none"
    (mend,) = found.mends
    assert typed(slip, mend) == text
    assert found.help == (f"most likely: bead is missing; {mend.says}",)


def test_a_name_misspelt_where_it_is_placed_is_told_there() -> None:
    text = PERSIAN.replace("  add 2 M through prev S", "  add 2 N through prev S")
    fault = one_error(text)
    line = text.split("\n").index("  add 2 N through prev S picks 2") + 1
    assert (fault.span.line, fault.message) == (line, "step 6 places 'N', and 'M' is looked for")
    assert typed(text, fault.mends[0]) == PERSIAN


def test_a_step_copied_twice_is_one_message() -> None:
    step = "  add 2 S through M, prev M picks 4\n"
    fault = one_error(PERSIAN.replace(step, step * 2))
    assert fault.message == "step 8 places S1 and S2 a second time"
    assert fault.help == ("to mend: take step 8 out, which repeats step 7",)
    assert typed(PERSIAN.replace(step, step * 2), fault.mends[0]) == PERSIAN


def test_one_prev_too_many_is_offered_before_if_there() -> None:
    text = PERSIAN.replace("add 2 M through prev S picks", "add 2 M through prev prev S picks")
    says = [m.says for m in one_error(text).mends]
    assert says[0] == "write 'through prev S'"


def test_a_heading_with_another_mark_is_one_message() -> None:
    for mark in (".", ";", " ,"):
        fault = one_error(SPIRAL.replace("start:", f"start{mark}"))
        assert fault.help == ("write 'start:'",)


def test_a_first_row_one_ring_short_with_its_count_is_told() -> None:
    right = """\
weave "Awning cloth"
rings:
  all  wire 1.2 mm, inside 5 mm, steel
expect:
  A meets 4
  B meets 4
first row:
  close A
  add B through A, prev A if there picks 2
row:
  add A through above B, above next B if there
  add B through A, prev A if there
piece:
  sheet 8 rows of 12 units
"""
    assert not errors(right)
    text = right.replace("A, prev A if there picks 2", "A picks 1")
    fault = one_error(text)
    assert (fault.rule.name, fault.span.line) == ("missed-at-end", 9)
    assert typed(text, fault.mends[0]) == right


def test_no_change_is_promised_only_where_every_one_was_tried(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from ringstep.checks import blame

    text = DOUBLED.replace("A meets 4", "A meets 2 A, 3 B\n  B meets 6 A").replace(
        "add 2 A through prev A picks 2",
        "add 2 A through prev A picks 2\n  add B through A1 picks 1",
    )
    words = "no single change makes every count right"
    assert any(words in line for f in errors(text) for line in f.help)
    monkeypatch.setattr(blame, "MOST_WORK", 100)
    assert not any(words in line for f in errors(text) for line in f.help)


# -- as JSON, and by the command -----------------------------------------------------------------

SLIP = PERSIAN.replace("through M, prev M picks 4", "through M, prev M1 picks 3")
RIVALS = """\
weave "Fringe"
rings:
  all  wire 1 mm, inside 9 mm, copper
expect:
  core meets 2 core, 2 tuft
  tuft meets 1 core
start:
  close core
unit:
  add core through prev core
  add 2 tuft
piece:
  chain 40 units
"""


@pytest.fixture
def cuff(tmp_path: Path) -> Callable[[str], Path]:
    def written(text: str) -> Path:
        path = tmp_path / "cuff.weave"
        path.write_bytes(text.encode())
        return path

    return written


def test_json_carries_mends_and_labels(cuff: Callable[[str], Path], capsys: Out) -> None:
    assert main(["check", "--json", str(cuff(SLIP))]) == 1
    told = json.loads(capsys.readouterr().out)["files"][0]["findings"]
    (fault,) = [f for f in told if f["severity"] == "error"]
    line = SLIP.split("\n").index("  add 2 S through M, prev M1 picks 3") + 1
    place = {"line": line, "end_line": line}
    assert fault["mends"] == [
        {
            "says": "write 'through M, prev M picks 4'",
            "edits": [
                {**place, "column": 19, "end_column": 29, "text": "M, prev M"},
                {**place, "column": 30, "end_column": 37, "text": "picks 4"},
            ],
        }
    ]
    assert {"line", "column", "end_line", "end_column", "text"} == set(fault["labels"][0])


def test_mend_writes_keeps_the_old_text_and_checks_again(
    cuff: Callable[[str], Path], capsys: Out
) -> None:
    path = cuff(SLIP.replace("\n", "\r\n"))
    assert main(["mend", "--yes", str(path)]) == 0
    out = capsys.readouterr().out
    assert "before   15 |   add 2 S through M, prev M1 picks 3" in out
    assert "after    15 |   add 2 S through M, prev M picks 4" in out
    assert "checks clean" in out
    assert path.read_bytes() == PERSIAN.replace("\n", "\r\n").encode()
    kept = path.with_name("cuff.weave.before")
    assert kept.read_bytes() == SLIP.replace("\n", "\r\n").encode()
    assert main(["mend", "--yes", str(path)]) == 0
    assert "there is no mend to offer" in capsys.readouterr().out


def test_mend_never_writes_over_an_old_text(cuff: Callable[[str], Path], capsys: Out) -> None:
    path = cuff(SLIP)
    first = path.with_name("cuff.weave.before")
    first.write_text("another old text", encoding="utf-8")
    assert main(["mend", "--yes", str(path)]) == 0
    assert first.read_text(encoding="utf-8") == "another old text"
    assert path.with_name("cuff.weave.before2").read_text(encoding="utf-8") == SLIP


def test_mend_with_yes_chooses_between_no_rivals(cuff: Callable[[str], Path], capsys: Out) -> None:
    path = cuff(RIVALS)
    assert main(["mend", "--yes", str(path)]) == 1
    out = capsys.readouterr().out
    assert "1. write 'through core'" in out
    assert "2. write 'through prev core" in out
    assert "none is chosen" in out
    assert path.read_text(encoding="utf-8") == RIVALS
    assert [p.name for p in path.parent.iterdir()] == ["cuff.weave"]


class _Typed(io.StringIO):
    """What somebody types on a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("answer", "status"), [("1\n", 0), ("9\n1\n", 0), ("no\n", 1), ("", 1)])
def test_mend_asks_which(
    answer: str,
    status: int,
    cuff: Callable[[str], Path],
    monkeypatch: pytest.MonkeyPatch,
    capsys: Out,
) -> None:
    path = cuff(RIVALS)
    monkeypatch.setattr(mend_command.sys, "stdin", _Typed(answer))
    assert main(["mend", str(path)]) == status
    mended = RIVALS.replace("add 2 tuft", "add 2 tuft through core") if status == 0 else RIVALS
    assert path.read_text(encoding="utf-8") == mended
    assert "which, 1 to" in capsys.readouterr().out


def test_mend_asks_nobody_in_a_script(cuff: Callable[[str], Path], capsys: Out) -> None:
    path = cuff(SLIP)
    assert main(["mend", str(path)]) == 1
    assert "nobody can be asked here" in capsys.readouterr().out
    assert path.read_text(encoding="utf-8") == SLIP
    assert main(["mend", "-"]) == 2


def test_a_second_mend_of_a_list_changes_the_line_of_its_step(
    cuff: Callable[[str], Path], capsys: Out
) -> None:
    """Both items of the last step lead nowhere; the mend of the second builds on the first."""
    text = """\
rings:
  all  wire 0.8 mm, inside 3.5 mm, silver
expect:
  A meets 4
  1 ring a unit
  top meets 2 A
first row:
  close A
row:
  add A through above A, above next A at one place picks 2
piece:
  sheet 6 rows of 6 units
  rows back and forth
shape:
  rows 2 to 6  each 1 less
finish:
  add top through first next next first A, next next next A picks 2
"""
    lines = text.split("\n")
    for mend in (m for f in errors(text) for m in f.mends):
        assert typed(text, mend).split("\n")[:16] == lines[:16]
        assert typed(text, mend).split("\n")[16].startswith("  add top through ")
    main(["mend", str(cuff(text))])
    shown = re.findall(r"(?:before|after) +(\d+) \|", capsys.readouterr().out)
    assert len(shown) > 6
    assert set(shown) == {"17"}


TAPER = """\
rings:
  all  wire 1.2 mm, inside 5.5 mm, copper
expect:
  A meets 4
first row:
  close A
row:
  add A through above A
piece:
  sheet 6 rows of 10 units
  rows back and forth
"""


@pytest.mark.parametrize(
    ("shape", "mend"),
    [
        # Each row is one place narrower, so both rings above stand at every place of it.
        ("shape:\n  rows 2 to 6  each 1 less\n", "through above A, above next A"),
        # Only the first five are: in row 6 the last place has nothing above and beyond it.
        ("shape:\n  rows 2 to 5  each 1 less\n", "through above A, above next A if there"),
        ("", "through above A, above next A if there"),
    ],
)
def test_if_there_is_offered_only_where_a_place_may_be_off_the_piece(shape: str, mend: str) -> None:
    (fault,) = errors(TAPER + shape)
    assert fault.mends[0].says == f"write '{mend}'"
    assert not errors(typed(TAPER + shape, fault.mends[0]))


def test_a_mend_shows_on_its_finding_what_the_help_says() -> None:
    for text in (SLIP, RIVALS, _rosette(13, 4)):
        for fault in errors(text):
            assert fault.mends
            for mend in fault.mends:
                assert any(mend.says in line for line in fault.help)


def test_view_of_reads_what_is_typed() -> None:
    """The edits are of the text as it stands, comments and all."""
    text = SLIP.replace("picks 3", "picks 3  # counted twice")
    fault = one_error(text)
    after = typed(text, fault.mends[0])
    assert "prev M picks 4  # counted twice" in after
    assert not view_of(source_from_text(after)).troubles


@pytest.mark.parametrize("step", ["lay front", "picks 2 lay front", "lay front picks 2"])
def test_a_lay_left_out_has_two_mends(step: str) -> None:
    text = SPIRAL.replace("lay front", step).replace(" lay front", "")
    says = [m.says for m in one_error(text).mends]
    assert says == ["add 'lay front'", "add 'lay back'"]
    for mend in one_error(text).mends:
        assert not errors(typed(text, mend))


def test_a_lay_owed_through_one_odd_link_is_told_at_that_link() -> None:
    right = PERSIAN_LINKED
    text = right.replace("prev S, M1 picks 3", "prev S, prev M1 picks 3")
    assert text != right
    fault = one_error(text)
    assert "goes through M1 of the unit before, and only through that step 9 owes" in fault.message
    assert right in [typed(text, m) for m in fault.mends]


@pytest.mark.parametrize(
    ("name", "right", "wrong"),
    [
        # The finish agrees with the start, so the unit may be meant otherwise as well.
        ("clasp_chain", "add 2 C through prev B picks 2", "add 2 C through prev prev B if there"),
        # Nothing is promised of M beside the buckle: the ring too many shows by its lay alone.
        ("strap_cuff", "through H1, H2 picks 2", "through H1, H2, buckle picks 3"),
        # A2 is no ring of the last unit, and so was not counted.
        ("spiral_loop", "through last A, last prev A then first A picks 3",
         "through last A2, last prev A then first A picks 2"),
    ],
)  # fmt: skip
def test_a_ring_meant_otherwise_is_among_the_rivals(name: str, right: str, wrong: str) -> None:
    (path,) = (p for f in (LIBRARY, EXAMPLES) for p in f.glob(f"{name}.weave"))
    text = path.read_text(encoding="utf-8")
    assert text.count(right) == 1
    (fault,) = errors(text.replace(right, wrong))
    ways_back = [typed(text.replace(right, wrong), mend) for mend in fault.mends]
    assert any(same_piece(text, back) for back in ways_back), fault


def clean_after(text: str) -> list[str]:
    """What each mend of the only finding leads to, with nothing left to say."""
    (finding,) = [f for f in findings(text) if f.severity != "note"]
    after = [typed(text, mend) for mend in finding.mends]
    assert all(not findings(one) for one in after)
    return after


PAIRS = """\
weave "Linked pairs"
rings:
  all  wire 1.2 mm, inside 7 mm, copper
expect:
  A meets 5 A
  2 rings a unit
start:
  close 2 A
unit:
  add A1 through prev A picks 2
  add A2 through prev A, A1 picks 3 lay front
piece:
  chain 20 units
"""


def test_a_start_whose_pair_is_not_linked_is_mended_in_two_steps() -> None:
    (after,) = clean_after(PAIRS)
    assert after == PAIRS.replace("  close 2 A\n", "  close A1\n  add A2 through A1\n")


@pytest.mark.parametrize(
    ("right", "wrong"),
    [("A meets 5 A", "A meets 5 Aa"), ("2 rings a unit", "Pear meets 2 A")],
)
def test_a_name_that_leads_nowhere_is_mended_only_where_that_comes_right(
    right: str, wrong: str
) -> None:
    text = PAIRS.replace("  close 2 A\n", "  close A1\n  add A2 through A1\n")
    assert not findings(text)
    found = [f for f in findings(text.replace(right, wrong)) if f.rule.name == "unknown-name"]
    assert len(found) == 1
    if wrong.startswith("A "):
        assert clean_after(text.replace(right, wrong)) == [text]
    else:
        assert not found[0].mends


LOOP = """\
weave "A plain loop"
rings:
  all  wire 1.2 mm, inside 7 mm, copper
expect:
  B meets 2
start:
  close B
unit:
  add B through prev B
finish:
  add B1 through last B, first B picks 2
piece:
  loop 9 units
"""


def test_a_loop_left_open_by_its_finish_is_told_there_with_and_without_a_promise() -> None:
    right = LOOP.replace("expect:\n  B meets 2\n", "")
    assert [f.rule.name for f in findings(LOOP)] == []
    for text in (LOOP, right):
        wrong = text.replace("last B, first B picks 2", "last B picks 1")
        error = next(f for f in errors(wrong))
        assert wrong.splitlines()[error.span.line - 1] == "  add B1 through last B picks 1"
        assert text in [typed(wrong, m) for m in error.mends]


GRIP = """\
rings:
  all  wire 1 mm, inside 6 mm, copper
expect:
  W meets 4
start:
  close grip
  add 2 W through grip picks 1
unit 1:
  add 2 W through prev W picks 2
unit 2:
  add 2 W through prev W picks 2
  take out first grip
unit:
  add 2 W through prev W picks 2
piece:
  chain 16 units
"""


@pytest.mark.parametrize("typed_as", ["grip", "prev grip", "last grip"])
def test_a_holder_taken_out_midway_is_named_by_its_place(typed_as: str) -> None:
    assert not errors(GRIP)
    slip = GRIP.replace("take out first grip", f"take out {typed_as}")
    fault = one_error(slip)
    assert typed(slip, fault.mends[0]).rstrip() == GRIP.rstrip()
