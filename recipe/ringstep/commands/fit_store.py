"""The rim towards kept fits: what was once worked out is read again from the user's cache folder.

A fit is kept under the meaning of what was laid out (its rings with their sizes, links, lays,
folds), the seed, the effort and the version of the method; nothing of a recipe's wording counts.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json

from ringstep.checks.view import View
from ringstep.language.cache import keep, kept, kept_names
from ringstep.paper.fit_report import Kept, Seen, remaining, unit_length
from ringstep.space.cell import Cell
from ringstep.space.fit_cell import NoFit, laid_out
from ringstep.space.fit_laid import Laid
from ringstep.space.result import Fit, from_json, to_json

#: Goes up by one whenever the same input would come out otherwise.
METHOD = 8
_EFFORTS = (3, 2, 1, 0)


def cell_key(cell: Cell) -> str:
    """A name for everything that is laid out and how the method does it."""
    text = json.dumps([METHOD, dataclasses.asdict(cell)], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:40]


def _name(cell: Cell, seed: int, effort: int) -> str:
    return f"fit-{cell_key(cell)}-{effort}-{seed}"


def put(made: Kept) -> None:
    """Keep a finished fit; where nothing can be written nothing is kept, and that is all."""
    fit = made.fit
    if not fit.finished:
        return
    body = {
        "fit": json.loads(to_json(fit)),
        "seen": [dataclasses.asdict(s) for s in made.seen],
    }
    name = _name(fit.cell, fit.seed, fit.effort)
    keep(name, name, json.dumps(body, allow_nan=False).encode())


def get(cell: Cell, seed: int, effort: int) -> Kept | None:
    """What was kept for this cell; None where there is nothing, or it has another shape."""
    name = _name(cell, seed, effort)
    if (data := kept(name, name)) is None:
        return None
    try:
        body = json.loads(data)
        fit: Fit = from_json(json.dumps(body["fit"]))
        made = Kept(fit, tuple(Seen(**s) for s in body["seen"]))
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        return None
    return made if (fit.cell, fit.seed, fit.effort) == (cell, seed, effort) else None


def _best(view: View) -> tuple[Laid, Kept] | None:
    """What was kept for a recipe with the greatest effort, then the least seed."""
    try:
        laid = laid_out(view)
    except NoFit:
        return None
    key, names = cell_key(laid.cell), kept_names()
    for effort in _EFFORTS:
        start = f"fit-{key}-{effort}-"
        seeds = [name.removeprefix(start) for name in names if name.startswith(start)]
        for seed in sorted(int(s) for s in seeds if s.isdecimal()):
            made = get(laid.cell, seed, effort)
            if made is not None and made.fit.forms:
                return laid, made
    return None


def known_fit(view: View) -> Fit | None:
    """The fit kept for a recipe's cycle, or None."""
    found = _best(view)
    return found[1].fit if found else None


def fitted_length(view: View) -> tuple[float, float] | None:
    """One unit of a chain pushed together and stretched, in mm, as 'ringstep fit' computed it.

    None where it was not computed, where the recipe's rings fit no form found, or where the piece
    is no chain or loop. Where several forms remain the range spans them all. Nothing is worked out
    here; say beside the numbers that they are computed (`paper.fit_report.COMPUTED`).
    """
    found = _best(view)
    if found is None or found[0].cell.dims != 1:
        return None
    laid, made = found
    ends = [
        unit_length(laid, form, pose)
        for form in remaining(made.fit)
        if form.fits and form.as_said and form.folds_kept
        for pose in (form.pushed, form.stretched)
        if pose is not None
    ]
    return (min(ends), max(ends)) if ends else None
