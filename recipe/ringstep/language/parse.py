"""Text to tree: headings are split off by hand, every other line is read by Lark on its own.

Comes in: a `Source`. Goes out: a `Tree` and the list of what could not be read. One unread line
never hides the next, since each line is parsed from a start of its own.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, NamedTuple

from ringstep.language.cache import keep, kept
from ringstep.language.findings import Mend, Trouble, instead
from ringstep.language.pieces import marked, named_pieces, with_pieces
from ringstep.language.promised import WorkingRange
from ringstep.language.read_kinds import KindReader
from ringstep.language.read_piece import PieceReader
from ringstep.language.read_tree import Node
from ringstep.language.reading_sections import explain_heading, explain_section
from ringstep.language.shipped import grammar_text
from ringstep.language.size_sets import with_first_sizes
from ringstep.language.source import Source, Span, span_of
from ringstep.language.syntax import ROUND_BLOCKS, Block, Stated, Step, first_repeated
from ringstep.language.tree import Made, Note, Picture, Piece, Tree
from ringstep.language.words import HEADINGS, RESERVED

if TYPE_CHECKING:
    from lark import Lark
    from lark.lexer import TerminalDef


_KEPT = "weave.parser"
_STARTS = [
    *("title", "heading", "ring_kind", "part_kind", "promise", "variant", "step", "piece_line"),
    *("picture_line", "set_line", "shape_line"),
]
#: Which rule of the grammar reads the lines of a section; steps stand in all the others, and the
#: lines of notes are read by hand.
LINE_RULES = {
    "rings": "ring_kind",
    "sizes": "set_line",
    "parts": "part_kind",
    "expect": "promise",
    "variants": "variant",
    "piece": "piece_line",
    "picture": "picture_line",
    "shape": "shape_line",
    "notes": "notes",
}
#: A hint with its words. Many write a colon after the word; it is no part of what is said.
HINT_LINE = re.compile(r"\s*hint\b[\s:：]*(.*?)\s*\Z", re.I)


#: What stands behind a word: nothing that would make it a longer one. Signs beyond Latin-1 have a
#: set of their own: Python takes ten times as long to build one set of both.
_BEHIND = r"""(?=[\s,:#"=/;.!?()\[\]{}«»]|[‘’“-‟]|\Z)"""


def _whole_word(terminal: TerminalDef) -> None:
    """Let a word of the language be read as a whole word only: 'units' is not 'unit' and an 's'."""
    from lark.lexer import PatternRE, PatternStr

    word = terminal.pattern
    if isinstance(word, PatternStr) and word.value.isalpha():
        terminal.pattern = PatternRE(word.value + _BEHIND, word.flags)
        terminal.priority = max(terminal.priority, 1)  # where a name could stand as well


@cache
def parser() -> Lark:
    """The line parser, from the user's cache where it is there whole (a sixth of the time)."""
    import lark

    grammar = grammar_text()
    key = repr((grammar, _BEHIND, lark.__version__, sys.version_info[:3]))
    if data := kept(_KEPT, key):
        return lark.Lark.load(BytesIO(data))
    made = lark.Lark(
        grammar,
        parser="lalr",
        start=_STARTS,
        propagate_positions=True,
        edit_terminals=_whole_word,
    )
    whole = BytesIO()
    made.save(whole)
    keep(_KEPT, key, whole.getvalue())
    return made


def reads(line: str, rule: str) -> bool:
    """True where a line would be taken as it stands."""
    from lark.exceptions import LarkError

    try:
        tree: Node = parser().parse(line, start=rule)
    except LarkError:
        return False
    names = tree.scan_values(lambda part: getattr(part, "type", "") == "NAME")
    if any(name.casefold() in RESERVED for name in names):
        return False  # a word of the language is no name
    return not any(True for _ in tree.find_data("ref_numbered"))


def working_order(blocks: Sequence[Block], turns: Sequence[str | None]) -> list[int]:
    """The places of the blocks in the order in which they are worked, whatever that of the text.

    turns: the labels of the blocks that take turns, as the piece orders them; None for a strand
    that has no unit of its own name.
    """
    first = first_repeated(blocks)

    def rank(at: int) -> tuple[int, int, int]:
        block = blocks[at]
        if block.kind == "again" and block.label:
            return _ORDER[str(block.label)], 1, at
        if block.kind in ROUND_BLOCKS and block.label in _ORDER:
            return _ORDER[str(block.label)], 0, len(blocks) * len(turns) + at
        if isinstance(block.label, int):
            return _ORDER[block.kind], block.label, at
        turn = turns.index(block.label) if block.label in turns else len(turns)
        return _ORDER[block.kind], first if block.kind == "unit" else 0, len(blocks) * turn + at

    return sorted(range(len(blocks)), key=rank)


class Stands(NamedTuple):
    """Where a line stands: the section, "" before the first and '?' under a heading that nobody
    can read; and whether it is that heading itself."""

    section: str
    heads: bool

    @property
    def rule(self) -> str:
        """The rule of the grammar that reads the line; a hint is read by hand, as are notes."""
        if self.heads:
            return "heading"
        return LINE_RULES.get(self.section, "step") if self.section else "title"


class _Reader(KindReader, PieceReader):
    """Reads a recipe line by line; headings say what the lines under them are.

    notes_depth: how deep the heading of the notes stands.
    """

    notes_depth = 0
    joining = False

    def __init__(self, source: Source) -> None:
        super().__init__(source)
        self.stands: dict[int, Stands] = {}
        self.pieces = named_pieces(source)
        self.all_headings: set[str] = set()

    def in_order(
        self, since: int = 0, until: int | None = None, told: int = 0
    ) -> tuple[Block, ...]:
        """The blocks as they are worked, their steps numbered in that order.

        since, until: of what is told the part that is meant. told: how many steps are worked before
        it. A step that could not be read keeps its number, so that those behind it keep theirs.
        """
        blocks: list[Block] = []
        steps: list[list[Step]] = []
        for field, thing in self.told[since:until]:
            if field == "blocks":
                blocks.append(thing)
                steps.append([])
            elif field == "steps":
                steps[-1].append(thing)
        fields = [x for x in self.told[since:until] if x[0] in ("order", "piece")]
        orders = [x if field == "order" else x.order for field, x in fields]
        orders = [order for order in orders if order]
        own = {block.label for block in blocks}
        turns = [s.value if s.value in own else None for order in orders[-1:] for s in order]
        earlier = sum(field == "blocks" for field, _ in self.told[:since])
        befores = [*self.numbered_before, self.numbered][earlier:]
        found = []
        for at in working_order(blocks, turns):
            before = befores[at]
            moved = (replace(s, number=s.number - before + told) for s in steps[at])
            found.append(replace(blocks[at], steps=tuple(moved)))
            told += befores[at + 1] - before
        self.unread.update(b.kind for b in found if not b.steps)  # which is told as such
        return tuple(found)

    def open_section(self, text: str) -> None:
        from lark.exceptions import LarkError

        start = len(text) - len(text.lstrip()) + 1
        span = Span(
            self.line,
            start,
            min(len(text.rstrip()), len(self.source.plain[self.line - 1].rstrip())) + 1,
        )
        try:
            tree: Node = parser().parse(text.rstrip()[:-1], start="heading")
        except LarkError:
            self.heading = "?"
            self.unread.add("?")
            self.troubles.append(explain_heading(text, span))
            return
        kind = str(tree.data).removeprefix("h_").replace("_", " ")
        if kind == "picture":
            roles = tuple(Stated(str(t), self.span(t)) for t in tree.children if t)
            self.tell("picture", Picture(roles, (), (), span))
            tree.children.clear()
        label, differs = None, ""
        if kind in ("piece of", "join"):
            self.begin(kind, tree, span)
            if kind == "piece of":
                return
        if kind.startswith("unit "):
            kind, differs = kind.split()
        if tree.children and tree.children[0] is not None:
            token = tree.children[0]
            label = self.int(token) if token.isdecimal() else str(token)
            if label == 0:
                self.trouble(span, "units are counted from 1", "write 'unit 1:'")
            elif isinstance(label, str) and label.casefold() in RESERVED:
                self.trouble(
                    span,
                    f"'{label}' is a word of the language, so no {kind} can be called that",
                    "choose another name for it",
                )
        if kind == "again":  # a second pass belongs to the pass before it
            before = [b.kind for b in self.each("blocks")[-1:]]
            label = next((k for k in before if k in ("first row", "last row")), label)
        if kind in ROUND_BLOCKS:  # and such places to the row that they stand under
            rows = [b for b in self.each("blocks") if b.kind in ("first row", "row", "last row")]
            label = next((b.label if b.kind == "row" else b.kind for b in rows[-1:]), None)
        twin = self.sections.get((kind, label))
        if twin or (kind in LINE_RULES and kind in self.headings):
            where = f" (the first is on line {twin.span.line})" if twin else ""
            self.trouble(
                span, f"there are two '{text.strip()}' sections{where}", "make one of them"
            )
        self.heading = kind
        self.headings.add(kind)
        if kind == "notes":
            self.notes_depth = len(text) - len(text.lstrip())
        if kind in OF_PIECES and self.pieces and (not self.since or self.joining):
            named = f"piece {self.pieces[0]}:"
            self.trouble(
                span,
                f"this recipe is of pieces made first, and '{text.strip()}' stands in none of them",
                f"move it under '{named}'" if kind != "piece" else f"write '{named}' in its place",
            )
        if kind not in LINE_RULES:
            self.numbered_before.append(self.numbered)
            block = Block(kind, label, span, (), differs)  # type: ignore[arg-type]
            self.tell("blocks", block)
            self.sections.setdefault((kind, label), block)

    def begin(self, kind: str, tree: Node, span: Span) -> None:
        """Begin a piece that is made first, or the steps that join them."""
        self.joining = kind == "join"
        self.since = len(self.told)
        if kind == "join":
            self.tell("joining", span)
            return
        name = Stated(str(tree.children[0]), self.span(tree.children[0]))
        if name.value.casefold() in RESERVED:
            self.trouble(
                name.span,
                f"'{name.value}' is a word of the language, so no piece can be called that",
                "choose another name for it",
            )
        for other, first in self.told:
            if other == "named" and first.value == name.value:
                self.trouble(
                    name.span,
                    f"two pieces are called '{name.value}' (the first on line {first.span.line})",
                    "give each a name of its own; 'made 2 times' makes two alike",
                )
        self.tell("named", name)
        self.sections = {}
        self.all_headings |= self.headings
        self.headings = (self.headings - {"shape"}) | {"piece"}
        self.heading = "piece"

    def read_line(self, text: str) -> None:
        from lark.exceptions import LarkError

        if self.heading == "?":
            return
        if self.heading == "notes":
            words = self.written(text).strip().split(None, 1)
            span = span_of(text, self.line)
            note = Note(words[0].casefold(), words[1] if len(words) > 1 else "", span)
            self.tell("notes", note)
            return
        if self.heading is None:
            rule = "title"
        else:
            rule = LINE_RULES.get(self.heading, "step")
        if rule == "step" and (hint := HINT_LINE.match(self.written(text))):
            self.read_hint(hint[1])
            return
        try:
            tree = parser().parse(self.marked(text), start=rule)
        except LarkError as fault:
            self.numbered += rule == "step"
            self.unread.add(self.heading or "")
            if rule == "picture_line":
                from ringstep.language.reading_picture import explain_picture_line

                self.troubles.append(explain_picture_line(text, self.line))
                return
            if self.heading == "join" and not self.pieces:
                from ringstep.language.reading_sections import NOTHING_TO_JOIN

                span = self.source.heading_span("join")
                if not any(t.span == span for t in self.troubles):
                    self.trouble(span, *NOTHING_TO_JOIN)
                return
            if rule == "step" and self.pieces:
                from ringstep.language.reading_joins import explain_join_line

                under = self.heading == "join"
                if named := explain_join_line(text, self.line, under, self.pieces):
                    once = "join" not in self.unread or under
                    self.troubles += [named] if once else []  # a heading that is missing, once
                    self.unread.add("join")
                    return
            if rule == "piece_line" and self.since and not self.joining:
                from ringstep.language.reading_joins import explain_made_line

                piece = self.told[self.since][1].value
                if how_often := explain_made_line(text, self.line, piece):
                    self.troubles.append(how_often)
                    return
            if rule == "piece_line" and reads(text, "shape_line"):
                self.unread.add("shape")
                span = span_of(text, self.line)
                there = any(_bare(x).rstrip(": ") == "shape" for x in self.source.plain)
                self.trouble(
                    span,
                    "this line says the shape of a sheet, which has a section of its own",
                    "move it under 'shape:'" if there else "write a line 'shape:' above it",
                )
                return
            if rule == "shape_line":
                from ringstep.language.reading_shape import explain_shape_line

                self.troubles.append(explain_shape_line(text, self.line))
                return
            # a recipe without faults needs no words
            from ringstep.language.reading import explain_line
            from ringstep.language.reading_sets import explain_set_line

            if rule == "set_line":
                if trouble := explain_set_line(text, self.line):
                    self.troubles.append(trouble)
                    return
                # the set named, the rest is as under 'rings:'
                first = text.split()[0]
                text, rule = text.replace(first, " " * len(first), 1), "ring_kind"
            self.troubles.append(explain_line(text, self.line, rule, self.heading, fault))
            return
        troubles, told = len(self.troubles), len(self.told)
        getattr(self, f"read_{rule}")(tree)
        if len(self.troubles) > troubles:
            # One line, one message, and nothing of it in the tree.
            del self.troubles[troubles + 1 :], self.told[told:]
            self.unread.add(self.heading or "")

    def marked(self, text: str) -> str:
        """A line of the joining steps with the pieces that it names marked as such."""
        return marked(text, self.pieces) if self.heading == "join" else text

    def written(self, text: str) -> str:
        """This line as its author wrote it, without its comment."""
        return self.source.lines[self.line - 1][: len(text)]

    def read_hint(self, words: str) -> None:
        field, last = self.told[-1]
        if field == "steps":
            self.told[-1] = field, replace(last, hint=f"{last.hint} {words}".strip())
        elif self.numbered == self.numbered_before[-1]:  # else its step was not read, which is told
            line = self.source.plain[self.line - 1]
            at = len(line) - len(line.lstrip()) + 1
            self.trouble(
                Span(self.line, at, len(line.rstrip()) + 1),
                "this hint stands before any step",
                "move it under the step it belongs to",
            )

    def heads(self, text: str) -> bool:
        """True for a heading of the language. Notes may have 'sizes' as a topic: there it heads a
        section only where it stands no deeper than 'notes:' does."""
        if not (found := _HEADING.match(text)):
            return False
        topic = self.heading == "notes" and found[1].casefold() == "sizes"
        return not topic or len(text) - len(text.lstrip()) <= self.notes_depth

    def is_row(self, text: str) -> bool:
        """True where a line of the picture has letters of its key only, whatever they spell."""
        letters = {line.letter for line in self.each("key")}
        return self.heading == "picture" and letters.issuperset("".join(text.split()))

    def drawn(self, picture: Picture) -> Picture:
        """The picture with its key and its rows."""
        return replace(picture, key=self.each("key"), rows=self.each("picture_rows"))

    def told_apart(self) -> tuple[WorkingRange, ...]:
        """The AR ranges, those of a variant told from those of a role.

        A name that is both is the role's, whose rings are what an AR is of.
        """
        roles = {i.name.role for step in self.each("steps") for i in step.new}
        variants = {v.name for v in self.each("variants")} - roles
        found = []
        for given in self.each("ranges"):
            span = given.name.span if given.name else given.span
            word = self.source.plain[span.line - 1][span.column - 1 : span.end - 1]
            of_variant = given.name is not None and word in variants
            found.append(replace(given, name=None, variant=word) if of_variant else given)
        return tuple(found)

    def piece(self) -> Piece | None:
        """The piece in hand, with what its other lines say."""
        told = self.told[self.since :]
        extras = {field: thing for field, thing in told if field in _OF_PIECE}
        samples = self.each("samples")
        piece: Piece | None = next(iter(self.each("piece")), None)
        if piece is None:
            return None
        if piece.order and (order := extras.pop("order", None)):
            what = "strands" if piece.strands else "turns"
            self.trouble(
                order[0].span.to(order[-1].span),
                f"the {what} are already said on line {piece.span.line}",
                "take the line of 'order' out",
            )
        piece = self.of_plain_units(piece)
        return piece and replace(piece, **extras, samples=samples)

    def of_plain_units(self, piece: Piece) -> Piece | None:
        """The piece, where its one run is of no named unit as the chain of so many units that it
        seems to be; that is told, and the rest of the recipe is looked at as if it were typed."""
        named = {b.label for b in self.each("blocks") if b.kind == "unit"}
        if len(piece.runs) != 1 or piece.order[0].value in named:
            return piece
        from ringstep.language.reworded import of_no_name

        span, self.line = piece.span, piece.span.line
        text = self.source.plain[self.line - 1][span.column - 1 : span.end - 1]
        if (found := of_no_name(text, named == {None})) is None:
            return piece
        habit, line = found
        mends = (Mend(f"write '{line}'", (instead(span, line),)),) if line else ()
        help = tuple(habit.help.split("\n"))
        self.troubles.append(Trouble(span, habit.message, help, mends))
        if not line:
            self.unread.add("piece")
            return None
        meant = PieceReader(self.source)
        meant.read_piece_line(parser().parse(line, start="piece_line"))
        found_piece: Piece = next(iter(meant.each("piece")))
        return replace(found_piece, span=span)

    def read(self) -> tuple[Tree, tuple[Trouble, ...]]:
        for line, text in enumerate(self.source.plain, 1):
            self.line = line
            if not text.strip():
                continue
            words = self.heading == "notes" or bool(HINT_LINE.match(text))  # the author's own
            heads, bare = (text.rstrip().endswith(":") and not words) or self.heads(text), False
            if heads:
                self.open_section(text)
            elif bare := _bare(text) in HEADINGS and not words and not self.is_row(text):
                self.open_section(f"{text.rstrip().rstrip('.;, ')}:")
                from ringstep.language.reading import explain_bare_heading

                self.troubles.append(explain_bare_heading(text, self.line))
            else:
                self.read_line(text)
            self.stands[line] = Stands(self.heading or "", heads or bare)
        parted = any(field == "named" for field, _ in self.told)
        recipe = Tree(
            source=self.source,
            title=next(iter(self.each("title")[-1:]), None),
            ranges=self.told_apart(),
            blocks=() if parted else self.in_order(),
            piece=None if parted else self.piece(),
            picture=next((self.drawn(p) for p in self.each("picture")), None),
            headings=frozenset(self.headings | self.all_headings),
            unread=frozenset(self.unread),
            **{field: self.each(field) for field in _AS_TOLD},  # type: ignore[arg-type]
        )
        recipe = with_first_sizes(recipe)
        if parted:
            recipe = self.in_pieces(recipe)
        return recipe, tuple(self.troubles or explain_section(recipe))

    def in_pieces(self, recipe: Tree) -> Tree:
        """The recipe of pieces that are made first, each with its own part of what was told."""
        begins = [at for at, (field, _) in enumerate(self.told) if field in ("named", "joining")]
        ends = [*begins[1:], len(self.told)]
        parts = list(zip(begins, ends, strict=True))
        parts.sort(key=lambda part: self.told[part[0]][0] == "joining")
        made: list[Made] = []
        joining: tuple[Block, ...] = ()
        done = 0
        for since, until in parts:
            blocks = self.in_order(since, until, done)
            done = max((s.number for b in blocks for s in b.steps), default=done)
            field, name = self.told[since]
            if field == "joining":
                joining += blocks
                continue
            whole, self.told, self.since = self.told, self.told[:until], since
            times = next(iter(self.each("made")), 1)
            own = replace(recipe, blocks=blocks, piece=self.piece(), shape=self.each("shape"))
            made.append(Made(name, times, own))
            self.told = whole
        return with_pieces(replace(recipe, blocks=joining), tuple(made))


#: Sections that stand in a piece, where pieces are made first.
OF_PIECES = frozenset(
    {"start", "unit", "first row", "row", "again", "last row", "row end", "finish"}
    | {"piece", "shape"}
    | ROUND_BLOCKS
)
#: Fields of the tree that hold what was told as it is, and fields of its piece beside its size.
_AS_TOLD = (
    *("rings", "sizes", "parts", "meets", "lies", "unit_sizes", "periods", "coming_out", "folded"),
    *("variants", "notes", "shape"),
)
_OF_PIECE = frozenset({"back_and_forth", "order", "variant"})


def _bare(text: str) -> str:
    """A line without another mark where a heading has its colon."""
    return " ".join(text.casefold().rstrip().rstrip(".;,").split())


#: The kinds of blocks in the order in which they are worked.
_ORDER = {
    "start": 0,
    "first row": 1,
    "unit": 1,
    "row": 2,
    "extra place": 2,
    "shared place": 2,
    "again": 3,
    "last row": 4,
    "row end": 5,
    "finish": 6,
    "join": 7,
}
_HEADING = re.compile(
    r"\s*(rings|sizes|parts|expect|variants|notes|start|unit(\s+\S+)?|first\s+row|row(\s+\S+)?|again"
    r"|(extra|shared)\s+place|last\s+row|row\s+end|finish|piece(\s+\S+)?|join|shape"
    r"|picture(\s+of\s+[^\s,:]+(\s*,\s*[^\s,:]+)*)?)\s*:\s*\Z",
    re.I,
)


def parse(source: Source) -> tuple[Tree, tuple[Trouble, ...]]:
    """Read a recipe; what cannot be read is told in the second value and left out of the first."""
    return _Reader(source).read()


def standing(source: Source) -> dict[int, Stands]:
    """Where each line stands that is not empty, by its number."""
    reader = _Reader(source)
    reader.read()
    return reader.stands
