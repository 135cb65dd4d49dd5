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
from ringstep.language.read_shape import shape_line
from ringstep.language.source import Source, Span
from ringstep.language.syntax import (
    ONE_ANOTHER,
    Block,
    Name,
    NewItem,
    PartKind,
    Ref,
    RingKind,
    Size,
    Stated,
    Step,
    split_name,
)
from ringstep.language.tree import KeyLine, PictureRow, Piece, Sample, Variant
from ringstep.language.words import RESERVED, UNITS_OF_SIZE

if TYPE_CHECKING:
    from lark import Token

#: A Lark tree; its own types do not say what its children are.
Node = Any
#: A number longer than this is a slip of the keyboard, and slow to print besides.
MOST_DIGITS = 12


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

    def tell(self, field: str, thing: Any) -> None:
        self.told.append((field, thing))

    def each(self, field: str) -> tuple[Any, ...]:
        """All that was told of a field."""
        return tuple(thing for of, thing in self.told if of == field)

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
        places = tuple(str(c.data) for c in tree.children if _is(c, *_PLACE_RULES))
        there = any(_is(c, "if_there") for c in tree.children)
        name = next(self.name(c) for c in tree.children if _is(c, "name"))
        number = None
        if tree.data == "ref_numbered":
            number = self.int(next(c for c in tree.children if not hasattr(c, "data")))
        return Ref(places, name, there, self.span(tree), number)

    def refs(self, tree: Node | None) -> tuple[Ref, ...]:
        return () if tree is None else tuple(self.ref(c) for c in tree.children)

    def passes(self, tree: Node) -> tuple[Ref, ...]:
        """The rings gone through; `then` stands before those further along the new ring."""
        found: list[Ref] = []
        then = False
        for child in tree.children:
            if _is(child, "then"):
                then = True
            else:
                ref = self.one_another(child) if _is(child, "one_another") else self.ref(child)
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

    def read_ring_kind(self, tree: Node) -> None:
        found: dict[str, Any] = {"wire": None, "inside": None, "material": "", "colour": ""}
        for part in tree.children[1:]:
            if part.data == "stays_closed":
                found["stays_closed"] = True
                continue
            what, value = str(part.data).removesuffix("_diameter"), part.children[0]
            if what in ("wire", "inside"):
                if found[what] is not None:
                    self.trouble(
                        self.span(part), f"the line gives '{what}' twice", "keep one of the two"
                    )
                found[what] = self.size(value)
            else:
                words = " ".join(value.children)
                if words.casefold().endswith(" stays closed"):
                    self.trouble(
                        self.span(part),
                        f"'{words}' would be read as one {what}",
                        f"write '{words[: -len(' stays closed')]}, stays closed'",
                    )
                if what == "material" and words.casefold().startswith("color "):
                    self.trouble(
                        self.span(part),
                        f"'{words[:5]}' would be read as a metal; the word is 'colour'",
                        f"write 'colour {words[6:]}'",
                    )
                found[what] = f"{found[what]}, {words}".removeprefix(", ")
        if found["wire"] is None or found["inside"] is None:
            from ringstep.language.reading import (
                explain_sizes,  # 'A 18ga wire' reads as ring 18 of 'ga wire',
            )

            if told := explain_sizes(self.source.plain[self.line - 1], self.line):
                self.troubles.append(told)
        self.tell("rings", RingKind(self.name(tree.children[0]), **found, span=self.span(tree)))

    def read_part_kind(self, tree: Node) -> None:
        name, *items = tree.children
        sizes: dict[str, Size] = {}
        words: list[str] = []
        for item in items:
            given = [self.size(s) for s in item.children if _is(s, "size")]
            whats = ("hole",) if item.data == "hole" else ("length", "width")
            if given and whats[0] in sizes:
                self.trouble(
                    self.span(item),
                    f"the line says twice how large the {'hole' if len(whats) == 1 else 'part'} is",
                    "keep one of the two; two sizes of one part read '20 mm by 4 mm'",
                )
            elif given:
                sizes |= zip(whats, (given[0], given[-1]), strict=False)
            said = " by ".join(size.text for size in given)
            said = said or " ".join(map(_said, item.children))
            words.append(f"hole {said}" if item.data == "hole" else said)
            if given and given[0].unit is None:
                sizes |= {w: replace(s, unit=given[-1].unit) for w, s in sizes.items()}
        called = self.name(name)
        if called.index is not None and words[0].split()[0].casefold() in UNITS_OF_SIZE:
            said = f"{called.index} {words[0]}"
            self.trouble(
                self.span(tree),
                f"'{said}' stands where the part has its number",
                f"write what it is before its size, as in '{called.role}  glass, {said}'",
            )
        opens = any(w.casefold() == "opens" for w in words)
        kept = ", ".join(w for w in words if w.casefold() != "opens")
        self.tell("parts", PartKind(called, kept, opens, self.span(tree), **sizes))

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
            if _is(item, "several"):
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
            case "chain_of" | "loop_of":
                piece = self.worked_once(tree)
            case "sheet" | "tube":
                rows, units = (self.int(t) for t in parts[0].children)
                piece = Piece(str(tree.data), span, units, rows)  # type: ignore[arg-type]
            case "back_and_forth":
                return self.tell("back_and_forth", True)
            case "order":
                return self.tell("order", tuple(Stated(str(t), self.span(t)) for t in parts))
            case "chosen_variant":
                return self.tell("variant", Stated(str(parts[0]), self.span(parts[0])))
            case "sample_of":
                label = Stated(str(parts[1]), self.span(parts[1]))
                return self.tell("samples", Sample(self.int(parts[0]), self.size(parts[2]), label))
            case _:
                return self.tell("samples", Sample(self.int(parts[0]), self.size(parts[1])))
        for first in self.each("piece"):
            self.trouble(
                span,
                f"the piece is already said to be a {first.kind} on line {first.span.line}",
                "keep one of the two lines",
            )
        self.tell("piece", piece)

    def read_picture_line(self, tree: Node) -> None:
        span, parts = self.span(tree), tree.children
        if tree.data == "letters":
            known = {line.letter for line in self.each("key")}
            if len(parts[0]) == 1 < len(parts) and not known.issuperset(parts[0]):
                colour = " ".join(p for p in parts[1:] if p.strip("-–—"))[:24]
                self.trouble(
                    span,
                    f"'{parts[0]}' stands alone before '{colour}' and is no letter of the key",
                    f"write '{parts[0]} = {colour}' if this line is one of the key",
                )
            runs = tuple((1, letter) for token in parts for letter in token)
            return self.tell("picture_rows", PictureRow(runs, span))
        if tree.data == "runs":
            found = [(self.int(count), token) for count, token in (p.children for p in parts)]
            for _, token in found:
                self.one_letter(token)
            return self.tell("picture_rows", PictureRow(tuple((n, str(t)) for n, t in found), span))
        self.one_letter(parts[0])
        letter, words = str(parts[0]), [" ".join(p.children) if p else "" for p in parts[1:]]
        if words[0].casefold().startswith("colour "):
            self.trouble(
                span,
                "'colour' is not said again in the key, and would be read as a part of its name",
                f"write '{letter} = {words[0][7:]}'",
            )
        for first in self.each("key"):
            if first.letter == letter:
                self.trouble(
                    span,
                    f"the letter '{letter}' stands for {first.words} already, on line"
                    f" {first.span.line}",
                    "choose another letter",
                )
        self.tell("key", KeyLine(letter, words[0], words[1], span))

    def read_shape_line(self, tree: Node) -> None:
        self.tell("shape", shape_line(self, tree))

    def one_letter(self, token: Token) -> None:
        """Refuses a word where the picture has a letter."""
        if len(token) > 1:
            self.trouble(
                self.span(token),
                f"'{token[:24]}' is no single letter, and a place of the picture has one",
                f"write one letter for a colour, as in '{token[0]} = {token}'",
            )

    def worked_once(self, tree: Node) -> Piece:
        """A piece of runs: 'chain of 12 byz, centre, 12 byz', 'chain 190 mm of byz, sun, byz'."""
        extent, *runs = tree.children
        units, length = None, None
        if extent is not None and extent.data == "count":
            units = self.int(extent.children[0])
        elif extent is not None:
            length = self.size(extent)
        numbers, names = zip(*(run.children for run in runs), strict=True)
        return Piece(
            str(tree.data).removesuffix("_of"),  # type: ignore[arg-type]
            self.span(tree),
            units,
            length=length,
            order=tuple(Stated(str(name), self.span(name)) for name in names),
            runs=tuple(None if n is None else self.int(n) for n in numbers),
        )


def _fraction(token: Token) -> Fraction | None:
    """A number as written; None for one that nobody can work with."""
    try:
        return Fraction(str(token)) if len(token) <= MOST_DIGITS else None
    except ZeroDivisionError:
        return None


def _said(token: Token) -> str:
    """A word of a part; those that can stand before a size as tidy writes them."""
    return str(token) if token.type == "NAME" else token.lower()


_SAID = {"toward": "on the left' or 'on the right"}
_PLACE_RULES = ("prev", "next", "above", "first", "last", "every")


def _is(part: Any, *rules: str) -> bool:
    return getattr(part, "data", None) in rules
