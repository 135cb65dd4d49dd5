"""Text to tree: headings are split off by hand, every other line is read by Lark on its own.

Comes in: a `Source`. Goes out: a `Recipe` and the list of what could not be read. One unread line
never hides the next, since each line is parsed from a start of its own.
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Any

from recipe.library import cache_folder, grammar_text
from recipe.reading import (
    Trouble,
    explain_bare_heading,
    explain_heading,
    explain_line,
    explain_section,
)
from recipe.source import Source, Span
from recipe.syntax import (
    Block,
    Meets,
    Name,
    NewItem,
    Note,
    PartKind,
    Period,
    Piece,
    Recipe,
    Ref,
    RingKind,
    Size,
    Stated,
    Step,
    UnitSize,
    Variant,
    WorkingRange,
    split_name,
)
from recipe.words import HEADINGS, RESERVED

if TYPE_CHECKING:
    from lark import Lark, Token

#: A Lark tree; its own types do not say what its children are.
Node = Any

_STARTS = ["title", "heading", "ring_kind", "part_kind", "promise", "variant", "step", "piece_line"]
_LINE_RULE = {
    "rings": "ring_kind",
    "parts": "part_kind",
    "expect": "promise",
    "variants": "variant",
    "piece": "piece_line",
    "notes": "notes",
}
_HINT = re.compile(r"\s*hint\b[ ]*(.*?)\s*\Z", re.I)
#: A number longer than this is a slip of the keyboard, and slow to print besides.
MOST_DIGITS = 12


@cache
def parser() -> Lark:
    """The line parser, from the user's cache where there is one (a sixth of the time)."""
    from lark import Lark

    folder = cache_folder()
    where = str(folder / "weave.parser") if folder else False
    options: dict[str, Any] = {"parser": "lalr", "start": _STARTS, "propagate_positions": True}
    return Lark(grammar_text(), cache=where, **options)


class _Reader:
    """Builds the tree line by line; holds what one recipe has collected so far."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.troubles: list[Trouble] = []
        self.title: str | None = None
        self.rings: list[RingKind] = []
        self.parts: list[PartKind] = []
        self.meets: list[Meets] = []
        self.unit_sizes: list[UnitSize] = []
        self.periods: list[Period] = []
        self.ranges: list[WorkingRange] = []
        self.variants: list[Variant] = []
        self.notes: list[Note] = []
        self.blocks: list[Block] = []
        self.steps: list[Step] = []
        self.piece: Piece | None = None
        self.piece_extras: dict[str, Any] = {}
        self.heading: str | None = None
        self.headings: set[str] = set()
        self.line = 0
        self.numbered = 0

    # -- small pieces --------------------------------------------------------------------------

    def span(self, part: Node | Token) -> Span:
        from lark import Token

        at = part if isinstance(part, Token) else part.meta
        return Span(self.line, at.column or 1, at.end_column or 1)

    def trouble(self, span: Span, message: str, *help: str, here: str = "") -> None:
        self.troubles.append(Trouble(span, message, here, tuple(help)))

    def int(self, token: Token) -> int:
        if len(token) > MOST_DIGITS:
            self.trouble(
                self.span(token),
                f"the number {token[:6]}… has {len(token)} digits",
                f"write a number of at most {MOST_DIGITS} digits",
            )
            return 1
        return int(token)

    def name(self, tree: Node) -> Name:
        word, number = str(tree.children[0]), tree.children[1]
        if word.casefold() in RESERVED:
            self.reserved(word, self.span(tree.children[0]))
        if number is not None:
            return Name(word, self.int(number), self.span(tree))
        role, index = split_name(word)
        if index is not None and len(str(index)) > MOST_DIGITS:
            index = 1
        return Name(role, index, self.span(tree))

    def reserved(self, word: str, span: Span) -> None:
        line = self.source.plain[self.line - 1]
        before = line[: span.column - 1].rstrip()
        if before.endswith(","):
            self.trouble(
                span,
                f"there is a comma before '{word}', so it reads as the name of a ring",
                f"take the comma out: '… {word} …'",
            )
        else:
            self.trouble(
                span,
                f"'{word}' is a word of the language, so no ring can be called that",
                "write the ring's name here, or choose another name for it",
            )

    def word_name(self, token: Token) -> Name:
        if token.casefold() in RESERVED:
            self.reserved(str(token), self.span(token))
        role, index = split_name(str(token))
        return Name(role, index, self.span(token))

    def ref(self, tree: Node) -> Ref:
        places = tuple(str(c.data) for c in tree.children if _is(c, *_PLACE_RULES))
        there = any(_is(c, "if_there") for c in tree.children)
        name = next(self.name(c) for c in tree.children if _is(c, "name"))
        number = None
        if tree.data == "ref_numbered":
            number = self.int(next(c for c in tree.children if not hasattr(c, "data")))
        return Ref(places, name, there, self.span(tree), number)

    def refs(self, tree: Node | None) -> tuple[Ref, ...]:
        return () if tree is None else tuple(self.ref(c) for c in tree.children)

    def number(self, token: Token) -> Fraction:
        try:
            if len(token) > MOST_DIGITS:
                raise ValueError
            return Fraction(str(token))
        except (ValueError, ZeroDivisionError):
            self.trouble(self.span(token), f"'{token[:24]}' is not a number one can work with")
            return Fraction(1)

    def size(self, tree: Node) -> Size:
        number, unit = tree.children
        span, text = self.span(tree), str(number) + (f" {unit}" if unit else "")
        try:
            if len(number) > MOST_DIGITS:
                raise ValueError
            return Size(Fraction(str(number)), str(unit) if unit else None, span, text)
        except (ValueError, ZeroDivisionError):
            self.trouble(span, f"the size '{text[:24]}' is not a length", "write it as in '1.2 mm'")
            return Size(Fraction(1), "mm", span, text)

    # -- one line of each section ----------------------------------------------------------------

    def read_title(self, tree: Node) -> None:
        self.title = str(tree.children[0])[1:-1]

    def read_ring_kind(self, tree: Node) -> None:
        found: dict[str, Any] = {
            "wire": None,
            "inside_diameter": None,
            "material": "",
            "colour": "",
        }
        for part in tree.children[1:]:
            value = part.children[0]
            if part.data in ("wire", "inside_diameter"):
                found[part.data] = self.size(value)
            else:
                words = " ".join(value.children)
                found[part.data] = f"{found[part.data]}, {words}".removeprefix(", ")
        self.rings.append(
            RingKind(
                self.name(tree.children[0]),
                found["wire"],
                found["inside_diameter"],
                found["material"],
                found["colour"],
                self.span(tree),
            )
        )

    def read_part_kind(self, tree: Node) -> None:
        words = [" ".join(w.children) for w in tree.children[1:]]
        opens = any(w.casefold() == "opens" for w in words)
        kept = ", ".join(w for w in words if w.casefold() != "opens")
        self.parts.append(PartKind(self.name(tree.children[0]), kept, opens, self.span(tree)))

    def read_promise(self, tree: Node) -> None:
        parts, span = tree.children, self.span(tree)
        match tree.data:
            case "meets":
                self.meets.append(Meets(self.name(parts[0]), self.int(parts[1]), None, span))
            case "meets_each":
                counts = [(self.int(c.children[0]), c.children[1]) for c in parts[1:]]
                for _, word in counts:
                    if word.casefold() in RESERVED:
                        self.reserved(str(word), self.span(word))
                by_role = tuple((str(word), n) for n, word in counts)
                total = sum(n for n, _ in counts)
                self.meets.append(Meets(self.name(parts[0]), total, by_role, span))
            case "unit_size":
                self.unit_sizes.append(UnitSize(self.int(parts[0]), span))
            case "period":
                which = str(parts[0]) if parts[0] else None
                self.periods.append(Period(which, self.int(parts[1]), span))
            case "working_range" | "working_from":
                name = self.name(parts[0]) if parts[0] else None
                ends = [self.number(p.children[0]) for p in parts[1:-1]]
                origin = " ".join(parts[-1].children) if parts[-1] else ""
                high = ends[1] if len(ends) > 1 else None
                self.ranges.append(WorkingRange(name, ends[0], high, origin, span))

    def read_variant(self, tree: Node) -> None:
        sides = tuple(str(c.data) for c in tree.children[1:])
        self.variants.append(Variant(str(tree.children[0]), sides, self.span(tree)))  # type: ignore[arg-type]

    def new_items(self, tree: Node) -> tuple[NewItem, ...]:
        found = []
        for item in tree.children:
            if _is(item, "several"):
                count, word = self.int(item.children[0]), item.children[1]
                found.append(NewItem(self.word_name(word), count, self.span(item)))
            else:
                found.append(NewItem(self.name(item), None, self.span(item)))
        return tuple(found)

    def read_step(self, tree: Node) -> None:
        self.numbered += 1
        kind = str(tree.data).replace("_", " ")
        found: dict[str, Any] = {}
        for part in tree.children:
            if part is None:
                continue
            what = str(part.data)
            if what in found or (
                what in ("around", "inside") and found.keys() & {"around", "inside"}
            ):
                self.trouble(
                    self.span(part),
                    f"step {self.numbered} says '{what.replace('_', ' ')}' twice",
                    "keep one of the two, or make two steps of it",
                )
                continue
            match what:
                case "new":
                    found["new"] = self.new_items(part)
                case "refs":
                    found["refs"] = self.refs(part)
                case "ref" | "ref_numbered":
                    found["refs"] = (self.ref(part),)
                case "through" | "around" | "inside":
                    found[what] = self.refs(part.children[0])
                case "picks":
                    self.int(part.children[0])
                    found[what] = Stated(str(part.children[0])[:MOST_DIGITS], self.span(part))
                case "lay":
                    found[what] = Stated(str(part.children[0].data), self.span(part))
                case "skip_at_edge":
                    found[what] = True
        self.steps.append(Step(self.numbered, kind, self.span(tree), **found))  # type: ignore[arg-type]

    def read_piece_line(self, tree: Node) -> None:
        span, parts = self.span(tree), tree.children
        match tree.data:
            case "chain" | "loop":
                extent = parts[0]
                if extent.data == "count":
                    piece = Piece(str(tree.data), span, self.int(extent.children[0]))  # type: ignore[arg-type]
                else:
                    length = self.size(extent)
                    piece = Piece(str(tree.data), span, None, length=length)  # type: ignore[arg-type]
            case "sheet" | "tube":
                rows, units = (self.int(t) for t in parts[0].children)
                piece = Piece(str(tree.data), span, units, rows)  # type: ignore[arg-type]
            case "back_and_forth":
                self.piece_extras["back_and_forth"] = True
                return
            case "order":
                names = tuple(Stated(str(t), self.span(t)) for t in parts)
                self.piece_extras["order"] = names
                return
            case "chosen_variant":
                self.piece_extras["variant"] = Stated(str(parts[0]), self.span(parts[0]))
                return
            case _:
                self.piece_extras["sample"] = (self.int(parts[0]), self.size(parts[1]))
                return
        if self.piece is not None:
            self.trouble(
                span,
                f"the piece is already said to be a {self.piece.kind} on line"
                f" {self.piece.span.line}",
                "keep one of the two lines",
            )
        else:
            self.piece = piece

    # -- lines and headings ----------------------------------------------------------------------

    def close_block(self) -> None:
        if self.blocks and self.steps:
            self.blocks[-1] = replace(self.blocks[-1], steps=tuple(self.steps))
        self.steps = []

    def open_section(self, text: str) -> None:
        from lark.exceptions import LarkError

        self.close_block()
        start = len(text) - len(text.lstrip()) + 1
        span = Span(self.line, start, len(text.rstrip()) + 1)
        try:
            tree: Node = parser().parse(text.rstrip()[:-1], start="heading")
        except LarkError:
            self.heading = "?"
            self.troubles.append(explain_heading(text, span))
            return
        kind = str(tree.data).removeprefix("h_").replace("_", " ")
        label = None
        if tree.children and tree.children[0] is not None:
            token = tree.children[0]
            label = self.int(token) if token.isdigit() else str(token)
        twin = next((b for b in self.blocks if (b.kind, b.label) == (kind, label)), None)
        if twin or (kind in _LINE_RULE and kind in self.headings):
            where = f" (the first is on line {twin.span.line})" if twin else ""
            self.trouble(
                span, f"there are two '{text.strip()}' sections{where}", "make one of them"
            )
        self.heading = kind
        self.headings.add(kind)
        if kind not in _LINE_RULE:
            self.blocks.append(Block(kind, label, span, ()))  # type: ignore[arg-type]

    def read_line(self, text: str) -> None:
        from lark.exceptions import LarkError

        if self.heading == "?":
            return
        if self.heading == "notes":
            words = text.strip().split(None, 1)
            span = Span(self.line, len(text) - len(text.lstrip()) + 1, len(text.rstrip()) + 1)
            self.notes.append(Note(words[0].casefold(), words[1] if len(words) > 1 else "", span))
            return
        if self.heading is None:
            rule = "title"
        else:
            rule = _LINE_RULE.get(self.heading, "step")
        if rule == "step" and (hint := _HINT.match(text)):
            self.read_hint(hint[1])
            return
        try:
            tree = parser().parse(text, start=rule)
        except LarkError as fault:
            self.numbered += rule == "step"
            self.troubles.append(explain_line(text, self.line, rule, self.heading, fault))
            return
        before = len(self.troubles)
        getattr(self, f"read_{rule}")(tree)
        del self.troubles[before + 1 :]  # one line, one message

    def read_hint(self, words: str) -> None:
        if not self.steps:
            line = self.source.plain[self.line - 1]
            at = len(line) - len(line.lstrip()) + 1
            self.trouble(
                Span(self.line, at, len(line.rstrip()) + 1),
                "this hint stands before any step",
                "move it under the step it belongs to",
            )
        else:
            last = self.steps[-1]
            self.steps[-1] = replace(last, hint=f"{last.hint} {words}".strip())

    def read(self) -> tuple[Recipe, tuple[Trouble, ...]]:
        for line, text in enumerate(self.source.plain, 1):
            self.line = line
            if not text.strip():
                continue
            if (text.rstrip().endswith(":") and self.heading != "notes") or _HEADING.match(text):
                self.open_section(text)
            elif " ".join(text.casefold().split()) in HEADINGS and self.heading != "notes":
                self.open_section(f"{text.rstrip()}:")
                self.troubles.append(explain_bare_heading(text, self.line))
            else:
                self.read_line(text)
        self.close_block()
        recipe = Recipe(
            self.source,
            self.title,
            tuple(self.rings),
            tuple(self.parts),
            tuple(self.meets),
            tuple(self.unit_sizes),
            tuple(self.periods),
            tuple(self.ranges),
            tuple(self.variants),
            tuple(self.notes),
            tuple(self.blocks),
            replace(self.piece, **self.piece_extras) if self.piece else None,
            frozenset(self.headings),
        )
        return recipe, (*self.troubles, *explain_section(recipe, bool(self.troubles)))


_PLACE_RULES = ("prev", "next", "above", "first", "last")


def _is(part: Any, *rules: str) -> bool:
    return getattr(part, "data", None) in rules


_HEADING = re.compile(
    r"\s*(rings|parts|expect|variants|notes|start|unit(\s+\S+)?|first\s+row|row|again|row\s+end"
    r"|finish|piece)\s*:\s*\Z",
    re.I,
)


def parse(source: Source) -> tuple[Recipe, tuple[Trouble, ...]]:
    """Read a recipe; what cannot be read is told in the second value and left out of the first."""
    return _Reader(source).read()
