"""Lay the unit out with real round rings: smallest AR, length of a unit, pictures, a mesh.

The same recipe, seed and effort give the same result, which is kept and read again the next time;
--again works it out anew.
"""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.rim import (
    OK,
    PassingLine,
    Stop,
    must_be_clean,
    ready_to_compute,
    say,
    size_option,
    stem_of,
    write_all,
)

if TYPE_CHECKING:
    from ringstep.paper.fit_report import Kept
    from ringstep.space.fit_laid import Laid


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep fit`."""
    parser.add_argument("file", metavar="FILE")
    size_option(parser)
    parser.add_argument("--variant", metavar="NAME", help="the variant to lay out")
    parser.add_argument(
        "--effort",
        type=int,
        choices=range(4),
        default=1,
        help="how long to search: 0 mostly some seconds, 1 (the default) longer, 3 very long",
    )
    parser.add_argument(
        "--seed", type=int, default=0, metavar="N", help="another number, another search"
    )
    parser.add_argument("--to", metavar="FOLDER", help="where pictures and mesh go")
    parser.add_argument("--all", action="store_true", help="tell and draw every form found")
    parser.add_argument("--again", action="store_true", help="work it out anew")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    ready_to_compute()
    if args.seed < 0:
        raise Stop(f"--seed takes 0 or a whole number above it, not {args.seed}")
    from ringstep.checks.view import even_stretches
    from ringstep.commands.fit_store import fitted_length
    from ringstep.language.screen import safe
    from ringstep.paper import fit_report
    from ringstep.space.fit_cell import NoFit, laid_out

    seen = must_be_clean(args.file, args.variant, args.size)
    folder = Path(args.to or f"{stem_of(args.file)}-fit")
    pictures: dict[str, bytes] = {}
    lines: list[str] = []
    stretches = even_stretches(seen)
    lengths: list[tuple[int, float, float]] = []
    for where, even in stretches:
        try:
            laid = laid_out(even)
        except NoFit as fault:
            raise Stop(f"{args.file} cannot be laid out: {fault}") from None
        made = _made(laid, args)
        _must_have_forms(made, args)
        stem = f"{str(where).replace(' ', '-')}-" if where else ""
        files = fit_report.files(laid, made, args.all)
        pictures |= {f"{stem}{name}": data for name, data in files.items()}
        lines += [*([""] if lines else []), f"{where}:"] if where else []
        lines += fit_report.report(even, laid, made, args.all)
        long = fitted_length(even) if where else None
        lengths += [(where.last - where.first + 1, *long)] if where and long else []
    if len(lengths) == len(stretches):
        lines += fit_report.whole_length(lengths)
    write_all(folder, pictures, args.file)
    lines += ["", safe(f"{len(pictures)} files in {folder}:"), *(f"  {n}" for n in pictures)]
    say("\n".join(lines))
    return OK


def _must_have_forms(made: Kept, args: argparse.Namespace) -> None:
    """Raises `Stop` where no form was found."""
    if not made.fit.forms:
        more = f"; try --effort {args.effort + 1}" if args.effort < 3 else "; try another --seed"
        if not made.fit.finished:
            raise Stop("broken off before any layout was found")
        raise Stop(f"no layout of {args.file} was found, which does not prove there is none{more}")


def _made(laid: Laid, args: argparse.Namespace) -> Kept:
    """The fit kept from an earlier run, or a new one."""
    from ringstep.commands import fit_store
    from ringstep.paper.fit_report import kept
    from ringstep.space.cell import CellError
    from ringstep.space.fit import fit
    from ringstep.space.rows_cell import from_the_middle

    made = None if args.again else fit_store.get(laid.cell, args.seed, args.effort)
    if made is not None:
        return made
    progress = _Progress()
    try:
        worked = partial(from_the_middle, laid)
        found = fit(
            laid.cell,
            seed=args.seed,
            effort=args.effort,
            progress=progress.tell,
            worked=worked,
        )
        progress.tell("drawing", 0, 0, 0.0)
        made = kept(found)
    except CellError as fault:
        raise Stop(f"{args.file} cannot be laid out: {fault}") from None
    finally:
        progress.clear()
    fit_store.put(made)
    return made


class _Progress(PassingLine):
    """How far the search is."""

    def tell(self, stage: str, done: int, total: int, least: float) -> None:
        """Stage, how far of how many, and the smallest AR of the first ring so far, or 0."""
        words = f"{stage} {done + 1} of {total}" if total else stage
        words += f", smallest AR so far {least:.3f}" if least else ""
        words += " (Ctrl-C keeps the best so far)" if total else ""
        self.say(words)
