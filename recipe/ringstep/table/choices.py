"""What may be typed at a place of a text: words of the language and names, each with its meaning.

Which words may stand there is asked of the grammar; what they mean, of the page of words.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from ringstep.language.next_words import Next, next_words
from ringstep.language.parse import Stands
from ringstep.language.pieces import marked, named_pieces
from ringstep.language.source import Span
from ringstep.language.syntax import PLACING, joined
from ringstep.language.words import PLACES, UNITS_OF_SIZE, plural
from ringstep.language.words_page import meaning_of
from ringstep.paper.sentences import short_kind
from ringstep.shop.metals import metal_words
from ringstep.table.seen import Seen, seen


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that may be typed.

    typed: the text itself, put in the place of `span`, which holds what of it is there already.
    says: its meaning in a few words. kind: what it is.
    """

    typed: str
    says: str
    kind: Literal["word", "heading", "ring", "name", "measure", "material"]
    span: Span


#: The letters of a word that is being typed, up to the cursor.
_BEGUN = re.compile(r"[^\s,:#\"=]*\Z")
#: Sections of which there may be several, with a name or number of their own.
_SEVERAL = frozenset({"unit", "row", "piece", "picture", "again", "extra place", "shared place"})
#: Which places beside this one the rings of other units have, by the section of the step.
_PLACES = {
    "unit": ("prev",),
    "again": ("prev", "next"),
    **dict.fromkeys(("row", "last row", "extra place", "shared place"), ("above", "prev")),
    "first row": ("prev",),
    **dict.fromkeys(("finish", "row end"), ("last", "first")),
}
#: Rings of one name that are offered one by one.
_MOST_NUMBERED = 6


def completions(text: str, line: int, column: int) -> tuple[Choice, ...]:
    """What may be typed at a place; only what goes on from the letters before it there."""
    now = seen(text)
    if now is None or not 1 <= line <= len(now.source.lines):
        return ()
    before = now.source.lines[line - 1][: max(column - 1, 0)]
    if len(before) > len(now.line(line)):
        return ()  # in a comment
    before = now.line(line)[: len(before)]
    begun = _BEGUN.search(before)
    assert begun is not None
    span = Span(line, begun.start() + 1, len(before) + 1)
    head = before[: begun.start()]
    stands = _stands(now, line)
    found: dict[str, tuple[str, str]] = {}
    for typed, says, kind in _offered(now, line, head, stands):
        if typed.casefold().startswith(begun[0].casefold()):
            found.setdefault(typed, (says, kind))
    return tuple(Choice(t, says, kind, span) for t, (says, kind) in found.items())  # type: ignore[arg-type]


def _stands(now: Seen, line: int) -> Stands:
    """The section in which a line stands, or would if something were typed there."""
    if (own := now.standing.get(line)) and not own.heads:
        return own
    above = [n for n in now.standing if n < line]
    return Stands(now.standing[max(above)].section if above else "", False)


_Offer = tuple[str, str, str]


def _offered(now: Seen, line: int, head: str, stands: Stands) -> Iterator[_Offer]:
    """Everything that may stand at a place, the likeliest first."""
    if stands.section == "notes" and head.strip():
        return
    rule = stands.rule
    if rule in ("notes", "heading"):
        after = Next()
    else:
        text = marked(head, named_pieces(now.source)) if stands.section == "join" else head
        after = next_words(text, rule)
    words = head.casefold().replace(",", " ").split()
    names = [*_names(now, line, words, stands)] if after.name else []
    yield from (name for name in names if name[2] != "material")
    if after.piece:
        for made in now.view.recipe.made:
            for number in range(1, min(made.times, 9) + 1):
                typed = f"{made.name.value} {number}" if made.times > 1 else made.name.value
                yield typed, "a piece made first", "name"
    for word in after.words:
        yield word, meaning_of(rule, stands.section, words, word), "word"
    yield from (name for name in names if name[2] == "material")
    if not head.strip():
        if rule == "step" and any(n < line for n in now.steps):
            yield "hint", "your own words, printed with the step above", "word"
        yield from _headings(now)


def _headings(now: Seen) -> Iterator[_Offer]:
    """The headings of sections that are not there yet, and of those that may be there again."""
    there = now.view.recipe.headings
    for word in next_words("", "heading").words:
        if word in _SEVERAL or word not in there:
            yield f"{word}:", meaning_of("heading", "", (), word), "heading"


# -- names ---------------------------------------------------------------------------------------


def _names(now: Seen, line: int, words: list[str], stands: Stands) -> Iterator[_Offer]:
    """The names that may stand at a place, and measures and materials.

    words: those of the line before it, in lower case.
    """
    recipe, last = now.view.recipe, words[-1] if words else ""
    if last[-1:].isdigit() and stands.rule in ("ring_kind", "set_line", "part_kind"):
        yield from ((unit, "", "measure") for unit in UNITS_OF_SIZE)
        return
    match stands.rule:
        case "ring_kind" if not words:
            described = {kind.name.role.casefold() for kind in recipe.written}
            roles = (r for r in now.roles if r not in recipe.part_roles)
            yield from _plain(now, (r for r in roles if r.casefold() not in described))
            if "all" not in described:
                yield "all", "every ring without a line of its own", "word"
        case "ring_kind":
            yield from ((metal, "a material", "material") for metal in metal_words())
        case "part_kind" if words:
            yield "opens", "it can be opened like a ring", "word"
        case "set_line" if not words:
            for size in dict.fromkeys(one.size for one in recipe.sizes):
                yield size, "a set of sizes", "name"
        case "set_line":
            yield "all", "every ring without a line of its own", "word"
            yield from _plain(now, now.roles)
        case "promise" if "ar" not in words:
            yield from _plain(now, now.roles)
            if not words:
                yield "all", "every ring without a promise of its own", "word"
        case "piece_line":
            yield from _of_piece(now, words, last)
        case "step":
            yield from _in_step(now, line, words, last)


def _plain(now: Seen, roles: Iterable[str]) -> Iterator[_Offer]:
    """Names with what the recipe says of their rings."""
    recipe = now.view.recipe
    parts = {part.name.role: part.words for part in recipe.parts}
    for role in roles:
        sizes = [short_kind(kind) for kind in recipe.kinds_of(role, 1)[:1]]
        yield role, parts.get(role, "".join(sizes)), "ring"


def _of_piece(now: Seen, words: list[str], last: str) -> Iterator[_Offer]:
    """The names that may stand in a line of `piece:`."""
    recipe = now.view.recipe
    if last == "variant":
        yield from ((v.name, f"lay {', '.join(v.sides)}", "name") for v in recipe.variants)
        return
    blocks = (b for b in recipe.every_block if b.kind in ("unit", "row"))
    counted = words[:1] == ["sample"] or "of" in words  # so many units, up to the '='
    if "=" in "".join(words) or (last[-1:].isdigit() and not counted):
        yield from ((unit, "", "measure") for unit in UNITS_OF_SIZE)
    else:
        labels = dict.fromkeys(b.label for b in blocks if isinstance(b.label, str))
        yield from ((label, "units of that name", "name") for label in labels)


def _in_step(now: Seen, line: int, words: list[str], last: str) -> Iterator[_Offer]:
    """The rings that may be named in a step, with their places."""
    new = words[0] in PLACING and not set(words) & {"through", "around", "inside"}
    if new:
        yield from _plain(now, now.roles)
        return
    blocks = now.view.recipe.every_block
    above = [b for b in blocks if b.span.line < line]
    if not above:
        return
    block = max(above, key=lambda b: b.span.line)
    everywhere = dict.fromkeys(role for b in blocks for role in b.placed)
    if last in PLACES or block.kind == "join":
        yield from ((role, "", "ring") for role in everywhere)
        return
    here: dict[str, list[int]] = {}
    for step in block.steps:
        for role, index in step.placed if step.span.line < line else ():
            here.setdefault(role, []).append(index)
    where = "of this section" if block.kind in ("start", "finish") else "of this unit"
    for role, indexes in here.items():
        yield role, f"{plural(len(indexes), 'ring')} {where}", "ring"
        if 1 < len(indexes) <= _MOST_NUMBERED:
            yield from ((joined(role, i), f"one of them, {where}", "ring") for i in indexes)
    for place in _PLACES.get(block.kind, ()):
        says = meaning_of("step", block.kind, (), place).partition(";")[0]
        yield from ((f"{place} {role}", says, "ring") for role in everywhere)
