"""Fits shared by the tests, each made once a run with the least effort."""

from __future__ import annotations

from functools import cache

import cells

from ringstep.space.fit import fit
from ringstep.space.result import Fit, Form


@cache
def of(name: str) -> Fit:
    """The fit of one of `cells.ALL`."""
    return fit(cells.ALL[name](), effort=0)


def best(name: str) -> Form:
    """Its first form."""
    return of(name).forms[0]
