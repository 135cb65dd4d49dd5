"""Text to tree: headings are split off by hand, every other line is read by Lark on its own.

Comes in: a `Source`. Goes out: a `Tree` and the list of what could not be read. One unread line
never hides the next, since each line is parsed from a start of its own.
"""

from __future__ import annotations

import re
import sys
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Any

from ringstep.language.cache import keep, kept
from ringstep.language.findings import Trouble
from ringstep.language.read_tree import Node, TreeReader
from ringstep.language.reading_sections import explain_heading, explain_section
from ringstep.language.shipped import grammar_text
from ringstep.language.source import Source, Span
from ringstep.language.syntax import Block, Note, Tree, WorkingRange, first_repeated
from ringstep.language.words import HEADINGS, RESERVED

if TYPE_CHECKING:
    from lark import Lark


_KEPT = "weave.parser"
_STARTS = ["title", "heading", "ring_kind", "part_kind", "promise", "variant", "step", "piece_line"]
#: Which rule of the grammar reads the lines of a section; steps stand in all the others, and the
#: lines of notes are read by hand.
LINE_RULES = {
    "rings": "ring_kind",
    "parts": "part_kind",
    "expect": "promise",
    "variants": "variant",
    "piece": "piece_line",
    "notes": "notes",
}
#: A hint with its words. Many write a colon after the word; it is no part of what is said.
HINT_LINE = re.compile(r"\s*hint\b[\s:：]*(.*?)\s*\Z", re.I)


@cache
def parser() -> Lark:
    """The line parser, from the user's cache where it is there whole (a sixth of the time)."""
    import lark

    grammar = grammar_text()
    key = repr((grammar, lark.__version__, sys.version_info[:3]))
    if data := kept(_KEPT, key):
        return lark.Lark.load(BytesIO(data))
    made = lark.Lark(grammar, parser="lalr", start=_STARTS, propagate_positions=True)
    whole = BytesIO()
    made.save(whole)
    keep(_KEPT, key, whole.getvalue())
    return made


_WORD = re.compile(r"[^\W\d_](?:\w|-)*")


@cache
def _words() -> frozenset[str]:
    """Every word of the language, read off its grammar."""
    return frozenset(re.findall(r'"([a-z]+)"i', grammar_text()))


def _whole_words(tree: Node, text: str) -> None:
    """Refuse a line in which a word of the language was taken off the front of a longer one.

    Where no name can stand the lexer reads 'unit' off 'units' and goes on with the rest. So every
    word that no name, number or text of the tree covers must be one of the language. Raises Lark's
    own error at the place.
    """
    from lark.exceptions import UnexpectedCharacters

    covered = sorted(
        (t.start_pos, t.end_pos) for t in tree.scan_values(lambda leaf: hasattr(leaf, "type"))
    )
    starts = [start for start, _ in covered]
    for word in _WORD.finditer(text):
        at = word.start()
        after = bisect_right(starts, at)  # the first token behind the word's first letter
        start, end = covered[after - 1] if after else (-1, -1)
        split = after < len(starts) and starts[after] < word.end()
        if not split and (at == start or word[0].casefold() in _words()):
            continue
        if split or not start < at < end:
            raise UnexpectedCharacters(  # type: ignore[no-untyped-call]
                text, at, 1, at + 1, allowed=set()
            )


def reads(line: str, rule: str) -> bool:
    """True where a line would be taken as it stands."""
    from lark.exceptions import LarkError

    try:
        tree: Node = parser().parse(line, start=rule)
        _whole_words(tree, line)
    except LarkError:
        return False
    return not any(True for _ in tree.find_data("ref_numbered"))


def working_order(blocks: Sequence[Block], turns: Sequence[str]) -> list[int]:
    """The places of the blocks in the order in which they are worked, whatever that of the text.

    turns: the labels of the blocks that take turns, as the piece orders them.
    """
    first = first_repeated(blocks)

    def rank(at: int) -> tuple[int, int, int]:
        block = blocks[at]
        if block.kind == "again" and block.label:
            return _ORDER["first row"], 1, at
        if isinstance(block.label, int):
            return _ORDER[block.kind], block.label, at
        turn = turns.index(block.label) if block.label in turns else len(turns)
        return _ORDER[block.kind], first if block.kind == "unit" else 0, len(blocks) * turn + at

    return sorted(range(len(blocks)), key=rank)


class _Reader(TreeReader):
    """Reads a recipe line by line; headings say what the lines under them are."""

    def in_order(self) -> tuple[Block, ...]:
        """The blocks as they are worked, their steps numbered in that order.

        A step that could not be read keeps its number, so that those behind it keep theirs.
        """
        turns = [s.value for s in self.piece_extras.get("order", ())]
        befores = [*self.numbered_before, self.numbered]
        found = []
        told = 0
        for at in working_order(self.blocks, turns):
            block, before = self.blocks[at], befores[at]
            if told != before:
                moved = (replace(s, number=s.number - before + told) for s in block.steps)
                block = replace(block, steps=tuple(moved))
            found.append(block)
            told += befores[at + 1] - before
        return tuple(found)

    def close_block(self) -> None:
        if self.blocks and self.steps:
            self.blocks[-1] = replace(self.blocks[-1], steps=tuple(self.steps))
        elif self.blocks and not self.blocks[-1].steps:
            self.unread.add(self.blocks[-1].kind)  # an empty section is told as such
        self.steps = []

    def open_section(self, text: str) -> None:
        from lark.exceptions import LarkError

        self.close_block()
        start = len(text) - len(text.lstrip()) + 1
        span = Span(
            self.line,
            start,
            min(len(text.rstrip()), len(self.source.plain[self.line - 1].rstrip())) + 1,
        )
        try:
            tree: Node = parser().parse(text.rstrip()[:-1], start="heading")
            _whole_words(tree, text)
        except LarkError:
            self.heading = "?"
            self.unread.add("?")
            self.troubles.append(explain_heading(text, span))
            return
        kind = str(tree.data).removeprefix("h_").replace("_", " ")
        label, differs = None, ""
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
        if kind == "again" and self.blocks and self.blocks[-1].kind == "first row":
            label = "first row"  # a second pass belongs to the pass before it
        twin = self.sections.get((kind, label))
        if twin or (kind in LINE_RULES and kind in self.headings):
            where = f" (the first is on line {twin.span.line})" if twin else ""
            self.trouble(
                span, f"there are two '{text.strip()}' sections{where}", "make one of them"
            )
        self.heading = kind
        self.headings.add(kind)
        if kind not in LINE_RULES:
            self.numbered_before.append(self.numbered)
            self.blocks.append(Block(kind, label, span, (), differs))  # type: ignore[arg-type]
            self.sections.setdefault((kind, label), self.blocks[-1])

    def read_line(self, text: str) -> None:
        from lark.exceptions import LarkError

        if self.heading == "?":
            return
        if self.heading == "notes":
            words = self.written(text).strip().split(None, 1)
            span = Span(self.line, len(text) - len(text.lstrip()) + 1, len(text.rstrip()) + 1)
            self.notes.append(Note(words[0].casefold(), words[1] if len(words) > 1 else "", span))
            return
        if self.heading is None:
            rule = "title"
        else:
            rule = LINE_RULES.get(self.heading, "step")
        if rule == "step" and (hint := HINT_LINE.match(self.written(text))):
            self.read_hint(hint[1])
            return
        try:
            tree = parser().parse(text, start=rule)
            _whole_words(tree, text)
        except LarkError as fault:
            self.numbered += rule == "step"
            self.unread.add(self.heading or "")
            from ringstep.language.reading import (
                explain_line,  # a recipe without faults needs no words,
            )

            self.troubles.append(explain_line(text, self.line, rule, self.heading, fault))
            return
        told = len(self.troubles)
        kept = [len(x) for x in self._collected()]
        piece, extras = self.piece, dict(self.piece_extras)
        getattr(self, f"read_{rule}")(tree)
        if len(self.troubles) > told:
            # One line, one message, and nothing of it in the tree.
            del self.troubles[told + 1 :]
            for found, size in zip(self._collected(), kept, strict=True):
                del found[size:]
            self.piece, self.piece_extras = piece, extras
            self.unread.add(self.heading or "")

    def written(self, text: str) -> str:
        """This line as its author wrote it, without its comment."""
        return self.source.lines[self.line - 1][: len(text)]

    def _collected(self) -> tuple[list[Any], ...]:
        return (
            self.rings,
            self.parts,
            self.meets,
            self.lies,
            self.unit_sizes,
            self.periods,
            self.ranges,
            self.coming_out,
            self.folded,
            self.variants,
            self.steps,
        )

    def read_hint(self, words: str) -> None:
        if not self.steps and self.numbered > self.numbered_before[-1]:
            return  # its step could not be read, which is told
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

    def told_apart(self) -> tuple[WorkingRange, ...]:
        """The AR ranges, those of a variant told from those of a role.

        A name that is both is the role's, whose rings are what an AR is of.
        """
        roles = {i.name.role for b in self.blocks for s in b.steps for i in s.new}
        variants = {v.name for v in self.variants} - roles
        found = []
        for given in self.ranges:
            span = given.name.span if given.name else given.span
            word = self.source.plain[span.line - 1][span.column - 1 : span.end - 1]
            of_variant = given.name is not None and word in variants
            found.append(replace(given, name=None, variant=word) if of_variant else given)
        return tuple(found)

    def read(self) -> tuple[Tree, tuple[Trouble, ...]]:
        for line, text in enumerate(self.source.plain, 1):
            self.line = line
            if not text.strip():
                continue
            words = self.heading == "notes" or bool(HINT_LINE.match(text))  # the author's own
            if (text.rstrip().endswith(":") and not words) or _HEADING.match(text):
                self.open_section(text)
            elif _bare(text) in HEADINGS and not words:
                self.open_section(f"{text.rstrip().rstrip('.;, ')}:")
                from ringstep.language.reading import explain_bare_heading

                self.troubles.append(explain_bare_heading(text, self.line))
            else:
                self.read_line(text)
        self.close_block()
        recipe = Tree(
            self.source,
            self.title,
            tuple(self.rings),
            tuple(self.parts),
            tuple(self.meets),
            tuple(self.lies),
            tuple(self.unit_sizes),
            tuple(self.periods),
            self.told_apart(),
            tuple(self.coming_out),
            tuple(self.folded),
            tuple(self.variants),
            tuple(self.notes),
            self.in_order(),
            replace(self.piece, **self.piece_extras) if self.piece else None,
            frozenset(self.headings),
            frozenset(self.unread),
        )
        return recipe, (*self.troubles, *explain_section(recipe, bool(self.troubles)))


def _bare(text: str) -> str:
    """A line without another mark where a heading has its colon."""
    return " ".join(text.casefold().rstrip().rstrip(".;,").split())


#: The kinds of blocks in the order in which they are worked.
_ORDER = {"start": 0, "first row": 1, "unit": 1, "row": 2, "again": 3, "row end": 4, "finish": 5}
_HEADING = re.compile(
    r"\s*(rings|parts|expect|variants|notes|start|unit(\s+\S+)?|first\s+row|row(\s+\S+)?|again"
    r"|row\s+end|finish|piece)\s*:\s*\Z",
    re.I,
)


def parse(source: Source) -> tuple[Tree, tuple[Trouble, ...]]:
    """Read a recipe; what cannot be read is told in the second value and left out of the first."""
    return _Reader(source).read()
