"""Where along the new ring, on which side, how large: words that change no link and no count."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from helpers import LIBRARY, findings, read, view

from ringstep.checks.edits import AddRing, RemoveRing, ReplaceRing, listed_refs
from ringstep.commands.cli import main
from ringstep.language.findings import Trouble, typed_in
from ringstep.language.source import source_from_text
from ringstep.language.syntax import Step
from ringstep.language.tidy import tidy
from ringstep.paper.steps_text import step_list
from ringstep.weave.likeness import compare
from ringstep.weave.parts import PartSize
from ringstep.weave.piece import Weave
from ringstep.weave.repeats import period_of
from ringstep.weave.work import Act

Out = pytest.CaptureFixture[str]

#: A pair of middle rings and a pair of side rings by turns; {} stands between the two middle pairs.
PERSIAN = """weave "Trial chain of the Harbour Lane bench"
rings:
  all  wire 1.2 mm, inside 6.5 mm, aluminium
expect:
  M meets 6 S
  S meets 6 M
start:
  close 2 M
  add 2 S through M picks 2
unit:
  add 2 M through prev S
  add 2 S through {}
piece:
  chain 24 units
"""
THEN, COMMA = PERSIAN.format("M then prev M"), PERSIAN.format("M, prev M")
#: A recipe that lacks nothing, with one step.
WHOLE = "rings:\n  all  wire 1 mm, inside 5 mm\nstart:\n  {}\n"
#: A sheet turned over at the end of every row.
TURNED = """weave "Sheet of the Harbour Lane bench, turned"
rings:
  all  wire 1 mm, inside 6 mm, copper
expect:
  repeats every 1 unit
first row:
  add A through prev A if there
row:
  add A on the left through above A, prev A if there, above prev A if there lay front
row end:
  turn over
piece:
  sheet 9 rows of 5 units
"""


def step(line: str) -> Step:
    """A step, read; fails where it cannot be."""
    recipe, troubles = read(WHOLE.format(line))
    assert troubles == (), troubles
    return recipe.steps()[0]


def trouble_of(line: str) -> Trouble:
    """The one thing that is said of a step that cannot be read."""
    _, (trouble,) = read(WHOLE.format(line))
    return trouble


def last_act(text: str, role: str) -> Act:
    """The last act that places rings of a role."""
    return [a for a in view(text).weave.work.acts if a.new and a.new[0].role == role][-1]


# -- read -----------------------------------------------------------------------------------------


def test_then_parts_a_list_into_places() -> None:
    read_ = step("add A through M, N then prev M if there, prev N")
    assert [[str(r) for r in stop] for stop in read_.stops] == [
        ["M", "N"],
        ["prev M if there", "prev N"],
    ]
    assert step("add A through M, then prev M").stops[1][0].then, "a comma before it is no matter"
    assert len(step("add A through M, N").stops) == 1


@pytest.mark.parametrize(
    ("line", "toward"),
    [
        ("add S on the left through M", "left"),
        ("close S ON the Right", "right"),
        ("fold back S one to each side", "each side"),
        ("add S through M picks 2 on the left lay front", "left"),
    ],
)
def test_sides_are_read_wherever_they_stand(line: str, toward: str) -> None:
    said = step(line).toward
    assert said is not None
    assert said.value == toward


def test_the_words_of_sides_and_places_stay_free_as_names() -> None:
    read_ = step("add left on the left through right, one, place, side, each, hole")
    assert [str(r) for r in read_.through] == ["right", "one", "place", "side", "each", "hole"]


@pytest.mark.parametrize(
    ("line", "advice"),
    [
        ("add A through M at same place", "add A through M at one place"),
        ("add A through M, N at the same place picks 2", "add A through M, N at one place picks 2"),
        ("add A through M, N in one spot", "add A through M, N at one place"),
        ("add A through M left side", "add A through M on the left"),
        ("add A to the left through M", "add A on the left through M"),
        ("add A left through M", "add A on the left through M"),
        ("fold back S to the right", "fold back S on the right"),
        ("fold back S on the left side", "fold back S on the left"),
        ("fold back S one each side", "fold back S one to each side"),
        ("fold back S to both sides", "fold back S one to each side"),
    ],
)
def test_what_comes_near_is_told_and_the_advice_is_taken(line: str, advice: str) -> None:
    trouble = trouble_of(line)
    assert trouble.help == (f"write '{advice}'",)
    step(advice)


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("add A thru M", "through"),
        ("add A through M than prev M", "then"),
        ("add A through M further prev M", "then"),
        ("add A through M on the lef", "left"),
        ("add A through M on the rihgt", "right"),
    ],
)
def test_a_slip_in_a_word_names_the_nearest(line: str, word: str) -> None:
    trouble = trouble_of(line)
    assert trouble.help == (f"the nearest word is '{word}'",)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("add A through M then N at one place", "both 'then' and 'at one place'"),
        ("close A at one place", "goes through none"),
        ("close 3 A one to each side", "takes rings in twos, and this step places 3"),
        ("add A on the left on the right through M", "twice"),
        ("add A then B", "parts two rings that one step goes through"),
        ("add A through then", "'then' is a word of the language"),
    ],
)
def test_what_cannot_both_be_is_refused(line: str, told: str) -> None:
    trouble = trouble_of(line)
    assert told in trouble.message


def test_a_remark_that_begins_like_a_side_still_goes_to_the_hint() -> None:
    trouble = trouble_of("add A through B on top")
    assert "'hint on top'" in trouble.help[0]


def test_tidy_puts_the_new_words_in_their_order() -> None:
    text = (
        "unit:\n add A Picks 3 AT one  place through B,C On the LEFT\n add D through B , then C\n"
    )
    assert tidy(source_from_text(text)).lines == (
        "unit:",
        "  add A on the left through B, C at one place picks 3",
        "  add D through B then C",
    )


# -- carried out ----------------------------------------------------------------------------------


def test_links_and_counts_are_the_same_and_the_places_differ() -> None:
    one, other = view(THEN).weave, view(COMMA).weave
    assert one.work.links == other.work.links
    assert one.counts == other.counts
    act = last_act(THEN, "S")
    assert [[(r.role, r.unit - act.unit) for r in stop] for stop in act.stops] == [
        [("M", 0), ("M", 0)],
        [("M", -1), ("M", -1)],
    ]
    assert last_act(COMMA, "S").stops == ()
    assert len(last_act(COMMA.replace("M, prev M", "M, prev M at one place"), "S").stops) == 1


def test_a_place_off_the_piece_is_no_stop() -> None:
    text = "rings:\n  all  wire 1 mm, inside 6 mm\nunit:\n  add A through prev A if there then B\n"
    text = text.replace("  add A", "  close B\n  add A") + "piece:\n  chain 4 units\n"
    acts = [a for a in view(text).weave.work.acts if a.new[0].role == "A"]
    assert [len(a.stops) for a in acts[:2]] == [1, 2]


def test_sides_are_those_of_each_ring() -> None:
    strip = (LIBRARY / "european_4_strip.weave").read_text(encoding="utf-8")
    act = last_act(strip, "side")
    assert list(zip([r.index for r in act.new], act.toward, strict=True)) == [
        (1, "left"),
        (2, "right"),
    ]


def test_turned_over_every_row_front_and_left_change_with_it() -> None:
    """The whole piece, place by place, and the window agree; the second row is the first seen
    from behind."""
    seen = view(TURNED)
    assert not [f.message for f in findings(TURNED) if f.severity == "error"]
    found: dict[int, tuple[object, object]] = {}
    for weave in (seen.weave, Weave(seen.recipe, whole=True)):
        layout = weave.work.layout
        for act in weave.work.acts:
            if act.owes_lay:
                row = layout.row_number(act.row)
                assert found.setdefault(row, (act.side, act.toward)) == (act.side, act.toward)
    odd, even = ("front", ("left",)), ("back", ("right",))
    assert found == {row: (odd if row % 2 else even) for row in range(2, 10)}
    period = period_of(seen.weave)
    assert period is not None
    assert (period.piece, period.rows) == (1, 2)


# -- compared -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "other", "lay"),
    [
        ("M then prev M", "M then prev M", "same"),
        ("M then prev M", "prev M then M", "same"),
        ("M then prev M", "M1, M2 then prev M1, prev M2", "same"),
        ("M then prev M", "M, prev M", "other"),
        ("M then prev M", "M1, prev M1 then M2, prev M2", "other"),
        ("M then prev M", "M1 then M2, prev M", "other"),
        ("M, prev M", "M, prev M at one place", "none"),
    ],
)
def test_alike_tells_places_as_it_tells_lays(one: str, other: str, lay: str) -> None:
    found = compare(view(PERSIAN.format(one)).weave, view(PERSIAN.format(other)).weave)
    assert (found.links, found.lay) == (True, lay)


def test_alike_tells_sides_and_their_mirror_image() -> None:
    both = "add 2 S one to each side through M then prev M\n  fold back S"
    left, right = (both.replace("one to each side", f"on the {side}") for side in ("left", "right"))
    weaves = {
        name: view(PERSIAN.replace("add 2 S through {}", line)).weave
        for name, line in (("both", both), ("left", left), ("right", right))
    }
    assert compare(weaves["left"], weaves["left"]).lay == "same"
    assert compare(weaves["left"], weaves["right"]).lay == "mirror"
    assert compare(weaves["left"], weaves["both"]).lay == "other"
    assert compare(weaves["both"], weaves["both"]).lay == "same"


def test_a_hand_out_written_out_is_the_recipe_it_was_made_from() -> None:
    written, recipe = (
        view((LIBRARY / f"{name}.weave").read_text(encoding="utf-8"))
        for name in ("persian_linked_written", "persian_linked")
    )
    (calm,) = (w for w in recipe.weaves if w.variant and w.variant.name == "calm")
    found = compare(written.weave, calm)
    assert (found.links, found.lay) == (True, "same")


def test_a_unit_that_goes_through_its_rings_otherwise_is_told() -> None:
    text = (LIBRARY / "persian_linked_written.weave").read_text(encoding="utf-8")
    at = text.index("unit 4:")
    was = "M1, M2 then prev M1, prev M2"
    odd = text[:at] + text[at:].replace(was, "M1, prev M1 then M2, prev M2", 1)
    (found,) = findings(odd)
    assert found.rule.name == "unlike-siblings"
    assert "unit 4 is laid otherwise" in found.message


# -- mends ----------------------------------------------------------------------------------------


def test_mends_of_a_parted_list_keep_its_places() -> None:
    given = step("add S through M1, M2 then prev M1, prev M2")
    recipe = read("unit:\n  close 3 M\n  add S through M\n")[0]
    first, _, third, fourth = given.through
    new = fourth.__class__(third.places, fourth.name, False, fourth.span)

    def after(edit: AddRing | RemoveRing | ReplaceRing) -> str:
        return listed_refs(edit.through(recipe))

    assert after(RemoveRing(given, third)) == "M1, M2 then prev M2"
    assert after(RemoveRing(given, first)) == "M2 then prev M1, prev M2"
    assert after(ReplaceRing(given, third, new)) == "M1, M2 then prev M2, prev M2"
    short = step("add S through M1 then prev M1, prev M2")
    added = step("add S through M2").through[0]
    assert after(AddRing(short, added)) == "M1, M2 then prev M1, prev M2"
    assert after(AddRing(step("add S through M1 then prev M1"), new)) == "M1 then prev M1, prev M2"


@pytest.mark.parametrize(
    ("wrong", "write"),
    [
        ("M then prev M1 picks 4", "write 'through M then prev M'"),
        ("M1 then prev M picks 4", "write 'through M then prev M'"),
    ],
)
def test_a_ring_missed_in_a_parted_list_is_mended_in_its_place(wrong: str, write: str) -> None:
    (found,) = findings(PERSIAN.format(wrong))
    assert write in " ".join(found.help)


def test_check_rings_asks_once_and_each_answer_settles_it(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "chain.weave"
    path.write_text(COMMA, encoding="utf-8")
    assert main(["check", "--json", str(path)]) == 0
    assert json.loads(capsys.readouterr().out)["files"][0]["findings"] == []
    assert main(["check", "--rings", "--json", str(path)]) == 0
    (found,) = json.loads(capsys.readouterr().out)["files"][0]["findings"]
    assert (found["rule"], found["severity"]) == ("places-unsaid", "note")
    (note,) = findings(COMMA, of_rings=True)
    lines = source_from_text(COMMA).lines
    answers = ["\n".join(typed_in(lines, mend.edits)) for mend in note.mends]
    assert answers[0] == THEN
    assert [findings(answer, of_rings=True) for answer in answers] == [(), ()]


@pytest.mark.parametrize("path", sorted(LIBRARY.glob("*.weave")), ids=lambda p: p.stem)
def test_shipped_recipes_leave_nothing_open(path: Path) -> None:
    assert [f.message for f in findings(path.read_text(encoding="utf-8"), of_rings=True)] == []


# -- said -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (
            "add 2 S through M then prev M",
            "Pass each through both M rings of this unit and, further along the new ring, through"
            " both M rings of the unit before: 4 rings.",
        ),
        (
            "add 2 S through M, prev M at one place",
            "through both M rings of the unit before, at one place: 4 rings.",
        ),
        ("add 2 S on the right through M, prev M", "Close each. Lay them on the right."),
        ("add 2 S one to each side through M, prev M", "Lay S1 on the left and S2 on the right."),
        ("add 2 S through M, prev M\n  fold back S on the left", "Fold both S rings of this unit"
         " back on the left."),
        ("add 2 S through M, prev M\n  fold back S one to each side", "back, one to each side."),
    ],
)  # fmt: skip
def test_the_step_list_says_it(line: str, sentence: str) -> None:
    text = PERSIAN.replace("add 2 S through {}", line)
    told = [s.sentence for section in step_list(view(text)).sections for s in section.steps]
    assert sentence in " ".join(told)


# -- parts ----------------------------------------------------------------------------------------

BEAD = """weave "Drop of the Harbour Lane bench"
rings:
  all  wire 1 mm, inside 5 mm, copper
parts:
  bead  {}
expect:
  A meets 2
  tail meets 1 A, 1 bead
start:
  close A
unit:
  add A through prev A
piece:
  chain 30 units
finish:
  add tail through last A, bead picks 2
"""


@pytest.mark.parametrize(
    ("words", "size"),
    [
        ("glass, 4 mm", PartSize(4, 4, None)),
        ("glass, 4 mm, hole 1.5 mm", PartSize(4, 4, 1.5)),
        ("brass, 20 mm by 4 mm", PartSize(20, 4, None)),
        ("brass, 20 by 4 mm, opens", PartSize(20, 4, None)),
        ("brass, 1 in by 1/4 in", PartSize(25.4, 6.35, None)),
        ("shell, hole 2 mm", PartSize(None, None, 2)),
        ("brass, hole at the side, made by hand", None),
    ],
)
def test_a_part_has_the_size_that_is_said(words: str, size: PartSize | None) -> None:
    text = BEAD.format(words)
    assert findings(text) == ()
    seen = view(text)
    assert seen.weave.part_size("bead") == size
    assert seen.recipe.parts[0].words == words.removesuffix(", opens")


@pytest.mark.parametrize(
    ("words", "rule"),
    [
        ("glass, 4", "bare-number"),
        ("glass, 0 mm", "ring-size"),
        ("glass, 4 mm, hole 4 mm", "ring-size"),
        ("glass, 4 mm, hole 0.9 mm", "hole-too-small"),
    ],
)
def test_sizes_of_parts_that_cannot_be_are_told(words: str, rule: str) -> None:
    assert [f.rule.name for f in findings(BEAD.format(words))] == [rule]


@pytest.mark.parametrize(
    ("words", "advice"),
    [
        ("glass 4 mm", "write ', 4 mm' behind what it is"),
        ("brass, 20 mm x 4 mm", "write '20 mm by 4 mm'"),
        ("brass, 20 × 4 mm", "write '20 by 4 mm'"),
        ("glass, 4 mm, 1 mm hole", "write 'hole 1 mm'"),
        ("glass, 4 mm round", "write '4 mm, round'"),
        ("4 mm, glass", "write what it is before its size, as in 'bead  glass, 4 mm'"),
    ],
)
def test_sizes_of_parts_written_otherwise_are_told(words: str, advice: str) -> None:
    _, (trouble,) = read(BEAD.format(words))
    assert trouble.help == (advice,)


def test_kit_and_sizes_print_the_sizes_of_parts(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "drop.weave"
    path.write_text(BEAD.format("glass, 4 mm, hole 1.5 mm"), encoding="utf-8")
    assert main(["kit", "--json", str(path)]) == 0
    (part,) = json.loads(capsys.readouterr().out)["parts"]
    assert part["size_mm"] == {"length": 4, "width": 4, "hole": 1.5}
    assert part["words"] == "glass, 4 mm, hole 1.5 mm"
    assert main(["sizes", "--json", str(path)]) == 0
    parts = json.loads(capsys.readouterr().out)["parts"]
    assert parts == [{"name": "bead", "length_mm": 4, "width_mm": 4, "hole_mm": 1.5}]
    assert main(["sizes", str(path)]) == 0
    assert "bead           4          4       1.5" in capsys.readouterr().out


@pytest.mark.parametrize("line", ["bead  glass 4 mm", "bead  glass, 4 mm", "A  1.2 mm copper"])
def test_a_size_that_is_neither_wire_nor_inside_is_told_with_where_parts_stand(line: str) -> None:
    text = f'weave "x"\nrings:\n  {line}\nunit:\n  add A through prev A\npiece:\n  chain 9 units\n'
    told = next(f for f in findings(text) if f.rule.name == "unread-line")
    assert told.message.endswith("stands without 'wire' or 'inside' before it")
    assert f"if {line.split()[0]} is a part, move its line to 'parts:'" in told.help[0]
