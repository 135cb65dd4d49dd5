"""Recipes held against the rings of a drawer; what `ringstep sizes --stock` does."""

from __future__ import annotations

import argparse
import os
from dataclasses import replace

from ringstep.checks.view import View
from ringstep.commands.check import recipes_in
from ringstep.commands.fit_store import known_fit
from ringstep.commands.price_lists import stock_in
from ringstep.commands.rim import (
    CANNOT,
    ERRORS,
    OK,
    Stop,
    must_be_clean,
    put,
    put_data,
    reason,
    shipped_view,
    tell,
)
from ringstep.language.shipped import shipped_weaves
from ringstep.language.source import Refused
from ringstep.paper.drawer_tables import (
    DRAWER_HEADS,
    drawer_data,
    drawer_page,
    range_of,
    weaving_data,
)
from ringstep.shop.computed import Computed, fitted_sizes, shipped_sizes
from ringstep.shop.drawer import hold
from ringstep.shop.fitting import RingUse
from ringstep.shop.needs import Weaving, weaving_of
from ringstep.space.fit_cell import NoFit, laid_out


def weaving(name: str, seen: View) -> Weaving:
    """A recipe of one's own with what is known of its sizes: computed of a shipped weave with the
    same links, or kept by 'ringstep fit'. Raises `Refused`."""
    computed = shipped_sizes(seen)
    if computed is None:
        fit, hint = known_fit(seen), f"'ringstep fit {name}' computes one"
        fitted = fitted_sizes(seen, fit) if fit else None
        if fit and fitted is None:
            hint = "'ringstep fit' found no form that lies as the steps say: work a sample"
        try:
            laid_out(seen)
        except NoFit as fault:
            hint = f"none can be computed: {fault}"
        return weaving_of(name, seen, fitted, hint=hint)
    return weaving_of(name, seen, computed, _like(computed))


def with_known(name: str, seen: View, uses: tuple[RingUse, ...]) -> tuple[RingUse, ...]:
    """The ring kinds of a recipe with the range known from elsewhere, where it states none."""
    if any(use.range for use in uses):
        return uses
    try:
        words, known_from = range_of(weaving(name, seen))
    except Refused:
        return uses
    known = "" if "not known" in words else f"{words} ({known_from})"
    return tuple(replace(use, known=known) for use in uses)


def _like(computed: Computed) -> View:
    """The simplest shipped recipe that was computed, one that states a range if there is one."""
    paths = shipped_weaves()
    views = [shipped_view(name, paths[name]) for name in computed.weaves if name in paths]
    return min(views, key=lambda v: (not v.recipe.ranges, len(v.recipe.source.lines)))


def run(args: argparse.Namespace) -> int:
    """Hold recipes, or all shipped ones, against the rings of a stock list."""
    drawer = stock_in(args.stock, args.column)
    found: list[Weaving] = []
    left_out: list[str] = []

    def take(path: str, many: bool) -> None:
        try:
            seen = must_be_clean(path, None if many else args.variant, None if many else args.size)
            found.append(weaving(path, seen))
        except Refused as fault:
            if not many:
                raise
            left_out.append(f"{path}: {fault}")

    unread: list[OSError] = []
    for path in args.files:
        inner, closed = recipes_in(path) if os.path.isdir(path) else (None, [])
        unread += closed
        for one in inner or [path]:
            take(one, inner is not None or len(args.files) > 1)
    if not args.files:
        for name, path in shipped_weaves().items():
            seen = shipped_view(name, path)
            found.append(weaving_of(name, seen, shipped_sizes(seen)))
    held = [h for one in found for h in hold(one, drawer)]
    rows = [drawer_data(h) for h in held]
    data = {"weaves": [weaving_data(w) for w in found], "rings": rows, "left_out": left_out}
    if not put_data(args, data, DRAWER_HEADS, rows):
        put(drawer_page(held, left_out, args.every_ring or len(found) == 1))
    for fault in unread:
        tell(Stop(f"{fault.filename} cannot be read: {reason(fault)}"))
    if unread:
        return CANNOT
    return OK if any(h.said.answer == "fits" for h in held) else ERRORS
