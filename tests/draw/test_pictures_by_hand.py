"""How wide words are drawn, where long names are broken, and how large a ring must be for its own.

Widths of letters are those of Helvetica in ems, rounded up: 0.24 for i, j and l, 0.5 for c, k and
others, 0.58 for most, 0.73 for most capitals, 0.84 for m.
"""

from __future__ import annotations

from math import hypot

import pytest

from ringstep.draw.pictures import (
    _break_price,
    _pieces,
    label_lines,
    label_size,
    ring_across,
    text_width,
)


@pytest.mark.parametrize(
    ("text", "ems"),
    [
        ("", 0), ("A1", 0.73 + 0.58), ("link 12", 2 * 0.24 + 0.58 + 0.5 + 0.34 + 2 * 0.58),
        ("m", 0.84), ("W", 1.02), ("…", 1.02), ("L", 0.62), ("Q", 0.78), ("t", 0.34),
        ("環", 1), ("é", 0.58), ("e\u0301", 0.58),
    ],
)  # fmt: skip
def test_words_are_as_wide_as_their_letters(text: str, ems: float) -> None:
    assert text_width(text, 8) == pytest.approx(8 * ems)
    assert text_width(text, 16) == pytest.approx(16 * ems)


def test_type_is_smaller_from_six_letters_on() -> None:
    assert label_size(["tight"]) == 8
    assert label_size(["A", "tights"]) == 7.2
    assert label_size([]) == 8


def test_a_ring_holds_its_name() -> None:
    assert ring_across(("A",)) == 18
    assert ring_across(()) == 18
    # a word of one line: its width and 3 points on both sides
    wide = (0.34 + 0.24 + 0.58 + 0.58 + 0.34) * 8
    assert ring_across(("tight",)) == pytest.approx(wide + 6)
    # three lines: what goes round the box of the words, and 3 points
    wide = (0.5 + 2 * 0.58 + 0.34) * 8
    assert ring_across(("con-", "nec-", "tor")) == pytest.approx(hypot(0.8 * wide, 1.1 * 8 * 3) + 3)


def test_a_word_of_seven_letters_is_whole_and_longer_ones_are_broken() -> None:
    assert _pieces("starter", 3) == ["starter"]
    assert _pieces("starters", 1) == ["starte…"]
    assert _pieces("starters", 2) == ["star-", "ters"]
    # 6 letters and a hyphen, then 7: so many fit two lines, one more does not
    assert _pieces("aaaaaabbbbbbb", 2) == ["aaaaaa-", "bbbbbbb"]
    assert _pieces("aaaaaabbbbbbbb", 2) == ["aaaaaa…", "bbbbbbb"]
    assert label_lines("abcdefghijklmnopqrstu") == ("abcde-", "fghijk…", "opqrstu")
    assert label_lines("side 12") == ("side", "12")
    assert label_lines("one two three four") == ("one", "two", "three")


def test_where_a_long_word_is_broken() -> None:
    """After a hyphen, else before a consonant that begins a syllable; no one or two letters alone,
    and no accent parted from its letter."""
    assert label_lines("left-handed") == ("left-", "handed")
    assert label_lines("connector") == ("con-", "nector")
    assert label_lines("abandoned") == ("aban-", "doned")
    word = "connections"
    assert min(range(4, 7), key=lambda at: _break_price(word, at)) == 6  # connec-tions
    assert _break_price("oooooooooo", 2) > _break_price("oooooooooo", 3)
    assert _break_price("oooooooooo", 8) > _break_price("oooooooooo", 7)
    plain, accent = _break_price("abcdefghij", 5), _break_price("abcde\u0301ghij", 5)
    assert accent > plain
