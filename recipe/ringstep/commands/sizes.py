"""Tell which rings fit: aspect ratios, the openings that suit a wire, what is in stock.

With a recipe, rings are held against its working range ('AR 5.6 to 5.8' under 'expect:'). The
stock list is a CSV table with the columns ring, wire, inside and, if wanted, material, colour and
count.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING

from ringstep.commands.rim import ERRORS, OK, Stop, bytes_of, must_be_clean

if TYPE_CHECKING:
    from ringstep.language.typed_size import Measure
    from ringstep.paper.table_text import Sheet
    from ringstep.shop.fitting import Judged, RingUse
    from ringstep.weave.piece import Weave


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep sizes`."""
    parser.add_argument("file", metavar="FILE", nargs="?", help="a recipe to fit rings to")
    parser.add_argument(
        "--wire",
        metavar="SIZE",
        action="append",
        help="'1.2 mm', '16 swg'; more than once for a list",
    )
    parser.add_argument("--inside", metavar="SIZE", action="append", help="'5 mm', '5/16 in'")
    parser.add_argument("--stock", metavar="FILE.csv", help="rings in stock")
    parser.add_argument("--ring", metavar="NAME", help="only this ring kind of the recipe")
    parser.add_argument("--variant", metavar="NAME", help="the variant that is made")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="write the sizes as JSON")
    form.add_argument("--csv", action="store_true", help="write the judged rings as CSV")


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
    from ringstep.checks.view import with_variant
    from ringstep.paper.size_tables import names_of, no_such_ring
    from ringstep.shop.fitting import ring_uses

    if args.file is None:
        if args.ring:
            raise Stop("--ring names a ring of a recipe; name the recipe too")
        if args.variant:
            raise Stop("--variant names a variant of a recipe; name the recipe too")
        return (), (), "Ring sizes", None
    seen = with_variant(must_be_clean(args.file), args.variant)
    uses = ring_uses(seen)
    if args.ring:
        chosen = tuple(u for u in uses if args.ring in names_of((u,)))
        if not chosen:
            raise Stop(no_such_ring(args.ring, uses))
        uses = chosen
    notes = tuple(n.text for n in seen.recipe.notes if n.topic == "sizes")
    weave = None if args.ring else seen.weave
    return uses, notes, seen.recipe.title or "Ring weave", weave


def _asked(args: argparse.Namespace) -> list[tuple[str, str, Measure, Measure]]:
    """The rings to judge: those in stock and those typed."""
    from ringstep.shop.tables import MOST_BYTES, read_stock

    found: list[tuple[str, str, Measure, Measure]] = []
    if args.stock:
        stock = read_stock(bytes_of(args.stock, MOST_BYTES, "table"), args.stock)
        for one in stock:
            many = f"{one.count:,} in stock" if one.count is not None else ""
            what = ", ".join(x for x in (f"{one.colour} {one.material}".strip(), many) if x)
            found.append((one.name, what, one.wire, one.inside))
    wires, insides = _typed("wire", args.wire), _typed("inside", args.inside)
    for wire in wires:
        for inside in insides:
            if inside.mm <= wire.mm:
                raise Stop(
                    f"--inside: {inside.words} is no wider than the wire, {wire.words}; the two may"
                    " have changed places"
                )
            found.append(("", "", wire, inside))
    return found


def _sheets_of(
    args: argparse.Namespace,
    use: RingUse | None,
    rings: list[Judged],
    notes: tuple[str, ...],
) -> list[Sheet]:
    """Everything told of one ring kind (or, without a recipe, of the rings typed)."""
    from dataclasses import replace

    from ringstep.paper import size_tables as told

    wires, insides = _typed("wire", args.wire), _typed("inside", args.inside)
    sheets = []
    if rings:
        first = rings[0]
        heading = f"{use.label[0].upper()}{use.label[1:]}" if use else "Aspect ratio"
        sheet = told.judged_sheet(heading, use, rings)
        more = told.range_notes(use, notes) if use else told.ratio_notes(first.ratio)
        if use:
            more += told.floor_notes(use, use.wire if args.stock else first.wire.mm)
        elif len({r.ratio for r in rings if r.sold_as is None}) > 1:
            more = ()
        sheets.append(replace(sheet, notes=(*sheet.notes, *more)))
        if not args.stock and len({(r.wire, r.inside) for r in rings}) == 1:
            sheets.append(told.change_sheet(use, first.wire_mm, first.inside.mm))
    elif use and wires:
        for wire in wires:
            sheet = told.opening_sheet(use, wire)
            more = (*told.range_notes(use, notes), *told.floor_notes(use, wire.mm))
            sheets.append(replace(sheet, notes=more, heads=sheet.heads if sheet.rows else ()))
    elif use and insides:
        for inside in insides:
            sheet = told.wire_sheet(use, inside)
            more = told.range_notes(use, notes)
            sheets.append(replace(sheet, notes=more, heads=sheet.heads if sheet.rows else ()))
    elif wires:
        sheets.append(told.gauge_sheet(wires))
    return sheets


def _said_once(sheets: Iterable[Sheet]) -> list[Sheet]:
    """The tables without notes that stand under an earlier one already."""
    from dataclasses import replace

    said: set[str] = set()
    kept = []
    for sheet in sheets:
        kept.append(replace(sheet, notes=tuple(n for n in sheet.notes if n not in said)))
        said.update(sheet.notes)
    return kept


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.checks.report import json_text
    from ringstep.paper.size_tables import judged_data, part_data, part_sheet, use_data
    from ringstep.paper.table_text import as_csv, as_plain, show_rich
    from ringstep.shop.fitting import judge

    asked = _asked(args)
    uses, notes, title, weave = _uses(args)
    if args.file is None and not asked and not args.wire:
        raise Stop(
            "say which ring: ringstep sizes --wire '16 swg' --inside '5/16 in', or name a recipe"
        )
    if args.file is not None and not uses:
        raise Stop("the recipe places no ring whose size is given")
    own = not (args.stock or args.wire or args.inside)
    groups: list[tuple[RingUse | None, list[Judged]]] = []
    for use in uses or (None,):
        rings = [("as the recipe has it", "", *use.own)] if use and own else asked
        groups.append((use, [j for r in rings for j in judge(use, *r)]))
    judged = [(use, one) for use, rings in groups for one in rings]
    if args.json:
        wire = next(iter(_typed("wire", args.wire)), None)
        data = {
            "title": title,
            "kinds": [use_data(u, wire.mm if wire else u.wire) for u in uses],
            "rings": [judged_data(one, use) for use, one in judged],
            "parts": part_data(weave) if weave and own else [],
        }
        sys.stdout.write(json_text(data))
    elif args.csv:
        rows = [list(judged_data(one, use).values()) for use, one in judged]
        heads = ("ring", "what", "for", "wire", "wire_mm", "sold_as", "inside", "inside_mm", "ar",
                 "counts_as", "verdict")  # fmt: skip
        sys.stdout.write(as_csv(heads, rows))
    else:
        sheets = _said_once(s for u, r in groups for s in _sheets_of(args, u, r, notes))
        if weave and own and (parts := part_sheet(weave)).rows:
            sheets.append(parts)
        if sys.stdout.isatty():
            show_rich(title, "", sheets)
        else:
            sys.stdout.write(as_plain(title, "", sheets))
    fit = [one for _, one in judged if one.verdict in ("fits", "no range")]
    return OK if fit or not judged else ERRORS
