"""Sections, headings, hints and pieces: what the reader says of each, and where."""

from __future__ import annotations

import pytest
from helpers import read
from small_recipes import recipe
from told_lines import said_of

#: (recipe with '/' for each new line; for each that is told its line, what is underlined, what is
#: said and what to type). The two lines of 'rings:' stand before, so that the first line is 4.
TOLD: list[tuple[str, list[tuple[int, str, str, str]]]] = [
    # labels of blocks
    ("expect:/A meets 2/start:/close A/unit 0:/add A through prev A/piece:/chain 9 units",
     [(8, "unit 0:", "units are counted from 1", "write 'unit 1:'")]),
    ("start:/close A/unit row:/add A through prev A/piece:/chain 9 units",
     [(6, "unit row:", "'row' is a word of the language, so no unit can be called that",
       "choose another name for it")]),
    ("start:/close A/unit Lay:/add A through prev A/piece:/chain 9 units",
     [(6, "unit Lay:", "'Lay' is a word of the language, so no unit can be called that",
       "choose another name for it")]),
    # sections written twice
    ("rings:/A  wire 1 mm, inside 4 mm/start:/close A/unit:/add A through prev A/piece:/chain"
     " 9 units",
     [(4, "rings:", "there are two 'rings:' sections", "make one of them")]),
    ("parts:/parts:/start:/close A/unit:/add A through prev A/piece:/chain 9 units",
     [(5, "parts:", "there are two 'parts:' sections", "make one of them")]),
    ("start:/close A/unit:/add A through prev A/start:/close B/piece:/chain 9 units",
     [(8, "start:", "there are two 'start:' sections (the first is on line 4)",
       "make one of them")]),
    ("start:/close A/unit 1:/add A through prev A/unit 2:/add A through prev A/unit 1:/add A"
     " through prev A/piece:/chain 9 units",
     [(10, "unit 1:", "there are two 'unit 1:' sections (the first is on line 6)",
       "make one of them")]),
    ("start:/close A/unit 1:/add A through prev A/unit 01:/add A through prev A/piece:/chain 9"
     " units",
     [(8, "unit 01:", "there are two 'unit 01:' sections (the first is on line 6)",
       "make one of them")]),
    ("first row:/close A/row a:/add A through above A/row b:/add A through above A/row"
     " a:/tighten A/piece:/sheet 3 rows of 3 units",
     [(10, "row a:", "there are two 'row a:' sections (the first is on line 6)",
       "make one of them")]),
    ("first row:/close A/row:/add A through above A/piece:/sheet 3 rows of 3 units/picture:/g"
     " = grey/ggg/ggg/ggg/picture:/ggg",
     [(15, "picture:", "there are two 'picture:' sections", "make one of them")]),
    ("start:/close A/unit:/add A through prev A/piece:/chain 9 units/notes:/source"
     " mine/notes:/source mine",
     [(12, "notes:", "there are two 'notes:' sections", "make one of them")]),
    # hints
    ("start:/hint hold it/close A/unit:/add A through prev A/piece:/chain 9 units",
     [(5, "hint hold it", "this hint stands before any step",
       "move it under the step it belongs to")]),
    ("start:/close A/unit:/hint: hold it/add A through prev A/piece:/chain 9 units",
     [(7, "hint: hold it", "this hint stands before any step",
       "move it under the step it belongs to")]),
    ("start:/clsoe A/hint hold it/unit:/add A through prev A/piece:/chain 9 units",
     [(5, "clsoe", "no step begins with 'clsoe'", "the nearest word is 'close'")]),
    ("start:/close A/hint one/clsoe B/hint hold it/hint two/unit:/add A through prev"
     " A/piece:/chain 9 units",
     [(7, "clsoe", "no step begins with 'clsoe'", "the nearest word is 'close'")]),
    ("start:/close A/unit:/add A through prev A/hint one/hint two/piece:/chain 9 units",
     []),
    # the shape of a sheet
    ("first row:/close A/row:/add A through above A/piece:/sheet 3 rows of 3 units/row 2  1"
     " less",
     [(10, "row 2  1 less",
       "this line says the shape of a sheet, which has a section of its own",
       "write a line 'shape:' above it")]),
    ("first row:/close A/row:/add A through above A/piece:/sheet 3 rows of 3 units/row 2  1"
     " less/shape:/row 3  1 less",
     [(10, "row 2  1 less",
       "this line says the shape of a sheet, which has a section of its own",
       "move it under 'shape:'")]),
    ("first row:/close A/row:/add A through above A/piece:/sheet 3 rows of 3 units/row 2  1"
     " less/shape",
     [(10, "row 2  1 less",
       "this line says the shape of a sheet, which has a section of its own",
       "move it under 'shape:'"),
      (11, "shape", "'shape' reads like a heading without its colon", "write 'shape:'")]),
    # the order of turns
    ("start:/close A/unit a:/add A through prev A/unit b:/add A through prev A/piece:/chain of"
     " 9 a, 2 b/order a, b",
     [(12, "a, b", "the turns are already said on line 11", "take the line of 'order' out")]),
    ("start:/close A/unit:/add A through prev A/piece:/strands left 9 units, right 2"
     " units/order left, right",
     [(10, "left, right", "the strands are already said on line 9",
       "take the line of 'order' out")]),
    ("start:/close A/unit a:/add A through prev A/unit b:/add A through prev A/piece:/chain of"
     " 9 a, 2 b",
     []),
    # a chain of no named unit
    ("start:/close A/unit:/add A through prev A/piece:/chain of 9 byz",
     [(9, "chain of 9 byz", "no unit of this recipe is called 'byz'",
       "write 'chain 9 units',\nor give the heading 'unit:' that name: 'unit byz:'")]),
    ("start:/close A/unit:/add A through prev A/piece:/loop of 1 byz",
     [(9, "loop of 1 byz", "no unit of this recipe is called 'byz'",
       "write 'loop 1 unit',\nor give the heading 'unit:' that name: 'unit byz:'")]),
    ("start:/close A/unit:/add A through prev A/piece:/chain 19 cm of byz",
     [(9, "chain 19 cm of byz", "no unit of this recipe is called 'byz'",
       "write 'chain 19 cm',\nor give the heading 'unit:' that name: 'unit byz:'")]),
    ("start:/close A/unit:/add A through prev A/piece:/chain of 12 units",
     [(9, "chain of 12 units",
       "'of' stands before names of units, as in 'chain of 12 plain, 1 star, 12 plain'",
       "write 'chain 12 units'")]),
    ("start:/close A/unit:/add A through prev A/piece:/chain of units",
     [(9, "chain of units", "nothing says how long the chain is",
       "write how long it is: 'chain 24 units' or 'chain 190 mm'")]),
    # pieces that are made first
    ("piece panel:/chain 9 units/made 2 times/start:/close A/unit:/add A through prev"
     " A/join:/add J through panel 1 last A, panel 2 first A picks 2",
     []),
    ("piece Lay:/chain 9 units/made 2 times/start:/close A/unit:/add A through prev"
     " A/join:/add J through Lay 1 last A, Lay 2 first A picks 2",
     [(4, "Lay", "'Lay' is a word of the language, so no piece can be called that",
       "choose another name for it")]),
    ("piece a:/chain 9 units/start:/close A/unit:/add A through prev A/piece a:/chain 9"
     " units/start:/close A/unit:/add A through prev A/join:/add J through a 1 last A, a 2"
     " first A picks 2",
     [(10, "a", "two pieces are called 'a' (the first on line 4)",
       "give each a name of its own; 'made 2 times' makes two alike")]),
    ("start:/close A/piece panel:/chain 9 units/made 2 times/unit:/add A through prev"
     " A/join:/add J through panel 1 last A, panel 2 first A picks 2",
     [(4, "start:", "this recipe is of pieces made first, and 'start:' stands in none of them",
       "move it under 'piece panel:'")]),
    ("piece panel:/chain 9 units/made 2 times/start:/close A/unit:/add A through prev"
     " A/join:/add J through panel 1 last A, panel 2 first A picks 2/finish:/tighten A",
     [(13, "finish:",
       "this recipe is of pieces made first, and 'finish:' stands in none of them",
       "move it under 'piece panel:'")]),
    ("piece:/chain 9 units/piece panel:/chain 9 units/made 2 times/start:/close A/unit:/add A"
     " through prev A/join:/add J through panel 1 last A, panel 2 first A picks 2",
     [(4, "piece:", "this recipe is of pieces made first, and 'piece:' stands in none of them",
       "write 'piece panel:' in its place")]),
    ("shape:/row 2  1 less/piece panel:/sheet 3 rows of 3 units/made 2 times/first row:/close"
     " A/row:/add A through above A/join:/add J through panel 1 last A, panel 2 first A picks"
     " 2",
     [(4, "shape:", "this recipe is of pieces made first, and 'shape:' stands in none of them",
       "move it under 'piece panel:'")]),
    ("piece panel:/chain 9 units/made twice/start:/close A/unit:/add A through prev"
     " A/join:/add J through panel 1 last A, panel 2 first A picks 2",
     []),
    ("piece panel:/chain 9 units/2 times/start:/close A/unit:/add A through prev A/join:/add J"
     " through panel 1 last A, panel 2 first A picks 2",
     [(6, "2 times", "'2 times' is not how it is said how often a piece is made",
       "write 'made twice'")]),
    ("piece panel:/chain 9 units/make 2 times/start:/close A/unit:/add A through prev"
     " A/join:/add J through panel 1 last A, panel 2 first A picks 2",
     [(6, "make 2 times", "'make 2 times' is not how it is said how often a piece is made",
       "write 'made twice'")]),
    # steps that join them
    ("start:/close A/unit:/add A through prev A/piece:/chain 9 units/join:/add J through panel"
     " 1 last A/add J throuhg A",
     [(10, "join:", "there is nothing to join: no piece that is made first has a name",
       "head each with its name, such as 'piece panel:', its size and its sections below")]),
    ("piece panel:/chain 9 units/made 2 times/start:/close A/unit:/add A through prev"
     " A/join:/add J throuhg panel 1 last A, panel 2 first A picks 2",
     [(12, "throuhg", "'throuhg' is not a word of the language here",
       "the nearest word is 'through'")]),
    ("piece panel:/chain 9 units/made 2 times/start:/close A/unit:/add A through prev A, panel"
     " 1 last A/add A through panel 2 last A/join:/add J through panel 1 last A, panel 2 first"
     " A picks 2",
     [(10, "panel 1", "this step names 'panel 1', and pieces are joined under 'join:'",
       "write it under a line 'join:'")]),
    ("piece panel:/chain 9 units/made 2 times/start:/close A/unit:/add A through prev A/add J"
     " through panel 1 last A/add J through panel 2 last A",
     [(11, "panel 1", "this step names 'panel 1', and pieces are joined under 'join:'",
       "write it under a line 'join:'")]),
    ("piece panel:/chain 9 units/start:/close A/unit:/add A through prev A/piece strip:/chain"
     " 9 units/start:/close A/unit:/add A through prev A/add A through strip 1 last"
     " A/join:/add J through panel 1 last A, strip 1 first A picks 2",
     [(16, "strip 1", "this step names 'strip 1', and pieces are joined under 'join:'",
       "write it under a line 'join:'")]),
    # headings with another mark, or none that is known; rows of letters that spell one
    ("start./close A/unit;/add A through prev A/piece,/chain 9 units",
     [(4, "start.", "'start.' reads like a heading without its colon", "write 'start:'"),
      (6, "unit;", "'unit;' reads like a heading without its colon", "write 'unit:'"),
      (8, "piece,", "'piece,' reads like a heading without its colon", "write 'piece:'")]),
    ("start:/close A/untis:/add A throuhg prev A/close B/piece:/chain 9 units",
     [(6, "untis:", "there is no section 'untis'", "the nearest heading is 'unit:'")]),
    ("first row:/close A/row:/add A through above A/piece:/sheet 1 rows of 3 units/picture:/r"
     " = red/o = ocre/w = white/row",
     []),
    ("first row:/close A/row:/add A through above A/piece:/sheet 1 rows of 3 units/picture:/r"
     " = red/w = white/row",
     [(13, "row", "there are two 'row:' sections (the first is on line 6)", "make one of them"),
      (13, "row", "'row' reads like a heading without its colon", "write 'row:'")]),
]  # fmt: skip


@pytest.mark.parametrize(("body", "wanted"), TOLD)
def test_what_the_reader_says(body: str, wanted: list[tuple[int, str, str, str]]) -> None:
    assert said_of(recipe(body)) == wanted


CHAIN = "start:/close A/unit:/add A through prev A/piece:/"
PIECES = (
    "piece panel:/chain 9 units/made 2 times/start:/close A/unit:/add A through prev A/"
    "piece strip:/chain 4 units/start:/close B/add B through B/unit:/add B through prev B/"
    "join:/add J through panel 1 last A, strip 1 first B/add J through J"
)


@pytest.mark.parametrize(
    ("said", "meant", "units", "mm"),
    [
        ("chain of 9 byz", "chain 9 units", 9, None),
        ("loop of 1 byz", "loop 1 unit", 1, None),
        ("chain of 12 units", "chain 12 units", 12, None),
        ("chain 19 cm of byz", "chain 19 cm", None, 190),
    ],
)
def test_a_chain_of_no_named_unit_is_taken_as_it_is_meant(
    said: str, meant: str, units: int | None, mm: int | None
) -> None:
    """What follows from a wrong size is not told as well, and the line is mended whole."""
    tree, (trouble,) = read(recipe(CHAIN + said))
    (mend,) = trouble.mends
    (edit,) = mend.edits
    assert (edit.line, edit.column, edit.end_column, edit.text) == (9, 3, 3 + len(said), meant)
    assert mend.says == f"write '{meant}'"
    piece = tree.piece
    assert piece is not None
    assert (piece.kind, piece.units, piece.runs) == (said.split()[0], units, ())
    assert (piece.span.line, piece.span.column, piece.span.end) == (9, 3, 3 + len(said))
    assert (piece.length.mm if piece.length else None) == mm


def test_a_chain_that_says_no_number_has_no_piece() -> None:
    tree, (trouble,) = read(recipe(CHAIN + "chain of units"))
    assert trouble.mends == ()
    assert tree.piece is None
    assert "piece" in tree.unread


def test_a_unit_of_its_own_name_is_left_to_the_checks() -> None:
    """There another name may be meant; where none is counted, nothing is known of the length."""
    for body in (CHAIN.replace("unit:", "unit sun:") + "chain of 9 byz", CHAIN + "chain of byz"):
        tree, troubles = read(recipe(body))
        assert not troubles
        assert tree.piece is not None
        assert len(tree.piece.runs) == 1


def test_hints_of_a_step_are_joined() -> None:
    tree, troubles = read(recipe(CHAIN + "chain 9 units/finish:/tighten A/hint one/hint: two"))
    assert not troubles
    assert [s.hint for b in tree.blocks for s in b.steps] == ["", "", "one two"]


def test_a_step_that_cannot_be_read_keeps_its_number() -> None:
    body = "finish:/tighten A/tihgten A/tighten B/start:/clsoe A/close B/unit:/close C"
    tree, _ = read(recipe(body))
    steps = {b.kind: [s.number for s in b.steps] for b in tree.blocks}
    assert steps == {"start": [2], "unit": [3], "finish": [4, 6]}


def test_blocks_are_worked_in_their_order_whatever_that_of_the_text() -> None:
    body = (
        "row end:/tighten A/last row:/add A through above A/shared place:/tighten A/row:/"
        "add A through above A/extra place:/tighten A/again:/tighten A/first row:/close A/"
        "again:/tighten A/shared place:/tighten A/finish:/tighten A/start:/close B"
    )
    tree, _ = read(recipe(body))
    assert [(b.kind, b.label) for b in tree.blocks] == [
        ("start", None),
        ("first row", None),
        ("shared place", "first row"),
        ("again", "first row"),
        ("row", None),
        ("extra place", None),
        ("again", None),
        ("last row", None),
        ("shared place", "last row"),
        ("row end", None),
        ("finish", None),
    ]
    assert [s.number for b in tree.blocks for s in b.steps] == list(range(1, 12))


@pytest.mark.parametrize(
    ("units", "order", "worked"),
    [
        (["2", "1"], "", [1, 2]),
        (["b", "a"], "order a, b", ["a", "b"]),
        (["b", "a"], "", ["b", "a"]),
        (["c", "b", "a"], "order a, b", ["a", "b", "c"]),
    ],
)
def test_units_are_worked_as_the_piece_orders_them(
    units: list[str], order: str, worked: list[int | str]
) -> None:
    body = "".join(f"unit {name}:/close A/" for name in units) + f"piece:/chain 9 units/{order}"
    tree, _ = read(recipe(body.rstrip("/")))
    assert [b.label for b in tree.blocks] == worked
    assert [s.number for b in tree.blocks for s in b.steps] == list(range(1, len(units) + 1))


def test_pieces_have_their_own_steps_counted_on_and_the_joining_ones_last() -> None:
    tree, troubles = read(recipe(PIECES))
    assert not troubles
    assert [(m.name.value, m.times) for m in tree.made] == [("panel", 2), ("strip", 1)]
    each = [[s.number for b in m.tree.blocks for s in b.steps] for m in tree.made]
    assert each == [[1, 2], [3, 4, 5]]
    assert [m.tree.piece.units for m in tree.made if m.tree.piece] == [9, 4]
    assert [(b.kind, [s.number for s in b.steps]) for b in tree.blocks] == [("join", [6, 7])]
    assert tree.piece is None


def test_the_joining_steps_may_stand_first() -> None:
    """They are worked last wherever they stand, and counted so."""
    pieces, joins = PIECES.split("join:")
    tree, troubles = read(recipe(f"join:{joins}/{pieces.rstrip('/')}"))
    assert not troubles
    assert [(b.kind, [s.number for s in b.steps]) for b in tree.blocks] == [("join", [6, 7])]
    assert [[s.number for b in m.tree.blocks for s in b.steps] for m in tree.made] == [
        [1, 2],
        [3, 4, 5],
    ]


def test_a_topic_of_notes_may_be_called_as_a_section_is() -> None:
    """'sizes:' deeper than 'notes:' is a topic; as deep it is the section."""
    text = recipe(CHAIN + "chain 9 units") + "notes:\n  source mine\n"
    topic, troubles = read(text + "  sizes: from 4 mm\n  sizes:\n")
    assert not troubles
    assert [note.topic for note in topic.notes] == ["source", "sizes:", "sizes:"]
    assert topic.sizes == ()
    section, troubles = read(text + "sizes:\n  small  all  wire 1 mm, inside 4 mm\n")
    assert not troubles
    assert [line.size for line in section.sizes] == ["small"]
    assert len(section.notes) == 1


def test_a_range_is_of_a_variant_only_where_no_ring_has_that_name() -> None:
    body = "variants:/zig  lay front/A  lay back/expect:/zig AR 3 to 4, mine/A AR 3 to 5, mine/"
    tree, _ = read(recipe(body + "AR from 3, mine/" + CHAIN + "chain 9 units"))
    found = [(r.variant, r.name and r.name.role) for r in tree.ranges]
    assert found == [("zig", None), (None, "A"), (None, None)]
