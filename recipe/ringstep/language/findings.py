"""What a check says: the types every check, the report and the tests share."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from ringstep.language.source import Span

Severity = Literal["error", "warning", "note"]


@dataclass(frozen=True)
class Rule:
    """One thing that is checked.

    name: its plain name, as printed in brackets and typed after `ringstep explain`.
    severity: what a finding of it means for the recipe.
    """

    name: str
    severity: Severity


@dataclass(frozen=True)
class Label:
    """A second place worth pointing at, with its few words."""

    span: Span
    text: str


@dataclass(frozen=True)
class TextEdit:
    """A stretch of the text and what to type in its place.

    line, column: where it begins, counted from 1; end_line, end_column: just behind its end.
    """

    line: int
    column: int
    end_line: int
    end_column: int
    text: str


def instead(span: Span, text: str) -> TextEdit:
    """What to type in place of a stretch of one line."""
    return TextEdit(span.line, span.column, span.line, span.end, text)


def typed_in(lines: tuple[str, ...], edits: tuple[TextEdit, ...]) -> tuple[str, ...]:
    """The lines of a text after some edits, none of which may overlap.

    >>> typed_in(("add A", "add B"), (TextEdit(1, 5, 1, 6, "C"), TextEdit(2, 1, 2, 6, "close B")))
    ('add C', 'close B')
    """
    found = list(lines)
    for one in sorted(edits, key=lambda e: (e.line, e.column), reverse=True):
        before = found[one.line - 1][: one.column - 1]
        # The end may lie just behind the last line.
        behind = found[one.end_line - 1][one.end_column - 1 :] if one.end_line <= len(found) else ""
        found[one.line - 1 : one.end_line] = (before + one.text + behind).split("\n")
    return tuple(found)


def changed_lines(
    lines: tuple[str, ...], edits: tuple[TextEdit, ...], most: int = 12
) -> Iterator[tuple[str, int, str]]:
    """The lines that some edits change, as ('before' or 'after', number, line).

    most: lines of one change that are shown.

    >>> list(changed_lines(("add A", "add B"), (TextEdit(2, 5, 2, 6, "C"),)))
    [('before', 2, 'add B'), ('after', 2, 'add C')]
    """
    from difflib import SequenceMatcher

    after = typed_in(lines, edits)
    for kind, a, b, c, d in SequenceMatcher(None, lines, after, autojunk=False).get_opcodes():
        if kind != "equal":
            told = [("before", n + 1, lines[n]) for n in range(a, b)]
            yield from (told + [("after", n + 1, after[n]) for n in range(c, d)])[:most]


@dataclass(frozen=True)
class Mend:
    """One way to mend a fault, tried before it is offered.

    says: what to do, as the help says it; edits: the same as changes of the text.
    """

    says: str
    edits: tuple[TextEdit, ...]


@dataclass(frozen=True)
class Finding:
    """One fault, said once.

    rule: which rule found it.
    span: the smallest faulty text.
    message: the first line; it stands alone.
    here: a few words under the faulty text.
    labels: other places on the page that belong to it.
    help: what to type, a line each.
    mends: the same as changes of the text; several are rivals, of which one is to be chosen.
    """

    rule: Rule
    span: Span
    message: str
    here: str = ""
    labels: tuple[Label, ...] = ()
    help: tuple[str, ...] = ()
    mends: tuple[Mend, ...] = ()

    @property
    def severity(self) -> Severity:
        """The severity of its rule."""
        return self.rule.severity


@dataclass(frozen=True)
class Trouble:
    """Something that could not be read: where, what was seen, and what to type.

    mends: the same as changes of the text, as a finding has them.
    """

    span: Span
    message: str
    help: tuple[str, ...] = ()
    mends: tuple[Mend, ...] = ()
