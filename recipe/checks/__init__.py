"""The checks, one to a file. A file that lies here is found; nothing else needs to know of it.

Those in `links/` only put faults in the links into words, which were found before.

Each file states its `RULE`, says in its docstring what is checked, why, and shows a wrong and a
right recipe, and has one function `check(view)` that yields findings in its own words.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from typing import Protocol, cast

from recipe.findings import Finding, Rule
from recipe.view import View


class Check(Protocol):
    """What a file of this folder offers."""

    RULE: Rule
    __doc__: str | None

    def check(self, view: View) -> Iterator[Finding]:
        """The findings of this rule in one recipe."""


def _checks(package: str) -> tuple[Check, ...]:
    folder = import_module(package)
    names = sorted(m.name for m in pkgutil.iter_modules(folder.__path__) if not m.ispkg)
    return tuple(cast(Check, import_module(f"{package}.{name}")) for name in names)


@cache
def checks_of_links() -> tuple[Check, ...]:
    """The checks that only tell of faults in the links, by file name."""
    return _checks(f"{__name__}.links")


@cache
def other_checks() -> tuple[Check, ...]:
    """The checks that look at every recipe, by file name."""
    return _checks(__name__)


def all_checks() -> tuple[Check, ...]:
    """Every check there is."""
    return (*other_checks(), *checks_of_links())
