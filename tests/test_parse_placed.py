"""What the reader keeps of a recipe beside its steps, and where each line stands."""

from __future__ import annotations

import pytest
from helpers import read

from ringstep.language.parse import Stands, standing
from ringstep.language.source import source_from_text

CHAIN = """\
weave "It"
rings:
  all  wire 1 mm, inside 5 mm
start:
  close A
unit:
  add A through prev A
piece:
  chain 9 units
"""
PIECES = """\
weave "It"
rings:
  all  wire 1 mm, inside 5 mm
piece panel:
  sheet 3 rows of 3 units
first row:
  close A
row:
  add A through above A
shape:
  row 2  1 less
piece strip:
  chain 4 units
unit:
  add B through prev B if there
join:
  add J through panel 1 last A, strip 1 first B
"""


@pytest.mark.parametrize(
    ("old", "new", "line", "sections"),
    [
        ('weave "It"', 'waeve "It"', 1, {""}),
        ("close A", "clsoe A", 5, {"start"}),
        ("chain 9", "chian 9", 9, {"piece"}),
        ("inside 5 mm", "inside 5 mm\nsizes:\n  m  A wire 1 mm, insde 5 mm", 5, {"sizes"}),
        ("start:", "strat:", 4, {"?"}),
        # read, and then refused
        ("close A", "close lay, row", 5, {"start"}),
        ("close A", "close A through lay, row, skip", 5, {"start"}),
    ],
)
def test_a_section_with_a_line_that_is_not_read_is_named(
    old: str, new: str, line: int, sections: set[str]
) -> None:
    """One line, one message, and nothing of it is kept."""
    tree, troubles = read(CHAIN.replace(old, new))
    assert [t.span.line for t in troubles] == [line]
    assert tree.unread - {"unit"} == sections
    if "start" in sections:
        assert [s.number for b in tree.blocks for s in b.steps] == [2]


def test_every_line_knows_where_it_stands() -> None:
    text = (
        CHAIN.replace("unit:", "\nuntis:").replace("piece:", "piece.  ") + "notes:\n  about it:\n"
    )
    stands = standing(source_from_text(text))
    assert stands == {
        1: Stands("", False),
        2: Stands("rings", True),
        3: Stands("rings", False),
        4: Stands("start", True),
        5: Stands("start", False),
        7: Stands("?", True),
        8: Stands("?", False),
        9: Stands("piece", True),
        10: Stands("piece", False),
        11: Stands("notes", True),
        12: Stands("notes", False),
    }
    rules = ["title", "heading", "ring_kind", "heading", "step", "heading", "step", "heading"]
    assert [s.rule for s in stands.values()] == [*rules, "piece_line", "heading", "notes"]


def test_blanks_and_comments_do_not_count() -> None:
    text = CHAIN.replace("unit:", "\n\nunit:   # what repeats").replace("start:", "  start:  ")
    tree, troubles = read(text)
    assert not troubles
    assert [b.kind for b in tree.blocks] == ["start", "unit"]


def test_a_hint_that_ends_with_a_colon_is_no_heading() -> None:
    tree, troubles = read(CHAIN.replace("close A", "close A\n    hint it goes like this:"))
    assert not troubles
    assert tree.blocks[0].steps[0].hint == "it goes like this:"


def test_a_heading_may_stand_deeper() -> None:
    sizes = "  sizes:\n    small  all  wire 0.8 mm, inside 4 mm\n"
    tree, troubles = read(CHAIN.replace("start:", f"{sizes}start:"))
    assert not troubles
    assert [line.size for line in tree.sizes] == ["small"]
    notes, troubles = read(CHAIN.replace("rings:", "notes:\n  source mine\n  rings:"))
    assert not troubles
    assert len(notes.rings) == len(notes.notes) == 1


def test_a_letter_of_a_set_is_not_taken_out_of_its_line() -> None:
    """The set is called 'm', as each size has it in its 'mm'."""
    text = CHAIN.replace("start:", "sizes:\n  m  all  wire 1 mm, insde 4 mm\nstart:")
    (trouble,) = read(text)[1]
    assert (trouble.message, trouble.span.line) == (
        "'insde' is not a word of the language here",
        5,
    )
    assert (trouble.span.column, trouble.span.end) == (22, 27)


def test_a_picture_has_its_rings_its_key_and_its_rows() -> None:
    tree, troubles = read(CHAIN + "picture of A, Bo:\n  r = red\n  g = grey\n  rrg\n  2 g, 1 r\n")
    assert not troubles
    picture = tree.picture
    assert picture is not None
    assert [r.value for r in picture.roles] == ["A", "Bo"]
    assert [(r.span.line, r.span.column, r.span.end) for r in picture.roles] == [
        (10, 12, 13),
        (10, 15, 17),
    ]
    assert (picture.span.line, picture.span.column, picture.span.end) == (10, 1, 18)
    assert [(key.letter, key.colour) for key in picture.key] == [("r", "red"), ("g", "grey")]
    assert [row.span.line for row in picture.rows] == [13, 14]
    assert picture.rows[1].runs == ((2, "g"), (1, "r"))


def test_notes_and_samples_are_kept_with_their_places() -> None:
    text = (
        CHAIN
        + "  sample 10 units = 41 mm\n  sample 5 units = 20 mm\nnotes:\n  Source mine\n  about\n"
    )
    tree, troubles = read(text)
    assert not troubles
    assert [(n.topic, n.text, n.span.line, n.span.column, n.span.end) for n in tree.notes] == [
        ("source", "mine", 13, 3, 14),
        ("about", "", 14, 3, 8),
    ]
    assert tree.piece is not None
    assert [s.units for s in tree.piece.samples] == [10, 5]


def test_each_piece_has_its_own_shape_and_sections() -> None:
    tree, troubles = read(PIECES)
    assert not troubles
    panel, strip = (made.tree for made in tree.made)
    assert [line.span.line for line in panel.shape] == [11]
    assert strip.shape == tree.shape == ()
    assert "shape" in panel.headings
    assert not {"shape", "join"} & strip.headings
    assert {"rings", "piece"} <= strip.headings


def test_steps_are_counted_on_behind_a_piece_that_has_none() -> None:
    empty = PIECES.replace("  close A\n", "").replace("  add A through above A\n", "")
    tree, _ = read(empty)
    assert [[s.number for b in made.tree.blocks for s in b.steps] for made in tree.made] == [
        [],
        [1],
    ]
    assert [s.number for b in tree.blocks for s in b.steps] == [2]


@pytest.mark.parametrize(
    ("section", "line", "message"),
    [
        ("shape", "row 2  1 fewer les", "this line of 'shape:' cannot be read"),
        ("picture", "1 = red", "'1' is no letter, and the key has a letter for each colour"),
    ],
)
def test_shapes_and_pictures_have_words_of_their_own(section: str, line: str, message: str) -> None:
    text = f"{CHAIN}{section}:\n  {line}\n"
    (trouble,) = read(text)[1]
    assert trouble.span.line == 11
    assert (trouble.message, trouble.span.column) == (message, 3)
    assert trouble.span.end == 3 + len(line)
