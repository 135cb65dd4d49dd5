"""Colours in an editor: `grammar/weave.tmLanguage.json`, in an open format that many editors read.

A small matcher here walks the lines as such editors do. What each word should be is asked of the
language's own reader, word by word.
"""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any

import pytest
from helpers import RECIPES, ROOT, shipped_texts
from hypothesis import given, settings
from hypothesis import strategies as st
from test_properties import mutated, stream
from test_reference import WORDS, words_of

from ringstep.language.parse import parse, parser
from ringstep.language.pieces import marked as with_marks
from ringstep.language.pieces import named_pieces
from ringstep.language.read_tree import MARK
from ringstep.language.source import source_from_text
from ringstep.language.tidy import LINE_RULES, WRITTEN
from ringstep.language.words import RESERVED

GRAMMAR: dict[str, Any] = json.loads(
    (ROOT / "grammar" / "weave.tmLanguage.json").read_text(encoding="utf-8")
)
TEXTS = shipped_texts() | RECIPES
Rule = dict[str, Any]


# -- the matcher ---------------------------------------------------------------------------------


@cache
def regex(pattern: str) -> re.Pattern[str]:
    """A pattern of the grammar; what it uses is written alike for editors and for Python."""
    return re.compile(pattern)


def rules_of(patterns: list[Rule]) -> list[Rule]:
    """The rules of a list, with those it includes in their place."""
    found: list[Rule] = []
    for rule in patterns:
        if "include" in rule:
            rule = GRAMMAR["repository"][rule["include"].removeprefix("#")]
        found.append(rule)
    return found


class Matcher:
    """Walks a text line by line and gives every character its innermost scope."""

    def __init__(self) -> None:
        self.stack: list[Rule] = [{"patterns": GRAMMAR["patterns"]}]

    def line(self, text: str) -> list[str]:
        """The scope of every character of a line; "" where there is none of its own."""
        scopes = [""] * len(text)
        at = 0
        for _ in range(4 * len(text) + 20):
            best: tuple[int, int, re.Match[str], Rule] | None = None
            inner = self.stack[-1]
            choices = [(inner, inner["end"])] if "end" in inner else []
            choices += [
                (r, r.get("match") or r["begin"]) for r in rules_of(inner.get("patterns", []))
            ]
            for order, (rule, pattern) in enumerate(choices):
                found = regex(pattern).search(text, at)
                if found and (best is None or (found.start(), order) < best[:2]):
                    best = (found.start(), order, found, rule)
            if best is None:
                return scopes
            _, _, found, rule = best
            if rule is inner:
                self.stack.pop()
                at = found.end()
                continue
            self._mark(scopes, found, rule)
            if "begin" in rule:
                self.stack.append(rule)
            else:
                assert found.end() > found.start(), f"{rule['match']} matches nothing at all"
            at = found.end()
        raise AssertionError(f"the grammar goes round for ever in {text!r}")

    @staticmethod
    def _mark(scopes: list[str], found: re.Match[str], rule: Rule) -> None:
        if "match" in rule:
            for i in range(found.start(), found.end()):
                scopes[i] = rule.get("name", scopes[i])
        captures: dict[str, Rule] = rule.get("captures") or rule.get("beginCaptures") or {}
        for number, capture in captures.items():
            for i in range(*found.span(int(number))):
                scopes[i] = capture["name"]


def scopes_of(text: str) -> list[list[str]]:
    """The scopes of every line of a text."""
    matcher = Matcher()
    return [matcher.line(line) for line in source_from_text(text).lines]


# -- what each word should be --------------------------------------------------------------------

#: rule of the language's grammar: what a word of the language may be there.
WORD_SCOPES = {
    "title": ("keyword.other.title",),
    "heading": ("entity.name.section",),
    "ring_kind": ("keyword.other.size",),
    "set_line": ("keyword.other.size",),
    "part_kind": ("keyword.other.part",),
    "promise": ("keyword.other.promise", "storage.modifier.place"),
    "variant": ("keyword.other.lay", "constant.language.side"),
    "step": ("keyword.", "storage.modifier.place", "constant.language.side"),
    "piece_line": ("keyword.other.piece",),
    "picture_line": (),
    "shape_line": ("keyword.other.shape",),
}
#: The same for what the author names.
NAME_SCOPES = {
    "heading": ("entity.name.section",),
    "ring_kind": ("variable.", "string.unquoted.material", "keyword.other.unit"),
    "set_line": ("entity.name.set", "variable.", "keyword.other.unit"),
    "part_kind": (
        "variable.other.part",
        "string.unquoted.material",
        "keyword.other.unit",
        "keyword.other.part",
    ),
    "promise": ("variable.other.ring", "string.unquoted.origin"),
    "variant": ("entity.name.variant",),
    "step": ("variable.other.ring",),
    "piece_line": ("variable.other.ring", "keyword.other.unit"),
    "picture_line": ("variable.other.ring",),
}
NUMBERS = ("constant.numeric", "entity.name.section")


def wanted(kind: str, rule: str) -> tuple[str, ...]:
    """The scopes that fit a token."""
    if kind in ("INT", "DECIMAL", "FRACTION"):
        return NUMBERS
    if kind == "STRING":
        return ("string.quoted.double",)
    if kind in ("COMMA", "EQUAL"):
        return ("punctuation.separator.list", "keyword.operator.measured")
    return NAME_SCOPES[rule] if kind == "NAME" else WORD_SCOPES[rule]


def judged(text: str) -> int:
    """Hold the scopes of a text against its reader; gives how many words were looked at."""
    source = source_from_text(text)
    recipe, troubles = parse(source)
    assert troubles == ()
    notes = {n.span.line for n in recipe.notes}
    section, looked = "", 0
    for number, (plain, scopes) in enumerate(zip(source.plain, scopes_of(text), strict=True), 1):
        line = source.lines[number - 1]
        for at in range(len(plain), len(line)):
            assert scopes[at].startswith("comment.line"), (line, at)
        bare = [s for s, mark in zip(scopes, line, strict=True) if not mark.isspace()]
        assert all(bare), (line, scopes)
        assert not [s for s in scopes[: len(plain)] if s.startswith("comment")], line
        if not plain.strip():
            continue
        if number in notes:
            assert {s.split(".weave")[0] for s in bare[: len(plain.split()[0])]} == {
                "entity.name.tag.note"
            }
            continue
        if plain.rstrip().endswith(":"):
            rule, plain = "heading", plain.rstrip()[:-1]
            section = " ".join(re.findall(r"[a-z]+", plain.casefold())[:1])
        elif not section:
            rule = "title"
        elif re.match(r"\s*hint\b", plain, re.I):
            at = plain.casefold().index("hint") + 4
            assert set(scopes[at - 4 : at]) == {"keyword.other.hint.weave"}
            assert all(s.startswith("string.unquoted") for s in scopes[at : len(plain.rstrip())])
            continue
        else:
            rule = LINE_RULES.get(section, "step")
        plain = with_marks(plain, named_pieces(source)) if section == "join" else plain
        for token in parser().parse_interactive(plain, start=rule).iter_parse():
            assert token.column is not None
            assert token.end_column is not None
            if token.type == "NAMED_PIECE":  # a name and perhaps a number
                end = token.column - 1 + len(token.split(MARK)[0])
                assert set(scopes[token.column - 1 : end]) == {"variable.other.ring.weave"}
                looked += 1
                continue
            found = scopes[token.column - 1 : token.end_column - 1]
            assert len(set(found)) == 1, (line, token)
            assert found[0].startswith(wanted(token.type, rule)), (line, token, found[0])
            looked += 1
    return looked


# -- shipped recipes, and the same in a hurry ----------------------------------------------------

GAPS = st.sampled_from([" ", "  ", "\t", "   ", "\u3000"])
COMMENTS = st.sampled_from(["", "", "", "#", "# a note", '#1 "of" 2', "  # wire #18", "＃ 注"])


@st.composite
def scrawled(draw: st.DrawFn) -> str:
    """A shipped recipe written by somebody in a hurry; it means the same."""
    lines: list[str] = []
    section = ""
    for line in TEXTS[draw(st.sampled_from(sorted(TEXTS)))].splitlines():
        body = line.strip()
        if body.endswith(":") and not line.startswith(" "):
            section = body
        free = section == "notes:" or body.startswith(("hint", "weave"))
        if not free:
            words = [
                w.upper() if w in RESERVED and draw(st.booleans()) else w for w in body.split()
            ]
            body = draw(GAPS).join(words)
            if draw(st.booleans()):
                body = body.replace(",", draw(st.sampled_from([",", " , ", "，"])))
        body = draw(st.sampled_from(["", " ", "\t", "      "])) + body
        if not body.rstrip().endswith("wire"):
            body += draw(COMMENTS)
        lines.append(body + draw(st.sampled_from(["", "", "  "])))
        if draw(st.integers(0, 5)) == 0:
            lines.append(draw(st.sampled_from(["", "  ", "# aside", "   # aside"])))
    return "\n".join(lines)


@pytest.mark.parametrize("name", TEXTS)
def test_every_word_of_every_recipe_gets_its_scope(name: str) -> None:
    assert judged(TEXTS[name]) > 15


@given(scrawled())
@settings(max_examples=60)
def test_words_in_capitals_and_odd_blanks_get_theirs_too(text: str) -> None:
    judged(text)


@pytest.mark.parametrize("rule", [r for r in WORDS if r not in ("heading", "title")])
def test_each_word_of_the_language_is_marked_in_its_section(rule: str) -> None:
    heading = next((h for h, r in LINE_RULES.items() if r == rule), "unit")
    marked: set[str] = set()
    for entry in WORDS[rule]:
        text = f"{heading}:\n  {entry.example}\n"
        line = f"  {entry.example}"
        scopes = scopes_of(text)[1]
        line = with_marks(line, ("panel",))
        for token in parser().parse_interactive(line, start=rule).iter_parse():
            if token.type not in WRITTEN:
                assert token.column is not None
                assert scopes[token.column - 1].startswith(WORD_SCOPES[rule]), (line, token)
                marked.update(token.type.lower().split("_"))
    assert marked == words_of(rule)


def test_headings_with_names_begin_a_section() -> None:
    for heading in ("unit left", "unit 12", "row odd", "UNIT 環", "first  row", "row end"):
        scopes = scopes_of(f"notes:\n  about this\n{heading} :\n  add A\n")
        assert scopes[2][0] == "entity.name.section.weave"
        assert scopes[3][2] == "keyword.control.step.weave"


@pytest.mark.parametrize("word", sorted(RESERVED - {"hint"}))
def test_no_word_is_marked_inside_a_longer_name(word: str) -> None:
    for name in (f"{word}s2", f"x{word}", f"{word}-like"):
        scopes = scopes_of(f"unit:\n  add {name} through {name}\n")[1]
        assert set(scopes[6 : 6 + len(name)]) <= {"variable.other.ring.weave"}


def test_a_mark_in_quotes_begins_no_comment() -> None:
    for text in ('weave "a # b"', 'unit:\n  hint the "#2" pliers', 'notes:\n  about  "#" is one'):
        last = scopes_of(text)[-1]
        assert not [s for s in last if s.startswith("comment")]
        assert source_from_text(text).plain[-1] == text.splitlines()[-1]
    assert scopes_of('unit:\n  hint 5" long # so')[-1][-1].startswith("comment")


def test_a_line_with_a_slip_does_not_colour_the_next() -> None:
    slip = RECIPES["simple"].replace("add A through prev A", 'add "A throuhg (prev A')
    good = RECIPES["simple"]
    assert scopes_of(slip)[-3:] == scopes_of(good)[-3:]


@given(st.one_of(mutated(), stream, st.text(max_size=80)))
@settings(max_examples=100)
def test_any_text_is_walked_through(text: str) -> None:
    assert len(scopes_of(text)) == len(source_from_text(text).lines)


def test_the_file_has_what_editors_look_for() -> None:
    assert GRAMMAR["scopeName"] == "source.weave"
    assert GRAMMAR["fileTypes"] == ["weave"]
    used = re.findall(r'"include": "#([\w-]+)"', json.dumps(GRAMMAR))
    assert set(used) == set(GRAMMAR["repository"]), "all that is there is used, and the other way"
    names = re.findall(r'"name": "([^"]+)"', json.dumps(GRAMMAR["repository"]))
    assert names
    assert all(re.fullmatch(r"[a-z]+(\.[a-z-]+)+\.weave", name) for name in names)
