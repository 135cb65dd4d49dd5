"""What a check says: the types every check, the report and the tests share."""

from __future__ import annotations

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
class Finding:
    """One fault, said once.

    rule: which rule found it.
    span: the smallest faulty text.
    message: the first line; it stands alone.
    here: a few words under the faulty text.
    labels: other places on the page that belong to it.
    help: what to type, a line each.
    """

    rule: Rule
    span: Span
    message: str
    here: str = ""
    labels: tuple[Label, ...] = ()
    help: tuple[str, ...] = ()

    @property
    def severity(self) -> Severity:
        """The severity of its rule."""
        return self.rule.severity


@dataclass(frozen=True)
class Trouble:
    """Something that could not be read: where, what was seen, and what to type."""

    span: Span
    message: str
    here: str = ""
    help: tuple[str, ...] = ()
