"""Habits of the pen that the language does not share: numbered lines, 'and', gauges, inch marks.

Comes in: one line and what it should have been. Goes out: a `Habit`, the stretch that gives it away
with its message and what to type; None where the line shows none.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from ringstep.language.typed_size import plain_number, which_gauge
from ringstep.language.words import (
    NUMBER_WORDS,
    PLACES,
    RESERVED,
    VERBS,
    nearest,
    reads_like,
)


class Habit(NamedTuple):
    """What a line shows. start, end: columns from 0; help: what to type."""

    start: int
    end: int
    message: str
    help: str

    @classmethod
    def of_line(cls, text: str, message: str, help: str) -> Habit:
        """What the whole of a line shows, but for the blanks at its rims."""
        return cls(len(text) - len(text.lstrip()), len(text.rstrip()), message, help)


_Found = re.Match[str]
_LENGTH = r"\d++(?:[./]\d++)?\s*+(?:(?:mm|cm|in|inch|inches)\b)?"
# Quantifiers that take the longest stretch and give nothing back ('++') keep a line of nothing but
# figures or stops from being tried from each of its letters on.
#: (pattern, message, what to type, the kinds of line it is looked for in; none means all).
_TABLE: tuple[tuple[re.Pattern[str], str, Callable[[_Found], str], str], ...] = (
    (
        re.compile(rf"^\s*(\d+\s*[.)]|\d+(?=\s+(?:{'|'.join(VERBS)})\b))", re.I),
        "the line begins with a number of its own, '{0}'",
        lambda m: f"take '{m[0].strip()}' off; steps are numbered for you",
        "",
    ),
    (
        re.compile(r"^\s*(step\s+\d+\s*[:.)]?)", re.I),
        "the line begins with '{0}'",
        lambda m: f"take '{m[0].strip()}' off; steps are numbered for you",
        "",
    ),
    (
        re.compile(r"^\s*[-*•]\s+"),
        "the line begins with a list mark, '{0}'",
        lambda m: f"take '{m[0].strip()}' off; a step begins with its verb",
        "",
    ),
    (
        re.compile(r"(?<!\d)(\d++/\d++|(?:\d*+\.)?\d++)\s*+(?:\"|''|″|”)"),
        "'{0}' uses a mark for inches",
        lambda m: f"write '{'0' if m[1].startswith('.') else ''}{m[1]} in'",
        "ring_kind piece_line",
    ),
    (
        re.compile(r"^\s*((?:worked\s+)?back\s+and\s+forth)\s*$", re.I),
        "'{0}' does not say what goes back and forth",
        lambda _: "write 'rows back and forth'",
        "piece_line",
    ),
    (
        re.compile(r"[“”„‟«»‘’]"),
        "there is a curly quotation mark here, {0}",
        lambda _: 'type a straight one: "',
        "title",
    ),
    (
        re.compile(r"[“”„‟«»‘’]"),
        "there is a curly quotation mark here, {0}",
        lambda _: "take it out; {reads}",
        "",
    ),
    (
        re.compile(r"(?<!\d)(\d{1,3}),(\d{3})(?=\s+(?:rows?|units?|rings?)\b)", re.I),
        "'{0}' has a comma in the number",
        lambda m: f"write it without: '{m[1]}{m[2]}'",
        "",
    ),
    (
        re.compile(r"(?<!\d)(\d++),(\d++)\s*+(?=mm|cm|in\b|inch|\"|[,\s]*+$)", re.I),
        "'{0}' has a decimal comma",
        lambda m: f"write it with a point: '{m[1]}.{m[2]}'",
        "",
    ),
    (
        re.compile(r"(?<![\w.])\.(\d+)"),
        "'{0}' begins with its point",
        lambda m: f"write '0.{m[1]}'",
        "ring_kind piece_line promise",
    ),
    (
        re.compile(r"(?<![\w./])(\d+)\s+(\d+)/(\d+)"),
        "'{0}' is a whole number and a fraction",
        lambda m: f"write {_fraction(m[0])}",
        "ring_kind piece_line promise",
    ),
    (
        re.compile(r"(?:(?<![\w./])(\d+)\s*)?([¼½¾⅓⅔⅛⅜⅝⅞])"),
        "'{0}' has a fraction in one sign",
        lambda m: f"write {_fraction(m[0])}",
        "ring_kind piece_line promise",
    ),
    (
        re.compile(r"(?<=\s)#?(\d+)\s*(?:gauge|ga|g)\b", re.I),
        "'{0}' does not say which gauge",
        lambda m: which_gauge(int(m[1][:6])),
        "",
    ),
    (
        re.compile(r"(?<=[\s,])(\d+)\s*(?:pieces|pcs|rings)\b\.?", re.I),
        "'{0}' says how many rings to buy",
        lambda _: "take it out; 'ringstep kit' counts them for you",
        "ring_kind",
    ),
    (
        re.compile(r"(?<=,)\s*(through|around|inside|picks|lay|skip|if)\b", re.I),
        "there is a comma before '{0}', so it reads as the name of a ring",
        lambda m: f"take the comma out: '… {m[1]} …'",
        "step",
    ),
    (
        re.compile(r"(?<=,)\s*stays?\s+closed?\b(?!\s*(?:,|$))\s*,?\s*([^\s,]+)", re.I),
        "there is no comma behind 'stays closed'",
        lambda m: f"write 'stays closed, {m[1]}'",
        "ring_kind",
    ),
    (
        re.compile(r"(?<=,)\s*(stays?\s+clos\w*|stays?\s+shut)(?<!stays closed)\s*(?=,|$)", re.I),
        "'{0}' is said with 'stays closed'",
        lambda _: "write 'stays closed'",
        "ring_kind",
    ),
    (
        re.compile(rf"({_LENGTH})\s*[x×*]\s*({_LENGTH})", re.I),
        "'{0}' has a sign where the language has 'by'",
        lambda m: f"write '{m[1].strip()} by {m[2]}'",
        "part_kind",
    ),
    (
        re.compile(rf"({_LENGTH})\s+hole\b", re.I),
        "'{0}' has the size before its word",
        lambda m: f"write 'hole {m[1]}'",
        "part_kind",
    ),
    (
        re.compile(rf"({_LENGTH})\s+(?!by\b)([^\W\d_]+)", re.I),
        "there is no comma behind the size in '{0}'",
        lambda m: f"write '{m[1]}, {m[2]}'",
        "part_kind",
    ),
    (
        re.compile(rf"(?<=[^\W\d_])(?<!\bby)(?<!\bhole)\s+({_LENGTH})", re.I),
        "there is no comma before '{0}'",
        lambda m: f"write ', {m[1]}' behind what it is",
        "part_kind",
    ),
    (
        re.compile(r"\bevery\s+(?:other|second|third|2nd|3rd)\b", re.I),
        "'{0}' leaves some of them out, and 'every' is all of them",
        lambda _: "give the rings that are meant a name of their own, and write 'every' before it",
        "step",
    ),
    (
        re.compile(r"\b(?:the\s+)?middle\s+(?!if\b)([^\W\d]+)(?![^\s,])", re.I),
        "'{0}' is a place that is found by counting",
        lambda m: f"{_counted(m[1], 3)}; if 'middle' is a ring, write 'middle, {m[1]}'",
        "step",
    ),
    (
        re.compile(
            r"\b([^\W\d]+)\s?(1[0-2]|[1-9])\s+of\s+(?:the\s+)?(?:first\s+row|row\s+1)\b", re.I
        ),
        "'{0}' is a place that is found by counting",
        lambda m: _counted(m[1], int(m[2])),
        "step",
    ),
    (
        re.compile(r"(?<![.;!?])[.;!?]++\s*+$"),
        "there is a '{0}' at the end of the line",
        lambda _: "take it out",
        "",
    ),
    (
        re.compile(r"[()\[\]{}]"),
        "there is a bracket here, '{0}'",
        lambda _: "take the brackets out; words that are not part of the step go on a 'hint' line",
        "step",
    ),
    (
        re.compile(r"[()\[\]{}]"),
        "there is a bracket here, '{0}'",
        lambda _: "take the brackets out",
        "",
    ),
    (
        re.compile(r"[;|]|/(?!\d)|(?<!\d)/"),
        "there is a '{0}' here",
        lambda _: "part the names of a list with commas",
        "",
    ),
)


def _counted(name: str, number: int) -> str:
    """A place of the first row by its number, as the finish names it.

    >>> _counted("A", 3)
    "in 'finish:' the A at place 3 of the first row is 'first next next A'"
    """
    words = " ".join(("first", *("next",) * (number - 1), name))
    return f"in 'finish:' the {name} at place {number} of the first row is '{words}'"


def _fraction(number: str) -> str:
    """A mixed number as one fraction, and with a point where that is short.

    >>> _fraction("1 3/4"), _fraction("⅓")
    ("'7/4' or '1.75'", "'1/3'")
    """
    plain = plain_number(number)
    try:
        value = Fraction(plain)
    except ZeroDivisionError:
        return "it as in '1.2'"
    point = f"{float(value):.4f}".rstrip("0").rstrip(".") if value < 10**6 else ""
    exact = bool(point) and Fraction(point) == value
    return f"'{plain}'" + (f" or '{point}'" if exact else "")


_AND = re.compile(r"(?<=\s)(?:and|&|\+)(?=\s)", re.I)
#: Words behind which a list begins, and those that end one.
_LISTS = frozenset({"add", "close", "out", "through", "around", "inside", "meets", "lay", "order"})
_AFTER = frozenset({"through", "around", "inside", "picks", "lay", "skip"})


def _comma_for_and(text: str, rule: str) -> Habit | None:
    """A list written with 'and': the mend in the author's own words."""
    found = _AND.search(text)
    if not found or (rule == "piece_line" and "order" not in text.casefold().split()):
        return None
    before = text[: found.start()].rpartition(",")[2].split()
    after = text[found.end() :].partition(",")[0].split()
    if rule == "ring_kind":
        before = before[1:] if "," not in text[: found.start()] else before
    else:
        starts = [i for i, w in enumerate(before) if w.casefold() in _LISTS]
        before = before[starts[-1] + 1 :] if starts else before
        ends = [i for i, w in enumerate(after) if w.casefold() in _AFTER]
        after = after[: ends[0]] if ends else after
    if rule == "promise" and len(after) < 2:
        return None  # 'meets 2 and 3' is no list
    mend = f"write a comma instead: '{' '.join(before)}, {' '.join(after)}'"
    return Habit(found.start(), found.end(), f"the list uses '{found[0]}'", mend)


def habit_of(text: str, rule: str) -> Habit | None:
    """The first habit that a line shows. `rule` is what kind of line it should have been."""
    for pattern, message, mend, rules in _TABLE:
        if (not rules or rule in rules.split()) and (found := pattern.search(text)):
            caught = message.replace("{0}", found[0].strip())
            help = mend(found).replace("{reads}", reads_like(rule))
            return Habit(found.start(), found.end(), caught, help)
    return _comma_for_and(text, rule)


#: How words of the language are spelled elsewhere.
_ALSO = {"thru": "through", "previous": "prev", "before": "prev", "color": "colour", "id": "inside"}
_ALSO |= {"further": "then", "afterwards": "then"}
#: Phrases that come near those of the language, and how they are written here.
_NEARLY = (
    (r"(?:at|in)\s+(?:the\s+)?(?:same|one)(?:\s+(?:place|spot))?", "at one place"),
    (r"(?:(?:to|on|at)\s+)?(?:the\s+)?left(?:[\s-]+hand)?(?:\s+side)?", "on the left"),
    (r"(?:(?:to|on|at)\s+)?(?:the\s+)?right(?:[\s-]+hand)?(?:\s+side)?", "on the right"),
    (r"(?:one\s+)?(?:(?:to|on|at)\s+)?(?:each|either|both)(?:\s+sides?)?", "one to each side"),
)
#: The words such phrases are made of, which the reader may have taken before it stopped.
_OF_PHRASES = frozenset({"at", "in", "the", "same", "one", "to", "on", "left", "right", "each"})
#: Words that say nothing to the language.
_FILLING = frozenset({"the", "both", "each", "ring", "rings", "of"})
#: Words with which a remark begins.
_REMARKS = frozenset(
    {"with", "using", "so", "until", "from", "on", "while", "for", "by", "without", "after"}
    | {"carefully", "gently", "loosely", "again", "twice"}
)
_FIGURES = {word: number for number, word in enumerate(NUMBER_WORDS) if number}
_TOWARDS = frozenset({"from", "in", "into", "on", "onto", "to", "via", "with"})
_JOINS = frozenset({"through", "around", "inside"})


def line_reads(line: str, rule: str) -> bool:
    """True where a line would be taken as it stands."""
    from ringstep.language.parse import reads  # which asks here only where a line was not read

    return reads(line, rule)


def word_before(text: str, at: int) -> tuple[str, int]:
    """The word that ends before position `at`, and where it starts."""
    before = text[:at].rstrip()
    start = max(before.rfind(" "), before.rfind(",")) + 1
    return before[start:], start


def _nearly(text: str, at: int, word: str) -> Habit | None:
    """A place or a side said nearly as the language says it, behind the rings it is said of."""
    end = at + len(word)
    before, start = word_before(text, at)
    while before.casefold() in _OF_PHRASES:
        at = start
        before, start = word_before(text, at)
    if not before or before.casefold() in {w for verb in VERBS for w in verb.split()}:
        return None  # a ring may be called 'left'
    for pattern, own in _NEARLY:
        found = re.compile(rf"{pattern}(?![^\s,])", re.I).match(text, at)
        if found and found.end() >= end and " ".join(found[0].casefold().split()) != own:
            line = f"{text[:at].strip()} {own}{text[found.end() :].rstrip()}"
            mend = f"write '{line}'" if line_reads(line, "step") else f"it is said '{own}'"
            return Habit(at, found.end(), f"'{found[0]}' is said otherwise here", mend)
    if at < end - len(word) and (near := nearest(word, ["left", "right", "each", "side", "place"])):
        message = f"'{word}' is not a word of the language here"
        return Habit(end - len(word), end, message, f"the nearest word is '{near}'")
    return None


def foreign_word(text: str, rule: str, at: int, word: str) -> Habit | None:
    """A word of everyday speech where the language has its own or needs none.

    `word` is what could not be read, at column `at` (from 0); the fault may lie in the one before.
    """
    low, (before, start) = word.casefold(), word_before(text, at)
    end, rest = at + len(word), text[at:].strip()
    not_ours = "'{}' is not a word of the language here"
    if rule == "promise" and low == "per":
        mend = "the nearest word is 'a', as in '4 rings a unit'"
        return Habit(at, end, not_ours.replace("{}", word), mend)
    sized = {"wire", "inside"} & set(re.findall(r"[a-z]+", text.casefold()))
    if rule == "ring_kind" and word[:1].isdecimal() and not sized:
        message = f"'{word}' stands without 'wire' or 'inside' before it"
        mend = f"write which it is; if {text.split()[0]} is a part, move its line to 'parts:'"
        return Habit(at, end, message, mend)
    if rule == "step" and (told := _nearly(text, at, word)):
        return told
    a_unit = rule == "promise" and text[:start].strip().isdecimal()  # '6 rings' and no 'a unit'
    if before.casefold() in _FILLING and word and not a_unit:
        mend = f"take '{before}' out; {reads_like(rule)}"
        return Habit(start, start + len(before), not_ours.replace("{}", before), mend)
    for found, begin in ((word, at), (before, start)):
        if own := _ALSO.get(found.casefold()):
            mend = f"the nearest word is '{own}'"
            return Habit(begin, begin + len(found), not_ours.replace("{}", found), mend)
    if low in _FIGURES:
        counted = rule == "step" and "through" in text[:at].casefold().split()
        mend = (
            f"write 'picks {_FIGURES[low]}'"
            if counted
            else (f"write it in figures: '{_FIGURES[low]}'")
        )
        return Habit(at, end, f"the number '{word}' is written out", mend)
    if rule == "ring_kind" and low in ("wire", "inside", "colour") and before:
        mend = f"write '{before}, {word} …'"
        return Habit(start, end, f"there is no comma between '{before}' and '{word}'", mend)
    if rule != "step":
        return None
    if low == "hint":
        message = "'hint' stands on a line of its own, under its step"
        return Habit(at, end, message, f"write on the next line: {rest}")
    if low == "then":
        message = f"'{word}' parts two rings that one step goes through"
        return Habit(at, end, message, "write it as in 'add A through M then prev M'")
    if before.casefold() in ("on", "one", "at"):  # the first word of a phrase, and none follows
        at, rest, low, word = start, text[start:].strip(), "on", before
        end = start + len(before)
    words = text[:at].casefold().split()
    bare = words[:1] == ["add"] and not _JOINS & set(words)
    if low in _TOWARDS and bare:
        return Habit(at, end, not_ours.replace("{}", word), "the nearest word is 'through'")
    if low in _REMARKS:
        mend = f"put what a maker should know on the next line: 'hint {rest}'"
        return Habit(at, end, not_ours.replace("{}", word), mend)
    named = bool(before) and before.casefold() not in RESERVED
    if low in PLACES and named and bare:
        message = f"there is no 'through' between '{before}' and '{word}'"
        line = f"{text[:at].strip()} through {rest}"
        mend = f"write '{line}'" if line_reads(line, "step") else "write 'through' and a ring"
        return Habit(start, end, message, mend)
    return None
