"""Lines of `piece:` and `picture:` become nodes of the syntax tree: what is made, in which colours.

Comes in: Lark's tree of one line. Goes out: frozen nodes with their spans, as in `read_tree`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ringstep.language.read_shape import shape_line
from ringstep.language.read_tree import Node, TreeReader
from ringstep.language.source import Span
from ringstep.language.syntax import Size, Stated
from ringstep.language.tree import KeyLine, PictureRow, Piece, Sample, Strand
from ringstep.language.words import RESERVED

if TYPE_CHECKING:
    from lark import Token

#: A piece made more often than this is a slip of the keyboard.
MOST_MADE = 500


class PieceReader(TreeReader):
    """Builds the piece and its picture line by line."""

    def read_piece_line(self, tree: Node) -> None:
        span, parts = self.span(tree), tree.children
        match tree.data:
            case "chain" | "loop":
                units, length = self.extent(parts[0])
                piece = Piece(str(tree.data), span, units, length=length)  # type: ignore[arg-type]
            case "chain_of" | "loop_of":
                piece = self.worked_once(tree)
            case "strands":
                piece = self.strands(tree)
            case "sheet" | "tube":
                rows, units = (self.int(t) for t in parts[0].children)
                piece = Piece(str(tree.data), span, units, rows)  # type: ignore[arg-type]
            case "back_and_forth":
                return self.tell("back_and_forth", True)
            case "order":
                return self.tell("order", tuple(Stated(str(t), self.span(t)) for t in parts))
            case "chosen_variant":
                return self.tell("variant", Stated(str(parts[0]), self.span(parts[0])))
            case "made" | "made_once" | "made_twice":
                times = self.int(parts[0]) if parts else 1 + (tree.data == "made_twice")
                return self.made(span, times)
            case "sample_of":
                label = Stated(str(parts[1]), self.span(parts[1]))
                return self.tell("samples", Sample(self.int(parts[0]), self.size(parts[2]), label))
            case _:
                return self.tell("samples", Sample(self.int(parts[0]), self.size(parts[1])))
        for first in self.each("piece"):
            self.trouble(
                span,
                "the piece is already said to be"
                f" {'strands' if first.strands else f'a {first.kind}'} on line {first.span.line}",
                "keep one of the two lines",
            )
        self.tell("piece", piece)

    def read_picture_line(self, tree: Node) -> None:
        span, parts = self.span(tree), tree.children
        if tree.data == "letters":
            known = {line.letter for line in self.each("key")}
            if len(parts[0]) == 1 < len(parts) and not known.issuperset(parts[0]):
                colour = " ".join(parts[1:])
                from ringstep.language.reading_picture import key_line  # wanted for a fault alone

                line = key_line(colour, str(parts[0]))
                self.trouble(
                    span,
                    f"'{parts[0]}' stands alone before '{colour[:24]}' and is no letter of the key",
                    f"write '{line}' if this line is one of the key",
                )
            runs = tuple((1, letter) for token in parts for letter in token)
            return self.tell("picture_rows", PictureRow(runs, span))
        if tree.data == "runs":
            found = [(self.int(count), token) for count, token in (p.children for p in parts)]
            text = self.source.plain[self.line - 1]
            if len(found) == 1 < len(found[0][1]):
                from ringstep.language.reading_picture import numbered_row

                self.troubles.extend(filter(None, [numbered_row(text, span)]))
            for count, token in found:
                letters = {key.colour: key.letter for key in self.each("key")}
                if len(token) > 1 and token in letters:
                    self.trouble(
                        self.span(token),
                        f"the rows have the letters of the key, and '{token}' is a colour",
                        f"write '{count} {letters[token]}'",
                    )
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

    def made(self, span: Span, times: int) -> None:
        """How many times a piece is made before it is joined."""
        if not self.pieces:
            self.trouble(
                span,
                "only a piece with a name is made some times over and joined later",
                "give it a name, 'piece panel:', and write the steps that join it under 'join:'",
            )
        if not 1 <= times <= MOST_MADE:
            few = "0 times, so there is none of it" if not times else f"more than {MOST_MADE} times"
            self.trouble(span, f"the piece is made {few}", "write how often, as in 'made 6 times'")
        if self.each("made"):
            self.trouble(span, "how often it is made is said twice", "keep one of the two lines")
        self.tell("made", times)

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
        units, length = self.extent(extent)
        numbers, names = zip(*(run.children for run in runs), strict=True)
        return Piece(
            str(tree.data).removesuffix("_of"),  # type: ignore[arg-type]
            self.span(tree),
            units,
            length=length,
            order=tuple(Stated(str(name), self.span(name)) for name in names),
            runs=tuple(None if n is None else self.int(n) for n in numbers),
        )

    def extent(self, tree: Node | None) -> tuple[int | None, Size | None]:
        """How many units, or how long."""
        if tree is None:
            return None, None
        if tree.data == "count":
            return self.int(tree.children[0]), None
        return None, self.size(tree)

    def strands(self, tree: Node) -> Piece:
        """Several chains on one start: 'strands left 30 units, drop 40 mm'."""
        found: dict[str, Strand] = {}
        for part in tree.children:
            word, extent = part.children
            name = str(word)
            if name.casefold() in RESERVED:
                self.trouble(
                    self.span(word),
                    f"'{name}' is a word of the language, so no strand can be called that",
                    "choose another name for it",
                )
            if name in found:
                self.trouble(
                    self.span(word),
                    f"two strands are called '{name}'",
                    "give each strand a name of its own; strands with the same steps can share a"
                    " plain 'unit:'",
                )
            found.setdefault(name, Strand(Stated(name, self.span(word)), *self.extent(extent)))
        each = tuple(found.values())
        order = tuple(strand.name for strand in each)
        return Piece("chain", self.span(tree), None, order=order, strands=each)
