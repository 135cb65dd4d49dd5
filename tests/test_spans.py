"""Where on the page everything stands that a recipe says, in every shipped recipe."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

import pytest
from helpers import read, shipped_texts, view
from small_recipes import recipe

from ringstep.language.findings import TextEdit, changed_lines
from ringstep.language.source import Span
from ringstep.language.syntax import Name, NewItem, PartKind, Ref, RingKind, Size, Stated
from ringstep.language.tree import Made, ShapeLine

TEXTS = shipped_texts()


def parts_of(thing: object) -> Iterator[object]:
    """What a tree holds, and what that holds, down to words and numbers."""
    if isinstance(thing, tuple | list | frozenset):
        for one in thing:
            yield from parts_of(one)
    elif dataclasses.is_dataclass(thing) and not isinstance(thing, Span):
        yield thing
        for field in dataclasses.fields(thing):
            if field.name != "source":
                yield from parts_of(getattr(thing, field.name))


@pytest.mark.parametrize("name", TEXTS)
def test_what_is_said_stands_where_it_is_said_to(name: str) -> None:
    found, troubles = read(TEXTS[name])
    assert troubles == ()
    lines = found.source.lines
    seen = 0
    for part in parts_of(found):
        span = getattr(part, "span", None)
        if span is None:
            # only what is made of other things, each with its own place, has none
            assert "span" not in {f.name for f in dataclasses.fields(part)}  # type: ignore[arg-type]
            continue
        assert isinstance(span, Span)
        under = lines[span.line - 1][span.column - 1 : span.end - 1]
        assert under.strip() == under != "", part
        match part:
            case Name() | Ref():
                assert under == str(part)
            case Size():
                assert under == part.text
            case Stated():
                assert part.value in under
            case NewItem() | RingKind() | PartKind():
                assert str(part.name) in under
        seen += 1
    assert seen > len(lines) / 2


@pytest.mark.parametrize("name", TEXTS)
def test_what_belongs_to_a_line_stands_on_it(name: str) -> None:
    found, _ = read(TEXTS[name])
    for block in (*found.blocks, *(b for made in found.made for b in made.tree.blocks)):
        for step in block.steps:
            assert step.span.line > block.span.line
            own = [p for p in parts_of(step) if getattr(p, "span", None) and p is not step]
            assert own
            assert {p.span.line for p in own} == {step.span.line}  # type: ignore[attr-defined]
            assert all(step.span.column <= p.span.column for p in own)  # type: ignore[attr-defined]
            assert all(p.span.end <= step.span.end for p in own)  # type: ignore[attr-defined]


def test_a_piece_made_first_stands_at_its_heading() -> None:
    found, troubles = read(
        recipe(
            "piece strip:/chain 5 units/made twice/start:/close A/unit:/add A through prev A"
            "/join:/add A through strip 1 last A, strip 2 first A"
        )
    )
    assert troubles == ()
    (made,) = found.made
    assert isinstance(made, Made)
    assert (made.name.value, made.times, made.name.span.line) == ("strip", 2, 4)
    (joining,) = found.blocks
    assert (joining.kind, joining.span) == ("join", Span(11, 1, 6))


PLAIN = "first row:/close A/row:/add A through above A if there/piece:/sheet 6 rows of 9 units"


@pytest.mark.parametrize(
    ("line", "rows", "change", "each", "runs", "count"),
    [
        ("row 2  3 less", (2, 2), -3, False, (), None),
        ("row 2  each 3 more", (2, 2), 3, True, (), None),
        ("rows 2 to 4  each 1 more", (2, 4), 1, True, (), None),
        ("row 3  8 places", (3, 3), None, False, (), 8),
        ("rows 3 to 5  each 1 place", (3, 5), None, True, (), 1),
        ("rows 3 to 5  2 empty, 7 worked", (3, 5), None, False, ((2, False), (7, True)), None),
    ],
)
def test_a_line_of_a_shape(
    line: str,
    rows: tuple[int, int],
    change: int | None,
    each: bool,
    runs: tuple[tuple[int, bool], ...],
    count: int | None,
) -> None:
    found, troubles = read(recipe(f"{PLAIN}/shape:/{line}"))
    assert troubles == ()
    span = Span(11, 3, 3 + len(line))
    assert found.shape == (ShapeLine(rows, span, change, each, runs, count),)


@pytest.mark.parametrize(
    ("line", "under", "message", "help"),
    [
        ("row 0  1 less", "row 0", "rows are counted from 1", ["write 'row 1' for the topmost"]),
        ("rows 4 to 2  each 1 less", "rows 4 to 2", "'rows 4 to 2' goes upwards",
         ["write 'rows 2 to 4'"]),
        ("row 3  0 empty, 9 worked", "row 3  0 empty, 9 worked",
         "'0 empty, 9 worked' has a run of 0 places", ["leave that run out"]),
        ("row 3  0 places", "row 3  0 places", "a round of 0 places is not there",
         ["write how many it has, or make the piece of fewer rows"]),
        ("row 3  0 more", "row 3  0 more", "'0 more' changes nothing",
         ["take the line out: a row that no line names is as wide as the one before it"]),
        ("rows 3 to 4  2 less", "rows 3 to 4  2 less",
         "'rows 3 to 4  2 less' does not say whether each of these rows gets less",
         ["write 'rows 3 to 4  each 2 less',",
          "or 'row 3  2 less' where only that row does and the next stay as wide"]),
    ],
)  # fmt: skip
def test_a_line_of_a_shape_that_cannot_be(
    line: str, under: str, message: str, help: list[str]
) -> None:
    (found,) = view(recipe(f"{PLAIN}/shape:/{line}")).troubles
    assert (found.message, list(found.help)) == (message, help)
    assert found.span == Span(11, 3, 3 + len(under))


def test_no_more_than_twelve_lines_of_a_change_are_shown() -> None:
    lines = tuple(f"line {n}" for n in range(1, 21))
    edits = tuple(TextEdit(n, 1, n, 5, "row") for n in range(2, 10))
    shown = list(changed_lines(lines, edits))
    assert shown == [
        *(("before", n, f"line {n}") for n in range(2, 10)),
        *(("after", n, f"row {n}") for n in range(2, 6)),
    ]
    assert len(list(changed_lines(lines, edits, most=20))) == 16
