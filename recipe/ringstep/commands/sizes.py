"""Tell which rings fit: aspect ratios, the openings that suit a wire, what is in stock.

With a recipe, rings are held against its working range ('AR 5.6 to 5.8' under 'expect:'). With
--stock alone, recipes, folders of them, or all shipped ones are held against the rings in stock:
which can be made of them, and how many. The stock list is a table as a spreadsheet saves it, with
the columns ring, wire, inside and, if wanted, material, colour and count, under these headings or
the shop's own.
"""

from __future__ import annotations

import argparse
from itertools import product
from os.path import isdir
from typing import TYPE_CHECKING, Any

from ringstep.commands.price_lists import column_option, stock_in
from ringstep.commands.rim import (
    ERRORS,
    OK,
    Stop,
    data_forms,
    must_be_clean,
    put,
    put_data,
    size_option,
    view,
)
from ringstep.language.source import Refused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ringstep.checks.view import View
    from ringstep.language.typed_size import Measure
    from ringstep.paper.printed import Printed
    from ringstep.shop.fitting import Judged, RingUse
    from ringstep.weave.piece import Weave


_NO_SIZES = "the recipe places no ring whose size is given"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep sizes`."""
    parser.add_argument(
        "files",
        metavar="FILE",
        nargs="*",
        help="a recipe; with --stock also several, folders, or none for all shipped",
    )
    parser.add_argument(
        "--wire",
        metavar="SIZE",
        action="append",
        help="'1.2 mm', '16 swg'; more than once for a list",
    )
    parser.add_argument("--inside", metavar="SIZE", action="append", help="'5 mm', '5/16 in'")
    parser.add_argument(
        "--stock", metavar="FILE.csv", help="rings in stock: which weaves can be made of them"
    )
    parser.add_argument(
        "--every-ring",
        action="store_true",
        help="with --stock: how each ring in stock does for each weave, with the reason",
    )
    column_option(parser)
    parser.add_argument("--ring", metavar="NAME", help="only this ring kind of the recipe")
    parser.add_argument("--variant", metavar="NAME", help="the variant that is made")
    size_option(parser)
    data_forms(parser, "the sizes", "the judged rings")


def _graded(files: list[str]) -> bool:
    """True for one recipe whose rings change size along the piece: it is judged kind by kind."""
    if len(files) != 1 or isdir(files[0]) or files[0] == "-":
        return False
    return any(kind.along for kind in view(files[0]).recipe.rings)


def _typed(option: str, texts: list[str] | None) -> list[Measure]:
    from ringstep.language.typed_size import BadSize, read_size

    try:
        return [read_size(text, wire=option == "wire") for text in texts or ()]
    except BadSize as fault:
        raise Stop(f"--{option}: {fault}") from None


def _uses(
    args: argparse.Namespace,
) -> tuple[tuple[RingUse, ...], tuple[str, ...], str, Weave | None]:
    """The ring kinds asked for, what the recipe says of sizes, its title, and the piece itself
    where all of it is asked for."""
    from ringstep.commands.drawer import with_known
    from ringstep.paper.size_tables import names_of, no_such_ring
    from ringstep.shop.fitting import ring_uses

    if args.file is None:
        if args.ring:
            raise Stop("--ring names a ring of a recipe; name the recipe too")
        if args.variant:
            raise Stop("--variant names a variant of a recipe; name the recipe too")
        return (), (), "Ring sizes", None
    seen = must_be_clean(args.file, args.variant, args.size)
    uses = ring_uses(seen)
    if args.ring:
        chosen = tuple(u for u in uses if args.ring in names_of((u,)))
        if not chosen:
            raise Stop(no_such_ring(args.ring, uses))
        uses = chosen
    notes = tuple(n.text for n in seen.recipe.notes if n.topic == "sizes")
    weave = None if args.ring else seen.weave
    uses = with_known(args.file, seen, uses)
    return uses, notes, seen.recipe.title or "Ring weave", weave


def _sets(seen: View) -> list[dict[str, Any]]:
    """The rings of one piece in every set of sizes of the recipe, set by set."""
    from ringstep.checks.view import with_size
    from ringstep.language.size_sets import set_names
    from ringstep.paper.set_table import set_data
    from ringstep.shop.fitting import ring_uses
    from ringstep.shop.kit import kit_of
    from ringstep.shop.wish import Wish

    found = []
    for name in set_names(seen.recipe):
        sized = with_size(seen, name)
        kit = kit_of(sized, Wish()) if sized.weave.layout.known else None
        found += set_data(name, ring_uses(sized), kit)
    return found


def _asked(
    args: argparse.Namespace, wires: list[Measure], insides: list[Measure]
) -> list[tuple[str, str, Measure, Measure]]:
    """The rings to judge: those in stock and those typed."""
    found: list[tuple[str, str, Measure, Measure]] = []
    if args.column and not args.stock:
        raise Stop("--column names a column of a stock list; name the list with --stock")
    if args.stock:
        for one in stock_in(args.stock, args.column):
            many = f"{one.count:,} in stock" if one.count is not None else ""
            what = ", ".join(x for x in (f"{one.colour} {one.material}".strip(), many) if x)
            found.append((one.name, what, one.wire, one.inside))
    for wire, inside in product(wires, insides):
        if inside.mm <= wire.mm:
            raise Stop(
                f"--inside: {inside.words} is no wider than the wire, {wire.words}; the two may"
                " have changed places"
            )
        found.append(("", "", wire, inside))
    return found


def _judged(
    uses: Sequence[RingUse], asked: Sequence[tuple[str, str, Measure, Measure]], own: bool
) -> list[tuple[RingUse | None, list[Judged]]]:
    """The rings asked for, judged for each ring kind. own: ask for those of the recipe."""
    from ringstep.shop.fitting import judge

    groups: list[tuple[RingUse | None, list[Judged]]] = []
    for use in uses or (None,):
        rings = [("as the recipe has it", "", *use.own)] if use and own else asked
        groups.append((use, [j for r in rings for j in judge(use, *r)]))
    return groups


def own_sizes(seen: View) -> Printed:
    """The rings of a recipe without errors, as it has them. Raises `Refused` where it has none."""
    from ringstep.paper.size_tables import part_data, sizes_page
    from ringstep.shop.fitting import ring_uses

    if not (uses := ring_uses(seen)):
        raise Refused(_NO_SIZES)
    notes = tuple(n.text for n in seen.recipe.notes if n.topic == "sizes")
    title, parts = seen.recipe.title or "Ring weave", part_data(seen.weave)
    return sizes_page(title, _judged(uses, (), True), notes, [], [], False, parts, _sets(seen))


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.paper.size_tables import CSV_HEADS, judged_data, part_data, sizes_page, use_data

    if args.stock and not (args.wire or args.inside or args.ring or _graded(args.files)):
        from ringstep.commands import drawer

        return drawer.run(args)
    if len(args.files) > 1:
        raise Stop("several recipes are held against a stock list; add --stock, or name one recipe")
    args.file = args.files[0] if args.files else None
    wires, insides = _typed("wire", args.wire), _typed("inside", args.inside)
    asked = _asked(args, wires, insides)
    uses, notes, title, weave = _uses(args)
    if args.file is None and not asked and not wires:
        raise Stop(
            "say which ring: ringstep sizes --wire '16 swg' --inside '5/16 in', or name a recipe"
        )
    if args.file is not None and not uses:
        raise Stop(_NO_SIZES)
    own = not (args.stock or wires or insides)
    groups = _judged(uses, asked, own)
    judged = [(use, one) for use, rings in groups for one in rings]
    rows = [judged_data(one, use) for use, one in judged]
    kinds = [use_data(u, wires[0].mm if wires else u.wire) for u in uses]
    parts = part_data(weave) if weave and own else []
    sets = _sets(must_be_clean(args.file, args.variant)) if own and weave and not args.size else []
    data = {"title": title, "kinds": kinds, "rings": rows, "parts": parts, "sets": sets}
    if not put_data(args, data, CSV_HEADS, rows):
        put(sizes_page(title, groups, notes, wires, insides, bool(args.stock), parts, sets))
    fit = [one for _, one in judged if one.verdict in ("fits", "no range")]
    return OK if fit or not judged else ERRORS
