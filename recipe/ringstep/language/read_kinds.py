"""Lines of `rings:`, `sizes:` and `parts:`: what is bought, in which sizes.

Comes in: Lark's tree of one line. Goes out: frozen nodes, as of every other line.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from ringstep.language.read_tree import Node, TreeReader, is_of
from ringstep.language.syntax import Along, PartKind, RingKind, Size
from ringstep.language.tree import SizeLine
from ringstep.language.words import RESERVED, UNITS_OF_SIZE

if TYPE_CHECKING:
    from lark import Token

#: What is said of welded rings, other than as the language has it.
_CLOSED_FOR_GOOD = re.compile(
    r"(?:(?:stays?|keeps?|kept|always|is|remains?|stay|permanently)[\s-]*)?(?<!un)closed?"
    r"(?:\s+(?:ring|rings|always|for\s+good))?|stay\w*\s+shut"
    r"|(?:is\s+)?(?:never|not)\s+(?:to\s+be\s+)?open(?:ed|s)?|does\s+not\s+open",
    re.I,
)
#: More sets than this are a slip of some program; each of them is judged.
MOST_SETS = 40


class KindReader(TreeReader):
    """Reads also what kinds of rings and parts there are."""

    def read_ring_kind(self, tree: Node) -> None:
        self.tell("rings", self.ring_kind(tree))

    def read_set_line(self, tree: Node) -> None:
        word, inner = tree.children
        if word.casefold() in RESERVED:
            self.trouble(
                self.span(word),
                f"'{word}' is a word of the language, so no set of sizes can be called that",
                "begin with a name for the set, as in 'small  all  wire 0.8 mm, inside 4.3 mm'",
            )
        sets = {line.size for line in self.each("sizes")}
        if len(sets) >= MOST_SETS and str(word) not in sets:
            self.trouble(
                self.span(word),
                f"there are more than {MOST_SETS} sets of sizes",
                "keep the others in a recipe of their own",
            )
        self.tell("sizes", SizeLine(str(word), self.ring_kind(inner), self.span(tree)))

    def along(self, tree: Node) -> Along:
        """Which units or rows a line holds for."""
        first, last = (self.int(t) if t else None for t in tree.children)
        assert first is not None
        rows, span = tree.data == "along_rows", self.span(tree)
        if last is not None and last < first:
            self.trouble(
                span,
                f"'{first} to {last}' goes from the larger to the smaller number",
                f"write '{Along(last, first, rows, span)}'",
            )
        elif first == 0:
            word = "rows" if rows else "units"
            from_one = f"{word} 1 to {last}" if last else f"{word.removesuffix('s')} 1"
            self.trouble(span, f"{word} are counted from 1", f"write '{from_one}'")
        return Along(first, first if last is None else last, rows, span)

    def ring_kind(self, tree: Node) -> RingKind:
        """A kind of ring, as a line of `rings:` or the rest of one of `sizes:` has it."""
        found: dict[str, Any] = {"wire": None, "inside": None, "material": "", "colour": ""}
        name, along, *properties = tree.children
        found["along"] = self.along(along) if along else None
        for part in properties:
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
                elif what == "material" and _CLOSED_FOR_GOOD.fullmatch(words):
                    self.trouble(
                        self.span(part),
                        f"'{words}' would be read as a metal",
                        "write 'stays closed'",
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
            from ringstep.language.reading_sets import explain_set_line

            explain = explain_set_line if self.heading == "sizes" else explain_sizes
            if told := explain(self.source.plain[self.line - 1], self.line):
                self.troubles.append(told)
        return RingKind(self.name(name), **found, span=self.span(tree))

    def read_part_kind(self, tree: Node) -> None:
        name, *items = tree.children
        sizes: dict[str, Size] = {}
        words: list[str] = []
        for item in items:
            given = [self.size(s) for s in item.children if is_of(s, "size")]
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


def _said(token: Token) -> str:
    """A word of a part; those that can stand before a size as tidy writes them."""
    return str(token) if token.type == "NAME" else token.lower()
