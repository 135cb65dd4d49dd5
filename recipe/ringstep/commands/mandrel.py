"""Tell what ring comes off a mandrel, or which mandrel to buy for a ring, an AR or a recipe.

Wire springs open when it is let go, soft copper by little and spring steel by much. Say which metal
and temper it is, or wind one coil, measure it and tell that: --coil '8 mm, inside 8.4 mm'.
"""

from __future__ import annotations

import argparse
import re
from fractions import Fraction
from typing import TYPE_CHECKING

from ringstep.commands.rim import (
    ERRORS,
    OK,
    Stop,
    data_forms,
    must_be_clean,
    put,
    put_data,
    size_option,
)

if TYPE_CHECKING:
    from ringstep.language.typed_size import Measure
    from ringstep.paper.mandrel_tables import Task
    from ringstep.shop.fitting import Openings, RingUse
    from ringstep.shop.mandrel import Coil, Spool
    from ringstep.shop.mandrel_steps import Wire
    from ringstep.weave.working_range import Range

_COIL = re.compile(r"(.+?)[ ,]+(inside|outside) +(.+)", re.I)
_RATIO = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,3})?)(?: *(?:to|-) *([0-9]{1,3}(?:\.[0-9]{1,3})?))?")


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep mandrel`."""
    parser.add_argument("file", metavar="FILE", nargs="?", help="a recipe to wind rings for")
    parser.add_argument("--wire", metavar="SIZE", help="'1.2 mm', '16 swg', '1.2 mm +- 0.02 mm'")
    asked = parser.add_mutually_exclusive_group()
    asked.add_argument(
        "--mandrel",
        metavar="SIZE",
        action="append",
        help="what comes off it: '8 mm', '5/16 in'; more than once for a list",
    )
    asked.add_argument("--ar", metavar="AR", help="which mandrel gives it: '4.5', '4 to 5'")
    asked.add_argument("--inside", metavar="SIZE", help="which mandrel gives it: '5 mm'")
    springs = parser.add_mutually_exclusive_group()
    springs.add_argument(
        "--metal", metavar="WORDS", help="with its temper: 'half-hard copper', 'spring stainless'"
    )
    springs.add_argument(
        "--coil",
        metavar="WORDS",
        help="a coil of this wire, measured before it is sawn: '8 mm, inside 8.4 mm' or outside",
    )
    parser.add_argument("--saw", metavar="SIZE", help="how thick the blade cuts: '0.5 mm'")
    parser.add_argument("--ring", metavar="NAME", help="only this ring kind of the recipe")
    parser.add_argument("--variant", metavar="NAME", help="the variant that is made")
    size_option(parser)
    data_forms(parser, "the rings", "the rings")


def _size(option: str, text: str) -> Measure:
    from ringstep.language.typed_size import BadSize, read_size

    try:
        return read_size(text)
    except BadSize as fault:
        raise Stop(f"--{option}: {fault}") from None


def _wire(text: str) -> Wire:
    from ringstep.language.typed_size import BadSize, read_tolerance
    from ringstep.shop.mandrel_steps import Wire

    try:
        return Wire(*read_tolerance(text))
    except BadSize as fault:
        raise Stop(f"--wire: {fault}") from None


def _coil(text: str, wire: float) -> Coil:
    """The coil that was measured, of a wire in mm."""
    from ringstep.shop.mandrel import Coil

    if not (found := _COIL.fullmatch(text.strip()[:80])):
        raise Stop(
            f"--coil: '{text[:40]}' is not read; write the mandrel and how wide the coil came out,"
            " as in --coil '8 mm, inside 8.4 mm' or --coil '8 mm, outside 10.8 mm'"
        )
    mandrel, measured = _size("coil", found[1]).mm, _size("coil", found[3]).mm
    return Coil(mandrel, measured if found[2].casefold() == "inside" else measured - 2 * wire)


def _range(text: str) -> Range:
    """The AR typed, from and to alike where only one is."""
    from ringstep.weave.working_range import Range

    found = _RATIO.fullmatch(" ".join(text.split()))
    low, high = (Fraction(found[1]), Fraction(found[2] or found[1])) if found else (0, 0)
    if not found or not 0 < low <= high:
        raise Stop(f"--ar: '{text[:40]}' is not read; write it as in --ar 4.5 or --ar '4 to 5'")
    return Range(Fraction(low), Fraction(high), "")


def _uses(args: argparse.Namespace) -> tuple[tuple[RingUse | None, ...], str]:
    """The ring kinds asked for, None without a recipe, and the title."""
    from ringstep.commands.drawer import with_known
    from ringstep.paper.size_tables import names_of, no_such_ring
    from ringstep.shop.fitting import ring_uses

    if args.file is None:
        for option in ("ring", "variant", "size"):
            if getattr(args, option):
                raise Stop(f"--{option} names something of a recipe; name the recipe too")
        return (None,), "Mandrels and rings"
    seen = must_be_clean(args.file, args.variant, args.size)
    uses = ring_uses(seen)
    if not uses:
        raise Stop("the recipe places no ring whose size is given")
    chosen = tuple(u for u in uses if not args.ring or args.ring in names_of((u,)))
    if not chosen:
        raise Stop(no_such_ring(args.ring, uses))
    return with_known(args.file, seen, chosen), seen.recipe.title or "Ring weave"


def _spools(args: argparse.Namespace, use: RingUse | None, wire: float) -> tuple[Spool, ...]:
    """What springs back: the coil measured, or the metal typed, or that of the recipe."""
    from ringstep.shop.mandrel import known_metals, typical_of

    if args.coil:
        return (_coil(args.coil, wire),)
    metal = args.metal or (use.kind.material if use else "")
    if not metal:
        raise Stop(
            f"say which metal: --metal with {known_metals()}; or wind one coil, measure it and"
            " type --coil '8 mm, inside 8.4 mm'"
        )
    return typical_of(metal)


def _task(args: argparse.Namespace, use: RingUse | None) -> Task:
    """What is asked of one kind of ring, worked out."""
    from ringstep.paper.mandrel_tables import Task
    from ringstep.shop.mandrel_steps import Wire, mandrels_for, wound

    if args.wire is None and use is None:
        raise Stop("say which wire: --wire '1.2 mm' or --wire '18 swg', or name a recipe")
    wire = _wire(args.wire) if args.wire or use is None else Wire(use.own[0])
    spools = _spools(args, use, wire.size.mm)
    saw = _size("saw", args.saw).mm if args.saw else 0.0
    span = _range(args.ar) if args.ar else use.range if use else None
    inside = _size("inside", args.inside).mm if args.inside else None
    if args.mandrel:
        mandrels = [_size("mandrel", text) for text in args.mandrel]
        rings = tuple(wound(one, wire, spool, saw) for spool in spools for one in mandrels)
        return Task(use, wire, saw, span, None, rings)
    wanted = _wanted(use, span, inside, wire.size.mm)
    choices = tuple(mandrels_for(wanted, wire.size.mm, spool, saw) for spool in spools)
    rings = tuple(
        wound(one, wire, spool, saw)
        for choice, spool in zip(choices, spools, strict=True)
        for one in choice.mandrels
    )
    return Task(use, wire, saw, span, inside, rings, choices)


def _task_of_several(args: argparse.Namespace, use: RingUse) -> Task:
    """The same, saying which kind it is that cannot be wound."""
    from ringstep.shop.mandrel import NoRing

    try:
        return _task(args, use)
    except NoRing as fault:
        raise Stop(f"{use.label}: {fault}; --ring asks for one kind only") from None


def _wanted(use: RingUse | None, span: Range | None, inside: float | None, wire: float) -> Openings:
    """The insides in mm for which a mandrel is looked for.

    Where a recipe gives no range and none is typed, those of its own AR.
    """
    from ringstep.shop.fitting import Openings
    from ringstep.weave.working_range import exact

    if inside is not None:
        return Openings(inside, inside)
    if span is None and use:
        own = float(use.own_ratio * exact(wire))
        return Openings(own, own)
    if span is None:
        raise Stop(
            "say which mandrel you have, --mandrel '8 mm', or what ring you want: --ar '4 to 5' or"
            " --inside '5 mm', or name a recipe"
        )
    if span.low == span.high:
        inside = float(span.low * exact(wire))
        return Openings(inside, inside)
    low = float(span.from_ratio * exact(wire))
    least = use.floor(wire) if use else None
    top = span.below_ratio
    below = None if top is None else float(top * exact(wire))
    return Openings(max(low, least.inside if least else 0.0), below)


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.paper.mandrel_tables import CSV_HEADS, mandrel_page, wound_data

    uses, title = _uses(args)
    tasks = [_task_of_several(args, use) if use and uses[1:] else _task(args, use) for use in uses]
    rows = [wound_data(task, ring) for task in tasks for ring in task.rings]
    if not put_data(args, {"title": title, "rings": rows}, CSV_HEADS, rows):
        put(mandrel_page(title, tasks))
    verdicts = {row["verdict"] for row in rows}
    return OK if verdicts & {"fits", "no range"} else ERRORS
