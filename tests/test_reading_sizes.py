"""Ring sizes as makers write them: what is said, and that the line to type is a right one."""

from __future__ import annotations

import re

import pytest
from helpers import SIMPLE, findings, read, underlined

from ringstep.language.measures import awg_mm, swg_mm

RIGHT = "A  wire 1.2 mm, inside 6.5 mm"


def recipe_with(line: str) -> str:
    """The simple chain with another line of `rings:`."""
    return SIMPLE.replace("all  wire 1.2 mm, inside 5 mm, copper", line)


def told(line: str) -> tuple[str, str, tuple[str, ...]]:
    """The underlined text, the message and the help of a line that gives one finding."""
    text = recipe_with(line)
    (found,) = findings(text)
    assert found.rule.name == "unread-line"
    return underlined(text, found), found.message, found.help


def sizes(line: str) -> tuple[float | None, float | None]:
    """Wire and inside in mm of a line of `rings:` that reads without a finding."""
    text = recipe_with(line)
    assert findings(text) == ()
    (kind,) = read(text)[0].rings
    return kind.mm


_BEFORE = "the size '{}' stands before its word '{}'"
_EITHER = "nothing says whether '{}' is the wire or the opening"
_FOREIGN = "'{}' is not a word of the language here"

#: (line, underlined, message, what to type)
LINES = [
    # the size first
    ("A  1.2 mm wire, 6.5 mm inside", "1.2 mm wire", _BEFORE.format("1.2 mm", "wire"), RIGHT),
    ("A  1.2mm wire, 6.5 mm id", "1.2mm wire", _BEFORE.format("1.2mm", "wire"), RIGHT),
    ("A  6.5 mm inside, 1.2 mm wire", "6.5 mm inside", _BEFORE.format("6.5 mm", "inside"), RIGHT),
    ("A  wire 1.2 mm, 6.5 mm i.d.", "6.5 mm i.d", _BEFORE.format("6.5 mm", "inside"), RIGHT),
    (
        "core 1 1.2 mm copper wire, 6.5 mm inside diameter",
        "1.2 mm copper wire",
        _BEFORE.format("1.2 mm", "wire"),
        "core 1  wire 1.2 mm, inside 6.5 mm, copper",
    ),
    (
        "A  copper 1.2 mm wire 6.5 mm inside",
        "1.2 mm wire",
        _BEFORE.format("1.2 mm", "wire"),
        f"{RIGHT}, copper",
    ),
    # no word at all
    ("A  1.2 mm x 6.5 mm", "1.2 mm", _EITHER.format("1.2 mm"), RIGHT),
    ("A  1.2 × 6.5 mm", "1.2", _EITHER.format("1.2"), RIGHT),
    ("A  1.2mm/6.5mm", "1.2mm", _EITHER.format("1.2mm"), RIGHT),
    ("A  6,5 mm, 1,2 mm", "6,5 mm", _EITHER.format("6,5 mm"), RIGHT),
    ("A 1.2 6.5", "1.2", _EITHER.format("1.2"), RIGHT),
    (
        "A 18 awg, 1/4 in, red brass, colour red",
        "18 awg",
        _EITHER.format("18 awg"),
        "A  wire 18 awg, inside 1/4 in, red brass, colour red",
    ),
    # other words
    ("A  wire 1.2 mm, ID 6.5", "ID", _FOREIGN.format("ID"), RIGHT),
    ("A  wire 1.2 mm, inner diameter 6.5 mm", "inner", _FOREIGN.format("inner"), RIGHT),
    ("A  wire 1.2 mm thick, inside 6.5 mm", "thick", _FOREIGN.format("thick"), RIGHT),
    (
        "A  AWG 18, ID 1/4",
        "AWG 18",
        "the unit stands before its number, 'AWG 18'",
        "A  wire 18 awg, inside 1/4 in",
    ),
    # marks
    ("A: wire 1.2 mm, inside 6.5 mm", ":", "there is a stray ':' here", RIGHT),
    ("A  wire = 1.2 mm, inside = 6.5 mm", "=", "there is a stray '=' here", RIGHT),
    ("A  wire Ø1.2 mm, inside Ø 6.5 mm", "Ø", "there is a stray 'Ø' here", RIGHT),
    (
        "A  wire 1.2 mm (18 swg), inside 6.5 mm",
        "(18 swg)",
        "there is a stray '(18 swg)' here",
        RIGHT,
    ),
    ("A  wire 1.2 mm inside 6.5 mm", "inside", "there is no comma before 'inside'", RIGHT),
    # numbers
    ("A  wire 1,2 mm, inside 6,5 mm", "1,2", "'1,2' has a decimal comma", RIGHT),
    (
        'A  wire .048", inside 1/4"',
        '.048"',
        "'.048\"' uses a mark for inches",
        "A  wire 0.048 in, inside 1/4 in",
    ),
]


@pytest.mark.parametrize(("line", "text", "message", "mend"), LINES, ids=[x[0] for x in LINES])
def test_the_whole_line_to_type_is_told(line: str, text: str, message: str, mend: str) -> None:
    under, said, help = told(line)
    assert (under, said) == (text, message)
    lead = "a size comes after its word: " if " stands before its word " in message else ""
    assert help == (f"{lead}write '{mend}'",)
    _, troubles = read(recipe_with(mend))
    assert troubles == (), "what is told to be typed can be read"


@pytest.mark.parametrize(
    "line",
    [
        'A  18g, 1/4"',
        "A  18ga wire, inside 1/4 in",  # reads as ring 18 of a metal called 'ga wire'
        "A  gauge 18, 1/4 in inside",
        'A  wire 18 ga, inside 1/4"',
        "A  wire #18, inside 1/4 in",
    ],
)
def test_a_gauge_without_its_system_gives_both_lines(line: str) -> None:
    _, message, help = told(line)
    assert message.endswith("does not say which gauge")
    typed = [re.findall(r"'(.*?)'", one) for one in help]
    assert typed == [["A  wire 18 awg, inside 1/4 in"], ["A  wire 18 swg, inside 1/4 in"]]
    assert sizes(typed[0][0]) == (awg_mm(18), 6.35)
    assert sizes(typed[1][0]) == (swg_mm(18), 6.35)
    assert "(1.02 mm)" in help[0]
    assert "(1.22 mm)" in help[1]


def test_an_aspect_ratio_or_an_outside_diameter_is_worked_out() -> None:
    """AR 4 of 1.2 mm wire is 4.8 mm inside; 8.9 mm outside less twice 1.2 mm is 6.5 mm inside."""
    assert told("A  wire 1.2 mm, AR 4") == (
        "AR 4",
        "'AR 4' is no size",
        ("AR is inside over wire; for AR 4 write 'A  wire 1.2 mm, inside 4.8 mm'",),
    )
    assert told("A  wire 1.2 mm, OD 8.9 mm") == (
        "OD 8.9 mm",
        "'OD 8.9 mm' is the outside of the ring; 'inside' is asked for",
        (f"inside is outside less two wires: write '{RIGHT}'",),
    )


def test_a_number_of_rings_is_not_asked_for() -> None:
    assert told(f"{RIGHT}, 50 pieces") == (
        "50 pieces",
        "'50 pieces' says how many rings to buy",
        ("take it out; 'ringstep kit' counts them for you",),
    )


@pytest.mark.parametrize(
    "line",
    [
        "A  1.2 mm wire",  # no opening
        "A  1.2 mm ID 6.5 mm copper",  # the word is 6.5's, or 1.2's
        "A  wire 1/0 mm, id 5 mm",
        "A  1.2 mm, 1.2 mm",
        "A  1.2 mm, 5 mm, 6 mm",
        "A  Draht 1.2 mm, innen 6.5 mm",
        f"A  {'9' * 14} mm wire, 6 mm id",
    ],
)
def test_no_line_is_guessed_that_cannot_be_known(line: str) -> None:
    _, message, help = told(line)
    assert not any("A  wire" in one for one in help)
    assert not message.startswith("'.")


@pytest.mark.parametrize(
    "line", [RIGHT, "core 1  wire 18 swg, inside 5/16 in, copper", "A wire 1 mm,inside 5 mm, steel"]
)
def test_a_right_line_shows_nothing(line: str) -> None:
    from ringstep.language.reading_sizes import habit_of_sizes

    assert habit_of_sizes(line) is None
