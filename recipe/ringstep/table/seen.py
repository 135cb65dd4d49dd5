"""A text as it is being typed: what of it can be read, and what stands at a place of it.

Texts are kept for a while, since one is asked about several times before it changes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property, lru_cache

from ringstep.checks.pipeline import view_of
from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule
from ringstep.language.names import Named, names_in
from ringstep.language.parse import Stands, standing
from ringstep.language.source import Refused, Source, Span, source_from_bytes
from ringstep.language.syntax import Block, Step
from ringstep.weave.effort import within_bounds

#: A word or a number of a line, or a mark.
_WORD = re.compile(r"[^\s,:#\"=]+")


def source_of(text: str) -> Source:
    """A text as a recipe's lines. Raises `Refused` where it is far too large or no text."""
    return source_from_bytes(text.encode("utf-8", "surrogatepass"), "the text")


def bounded(text: str) -> View:
    """A text as a recipe that can be worked out. Raises `Refused`."""
    view = view_of(source_of(text))
    within_bounds(view)
    return view


def refusal(fault: Refused) -> Finding:
    """What is said of a text that is not looked at, at the line that is the reason."""
    words = str(fault)
    line = re.search(r"\bline (\d+)\b", words)
    number = int(line[1]) if line else 1
    return Finding(Rule("unreadable-file", "error"), Span(number, 1, 2), words)


@dataclass(frozen=True, eq=False)
class Seen:
    """A text that can be read as lines, with what can be told of it.

    view: of its recipe, also of one that would take too long to work out. bounded: False for that.
    """

    view: View
    bounded: bool

    @property
    def source(self) -> Source:
        """Its lines."""
        return self.view.recipe.source

    @cached_property
    def standing(self) -> dict[int, Stands]:
        """Where each of its lines stands."""
        return standing(self.source)

    @cached_property
    def names(self) -> tuple[Named, ...]:
        """Every place where a ring or part is named; in lines that cannot be read those words alone
        that are names elsewhere."""
        found = names_in(self.source, self.standing)
        known = {n.role for n in found if n.read}
        return tuple(n for n in found if n.read or n.role in known)

    @cached_property
    def roles(self) -> tuple[str, ...]:
        """The names of rings and parts, in the order of the text."""
        return tuple(dict.fromkeys(n.role for n in self.names))

    @cached_property
    def steps(self) -> dict[int, tuple[Step, Block, View]]:
        """The step of each line that has one, with its block and the recipe of its piece."""
        views = (self.view, *self.view.pieces)
        return {s.span.line: (s, b, v) for v in views for b in v.recipe.blocks for s in b.steps}

    @cached_property
    def whole(self) -> bool:
        """True where every line was read and the piece can be carried out."""
        view = self.view
        if not self.bounded or view.troubles or not view.recipe.every_block:
            return False
        return all(v.steps_read and v.fits for v in (*view.pieces, view))

    def line(self, number: int) -> str:
        """A line without its comment; empty where there is none."""
        return self.source.plain[number - 1] if 1 <= number <= len(self.source.plain) else ""

    def named_at(self, line: int, column: int) -> Named | None:
        """The name that stands at a place, or just before it."""
        at = [n for n in self.names if n.span.line == line and _holds(n.span, column)]
        return at[-1] if at else None

    def word_at(self, line: int, column: int) -> Span | None:
        """The word that stands at a place, or just before it."""
        for word in _WORD.finditer(self.line(line)):
            span = Span(line, word.start() + 1, word.end() + 1)
            if _holds(span, column):
                return span
        return None


def _holds(span: Span, column: int) -> bool:
    return span.column <= column <= span.end


@lru_cache(8)
def seen(text: str) -> Seen | None:
    """A text as it can be looked at; None where it cannot be read as lines at all."""
    try:
        view = view_of(source_of(text))
    except Refused:
        return None
    try:
        within_bounds(view)
    except Refused:
        return Seen(view, False)
    return Seen(view, True)
