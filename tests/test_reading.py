"""What is said of a line that cannot be read: rule, place and first line, exactly.

Each case changes one line of a right recipe, so the place is that line and nothing else is found.
"""

from __future__ import annotations

import re

import pytest
from helpers import EUROPEAN, SIMPLE, findings, underlined, view

from ringstep.checks.pipeline import findings_of, view_of
from ringstep.language.findings import Finding
from ringstep.language.source import Unreadable, source_from_bytes, source_from_text

_LINES = SIMPLE.split("\n")
#: Which line of the recipe a case stands in for.
TITLE, RING, PROMISE, HEADING, STEP, PIECE = 1, 3, 5, 8, 9, 11


def changed(number: int, line: str) -> str:
    """The recipe with one line changed."""
    return "\n".join([*_LINES[: number - 1], line, *_LINES[number:]])


def only(text: str) -> Finding:
    """The one finding of a text."""
    found = findings(text)
    assert len(found) == 1, [f"line {f.span.line}: {f.message}" for f in found]
    return found[0]


#: (line number, line, underlined text, first line, first line of help)
CASES: list[tuple[int, str, str, str, str]] = [
    # words mistyped
    (STEP, "  add A throuhg prev A", "throuhg", "'throuhg' is not a word of the language here",
     "the nearest word is 'through'"),
    (STEP, "  add A trough prev A", "trough", "'trough' is not a word of the language here",
     "the nearest word is 'through'"),
    (STEP, "  add A thru prev A", "thru", "'thru' is not a word of the language here",
     "the nearest word is 'through'"),
    (STEP, "  add A through prevs A", "prevs", "'prevs' is not a word of the language here",
     "the nearest word is 'prev'"),
    (STEP, "  add A through previous A", "previous",
     "'previous' is not a word of the language here", "the nearest word is 'prev'"),
    (STEP, "  ad A through prev A", "ad", "no step begins with 'ad'", "the nearest word is 'add'"),
    (STEP, "  add A through prev A lay fron", "fron",
     "'fron' is not a word of the language here", "the nearest word is 'front'"),
    (STEP, "  add A through prev A if their", "their",
     "'their' is not a word of the language here", "the nearest word is 'there'"),
    (PROMISE, "  A meet 2", "meet", "'meet' is not a word of the language here",
     "the nearest word is 'meets'"),
    (RING, "  all  wire 1.2 mm, insde 5 mm, copper", "insde",
     "'insde' is not a word of the language here", "the nearest word is 'inside'"),
    (PIECE, "  chian 24 units", "chian", "no line of 'piece:' begins with 'chian'",
     "the nearest word is 'chain'"),
    (PIECE, "  chain 24 untis", "untis", "'untis' is not a word of the language here",
     "the nearest word is 'units'"),
    (TITLE, 'wave "Simple chain"', "wave", "the first word is 'wave'",
     "the nearest word is 'weave'"),
    # unknown words
    (STEP, "  repeat 3 times", "repeat", "no step begins with 'repeat'",
     "a step begins with one of: add, close, reopen, fold back, spread, turn over, hold, tie,"
     " tighten, take out, untie or let go"),
    (PIECE, "  bracelet 190 mm", "bracelet", "a line of 'piece:' does not begin with 'bracelet'",
     "it begins with one of: chain, loop, strands, sheet, tube, rows, order, variant, sample or"
     " made"),
    # names first, wrong order
    (STEP, "  A through prev A", "A", "no step begins with 'A'", "write 'add A through prev A'"),
    (STEP, "  through prev A add A", "through", "no step begins with 'through'",
     "a step begins with what is done: 'add A through prev A'"),
    (STEP, "  put A through prev A", "put", "no step begins with 'put'",
     "a step begins with what is done: 'add A through prev A'"),
    (STEP, "  add through prev A", "through",
     "'add' is followed by 'through', so the ring has no name",
     "name the ring that is placed: 'add A through …'"),
    (STEP, "  add A through B through prev A", "through prev A", "this step says 'through' twice",
     "keep one of the two, or make two steps of it"),
    (STEP, "  fold A", "fold", "'fold' is half of 'fold back'", "write 'fold back …'"),
    (STEP, "  turn A", "turn", "'turn' is half of 'turn over'", "write 'turn over …'"),
    (STEP, "  take A", "take", "'take' is half of 'take out'", "write 'take out …'"),
    # commas
    (STEP, "  add A through prev A prev prev A", "A prev",
     "there is no comma between 'A' and 'prev'", "write 'A, prev …'"),
    (STEP, "  add A B through prev A", "A B", "there is no comma between 'A' and 'B'",
     "if both are rings, write 'A, B'"),
    (STEP, "  add A through prev A,", ",", "the line ends with a comma",
     "name what comes after it, or take the comma out"),
    (STEP, "  add A through prev A,, B", ",", "there are two commas in a row",
     "take it out; a comma parts two names of a list"),
    (STEP, "  add A through, prev A", ",", "there is a comma in the wrong place",
     "take it out; a comma parts two names of a list"),
    (STEP, "  add A through prev A, picks 1", "picks",
     "there is a comma before 'picks', so it reads as the name of a ring",
     "take the comma out: '… picks …'"),
    (STEP, "  add A, through prev A", "through",
     "there is a comma before 'through', so it reads as the name of a ring",
     "take the comma out: '… through …'"),
    # places found by counting
    (STEP, "  add H through middle A", "middle A",
     "'middle A' is a place that is found by counting",
     "in 'finish:' the A at place 3 of the first row is 'first next next A'; if 'middle' is a ring,"
     " write 'middle, A'"),
    (STEP, "  add H through A2 of row 1", "A2 of row 1",
     "'A2 of row 1' is a place that is found by counting",
     "in 'finish:' the A at place 2 of the first row is 'first next A'"),
    # marks that do not belong there
    (STEP, "  add A through prev A.", ".", "there is a '.' at the end of the line", "take it out"),
    (STEP, "  add A through prev A;", ";", "there is a ';' at the end of the line", "take it out"),
    (STEP, "  add A through (prev A)", "(", "there is a bracket here, '('",
     "take the brackets out; words that are not part of the step go on a 'hint' line"),
    (STEP, "  add A = prev A", "=", "there is a stray '=' here",
     "take it out; a step reads like 'add A through prev A'"),
    (STEP, "  add A: through prev A", ":", "there is a stray ':' here",
     "take it out; a step reads like 'add A through prev A'"),
    (STEP, "  add A through prev A | B", "|", "there is a '|' here",
     "part the names of a list with commas"),
    (STEP, '  add "A" through prev A', '"', "there is a stray '\"' here",
     "take it out; a step reads like 'add A through prev A'"),
    (STEP, "  add “A” through prev A", "“", "there is a curly quotation mark here, “",
     "take it out; a step reads like 'add A through prev A'"),
    (TITLE, "weave “Simple chain”", "“", "there is a curly quotation mark here, “",
     'type a straight one: "'),
    (TITLE, "weave Simple chain", "weave Simple chain",
     "the title stands between straight quotation marks", 'write: weave "Simple chain"'),
    (TITLE, 'weave "Simple" chain', 'weave "Simple" chain',
     "the title stands between straight quotation marks", 'write: weave "Simple chain"'),
    # 'and'
    (STEP, "  add A through prev A and prev prev A", "and", "the list uses 'and'",
     "write a comma instead: 'prev A, prev prev A'"),
    (STEP, "  add A through prev A & prev prev A", "&", "the list uses '&'",
     "write a comma instead: 'prev A, prev prev A'"),
    # pasted from a hand-out
    (STEP, "  1. add A through prev A", "1.", "the line begins with a number of its own, '1.'",
     "take '1.' off; steps are numbered for you"),
    (STEP, "  2) add A through prev A", "2)", "the line begins with a number of its own, '2)'",
     "take '2)' off; steps are numbered for you"),
    (STEP, "  3 add A through prev A", "3", "the line begins with a number of its own, '3'",
     "take '3' off; steps are numbered for you"),
    (STEP, "  Step 2: add A through prev A", "Step 2:", "the line begins with 'Step 2:'",
     "take 'Step 2:' off; steps are numbered for you"),
    (STEP, "  - add A through prev A", "-", "the line begins with a list mark, '-'",
     "take '-' off; a step begins with its verb"),
    (STEP, "  • add A through prev A", "•", "the line begins with a list mark, '•'",
     "take '•' off; a step begins with its verb"),
    # numbers and sizes
    (RING, "  all  wire 1.2 mm, inside 5 mm, copper, Color dark red", "Color dark red",
     "'Color' would be read as a metal; the word is 'colour'", "write 'colour dark red'"),
    (RING, "  all  wire 1.2 mm, mandrel 5 mm, tin", "mandrel",
     "'mandrel' is not a word of the language here",
     "write 'all  wire 1.2 mm, inside 5 mm, tin'"),
    (RING, "  all 1.2x5 tin", "1.2", "nothing says whether '1.2' is the wire or the opening",
     "write 'all  wire 1.2 mm, inside 5 mm, tin'"),
    (RING, "  all  wire 1,2 mm, inside 5 mm, copper", "1,2", "'1,2' has a decimal comma",
     "write it with a point: '1.2'"),
    (RING, '  all  wire 1.2 mm, inside 5/16", copper', '5/16"', "'5/16\"' uses a mark for inches",
     "write '5/16 in'"),
    (RING, "  all  wire 1.2 mm, inside 0.25'', copper", "0.25''",
     "'0.25''' uses a mark for inches", "write '0.25 in'"),
    (RING, "  all  wire 18 gauge, inside 5 mm", "18 gauge", "'18 gauge' does not say which gauge",
     "write '18 awg' (1.02 mm) or '18 swg' (1.22 mm)"),
    (RING, "  all  wire 1/0 mm, inside 5 mm", "1/0 mm", "the size '1/0 mm' is not a length",
     "write it as in '1.2 mm'"),
    (STEP, "  add 99999999999999 A through prev A", "99999999999999",
     "the number 999999… has 14 digits", "write a number of at most 12 digits"),
    (STEP, "  add A through prev A picks 1 picks 1", "picks 1", "this step says 'picks' twice",
     "keep one of the two, or make two steps of it"),
    (STEP, "  add A through prev 2 A", "prev 2 A", "'prev 2 A' could mean two things",
     "for the unit two before, write 'prev prev A'"),
    # words of the language as names
    (STEP, "  add row through prev A", "row",
     "'row' is a word of the language, so no ring can be called that",
     "write the ring's name here, or choose another name for it"),
    (STEP, "  add A through prev through", "through",
     "'through' is a word of the language, so no ring can be called that",
     "write the ring's name here, or choose another name for it"),
    (STEP, "  add Row through prev A", "Row",
     "'Row' is a word of the language, so no ring can be called that",
     "write the ring's name here, or choose another name for it"),
    # headings
    (HEADING, "unit", "unit", "'unit' reads like a heading without its colon", "write 'unit:'"),
    (HEADING, "Unit", "Unit", "'Unit' reads like a heading without its colon", "write 'Unit:'"),
    (HEADING, "unit 1", "unit 1", "'unit 1' reads like a heading without its colon",
     "write 'unit 1:'"),
    (HEADING, "untis:", "untis:", "there is no section 'untis'", "the nearest heading is 'unit:'"),
    (HEADING, "units:", "units:", "there is no section 'units'", "the nearest heading is 'unit:'"),
    (HEADING, "unit one two:", "unit one two:", "'unit one two' is not how a unit block is headed",
     "write 'unit:', 'unit 1:' or 'unit' and one name"),
    (HEADING, "unit: add A through prev A", "unit: add A through prev A",
     "a heading stands alone on its line", "write 'unit:' and put the rest on the next line"),
    (2, "ring:", "ring:", "there is no section 'ring'", "the nearest heading is 'rings:'"),
    (4, "expects:", "expects:", "there is no section 'expects'",
     "the nearest heading is 'expect:'"),
    (10, "piece", "piece", "'piece' reads like a heading without its colon", "write 'piece:'"),
    # piece
    (PIECE, "  chain 30 units\n  chain 31 units", "chain 31 units",
     "the piece is already said to be a chain on line 11", "keep one of the two lines"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("number", "line", "text", "message", "help"), CASES, ids=[f"{c[0]}: {c[1]}" for c in CASES]
)
def test_the_line_is_told_exactly(
    number: int, line: str, text: str, message: str, help: str
) -> None:
    recipe = changed(number, line)
    found = only(recipe)
    assert (found.message, underlined(recipe, found)) == (message, text)
    assert found.help[0] == help
    assert found.span.line == number + line.count("\n")
    rule = "ring-not-there" if "two things" in message else "unread-line"
    assert found.rule.name == rule


def test_columns_count_from_one_and_end_after_the_last_character() -> None:
    found = only(changed(STEP, "  add A throuhg prev A"))
    assert (found.span.line, found.span.column, found.span.end) == (9, 9, 16)
    assert underlined(changed(STEP, "  add A throuhg prev A"), found) == "throuhg"


@pytest.mark.parametrize(
    "line",
    [
        "  add A through prev A picks",
        "  add A through prev A picks two",
        "  add A through prev A lay",
        "  add A through prev A skip",
        "  add A through prev A if",
        "  add A through",
        "  add A through prev prev",
        "  add A through prev A around",
        "  add",
        "  hold",
        "  take out",
    ],
)
def test_a_line_that_stops_underlines_its_last_word(line: str) -> None:
    recipe = changed(STEP, line)
    found = only(recipe)
    assert found.rule.name == "unread-line"
    assert underlined(recipe, found) == line.split()[-1]


def test_two_broken_lines_give_two_messages() -> None:
    text = changed(STEP, "  3. add A through prev A\n  add B throuhg A")
    assert [(f.span.line, f.message) for f in findings(text)] == [
        (9, "the line begins with a number of its own, '3.'"),
        (10, "'throuhg' is not a word of the language here"),
    ]


def test_every_broken_line_gives_one_message_and_no_consequence() -> None:
    """A hand-out pasted in: nothing is said but what is wrong with each line."""
    text = """\
weave “Simple chain”
rings:
  all  wire 1,2 mm, inside 5 mm, copper
expect:
  A meet 2
start
  close A.
unit:
  1. add A through prev A
piece:
  chian 30 units
"""
    assert [(f.rule.name, f.span.line) for f in findings(text)] == [
        ("unread-line", n) for n in (1, 3, 5, 6, 7, 9, 11)
    ]


# -- sections ------------------------------


def test_a_recipe_without_piece() -> None:
    text = SIMPLE.replace("piece:\n  chain 30 units\n", "")
    found = only(text)
    assert found.message == (
        "the recipe has no 'piece:' section, so nothing says how often the unit repeats"
    )
    assert found.span.line == 9, "at the last line that is written"
    assert found.help == ("add at the end:", "piece:", "  chain 24 units")


def test_a_recipe_without_rings() -> None:
    text = SIMPLE.replace("rings:\n  all  wire 1.2 mm, inside 5 mm, copper\n", "")
    found = only(text)
    assert (found.span.line, found.message) == (1, "the recipe has no 'rings:' section")


def test_a_recipe_without_expect_is_a_warning() -> None:
    text = SIMPLE.replace("expect:\n  A meets 2\n", "")
    found = only(text)
    assert (found.rule.name, found.severity) == ("nothing-promised", "warning")


@pytest.mark.parametrize("text", ["", "\n\n", "# a comment only\n", 'weave "Nothing"\n'])
def test_a_recipe_without_steps(text: str) -> None:
    assert "the recipe has no steps" in [f.message for f in findings(text)]


def test_an_empty_section() -> None:
    text = SIMPLE.replace("  close A\n", "")
    assert [(f.span.line, f.message) for f in findings(text)] == [
        (6, "the section 'start:' is empty")
    ]


def test_a_section_written_twice() -> None:
    text = SIMPLE.replace("piece:", "unit:\n  add B through A\npiece:")
    found = [f for f in findings(text) if f.rule.name == "unread-line"]
    assert [(f.span.line, f.message) for f in found] == [
        (10, "there are two 'unit:' sections (the first is on line 8)")
    ]


def test_a_hint_before_any_step() -> None:
    found = only(SIMPLE.replace("start:\n", "start:\n  hint hold it flat\n"))
    assert (found.span.line, found.message) == (7, "this hint stands before any step")


def test_units_are_counted_from_one() -> None:
    """A block 'unit 0:' has no place in the piece, so its steps would never be looked at."""
    found = findings(changed(HEADING, "unit 0:"))
    assert [f.span.line for f in found if f.severity == "error"] == [8]


def test_an_aspect_ratio_the_wrong_way_round() -> None:
    found = findings(changed(PROMISE, "  A meets 2\n  AR 5 to 4"))
    assert [f.span.line for f in found] == [6]


def test_a_unit_cannot_be_called_by_a_word_of_the_language() -> None:
    found = findings(changed(HEADING, "unit row:"))
    assert [f.span.line for f in found] == [8]


def test_no_rings_placed_by_a_step() -> None:
    found = only(changed(STEP, "  add 0 A through prev A"))
    assert underlined(changed(STEP, "  add 0 A through prev A"), found) == "0 A"
    assert "0 rings" in found.message


# -- names and letters ------------------------------


@pytest.mark.parametrize(
    "name",
    [
        "kern",
        "äußere",
        "звено",
        "κρίκος",
        "環",
        "輪っか",
        "حلقة",
        "हार",  # a vowel sign that is a combining mark
        "a\u0301cute",  # a letter and a combining acute
        "n\u0303",
        "A'",
        "mid-pair",
        "x_1y",
        "🜚",
    ],
)
def test_a_name_in_any_script(name: str) -> None:
    text = re.sub(r"\bA\b", name, SIMPLE)
    assert [f.message for f in findings(text)] == []
    assert list(view(text).weave.names) == [name]


def test_columns_after_combining_marks_count_characters() -> None:
    name = "ha\u0304r"
    recipe = re.sub(r"\bA\b", name, SIMPLE)
    recipe = recipe.replace(f"  add {name} through", f"  add {name} throuhg")
    found = only(recipe)
    assert underlined(recipe, found) == "throuhg"


def test_names_keep_their_case_and_words_of_the_language_do_not() -> None:
    text = changed(STEP, "  ADD a Through PREV A")
    assert any(f.severity == "error" for f in findings(text)), "a and A are two roles"
    assert findings(changed(STEP, "  ADD A Through PREV A")) == ()


def test_a_name_and_its_number_may_stand_apart() -> None:
    steps = "add core 1 through prev core 1, prev core2\n  add core2 through prev core"
    text = SIMPLE.replace("close A", "close 2 core").replace("add A through prev A", steps)
    assert [f.message for f in findings(text.replace("A meets 2", "core meets 4"))] == []


# -- marks of other scripts ------------------------------


@pytest.mark.parametrize(
    ("line", "other"),
    [
        ("unit:", "unit："),
        ("  add A through prev A, prev prev A if there lay front", None),
        ("  chain 190 mm\n  sample 10 units = 41 mm", None),
    ],
)
def test_full_width_marks_mean_the_same(line: str, other: str | None) -> None:
    wide = other or line.translate(str.maketrans({",": "，", "=": "＝", ":": "：", " ": "\u3000"}))
    number = {"u": HEADING, "a": STEP, "c": PIECE}[line.strip()[0]]
    promised = "meets 4" if "," in line else "meets 2"
    plain = findings(changed(number, line).replace("meets 2", promised))
    full = findings(changed(number, wide).replace("meets 2", promised))
    assert plain == full == ()


@pytest.mark.parametrize("comma", ["，", "、", "،"])
def test_commas_of_other_scripts(comma: str) -> None:
    line = f"  add A through prev A{comma}prev prev A if there lay front"
    text = changed(STEP, line).replace("meets 2", "meets 4")
    assert findings(text) == ()


def test_a_full_width_comment_mark() -> None:
    assert findings(changed(STEP, "  add A through prev A ＃ 注")) == ()


# -- bytes ------------------------------


def told(data: bytes) -> list[str]:
    """The messages for the bytes of a file."""
    return [f.message for f in findings_of(view_of(source_from_bytes(data, "x.weave")))]


@pytest.mark.parametrize(
    "data",
    [
        SIMPLE.encode(),
        b"\xef\xbb\xbf" + SIMPLE.encode(),
        SIMPLE.replace("\n", "\r\n").encode(),
        SIMPLE.replace("\n", "\r").encode(),
        SIMPLE.replace("  ", "\t").encode(),
        SIMPLE.rstrip("\n").encode(),
        SIMPLE.encode("utf-16"),
        b"\xfe\xff" + SIMPLE.encode("utf-16-be"),
        SIMPLE.replace(" ", "\u00a0").encode(),
    ],
    ids=["utf-8", "mark", "crlf", "cr", "tabs", "no last line end", "utf-16", "utf-16 be", "nbsp"],
)
def test_the_same_recipe_in_other_bytes(data: bytes) -> None:
    assert told(data) == []


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_numbers_do_not_depend_on_line_ends(end: str) -> None:
    text = changed(STEP, "\tadd A throuhg prev A").replace("\n", end)
    found = only(text)
    assert (found.span.line, found.span.column, found.span.end) == (9, 8, 15)


def test_a_byte_order_mark_does_not_shift_the_first_column() -> None:
    source = source_from_bytes(b'\xef\xbb\xbfwave "X"\n', "x.weave")
    first = findings_of(view_of(source))[0]
    assert (first.span.line, first.span.column, first.span.end) == (1, 1, 5)


def test_bytes_that_are_not_utf_8() -> None:
    data = SIMPLE.encode().replace(b"copper", b"k\xf6pper")
    with pytest.raises(Unreadable) as fault:
        source_from_bytes(data, "x.weave")
    assert str(fault.value) == (
        "x.weave, line 3: these bytes are not UTF-8 text."
        " Save the file as UTF-8 plain text and try again."
    )


def test_a_zero_byte() -> None:
    with pytest.raises(Unreadable) as fault:
        source_from_bytes(SIMPLE.encode().replace(b"piece", b"pie\0e"), "x.weave")
    assert str(fault.value) == (
        "x.weave, line 10: there is a zero byte, so this is not a plain-text recipe;"
        " save it as UTF-8 plain text."
    )


def test_half_a_utf_16_file() -> None:
    with pytest.raises(Unreadable, match=r"x\.weave"):
        source_from_bytes(SIMPLE.encode("utf-16")[:-1], "x.weave")


def test_a_line_without_line_end_of_many_characters() -> None:
    found = only(changed(STEP, "  add A through " + ", ".join(["prev A"] * 60)))
    assert found.span.line == STEP


def test_a_source_keeps_the_text_as_written() -> None:
    source = source_from_text("unit：\r\n\tadd Ａ # x\r")
    assert source.lines == ("unit：", "\tadd Ａ # x", "")
    assert source.plain == ("unit:", " add Ａ ", "")


def test_a_promise_of_so_many_rings() -> None:
    (found,) = findings(SIMPLE.replace("A meets 2", "A meets 2 rings"))
    assert found.message == "a promise counts rings without 'rings'"
    assert found.help == ("write 'A meets 2'",)


def test_back_and_forth_alone() -> None:
    found = findings(EUROPEAN.rstrip() + "\n  worked back and forth\n")
    assert [f.help for f in found] == [("write 'rows back and forth'",)]


def test_a_hint_under_a_step_that_could_not_be_read_is_no_second_fault() -> None:
    (found,) = findings(SIMPLE.replace("close A", "clsoe A\n    hint hold it"))
    assert found.message == "no step begins with 'clsoe'"


def test_a_word_is_never_read_in_part() -> None:
    """'and' is not 'a' and 'nd', and 'rings' before it is right."""
    text = SIMPLE.replace("A meets 2", "6 rings and unit")
    (found,) = findings(text)
    assert (underlined(text, found), found.message) == ("and", "'and' does not fit here")
