"""How long a chain's unit hangs, and how short it can be pushed, at the recipe's own wires.

In: a tight `Regular` form. One pull at the full wire stops short, so the unit is pulled in steps
while the wires grow from the tightest room, where the rings have only one place, to the wanted.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from ringstep.space.circles import FINE, Layout, Shape
from ringstep.space.measure import HAIR, pose_of
from ringstep.space.regular import Regular, judged
from ringstep.space.relax import read_links
from ringstep.space.result import Form
from ringstep.space.second import Second
from ringstep.space.tighten import eased, stretch, thicken

# steps of the pull; rounds of the programme in each, and its least region, mean radii: where
# lengths are measured, and where they are only drawn (2 in 100 short at most)
_MEASURED, _SHOWN = (8, 80, 2e-5), (3, 30, 1e-3)


def form_of(found: Regular, second: Second, hang: bool = True, push: bool = True) -> Form:
    """All that is told of one layout; without `hang` no lengths, without `push` not the least."""
    way, shape = found.way, found.way.shape
    fine = replace(shape, samples=FINE)
    tight = thicken(fine, found.layout, 30, 1e-7)
    room = tight.room * (1 - HAIR)
    at_room = 1.0 if room >= 1.0 else room * 0.985
    pulled = pushed = None
    shown = tight.layout
    if hang:
        # a turn that is not free is not to be wound up to lengthen or shorten the chain
        held = replace(shape, twist=way.turn == "free")
        best = Regular(
            replace(way, shape=held),
            tight.layout,
            tight.room,
            found.said,
            found.folded,
            found.spread,
        )
        fine = replace(held, samples=FINE)
        floor, steps = at_room * (1 + HAIR), _MEASURED if push else _SHOWN
        ends = [partial(end_of, fine, best, way, floor, *steps) for way in (1, -1)[: 1 + push]]
        pulled, *rest = second.in_order(iter(ends))
        pushed = rest[0] if rest else None
        if pulled is not None:
            easy = eased(fine, pulled, 0.99, at_room)
            shown = easy.layout if easy.room >= at_room else pulled
    return Form(
        cell=shape.cell,
        units=(way.units,),
        slip=0,
        turn=way.turn,
        signs=tuple(int(s) for s in read_links(shape, tight.layout).signs),
        as_said=found.said,
        folds_kept=found.folded,
        spreads_kept=judged(way, shown, 1.0).spread,
        room=room,
        fits=room >= 1.0,
        at_room=at_room,
        tight=pose_of(fine, tight.layout, room),
        shown=pose_of(fine, shown, at_room),
        stretched=None if pulled is None else pose_of(fine, pulled, at_room),
        pushed=None if pushed is None else pose_of(fine, pushed, at_room),
    )


def end_of(
    fine: Shape, form: Regular, way: int, floor: float, steps: int, rounds: int, finest: float
) -> Layout | None:
    """The unit pulled (way +1) or pushed (-1), wires `floor` times the recipe's, or None.

    An end that breaks a lay or a fold is none.
    """
    layout = form.layout
    for room in np.linspace(form.room, floor, steps + 1)[1:]:
        got = stretch(form.way.shape, layout, way, float(room), rounds, finest=finest)
        if got.room >= room * (1 - 1e-4):
            layout = got.layout
    got = stretch(fine, layout, way, floor, rounds, finest=finest)
    kept = judged(form.way, got.layout, got.room)
    same = kept.said >= form.said and kept.folded >= form.folded
    return got.layout if got.room >= floor and same else None
