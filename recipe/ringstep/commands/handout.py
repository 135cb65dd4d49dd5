"""Print a hand-out for students: one page for paper, with a picture beside every step.

The page is HTML that needs nothing beside it: open it in a browser, read it there or print it.
With --pdf it is printed to a PDF as well, which needs the extra 'pdf'. Beside the diagrams stand
pictures of the real rings after each step; where some cannot be drawn the page says why.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ringstep.commands.rim import (
    OK,
    Stop,
    must_be_clean,
    not_a_source,
    printable,
    ready_to_compute,
    say,
    size_option,
    stem_of,
    tell,
    view,
    write_aside,
)
from ringstep.language.source import Refused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ringstep.checks.view import View
    from ringstep.language.findings import Finding
    from ringstep.paper.handout_steps import Edition


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep handout`."""
    parser.add_argument("file", metavar="FILE")
    size_option(parser)
    parser.add_argument("--to", metavar="FILE", help="where the page goes")
    parser.add_argument(
        "--paper", choices=["a4", "letter"], default="a4", help="a4 (the default) or letter"
    )
    parser.add_argument("--large", action="store_true", help="large print")
    parser.add_argument(
        "--pictures",
        choices=["both", "only", "none"],
        default="both",
        help="pictures and words (the default), pictures only, or words only",
    )
    parser.add_argument(
        "--rings",
        choices=["auto", "none"],
        default="auto",
        help="pictures of the real rings: where they can be drawn (the default), or none",
    )
    parser.add_argument(
        "--variant", action="append", metavar="NAME", help="a variant to print; repeatable"
    )
    parser.add_argument("--all-variants", action="store_true", help="every variant, in one booklet")
    parser.add_argument(
        "--teacher", action="store_true", help="the teacher's copy, with the checks and all counts"
    )
    parser.add_argument(
        "--draft", action="store_true", help="print it with its errors, stamped as unchecked"
    )
    parser.add_argument("--pdf", action="store_true", help="print it to a PDF as well")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.checks.pipeline import findings_of, has_errors
    from ringstep.checks.view import with_size
    from ringstep.language.screen import safe
    from ringstep.paper.handout import DRAFT, handout
    from ringstep.paper.handout_steps import Choices
    from ringstep.paper.page import Frame, NoPdf, pdf_bytes

    seen = with_size(view(args.file) if args.draft else must_be_clean(args.file), args.size)
    printable(seen, pictures=args.pictures != "none", page=True)
    page, pdf = _targets(args)
    findings = findings_of(seen) if args.draft or args.teacher else ()
    stamp = DRAFT if args.draft else ""
    frame = Frame(seen.recipe.title or "Ring weave", args.paper, args.large, stamp)
    found = tuple(_words(f) for f in findings)
    try:
        editions = _editions(seen, args)
        drawn, trouble = _pictures(editions, args)
        choices = Choices(frame, args.pictures, args.teacher, found, trouble)
        text = handout(editions, drawn, choices)
    except Refused:
        raise
    except (ArithmeticError, LookupError, ValueError):
        # A recipe without errors always lays out; one with errors may hold steps without a place.
        if not args.draft or not has_errors(findings):
            raise
        raise Stop(
            f"{args.file} cannot be laid out even as a draft; mend what 'ringstep check' finds"
        ) from None
    write_aside(page, text.encode("utf-8"))
    say(f"wrote {safe(str(page))}")
    if trouble:
        tell(Stop(trouble))
    if args.pdf:
        try:
            data = pdf_bytes(text)
        except NoPdf as fault:
            raise Stop(f"{fault}; or open {page} in a browser and print it: {_PRINT}") from None
        write_aside(pdf, data)
        say(f"wrote {safe(str(pdf))}")
    return OK


_PRINT = "choose the same paper, scale 100 %, and no headers and footers"


def _targets(args: argparse.Namespace) -> tuple[Path, Path]:
    """Where the page and the PDF go. Raises `Stop` where that would write over a recipe."""
    name = f"{stem_of(args.file)}-handout.html"
    page = Path(args.to or name)
    if page.is_dir():
        page = page / name
    if page.suffix.lower() == ".pdf":
        if not args.pdf:
            raise Stop(f"{page} is to be a PDF: add --pdf, or name a file that ends in .html")
        page = page.with_suffix(".html")
    pdf = page.with_suffix(".pdf")
    for target in (page, pdf) if args.pdf else (page,):
        not_a_source(target, args.file)
    return page, pdf


def _words(finding: Finding) -> str:
    """A finding in one line, with its place."""
    at = f"line {finding.span.line}"
    return f"{finding.rule.severity}, {at}: {finding.message}"


def _chosen(seen: View, args: argparse.Namespace) -> Sequence[View]:
    """A view for every variant that is to be printed. Raises `NoVariant`."""
    from ringstep.checks.view import with_variant

    names: list[str | None] = list(dict.fromkeys(args.variant or []))
    if args.all_variants:
        if not seen.recipe.variants:
            raise Stop(f"{args.file} has no variants; leave out --all-variants")
        names = [v.name for v in seen.recipe.variants]
    return [with_variant(seen, name) for name in names or [None]]


def _editions(seen: View, args: argparse.Namespace) -> list[Edition]:
    """Every variant with its step list and its diagrams, names kept apart."""
    from ringstep.draw.diagrams import step_diagrams
    from ringstep.draw.joinings import whole_diagram
    from ringstep.paper.handout_steps import WHOLE, Edition
    from ringstep.paper.steps_text import step_list

    found = []
    for at, one in enumerate(_chosen(seen, args), 1):
        if not one.recipe.every_step():
            raise Stop(f"{args.file} has no steps, so there is nothing to hand out")
        diagrams = {} if args.pictures == "none" else step_diagrams(one)
        if diagrams and one.recipe.made:
            diagrams[WHOLE] = whole_diagram(one)
        named = {n: replace(d, name=f"v{at}-{d.name}") for n, d in diagrams.items()}
        shown = named and args.rings == "auto" and not args.draft
        rings, without = _rings(one) if shown else ({}, ())
        found.append(Edition(one, step_list(one), named, rings, without))
    return found


def _rings(one: View) -> tuple[dict[int, str], Sequence[str]]:
    """The picture of the real rings after each step (SVG), and which are missing, in words."""
    ready_to_compute()
    from ringstep.commands.fit_store import known_fit
    from ringstep.paper import film
    from ringstep.space.second import Second
    from ringstep.space.states import states_of

    with Second() as second:
        try:
            shown = states_of(one, known_fit(one), second)
        except Refused as fault:
            return {}, [f"the real rings are not drawn: {fault}"]
        found = film.scenes(one, shown, False, second)
    return {s.number: s.later for s in found if s.first}, film.missing(shown)


def _pictures(editions: list[Edition], args: argparse.Namespace) -> tuple[dict[str, str], str]:
    """The pictures as SVG by name; and, where there are none, why, in words. Raises `Stop`."""
    from ringstep.draw.drawing import NoProgram, draw_all, find_program
    from ringstep.draw.key import key_marks
    from ringstep.paper.handout_steps import like_steps

    if args.pictures == "none":
        return {}, ""
    wanted = list(key_marks(None))
    for one in editions:
        like = like_steps(one.listing) if args.pictures == "both" else {}
        wanted += [d for number, d in one.diagrams.items() if number not in like]
    trouble = ""
    try:
        find_program()
    except NoProgram:
        trouble = (
            "the pictures are missing, since no drawing program is here; 'pip install"
            " graphviz-pure' or install the system's Graphviz, then make the page again"
        )
    try:
        drawn = {} if trouble else draw_all(wanted, "svg")
    except NoProgram as fault:
        drawn, trouble = {}, f"the pictures are missing: {fault}"
    if trouble and args.pictures == "only":
        raise Stop(f"no page is made: {trouble}")
    return {n.removesuffix(".svg"): data.decode("utf-8") for n, data in drawn.items()}, trouble
