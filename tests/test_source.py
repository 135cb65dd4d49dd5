"""Bytes to lines: encodings, line ends, comments, and marks of other scripts, column for column."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ringstep.language.source import (
    MOST_BYTES,
    Span,
    Unreadable,
    source_from_bytes,
    source_from_text,
)

LETTERS = st.text(st.characters(exclude_characters='\r\n"#\0', exclude_categories=["Cs"]))


def test_line_ends_of_three_kinds_and_mixed() -> None:
    assert source_from_text("a\nb\r\nc\rd\n\re").lines == ("a", "b", "c", "d", "", "e")


@given(st.lists(LETTERS, min_size=1), st.sampled_from(["\n", "\r\n", "\r"]))
def test_lines_are_what_was_between_the_ends(lines: list[str], end: str) -> None:
    source = source_from_text("\ufeff" + end.join(lines))
    assert source.lines == tuple(lines)
    assert [len(p) for p in source.plain] == [len(x) for x in source.lines]


@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0")))
def test_utf_8_and_utf_16_give_the_same_text(text: str) -> None:
    text = text.lstrip("\ufeff\ufffe")
    plain = source_from_bytes(text.encode(), "x")
    marked = source_from_bytes(b"\xef\xbb\xbf" + text.encode(), "x")
    wide = source_from_bytes(text.encode("utf-16"), "x")
    assert plain == marked == wide


@pytest.mark.parametrize(
    ("line", "plain"),
    [
        ("add A # one", "add A "),
        ("# all", ""),
        ('weave "No. # 1" # two', 'weave "No. # 1" '),
        ('weave "open # quote', 'weave "open '),
        ("add A ＃ 注", "add A "),
        ("a\tb\u00a0c\u3000d", "a b c d"),
        ("a：b，c、d،e＝f", "a:b,c,d,e=f"),
    ],
)
def test_comments_and_marks(line: str, plain: str) -> None:
    source = source_from_text(line)
    assert source.plain == (plain,)
    assert source.lines == (line,), "the text itself is kept"


def test_too_many_bytes() -> None:
    assert source_from_bytes((b"#" * 199 + b"\n") * (MOST_BYTES // 200), "x").lines
    with pytest.raises(Unreadable, match=r"x holds 500,001 bytes"):
        source_from_bytes(b"#" * (MOST_BYTES + 1), "x")


@pytest.mark.parametrize(
    ("data", "line"), [(b"\xff", 1), (b"a\nb\n\xc3(", 3), (b"a\rb\r\xc3(", 3), (b"a\r\nb\xe9", 2)]
)
def test_the_line_of_bytes_that_are_not_text(data: bytes, line: int) -> None:
    with pytest.raises(Unreadable, match=f"x, line {line}:"):
        source_from_bytes(data, "x")


def test_a_span_reaches_to_another() -> None:
    assert Span(3, 5, 9).to(Span(3, 12, 20)) == Span(3, 5, 20)
    assert Span(3, 5, 30).to(Span(3, 12, 20)) == Span(3, 5, 30)
