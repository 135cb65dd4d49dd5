"""Fits shared by the tests, each made once a run with the least effort."""

from __future__ import annotations

from functools import cache

import cells

from recipe.fit.fit import fit
from recipe.fit.result import Fit, Form


@cache
def of(name: str, effort: int = 0) -> Fit:
    """The fit of one of `cells.ALL`."""
    return fit(cells.ALL[name](), effort=effort)


def best(name: str, effort: int = 0) -> Form:
    """Its first form."""
    return of(name, effort).forms[0]
