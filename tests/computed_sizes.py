"""Work out at which sizes the rings of shipped weaves just go together, and ship that.

`python tests/computed_sizes.py [NAME…]` lays out the weaves named, or all, and writes
library/computed_sizes.json. Where rings of two sizes are linked, that is done for several
proportions of the two; where pairs are folded back, it looks from which AR they do not lock the
chain. It takes many minutes.
"""

from __future__ import annotations

import json
import sys
import time
from dataclasses import replace
from fractions import Fraction
from itertools import product
from math import ceil
from pathlib import Path
from typing import Any

from ringstep.checks.view import View
from ringstep.commands.rim import ready_to_compute, shipped_view
from ringstep.language.shipped import COMPUTED, shipped, shipped_weaves
from ringstep.shop.computed import linked_sizes, point_of, size_mark
from ringstep.space import units
from ringstep.space.cell import Cell
from ringstep.space.circles import FINE, shape_of
from ringstep.space.fit import fit
from ringstep.space.fit_cell import laid_out
from ringstep.space.hang import end_of, form_of
from ringstep.space.lays import as_stated, stated_terms
from ringstep.space.regular import Regular, ways
from ringstep.space.relax import read_links
from ringstep.space.rows_cell import from_the_middle
from ringstep.space.search import search
from ringstep.space.second import ALONE
from ringstep.space.tighten import thicken

#: By how much the mean diameters of two sizes of ring differ from the proportion of the recipe,
#: and their wires.
WIDER, THICKER = (0.76, 0.87, 1.0, 1.15, 1.32), (0.8, 1.0, 1.25)
#: Wires that are so much thinner are worked more easily; they are made thick afterwards.
_THIN = 0.85
#: Of cells of more rings than this only the mean diameters are varied: they take long.
MANY = 5
#: Decimals that are kept.
PLACES = 4
#: A chain whose unit can be pushed together to this share of its pulled length counts as loose.
HALF = 0.5
#: AR is looked at in such steps, up to so many times the smallest.
STEP, FAR = 0.05, 2.0
_STARTS, _HOPS = 320, 8


def resized(view: View, wider: float, thicker: float) -> View:
    """The recipe with the smaller of its two sizes of linked ring in another proportion."""
    if (wider, thicker) == (1.0, 1.0):
        return view
    _, (wire, inside) = linked_sizes(view)
    thin = Fraction(_THIN)

    def changed(kind: Any) -> Any:
        w, i = kind.mm
        wire_by = thin
        mean = w + i
        if (w, i) == (wire, inside):
            wire_by *= Fraction(thicker)
            mean *= wider
        new = w * float(wire_by)
        return replace(
            kind,
            wire=replace(kind.wire, number=Fraction(new), unit="mm"),
            inside=replace(kind.inside, number=Fraction(mean - new), unit="mm"),
        )

    rings = tuple(map(changed, view.recipe.rings))
    other = View(replace(view.recipe, rings=rings), ())
    other.__dict__["chosen"] = view.chosen
    return other


def chain_form(cell: Cell) -> Regular | None:
    """The form of a chain with the most room."""
    best, _ = search(ways(cell), 0, _STARTS, _HOPS, ALONE)
    return best if best and best.said and best.folded else None


def room_of(view: View, searched: bool = False) -> float | None:
    """By which factor all wires could grow, rings laid as the steps say; None where not found.

    searched: look for a sheet's form by its links, without carrying its steps out.
    """
    laid = laid_out(view)
    if laid.cell.dims == 1:
        best = chain_form(laid.cell)
        return None if best is None else form_of(best, ALONE, hang=False).room
    if laid.cell.dims == 0 or searched:
        forms = [f for f in fit(laid.cell).forms if f.as_said and f.folds_kept]
        return forms[0].room if forms else None
    multiple = units.multiple_that_frees(laid.cell)
    if multiple is None:
        return None
    several = units.multiplied(laid.cell, multiple)
    shape = shape_of(several)
    got = from_the_middle(laid, shape, multiple, 0)
    if got is None:
        return None
    seen = [int(s) for s in read_links(shape, got.layout).signs]
    if not as_stated(several, stated_terms(several), seen):
        return None
    layout = thicken(shape, got.layout, 200, 1e-6).layout
    return thicken(replace(shape, samples=FINE), layout, 30, 1e-7).room


def point_at(
    view: View, wider: float = 1.0, thicker: float = 1.0, searched: bool = False
) -> list[list[float]] | None:
    """Mean diameters and wires that just go together, in one proportion."""
    other = resized(view, wider, thicker)
    room = room_of(other, searched)
    if room is None:
        return None
    at = {name: size for size, names in linked_sizes(other).items() for name in names}
    ordered = [at[names[0]] for names in linked_sizes(view).values()]  # as in the recipe
    sizes = [(wire * room, wire + inside - wire * room) for wire, inside in ordered]
    return [[round(d, PLACES), round(w, PLACES)] for d, w in point_of(tuple(sizes))]


def play_at(form: Regular, cell: Cell, ratio: float) -> float | None:
    """How long a unit of a chain is, pushed together, against pulled, its rings of that AR; None
    where a pair that was folded back slips in one or the other."""
    ring = cell.rings[0]
    room = 2 * ring.mean_radius / ring.wire / (ratio + 1)
    held = replace(form.way.shape, twist=form.way.turn == "free")
    fine = replace(held, samples=FINE)
    best = replace(form, way=replace(form.way, shape=held))
    ends = [end_of(fine, best, way, room, 8, 80, 2e-5) for way in (1, -1)]
    if ends[0] is None or ends[1] is None:
        return None
    return float(ends[1].repeat[0] / ends[0].repeat[0])


def loose_from(view: View) -> dict[str, Any]:
    """From which AR the folds of a chain do not lock it, to a step, and why; or to which AR they
    do. Nothing where there are no folds."""
    cell = laid_out(view).cell
    form = chain_form(cell) if any(step.fold for step in cell.steps) else None
    if form is None:
        return {}
    ring = cell.rings[0]
    least = 2 * ring.mean_radius / ring.wire / form.room - 1
    first, last = ceil(least / STEP) + 1, int(FAR * least / STEP)
    seen: dict[int, float | None] = {}

    def holds(at: int) -> bool:
        seen[at] = play_at(form, cell, at * STEP)
        return seen[at] is not None and seen[at] > HALF

    low, high = first, first
    while high < last and holds(high):
        low, high = high, min(last, high + max(4, (high - first) // 2))
    if high not in seen and holds(high):
        return {"held_to": round(high * STEP, 2)}
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return {"loose_from": round(high * STEP, 2), "why": "play" if seen[high] else "slips"}


def computed(name: str, path: Path) -> dict[str, Any]:
    """What is shipped of one weave."""
    view = shipped_view(name, path)
    two = len(linked_sizes(view)) == 2
    many = len(laid_out(view).cell.rings) > MANY
    proportions = product(WIDER, (1.0,) if many else THICKER) if two else [(1.0, 1.0)]
    points = [p for way in proportions if (p := point_at(view, *way))]
    if not points:  # its steps could not be carried out: any way in which its links lie
        points = [p for p in [point_at(view, searched=True)] if p]
    if not points:
        raise SystemExit(f"{name}: nothing was found")
    loose = {} if view.recipe.ranges else loose_from(view)  # what the recipe states decides
    return {"points": points, **loose}


def main() -> None:
    """Write what is shipped anew, weave by weave."""
    ready_to_compute()
    where = shipped("library") / COMPUTED
    kept: dict[str, Any] = {}
    wanted = sys.argv[1:] or list(shipped_weaves())
    done: set[str] = set()
    for name in wanted:
        begun = time.monotonic()
        view = shipped_view(name, shipped_weaves()[name])
        mark = size_mark(view)
        fresh = {} if mark in done else computed(name, shipped_weaves()[name])
        if where.exists():  # another run may have written to it meanwhile
            kept = json.loads(where.read_text(encoding="utf-8"))
        old = kept.get(mark, {"weaves": []})
        kept[mark] = old | fresh | {"weaves": sorted({*old["weaves"], name})}
        done.add(mark)
        lines = ",\n".join(
            f'"{key}": {json.dumps(body)}'
            for key, body in sorted(kept.items(), key=lambda k: k[1]["weaves"])
        )
        where.write_text(f"{{\n{lines}\n}}\n", encoding="utf-8")
        print(f"{time.monotonic() - begun:5.0f} s  {name}  {mark}  {json.dumps(kept[mark])[:150]}",
              flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
