"""What may be typed at a place: which names, measures and words, in which order, where they go."""

from __future__ import annotations

import pytest
from helpers import EXAMPLES, PERSIAN_LINKED

from ringstep.table.choices import Choice, completions

CHAIN = """\
weave "It"
rings:
  all  wire 1.2 mm, inside 5 mm, copper
start:
  close 2 A
  add B through A
unit:
  add 2 C through prev B
  add A through C
piece:
  chain 5 units
"""
#: With sets of sizes, a part, names with a figure apart, and units of two names.
NAMED = """\
weave "It"
sizes:
  small A wire 1 mm, inside 4 mm
  large A wire 2 mm, inside 8 mm
parts:
  bead glass, 4 mm, hole 1.5 mm
expect:
  A meets 2
start:
  close 7 A
unit:
  add 6 core through A
  add A through prev A, bead
unit left:
  add A through prev core
piece:
  chain 5 units of left
  sample 10 units = 41 mm
"""
SHEET = """\
weave "It"
first row:
  close A
row:
  add A through above A
row end:
  tighten every A
finish:
  add B through last A
piece:
  sheet 3 rows of 4 units
"""
JOINED = (EXAMPLES / "joined_strips.weave").read_text(encoding="utf-8")
MEASURES = ["mm", "cm", "in", "inch", "inches", "awg", "swg"]


def choices(text: str, old: str, typed: str) -> tuple[Choice, ...]:
    """What is offered at `|` of what is typed in place of something."""
    assert old in text
    text = text.replace(old, typed, 1)
    before = text[: text.index("|")]
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    return completions(text.replace("|", ""), line, column)


def named(text: str, old: str, typed: str) -> list[str]:
    """The same, without words of the language and headings."""
    found = choices(text, old, typed)
    return [c.typed for c in found if c.kind not in ("word", "heading")]


def choices_of_words(text: str, old: str, typed: str) -> list[str]:
    """Words of the language that are offered."""
    return [c.typed for c in choices(text, old, typed) if c.kind == "word"]


def says(text: str, old: str, typed: str) -> dict[str, tuple[str, str]]:
    """The meaning and the kind of each that is offered."""
    return {c.typed: (c.says, c.kind) for c in choices(text, old, typed)}


# -- where -----------------------------------------------------------------------------------------


def test_a_choice_takes_the_place_of_what_is_typed_of_it() -> None:
    for typed, begin, end in (
        ("  add A through |", 17, 17), ("  add A through C|", 17, 18),
        ("  add A through prev|", 17, 21), ("  add A through pre|v", 17, 20),
    ):  # fmt: skip
        found = choices(CHAIN, "  add A through C", typed)
        assert found
        assert {(c.span.line, c.span.column, c.span.end) for c in found} == {(9, begin, end)}


def test_only_what_goes_on_from_the_letters_there_is_offered() -> None:
    def offered(typed: str) -> list[str]:
        return [c.typed for c in choices(CHAIN, "  add A through C", typed)]

    assert offered("  add A through C|") == ["C", "C1", "C2"]
    assert offered("  add A through c|") == ["C", "C1", "C2"], "small and large letters alike"
    assert offered("  add A through C1|") == ["C1"]
    assert offered("  add A through x|") == []
    assert offered("  AD|") == ["add"]
    assert offered("  add A through C, PREV|") == ["prev A", "prev B", "prev C", "prev"]
    assert offered("  add A through C,P|") == ["prev A", "prev B", "prev C", "prev"]


def test_nothing_is_offered_outside_the_text() -> None:
    last = len(CHAIN.split("\n"))
    assert completions(CHAIN, 0, 1) == completions(CHAIN, last + 1, 1) == ()
    assert completions(CHAIN, -1, 1) == completions("weave\0", 1, 1) == ()
    first = completions(CHAIN, 1, 1)
    assert [c.typed for c in first][:2] == ["weave", "again:"]
    assert completions(CHAIN, 1, 0) == completions(CHAIN, 1, -5) == first
    assert "finish:" in {c.typed for c in completions(CHAIN, last, 1)}, "the last line is empty"


def test_the_end_of_a_line_is_no_comment() -> None:
    whole = "  add A through C"
    assert named(CHAIN, whole, f"{whole} |") == []
    assert choices(CHAIN, whole, f"{whole} |"), "'picks', say"
    assert choices(CHAIN, whole, f"{whole}|")
    assert choices(CHAIN, whole, f"{whole}  #|") == ()
    assert choices(CHAIN, whole, f"{whole}  # p|") == ()
    assert choices(CHAIN, whole, f"{whole} p|  # p")
    assert choices(CHAIN, whole, "|# p"), "before a comment"


def test_a_text_of_one_line_is_a_text() -> None:
    assert [c.typed for c in completions("we", 1, 3)] == ["weave"]
    assert [c.typed for c in completions("", 1, 1)][:2] == ["weave", "again:"]


# -- in a step -------------------------------------------------------------------------------------


def test_rings_of_this_place_come_before_those_of_others() -> None:
    assert named(CHAIN, "  add A through C", "  add A through |") == [
        "C", "C1", "C2", "prev A", "prev B", "prev C",
    ]  # fmt: skip
    found = says(CHAIN, "  add A through C", "  add A through |")
    assert found["C"] == ("2 rings of this unit", "ring")
    assert found["C2"] == ("one of them, of this unit", "ring")
    assert found["prev B"] == ("the ring of the unit before", "ring")
    assert found["prev"][0].startswith("the ring of the unit before; 'prev prev'")
    assert found["prev"][1] == "word"
    assert list(found)[-1] == "prev"
    assert named(CHAIN, "  add B through A", "  add B through |") == ["A", "A1", "A2"]
    start = says(CHAIN, "  add B through A", "  add B through |")
    assert start["A"] == ("2 rings of this section", "ring")


def test_only_steps_before_the_line_have_placed_something() -> None:
    assert named(CHAIN, "  add 2 C through prev B", "  add 2 C through |") == ["prev A", "prev B"]
    assert named(CHAIN, "  add 2 C through prev B", "  add 2 C through |prev B") == [
        "prev A", "prev B", "prev C",
    ], "its own rings are not there yet"  # fmt: skip
    whole = "  add 2 C through prev B\n  add A through C"
    assert named(CHAIN, whole, "  fold back |\n  add 2 C through prev B\n  add A through C") == [
        "prev A", "prev B", "prev C",
    ]  # fmt: skip


def test_rings_of_one_name_are_numbered_up_to_six() -> None:
    """Of seven A none is; a name of several letters has its figure apart."""
    step = "  add A through prev A, bead"
    assert named(NAMED, step, "  add A through |") == [
        "core", "core 1", "core 2", "core 3", "core 4", "core 5", "core 6", "prev A", "prev core",
    ]  # fmt: skip
    assert named(NAMED, "  close 7 A\n", "  close 7 A\n  add A through |\n") == ["A"]
    one = NAMED.replace("add 6 core", "add core")
    assert named(one, step, "  add A through |") == ["core", "prev A", "prev core"]
    assert says(one, step, "  add A through |")["core"] == ("1 ring of this unit", "ring")


def test_what_is_new_may_have_any_name() -> None:
    assert named(CHAIN, "  add A through C", "  add |") == ["A", "B", "C"]
    assert named(CHAIN, "  close 2 A", "  close |") == ["B", "A", "C"], "in the order of the text"
    found = says(NAMED, "  close 7 A", "  close |")
    assert found["bead"] == ("glass, 4 mm, hole 1.5 mm", "ring")
    assert says(CHAIN, "  add A through C", "  add |")["A"] == ("1.2 × 5 mm, copper", "ring")
    two = "  M2  wire 2 mm, inside 8 mm\n  M1  wire 1 mm, inside 4 mm\n"
    sized = PERSIAN_LINKED.replace("  all  wire", f"{two}  all  wire")
    assert says(sized, "unit:\n", "unit:\n  add |\n")["M"] == ("1 × 4 mm", "ring"), "of the first"
    strand = (EXAMPLES / "graduated_strand.weave").read_text(encoding="utf-8")
    assert says(strand, "unit:\n", "unit:\n  add |\n")["A"] == ("1 × 4 mm, copper", "ring")
    for word in ("around", "inside"):
        assert named(CHAIN, "  add A through C", f"  add A {word} |")[:2] == ["C", "C1"]
    assert named(CHAIN, "  add A through C", "  fold back |")[:2] == ["C", "C1"]


def test_behind_a_place_every_ring_may_stand() -> None:
    for words in ("prev", "C, prev prev", "C, next"):
        assert named(CHAIN, "  add A through C", f"  add A through {words} |") == ["A", "B", "C"]
    assert says(CHAIN, "  add A through C", "  add A through prev |")["A"] == ("", "ring")


@pytest.mark.parametrize(
    ("old", "typed", "places"),
    [
        ("  close A", "  close A\n  add B through |", ["A", "prev A", "prev B"]),
        ("  add A through above A", "  add A through |",
         ["above A", "above B", "prev A", "prev B"]),
        ("  tighten every A", "  add B through |", ["last A", "last B", "first A", "first B"]),
        ("  add B through last A", "  add B through |", ["last A", "first A"]),
        ("finish:", "again:\n  add A through |\nfinish:",
         ["prev A", "prev B", "next A", "next B"]),
        ("finish:", "last row:\n  add A through |\nfinish:",
         ["above A", "above B", "prev A", "prev B"]),
        ("finish:", "extra place:\n  add A through |\nfinish:",
         ["above A", "above B", "prev A", "prev B"]),
        ("finish:", "shared place:\n  add A through |\nfinish:",
         ["above A", "above B", "prev A", "prev B"]),
        ("finish:", "start:\n  add A through |\nfinish:", []),
    ],
)  # fmt: skip
def test_each_section_has_places_of_its_own(old: str, typed: str, places: list[str]) -> None:
    assert named(SHEET, old, typed) == places


def test_in_a_finish_rings_are_of_the_section() -> None:
    text = SHEET.replace("last A\n", "last A\n  add D through |\n")
    found = says(text, "|", "|")
    assert found["B"] == ("1 ring of this section", "ring")
    assert found["last A"][0] == "the ring of the last unit of the piece or row"


# -- joining ---------------------------------------------------------------------------------------

SEAM = "add seam through strip 1 A along last row, strip 1 next A along last row, strip 2 A"


def test_pieces_made_first_are_offered_each_by_its_number() -> None:
    assert named(JOINED, SEAM, "add seam through |") == ["A", "strip 1", "strip 2"]
    assert says(JOINED, SEAM, "add seam through |")["strip 2"] == ("a piece made first", "name")
    once = JOINED.replace("made twice", "made once")
    assert named(once, SEAM, "add seam through |") == ["A", "strip"]
    many = JOINED.replace("made twice", "made 12 times")
    assert named(many, SEAM, "add seam through |") == ["A", *(f"strip {n}" for n in range(1, 10))]
    nine = JOINED.replace("made twice", "made 9 times")
    assert named(nine, SEAM, "add seam through |") == ["A", *(f"strip {n}" for n in range(1, 10))]


def test_behind_a_piece_its_rings_and_where_they_lie_may_stand() -> None:
    assert named(JOINED, SEAM, "add seam through strip 1 |") == ["A"]
    assert "along last row" in says(JOINED, SEAM, "add seam through strip 1 A |")
    assert named(CHAIN, "  add A through C", "  add A through strip 1 |") == []


# -- other lines -----------------------------------------------------------------------------------


def test_under_rings_a_line_is_begun_for_what_has_none() -> None:
    whole = "  all  wire 1.2 mm, inside 5 mm, copper\n"
    assert named(CHAIN, whole, f"{whole}  |\n") == ["A", "B", "C"]
    assert "all" not in says(CHAIN, whole, f"{whole}  |\n")
    found = says(CHAIN.replace("  all ", "  b "), "copper\n", "copper\n  |\n")
    assert list(found)[:4] == ["A", "C", "all", "again:"], "a name is one, large or small"
    assert found["all"] == ("every ring without a line of its own", "word")
    parts = NAMED.replace("parts:", "rings:\n  |\nparts:")
    assert named(parts, "|", "|") == ["A", "core"], "a bead is no ring"


def test_measures_follow_a_number_and_materials_a_comma() -> None:
    ring = "  all  wire 1.2 mm, inside 5 mm, copper"
    assert named(CHAIN, ring, "  all wire 1.2 |") == MEASURES
    assert says(CHAIN, ring, "  all wire 1.2 |")["mm"] == ("", "measure")
    found = [c.typed for c in choices(CHAIN, ring, "  all wire 1.2 mm, |")]
    assert found[:4] == ["colour", "inside", "stays closed", "wire"]
    assert {"copper", "sterling silver"} <= set(found[4:])
    assert says(CHAIN, ring, "  all wire 1.2 mm, |")["copper"] == ("a material", "material")
    assert named(NAMED, "  small A wire 1 mm", "  small A wire 1 |") == MEASURES
    assert named(NAMED, "  bead glass, 4 mm", "  bead glass, 4 |") == MEASURES


def test_of_a_part_it_may_be_said_that_it_opens() -> None:
    found = says(NAMED, "glass, 4 mm, hole 1.5 mm", "glass, |")
    assert found["opens"] == ("it can be opened like a ring", "word")
    assert "opens" not in says(NAMED, "  bead glass, 4 mm", "  |")


def test_a_set_of_sizes_has_a_name_and_rings() -> None:
    assert named(NAMED, "  small A wire 1 mm, inside 4 mm", "  |") == ["large"]
    twice = NAMED.replace("parts:", "  large core wire 1 mm\n  |\nparts:")
    assert named(twice, "|", "|") == ["small", "large"]
    assert says(twice, "|", "|")["small"] == ("a set of sizes", "name")
    found = says(NAMED, "  small A wire", "  small | wire")
    assert list(found)[:4] == ["all", "A", "bead", "core"]
    assert found["all"] == ("every ring without a line of its own", "word")


def test_a_promise_begins_with_a_ring_and_names_others() -> None:
    found = says(NAMED, "  A meets 2", "  |")
    assert list(found)[:4] == ["A", "bead", "core", "all"]
    assert found["all"] == ("every ring without a promise of its own", "word")
    behind = says(NAMED, "  A meets 2", "  A meets 2 |")
    assert list(behind)[:3] == ["A", "bead", "core"]
    assert "all" not in behind
    assert named(NAMED, "  A meets 2", "  A AR from 3 to 4, computed |") == []


def test_the_names_of_units_and_variants_are_offered_where_a_piece_is_made() -> None:
    made = "chain 5 units of left"
    assert named(NAMED, made, "chain 5 units of |") == ["left"]
    assert says(NAMED, made, "chain 5 units of |")["left"] == ("units of that name", "name")
    assert named(NAMED, made, "chain 19 |") == MEASURES
    assert named(NAMED, "sample 10 units = 41 mm", "sample 10 units =41 |") == MEASURES
    assert named(NAMED, "sample 10 units = 41 mm", "sample 10 units = 41 |") == MEASURES
    assert "mm" not in named(NAMED, "sample 10 units = 41 mm", "sample 10 |")
    assert named(NAMED, made, "order left, |") == ["left"]
    assert "chain" in choices_of_words(NAMED, f"  {made}", "  |")
    found = says(PERSIAN_LINKED, "variant zigzag", "variant |")
    assert {k: v for k, v in found.items() if v[1] == "name"} == {
        "calm": ("lay front", "name"), "mirror": ("lay back", "name"),
        "zigzag": ("lay front, back", "name"),
    }  # fmt: skip


# -- beginnings of lines ---------------------------------------------------------------------------


def test_headings_are_offered_once_but_for_those_of_which_there_may_be_several() -> None:
    found = says(CHAIN, "  close 2 A", "|")
    heads = [name for name, (_, kind) in found.items() if kind == "heading"]
    assert all(one.endswith(":") for one in heads)
    assert not {"rings:", "start:"} & set(heads)
    assert {"unit:", "piece:", "finish:", "row:", "picture:", "again:"} <= set(heads)
    assert found["finish:"][0] == "worked once, when all units are done"
    assert list(found)[-len(heads) :] == heads, "behind the words of a step"
    assert not [c for c in choices(CHAIN, "  close 2 A", "  close |") if c.kind == "heading"]


def test_a_hint_needs_a_step_above() -> None:
    told = ("your own words, printed with the step above", "word")
    assert says(CHAIN, "  add B through A", "  |")["hint"] == told
    assert "hint" not in says(CHAIN, "  close 2 A", "  |")
    assert "hint" not in says(CHAIN, "  close 2 A", "  |close 2 A")
    assert "hint" not in says(CHAIN, "chain 5 units", "|")
    assert choices(CHAIN, "  add B through A", "  hint go t|") == ()
    assert choices(CHAIN, "  add B through A", "  hint |") == ()


def test_notes_are_the_authors_own_words() -> None:
    text = CHAIN.replace("start:", "notes:\n  |\nstart:")
    assert "finish:" in says(text, "|", "|")
    assert not [c for c in choices(text, "|", "|") if c.kind != "heading"]
    assert choices(text, "|", "about p|") == ()


def test_a_heading_is_no_place_for_what_stands_under_it() -> None:
    """On the line of a heading, begun anew, what belongs to the section above may be typed."""
    found = says(CHAIN, "unit:\n", "|\nunit:\n")
    assert "add" in found
    assert named(CHAIN, "start:\n", "|start:\n") == ["A", "B", "C"]
