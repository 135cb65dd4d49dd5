"""Names that look the same: the letters against ICU, and what is said where one is typed."""

from __future__ import annotations

import unicodedata

import pytest
from helpers import SIMPLE, findings

from ringstep.language.lookalikes import look, lookalike

#: Latin letter: the names of Greek and Cyrillic letters with the same skeleton. Read off ICU 72, a
#: reference implementation of Unicode Technical Standard 39 (uspoof_getSkeleton), for the letters
#: U+0370 to U+052F; rare letters of that block are left out.
SKELETONS = {
    "A": ("GREEK CAPITAL LETTER ALPHA", "CYRILLIC CAPITAL LETTER A"),
    "B": ("GREEK CAPITAL LETTER BETA", "CYRILLIC CAPITAL LETTER VE"),
    "C": ("CYRILLIC CAPITAL LETTER ES",),
    "E": ("GREEK CAPITAL LETTER EPSILON", "CYRILLIC CAPITAL LETTER IE"),
    "H": ("GREEK CAPITAL LETTER ETA", "CYRILLIC CAPITAL LETTER EN"),
    "J": ("CYRILLIC CAPITAL LETTER JE",),
    "K": ("GREEK CAPITAL LETTER KAPPA", "CYRILLIC CAPITAL LETTER KA"),
    "M": ("GREEK CAPITAL LETTER MU", "CYRILLIC CAPITAL LETTER EM"),
    "N": ("GREEK CAPITAL LETTER NU",),
    "O": ("GREEK CAPITAL LETTER OMICRON", "CYRILLIC CAPITAL LETTER O", "DIGIT ZERO"),
    "P": ("GREEK CAPITAL LETTER RHO", "CYRILLIC CAPITAL LETTER ER"),
    "S": ("CYRILLIC CAPITAL LETTER DZE",),
    "T": ("GREEK CAPITAL LETTER TAU", "CYRILLIC CAPITAL LETTER TE"),
    "X": ("GREEK CAPITAL LETTER CHI", "CYRILLIC CAPITAL LETTER HA"),
    "Y": ("GREEK CAPITAL LETTER UPSILON", "CYRILLIC CAPITAL LETTER U"),
    "Z": ("GREEK CAPITAL LETTER ZETA",),
    "3": ("CYRILLIC CAPITAL LETTER ZE",),
    "a": ("GREEK SMALL LETTER ALPHA", "CYRILLIC SMALL LETTER A"),
    "c": ("CYRILLIC SMALL LETTER ES",),
    "d": ("CYRILLIC SMALL LETTER KOMI DE",),
    "e": ("CYRILLIC SMALL LETTER IE",),
    "h": ("CYRILLIC SMALL LETTER SHHA",),
    "i": ("GREEK SMALL LETTER IOTA", "CYRILLIC SMALL LETTER BYELORUSSIAN-UKRAINIAN I"),
    "j": ("CYRILLIC SMALL LETTER JE",),
    "l": (
        "LATIN CAPITAL LETTER I",
        "DIGIT ONE",
        "GREEK CAPITAL LETTER IOTA",
        "CYRILLIC CAPITAL LETTER BYELORUSSIAN-UKRAINIAN I",
    ),
    "o": ("GREEK SMALL LETTER OMICRON", "GREEK SMALL LETTER SIGMA", "CYRILLIC SMALL LETTER O"),
    "p": ("GREEK SMALL LETTER RHO", "CYRILLIC SMALL LETTER ER"),
    "q": ("CYRILLIC SMALL LETTER QA",),
    "s": ("CYRILLIC SMALL LETTER DZE",),
    "u": ("GREEK SMALL LETTER UPSILON",),
    "v": ("GREEK SMALL LETTER NU",),
    "w": ("CYRILLIC SMALL LETTER WE",),
    "x": ("CYRILLIC SMALL LETTER HA",),
    "y": ("GREEK SMALL LETTER GAMMA", "CYRILLIC SMALL LETTER U"),
}


@pytest.mark.parametrize("latin", SKELETONS)
def test_the_letters_look_alike_as_icu_has_it(latin: str) -> None:
    for name in SKELETONS[latin]:
        assert look(unicodedata.lookup(name)) == look(latin), name


def test_no_other_letters_do() -> None:
    """Letters of one look are those of one line of the table, and full-width forms."""
    listed = {unicodedata.lookup(n): latin for latin, ns in SKELETONS.items() for n in ns}
    for code in range(0x21, 0x530):
        letter = chr(code)
        if letter.isalnum() and unicodedata.normalize("NFKC", letter) == letter:
            assert look(letter) == listed.get(letter, unicodedata.normalize("NFD", letter))
    assert look("Ｍ１") == look("M1")
    assert look("e\u0301") == look("é") != look("e")


def test_a_name_is_no_lookalike_of_itself() -> None:
    assert lookalike("A", ["A", "B"]) is None
    assert lookalike("Ａ", ["B", "A"]) == "A"


def told(old: str, new: str) -> list[tuple[str, str, str]]:
    """Rule, message and first help of what a change to the simple chain gives."""
    assert SIMPLE.count(old) == 1
    found = findings(SIMPLE.replace(old, new))
    return [(f.rule.name, f.message, f.help[0]) for f in found if f.severity == "error"]


@pytest.mark.parametrize(
    ("letter", "script"), [("А", "Cyrillic"), ("Α", "Greek"), ("Ａ", "full-width")]
)
def test_an_unknown_ring_says_whose_letter_it_is(letter: str, script: str) -> None:
    assert told("prev A", f"prev {letter}") == [
        (
            "ring-not-there",
            f"step 2 goes through {letter}, and no step places a ring of that name",
            f"'{letter}' here is the {script} letter, the ring placed is the Latin 'A'; type one of"
            " the two again",
        )
    ]
    assert told("A meets", f"{letter} meets") == [
        (
            "unknown-name",
            f"{letter} is promised neighbours, and no step places it",
            f"'{letter}' here is the {script} letter, the one of this recipe is the Latin 'A'; type"
            " one of the two again",
        )
    ]


def test_a_word_of_the_language_in_letters_of_another_script() -> None:
    assert told("close A", "сlose A")[0][1:] == (
        "no step begins with 'сlose'",
        "'сlose' has the Cyrillic letter 'с', the word of the language is 'close' with the Latin"
        " 'c'; type it again",
    )
    assert told("through", "thrοugh")[0][2].startswith("'thrοugh' has the Greek letter 'ο'")


def test_two_rings_of_one_look_are_a_warning_and_one_script_is_not() -> None:
    shaggy = SIMPLE.replace("through prev A", "through prev A\n  add B through A")
    shaggy = shaggy.replace("A meets 2", "A meets 2 A, 1 B\n  B meets 1 A")
    assert findings(shaggy) == ()
    for one, other in (("I", "l"), ("В", "B"), ("O", "О")):
        text = shaggy.replace("B", other).replace("A", one)
        (found,) = findings(text)
        assert (found.rule.name, found.severity) == ("names-look-alike", "warning")
        assert found.message == (f"the names '{one}' and '{other}' look the same, but they are two")
    assert findings(shaggy.replace("B", "В").replace("A", "А")) == ()
