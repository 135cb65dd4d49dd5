"""The one door to the states of a piece: which way they are found depends on the piece."""

from __future__ import annotations

from ringstep.language.source import Refused
from ringstep.space.cut import cut
from ringstep.space.fit import fit
from ringstep.space.fit_cell import laid_out
from ringstep.space.result import Fit
from ringstep.space.state import Shown
from ringstep.weave.resolved import Resolved


class NoStates(Refused):
    """A piece of which no state can be shown; the text says why."""


def states_of(view: Resolved, known: Fit | None = None) -> Shown:
    """The work in the hand after every step, in the variant the view has chosen.

    known: the fit of the recipe's cycle, where it was found before. Raises `NoFit` and `NoStates`.
    """
    laid = laid_out(view)
    if laid.cell.dims != 1:
        raise NoStates("only chains and loops that repeat can be shown step by step so far")
    found = known or fit(laid.cell)
    if not found.forms:
        raise NoStates("no way was found to lay its rings out; its links may not go together")
    form = found.forms[0]
    if not (form.as_said and form.folds_kept):
        raise NoStates(
            "the only way found to lay its rings out breaks a lay or a fold that the steps state"
        )
    if not form.fits:
        own, least = laid.cell.rings[0].aspect, form.smallest(0)
        raise NoStates(
            f"its rings are too small for their wire: {laid.rings[0].role} has AR {own:.2f},"
            f" and the smallest found at which the chain can be made is {least:.2f}"
        )
    return cut(view, laid, form)
