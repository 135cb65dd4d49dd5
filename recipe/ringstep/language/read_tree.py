"""One parsed line becomes nodes of the syntax tree: names, sizes, steps, promises.

Comes in: Lark's tree of one line. Goes out: frozen nodes with their spans, collected section by
section, and a `Trouble` for what reads well and still cannot be meant.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from ringstep.language.findings import Trouble
from ringstep.language.promised import (
    ByPlace,
    ByRole,
    ComesOut,
    CountOf,
    InAll,
    Lies,
    LiesFolded,
    Meets,
    Period,
    UnitSize,
    Wanted,
    WorkingRange,
)
from ringstep.language.source import Source, Span
from ringstep.language.syntax import (
    ONE_ANOTHER,
    Block,
    Name,
    NewItem,
    OfPiece,
    Ref,
    Size,
    Stated,
    Step,
    split_name,
)
from ringstep.language.tree import Variant
from ringstep.language.words import RESERVED, UNITS_OF_SIZE

if TYPE_CHECKING:
    from lark import Token

#: A Lark tree; its own types do not say what its children are.
Node = Any
#: A number longer than this is a slip of the keyboard, and slow to print besides.
MOST_DIGITS = 12
#: Stands behind the name of a piece made first, in the place of blanks.
MARK = "\x1f"

#: What is told of each piece that is made first.
OF_PIECE = frozenset(
    {"blocks", "steps", "piece", "order", "samples", "variant", "back_and_forth", "shape", "made"}
)


class TreeReader:
    """Builds the tree line by line; holds what one recipe has collected so far.

    told: what its lines say, one after the other, each with the field of the tree (or of its
    piece) that it belongs to.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.troubles: list[Trouble] = []
        self.told: list[tuple[str, Any]] = []
        self.heading: str | None = None
        self.headings: set[str] = set()
        self.line = 0
        self.numbered = 0
        self.numbered_before: list[int] = []  # by block: the lines of steps before its heading
        self.sections: dict[tuple[str, str | int | None], Block] = {}  # the first of each heading
        self.unread: set[str] = set()
        self.pieces: tuple[str, ...] = ()  # what the pieces made first are called
        self.since = 0  # where what is told of the piece in hand begins

    def tell(self, field: str, thing: Any) -> None:
        self.told.append((field, thing))

    def each(self, field: str) -> tuple[Any, ...]:
        """All that was told of a field; of the piece in hand alone where pieces differ in it."""
        told = self.told[self.since :] if field in OF_PIECE else self.told
        return tuple(thing for of, thing in told if of == field)

    # -- small pieces --------------------------------------------------------------------------

    def span(self, part: Node | Token) -> Span:
        from lark import Token

        at = part if isinstance(part, Token) else part.meta
        return Span(self.line, at.column or 1, at.end_column or 1)

    def trouble(self, span: Span, message: str, *help: str) -> None:
        self.troubles.append(Trouble(span, message, help))

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
        if self.heading == "expect" and word.casefold() in ("ring", "rings"):
            self.trouble(
                span, f"a promise counts rings without '{word}'", f"write '{before.strip()}'"
            )
        elif before.endswith(","):
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
        found = (str(c.data) for c in tree.children if is_of(c, *_PLACE_RULES))
        places = tuple(place.replace("_", " ") for place in found)
        for child in (c for c in tree.children if is_of(c, "of_strand")):
            if child.children[0].casefold() in RESERVED:
                self.reserved(str(child.children[0]), self.span(child))
            places += (str(child.children[0]),)
        there = any(is_of(c, "if_there") for c in tree.children)
        name = next(self.name(c) for c in tree.children if is_of(c, "name"))
        number = None
        if tree.data == "ref_numbered":
            number = self.int(next(c for c in tree.children if not hasattr(c, "data")))
        of = self.of_piece(tree) if tree.data == "ref_of_piece" else None
        return Ref(places, name, there, self.span(tree), number, of=of)

    def of_piece(self, tree: Node) -> OfPiece:
        """The piece in which a ring stands, and the edge along which the step goes."""
        word, _, number = str(tree.children[0]).partition(MARK)
        number = number.lstrip(MARK)[:MOST_DIGITS]
        edge = next((c for c in tree.children if is_of(c, "edge")), None)
        which = str(edge.children[0].data).replace("_", " ") if edge else ""
        back = edge is not None and edge.children[1] is not None
        return OfPiece(word, int(number) if number else None, which, back)

    def refs(self, tree: Node | None) -> tuple[Ref, ...]:
        return () if tree is None else tuple(self.ref(c) for c in tree.children)

    def passes(self, tree: Node) -> tuple[Ref, ...]:
        """The rings gone through; `then` stands before those further along the new ring."""
        found: list[Ref] = []
        then = False
        for child in tree.children:
            if is_of(child, "then"):
                then = True
            else:
                ref = self.one_another(child) if is_of(child, "one_another") else self.ref(child)
                found.append(replace(ref, then=then))
                then = False
        return tuple(found)

    def one_another(self, tree: Node) -> Ref:
        """The rings of the step itself, in its list."""
        span = self.span(tree)
        return Ref((), Name(ONE_ANOTHER, None, span), False, span)

    def number(self, token: Token) -> Fraction:
        if (number := _fraction(token)) is None:
            self.trouble(self.span(token), f"'{token[:24]}' is not a number one can work with")
        return number or Fraction(0)

    def size(self, tree: Node) -> Size:
        number, unit = tree.children
        span, text = self.span(tree), str(number) + (f" {unit}" if unit else "")
        if unit is not None and unit.casefold() not in UNITS_OF_SIZE:
            from ringstep.language.reading import explain_unit

            rule = "piece_line" if self.heading == "piece" else "ring_kind"
            line = self.source.plain[self.line - 1]
            if told := explain_unit(line, self.line, rule, str(unit), self.span(unit)):
                self.troubles.append(told)
        if (value := _fraction(number)) is None:
            self.trouble(span, f"the size '{text[:24]}' is not a length", "write it as in '1.2 mm'")
        return Size(value or Fraction(0), str(unit) if unit else None, span, text)

    # -- one line of each section ----------------------------------------------------------------

    def read_title(self, tree: Node) -> None:
        token = tree.children[0]
        line = self.source.lines[self.line - 1]
        self.tell("title", line[token.column : token.end_column - 2])  # as written, in its quotes

    def read_promise(self, tree: Node) -> None:
        parts, span = tree.children, self.span(tree)
        match tree.data:
            case "meets":
                self.tell("meets", Meets(self.name(parts[0]), self.choices(parts[1:]), span))
            case "lies_around" | "lies_inside":
                how: Any = str(tree.data).removeprefix("lies_")
                self.tell("lies", Lies(self.name(parts[0]), self.choices(parts[1:]), span, how))
            case "comes_out":
                self.tell("coming_out", ComesOut(self.name(parts[0]), span))
            case "lies_folded":
                self.tell("folded", LiesFolded(self.name(parts[0]), span))
            case "unit_size":
                self.tell("unit_sizes", UnitSize(self.int(parts[0]), span))
            case "period":
                which = str(parts[0]) if parts[0] else None
                every = self.int(parts[1]) if parts[1] else 1
                self.tell("periods", Period(which, every, span))
            case "working_range" | "working_from":
                name = self.name(parts[0]) if parts[0] else None
                if name and name.role.casefold() == "all" and name.index is None:
                    name = None
                ends = [self.number(p.children[0]) for p in parts[1:-1]]
                origin = " ".join(parts[-1].children) if parts[-1] else ""
                high = ends[1] if len(ends) > 1 else None
                if high is not None and high < ends[0]:
                    self.trouble(
                        span,
                        "the AR range goes from the larger to the smaller number",
                        f"write 'AR {parts[2].children[0]} to {parts[1].children[0]}'",
                    )
                self.tell("ranges", WorkingRange(name, ends[0], high, origin, span))

    def choices(self, trees: list[Node]) -> tuple[Wanted, ...]:
        """What a promise may come to, one of them at least."""
        return tuple(self.wanted(tree) for tree in trees)

    def wanted(self, tree: Node) -> Wanted:
        if tree.data == "in_all":
            return InAll(self.int(tree.children[0]))
        counts = []
        for item in tree.children:
            number, *places, role = item.children
            if role.casefold() in RESERVED:
                self.reserved(str(role), self.span(role))
            words = tuple(str(p.data) for p in places)
            if {"prev", "next"} <= set(words) or {"above", "below"} <= set(words):
                said = " ".join(words)
                self.trouble(
                    self.span(item),
                    f"'{said}' goes one way and back again",
                    "name the place by one way only, such as 'prev' or 'above next'",
                )
            counts.append(CountOf(self.int(number), str(role), words))
        found = tuple(counts)
        return ByPlace(found) if any(c.places for c in found) else ByRole(found)

    def read_variant(self, tree: Node) -> None:
        sides = tuple(str(c.data) for c in tree.children[1:])
        self.tell("variants", Variant(str(tree.children[0]), sides, self.span(tree)))  # type: ignore[arg-type]

    def new_items(self, tree: Node) -> tuple[NewItem, ...]:
        found = []
        for item in tree.children:
            if is_of(item, "several"):
                count, word = self.int(item.children[0]), item.children[1]
                if count == 0:
                    self.trouble(
                        self.span(item),
                        "this step places 0 rings",
                        "write how many, or take the step out",
                    )
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
                    f"this step says '{_SAID.get(what, what.replace('_', ' '))}' twice"
                    if what in found
                    else "this step says both 'around' and 'inside'",
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
                case "through":
                    found[what] = self.passes(part.children[0])
                case "around" | "inside":
                    found[what] = self.refs(part.children[0])
                case "toward":
                    side = str(part.children[0].data).replace("_", " ")
                    found[what] = Stated(side, self.span(part))
                case "picks":
                    self.int(part.children[0])
                    found[what] = Stated(str(part.children[0])[:MOST_DIGITS], self.span(part))
                case "lay":
                    found[what] = Stated(str(part.children[0].data), self.span(part))
                case "skip_at_edge" | "at_one_place":
                    found[what] = True
        self.against_itself(tree, found)
        self.tell("steps", Step(self.numbered, kind, self.span(tree), **found))  # type: ignore[arg-type]

    def against_itself(self, tree: Node, found: dict[str, Any]) -> None:
        """What a step says of places and sides that cannot both be."""
        through: tuple[Ref, ...] = found.get("through", ())
        toward: Stated | None = found.get("toward")
        if "at_one_place" in found and any(r.then for r in through):
            self.trouble(
                self.span(tree),
                "this step says both 'then' and 'at one place'",
                "keep one of the two: 'then' is further along the new ring",
            )
        elif "at_one_place" in found and len(through) < 2 and not found.get("through"):
            self.trouble(
                self.span(tree),
                "'at one place' is said of rings gone through, and this step goes through none",
                "take 'at one place' out, or name the rings after 'through'",
            )
        count = sum(len(item.indexes) for item in found.get("new", ()))
        named = " ".join(r.name.role.casefold() for r in through if not r.one_another)
        if "other" in named or "selves" in named:
            from ringstep.language.reworded import one_another  # 'through eachother' is read

            if habit := one_another(self.source.plain[self.line - 1]):
                where = Span(self.line, habit.start + 1, habit.end + 1)
                self.trouble(where, habit.message, habit.help)
        each = [r for r in through if r.one_another]
        if len(each) > 1:
            self.trouble(each[1].span, "this list says 'one another' twice", "keep one of the two")
        elif each and count < 2:
            self.trouble(
                each[0].span,
                f"'one another' is said of two rings or more, and this step places {count}",
                "write how many it places, as in 'add 5 petal through one another'",
            )
        if toward and toward.value == "each side" and count % 2:
            self.trouble(
                toward.span,
                f"'one to each side' takes rings in twos, and this step places {count}",
                "write 'on the left' or 'on the right'",
            )


def _fraction(token: Token) -> Fraction | None:
    """A number as written; None for one that nobody can work with."""
    try:
        return Fraction(str(token)) if len(token) <= MOST_DIGITS else None
    except ZeroDivisionError:
        return None


_SAID = {"toward": "on the left' or 'on the right"}
_PLACE_RULES = ("prev", "next", "above", "first", "last", "every", "first_row", "last_row")


def is_of(part: Any, *rules: str) -> bool:
    """True for a part of a line that one of the rules of the grammar read."""
    return getattr(part, "data", None) in rules
