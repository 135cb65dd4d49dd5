"""Text to tree: what each line becomes, and where on the page it stands."""

from __future__ import annotations

from fractions import Fraction

import pytest
from helpers import EUROPEAN, PERSIAN_LINKED, RECIPES, SIMPLE, read

from ringstep.language.promised import ByPlace, ByRole, CountOf, InAll
from ringstep.language.source import Source, Span, source_from_text
from ringstep.language.syntax import Name, Ref, Step
from ringstep.language.tree import Tree


def tree(text: str) -> Tree:
    """A recipe without a line that cannot be read."""
    recipe, troubles = read(text)
    assert troubles == ()
    return recipe


def step(line: str) -> Step:
    """One step, in a unit of a recipe."""
    recipe, troubles = read(SIMPLE.replace("  add A through prev A\n", f"  {line}\n"))
    assert troubles == ()
    return recipe.steps()[1]


@pytest.mark.parametrize("word", ["untie", "let", "go", "comes", "folded", "out"])
def test_words_that_begin_a_step_or_end_a_promise_stay_free_as_names(word: str) -> None:
    text = SIMPLE.replace("A meets 2", f"{word} meets 2\n  {word} folded\n  {word} comes out")
    text = text.replace("close A", f"close {word}\n  untie {word}\n  let go {word}")
    recipe, troubles = read(text.replace("add A through prev A", f"add {word} through prev {word}"))
    assert troubles == ()
    assert [m.name.role for m in recipe.meets] == [word]
    assert [p.name.role for p in (*recipe.folded, *recipe.coming_out)] == [word, word]
    assert [names(s.refs) for s in recipe.steps()] == [[], [word], [word], []]


def names(refs: tuple[Ref, ...]) -> list[str]:
    """List items as they are typed."""
    return [str(r) for r in refs]


@pytest.mark.parametrize("name", RECIPES)
def test_every_span_underlines_what_it_stands_for(name: str) -> None:
    recipe = tree(RECIPES[name])

    def under(span: Span) -> str:
        return recipe.source.lines[span.line - 1][span.column - 1 : span.end - 1]

    for one in recipe.steps():
        assert under(one.span).split()[0] == one.kind.split()[0]
        for ref in (*one.through, *one.refs, *one.around, *one.inside):
            assert under(ref.span) == str(ref)
        for item in one.new:
            assert under(item.span).split()[-1] == str(item.name)
        for stated, word in ((one.picks, "picks"), (one.lay, "lay")):
            if stated:
                assert under(stated.span).split()[0] == word
    for kind in recipe.rings:
        assert under(kind.name.span) == str(kind.name)
        assert kind.wire is not None
        assert under(kind.wire.span) == kind.wire.text
    for meets in recipe.meets:
        assert under(meets.span).startswith(f"{meets.name} meets")
    for block in recipe.blocks:
        assert under(block.span) == f"{block}:"


def test_steps_are_numbered_through_the_recipe() -> None:
    assert [s.number for s in tree(PERSIAN_LINKED).steps()] == list(range(1, 11))


def test_a_step_with_everything() -> None:
    one = step("add 2 S through M, prev prev core 1 if there around A picks 4 lay varies")
    assert (one.kind, str(one.new[0].name), one.new[0].count) == ("add", "S", 2)
    assert names(one.through) == ["M", "prev prev core 1 if there"]
    assert one.through[1].places == ("prev", "prev")
    assert (one.through[1].name.role, one.through[1].name.index) == ("core", 1)
    assert one.through[1].if_there
    assert (one.picks and one.picks.number, one.lay and one.lay.value) == (4, "varies")


def test_options_may_stand_in_any_order() -> None:
    one = step("add A lay back picks 1 through prev A")
    assert (names(one.through), one.picks and one.picks.number) == (["prev A"], 1)


@pytest.mark.parametrize(
    ("line", "kind", "refs"),
    [
        ("close 2 A", "close", []),
        ("fold back A, prev A", "fold back", ["A", "prev A"]),
        ("spread prev A", "spread", ["prev A"]),
        ("turn over", "turn over", []),
        ("TURN   over", "turn over", []),
        ("hold last A", "hold", ["last A"]),
        ("tie first A", "tie", ["first A"]),
        ("tighten", "tighten", []),
        ("tighten A", "tighten", ["A"]),
        ("take out prev A", "take out", ["prev A"]),
        ("untie prev A", "untie", ["prev A"]),
        ("Let  Go A", "let go", ["A"]),
        ("reopen A through prev A", "reopen", ["A"]),
    ],
)
def test_kinds_of_steps(line: str, kind: str, refs: list[str]) -> None:
    one = step(line)
    assert (one.kind, names(one.refs)) == (kind, refs)


@pytest.mark.parametrize(
    ("word", "role", "index"),
    [("A", "A", None), ("M12", "M", 12), ("core 3", "core", 3), ("core3", "core", 3),
     ("x1y", "x1y", None), ("環2", "環", 2)],
)  # fmt: skip
def test_a_name_and_its_number(word: str, role: str, index: int | None) -> None:
    name = step(f"add {word} through prev A").new[0].name
    assert (name.role, name.index) == (role, index)


@pytest.mark.parametrize(("role", "index", "shown"), [("M", 1, "M1"), ("core", 2, "core 2")])
def test_a_name_is_shown_so_that_it_can_be_typed(role: str, index: int, shown: str) -> None:
    name = Name(role, index, Span(1, 1, 2))
    assert str(name) == shown
    again = step(f"add {shown} through prev A").new[0].name
    assert (again.role, again.index) == (role, index)


def test_a_hint_belongs_to_the_step_above_and_keeps_its_words() -> None:
    text = SIMPLE.replace(
        "  add A through prev A\n",
        '  add A through prev A\n    HINT turn it, gently; (see "A")\n    hint and again\n',
    )
    assert tree(text).steps()[1].hint == 'turn it, gently; (see "A") and again'


def test_sizes_are_exact() -> None:
    (kind,) = tree(SIMPLE.replace("1.2 mm, inside 5 mm", "3/64 in, inside 0.30 cm")).rings
    assert kind.wire is not None
    assert kind.inside is not None
    assert (kind.wire.number, kind.wire.unit) == (Fraction(3, 64), "in")
    assert (kind.inside.number, kind.inside.unit) == (Fraction(3, 10), "cm")
    assert kind.material == "copper"


def test_a_ring_kind_with_colour_and_two_materials() -> None:
    (kind,) = tree(SIMPLE.replace("copper", "bright aluminium, anodised, colour deep red")).rings
    assert (kind.material, kind.colour) == ("bright aluminium, anodised", "deep red")


def test_promises_of_every_kind() -> None:
    recipe = tree(
        SIMPLE.replace(
            "  A meets 2\n",
            "  A meets 1 A, 6 S\n  S1 meets 4 or 2 A, 1 below prev S\n  A lies around 2 S\n"
            "  4 rings a unit\n  repeats every 2 units\n"
            "  zigzag repeats every 3 units\n  A AR 4 to 5.5, common practice no source\n",
        )
    )
    assert [(str(m.name), m.choices) for m in recipe.meets] == [
        ("A", (ByRole((CountOf(1, "A"), CountOf(6, "S"))),)),
        ("S1", (InAll(4), ByPlace((CountOf(2, "A"), CountOf(1, "S", ("below", "prev")))))),
    ]
    assert [(str(x.name), x.how, x.choices) for x in recipe.lies] == [
        ("A", "around", (ByRole((CountOf(2, "S"),)),))
    ]
    assert [u.count for u in recipe.unit_sizes] == [4]
    assert [(p.variant, p.units) for p in recipe.periods] == [(None, 2), ("zigzag", 3)]
    (span,) = recipe.ranges
    assert (span.low, span.high, span.origin) == (4, Fraction(11, 2), "common practice no source")


def test_pieces_of_every_kind() -> None:
    def piece(*lines: str) -> object:
        recipe = tree(SIMPLE.replace("  chain 30 units\n", "".join(f"  {x}\n" for x in lines)))
        p = recipe.piece
        assert p is not None
        return (p.kind, p.rows, p.units, p.length and p.length.text)

    assert piece("chain 24 units") == ("chain", None, 24, None)
    assert piece("chain 1 unit") == ("chain", None, 1, None)
    assert piece("loop 190 mm", "sample 10 units = 41 mm") == ("loop", None, None, "190 mm")
    assert piece("sheet 8 rows of 12 units") == ("sheet", 8, 12, None)
    assert piece("tube 1 row of 1 unit") == ("tube", 1, 1, None)
    assert tree(EUROPEAN).piece.back_and_forth  # type: ignore[union-attr]


def test_blocks_stand_and_are_numbered_as_they_are_worked() -> None:
    step = "  add A through prev A\n"
    text = f"""\
finish:
  take out first B
unit 3:
  add A through prev A
  add A throgh prev A
{step}unit right:
{step}unit left:
{step}unit 1:
{step}start:
  close A
piece:
  chain 9 units
  order left, right, left
"""
    blocks = read(text)[0].blocks
    assert [(str(b), [s.number for s in b.steps]) for b in blocks] == [
        ("start", [1]), ("unit 1", [2]), ("unit left", [3]), ("unit right", [4]),
        ("unit 3", [5, 7]), ("finish", [8])
    ]  # fmt: skip
    assert [s.span.line for b in blocks for s in b.steps] == [14, 12, 10, 8, 4, 6, 2]


def test_the_second_pass_along_the_first_row_comes_before_the_other_rows() -> None:
    parts = ("row end", "row", "again", "first row", "again", "start")
    blocks = read("".join(f"{p}:\n  add A\n" for p in parts))[0].blocks
    assert [(b.kind, b.label, b.steps[0].number) for b in blocks] == [
        ("start", None, 1), ("first row", None, 2), ("again", "first row", 3),
        ("row", None, 4), ("again", None, 5), ("row end", None, 6)
    ]  # fmt: skip


def test_notes_are_kept_as_written() -> None:
    text = SIMPLE.replace("rings:", "notes:\n  About  a first piece: 24 rings (or so).\nrings:", 1)
    assert [(n.topic, n.text) for n in tree(text).notes] == [
        ("about", "a first piece: 24 rings (or so).")
    ]


def test_a_comment_mark_between_quotes_is_text() -> None:
    recipe = tree(SIMPLE.replace('"Simple chain"', '"Chain # 1"  # the first'))
    assert recipe.title == "Chain # 1"


def test_a_line_that_cannot_be_read_is_left_out_and_counted() -> None:
    recipe, troubles = read(SIMPLE.replace("  close A\n", "  clsoe A\n"))
    assert len(troubles) == 1
    assert [s.number for s in recipe.steps()] == [2]


def test_a_source_has_as_many_plain_lines_as_lines() -> None:
    source: Source = source_from_text("a # b\nc\r\nd\re", "x")
    assert len(source.lines) == len(source.plain) == 4
    assert [len(p) <= len(x) for p, x in zip(source.plain, source.lines, strict=True)] == [True] * 4
