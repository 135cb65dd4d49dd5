"""The colours of a text, as spans with a class, in the time between two letters.

Comes in: a text. Goes out: which stretch of which line is a heading, a word, a name, a number. What
is what is said by the patterns that are shipped for other editors.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from ringstep.language.shipped import colours_text
from ringstep.language.source import Span

#: What the patterns call things, by the beginning of their names, and what we call them.
_CLASSES = {
    "comment": "comment",
    "entity.name.section": "heading",
    "keyword.control": "act",
    "keyword.other.unit": "measure",
    "keyword": "word",
    "storage.modifier.place": "place",
    "constant.language": "side",
    "constant.numeric": "number",
    "variable.language": "word",
    "variable.other": "ring",
    "entity.name": "name",
    "string": "text",
    "punctuation": "mark",
}
CLASSES = tuple(dict.fromkeys(_CLASSES.values()))


@dataclass(frozen=True, slots=True)
class Coloured:
    """A stretch of a text and what it is, one of `CLASSES`."""

    span: Span
    kind: str


@dataclass(frozen=True, eq=False)
class _Rules:
    """The patterns of a section as one. kinds: the class of each of its groups, where it has one;
    inner: by the group of a whole pattern what holds for the rest of the line behind it."""

    whole: re.Pattern[str]
    kinds: dict[int, str]
    inner: dict[int, _Rules]


@dataclass(frozen=True, eq=False)
class _Section:
    """A section: how its heading begins, how that of the next does, the patterns of both."""

    begin: re.Pattern[str]
    end: re.Pattern[str]
    heading: _Rules
    rules: _Rules


def lines_of(text: str) -> list[str]:
    """The lines of a text, parted as a `Source` parts them."""
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")


def colours(text: str) -> tuple[Coloured, ...]:
    """What every stretch of a text is that has a colour, in its order."""
    outside, sections = _patterns()
    found: list[Coloured] = []
    section: _Section | None = None
    for number, line in enumerate(lines_of(text), 1):
        heads = None
        if section is None or section.end.match(line):
            section = heads = next((s for s in sections if s.begin.match(line)), None)
        rules = heads.heading if heads else section.rules if section else outside
        found += _of_line(number, line, rules)
    return tuple(found)


@lru_cache(4096)  # of a text that is being typed all lines but one stay as they are
def _of_line(number: int, line: str, rules: _Rules) -> tuple[Coloured, ...]:
    """The stretches of one line."""
    told = _stretches(line, rules, 0)
    return tuple(Coloured(Span(number, start + 1, end + 1), kind) for start, end, kind in told)


def _stretches(line: str, rules: _Rules, at: int) -> Iterator[tuple[int, int, str]]:
    """The stretches of a line from a place on: their columns from 0, their class."""
    for match in rules.whole.finditer(line, at):
        for group, kind in rules.kinds.items():
            start, end = match.span(group)
            while start < end and line[start].isspace():
                start += 1  # a pattern may begin at the rim of the line
            if start < end:
                yield start, end, kind
        for group, inner in rules.inner.items():
            if match.start(group) >= 0:
                yield from _stretches(line, inner, match.end())
                return


@cache
def _patterns() -> tuple[_Rules, tuple[_Section, ...]]:
    """The patterns outside of sections, and those of each section."""
    grammar = json.loads(colours_text())
    repository = grammar["repository"]
    top = _with_parts(grammar["patterns"], repository)
    outside = _joined([rule for rule in top if "begin" not in rule], repository)
    comment = _with_parts([{"include": "#comment"}], repository)
    sections = []
    for rule in top:
        if "begin" in rule:
            begin, end = re.compile(rule["begin"]), re.compile(rule["end"])
            heading = _joined([{**rule, "patterns": []}, *comment], repository)
            own = _joined(_with_parts(rule["patterns"], repository), repository)
            sections.append(_Section(begin, end, heading, own))
    return outside, tuple(sections)


def _with_parts(rules: list[dict[str, Any]], repository: dict[str, Any]) -> list[dict[str, Any]]:
    """Some patterns, with those that they name in the place of the names."""
    return [repository[r["include"].removeprefix("#")] if "include" in r else r for r in rules]


def _joined(rules: list[dict[str, Any]], repository: dict[str, Any]) -> _Rules:
    """Patterns as one: where several fit at a place the first of them holds, as in editors."""
    texts, kinds, inner = [], {}, {}
    group = 1
    for rule in rules:
        text = rule.get("match") or rule["begin"]
        captures = rule.get("captures") or rule.get("beginCaptures") or {}
        whole = {"0": {"name": rule["name"]}} if "match" in rule and "name" in rule else {}
        for number, capture in {**whole, **captures}.items():
            kinds[group + int(number)] = _class_of(capture["name"])
        if "begin" in rule and rule["patterns"]:
            inner[group] = _joined(_with_parts(rule["patterns"], repository), repository)
        texts.append(f"({text})")
        group += 1 + re.compile(text).groups
    return _Rules(re.compile("|".join(texts)), kinds, inner)


def _class_of(name: str) -> str:
    """Our class for what the patterns call something."""
    return next(kind for begins, kind in _CLASSES.items() if name.startswith(begins))
