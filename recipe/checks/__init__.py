"""The checks, one to a file. A file that lies here is found; nothing else needs to know of it.

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


@cache
def all_checks() -> tuple[Check, ...]:
    """Every check of this folder, by file name."""
    names = sorted(m.name for m in pkgutil.iter_modules(__path__))
    return tuple(cast(Check, import_module(f"{__name__}.{name}")) for name in names)
