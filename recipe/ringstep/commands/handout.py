"""Print a hand-out for students: pages for paper, with pictures of the real rings at every step.

The page is HTML that needs nothing beside it: open it in a browser, read it there or print it.
With --pdf it is printed to a PDF as well, which needs the extra 'pdf'. Where real rings cannot be
drawn the page says why and shows what is linked. Several recipes make one booklet.
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
    from ringstep.draw.angle import View as Looks
    from ringstep.language.findings import Finding
    from ringstep.language.source import Source
    from ringstep.paper.finished import Finished
    from ringstep.paper.handout_steps import Edition
    from ringstep.paper.page import Enclosed
    from ringstep.space.second import Second


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep handout`."""
    parser.add_argument("files", metavar="FILE", nargs="+")
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
    parser.add_argument(
        "--all-variants",
        action="store_true",
        help="every variant, steps that are the same in all only once",
    )
    parser.add_argument(
        "--left-handed", action="store_true", help="a copy with left and right changed round"
    )
    parser.add_argument(
        "--teacher", action="store_true", help="the teacher's copy, with the checks and all counts"
    )
    parser.add_argument(
        "--draft", action="store_true", help="print it with its errors, stamped as unchecked"
    )
    parser.add_argument(
        "--screen",
        action="store_true",
        help="a page to follow on a phone or tablet, one step a screen, instead of one for paper",
    )
    parser.add_argument(
        "--photo-place", action="store_true", help="leave an empty frame for a photo of your own"
    )
    parser.add_argument("--pdf", action="store_true", help="print it to a PDF as well")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.checks.pipeline import findings_of, has_errors
    from ringstep.checks.view import with_size
    from ringstep.language.screen import safe
    from ringstep.paper.follow import follow
    from ringstep.paper.handout import DRAFT, handout
    from ringstep.paper.handout_steps import Choices
    from ringstep.paper.mirror import must_mirror
    from ringstep.paper.page import Frame, NoPdf, pdf_bytes

    if args.screen and (args.pdf or args.all_variants or len(args.files) > 1):
        raise Stop("--screen is for one weave on one page; leave out --pdf and --all-variants")
    if len(args.files) > 1 and (args.draft or args.teacher or args.variant):
        raise Stop("--draft, --teacher and --variant are for one recipe, not for a booklet")
    views = [
        with_size(view(f), args.size) if args.draft else must_be_clean(f, size=args.size)
        for f in args.files
    ]
    for seen in views:
        printable(seen, pictures=args.pictures != "none", page=True)
        if args.left_handed:
            must_mirror(seen)
    page, pdf = _targets(args)
    findings = findings_of(views[0]) if args.draft or args.teacher else ()
    stamp = DRAFT if args.draft else ""
    title = views[0].recipe.title or "Ring weave" if len(views) == 1 else "Booklet of weaves"
    frame = Frame(title, args.paper, args.large, stamp)
    found = tuple(_words(f) for f in findings)
    try:
        weaves = [_editions(seen, at, args) for at, seen in enumerate(views, 1)]
        drawn, trouble = _pictures([one for group in weaves for one in group], args)
        choices = Choices(
            frame, args.pictures, args.teacher, found, trouble, args.left_handed, args.photo_place
        )
        if args.screen:
            text = follow(weaves[0][0], drawn, choices)
        else:
            text = handout(weaves, drawn, choices)
    except Refused:
        raise
    except (ArithmeticError, LookupError, ValueError):
        # A recipe without errors always lays out; one with errors may hold steps without a place.
        if not args.draft or not has_errors(findings):
            raise
        raise Stop(
            f"{args.files[0]} cannot be laid out even as a draft; mend what 'ringstep check' finds"
        ) from None
    write_aside(page, text.encode("utf-8"))
    say(f"wrote {safe(str(page))}")
    if trouble:
        tell(Stop(trouble))
    if args.pdf:
        try:
            data = pdf_bytes(text, _enclosed(args.files, [v.recipe.source for v in views]))
        except NoPdf as fault:
            raise Stop(f"{fault}; or open {page} in a browser and print it: {_PRINT}") from None
        write_aside(pdf, data)
        say(f"wrote {safe(str(pdf))}")
    return OK


_PRINT = "choose the same paper, scale 100 %, and no headers and footers"


def _enclosed(files: Sequence[str], sources: Sequence[Source]) -> list[Enclosed]:
    """The recipes that a PDF carries; no name of a file can break it, and no two are alike."""
    from ringstep.paper.page import Enclosed
    from ringstep.weave.marks import text_mark

    found: dict[str, Enclosed] = {}
    for file, source in zip(files, sources, strict=True):
        name = Path(file).name if file != "-" else "recipe.weave"
        name = name.encode("utf-8", "replace").decode("utf-8")
        name = f"{len(found) + 1} {name}" if name in found else name
        words = f"the recipe of these pages, text mark {text_mark(source)}"
        found[name] = Enclosed(name, source.data, words)
    return list(found.values())


def _targets(args: argparse.Namespace) -> tuple[Path, Path]:
    """Where the page and the PDF go. Raises `Stop` where that would write over a recipe."""
    kind = "follow" if args.screen else "handout"
    name = "booklet.html" if len(args.files) > 1 else f"{stem_of(args.files[0])}-{kind}.html"
    page = Path(args.to or name)
    if page.is_dir():
        page = page / name
    if page.suffix.lower() == ".pdf":
        if not args.pdf:
            raise Stop(f"{page} is to be a PDF: add --pdf, or name a file that ends in .html")
        page = page.with_suffix(".html")
    pdf = page.with_suffix(".pdf")
    for target in (page, pdf) if args.pdf else (page,):
        for file in args.files:
            not_a_source(target, file)
    return page, pdf


def _words(finding: Finding) -> str:
    """A finding in one line, with its place."""
    at = f"line {finding.span.line}"
    return f"{finding.rule.severity}, {at}: {finding.message}"


def _chosen(seen: View, args: argparse.Namespace) -> Sequence[View]:
    """A view for every variant that is to be printed. Raises `NoVariant`."""
    from ringstep.checks.view import with_variant

    names: list[str | None] = list(dict.fromkeys(args.variant or []))
    if args.all_variants and (seen.recipe.variants or len(args.files) == 1):
        if not seen.recipe.variants:
            raise Stop(f"{args.files[0]} has no variants; leave out --all-variants")
        names = [v.name for v in seen.recipe.variants]
    return [with_variant(seen, name) for name in names or [None]]


def _editions(seen: View, number: int, args: argparse.Namespace) -> list[Edition]:
    """Every variant with its step list and its diagrams, names kept apart.

    number: of the recipe.
    """
    from ringstep.draw.diagrams import step_diagrams
    from ringstep.draw.joinings import whole_diagram
    from ringstep.paper.handout_steps import WHOLE, Edition
    from ringstep.paper.mirror import mirrored_diagram
    from ringstep.paper.steps_text import step_list

    found = []
    for at, one in enumerate(_chosen(seen, args), 1):
        if not one.recipe.every_step():
            raise Stop(f"{args.files[number - 1]} has no steps, so there is nothing to hand out")
        diagrams = {} if args.pictures == "none" else step_diagrams(one)
        if diagrams and one.recipe.made:
            diagrams[WHOLE] = whole_diagram(one)
        if args.left_handed:
            diagrams = {n: mirrored_diagram(d) for n, d in diagrams.items()}
        mark = f"v{at}" if number == 1 else f"w{number}-{at}"
        named = {n: replace(d, name=f"{mark}-{d.name}") for n, d in diagrams.items()}
        found.append(Edition(one, step_list(one), named))
        if named and args.rings == "auto" and not args.draft:
            found[-1] = _with_rings(found[-1], args.left_handed)
    return found


def _with_rings(edition: Edition, mirrored: bool) -> Edition:
    """The edition with pictures of the real rings, or with why they are missing."""
    ready_to_compute()
    from ringstep.commands.fit_store import known_fit
    from ringstep.paper import film
    from ringstep.paper.finished import finished
    from ringstep.space.second import Second
    from ringstep.space.states import states_of

    view = edition.view
    with Second() as second:
        try:
            shown = states_of(view, known_fit(view), second)
        except Refused as fault:
            return replace(edition, without=[f"the real rings are not drawn: {fault}"])
        turn = film.angle(view, shown, mirrored, second)
        found = film.scenes(view, shown, film.Shoot(once=True), second, turn)
        piece = finished(view, shown.piece, turn)
        wrong = _wrong(edition, piece, turn, second) if piece else None
    return replace(
        edition,
        scenes={s.number: s for s in found if s.first},
        others=[s for s in found if s.other],
        piece=piece,
        wrong=wrong,
        without=film.missing(shown),
    )


def _wrong(
    edition: Edition, right: Finished, turn: Looks, second: Second
) -> tuple[str, Finished] | None:
    """The piece with a fold left out, where as much of it can be worked as of the right one."""
    from ringstep.commands.fit_store import known_fit
    from ringstep.paper.finished import finished
    from ringstep.paper.panel import size_of
    from ringstep.paper.slips_shown import fold_left_out
    from ringstep.space.states import states_of

    slip = fold_left_out(edition.view)
    if slip is None:
        return None
    words, view = slip
    try:
        rings = states_of(view, known_fit(view), second).piece
    except Refused:
        return None  # with such a slip the work cannot be carried out
    seen = finished(view, rings, turn)
    alike = seen is not None and size_of(seen.large)[1] > 0.8 * size_of(right.large)[1]
    return (words, seen) if seen and alike else None


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
