"""The checks, one to a file. A file that lies here is found; nothing else needs to know of it.

Each file states its `RULE`, says in its docstring what is checked, why, and shows a wrong and a
right recipe, and has one function `check(view)` that yields findings in its own words.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator
from functools import cache
from importlib import import_module
from typing import Protocol, cast

from ringstep.checks.view import View
from ringstep.language.findings import Finding, Rule


class Check(Protocol):
    """What a file of this folder offers."""

    RULE: Rule
    __doc__: str | None

    def check(self, view: View) -> Iterator[Finding]:
        """The findings of this rule in one recipe."""


#: Those that only put faults in the links into words, which were found before. Where there are
#: none, as in every recipe that checks clean, they are not even imported; they would find nothing.
_OF_LINKS = frozenset(
    {
        "closed_rings",
        "forgotten",
        "in_parts",
        "joining",
        "link_twice",
        "loose",
        "missed_at_end",
        "neighbours",
        "pick_count",
        "ring_there",
        "siblings",
        "stays_closed",
        "through_nothing",
        "unit_size",
    }
)


#: Those that ask what matters only where real rings are drawn, and so are asked for by name.
_OF_RINGS = frozenset({"places"})


#: Those that look at what few recipes have, by what that is; like those of links they are not
#: imported where there is none of it.
_OF_FEW = {
    "sizes": frozenset({"along", "off_range", "size_sets"}),
    "picture": frozenset({"picture_key", "picture_letter", "picture_rings", "picture_size"}),
    "shape": frozenset({"shape"}),
}


def _checks(wanted: Callable[[str], bool]) -> tuple[Check, ...]:
    names = sorted(m.name for m in pkgutil.iter_modules(__path__))
    found = (import_module(f"{__name__}.{name}") for name in names if wanted(name))
    return tuple(cast(Check, module) for module in found)


@cache
def checks_of_links() -> tuple[Check, ...]:
    """The checks that only tell of faults in the links, by file name."""
    return _checks(lambda name: name in _OF_LINKS)


@cache
def checks_of_rings() -> tuple[Check, ...]:
    """The checks for those who want real rings drawn, by file name."""
    return _checks(lambda name: name in _OF_RINGS)


@cache
def _checks_of_few(what: str) -> tuple[Check, ...]:
    """The checks of 'sizes' that differ by set or by place, of a 'picture' or a 'shape'."""
    return _checks(lambda name: name in _OF_FEW[what])


@cache
def _common_checks() -> tuple[Check, ...]:
    few = frozenset[str]().union(*_OF_FEW.values())
    return _checks(lambda name: name not in _OF_LINKS | _OF_RINGS | few)


def other_checks(view: View) -> tuple[Check, ...]:
    """The checks of a recipe that are not of links or rings: of all recipes, or of what it has."""
    few = _OF_FEW.keys() & view.recipe.headings
    if any(kind.along for kind in view.recipe.rings):
        few.add("sizes")
    return (*_common_checks(), *(c for what in sorted(few) for c in _checks_of_few(what)))


def all_checks() -> tuple[Check, ...]:
    """Every check there is."""
    few = (check for what in _OF_FEW for check in _checks_of_few(what))
    return (*_common_checks(), *checks_of_links(), *few, *checks_of_rings())
