"""Why a line could not be read, in a maker's words, with the nearest thing that would fit.

Comes in: a line and where the parser stopped. Goes out: a `Trouble`, worded here and nowhere else.
The order of the questions matters: habits of the pen first (numbered lines, decimal commas),
then slips of the finger in a word, then what the parser expected.
"""

from __future__ import annotations

import re
from typing import Any

from ringstep.language.findings import Trouble
from ringstep.language.habits import Habit, foreign_word, habit_of, line_reads, word_before
from ringstep.language.lookalikes import lookalike, told_apart
from ringstep.language.reading_sets import explain_along
from ringstep.language.reading_sizes import habit_of_sizes
from ringstep.language.reworded import extent_alone, reworded
from ringstep.language.source import Span
from ringstep.language.words import (
    HEADINGS,
    LINE_KINDS,
    NUMBER_WORDS,
    OPTIONS,
    PIECE_WORDS,
    PLACES,
    RESERVED,
    UNITS_OF_SIZE,
    VERBS,
    listed,
    nearest,
    reads_like,
)

_FIRST_WORDS = {
    "title": ("weave",),
    "promise": (),
    "ring_kind": (),
    "part_kind": (),
    "variant": (),
    "step": tuple(v.split()[0] for v in VERBS),
    "piece_line": PIECE_WORDS,
}
_SECOND = {"fold": "back", "turn": "over", "take": "out", "let": "go"}


_HEADING_ALONE = re.compile(r"unit\s+\S+|first\s+row|row\s+end", re.I)
#: Rings as they are placed, and then 'through': a step that lacks only its verb. Items of the list
#: begin with no blank, so that a list can be parted in one way only.
_NEW_LIST = re.compile(
    r"\s*(\d+\s+)?[^\s\d,]+(\s*\d+)?(\s*,\s*+[^\s,]+(\s+[^\s,]+)*?)*\s+through\b", re.I
)


def blank_rims(line: int, text: str, start: int, end: int) -> Span:
    """The stretch [start, end) of a line without the blanks at its rims."""
    piece = text[start:end]
    start += len(piece) - len(piece.lstrip())
    return Span(line, start + 1, max(start + 1, start + len(piece.strip())) + 1)


def _told(text: str, line: int, habit: Habit) -> Trouble:
    span = blank_rims(line, text, habit.start, habit.end)
    return Trouble(span, habit.message, help=tuple(habit.help.splitlines()))


def _habit(text: str, line: int, rule: str) -> Trouble | None:
    found = habit_of(text, rule)
    return _told(text, line, found) if found else None


def _expected_words(fault: Any) -> list[str]:
    """The words that the parser could have taken where it stopped."""
    names = getattr(fault, "accepts", None) or getattr(fault, "expected", None)
    names = names or getattr(fault, "allowed", None) or ()
    if not hasattr(fault, "token") and "NAME" in names:
        return []  # where any name could stand, a mark stopped the parser
    words = {n.strip("_").lower() for n in names}
    return sorted(w for w in words if w in RESERVED | {"units"})


def explain_line(text: str, line: int, rule: str, heading: str | None, fault: Any) -> Trouble:
    """Say why one line was not read. `rule` is what it should have been, `fault` Lark's report."""
    if heading is None:
        return _before_headings(text, line)
    if rule == "ring_kind" and (trouble := explain_along(text, line) or explain_sizes(text, line)):
        return trouble
    if trouble := _habit(text, line, rule):
        return trouble
    if other := reworded(text, rule, heading):
        return _told(text, line, other)
    words = text.split()
    first = words[0].strip(",")
    if trouble := _first_word(text, line, rule, words, first):
        return trouble
    column = getattr(fault, "column", -1)
    token = getattr(fault, "token", None)
    at_end = (
        column is None
        or column < 1
        or (token is None and column > len(text))
        or (token is not None and token.type == "$END")
    )
    at = len(text.rstrip()) if at_end else column - 1
    if text[at : at + 1] == ".":  # the reader stops inside a number where only whole ones can stand
        at = len(text[:at].rstrip("0123456789"))
        token = None
    if not at_end:
        found = text[at:].split(None, 1)[0]
        word = str(token) if token is not None and token.type != "COMMA" else found
        span = Span(line, at + 1, at + 1 + len(word))
    else:
        last = text.split()[-1]
        word, span = "", Span(line, at + 1 - len(last), at + 1)
    expected = _expected_words(fault)
    if habit := foreign_word(text, rule, at, word):
        return _told(text, line, habit)
    if trouble := _near_miss(text, line, at, word, span, expected):
        return trouble
    return _by_shape(text, rule, at, word, span, at_end, first, expected)


def _before_headings(text: str, line: int) -> Trouble:
    words = text.split()
    span = blank_rims(line, text, 0, len(text))
    if words[0].casefold() == "weave":
        if trouble := _habit(text, line, "title"):
            return trouble
        name = " ".join(words[1:]).replace('"', "").strip("'")
        return Trouble(
            span,
            "the title stands between straight quotation marks",
            help=(f'write: weave "{name or "Simple chain"}"',),
        )
    if words[0].casefold() != "weave" and nearest(words[0], ("weave",)):
        at = text.index(words[0])
        return Trouble(
            Span(line, at + 1, at + 1 + len(words[0])),
            f"the first word is '{words[0]}'",
            help=("the nearest word is 'weave'",),
        )
    return Trouble(
        span,
        "this line stands before the first heading",
        help=(
            'a recipe begins with its title: weave "Simple chain"',
            "then come headings such as 'rings:', 'expect:', 'start:', 'unit:' and 'piece:'",
        ),
    )


def _first_word(text: str, line: int, rule: str, words: list[str], first: str) -> Trouble | None:
    if not first:
        at = text.index(",")
        return Trouble(
            Span(line, at + 1, at + 2),
            "there is a comma in the wrong place",
            help=("take it out; a comma parts two names of a list",),
        )
    at = text.index(first)
    span = Span(line, at + 1, at + 1 + len(first))
    if (
        ":" in text
        and (inner := text[: text.index(":")].split())
        and (inner[0].casefold() in {h.split()[0] for h in HEADINGS})
    ):
        return Trouble(
            blank_rims(line, text, 0, len(text)),
            "a heading stands alone on its line",
            help=(f"write '{' '.join(inner)}:' and put the rest on the next line",),
        )
    if rule in ("step", "piece_line", "ring_kind") and _HEADING_ALONE.fullmatch(text.strip()):
        return explain_bare_heading(text, line)
    if rule == "ring_kind" and "meets" in (w.casefold() for w in words):
        return Trouble(
            blank_rims(line, text, 0, len(text)),
            "a promise stands under 'expect:'",
            help=("write the line 'expect:' above it",),
        )
    starts = _FIRST_WORDS[rule]
    low = first.casefold()
    if rule == "piece_line" and low.isdigit():
        rows = bool(re.match(r"\s*\d+\s+rows?\b", text, re.I))
        lines = [f"{kind} {text.strip()}" for kind in PIECE_WORDS[2 * rows : 2 * rows + 2]]
        fits = [f"'{each}'" for each in lines if line_reads(each, rule)]
        mend = f"write {listed(fits, 'or')}" if fits else reads_like(rule)
        return Trouble(span, f"nothing says what the '{text.strip()}' make", help=(mend,))
    options = {o.split()[0] for o in OPTIONS}
    if (
        rule == "step"
        and low in ("add", "close")
        and len(words) > 1
        and (words[1].casefold() in options)
    ):
        start = text.index(words[1], at + len(first))
        return Trouble(
            Span(line, start + 1, start + 1 + len(words[1])),
            f"'{first}' is followed by '{words[1]}', so the ring has no name",
            help=(f"name the ring that is placed: '{first} A {words[1]} …'",),
        )
    if not starts or low in starts:
        if (
            low in _SECOND
            and rule == "step"
            and (len(words) < 2 or words[1].casefold() != _SECOND[low])
        ):
            return Trouble(
                span,
                f"'{first}' is half of '{low} {_SECOND[low]}'",
                help=(f"write '{low} {_SECOND[low]} …'",),
            )
        return None
    if help := _nearest_help(first, [*starts, *(["hint"] if rule == "step" else [])]):
        what = LINE_KINDS[rule][0].removeprefix("a ").removeprefix("the ")
        return Trouble(span, f"no {what} begins with '{first}'", help=help)
    if rule == "step":
        if low in options | set(PLACES):
            mend = "a step begins with what is done: 'add A through prev A'"
        elif _NEW_LIST.match(text):
            mend = f"write 'add {text.strip()}'"
        else:
            mend = f"a step begins with one of: {listed(list(VERBS), 'or')}"
            if "through" in text.casefold().split():
                mend = "a step begins with what is done: 'add A through prev A'"
        return Trouble(span, f"no step begins with '{first}'", help=(mend,))
    return Trouble(
        span,
        f"{LINE_KINDS[rule][0]} does not begin with '{first}'",
        help=(f"it begins with one of: {listed(list(starts), 'or')}",),
    )


def _nearest_help(word: str, choices: list[str]) -> tuple[str, ...]:
    """The word of the language that was meant: in letters of another script, or with a slip."""
    if twin := lookalike(word.casefold(), choices):
        return (f"{told_apart(word.casefold(), twin, 'the word of the language')}; type it again",)
    near = nearest(word, choices)
    return (f"the nearest word is '{near}'",) if near else ()


def _near_miss(
    text: str, line: int, at: int, word: str, span: Span, expected: list[str]
) -> Trouble | None:
    """A slip of the finger: in the word itself, or in the one before it (`prevs S`)."""
    choices = sorted(
        {*expected, *(p for p in PLACES)} if "," in text or "through" in text else set(expected)
    )
    if word and word.casefold() not in RESERVED and (help := _nearest_help(word, choices)):
        return Trouble(span, f"'{word}' is not a word of the language here", help=help)
    before, start = word_before(text, at)
    if before and before.casefold() not in RESERVED:
        known = [*PLACES, *(o.split()[0] for o in OPTIONS), *expected]
        if help := _nearest_help(before, sorted(set(known))):
            return Trouble(
                Span(line, start + 1, start + 1 + len(before)),
                f"'{before}' is not a word of the language here",
                help=help,
            )
    return None


def _by_shape(
    text: str,
    rule: str,
    at: int,
    word: str,
    span: Span,
    at_end: bool,
    first: str,
    expected: list[str],
) -> Trouble:
    before, start = word_before(text, at)
    while word.casefold() in PLACES and before.casefold() in PLACES:
        word, at, span = before, start, Span(span.line, start + 1, start + 1 + len(before))
        before, start = word_before(text, at)
    previous = text[:at].rstrip()
    if at_end and previous.endswith(","):
        comma = len(previous)
        return Trouble(
            Span(span.line, comma, comma + 1),
            "the line ends with a comma",
            help=("name what comes after it, or take the comma out",),
        )
    if word.startswith(","):
        twice = previous.endswith(",")
        what = "there are two commas in a row" if twice else "there is a comma in the wrong place"
        return Trouble(
            Span(span.line, at + 1, at + 2),
            what,
            help=("take it out; a comma parts two names of a list",),
        )
    if word.startswith(('"', "=", ":", "#")):
        return Trouble(
            Span(span.line, at + 1, at + 2),
            f"there is a stray '{word[0]}' here",
            help=(f"take it out; {reads_like(rule)}",),
        )
    if at_end:
        number = text.split()[-1].casefold()
        if number in ("picks", "meets", "every"):
            return Trouble(
                span,
                f"'{text.split()[-1]}' is followed by a number",
                help=(f"write '{number} 2'",),
            )
        return Trouble(span, "the line stops too early", help=_shape_help(rule, expected, first))
    named = word.casefold() not in RESERVED and (word[:1].isalpha() or word.isdigit())
    if (
        rule == "step"
        and named
        and before
        and before.casefold() not in RESERVED
        and not (before.isdigit())
    ):
        if before.casefold() in NUMBER_WORDS and "through" not in text[:at].casefold().split():
            figure = NUMBER_WORDS.index(before.casefold())
            return Trouble(
                Span(span.line, start + 1, start + 1 + len(before)),
                f"the number '{before}' is written out",
                help=(f"write it in figures: '{figure} {word}'",),
            )
        return Trouble(
            Span(span.line, start + 1, span.end),
            f"there is no comma between '{before}' and '{word}'",
            help=(
                f"if both are rings, write '{before}, {word}'",
                "words that are not rings go on a 'hint' line below",
            ),
        )
    if (
        word.casefold() in PLACES
        and rule == "step"
        and before
        and before.casefold() not in RESERVED
    ):
        return Trouble(
            Span(span.line, start + 1, span.end),
            f"there is no comma between '{before}' and '{word}'",
            help=(f"write '{before}, {word} …'",),
        )
    return Trouble(span, f"'{word}' does not fit here", help=_shape_help(rule, expected, first))


def _shape_help(rule: str, expected: list[str], first: str) -> tuple[str, ...]:
    lines = [reads_like(rule)]
    if expected and len(expected) <= 8:
        lines.insert(0, f"here could stand: {listed(expected, 'or')}")
    if rule == "promise":
        lines.append("or 'M meets 1 M, 6 S', '6 rings a unit', 'repeats every 2 units'")
    if rule == "piece_line":
        lines.append(
            "or 'chain 190 mm', 'loop 57 units', 'sheet 8 rows of 12 units',"
            " 'sample 10 units = 41 mm'"
        )
    return tuple(lines)


def explain_unit(text: str, line: int, rule: str, unit: str, span: Span) -> Trouble | None:
    """Say what is odd about the unit of a size that could be read as a word but is none of ours.

    `span` is where the unit stands; None where it is a unit of size, or nothing near one.
    """
    if unit.casefold() in UNITS_OF_SIZE:
        return None
    if trouble := _habit(text, line, rule):
        return trouble
    if rule == "piece_line" and (found := extent_alone(text)):
        return _told(text, line, found)
    near = nearest(unit, ["units", "mm", "cm", "inch", "awg", "swg"])
    if rule == "piece_line" and unit.casefold() in ("unit", "units"):
        return Trouble(
            span,
            "units are counted in whole numbers",
            help=("write how many, such as 'chain 24 units', or a length in mm, cm or in",),
        )
    if near and (near != "units" or rule == "piece_line"):
        return Trouble(
            span,
            f"'{unit}' is not a word of the language here",
            help=(f"the nearest word is '{near}'",),
        )
    return None


def explain_sizes(text: str, line: int) -> Trouble | None:
    """Say how the two sizes of a ring are written; None where the line does not show them."""
    found = habit_of_sizes(text)
    return _told(text, line, found) if found else None


def explain_bare_heading(text: str, line: int) -> Trouble:
    """Say that a heading lacks its colon (the section is read all the same)."""
    heading = text.strip().rstrip(".;, ")
    return Trouble(
        blank_rims(line, text, 0, len(text)),
        f"'{text.strip()}' reads like a heading without its colon",
        help=(f"write '{heading}:'",),
    )
